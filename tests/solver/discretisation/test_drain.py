"""Drains: they carry off what would stand above them, and nothing else."""

import numpy as np
import pytest

from stemwall.materials.reference import gardner_soil
from stemwall.solver.discretisation.mesh import build_mesh
from stemwall.solver.discretisation.network import Surface
from stemwall.solver.discretisation.network_builder import build_network
from stemwall.solver.forcing.boundary_conditions import DRAIN_CONTACT
from stemwall.solver.model.errors import SectionError
from stemwall.solver.model.section import Drain, Region, Section
from stemwall.solver.model.settings import Accuracy, MeshRule


def _column(*drains: Drain) -> Section:
    return Section(0, 0, 0.1, 2.0, (Region("soil", "soil", 0, 0, 0.1, 2.0),), drains=drains)


def _bench(start: float):
    from stemwall.cases.verification.rig import Bench

    def load(t: float, surface: Surface) -> dict[str, float]:
        return {"uptake": DRAIN_CONTACT} if surface.drain else {}

    return Bench(
        _column(Drain("perimeter", 0.0, 0.5, 0.1, 0.5)), {"soil": gardner_soil()}, [0, 0.1],
        np.linspace(0, 2, 41), load, suction=lambda x, y: 9810.0 * (y - start),
        accuracy=Accuracy(longest_step=6 * 3600.0),
    )  # fmt: skip


def test_a_water_table_above_a_drain_falls_to_it() -> None:
    bench = _bench(1.5)
    before = bench.water()
    bench.run_to(400 * 86400.0)
    n = bench.network
    table = float(np.interp(0.0, bench.suction[np.argsort(n.node_y)], np.sort(n.node_y)))
    assert table == pytest.approx(0.5, abs=0.02)
    assert before - bench.water() == pytest.approx(-bench.integrator.through[:, 2].sum(), rel=1e-5)


def test_a_dry_drain_takes_and_gives_nothing() -> None:
    bench = _bench(-1.0)
    bench.run_to(30 * 86400.0)
    assert bench.integrator.through[:, 2].sum() == 0.0


def test_a_drain_in_the_air_is_refused() -> None:
    section = _column(Drain("lost", 5.0, 0.0, 6.0, 1.0))
    with pytest.raises(SectionError, match="'lost'"):
        build_network(build_mesh(section, MeshRule(0.05, 1.5, 0.2, 2)))
