"""A table of studies in, a table of answers out."""

from __future__ import annotations

import dataclasses
import json
import multiprocessing
import random
import signal
import time
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path
from typing import Any

import builders
import duckdb
import hangarc as ha
import pandas as pd
import polars as pl
import pyarrow as pa
import pyarrow.parquet as pq
import pytest
import sweeping
from hangarc import cli
from sweeping import ASKED


@pytest.fixture(scope="module")
def asked() -> list[dict[str, Any]]:
    return sweeping.studies(12)


@pytest.fixture(scope="module")
def expected(asked: list[dict[str, Any]], tmp_path_factory: pytest.TempPathFactory) -> bytes:
    output = tmp_path_factory.mktemp("expected")
    summary = ha.sweep(asked, output, rows_per_partition=5, **ASKED)
    assert (summary.ended, summary.rows, summary.errors) == ("done", 12, 0)
    return sweeping.rows(output)


def test_a_row_says_what_the_search_says(asked: list[dict[str, Any]], tmp_path: Path) -> None:
    table = ha.sweep(asked[:3], tmp_path, **ASKED).table()
    assert table.schema.names[: len(asked[0]) - 1] == [k for k in asked[0] if k != "study"]
    for row, item in zip(table.to_pylist(), asked, strict=False):
        study = item["study"]
        found = ha.optimise_splays(study, budget_evaluations=ASKED["budget_evaluations"])
        assert row["ended"] == found.ended
        assert row["splays_deg"] == found.splays_deg.tolist()
        assert row["objective_db"] == found.objective_db
        assert row["evaluations"] == found.evaluations
        sound = found.sound.to_dict()
        assert row["unevenness_db"] == sound["unevenness_db"]
        assert row["band_spread_db"] == sound["band_spread_db"]
        assert row["venue"] == item["venue"]
        loads = ha.hoist_loads(found.hang, found.tilt_deg, found.pick_x_m.tolist())
        assert row["hoist_load_n"] == loads.load_n.tolist()
        assert row["mass_kg"] == ha.pose(found.hang, found.tilt_deg).mass_kg
        assert row["greatest_utilisation"] is None, "no limit is stated"
        assert row["limits_not_stated"] > 0
        assert row["error_field"] is None


def test_the_greatest_utilisation_is_that_of_the_sheets_parts(tmp_path: Path) -> None:
    study = ha.demo.study()
    (row,) = ha.sweep([study], tmp_path, budget_evaluations=100, quiet=True).table().to_pylist()
    found = ha.optimise_splays(study, budget_evaluations=100)
    parts = ha.statics.part_loads(
        found.hang,
        found.tilt_deg,
        found.pick_x_m.tolist(),
        hoist_limit_n=study.hoist_limit_n,
        roof_point_limit_n=study.roof_point_limit_n,
        hoist_mass_kg=study.hoist_mass_kg,
        dynamic_factor=study.dynamic_factor,
    )
    greatest = max((r for r in parts if r.utilisation is not None), key=lambda r: r.utilisation)
    assert row["greatest_utilisation"] == greatest.utilisation
    assert row["greatest_utilisation_part"] == greatest.item
    assert row["closing_force_n"] == found.closing_force_n


@pytest.mark.parametrize("method", ["fork", "spawn"])
def test_a_pool_of_processes_gives_the_same_rows(
    method: str, asked: list[dict[str, Any]], expected: bytes, tmp_path: Path
) -> None:
    context = multiprocessing.get_context(method)
    with ProcessPoolExecutor(2, mp_context=context) as pool:
        ha.sweep(asked, tmp_path, pool, rows_per_partition=5, **ASKED)
    assert sweeping.rows(tmp_path) == expected


def test_a_dask_cluster_gives_the_same_rows_also_when_a_worker_dies(
    asked: list[dict[str, Any]], expected: bytes, tmp_path: Path
) -> None:
    from distributed import Client, LocalCluster

    with (
        LocalCluster(n_workers=2, threads_per_worker=1, dashboard_address=None) as cluster,
        Client(cluster) as client,
    ):
        ha.sweep(asked, tmp_path / "whole", client, rows_per_partition=5, **ASKED)
        assert sweeping.rows(tmp_path / "whole") == expected

        def dying() -> Any:
            for place, item in enumerate(asked):
                if place == 6:
                    doomed = next(iter(cluster.workers.values()))
                    import os

                    os.kill(doomed.pid, signal.SIGKILL)
                yield item

        ha.sweep(dying(), tmp_path / "killed", client, rows_per_partition=5, **ASKED)
        assert sweeping.rows(tmp_path / "killed") == expected


def test_any_kind_of_table_gives_the_same_rows(
    asked: list[dict[str, Any]], expected: bytes, tmp_path: Path
) -> None:
    path = tmp_path / "in.parquet"
    assert ha.sweeps.write_studies(asked, path) == 12
    table = pq.read_table(path)
    inputs: dict[str, Any] = {
        "path": path,
        "pyarrow": table,
        "pandas": table.to_pandas(),
        "polars": pl.from_arrow(table),
        "duckdb": duckdb.from_arrow(table),
    }
    for name, given in inputs.items():
        ha.sweep(given, tmp_path / name, rows_per_partition=5, **ASKED)
        assert sweeping.rows(tmp_path / name) == expected, name


def test_other_libraries_read_the_data_set(asked: list[dict[str, Any]], tmp_path: Path) -> None:
    ha.sweep(asked, tmp_path, mode="law", rows_per_partition=5, quiet=True)
    files = str(tmp_path / "*.parquet")
    counted = duckdb.sql(f"select count(*), sum(mass_kg) from '{files}'").fetchall()[0]
    assert counted[0] == 12 == pl.read_parquet(files).height == len(pd.read_parquet(tmp_path))
    assert counted[1] == pytest.approx(pl.read_parquet(files)["mass_kg"].sum())
    (part, *_) = sorted(tmp_path.glob("part-*.parquet"))
    metadata = pq.read_schema(part).metadata
    assert metadata[b"hangarc.sweep_version"] == str(ha.sweeps.SCHEMA_VERSION).encode()
    assert metadata[b"hangarc.version"] == ha.__version__.encode()


def test_the_documented_schema_is_the_one_written() -> None:
    page = Path(__file__).parents[2] / "docs" / "howto" / "sweeps.md"
    told = [line.split(" | ") for line in page.read_text("utf-8").splitlines() if "| `" in line]
    fixed = ha.sweeps.row_schema()
    assert [row[0].strip("|` ") for row in told] == fixed.names
    for row, field in zip(told, fixed, strict=True):
        assert row[1] == str(field.type)
        assert row[2].rstrip("| ") == field.metadata[b"description"].decode()


def test_broken_studies_are_rows_that_name_the_field(tmp_path: Path) -> None:
    count, wrong = 1000, 50
    places = list(range(3, count, count // wrong))
    base = dataclasses.replace(sweeping.base(), hang=builders.hang([0.0]), tilt_range_deg=(0, 0))
    small = {"depth_m": (8.0, 10.0), "width_m": (4.0, 6.0)}
    items = list(ha.sweeps.ask(base, ha.sweeps.venues("shoebox", count, ranges=small)))
    fields = {}
    for number, place in enumerate(places):
        fields[place], items[place] = sweeping.broken(items[place], number)
    assert len(set(fields.values())) == 5
    summary = ha.sweep(items, tmp_path, mode="law", quiet=True)
    assert (summary.rows, summary.errors) == (count, wrong)
    rows = summary.table().sort_by("place").to_pylist()
    assert [row["place"] for row in rows] == list(range(count))
    assert {row["place"]: row["error_field"] for row in rows if row["error_field"]} == fields
    for place in places:
        assert rows[place]["ended"] == "refused"
        assert rows[place]["error_text"].startswith(fields[place])
        assert rows[place]["venue"] == place, "its keys are there"


@pytest.mark.parametrize(
    ("given", "field"),
    [
        (5, "study"),
        (None, "study"),
        ("{", "json"),
        ({"name": "half"}, "hang"),
    ],
)
def test_what_is_no_study_at_all_is_a_row_too(given: Any, field: str, tmp_path: Path) -> None:
    items = [{"study": sweeping.base(), "key": 1}, {"study": given, "key": 2}]
    summary = ha.sweep(items, tmp_path, mode="law", quiet=True)
    assert summary.rows == 2
    row = summary.table().sort_by("place").to_pylist()[1]
    assert (row["error_field"], row["key"]) == (field, 2)


def test_a_second_run_computes_nothing_and_a_changed_study_alone(
    asked: list[dict[str, Any]], tmp_path: Path
) -> None:
    ha.sweep(asked, tmp_path, rows_per_partition=5, **ASKED)
    before = {part: part.stat().st_mtime_ns for part in tmp_path.glob("part-*.parquet")}
    again = ha.sweep(asked, tmp_path, rows_per_partition=5, **ASKED)
    assert (again.computed, again.kept) == (0, 12)
    assert before == {part: part.stat().st_mtime_ns for part in tmp_path.glob("part-*.parquet")}

    changed = [*asked[:7], sweeping.with_air(asked[7], 35.0), *asked[8:]]
    third = ha.sweep(changed, tmp_path, rows_per_partition=5, **ASKED)
    assert (third.computed, third.kept) == (1, 11)
    untouched = [part for part, was in before.items() if part.stat().st_mtime_ns == was]
    assert len(untouched) == 2
    assert third.table().num_rows == 12

    shorter = ha.sweep(changed[:6], tmp_path, rows_per_partition=5, **ASKED)
    assert (shorter.computed, shorter.kept) == (0, 6)
    assert shorter.table().num_rows == 6
    otherwise = ha.sweep(changed[:6], tmp_path, rows_per_partition=5, seed=1, **ASKED)
    assert otherwise.computed == 6
    anew = ha.sweep(changed[:6], tmp_path, resume=False, rows_per_partition=3, seed=1, **ASKED)
    assert anew.computed == 6
    with pytest.raises(ha.InputError, match="rows_per_partition = 4: allowed is 3"):
        ha.sweep(changed, tmp_path, rows_per_partition=4, **ASKED)


def test_killed_at_any_moment_it_goes_on_to_the_same_rows(tmp_path: Path) -> None:
    """25 ends by kill -9, spread over the run from its first moment to its last."""
    count, kills = 12, 25
    asked = {**ASKED, "budget_evaluations": 1, "rows_per_partition": 3, "checkpoint_s": 0.02}
    studies = sweeping.studies(count)
    path = tmp_path / "in.parquet"
    ha.sweeps.write_studies(studies, path)
    context = multiprocessing.get_context("forkserver")
    context.set_forkserver_preload(["sweeping", "hangarc.sweeps"])

    def begun(output: Path) -> Any:
        process = context.Process(target=sweeping.sweep_file, args=(path, output, asked))
        process.start()
        return process

    whole = begun(tmp_path / "whole")
    while not (tmp_path / "whole").exists():
        time.sleep(0.001)
    started = time.monotonic()
    whole.join()
    takes = time.monotonic() - started
    assert whole.exitcode == 0
    expected = sweeping.rows(tmp_path / "whole")
    draw = random.Random(1)
    found = []
    for run in range(kills):
        output = tmp_path / str(run)
        killed = begun(output)
        while not output.exists():
            time.sleep(0.001)
        time.sleep(takes * (run + draw.random()) / kills)
        killed.kill()
        killed.join()
        left = [pq.read_table(part, columns=["place"]) for part in output.glob("part-*.parquet")]
        summary = ha.sweep(studies, output, **asked)
        assert summary.kept == sum(map(len, left)), "what was written is not computed again"
        assert summary.computed + summary.kept == count == summary.rows
        assert sweeping.rows(output) == expected
        assert not list(output.glob(".part*"))
        found.append(summary.kept)
    assert len(set(found)) > 2, f"the ends came at different moments: {found}"


@pytest.mark.alone
def test_ctrl_c_writes_what_is_done_and_the_same_call_goes_on(tmp_path: Path) -> None:
    asked = {"budget_evaluations": 4000, "quiet": False, "checkpoint_s": 0.2}
    options = {**ASKED, **asked}
    work = f"ha.sweep(sweeping.studies(200), pathlib.Path({str(tmp_path)!r}), **{options!r})"
    running = sweeping.started(sweeping.command(work))
    while running.poll() is None and not list(tmp_path.glob("part-*.parquet")):
        time.sleep(0.1)
    stopped = time.monotonic()
    running.send_signal(signal.SIGINT)
    _, told = running.communicate(timeout=30)
    assert time.monotonic() - stopped < 5.0
    assert "run the same call again to go on" in told
    written = sum(pq.read_metadata(part).num_rows for part in tmp_path.glob("part-*.parquet"))
    assert f"{written} rows are written" in told
    assert 0 < written < 200


@pytest.mark.skipif(not hasattr(signal, "SIGXFSZ"), reason="needs a limit on file sizes")
@pytest.mark.parametrize(("most_bytes", "written"), [(9_000, 0), (40_000, 6)])
def test_a_disk_without_room_ends_in_a_clear_error_and_goes_on(
    most_bytes: int, written: int, tmp_path: Path
) -> None:
    """The limit lets no partition through, or the first but not the second with its long keys."""
    draw = random.Random(1)
    notes = ["short"] * 6 + [draw.randbytes(10_000).hex() for _ in range(6)]
    items = [{**item, "note": note} for item, note in zip(sweeping.studies(12), notes, strict=True)]
    path, output = tmp_path / "in.parquet", tmp_path / "out"
    ha.sweeps.write_studies(items, path)
    asked = {**ASKED, "rows_per_partition": 6}
    command = sweeping.command(f"sweeping.sweep_file({str(path)!r}, {str(output)!r}, {asked!r})")
    limit = f"import resource; resource.setrlimit(resource.RLIMIT_FSIZE, ({most_bytes},) * 2)\n"
    full = sweeping.started([*command[:-1], limit + command[-1]])
    _, told = full.communicate()
    assert full.returncode != 0
    assert f"File too large: {written} rows are written" in told
    assert "make room, and the same call goes on from there" in told
    left = sum(pq.read_metadata(part).num_rows for part in output.glob("*part*"))
    assert left == written
    summary = ha.sweep(path, output, **asked)
    assert (summary.ended, summary.kept, summary.rows) == ("done", written, 12)
    ha.sweep(path, tmp_path / "whole", **asked)
    assert sweeping.rows(output) == sweeping.rows(tmp_path / "whole")


def test_an_executor_that_breaks_down_raises_and_keeps_what_is_done(
    asked: list[dict[str, Any]], tmp_path: Path
) -> None:
    import os
    from concurrent.futures.process import BrokenProcessPool

    with ProcessPoolExecutor(1, mp_context=multiprocessing.get_context("spawn")) as pool:

        def dying() -> Any:
            yield from asked[:11]
            pool.submit(int).result()
            time.sleep(3.0)
            os.kill(next(iter(pool._processes)), signal.SIGKILL)
            yield asked[11]

        with pytest.raises(BrokenProcessPool):
            ha.sweep(dying(), tmp_path, pool, rows_per_partition=5, **ASKED)
    again = ha.sweep(asked, tmp_path, rows_per_partition=5, **ASKED)
    assert again.rows == 12


def test_two_sweeps_do_not_write_to_one_folder(asked: list[dict[str, Any]], tmp_path: Path) -> None:
    def another_begins() -> Any:
        yield from asked[:5]
        with pytest.raises(ha.InputError, match="no other sweep"):
            ha.sweep(asked, tmp_path, **ASKED)

    assert ha.sweep(another_begins(), tmp_path, **ASKED).rows == 5


def axes_that_meet_no_seat(answer: ha.Answer) -> int:
    return sum(throw is None for throw in answer.throws)


def first_area(answer: ha.Answer) -> str:
    return answer.study.venue.areas[0].name


def wrong(answer: ha.Answer) -> float:
    raise ZeroDivisionError("never")


def test_a_caller_adds_columns(asked: list[dict[str, Any]], tmp_path: Path) -> None:
    added: dict[str, Any] = {
        "missing": (pa.int32(), axes_that_meet_no_seat),
        "area": (pa.string(), first_area),
    }
    own = ha.sweep(asked[:3], tmp_path / "own", schema=added, **ASKED).table()
    assert own["area"].to_pylist() == ["Floor"] * 3
    assert own.schema.field("missing").type == pa.int32()
    with ProcessPoolExecutor(1, mp_context=multiprocessing.get_context("spawn")) as pool:
        ha.sweep(asked[:3], tmp_path / "pool", pool, schema=added, **ASKED)
    assert sweeping.rows(tmp_path / "own") == sweeping.rows(tmp_path / "pool")
    failing = ha.sweep(asked[:2], tmp_path / "wrong", schema={"x": wrong}, **ASKED).table()
    assert failing["error_field"].to_pylist() == ["schema['x']"] * 2
    assert "ZeroDivisionError: never" in failing["error_text"][0].as_py()


@pytest.mark.parametrize("kind", ["shoebox", "fan", "arena", "field", "theatre"])
def test_a_family_is_the_same_for_any_count_and_can_be_asked(kind: str, tmp_path: Path) -> None:
    long = [venue for _, venue in ha.sweeps.venues(kind, 300, seed=3)]
    assert [venue for _, venue in ha.sweeps.venues(kind, 7, seed=3)] == long[:7]
    assert [venue for _, venue in ha.sweeps.venues(kind, 7, seed=4)] != long[:7]
    for measures, _ in ha.sweeps.venues(kind, 50):
        for name, (low, high) in ha.sweeps.FAMILIES[kind].ranges.items():
            assert low <= measures[name] <= high
    summary = ha.sweep(sweeping.studies(6, kind), tmp_path, mode="law", quiet=True)
    assert (summary.rows, summary.errors) == (6, 0)


def test_a_range_can_be_set_and_a_wrong_one_is_refused() -> None:
    fixed = ha.sweeps.venues("fan", 5, ranges={"depth_m": (20.0, 20.0)})
    assert {measures["depth_m"] for measures, _ in fixed} == {20.0}
    for kind, ranges in [
        ("cave", {}),
        ("fan", {"deep": (1.0, 2.0)}),
        ("fan", {"depth_m": (3.0, 2.0)}),
        ("fan", {"depth_m": 3.0}),
    ]:
        with pytest.raises(ha.InputError):
            ha.sweeps.venues(kind, 5, ranges=ranges)  # type: ignore[arg-type]


def test_a_grid_asks_every_combination(tmp_path: Path) -> None:
    airs = {"cold": ha.Air(temperature_c=5.0), "hot": ha.Air(temperature_c=35.0)}
    items = list(ha.sweeps.grid(sweeping.studies(2), cabinets=[2, 4, 9], air=airs))
    assert len(items) == 2 * 3 * 2
    table = ha.sweep(items, tmp_path, mode="law", quiet=True).table().sort_by("place")
    rows = table.to_pylist()
    assert {row["option_air"] for row in rows} == {"cold", "hot"}
    for row in rows:
        if row["option_cabinets"] == 9:
            assert row["error_field"] == "cabinets"
        else:
            assert row["cabinets"] == row["option_cabinets"]


def test_the_commands_write_a_family_and_sweep_it(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    base = tmp_path / "base.json"
    base.write_text(sweeping.base().to_json())
    table, out = tmp_path / "in.parquet", tmp_path / "out"
    made = ["family", "arena", "-n", "5", str(table), "--study", str(base), "--cabinets", "3"]
    assert cli.main(made) == 0
    assert cli.main(["sweep", str(table), str(out), "--mode", "law", "--quiet"]) == 0
    assert "5 rows" in capsys.readouterr().out
    assert cli.main(["sweep", str(table), str(out), "--mode", "law", "--quiet"]) == 0
    assert "0 computed, 5 kept" in capsys.readouterr().out
    assert cli.main(["sweep", str(base), str(out)]) != 0


def test_arguments_are_refused_by_name(tmp_path: Path) -> None:
    study = sweeping.base()
    clash = {"study": study, "tilt_deg": 1.0}
    for given, asked in [
        (5, {}),
        (tmp_path / "none.parquet", {}),
        (pa.table({"x": [1]}), {}),
        ([clash], {}),
        ([study], {"mode": "guess"}),
        ([study], {"rows_per_partition": 0}),
        ([study], {"schema": {"x": 3}}),
        ([study], {"executor": 7}),
    ]:
        with pytest.raises(ha.InputError):
            ha.sweep(given, tmp_path / "out", quiet=True, **asked)  # type: ignore[arg-type]


def test_no_studies_make_no_rows(tmp_path: Path) -> None:
    summary = ha.sweep([], tmp_path, quiet=True)
    assert (summary.ended, summary.rows) == ("done", 0)
    assert json.dumps(summary.to_dict())
