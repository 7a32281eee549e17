"""The one comparison with a limit, at every edge, and the outcomes it gives."""

from __future__ import annotations

import math

import pytest

from lugbook.finding import (
    Citation,
    Finding,
    Line,
    Outcome,
    Status,
    Weight,
    Working,
    compare,
    worst,
)

MEETS, NARROW = Outcome.MEETS, Outcome.NARROW
SHORT, UNTOLD = Outcome.FALLS_SHORT, Outcome.CANNOT_TELL


@pytest.mark.parametrize(
    ("found", "outcome"),
    [
        (0, MEETS),
        (189.9, MEETS),
        (190, MEETS),  # room of 10 is 5 % of 200: not within it
        (190.1, NARROW),
        (199.9, NARROW),
        (200, NARROW),
        (200.1, SHORT),
        (-5, MEETS),
    ],
)
def test_at_most_a_limit_of_200(found, outcome):
    assert compare(found=found, limit=200).outcome is outcome


@pytest.mark.parametrize(
    ("found", "outcome"),
    [(99.9, SHORT), (100, NARROW), (104.9, NARROW), (105, MEETS), (105.1, MEETS)],
)
def test_at_least_a_limit_of_100(found, outcome):
    assert compare(found=found, limit=100, direction="at least").outcome is outcome


@pytest.mark.parametrize(
    ("found", "outcome"),
    [(69.9, MEETS), (70, MEETS), (70.1, NARROW), (75, NARROW), (75.1, SHORT)],
)
def test_temperatures_are_narrow_within_5_k(found, outcome):
    assert compare(found=found, limit=75, kind="kelvin").outcome is outcome


@pytest.mark.parametrize(
    ("found", "outcome"), [(99.9, MEETS), (100, MEETS), (100.1, SHORT)]
)
def test_a_choice_from_a_series_has_no_narrow(found, outcome):
    assert compare(found=found, limit=100, kind="series").outcome is outcome


@pytest.mark.parametrize(
    ("found", "uncertainty", "outcome"),
    [
        (185, 14.9, MEETS),  # room of 15
        (185, 15.1, NARROW),
        (191, 1, NARROW),  # 5 % of 200 is the wider
        (150, math.nan, UNTOLD),
        (150, math.inf, UNTOLD),
    ],
)
def test_uncertainty_widens_narrow_and_never_helps(found, uncertainty, outcome):
    assert compare(found=found, limit=200, uncertainty=uncertainty).outcome is outcome


@pytest.mark.parametrize(
    "senseless", [None, math.nan, math.inf, -math.inf, True, False]
)
@pytest.mark.parametrize("direction", ["at most", "at least"])
@pytest.mark.parametrize("kind", ["fraction", "kelvin", "series"])
def test_what_is_no_finite_number_cannot_be_told(senseless, direction, kind):
    for found, limit in ((senseless, 100), (100, senseless), (senseless, senseless)):
        answer = compare(found=found, limit=limit, direction=direction, kind=kind)
        assert (answer.outcome, answer.margin) == (UNTOLD, None)


@pytest.mark.parametrize(
    ("found", "outcome"), [(-0.1, MEETS), (0, MEETS), (0.1, SHORT)]
)
def test_a_limit_of_zero(found, outcome):
    assert compare(found=found, limit=0).outcome is outcome


@pytest.mark.parametrize(
    ("found", "outcome"),
    # narrow within 5 % of 20
    [(-21.1, MEETS), (-21, MEETS), (-20.9, NARROW), (-20, NARROW), (-19.9, SHORT)],
)
def test_a_negative_limit_keeps_its_direction(found, outcome):
    assert compare(found=found, limit=-20).outcome is outcome


def test_rounding_of_binary_fractions_is_no_shortfall():
    # 0.1 + 0.2 is 4e-17 over 0.3; one part in 10^8 over is a shortfall
    assert compare(found=0.1 + 0.2, limit=0.3).outcome is NARROW
    assert compare(found=0.3 * (1 + 1e-8), limit=0.3).outcome is SHORT


@pytest.mark.parametrize(
    ("direction", "margin"), [("at most", 15.0), ("at least", -15.0)]
)
def test_the_margin_is_the_room_left(direction, margin):
    assert compare(found=85, limit=100, direction=direction).margin == margin


@pytest.mark.parametrize(
    ("outcomes", "expected"),
    [
        ((), UNTOLD),  # nothing was looked at
        ((MEETS,), MEETS),
        ((MEETS, Outcome.NOT_REQUIRED), MEETS),
        ((MEETS, NARROW), NARROW),
        ((NARROW, UNTOLD, MEETS), UNTOLD),
        ((UNTOLD, SHORT, MEETS), SHORT),
    ],
)
def test_the_gravest_outcome_leads(outcomes, expected):
    assert worst(outcomes) is expected
    assert worst(outcomes[::-1]) is expected


def _cited(status, locator="1"):
    return Citation("nfpa70-2023", locator, status)


def test_a_finding_has_the_weakest_status_it_rests_on():
    lines = (
        Line("a", 1, source=_cited(Status.FROM_MEMORY)),
        Line("b", 2, source="plan"),
    )
    finding = Finding(
        id="x",
        question="?",
        outcome=MEETS,
        weight=Weight.MUST,
        citation=_cited(Status.CONFIRMED),
        working=Working("w", lines),
    )
    assert finding.status is Status.FROM_MEMORY
    assert finding.statuses() == {Status.FROM_MEMORY, Status.CONFIRMED}


def test_a_finding_without_a_book_has_no_status():
    plain = Finding(id="x", question="?", outcome=MEETS, weight=Weight.ADVICE)
    assert plain.status is None


def test_a_working_cites_each_place_once_in_order():
    one, two = _cited(Status.CONFIRMED, "1"), _cited(Status.CONFIRMED, "2")
    lines = tuple(Line("x", 1, source=source) for source in (two, "plan", one, two))
    assert Working("w", lines).citations() == (two, one)


def test_a_citation_prints_book_edition_and_clause():
    amended = Citation("nfpa70-2023", "220.82", Status.CONFIRMED, amended_by="Town 3")
    assert str(amended) == "NFPA 70-2023 220.82, amended: Town 3"
