"""What a record of demand means for the person: conditions, outlook, contradictions."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from datetime import UTC, datetime

from lugbook.assess.assessment import CapacityRow
from lugbook.assess.capacity_case import Wish
from lugbook.assess.capacity_measured import Condition, measured_conditions
from lugbook.assess.load_list import system_voltage_v
from lugbook.assess.measured_record import MeasuredRecord, combined, measured_record
from lugbook.assess.service_rating import ServiceRating
from lugbook.codebook.edition import Edition
from lugbook.demand.factors import record_factor
from lugbook.finding import (
    Finding,
    Line,
    Outcome,
    SignalWord,
    Weight,
    Working,
    compare,
)
from lugbook.premises.plan import Plan
from lugbook.readings.evidence import Evidence, StatedDemand

__all__ = ["measured_findings", "recorded_maximum_va"]

_PASSES = (Outcome.MEETS, Outcome.NARROW)
_YEAR_DAYS = 365.0
AGREE_FRACTION = 0.05  # as near as finding.py calls narrow
AGREE_DAYS = 2.0  # a day at either end; our own decision


def measured_findings(
    *,
    plan: Plan,
    edition: Edition,
    evidence: Evidence,
    rating: ServiceRating,
    wish: Wish,
    rows: Sequence[CapacityRow],
) -> tuple[Finding, ...]:
    """The findings on measured demand, in reading order.

    Args:
        plan: The house. [-]
        edition: Edition of the rules. [-]
        evidence: What was measured. [-]
        rating: The service rating. [-]
        wish: The charging current. [-]
        rows: Every method under every interpretation. [-]

    Returns:
        Findings; none where there is neither a file nor a statement. [-]
    """
    carries = _carries(rows)
    unread = tuple(_unread(evidence, carries=carries))
    volts = system_voltage_v(plan)
    record = None if volts is None else measured_record(evidence, volts)
    if record is None or volts is None:
        return unread
    conditions = measured_conditions(
        edition=edition, record=record, plan=plan, rating=rating
    )
    return (
        *unread,
        *(_of_condition(each, record, edition) for each in conditions),
        *_agreement(evidence),
        *_outlook(record, conditions, rating, wish, volts),
        *_above_calculated(record, rows, rating, wish, volts),
    )


def recorded_maximum_va(plan: Plan, evidence: Evidence) -> float | None:
    """The highest demand of a house that was recorded.

    Args:
        plan: The house. [-]
        evidence: What was measured. [-]

    Returns:
        The demand; None where none was recorded. [VA]
    """
    volts = system_voltage_v(plan)
    record = None if volts is None else measured_record(evidence, volts)
    return None if record is None else record.central_va


def _carries(rows: Sequence[CapacityRow]) -> bool:
    """Return whether the answer passes by measured demand and by nothing else."""
    passing = {
        row.method
        for row in rows
        if row.permitted and row.prudent and row.outcome in _PASSES
    }
    return passing == {"measured"}


def _unread(evidence: Evidence, *, carries: bool) -> Iterator[Finding]:
    """Yield a finding for each file that could not be used.

    It is advice: what was not read can only add to what passes without it. Where the
    answer rests on a stated record alone, the file that should show it is missing.
    """
    names: list[str] = []
    for each in evidence.unread:
        word = re.sub(r"[^a-z0-9]+", "_", each.path.lower()).strip("_") or "file"
        names.append(word)
        again = names.count(word)
        yield Finding(
            id=f"capacity.meter_file.{word}{f'_{again}' if again > 1 else ''}",
            question="Can this meter file be used?",
            outcome=Outcome.CANNOT_TELL,
            weight=Weight.MUST if carries else Weight.ADVICE,
            found=each.path,
            next=f"It was not read: {each.why}.",
        )


def _of_condition(
    condition: Condition, record: MeasuredRecord, edition: Edition
) -> Finding:
    return Finding(
        id=f"capacity.measured.{condition.id}",
        question=condition.question,
        outcome=condition.outcome,
        weight=Weight.ADVICE,  # another method may pass; the row says what it costs
        found=condition.found or None,
        limit=condition.limit or None,
        citation=edition.rule("measured-demand").citation,
        working=_facts(record) if condition.id == "record_length" else None,
        next=condition.next,
    )


def _facts(record: MeasuredRecord) -> Working:
    """Return what is known of the record, each fact with where it comes from."""
    plan = "plan, demand_record"
    lines = [
        Line("length", record.days, "days", source=record.days_source),
        Line("averaged over", record.window_s, "s", source=record.window_source),
        Line("highest average", record.recorded_va, "VA", source=record.maximum_source),
        Line("15-minute maximum, central", record.central_va, "VA", source=record.how),
        Line(
            "15-minute maximum, covering", record.covering_va, "VA", source=record.how
        ),
        Line("gaps", record.continuous_found or None, source=record.days_source),
        Line("lived in", _yes(record.occupied), source=plan),
        Line("peaks held down", _yes(record.peak_shaved), source=plan),
    ]
    return Working("The record of demand", tuple(lines))


def _yes(stated: bool | None) -> str | None:
    return None if stated is None else "yes" if stated else "no"


def _agreement(evidence: Evidence) -> tuple[Finding, ...]:
    """Return where the plan says otherwise than the file does, if it does."""
    stated = evidence.demand
    if stated is None or not evidence.meters:
        return ()
    differ = list(_differences(stated, evidence))
    if not differ:
        return ()
    return (
        Finding(
            id="capacity.measured.agreement",
            question="Do the plan and the meter file say the same of the record?",
            outcome=Outcome.FALLS_SHORT,
            weight=Weight.ADVICE,
            found="; ".join(differ),
            next=(
                "The file goes before the plan, and of two maxima the larger counts. "
                "Mend demand_record, or name the right file."
            ),
        ),
    )


def _differences(stated: StatedDemand, evidence: Evidence) -> Iterator[str]:
    meter = combined(evidence.meters)
    shown_va = meter.central_w / (stated.power_factor_fraction or 1.0)
    said_va = stated.maximum_va
    if said_va is not None and stated.power_factor_fraction:
        said_va /= stated.power_factor_fraction
    if said_va is not None and abs(said_va - shown_va) > AGREE_FRACTION * shown_va:
        yield (
            f"the plan says {said_va / 1000:.1f} kVA at the most, the file "
            f"{shown_va / 1000:.1f}"
        )
    days = meter.span_s / 86400
    if stated.days is not None and abs(stated.days - days) > AGREE_DAYS:
        yield f"the plan says {stated.days:g} days, the file holds {days:.4g}"
    if stated.window_s is not None and stated.window_s != meter.interval_s:
        yield (
            f"the plan says averages over {stated.window_s / 60:g} minutes, the file "
            f"holds {meter.interval_s / 60:g}"
        )
    if stated.continuous and meter.long_gaps:
        yield (f"the plan says no gap, the file has {meter.long_gaps} of over an hour")
    last = datetime.fromtimestamp(meter.first_s + meter.span_s - 1, UTC).date()
    if stated.last_day and abs((stated.last_day - last).days) > AGREE_DAYS:
        yield f"the plan says it ends on {stated.last_day}, the file on {last}"


def _outlook(
    record: MeasuredRecord,
    conditions: Sequence[Condition],
    rating: ServiceRating,
    wish: Wish,
    volts: float,
) -> tuple[Finding, ...]:
    """Return what the more loaded leg may carry, with the chances kept apart.

    No quarter is added here: it is no rule but what the record makes likely.
    """
    setting_a, central_va = wish.setting_a, record.central_va
    barred = any(each.bars and each.id == "no_other_source" for each in conditions)
    days = record.days
    if setting_a is None or central_va is None or barred or not days or days < 1:
        return ()
    covering_va = central_va if record.covering_va is None else record.covering_va
    factors = {
        chance: record_factor(days=days, chance=chance)
        if days < _YEAR_DAYS - 1
        else 1.0
        for chance in ("p80", "p95")
    }
    least_a = central_va / volts * record.span_least_factor
    most_a = covering_va * factors["p95"] / volts * record.span_most_factor
    found = (least_a + setting_a, most_a + setting_a)
    outcome = compare(found=found[1], limit=rating.limit_a).outcome
    at_least = compare(found=found[0], limit=rating.limit_a).outcome
    if outcome is Outcome.FALLS_SHORT and at_least is not Outcome.FALLS_SHORT:
        outcome = Outcome.CANNOT_TELL
    lines = [
        Line("15-minute maximum, central", central_va, "VA", source=record.how),
        Line("15-minute maximum, covering", covering_va, "VA", source=record.how),
        *(
            Line(
                f"factor to the year's maximum, {chance[1:]} % chance",
                factor,
                symbols="by days recorded",
                numbers=f"{days:.4g} days",
                source="computed from 15 recorded houses (factors.toml)",
            )
            for chance, factor in factors.items()
        ),
        Line(
            "more loaded leg, at least",
            least_a,
            "A",
            "central ÷ V × least share",
            f"{central_va:,.0f} VA ÷ {volts:g} V × {record.span_least_factor:.4g}",
            record.legs_said,
        ),
        Line(
            "more loaded leg, at most",
            most_a,
            "A",
            "covering × year's factor ÷ V × most share",
            f"{covering_va:,.0f} VA × {factors['p95']:.3g} ÷ {volts:g} V × "
            f"{record.span_most_factor:.4g}",
            record.legs_said,
        ),
        Line("charger", setting_a, "A", source="setting asked about"),
        Line("with the charger, at least", found[0], "A", "sum"),
        Line("with the charger, at most", found[1], "A", "sum"),
        *_levels(record),
    ]
    return (
        Finding(
            id="capacity.measured_outlook",
            question="What may the heavier leg carry, charging at the worst hour?",
            outcome=outcome,
            weight=Weight.ADVICE,
            found=f"{found[0]:.1f} to {found[1]:.1f}",
            limit=rating.limit_a,
            unit="A",
            working=Working("Outlook from the record, no rule", tuple(lines)),
            next=_outlook_next(outcome, record, days),
        ),
    )


def _levels(record: MeasuredRecord) -> Iterator[Line]:
    source = "tail of the daily maxima; a house that changes is not foreseen"
    if record.one_year_va is not None:
        yield Line("level reached once a year", record.one_year_va, "VA", source=source)
    if record.ten_year_va is not None:
        yield Line("once in ten years", record.ten_year_va, "VA", source=source)


def _outlook_next(outcome: Outcome, record: MeasuredRecord, days: float) -> str:
    if outcome in _PASSES:
        return "Even the more loaded leg keeps within the rating."
    words = "Charge when the house draws little, or limit the current by the house's. "
    if record.span_least_factor < record.span_most_factor:
        words += (
            "A meter adds both legs up: amperes of each leg, read by a qualified "
            "person while the house draws much, narrow the range."
        )
    if days < _YEAR_DAYS - 1:
        words += " A longer record narrows it too."
    return words.strip()


def _above_calculated(
    record: MeasuredRecord,
    rows: Sequence[CapacityRow],
    rating: ServiceRating,
    wish: Wish,
    volts: float,
) -> tuple[Finding, ...]:
    """Return the warning that a passing method counts less than was drawn already."""
    recorded_va = record.recorded_va
    passing = [
        row
        for row in rows
        if row.permitted
        and row.prudent
        and row.outcome in _PASSES
        and row.method != "measured"
        and row.base_va is not None
    ]
    if recorded_va is None or record.doubts or not passing:
        return ()
    base_va = max(row.base_va or 0.0 for row in passing)
    if recorded_va <= base_va:
        return ()
    together_a = recorded_va / volts + (wish.setting_a or 0.0)
    over = compare(found=together_a, limit=rating.limit_a)
    return (
        Finding(
            id="capacity.measured_above_calculated",
            question="Has the house drawn more than the passing methods count for it?",
            outcome=Outcome.FALLS_SHORT,
            weight=Weight.ADVICE,
            found=recorded_va,
            limit=base_va,
            unit="VA",
            margin=base_va - recorded_va,
            next=(
                "A calculated load is lawful all the same, but this house runs more at "
                f"once than it foresees: {together_a:.0f} A with the charger on."
            ),
            signal=(
                SignalWord.WARNING if over.outcome is Outcome.FALLS_SHORT else None
            ),
        ),
    )
