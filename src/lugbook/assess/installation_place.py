"""The charger in its place: height, cable, cars, weather, air, listing, pilot."""

from __future__ import annotations

from lugbook.assess.circuit_parts import check, fact_check
from lugbook.assess.installation_parts import Check, Sheet, fact, inches, told, value_of
from lugbook.codebook.control_pilot import pilot_current_a, pilot_duty_fraction
from lugbook.errors import OutOfRange
from lugbook.finding import Line, Outcome, SignalWord, Weight
from lugbook.premises.equipment import SupplyEquipment
from lugbook.quantities import Quantity, in_unit

__all__ = ["inspect_place"]

_COMFORTABLE_IN = (42.0, 48.0)  # common practice, no source: connector at hand height
_PILOT_TOLERANCE_A = 1.0  # common practice, no source: half a step of a duty reading
_INDOORS = ("garage", "indoors", "accessory building")


def inspect_place(sheet: Sheet) -> None:
    """Write what there is to say of the charger and where it hangs.

    Args:
        sheet: The sheet. [-]
    """
    charger = sheet.plan.charger
    if charger is None:
        return
    _listing(sheet, charger)
    _height(sheet, charger)
    _cable(sheet, charger)
    _reach(sheet, charger)
    _path_of_cars(sheet, charger)
    _weather(sheet, charger)
    _ventilation(sheet, charger)
    _before_a_panel(sheet, charger)
    _pilot(sheet, charger)
    _restart(sheet, charger)


def _listing(sheet: Sheet, charger: SupplyEquipment) -> None:
    rule = sheet.edition.rule("equipment-listing")
    sheet.answer(
        "place.listing",
        "Is the charger listed by a recognised testing laboratory?",
        (
            fact(
                charger.listed,
                found=("listed", "not listed"),
                limit="listed, and installed as its instructions say",
                citation=rule.citation,
                short=(
                    "Do not install it: nobody has tested that it opens on a fault. "
                    "Take a listed one; its mark stands on the label."
                ),
                open_="Read the label: the mark of a recognised testing laboratory.",
                signal=SignalWord.WARNING,
            ),
        ),
        unknown=(
            (
                "charger.listed",
                "Does the charger bear the mark of a recognised testing laboratory?",
                "its label",
            ),
        ),
        open_weight=Weight.MUST if sheet.is_proposed else Weight.ADVICE,
        done="Keep its instructions: they bind like the rules.",
    )


def _height(sheet: Sheet, charger: SupplyEquipment) -> None:
    rule = sheet.edition.rule("mounting-height")
    place = value_of(charger.place)
    indoor_in, outdoor_in = rule.number("indoor_in"), rule.number("outdoor_in")
    outdoors = place == "outdoors"
    least = indoor_in if place in _INDOORS else outdoor_in
    easiest = outdoor_in if outdoors else indoor_in
    found_in = inches(charger.mount_height)
    compared = check(
        found=(found_in, found_in),
        limit=(easiest, least),
        direction="at least",
        unit="in",
        citation=rule.citation,
        next="",
    )
    low, high = _COMFORTABLE_IN
    sheet.answer(
        "place.mounting_height",
        "Is the connector stored high enough above floor or ground?",
        (
            told(
                compared,
                open_="State the charger's place and the height of its connector.",
                short=(
                    f"Mount it higher: {least:g} in at least; {low:g} to {high:g} "
                    "in is handy (common practice)."
                ),
            ),
        ),
        lines=(
            Line("indoors at least", indoor_in, "in", source=rule.citation),
            Line("outdoors at least", outdoor_in, "in", source=rule.citation),
        ),
        unknown=(
            (
                "charger.mount_height",
                "How high above floor or ground will its connector be stored?",
                "tape measure at the wall",
            ),
        ),
    )


def _cable(sheet: Sheet, charger: SupplyEquipment) -> None:
    rule = sheet.edition.rule("vehicle-cable-length")
    limit_ft = rule.number("length_up_to_ft")
    length = charger.cable_length
    found_ft = None if length is None else in_unit(length.value, Quantity.LENGTH, "ft")
    compared = check(
        found=(found_ft, found_ft),
        limit=(limit_ft, limit_ft),
        unit="ft",
        citation=rule.citation,
        next="",
    )
    managed = value_of(charger.cable_managed)
    if managed and compared.outcome is Outcome.FALLS_SHORT:
        compared = fact_check(
            True,
            found=f"{found_ft:g} ft, kept off the floor",
            limit=f"{limit_ft:g} ft, or a system that keeps it off the floor",
            citation=rule.citation,
            next="",
        )
    sheet.answer(
        "place.cable_length",
        "Is the charging cable short enough?",
        (
            told(
                compared,
                open_="Read the length of the cable in the charger's manual.",
                short=(
                    f"Take a cable of {limit_ft:g} ft at most, or one with a reel or "
                    "arm that keeps it off the floor."
                ),
            ),
        ),
        unknown=(
            ("charger.cable_length", "How long is the charging cable?", "its manual"),
        ),
    )


def _reach(sheet: Sheet, charger: SupplyEquipment) -> None:
    if charger.reach_needed is None or charger.cable_length is None:
        return
    needed_ft, length_ft = (
        in_unit(each.value, Quantity.LENGTH, "ft")
        for each in (charger.reach_needed, charger.cable_length)
    )
    sheet.answer(
        "place.reach",
        "Does the cable reach the car's inlet without being stretched?",
        (
            check(
                found=(length_ft, length_ft),
                limit=(needed_ft, needed_ft),
                direction="at least",
                unit="ft",
                citation=None,
                next=(
                    "Move the charger nearer to the inlet, or park the other way: a "
                    "stretched cable wears its connector."
                ),
                weight=Weight.ADVICE,
            ),
        ),
        weight=Weight.ADVICE,
    )


def _path_of_cars(sheet: Sheet, charger: SupplyEquipment) -> None:
    sheet.answer(
        "place.vehicle_path",
        "Can a car drive into the charger?",
        (
            fact(
                charger.bollard_or_out_of_path,
                found=("out of the way", "in the way"),
                limit="out of the way of cars, or behind a bollard",
                citation=None,
                short=(
                    "Set a bollard or a wheel stop before it, or move it out of the "
                    "way. Common practice, no source."
                ),
                open_="State whether a car can drive into it.",
                weight=Weight.ADVICE,
            ),
        ),
        unknown=(
            (
                "charger.bollard_or_out_of_path",
                "Can a car drive into the charger?",
                "the wall and the way in",
            ),
        ),
        weight=Weight.ADVICE,
    )


def _weather(sheet: Sheet, charger: SupplyEquipment) -> None:
    if value_of(charger.place) != "outdoors":
        return
    rule = sheet.edition.rule("enclosure-outdoors")
    types = rule.words("outdoor_types")
    disconnect = sheet.circuit.fitted_disconnect if sheet.circuit else None
    asked = [("charger", "charger.enclosure_type", charger.enclosure_type)]
    if disconnect is not None:
        path = "circuit.disconnect.enclosure_type"
        asked.append(("disconnect", path, disconnect.enclosure_type))
    checks: list[Check] = []
    for name, _, stated in asked:
        kind = value_of(stated)
        words = kind.upper().removeprefix("TYPE").strip() if kind else None
        checks.append(
            fact_check(
                None if words is None else words in types,
                found=f"{name}: type {words}" if words else None,
                limit=f"type {', '.join(types)}",
                citation=rule.citation,
                next=(
                    f"Read the type on the label of the {name}'s enclosure."
                    if words is None
                    else f"Take a {name} in an enclosure for outdoors, such as type "
                    "3R or 4: water in it makes its case live."
                ),
                signal=SignalWord.WARNING,
            )
        )
    sheet.answer(
        "place.enclosure",
        "Does every enclosure outdoors keep the rain out?",
        checks,
        unknown=tuple(
            (path, f"Which type is the enclosure of the {name}?", "its label: 3R, 4")
            for name, path, stated in asked
            if stated is None
        ),
    )


def _ventilation(sheet: Sheet, charger: SupplyEquipment) -> None:
    """Write whether air must be moved: only where charger or car is marked so."""
    rule = sheet.edition.rule("ventilation")
    question = "Must the place of charging be ventilated?"
    if value_of(charger.place) == "outdoors":
        because = "None is asked for outdoors."
        sheet.not_required("place.ventilation", question, rule.citation, because)
        return
    marks = [charger.ventilation_required]
    marks += [car.ventilation_required for car in sheet.plan.cars]
    said = [value_of(each) for each in marks if each is not None]
    if charger.ventilation_required is not None and not any(said):
        sheet.not_required(
            "place.ventilation",
            question,
            rule.citation,
            "None is asked for: the charger is marked as needing none.",
        )
        return
    sheet.answer(
        "place.ventilation",
        question,
        (
            fact_check(
                False if any(said) else None,
                found="marked as needing it" if any(said) else None,
                limit="marked as needing none, or mechanical ventilation",
                citation=rule.citation,
                next=(
                    "Charge outdoors, or have the place ventilated by the rule: gas "
                    "from such a battery can explode. Go on when the fan runs with "
                    "the charger."
                    if any(said)
                    else "Read the charger's label: ventilation required or not."
                ),
                signal=SignalWord.WARNING,
            ),
        ),
        unknown=(
            (
                "charger.ventilation_required",
                "Is the charger marked as needing ventilation?",
                "its label; the car's manual",
            ),
        ),
    )


def _before_a_panel(sheet: Sheet, charger: SupplyEquipment) -> None:
    rule = sheet.edition.rule("working-space")
    stated = charger.in_panel_working_space
    if stated is None and value_of(charger.place) == "outdoors":
        return
    sheet.answer(
        "place.panel_working_space",
        "Does the charger leave the space before the panel clear?",
        (
            fact(
                stated,
                wanted=False,
                found=("clear of it", "in it"),
                limit="clear of the space before a panel",
                citation=rule.citation,
                short="Hang the charger elsewhere: that space must stay clear.",
                open_="State whether it stands in the space before a panel.",
            ),
        ),
        unknown=(
            (
                "charger.in_panel_working_space",
                "Does the charger stand in the space before a panel?",
                f"{rule.number('width_in'):g} in wide, {rule.number('depth_in'):g} in "
                "deep before the panel",
            ),
        ),
    )


def _pilot(sheet: Sheet, charger: SupplyEquipment) -> None:
    """Write whether the charger tells the car the setting, and a clamp agrees."""
    setting_a, duty = sheet.wish.setting_a, value_of(charger.pilot_duty)
    if setting_a is None:
        return
    rule = sheet.limits.rule("control-pilot")
    lines: tuple[Line, ...] = ()
    try:
        wanted = pilot_duty_fraction(limits=sheet.limits, current_a=setting_a)
        lines = wanted.lines
        told_a = None
        if duty is not None:
            reckoned = pilot_current_a(limits=sheet.limits, duty_fraction=duty)
            told_a, lines = reckoned.amount, (*lines, *reckoned.lines)
    except OutOfRange as error:
        checks = [
            fact_check(
                None if duty is None else False,
                found=str(error),
                limit="a duty cycle that stands for a current",
                citation=rule.citation,
                next="Read the duty cycle again, with a car or tester plugged in.",
            )
        ]
    else:
        most_a = setting_a + _PILOT_TOLERANCE_A
        checks = [
            told(
                check(
                    found=(told_a, told_a),
                    limit=(most_a, most_a),
                    unit="A",
                    citation=rule.citation,
                    next="",
                    signal=SignalWord.WARNING,
                ),
                open_=(
                    "When it runs, read the pilot's duty cycle on a tester or the "
                    "charger's display, and compare."
                ),
                short=(
                    "Do not charge: it tells the car more than its setting, and the "
                    "circuit may overheat. Set it again, read again, then go on."
                ),
            )
        ]
        clamp_a = value_of(charger.measured_current)
        if clamp_a is not None and told_a is not None:
            checks.append(
                check(
                    found=(clamp_a, clamp_a),
                    limit=(told_a + _PILOT_TOLERANCE_A,) * 2,
                    unit="A",
                    citation=rule.citation,
                    next=(
                        "Stop charging: the car takes more than the pilot allows. A "
                        "fault in car, charger or clamp; find which, then go on."
                    ),
                    signal=SignalWord.WARNING,
                )
            )
    sheet.answer(
        "place.pilot",
        "Does the charger tell the car no more than its setting?",
        checks,
        lines=lines,
        unknown=(
            (
                "charger.pilot_duty",
                "Which duty cycle does the control pilot show?",
                "tester or the charger's display, once it runs",
            ),
        ),
        weight=Weight.ADVICE if duty is None else Weight.MUST,
    )


def _restart(sheet: Sheet, charger: SupplyEquipment) -> None:
    """Write whether it waits after a power cut; no rule asks for it."""
    if charger.restart_delay is None:
        return
    waits = charger.restart_delay.value > 0
    sheet.answer(
        "place.restart",
        "Does it wait after a power cut before it charges again?",
        (
            fact_check(
                waits,
                found="it waits" if waits else "it starts at once",
                limit="minutes, best a random number of them",
                citation=None,
                next=(
                    "Set a delay of minutes: after a power cut heat, water heater and "
                    "cars start together and trip the main. Common practice, no source."
                ),
                weight=Weight.ADVICE,
            ),
        ),
        weight=Weight.ADVICE,
    )
