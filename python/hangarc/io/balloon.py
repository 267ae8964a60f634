"""Measured balloons from files."""

from __future__ import annotations

import csv
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from hangarc._errors import InputError
from hangarc.acoustics.rig import Balloon

# The columns of a table, and the greatest size of a number in each.
MOST = {
    "frequency_hz": 1e15,
    "azimuth_deg": 360.0,
    "elevation_deg": 90.0,
    "level_db": 300.0,
    "phase_deg": 1e6,
}
COLUMNS = tuple(MOST)


def read_balloon_sofa(path: str | Path) -> Balloon:
    """Read complex directivity from an AES69 (SOFA) file of the convention FreeFieldDirectivityTF.

    Directions are those of the receivers about the emitter; data are complex transfer functions
    of the first measurement. Needs the extra ``io``.

    Parameters
    ----------
    path : str or Path
        The file.

    Raises
    ------
    InputError
        Not such a file, directions that do not fill a grid, or data out of range.
    """
    import sofar

    try:
        data = sofar.read_sofa(str(path), verbose=False)
    except (ModuleNotFoundError, MemoryError):
        raise
    except Exception as error:
        # Which exception a broken file meets with in its parser is anybody's guess.
        raise InputError("path", str(path), f"an AES69 file ({error})") from error
    if getattr(data, "GLOBAL_SOFAConventions", None) != "FreeFieldDirectivityTF":
        convention = getattr(data, "GLOBAL_SOFAConventions", "none")
        raise InputError("GLOBAL_SOFAConventions", convention, "FreeFieldDirectivityTF")
    if data.ReceiverPosition_Type != "spherical":
        raise InputError("ReceiverPosition_Type", data.ReceiverPosition_Type, "spherical")
    position = np.asarray(data.ReceiverPosition, dtype=float)
    position = position.reshape(position.shape[0], -1)[:, :2]
    real, imaginary = np.atleast_3d(data.Data_Real), np.atleast_3d(data.Data_Imag)
    values = real[0] + 1j * imaginary[0]
    return _on_grid(np.ravel(data.N).astype(float), position, values.T)


def read_balloon_csv(path: str | Path) -> Balloon:
    """Read complex directivity from a table with a header line.

    Columns ``frequency_hz, azimuth_deg, elevation_deg, level_db, phase_deg``, in any order; one row
    for each frequency and direction, which fill a grid. The level is pressure times distance in
    dB, the phase that of e^{+jωt}, referred to the middle of the front face.

    Parameters
    ----------
    path : str or Path
        The file.

    Raises
    ------
    InputError
        A missing column, a cell that is not a number, or rows that do not fill a grid.
    """
    try:
        with Path(path).open(newline="", encoding="utf-8-sig") as file:
            rows = _rows(csv.DictReader(file))
    except (OSError, UnicodeError, csv.Error) as error:
        raise InputError("path", str(path), f"a table in UTF-8 ({error})") from None
    table = np.array(rows).reshape(-1, len(COLUMNS))
    frequency_hz = np.unique(table[:, 0])
    directions, place = np.unique(table[:, 1:3], axis=0, return_inverse=True)
    values = np.full((len(frequency_hz), len(directions)), np.nan + 0j)
    line = np.searchsorted(frequency_hz, table[:, 0])
    values[line, place.ravel()] = 10 ** (table[:, 3] / 20) * np.exp(1j * np.radians(table[:, 4]))
    if len(table) != values.size or np.isnan(values).any():
        raise InputError("rows", len(table), f"{values.size}, each frequency and direction once")
    return _on_grid(frequency_hz, directions, values)


def _rows(reader: csv.DictReader[str]) -> list[list[float]]:
    names = [name.strip() for name in reader.fieldnames or []]
    for column in COLUMNS:
        if names.count(column) != 1:
            held = ", ".join(names) or "none"
            raise InputError(column, names.count(column), f"one such column; the file has {held}")
    reader.fieldnames = names
    rows = []
    for number, row in enumerate(reader, start=2):
        try:
            cells = [float(row[column]) for column in COLUMNS]
        except (TypeError, ValueError):
            raise InputError(f"line {number}", dict(row), "numbers in every column") from None
        for column, cell in zip(COLUMNS, cells, strict=True):
            if not abs(cell) <= MOST[column]:
                allowed = f"a number of a size up to {MOST[column]:g}"
                raise InputError(f"line {number}, {column}", cell, allowed)
        rows.append(cells)
    if not rows:
        raise InputError("rows", 0, "at least one below the line of headings")
    return rows


def _on_grid(
    frequency_hz: NDArray[np.float64],
    directions_deg: NDArray[np.float64],
    values: NDArray[np.complex128],
) -> Balloon:
    """Sort values (F, directions) into frequency, elevation, azimuth."""
    azimuth = (np.round(directions_deg[:, 0], 9) + 180.0) % 360.0 - 180.0
    elevation = np.round(directions_deg[:, 1], 9)
    azimuths, elevations = np.unique(azimuth), np.unique(elevation)
    column, row = np.searchsorted(azimuths, azimuth), np.searchsorted(elevations, elevation)
    grid = np.full((len(frequency_hz), len(elevations), len(azimuths)), np.nan + 0j)
    grid[:, row, column] = values
    # At the poles one azimuth stands for all.
    for pole in np.flatnonzero(np.abs(elevations) == 90.0):
        known = ~np.isnan(grid[0, pole])
        if known.any():
            grid[:, pole, ~known] = grid[:, pole, known][:, :1]
    if np.isnan(grid).any():
        raise InputError(
            "directions", len(directions_deg), "a full grid of azimuths and elevations"
        )
    rising = np.argsort(frequency_hz)
    return Balloon(frequency_hz[rising], azimuths, elevations, grid[rising])
