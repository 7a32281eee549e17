from __future__ import annotations

import tomllib
from datetime import date
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest

import edition_changes
import second_typing
from lugbook.codebook.edition import editions, open_edition
from lugbook.finding import Status

ROOT = Path(__file__).resolve().parents[2]
BOOK = ROOT / "src" / "lugbook" / "codebook" / "nfpa70"
YEARS = editions()
NAMES = tuple(open_edition(YEARS[-1]).rules)
CHANGES = ROOT / "tests" / "validation" / "edition_changes.toml"


def _entries(year: str) -> dict[str, dict[str, Any]]:
    """Return every rule of an edition as its file holds it."""
    found: dict[str, dict[str, Any]] = {}
    for path in sorted((BOOK / year).glob("rules*.toml")):
        found |= tomllib.loads(path.read_text(encoding="utf-8"))
    return found


@pytest.mark.parametrize("year", YEARS)
@pytest.mark.parametrize("name", NAMES)
def test_every_parameter_equals_its_second_typing(year, name):
    rule = open_edition(year).rule(name)
    assert second_typing.rule_differences(rule, year=year) == []


@pytest.mark.parametrize("year", YEARS)
def test_every_rule_stands_in_every_edition(year):
    assert sorted(open_edition(year).rules) == sorted(NAMES)


@pytest.mark.parametrize("year", YEARS)
def test_the_rules_of_a_file_stand_in_alphabetical_order(year):
    for path in (BOOK / year).glob("rules*.toml"):
        names = list(tomllib.loads(path.read_text(encoding="utf-8")))
        assert names == sorted(names), path.name


@pytest.mark.parametrize("year", YEARS)
def test_no_rule_stands_in_two_files(year):
    count = sum(
        len(tomllib.loads(path.read_text(encoding="utf-8")))
        for path in (BOOK / year).glob("rules*.toml")
    )
    assert count == len(open_edition(year).rules)


@pytest.mark.parametrize("year", YEARS)
def test_every_rule_says_what_it_answers_and_how_well_it_is_known(year):
    for name, entry in _entries(year).items():
        assert entry["question"].endswith("?"), name
        assert entry["status"] in tuple(Status), name
        assert bool(entry["confirmed_by"]) == (entry["status"] == Status.CONFIRMED), (
            name
        )
        assert type(entry["checked_on"]) is date, name


@pytest.mark.parametrize("year", YEARS)
def test_every_rule_the_edition_has_says_where_it_is_printed(year):
    for name, entry in _entries(year).items():
        no_clause = (
            entry.get("absent", False) or entry["status"] == Status.COMMON_PRACTICE
        )
        assert entry["locator"] or no_clause, name


@pytest.mark.parametrize("year", YEARS)
def test_a_parameter_from_memory_is_a_parameter_of_its_rule(year):
    for name, rule in open_edition(year).rules.items():
        assert rule.from_memory <= set(rule.parameters), name


@pytest.mark.parametrize("year", YEARS)
@pytest.mark.parametrize(("ours", "theirs"), second_typing.mapping()["locators"])
def test_locators_share_a_clause_with_the_second_typing(year, ours, theirs):
    """The hands word locators differently; they must name one section alike."""
    stated = second_typing.other_rules()[theirs][year]["locator"]
    mine = open_edition(year).rule(ours).citation.locator
    if stated and mine:
        assert second_typing.clauses(stated) & second_typing.clauses(mine)


@pytest.mark.parametrize("year", YEARS)
@pytest.mark.parametrize(("ours", "theirs"), second_typing.mapping()["absent"])
def test_a_rule_is_absent_where_the_second_typing_says_so(year, ours, theirs):
    stated = second_typing.other_rules()[theirs][year].get("absent", False)
    assert open_edition(year).rule(ours).absent == stated


@pytest.mark.parametrize(("older", "newer"), list(pairwise(YEARS)))
def test_two_editions_differ_in_exactly_the_changes_listed(older, newer):
    """A slip in one edition's folder shows as a change nobody can give a reason for."""
    listed = tomllib.loads(CHANGES.read_text(encoding="utf-8"))[f"{older}-{newer}"]
    expected = {place: sorted(change["what"]) for place, change in listed.items()}
    assert edition_changes.changes(older, newer) == expected
    assert all(change["why"] for change in listed.values())


@pytest.mark.parametrize(("older", "newer"), list(pairwise(YEARS)))
def test_what_did_not_change_is_written_with_the_same_bytes(older, newer):
    """So that diff -r shows changes only; how well we know a value may differ."""
    assert edition_changes.stray_lines(older, newer) == []


def test_a_number_from_memory_weakens_the_citation_of_its_rule():
    rule = open_edition("2023").rule("continuous-load-overcurrent")
    assert rule.cite("continuous_factor").status is Status.CONFIRMED
    weakened = rule.cite("continuous_factor", "listed_full_rating_factor")
    assert weakened.status is Status.FROM_MEMORY
    assert weakened.confirmed_by == ""
