"""The service rating is the least of its parts, and unknown while one of them is."""

from __future__ import annotations

import pytest
from houses import house, plan_of

from lugbook.assess.service_rating import rate_service
from lugbook.codebook.edition import open_edition


def rated(tree, year="2023"):
    return rate_service(plan_of(tree), open_edition(year))


def changed(path, value):
    """Return the plain house with one field set, or taken out where None."""
    tree = house()
    part = tree
    for step in path[:-1]:
        part = part[step]
    if value is None:
        del part[path[-1]]
    else:
        part[path[-1]] = value
    return tree


def test_four_equal_parts_give_their_rating():
    found = rated(house())
    assert (found.limit_a, found.least_known_a, found.unknowns) == (200, 200, ())


@pytest.mark.parametrize(
    ("path", "value", "expected_a", "governs"),
    [
        (("service", "main", "rating"), "150 A", 150, "main"),
        (("panels", 0, "bus_rating"), "125 A", 125, "bus"),
        # the panel's own main stands after the service's: the lower one trips
        (("panels", 0, "main_rating"), "100 A", 100, "main"),
        (("service", "meter_base_rating"), "100 A", 100, "meter base"),
        # Table 310.12(A): 2 AWG aluminum serves 100 A
        (("service", "conductor", "size"), "2 AWG", 100, "service conductor"),
    ],
)
def test_the_least_part_governs(path, value, expected_a, governs):
    found = rated(changed(path, value))
    assert (found.limit_a, found.governs) == (expected_a, governs)


@pytest.mark.parametrize(
    ("path", "field"),
    [
        (("service", "main"), "service.main.rating"),
        (("service", "main", "rating"), "service.main.rating"),
        (("panels", 0, "bus_rating"), "panels.bus_rating"),
        (("panels", 0, "fed_from"), "panels.bus_rating"),
        (("panels",), "panels.bus_rating"),
        (("service", "conductor"), "service.conductor"),
        (("service", "conductor", "size"), "service.conductor"),
        (("service", "conductor", "material"), "service.conductor"),
        (("service", "meter_base_rating"), "service.meter_base_rating"),
    ],
)
def test_an_unknown_part_makes_the_rating_unknown(path, field):
    found = rated(changed(path, None))
    assert found.limit_a is None
    assert found.least_known_a == 200
    assert [unknown.field for unknown in found.unknowns] == [field]


def test_without_a_service_nothing_is_known():
    tree = house()
    del tree["service"]
    tree["panels"] = []
    found = rated(tree)
    assert (found.limit_a, found.least_known_a) == (None, None)


def test_mains_of_a_split_bus_add():
    tree = changed(("service", "main"), None)
    tree["service"]["split_bus_mains"] = [{"rating": "60 A"}, {"rating": "50 A"}]
    assert rated(tree).limit_a == 110


def test_a_split_bus_with_one_main_unread_is_unknown():
    tree = changed(("service", "main"), None)
    tree["panels"][0]["main_rating"] = "200 A"
    tree["service"]["split_bus_mains"] = [{"rating": "60 A"}, {}]
    assert rated(tree).limit_a is None


def test_the_panels_main_stands_for_the_main_where_no_other_is_stated():
    tree = changed(("service", "main"), None)
    tree["panels"][0]["main_rating"] = "150 A"
    assert rated(tree).limit_a == 150


def test_several_panels_are_taken_as_the_smallest_and_that_is_said():
    tree = house()
    tree["panels"].append({"id": "barn", "fed_from": "service", "bus_rating": "100 A"})
    found = rated(tree)
    assert found.limit_a == 100
    assert "several-panels-as-the-smallest" in [each.id for each in found.assumptions]


def test_a_panel_behind_a_feeder_is_no_part_of_the_service():
    tree = house()
    tree["panels"].append({"id": "barn", "fed_from": "feeder", "bus_rating": "60 A"})
    assert rated(tree).limit_a == 200


def test_conductors_of_the_utility_do_not_limit_and_that_is_said():
    tree = changed(("service", "conductor"), None)
    tree["service"]["conductor_owner"] = "utility"
    found = rated(tree)
    assert found.limit_a == 200
    assert "service-conductor-is-the-utilitys" in [e.id for e in found.assumptions]


def test_conductors_stated_limit_whoever_owns_them():
    tree = changed(("service", "conductor", "size"), "2 AWG")
    tree["service"]["conductor_owner"] = "utility"
    assert rated(tree).limit_a == 100


@pytest.mark.parametrize(
    ("conductor", "mark", "expected_a"),
    [
        # Table 310.16, 4/0 AWG aluminum: 150 A at 60 °C; the whole-house row is 200 A
        ({"insulation": "XHHW-2"}, "75 °C", 200),
        ({"insulation": "XHHW-2"}, "60/75 °C", 200),
        ({"insulation": "XHHW-2"}, "60 °C", 150),
        ({"insulation": "TW"}, "75 °C", 150),
        ({"insulation": "THHN/THWN-2"}, "75 °C", 200),
        # two in parallel have no row: 2 × 120 A, 1/0 AWG aluminum at 75 °C
        ({"size": "1/0 AWG", "parallel_sets": 2}, "75 °C", 200),
        ({"size": "1 AWG", "parallel_sets": 2}, "60 °C", 170),
    ],
)
def test_a_60_c_mark_or_insulation_binds_the_60_c_column(conductor, mark, expected_a):
    tree = house()
    tree["service"]["conductor"].update(conductor)
    tree["service"]["main"]["terminal_temperature"] = mark
    assert rated(tree).limit_a == expected_a


@pytest.mark.parametrize("year", ["2017", "2020", "2023", "2026"])
@pytest.mark.parametrize(
    "conductor",
    [{"parallel_sets": 0}, {"size": "14 AWG"}],
)
def test_a_conductor_no_table_holds_is_unknown_and_no_exception(conductor, year):
    tree = house()
    tree["service"]["conductor"].update(conductor)
    assert rated(tree, year).limit_a is None


def test_the_working_ends_with_the_rating_and_names_what_is_missing():
    full = rated(house()).working.lines
    assert (full[-1].label, full[-1].amount) == ("service rating", 200)
    open_ = rated(changed(("service", "meter_base_rating"), None)).working.lines
    assert (open_[-1].amount, open_[-1].numbers) == (None, "? meter base")
