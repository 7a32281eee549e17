"""The record of demand as the rules look at it: what files show, what a plan states.

What a meter file shows goes before what the plan says of it; what no file can show
comes from the plan. Of two maxima the larger counts.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TypeGuard

from lugbook.demand.factors import leg_range
from lugbook.readings.evidence import Evidence, MeterRecord, StatedDemand

__all__ = ["MeasuredRecord", "combined", "measured_record", "sound"]

DAY_S, HOUR_S = 86400, 3600
LEG_V = 120.0  # nominal, leg to neutral, of both systems judged here
WHOLE_FRACTION = 0.95  # read, to count as whole: our own decision, data.md 1.8 step 5
# Questions of a file that, answered otherwise, would change its maximum.
_ABOUT_MAXIMUM = ("scale", "unit", "point", "columns", "leg", "peak")


@dataclass(frozen=True, slots=True)
class MeasuredRecord:
    """A record of demand, each fact with what it was taken from.

    Args:
        name: Name of the file or files; empty for a record only stated. [-]
        recorded_va: Highest average as it was recorded, a lower bound. [VA]
        central_va: 15-minute maximum it stands for, in the middle. [VA]
        covering_va: The same, covering 95 of 100. [VA]
        how: How these were found. [-]
        maximum_source: What the maximum was taken from. [-]
        span_least_factor: Higher leg over the even share, at the least. [-]
        span_most_factor: The same at the most, power factor included. [-]
        legs_said: Where that span comes from. [-]
        days: Length of the record. [days]
        days_source: What it was taken from. [-]
        window_s: Averaging time. [s]
        window_source: What it was taken from. [-]
        continuous: Whether it is without a gap that counts. [-]
        continuous_found: The same in words. [-]
        highest_leg: Whether the higher leg's current is known. [-]
        occupied: Whether the house was lived in. [-]
        seasonal_loads_included: Whether the season held heating or cooling. [-]
        seasonal_load_added_va: What was added for it. [VA]
        peak_shaved: Whether a source held the peaks down. [-]
        flows_back: Whether the meter saw energy flow to the grid. [-]
        doubts: Why its maximum is in doubt. [-]
        one_year_va: Level reached once a year, where the record supports one. [VA]
        ten_year_va: Level reached once in ten years. [VA]
    """

    name: str
    recorded_va: float | None
    central_va: float | None
    covering_va: float | None
    how: str
    maximum_source: str
    span_least_factor: float
    span_most_factor: float
    legs_said: str
    days: float | None
    days_source: str
    window_s: float | None
    window_source: str
    continuous: bool | None
    continuous_found: str
    highest_leg: bool | None
    occupied: bool | None
    seasonal_loads_included: bool | None
    seasonal_load_added_va: float | None
    peak_shaved: bool | None
    flows_back: bool = False
    doubts: tuple[str, ...] = ()
    one_year_va: float | None = None
    ten_year_va: float | None = None

    @property
    def is_of_file(self) -> bool:
        """Return whether it rests on a meter file."""
        return bool(self.name)


def measured_record(evidence: Evidence, voltage_v: float) -> MeasuredRecord | None:
    """The record of demand that belongs to a house.

    Args:
        evidence: What was measured. [-]
        voltage_v: Nominal voltage between the legs. [V]

    Returns:
        The record; None where there is neither a file nor a statement. [-]
    """
    stated = evidence.demand
    if not evidence.meters:
        return None if stated is None else _stated_alone(stated, voltage_v)
    return _of_files(evidence.meters, stated, voltage_v)


def combined(meters: Sequence[MeterRecord]) -> MeterRecord:
    """Several records of one meter as one.

    Time that two of them hold is counted once, time between them is a gap, the higher
    maximum counts, and the coarser interval.

    Args:
        meters: At least one. [-]

    Returns:
        The record; the one given where there is one. [-]
    """
    if len(meters) == 1:
        return meters[0]
    ordered = sorted(meters, key=lambda each: each.first_s)
    highest = max(ordered, key=lambda each: each.central_w)
    end_s = ordered[0].first_s
    covered_s = longest_s = gaps = 0
    for each in ordered:
        between_s = each.first_s - end_s
        longest_s = max(longest_s, each.longest_gap_s, between_s)
        gaps += each.long_gaps + (between_s > HOUR_S)
        covered_s += max(0, each.covered_s - max(0, -between_s))
        end_s = max(end_s, each.first_s + each.span_s)
    legs = all(each.leg_a_w is not None for each in ordered)
    return MeterRecord(
        name=", ".join(each.name for each in ordered),
        first_s=ordered[0].first_s,
        span_s=end_s - ordered[0].first_s,
        covered_s=covered_s,
        longest_gap_s=longest_s,
        long_gaps=gaps,
        interval_s=max(each.interval_s for each in ordered),
        recorded_w=max(each.recorded_w for each in ordered),
        recorded_at_s=highest.recorded_at_s,
        is_measured=all(each.is_measured for each in ordered),
        witnesses=highest.witnesses,
        central_w=highest.central_w,
        covering_w=max(each.covering_w for each in ordered),
        equivalent_how=highest.equivalent_how,
        leg_a_w=max(each.leg_a_w or 0.0 for each in ordered) if legs else None,
        leg_b_w=max(each.leg_b_w or 0.0 for each in ordered) if legs else None,
        imbalance_fraction=highest.imbalance_fraction if legs else None,
        flows_back=any(each.flows_back for each in ordered),
        asks=tuple(f"{each.name}, {ask}" for each in ordered for ask in each.asks),
    )


def sound(number: float | None) -> TypeGuard[float]:
    """Whether a measured number is there, finite and not below zero.

    Args:
        number: The number. [any unit]

    Returns:
        True if so. [-]
    """
    if number is None or isinstance(number, bool):
        return False
    return math.isfinite(number) and number >= 0


def _of_files(
    meters: Sequence[MeterRecord], stated: StatedDemand | None, voltage_v: float
) -> MeasuredRecord:
    meter = combined(meters)
    complete = meter.covered_s / meter.span_s if meter.span_s else 0.0
    is_whole = complete >= WHOLE_FRACTION
    counted_s = meter.span_s if is_whole else meter.covered_s
    factor = _factor(stated)
    least, most, legs_said = _span(meter.imbalance_fraction, factor)
    has_legs = meter.leg_a_w is not None and meter.leg_b_w is not None
    sources = [meter.name]
    amounts_va = [
        _va(each_w, meter, factor, voltage_v)
        for each_w in (meter.recorded_w, meter.central_w, meter.covering_w)
    ]
    if has_legs:
        least, most = (
            1.0,
            1.0 if factor else most / (1 + (meter.imbalance_fraction or 0)),
        )
        legs_said = "the file holds both legs; the higher one is taken"
    stated_va = None if stated is None else _maximum_va(stated, voltage_v)
    if stated_va is not None and stated_va > amounts_va[1]:
        amounts_va = [stated_va] * 3
        sources = ["plan, demand_record, which states more than the file"]
    added_va = stated.seasonal_load_added_va if stated else None
    if sound(added_va):
        amounts_va = [each + added_va for each in amounts_va]
    hours = meter.longest_gap_s / HOUR_S
    return MeasuredRecord(
        name=meter.name,
        recorded_va=amounts_va[0],
        central_va=amounts_va[1],
        covering_va=amounts_va[2],
        how=meter.equivalent_how,
        maximum_source=sources[0],
        span_least_factor=least,
        span_most_factor=most,
        legs_said=legs_said,
        days=counted_s / DAY_S,
        days_source=meter.name,
        window_s=float(max(900, meter.interval_s)),
        window_source=meter.name,
        continuous=is_whole and (counted_s >= 300 * DAY_S or not meter.long_gaps),
        continuous_found=(
            f"{complete * 100:.4g} % read, longest gap {hours:.3g} h"
            if meter.longest_gap_s
            else f"{complete * 100:.4g} % read"
        ),
        highest_leg=(
            True
            if has_legs
            else bool(stated and stated.highest_loaded_leg and sound(stated.maximum_a))
            or None
        ),
        occupied=stated.occupied if stated else None,
        seasonal_loads_included=stated.seasonal_loads_included if stated else None,
        seasonal_load_added_va=added_va,
        peak_shaved=stated.peak_shaved if stated else None,
        flows_back=meter.flows_back,
        doubts=_doubts(meter),
        one_year_va=_power_va(meter.one_year_w, factor),
        ten_year_va=_power_va(meter.ten_year_w, factor),
    )


def _doubts(meter: MeterRecord) -> tuple[str, ...]:
    doubts = [
        each
        for each in meter.asks
        if each.partition(":")[0].rpartition(", ")[2] in _ABOUT_MAXIMUM
    ]
    if not meter.is_measured:
        doubts.append("every reading is an estimate")
    if meter.recorded_w <= 0:
        doubts.append("nothing was drawn at all")
    return tuple(doubts)


def _va(
    power_w: float, meter: MeterRecord, factor: float | None, voltage_v: float
) -> float:
    """Return the load a power stands for, by the higher leg where it is known."""
    whole_va = power_w / (factor or 1.0)
    if meter.leg_a_w is None or meter.leg_b_w is None or not meter.recorded_w:
        return whole_va
    higher_w = max(meter.leg_a_w, meter.leg_b_w) * power_w / meter.recorded_w
    return max(whole_va, higher_w / (factor or 1.0) / LEG_V * voltage_v)


def _power_va(power_w: float | None, factor: float | None) -> float | None:
    return None if power_w is None else power_w / (factor or 1.0)


def _factor(stated: StatedDemand | None) -> float | None:
    """Return a power factor somebody stated; nothing is divided by nothing."""
    return (stated.power_factor_fraction or None) if stated else None


def _span(
    imbalance_fraction: float | None, factor: float | None
) -> tuple[float, float, str]:
    """Return the higher leg's current over the even share of kW taken as kVA."""
    legs = leg_range(
        power_w=1.0,
        voltage_v=1.0,
        # A power factor somebody stated is in the load already.
        power_factor_fraction=1.0 if factor else None,
        imbalance_fraction=imbalance_fraction,
    )
    words = (
        "imbalance unknown: 0 to 0.2, common practice, no source"
        if imbalance_fraction is None
        else "imbalance recorded at the maximum"
    )
    if factor is None:
        words += "; power factor 0.95 to 1, as nobody measured amperes"
    least = 1.0 if imbalance_fraction is None else 1.0 + imbalance_fraction
    return least, legs.most_a, words


def _stated_alone(stated: StatedDemand, voltage_v: float) -> MeasuredRecord:
    maximum_va = _maximum_va(stated, voltage_v)
    added_va = stated.seasonal_load_added_va or 0.0
    if maximum_va is not None:
        maximum_va = maximum_va + added_va if sound(added_va) else None
    in_amperes = sound(stated.maximum_a)
    in_power = stated.power_factor_fraction or not stated.power_factor_assumed
    least, most, legs_said = (
        (1.0, 1.0, "amperes of the higher leg are stated")
        if in_amperes
        else _span(None, 1.0 if in_power else None)
    )
    whole = stated.continuous if isinstance(stated.continuous, bool) else None
    found = {True: "without a gap", False: "with gaps"}
    return MeasuredRecord(
        name="",
        recorded_va=maximum_va,
        central_va=maximum_va,
        covering_va=maximum_va,
        how="as stated",
        maximum_source="plan, demand_record",
        span_least_factor=least,
        span_most_factor=most,
        legs_said=legs_said,
        days=stated.days,
        days_source="plan, demand_record",
        window_s=stated.window_s,
        window_source="plan, demand_record.averaged_over",
        continuous=whole,
        continuous_found="" if whole is None else f"stated to be {found[whole]}",
        highest_leg=(stated.highest_loaded_leg if in_amperes else None),
        occupied=stated.occupied,
        seasonal_loads_included=stated.seasonal_loads_included,
        seasonal_load_added_va=stated.seasonal_load_added_va,
        peak_shaved=stated.peak_shaved,
    )


def _maximum_va(record: StatedDemand, voltage_v: float) -> float | None:
    """Return the record's maximum, the larger where it is stated twice."""
    ways = [
        record.maximum_a * voltage_v if sound(record.maximum_a) else None,
        (
            record.maximum_va / record.power_factor_fraction
            if sound(record.maximum_va) and record.power_factor_fraction
            else record.maximum_va
        ),
    ]
    # A house that drew nothing for a month has no record, whatever its zeros say.
    stated = [each for each in ways if sound(each) and each > 0]
    return max(stated) if stated else None
