"""Water that comes at a time: leaks at a place (`[[leak]]`) and standing water up to a level (`[[flood]]`)."""

from __future__ import annotations

from datetime import datetime

import numpy as np
from pydantic import model_validator

from stemwall.cases.inputs.field_types import PRACTICE, Name, described, required
from stemwall.cases.inputs.quantities import Amount, FloodTemperature, Hours, LeakShare, Position, RainedOn
from stemwall.cases.inputs.spans import Span
from stemwall.cases.section.eaves_strip import BESIDE, OUTDOORS
from stemwall.solver.model.climate import Climate
from stemwall.solver.model.water import DRY, Flood, WaterSource

#: liquid water is not colder than this [degC]
LEAST_WARM = 0.0
ASHRAE160 = "1 % where used, ASHRAE 160 (from memory, to be checked)"


class LeakTable(Span):
    """Water brought to a place in or on a solid: a share of driving rain, or an amount at a time."""

    name: Name = required("what it is called in drawings, messages and results")
    x: Position = required("position x in m, from the outer face of the wall at grade, rightwards")
    y: Position = required("position y in m, from exterior grade, upwards")
    region: str | None = described(None, "region that takes the water where several meet at the place; by default any")
    rain_share: LeakShare = described(0.0, "share of the rain on the wall above", f"none by default; {ASHRAE160}")
    rain_height: RainedOn = described("8 ft", "height of wall that catches that rain", PRACTICE)
    amount: Amount = described(0.0, "water that arrives at a time, kg per metre", "none by default")
    hours: Hours = described(24, "hours over which the amount arrives", PRACTICE)

    @model_validator(mode="after")
    def _dated_amount(self) -> LeakTable:
        if self.amount == 0.0 and (self.start or self.end):
            raise ValueError("an amount beside start or end; a share of the rain gets in all the time")
        return self

    def build(self, outdoors: Climate, run_start: datetime) -> WaterSource:
        """Return the source; rain and air temperature, 0 °C at least, are those of the outdoor climate."""
        rate = self.rain_share * self.rain_height * outdoors.facings["left"].rain
        lasting = (self.ends(run_start) - self.begins(run_start)).total_seconds()
        rate = rate + np.where(self.within(run_start, outdoors.hours), self.amount / lasting, 0.0)
        water = np.maximum(outdoors.temperature, LEAST_WARM)
        return WaterSource(self.name, self.x, self.y, rate, water, self.region)


class FloodTable(Span):
    """Water that stands outdoors or in a space up to a level, for a time."""

    name: Name = required("what it is called in drawings, messages and results")
    where: str = described("outdoors", '"outdoors", or a space of [indoor] or [zone] such as "crawlspace"', "")
    level: Position = required("level y up to which the water stands, from exterior grade upwards")
    hours: Hours = described(48, "hours for which it stands", "two days; a plain choice")
    temperature: FloodTemperature | None = described(
        None, "temperature of the water; by default that of the outdoor air, 0 °C at least"
    )

    @property
    def climates(self) -> tuple[str, ...]:
        """Keys of the climates that it takes the place of."""
        return (OUTDOORS, BESIDE) if self.where == OUTDOORS else (self.where,)

    def build(self, outdoors: Climate, run_start: datetime) -> Flood:
        """Return the flood; the outdoor climate gives its hours and the default of its temperature."""
        standing = self.within(run_start, outdoors.hours)
        water = np.maximum(outdoors.temperature, LEAST_WARM)
        if self.temperature is not None:
            water = np.full(outdoors.hours, self.temperature)
        return Flood(self.name, self.climates, np.where(standing, self.level, DRY), water)
