"""What the capacity rows mean for the person, as findings."""

from __future__ import annotations

import math

from lugbook.assess.assessment import CapacityRow
from lugbook.assess.capacity import Wish, counted_is_open
from lugbook.assess.capacity_spot import spot_finding
from lugbook.assess.capacity_words import METHOD_TITLES
from lugbook.assess.feeder import feeders_to_charger
from lugbook.assess.load_list import LoadList
from lugbook.assess.measured_findings import measured_findings
from lugbook.assess.service_rating import ServiceRating, service_panels
from lugbook.codebook.edition import Edition
from lugbook.codebook.nfpa70.load_calculation import (
    counted_charger_current,
    optional_heating_kinds_va,
    optional_hvac,
)
from lugbook.finding import (
    Citation,
    Finding,
    Outcome,
    SignalWord,
    Weight,
    Working,
    compare,
)
from lugbook.premises.plan import Plan
from lugbook.readings.evidence import Evidence

__all__ = ["capacity_findings"]

_BEST_FIRST = (
    Outcome.MEETS,
    Outcome.NARROW,
    Outcome.CANNOT_TELL,
    Outcome.FALLS_SHORT,
    Outcome.NOT_REQUIRED,
)


def capacity_findings(
    *,
    plan: Plan,
    edition: Edition,
    evidence: Evidence,
    loads: LoadList,
    rating: ServiceRating,
    wish: Wish,
    rows: tuple[CapacityRow, ...],
) -> tuple[Finding, ...]:
    """The findings on capacity, in reading order.

    Args:
        plan: The house. [-]
        edition: Edition of the rules. [-]
        evidence: What was measured. [-]
        loads: The house's loads. [-]
        rating: The service rating. [-]
        wish: The charging current. [-]
        rows: Every method under every interpretation. [-]

    Returns:
        Findings. [-]
    """
    heatings = _several_heatings(loads, rows, rating, edition)
    spots = (
        spot_finding(
            reading=reading,
            plan=plan,
            edition=edition,
            loads=loads,
            rating=rating,
            wish=wish,
        )
        for reading in evidence.spot_readings
    )
    return (
        _service_rating(rating, edition),
        _service_minimum(rating, edition),
        _service_load(rows, rating, edition),
        *_literal_only(rows),
        *_setting_counts(edition, wish),
        *_feeder(plan, edition),
        *heatings,
        *measured_findings(
            plan=plan,
            edition=edition,
            evidence=evidence,
            rating=rating,
            wish=wish,
            rows=rows,
        ),
        *(finding for finding in spots if finding),
    )


def _service_rating(rating: ServiceRating, edition: Edition) -> Finding:
    known = rating.limit_a is not None
    missing = " ".join(f"{u.question} Look: {u.look}." for u in rating.unknowns)
    # Only these are looked for where parts stay live with the main off.
    ahead_of_main = any(
        u.field in ("service.conductor", "service.meter_base_rating")
        for u in rating.unknowns
    )
    return Finding(
        id="capacity.service_rating",
        question="What may the service carry?",
        outcome=Outcome.MEETS if known else Outcome.CANNOT_TELL,
        weight=Weight.MUST,
        found=rating.limit_a,
        unit="A",
        citation=edition.rule("whole-house-conductor").citation,
        working=rating.working,
        next=missing,
        signal=SignalWord.DANGER if ahead_of_main else None,
    )


def _service_minimum(rating: ServiceRating, edition: Edition) -> Finding:
    rule = edition.rule("dwelling-service-minimum")
    least_a = rule.number("minimum_a")
    found = compare(
        found=rating.limit_a, limit=least_a, direction="at least", kind="series"
    )
    next_step = {
        Outcome.FALLS_SHORT: (
            "An older service may stay as it is; a new one must be larger. Ask the "
            "authority having jurisdiction."
        ),
        Outcome.CANNOT_TELL: "Find out what is missing of the service rating.",
    }
    return Finding(
        id="capacity.service_minimum",
        question="Is the service as large as a one-family house now needs?",
        outcome=found.outcome,
        weight=Weight.ADVICE,
        found=rating.limit_a,
        limit=least_a,
        unit="A",
        margin=found.margin,
        citation=rule.citation,
        next=next_step.get(found.outcome, ""),
    )


def _service_load(
    rows: tuple[CapacityRow, ...], rating: ServiceRating, edition: Edition
) -> Finding:
    """Return the finding that decides: the best prudent row of a permitted method."""
    prudent = [row for row in rows if row.permitted and row.prudent]
    question = "Does the calculated load stay within the service rating?"
    if not prudent:
        return Finding(
            id="capacity.service_load",
            question=question,
            outcome=Outcome.CANNOT_TELL,
            weight=Weight.MUST,
            limit=rating.limit_a,
            unit="A",
            citation=edition.rule("scope-optional").citation,
            next="State service.system and the charging current.",
        )
    best = min(
        prudent,
        key=lambda row: (
            _BEST_FIRST.index(row.outcome),
            math.inf if row.amperes is None else row.amperes,
        ),
    )
    # Short of the least part known is short of the rating, whatever the others are.
    short = best.outcome is Outcome.FALLS_SHORT
    limit_a = rating.least_known_a if short else rating.limit_a
    margin = (
        limit_a - best.amperes
        if limit_a is not None and best.amperes is not None
        else None
    )
    return Finding(
        id="capacity.service_load",
        question=question,
        outcome=best.outcome,
        weight=Weight.MUST,
        found=best.amperes,
        limit=limit_a,
        unit="A",
        margin=margin,
        citation=_method_citation(best, edition),
        working=best.working,
        next=_load_next(best),
        signal=SignalWord.WARNING if short else None,
    )


def _method_citation(row: CapacityRow, edition: Edition) -> Citation:
    name = {
        "optional": "optional-dwelling",
        "existing": "existing-dwelling-no-hvac",
        "existing_hvac": "existing-dwelling-hvac",
        "standard": "continuous-factor-calculation",
        "measured": "measured-demand",
    }[row.method]
    return edition.rule(name).citation


def _load_next(best: CapacityRow) -> str:
    title = METHOD_TITLES[best.method].lower()
    if best.outcome is Outcome.FALLS_SHORT:
        largest = best.largest_setting_a
        lower = f"Set {largest:g} A or less" if largest else "No setting of it passes"
        measure = "" if best.method == "measured" else "measure the demand for a year, "
        return (
            f"{lower} by this method ({title}); otherwise limit the current by load "
            f"management, {measure}or have the service enlarged."
        )
    if best.outcome is Outcome.CANNOT_TELL:
        return f"Find out what is missing ({title}): {best.reason}."
    return f"Passes by this method: {title}."


def _literal_only(rows: tuple[CapacityRow, ...]) -> tuple[Finding, ...]:
    """Return the warning where only the wording passes, not the prudent reading."""
    passing = (Outcome.MEETS, Outcome.NARROW)
    prudent = [row for row in rows if row.permitted and row.prudent]
    easy = [row for row in rows if row.permitted and not row.prudent]
    best = min(
        (row for row in easy if row.outcome in passing),
        key=lambda row: row.amperes or 0.0,
        default=None,
    )
    if best is None or any(row.outcome in passing for row in prudent):
        return ()
    return (
        Finding(
            id="capacity.only_easy_reading",
            question="Does the load pass only when read the easy way?",
            outcome=Outcome.FALLS_SHORT,
            weight=Weight.ADVICE,
            found=best.amperes,
            limit=best.limit_a,
            unit="A",
            working=best.working,
            next=(
                f"It passes only by the {METHOD_TITLES[best.method].lower()} with the "
                f"charger {best.interpretation.charger} the demand factor and heating "
                f"and cooling {best.interpretation.hvac.replace('_', ' ')}. The "
                "authority having jurisdiction may accept that; the main may still "
                "trip."
            ),
        ),
    )


def _setting_counts(edition: Edition, wish: Wish) -> tuple[Finding, ...]:
    """Return whether a setting below nameplate counts in this edition."""
    setting_a, nameplate_a = wish.setting_a, wish.nameplate_a
    if setting_a is None or nameplate_a is None or setting_a >= nameplate_a:
        return ()
    rule = edition.rule("adjusted-rating")
    counted = counted_charger_current(
        edition=edition,
        nameplate_a=nameplate_a,
        setting_a=setting_a,
        restrictions=wish.restrictions,
        hard_wired=bool(wish.hard_wired),
    )
    variant = rule.text("variant")
    restricted = not set(wish.restrictions).isdisjoint(rule.words("restrictions"))
    open_question = counted_is_open(wish, edition)
    outcome = (
        Outcome.MEETS
        if counted.is_setting
        else Outcome.CANNOT_TELL
        if open_question
        else Outcome.NOT_REQUIRED
    )
    only_wired = variant == "fixed-restricted" and restricted
    next_step = {
        Outcome.MEETS: "Keep the setting restricted and marked, with a photo.",
        Outcome.CANNOT_TELL: (
            "State charger.connection: only equipment wired in may count lower."
            if only_wired
            else "State charger.setting_restricted_by: who can change the setting, and "
            "how?"
        ),
        Outcome.NOT_REQUIRED: (
            "The nameplate counts: this edition knows no lower setting."
            if variant == "nameplate-counts"
            else "The nameplate counts: in this edition only equipment wired in may "
            "count lower."
            if only_wired
            else "The nameplate counts: anyone can raise this setting."
        ),
    }[outcome]
    return (
        Finding(
            id="capacity.setting_counts",
            question="Does the lower setting count instead of the nameplate?",
            outcome=outcome,
            weight=Weight.ADVICE,
            found=counted.current_a,
            unit="A",
            citation=rule.citation,
            working=Working("Current that counts", (counted.line,)),
            next=next_step,
        ),
    )


def _feeder(plan: Plan, edition: Edition) -> tuple[Finding, ...]:
    """Return the open question where the charger hangs on a panel behind a feeder."""
    source = plan.circuit.fed_from if plan.circuit else None
    at_service = {panel.id for panel in service_panels(plan)}
    behind = [panel.id for panel in plan.panels if panel.id not in at_service]
    service_id = plan.service.id if plan.service else None
    if source is None:
        open_question = plan.circuit is not None and bool(behind)
    else:
        open_question = source not in (*at_service, service_id)
    if not open_question or feeders_to_charger(plan):
        return ()
    where = f"{source} is" if source else "State circuit.fed_from; a panel here is"
    return (
        Finding(
            id="capacity.feeder",
            question="Does the feeder to the charger's panel carry it too?",
            outcome=Outcome.CANNOT_TELL,
            weight=Weight.MUST,
            found=source,
            limit="a panel fed straight from the service",
            citation=edition.rule("continuous-factor-calculation").citation,
            next=(
                f"{where} fed through a feeder that the plan does not describe: state "
                "every panel's fed_from and the feeder under [[feeders]], so that its "
                "load can be reckoned, or take the circuit from a panel at the service."
            ),
        ),
    )


def _several_heatings(
    loads: LoadList,
    rows: tuple[CapacityRow, ...],
    rating: ServiceRating,
    edition: Edition,
) -> tuple[Finding, ...]:
    """Return the question whether kinds of heating run together, of which one counts.

    It binds where nothing passes but the optional method, and that not with all kinds.
    """
    kinds_va = optional_heating_kinds_va(edition=edition, heating=loads.heating)
    if len(kinds_va) < 2:
        return ()
    hvac_va = optional_hvac(edition=edition, heating=loads.heating).amount
    passing = [
        row
        for row in rows
        if row.permitted
        and row.prudent
        and row.outcome in (Outcome.MEETS, Outcome.NARROW)
    ]
    beyond_va = max(math.fsum(kinds_va) - hvac_va, 0.0)
    bears = [
        row
        for row in passing
        if row.method != "optional" or _holds(row, beyond_va, rating)
    ]
    binds = bool(passing) and not bears
    return (
        Finding(
            id="capacity.several_heatings",
            question="Does more than one kind of electric heating run at once?",
            outcome=Outcome.CANNOT_TELL,
            weight=Weight.MUST if binds else Weight.ADVICE,
            found=math.fsum(kinds_va),
            unit="VA",
            citation=edition.rule("optional-dwelling-hvac").citation,
            next=(
                "The optional method counts the largest kind only. Look on a cold "
                "night whether the others run with it, and measure."
            ),
        ),
    )


def _holds(row: CapacityRow, beyond_va: float, rating: ServiceRating) -> bool:
    """Return whether a row still passes with more volt-amperes."""
    if not row.va or row.amperes is None:
        return False
    found_a = row.amperes * (row.va + beyond_va) / row.va
    outcome = compare(found=found_a, limit=rating.limit_a).outcome
    return outcome in (Outcome.MEETS, Outcome.NARROW)
