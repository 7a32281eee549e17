"""Leg by leg: by hand on the demo, and each load whose leg nobody stated."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from lugbook.actions import evidence_of, rules_for
from lugbook.assess.spine import assess
from lugbook.finding import Outcome, Weight
from lugbook.premises.plan import parse_plan

DEMO = Path(__file__).parents[2] / "examples/potters_house/plan.toml"
TEXT = DEMO.read_text(encoding="utf-8")
EXTRA = '\n[[loads]]\nid = "heater"\nkind = "plugged-in appliance"\n'


def findings(text, setting_a=None):
    plan = parse_plan(text)
    found = assess(
        plan,
        evidence_of(plan),
        rules_for(plan),
        date(2026, 11, 25),
        setting_a=setting_a,
    )
    return {each.id: each for each in found.findings}


def balance(text, setting_a=None):
    return findings(text, setting_a)["capacity.leg_balance"]


def test_the_demo_by_hand():
    found = findings(TEXT)
    each = found["capacity.leg_balance"]
    lines = {line.label: line.amount for line in each.working.lines}
    # Leg A: dishwasher 1,200 + microwave 1,500. Leg B: disposer 900 + blower 600.
    assert lines["120 V loads on leg A"] == 2700
    assert lines["120 V loads on leg B"] == 1500
    assert lines["most the legs differ by"] == 1200
    assert lines["neutral then carries of it"] == 10
    # Half of 10 A comes on top of the calculated load on the heavier leg.
    assert each.found == pytest.approx(found["capacity.service_load"].found + 5)
    assert each.weight is Weight.ADVICE


def test_a_120_v_load_without_a_leg_gives_a_range():
    text = TEXT + EXTRA + 'nameplate = "3000 VA"\nvoltage = "120 V"\n'
    lines = {line.label: line.amount for line in balance(text, 32.0).working.lines}
    assert lines["most the legs differ by"] == 4200
    assert lines["heavier leg, at most"] - lines["heavier leg, at least"] == (
        pytest.approx(4200 / 120 / 2)  # placed best, the legs come out alike
    )


def test_a_load_nobody_placed_that_may_be_too_much_leaves_it_open():
    # The heavier leg passes with it placed best, and not with it placed worst.
    text = TEXT + EXTRA + 'nameplate = "6000 VA"\nvoltage = "120 V"\n'
    found = balance(text)
    assert found.outcome is Outcome.CANNOT_TELL
    assert "plugged-in appliance" in found.next


def test_a_240_v_load_pulls_no_leg():
    text = TEXT + EXTRA + 'nameplate = "3000 VA"\nvoltage = "240 V"\n'
    lines = {line.label: line.amount for line in balance(text).working.lines}
    assert lines["most the legs differ by"] == 1200


def test_a_heavier_leg_over_the_rating_is_advice_and_names_the_lighter_leg():
    text = TEXT + EXTRA + 'nameplate = "3000 VA"\nvoltage = "120 V"\nleg = "A"\n'
    found = balance(text)
    assert (found.outcome, found.weight) == (Outcome.FALLS_SHORT, Weight.ADVICE)
    assert "leg B" in found.next


def test_a_house_without_stated_120_v_loads_says_nothing():
    text = "\n".join(
        line for line in TEXT.splitlines() if line not in ('leg = "A"', 'leg = "B"')
    )
    assert "capacity.leg_balance" not in findings(text)
