"""What our figures are held against that comes from outside, and how near they come.

A test asks for the fixture `outside`, gives it what the source states and what we find, and the
fixture holds the two together. With `HANGARC_OUTSIDE` naming a file, each check is also added to
that file, from which the documentation site makes its table.
"""

from __future__ import annotations

import json
import os
from collections.abc import Sequence
from dataclasses import asdict, dataclass
from enum import Enum
from importlib import metadata
from pathlib import Path
from typing import Any

import numpy as np


class Kind(Enum):
    """Where the figures of a source come from."""

    PRINTED = "printed figures, as another package carries them"
    LIBRARY = "another library, run in the test"
    DERIVED = "a named result, worked out in the test in exact numbers"
    MEMORY = "from memory, not compared with the printed page"


@dataclass(frozen=True)
class Source:
    """What states the figures: author or standard, edition, table, page or number."""

    text: str
    kind: Kind
    #: The package that carries or computes the figures, with its version.
    package: str = ""

    def __post_init__(self) -> None:
        at_hand = self.package != ""
        assert at_hand != (self.kind is Kind.MEMORY), "what is at hand is in a package"


@dataclass(frozen=True)
class Row:
    """One line of the table."""

    topic: str
    what: str
    source: str
    kind: str
    package: str
    figures: int
    theirs: float
    ours: float
    unit: str
    difference: float
    allowed: float
    why: str
    test: str


class Outside:
    """Holds figures against a source, and keeps what it found."""

    def __init__(self, test: str) -> None:
        self.test = test
        self.rows: list[Row] = []

    def check(
        self,
        topic: str,
        what: str,
        source: Source,
        *,
        theirs: Any,
        ours: Any,
        unit: str,
        why: str,
        within: float = 0.0,
        relative: float = 0.0,
    ) -> None:
        """Hold `ours` to `theirs` within `within` plus `relative` times their size.

        `why` says where the allowed difference comes from. The row tells of the figure that comes
        nearest to what is allowed.
        """
        stated, found = np.broadcast_arrays(np.asarray(theirs, float), np.asarray(ours, float))
        allowed = within + relative * np.abs(stated)
        assert (allowed > 0.0).all(), "a check that allows nothing, or that cannot fail"
        off = np.abs(found - stated) / allowed
        worst = np.unravel_index(np.argmax(off), off.shape) if off.shape else ()
        self.rows.append(
            Row(
                topic,
                what,
                source.text,
                source.kind.name,
                source.package,
                int(stated.size),
                float(stated[worst]),
                float(found[worst]),
                unit,
                float(found[worst] - stated[worst]),
                float(np.broadcast_to(allowed, stated.shape)[worst]),
                why,
                self.test,
            )
        )
        assert off[worst] <= 1.0, (
            f"{what}: {found[worst]} {unit}, {source.text} states {stated[worst]}"
        )

    def finish(self) -> None:
        """Add the rows to the file that `HANGARC_OUTSIDE` names."""
        assert self.rows, "nothing was held against the outside"
        path = os.environ.get("HANGARC_OUTSIDE")
        if path:
            with Path(path).open("a", encoding="utf-8") as file:
                file.writelines(json.dumps(asdict(row)) + "\n" for row in self.rows)


def ran(distribution: str, how: str) -> Source:
    """A library that goes another way in the test, with the version that is installed."""
    return Source(how, Kind.LIBRARY, f"{distribution} {metadata.version(distribution)}")


def three_digits(values: Sequence[float]) -> np.ndarray[Any, Any]:
    """Half a unit of the third digit of each value, as a table printed to three digits leaves."""
    sizes = np.abs(np.asarray(values, float))
    return 0.5 * 10.0 ** (np.floor(np.log10(sizes)) - 2.0)
