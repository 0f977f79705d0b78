"""The written form of a material: every tested property from its fit, every other one from what is assumed."""

from __future__ import annotations

from typing import Any

import numpy as np

from stemwall.cases.inputs.input_errors import CaseError
from stemwall.cases.laboratory import assumptions
from stemwall.cases.laboratory.assumptions import borrowed
from stemwall.cases.laboratory.fits import Fits, short
from stemwall.cases.laboratory.heat_fit import HeatFit
from stemwall.cases.laboratory.soil_fit import SoilFit
from stemwall.cases.laboratory.soil_heat_fit import SoilHeatFit
from stemwall.cases.laboratory.storage_fit import StorageFit
from stemwall.cases.laboratory.vapour_fit import VapourFit
from stemwall.materials.catalogue import material_from_mapping
from stemwall.materials.material import Hatch
from stemwall.materials.problems import MaterialError


class WrittenForm(Fits):
    """Fits, and the table of a material that they make."""

    def _table(
        self,
        storage: StorageFit | None,
        soil: SoilFit | None,
        vapour: VapourFit | None,
        heat: HeatFit | SoilHeatFit | None,
    ) -> dict[str, Any]:
        about = self.about
        table: dict[str, Any] = {"name": about.name, "group": "soil" if about.kind == "soil" else "tested"}
        hatch: Hatch = self.hatch or ("soil" if about.kind == "soil" else "board")
        table["hatch"] = hatch
        table["density"] = self._sourced({"value": short(self.density)}, *self.means["density"].band())
        table["specific_heat"] = self._specific_heat()
        if "porosity" in self.means:
            table["porosity"] = self._sourced({"value": short(self.means["porosity"].value)})
        elif soil is not None:
            self._assume("porosity", f"{self.pores:.3g}", "between grains of 2650 kg/m3, at least what it holds")
            table["porosity"] = guessed({"value": short(self.pores)}, "between grains of 2650 kg/m3")
        elif "porosity" in self.like:
            table["porosity"] = self._borrow("porosity")
        curve = storage or soil
        table["storage"] = self._sourced(curve.written()) if curve else self._borrow("storage")
        table["vapour"] = self._vapour_table(vapour)
        table |= self._liquid(soil)
        table["conductivity"] = self._borrow("conductivity") if heat is None else self._conductivity(heat)
        for name in ("surface", "frost", "mould_class"):
            if name in self.like:
                table[name] = self._borrow(name)
        if about.mould_class is not None:
            table["mould_class"] = {"value": about.mould_class, "source": self.source, "confidence": "estimate"}
        return table

    def _vapour_table(self, vapour: VapourFit | None) -> dict[str, Any]:
        if vapour is not None:
            table = self._sourced(vapour.written())
            if len(vapour.cups) < 3:
                _estimated(table, "power")
            return table
        if self.about.kind == "soil" and not self.about.like:
            self._assume("vapour permeability", "that of gas in air-filled pores", "Millington and Quirk 1961")
            return guessed({"kind": "millington-quirk"}, "gas in air-filled pores")
        return self._borrow("vapour")

    def _conductivity(self, heat: HeatFit | SoilHeatFit) -> dict[str, Any]:
        band = np.quantile(heat.draws[:, 0], [0.05, 0.95]).tolist() if isinstance(heat, HeatFit) else []
        table = self._sourced(heat.written(), *band)
        for name, known in zip(heat.names, heat.fitted, strict=True):
            if not known:
                _estimated(table, name)
        return table

    def _liquid(self, soil: SoilFit | None) -> dict[str, Any]:
        if self.sheet.uptake:
            return {}
        if soil is not None:
            if "hydraulic" in self.means:
                written = {"kind": "mualem", "saturated": short(self.means["hydraulic"].value)}
                self._assume(
                    "unsaturated conductivity", "Mualem's law, connectivity 0.5", "the usual value of soil physics"
                )
                return {"liquid": self._sourced(written, *self.means["hydraulic"].band())}
            if not (self.about.like and self.like.get("liquid", {}).get("kind") == "mualem"):
                self._assume("liquid flow", "none", "no [hydraulic], no like: the soil draws no water")
                return {"liquid": guessed({"kind": "none"}, "not tested")}
        if "liquid" in self.like:
            return {"liquid": self._borrow("liquid")}
        self._assume("capillary flow", "none", "no [[uptake]], no like")
        return {"liquid": guessed({"kind": "none"}, "not tested")}

    def _specific_heat(self) -> dict[str, Any]:
        if "specific_heat" in self.means:
            mean = self.means["specific_heat"]
            return self._sourced({"value": short(mean.value)}, *mean.band())
        if "specific_heat" in self.like:
            return self._borrow("specific_heat")
        value = assumptions.specific_heat(self.hatch)
        self._assume("specific heat", f"{value:g} J/(kg K)", assumptions.PRACTICE)
        return guessed({"value": value}, assumptions.PRACTICE)

    def _borrow(self, name: str) -> dict[str, Any]:
        table = borrowed(self.like, name, self.about.like or "")
        if table is None:
            raise CaseError([self.file.problem(("sheet",), f"no test of {name}", f"a test, or a material with {name}")])
        self._assume(name.replace("_", " "), f"that of {self.about.like}", "not tested")
        return table

    def _built(self, table: dict[str, Any]) -> Any:
        try:
            return material_from_mapping(self.about.id, table)
        except MaterialError as error:
            raise CaseError(
                [self.file.problem(place_in_sheet(one.place), one.found, one.expected) for one in error.problems]
            ) from None


def _estimated(table: dict[str, Any], name: str) -> None:
    """Mark one number of a tested property as one that no test said."""
    if name in table:
        table[name] = {"value": table[name], "source": "", "confidence": "estimate", "note": "no test said it"}


def guessed(table: dict[str, Any], note: str) -> dict[str, Any]:
    """Return a property that nobody tested, marked as such."""
    return {**table, "confidence": "estimate", "note": note}


def place_in_sheet(path: str) -> tuple[str | int, ...]:
    """Place in the sheet of what is wrong with a property of the material."""
    name = path.split(".")[1] if "." in path else ""
    names: dict[str, tuple[str | int, ...]] = {
        "storage": ("sorption", 0), "vapour": ("cup", 0), "liquid": ("uptake", 0), "conductivity": ("conductivity", 0),
    }  # fmt: skip
    return names.get(name, (name,) if name else ("sheet",))
