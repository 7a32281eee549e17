"""What a person can do; pages and terminal both call these and nothing below."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import TypeVar

from lugbook.assess.assessment import Assessment
from lugbook.assess.spine import assess
from lugbook.codebook.edition import Edition, amendments, editions, open_edition
from lugbook.errors import BookError, Fault, InputError
from lugbook.premises.evidence import DemandRecord
from lugbook.premises.plan import Plan, read_plan
from lugbook.premises.stated import Stated
from lugbook.readings.evidence import Evidence, SpotReading, StatedDemand

__all__ = ["check", "evidence_of", "rules_for"]

T = TypeVar("T")


def check(
    path: Path,
    *,
    edition: str | None = None,
    setting_a: float | None = None,
    on: date | None = None,
) -> Assessment:
    """The assessment of a plan file.

    Args:
        path: The plan file. [-]
        edition: Edition to judge by instead of the plan's own. [-]
        setting_a: Setting to judge instead of the plan's own. [A]
        on: The day; today if left out. [-]

    Returns:
        The assessment. [-]

    Raises:
        InputError: The plan holds faults, or no edition is known.
    """
    plan = read_plan(path)
    return assess(
        plan,
        evidence_of(plan),
        rules_for(plan, edition),
        on or date.today(),
        setting_a=setting_a,
    )


def rules_for(plan: Plan, edition: str | None = None) -> Edition:
    """The edition a plan is judged by, with its local amendments.

    Args:
        plan: The house. [-]
        edition: Edition that goes before the plan's own. [-]

    Returns:
        The edition. [-]

    Raises:
        InputError: No edition is stated, or one is stated that is not held.
    """
    year = edition or plan.rules.edition
    if year is None:
        raise InputError(
            Fault(
                "rules.edition",
                "missing",
                ", ".join(editions()),
                "Ask the building department which edition is adopted, or try "
                "--edition.",
            )
        )
    if year not in editions():
        raise InputError(Fault("edition", repr(year), ", ".join(editions())))
    for name in plan.rules.amendments:
        if name not in amendments():
            held = ", ".join(amendments()) or "none are held yet"
            raise InputError(Fault("rules.amendments", repr(name), held))
    try:
        return open_edition(year, amended_by=plan.rules.amendments)
    except BookError as error:
        raise InputError(
            Fault("rules.amendments", str(error), f"amendments made for {year}")
        ) from error


def evidence_of(plan: Plan) -> Evidence:
    """What a plan states of measurements, in inside units.

    Args:
        plan: The house. [-]

    Returns:
        The evidence. [-]
    """
    spots = tuple(
        SpotReading(
            id=reading.id,
            leg_a_a=reading.leg_a.value if reading.leg_a else None,
            leg_b_a=reading.leg_b.value if reading.leg_b else None,
            running=reading.running,
        )
        for reading in plan.clamp_readings
    )
    record = plan.demand_record
    return Evidence(spots, _stated_demand(record) if record else None)


def _stated_demand(record: DemandRecord) -> StatedDemand:
    days = record.days.value if record.days else None
    if days is None and record.from_day and record.to_day:
        days = (record.to_day - record.from_day).days + 1
    maximum = record.maximum
    in_watts = maximum is not None and maximum.text.rstrip().upper().endswith("W")
    factor = record.power_factor.value if record.power_factor else None
    return StatedDemand(
        maximum_va=_value(record.maximum),
        maximum_a=_higher_leg_a(record),
        power_factor_fraction=factor if in_watts else None,
        days=days,
        last_day=record.to_day,
        window_s=_value(record.averaged_over),
        continuous=_value(record.continuous),
        highest_loaded_leg=_value(record.highest_loaded_leg),
        occupied=_value(record.occupied),
        seasonal_loads_included=_value(record.seasonal_loads_included),
        seasonal_load_added_va=_value(record.seasonal_load_added),
        peak_shaved=_value(record.peak_shaved),
        power_factor_assumed=in_watts and not factor,
    )


def _higher_leg_a(record: DemandRecord) -> float | None:
    """Return the higher leg's current, if it was named or both legs are stated."""
    legs = (_value(record.maximum_leg_a), _value(record.maximum_leg_b))
    both = [leg for leg in legs if leg is not None]
    named = _value(record.maximum_current)
    if named is not None:
        return max([named, *both])
    return max(both) if len(both) == len(legs) else None


def _value(stated: Stated[T] | None) -> T | None:
    return None if stated is None else stated.value
