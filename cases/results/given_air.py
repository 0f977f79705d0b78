"""What given indoor air had to take up and to give: it stays as stated whatever that is, so the report says."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from stemwall.cases.inputs.display_units import Units, number
from stemwall.cases.results import ledger
from stemwall.cases.results.ledger import WITHOUT_WATER
from stemwall.cases.results.ledger_tables import NET, Account

Floats = NDArray[np.float64]
Kind = Literal["water", "heat"]

#: by how much variants may differ in a year before the report warns: water [kg/m], heat [kWh/m]; a plain choice, no
#: source: about 1 g/m3 in a tight space of 4 m2 per metre, and 2 K over 4 m of floor
MARKED: dict[Kind, float] = {"water": 3.0, "heat": 20.0}
#: given air that is heated, cooled and ventilated as a matter of course: differences there are a result, not a flaw
CONDITIONED = "house"
_VERBS: dict[Kind, str] = {"water": "took up", "heat": "gave"}
_WORDS: dict[Kind, str] = {
    "water": "In truth it would become damper where it takes up more",
    "heat": "Unless something heats and cools it, it would become colder where it gives more",
}


@dataclass(frozen=True)
class GivenAir:
    """What the air of a space took up and gave in each variant, as shown, and what to warn of."""

    space: str
    water: list[str]
    heat: list[str]
    warnings: list[str]


def given_air(accounts: Sequence[Account], units: Units) -> list[GivenAir]:
    """Return what given air had to take up and to give, for every indoor space in which some variant gives it.

    Water that the air took away from the section and from computed air, and heat that it gave to them by conduction,
    radiation and dry air, over the hours of the accounts: what vapour carries does not cool the air that it leaves or
    enters.  Where variants differ by more than `MARKED`, in proportion for less than a year, a warning says
    so; `CONDITIONED` air is left out.
    """
    found = []
    for space in dict.fromkeys(space for account in accounts for space in account.given):
        groups = ledger.air_of(space)
        has = np.array([space in account.given for account in accounts])
        water = np.array([-float(account.water.of_groups(groups)[NET]) for account in accounts])
        heat = np.array([float(account.heat.of_groups(groups)[WITHOUT_WATER]) for account in accounts])
        amounts: dict[Kind, Floats] = {"water": np.where(has, water, np.nan), "heat": np.where(has, heat, np.nan)}
        texts = {kind: [number(value, units[kind].digits) for value in values] for kind, values in amounts.items()}
        told = [_warning(space, kind, values, texts[kind], accounts, units) for kind, values in amounts.items()]
        warnings = [words for words in told if words] if space != CONDITIONED else []
        found.append(GivenAir(space, texts["water"], texts["heat"], warnings))
    return found


def _warning(
    space: str, kind: Kind, values: Floats, texts: Sequence[str], accounts: Sequence[Account], units: Units
) -> str:
    """Say between which variants what given air took up or gave differs most, if that is marked."""
    least, most = int(np.nanargmin(values)), int(np.nanargmax(values))
    years = min(account.hours for account in accounts) / 8760.0
    if values[most] - values[least] <= float(units[kind].of(MARKED[kind] * years)):
        return ""
    return (
        f"The air of {space} is given and {_VERBS[kind]} {texts[least]} {units[kind].unit} of {kind} in "
        f"{accounts[least].name}, {texts[most]} in {accounts[most].name}. {_WORDS[kind]}; here it stays as stated, and "
        "what differs at the places judged is not the whole difference."
    )
