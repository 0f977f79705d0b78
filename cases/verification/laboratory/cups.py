"""Laboratory: every cup test of the catalogue, marched until vapour and liquid flow steadily."""

from __future__ import annotations

from collections.abc import Iterator

from stemwall.cases.verification.comparison import RELATIVE, Comparison, compare
from stemwall.cases.verification.laboratory.specimens import DEPTH, specimen
from stemwall.materials.catalogue import catalogue
from stemwall.materials.definition import parse
from stemwall.materials.entries import entries, membrane_keys
from stemwall.materials.schema import MaterialSpec
from stemwall.materials.schema_moisture import CupsSpec, MuSpec
from stemwall.materials.vapour import DRY_CUP, WET_CUP
from stemwall.materials.water import saturation_pressure, still_air_permeability

#: thickness of the specimens [m]
THICKNESS = 0.02
#: humidity of the dry side of a dry cup: a desiccant is not quite dry
DRIEST = 0.005
#: a resistance factor above which a specimen is tight and the test tells nothing
TIGHT = 5e3

#: material, lower and upper relative humidity, temperature [degC], resistance factor
Cup = tuple[str, float, float, float, float]


def stated_cups() -> Iterator[Cup]:
    """Yield every cup test that an entry states, a constant factor as the dry one."""
    for key in entries():
        if key in membrane_keys():
            continue
        spec = parse(MaterialSpec, key, entries()[key])
        law = spec.vapour
        if isinstance(law, MuSpec) and law.mu < TIGHT and spec.hatch != "air":
            yield key, *DRY_CUP, 23.0, law.mu
        elif isinstance(law, CupsSpec) and law.mu_dry is not None and law.mu_wet is not None:
            yield key, *DRY_CUP, 23.0, law.mu_dry
            yield key, *WET_CUP, 23.0, law.mu_wet
        elif isinstance(law, CupsSpec):
            yield from ((key, c.low, c.high, c.temperature, c.mu) for c in law.cups if c.mu is not None)


def marched_factor(cup: Cup) -> float:
    """Resistance factor of a specimen whose flow is steady: of what leaves it on the dry side."""
    key, low, high, temperature, _ = cup
    low = max(low, DRIEST)
    bench, time = specimen(catalogue().material(key), THICKNESS, (high, low), 0.5 * (low + high), temperature)
    bench.run_to(time)
    before = bench.entered[1, 1:].sum()
    bench.run_to(1.1 * time)
    flow = -float(bench.entered[1, 1:].sum() - before) / (0.1 * time * DEPTH)
    pressure = (high - low) * float(saturation_pressure(temperature))
    return float(still_air_permeability(temperature)) * pressure / (flow * THICKNESS)


def cup_tests() -> list[Comparison]:
    """Cup tests, EN ISO 12572: specimens of 20 mm between two humidities, at the temperature of the test.

    Vapour and liquid flow together, by the law of lasting contact where a material has two; the resistance factor is
    that of what leaves the specimen once nothing changes.
    """
    cups = list(stated_cups())
    found = [marched_factor(cup) for cup in cups]
    names = tuple(f"{key}, {low:.0%} to {high:.0%}" for key, low, high, _, _ in cups)
    return [
        compare(
            "Cup tests of the catalogue", "what each entry states", "resistance factor", range(1, len(cups) + 1),
            found, [cup[-1] for cup in cups], 0.05, RELATIVE, axis="cup", labels=names,
        )
    ]  # fmt: skip
