"""Charging nights laid over the record of a real house, as a second house beside ours.

The house is the UCI record of `test_real_house.py`. What is published of such overlays
(our data paper, sections 3.5 and 3.6) is of other houses, so relations are tested, and
counts against a walk through every quarter hour of a year.
"""

import math
from datetime import date

import pytest
from tests.prove import test_real_house as real

from lugbook.demand.charging import CarUse, nights_of
from lugbook.demand.house_current import house_current
from lugbook.demand.nights import (
    AT_ONCE,
    LATE,
    StartRule,
    by_clock_and_weekday,
    evenings,
    limited,
    replayed,
)

numpy = pytest.importorskip("numpy")
minutes = real.minutes
MIDNIGHT = StartRule("midnight", 0)
VOLTS = 240.0


@pytest.fixture(scope="module")
def year(minutes):
    return real.record(minutes, 2008, of_s=900)


@pytest.fixture(scope="module")
def house(year):
    return house_current(year, voltage_v=VOLTS)


def nights_for(house, *, replays=200):
    """Need as the paper drew it: mean 12 kWh a night, with long days of 28."""
    car = CarUse(
        "invented",
        11.4,
        28.0,
        12.0,
        1.0,
        0.0,
        math.inf,
        math.inf,
        18 * 3600,
        7 * 3600,
        (True,) * 7,
    )
    first, count = evenings(house)
    assert first == date(2008, 1, 1)
    return nights_of(car, first_day=first, nights=count, replays=replays, seed=1)


def laid(house, setting_a, rating_a, rules):
    return replayed(
        house,
        [nights_for(house)],
        setting_a=setting_a,
        voltage_v=VOLTS,
        limits_a=(0.8 * rating_a, rating_a),
        rules=rules,
    )


def test_200_a_and_80_a_is_never_over(house):
    # Published: 0 / 0 for seven houses of this size.
    for found in laid(house, 80.0, 200.0, (AT_ONCE, MIDNIGHT, LATE)):
        assert found.over.sum() == 0


def test_100_a_and_32_a_is_never_over_the_rating(house):
    for found in laid(house, 32.0, 100.0, (AT_ONCE, MIDNIGHT, LATE)):
        assert found.over[1].sum() == 0


def test_100_a_and_80_a_is_over_80_percent_whenever_it_charges(house):
    # Published: about 750 quarter hours a year over 80 %, at either start.
    for found in laid(house, 80.0, 100.0, (AT_ONCE, MIDNIGHT)):
        assert 500 < found.over[0, 1].mean() < 1500


def test_a_midnight_start_divides_overloads_but_does_not_remove_them(house):
    # Published: by 3 to 10, from 27 to 8 quarter hours a year at 100 A and 80 A.
    at_once, midnight = laid(house, 80.0, 100.0, (AT_ONCE, MIDNIGHT))
    assert 0 < midnight.over[1, 1].mean() < at_once.over[1, 1].mean() / 2


def test_a_larger_setting_is_over_more_often_once_a_night_is_long(house):
    counts = [
        laid(house, each, 100.0, (AT_ONCE,))[0].over[1, 1].mean()
        for each in (32.0, 48.0, 80.0)
    ]
    assert counts == sorted(counts)


def test_the_night_has_no_headroom_where_the_house_heats_water_by_night(house):
    # Section 3.6: its window maximum from 00 to 06 is 0.96 of the annual one.
    hour = house.local_s % 86400 // 3600
    night = numpy.nanmax(house.most_a[hour < 6])
    assert night / numpy.nanmax(house.most_a) == pytest.approx(0.96, abs=0.06)


def test_the_counts_are_those_of_a_walk_through_the_year(house):
    nights = nights_for(house, replays=3)
    found = replayed(
        house, [nights], setting_a=48.0, voltage_v=VOLTS, limits_a=(80.0, 100.0)
    )[0]
    step_kwh = 48.0 * VOLTS / 4000
    for replay in range(3):
        together = house.most_a.copy()
        left = 0.0
        for night in range(len(nights.leaves)):
            left += nights.used_kwh[replay, night]
            place = 2 * 96 + night * 96 + 72
            for at in range(place, place + 52):
                share = min(1.0, left / step_kwh)
                together[at] += 48.0 * share
                left -= share * step_kwh
        for row, limit in enumerate((80.0, 100.0)):
            assert found.over[row, 1, replay] == (together > limit).sum()


def test_replay_and_closed_form_are_of_one_size(house):
    found = laid(house, 80.0, 100.0, (AT_ONCE,))[0]
    closed = by_clock_and_weekday(house, found, current_a=80.0, limits_a=(80.0, 100.0))
    # Season parts them, and one house's year is one draw.
    for row in (0, 1):
        counted = found.over[row, 1].mean()
        assert counted > 5  # else nothing is compared
        assert closed[row, 1] == pytest.approx(counted, rel=0.1)


def test_a_limit_costs_almost_nothing_overnight(house):
    # Published: no night short at 0.8 of a 100 A service with 48 or 80 A.
    for setting_a in (48.0, 80.0):
        found = limited(
            house,
            [nights_for(house)],
            setting_a=setting_a,
            voltage_v=VOLTS,
            limit_a=80.0,
            smallest_a=6.0,
            limits_a=(80.0, 100.0),
        )
        assert found.missed.sum() == 0


def test_a_minute_late_is_over_by_the_minutes_step(minutes):
    by_minute = real.record(minutes, 2008)
    fine = house_current(by_minute, voltage_v=VOLTS, step_s=60)
    found = limited(
        fine,
        [nights_for(fine, replays=1)],
        setting_a=80.0,
        voltage_v=VOLTS,
        limit_a=80.0,
        smallest_a=6.0,
        limits_a=(80.0, 100.0),
    )
    # Over the limit by no more than the house's largest step from minute to minute.
    steps = numpy.diff(fine.most_a)
    largest_a = float(numpy.nanmax(steps))
    alone_a = float(numpy.nanmax(fine.most_a))
    assert found.highest_a[1] <= max(80.0 + largest_a, alone_a) + 1e-9
    assert found.highest_a[1] > 80.0
