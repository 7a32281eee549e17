"""The feeder to the charger's panel; houses are invented, figures worked by hand.

The garage's feeder of 100 A: a charger of 48 A is 48 × 240 = 11,520 VA, at 125 % of a
continuous load 14,400 VA; a saw of 3,000 VA whose motor takes 12.5 A adds a quarter of
itself. Together 14,400 + 3,000 + 750 = 18,150 VA, and 18,150 ÷ 240 = 75.625 A.
"""

from __future__ import annotations

from typing import Any

import pytest
from tests.assess.houses import finding_of, house, judged, load

from lugbook.assess.feeder import feeders_to_charger
from lugbook.assess.options import search
from lugbook.assess.options_prices import shipped_prices
from lugbook.codebook.edition import editions, open_edition
from lugbook.finding import Outcome, Weight
from lugbook.premises.plan import Plan
from lugbook.readings.evidence import Evidence

SAW = load(
    "workshop machine",
    3000,
    motor_current="12.5 A",
    voltage="240 V",
    fed_from="garage_panel",
    leg="both",
)
WIRE = {"material": "copper", "size": "3 AWG", "insulation": "THHN/THWN-2"}
RUN = {
    "id": "under_the_drive",
    "method": "EMT",
    "length": "60 ft",
    "ambient": "30 °C",
    "place": "indoors",
    "wet": False,
}
DEVICE = {"rating": "100 A", "poles": 2, "terminal_temperature": "75 °C"}


def garage(
    *loads: dict[str, Any],
    feeder: dict[str, Any] | None = None,
    panel: dict[str, Any] | None = None,
    nameplate: str = "48 A",
) -> dict[str, Any]:
    """Return a house whose charger hangs on a panel in the garage."""
    tree = house(
        *loads,
        circuit={"id": "charger_circuit", "fed_from": "garage_panel"},
        charger={
            "nameplate": nameplate,
            "setting_steps": ["16 A", "24 A", "32 A", "40 A", "48 A"],
            "setting_restricted_by": ["password"],
        },
    )
    tree["panels"].append(
        {
            "id": "garage_panel",
            "fed_from": "garage_feeder",
            "bus_rating": "125 A",
            "terminal_temperature": "75 °C",
            "floor_area_served": "0 ft²",
            "small_appliance_circuits": 0,
            "laundry_circuits": 0,
            **(panel or {}),
        }
    )
    tree["feeders"] = [
        {
            "id": "garage_feeder",
            "fed_from": "main_panel",
            "overcurrent": DEVICE,
            "conductor": WIRE,
            "sections": [RUN],
            **(feeder or {}),
        }
    ]
    return tree


def of_load(tree: dict[str, Any], **asked: Any) -> Any:
    return finding_of(judged(tree, **asked), "feeder.load.garage_feeder")


def of_conductor(tree: dict[str, Any]) -> Any:
    return finding_of(judged(tree), "feeder.conductor.garage_feeder")


def without(tree: dict[str, Any], field: str) -> dict[str, Any]:
    del tree["panels"][1][field]
    return tree


@pytest.mark.parametrize("year", editions())
def test_a_feeder_carries_the_charger_and_a_saw(year):
    found = of_load(garage(SAW), year=year)
    assert found.found == pytest.approx(75.625, rel=1e-12)
    assert (found.limit, found.outcome) == (100.0, Outcome.MEETS)
    assert of_conductor(garage(SAW)).outcome is Outcome.MEETS


def test_a_60_a_feeder_is_used_up_by_a_48_a_charger_alone():
    # trade article of the common case: 48 × 1.25 = 60 A already uses it all
    small = {"overcurrent": {**DEVICE, "rating": "60 A"}}
    alone = of_load(garage(feeder=small))
    assert (alone.found, alone.outcome) == (pytest.approx(60.0), Outcome.NARROW)
    beside = of_load(garage(SAW, feeder=small))
    assert (beside.outcome, beside.weight) == (Outcome.FALLS_SHORT, Weight.MUST)


@pytest.mark.parametrize(
    ("bus", "expected"),
    [
        ("75.5 A", Outcome.FALLS_SHORT),
        ("75.625 A", Outcome.NARROW),
        ("90 A", Outcome.MEETS),
    ],
)
def test_the_least_of_device_and_bus_is_the_limit(bus, expected):
    assert of_load(garage(SAW, panel={"bus_rating": bus})).outcome is expected


def test_a_rating_nobody_stated_is_open():
    found = of_load(without(garage(SAW), "bus_rating"))
    assert found.outcome is Outcome.CANNOT_TELL
    assert "panels.garage_panel.bus_rating" in found.next


def test_a_load_that_may_hang_on_it_opens_the_answer_where_it_matters():
    # a range of 12,000 VA counts 8,000 VA: 26,150 VA, 108.96 A with it
    found = of_load(garage(SAW, load("range", 12000)))
    assert (found.outcome, found.found) == (
        Outcome.CANNOT_TELL,
        pytest.approx(26150 / 240),
    )
    assert "load_1" in found.next
    elsewhere = load("range", 12000, fed_from="main_panel")
    assert of_load(garage(SAW, elsewhere)).outcome is Outcome.MEETS
    # 1,000 VA more on it do no harm, wherever they hang
    assert of_load(garage(SAW, load("dishwasher", 1000))).outcome is Outcome.MEETS


def test_a_breaker_that_serves_a_load_places_it():
    tree = garage(SAW, load("range", 12000))
    tree["panels"][0]["breakers"] = [
        {"positions": [1, 3], "poles": 2, "rating": "50 A", "serves": ["load_1"]}
    ]
    assert of_load(tree).outcome is Outcome.MEETS


def test_lights_nobody_placed_may_all_hang_on_it():
    # 9,000 VA in general count 3,000 + 0.35 × 6,000 = 5,100 VA: 23,250 VA, 96.875 A
    tree = garage(SAW)
    for field in ("floor_area_served", "small_appliance_circuits", "laundry_circuits"):
        without(tree, field)
    found = of_load(tree)
    assert (found.found, found.outcome) == (pytest.approx(96.875), Outcome.NARROW)
    short = of_load({**tree, "feeders": [{**tree["feeders"][0], "overcurrent": {}}]})
    assert short.outcome is Outcome.CANNOT_TELL


def test_a_load_without_a_nameplate_behind_it_never_passes():
    unknown = load("hot tub", fed_from="garage_panel")
    assert of_load(garage(SAW, unknown)).outcome is Outcome.CANNOT_TELL


def test_a_list_of_loads_that_may_lack_some_never_passes():
    tree = garage(SAW)
    del tree["dwelling"]["loads_complete"]
    assert of_load(tree).outcome is Outcome.CANNOT_TELL


@pytest.mark.parametrize(
    ("size", "expected"),
    [
        ("3 AWG", Outcome.MEETS),  # 100 A at 75 °C
        ("4 AWG", Outcome.FALLS_SHORT),  # 85 A: next larger device is 90 A
    ],
)
def test_conductors_must_allow_the_device(size, expected):
    found = of_conductor(garage(SAW, feeder={"conductor": {**WIRE, "size": size}}))
    assert found.outcome is expected
    if expected is Outcome.FALLS_SHORT:
        assert found.weight is Weight.STOP


def test_unmarked_lugs_at_the_far_end_open_the_answer():
    # 60 °C column for 100 A or less: 3 AWG carries 85 A
    tree = without(garage(SAW), "terminal_temperature")
    assert of_conductor(tree).outcome is Outcome.CANNOT_TELL


def test_conductors_nobody_stated_are_open():
    found = of_conductor(garage(SAW, feeder={"conductor": {}}))
    assert found.outcome is Outcome.CANNOT_TELL
    assert "feeders.garage_feeder.conductor" in found.next


def test_the_largest_setting_is_held_down_by_the_feeder():
    # 60 A: the saw's 3,750 VA leave 10,650 VA, 10,650 ÷ 300 = 35.5 A of charging
    small = {"overcurrent": {**DEVICE, "rating": "60 A"}}
    circuit = {
        "overcurrent": {"rating": "60 A", "poles": 2, "terminal_temperature": "75 °C"},
        "conductor": {**WIRE, "size": "6 AWG"},
        "sections": [RUN],
    }
    tree = garage(SAW, feeder=small)
    tree["circuit"].update(circuit)
    tree["charger"]["terminal_temperature"] = "75 °C"
    headline = judged(tree).headline
    assert headline.circuit_largest_a == 32.0
    assert "40 A falls short: load of the feeder" in headline.circuit_reason


def whole_house(size: str, whole: bool, *loads: dict[str, Any]) -> dict[str, Any]:
    """Return a house whose panel hangs on a feeder from the meter's disconnect."""
    tree = house(*loads, circuit={"id": "charger_circuit", "fed_from": "inner_panel"})
    tree["panels"] = [
        {"id": "main_panel", "fed_from": "service", "bus_rating": "200 A"},
        {
            "id": "inner_panel",
            "fed_from": "riser",
            "bus_rating": "200 A",
            "terminal_temperature": "75 °C",
        },
    ]
    tree["feeders"] = [
        {
            "id": "riser",
            "fed_from": "main_panel",
            "serves_whole_dwelling": whole,
            "overcurrent": {**DEVICE, "rating": "200 A"},
            "conductor": {**WIRE, "size": size},
            "sections": [RUN],
        }
    ]
    return tree


def test_the_reduced_size_is_for_a_feeder_of_the_whole_dwelling_only():
    # 2/0 AWG copper: 175 A at 75 °C, which allows 175 A; 200 A by 310.12(B)
    id = "feeder.conductor.riser"
    whole = finding_of(judged(whole_house("2/0 AWG", True)), id)
    part = finding_of(judged(whole_house("2/0 AWG", False)), id)
    assert (whole.outcome, part.outcome) == (Outcome.MEETS, Outcome.FALLS_SHORT)


def test_a_feeder_of_the_whole_dwelling_is_judged_by_the_services_methods():
    # Existing dwelling: 9,000 + 12,000 + 5,000 + 4,500 + 1,500 = 32,000 VA count 8,000
    # + 0.4 × 24,000 = 17,600 VA, the charger 1.25 × 7,680 = 9,600 VA: 113.33 A.
    # Standard: 5,100 + 6,000 + 8,000 + 5,000 + 9,600 = 33,700 VA, 140.42 A.
    loads = (
        load("range", 12000),
        load("dryer", 5000),
        load("water heater", 4500),
        load("dishwasher", 1500, motor_current="0 A", voltage="120 V"),
    )
    tree = whole_house("3/0 AWG", True, *loads)
    found = finding_of(judged(tree), "feeder.load.riser")
    assert found.found == pytest.approx(27200 / 240)
    tree["feeders"][0]["serves_whole_dwelling"] = False
    tree["panels"][1].update(floor_area_served="1500 ft²")
    tree["panels"][1].update(small_appliance_circuits=2, laundry_circuits=1)
    for each in tree["loads"]:
        each["fed_from"] = "inner_panel"
    assert finding_of(judged(tree), "feeder.load.riser").found == pytest.approx(
        33700 / 240
    )


def test_the_way_is_followed_through_several_feeders_and_no_ring():
    tree = garage(SAW)
    tree["panels"].append({"id": "shed_panel", "fed_from": "shed_feeder"})
    tree["feeders"].append({"id": "shed_feeder", "fed_from": "garage_panel"})
    tree["circuit"]["fed_from"] = "shed_panel"
    plan = Plan.model_validate({**tree, "schema_version": 1})
    way = feeders_to_charger(plan)
    assert way is not None
    assert [feeder.id for feeder, _ in way] == ["shed_feeder", "garage_feeder"]


def test_a_charger_at_the_service_has_no_feeder():
    tree = garage(SAW)
    tree["circuit"]["fed_from"] = "main_panel"
    ids = {each.id for each in judged(tree).findings}
    assert not any(id.startswith("feeder.") for id in ids)


def test_options_offer_no_setting_that_the_feeder_does_not_carry():
    # 60 A behind a saw leave 35.5 A, as above: 32 A is the largest step
    small = {"overcurrent": {**DEVICE, "rating": "60 A"}}
    tree = garage(SAW, feeder=small)
    tree["circuit"]["sections"] = [RUN]
    plan = Plan.model_validate({**tree, "schema_version": 1})
    found = search(plan, Evidence(), open_edition("2023"), shipped_prices())
    settings = {each.candidate.setting_a for each in found.pareto}
    assert settings
    assert max(settings) <= 32


def test_what_is_lost_on_feeder_and_run_is_one_sum():
    # NFPA 70 chapter 9 table 8: 3 AWG copper 0.245 ohm/kFT, 6 AWG 0.491 ohm/kFT (75 °C)
    # 60 ft each: 2 × 60 × 0.000245 × (11,520 + 3,750) ÷ 240 = 1.871 V of the feeder,
    # 2 × 60 × 0.000491 × 48 = 2.828 V of the run: 4.699 V, 1.958 %.
    tree = garage(SAW)
    tree["circuit"].update(conductor={**WIRE, "size": "6 AWG"}, sections=[RUN])
    found = finding_of(judged(tree), "feeder.voltage_drop")
    assert found.found == pytest.approx(1.958, rel=0.03)  # table 9 differs by 2 %
    assert (found.outcome, found.weight) == (Outcome.MEETS, Weight.ADVICE)


def hot(size: str, ambient: str | None, *loads: dict[str, Any]) -> dict[str, Any]:
    """Return a whole dwelling's feeder of 200 A in a place of that ambient."""
    tree = whole_house(size, True, *loads)
    run = {key: said for key, said in RUN.items() if key != "ambient"}
    run |= {"ambient": ambient} if ambient else {}
    tree["feeders"][0]["sections"] = [run]
    return tree


@pytest.mark.parametrize(
    ("size", "ambient", "expected"),
    [
        # 195 A x 0.96 = 187.2 A, the terminals 175 A: at least 0.83 x 200 = 166 A
        ("2/0 AWG", "35 °C", Outcome.MEETS),
        # 195 A x 0.76 = 148.2 A, below 166 A; 148.2 / 0.83 = 178.6 A
        ("2/0 AWG", "52 °C", Outcome.FALLS_SHORT),
        # 225 A x 0.76 = 171 A, above 166 A
        ("3/0 AWG", "52 °C", Outcome.MEETS),
        ("2/0 AWG", None, Outcome.CANNOT_TELL),
    ],
)
def test_the_reduced_size_bears_no_heat_beyond_83_percent(size, ambient, expected):
    found = finding_of(judged(hot(size, ambient)), "feeder.conductor.riser")
    assert found.outcome is expected


def test_a_hot_feeder_of_the_whole_dwelling_is_told_the_rating_it_may_have():
    found = finding_of(judged(hot("2/0 AWG", "52 °C")), "feeder.conductor.riser")
    assert (found.found, found.weight) == (200.0, Weight.STOP)
    assert found.limit == pytest.approx(195 * 0.76 / 0.83)


def test_a_feeder_is_not_the_whole_dwellings_where_a_load_hangs_elsewhere():
    # 310.12 asks for the entire load; 2/0 AWG copper then allows 175 A, not 200 A
    tree = whole_house("2/0 AWG", True, load("range", 12000, fed_from="main_panel"))
    answer = judged(tree)
    found = finding_of(answer, "feeder.conductor.riser")
    assert (found.outcome, found.limit) == (Outcome.FALLS_SHORT, 175.0)
    said = [a for a in answer.assumptions if a.id == "feeder-not-whole-riser"]
    assert "load_0" in said[0].text or "load_1" in said[0].text


def of_ground(ground: dict[str, Any] | None) -> Any:
    feeder = {} if ground is None else {"equipment_ground": ground}
    return finding_of(judged(garage(SAW, feeder=feeder)), "feeder.ground.garage_feeder")


@pytest.mark.parametrize(
    ("ground", "outcome", "weight"),
    [
        # table 250.122: 8 AWG copper, 6 AWG aluminum for a device of 100 A
        ({"size": "10 AWG", "material": "copper"}, Outcome.FALLS_SHORT, Weight.MUST),
        ({"size": "8 AWG", "material": "copper"}, Outcome.MEETS, Weight.MUST),
        ({"size": "6 AWG", "material": "copper"}, Outcome.MEETS, Weight.MUST),
        ({"size": "8 AWG", "material": "aluminum"}, Outcome.FALLS_SHORT, Weight.MUST),
        ({"kind": "none"}, Outcome.FALLS_SHORT, Weight.STOP),
        ({"kind": "raceway"}, Outcome.MEETS, Weight.MUST),
    ],
)
def test_a_feeders_grounding_is_judged_by_its_device(ground, outcome, weight):
    found = of_ground(ground)
    assert (found.outcome, found.weight) == (outcome, weight)


def test_a_feeders_grounding_nobody_stated_is_sized():
    found = of_ground(None)
    assert found.limit == "8 AWG copper"
    assert "8 AWG copper" in found.next


@pytest.mark.parametrize(
    ("run", "expected"),
    [
        (
            {"method": "SE cable", "place": "underground", "wet": True},
            "not underground",
        ),
        ({"method": "NM cable", "place": "outdoors", "wet": True}, "dry places"),
    ],
)
def test_a_feeders_cable_may_not_lie_where_its_kind_is_forbidden(run, expected):
    tree = garage(SAW, feeder={"sections": [{**RUN, **run}]})
    found = finding_of(
        judged(tree), "feeder.wiring_method.garage_feeder.under_the_drive"
    )
    assert (found.outcome, found.weight) == (Outcome.FALLS_SHORT, Weight.MUST)
    assert expected in str(found.limit)
    sources = [line.source for line in found.working.lines]
    assert "plan, feeders.garage_feeder.sections.under_the_drive" in sources


def test_a_circuit_said_to_begin_at_the_service_never_passes():
    # Ahead of the main nothing here protects it, and the main off leaves it live.
    tree = garage(SAW)
    tree["circuit"] = {
        "id": "charger_circuit",
        "fed_from": "service",
        "overcurrent": {"rating": "60 A", "poles": 2, "terminal_temperature": "75 °C"},
        "conductor": {**WIRE, "size": "6 AWG"},
        "sections": [RUN],
    }
    answer = judged(tree)
    found = finding_of(answer, "feeder.before_main")
    assert (found.outcome, found.weight) == (Outcome.CANNOT_TELL, Weight.MUST)
    assert "live with the main off" in found.next
    assert answer.headline.circuit_largest_a is None


def test_a_feeders_device_must_open_both_legs():
    tree = garage(SAW, feeder={"overcurrent": {**DEVICE, "poles": 1}})
    found = finding_of(judged(tree), "feeder.poles.garage_feeder")
    assert (found.outcome, found.weight) == (Outcome.FALLS_SHORT, Weight.STOP)
    ids = {each.id for each in judged(garage(SAW)).findings}
    assert "feeder.poles.garage_feeder" not in ids


@pytest.mark.parametrize(
    ("trade", "pulled", "expected"),
    [
        # THHN 3 AWG 0.0973 in², 8 AWG 0.0366 in²: three and one are 0.3285 in², two
        # and one 0.2312 in²; 40 % of EMT 1 is 0.346 in², of 3/4 0.213 in²
        ("1", True, None),
        ("3/4", True, Outcome.FALLS_SHORT),
        ("3/4", False, Outcome.FALLS_SHORT),
        ("3/4", None, Outcome.FALLS_SHORT),
    ],
)
def test_a_feeders_raceway_is_not_too_full(trade, pulled, expected):
    feeder = {
        "sections": [{**RUN, "trade_size": trade}],
        "equipment_ground": {"size": "8 AWG", "material": "copper"},
        **({} if pulled is None else {"neutral_pulled": pulled}),
    }
    id = "feeder.raceway_fill.garage_feeder.under_the_drive"
    found = [f for f in judged(garage(SAW, feeder=feeder)).findings if f.id == id]
    assert [each.outcome for each in found] == ([expected] if expected else [])


def test_a_neutral_nobody_stated_leaves_a_full_raceway_open():
    # THHN 4 AWG 0.0824 in², 8 AWG 0.0366 in²: 0.2014 in² without a neutral, 0.2838
    # in² with one; 40 % of EMT 3/4 is 0.213 in²
    feeder = {
        "overcurrent": {**DEVICE, "rating": "80 A"},
        "conductor": {**WIRE, "size": "4 AWG"},
        "sections": [{**RUN, "trade_size": "3/4"}],
        "equipment_ground": {"size": "8 AWG", "material": "copper"},
    }
    found = finding_of(
        judged(garage(SAW, feeder=feeder)),
        "feeder.raceway_fill.garage_feeder.under_the_drive",
    )
    assert found.outcome is Outcome.CANNOT_TELL
    assert "feeders.garage_feeder.neutral_pulled" in found.next


def test_a_grounding_wire_nobody_stated_takes_its_room_in_a_feeders_raceway():
    # THHN 3 AWG 0.0973 in²: two are 0.1946 in², below the 0.213 in² of EMT 3/4; with
    # the table's 8 AWG of 0.0366 in² they are 0.2312 in²
    sections = [{**RUN, "trade_size": "3/4"}]
    found = finding_of(
        judged(garage(SAW, feeder={"sections": sections, "neutral_pulled": False})),
        "feeder.raceway_fill.garage_feeder.under_the_drive",
    )
    assert found.found == pytest.approx(0.2312)
    assert found.outcome is Outcome.FALLS_SHORT


def test_a_feeder_in_the_earth_is_not_passed_for_its_depth():
    below = {**RUN, "place": "underground", "wet": True, "method": "PVC 40"}
    found = finding_of(
        judged(garage(SAW, feeder={"sections": [below]})), "feeder.run.garage_feeder"
    )
    assert (found.outcome, found.weight) == (Outcome.CANNOT_TELL, Weight.MUST)
    ids = {each.id for each in judged(garage(SAW)).findings}
    assert "feeder.run.garage_feeder" not in ids


def test_a_split_bus_never_passes_while_the_section_is_not_known():
    tree = house(circuit={"id": "charger_circuit", "fed_from": "main_panel"})
    del tree["service"]["main"]
    tree["service"]["split_bus_mains"] = [{"rating": "60 A"}] * 3
    found = judged(tree)
    section = finding_of(found, "panel.split_bus")
    assert (section.outcome, section.weight) == (Outcome.CANNOT_TELL, Weight.MUST)
    assert found.headline.outcome not in (Outcome.MEETS, Outcome.NARROW)
