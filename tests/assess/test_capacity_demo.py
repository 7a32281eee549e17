"""The demo house's capacity, worked by hand.

The house is our own invention (design.md section 6). Every figure below is worked
with pencil from the rules as printed, not taken from the program.
"""

from __future__ import annotations

import gzip
import re
from datetime import date
from pathlib import Path

import pytest

from lugbook.actions import evidence_of, rules_for
from lugbook.assess.assessment import Assessment, CapacityRow
from lugbook.assess.spine import assess
from lugbook.finding import Outcome
from lugbook.premises.plan import Plan, read_plan

DEMO = Path("examples/potters_house/plan.toml")
ON = date(2026, 11, 25)

# General: 1,920 ft² × 3 VA = 5,760; 2 × 1,500 = 3,000; 1 × 1,500: 10,260 VA.
# Appliances: 12,000 + 5,000 + 4,500 + 1,200 + 900 + 1,500 + 600 + 11,520 = 37,220.
GENERAL_VA = 10_260
APPLIANCES_VA = 37_220
COOLING_VA = 4_800


@pytest.fixture(scope="module")
def plan() -> Plan:
    return read_plan(DEMO)


def judged(plan: Plan, setting_a: float, edition: str = "2023") -> Assessment:
    evidence = evidence_of(plan, DEMO.parent)
    return assess(plan, evidence, rules_for(plan, edition), ON, setting_a)


def row(
    found: Assessment, method: str, charger: str, hvac: str = "counted"
) -> CapacityRow:
    return next(
        each
        for each in found.capacity
        if (each.method, each.interpretation.charger, each.interpretation.hvac)
        == (method, charger, hvac)
    )


def test_optional_method_with_the_charger_inside_gives_156_a(plan):
    # (10,260 + 37,220 + 19,200 − 10,000) × 0.4 + 10,000 + 4,800 = 37,472 VA
    found = row(judged(plan, 80), "optional", "inside")
    assert found.va == pytest.approx(37_472)
    assert found.amperes == pytest.approx(156.13, abs=0.01)
    assert found.outcome is Outcome.MEETS


def test_optional_method_with_the_charger_outside_gives_204_a(plan):
    # (47,480 − 10,000) × 0.4 + 10,000 + 4,800 + 19,200 = 48,992 VA
    found = row(judged(plan, 80), "optional", "outside")
    assert found.va == pytest.approx(48_992)
    assert found.amperes == pytest.approx(204.13, abs=0.01)
    assert found.outcome is Outcome.FALLS_SHORT


def test_optional_method_at_125_percent_covers_the_kiln_too(plan):
    # 48,992 + 0.25 × (11,520 + 19,200) = 56,672 VA
    found = row(judged(plan, 80), "optional", "outside_125")
    assert found.va == pytest.approx(56_672)


def test_existing_dwelling_list_read_three_ways(plan):
    # 8,000 + 0.4 × (47,480 + 19,200 − 8,000) = 31,472 VA
    # with cooling inside: + 0.4 × 4,800 = 33,392 VA
    # with cooling inside, charger outside: 8,000 + 0.4 × 44,280 + 19,200 = 44,912 VA
    found = judged(plan, 80)
    assert row(found, "existing", "inside", "not_counted").va == pytest.approx(31_472)
    assert row(found, "existing", "inside").va == pytest.approx(33_392)
    assert row(found, "existing", "outside").va == pytest.approx(44_912)


def test_existing_dwelling_with_hvac_at_full(plan):
    # 8,000 + 0.4 × 39,480 + 4,800 + 19,200 = 47,792 VA, 199.1 A of 200: narrow
    found = row(judged(plan, 80), "existing_hvac", "outside")
    assert found.va == pytest.approx(47_792)
    assert found.outcome is Outcome.NARROW


def test_standard_method_gives_246_a_at_80_and_198_a_at_32(plan):
    # lighting 3,000 + 0.35 × 7,260 = 5,541; range 8,000; dryer 5,000
    # fastened (4,500 + 1,200 + 900 + 1,500 + 11,520) × 0.75 = 14,715; blower 600
    # cooling 4,800 and a quarter of its 18 A × 240 V compressor = 1,080
    # 39,736 + 19,200 = 58,936 VA: 245.6 A;  39,736 + 7,680 = 47,416 VA: 197.6 A
    assert row(judged(plan, 80), "standard", "outside").va == pytest.approx(58_936)
    at_32 = row(judged(plan, 32), "standard", "outside")
    assert at_32.va == pytest.approx(47_416)
    assert at_32.largest_setting_a == 32
    assert at_32.outcome is Outcome.NARROW


def test_base_load_is_the_house_without_the_charger(plan):
    # (47,480 − 10,000) × 0.4 + 10,000 + 4,800 = 29,792 VA
    assert row(judged(plan, 80), "optional", "inside").base_va == pytest.approx(29_792)


def test_largest_exact_current_solves_the_optional_method(plan):
    # outside: (48,000 − 29,792) ÷ 240 = 75.87 A;
    # inside: (48,000 − 29,792) ÷ 0.4 ÷ 240 = 189.67 A, capped by no step above 80
    found = judged(plan, 80)
    assert row(found, "optional", "outside").largest_exact_a == pytest.approx(
        75.8667, abs=1e-3
    )
    assert row(found, "optional", "outside").largest_setting_a == 72


def test_in_2017_the_nameplate_counts_whatever_the_setting(plan):
    low, high = judged(plan, 32, "2017"), judged(plan, 80, "2017")
    assert row(low, "optional", "outside").va == row(high, "optional", "outside").va


def test_in_2026_no_reading_puts_the_charger_inside(plan):
    words = {each.interpretation.charger for each in judged(plan, 80, "2026").capacity}
    assert words == {"outside", "outside_125"}


def test_in_2026_the_optional_method_counts_2_va_and_8_kva(plan):
    # 3,840 + 4,500 + 37,220 = 45,560; 8,000 + 0.4 × 37,560 + 4,800 + 19,200 = 47,024
    found = row(judged(plan, 80, "2026"), "optional", "outside")
    assert found.va == pytest.approx(47_024)


def test_kiln_counted_continuous_by_the_plan(plan):
    kiln = next(load for load in plan.loads if load.id == "kiln")
    assert kiln.continuous is not None
    assert kiln.continuous.value


def highest_quarter_hour_wh() -> int:
    """Return the highest reading of the demo's file, found without our reader."""
    packed = DEMO.parent / "year-of-quarter-hours.xml.gz"
    text = gzip.decompress(packed.read_bytes()).decode()
    return max(int(each) for each in re.findall(r"<(?:\w+:)?value>(\d+)<", text))


def test_the_years_file_gives_215_a_at_80_and_199_a_at_64(plan):
    # the highest quarter hour is 6,467 Wh: × 4 = 25,868 W, taken as VA
    # × 1.25 = 32,335 VA; + 80 × 240 = 51,535 VA: 214.7 A;  + 64 × 240 = 47,695: 198.7 A
    assert highest_quarter_hour_wh() == 6_467
    at_80 = row(judged(plan, 80), "measured", "outside")
    assert at_80.base_va == pytest.approx(32_335)
    assert at_80.va == pytest.approx(51_535)
    assert at_80.outcome is Outcome.FALLS_SHORT
    assert at_80.largest_setting_a == 64
    at_64 = row(judged(plan, 64), "measured", "outside")
    assert at_64.amperes == pytest.approx(198.73, abs=0.01)
    assert at_64.outcome is Outcome.NARROW
    # (48,000 − 32,335) ÷ 240 = 65.27 A
    assert at_80.largest_exact_a == pytest.approx(65.2708, abs=1e-3)


def test_the_years_range_reaches_to_the_more_loaded_leg(plan):
    # at the most 32,335 ÷ 240 × 1.2 ÷ 0.95 + 80 = 250.2 A
    found = row(judged(plan, 80), "measured", "outside")
    assert found.span_a == pytest.approx((214.729, 250.184), abs=1e-3)


def test_every_condition_of_the_years_file_is_met(plan):
    for edition in ("2017", "2020", "2023", "2026"):
        found = judged(plan, 80, edition).findings
        asked = [each for each in found if each.id.startswith("capacity.measured.")]
        assert len(asked) == 8
        assert {each.outcome for each in asked} <= {
            Outcome.MEETS,
            Outcome.NOT_REQUIRED,
        }
