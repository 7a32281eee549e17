"""The forecast on a terminal: the least room first, settings compared, cut to fit."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import jsonschema
import pytest

from lugbook import actions
from lugbook.report.as_json import as_json
from lugbook.report.figures import range_text
from lugbook.report.forecast_tables import by_margin, forecast_section, spread_out
from lugbook.report.paper import Paper

ROOT = Path(__file__).parents[2]
DEMO = ROOT / "examples" / "potters_house" / "plan.toml"


@pytest.fixture(scope="module")
def demo():
    return actions.check(DEMO, edition="2023")


def test_the_least_room_stands_first_and_points_without_a_limit_are_left_out(demo):
    shown = by_margin(demo.forecast.points)
    margins = [point.margin_k for point in shown]
    assert margins == sorted(margins)
    assert "surface.attic" not in {point.id for point in shown}


@pytest.mark.parametrize(
    ("count", "shown"),
    [(1, [1]), (4, [1, 2, 3, 4]), (10, [1, 4, 7, 10])],
)
def test_a_few_settings_stand_for_many_and_the_largest_is_among_them(count, shown):
    assert list(spread_out(range(1, count + 1))) == shown


def test_with_room_there_is_a_table_of_points_and_one_of_settings(demo):
    lines = list(forecast_section(demo, Paper(), most=12))
    assert len(lines) <= 16
    assert any("breaker's lugs" in line and "75 °C" in line for line in lines)
    assert any(line.strip().startswith("80 A") for line in lines)


def test_without_room_two_sentences_say_it(demo):
    lines = list(forecast_section(demo, Paper(), most=1))
    assert len(lines) <= 4
    assert "Forecast at 80 A" in " ".join(lines)


def test_everything_is_shown_where_nothing_is_cut(demo):
    text = "\n".join(forecast_section(demo, Paper()))
    for point in by_margin(demo.forecast.points):
        assert point.name.split()[1] in text
    for outlook in demo.forecast.settings:
        assert f"{outlook.setting_a:g} A" in text


def test_an_assessment_without_a_forecast_has_no_such_section(demo):
    assert list(forecast_section(replace(demo, forecast=None), Paper())) == []


def test_a_forecast_fits_the_published_shape(demo):
    schema = json.loads(
        (ROOT / "docs" / "reference" / "assessment.schema.json").read_text("utf-8")
    )
    jsonschema.validate(as_json(demo), schema)


def test_a_point_that_settles_nowhere_says_so(demo):
    point = demo.forecast.points[0]
    assert range_text(replace(point, high_c=None)).endswith("to over 150 °C")
    away = replace(point, low_c=None, middle_c=None, high_c=None)
    assert range_text(away) == "over 150 °C"
