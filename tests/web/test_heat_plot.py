"""The heat plot: everything on it stands where its temperature says."""

from __future__ import annotations

from pathlib import Path

import pytest

from lugbook import actions
from lugbook.web.pages.check import check_page
from lugbook.web.pages.heat_plot import heat_plots

DEMO = Path(__file__).parents[2] / "examples" / "potters_house" / "plan.toml"


@pytest.fixture(scope="module")
def found():
    return actions.check(DEMO, edition="2023").forecast


def test_there_is_a_wide_and_a_narrow_plot(found):
    assert [plot.kind for plot in heat_plots(found)] == ["wide", "narrow"]


def test_nothing_is_drawn_without_a_forecast():
    assert heat_plots(None) == ()


@pytest.mark.parametrize("place", [0, 1])
def test_every_mark_lies_on_the_scale_in_the_order_of_its_temperatures(found, place):
    plot = heat_plots(found)[place]
    for bar in plot.bars:
        ordered = (plot.left, bar.ambient_x, bar.low_x, bar.middle_x, bar.high_x)
        assert list(ordered) == sorted(ordered), bar.label
        assert max(bar.high_x, bar.limit_x) <= plot.right + 1e-9, bar.label


def test_the_point_with_the_least_room_is_on_top(found):
    bars = heat_plots(found)[0].bars
    per_k = (bars[0].limit_x - bars[0].middle_x) / (75 - 73.2)
    rooms_k = [(bar.limit_x - bar.middle_x) / per_k for bar in bars]
    assert rooms_k == sorted(rooms_k)
    assert bars[0].label == "breaker's lugs"


def test_ticks_stand_at_the_temperature_they_name(found):
    plot = heat_plots(found)[0]
    (first_x, first), (last_x, last) = plot.ticks[0], plot.ticks[-1]
    lugs = next(bar for bar in plot.bars if bar.label == "breaker's lugs")
    at_75 = first_x + (75 - int(first)) * (last_x - first_x) / (int(last) - int(first))
    assert lugs.limit_x == pytest.approx(at_75)


def test_the_page_shows_every_point_and_every_setting(found):
    status, page = check_page(DEMO, "", "2023")
    assert status == 200
    assert 'id="forecast"' in page
    for point in found.points:
        assert point.name[1:].replace("'", "&#39;") in page
    assert page.count("kWh</td>") == len(found.settings)
