"""Water that comes at a time: leaks at a place (`[[leak]]`) and standing water up to a level (`[[flood]]`)."""

from __future__ import annotations

from typing import Annotated

import numpy as np
from numpy.typing import NDArray
from pydantic import Field

from stemwall.cases.fields import PRACTICE, Strict, described
from stemwall.cases.outdoors_strip import BESIDE, OUTDOORS
from stemwall.cases.quantities import Extent, Fraction, Kind, Length, Temperature, reader
from stemwall.solver.climate import Climate
from stemwall.solver.environment import WaterSource
from stemwall.solver.flood import DRY, Flood

AMOUNT = Kind("an amount of water per metre", "kg/m", '5 or "5 kg/m"', 0.0)
Amount = Annotated[float, reader(AMOUNT)]
Count = Annotated[int, Field(ge=0)]
Hours = Annotated[int, Field(ge=1)]

#: flood water is not colder than this [degC]
LEAST_WARM = 0.0
ASHRAE160 = "1 % where used, ASHRAE 160 (from memory, to be checked)"


class LeakTable(Strict):
    """Water brought to a place: a share of driving rain, or an amount at a time."""

    name: str
    x: Length
    y: Length
    region: str | None = None
    rain_share: Fraction = described(0.0, "share of the rain on the wall above", f"none by default; {ASHRAE160}")
    rain_height: Extent = described("8 ft", "height of wall that catches that rain", PRACTICE)
    amount: Amount = described(0.0, "water that arrives at a time, kg per metre", "none by default")
    start_hour: Count = described(0, "hour of the run at which the amount begins to arrive", "at once")
    hours: Hours = described(24, "hours over which it arrives", PRACTICE)
    repeat_days: Count = described(0, "days after which it comes again; 0: once", "once")

    def build(self, outdoors: Climate) -> WaterSource:
        """Return the source; rain and air temperature are those of the outdoor climate."""
        rate = self.rain_share * self.rain_height * outdoors.facings["left"].rain
        arriving = _within(outdoors.hours, self.start_hour, self.hours, self.repeat_days)
        rate = rate + np.where(arriving, self.amount / (3600.0 * self.hours), 0.0)
        return WaterSource(self.name, self.x, self.y, rate, outdoors.temperature, self.region)


class FloodTable(Strict):
    """Water that stands outdoors or in a space up to a level, for a time."""

    name: str
    where: str = described("outdoors", '"outdoors", or a space of [indoor] or [zone] such as "crawlspace"', "")
    level: Length
    start_hour: Count = described(0, "hour of the run at which the water stands there", "at once")
    hours: Hours = described(48, "hours for which it stands", "two days; a plain choice")
    repeat_days: Count = described(0, "days after which it comes again; 0: once", "once")
    temperature: Temperature | None = described(
        None, "temperature of the water; by default that of the outdoor air, 0 °C at least"
    )

    @property
    def climates(self) -> tuple[str, ...]:
        """Keys of the climates that it takes the place of."""
        return (OUTDOORS, BESIDE) if self.where == OUTDOORS else (self.where,)

    def build(self, outdoors: Climate) -> Flood:
        """Return the flood; the outdoor climate gives its hours and the default of its temperature."""
        standing = _within(outdoors.hours, self.start_hour, self.hours, self.repeat_days)
        water = np.maximum(outdoors.temperature, LEAST_WARM)
        if self.temperature is not None:
            water = np.full(outdoors.hours, self.temperature)
        return Flood(self.name, self.climates, np.where(standing, self.level, DRY), water)


def _within(total: int, start: int, hours: int, repeat_days: int) -> NDArray[np.bool_]:
    """Hours of a run in which an event lasts, (total,)."""
    since = np.arange(total) - start
    if repeat_days > 0:
        since = np.where(since >= 0, since % (24 * repeat_days), since)
    return np.asarray((since >= 0) & (since < hours))
