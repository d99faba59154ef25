"""Clips with known shot boundaries, a maker for each kind, from stills and really encoded."""

from __future__ import annotations

import io
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field, replace
from fractions import Fraction

import av
import numpy as np
import numpy.typing as npt

from framecheck.records.clips import Transition
from tests.bench.boundary_shots import (
    SIZE_WH,
    Draw,
    Pixels,
    ShotPlan,
    add_grain,
    choose_source,
    plan_camera,
    plan_crosser,
    plan_walker,
    render,
    smooth_noise,
)

RATES = tuple(
    Fraction(r) for r in ("24000/1001", "24", "25", "25", "30000/1001", "30", "50", "60000/1001")
)


@dataclass(frozen=True, kw_only=True)
class TrueBoundary:
    """A boundary that was put there; an optional one is neither right nor wrong to report."""

    frame: int
    from_frame: int
    to_frame: int
    transition: Transition
    optional: bool = False


@dataclass(frozen=True, kw_only=True)
class Clip:
    """Frames before encoding, and the truth."""

    name: str
    kind: str
    rate: Fraction
    frames: list[Pixels]
    truth: tuple[TrueBoundary, ...]
    quality: int  # x264's constant rate factor


@dataclass
class Timeline:
    """Frames joined one after another, with the boundaries written down."""

    frames: list[Pixels] = field(default_factory=list)
    truth: list[TrueBoundary] = field(default_factory=list)

    def _mark(self, frame: int, span: tuple[int, int], transition: Transition) -> None:
        self.truth.append(
            TrueBoundary(frame=frame, from_frame=span[0], to_frame=span[1], transition=transition)
        )

    def cut(self, frames: list[Pixels]) -> None:
        """Join hard; the very first shot begins without a boundary."""
        at = len(self.frames)
        if at:
            self._mark(at, (at, at), Transition.CUT)
        self.frames += frames

    def dissolve(self, frames: list[Pixels], count: int, *, soft: bool = False) -> None:
        """Overlap so that `count` frames show both."""
        at = len(self.frames) - count
        for k in range(count):
            weight = (k + 1) / (count + 1)
            if soft:
                weight = weight * weight * (3 - 2 * weight)
            self.frames[at + k] = _mix(self.frames[at + k], frames[k], weight)
        self._mark(at + count // 2, (at, at + count), Transition.DISSOLVE)
        self.frames += frames[count:]

    def fade(self, frames: list[Pixels], spans: tuple[int, int, int], level: int) -> None:
        """Out to a flat level, hold it, and in: so many frames each; no fade out at the start."""
        out, hold, into = spans
        flat = np.full_like(frames[0], level)
        end = len(self.frames)
        out = min(out, end)
        for k in range(out):
            self.frames[end - out + k] = _mix(self.frames[end - out + k], flat, (k + 1) / (out + 1))
        self.frames += [flat] * hold
        at = len(self.frames)
        head = [_mix(frames[k], flat, 1 - (k + 1) / (into + 1)) for k in range(into)]
        self.frames += head + frames[into:]
        if not (out or hold or into):
            raise ValueError("a fade needs a frame")
        name = Transition.FADE if out or into else Transition.CUT
        self._mark(at, (end - out, at + into), name)

    def end_flat(self, out: int, hold: int, level: int) -> None:
        """Fade or cut to a flat tail: where it starts may be reported or not."""
        flat = np.full_like(self.frames[0], level)
        end = len(self.frames)
        for k in range(out):
            self.frames[end - out + k] = _mix(self.frames[end - out + k], flat, (k + 1) / (out + 1))
        self.frames += [flat] * hold
        self.truth.append(
            TrueBoundary(
                frame=end, from_frame=end - out, to_frame=end + hold,
                transition=Transition.FADE, optional=True,
            )
        )  # fmt: skip


def _mix(first: Pixels, second: Pixels, weight: float) -> Pixels:
    mixed = first.astype(np.float32) * (1 - weight) + second.astype(np.float32) * weight
    return np.asarray(mixed + 0.5, np.uint8)


# ---------------------------------------------------------------------------- shots


def frames_in(draw: Draw, rate: Fraction, low_s: float, high_s: float) -> int:
    return max(round(float(rate) * draw.uniform(low_s, high_s)), 2)


def plain_plan(draw: Draw, count: int, rate: Fraction, *, style: str = "any") -> ShotPlan:
    source = choose_source(draw, wide=style == "whip")
    plan = ShotPlan(
        source=source, camera=plan_camera(draw, source, count, float(rate), style=style)
    )
    for _ in range(int(draw.choice([0, 0, 1, 1, 2]))):
        plan.figures.append(plan_walker(draw, count, float(rate)))
    return plan


def plain_shot(
    draw: Draw, rate: Fraction, span_s: tuple[float, float] = (1.0, 3.5), *, style: str = "any"
) -> list[Pixels]:
    return render(plain_plan(draw, frames_in(draw, rate, *span_s), rate, style=style))


def busy_shot(draw: Draw, rate: Fraction) -> list[Pixels]:
    """A shot with strong movement or unsteady light."""
    trouble = str(draw.choice(["crash", "bump", "walkers", "flicker", "drift", "switch", "shake"]))
    count = frames_in(draw, rate, 1.5, 3.5)
    plan = plain_plan(draw, count, rate, style=trouble if trouble in ("crash", "bump") else "any")
    time_s = np.arange(count) / float(rate)
    if trouble == "walkers":
        plan.figures += [plan_walker(draw, count, float(rate)) for _ in range(3)]
    elif trouble == "flicker":
        swing = draw.uniform(0.02, 0.12)
        plan.gain = 1 + swing * np.sin(2 * np.pi * draw.uniform(2, 11) * time_s)
        plan.gain = plan.gain + draw.normal(0, swing / 3, count)
    elif trouble == "drift":
        plan.gain = 1 + 0.3 * smooth_noise(draw, count, float(rate), 0.7)
        plan.gain = np.clip(plan.gain, 0.5, 1.7)
    elif trouble == "switch":
        at = int(draw.integers(count // 4, 3 * count // 4))
        low = draw.uniform(0.4, 0.75)
        plan.gain = np.where((np.arange(count) < at) == (draw.random() < 0.5), low, 1.0)
    elif trouble == "shake":
        shake = draw.uniform(0.02, 0.04) * plan.camera.width_px
        for axis in (0, 1):
            plan.camera.centre_px[:, axis] += shake * smooth_noise(draw, count, float(rate), 5)
    return render(plan)


def flash_shot(draw: Draw, rate: Fraction) -> list[Pixels]:  # noqa: PLR0915 - one branch a kind
    """A shot with camera flashes, a white-out, lightning or a strobe."""
    count = frames_in(draw, rate, 2.0, 4.0)
    plan = plain_plan(draw, count, rate)
    plan.gain, plan.lift = np.ones(count), np.zeros(count)
    trouble = str(draw.choice(["flash", "flash", "flash", "white", "lightning", "strobe", "dark"]))
    edge = round(0.35 * float(rate))
    places = draw.integers(edge, count - edge, int(draw.integers(1, 4)))
    if trouble in ("flash", "white", "dark"):
        for at in places:
            length = int(draw.integers(1, max(2, round(0.13 * float(rate))) + 1))
            fall = np.linspace(1, draw.uniform(0.2, 1), length)
            part = slice(at, at + length)
            if trouble == "dark":
                plan.gain[part] = draw.uniform(0, 0.3)
            elif trouble == "white":
                plan.lift[part] = 255 * fall[: len(plan.lift[part])]
            else:
                plan.gain[part] = 1 + draw.uniform(0.5, 3) * fall[: len(plan.gain[part])]
    elif trouble == "lightning":
        at = int(places[0])
        length = min(round(0.5 * float(rate)), count - at)
        on = draw.random(length) < 0.5
        plan.gain[at : at + length] = np.where(on, draw.uniform(1.5, 3), 1)
    else:
        at = int(draw.integers(edge, count // 2))
        length = min(frames_in(draw, rate, 0.5, 1.5), count - at - edge)
        period = max(round(float(rate) / draw.uniform(4, 12)), 2)
        on = (np.arange(length) % period) < max(period // 2, 1)
        plan.gain[at : at + length] = np.where(on, 1.0, draw.uniform(0.05, 0.4))
    return render(plan)


def crossing_shot(draw: Draw, rate: Fraction) -> list[Pixels]:
    count = frames_in(draw, rate, 2.0, 4.0)
    plan = plain_plan(draw, count, rate)
    plan.figures += [
        plan_crosser(draw, count, float(rate)) for _ in range(int(draw.integers(1, 3)))
    ]
    return render(plan)


# ---------------------------------------------------------------------------- kinds


def make_cuts(draw: Draw, rate: Fraction) -> Timeline:
    line = Timeline()
    for _ in range(6):
        line.cut(plain_shot(draw, rate))
    return line


def _other_set_up(
    draw: Draw, size_wh: tuple[int, int], crop: float, centre: npt.NDArray[np.float64]
) -> tuple[float, npt.NDArray[np.float64]]:
    """Return a crop a quarter closer or wider, or moved by a fifth of its width, at least."""
    width, height = size_wh
    aspect = SIZE_WH[0] / SIZE_WH[1]
    most = min(width, height * aspect)
    while True:
        new_crop, new_centre = crop, centre
        if draw.random() < 0.6:
            factor = float(draw.choice([0.55, 0.65, 0.75, 1.35, 1.6]))
            new_crop = float(np.clip(crop * factor, 0.35 * most, most))
        else:
            new_centre = centre + draw.choice([-1, 1]) * draw.uniform(0.2, 0.4) * np.array(
                [crop, 0]
            )
        low = np.array([new_crop / 2, new_crop / aspect / 2])
        new_centre = np.clip(new_centre, low, np.maximum(np.array([width, height]) - low, low))
        moved = float(np.abs(new_centre - centre).max()) / crop
        if abs(np.log(new_crop / crop)) > 0.25 or moved > 0.18:
            return new_crop, new_centre


def make_similar(draw: Draw, rate: Fraction) -> Timeline:
    """Set-ups of one scene: closer, wider or to the side by a fifth of the width or more."""
    line = Timeline()
    source = choose_source(draw)
    height, width = source.shape[:2]
    most = min(width, height * SIZE_WH[0] / SIZE_WH[1])
    crop, centre = most * draw.uniform(0.5, 0.9), np.array([width, height]) / 2
    for _ in range(6):
        count = frames_in(draw, rate, 1.0, 3.0)
        style = str(draw.choice(["still", "handheld", "handheld", "pan"]))
        camera = plan_camera(draw, source, count, float(rate), style=style)
        crop, centre = _other_set_up(draw, (width, height), crop, centre)
        scale = crop / camera.width_px[0]
        path = centre + (camera.centre_px - camera.centre_px[0]) * scale * 0.5
        widths = camera.width_px * scale
        plan = ShotPlan(source=source, camera=replace(camera, centre_px=path, width_px=widths))
        crop, centre = float(widths[-1]), path[-1]  # the next set-up differs from where this ends
        if draw.random() < 0.4:
            plan.figures.append(plan_walker(draw, count, float(rate)))
        line.cut(render(plan))
    return line


def make_dissolves(draw: Draw, rate: Fraction) -> Timeline:
    """Six to sixty frames (of 24 a second), at least ten clean frames between them."""
    line = Timeline()
    line.cut(plain_shot(draw, rate, (2.0, 4.0)))
    free = len(line.frames) - 5
    for _ in range(4):
        second = float(rate) / 24
        count = round(np.exp(draw.uniform(np.log(6), np.log(60))) * second)
        shot = plain_shot(draw, rate, (count / float(rate) + 1.2, count / float(rate) + 3.0))
        count = max(min(count, free - 5), 4)
        line.dissolve(shot, count, soft=draw.random() < 0.3)
        free = len(shot) - count - 5
    return line


def make_fades(draw: Draw, rate: Fraction) -> Timeline:
    line = Timeline()
    line.cut(plain_shot(draw, rate, (2.0, 4.0)))
    for _ in range(4):
        second = float(rate) / 24
        out, into = (round(v * second) for v in draw.integers(4, 40, 2))
        hold = round(draw.choice([0, 1, 2, 6, 12, 24]) * second)
        if draw.random() < 0.25:
            out = 0
        elif draw.random() < 0.25:
            into = 0
        if min(out, into) == 0:
            hold = max(hold, 3)
        level = 0 if draw.random() < 0.65 else 255
        line.fade(plain_shot(draw, rate, (3.6, 5.0)), (out, hold, into), level)
    return line


def make_flashes(draw: Draw, rate: Fraction) -> Timeline:
    line = Timeline()
    for _ in range(4):
        line.cut(flash_shot(draw, rate))
    return line


def make_pans(draw: Draw, rate: Fraction) -> Timeline:
    line = Timeline()
    for _ in range(4):
        line.cut(plain_shot(draw, rate, (2.0, 4.0), style="whip"))
    return line


def make_crossings(draw: Draw, rate: Fraction) -> Timeline:
    line = Timeline()
    for _ in range(4):
        line.cut(crossing_shot(draw, rate))
    return line


def make_motion(draw: Draw, rate: Fraction) -> Timeline:
    line = Timeline()
    for _ in range(5):
        line.cut(busy_shot(draw, rate))
    return line


def make_leaders(draw: Draw, rate: Fraction) -> Timeline:
    """A flat head, flat pieces between shots, a flat tail; joined hard or by short fades."""
    line = Timeline()
    level = 0 if draw.random() < 0.75 else 255
    into = int(draw.choice([0, 0, round(0.5 * float(rate))]))
    line.fade(plain_shot(draw, rate, (1.5, 3.0)), (0, frames_in(draw, rate, 0.3, 2), into), level)
    for _ in range(3):
        if draw.random() < 0.5:
            hold = frames_in(draw, rate, 0.3, 1.5)
            line.fade(plain_shot(draw, rate, (1.2, 3.0)), (0, hold, 0), level)
        else:
            line.cut(plain_shot(draw, rate, (1.2, 3.0)))
    line.end_flat(0, frames_in(draw, rate, 0.3, 1.5), level)
    return line


def make_mixed(draw: Draw, rate: Fraction) -> Timeline:
    line = Timeline()
    makers = (plain_shot, plain_shot, busy_shot, flash_shot, crossing_shot)
    line.cut(plain_shot(draw, rate, (2.5, 3.5)))
    for _ in range(5):
        how = str(draw.choice(["cut", "cut", "dissolve", "fade"]))
        if how == "cut":
            line.cut(makers[int(draw.integers(len(makers)))](draw, rate))
            line.frames += line.frames[-1:]
        elif how == "dissolve":
            count = round(float(rate) * draw.uniform(0.3, 1.0))
            line.dissolve(plain_shot(draw, rate, (2.5, 3.5)), count)
        else:
            spans = tuple(round(float(rate) * v) for v in draw.uniform(0.2, 0.7, 3))
            line.fade(plain_shot(draw, rate, (2.5, 3.5)), (spans[0], spans[1], spans[2]), 0)
    return line


def make_cadence(draw: Draw, rate: Fraction) -> Timeline:
    """Cuts and dissolves; the frames are repeated or woven from fields afterwards."""
    line = Timeline()
    line.cut(plain_shot(draw, rate, (2.0, 3.0)))
    for _ in range(4):
        shot = plain_shot(draw, rate, (2.0, 3.0))
        if draw.random() < 0.35:
            line.dissolve(shot, round(float(rate) * draw.uniform(0.4, 1.0)))
        else:
            line.cut(shot)
    return line


KINDS: dict[str, Callable[[Draw, Fraction], Timeline]] = {
    "cuts": make_cuts,
    "similar": make_similar,
    "dissolves": make_dissolves,
    "fades": make_fades,
    "flashes": make_flashes,
    "pans": make_pans,
    "crossings": make_crossings,
    "motion": make_motion,
    "leaders": make_leaders,
    "cadence": make_cadence,
    "compressed": make_mixed,
    "mixed": make_mixed,
}


# ---------------------------------------------------------------------------- cadences


def repeat_frames(line: Timeline, order: list[int]) -> Timeline:
    """Return the frames in the order given (each at least once), the truth moved with them."""
    first = {}
    for at, frame in enumerate(order):
        first.setdefault(frame, at)
    ends = first | {len(line.frames): len(order)}
    moved = [
        replace(b, frame=ends[b.frame], from_frame=ends[b.from_frame], to_frame=ends[b.to_frame])
        for b in line.truth
    ]
    return Timeline(frames=[line.frames[k] for k in order], truth=moved)


def weave_fields(line: Timeline, pattern: list[tuple[int, int]]) -> Timeline:
    """Return frames woven from (upper, lower) source frames; a boundary goes to its first frame."""
    woven = []
    for upper, lower in pattern:
        frame = line.frames[upper].copy()
        frame[1::2] = line.frames[lower][1::2]
        woven.append(frame)

    def place(frame: int) -> int:
        return next((k for k, p in enumerate(pattern) if max(p) >= frame), len(pattern))

    moved = [
        replace(b, frame=place(b.frame), from_frame=place(b.from_frame), to_frame=place(b.to_frame))
        for b in line.truth
    ]
    return Timeline(frames=woven, truth=moved)


def change_cadence(draw: Draw, line: Timeline, rate: Fraction) -> tuple[Timeline, Fraction]:
    """Return the clip on twos, in 3:2 pulldown (whole frames or fields), or interlaced.

    Film of 24 frames a second is repeated, fields come from 50 or 59.94 pictures a second.
    """
    count = len(line.frames)
    film = ["twos", "repeats", "telecine"]
    how = str(draw.choice(film)) if rate == 24 else "interlaced"
    if how == "twos":
        kept = repeat_frames(line, [k for k in range(count) for _ in (0, 1)])
        return kept, rate
    if how == "repeats":
        order = [k for k in range(count) for _ in range(2 if k % 4 == 3 else 1)]
        return repeat_frames(line, order), rate * 5 / 4
    if how == "telecine":
        group = [(0, 0), (1, 1), (1, 2), (2, 3), (3, 3)]
        pattern = [(base + a, base + b) for base in range(0, count - 3, 4) for a, b in group]
        return weave_fields(line, pattern), rate * 5 / 4
    return weave_fields(line, [(k, k + 1) for k in range(0, count - 1, 2)]), rate / 2


# ---------------------------------------------------------------------------- whole clips


def make_clip(kind: str, seed: int, number: int) -> Clip:
    """Return one clip of a kind; seed and number fix it."""
    draw = np.random.default_rng([seed, number, list(KINDS).index(kind)])
    rate = RATES[int(draw.integers(len(RATES)))]
    if kind == "cadence":
        rate = (Fraction(24), Fraction(24), Fraction(50), Fraction(60000, 1001))[draw.integers(4)]
    line = KINDS[kind](draw, rate)
    if kind == "cadence":
        line, rate = change_cadence(draw, line, rate)
    line = _add_bars(draw, line) if draw.random() < 0.15 else line
    sigma = float(draw.choice([0, 1, 2, 4]))
    frames = [add_grain(draw, frame, sigma) for frame in line.frames]
    quality = int(draw.integers(38, 46)) if kind == "compressed" else int(draw.integers(20, 31))
    return Clip(
        name=f"{kind}-{seed}-{number}", kind=kind, rate=rate, frames=frames,
        truth=tuple(line.truth), quality=quality,
    )  # fmt: skip


def _add_bars(draw: Draw, line: Timeline) -> Timeline:
    bar = int(SIZE_WH[1] * draw.uniform(0.06, 0.13))
    frames = []
    for frame in line.frames:
        barred = frame.copy()
        barred[:bar] = 0
        barred[-bar:] = 0
        frames.append(barred)
    return Timeline(frames=frames, truth=line.truth)


def encode(clip: Clip) -> bytes:
    """Return the clip as H.264 in MP4."""
    target = io.BytesIO()
    with av.open(target, "w", format="mp4") as container:
        stream = container.add_stream("libx264", rate=clip.rate)
        stream.width, stream.height = SIZE_WH
        stream.pix_fmt = "yuv420p"
        stream.options = {"crf": str(clip.quality), "preset": "veryfast", "threads": "1"}
        for frame in clip.frames:
            picture = av.VideoFrame.from_ndarray(np.ascontiguousarray(frame), format="bgr24")
            container.mux(stream.encode(picture))
        container.mux(stream.encode())
    return target.getvalue()


def decode(data: bytes) -> Iterator[av.VideoFrame]:
    with av.open(io.BytesIO(data)) as container:
        container.streams.video[0].thread_type = "SLICE"
        yield from container.decode(video=0)


def shrink(frame: av.VideoFrame) -> npt.NDArray[np.uint8]:
    """Return Y, U, V at 128 x 72, averaged over areas."""
    small = frame.reformat(128, 72, "yuv444p", interpolation="AREA", dst_color_range="JPEG")
    return np.ascontiguousarray(np.moveaxis(small.to_ndarray(), 0, 2))


def decimate(frame: av.VideoFrame) -> npt.NDArray[np.uint8]:
    """Return Y, U, V at 128 x 72, single samples of the planes as coded: the roughest way."""
    planes = frame.to_ndarray()
    width, height = frame.width, frame.height
    half = height * width // 4
    flat = planes.reshape(-1)
    y = flat[: height * width].reshape(height, width)
    u = flat[height * width : height * width + half].reshape(height // 2, width // 2)
    v = flat[height * width + half :].reshape(height // 2, width // 2)
    chosen = []
    for plane in (y, u, v):
        rows = (np.arange(72) * plane.shape[0]) // 72
        columns = (np.arange(128) * plane.shape[1]) // 128
        chosen.append(plane[rows[:, None], columns[None, :]])
    return np.ascontiguousarray(np.dstack(chosen))
