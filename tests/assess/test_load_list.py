"""Every load in its place, and nothing lost on the way to it."""

from __future__ import annotations

import pytest
from houses import house, load, loads_of, row_of, rows_of

from lugbook.premises.load import LOAD_KINDS

CALCULATED = ("optional", "existing", "existing_hvac", "standard")
EXACT = 1e-9  # relative; rounding of binary fractions only


def only(*loads, year="2023"):
    """Return the one load counted, and everything it could be in."""
    found = loads_of(house(*loads), year)
    everywhere = (*found.appliances, *found.vehicles, *found.hvac)
    assert len(everywhere) == len(loads)
    return everywhere[0]


def fields(found):
    return [unknown.field for unknown in found.unknowns]


@pytest.mark.parametrize("kind", LOAD_KINDS)
def test_every_kind_stands_in_exactly_one_class(kind):
    assert only(load(kind, 3_000)).va == pytest.approx(3_000, rel=EXACT)


@pytest.mark.parametrize("method", CALCULATED)
@pytest.mark.parametrize("kind", LOAD_KINDS)
def test_every_kind_raises_every_calculated_method(kind, method):
    # 3,000 VA counts at least 0.4 × 3,000 anywhere; 5,000 VA of dryer lift the
    # optional method past its first 10,000 VA.
    dryer = load("dryer", 5_000)
    with_it = row_of(rows_of(house(dryer, load(kind, 3_000))), method)
    without = row_of(rows_of(house(dryer)), method)
    assert with_it.base_va - without.base_va >= 1_200 * (1 - EXACT)


@pytest.mark.parametrize(
    ("said", "expected_va"),
    [
        # 220.5(A): amperes are taken at the nominal voltage, not a plate's 230 or 115
        ({"nameplate_current": "7 A", "voltage": "230 V"}, 7 * 240),
        ({"nameplate_current": "10 A", "voltage": "115 V"}, 10 * 120),
        ({"nameplate_current": "10 A", "leg": "A"}, 10 * 120),
        ({"nameplate_current": "48 A", "leg": "both"}, 48 * 240),
        # stated twice: the larger counts
        ({"nameplate_current": "20 A", "leg": "both", "nameplate": "4500 W"}, 4_800),
        ({"nameplate_current": "18 A", "leg": "both", "nameplate": "4500 W"}, 4_500),
        # watts with a power factor are more volt-amperes; volt-amperes are not
        ({"nameplate": "1 kW", "power_factor": 0.8}, 1_250),
        ({"nameplate": "1 kVA", "power_factor": 0.8}, 1_000),
        ({"nameplate": "1000 W"}, 1_000),
    ],
)
def test_a_plate_in_amperes_or_watts_becomes_volt_amperes(said, expected_va):
    assert only(load("other", **said)).va == pytest.approx(expected_va, rel=EXACT)


@pytest.mark.parametrize(
    ("said", "expected_va"),
    [
        # Table 430.248, entries as printed: 1-1/2 hp 10 A and 3/4 hp 6.9 A at 230 V,
        # 1/3 hp 3.6 A at 230 V, 1/2 hp 9.8 A at 115 V, 10 hp 50 A at 230 V.
        ({"motor_horsepower": 1.5, "voltage": "240 V"}, 10 * 240),
        ({"motor_horsepower": 0.6, "voltage": "230 V"}, 6.9 * 240),
        ({"motor_horsepower": 0.33, "leg": "both"}, 3.6 * 240),
        ({"motor_horsepower": 0.5, "leg": "B"}, 9.8 * 120),
        ({"motor_horsepower": 10, "voltage": "240 V"}, 50 * 240),
        ({"motor_current": "8 A", "leg": "both"}, 8 * 240),
    ],
)
def test_a_pump_known_by_its_motor_alone_counts_at_its_motor(said, expected_va):
    assert only(load("well pump", **said)).va == pytest.approx(expected_va, rel=EXACT)


def test_a_motor_on_208_v_takes_the_208_v_column():
    # Table 430.248: 2 hp at 208 V, 13.2 A.
    wye = {"system": "120/208 V of a three-phase wye"}
    pump = load("well pump", motor_horsepower=2, leg="both")
    found = loads_of(house(pump, service=wye))
    assert found.fastened[0].va == pytest.approx(13.2 * 208, rel=EXACT)


@pytest.mark.parametrize("said", [{"motor_horsepower": 11}, {"motor_horsepower": 0}])
def test_a_motor_no_table_holds_is_unknown(said):
    found = loads_of(house(load("well pump", voltage="240 V", **said)))
    assert fields(found) == ["loads.load_0.nameplate"]


def test_a_compressor_is_not_the_whole_of_its_cooling():
    # a fan runs with it, so 18 A × 240 V would be too little
    found = loads_of(house(load("central cooling", motor_current="18 A", leg="both")))
    assert fields(found) == ["loads.load_0.nameplate"]


def test_amperes_without_a_voltage_ask_for_the_voltage():
    found = loads_of(house(load("kiln", nameplate_current="48 A")))
    assert fields(found) == ["loads.load_0.voltage"]


def test_several_alike_count_together_and_each_by_itself():
    found = only(load("dryer", 5_500, count=2))
    assert found.va == pytest.approx(11_000, rel=EXACT)
    assert found.nameplates_va == pytest.approx((5_500, 5_500), rel=EXACT)


def test_heating_units_of_no_load_do_not_make_four():
    heat = "separately controlled electric heat"
    units = [load(heat, 2_000), load(heat, 2_000), load(heat, 2_000), load(heat, 0)]
    assert loads_of(house(*units)).heating.separate_count == 3


def test_a_heating_unit_of_unknown_load_is_a_unit():
    # then three known at 40 % are less than they are at 65 %, and the sum stays least
    heat = "separately controlled electric heat"
    units = [load(heat, 2_000), load(heat, 2_000), load(heat, 2_000), load(heat)]
    assert loads_of(house(*units)).heating.separate_count == 4


def test_a_bathroom_heater_is_one_more_heating_unit():
    heat = load("separately controlled electric heat", 6_000, controls=3)
    found = loads_of(house(heat, load("bathroom heater", 1_500))).heating
    assert found.separate_va == pytest.approx(7_500, rel=EXACT)
    assert found.separate_count == 4


@pytest.mark.parametrize("said", [{}, {"loads_complete": False}])
def test_a_list_not_said_to_be_complete_is_unknown_whatever_is_absent(said):
    tree = house(dwelling=said)
    if not said:
        del tree["dwelling"]["loads_complete"]
    tree["dwelling"]["not_present"] = [
        "range",
        "dryer",
        "water heater",
        "heating",
        "cooling",
        "vehicle charging",
    ]
    assert fields(loads_of(tree)) == ["dwelling.loads_complete"]


@pytest.mark.parametrize(
    "field", ["floor_area", "small_appliance_circuits", "laundry_circuits"]
)
def test_what_the_general_load_needs_is_asked_for(field):
    tree = house()
    del tree["dwelling"][field]
    assert fields(loads_of(tree)) == [f"dwelling.{field}"]


def test_planned_and_removed_loads_are_not_in_the_figures():
    going = load("kiln", 11_520, state="removed")
    coming = load("sauna", 6_000, state="planned")
    found = loads_of(house(going, coming))
    assert found.appliances == ()
    assert [each.id for each in found.assumptions] == ["planned-loads-left-out"]


def test_proposed_loads_are_kept_apart_for_the_measured_method():
    kiln = load("kiln", 11_520, state="proposed", continuous=True)
    found = loads_of(house(kiln, load("dryer", 5_000), load("sauna", state="proposed")))
    assert [each.id for each in found.proposed] == ["load_0", "load_2"]
    assert found.proposed_continuous_va == pytest.approx(11_520, rel=EXACT)
    assert [each.field for each in found.proposed_unknowns] == [
        "loads.load_2.nameplate"
    ]


@pytest.mark.parametrize("kind", ["heat pump", "bathroom heater", "central cooling"])
def test_proposed_heating_or_cooling_is_noticed(kind):
    assert loads_of(house(load(kind, 3_000, state="proposed"))).adds_hvac
    assert not loads_of(house(load(kind, 3_000))).adds_hvac


@pytest.mark.parametrize(
    ("tree", "id"),
    [
        (house(load("kiln", 9_000)), "loads-not-fastened"),
        (house(load("disposer", 900)), "motor-not-stated"),
        (
            house(load("heat pump supplemental heat", 9_000)),
            "supplemental-heat-with-compressor",
        ),
        (house(load("dryer", 5_000, never_with=["charger"])), "interlock-not-credited"),
        (
            house(load("vehicle charging", 11_520, setting="16 A")),
            "other-charger-at-its-nameplate",
        ),
        (house(load_management={"id": "shed"}), "load-management-not-credited"),
    ],
)
def test_what_is_taken_as_given_is_said(tree, id):
    assert id in [each.id for each in loads_of(tree).assumptions]


def test_motors_are_those_stated_by_current_or_horsepower():
    # 18 A × 240 V; Table 430.248: 1/2 hp, 4.9 A at 230 V
    cooling = load("central cooling", 4_800, motor_current="18 A", voltage="240 V")
    pump = load("pool pump", 1_500, motor_horsepower=0.5, voltage="240 V")
    found = loads_of(house(cooling, pump, load("disposer", 900)))
    motors_va = [va for _, va in found.motors]
    assert motors_va == pytest.approx([18 * 240, 4.9 * 240], rel=EXACT)
    assert [each.id for each in found.unstated_motors] == ["load_2"]


def test_supplemental_heat_of_no_load_says_nothing_of_the_interlock():
    # The real unit is locked out while the compressor runs; one of 0 VA is no unit.
    kind = "heat pump supplemental heat"
    locked = load(kind, 500, heats_while_compressor_runs=False)
    tree = house(load("heat pump", 500), locked, load(kind, 0))
    assert not loads_of(tree).heating.supplemental_with_compressor
