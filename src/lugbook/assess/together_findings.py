"""House and charging together: findings, working and assumptions in words."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil, floor
from typing import TYPE_CHECKING

from lugbook.assess.assessment import Assumption
from lugbook.finding import (
    NARROW_FRACTION,
    Citation,
    Comparison,
    Finding,
    Line,
    Outcome,
    Weight,
    Working,
    compare,
)

if TYPE_CHECKING:
    from lugbook.assess.need import Need
    from lugbook.assess.together import LimitRow, TogetherRow
    from lugbook.demand.cleaning import Record
    from lugbook.premises.plan import Plan

__all__ = [
    "TogetherBasis",
    "together_assumptions",
    "together_findings",
    "together_working",
]

_YEAR_DAYS = 365
_HARD = "A schedule is not a guarantee: only a hard limit is."


@dataclass(frozen=True, slots=True)
class TogetherBasis:
    """The record and the limits that house and charging are counted by.

    Args:
        file: Name of the record's file. [-]
        interval_s: Usual length of its readings. [s]
        days: Days it speaks of. [days]
        evenings: Evenings from its beginning to its end. [-]
        years: Years it is divided by; 1 where it is shorter. [-]
        replays: Replays where something is drawn by lot. [-]
        seed: Start of the draw. [-]
        has_legs: Whether each leg was recorded. [-]
        voltage_v: Nominal voltage from leg to leg. [V]
        rating_a: Service rating. [A]
        rating_is_least_known: Whether a part of it is still unknown. [-]
        continuous_a: Share of it that may flow for hours. [A]
        continuous_hours: After how many. [h]
        continuous_citation: Where that is printed. [-]
        house_highest_a: Highest of the house alone, least and most. [A]
        house_over_80: Quarter hours a year of the house alone over that share. [-]
        limit_a: Limit that a device keeps house and charger under. [A]
        limit_is_stated: Whether the plan states it. [-]
        smallest_a: Least current a car can be offered. [A]
        fallback_a: Current all members fall back to; None if not stated. [A]
        late_by_s: How late the device of the example acts. [s]
        accepted: Mornings a year the cars may leave short, all together. [-]
        serving_a: Smallest setting that serves a whole year; None: none does. [A]
    """

    file: str
    interval_s: int
    days: float
    evenings: int
    years: float
    replays: int
    seed: int
    has_legs: bool
    voltage_v: float
    rating_a: float
    rating_is_least_known: bool
    continuous_a: float
    continuous_hours: float
    continuous_citation: Citation
    house_highest_a: tuple[float, float]
    house_over_80: tuple[float, float]
    limit_a: float
    limit_is_stated: bool
    smallest_a: float
    fallback_a: float | None
    late_by_s: int
    accepted: float
    serving_a: float | None


def together_findings(
    need: Need,
    basis: TogetherBasis,
    rows: Sequence[TogetherRow],
    limit_rows: Sequence[LimitRow],
    plan: Plan,
) -> tuple[Finding, ...]:
    """What follows for the setting asked for, charging as soon as plugged in.

    Args:
        need: What the cars need. [-]
        basis: The record and the limits. [-]
        rows: Every setting under every rule. [-]
        limit_rows: Every setting with a limit kept. [-]
        plan: The house. [-]

    Returns:
        Findings, all of them advice; none where no setting is asked for. [-]
    """
    row = next((each for each in rows if each.setting_a == need.asked_a), None)
    limit = next((r for r in limit_rows if r.setting_a == need.asked_a), None)
    if row is None or limit is None:
        return ()
    found = [_over_rating(basis, row), _over_80(basis, row)]
    found.append(_limit(basis, limit))
    if plan.load_management is not None:
        found.append(_lost_sensor(basis))
    return tuple(found)


def _compared(pair: tuple[float, float], limit: float) -> Comparison:
    """Compare the least that a record allows; narrow as long as the most is."""
    least, most = pair
    return compare(
        found=least,
        limit=limit,
        uncertainty=most - least + NARROW_FRACTION * limit,
    )


def _over_rating(basis: TogetherBasis, row: TogetherRow) -> Finding:
    least_a, most_a = row.highest_a
    compared = _compared(row.highest_a, basis.rating_a)
    said = (
        f"Nights over {basis.rating_a:g} A a year, at most: "
        f"{row.nights_over_100[1]:.3g}, with {row.excess_kwh[1]:.2g} kWh over it; "
        f"highest {ceil(least_a)} to {ceil(most_a)} A. {_HARD}"
    )
    return Finding(
        id="together.over_rating",
        question="Would house and charger together have stayed within the rating?",
        outcome=compared.outcome,
        weight=Weight.ADVICE,
        found=least_a,
        limit=basis.rating_a,
        unit="A",
        margin=compared.margin,
        next="" if compared.outcome is Outcome.MEETS else said,
        working=Working(
            f"House and charger at {row.setting_a:g} A, started at once",
            (
                Line("highest, legs alike", least_a, "A"),
                Line("highest, legs apart", most_a, "A"),
                Line("service rating", basis.rating_a, "A", source="service rating"),
                Line("nights over it, at most", row.nights_over_100[1]),
                Line(
                    "chance of one in a year, at most",
                    row.chance_over_100_fraction[1],
                    "",
                    "1 − exp(−nights)",
                    f"1 − exp(−{row.nights_over_100[1]:.4g})",
                ),
            ),
        ),
    )


def _over_80(basis: TogetherBasis, row: TogetherRow) -> Finding:
    least_h, most_h = row.longest_over_80_h
    compared = _compared(row.longest_over_80_h, basis.continuous_hours)
    said = (
        f"{row.quarters_over_80[0]:.0f} to {row.quarters_over_80[1]:.0f} quarter "
        f"hours over {basis.continuous_a:g} A, the longest {most_h:.3g} h. Lower the "
        "setting, start later, or have a device limit both."
    )
    return Finding(
        id="together.over_80",
        question=(
            "Would house and charger together have been over the share of the rating "
            "that may flow for hours only for less than those hours?"
        ),
        outcome=compared.outcome,
        weight=Weight.ADVICE,
        found=least_h,
        limit=basis.continuous_hours,
        unit="h",
        margin=compared.margin,
        citation=basis.continuous_citation,
        next=said if row.quarters_over_80[1] > 0 else "",
    )


def _limit(basis: TogetherBasis, row: LimitRow) -> Finding:
    compared = compare(found=row.mornings_missed, limit=basis.accepted, kind="series")
    kept = f"{basis.limit_a:g} A"
    said = (
        f"Kept under {kept}, the charger gives {100 * row.served_fraction:.1f} % of "
        f"the energy and misses {row.mornings_missed:.3g} mornings a year."
    )
    if not basis.limit_is_stated:
        said += " No such device is stated; this is what one would do."
    return Finding(
        id="together.limit",
        question="With a device that keeps both under a limit, are the cars ready?",
        outcome=compared.outcome,
        weight=Weight.ADVICE,
        found=row.mornings_missed,
        limit=basis.accepted,
        unit="mornings",
        margin=compared.margin,
        next=said,
    )


def _lost_sensor(basis: TogetherBasis) -> Finding:
    # Safe or not is asked of the most that the record allows.
    most_a, fallback_a = basis.house_highest_a[1], basis.fallback_a
    found_a = None if fallback_a is None else most_a + fallback_a
    compared = compare(found=found_a, limit=basis.rating_a)
    room_a = max(0.0, basis.rating_a - most_a)
    return Finding(
        id="together.lost_sensor",
        question=(
            "With its sensor lost, does the current it falls back to fit on top of "
            "the house's recorded maximum?"
        ),
        outcome=compared.outcome,
        weight=Weight.ADVICE,
        found=found_a,
        limit=basis.rating_a,
        unit="A",
        margin=compared.margin,
        next=(
            ""
            if compared.outcome is Outcome.MEETS
            else f"Have it fall back to {floor(room_a)} A or less in all; none is best."
        ),
    )


def together_working(
    need: Need, basis: TogetherBasis, rows: Sequence[TogetherRow], governs: str
) -> Working:
    """The numbers the counts rest on, and the closed form beside the replay.

    Args:
        need: What the cars need. [-]
        basis: The record and the limits. [-]
        rows: Every setting under every rule. [-]
        governs: Name of the part that sets the rating. [-]

    Returns:
        The working. [-]
    """
    lines = [
        Line("days recorded", basis.days, "days", source=basis.file),
        Line("service rating", basis.rating_a, "A", source=governs),
        Line(
            "share that may flow for hours",
            basis.continuous_a,
            "A",
            "fraction × rating",
            f"{basis.continuous_a / basis.rating_a:g} × {basis.rating_a:g} A",
            basis.continuous_citation,
        ),
        Line("house alone, legs alike", basis.house_highest_a[0], "A"),
        Line("house alone, legs apart", basis.house_highest_a[1], "A"),
    ]
    for row in rows:
        if row.setting_a not in (need.asked_a, need.smallest_setting_a):
            continue
        for limit_a, replayed, independent in (
            (basis.continuous_a, row.quarters_over_80, row.independent_over_80),
            (basis.rating_a, row.quarters_over_100, row.independent_over_100),
        ):
            lines.append(
                Line(
                    f"{row.setting_a:g} A {row.rule.replace('_', ' ')}, quarter hours "
                    f"over {limit_a:g} A, legs apart",
                    replayed[1],
                    "",
                    "counted in the replay",
                    f"closed form, house and car independent: {independent[1]:.4g}",
                )
            )
    return Working("House and charging together", tuple(lines))


def together_assumptions(
    basis: TogetherBasis, record: Record
) -> tuple[Assumption, ...]:
    """What was taken as given.

    Args:
        basis: The record and the limits. [-]
        record: The house's record. [-]

    Returns:
        Assumptions. [-]
    """
    found = [
        Assumption(
            "together.as_recorded",
            "The house goes on as it was recorded, and the cars as stated.",
            "a chance drawn from one record; no test of the code",
        ),
        Assumption(
            "together.replays",
            f"Long days are drawn {basis.replays} times from seed {basis.seed}, the "
            "same for every setting and rule; where there are none, one replay is all.",
            "counts are means of the replays; highest and longest are of any of them",
        ),
        Assumption(
            "together.power_factor",
            "The house's power factor is 0.95, the charger's current adds to the "
            "house's in full.",
            "common practice, no source; errs high for resistive loads",
        ),
        Assumption(
            "together.even_power",
            "A car draws the setting until its night's energy is given.",
            "near full it takes less for longer; errs high on current",
        ),
    ]
    if not basis.has_legs:
        found.append(
            Assumption(
                "together.legs",
                "The record gives both legs together: the first of two numbers is for "
                "legs alike, the second for an imbalance of 0.2.",
                "common practice, no source; two clamps for a month remove it",
            )
        )
    if record.interval_s > 900:
        found.append(
            Assumption(
                "together.coarse",
                "Each reading is given a quarter hour above its mean by the central "
                "factor (first number) or the covering one (second), and the rest "
                "below it.",
                "the record is coarser than 15 minutes; a logger removes it",
            )
        )
    if basis.days < _YEAR_DAYS - 1:
        found.append(
            Assumption(
                "together.season",
                f"Counts are of the {basis.days:.0f} days recorded, not of a year.",
                "a season that was not recorded is not foreseen",
            )
        )
    if basis.rating_is_least_known:
        found.append(
            Assumption(
                "together.rating",
                f"The service rating is {basis.rating_a:g} A, the least known part.",
                "a part is still unknown and may be less",
            )
        )
    if record.flows_back:
        found.append(
            Assumption(
                "together.own_source",
                "What the meter shows is what the house draws.",
                "it has a source of its own: by day the house draws more; errs low",
            )
        )
    return tuple(found)
