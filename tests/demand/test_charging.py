"""The charging nights of one car: calendar, lots, windows, and what a night gives."""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import date, timedelta

import numpy as np
import pytest

from lugbook.demand.charging import (
    CarUse,
    hours_to_fill,
    is_winter,
    nights_of,
    owed_after,
    plugged_windows,
)
from lugbook.errors import OutOfRange

MONDAY = date(2025, 6, 30)
HOUR_S, DAY_S = 3600, 86400
CAR = CarUse(
    name="invented van",
    kwh_per_day=47.5,
    long_day_kwh=None,
    long_days_per_year=0,
    winter_factor=1.0,
    winter_weeks=0,
    capacity_kwh=math.inf,
    most_a=math.inf,
    plugged_s=18 * HOUR_S + 1800,
    leaves_s=6 * HOUR_S,
    drives=(True,) * 7,
)


def nights(car, count=365, replays=1, seed=1, first_day=MONDAY):
    return nights_of(car, first_day=first_day, nights=count, replays=replays, seed=seed)


def test_twelve_weeks_of_winter_are_84_days_about_15_january():
    days = [date(2025, 7, 1) + timedelta(days=n) for n in range(365)]
    cold = [day for day in days if is_winter(day, winter_weeks=12)]
    assert len(cold) == 84
    # 42 days before 15 January is 4 December; 41 after it is 25 February.
    assert (cold[0], cold[-1]) == (date(2025, 12, 4), date(2026, 2, 25))


@pytest.mark.parametrize(("weeks", "count"), [(0, 0), (1, 7), (52, 365), (60, 365)])
def test_any_number_of_winter_weeks_is_that_many_days(weeks, count):
    days = [date(2025, 7, 1) + timedelta(days=n) for n in range(365)]
    assert sum(is_winter(day, winter_weeks=weeks) for day in days) == count


def test_winter_multiplies_the_energy_of_its_nights_only():
    found = nights(replace(CAR, winter_factor=1.69, winter_weeks=12))
    assert sorted(set(found.used_kwh[0].round(6))) == [47.5, round(47.5 * 1.69, 6)]
    assert (found.used_kwh[0] > 50).sum() == 84


def test_a_car_that_rests_on_sunday_leaves_on_no_sunday_and_used_nothing_then():
    car = replace(CAR, drives=(True,) * 6 + (False,))
    found = nights(car, count=14)
    assert found.used_kwh[0].tolist() == ([47.5] * 6 + [0.0]) * 2
    # After the night of Saturday it does not drive; after that of Sunday it does.
    assert found.leaves.tolist() == ([True] * 5 + [False, True]) * 2


def test_a_car_at_home_by_day_comes_from_the_shift_of_the_day_before():
    car = replace(
        CAR,
        plugged_s=8 * HOUR_S,
        leaves_s=17 * HOUR_S,
        drives=(True,) * 5 + (False, False),
    )
    found = nights(car, count=7)
    # Monday's plug-in follows Sunday, on which it does not drive; Saturday's Friday.
    assert found.used_kwh[0].tolist() == [0.0] + [47.5] * 5 + [0.0]
    assert found.leaves.tolist() == [True] * 5 + [False, False]
    assert car.plugged_hours == 9.0


def test_a_night_lasts_until_the_car_leaves_or_is_plugged_in_again():
    car = replace(CAR, drives=(True,) * 6 + (False,))
    starts, ends = plugged_windows(nights(car, count=7))
    hours = ((ends - starts) / HOUR_S).tolist()
    assert hours == [11.5] * 5 + [24.0, 11.5]
    assert starts[0] == 18 * HOUR_S + 1800


def test_leaving_at_the_minute_of_plugging_in_is_a_whole_day():
    assert replace(CAR, leaves_s=CAR.plugged_s).plugged_hours == 24.0


def test_long_days_are_as_many_as_asked_and_never_on_a_day_at_rest():
    car = replace(
        CAR,
        long_day_kwh=100.0,
        long_days_per_year=12,
        drives=(True,) * 6 + (False,),
    )
    found = nights(car, replays=50)
    is_long = found.used_kwh == 100.0
    assert (is_long.sum(axis=1) == 12).all()
    assert not is_long[:, found.used_kwh[0] == 0.0].any()
    assert len({tuple(np.flatnonzero(row)) for row in is_long}) == 50


def test_a_share_of_a_long_day_is_drawn_in_that_share_of_the_replays():
    car = replace(CAR, long_day_kwh=100.0, long_days_per_year=12.25)
    counts = (nights(car, replays=2000).used_kwh == 100.0).sum(axis=1)
    assert set(counts) == {12, 13}
    # Standard deviation of the mean of 2,000 such draws: sqrt(0.25 × 0.75 / 2000) =
    # 0.0097; four of them.
    assert counts.mean() == pytest.approx(12.25, abs=0.039)


def test_more_long_days_only_add_to_those_already_drawn():
    few, many = (
        nights(
            replace(CAR, long_day_kwh=100.0, long_days_per_year=count), replays=20
        ).used_kwh
        == 100.0
        for count in (6, 18)
    )
    assert (many | ~few).all()


def test_nothing_drawn_by_lot_needs_one_replay_only():
    assert nights(CAR, replays=200).used_kwh.shape == (1, 365)


def test_the_same_seed_draws_the_same_days():
    car = replace(CAR, long_day_kwh=100.0, long_days_per_year=12)
    one, same, other = (nights(car, replays=5, seed=s).used_kwh for s in (7, 7, 8))
    assert (one == same).all()
    assert (one != other).any()


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"kwh_per_day": -1.0}, "below 0"),
        ({"winter_factor": 0.0}, "winter factor"),
        ({"long_day_kwh": math.nan}, "long day"),
        ({"capacity_kwh": 0.0}, "over 0"),
        ({"plugged_s": DAY_S}, "outside"),
        ({"drives": (True,) * 6}, "weekdays"),
    ],
)
def test_what_no_car_can_be_is_refused(change, said):
    with pytest.raises(OutOfRange, match=said):
        replace(CAR, **change)


def test_no_nights_are_refused():
    with pytest.raises(OutOfRange, match="give 1 or more"):
        nights(CAR, count=0)


# Steps of a second over hours: Euler's error is at most half a step's energy.
def in_small_steps(owed, power_kw, hours, capacity_kwh):
    last = 0.05 * capacity_kwh
    accepted = max(power_kw, 11.5 / 60 * capacity_kwh)
    for _ in range(round(hours * 3600)):
        rate = min(power_kw, accepted * (0.1 + 0.9 * max(owed, 0.0) / last))
        owed = max(0.0, owed - rate / 3600)
    return owed


@pytest.mark.parametrize("power_kw", [1.4, 7.68, 11.5, 19.2])
@pytest.mark.parametrize("hours", [0.5, 1.0, 3.0])
def test_charging_near_full_is_the_two_stage_model_in_small_steps(power_kw, hours):
    owed = owed_after(
        owed_kwh=np.array([6.0]), power_kw=power_kw, hours=hours, capacity_kwh=60.0
    )
    stepped = in_small_steps(6.0, power_kw, hours, 60.0)
    assert owed[0] == pytest.approx(stepped, abs=power_kw / 3600)


def test_flat_to_95_percent_and_a_tenth_at_full_at_11500_w_into_60_kwh():
    # By hand: 3 kWh lie above 95 %. dE/dt = 11.5 (0.1 + 0.9 E/3), so from 3 to 0 it
    # takes ln(10) × 3 ÷ (0.9 × 11.5) = 0.6674 h, against 0.2609 h flat.
    hours = math.log(10) * 3 / (0.9 * 11.5)
    assert hours == pytest.approx(0.6674, abs=5e-5)
    assert hours_to_fill(
        owed_kwh=3.0, power_kw=11.5, capacity_kwh=60.0
    ) == pytest.approx(hours, rel=1e-12)


@pytest.mark.parametrize("capacity_kwh", [20.0, 60.0, 120.0, math.inf])
def test_what_takes_so_long_to_fill_is_full_after_it(capacity_kwh):
    power_kw = np.array([1.4, 3.8, 7.7, 11.5, 19.2])
    hours = hours_to_fill(
        owed_kwh=np.full(5, 15.0), power_kw=power_kw, capacity_kwh=capacity_kwh
    )
    left = owed_after(
        owed_kwh=np.full(5, 15.0),
        power_kw=power_kw,
        hours=hours,
        capacity_kwh=capacity_kwh,
    )
    assert left == pytest.approx(np.zeros(5), abs=1e-12)
    single = [
        hours_to_fill(owed_kwh=15.0, power_kw=each, capacity_kwh=capacity_kwh)
        for each in power_kw.tolist()
    ]
    assert hours == pytest.approx(single, rel=1e-12)


@pytest.mark.parametrize("capacity_kwh", [12.0, 60.0, math.inf])
def test_a_larger_power_never_leaves_more_lacking(capacity_kwh):
    power_kw = np.linspace(1.0, 25.0, 500)
    for hours in (0.1, 0.5, 1.0, 2.0, 6.0):
        left = owed_after(
            owed_kwh=np.full(500, 10.0),
            power_kw=power_kw,
            hours=hours,
            capacity_kwh=capacity_kwh,
        )
        assert (np.diff(left) <= 1e-12).all()
