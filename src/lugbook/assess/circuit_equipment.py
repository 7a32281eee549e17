"""Duties at the charger and the panel: disconnect, ground fault, directory."""

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
from lugbook.assess.circuit_receptacle import receptacle_rating_a
from lugbook.codebook.nfpa70.vehicle_supply import (
    Duty,
    disconnect_duty,
    ground_fault_duty,
)
from lugbook.finding import Citation, Line, Outcome, SignalWord
from lugbook.premises.circuit import Disconnect

__all__ = ["disconnect_item", "ground_fault_item", "label_item"]


def disconnect_item(case: Case) -> CircuitItem:
    """The disconnecting means of the charger, stated or sized.

    Args:
        case: The circuit. [-]

    Returns:
        The item. [-]
    """
    duty = disconnect_duty(
        edition=case.edition,
        rated_a=case.wish.nameplate_a,
        to_ground_v=case.to_ground_v,
        hard_wired=case.wish.hard_wired,
    )
    rule = case.edition.rule("vehicle-disconnect")
    least_a = _least_disconnect_a(case)
    needed = None if least_a is None else f"{least_a:g} A, lockable open"
    lines = (*duty.lines, *_disconnect_lines(case, least_a))
    stated = case.circuit.disconnect if case.circuit else None
    if stated is not None and stated.kind and stated.kind.value == "none":
        return _no_disconnect(duty, needed, lines, rule.citation)
    if stated is not None:
        return item_of(
            item="disconnect",
            question="Is the charger's disconnect good for its current?",
            stated=_disconnect_words(stated),
            minimum=needed,
            checks=_disconnect_checks(case, stated, duty, least_a),
            title="Disconnect of the charger",
            lines=lines,
        )
    if duty.is_required is None:
        return item_of(
            item="disconnect",
            question="Must the charger have a disconnect of its own?",
            stated=None,
            minimum=None,
            checks=(_open_duty(duty, "a disconnect if required"),),
            title="Disconnect of the charger",
            lines=lines,
        )
    item = sized_item(
        item="disconnect",
        question="Must the charger have a disconnect of its own, and how large?",
        minimum=needed if duty.is_required else "none",
        limit=least_a if duty.is_required else None,
        unit="A",
        citation=rule.citation,
        title="Disconnect of the charger",
        lines=lines,
        next=(
            f"Fit a disconnect of {needed}, readily accessible."
            if duty.is_required and needed
            else "None is asked for."
            if not duty.is_required
            else "State the setting."
        ),
    )
    return item if duty.is_required else not_required(item)


def _no_disconnect(
    duty: Duty, needed: str | None, lines: tuple[Line, ...], citation: Citation
) -> CircuitItem:
    """The item where the plan says that there is no disconnect."""
    item = item_of(
        item="disconnect",
        question="May the charger do without a disconnect of its own?",
        stated="none",
        minimum=needed if duty.is_required else "none",
        checks=(
            fact_check(
                None if duty.is_required is None else not duty.is_required,
                found="none",
                limit=needed or "a disconnect if required",
                citation=citation,
                next=f"Fit a disconnect of {needed}, readily accessible."
                if needed
                else "State the setting and the nameplate: the duty depends on them.",
                signal=SignalWord.WARNING,
            ),
        ),
        title="Disconnect of the charger",
        lines=lines,
    )
    return item if duty.is_required is not False else not_required(item)


def _least_disconnect_a(case: Case) -> float | None:
    """Return the rating asked of a disconnect: the device's, which it stands behind."""
    return case.judged_device_a


def _disconnect_lines(case: Case, least_a: float | None) -> tuple[Line, ...]:
    rule = case.edition.rule("disconnect-rating")
    factor = rule.number("fused_or_breaker_at_least_setting_factor")
    lines = []
    if case.counted is not None:
        lines.append(
            Line(
                f"{factor:.0%} of the load",
                case.counted.likely_a * factor,
                "A",
                "current × factor",
                f"{case.counted.likely_a:g} A × {factor:g}",
                rule.citation,
            )
        )
    if least_a is not None:
        lines.append(Line("rating of the overcurrent device before it", least_a, "A"))
    return tuple(lines)


def _disconnect_words(stated: Disconnect) -> str:
    kind = stated.kind.value if stated.kind else "disconnect"
    return f"{kind}, {stated.rating.value:g} A" if stated.rating else kind


def _disconnect_checks(
    case: Case, stated: Disconnect, duty: Duty, least_a: float | None
) -> tuple[Check, ...]:
    rule = case.edition.rule("disconnect-rating")
    factor = rule.number("fused_or_breaker_at_least_setting_factor")
    rating_a = stated.rating.value if stated.rating else None
    counted = case.counted
    low_a = None if counted is None else counted.low_a * factor
    high_a = (
        None if counted is None or counted.high_a is None else counted.high_a * factor
    )
    rating = check(
        found=(rating_a, rating_a),
        limit=(low_a, high_a),
        direction="at least",
        unit="A",
        citation=rule.citation,
        next=(
            "Take a disconnect of at least "
            + (f"{least_a:g} A." if least_a else f"{factor:.0%} of the load.")
            if rating_a is not None
            else "Read the rating on the disconnect's label."
        ),
        signal=SignalWord.WARNING,
    )
    if rating.outcome is Outcome.CANNOT_TELL and rating_a is not None:
        rating = replace(rating, next=case.open_current_hint)
    checks = [rating]
    if stated.fuse_rating is not None:
        fuse_a = stated.fuse_rating.value
        checks.append(
            check(
                found=(fuse_a, fuse_a),
                limit=(low_a, high_a),
                direction="at least",
                unit="A",
                citation=rule.citation,
                next=f"Take fuses of at least {factor:.0%} of the load.",
            )
        )
        if rating_a is not None:
            checks.append(
                check(
                    found=(fuse_a, fuse_a),
                    limit=(rating_a, rating_a),
                    unit="A",
                    citation=rule.citation,
                    next="Take fuses no larger than the switch.",
                )
            )
    own = case.edition.rule("vehicle-disconnect")
    if duty.is_required and own.parameters.get("lockable_open"):
        lockable = stated.lockable_open.value if stated.lockable_open else None
        checks.append(
            fact_check(
                lockable,
                found=None if lockable is None else "lockable" if lockable else "not",
                limit="lockable open",
                citation=own.citation,
                next=(
                    "State whether the disconnect can be locked open."
                    if lockable is None
                    else "Fit a disconnect that can be locked open."
                ),
            )
        )
    checks.extend(_interrupting_checks(case, stated))
    return tuple(checks)


def _interrupting_checks(case: Case, stated: Disconnect) -> list[Check]:
    """Return the comparison with the service's fault current, where both are known.

    Less than the service's figure may still do at the end of a run, so it is open.
    """
    service = case.plan.service
    fault = service.fault_current if service else None
    if (
        fault is None
        or fault.line_to_line is None
        or stated.interrupting_rating is None
    ):
        return []
    rating_a, fault_a = stated.interrupting_rating.value, fault.line_to_line.value
    rule = case.edition.rule("available-fault-current")
    return [
        fact_check(
            True if rating_a >= fault_a else None,
            found=f"{rating_a:g} A",
            limit=f"{fault_a:g} A at the service",
            citation=rule.citation,
            next="Reckon the fault current at the disconnect: its rating is below that "
            "of the service.",
        )
    ]


def ground_fault_item(case: Case) -> CircuitItem:
    """Ground-fault protection for personnel: duty and what is stated.

    Args:
        case: The circuit. [-]

    Returns:
        The item. [-]
    """
    charger = case.plan.charger
    duty = ground_fault_duty(
        edition=case.edition,
        hard_wired=case.wish.hard_wired,
        place=charger.place.value if charger and charger.place else None,
        device_a=case.judged_device_a,
        receptacle_a=receptacle_rating_a(case),
        to_ground_v=case.to_ground_v,
    )
    citation = duty.lines[0].source
    rule_citation = citation if not isinstance(citation, str) else None
    device = case.circuit.overcurrent if case.circuit else None
    fitted = device.ground_fault_protection if device else None
    forbids = charger.maker_forbids_ground_fault_breaker if charger else None
    is_forbidden = forbids is not None and forbids.value
    built_in = Line(
        "protection built into the charger",
        "does not count",
        "",
        "it trips at a higher current than protection of personnel at the outlet",
    )
    lines = (*duty.lines, built_in)
    words = None if fitted is None else "fitted" if fitted.value else "not fitted"
    if duty.is_required is False and not (is_forbidden and fitted and fitted.value):
        item = sized_item(
            item="ground_fault",
            question="Must the outlet have ground-fault protection for personnel?",
            minimum="none",
            limit=None,
            unit="",
            citation=rule_citation,
            title="Ground-fault protection",
            lines=lines,
            next="None is asked for: " + duty.reason + ".",
        )
        return not_required(replace(item, stated=words))
    minimum = "ground-fault protection for personnel" if duty.is_required else None
    if is_forbidden and duty.is_required is not None:
        conflict = fact_check(
            False,
            found="the maker forbids it",
            limit=minimum or "no ground-fault breaker",
            citation=rule_citation,
            next=(
                "Ask the maker and the authority before building: the rule asks for "
                "protection that the instructions forbid."
                if duty.is_required
                else "Take a device without ground-fault protection, as the maker says."
            ),
        )
        return _ground_fault(words, minimum, conflict, lines)
    if duty.is_required is None:
        return _ground_fault(words, None, _open_duty(duty, "as required"), lines)
    if fitted is None and case.device_a is None:
        return sized_item(
            item="ground_fault",
            question="Must the outlet have ground-fault protection for personnel?",
            minimum=minimum,
            limit=minimum,
            unit="",
            citation=rule_citation,
            title="Ground-fault protection",
            lines=lines,
            next="Take a device with ground-fault protection for personnel.",
        )
    fact = fact_check(
        fitted.value if fitted else None,
        found=words,
        limit=minimum or "",
        citation=rule_citation,
        next=(
            "State whether the device protects against ground faults: a test button "
            "on it, and its print."
            if fitted is None
            else "Take a device with ground-fault protection for personnel."
        ),
        signal=SignalWord.WARNING,
    )
    return _ground_fault(words, minimum, fact, lines)


def _ground_fault(
    stated: str | None,
    minimum: str | None,
    found: Check,
    lines: tuple[Line, ...],
) -> CircuitItem:
    return item_of(
        item="ground_fault",
        question="Has the outlet the ground-fault protection it must have?",
        stated=stated,
        minimum=minimum,
        checks=(found,),
        title="Ground-fault protection",
        lines=lines,
    )


def _open_duty(duty: Duty, limit: str) -> Check:
    source = duty.lines[0].source
    return fact_check(
        None,
        found=None,
        limit=limit,
        citation=None if isinstance(source, str) else source,
        next=f"State what is missing: {duty.reason}.",
    )


def label_item(case: Case) -> CircuitItem:
    """The panel directory's words for the circuit.

    Args:
        case: The circuit. [-]

    Returns:
        The item. [-]
    """
    rule = case.edition.rule("directory")
    place = case.plan.charger.place if case.plan.charger else None
    where = f", {place.value}" if place else ""
    text = f"Vehicle charger{where}"
    stated = case.circuit.directory_text if case.circuit else None
    line = Line("directory text", text, source=rule.citation)
    if stated is None:
        return sized_item(
            item="label",
            question="What must the panel directory say of this circuit?",
            minimum=text,
            limit=text,
            unit="",
            citation=rule.citation,
            title="Circuit directory",
            lines=(line,),
            next=f'Write in the panel directory: "{text}".',
        )
    words = stated.value.lower().replace("-", " ").replace("/", " ").split()
    names = ("charger", "charging", "vehicle", "ev", "evse", "car")
    says = any(word.strip(".,;:()") in names for word in words)
    return item_of(
        item="label",
        question="Does the panel directory say what this circuit is for?",
        stated=stated.value,
        minimum=text,
        checks=(
            fact_check(
                says,
                found=stated.value,
                limit="its clear and specific purpose",
                citation=rule.citation,
                next=f'Write in the panel directory: "{text}".',
            ),
        ),
        title="Circuit directory",
        lines=(line,),
    )
