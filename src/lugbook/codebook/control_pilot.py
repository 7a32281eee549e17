"""The control pilot between charger and car: duty cycle to current and back."""

from __future__ import annotations

from lugbook.codebook.edition import Edition
from lugbook.errors import OutOfRange
from lugbook.finding import Line, Reckoned

__all__ = ["pilot_current_a", "pilot_duty_fraction"]


def pilot_current_a(*, limits: Edition, duty_fraction: float) -> Reckoned:
    """Which current does a duty cycle allow the car?

    Args:
        limits: The book of product limits. [-]
        duty_fraction: Share of the time the pilot is high. [-]

    Returns:
        Current. [A]

    Raises:
        OutOfRange: The duty cycle stands for no current.

    Valid for:
        10 to 96 % duty; below and above it the pilot means something else.

    Source:
        product_limits-2026, control-pilot

    Checked by:
        tests/codebook/test_control_pilot.py, by hand

    Example:
        >>> from lugbook.codebook.edition import open_edition
        >>> book = open_edition("2026", book="product_limits")
        >>> round(pilot_current_a(limits=book, duty_fraction=0.80).amount, 6)
        48.0
    """
    rule = limits.rule("control-pilot")
    percent = 100 * duty_fraction
    least, joint = rule.number("low_from_percent"), rule.number("low_up_to_percent")
    most = rule.number("high_up_to_percent")
    if not least <= percent <= most:
        raise OutOfRange(
            f"a pilot duty of {percent:g} % stands for no current; "
            f"{least:g} to {most:g} % do"
        )
    if percent <= joint:
        slope = rule.number("slope_low_a_per_percent")
        current_a = slope * percent
        symbols, numbers = "slope × duty", f"{slope:g} A × {percent:g}"
        keys = ("slope_low_a_per_percent", "low_up_to_percent")
    else:
        slope = rule.number("slope_high_a_per_percent")
        offset = rule.number("offset_high_percent")
        current_a = slope * (percent - offset)
        symbols = "slope × (duty − offset)"
        numbers = f"{slope:g} A × ({percent:g} − {offset:g})"
        keys = ("slope_high_a_per_percent", "offset_high_percent")
    line = Line(
        "current the pilot allows", current_a, "A", symbols, numbers, rule.cite(*keys)
    )
    return Reckoned(current_a, (line,))


def pilot_duty_fraction(*, limits: Edition, current_a: float) -> Reckoned:
    """Which duty cycle stands for a current?

    Args:
        limits: The book of product limits. [-]
        current_a: Setting of the charger. [A]

    Returns:
        Duty cycle. [-]

    Raises:
        OutOfRange: No duty cycle stands for the current.

    Valid for:
        6 to 80 A.

    Source:
        product_limits-2026, control-pilot

    Checked by:
        tests/codebook/test_control_pilot.py, by hand

    Example:
        >>> from lugbook.codebook.edition import open_edition
        >>> book = open_edition("2026", book="product_limits")
        >>> round(pilot_duty_fraction(limits=book, current_a=80.0).amount, 6)
        0.96
    """
    rule = limits.rule("control-pilot")
    low, high = (
        rule.number("slope_low_a_per_percent"),
        rule.number("slope_high_a_per_percent"),
    )
    offset = rule.number("offset_high_percent")
    least_a = low * rule.number("low_from_percent")
    joint_a = low * rule.number("low_up_to_percent")
    most_a = high * (rule.number("high_up_to_percent") - offset)
    if not least_a <= current_a <= most_a:
        raise OutOfRange(
            f"no pilot duty stands for {current_a:g} A; {least_a:g} to {most_a:g} A do"
        )
    is_low = current_a <= joint_a
    percent = current_a / low if is_low else offset + current_a / high
    line = Line(
        "duty cycle of the pilot",
        percent,
        "%",
        "current ÷ slope" if is_low else "offset + current ÷ slope",
        f"{current_a:g} A ÷ {low:g} A"
        if is_low
        else f"{offset:g} + {current_a:g} A ÷ {high:g} A",
        rule.cite("slope_low_a_per_percent", "slope_high_a_per_percent"),
    )
    return Reckoned(percent / 100, (line,))
