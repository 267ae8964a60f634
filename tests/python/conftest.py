import sys
from pathlib import Path

import hangarc as ha
import matplotlib as mpl
import pytest

mpl.use("Agg")
sys.path.insert(0, str(Path(__file__).parent))


def pytest_configure(config: pytest.Config) -> None:
    config.addinivalue_line("markers", "alone: it measures time, so nothing else runs beside it")


@pytest.fixture(scope="session")
def demo_answer() -> ha.Answer:
    return ha.answer(ha.demo.study())
