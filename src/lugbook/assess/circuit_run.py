"""What a conductor size may carry along the run, and the least size that will do."""

from __future__ import annotations

from dataclasses import dataclass

from lugbook.assess.circuit_case import Case
from lugbook.assess.circuit_laid import PARALLEL, Laid
from lugbook.codebook.nfpa70.ampacity import (
    SectionAmpacity,
    cable_columns,
    corrected_ampacity,
    governing_ampacity,
    insulation_rating_c,
    rooftop_ambient_c,
)
from lugbook.codebook.nfpa70.conductors import table_ampacity
from lugbook.codebook.nfpa70.overcurrent import (
    continuous_minimum_a,
    largest_device_for_conductor,
)
from lugbook.errors import MissingEntry
from lugbook.finding import Line, Outcome, Reckoned, compare
from lugbook.quantities import CONDUCTOR_SIZES

__all__ = ["RunLimits", "least_size", "run_limits"]

COLUMNS_C = (60, 75, 90)


@dataclass(frozen=True, slots=True)
class RunLimits:
    """What one conductor size allows on the run as laid.

    Args:
        terminal_a: Ampacity in the terminals' column, uncorrected. [A]
        use_a: Ampacity in the conditions of use; None if unknown. [A]
        device_a: Largest overcurrent device; None if unknown. [A]
        device_most_a: What that is at the most, whatever the run; None if unknown. [A]
        worst_section: Section with the lowest ampacity in use; empty if unknown. [-]
        terminal_lines: Working of the terminal test. [-]
        use_lines: Working of the conditions of use, worst section in full. [-]
        device_lines: Working of the protection. [-]
        missing: Fields not stated that it needs. [-]
    """

    terminal_a: float | None
    use_a: float | None
    device_a: float | None
    worst_section: str
    terminal_lines: tuple[Line, ...]
    use_lines: tuple[Line, ...]
    device_lines: tuple[Line, ...]
    missing: tuple[str, ...]
    device_most_a: float | None = None


@dataclass(frozen=True, slots=True)
class _SectionLimits:
    laid: Laid
    size: str
    material: str
    terminal: Reckoned | None
    use: Reckoned | None
    missing: tuple[str, ...]
    plain_a: float = 0.0


def run_limits(
    case: Case,
    *,
    size: str,
    material: str,
    column_c: int,
    as_stated: bool = True,
) -> RunLimits | None:
    """What a conductor size allows on the run.

    Args:
        case: The circuit. [-]
        size: Conductor size. [-]
        material: "copper" or "aluminum". [-]
        column_c: Temperature column of the terminals. [°C]
        as_stated: Whether sections keep conductors of their own. [-]

    Returns:
        The limits; None where the table prints no ampacity for the conductor. [A]
    """
    try:
        return _limits(case, size, material, column_c, as_stated)
    except MissingEntry:
        return None


def _limits(
    case: Case, size: str, material: str, column_c: int, as_stated: bool
) -> RunLimits:
    sections = [
        _section_limits(case, laid, size, material, column_c, as_stated)
        for laid in case.run
    ]
    bare = (
        None
        if sections
        else _terminal_limit(case, size, material, column_c, case.insulation)
    )
    terminals = [s.terminal for s in sections if s.terminal is not None]
    terminal = min(terminals, key=lambda each: each.amount, default=bare)
    missing = tuple(dict.fromkeys(name for s in sections for name in s.missing))
    if not sections:
        missing = ("circuit.sections",)
    if PARALLEL in missing:
        # What several together may carry is not judged, so nothing falls short either.
        terminal = None
    terminal_a = None if terminal is None else terminal.amount
    terminal_lines = () if terminal is None else terminal.lines
    smallest = min(
        sections, key=lambda each: CONDUCTOR_SIZES.index(each.size), default=None
    )
    if missing or smallest is None:
        # The conditions of use can only lower what the terminals allow.
        most_a = None
        if terminal_a is not None and smallest is not None:
            most_a = largest_device_for_conductor(
                edition=case.edition,
                ampacity_a=terminal_a,
                size=smallest.size,
                material=smallest.material,
                kind=case.device_kind,
            ).amount
        return RunLimits(
            terminal_a, None, None, "", terminal_lines, (), (), missing, most_a
        )
    use, worst, use_lines = _use_over_run(case, sections)
    allowed = largest_device_for_conductor(
        edition=case.edition,
        ampacity_a=min(use, terminal_a if terminal_a is not None else use),
        size=smallest.size,
        material=smallest.material,
        kind=case.device_kind,
    )
    return RunLimits(
        terminal_a,
        use,
        allowed.amount,
        worst,
        terminal_lines,
        use_lines,
        allowed.lines,
        (),
    )


def least_size(
    case: Case,
    *,
    material: str,
    column_c: int,
    device_a: float,
    load_a: float,
    terminals_only: bool = False,
) -> str | None:
    """The smallest size that will do on the run.

    Args:
        case: The circuit. [-]
        material: "copper" or "aluminum". [-]
        column_c: Temperature column of the terminals. [°C]
        device_a: Rating of the overcurrent device. [A]
        load_a: Continuous current. [A]
        terminals_only: Leave the conditions of use out. [-]

    Returns:
        Size; None where none will do or the run is not known. [-]
    """
    need_a = continuous_minimum_a(
        edition=case.edition, current_a=load_a, rule="continuous-load-conductor"
    ).amount
    for row in case.edition.table("ampacity").rows:
        size = str(row[0])
        limits = run_limits(
            case, size=size, material=material, column_c=column_c, as_stated=False
        )
        if limits is None or not _holds(need_a, limits.terminal_a):
            continue
        if terminals_only:
            return size
        if _holds(load_a, limits.use_a) and _holds(device_a, limits.device_a):
            return size
    return None


def _holds(found: float, limit: float | None) -> bool:
    return compare(found=found, limit=limit, kind="series").outcome is Outcome.MEETS


def _section_limits(
    case: Case,
    laid: Laid,
    size: str,
    material: str,
    column_c: int,
    as_stated: bool,
) -> _SectionLimits:
    if as_stated:
        size, material = laid.size or size, laid.material or material
    # Refuses a size that the ampacity table does not hold, whatever else is unknown.
    plain = _terminal_limit(case, size, material, column_c, None)
    if laid.missing and laid.insulation is None:
        # Without its method a cable's own article may cap it; nothing is promised.
        known = None if laid.method is None else plain
        return _SectionLimits(laid, size, material, known, None, laid.missing)
    rating = _rating_c(case, laid)
    if isinstance(rating, str):
        return _SectionLimits(
            laid, size, material, plain, None, (*laid.missing, rating)
        )
    if rating is None:
        refused = Line(
            f"{laid.insulation} in a wet place", 0.0, "A", "not for wet places"
        )
        nothing = Reckoned(0.0, (refused,))
        return _SectionLimits(laid, size, material, nothing, nothing, ())
    columns = cable_columns(
        edition=case.edition,
        method=laid.method or "",
        size=size,
        is_in_insulation=laid.in_insulation,
        is_inside=laid.is_inside,
    )
    start_c = columns.start_c or int(rating.amount)
    if laid.method == "AC cable" and laid.is_print_read:
        # In insulation its conductors must be of 90 °C; these may be of less.
        start_c = min(start_c, int(rating.amount))
    capped_c = min(column_c, start_c, columns.cap_c or column_c)
    printed = table_ampacity(
        edition=case.edition, size=size, material=material, column_c=capped_c
    )
    cap_lines = (columns.line,) if columns.line else ()
    terminal = Reckoned(printed.amount, (*cap_lines, *printed.lines))
    if laid.missing or laid.ambient_c is None:
        return _SectionLimits(laid, size, material, terminal, None, laid.missing)
    ambient_c = laid.ambient_c
    roof_lines: tuple[Line, ...] = ()
    if laid.roof_height_m is not None:
        roof = rooftop_ambient_c(
            edition=case.edition,
            ambient_c=ambient_c,
            height_m=laid.roof_height_m,
            insulation=laid.insulation or "",
        )
        ambient_c, roof_lines = roof.amount, roof.lines
    use = corrected_ampacity(
        edition=case.edition,
        size=size,
        material=material,
        start_c=start_c,
        cap_c=columns.cap_c,
        ambient_c=ambient_c,
        count=laid.count,
    )
    plain = table_ampacity(
        edition=case.edition,
        size=size,
        material=material,
        column_c=min(start_c, columns.cap_c or start_c),
    )
    lines = (*rating.lines, *cap_lines, *roof_lines, *use.lines)
    reckoned = Reckoned(use.amount, lines)
    return _SectionLimits(laid, size, material, terminal, reckoned, (), plain.amount)


def _rating_c(case: Case, laid: Laid) -> Reckoned | str | None:
    """Return the insulation's rating, the field it lacks, or None: not for wet."""
    if laid.insulation == "bare":
        return None
    insulation = laid.insulation or ""
    if laid.method in ("NM cable", "SE cable", "MC cable", "AC cable"):
        # Where a cable may not be is a finding of its own, on the wiring method.
        return insulation_rating_c(
            edition=case.edition, insulation=insulation, is_wet=False
        )
    dry = insulation_rating_c(edition=case.edition, insulation=insulation, is_wet=False)
    wet = insulation_rating_c(edition=case.edition, insulation=insulation, is_wet=True)
    if laid.is_wet is not None:
        return wet if laid.is_wet else dry
    if dry is not None and wet is not None and dry.amount == wet.amount:
        return wet
    return f"circuit.sections.{laid.id}.wet"


def _terminal_limit(
    case: Case, size: str, material: str, column_c: int, insulation: str | None
) -> Reckoned:
    if insulation is not None and insulation not in ("bare", "as the cable"):
        rating = insulation_rating_c(
            edition=case.edition, insulation=insulation, is_wet=False
        )
        if rating is not None:
            column_c = min(column_c, int(rating.amount))
    return table_ampacity(
        edition=case.edition, size=size, material=material, column_c=column_c
    )


def _use_over_run(
    case: Case, sections: list[_SectionLimits]
) -> tuple[float, str, tuple[Line, ...]]:
    rows = [
        SectionAmpacity(
            section_id=each.laid.id,
            ampacity_a=each.use.amount if each.use else 0.0,
            length_m=each.laid.length_m,
            conductor_key=(each.size, each.material, each.laid.insulation),
            plain_a=each.plain_a,
        )
        for each in sections
    ]
    governing = governing_ampacity(edition=case.edition, sections=rows)
    at = {row.section_id: row for row in rows}
    lowest = min(rows, key=lambda row: row.ampacity_a)
    setting = next(
        (
            row.section_id
            for row in sorted(rows, key=lambda row: row.ampacity_a)
            if row.ampacity_a == governing.amount
        ),
        lowest.section_id,
    )
    full = next(each for each in sections if each.laid.id == setting)
    others = tuple(
        Line(f"ampacity in section {name}", row.ampacity_a, "A")
        for name, row in at.items()
        if name != setting
    )
    head = Line(f"section {setting}, the governing one", "in full below")
    lines = (*others, head, *(full.use.lines if full.use else ()), *governing.lines)
    return governing.amount, setting, lines
