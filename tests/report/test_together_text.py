"""The section on house and charging nights together, as text and as JSON."""

import json
from pathlib import Path

import numpy as np
import pytest

from lugbook import actions
from lugbook.assess.need import need
from lugbook.assess.together import together, without_record
from lugbook.demand.cleaning import Record
from lugbook.demand.clock import open_zone
from lugbook.premises.plan import read_plan
from lugbook.readings.evidence import UnreadFile
from lugbook.report.paper import Paper, cells
from lugbook.report.together_json import together_tree
from lugbook.report.together_text import shown_rows, together_text
from lugbook.web.pages.together import together_section
from lugbook.web.pages.together_plot import together_plots

PLAN = Path(__file__).resolve().parents[2] / "examples" / "potters_house" / "plan.toml"
DOCS = Path(__file__).resolve().parents[2] / "docs" / "reference" / "need-json.md"


@pytest.fixture(scope="module")
def found():
    """A house of 100 A in the evening, 20 A else, for 40 invented days of June."""
    plan = read_plan(PLAN)
    rules = actions.rules_for(plan)
    count = 40 * 96
    quarter = np.arange(count) % 96
    amperes = np.where((quarter >= 76) & (quarter < 80), 100.0, 20.0)
    record = Record(
        start_s=1_780_290_000 + 900 * np.arange(count, dtype=np.int64),
        duration_s=np.full(count, 900),
        energy_wh=amperes * 240 * 0.95 / 4,
        doubt=np.zeros(count, dtype=np.int64),
        interval_s=900,
        clock=open_zone("America/Chicago"),
    )
    return together(plan, rules, need(plan, rules), record, file="june.csv (invented)")


@pytest.mark.parametrize("width", [40, 80, 100])
def test_the_text_keeps_to_the_paper(found, width):
    text = together_text(found, Paper(width=width), working=True)
    assert max(map(cells, text.splitlines())) <= width


def test_the_text_says_where_the_counts_come_from(found):
    text = together_text(found, Paper())
    assert "june.csv (invented)" in text
    assert "A schedule is not a guarantee: only a hard limit is." in text


def test_rows_that_miss_mornings_are_shown_only_when_asked(found):
    rows = shown_rows(found)
    assert {row.setting_a for row in rows} <= {32.0, 40.0, 48.0, 56.0, 64.0, 72.0, 80.0}
    assert shown_rows(found, every=True) == found.rows
    left_out = len(found.rows) - len(rows)
    said = " ".join(together_text(found, Paper()).split())
    assert f"Left out: {left_out} rows with mornings missed" in said


def test_working_adds_the_closed_form(found):
    text = together_text(found, Paper(width=100), working=True)
    assert "closed form" in text
    assert "closed form" not in together_text(found, Paper(width=100))


def test_every_key_of_the_json_is_documented(found):
    page = DOCS.read_text(encoding="utf-8").partition("`together` holds")[2]
    missing = [key for key in _keys(together_tree(found)) if f"`{key}`" not in page]
    said_above = {
        "id",
        "question",
        "outcome",
        "weight",
        "found",
        "limit",
        "unit",
        "next",
        "text",
        "why",
        "field",
        "look",
    }
    assert set(missing) <= said_above


def _keys(tree):
    if isinstance(tree, dict):
        for key, value in tree.items():
            yield key
            yield from _keys(value)
    elif isinstance(tree, list):
        for value in tree:
            yield from _keys(value)


def test_the_json_holds_only_finite_numbers(found):
    text = json.dumps(together_tree(found), allow_nan=False)
    assert json.loads(text)["settings"][0]["setting_a"] == 16.0


def test_a_plan_without_a_record_has_no_such_part():
    assert together_tree(None) is None
    assert together_section(None) is None


def test_what_cannot_be_told_is_said_in_text_page_and_json():
    untold = without_record([UnreadFile("none.xml", "there is no such file")])
    assert "none.xml cannot be used" in together_text(untold, Paper(width=100))
    assert together_tree(untold)["basis"] is None
    assert "none.xml cannot be used" in together_section(untold)


def test_the_page_shows_every_row_that_serves(found):
    page = together_section(found)
    assert page.count('data-label="Started"') == len(shown_rows(found))
    assert "/explanation/nights" in page


@pytest.mark.parametrize("kind", ["wide", "narrow"])
def test_bars_stand_to_the_limits_as_their_amperes_do(found, kind):
    plot = next(each for each in together_plots(found) if each.kind == kind)
    (low_x, low), (high_x, high) = plot.limits
    assert (low, high) == ("160 A", "200 A")
    for bar, row in zip(plot.bars, shown_rows(found), strict=True):
        assert (bar.most_x > low_x) is (row.highest_a[1] > 160.0)
        assert (bar.most_x > high_x) is (row.highest_a[1] > 200.0)
        assert bar.least_x <= bar.most_x <= plot.right
