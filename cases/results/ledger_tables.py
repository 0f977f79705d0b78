"""Ledgers as they are shown: numbers rounded so that rows and columns add up."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from stemwall.cases.inputs.display_units import Quantity, Units, number
from stemwall.cases.results import ledger as accounts
from stemwall.cases.results.ledger import REFUSED, WAYS, WITH_WATER, WITHOUT_WATER, Ledger
from stemwall.cases.results.rounding import add_up
from stemwall.cases.results.variant import Variant

Floats = NDArray[np.float64]

SUM, NET = "sum", "net"
#: weights by which rounding looks after the rows of a table: of surfaces, groups, and the whole
ROW, GROUP, WHOLE = 1.0, 3.0, 30.0


@dataclass(frozen=True)
class Shown:
    """A ledger in the unit of a report, every number as it is shown.

    ``groups`` has the index group, ``rows`` the index (group, name); ``whole`` is the sum of all rows, ``error`` the
    numerical error of the balance, ``change`` that of what is stored, the sum of both, in the columns that have one.
    ``inner`` is what passes from computed air into its faces, if there is any.
    """

    quantity: Quantity
    rows: pd.DataFrame
    groups: pd.DataFrame
    whole: pd.Series
    error: pd.Series
    change: pd.Series
    inner: Shown | None

    def text(self, value: float) -> str:
        """Return a number of this table as it is printed."""
        return number(value, self.quantity.digits)

    def of_groups(self, names: Sequence[str]) -> pd.Series:
        """Return the sum of some groups, by column."""
        return self.groups[self.groups.index.isin(list(names))].sum()


@dataclass(frozen=True)
class Account:
    """Heat and water of the last 12 months of a variant, or of a shorter run, as shown.

    Heat has a column for each season, for heat that moves without and with water, and `SUM`; water those of
    `ledger.WAYS`, `NET` and `ledger.REFUSED`, which is not part of the net.
    """

    name: str
    hours: int
    heat: Shown
    water: Shown
    given: tuple[str, ...]
    seasons: tuple[str, ...]

    def indoors(self) -> pd.Series:
        """Return the heat that all given indoor air gives to the section, by column."""
        return self.heat.of_groups([group for space in self.given for group in accounts.air_of(space)])


def account(variant: Variant, units: Units) -> Account:
    """Return the ledgers of a variant as they are shown."""
    halves = accounts.seasons(variant)
    parts = {half.name: accounts.ledger(variant.dataset, half.hours) for half in halves}
    whole = accounts.ledger(variant.dataset, accounts.last_year(variant))
    return Account(
        variant.name, int(accounts.last_year(variant).sum()), _heat(parts, whole, units["heat"]),
        _water(whole, units["water"]), tuple(accounts.given_spaces(variant.dataset)),
        tuple(parts),
    )  # fmt: skip


def _heat(parts: Mapping[str, Ledger], whole: Ledger, quantity: Quantity) -> Shown:
    relations = {SUM: 1.0, **dict.fromkeys(parts, -1.0)}, {SUM: 1.0, WITHOUT_WATER: -1.0, WITH_WATER: -1.0}

    def table(kind: str) -> pd.DataFrame:
        found = {name: getattr(part, kind)[[WITHOUT_WATER, WITH_WATER]].sum(axis=1) for name, part in parts.items()}
        ways = getattr(whole, kind)[[WITHOUT_WATER, WITH_WATER]]
        return pd.DataFrame({**found, **ways, SUM: ways.sum(axis=1)})

    error = {**{name: part.heat_error for name, part in parts.items()}, SUM: whole.heat_error}
    inner = shown(table("inner"), relations, {}, quantity) if len(whole.inner) else None
    return shown(table("rows"), relations, error, quantity, inner)


def _water(whole: Ledger, quantity: Quantity) -> Shown:
    relations = ({NET: 1.0, **{way: 1.0 if way.endswith("out") else -1.0 for way in WAYS}},)

    def table(rows: pd.DataFrame) -> pd.DataFrame:
        return rows[[*WAYS]].assign(**{NET: accounts.net(rows), REFUSED: rows[REFUSED]})

    inner = shown(table(whole.inner), relations, {}, quantity) if len(whole.inner) else None
    return shown(table(whole.rows), relations, {NET: whole.water_error}, quantity, inner)


def shown(
    rows: pd.DataFrame,
    relations: Sequence[Mapping[str, float]],
    error: Mapping[str, float],
    quantity: Quantity,
    inner: Shown | None = None,
) -> Shown:
    """Round a table; in every row of ``rows`` some ``relations`` among its columns are zero, and stay so."""
    columns = list(rows.columns)
    groups = rows.groupby(level="group", sort=False).sum()
    place = [groups.index.get_loc(group) for group in rows.index.get_level_values("group")]
    closing = [columns.index(name) for name in error]
    # what no row explains and what is stored stand below the sum of all rows
    whole, ends = rows.sum().to_numpy(), np.zeros((2, len(columns)))
    ends[0, closing] = list(error.values())
    ends[1, closing] = whole[closing] + ends[0, closing]
    first, last = len(rows), len(rows) + len(groups)
    number_of = np.arange((last + 3) * len(columns)).reshape(last + 3, len(columns))
    sums: list[dict[int, float]] = []

    def adds_up(total: int, terms: NDArray[np.int64]) -> None:
        sums.append({total: 1.0, **dict.fromkeys(terms.tolist(), -1.0)})

    for column in number_of.T:
        for g in range(len(groups)):
            adds_up(int(column[first + g]), column[:first][np.array(place) == g])
        adds_up(int(column[last]), column[first:last])
    for c in closing:
        adds_up(int(number_of[last + 2, c]), number_of[last : last + 2, c])
    for relation in relations:
        terms = {columns.index(name): sign for name, sign in relation.items()}
        related = [*range(first), *([last + 1] if set(terms) <= set(closing) else [])]
        sums += [{int(number_of[r, c]): sign for c, sign in terms.items()} for r in related]
    weights = np.repeat(np.repeat([ROW, GROUP, WHOLE], [first, len(groups), 3]), len(columns))
    cells = np.concatenate([rows.to_numpy(), groups.to_numpy(), whole[None], ends]) * float(quantity.factor)
    found = add_up(cells.ravel() * 10.0**quantity.digits, weights, sums) / 10.0**quantity.digits
    values = found.reshape(cells.shape)
    names = [columns[c] for c in closing]
    return Shown(
        quantity,
        pd.DataFrame(values[:first], index=rows.index, columns=columns),
        pd.DataFrame(values[first:last], index=groups.index, columns=columns),
        pd.Series(values[last], columns),
        pd.Series(values[last + 1, closing], names),
        pd.Series(values[last + 2, closing], names),
        inner,
    )
