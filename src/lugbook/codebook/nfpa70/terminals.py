"""What a terminal allows: temperature column, size, material, number of wires."""

from __future__ import annotations

from collections.abc import Sequence

from lugbook.codebook.edition import Edition
from lugbook.finding import Line, Reckoned
from lugbook.quantities import CONDUCTOR_SIZES

__all__ = ["is_size_in_range", "terminal_column_c"]


def terminal_column_c(
    *, edition: Edition, circuit_a: float, markings_c: Sequence[float | None]
) -> Reckoned:
    """Which ampacity column may the terminals of a circuit use?

    Up to a threshold the lower column, unless every terminal on the path is marked for
    the higher; above it the higher, unless one is marked lower.

    Args:
        edition: Edition of the rules. [-]
        circuit_a: Rating of the circuit: of its overcurrent device. [A]
        markings_c: Marked temperature of each terminal, None where not known. [°C]

    Returns:
        Column. [°C]

    Raises:
        MissingEntry: The edition lacks a number of the rule.

    Rule:
        terminal-temperature

    Checked by:
        tests/codebook/test_terminals.py, by hand

    Example:
        >>> from lugbook.codebook.edition import open_edition
        >>> edition = open_edition("2023")
        >>> terminal_column_c(edition=edition, circuit_a=100.0,
        ...     markings_c=(75, 75)).amount
        75.0
        >>> terminal_column_c(edition=edition, circuit_a=100.0,
        ...     markings_c=(75, None)).amount
        60.0
    """
    rule = edition.rule("terminal-temperature")
    low_c, high_c = rule.number("column_small_c"), rule.number("column_large_c")
    known_c = [marking_c for marking_c in markings_c if marking_c is not None]
    all_known = bool(markings_c) and len(known_c) == len(markings_c)
    if circuit_a > rule.number("threshold_a"):
        column_c = min([high_c, *known_c])
        why = f"circuit over {rule.number('threshold_a'):g} A"
    elif all_known:
        column_c = min([high_c, *known_c])
        why = "lowest marking on the path"
    else:
        column_c, why = low_c, "not every terminal is known to be marked higher"
    marked = ", ".join("?" if c is None else f"{c:g} °C" for c in markings_c)
    line = Line(
        "temperature column of the terminals",
        column_c,
        "°C",
        why,
        f"marked {marked}" if marked else "no marking stated",
        rule.citation,
    )
    return Reckoned(column_c, (line,))


def is_size_in_range(*, size: str, smallest: str, largest: str) -> bool:
    """Does a conductor's size lie within the range printed on a terminal?

    Args:
        size: Conductor size. [-]
        smallest: Smallest size the terminal takes. [-]
        largest: Largest size the terminal takes. [-]

    Returns:
        Whether it does, ends included. [-]

    Raises:
        ValueError: A size is not one of `CONDUCTOR_SIZES`.

    Checked by:
        tests/codebook/test_terminals.py

    Example:
        >>> is_size_in_range(size="3 AWG", smallest="6 AWG", largest="1/0 AWG")
        True
    """
    rank = CONDUCTOR_SIZES.index(size)
    return CONDUCTOR_SIZES.index(smallest) <= rank <= CONDUCTOR_SIZES.index(largest)
