"""Criteria: the limits that a place in the section is judged by, each with its source.

A criterion is data: a quantity, a limit, on which side of it to be, where the
number comes from and what it was written for.  Most were written for parts
above grade and for other methods of calculation; below grade they are
borrowed, and a verdict says so.  Holding a limit is one statement about one
quantity at one place, and nothing more.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Literal, get_args

import numpy as np

from stemwall.solver.model.section import ProbeKind

Sense = Literal["<", "<=", ">="]
Period = Literal["whole run", "last 12 months"]
Basis = Literal["place", "piece"]

#: Unit of criteria on the moisture of wood.
MOISTURE = "% dry mass"
#: What a value is of, in words.
BASES: dict[Basis, str] = {"place": "at the place itself", "piece": "mean of the piece"}

#: What can lie at a probe.
KINDS: tuple[str, ...] = get_args(ProbeKind)
_FACES = ("wood", "interface", "surface", "insulation")

_FIELD_SUMMARY = "wood scientist's summary of extension-service and US forest-laboratory field work (second-hand)"
_OF_PIECE = "read as the mean of the piece, since wood is metered or weighed so (own reading)"
_WET_GROUND = "a face against moist ground is near 100 % by nature, which is no damage in itself"


@dataclass(frozen=True)
class Criterion:
    """One limit on one quantity.

    Parameters
    ----------
    id : str
        Stable key: lower-case words joined by hyphens.
    quantity, unit : str
        What is compared with `limit`, and the unit of both.
    sense : {"<", "<=", ">="}
        The relation of value to limit that holds.
    source : str
        Where the number comes from, and how far that was checked.
    scope : str
        What it was written for, and what to keep in mind here.
    borrowed : bool
        Whether use below grade is outside the scope of the source.
    kinds : tuple of str
        Kinds of probe that it speaks about, see `KINDS`.
    basis : {"place", "piece"}
        Whether the water content at the place is judged, or the mean of the piece of wood that it is on.
    optional : bool
        Judged only on request.
    needs : str
        What it takes to have something to judge.
    """

    id: str
    name: str
    quantity: str
    unit: str
    limit: float
    sense: Sense
    source: str
    scope: str
    borrowed: bool
    kinds: tuple[str, ...]
    basis: Basis = "place"
    optional: bool = False
    needs: str = "a series as long as the averaging time"


@dataclass(frozen=True)
class Verdict:
    """A criterion applied to a place over a period.

    Parameters
    ----------
    value : float
        Least favourable value in the period; nan if there was nothing to judge.
    when : datetime or None
        Time stamp of that value.
    variant : str
        What the value was computed for where there are several, e.g. a mould class.
    carry_over : bool or None
        Whether the quantity ended higher than a year before; None where that is not asked.
    borrowed : bool
        Whether the criterion is used outside the scope of its source.
    beside : float
        The same on the criterion's other basis, which is not judged: at the place itself where the piece is, and the
        other way round; nan where that is not known or not asked.
    incomplete : bool
        Whether the run stopped before its end: the value is that until then, and nothing is judged by it.
    """

    criterion: Criterion
    place: str
    period: Period
    value: float
    when: datetime | None
    variant: str = ""
    carry_over: bool | None = None
    borrowed: bool = False
    note: str = ""
    beside: float = np.nan
    incomplete: bool = False

    @property
    def limit(self) -> float:
        """Limit of the criterion, in its unit."""
        return self.criterion.limit

    @property
    def margin(self) -> float:
        """Distance from value to limit, positive on the side that holds."""
        return self.value - self.limit if self.criterion.sense == ">=" else self.limit - self.value

    @property
    def holds(self) -> bool | None:
        """Whether the value keeps the limit; None if there was nothing to judge, or the run did not reach its end."""
        if np.isnan(self.value) or self.incomplete:
            return None
        return self.margin > 0.0 if self.criterion.sense == "<" else self.margin >= 0.0


_ALL = (
    Criterion(
        "mould-index",
        "mould index", "largest mould index", "1", 3.0, "<",
        "ANSI/ASHRAE 160-2016 addendum e (limit from memory, to be checked); "
        "model: Ojanen et al. 2010, Buildings XI",
        "index 3 is growth visible to the eye; scope wording for parts below grade to be checked; "
        "the class of a soiled surface is one more sensitive",
        borrowed=True, kinds=(*_FACES, "concrete"),
        needs="a mould class",
    ),
    Criterion(
        "surface-humidity-30-day",
        "30-day surface humidity", "30-day running mean RH", "1", 0.80, "<",
        "ASHRAE 160-2009, superseded by the mould index (abstract of ASTM STP 1599 paper, 2017)",
        f"screening only, known to be severe on assemblies that work; {_WET_GROUND}",
        borrowed=True, kinds=_FACES,
        needs="a 30-day mean temperature within 5 to 40 degC",
    ),
    Criterion(
        "surface-humidity-7-day",
        "7-day surface humidity", "7-day running mean RH", "1", 0.98, "<",
        "early edition of ASHRAE 160 (from memory, to be checked)",
        "companion of the superseded 30-day rule; at 5 to 40 degC",
        borrowed=True, kinds=_FACES, optional=True,
        needs="a 7-day mean temperature within 5 to 40 degC",
    ),
    Criterion(
        "surface-humidity-24-hour",
        "24-hour surface humidity", "24-hour running mean RH", "1", 1.0, "<",
        "early edition of ASHRAE 160 (from memory, to be checked)",
        "companion of the superseded 30-day rule; at 5 to 40 degC; a computed pore humidity comes close "
        "to 1 without reaching it",
        borrowed=True, kinds=_FACES, optional=True,
        needs="a 24-hour mean temperature within 5 to 40 degC",
    ),
    Criterion(
        "surface-humidity-monthly",
        "monthly surface humidity", "monthly mean RH", "1", 0.80, "<",
        "ISO 13788:2012 (monthly form from memory, to be checked; limit read in BS 5250, annex on ISO 13788)",
        "room-side surfaces, steady monthly method above grade; complete calendar months",
        borrowed=True, kinds=("surface",),
        needs="a complete calendar month",
    ),
    Criterion(
        "corrosion-humidity-30-day",
        "corrosion, 30-day humidity", "30-day running mean RH", "1", 0.80, "<",
        "ASHRAE 160 (from memory, to be checked)",
        "steel parts; treated wood also asks for less than 18 to 20 % moisture (second-hand)",
        borrowed=True, kinds=("wood", "interface", "surface"), optional=True,
    ),
    Criterion(
        "corrosion-humidity-monthly",
        "corrosion, monthly humidity", "monthly mean RH", "1", 0.60, "<",
        "ISO 13788 (from memory, to be checked)",
        "steel parts at room-side surfaces; complete calendar months",
        borrowed=True, kinds=("surface", "interface"), optional=True,
        needs="a complete calendar month",
    ),
    Criterion(
        "wood-moisture-piece",
        "wood moisture of the piece", "largest moisture content", MOISTURE, 20.0, "<",
        _FIELD_SUMMARY, f"untreated wood; mould is seen from 15 to 18 %; {_OF_PIECE}",
        borrowed=False, kinds=("wood",), basis="piece",
        needs="the dry density and the mean of the piece",
    ),
    Criterion(
        "wood-fibre-saturation",
        "wood near fibre saturation", "largest moisture content", MOISTURE, 26.0, "<",
        "lower edge of fibre saturation, 26 to 30 % (common practice, no source)",
        "decay needs about fibre saturation to start, where the wood is wettest",
        borrowed=False, kinds=("wood",), needs="the dry density",
    ),
    Criterion(
        "wood-closing-in",
        "wood before closing in", "moisture content at the end", MOISTURE, 15.0, "<=",
        "North Dakota State University extension, flood recovery",
        f"framing after a flood, end of the period; {_OF_PIECE}",
        borrowed=False, kinds=("wood",), basis="piece", optional=True,
        needs="the dry density and the mean of the piece",
    ),
    Criterion(
        "wood-closing-in-wider",
        "wood before closing in, wider", "moisture content at the end", MOISTURE, 20.0, "<",
        "Iowa State University extension, flood recovery",
        f"framing after a flood, end of the period; {_OF_PIECE}",
        borrowed=False, kinds=("wood",), basis="piece", optional=True,
        needs="the dry density and the mean of the piece",
    ),
    Criterion(
        "subfloor-before-flooring",
        "subfloor before wood flooring", "largest moisture content", MOISTURE, 12.0, "<=",
        "builders' trade press on cupped floors (second-hand)", f"wood subfloors on the day of laying; {_OF_PIECE}",
        borrowed=False, kinds=("wood",), basis="piece", optional=True,
        needs="the dry density and the mean of the piece",
    ),
    Criterion(
        "moisture-rise-solid-wood",
        "moisture rise of solid wood", "largest rise within 12 months", MOISTURE, 5.0, "<=",
        "DIN 4108-3 (three secondary pages)",
        "rise by condensation in a steady diffusion method, by mass and so of the whole part; here from every cause",
        borrowed=True, kinds=("wood",), basis="piece", optional=True,
        needs="the dry density and the mean of the piece",
    ),
    Criterion(
        "moisture-rise-wood-board",
        "moisture rise of wood-based board", "largest rise within 12 months", MOISTURE, 3.0, "<=",
        "DIN 4108-3 (three secondary pages)",
        "rise by condensation in a steady diffusion method, by mass and so of the whole part; here from every cause",
        borrowed=True, kinds=("wood",), basis="piece", optional=True,
        needs="the dry density and the mean of the piece",
    ),
    Criterion(
        "crawlspace-air",
        "crawlspace air", "30-day running mean RH", "1", 0.70, "<",
        "trade line for sealed crawlspaces (second-hand); averaging time: own choice",
        "air of a sealed crawlspace", borrowed=False, kinds=("air",),
    ),
    Criterion(
        "crawlspace-air-wider",
        "crawlspace air, wider", "30-day running mean RH", "1", 0.75, "<",
        "Nordic crawlspace guidance (second-hand); averaging time: own choice",
        "air of a crawlspace", borrowed=False, kinds=("air",),
    ),
    Criterion(
        "slab-before-flooring",
        "slab before flooring", "largest pore RH", "1", 0.75, "<=",
        "ASTM F710 and F2170 by way of meter-maker pages (second-hand); floor makers ask 75 to 90 %",
        "in the slab at 40 % of its depth when it dries to one side (depth from memory, to be checked)",
        borrowed=False, kinds=("concrete",), optional=True,
    ),
    Criterion(
        "frost-bearing-soil",
        "frost at the bearing soil", "lowest temperature", "degC", 0.0, ">=",
        "ISO 13793:2001, 0 degC criterion (excerpt of annex)",
        "soil under a footing, coldest winter in the run; a numerical calculation is wanted where the soil "
        "differs from that of the standard",
        borrowed=False, kinds=("footing",),
    ),
    Criterion(
        "liquid-ground-contact",
        "liquid at a face in ground contact", "24-hour running mean RH", "1", 0.999, "<",
        "own choice, no source: by Kelvin and Laplace pores up to 1 micrometre are full at 99.9 %, and liquid that can "
        "run or drip is next",
        "concrete, soil and closed-cell foam only, shut off from room air: near 100 % by nature, which is no damage in "
        "itself, and nothing there for mould to live on; whether vapour driven from there wets wood is judged there",
        borrowed=False, kinds=("ground contact",),
    ),
    Criterion(
        "mould-germination-line",
        "lowest germination line", "largest RH above the line", "1", 0.0, "<=",
        "isoline fit in Zeng et al. 2023, doi 10.1177/01436244221137846 (from an open research package)",
        f"hourly, without history: above the line time decides, see the mould index; 0 to 30 degC; {_WET_GROUND}",
        borrowed=True, kinds=_FACES, needs="hours above 0 degC",
    ),
    Criterion(
        "mould-monthly-line",
        "monthly mould line", "largest 30-day mean RH above the line", "1", 0.0, "<=",
        "IEA Annex 14, 1990 (formula from memory, to be checked)",
        "room-side surfaces, 5 to 25 degC; 30-day running means here instead of calendar months",
        borrowed=True, kinds=("surface",), needs="a 30-day mean temperature within 5 to 25 degC",
    ),
    Criterion(
        "decay-onset",
        "onset of decay", "largest activation", "1", 1.0, "<",
        "Viitanen et al. 2010, Eur. J. Wood Prod. 68 (equations from memory, to be checked)",
        "pine sapwood in air; at 1 mass loss begins",
        borrowed=True, kinds=("wood",),
    ),
)  # fmt: skip

#: Criteria by id.
CRITERIA = {criterion.id: criterion for criterion in _ALL}


def other_basis(basis: Basis) -> Basis:
    """Return what is not judged where this is."""
    return "place" if basis == "piece" else "piece"


def applicable(kind: str, *, optional: bool = False) -> list[Criterion]:
    """Criteria that speak about a kind of probe, the optional ones on request.

    Raises
    ------
    ValueError
        For an unknown kind; the message lists the known ones.
    """
    if kind not in KINDS:
        raise ValueError(f"unknown kind of probe {kind!r}; known: {', '.join(KINDS)}")
    return [row for row in _ALL if kind in row.kinds and (optional or not row.optional)]
