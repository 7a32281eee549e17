"""Can the house carry it? Every permitted method under every defensible reading.

The whole calculation is a function of the charger's current, so the largest setting
is found by trying the steps, and the largest exact current by search on the same
function.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import partial
from typing import TypeGuard

from lugbook.assess.assessment import Assumption, CapacityRow, Interpretation
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
from lugbook.readings.evidence import Evidence, StatedDemand

__all__ = [
    "METHOD_TITLES",
    "Wish",
    "capacity_assumptions",
    "capacity_rows",
    "counted_is_open",
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


@dataclass(frozen=True, slots=True)
class Wish:
    """The charging current asked for, as far as it is stated.

    Args:
        setting_a: Setting asked about. [A]
        nameplate_a: Nameplate of the supply equipment. [A]
        steps_a: Settings it offers, ascending. [A]
        restrictions: Ways its setting is restricted, in the codebook's words. [-]
        restriction_said: Whether the plan says anything about it. [-]
        hard_wired: Whether it is wired in; None if not said. [-]
        voltage_v: Voltage it works at. [V]
        charger_said: Whether the plan has a charger at all. [-]
    """

    setting_a: float | None
    nameplate_a: float | None
    steps_a: tuple[float, ...]
    restrictions: tuple[str, ...]
    restriction_said: bool
    hard_wired: bool | None
    voltage_v: float | None
    charger_said: bool = True


@dataclass(frozen=True, slots=True)
class _Case:
    """Everything a method needs but the charger's current."""

    edition: Edition
    loads: LoadList
    evidence: Evidence
    wish: Wish
    voltage_v: float
    general: Reckoned


@dataclass(frozen=True, slots=True)
class _Reading:
    """A method under one interpretation, as a function of the charger's load."""

    method: str
    charger: str
    hvac: str
    literal: bool
    reckon: Callable[[float], Reckoned]
    refused: str = ""
    unknown: str = ""
    # What the plan leaves open and what the total may come to by it, at the most.
    open_question: str = ""
    reckon_most: Callable[[float], Reckoned] | None = None

    @property
    def prudent(self) -> bool:
        return self.charger != "inside" and self.hvac == "counted"


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
        restrictions=tuple(
            RESTRICTION_WORDS[w] for w in said if w in RESTRICTION_WORDS
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
    record = evidence.demand
    if record is None:
        return tuple(taken)
    if record.power_factor_assumed:
        taken.append(
            Assumption(
                "demand-power-factor-is-one",
                "The demand record's kW are taken as kVA.",
                "no power factor is stated; at 95 % the current is a twentieth higher",
            )
        )
    if record.maximum_a is None:
        taken.append(
            Assumption(
                "demand-legs-alike",
                "The demand record's kW are taken to be spread alike over both legs.",
                "a meter adds the legs; the higher leg carries more by half of what "
                "the 120 V loads differ",
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
    return tuple(taken)


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
    case = _Case(edition, loads, evidence, wish, voltage_v, general)
    readings = [
        *_optional(case, rating),
        *_existing(case),
        *_existing_hvac(case),
        *_standard(case),
        *_measured(case, plan),
    ]
    return tuple(_row(reading, case, rating) for reading in readings)


def _row(reading: _Reading, case: _Case, rating: ServiceRating) -> CapacityRow:
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
    )


def _outcome(
    reading: _Reading, case: _Case, rating: ServiceRating, amperes: float
) -> tuple[Outcome, str]:
    """Return the outcome of a row and, where it is no plain comparison, why."""
    if reading.refused:
        return Outcome.NOT_REQUIRED, reading.refused
    if reading.unknown:
        return Outcome.CANNOT_TELL, reading.unknown
    wish = case.wish
    counted_open = counted_is_open(wish, case.edition)
    least_a = (
        _amperes(reading.reckon(wish.setting_a or 0.0), case)
        if counted_open
        else amperes
    )
    at_least = compare(found=least_a, limit=rating.least_known_a).outcome
    if at_least is Outcome.FALLS_SHORT:
        return at_least, ""
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


def _gaps(reading: _Reading, case: _Case, rating: ServiceRating) -> tuple[str, ...]:
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
    if not wish.restriction_said:
        return (
            "counts at the nameplate unless the setting is restricted, and the plan "
            "does not say how it is"
        )
    return ""


def _counted_current_a(case: _Case, current_a: float) -> float:
    return _counted(case, current_a)[0]


def _counted(case: _Case, current_a: float) -> tuple[float, tuple[Line, ...]]:
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


def _amperes(reckoned: Reckoned, case: _Case) -> float:
    return reckoned.amount / case.voltage_v


def _charger_va(case: _Case, counted_a: float) -> float:
    return counted_a * _charger_voltage_v(case)


def _charger_voltage_v(case: _Case) -> float:
    """Return the voltage the charger's current is taken at: its label's, or more.

    A charger labelled 208 V draws its amperes on a 240 V service all the same.
    """
    return max(case.wish.voltage_v or 0.0, case.voltage_v)


def _charger_lines(case: _Case, counted_a: float, charger: str) -> list[Line]:
    """Return the charger's own line outside the factor, and the 125 % lines."""
    charger_va = _charger_va(case, counted_a)
    volts = _charger_voltage_v(case)
    lines = [
        Line(
            "charger, outside the demand factor",
            charger_va,
            "VA",
            "current × voltage",
            f"{counted_a:g} A × {volts:g} V",
            case.edition.rule("vehicle-charging-optional").citation,
        )
    ]
    if charger == "outside_125":
        lines.append(_continuous_line(case, case.loads.continuous_va + charger_va))
    return lines


def _continuous_line(
    case: _Case, continuous_va: float, what: str = "every continuous load"
) -> Line:
    rule = case.edition.rule("continuous-factor-calculation")
    extra = rule.number("continuous_factor") - 1
    return Line(
        "added for continuous loads",
        continuous_va * extra,
        "VA",
        f"{extra:.0%} of {what}",
        f"{continuous_va:,.0f} VA × {extra:g}",
        rule.citation,
    )


def _in_tiers(
    case: _Case,
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
    case: _Case, counted_a: float, charger: str
) -> tuple[float, list[Line]]:
    """Return what of vehicle charging stands inside the demand factor."""
    if charger != "inside":
        return 0.0, []
    charger_va = _charger_va(case, counted_a)
    volts = _charger_voltage_v(case)
    line = Line(
        "charger, inside the demand factor",
        charger_va,
        "VA",
        "current × voltage",
        f"{counted_a:g} A × {volts:g} V",
        case.edition.rule("vehicle-charging-optional").citation,
    )
    others = case.loads.vehicles
    return charger_va + _total(others), [*(v.line for v in others), line]


def _vehicles_outside(case: _Case, counted_a: float, charger: str) -> list[Line]:
    if charger == "inside":
        return []
    return [
        *(v.line for v in case.loads.vehicles),
        *_charger_lines(case, counted_a, charger),
    ]


def _two_tier(
    case: _Case,
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


def _charger_words(case: _Case) -> tuple[str, ...]:
    """Return the readings of where the charger stands that the edition leaves open."""
    outside = ("outside", "outside_125")
    variant = case.edition.rule("vehicle-charging-optional").text("variant")
    return outside if variant == "outside" else ("inside", *outside)


def _optional(case: _Case, rating: ServiceRating) -> list[_Reading]:
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
        _Reading(
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


def _existing(case: _Case) -> list[_Reading]:
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
        _Reading(
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


def _existing_hvac(case: _Case) -> list[_Reading]:
    if case.edition.rule("existing-dwelling-hvac").absent:
        return []
    hvac, inside_va = rules.existing_hvac(
        edition=case.edition, heating=case.loads.heating
    )
    separate = tuple(
        each for each in case.loads.hvac if inside_va and each.kind in SEPARATE_HEATING
    )
    words = _charger_words(case)
    return [
        _Reading(
            "existing_hvac",
            charger,
            "counted",
            literal=charger == words[0],
            reckon=partial(
                _two_tier,
                case,
                rule_name="existing-dwelling-hvac",
                charger=charger,
                hvac=hvac,
                hvac_inside=separate,
                hvac_inside_va=inside_va,
            ),
        )
        for charger in words
    ]


def _standard(case: _Case) -> list[_Reading]:
    unstated = ", ".join(each.id for each in case.loads.unstated_motors)
    return [
        _Reading(
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
    case: _Case, counted_a: float, *, charger: str, most: bool = False
) -> Reckoned:
    """Return the standard method; at the most, unstated motors are whole loads."""
    edition, loads = case.edition, case.loads
    general = case.general
    beside = [*loads.with_heating, *loads.others, *_larger_hvac(loads)]
    charger_va = _charger_va(case, counted_a)
    vehicles = _nameplates(loads.vehicles)
    motors = loads.motors_va
    if most:
        motors += tuple(each.each_va for each in loads.unstated_motors)
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
        parts.append(
            rules.standard_vehicle_load(edition=edition, charger_va=charger_va)
        )
    if charger == "outside_125":
        line = _continuous_line(case, loads.continuous_va + charger_va)
        parts.append(Reckoned(rules.line_amount(line), (line,)))
    lines = [line for part in parts for line in part.lines]
    before = Line("general load before demand", general.amount, "VA", "sum")
    return Reckoned(
        math.fsum(part.amount for part in parts), (*general.lines, before, *lines)
    )


def _measured(case: _Case, plan: Plan) -> list[_Reading]:
    record = case.evidence.demand
    unknown = ""
    maximum_va = 0.0
    refused = _record_refused(case.edition, record, plan)
    if record is None:
        unknown = "no demand record is stated"
    else:
        known_va = _maximum_va(record, case.voltage_v)
        unknown = _record_unproven(case.edition, record, plan)
        if known_va is None:
            unknown = "the record's maximum demand is not stated"
        elif not unknown:
            unknown = _short_record_in_power(case.edition, record)
        maximum_va = known_va or 0.0
    return [
        _Reading(
            "measured",
            charger,
            "counted",
            literal=charger == "outside",
            refused=refused,
            unknown=unknown,
            reckon=partial(
                _reckon_measured, case, charger=charger, maximum_va=maximum_va
            ),
        )
        for charger in ("outside", "outside_125")
    ]


def _reckon_measured(
    case: _Case, counted_a: float, *, charger: str, maximum_va: float
) -> Reckoned:
    existing = rules.measured_demand(edition=case.edition, maximum_va=maximum_va)
    lines = [*existing.lines, *(each.line for each in case.loads.proposed)]
    charger_va = _charger_va(case, counted_a)
    volts = _charger_voltage_v(case)
    lines.append(
        Line(
            "charger, a new load",
            charger_va,
            "VA",
            "current × voltage",
            f"{counted_a:g} A × {volts:g} V",
            case.edition.rule("measured-demand").citation,
        )
    )
    if charger == "outside_125":
        new_va = charger_va + case.loads.proposed_continuous_va
        lines.append(_continuous_line(case, new_va, "every new continuous load"))
    return Reckoned(sum(rules.line_amount(line) for line in lines), tuple(lines))


def _maximum_va(record: StatedDemand, voltage_v: float) -> float | None:
    """Return the record's maximum, the larger where it is stated twice."""
    ways = [
        record.maximum_a * voltage_v if _sound(record.maximum_a) else None,
        (
            record.maximum_va / record.power_factor_fraction
            if _sound(record.maximum_va) and record.power_factor_fraction
            else record.maximum_va
        ),
    ]
    # A house that drew nothing for a month has no record, whatever its zeros say.
    stated = [each for each in ways if _sound(each) and each > 0]
    added_va = record.seasonal_load_added_va or 0.0
    return max(stated) + added_va if stated and _sound(added_va) else None


def _sound(number: float | None) -> TypeGuard[float]:
    """Return whether a measured number is there, finite and not below zero."""
    if number is None or isinstance(number, bool):
        return False
    return math.isfinite(number) and number >= 0


def _short_record_in_power(edition: Edition, record: StatedDemand) -> str:
    """Return why a short record in kW alone does not do; empty if it does.

    A recorder on one leg gives that leg's kW at 120 V; taken as the whole house's at
    240 V it would be half the current.
    """
    full_days = edition.rule("measured-demand").number("full_record_days")
    short = record.days is not None and record.days < full_days
    if short and record.maximum_a is None:
        return "the higher leg's current is not stated, and a short record is one leg's"
    return ""


def _record_refused(edition: Edition, record: StatedDemand | None, plan: Plan) -> str:
    """Return why measured demand may not be used at all; empty if it may."""
    refuses = edition.rule("measured-demand").words("refuses")
    kinds = {source.kind for source in plan.sources}
    if "renewable" in refuses and kinds & {"solar", "wind"}:
        return "not with a renewable source on the service"
    if "peak_shaving" in refuses and (
        "battery" in kinds or (record is not None and record.peak_shaved)
    ):
        return "not with a source that shaves the peak"
    return ""


def _record_unproven(edition: Edition, record: StatedDemand, plan: Plan) -> str:
    """Return which condition of measured demand is not shown to be met."""
    rule = edition.rule("measured-demand")
    window_s = 60 * rule.number("window_minutes")
    unsaid = _sources_unsaid(record, plan)
    if unsaid:
        return unsaid
    days, averaged_s = record.days, record.window_s
    if days is None or not math.isfinite(days):
        return "the length of the record is not stated"
    if averaged_s is None or not 0 < averaged_s < math.inf:
        return "the averaging time of the record is not stated"
    if averaged_s > window_s:
        return (
            f"averages over {averaged_s / 60:g} minutes hide the "
            f"{window_s / 60:g}-minute maximum"
        )
    if days < rule.number("short_record_days"):
        return (
            f"{days:g} days of record; at least "
            f"{rule.number('short_record_days'):g} continuous days are asked for"
        )
    conditions = [(record.continuous, "recorded without a gap")]
    if days < rule.number("full_record_days"):
        seasonal = record.seasonal_loads_included or _sound(
            record.seasonal_load_added_va or None
        )
        conditions += [
            (record.highest_loaded_leg, "recorded on the leg with the higher load"),
            (record.occupied, "recorded while the house was lived in"),
            (seasonal, "held or given the larger of heating and cooling"),
        ]
    missing = [words for met, words in conditions if met is not True]
    return f"not shown: {'; '.join(missing)}" if missing else ""


def _sources_unsaid(record: StatedDemand, plan: Plan) -> str:
    """Return which source beside the service the plan leaves open."""
    kinds = {source.kind for source in plan.sources}
    absent = plan.dwelling.not_present
    standby = {source.kind for source in plan.standby}
    said = {*absent, *kinds, *standby}
    unsaid = [word for word in ("solar", "battery") if word not in said]
    if unsaid:
        return f"the plan does not say whether there is {' or '.join(unsaid)}"
    may_shave = kinds - {"solar", "wind"} or standby - {"generator"}
    if may_shave and record.peak_shaved is None:
        return "the plan does not say whether a source held the peaks down"
    return ""


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


def _title(reading: _Reading) -> str:
    charger = {
        "inside": "charger inside the demand factor",
        "outside": "charger outside the demand factor",
        "outside_125": "charger outside, continuous loads at 125 %",
    }[reading.charger]
    hvac = "" if reading.hvac == "counted" else ", heating and cooling left out"
    return f"{METHOD_TITLES[reading.method]}: {charger}{hvac}"


METHOD_TITLES = {
    "optional": "Optional method, one dwelling",
    "existing": "Existing dwelling, no heating or cooling added",
    "existing_hvac": "Existing dwelling, heating or cooling added",
    "standard": "Standard method",
    "measured": "Measured demand",
}
