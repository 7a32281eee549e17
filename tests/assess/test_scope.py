"""The tool speaks of one house with a service of its own, and of nothing else."""

from __future__ import annotations

import pytest
from houses import finding_of, house, judged

from lugbook.finding import Outcome


def scope(**tables):
    return finding_of(judged(house(**tables)), "scope.house")


def test_a_house_with_its_own_service_is_in_scope():
    assert scope().outcome is Outcome.MEETS


@pytest.mark.parametrize(
    "kind", ["two-family", "apartment", "mobile home", "commercial"]
)
def test_other_buildings_are_refused_without_sizing(kind):
    found = judged(house(dwelling={"kind": kind}))
    assert found.headline.outcome is Outcome.FALLS_SHORT
    assert (found.capacity, found.circuit) == ((), ())
    assert found.headline.sentence == finding_of(found, "scope.house").next


def test_three_phase_is_refused():
    assert scope(service={"system": "three-phase"}).outcome is Outcome.FALLS_SHORT


def test_a_shared_meter_is_refused():
    assert scope(service={"own_meter": False}).outcome is Outcome.FALLS_SHORT


@pytest.mark.parametrize(
    ("table", "field"), [("dwelling", "kind"), ("service", "system")]
)
def test_what_is_not_said_of_it_cannot_be_told(table, field):
    tree = house()
    del tree[table][field]
    found = judged(tree)
    assert finding_of(found, "scope.house").outcome is Outcome.CANNOT_TELL
    assert found.headline.outcome is Outcome.CANNOT_TELL


@pytest.mark.parametrize(
    ("volts", "outcome"),
    [
        ("240 V", Outcome.MEETS),
        ("230 V", Outcome.MEETS),
        ("252 V", Outcome.MEETS),
        ("216 V", Outcome.MEETS),  # a tenth under 240 V, the widest taken
        ("215.9 V", Outcome.CANNOT_TELL),
        ("208 V", Outcome.CANNOT_TELL),
        ("264.1 V", Outcome.CANNOT_TELL),
    ],
)
def test_a_voltage_that_belies_the_system_cannot_be_told(volts, outcome):
    assert scope(service={"voltage": volts}).outcome is outcome


def test_208_v_goes_with_a_wye():
    wye = {"system": "120/208 V of a three-phase wye", "voltage": "208 V"}
    assert scope(service=wye).outcome is Outcome.MEETS
