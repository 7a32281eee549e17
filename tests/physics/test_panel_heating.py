from __future__ import annotations

import itertools
import math

import pytest

from lugbook.errors import OutOfRange
from lugbook.physics.contact import PriorRange
from lugbook.physics.panel_heating import (
    panel_forecast,
    pole_resistance,
    pole_watts,
    rise_at_other_current,
    scaled_limit_rise,
)


def forecast(**changes):
    arguments = {
        "point": "breaker-face",
        "current_a": 80.0,
        "breaker_rating_a": 100.0,
        "conductor_w_per_m": 4.75,
        "ambient_c": 20.0,
    }
    return panel_forecast(**(arguments | changes))


# Readings of owners (common practice, no source; see issue on physics)


def kelvin(fahrenheit: float) -> float:
    return fahrenheit / 1.8


def test_one_exponent_reconciles_two_readings_of_one_breaker():
    # Common practice, no source: a two-pole 100 A breaker read about 130 °F at 80 A and
    # about 110 °F at 64 A in a room of 65 to 70 °F.
    exponents = [
        math.log(kelvin(130.0 - room_f) / kelvin(110.0 - room_f))
        / math.log(80.0 / 64.0)
        for room_f in (65.0, 67.5, 70.0)
    ]
    assert all(1.6 < each < 2.0 for each in exponents)
    for room_f in (65.0, 67.5, 70.0):
        scaled = rise_at_other_current(
            rise_k=kelvin(130.0 - room_f), current_a=80.0, other_current_a=64.0
        )
        assert scaled.low < kelvin(110.0 - room_f) < scaled.high


def test_owner_readings_of_a_100_a_breaker_lie_in_the_band():
    # As above; other circuits of the house were on.
    for current_a, shown_f in ((80.0, 130.0), (64.0, 110.0)):
        rise_k = forecast(
            current_a=current_a,
            conductor_w_per_m=4.75 * (current_a / 80.0) ** 2,
            neighbours_loaded=True,
        ).rise_k
        for room_f in (65.0, 70.0):
            assert rise_k.low < kelvin(shown_f - room_f) < rise_k.high


def test_owner_readings_of_30_a_breakers_lie_in_the_band():
    # Common practice, no source: 24 A on 30 A breakers in a room of 72 °F read 110, 117
    # and 117 °F; neighbours of one another.
    rise_k = forecast(
        current_a=24.0,
        breaker_rating_a=30.0,
        conductor_w_per_m=2.4,
        neighbours_loaded=True,
    ).rise_k
    for shown_f in (110.0, 117.0):
        assert rise_k.low < kelvin(shown_f - 72.0) < rise_k.high


# Watts


@pytest.mark.parametrize(
    ("rating_a", "current_a", "low_w", "high_w"),
    [(100.0, 80.0, 8.0, 13.0), (60.0, 48.0, 7.0, 10.5)],
)
def test_pole_watts_stay_in_the_known_band(rating_a, current_a, low_w, high_w):
    # physics-notes section 3.2: both poles together 8 to 13 W (100 A at 80 A) and 8 to
    # 10 W (60 A at 48 A), rounded to whole watts.
    watts = pole_watts(rating_a=rating_a, current_a=current_a)
    assert 2 * watts.low > low_w - 0.5
    assert 2 * watts.high < high_w + 0.5


def test_a_15_a_pole_reaches_the_published_resistance():
    # One maker publishes 35 milliohm at 15 A: 7.9 W.
    assert pole_watts(rating_a=15.0, current_a=15.0).high == pytest.approx(
        7.9, abs=0.05
    )


def test_no_pole_prior_falls_when_the_rating_falls():
    ratings = (125.0, 110.0, 100.0, 90.0, 80.0, 70.0, 60.0, 50.0, 40.0, 30.0, 20.0)
    for larger, smaller in itertools.pairwise(ratings):
        assert (
            pole_resistance(rating_a=smaller).median
            > pole_resistance(rating_a=larger).median
        )


def test_a_rating_between_rows_takes_the_next_smaller_row():
    assert pole_resistance(rating_a=45.0) == pole_resistance(rating_a=40.0)
    assert pole_resistance(rating_a=50.0) != pole_resistance(rating_a=45.0)


# Scaling


def test_a_50_k_limit_at_80_percent():
    # physics-notes section 3.3: 32.0 K (n = 2); 50 x 0.8^1.6 = 34.99 K.
    scaled = scaled_limit_rise(limit_rise_k=50.0, rating_a=100.0, current_a=80.0)
    assert scaled.low == pytest.approx(32.0)
    assert scaled.high == pytest.approx(34.99, abs=0.01)


def test_upwards_the_large_exponent_is_the_hot_one():
    up = rise_at_other_current(rise_k=10.0, current_a=40.0, other_current_a=80.0)
    assert up.high == pytest.approx(40.0)
    assert up.low == pytest.approx(10.0 * 2.0**1.6)


def test_the_same_current_gives_the_same_rise():
    same = rise_at_other_current(rise_k=25.0, current_a=48.0, other_current_a=48.0)
    assert same == PriorRange(25.0, 25.0, 25.0)


def test_scaling_from_less_than_40_percent_is_refused():
    rise_at_other_current(rise_k=5.0, current_a=32.0, other_current_a=80.0)
    with pytest.raises(OutOfRange, match="Measure at 40 % of the wanted current"):
        rise_at_other_current(rise_k=5.0, current_a=31.9, other_current_a=80.0)


# Forecasts


@pytest.mark.parametrize(
    ("point", "expected"),
    [
        ("breaker-face", (18.0, 23.0, 35.0)),
        ("breaker-lug", (31.0, 38.0, 53.0)),
        ("neighbour-face", (14.0, 20.0, 34.0)),
        ("panel-cover", (6.0, 9.0, 13.0)),
        ("charger-terminal", (15.0, 25.0, 31.0)),
        ("raceway", (7.0, 11.0, 14.0)),
        ("panel-air", (8.0, 12.6, 20.0)),
    ],
)
def test_forecast_at_the_reference_gives_the_reference(point, expected):
    # physics-notes section 3.5: simulator medians and 5 to 95 % at 80 A.
    rise_k = forecast(point=point).rise_k
    assert (rise_k.low, rise_k.median, rise_k.high) == pytest.approx(expected, abs=0.05)


def test_temperature_is_room_plus_rise():
    found = forecast(ambient_c=31.0)
    assert found.temperature_c.median == pytest.approx(31.0 + found.rise_k.median)
    assert found.temperature_c.low == pytest.approx(31.0 + found.rise_k.low)
    assert found.temperature_c.high == pytest.approx(31.0 + found.rise_k.high)


@pytest.mark.parametrize(
    "point",
    [
        "breaker-face",
        "breaker-lug",
        "neighbour-face",
        "panel-cover",
        "charger-terminal",
        "raceway",
        "panel-air",
    ],
)
def test_a_lower_setting_is_cooler_everywhere(point):
    warm = forecast(point=point)
    cool = forecast(point=point, current_a=32.0, conductor_w_per_m=4.75 * 0.16)
    # (32/80)^2 = 0.16 and (32/80)^1.6 = 0.23.
    assert 0.16 <= cool.rise_k.median / warm.rise_k.median <= 0.23
    assert cool.rise_k.high < warm.rise_k.low


def test_a_bad_joint_warms_its_terminal_and_leads_the_drivers():
    good = forecast(point="breaker-lug")
    bad = forecast(point="breaker-lug", joint_times=10.0)
    # 14.6 K by hand in test_contact.
    assert bad.rise_k.median - good.rise_k.median == pytest.approx(14.633, abs=0.01)
    assert bad.rise_k.high > good.rise_k.high
    assert "the joint" in bad.drivers
    assert "the joint" not in good.drivers


def test_a_bad_joint_at_the_charger_uses_the_charger_terminal():
    good = forecast(point="charger-terminal")
    bad = forecast(point="charger-terminal", joint_times=10.0)
    assert 6.0 < bad.rise_k.median - good.rise_k.median < 9.0


def test_loaded_neighbours_warm_the_panel_not_the_charger():
    inside = forecast(neighbours_loaded=True)
    assert inside.rise_k.median > forecast().rise_k.median
    assert "other loaded breakers" in inside.drivers
    outside = forecast(point="charger-terminal", neighbours_loaded=True)
    assert outside == forecast(point="charger-terminal")


def test_the_kind_of_panel_counts_inside_it_only():
    assert forecast(panel="in-cabinet").rise_k.high > forecast().rise_k.high
    assert forecast(panel="open-cover").rise_k.median < forecast().rise_k.median
    assert forecast(point="raceway", panel="in-cabinet") == forecast(point="raceway")


def test_a_measured_pole_replaces_the_prior():
    hot = forecast(pole_resistance_ohm=PriorRange(1.5e-3, 1.6e-3, 1.7e-3))
    assert hot.pole_w.median == pytest.approx(1.6e-3 * 6400.0)
    # Twice the watts, exponent 0.925: 23 x 1.8987 = 43.7 K.
    assert hot.rise_k.median == pytest.approx(23.0 * 2.0**0.925, abs=0.01)


def test_a_breaker_of_uncertain_watts_has_a_wider_range():
    known = forecast(current_a=48.0, breaker_rating_a=60.0, conductor_w_per_m=3.4)
    unsure = forecast(current_a=24.0, breaker_rating_a=30.0, conductor_w_per_m=2.4)
    assert (
        unsure.rise_k.high / unsure.rise_k.median
        > known.rise_k.high / known.rise_k.median
    )


def test_both_ends_of_an_uncertain_breaker_by_hand():
    # 30 A at 24 A: watts 2.0736, 3.5712, 6.2208. Ratio 3.5712/5.12 = 0.6975.
    # Low: 18 x 0.6975 x ((2.0736/3.5712)/0.75)^0.925 = 9.90; high:
    # 35 x 0.6975^0.8 x ((6.2208/3.5712)/1.25)^0.925 = 35.66.
    rise_k = forecast(
        current_a=24.0, breaker_rating_a=30.0, conductor_w_per_m=2.4
    ).rise_k
    assert rise_k.low == pytest.approx(9.90, abs=0.01)
    assert rise_k.high == pytest.approx(35.66, abs=0.02)


def test_independent_parts_add_as_squares_by_hand():
    # Face 23 (18 to 35), idle 4 (0 to 13): 27 - sqrt(25 + 16), 27 + sqrt(144 + 81).
    rise_k = forecast(neighbours_loaded=True).rise_k
    assert (rise_k.low, rise_k.median, rise_k.high) == pytest.approx(
        (27.0 - 41.0**0.5, 27.0, 42.0)
    )


def test_a_rise_below_the_room_is_not_forecast():
    rise_k = forecast(
        current_a=4.0, conductor_w_per_m=0.012, neighbours_loaded=True
    ).rise_k
    assert rise_k.low >= 0.0


def test_the_widest_part_is_named_first():
    # At 40 A the face is 4.5 to 11.5 K, the idle rise 0 to 13 K.
    assert forecast(
        current_a=40.0, conductor_w_per_m=1.2, neighbours_loaded=True
    ).drivers == (
        "other loaded breakers",
        "watts of the breaker and air of the panel",
    )


@pytest.mark.parametrize(
    ("change", "message"),
    [
        ({"point": "raceway", "joint_times": 3.0}, "raceway, which has no joint"),
        ({"current_a": 121.0}, "Current over rating is 1.21"),
        ({"current_a": math.nan}, "Current over rating is nan"),
        ({"breaker_rating_a": 10.0}, "Breaker rating is 10 A"),
        ({"ambient_c": 60.5}, "Ambient is 60.5 °C"),
        ({"conductor_w_per_m": 51.0}, "Heat of a conductor is 51 W/m"),
        ({"pole_resistance_ohm": PriorRange(0.2, 0.3, 0.4)}, "Pole resistance is 0.3"),
    ],
)
def test_a_forecast_outside_its_range_is_refused(change, message):
    with pytest.raises(OutOfRange, match=message):
        forecast(**change)
