"""Air drawn through the ground: the closed form of a space that it flows into, and its direction."""

from pathlib import Path

import numpy as np
import pytest

from stemwall.solver.discretisation.air_zones import with_zones
from stemwall.solver.discretisation.mesh import build_mesh
from stemwall.solver.discretisation.network_builder import build_network
from stemwall.solver.forcing.soil_air import ground
from stemwall.solver.model.air_zone import Zone
from stemwall.solver.model.errors import SectionError
from stemwall.solver.model.section import Opening, Region, Section
from stemwall.solver.model.settings import MeshRule
from stemwall.weather.moistair import saturation_pressure
from tests.solver.forcing.test_air_zones import BETA, HEIGHT, HOURS, WIDTH, run, zone


def drawn(air_changes: float) -> np.ndarray:
    return np.full(HOURS, air_changes * HEIGHT * WIDTH / 3600.0)


def test_it_comes_saturated_at_the_temperature_of_the_ground(tmp_path: Path) -> None:
    """p = (c p_e + (g + b) p_sat)/(c + g + b): outdoor air, ground air, and the film over saturated ground."""
    result = run(tmp_path / "r.nc", zone(1.0, ground_air=drawn(0.5)))
    per_change = HEIGHT / (3600.0 * 461.5 * 285.15)
    saturated = float(saturation_pressure(12.0))
    expected = (per_change * 1000.0 + (0.5 * per_change + BETA) * saturated) / (1.5 * per_change + BETA) / saturated
    found = float(result["climate_relative_humidity"].sel(climate="crawlspace")[-1])
    assert found == pytest.approx(expected, abs=3e-3)  # the ground cools by some hundredths of a kelvin
    assert result.attrs["balance_water_relative"] < 1e-6
    assert result.attrs["balance_heat_relative"] < 1e-6
    names = [str(name) for name in result["surface"].values]
    assert any("make-up through the ground" in name for name in names)


def test_exhaust_that_draws_on_the_ground_leaves_the_space_damper(tmp_path: Path) -> None:
    """Extract fans gave a higher humidity than supply fans (Kurnitski 2000, abstract)."""
    supply = run(tmp_path / "s.nc", zone(1.5))
    extract = run(tmp_path / "e.nc", zone(1.0, ground_air=drawn(0.5)))
    damp, dry = (r["climate_relative_humidity"].sel(climate="crawlspace") for r in (extract, supply))
    assert float(damp[-1]) > float(dry[-1]) + 0.01  # by the closed form above 0.011


def _network(*openings: Opening):
    section = Section(0, -0.1, 1, 1, (Region("soil", "soil", 0, -0.1, 1, 1), *openings))
    return build_network(build_mesh(section, MeshRule(0.1, 1.5, 0.2, 1)))


def test_the_ground_is_the_lowest_that_looks_up() -> None:
    network = _network(Opening("low", "space", 0, 0, 0.6, 0.9), Opening("ledge", "space", 0.6, 0.3, 1, 0.9))
    zoned = with_zones(network, (Zone("space"),), 0)
    nodes, widths = ground(zoned.network, "space")
    np.testing.assert_allclose(zoned.network.node_y[nodes], 0.0)
    assert widths.sum() == pytest.approx(0.6)


def test_a_space_without_a_floor_is_refused() -> None:
    zoned = with_zones(_network(Opening("low", "space", 0, -0.1, 1, 0.9)), (Zone("space"),), 0)
    with pytest.raises(SectionError, match="looks up"):
        ground(zoned.network, "space")
