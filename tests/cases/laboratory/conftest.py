"""The commented sheets, evaluated once."""

from pathlib import Path

import pytest

from stemwall.cases.laboratory.evaluate import evaluate_sheet
from stemwall.cases.laboratory.evaluation import Evaluation
from stemwall.cases.laboratory.read_sheet import parse_sheet
from stemwall.cases.laboratory.starter_sheet import starter_sheet


def _evaluated(name: str) -> Evaluation:
    text = starter_sheet(name).replace('name = "', 'draws = 200\nname = "', 1)
    return evaluate_sheet(parse_sheet(text, Path(f"{name}.toml")))


@pytest.fixture(scope="session")
def brick() -> Evaluation:
    """The sheet of a solid."""
    return _evaluated("sheet")


@pytest.fixture(scope="session")
def soil() -> Evaluation:
    """The sheet of a soil."""
    return _evaluated("soil-sheet")


@pytest.fixture(scope="session")
def membrane() -> Evaluation:
    """The sheet of a membrane."""
    return _evaluated("membrane-sheet")
