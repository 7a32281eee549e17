"""Which tool can set a torque, and readings that look like another unit."""

from __future__ import annotations

from datetime import date

import pytest

from lugbook.assess.torque_tools import (
    best_use,
    question_reading,
    tool_use,
)
from lugbook.codebook.edition import open_edition
from lugbook.finding import Outcome
from lugbook.premises.plan import parse_plan
from lugbook.quantities import Quantity, read

LIMITS = open_edition("2026", book="product_limits")
ON = date(2026, 11, 25)


def newton_metres(text):
    return read(text, Quantity.TORQUE, field="torque").amount


def wrench(**fields):
    stated = {
        "smallest": '"20 lbf·in"',
        "largest": '"600 lbf·in"',
        "reads_in": '"lbf·in"',
        "calibrated": "2026-03-01",
        **fields,
    }
    lines = [f"{key} = {text}" for key, text in stated.items() if text]
    text = "\n".join(["schema = 1", "[[wrenches]]", 'id = "own"', *lines])
    return parse_plan(text).wrenches[0]


def use_of(target, on=ON, **fields):
    return tool_use(
        wrench=wrench(**fields), target_n_m=newton_metres(target), limits=LIMITS, on=on
    )


# Common practice, no source: with a 20 to 600 lbf·in wrench, 35 and 60 lbf·in are
# under a fifth of its scale and 200 is in its good range.
@pytest.mark.parametrize(
    ("target", "outcome"),
    [
        ("35 lbf·in", Outcome.FALLS_SHORT),
        ("60 lbf·in", Outcome.FALLS_SHORT),
        ("119.9 lbf·in", Outcome.FALLS_SHORT),
        ("120 lbf·in", Outcome.MEETS),
        ("200 lbf·in", Outcome.MEETS),
        ("600 lbf·in", Outcome.MEETS),
        ("600.1 lbf·in", Outcome.FALLS_SHORT),
        ("19 lbf·in", Outcome.FALLS_SHORT),
    ],
)
def test_a_large_wrench_is_good_from_a_fifth_of_its_scale(target, outcome):
    assert use_of(target).in_range is outcome


def test_below_its_scale_is_said_even_where_a_fifth_of_it_would_be_lower():
    use = use_of("30 lbf·in", smallest='"40 lbf·in"', largest='"100 lbf·in"')
    assert use.why == "30 lbf·in is below its scale"


def test_a_torque_is_told_in_the_tools_own_unit():
    # 35 lbf·in is 3.95 N·m by 0.112985 N·m to the lbf·in.
    assert use_of("35 lbf·in", reads_in='"N·m"').why.startswith("3.95 N·m")


@pytest.mark.parametrize("left_out", ["smallest", "largest"])
def test_a_scale_that_is_not_stated_cannot_be_judged(left_out):
    use = use_of("200 lbf·in", **{left_out: ""})
    assert use.outcome is Outcome.CANNOT_TELL


@pytest.mark.parametrize(
    ("on", "outcome"),
    [
        (date(2027, 2, 28), Outcome.MEETS),
        (date(2027, 3, 1), Outcome.MEETS),
        (date(2027, 3, 2), Outcome.FALLS_SHORT),
        (date(2026, 2, 28), Outcome.CANNOT_TELL),  # before its calibration
    ],
)
def test_a_calibration_holds_for_twelve_months(on, outcome):
    assert use_of("200 lbf·in", on=on).calibrated is outcome


def test_a_calibration_on_a_leap_day_ends_with_february():
    fields = {"calibrated": "2024-02-29"}
    assert use_of("200 lbf·in", on=date(2025, 2, 28), **fields).calibrated is (
        Outcome.MEETS
    )
    assert use_of("200 lbf·in", on=date(2025, 3, 1), **fields).calibrated is (
        Outcome.FALLS_SHORT
    )


@pytest.mark.parametrize(
    ("uses", "outcome"),
    [("4999", "meets"), ("5000", "meets"), ("5001", "falls_short")],
)
def test_a_calibration_holds_for_five_thousand_uses(uses, outcome):
    assert use_of("200 lbf·in", cycles_since_calibration=uses).calibrated == outcome


def test_without_a_day_of_calibration_nothing_passes():
    assert use_of("200 lbf·in", calibrated="").outcome is Outcome.CANNOT_TELL


def test_the_tool_in_its_good_range_goes_before_the_one_lately_calibrated():
    large = use_of("50 lbf·in")
    small = use_of("50 lbf·in", largest='"60 lbf·in"', calibrated="")
    assert best_use((large, small)) is small
    assert best_use(()) is None


# --- readings in another unit ---------------------------------------------------

# By hand: 1 lbf·ft is 12 lbf·in, 1 N·m is 8.8507 lbf·in, 1 lbf·ft is 1.3558 N·m.
MIXED = [
    ("50 lbf·ft", "50 lbf·in", "12 times the target"),
    ("50 lbf·in", "50 lbf·ft", "1/12 of the target"),
    ("50 N·m", "50 lbf·in", "8.85 times the target"),
    ("50 lbf·in", "50 N·m", "1/8.85 of the target"),
    ("50 lbf·ft", "50 N·m", "1.36 times the target"),
    ("50 N·m", "50 lbf·ft", "1/1.36 of the target"),
]


@pytest.mark.parametrize(("reading", "target", "said"), MIXED)
@pytest.mark.parametrize("off", [0.951, 1.0, 1.049])
def test_a_reading_near_a_ratio_of_units_is_asked_about(reading, target, said, off):
    question = question_reading(
        target_n_m=newton_metres(target), reading_n_m=off * newton_metres(reading)
    )
    assert question is not None
    assert said in question


@pytest.mark.parametrize(("reading", "target", "_said"), MIXED)
@pytest.mark.parametrize("off", [0.949, 1.051])
def test_a_reading_further_off_is_not(reading, target, _said, off):
    question = question_reading(
        target_n_m=newton_metres(target), reading_n_m=off * newton_metres(reading)
    )
    assert question is None


@pytest.mark.parametrize("share", [0.8, 0.94, 1.0, 1.06, 1.1, 1.25, 2.0, 5.0])
def test_an_ordinary_reading_is_not_asked_about(share):
    assert question_reading(target_n_m=5.65, reading_n_m=5.65 * share) is None


def test_target_and_reading_in_another_unit_together_ask_the_same():
    # Relation 27: only the ratio counts, whatever unit both are in.
    for scale in (0.112985, 1.0, 1.3558):
        asked = question_reading(target_n_m=5 * scale, reading_n_m=60 * scale)
        assert asked is not None
        assert "12 times" in asked


@pytest.mark.parametrize("senseless", [0.0, -5.0, float("nan")])
def test_a_senseless_reading_asks_nothing(senseless):
    assert question_reading(target_n_m=5.65, reading_n_m=senseless) is None
