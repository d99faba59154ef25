"""Delivery frames as people write them: 2.39, 9:16,right=0.1, 16:9,protect=5%."""

from __future__ import annotations

import re
from collections.abc import Sequence
from fractions import Fraction

from framecheck.errors import ConfigError
from framecheck.records.delivery import Delivery

NARROWEST, WIDEST = Fraction(1, 10), Fraction(10)
_RATIO = re.compile(r"([0-9]{1,5}(?:\.[0-9]{1,6})?)(?:[:x/]([0-9]{1,5}(?:\.[0-9]{1,6})?))?", re.A)
_SHARE = re.compile(r"[+-]?([0-9]{1,5}(\.[0-9]{0,9})?|\.[0-9]{1,9})%?", re.A)
_KEYS = ("right", "down", "protect")


def parse_ratio(text: str) -> Fraction:
    """Width over height from "2.39" or "16:9", exact.

    Raises:
        ConfigError: it is none, or not between 1:10 and 10:1.
    """
    match = _RATIO.fullmatch(text.strip())
    across = Fraction(match[1]) if match else Fraction(0)
    down = Fraction(match[2] or 1) if match else Fraction(0)
    ratio = across / down if down else Fraction(0)
    if not NARROWEST <= ratio <= WIDEST:
        raise ConfigError(f"a frame's shape looks like 2.39 or 16:9, got {text!r}")
    return ratio


def parse_delivery(text: str) -> Delivery:
    """A delivery frame from "2.39", "9:16,right=0.1" or "16:9,down=-2%,protect=5%".

    Raises:
        ConfigError: it is none.
    """
    shape, *settings = (word.strip() for word in text.split(","))
    values = dict.fromkeys(_KEYS, Fraction(0))
    for setting in settings:
        key, _, value = setting.partition("=")
        if key not in _KEYS:
            raise ConfigError(
                f"--frame {text!r}: {setting!r} is not known; after the shape may stand "
                "right=, down= and protect=, as 9:16,right=0.1"
            )
        values[key] = _share(value, text)
    if not 0 <= values["protect"] < 1 or max(abs(values[key]) for key in _KEYS[:2]) > 1:
        raise ConfigError(f"--frame {text!r}: offsets lie between -1 and 1, protection under 1")
    return Delivery(
        name=text.strip(),
        aspect=parse_ratio(shape),
        protection=values["protect"],
        offset_x_frac=float(values["right"]),
        offset_y_frac=float(values["down"]),
    )


def check_unlike(deliveries: Sequence[Delivery]) -> tuple[Delivery, ...]:
    """The same deliveries.

    Raises:
        ConfigError: two have the same name.
    """
    names = [delivery.name for delivery in deliveries]
    twice = sorted({name for name in names if names.count(name) > 1})
    if twice:
        raise ConfigError(f"the frame {twice[0]!r} is named twice")
    return tuple(deliveries)


def _share(text: str, whole: str) -> Fraction:
    if not _SHARE.fullmatch(text):
        raise ConfigError(f"--frame {whole!r}: {text[:40]!r} is no number, as 0.1 or 10%")
    share = Fraction(text.removesuffix("%"))
    return share / 100 if text.endswith("%") else share
