"""How a point is judged: boundaries, and independent uncertainties by hand."""

from __future__ import annotations

import math

import pytest

from lugbook.assess.forecast_parts import (
    Limit,
    Warmed,
    combined,
    finding_of,
    judged,
    point_of,
    shifted,
)
from lugbook.finding import Outcome, Weight
from lugbook.physics.contact import PriorRange


def warmed(low_c, middle_c, high_c, limit_c=75.0, hopeful_c=None):
    return Warmed(
        id="terminal.breaker",
        name="the breaker's lugs",
        kind="terminal",
        current_a=48.0,
        ambient_c=30.0,
        span=PriorRange(low_c, middle_c, high_c),
        limit=Limit(limit_c, limit_c if hopeful_c is None else hopeful_c, (), None),
    )


@pytest.mark.parametrize(
    ("middle_c", "outcome"),
    [
        (69.99, Outcome.MEETS),  # just under 5 K of room
        (70.0, Outcome.MEETS),
        (70.01, Outcome.NARROW),
        (75.0, Outcome.NARROW),
        (75.01, Outcome.FALLS_SHORT),
    ],
)
def test_narrow_begins_5_k_below_the_limit(middle_c, outcome):
    assert judged(warmed(middle_c, middle_c, middle_c)).outcome is outcome


@pytest.mark.parametrize(
    ("half_k", "outcome"), [(9.9, Outcome.MEETS), (10.1, Outcome.NARROW)]
)
def test_a_wide_range_is_narrow_as_far_as_its_half_width(half_k, outcome):
    # Middle 65, limit 75: 10 K of room.
    found = judged(warmed(65 - half_k, 65.0, 65 + half_k))
    assert found.outcome is outcome


@pytest.mark.parametrize(
    ("low_c", "weight"),
    [(74.99, Weight.ADVICE), (75.0, Weight.ADVICE), (75.01, Weight.MUST)],
)
def test_only_a_low_end_over_the_limit_makes_it_a_must(low_c, weight):
    finding = finding_of(warmed(low_c, 80.0, 90.0), ())
    assert finding.outcome is Outcome.FALLS_SHORT
    assert finding.weight is weight
    assert (finding.signal is not None) == (weight is Weight.MUST)


def test_an_unread_marking_alone_cannot_condemn():
    assert judged(warmed(60, 65, 68, 60.0, 75.0)).outcome is Outcome.CANNOT_TELL
    assert judged(warmed(60, 76, 80, 60.0, 75.0)).outcome is Outcome.FALLS_SHORT


def test_what_helps_names_the_largest_lower_setting_that_passes():
    lower = [
        Warmed(**{**_facts(warmed(60, 65, 70)), "current_a": a, "span": PriorRange(*s)})
        for a, s in ((24.0, (40, 45, 50)), (32.0, (60, 65, 70)), (40.0, (70, 78, 80)))
    ]
    said = finding_of(warmed(70, 80, 90), lower).next
    assert "charge at 32 A: about 65 °C" in said


def _facts(point):
    return {name: getattr(point, name) for name in Warmed.__slots__}


def test_independent_parts_add_as_squares_by_hand():
    span, drivers = combined(50.0, {"air": (3.0, 6.0), "model": (4.0, 8.0)})
    assert (span.low, span.median, span.high) == (45.0, 50.0, 60.0)  # 3-4-5, 6-8-10
    assert drivers == ("model", "air")


def test_a_part_without_width_drives_nothing():
    assert combined(50.0, {"air": (0.0, 0.0)})[1] == ()


def test_a_range_shifted_by_one_more_part_by_hand():
    span = shifted(PriorRange(47.0, 50.0, 56.0), 4.0, 8.0)
    assert (span.low, span.median, span.high) == (45.0, 50.0, 60.0)


def test_what_runs_away_is_over_the_ceiling_and_never_a_number():
    away = warmed(math.inf, math.inf, math.inf)
    point, finding = point_of(away), finding_of(away, ())
    assert (point.low_c, point.middle_c, point.high_c) == (None, None, None)
    assert finding.outcome is Outcome.FALLS_SHORT
    assert finding.weight is Weight.MUST
    assert finding.found == "over 150 °C"


def test_a_point_without_a_limit_asks_nothing():
    free = Warmed("surface.attic", "the raceway", "surface", 48.0)
    assert finding_of(free, ()) is None
    assert point_of(free).outcome is None
