"""The commands of sweeps: answer a table of studies, write a family of them."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any, Literal

import click

_KINDS = ("shoebox", "fan", "arena", "field", "theatre")

_STOPPED = 130


@click.command(short_help="Answer many studies: a row of a table for each.")
@click.argument("studies_parquet", type=click.Path(exists=True, path_type=Path))
@click.argument("out", type=click.Path(file_okay=False, path_type=Path))
@click.option("--scheduler", metavar="ADDRESS", help="Address of a Dask scheduler, tcp://…")
@click.option("--mode", type=click.Choice(["search", "law", "given"]), default="search",
              show_default=True, help="Search the pins, take them from the law of curved lines, or "
              "as each study gives them.")  # fmt: skip
@click.option("--seed", type=click.IntRange(0), default=0, show_default=True,
              help="Any number; another one starts each search from other places.")  # fmt: skip
@click.option("--budget-evaluations", type=click.IntRange(0), help="End each search after so many.")
@click.option("--rows-per-partition", type=click.IntRange(1), default=500, show_default=True,
              help="Rows in each of the files that are written.")  # fmt: skip
@click.option("--anew", is_flag=True, help="Take away what is in OUT instead of going on from it.")
@click.option("--quiet", is_flag=True, help="No progress.")
def sweep(
    studies_parquet: Path,
    out: Path,
    scheduler: str | None,
    mode: Literal["search", "law", "given"],
    seed: int,
    budget_evaluations: int | None,
    rows_per_partition: int,
    anew: bool,
    quiet: bool,
) -> int:
    """Answer every study of STUDIES_PARQUET and write a row for each to the folder OUT.

    Run again after any kind of end, it goes on where it was.
    """
    from hangarc.sweeps.run import sweep as run

    client: Any = None
    if scheduler is not None:
        import distributed

        make: Callable[[str], Any] = distributed.Client
        client = make(scheduler)
    try:
        summary = run(
            studies_parquet,
            out,
            client,
            resume=not anew,
            mode=mode,
            seed=seed,
            budget_evaluations=budget_evaluations,
            rows_per_partition=rows_per_partition,
            quiet=quiet,
        )
    finally:
        if client is not None:
            client.close()
    if summary.ended == "interrupted":
        return _STOPPED
    click.echo(
        f"{summary.rows} rows in {out}: {summary.computed} computed, {summary.kept} kept, "
        f"{summary.errors} with an error, {summary.seconds:.1f} s"
    )
    return 0


@click.command(short_help="Write many studies: one question, many halls.")
@click.argument("kind", type=click.Choice(_KINDS))
@click.argument("out_parquet", type=click.Path(dir_okay=False, path_type=Path))
@click.option("-n", "--count", type=click.IntRange(1), default=100, show_default=True,
              help="How many halls.")  # fmt: skip
@click.option("--seed", type=click.IntRange(0), default=0, show_default=True,
              help="Any number; another one makes other halls.")  # fmt: skip
@click.option("--study", "study_json", type=click.Path(dir_okay=False, path_type=Path),
              help="The question asked of each venue; the demo study when left out.")  # fmt: skip
@click.option("--cabinets", type=int, help="Cabinets hung, taken from the top of the list.")
def family(
    kind: Literal["shoebox", "fan", "arena", "field", "theatre"],
    out_parquet: Path,
    count: int,
    seed: int,
    study_json: Path | None,
    cabinets: int,
) -> None:
    """Write a table of studies that ask one question of many venues of one KIND."""
    from hangarc import demo, sweeps
    from hangarc.model import Study

    base = demo.study()
    if study_json is not None:
        base = Study.from_json(study_json.read_text(encoding="utf-8"))
    studies = sweeps.ask(base, sweeps.venues(kind, count, seed=seed))
    if cabinets is not None:
        studies = sweeps.grid(studies, cabinets=[cabinets])
    written = sweeps.write_studies(studies, out_parquet)
    click.echo(f"{written} studies written to {out_parquet}")
