"""Boundaries of every demand table and rule: just under, at, just over.

Expected values are worked by hand beside each case from the figures as printed.
"""

from __future__ import annotations

import math

import pytest

from lugbook.codebook.edition import editions, open_edition
from lugbook.codebook.nfpa70.load_calculation import (
    Heating,
    cooking_demand,
    counted_charger_current,
    dryer_demand,
    existing_hvac,
    fastened_appliances,
    general_load,
    largest_motor,
    lighting_demand,
    line_amount,
    measured_demand,
    optional_hvac,
    standard_vehicle_load,
    tiered,
)
from lugbook.errors import OutOfRange
from lugbook.finding import Line, Reckoned

YEARS = editions()
BEFORE_2026 = ("2017", "2020", "2023")
FT2_M2 = 0.09290304  # exact: 0.3048² m²
NOT_LOADS = (-0.001, -math.inf, math.nan)
EXACT = 1e-9  # relative; rounding of binary fractions only


def _sums(reckoned: Reckoned) -> bool:
    """Return whether the lines of a working add up to its amount."""
    total = math.fsum(line_amount(line) for line in reckoned.lines)
    return math.isclose(total, reckoned.amount, rel_tol=EXACT)


@pytest.mark.parametrize("year", YEARS)
@pytest.mark.parametrize(
    ("general_va", "expected_va"),
    [
        (0, 0),
        (2_999, 2_999),
        (3_000, 3_000),
        (3_001, 3_000.35),  # 3,000 + 1 × 0.35
        (119_999, 43_949.65),  # 3,000 + 116,999 × 0.35
        (120_000, 43_950),  # 3,000 + 117,000 × 0.35
        (120_001, 43_950.25),  # the next volt-ampere at 0.25
    ],
)
def test_lighting_falls_into_three_tiers(year, general_va, expected_va):
    found = lighting_demand(edition=open_edition(year), general_va=general_va)
    assert found.amount == pytest.approx(expected_va, rel=EXACT)
    assert _sums(found)


@pytest.mark.parametrize("bad_va", NOT_LOADS)
def test_a_lighting_load_below_zero_or_no_number_is_refused(bad_va):
    with pytest.raises(OutOfRange, match="give a number of at least 0"):
        lighting_demand(edition=open_edition("2023"), general_va=bad_va)


@pytest.mark.parametrize(
    ("year", "expected_va"),
    [
        # 1,000 ft² × 3 + 2 × 1,500 + 1 × 1,500; in 2026 at 2 VA/ft².
        *((year, 7_500) for year in BEFORE_2026),
        ("2026", 6_500),
    ],
)
def test_general_load_takes_the_unit_load_of_the_edition(year, expected_va):
    found = general_load(
        edition=open_edition(year),
        floor_area_m2=1_000 * FT2_M2,
        small_appliance_count=2,
        laundry_count=1,
    )
    assert found.amount == pytest.approx(expected_va, rel=EXACT)
    assert _sums(found)


@pytest.mark.parametrize("year", YEARS)
@pytest.mark.parametrize(
    ("small", "laundry", "circuits"),
    [(0, 0, 3), (1, 0, 3), (2, 1, 3), (3, 1, 4), (2, 2, 4)],
)
def test_two_kitchen_and_one_laundry_circuit_count_at_least(
    year, small, laundry, circuits
):
    found = general_load(
        edition=open_edition(year),
        floor_area_m2=0.0,
        small_appliance_count=small,
        laundry_count=laundry,
    )
    assert found.amount == circuits * 1_500


@pytest.mark.parametrize(
    ("area_m2", "small", "laundry"),
    [(-1.0, 2, 1), (math.nan, 2, 1), (100.0, -1, 1), (100.0, 2, -1)],
)
def test_a_general_load_below_zero_is_refused(area_m2, small, laundry):
    with pytest.raises(OutOfRange, match="below zero"):
        general_load(
            edition=open_edition("2023"),
            floor_area_m2=area_m2,
            small_appliance_count=small,
            laundry_count=laundry,
        )


@pytest.mark.parametrize("year", BEFORE_2026)
@pytest.mark.parametrize(
    ("count", "expected_va"),
    [
        (1, 5_000),
        (4, 20_000),
        (5, 21_250),  # 25,000 × 0.85
        (6, 22_500),  # 30,000 × 0.75
        (7, 22_750),  # 35,000 × 0.65
        (8, 24_000),  # 40,000 × 0.60
        (9, 24_750),  # 45,000 × 0.55
        (10, 25_000),  # 50,000 × 0.50
        (11, 25_850),  # 55,000 × 0.47
        (12, 27_600),  # 60,000 × (0.47 − 1 × 0.01)
        (23, 40_250),  # 115,000 × (0.47 − 12 × 0.01)
        (24, 41_400),  # 120,000 × (0.35 − 1 × 0.005)
        (42, 53_550),  # 210,000 × (0.35 − 19 × 0.005)
        (43, 53_750),  # 215,000 × 0.25
    ],
)
def test_dryers_by_their_number_before_2026(year, count, expected_va):
    found = dryer_demand(edition=open_edition(year), nameplates_va=[5_000] * count)
    assert found.amount == pytest.approx(expected_va, rel=EXACT)


@pytest.mark.parametrize(
    ("count", "expected_va"),
    [
        (2, 10_000),
        (3, 12_000),  # 15,000 × 0.80
        (5, 20_000),  # 25,000 × 0.80
        (6, 22_500),  # 30,000 × 0.75, as before, from memory
        (43, 53_750),  # 215,000 × 0.25
    ],
)
def test_dryers_by_their_number_in_2026(count, expected_va):
    found = dryer_demand(edition=open_edition("2026"), nameplates_va=[5_000] * count)
    assert found.amount == pytest.approx(expected_va, rel=EXACT)


@pytest.mark.parametrize("year", YEARS)
@pytest.mark.parametrize(
    ("nameplate_va", "expected_va"), [(4_999, 5_000), (5_000, 5_000), (5_001, 5_001)]
)
def test_a_dryer_counts_at_least_5000(year, nameplate_va, expected_va):
    found = dryer_demand(edition=open_edition(year), nameplates_va=[nameplate_va])
    assert found.amount == expected_va


@pytest.mark.parametrize("year", YEARS)
def test_no_dryer_counts_nothing(year):
    assert dryer_demand(edition=open_edition(year), nameplates_va=[]).amount == 0


@pytest.mark.parametrize("year", YEARS)
@pytest.mark.parametrize(
    ("nameplate_va", "expected_va"),
    [
        (1_750, 1_750),  # the table begins above 1,750: nameplate
        (1_751, 1_400.8),  # column A: × 0.80
        (3_499, 2_799.2),  # column A: × 0.80
        (3_500, 2_800),  # column B: × 0.80
        (8_750, 7_000),  # column B: × 0.80
        (8_751, 8_000),  # column C
        (12_000, 8_000),
        (12_499, 8_000),  # 0.499 kW over is no major fraction
        (12_500, 8_400),  # half a kW is one: 8,000 × 1.05
        (13_000, 8_400),
        (13_499, 8_400),
        (13_500, 8_800),  # 8,000 × 1.10
        (27_000, 14_000),  # 15 kW over: 8,000 × 1.75
        (27_001, 27_001),  # beyond the table: nameplate
    ],
)
def test_one_range_by_its_nameplate(year, nameplate_va, expected_va):
    found = cooking_demand(edition=open_edition(year), nameplates_va=[nameplate_va])
    assert found.amount == pytest.approx(expected_va, rel=EXACT)


@pytest.mark.parametrize("year", YEARS)
@pytest.mark.parametrize(
    ("nameplates_va", "expected_va"),
    [
        ([3_499, 3_499], 5_248.5),  # column A, two: 6,998 × 0.75
        ([3_500, 3_500], 4_550),  # column B, two: 7,000 × 0.65
        # One in each column: 3,499 × 0.80 + 3,500 × 0.80; column C would be 11,000.
        ([3_499, 3_500], 5_599.2),
        # Column B for the oven and C for the range: 4,000 × 0.8 + 8,000 = 11,200;
        # both in column C: 11,000, the lesser.
        ([4_000, 12_000], 11_000),
        # Unequal: average of 12 (for 8.751) and 14 is 13 kW, 1 over: 11,000 × 1.05.
        ([8_751, 14_000], 11_550),
        # Average of 12 and 12.998 is 12.499: no major fraction.
        ([12_000, 12_998], 11_000),
        # Average of 12 and 13 is 12.5: one step.
        ([12_000, 13_000], 11_550),
    ],
)
def test_two_cooking_appliances(year, nameplates_va, expected_va):
    found = cooking_demand(edition=open_edition(year), nameplates_va=nameplates_va)
    assert found.amount == pytest.approx(expected_va, rel=EXACT)


@pytest.mark.parametrize("year", YEARS)
@pytest.mark.parametrize(
    ("count", "expected_va"),
    [
        (1, 8_000),
        (2, 11_000),
        (3, 14_000),
        (4, 17_000),
        (5, 20_000),
        (6, 21_000),
        (25, 40_000),
        (26, 41_000),  # 15 + 26
        (30, 45_000),  # 15 + 30
        (31, 46_000),  # 15 + 31
        (40, 55_000),  # 15 + 40
        (41, 55_750),  # 25 + 0.75 × 41
        (50, 62_500),  # 25 + 0.75 × 50
        (51, 63_250),
        (60, 70_000),
        (61, 70_750),
    ],
)
def test_column_c_by_the_number_of_ranges(year, count, expected_va):
    found = cooking_demand(edition=open_edition(year), nameplates_va=[12_000] * count)
    assert found.amount == pytest.approx(expected_va, rel=EXACT)


@pytest.mark.parametrize("year", YEARS)
def test_no_cooking_appliance_counts_nothing(year):
    assert cooking_demand(edition=open_edition(year), nameplates_va=[]).amount == 0


@pytest.mark.parametrize(
    ("year", "fourth_va", "expected_va"),
    [
        ("2017", 499, 1_499.25),  # any size makes the fourth: 1,999 × 0.75
        ("2017", 500, 1_500),
        ("2020", 499, 1_999),  # three of 500 and a small one: no factor
        ("2020", 500, 1_500),  # 2,000 × 0.75
        ("2020", 501, 1_500.75),  # 2,001 × 0.75
        ("2023", 499, 1_999),
        ("2023", 500, 1_500),
        ("2023", 501, 1_500.75),
        ("2026", 499, 1_999),
        ("2026", 500, 1_500),
    ],
)
def test_the_fourth_fastened_appliance_must_be_large_enough(
    year, fourth_va, expected_va
):
    found = fastened_appliances(
        edition=open_edition(year), nameplates_va=[500, 500, 500, fourth_va]
    )
    assert found.amount == pytest.approx(expected_va, rel=EXACT)


@pytest.mark.parametrize("year", YEARS)
@pytest.mark.parametrize(
    ("count", "expected_va"), [(0, 0), (3, 3_000), (4, 3_000), (5, 3_750)]
)
def test_the_factor_needs_four_fastened_appliances(year, count, expected_va):
    found = fastened_appliances(
        edition=open_edition(year), nameplates_va=[1_000] * count
    )
    assert found.amount == expected_va


def test_the_factor_leaves_appliances_under_500_w_whole_since_2020():
    # 2020 on: 4 × 500 × 0.75 + 300; 2017 knows no threshold: (4 × 500 + 300) × 0.75
    mixed = [500] * 4 + [300]
    now = fastened_appliances(edition=open_edition("2023"), nameplates_va=mixed)
    before = fastened_appliances(edition=open_edition("2017"), nameplates_va=mixed)
    assert now.amount == pytest.approx(1_800, rel=EXACT)
    assert before.amount == pytest.approx(1_725, rel=EXACT)


@pytest.mark.parametrize("year", YEARS)
def test_a_quarter_of_the_largest_motor_is_added(year):
    edition = open_edition(year)
    assert largest_motor(edition=edition, motors_va=[900, 4_320, 1_200]).amount == 1_080
    assert largest_motor(edition=edition, motors_va=[]).amount == 0


@pytest.mark.parametrize("year", YEARS)
@pytest.mark.parametrize(
    ("count", "expected_va"),
    [
        (3, 3_900),  # 6,000 × 0.65
        (4, 2_400),  # 6,000 × 0.40
        (5, 2_400),
    ],
)
def test_separately_controlled_heat_changes_factor_at_four_units(
    year, count, expected_va
):
    heating = Heating(separate_va=6_000, separate_count=count)
    found = optional_hvac(edition=open_edition(year), heating=heating)
    assert found.amount == pytest.approx(expected_va, rel=EXACT)


@pytest.mark.parametrize("year", YEARS)
@pytest.mark.parametrize(
    ("heating", "expected_va"),
    [
        (Heating(), 0),
        (Heating(cooling_va=4_800), 4_800),
        (Heating(heat_pump_va=6_000), 6_000),
        # 6,000 + 10,000 × 0.65
        (Heating(heat_pump_va=6_000, supplemental_va=10_000), 12_500),
        # The compressor waits: the larger of 6,000 and 10,000 × 0.65.
        (
            Heating(
                heat_pump_va=6_000,
                supplemental_va=10_000,
                supplemental_with_compressor=False,
            ),
            6_500,
        ),
        (Heating(central_va=10_000), 6_500),
        (Heating(storage_va=7_000), 7_000),
        # The largest is added: 10,000 × 0.65 against cooling of 6,499 and 6,501.
        (Heating(central_va=10_000, cooling_va=6_499), 6_500),
        (Heating(central_va=10_000, cooling_va=6_501), 6_501),
    ],
)
def test_the_largest_of_the_printed_selections_is_added(year, heating, expected_va):
    found = optional_hvac(edition=open_edition(year), heating=heating)
    assert found.amount == pytest.approx(expected_va, rel=EXACT)


@pytest.mark.parametrize("year", BEFORE_2026)
@pytest.mark.parametrize(
    ("count", "outside_va", "inside_va"),
    [(3, 6_000, 0), (4, 0, 6_000), (5, 0, 6_000)],
)
def test_four_heating_units_join_the_tiers_of_an_existing_house(
    year, count, outside_va, inside_va
):
    heating = Heating(separate_va=6_000, separate_count=count)
    _, warm = existing_hvac(edition=open_edition(year), heating=heating)
    assert (warm[0].amount, warm[1]) == (outside_va, inside_va)


@pytest.mark.parametrize("year", BEFORE_2026)
def test_an_existing_house_counts_heating_or_cooling_but_not_both(year):
    heating = Heating(cooling_va=5_000, separate_va=6_000, separate_count=4)
    cold, warm = existing_hvac(edition=open_edition(year), heating=heating)
    assert (cold[0].amount, cold[1]) == (5_000, 0)
    assert (warm[0].amount, warm[1]) == (0, 6_000)


@pytest.mark.parametrize(
    ("year", "load_va", "expected_va"),
    [
        *((year, 9_999, 9_999) for year in BEFORE_2026),
        *((year, 10_000, 10_000) for year in BEFORE_2026),
        *((year, 10_001, 10_000.4) for year in BEFORE_2026),
        ("2026", 7_999, 7_999),
        ("2026", 8_000, 8_000),
        ("2026", 8_001, 8_000.4),
        ("2026", 10_000, 8_800),  # 8,000 + 2,000 × 0.4
    ],
)
def test_first_tier_of_the_optional_method(year, load_va, expected_va):
    rule = open_edition(year).rule("optional-dwelling")
    found = tiered(rule=rule, load_va=load_va, label="other loads")
    assert found.amount == pytest.approx(expected_va, rel=EXACT)
    assert _sums(found)


@pytest.mark.parametrize("year", BEFORE_2026)
@pytest.mark.parametrize(
    "name", ["existing-dwelling-no-hvac", "existing-dwelling-hvac"]
)
@pytest.mark.parametrize(
    ("load_va", "expected_va"), [(7_999, 7_999), (8_000, 8_000), (8_001, 8_000.4)]
)
def test_first_tier_of_the_existing_house(year, name, load_va, expected_va):
    rule = open_edition(year).rule(name)
    found = tiered(rule=rule, load_va=load_va, label="other loads")
    assert found.amount == pytest.approx(expected_va, rel=EXACT)


@pytest.mark.parametrize("bad_va", NOT_LOADS)
def test_a_tiered_load_below_zero_or_no_number_is_refused(bad_va):
    rule = open_edition("2023").rule("optional-dwelling")
    with pytest.raises(OutOfRange, match="give a number of at least 0"):
        tiered(rule=rule, load_va=bad_va, label="other loads")


@pytest.mark.parametrize(
    ("year", "charger_va", "expected_va"),
    [
        ("2017", 7_199, 7_199),
        ("2020", 7_199, 7_199),
        ("2023", 7_199, 7_200),
        ("2023", 7_200, 7_200),
        ("2023", 7_201, 7_201),
        ("2026", 7_199, 7_199),
    ],
)
def test_a_charger_in_the_standard_method_by_edition(year, charger_va, expected_va):
    found = standard_vehicle_load(edition=open_edition(year), charger_va=charger_va)
    assert found.amount == expected_va


@pytest.mark.parametrize(
    ("year", "expected_va"),
    [("2017", 0), ("2020", 0), ("2023", 7_200), ("2026", 7_200)],
)
def test_a_charger_without_a_nameplate_counts_the_minimum_where_there_is_one(
    year, expected_va
):
    found = standard_vehicle_load(
        edition=open_edition(year), charger_va=0.0, nameplate_known=False
    )
    assert found.amount == expected_va


@pytest.mark.parametrize("year", YEARS)
def test_a_measured_maximum_counts_at_125_percent(year):
    # 80 A × 240 V × 1.25 = 24,000 VA
    found = measured_demand(edition=open_edition(year), maximum_va=19_200)
    assert found.amount == 24_000


@pytest.mark.parametrize(
    "reckon",
    [
        lambda e, va: dryer_demand(edition=e, nameplates_va=[va]),
        lambda e, va: cooking_demand(edition=e, nameplates_va=[va]),
        lambda e, va: fastened_appliances(edition=e, nameplates_va=[va]),
        lambda e, va: largest_motor(edition=e, motors_va=[va]),
        lambda e, va: standard_vehicle_load(edition=e, charger_va=va),
        lambda e, va: measured_demand(edition=e, maximum_va=va),
    ],
    ids=["dryer", "cooking", "fastened", "motor", "charger", "measured"],
)
@pytest.mark.parametrize("bad_va", NOT_LOADS)
def test_a_nameplate_below_zero_or_no_number_is_refused(reckon, bad_va):
    with pytest.raises(OutOfRange, match="give a number of at least 0"):
        reckon(open_edition("2023"), bad_va)


ANY = ("password",)


@pytest.mark.parametrize(
    ("year", "restrictions", "hard_wired", "counted_a"),
    [
        ("2017", ANY, True, 80),  # no text lets the setting count
        ("2017", (), True, 80),
        ("2020", (), True, 80),
        ("2020", ("password",), True, 32),
        ("2020", ("locked_door",), True, 32),
        ("2020", ("cover_needing_tool",), True, 32),
        ("2020", ("sealable_cover",), True, 80),  # not yet among its means
        ("2020", ("software_password",), True, 80),
        ("2020", ("password",), False, 80),  # cord-connected: not yet
        ("2023", (), True, 80),
        ("2023", ("sealable_cover",), True, 32),
        ("2023", ("software_password",), True, 32),
        ("2023", ("password",), False, 32),
        ("2023", ("goodwill",), True, 80),
        ("2026", ("password",), False, 32),
        ("2026", (), False, 80),
    ],
)
def test_a_lower_setting_counts_by_edition_and_restriction(
    year, restrictions, hard_wired, counted_a
):
    found = counted_charger_current(
        edition=open_edition(year),
        nameplate_a=80,
        setting_a=32,
        restrictions=restrictions,
        hard_wired=hard_wired,
    )
    assert found.current_a == counted_a
    assert found.is_setting == (counted_a == 32)


@pytest.mark.parametrize("year", YEARS)
@pytest.mark.parametrize(("setting_a", "counted_a"), [(80, 80), (81, 81)])
def test_a_setting_at_or_above_the_nameplate_counts_itself(year, setting_a, counted_a):
    found = counted_charger_current(
        edition=open_edition(year),
        nameplate_a=80,
        setting_a=setting_a,
        restrictions=(),
        hard_wired=True,
    )
    assert found.current_a == counted_a
    assert not found.is_setting


@pytest.mark.parametrize(
    ("nameplate_a", "setting_a"), [(0, 32), (80, 0), (-80, 32), (80, math.nan)]
)
def test_a_charger_without_current_is_refused(nameplate_a, setting_a):
    with pytest.raises(OutOfRange, match="no current counts nothing"):
        counted_charger_current(
            edition=open_edition("2023"),
            nameplate_a=nameplate_a,
            setting_a=setting_a,
            restrictions=(),
            hard_wired=True,
        )


def test_a_line_without_a_number_is_refused():
    with pytest.raises(OutOfRange, match="the line choice holds no number"):
        line_amount(Line("choice", "copper"))


@pytest.mark.parametrize(
    ("heating", "heating_va", "cooling_va"),
    [
        (Heating(), 0, 0),
        # Pump and supplement together: 6,000 + 10,000; the pump also cools.
        (Heating(heat_pump_va=6_000, supplemental_va=10_000), 16_000, 6_000),
        # One or the other: the larger.
        (
            Heating(
                heat_pump_va=6_000,
                supplemental_va=10_000,
                supplemental_with_compressor=False,
            ),
            10_000,
            6_000,
        ),
        # 5,000 + 4,000 + 3,000; the air conditioner beside them.
        (
            Heating(
                central_va=5_000, separate_va=4_000, storage_va=3_000, cooling_va=4_800
            ),
            12_000,
            4_800,
        ),
    ],
)
def test_connected_heating_and_cooling_are_nameplates_that_may_run_at_once(
    heating, heating_va, cooling_va
):
    assert heating.connected_heating_va == heating_va
    assert heating.connected_cooling_va == cooling_va
