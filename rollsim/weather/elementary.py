"""Logarithm, cosine and sine as plain arithmetic, so that loops over lanes vectorise.

numba calls the C library for `math.log` and `math.cos`, one number at a time; these series are
as exact as a storm needs (relative error below 1e-12) and the same on every processor.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np
from numba import types
from numba.extending import intrinsic

from rollsim.compiled import inlined

_LOG_2 = math.log(2.0)
_ROOT_HALF = math.sqrt(0.5)
_MANTISSA = np.int64((1 << 52) - 1)
_EXPONENT_OF_HALF = np.int64(1022 << 52)
_BIAS = np.int64(1022)
_PLACES = np.int64(52)


@intrinsic
def _bits(typing_context: Any, value: Any) -> Any:
    """The 64 bits of a float as a whole number."""

    def generate(context: Any, builder: Any, signature: Any, arguments: Any) -> Any:
        return builder.bitcast(arguments[0], context.get_value_type(types.int64))

    return types.int64(types.float64), generate


@intrinsic
def _float(typing_context: Any, value: Any) -> Any:
    """The float that 64 bits stand for."""

    def generate(context: Any, builder: Any, signature: Any, arguments: Any) -> Any:
        return builder.bitcast(arguments[0], context.get_value_type(types.float64))

    return types.float64(types.int64), generate


@inlined
def minus_log(x: float) -> float:
    """−ln x for x in (0, 1].

    x = m 2^e with m about 1, and ln m = 2 (f + f³/3 + f⁵/5 + ..), f = (m − 1)/(m + 1).
    """
    bits: np.int64 = _bits(x)  # type: ignore[call-arg]
    exponent = float((bits >> _PLACES) - _BIAS)
    m = _float((bits & _MANTISSA) | _EXPONENT_OF_HALF)
    small = m < _ROOT_HALF
    m = 2.0 * m if small else m
    exponent = exponent - 1.0 if small else exponent
    f = (m - 1.0) / (m + 1.0)
    g = f * f
    series = 1.0 / 15.0
    series = series * g + 1.0 / 13.0
    series = series * g + 1.0 / 11.0
    series = series * g + 1.0 / 9.0
    series = series * g + 1.0 / 7.0
    series = series * g + 1.0 / 5.0
    series = series * g + 1.0 / 3.0
    series = series * g + 1.0
    return -(exponent * _LOG_2 + 2.0 * f * series)


_C = [(-1.0) ** n * math.pi ** (2 * n) / math.factorial(2 * n) for n in range(10)]
_S = [(-1.0) ** n * math.pi ** (2 * n + 1) / math.factorial(2 * n + 1) for n in range(10)]
_C0, _C1, _C2, _C3, _C4, _C5, _C6, _C7, _C8, _C9 = _C
_S0, _S1, _S2, _S3, _S4, _S5, _S6, _S7, _S8, _S9 = _S


@inlined
def turn(turns: float) -> tuple[float, float]:
    """Cosine and sine of an angle given in turns, by Taylor's series for half the angle."""
    x = turns - math.floor(turns + 0.5)
    y = x * x
    c = _C9
    c = c * y + _C8
    c = c * y + _C7
    c = c * y + _C6
    c = c * y + _C5
    c = c * y + _C4
    c = c * y + _C3
    c = c * y + _C2
    c = c * y + _C1
    c = c * y + _C0
    s = _S9
    s = s * y + _S8
    s = s * y + _S7
    s = s * y + _S6
    s = s * y + _S5
    s = s * y + _S4
    s = s * y + _S3
    s = s * y + _S2
    s = s * y + _S1
    s = (s * y + _S0) * x
    return 1.0 - 2.0 * s * s, 2.0 * s * c
