"""What a person can do; pages and terminal both call these and nothing below."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, TypeVar

from lugbook.assess.assessment import Assessment
from lugbook.assess.compare import (
    Comparison,
    PlannedLoad,
    compare_assessments,
    planned_loads,
    with_planned,
)
from lugbook.assess.sensitivity import Sensitivity
from lugbook.assess.sensitivity import what_would_change as vary
from lugbook.assess.spine import assess
from lugbook.codebook.edition import Edition, amendments, editions, open_edition
from lugbook.errors import BookError, Fault, InputError
from lugbook.premises.evidence import DemandRecord
from lugbook.premises.plan import LARGEST_PLAN_BYTES, Plan, read_plan
from lugbook.premises.stated import Stated
from lugbook.readings.evidence import (
    Evidence,
    MeterRecord,
    SpotReading,
    StatedDemand,
)

if TYPE_CHECKING:
    from lugbook.assess.capacity_measured import Condition
    from lugbook.assess.need import Need
    from lugbook.assess.options import Options
    from lugbook.assess.options_prices import Prices
    from lugbook.assess.parts import PartsList
    from lugbook.assess.together import Together

__all__ = [
    "Side",
    "check",
    "compare",
    "demand_conditions",
    "evidence_of",
    "need",
    "options",
    "parts",
    "rules_for",
    "together",
    "what_would_change",
]

T = TypeVar("T")
NOMINAL_V = 240.0  # of a house nobody has described yet


@dataclass(frozen=True, slots=True)
class Side:
    """One side of a comparison.

    Args:
        path: The plan file. [-]
        edition: Edition to judge by instead of the plan's own. [-]
        setting_a: Setting to judge instead of the plan's own. [A]
        planned: Whether every planned load is taken as there. [-]
    """

    path: Path
    edition: str | None = None
    setting_a: float | None = None
    planned: bool = False


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
        evidence_of(plan, path.parent),
        rules_for(plan, edition),
        on or date.today(),
        setting_a=setting_a,
    )


def what_would_change(
    path: Path,
    *,
    edition: str | None = None,
    setting_a: float | None = None,
    on: date | None = None,
) -> tuple[Sensitivity, tuple[PlannedLoad, ...]]:
    """What would change the answer to a plan file, and what its planned loads would.

    Args:
        path: The plan file. [-]
        edition: Edition to judge by instead of the plan's own. [-]
        setting_a: Setting to judge instead of the plan's own. [A]
        on: The day; today if left out. [-]

    Returns:
        The doubts ranked, and a row for each planned load. [-]

    Raises:
        InputError: The plan holds faults, or no edition is known.
    """
    plan = read_plan(path)
    rules, day = rules_for(plan, edition), on or date.today()
    evidence = partial(evidence_of, folder=path.parent)
    return (
        vary(plan, evidence, rules, day, setting_a),
        planned_loads(plan, evidence, rules, day, setting_a),
    )


def compare(first: Side, second: Side, *, on: date | None = None) -> Comparison:
    """What differs between the answers to two plans, editions or settings.

    Args:
        first: One side. [-]
        second: The other. [-]
        on: The day; today if left out. [-]

    Returns:
        The differences. [-]

    Raises:
        InputError: A plan holds faults, or no edition is known.
    """
    day = on or date.today()
    plans, found = [], []
    for side in (first, second):
        plan = read_plan(side.path)
        if side.planned:
            plan = with_planned(plan, tuple(load.id for load in plan.loads))
        rules = rules_for(plan, side.edition)
        evidence = evidence_of(plan, side.path.parent)
        plans.append(plan)
        found.append(assess(plan, evidence, rules, day, setting_a=side.setting_a))
    return compare_assessments(found[0], found[1], (plans[0], plans[1]))


def options(
    path: Path, *, edition: str | None = None, prices_path: Path | None = None
) -> Options:
    """Every lawful circuit on the run that a plan file states, and the best of them.

    Args:
        path: The plan file. [-]
        edition: Edition to judge by instead of the plan's own. [-]
        prices_path: A price list that goes before the plan's own. [-]

    Returns:
        What the search found. [-]

    Raises:
        InputError: The plan or the price list holds faults, or no edition is known.
    """
    # numpy is needed here and must not slow down what can do without.
    from lugbook.assess.options import search

    plan = read_plan(path)
    prices = _prices(plan, path, prices_path)
    evidence = evidence_of(plan, path.parent)
    return search(plan, evidence, rules_for(plan, edition), prices)


def need(path: Path, *, edition: str | None = None) -> Need:
    """How much charging current the cars of a plan file need.

    Args:
        path: The plan file. [-]
        edition: Edition to judge by instead of the plan's own. [-]

    Returns:
        The need. [-]

    Raises:
        InputError: The plan holds faults, or no edition is known.
    """
    # numpy is needed here and must not slow down what can do without.
    from lugbook.assess.need import need as needed

    plan = read_plan(path)
    return needed(plan, rules_for(plan, edition))


def together(path: Path, found: Need, *, edition: str | None = None) -> Together | None:
    """What happens when the house's record and the charging nights come together.

    Args:
        path: The plan file. [-]
        found: What its cars need, by `need`. [-]
        edition: Edition to judge by instead of the plan's own. [-]

    Returns:
        What happens; None where the plan names no meter file. [-]

    Raises:
        InputError: The plan holds faults, or no edition is known.
    """
    from lugbook.assess.together import together as laid_together
    from lugbook.assess.together import without_record
    from lugbook.demand.plan_files import longest_record

    plan = read_plan(path)
    if not plan.meter_files:
        return None
    longest, unread = longest_record(plan, path.parent)
    if longest is None:
        return without_record(unread)
    file, record = longest
    return laid_together(plan, rules_for(plan, edition), found, record, file=file)


def parts(
    path: Path,
    number: int,
    found: Options,
    *,
    edition: str | None = None,
    prices_path: Path | None = None,
    on: date | None = None,
) -> tuple[PartsList, Assessment]:
    """Parts, hours and papers of one option, and the assessment of a plan stating it.

    Args:
        path: The plan file. [-]
        number: The option's number. [-]
        found: What the search found in the same file. [-]
        edition: Edition to judge by instead of the plan's own. [-]
        prices_path: A price list that goes before the plan's own. [-]
        on: The day; today if left out. [-]

    Returns:
        Both. [-]

    Raises:
        InputError: There is no such option, or the price list holds faults.
    """
    from lugbook.assess.options_space import candidate_plan
    from lugbook.assess.parts import parts_of

    if not 1 <= number <= len(found.pareto):
        held = f"1 to {len(found.pareto)}" if found.pareto else "no option was found"
        raise InputError(Fault("--parts", str(number), held))
    plan = read_plan(path)
    rules, prices = rules_for(plan, edition), _prices(plan, path, prices_path)
    candidate = found.pareto[number - 1].candidate
    stated = candidate_plan(plan, candidate)
    return (
        parts_of(plan, rules, candidate, prices),
        assess(stated, evidence_of(stated, path.parent), rules, on or date.today()),
    )


def _prices(plan: Plan, path: Path, prices_path: Path | None) -> Prices:
    """Return the price list named, the plan's own, or the invented one shipped."""
    from lugbook.assess.options_prices import parse_prices, shipped_prices

    own = prices_path or (path.parent / plan.price_file if plan.price_file else None)
    if own is None:
        return shipped_prices()
    try:
        if own.stat().st_size > LARGEST_PLAN_BYTES:
            raise InputError(Fault(str(own), "larger than 1 MB", "a price list"))
        return parse_prices(own.read_text(encoding="utf-8"), name=own.name)
    except (OSError, ValueError) as error:
        given = getattr(error, "strerror", None) or "not UTF-8 text"
        raise InputError(
            Fault(str(own), f"cannot be read ({given})", "a price list you may read")
        ) from error


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
                "Ask the building department which edition is adopted; for a first "
                "look choose one, as in --edition 2023.",
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


def evidence_of(plan: Plan, folder: Path | None = None) -> Evidence:
    """What was measured of a house: stated in its plan, and in its meter files.

    Args:
        plan: The house. [-]
        folder: Folder of the plan file, beside which its meter files lie. [-]

    Returns:
        The evidence; a file that cannot be used is named in it. [-]
    """
    spots = tuple(
        SpotReading(
            id=reading.id,
            leg_a_a=reading.leg_a.value if reading.leg_a else None,
            leg_b_a=reading.leg_b.value if reading.leg_b else None,
            running=reading.running,
            neutral_a=_value(reading.neutral),
            lasted_s=_value(reading.lasted),
            accuracy_fraction=_value(reading.accuracy),
        )
        for reading in plan.clamp_readings
    )
    record = plan.demand_record
    demand = _stated_demand(record) if record else None
    if not plan.meter_files:
        return Evidence(spots, demand)
    # Plans without a meter file answer sooner without its readers.
    from lugbook.demand.plan_files import cache_folder, meter_records

    meters, unread = meter_records(plan, folder, cache=cache_folder())
    return Evidence(spots, demand, meters, unread)


def demand_conditions(record: MeterRecord) -> tuple[Condition, ...]:
    """What the code asks of a record of demand, by its newest edition held.

    Args:
        record: What a meter file shows. [-]

    Returns:
        Conditions; what no file can show is open. [-]
    """
    from lugbook.assess.capacity_measured import measured_conditions
    from lugbook.assess.measured_record import measured_record
    from lugbook.assess.service_rating import rate_service

    edition, nobody = open_edition(editions()[-1]), Plan(schema_version=1)
    found = measured_record(Evidence(meters=(record,)), NOMINAL_V)
    if found is None:
        return ()
    return measured_conditions(
        edition=edition,
        record=found,
        plan=nobody,
        rating=rate_service(nobody, edition),
    )


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
