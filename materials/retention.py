"""Closed-form retention curves: van Genuchten in one or several modes, and open foam or fibre.

References
----------
.. [1] van Genuchten, M. Th. (1980), Soil Sci. Soc. Am. J. 44, 892-898.
.. [2] Vogel, T., van Genuchten, M. Th., Cislerova, M. (2001), Adv. Water Resour. 24, 133-144:
   a small air-entry head for n close to one.
.. [3] Fayer, M. J., Simmons, C. S. (1995), Water Resour. Res. 31, 1233-1238: a factor that is
   linear in log suction takes retention curves smoothly to oven-dry (the form here is our own).
"""

from dataclasses import dataclass

import numpy as np

from stemwall.materials.storage import RetentionCurve
from stemwall.materials.water import DRY_SUCTION, GRAVITY, WATER_DENSITY, FloatArray

DRY_JUNCTION = 1.5e6
"""Suction around which soils begin to dry out along a straight line in log suction [Pa]; the
wilting point of soil science, 1.5 MPa, beyond which retention data are rare."""
NEAR_LINEAR_N = 1.31
"""Largest n for which the default air-entry head applies [-]."""
AIR_ENTRY_HEAD = 0.02
"""Default air-entry head for n <= `NEAR_LINEAR_N` [m]."""


def default_air_entry(n: float) -> float:
    """Air-entry head [m] for a shape parameter n: 2 cm up to 1.31, none above [2]_."""
    return AIR_ENTRY_HEAD if n <= NEAR_LINEAR_N else 0.0


@dataclass(frozen=True)
class Mode:
    """One pore class, S_e = [1 + (alpha p_c)^n]^-m.

    Parameters
    ----------
    weight : float
        Share of the pore space; the shares of a curve add up to one [-].
    alpha : float
        Inverse suction scale [1/Pa].
    n : float
        Shape [-].
    m : float or None
        Shape; 1 - 1/n when None [-].
    """

    weight: float
    alpha: float
    n: float
    m: float | None = None

    @property
    def exponent(self) -> float:
        """The shape m [-]."""
        return 1.0 - 1.0 / self.n if self.m is None else self.m

    def filling(self, suction: FloatArray) -> FloatArray:
        """Effective saturation S_e [-]."""
        return np.asarray((1.0 + (self.alpha * suction) ** self.n) ** -self.exponent)

    def slope(self, suction: FloatArray) -> FloatArray:
        """Minus dS_e/dp_c [1/Pa]."""
        x = (self.alpha * suction) ** self.n
        ratio = self.alpha * (self.alpha * np.maximum(suction, 1e-12)) ** (self.n - 1.0)
        return np.asarray(self.exponent * self.n * ratio * (1.0 + x) ** (-self.exponent - 1.0))


@dataclass(frozen=True)
class VanGenuchten:
    """Sum of van Genuchten modes [1]_ with an air-entry suction and a dry end.

    The closed form is multiplied by 1 - ln(1 + x^2) / ln(1 + x_dry^2), x = p_c/p_j, which leaves it
    as it is for p_c << p_j (0.04 % at 0.1 MPa) and takes it to zero at `DRY_SUCTION` along a straight
    line in log suction [3]_: smooth everywhere, and with some capacity where a coarse soil's own is nil.
    Below the air-entry suction the pores are full, and the curve is divided by its value there.

    Parameters
    ----------
    saturation, residual : float
        Water contents [kg/m3].
    modes : tuple of Mode
        Pore classes.
    air_entry : float
        Air-entry suction [Pa].
    junction : float or None
        Suction p_j [Pa]; None keeps the closed form as it is.
    """

    saturation: float
    residual: float
    modes: tuple[Mode, ...]
    air_entry: float = 0.0
    junction: float | None = DRY_JUNCTION

    @classmethod
    def soil(
        cls, theta_r: float, theta_s: float, alpha: float, n: float, air_entry: float | None = None
    ) -> "VanGenuchten":
        """Soil set in soil units.

        Parameters
        ----------
        theta_r, theta_s : float
            Residual and saturated water content [m3/m3].
        alpha : float
            [1/m].
        n : float
            [-].
        air_entry : float or None
            Air-entry head [m]; None takes `default_air_entry`.
        """
        head = default_air_entry(n) if air_entry is None else air_entry
        weight = WATER_DENSITY * GRAVITY
        mode = Mode(1.0, alpha / weight, n)
        return cls(WATER_DENSITY * theta_s, WATER_DENSITY * theta_r, (mode,), head * weight)

    def _filling(self, suction: FloatArray) -> FloatArray:
        return np.asarray(sum(mode.weight * mode.filling(suction) for mode in self.modes))

    def _wet(self, suction: FloatArray) -> FloatArray:
        filling = np.minimum(self._filling(suction) / self._filling(np.array(self.air_entry)), 1.0)
        return np.asarray(self.residual + (self.saturation - self.residual) * filling)

    def _wet_slope(self, suction: FloatArray) -> FloatArray:
        slope = sum(mode.weight * mode.slope(suction) for mode in self.modes)
        slope = slope / self._filling(np.array(self.air_entry))
        return np.asarray(np.where(suction >= self.air_entry, (self.saturation - self.residual) * slope, 0.0))

    def _dry_end(self, junction: float, suction: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Factor that takes the curve to oven-dry, and minus its slope [1/Pa]."""
        span = np.log1p((DRY_SUCTION / junction) ** 2)
        p_c = np.clip(suction, 0.0, DRY_SUCTION)
        factor = 1.0 - np.log1p((p_c / junction) ** 2) / span
        fall = 2.0 * p_c / (span * (junction**2 + p_c**2))
        return np.asarray(factor), np.asarray(np.where(suction > DRY_SUCTION, 0.0, fall))

    def content(self, suction: FloatArray) -> FloatArray:
        """Water content [kg/m3]."""
        if self.junction is None:
            return self._wet(suction)
        return np.asarray(self._wet(suction) * self._dry_end(self.junction, suction)[0])

    def capacity(self, suction: FloatArray) -> FloatArray:
        """Minus the slope of `content` [kg/(m3 Pa)]."""
        if self.junction is None:
            return self._wet_slope(suction)
        factor, fall = self._dry_end(self.junction, suction)
        return np.asarray(self._wet_slope(suction) * factor + self._wet(suction) * fall)


@dataclass(frozen=True)
class OpenPores:
    """Foam or fibre: a small hygroscopic content plus pores that fill only close to saturation.

    Parameters
    ----------
    hygroscopic : RetentionCurve
        Sorbed water, up to its own saturation [kg/m3].
    saturation : float
        Content with all pores full [kg/m3].
    entry : float
        Suction around which the pores fill [Pa]; the curve is a van Genuchten mode with n = 3, whose
        tail is below 4e-6 of the saturation at 98 % RH.
    """

    hygroscopic: RetentionCurve
    saturation: float
    entry: float = 5.0e3

    @property
    def _pores(self) -> Mode:
        return Mode(1.0, 1.0 / self.entry, 3.0)

    @property
    def _volume(self) -> float:
        return self.saturation - self.hygroscopic.saturation

    def content(self, suction: FloatArray) -> FloatArray:
        """Water content [kg/m3]."""
        return self.hygroscopic.content(suction) + self._volume * self._pores.filling(suction)

    def capacity(self, suction: FloatArray) -> FloatArray:
        """Minus the slope of `content` [kg/(m3 Pa)]."""
        return self.hygroscopic.capacity(suction) + self._volume * self._pores.slope(suction)
