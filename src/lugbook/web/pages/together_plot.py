"""Where each bar of the plot stands: highest of house and charger, against limits."""

from __future__ import annotations

import math
from dataclasses import dataclass

from lugbook.assess.together import Together, TogetherRow
from lugbook.report.figures import setting_text
from lugbook.report.together_text import pair_text, shown_rows

__all__ = ["TogetherBar", "TogetherPlot", "together_plots"]

_TICK_A = 50
_TOP = 34.0  # room for the names of the limits


@dataclass(frozen=True, slots=True)
class TogetherBar:
    """One setting started in one way."""

    label: str
    label_y: float
    y: float
    least_x: float
    most_x: float
    text: str
    over: bool


@dataclass(frozen=True, slots=True)
class TogetherPlot:
    """The plot in one of its two widths, ready to be drawn."""

    kind: str
    width: float
    height: float
    left: float
    right: float
    top: float
    bottom: float
    ticks: tuple[tuple[float, str], ...]
    limits: tuple[tuple[float, str], ...]
    bars: tuple[TogetherBar, ...]


@dataclass(frozen=True, slots=True)
class _Frame:
    kind: str
    width: float
    left: float
    right: float
    label_height: float
    bar_height: float


_WIDE = _Frame("wide", 860, 190, 690, 0, 24)
_NARROW = _Frame("narrow", 340, 4, 262, 20, 18)


def together_plots(found: Together) -> tuple[TogetherPlot, ...]:
    """The plot for a wide page and for a phone.

    Args:
        found: House and charging nights together. [-]

    Returns:
        Wide and narrow; nothing where nothing can be told. [-]
    """
    rows = [r for r in shown_rows(found) if math.isfinite(r.highest_a[1])]
    if found.basis is None or not rows:
        return ()
    return tuple(_plot(found, rows, frame) for frame in (_WIDE, _NARROW))


def _plot(found: Together, rows: list[TogetherRow], frame: _Frame) -> TogetherPlot:
    basis = found.basis
    limits_a = (basis.continuous_a, basis.rating_a) if basis else ()
    most_a = max(*limits_a, *(row.highest_a[1] for row in rows))
    last_a = _TICK_A * math.ceil(most_a / _TICK_A)
    step_a = _TICK_A * max(1, math.ceil(last_a / (8 * _TICK_A)))
    per_a = (frame.right - frame.left) / last_a
    bars = []
    y = _TOP
    for row in rows:
        y += frame.label_height + frame.bar_height
        middle = y - frame.bar_height / 2
        over = row.quarters_over_80[1] > 0
        bars.append(
            TogetherBar(
                label=f"{setting_text(row.setting_a)}, {found.rule_words(row.rule)}",
                label_y=middle - 12 if frame.label_height else middle + 5,
                y=middle,
                least_x=frame.left + row.highest_a[0] * per_a,
                most_x=frame.left + row.highest_a[1] * per_a,
                text=pair_text(row.quarters_over_80) if over else "none",
                over=over,
            )
        )
    return TogetherPlot(
        kind=frame.kind,
        width=frame.width,
        height=y + 34,
        left=frame.left,
        right=frame.right,
        top=_TOP,
        bottom=y + 6,
        ticks=tuple(
            (frame.left + a * per_a, str(a)) for a in range(0, last_a + 1, step_a)
        ),
        limits=tuple((frame.left + a * per_a, f"{a:g} A") for a in limits_a),
        bars=tuple(bars),
    )
