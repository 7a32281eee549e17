"""Room inside enclosures: bending space at terminals, box volume, splices in panels."""

from __future__ import annotations

from lugbook.assess.circuit_laid import Laid
from lugbook.assess.circuit_parts import check, fact_check
from lugbook.assess.installation_parts import (
    Check,
    Sheet,
    inches,
    joined,
    length_text,
    told,
    value_of,
)
from lugbook.codebook.nfpa70.enclosures import (
    bending_space_needed_in,
    box_volume_needed,
)
from lugbook.codebook.nfpa70.vehicle_supply import disconnect_duty
from lugbook.errors import MissingEntry
from lugbook.finding import Line, Outcome, SignalWord
from lugbook.premises.circuit import ConduitBody, Terminal
from lugbook.premises.stated import Stated

__all__ = ["inspect_enclosures"]

_LEGS = 2
_BOX = "box"


def inspect_enclosures(sheet: Sheet) -> None:
    """Write what there is to say of the room inside enclosures, and of reach.

    Args:
        sheet: The sheet. [-]
    """
    panel = sheet.panel
    if panel is not None and sheet.is_proposed:
        _bending(
            sheet,
            "panel.bending_space",
            f"panels.{panel.id}.bending_space",
            panel.id,
            panel.bending_space,
        )
    disconnect = sheet.circuit.fitted_disconnect if sheet.circuit else None
    if disconnect is not None:
        _bending(
            sheet,
            "place.bending_space",
            "circuit.disconnect.bending_space",
            "the disconnect",
            disconnect.bending_space,
        )
    _disconnect_reach(sheet)
    _box_volume(sheet)
    _splices(sheet)


def _bending(
    sheet: Sheet, name: str, path: str, where: str, stated: Stated[float] | None
) -> None:
    """Write whether the wire can turn between its terminal and the wall it faces."""
    size = sheet.case.size
    if size is None:
        return
    try:
        sideways, opposite = (
            bending_space_needed_in(
                edition=sheet.edition, size=size, through_opposite_wall=way
            )
            for way in (False, True)
        )
    except MissingEntry:
        return
    if sideways is None or opposite is None:
        return
    found_in = inches(stated)
    compared = check(
        found=(found_in, found_in),
        limit=(sideways.amount, opposite.amount),
        direction="at least",
        unit="in",
        citation=sheet.edition.table("enclosure-bending-space").citation,
        next="",
        signal=SignalWord.CAUTION,
    )
    sheet.answer(
        name,
        "Can the wire turn between its terminal and the wall it faces?",
        (
            told(
                compared,
                open_=(
                    f"Measure from the terminals of {where} straight to the wall."
                    if found_in is None
                    else f"{length_text(found_in)} will do in {where} if the wire "
                    "leaves sideways, not if it leaves through the wall that its "
                    f"terminal faces: then {length_text(opposite.amount)}."
                ),
                short=(
                    f"Take a larger enclosure as {where}, or bring the wire in from "
                    "another side: bent too sharply it pulls on its terminal and cuts "
                    "its insulation."
                ),
            ),
        ),
        lines=(*sideways.lines, *opposite.lines),
        unknown=(
            (
                path,
                f"How far are the terminals of {where} from the wall they face?",
                "tape measure, cover off, by a qualified person",
            ),
        ),
    )


def _disconnect_reach(sheet: Sheet) -> None:
    """Write whether the disconnect can be reached, and found when it is not in sight.

    A stated one is judged where the edition asks for one at all.
    """
    disconnect = sheet.circuit.fitted_disconnect if sheet.circuit else None
    duty = disconnect_duty(
        edition=sheet.edition,
        rated_a=sheet.wish.nameplate_a,
        to_ground_v=sheet.case.to_ground_v,
        hard_wired=sheet.wish.hard_wired,
    )
    if disconnect is None or not duty.is_required:
        return
    rule = sheet.edition.rule("vehicle-disconnect")
    reach, sight = (
        value_of(disconnect.readily_accessible),
        value_of(disconnect.in_sight),
    )
    plaque = value_of(disconnect.plaque)
    checks = [
        fact_check(
            reach,
            found=None if reach is None else "in reach" if reach else "out of reach",
            limit="within reach, without ladder, key or moving things",
            citation=rule.citation,
            next=(
                "State whether the disconnect can be reached without ladder or key."
                if reach is None
                else "Move the disconnect to where anyone can reach it at once."
            ),
            signal=SignalWord.WARNING,
        )
    ]
    if rule.parameters.get("plaque_if_remote"):
        found = "in sight" if sight else "a sign says where" if plaque else "no sign"
        passes = True if sight else plaque if sight is False else None
        checks.append(
            fact_check(
                passes,
                found=None if passes is None else found,
                limit="in sight of the charger, or a sign there that says where it is",
                citation=rule.citation,
                next=(
                    "State whether it can be seen from the charger, and if not, "
                    "whether a sign there says where it is."
                    if passes is None
                    else "Put a lasting sign at the charger that says where its "
                    "disconnect is."
                ),
                signal=SignalWord.WARNING,
            )
        )
    sheet.answer(
        "place.disconnect_reach",
        "Can the disconnect be reached, and found from the charger?",
        checks,
        unknown=tuple(
            (f"circuit.disconnect.{field}", asked, look)
            for field, asked, look, stated in (
                (
                    "readily_accessible",
                    "Can the disconnect be reached without ladder, key or moving "
                    "things?",
                    "go to it",
                    disconnect.readily_accessible,
                ),
                (
                    "in_sight",
                    "Can the disconnect be seen from the charger?",
                    "from the charger",
                    disconnect.in_sight,
                ),
            )
            if stated is None
        ),
    )


# --- boxes and splices ----------------------------------------------------------


def _box_volume(sheet: Sheet) -> None:
    """Write whether each box is large enough for wires up to 6 AWG."""
    checks: list[Check] = []
    lines: list[Line] = []
    unknown: list[tuple[str, str, str]] = []
    for laid in sheet.case.run:
        for number, body in enumerate(laid.section.conduit_bodies, start=1):
            if value_of(body.kind) != _BOX:
                continue
            found = _box_check(sheet, laid, body, f"box {number} of {laid.id}")
            if found is None:
                continue
            checks.append(found[0])
            lines += [line for line in found[1] if line not in lines]
            if found[0].outcome is Outcome.CANNOT_TELL:
                unknown.append(
                    (
                        f"circuit.sections.{laid.id}.conduit_bodies.{number}",
                        "How long, wide and deep is the box inside, and is a wire "
                        "joined in it?",
                        "its stamp, or a tape measure, cover off",
                    )
                )
    sheet.answer(
        "run.box_volume",
        "Is every box large enough for the wires in it?",
        checks,
        lines=tuple(lines),
        unknown=tuple(unknown),
    )


def _box_check(
    sheet: Sheet, laid: Laid, body: ConduitBody, name: str
) -> tuple[Check, tuple[Line, ...]] | None:
    """Return the check of one box, None where its wires are too large for the rule.

    The least is wires that pass unbroken; the most has each joined in the box, and
    clamps inside.
    """
    size = laid.size or sheet.case.size
    ground = sheet.circuit.equipment_ground if sheet.circuit else None
    ground_size = value_of(ground.size) if ground else None
    if size is None:
        return None
    pulled = sheet.circuit is not None and (
        sheet.circuit.neutral is not None or value_of(sheet.circuit.neutral_pulled)
    )
    passing = _LEGS + bool(pulled)
    is_joined = any(value_of(each.inside) == _BOX for each in _splices_of(sheet))
    least, most = (
        box_volume_needed(
            edition=sheet.edition, ends={size: count}, grounding_size=ground_size
        )
        for count in (
            2 * passing if is_joined else passing,
            2 * passing
            + int(sheet.edition.rule("box-volume").number("clamp_allowances_count")),
        )
    )
    if least is None or most is None:
        return None
    sides = [
        inches(each)
        for each in (body.inside_length, body.inside_width, body.inside_depth)
    ]
    held = [each for each in sides if each is not None]
    volume_in3 = held[0] * held[1] * held[2] if len(held) == len(sides) else None
    compared = check(
        found=(volume_in3, volume_in3),
        limit=(least.amount, most.amount),
        direction="at least",
        unit="in³",
        citation=sheet.citation("box-volume"),
        next="",
        signal=SignalWord.CAUTION,
    )
    return (
        told(
            compared,
            open_=f"Measure {name} inside, and state a splice in it as a terminal.",
            short=f"Take a larger box as {name}: crowded wires heat, joints loosen.",
        ),
        most.lines,
    )


def _splices_of(sheet: Sheet) -> list[Terminal]:
    terminals = sheet.circuit.terminals if sheet.circuit else ()
    return [each for each in terminals if each.at.value == "splice"]


def _splices(sheet: Sheet) -> None:
    """Write what a splice inside a panel or disconnect needs: room, and a label."""
    splices = _splices_of(sheet)
    inside = [
        each for each in splices if value_of(each.inside) in ("panel", "disconnect")
    ]
    silent = [each for each in splices if each.inside is None]
    if not inside and not silent:
        return
    rule = sheet.edition.rule("box-fill-splice")
    wires, all_of = (
        f"{100 * rule.number(key):g} %"
        for key in ("conductor_fill_fraction", "splice_fill_fraction")
    )
    names = joined(each.id for each in (inside or silent))
    sheet.answer(
        "panel.splices",
        "Is there room for a splice inside the panel or disconnect?",
        (
            fact_check(
                None,
                found=f"splice {names}" + " inside" * bool(inside),
                limit=f"wires within {wires} of the wiring space at any cross section, "
                f"with splices {all_of}",
                citation=rule.citation,
                next=(
                    f"Look at {names}: the tool cannot measure the wiring space. "
                    "Crowded, have the joint made in a box beside it. Wires that only "
                    "pass through need a label that says where they are switched off."
                    if inside
                    else f"State in which enclosure {names} sits: panel, disconnect, "
                    "box or conduit body."
                ),
            ),
        ),
        unknown=tuple(
            (
                f"circuit.terminals.{each.id}.inside",
                f"In which enclosure does the splice {each.id} sit?",
                "the run",
            )
            for each in silent
        ),
    )
