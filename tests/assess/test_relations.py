"""Relations between houses that must hold whatever the right answer is.

The numbers are those of the list of relations in our trust notes (8); what concerns
interval data, temperatures and the record is tested where those are.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

import pytest
from houses import Tree, house, load, row_of, rows_of
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from lugbook.assess.assessment import CapacityRow
from lugbook.finding import Outcome

PASSES = (Outcome.MEETS, Outcome.NARROW)
EXACT = 1e-9  # relative; rounding of binary fractions only
SAME_VA = 1e-6  # absolute, in VA; the sum of some thirty lines
YEARS = ("2017", "2020", "2023", "2026")
SEPARATE = "separately controlled electric heat"
STEPS = ["16 A", "24 A", "32 A", "40 A", "48 A", "64 A", "80 A"]
RATINGS_A = (60, 100, 125, 150, 200)

# Fifty houses a relation keep the file under twenty seconds on two slow cores.
quick = settings(max_examples=50, deadline=None)

# Where the book's own steps let a larger house count less, a kind is left out or held
# to one size: fewer than 500 VA fastened in place, cooking up to 1,750 VA.
KINDS = (
    "range",
    "dryer",
    "water heater",
    "dishwasher",
    "kiln",
    "furnace blower",
    "central cooling",
    "room cooling",
    "heat pump",
    "heat pump supplemental heat",
    "central electric heat",
    SEPARATE,
    "bathroom heater",
    "thermal storage heat",
    "vehicle charging",
    "other",
)
ONCE = ("range", "dryer")
WITH_A_LEAST_LOAD = ("dryer", "vehicle charging")  # whatever their plate

loads = st.lists(
    st.fixed_dictionaries(
        {
            "kind": st.sampled_from(KINDS),
            "va": st.integers(500, 12_000),
            "leg": st.sampled_from(["A", "B", "both"]),
            "continuous": st.booleans(),
            "fastened_in_place": st.booleans(),
            "heats_while_compressor_runs": st.booleans(),
        }
    ).map(lambda drawn: {**load(drawn["kind"], drawn.pop("va")), **drawn}),
    max_size=8,
).filter(lambda drawn: all(_count(drawn, kind) <= 1 for kind in ONCE))


def _count(drawn: list[Tree], *kinds: str) -> int:
    return sum(1 for each in drawn if each["kind"] in kinds)


@st.composite
def houses(draw: st.DrawFn) -> tuple[Tree, str]:
    """Return a house and an edition."""
    nameplate_a = draw(st.sampled_from([16, 32, 48, 80]))
    steps = [step for step in STEPS if int(step.split()[0]) <= nameplate_a]
    tree = house(
        *draw(loads),
        service={
            "main": {"rating": f"{draw(st.sampled_from(RATINGS_A))} A"},
            "system": draw(
                st.sampled_from(
                    ["120/240 V split-phase", "120/208 V of a three-phase wye"]
                )
            ),
        },
        dwelling={"floor_area": f"{draw(st.integers(400, 5_000))} ft²"},
        charger={
            "nameplate": f"{nameplate_a} A",
            "setting": draw(st.sampled_from(steps)),
            "setting_steps": steps,
            "voltage": draw(st.sampled_from(["208 V", "240 V"])),
            **draw(
                st.sampled_from(
                    [
                        {"setting_restricted_by": ["password"]},
                        {"setting_restricted_by": ["none"]},
                        {},
                    ]
                )
            ),
        },
        demand_record={
            "maximum": f"{draw(st.integers(2, 30))} kVA",
            "days": 365,
            "averaged_over": "15 min",
            "continuous": True,
            "peak_shaved": False,
        },
    )
    return tree, draw(st.sampled_from(YEARS))


def changed(tree: Tree, path: tuple[Any, ...], new: Any) -> Tree:
    """Return a tree with one field another; its other tables are shared."""
    step, *rest = path
    copy: Any = list(tree) if isinstance(tree, list) else dict(tree)
    copy[step] = changed(tree[step], tuple(rest), new) if rest else new
    return copy


def pairs(
    before: tuple[CapacityRow, ...], after: tuple[CapacityRow, ...]
) -> list[tuple[CapacityRow, CapacityRow]]:
    """Return the rows both houses have, two by two."""
    found = []
    for row in before:
        way = row.interpretation
        found.append((row, row_of(after, row.method, way.charger, way.hvac)))
    return found


def same(before: tuple[CapacityRow, ...], after: tuple[CapacityRow, ...]) -> None:
    for one, other in pairs(before, after):
        assert one.outcome is other.outcome
        assert (one.va is None) is (other.va is None)
        if one.va is not None and other.va is not None:
            assert other.va == pytest.approx(one.va, rel=EXACT)
        assert one.largest_setting_a == other.largest_setting_a


def no_less(before: tuple[CapacityRow, ...], after: tuple[CapacityRow, ...]) -> None:
    """Fail where the second house counts less or does better than the first."""
    for one, other in pairs(before, after):
        if one.va is not None and other.va is not None:
            assert other.va >= one.va * (1 - EXACT)
        if other.outcome in PASSES and one.permitted:
            assert one.outcome in PASSES
        if other.largest_setting_a is not None and one.permitted:
            assert (one.largest_setting_a or 0) >= other.largest_setting_a


def fastened(tree: Tree) -> int:
    kinds = ("water heater", "dishwasher", "kiln", "other")
    return sum(
        1
        for each in tree["loads"]
        if each["kind"] in kinds and each.get("fastened_in_place", True)
    )


@quick
@given(houses(), st.sampled_from(KINDS), st.integers(500, 12_000))
def test_1_a_load_more_never_lowers_a_total(drawn, kind, va):
    tree, year = drawn
    # the fourth fastened appliance and the fourth heating unit bring a factor
    assume(fastened(tree) != 3)
    assume(_count(tree["loads"], SEPARATE, "bathroom heater") != 3)
    assume(_count(tree["loads"], "range", "dryer") == 0 or kind not in ONCE)
    more = [*tree["loads"], {"id": "more", **load(kind, va)}]
    no_less(rows_of(tree, year), rows_of({**tree, "loads": more}, year))


@quick
@given(houses(), st.integers(0, 7), st.floats(1.0, 3.0))
def test_2_a_larger_nameplate_never_helps(drawn, index, factor):
    tree, year = drawn
    if not tree["loads"]:
        tree = {**tree, "loads": [{"id": "load_0", **load("kiln", 9_000)}]}
    index %= len(tree["loads"])
    va = float(tree["loads"][index]["nameplate"].split()[0]) * factor
    larger = changed(tree, ("loads", index, "nameplate"), f"{va:.6f} VA")
    no_less(rows_of(tree, year), rows_of(larger, year))


@quick
@given(houses(), st.integers(1, 140))
def test_3_a_larger_service_never_hurts(drawn, more_a):
    tree, year = drawn
    now_a = int(tree["service"]["main"]["rating"].split()[0])
    larger = changed(tree, ("service", "main", "rating"), f"{now_a + more_a} A")
    for small, large in pairs(rows_of(tree, year), rows_of(larger, year)):
        # a main larger than its conductors bars measured demand: it protects nothing
        assert large.permitted or small.method == "measured" or not small.permitted
        if small.permitted and large.permitted:
            assert large.va == small.va
            assert small.outcome not in PASSES or large.outcome in PASSES
            assert (large.largest_setting_a or 0) >= (small.largest_setting_a or 0)
            assert (large.largest_exact_a or 0) >= (small.largest_exact_a or 0)


@quick
@given(houses(), st.randoms(use_true_random=False))
def test_4_the_order_of_the_loads_is_nothing(drawn, random):
    tree, year = drawn
    shuffled = random.sample(tree["loads"], len(tree["loads"]))
    same(rows_of(tree, year), rows_of({**tree, "loads": shuffled}, year))


@quick
@given(houses(), st.sampled_from([k for k in KINDS if k not in WITH_A_LEAST_LOAD]))
def test_5_a_load_of_nothing_is_nothing(drawn, kind):
    tree, year = drawn
    more = [*tree["loads"], {"id": "more", **load(kind, 0)}]
    same(rows_of(tree, year), rows_of({**tree, "loads": more}, year))


@quick
@given(houses(), st.integers(0, 6), st.integers(0, 6))
def test_7_a_lower_setting_is_never_worse(drawn, one, other):
    tree, year = drawn
    steps = tree["charger"]["setting_steps"]
    low, high = sorted(index % len(steps) for index in (one, other))
    tree = changed(tree, ("charger", "setting"), steps[high])
    lower = changed(tree, ("charger", "setting"), steps[low])
    for high, low in pairs(rows_of(tree, year), rows_of(lower, year)):
        assert high.outcome not in PASSES or low.outcome in PASSES
        assert low.amperes is None or low.amperes <= high.amperes * (1 + EXACT)
        assert low.largest_setting_a == high.largest_setting_a
        assert low.base_va == high.base_va


@quick
@given(houses())
def test_13_the_legs_exchanged_are_the_same(drawn):
    tree, year = drawn
    other = {"A": "B", "B": "A", "both": "both"}
    swapped = [{**each, "leg": other[each["leg"]]} for each in tree["loads"]]
    same(rows_of(tree, year), rows_of({**tree, "loads": swapped}, year))


@quick
@given(houses())
def test_14_another_unit_is_the_same(drawn):
    tree, year = drawn
    area_m2 = int(tree["dwelling"]["floor_area"].split()[0]) * 0.09290304  # 0.3048²
    metric = changed(tree, ("dwelling", "floor_area"), f"{area_m2:.10f} m²")
    metric["loads"] = [
        {**each, "nameplate": f"{float(each['nameplate'].split()[0]) / 1000:.6f} kVA"}
        for each in tree["loads"]
    ]
    same(rows_of(tree, year), rows_of(metric, year))


@quick
@given(houses(), st.integers(1, 30))
def test_16_a_higher_maximum_of_the_record_never_helps(drawn, more_kva):
    tree, year = drawn
    kva = int(tree["demand_record"]["maximum"].split()[0]) + more_kva
    higher = changed(tree, ("demand_record", "maximum"), f"{kva} kVA")
    no_less(rows_of(tree, year), rows_of(higher, year))


@quick
@given(houses(), st.sampled_from(["days", "averaged_over", "continuous", "maximum"]))
def test_19_a_record_with_less_said_never_passes(drawn, field):
    tree, year = drawn
    record = {k: v for k, v in tree["demand_record"].items() if k != field}
    for charger in ("outside", "outside_125"):
        rows = rows_of({**tree, "demand_record": record}, year)
        assert row_of(rows, "measured", charger).outcome not in PASSES


@quick
@given(houses(), st.text("abc é\"'", max_size=20))
def test_23_and_28_notes_and_names_change_nothing(drawn, words):
    tree, year = drawn
    named = {**tree, "name": words, "note": words}
    named["loads"] = [{**each, "name": words, "note": words} for each in tree["loads"]]
    same(rows_of(tree, year), rows_of(named, year))


NEEDED: dict[str, Callable[[Tree], Any]] = {
    "floor_area": lambda tree: tree["dwelling"],
    "loads_complete": lambda tree: tree["dwelling"],
    "meter_base_rating": lambda tree: tree["service"],
    "main": lambda tree: tree["service"],
    "conductor": lambda tree: tree["service"],
    "bus_rating": lambda tree: tree["panels"][0],
}


@quick
@given(houses(), st.sampled_from(sorted(NEEDED)))
def test_26_without_a_needed_field_no_calculation_passes(drawn, field):
    tree, year = drawn
    part = dict(NEEDED[field](tree))
    del part[field]
    table = next(
        name for name in tree if NEEDED[field](tree) in (tree[name], _first(tree[name]))
    )
    left = {**tree, table: [part] if isinstance(tree[table], list) else part}
    for row in rows_of(left, year):
        if row.method != "measured":
            assert row.outcome not in PASSES
            assert row.largest_setting_a is None


def _first(table: Any) -> Any:
    return table[0] if isinstance(table, list) and table else None


@quick
@given(houses())
def test_a_row_agrees_with_itself(drawn):
    tree, year = drawn
    wye = "208" in tree["service"]["system"]
    steps_a = [float(step.split()[0]) for step in tree["charger"]["setting_steps"]]
    for row in rows_of(tree, year):
        if row.va is None:
            assert (row.base_va, row.amperes) == (None, None)
            continue
        assert 0 <= row.base_va <= row.va
        assert row.amperes * (208 if wye else 240) == pytest.approx(row.va, rel=EXACT)
        if row.largest_setting_a is None:
            continue
        assert row.largest_setting_a in steps_a
        # exact to a millionth of an ampere
        assert row.largest_setting_a <= row.largest_exact_a + 1e-6


@quick
@given(houses())
def test_the_largest_setting_is_the_largest_step_that_passes_when_asked_about(drawn):
    tree, year = drawn
    tree = changed(tree, ("charger", "setting_restricted_by"), ["password"])
    asked = {
        step: rows_of(changed(tree, ("charger", "setting"), step), year)
        for step in tree["charger"]["setting_steps"]
    }
    for row in rows_of(tree, year):
        way = row.interpretation
        passing = [
            float(step.split()[0])
            for step, rows in asked.items()
            if row_of(rows, row.method, way.charger, way.hvac).outcome in PASSES
        ]
        assert row.largest_setting_a == max(passing, default=None)


@quick
@given(houses())
def test_the_lines_of_a_working_add_up_to_its_total(drawn):
    tree, year = drawn
    for row in rows_of(tree, year):
        if row.va is None:
            continue
        lines = row.working.lines
        labels = [line.label for line in lines]
        assert labels[-2:] == ["total", "current"]
        assert (lines[-2].amount, lines[-1].amount) == (row.va, row.amperes)
        subtotals = [
            index
            for index, label in enumerate(labels)
            if label
            in ("subtotal before the demand factor", "general load before demand")
        ]
        start = 0
        for index in subtotals:
            before = [each.amount for each in lines[:index] if each.unit == "VA"]
            assert math.fsum(before) == pytest.approx(lines[index].amount, abs=SAME_VA)
            start = index + 1
        added = [each.amount for each in lines[start:-2] if each.unit == "VA"]
        assert math.fsum(added) == pytest.approx(row.va, abs=SAME_VA)
        for line in lines:
            assert line.source or line.symbols, line.label
