"""Train the two picture networks on samples of `models.fit.gather`; a GPU makes it minutes.

`python -m models.fit.train_networks DIR... --out DIR --epochs 50` holds every seventh scene out for
the printed figures, then trains again on all scenes for the weights that are kept. Writes
`marks.pt`, `scout.pt` and `held-out.npz` with what the check saw.
"""

from __future__ import annotations

import argparse
import json
import math
import time
from pathlib import Path
from typing import Any, TypeAlias

import numpy as np
import torch
from torch import Tensor

from framecheck.measure.corrector import MIRROR_SHIFTS, MIRROR_SIGNS
from framecheck.pose.marks import GROUPS, SIDE_PX, SPREAD_PX
from framecheck.pose.scout import MAP_PX
from framecheck.records.seen import JOINT_INDEX
from models.fit.nets import MarksNet, ScoutNet
from models.fit.train import levels_at_edge

SEED = 20261126
HELD_OUT = 7
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
    grid = torch.arange(SIDE_PX, device=joints.device) + 0.5
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


def marks_inputs(batch: Data, mean: Tensor, scale: Tensor) -> tuple[Tensor, Tensor]:
    """What the marks network is given."""
    layers = batch["layers"].permute(0, 3, 1, 2).float() / 255
    numbers = torch.cat([batch["x"], batch["scale"][:, None]], dim=1)
    numbers = ((numbers - mean) / scale).clamp(-4, 4)
    return torch.cat([layers, spots(batch["joints"])], dim=1), numbers


def mirrored(batch: Data) -> Data:
    """The same people seen in a mirror."""
    x = batch["x"].clone()
    x[:, MIRROR_SIGNS] *= -1
    x[:, [12, 13]] = batch["x"][:, [13, 12]]
    joints = batch["joints"].clone()
    joints[..., 0] = SIDE_PX - joints[..., 0]
    signs = torch.tensor(MIRROR_SHIFTS, dtype=torch.float32, device=x.device)
    return {
        **batch, "x": x, "joints": joints, "layers": batch["layers"].flip(2),
        "y": batch["y"] * signs,
    }  # fmt: skip


def marks_loss(out: Tensor, batch: Data) -> Tensor:
    """Laplace likelihood of heights, weighted by nearness to the edge; sideways; the crown."""
    y = batch["y"].clamp(-1.5, 1.5)
    near = torch.exp(-(batch["edge"][:, :5] - y[:, 1::2]).abs() / 0.25) + 0.15
    log_error = out[:, 10:15].clamp(-6, 0)
    vertical = (out[:, 1:10:2] - y[:, 1::2]).abs() / log_error.exp() + log_error
    sideways = torch.nn.functional.smooth_l1_loss(
        out[:, 0:10:2], y[:, 0::2], beta=0.05, reduction="none"
    )
    crown = (batch["crown"] - batch["crown_now"]).clamp(-0.3, 0.3)
    crown_log = out[:, 16].clamp(-7, 0)
    crown_loss = (out[:, 15] - crown).abs() / crown_log.exp() + crown_log
    return (near * (vertical + 10 * sideways)).mean() + 0.3 * crown_loss.mean()


def fit(net: torch.nn.Module, steps: int, rate: float, loss_of: Any) -> None:  # noqa: ANN401
    """Train with one warm-up and a cosine fall."""
    net.train()
    optimiser = torch.optim.AdamW(net.parameters(), lr=rate, weight_decay=0.02)
    schedule = torch.optim.lr_scheduler.OneCycleLR(optimiser, rate, steps, pct_start=0.1)
    start = time.monotonic()
    for step in range(steps):
        loss = loss_of()
        optimiser.zero_grad()
        loss.backward()
        torch.nn.utils.clip_grad_norm_(net.parameters(), 2.0)
        optimiser.step()
        schedule.step()
        if step % max(1, steps // 8) == 0:
            print(f"  {step} {loss.item():.4f} {time.monotonic() - start:.0f} s", flush=True)
    net.eval()


def fit_marks(data: Data, steps: int, batch: int) -> tuple[MarksNet, Tensor, Tensor]:
    """A marks network, and the mean and scale of its numbers."""
    torch.manual_seed(SEED)
    device = data["x"].device
    numbers = torch.cat([data["x"], data["scale"][:, None]], dim=1)
    mean, scale = numbers.mean(dim=0), numbers.std(dim=0).clamp_min(1e-3)
    net = MarksNet().to(device)

    def loss() -> Tensor:
        rows = torch.randint(len(data["x"]), (batch,), device=device)
        chosen = pick(data, rows)
        if torch.rand(()) < 0.5:
            chosen = mirrored(chosen)
        layers, given = marks_inputs(chosen, mean, scale)
        layers[:, :3] = recolour(layers[:, :3])
        blank = torch.rand(batch, 1, 1, device=device) < 0.05
        layers[:, 3] = torch.where(blank, 0.0, layers[:, 3])
        out = net(layers, given + 0.1 * torch.randn_like(given))
        return marks_loss(out, chosen)

    fit(net, steps, 2e-3, loss)
    return net, mean, scale


def predict_marks(net: MarksNet, mean: Tensor, scale: Tensor, data: Data) -> Array:
    """Outputs for samples, both mirror images counting alike."""
    outs = []
    signs = torch.tensor([*MIRROR_SHIFTS, *[1.0] * 7], dtype=torch.float32, device=mean.device)
    with torch.no_grad():
        for rows in torch.arange(len(data["x"]), device=mean.device).split(512):
            batch = pick(data, rows)
            plain = net(*marks_inputs(batch, mean, scale))
            turned = net(*marks_inputs(mirrored(batch), mean, scale)) * signs
            outs.append((plain + turned) / 2)
    return np.asarray(torch.cat(outs).cpu().numpy())


def report_marks(name: str, out: Array, data: Data) -> dict[str, float]:
    """Crop-level and crown errors."""
    edge, y = data["edge"].cpu().numpy(), data["y"].cpu().numpy()
    true = levels_at_edge(edge[:, 5], edge[:, :5] - y[:, 1::2])
    got = levels_at_edge(edge[:, 5], edge[:, :5] - out[:, 1:10:2])
    keep = np.isfinite(true) & np.isfinite(got) & (true > 0)
    whole = keep & data["whole"].cpu().numpy()
    unit = data["unit_frac"].cpu().numpy()
    crown, now = data["crown"].cpu().numpy(), data["crown_now"].cpu().numpy()
    before, after = np.abs(now - crown) * unit, np.abs(now + out[:, 15] - crown) * unit
    gap = np.abs(got - true)
    figures = {
        "samples": int(keep.sum()), "median": np.median(gap[keep]),
        "p90": np.quantile(gap[keep], 0.9), "whole_median": np.median(gap[whole]),
        "whole_p90": np.quantile(gap[whole], 0.9),
        "crown_now_p90": np.quantile(before, 0.9), "crown_p90": np.quantile(after, 0.9),
        "crown_now_median": np.median(before), "crown_median": np.median(after),
    }  # fmt: skip
    rounded = {key: round(float(value), 5) for key, value in figures.items()}
    print(name, json.dumps(rounded), flush=True)
    return rounded


def head_maps(heads: Tensor) -> Tensor:
    """A round spot at each head, (N, MAP_PX, MAP_PX)."""
    grid = (torch.arange(MAP_PX, device=heads.device) + 0.5) / MAP_PX
    spread = (0.25 * heads[..., 2]).clamp(0.6 / MAP_PX, 0.12)[..., None]
    across = torch.exp(-((grid - heads[..., :1]) ** 2) / (2 * spread**2))
    down = torch.exp(-((grid - heads[..., 1:2]) ** 2) / (2 * spread**2))
    return torch.nan_to_num(down.unsqueeze(3) * across.unsqueeze(2)).amax(dim=1)


def fit_scout(data: Data, steps: int, batch: int) -> ScoutNet:
    """A scout network."""
    torch.manual_seed(SEED)
    device = data["layers"].device
    net = ScoutNet().to(device)
    has_back = data["back"].flatten(1).amax(dim=1) > 127
    weights = torch.where(has_back, 2.0, 1.0)

    def loss() -> Tensor:
        chosen = pick(data, torch.multinomial(weights, batch, replacement=True))
        layers = chosen["layers"].permute(0, 3, 1, 2).float() / 255
        back, heads = chosen["back"].float() / 255, head_maps(chosen["heads"])
        if torch.rand(()) < 0.5:
            layers, back, heads = layers.flip(3), back.flip(2), heads.flip(2)
        layers = torch.cat([recolour(layers[:, :3]), layers[:, 3:]], dim=1)
        for layer in (3, 4):
            blank = torch.rand(batch, 1, 1, device=device) < 0.1
            layers[:, layer] = torch.where(blank, 0.0, layers[:, layer])
        out = net(layers)
        of = torch.nn.functional.binary_cross_entropy_with_logits
        return of(out[:, 0], back) + of(out[:, 1], heads)

    fit(net, steps, 2e-3, loss)
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


def check(
    people: Data, pictures: Data, epochs: float, batch: int, folder: Path
) -> dict[str, float]:
    """Train without the held-out scenes, print what comes of them, and keep what was seen."""
    held, kept = split(people)
    net, mean, scale = fit_marks(kept, steps_of(kept, epochs, batch), batch)
    seen = predict_marks(net, mean, scale, held)
    figures = report_marks("marks, held out", seen, held)
    columns = {f"people_{k}": v.cpu().numpy() for k, v in held.items() if k != "layers"}
    held, kept = split(pictures)
    scouted = predict_scout(fit_scout(kept, steps_of(kept, epochs, batch), batch), held)
    report_scout(scouted, held)
    columns |= {f"pictures_{k}": v.cpu().numpy() for k, v in held.items() if k != "layers"}
    np.savez_compressed(folder / "held-out.npz", marks=seen, scout=scouted, **columns)
    return figures


def steps_of(data: Data, epochs: float, batch: int) -> int:
    """Steps of training."""
    return math.ceil(epochs * len(data["scene"]) / batch)


def main() -> None:
    """Command line entry."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("folders", type=Path, nargs="+")
    parser.add_argument("--out", type=Path, required=True)
    parser.add_argument("--epochs", type=float, default=50)
    parser.add_argument("--batch", type=int, default=128)
    options = parser.parse_args()
    epochs, batch, folder = options.epochs, options.batch, options.out
    device = "cuda" if torch.cuda.is_available() else "cpu"
    folder.mkdir(parents=True, exist_ok=True)
    people, pictures = (load(options.folders, kind, device) for kind in ("people", "pictures"))
    print("people", len(people["x"]), "pictures", len(pictures["back"]), device, flush=True)
    figures = check(people, pictures, epochs, batch, folder)
    net, mean, scale = fit_marks(people, steps_of(people, epochs, batch), batch)
    whole = {"net": net.state_dict(), "mean": mean, "scale": scale, "held_out": figures}
    torch.save(whole, folder / "marks.pt")
    scout = fit_scout(pictures, steps_of(pictures, epochs, batch), batch)
    torch.save({"net": scout.state_dict()}, folder / "scout.pt")


if __name__ == "__main__":
    main()
