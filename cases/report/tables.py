"""Tables of a report that sum up: what the run says, heat by surface, and the water ledger."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import pandas as pd

from stemwall.cases.inputs.display_units import Units, significant
from stemwall.cases.report import verdicts
from stemwall.cases.results.ledger_tables import SUM, Account, Shown
from stemwall.cases.results.variant import Variant
from stemwall.solver.assessment.criteria import Period


@dataclass(frozen=True)
class SummaryRow:
    """One variant in the summary: worst places, heat from indoors by season, balance closure."""

    name: str
    note: str
    worst: list[verdicts.Cell]
    heat: list[str]
    closure: str


def summary(variants: Sequence[Variant], accounts: Sequence[Account], period: Period, units: Units) -> list[SummaryRow]:
    """Return the summary of all variants; the criteria are those of `verdicts.FIRST`."""
    return [
        SummaryRow(
            variant.name,
            variant.text("variant_note", ""),
            [
                verdicts.short(verdicts.worst(variant, key, period), units, verdicts.why_not(variant, key, period))
                for key in verdicts.FIRST
            ],
            [account.heat.text(float(value)) for value in account.indoors()[[*account.seasons, SUM]]]
            if variant.complete
            else ["–"],
            f"{significant(variant.number('balance_heat_relative'), 2)} / "
            f"{significant(variant.number('balance_water_relative'), 2)}",
        )
        for variant, account in zip(variants, accounts, strict=True)
    ]


@dataclass
class Block:
    """What is of one kind in a ledger, and its sum."""

    name: str
    total: list[str]
    rows: list[tuple[str, list[str]]] = field(default_factory=list)


@dataclass(frozen=True)
class LedgerTable:
    """A ledger in words: blocks, what they come to, what no row explains, and the change of what is stored."""

    columns: list[str]
    blocks: list[Block]
    whole: list[str]
    error: list[str]
    change: list[str]
    inner: list[Block]


def ledger_table(shown: Shown) -> LedgerTable:
    """Return a ledger in words; blocks of nothing but zeros are left out."""
    columns = [str(name) for name in shown.rows.columns]
    error, change = (_texts(shown, row.reindex(columns)) for row in (shown.error, shown.change))
    inner = [] if shown.inner is None else _blocks(shown.inner)
    return LedgerTable(columns, _blocks(shown), _texts(shown, shown.whole), error, change, inner)


def _blocks(shown: Shown) -> list[Block]:
    """Return the groups of a ledger; what stands alone in its group and is named by it has no row of its own."""
    blocks = []
    for group, total in shown.groups.iterrows():
        if not total.any() and not shown.rows.loc[[group]].to_numpy().any():
            continue
        rows = [(str(name), _texts(shown, row)) for (key, name), row in shown.rows.iterrows() if key == group]
        alone = len(rows) == 1 and ": " in str(group)
        blocks.append(Block(str(group), _texts(shown, total), [] if alone else rows))
    return blocks


def _texts(shown: Shown, row: pd.Series) -> list[str]:
    return [shown.text(float(value)).replace("–", "") for value in row]
