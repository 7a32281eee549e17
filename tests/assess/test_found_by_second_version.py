"""What the differential test found wrong, each settled from its source, by hand.

One test a finding, so that the long campaign is not needed to keep it mended.
"""

from __future__ import annotations

import pytest
from circuit_plans import charger, circuit, finding, item, judge, section
from houses import house, load, row_of, rows_of

from lugbook.finding import Outcome

EXACT = 1e-9  # relative; rounding of binary fractions only
SEPARATE = "separately controlled electric heat"


def charging(*words, connection="hard-wired"):
    """A 48 A charger set to 16 A, its setting restricted as said."""
    said = {"setting_restricted_by": list(words)} if words else {}
    return {
        "id": "charger",
        "connection": connection,
        "nameplate": "48 A",
        "setting": "16 A",
        "setting_steps": ["16 A", "48 A"],
        **said,
    }


@pytest.mark.parametrize(
    ("words", "counted_a"),
    [
        (("password",), 16),
        # 750.30(C): who has the app may raise it, whatever else guards it
        (("password", "anyone with the app"), 48),
    ],
)
def test_a_setting_anyone_can_raise_never_counts(words, counted_a):
    rows = rows_of(house(charger=charging(*words)))
    row = row_of(rows, "standard")
    assert row.va - row.base_va == pytest.approx(max(counted_a * 240, 7_200), rel=EXACT)


def test_a_plugged_in_charger_of_2020_counts_its_nameplate_whatever_is_unsaid():
    # 625.42 of 2020: fixed in place only. 9,000 VA general: 3,000 + 0.35 × 6,000
    # = 5,100, and 48 A × 240 V = 11,520: 16,620 VA, 69.25 A on 60 A.
    tree = house(
        charger=charging(connection="receptacle"),
        service={"main": {"rating": "60 A"}},
    )
    row = row_of(rows_of(tree, "2020"), "standard")
    assert row.outcome is Outcome.FALLS_SHORT


@pytest.mark.parametrize(
    ("cooling_va", "beside_va"),
    [
        # 220.83(B): heating or cooling, not both. Four units stand in the tiers:
        # 0.4 × 10,000 = 4,000 VA, against the cooling at 100 %
        (3_999, 4_000),
        (4_000, 4_000),
        (4_001, 4_001),
    ],
)
def test_four_heating_units_and_cooling_do_not_add_up(cooling_va, beside_va):
    heat = load(SEPARATE, 10_000, controls=4)
    rows = rows_of(house(heat, load("central cooling", cooling_va)))
    # 9,000 VA: 8,000 + 0.4 × 1,000
    base_va = row_of(rows, "existing_hvac").base_va
    assert base_va == pytest.approx(8_400 + beside_va, rel=EXACT)


@pytest.mark.parametrize(("year", "quarter_va"), [("2017", 0), ("2020", 1_200)])
def test_the_motor_of_cooling_left_out_counts_from_2020_on(year, quarter_va):
    # 220.60: 8,000 VA of heat against 5,000 of cooling; motor 20 A × 240 V = 4,800 VA
    cooling = load("central cooling", 5_000, motor_current="20 A", voltage="240 V")
    rows = rows_of(house(cooling, load("central electric heat", 8_000)), year)
    base_va = row_of(rows, "standard").base_va
    assert base_va == pytest.approx(5_100 + 8_000 + quarter_va, rel=EXACT)


def test_dryers_without_a_nameplate_count_the_least_load_each():
    # 220.54: 2 × 5,000 VA at the least; 5,100 VA of lighting beside them
    rows = rows_of(house(load("dryer", count=2)))
    base_va = row_of(rows, "standard").base_va
    assert base_va == pytest.approx(5_100 + 10_000, rel=EXACT)


@pytest.mark.parametrize(
    ("main_a", "permitted"),
    # 4 AWG aluminum: 65 A at 75 °C; 230.90(A) and 240.4(B) take 70 A, not 80 A
    [(70, True), (80, False)],
)
def test_the_next_standard_main_protects_the_service_conductors(main_a, permitted):
    record = {
        "days": 365,
        "averaged_over": "15 min",
        "continuous": True,
        "maximum_current": "20 A",
    }
    service = {
        "main": {"rating": f"{main_a} A"},
        "conductor": {"material": "aluminum", "size": "4 AWG"},
    }
    rows = rows_of(house(service=service, demand_record=record))
    assert row_of(rows, "measured").permitted is permitted


def conductor(run, *, device=60, size="6 AWG", edition="2023", **fields):
    """The conductor of a circuit for 48 A, judged."""
    text = charger(48) + circuit(device, size, sections=run, **fields)
    return item(judge(text, year=edition), "conductor")


def test_an_unknown_wiring_method_never_passes_whatever_the_print_says():
    # 6 AWG at 75 °C takes 60 A, at the 60 °C of 334.80 it does not
    assert conductor(section()).finding.outcome is Outcome.MEETS
    unsaid = conductor(section(method=None)).finding.outcome
    assert unsaid is Outcome.CANNOT_TELL


def test_underground_is_wet_whatever_is_said_of_it():
    # 300.5(B); THHN may not lie there, 310.10(C)
    run = section(place="underground", extra="wet = false")
    assert conductor(run, insulation="THHN").finding.outcome is Outcome.FALLS_SHORT


@pytest.mark.parametrize(
    ("device", "outcome"),
    # 10 AWG takes 30 A at the most, 240.4(D), however cool the run
    [(30, Outcome.CANNOT_TELL), (35, Outcome.FALLS_SHORT)],
)
def test_a_device_beyond_the_terminals_ampacity_is_too_large_on_any_run(
    device, outcome
):
    text = charger(24) + circuit(device, "10 AWG", sections=section(ambient=None))
    assert finding(judge(text), "conductor").outcome is outcome


@pytest.mark.parametrize(
    ("cables", "extra", "outcome"),
    [
        # 334.80: 4 AWG copper, 95 A at 90 °C × 0.70 for eight = 66.5 A, next 70 A
        (4, "", Outcome.MEETS),
        # × 0.50 for ten = 47.5 A, below the 48 A
        (5, "", Outcome.FALLS_SHORT),
        (5, "spacing_kept = true", Outcome.MEETS),
        (2, "", Outcome.MEETS),
    ],
)
def test_nm_cables_through_one_hole_are_counted_together(cables, extra, outcome):
    run = section(method="NM cable", extra=f"cables_in_one_hole = {cables}\n{extra}")
    found = conductor(run, size="4 AWG", insulation=None)
    assert found.finding.outcome is outcome


def test_armored_cable_in_insulation_goes_by_its_own_print():
    # 320.80(A) asks for 90 °C wire. 75 °C print at 50 °C: 85 A × 0.75 = 63.75 A;
    # 90 °C print: 95 A × 0.82 = 77.9 A, held to 70 A. A 70 A device: next size up
    # of 63.75 A is 70 A; with six together 51 A takes 60 A only.
    run = section(
        method="AC cable",
        ambient="50 °C",
        extra="in_insulation = true\nother_current_carrying_conductors = 2",
    )
    cool = conductor(run, device=70, size="4 AWG", insulation="THHN")
    warm = conductor(run, device=70, size="4 AWG", insulation="THW")
    assert cool.finding.outcome is not Outcome.FALLS_SHORT
    assert warm.finding.outcome is Outcome.FALLS_SHORT


def test_in_2026_a_section_held_down_by_its_cable_is_not_passed_over():
    # 310.14(A)(2) of 2026: only what correction or adjustment lowered. 8 ft of SE cable
    # in insulation, 10 AWG: the 60 °C column, 30 A, is the article's and no correction;
    # 338.10(B)(4)(a). Elsewhere 75 °C, 35 A.
    runs = section(
        "hot", method="SE cable", length="8 ft", extra="in_insulation = true"
    )
    runs += section(
        "cool", method="SE cable", length="92 ft", extra="in_insulation = false"
    )
    text = charger(24) + circuit(30, "10 AWG", sections=runs, insulation=None)
    amounts = {}
    for edition in ("2023", "2026"):
        lines = finding(judge(text, year=edition), "conductor").working.lines
        amounts[edition] = [x.symbols for x in lines if "governing section" in x.label]
    assert any("passed over" in words for words in amounts["2023"])
    assert not any("passed over" in words for words in amounts["2026"])


def test_a_restricted_setting_counts_though_nobody_read_the_nameplate():
    # 625.42(B) of 2023: the adjusted setting is the rating
    text = charger(24).replace('nameplate = "24 A"\n', "")
    found = judge(text + circuit(30, "10 AWG"))
    assert finding(found, "overcurrent_device").outcome is Outcome.MEETS
