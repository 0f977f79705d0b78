"""Given indoor air: constant, a wave, a schedule, a published relation to the weather, or hourly values of a file."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Literal, TypeAlias

import numpy as np
from numpy.typing import NDArray
from pydantic import model_validator

from stemwall.cases.inputs.field_types import PRACTICE, Spelling, Strict, described
from stemwall.cases.inputs.quantities import HUMIDITY, INDOOR_WARMTH, HumidityClass, Margin, VapourExcess, read
from stemwall.cases.surroundings import indoor_relations as relations
from stemwall.cases.surroundings.indoor_file import read_air_file
from stemwall.cases.surroundings.indoor_schedule import (
    HOURS_PER_DAY,
    HumiditySchedule,
    HumidityWave,
    TemperatureSchedule,
    TemperatureWave,
    given,
    values,
    words,
)
from stemwall.cases.surroundings.outdoor_means import OutsideAir
from stemwall.materials.ranges import Quantity
from stemwall.weather.moistair import saturation_pressure

Floats: TypeAlias = NDArray[np.float64]
EN_15026, ISO_13788, ASHRAE_160 = "EN 15026", "ISO 13788", "ASHRAE 160"
#: fields that only one relation reads
OWN_FIELDS: dict[str, set[str]] = {
    EN_15026: {"occupancy"},
    ISO_13788: {"humidity_class", "vapour_excess", "margin"},
    ASHRAE_160: {"cooled"},
}
#: indoor temperature under ISO 13788 where none is stated [degC]; common practice, no source
DEFAULT_TEMPERATURE = 20.0

AirTemperature = Annotated[
    float | TemperatureWave | TemperatureSchedule | None,
    Quantity(INDOOR_WARMTH, given(TemperatureWave, TemperatureSchedule), read),
    Spelling(f"{INDOOR_WARMTH.name}, e.g. {INDOOR_WARMTH.examples}, or a table"),
]
AirHumidity = Annotated[
    float | HumidityWave | HumiditySchedule | None,
    Quantity(HUMIDITY, given(HumidityWave, HumiditySchedule), read),
    Spelling(f"{HUMIDITY.name}, e.g. {HUMIDITY.examples}, or a table"),
]


class Air(Strict):
    """The air of one space: temperature and humidity, or a relation to the weather, or a file with both."""

    temperature: AirTemperature = described(
        None,
        'a quantity, or { winter = "63 degF", summer = "72 degF" }, or { day = [[0, 17], [6, 21], [22, 17]] } '
        "from these hours on, with weekend = [...] if that differs",
    )
    humidity: AirHumidity = described(None, 'the same for relative humidity, e.g. { winter = "40 %", summer = "60 %" }')
    file: str | None = described(
        None,
        "CSV file with columns temperature [degC] and relative_humidity [%], one row an hour, whole years",
    )
    relation: Literal["EN 15026", "ISO 13788", "ASHRAE 160"] | None = described(
        None, "instead of humidity: EN 15026 Annex C, ISO 13788 Annex A, or the simplified method of ASHRAE 160"
    )
    occupancy: Literal["normal", "high"] = described("normal", "EN 15026: normal or high")
    humidity_class: HumidityClass = described(
        3,
        "ISO 13788: humidity class of the building; 5 needs vapour_excess",
        "dwellings with low occupancy (from memory, to be checked)",
    )
    vapour_excess: VapourExcess | None = described(
        None, "ISO 13788: excess over outdoor vapour pressure at 0 °C and below in Pa, instead of the class's"
    )
    margin: Margin = described(
        1.1, "ISO 13788: factor on the excess", "the standard's own (from memory, to be checked)"
    )
    cooled: bool = described(True, "ASHRAE 160: whether the house has air conditioning", PRACTICE)

    @model_validator(mode="after")
    def _complete(self) -> Air:
        both = self.temperature is not None and self.humidity is not None
        neither = self.temperature is None and self.humidity is None
        if self.relation is not None:
            good = self.file is None and self.humidity is None
        else:
            good = neither if self.file is not None else both
        if not good:
            raise ValueError("temperature and humidity, or a relation that gives the humidity, or a file with both")
        return self

    @model_validator(mode="after")
    def _own_fields(self) -> Air:
        for relation, names in OWN_FIELDS.items():
            wrong = sorted(names & self.model_fields_set) if relation != self.relation else []
            if wrong:
                raise ValueError(f'{", ".join(wrong)} only with relation = "{relation}"')
        if self.relation == ISO_13788 and self.humidity_class == 5 and self.vapour_excess is None:
            raise ValueError("vapour_excess with humidity_class = 5, which has no upper limit of its own")
        return self

    def series(
        self, day: Floats, folder: Path, outside: OutsideAir | None = None, first_weekday: int = 0
    ) -> tuple[Floats, Floats]:
        """Return temperature [degC] and relative humidity [-] at the middle of each hour.

        Parameters
        ----------
        day : Floats
            Days since the start of the calendar year, going on over later years [d].
        folder : Path
            Folder that a relative file name starts from.
        outside : OutsideAir or None
            Outdoor air of the same hours; only a relation needs it.
        first_weekday : int
            Weekday of the first day of that calendar year, Monday 0.
        """
        if self.file is not None:
            air = read_air_file(folder / self.file)
            hour = np.floor(day * HOURS_PER_DAY).astype(np.int64) % air.temperature.size
            return air.temperature[hour], air.humidity[hour]
        stated = None if self.temperature is None else values(self.temperature, day, first_weekday)
        if self.relation is None:
            assert stated is not None
            assert self.humidity is not None
            return stated, values(self.humidity, day, first_weekday)
        if outside is None:
            raise ValueError(f'weather, which relation = "{self.relation}" follows')
        temperature = self._temperature(outside) if stated is None else stated
        return temperature, self._humidity(outside, temperature)

    def _temperature(self, outside: OutsideAir) -> Floats:
        if self.relation == EN_15026:
            return relations.en_15026_temperature(outside.day)
        if self.relation == ASHRAE_160:
            return relations.ashrae_160_temperature(outside.day, cooled=self.cooled)
        return np.full(outside.day.size, DEFAULT_TEMPERATURE)

    def _humidity(self, outside: OutsideAir, temperature: Floats) -> Floats:
        if self.relation == EN_15026:
            return relations.en_15026_humidity(outside.day, self.occupancy)
        if self.relation == ASHRAE_160:
            return relations.ashrae_160_humidity(outside.day)
        excess = self.margin * relations.iso_13788_excess(outside.month, self._excess_limit)
        return np.asarray(np.minimum((outside.month_vapour + excess) / saturation_pressure(temperature), 1.0))

    @property
    def _excess_limit(self) -> float:
        if self.vapour_excess is not None:
            return self.vapour_excess
        return relations.ISO_13788_EXCESS[self.humidity_class]

    def describe(self) -> str:
        """Return one line that says what was given."""
        if self.file is not None:
            return f"hourly values from {self.file}"
        warmth = None if self.temperature is None else f"temperature {words(self.temperature, 1, ' °C')}"
        if self.relation is None:
            assert self.humidity is not None
            return f"{warmth}, humidity {words(self.humidity, 100, ' %')}"
        return f"{self._relation_in_words()}; {warmth or self._own_temperature()}"

    def _own_temperature(self) -> str:
        if self.relation == ISO_13788:
            return f"temperature {DEFAULT_TEMPERATURE:g} °C, {PRACTICE}"
        return "temperature of the same relation"

    def _relation_in_words(self) -> str:
        if self.relation == EN_15026:
            return (
                f"humidity of EN 15026 Annex C, {self.occupancy} occupancy, by the mean outdoor temperature of the "
                "last 24 h (from memory, to be checked)"
            )
        if self.relation == ASHRAE_160:
            cooling = "with" if self.cooled else "without"
            return (
                f"humidity of the simplified method of ASHRAE 160, {cooling} cooling, by the mean outdoor temperature "
                "of the last 24 h (from memory, to be checked)"
            )
        return (
            f"vapour pressure of ISO 13788 Annex A, outdoor mean of 30 days plus {self.margin:g} x "
            f"{self._excess_limit:g} Pa at 0 °C and below, less above (from memory, to be checked)"
        )
