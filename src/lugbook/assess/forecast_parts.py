"""What every forecast point is made of, and how it is judged."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from lugbook.assess.assessment import ForecastPoint
from lugbook.finding import (
    Citation,
    Comparison,
    Finding,
    Line,
    Outcome,
    SignalWord,
    Weight,
    Working,
    compare,
)
from lugbook.physics.contact import PriorRange
from lugbook.quantities import Quantity, show

__all__ = [
    "CEILING_C",
    "Limit",
    "Warmed",
    "celsius",
    "combined",
    "finding_of",
    "judged",
    "point_of",
    "shifted",
]

CEILING_C = 150.0  # where the heat model stops answering
_PASSES = (Outcome.MEETS, Outcome.NARROW)


@dataclass(frozen=True, slots=True)
class Limit:
    """What a point may warm to.

    Args:
        sure_c: Limit with unread markings taken at their worst. [°C]
        hopeful_c: Limit with unread markings taken at their best. [°C]
        lines: Where it comes from. [-]
        citation: The same as one citation. [-]
    """

    sure_c: float
    hopeful_c: float
    lines: tuple[Line, ...]
    citation: Citation | None


@dataclass(frozen=True, slots=True)
class Warmed:
    """One point at one current, before it is judged.

    Args:
        id: Closed word, a dot, and the section where there are several. [-]
        name: What it is, in words. [-]
        kind: "conductor", "terminal", "face" or "surface". [-]
        current_a: The current. [A]
        ambient_c: Air or earth around; None if unknown. [°C]
        span: Where it settles, 5 to 95 %, infinite where it settles nowhere under
            the ceiling; None if unknown. [°C]
        limit: Its limit; None where none applies. [-]
        drivers: What makes the range wide, the largest first. [-]
        lines: The arithmetic. [-]
        missing: What to state where it is unknown, in words. [-]
    """

    id: str
    name: str
    kind: str
    current_a: float
    ambient_c: float | None = None
    span: PriorRange | None = None
    limit: Limit | None = None
    drivers: tuple[str, ...] = ()
    lines: tuple[Line, ...] = ()
    missing: str = ""


def combined(
    middle_c: float, parts: Mapping[str, tuple[float, float]]
) -> tuple[PriorRange, tuple[str, ...]]:
    """A middle with independent uncertainties: half-widths add as squares.

    Args:
        middle_c: The middle. [°C]
        parts: By name, how far each may lower and raise it, both positive. [K]

    Returns:
        The range, and the names with the widest first. [°C]
    """
    below_k = math.hypot(*(down for down, _ in parts.values()))
    above_k = math.hypot(*(up for _, up in parts.values()))
    widest = sorted(parts, key=lambda name: -sum(parts[name]))
    names = tuple(name for name in widest if sum(parts[name]) > 0)
    return PriorRange(middle_c - below_k, middle_c, middle_c + above_k), names


def shifted(span: PriorRange, low_k: float, high_k: float) -> PriorRange:
    """A range widened by one more independent part.

    Args:
        span: The range. [°C]
        low_k: How far the part may lower it. [K]
        high_k: How far the part may raise it. [K]

    Returns:
        The wider range. [°C]
    """
    return PriorRange(
        span.median - math.hypot(span.median - span.low, low_k),
        span.median,
        span.median + math.hypot(span.high - span.median, high_k),
    )


def judged(warmed: Warmed) -> Comparison | None:
    """A point against its limit; None where no limit applies.

    It cannot be told where only an unread marking stands between passing and not.

    Args:
        warmed: The point. [-]

    Returns:
        Outcome and margin. [K]
    """
    if warmed.limit is None:
        if warmed.span is None and warmed.missing:
            return compare(found=None, limit=None)
        return None
    sure = _compared(warmed, warmed.limit.sure_c)
    hopeful = _compared(warmed, warmed.limit.hopeful_c)
    if sure.outcome is Outcome.FALLS_SHORT and hopeful.outcome in _PASSES:
        return Comparison(Outcome.CANNOT_TELL, sure.margin)
    return sure


def _compared(warmed: Warmed, limit_c: float) -> Comparison:
    if warmed.span is None:
        return compare(found=None, limit=limit_c)
    low, middle, high = (min(each, CEILING_C) for each in _ends(warmed.span))
    return compare(
        found=middle, limit=limit_c, kind="kelvin", uncertainty=(high - low) / 2
    )


def _ends(span: PriorRange) -> tuple[float, float, float]:
    return span.low, span.median, span.high


def point_of(warmed: Warmed) -> ForecastPoint:
    """A point as the assessment holds it.

    Args:
        warmed: The point. [-]

    Returns:
        The point, judged. [-]
    """
    span, limit = warmed.span, warmed.limit
    found = judged(warmed)
    return ForecastPoint(
        id=warmed.id,
        name=warmed.name,
        kind=warmed.kind,
        setting_a=warmed.current_a,
        ambient_c=warmed.ambient_c,
        low_c=_finite(span.low if span else None),
        middle_c=_finite(span.median if span else None),
        high_c=_finite(span.high if span else None),
        limit_c=limit.sure_c if limit else None,
        margin_k=found.margin if found else None,
        outcome=found.outcome if found else None,
        citation=limit.citation if limit else None,
        drivers=warmed.drivers,
        working=_working(warmed),
    )


def _finite(number: float | None) -> float | None:
    return number if number is not None and math.isfinite(number) else None


def _working(warmed: Warmed) -> Working:
    lines = list(warmed.lines)
    if warmed.span is not None:
        low, middle, high = (_shown(each) for each in _ends(warmed.span))
        lines.append(
            Line(
                f"{warmed.name}, middle", _finite(warmed.span.median), "°C", "", middle
            )
        )
        lines.append(Line("range, 5 to 95 %", f"{low} to {high}"))
    if warmed.limit is not None:
        lines.extend(warmed.limit.lines)
    amperes = show(warmed.current_a, Quantity.CURRENT, "A")
    return Working(f"Forecast: {warmed.name} at {amperes}", tuple(lines))


def _shown(amount_c: float) -> str:
    return celsius(amount_c) if math.isfinite(amount_c) else f"over {CEILING_C:g} °C"


def celsius(amount_c: float) -> str:
    """Return a temperature in whole degrees; a forecast knows no tenths."""
    return show(amount_c, Quantity.TEMPERATURE, "°C", digits=0)


def finding_of(warmed: Warmed, lower: Iterable[Warmed]) -> Finding | None:
    """What a point's forecast asks of the person; None where no limit applies.

    A forecast is advice. Only where even its low end is over the limit must the plan
    change.

    Args:
        warmed: The point at the setting. [-]
        lower: The same point at lower settings. [-]

    Returns:
        The finding. [-]
    """
    found = judged(warmed)
    if found is None:
        return None
    low_c = None if warmed.span is None else min(warmed.span.low, CEILING_C)
    limit_c = warmed.limit.sure_c if warmed.limit else None
    certain = (
        found.outcome is Outcome.FALLS_SHORT
        and compare(found=low_c, limit=limit_c).outcome is Outcome.FALLS_SHORT
    )
    middle_c = None if warmed.span is None else warmed.span.median
    over = middle_c is not None and not math.isfinite(middle_c)
    return Finding(
        id=".".join(("forecast", warmed.id)),
        question=f"How warm will {warmed.name} get at the setting?",
        outcome=found.outcome,
        weight=Weight.MUST if certain else Weight.ADVICE,
        found=_shown(math.inf) if over else middle_c,
        limit=limit_c,
        unit="°C",
        margin=found.margin,
        citation=warmed.limit.citation if warmed.limit else None,
        working=point_of(warmed).working,
        next=_next(warmed, found, certain, lower),
        signal=SignalWord.WARNING if certain else None,
    )


def _next(
    warmed: Warmed, found: Comparison, certain: bool, lower: Iterable[Warmed]
) -> str:
    if warmed.span is None:
        return f"State {warmed.missing}." if warmed.missing else ""
    if found.outcome is Outcome.MEETS:
        return ""
    range_words = f"From {_shown(warmed.span.low)} to {_shown(warmed.span.high)}."
    if found.outcome is Outcome.CANNOT_TELL:
        return f"{range_words} Read the temperature marking of the terminals."
    cooler = next(
        (
            each
            for each in sorted(lower, key=lambda each: -each.current_a)
            if (result := judged(each)) and result.outcome in _PASSES
        ),
        None,
    )
    if found.outcome is Outcome.NARROW:
        return f"{range_words} Measure it in the first hours of full current."
    do = f"{range_words} {_REMEDIES[warmed.kind]}"
    if cooler is not None and cooler.span is not None:
        setting = show(cooler.current_a, Quantity.CURRENT, "A")
        do += f", or charge at {setting}: about {_shown(cooler.span.median)}"
    if not certain:
        do += ". It is a forecast: measure before you rely on either"
    return f"{do}."


_REMEDIES = {
    "conductor": "Take a larger conductor or a cooler way",
    "terminal": "Take equipment with more room, or cool the room",
    "face": "Leave a free space beside the breaker, or cool the room",
    "surface": "Keep hands and goods off it",
}
