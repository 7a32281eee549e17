"""Where each dot of the need plot stands: a setting against the mornings it misses."""

from __future__ import annotations

import math
from dataclasses import dataclass

from lugbook.assess.need import Need
from lugbook.report.figures import setting_text
from lugbook.report.need_text import count_text

__all__ = ["NeedPlot", "Step", "need_plots"]

_TICKS = (1, 2, 5, 10, 20, 50, 100, 200)
_MOST_TICKS = 5
_TOP, _ROW = 12.0, 28.0
_TEXT_WIDTH = 34.0  # of a figure such as 365 beside its dot


@dataclass(frozen=True, slots=True)
class Step:
    """One setting, with its dot and its figure."""

    label: str
    y: float
    x: float
    text: str
    text_x: float
    text_on_left: bool
    serves: bool
    smallest: bool


@dataclass(frozen=True, slots=True)
class NeedPlot:
    """The plot in one of its two widths, ready to be drawn."""

    kind: str
    width: float
    height: float
    left: float
    right: float
    top: float
    bottom: float
    ticks: tuple[tuple[float, str], ...]
    steps: tuple[Step, ...]


def need_plots(need: Need) -> tuple[NeedPlot, ...]:
    """The plot for a wide page and for a phone.

    Args:
        need: The need. [-]

    Returns:
        Wide and narrow; nothing while driving is unknown. [-]
    """
    if not need.settings:
        return ()
    return (
        _plot(need, "wide", 860.0, 190.0, 800.0),
        _plot(need, "narrow", 340.0, 128.0, 322.0),
    )


def _plot(need: Need, kind: str, width: float, left: float, right: float) -> NeedPlot:
    most = max(1.0, *(each.mornings_missed_per_year for each in need.settings))
    tick = next((each for each in _TICKS if most / each <= _MOST_TICKS), _TICKS[-1])
    ticks = [tick * number for number in range(math.ceil(most / tick) + 1)]
    per_morning = (right - left) / ticks[-1]
    steps = []
    for number, each in enumerate(need.settings):
        x = left + each.mornings_missed_per_year * per_morning
        on_left = x > right - _TEXT_WIDTH
        tags = [
            word
            for word, is_so in (
                ("smallest", each.setting_a == need.smallest_setting_a),
                ("asked for", each.setting_a == need.asked_a),
            )
            if is_so
        ]
        tag = f", {' and '.join(tags)}" if tags else ""
        steps.append(
            Step(
                label=f"{setting_text(each.setting_a)}{tag}",
                y=_TOP + _ROW * (number + 0.5),
                x=x,
                text=count_text(each.mornings_missed_per_year),
                text_x=x - 12 if on_left else x + 12,
                text_on_left=on_left,
                serves=each.serves,
                smallest=each.setting_a == need.smallest_setting_a,
            )
        )
    bottom = _TOP + _ROW * len(steps) + 6
    return NeedPlot(
        kind=kind,
        width=width,
        height=bottom + 28,
        left=left,
        right=right,
        top=_TOP,
        bottom=bottom,
        ticks=tuple((left + count * per_morning, str(count)) for count in ticks),
        steps=tuple(steps),
    )
