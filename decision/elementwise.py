"""One spelling of a formula for single floats and for NumPy arrays.

Arithmetic and powers already work for both; these few functions cover what does not. With floats
they cost what plain Python costs, which matters in a decision that asks for dozens of points.
"""

from __future__ import annotations

import math
from bisect import bisect_right
from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

FloatArray = npt.NDArray[np.float64]
BoolArray = npt.NDArray[np.bool_]

Numbers = float | FloatArray
"""A number or an array of numbers; arrays broadcast."""

Truths = bool | BoolArray


def greater(a: Numbers, b: Numbers) -> Numbers:
    """The greater of two, element by element."""
    if isinstance(a, float) and isinstance(b, float):
        return a if a > b else b
    return np.maximum(a, b)


def lesser(a: Numbers, b: Numbers) -> Numbers:
    """The lesser of two, element by element."""
    if isinstance(a, float) and isinstance(b, float):
        return a if a < b else b
    return np.minimum(a, b)


def choose(condition: Truths, if_true: Numbers, if_false: Numbers) -> Numbers:
    """One of two values, element by element; both are computed, so both must be defined."""
    if isinstance(condition, bool):
        return if_true if condition else if_false
    return np.where(condition, if_true, if_false)


def exponential(x: Numbers) -> Numbers:
    """The exponential function."""
    return math.exp(x) if isinstance(x, float) else np.exp(x)


def power(x: Numbers, exponent: float) -> Numbers:
    """A real power of a number that is not negative."""
    result: Numbers = x**exponent
    return result


def logarithm(x: Numbers) -> Numbers:
    """Natural logarithm."""
    return math.log(x) if isinstance(x, float) else np.log(x)


def interpolated(x: float, xs: Sequence[float], ys: Sequence[float]) -> float:
    """The table at one place: linear, the nearest beyond its ends, to the bit as `numpy.interp`.

    `xs` rise strictly. A scalar by way of an array costs five times as much.
    """
    above = bisect_right(xs, x)
    if above == 0:
        return ys[0]
    low = above - 1
    if above == len(xs) or xs[low] == x:
        return ys[low]
    return (ys[above] - ys[low]) / (xs[above] - xs[low]) * (x - xs[low]) + ys[low]


def extent(x: Numbers) -> tuple[float, float]:
    """The least and the greatest element."""
    if isinstance(x, int | float):
        return float(x), float(x)
    return float(x.min()), float(x.max())
