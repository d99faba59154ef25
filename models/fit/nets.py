"""The two picture networks of the project, as they are trained; both are exported to ONNX."""

from __future__ import annotations

import torch
from torch import Tensor, nn

from framecheck.measure.corrector import FEATURES

MARKS_LAYERS = 5
MARKS_SPOTS = 6
MARKS_NUMBERS = FEATURES + 1
ANSWERS = 29
"""10 shifts and 5 logarithms of their vertical errors; the crown's shift in eye-to-chin lengths and
its logarithm; sine and cosine of the head's yaw and the logarithm of their error; the camera's
pitch over `PITCH_UNIT_DEG` and its logarithm; sine and cosine of the body's yaw; whether it is
somebody at all (logit); the shifts of the eyes and of the chin in eye-to-chin lengths."""

PLACES = 10
"""Left and right of each mark of the chain, placed on a map: left first, mark by mark."""

MARKS_OUT = ANSWERS + PLACES + 2 * PLACES
"""The answers; how far each of the 10 shifts is taken from the map instead (logits); the places in
the map, x and y, as shares of the cut-out's side. The last of the maps shows the person's pixels.
"""

SCOUT_LAYERS = 4
SCOUT_MAPS = 5
"""See `framecheck.pose.scout`: near back, head, its logarithmic height, its direction."""

MARKS_WIDTHS = (16, 32, 48, 72, 104)
MAP_SIDE = 48
PITCH_UNIT_DEG = 45.0


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
    """Looks at a person's cut-out and at the pose's numbers; says where the marks really are.

    What is in the picture is placed on a map, by the mean of its beliefs, which is finer than its
    cells; what lies outside is told from the whole figure. A gate for each mark chooses.
    """

    grid: Tensor
    coarse = False

    def __init__(self, widths: tuple[int, ...] = MARKS_WIDTHS) -> None:
        super().__init__()
        a, b, c, d, e = widths
        self.to_half = _step(MARKS_LAYERS, a, 2, 5)
        self.to_quarter = _step(a, b - MARKS_SPOTS, 2)
        self.quarter = Residual(b)
        self.to_eighth = nn.Sequential(_step(b, c, 2), Residual(c))
        self.to_sixteenth = nn.Sequential(_step(c, d, 2), Residual(d))
        self.to_last = nn.Sequential(_step(d, e, 2), Residual(e))
        self.from_last = _step(e, d, size=1)
        self.from_sixteenth = _step(d, c, size=1)
        self.from_eighth = _step(c, b, size=1)
        self.places = nn.Sequential(_step(b, b), nn.Conv2d(b, PLACES + 1, 1))
        self.register_buffer("grid", _grid(MAP_SIDE), persistent=False)
        self.squeeze = _step(e, 24, size=1)
        self.numbers = nn.Sequential(nn.Linear(MARKS_NUMBERS, 96), nn.Tanh())
        self.join = nn.Sequential(
            nn.Dropout(0.2), nn.Linear(24 * 36 + 96 + 2 * PLACES, 160), nn.ReLU(), nn.Dropout(0.1)
        )
        self.out = nn.Linear(160, ANSWERS + PLACES)
        with torch.no_grad():
            self.out.weight.mul_(0.1)
            self.out.bias.zero_()
            self.out.bias[10:15] = -3.0
            self.out.bias[[16, 19, 21]] = -1.0
            self.out.bias[24] = 2.0

    def forward(self, layers: Tensor, spots: Tensor, numbers: Tensor) -> tuple[Tensor, Tensor]:
        """(N, 5, 192, 192) and (N, 6, 48, 48) in 0..1, (N, 52) standardised.

        Returns:
            (N, MARKS_OUT), and the logits of the maps, (N, PLACES + 1, 48, 48).
        """
        # The wide part may be reckoned coarsely (half as many bits) on a GPU; places may not.
        with torch.autocast("cuda", torch.bfloat16, enabled=self.coarse):
            quarter = self.quarter(torch.cat([self.to_quarter(self.to_half(layers)), spots], dim=1))
            eighth = self.to_eighth(quarter)
            sixteenth = self.to_sixteenth(eighth)
            last = self.to_last(sixteenth)
            x = self.from_sixteenth(sixteenth + _twice(self.from_last(last)))
            logits = self.places(quarter + _twice(self.from_eighth(eighth + _twice(x))))
            seen = self.squeeze(last).flatten(1)
        if self.coarse:
            logits, seen = logits.float(), seen.float()
        beliefs = logits[:, :PLACES].flatten(2).softmax(dim=2)
        places = torch.matmul(beliefs, self.grid).flatten(1)
        told = self.out(self.join(torch.cat([seen, self.numbers(numbers), places], dim=1)))
        return torch.cat([told, places], dim=1), logits


class ScoutNet(nn.Module):
    """Looks at a whole picture; says where near backs and heads are."""

    coarse = False

    def __init__(self, widths: tuple[int, ...] = (16, 32, 48, 72, 104)) -> None:
        super().__init__()
        a, b, c, d, e = widths
        self.to_half = _step(SCOUT_LAYERS, a, 2)
        self.to_quarter = _step(a, b, 2)
        self.to_eighth = nn.Sequential(_step(b, c, 2), Residual(c))
        self.to_sixteenth = nn.Sequential(_step(c, d, 2), Residual(d), Residual(d))
        self.to_last = nn.Sequential(_step(d, e, 2), Residual(e), Residual(e))
        self.from_last = _step(e, d, size=1)
        self.from_sixteenth = nn.Sequential(_step(d, d), _step(d, c, size=1))
        self.from_eighth = nn.Sequential(_step(c, c), _step(c, b, size=1))
        self.out = nn.Sequential(_step(b, b), nn.Conv2d(b, SCOUT_MAPS, 1))
        with torch.no_grad():
            self.out[1].bias[:2] = -3.0
            self.out[1].bias[2] = -1.5

    def forward(self, layers: Tensor) -> Tensor:
        """(N, 4, 320, 320) in 0..1 to (N, SCOUT_MAPS, 80, 80)."""
        with torch.autocast("cuda", torch.bfloat16, enabled=self.coarse):
            quarter = self.to_quarter(self.to_half(layers))
            eighth = self.to_eighth(quarter)
            sixteenth = self.to_sixteenth(eighth)
            x = self.from_last(self.to_last(sixteenth))
            x = self.from_sixteenth(sixteenth + _twice(x))
            x = self.from_eighth(eighth + _twice(x))
            out = self.out(quarter + _twice(x))
        return out.float() if self.coarse else out


def _twice(x: Tensor) -> Tensor:
    return nn.functional.interpolate(x, scale_factor=2.0, mode="nearest")


def _grid(side: int) -> Tensor:
    """The middles of a square map's cells, (side x side, 2), x and y as shares of the side."""
    middles = (torch.arange(side, dtype=torch.float32) + 0.5) / side
    y, x = torch.meshgrid(middles, middles, indexing="ij")
    return torch.stack([x.flatten(), y.flatten()], dim=1)
