"""The receptacle a charger is plugged into, and the neutral behind it."""

from __future__ import annotations

from dataclasses import replace

from lugbook.assess.assessment import CircuitItem
from lugbook.assess.circuit_case import Case
from lugbook.assess.circuit_parts import (
    Check,
    check,
    fact_check,
    item_of,
    not_required,
    sized_item,
)
from lugbook.codebook.nfpa70.vehicle_supply import (
    receptacle_is_permitted,
    receptacle_needs_vehicle_listing,
)
from lugbook.finding import Line, SignalWord, Weight

__all__ = ["neutral_item", "receptacle_item", "receptacle_rating_a"]


def receptacle_rating_a(case: Case) -> float | None:
    """Rating of the receptacle; None where none is used or stated.

    Args:
        case: The circuit. [-]

    Returns:
        Rating. [A]
    """
    name = _configuration(case)
    return None if name is None else float(name.partition("-")[2])


def receptacle_item(case: Case) -> CircuitItem | None:
    """The receptacle, where the charger is plugged in.

    Args:
        case: The circuit. [-]

    Returns:
        The item; None where it is hard-wired. [-]
    """
    if case.wish.hard_wired is not False:
        return None
    name, rating_a = _configuration(case), receptacle_rating_a(case)
    single = case.edition.rule("receptacle-single")
    if name is None or rating_a is None:
        return sized_item(
            item="receptacle",
            question="Which receptacle does the charger's plug need?",
            minimum=None,
            limit=None,
            unit="",
            citation=single.citation,
            title="Receptacle",
            lines=(),
            next="State the receptacle: read the shape and rating of the plug.",
        )
    permitted, line = receptacle_is_permitted(edition=case.edition, configuration=name)
    rule = case.edition.rule("receptacle-limits")
    device_a, counted = case.device_a, case.counted
    factor = case.edition.rule("vehicle-overcurrent").number("continuous_factor")
    checks = [
        fact_check(
            permitted,
            found=name,
            limit="a receptacle the article permits",
            citation=rule.citation,
            next=f"Hard-wire the charger: a {name} receptacle is not permitted for it.",
        ),
        check(
            found=(
                None if counted is None else counted.low_a * factor,
                None
                if counted is None or counted.high_a is None
                else counted.high_a * factor,
            ),
            limit=(rating_a, rating_a),
            unit="A",
            citation=single.citation,
            next=(
                f"Take a charger whose nameplate is {rating_a / factor:g} A or less, "
                "or hard-wire: as it stands the setting does not count."
                if case.is_setting_refused
                else f"Lower the setting to {rating_a / factor:g} A or less, or "
                "hard-wire."
            ),
            signal=SignalWord.WARNING,
        ),
    ]
    if device_a is not None:
        checks.append(
            check(
                found=(rating_a, rating_a),
                limit=(device_a, device_a),
                direction="at least",
                unit="A",
                citation=single.citation,
                next=f"Take a device of {rating_a:g} A or less, or hard-wire: this one "
                "is larger than the receptacle.",
                weight=Weight.STOP,
                signal=SignalWord.WARNING,
            )
        )
        checks.extend(_fifty_on_forty(case, rating_a, device_a))
    checks.extend(_receptacle_facts(case, name, rating_a))
    return item_of(
        item="receptacle",
        question="Is the receptacle right for this charger and circuit?",
        stated=name,
        minimum=None if counted is None else f"{counted.likely_a * factor:g} A",
        checks=tuple(checks),
        title="Receptacle",
        lines=(
            line,
            Line("rating of the receptacle", rating_a, "A", source=single.citation),
            *(
                receptacle_needs_vehicle_listing(
                    edition=case.edition, rating_a=rating_a
                ).lines
            ),
        ),
    )


def _fifty_on_forty(case: Case, rating_a: float, device_a: float) -> list[Check]:
    """Return a shortfall where a receptacle may no longer exceed its circuit."""
    rule = case.edition.rule("receptacle-limits")
    if rule.parameters.get("fifty_on_forty_circuit_allowed") or device_a >= rating_a:
        return []
    return [
        fact_check(
            False,
            found=f"{rating_a:g} A receptacle on {device_a:g} A",
            limit="a receptacle of the circuit's rating",
            citation=rule.citation,
            next=f"Take a {rating_a:g} A device and conductors for it, or hard-wire.",
        )
    ]


def _receptacle_facts(case: Case, name: str, rating_a: float) -> list[Check]:
    checks = []
    if name.startswith("10-"):
        checks.append(
            fact_check(
                False,
                found=name,
                limit="a receptacle with a grounding contact",
                citation=case.edition.rule("neutral-needed").citation,
                next="Do not use it: this receptacle has no grounding contact.",
                weight=Weight.STOP,
                signal=SignalWord.DANGER,
            )
        )
    listing = receptacle_needs_vehicle_listing(edition=case.edition, rating_a=rating_a)
    if listing.is_required:
        charger = case.plan.charger
        listed = charger.receptacle_listed_for_vehicles if charger else None
        source = listing.lines[0].source
        checks.append(
            fact_check(
                listed.value if listed else None,
                found=None if listed is None else "listed" if listed.value else "not",
                limit="listed for vehicle charging",
                citation=None if isinstance(source, str) else source,
                next="Take a receptacle whose print says it is for vehicle charging.",
            )
        )
    return checks


def _configuration(case: Case) -> str | None:
    charger = case.plan.charger
    if charger is None or charger.receptacle is None or case.wish.hard_wired:
        return None
    return charger.receptacle.value


def neutral_item(case: Case) -> CircuitItem | None:
    """The neutral: needed behind a four-wire receptacle, not by a hard-wired charger.

    Args:
        case: The circuit. [-]

    Returns:
        The item; None while the connection is not stated. [-]
    """
    if case.wish.hard_wired is None:
        return None
    rule = case.edition.rule("neutral-needed")
    name = _configuration(case)
    needed = (
        bool(rule.parameters.get("hard_wired_240v_needs"))
        if case.wish.hard_wired
        else name is not None
        and name.startswith("14-")
        and bool(rule.parameters.get("four_wire_receptacle_needs"))
    )
    circuit = case.circuit
    pulled = circuit.neutral_pulled if circuit else None
    has = (
        True
        if circuit and circuit.neutral
        else None
        if pulled is None
        else pulled.value
    )
    words = None if has is None else "pulled" if has else "not pulled"
    line = Line(rule.question, "yes" if needed else "no", source=rule.citation)
    sized = sized_item(
        item="neutral",
        question="Does the circuit need a neutral?",
        minimum="a neutral" if needed else "none",
        limit=None,
        unit="",
        citation=rule.citation,
        title="Neutral",
        lines=(line,),
        next="Pull a neutral to the receptacle." if needed else "None is needed.",
    )
    if not needed:
        return not_required(replace(sized, stated=words))
    if has is None:
        return sized
    return item_of(
        item="neutral",
        question="Has the receptacle the neutral it needs?",
        stated=words,
        minimum="a neutral",
        checks=(
            fact_check(
                has,
                found=words,
                limit="a neutral",
                citation=rule.citation,
                next="Pull a neutral to the receptacle, or hard-wire the charger.",
                signal=SignalWord.WARNING,
            ),
        ),
        title="Neutral",
        lines=(line,),
    )
