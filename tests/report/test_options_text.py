"""The options on paper and as JSON."""

from __future__ import annotations

import json
import re
from dataclasses import replace
from pathlib import Path

import pytest

from lugbook import actions
from lugbook.assess.options_rules import RULES
from lugbook.finding import Outcome
from lugbook.report.options_json import options_json_text
from lugbook.report.options_text import options_text, parts_text
from lugbook.report.paper import Paper, cells

ROOT = Path(__file__).resolve().parents[2]
DEMO = ROOT / "examples" / "potters_house" / "plan.toml"
PAGE = ROOT / "docs" / "reference" / "options-json.md"


@pytest.fixture(scope="module")
def found():
    return actions.options(DEMO)


@pytest.fixture(scope="module")
def chosen(found):
    return actions.parts(DEMO, len(found.pareto), found)


@pytest.mark.parametrize("width", [40, 80, 100])
@pytest.mark.parametrize("encoding", ["utf-8", "ascii"])
def test_no_line_is_wider_than_the_paper(found, chosen, width, encoding):
    paper = Paper(width, encoding)
    for text in (
        options_text(found, paper),
        options_text(found, paper, every_one=True),
        parts_text(*chosen, found, paper),
    ):
        assert max(cells(line) for line in text.split("\n")) <= width
        text.encode(encoding)


def test_the_demo_says_why_it_was_refused_and_what_the_next_ones_cost(found):
    text = " ".join(options_text(found, Paper()).split())
    assert "As stated: 80 A on a 100 A device, 3 AWG copper" in text
    assert "Refused by: the device protects the wire." in text
    assert re.search(r"Cheapest at this setting: .* about [\d,]+ USD", text)
    assert "lower setting, 32 A:" in text
    assert "load management, 80 A:" in text
    assert "larger service, 80 A:" in text
    assert "PRICES ARE INVENTED" in text


def test_a_service_that_cannot_be_told_is_not_said_to_carry_nothing(found):
    told = replace(found, service_largest_a=None, service_untold=False)
    assert "carries no setting tried" in options_text(told, Paper())
    text = options_text(replace(told, service_untold=True), Paper())
    assert "What the service carries cannot be told yet" in text
    assert "carries no setting" not in text


def test_a_stated_circuit_that_cannot_be_told_bears_no_mark_of_passing(found):
    paper = Paper()
    passing = replace(found.stated, rule="", findings=(), untold=False)
    text = options_text(replace(found, stated=passing), paper)
    assert "No rule of the circuit refuses it." in text
    open_still = replace(passing, untold=True)
    text = options_text(replace(found, stated=open_still), paper)
    assert "No rule of the circuit refuses it." not in text
    line = next(line for line in text.split("\n") if "as far as it is stated" in line)
    assert line.startswith(paper.mark(Outcome.CANNOT_TELL))


def test_a_house_without_a_name_begins_with_the_edition(found):
    assert options_text(replace(found, name=""), Paper()).startswith("NFPA 70-")


def test_every_number_shown_gives_the_parts_of_that_circuit(found):
    text = options_text(found, Paper(100))
    rows = re.findall(r"^ *(\d+) +(\d+)<? +(\d+)g? ", text, flags=re.MULTILINE)
    assert len(rows) == len(found.shown)
    for number, setting, device in rows:
        candidate = found.pareto[int(number) - 1].candidate
        assert candidate.setting_a == float(setting)
        assert candidate.overcurrent_a == float(device)


def test_all_lists_every_one(found):
    text = options_text(found, Paper(100), every_one=True)
    rows = re.findall(r"^ *\d+ +\d+<? +\d+g? ", text, flags=re.MULTILINE)
    assert len(rows) == len(found.pareto)


def test_the_parts_say_what_check_says_of_the_circuit(found, chosen):
    text = " ".join(parts_text(*chosen, found, Paper()).split())
    assert "At 80 A the plan meets every rule checked" in text
    assert text.index("prove dead") < text.index("Pull ")


def test_the_json_has_what_others_rely_on(found):
    tree = json.loads(options_json_text(found))
    assert tree["candidates"] == tree["lawful"] + sum(tree["refused"].values())
    assert list(tree["refused"]) == [n for n, _ in RULES if n in tree["refused"]]
    option = tree["pareto"][-1]
    for key in [
        "setting_a",
        "overcurrent_a",
        "conductor",
        "raceway",
        "cost",
        "drop",
        "loss",
        "temperatures",
        "margins",
    ]:
        assert option[key], key
    assert tree["stated"]["refused_by"] == "conductor_protection"


def test_the_reference_page_describes_every_key_and_no_other(found, chosen):
    tree = json.loads(options_json_text(found, chosen[0]))
    documented = set(re.findall(r"^\| `([^`]+)` \|", PAGE.read_text("utf-8"), re.M))
    held = {key for key in tree if not isinstance(tree[key], list)}
    held |= {f"{key}[]" for key in tree if isinstance(tree[key], list)}
    for inner in (
        tree["pareto"][0],
        tree["stated"],
        tree["routes"][0],
        tree["prices"],
        tree["parts"],
    ):
        held |= set(inner)
    assert documented == held


def test_the_published_order_is_that_of_the_search():
    page = (ROOT / "docs" / "explanation" / "options.md").read_text("utf-8")
    rows = re.findall(r"^\| \d+ \| `(\w+)` \| (.+) \|$", page, flags=re.MULTILINE)
    assert tuple(rows) == RULES


def test_what_cannot_be_searched_says_what_to_state(found):
    empty = actions.options(ROOT / "examples" / "smallest" / "plan.toml")
    if empty.candidates:
        pytest.fail("the smallest plan is meant to state no run")
    text = options_text(empty, Paper())
    assert "circuit.sections" in text
    assert json.loads(options_json_text(empty))["unknowns"]


def test_a_list_that_is_not_invented_is_not_called_so(found):
    text = options_text(replace(found, invented_prices=False), Paper())
    assert "INVENTED" not in text
