"""The two picture networks of the project, as they are trained; both are exported to ONNX."""

from __future__ import annotations

from itertools import pairwise

import torch
from torch import Tensor, nn

from framecheck.measure.corrector import FEATURES

MARKS_LAYERS = 11
MARKS_NUMBERS = FEATURES + 1
MARKS_OUT = 17
"""10 shifts and 5 logarithms of their vertical errors, the crown's shift and its logarithm."""


def _step(before: int, after: int, stride: int = 1, size: int = 3) -> nn.Sequential:
    return nn.Sequential(
        nn.Conv2d(before, after, size, stride, size // 2, bias=False),
        nn.BatchNorm2d(after),
        nn.ReLU(inplace=True),
    )


class Residual(nn.Module):
    """Two convolutions around a shortcut."""

    def __init__(self, width: int) -> None:
        super().__init__()
        self.first = _step(width, width)
        self.second = nn.Sequential(
            nn.Conv2d(width, width, 3, 1, 1, bias=False), nn.BatchNorm2d(width)
        )

    def forward(self, x: Tensor) -> Tensor:
        """The same shape."""
        return torch.relu(x + self.second(self.first(x)))


class MarksNet(nn.Module):
    """Looks at a person's cut-out and at the pose's numbers; says where the marks really are."""

    def __init__(self, widths: tuple[int, ...] = (24, 40, 56, 72, 88)) -> None:
        super().__init__()
        steps: list[nn.Module] = [_step(MARKS_LAYERS, widths[0], 2, 5)]
        for before, after in pairwise(widths):
            steps += [_step(before, after, 2), Residual(after)]
        self.eyes = nn.Sequential(*steps)
        self.squeeze = _step(widths[-1], 24, size=1)
        self.numbers = nn.Sequential(nn.Linear(MARKS_NUMBERS, 96), nn.Tanh())
        self.join = nn.Sequential(
            nn.Dropout(0.2), nn.Linear(24 * 16 + 96, 128), nn.ReLU(), nn.Dropout(0.1)
        )
        self.out = nn.Linear(128, MARKS_OUT)
        with torch.no_grad():
            self.out.weight.mul_(0.1)
            self.out.bias.zero_()
            self.out.bias[10:15] = -3.0
            self.out.bias[16] = -3.0

    def forward(self, layers: Tensor, numbers: Tensor) -> Tensor:
        """(N, 11, 128, 128) in 0..1 and (N, 52) standardised, to (N, 17)."""
        seen = self.squeeze(self.eyes(layers)).flatten(1)
        return self.out(self.join(torch.cat([seen, self.numbers(numbers)], dim=1)))


class ScoutNet(nn.Module):
    """Looks at a whole picture; says where near backs and heads are."""

    def __init__(self, widths: tuple[int, ...] = (20, 32, 48, 64, 80)) -> None:
        super().__init__()
        a, b, c, d, e = widths
        self.to_half = _step(5, a, 2, 5)
        self.to_quarter = nn.Sequential(_step(a, b, 2), Residual(b))
        self.to_eighth = nn.Sequential(_step(b, c, 2), Residual(c))
        self.to_sixteenth = nn.Sequential(_step(c, d, 2), Residual(d))
        self.to_last = nn.Sequential(_step(d, e, 2), Residual(e), Residual(e))
        self.from_last = _step(e, d, size=1)
        self.from_sixteenth = _step(d, c, size=1)
        self.from_eighth = _step(c, b, size=1)
        self.out = nn.Sequential(_step(b, b), nn.Conv2d(b, 2, 1))

    def forward(self, layers: Tensor) -> Tensor:
        """(N, 5, 160, 160) in 0..1 to (N, 2, 40, 40): logits of near back and of head."""
        quarter = self.to_quarter(self.to_half(layers))
        eighth = self.to_eighth(quarter)
        sixteenth = self.to_sixteenth(eighth)
        x = self.from_last(self.to_last(sixteenth))
        x = self.from_sixteenth(sixteenth + _twice(x))
        x = self.from_eighth(eighth + _twice(x))
        return self.out(quarter + _twice(x))


def _twice(x: Tensor) -> Tensor:
    return nn.functional.interpolate(x, scale_factor=2.0, mode="nearest")
