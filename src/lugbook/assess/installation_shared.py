"""Several chargers on one circuit: the group's current, and the wire to each."""

from __future__ import annotations

from collections.abc import Sequence

from lugbook.assess.circuit_parts import check, fact_check
from lugbook.assess.circuit_shared import are_managed_together, chargers_sharing
from lugbook.assess.installation_parts import Check, Sheet, value_of
from lugbook.codebook.nfpa70.conductors import table_ampacity
from lugbook.codebook.nfpa70.overcurrent import (
    continuous_minimum_a,
    largest_device_for_conductor,
)
from lugbook.errors import MissingEntry
from lugbook.finding import Line, SignalWord, Weight
from lugbook.premises.circuit import Circuit
from lugbook.premises.load import Load
from lugbook.quantities import CONDUCTOR_SIZES

__all__ = ["inspect_shared"]

_ON_A_CIRCUIT = "branch circuit"


def inspect_shared(sheet: Sheet) -> None:
    """Write what there is to say where other chargers share the circuit.

    Args:
        sheet: The sheet. [-]
    """
    sharing = chargers_sharing(sheet.plan)
    if not sharing:
        return
    _group(sheet, sharing)
    for load in sharing:
        _wire_to(sheet, load)


def _own_a(load: Load) -> float | None:
    """Return the current a charger counts for: its plate's, a restricted setting's."""
    if load.setting is not None and load.setting_restricted_by:
        return load.setting.value
    return load.nameplate_current.value if load.nameplate_current else None


def _group_a(sheet: Sheet, sharing: Sequence[Load]) -> tuple[float | None, Line]:
    """Return the current of the group for hours, and its line."""
    system = sheet.plan.load_management
    if system is not None and are_managed_together(sheet.plan):
        limit_a = value_of(system.limit)
        watches = value_of(system.watches)
        known = limit_a if watches == _ON_A_CIRCUIT else None
        return known, Line(
            "group's current",
            known,
            "A",
            "the limit that load management keeps on this circuit",
            source="plan, load_management",
        )
    counted = sheet.case.counted
    own_a = None if counted is None else counted.high_a
    each_a = [own_a, *(_own_a(load) for load in sharing)]
    held = [amperes for amperes in each_a if amperes is not None]
    whole_a = sum(held) if len(held) == len(each_a) else None
    return whole_a, Line(
        "group's current",
        whole_a,
        "A",
        "sum of all on the circuit",
        " + ".join("?" if a is None else f"{a:g} A" for a in each_a),
        "plan",
    )


def _group(sheet: Sheet, sharing: Sequence[Load]) -> None:
    group_a, line = _group_a(sheet, sharing)
    needed = (
        None
        if group_a is None
        else continuous_minimum_a(edition=sheet.edition, current_a=group_a)
    )
    needed_a = needed.amount if needed else None
    device_a, ampacity_a = sheet.case.judged_device_a, _trunk_ampacity_a(sheet)
    citation = sheet.citation("vehicle-individual-branch")
    names = ", ".join(load.name or load.id for load in sharing)

    def against(limit_a: float | None, what: str) -> Check:
        return check(
            found=(needed_a, needed_a),
            limit=(limit_a, limit_a),
            unit="A",
            citation=citation,
            next=(
                f"The charger shares its circuit with {names}. State the limit that "
                "load management keeps on this circuit, what it watches, or the "
                f"current of each; and {what}."
                if needed_a is None or limit_a is None
                else f"Lower the group's limit, or take a larger {what}: together they "
                "overload it for hours."
            ),
            signal=SignalWord.WARNING,
        )

    checks = [against(device_a, "overcurrent device")]
    if sheet.case.size is not None:
        checks.append(against(ampacity_a, "conductor"))
    sheet.answer(
        "management.shared_circuit",
        "Does the circuit carry all chargers on it together?",
        checks,
        lines=(
            line,
            *(needed.lines if needed else ()),
            Line("overcurrent device", device_a, "A", source="plan"),
            Line(
                "ampacity of the shared conductor, table",
                ampacity_a,
                "A",
                source=sheet.edition.table("ampacity").citation,
            ),
        ),
        unknown=(
            (
                "load_management",
                "What keeps the chargers on this circuit under one limit?",
                "their manuals, and the settings of the one that leads",
            ),
        ),
        open_weight=Weight.MUST,
    )


def _trunk_ampacity_a(sheet: Sheet) -> float | None:
    return _ampacity_a(sheet, sheet.case.size, sheet.case.material)


def _ampacity_a(sheet: Sheet, size: str | None, material: str) -> float | None:
    device_a = sheet.case.judged_device_a
    if size is None or device_a is None:
        return None
    column_c, _ = sheet.case.column_c(device_a)
    try:
        return table_ampacity(
            edition=sheet.edition, size=size, material=material, column_c=column_c
        ).amount
    except MissingEntry:
        return None


# --- the wire to each -----------------------------------------------------------


def _wire_to(sheet: Sheet, load: Load) -> None:
    """Write whether the circuit's device protects the wire that branches off to it.

    A branch circuit has no smaller taps to a charger: its wire is as large as the
    device asks for all the way, or a device of its own stands before it.
    """
    branch = _branch_to(sheet, load)
    rule = sheet.edition.rule("next-size-up")
    device_a = sheet.case.judged_device_a
    name = load.name or load.id
    allowed_a = None if branch is None else _allowed_a(sheet, branch)
    as_large = branch is not None and _is_as_large(sheet, branch)
    own_device = branch is not None and branch.overcurrent is not None
    if own_device:
        found = fact_check(
            None,
            found="a device of its own",
            limit="a branch circuit each, behind one feeder",
            citation=rule.citation,
            next=(
                f"{name} has a device of its own, so what stands before it is a "
                "feeder: state that under [[feeders]], with a panel for its devices."
            ),
        )
    else:
        # As large as the shared wire is judged with it; only smaller is told here.
        found = check(
            found=(device_a, device_a if as_large else None),
            limit=(allowed_a, allowed_a),
            unit="A",
            citation=rule.citation,
            next=(
                f"State the wire to {name} under [[other_circuits]], fed from this "
                "circuit, with its size and metal."
                if allowed_a is None
                else f"The wire to {name} is smaller than the shared one: have it "
                "reckoned where it lies, or take it as large."
                if device_a is None or device_a <= allowed_a
                else f"Take the wire to {name} as large as the shared one, or put a "
                "device of its own before it: this device does not protect it."
            ),
            signal=SignalWord.WARNING,
        )
    sheet.answer(
        f"management.branch.{load.id}",
        "Does the circuit's device protect the wire to each charger?",
        (found,),
        lines=(
            Line("device of the circuit", device_a, "A", source="plan"),
            Line(
                "largest device the wire to it allows, by the table",
                allowed_a,
                "A",
                source=rule.citation,
            ),
        ),
        unknown=(
            (
                "other_circuits",
                f"Which wire leads from the shared circuit to {name}?",
                "the print on its jacket, where it branches off",
            ),
        ),
        open_weight=Weight.MUST,
    )


def _branch_to(sheet: Sheet, load: Load) -> Circuit | None:
    circuit = sheet.circuit
    return next(
        (
            each
            for each in sheet.plan.other_circuits
            if circuit is not None
            and each.fed_from == circuit.id
            and (load.id in each.serves or load.fed_from == each.id)
        ),
        None,
    )


def _allowed_a(sheet: Sheet, branch: Circuit) -> float | None:
    wire = branch.conductor
    size, material = (
        (value_of(wire.size), value_of(wire.material)) if wire else (None, None)
    )
    if size is None or material is None:
        return None
    ampacity_a = _ampacity_a(sheet, size, material)
    if ampacity_a is None:
        return None
    return largest_device_for_conductor(
        edition=sheet.edition, ampacity_a=ampacity_a, size=size, material=material
    ).amount


def _is_as_large(sheet: Sheet, branch: Circuit) -> bool:
    """Return whether the branch's wire is the shared one's, or larger."""
    wire, own = branch.conductor, sheet.case.size
    size = value_of(wire.size) if wire else None
    if size is None or own is None or wire is None:
        return False
    same_metal = value_of(wire.material) == sheet.case.material
    return same_metal and CONDUCTOR_SIZES.index(size) >= CONDUCTOR_SIZES.index(own)
