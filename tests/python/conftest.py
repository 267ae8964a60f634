import sys
from pathlib import Path

import hangarc as ha
import matplotlib as mpl
import pytest

mpl.use("Agg")
sys.path.insert(0, str(Path(__file__).parent))


@pytest.fixture(scope="session")
def demo_answer() -> ha.Answer:
    return ha.answer(ha.demo.study())
