"""The conductors: terminals, conditions of use, protection; the least size."""

from __future__ import annotations

from dataclasses import replace

from lugbook.assess.assessment import CircuitItem
from lugbook.assess.circuit_case import Case
from lugbook.assess.circuit_parts import Check, check, item_of, sized_item
from lugbook.assess.circuit_run import RunLimits, least_size, run_limits
from lugbook.codebook.nfpa70.conductors import whole_house_conductor_rating_a
from lugbook.codebook.nfpa70.overcurrent import continuous_minimum_a
from lugbook.errors import MissingEntry
from lugbook.finding import Line, Outcome, SignalWord, Weight, compare

__all__ = ["conductor_item", "least_conductor", "stated_limits"]

_TITLE = "Conductors: at the terminals, in the conditions of use, protected"
_LOOK = {
    "ambient": "how hot it gets there in the worst hour of the year",
    "method": "which raceway or cable it is",
    "wet": "whether the place is wet",
    "insulation": "the type letters printed on the conductors",
    "roof_height": "how high above the roof it runs",
    "sections": "the run in sections: wiring method, length, ambient, place",
    "parallel_sets": "nothing more: conductors in parallel are not judged here",
}


def least_conductor(case: Case, *, hopeful: bool = False) -> str | None:
    """The smallest size that will do, in the circuit's own material.

    Args:
        case: The circuit. [-]
        hopeful: Take unknown markings of terminals for the best there is. [-]

    Returns:
        Size; None if it cannot be known. [-]
    """
    device_a = case.judged_device_a
    if device_a is None or case.counted is None:
        return None
    column_c, _ = case.column_c(device_a, hopeful=hopeful)
    return least_size(
        case,
        material=case.material,
        column_c=column_c,
        device_a=device_a,
        load_a=case.counted.likely_a,
    )


def stated_limits(case: Case, *, hopeful: bool, device_a: float) -> RunLimits | None:
    """What the stated conductor allows, for a circuit of a rating.

    Args:
        case: The circuit. [-]
        hopeful: Take unknown markings of terminals for the best there is. [-]
        device_a: Rating of the circuit. [A]

    Returns:
        The limits; None where no conductor is stated or the table lacks it. [A]
    """
    if case.size is None:
        return None
    column_c, _ = case.column_c(device_a, hopeful=hopeful)
    return run_limits(case, size=case.size, material=case.material, column_c=column_c)


def conductor_item(case: Case) -> CircuitItem:
    """The conductors, stated or sized.

    Args:
        case: The circuit. [-]

    Returns:
        The item. [-]
    """
    size = least_conductor(case)
    minimum = None if size is None else f"{size} {case.material}"
    if case.size is None:
        return _sized(case, size, minimum)
    stated = f"{case.size} {case.material}"
    device_a = case.judged_device_a
    rule = case.edition.rule("continuous-load-conductor")
    if case.counted is None and case.device_a is None:
        return item_of(
            item="conductor",
            question="Do the conductors carry the charger and are they protected?",
            stated=stated,
            minimum=None,
            checks=(
                check(
                    found=(None, None),
                    limit=(None, None),
                    unit="A",
                    citation=rule.citation,
                    next="State the setting: the conductors depend on it.",
                ),
            ),
            title=_TITLE,
            lines=(),
        )
    hopeful = stated_limits(case, hopeful=True, device_a=device_a or 0.0)
    sure = stated_limits(case, hopeful=False, device_a=device_a or 0.0)
    lines = _lines(case, sure, device_a)
    return item_of(
        item="conductor",
        question="Do the conductors carry the charger and are they protected?",
        stated=stated,
        minimum=minimum,
        checks=_checks(case, hopeful, sure, size),
        title=_TITLE,
        lines=lines,
    )


def _checks(
    case: Case, hopeful: RunLimits | None, sure: RunLimits | None, size: str | None
) -> tuple[Check, ...]:
    larger = f"Take {size} {case.material}" if size else "Take a larger conductor"
    use_rule = case.edition.rule("conditions-of-use-conductor").citation
    device_rule = case.edition.rule("next-size-up").citation
    terminal_rule = case.edition.rule("continuous-load-conductor").citation
    low_a = case.counted.low_a if case.counted else None
    high_a = case.counted.high_a if case.counted else None
    where = f" in section {sure.worst_section}" if sure and sure.worst_section else ""
    untold = _untold(case, sure)
    checks = (
        check(
            found=(_needed(case, low_a), _needed(case, high_a)),
            limit=(_get(hopeful, "terminal_a"), _get(sure, "terminal_a")),
            unit="A",
            citation=terminal_rule,
            next=f"{larger}, or {case.smaller_current_hint}.",
        ),
        check(
            found=(low_a, high_a),
            limit=(_get(hopeful, "use_a"), _get(sure, "use_a")),
            unit="A",
            citation=use_rule,
            kind="fraction",
            next=f"{larger}, or move the run{where} to a cooler place.",
            weight=Weight.STOP,
            signal=SignalWord.WARNING,
        ),
        check(
            found=(case.judged_device_a, case.judged_device_a),
            limit=(_device_at_best(hopeful), _get(sure, "device_a")),
            unit="A",
            citation=device_rule,
            next=f"{larger}, or a smaller overcurrent device: this one is larger than "
            f"the conductors allow{where}.",
            weight=Weight.STOP if case.device_a is not None else Weight.MUST,
            signal=SignalWord.WARNING,
        ),
    )
    hint = untold or case.open_current_hint
    if not untold and case.counted is not None:
        hint = _marking_hint(case) or hint
    wet = _wet_hint(hopeful)
    return tuple(
        replace(each, next=hint)
        if each.outcome is Outcome.CANNOT_TELL
        else replace(each, next=wet or each.next)
        for each in checks
    )


def _wet_hint(limits: RunLimits | None) -> str:
    """Return what to do where the insulation may not lie in a section at all."""
    if limits is None or limits.use_a is None or limits.use_a > 0:
        return ""
    return (
        f"Take insulation that may lie in section {limits.worst_section}: wet places "
        "need types such as THWN-2 or XHHW-2, hot ones a higher temperature."
    )


def _needed(case: Case, current_a: float | None) -> float | None:
    if current_a is None:
        return None
    return continuous_minimum_a(
        edition=case.edition, current_a=current_a, rule="continuous-load-conductor"
    ).amount


def _get(limits: RunLimits | None, name: str) -> float | None:
    found = None if limits is None else getattr(limits, name)
    return found if isinstance(found, int | float) else None


def _device_at_best(limits: RunLimits | None) -> float | None:
    """Return the largest device allowed, or what it is at most where that is open."""
    known = _get(limits, "device_a")
    return _get(limits, "device_most_a") if known is None else known


def _untold(case: Case, limits: RunLimits | None) -> str:
    if limits is None:
        return f"Check the size: the ampacity table has no {case.size} {case.material}."
    if not limits.missing:
        return ""
    field = limits.missing[0]
    look = _LOOK.get(field.rsplit(".", 1)[-1], "it")
    return f"State {field}: {look}."


def _marking_hint(case: Case) -> str:
    """Return where to look, where only an unread marking stands in the way."""
    device_a = case.judged_device_a
    if device_a is None or None not in case.markings_c or case.size is None:
        return ""
    low, _ = case.column_c(device_a)
    high, _ = case.column_c(device_a, hopeful=True)
    if low == high:
        return ""
    return (
        f"Read the temperature marking of every terminal on the path: unread ones "
        f"count as {low} °C."
    )


def _lines(
    case: Case, limits: RunLimits | None, device_a: float | None
) -> tuple[Line, ...]:
    lines: list[Line] = []
    if case.counted is not None:
        lines.append(case.counted.line)
        lines.extend(
            continuous_minimum_a(
                edition=case.edition,
                current_a=case.counted.likely_a,
                rule="continuous-load-conductor",
            ).lines
        )
    if device_a is not None:
        lines.append(case.column_c(device_a)[1])
    if limits is not None:
        lines.extend((*limits.terminal_lines, *limits.use_lines, *limits.device_lines))
        lines.extend(_unknown_lines(limits))
    lines.extend(_reduced_size_note(case, limits))
    return tuple(lines)


def _unknown_lines(limits: RunLimits) -> list[Line]:
    return [
        Line("ampacity in the conditions of use", None, "A", f"{name} is not stated")
        for name in limits.missing[:1]
    ]


def _reduced_size_note(case: Case, limits: RunLimits | None) -> list[Line]:
    """Return a line where the size would pass only by the rule for whole dwellings."""
    if limits is None or case.size is None or limits.terminal_a is None:
        return []
    needed_a = case.judged_device_a
    if needed_a is None or limits.terminal_a >= needed_a:
        return []
    try:
        reduced = whole_house_conductor_rating_a(
            edition=case.edition, size=case.size, material=case.material
        )
    except MissingEntry:
        return []
    if compare(found=needed_a, limit=reduced.amount).outcome is Outcome.FALLS_SHORT:
        return []
    return [
        Line(
            "reduced size of whole-dwelling conductors",
            "not for a branch circuit",
            source=case.edition.rule("whole-dwelling-only").citation,
        )
    ]


def _sized(case: Case, size: str | None, minimum: str | None) -> CircuitItem:
    lines: list[Line] = []
    next_step = "State the setting: the conductors depend on it."
    marked = ""
    device_a = case.judged_device_a
    if device_a is not None and case.counted is not None:
        column_c, column_line = case.column_c(device_a)
        lines = [case.counted.line, *_need_lines(case), column_line]
        by_terminals = least_size(
            case,
            material=case.material,
            column_c=column_c,
            device_a=device_a,
            load_a=case.counted.likely_a,
            terminals_only=True,
        )
        if by_terminals:
            label = f"least size by the terminals alone, {column_c} °C column"
            lines.append(Line(label, f"{by_terminals} {case.material}"))
        hopeful = least_conductor(case, hopeful=True)
        if hopeful is not None and hopeful != size:
            best_c, _ = case.column_c(device_a, hopeful=True)
            label = f"least size if every terminal is marked {best_c} °C"
            lines.append(Line(label, f"{hopeful} {case.material}"))
            marked = f" {hopeful} will do where every terminal is marked {best_c} °C."
        limits = size and run_limits(
            case, size=size, material=case.material, column_c=column_c, as_stated=False
        )
        if limits:
            lines.extend((*limits.terminal_lines, *limits.use_lines))
            lines.extend(limits.device_lines)
        first = by_terminals and run_limits(
            case,
            size=by_terminals,
            material=case.material,
            column_c=column_c,
            as_stated=False,
        )
        next_step = (
            f"Take {minimum} or larger.{marked}"
            if minimum
            else (_untold(case, first) if first else "No single conductor will do.")
        )
    rule = case.edition.rule("continuous-load-conductor")
    return sized_item(
        item="conductor",
        question="Which is the least conductor that will do?",
        minimum=minimum,
        limit=minimum,
        unit="",
        citation=rule.citation,
        title=_TITLE,
        lines=tuple(lines),
        next=next_step,
    )


def _need_lines(case: Case) -> tuple[Line, ...]:
    if case.counted is None:
        return ()
    return continuous_minimum_a(
        edition=case.edition,
        current_a=case.counted.likely_a,
        rule="continuous-load-conductor",
    ).lines
