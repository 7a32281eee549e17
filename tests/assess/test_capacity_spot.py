"""What a clamp reading proves: at least so much, and at the most only with all on."""

from __future__ import annotations

import pytest
from houses import ON, finding_of, house, load, plan_of

from lugbook.assess.spine import assess
from lugbook.codebook.edition import open_edition
from lugbook.finding import Outcome
from lugbook.readings.evidence import Evidence, SpotReading

ALL = ("load_0", "load_1")


def read(running=ALL, lasted_s=600.0, **more):
    return SpotReading(
        "evening",
        **{"leg_a_a": 60.0, "leg_b_a": 50.0, **more},
        running=running,
        lasted_s=lasted_s,
    )


def spot(reading, complete=True, loads=None):
    both = (load("range", 9_600), load("dryer", 5_000), load("disposer", 900))
    tree = house(*(both if loads is None else loads))
    tree["dwelling"]["loads_complete"] = complete
    plan = plan_of(tree)
    found = assess(plan, Evidence((reading,)), open_edition("2023"), ON)
    return finding_of(found, "capacity.spot_reading.evening")


def bound_of(finding):
    lines = {line.label: line for line in finding.working.lines}
    return lines["bound from above"]


def test_with_every_large_load_on_it_bounds_the_higher_leg_and_never_says_yes():
    # the disposer, under 1,000 VA, need not run
    found = spot(read())
    assert bound_of(found).amount == 60
    assert found.outcome is Outcome.CANNOT_TELL
    assert "never says yes" in found.next


@pytest.mark.parametrize(
    ("reading", "complete", "why"),
    [
        (read(running=("load_0",)), True, "not said to have run: load_1"),
        (read(lasted_s=None), True, "for how long"),
        (read(lasted_s=179.0), True, "less than 3 minutes"),
        (read(leg_b_a=None), True, "the other leg was not read"),
        (read(), False, "every large load is listed"),
    ],
)
def test_with_anything_less_there_is_no_bound_and_the_reason_is_said(
    reading, complete, why
):
    line = bound_of(spot(reading, complete))
    assert line.amount is None
    assert why in line.source


def test_three_minutes_are_enough_for_the_inrush():
    assert bound_of(spot(read(lasted_s=180.0))).amount == 60


def test_of_heating_and_cooling_only_the_larger_need_run():
    loads = (
        load("central electric heat", 9_600),
        load("central cooling", 4_800, motor_current="18 A"),
    )
    found = spot(read(running=("load_0",)), loads=loads)
    assert bound_of(found).amount == 60


@pytest.mark.parametrize(
    ("neutral_a", "words"),
    [
        # The legs differ by 10 A; room is 3 % of 60 + 50 + neutral, and 1 A:
        # above to 14.3 / 0.97 = 14.74 A, below to 5.7 / 1.03 = 5.53 A.
        (10.0, "agrees"),
        (14.7, "agrees"),
        (14.8, "more than"),
        (5.6, "agrees"),
        (5.5, "less than"),
    ],
)
def test_the_neutral_checks_the_legs(neutral_a, words):
    assert words in spot(read(neutral_a=neutral_a)).next


def test_a_neutral_that_carries_too_little_points_at_a_path_beside_it():
    assert "beside the neutral" in spot(read(neutral_a=0.0)).next


def test_the_stated_accuracy_of_the_clamp_counts():
    # at 1 %: 1.2 A and 1 A of room
    assert "more than" in spot(read(neutral_a=12.5, accuracy_fraction=0.01)).next
    assert "agrees" in spot(read(neutral_a=12.5)).next


def test_the_imbalance_of_the_legs_is_a_line():
    # 10 / 110
    lines = {line.label: line.amount for line in spot(read()).working.lines}
    assert lines["imbalance of the legs"] == pytest.approx(10 / 110)


@pytest.mark.parametrize(
    ("lasted_s", "words"), [(899.0, "once it lasts"), (900.0, "than the rating.")]
)
def test_a_reading_too_high_is_proof_only_when_it_lasts(lasted_s, words):
    found = spot(read(leg_a_a=190.0, lasted_s=lasted_s))
    assert found.outcome is Outcome.FALLS_SHORT
    assert words in found.next


def test_legs_that_carry_nothing_are_no_division_by_nought():
    assert spot(read(leg_a_a=0.0, leg_b_a=0.0)).outcome is Outcome.CANNOT_TELL
