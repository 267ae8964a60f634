import sys
from collections.abc import Iterator
from pathlib import Path

import hangarc as ha
import matplotlib as mpl
import pytest

mpl.use("Agg")
sys.path.insert(0, str(Path(__file__).parent))

from outside import Outside


def pytest_configure(config: pytest.Config) -> None:
    config.addinivalue_line("markers", "alone: it measures time, so nothing else runs beside it")
    config.addinivalue_line("markers", "outside: it holds a figure against a source from outside")


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    for item in items:
        if "outside" in getattr(item, "fixturenames", ()):
            item.add_marker("outside")


@pytest.fixture(scope="session")
def demo_answer() -> ha.Answer:
    return ha.answer(ha.demo.study())


@pytest.fixture
def outside(request: pytest.FixtureRequest) -> Iterator[Outside]:
    """Holds figures against a source from outside; a test that takes it checks at least one."""
    held = Outside(request.node.nodeid)
    yield held
    held.finish()
