"""House and charging laid over each other: by hand, by a walk, and as properties."""

import math
from dataclasses import replace
from datetime import UTC, date, datetime

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from lugbook.demand.charging import CarUse, nights_of
from lugbook.demand.cleaning import Doubt, Record
from lugbook.demand.clock import FixedClock, local_of_utc, open_zone
from lugbook.demand.house_current import HouseCurrent, house_current
from lugbook.demand.nights import (
    AT_ONCE,
    LATE,
    StartRule,
    by_clock_and_weekday,
    evenings,
    limited,
    replayed,
    run_lengths,
)
from lugbook.errors import OutOfRange

DAY = 96
FIRST = datetime(2026, 6, 1, tzinfo=UTC)  # a Monday
MIDNIGHT = StartRule("midnight", 0)
RULES = (AT_ONCE, MIDNIGHT, LATE)
VOLTS = 240.0


def car(**changed):
    """An invented car, 9.6 kWh a day, home 18:00 to 06:00."""
    habits = {
        "name": "invented",
        "kwh_per_day": 9.6,
        "long_day_kwh": None,
        "long_days_per_year": 0.0,
        "winter_factor": 1.0,
        "winter_weeks": 0.0,
        "capacity_kwh": math.inf,
        "most_a": math.inf,
        "plugged_s": 18 * 3600,
        "leaves_s": 6 * 3600,
        "drives": (True,) * 7,
    }
    return CarUse(**{**habits, **changed})


def house(amperes, *, first=FIRST, clock=None, most=None):
    """Current of each quarter hour from a moment on, the two bounds alike."""
    padded = np.concatenate((np.full(DAY, np.nan), amperes, np.full(2 * DAY, np.nan)))
    most = (
        padded
        if most is None
        else np.concatenate((np.full(DAY, np.nan), most, np.full(2 * DAY, np.nan)))
    )
    first_s = int(first.timestamp()) - DAY * 900
    starts = first_s + 900 * np.arange(len(padded), dtype=np.int64)
    return HouseCurrent(
        first_s=first_s,
        step_s=900,
        least_a=padded,
        most_a=most,
        local_s=local_of_utc(starts, clock or FixedClock()),
        known_from_s=int(first.timestamp()),
        known_until_s=int(first.timestamp()) + 900 * len(amperes),
    )


def laid(held, uses, *, setting_a=40.0, limits_a=(80.0, 100.0), rules=RULES, **more):
    first_day, count = evenings(held)
    nights = [
        nights_of(use, first_day=first_day, nights=count, replays=40, seed=7 + number)
        for number, use in enumerate(uses)
    ]
    return replayed(
        held,
        nights,
        setting_a=setting_a,
        voltage_v=VOLTS,
        limits_a=limits_a,
        rules=rules,
        **more,
    )


def test_one_evening_of_four_quarter_hours_by_hand():
    # 40 A × 240 V = 9.6 kW: 9.6 kWh last one hour, 18:00 to 19:00, four quarter hours.
    # House 50, 30, 45, 70 A there: together 90, 70, 85, 110 A. Over 80 A: three of
    # them, the longest run two (18:30 to 19:00); over 100 A: one, by 10 A for a
    # quarter hour at 240 V = 0.6 kWh.
    amperes = np.full(DAY, 10.0)
    amperes[72:76] = (50.0, 30.0, 45.0, 70.0)
    found = laid(house(amperes), [car()], rules=(AT_ONCE,))[0]
    assert found.over[:, 0, 0].tolist() == [3.0, 1.0]
    assert found.nights_over[:, 0, 0].tolist() == [1.0, 1.0]
    assert found.longest_s[:, 0].tolist() == [1800.0, 900.0]
    assert found.highest_a == (110.0, 110.0)
    assert found.excess_kwh[0, 0] == pytest.approx(0.6, rel=1e-12)  # rounding only
    assert found.energy_kwh[0] == pytest.approx(9.6, rel=1e-12)
    assert found.weekday_nights_over[1, 0].tolist() == [1, 0, 0, 0, 0, 0, 0]


def test_a_part_of_a_quarter_hour_counts_with_its_mean():
    # 5.4 kWh at 9.6 kW last 33.75 min: two quarter hours and a quarter of the third,
    # whose mean is 75 + 40 × 0.25 = 85 A.
    amperes = np.full(DAY, 75.0)
    use = car(kwh_per_day=5.4)
    for limit_a, expected in ((84.9, 3.0), (85.1, 2.0)):
        found = laid(house(amperes), [use], limits_a=(limit_a,), rules=(AT_ONCE,))[0]
        assert found.over[0, 0, 0] == expected


def test_each_start_rule_charges_at_its_own_hours():
    amperes = np.zeros(2 * DAY)
    at_once, midnight, late = laid(house(amperes), [car()])
    starts = [
        np.flatnonzero(each.on_fraction > 0)[0] % DAY
        for each in (at_once, midnight, late)
    ]
    assert starts == [72, 0, 20]  # 18:00, 00:00, 05:00


def test_a_time_at_which_the_car_is_away_is_not_waited_for():
    noon = StartRule("noon", 12 * 3600)
    found = laid(house(np.zeros(DAY)), [car()], rules=(noon,))[0]
    assert np.flatnonzero(found.on_fraction > 0)[0] % DAY == 72


def test_a_night_too_short_for_its_energy_is_a_morning_missed():
    # Midnight to 06:00 at 16 A and 240 V gives 23.04 kWh of the 30 asked; the lack is
    # carried into the next night.
    use = car(kwh_per_day=30.0)
    found = laid(house(np.zeros(3 * DAY)), [use], setting_a=16.0, rules=(MIDNIGHT,))[0]
    assert found.missed[0] == 3
    assert found.energy_kwh[0] == pytest.approx(3 * 23.04, rel=1e-12)


def test_house_alone_over_a_limit_is_counted_without_any_charging():
    amperes = np.full(DAY, 10.0)
    amperes[40:43] = 90.0
    found = laid(house(amperes), [car()], rules=(AT_ONCE,))[0]
    assert found.over[0, 0, 0] == 3.0
    assert found.nights_over[0, 0, 0] == 0.0


def test_silence_of_the_record_is_never_counted_as_over():
    found = laid(house(np.full(DAY, np.nan)), [car()], limits_a=(1.0,))[0]
    assert found.over.sum() == 0


def test_evenings_without_charging_carry_their_need_to_the_next():
    # Two days from Monday: without Mondays the car gets 19.2 kWh on Tuesday.
    found = laid(
        house(np.zeros(2 * DAY)),
        [car()],
        rules=(AT_ONCE,),
        without_evenings=frozenset({0}),
    )[0]
    assert found.energy_kwh[0] == pytest.approx(19.2, rel=1e-12)
    assert found.missed[0] == 1


def test_of_two_cars_the_one_that_leaves_first_charges_first():
    # Both home at 18:00 and 9.6 kWh each: one hour each, the second after the first.
    early = car(name="early", leaves_s=5 * 3600)
    amperes = np.zeros(DAY)
    found = laid(house(amperes), [car(), early], rules=(AT_ONCE,))[0]
    on = np.flatnonzero(found.on_fraction > 0)
    assert len(on) == 8
    assert found.energy_kwh[0] == pytest.approx(19.2, rel=1e-12)
    assert found.highest_a == (40.0, 40.0)


@pytest.mark.parametrize(
    ("day", "expected_h"),
    [(date(2026, 3, 7), 5.0), (date(2026, 10, 31), 7.0), (date(2026, 6, 6), 6.0)],
)
def test_a_night_in_which_the_clock_is_changed_is_an_hour_shorter_or_longer(
    day, expected_h
):
    # 00:00 to 06:00 in Chicago, where clocks change on 8 March and 1 November 2026.
    zone = open_zone("America/Chicago")
    first = datetime(day.year, day.month, day.day, tzinfo=zone.zone)
    held = house(np.zeros(DAY), first=first, clock=zone)
    use = car(kwh_per_day=1000.0)
    found = laid(held, [use], rules=(MIDNIGHT,))[0]
    first_night = found.on_fraction[: 3 * DAY]
    assert run_lengths(first_night > 0)[0] / 4 == expected_h


def test_a_limit_leaves_the_car_what_the_house_does_not_take():
    # Limit 80 A, house 50 A: 30 A for the car, 7.2 kW; 9.6 kWh take 80 min.
    found = kept(np.full(DAY, 50.0), car())
    assert found.energy_kwh[0] == pytest.approx(9.6, rel=1e-9)
    assert found.missed[0] == 0
    assert found.on_fraction.sum() / 4 == pytest.approx(80 / 60, rel=1e-6)
    assert found.over.sum() == 0


@pytest.mark.parametrize(
    ("house_a", "charges"), [(73.9, True), (74.0, True), (74.1, False)]
)
def test_less_than_a_car_can_be_offered_is_nothing(house_a, charges):
    # Limit 80 A: 6 A are left at 74 A of the house, 12 h × 1.44 kW for 9.6 kWh. The
    # second night ends in silence, where there is room; the first does not.
    found = kept(np.full(2 * DAY, house_a), car())
    assert found.missed[0] == (0 if charges else 1)


def test_a_device_that_acts_late_is_over_by_the_step_of_the_house():
    # The house steps from 10 to 60 A at 18:30: for one quarter hour the car still has
    # its 40 A, 100 A together, 20 A over the limit.
    amperes = np.full(DAY, 10.0)
    amperes[74:] = 60.0
    use = car(kwh_per_day=20.0)
    found = kept(amperes, use)
    assert found.highest_a == (100.0, 100.0)
    assert found.over[0, 0, 0] == 1.0


def kept(amperes, use):
    held = house(amperes)
    first_day, count = evenings(held)
    nights = nights_of(use, first_day=first_day, nights=count, replays=1, seed=1)
    return limited(
        held,
        [nights],
        setting_a=40.0,
        voltage_v=VOLTS,
        limit_a=80.0,
        smallest_a=6.0,
        limits_a=(80.0, 100.0),
    )


def test_senseless_settings_are_refused():
    with pytest.raises(OutOfRange, match="setting 0 A"):
        laid(house(np.zeros(DAY)), [car()], setting_a=0.0)
    with pytest.raises(OutOfRange, match="no car"):
        replayed(
            house(np.zeros(DAY)), [], setting_a=16.0, voltage_v=VOLTS, limits_a=(80.0,)
        )


# --- against a walk, quarter hour by quarter hour ----------------------------------


def walked(amperes, energies, *, setting_a, limits_a):
    """Charge from 18:00 on in each of several days and count; nothing clever."""
    over = [0, 0]
    excess = 0.0
    on = np.zeros(len(amperes) + DAY)
    for day, energy in enumerate(energies):
        left = energy
        place = day * DAY + 72
        while left > 1e-9:
            share = min(1.0, left / (setting_a * VOLTS / 1000 / 4))
            on[place] = share
            left -= share * setting_a * VOLTS / 1000 / 4
            place += 1
    for place, house_a in enumerate(amperes):
        together = house_a + on[place] * setting_a
        for row, limit in enumerate(limits_a):
            over[row] += together > limit
        excess += max(0.0, together - limits_a[-1]) * VOLTS / 1000 / 4
    return over, excess


@settings(max_examples=15, deadline=None)
@given(
    seed=st.integers(0, 2**31),
    setting_a=st.sampled_from([16.0, 24.0, 40.0, 80.0]),
    energy=st.floats(0.0, 30.0),
)
def test_running_totals_agree_with_a_walk(seed, setting_a, energy):
    draw = np.random.default_rng(seed)
    amperes = draw.uniform(0, 90, 4 * DAY)
    limits = (80.0, 100.0)
    found = laid(
        house(amperes),
        [car(kwh_per_day=energy)],
        setting_a=setting_a,
        limits_a=limits,
        rules=(AT_ONCE,),
    )[0]
    # The last night of four reaches into the padding; 30 kWh at 16 A end before 02:00.
    given = [min(energy, setting_a * VOLTS / 1000 * 12)] * 4
    over, excess = walked(amperes, given, setting_a=setting_a, limits_a=limits)
    assert found.over[:, 0, 0].tolist() == over
    assert found.excess_kwh[0, 0] == pytest.approx(excess, rel=1e-9, abs=1e-9)


def test_many_replays_are_counted_as_each_alone_would_be():
    draw = np.random.default_rng(3)
    amperes = draw.uniform(0, 90, 30 * DAY)
    held = house(amperes)
    use = car(long_day_kwh=25.0, long_days_per_year=80.0)
    first_day, count = evenings(held)
    many = nights_of(use, first_day=first_day, nights=count, replays=12, seed=5)
    same = {"setting_a": 40.0, "voltage_v": VOLTS, "limits_a": (80.0, 100.0)}
    together = replayed(held, [many], rules=RULES, **same)
    assert len({row.tobytes() for row in many.used_kwh}) > 1
    for replay in range(12):
        alone = type(many)(
            use, first_day, many.used_kwh[replay : replay + 1], many.leaves
        )
        for one, all_of_them in zip(
            replayed(held, [alone], rules=RULES, **same), together, strict=True
        ):
            assert one.over[..., 0].tolist() == all_of_them.over[..., replay].tolist()
            assert (
                one.nights_over[..., 0].tolist()
                == all_of_them.nights_over[..., replay].tolist()
            )
            assert one.highest_a[0] <= all_of_them.highest_a[0]
            assert (one.longest_s <= all_of_them.longest_s).all()


# --- properties ---------------------------------------------------------------------


@settings(max_examples=10, deadline=None)
@given(seed=st.integers(0, 2**31), more_a=st.floats(0.0, 30.0))
def test_a_house_that_draws_more_is_never_over_less_often(seed, more_a):
    draw = np.random.default_rng(seed)
    amperes = draw.uniform(0, 90, 7 * DAY)
    raised = amperes + draw.uniform(0, more_a, len(amperes))
    for less, more in zip(
        laid(house(amperes), [car()]), laid(house(raised), [car()]), strict=True
    ):
        assert (less.over <= more.over).all()
        assert (less.nights_over <= more.nights_over).all()
        assert (less.excess_kwh <= more.excess_kwh + 1e-9).all()


@settings(max_examples=10, deadline=None)
@given(seed=st.integers(0, 2**31), limit_a=st.floats(20.0, 120.0))
def test_a_higher_limit_is_never_exceeded_more_often(seed, limit_a):
    amperes = np.random.default_rng(seed).uniform(0, 90, 7 * DAY)
    for found in laid(house(amperes), [car()], limits_a=(limit_a, limit_a + 5.0)):
        assert (found.over[1] <= found.over[0]).all()


@settings(max_examples=10, deadline=None)
@given(seed=st.integers(0, 2**31))
def test_a_lower_setting_that_fills_the_same_hours_is_never_over_more_often(seed):
    # A lower setting charges longer, so the two are only comparable where neither
    # finishes: both charge through the whole window.
    amperes = np.random.default_rng(seed).uniform(0, 90, 7 * DAY)
    use = car(kwh_per_day=1000.0)
    low, high = (
        laid(house(amperes), [use], setting_a=each, rules=(AT_ONCE,))[0]
        for each in (24.0, 40.0)
    )
    assert (low.over <= high.over).all()


@settings(max_examples=10, deadline=None)
@given(
    seed=st.integers(0, 2**31),
    setting_a=st.sampled_from([8.0, 16.0, 40.0]),
    kwh=st.floats(0.0, 60.0),
)
def test_energy_given_is_energy_laid_over_the_house(seed, setting_a, kwh):
    amperes = np.random.default_rng(seed).uniform(0, 90, 7 * DAY)
    use = car(kwh_per_day=kwh, long_day_kwh=2 * kwh, long_days_per_year=100.0)
    for found in laid(house(amperes), [use], setting_a=setting_a):
        laid_kwh = found.on_fraction.sum() * setting_a * VOLTS / 1000 / 4
        assert laid_kwh == pytest.approx(found.energy_kwh.mean(), rel=1e-9, abs=1e-9)


def test_starting_late_gives_the_same_energy_as_starting_at_once():
    use = car(kwh_per_day=40.0, long_day_kwh=90.0, long_days_per_year=60.0)
    at_once, late = laid(
        house(np.zeros(60 * DAY)), [use], setting_a=16.0, rules=(AT_ONCE, LATE)
    )
    assert at_once.energy_kwh.tolist() == late.energy_kwh.tolist()
    assert at_once.missed.tolist() == late.missed.tolist()


# --- the closed form ----------------------------------------------------------------


def test_the_closed_form_by_hand():
    # Two Mondays and one quarter hour of interest, 18:00: charging in half of the
    # nights, house at 70 and 30 A there, 40 A for the car, limit 80 A. Over: half of
    # the time × half of the Mondays × two Mondays = 0.5.
    amperes = np.zeros(8 * DAY)
    amperes[72], amperes[7 * DAY + 72] = 70.0, 30.0
    held = house(amperes)
    on = np.zeros(len(held.most_a))
    on[DAY + 72] = 1.0
    course = replace(
        laid(held, [car()], rules=(AT_ONCE,))[0],
        on_fraction=on,
        whole_fraction=on,
        part_fraction=np.zeros(len(on)),
    )
    found = by_clock_and_weekday(held, course, current_a=40.0, limits_a=(80.0,))
    assert found.tolist() == [[0.5, 0.5]]


def test_the_closed_form_takes_a_part_of_a_step_with_its_mean():
    # 5.4 kWh: two quarter hours and a quarter of a third, where 75 A meet 10 A more.
    use = car(kwh_per_day=5.4)
    held = house(np.full(DAY, 75.0))
    for limit_a, expected in ((84.9, 3.0), (85.1, 2.0)):
        found = laid(held, [use], limits_a=(limit_a,), rules=(AT_ONCE,))[0]
        closed = by_clock_and_weekday(held, found, current_a=40.0, limits_a=(limit_a,))
        assert closed[0, 0] == pytest.approx(expected, rel=1e-9)


def test_replay_and_closed_form_agree_where_house_and_car_are_independent():
    # The house's demand is drawn afresh for every quarter hour, so nothing but chance
    # parts them.
    draw = np.random.default_rng(11)
    amperes = draw.gamma(2.0, 15.0, 364 * DAY)
    held = house(amperes)
    use = car(long_day_kwh=60.0, long_days_per_year=120.0)
    found = laid(held, [use], limits_a=(80.0, 100.0), rules=(AT_ONCE,))[0]
    closed = by_clock_and_weekday(held, found, current_a=40.0, limits_a=(80.0, 100.0))
    for row in (0, 1):
        counted = found.over[row, 0].mean()
        # Binomial: the count's own standard deviation is at most its root; four of
        # them are passed once in 16,000.
        assert abs(counted - closed[row, 0]) < 4 * math.sqrt(counted)
        assert counted > 100  # else the check could not fail


def test_replay_and_closed_form_part_where_both_are_worse_in_one_season():
    # House and car are both high in the same half of the year: the closed form mixes
    # high nights with low houses and sees fewer overloads.
    season = np.repeat([0.0, 1.0], 91 * DAY)
    held = house(30.0 + 40.0 * season)
    use = car(winter_factor=1.0)
    first_day, count = evenings(held)
    nights = nights_of(use, first_day=first_day, nights=count, replays=1, seed=1)
    used = nights.used_kwh.copy()
    used[:, :91] = 0.0
    parted = type(nights)(use, first_day, used, nights.leaves)
    found = replayed(held, [parted], setting_a=40.0, voltage_v=VOLTS, limits_a=(80.0,))[
        0
    ]
    closed = by_clock_and_weekday(held, found, current_a=40.0, limits_a=(80.0,))
    assert found.over[0, 0, 0] == 91 * 4
    assert closed[0, 0] == pytest.approx(91 * 4 / 2, rel=1e-9)


# --- the house's current --------------------------------------------------------------


def record(power_w, *, interval_s=900, legs=None, doubt=None):
    power = np.array(power_w, dtype=float)
    count = len(power)
    return Record(
        start_s=int(FIRST.timestamp()) + interval_s * np.arange(count, dtype=np.int64),
        duration_s=np.full(count, interval_s),
        energy_wh=power * interval_s / 3600,
        doubt=np.zeros(count, dtype=np.int64) if doubt is None else np.array(doubt),
        interval_s=interval_s,
        clock=FixedClock(),
        legs_w=legs,
    )


def known(held):
    inside = np.isfinite(held.most_a)
    return held.least_a[inside], held.most_a[inside]


def test_the_more_loaded_leg_is_a_range_where_both_are_metered_together():
    # 22,800 W / (240 V × 0.95) = 100 A on each leg; at an imbalance of 0.2, 120 A.
    least, most = known(house_current(record([22_800.0] * 4), voltage_v=240.0))
    assert least == pytest.approx(100.0, rel=1e-12)
    assert most == pytest.approx(120.0, rel=1e-12)


def test_recorded_legs_leave_no_range():
    # 11,400 W on leg A at 120 V and 0.95: 100 A; leg B carries less.
    legs = (np.full(4, 11_400.0), np.full(4, 5_000.0))
    least, most = known(
        house_current(record([16_400.0] * 4, legs=legs), voltage_v=240.0)
    )
    assert least == pytest.approx(100.0, rel=1e-12)
    assert most == pytest.approx(100.0, rel=1e-12)


def test_an_hour_is_given_its_shape_and_keeps_its_energy():
    # Central 1.3 on one quarter, (4 − 1.3) / 3 = 0.9 on the others; covering 1.6, 0.8.
    held = house_current(
        record([2280.0] * 2, interval_s=3600), voltage_v=240.0, imbalance_fraction=0.0
    )
    least, most = known(held)
    assert least == pytest.approx([9, 9, 9, 13] * 2, rel=1e-12)
    assert most == pytest.approx([8, 8, 8, 16] * 2, rel=1e-12)
    assert least.mean() == pytest.approx(10.0, rel=1e-12)
    assert most.mean() == pytest.approx(10.0, rel=1e-12)


def test_minutes_become_quarter_hours_only_where_all_are_there():
    minutes = record([600.0] * 15 + [1200.0] * 14, interval_s=60)
    least, _ = known(house_current(minutes, voltage_v=240.0))
    assert least == pytest.approx([600 / (240 * 0.95)], rel=1e-12)


def test_a_reading_that_cannot_set_a_maximum_is_silence():
    doubtful = record([600.0, 90_000.0], doubt=[0, int(Doubt.CATCH_UP)])
    least, _ = known(house_current(doubtful, voltage_v=240.0))
    assert len(least) == 1


def test_a_step_that_divides_no_quarter_hour_is_refused():
    with pytest.raises(OutOfRange, match="step_s is 420 s"):
        house_current(record([1.0]), voltage_v=240.0, step_s=420)
