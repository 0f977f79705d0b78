"""Twenty noisy sheets of known materials: the true curves lie inside the 90 % bands of at least seventeen."""

from collections import Counter

import numpy as np
import pytest

from stemwall.cases.laboratory.evaluate import evaluate_sheet
from stemwall.cases.laboratory.figures import heat_band, storage_band, vapour_band
from stemwall.materials.water import suction_from_humidity
from tests.cases.laboratory.synthetic import HUMIDITY, MOISTURES, PLATES, SOIL_SUCTIONS, Truth, read, soil

SHEETS, LEAST = 20, 17
#: of the numbers of specimens; chosen once, before the first run
FIRST_SEED = 101


@pytest.mark.slow
def test_true_curves_lie_inside_the_bands() -> None:
    held: Counter[str] = Counter()
    suction = np.geomspace(PLATES.min(), suction_from_humidity(HUMIDITY.min()), 150)
    humidity = np.linspace(0.0, 0.93, 60)
    water = np.linspace(0.0, MOISTURES.max(), 40)
    for seed in range(FIRST_SEED, FIRST_SEED + SHEETS):
        rng = np.random.default_rng(seed)
        truth = Truth.drawn(rng)
        found = evaluate_sheet(read(truth.sheet(rng)))
        assert found.liquid is not None
        low, high = np.quantile(found.liquid.draws, [0.05, 0.95])
        held["storage"] += storage_band(found, suction).holds(truth.content(suction))
        held["vapour"] += vapour_band(found, humidity).holds(truth.permeability(humidity))
        held["conductivity"] += heat_band(found, water).holds(truth.conductivity(water))
        held["uptake"] += bool(low <= truth.absorption <= high)
        curve, text = soil(rng)
        retained = np.geomspace(SOIL_SUCTIONS.min(), SOIL_SUCTIONS.max(), 100)
        held["retention"] += storage_band(evaluate_sheet(read(text)), retained).holds(curve.content(retained))
    assert all(count >= LEAST for count in held.values()), held
