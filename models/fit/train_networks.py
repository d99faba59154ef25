"""Train the two picture networks on samples of `models.fit.gather`; a GPU makes it minutes.

`python -m models.fit.train_networks marks DIR... --out DIR --epochs 50` trains one network on nine
of ten scenes and writes `marks.pt` (or `scout.pt`); it prints the figures on the tenth, which it
never saw, and writes `marks-held-out.npz` with what it says there. `--start DIR` goes on from the
weights there, so that what earlier samples taught is kept.
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
from framecheck.pose.scout import MAP_PX
from framecheck.records.seen import JOINT_INDEX
from models.fit.nets import ANSWERS, MARKS_WIDTHS, PITCH_UNIT_DEG, PLACES, MarksNet, ScoutNet
from models.fit.train import levels_at_edge

SEED = 20261127
RATE = 2e-3
WARM_UP = 0.1
HELD_OUT = 10
FUSED = torch.cuda.is_available()
MOST_ZOOM = 1.12
"""How much nearer a cut-out is shown at most in training; its edge cells are then lost."""

OTHER_SIDES = [row ^ 1 for row in range(PLACES)]
"""Left for right."""

MARKS_MIRROR = (*MIRROR_SHIFTS, *[1.0] * 7, -1.0, *[1.0] * 4, -1.0, 1.0, 1.0)
"""Signs of the marks network's outputs in a mirror."""
Array: TypeAlias = np.ndarray[Any, Any]
Data: TypeAlias = dict[str, Tensor]


def load(folders: list[Path], kind: str, device: str) -> Data:
    """All samples of one kind, on the device."""
    parts: dict[str, list[Array]] = {}
    for folder in folders:
        for path in sorted(folder.glob("*.npz")):
            with np.load(path) as file:
                for key in file.files:
                    if key.startswith(f"{kind}_") and not key.endswith("_kind"):
                        parts.setdefault(key[len(kind) + 1 :], []).append(file[key])
    columns = {key: np.concatenate(arrays) for key, arrays in parts.items()}
    wide = {k: v.astype(np.float32) if v.dtype == np.float64 else v for k, v in columns.items()}
    return {key: torch.from_numpy(value).to(device) for key, value in wide.items()}


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
        "body_yaw_deg": -batch["body_yaw_deg"],
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
    half = SIDE_PX / 2
    joints, sides = (
        ((batch[key] - half) / half - middle[:, None]) * zoom[:, None] * half + half
        for key in ("joints", "sides")
    )
    return {
        **batch, "layers": seen.permute(0, 2, 3, 1), "joints": joints, "sides": sides,
        "scale": batch["scale"] + zoom[:, 0].log(),
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
    cross = -(wanted * logits.flatten(2).log_softmax(dim=2)).sum(dim=2)
    gap = (places.reshape(-1, PLACES, 2) - batch["sides"] / SIDE_PX).abs().sum(dim=2)
    return ((0.1 * cross + 4 * gap) * held).sum() / held.sum().clamp_min(1.0)


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
    return marks + 0.3 * crowns + angles_loss(out, batch) + 0.3 * real


def fit(
    net: MarksNet | ScoutNet, steps: int, options: argparse.Namespace, loss_of: Callable[[], Tensor]
) -> None:
    """Train with one warm-up and a cosine fall, over the steps or over the time given."""
    net.train()
    optimiser = torch.optim.AdamW(net.parameters(), lr=RATE, weight_decay=0.02, fused=FUSED)
    start, done = time.monotonic(), 0.0
    for step in range(steps):
        optimiser.param_groups[0]["lr"] = RATE * rate_share(done)
        loss = loss_of()
        optimiser.zero_grad()
        loss.backward()
        torch.nn.utils.clip_grad_norm_(net.parameters(), 2.0)
        optimiser.step()
        passed_s = time.monotonic() - start
        if step % max(1, steps // 8) == 0:
            print(f"  {step} {loss.item():.4f} {passed_s:.0f} s", flush=True)
        done = max((step + 1) / steps, passed_s / options.seconds)
        if done >= 1:
            print(f"  ended after {step + 1} of {steps} steps", flush=True)
            break
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


def fit_marks(data: Data, options: argparse.Namespace) -> tuple[MarksNet, Tensor, Tensor]:
    """A marks network, and the mean and scale of its numbers."""
    torch.manual_seed(SEED)
    device, batch = data["x"].device, options.batch
    net, mean, scale = begin_marks(data, options)

    def loss() -> Tensor:
        rows = torch.randint(len(data["x"]), (batch,), device=device)
        chosen = pick(data, rows)
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

    fit(net, steps_of(data, options), options, loss)
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
    """A round spot at each head, (N, MAP_PX, MAP_PX)."""
    grid = (torch.arange(MAP_PX, device=heads.device) + 0.5) / MAP_PX
    spread = (0.25 * heads[..., 2]).clamp(0.6 / MAP_PX, 0.12)[..., None]
    across = torch.exp(-((grid - heads[..., :1]) ** 2) / (2 * spread**2))
    down = torch.exp(-((grid - heads[..., 1:2]) ** 2) / (2 * spread**2))
    return torch.nan_to_num(down.unsqueeze(3) * across.unsqueeze(2)).amax(dim=1)


def fit_scout(data: Data, options: argparse.Namespace) -> ScoutNet:
    """A scout network."""
    torch.manual_seed(SEED)
    device, batch, start = data["layers"].device, options.batch, options.start
    net = ScoutNet().to(device)
    net.coarse = FUSED
    if start is not None:
        net.load_state_dict(torch.load(start / "scout.pt", map_location=device)["net"])
    has_back = data["back"].flatten(1).amax(dim=1) > 127
    weights = torch.where(has_back, 2.0, 1.0)

    def loss() -> Tensor:
        chosen = pick(data, torch.multinomial(weights, batch, replacement=True))
        layers = chosen["layers"].permute(0, 3, 1, 2).float() / 255
        back, heads = chosen["back"].float() / 255, head_maps(chosen["heads"])
        if torch.rand(()) < 0.5:
            layers, back, heads = layers.flip(3), back.flip(2), heads.flip(2)
        layers = torch.cat([recolour(layers[:, :3]), layers[:, 3:]], dim=1)
        for layer, share in ((3, 0.1), (4, 0.2)):  # it also looks before all people are known
            blank = torch.rand(batch, 1, 1, device=device) < share
            layers[:, layer] = torch.where(blank, 0.0, layers[:, layer])
        out = net(layers)
        of = torch.nn.functional.binary_cross_entropy_with_logits
        return of(out[:, 0], back) + of(out[:, 1], heads)

    fit(net, steps_of(data, options), options, loss)
    return net


def predict_scout(net: ScoutNet, data: Data) -> Array:
    """Probabilities, (N, 2, MAP_PX, MAP_PX), both mirror images counting alike."""
    outs = []
    with torch.no_grad():
        for rows in data["layers"].split(256):
            layers = rows.permute(0, 3, 1, 2).float() / 255
            outs.append((net(layers).sigmoid() + net(layers.flip(3)).sigmoid().flip(3)) / 2)
    return np.asarray(torch.cat(outs).half().cpu().numpy())


def report_scout(out: Array, data: Data) -> None:
    """How well pictures with a near back are told from those without."""
    true = (data["back"] > 127).float().mean(dim=(1, 2)).cpu().numpy()
    area = (out[:, 0] > 0.5).mean(axis=(1, 2))
    has, hasnt = true >= 0.02, true == 0
    for least in (0.005, 0.01, 0.02, 0.03):
        says = area >= least
        found, false = int((has & says).sum()), int((hasnt & says).sum())
        print(f"scout, {least}: found {found} of {has.sum()}, false {false} of {hasnt.sum()}")


def split(data: Data) -> tuple[Data, Data]:
    """The samples of the scenes that are held out, and the others."""
    out = data["scene"] % HELD_OUT == 0
    return pick(data, out), pick(data, ~out)


def steps_of(data: Data, options: argparse.Namespace) -> int:
    """Steps of training."""
    return math.ceil(options.epochs * len(data["scene"]) / options.batch)


def train_marks(data: Data, options: argparse.Namespace) -> None:
    """The marks network, its figures on the held-out scenes, and what it saw there."""
    held, kept = split(data)
    net, mean, scale = fit_marks(kept, options)
    whole = {"net": net.state_dict(), "mean": mean, "scale": scale, "widths": options.widths}
    torch.save(whole, options.out / "marks.pt")
    seen = predict_marks(net, mean, scale, held, mirror=False)
    save_check(options.out / "marks-held-out.npz", seen, held)
    for family, hard in (("all", None), ("plain", False), ("hard", True)):
        rows = held["hard"] == hard if hard is not None else torch.ones_like(held["hard"]).bool()
        if (rows & held["real"]).any():
            report_marks(f"marks, held out, {family}", seen[rows.cpu().numpy()], pick(held, rows))


def train_scout(data: Data, options: argparse.Namespace) -> None:
    """The scout, its figures on the held-out scenes, and what it saw there."""
    held, kept = split(data)
    net = fit_scout(kept, options)
    torch.save({"net": net.state_dict()}, options.out / "scout.pt")
    seen = predict_scout(net, held)
    save_check(options.out / "scout-held-out.npz", seen[:2000], pick_first(held, 2000))
    report_scout(seen, held)


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
    parser.add_argument("--epochs", type=float, default=50)
    parser.add_argument("--batch", type=int, default=128)
    parser.add_argument("--seconds", type=float, default=math.inf)
    parser.add_argument("--start", type=Path)
    parser.add_argument("--widths", type=read_widths, default=MARKS_WIDTHS)
    options = parser.parse_args()
    device = "cuda" if torch.cuda.is_available() else "cpu"
    torch.backends.cudnn.benchmark = True
    torch.set_float32_matmul_precision("high")
    options.out.mkdir(parents=True, exist_ok=True)
    kind, train = NETWORKS[options.network]
    data = load(options.folders, kind, device)
    print(kind, len(data["scene"]), device, flush=True)
    train(data, options)


if __name__ == "__main__":
    main()
