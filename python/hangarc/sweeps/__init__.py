"""Many studies at once: a table in, a table out, restartable.

`hangarc.sweep` answers studies and writes a partitioned Parquet data set. `venues` and `ask` make
families of studies, `grid` crosses them with options. Needs the `sweep` extra.

Examples
--------
>>> import hangarc as ha
>>> study = ha.demo.study(cabinets=4)
>>> arenas = ha.sweeps.venues("arena", 3, seed=1)
>>> rows = list(ha.sweeps.grid(ha.sweeps.ask(study, arenas), cabinets=[3, 4]))
>>> len(rows)
6
"""

from __future__ import annotations

from hangarc.sweeps.families import FAMILIES, Family, ask, venues
from hangarc.sweeps.grids import Option, grid
from hangarc.sweeps.inputs import write_studies
from hangarc.sweeps.rows import SCHEMA_VERSION, row_schema
from hangarc.sweeps.run import SweepSummary, sweep

__all__ = [
    "FAMILIES",
    "SCHEMA_VERSION",
    "Family",
    "Option",
    "SweepSummary",
    "ask",
    "grid",
    "row_schema",
    "sweep",
    "venues",
    "write_studies",
]
