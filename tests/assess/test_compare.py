"""Two assessments side by side."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from houses import ON, Tree, house, judged, load, plan_of
from hypothesis import given, settings
from hypothesis import strategies as st

from lugbook.actions import evidence_of
from lugbook.assess.compare import (
    CapacityChange,
    Comparison,
    FieldChange,
    FindingChange,
    compare_assessments,
    planned_loads,
    with_planned,
)
from lugbook.codebook.edition import open_edition
from lugbook.finding import Outcome

quick = settings(max_examples=15, deadline=None)
SWAPPED = {"first only": "second only", "second only": "first only"}


def compared(
    one: Tree,
    two: Tree,
    years: tuple[str, str] = ("2023", "2023"),
    settings_a: tuple[float | None, float | None] = (None, None),
) -> Comparison:
    return compare_assessments(
        judged(one, years[0], settings_a[0]),
        judged(two, years[1], settings_a[1]),
        (plan_of(one), plan_of(two)),
    )


def finding(comparison: Comparison, id: str) -> FindingChange:
    return next(each for each in comparison.findings if each.id == id)


def swapped(each: Any) -> Any:
    """Return a change told the other way round."""
    other = replace(each, first=each.second, second=each.first)
    if isinstance(each, FindingChange):
        other = replace(other, kind=SWAPPED.get(each.kind, each.kind))
    return other


def test_a_plan_compared_with_itself_differs_in_nothing() -> None:
    tree = house(load("dryer", 5000))
    found = compared(tree, tree)
    assert found.is_same
    assert (found.conditions, found.fields) == ((), ())


def test_one_more_appliance_is_named_with_what_it_changes() -> None:
    one, two = house(), house(load("kiln", 12_000, fastened_in_place=True))
    found = compared(one, two)
    assert FieldChange("loads.load_0.kind", None, "kiln") in found.fields
    row = next(
        each
        for each in found.capacity
        if (each.method, each.charger, each.hvac) == ("existing", "outside", "counted")
    )
    assert row.first is not None
    assert row.second is not None
    assert row.first.amperes is not None
    assert row.second.amperes is not None
    # 220.83(A): beyond 8,000 VA, which the 9,000 VA of the house fill, 40 % counts.
    more_a = row.second.amperes - row.first.amperes
    assert abs(more_a - 0.4 * 12_000 / 240) < 1e-9  # binary fractions only
    assert "amperes" in row.differs


def test_another_setting_is_told_as_a_condition_not_as_a_field() -> None:
    tree = house(charger={"setting_steps": ["16 A", "32 A"]})
    found = compared(tree, tree, settings_a=(None, 16.0))
    assert [each.field for each in found.conditions] == ["setting"]
    assert found.fields == ()


def test_another_edition_shows_other_clauses_but_not_the_year_alone() -> None:
    tree = house(
        load("dryer", 5000),
        charger={
            "setting": "16 A",
            "setting_restricted_by": ["password"],
            "setting_on_label": True,
        },
    )
    found = compared(tree, tree, years=("2023", "2026"))
    assert found.conditions[0] == FieldChange("edition", "nfpa70-2023", "nfpa70-2026")
    # Energy management moved from Article 750 to Article 130.
    assert "citation" in finding(found, "capacity.setting_counts").differs
    # 230.79(C) keeps its place: a new year alone is no difference.
    assert "capacity.service_minimum" not in {each.id for each in found.findings}


def test_a_changed_outcome_comes_before_changed_figures() -> None:
    one = house(load("dryer", 5000))
    two = house(load("dryer", 5000), dwelling={"floor_area": "2500 ft²"})
    del two["service"]["meter_base_rating"]
    found = compared(one, two)
    kinds = [each.kind for each in found.findings]
    assert kinds[0] == "outcome"
    assert kinds == sorted(kinds, key=("outcome", "second only", "amounts").index)
    gone = FieldChange("service.meter_base_rating", "200 A", None)
    assert gone in found.fields


def test_names_and_notes_are_no_difference() -> None:
    one, two = house(load("dryer", 5000)), house(load("dryer", 5000, name="old one"))
    assert compared(one, two).fields == ()


def test_how_a_value_was_got_is_a_difference_of_the_plans() -> None:
    two = house()
    two["dwelling"]["floor_area"] = {
        "value": "1500 ft²",
        "how": "guessed",
        "range": ["1400 ft²", "1600 ft²"],
    }
    (change,) = compared(house(), two).fields
    assert change.first == "1500 ft²"
    assert change.second is not None
    assert change.second.startswith("1500 ft² (guessed, ")


def test_planned_loads_stand_one_by_one_and_all_together() -> None:
    tree = house(
        load("heat pump", 9_000, state="planned", year=2028),
        load("hot tub", 40_000, state="planned", fastened_in_place=True),
    )
    plan = plan_of(tree)
    rows = planned_loads(plan, evidence_of, open_edition("2023"), ON)
    assert [row.ids for row in rows] == [
        ("load_0",),
        ("load_1",),
        ("load_0", "load_1"),
    ]
    assert [row.year for row in rows] == [2028, None, 2028]
    assert rows[0].assessment.headline.outcome is not Outcome.FALLS_SHORT
    changed = {each.id for row in rows for each in row.comparison.findings}
    assert "capacity.service_load" in changed


def test_nothing_planned_gives_no_row() -> None:
    plan = plan_of(house(load("dryer", 5000)))
    assert planned_loads(plan, evidence_of, open_edition("2023"), ON) == ()


def test_only_planned_loads_are_promoted() -> None:
    tree = house(
        load("dryer", 5000, state="removed"), load("heat pump", 5000, state="planned")
    )
    plan = with_planned(plan_of(tree), ("load_0", "load_1"))
    assert [each.state for each in plan.loads] == ["removed", "proposed"]


houses = st.builds(
    lambda plates, area, year: (
        house(
            *(load("kiln", va, fastened_in_place=True) for va in plates),
            dwelling={"floor_area": f"{area} ft²"},
        ),
        year,
    ),
    st.lists(st.integers(500, 20_000), max_size=3),
    st.integers(500, 4_000),
    st.sampled_from(["2017", "2020", "2023", "2026"]),
)


@quick
@given(one=houses, two=houses)
def test_a_comparison_tells_the_same_the_other_way_round(
    one: tuple[Tree, str], two: tuple[Tree, str]
) -> None:
    there = compared(one[0], two[0], (one[1], two[1]))
    back = compared(two[0], one[0], (two[1], one[1]))
    assert (back.first, back.second) == (there.second, there.first)
    for name in ("conditions", "fields", "findings", "capacity"):
        told: tuple[FieldChange | FindingChange | CapacityChange, ...] = getattr(
            there, name
        )
        assert tuple(map(swapped, told)) == getattr(back, name)
