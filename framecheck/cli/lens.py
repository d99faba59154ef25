"""`framecheck lens`: distance, lens height and tilt of a still, and the set-ups around it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from framecheck.cli.completions import offer_list_formats, offer_sensors, offer_vocabularies
from framecheck.cli.guard import EXIT_FAILED, complain, guarded
from framecheck.errors import ConfigError

if TYPE_CHECKING:
    from framecheck.pipeline.lensing import SetUpAnswer, SetUpQuestion
    from framecheck.records.framing import FrameMeasurement
    from framecheck.records.lens import Stature
    from framecheck.records.lens_data import LensData

FORMATS = ("table", "csv", "json")
_DEFAULT_ASPECT = "16:9"


@dataclass(frozen=True, slots=True, kw_only=True)
class _Camera:
    """The options about lens and sensor, as they were typed."""

    focal_mm: float | None
    sensor: str
    squeeze: float
    tilt_deg: float | None
    height_m: float | None
    turned: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class _Output:
    """Where the answer goes, and how it looks."""

    format_name: str
    out: Path | None
    svg: Path | None
    title: str


@guarded
def lens(  # noqa: PLR0913, PLR0917  # one parameter an option is how typer reads them
    still: Annotated[
        Path | None,
        typer.Argument(
            metavar="STILL",
            help="A still, or a folder of results (then --file says which picture).",
        ),
    ] = None,
    lens_mm: Annotated[
        float | None,
        typer.Option(
            "--lens",
            metavar="MM",
            min=1,
            max=5000,
            help="Focal length; by default what the still says (EXIF).",
        ),
    ] = None,
    sensor: Annotated[
        str,
        typer.Option(
            metavar="NAME_OR_SIZE",
            help="Sensor or film aperture, as super-35 or 36x24 (mm); --sensors lists the names. "
            "By default what the still says.",
            autocompletion=offer_sensors,
        ),
    ] = "",
    stature: Annotated[
        str,
        typer.Option(
            metavar="METRES",
            help="Height of the subject, as 1.75 or 1.75+-0.03; by default anybody's: 1.70+-0.09.",
        ),
    ] = "",
    distance: Annotated[
        float | None,
        typer.Option(
            metavar="METRES",
            min=0.01,
            max=100_000,
            help="Start from this distance; no still is needed.",
        ),
    ] = None,
    aspect: Annotated[
        str, typer.Option(metavar="RATIO", help="Shape of the picture for --distance.")
    ] = _DEFAULT_ASPECT,
    lenses: Annotated[
        str,
        typer.Option(metavar="MM,MM,...", help="The lenses at hand, as 24,35,50."),
    ] = "",
    behind: Annotated[
        float | None,
        typer.Option(
            metavar="METRES",
            min=0,
            max=100_000,
            help="Where the background lies behind the subject; by default where the next person "
            "stands, or the wall, or 2.",
        ),
    ] = None,
    room: Annotated[
        float | None,
        typer.Option(
            metavar="METRES", min=0.01, max=10_000, help="Depth of the room, wall to wall."
        ),
    ] = None,
    behind_camera: Annotated[
        float, typer.Option(metavar="METRES", min=0, help="Of it behind the lens.")
    ] = 0.7,
    behind_subject: Annotated[
        float, typer.Option(metavar="METRES", min=0, help="Of it behind the subject.")
    ] = 0.5,
    person: Annotated[
        int, typer.Option(metavar="N", min=0, help="Subject; 0 is the main one.")
    ] = 0,
    tilt: Annotated[
        float | None,
        typer.Option(metavar="DEGREES", min=-89, max=89, help="Tilt of the camera; + looks up."),
    ] = None,
    height: Annotated[
        float | None,
        typer.Option(metavar="METRES", min=0, max=1000, help="Height of the lens over the floor."),
    ] = None,
    standing: Annotated[
        bool,
        typer.Option("--standing", help="The subject stands, though the picture does not show it."),
    ] = False,
    turned: Annotated[
        bool,
        typer.Option(
            "--turned", help="The camera stood on its side; by default as the still says (EXIF)."
        ),
    ] = False,
    squeeze: Annotated[
        float, typer.Option(metavar="RATIO", min=0.25, max=4, help="Of an anamorphic lens, as 2.")
    ] = 1.0,
    vocabulary: Annotated[
        str,
        typer.Option(
            metavar="NAME_OR_FILE", help="Names for the sizes.", autocompletion=offer_vocabularies
        ),
    ] = "trade",
    file: Annotated[
        str, typer.Option(metavar="NAME", help="Which input, for a folder of results.")
    ] = "",
    frame: Annotated[
        int | None, typer.Option(metavar="N", min=0, help="Which measured frame of a clip.")
    ] = None,
    svg: Annotated[
        Path | None, typer.Option(metavar="FILE", help="Draw the set-ups from above.")
    ] = None,
    format_name: Annotated[
        str,
        typer.Option(
            "--format",
            metavar="NAME",
            help="table, csv or json.",
            autocompletion=offer_list_formats,
        ),
    ] = "",
    out: Annotated[
        Path | None, typer.Option("--out", "-o", metavar="FILE", help="Write there, not here.")
    ] = None,
    sensors: Annotated[
        bool, typer.Option("--sensors", help="List film apertures and sensor formats, and end.")
    ] = False,
) -> int:
    """Tell distance, lens height and tilt of a still, and compare other lenses and sizes.

    From the lens, its sensor and the height of the subject follows how far away the camera stood.
    The tables say from where every other lens shows the subject as large, what becomes of the
    background, and how to get another size by walking or by zooming, in the room that there is.

    Distances here are about pictures, not about safety: vehicles, heights, rigs, weapons and water
    are for the people responsible on set, and for the local rules.

    Example: framecheck lens "test still.jpg" --lens 35 --sensor super-35 --stature 1.75

    Example: framecheck lens --distance 3 --lens 50 --sensor full-frame --room 5 --svg plan.svg

    Exit codes: 0 fine, 2 wrong usage, 3 a file failed, or its picture tells no distance.
    """
    if sensors:
        return _list_sensors()
    output = _output(format_name, out, svg, (file or still.name) if still else "")
    camera = _Camera(
        focal_mm=lens_mm,
        sensor=sensor,
        squeeze=squeeze,
        tilt_deg=tilt,
        height_m=height,
        turned=turned,
    )
    from framecheck.pipeline.lensing import Place, plan_from_distance, plan_from_picture
    from framecheck.records.values import NotMeasured

    wish = {
        "stature": parse_stature(stature),
        "focals_mm": parse_lenses(lenses),
        "behind_m": behind,
        "place": Place(
            depth_m=room, behind_camera_m=behind_camera, behind_subject_m=behind_subject
        ),
        "vocabulary": vocabulary,
        "standing": standing,
    }
    if distance is not None:
        if still is not None or tilt is not None or height is not None:
            raise ConfigError(
                "--distance needs no still, no --tilt and no --height: leave either it or them away"
            )
        question = _question(camera, None, wish)
        return _put_out(plan_from_distance(distance, parse_aspect(aspect), question), output)
    if still is None:
        raise ConfigError("name a still, or start from --distance METRES; see --help")
    measurement, data = _picture(still, file, frame)
    answer = plan_from_picture(measurement, _question(camera, (measurement, data), wish), person)
    if isinstance(answer, NotMeasured):
        complain(f"{still} tells no distance: {answer.reason}")
        return EXIT_FAILED
    return _put_out(answer, output)


def parse_stature(text: str) -> Stature:
    """The stature that is meant by "1.75" or "1.75+-0.03"; the population's for "".

    Raises:
        ConfigError: it is none.
    """
    from framecheck.records.lens import POPULATION, Stature

    if not text:
        return POPULATION
    mean, _, spread = text.replace("±", "+-").partition("+-")
    try:
        return Stature(mean_m=float(mean), sd_m=float(spread or 0))
    except ValueError as error:
        raise ConfigError(
            f"--stature takes metres from 0.3 to 2.8, as 1.75 or 1.75+-0.03, got {text!r}"
        ) from error


def parse_lenses(text: str) -> tuple[float, ...]:
    """The focal lengths that are meant by "24,35,50".

    Raises:
        ConfigError: one of them is none.
    """
    from framecheck.pipeline.lensing import DEFAULT_LENSES_MM

    if not text:
        return DEFAULT_LENSES_MM
    try:
        focals_mm = tuple(float(word.strip().removesuffix("mm")) for word in text.split(","))
    except ValueError:
        focals_mm = ()
    if not focals_mm or not all(1 <= focal_mm <= 5000 for focal_mm in focals_mm):
        raise ConfigError(f"--lenses takes focal lengths in mm, as 24,35,50, got {text!r}")
    return focals_mm


def parse_aspect(text: str) -> float:
    """Width over height from "16:9" or "2.39".

    Raises:
        ConfigError: it is none.
    """
    from framecheck.pipeline.delivery_words import parse_ratio

    return float(parse_ratio(text))


def _question(
    camera: _Camera, known: tuple[FrameMeasurement, LensData] | None, wish: dict[str, object]
) -> SetUpQuestion:
    from framecheck.pipeline.lensing import SetUpQuestion, find_sensor, sensor_of_file
    from framecheck.records.lens import Lens

    data = known[1] if known else None
    focal_mm = camera.focal_mm or (data.focal_mm if data else None)
    if focal_mm is None:
        raise ConfigError("the focal length is not known; give it with --lens, as --lens 35")
    sensor = find_sensor(camera.sensor) if camera.sensor else None
    if sensor is not None and (camera.turned or (data is not None and data.turned)):
        sensor = (sensor[1], sensor[0])
    if sensor is None and known:
        sensor = sensor_of_file(known[1], known[0].picture)
    if sensor is None:
        raise ConfigError(
            "the sensor is not known; give it with --sensor, as --sensor super-35 or "
            "--sensor 36x24; framecheck lens --sensors lists the names"
        )
    made = Lens(
        focal_mm=focal_mm,
        sensor_wh_mm=sensor,
        squeeze=camera.squeeze,
        tilt_deg=camera.tilt_deg,
        height_m=camera.height_m,
    )
    return SetUpQuestion(lens=made, **wish)  # type: ignore[arg-type]


def _picture(still: Path, file: str, frame: int | None) -> tuple[FrameMeasurement, LensData]:
    from framecheck.pipeline.lensing import lens_of_file
    from framecheck.records.lens_data import LensData

    if still.is_dir() or still.suffix.lower() in {".sqlite", ".db"}:
        return _measured_before(still, file, frame), LensData()
    if file or frame is not None:
        raise ConfigError("--file and --frame choose from a folder of results; name that folder")
    from framecheck.pipeline.api import measure_still
    from framecheck.pipeline.noise import hush_the_end, hushed

    data = lens_of_file(still)
    with hushed():
        measurement = measure_still(still).measurement
    hush_the_end()
    return measurement, data


def _measured_before(source: Path, file: str, frame: int | None) -> FrameMeasurement:
    from framecheck.pipeline.results import load_results
    from framecheck.pipeline.ruler_rows import with_rulers

    results, _ = with_rulers(load_results(source))
    chosen = [found for found in results.files if file and _is_called(found.file, file)]
    if len(chosen) != 1:
        names = ", ".join(found.file for found in (chosen or results.files)[:8])
        raise ConfigError(f"say with --file which of these is meant: {names}")
    rows = [row for row in chosen[0].frames if frame is None or row["frame"] == frame]
    if len(rows) != 1:
        frames = ", ".join(str(row["frame"]) for row in chosen[0].frames[:12])
        raise ConfigError(f"say with --frame which measured frame is meant: {frames}")
    return chosen[0].measurement_of(rows[0])


def _is_called(name: str, wanted: str) -> bool:
    return name == wanted or Path(name).name == wanted


def _output(format_name: str, out: Path | None, svg: Path | None, title: str) -> _Output:
    from framecheck.cli.find import check_format
    from framecheck.pipeline.plan_file import check_plan_name

    if svg is not None:
        check_plan_name(svg)
    return _Output(format_name=check_format(format_name, out), out=out, svg=svg, title=title)


def _put_out(answer: SetUpAnswer, output: _Output) -> int:
    from framecheck.cli.set_up_text import set_up_csv, set_up_json, set_up_lines
    from framecheck.export.atomic import write_atomically
    from framecheck.pipeline.plan_file import write_plan

    if output.format_name == "csv":
        content = set_up_csv(answer)
    elif output.format_name == "json":
        content = set_up_json(answer)
    else:
        content = _joined(set_up_lines(answer, output.title))
    if output.out is None:
        typer.echo(content, nl=False)
    else:
        write_atomically(output.out, content)
    if output.svg is not None:
        write_plan(answer, output.svg, output.title)
    return 0


def _joined(lines: Sequence[str]) -> bytes:
    return "".join(f"{line.rstrip()}\n" for line in lines).encode()


def _list_sensors() -> int:
    from framecheck.cli.text import table_lines, terminal_width
    from framecheck.pipeline.lensing import known_sensors

    rows = [
        (item.name, f"{item.width_mm:g} x {item.height_mm:g} mm", f"{item.title}. {item.source}.")
        for item in known_sensors()
    ]
    typer.echo("\n".join(table_lines(rows, terminal_width())))
    return 0
