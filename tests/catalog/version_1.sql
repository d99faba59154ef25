-- A catalog of version 1, frozen: never edit it. Three contents: a clip of two shots that is
-- measured with two groups of settings, a clip that a run died over, and a still whose name holds
-- a byte that is no text.
PRAGMA foreign_keys = OFF;
BEGIN;
CREATE TABLE contents (
        id INTEGER PRIMARY KEY,
        content TEXT NOT NULL UNIQUE
    );
CREATE TABLE places (
        path BLOB PRIMARY KEY,
        content INTEGER NOT NULL REFERENCES contents (id),
        size_bytes INTEGER NOT NULL,
        mtime_ns INTEGER NOT NULL,
        noted_s REAL NOT NULL,
        gone INTEGER NOT NULL DEFAULT 0
    ) WITHOUT ROWID;
CREATE INDEX places_content ON places (content);
CREATE TABLE settings (
        fingerprint TEXT PRIMARY KEY,
        described TEXT NOT NULL
    ) WITHOUT ROWID;
CREATE TABLE measurements (
        id INTEGER PRIMARY KEY,
        content INTEGER NOT NULL REFERENCES contents (id),
        fingerprint TEXT NOT NULL,
        kind TEXT NOT NULL,
        header TEXT NOT NULL,
        state TEXT NOT NULL CHECK (state IN ('running', 'measured', 'failed', 'skipped')),
        why TEXT NOT NULL DEFAULT '',
        at TEXT NOT NULL DEFAULT '',
        attempts INTEGER NOT NULL DEFAULT 1,
        begun_s REAL NOT NULL,
        ended_s REAL,
        owner_token TEXT,
        owner_host TEXT,
        owner_pid INTEGER,
        owner_start_s REAL,
        beat_s REAL,
        UNIQUE (content, fingerprint)
    );
CREATE TABLE files (
        _measurement INTEGER PRIMARY KEY REFERENCES measurements (id) ON DELETE CASCADE
    , "file" TEXT, "status" TEXT);
CREATE TABLE shots (
        _measurement INTEGER NOT NULL REFERENCES measurements (id) ON DELETE CASCADE,
        _shot INTEGER NOT NULL, "file" TEXT, "shot" INTEGER, "duration_s" REAL, "size" TEXT,
        "size_abbr" TEXT, "people" INTEGER, "shot_type" TEXT, "flags" TEXT, "frame" INTEGER,
        PRIMARY KEY (_measurement, _shot)
    ) WITHOUT ROWID;
CREATE TABLE frames (
        _measurement INTEGER NOT NULL REFERENCES measurements (id) ON DELETE CASCADE,
        _shot INTEGER NOT NULL,
        _row INTEGER NOT NULL, "file" TEXT, "shot" INTEGER, "frame" INTEGER, "size" TEXT,
        "size_abbr" TEXT, "people" INTEGER, "shot_type" TEXT, "flags" TEXT, "crop_level" REAL,
        PRIMARY KEY (_measurement, _shot, _row)
    ) WITHOUT ROWID;
CREATE TABLE people (
        _measurement INTEGER NOT NULL REFERENCES measurements (id) ON DELETE CASCADE,
        _shot INTEGER NOT NULL,
        _row INTEGER NOT NULL, "file" TEXT, "person" INTEGER, "facing" TEXT,
        PRIMARY KEY (_measurement, _shot, _row)
    ) WITHOUT ROWID;
INSERT INTO contents VALUES (1, '1111'), (2, '2222'), (3, '3333');
INSERT INTO places VALUES
    (X'2F6F6C642F612E6D6F76', 1, 10, 20, 5.0, 0),          -- /old/a.mov
    (X'2F6F6C642F622E6D6F76', 2, 11, 21, 5.0, 0),          -- /old/b.mov
    (X'2F6F6C642FE92E6A7067', 3, 12, 22, 5.0, 0);          -- /old/(byte E9).jpg
INSERT INTO settings VALUES ('trade', '{"vocabulary": "trade"}');
INSERT INTO measurements VALUES
    (1, 1, 'trade', 'clip', '{"rate": "25"}', 'measured', '', '', 1, 1.0, 2.0,
        NULL, 'somewhere', 999, 1.0, 2.0),
    (2, 1, 'textbook', 'clip', '{"rate": "25"}', 'measured', '', '', 1, 3.0, 4.0,
        NULL, 'somewhere', 999, 1.0, 4.0),
    (3, 2, 'trade', 'clip', '{"rate": "25"}', 'running', '', '', 1, 5.0, NULL,
        'token', 'somewhere', 999, 1.0, 5.0),
    (4, 3, 'trade', 'still', '', 'measured', '', '', 2, 6.0, 7.0,
        NULL, 'somewhere', 999, 1.0, 7.0);
INSERT INTO files VALUES (1, 'a.mov', 'measured'), (2, 'a.mov', 'measured'), (4, '?', 'measured');
INSERT INTO shots VALUES
    (1, 0, 'a.mov', 0, 4.2, 'medium', 'MS', 1, 'single', 'knee(bottom,+0.012,high)', 50),
    (1, 1, 'a.mov', 1, 0.1, 'close-up', 'CU', 2, 'two', '', 150),
    (2, 0, 'a.mov', 0, 4.2, 'mid-shot', 'MID', 1, 'single', 'knee(bottom,+0.012,high)', 50),
    (2, 1, 'a.mov', 1, 0.1, 'close shot', 'CL', 2, 'two', '', 150),
    (3, 0, 'b.mov', 0, 9.5, 'full', 'FS', 3, 'three', 'wrist(left,-0.01,low); p1:chin(top,0,low)', 7);
INSERT INTO frames VALUES
    (1, 0, 0, 'a.mov', 0, 50, 'medium', 'MS', 1, 'single', '', 0.1234567890123),
    (1, 1, 0, 'a.mov', 1, 150, 'close-up', 'CU', 2, 'two', '', 0.9),
    (2, 0, 0, 'a.mov', 0, 50, 'mid-shot', 'MID', 1, 'single', '', 0.1234567890123),
    (2, 1, 0, 'a.mov', 1, 150, 'close shot', 'CL', 2, 'two', '', 0.9),
    (3, 0, 0, 'b.mov', 0, 7, 'full', 'FS', 3, 'three', '', -0.1),
    (4, 0, 0, '?', NULL, NULL, 'close-up', 'CU', 1, 'single', 'crown(top,+0.01,low)', 0.88);
INSERT INTO people VALUES
    (1, 0, 0, 'a.mov', 0, 'profile'), (1, 0, 1, 'a.mov', 1, 'away'),
    (2, 0, 0, 'a.mov', 0, 'profile'), (2, 0, 1, 'a.mov', 1, 'away'),
    (3, 0, 0, 'b.mov', 0, ''), (4, 0, 0, '?', 0, 'to lens');
PRAGMA application_id = 1718775139;
PRAGMA user_version = 1;
COMMIT;
