"""The commands: answer a study, check what was built, read a venue from a drawing.

Exit codes: 0 done, 2 an input was refused, 130 stopped by Ctrl-C; of `check` also 3 and 4.
"""

from __future__ import annotations

import json
import os
import sys
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any, Literal, get_args

import click

from hangarc import __version__, _document, _sweep_commands
from hangarc._errors import InputError, beside
from hangarc._words import LanguageCode, Units
from hangarc.model import Study

REFUSED, LOOK, STOP, STOPPED = 2, 3, 4, 130

units_option = click.option(
    "--units", type=click.Choice(["metric", "tonnes", "us"]), default="metric", show_default=True,
    help="kg and kN, t and kN, or lb; m, or ft and in.",
)  # fmt: skip
language_option = click.option(
    "--language", type=click.Choice(get_args(LanguageCode)), default="en", show_default=True,
    help="Language of the sheet's words.",
)  # fmt: skip


class InOrder(click.Group):
    """Commands in the order in which one needs them."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        """Give the names as they were added."""
        return list(self.commands)


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one command and return its exit code; errors are one line on standard error."""
    try:
        outcome = commands.main(arguments, prog_name="hangarc", standalone_mode=False)
    except click.exceptions.Exit as ended:
        return ended.exit_code
    except (click.Abort, KeyboardInterrupt):
        return _say("stopped by Ctrl-C; nothing was written", STOPPED)
    except click.ClickException as error:
        return _say(error.format_message(), REFUSED)
    except (InputError, ModuleNotFoundError) as error:
        return _say(str(error), REFUSED)
    except BrokenPipeError:
        # What is left in the buffer has nowhere to go; the interpreter must not flush it again.
        sys.stdout = open(os.devnull, "w", encoding="utf-8")  # noqa: SIM115
        return 0
    except OSError as error:
        near = beside(error.filename) if isinstance(error, FileNotFoundError) else ""
        return _say(f"{error.filename or 'file'}: {error.strerror or error}{near}", REFUSED)
    return outcome if isinstance(outcome, int) else 0


def _say(words: str, code: int) -> int:
    click.echo(f"hangarc: {' '.join(words.split())}", err=True)
    return code


@click.group(cls=InOrder)
@click.version_option(__version__, prog_name="hangarc")
def commands() -> None:
    """Work out how a column of loudspeakers is hung: pins, picks, loads, sound at the seats.

    To see what it writes, answer the invented demo study:

    \b
    hangarc study --demo --out out

    Each command explains itself: hangarc COMMAND --help. The same from Python, and more:
    import hangarc.

    An aid to qualified persons. Manufacturers' manuals, local codes and licensed engineers prevail.
    """  # noqa: D301  # the backspace keeps a line as it is, for click


@commands.command(short_help="Answer a study: write its hang sheet and pictures.")
@click.argument("study_json", type=click.Path(dir_okay=False, path_type=Path), required=False)
@click.option("--demo", type=click.Choice(["hall", "theatre"]), is_flag=False, flag_value="hall",
              help="Answer a demo study instead of a file: a hall with one hang, or a theatre "
              "with several; the hall if no name is given.")  # fmt: skip
@click.option(
    "--out",
    type=click.Path(file_okay=False, path_type=Path),
    required=True,
    help="Folder for the sheet, the answer and the pictures.",
)
@click.option("--seed", type=click.IntRange(0), default=0, show_default=True,
              help="Any number; another one starts the search from other places.")  # fmt: skip
@click.option("--prove", is_flag=True, help="Look at every candidate; for small hangs.")
@click.option("--job", "job_json", type=click.Path(dir_okay=False, path_type=Path),
              help="JSON file: who, where, with what and how near the hang is built.")  # fmt: skip
@click.option("--second-opinion", is_flag=True,
              help="Calculate the answer again by other routes, and say on the sheet what they "
              "found; seconds to minutes.")  # fmt: skip
@click.option("--tolerances", "tolerances_json", metavar="FILE",
              type=click.Path(dir_okay=False, path_type=Path),
              help="JSON file: by how much pins, masses, anchors, tilt and air may be off; the "
              "sheet then says ± beside its figures.")  # fmt: skip
@units_option
@language_option
@click.option("--quiet", is_flag=True, help="Do not print the sheet.")
def study(
    study_json: Path | None,
    demo: str | None,
    out: Path,
    seed: int,
    prove: bool,
    job_json: Path | None,
    second_opinion: bool,
    tolerances_json: Path | None,
    units: Units,
    language: LanguageCode,
    quiet: bool,
) -> None:
    """Answer STUDY_JSON: pins, picks, hoist loads, closing force, levels at the seats.

    STUDY_JSON is a file that holds a study of one hang, as `Study.to_json` writes it in Python, or
    a system of several, as `System.to_json` does.

    Prints the hang sheet and writes it as sheet.txt, sheet.html and sheet.pdf, with answer.json,
    the pictures, roof.csv with the loads on the roof, and readings.json and readings.csv, of which
    one is filled in. Of a system of several hangs, the sheets of all are one document; each hang's
    other files have its name.
    """
    from hangarc import answer as answered
    from hangarc import verify
    from hangarc._written import files_of_hang, files_of_system
    from hangarc.uncertainty import Tolerances, uncertainty_of
    from hangarc.work.job import Job

    off = None if tolerances_json is None else Tolerances.from_json(_read(tolerances_json))
    job = Job() if job_json is None else Job.from_json(_read(job_json))
    asked = _asked(study_json, demo)
    # Before the search, so that a folder that cannot be made is refused at once.
    out.mkdir(parents=True, exist_ok=True)
    if isinstance(asked, Study):
        with _Counter() as counter:
            answer = answered(asked, seed=seed, prove=prove, progress=counter.show, job=job)
        opinion = verify(answer) if second_opinion else None
        files = files_of_hang(
            answer,
            units=units,
            language=language,
            opinion=opinion,
            uncertainty=None if off is None else uncertainty_of(answer, off),
        )
    else:
        for option, given in (
            ("--second-opinion", second_opinion),
            ("--prove", prove),
            ("--tolerances", off is not None),
        ):
            if given:
                raise click.UsageError(f"{option} is for a study of one hang")
        with _Counter() as counter:
            system, found = _answered_system(asked, demo, seed, counter.show)
        files = files_of_system(system, found, job, units=units, language=language)
    for name, content in files.items():
        (out / name).write_bytes(content)
    if not quiet:
        click.echo(files["sheet.txt"].decode())
    click.echo(f"written to {out}: {', '.join(files)}", err=True)


def _asked(path: Path | None, demo: str | None) -> Study | Any:
    """The study, or the system of several hangs, that is asked."""
    if (demo is None) == (path is None):
        raise click.UsageError("give either STUDY_JSON or --demo")
    if path is None:
        from hangarc import demo as demo_data
        from hangarc.demo import theatre

        return theatre.system() if demo == "theatre" else demo_data.study()
    text = _read(path)
    if _document.kind_of(text) == "system":
        from hangarc.search import System

        return System.from_json(text)
    return Study.from_json(text)


def _answered_system(
    asked: Any, demo: str | None, seed: int, progress: Callable[[int], None]
) -> tuple[Any, Any]:
    """A system and what was found for it; of the demo its delays are aligned first."""
    if demo == "theatre":
        from hangarc.demo import theatre

        return theatre.answered(seed, progress)
    from hangarc.search import optimise_system

    return asked, optimise_system(asked, seed=seed, progress=progress)


def _read(path: Path) -> str:
    try:
        return path.read_text(encoding="utf-8")
    except UnicodeDecodeError:
        raise InputError(str(path), "bytes that are no UTF-8", "JSON text in UTF-8") from None


@commands.command(short_help="Hold the crew's readings against the plan.")
@click.argument(
    "readings_file", metavar="READINGS", type=click.Path(dir_okay=False, path_type=Path)
)
@click.option(
    "--answer",
    "answer_json",
    type=click.Path(dir_okay=False, path_type=Path),
    help="The answer.json of the sheet; the one beside the readings if left out.",
)
@units_option
@language_option
def check(
    readings_file: Path, answer_json: Path | None, units: Units, language: LanguageCode
) -> int:
    """Hold the crew's READINGS against the plan: accept, look at a joint, or stop.

    READINGS is readings.json or readings.csv as filled in, or that of one hang of a system.
    Exits with 0 for accept, 3 for look, 4 for stop.
    """
    from hangarc import report
    from hangarc._answers import Answer
    from hangarc._written import answer_file
    from hangarc.survey import Readings, check_readings

    read = Readings.from_csv if readings_file.suffix == ".csv" else Readings.from_json
    readings = read(_read(readings_file))
    beside = readings_file.parent / answer_file(readings_file.name)
    answer = Answer.from_json(_read(answer_json or beside))
    found = check_readings(answer, readings)
    click.echo(report.checked(answer, found, units=units, language=language), nl=False)
    return {"accept": 0, "look": LOOK, "stop": STOP}[found.verdict]


class _Counter:
    """A line on standard error that counts while the search runs."""

    def __enter__(self) -> _Counter:
        from tqdm import tqdm

        often = 0.1 if sys.stderr.isatty() else 2.0
        self._bar = tqdm(desc="searching", unit=" hangs", mininterval=often, file=sys.stderr)
        return self

    def show(self, evaluations: int) -> None:
        self._bar.update(evaluations - self._bar.n)

    def __exit__(self, *_: object) -> None:
        self._bar.close()


@commands.command("venue-from-dxf", short_help="Read the seats of a hall from a drawn section.")
@click.argument("section_dxf", type=click.Path(dir_okay=False, path_type=Path))
@click.option(
    "--layers",
    "layers_json",
    type=click.Path(dir_okay=False, path_type=Path),
    help="JSON file: for each layer the fields of its seat area.",
)
@click.option(
    "--seats",
    "widths",
    multiple=True,
    metavar="LAYER=WIDTH_M",
    help="A layer and the width of its seats; may be repeated.",
)
@click.option("--name", help="Name of the venue; the file's name when left out.")
@click.option("--unit-m", type=float, help="Metres per drawing unit; from the header if left out.")
@click.option("--origin", default="0,0", show_default=True, metavar="X,Y or LAYER",
              help="The floor under the hang, or the layer with one POINT there.")  # fmt: skip
@click.option("--forward", type=click.Choice(["right", "left"]), default="right", show_default=True,
              help="Where the seats lie in the drawing, seen from the hang.")  # fmt: skip
@click.option("--up", type=click.Choice(["y", "z"]), default="y", show_default=True,
              help="Axis of the drawing that points up.")  # fmt: skip
@click.option("--flatten-m", type=float, help="Flatten curves to chords this close to them.")
@click.option("--out", type=click.Path(dir_okay=False, path_type=Path), required=True,
              help="The venue as JSON.")  # fmt: skip
def venue_from_dxf(
    section_dxf: Path,
    layers_json: Path | None,
    widths: tuple[str, ...],
    name: str | None,
    unit_m: float | None,
    origin: str,
    forward: Literal["right", "left"],
    up: Literal["y", "z"],
    flatten_m: float | None,
    out: Path,
) -> None:
    """Read the seats of a venue from the section drawn in SECTION_DXF."""
    from hangarc.io import dxf
    from hangarc.model.seating import seat_counts

    venue = dxf.read_venue(
        section_dxf,
        _layers(layers_json, widths),
        name=name,
        unit_m=unit_m,
        origin=_origin(origin),
        forward=forward,
        up=up,
        flatten_m=flatten_m,
    )
    out.write_text(venue.to_json() + "\n", encoding="utf-8")
    for area, seats in zip(venue.areas, seat_counts(venue), strict=True):
        (near_x, near_z), (far_x, far_z) = area.profile_m[0], area.profile_m[-1]
        click.echo(
            f"{area.name}: {seats} seats, floor from ({near_x:.2f}, {near_z:.2f}) m "
            f"to ({far_x:.2f}, {far_z:.2f}) m"
        )


def _layers(path: Path | None, widths: Sequence[str]) -> dict[str, Any]:
    layers: dict[str, Any] = {}
    if path is not None:
        try:
            layers = json.loads(_read(path), object_pairs_hook=_document.each_key_once)
        except (ValueError, RecursionError) as error:
            raise InputError(str(path), error, "a JSON object of layers") from None
        if not isinstance(layers, dict):
            raise InputError(str(path), "no object", "a JSON object of layers")
    for text in widths:
        layer, _, width = text.rpartition("=")
        layers.setdefault(layer, {})["width_m"] = _number("--seats", text, width)
    return layers


def _origin(text: str) -> tuple[float, float] | str:
    parts = text.split(",")
    if len(parts) == 2 and all(_is_number(part) for part in parts):
        return float(parts[0]), float(parts[1])
    return text


def _number(option: str, text: str, part: str) -> float:
    if not _is_number(part):
        raise InputError(option, text, "LAYER=WIDTH_M, the width a number")
    return float(part)


def _is_number(text: str) -> bool:
    convert: Callable[[str], float] = float
    try:
        convert(text)
    except ValueError:
        return False
    return True


commands.add_command(_sweep_commands.sweep)
commands.add_command(_sweep_commands.family)
