"""What a plan states of measurements and rules, carried to the assessment."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from lugbook.actions import (
    Side,
    check,
    compare,
    demand_conditions,
    evidence_of,
    rules_for,
    what_would_change,
)
from lugbook.errors import InputError
from lugbook.finding import Outcome
from lugbook.premises.plan import parse_plan, read_plan

DEMO = Path("examples/potters_house/plan.toml")
ON = date(2026, 11, 25)


def record(*lines):
    text = "\n".join(["schema = 1", "[demand_record]", *lines])
    return evidence_of(parse_plan(text)).demand


@pytest.mark.parametrize(
    ("lines", "maximum_va", "factor", "assumed"),
    [
        (['maximum = "12 kW"'], 12_000, None, True),
        (['maximum = "12 kW"', 'power_factor = "80 %"'], 12_000, 0.8, False),
        # volt-amperes are not divided again
        (['maximum = "12 kVA"', 'power_factor = "80 %"'], 12_000, None, False),
        # nothing divided by nothing
        (['maximum = "12 kW"', 'power_factor = "0 %"'], 12_000, 0.0, True),
        ([], None, None, False),
    ],
)
def test_real_power_keeps_its_factor(lines, maximum_va, factor, assumed):
    found = record(*lines)
    assert found.maximum_va == maximum_va
    assert found.power_factor_fraction == factor
    assert found.power_factor_assumed is assumed


@pytest.mark.parametrize(
    ("lines", "maximum_a"),
    [
        (['maximum_current = "71 A"'], 71),
        (['maximum_leg_a = "71 A"', 'maximum_leg_b = "58 A"'], 71),
        # one leg alone may be the lower one
        (['maximum_leg_a = "58 A"'], None),
        (['maximum_current = "60 A"', 'maximum_leg_b = "71 A"'], 71),
        ([], None),
    ],
)
def test_the_higher_leg_is_the_maximum(lines, maximum_a):
    assert record(*lines).maximum_a == maximum_a


@pytest.mark.parametrize(
    ("lines", "days"),
    [
        (["from_day = 2025-03-01", "to_day = 2026-02-28"], 365),
        (["from_day = 2026-02-28", "to_day = 2026-02-28"], 1),
        (["days = 30"], 30),
        (["from_day = 2025-03-01", "to_day = 2026-02-28", "days = 300"], 300),
        (["from_day = 2025-03-01"], None),
        ([], None),
    ],
)
def test_the_days_of_a_record_count_both_ends(lines, days):
    assert record(*lines).days == days


@pytest.mark.parametrize(
    "field",
    [
        "continuous",
        "highest_loaded_leg",
        "occupied",
        "seasonal_loads_included",
        "peak_shaved",
    ],
)
@pytest.mark.parametrize(("said", "expected"), [("true", True), ("false", False)])
def test_each_condition_of_a_record_is_carried(field, said, expected):
    assert getattr(record(f"{field} = {said}"), field) is expected
    assert getattr(record(), field) is None


def test_clamp_readings_are_carried():
    text = """schema = 1
[[clamp_readings]]
id = "evening"
leg_a = "62 A"
neutral = "9 A"
lasted = "5 min"
accuracy = "2 %"
"""
    (spot,) = evidence_of(parse_plan(text)).spot_readings
    assert (spot.id, spot.leg_a_a, spot.leg_b_a) == ("evening", 62, None)
    assert (spot.neutral_a, spot.lasted_s, spot.accuracy_fraction) == (9, 300, 0.02)


def test_the_meter_files_of_a_plan_are_evidence():
    evidence = evidence_of(read_plan(DEMO), DEMO.parent)
    (meter,) = evidence.meters
    assert meter.name == "year-of-quarter-hours.xml.gz"
    assert evidence.unread == ()


def test_a_plan_read_without_its_folder_names_the_file_it_could_not_read():
    evidence = evidence_of(read_plan(DEMO))
    assert evidence.meters == ()
    assert [each.path for each in evidence.unread] == ["year-of-quarter-hours.xml.gz"]


def test_check_compare_and_what_if_all_see_the_meter_file():
    def measured(found):
        return next(row for row in found.capacity if row.method == "measured")

    found = check(DEMO, on=ON)
    assert measured(found).amperes is not None
    varied, _ = what_would_change(DEMO, on=ON)
    assert varied.outcome is found.headline.outcome
    compared = compare(Side(DEMO), Side(DEMO, setting_a=64.0), on=ON)
    assert not any("meter_file" in str(each) for each in compared.findings)


def test_a_plan_with_an_unreadable_meter_file_still_gets_the_rest(tmp_path):
    text = DEMO.read_text(encoding="utf-8").replace("year-of", "no-year-of")
    (tmp_path / "plan.toml").write_text(text, encoding="utf-8")
    found = check(tmp_path / "plan.toml", on=ON)
    assert len(found.capacity) == len(check(DEMO, on=ON).capacity)
    (named,) = [each for each in found.findings if "meter_file" in each.id]
    assert "no such file" in named.next


def test_a_file_alone_is_told_what_the_code_asks_of_it():
    (meter,) = evidence_of(read_plan(DEMO), DEMO.parent).meters
    found = {each.id: each.outcome for each in demand_conditions(meter)}
    assert found["record_length"] is Outcome.MEETS
    # no meter file can show these
    assert found["no_other_source"] is Outcome.CANNOT_TELL
    assert found["overload_protection"] is Outcome.CANNOT_TELL


def test_no_record_is_no_record():
    assert evidence_of(parse_plan("schema = 1")).demand is None


def test_the_edition_asked_for_goes_before_the_plans():
    plan = parse_plan('schema = 1\n[rules]\nedition = "2017"')
    assert rules_for(plan).key == "nfpa70-2017"
    assert rules_for(plan, "2020").key == "nfpa70-2020"


@pytest.mark.parametrize(
    ("text", "edition", "field"),
    [
        ("schema = 1", None, "rules.edition"),
        ("schema = 1", "2021", "edition"),
        ('schema = 1\n[rules]\nedition = "2023"\namendments = ["nowhere"]', None, "am"),
    ],
)
def test_rules_nobody_holds_are_refused_with_what_is_held(text, edition, field):
    with pytest.raises(InputError) as refused:
        rules_for(parse_plan(text), edition)
    (fault,) = refused.value.faults
    assert field in fault.field
    assert fault.accepted


@pytest.mark.parametrize(
    "setting_a", [0.0, -16.0, float("nan"), float("inf"), True, 80.1]
)
def test_a_setting_the_charger_cannot_have_is_refused(setting_a):
    with pytest.raises(InputError, match="--setting"):
        check(DEMO, setting_a=setting_a, on=ON)


def test_a_setting_at_the_nameplate_is_judged():
    assert check(DEMO, setting_a=80.0, on=ON).headline.setting_a == 80
