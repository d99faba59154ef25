"""Shots of a clip as WebVTT chapters (W3C), which players show as marks and titles."""

from __future__ import annotations

from fractions import Fraction

from framecheck.export.edit_words import shot_line, shot_title
from framecheck.records.edit import EditClip

_ESCAPES = {"&": "&amp;", "<": "&lt;", ">": "&gt;"}


def encode_webvtt(clip: EditClip) -> bytes:
    """One cue a shot, times from the first frame; cues touch and never overlap."""
    blocks = ["WEBVTT"]
    for shot in clip.shots:
        start, stop = (_time(frame / clip.rate) for frame in (shot.start_frame, shot.end_frame))
        title = _escaped(f"{shot_title(shot)}: {shot_line(shot)}")
        blocks.append(f"shot-{shot.number}\n{start} --> {stop}\n{title}")
    return ("\n\n".join(blocks) + "\n").encode()


def _time(seconds: Fraction) -> str:
    thousandths = int(seconds * 1000 + Fraction(1, 2))
    whole, part = divmod(thousandths, 1000)
    minutes, second = divmod(whole, 60)
    hours, minute = divmod(minutes, 60)
    return f"{hours:02d}:{minute:02d}:{second:02d}.{part:03d}"


def _escaped(text: str) -> str:
    # an arrow or an empty line would end the cue
    line = " ".join(text.split())
    return "".join(_ESCAPES.get(char, char) for char in line)
