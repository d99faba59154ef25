"""Delivery frames as ASC Framing Decision Lists: JSON, specification 2.0.1 and 1.x.

A list says, for each canvas (the picture as recorded), where the frames lie that are meant to be
seen. Frames belong to a shot or a clip; the format knows none that move from picture to picture.
"""

from __future__ import annotations

import json
import math
import re
import uuid
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from typing import Any

from framecheck.errors import ConfigError
from framecheck.export.fdl_frames import FdlFrames, Shares, context_label, file_and_shot
from framecheck.records.delivery import Delivery, Extraction
from framecheck.records.values import Box

MOST_BYTES = 20_000_000
MOST_DECISIONS = 20_000
CREATOR = "framecheck"
_ID = re.compile(r"[A-Za-z0-9_]{1,32}")
_VERSIONS = {(1, 0), (1, 1), (2, 0)}
_NAMESPACE = uuid.UUID("6f6d2f5e-6a1c-5d0c-9a51-0f6672616d65")  # own; any fixed one will do


@dataclass(frozen=True, slots=True, kw_only=True)
class FdlContext:
    """What is written for one clip or shot.

    Attributes:
        file: that it belongs to. shot: of a clip, None for a still.
        size_wh_px: of the whole file. picture: its active part.
        frames: each delivery with its place, pixels of the whole file.
    """

    file: str
    shot: int | None
    size_wh_px: tuple[int, int]
    picture: Box
    frames: tuple[tuple[Delivery, Extraction], ...]


def read_fdl(path: Path) -> tuple[FdlFrames, ...]:
    """The frames that a list decides.

    Args:
        path: a .fdl file, UTF-8 JSON of version 1.0, 1.1 or 2.0.

    Raises:
        ConfigError: it is not there, too large, no such list, or its frames lie outside of their
            canvas.
    """
    try:
        if path.stat().st_size > MOST_BYTES:
            raise _wrong(path, f"it is larger than {MOST_BYTES // 1_000_000} MB")
        document = json.loads(path.read_text("utf-8-sig"))
    except OSError as error:
        raise ConfigError(f"cannot read {path}: {error.strerror}", where=str(path)) from error
    except (ValueError, RecursionError) as error:  # also for numbers of thousands of digits
        raise _wrong(path, f"it is no JSON ({' '.join(str(error).split())[:120]})") from error
    try:
        return tuple(_frames_of(document))
    except KeyError as error:
        raise _wrong(path, f"{str(error.args[0])[:80]!r} is missing") from error
    except (TypeError, AttributeError) as error:
        raise _wrong(path, "a part of it is of another kind than the format has") from error
    except (ValueError, ArithmeticError) as error:
        raise _wrong(path, " ".join(str(error).split())[:200]) from error


def encode_fdl(
    contexts: Sequence[FdlContext], intents: Sequence[Delivery], version: tuple[int, int] = (2, 0)
) -> bytes:
    """A Framing Decision List; the same contexts give the same bytes.

    Args:
        contexts: one for each clip or shot.
        intents: the deliveries, as they were asked for.
        version: (2, 0), or (1, 0) or (1, 1), which name files in the label alone.
    """
    ids = intent_ids([intent.name for intent in intents])
    body: dict[str, Any] = {
        "version": {"major": version[0], "minor": version[1]},
        "fdl_creator": CREATOR,
        "framing_intents": [_intent(intent, ids[intent.name]) for intent in intents],
        "contexts": [
            _context(number, context, ids, version) for number, context in enumerate(contexts, 1)
        ],
    }
    mark = uuid.uuid5(_NAMESPACE, json.dumps(body, sort_keys=True))
    return (json.dumps({"uuid": str(mark), **body}, indent=2, ensure_ascii=False) + "\n").encode()


def intent_ids(names: Sequence[str]) -> Mapping[str, str]:
    """Legal ids for names: 1 to 32 letters, digits and underscores, no two alike."""
    ids: dict[str, str] = {}
    for name in names:
        stem = re.sub(r"[^A-Za-z0-9]+", "_", name).strip("_")[:28] or "frame"
        candidate, number = stem, 2
        while candidate in ids.values():
            candidate, number = f"{stem}_{number}"[:32], number + 1
        ids[name] = candidate
    return ids


def _intent(delivery: Delivery, intent_id: str) -> dict[str, Any]:
    ratio = delivery.aspect.limit_denominator(10_000)
    return {
        "label": delivery.name,
        "id": intent_id,
        "aspect_ratio": {"width": ratio.numerator, "height": ratio.denominator},
        "protection": float(delivery.protection),
    }


def _context(
    number: int, context: FdlContext, ids: Mapping[str, str], version: tuple[int, int]
) -> dict[str, Any]:
    width, height = context.size_wh_px
    canvas_id, label = f"canvas_{number}", context_label(context.file, context.shot)
    canvas: dict[str, Any] = {
        "label": label,
        "id": canvas_id,
        "source_canvas_id": canvas_id,
        "dimensions": {"width": width, "height": height},
    }
    if context.picture != Box(x_px=0, y_px=0, w_px=width, h_px=height):
        canvas["effective_dimensions"] = {
            "width": int(context.picture.w_px),
            "height": int(context.picture.h_px),
        }
        canvas["effective_anchor_point"] = _point(context.picture)
    canvas["anamorphic_squeeze"] = 1.0
    canvas["framing_decisions"] = [
        _decision(canvas_id, ids[delivery.name], delivery, extraction)
        for delivery, extraction in context.frames
    ]
    head: dict[str, Any] = {"label": label, "context_creator": CREATOR}
    if version >= (2, 0):
        name = Path(context.file).name
        head["clip_id"] = {"clip_name": Path(name).stem or name, "file": name}
    return {**head, "canvases": [canvas]}


def _decision(
    canvas_id: str, intent_id: str, delivery: Delivery, extraction: Extraction
) -> dict[str, Any]:
    decision = {
        "label": delivery.name,
        "id": f"{canvas_id}-{intent_id}",
        "framing_intent_id": intent_id,
        "dimensions": _size(extraction.frame),
        "anchor_point": _point(extraction.frame),
    }
    if extraction.protected != extraction.frame:
        decision["protection_dimensions"] = _size(extraction.protected)
        decision["protection_anchor_point"] = _point(extraction.protected)
    return decision


def _size(box: Box) -> dict[str, float]:
    return {"width": round(box.w_px, 4), "height": round(box.h_px, 4)}


def _point(box: Box) -> dict[str, float]:
    return {"x": round(box.x_px, 4), "y": round(box.y_px, 4)}


def _frames_of(document: Any) -> Iterator[FdlFrames]:  # noqa: ANN401  # whatever JSON holds
    version = document["version"]
    if (version["major"], version["minor"]) not in _VERSIONS:
        raise ValueError(f"its version {version['major']}.{version['minor']} is not known")
    intents = {intent["id"]: intent for intent in document.get("framing_intents") or []}
    count = 0
    for context in document.get("contexts") or []:
        file, shot = _meant_for(context)
        for canvas in context.get("canvases") or []:
            decisions = canvas.get("framing_decisions") or []
            count += len(decisions)
            if count > MOST_DECISIONS:
                raise ValueError(f"it has more than {MOST_DECISIONS} framing decisions")
            if decisions:
                yield FdlFrames(
                    label=str(context.get("label") or canvas.get("label") or ""),
                    file=file,
                    shot=shot,
                    aspect=_shown_aspect(canvas),
                    effective=_effective(canvas),
                    deliveries=tuple(_delivery(row, canvas, intents) for row in decisions),
                )
    if not count:
        raise ValueError("it holds no framing decision")


def _meant_for(context: Mapping[str, Any]) -> tuple[str, int | None]:
    """File and shot of a context: version 1 names files in labels alone, and shots always are."""
    file = str((context.get("clip_id") or {}).get("file") or "")
    if context.get("context_creator") != CREATOR:
        return file, None
    named, shot = file_and_shot(str(context.get("label") or ""))
    return file or named, shot


def _effective(canvas: Mapping[str, Any]) -> Shares:
    if canvas.get("effective_dimensions") is None:
        return (0.0, 0.0, 1.0, 1.0)
    return _shares({"id": canvas.get("id"), **canvas}, "effective_", _sides(canvas["dimensions"]))


def _shown_aspect(canvas: Mapping[str, Any]) -> Fraction:
    width, height = _sides(canvas["dimensions"])
    return Fraction(width).limit_denominator(10**6) * _squeeze(canvas) / Fraction(height)


def _squeeze(canvas: Mapping[str, Any]) -> Fraction:
    squeeze = _positive(canvas.get("anamorphic_squeeze", 1.0))
    return Fraction(squeeze).limit_denominator(10**6)


def _delivery(
    decision: Mapping[str, Any], canvas: Mapping[str, Any], intents: Mapping[str, Any]
) -> Delivery:
    whole = _sides(canvas["dimensions"])
    width, height = _sides(decision["dimensions"])
    intent = intents.get(str(decision.get("framing_intent_id")), {})
    name = str(decision.get("label") or intent.get("label") or decision["id"])[:80]
    protected = None
    if "protection_dimensions" in decision:
        protected = _shares(decision, "protection_", whole)
    return Delivery(
        name=name if name.isprintable() else repr(name),
        aspect=Fraction(width / height).limit_denominator(10**4) * _squeeze(canvas),
        protection=Fraction(str(_finite(intent.get("protection") or 0))),
        fixed_frac=_shares(decision, "", whole),
        protected_frac=protected,
    )


def _shares(decision: Mapping[str, Any], which: str, whole: tuple[float, float]) -> Shares:
    """A rectangle of a decision as fractions of its canvas."""
    width, height = _sides(decision[f"{which}dimensions"])
    anchor = decision[f"{which}anchor_point"]
    x, y = _finite(anchor["x"]), _finite(anchor["y"])
    slack = 1e-6 * max(whole)
    if min(x, y) < -slack or x + width > whole[0] + slack or y + height > whole[1] + slack:
        raise ValueError(f"the frame {decision['id']} lies outside of its canvas")
    return (x / whole[0], y / whole[1], width / whole[0], height / whole[1])


def _sides(size: Mapping[str, Any]) -> tuple[float, float]:
    return _positive(size["width"]), _positive(size["height"])


def _positive(value: Any) -> float:  # noqa: ANN401  # whatever JSON holds
    number = _finite(value)
    if not 0 < number <= 1e6:
        raise ValueError(f"a size must lie between 0 and a million, got {value!r}")
    return number


def _finite(value: Any) -> float:  # noqa: ANN401  # whatever JSON holds
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise ValueError(f"a number was expected, got {str(value)[:40]!r}")  # noqa: TRY004
    number = float(value)  # fails on whole numbers of hundreds of digits
    if not math.isfinite(number):
        raise ValueError(f"a number was expected, got {number}")
    return number


def _wrong(path: Path, reason: str) -> ConfigError:
    return ConfigError(
        f"{path} is no Framing Decision List that can be used: {reason}", where=str(path)
    )
