"""What would change the answer, on paper."""

from __future__ import annotations

import json
from pathlib import Path

import jsonschema
import pytest

from lugbook.assess.sensitivity import Influence, Sensitivity, Together, Trial
from lugbook.assess.sensitivity_ranges import Choice, Doubt, Origin, Untried
from lugbook.finding import Finding, Outcome, Weight
from lugbook.report.paper import Paper, cells
from lugbook.report.sensitivity_json import sensitivity_as_json
from lugbook.report.sensitivity_text import planned_text, sensitivity_text

REFERENCE = Path(__file__).parents[2] / "docs" / "reference"
SCHEMA = json.loads((REFERENCE / "assessment.schema.json").read_text(encoding="utf-8"))

SHORT = Finding(
    id="capacity.service_load",
    question="Does the calculated load fit the service?",
    outcome=Outcome.FALLS_SHORT,
    weight=Weight.MUST,
    found=205.0,
    limit=200.0,
    unit="A",
    margin=-5.0,
)


def trial(choice: str, outcome: Outcome, finding: Finding | None) -> Trial:
    return Trial(
        choice=choice,
        outcome=outcome,
        newly_short=(finding.id,) if finding else (),
        finding=finding,
        largest_prudent_a=None if finding else 48.0,
        largest_literal_a=48.0,
    )


def influence(field: str, effect: str, *trials: Trial) -> Influence:
    doubt = Doubt(
        field=field,
        origin=Origin.UNKNOWN,
        question="What does the plate say?",
        look="the label behind the door.",
        choices=(Choice("4500 VA", None), Choice("12000 VA", None)),
        typical=0,
        is_ordered=True,
        source="",
        basis="common practice, no source",
    )
    return Influence(doubt, effect, trials[0], trials[-1], trials)


def sensitivity() -> Sensitivity:
    falls = trial("12000 VA", Outcome.FALLS_SHORT, SHORT)
    same = trial("12000 VA", Outcome.MEETS, None)
    return Sensitivity(
        outcome=Outcome.CANNOT_TELL,
        typical_outcome=Outcome.MEETS,
        influences=(
            influence("loads.kiln.nameplate", "falls", falls),
            influence("loads.pump.nameplate", "none", same),
        ),
        together=Together(
            (("loads.tub.nameplate", "9000 VA"), ("dwelling.floor_area", "3000 ft²")),
            Outcome.FALLS_SHORT,
            ("capacity.service_load",),
        ),
        can_fall=True,
        can_rise=False,
        is_settled=False,
        sentence="The answer is not settled: 1 thing alone can take the pass away.",
        search="every one of 4 combinations was tried",
        untried=(
            Untried("service.drop", "no plausible range is held", is_unknown=True),
            Untried("forecast.joints", "no field stands behind it", is_unknown=False),
        ),
        still_open=("circuit.ground_fault",),
        later=12,
        evaluations=9,
    )


@pytest.fixture
def text() -> str:
    return sensitivity_text(sensitivity(), Paper(width=80))


def test_the_sentence_stands_before_the_list(text: str) -> None:
    assert text.index("The answer is not settled") < text.index("loads.kiln.nameplate")


def test_a_line_says_what_would_happen_and_where_to_look(text: str) -> None:
    joined = " ".join(text.split())
    assert "1 loads.kiln.nameplate (unknown, else taken as 4500 VA)" in joined
    assert "12000 VA: falls short; capacity.service_load, 205 A against 200 A" in joined
    assert "Look: the label behind the door." in joined


def test_what_changes_nothing_is_only_named(text: str) -> None:
    assert "Changes nothing: loads.pump.nameplate." in text
    assert "2  loads.pump.nameplate" not in text


def test_a_pair_and_what_was_not_tried_are_told(text: str) -> None:
    joined = " ".join(text.split())
    assert "loads.tub.nameplate = 9000 VA, dwelling.floor_area = 3000 ft²" in joined
    assert "None of these alone does it." in joined
    assert "not tried: service.drop." in joined
    assert "Still cannot be told: circuit.ground_fault." in joined
    assert "12 questions of the work itself" in joined
    assert "9 assessments" in joined


@pytest.mark.parametrize("width", [40, 80, 100])
def test_no_line_is_wider_than_the_paper(width: int) -> None:
    lines = sensitivity_text(sensitivity(), Paper(width=width)).splitlines()
    assert max(map(cells, lines)) <= width


def test_plain_characters_are_enough() -> None:
    assert sensitivity_text(sensitivity(), Paper(encoding="ascii")).isascii()


def test_nothing_planned_prints_nothing() -> None:
    assert planned_text((), Paper()) == ""


def test_the_json_has_the_shape_of_its_schema() -> None:
    told = sensitivity_as_json((sensitivity(), ()))
    part = {**SCHEMA["properties"]["sensitivity"], "$defs": SCHEMA["$defs"]}
    jsonschema.validate(told, part)
    assert told is not None
    assert told["influences"][0]["trials"][0]["margin"] == -5.0
    assert told["together"]["changed"] == ["capacity.service_load"]


def test_nobody_asked_is_null() -> None:
    assert sensitivity_as_json(None) is None
