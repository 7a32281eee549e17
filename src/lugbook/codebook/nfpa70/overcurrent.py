"""Which overcurrent device a load needs, and which a conductor allows."""

from __future__ import annotations

from lugbook.codebook.edition import Edition
from lugbook.errors import MissingEntry, OutOfRange
from lugbook.finding import Line, Reckoned

__all__ = [
    "continuous_minimum_a",
    "largest_device_for_conductor",
    "next_standard_rating",
    "standard_ratings_a",
]

_ROUNDING = 1e-9  # relative; 1.25 × and table factors in binary, not a margin


def continuous_minimum_a(
    *, edition: Edition, current_a: float, rule: str = "continuous-load-overcurrent"
) -> Reckoned:
    """How much must a device or conductor be good for with a continuous load?

    Args:
        edition: Edition of the rules. [-]
        current_a: Continuous current. [A]
        rule: Name of the rule: of the device or of the conductor. [-]

    Returns:
        Least rating or ampacity. [A]

    Raises:
        OutOfRange: The current is not positive.

    Rule:
        continuous-load-overcurrent, continuous-load-conductor, vehicle-overcurrent

    Checked by:
        continuous-52-a, tests/codebook/test_overcurrent.py

    Example:
        >>> from lugbook.codebook.edition import open_edition
        >>> continuous_minimum_a(edition=open_edition("2023"), current_a=80.0).amount
        100.0
    """
    if not current_a > 0:
        raise OutOfRange(f"a continuous load of {current_a:g} A; give more than 0 A")
    found = edition.rule(rule)
    factor = found.number("continuous_factor")
    line = Line(
        f"{factor:.0%} of the continuous load",
        current_a * factor,
        "A",
        "current × factor",
        f"{current_a:g} A × {factor:g}",
        found.citation,
    )
    return Reckoned(current_a * factor, (line,))


def standard_ratings_a(
    *, edition: Edition, kind: str = "circuit breaker"
) -> tuple[float, ...]:
    """Which ratings are standard?

    Args:
        edition: Edition of the rules. [-]
        kind: "circuit breaker" or "fuse". [-]

    Returns:
        Ratings, ascending. [A]

    Raises:
        MissingEntry: The edition lacks the table.

    Rule:
        table standard-overcurrent

    Checked by:
        tests/validation/tables/standard-overcurrent.csv

    Example:
        >>> from lugbook.codebook.edition import open_edition
        >>> 60.0 in standard_ratings_a(edition=open_edition("2023"))
        True
    """
    table = edition.table("standard-overcurrent")
    device = table.columns.index("device")
    return tuple(float(row[0]) for row in table.rows if kind in str(row[device]))


def next_standard_rating(
    *, edition: Edition, at_least_a: float, kind: str = "circuit breaker"
) -> Reckoned:
    """Which is the smallest standard rating that is at least so large?

    Args:
        edition: Edition of the rules. [-]
        at_least_a: Rating needed. [A]
        kind: "circuit breaker" or "fuse". [-]

    Returns:
        Rating. [A]

    Raises:
        MissingEntry: The table ends below it.

    Rule:
        table standard-overcurrent

    Checked by:
        device-95-a, tests/codebook/test_overcurrent.py

    Example:
        >>> from lugbook.codebook.edition import open_edition
        >>> next_standard_rating(edition=open_edition("2023"), at_least_a=70.0).amount
        70.0
    """
    table = edition.table("standard-overcurrent")
    for rating_a in standard_ratings_a(edition=edition, kind=kind):
        if rating_a >= at_least_a * (1 - _ROUNDING):
            line = Line("next standard rating", rating_a, "A", "", "", table.citation)
            return Reckoned(rating_a, (line,))
    raise MissingEntry(f"{table.citation} has no rating of {at_least_a:g} A or more")


def largest_device_for_conductor(
    *,
    edition: Edition,
    ampacity_a: float,
    size: str,
    material: str,
    next_size_up: bool = True,
    kind: str = "circuit breaker",
) -> Reckoned:
    """Which is the largest overcurrent device that protects a conductor?

    The ampacity itself, or the standard rating next above it where that is allowed;
    for small conductors no more than their own limit.

    Args:
        edition: Edition of the rules. [-]
        ampacity_a: Ampacity of the conductor where it is laid. [A]
        size: Conductor size. [-]
        material: "copper" or "aluminum". [-]
        next_size_up: False where the circuit feeds more than one receptacle. [-]
        kind: "circuit breaker" or "fuse". [-]

    Returns:
        Largest rating. [A]

    Raises:
        MissingEntry: The small-conductor table holds no limit for the material.

    Rule:
        next-size-up, small-conductors, table small-conductor-limit,
        table standard-overcurrent

    Checked by:
        device-for-4awg-aluminum, device-for-1-0-aluminum,
        tests/codebook/test_overcurrent.py

    Example:
        >>> from lugbook.codebook.edition import open_edition
        >>> largest_device_for_conductor(edition=open_edition("2023"), ampacity_a=98.8,
        ...     size="2 AWG", material="copper").amount
        100.0
    """
    rule = edition.rule("next-size-up")
    largest_a, why = ampacity_a, "the ampacity itself"
    standards = standard_ratings_a(edition=edition, kind=kind)
    above = [a for a in standards if a >= ampacity_a * (1 - _ROUNDING)]
    if next_size_up and ampacity_a > 0 and above and above[0] <= rule.number("limit_a"):
        largest_a, why = above[0], "the ampacity, or the standard rating next above"
    line = Line(
        "largest overcurrent device the conductor allows",
        largest_a,
        "A",
        why,
        f"ampacity {ampacity_a:.4g} A",
        rule.citation,
    )
    small = edition.table("small-conductor-limit")
    if size not in {row[0] for row in small.rows}:
        return Reckoned(largest_a, (line,))
    row = small.row(size)
    limit_a = small.cell(row, f"{material}_limit_a")
    if limit_a is None:
        raise MissingEntry(f"{small.citation} has no limit for {size} {material}")
    own = Line(f"limit of {size} {material}", limit_a, "A", "", "", small.cite(row))
    return Reckoned(min(largest_a, limit_a), (line, own))
