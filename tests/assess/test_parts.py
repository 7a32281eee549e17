"""Parts, hours and papers of one circuit; cautions in the order of work."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from lugbook.actions import rules_for
from lugbook.assess.options_prices import shipped_prices
from lugbook.assess.options_space import Candidate
from lugbook.assess.parts import PartsList, parts_of
from lugbook.finding import SignalWord
from lugbook.premises.plan import parse_plan, read_plan

DEMO = Path(__file__).resolve().parents[2] / "examples" / "potters_house" / "plan.toml"
CHOSEN = Candidate(
    setting_a=80.0,
    overcurrent_a=100.0,
    material="copper",
    size="2 AWG",
    insulation="THHN/THWN-2",
    method="EMT",
    trade_size="1-1/4",
    ground_size="8 AWG",
)


def made(candidate: Candidate = CHOSEN, text: str | None = None) -> PartsList:
    plan = read_plan(DEMO) if text is None else parse_plan(text)
    return parts_of(plan, rules_for(plan), candidate, shipped_prices())


def test_quantities_follow_the_run_with_waste():
    parts = {part.name.split(",")[0]: part for part in made().parts}
    # 34 + 22 + 18 = 74 ft; two legs and a grounding wire, a tenth more.
    assert parts["raceway"].quantity == pytest.approx(74 * 1.1)
    assert parts["conductors of the legs"].quantity == pytest.approx(2 * 74 * 1.1)
    assert parts["equipment grounding conductor"].quantity == pytest.approx(74 * 1.1)
    # 81.4 ft in lengths of 10 ft.
    assert "lengths of 10 ft: 9" in next(
        p.name for p in made().parts if "raceway" in p.name
    )


def test_the_cost_is_the_sum_of_parts_labor_and_permit():
    found = made()
    priced = sum(part.cost for part in found.parts if part.cost is not None)
    assert found.cost == pytest.approx(priced + found.labor + found.permit)
    assert [part.name for part in found.parts if part.cost is None] == ["charger"]


def test_every_part_names_the_listing_it_needs():
    assert all(part.listing for part in made().parts)


def test_a_lower_setting_needs_its_label():
    found = made(replace(CHOSEN, setting_a=64.0))
    labels = [part.size for part in found.parts if part.name.startswith("label")]
    assert '"MAXIMUM CURRENT SET TO 64 A"' in labels
    assert len([p for p in made().parts if p.name.startswith("label")]) == 1


def test_cautions_are_dead_first_and_live_last():
    texts = [caution.text for caution in made().cautions]

    def at(words: str) -> int:
        return next(n for n, text in enumerate(texts) if words in text)

    order = ["stays live", "prove dead", "before you drill", "Pull 2 AWG", "torque"]
    order += ["Before it is live", "First charge"]
    assert [at(words) for words in order] == sorted(at(words) for words in order)
    assert made().cautions[0].signal is SignalWord.DANGER


def test_aluminum_and_a_trench_have_cautions_of_their_own():
    aluminum = made(replace(CHOSEN, material="aluminum", size="1/0 AWG"))
    assert any("marked for aluminum" in each.text for each in aluminum.cautions)
    assert not any("marked for aluminum" in each.text for each in made().cautions)
    buried = made(
        text=DEMO.read_text("utf-8").replace('"attic"\nbends', '"underground"\nbends')
    )
    assert any("before you dig" in each.text for each in buried.cautions)
    assert any("trench" in each.name for each in buried.papers)
    assert not any("before you dig" in each.text for each in made().cautions)


def test_what_has_no_price_leaves_the_cost_unknown():
    found = made(replace(CHOSEN, size="250 kcmil", trade_size="2"))
    assert found.cost is None
    unknown = replace(CHOSEN, method="RMC", trade_size="1-1/4")
    assert made(unknown).cost is not None


def test_an_unknown_length_leaves_cost_and_hours_unknown():
    found = made(text=DEMO.read_text("utf-8").replace('length = "22 ft"\n', ""))
    assert found.cost is None
    assert found.hours is None
