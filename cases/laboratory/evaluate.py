"""From a sheet to a material or a membrane: fits everything that was tested, and says what was assumed."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np

from stemwall.cases.inputs.input_errors import CaseError, nearest
from stemwall.cases.laboratory.evaluation import Evaluation
from stemwall.cases.laboratory.fits import short
from stemwall.cases.laboratory.heat_fit import HeatFit
from stemwall.cases.laboratory.liquid_fit import UptakeFit
from stemwall.cases.laboratory.membrane_fit import evaluate_membrane
from stemwall.cases.laboratory.read_sheet import SheetFile, read_sheet
from stemwall.cases.laboratory.resampling import Floats
from stemwall.cases.laboratory.slips import slips
from stemwall.cases.laboratory.soil_fit import SoilFit
from stemwall.cases.laboratory.soil_heat_fit import SoilHeatFit
from stemwall.cases.laboratory.storage_fit import StorageFit
from stemwall.cases.laboratory.vapour_fit import VapourFit
from stemwall.cases.laboratory.written_form import WrittenForm
from stemwall.materials.catalogue import material_from_mapping
from stemwall.materials.check import check
from stemwall.materials.entries import entries, membrane_keys
from stemwall.materials.problems import MaterialError
from stemwall.materials.water import WATER_DENSITY

#: sets of properties in the spread of a material file
SETS = 20


def evaluate(path: str | Path) -> Evaluation:
    """Evaluate the laboratory sheet in a file.

    Parameters
    ----------
    path : str or Path
        A TOML file, see `stemwall explain sheet`.

    Raises
    ------
    CaseError
        With every problem of the sheet.
    """
    return evaluate_sheet(read_sheet(path))


def evaluate_sheet(file: SheetFile) -> Evaluation:
    """Evaluate a sheet that was read.

    Raises
    ------
    CaseError
        With every problem found.
    """
    about = file.sheet.about
    if about.like is not None:
        known = [key for key in entries() if key not in membrane_keys()]
        if about.like not in known:
            hint = nearest(about.like, known)
            raise CaseError([file.problem(("sheet", "like"), repr(about.like), f"a catalogue material; {hint}")])
    if about.kind == "membrane":
        return evaluate_membrane(file)
    return _Evaluator(file).run()


class _Evaluator(WrittenForm):
    """Evaluates one sheet."""

    def run(self) -> Evaluation:
        """Evaluate."""
        sheet = self.sheet
        assert sheet.density is not None
        for name, test in (
            ("density", sheet.density), ("specific_heat", sheet.specific_heat), ("porosity", sheet.porosity),
            ("hydraulic", sheet.hydraulic),
        ):  # fmt: skip
            if test is not None:
                self.means[name] = self._mean(name, test.value)
        self.density = self.means["density"].value
        storage, soil = self._storage()
        vapour = self._vapour()
        self.pores = self._pores(soil)
        heat = self._heat()
        porosity = self.means["porosity"].value if "porosity" in self.means else None
        full = float(storage.water[0]) if storage else WATER_DENSITY * float(soil.best[1]) if soil else None
        odd = [*self.file.doubts, *slips(self.file, self.density, full, porosity, self.hatch)]
        try:
            if self.problems:
                raise CaseError(self.problems)
            table = self._table(storage, soil, vapour, heat)
            liquid = self._uptake(table)
            product = self._built(table)
        except CaseError as error:  # what is odd may be why
            raise CaseError([*error.problems, *odd]) from None
        spread, ordered_by = self._spread(table, storage, soil, vapour, liquid, heat)
        asked = [one for one in check(product) if one.severity == "W"]
        doubts = [*odd, *(self.file.problem(("sheet",), f"{one.place}: {one.found}", one.expected) for one in asked)]
        return Evaluation(
            sheet, self.file.path.name, table, spread, product, self.means, storage, soil, vapour, liquid, heat,
            ordered_by, tuple(self.assumed), tuple(doubts), tuple(self.remarks),
        )  # fmt: skip

    # the spread

    def _spread(
        self,
        table: dict[str, Any],
        storage: StorageFit | None,
        soil: SoilFit | None,
        vapour: VapourFit | None,
        liquid: UptakeFit | None,
        heat: HeatFit | SoilHeatFit | None,
    ) -> tuple[list[dict[str, Any]], str]:
        """Sets of properties across the draws, in rising order of one number, each of which makes a material."""
        order, ordered_by = self._order(vapour, liquid, heat)
        ranks = np.argsort(order)
        fits = {"storage": storage or soil, "vapour": vapour, "liquid": liquid, "conductivity": heat}
        spread: list[dict[str, Any]] = []
        for part in range(SETS):
            start = (2 * part + 1) * ranks.size // (2 * SETS)
            for number in ranks[start : start + ranks.size // SETS]:
                drawn = {name: fit.written(int(number)) for name, fit in fits.items() if fit is not None}
                drawn |= self._drawn_means(int(number))
                if soil is not None:
                    drawn["porosity"] = {"value": short(max(self.pores, float(soil.draws[number, 1]) * 1.0001))}
                try:
                    material_from_mapping(self.about.id, {**table, **drawn})
                except MaterialError:
                    continue
                spread.append(drawn)
                break
        if len(spread) < SETS:
            self.remarks.append(
                f"{SETS - len(spread)} of {SETS} sets of the spread made no material and were left out."
            )
        return spread, ordered_by

    def _drawn_means(self, number: int) -> dict[str, Any]:
        drawn: dict[str, Any] = {
            name: {"value": short(float(self.means[name].draws[number]))}
            for name in ("density", "specific_heat")
            if name in self.means
        }
        if "hydraulic" in self.means and not self.sheet.uptake:
            drawn["liquid"] = {"kind": "mualem", "saturated": short(float(self.means["hydraulic"].draws[number]))}
        return drawn

    def _order(
        self, vapour: VapourFit | None, liquid: UptakeFit | None, heat: HeatFit | SoilHeatFit | None
    ) -> tuple[Floats, str]:
        if liquid is not None:
            return liquid.draws, "water absorption coefficient"
        if "hydraulic" in self.means:
            return self.means["hydraulic"].draws, "hydraulic conductivity"
        if vapour is not None:
            return vapour.draws[:, -1], "permeability of the wettest cup"
        if heat is not None:
            return heat.draws[:, 0], "dry conductivity"
        return self.means["density"].draws, "density"
