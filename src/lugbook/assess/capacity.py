"""Can the house carry it? Every permitted method under every defensible reading.

The whole calculation is a function of the charger's current, so the largest setting
is found by trying the steps, and the largest exact current by search on the same
function.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from functools import partial

from lugbook.assess.assessment import Assumption, CapacityRow, Interpretation
from lugbook.assess.capacity_case import (
    Case,
    Reading,
    Wish,
    charger_va,
    charger_voltage_v,
    continuous_line,
)
from lugbook.assess.capacity_measured import measured_readings
from lugbook.assess.capacity_words import CHARGER_NAMES, HVAC_NAMES, METHOD_TITLES
from lugbook.assess.load_list import (
    COOLING,
    SEPARATE_HEATING,
    Counted,
    LoadList,
    system_voltage_v,
)
from lugbook.assess.service_rating import ServiceRating
from lugbook.codebook.edition import Edition
from lugbook.codebook.nfpa70 import load_calculation as rules
from lugbook.finding import Line, Outcome, Reckoned, Working, compare
from lugbook.premises.plan import Plan
from lugbook.premises.stated import Stated
from lugbook.readings.evidence import Evidence

__all__ = [
    "Wish",
    "capacity_assumptions",
    "capacity_rows",
    "counted_is_open",
    "standard_load",
    "wish_of",
]

RESTRICTION_WORDS = {
    "cover that needs a tool": "cover_needing_tool",
    "installer switch inside": "cover_needing_tool",
    "lock": "sealable_cover",
    "password": "password",
    "behind a locked door": "locked_door",
}
_EXACT = 1e-12  # relative; a few roundings of a binary fraction
_MOST_TRIES = 96  # half of them halve 400 A to less than the last bit
_MOST_A = 400.0  # no supply equipment for a house comes near it; bound of a search


def wish_of(plan: Plan, setting_a: float | None) -> Wish:
    """The charging current a plan asks for.

    Args:
        plan: The house. [-]
        setting_a: A setting to ask about instead of the plan's. [A]

    Returns:
        The wish; a setting nobody stated is taken from the nameplate. [-]
    """
    charger = plan.charger
    if charger is None:
        volts = system_voltage_v(plan)
        return Wish(setting_a, None, (), (), False, None, volts, charger_said=False)
    nameplate_a = _above_zero(charger.nameplate)
    stated_a = _above_zero(charger.setting) or nameplate_a
    steps = sorted({step.value for step in charger.setting_steps})
    said = charger.setting_restricted_by
    return Wish(
        setting_a=setting_a if setting_a is not None else stated_a,
        nameplate_a=nameplate_a,
        steps_a=tuple(steps),
        restrictions=(
            # Whatever else guards it: who has the app may raise it.
            ()
            if "anyone with the app" in said
            else tuple(RESTRICTION_WORDS[w] for w in said if w in RESTRICTION_WORDS)
        ),
        restriction_said=bool(said),
        hard_wired=(
            charger.connection.value == "hard-wired" if charger.connection else None
        ),
        voltage_v=charger.voltage.value if charger.voltage else system_voltage_v(plan),
    )


def _above_zero(stated: Stated[float] | None) -> float | None:
    """Return a stated current; none where it is 0 A, which charges nothing."""
    return stated.value if stated and stated.value > 0 else None


def capacity_assumptions(evidence: Evidence, wish: Wish) -> tuple[Assumption, ...]:
    """What the capacity rows take as given that nobody stated.

    Args:
        evidence: What was measured. [-]
        wish: The charging current. [-]

    Returns:
        Assumptions. [-]
    """
    taken = []
    if wish.setting_a is not None and not wish.charger_said:
        taken.append(
            Assumption(
                "charger-nameplate-is-the-setting",
                "The charger's nameplate is taken to be the current asked about.",
                "the plan holds no charger yet; a larger nameplate may count instead",
            )
        )
    taken += _record_assumptions(evidence)
    return tuple(taken)


def _record_assumptions(evidence: Evidence) -> list[Assumption]:
    """Return what is taken as given of a record of demand, where there is one."""
    record, meters = evidence.demand, evidence.meters
    if record is None and not meters:
        return []
    taken = []
    power_factor = record.power_factor_fraction if record else None
    if (record and record.power_factor_assumed) or (meters and not power_factor):
        taken.append(
            Assumption(
                "demand-power-factor-is-one",
                "The demand record's kW are taken as kVA.",
                "no power factor is stated; at 95 % the current is a twentieth higher",
            )
        )
    has_legs = bool(meters) and all(each.leg_a_w is not None for each in meters)
    if not has_legs and (record is None or record.maximum_a is None):
        taken.append(
            Assumption(
                "demand-legs-alike",
                "The demand record's kW are taken to be spread alike over both legs.",
                "a meter adds the legs; the higher leg carries more by half of what "
                "the 120 V loads differ",
            )
        )
    if len(meters) > 1:
        taken.append(
            Assumption(
                "meter-files-are-of-one-meter",
                f"The {len(meters)} meter files are records of one meter.",
                "where they overlap they are counted once, and the higher maximum "
                "counts; two meters would have to be added",
            )
        )
    taken.append(
        Assumption(
            "demand-record-still-holds",
            "Nothing was added to the house since the demand record ended, but what "
            "the plan calls proposed.",
            "state a later load as proposed, so that it is added to the record",
        )
    )
    return taken


def capacity_rows(
    *,
    plan: Plan,
    edition: Edition,
    evidence: Evidence,
    loads: LoadList,
    rating: ServiceRating,
    wish: Wish,
) -> tuple[CapacityRow, ...]:
    """Every method under every interpretation, at the setting asked about.

    Args:
        plan: The house. [-]
        edition: Edition of the rules. [-]
        evidence: What was measured. [-]
        loads: The house's loads. [-]
        rating: The service rating. [-]
        wish: The charging current. [-]

    Returns:
        Rows in reading order. [-]
    """
    voltage_v = system_voltage_v(plan)
    if voltage_v is None or wish.setting_a is None:
        return ()
    general = rules.general_load(
        edition=edition,
        floor_area_m2=loads.floor_area_m2,
        small_appliance_count=loads.small_appliance_count,
        laundry_count=loads.laundry_count,
    )
    case = Case(edition, loads, evidence, wish, voltage_v, general)
    readings = [
        *_optional(case, rating),
        *_existing(case),
        *_existing_hvac(case),
        *_standard(case),
        *measured_readings(case, plan, rating),
    ]
    return tuple(_row(reading, case, rating) for reading in readings)


def _row(reading: Reading, case: Case, rating: ServiceRating) -> CapacityRow:
    wish = case.wish
    setting_a = wish.setting_a or 0.0

    reckon_most = reading.reckon_most or reading.reckon

    def amperes_at(current_a: float) -> float:
        return _amperes(reckon_most(_counted_current_a(case, current_a)), case)

    counted_a, current_lines = _counted(case, setting_a)
    reckoned = reading.reckon(counted_a)
    amperes = _amperes(reckoned, case)
    total = Line(
        "total",
        reckoned.amount,
        "VA",
        "sum of the lines above",
    )
    current = Line(
        "current",
        amperes,
        "A",
        "total ÷ voltage",
        f"{reckoned.amount:,.0f} VA ÷ {case.voltage_v:g} V",
        case.edition.rule("calculation-voltage").citation,
    )
    outcome, reason = _outcome(reading, case, rating, amperes)
    limit_a = rating.limit_a
    judged = not (
        reading.refused
        or reading.unknown
        or reading.unproven
        or _gaps(reading, case, rating)
        or (wish.nameplate_a is None and counted_is_open(wish, case.edition))
    )
    beyond_a = limit_a if judged else None
    lines = (*current_lines, *reckoned.lines, total, current)
    return CapacityRow(
        method=reading.method,
        interpretation=Interpretation(reading.charger, reading.hvac),
        permitted=not reading.refused,
        literal=reading.literal,
        prudent=reading.prudent,
        base_va=None if reading.unknown else reading.reckon(0.0).amount,
        va=None if reading.unknown else reckoned.amount,
        amperes=None if reading.unknown else amperes,
        limit_a=limit_a,
        outcome=outcome,
        largest_exact_a=_largest_exact(amperes_at, beyond_a),
        largest_setting_a=max(
            (step for step in _steps(wish) if _passes(amperes_at(step), beyond_a)),
            default=None,
        ),
        working=Working(
            _title(reading),
            (Line("not reckoned", reading.unknown),) if reading.unknown else lines,
        ),
        reason=reason,
        span_a=_span_a(reading, case, counted_a),
    )


def _span_a(
    reading: Reading, case: Case, counted_a: float
) -> tuple[float, float] | None:
    """Return between which currents a measured load lies, where that is not known."""
    ends = [_amperes(reckon(counted_a), case) for reckon in reading.reckon_span]
    return (min(ends), max(ends)) if ends and min(ends) < max(ends) else None


def _outcome(
    reading: Reading, case: Case, rating: ServiceRating, amperes: float
) -> tuple[Outcome, str]:
    """Return the outcome of a row and, where it is no plain comparison, why."""
    if reading.refused:
        return Outcome.NOT_REQUIRED, reading.refused
    if reading.unknown:
        return Outcome.CANNOT_TELL, reading.unknown
    wish = case.wish
    counted_open = counted_is_open(wish, case.edition)
    if _cannot_pass(reading, case, rating, counted_open=bool(counted_open)):
        return Outcome.FALLS_SHORT, reading.unproven
    if reading.unproven:
        return Outcome.CANNOT_TELL, reading.unproven
    gaps = _gaps(reading, case, rating)
    if gaps:
        return Outcome.CANNOT_TELL, "; ".join(gaps)
    found = compare(found=amperes, limit=rating.limit_a).outcome
    if counted_open and (wish.nameplate_a is None or found is Outcome.FALLS_SHORT):
        return Outcome.CANNOT_TELL, counted_open
    if reading.reckon_most is not None:
        counted_a = _counted_current_a(case, wish.setting_a or 0.0)
        most_a = _amperes(reading.reckon_most(counted_a), case)
        most = compare(found=most_a, limit=rating.limit_a).outcome
        if most is Outcome.FALLS_SHORT and found is not Outcome.FALLS_SHORT:
            return Outcome.CANNOT_TELL, reading.open_question
        return (most if found is Outcome.MEETS else found), ""
    return found, ""


def _cannot_pass(
    reading: Reading, case: Case, rating: ServiceRating, *, counted_open: bool
) -> bool:
    """Return whether the least that is certain is beyond the least part known."""
    reckon = reading.reckon_least if reading.unproven else reading.reckon
    if reckon is None:
        return False
    setting_a = case.wish.setting_a or 0.0
    current_a = setting_a if counted_open else _counted_current_a(case, setting_a)
    least_a = _amperes(reckon(current_a), case)
    outcome = compare(found=least_a, limit=rating.least_known_a).outcome
    return outcome is Outcome.FALLS_SHORT


def _gaps(reading: Reading, case: Case, rating: ServiceRating) -> tuple[str, ...]:
    """Return what nobody stated and a row cannot pass without."""
    gaps = []
    if rating.limit_a is None:
        gaps.append("a part of the service rating is unknown")
    measured = reading.method == "measured"
    unknown = case.loads.proposed_unknowns if measured else case.loads.unknowns
    if unknown:
        fields = ", ".join(dict.fromkeys(each.field for each in unknown))
        gaps.append(f"a lower bound: {fields} not stated")
    return tuple(gaps)


def counted_is_open(wish: Wish, edition: Edition) -> str:
    """Why it is open at which current the charger counts; empty if it is not.

    Args:
        wish: The charging current. [-]
        edition: Edition of the rules. [-]

    Returns:
        What is not stated, in words. [-]
    """
    if wish.setting_a is None or not wish.charger_said:
        return ""
    rule = edition.rule("adjusted-rating")
    variant = rule.text("variant")
    accepted = not set(wish.restrictions).isdisjoint(rule.words("restrictions"))
    open_fixing = variant == "fixed-restricted" and accepted and wish.hard_wired is None
    if wish.nameplate_a is None:
        lower_counts = {
            "nameplate-counts": False,
            "fixed-restricted": accepted and bool(wish.hard_wired),
            "restricted-any": accepted,
        }[variant]
        return "" if lower_counts else "charger.nameplate is not stated, and it counts"
    if wish.setting_a >= wish.nameplate_a or variant == "nameplate-counts":
        return ""
    if open_fixing:
        return "counts at the nameplate unless charger.connection is hard-wired"
    fixed_only = variant == "fixed-restricted" and wish.hard_wired is False
    if not wish.restriction_said and not fixed_only:
        return (
            "counts at the nameplate unless the setting is restricted, and the plan "
            "does not say how it is"
        )
    return ""


def _counted_current_a(case: Case, current_a: float) -> float:
    return _counted(case, current_a)[0]


def _counted(case: Case, current_a: float) -> tuple[float, tuple[Line, ...]]:
    """Return the current that counts for a setting, with its line."""
    wish = case.wish
    if wish.nameplate_a is None or current_a <= 0:
        return current_a, ()
    counted = rules.counted_charger_current(
        edition=case.edition,
        nameplate_a=wish.nameplate_a,
        setting_a=current_a,
        restrictions=wish.restrictions,
        hard_wired=bool(wish.hard_wired),
    )
    return counted.current_a, (counted.line,)


def _steps(wish: Wish) -> tuple[float, ...]:
    """Return the settings to try: those stated, or setting and nameplate."""
    if wish.steps_a:
        most = wish.nameplate_a or math.inf
        return tuple(step for step in wish.steps_a if step <= most)
    stated = {wish.setting_a, wish.nameplate_a}
    return tuple(sorted(step for step in stated if step))


def _passes(found_a: float, limit_a: float | None) -> bool:
    outcome = compare(found=found_a, limit=limit_a).outcome
    return outcome in (Outcome.MEETS, Outcome.NARROW)


def _largest_exact(
    amperes_at: Callable[[float], float], limit_a: float | None
) -> float | None:
    """Return the largest current that passes; None if none does.

    The total rises with the current in a few straight pieces, so the chord between a
    current that passes and one that does not hits the limit after a few tries; every
    other try halves the gap instead, so that a corner between them cannot hold it up.
    """
    low, high = 1e-6, _MOST_A
    at_low, at_high = amperes_at(low), amperes_at(high)
    if limit_a is None or not _passes(at_low, limit_a):
        return None
    if _passes(at_high, limit_a):
        return high
    for number in range(_MOST_TRIES):
        tried = (low + high) / 2
        if number % 2 == 0:
            tried = low + (limit_a - at_low) * (high - low) / (at_high - at_low)
        at_tried = amperes_at(tried)
        if math.isclose(at_tried, limit_a, rel_tol=_EXACT):
            return round(tried, 6)
        if at_tried < limit_a:
            low, at_low = tried, at_tried
        else:
            high, at_high = tried, at_tried
    return round(low, 6)


def _amperes(reckoned: Reckoned, case: Case) -> float:
    return reckoned.amount / case.voltage_v


def _charger_lines(case: Case, counted_a: float, charger: str) -> list[Line]:
    """Return the charger's own line outside the factor, and the 125 % lines."""
    load_va = charger_va(case, counted_a)
    volts = charger_voltage_v(case)
    lines = [
        Line(
            "charger, outside the demand factor",
            load_va,
            "VA",
            "current × voltage",
            f"{counted_a:g} A × {volts:g} V",
            case.edition.rule("vehicle-charging-optional").citation,
        )
    ]
    if charger == "outside_125":
        lines.append(continuous_line(case, case.loads.continuous_va + load_va))
    return lines


def _in_tiers(
    case: Case,
    *,
    rule_name: str,
    inside_va: float = 0.0,
    inside_lines: Sequence[Line] = (),
) -> Reckoned:
    """Return general load and appliances under a two-tier demand factor."""
    general = case.general
    members = case.loads.appliances
    total_va = general.amount + _total(members) + inside_va
    tiers = rules.tiered(
        rule=case.edition.rule(rule_name), load_va=total_va, label="other loads"
    )
    subtotal = Line("subtotal before the demand factor", total_va, "VA", "sum")
    listed = (*general.lines, *(each.line for each in members), *inside_lines)
    return Reckoned(tiers.amount, (*listed, subtotal, *tiers.lines))


def _vehicles_inside(
    case: Case, counted_a: float, charger: str
) -> tuple[float, list[Line]]:
    """Return what of vehicle charging stands inside the demand factor."""
    if charger != "inside":
        return 0.0, []
    load_va = charger_va(case, counted_a)
    volts = charger_voltage_v(case)
    line = Line(
        "charger, inside the demand factor",
        load_va,
        "VA",
        "current × voltage",
        f"{counted_a:g} A × {volts:g} V",
        case.edition.rule("vehicle-charging-optional").citation,
    )
    others = case.loads.vehicles
    return load_va + _total(others), [*(v.line for v in others), line]


def _vehicles_outside(case: Case, counted_a: float, charger: str) -> list[Line]:
    if charger == "inside":
        return []
    return [
        *(v.line for v in case.loads.vehicles),
        *_charger_lines(case, counted_a, charger),
    ]


def _two_tier(
    case: Case,
    counted_a: float,
    *,
    rule_name: str,
    charger: str,
    hvac: Reckoned,
    hvac_inside: Sequence[Counted] = (),
    hvac_inside_va: float = 0.0,
) -> Reckoned:
    """Return a two-tier method: loads in the tiers, heating and charger beside."""
    vehicles_va, vehicle_lines = _vehicles_inside(case, counted_a, charger)
    inside_lines = [*(each.line for each in hvac_inside), *vehicle_lines]
    tiers = _in_tiers(
        case,
        rule_name=rule_name,
        inside_va=vehicles_va + hvac_inside_va,
        inside_lines=inside_lines,
    )
    beside = [*hvac.lines, *_vehicles_outside(case, counted_a, charger)]
    amount = tiers.amount + sum(rules.line_amount(line) for line in beside)
    return Reckoned(amount, (*tiers.lines, *beside))


def _charger_words(case: Case) -> tuple[str, ...]:
    """Return the readings of where the charger stands that the edition leaves open."""
    outside = ("outside", "outside_125")
    variant = case.edition.rule("vehicle-charging-optional").text("variant")
    return outside if variant == "outside" else ("inside", *outside)


def _optional(case: Case, rating: ServiceRating) -> list[Reading]:
    rule = case.edition.rule("optional-dwelling")
    least_a = rule.number("minimum_supply_a")
    known_a = rating.least_known_a
    refused = (
        f"only for a supply of {least_a:g} A or more"
        if known_a is not None and known_a < least_a
        else ""
    )
    hvac = rules.optional_hvac(edition=case.edition, heating=case.loads.heating)
    words = _charger_words(case)
    return [
        Reading(
            "optional",
            charger,
            "counted",
            literal=charger == words[0],
            refused=refused,
            reckon=partial(
                _two_tier,
                case,
                rule_name="optional-dwelling",
                charger=charger,
                hvac=hvac,
            ),
        )
        for charger in words
    ]


def _existing(case: Case) -> list[Reading]:
    rule = case.edition.rule("existing-dwelling-no-hvac")
    refused = "heating or cooling is added, so the other list applies"
    hvac_members = _larger_hvac(case.loads)
    words = _charger_words(case)
    unseen = (
        "this edition's table was not seen by us; ask for the calculation in writing"
        if rule.parameters.get("variant") == "single-table"
        else ""
    )
    return [
        Reading(
            "existing",
            charger,
            hvac,
            literal=charger == words[0] and hvac == "not_counted",
            refused=refused if case.loads.adds_hvac and not unseen else "",
            unknown=unseen,
            reckon=partial(
                _two_tier,
                case,
                rule_name="existing-dwelling-no-hvac",
                charger=charger,
                hvac=Reckoned(0.0, ()),
                hvac_inside=hvac_members if hvac == "counted" else (),
                hvac_inside_va=_total(hvac_members) if hvac == "counted" else 0.0,
            ),
        )
        for hvac in ("not_counted", "counted")
        for charger in words
    ]


def _existing_hvac(case: Case) -> list[Reading]:
    if case.edition.rule("existing-dwelling-hvac").absent:
        return []
    words = _charger_words(case)
    return [
        Reading(
            "existing_hvac",
            charger,
            "counted",
            literal=charger == words[0],
            reckon=partial(_reckon_existing_hvac, case, charger=charger),
        )
        for charger in words
    ]


def _reckon_existing_hvac(case: Case, counted_a: float, *, charger: str) -> Reckoned:
    """Return the larger of the load with the cooling and that with the heating."""
    both = rules.existing_hvac(edition=case.edition, heating=case.loads.heating)
    ways = [
        _two_tier(
            case,
            counted_a,
            rule_name="existing-dwelling-hvac",
            charger=charger,
            hvac=hvac,
            hvac_inside=tuple(
                each
                for each in case.loads.hvac
                if inside_va and each.kind in SEPARATE_HEATING
            ),
            hvac_inside_va=inside_va,
        )
        for hvac, inside_va in both
    ]
    return max(ways, key=lambda way: way.amount)


def _standard(case: Case) -> list[Reading]:
    unstated = ", ".join(each.id for each in case.loads.unstated_motors)
    return [
        Reading(
            "standard",
            charger,
            "counted",
            literal=charger == "outside",
            reckon=partial(_reckon_standard, case, charger=charger),
            open_question=f"the largest motor counts more; not stated for {unstated}",
            reckon_most=(
                partial(_reckon_standard, case, charger=charger, most=True)
                if unstated
                else None
            ),
        )
        for charger in ("outside", "outside_125")
    ]


def _reckon_standard(
    case: Case, counted_a: float, *, charger: str, most: bool = False
) -> Reckoned:
    """Return the standard method; at the most, unstated motors are whole loads."""
    edition, loads = case.edition, case.loads
    general = case.general
    beside = [*loads.with_heating, *loads.others, *_larger_hvac(loads)]
    load_va = charger_va(case, counted_a)
    vehicles = _nameplates(loads.vehicles)
    idle = _idle_motors(case)
    motors = [va for id, va in loads.motors if id not in idle]
    if most:
        unstated = [each for each in loads.unstated_motors if each.id not in idle]
        motors += [each.each_va for each in unstated]
    parts = [
        rules.lighting_demand(edition=edition, general_va=general.amount),
        rules.fastened_appliances(
            edition=edition, nameplates_va=_nameplates(loads.fastened)
        ),
        rules.cooking_demand(edition=edition, nameplates_va=_nameplates(loads.cooking)),
        rules.dryer_demand(edition=edition, nameplates_va=_nameplates(loads.dryers)),
        Reckoned(_total(beside), tuple(each.line for each in beside)),
        rules.largest_motor(edition=edition, motors_va=motors),
        *(
            rules.standard_vehicle_load(edition=edition, charger_va=each)
            for each in vehicles
        ),
    ]
    if counted_a > 0:
        parts.append(rules.standard_vehicle_load(edition=edition, charger_va=load_va))
    if charger == "outside_125":
        line = continuous_line(case, loads.continuous_va + load_va)
        parts.append(Reckoned(rules.line_amount(line), (line,)))
    lines = [line for part in parts for line in part.lines]
    before = Line("general load before demand", general.amount, "VA", "sum")
    return Reckoned(
        math.fsum(part.amount for part in parts), (*general.lines, before, *lines)
    )


def standard_load(
    *,
    edition: Edition,
    loads: LoadList,
    general: Reckoned,
    wish: Wish,
    voltage_v: float,
    counted_a: float,
    continuous_added: bool,
    motors_as_loads: bool = False,
) -> Reckoned:
    """The standard method over some loads, as for a feeder.

    Args:
        edition: Edition of the rules. [-]
        loads: The loads. [-]
        general: General load before demand. [VA]
        wish: The charging current. [-]
        voltage_v: Nominal voltage between the legs. [V]
        counted_a: Current at which the charger counts. [A]
        continuous_added: Whether continuous loads count at their larger figure. [-]
        motors_as_loads: Whether a motor nobody stated is as large as its load. [-]

    Returns:
        Load. [VA]
    """
    case = Case(edition, loads, Evidence(), wish, voltage_v, general)
    charger = "outside_125" if continuous_added else "outside"
    return _reckon_standard(case, counted_a, charger=charger, most=motors_as_loads)


def _idle_motors(case: Case) -> set[str]:
    """Return the loads left out whose motors the edition leaves out with them."""
    if case.edition.rule("noncoincident").number("left_out_motor_factor") > 0:
        return set()
    running = _larger_hvac(case.loads)
    return {each.id for each in case.loads.hvac if each not in running}


def _larger_hvac(loads: LoadList) -> tuple[Counted, ...]:
    """Return the members of the larger of heating and cooling, by nameplate."""
    heating = loads.heating
    if heating.connected_cooling_va >= heating.connected_heating_va:
        return tuple(each for each in loads.hvac if each.kind in COOLING)
    left_out = {"central cooling", "room cooling"}
    if not heating.supplemental_with_compressor:
        pump_is_larger = heating.heat_pump_va >= heating.supplemental_va
        left_out.add("heat pump supplemental heat" if pump_is_larger else "heat pump")
    return tuple(each for each in loads.hvac if each.kind not in left_out)


def _total(members: Sequence[Counted]) -> float:
    return math.fsum(member.va for member in members)


def _nameplates(members: Sequence[Counted]) -> tuple[float, ...]:
    return tuple(each for member in members for each in member.nameplates_va)


def _title(reading: Reading) -> str:
    charger, _ = CHARGER_NAMES[reading.charger]
    left_out = reading.hvac != "counted"
    hvac = f", heating and cooling {HVAC_NAMES[reading.hvac]}" * left_out
    return f"{METHOD_TITLES[reading.method]}: charger {charger}{hvac}"
