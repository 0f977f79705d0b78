"""What comes out of a sheet: fits, the material as it is written, the spread, what was assumed and what is odd."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from stemwall.cases.inputs.input_errors import Problem
from stemwall.cases.laboratory.assumptions import Assumption
from stemwall.cases.laboratory.heat_fit import HeatFit
from stemwall.cases.laboratory.liquid_fit import UptakeFit
from stemwall.cases.laboratory.resampling import Mean
from stemwall.cases.laboratory.sheet import Sheet
from stemwall.cases.laboratory.soil_fit import SoilFit
from stemwall.cases.laboratory.soil_heat_fit import SoilHeatFit
from stemwall.cases.laboratory.storage_fit import StorageFit
from stemwall.cases.laboratory.vapour_fit import VapourFit
from stemwall.materials.material import Material, MembraneProduct


@dataclass(frozen=True)
class Evaluation:
    """A sheet, evaluated.

    Parameters
    ----------
    sheet : Sheet
    file : str
        Name of the sheet's file.
    table : dict
        The material or membrane as it is written in a case or in a material file.
    spread : list of dict
        Sets of properties that the same tests allow, in rising order of `ordered_by`.
    product : Material or MembraneProduct
        What `table` makes.
    means : dict
        Density, specific heat, porosity, saturation and hydraulic conductivity, where stated.
    storage, soil, vapour, liquid, heat
        Fits; None where nothing was tested.
    ordered_by : str
        Number by which the spread is ordered.
    assumed : tuple of Assumption
    doubts : tuple of Problem
        What is unusual and may be a slip.
    remarks : tuple of str
        What the fits met: hysteresis, cups that fell with humidity, a knee.
    """

    sheet: Sheet
    file: str
    table: dict[str, Any]
    spread: list[dict[str, Any]]
    product: Material | MembraneProduct
    means: dict[str, Mean]
    storage: StorageFit | None = None
    soil: SoilFit | None = None
    vapour: VapourFit | None = None
    liquid: UptakeFit | None = None
    heat: HeatFit | SoilHeatFit | None = None
    ordered_by: str = ""
    assumed: tuple[Assumption, ...] = ()
    doubts: tuple[Problem, ...] = ()
    remarks: tuple[str, ...] = field(default=())

    @property
    def material(self) -> Material:
        """The material; raises TypeError of a membrane."""
        if not isinstance(self.product, Material):
            raise TypeError("a membrane has no functions of a material")
        return self.product
