"""Tables of a report that sum up: what the run says, heat by surface, and the water ledger."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import pandas as pd

from stemwall.cases import report_flows as flows
from stemwall.cases import report_verdicts as verdicts
from stemwall.cases.report_data import Variant
from stemwall.cases.report_units import Quantity, Units, significant
from stemwall.solver.criteria import Period


@dataclass(frozen=True)
class SummaryRow:
    """One variant in the summary: worst places, heat from indoors by season, balance closure."""

    name: str
    note: str
    worst: list[verdicts.Cell]
    heat: list[str]
    closure: str


def summary(variants: Sequence[Variant], period: Period, units: Units) -> list[SummaryRow]:
    """Return the summary of all variants; the criteria are those of `verdicts.FIRST`."""
    return [
        SummaryRow(
            variant.name,
            variant.text("variant_note", ""),
            [verdicts.short(verdicts.worst(variant, key, period), units) for key in verdicts.FIRST],
            [units["heat"].text(value) for value in flows.indoor_heat(variant)],
            f"{significant(variant.number('balance_heat_relative'), 2)} / "
            f"{significant(variant.number('balance_water_relative'), 2)}",
        )
        for variant in variants
    ]


@dataclass
class Block:
    """The surfaces of one climate in a table of flows, and their sum."""

    climate: str
    total: list[str]
    rows: list[tuple[str, list[str]]] = field(default_factory=list)


def heat_table(variant: Variant, units: Units) -> list[Block]:
    """Return heat into the section by climate and surface: colder and warmer half-year, total."""
    return _blocks(flows.heat(variant), units["heat"])


def water_table(variant: Variant, units: Units) -> tuple[list[Block], list[str], str]:
    """Return the water ledger by climate and surface, its sum, and the change in storage."""
    table = flows.water(variant)
    shown = units["water"]
    total = [shown.text(float(value)) for value in table.sum()]
    return _blocks(table, shown), total, shown.text(flows.storage_change(variant))


def _blocks(table: pd.DataFrame, shown: Quantity) -> list[Block]:
    blocks = []
    for climate, total in flows.by_climate(table).iterrows():
        block = Block(str(climate), [shown.text(float(value)) for value in total])
        for (key, surface), row in table.iterrows():
            if key == climate:
                block.rows.append((str(surface), [shown.text(float(value)) for value in row]))
        blocks.append(block)
    return blocks
