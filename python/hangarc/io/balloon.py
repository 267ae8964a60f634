"""Measured balloons from files.

Examples
--------
>>> import os
>>> import pathlib
>>> import tempfile
>>> from hangarc.io import balloon
>>> rows = ["frequency_hz,azimuth_deg,elevation_deg,level_db,phase_deg"]
>>> rows += [f"1000,{az},{el},0,0" for el in (-90, 0, 90) for az in (-90, 0, 90, 180)]
>>> path = pathlib.Path(tempfile.mkdtemp()) / "balloon.csv"
>>> path.write_text(os.linesep.join(rows)) > 0
True
>>> balloon.read_balloon_csv(path)
Balloon(1 lines, 3 elevations, 4 azimuths)
"""

from __future__ import annotations

import csv
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from hangarc._errors import InputError, beside
from hangarc._keywords import by_name
from hangarc.acoustics.air import air_absorption_db_per_m, sound_speed_m_s
from hangarc.model import Air, Balloon, Measurement, brought_to_one_metre

# The columns of a table, and the greatest size of a number in each.
MOST = {
    "frequency_hz": 1e15,
    "azimuth_deg": 360.0,
    "elevation_deg": 90.0,
    "level_db": 300.0,
    "phase_deg": 1e6,
}
COLUMNS = tuple(MOST)


@by_name
def read_balloon_sofa(
    path: str | Path,
    *,
    distance_m: float | None = None,
    delay_s: float | None = None,
    air: Air | None = None,
) -> Balloon:
    """Read complex directivity from an AES69 (SOFA) file of the convention FreeFieldDirectivityTF.

    Directions are those of the receivers about the emitter; data are complex transfer functions
    of the first measurement. They are brought to 1 m and freed of their delay
    (`measurement_of_sofa` tells what was done). Needs the extra ``io``.

    Parameters
    ----------
    path : str or Path
        The file.
    distance_m : float, optional
        Distance of the measurement; left out, that of the file's receivers.
    delay_s : float, optional
        Delay to take out of the phases; left out, the one that all directions share, the run time
        included. 0 leaves them as they are.
    air : Air, optional
        Air of the measurement, whose absorption over the distance is then given back; left out,
        none is.

    Raises
    ------
    InputError
        Not such a file, directions that do not fill a grid, data out of range, or a balloon that
        `hangarc.model.Balloon` refuses.

    Examples
    --------
    >>> import pathlib
    >>> import tempfile
    >>> import numpy as np
    >>> import sofar
    >>> from hangarc.io import balloon
    >>> places = [(az, el, 4.0) for el in (-90, 0, 90) for az in (0, 90, 180, 270)]
    >>> file = sofar.Sofa("FreeFieldDirectivityTF")
    >>> file.ReceiverPosition = np.array(places)
    >>> file.ReceiverPosition_Type = "spherical"
    >>> file.ReceiverPosition_Units = "degree, degree, metre"
    >>> file.N = np.array([1000.0])
    >>> file.Data_Real, file.Data_Imag = np.full((1, 12, 1), 0.25), np.zeros((1, 12, 1))
    >>> path = pathlib.Path(tempfile.mkdtemp()) / "demo.sofa"
    >>> sofar.write_sofa(str(path), file)
    >>> balloon.read_balloon_sofa(path)
    Balloon(1 lines, 3 elevations, 4 azimuths)
    """
    return measurement_of_sofa(path, distance_m=distance_m, delay_s=delay_s, air=air).balloon


@by_name
def measurement_of_sofa(
    path: str | Path,
    *,
    distance_m: float | None = None,
    delay_s: float | None = None,
    air: Air | None = None,
) -> Measurement:
    """Read as `read_balloon_sofa`, with the distance, the delay taken out and the balloon's error.

    Parameters
    ----------
    path, distance_m, delay_s, air
        As in `read_balloon_sofa`.

    Raises
    ------
    InputError
        As `read_balloon_sofa`.

    Examples
    --------
    >>> import pathlib
    >>> import tempfile
    >>> import numpy as np
    >>> import sofar
    >>> from hangarc.io import balloon
    >>> places = [(az, el, 4.0) for el in (-90, 0, 90) for az in (0, 90, 180, 270)]
    >>> file = sofar.Sofa("FreeFieldDirectivityTF")
    >>> file.ReceiverPosition = np.array(places)
    >>> file.ReceiverPosition_Type = "spherical"
    >>> file.ReceiverPosition_Units = "degree, degree, metre"
    >>> file.N = np.array([1000.0])
    >>> file.Data_Real, file.Data_Imag = np.full((1, 12, 1), 0.25), np.zeros((1, 12, 1))
    >>> path = pathlib.Path(tempfile.mkdtemp()) / "demo.sofa"
    >>> sofar.write_sofa(str(path), file)
    >>> found = balloon.measurement_of_sofa(path)
    >>> found.distance_m, abs(found.balloon.towards([0.0], [0.0], [1000.0])).round(2).tolist()
    (4.0, [[1.0]])
    """
    import sofar

    try:
        data = sofar.read_sofa(str(path), verbose=False)
    except (ModuleNotFoundError, MemoryError):
        raise
    except Exception as error:
        # Which exception a broken file meets with in its parser is anybody's guess.
        raise InputError("path", str(path), f"an AES69 file ({error}){beside(path)}") from error
    if getattr(data, "GLOBAL_SOFAConventions", None) != "FreeFieldDirectivityTF":
        convention = getattr(data, "GLOBAL_SOFAConventions", "none")
        raise InputError("GLOBAL_SOFAConventions", convention, "FreeFieldDirectivityTF")
    if data.ReceiverPosition_Type != "spherical":
        raise InputError("ReceiverPosition_Type", data.ReceiverPosition_Type, "spherical")
    position = np.asarray(data.ReceiverPosition, dtype=float)
    position = position.reshape(position.shape[0], -1)
    real, imaginary = np.atleast_3d(data.Data_Real), np.atleast_3d(data.Data_Imag)
    values = (real[0] + 1j * imaginary[0]).T
    frequency_hz = np.ravel(data.N).astype(float)
    radius_m = position[:, 2]
    if not (radius_m > 0.0).all():
        raise InputError("ReceiverPosition", float(radius_m.min()), "a distance above 0")
    mean_m = float(radius_m.mean())
    # Where receivers stand at different distances, all are first brought to the mean one.
    late_s = (radius_m - mean_m) / sound_speed_m_s(air or Air())
    values = values * (radius_m / mean_m) * np.exp(2j * np.pi * frequency_hz[:, None] * late_s)
    away_m = mean_m if distance_m is None else distance_m
    return _measurement(frequency_hz, position[:, :2], values, away_m, delay_s, air)


@by_name
def read_balloon_csv(
    path: str | Path,
    *,
    distance_m: float = 1.0,
    delay_s: float | None = None,
    air: Air | None = None,
) -> Balloon:
    """Read complex directivity from a table with a header line.

    Columns ``frequency_hz, azimuth_deg, elevation_deg, level_db, phase_deg``, in any order; one row
    for each frequency and direction, which fill a grid. The level is that at `distance_m` over an
    element of 0 dB at 1 m, the phase that of e^{+jωt}. They are brought to 1 m and freed of their
    delay (`measurement_of_csv` tells what was done).

    Parameters
    ----------
    path : str or Path
        The file.
    distance_m : float
        Distance of the measurement; 1 where the levels are pressure times distance.
    delay_s, air
        As in `read_balloon_sofa`.

    Raises
    ------
    InputError
        A missing column, a cell that is not a number, rows that do not fill a grid, or a balloon
        that `hangarc.model.Balloon` refuses.

    Examples
    --------
    >>> import os
    >>> import pathlib
    >>> import tempfile
    >>> from hangarc.io import balloon
    >>> rows = ["frequency_hz,azimuth_deg,elevation_deg,level_db,phase_deg"]
    >>> rows += [f"1000,{az},{el},-6,0" for el in (-90, 0, 90) for az in (-90, 0, 90, 180)]
    >>> path = pathlib.Path(tempfile.mkdtemp()) / "balloon.csv"
    >>> path.write_text(os.linesep.join(rows)) > 0
    True
    >>> balloon.read_balloon_csv(path)
    Balloon(1 lines, 3 elevations, 4 azimuths)
    """
    return measurement_of_csv(path, distance_m=distance_m, delay_s=delay_s, air=air).balloon


@by_name
def measurement_of_csv(
    path: str | Path,
    *,
    distance_m: float = 1.0,
    delay_s: float | None = None,
    air: Air | None = None,
) -> Measurement:
    """Read as `read_balloon_csv`, with the delay taken out and the balloon's error.

    Parameters
    ----------
    path, distance_m, delay_s, air
        As in `read_balloon_csv`.

    Raises
    ------
    InputError
        As `read_balloon_csv`.

    Examples
    --------
    >>> import os
    >>> import pathlib
    >>> import tempfile
    >>> from hangarc.io import balloon
    >>> rows = ["frequency_hz,azimuth_deg,elevation_deg,level_db,phase_deg"]
    >>> rows += [f"1000,{az},{el},-12,0" for el in (-90, 0, 90) for az in (-90, 0, 90, 180)]
    >>> path = pathlib.Path(tempfile.mkdtemp()) / "balloon.csv"
    >>> path.write_text(os.linesep.join(rows)) > 0
    True
    >>> measured = balloon.measurement_of_csv(path, distance_m=4.0, delay_s=0.0)
    >>> ahead = measured.balloon.towards([0.0], [0.0], [1000.0])
    >>> measured.distance_m, abs(ahead).round(2).tolist()
    (4.0, [[1.0]])
    """
    try:
        with Path(path).open(newline="", encoding="utf-8-sig") as file:
            rows = _rows(csv.DictReader(file))
    except (OSError, UnicodeError, csv.Error) as error:
        raise InputError("path", str(path), f"a table in UTF-8 ({error}){beside(path)}") from None
    table = np.array(rows).reshape(-1, len(COLUMNS))
    frequency_hz = np.unique(table[:, 0])
    directions, place = np.unique(table[:, 1:3], axis=0, return_inverse=True)
    values = np.full((len(frequency_hz), len(directions)), np.nan + 0j)
    line = np.searchsorted(frequency_hz, table[:, 0])
    values[line, place.ravel()] = 10 ** (table[:, 3] / 20) * np.exp(1j * np.radians(table[:, 4]))
    if len(table) != values.size or np.isnan(values).any():
        raise InputError("rows", len(table), f"{values.size}, each frequency and direction once")
    return _measurement(frequency_hz, directions, values, distance_m, delay_s, air)


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


def _measurement(
    frequency_hz: NDArray[np.float64],
    directions_deg: NDArray[np.float64],
    values: NDArray[np.complex128],
    distance_m: float,
    delay_s: float | None,
    air: Air | None,
) -> Measurement:
    """Sort values (F, directions) into frequency, elevation, azimuth, and bring them to 1 m."""
    if air is not None:
        lost_db = distance_m * air_absorption_db_per_m(
            frequency_hz, air.temperature_c, air.humidity_percent, air.pressure_kpa
        )
        values = values * 10 ** (lost_db / 20)[:, None]
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
    return brought_to_one_metre(
        frequency_hz[rising], azimuths, elevations, grid[rising], distance_m, delay_s
    )
