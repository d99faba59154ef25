"""Train the mark corrector and write its weights.

`python -m models.fit.train samples.npz --out framecheck/pose/data/mark_correction.json` needs torch
(extra `render`). Scenes, not samples, are split, so that no scene is on both sides; the held-out
figures are printed and stored with the weights. Seed and recipe are in this file.
"""

from __future__ import annotations

import argparse
import hashlib
import json
from collections.abc import Callable
from pathlib import Path
from typing import Any, TypeAlias

import numpy as np
import torch

from framecheck.measure.corrector import MIRROR_SHIFTS, mirror_features

SEED = 20261125
HIDDEN = 40
STEPS = 3000
BATCH = 256
WEIGHT_DECAY = 3e-4
INPUT_NOISE = 0.2
MEMBERS = 3
SHIFTS = 10

Array: TypeAlias = np.ndarray[Any, Any]


def mirrored(x: np.ndarray[Any, Any], y: np.ndarray[Any, Any]) -> tuple[Any, Any]:
    """The same samples seen in a mirror."""
    return mirror_features(x), y * MIRROR_SHIFTS


def train_member(x: Array, y: Array, weight: Array, seed: int) -> torch.nn.Sequential:
    """One network on standardised inputs."""
    torch.manual_seed(seed)
    torch.set_num_threads(1)  # the matrices are small: more threads only wait for each other
    net = torch.nn.Sequential(
        torch.nn.Linear(x.shape[1], HIDDEN), torch.nn.Tanh(),
        torch.nn.Linear(HIDDEN, HIDDEN), torch.nn.Tanh(),
        torch.nn.Linear(HIDDEN, SHIFTS + 5),
    )  # fmt: skip
    with torch.no_grad():
        net[-1].weight.mul_(0.1)
        net[-1].bias[SHIFTS:] = -3.0
    tx, ty, tw = (torch.tensor(a, dtype=torch.float32) for a in (x, y, weight))
    optimiser = torch.optim.AdamW(net.parameters(), lr=3e-3, weight_decay=WEIGHT_DECAY)
    schedule = torch.optim.lr_scheduler.CosineAnnealingLR(optimiser, STEPS)
    for _ in range(STEPS):
        index = torch.randint(len(tx), (BATCH,))
        batch = tx[index] + INPUT_NOISE * torch.randn(BATCH, x.shape[1])
        loss = loss_of(net(batch), ty[index], tw[index])
        optimiser.zero_grad()
        loss.backward()  # type: ignore[no-untyped-call]
        optimiser.step()
        schedule.step()
    return net


def loss_of(out: torch.Tensor, y: torch.Tensor, weight: torch.Tensor) -> torch.Tensor:
    """Laplace likelihood of the vertical shifts, weighted by nearness to the edge, plus x."""
    log_error = out[:, SHIFTS:].clamp(-6, 0)
    gap = (out[:, 1:SHIFTS:2] - y[:, 1::2]).abs()
    vertical = gap / log_error.exp() + log_error
    sideways = torch.nn.functional.smooth_l1_loss(
        out[:, 0:SHIFTS:2], y[:, 0::2], beta=0.05, reduction="none"
    )
    return (weight * (vertical + 10 * sideways)).mean()


def levels_at_edge(y_chin: Array, y_marks: Array) -> Array:
    """Crop levels from heights over the bottom edge, walking down from the chin; vertical only."""
    levels = np.array([0.870, 0.818, 0.530, 0.285, 0.039, 0.0])
    out = []
    for chin, marks in zip(y_chin, y_marks, strict=True):
        heights = np.concatenate([[chin], marks])
        level = -float(min(heights)) if heights.min() >= 0 else np.nan
        for i in range(5):
            if heights[i] >= 0 > heights[i + 1]:
                share = heights[i] / (heights[i] - heights[i + 1])
                level = levels[i] + share * (levels[i + 1] - levels[i])
                break
        out.append(level)
    return np.array(out)


def report(name: str, data: dict[str, Any], shifts: Array, rows: Array) -> dict[str, float]:
    """Crop-level errors of corrected and of raw marks on some rows."""
    edge, y = data["edge"][rows], data["y"][rows]
    true = levels_at_edge(edge[:, 5], edge[:, :5] - y[:, 1::2])
    raw = levels_at_edge(edge[:, 5], edge[:, :5])
    got = levels_at_edge(edge[:, 5], edge[:, :5] - shifts[:, 1::2])
    keep = np.isfinite(true) & np.isfinite(raw) & np.isfinite(got) & (true > 0)
    gap, raw_gap = np.abs(got - true)[keep], np.abs(raw - true)[keep]
    figures = {
        "samples": int(keep.sum()),
        "median": float(np.median(gap)), "p90": float(np.quantile(gap, 0.9)),
        "raw_median": float(np.median(raw_gap)), "raw_p90": float(np.quantile(raw_gap, 0.9)),
    }  # fmt: skip
    print(name, {k: round(v, 4) for k, v in figures.items()}, flush=True)
    return figures


def predict(nets: list[torch.nn.Sequential], x: Array) -> Array:
    """Mean output of the members."""
    with torch.no_grad():
        outs = [net(torch.tensor(x, dtype=torch.float32)).numpy() for net in nets]
    return np.asarray(np.mean(outs, axis=0))


def main() -> None:
    """Command line entry."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("samples", type=Path, nargs="+")
    parser.add_argument("--out", type=Path, default=None)
    options = parser.parse_args()
    parts = [dict(np.load(path, allow_pickle=False)) for path in options.samples]
    data = {key: np.concatenate([p[key] for p in parts]) for key in parts[0]}
    near = np.exp(-np.abs(data["edge"][:, :5] - data["y"][:, 1::2]) / 0.25) + 0.15
    groups = np.unique(data["group"])
    fold_of = dict(
        zip(groups, np.random.default_rng(SEED).integers(0, 5, len(groups)), strict=True)
    )
    fold = np.array([fold_of[g] for g in data["group"]])
    x_mean, x_scale = data["x"].mean(axis=0), np.maximum(data["x"].std(axis=0), 1e-3)
    standard = lambda x: np.clip((x - x_mean) / x_scale, -4, 4)  # noqa: E731
    shifts = np.zeros((len(fold), SHIFTS))
    for k in range(5):
        nets = _fit(data, near, fold != k, standard, members=1)
        shifts[fold == k] = predict(nets, standard(data["x"][fold == k]))[:, :SHIFTS]
    held_out = report("held out, 5 folds by scene", data, shifts, np.arange(len(fold)))
    if options.out is None:
        return
    nets = _fit(data, near, fold >= 0, standard, members=MEMBERS)
    report(
        "on its own samples",
        data,
        predict(nets, standard(data["x"]))[:, :SHIFTS],
        np.arange(len(fold)),
    )
    write_weights(options.out, x_mean, x_scale, nets, held_out)


def _fit(
    data: dict[str, Any],
    near: Array,
    rows: Array,
    standard: Callable[[Array], Array],
    members: int,
) -> list[torch.nn.Sequential]:
    mx, my = mirrored(data["x"][rows], data["y"][rows])
    x = np.concatenate([standard(data["x"][rows]), standard(mx)])
    y = np.clip(np.concatenate([data["y"][rows], my]), -1.5, 1.5)
    return [train_member(x, y, np.concatenate([near[rows]] * 2), SEED + m) for m in range(members)]


def write_weights(
    path: Path,
    mean: Array,
    scale: Array,
    nets: list[torch.nn.Sequential],
    held_out: dict[str, float],
) -> None:
    """Write the members side by side as one network: hidden layers stacked, outputs averaged."""
    layers = []
    linear = [[layer for layer in net if isinstance(layer, torch.nn.Linear)] for net in nets]
    for depth in range(3):
        weights = [n[depth].weight.detach().numpy().T for n in linear]
        offsets = [n[depth].bias.detach().numpy() for n in linear]
        if depth == 0:
            joined, offset = np.hstack(weights), np.hstack(offsets)
        elif depth == 1:
            joined = np.zeros((HIDDEN * len(nets), HIDDEN * len(nets)))
            for m, block in enumerate(weights):
                joined[m * HIDDEN : (m + 1) * HIDDEN, m * HIDDEN : (m + 1) * HIDDEN] = block
            offset = np.hstack(offsets)
        else:
            joined = np.vstack(weights) / len(nets)
            offset = np.mean(offsets, axis=0)
        layers.append({"weights": joined.round(5).tolist(), "offsets": offset.round(5).tolist()})
    body = {
        "mean": np.round(mean, 6).tolist(), "scale": np.round(scale, 6).tolist(), "layers": layers,
    }  # fmt: skip
    version = hashlib.sha256(json.dumps(body).encode()).hexdigest()[:12]
    document = {
        "schema": "framecheck-mark-correction-1",
        "version": version,
        "seed": SEED,
        "held_out": held_out,
        **body,
    }
    path.write_text(json.dumps(document, separators=(",", ":")) + "\n", "utf-8")
    print("wrote", path, path.stat().st_size, "bytes")


if __name__ == "__main__":
    main()
