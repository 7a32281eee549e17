"""How full a raceway may be, compared without rounding."""

from __future__ import annotations

import math

from lugbook.codebook.edition import Edition
from lugbook.errors import MissingEntry, OutOfRange
from lugbook.finding import Line, Reckoned
from lugbook.quantities import Quantity, in_unit

__all__ = ["conductor_area_in2", "fill_limit_in2", "trade_sizes"]

_COLUMN = {
    "THHN": "thhn",
    "THWN": "thhn",
    "THWN-2": "thhn",
    "THHN/THWN-2": "thhn",
    "XHHW": "xhhw",
    "XHHW-2": "xhhw",
    "TW": "thw",
    "THW": "thw",
    "THW-2": "thw",
}


def conductor_area_in2(*, edition: Edition, size: str, insulation: str) -> Reckoned:
    """Which area does a conductor take in a raceway?

    Args:
        edition: Edition of the rules. [-]
        size: Conductor size. [-]
        insulation: Type letters as printed, or "bare". [-]

    Returns:
        Area over the insulation. [in²]

    Raises:
        MissingEntry: The tables do not hold it.

    Rule:
        table insulated-conductor-dimensions, table insulated-conductor-dimensions-rhw,
        table conductor-properties

    Checked by:
        tests/validation/tables/insulated-conductor-dimensions.csv

    Example:
        >>> from lugbook.codebook.edition import open_edition
        >>> conductor_area_in2(edition=open_edition("2023"), size="6 AWG",
        ...     insulation="THWN-2").amount
        0.0507
    """
    if insulation == "bare":
        table = edition.table("conductor-properties")
        row = table.row(size)
        diameter_in = table.cell(row, "diameter_in") or 0.0
        area_in2: float | None = math.pi / 4 * diameter_in**2
    elif insulation in _COLUMN:
        table = edition.table("insulated-conductor-dimensions")
        row = table.row(size)
        area_in2 = table.cell(row, f"{_COLUMN[insulation]}_area_in2")
    else:
        table = edition.table("insulated-conductor-dimensions-rhw")
        row = table.row(size)
        # RHW-2 is sold with an outer covering too: the larger counts.
        which = "covered" if insulation == "RHW-2" else "uncovered"
        area_in2 = table.cell(row, f"{which}_area_in2")
    if area_in2 is None:
        raise MissingEntry(f"{table.citation} prints no area for {size} {insulation}")
    line = Line(
        f"area of {size} {insulation}", area_in2, "in²", "", "", table.cite(row)
    )
    return Reckoned(area_in2, (line,))


def fill_limit_in2(
    *,
    edition: Edition,
    method: str,
    trade_size: str,
    count: int,
    length_m: float | None,
) -> Reckoned:
    """Which area may the conductors in a raceway take?

    Args:
        edition: Edition of the rules. [-]
        method: Raceway as the plan names it. [-]
        trade_size: Trade size. [-]
        count: Conductors in it, grounding conductor included. [-]
        length_m: Length between enclosures; None if unknown. [m]

    Returns:
        Area allowed. [in²]

    Raises:
        MissingEntry: The table does not hold the raceway in this trade size.
        OutOfRange: There is no conductor.

    Rule:
        nipple, table raceway-fill, table raceway-dimensions

    Checked by:
        fill-sample-problem-rmc, tests/codebook/test_raceway_fill.py

    Example:
        >>> from lugbook.codebook.edition import open_edition
        >>> round(fill_limit_in2(edition=open_edition("2023"), method="EMT",
        ...     trade_size="1/2", count=3, length_m=None).amount, 4)
        0.1216
    """
    if count < 1:
        raise OutOfRange(f"{count} conductors in a raceway; give at least 1")
    dimensions = edition.table("raceway-dimensions")
    row = next(
        (row for row in dimensions.rows if row[:2] == (method, trade_size)), None
    )
    if row is None:
        raise MissingEntry(f"{dimensions.citation} has no {method} {trade_size}")
    whole_in2 = dimensions.cell(row, "area_in2") or 0.0
    fill = edition.table("raceway-fill")
    fill_row = fill.at_most(count)
    share, cited = fill.cell(fill_row, "fill_fraction") or 0.0, fill.cite(fill_row)
    nipple = edition.rule("nipple")
    limit_in = nipple.number("length_up_to_in")
    if length_m is not None:
        length_in = in_unit(length_m, Quantity.LENGTH, "in")
        if length_in <= limit_in * (1 + 1e-9):
            share, cited = nipple.number("fill_fraction"), nipple.citation
    lines = (
        Line(
            f"inside area of {method} {trade_size}",
            whole_in2,
            "in²",
            source=dimensions.cite(row),
        ),
        Line(
            f"area {count} conductors may take",
            whole_in2 * share,
            "in²",
            "inside area × share",
            f"{whole_in2:g} in² × {share:g}",
            cited,
        ),
    )
    return Reckoned(whole_in2 * share, lines)


def trade_sizes(*, edition: Edition, method: str) -> tuple[str, ...]:
    """Return the trade sizes the dimension table holds of a raceway, ascending."""
    table = edition.table("raceway-dimensions")
    return tuple(str(row[1]) for row in table.rows if row[0] == method)
