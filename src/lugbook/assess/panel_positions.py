"""Where a breaker sits: rows of a panel, legs of the bus, neighbours.

House panels number their spaces in two columns, odd at the left and even at the right;
each row takes one leg, and the rows take them in turn. Common practice of makers, no
source: some old and some small panels differ, so the label's diagram goes before it.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

__all__ = ["beside", "free_pairs", "is_pair", "leg_of", "opposite", "row_of"]


def row_of(position: int) -> int:
    """Return the row of a position, counted from 0 at the top.

    Example:
        >>> row_of(1), row_of(2), row_of(27)
        (0, 0, 13)
    """
    return (position - 1) // 2


def leg_of(position: int) -> str:
    """Return the leg a position takes from, "A" in the first row.

    Example:
        >>> leg_of(1), leg_of(2), leg_of(3), leg_of(4)
        ('A', 'A', 'B', 'B')
    """
    return "AB"[row_of(position) % 2]


def is_pair(positions: Sequence[int]) -> bool:
    """Return whether two positions lie one above the other on the same side.

    Example:
        >>> is_pair((27, 29)), is_pair((27, 28)), is_pair((27, 31))
        (True, False, False)
    """
    return len(positions) == 2 and abs(positions[0] - positions[1]) == 2


def free_pairs(free: Iterable[int]) -> tuple[tuple[int, int], ...]:
    """Return the pairs of free positions that a two-pole breaker fits.

    Example:
        >>> free_pairs([27, 28, 29, 30, 4])
        ((27, 29), (28, 30))
    """
    held = sorted(set(free))
    return tuple((one, one + 2) for one in held if one + 2 in held)


def opposite(position: int) -> int:
    """Return the position across the bus, which shares the stab.

    Example:
        >>> opposite(27), opposite(28)
        (28, 27)
    """
    return position + 1 if position % 2 else position - 1


def beside(positions: Iterable[int]) -> tuple[int, ...]:
    """Return the positions that touch some positions: above, below, across.

    Example:
        >>> beside((27, 29))
        (25, 28, 30, 31)
    """
    own = set(positions)
    near = {p + step for p in own for step in (-2, 2)} | {opposite(p) for p in own}
    return tuple(sorted(p for p in near - own if p > 0))
