"""Arithmetic that works on plain floats and on numpy arrays alike.

Physics is written once. The terminal's plain path calls it with floats and must not
pay for importing numpy; a search over thousands of circuits calls it with arrays.
Where the two differ (a logarithm, a choice, a range check) the difference is here.
Annotations say `float`; every function also takes arrays of one shape.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any, cast

from lugbook.errors import OutOfRange

__all__ = ["bisect", "every", "exp", "log", "require_between", "where"]


def _is_array(given: object) -> bool:
    return getattr(given, "ndim", 0) > 0


def log(argument: float) -> float:
    """Return the natural logarithm."""
    if _is_array(argument):
        import numpy as np

        return cast(float, np.log(argument))
    return math.log(argument)


def exp(argument: float) -> float:
    """Return e to the power of the argument."""
    if _is_array(argument):
        import numpy as np

        return cast(float, np.exp(argument))
    return math.exp(argument)


def where(condition: bool, when_true: float, when_false: float) -> float:
    """Return one of two numbers, element by element."""
    if _is_array(condition):
        import numpy as np

        return cast(float, np.where(condition, when_true, when_false))
    return when_true if condition else when_false


def every(condition: bool) -> bool:
    """Return whether the condition holds for each element."""
    elements: Any = condition
    return bool(elements.all()) if _is_array(condition) else bool(condition)


def require_between(
    what: str, given: float, low: float, high: float, unit: str, mend: str = ""
) -> None:
    """Refuse a quantity outside its range; NaN is outside every range.

    Args:
        what: What the quantity is, in words. [-]
        given: The quantity. [as `unit` says]
        low: Least accepted. [as `unit` says]
        high: Most accepted. [as `unit` says]
        unit: Unit, for the message. [-]
        mend: What to do about it; may be empty. [-]

    Raises:
        OutOfRange: Any element lies outside.
    """
    if every((given >= low) & (given <= high)):
        return
    offender: Any = given
    if _is_array(given):
        array: Any = given
        offender = array[~((array >= low) & (array <= high))][0]
    unit = f" {unit}" if unit else ""
    raise OutOfRange(
        f"{what} is {offender:g}{unit}; accepted: {low:g} to {high:g}{unit}."
        + (f" {mend}" if mend else "")
    )


def bisect(
    excess: Callable[[float], float], low: float, high: float, steps: int = 40
) -> float:
    """Return where a function passes from negative to positive, by halving.

    Each step halves the bracket, so the answer can never run away; 40 steps narrow
    200 K to 2e-10 K.

    Args:
        excess: Function that is negative below the root and positive above. [-]
        low: Lower end of the bracket. [as the argument]
        high: Upper end of the bracket. [as the argument]
        steps: Number of halvings. [-]

    Returns:
        Middle of the last bracket. [as the argument]

    Example:
        >>> round(bisect(lambda side: side * side - 2.0, 0.0, 2.0), 9)
        1.414213562
    """
    for _ in range(steps):
        middle = 0.5 * (low + high)
        below = excess(middle) < 0
        low = where(below, middle, low)
        high = where(below, high, middle)
    return 0.5 * (low + high)
