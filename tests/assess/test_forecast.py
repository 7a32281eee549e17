"""The forecast: against published figures, by hand, and by what must hold anyway."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path

import pytest

from lugbook.actions import rules_for
from lugbook.assess.assessment import Forecast, ForecastPoint
from lugbook.assess.capacity import wish_of
from lugbook.assess.circuit import judge_circuit
from lugbook.assess.forecast import forecast
from lugbook.codebook.edition import open_edition
from lugbook.finding import Finding, Outcome, Weight
from lugbook.premises.plan import read_plan

ROOT = Path(__file__).parents[2]
DEMO = (ROOT / "examples" / "potters_house" / "plan.toml").read_text("utf-8")
LIMITS = open_edition("2026", book="product_limits")


@pytest.fixture
def forecast_of(tmp_path):
    """Return the forecast of the demo house with parts of its plan replaced."""

    def made(*changes: tuple[str, str], setting_a: float | None = None) -> Forecast:
        text = DEMO
        for old, new in changes:
            assert old in text, old
            text = text.replace(old, new)
        path = tmp_path / "plan.toml"
        path.write_text(text, encoding="utf-8")
        plan = read_plan(path)
        rules = rules_for(plan)
        wish = wish_of(plan, setting_a)
        return forecast(plan, rules, LIMITS, wish, judge_circuit(plan, rules, wish))

    return made


def point(found: Forecast, name: str) -> ForecastPoint:
    return next(each for each in found.points if each.id == name)


def finding(found: Forecast, name: str) -> Finding:
    return next(each for each in found.findings if each.id == f"forecast.{name}")


ROOM_30 = (
    ('trade_size = "1-1/4"', 'trade_size = "1"'),
    ('ambient = "35 °C"\nplace = "garage"', 'ambient = "30 °C"\nplace = "garage"'),
)


def test_3_awg_at_80_a_in_emt_1_is_where_the_heat_notes_put_it(forecast_of):
    # physics notes 1.7: two loaded 3 AWG and a ground, EMT 1, 30 °C: conductor 51.5,
    # surface 39.5 °C; the notes took another layout of resistance, hence 0.3 K.
    found = forecast_of(*ROOM_30)
    assert point(found, "conductor.garage_wall").middle_c == pytest.approx(
        51.5, abs=0.3
    )
    assert point(found, "surface.garage_wall").middle_c == pytest.approx(39.5, abs=0.3)


def test_pvc_is_hotter_inside_as_the_heat_notes_say(forecast_of):
    # physics notes 1.7: 80 A on 3 AWG in PVC 1: 53.1 and 38.9 °C.
    found = forecast_of(*ROOM_30, ('method = "EMT"', 'method = "PVC 40"'))
    assert point(found, "conductor.garage_wall").middle_c == pytest.approx(
        53.1, abs=0.5
    )
    assert point(found, "surface.garage_wall").middle_c == pytest.approx(38.9, abs=0.5)


def test_breaker_lugs_stand_where_the_simulator_put_them(forecast_of):
    # physics notes 3.5, at 80 A on a 100 A breaker and 3 AWG: 38 K (31 to 53) above the
    # room of 35 °C; spaces beside it free, so nothing is added.
    found = forecast_of(
        ("free_positions = [27, 28, 29, 30]", "free_positions = [25, 27, 28, 29, 30]")
    )
    lugs = point(found, "terminal.breaker")
    assert lugs.middle_c == pytest.approx(35 + 38, abs=0.5)
    assert lugs.low_c == pytest.approx(35 + 31, abs=0.5)
    assert lugs.high_c == pytest.approx(35 + 53, abs=0.5)


def test_unknown_neighbours_raise_only_the_high_end(forecast_of):
    free = forecast_of(
        ("free_positions = [27, 28, 29, 30]", "free_positions = [25, 27, 28, 29, 30]")
    )
    unknown = forecast_of()
    here, there = point(free, "face.breaker"), point(unknown, "face.breaker")
    assert there.high_c > here.high_c
    assert (there.low_c, there.middle_c) == (here.low_c, here.middle_c)


def test_a_neighbour_that_works_for_hours_raises_the_middle(forecast_of):
    # The kiln's breaker moved beside the charger's: idle prior 4 K.
    beside = forecast_of(
        ("positions = [2, 4]", "positions = [23, 25]"),
    )
    assert point(beside, "face.breaker").middle_c == pytest.approx(35 + 23 + 4, abs=0.5)


def test_the_attic_adds_its_own_heat_almost_in_full(forecast_of):
    found = forecast_of()
    attic = point(found, "conductor.attic").middle_c
    garage = point(found, "conductor.garage_wall").middle_c
    # 52 − 35 = 17 K more around it; warm air and radiation carry heat a little better.
    assert 15.5 < attic - garage <= 17.0


def test_every_range_is_in_order_and_every_margin_is_limit_less_middle(forecast_of):
    for each in forecast_of().points:
        assert each.low_c < each.middle_c < each.high_c, each.id
        assert each.middle_c > each.ambient_c, each.id
        if each.limit_c is not None:
            assert each.margin_k == pytest.approx(each.limit_c - each.middle_c)


def test_a_lower_setting_is_cooler_at_every_point(forecast_of):
    at_80, at_64 = forecast_of(), forecast_of(setting_a=64)
    for each in at_80.points:
        cooler = point(at_64, each.id)
        assert cooler.middle_c < each.middle_c, each.id
        assert cooler.low_c <= each.low_c, each.id
        assert cooler.high_c < each.high_c, each.id


def test_heat_falls_a_little_faster_than_with_the_square(forecast_of):
    # (32 / 80)² = 0.16, less what cooler copper saves: 0.39 % a kelvin, 3 to 18 K.
    found = {each.setting_a: each for each in forecast_of().settings}
    assert 0.16 / 1.08 < found[32].heat_fraction < 0.16
    assert found[80].heat_fraction == 1.0


def test_settings_are_the_steps_up_to_the_one_asked_about(forecast_of):
    found = forecast_of(setting_a=40)
    assert [each.setting_a for each in found.settings] == [16, 20, 24, 32, 40]
    assert {each.setting_a for each in found.points} == {40}


def test_drop_and_loss_of_the_run_by_hand(forecast_of):
    # 74 ft of 3 AWG at 0.245 ohm/kft (75 °C), all of it near 60 °C: R = 0.245 ×
    # (234.5 + 60) / 309.5 = 0.2331 ohm/kft; 2 × 74 ft × 80 A = 2.76 V, × 80 A = 221 W.
    last = forecast_of().settings[-1]
    assert last.drop_v == pytest.approx(2.76, abs=0.03)
    assert last.loss_w == pytest.approx(221, abs=2.5)
    assert last.drop_fraction == pytest.approx(last.drop_v / 240)


def test_charging_hours_and_energy_lost_by_hand(forecast_of):
    # 95 miles × 0.50 kWh = 47.5 kWh; at 80 A and 240 V 2.474 h, on six days of seven.
    last = forecast_of().settings[-1]
    assert last.hours_per_day == pytest.approx(47.5 / 19.2)
    days = 365 * 6 / 7
    assert last.energy_lost_kwh == pytest.approx(
        last.loss_w * 47.5 / 19.2 * days / 1000
    )


def test_a_car_that_takes_less_than_the_setting_loses_less(forecast_of):
    # 9.6 kW is 40 A: twice the hours at a quarter of the heat, so half the energy.
    full, half = (
        forecast_of(('onboard_power = "19.2 kW"', f'onboard_power = "{power}"'))
        for power in ("19.2 kW", "9.6 kW")
    )
    assert half.settings[-1].hours_per_day == pytest.approx(
        2 * full.settings[-1].hours_per_day
    )
    assert half.settings[-1].energy_lost_kwh == pytest.approx(
        full.settings[-1].energy_lost_kwh / 2
    )


def test_losses_of_the_car_that_nobody_stated_are_assumed(forecast_of):
    wall = forecast_of()
    found = forecast_of(('measured_at = "wall"', 'measured_at = "car"'))
    for each, of_wall in zip(found.settings, wall.settings, strict=True):
        # Data paper 4.2: 0.93 (1 − 0.25 kW ÷ power at the wall).
        share = 0.93 * (1 - 0.25 / (0.24 * each.setting_a))
        assert each.hours_per_day == pytest.approx(of_wall.hours_per_day / share)
        assert each.energy_lost_kwh == pytest.approx(of_wall.energy_lost_kwh / share)


def test_energy_is_unknown_where_the_driving_is(forecast_of):
    found = forecast_of(('distance_per_day = "95 mi"\n', ""))
    assert {each.energy_lost_kwh for each in found.settings} == {None}


def test_the_first_and_last_section_answer_to_the_terminals(forecast_of):
    found = forecast_of()
    assert point(found, "conductor.garage_wall").limit_c == 75
    assert point(found, "conductor.attic").limit_c == 90
    assert point(found, "conductor.outer_wall").limit_c == 75


def test_nobody_touches_a_raceway_in_the_attic(forecast_of):
    found = forecast_of()
    attic = point(found, "surface.attic")
    assert (attic.limit_c, attic.outcome) == (None, None)
    assert point(found, "surface.garage_wall").limit_c == 55  # ISO 13732-1, 10 s


def test_the_worst_section_is_the_one_with_the_least_room(forecast_of):
    found = forecast_of()
    # 90 − 71 in the attic, 75 − 57 at the outer wall: the terminals decide.
    assert finding(found, "worst_section").found == "outer_wall"
    hot = forecast_of(('value = "52 °C"', 'value = "70 °C"'))
    assert finding(hot, "worst_section").found == "attic"


INSULATED = (
    ('method = "EMT"\ntrade_size = "1-1/4"\nlength = "22 ft"',
     'method = "NM cable"\nlength = "22 ft"\nin_insulation = true\nwet = false'),
)  # fmt: skip


def test_a_cable_deep_in_insulation_must_not_carry_80_a(forecast_of):
    # By hand, per metre: two 3 AWG at 90 °C make 2 × 80² × 0.84 mΩ = 10.8 W; a shell of
    # 100 mm around 20.8 mm has 2π × 0.04 / ln(220.8 / 20.8) = 0.106 W/(m·K): 100 K.
    found = forecast_of(*INSULATED)
    attic = finding(found, "conductor.attic")
    assert (attic.outcome, attic.weight) == (Outcome.FALLS_SHORT, Weight.MUST)
    assert attic.signal is not None
    assert "charge at" in attic.next
    no_surface = [each for each in found.points if each.id == "surface.attic"]
    assert no_surface == []


def test_what_settles_nowhere_has_no_temperature_and_falls_short(forecast_of):
    found = forecast_of(*INSULATED, ('value = "52 °C"', 'value = "75 °C"'))
    attic, its = point(found, "conductor.attic"), finding(found, "conductor.attic")
    assert (attic.middle_c, attic.high_c) == (None, None)
    assert its.outcome is Outcome.FALLS_SHORT
    assert its.found == "over 150 °C"


@pytest.mark.parametrize(
    ("change", "name", "said"),
    [
        (('ambient = "35 °C"\nplace', "place"), "conductor.garage_wall", "ambient"),
        (('method = "EMT"\n', ""), "conductor.attic", "method"),
        (('ambient = "35 °C"\nworking', "working"), "terminal.breaker", "ambient"),
        (('ambient = "38 °C"\n', ""), "terminal.charger", "ambient"),
        (('insulation = "THHN/THWN-2"\n', ""), "conductor.attic", "insulation"),
        (
            ('place = "attic"', 'place = "underground"'),
            "conductor.attic",
            "burial_depth",
        ),
    ],
)
def test_what_is_not_stated_cannot_be_told_and_is_only_advice(
    forecast_of, change, name, said
):
    found = forecast_of(change)
    its = finding(found, name)
    assert (its.outcome, its.weight) == (Outcome.CANNOT_TELL, Weight.ADVICE)
    assert said in its.next
    assert point(found, name).middle_c is None


def test_a_bundle_of_cables_is_not_forecast(forecast_of):
    found = forecast_of(
        (
            'method = "EMT"\ntrade_size = "1-1/4"\nlength = "22 ft"',
            'method = "NM cable"\nlength = "22 ft"\nin_insulation = false\n'
            "other_current_carrying_conductors = 6",
        )
    )
    assert finding(found, "conductor.attic").outcome is Outcome.CANNOT_TELL


def test_an_unread_marking_leaves_open_what_it_decides(forecast_of):
    read = 'listed_for_panel = true\ninterrupting_rating = "22 kA"\n'
    unread = ((f'{read}terminal_temperature = "75 °C"\n', read),)
    lugs = finding(forecast_of(*unread), "terminal.breaker")
    # 60 °C counts while nobody read it: 73 °C is over that and under 75 °C.
    assert lugs.limit == 60
    assert lugs.outcome is Outcome.CANNOT_TELL
    assert "marking" in lugs.next


def test_a_guessed_ambient_widens_the_range(forecast_of):
    sure = point(forecast_of(), "conductor.attic")
    guessed = point(
        forecast_of(('how = "measured" }\nplace', 'how = "guessed" }\nplace')),
        "conductor.attic",
    )
    assert guessed.middle_c == sure.middle_c
    assert guessed.low_c < sure.low_c - 2
    assert guessed.high_c > sure.high_c + 1


def test_a_stated_range_of_the_ambient_is_carried_through(forecast_of):
    stated = 'value = "52 °C", how = "measured"'
    found = forecast_of((stated, f'{stated}, range = ["40 °C", "60 °C"]'))
    attic = point(found, "conductor.attic")
    assert attic.low_c < attic.middle_c - 12
    assert attic.high_c > attic.middle_c + 8


BURIED = (
    'place = "outdoors"\nwet = true',
    'place = "underground"\nwet = true\nburial_depth = "18 in"',
)


def test_nightly_charging_warms_the_soil_less_than_charging_without_end(forecast_of):
    rest = forecast_of(BURIED)
    nothing_said = forecast_of(BURIED, ('distance_per_day = "95 mi"\n', ""))
    name = "conductor.outer_wall"
    assert point(rest, name).middle_c < point(nothing_said, name).middle_c
    assert [each.id for each in rest.points if each.id == "surface.outer_wall"] == []
    assert any(a.id == "forecast.charging_hours" for a in nothing_said.assumptions)


def test_what_the_heat_model_was_not_made_for_is_refused_in_words(forecast_of):
    shallow = (BURIED[0], BURIED[1].replace("18 in", "2 in"))
    its = finding(forecast_of(shallow), "conductor.outer_wall")
    assert its.outcome is Outcome.CANNOT_TELL
    assert "accepted: 0.1 to 3 m" in its.next


def test_without_a_setting_nothing_is_forecast(forecast_of):
    found = forecast_of(
        ('setting = "80 A"\n', ""),
        ('nameplate = { value = "80 A", how = "read" }\n', ""),
    )
    assert (found.points, found.settings) == ((), ())


def test_left_out_conductors_are_forecast_in_the_least_size(forecast_of):
    found = forecast_of(
        ('size = "3 AWG"\ninsulation = "THHN/THWN-2"', 'insulation = "THHN/THWN-2"')
    )
    # Design, section 6: 2 AWG passes on the attic run.
    lines = point(found, "conductor.attic").working.lines
    assert lines[0].label.startswith("resistance of 2 AWG copper")


def test_a_left_out_trade_size_is_forecast_in_the_least(forecast_of):
    found = forecast_of(('trade_size = "1-1/4"\nlength = "22 ft"', 'length = "22 ft"'))
    labels = [line.label for line in point(found, "conductor.attic").working.lines]
    assert "EMT 1, inside" in labels


def test_a_breaker_too_small_for_the_setting_cannot_be_told(forecast_of):
    found = forecast_of(
        ('rating = "100 A"\npoles = 2\nkind', 'rating = "60 A"\npoles = 2\nkind')
    )
    assert finding(found, "face.breaker").outcome is Outcome.CANNOT_TELL


def test_the_breaker_holds_less_in_hot_air(forecast_of):
    # Room 35 °C + 20 K in the panel: a 100 A breaker holds 87 to 91 A at 55 °C
    # (breaker_holding_current, published rows).
    cool, hot = (
        forecast_of(),
        forecast_of(('ambient = "35 °C"\nworking', 'ambient = "44 °C"\nworking')),
    )
    assert finding(cool, "breaker_holding").limit == pytest.approx(87.5, abs=0.5)
    assert finding(cool, "breaker_holding").outcome is Outcome.MEETS
    assert finding(hot, "breaker_holding").outcome is not Outcome.MEETS


def test_every_finding_is_documented(forecast_of):
    page = (ROOT / "docs" / "reference" / "findings.md").read_text("utf-8")
    known = set(re.findall(r"`(forecast\.[a-z_.*]+)`", page))
    houses = (
        forecast_of(),
        forecast_of(('line_to_line = { value = "9.2 kA", how = "told" }', "")),
    )
    for found in houses:
        for each in found.findings:
            star = each.id.rpartition(".")[0] + ".*"
            assert each.id in known or star in known, each.id


def test_a_forecast_is_advice_unless_even_its_low_end_is_over(forecast_of):
    for ambient in ("40 °C", "48 °C", "56 °C"):
        found = forecast_of(
            ('ambient = "35 °C"\nworking', f'ambient = "{ambient}"\nworking')
        )
        lugs, its = point(found, "terminal.breaker"), finding(found, "terminal.breaker")
        over = lugs.low_c > lugs.limit_c
        assert its.weight is (Weight.MUST if over else Weight.ADVICE)
    assert over  # 56 + 31 K is over 75 °C


def test_the_forecast_is_pure(forecast_of):
    one, other = forecast_of(), forecast_of()
    assert one == replace(other)


# The supply

LETTER = (
    '[service.fault_current]\nline_to_line = { value = "9.2 kA", how = "told" }\n'
    'letter = "utility\'s letter of 3 March (invented)"\n'
)
TRANSFORMER = """[service.transformer]
rating = "25 kVA"
impedance = "1.5 %"
reactance_to_resistance = 1.5

[service.drop]
material = "aluminum"
size = "4/0 AWG"
"""
LENGTHS = ('drop_kind = "overhead"', 'drop_kind = "overhead"\ndrop_length = "100 ft"\n'
           'conductor_length = "20 ft"')  # fmt: skip


def test_the_stated_fault_current_gives_the_largest_step_by_hand(forecast_of):
    # 240 V ÷ 9,200 A = 26.09 mΩ, all of it resistance; 80 A × it ÷ 240 V = 0.87 %.
    supply = forecast_of().supply
    assert supply.source_ohm == pytest.approx(240 / 9200)
    assert supply.flicker_fraction == pytest.approx(80 / 9200)
    assert supply.panel_v == pytest.approx(240 * (1 - 80 / 9200))
    assert supply.panel_fault_a == 9200


def test_transformer_and_conductors_by_hand(forecast_of):
    # Transformer: 1.5 % of 240² ÷ 25,000 = 34.56 mΩ, X/R 1.5: R 19.17, X 28.76 mΩ.
    # 4/0 aluminum: 0.10 ohm/kft in a non-magnetic raceway (chapter 9, table 9), 120 ft
    # each way: 24 mΩ; together 43.2 mΩ: a step of 1.44 % at 80 A.
    found = forecast_of((LETTER, TRANSFORMER), LENGTHS)
    assert found.supply.source_ohm == pytest.approx(0.01917 + 0.024, abs=2e-4)
    assert found.supply.flicker_fraction == pytest.approx(0.0144, abs=1e-4)
    # 19.2 kVA on 25 kVA.
    assert found.supply.transformer_fraction == pytest.approx(19.2 / 25)
    assert finding(found, "transformer").outcome is Outcome.MEETS


def test_unknown_lengths_count_as_nothing_for_a_short_circuit(forecast_of):
    # At the transformer: 25,000 ÷ 240 ÷ 1.5 % = 6,944 A leg to leg; leg to neutral
    # 1.33 to 1.67 times that. Not knowing the drop, the step cannot be told.
    found = forecast_of((LETTER, TRANSFORMER))
    assert 1.33 * 6944 < found.supply.panel_fault_a < 1.67 * 6944
    assert found.supply.flicker_fraction is None
    assert finding(found, "flicker").outcome is Outcome.CANNOT_TELL
    assert any(each.field == "service.transformer" for each in found.unknowns)


def test_two_readings_outrank_the_letter(forecast_of):
    # (241 − 237) V ÷ 80 A = 50 mΩ; 80 A × it ÷ 240 V = 1.67 %.
    readings = """[[voltage_readings]]
id = "quiet"
where = "main_panel"
leg_to_leg = "241 V"
current = "0 A"

[[voltage_readings]]
id = "loaded"
where = "main_panel"
leg_to_leg = "237 V"
current = "80 A"

[tariff]
"""
    found = forecast_of(("[tariff]\n", readings))
    assert found.supply.source_ohm == pytest.approx(0.05)
    assert found.supply.flicker_fraction == pytest.approx(0.05 * 80 / 240)


@pytest.mark.parametrize(
    ("fault", "outcome"),
    [
        ("20.8 kA", Outcome.MEETS),  # 22 kA less 5 % is 20.9 kA
        ("22 kA", Outcome.NARROW),
        ("22.1 kA", Outcome.FALLS_SHORT),
    ],
)
def test_a_breaker_must_break_what_the_utility_states(forecast_of, fault, outcome):
    found = forecast_of(('value = "9.2 kA"', f'value = "{fault}"'))
    its = finding(found, "interrupting_rating.breaker")
    assert (its.outcome, its.weight) == (outcome, Weight.MUST)


def test_a_series_rating_counts_for_the_breaker_it_names(forecast_of):
    beyond = ('value = "9.2 kA"', 'value = "30 kA"')
    series = (
        "neutral_bonded = true",
        'neutral_bonded = true\nseries_rating = "42 kA"\n'
        'series_rated_types = ["type P (invented)"]',
    )
    alone = finding(forecast_of(beyond), "interrupting_rating.breaker")
    named = finding(forecast_of(beyond, series), "interrupting_rating.breaker")
    assert alone.outcome is Outcome.FALLS_SHORT
    assert (named.outcome, named.limit) == (Outcome.MEETS, 42_000)


def test_a_disconnect_at_the_end_of_the_run_sees_less(forecast_of):
    # At the panel 10.4 kA, over its 10 kA; through 74 ft of 3 AWG less than that.
    beyond = ('value = "9.2 kA"', 'value = "10.4 kA"')
    where_unknown = finding(forecast_of(beyond), "interrupting_rating.disconnect")
    assert where_unknown.outcome is Outcome.CANNOT_TELL
    assert "distance" in where_unknown.next
    near = ("in_sight = true", 'in_sight = true\ndistance = "4 ft"')
    found = forecast_of(beyond, near)
    assert finding(found, "interrupting_rating.disconnect").outcome is Outcome.MEETS
    assert found.supply.disconnect_fault_a < 10_400


def test_an_unknown_fault_current_is_asked_for_once(forecast_of):
    found = forecast_of((LETTER, ""))
    asked = [each for each in found.findings if "interrupting" in each.id]
    assert [(each.outcome, each.weight) for each in asked] == [
        (Outcome.CANNOT_TELL, Weight.ADVICE)
    ]
    assert any(each.field == "service.fault_current" for each in found.unknowns)


def test_a_weak_supply_dips_the_lights(forecast_of):
    # 80 A ÷ 2.4 kA = 3.3 %; a letter's figure leaves half of it open, but the step is
    # at least that.
    found = forecast_of(('value = "9.2 kA"', 'value = "2.4 kA"'))
    its = finding(found, "flicker")
    assert (its.outcome, its.weight) == (Outcome.FALLS_SHORT, Weight.ADVICE)
