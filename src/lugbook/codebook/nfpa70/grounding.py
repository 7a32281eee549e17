"""The equipment grounding conductor: by table, grown in proportion, or a raceway."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from lugbook.codebook.edition import Edition
from lugbook.errors import MissingEntry, OutOfRange
from lugbook.finding import Line, Reckoned
from lugbook.quantities import CONDUCTOR_SIZES, Quantity, in_unit

__all__ = [
    "RacewayLength",
    "circular_mils",
    "grounding_area_needed",
    "raceway_may_ground",
    "smallest_size_of_area",
    "table_grounding_size",
]

_TRADE_SIZES = ("3/8", "1/2", "3/4", "1", "1-1/4", "1-1/2", "2", "2-1/2", "3")


@dataclass(frozen=True, slots=True)
class RacewayLength:
    """A stretch of raceway on the path of a ground fault.

    Args:
        method: Wiring method as the plan names it. [-]
        trade_size: Trade size; None if unknown. [-]
        length_m: Length; None if unknown. [m]
    """

    method: str
    trade_size: str | None
    length_m: float | None


def circular_mils(*, edition: Edition, size: str) -> Reckoned:
    """Which area does the conductor table print for a size?

    Args:
        edition: Edition of the rules. [-]
        size: Conductor size. [-]

    Returns:
        Area. [circular mil]

    Raises:
        MissingEntry: The table has no such size.

    Rule:
        table conductor-properties

    Checked by:
        tests/validation/tables/conductor-properties.csv
    """
    table = edition.table("conductor-properties")
    row = table.row(size)
    area = table.cell(row, "area_circular_mil")
    if area is None:
        raise MissingEntry(f"{table.citation} prints no area for {size}")
    line = Line(f"area of {size}", area, "circular mil", "", "", table.cite(row))
    return Reckoned(area, (line,))


def table_grounding_size(
    *, edition: Edition, device_a: float, material: str
) -> tuple[str, Line]:
    """Which size does the table ask behind an overcurrent device?

    Args:
        edition: Edition of the rules. [-]
        device_a: Rating of the overcurrent device. [A]
        material: "copper" or "aluminum". [-]

    Returns:
        Size, with its line. [-]

    Raises:
        MissingEntry: The table ends below the rating.

    Rule:
        equipment-grounding, table equipment-grounding-conductor

    Checked by:
        tests/validation/tables/equipment-grounding-conductor.csv

    Example:
        >>> from lugbook.codebook.edition import open_edition
        >>> table_grounding_size(edition=open_edition("2023"), device_a=60.0,
        ...     material="copper")[0]
        '10 AWG'
    """
    table = edition.table("equipment-grounding-conductor")
    row = table.at_most(device_a)
    size = str(row[table.columns.index(f"{material}_size")])
    line = Line(
        f"by table, {material}, device up to {row[0]:g} A",
        size,
        "",
        "",
        "",
        table.cite(row),
    )
    return size, line


def grounding_area_needed(
    *, edition: Edition, table_size: str, used_size: str, least_size: str
) -> Reckoned:
    """How large must the grounding conductor grow when the circuit's conductors do?

    In proportion to their circular mils. Correction for ambient and adjustment for
    number are no increase: the least size is the one that suffices where it is laid.

    Args:
        edition: Edition of the rules. [-]
        table_size: Size the table asks. [-]
        used_size: Size of the ungrounded conductors. [-]
        least_size: Least size of them that suffices, of the same material. [-]

    Returns:
        Area needed. [circular mil]

    Raises:
        MissingEntry: A size is not in the conductor table.

    Rule:
        equipment-grounding, table conductor-properties

    Checked by:
        egc-350-kcmil, egc-4awg-for-8awg, tests/codebook/test_grounding.py

    Example:
        >>> from lugbook.codebook.edition import open_edition
        >>> round(grounding_area_needed(edition=open_edition("2023"),
        ...     table_size="10 AWG", used_size="4 AWG", least_size="6 AWG").amount, 1)
        16511.5
    """
    own = circular_mils(edition=edition, size=table_size)
    used = circular_mils(edition=edition, size=used_size)
    least = circular_mils(edition=edition, size=least_size)
    if used.amount <= least.amount:
        return own
    needed = own.amount * used.amount / least.amount
    line = Line(
        "grown with the ungrounded conductors",
        needed,
        "circular mil",
        "area by table × area used ÷ least area",
        f"{own.amount:,.0f} × {used.amount:,.0f} ÷ {least.amount:,.0f}",
        edition.rule("equipment-grounding").citation,
    )
    return Reckoned(needed, (*own.lines, *used.lines, *least.lines, line))


def smallest_size_of_area(*, edition: Edition, area: float) -> str:
    """Which is the smallest size of at least so many circular mils?

    Args:
        edition: Edition of the rules. [-]
        area: Area needed. [circular mil]

    Returns:
        Size. [-]

    Raises:
        OutOfRange: The area is beyond the conductor table.

    Rule:
        table conductor-properties

    Checked by:
        tests/codebook/test_grounding.py
    """
    table = edition.table("conductor-properties")
    known = {str(row[0]) for row in table.rows}
    for size in CONDUCTOR_SIZES:
        if size in known and circular_mils(edition=edition, size=size).amount >= area:
            return size
    raise OutOfRange(f"{area:g} circular mil is beyond {table.citation}")


def raceway_may_ground(
    *, edition: Edition, device_a: float, raceways: Sequence[RacewayLength]
) -> tuple[bool | None, str, Line]:
    """May the raceway itself be the equipment grounding conductor?

    Args:
        edition: Edition of the rules. [-]
        device_a: Rating of the overcurrent device. [A]
        raceways: Every stretch of the run. [-]

    Returns:
        Whether it may, None if it cannot be told; why not; the line. [-]

    Raises:
        MissingEntry: The edition lacks a number of the rule.

    Rule:
        grounding-raceways

    Checked by:
        tests/codebook/test_grounding.py, by hand
    """
    rule = edition.rule("grounding-raceways")
    reasons = [
        (ok, why)
        for stretch in raceways
        for ok, why in [_stretch_may_ground(edition, device_a, stretch, raceways)]
    ]
    verdict, why = True, ""
    for answer in (None, False):
        for ok, reason in reasons:
            if ok is answer:
                verdict, why = ok, reason  # type: ignore[assignment]
    line = Line(
        "raceway as the grounding path",
        "allowed" if verdict else (why or "cannot be told"),
        source=rule.citation,
    )
    return verdict, why, line


def _stretch_may_ground(
    edition: Edition,
    device_a: float,
    stretch: RacewayLength,
    raceways: Sequence[RacewayLength],
) -> tuple[bool | None, str]:
    rule = edition.rule("grounding-raceways")
    method = stretch.method
    if method in rule.words("full_length"):
        return True, ""
    if method not in ("FMC", "LFMC"):
        return False, f"{method} is no grounding path: a wire is needed in it"
    if stretch.trade_size is None:
        return None, f"the trade size of the {method} is not known"
    length_limit_ft = rule.number(
        "fmc_length_ft" if method == "FMC" else "lfmc_length_ft"
    )
    limit_a = _flexible_limit_a(edition, method, stretch.trade_size)
    if limit_a is None:
        return (
            False,
            f"{method} of trade size {stretch.trade_size} is no grounding path",
        )
    if device_a > limit_a:
        return False, f"{method} grounds circuits up to {limit_a:g} A only"
    flexible = [each for each in raceways if each.method in ("FMC", "LFMC")]
    if any(each.length_m is None for each in flexible):
        return None, f"the length of the {method} is not known"
    length_m = sum(each.length_m or 0.0 for each in flexible)
    if in_unit(length_m, Quantity.LENGTH, "ft") > length_limit_ft * (1 + 1e-9):
        return False, f"{method} grounds up to {length_limit_ft:g} ft in all"
    return True, ""


def _flexible_limit_a(edition: Edition, method: str, trade_size: str) -> float | None:
    rule = edition.rule("grounding-raceways")
    rank = _TRADE_SIZES.index(trade_size)
    if method == "FMC":
        largest = _TRADE_SIZES.index(rule.text("fmc_trade_up_to"))
        return rule.number("fmc_limit_a") if rank <= largest else None
    for which in ("small", "large"):
        low = _TRADE_SIZES.index(rule.text(f"lfmc_{which}_trade_from"))
        high = _TRADE_SIZES.index(rule.text(f"lfmc_{which}_trade_up_to"))
        if low <= rank <= high:
            return rule.number(f"lfmc_{which}_limit_a")
    return None
