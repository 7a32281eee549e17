"""What each method says, proves and assumes, and why they differ."""

from __future__ import annotations

from dataclasses import replace

import pytest
from houses import house, judged, load, rows_of

from lugbook.assess.capacity_words import (
    METHOD_TITLES,
    method_texts,
    why_they_differ,
)
from lugbook.finding import Outcome


@pytest.fixture(scope="module")
def rows():
    return rows_of(house(load("range", 12_000)))


def test_each_method_shown_has_its_texts_in_reading_order(rows):
    texts = method_texts(rows)
    assert [each.method for each in texts] == list(METHOD_TITLES)
    for each in texts:
        for said in (each.says, each.proves, each.assumes):
            assert said.endswith(".")
    assert method_texts(()) == ()


def test_methods_that_agree_need_no_reason(rows):
    assert why_they_differ(rows, None) == ()


def outcomes(rows, **said):
    """Return the rows with other outcomes for a method and charger."""
    return tuple(
        replace(
            row,
            outcome=said.get(f"{row.method}_{row.interpretation.charger}", row.outcome),
        )
        for row in rows
    )


@pytest.mark.parametrize(
    ("said", "words"),
    [
        ({"optional_outside": Outcome.FALLS_SHORT}, "inside the demand factor"),
        ({"standard_outside": Outcome.FALLS_SHORT}, "standard method comes to"),
    ],
)
def test_where_two_readings_part_the_reason_is_said_with_both_figures(
    rows, said, words
):
    sentences = why_they_differ(outcomes(rows, **said), None)
    assert any(words in each for each in sentences)


def test_heating_and_cooling_left_out_is_named_where_only_that_passes(rows):
    part = tuple(
        replace(row, outcome=Outcome.FALLS_SHORT)
        if row.method == "existing" and row.interpretation.hvac == "counted"
        else row
        for row in rows
    )
    assert any("left out" in each for each in why_they_differ(part, None))


def test_a_record_is_laid_beside_what_is_counted():
    # optional: 9,000 + 12,000: 10,000 + 0.4 × 11,000 = 14.4 kVA; record 10 kVA,
    # 12.5 with the quarter
    tree = house(
        load("range", 12_000),
        demand_record={
            "maximum": "10 kVA",
            "days": 365,
            "averaged_over": "15 min",
            "continuous": True,
        },
    )
    (sentence,) = judged(tree).differences
    assert "10.0 kVA at the highest, 12.5 kVA with the quarter" in sentence


def test_a_method_that_is_not_permitted_is_not_compared(rows):
    barred = tuple(
        replace(row, permitted=False) if row.method == "standard" else row
        for row in outcomes(rows, standard_outside=Outcome.FALLS_SHORT)
    )
    assert why_they_differ(barred, None) == ()
