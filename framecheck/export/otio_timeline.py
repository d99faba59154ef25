"""Measured clips as OpenTimelineIO: shots as clips, measurements as metadata, flags as markers."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from framecheck.errors import ConfigError
from framecheck.export.edit_words import shot_line, shot_title
from framecheck.records.edit import EditClip, EditShot

NAMESPACE = "framecheck"
"""Key under which everything of this project stands in metadata."""
SIZE_COLOUR, FLAG_COLOUR = "YELLOW", "ORANGE"
"""As in the annotated copies: yellow is the body, orange is what to look at again."""


def encode_otio(name: str, clips: Sequence[EditClip]) -> bytes:
    """One timeline with the shots of the clips one after the other.

    Times are whole frames at the clip's own rate. Each shot has a marker with its size at its
    first frame, and one for its flags at the frame that shows it best.

    Raises:
        ConfigError: the library for it is not installed.
    """
    otio = _library()
    timeline = otio.schema.Timeline(name=name)
    track = otio.schema.Track(name="picture", kind=otio.schema.TrackKind.Video)
    for clip in clips:
        for shot in clip.shots:
            track.append(_clip(otio, clip, shot))
    timeline.tracks.append(track)
    timeline.metadata[NAMESPACE] = {"shots": len(track), "clips": len(clips)}
    text: str = otio.adapters.write_to_string(timeline, "otio_json")
    return f"{text}\n".encode()


def _library() -> Any:  # noqa: ANN401  # the library has no types
    try:
        import opentimelineio as otio
    except ImportError as error:
        raise ConfigError(
            "OpenTimelineIO needs its library: pip install 'framecheck[timeline]'"
        ) from error
    return otio


def _clip(otio: Any, clip: EditClip, shot: EditShot) -> Any:  # noqa: ANN401
    made = otio.schema.Clip(
        name=f"{clip.file.rpartition('/')[2]} {shot.number:03d}"
        if not clip.is_still
        else clip.file,
        media_reference=_media(otio, clip),
        source_range=_range(otio, clip, shot.start_frame, shot.end_frame),
        metadata={NAMESPACE: _measured(clip, shot)},
    )
    made.markers.append(
        _marker(otio, (clip, shot.start_frame), (shot_title(shot), shot_line(shot)), SIZE_COLOUR)
    )
    if shot.flags:
        words = (", ".join(shot.flags), str(shot.values.get("advice", "")))
        made.markers.append(_marker(otio, (clip, shot.best_frame), words, FLAG_COLOUR))
    return made


def _measured(clip: EditClip, shot: EditShot) -> dict[str, Any]:
    """The columns of the shot; the rate as a fraction, which times of the format hold as floats."""
    return {**shot.values, "frame_rate": str(clip.rate), "notes_of_clip": list(clip.notes)}


def _media(otio: Any, clip: EditClip) -> Any:  # noqa: ANN401
    available = _range(otio, clip, 0, clip.frames)
    if clip.numbered is None:
        return otio.schema.ExternalReference(target_url=clip.url, available_range=available)
    return otio.schema.ImageSequenceReference(
        target_url_base=clip.url,
        name_prefix=clip.numbered.prefix,
        name_suffix=clip.numbered.suffix,
        start_frame=clip.numbered.first,
        frame_zero_padding=clip.numbered.digits,
        rate=float(clip.rate),
        available_range=available,
    )


def _marker(otio: Any, at: tuple[EditClip, int], words: tuple[str, str], colour: str) -> Any:  # noqa: ANN401
    clip, frame = at
    return otio.schema.Marker(
        name=words[0],
        comment=words[1],
        color=colour,
        marked_range=_range(otio, clip, frame, frame + 1),
    )


def _range(otio: Any, clip: EditClip, start: int, stop: int) -> Any:  # noqa: ANN401
    rate = float(clip.rate)
    return otio.opentime.TimeRange(
        otio.opentime.RationalTime(clip.first_frame + start, rate),
        otio.opentime.RationalTime(stop - start, rate),
    )
