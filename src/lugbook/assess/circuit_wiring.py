"""The run's sections: where a cable may not be, and how full a raceway is."""

from __future__ import annotations

from lugbook.assess.assessment import CircuitItem
from lugbook.assess.circuit_case import Case
from lugbook.assess.circuit_conductor import least_conductor
from lugbook.assess.circuit_grounding import least_grounding_size
from lugbook.assess.circuit_laid import Laid
from lugbook.assess.circuit_parts import Check, check, fact_check, item_of, sized_item
from lugbook.codebook.nfpa70.ampacity import insulation_rating_c
from lugbook.codebook.nfpa70.raceway_fill import (
    conductor_area_in2,
    fill_limit_in2,
    trade_sizes,
)
from lugbook.errors import MissingEntry
from lugbook.finding import Line, Outcome, SignalWord, compare
from lugbook.premises.circuit import RACEWAYS, EquipmentGround, Section

__all__ = ["fill_items", "shared_wires", "wiring_items"]

_FILL_QUESTION = "Do the conductors fit the raceway?"


def wiring_items(case: Case) -> tuple[CircuitItem, ...]:
    """One item for each section whose place does not suit its cable or wire.

    Args:
        case: The circuit. [-]

    Returns:
        Items; none where nothing is wrong or open. [-]
    """
    found = ((laid, _place_check(case, laid)) for laid in case.run)
    return tuple(
        item_of(
            item="wiring_method",
            at=laid.id,
            question="May this wiring method lie where it does?",
            stated=_stated(laid),
            minimum=str(each.limit) if each.limit else None,
            checks=(each,),
            title=f"Wiring method of section {laid.id}",
            lines=(
                Line("place", _place(laid), source=f"plan, circuit.sections.{laid.id}"),
                Line("rule", str(each.limit), source=each.citation or ""),
            ),
        )
        for laid, each in found
        if each is not None
    )


def fill_items(case: Case) -> tuple[CircuitItem, ...]:
    """One item for each section in a raceway.

    Args:
        case: The circuit. [-]

    Returns:
        Items, stated trade sizes judged and missing ones sized. [-]
    """
    return tuple(_fill_item(case, laid) for laid in case.run if laid.method in RACEWAYS)


def _stated(laid: Laid) -> str | None:
    return laid.method and f"{laid.method}, {_place(laid)}"


def _place(laid: Laid) -> str:
    place = laid.section.place.value if laid.section.place else "place not stated"
    wet = {True: "wet", False: "dry", None: "wet or dry not stated"}[laid.is_wet]
    return f"{place}, {wet}"


def _place_check(case: Case, laid: Laid) -> Check | None:
    """Return what is wrong or open about a section's place, None if nothing."""
    place = laid.section.place.value if laid.section.place else None
    underground = place == "underground"
    name = f"section {laid.id}"
    if laid.method == "NM cable":
        return _forbidden(
            case,
            rule="nm-places",
            wrong=laid.is_wet,
            found=_place(laid),
            limit="dry places inside only",
            next_wrong=f"Change the method of {name}: NM cable is for dry places.",
            next_open=f"State the place of {name}, and whether it is wet or damp.",
        )
    if laid.method == "SE cable":
        return _forbidden(
            case,
            rule="se-cable",
            wrong=underground if place else None,
            found=_place(laid),
            limit="not underground",
            next_wrong=f"Change the method of {name}: SE cable may not be buried.",
            next_open=f"State the place of {name}.",
        )
    if laid.method == "AC cable":
        return _forbidden(
            case,
            rule="ac-cable",
            wrong=laid.is_wet,
            found=_place(laid),
            limit="dry places only",
            next_wrong=f"Change the method of {name}: AC cable is for dry places.",
            next_open=f"State the place of {name}, and whether it is wet.",
        )
    if laid.method == "MC cable" and laid.is_wet is not False:
        return fact_check(
            None,
            found=_place(laid),
            limit="in wet places only cable listed for them",
            citation=case.edition.rule("mc-cable").citation,
            next=f"Read the tag of the cable in {name}: is it listed for wet places?",
        )
    if laid.method == "open air" or laid.method is None:
        return fact_check(
            None,
            found=laid.method,
            limit="a wiring method of the book",
            citation=case.edition.rule("wet-location").citation,
            next=f"State the wiring method of {name}: its raceway or cable.",
        )
    return _insulation_check(case, laid)


def _forbidden(
    case: Case,
    *,
    rule: str,
    wrong: bool | None,
    found: str,
    limit: str,
    next_wrong: str,
    next_open: str,
) -> Check | None:
    if wrong is False:
        return None
    return fact_check(
        None if wrong is None else False,
        found=found,
        limit=limit,
        citation=case.edition.rule(rule).citation,
        next=next_wrong if wrong else next_open,
        signal=SignalWord.WARNING,
    )


def _insulation_check(case: Case, laid: Laid) -> Check | None:
    insulation = laid.insulation
    if insulation == "bare":
        wrong: bool | None = True
    elif insulation is None or laid.is_wet is False:
        return None
    else:
        wet = insulation_rating_c(
            edition=case.edition, insulation=insulation, is_wet=True
        )
        if wet is not None:
            return None
        wrong = True if laid.is_wet else None
    return fact_check(
        False if wrong else None,
        found=insulation,
        limit="insulation for wet places",
        citation=case.edition.rule("wet-location").citation,
        next=(
            f"Take insulation for wet places, such as THWN-2, in section {laid.id}."
            if wrong
            else f"State whether section {laid.id} is wet."
        ),
        signal=SignalWord.WARNING,
    )


def _fill_item(case: Case, laid: Laid) -> CircuitItem:
    method = laid.method or ""
    trade = laid.section.trade_size.value if laid.section.trade_size else None
    inside = _inside(case, laid)
    rule = case.edition.table("raceway-fill")
    minimum: str | None = None
    area_in2: float | None = None
    count = 0
    lines: tuple[Line, ...] = ()
    if inside is not None:
        area_in2, count, lines = inside
        minimum = _least_trade(case, laid, area_in2, count)
    title = f"Raceway fill of section {laid.id}"
    unknown = (
        f"State what is in the raceway of section {laid.id}: sizes and insulation of "
        "every conductor."
    )
    if trade is None:
        return sized_item(
            item="raceway_fill",
            at=laid.id,
            question=f"Which is the least trade size of {method} that will do?",
            minimum=minimum and f"{method} {minimum}",
            limit=minimum,
            unit="",
            citation=rule.citation,
            title=title,
            lines=lines,
            next=f"Take {method} {minimum} or larger." if minimum else unknown,
        )
    limit_in2, limit_lines = _limit(case, laid, trade, count)
    return item_of(
        item="raceway_fill",
        at=laid.id,
        question=_FILL_QUESTION,
        stated=f"{method} {trade}",
        minimum=minimum and f"{method} {minimum}",
        checks=(
            check(
                found=(area_in2, area_in2),
                limit=(limit_in2, limit_in2),
                unit="in²",
                citation=rule.citation,
                next=(
                    f"Take {method} {minimum} or larger in section {laid.id}."
                    if minimum
                    else unknown
                ),
            ),
        ),
        title=title,
        lines=(*lines, *limit_lines),
    )


def _inside(case: Case, laid: Laid) -> tuple[float, int, tuple[Line, ...]] | None:
    """Return area, number and lines of what lies in a raceway; None if unknown."""
    size = laid.size or case.size or least_conductor(case)
    insulation = laid.insulation
    shared = shared_wires(laid.section)
    if size is None or insulation is None or shared is None:
        return None
    circuit = case.circuit
    wires = [(size, insulation)] * 2 + shared
    if circuit is not None and (
        circuit.neutral is not None
        or (circuit.neutral_pulled is not None and circuit.neutral_pulled.value)
    ):
        neutral = circuit.neutral
        wires.append(
            (neutral.size.value if neutral and neutral.size else size, insulation)
        )
    ground = laid.section.equipment_ground or (
        circuit.equipment_ground if circuit else None
    )
    grounding = _ground_wire(case, ground, insulation)
    if grounding is None:
        return None
    wires.extend(grounding)
    try:
        areas = [
            conductor_area_in2(edition=case.edition, size=each, insulation=cover)
            for each, cover in wires
        ]
    except MissingEntry:
        return None
    total_in2 = sum(each.amount for each in areas)
    lines = tuple(dict.fromkeys(line for each in areas for line in each.lines))
    total = Line(
        f"{len(wires)} conductors together",
        total_in2,
        "in²",
        "sum",
        " + ".join(f"{each.amount:g}" for each in areas) + " in²",
    )
    return total_in2, len(wires), (*lines, total)


def shared_wires(section: Section) -> list[tuple[str, str]] | None:
    """The wires of other circuits in a section; None if one is not described.

    Those that carry current are counted in the section; each must be described.

    Args:
        section: The section. [-]

    Returns:
        Size and insulation of each. [-]
    """
    wires: list[tuple[str, str]] = []
    for other in section.other_conductors:
        if other.size is None or other.insulation is None or other.count is None:
            return None
        wires += [(other.size.value, other.insulation.value)] * other.count.value
    counted = section.other_current_carrying_conductors
    if counted is not None and counted.value > len(wires):
        return None
    return wires


def _ground_wire(
    case: Case, ground: EquipmentGround | None, insulation: str
) -> list[tuple[str, str]] | None:
    """Return the grounding wire in a raceway, none where the raceway serves."""
    kind = ground.kind.value if ground and ground.kind else "wire"
    if kind != "wire":
        return []
    size = ground.size.value if ground and ground.size else least_grounding_size(case)
    if size is None:
        return None
    insulated = ground.insulated if ground else None
    # Unsaid counts as insulated: it takes more room.
    is_bare = insulated is not None and not insulated.value
    return [(size, "bare" if is_bare else insulation)]


def _limit(
    case: Case, laid: Laid, trade: str, count: int
) -> tuple[float | None, tuple[Line, ...]]:
    if not count:
        return None, ()
    held = trade_sizes(edition=case.edition, method=laid.method or "")
    # Larger trade sizes than the table holds have more room than its last.
    at = trade if trade in held else held[-1] if trade in ("2-1/2", "3") else trade
    try:
        limit = fill_limit_in2(
            edition=case.edition,
            method=laid.method or "",
            trade_size=at,
            count=count,
            length_m=laid.length_m,
        )
    except MissingEntry:
        return None, ()
    return limit.amount, limit.lines


def _least_trade(case: Case, laid: Laid, area_in2: float, count: int) -> str | None:
    for trade in trade_sizes(edition=case.edition, method=laid.method or ""):
        limit_in2, _ = _limit(case, laid, trade, count)
        outcome = compare(found=area_in2, limit=limit_in2, kind="series").outcome
        if outcome is Outcome.MEETS:
            return trade
    return None
