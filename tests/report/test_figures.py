import pytest

from lugbook.finding import Finding, Outcome, Weight
from lugbook.report.figures import (
    amount_text,
    finding_texts,
    load_and_limit,
    proven_text,
    setting_text,
)


def finding(found, limit, unit, margin=None):
    return Finding(
        id="x",
        question="?",
        outcome=Outcome.MEETS,
        weight=Weight.MUST,
        found=found,
        limit=limit,
        unit=unit,
        margin=margin,
    )


@pytest.mark.parametrize(
    ("amount", "expected"),
    [
        (0.0, "0"),
        (0.0002452, "0.0002452"),
        (0.4, "0.4"),
        (1234567.4, "1,234,567"),
        (-4.166666, "−4.16667"),
        ("2 AWG", "2 AWG"),
        (None, "unknown"),
        (3, "3"),
    ],
)
def test_a_figure_of_a_working_keeps_six_figures(amount, expected):
    assert amount_text(amount) == expected


@pytest.mark.parametrize(
    ("found_a", "limit_a", "expected"),
    [
        (199.99, 200.0, ("199.99 A", "200 A")),  # would round up to the limit
        (200.0, 200.0, ("200 A", "200 A")),
        (200.01, 200.0, ("200.1 A", "200 A")),  # a load is rounded up
        (156.11, 200.0, ("156.2 A", "200 A")),
        (87.44, 87.46, ("87.44 A", "87.46 A")),
    ],
)
def test_a_load_and_its_limit_never_contradict_the_verdict(found_a, limit_a, expected):
    assert load_and_limit(found_a, limit_a) == expected


def test_what_must_be_at_most_is_rounded_up_and_its_limit_down():
    assert finding_texts(finding(80.01, 87.49, "A", margin=7.48)) == (
        "80.1 A",
        "87.4 A",
    )


def test_what_must_be_at_least_is_rounded_down_and_its_demand_up():
    # An ampacity found, against what is asked of it: the margin is on the other side.
    assert finding_texts(finding(87.49, 80.01, "A", margin=7.48)) == (
        "87.4 A",
        "80.1 A",
    )


def test_what_misses_a_least_amount_is_rounded_down_too():
    assert finding_texts(finding(80.09, 87.41, "A", margin=-7.32)) == (
        "80 A",
        "87.5 A",
    )


@pytest.mark.parametrize(
    ("found", "limit", "unit", "expected"),
    [
        (2.9999, 3.0, "%", ("2.9999 %", "3 %")),
        (2.0, 3.0, "%", ("2 %", "3 %")),
        (3.0, 3.0, "%", ("3 %", "3 %")),
        (4.0, 2.0, "", ("4", "2")),
    ],
)
def test_units_nobody_types_are_told_apart_as_well(found, limit, unit, expected):
    assert finding_texts(finding(found, limit, unit)) == expected


def test_text_and_missing_amounts_are_shown_as_they_are():
    assert finding_texts(finding("3 AWG", None, "")) == ("3 AWG", "")
    assert finding_texts(finding(None, 200.0, "A")) == ("", "200 A")


def test_a_setting_that_does_not_exist_is_said_so():
    assert setting_text(None) == "none"
    assert setting_text(32.0) == "32 A"
    assert proven_text(None) == "none proven"
    assert proven_text(32.5) == "32.5 A"
