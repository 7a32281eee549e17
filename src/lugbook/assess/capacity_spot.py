"""What a clamp reading at the service proves, and what it does not.

It shows that each leg has carried so much. It is a bound from above only where every
large load was seen running, long enough for the inrush to be over; it is never one of
the code's two ways to measure a demand.
"""

from __future__ import annotations

from lugbook.assess.capacity_case import Wish
from lugbook.assess.load_list import Counted, LoadList, system_voltage_v
from lugbook.assess.measured_record import sound
from lugbook.assess.service_rating import ServiceRating
from lugbook.codebook.edition import Edition
from lugbook.codebook.nfpa70.load_calculation import measured_demand
from lugbook.finding import Finding, Line, Outcome, Weight, Working, compare
from lugbook.premises.plan import Plan
from lugbook.readings.evidence import SpotReading

__all__ = ["spot_finding"]

# Common practice, no source: a load that matters to a leg, the time in which the
# inrush of a motor is over, and what an ordinary clamp reads wrong.
LARGE_VA = 1000.0
SETTLED_S = 180.0
DEMAND_S = 900.0
CLAMP_FRACTION = 0.03
CLAMP_A = 1.0


def spot_finding(
    *,
    reading: SpotReading,
    plan: Plan,
    edition: Edition,
    loads: LoadList,
    rating: ServiceRating,
    wish: Wish,
) -> Finding | None:
    """What a clamp reading proves: a lower bound on each leg, never a yes.

    Args:
        reading: The reading. [-]
        plan: The house. [-]
        edition: Edition of the rules. [-]
        loads: The house's loads. [-]
        rating: The service rating. [-]
        wish: The charging current. [-]

    Returns:
        The finding; None where the reading holds no number. [-]
    """
    legs = [leg for leg in (reading.leg_a_a, reading.leg_b_a) if sound(leg)]
    volts = system_voltage_v(plan)
    if not legs or volts is None:
        return None
    higher_a = max(legs)
    demand = measured_demand(edition=edition, maximum_va=higher_a * volts)
    charger_a = wish.setting_a or 0.0
    total_a = demand.amount / volts + charger_a
    against = compare(found=total_a, limit=rating.least_known_a)
    short = against.outcome is Outcome.FALLS_SHORT
    not_seen = _not_seen(reading, plan, loads)
    bounds = len(legs) == 2 and not not_seen
    lines = (
        Line("higher leg", higher_a, "A", source=f"plan, clamp_readings.{reading.id}"),
        *_balance(reading),
        Line(
            "bound from above",
            higher_a if bounds else None,
            "A" if bounds else "",
            source=(
                "every large load was running"
                if bounds
                else f"none: {_why_not(legs, not_seen)}"
            ),
        ),
        *demand.lines,
        Line("demand as a current", demand.amount / volts, "A", "demand ÷ voltage"),
        Line("charger", charger_a, "A", "as a new load", source="setting asked about"),
        Line("least that measured demand can give", total_a, "A", "sum"),
    )
    return Finding(
        id=f"capacity.spot_reading.{reading.id}",
        question="What does this clamp reading prove?",
        outcome=Outcome.FALLS_SHORT if short else Outcome.CANNOT_TELL,
        weight=Weight.ADVICE,
        found=total_a,
        limit=rating.least_known_a if short else rating.limit_a,
        unit="A",
        margin=against.margin,
        citation=edition.rule("measured-demand").citation,
        working=Working("A clamp reading as a lower bound", lines),
        next=_next(reading, short=short, bounds=bounds, higher_a=higher_a),
    )


def _next(reading: SpotReading, *, short: bool, bounds: bool, higher_a: float) -> str:
    neutral = _neutral_words(reading)
    if short:
        lasted = sound(reading.lasted_s) and reading.lasted_s >= DEMAND_S
        words = (
            "The measured-demand method cannot pass: what was read asks for more than "
            "the rating"
        )
        words += "." if lasted else ", once it lasts 15 minutes."
    elif bounds:
        words = (
            f"With every large load running the higher leg drew {higher_a:g} A; the "
            "house as it is hardly draws more. It is no record in the sense of the "
            "code and never says yes."
        )
    else:
        words = (
            "It shows what the house has drawn, not what it can draw: thermostats "
            "cycle and seasons differ. It never says yes."
        )
    return f"{words} {neutral}".rstrip()


def _why_not(legs: list[float], not_seen: tuple[str, ...]) -> str:
    one_leg = ("the other leg was not read",) if len(legs) < 2 else ()
    return "; ".join((*one_leg, *not_seen))


def _not_seen(reading: SpotReading, plan: Plan, loads: LoadList) -> tuple[str, ...]:
    """Return what keeps a reading from bounding the demand from above."""
    found = []
    listed = plan.dwelling.loads_complete
    if listed is None or listed.value is not True:
        found.append("the plan does not say that every large load is listed")
    idle = [each for each in _large(loads) if each not in reading.running]
    if idle:
        found.append(f"not said to have run: {', '.join(idle)}")
    if not sound(reading.lasted_s):
        found.append("not said for how long it was watched")
    elif reading.lasted_s < SETTLED_S:
        found.append(f"watched for less than {SETTLED_S / 60:g} minutes")
    return tuple(found)


def _large(loads: LoadList) -> list[str]:
    """Return the existing loads that matter, of heating and cooling the larger."""
    new = {each.id for each in loads.proposed}
    heating = loads.heating
    cools = heating.connected_cooling_va >= heating.connected_heating_va
    cooling = ("central cooling", "room cooling")
    members: tuple[Counted, ...] = (
        *loads.appliances,
        *loads.vehicles,
        *(each for each in loads.hvac if (each.kind in cooling) is cools),
    )
    return [each.id for each in members if each.va >= LARGE_VA and each.id not in new]


def _balance(reading: SpotReading) -> tuple[Line, ...]:
    """Return how the legs differ, and what the neutral should carry for it."""
    leg_a_a, leg_b_a = reading.leg_a_a, reading.leg_b_a
    if not sound(leg_a_a) or not sound(leg_b_a):
        return ()
    lines = [
        Line("lower leg", min(leg_a_a, leg_b_a), "A", source="plan, the same reading")
    ]
    if leg_a_a + leg_b_a > 0:
        lines.append(
            Line(
                "imbalance of the legs",
                abs(leg_a_a - leg_b_a) / (leg_a_a + leg_b_a),
                "",
                "|A − B| ÷ (A + B)",
                f"{abs(leg_a_a - leg_b_a):g} A ÷ {leg_a_a + leg_b_a:g} A",
            )
        )
    if sound(reading.neutral_a):
        lines += [
            Line(
                "neutral, from the legs",
                abs(leg_a_a - leg_b_a),
                "A",
                "|A − B|",
                source="loads of one power factor and no harmonics",
            ),
            Line("neutral, as read", reading.neutral_a, "A", source="plan"),
        ]
    return tuple(lines)


def _neutral_words(reading: SpotReading) -> str:
    """Return what the neutral's current says of the reading; empty if nothing."""
    legs = (reading.leg_a_a, reading.leg_b_a)
    if not sound(legs[0]) or not sound(legs[1]) or not sound(reading.neutral_a):
        return ""
    fraction = reading.accuracy_fraction
    share = fraction if sound(fraction) and fraction > 0 else CLAMP_FRACTION
    expected_a = abs(legs[0] - legs[1])
    room_a = share * (legs[0] + legs[1] + reading.neutral_a) + CLAMP_A
    if abs(reading.neutral_a - expected_a) <= room_a:
        return "The neutral's current agrees with the legs."
    side = "more" if reading.neutral_a > expected_a else "less"
    why = (
        "something changed between the readings, or loads with harmonics"
        if side == "more"
        else "something changed between the readings, or current returns beside the "
        "neutral, as over a ground or a pipe: have that looked at"
    )
    return (
        f"The neutral carried {reading.neutral_a:g} A, {side} than the "
        f"{expected_a:g} A by which the legs differ: {why}."
    )
