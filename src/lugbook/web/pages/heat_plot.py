"""Where each point of the heat plot stands: its range, its middle, its own limit."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from lugbook.assess.assessment import Forecast, ForecastPoint
from lugbook.finding import Outcome
from lugbook.report.figures import degrees_text
from lugbook.report.forecast_tables import by_margin, short_name

__all__ = ["Bar", "HeatPlot", "heat_plots"]

_TICK_C = 10
_TICK_NARROW_C = 20


@dataclass(frozen=True, slots=True)
class Bar:
    """One point: from its surroundings to its range, with middle and limit."""

    label: str
    label_y: float
    y: float
    ambient_x: float
    low_x: float
    middle_x: float
    high_x: float
    limit_x: float
    text: str
    over: bool


@dataclass(frozen=True, slots=True)
class HeatPlot:
    """The plot in one of its two widths, ready to be drawn."""

    kind: str
    width: float
    height: float
    left: float
    right: float
    top: float
    bottom: float
    ticks: tuple[tuple[float, str], ...]
    bars: tuple[Bar, ...]


@dataclass(frozen=True, slots=True)
class _Frame:
    kind: str
    width: float
    left: float
    right: float
    label_height: float
    bar_height: float
    tick_c: int


_WIDE = _Frame("wide", 860, 300, 730, 0, 30, _TICK_C)
_NARROW = _Frame("narrow", 340, 4, 330, 21, 22, _TICK_NARROW_C)
_TOP = 12.0


def heat_plots(found: Forecast | None) -> tuple[HeatPlot, ...]:
    """The plot for a wide page and for a phone, the least room on top.

    Args:
        found: The forecast. [-]

    Returns:
        Wide and narrow; nothing while no point has both temperature and limit. [-]
    """
    shown = [
        point
        for point in by_margin(found.points if found else ())
        if point.middle_c is not None
    ]
    if not shown:
        return ()
    return tuple(_plot(shown, frame) for frame in (_WIDE, _NARROW))


def _plot(points: Sequence[ForecastPoint], frame: _Frame) -> HeatPlot:
    coolest_c = min(each for point in points for each in _ends(point))
    hottest_c = max(each for point in points for each in _ends(point))
    first_c = frame.tick_c * math.floor(coolest_c / frame.tick_c)
    last_c = frame.tick_c * math.ceil(hottest_c / frame.tick_c)
    per_k = (frame.right - frame.left) / max(last_c - first_c, frame.tick_c)

    def x_of(amount_c: float) -> float:
        return frame.left + (amount_c - first_c) * per_k

    bars = []
    y = _TOP
    for point in points:
        y += frame.label_height + frame.bar_height
        low_c, middle_c, high_c, limit_c, ambient_c = _ends(point)
        middle_y = y - frame.bar_height / 2
        bars.append(
            Bar(
                label=short_name(point.name),
                label_y=middle_y + 5 if not frame.label_height else middle_y - 13,
                y=middle_y,
                ambient_x=x_of(ambient_c),
                low_x=x_of(low_c),
                middle_x=x_of(middle_c),
                high_x=x_of(high_c),
                limit_x=x_of(limit_c),
                text=f"{degrees_text(middle_c)} of {degrees_text(limit_c)}",
                over=point.outcome is Outcome.FALLS_SHORT,
            )
        )
    bottom = y + 6
    return HeatPlot(
        kind=frame.kind,
        width=frame.width,
        height=bottom + 28,
        left=frame.left,
        right=frame.right,
        top=_TOP,
        bottom=bottom,
        ticks=tuple(
            (x_of(c), str(c)) for c in range(first_c, last_c + 1, frame.tick_c)
        ),
        bars=tuple(bars),
    )


def _ends(point: ForecastPoint) -> tuple[float, float, float, float, float]:
    """Return low, middle, high, limit and ambient; a missing end is the middle."""
    middle_c = point.middle_c or 0.0
    return tuple(  # type: ignore[return-value]
        middle_c if each is None else each
        for each in (
            point.low_c,
            middle_c,
            point.high_c,
            point.limit_c,
            point.ambient_c,
        )
    )
