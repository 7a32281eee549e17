"""Small helpers on arrays that several modules of this room need."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from lugbook.demand.series import Integers

__all__ = ["commonest"]


def commonest(numbers: Integers) -> int:
    """The commonest of some whole numbers, the least of several.

    Args:
        numbers: At least one. [-]

    Returns:
        The number. [-]
    """
    import numpy as np

    if (numbers == numbers[0]).all():
        return int(numbers[0])
    ordered = np.sort(numbers)
    first = np.flatnonzero(np.append(True, np.diff(ordered) != 0))
    counts = np.diff(np.append(first, len(ordered)))
    return int(ordered[first[np.argmax(counts)]])
