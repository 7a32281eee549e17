"""A sample of the differential test against the slow second version of the rules.

`make prove` compares 100,000 plans; here a few hundred, and that the comparison can
fail and that every answer occurs in it.
"""

from __future__ import annotations

from fractions import Fraction

import pytest
import slow_ampacity
import slow_load
from random_plans import random_plan
from second_version import answers, campaign, differences

SAMPLE = range(250)


def test_no_verdict_differs_on_a_sample_of_random_plans():
    compared, found = campaign(SAMPLE)
    assert (compared, found) == (len(SAMPLE), {})


def test_every_answer_occurs_in_the_sample():
    rows, parts = set(), set()
    for number in SAMPLE:
        said = answers(random_plan(number))
        rows |= {row.outcome for row in said["capacity"].values()}
        if said["circuit"] is not None:
            parts |= {
                said["circuit"].overcurrent_device.outcome,
                said["circuit"].conductor.outcome,
                said["circuit"].equipment_grounding_conductor.outcome,
            }
    words = {"meets", "narrow", "falls_short", "cannot_tell"}
    assert rows == {*words, "not_required"}
    assert parts >= {"meets", "falls_short", "cannot_tell"}


def test_plans_of_a_number_are_the_same_and_of_another_seed_are_not():
    assert random_plan(7) == random_plan(7)
    assert random_plan(7) != random_plan(7, seed=1)


def forty_one_percent(total_va, first_va):
    rest_va = max(Fraction(0), total_va - first_va)
    return min(total_va, Fraction(first_va)) + rest_va * Fraction(41, 100)


def no_least_load_of_a_dryer(ratings_va, edition):
    return sum(ratings_va, Fraction(0))


def every_setting_counts(part, edition, connection):
    return True


def no_standard_rating_next_above(plan, ampacity, size):
    return ampacity


def no_growth_of_the_grounding_wire(plan):
    return Fraction(10_380), Fraction(10_380)


@pytest.mark.parametrize(
    ("module", "name", "wrong"),
    [
        (slow_load, "tier", forty_one_percent),
        (slow_load, "dryers_va", no_least_load_of_a_dryer),
        (slow_load, "counts_at_setting", every_setting_counts),
        (slow_ampacity, "SHORT_SHARE", Fraction(1, 2)),  # instead of a tenth
        (slow_ampacity, "largest_device_a", no_standard_rating_next_above),
        (slow_ampacity, "grounding_areas", no_growth_of_the_grounding_wire),
    ],
)
def test_the_comparison_sees_a_rule_taken_wrongly(monkeypatch, module, name, wrong):
    monkeypatch.setattr(module, name, wrong)
    assert any(differences(random_plan(number)) for number in SAMPLE)
