"""When an event of a case takes place: hours of the run or dates, checked against the run's period."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime, timedelta

import numpy as np
from numpy.typing import NDArray
from pydantic import model_validator

from stemwall.cases.inputs.dates import Moment
from stemwall.cases.inputs.field_types import Strict, described
from stemwall.cases.inputs.quantities import Hours, RepeatDays, StartHour

HOUR = timedelta(hours=1)


class Span(Strict):
    """A table with the time for which something lasts, by hours of the run or by dates."""

    start: Moment | None = described(
        None, "date at which it begins (a date alone: at 0:00 of that day), in place of start_hour"
    )
    end: Moment | None = described(None, "date at which it ends (a date alone: at 0:00 of that day), in place of hours")
    start_hour: StartHour = described(0, "hour of the run at which it begins", "at once")
    hours: Hours = described(24, "hours for which it lasts", "a day; a plain choice")
    repeat_days: RepeatDays = described(0, "days after which it comes again; 0: once", "once")

    @model_validator(mode="after")
    def _one_way(self) -> Span:
        for one, other in (("start", "start_hour"), ("end", "hours")):
            if getattr(self, one) is not None and other in self.model_fields_set:
                raise ValueError(f"either {one} or {other}")
        return self

    def begins(self, run_start: datetime) -> datetime:
        """Return the date at which it begins in a run."""
        return run_start + self.start_hour * HOUR if self.start is None else self.start

    def ends(self, run_start: datetime) -> datetime:
        """Return the date at which it ends for the first time."""
        return self.begins(run_start) + self.hours * HOUR if self.end is None else self.end

    def within(self, run_start: datetime, total: int) -> NDArray[np.bool_]:
        """Hours of a run in which it lasts, (total,)."""
        begin, end = ((moment(run_start) - run_start) // HOUR for moment in (self.begins, self.ends))
        since = np.arange(total) - begin
        if self.repeat_days > 0:
            since = np.where(since >= 0, since % (24 * self.repeat_days), since)
        return np.asarray((since >= 0) & (since < end - begin))

    def outside(self, run_start: datetime, total: int) -> Iterator[tuple[str, str, str]]:
        """Yield (key, found, expected) of what does not fit a run of so many hours."""
        run_end = run_start + total * HOUR
        begin, end = self.begins(run_start), self.ends(run_start)
        if not run_start <= begin < run_end:
            period = f"within the run, from {said(run_start)} to before {said(run_end)}"
            if self.start is None:
                yield "start_hour", f"{self.start_hour}, which is {said(begin)}", f"an hour {period}"
            else:
                example = run_start.date() + timedelta(days=1)
                yield "start", said(begin), f"a date {period}, e.g. {example if total > 24 else run_start.isoformat()}"
        elif self.end is not None and not begin < end <= run_end:
            latest = f"a date after its start, {said(begin)}, and no later than the run's end, {said(run_end)}"
            yield "end", said(end), f"{latest}, e.g. {min(begin + 24 * HOUR, run_end).isoformat(sep=' ')}"
        if self.repeat_days and end - begin > timedelta(days=self.repeat_days):
            lasting = f"{(end - begin) // HOUR} h again every {self.repeat_days} days"
            yield "repeat_days", lasting, "days that are no fewer than those it lasts"


def said(moment: datetime) -> str:
    """Return a date and hour as messages show it."""
    return f"{moment:%Y-%m-%d %H:%M}"
