"""Train the two picture networks on samples of `models.fit.gather`; a GPU makes it minutes.

`python -m models.fit.train_networks marks DIR... --out DIR --seconds 900` trains one network on
nine of ten scenes and writes `marks.pt` (or `scout.pt`); it prints the figures on the tenth, which
it never saw, and writes `marks-held-out.npz` with what it says there. `--start DIR` goes on from
the weights there, so that what earlier samples taught is kept. Samples that are written meanwhile
are taken in, so that training may begin while the gathering goes on.
"""

from __future__ import annotations

import argparse
import json
import math
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any, TypeAlias

import numpy as np
import torch
from torch import Tensor

from framecheck.measure.corrector import CHAIN, MIRROR_SHIFTS, MIRROR_SIGNS
from framecheck.pose.marks import GROUPS, SIDE_PX, SPOTS_PX, SPREAD_PX
from framecheck.pose.scout import MAP_PX, SCOUT_PX, find_heads
from framecheck.records.seen import JOINT_INDEX
from framecheck.records.values import Box
from models.fit.nets import ANSWERS, MARKS_WIDTHS, PITCH_UNIT_DEG, PLACES, MarksNet, ScoutNet
from models.fit.train import levels_at_edge

SEED = 20261127
RATE = 2e-3
WARM_UP = 0.1
HELD_OUT = 10
GROW_S = 40.0
"""How often new samples are looked for."""

FUSED = torch.cuda.is_available()
MOST_ZOOM = 1.12
"""How much nearer a cut-out is shown at most in training; its edge cells are then lost."""

MOST_CROPPED, LEAST_CROP = 0.6, 0.4
"""Share of the pictures that the scout sees cropped in training, and the least side of a crop."""

OTHER_SIDES = [row ^ 1 for row in range(PLACES)]
"""Left for right."""

MARKS_MIRROR = (*MIRROR_SHIFTS, *[1.0] * 7, -1.0, *[1.0] * 4, -1.0, 1.0, 1.0, -1.0, 1.0, -1.0, 1.0)
"""Signs of the marks network's outputs in a mirror."""
Array: TypeAlias = np.ndarray[Any, Any]
Data: TypeAlias = dict[str, Tensor]


class Stock:
    """The samples of one kind in some folders, on the device; grows as files are written there.

    Attributes:
        kept: what to train on.
        held: the samples of every tenth scene, which no training sees.
    """

    def __init__(self, folders: list[Path], kind: str, device: str) -> None:
        self._folders, self._kind, self._device = folders, kind, device
        self._seen: set[Path] = set()
        self._waiting: list[Data] = []
        self.kept: Data = {}
        self.held: Data = {}
        self.grow()

    def grow(self) -> None:
        """Take in the files that were written since the last time."""
        found = [path for folder in self._folders for path in sorted(folder.glob("*.npz"))]
        new = [path for path in found if path not in self._seen]
        for path in new:
            part = self._read(path)
            if part:
                out = part["scene"] % HELD_OUT == 0
                self.held = _joined(self.held, pick(part, out))
                self._waiting.append(pick(part, ~out))
        if self._waiting:
            whole = [self.kept, *self._waiting] if self.kept else self._waiting
            self.kept = {key: torch.cat([p[key] for p in whole]) for key in whole[0]}
            self._waiting = []
        self._seen.update(new)

    def _read(self, path: Path) -> Data:
        prefix = f"{self._kind}_"
        with np.load(path) as file:
            columns = {
                key[len(prefix) :]: file[key]
                for key in file.files
                if key.startswith(prefix) and not key.endswith("_kind")
            }
        wide = {k: v.astype(np.float32) if v.dtype == np.float64 else v for k, v in columns.items()}
        return {key: torch.from_numpy(value).to(self._device) for key, value in wide.items()}


def _joined(data: Data, more: Data) -> Data:
    return {key: torch.cat([data[key], more[key]]) for key in more} if data else more


def pick(data: Data, rows: Tensor) -> Data:
    """Some of the samples."""
    return {key: value[rows] for key, value in data.items()}


def spots(joints: Tensor) -> Tensor:
    """The layers of `framecheck.pose.marks.joint_spots` for a batch."""
    cell = SIDE_PX / SPOTS_PX
    grid = (torch.arange(SPOTS_PX, device=joints.device) + 0.5) * cell
    layers = []
    for names in GROUPS:
        at = joints[:, [JOINT_INDEX[name] for name in names]]
        across = torch.exp(-((grid - at[..., :1]) ** 2) / (2 * SPREAD_PX**2))
        down = torch.exp(-((grid - at[..., 1:]) ** 2) / (2 * SPREAD_PX**2))
        layers.append((down.unsqueeze(3) * across.unsqueeze(2)).amax(dim=1))
    return torch.stack(layers, dim=1)


def recolour(rgb: Tensor) -> Tensor:
    """Other light, other colours, other sharpness; some pictures lose their colours or vanish."""
    n, device = len(rgb), rgb.device
    rand = lambda *s: torch.rand(*s, device=device)  # noqa: E731
    mixed = rgb * (0.6 + 0.8 * rand(n, 3, 1, 1)) + 0.3 * (rand(n, 3, 1, 1) - 0.5)
    order = torch.argsort(rand(n, 3), dim=1)
    shuffled = torch.gather(mixed, 1, order[:, :, None, None].expand_as(mixed))
    mixed = torch.where(rand(n, 1, 1, 1) < 0.3, shuffled, mixed)
    grey = mixed.mean(dim=1, keepdim=True).expand_as(mixed)
    mixed = torch.lerp(mixed, grey, (rand(n, 1, 1, 1) * 1.4 - 0.4).clamp(0, 1))
    mixed = mixed.clamp(0, 1) ** torch.exp(1.4 * (rand(n, 1, 1, 1) - 0.5))
    dim = torch.where(rand(n, 1, 1, 1) < 0.15, 0.12 + 0.5 * rand(n, 1, 1, 1), 1.0)
    mixed = mixed * dim
    soft = torch.nn.functional.avg_pool2d(mixed, 3, 1, 1, count_include_pad=False)
    mixed = torch.where(rand(n, 1, 1, 1) < 0.3, soft, mixed)
    mixed = mixed + 0.06 * rand(n, 1, 1, 1) * torch.randn_like(mixed)
    return torch.where(rand(n, 1, 1, 1) < 0.08, torch.full_like(mixed, 0.5), mixed).clamp(0, 1)


def marks_inputs(batch: Data, mean: Tensor, scale: Tensor) -> tuple[Tensor, Tensor, Tensor]:
    """What the marks network is given."""
    layers = batch["layers"].permute(0, 3, 1, 2).float() / 255
    numbers = torch.cat([batch["x"], batch["scale"][:, None]], dim=1)
    return layers, spots(batch["joints"]), ((numbers - mean) / scale).clamp(-4, 4)


def mirrored(batch: Data) -> Data:
    """The same people seen in a mirror."""
    x = batch["x"].clone()
    x[:, MIRROR_SIGNS] *= -1
    x[:, [12, 13]] = batch["x"][:, [13, 12]]
    joints = batch["joints"].clone()
    joints[..., 0] = SIDE_PX - joints[..., 0]
    sides = batch["sides"][:, OTHER_SIDES].clone()
    sides[..., 0] = SIDE_PX - sides[..., 0]
    signs = torch.tensor(MIRROR_SHIFTS, dtype=torch.float32, device=x.device)
    return {
        **batch, "x": x, "joints": joints, "layers": batch["layers"].flip(2),
        "y": batch["y"] * signs, "sides": sides, "yaw_deg": -batch["yaw_deg"],
        "body_yaw_deg": -batch["body_yaw_deg"], "own": batch["own"].flip(2),
        "eyes_chin": batch["eyes_chin"] * torch.tensor([-1.0, 1.0, -1.0, 1.0], device=x.device),
    }  # fmt: skip


def zoomed(batch: Data) -> Data:
    """The same people a little nearer and aside, so that no place in the cut-out is learned."""
    n, device = len(batch["x"]), batch["x"].device
    zoom = 1 + (MOST_ZOOM - 1) * torch.rand(n, 1, device=device)
    middle = (2 * torch.rand(n, 2, device=device) - 1) * (1 - 1 / zoom)
    frame = torch.zeros(n, 2, 3, device=device)
    frame[:, 0, 0] = frame[:, 1, 1] = 1 / zoom[:, 0]
    frame[:, :, 2] = middle
    layers = batch["layers"].permute(0, 3, 1, 2).float()
    grid = torch.nn.functional.affine_grid(frame, list(layers.shape), align_corners=False)
    seen = torch.nn.functional.grid_sample(layers, grid, padding_mode="border", align_corners=False)
    own = batch["own"][:, None].float()
    owned = torch.nn.functional.grid_sample(
        own, torch.nn.functional.affine_grid(frame, list(own.shape), align_corners=False),
        align_corners=False,
    )  # fmt: skip
    half = SIDE_PX / 2
    joints, sides = (
        ((batch[key] - half) / half - middle[:, None]) * zoom[:, None] * half + half
        for key in ("joints", "sides")
    )
    return {
        **batch, "layers": seen.permute(0, 2, 3, 1), "joints": joints, "sides": sides,
        "scale": batch["scale"] + zoom[:, 0].log(), "own": owned[:, 0],
    }  # fmt: skip


def turns(degrees: Tensor) -> Tensor:
    """Sine and cosine, (N, 2)."""
    radians = torch.deg2rad(degrees)
    return torch.stack([radians.sin(), radians.cos()], dim=1)


def angles_loss(out: Tensor, batch: Data) -> Tensor:
    """Laplace likelihood of the head's yaw and the camera's pitch; the body's yaw."""
    gap = (out[:, 17:19] - turns(batch["yaw_deg"])).norm(dim=1)
    yaw_log, pitch_log = out[:, 19].clamp(-4, 1), out[:, 21].clamp(-4, 1)
    yaw = gap / yaw_log.exp() + yaw_log
    tilt = (out[:, 20] - batch["pitch_deg"] / PITCH_UNIT_DEG).abs()
    pitch = tilt / pitch_log.exp() + pitch_log
    body = (out[:, 22:24] - turns(batch["body_yaw_deg"])).norm(dim=1)
    return mean_of_real(0.1 * yaw + 0.1 * pitch + 0.2 * body, batch)


def mean_of_real(loss: Tensor, batch: Data) -> Tensor:
    """The mean over those samples that are somebody; of nobody nothing else is true."""
    real = batch["real"].float()
    return (loss * real).sum() / real.sum().clamp_min(1.0)


def raw_places(joints: Tensor) -> Tensor:
    """Middles of the chain's joints as the pose network gave them, (N, 5, 2), cells."""
    pair = [[JOINT_INDEX[f"{n}_{side}"] for side in ("left", "right")] for n in CHAIN[:-1]]
    found = [joints[:, rows].mean(dim=1) for rows in pair]
    heel, toe = (
        joints[:, [JOINT_INDEX[f"{n}_left"], JOINT_INDEX[f"{n}_right"]]].mean(dim=1)
        for n in ("heel", "toe")
    )
    x = (found[3][:, 0] + heel[:, 0]) / 2
    y = torch.maximum(heel[:, 1], (heel[:, 1] + toe[:, 1]) / 2)
    return torch.stack([*found, torch.stack([x, y], dim=1)], dim=1)


def answers(out: Tensor, batch: Data) -> Tensor:
    """The network's answers, with the shifts taken from the map as far as its gates say."""
    places = out[:, ANSWERS + PLACES :].reshape(-1, len(CHAIN), 2, 2).mean(dim=2)
    per_stature = torch.exp(-batch["scale"])[:, None, None]
    placed = (places - raw_places(batch["joints"]) / SIDE_PX) * per_stature
    gate = out[:, ANSWERS : ANSWERS + PLACES].sigmoid()
    told = out[:, :PLACES]
    return torch.cat([told + gate * (placed.flatten(1) - told), out[:, PLACES:ANSWERS]], dim=1)


def map_loss(logits: Tensor, places: Tensor, batch: Data) -> Tensor:
    """How far the maps' beliefs are from round spots at the joints that the picture holds."""
    cell = SIDE_PX / SPOTS_PX
    at = batch["sides"] / cell
    grid = torch.arange(SPOTS_PX, device=at.device) + 0.5
    across = torch.exp(-((grid - at[..., :1]) ** 2) / 2)
    down = torch.exp(-((grid - at[..., 1:]) ** 2) / 2)
    spot = (down.unsqueeze(3) * across.unsqueeze(2)).flatten(2)
    inside = batch["layers"][..., 4].float() / 255
    column, row = (at * cell).long().clamp(0, SIDE_PX - 1).unbind(dim=2)
    held = inside.flatten(1).gather(1, row * SIDE_PX + column)
    held = held * ((at > 0) & (at < SPOTS_PX)).all(dim=2)
    wanted = spot / spot.sum(dim=2, keepdim=True).clamp_min(1e-6)
    cross = -(wanted * logits[:, :PLACES].flatten(2).log_softmax(dim=2)).sum(dim=2)
    gap = (places.reshape(-1, PLACES, 2) - batch["sides"] / SIDE_PX).abs().sum(dim=2)
    placed = ((0.1 * cross + 4 * gap) * held).sum() / held.sum().clamp_min(1.0)
    own = torch.nn.functional.binary_cross_entropy_with_logits(
        logits[:, PLACES], batch["own"].float() / 255, reduction="none"
    )
    return placed + 0.5 * mean_of_real(own.mean(dim=(1, 2)), batch)


def marks_loss(out: Tensor, batch: Data) -> Tensor:
    """Laplace likelihood of heights, weighted by nearness to the edge; sideways; the crown."""
    y = batch["y"].clamp(-1.5, 1.5)
    near = torch.exp(-(batch["edge"][:, :5] - y[:, 1::2]).abs() / 0.25) + 0.15
    log_error = out[:, 10:15].clamp(-6, 0)
    vertical = (out[:, 1:10:2] - y[:, 1::2]).abs() / log_error.exp() + log_error
    sideways = torch.nn.functional.smooth_l1_loss(
        out[:, 0:10:2], y[:, 0::2], beta=0.05, reduction="none"
    )
    crown = ((batch["crown"] - batch["crown_now"]) / batch["face"]).clamp(-3, 3)
    crown_log = out[:, 16].clamp(-4, 1)
    crown_loss = (out[:, 15] - crown).abs() / crown_log.exp() + crown_log
    marks = mean_of_real((near * (vertical + 10 * sideways)).mean(dim=1), batch)
    crowns = mean_of_real(crown_loss, batch)
    real = torch.nn.functional.binary_cross_entropy_with_logits(out[:, 24], batch["real"].float())
    face = (out[:, 25:29] - batch["eyes_chin"].clamp(-2, 2)).abs().mean(dim=1)
    faces = mean_of_real(face, batch)
    return marks + 0.3 * crowns + angles_loss(out, batch) + 0.5 * real + 0.5 * faces


def fit(
    net: MarksNet | ScoutNet, stock: Stock, options: argparse.Namespace,
    loss_of: Callable[[], Tensor],
) -> None:  # fmt: skip
    """Train with one warm-up and a cosine fall, over the steps or over the time given."""
    steps = options.epochs * len(stock.kept["scene"]) / options.batch
    net.train()
    optimiser = torch.optim.AdamW(net.parameters(), lr=RATE, weight_decay=0.02, fused=FUSED)
    start = grown = time.monotonic()
    step, done = 0, 0.0
    while done < 1:
        optimiser.param_groups[0]["lr"] = RATE * rate_share(done)
        loss = loss_of()
        optimiser.zero_grad()
        loss.backward()
        torch.nn.utils.clip_grad_norm_(net.parameters(), 2.0)
        optimiser.step()
        step += 1
        now = time.monotonic()
        if now - grown > GROW_S:
            stock.grow()
            count = len(stock.kept["scene"])
            print(f"  {step} {loss.item():.4f} {now - start:.0f} s, {count} samples", flush=True)
            grown = now
        done = max(step / steps, (now - start) / options.seconds)
    print(f"  ended after {step} steps", flush=True)
    net.eval()
    net.coarse = False


def rate_share(done: float) -> float:
    """Share of the full rate after a share of the training: up in a tenth, then down."""
    if done < WARM_UP:
        return max(done, 0.01) / WARM_UP
    return 0.5 * (1 + math.cos(math.pi * (done - WARM_UP) / (1 - WARM_UP)))


def begin_marks(data: Data, options: argparse.Namespace) -> tuple[MarksNet, Tensor, Tensor]:
    """A network with the mean and scale of its numbers: new, or as it was left in a folder."""
    device, start = data["x"].device, options.start
    net = MarksNet(options.widths).to(device)
    net.coarse = FUSED
    if start is None:
        numbers = torch.cat([data["x"], data["scale"][:, None]], dim=1)
        return net, numbers.mean(dim=0), numbers.std(dim=0).clamp_min(1e-3)
    saved = torch.load(start / "marks.pt", map_location=device)
    net.load_state_dict(saved["net"])
    return net, saved["mean"], saved["scale"]


def fit_marks(stock: Stock, options: argparse.Namespace) -> tuple[MarksNet, Tensor, Tensor]:
    """A marks network, and the mean and scale of its numbers."""
    torch.manual_seed(SEED)
    device, batch = stock.kept["x"].device, options.batch
    net, mean, scale = begin_marks(stock.kept, options)

    def loss() -> Tensor:
        rows = torch.randint(len(stock.kept["x"]), (batch,), device=device)
        chosen = pick(stock.kept, rows)
        if torch.rand(()) < 0.5:
            chosen = mirrored(chosen)
        if torch.rand(()) < 0.7:
            chosen = zoomed(chosen)
        layers, shown, given = marks_inputs(chosen, mean, scale)
        layers[:, :3] = recolour(layers[:, :3])
        blank = torch.rand(batch, 1, 1, device=device) < 0.05
        layers[:, 3] = torch.where(blank, 0.0, layers[:, 3])
        out, logits = net(layers, shown, given + 0.1 * torch.randn_like(given))
        told = marks_loss(out[:, :ANSWERS], chosen)
        placed = map_loss(logits, out[:, ANSWERS + PLACES :], chosen)
        return marks_loss(answers(out, chosen), chosen) + 0.3 * told + placed

    fit(net, stock, options, loss)
    return net, mean, scale


def predict_marks(net: MarksNet, mean: Tensor, scale: Tensor, data: Data, *, mirror: bool) -> Array:
    """Answers for samples; with `mirror`, both mirror images count alike."""
    outs = []
    signs = torch.tensor(MARKS_MIRROR, dtype=torch.float32, device=mean.device)
    with torch.no_grad():
        for rows in torch.arange(len(data["x"]), device=mean.device).split(512):
            batch = pick(data, rows)
            plain = answers(net(*marks_inputs(batch, mean, scale))[0], batch)
            if mirror:
                other = mirrored(batch)
                turned = answers(net(*marks_inputs(other, mean, scale))[0], other) * signs
                plain = (plain + turned) / 2
            outs.append(plain)
    return np.asarray(torch.cat(outs).cpu().numpy())


def report_marks(name: str, out: Array, data: Data) -> dict[str, float]:
    """Crop-level and crown errors, and how well nobody is told from somebody."""
    says, real = out[:, 24], data["real"].cpu().numpy()
    told = {
        f"nobody under {least}": [int((says[~real] < least).sum()), int((says[real] < least).sum())]
        for least in (-3, -2, -1, 0)
    }
    print(name, "somebody", int(real.sum()), "nobody", int((~real).sum()), json.dumps(told))
    out, data = out[real], pick(data, data["real"])
    edge, y = data["edge"].cpu().numpy(), data["y"].cpu().numpy()
    true = levels_at_edge(edge[:, 5], edge[:, :5] - y[:, 1::2])
    got = levels_at_edge(edge[:, 5], edge[:, :5] - out[:, 1:10:2])
    keep = np.isfinite(true) & np.isfinite(got) & (true > 0)
    whole = keep & data["whole"].cpu().numpy()
    unit, face = data["unit_frac"].cpu().numpy(), data["face"].cpu().numpy()
    crown, now = data["crown"].cpu().numpy(), data["crown_now"].cpu().numpy()
    before, after = np.abs(now - crown) * unit, np.abs(now + out[:, 15] * face - crown) * unit
    gap = np.abs(got - true)
    figures = {
        "samples": int(keep.sum()), "median": np.median(gap[keep]),
        "p90": np.quantile(gap[keep], 0.9), "whole_median": np.median(gap[whole]),
        "whole_p90": np.quantile(gap[whole], 0.9),
        "crown_now_p90": np.quantile(before, 0.9), "crown_p90": np.quantile(after, 0.9),
        "crown_now_median": np.median(before), "crown_median": np.median(after),
    }  # fmt: skip
    figures |= angle_figures(out, data)
    rounded = {key: round(float(value), 5) for key, value in figures.items()}
    print(name, json.dumps(rounded), flush=True)
    return rounded


def angle_figures(out: Array, data: Data) -> dict[str, float]:
    """Errors of the angles, degrees."""
    names = {"yaw": (17, "yaw_deg"), "body_yaw": (22, "body_yaw_deg")}
    figures = {}
    for name, (first, key) in names.items():
        got = np.degrees(np.arctan2(out[:, first], out[:, first + 1]))
        gap = np.abs((got - data[key].cpu().numpy() + 180) % 360 - 180)
        figures |= {f"{name}_median": np.median(gap), f"{name}_p90": np.quantile(gap, 0.9)}
    pitch = np.abs(out[:, 20] * PITCH_UNIT_DEG - data["pitch_deg"].cpu().numpy())
    return figures | {"pitch_median": np.median(pitch), "pitch_p90": np.quantile(pitch, 0.9)}


def head_maps(heads: Tensor) -> Tensor:
    """The highest of round spots at the heads, each 1 in the cell of its middle; (N, 80, 80)."""
    grid = torch.arange(MAP_PX, device=heads.device).float()
    cells = (heads[..., :2] * MAP_PX).floor()
    spread = (0.18 * heads[..., 2:4] * MAP_PX).clamp(0.7, 8.0)
    across = torch.exp(-((grid - cells[..., :1]) ** 2) / (2 * spread[..., :1] ** 2))
    down = torch.exp(-((grid - cells[..., 1:]) ** 2) / (2 * spread[..., 1:] ** 2))
    return torch.nan_to_num(down.unsqueeze(3) * across.unsqueeze(2)).amax(dim=1)


def framed(batch: Data, *, alter: bool) -> tuple[Tensor, Tensor, Tensor]:
    """Pictures as the scout sees them, near backs, and heads; altered ones cropped and mirrored.

    Returns:
        (N, 4, 320, 320) in 0..1; (N, 80, 80) in 0..1; (N, MOST_HEADS, 6): x and y of the middle,
        width and height (a head is as wide as high), each over the picture's, and the direction.
    """
    layers = batch["layers"].permute(0, 3, 1, 2).float() / 255
    back, heads = batch["back"][:, None].float() / 255, batch["heads"]
    n, device = len(layers), layers.device
    middle, size = torch.zeros(n, 2, device=device), torch.ones(n, 2, device=device)
    if alter:
        crop = torch.rand(n, 1, device=device) < MOST_CROPPED
        size = torch.where(crop, LEAST_CROP + (1 - LEAST_CROP) * torch.rand(n, 1, device=device), 1)
        size = (size * (1 + 0.15 * (torch.rand(n, 2, device=device) - 0.5))).clamp(max=1.0)
        middle = (2 * torch.rand(n, 2, device=device) - 1) * (1 - size)
    frame = torch.zeros(n, 2, 3, device=device)
    frame[:, 0, 0], frame[:, 1, 1], frame[:, :, 2] = size[:, 0], size[:, 1], middle
    grids = [
        torch.nn.functional.affine_grid(frame, [n, 1, side, side], align_corners=False)
        for side in (SCOUT_PX, MAP_PX)
    ]
    seen = torch.nn.functional.grid_sample(layers, grids[0], align_corners=False)
    backs = torch.nn.functional.grid_sample(back, grids[1], align_corners=False)[:, 0]
    at = ((2 * heads[..., :2] - 1) - middle[:, None]) / size[:, None] / 2 + 0.5
    high = heads[..., 2:3] / size[:, None, 1:]
    wide = heads[..., 2:3] / size[:, None, :1] / batch["aspect"][:, None, None]
    told = torch.cat([at, wide, high, heads[..., 3:5]], dim=2)
    beyond = ((at < 0) | (at >= 1)).any(dim=2, keepdim=True)
    told = torch.where(beyond, torch.nan, told)
    if alter and torch.rand(()) < 0.5:
        seen, backs = seen.flip(3), backs.flip(2)
        told[..., 0] = (1 - told[..., 0]).clamp(max=1 - 1e-6)
        told[..., 4] *= -1.0
    return seen, backs, told


def scout_loss(out: Tensor, backs: Tensor, heads: Tensor) -> Tensor:
    """Cross entropy of the near backs; of the heads as Lin (2017) and Zhou (2019) weigh it; sizes.

    Hard cells weigh more, cells beside a head less (focal loss with the powers 2 and 4).
    """
    back = torch.nn.functional.binary_cross_entropy_with_logits(out[:, 0], backs)
    spots, belief = head_maps(heads), out[:, 1].sigmoid().clamp(1e-4, 1 - 1e-4)
    peak = spots >= 1.0
    gain = torch.where(
        peak, (1 - belief) ** 2 * belief.log(),
        (1 - spots) ** 4 * belief**2 * (1 - belief).log(),
    )  # fmt: skip
    count = (~heads[..., 0].isnan()).sum().clamp_min(1)
    picture, row = torch.nonzero(~heads[..., 0].isnan(), as_tuple=True)
    true = heads[picture, row]
    x, y = (true[:, :2] * MAP_PX).long().clamp(0, MAP_PX - 1).unbind(dim=1)
    told = out[picture, 2:, y, x]
    wanted = torch.cat([true[:, 3:4].clamp(1e-3, 4).log(), true[:, 4:]], dim=1)
    sizes = (told - wanted).abs().sum() / count
    return 2 * back - gain.sum() / count + 0.5 * sizes


def fit_scout(stock: Stock, options: argparse.Namespace) -> ScoutNet:
    """A scout network."""
    torch.manual_seed(SEED)
    device, batch, start = stock.kept["layers"].device, options.batch, options.start
    net = ScoutNet().to(device)
    net.coarse = FUSED
    if start is not None:
        net.load_state_dict(torch.load(start / "scout.pt", map_location=device)["net"])

    def loss() -> Tensor:
        rows = torch.randint(len(stock.kept["scene"]), (batch,), device=device)
        seen, backs, heads = framed(pick(stock.kept, rows), alter=True)
        seen = torch.cat([recolour(seen[:, :3]), seen[:, 3:]], dim=1)
        blank = torch.rand(batch, 1, 1, device=device) < 0.1
        seen[:, 3] = torch.where(blank, 0.0, seen[:, 3])
        return scout_loss(net(seen), backs, heads)

    fit(net, stock, options, loss)
    return net


def predict_scout(net: ScoutNet, data: Data) -> tuple[Array, Array]:
    """Maps of whole pictures, and the heads beside them."""
    outs, heads = [], []
    with torch.no_grad():
        for rows in torch.arange(len(data["scene"]), device=data["scene"].device).split(64):
            seen, _, told = framed(pick(data, rows), alter=False)
            outs.append(net(seen).half())
            heads.append(told)
    return tuple(np.asarray(torch.cat(v).float().cpu().numpy()) for v in (outs, heads))  # type: ignore[return-value]


def report_scout(maps: Array, heads: Array, data: Data) -> None:
    """How many near backs and heads are found, and how many of what is found are none."""
    true = (data["back"] > 127).float().mean(dim=(1, 2)).cpu().numpy()
    area = (maps[:, 0] > 0).mean(axis=(1, 2))
    has, hasnt = true >= 0.02, true == 0
    for least in (0.005, 0.01, 0.02, 0.03):
        found, false = int((has & (area >= least)).sum()), int((hasnt & (area >= least)).sum())
        print(f"backs, {least}: found {found} of {has.sum()}, false {false} of {hasnt.sum()}")
    for least in (0.2, 0.3, 0.4, 0.5, 0.6):
        print(f"heads, {least}:", json.dumps(head_tally(maps, heads, least)), flush=True)


def head_tally(maps: Array, heads: Array, least: float) -> dict[str, list[int]]:
    """Found and true heads by height over the picture's, false ones, pictures of nobody."""
    bounds = (0.0, 0.02, 0.05, 0.15, 0.5, 9.0)
    tally: dict[str, list[int]] = {f"under {high}": [0, 0] for high in bounds[1:]}
    tally |= {"false": [0], "nobody": [0, 0]}
    for layers, rows in zip(maps, heads, strict=True):
        box = Box(x_px=0.0, y_px=0.0, w_px=1.0, h_px=1.0)
        belief = 1 / (1 + np.exp(-layers[1].astype(np.float64)))
        hints = [h for h in find_heads(belief, layers[2:], box) if h.belief >= least]
        true = rows[~np.isnan(rows[:, 0])]
        taken: set[int] = set()
        for x, y, wide, high, *_ in true:
            band = next(b for b in bounds[1:] if high < b)
            near = [
                i for i, h in enumerate(hints)
                if i not in taken
                and math.hypot((h.centre_px[0] - x) / wide, (h.centre_px[1] - y) / high) < 0.7
            ]  # fmt: skip
            tally[f"under {band}"][0] += bool(near)
            tally[f"under {band}"][1] += 1
            taken.update(near[:1])
        tally["false"][0] += len(hints) - len(taken)
        if not len(true):
            tally["nobody"][0] += not hints
            tally["nobody"][1] += 1
    return tally


def train_marks(stock: Stock, options: argparse.Namespace) -> None:
    """The marks network, its figures on the held-out scenes, and what it saw there."""
    net, mean, scale = fit_marks(stock, options)
    held = stock.held
    whole = {"net": net.state_dict(), "mean": mean, "scale": scale, "widths": options.widths}
    torch.save(whole, options.out / "marks.pt")
    seen = predict_marks(net, mean, scale, held, mirror=False)
    save_check(options.out / "marks-held-out.npz", seen, held)
    every = torch.ones_like(held["hard"]).bool()
    groups = {
        "all": every, "plain": ~held["hard"] & ~held["put"], "hard": held["hard"] & ~held["put"],
        "put": held["put"],
    }  # fmt: skip
    for name, rows in groups.items():
        if (rows & held["real"]).any():
            report_marks(f"marks, held out, {name}", seen[rows.cpu().numpy()], pick(held, rows))


def train_scout(stock: Stock, options: argparse.Namespace) -> None:
    """The scout, and its figures on the held-out scenes."""
    net = fit_scout(stock, options)
    torch.save({"net": net.state_dict()}, options.out / "scout.pt")
    maps, heads = predict_scout(net, stock.held)
    few = pick_first(stock.held, 150)
    save_check(options.out / "scout-held-out.npz", maps[:150].astype(np.float16), few)
    report_scout(maps, heads, stock.held)


def pick_first(data: Data, count: int) -> Data:
    """The first samples."""
    return {key: value[:count] for key, value in data.items()}


def save_check(path: Path, out: Array, held: Data) -> None:
    """What the check saw beside what is true, without the pictures."""
    columns = {key: value.cpu().numpy() for key, value in held.items() if key != "layers"}
    np.savez_compressed(path, out=out, **columns)


def read_widths(text: str) -> tuple[int, ...]:
    """Numbers between commas."""
    return tuple(int(part) for part in text.split(","))


NETWORKS = {"marks": ("people", train_marks), "scout": ("pictures", train_scout)}


def main() -> None:
    """Command line entry."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("network", choices=sorted(NETWORKS))
    parser.add_argument("folders", type=Path, nargs="+")
    parser.add_argument("--out", type=Path, required=True)
    parser.add_argument("--epochs", type=float, default=math.inf, help="of the first samples")
    parser.add_argument("--batch", type=int, default=128)
    parser.add_argument("--seconds", type=float, default=math.inf)
    parser.add_argument("--start", type=Path)
    parser.add_argument("--widths", type=read_widths, default=MARKS_WIDTHS)
    options = parser.parse_args()
    if math.isinf(options.epochs) and math.isinf(options.seconds):
        parser.error("say when to end: --epochs or --seconds")
    device = "cuda" if torch.cuda.is_available() else "cpu"
    torch.backends.cudnn.benchmark = True
    torch.set_float32_matmul_precision("high")
    options.out.mkdir(parents=True, exist_ok=True)
    kind, train = NETWORKS[options.network]
    stock = Stock(options.folders, kind, device)
    print(kind, len(stock.kept["scene"]), device, flush=True)
    train(stock, options)
    print(kind, len(stock.kept["scene"]), "trained on,", len(stock.held["scene"]), "held out")


if __name__ == "__main__":
    main()
