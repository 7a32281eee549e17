"""The one spine: a house, what was measured, the rules, a day; an assessment."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import replace
from datetime import date

from lugbook.assess.assessment import (
    Assessment,
    Assumption,
    CapacityRow,
    Forecast,
    Headline,
    Unknown,
)
from lugbook.assess.capacity import (
    Wish,
    capacity_assumptions,
    capacity_rows,
    wish_of,
)
from lugbook.assess.capacity_findings import capacity_findings
from lugbook.assess.capacity_words import method_texts, why_they_differ
from lugbook.assess.circuit import CircuitJudgement, judge_circuit
from lugbook.assess.evening import judge_evening
from lugbook.assess.feeder import NO_FEEDER, FeederJudgement, judge_feeders
from lugbook.assess.forecast import forecast
from lugbook.assess.installation import NOT_INSPECTED, inspect
from lugbook.assess.load_list import gather
from lugbook.assess.measured_findings import recorded_maximum_va
from lugbook.assess.need_findings import NO_NEED, judge_need
from lugbook.assess.scope import scope_finding
from lugbook.assess.service_rating import rate_service
from lugbook.assess.torque import torque_sheet
from lugbook.assess.work import work_sheet
from lugbook.codebook.edition import Edition, open_edition
from lugbook.errors import Fault, InputError
from lugbook.finding import Citation, Finding, Outcome, Status, Weight, worst
from lugbook.premises.plan import Plan
from lugbook.quantities import Quantity, show
from lugbook.readings.evidence import Evidence

__all__ = ["assess"]


def assess(
    premises: Plan,
    evidence: Evidence,
    rules: Edition,
    on: date,
    setting_a: float | None = None,
) -> Assessment:
    """Everything the tool can say of a house.

    Pure: no files, no clock, no database.

    Args:
        premises: The house as stated. [-]
        evidence: What was measured. [-]
        rules: Edition with its local amendments. [-]
        on: The day of the assessment. [-]
        setting_a: Setting to ask about instead of the plan's. [A]

    Returns:
        The assessment. [-]

    Raises:
        InputError: The setting asked about is no current the charger can be set to.
    """
    wish = wish_of(premises, setting_a)
    _refuse_senseless(wish, setting_a)
    loads = gather(premises, rules)
    rating = rate_service(premises, rules)
    scope = scope_finding(premises, rules)
    in_scope = scope.outcome is not Outcome.FALLS_SHORT
    rows = (
        capacity_rows(
            plan=premises,
            edition=rules,
            evidence=evidence,
            loads=loads,
            rating=rating,
            wish=wish,
        )
        if in_scope
        else ()
    )

    def rows_at(current_a: float) -> tuple[CapacityRow, ...]:
        return capacity_rows(
            plan=premises,
            edition=rules,
            evidence=evidence,
            loads=loads,
            rating=rating,
            wish=replace(wish, setting_a=current_a),
        )

    feeders = judge_feeders(premises, rules, wish, rows_at) if in_scope else NO_FEEDER
    circuit = judge_circuit(premises, rules, wish) if in_scope else NO_CIRCUIT
    circuit = _behind(circuit, feeders)
    built = inspect(premises, rules, wish) if in_scope else NOT_INSPECTED
    limits = open_edition(_LIMITS, book="product_limits")
    outlook = (
        forecast(premises, rules, limits, wish, circuit) if in_scope else NO_FORECAST
    )
    wanted = judge_need(premises, wish, outlook.settings) if in_scope else NO_NEED
    sheet = torque_sheet(premises, rules, on) if in_scope else None
    of_service = (
        capacity_findings(
            plan=premises,
            edition=rules,
            evidence=evidence,
            loads=loads,
            rating=rating,
            wish=wish,
            rows=rows,
        )
        if in_scope
        else ()
    )
    evening, evening_assumptions = (
        judge_evening(
            plan=premises,
            limits=limits,
            loads=loads,
            wish=wish,
            limit_a=rating.limit_a,
            of_service=of_service,
        )
        if in_scope
        else ((), ())
    )
    findings = (
        scope,
        *of_service,
        *evening,
        *feeders.findings,
        *(item.finding for item in circuit.items),
        *outlook.findings,
        *wanted.findings,
        *built.findings,
        *(sheet.defects if sheet else ()),
    )
    return Assessment(
        name=premises.name,
        edition=rules.key,
        amendments=rules.amendments,
        on=on,
        headline=_headline(wish, rows, circuit, findings, in_scope),
        service_rating=rating.working,
        capacity=rows,
        circuit=circuit.items,
        findings=findings,
        assumptions=_each_once(
            (
                *loads.assumptions,
                *rating.assumptions,
                *capacity_assumptions(evidence, wish),
                *evening_assumptions,
                *feeders.assumptions,
                *circuit.assumptions,
                *outlook.assumptions,
                *wanted.assumptions,
                *built.assumptions,
            )
        ),
        unknowns=_unknowns(
            premises,
            wish,
            (
                *rating.unknowns,
                *loads.unknowns,
                *feeders.unknowns,
                *circuit.unknowns,
                *outlook.unknowns,
                *wanted.unknowns,
                *built.unknowns,
            )
            if in_scope
            else (),
        ),
        forecast=outlook,
        torque=sheet,
        work=work_sheet(
            plan=premises,
            edition=rules,
            limits=limits,
            wish=wish,
            on=on,
            findings=findings,
            torque=sheet,
        )
        if in_scope
        else None,
        methods=method_texts(rows),
        differences=why_they_differ(rows, recorded_maximum_va(premises, evidence)),
    )


def _behind(circuit: CircuitJudgement, feeders: FeederJudgement) -> CircuitJudgement:
    """Return the circuit, its largest setting held down by the feeders before it."""
    own_a, feeder_a = circuit.largest_setting_a, feeders.largest_setting_a
    if not feeders.is_limit or own_a is None:
        return circuit
    if feeder_a is not None and feeder_a >= own_a:
        return circuit
    return replace(circuit, largest_setting_a=feeder_a, largest_reason=feeders.reason)


def _refuse_senseless(wish: Wish, setting_a: float | None) -> None:
    if setting_a is None:
        return
    if isinstance(setting_a, bool) or not 0 < setting_a < math.inf:
        raise InputError(Fault("--setting", f"{setting_a} A", "a current above 0 A"))
    if wish.nameplate_a is not None and setting_a > wish.nameplate_a:
        raise InputError(
            Fault(
                "--setting",
                f"{setting_a:g} A",
                f"at most the charger's nameplate, {wish.nameplate_a:g} A",
            )
        )


_LIMITS = "2026"  # the one edition held of the limits of product standards
NO_FORECAST = Forecast((), (), None, (), (), ())
NO_CIRCUIT = CircuitJudgement(
    items=(),
    largest_setting_a=None,
    largest_reason="the house is out of scope",
    unknowns=(),
    assumptions=(),
)


def _headline(
    wish: Wish,
    rows: tuple[CapacityRow, ...],
    circuit: CircuitJudgement,
    findings: tuple[Finding, ...],
    in_scope: bool,
) -> Headline:
    binding = [f for f in findings if f.weight in (Weight.STOP, Weight.MUST)]
    outcome = worst(tuple(finding.outcome for finding in binding))
    literal_a = _largest(row for row in rows if row.permitted and row.literal)
    prudent_a = _largest(row for row in rows if row.permitted and row.prudent)
    cap_a = circuit.largest_setting_a
    return Headline(
        outcome=outcome,
        setting_a=wish.setting_a,
        largest_literal_a=_capped(literal_a, cap_a),
        largest_prudent_a=_capped(prudent_a, cap_a),
        service_largest_literal_a=literal_a,
        service_largest_prudent_a=prudent_a,
        circuit_largest_a=cap_a,
        circuit_reason=circuit.largest_reason,
        unconfirmed_values=len(_unconfirmed(binding)),
        sentence=_sentence(wish, binding, outcome, in_scope),
    )


def _largest(rows: Iterable[CapacityRow]) -> float | None:
    settings = [row.largest_setting_a for row in rows]
    return max((s for s in settings if s is not None), default=None)


def _capped(setting_a: float | None, cap_a: float | None) -> float | None:
    if setting_a is None or cap_a is None:
        return None
    return min(setting_a, cap_a)


def _unconfirmed(findings: list[Finding]) -> set[Citation]:
    """Return the book values, not confirmed, that binding findings rest on."""
    cited = {
        citation
        for finding in findings
        for citation in (
            *(finding.working.citations() if finding.working else ()),
            *((finding.citation,) if finding.citation else ()),
        )
    }
    return {citation for citation in cited if citation.status is not Status.CONFIRMED}


def _sentence(
    wish: Wish, binding: list[Finding], outcome: Outcome, in_scope: bool
) -> str:
    if not in_scope:
        return next(f.next for f in binding if f.outcome is Outcome.FALLS_SHORT)
    if wish.setting_a is None:
        return "No charging current is stated, so there is nothing to judge."
    at = "At " + show(wish.setting_a, Quantity.CURRENT, "A")
    short = [f for f in binding if f.outcome is Outcome.FALLS_SHORT]
    untold = [f for f in binding if f.outcome is Outcome.CANNOT_TELL]
    if short:
        return f"{at} the plan falls short in {_number(short)}."
    if untold:
        return f"{at} {_number(untold)} cannot be told yet."
    if outcome is Outcome.NARROW:
        near = [f for f in binding if f.outcome is Outcome.NARROW]
        return f"{at} the plan meets every rule checked, {_number(near)} narrowly."
    return f"{at} the plan meets every rule checked."


def _number(findings: list[Finding]) -> str:
    return "1 point" if len(findings) == 1 else f"{len(findings)} points"


def _unknowns(
    plan: Plan, wish: Wish, found: tuple[Unknown, ...]
) -> tuple[Unknown, ...]:
    own = []
    if wish.setting_a is None:
        own.append(
            Unknown(
                "charger.setting",
                "At which current shall the car charge?",
                "the charger's label and the setting wished for",
            )
        )
    if plan.service is None or plan.service.system is None:
        own.append(
            Unknown(
                "service.system",
                "Which supply comes in: 120/240 V, or 120/208 V of a wye?",
                "the meter's face, or the utility; a qualified person can measure it",
            )
        )
    return tuple(dict.fromkeys((*own, *found)))


def _each_once(assumptions: tuple[Assumption, ...]) -> tuple[Assumption, ...]:
    return tuple({each.id: each for each in assumptions}.values())
