"""Clips of an edit for tests."""

from fractions import Fraction

from framecheck.records.edit import EditClip, EditShot

NTSC = Fraction(30000, 1001)


def a_shot(number, start, stop, **more) -> EditShot:
    values = {"people": 1, "shot_type": "single", "crop_level": 0.713, "size_change": "steady"}
    fields = {
        "size": "medium close-up", "size_abbr": "MCU", "flags": (), "best_frame": start,
        "values": values, **more,
    }  # fmt: skip
    return EditShot(number=number, start_frame=start, end_frame=stop, **fields)


def a_clip(file="rushes/A001 C002.mov", rate=Fraction(25), shots=None, **more) -> EditClip:
    shots = shots or (
        a_shot(0, 0, 50),
        a_shot(1, 50, 90, flags=("knee", "headroom"), best_frame=70, size="full", size_abbr="FS"),
    )
    fields = {"url": "A001%20C002.mov", "drop": False, "first_frame": 0, **more}
    return EditClip(file=file, rate=rate, shots=tuple(shots), **fields)
