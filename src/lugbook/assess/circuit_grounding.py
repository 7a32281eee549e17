"""The equipment grounding conductor: a wire by table and growth, or the raceway."""

from __future__ import annotations

from dataclasses import dataclass

from lugbook.assess.assessment import CircuitItem
from lugbook.assess.circuit_case import Case
from lugbook.assess.circuit_conductor import least_conductor
from lugbook.assess.circuit_laid import Laid
from lugbook.assess.circuit_parts import Check, check, fact_check, item_of, sized_item
from lugbook.assess.circuit_run import least_size
from lugbook.codebook.edition import Edition
from lugbook.codebook.nfpa70.grounding import (
    RacewayLength,
    circular_mils,
    grounding_area_needed,
    raceway_may_ground,
    smallest_size_of_area,
    table_grounding_size,
)
from lugbook.errors import MissingEntry, OutOfRange
from lugbook.finding import Line, SignalWord, Weight
from lugbook.premises.circuit import EquipmentGround
from lugbook.quantities import CONDUCTOR_SIZES

__all__ = ["grounding_item", "grown_grounding_size", "least_grounding_size"]

_QUESTION = (
    "Can the equipment grounding conductor carry a fault until the device opens?"
)
_TITLE = "Equipment grounding conductor"
_HAIR = 0.999  # our own bound of what to ask about; it decides no outcome


@dataclass(frozen=True, slots=True)
class _Need:
    """Area asked of the grounding wire: favourable and unfavourable; with its lines."""

    low_cmil: float | None
    high_cmil: float | None
    size: str | None
    lines: tuple[Line, ...]


def least_grounding_size(case: Case) -> str | None:
    """The smallest grounding wire that will do, in the stated or usual material.

    Args:
        case: The circuit. [-]

    Returns:
        Size; None if it cannot be known. [-]
    """
    return _need(case, _material(case, _stated(case)), case.size, case.material).size


def grounding_item(case: Case) -> CircuitItem:
    """The equipment grounding conductor, stated or sized.

    Args:
        case: The circuit. [-]

    Returns:
        The item. [-]
    """
    stated = _stated(case)
    rule = case.edition.rule("equipment-grounding")
    need = _need(case, _material(case, stated), case.size, case.material)
    minimum = f"{need.size} {_material(case, stated)}" if need.size else None
    own = tuple(laid for laid in case.run if laid.section.equipment_ground is not None)
    if not _says(stated) and not own:
        return sized_item(
            item="equipment_grounding_conductor",
            question="Which is the least equipment grounding conductor that will do?",
            minimum=minimum,
            limit=minimum,
            unit="",
            citation=rule.citation,
            title=_TITLE,
            lines=need.lines,
            next=(
                f"Pull {minimum} or larger with the circuit's conductors."
                if minimum
                else "State the setting and the run: its size depends on them."
            ),
        )
    checks: list[Check] = []
    lines: list[Line] = list(need.lines)
    stretches = case.run or (None,)
    for laid in stretches:
        ground = (laid.section.equipment_ground if laid else None) or stated
        found, more = _judge(case, ground, laid)
        checks.append(found)
        lines.extend(line for line in more if line not in lines)
    return item_of(
        item="equipment_grounding_conductor",
        question=_QUESTION,
        stated=_words(stated) or _words(own[0].section.equipment_ground),
        minimum=minimum,
        checks=tuple(dict.fromkeys(checks)),
        title=_TITLE,
        lines=tuple(lines),
    )


def _stated(case: Case) -> EquipmentGround | None:
    return case.circuit.equipment_ground if case.circuit else None


def _says(ground: EquipmentGround | None) -> bool:
    return ground is not None and (ground.kind is not None or ground.size is not None)


def _words(ground: EquipmentGround | None) -> str | None:
    if ground is None:
        return None
    kind = ground.kind.value if ground.kind else "wire"
    if kind != "wire" or ground.size is None:
        return kind
    return (
        f"{ground.size.value} {ground.material.value if ground.material else 'copper'}"
    )


def _material(case: Case, ground: EquipmentGround | None) -> str:
    if ground is not None and ground.material is not None:
        return ground.material.value
    case.notes.assume(
        "circuit.equipment_ground.material",
        "The equipment grounding conductor is copper.",
        "nobody stated its material; aluminum must be larger",
    )
    return "copper"


def _need(case: Case, material: str, used: str | None, used_material: str) -> _Need:
    """Return the area asked of a grounding wire beside conductors of a size."""
    device_a = case.judged_device_a
    if device_a is None:
        return _Need(None, None, None, ())
    try:
        table_size, line = table_grounding_size(
            edition=case.edition, device_a=device_a, material=material
        )
        base = circular_mils(edition=case.edition, size=table_size).amount
    except MissingEntry:
        return _Need(None, None, None, ())
    lines: list[Line] = [line]
    if used is None:
        return _Need(base, base, table_size, tuple(lines))
    # An unread terminal marking makes the least conductor larger, and so the growth
    # smaller: the hopeful column is here the careful one.
    least = least_conductor(case, hopeful=True)
    by_run = least is not None
    if least is None:
        least = _least_by_terminals(case, device_a)
    if least is None:
        return _Need(base, None, None, tuple(lines))
    lines.append(Line("least ungrounded conductor here", f"{least} {used_material}"))
    try:
        capped, size, grown_lines = grown_grounding_size(
            edition=case.edition,
            table_size=table_size,
            material=material,
            used=used,
            used_material=used_material,
            least=least,
        )
    except (MissingEntry, OutOfRange):
        return _Need(base, None, None, tuple(lines))
    lines.extend(grown_lines)
    if _is_near_miss(case, capped, size):
        lines.append(_near_miss_line(case, capped, size))
    return _Need(
        min(capped, base) if not by_run else capped, capped, size, tuple(lines)
    )


def grown_grounding_size(
    *,
    edition: Edition,
    table_size: str,
    material: str,
    used: str,
    used_material: str,
    least: str,
) -> tuple[float, str, tuple[Line, ...]]:
    """The grounding wire beside conductors larger than they need be.

    Args:
        edition: Edition of the rules. [-]
        table_size: Size the table asks. [-]
        material: Metal of the grounding wire. [-]
        used: Size of the ungrounded conductors. [-]
        used_material: Their metal. [-]
        least: Least size of them that suffices. [-]

    Returns:
        Area needed, the smallest size of it, and the lines. [circular mil]

    Raises:
        MissingEntry: A size is not in the conductor table.
        OutOfRange: The area is beyond it.
    """
    base = circular_mils(edition=edition, size=table_size).amount
    grown = grounding_area_needed(
        edition=edition, table_size=table_size, used_size=used, least_size=least
    )
    lines = list(grown.lines if grown.amount > base else ())
    used_cmil = circular_mils(edition=edition, size=used).amount
    needed = grown.amount
    if material == used_material and used_cmil < needed:
        needed = used_cmil
        lines.append(Line("never larger than the circuit's conductors", used))
    return needed, smallest_size_of_area(edition=edition, area=needed), tuple(lines)


def _least_by_terminals(case: Case, device_a: float) -> str | None:
    """Return the least size without the run: it makes the growth the largest."""
    if case.counted is None:
        return None
    column_c, _ = case.column_c(device_a, hopeful=True)
    return least_size(
        case,
        material=case.material,
        column_c=column_c,
        device_a=device_a,
        load_a=case.counted.likely_a,
        terminals_only=True,
    )


def _is_near_miss(case: Case, needed: float, size: str) -> bool:
    """Return whether the size below falls short by less than a thousandth."""
    smaller = _next_smaller(size)
    if smaller is None:
        return False
    try:
        area = circular_mils(edition=case.edition, size=smaller).amount
    except MissingEntry:
        return False
    return needed * _HAIR <= area < needed


def _near_miss_line(case: Case, needed: float, size: str) -> Line:
    smaller = _next_smaller(size) or ""
    area = circular_mils(edition=case.edition, size=smaller).amount
    return Line(
        f"{smaller} by the letter",
        "falls short by a hair",
        "",
        "ask the authority whether the tables' rounding may be forgiven",
        f"{area:,.0f} against {needed:,.1f} circular mil",
    )


def _next_smaller(size: str) -> str | None:
    rank = CONDUCTOR_SIZES.index(size)
    return CONDUCTOR_SIZES[rank - 1] if rank else None


def _judge(
    case: Case, ground: EquipmentGround | None, laid: Laid | None
) -> tuple[Check, tuple[Line, ...]]:
    rule = case.edition.rule("equipment-grounding")
    kind = ground.kind.value if ground is not None and ground.kind else "wire"
    if kind == "none":
        return (
            fact_check(
                False,
                found="none",
                limit="an equipment grounding conductor",
                citation=rule.citation,
                next="Do not energise: run an equipment grounding conductor.",
                weight=Weight.STOP,
                signal=SignalWord.DANGER,
            ),
            (),
        )
    if kind in ("raceway", "cable armor"):
        return _judge_raceway(case, kind, laid)
    material = _material(case, ground)
    used = (laid.size if laid else None) or case.size
    used_material = (laid.material if laid else None) or case.material
    need = _need(case, material, used, used_material)
    size = ground.size.value if ground is not None and ground.size else None
    area = None if size is None else _area(case, size)
    take = f"Take {need.size} {material} or larger." if need.size else ""
    advice = (
        " Ask the authority first: the size below falls short by a hair."
        if need.size
        and need.high_cmil
        and _is_near_miss(case, need.high_cmil, need.size)
        else ""
    )
    where = f" in section {laid.id}" if laid and laid.section.equipment_ground else ""
    found = check(
        found=(area, area),
        limit=(need.low_cmil, need.high_cmil),
        direction="at least",
        unit="circular mil",
        citation=rule.citation,
        next=(
            f"{take}{advice}"
            if size is not None and take
            else f"State the size of the grounding conductor{where}, and the run."
        ),
        signal=SignalWord.WARNING,
    )
    return found, need.lines


def _area(case: Case, size: str) -> float:
    """Return the area of a size; the table's ends stand for what lies beyond them."""
    try:
        return circular_mils(edition=case.edition, size=size).amount
    except MissingEntry:
        rows = case.edition.table("conductor-properties").rows
        first = CONDUCTOR_SIZES.index(str(rows[0][0]))
        end = 0 if CONDUCTOR_SIZES.index(size) < first else -1
        area = circular_mils(edition=case.edition, size=str(rows[end][0])).amount
        return area if end else 0.0


def _judge_raceway(
    case: Case, kind: str, laid: Laid | None
) -> tuple[Check, tuple[Line, ...]]:
    rule = case.edition.rule("grounding-raceways")
    device_a = case.judged_device_a
    if kind == "cable armor":
        is_cable = laid is None or laid.method in ("MC cable", "AC cable")
        return (
            fact_check(
                None if is_cable else False,
                found="cable armor",
                limit="armor listed as a grounding path",
                citation=rule.citation,
                next="Read the cable's tag: is its armor listed as a grounding path?",
                signal=SignalWord.WARNING,
            ),
            (),
        )
    if device_a is None or laid is None or laid.method is None:
        return (
            fact_check(
                None,
                found="raceway",
                limit="a raceway that may serve",
                citation=rule.citation,
                next="State every section's wiring method and the device's rating.",
            ),
            (),
        )
    run = tuple(
        RacewayLength(
            each.method or "",
            each.section.trade_size.value if each.section.trade_size else None,
            each.length_m,
        )
        for each in case.run
        if each is laid or each.method in ("FMC", "LFMC")
    )
    allowed, why, line = raceway_may_ground(
        edition=case.edition, device_a=device_a, raceways=run
    )
    found = fact_check(
        allowed,
        found=laid.method,
        limit="a raceway that may serve",
        citation=rule.citation,
        next=f"Pull a grounding wire: {why}." if why else "",
        signal=SignalWord.WARNING,
    )
    return found, (line,)
