"""What is known of the house's demand from measurement, in inside units."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

__all__ = ["Evidence", "MeterRecord", "SpotReading", "StatedDemand", "UnreadFile"]


@dataclass(frozen=True, slots=True)
class SpotReading:
    """Currents at the service at one moment.

    Args:
        id: Name of the reading in the plan or record. [-]
        leg_a_a: Current of leg A. [A]
        leg_b_a: Current of leg B. [A]
        running: Loads that ran then. [-]
        neutral_a: Current of the neutral. [A]
        lasted_s: For how long it was watched. [s]
        accuracy_fraction: Accuracy of the instrument. [-]
    """

    id: str
    leg_a_a: float | None
    leg_b_a: float | None
    running: tuple[str, ...]
    neutral_a: float | None = None
    lasted_s: float | None = None
    accuracy_fraction: float | None = None


@dataclass(frozen=True, slots=True)
class StatedDemand:
    """A demand record as somebody stated it; None is unknown.

    Args:
        maximum_va: Highest average of the record, as stated. [VA]
        maximum_a: The same as a current, if it was recorded as one. [A]
        power_factor_fraction: Stated power factor, where the maximum is real power. [-]
        days: Length of the record. [days]
        last_day: Last day of the record. [-]
        window_s: Averaging time of each value. [s]
        continuous: Whether the record has no gaps. [-]
        highest_loaded_leg: Whether the leg with the higher load was recorded. [-]
        occupied: Whether the house was lived in. [-]
        seasonal_loads_included: Whether the season held the larger of heating and
            cooling. [-]
        seasonal_load_added_va: What was added for it by calculation. [VA]
        peak_shaved: Whether a battery or a controller held the peaks down. [-]
        power_factor_assumed: Whether real power is taken as apparent power. [-]
    """

    maximum_va: float | None
    maximum_a: float | None
    power_factor_fraction: float | None
    days: float | None
    last_day: date | None
    window_s: float | None
    continuous: bool | None
    highest_loaded_leg: bool | None
    occupied: bool | None
    seasonal_loads_included: bool | None
    seasonal_load_added_va: float | None
    peak_shaved: bool | None = None
    power_factor_assumed: bool = False


@dataclass(frozen=True, slots=True)
class MeterRecord:
    """What one meter file shows of the house's demand.

    Args:
        name: Name of the file, as the plan gives it. [-]
        first_s: Start of its first reading, seconds since 1970 UTC. [s]
        span_s: Time from there to the end of the last. [s]
        covered_s: Time with readings. [s]
        longest_gap_s: Its longest hole. [s]
        long_gaps: Holes of over an hour. [-]
        interval_s: Usual duration of a reading. [s]
        recorded_w: Highest average of one reading. [W]
        recorded_at_s: Start of that reading. [s]
        is_measured: False where every reading is an estimate. [-]
        witnesses: Readings within 5 % of it. [-]
        central_w: 15-minute maximum it stands for, in the middle. [W]
        covering_w: The same, covering 95 of 100. [W]
        equivalent_how: How these two were found. [-]
        leg_a_w: Highest average of leg A, where the legs were recorded. [W]
        leg_b_w: The same of leg B. [W]
        imbalance_fraction: Difference of the legs over their sum at the maximum. [-]
        flows_back: Whether energy also flows to the grid. [-]
        one_year_w: Level reached once a year, where the record supports one. [W]
        ten_year_w: Level reached once in ten years. [W]
        asks: What the file leaves for a person to tell. [-]
    """

    name: str
    first_s: int
    span_s: int
    covered_s: int
    longest_gap_s: int
    long_gaps: int
    interval_s: int
    recorded_w: float
    recorded_at_s: int
    is_measured: bool
    witnesses: int
    central_w: float
    covering_w: float
    equivalent_how: str
    leg_a_w: float | None = None
    leg_b_w: float | None = None
    imbalance_fraction: float | None = None
    flows_back: bool = False
    one_year_w: float | None = None
    ten_year_w: float | None = None
    asks: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class UnreadFile:
    """A meter file the plan names that could not be used.

    Args:
        path: The file, as the plan gives it. [-]
        why: Why, in one sentence. [-]
    """

    path: str
    why: str


@dataclass(frozen=True, slots=True)
class Evidence:
    """All that was measured and belongs to the question.

    Args:
        spot_readings: Clamp readings. [-]
        demand: What somebody stated of a demand record; None if nothing. [-]
        meters: What the meter files show. [-]
        unread: Those that could not be used. [-]
    """

    spot_readings: tuple[SpotReading, ...] = ()
    demand: StatedDemand | None = None
    meters: tuple[MeterRecord, ...] = ()
    unread: tuple[UnreadFile, ...] = ()
