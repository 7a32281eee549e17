"""The sheet for the work as text and JSON: whole, within its paper, plain."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from lugbook import actions
from lugbook.assess.load_letter import LetterEntry
from lugbook.assess.work_parts import InspectorQuestion
from lugbook.finding import Finding, Outcome, Weight
from lugbook.report.paper import Paper, cells
from lugbook.report.work_json import work_as_json
from lugbook.report.work_text import (
    answer_text,
    entry_text,
    grounds_text,
    open_text,
    work_text,
)

DEMO = Path(__file__).parents[2] / "examples/potters_house/plan.toml"


@pytest.fixture(scope="module")
def work():
    return actions.check(DEMO, on=date(2026, 11, 25)).work


@pytest.mark.parametrize("width", [40, 80, 100])
@pytest.mark.parametrize("encoding", ["utf-8", "ascii"])
def test_the_sheet_keeps_to_its_paper(work, width, encoding):
    text = work_text(work, Paper(width, encoding))
    assert max(cells(line) for line in text.splitlines()) <= width
    assert text.isascii() or encoding == "utf-8"


def test_every_part_of_the_sheet_is_printed(work):
    text = " ".join(work_text(work, Paper(100)).split())
    for step in work.steps:
        assert step.title in text
        assert step.hold in text
    for sign in work.stops:
        assert sign.act in text
    for question in work.inspector:
        assert question.question in text
        assert question.at_hand in text
    for paper in work.papers:
        assert paper.name in text
    for question in work.letter.questions:
        assert question in text
    assert "Nobody has said that they were looked for." in text


def test_what_nobody_stated_has_room_to_be_written():
    assert set(entry_text(LetterEntry("utility", None))) == {"_"}


@pytest.mark.parametrize(
    ("amount", "unit", "shown"),
    [(19200.0, "VA", "19.2 kVA"), (80.0, "A", "80 A"), (240.0, "V", "240 V")],
)
def test_figures_of_the_letter(amount, unit, shown):
    assert entry_text(LetterEntry("load", amount, unit)) == shown


def asked(**given):
    finding = Finding(
        id="run.cover.garden",
        question="Deep enough?",
        outcome=Outcome.FALLS_SHORT,
        weight=Weight.MUST,
        **given,
    )
    return InspectorQuestion(
        1, "How deep?", Outcome.FALLS_SHORT, finding, "", ("run.cover",), "a photo"
    )


def test_an_answer_gives_outcome_place_and_figures():
    found = asked(found=12.0, limit=18.0, unit="in")
    assert answer_text(found) == "falls short, garden, 12 in against 18 in"
    assert grounds_text(found) == "garden, 12 in against 18 in"


def test_words_are_asked_for_and_a_lone_limit_is_named():
    assert answer_text(asked(limit="sealed")).endswith("asked for: sealed")
    assert answer_text(asked(limit=18.0, unit="in")).endswith("limit 18 in")


def test_a_question_without_an_answer_says_so():
    found = InspectorQuestion(1, "How deep?", None, None, "", (), "a photo")
    assert answer_text(found) == "the plan has no answer yet"


def test_torques_not_settled_are_counted_not_listed(work):
    step = next(s for s in work.steps if s.title == "Connect the far end first")
    torques = [each for each in step.open_points if each.id.startswith("torque.")]
    assert f"{len(torques)} terminals" in open_text(step)
    assert len(torques) > 1


def test_json_points_at_findings_that_exist(work):
    tree = work_as_json(work)
    plan_ids = {f.id for f in actions.check(DEMO, on=date(2026, 11, 25)).findings}
    for question in tree["inspector"]:
        assert question["deciding"] in question["findings"]
        named = [i for i in question["findings"] if not i.startswith("torque.")]
        assert set(named) <= plan_ids
    assert tree["letter"]["missing"]
    assert work_as_json(None) is None
