"""The charging need on paper and as JSON."""

from __future__ import annotations

import json
import re
from dataclasses import replace
from pathlib import Path

import pytest

from lugbook import actions, cli
from lugbook.report.need_json import need_json_text
from lugbook.report.need_text import count_text, need_text
from lugbook.report.paper import Paper, cells

ROOT = Path(__file__).resolve().parents[2]
DEMO = ROOT / "examples" / "potters_house" / "plan.toml"
SMALLEST = ROOT / "examples" / "smallest" / "plan.toml"
PAGE = ROOT / "docs" / "reference" / "need-json.md"
WINDOW = (
    '\n[[tariff.windows]]\nstarts = "23:00"\nends = "06:00"\nprice_per_kwh = 0.09\n'
)


@pytest.fixture(scope="module")
def found():
    return actions.need(DEMO)


@pytest.fixture(scope="module")
def timed(tmp_path_factory):
    path = tmp_path_factory.mktemp("need") / "plan.toml"
    text = DEMO.read_text(encoding="utf-8")
    window = "price_per_kwh = 0.17\n"
    path.write_text(text.replace(window, window + WINDOW), encoding="utf-8")
    return actions.need(path)


@pytest.mark.parametrize("width", [40, 80, 100])
@pytest.mark.parametrize("encoding", ["utf-8", "ascii"])
def test_no_line_is_wider_than_the_paper(found, timed, width, encoding):
    paper = Paper(width, encoding)
    for result in (found, timed, actions.need(SMALLEST)):
        for working in (False, True):
            text = need_text(result, paper, working=working)
            assert max(cells(line) for line in text.split("\n")) <= width
            text.encode(encoding)


def test_the_demo_says_the_setting_and_what_the_next_smaller_misses(found):
    text = " ".join(need_text(found, Paper()).split())
    assert "32 A has the car ready every morning" in text
    assert "the next smaller, 24 A, misses 62 mornings a year" in text
    assert re.search(
        r"The plan asks for 80 A: 32 A serves as well and makes \d+ %", text
    )
    assert "ordinary night: 47.5 kWh in 11.5 h" in text
    assert "The winter factor holds for 12 weeks a year" in text
    assert "cheap" not in text.replace("cheapest fill", "")


def test_a_house_without_a_name_begins_with_the_edition(found):
    assert need_text(replace(found, name=""), Paper()).startswith("NFPA 70-")


def test_every_setting_has_a_row_with_its_figures(found):
    text = need_text(found, Paper(100))
    for each in found.settings:
        row = re.search(rf"^ *{each.setting_a:g} A +(\d+) ", text, flags=re.MULTILINE)
        assert row
        assert row[1] == f"{each.mornings_missed_per_year:.0f}"


def test_the_working_prints_the_closed_form_and_the_rules(found):
    text = " ".join(need_text(found, Paper(), working=True).split())
    assert "Current that each kind of night asks" in text
    assert "What the code asks at 32 A" in text
    assert "NFPA 70-2023" in text


def test_hours_of_another_price_add_their_columns_and_a_sentence(timed):
    text = " ".join(need_text(timed, Paper(100)).split())
    assert "In each night's cheapest hours alone it takes 56 A." in text
    assert "at once" in text


def test_what_is_missing_is_asked_for_with_where_to_look():
    text = need_text(actions.need(SMALLEST), Paper())
    assert "cannot be told yet" in text
    assert "Look: the odometer" in text


@pytest.mark.parametrize(
    ("count", "words"), [(None, "unknown"), (0.0, "0"), (0.4, "<1"), (1.0, "1")]
)
def test_a_mean_of_less_than_one_is_not_shown_as_none(count, words):
    assert count_text(count) == words


def keys_of(tree):
    if isinstance(tree, dict):
        for key, below in tree.items():
            yield key
            yield from keys_of(below)
    elif isinstance(tree, list):
        for each in tree:
            yield from keys_of(each)


def test_every_key_of_the_json_is_described(found, timed):
    page = PAGE.read_text(encoding="utf-8")
    for result in (found, timed, actions.need(SMALLEST)):
        for key in set(keys_of(json.loads(need_json_text(result)))):
            assert f"`{key}`" in page, key


def test_the_json_holds_what_others_rely_on(found):
    tree = json.loads(need_json_text(found))
    assert tree["smallest_setting_a"] == 32
    assert len(tree["settings"]) == 10
    for each in tree["settings"]:
        assert {
            "setting_a",
            "mornings_missed_per_year",
            "energy_kwh",
            "cost",
            "loss_kwh",
        } <= set(each)
    assert "together" in tree


def test_the_json_passes_on_what_is_reckoned_together(found):
    tree = json.loads(need_json_text(found, {"replays": 1}))
    assert tree["together"] == {"replays": 1}


def test_plain_json_is_ascii(found):
    need_json_text(found, ascii_only=True).encode("ascii")


@pytest.mark.parametrize(
    ("change", "status"),
    [
        (("", ""), 0),
        (('leaves_at = "06:00"', 'leaves_at = "18:45"'), 1),
        (('home_at = "18:30"\n', ""), 3),
        (('"95 mi"', '"95 furlongs"'), 2),
    ],
)
def test_the_exit_status_says_whether_a_setting_serves(
    tmp_path, capsys, change, status
):
    path = tmp_path / "plan.toml"
    path.write_text(DEMO.read_text(encoding="utf-8").replace(*change), encoding="utf-8")
    assert cli.main(["need", str(path)]) == status
    assert capsys.readouterr().out or status == 2


def test_the_command_prints_json_and_takes_an_edition(capsys):
    assert cli.main(["need", str(DEMO), "--json", "--edition", "2017"]) == 0
    tree = json.loads(capsys.readouterr().out)
    assert tree["edition"] == "nfpa70-2017"
