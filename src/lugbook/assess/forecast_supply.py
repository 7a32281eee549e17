"""The supply upstream: how stiff it is, and what a short circuit would draw."""

from __future__ import annotations

import math
from dataclasses import dataclass, field

from lugbook.assess.assessment import SupplyOutlook
from lugbook.assess.circuit_case import Case
from lugbook.assess.circuit_parts import Notes
from lugbook.assess.forecast_conductor import size_in
from lugbook.codebook.edition import Edition
from lugbook.codebook.nfpa70.voltage import conductor_impedance_ohm_per_m
from lugbook.errors import LugbookError, MissingEntry
from lugbook.finding import (
    Finding,
    Line,
    Outcome,
    SignalWord,
    Weight,
    Working,
    compare,
)
from lugbook.physics.fault_current import (
    centre_tapped_transformer,
    fault_current,
    fault_currents,
    full_load_current,
    transformer_impedance,
    utility_impedance,
)
from lugbook.physics.materials import constant
from lugbook.physics.resistance import resistance_by_inferred_zero
from lugbook.physics.source import source_resistance
from lugbook.physics.voltage_drop import voltage_step
from lugbook.premises.circuit import Conductor
from lugbook.premises.service import Service, Transformer
from lugbook.premises.stated import Stated

__all__ = ["Supply", "supply_findings", "supply_of", "supply_outlook"]

_COLD_C = 20.0  # conductors at their coldest give the largest fault current
_IMPEDANCE_FRACTION = 0.1  # IEEE C57.12.00, from memory: nameplate against real
_MOSTLY_REACTANCE = 20.0  # X/R that adds least to the conductors' resistance
_LETTER_FRACTION = 0.5  # a letter gives the largest current; the real one is less


@dataclass(frozen=True, slots=True)
class Supply:
    """What is known of the supply, whatever the charger's current.

    Args:
        basis: What it is reckoned from, in words. [-]
        line_v: Nominal voltage between the legs. [V]
        source_ohm: Loop resistance up to the panel; None if unknown. [ohm]
        source_fraction: Uncertainty of it, over it. [-]
        rated_va: Rating of the transformer; None if unknown. [VA]
        panel_fault_a: Largest fault current at the panel. [A]
        disconnect_fault_a: Largest at the charger's disconnect. [A]
        charger_fault_a: At the end of the run, the least it can be there. [A]
        fault_fraction: Uncertainty of the fault currents, over them. [-]
        lines: The arithmetic. [-]
    """

    basis: str
    line_v: float | None
    source_ohm: float | None = None
    source_fraction: float = 0.0
    rated_va: float | None = None
    panel_fault_a: float | None = None
    disconnect_fault_a: float | None = None
    charger_fault_a: float | None = None
    fault_fraction: float = 0.0
    lines: tuple[Line, ...] = ()


@dataclass(slots=True)
class _Draft:
    """A supply while it is put together."""

    line_v: float
    basis: list[str] = field(default_factory=list)
    source_ohm: float | None = None
    source_fraction: float = 0.0
    rated_va: float | None = None
    fault_a: float | None = None
    fault_fraction: float = 0.0
    loop_ohm: complex | None = None
    lines: list[Line] = field(default_factory=list)


def supply_of(case: Case, notes: Notes) -> Supply | None:
    """What the plan states of the supply; None where it states nothing.

    Args:
        case: The circuit. [-]
        notes: Where unknowns are gathered. [-]

    Returns:
        The supply. [-]
    """
    service, line_v = case.plan.service, case.wish.voltage_v
    if service is None or line_v is None:
        return None
    draft = _Draft(line_v)
    is_wye = service.system is not None and service.system.value.startswith("120/208")
    try:
        if not is_wye:
            _from_transformer(case, service, draft)
        _from_letter(service, draft)
        _from_readings(case, service, draft)
    except LugbookError as error:
        draft.lines.append(Line("not reckoned", str(error)))
    if draft.fault_a is None:
        notes.unknown(
            "service.fault_current",
            "Which short-circuit current may come at the panel?",
            "ask the utility, in writing, for the fault current at the service",
        )
    if draft.source_ohm is None:
        notes.unknown(
            "service.transformer",
            "How stiff is the supply: transformer, length and size of the drop?",
            "number painted on the transformer, length of the drop, or the utility",
        )
    if not draft.basis:
        return None
    run_ohm = _run_ohm(case)
    at_end_a = _further(draft, run_ohm)
    return Supply(
        basis="; ".join(draft.basis),
        line_v=line_v,
        source_ohm=draft.source_ohm,
        source_fraction=draft.source_fraction,
        rated_va=draft.rated_va,
        panel_fault_a=draft.fault_a,
        disconnect_fault_a=_at_disconnect(case, draft, run_ohm),
        charger_fault_a=at_end_a,
        fault_fraction=draft.fault_fraction,
        lines=tuple(draft.lines),
    )


def _from_transformer(case: Case, service: Service, draft: _Draft) -> None:
    transformer = service.transformer
    if transformer is None or transformer.rating is None:
        return
    draft.rated_va = transformer.rating.value
    draft.basis.append(f"transformer of {transformer.rating.text}")
    draft.lines.append(
        Line(
            "rated current of the transformer",
            full_load_current(rated_va=draft.rated_va, line_v=draft.line_v),
            "A",
            "rating ÷ voltage",
            f"{draft.rated_va:g} VA ÷ {draft.line_v:g} V",
            transformer.rating.source,
        )
    )
    if transformer.impedance is None:
        return
    impedance = transformer.impedance.value
    ratio = _reactance_ratio(transformer)
    leg_warm, leg_cold = _service_leg_ohm(case, service, draft)
    steep = centre_tapped_transformer(
        rated_va=draft.rated_va,
        impedance_fraction=impedance,
        reactance_over_resistance=_MOSTLY_REACTANCE if ratio is None else ratio,
        line_v=draft.line_v,
    )
    # Lengths that are not known count as nothing: more current, the safe side.
    faults = fault_currents(
        transformer=steep, leg_ohm=leg_cold or 0j, neutral_ohm=leg_cold or 0j
    )
    draft.fault_a = faults.largest_a
    draft.fault_fraction = _IMPEDANCE_FRACTION
    draft.loop_ohm = steep.line_to_line_ohm + 2 * (leg_cold or 0j)
    draft.lines.extend(
        (
            Line(
                "fault current at the panel, leg to leg",
                faults.line_to_line_a,
                "A",
                "voltage ÷ |transformer + conductors|",
                f"{impedance:.3g} of {draft.line_v:g} V",
                "no limit on the utility's side: the most there can be",
            ),
            Line(
                "fault current at the panel, leg to neutral",
                faults.line_to_neutral_a,
                "A",
            ),
        )
    )
    if leg_warm is None:
        return
    flat = transformer_impedance(
        rated_va=draft.rated_va,
        line_v=draft.line_v,
        impedance_fraction=impedance,
        # Unknown: all of it counted as resistance, which makes the larger step.
        reactance_over_resistance=0.0 if ratio is None else ratio,
    )
    draft.source_ohm = flat.real + 2 * leg_warm.real
    draft.source_fraction = _IMPEDANCE_FRACTION
    draft.lines.append(
        Line(
            "loop resistance up to the panel",
            draft.source_ohm,
            "ohm",
            "transformer + 2 × conductors",
            f"{flat.real:.4g} + 2 × {leg_warm.real:.4g} ohm",
        )
    )


def _reactance_ratio(transformer: Transformer) -> float | None:
    if transformer.reactance_to_resistance is not None:
        return transformer.reactance_to_resistance.value
    if transformer.resistance is None or transformer.impedance is None:
        return None
    whole, part = transformer.impedance.value, transformer.resistance.value
    if not 0 < part <= whole:
        return None
    return math.sqrt(whole**2 - part**2) / part


def _service_leg_ohm(
    case: Case, service: Service, draft: _Draft
) -> tuple[complex | None, complex | None]:
    """Return one leg from transformer to panel, warm and cold; None if not known."""
    warm, cold = 0j, 0j
    known = True
    parts = (
        ("drop", service.drop, service.drop_length),
        ("service conductors", service.conductor, service.conductor_length),
    )
    for name, conductor, length in parts:
        found = _leg_ohm(case, conductor, length)
        if found is None:
            known = False
            draft.lines.append(Line(f"{name}: size or length", "not stated"))
            continue
        warm += found[0]
        cold += found[1]
    return (warm if known else None), cold


def _leg_ohm(
    case: Case, conductor: Conductor | None, length: Stated[float] | None
) -> tuple[complex, complex] | None:
    if conductor is None or conductor.size is None or length is None:
        return None
    material = conductor.material.value if conductor.material else "aluminum"
    sets = conductor.parallel_sets.value if conductor.parallel_sets else 1
    try:
        reckoned, reactance = conductor_impedance_ohm_per_m(
            edition=case.edition,
            size=conductor.size.value,
            material=material,
            method="open air",
        )
    except MissingEntry:
        return None
    warm = length.value * complex(reckoned.amount, reactance) / sets
    return warm, complex(_cold_ohm(warm.real, material), warm.imag)


def _cold_ohm(warm_ohm: float, material: str) -> float:
    return resistance_by_inferred_zero(
        reference_ohm=warm_ohm,
        reference_c=75.0,
        conductor_c=_COLD_C,
        inferred_zero_c=constant(f"{material}-inferred-zero").value,
    )


def _from_letter(service: Service, draft: _Draft) -> None:
    """Take the utility's own figure before one reckoned from a transformer."""
    letter = service.fault_current
    if letter is None or letter.line_to_line is None:
        return
    stated_a = letter.line_to_line.value
    to_neutral_a = letter.line_to_neutral.value if letter.line_to_neutral else 0.0
    where = letter.point.value if letter.point else "the service"
    is_far = letter.point is not None and letter.point.value == "transformer terminals"
    if is_far and draft.fault_a is not None and draft.fault_a < stated_a:
        return  # its conductors are known, so the figure at the panel is lower
    draft.basis.append(f"fault current stated for {where}")
    draft.fault_a = max(stated_a, to_neutral_a)
    draft.fault_fraction = 0.0
    draft.lines.append(
        Line(
            f"fault current stated for {where}",
            draft.fault_a,
            "A",
            source=letter.letter.value if letter.letter else letter.line_to_line.source,
        )
    )
    ratio = letter.reactance_to_resistance
    draft.loop_ohm = utility_impedance(
        fault_a=stated_a,
        line_v=draft.line_v,
        reactance_over_resistance=ratio.value if ratio else _MOSTLY_REACTANCE,
    )
    if draft.source_ohm is not None:
        return
    loop = utility_impedance(
        fault_a=stated_a,
        line_v=draft.line_v,
        reactance_over_resistance=ratio.value if ratio else 0.0,
    )
    draft.source_ohm = loop.real
    draft.source_fraction = _LETTER_FRACTION
    draft.lines.append(
        Line(
            "loop resistance of the supply, from that current",
            draft.source_ohm,
            "ohm",
            "voltage ÷ fault current"
            + ("" if ratio else ", all of it counted as resistance"),
            f"{draft.line_v:g} V ÷ {stated_a:g} A",
            "a letter gives the largest current: the supply may be half as weak again",
        )
    )


def _from_readings(case: Case, service: Service, draft: _Draft) -> None:
    """Two readings at the panel or service say more than any reckoning."""
    fed_from = case.circuit.fed_from if case.circuit else None
    places = {service.id, *([fed_from] if fed_from else [])}
    read = [
        (each.current.value, each.leg_to_leg.value, each.id)
        for each in case.plan.voltage_readings
        if each.where in places and each.current and each.leg_to_leg
    ]
    if len(read) < 2:
        return
    low, high = min(read), max(read)
    if high[0] - low[0] < 5.0:
        return  # a change this small is lost in the last digit of the voltmeter
    found_ohm = source_resistance(
        before_v=low[1], after_v=high[1], current_change_a=high[0] - low[0]
    )
    if found_ohm <= 0:
        return
    draft.basis.append("two voltage readings")
    draft.source_ohm = found_ohm
    draft.source_fraction = min(1.0, 0.2 / max(low[1] - high[1], 0.2))
    draft.lines.append(
        Line(
            "loop resistance up to the reading",
            found_ohm,
            "ohm",
            "fall of voltage ÷ rise of current",
            f"({low[1]:g} − {high[1]:g}) V ÷ ({high[0]:g} − {low[0]:g}) A",
            f"plan, readings {low[2]} and {high[2]}",
        )
    )


def _run_ohm(case: Case) -> complex | None:
    """Return one leg of the run, cold; None if any part is unknown."""
    total = 0j
    for laid in case.run:
        size, material = size_in(case, laid)
        if laid.length_m is None or size is None:
            return None
        try:
            reckoned, reactance = conductor_impedance_ohm_per_m(
                edition=case.edition,
                size=size,
                material=material,
                method=laid.method or "",
            )
        except MissingEntry:
            return None
        cold = _cold_ohm(reckoned.amount, material)
        total += laid.length_m * complex(cold, reactance)
    return total if case.run else None


def _further(draft: _Draft, leg_ohm: complex | None) -> float | None:
    if draft.loop_ohm is None or leg_ohm is None:
        return None
    return fault_current(line_v=draft.line_v, loop_ohm=(draft.loop_ohm, 2 * leg_ohm))


def _at_disconnect(case: Case, draft: _Draft, run_ohm: complex | None) -> float | None:
    """Return the most there can be at the disconnect; the panel's where it may be."""
    stated = case.circuit.fitted_disconnect if case.circuit else None
    length_m = sum(laid.length_m or 0.0 for laid in case.run)
    if stated is None or draft.fault_a is None:
        return None
    if run_ohm is None or stated.distance is None or length_m <= 0:
        return draft.fault_a
    share = max(0.0, 1.0 - stated.distance.value / length_m)
    found = _further(draft, share * run_ohm)
    return draft.fault_a if found is None else min(found, draft.fault_a)


def supply_outlook(supply: Supply, current_a: float) -> SupplyOutlook:
    """The supply at a current.

    Args:
        supply: What is known of it. [-]
        current_a: The current. [A]

    Returns:
        The outlook. [-]
    """
    step = step_of(supply, current_a)
    line_v = supply.line_v or 0.0
    lines = list(supply.lines)
    loading = None
    if supply.rated_va is not None:
        loading = current_a * line_v / supply.rated_va
        lines.append(
            Line(
                "charger alone over the transformer",
                loading,
                "",
                "current × voltage ÷ rating",
                f"{current_a:g} A × {line_v:g} V ÷ {supply.rated_va:g} VA",
            )
        )
    if step is not None:
        lines.append(
            Line(
                "step of voltage when charging starts",
                step,
                "",
                "current × loop resistance ÷ voltage",
                f"{current_a:g} A × {supply.source_ohm:.4g} ohm ÷ {line_v:g} V",
            )
        )
    return SupplyOutlook(
        basis=supply.basis,
        transformer_fraction=loading,
        source_ohm=supply.source_ohm,
        panel_v=None if step is None else line_v * (1 - step),
        flicker_fraction=step,
        panel_fault_a=supply.panel_fault_a,
        disconnect_fault_a=supply.disconnect_fault_a,
        working=Working("Supply up to the panel", tuple(lines)),
    )


def step_of(supply: Supply | None, current_a: float) -> float | None:
    """Step of voltage at the panel when a current starts; None if unknown.

    Args:
        supply: What is known of the supply. [-]
        current_a: The current. [A]

    Returns:
        Step over nominal. [-]
    """
    if supply is None or supply.source_ohm is None or not supply.line_v:
        return None
    try:
        return voltage_step(
            line_v=supply.line_v, current_a=current_a, source_ohm=supply.source_ohm
        )
    except LugbookError:
        return None


def supply_findings(
    case: Case, limits: Edition, supply: Supply | None, current_a: float
) -> tuple[Finding, ...]:
    """Flicker, the transformer's rating, and whether devices can break a short.

    Args:
        case: The circuit. [-]
        limits: The book of product limits. [-]
        supply: What is known of the supply. [-]
        current_a: The setting. [A]

    Returns:
        Findings. [-]
    """
    outlook = None if supply is None else supply_outlook(supply, current_a)
    found = [_flicker(limits, supply, outlook)]
    if outlook is not None and outlook.transformer_fraction is not None:
        found.append(_transformer(outlook.transformer_fraction, outlook))
    found.extend(_interrupting(case, supply, outlook))
    return tuple(found)


def _flicker(
    limits: Edition,
    supply: Supply | None,
    outlook: SupplyOutlook | None,
) -> Finding:
    rule = limits.rule("voltage-step")
    step = None if outlook is None else outlook.flicker_fraction
    fraction = 0.0 if supply is None or step is None else supply.source_fraction * step
    result = compare(found=step, limit=rule.number("fraction"), uncertainty=fraction)
    return Finding(
        id="forecast.flicker",
        question="Will the lights dip when charging starts?",
        outcome=result.outcome,
        weight=Weight.ADVICE,
        found=step,
        limit=rule.number("fraction"),
        unit="",
        margin=result.margin,
        citation=rule.citation,
        working=outlook.working if outlook else None,
        next={
            Outcome.CANNOT_TELL: "State the transformer and the drop (service), or two "
            "voltage readings at the panel with a large load off and on.",
            Outcome.FALLS_SHORT: "Ask the utility about a larger transformer or drop, "
            "or lower the setting.",
        }.get(result.outcome, ""),
    )


def _transformer(loading: float, outlook: SupplyOutlook) -> Finding:
    result = compare(found=loading, limit=1.0)
    return Finding(
        id="forecast.transformer",
        question="Does the charger alone stay within the transformer's rating?",
        outcome=result.outcome,
        weight=Weight.ADVICE,
        found=loading,
        limit=1.0,
        unit="",
        margin=result.margin,
        working=outlook.working,
        next=""
        if result.outcome is Outcome.MEETS
        else "Tell the utility before you buy: it may change the transformer.",
    )


def _interrupting(
    case: Case, supply: Supply | None, outlook: SupplyOutlook | None
) -> list[Finding]:
    fault_a = None if supply is None else supply.panel_fault_a
    if supply is None or fault_a is None:
        return [_one_interrupting(case, "", "every device", None, None, 0.0, outlook)]
    service, circuit = case.plan.service, case.circuit
    main = service.main if service else None
    device = circuit.overcurrent if circuit else None
    disconnect = circuit.fitted_disconnect if circuit else None
    stated = [
        ("main", "the main", main, fault_a),
        ("breaker", "the charger's breaker", device, fault_a),
        ("disconnect", "the disconnect", disconnect, supply.disconnect_fault_a),
    ]
    found = []
    for key, name, part, at_a in stated:
        if part is None:
            continue
        rating = part.interrupting_rating
        rating_a = None if rating is None else rating.value
        if key == "breaker":
            rating_a = _series_rating(case, rating_a)
        one = _one_interrupting(
            case, key, name, at_a, rating_a, supply.fault_fraction, outlook
        )
        least_a = supply.charger_fault_a
        if (
            key == "disconnect"
            and one.outcome is Outcome.FALLS_SHORT
            and least_a is not None
            and compare(found=least_a, limit=rating_a).outcome
            is not Outcome.FALLS_SHORT
        ):
            one = _one_interrupting(case, key, name, None, rating_a, 0.0, outlook)
        found.append(one)
    return found


def _series_rating(case: Case, own_a: float | None) -> float | None:
    """Return the rating that counts: the breaker's own, or its series rating."""
    circuit = case.circuit
    panel = next(
        (each for each in case.plan.panels if circuit and each.id == circuit.fed_from),
        None,
    )
    device = circuit.overcurrent if circuit else None
    if panel is None or panel.series_rating is None or device is None:
        return own_a
    if device.type is None or device.type.value not in panel.series_rated_types:
        return own_a
    return max(own_a or 0.0, panel.series_rating.value)


def _one_interrupting(
    case: Case,
    key: str,
    name: str,
    fault_a: float | None,
    rating_a: float | None,
    fraction: float,
    outlook: SupplyOutlook | None,
) -> Finding:
    rule = case.edition.rule("available-fault-current")
    result = compare(
        found=fault_a, limit=rating_a, uncertainty=fraction * (fault_a or 0.0)
    )
    is_open = result.outcome is Outcome.CANNOT_TELL
    return Finding(
        id=f"forecast.interrupting_rating.{key}".rstrip("."),
        question=f"Can {name} break the short-circuit current there?",
        outcome=result.outcome,
        weight=Weight.ADVICE if is_open else Weight.MUST,
        found=fault_a,
        limit=rating_a,
        unit="A",
        margin=result.margin,
        citation=rule.citation,
        working=outlook.working if outlook else None,
        next=_interrupting_next(result.outcome, key, name, fault_a, rating_a),
        signal=SignalWord.WARNING if result.outcome is Outcome.FALLS_SHORT else None,
    )


def _interrupting_next(
    outcome: Outcome,
    key: str,
    name: str,
    fault_a: float | None,
    rating_a: float | None,
) -> str:
    if outcome is Outcome.FALLS_SHORT:
        return f"Take equipment for {name} with a higher interrupting rating."
    if outcome is not Outcome.CANNOT_TELL:
        return ""
    if not key:
        return "Ask the utility for the available fault current, in writing."
    if rating_a is None:
        return f"Read the interrupting rating (AIC) on the label of {name}."
    if fault_a is None and key == "disconnect":
        return (
            "State circuit.disconnect.distance: its rating does at the end of the "
            "run but not at the panel."
        )
    return ""
