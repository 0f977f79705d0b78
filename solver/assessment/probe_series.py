"""Probe series: the hourly record of one place, as the assessment reads it."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import xarray as xr

from stemwall.solver.assessment.series_statistics import TimeArray, checked, step_hours
from stemwall.solver.assessment.wood import moisture_content
from stemwall.solver.model.arrays import Floats

YEAR_HOURS = 8760.0
_VARIABLES = ("probe_temperature", "probe_relative_humidity", "probe_water_content", "probe_kind")
_PIECE = "piece_water_content"


@dataclass(frozen=True)
class ProbeSeries:
    """What one place went through.

    Parameters
    ----------
    name, kind : str
        Name of the place and what lies there, see `stemwall.solver.assessment.criteria.KINDS`.
    time : ndarray of datetime64[m], shape (time,)
        Regular time axis.
    temperature, relative_humidity, water_content : ndarray, shape (time,)
        [degC], [-] and [kg/m3].
    mould_class : str or None
        Sensitivity class of the face; None: no mould index is computed.
    density : float or None
        Dry density of the material [kg/m3].
    height : float or None
        Height above exterior grade [m]; None: not known.
    piece_water_content : ndarray, shape (time,), or None
        Mean [kg/m3] of the piece of wood that the place is on; None: not wood, or not recorded.
    """

    name: str
    kind: str
    time: TimeArray
    temperature: Floats
    relative_humidity: Floats
    water_content: Floats
    mould_class: str | None = None
    density: float | None = None
    height: float | None = None
    piece_water_content: Floats | None = None

    def __post_init__(self) -> None:
        shapes = {np.shape(values) for values in (self.time, self.temperature, self.relative_humidity, *self._water)}
        if len(shapes) > 1 or len(next(iter(shapes))) != 1:
            raise ValueError(f"probe {self.name!r}: all series must have one shape (time,), got {shapes}")
        try:
            step_hours(self.time)
            checked(self.temperature, self.relative_humidity)
        except ValueError as error:
            raise ValueError(f"probe {self.name!r}: {error}") from None

    @property
    def _water(self) -> tuple[Floats, ...]:
        """What is known of the water content: of the place, and of the piece."""
        return tuple(w for w in (self.water_content, self.piece_water_content) if w is not None)

    @property
    def step(self) -> float:
        """Step of the time axis [h]."""
        return step_hours(self.time)

    @property
    def hours(self) -> float:
        """Length of the series [h]."""
        return len(self.time) * self.step

    @property
    def below_grade(self) -> bool:
        """Whether the place lies below exterior grade; True where that is not known."""
        return self.height is None or self.height < 0.0

    @property
    def moisture(self) -> Floats | None:
        """Moisture content [% dry mass], shape (time,); None if the dry density is not known."""
        if self.density is None:
            return None
        return moisture_content(self.water_content, self.density)

    def of_piece(self) -> ProbeSeries | None:
        """The record with the water content of the whole piece; None if that is not known."""
        if self.piece_water_content is None:
            return None
        return replace(self, water_content=self.piece_water_content, piece_water_content=None)

    def samples(self, hours: float) -> int:
        """Number of samples that span so many hours, at least one."""
        return max(round(hours / self.step), 1)

    def last_year(self) -> ProbeSeries:
        """The last 8760 hours, or the whole series if it is shorter."""
        tail = slice(-self.samples(YEAR_HOURS), None)
        return replace(
            self,
            time=self.time[tail],
            temperature=self.temperature[tail],
            relative_humidity=self.relative_humidity[tail],
            water_content=self.water_content[tail],
            piece_water_content=None if self.piece_water_content is None else self.piece_water_content[tail],
        )


def series_of(dataset: xr.Dataset, probe: str) -> ProbeSeries:
    """Record of one probe from a result dataset.

    Parameters
    ----------
    dataset : Dataset
        With ``probe_temperature`` [degC], ``probe_relative_humidity`` [1] and
        ``probe_water_content`` [kg m-3] over (time, probe), and ``probe_kind``;
        ``piece_water_content`` [kg m-3] over the same, ``probe_mould_class``
        ("" for none), ``probe_density`` [kg m-3] and ``probe_y`` [m] are read if there.
    probe : str
        Name of the probe.

    Raises
    ------
    ValueError
        If a variable or the probe is missing.
    """
    missing = [name for name in _VARIABLES if name not in dataset.variables]
    if missing:
        raise ValueError(f"the dataset lacks {', '.join(missing)}")
    names = [str(name) for name in dataset["probe"].values]
    if probe not in names:
        raise ValueError(f"no probe {probe!r} in the dataset; it has {', '.join(names)}")
    place = dataset.isel(probe=names.index(probe))

    def number(name: str) -> float | None:
        value = float(place[name]) if name in place.variables else np.nan
        return None if np.isnan(value) else value

    def series(name: str) -> Floats:
        return np.asarray(place[name].values, dtype=np.float64)

    piece = series(_PIECE) if _PIECE in place.variables else np.full(1, np.nan)
    return ProbeSeries(
        name=probe,
        kind=str(place["probe_kind"].item()),
        time=place["time"].values.astype("datetime64[m]"),
        temperature=series("probe_temperature"),
        relative_humidity=series("probe_relative_humidity"),
        water_content=series("probe_water_content"),
        mould_class=str(place["probe_mould_class"].item()) or None if "probe_mould_class" in place.variables else None,
        density=number("probe_density"),
        height=number("probe_y"),
        piece_water_content=None if np.isnan(piece).all() else piece,
    )
