"""Which current a conductor may carry: ampacity and what lowers or allows it."""

from __future__ import annotations

from lugbook.codebook.edition import Edition
from lugbook.errors import MissingEntry, OutOfRange
from lugbook.finding import Line, Reckoned
from lugbook.quantities import CONDUCTOR_SIZES

__all__ = ["table_ampacity", "whole_house_conductor_rating_a"]


def table_ampacity(
    *, edition: Edition, size: str, material: str, column_c: int
) -> Reckoned:
    """What does the ampacity table print for a conductor?

    Args:
        edition: Edition of the rules. [-]
        size: Conductor size, such as "3 AWG". [-]
        material: "copper" or "aluminum". [-]
        column_c: Temperature column: 60, 75 or 90. [°C]

    Returns:
        Ampacity, uncorrected. [A]

    Raises:
        MissingEntry: The table prints none for this size, material and column.

    Rule:
        table ampacity

    Checked by:
        tests/validation/tables/ampacity.csv

    Example:
        >>> from lugbook.codebook.edition import open_edition
        >>> table_ampacity(edition=open_edition("2023"), size="3 AWG",
        ...     material="copper", column_c=75).amount
        100.0
    """
    table = edition.table("ampacity")
    row = table.row(size)
    found = table.cell(row, f"{material}_{column_c}c_a")
    if found is None:
        raise MissingEntry(
            f"{table.citation} prints no ampacity for {size} {material} at "
            f"{column_c} °C; choose a larger size"
        )
    line = Line(
        f"ampacity of {size} {material}, {column_c} °C column",
        found,
        "A",
        source=table.cite(row),
    )
    return Reckoned(found, (line,))


def whole_house_conductor_rating_a(
    *,
    edition: Edition,
    size: str,
    material: str,
    sets: int = 1,
    column_c: int = 75,
) -> Reckoned:
    """Which service rating may a conductor serve that carries a whole dwelling?

    The largest rating of the table whose size is not larger than the conductor; at
    least its own ampacity; never by that table below its first rating, nor where the
    60 °C column binds, for which the table was not made.

    Args:
        edition: Edition of the rules. [-]
        size: Conductor size. [-]
        material: "copper" or "aluminum". [-]
        sets: Conductors in parallel a leg. [-]
        column_c: Temperature column its terminals and insulation allow. [°C]

    Returns:
        Service rating. [A]

    Raises:
        MissingEntry: The ampacity table does not hold the size.
        OutOfRange: Fewer than one set.

    Rule:
        whole-house-conductor, terminal-temperature, table whole-house-conductor,
        table ampacity

    Checked by:
        tests/codebook/test_conductors.py, every row by hand

    Example:
        >>> from lugbook.codebook.edition import open_edition
        >>> whole_house_conductor_rating_a(edition=open_edition("2023"),
        ...     size="4/0 AWG", material="aluminum").amount
        200.0
    """
    if sets < 1:
        raise OutOfRange(f"{sets} parallel sets; give at least 1")
    own = table_ampacity(
        edition=edition, size=size, material=material, column_c=column_c
    )
    best = own.amount * sets
    line = Line(
        f"service conductor, {sets if sets > 1 else ''} {size} {material}".replace(
            ",  ", ", "
        ),
        best,
        "A",
        f"{column_c} °C ampacity",
        source=own.lines[0].source,
    )
    terminals = edition.rule("terminal-temperature")
    if sets == 1 and column_c >= terminals.number("column_large_c"):
        table = edition.table("whole-house-conductor")
        for row in table.rows:
            least = str(row[table.columns.index(f"{material}_size")])
            fits = CONDUCTOR_SIZES.index(size) >= CONDUCTOR_SIZES.index(least)
            if fits and float(row[0]) > best:
                best = float(row[0])
                line = Line(
                    line.label,
                    best,
                    "A",
                    "largest rating its size may serve",
                    f"at least {least}",
                    table.cite(row),
                )
    return Reckoned(best, (*own.lines, line))
