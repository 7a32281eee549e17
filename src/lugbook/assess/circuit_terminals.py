"""Each terminal on the path: does the conductor fit, and is its metal accepted?"""

from __future__ import annotations

from dataclasses import dataclass

from lugbook.assess.assessment import CircuitItem
from lugbook.assess.circuit_case import Case
from lugbook.assess.circuit_parts import Check, fact_check, item_of, sized_item
from lugbook.codebook.nfpa70.terminals import is_size_in_range
from lugbook.finding import Line, SignalWord, Weight
from lugbook.premises.circuit import Conductor

__all__ = ["Lug", "lug_checks", "lugs_on_path", "terminal_items"]

_QUESTION = "Does the terminal take this conductor?"
_LOOK = "the range and the metals printed beside the lug or in the instructions"


@dataclass(frozen=True, slots=True)
class Lug:
    """A clamping point as far as it is stated."""

    id: str
    name: str
    path: str
    smallest: str | None
    largest: str | None
    materials: str | None
    fine_strands: bool | None
    wires: int | None
    takes: str


def terminal_items(case: Case) -> tuple[CircuitItem, ...]:
    """Every terminal on the path, device, disconnect and charger included.

    Args:
        case: The circuit. [-]

    Returns:
        One item for each terminal; one for all while no conductor is stated. [-]
    """
    rule = case.edition.rule("conductors-per-terminal")
    line = Line(rule.question, "1, unless marked for more", source=rule.citation)
    if case.size is None:
        item = sized_item(
            item="terminals",
            question="What must every terminal on the path take?",
            minimum="one conductor, within its range and of its metal",
            limit=None,
            unit="",
            citation=case.edition.rule("equipment-listing").citation,
            title="Terminals",
            lines=(line,),
            next="Before buying wire, compare its size and metal with " + _LOOK + ".",
        )
        return (item,)
    return tuple(_item(case, lug, line) for lug in lugs_on_path(case))


def lugs_on_path(case: Case) -> list[Lug]:
    """Every clamping point on the path, as far as it is stated.

    Args:
        case: The circuit. [-]

    Returns:
        Clamping points. [-]
    """
    circuit = case.circuit
    parts: list[tuple[str, str, object]] = [
        ("device", "circuit.overcurrent", circuit.overcurrent if circuit else None),
        (
            "disconnect",
            "circuit.disconnect",
            circuit.fitted_disconnect if circuit else None,
        ),
    ]
    if case.wish.hard_wired is not False:
        parts.append(("charger", "charger", case.plan.charger))
    places = {"device": "overcurrent device"}
    listed = circuit.terminals if circuit else ()
    lugs = []
    for name, path, part in parts:
        place = places.get(name, name)
        if part is None and name == "disconnect":
            continue
        own = _part_lug(name, path, part)
        covered = [t for t in listed if t.at.value.startswith(place) and t.smallest]
        if own.smallest is None and own.largest is None and covered:
            continue
        lugs.append(own)
    for terminal in listed:
        on = terminal.on.value if terminal.on else None
        if terminal.at.value in ("main lugs", "meter base"):
            continue
        silent = terminal.smallest is None and terminal.largest is None
        if silent and terminal.at.value != "splice":
            # The same clamp, already judged by the part's own fields.
            continue
        lugs.append(
            Lug(
                id=terminal.id,
                name=f"{terminal.at.value} ({terminal.id})",
                path=f"circuit.terminals.{terminal.id}",
                smallest=terminal.smallest.value if terminal.smallest else None,
                largest=terminal.largest.value if terminal.largest else None,
                materials=terminal.materials.value if terminal.materials else None,
                fine_strands=(
                    terminal.fine_strands.value if terminal.fine_strands else None
                ),
                wires=terminal.wires_in_it.value if terminal.wires_in_it else None,
                takes=_takes(on, terminal.at.value),
            )
        )
    return lugs


def _takes(on: str | None, at: str) -> str:
    if on == "ground" or at == "grounding bar":
        return "ground"
    return "neutral" if on == "neutral" or at == "neutral bar" else "leg"


def _part_lug(name: str, path: str, part: object) -> Lug:
    def text(field: str) -> str | None:
        stated = getattr(part, field, None)
        return None if stated is None else str(stated.value)

    return Lug(
        id=name,
        name=name,
        path=path,
        smallest=text("terminal_smallest"),
        largest=text("terminal_largest"),
        materials=text("terminal_materials"),
        fine_strands=None,
        wires=None,
        takes="leg",
    )


def _item(case: Case, lug: Lug, line: Line) -> CircuitItem:
    size, material, stranding = _conductor_at(case, lug)
    stated = None if size is None else f"{size} {material}"
    accepted = lug.materials or "metals not stated"
    reach = f"{lug.smallest or '?'} to {lug.largest or '?'}, {accepted}"
    is_told = lug.smallest is not None or lug.largest is not None
    lines = (
        Line(f"{lug.name}: takes", reach, source=f"plan, {lug.path}"),
        Line("conductor there", stated or "not stated"),
        line,
    )
    return item_of(
        item="terminals",
        at=lug.id,
        question=_QUESTION,
        stated=stated,
        minimum=reach if is_told else None,
        checks=lug_checks(case, lug, size, material, stranding),
        title=f"Terminals: {lug.name}",
        lines=lines,
    )


def _conductor_at(case: Case, lug: Lug) -> tuple[str | None, str, str | None]:
    circuit = case.circuit
    part: object = circuit.conductor if circuit else None
    if lug.takes == "ground":
        part = circuit.equipment_ground if circuit else None
    elif lug.takes == "neutral":
        part = (circuit.neutral if circuit else None) or part
    size = getattr(part, "size", None)
    material = getattr(part, "material", None)
    stranding = part.stranding if isinstance(part, Conductor) else None
    return (
        size.value if size else None,
        material.value if material else case.material,
        stranding.value if stranding else None,
    )


def lug_checks(
    case: Case, lug: Lug, size: str | None, material: str, stranding: str | None
) -> tuple[Check, ...]:
    """Whether a clamping point takes a conductor.

    Args:
        case: The circuit. [-]
        lug: The clamping point. [-]
        size: Size of the conductor; None if unknown. [-]
        material: Its metal. [-]
        stranding: How it is stranded; None if unknown. [-]

    Returns:
        The comparisons: size, metal, and number and strands where stated. [-]
    """
    rule = case.edition.rule("equipment-listing")
    fits: bool | None = None
    if size is not None and lug.smallest and lug.largest:
        fits = is_size_in_range(size=size, smallest=lug.smallest, largest=lug.largest)
    elif size is not None and (lug.smallest or lug.largest):
        inside = is_size_in_range(
            size=size, smallest=lug.smallest or size, largest=lug.largest or size
        )
        fits = None if inside else False
    checks = [
        fact_check(
            fits,
            found=size,
            limit=f"{lug.smallest or '?'} to {lug.largest or '?'}",
            citation=rule.citation,
            next=(
                f"State the sizes the {lug.name} takes: look for {_LOOK}."
                if fits is None
                else f"Fit a listed splice or another lug: {size} is outside the range "
                f"of the {lug.name}."
            ),
            # An unread range is a thing to look up before buying; the wire shows it.
            weight=Weight.ADVICE if fits is None else Weight.MUST,
            signal=SignalWord.WARNING,
        ),
        fact_check(
            _metal_is_accepted(lug.materials, material),
            found=material,
            limit=lug.materials or "not stated",
            citation=rule.citation,
            next=(
                f"State which metals the {lug.name} takes: look for {_LOOK}."
                if lug.materials is None
                else f"Do not put {material} under the {lug.name}: splice to the metal "
                "it takes with a listed connector."
            ),
            weight=Weight.ADVICE if lug.materials is None else Weight.MUST,
            signal=SignalWord.WARNING,
        ),
    ]
    several = case.edition.rule("conductors-per-terminal")
    if lug.wires is not None and lug.wires > several.number("wires_count"):
        checks.append(
            fact_check(
                None,
                found=f"{lug.wires} wires",
                limit="one wire, unless marked for more",
                citation=several.citation,
                next=f"Read whether the {lug.name} is marked for {lug.wires} wires.",
            )
        )
    if stranding == "fine":
        checks.append(
            fact_check(
                lug.fine_strands,
                found="fine strands",
                limit="a terminal identified for fine strands",
                citation=several.citation,
                next=f"Read whether the {lug.name} is marked for fine-stranded wire.",
            )
        )
    return tuple(checks)


def _metal_is_accepted(accepted: str | None, material: str) -> bool | None:
    if accepted is None:
        # Terminals for aluminum alone are not sold for dwellings; copper is safe.
        return True if material == "copper" else None
    return accepted == "copper or aluminum" or accepted == f"{material} only"
