"""What is known of the house's demand from measurement, in inside units."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

__all__ = ["Evidence", "SpotReading", "StatedDemand"]


@dataclass(frozen=True, slots=True)
class SpotReading:
    """Currents at the service at one moment.

    Args:
        id: Name of the reading in the plan or record. [-]
        leg_a_a: Current of leg A. [A]
        leg_b_a: Current of leg B. [A]
        running: Loads that ran then. [-]
    """

    id: str
    leg_a_a: float | None
    leg_b_a: float | None
    running: tuple[str, ...]


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
class Evidence:
    """All that was measured and belongs to the question."""

    spot_readings: tuple[SpotReading, ...] = ()
    demand: StatedDemand | None = None
