"""Wood: equilibrium moisture against the published table and the other published form; decay by its equations."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from stemwall.cases.verification.comparison import RELATIVE, Comparison, compare
from stemwall.solver.assessment.decay import critical_hours, decay, loss_rate
from stemwall.solver.assessment.wood import equilibrium_moisture_content

Floats = NDArray[np.float64]
HANDBOOK = "Wood Handbook, FPL-GTR-282, 2021, chapter 4"
TABLE_SOURCE = (
    f"{HANDBOOK}, table 4-2 (from memory, to be checked; five of the entries read in a secondary copy); one decimal"
)
FORM_SOURCE = f"{HANDBOOK}, equation 4-5 with its coefficients in degF (from memory, to be checked)"
VIITANEN = "Viitanen et al. 2010, Eur. J. Wood Prod. 68, 303-313 (equations from memory, to be checked)"

HUMIDITY = np.arange(5, 100, 5)
#: equilibrium moisture content [% dry mass] at 5 to 95 % relative humidity, by temperature [degF]
TABLE = {
    30: "1.4 2.6 3.7 4.6 5.5 6.3 7.1 7.9 8.7 9.5 10.4 11.3 12.4 13.5 14.9 16.5 18.5 21.0 24.3",
    70: "1.3 2.5 3.5 4.5 5.4 6.2 6.9 7.7 8.5 9.2 10.1 11.0 12.0 13.1 14.4 16.0 17.9 20.5 23.9",
    100: "1.2 2.3 3.3 4.2 5.0 5.8 6.5 7.2 7.9 8.7 9.5 10.3 11.2 12.3 13.6 15.1 17.0 19.5 22.9",
    120: "1.1 2.1 3.0 3.9 4.7 5.4 6.1 6.8 7.5 8.2 8.9 9.7 10.6 11.7 12.9 14.4 16.2 18.6 22.0",
}


def celsius(fahrenheit: float) -> float:
    """Temperature [degC] from [degF]."""
    return (fahrenheit - 32.0) / 1.8


def moisture_in_fahrenheit(t: float, humidity: Floats) -> Floats:
    """Equilibrium moisture content [%] by the coefficients in degF; humidity [-]."""
    w = 330.0 + 0.452 * t + 0.00415 * t**2
    k = 0.791 + 0.000463 * t - 0.000000844 * t**2
    k1 = 6.34 + 0.000775 * t - 0.0000935 * t**2
    k2 = 1.09 + 0.0284 * t - 0.0000904 * t**2
    kh = k * humidity
    hydrates = (k1 * kh + 2 * k1 * k2 * kh**2) / (1 + k1 * kh + k1 * k2 * kh**2)
    return np.asarray(1800.0 / w * (kh / (1 - kh) + hydrates))


def sorption() -> list[Comparison]:
    """Equilibrium moisture content of solid wood over humidity at four temperatures.

    Hailwood and Horrobin: M = 1800/W [K h/(1 - K h) + (K1 K h + 2 K1 K2 K² h²)/(1 + K1 K h + K1 K2 K² h²)],
    W, K, K1, K2 parabolas of temperature.  The limit against the table is half its last digit and 0.01 for
    the two roundings of the temperature; against the other form the rounding of the published coefficients.
    """
    found = []
    for fahrenheit, row in TABLE.items():
        t, table = celsius(fahrenheit), np.array(row.split(), dtype=float)
        computed = equilibrium_moisture_content(t, HUMIDITY / 100.0)
        fine = np.linspace(2.0, 97.0, 96)
        curve = (fine, moisture_in_fahrenheit(fahrenheit, fine / 100.0))
        found += [
            compare(
                f"{t:.1f} °C", TABLE_SOURCE, "moisture content [% dry mass]", HUMIDITY, computed, table, 0.06,
                axis="relative humidity [%]", curve=curve,
            ),
            compare(
                f"{t:.1f} °C, coefficients in °F", FORM_SOURCE, "moisture content by the other form [% dry mass]",
                HUMIDITY, computed, moisture_in_fahrenheit(fahrenheit, HUMIDITY / 100.0), 0.05,
                axis="relative humidity [%]",
            ),
        ]  # fmt: skip
    return found


def critical(t: float, percent: float) -> float:
    """Hours from no to full activation."""
    return (2.3 * t + 0.035 * percent - 0.024 * t * percent) / (-42.9 + 0.14 * t + 0.45 * percent) * 720.0


def rate(t: float, percent: float) -> float:
    """Mass loss once active [% per h]."""
    return -5.96e-2 + 1.96e-4 * t + 6.25e-4 * percent


def decay_constants() -> list[Comparison]:
    """Time to full activation and rate of mass loss over temperature, at 95, 97 and 100 %.

    t_crit = 720 (2.3 t + 0.035 RH - 0.024 t RH)/(-42.9 + 0.14 t + 0.45 RH) hours,
    rate = -5.96e-2 + 1.96e-4 t + 6.25e-4 RH percent per hour, where RH is 95 % or more and t above 0 °C.
    """
    t = np.array([5.0, 10.0, 15.0, 20.0, 25.0, 30.0])
    found = []
    for percent in (95.0, 97.0, 100.0):
        for quantity, computed, exact in (
            ("time to full activation [h]", critical_hours(t, percent / 100.0), critical),
            ("mass loss [% per h]", loss_rate(t, percent / 100.0), rate),
        ):
            expected = [exact(float(v), percent) for v in t]
            found.append(
                compare(f"{percent:g} %", VIITANEN, quantity, t, computed, expected, 1e-9, RELATIVE,
                        axis="temperature [°C]")
            )  # fmt: skip
    return found


def decay_constant_conditions() -> list[Comparison]:
    """Mass loss of pine sapwood at constant conditions, 300 days.

    Straight line from t_crit on: loss = rate (t - t_crit).  The package counts in whole hours and begins
    with the hour after activation is full; the limit is two hours' loss.
    """
    days = np.arange(20, 301, 20)
    found = []
    for t, percent in ((5.0, 95.0), (10.0, 95.0), (20.0, 95.0), (20.0, 97.0), (20.0, 100.0)):
        hours = 24 * days[-1]
        lost = decay(np.full(hours, t), np.full(hours, percent / 100.0)).mass_loss[24 * days - 1]
        expected = rate(t, percent) * np.maximum(24.0 * days - critical(t, percent), 0.0)
        onset = critical(t, percent) / 24.0
        found.append(
            compare(
                f"{t:g} °C, {percent:g} %", VIITANEN, "mass loss [% dry mass]", days, lost, expected,
                2.0 * rate(t, percent), axis="time [d]",
                curve=([0.0, onset, 300.0], [0.0, 0.0, rate(t, percent) * (7200.0 - critical(t, percent))]),
            )
        )  # fmt: skip
    return found


def decay_cycles() -> list[Comparison]:
    """Wet and dry months by turns for two years: activation rises and recedes, mass is lost while it is full.

    60 days at 20 °C and 97 %, 60 days at 20 °C and 70 %.  Straight lines: activation + t/t_crit while wet,
    - t/17520 h while dry, between 0 and 1; loss at the steady rate in wet hours with full activation.
    Limits: two hours' change in each of the six wet spells.
    """
    spell, turns, t, percent = 60 * 24, 12, 20.0, 97.0
    wet = np.arange(turns) % 2 == 0
    active, lost, rows = 0.0, 0.0, []
    for is_wet in wet:
        if is_wet:
            waiting = min((1.0 - active) * critical(t, percent), spell)
            active = min(active + spell / critical(t, percent), 1.0)
            lost += rate(t, percent) * (spell - waiting)
        else:
            active = max(active - spell / 17520.0, 0.0)
        rows.append((active, lost))
    expected = np.array(rows)
    found = decay(np.full(turns * spell, t), np.repeat(np.where(wet, percent / 100.0, 0.7), spell))
    at = spell * np.arange(1, turns + 1) - 1
    days = 60.0 * np.arange(1, turns + 1)
    return [
        compare("60 days wet, 60 dry", VIITANEN, "activation [-]", days, found.activation[at], expected[:, 0], 1e-9,
                axis="time [d]"),
        compare("60 days wet, 60 dry", VIITANEN, "mass loss [% dry mass]", days, found.mass_loss[at],
                expected[:, 1], 12.0 * rate(t, percent), axis="time [d]"),
    ]  # fmt: skip
