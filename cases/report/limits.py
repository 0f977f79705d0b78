"""Values and limits of criteria as a page writes them: unit, digits, sign, and their texts in words."""

from __future__ import annotations

import numpy as np

from stemwall.cases.inputs.display_units import Quantity, Units, number
from stemwall.solver.assessment.criteria import BASES, MOISTURE, Criterion

SIGNS = {"<": "<", "<=": "≤", ">=": "≥"}


def limit_text(criterion: Criterion, units: Units) -> str:
    """Return the limit of a criterion as it is shown, with its sign and unit."""
    shown = quantity_of(criterion, units)
    value = value_in(criterion.limit, criterion, shown)
    return f"{SIGNS[criterion.sense]} {value} {unit_in(criterion, shown)}".strip()


def limit_and_basis(criterion: Criterion, units: Units) -> str:
    """Return the limit and, for wood, what it is held against."""
    return ", ".join(filter(None, (limit_text(criterion, units), basis_text(criterion))))


def basis_text(criterion: Criterion) -> str:
    """Return which water content of wood is judged; empty for criteria on anything else."""
    return BASES[criterion.basis] if criterion.unit == MOISTURE else ""


def unit_text(criterion: Criterion, units: Units) -> str:
    """Return the unit in which values of a criterion are shown."""
    return unit_in(criterion, quantity_of(criterion, units))


def in_words(text: str) -> str:
    """Return a text of a criterion with units as they are printed."""
    return text.replace("degC", "°C")


def _is_humidity(criterion: Criterion) -> bool:
    return criterion.unit == "1" and "RH" in criterion.quantity


def quantity_of(criterion: Criterion, units: Units) -> Quantity:
    """Return how values of a criterion are shown: their quantity, with unit and digits."""
    quantity = units.criterion(criterion.unit)
    return Quantity("% RH", digits=1) if _is_humidity(criterion) else quantity


def unit_in(criterion: Criterion, shown: Quantity) -> str:
    """Return the unit that stands behind a value."""
    return "% RH" if _is_humidity(criterion) else shown.unit


def decimals(criterion: Criterion) -> int:
    """Return with how many digits values of a criterion are shown as a rule."""
    return 1 if _is_humidity(criterion) or criterion.unit != "1" else 2


def telling(margin: float, digits: int) -> int:
    """Return as many digits as show on which side of its limit a value is; four at most."""
    while digits < 4 and margin and not round(margin, digits):
        digits += 1
    return digits


def scaled(value: float, criterion: Criterion, shown: Quantity) -> np.ndarray[tuple[int, ...], np.dtype[np.float64]]:
    """Return a value of a criterion in the unit in which it is shown."""
    return np.asarray(value * 100.0) if _is_humidity(criterion) else shown.of(value)


def value_in(value: float, criterion: Criterion, shown: Quantity) -> str:
    """Return a value of a criterion as text, without its unit."""
    return number(float(scaled(value, criterion, shown)), decimals(criterion))
