from __future__ import annotations

import math

import pytest

from lugbook.errors import OutOfRange
from lugbook.physics.breaker_rating import (
    breaker_holding_current,
    breaker_holding_fraction,
)

AMBIENTS_C = (40.0, 45.0, 50.0, 55.0, 60.0, 65.0, 70.0)

# breaker-rerating-tables: holding current in amperes at the ambients above, with the
# trip temperature that fits each row with exponent 1.8 (physics-notes section 3.4).
ROWS = [
    (20.0, 136.0, (20, 19, 19, 18, 18, 17, 16)),
    (50.0, 132.0, (50, 49, 47, 45, 44, 42, 40)),
    (60.0, 135.0, (60, 58, 56, 55, 53, 51, 48)),
    (80.0, 111.0, (80, 77, 73, 70, 67, 63, 59)),
    (70.0, 113.0, (70, 67, 64, 61, 59, 55, 53)),
]

# breaker-rerating-tables: every row of the first table, to 65 °C.
ALL_ROWS = {
    15.0: (15, 14, 14, 13, 12, 12),
    20.0: (20, 19, 19, 18, 18, 17),
    25.0: (25, 24, 24, 23, 22, 21),
    30.0: (30, 29, 28, 27, 26, 25),
    35.0: (35, 34, 33, 32, 31, 31),
    40.0: (40, 39, 38, 37, 36, 35),
    45.0: (45, 44, 42, 41, 39, 37),
    50.0: (50, 49, 47, 45, 44, 42),
    60.0: (60, 58, 56, 55, 53, 51),
    70.0: (70, 67, 64, 61, 59, 55),
    80.0: (80, 77, 73, 70, 67, 63),
    90.0: (90, 87, 83, 80, 76, 72),
    100.0: (100, 99, 96, 92, 85, 80),
    110.0: (110, 107, 103, 99, 94, 89),
    125.0: (125, 121, 117, 112, 109, 104),
}

# breaker-rerating-tables: correction factors of a 20 A breaker, 10 to 70 °C.
MULTIPLIERS_20_A = {
    10.0: 1.16,
    15.0: 1.13,
    20.0: 1.11,
    25.0: 1.08,
    30.0: 1.06,
    35.0: 1.03,
    40.0: 1.00,
    45.0: 0.97,
    50.0: 0.94,
    55.0: 0.91,
    60.0: 0.88,
    65.0: 0.85,
    70.0: 0.81,
}


@pytest.mark.parametrize(("rating_a", "trip_c", "printed_a"), ROWS)
def test_published_rerating_rows(rating_a, trip_c, printed_a):
    for ambient_c, held_a in zip(AMBIENTS_C, printed_a, strict=True):
        found = rating_a * breaker_holding_fraction(
            local_ambient_c=ambient_c, trip_temperature_c=trip_c
        )
        # Whole amperes are printed (0.5); one curve for seven points adds the rest.
        assert found == pytest.approx(held_a, abs=0.9), ambient_c


@pytest.mark.parametrize(("ambient_c", "printed"), MULTIPLIERS_20_A.items())
def test_published_multipliers_of_a_20_a_breaker(ambient_c, printed):
    found = breaker_holding_fraction(
        local_ambient_c=ambient_c, trip_temperature_c=137.0
    )
    # Two digits are printed.
    assert found == pytest.approx(printed, abs=0.008)


@pytest.mark.parametrize(("rating_a", "printed_a"), ALL_ROWS.items())
def test_no_published_breaker_holds_less_than_the_low_end(rating_a, printed_a):
    for ambient_c, held_a in zip(AMBIENTS_C[:-1], printed_a, strict=True):
        held = breaker_holding_current(rating_a=rating_a, local_ambient_c=ambient_c)
        # Whole amperes are printed.
        assert held_a >= held.low - 0.5, ambient_c


def test_at_its_calibration_a_breaker_holds_its_rating():
    held = breaker_holding_current(rating_a=100.0, local_ambient_c=40.0)
    assert (held.low, held.median, held.high) == pytest.approx((100.0, 100.0, 100.0))


def test_a_breaker_calibrated_at_25_c_holds_less_in_warm_air():
    # ((T* - 25)/(T* - 40))^(1/1.8) with T* = 132: (107/92)^0.5556 = 1.08754.
    new = breaker_holding_fraction(local_ambient_c=40.0)
    old = breaker_holding_fraction(local_ambient_c=40.0, calibration_c=25.0)
    assert new / old == pytest.approx(1.08754, abs=0.0001)


def test_ends_of_the_range_by_hand():
    # At 55 °C: (55/70)^(1/1.8) = 0.87461 with 110 °C, (77/92)^(1/1.8) = 0.90585 with
    # 132 °C, (82/97)^(1/1.8) = 0.91090 with 137 °C.
    held = breaker_holding_current(rating_a=100.0, local_ambient_c=55.0)
    assert (held.low, held.median, held.high) == pytest.approx(
        (87.461, 90.585, 91.090), abs=0.005
    )


def test_cool_air_lets_a_breaker_hold_more():
    held = breaker_holding_current(rating_a=60.0, local_ambient_c=20.0)
    assert 60.0 < held.low < held.high


@pytest.mark.parametrize(
    ("change", "message"),
    [
        ({"local_ambient_c": 65.1}, "Local ambient is 65.1 °C"),
        ({"local_ambient_c": -10.1}, "Local ambient is -10.1 °C"),
        ({"local_ambient_c": math.nan}, "Local ambient is nan °C"),
        ({"rating_a": 14.9}, "Breaker rating is 14.9 A"),
        ({"rating_a": 125.1}, "Breaker rating is 125.1 A"),
        ({"calibration_c": 61.0}, "Calibration temperature is 61 °C"),
    ],
)
def test_outside_the_published_rows_it_refuses(change, message):
    with pytest.raises(OutOfRange, match=message):
        breaker_holding_current(
            **({"rating_a": 60.0, "local_ambient_c": 40.0} | change)
        )


@pytest.mark.parametrize(
    ("change", "message"),
    [
        ({"trip_temperature_c": 89.0}, "Trip temperature is 89 °C"),
        ({"heat_exponent": 2.1}, "Heat exponent is 2.1"),
        ({"local_ambient_c": 70.1}, "Local ambient is 70.1 °C"),
    ],
)
def test_a_bimetal_that_no_breaker_has_is_refused(change, message):
    with pytest.raises(OutOfRange, match=message):
        breaker_holding_fraction(**({"local_ambient_c": 40.0} | change))
