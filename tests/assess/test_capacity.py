"""Each method's arithmetic, worked by hand on the plain house of `houses.py`.

The plain house has 9,000 VA of general load (2026: 7,500). With a dryer of 5,000 and a
water heater of 6,000 VA there are 20,000 VA for the tiers:
optional   10,000 + 0.4 × 10,000 = 14,000
existing    8,000 + 0.4 × 12,000 = 12,800
standard    3,000 + 0.35 × 6,000 + 5,000 + 6,000 = 16,100
"""

from __future__ import annotations

from dataclasses import replace

import pytest
from houses import Tree, house, load, row_of, rows_of

from lugbook.finding import Outcome
from lugbook.premises.load import LOAD_KINDS
from lugbook.readings.evidence import Evidence, StatedDemand

EXACT = 1e-9  # relative; rounding of binary fractions only
PASSES = (Outcome.MEETS, Outcome.NARROW)
APPLIANCES = (load("dryer", 5_000), load("water heater", 6_000))
OPTIONAL, EXISTING, STANDARD = 14_000, 12_800, 16_100
SEPARATE = "separately controlled electric heat"
CHARGER_VA = 7_680  # 32 A × 240 V


def base_va(method, *loads, year="2023", hvac="counted", **tables):
    rows = rows_of(house(*APPLIANCES, *loads, **tables), year)
    return row_of(rows, method, hvac=hvac).base_va


def pump(va, supplemental_va, together):
    said = {} if together is None else {"heats_while_compressor_runs": together}
    return (
        load("heat pump", va),
        load("heat pump supplemental heat", supplemental_va, **said),
    )


@pytest.mark.parametrize(
    ("loads", "hvac_va"),
    [
        ((), 0),
        # 220.82(C)(3): 100 % of the compressor and 65 % of what heats beside it
        (pump(6_000, 10_000, True), 6_000 + 6_500),
        (pump(6_000, 10_000, None), 6_000 + 6_500),
        # the compressor is left out where both cannot run: the larger of the two
        (pump(6_000, 10_000, False), 6_500),
        (pump(12_000, 5_000, False), 12_000),
        ((load("heat pump", 6_000),), 6_000),
        # 220.82(C)(4): 65 %
        ((load("central electric heat", 15_000),), 9_750),
        ((load(SEPARATE, 2_000, count=3),), 3_900),
        # 220.82(C)(5): four or more, 40 %
        ((load(SEPARATE, 2_000, count=4),), 3_200),
        ((load(SEPARATE, 8_000, controls=4),), 3_200),
        # 220.82(C)(6)
        ((load("thermal storage heat", 10_000),), 10_000),
        # 220.82(C)(1): all that cools, heat pumps among it
        ((load("room cooling", 1_200, count=3),), 3_600),
        ((load("central cooling", 5_000), load("heat pump", 6_000)), 11_000),
        # the larger of heating and cooling, not both
        ((load("central cooling", 5_000), load("central electric heat", 7_000)), 5_000),
        ((load("central cooling", 5_000), load("central electric heat", 9_000)), 5_850),
        # Annex D2(b): a bathroom heater is heating, and here the smaller
        ((load("central cooling", 5_000), load("bathroom heater", 1_500)), 5_000),
        # several kinds: the largest selection alone
        (
            (load("central electric heat", 10_000), load(SEPARATE, 2_000, count=3)),
            6_500,
        ),
    ],
)
def test_optional_method_adds_the_largest_selection(loads, hvac_va):
    found = base_va("optional", *loads)
    assert found == pytest.approx(OPTIONAL + hvac_va, rel=EXACT)


@pytest.mark.parametrize(
    ("loads", "beside_va"),
    [
        ((load("central cooling", 5_000),), 5_000),
        (pump(6_000, 10_000, True), 16_000),
        (pump(6_000, 10_000, False), 10_000),
        (pump(12_000, 5_000, False), 12_000),
        ((load("central electric heat", 15_000),), 15_000),
        ((load(SEPARATE, 2_000, count=3),), 6_000),
        # four or more stand with the other loads: 0.4 × 8,000
        ((load(SEPARATE, 2_000, count=4),), 3_200),
        ((load("central cooling", 5_000), load("central electric heat", 7_000)), 7_000),
    ],
)
def test_existing_dwelling_with_hvac_counts_the_larger_whole(loads, beside_va):
    found = base_va("existing_hvac", *loads)
    assert found == pytest.approx(EXISTING + beside_va, rel=EXACT)


def test_existing_dwelling_without_hvac_is_read_with_it_and_without():
    cooling = load("central cooling", 5_000)
    counted = base_va("existing", cooling)
    left_out = base_va("existing", cooling, hvac="not_counted")
    assert counted == pytest.approx(EXISTING + 0.4 * 5_000, rel=EXACT)
    assert left_out == pytest.approx(EXISTING, rel=EXACT)


@pytest.mark.parametrize(
    ("loads", "added_va"),
    [
        # 220.51 heat at 100 %, 220.60 the larger, 220.50 a quarter of the motor,
        # also where the motor belongs to the smaller load (2020 on)
        (
            (load("central cooling", 5_000, motor_current="20 A", voltage="240 V"),),
            5_000 + 1_200,
        ),
        (
            (
                load("central cooling", 5_000, motor_current="20 A", voltage="240 V"),
                load("central electric heat", 8_000),
            ),
            8_000 + 1_200,
        ),
        (pump(6_000, 10_000, True), 16_000),
        (pump(6_000, 10_000, False), 10_000),
        (pump(12_000, 5_000, False), 12_000),
        ((load(SEPARATE, 2_000, count=4),), 8_000),
        ((load("central cooling", 5_000), load("bathroom heater", 1_500)), 5_000),
        # a blower is space-heating equipment, not an appliance of 220.53
        ((load("furnace blower", 600),), 600),
        # 220.55: 12 kW counts 8 kW; 14.4 kW 10 % more (two kW over 12)
        ((load("range", 12_000),), 8_000),
        ((load("range", 14_400),), 8_800),
        # Note 3: 3.4 kW at 80 % (column A)
        ((load("wall oven", 3_400),), 2_720),
        # 220.53: with the water heater four of 500 VA and more, at 75 %
        (
            (
                load("dishwasher", 1_000),
                load("sauna", 500, fastened_in_place=True),
                load("built-in microwave", 1_500),
            ),
            0.75 * 9_000 - 6_000,
        ),
        # one of 499 VA is none of the four
        (
            (
                load("dishwasher", 1_000),
                load("sauna", 499, fastened_in_place=True),
                load("built-in microwave", 1_500),
            ),
            2_999,
        ),
        # not said to be fastened: whole, and none of the four
        (
            (
                load("dishwasher", 1_000),
                load("kiln", 500),
                load("built-in microwave", 1_500),
            ),
            3_000,
        ),
        # two more dryers of 5,500 VA: 220.54 at 100 % up to four
        ((load("dryer", 5_500, count=2),), 11_000),
        # a dryer counts 5,000 VA at least
        ((load("dryer", 4_000),), 5_000),
        # other chargers each by itself: 2 × 9,600, not 2 × (2 × 9,600)
        ((load("vehicle charging", 9_600, count=2),), 19_200),
        # 220.57 of 2023: 7,200 VA at least, each
        ((load("vehicle charging", 3_840, count=2),), 14_400),
    ],
)
def test_standard_method_by_hand(loads, added_va):
    found = base_va("standard", *loads)
    assert found == pytest.approx(STANDARD + added_va, rel=EXACT)


# The book sets a least load for these, whatever their plate.
WITH_A_LEAST_LOAD = ("dryer", "vehicle charging")


@pytest.mark.parametrize(
    "kind", [kind for kind in LOAD_KINDS if kind not in WITH_A_LEAST_LOAD]
)
@pytest.mark.parametrize("year", ["2017", "2020", "2023", "2026"])
def test_a_load_of_nothing_changes_no_row(kind, year):
    before = rows_of(house(*APPLIANCES), year)
    after = rows_of(house(*APPLIANCES, load(kind, 0)), year)
    assert [row.va for row in after] == [row.va for row in before]


@pytest.mark.parametrize(
    ("year", "expected_va"),
    # 3,840 VA asked; 2023: at least 7,200; 2026: the nameplate, which is known
    [("2017", 3_840), ("2020", 3_840), ("2023", 7_200), ("2026", 3_840)],
)
def test_a_small_charger_in_the_standard_method(year, expected_va):
    tree = house(*APPLIANCES, charger={"nameplate": "16 A"})
    row = row_of(rows_of(tree, year), "standard")
    assert row.va - row.base_va == pytest.approx(expected_va, rel=EXACT)


def test_the_125_percent_reading_covers_every_continuous_load():
    # 0.25 × (7,680 + 6,000 of a second charger + 4,000 of a continuous kiln)
    loads = (load("vehicle charging", 6_000), load("kiln", 4_000, continuous=True))
    rows = rows_of(house(*APPLIANCES, *loads))
    for method in ("optional", "existing", "existing_hvac", "standard"):
        more = row_of(rows, method, "outside_125").va - row_of(rows, method).va
        assert more == pytest.approx(0.25 * 17_680, rel=EXACT)


@pytest.mark.parametrize(
    ("system", "label_v", "expected_a"),
    [
        # 9,000 VA of house: under the first tier, so whole
        ("120/240 V split-phase", "240 V", 9_000 / 240 + 32),
        # a charger draws its amperes whatever its label's voltage
        ("120/240 V split-phase", "208 V", 9_000 / 240 + 32),
        ("120/208 V of a three-phase wye", "208 V", 9_000 / 208 + 32),
        ("120/208 V of a three-phase wye", "240 V", (9_000 + 7_680) / 208),
    ],
)
def test_amperes_by_supply_and_charger_voltage(system, label_v, expected_a):
    tree = house(service={"system": system}, charger={"voltage": label_v})
    row = row_of(rows_of(tree), "optional")
    assert row.amperes == pytest.approx(expected_a, rel=EXACT)


@pytest.mark.parametrize(
    ("rating", "permitted"), [("99 A", False), ("100 A", True), ("101 A", True)]
)
def test_the_optional_method_needs_a_supply_of_100_a(rating, permitted):
    row = row_of(rows_of(house(service={"main": {"rating": rating}})), "optional")
    assert row.permitted is permitted
    assert (row.outcome is Outcome.NOT_REQUIRED) is not permitted


def test_heating_added_bars_the_list_without_it():
    tree = house(load("heat pump", 6_000, state="proposed"))
    assert not row_of(rows_of(tree), "existing").permitted
    assert row_of(rows_of(tree), "existing_hvac").permitted


def test_in_2026_a_method_whose_table_was_not_seen_gives_no_number():
    row = row_of(rows_of(house(), "2026"), "existing")
    assert row.outcome is Outcome.CANNOT_TELL
    assert (row.base_va, row.va, row.amperes) == (None, None, None)
    assert [line.label for line in row.working.lines] == ["not reckoned"]
    assert row.largest_setting_a is None


# What is not stated of the charger.
#
# Base of the optional method with APPLIANCES on 100 A: 14,000 VA, 58.33 A, so 41.67 A
# are left: 32 A passes, 48 A does not.


def on_100_a(*loads, **charger) -> Tree:
    return house(
        *APPLIANCES,
        *loads,
        service={"main": {"rating": "100 A"}},
        charger={"setting_steps": ["16 A", "32 A", "48 A"], **charger},
    )


@pytest.mark.parametrize(
    ("year", "said", "outcome", "largest_a"),
    [
        ("2023", {"setting_restricted_by": ["password"]}, "passes", 32),
        ("2023", {"setting_restricted_by": ["none"]}, Outcome.FALLS_SHORT, None),
        ("2023", {}, Outcome.CANNOT_TELL, None),
        ("2020", {"setting_restricted_by": ["password"]}, "passes", 32),
        (
            "2020",
            {"setting_restricted_by": ["password"], "connection": None},
            Outcome.CANNOT_TELL,
            None,
        ),
        (
            "2020",
            {"setting_restricted_by": ["password"], "connection": "receptacle"},
            Outcome.FALLS_SHORT,
            None,
        ),
        ("2017", {"setting_restricted_by": ["password"]}, Outcome.FALLS_SHORT, None),
        ("2017", {}, Outcome.FALLS_SHORT, None),
    ],
)
def test_a_setting_below_the_nameplate(year, said, outcome, largest_a):
    row = row_of(
        rows_of(on_100_a(nameplate="48 A", setting="32 A", **said), year), "optional"
    )
    assert row.outcome in (PASSES if outcome == "passes" else (outcome,))
    assert row.largest_setting_a == largest_a


def test_an_open_setting_falls_short_where_even_the_setting_does():
    row = row_of(rows_of(on_100_a(nameplate="80 A", setting="48 A")), "optional")
    assert row.outcome is Outcome.FALLS_SHORT


@pytest.mark.parametrize(
    ("year", "said", "outcome"),
    [
        # the nameplate may be 48 A, and then it would count
        ("2017", {"setting_restricted_by": ["password"]}, Outcome.CANNOT_TELL),
        ("2023", {}, Outcome.CANNOT_TELL),
        ("2023", {"setting_restricted_by": ["anyone with the app"]}, "cannot_tell"),
        # a restricted setting counts whatever the nameplate
        ("2023", {"setting_restricted_by": ["password"]}, "passes"),
        ("2020", {"setting_restricted_by": ["password"]}, "passes"),
    ],
)
def test_a_nameplate_nobody_stated(year, said, outcome):
    tree = on_100_a(setting="32 A", **said)
    del tree["charger"]["nameplate"]
    row = row_of(rows_of(tree, year), "optional")
    assert row.outcome in (PASSES if outcome == "passes" else (outcome,))
    assert (row.largest_setting_a is not None) is (outcome == "passes")


def test_a_setting_of_zero_amperes_is_none_so_the_nameplate_is_asked_about():
    row = row_of(rows_of(house(charger={"setting": "0 A"})), "optional")
    assert row.va == 9_000 + CHARGER_VA


def test_a_nameplate_of_zero_amperes_is_none():
    rows = rows_of(house(charger={"nameplate": "0 A", "setting": "16 A"}))
    assert row_of(rows, "optional").outcome is Outcome.CANNOT_TELL


def test_without_a_charger_the_current_asked_about_is_the_nameplate():
    tree = house()
    del tree["charger"]
    assert rows_of(tree) == ()
    assert row_of(rows_of(tree, setting_a=32.0), "optional").va == 9_000 + CHARGER_VA


def test_without_a_system_no_row_is_shown():
    tree = house()
    del tree["service"]["system"]
    assert rows_of(tree) == ()


# What is not stated of the house.


def test_a_row_names_every_gap_and_passes_nowhere():
    tree = house(load("kiln"))
    del tree["service"]["meter_base_rating"]
    row = row_of(rows_of(tree), "optional")
    assert row.outcome is Outcome.CANNOT_TELL
    assert "service rating" in row.reason
    assert "loads.load_0.nameplate" in row.reason
    assert (row.largest_exact_a, row.largest_setting_a) == (None, None)


def test_a_lower_bound_over_the_least_known_part_falls_short_all_the_same():
    tree = house(load("kiln"), load("sauna", 60_000), charger={"nameplate": "80 A"})
    del tree["service"]["meter_base_rating"]
    assert row_of(rows_of(tree), "standard").outcome is Outcome.FALLS_SHORT


@pytest.mark.parametrize(
    ("cooling_va", "outcome"),
    [
        # 2020, 100 A: 16,100 + 7,680 = 23,780 VA of 24,000 without cooling.
        # cooling of 176 VA, a quarter of it 44: exactly 24,000 with its whole as motor
        (176, Outcome.NARROW),
        (177, Outcome.CANNOT_TELL),
        (220, Outcome.CANNOT_TELL),
        (221, Outcome.FALLS_SHORT),
    ],
)
def test_a_motor_nobody_stated_is_its_whole_load_at_the_worst(cooling_va, outcome):
    tree = house(
        *APPLIANCES,
        load("central cooling", cooling_va),
        service={"main": {"rating": "100 A"}},
    )
    row = row_of(rows_of(tree, "2020"), "standard")
    assert row.outcome is outcome
    assert (row.largest_setting_a is not None) is (outcome is Outcome.NARROW)
    assert row.base_va == pytest.approx(STANDARD + cooling_va, rel=EXACT)


# Measured demand: 1.25 × maximum + 32 A on 100 A.

RECORD = StatedDemand(
    maximum_va=12_000,
    maximum_a=None,
    power_factor_fraction=None,
    days=365,
    last_day=None,
    window_s=900,
    continuous=True,
    highest_loaded_leg=None,
    occupied=None,
    seasonal_loads_included=None,
    seasonal_load_added_va=None,
    peak_shaved=False,
)
SHORT = replace(
    RECORD,
    maximum_va=None,
    maximum_a=50.0,
    days=30,
    highest_loaded_leg=True,
    occupied=True,
    seasonal_loads_included=True,
)


def measured(record, tree=None, year="2023", charger="outside"):
    tree = house(service={"main": {"rating": "100 A"}}) if tree is None else tree
    return row_of(
        rows_of(tree, year, evidence=Evidence((), record)), "measured", charger
    )


@pytest.mark.parametrize("record", [RECORD, SHORT])
def test_a_sound_record_counts_at_125_percent(record):
    # 12,000 VA or 50 A: 1.25 × 50 + 32 = 94.5 A
    row = measured(record)
    assert row.amperes == pytest.approx(94.5, rel=EXACT)
    assert row.outcome is Outcome.MEETS
    assert row.largest_exact_a == pytest.approx(37.5, abs=1e-6)


def test_the_new_continuous_load_at_125_percent():
    # 62.5 + 1.25 × 32 = 102.5 A
    row = measured(RECORD, charger="outside_125")
    assert row.amperes == pytest.approx(102.5, rel=EXACT)


def test_proposed_loads_are_added_to_the_record_each_with_its_line():
    # 62.5 + 32 + 1,200 / 240 = 99.5; at 125 % + 0.25 × (32 + 5) = 108.75
    tree = house(
        load("sauna", 1_200, state="proposed", continuous=True),
        load("dryer", 5_000),
        service={"main": {"rating": "100 A"}},
    )
    row = measured(RECORD, tree)
    assert row.amperes == pytest.approx(99.5, rel=EXACT)
    assert "sauna (load_0)" in [line.label for line in row.working.lines]
    at_125 = measured(RECORD, tree, charger="outside_125")
    assert at_125.amperes == pytest.approx(108.75, rel=EXACT)


def test_a_record_needs_no_list_of_existing_loads_but_of_proposed_ones():
    existing = house(load("sauna"), dwelling={"loads_complete": False})
    proposed = house(load("sauna", state="proposed"))
    assert measured(RECORD, existing).outcome is Outcome.MEETS
    assert measured(RECORD, existing).largest_setting_a == 32
    assert measured(RECORD, proposed).outcome is Outcome.CANNOT_TELL


@pytest.mark.parametrize(
    ("change", "value"),
    [
        (change, value)
        for change in ("days", "window_s", "continuous", "maximum_va")
        for value in (None, float("nan"), float("inf"), -1.0)
        if (change, value) not in (("days", float("inf")), ("continuous", -1.0))
    ]
    + [("days", 29), ("window_s", 901), ("window_s", 0), ("continuous", False)]
    + [("peak_shaved", True)],
)
def test_a_full_record_with_any_condition_open_never_passes(change, value):
    assert measured(replace(RECORD, **{change: value})).outcome not in PASSES


@pytest.mark.parametrize(
    ("change", "value"),
    [
        (change, value)
        for change in (
            "days",
            "window_s",
            "continuous",
            "maximum_a",
            "highest_loaded_leg",
            "occupied",
            "seasonal_loads_included",
        )
        for value in (None, float("nan"), False)
    ]
    + [("days", 29.9), ("seasonal_load_added_va", float("nan"))],
)
def test_a_short_record_with_any_condition_open_never_passes(change, value):
    assert measured(replace(SHORT, **{change: value})).outcome not in PASSES


def test_a_short_record_in_kilowatts_alone_may_be_one_legs():
    row = measured(replace(SHORT, maximum_a=None, maximum_va=6_000))
    assert row.outcome is Outcome.CANNOT_TELL
    assert "leg" in row.reason


def test_seasonal_load_may_be_added_by_calculation():
    # 1.25 × (50 + 2,400 / 240) + 32 = 107 A
    added = replace(SHORT, seasonal_loads_included=False, seasonal_load_added_va=2_400)
    assert measured(added).amperes == pytest.approx(107, rel=EXACT)


def test_the_larger_of_two_statements_of_the_maximum_counts():
    # 60 A × 240 V = 14,400 VA: 1.25 × 60 + 32 = 107 A
    twice = replace(RECORD, maximum_a=60.0)
    assert measured(twice).amperes == pytest.approx(107, rel=EXACT)


def test_real_power_is_divided_by_its_power_factor():
    # 12,000 / 0.8 = 15,000 VA: 1.25 × 62.5 + 32 = 110.125 A
    row = measured(replace(RECORD, power_factor_fraction=0.8))
    assert row.amperes == pytest.approx(110.125, rel=EXACT)


def sources(*kinds):
    return [{"id": f"source_{n}", "kind": kind} for n, kind in enumerate(kinds)]


@pytest.mark.parametrize(
    ("kinds", "absent", "outcome"),
    [
        ((), ["solar", "battery"], Outcome.MEETS),
        ((), ["solar"], Outcome.CANNOT_TELL),
        ((), [], Outcome.CANNOT_TELL),
        (("solar",), ["battery"], Outcome.NOT_REQUIRED),
        (("wind",), ["solar", "battery"], Outcome.NOT_REQUIRED),
        (("battery",), ["solar"], Outcome.NOT_REQUIRED),
        # a generator says nothing of solar
        (("generator in parallel",), ["battery"], Outcome.CANNOT_TELL),
        (("generator in parallel",), ["solar", "battery"], Outcome.MEETS),
    ],
)
def test_sources_beside_the_service_bar_the_record(kinds, absent, outcome):
    tree = house(
        dwelling={"not_present": absent},
        service={"main": {"rating": "100 A"}},
        sources=sources(*kinds),
    )
    row = measured(RECORD, tree)
    assert row.outcome is outcome


@pytest.mark.parametrize("source", ["sources", "standby"])
def test_a_source_that_may_shave_the_peak_must_be_said_not_to(source):
    kind = {"sources": "generator in parallel", "standby": "battery"}[source]
    tree = house(dwelling={"not_present": ["solar"]})
    if source == "sources":
        tree["dwelling"]["not_present"].append("battery")
    tree[source] = [{"id": "source", "kind": kind}]
    assert measured(replace(RECORD, peak_shaved=None), tree).outcome not in PASSES
    assert measured(RECORD, tree).outcome is Outcome.MEETS


def test_without_a_record_the_working_holds_no_zero_demand():
    row = measured(None)
    assert (row.va, row.amperes, row.outcome) == (None, None, Outcome.CANNOT_TELL)
    assert [line.amount for line in row.working.lines] == ["no demand record is stated"]
