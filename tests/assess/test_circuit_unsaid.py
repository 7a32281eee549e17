"""What the circuit's parts say when fields are missing, odd, or beyond the tables."""

from __future__ import annotations

import pytest
from circuit_plans import charger, circuit, finding, item, judge, section

from lugbook.assess.capacity import wish_of
from lugbook.assess.circuit import judge_circuit
from lugbook.codebook.edition import editions, open_edition
from lugbook.finding import Outcome
from lugbook.premises.plan import parse_plan

every_edition = pytest.mark.parametrize("year", editions())

FALLS, MEETS, OPEN = Outcome.FALLS_SHORT, Outcome.MEETS, Outcome.CANNOT_TELL
EGC = "equipment_grounding_conductor"


def unknown_fields(found: object) -> list[str]:
    return [each.field for each in found.unknowns]  # type: ignore[attr-defined]


def test_a_supply_nobody_stated_is_assumed_to_give_120_v_to_ground() -> None:
    house = parse_plan("schema = 1\n" + charger(80).replace('voltage = "240 V"\n', ""))
    found = judge_circuit(house, open_edition("2023"), wish_of(house, None))
    assert finding(found, "disconnect").outcome is MEETS
    assert "service.system" in [each.id for each in found.assumptions]


def test_voltage_drop_needs_a_voltage() -> None:
    tables = charger(48).replace('voltage = "240 V"\n', "") + circuit()
    house = parse_plan("schema = 1\n" + tables)
    found = judge_circuit(house, open_edition("2023"), wish_of(house, None))
    assert finding(found, "voltage_drop").outcome is OPEN
    assert "service.system" in finding(found, "voltage_drop").next


def test_a_setting_without_a_charger_is_sized_as_its_own_nameplate() -> None:
    house = parse_plan(
        'schema = 1\n[service]\nid = "service"\nsystem = "120/240 V split-phase"\n'
    )
    found = judge_circuit(house, open_edition("2023"), wish_of(house, 48.0))
    assert item(found, "overcurrent_device").minimum == "60 A, 2 poles"
    assert "charger.nameplate" in [each.id for each in found.assumptions]
    assert found.largest_setting_a == 48.0


def test_an_unmarked_splice_is_listed_with_where_to_look() -> None:
    joint = '[[circuit.terminals]]\nid = "joint"\nat = "splice"\n'
    found = judge(charger(48), circuit(extra=joint))
    assert "circuit.terminals" in unknown_fields(found)
    assert finding(found, "conductor").outcome is OPEN


@pytest.mark.parametrize(("missing", "outcome"), [("device", OPEN), ("setting", OPEN)])
def test_a_conductor_alone_says_what_it_waits_for(
    missing: str, outcome: Outcome
) -> None:
    label = charger(48) if missing == "device" else '[charger]\nid = "charger"\n'
    found = judge(label, circuit(None))
    assert finding(found, "conductor").outcome is outcome
    wanted = "temperature marking" if missing == "device" else "setting"
    assert wanted in finding(found, "conductor").next


def test_an_uncounted_current_leaves_the_disconnect_open() -> None:
    switch = '[circuit.disconnect]\nrating = "60 A"\nterminal_temperature = "75 °C"\n'
    found = judge(charger(80, 40, restricted=None), circuit(50, "8 AWG", extra=switch))
    assert finding(found, "disconnect").outcome is OPEN
    assert "restricted" in finding(found, "disconnect").next


def test_the_disconnect_waits_for_a_setting() -> None:
    switch = '[circuit.disconnect]\nrating = "60 A"\nlockable_open = true\n'
    found = judge('[charger]\nid = "charger"\n', circuit(None, None, extra=switch))
    assert finding(found, "disconnect").outcome is OPEN


@every_edition
def test_a_grounding_wire_need_not_exceed_the_circuits_conductors(year: str) -> None:
    # Behind 60 A the table asks 10 AWG; beside 12 AWG conductors 12 AWG is enough.
    found = judge(charger(48), circuit(60, "12 AWG", ground="12 AWG"), year=year)
    assert finding(found, EGC).outcome is MEETS
    assert finding(found, "conductor").outcome is FALLS


@pytest.mark.parametrize("device", [500, 1500])
def test_a_device_beyond_the_grounding_table_cannot_be_told(device: float) -> None:
    found = judge(charger(48), circuit(device))
    assert finding(found, EGC).outcome is OPEN


def test_nothing_stated_and_no_setting_leaves_the_grounding_wire_unknown() -> None:
    found = judge('[charger]\nid = "charger"\n', circuit(None, None, ground=None))
    assert item(found, EGC).minimum is None
    wired = judge('[charger]\nid = "charger"\n', circuit(None, None))
    assert finding(wired, EGC).outcome is OPEN


@every_edition
def test_insulation_of_60_degrees_lowers_the_terminal_test_without_a_run(
    year: str,
) -> None:
    # TW: 60 °C column, 55 A < 60 A although the terminals allow 75 °C.
    found = judge(charger(48), circuit(60, insulation="TW", sections=""), year=year)
    assert finding(found, "conductor").outcome is FALLS


@every_edition
@pytest.mark.parametrize(
    ("insulation", "outcome"), [("XHHW", OPEN), ("XHHW-2", MEETS), ("THHN", OPEN)]
)
def test_a_place_nobody_stated_matters_only_to_some_insulation(
    year: str, insulation: str, outcome: Outcome
) -> None:
    run = section(place=None)
    found = judge(
        charger(48), circuit(60, insulation=insulation, sections=run), year=year
    )
    assert finding(found, "conductor").outcome is outcome


def test_words_of_a_cable_say_nothing_of_wires_in_a_raceway() -> None:
    found = judge(charger(48), circuit(60, insulation="as the cable"))
    assert finding(found, "conductor").outcome is OPEN
    assert "circuit.conductor.insulation" in unknown_fields(found)


def test_a_terminal_listed_for_the_device_takes_the_place_of_its_fields() -> None:
    lug = (
        '[[circuit.terminals]]\nid = "lug_a"\nat = "overcurrent device"\n'
        'on = "leg A"\nsmallest = "14 AWG"\nlargest = "2 AWG"\n'
    )
    found = judge(charger(48), circuit(extra=lug))
    ids = [each.finding.id for each in found.items if each.item == "terminals"]
    assert ids == ["circuit.terminals.charger", "circuit.terminals.lug_a"]
    assert finding(found, "terminals.lug_a").outcome is MEETS


def test_the_neutral_bar_takes_the_neutral_and_other_lugs_are_not_on_the_path() -> None:
    lugs = (
        '[circuit.neutral]\nsize = "10 AWG"\nmaterial = "copper"\n'
        '[[circuit.terminals]]\nid = "bar"\nat = "neutral bar"\n'
        'smallest = "14 AWG"\nlargest = "8 AWG"\n'
        '[[circuit.terminals]]\nid = "main"\nat = "main lugs"\n'
        'smallest = "1/0 AWG"\nlargest = "4/0 AWG"\n'
    )
    found = judge(charger(48), circuit(extra=lugs))
    assert item(found, "terminals.bar").stated == "10 AWG copper"
    assert "circuit.terminals.main" not in [each.finding.id for each in found.items]


def test_a_drop_no_size_can_mend_says_to_lower_the_setting() -> None:
    run = section(length="2500 m")
    found = judge(charger(48), circuit(sections=run))
    assert finding(found, "voltage_drop").outcome is FALLS
    assert item(found, "voltage_drop").minimum is None
    assert finding(found, "voltage_drop").next.startswith("Charge at a lower setting")


@pytest.mark.parametrize("ground", [None, "16 AWG"])
def test_a_fill_that_cannot_be_known_stays_open(ground: str | None) -> None:
    run = section(extra='trade_size = "1"')
    label = charger(48) if ground else '[charger]\nid = "charger"\n'
    device = 60 if ground else None
    found = judge(label, circuit(device, "6 AWG", ground=ground, sections=run))
    assert finding(found, "raceway_fill.run").outcome is OPEN


def test_conductors_too_large_for_every_trade_size_have_no_least() -> None:
    run = section(extra='trade_size = "1/2"')
    neutral = '[circuit.neutral]\nsize = "250 kcmil"\n'
    large = circuit(60, "250 kcmil", ground="4/0 AWG", extra=neutral, sections=run)
    found = judge(charger(48), large)
    # 3 × 0.3970 + 0.3237 = 1.5147 in² against 40 % of 3.356 in² = 1.3424 in².
    assert finding(found, "raceway_fill.run").outcome is FALLS
    assert item(found, "raceway_fill.run").minimum is None
