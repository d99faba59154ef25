"""The air: headroom and looking room as dimension arrows, and the eye line."""

from __future__ import annotations

from framecheck.records.framing import PersonFraming
from framecheck.records.values import NotMeasured, PointPx
from framecheck.report.palette import AIR
from framecheck.report.scene import Label, Scene
from framecheck.report.words import percent


def draw_air(scene: Scene) -> None:
    """Draw the main subject's headroom, eye line and looking room."""
    if not scene.people:
        return
    subject = scene.people[0]
    _draw_headroom(scene, subject)
    y = _draw_eye_line(scene, subject)
    _draw_looking_room(scene, subject, y)


def _draw_headroom(scene: Scene, subject: PersonFraming) -> None:
    headroom, picture = subject.headroom_frac, scene.picture
    if isinstance(headroom, NotMeasured) or headroom <= 0:
        return
    x = scene.mark(subject.ruler.marks[0])[0] if subject.ruler else scene.point(subject.nose_px)[0]
    top = (x, picture.y_px)
    crown = (x, picture.y_px + headroom * picture.h_px)
    _draw_dimension(scene, top, crown)
    scene.labels.append(
        Label(
            words=f"headroom {percent(headroom)}",
            anchor=(x, (top[1] + crown[1]) / 2),
            towards=(1.0, 0.0),
            colour=AIR,
            rank=1,
            needed=True,
            leader=False,
        )
    )


def _draw_eye_line(scene: Scene, subject: PersonFraming) -> float:
    """Dot the eye line over the whole width; its height, or the nose's when there is none."""
    eye_line, picture = subject.eye_line_frac, scene.picture
    if isinstance(eye_line, NotMeasured):
        return scene.point(subject.nose_px)[1]
    y = picture.y_px + eye_line * picture.h_px
    if picture.y_px <= y <= picture.bottom_px:
        scene.canvas.line(
            [(picture.x_px, y), (picture.right_px, y)], AIR, lines=0.6, dash_lines=2.0, halo=False
        )
        scene.labels.append(
            Label(
                words=f"eyes {percent(eye_line)}",
                anchor=(_quiet_end(scene, subject), y),
                towards=(0.0, -1.0),
                colour=AIR,
                rank=6,
                leader=False,
            )
        )
    return y


def _quiet_end(scene: Scene, subject: PersonFraming) -> float:
    """The x near the picture's side that the face does not look to."""
    yaw, picture = subject.head_yaw_deg, scene.picture
    looks_right = not isinstance(yaw, NotMeasured) and yaw > 0
    inset = 3.0 * scene.sizes.text_px
    return picture.x_px + inset if looks_right else picture.right_px - inset


def _draw_looking_room(scene: Scene, subject: PersonFraming, y: float) -> None:
    ahead, ratio, yaw = subject.look_ahead_wfrac, subject.look_room_frac, subject.head_yaw_deg
    if isinstance(ahead, NotMeasured) or isinstance(yaw, NotMeasured) or ahead <= 0:
        return
    picture = scene.picture
    front, step = (picture.right_px, -1.0) if yaw > 0 else (picture.x_px, 1.0)
    _draw_dimension(scene, (front, y), (front + step * ahead * picture.w_px, y))
    _ask_room_label(scene, f"ahead {percent(ahead)}", front + step * ahead * picture.w_px / 2, y)
    if isinstance(ratio, NotMeasured) or ratio <= 0:
        return
    behind = ahead / ratio
    back = picture.x_px if yaw > 0 else picture.right_px
    _draw_dimension(scene, (back, y), (back - step * behind * picture.w_px, y), lines=0.7)
    _ask_room_label(scene, f"behind {percent(behind)}", back - step * behind * picture.w_px / 2, y)


def _ask_room_label(scene: Scene, words: str, x: float, y: float) -> None:
    scene.labels.append(
        Label(words=words, anchor=(x, y), towards=(0.0, 1.0), colour=AIR, rank=2, leader=False)
    )


def _draw_dimension(scene: Scene, start: PointPx, end: PointPx, *, lines: float = 1.1) -> None:
    """A line with an arrow head at either end; heads shrink with a short line."""
    scene.canvas.line([start, end], AIR, lines=lines)
    dx, dy = end[0] - start[0], end[1] - start[1]
    length = (dx * dx + dy * dy) ** 0.5
    if length == 0:
        return
    along = (dx / length, dy / length)
    head_px = min(scene.sizes.text_px * 0.7, 0.4 * length)
    _draw_head(scene, start, along, head_px)
    _draw_head(scene, end, (-along[0], -along[1]), head_px)


def _draw_head(scene: Scene, tip: PointPx, inward: PointPx, head_px: float) -> None:
    foot = (tip[0] + inward[0] * head_px, tip[1] + inward[1] * head_px)
    wing = (-inward[1] * head_px * 0.42, inward[0] * head_px * 0.42)
    scene.canvas.polygon(
        [tip, (foot[0] + wing[0], foot[1] + wing[1]), (foot[0] - wing[0], foot[1] - wing[1])], AIR
    )
