"""The panel the circuit begins in: its condition, its place, the space before it."""

from __future__ import annotations

from lugbook.assess.circuit_parts import check, fact_check
from lugbook.assess.installation_parts import (
    Check,
    Sheet,
    fact,
    inches,
    joined,
    length_text,
    value_of,
)
from lugbook.finding import Line, SignalWord, Weight
from lugbook.premises.panel import Panel

__all__ = ["inspect_panel"]

# Each with the sentence that stops: what it does, then what must be true to go on.
_STOPS = {
    "burnt stab": (
        "a burnt stab heats under load until what touches it burns; go on when the "
        "bus is replaced"
    ),
    "corroded bus": (
        "rust on the bus is resistance, and under hours of load it burns; go on when "
        "the bus is replaced"
    ),
    "water marks": (
        "water in the panel rusts bus and breakers where nobody sees it; go on when "
        "the way in is closed and a qualified person has found the parts sound"
    ),
    "melted insulation": (
        "something in it has been far too hot; go on when the cause is found and the "
        "damaged parts are replaced"
    ),
    "smell of burning": (
        "something in it is burning now; go on when the cause is found and mended"
    ),
    "breaker family under recall": (
        "such breakers may not open on a short circuit or an overload; go on when the "
        "maker's recall list says this one is sound, or they are replaced"
    ),
}
_MUSTS = {
    "open knockouts": ("unused-openings", "Close every unused knockout."),
    "missing filler": ("unused-openings", "Put a filler plate over every open space."),
    "two wires under one screw": (
        "conductors-per-terminal",
        "Give each wire a terminal of its own: two under one screw work loose.",
    ),
}
_ADVICE = {
    "aluminum branch conductors": (
        "Have every joint of the old aluminum branch wires looked at: they loosen "
        "and heat, whatever the charger does."
    ),
    "label not legible": (
        "Find the panel's label text by its model number: without it nobody can say "
        "which breaker belongs in it."
    ),
}


def inspect_panel(sheet: Sheet) -> None:
    """Write what there is to say of every panel, and of the circuit's in full.

    Args:
        sheet: The sheet. [-]
    """
    for panel in sheet.plan.panels:
        _condition(sheet, panel)
    if not sheet.plan.panels:
        sheet.unknown(
            "panels",
            "In which panel does the circuit begin, and in which state is it?",
            "the panel: its door, its label, its cover",
            later=not sheet.is_proposed,
        )
    panel_of_circuit = sheet.panel
    if panel_of_circuit is None:
        return
    _room(sheet, panel_of_circuit)
    _working_space(sheet, panel_of_circuit)
    _handle(sheet, panel_of_circuit)
    _enclosure(sheet, panel_of_circuit)
    _subpanel(sheet, panel_of_circuit)


def _condition(sheet: Sheet, panel: Panel) -> None:
    """Write what was seen on opening it. No calculation overrides a stop."""
    path = f"panels.{panel.id}.condition"
    seen = panel.condition
    checks = []
    if not seen:
        checks.append(
            fact_check(
                None,
                found=None,
                limit="looked at, and clean",
                citation=sheet.citation("damaged-parts"),
                next=(
                    f"Have the cover of {panel.id} taken off by a qualified person, "
                    "and look: bus, stabs, rust, water, smell."
                ),
            )
        )
    checks += [_stop(sheet, word) for word in seen if word in _STOPS]
    for word in seen:
        if word in _MUSTS:
            rule, told = _MUSTS[word]
            checks.append(_flaw(sheet, word, rule, told, Weight.MUST))
        elif word in _ADVICE:
            told = _ADVICE[word]
            checks.append(_flaw(sheet, word, "damaged-parts", told, Weight.ADVICE))
    if not checks:
        checks.append(
            fact_check(
                True,
                found="clean",
                limit="looked at, and clean",
                citation=sheet.citation("damaged-parts"),
                next="",
            )
        )
    sheet.answer(
        f"panel.condition.{panel.id}",
        "Is the panel fit to carry hours of load?",
        checks,
        lines=tuple(
            Line("seen on opening it", word, source=f"plan, {path}") for word in seen
        ),
        unknown=(
            (
                path,
                f"In which state is {panel.id} inside?",
                "cover off, by a qualified person: bus, stabs, rust, water, smell",
            ),
        ),
        # Once somebody has chosen device or wire, nobody may pass over it.
        open_weight=Weight.MUST if sheet.is_proposed else Weight.ADVICE,
    )


def _stop(sheet: Sheet, word: str) -> Check:
    return fact_check(
        False,
        found=word,
        limit="looked at, and clean",
        citation=sheet.citation("damaged-parts"),
        next=f"Switch the main off and leave it off: {_STOPS[word]}.",
        weight=Weight.STOP,
        signal=SignalWord.WARNING,
    )


def _flaw(sheet: Sheet, word: str, rule: str, told: str, weight: Weight) -> Check:
    return fact_check(
        False,
        found=word,
        limit="looked at, and clean",
        citation=sheet.citation(rule),
        next=told,
        weight=weight,
    )


def _room(sheet: Sheet, panel: Panel) -> None:
    rule = sheet.edition.rule("panel-places")
    room = value_of(panel.room)
    sheet.answer(
        "panel.room",
        "May a panel hang in this room?",
        (
            fact_check(
                None if room is None else room not in rule.words("forbidden_rooms"),
                found=room,
                limit=f"not in: {', '.join(rule.words('forbidden_rooms'))}",
                citation=rule.citation,
                next=(
                    f"State the room of {panel.id}."
                    if room is None
                    else "Ask the authority before anything is added there: a panel "
                    f"may not hang {_where(room)}, and moving it is a job of its own."
                ),
            ),
        ),
        unknown=(
            (
                f"panels.{panel.id}.room",
                f"In which kind of room does {panel.id} hang?",
                "the house: closet, bathroom, over steps, garage, outdoors",
            ),
        ),
    )


def _where(room: str) -> str:
    return room if room.startswith("over") else f"in a {room}"


def _working_space(sheet: Sheet, panel: Panel) -> None:
    """Write depth, width and height of the space before the panel."""
    rule = sheet.edition.rule("working-space")
    asked = {
        "depth": (panel.working_depth, "depth_in"),
        "width": (panel.working_width, "width_in"),
        "height": (panel.working_height, "height_in"),
    }
    checks, lines, missing = [], [], []
    for name, (stated, key) in asked.items():
        limit_in, found_in = rule.number(key), inches(stated)
        least = length_text(limit_in)
        checks.append(
            check(
                found=(found_in, found_in),
                limit=(limit_in, limit_in),
                direction="at least",
                unit="in",
                citation=rule.citation,
                next=(
                    f"Measure the clear {name} before {panel.id}: {least} at least."
                    if stated is None
                    else f"Clear the space before {panel.id}, or move what stands "
                    f"there: its {name} must be {least} at least, kept free."
                ),
            )
        )
        lines.append(Line(f"{name} at least", limit_in, "in", source=rule.citation))
        if stated is None:
            missing.append(
                (
                    f"panels.{panel.id}.working_{name}",
                    f"How much clear {name} is there before {panel.id}?",
                    "tape measure; a photo of it goes with the papers",
                )
            )
    sheet.answer(
        "panel.working_space",
        "Is there room to work safely before the panel?",
        checks,
        lines=tuple(lines),
        unknown=tuple(missing),
        done="Keep it clear: nothing is stored there.",
    )


def _handle(sheet: Sheet, panel: Panel) -> None:
    rule = sheet.edition.rule("handle-height")
    found_in, limit_in = inches(panel.highest_handle), rule.number("handle_up_to_in")
    sheet.answer(
        "panel.handle_height",
        "Can every handle be reached from the floor?",
        (
            check(
                found=(found_in, found_in),
                limit=(limit_in, limit_in),
                unit="in",
                citation=rule.citation,
                next=(
                    f"Measure the highest handle of {panel.id} above the floor."
                    if found_in is None
                    else "Put the breaker lower, or raise the floor before the panel."
                ),
            ),
        ),
        unknown=(
            (
                f"panels.{panel.id}.highest_handle",
                f"How high is the highest handle of {panel.id}?",
                "tape measure, from the floor to the handle when up",
            ),
        ),
    )


def _enclosure(sheet: Sheet, panel: Panel) -> None:
    """Write whether an outdoor panel's enclosure keeps rain out."""
    if value_of(panel.room) != "outdoors":
        return
    rule = sheet.edition.rule("enclosure-outdoors")
    kind = value_of(panel.enclosure_type)
    types = rule.words("outdoor_types")
    sheet.answer(
        "panel.enclosure",
        "Does the panel's enclosure keep the rain out?",
        (
            fact_check(
                None if kind is None else kind.upper() in types,
                found=kind,
                limit=f"type {', '.join(types)}",
                citation=rule.citation,
                next=(
                    "Read the type on the label of the enclosure."
                    if kind is None
                    else "Have the enclosure replaced by one for outdoors, type 3R."
                ),
                signal=SignalWord.WARNING,
            ),
        ),
        unknown=(
            (
                f"panels.{panel.id}.enclosure_type",
                "Which type is the panel's enclosure?",
                "its label: type 1 indoors, 3R outdoors",
            ),
        ),
    )


def _subpanel(sheet: Sheet, panel: Panel) -> None:
    """Write whether a panel behind a feeder keeps neutral and ground apart."""
    service = sheet.plan.service
    if panel.fed_from is None or (service is not None and panel.fed_from == service.id):
        return
    bonding = sheet.citation("service-bonding")
    sharing = sheet.citation("conductors-per-terminal")
    look = "bars and bonding screw, by a qualified person"
    path = f"panels.{panel.id}"
    sheet.answer(
        f"panel.subpanel.{panel.id}",
        "Does the panel behind a feeder keep neutral and ground apart?",
        (
            fact(
                panel.neutral_bonded,
                wanted=False,
                found=("apart", "joined"),
                limit="joined at the service only",
                citation=bonding,
                short=(
                    "Have neutral and enclosure parted there: joined, the grounding "
                    "wire and every metal case carry the neutral's current."
                ),
                open_=f"State whether neutral and enclosure of {panel.id} are joined.",
                signal=SignalWord.WARNING,
            ),
            fact(
                panel.separate_grounding_bar,
                found=("bars apart", "one bar"),
                limit="a bar of their own for grounding conductors",
                citation=bonding,
                short="Fit a grounding bar, bonded to the enclosure.",
                open_=f"State whether {panel.id} has a grounding bar of its own.",
            ),
            fact(
                panel.neutrals_share_holes,
                wanted=False,
                found=("one neutral a hole", "two neutrals in a hole"),
                limit="one neutral under each screw",
                citation=sharing,
                short=(
                    "Give each neutral a hole of its own: a loose one lets 120 V "
                    "circuits swing."
                ),
                open_=f"State whether neutrals share holes in {panel.id}.",
                signal=SignalWord.WARNING,
            ),
        ),
        unknown=tuple(
            (f"{path}.{name}", asked, look)
            for name, asked, stated in (
                (
                    "neutral_bonded",
                    f"Are neutral and enclosure joined in {panel.id}?",
                    panel.neutral_bonded,
                ),
                (
                    "separate_grounding_bar",
                    f"Have grounding conductors a bar of their own in {panel.id}?",
                    panel.separate_grounding_bar,
                ),
                (
                    "neutrals_share_holes",
                    f"Does any hole of the neutral bar in {panel.id} hold two?",
                    panel.neutrals_share_holes,
                ),
            )
            if stated is None
        ),
        done=f"Looked at: {joined(('neutral', 'grounding bar', 'holes'))}.",
    )
