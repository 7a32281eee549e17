"""A year of nights on one charger, against small steps and a linear program."""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import date

import numpy as np
import pytest
from scipy.optimize import linprog

from lugbook.demand.charging import CarUse, nights_of
from lugbook.demand.charging_year import (
    ALWAYS,
    MINUTES_PER_WEEK,
    CarPower,
    PriceWeek,
    charged_year,
    elapsed_s,
)

HOUR_S, DAY_S = 3600, 86400
FIRST = date(2025, 7, 1)  # a Tuesday
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
STEPS_A = np.array([6.0, 12, 16, 20, 24, 32, 40, 48, 64, 80])


def power(car, *, settings_a=STEPS_A, volts=240.0, nights=365, replays=1, seed=3):
    own = np.minimum(settings_a, car.most_a)
    return CarPower(
        nights=nights_of(
            car, first_day=FIRST, nights=nights, replays=replays, seed=seed
        ),
        power_kw=own * volts / 1000,
        scale=np.ones(len(settings_a)),
        capacity_kwh=np.full(len(settings_a), car.capacity_kwh),
    )


def week(*windows, base=0.2):
    """Return a price week from (from hour, to hour, price), every day."""
    prices = [base, *(price for _, _, price in windows)]
    levels = []
    for minute in range(MINUTES_PER_WEEK):
        hour = minute % 1440 / 60
        at = [n for n, (a, b, _) in enumerate(windows, 1) if a <= hour < b]
        levels.append(at[0] if at else 0)
    return PriceWeek(tuple(prices), tuple(levels))


def cost(level_kwh, prices):
    return sum(
        kwh.mean(axis=-1) * price for kwh, price in zip(level_kwh, prices, strict=True)
    )


def test_by_hand_17_a_do_not_fill_and_18_a_do():
    # 1,000 × 47.5 ÷ (240 × 11.5) = 17.21 A on every night but the shortest: that of
    # 7 March lasts 10.5 h and asks 18.85 A.
    car = power(CAR, settings_a=np.array([17.0, 17.3, 18.8, 18.9]))
    missed = charged_year([car], ALWAYS).missed[0, :, 0]
    assert missed[0] == 365
    # 17.3 A gives 47.748 kWh a night, 0.248 too much. In the short night it gives
    # 43.596, 3.904 too little; fifteen more mornings pass before that is mended
    # (15 × 0.248 = 3.72, 16 × 0.248 = 3.97).
    assert missed[1:].tolist() == [16, 1, 0]


def test_a_battery_is_never_emptier_than_empty():
    # 10 kWh a night against 20 kWh a day in a battery of 30 kWh: after the first day
    # 20 are lacking and 10 come back; then 30 and 10; from the third day on each
    # drive wants 40 of 30.
    car = replace(CAR, kwh_per_day=20.0, capacity_kwh=1e9)
    small = replace(car, capacity_kwh=30.0)
    settings = np.array([10 / 11.5 * 1000 / 240])
    free, held = (
        charged_year([power(each, settings_a=settings, nights=10)], ALWAYS)
        for each in (car, small)
    )
    assert free.empty[0, 0, 0] == 0
    assert held.empty[0, 0, 0] == 8
    assert held.energy_kwh[0, 0, 0] == pytest.approx(100.0)


@pytest.mark.parametrize(
    ("day", "hours"),
    [
        (date(2026, 3, 7), 5.0),  # the night in which the clock is set forward
        (date(2025, 11, 1), 7.0),  # ... and back
        (date(2025, 7, 1), 6.0),
    ],
)
def test_midnight_to_six_lasts_as_long_as_the_clock_says(day, hours):
    span = elapsed_s(30 * HOUR_S, first_day=day) - elapsed_s(24 * HOUR_S, first_day=day)
    assert span / HOUR_S == hours


def test_true_time_never_runs_back():
    for day in (date(2026, 3, 7), date(2025, 11, 1)):
        at = [elapsed_s(minute * 60, first_day=day) for minute in range(2880)]
        assert (np.diff(at) >= 0).all()


def test_a_window_of_six_hours_gives_five_and_seven_when_the_clock_changes():
    tariff = week((0, 6, 0.1))
    car = power(replace(CAR, kwh_per_day=500.0), settings_a=np.array([32.0]))
    found = charged_year([car], tariff, in_cheapest_hours=True)
    # 365 nights of six hours, one of them five and one seven.
    assert found.busy_hours[0, 0, 0] == pytest.approx(365 * 6)


def test_a_window_across_midnight_and_one_by_weekday_are_cut_where_they_change():
    levels = [0] * MINUTES_PER_WEEK
    for day in (5, 6):  # Saturday and Sunday, whole days
        levels[day * 1440 : (day + 1) * 1440] = [1] * 1440
    tariff = PriceWeek((0.2, 0.1), tuple(levels))
    car = power(replace(CAR, kwh_per_day=500.0), settings_a=np.array([32.0]), nights=7)
    found = charged_year([car], tariff)
    # From Tuesday on, seven nights of 11.5 h: 5.5 h of Friday's night before midnight
    # cost the base price and 6 h the weekend's; Saturday all; Sunday 5.5 h.
    hours = found.level_kwh[:, 0, 0] / 7.68
    assert hours == pytest.approx([7 * 11.5 - 23.0, 23.0])


def test_a_year_agrees_with_small_steps_of_one_minute():
    uses = (
        replace(CAR, kwh_per_day=30.0, capacity_kwh=70.0),
        replace(
            CAR,
            name="second",
            kwh_per_day=12.0,
            capacity_kwh=50.0,
            most_a=16.0,
            plugged_s=17 * HOUR_S,
            leaves_s=8 * HOUR_S,
        ),
    )
    settings = np.array([12.0, 20.0, 32.0])
    cars = [power(use, settings_a=settings, nights=12) for use in uses]
    found = charged_year(cars, ALWAYS)
    for place in range(3):
        missed = stepped(cars, place, nights=12)
        assert found.missed[:, place, 0].tolist() == missed


def stepped(cars, place, *, nights):
    """Return mornings missed, minute by minute, the first to leave first."""
    owed, missed = [0.0, 0.0], [0, 0]
    for minute in range(17 * 60, (nights + 1) * 1440):
        for at, car in enumerate(cars):
            use, of_day = car.nights.car, minute * 60 % DAY_S
            night = (minute - 12 * 60) // 1440
            if of_day == use.plugged_s and night < nights:
                owed[at] = min(use.capacity_kwh, owed[at] + use.kwh_per_day)
            if of_day == use.leaves_s and minute > 1440:
                # A minute's energy is the error of the steps.
                missed[at] += owed[at] > car.power_kw[place] / 60
        plugged = [
            at
            for at, car in sorted(
                enumerate(cars), key=lambda each: each[1].nights.car.leaves_s
            )
            if not car.nights.car.leaves_s
            <= minute * 60 % DAY_S
            < car.nights.car.plugged_s
            and owed[at] > 0
        ]
        if plugged:
            at = plugged[0]
            whole = cars[at].nights.car.capacity_kwh
            most = cars[at].power_kw[place]
            accepted = max(most, 11.5 / 60 * whole)
            rate = min(most, accepted * (0.1 + 0.9 * owed[at] / (0.05 * whole)))
            owed[at] = max(0.0, owed[at] - rate / 60)
    return missed


@pytest.mark.parametrize("seed", range(12))
def test_the_cheapest_fill_is_that_of_a_linear_program(seed):
    random = np.random.default_rng(seed)
    hours = random.permutation(24)
    tariff = week(
        (int(min(hours[:2])), int(max(hours[:2])), float(random.uniform(0.05, 0.5))),
        (int(max(hours[:2])), 24, float(random.uniform(0.05, 0.5))),
    )
    uses = [
        replace(
            CAR,
            name=f"car {number}",
            kwh_per_day=float(random.uniform(5, 40)),
            plugged_s=int(random.integers(14, 22)) * HOUR_S,
            leaves_s=int(random.integers(4, 12)) * HOUR_S,
        )
        for number in range(1 + seed % 2)
    ]
    cars = [power(use, settings_a=np.array([20.0]), nights=6) for use in uses]
    found = charged_year(cars, tariff)
    reckoned = cost(found.cheapest_kwh, tariff.prices)[0]
    assert reckoned == pytest.approx(linear_program(cars, tariff), rel=1e-7)
    assert reckoned <= cost(found.level_kwh, tariff.prices)[0] + 1e-9


def linear_program(cars, tariff):
    """Return the least cost of giving each night what charging at once gives it.

    In hours of the clock: every car comes and goes, and prices change, at full hours.
    """
    power_kw = cars[0].power_kw[0]
    got = [given(cars, car) for car in range(len(cars))]
    columns, prices = [], []
    for at, car in enumerate(cars):
        use = car.nights.car
        for night in range(len(car.nights.leaves)):
            start = night * 24 + use.plugged_s // HOUR_S
            end = (night + 1) * 24 + use.leaves_s // HOUR_S
            for hour in range(start, end):
                columns.append((at, night, hour))
                minute = (FIRST.weekday() * 1440 + hour * 60) % MINUTES_PER_WEEK
                prices.append(tariff.prices[tariff.at_minute[minute]])
    jobs = sorted({(at, night) for at, night, _ in columns})
    slots = sorted({hour for _, _, hour in columns})
    filled = [[1.0 * (c[:2] == job) for c in columns] for job in jobs]
    shared = [[1.0 * (c[2] == hour) for c in columns] for hour in slots]
    answer = linprog(
        prices,
        A_eq=filled,
        b_eq=[got[at][night] for at, night in jobs],
        A_ub=shared,
        b_ub=[power_kw] * len(slots),
        bounds=(0, power_kw),
    )
    assert answer.success, answer.message
    return answer.fun


def given(cars, wanted):
    """Return what charging at once gives each night, hour by hour."""
    owed = [0.0] * len(cars)
    got = [[0.0] * len(car.nights.leaves) for car in cars]
    power_kw = cars[0].power_kw[0]
    last = len(cars[0].nights.leaves)
    for hour in range((last + 1) * 24):
        left = power_kw
        order = sorted(range(len(cars)), key=lambda at: cars[at].nights.car.leaves_s)
        for at in order:
            use = cars[at].nights.car
            if hour % 24 == use.plugged_s // HOUR_S and hour // 24 < last:
                owed[at] += use.kwh_per_day
        for at in order:
            use = cars[at].nights.car
            night = (hour - use.plugged_s // HOUR_S) // 24
            start = night * 24 + use.plugged_s // HOUR_S
            if not 0 <= night < last:
                continue
            if start <= hour < (night + 1) * 24 + use.leaves_s // HOUR_S:
                take = min(left, owed[at])
                owed[at] -= take
                got[at][night] += take
                left -= take
    return got[wanted]


LONG = replace(
    CAR,
    kwh_per_day=20.0,
    long_day_kwh=70.0,
    long_days_per_year=24,
    winter_factor=1.4,
    winter_weeks=12,
    capacity_kwh=90.0,
)


@pytest.mark.parametrize("cheap", [False, True])
def test_a_larger_setting_never_misses_more(cheap):
    found = charged_year(
        [power(LONG, replays=30)], week((0, 6, 0.1)), in_cheapest_hours=cheap
    )
    assert (np.diff(found.missed[0], axis=0) <= 0).all()
    assert (np.diff(found.empty[0], axis=0) <= 0).all()
    assert (np.diff(found.energy_kwh[0], axis=0) >= -1e-9).all()


def test_a_longer_night_never_misses_more():
    missed = [
        charged_year([power(replace(LONG, leaves_s=h * HOUR_S), replays=20)], ALWAYS)
        .missed[0]
        .mean(axis=-1)
        for h in (1, 3, 5, 7)
    ]
    assert (np.diff(missed, axis=0) <= 0).all()
    assert missed[0].sum() > missed[-1].sum()


def test_twice_the_distance_never_misses_fewer():
    once = charged_year([power(LONG, replays=20)], ALWAYS).missed
    twice = replace(LONG, kwh_per_day=40.0, long_day_kwh=140.0)
    assert (charged_year([power(twice, replays=20)], ALWAYS).missed >= once).all()


def test_208_v_never_misses_fewer_than_240_v():
    high = charged_year([power(LONG, replays=20)], ALWAYS).missed
    low = charged_year([power(LONG, replays=20, volts=208.0)], ALWAYS).missed
    assert (low >= high).all()
    assert low.sum() > high.sum()


@pytest.mark.parametrize("cheap", [False, True])
def test_splitting_a_window_in_two_changes_nothing(cheap):
    whole = charged_year(
        [power(LONG)], week((0, 6, 0.1), (16, 21, 0.4)), in_cheapest_hours=cheap
    )
    split = charged_year(
        [power(LONG)],
        week((0, 2, 0.1), (2, 6, 0.1), (16, 21, 0.4)),
        in_cheapest_hours=cheap,
    )
    assert (split.missed == whole.missed).all()
    assert cost(split.cheapest_kwh, (0.2, 0.1, 0.1, 0.4)) == pytest.approx(
        cost(whole.cheapest_kwh, (0.2, 0.1, 0.4)), rel=1e-9
    )
    assert cost(split.level_kwh, (0.2, 0.1, 0.1, 0.4)) == pytest.approx(
        cost(whole.level_kwh, (0.2, 0.1, 0.4)), rel=1e-9
    )


def test_a_second_car_never_makes_the_first_to_leave_miss_more():
    second = replace(LONG, name="second", leaves_s=9 * HOUR_S)
    alone = charged_year([power(LONG)], ALWAYS).missed[0]
    both = charged_year([power(LONG), power(second)], ALWAYS)
    assert (both.missed[0] == alone).all()
    own = charged_year([power(second)], ALWAYS).missed[0]
    assert (both.missed[1] >= own).all()


def test_energy_is_kept():
    # What the drives took and the battery held is what the wall gave and what is
    # lacking at last; nothing is lacking here.
    car = power(replace(LONG, capacity_kwh=math.inf), settings_a=np.array([80.0]))
    found = charged_year([car], week((0, 6, 0.1)))
    used = car.nights.used_kwh.sum()
    assert found.energy_kwh.sum() == pytest.approx(used, rel=1e-9)
    assert found.level_kwh.sum() == pytest.approx(used, rel=1e-9)
    assert found.cheapest_kwh.sum() == pytest.approx(used, rel=1e-9)
