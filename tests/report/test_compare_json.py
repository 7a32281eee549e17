"""A comparison as JSON: what the terminal shows, and every key documented."""

from __future__ import annotations

import json
import re
from datetime import date
from pathlib import Path

import pytest

from lugbook import actions
from lugbook.assess.compare import Comparison
from lugbook.report.compare_json import comparison_as_json, comparison_json_text

ROOT = Path(__file__).resolve().parents[2]
DEMO = ROOT / "examples" / "potters_house" / "plan.toml"
PAGE = (ROOT / "docs" / "reference" / "compare-json.md").read_text("utf-8")
ON = date(2026, 11, 25)


@pytest.fixture(scope="module")
def comparison() -> Comparison:
    first, second = actions.Side(DEMO), actions.Side(DEMO, "2026", 32.0)
    return actions.compare(first, second, on=ON)


def keys_of(tree: object) -> set[str]:
    if isinstance(tree, dict):
        return set(tree).union(*(keys_of(each) for each in tree.values()))
    if isinstance(tree, list):
        return set().union(*(keys_of(each) for each in tree))
    return set()


def test_every_key_is_documented(comparison):
    documented = set(re.findall(r"`(\w+)(?:\[\])?`", PAGE))
    assert keys_of(comparison_as_json(comparison)) - documented == set()


def test_both_sides_say_what_was_asked(comparison):
    tree = comparison_as_json(comparison)
    assert (tree["a"]["edition"], tree["b"]["edition"]) == (
        "nfpa70-2023",
        "nfpa70-2026",
    )
    assert (tree["a"]["setting_a"], tree["b"]["setting_a"]) == (80.0, 32.0)
    assert {"edition", "setting"} == {each["field"] for each in tree["conditions"]}
    assert tree["is_same"] is False


def test_the_other_way_round_the_sides_change_places(comparison):
    there = comparison_as_json(comparison)
    second, first = actions.Side(DEMO), actions.Side(DEMO, "2026", 32.0)
    back = comparison_as_json(actions.compare(first, second, on=ON))
    assert {each["id"] for each in there["findings"]} == {
        each["id"] for each in back["findings"]
    }
    assert there["a"] == back["b"]


def test_the_same_twice_differs_in_nothing():
    same = actions.compare(actions.Side(DEMO), actions.Side(DEMO), on=ON)
    tree = json.loads(comparison_json_text(same, ascii_only=True))
    assert tree["is_same"] is True
    assert tree["findings"] == tree["capacity"] == tree["fields"] == []
