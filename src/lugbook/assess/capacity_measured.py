"""The code's test by measured demand: its conditions one by one, and its rows.

The conditions asked of a whole year and of a shorter record are lists in the
codebook. A figure is shown as soon as a maximum is known; it carries a pass only when
every condition asked is met. What was recorded is a lower bound whatever else is open,
so it can show that the method cannot pass.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import partial

from lugbook.assess.capacity_case import (
    Case,
    Reading,
    charger_va,
    charger_voltage_v,
    continuous_line,
)
from lugbook.assess.measured_record import MeasuredRecord, measured_record, sound
from lugbook.assess.service_rating import ServiceRating
from lugbook.codebook.edition import Edition, Rule
from lugbook.codebook.nfpa70 import load_calculation as rules
from lugbook.codebook.nfpa70.overcurrent import next_standard_rating
from lugbook.finding import Line, Outcome, Reckoned
from lugbook.premises.plan import Plan

__all__ = ["Condition", "measured_conditions", "measured_readings"]

_MET = (Outcome.MEETS, Outcome.NOT_REQUIRED)


@dataclass(frozen=True, slots=True)
class Condition:
    """One condition of the test, and what was found of it.

    Args:
        id: Closed word for it. [-]
        question: What it asks. [-]
        outcome: Whether it is met; not required where the record need not. [-]
        found: What was found. [-]
        limit: What is asked for. [-]
        reason: Why it is not met, for the row; empty where it is. [-]
        next: What to do. [-]
        bars: Whether it bars the method whatever else is shown. [-]
    """

    id: str
    question: str
    outcome: Outcome
    found: str = ""
    limit: str = ""
    reason: str = ""
    next: str = ""
    bars: bool = False


def measured_conditions(
    *, edition: Edition, record: MeasuredRecord, plan: Plan, rating: ServiceRating
) -> tuple[Condition, ...]:
    """What the code asks of a record of demand, and whether it is met.

    Args:
        edition: Edition of the rules. [-]
        record: The record. [-]
        plan: The house. [-]
        rating: The service rating. [-]

    Returns:
        Conditions in reading order. [-]
    """
    rule = edition.rule("measured-demand")
    is_full = _is_full(rule, record)
    asked = rule.words("full_record_asks" if is_full else "short_record_asks")
    found = (
        _record_length(rule, record, is_full=is_full),
        _averaging(rule, record),
        _continuous(record),
        _highest_leg(record),
        _occupied(record),
        _seasonal_load(record),
        _no_other_source(rule, record, plan),
        _overload_protection(edition, rating),
    )
    return (
        *(each if each.id in asked else _not_asked(each) for each in found),
        *_readings(record),
    )


def measured_readings(case: Case, plan: Plan, rating: ServiceRating) -> list[Reading]:
    """The rows of measured demand.

    Args:
        case: The case. [-]
        plan: The house. [-]
        rating: The service rating. [-]

    Returns:
        The charger as a new load, and every new continuous load at 125 %. [-]
    """
    record = measured_record(case.evidence, case.voltage_v)
    unknown = unproven = refused = ""
    amounts: tuple[float, ...] = (0.0, 0.0, 0.0, 0.0)
    has_least = False
    if record is None:
        unknown = _no_record(case)
        refused = _refused_by_plan(case.edition, plan)
    else:
        found = measured_conditions(
            edition=case.edition, record=record, plan=plan, rating=rating
        )
        refused = "; ".join(each.reason for each in found if each.bars)
        unproven = "; ".join(each.reason for each in found if each.reason)
        if record.central_va is None:
            unknown = "the record's maximum demand is not stated"
            unknown += _and_unread(case)
        else:
            amounts = _amounts_va(record)
            has_least = _bounds(case.edition.rule("measured-demand"), record)
    return [
        Reading(
            "measured",
            charger,
            "counted",
            literal=charger == "outside",
            refused=refused,
            unknown=unknown,
            unproven=unproven,
            reckon=_reckoned(case, charger, amounts[1]),
            reckon_least=_reckoned(case, charger, amounts[0]) if has_least else None,
            reckon_span=(
                ()
                if unknown
                else (
                    _reckoned(case, charger, amounts[2]),
                    _reckoned(case, charger, amounts[3]),
                )
            ),
        )
        for charger in ("outside", "outside_125")
    ]


def _reckoned(
    case: Case, charger: str, maximum_va: float
) -> Callable[[float], Reckoned]:
    return partial(_reckon_measured, case, charger=charger, maximum_va=maximum_va)


def _amounts_va(record: MeasuredRecord) -> tuple[float, ...]:
    """Return the maximum: recorded, central, and both ends of what it may be."""
    central_va = record.central_va or 0.0
    recorded_va = central_va if record.recorded_va is None else record.recorded_va
    covering_va = central_va if record.covering_va is None else record.covering_va
    least_va = min(recorded_va, central_va) * record.span_least_factor
    return recorded_va, central_va, least_va, covering_va * record.span_most_factor


def _bounds(rule: Rule, record: MeasuredRecord) -> bool:
    """Return whether what was recorded is a lower bound of a 15-minute average.

    An average over a shorter time, or over nobody knows what, may lie above it.
    """
    window_s = record.window_s
    return (
        sound(window_s)
        and window_s >= 60 * rule.number("window_minutes")
        and not record.doubts
    )


def _no_record(case: Case) -> str:
    if case.evidence.unread:
        return f"no demand is known{_and_unread(case)}"
    return "no demand record is stated"


def _and_unread(case: Case) -> str:
    return "".join(
        f", and {each.path} could not be read ({each.why})"
        for each in case.evidence.unread
    )


def _reckon_measured(
    case: Case, counted_a: float, *, charger: str, maximum_va: float
) -> Reckoned:
    existing = rules.measured_demand(edition=case.edition, maximum_va=maximum_va)
    lines = [*existing.lines, *(each.line for each in case.loads.proposed)]
    new_va = charger_va(case, counted_a)
    volts = charger_voltage_v(case)
    lines.append(
        Line(
            "charger, a new load",
            new_va,
            "VA",
            "current × voltage",
            f"{counted_a:g} A × {volts:g} V",
            case.edition.rule("measured-demand").citation,
        )
    )
    if charger == "outside_125":
        continuous_va = new_va + case.loads.proposed_continuous_va
        lines.append(continuous_line(case, continuous_va, "every new continuous load"))
    return Reckoned(sum(rules.line_amount(line) for line in lines), tuple(lines))


# --- the conditions ----------------------------------------------------------------


def _is_full(rule: Rule, record: MeasuredRecord) -> bool:
    """Return whether the record counts as one of a whole year.

    A day missing at the ends of a file is a gap like any other inside it.
    """
    full_days = rule.number("full_record_days")
    days = record.days
    if not sound(days):
        return False
    return days >= full_days - (1.0 if record.is_of_file else 0.0)


def _not_asked(condition: Condition) -> Condition:
    """Return a condition this record need not meet.

    A year in which the plan says nobody lived there carries no pass all the same: it
    is no record of this house in use.
    """
    if condition.id == "occupied" and condition.outcome is Outcome.FALLS_SHORT:
        return condition
    return Condition(
        condition.id,
        condition.question,
        Outcome.NOT_REQUIRED,
        condition.found,
        "asked only of a record shorter than a year",
    )


def _record_length(rule: Rule, record: MeasuredRecord, *, is_full: bool) -> Condition:
    full, short = (rule.number(f"{word}_record_days") for word in ("full", "short"))
    limit = f"{full:g} days, or {short:g} continuous days"
    question = "Is the record long enough?"
    days = record.days
    if not sound(days):
        return Condition(
            "record_length",
            question,
            Outcome.CANNOT_TELL,
            limit=limit,
            reason="the length of the record is not stated",
            next="State demand_record.from_day and to_day, or days.",
        )
    found = f"{days:.4g} day{'s' * (days != 1)}"
    if days >= short:
        route = "" if is_full else ", by the rule for a short record"
        return Condition("record_length", question, Outcome.MEETS, found + route, limit)
    return Condition(
        "record_length",
        question,
        Outcome.FALLS_SHORT,
        found,
        limit,
        reason=(
            f"{days:.4g} days of record; at least {short:g} continuous days are asked "
            "for"
        ),
        next=(
            "Ask the utility for a year of interval data, or record for "
            f"{short:g} days or more."
        ),
    )


def _averaging(rule: Rule, record: MeasuredRecord) -> Condition:
    window_s = 60 * rule.number("window_minutes")
    limit = f"averages over {window_s / 60:g} minutes"
    question = "Does the record show the maximum over 15 minutes?"
    averaged_s = record.window_s
    if not sound(averaged_s) or averaged_s == 0:
        return Condition(
            "averaging",
            question,
            Outcome.CANNOT_TELL,
            limit=limit,
            reason="the averaging time of the record is not stated",
            next="State demand_record.averaged_over; the utility knows it.",
        )
    found = f"averages over {averaged_s / 60:g} minutes"
    if averaged_s <= window_s:
        return Condition("averaging", question, Outcome.MEETS, found, limit)
    equivalent = ""
    if record.is_of_file and record.central_va and record.covering_va:
        equivalent = (
            f" The maximum over 15 minutes may be {record.central_va / 1000:.1f} to "
            f"{record.covering_va / 1000:.1f} kVA; that is an estimate, no record."
        )
    return Condition(
        "averaging",
        question,
        Outcome.FALLS_SHORT,
        found,
        limit,
        reason=(
            f"averages over {averaged_s / 60:g} minutes hide the "
            f"{window_s / 60:g}-minute maximum"
        ),
        next=(
            f"Ask the utility for 15-minute data, or record for 30 days.{equivalent}"
        ),
    )


def _continuous(record: MeasuredRecord) -> Condition:
    question = "Was it recorded without a gap?"
    outcome = _said(record.continuous)
    return Condition(
        "continuous",
        question,
        outcome,
        record.continuous_found,
        "a continuous record",
        reason="" if outcome in _MET else "not shown: recorded without a gap",
        next=(
            ""
            if outcome in _MET
            else "Record the missing time again, or state demand_record.continuous."
        ),
    )


def _highest_leg(record: MeasuredRecord) -> Condition:
    outcome = _said(record.highest_leg)
    return Condition(
        "highest_leg",
        "Was the more heavily loaded leg recorded?",
        outcome,
        "yes" if outcome is Outcome.MEETS else "",
        "the leg with the higher load",
        reason=(
            ""
            if outcome in _MET
            else "not shown: recorded on the leg with the higher load, in amperes"
        ),
        next=(
            ""
            if outcome in _MET
            else "A meter adds both legs up. Have a recorder clamped on both legs, or "
            "wait for a year of data, which needs none."
        ),
    )


def _occupied(record: MeasuredRecord) -> Condition:
    outcome = _said(record.occupied)
    return Condition(
        "occupied",
        "Was the house lived in while it was recorded?",
        outcome,
        {Outcome.MEETS: "yes", Outcome.FALLS_SHORT: "no"}.get(outcome, ""),
        "lived in",
        reason=(
            "" if outcome in _MET else "not shown: recorded while somebody lived there"
        ),
        next=(
            ""
            if outcome in _MET
            else "No meter file shows it. State demand_record.occupied."
        ),
    )


def _seasonal_load(record: MeasuredRecord) -> Condition:
    added_va = record.seasonal_load_added_va
    outcome = (
        Outcome.MEETS
        if sound(added_va) and added_va > 0
        else _said(record.seasonal_loads_included)
    )
    found = "its season held them" if record.seasonal_loads_included is True else ""
    if sound(added_va) and added_va > 0:
        found = f"{added_va:,.0f} VA added by calculation"
    return Condition(
        "seasonal_load",
        "Does it hold the larger of heating and cooling, and other seasonal loads?",
        outcome,
        found,
        "measured or added",
        reason=(
            ""
            if outcome in _MET
            else "not shown: held or given the larger of heating and cooling"
        ),
        next=(
            ""
            if outcome in _MET
            else "State demand_record.seasonal_loads_included, or the load to add as "
            "seasonal_load_added."
        ),
    )


def _no_other_source(rule: Rule, record: MeasuredRecord, plan: Plan) -> Condition:
    question = "Is the service free of other sources and of peak shaving?"
    limit = "no renewable source and no peak shaving"
    barred = _refused_sources(rule, plan, shaved=record.peak_shaved is True)
    if not barred and record.flows_back and "renewable" in rule.words("refuses"):
        barred = "not with a renewable source: the meter saw energy flow to the grid"
    if barred:
        return Condition(
            "no_other_source",
            question,
            Outcome.FALLS_SHORT,
            barred.partition(" a ")[2] or barred,
            limit,
            reason=barred,
            next=(
                "The meter sees less than the house draws. Go by a calculated method, "
                "or record the loads behind the source."
            ),
            bars=True,
        )
    unsaid = _sources_unsaid(plan, record.peak_shaved)
    if unsaid:
        return Condition(
            "no_other_source",
            question,
            Outcome.CANNOT_TELL,
            limit=limit,
            reason=unsaid,
            next="State it in dwelling.not_present, or the source under [[sources]].",
        )
    return Condition("no_other_source", question, Outcome.MEETS, "none", limit)


def _refused_by_plan(edition: Edition, plan: Plan) -> str:
    return _refused_sources(edition.rule("measured-demand"), plan, shaved=False)


def _refused_sources(rule: Rule, plan: Plan, *, shaved: bool) -> str:
    """Return why measured demand may not be used at all; empty if it may."""
    refuses = rule.words("refuses")
    kinds = {source.kind for source in plan.sources}
    if "renewable" in refuses and kinds & {"solar", "wind"}:
        return "not with a renewable source on the service"
    if "peak_shaving" in refuses and ("battery" in kinds or shaved):
        return "not with a source that shaves the peak"
    return ""


def _sources_unsaid(plan: Plan, peak_shaved: bool | None) -> str:
    """Return which source beside the service the plan leaves open."""
    kinds = {source.kind for source in plan.sources}
    absent = plan.dwelling.not_present
    standby = {source.kind for source in plan.standby}
    said = {*absent, *kinds, *standby}
    unsaid = [word for word in ("solar", "battery") if word not in said]
    if unsaid:
        return f"the plan does not say whether there is {' or '.join(unsaid)}"
    may_shave = kinds - {"solar", "wind"} or standby - {"generator"}
    if may_shave and peak_shaved is None:
        return "the plan does not say whether a source held the peaks down"
    return ""


def _overload_protection(edition: Edition, rating: ServiceRating) -> Condition:
    """Return whether the main protects the service conductors.

    As for any conductor the standard rating next above will do, 230.90(A). Where a
    part is unknown the rating is, and no row passes; the utility's own conductors and
    the mains of a split bus have rules of their own.
    """
    question = "Does the main protect the service conductors from overload?"
    main_a, conductor_a = rating.main_a, rating.conductor_a
    is_open = main_a is None or conductor_a is None
    if is_open and rating.limit_a is not None:
        return Condition(
            "overload_protection",
            question,
            Outcome.NOT_REQUIRED,
            "conductors of the utility, or mains of a split bus: not judged here",
        )
    if main_a is None or conductor_a is None:
        return Condition(
            "overload_protection",
            question,
            Outcome.CANNOT_TELL,
            limit="a main no larger than the conductors",
            next="State service.main.rating and service.conductor.",
        )
    found = f"main {main_a:g} A, conductors {conductor_a:g} A"
    above = next_standard_rating(edition=edition, at_least_a=conductor_a)
    if main_a <= above.amount:
        return Condition(
            "overload_protection",
            question,
            Outcome.MEETS,
            found,
            "a main no larger than the conductors",
        )
    return Condition(
        "overload_protection",
        question,
        Outcome.FALLS_SHORT,
        found,
        "a main no larger than the conductors",
        reason="not with a main larger than its conductors allow",
        next="Have the main or the conductors changed before any load is added.",
        bars=True,
    )


def _readings(record: MeasuredRecord) -> tuple[Condition, ...]:
    """Return what puts the maximum itself in doubt, if anything does."""
    if not record.doubts:
        return ()
    said = "; ".join(record.doubts)
    return (
        Condition(
            "readings",
            "Is the recorded maximum beyond doubt?",
            Outcome.CANNOT_TELL,
            reason=said,
            next=(
                f"{said[:1].upper()}{said[1:]}. Say it in the plan's meter_files; "
                "lugbook demand FILE shows what was read."
            ),
        ),
    )


def _said(stated: bool | None) -> Outcome:
    if stated is True:
        return Outcome.MEETS
    return Outcome.FALLS_SHORT if stated is False else Outcome.CANNOT_TELL
