"""The overcurrent device, the setting that counts, and a circuit of its own."""

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
from lugbook.assess.circuit_shared import chargers_sharing, may_share
from lugbook.codebook.nfpa70.overcurrent import (
    continuous_minimum_a,
    next_standard_rating,
    standard_ratings_a,
)
from lugbook.errors import MissingEntry
from lugbook.finding import Citation, Line, Outcome, SignalWord, Weight

__all__ = [
    "POLES",
    "adjusted_setting_item",
    "individual_circuit_item",
    "overcurrent_item",
]

POLES = 2  # a 240 V (or 208 V) circuit opens both legs


def overcurrent_item(case: Case) -> CircuitItem:
    """The overcurrent device, stated or sized.

    Args:
        case: The circuit. [-]

    Returns:
        The item. [-]
    """
    rule = case.edition.rule("continuous-load-overcurrent")
    least = case.least_device
    minimum = None if least is None else f"{least[0]:g} A, {POLES} poles"
    lines = _lines(case)
    title = "Overcurrent device for a continuous load"
    if case.device_a is None:
        allowed_a = _maximum_a(case)
        too_large = least is not None and allowed_a is not None and least[0] > allowed_a
        if too_large and case.counted is not None and not case.is_current_open:
            return item_of(
                item="overcurrent_device",
                question="Is there an overcurrent device that the charger allows?",
                stated=None,
                minimum=minimum,
                checks=(_maximum_check(case, least[0] if least else None),),
                title=title,
                lines=lines,
            )
        return sized_item(
            item="overcurrent_device",
            question="Which is the least overcurrent device that will do?",
            minimum=minimum,
            limit=None if least is None else least[0],
            unit="A",
            citation=rule.citation,
            title=title,
            lines=lines,
            next=(
                f"Take a {least[0]:g} A device with {POLES} poles, of a type printed "
                "on the panel's label."
                if least
                else "State the setting: the overcurrent device depends on it."
            ),
        )
    return item_of(
        item="overcurrent_device",
        question="Is the overcurrent device right for the charger?",
        stated=f"{case.device_a:g} A",
        minimum=minimum,
        checks=_checks(case),
        title=title,
        lines=lines,
    )


def _checks(case: Case) -> tuple[Check, ...]:
    rule = case.edition.rule("continuous-load-overcurrent")
    low_a = _needed(case, case.counted.low_a if case.counted else None)
    high_a = _needed(case, case.counted.high_a if case.counted else None)
    least = case.least_device
    take = f"Take a {least[0]:g} A device" if least else "Take a larger device"
    alone = (
        ". Never a larger device alone, on the same wire or receptacle"
        if case.is_setting_refused
        else ""
    )
    size = check(
        found=(case.device_a, case.device_a),
        limit=(low_a, high_a),
        direction="at least",
        unit="A",
        citation=rule.citation,
        next=f"{take}, or {case.smaller_current_hint}{alone}.",
    )
    if size.outcome is Outcome.CANNOT_TELL:
        size = replace(size, next=case.open_current_hint)
    checks = [size, _standard_check(case)]
    if _maximum_a(case) is not None:
        checks.append(_maximum_check(case, case.device_a))
    elif _is_beyond_nameplate(case):
        checks.append(_unread_maximum_check(case))
    device = case.circuit.overcurrent if case.circuit else None
    if device is not None and device.poles is not None:
        poles = device.poles.value
        checks.append(
            fact_check(
                poles == POLES,
                found=f"{poles} pole{'s' if poles != 1 else ''}",
                limit=f"{POLES} poles",
                citation=rule.citation,
                next=f"Take a device with {POLES} poles that open together.",
                weight=Weight.STOP,
                signal=SignalWord.DANGER,
            )
        )
    return tuple(checks)


def _standard_check(case: Case) -> Check:
    """Return whether the rating is a standard one; an odd one is read again.

    Other ratings are not forbidden, but a dwelling's device hardly ever has one.
    """
    ratings = standard_ratings_a(edition=case.edition, kind=case.device_kind)
    is_standard = case.device_a in ratings
    return fact_check(
        True if is_standard else None,
        found=f"{case.device_a:g} A",
        limit="a standard rating",
        citation=case.edition.table("standard-overcurrent").citation,
        next="Read the number on the device's handle again: it is no standard rating.",
    )


def _maximum_a(case: Case) -> float | None:
    charger = case.plan.charger
    if charger is None or charger.maximum_overcurrent is None:
        return None
    return charger.maximum_overcurrent.value


def _maximum_check(case: Case, device_a: float | None) -> Check:
    return check(
        found=(device_a, device_a),
        limit=(_maximum_a(case), _maximum_a(case)),
        unit="A",
        citation=case.edition.rule("equipment-listing").citation,
        next="Take a device no larger than the charger's label allows.",
    )


def _is_beyond_nameplate(case: Case) -> bool:
    """Return whether the device is larger than the charger's nameplate asks for."""
    nameplate_a = case.wish.nameplate_a
    if nameplate_a is None or case.device_a is None:
        return False
    needed_a = _needed(case, nameplate_a) or 0.0
    try:
        usual = next_standard_rating(
            edition=case.edition, at_least_a=needed_a, kind=case.device_kind
        )
    except MissingEntry:
        return False
    return case.device_a > usual.amount


def _unread_maximum_check(case: Case) -> Check:
    """Return that nobody knows whether so large a device protects the charger."""
    return fact_check(
        None,
        found=f"{case.device_a:g} A",
        limit="the largest device the charger's label allows",
        citation=case.edition.rule("equipment-listing").citation,
        next=(
            "Read on the charger's label how large its overcurrent device may be: this "
            "one is larger than its nameplate asks for."
        ),
        signal=SignalWord.WARNING,
    )


def _needed(case: Case, current_a: float | None) -> float | None:
    if current_a is None:
        return None
    return continuous_minimum_a(edition=case.edition, current_a=current_a).amount


def _lines(case: Case) -> tuple[Line, ...]:
    lines: list[Line] = []
    if case.counted is not None:
        lines.append(case.counted.line)
    if case.least_device is not None:
        lines.extend(case.least_device[1])
    maximum_a = _maximum_a(case)
    if maximum_a is not None:
        lines.append(
            Line(
                "largest device the charger allows",
                maximum_a,
                "A",
                source="plan, charger.maximum_overcurrent",
            )
        )
    lines.append(Line("poles", POLES, "", "both legs open together"))
    device = case.circuit.overcurrent if case.circuit else None
    if device and device.rated_100_percent and device.rated_100_percent.value:
        rule = case.edition.rule("continuous-load-overcurrent")
        lines.append(
            Line(
                "device marked for 100 %",
                "counted as any other",
                "",
                "only an assembly listed for it may use it; the plan names none",
                "",
                rule.citation,
            )
        )
    return tuple(lines)


def adjusted_setting_item(case: Case) -> CircuitItem | None:
    """Whether a setting below the nameplate counts, and the label it needs.

    Args:
        case: The circuit. [-]

    Returns:
        The item; None where nothing is set below the nameplate. [-]
    """
    wish = case.wish
    if wish.setting_a is None or wish.nameplate_a is None or case.counted is None:
        return None
    if wish.setting_a >= wish.nameplate_a:
        return None
    rule = case.edition.rule("adjusted-rating")
    label = f"MAXIMUM CURRENT SET TO {wish.setting_a:g} A"
    lines = (
        case.counted.line,
        Line("label to write on the charger", label, source=_label_citation(case)),
    )
    stated = f"{wish.setting_a:g} A of {wish.nameplate_a:g} A"
    title = "Setting below the nameplate"
    if case.is_current_open:
        return item_of(
            item="adjusted_setting",
            question="May the lower setting count instead of the nameplate?",
            stated=stated,
            minimum="restricted, and marked on the label",
            checks=(
                fact_check(
                    None,
                    found=None,
                    limit="restricted access",
                    citation=rule.citation,
                    next=case.open_current_hint,
                ),
            ),
            title=title,
            lines=lines,
        )
    if case.counted.likely_a > wish.setting_a:
        item = sized_item(
            item="adjusted_setting",
            question="May the lower setting count instead of the nameplate?",
            minimum=f"{wish.nameplate_a:g} A counts",
            limit=wish.nameplate_a,
            unit="A",
            citation=rule.citation,
            title=title,
            lines=lines[:1],
            next=(
                f"Size everything for the nameplate of {wish.nameplate_a:g} A: the "
                "lower setting does not count."
            ),
        )
        return not_required(replace(item, stated=stated))
    on_label = case.plan.charger.setting_on_label if case.plan.charger else None
    if on_label is None:
        item = sized_item(
            item="adjusted_setting",
            question="What must the charger's label say of the lower setting?",
            minimum=label,
            limit=label,
            unit="",
            citation=_label_citation(case),
            title=title,
            lines=lines,
            next=f'Mark the setting durably on the charger: "{label}".',
        )
        return replace(item, stated=stated)
    return item_of(
        item="adjusted_setting",
        question="Is the lower setting restricted and marked on the label?",
        stated=stated,
        minimum=label,
        checks=(
            fact_check(
                on_label.value,
                found="marked" if on_label.value else "not marked",
                limit="marked on the label",
                citation=_label_citation(case),
                next=f'Mark the setting durably on the charger: "{label}".',
            ),
        ),
        title=title,
        lines=lines,
        done="Photograph the label with the setting on it.",
    )


def _label_citation(case: Case) -> Citation:
    return case.edition.rule("adjustable-label").citation


def individual_circuit_item(case: Case) -> CircuitItem:
    """Whether the charger has a branch circuit of its own.

    Args:
        case: The circuit. [-]

    Returns:
        The item. [-]
    """
    rule = case.edition.rule("vehicle-individual-branch")
    own = "a branch circuit of its own"
    line = Line(rule.question, own, source=rule.citation)
    title = "Branch circuit of its own"
    if case.circuit is None:
        return sized_item(
            item="individual_branch_circuit",
            question="Must the charger have a branch circuit of its own?",
            minimum=own,
            limit=own,
            unit="",
            citation=rule.citation,
            title=title,
            lines=(line,),
            next="Run a circuit that feeds the charger and nothing else.",
        )
    plan = case.plan
    sharing = chargers_sharing(plan)
    allowed = may_share(plan, case.edition)
    shared = [] if allowed else [load.name or load.id for load in sharing]
    others = [
        load.name or load.id
        for load in plan.loads
        if load.fed_from == case.circuit.id
        and load.kind != "vehicle charging"
        and load.state != "removed"
    ] + shared
    managed = ", ".join(load.name or load.id for load in sharing)
    alone = f"with {managed}, under load management" if sharing else "no other load"
    return item_of(
        item="individual_branch_circuit",
        question="Has the charger a branch circuit of its own?",
        stated="with " + ", ".join(others)
        if others
        else alone
        if sharing
        else "no other load on it",
        minimum=own,
        checks=(
            fact_check(
                not others,
                found=", ".join(others) if others else alone,
                limit=own,
                citation=rule.citation,
                next=(
                    "Give each charger a circuit of its own"
                    + (
                        ", or put all on this one under load management that keeps a "
                        "limit for the circuit"
                        if rule.parameters.get("managed_group_on_one_branch")
                        else "; by this edition a group may share a feeder, not a "
                        "branch circuit"
                    )
                    + "."
                    if shared
                    else "Move the other loads to circuits of their own."
                ),
            ),
        ),
        title=title,
        lines=(line,),
    )
