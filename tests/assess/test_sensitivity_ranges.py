"""The data file of plausible ranges, and how a plan is turned into another."""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Any

import pytest
from houses import ON, Tree, house, load, plan_of
from pydantic import ValidationError

from lugbook.actions import evidence_of
from lugbook.assess.assessment import Unknown
from lugbook.assess.plan_changes import dotted_path, path_of, with_field
from lugbook.assess.sensitivity_ranges import (
    Origin,
    _unknown_doubt,
    doubts_of,
    plausible_ranges,
)
from lugbook.assess.spine import assess
from lugbook.codebook.edition import open_edition
from lugbook.premises.plan import Plan
from lugbook.premises.sentences import models_in

SOURCES = tomllib.loads(Path("src/lugbook/sources.toml").read_text(encoding="utf-8"))
RANGES = plausible_ranges()
KEYS = {
    "field",
    "where",
    "main_a",
    "word",
    "candidates",
    "ordered",
    "typical",
    "around",
    "off_by",
    "next_to",
    "source",
    "basis",
}
every_entry = pytest.mark.parametrize(
    "entry",
    RANGES.entries,
    ids=lambda each: f"{each['field']} {each.get('where', each.get('main_a', ''))}",
)


def full_plan() -> Plan:
    """Return a plan that has every table an entry speaks of."""
    where = [each["where"] for each in RANGES.entries if "where" in each]
    kinds = {kind for each in where for kind in each.get("kind", ())}
    places = {place for each in where for place in each.get("place", ())}
    tree = house(*(load(kind) for kind in sorted(kinds)), load("other"))
    sections = [
        {"id": f"section_{n}", "place": place}
        for n, place in enumerate(sorted(places | {"garage"}))
    ]
    tree["circuit"] = {"id": "circuit", "sections": sections}
    return plan_of(tree)


def fields_like(plan: Plan, entry: Any) -> list[str]:
    """Return the fields of the plan that an entry's pattern stands for."""
    field = str(entry["field"])
    if field == "*.terminal_temperature":
        return ["charger.terminal_temperature"]
    if field.startswith("loads.*"):
        ids = [each.id for each in plan.loads]
    elif field.startswith("panels.*"):
        ids = [each.id for each in plan.panels]
    elif plan.circuit is not None:
        ids = [each.id for each in plan.circuit.sections]
    return [field.replace("*", id) for id in ids] if "*" in field else [field]


@every_entry
def test_an_entry_has_no_unknown_key_and_a_typical_candidate(entry: Any) -> None:
    assert set(entry) <= KEYS
    assert entry["typical"] in entry["candidates"]
    assert len(entry["candidates"]) > 1
    assert entry["basis"]


@every_entry
def test_an_entry_names_a_source_or_says_common_practice(entry: Any) -> None:
    if entry["source"]:
        assert entry["source"] in SOURCES or entry["source"].startswith("nfpa70-")
    elif "common practice" not in entry["basis"]:
        # Both of two things there are need no source.
        assert len(entry["candidates"]) <= 3


@every_entry
def test_every_candidate_of_an_entry_can_be_entered(entry: Any) -> None:
    if "word" in entry or entry["field"] == "dwelling.loads_complete":
        return  # adds a load; the test of unknowns below enters those
    plan = full_plan()
    for field in fields_like(plan, entry):
        paths = path_of(plan, field)
        assert paths or field == "panels.bus_rating", field
        for path in paths:
            entered = [
                held(with_field(plan, path, each), path) for each in entry["candidates"]
            ]
            assert None not in entered
            assert len({str(each) for each in entered}) == len(entered)


def held(plan: Plan, path: tuple[str | int, ...]) -> Any:
    here: Any = plan
    for step in path:
        here = here[step] if isinstance(step, int) else getattr(here, step, None)
    return getattr(here, "value", here)


@pytest.mark.parametrize(
    "word", [each["word"] for each in RANGES.entries if "word" in each]
)
def test_an_appliance_that_may_be_there_is_added_or_said_to_be_absent(
    word: str,
) -> None:
    plan = plan_of(house())
    question = f"Is there an electric {word}, or none?"
    doubt = _unknown_doubt(
        plan, Unknown("dwelling.not_present", question, "walk"), RANGES
    )
    assert doubt is not None
    none, *others = doubt.choices
    assert none.label == "none"
    assert none.change is not None
    assert word in none.change(plan).dwelling.not_present
    for choice in others:
        assert choice.change is not None
        assert len(choice.change(plan).loads) == len(plan.loads) + 1


def test_a_field_is_found_by_the_ids_on_its_way() -> None:
    plan = plan_of(house(load("dryer"), load("kiln")))
    (path,) = path_of(plan, "loads.load_1.nameplate")
    assert path == ("loads", 1, "nameplate")
    assert dotted_path(plan, path) == "loads.load_1.nameplate"


@pytest.mark.parametrize("field", ["loads.sauna.nameplate", "service.colour", "moon"])
def test_a_field_of_no_table_is_nowhere(field: str) -> None:
    assert path_of(plan_of(house(load("dryer"))), field) == ()


def test_the_bus_is_asked_of_every_panel_that_does_not_say_it() -> None:
    tree: Tree = house()
    tree["panels"] = [
        {"id": "one", "fed_from": "service"},
        {"id": "two", "fed_from": "service", "bus_rating": "200 A"},
        {"id": "three", "fed_from": "service"},
    ]
    assert path_of(plan_of(tree), "panels.bus_rating") == (
        ("panels", 0, "bus_rating"),
        ("panels", 2, "bus_rating"),
    )


def test_a_change_leaves_the_plan_it_came_from_alone() -> None:
    plan = plan_of(house(load("dryer", 5000)))
    other = with_field(plan, ("loads", 0, "nameplate"), "6000 VA")
    assert plan.loads[0].nameplate is not None
    assert other.loads[0].nameplate is not None
    assert (plan.loads[0].nameplate.value, other.loads[0].nameplate.value) == (
        5000,
        6000,
    )


def test_a_missing_table_is_made_on_the_way() -> None:
    tree = house()
    del tree["service"]["main"]
    plan = with_field(plan_of(tree), ("service", "main", "rating"), "150 A")
    assert plan.service is not None
    assert plan.service.main is not None
    assert plan.service.main.rating is not None
    assert plan.service.main.rating.value == 150


def test_a_table_is_laid_over_the_one_that_stands_there() -> None:
    plan = with_field(plan_of(house()), ("service", "conductor"), {"size": "2/0 AWG"})
    assert plan.service is not None
    conductor = plan.service.conductor
    assert conductor is not None
    assert conductor.size is not None
    assert conductor.material is not None
    assert (conductor.size.value, conductor.material.value) == ("2/0 AWG", "aluminum")


def test_what_no_field_takes_is_refused() -> None:
    with pytest.raises(ValidationError):
        with_field(plan_of(house()), ("service", "meter_base_rating"), "blue")


def test_entries_speak_of_fields_the_plan_has() -> None:
    for entry in RANGES.entries:
        model: Any = Plan
        for step in entry["field"].split("."):
            if step == "*" or entry["field"].startswith("*"):
                continue
            if step == "bus_rating" and model.__name__ == "Panel":
                assert "bus_rating" in model.model_fields
            assert step in model.model_fields, entry["field"]
            model = next(models_in(model.model_fields[step].annotation), model)


def told(*path: str | int, value: Any, how: str = "told") -> list[str]:
    """Return the choices of one value of the plain house when it was told."""
    tree = house(load("dryer", 5000), charger={"nameplate": "48 A"})
    tree["service"]["drop_length"] = "80 ft"
    tree["panels"][0]["ambient"] = "35 °C"
    here: Any = tree
    for step in path[:-1]:
        here = here[step]
    here[path[-1]] = {"value": value, "how": how}
    plan = plan_of(tree)
    found = assess(plan, evidence_of(plan), open_edition("2023"), ON)
    doubts, _ = doubts_of(plan, found, RANGES)
    (doubt,) = [x for x in doubts if x.origin in (Origin.TOLD, Origin.GUESSED)]
    assert doubt.origin.value == how
    assert doubt.choices[doubt.typical].change is None
    for choice in doubt.choices:
        assert choice.change is None or choice.change(plan) != plan
    return [choice.label for choice in doubt.choices]


def test_a_told_rating_may_be_its_neighbour_in_the_series() -> None:
    ends = told("service", "meter_base_rating", value="150 A")
    assert ends == ["125 A", "150 A", "200 A"]


def test_a_told_temperature_is_off_by_kelvins_not_by_a_share() -> None:
    # Five kelvin either way, whatever the unit; 95 °F is 35 °C, 5 K are 9 °F.
    ends = told("panels", 0, "ambient", value="95 °F")
    assert ends == ["86 °F", "95 °F", "104 °F"]


def test_a_figure_without_an_entry_is_off_by_a_fifth() -> None:
    ends = told("service", "drop_length", value="100 ft", how="guessed")
    assert ends == ["80 ft", "100 ft", "120 ft"]


def test_a_length_in_feet_and_inches_is_tried_too() -> None:
    low, same, high = told("service", "drop_length", value="12 ft 6 in")
    assert same == "12 ft 6 in"
    assert low != high


def test_a_told_count_is_off_by_one() -> None:
    assert told("loads", 0, "count", value=2) == ["1", "2", "3"]


def test_a_told_count_with_an_entry_keeps_to_it() -> None:
    assert told("dwelling", "small_appliance_circuits", value=2) == ["2", "3"]


def test_a_told_yes_may_be_a_no() -> None:
    assert told("service", "own_meter", value=True) == ["true", "false"]


def test_a_told_word_may_be_the_other_one() -> None:
    words = told("service", "drop_kind", value="overhead")
    assert words == ["overhead", "underground"]


def test_a_word_out_of_its_stated_choices() -> None:
    tree = house()
    tree["service"]["drop_kind"] = {
        "value": "overhead",
        "range": ["overhead", "underground"],
    }
    tree["service"]["own_meter"] = {"value": True, "range": [True, False]}
    plan = plan_of(tree)
    found = assess(plan, evidence_of(plan), open_edition("2023"), ON)
    ranged = {
        doubt.field: [choice.label for choice in doubt.choices]
        for doubt in doubts_of(plan, found, RANGES)[0]
        if doubt.origin is Origin.RANGED
    }
    assert ranged == {
        "service.own_meter": ["true", "false"],
        "service.drop_kind": ["overhead", "underground"],
    }


def test_free_text_is_no_doubt() -> None:
    tree = house()
    tree["service"]["utility"] = {"value": "invented utility", "how": "told"}
    plan = plan_of(tree)
    found = assess(plan, evidence_of(plan), open_edition("2023"), ON)
    fields = [doubt.field for doubt in doubts_of(plan, found, RANGES)[0]]
    assert "service.utility" not in fields


@pytest.mark.parametrize(
    ("main", "least"), [("100 A", "4 AWG"), ("150 A", "1/0 AWG"), ("200 A", "2/0 AWG")]
)
def test_service_conductors_go_with_the_main(main: str, least: str) -> None:
    tree = house()
    tree["service"]["main"]["rating"] = main
    del tree["service"]["conductor"]
    unknown = Unknown("service.conductor", "Which?", "the jacket")
    doubt = _unknown_doubt(plan_of(tree), unknown, RANGES)
    assert doubt is not None
    assert doubt.choices[0].label == f"aluminum {least}"
