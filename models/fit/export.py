"""Write the trained picture networks as ONNX files for the package.

`python -m models.fit.export DIR` reads `marks.pt` and `scout.pt` there, as
`models.fit.train_networks` left them, and writes `marks.onnx` and `scout.onnx` into the package.
"""

from __future__ import annotations

import argparse
from pathlib import Path

import torch
from torch import Tensor, nn

from framecheck.pose.marks import SIDE_PX, SPOTS_PX
from framecheck.pose.scout import SCOUT_PX
from models.fit.nets import (
    MARKS_LAYERS,
    MARKS_NUMBERS,
    MARKS_SPOTS,
    PLACES,
    SCOUT_LAYERS,
    MarksNet,
    ScoutNet,
)

DATA = Path("framecheck/pose/data")
OPSET = 13


class Standardised(nn.Module):
    """The marks network with its inputs' mean and scale built in."""

    def __init__(self, net: MarksNet, mean: Tensor, scale: Tensor) -> None:
        super().__init__()
        self.net = net
        self.register_buffer("mean", mean)
        self.register_buffer("scale", scale)

    def forward(self, layers: Tensor, spots: Tensor, numbers: Tensor) -> Tensor:
        """As `MarksNet`, with the numbers as they come; of the maps only the person's pixels."""
        given = ((numbers - self.mean) / self.scale).clamp(-4, 4)
        out, maps = self.net(layers, spots, given)
        return torch.cat([out, maps[:, PLACES].flatten(1)], dim=1)


def main() -> None:
    """Command line entry."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("folder", type=Path)
    parser.add_argument("--out", type=Path, default=DATA)
    options = parser.parse_args()
    saved = torch.load(options.folder / "marks.pt", map_location="cpu")
    marks = MarksNet(tuple(saved["widths"]))
    marks.load_state_dict(saved["net"])
    whole = Standardised(marks, saved["mean"], saved["scale"]).eval()
    given = (
        torch.zeros(1, MARKS_LAYERS, SIDE_PX, SIDE_PX),
        torch.zeros(1, MARKS_SPOTS, SPOTS_PX, SPOTS_PX),
        torch.zeros(1, MARKS_NUMBERS),
    )
    names = ["layers", "spots", "numbers"]
    torch.onnx.export(
        whole, given, str(options.out / "marks.onnx"), opset_version=OPSET, dynamo=False,
        input_names=names, output_names=["marks"],
    )  # fmt: skip
    shown = torch.zeros(1, SCOUT_LAYERS, SCOUT_PX, SCOUT_PX)
    scout = ScoutNet()
    scout.load_state_dict(torch.load(options.folder / "scout.pt", map_location="cpu")["net"])
    torch.onnx.export(
        scout.eval(), (shown,), str(options.out / "scout.onnx"),
        opset_version=OPSET, dynamo=False, input_names=["layers"], output_names=["maps"],
    )  # fmt: skip


if __name__ == "__main__":
    main()
