"""Whatever is taken out of a plan, nothing passes that the full plan does not allow.

Every field of four plans is taken out in turn. What still passes must stand in
`NOT_NEEDED` with the reason; and a row that passes may show no less than with the full
plan. Of the closest plan the fields that matter are taken out two by two as well.
"""

from __future__ import annotations

import fnmatch
import tomllib
from collections.abc import Iterator
from copy import deepcopy
from itertools import combinations
from pathlib import Path
from typing import Any

import pytest
from houses import ON, Tree, house, judged, load, plan_of, rows_of
from pydantic import ValidationError

from lugbook.assess.assessment import CapacityRow
from lugbook.assess.spine import assess
from lugbook.codebook.edition import open_edition
from lugbook.finding import Outcome
from lugbook.readings.evidence import Evidence, SpotReading, StatedDemand

PASSES = (Outcome.MEETS, Outcome.NARROW)
EXACT = 1e-9  # relative; rounding of binary fractions only
Path_ = tuple[str | int, ...]

# Fields a plan passes without, and why that is no hole.
NOT_NEEDED = {
    "name": "names nothing but the house",
    "*.name": "a word for people",
    "rules.edition": "given beside the plan here; without one the check is refused",
    "rules.place": "for the packet",
    "rules.who_works": "who works, not what is built",
    "dwelling.built": "no rule asks for the year",
    "dwelling.owner_occupied": "who works, not what is built",
    "dwelling.not_present": "loads_complete answers for it; only a record needs it",
    "service.voltage": "the system says it; here only a contradiction counts",
    "service.drop_kind": "not part of the rating",
    "service.emergency_disconnect": "asked only of a new service",
    "service.main.rating": "the panel's own main is stated and stands for it",
    "service.main.kind": "the rating counts, whatever it is",
    "service.main.interrupting_rating": "fault current, not capacity",
    "service.main.terminal_temperature": "75 °C assumed, and said",
    "service.conductor.insulation": "75 °C assumed, and said",
    "service.fault_current.*": "fault current, not capacity",
    "panels.0.main_rating": "the service's main is stated; a lower one only trips",
    "panels.0.*": "place and state of the panel, not its rating",
    "loads.*.motor_current": "then the whole load is taken as motor before it passes",
    "loads.*.voltage": "the plate's volt-amperes are stated beside it",
    "loads.*.fed_from": "the whole house is calculated, wherever a load hangs",
    "loads.*.leg": "the whole house is calculated, whichever leg",
    "loads.*.fastened_in_place": "not said, it counts whole, or its kind says it",
    "loads.*.continuous": "only the 125 % reading uses it, which never decides",
    "loads.*.nameplate": "the same plate's current is stated beside it",
    "loads.*.nameplate_current": "the same plate's volt-amperes are stated beside it",
    "loads.*.heats_while_compressor_runs": "not said, both run: the larger sum",
    "loads.*.controls": "not said, fewer units: the larger factor",
    "loads.*.count": "left out is one, as the plan file's page says",
    "loads.*.state": "left out is existing, as the plan file's page says",
    "charger.nameplate": "a setting that is restricted counts whatever the nameplate",
    "charger.setting": "then the nameplate is asked about",
    "charger.setting_steps": "then setting and nameplate are tried",
    "charger.voltage": "the service's voltage counts, or the label's if that is more",
    "charger.*": "judged or assumed with the circuit",
    "circuit.*": "left out it is sized, or judged by the tests of the circuit",
    "demand_record.power_factor": "one is assumed, and said",
    "demand_record.seasonal_loads_included": "a full year holds every season",
    "demand_record.occupied": "asked only of a short record",
    "demand_record.peak_shaved": "no source is there that could",
    "demand_record.from_whom": "for the packet",
    "meter_files": "the calculated methods pass without it; a row less, never one more",
    "cars.*": "need, not capacity",
    "tariff.*": "cost, not capacity",
    "wrenches.*": "torque, not capacity",
}
# What no plan passes without, whatever a pattern above says.
ALWAYS_NEEDED = (
    "dwelling.kind",
    "dwelling.floor_area",
    "dwelling.small_appliance_circuits",
    "dwelling.laundry_circuits",
    "dwelling.loads_complete",
    "service.system",
    "service.meter_base_rating",
    "service.conductor.size",
    "service.conductor.material",
    "panels.0.bus_rating",
    "panels.0.fed_from",
)


def demo() -> Tree:
    """Return the demo house with its circuit mended, set to 32 A."""
    text = Path("examples/potters_house/plan.toml").read_text(encoding="utf-8")
    tree: Tree = tomllib.loads(text)
    del tree["schema"]
    tree["charger"]["setting"] = "32 A"
    tree["circuit"]["conductor"]["size"] = "2 AWG"
    tree["circuit"]["equipment_ground"]["size"] = "6 AWG"
    return tree


def warm_house() -> Tree:
    """Return a house of electric heat, close to its 125 A."""
    return house(
        load("range", 12_000, name="range"),
        load("dryer", 5_000),
        load("water heater", 4_500, fastened_in_place=True),
        load("heat pump", 4_800, motor_current="16 A", voltage="240 V"),
        load("heat pump supplemental heat", 9_600, heats_while_compressor_runs=True),
        load("separately controlled electric heat", 1_500, count=2, controls=2),
        service={"main": {"rating": "125 A", "terminal_temperature": "75 °C"}},
        charger={
            "nameplate": "48 A",
            "setting": "24 A",
            "setting_restricted_by": ["password"],
            "setting_steps": ["16 A", "24 A", "32 A", "48 A"],
        },
    )


def recorded_house() -> Tree:
    """Return a house that passes by its year's record alone."""
    return house(
        load("kiln", 40_000),
        load("sauna", 1_200, state="proposed"),
        demand_record={
            "maximum": "11 kW",
            "power_factor": "96 %",
            "days": 365,
            "averaged_over": "15 min",
            "continuous": True,
            "occupied": True,
            "seasonal_loads_included": True,
            "peak_shaved": False,
            "from_whom": "utility",
        },
        service={"main": {"rating": "100 A"}},
    )


def wye_house() -> Tree:
    """Return a house on two legs of a wye, with another charger."""
    return house(
        load("range", 9_600),
        load("vehicle charging", 7_680),
        load("other", None, nameplate_current="12 A", leg="A"),
        load("well pump", None, motor_horsepower=1, leg="both"),
        service={
            "system": "120/208 V of a three-phase wye",
            "voltage": "208 V",
            "main": {"rating": "150 A"},
        },
        charger={"voltage": "208 V", "setting": "32 A"},
    )


PLANS = {
    "demo": (demo, "2023"),
    "warm": (warm_house, "2020"),
    "recorded": (recorded_house, "2023"),
    "wye": (wye_house, "2023"),
}


def leaves(node: Any, path: Path_ = ()) -> Iterator[Path_]:
    """Yield the path of every field of a tree."""
    if isinstance(node, dict) and "value" not in node:
        for key, inner in node.items():
            yield from leaves(inner, (*path, key))
    elif isinstance(node, list) and node and isinstance(node[0], dict):
        for index, inner in enumerate(node):
            yield from leaves(inner, (*path, index))
    else:
        yield path


def without(tree: Tree, *paths: Path_) -> Tree | None:
    """Return a tree without some fields; None where no plan can lack them."""
    left = deepcopy(tree)
    for path in paths:
        part: Any = left
        for step in path[:-1]:
            part = part[step]
        part.pop(path[-1], None)
    try:
        plan_of(left)
    except ValidationError:
        return None
    return left


def dotted(path: Path_) -> str:
    return ".".join(map(str, path))


# A record holds whatever existing load there is, listed or not.
NOT_NEEDED_WITH_A_RECORD = (
    "dwelling.floor_area",
    "dwelling.small_appliance_circuits",
    "dwelling.laundry_circuits",
    "dwelling.loads_complete",
)


def reason(path: Path_, name: str) -> str | None:
    if name == "recorded" and dotted(path) in NOT_NEEDED_WITH_A_RECORD:
        return "the record holds the existing loads"
    if dotted(path) in ALWAYS_NEEDED:
        return None
    return next(
        (why for p, why in NOT_NEEDED.items() if fnmatch.fnmatch(dotted(path), p)), None
    )


def deciding(rows: tuple[CapacityRow, ...]) -> dict[tuple[str, str], CapacityRow]:
    """Return the rows on which a service may pass."""
    return {
        (row.method, row.interpretation.charger): row
        for row in rows
        if row.permitted and row.prudent
    }


def passes(rows: tuple[CapacityRow, ...]) -> bool:
    return any(row.outcome in PASSES for row in deciding(rows).values())


@pytest.mark.parametrize("name", PLANS)
def test_the_full_plan_passes_so_that_the_rest_proves_something(name):
    make, year = PLANS[name]
    assert judged(make(), year).headline.outcome in PASSES


@pytest.mark.parametrize("name", PLANS)
def test_a_plan_passes_without_a_field_only_where_the_reason_is_listed(name):
    make, year = PLANS[name]
    tree = make()
    unexplained = [
        dotted(path)
        for path in leaves(tree)
        if (left := without(tree, path)) is not None
        and reason(path, name) is None
        and judged(left, year).headline.outcome in PASSES
    ]
    assert unexplained == []


# Left out, these have a value the plan file's page names; a figure may then be less.
WITH_A_NAMED_VALUE = ("count", "state", "setting_steps", "power_factor", "continuous")


@pytest.mark.parametrize("name", PLANS)
def test_a_row_that_passes_shows_no_less_than_with_the_full_plan(name):
    make, year = PLANS[name]
    tree = make()
    full = deciding(rows_of(tree, year))
    for path in leaves(tree):
        left = without(tree, path)
        if left is None or path[-1] in WITH_A_NAMED_VALUE:
            continue
        for key, row in deciding(rows_of(left, year)).items():
            if row.outcome not in PASSES or key not in full:
                continue
            if path[-1] == "motor_current" and key[0] == "standard":
                continue  # passes only with the whole load as motor, tested by hand
            before_a = full[key].amperes
            assert before_a is None or row.amperes >= before_a * (1 - EXACT), path
            if path[-1] not in ("main_rating", "terminal_temperature", "insulation"):
                assert row.limit_a <= full[key].limit_a, path


@pytest.mark.parametrize("name", ["warm", "recorded"])
def test_two_fields_taken_out_pass_only_where_each_alone_does(name):
    make, year = PLANS[name]
    tree = make()
    fields = [
        path
        for path in leaves(tree)
        if path[0] in ("dwelling", "service", "panels", "charger", "demand_record")
        or path[-1] in ("nameplate", "motor_current", "heats_while_compressor_runs")
    ]
    single = {
        path: passes(rows_of(left, year))
        for path in fields
        if (left := without(tree, path))
    }
    assert set(single.values()) == {True, False}
    for one, other in combinations(single, 2):
        left = without(tree, one, other)
        if left is not None and not (single[one] and single[other]):
            assert not passes(rows_of(left, year)), (one, other)


def test_every_reason_listed_is_of_a_field_some_plan_has():
    paths = {dotted(path) for make, _ in PLANS.values() for path in leaves(make())}
    idle = [p for p in NOT_NEEDED if not fnmatch.filter(paths, p)]
    assert idle == []


NOT_NUMBERS = (None, float("nan"), float("inf"), -float("inf"), -1.0, True)
_SOUND = {
    "maximum_va": 12_000.0,
    "maximum_a": 50.0,
    "power_factor_fraction": 1.0,
    "days": 30.0,
    "window_s": 900.0,
    "seasonal_load_added_va": 1_000.0,
}


@pytest.mark.parametrize("field", _SOUND)
@pytest.mark.parametrize("senseless", NOT_NUMBERS)
def test_no_senseless_number_in_the_evidence_raises_or_helps(field, senseless):
    tree = recorded_house()
    plan, edition = plan_of(tree), open_edition("2023")

    def record(numbers):
        return StatedDemand(
            last_day=None,
            continuous=True,
            highest_loaded_leg=True,
            occupied=True,
            seasonal_loads_included=None,
            peak_shaved=False,
            **numbers,
        )

    spot = SpotReading("evening", senseless, senseless, ())
    found = assess(
        plan,
        Evidence((spot,), record({**_SOUND, field: senseless})),
        edition,
        ON,
    )
    full = deciding(rows_of(tree, evidence=Evidence((), record(_SOUND))))
    for row in found.capacity:
        if row.method == "measured" and row.outcome in PASSES:
            key = (row.method, row.interpretation.charger)
            assert field in ("maximum_va", "power_factor_fraction")
            assert row.amperes >= full[key].amperes * (1 - EXACT)
