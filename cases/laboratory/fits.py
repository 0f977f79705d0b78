"""The fits of a sheet, one after the other, each with what those before it gave, and what they had to assume."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np

from stemwall.cases.inputs.input_errors import CaseError, Problem
from stemwall.cases.laboratory import assumptions
from stemwall.cases.laboratory.assumptions import Assumption
from stemwall.cases.laboratory.heat_fit import HeatFit, HeatPoints, fit_heat
from stemwall.cases.laboratory.liquid_fit import UptakeFit, capillary_contents, fit_uptake_tests
from stemwall.cases.laboratory.read_sheet import SheetFile
from stemwall.cases.laboratory.resampling import Mean, mean_of
from stemwall.cases.laboratory.soil_fit import SoilFit, fit_soil
from stemwall.cases.laboratory.soil_heat_fit import CHI, KAPPA, SOLIDS, SoilHeatFit, fit_soil_heat
from stemwall.cases.laboratory.storage_fit import Points, StorageFit, fit_storage, points_of_humidity
from stemwall.cases.laboratory.vapour_fit import VapourFit, cup_result, fit_vapour
from stemwall.materials.catalogue import catalogue, material_from_mapping
from stemwall.materials.entries import entries
from stemwall.materials.material import Hatch
from stemwall.materials.problems import MaterialError
from stemwall.materials.uptake import uptake_coefficient
from stemwall.materials.water import WATER_DENSITY

#: saturation may lie below the mean of the wettest test by scatter, but not below this share of it
LEAST_SATURATION = 0.85
#: porosity of a soil whose grains would leave none
LEAST_PORES = 0.05
#: draws of a soil's retention, each a fit of its own
SOIL_DRAWS = 400


def short(value: float) -> float:
    """Return a number in five digits."""
    return float(f"{value:.5g}")


class Fits:
    """Fits one after the other, each with what the ones before it gave."""

    def __init__(self, file: SheetFile) -> None:
        self.file, self.sheet = file, file.sheet
        self.about = file.sheet.about
        self.rng = np.random.default_rng(self.about.seed)
        self.count = min(self.about.draws, SOIL_DRAWS) if self.about.kind == "soil" else self.about.draws
        self.assumed: list[Assumption] = []
        self.remarks: list[str] = []
        self.problems: list[Problem] = []
        self.means: dict[str, Mean] = {}
        self.like: Mapping[str, Any] = entries()[self.about.like] if self.about.like else {}
        self.hatch: Hatch | None = self.about.hatch or self.like.get("hatch")
        self.density, self.pores = 1.0, 0.0
        self.source = ", ".join(filter(None, (self.about.laboratory, file.path.name)))

    def _mean(self, name: str, values: Sequence[float]) -> Mean:
        mean = mean_of(values, self.about.scatter, self.rng, self.count)
        if len(values) == 1:
            self._assume_scatter(f"{name.replace('_', ' ')}, of which one value is stated")
        return mean

    def _assume_scatter(self, what: str) -> None:
        self._assume(f"scatter of {what}", f"{self.about.scatter:.0%}", "sheet.scatter, " + assumptions.PRACTICE)

    def _assume(self, what: str, value: str, why: str) -> None:
        self.assumed.append(Assumption(what, value, why))

    def _problem(self, place: tuple[str | int, ...], found: str, expected: str) -> None:
        self.problems.append(self.file.problem(place, found, expected))

    def _sourced(self, table: dict[str, Any], low: float | None = None, high: float | None = None) -> dict[str, Any]:
        band = {} if low is None or high is None else {"low": short(low), "high": short(high)}
        return {**table, "source": self.source, "confidence": "measured", **band}

    # storage

    def _storage(self) -> tuple[StorageFit | None, SoilFit | None]:
        points = self._points()
        if not points.suction.size:
            return None, None
        if self.about.kind == "soil":
            return None, self._soil(points)
        saturation = self._saturation(points)
        full = points.suction < 1.0  # these say saturation
        points = Points(points.suction[~full], points.water[~full], tuple(np.array(points.kind)[~full].tolist()))
        if not points.suction.size:
            self._problem(("retention",), "contents at zero suction alone", "one at another suction")
            return None, None
        wettest = max(float(points.water[points.suction == at].mean()) for at in np.unique(points.suction))
        if saturation.value < LEAST_SATURATION * wettest:
            found = f"{saturation.value:.4g} kg/m3 beside {wettest:.4g} kg/m3 in a sorption or retention test"
            self._problem(("saturation",), found, "a content at zero suction above all others")
            return None, None
        guide = None
        wet = float(points.suction.min())
        if wet > 2e5:
            gap = f"between {wet / 1e6:.3g} MPa and saturation"
            if self.about.like:
                guide = catalogue().material(self.about.like).storage.curve
                self._assume(f"shape of the storage {gap}", f"that of {self.about.like}", "no pressure plate")
            else:
                self._assume(f"shape of the storage {gap}", "a smooth curve", "no pressure plate, no like")
        fit = fit_storage(points, saturation, self.about.scatter, self.rng, guide)
        if not fit.scatter.freedom:
            self._assume_scatter("moisture contents, of which each is one value")
        self._hysteresis(points, fit)
        return fit, None

    def _points(self) -> Points:
        suction: list[float] = []
        water: list[float] = []
        kind: list[str] = []
        for test in self.sheet.sorption:
            at = points_of_humidity(np.array(test.humidity), test.temperature)
            for one, values in zip(at.tolist(), test.water, strict=True):
                suction += [one] * len(values)
                water += [value.content(self.density) for value in values]
                kind += [test.branch] * len(values)
        for plate in self.sheet.retention:
            for one, values in zip(plate.suction, plate.water, strict=True):
                suction += [one] * len(values)
                water += [value.content(self.density) for value in values]
                kind += ["retention"] * len(values)
        return Points(np.array(suction), np.array(water), tuple(kind))

    def _saturation(self, points: Points) -> Mean:
        sheet = self.sheet
        at_zero = points.water[points.suction < 1.0]
        if sheet.saturation is not None:
            contents = [value.content(self.density) for value in sheet.saturation.value]
        elif at_zero.size:
            contents = at_zero.tolist()
        elif knees := capillary_contents(sheet.uptake):
            contents = knees
            self._assume("free saturation", f"{np.mean(knees):.4g} kg/m3", "uptake until the knee over the height")
        else:
            contents = [self._supposed_saturation()]
        mean = mean_of(contents, self.about.scatter, self.rng, self.count)
        self.means["saturation"] = mean
        return mean

    def _supposed_saturation(self) -> float:
        if self.about.like:
            content = float(catalogue().material(self.about.like).storage.saturation)
            self._assume("free saturation", f"{content:.4g} kg/m3", f"that of {self.about.like}")
            return content
        if "porosity" in self.means:
            content = assumptions.FILLED * self.means["porosity"].value * WATER_DENSITY
            self._assume("free saturation", f"{content:.4g} kg/m3", f"0.8 of the pores, {assumptions.PRACTICE}")
            return content
        matrix = assumptions.matrix_density(self.hatch)
        content = assumptions.FILLED * max(1.0 - self.density / matrix, 0.02) * WATER_DENSITY
        why = f"0.8 of the pores between solids of {matrix:g} kg/m3, {assumptions.PRACTICE}"
        self._assume("free saturation", f"{content:.4g} kg/m3", why)
        return content

    def _soil(self, points: Points) -> SoilFit | None:
        suction, water = points.suction, points.water
        if self.sheet.saturation is not None:
            full = [value.content(self.density) for value in self.sheet.saturation.value]
            suction, water = np.concatenate([np.zeros(len(full)), suction]), np.concatenate([full, water])
        try:
            fit = fit_soil(suction, water, self.about.scatter, self.rng, self.count)
        except ValueError as error:
            self._problem(("retention",), f"{np.unique(suction).size} suctions", str(error))
            return None
        if not fit.scatter.freedom:
            self._assume_scatter("the retention")
        return fit

    def _hysteresis(self, points: Points, fit: StorageFit) -> None:
        kinds = np.array(points.kind)
        if not {"adsorption", "desorption"} <= set(points.kind):
            return
        fitted = np.asarray(fit.curve().content(points.suction))
        ratio = points.water / np.maximum(fitted, 1e-9)
        up, down = (float(ratio[kinds == branch].mean()) for branch in ("adsorption", "desorption"))
        self.remarks.append(
            f"Desorption holds {down / up - 1.0:.0%} more than adsorption on the mean; one curve runs between the two, "
            "and the difference counts as scatter."
        )

    # transport

    def _vapour(self) -> VapourFit | None:
        results = []
        for number, cup in enumerate(self.sheet.cup):
            try:
                result = cup_result(cup)
                if result.mu is None:
                    raise ValueError("a thickness, to bring the result to the material")
                if min(result.mu) < 1.0:
                    lowest = min(result.mu)
                    meant = f"; did you mean s_d = {lowest:.3g} m?" if cup.mu else ""
                    raise ValueError(f"a resistance of still air or more, mu of 1 at least, not {lowest:.3g}{meant}")
                results.append(result)
            except ValueError as error:
                self._problem(("cup", number), "this cup", str(error))
        if not results or self.problems:
            return None
        fit = fit_vapour(results, self.about.scatter, self.rng, self.count)
        if not fit.scatter.freedom:
            self._assume_scatter("cups, of which each is one value")
        if len(results) < 3:
            why = "fewer than three cups; draws take powers from 2 to 6, estimate"
            self._assume("rise of permeability with humidity between cups", f"power {fit.power:g}", why)
        if fit.falls:
            self.remarks.append("Cups as stated let less through where it is moister; the fit takes them for equal.")
        return fit

    def _uptake(self, table: dict[str, Any]) -> UptakeFit | None:
        """Fit of the uptake tests, put into the table."""
        if not self.sheet.uptake:
            return None

        def returned(coefficient: float, humidity: float, temperature: float) -> float:
            trial = material_from_mapping(
                "trial", {**table, "liquid": {"kind": "absorption", "coefficient": coefficient}}
            )
            return uptake_coefficient(trial.liquid, trial.vapour, trial.storage, max(humidity, 1e-3), temperature)

        try:
            fit = fit_uptake_tests(self.sheet.uptake, self.about.scatter, self.rng, self.count, returned)
        except ValueError as error:
            expected = str(error.problems[0].expected) if isinstance(error, MaterialError) else str(error)
            raise CaseError([self.file.problem(("uptake", 0), "this test", expected)]) from None
        if not fit.stated.scatter.freedom:
            self._assume_scatter("uptake, of which one value is stated")
        low, high = fit.stated.band()
        table["liquid"] = self._sourced(fit.written(), low * fit.ratio, high * fit.ratio)
        self.remarks += [
            f"Specimen {number} is full after {one.knee**2 / 3600.0:.3g} h; later points are the second stage."
            for number, one in enumerate(fit.series, 1)
            if one.knee is not None
        ]
        if fit.ratio != 1.0:
            self.remarks.append(f"Uptake from the standard climate is {fit.ratio:.3g} times that of the test as done.")
        return fit

    def _heat(self) -> HeatFit | SoilHeatFit | None:
        if not self.sheet.conductivity:
            return None
        rows = [
            (moisture.content(self.density), test.temperature, value)
            for test in self.sheet.conductivity
            for moisture, values in zip(test.moisture, test.value, strict=True)
            for value in values
        ]
        water, temperature, value = (np.array(column) for column in zip(*rows, strict=True))
        points = HeatPoints(water, temperature, value)
        if self.about.kind == "soil":
            return self._soil_heat(points)
        per_water, growth = assumptions.PER_WATER, 0.0
        fit = fit_heat(points, per_water, growth, self.about.scatter, self.rng, self.count)
        if not fit.scatter.freedom:
            self._assume_scatter("the conductivity, of which one value is stated")
        if not fit.fitted[1]:
            self._assume("growth of the conductivity with moisture", "0.4 % per kg/m3", assumptions.PER_WATER_SOURCE)
        if not fit.fitted[2]:
            self._assume("growth of the conductivity with temperature", "none", "one mean temperature was tested")
        return fit

    def _soil_heat(self, points: HeatPoints) -> SoilHeatFit:
        fit = fit_soil_heat(points, self.pores, self.about.scatter, self.rng, self.count)
        if not fit.scatter.freedom:
            self._assume_scatter("the conductivity, of which one value is stated")
        names = (("dry constant chi", CHI), ("conductivity of the solids", SOLIDS), ("shape kappa", KAPPA))
        for known, (name, value) in zip(fit.fitted, names, strict=True):
            if not known:
                self._assume(f"{name} of the conductivity", f"{value:g}", "mineral soils, Cote and Konrad 2005")
        return fit

    def _pores(self, soil: SoilFit | None) -> float:
        """Porosity of a soil [-]: as tested, or between its grains, at least what it holds."""
        if "porosity" in self.means:
            return self.means["porosity"].value
        least = LEAST_PORES if soil is None else float(soil.best[1])
        return max(1.0 - self.density / assumptions.MINERAL, least)
