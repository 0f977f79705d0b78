"""A soil from its texture and density, by a pedotransfer function.

References
----------
.. [1] Zhang, Y., Schaap, M. G. (2017), Weighted recalibration of the Rosetta pedotransfer model with improved
   estimates of hydraulic parameter distributions and summary statistics (Rosetta3), J. Hydrol. 547, 39-53 (from
   memory, to be checked); coefficients as published by the US Department of Agriculture in rosetta-soil (CC0-1.0).
.. [2] Peters-Lidard et al. (1998), J. Atmos. Sci. 55, Table 2: quartz by texture class, about the share of sand.
.. [3] Cote, J., Konrad, J.-M. (2005), Can. Geotech. J. 42, 443-458: chi and eta of mineral soils, kappa of sands
   (medium and fine, 3.55) and of silty and clayey soils (1.9).
"""

from functools import cache
from typing import Any

import numpy as np
from pydantic import model_validator

from stemwall.materials.kinds import Percent, Share, SoilDensity
from stemwall.materials.schema_common import Spec
from stemwall.materials.water import FloatArray

SOLID_DENSITY = 2650.0
"""Density of mineral grains [kg/m3] (quartz; common practice)."""
FIELD_CAPACITY_HEAD = 336.5
"""33 kPa as a head [cm]."""
SANDY = 50.0
"""Share of sand from which a soil conducts heat as sands do [%]."""


class TextureSpec(Spec):
    """Shares of sand, silt and clay [mass-%], dry density [kg/m3], and place in the spread of the estimate [-].

    ``rank`` is the share of the estimates in the ensemble of the pedotransfer function that hold less water
    at 33 kPa than the one taken; without it the mean of all is taken.
    """

    sand: Percent
    silt: Percent
    clay: Percent
    density: SoilDensity = 1500.0
    rank: Share | None = None

    @model_validator(mode="after")
    def _whole(self) -> "TextureSpec":
        total = self.sand + self.silt + self.clay
        if not 99.0 <= total <= 101.0:
            raise ValueError(f"sand, silt and clay that add up to 100 %, not {total:g} %")
        return self


def soil_of_texture(texture: TextureSpec) -> dict[str, Any]:
    """Written form of a soil, as in a catalogue file.

    Retention and saturated conductivity of the pedotransfer function [1]_, quartz as much as sand [2]_,
    conductivity of heat [3]_.  Unsaturated soil conducts by Mualem's law from the saturated conductivity: more than
    the matrix between coarse pores would, by up to ten times at a metre of suction.
    """
    given = (texture.sand, texture.silt, texture.clay, texture.density / 1000.0)
    retention, saturated = _ensemble(*given)
    if texture.rank is None:
        one, flow = retention.mean(axis=0), float(saturated.mean())
    else:
        order = np.argsort(_field_capacity(retention))
        chosen = order[min(int(texture.rank * order.size), order.size - 1)]
        one, flow = retention[chosen], float(saturated[chosen])
    theta_r, theta_s, log_alpha, log_n = (float(value) for value in one)
    of = {"source": "ROSETTA3", "confidence": "computed"}
    low, high = np.percentile(_field_capacity(retention), [5.0, 95.0])
    return {
        "name": f"Soil of {texture.sand:g} % sand, {texture.silt:g} % silt, {texture.clay:g} % clay",
        "group": "soil",
        "hatch": "sand" if texture.sand >= 85.0 else "soil",
        "density": {"value": texture.density, "source": "ROSETTA3", "confidence": "computed"},
        "specific_heat": {"value": 730.0, "source": "ESTIMATE", "confidence": "estimate"},
        # clays are estimated to hold a little more than grains of this density leave room for
        "porosity": {"value": round(max(1.0 - texture.density / SOLID_DENSITY, theta_s), 4), **of},
        "storage": {
            "kind": "van-genuchten", "theta_r": round(theta_r, 4), "theta_s": round(theta_s, 4),
            "alpha": float(f"{100.0 * 10.0**log_alpha:.4g}"), "n": round(10.0**log_n, 4), **of,
            "note": f"Water at 33 kPa within {low:.3f} to {high:.3f} m3/m3 in 90 % of the ensemble; single soils "
            "scatter by some 0.06 more (from memory, to be checked).",
        },
        "liquid": {"kind": "mualem", "saturated": float(f"{10.0**flow / 100.0 / 86400.0:.4g}"), **of},
        "vapour": {"kind": "millington-quirk", "source": "DERIVED", "confidence": "memory"},
        "conductivity": {
            "kind": "soil", "quartz": round(texture.sand / 100.0, 3), "chi": 0.75, "eta": 1.2,
            "kappa": 3.55 if texture.sand >= SANDY else 1.9, "kappa_frozen": 0.95 if texture.sand >= SANDY else 0.85,
            "source": "CK05", "confidence": "read-secondary",
        },
        "surface": {"absorptance": 0.75, "emissivity": 0.92, "source": "ESTIMATE", "confidence": "estimate"},
    }  # fmt: skip


def _field_capacity(retention: FloatArray) -> FloatArray:
    """Water at 33 kPa [m3/m3] of parameter sets (sets, 4)."""
    theta_r, theta_s, log_alpha, log_n = retention.T
    n = 10.0**log_n
    filling = (1.0 + (10.0**log_alpha * FIELD_CAPACITY_HEAD) ** n) ** -(1.0 - 1.0 / n)
    return np.asarray(theta_r + (theta_s - theta_r) * filling)


@cache
def _ensemble(sand: float, silt: float, clay: float, density: float) -> tuple[FloatArray, FloatArray]:
    """Parameter sets theta_r, theta_s, log10 alpha [1/cm], log10 n (sets, 4), and log10 K_s [cm/d] (sets,)."""
    from rosetta import Rosetta

    retention, saturated = Rosetta(3, 3).predict(np.array([[sand, silt, clay, density]]))
    return np.asarray(retention[:, 0, :]), np.asarray(saturated[:, 0, 0])
