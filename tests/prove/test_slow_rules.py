"""The slow second version: held against hands, then against the project.

Run by `make prove`. The hand's verdicts on ten houses were written without sight of the
program (tests/validation/houses); single rules are worked beside their case here.
"""

from __future__ import annotations

import tomllib
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest
import slow_ampacity
import slow_load
import slow_rules
from second_version import campaign_on_all_cores, kinds

HOUSES = Path(__file__).resolve().parents[1] / "validation" / "houses"
NAMES = sorted(path.parent.name for path in HOUSES.glob("*/verdict.toml"))
EDITIONS = ("2017", "2020", "2023", "2026")
PLANS = 100_000
PRINTED_A = Fraction(1, 10_000)  # the hand prints four decimals


def house_and_hand(name: str, edition: str) -> tuple[dict[str, Any], dict[str, Any]]:
    """A house under an edition, and what the hand said of it."""
    plan = tomllib.loads((HOUSES / name / "plan.toml").read_text(encoding="utf-8"))
    plan["rules"]["edition"] = edition
    verdict = (HOUSES / name / "verdict.toml").read_text(encoding="utf-8")
    return plan, tomllib.loads(verdict)[edition]


@pytest.mark.parametrize("edition", EDITIONS)
@pytest.mark.parametrize("name", NAMES)
def test_the_slow_version_says_of_a_house_what_the_hand_said(name, edition):
    plan, hand = house_and_hand(name, edition)
    rating, _ = slow_rules.service_rating_a(plan)
    said = hand["service_rating_a"]
    assert rating == (None if said == "unknown" else said)
    rows = slow_rules.capacity(plan)
    for row in hand["capacity"]:
        reading = (row["method"], row["charger"], row["hvac"])
        if row.get("debated", False):
            assert reading not in rows
            continue
        found = rows[reading]
        assert (found.permitted, found.outcome) == (row["permitted"], row["outcome"])
        if row["amperes"] != "unknown":
            assert found.amperes is not None
            assert abs(found.amperes - Fraction(str(row["amperes"]))) <= PRINTED_A
        if row["permitted"] and row["largest_setting_a"] != "unknown":
            assert (found.largest_setting_a or 0) == row["largest_setting_a"]


@pytest.mark.parametrize("edition", EDITIONS)
@pytest.mark.parametrize("name", NAMES)
def test_the_slow_version_judges_a_circuit_as_the_hand_did(name, edition):
    plan, hand = house_and_hand(name, edition)
    parts = hand["circuit"]
    found = slow_rules.circuit(plan)
    assert found is not None
    device, wire = found.overcurrent_device, found.conductor
    ground = found.equipment_grounding_conductor
    assert device.minimum == f"{parts['overcurrent_device']['minimum_a']} A"
    assert device.outcome == parts["overcurrent_device"]["outcome"]
    assert wire.minimum == parts["conductor"]["minimum"]
    assert wire.outcome == parts["conductor"]["outcome"]
    assert ground.minimum == parts["equipment_grounding"]["minimum"]
    assert ground.outcome == parts["equipment_grounding"]["outcome"]


@pytest.mark.parametrize(
    ("ratings_va", "demand_va"),
    [
        ([12_000], 8_000),
        ([12_499], 8_000),  # 0.499 kW over is no major part of one
        ([12_500], 8_400),  # half a kW is: 8,000 × 1.05
        ([27_000], 14_000),  # 15 kW over: 8,000 × 1.75
        ([27_001], 27_001),  # beyond the table
        ([1_750], 1_750),  # not above it
        ([1_751], Fraction("1400.8")),  # column A, 80 %
        ([3_400], 2_720),  # column A, 80 %
        ([8_750], 7_000),  # column B, 80 %
        ([8_751], 8_000),  # column C
        # note 3: two in column A at 75 %, one in column B at 80 %
        ([7_200, 2_400, 2_400], 2 * 2_400 * Fraction("0.75") + 7_200 * Fraction("0.8")),
        # note 2: (14.4 + 12 + 12) / 3 = 12.8 kW, 14 kW × 1.05
        ([14_400, 4_800, 4_800], 14_700),
        ([], 0),
    ],
)
def test_cooking_by_the_table_and_its_notes(ratings_va, demand_va):
    given = [Fraction(each) for each in ratings_va]
    assert slow_load.cooking_va(given) == demand_va


@pytest.mark.parametrize(
    ("load_va", "demand_va"),
    [
        (2_999, 2_999),
        (3_000, 3_000),
        (3_100, 3_035),  # 100 at 35 %
        (120_000, 43_950),  # 3,000 + 117,000 × 0.35
        (120_100, 43_975),  # and 100 at 25 %
    ],
)
def test_lighting_by_its_tiers(load_va, demand_va):
    assert slow_load.lighting_demand_va(Fraction(load_va)) == demand_va


@pytest.mark.parametrize(
    ("edition", "ratings_va", "demand_va"),
    [
        ("2023", [4_999], 5_000),
        ("2023", [5_001], 5_001),
        ("2023", [5_000] * 4, 20_000),
        ("2023", [5_000] * 5, 21_250),  # 85 %
        ("2026", [5_000] * 3, 12_000),  # 80 % from three on
    ],
)
def test_dryers_by_their_number(edition, ratings_va, demand_va):
    given = [Fraction(each) for each in ratings_va]
    assert slow_load.dryers_va(given, edition) == demand_va


@pytest.mark.parametrize(
    ("maximum_a", "outcome"),
    # 1.25 × 41.6 + 48 = 100.0 A on 100 A
    [("41.5", "narrow"), ("41.6", "narrow"), ("41.7", "falls_short")],
)
def test_measured_demand_at_its_boundary(maximum_a, outcome):
    plan, _ = house_and_hand("bakers-house", "2023")
    plan["demand_record"] = {
        **plan["demand_record"],
        "maximum": None,
        "maximum_current": f"{maximum_a} A",
    }
    plan["charger"].update(nameplate="48 A", setting="48 A", setting_steps=["48 A"])
    plan["service"]["meter_base_rating"] = "100 A"
    row = slow_rules.capacity(plan)["measured", "outside", "counted"]
    assert (row.permitted, row.outcome) == (True, outcome)


def attic(size: str, length: str, ambient: str) -> dict[str, Any]:
    """The judge's house on one size, its attic as given (2023)."""
    plan, _ = house_and_hand("judges-house", "2023")
    plan["circuit"]["conductor"]["size"] = size
    plan["circuit"]["sections"][1].update(length=length, ambient=ambient)
    return plan


@pytest.mark.parametrize(
    ("size", "length", "ambient", "outcome"),
    [
        # 115 × 0.76 = 87.4 A protects at most 90 A; 130 × 0.76 = 98.8 A takes 100 A
        ("3 AWG", "30 ft", "55 °C", "falls_short"),
        ("2 AWG", "30 ft", "55 °C", "meets"),
        # 40 ft and 4 ft: the hot tenth is 4.4 ft, so 4 ft are passed over and 5 not
        ("3 AWG", "4 ft", "55 °C", "meets"),
        ("3 AWG", "5 ft", "55 °C", "falls_short"),
        # 86 °C is beyond the table: nothing is carried, however short the section
        ("3 AWG", "1 ft", "86 °C", "falls_short"),
    ],
)
def test_a_hot_section_governs_unless_it_is_short(size, length, ambient, outcome):
    found = slow_rules.circuit(attic(size, length, ambient))
    assert found is not None
    assert found.conductor.outcome == outcome


def test_the_grounding_conductor_falls_short_by_a_hair():
    # 10,380 × 41,740 / 26,240 = 16,511.5 circular mil, 8 AWG has 16,510
    plan, _ = house_and_hand("tilers-house", "2023")
    plan["circuit"]["sections"][0]["method"] = "EMT"
    plan["circuit"]["conductor"] = {
        "material": "copper",
        "size": "4 AWG",
        "insulation": "THHN",
    }
    plan["circuit"]["equipment_ground"]["size"] = "8 AWG"
    best, worst = slow_ampacity.grounding_areas(plan)
    assert best == worst == Fraction(10_380 * 41_740, 26_240)
    found = slow_rules.circuit(plan)
    assert found is not None
    assert found.equipment_grounding_conductor.outcome == "falls_short"


def test_no_verdict_differs_on_a_hundred_thousand_random_plans():
    compared, found = campaign_on_all_cores(PLANS)
    assert compared == PLANS
    first = {number: found[number] for number in sorted(found)[:5]}
    assert not found, f"{kinds(found).most_common(20)} {first}"
