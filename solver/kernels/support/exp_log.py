"""Kernels of powers of e and logarithms, written so that the compiler does several at once."""

from __future__ import annotations

import numpy as np

from stemwall.solver.kernels.support.jit import fused_kernel

# Powers of e: LN_2 and LN_2_REST add up to ln 2 to more digits than a number holds
PER_LN_2, LN_2, LN_2_REST = 1.4426950408889634, 0.6931471803691238, 1.9082149292705877e-10
ROUNDING = 1.5 * 2.0**52
EXPONENT_BITS, EXPONENT_OF_ONE = 52, 1023
BITS_OF_ROOT_HALF = 0x3FE6A09E667F3BCC


@fused_kernel
def exponentials(x):
    """e^x and e^-x to 4e-16 for |x| < 690; NaN for NaN.

    Written out because a call to a library keeps the processor from doing several at once.
    x = k ln 2 + r with k whole: cosh r and sinh r are summed to r^13, which leaves 1e-17, and k is
    added to the exponent of the number.  The sum with ROUNDING has k in its last bits.
    """
    shifted = min(max(x * PER_LN_2, -1000.0), 1000.0) + ROUNDING
    k = shifted - ROUNDING
    r = (x - k * LN_2) - k * LN_2_REST
    z = r * r
    even = 1.0 / 3628800.0 + z * (1.0 / 479001600.0)
    even = 1.0 / 40320.0 + z * even
    even = 1.0 / 720.0 + z * even
    even = 1.0 / 24.0 + z * even
    even = 0.5 + z * even
    even = 1.0 + z * even
    odd = 1.0 / 39916800.0 + z * (1.0 / 6227020800.0)
    odd = 1.0 / 362880.0 + z * odd
    odd = 1.0 / 5040.0 + z * odd
    odd = 1.0 / 120.0 + z * odd
    odd = 1.0 / 6.0 + z * odd
    odd = r + r * z * odd
    bits = np.float64(shifted).view(np.int64)
    up = np.int64((EXPONENT_OF_ONE + bits) << EXPONENT_BITS).view(np.float64)
    down = np.int64((EXPONENT_OF_ONE - bits) << EXPONENT_BITS).view(np.float64)
    return (even + odd) * up, (even - odd) * down


@fused_kernel
def exponential(x):
    """e^x, see `exponentials`."""
    return exponentials(x)[0]


@fused_kernel
def logarithm(x):
    """Natural logarithm to 5e-16 of a number > 1e-300, inlined like `exponentials`.

    x = 2^k m with m between the roots of 1/2 and 2: ln m = 2 artanh((m - 1) / (m + 1)), whose series to
    the 21st power leaves 2e-17.
    """
    bits = np.float64(x).view(np.int64)
    k = (bits - BITS_OF_ROOT_HALF) >> EXPONENT_BITS
    m = np.int64(bits - (k << EXPONENT_BITS)).view(np.float64)
    r = (m - 1.0) / (m + 1.0)
    z = r * r
    p = 1.0 / 19.0 + z * (1.0 / 21.0)
    p = 1.0 / 17.0 + z * p
    p = 1.0 / 15.0 + z * p
    p = 1.0 / 13.0 + z * p
    p = 1.0 / 11.0 + z * p
    p = 1.0 / 9.0 + z * p
    p = 1.0 / 7.0 + z * p
    p = 0.2 + z * p
    p = 1.0 / 3.0 + z * p
    return k * (LN_2 + LN_2_REST) + 2.0 * (r + r * z * p)
