"""The small plot of the capacity table: a dot a reading against the ruled limit."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from lugbook.assess.assessment import CapacityRow

__all__ = ["Scale", "scale_of"]

_CELLS = 23
_STEPS = (5, 10, 20, 25, 50, 100, 200, 500)


@dataclass(frozen=True, slots=True)
class Scale:
    """Amperes along a line of character cells, from nought on.

    Args:
        top_a: Current at the last cell. [A]
        limit_a: The limit; None while it is unknown. [A]
    """

    top_a: float
    limit_a: float | None

    def axis(self) -> str:
        """Return the axis: nought, the limit, the top."""
        cells = [" "] * _CELLS
        top = f"{self.top_a:g} A"
        self._write(cells, "0", 0)
        if self.limit_a is not None:
            text = f"{self.limit_a:g}"
            self._write(cells, text, self._cell(self.limit_a) - len(text) // 2)
        free = _CELLS - len(top)
        if not "".join(cells[free - 1 :]).strip():
            self._write(cells, top, free)
        return "".join(cells)

    def line(self, row: CapacityRow) -> str:
        """Return the line of a reading: its dot, its range, the limit.

        A dot that falls on the limit's own cell steps aside to the side on which the
        judgement puts it.
        """
        cells = [" "] * _CELLS
        limit = None if self.limit_a is None else self._cell(self.limit_a)
        if row.span_a is not None:
            for place in range(
                self._cell(row.span_a[0]), self._cell(row.span_a[1]) + 1
            ):
                cells[place] = "─"
        if limit is not None:
            cells[limit] = "│" if row.permitted else "┊"
        if row.amperes is not None:
            place = self._cell(row.amperes)
            if limit is not None and self.limit_a is not None:
                over = row.amperes > self.limit_a
                if over and place <= limit:
                    place = limit + 1
                if not over and place >= limit:
                    place = limit - 1
            cells[place] = "•"
        return "".join(cells)

    def _cell(self, current_a: float) -> int:
        return min(_CELLS - 2, max(1, round(current_a / self.top_a * (_CELLS - 2))))

    @staticmethod
    def _write(cells: list[str], text: str, start: int) -> None:
        start = max(0, min(start, len(cells) - len(text)))
        cells[start : start + len(text)] = text


def scale_of(rows: Sequence[CapacityRow]) -> Scale | None:
    """A scale on which every reading and the limit have a place.

    Args:
        rows: The readings. [-]

    Returns:
        The scale; None where no reading has a current. [-]
    """
    loads = [row.amperes for row in rows if row.amperes is not None]
    if not loads:
        return None
    limit_a = next((row.limit_a for row in rows if row.limit_a is not None), None)
    ends = [row.span_a[1] for row in rows if row.span_a is not None]
    most_a = max(*loads, *ends, limit_a or 0.0, 1.0)
    step_a = next(
        (s for s in _STEPS if most_a / s <= 8), 10 ** math.ceil(math.log10(most_a))
    )
    return Scale(float(step_a * math.ceil(most_a / step_a)), limit_a)
