"""The one spine: what the headline says is what the findings hold."""

from __future__ import annotations

import tomllib
from pathlib import Path

import pytest
from houses import house, judged, load

from lugbook.errors import InputError
from lugbook.finding import Outcome, Status, Weight

YEARS = ("2017", "2020", "2023", "2026")
HOUSES = Path("tests/validation/houses")


def shipped(path):
    tree = tomllib.loads(Path(path).read_text(encoding="utf-8"))
    del tree["schema"]
    return tree


def many():
    """Return one assessment for each of many houses and editions."""
    demo = "examples/potters_house/plan.toml"
    trees = [shipped(path) for path in (demo, *HOUSES.glob("*/plan.toml"))]
    bare = {"dwelling": {"kind": "one-family"}, "charger": {"id": "charger"}}
    trees += [house(), house(dwelling={"kind": "apartment"}), house(load("kiln")), bare]
    return [(judged(tree, year), year) for tree in trees for year in YEARS]


@pytest.fixture(scope="module")
def assessments():
    return many()


def binding(found):
    return [f for f in found.findings if f.weight in (Weight.STOP, Weight.MUST)]


def test_the_headline_is_the_gravest_of_what_binds(assessments):
    grave_first = [
        Outcome.FALLS_SHORT,
        Outcome.CANNOT_TELL,
        Outcome.NARROW,
        Outcome.MEETS,
    ]
    seen = set()
    for found, _ in assessments:
        held = {finding.outcome for finding in binding(found)}
        assert found.headline.outcome is next(o for o in grave_first if o in held)
        seen.add(found.headline.outcome)
    assert {Outcome.FALLS_SHORT, Outcome.CANNOT_TELL, Outcome.MEETS} <= seen


def test_the_sentence_counts_what_binds(assessments):
    for found, _ in assessments:
        outcome, sentence = found.headline.outcome, found.headline.sentence
        count = sum(1 for each in binding(found) if each.outcome is outcome)
        points = "1 point" if count == 1 else f"{count} points"
        if not found.capacity and outcome is Outcome.FALLS_SHORT:
            assert sentence in [each.next for each in binding(found)]
        elif found.headline.setting_a is None:
            assert "No charging current" in sentence
        elif outcome is Outcome.FALLS_SHORT:
            assert sentence.endswith(f"falls short in {points}.")
        elif outcome is Outcome.CANNOT_TELL:
            assert sentence.endswith(f"{points} cannot be told yet.")
        elif outcome is Outcome.NARROW:
            assert sentence.endswith(f"every rule checked, {points} narrowly.")
        else:
            assert sentence.endswith("meets every rule checked.")


def test_unconfirmed_values_are_the_citations_not_confirmed_that_bind(assessments):
    for found, _ in assessments:
        cited = set()
        for finding in binding(found):
            lines = finding.working.lines if finding.working else ()
            cited |= {line.source for line in lines if not isinstance(line.source, str)}
            cited |= {finding.citation} if finding.citation else set()
        open_ = [each for each in cited if each.status is not Status.CONFIRMED]
        assert found.headline.unconfirmed_values == len(open_)


def test_an_edition_known_from_summaries_counts_more_unconfirmed_values():
    later = judged(house(), "2026").headline.unconfirmed_values
    assert later > judged(house(), "2023").headline.unconfirmed_values


def test_largest_settings_are_those_of_the_rows_and_capped_by_the_circuit(assessments):
    for found, _ in assessments:
        headline = found.headline
        for name in ("literal", "prudent"):
            rows = [
                row.largest_setting_a
                for row in found.capacity
                if row.permitted and getattr(row, name) and row.largest_setting_a
            ]
            service_a = getattr(headline, f"service_largest_{name}_a")
            largest_a = getattr(headline, f"largest_{name}_a")
            assert service_a == max(rows, default=None)
            if service_a is None or headline.circuit_largest_a is None:
                assert largest_a is None
            else:
                assert largest_a == min(service_a, headline.circuit_largest_a)


def test_the_prudent_largest_is_never_beyond_what_the_literal_allows(assessments):
    for found, _ in assessments:
        for row in found.capacity:
            if row.prudent:
                assert row.interpretation.charger != "inside"
                assert row.interpretation.hvac == "counted"


def test_the_same_question_has_the_same_answer(assessments):
    assert [found for found, _ in many()] == [found for found, _ in assessments]


def test_unknowns_and_assumptions_are_named_once(assessments):
    for found, _ in assessments:
        assert len(set(found.unknowns)) == len(found.unknowns)
        ids = [each.id for each in found.assumptions]
        assert len(set(ids)) == len(ids)


def test_without_a_current_there_is_nothing_to_judge():
    tree = house()
    del tree["charger"]
    found = judged(tree)
    assert found.headline.outcome is Outcome.CANNOT_TELL
    assert found.headline.setting_a is None
    assert "charger.setting" in [each.field for each in found.unknowns]


def test_a_plan_of_nothing_is_answered():
    found = judged({})
    assert found.headline.outcome is Outcome.CANNOT_TELL
    fields = [each.field for each in found.unknowns]
    assert {"service.system", "service.main.rating", "dwelling.floor_area"} <= {*fields}


@pytest.mark.parametrize("setting_a", [0, -1, float("nan"), float("inf"), True, 32.1])
def test_a_setting_the_charger_cannot_have_is_no_question(setting_a):
    with pytest.raises(InputError, match="--setting"):
        judged(house(), setting_a=setting_a)
