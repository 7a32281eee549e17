"""The page of the charging need, on the demo's plan."""

from __future__ import annotations

import re

import pytest
from fastapi.testclient import TestClient
from tests.web.pages.page_reading import DEMO, ROOT, client_of, text_of

from lugbook import actions
from lugbook.web.pages.need_plot import need_plots

SMALLEST = ROOT / "examples" / "smallest" / "plan.toml"


@pytest.fixture(scope="module")
def demo() -> TestClient:
    return client_of(DEMO)


def test_the_page_shows_what_the_action_found(demo):
    answer = demo.get("/need")
    found = actions.need(DEMO)
    text = text_of(answer.text)
    assert answer.status_code == 200
    assert found.sentence in text
    for each in found.assumptions:
        assert each.text in text.replace("\N{NO-BREAK SPACE}", " ")
    assert answer.text.count('<tr class="row"') >= len(found.settings)


def test_the_plot_has_a_dot_a_setting_at_its_mornings():
    found = actions.need(DEMO)
    for plot in need_plots(found):
        assert len(plot.steps) == len(found.settings)
        ticks = dict((text, x) for x, text in plot.ticks)
        for step, each in zip(plot.steps, found.settings, strict=True):
            share = each.mornings_missed_per_year / float(plot.ticks[-1][1])
            x = ticks["0"] + share * (plot.ticks[-1][0] - ticks["0"])
            assert step.x == pytest.approx(x)
            assert 0 <= step.x <= plot.width
            assert step.serves is each.serves
        assert [step.label for step in plot.steps if step.smallest] == [
            "32 A, smallest"
        ]


def test_a_setting_asked_for_that_is_the_smallest_says_both(tmp_path):
    path = tmp_path / "plan.toml"
    text = DEMO.read_text(encoding="utf-8")
    path.write_text(
        text.replace('setting = "80 A"', 'setting = "32 A"'), encoding="utf-8"
    )
    labels = [step.label for step in need_plots(actions.need(path))[0].steps]
    assert "32 A, smallest and asked for" in labels


def test_a_plan_without_cars_says_what_to_look_for():
    answer = client_of(SMALLEST).get("/need")
    assert answer.status_code == 200
    assert "cannot tell" in text_of(answer.text)
    assert "odometer" in text_of(answer.text)
    assert '<svg class="plot' not in answer.text
    assert need_plots(actions.need(SMALLEST)) == ()


def test_an_edition_that_is_not_held_is_refused(demo):
    assert demo.get("/need?edition=1999").status_code == 422


def test_an_edition_asked_for_is_shown(demo):
    assert "2017 edition" in text_of(demo.get("/need?edition=2017").text).replace(
        "\N{NO-BREAK SPACE}", " "
    )


def test_hours_of_another_price_are_shown(tmp_path):
    path = tmp_path / "plan.toml"
    base = "price_per_kwh = 0.17\n"
    window = (
        '\n[[tariff.windows]]\nstarts = "23:00"\nends = "06:00"\nprice_per_kwh = 0.09\n'
    )
    path.write_text(
        DEMO.read_text(encoding="utf-8").replace(base, base + window),
        encoding="utf-8",
    )
    text = text_of(client_of(path).get("/need").text)
    assert "in cheapest hours" in text
    assert re.search(r"\d at once", text)


def test_the_first_page_leads_there(demo):
    assert 'href="/need"' in demo.get("/").text
