"""Sparse linear equations for circuits, in plain Python numbers.

A house has some fifty unknowns and two or three entries a row, so rows as dictionaries
beat a dense array and need no library. Pivots are chosen by Markowitz's rule within a
threshold: few entries first, but never a small number.
"""

from __future__ import annotations

from dataclasses import dataclass
from heapq import heapify, heappop, heappush

from lugbook.errors import OutOfRange

__all__ = ["Factors", "factorize"]

# Of a row's largest entry: below, a pivot is not taken while a larger one is there.
_PIVOT_FRACTION = 0.1
# Of a row's largest entry at the start: below, what is left of a row is rounding only.
_SINGULAR_FRACTION = 1e-13


@dataclass(frozen=True, slots=True)
class _Step:
    row: int
    column: int
    pivot: complex
    rest: tuple[tuple[int, complex], ...]
    below: tuple[tuple[int, complex], ...]


@dataclass(frozen=True, slots=True)
class Factors:
    """Factors of a square matrix, ready to solve for many right-hand sides."""

    steps: tuple[_Step, ...]

    def solve(self, right: list[complex]) -> list[complex]:
        """Return x with matrix times x equal to `right`, which is left as it was."""
        work = list(right)
        for step in self.steps:
            known = work[step.row]
            if known:
                for row, factor in step.below:
                    work[row] -= factor * known
        answer: list[complex] = [0.0] * len(work)
        for step in reversed(self.steps):
            total = work[step.row]
            for column, entry in step.rest:
                total -= entry * answer[column]
            answer[step.column] = total / step.pivot
        return answer


def factorize(matrix: list[dict[int, complex]]) -> Factors:
    """Factors of a sparse square matrix.

    Args:
        matrix: One dictionary per row, column to entry; left as it was. [-]

    Returns:
        Its factors. [-]

    Raises:
        OutOfRange: The matrix is singular.

    Valid for:
        Matrices of circuits up to a few hundred unknowns.

    Source:
        markowitz-1957, elimination form of the inverse (from memory)

    Checked by:
        test_linear_equations_are_solved, test_a_singular_matrix_is_refused

    Example:
        >>> factorize([{0: 2.0, 1: 1.0}, {0: 1.0}]).solve([5.0, 2.0])
        [2.0, 1.0]
    """
    rows = [dict(row) for row in matrix]
    scale = [max(map(abs, row.values()), default=0.0) for row in rows]
    users: list[set[int]] = [set() for _ in rows]
    for number, row in enumerate(rows):
        for column in row:
            users[column].add(number)
    # Rows wait with their length; one whose length has changed is entered again.
    waiting = [(len(row), number) for number, row in enumerate(rows)]
    heapify(waiting)
    done: set[int] = set()
    steps = []
    while waiting:
        length, number = heappop(waiting)
        row = rows[number]
        if number in done or length != len(row):
            continue
        done.add(number)
        largest = max(map(abs, row.values()), default=0.0)
        if not largest > _SINGULAR_FRACTION * scale[number]:
            raise OutOfRange("the circuit's equations have no single solution")
        column = min(
            (name for name in row if abs(row[name]) >= _PIVOT_FRACTION * largest),
            key=lambda name: len(users[name]),
        )
        pivot = row.pop(column)
        for name in row:
            users[name].discard(number)
        users[column].discard(number)
        rest = tuple(row.items())
        below = []
        for other in users[column]:
            target = rows[other]
            factor = target.pop(column) / pivot
            below.append((other, factor))
            for name, entry in rest:
                if name in target:
                    target[name] -= factor * entry
                else:
                    target[name] = -factor * entry
                    users[name].add(other)
            heappush(waiting, (len(target), other))
        steps.append(_Step(number, column, pivot, rest, tuple(below)))
    return Factors(tuple(steps))
