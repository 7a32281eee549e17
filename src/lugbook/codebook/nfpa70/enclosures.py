"""Room inside enclosures: bending space at terminals, volume of a box."""

from __future__ import annotations

from collections.abc import Mapping

from lugbook.codebook.edition import Edition
from lugbook.errors import MissingEntry, OutOfRange
from lugbook.finding import Line, Reckoned
from lugbook.quantities import CONDUCTOR_SIZES

__all__ = ["bending_space_needed_in", "box_volume_needed"]


def bending_space_needed_in(
    *, edition: Edition, size: str, through_opposite_wall: bool
) -> Reckoned | None:
    """How far must a terminal be from the wall that it faces?

    Args:
        edition: Edition of the rules. [-]
        size: Size of the conductor, one to the terminal. [-]
        through_opposite_wall: Whether the wire enters or leaves through the wall that
            its terminal faces. [-]

    Returns:
        Distance; None where the book asks for none at this size. [in]

    Raises:
        MissingEntry: The table does not hold the size.

    Rule:
        table enclosure-bending-space, table enclosure-bending-space-opposite

    Checked by:
        tests/codebook/test_enclosures.py,
        tests/validation/tables/enclosure-bending-space-opposite.csv

    Example:
        >>> from lugbook.codebook.edition import open_edition
        >>> book = open_edition("2023")
        >>> bending_space_needed_in(edition=book, size="3 AWG",
        ...     through_opposite_wall=False).amount
        2.0
        >>> bending_space_needed_in(edition=book, size="3 AWG",
        ...     through_opposite_wall=True).amount
        3.0
    """
    name = "enclosure-bending-space" + "-opposite" * through_opposite_wall
    table = edition.table(name)
    row = table.row(size)
    space_in = table.cell(row, "one_wire_in")
    if space_in is None:
        return None
    way = "through the wall opposite" if through_opposite_wall else "sideways"
    line = Line(
        f"bending space of {size}, leaving {way}",
        space_in,
        "in",
        source=table.cite(row),
    )
    return Reckoned(space_in, (line,))


def box_volume_needed(
    *, edition: Edition, ends: Mapping[str, int], grounding_size: str | None
) -> Reckoned | None:
    """Which volume does a box need inside for the conductors in it?

    Args:
        edition: Edition of the rules. [-]
        ends: How often conductors of each size count: once where they pass unbroken,
            once for each end that is joined in the box. [-]
        grounding_size: Largest grounding conductor in it; None for none. [-]

    Returns:
        Volume, its clamps inside left out, in cubic inches; None where a conductor is
        too large for the rule. [in³]

    Raises:
        OutOfRange: No conductor, or a count below one.

    Rule:
        box-volume, table box-volume

    Checked by:
        tests/codebook/test_enclosures.py, tests/validation/tables/box-volume.csv

    Example:
        >>> from lugbook.codebook.edition import open_edition
        >>> box_volume_needed(edition=open_edition("2023"), ends={"6 AWG": 4},
        ...     grounding_size="10 AWG").amount
        22.5
    """
    if not ends or min(ends.values()) < 1:
        raise OutOfRange(f"{dict(ends)} conductors in a box; give at least one")
    rule, table = edition.rule("box-volume"), edition.table("box-volume")
    largest = CONDUCTOR_SIZES.index(rule.text("applies_up_to_size"))
    if any(CONDUCTOR_SIZES.index(size) > largest for size in ends):
        return None
    counted = [(size, count, size) for size, count in ends.items()]
    if grounding_size is not None:
        count = int(rule.number("grounding_allowances_count"))
        counted.append((grounding_size, count, f"grounding, {grounding_size}"))
    lines = []
    total_in3 = 0.0
    for size, count, label in counted:
        row = table.row(size)
        each_in3 = table.cell(row, "volume_in3")
        if each_in3 is None:
            raise MissingEntry(f"{table.citation} prints no volume for {size}")
        total_in3 += count * each_in3
        lines.append(
            Line(
                label,
                count * each_in3,
                "in³",
                "count × volume",
                f"{count} × {each_in3:g} in³",
                table.cite(row),
            )
        )
    lines.append(Line("volume at least", total_in3, "in³", "sum"))
    return Reckoned(total_in3, tuple(lines))
