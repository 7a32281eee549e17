"""What a panel's bus may carry beside its main: sources that feed back into it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from lugbook.codebook.edition import Edition
from lugbook.errors import OutOfRange
from lugbook.finding import Line

__all__ = ["BusSum", "bus_sum_of_devices", "bus_with_source", "largest_source_a"]


@dataclass(frozen=True, slots=True)
class BusSum:
    """What is added up for a bus, and what it may come to.

    Args:
        sum_a: The sum. [A]
        limit_a: What it may come to. [A]
        lines: The working. [-]
    """

    sum_a: float
    limit_a: float
    lines: tuple[Line, ...]


def bus_with_source(
    *,
    edition: Edition,
    bus_a: float,
    main_a: float,
    source_a: float,
    is_at_opposite_end: bool,
) -> BusSum:
    """What do main and source together put on the bus?

    Args:
        edition: Edition of the rules. [-]
        bus_a: Rating of the bus. [A]
        main_a: Rating of the device that protects the bus. [A]
        source_a: Rated output current of the source. [A]
        is_at_opposite_end: Whether the approval rests on main and source at opposite
            ends of the bus. [-]

    Returns:
        The sum and its limit. [A]

    Raises:
        OutOfRange: A current is not above zero.

    Rule:
        solar-bus

    Checked by:
        tests/codebook/test_other_sources.py: a public solar design guide

    Example:
        >>> from lugbook.codebook.edition import open_edition
        >>> both = bus_with_source(edition=open_edition("2023"), bus_a=200.0,
        ...     main_a=200.0, source_a=32.0, is_at_opposite_end=True)
        >>> both.sum_a, both.limit_a
        (240.0, 240.0)
    """
    _refuse(bus_a, main_a, source_a)
    rule = edition.rule("solar-bus")
    factor = rule.number("inverter_factor")
    sum_a = main_a + factor * source_a
    if is_at_opposite_end:
        share = rule.number("opposite_ends_bus_factor")
        where = rule.text("opposite_ends_locator")
    else:
        share, where = 1.0, rule.text("sum_locator")
    lines = (
        Line(
            "main and source on the bus",
            sum_a,
            "A",
            "main + factor × source",
            f"{main_a:g} A + {factor:g} × {source_a:g} A",
            rule.citation,
        ),
        Line(
            f"they may come to, {where}",
            share * bus_a,
            "A",
            "share × bus",
            f"{share:g} × {bus_a:g} A",
            rule.citation,
        ),
    )
    return BusSum(sum_a, share * bus_a, lines)


def bus_sum_of_devices(
    *, edition: Edition, bus_a: float, devices_a: Sequence[float]
) -> BusSum:
    """What do all devices of a panel but its main add up to?

    Args:
        edition: Edition of the rules. [-]
        bus_a: Rating of the bus. [A]
        devices_a: Ratings of all devices but the main, sources among them. [A]

    Returns:
        The sum and its limit. [A]

    Raises:
        OutOfRange: A current is not above zero.

    Rule:
        solar-bus

    Checked by:
        tests/codebook/test_other_sources.py, by hand

    Example:
        >>> from lugbook.codebook.edition import open_edition
        >>> bus_sum_of_devices(edition=open_edition("2023"), bus_a=200.0,
        ...     devices_a=[40.0, 50.0, 30.0, 60.0]).sum_a
        180.0
    """
    _refuse(bus_a, *devices_a)
    rule = edition.rule("solar-bus")
    citation = rule.cite("sum_of_devices_excludes_main", "sum_of_devices_locator")
    sum_a = float(sum(devices_a))
    lines = (
        Line(
            "all devices but the main",
            sum_a,
            "A",
            "sum",
            " + ".join(f"{each:g}" for each in devices_a) + " A",
            citation,
        ),
        Line(
            f"they may come to, {rule.text('sum_of_devices_locator')}",
            bus_a,
            "A",
            "bus",
            source=citation,
        ),
    )
    return BusSum(sum_a, bus_a, lines)


def largest_source_a(*, edition: Edition, bus_a: float, main_a: float) -> float:
    """Which source would still do at the end of the bus away from the main?

    Args:
        edition: Edition of the rules. [-]
        bus_a: Rating of the bus. [A]
        main_a: Rating of the device that protects the bus. [A]

    Returns:
        Rated output current; zero where none would. [A]

    Raises:
        OutOfRange: A current is not above zero.

    Rule:
        solar-bus

    Checked by:
        tests/codebook/test_other_sources.py: a public solar design guide

    Example:
        >>> from lugbook.codebook.edition import open_edition
        >>> largest_source_a(edition=open_edition("2020"), bus_a=200.0, main_a=175.0)
        52.0
    """
    _refuse(bus_a, main_a)
    rule = edition.rule("solar-bus")
    room_a = rule.number("opposite_ends_bus_factor") * bus_a - main_a
    return max(0.0, room_a / rule.number("inverter_factor"))


def _refuse(*currents_a: float) -> None:
    for current_a in currents_a:
        if not 0 < current_a < float("inf"):
            raise OutOfRange(f"a current of {current_a} A; it must be above 0 A")
