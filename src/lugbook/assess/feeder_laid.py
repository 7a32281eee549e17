"""How a feeder is laid: its grounding, its poles, where its run lies, what fills it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from lugbook.assess.circuit_case import Case
from lugbook.assess.circuit_grounding import grounding_item, least_grounding_size
from lugbook.assess.circuit_overcurrent import POLES
from lugbook.assess.circuit_wiring import fill_items, wiring_items
from lugbook.finding import Finding, Line, Outcome, SignalWord, Weight
from lugbook.premises.circuit import Circuit, EquipmentGround
from lugbook.premises.stated import Stated

__all__ = ["laid_findings"]


def laid_findings(case: Case, feeder: Circuit, name: str) -> Iterator[Finding]:
    """What is found on a feeder's grounding, poles, wiring methods and raceways.

    Args:
        case: The feeder in the shape of a circuit. [-]
        feeder: The same as the plan states it. [-]
        name: What it is called in a question. [-]

    Returns:
        Its grounding always; of the rest what is wrong or open. [-]
    """
    yield _ground(case, feeder, name)
    yield from _poles(case, feeder, name)
    for item in wiring_items(case):
        yield replace(
            _own(item.finding, feeder),
            id=f"feeder.wiring_method.{feeder.id}.{_section(item.finding)}",
            question=f"May the wiring method of the {name} lie where it does?",
        )
    yield from _fill(case, feeder, name)
    yield from _run(case, feeder, name)


def _run(case: Case, feeder: Circuit, name: str) -> Iterator[Finding]:
    """Return the open question of a feeder in the earth, whose depth is not judged."""
    buried = [
        section.id
        for section in feeder.sections
        if section.place is not None and section.place.value == "underground"
    ]
    if not buried:
        return
    yield Finding(
        id=f"feeder.run.{feeder.id}",
        question=f"Does the {name} lie deep enough, with its risers protected?",
        outcome=Outcome.CANNOT_TELL,
        weight=Weight.MUST,
        found=f"underground: {', '.join(buried)}",
        limit="the cover its method asks for",
        citation=case.edition.table("burial-cover").citation,
        next="Depth, risers and supports are judged here for the charger's own circuit "
        "only: lay the feeder's beside the table of burial cover, or have an "
        "electrician do it.",
    )


def _ground(case: Case, feeder: Circuit, name: str) -> Finding:
    """Return whether the grounding wire suits the device.

    How it grows beside conductors larger than need be is not judged: the least that
    would do depends on a load that is a range.
    """
    found = grounding_item(replace(case, size=None)).finding
    return replace(
        found,
        id=f"feeder.ground.{feeder.id}",
        question=f"Can the grounding conductor of the {name} carry a fault until its "
        "device opens?",
    )


def _poles(case: Case, feeder: Circuit, name: str) -> Iterator[Finding]:
    device = feeder.overcurrent
    if device is None or device.poles is None or device.poles.value == POLES:
        return
    yield Finding(
        id=f"feeder.poles.{feeder.id}",
        question=f"Does the device of the {name} open both legs?",
        outcome=Outcome.FALLS_SHORT,
        weight=Weight.STOP,
        found=f"{device.poles.value} pole{'s' if device.poles.value != 1 else ''}",
        limit=f"{POLES} poles",
        citation=case.edition.rule("continuous-load-overcurrent").citation,
        signal=SignalWord.DANGER,
        next=f"Take a device with {POLES} poles that open together.",
    )


def _fill(case: Case, feeder: Circuit, name: str) -> Iterator[Finding]:
    """Return each raceway of stated size that is too full, or may be."""
    grounded = _with_ground(case)
    is_said = feeder.neutral is not None or feeder.neutral_pulled is not None
    fullest = grounded if is_said else _with_neutral(grounded, True)
    emptiest = grounded if is_said else _with_neutral(grounded, False)
    for most, least in zip(fill_items(fullest), fill_items(emptiest), strict=True):
        if most.stated is None or most.finding.outcome is not Outcome.FALLS_SHORT:
            continue
        found = most.finding
        if least.finding.outcome is not Outcome.FALLS_SHORT:
            found = replace(
                found,
                outcome=Outcome.CANNOT_TELL,
                next=f"State feeders.{feeder.id}.neutral_pulled: with a neutral the "
                f"raceway is too full. {found.next}",
            )
        yield replace(
            _own(found, feeder),
            id=f"feeder.raceway_fill.{feeder.id}.{_section(found)}",
            question=f"Do the conductors of the {name} fit the raceway?",
        )


def _with_ground(case: Case) -> Case:
    """Return the case with the table's grounding wire where none is stated."""
    circuit = case.circuit
    size = least_grounding_size(replace(case, size=None))
    if circuit is None or circuit.equipment_ground is not None or size is None:
        return case
    wire = EquipmentGround.model_validate({"kind": "wire", "size": size})
    return replace(case, circuit=circuit.model_copy(update={"equipment_ground": wire}))


def _with_neutral(case: Case, pulled: bool) -> Case:
    said = Stated[bool](value=pulled)
    circuit = case.circuit and case.circuit.model_copy(update={"neutral_pulled": said})
    return replace(case, circuit=circuit)


def _section(found: Finding) -> str:
    return found.id.rpartition(".")[2]


def _own(found: Finding, feeder: Circuit) -> Finding:
    """Return a finding of the circuit's rules with the feeder's paths in its lines."""
    working = found.working and replace(
        found.working,
        lines=tuple(_as_feeders(feeder, each) for each in found.working.lines),
    )
    return replace(found, working=working)


def _as_feeders(feeder: Circuit, line: Line) -> Line:
    if not isinstance(line.source, str):
        return line
    path = f"plan, feeders.{feeder.id}."
    return replace(line, source=line.source.replace("plan, circuit.", path))
