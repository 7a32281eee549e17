"""Where each dot of the capacity plot stands: one a reading, against the limit."""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import groupby

from lugbook.assess.assessment import CapacityRow
from lugbook.finding import Outcome
from lugbook.report.closed_words import charger_label
from lugbook.report.figures import amount_text, load_and_limit
from lugbook.web.pages import words

__all__ = ["Dot", "DotPlot", "Heading", "dot_plots"]

_TICKS = (5, 10, 20, 25, 50, 100, 200, 500)
_MOST_TICKS = {"wide": 8, "narrow": 5}


@dataclass(frozen=True, slots=True)
class Heading:
    """Name of a method, over its dots."""

    text: str
    y: float


@dataclass(frozen=True, slots=True)
class Dot:
    """One reading of a method, with its label and its figure."""

    label: str
    label_y: float
    x: float
    y: float
    text: str
    text_x: float
    text_on_left: bool
    permitted: bool
    over: bool
    range_x: tuple[float, float] | None = None


@dataclass(frozen=True, slots=True)
class DotPlot:
    """The plot in one of its two widths, ready to be drawn."""

    kind: str
    width: float
    height: float
    left: float
    right: float
    top: float
    bottom: float
    ticks: tuple[tuple[float, str], ...]
    limit_x: float | None
    limit_text: str
    limit_on_left: bool
    headings: tuple[Heading, ...]
    dots: tuple[Dot, ...]


@dataclass(frozen=True, slots=True)
class _Frame:
    kind: str
    width: float
    left: float
    right: float
    heading_height: float
    label_height: float
    dot_height: float


_WIDE = _Frame("wide", 860, 230, 790, 32, 0, 27)
_NARROW = _Frame("narrow", 340, 4, 276, 32, 20, 24)
_TOP = 34.0
_TEXT_WIDTH = 68.0  # of a figure such as 199.99 A beside its dot


def dot_plots(rows: tuple[CapacityRow, ...]) -> tuple[DotPlot, ...]:
    """The plot for a wide page and for a phone.

    Args:
        rows: Every method under every interpretation. [-]

    Returns:
        Wide and narrow; nothing when no row has a current. [-]
    """
    plotted = tuple(row for row in rows if row.amperes is not None)
    if not plotted:
        return ()
    return tuple(_plot(plotted, frame) for frame in (_WIDE, _NARROW))


def _plot(rows: tuple[CapacityRow, ...], frame: _Frame) -> DotPlot:
    limit_a = next((row.limit_a for row in rows if row.limit_a is not None), None)
    ticks_a = _ticks(rows, limit_a, frame.kind)
    per_a = (frame.right - frame.left) / ticks_a[-1]
    headings, dots, bottom = _stack(rows, frame, per_a)
    limit_x = None if limit_a is None else frame.left + limit_a * per_a
    return DotPlot(
        kind=frame.kind,
        width=frame.width,
        height=bottom + 44,
        left=frame.left,
        right=frame.right,
        top=_TOP,
        bottom=bottom,
        ticks=tuple((frame.left + a * per_a, amount_text(a)) for a in ticks_a),
        limit_x=limit_x,
        limit_text=_limit_text(limit_a),
        limit_on_left=limit_x is not None and limit_x > frame.width - 60,
        headings=headings,
        dots=dots,
    )


def _limit_text(limit_a: float | None) -> str:
    return "" if limit_a is None else f"service {load_and_limit(limit_a, limit_a)[1]}"


def _ticks(
    rows: tuple[CapacityRow, ...], limit_a: float | None, kind: str
) -> tuple[float, ...]:
    ends = [row.span_a[1] for row in rows if row.span_a]
    largest = max(limit_a or 0.0, *(row.amperes or 0.0 for row in rows), *ends, 1.0)
    step = next(
        (s for s in _TICKS if largest / s <= _MOST_TICKS[kind]),
        10.0 ** math.ceil(math.log10(largest)),
    )
    return tuple(step * n for n in range(math.ceil(largest / step) + 1))


def _stack(
    rows: tuple[CapacityRow, ...], frame: _Frame, per_a: float
) -> tuple[tuple[Heading, ...], tuple[Dot, ...], float]:
    headings: list[Heading] = []
    dots: list[Dot] = []
    y = _TOP
    for name, group in groupby(rows, key=words.method):
        y += frame.heading_height
        headings.append(Heading(name, y - 8))
        for row in group:
            label_y = y + frame.label_height - 4 if frame.label_height else 0.0
            y += frame.label_height + frame.dot_height
            middle = y - frame.dot_height / 2
            dots.append(_dot(row, label_y or middle + 5, middle, frame, per_a))
    return tuple(headings), tuple(dots), y + 6


def _dot(
    row: CapacityRow,
    label_y: float,
    middle: float,
    frame: _Frame,
    per_a: float,
) -> Dot:
    current_a = row.amperes or 0.0
    x = frame.left + current_a * per_a
    limit_x = frame.left + (row.limit_a or 0.0) * per_a
    range_x = None
    begins = x
    if row.span_a:
        range_x = (
            frame.left + row.span_a[0] * per_a,
            frame.left + row.span_a[1] * per_a,
        )
        begins = max(x, range_x[1])  # the figure stands clear of the range
    # Else the figure would cross the limit.
    on_left = 0 <= limit_x - x < _TEXT_WIDTH and not row.span_a
    if row.span_a and 0 <= limit_x - begins < _TEXT_WIDTH:
        begins = limit_x
    if range_x and begins + _TEXT_WIDTH > frame.width:
        on_left, x_text = True, min(x, range_x[0])
    else:
        x_text = x
    return Dot(
        label=charger_label(row.interpretation),
        label_y=label_y,
        x=x,
        y=middle,
        text=words.load_and_limit(row)[0],
        text_x=x_text - 12 if on_left else begins + 12,
        text_on_left=on_left,
        permitted=row.permitted,
        over=row.outcome is Outcome.FALLS_SHORT,
        range_x=range_x,
    )
