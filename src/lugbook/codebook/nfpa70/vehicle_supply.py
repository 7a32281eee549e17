"""Duties of vehicle supply equipment: disconnect, ground fault, receptacle, labels."""

from __future__ import annotations

from dataclasses import dataclass

from lugbook.codebook.edition import Edition, Rule
from lugbook.finding import Line

__all__ = [
    "Duty",
    "disconnect_duty",
    "ground_fault_duty",
    "receptacle_is_permitted",
    "receptacle_needs_vehicle_listing",
]


@dataclass(frozen=True, slots=True)
class Duty:
    """Whether something is asked for.

    Args:
        is_required: Whether it is; None while it cannot be told. [-]
        reason: Why, in one sentence; what is missing where it cannot be told. [-]
        lines: The rules it rests on. [-]
    """

    is_required: bool | None
    reason: str
    lines: tuple[Line, ...]


def disconnect_duty(
    *,
    edition: Edition,
    rated_a: float | None,
    to_ground_v: float,
    hard_wired: bool | None,
) -> Duty:
    """Must supply equipment have a disconnecting means of its own?

    Args:
        edition: Edition of the rules. [-]
        rated_a: Rating of the equipment: its nameplate. None if unknown. [A]
        to_ground_v: Nominal voltage to ground. [V]
        hard_wired: Whether it is wired in; None if not said. [-]

    Returns:
        The duty. [-]

    Raises:
        MissingEntry: The edition lacks a parameter of the rule.

    Rule:
        vehicle-disconnect

    Checked by:
        tests/codebook/test_vehicle_supply.py, by hand
    """
    rule = edition.rule("vehicle-disconnect")
    if rule.text("variant") == "all-permanent":
        if hard_wired is None:
            return _duty(rule, None, "whether it is hard-wired is not stated")
        words = "hard-wired equipment" if hard_wired else "a plug is its disconnect"
        return _duty(rule, hard_wired, words)
    threshold_a = rule.number("threshold_a")
    if to_ground_v > rule.number("threshold_v_to_ground"):
        return _duty(
            rule, True, f"over {rule.number('threshold_v_to_ground'):g} V to ground"
        )
    if rated_a is None:
        return _duty(rule, None, "the nameplate current is not stated")
    if rated_a <= threshold_a:
        return _duty(rule, False, f"rated {rated_a:g} A, not over {threshold_a:g} A")
    if hard_wired is False:
        return _duty(rule, False, "a plug is its disconnect")
    return _duty(rule, True, f"rated {rated_a:g} A, over {threshold_a:g} A")


def ground_fault_duty(
    *,
    edition: Edition,
    hard_wired: bool | None,
    place: str | None,
    device_a: float | None,
    receptacle_a: float | None,
    to_ground_v: float,
) -> Duty:
    """Must the outlet have ground-fault protection for personnel?

    Args:
        edition: Edition of the rules. [-]
        hard_wired: Whether the equipment is wired in; None if not said. [-]
        place: Place of the equipment as the plan names it; None if unknown. [-]
        device_a: Rating of the circuit's overcurrent device; None if unknown. [A]
        receptacle_a: Rating of the receptacle; None if none or unknown. [A]
        to_ground_v: Nominal voltage to ground. [V]

    Returns:
        The duty. [-]

    Raises:
        MissingEntry: The edition lacks a parameter of a rule.

    Valid for:
        Single-phase circuits of one-family dwellings.

    Rule:
        vehicle-ground-fault-receptacle, vehicle-ground-fault-permanent,
        ground-fault-outdoor, ground-fault-garage-receptacle

    Checked by:
        tests/codebook/test_vehicle_supply.py, by hand
    """
    if hard_wired is None:
        rule = edition.rule("vehicle-ground-fault-receptacle")
        return _duty(rule, None, "whether it is hard-wired or plugged in is not stated")
    if not hard_wired:
        return _receptacle_ground_fault(edition, receptacle_a, to_ground_v)
    permanent = edition.rule("vehicle-ground-fault-permanent")
    if not permanent.absent and to_ground_v <= permanent.number("to_ground_up_to_v"):
        return _duty(permanent, True, "every hard-wired outlet for vehicle charging")
    return _outdoor_ground_fault(edition, place, device_a, to_ground_v)


def receptacle_is_permitted(
    *, edition: Edition, configuration: str
) -> tuple[bool, Line]:
    """Is a receptacle of this configuration permitted for supply equipment?

    Args:
        edition: Edition of the rules. [-]
        configuration: Configuration, such as "14-50". [-]

    Returns:
        Whether it is, and the line. [-]

    Raises:
        MissingEntry: The edition lacks a parameter of the rule.

    Valid for:
        240 V; equipment fastened in place or portable, whichever allows it.

    Rule:
        receptacle-limits

    Checked by:
        tests/codebook/test_vehicle_supply.py, by hand

    Example:
        >>> from lugbook.codebook.edition import open_edition
        >>> receptacle_is_permitted(edition=open_edition("2023"),
        ...     configuration="14-60")[0]
        False
    """
    rule = edition.rule("receptacle-limits")
    family, _, rating = configuration.partition("-")
    rating_a = float(rating)
    portable = {float(a) for a in rule.words("portable_240v_ratings_a")}
    fastened = {float(a) for a in rule.words("fastened_three_pole_ratings_a")}
    two_pole = family == "6" and rating_a <= rule.number(
        "fastened_two_pole_240v_up_to_a"
    )
    allowed = (
        two_pole or rating_a in portable or (family == "14" and rating_a in fastened)
    )
    words = "permitted" if allowed else "not among those permitted"
    return allowed, Line(f"receptacle {configuration}", words, source=rule.citation)


def receptacle_needs_vehicle_listing(*, edition: Edition, rating_a: float) -> Duty:
    """Must the receptacle be listed for vehicle charging?

    Args:
        edition: Edition of the rules. [-]
        rating_a: Rating of the receptacle. [A]

    Returns:
        The duty. [-]

    Raises:
        MissingEntry: The edition lacks a parameter of the rule.

    Rule:
        receptacle-listing

    Checked by:
        tests/codebook/test_vehicle_supply.py, by hand
    """
    rule = edition.rule("receptacle-listing")
    if rule.absent:
        return _duty(rule, False, "this edition does not ask for it")
    asked = rating_a in {float(a) for a in rule.words("ratings_a")}
    return _duty(rule, asked, f"receptacle of {rating_a:g} A")


def _receptacle_ground_fault(
    edition: Edition, receptacle_a: float | None, to_ground_v: float
) -> Duty:
    rule = edition.rule("vehicle-ground-fault-receptacle")
    if rule.text("variant") == "all":
        return _duty(rule, True, "every receptacle for vehicle charging")
    if receptacle_a is None:
        return _duty(rule, None, "the receptacle is not stated")
    asked = receptacle_a <= rule.number(
        "rating_up_to_a"
    ) and to_ground_v <= rule.number("to_ground_up_to_v")
    limit = f"{rule.number('rating_up_to_a'):g} A"
    words = f"receptacle of {receptacle_a:g} A, {'within' if asked else 'over'} {limit}"
    return _duty(rule, asked, words)


def _outdoor_ground_fault(
    edition: Edition, place: str | None, device_a: float | None, to_ground_v: float
) -> Duty:
    rule = edition.rule("ground-fault-outdoor")
    if rule.absent:
        return _duty(rule, False, "this edition asks it of receptacles only")
    limit_a = rule.number("overcurrent_up_to_a")
    if to_ground_v > rule.number("to_ground_up_to_v"):
        return _duty(rule, False, "voltage to ground over the rule's limit")
    if device_a is not None and device_a > limit_a:
        words = f"hard-wired on {device_a:g} A, over {limit_a:g} A"
        return _duty(rule, False, words)
    if place is None:
        return _duty(rule, None, "the place of the charger is not stated")
    if not _is_named(rule, place):
        return _duty(rule, False, f"hard-wired, {place}: not a place the rule names")
    if device_a is None:
        return _duty(rule, None, "the rating of the overcurrent device is not known")
    return _duty(
        rule, True, f"hard-wired, {place}, {device_a:g} A, up to {limit_a:g} A"
    )


def _is_named(rule: Rule, place: str) -> bool:
    """Return whether the rule's list of places names the place, by its wording."""
    # Where the list is read as outdoor outlets "at" the places, being inside is not.
    if place != "outdoors" and "at these places" in str(
        rule.parameters.get("places_reading", "")
    ):
        return False
    words = {
        "outdoors": "outdoors",
        "garage": "garages",
        "accessory building": "accessory buildings",
    }
    sought = words.get(place)
    return sought is not None and any(
        named.startswith(sought) for named in rule.words("places")
    )


def _duty(rule: Rule, is_required: bool | None, reason: str) -> Duty:
    answers = {True: "required", False: "not required", None: "cannot be told"}
    line = Line(
        rule.question, f"{answers[is_required]}: {reason}", source=rule.citation
    )
    return Duty(is_required, reason, (line,))
