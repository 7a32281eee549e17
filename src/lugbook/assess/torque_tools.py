"""Which torque tool at hand can set a torque, and a reading whose unit looks wrong."""

from __future__ import annotations

from calendar import monthrange
from dataclasses import dataclass
from datetime import date
from itertools import permutations
from typing import Final

from lugbook.codebook.edition import Edition
from lugbook.finding import Line, Outcome, compare, worst
from lugbook.premises.evidence import Wrench
from lugbook.quantities import Quantity, in_unit, read, show

__all__ = ["TORQUE_UNITS", "ToolUse", "best_use", "question_reading", "tool_use"]

TORQUE_UNITS: Final = ("lbf·in", "lbf·ft", "N·m")
# Design decision: a reading this near to a ratio of two units is asked about.
_ASKED_WITHIN_FRACTION = 0.05
_GOOD = (Outcome.MEETS, Outcome.NARROW)


@dataclass(frozen=True, slots=True)
class ToolUse:
    """Whether one tool can set one torque.

    Args:
        wrench: Its id. [-]
        unit: Unit its scale is marked in; empty if not stated. [-]
        in_range: Whether the torque lies on its scale, and far enough up. [-]
        calibrated: Whether its calibration still holds on the day. [-]
        why: What is wrong or not known, in words; empty if nothing. [-]
        lines: The working. [-]
    """

    wrench: str
    unit: str
    in_range: Outcome
    calibrated: Outcome
    why: str
    lines: tuple[Line, ...]

    @property
    def outcome(self) -> Outcome:
        """Whether the tool will do, range and calibration together."""
        return worst((self.in_range, self.calibrated))


def tool_use(
    *, wrench: Wrench, target_n_m: float, limits: Edition, on: date
) -> ToolUse:
    """Whether a tool can set a torque: its scale, its good range, its calibration.

    Args:
        wrench: The tool. [-]
        target_n_m: The torque. [N·m]
        limits: Limits of the product standards. [-]
        on: The day. [-]

    Returns:
        What was found. [-]
    """
    unit = wrench.reads_in.value if wrench.reads_in else ""
    in_range, range_why, lines = _range(wrench, target_n_m, limits, unit or "lbf·in")
    calibrated, age_why, age_line = _calibration(wrench, limits, on)
    return ToolUse(
        wrench=wrench.id,
        unit=unit,
        in_range=in_range,
        calibrated=calibrated,
        why="; ".join(why for why in (range_why, age_why) if why),
        lines=(*lines, age_line),
    )


def best_use(uses: tuple[ToolUse, ...]) -> ToolUse | None:
    """The tool to take: one in its good range first, then one lately calibrated.

    Args:
        uses: Tools at hand. [-]

    Returns:
        The best of them; None if there is none. [-]
    """
    order = (
        Outcome.MEETS,
        Outcome.NARROW,
        Outcome.CANNOT_TELL,
        Outcome.FALLS_SHORT,
    )
    return min(
        uses,
        key=lambda use: (order.index(use.in_range), order.index(use.calibrated)),
        default=None,
    )


def question_reading(*, target_n_m: float, reading_n_m: float) -> str | None:
    """Ask about a reading that is a ratio of two torque units away from its target.

    Args:
        target_n_m: Torque asked for. [N·m]
        reading_n_m: Torque said to have been reached. [N·m]

    Returns:
        The question; None where the reading is no such ratio away. [-]

    Example:
        >>> asked = question_reading(target_n_m=5.65, reading_n_m=67.8)
        >>> asked.removeprefix("Is the unit right? ").partition(",")[0]
        'The reading is 12 times the target'
        >>> question_reading(target_n_m=5.65, reading_n_m=5.6) is None
        True
    """
    if not (target_n_m > 0 and reading_n_m > 0):
        return None
    for taken, meant in permutations(TORQUE_UNITS, 2):
        ratio = _newton_metres(taken) / _newton_metres(meant)
        off = compare(
            found=abs(reading_n_m / target_n_m / ratio - 1),
            limit=_ASKED_WITHIN_FRACTION,
            kind="series",
        )
        if off.outcome is Outcome.MEETS:
            return _question(taken, meant, ratio)
    return None


def _question(taken: str, meant: str, ratio: float) -> str:
    if ratio > 1:
        much, larger, smaller = f"{_times(ratio)} times the target", taken, meant
    else:
        much, larger, smaller = f"1/{_times(1 / ratio)} of the target", meant, taken
    times = _times(max(ratio, 1 / ratio))
    return (
        f"Is the unit right? The reading is {much}, as 1 {larger} is {times} times "
        f"1 {smaller}: was the wrench read in {meant}, or the label printed in {taken}?"
    )


def _times(ratio: float) -> str:
    return f"{ratio:.3g}"


def _newton_metres(unit: str) -> float:
    return read(f"1 {unit}", Quantity.TORQUE, field="unit").amount


def _range(
    wrench: Wrench, target_n_m: float, limits: Edition, unit: str
) -> tuple[Outcome, str, tuple[Line, ...]]:
    rule = limits.rule("torque-tool-range")
    share = rule.number("least_scale_fraction")
    if wrench.smallest is None or wrench.largest is None:
        line = Line("scale of the tool", "not stated", source=_of_plan(wrench))
        return Outcome.CANNOT_TELL, "its scale is not stated", (line,)
    low_n_m, high_n_m = wrench.smallest.value, wrench.largest.value
    good_n_m = share * high_n_m
    lines = (
        Line(
            "scale of the tool",
            f"{_shown(low_n_m, unit)} to {_shown(high_n_m, unit)}",
            source=_of_plan(wrench),
        ),
        Line(
            "good from",
            in_unit(good_n_m, Quantity.TORQUE, unit),
            unit,
            "share × largest",
            f"{share:g} × {in_unit(high_n_m, Quantity.TORQUE, unit):g}",
            rule.citation,
        ),
    )
    target = _shown(target_n_m, unit)
    for limit_n_m, direction, why in (
        (high_n_m, "at most", f"{target} is above its scale"),
        (low_n_m, "at least", f"{target} is below its scale"),
        (
            good_n_m,
            "at least",
            f"{target} is under {share:.0%} of its scale ({_shown(good_n_m, unit)})",
        ),
    ):
        found = compare(
            found=target_n_m,
            limit=limit_n_m,
            direction="at most" if direction == "at most" else "at least",
            kind="series",
        )
        if found.outcome not in _GOOD:
            return found.outcome, why.replace("%", " %"), lines
    return Outcome.MEETS, "", lines


def _calibration(
    wrench: Wrench, limits: Edition, on: date
) -> tuple[Outcome, str, Line]:
    rule = limits.rule("torque-tool-calibration")
    months = int(rule.number("interval_months"))
    cycles_count = rule.number("interval_cycles_count")
    limit = f"{months} months or {cycles_count:g} uses"
    day = wrench.calibrated
    uses = wrench.cycles_since_calibration

    def line(said: str) -> Line:
        return Line(
            "calibration of the tool", said, symbols=limit, source=rule.citation
        )

    worn = compare(
        found=None if uses is None else float(uses.value),
        limit=cycles_count,
        kind="series",
    )
    if worn.outcome is Outcome.FALLS_SHORT and uses is not None:
        why = f"used {uses.value} times since its calibration, more than {limit}"
        return Outcome.FALLS_SHORT, why, line(why)
    if day is None:
        return Outcome.CANNOT_TELL, "its calibration is not stated", line("not stated")
    if day > on:
        why = f"its calibration of {day} lies after this day"
        return Outcome.CANNOT_TELL, why, line(why)
    aged = compare(
        found=float(on.toordinal()),
        limit=float(_months_later(day, months).toordinal()),
        kind="series",
    )
    if aged.outcome is Outcome.FALLS_SHORT:
        why = f"calibrated on {day}, longer ago than {months} months"
        return Outcome.FALLS_SHORT, why, line(why)
    return Outcome.MEETS, "", line(f"{day}")


def _months_later(day: date, months: int) -> date:
    years, month = divmod(day.month - 1 + months, 12)
    year, month = day.year + years, month + 1
    return date(year, month, min(day.day, monthrange(year, month)[1]))


def _shown(amount_n_m: float, unit: str) -> str:
    return show(amount_n_m, Quantity.TORQUE, unit)


def _of_plan(wrench: Wrench) -> str:
    return f"plan, wrenches.{wrench.id}"
