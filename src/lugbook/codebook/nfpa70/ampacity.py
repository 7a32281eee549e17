"""What lowers a conductor's ampacity along its run, and which section governs.

Plain lookups and arithmetic: a search over many circuits calls them directly.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from lugbook.codebook.edition import Edition
from lugbook.codebook.nfpa70.conductors import table_ampacity
from lugbook.errors import MissingEntry, OutOfRange
from lugbook.finding import Line, Reckoned
from lugbook.quantities import CONDUCTOR_SIZES, Quantity, in_unit, read

__all__ = [
    "CableColumns",
    "SectionAmpacity",
    "ambient_factor",
    "cable_columns",
    "corrected_ampacity",
    "count_factor",
    "governing_ampacity",
    "insulation_rating_c",
    "rooftop_ambient_c",
]

_ROUNDING = 1e-9  # relative; products of table cells in binary, not a margin


@dataclass(frozen=True, slots=True)
class CableColumns:
    """Which ampacity columns a wiring method uses.

    Args:
        start_c: Column that correction starts from; None: the insulation's. [°C]
        cap_c: Column the result may not exceed; None: no cap. [°C]
        line: Line for the working; None where no rule speaks. [-]
    """

    start_c: int | None
    cap_c: int | None
    line: Line | None = None


@dataclass(frozen=True, slots=True)
class SectionAmpacity:
    """Ampacity of one section of a run, as the short-section exception needs it.

    Args:
        section_id: Name of the section. [-]
        ampacity_a: Corrected and adjusted ampacity. [A]
        length_m: Length; None if unknown. [m]
        conductor_key: Same for sections with the same conductor. [-]
        plain_a: Ampacity before correction and adjustment, a cable's cap kept. [A]
    """

    section_id: str
    ampacity_a: float
    length_m: float | None
    conductor_key: tuple[object, ...] = ()
    plain_a: float = math.inf


def insulation_rating_c(
    *, edition: Edition, insulation: str, is_wet: bool
) -> Reckoned | None:
    """At which temperature may a conductor's insulation operate?

    A print such as THHN/THWN-2 names several types; the highest that holds counts.

    Args:
        edition: Edition of the rules. [-]
        insulation: Type letters as printed on the conductor. [-]
        is_wet: Whether the place is wet. [-]

    Returns:
        Temperature; None where none of its types may be in a wet place. [°C]

    Raises:
        MissingEntry: The table holds none of the types.

    Rule:
        table insulation-type

    Checked by:
        tests/codebook/test_ampacity.py

    Example:
        >>> from lugbook.codebook.edition import open_edition
        >>> insulation_rating_c(edition=open_edition("2023"), insulation="THHN",
        ...     is_wet=True) is None
        True
    """
    table = edition.table("insulation-type")
    column = "wet_c" if is_wet else "dry_c"
    rows = [row for row in table.rows if str(row[0]) in insulation.split("/")]
    if not rows:
        raise MissingEntry(f"{table.citation} has no insulation {insulation}")
    rated = [(table.cell(row, column), row) for row in rows]
    known = [(rating_c, row) for rating_c, row in rated if rating_c is not None]
    if not known:
        return None
    rating_c, row = max(known, key=lambda pair: pair[0])
    place = "wet" if is_wet else "dry"
    line = Line(
        f"insulation {insulation}, {place} place",
        rating_c,
        "°C",
        "",
        "",
        table.cite(row),
    )
    return Reckoned(rating_c, (line,))


def cable_columns(
    *,
    edition: Edition,
    method: str,
    size: str,
    is_in_insulation: bool,
    is_inside: bool,
) -> CableColumns:
    """Which columns of the ampacity table does a cable's own article allow?

    Args:
        edition: Edition of the rules. [-]
        method: Wiring method as the plan names it. [-]
        size: Conductor size. [-]
        is_in_insulation: Whether it lies in thermal insulation. [-]
        is_inside: Whether it lies inside the house and dry. [-]

    Returns:
        Columns to start from and not to exceed. [°C]

    Raises:
        MissingEntry: An edition lacks one of the rules.

    Rule:
        nm-cable, se-cable, ac-cable, uf-cable

    Checked by:
        tests/codebook/test_ampacity.py
    """
    start_c: float | None = None
    cap_c: float | None = None
    if method == "NM cable":
        rule = edition.rule("nm-cable")
        start_c = rule.number("correction_column_c")
        cap_c = rule.number("ampacity_column_c")
    elif method == "UF cable":
        rule = edition.rule("uf-cable")
        inside = "correction_column_inside_as_nm_c"
        start_c = rule.number(inside if is_inside else "correction_column_c")
        cap_c = rule.number("ampacity_column_c")
    elif method == "SE cable":
        rule = edition.rule("se-cable")
        least = rule.text("in_insulation_up_to_size")
        if is_in_insulation and _is_up_to(size, least):
            cap_c = rule.number("in_insulation_column_c")
    elif method == "AC cable":
        rule = edition.rule("ac-cable")
        if is_in_insulation:
            start_c = rule.number("correction_column_c")
            cap_c = rule.number("in_insulation_column_c")
    else:
        return CableColumns(None, None)
    if cap_c is None:
        return CableColumns(None, None)
    line = Line(
        f"{method}: no more than this column", cap_c, "°C", "", "", rule.citation
    )
    return CableColumns(None if start_c is None else int(start_c), int(cap_c), line)


def ambient_factor(*, edition: Edition, ambient_c: float, column_c: int) -> Reckoned:
    """By which factor does the ambient temperature correct an ampacity?

    Args:
        edition: Edition of the rules. [-]
        ambient_c: Highest temperature around the conductor in use. [°C]
        column_c: Temperature column the ampacity was taken from: 60, 75, 90. [°C]

    Returns:
        Factor; 0 where insulation of this rating carries nothing there. [-]

    Raises:
        MissingEntry: The table has no such column.

    Rule:
        table ambient-correction

    Checked by:
        tests/validation/tables/ambient-correction.csv

    Example:
        >>> from lugbook.codebook.edition import open_edition
        >>> ambient_factor(edition=open_edition("2023"), ambient_c=52.0,
        ...     column_c=90).amount
        0.76
    """
    table = edition.table("ambient-correction")
    label = f"ambient {ambient_c:g} °C, {column_c} °C column"
    try:
        row = table.at_most(ambient_c)
    except MissingEntry:
        return Reckoned(
            0.0, (Line(label, 0.0, "", "beyond the table", "", table.citation),)
        )
    factor = table.cell(row, f"factor_{column_c}c") or 0.0
    return Reckoned(factor, (Line(label, factor, "", "", "", table.cite(row)),))


def count_factor(*, edition: Edition, count: int) -> Reckoned:
    """By which factor do other loaded conductors beside it adjust an ampacity?

    Args:
        edition: Edition of the rules. [-]
        count: Current-carrying conductors together, its own included. [-]

    Returns:
        Factor. [-]

    Raises:
        OutOfRange: Fewer than one conductor.

    Rule:
        counted-conductors, table conductor-count-adjustment

    Checked by:
        tests/validation/tables/conductor-count-adjustment.csv

    Example:
        >>> from lugbook.codebook.edition import open_edition
        >>> count_factor(edition=open_edition("2023"), count=9).amount
        0.7
    """
    if count < 1:
        raise OutOfRange(f"{count} current-carrying conductors; give at least 1")
    table = edition.table("conductor-count-adjustment")
    row = table.at_most(count)
    factor = table.cell(row, "factor") or 0.0
    label = f"{count} current-carrying conductors together"
    return Reckoned(factor, (Line(label, factor, "", "", "", table.cite(row)),))


def rooftop_ambient_c(
    *, edition: Edition, ambient_c: float, height_m: float, insulation: str
) -> Reckoned:
    """Which ambient counts for a run in the sun above a roof?

    Args:
        edition: Edition of the rules. [-]
        ambient_c: Outdoor ambient. [°C]
        height_m: Height of its underside above the roof. [m]
        insulation: Type letters as printed on the conductor. [-]

    Returns:
        Ambient to correct for. [°C]

    Raises:
        MissingEntry: The edition lacks a number of the rule.

    Rule:
        rooftop

    Checked by:
        tests/codebook/test_ampacity.py

    Example:
        >>> from lugbook.codebook.edition import open_edition
        >>> rooftop_ambient_c(edition=open_edition("2023"), ambient_c=40.0,
        ...     height_m=0.01, insulation="THWN-2").amount
        73.0
    """
    rule = edition.rule("rooftop")
    exempt = set(rule.words("exempt_insulation")) & set(insulation.split("/"))
    limit_in = rule.number("height_under_in") * (1 - _ROUNDING)
    is_low = in_unit(height_m, Quantity.LENGTH, "in") < limit_in
    if exempt or not is_low:
        return Reckoned(ambient_c, ())
    adder_k = rule.number("adder_k")
    line = Line(
        "ambient close above a roof in the sun",
        ambient_c + adder_k,
        "°C",
        f"ambient + {adder_k:g} K",
        f"{ambient_c:g} °C + {adder_k:g} K",
        rule.citation,
    )
    return Reckoned(ambient_c + adder_k, (line,))


def corrected_ampacity(
    *,
    edition: Edition,
    size: str,
    material: str,
    start_c: int,
    cap_c: int | None,
    ambient_c: float,
    count: int,
) -> Reckoned:
    """What may a conductor carry in its conditions of use?

    Table ampacity × ambient correction × adjustment for number, and no more than the
    column a cable's article caps it at.

    Args:
        edition: Edition of the rules. [-]
        size: Conductor size. [-]
        material: "copper" or "aluminum". [-]
        start_c: Column to start from: the insulation's. [°C]
        cap_c: Column not to be exceeded; None for none. [°C]
        ambient_c: Highest temperature around the conductor in use. [°C]
        count: Current-carrying conductors together, its own included. [-]

    Returns:
        Ampacity. [A]

    Raises:
        MissingEntry: The table prints no ampacity for this size and material.

    Rule:
        table ampacity, table ambient-correction, table conductor-count-adjustment

    Checked by:
        ampacity-10awg-120f, ampacity-12awg-nine, ampacity-1-0-aluminum-110f,
        ampacity-1-0-aluminum-110f-capped, ampacity-6awg-50c

    Example:
        >>> from lugbook.codebook.edition import open_edition
        >>> round(corrected_ampacity(edition=open_edition("2023"), size="3 AWG",
        ...     material="copper", start_c=90, cap_c=None, ambient_c=52.0,
        ...     count=2).amount, 6)
        87.4
    """
    printed = table_ampacity(
        edition=edition, size=size, material=material, column_c=start_c
    )
    ambient = ambient_factor(edition=edition, ambient_c=ambient_c, column_c=start_c)
    number = count_factor(edition=edition, count=count)
    amount = printed.amount * ambient.amount * number.amount
    line = Line(
        "ampacity in the conditions of use",
        amount,
        "A",
        "ampacity × correction × adjustment",
        f"{printed.amount:g} A × {ambient.amount:g} × {number.amount:g}",
    )
    lines = (*printed.lines, *ambient.lines, *number.lines, line)
    if cap_c is None:
        return Reckoned(amount, lines)
    cap = table_ampacity(edition=edition, size=size, material=material, column_c=cap_c)
    if cap.amount >= amount:
        return Reckoned(amount, (*lines, *cap.lines))
    capped = Line(
        "ampacity, capped by the cable's article",
        cap.amount,
        "A",
        "the lower of the two",
        f"{amount:.4g} A, {cap.amount:g} A",
    )
    return Reckoned(cap.amount, (*lines, *cap.lines, capped))


def governing_ampacity(
    *, edition: Edition, sections: Sequence[SectionAmpacity]
) -> Reckoned:
    """Which ampacity counts for a run whose sections differ?

    The lowest, unless the lower sections together are short: within a fixed length and
    a share of the whole run.

    Args:
        edition: Edition of the rules. [-]
        sections: The run's sections; at least one. [-]

    Returns:
        Ampacity; the line names the section that sets it. [A]

    Raises:
        OutOfRange: There is no section.

    Valid for:
        The exception is not applied while a length is unknown, nor to a section whose
        conductor may carry nothing.

    Rule:
        ampacity-lower-of

    Checked by:
        tests/codebook/test_ampacity.py, by hand
    """
    if not sections:
        raise OutOfRange("a run without sections has no ampacity; give at least one")
    rule = edition.rule("ampacity-lower-of")
    lowest = min(sections, key=lambda each: each.ampacity_a)
    for candidate in sorted(sections, key=lambda each: -each.ampacity_a):
        lower = [
            each
            for each in sections
            if each.ampacity_a < candidate.ampacity_a * (1 - _ROUNDING)
        ]
        if not lower:
            break
        if _may_be_passed_over(edition, lower, candidate, sections):
            names = ", ".join(each.section_id for each in lower)
            line = Line(
                f"governing section: {candidate.section_id}",
                candidate.ampacity_a,
                "A",
                f"short sections passed over: {names}",
                _short_limit_words(edition),
                rule.citation,
            )
            return Reckoned(candidate.ampacity_a, (line,))
    line = Line(
        f"governing section: {lowest.section_id}",
        lowest.ampacity_a,
        "A",
        "the lowest ampacity of the run",
        "",
        rule.citation,
    )
    return Reckoned(lowest.ampacity_a, (line,))


def _short_limit_words(edition: Edition) -> str:
    rule = edition.rule("ampacity-lower-of")
    share = f"{rule.number('short_section_fraction'):.0%}"
    whole = rule.text("short_section_of")
    return f"within {rule.number('short_section_ft'):g} ft and {share} of the {whole}"


def _may_be_passed_over(
    edition: Edition,
    lower: Sequence[SectionAmpacity],
    candidate: SectionAmpacity,
    sections: Sequence[SectionAmpacity],
) -> bool:
    rule = edition.rule("ampacity-lower-of")
    lengths_m = [each.length_m for each in sections]
    if any(length_m is None for length_m in lengths_m):
        return False
    if any(each.ampacity_a <= 0 for each in lower):
        return False
    # Lower only by correction and adjustment: without them it would do as well.
    alike = all(
        each.conductor_key == candidate.conductor_key
        and each.plain_a >= candidate.ampacity_a * (1 - _ROUNDING)
        for each in lower
    )
    if rule.text("variant") == "correction-or-adjustment-only" and not alike:
        return False
    whole_m = math.fsum(length_m or 0.0 for length_m in lengths_m)
    lower_m = math.fsum(each.length_m or 0.0 for each in lower)
    feet = rule.number("short_section_ft")
    limit_m = min(
        read(f"{feet:g} ft", Quantity.LENGTH, field="short_section_ft").amount,
        rule.number("short_section_fraction") * whole_m,
    )
    return lower_m <= limit_m * (1 + _ROUNDING)


def _is_up_to(size: str, largest: str) -> bool:
    return CONDUCTOR_SIZES.index(size) <= CONDUCTOR_SIZES.index(largest)
