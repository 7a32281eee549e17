from datetime import UTC, datetime

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from lugbook.demand.cleaning import Doubt, cleaned
from lugbook.demand.clock import (
    FixedClock,
    RuleClock,
    change_moment,
    local_of_utc,
    open_zone,
    utc_of_local,
)
from lugbook.demand.series import Flow, MeterFile, MeterSeries, Quantity
from lugbook.errors import InputError

FEW = settings(max_examples=80, deadline=None)
START = 1_736_726_400


def series(readings, **changes):
    """A series of (start, duration, amount)."""
    table = np.array(readings, dtype=float).reshape(-1, 3)
    made = {
        "name": "made",
        "point": "1",
        "quantity": Quantity.ENERGY,
        "flow": Flow.FORWARD,
        "is_electricity": True,
        "why_not": "",
        "start_s": table[:, 0].astype(int),
        "duration_s": table[:, 1].astype(int),
        "amount": table[:, 2],
        "quality": np.full(len(table), -1),
        "rank": np.zeros(len(table), dtype=int),
    }
    return MeterSeries(**{**made, **changes})


def clean(*all_series, **options):
    return cleaned(MeterFile("made", "made", all_series, FixedClock()), **options)


def hourly(values):
    return [(START + 3600 * hour, 3600, value) for hour, value in enumerate(values)]


reading = st.tuples(
    st.integers(0, 60).map(lambda quarter: START + 900 * quarter),
    st.sampled_from([0, 900, 900, 900, 1800, 3600]),
    st.integers(-500, 5000),
)


@FEW
@given(st.lists(reading, min_size=3, max_size=80))
def test_a_cleaned_record_is_in_order_without_overlap_and_invents_nothing(readings):
    if not any(duration for _, duration, _ in readings):
        return
    found = clean(series(readings))
    ends = found.start_s + found.duration_s
    assert (found.start_s[1:] >= ends[:-1]).all()
    assert (found.duration_s > 0).all()
    given_ones = {(start, length, max(amount, 0)) for start, length, amount in readings}
    kept = zip(
        found.start_s.tolist(),
        found.duration_s.tolist(),
        found.energy_wh.tolist(),
        strict=True,
    )
    assert set(kept) <= given_ones
    gaps = sum(gap.duration_s for gap in found.gaps)
    assert found.covered_s + gaps == found.span_s


@FEW
@given(st.lists(reading, min_size=3, max_size=60), st.randoms())
def test_the_order_of_a_series_changes_nothing_where_nothing_is_repeated(readings, mix):
    unique = {
        start: (start, length or 900, amount) for start, length, amount in readings
    }
    one = list(unique.values())
    other = one[:]
    mix.shuffle(other)
    first, second = clean(series(one)), clean(series(other))
    assert first.start_s.tolist() == second.start_s.tolist()
    assert first.energy_wh.tolist() == second.energy_wh.tolist()


def test_hours_beside_their_own_quarters_are_left_out():
    quarters = [(START + 900 * n, 900, 100) for n in range(8)]
    hours = [(START, 3600, 400), (START + 3600, 3600, 400)]
    found = clean(series([*quarters, *hours]))
    assert found.energy_wh.sum() == 800
    assert any("overlap" in each.why for each in found.left_out)


def test_many_overlaps_are_settled_in_little_time():
    nested = [(START + n, 100_000 - 2 * n, 5) for n in range(40_000)]
    finest = nested[-1]
    found = clean(series([(a, min(b, 3600), c) for a, b, c in nested]))
    assert len(found.start_s) < 40_000
    assert finest[0] <= found.start_s[-1] + 100_000


# --- the test for readings that catch up ----------------------------------------


def a_month(lump_factor, zeros=3, *, missing=False, before=True):
    """Thirty days between 400 and 995 Wh, with an outage and what follows it."""
    values = [400 + (hour * 37) % 120 * 5 for hour in range(720)]
    readings = hourly(values)
    p99 = float(np.percentile(values, 99))
    place = 300
    readings[place] = (readings[place][0], 3600, lump_factor * p99)
    empty = (
        range(place - zeros, place) if before else range(place + 1, place + 1 + zeros)
    )
    for at in empty:
        readings[at] = (readings[at][0], 3600, 0)
    if missing:
        readings = [each for at, each in enumerate(readings) if at not in empty]
    return clean(series(readings)), readings[place - zeros * (missing and before)][0]


@pytest.mark.parametrize("missing", [False, True])
@pytest.mark.parametrize("before", [False, True])
@pytest.mark.parametrize(
    ("factor", "zeros", "mark"),
    [
        (2.2, 2, Doubt.CATCH_UP),
        (2.2, 1, Doubt.NONE),
        (1.5, 2, Doubt.ASKED),
        (1.5, 1, Doubt.NONE),
    ],
)
def test_a_lump_beside_two_empty_hours_is_marked(missing, before, factor, zeros, mark):
    found, at = a_month(factor, zeros, missing=missing, before=before)
    marked = found.doubt[found.start_s == at]
    assert marked.tolist() == [mark]
    assert found.counts_for_maximum.sum() == len(found.doubt) - (mark is Doubt.CATCH_UP)
    asks = [each for each in found.statements if each.about == "catch-up" and each.asks]
    assert bool(asks) == (mark is Doubt.ASKED)


@pytest.mark.parametrize(
    ("lump", "sure"), [(1_389, False), (1_390, True), (1_391, True)]
)
def test_in_a_short_record_the_lump_is_no_measure_of_itself(lump, sure):
    # A third of the other hours are of 695 Wh, so that their 99th percentile is 695 Wh
    # and twice it 1,390 Wh.
    values = [500 + 195 * (hour % 3 == 0) for hour in range(30)]
    values[10:13] = [0, 0, 0]
    values[13] = lump
    found = clean(series(hourly(values)))
    assert (found.doubt[13] == Doubt.CATCH_UP) == sure
    assert not any(each.asks for each in found.statements if each.about == "catch-up")


def test_equal_readings_beside_a_gap_are_no_lump():
    readings = hourly([900] * 200)
    del readings[50:60]
    assert not clean(series(readings)).doubt.any()


def test_an_ordinary_peak_beside_an_outage_is_not_marked():
    found, at = a_month(0.6)
    assert found.doubt[found.start_s == at].tolist() == [Doubt.NONE]


def test_zeros_of_a_coarse_meter_are_no_outage():
    # Whole kilowatt-hours a quarter hour: mostly nothing, now and then one, once two.
    values = [1000 * (n % 5 == 0) for n in range(3000)]
    values[1502] = 2000
    readings = [(START + 900 * n, 900, value) for n, value in enumerate(values)]
    found = clean(series(readings))
    assert not found.doubt.any()


@pytest.mark.parametrize(
    ("watts", "counts"), [(59_999, True), (60_000, True), (60_001, False)]
)
def test_more_than_the_service_could_carry_for_an_hour_is_impossible(watts, counts):
    # 48 kVA: 1.25 times is 60 kW.
    found = clean(series(hourly([500, watts, 500])), service_va=48_000)
    assert found.counts_for_maximum.tolist() == [True, counts, True]


# --- coarseness -----------------------------------------------------------------


@pytest.mark.parametrize(("length", "refused"), [(3600, False), (3601, True)])
def test_longer_than_an_hour_is_refused(length, refused):
    readings = [(START + length * n, length, 5) for n in range(30)]
    if refused:
        with pytest.raises(InputError, match="hide every peak"):
            clean(series(readings))
    else:
        assert clean(series(readings)).interval_s == 3600


def test_the_finest_usable_series_of_a_point_is_taken():
    day = series([(START, 86_400, 24_000)], name="day")
    quarters = series([(START + 900 * n, 900, 250) for n in range(96)], name="quarters")
    hours = series(hourly([1000] * 24), name="hours")
    assert clean(day, hours, quarters).interval_s == 900


# --- clocks ---------------------------------------------------------------------


def moment(text):
    return int(datetime.fromisoformat(text).replace(tzinfo=UTC).timestamp())


@pytest.mark.parametrize(
    ("rule", "year", "expected"),
    [
        # March, second Sunday, 02:00 and November, first Sunday, 02:00: data.md 1.4.
        (0x360E2000, 2025, "2025-03-09T02:00"),
        (0xB40E2000, 2025, "2025-11-02T02:00"),
        (0x360E2000, 2026, "2026-03-08T02:00"),
        # Last Sunday: operator 7.
        (0x3E0E1000, 2025, "2025-03-30T01:00"),
        (0xCE0E1000, 2025, "2025-12-28T01:00"),
        # Sunday on or after the 8th of March: operator 1.
        (0x328E2000, 2025, "2025-03-09T02:00"),
        # The 15th of June at 00:00:30: operator 0.
        (0x60F0001E, 2025, "2025-06-15T00:00:30"),
    ],
)
def test_rules_of_summer_time_are_decoded(rule, year, expected):
    assert change_moment(rule, year) == moment(expected)


def test_the_rule_clock_and_the_named_zone_agree_through_a_year():
    rules = RuleClock(-18_000, 3600, 0x360E2000, 0xB40E2000)
    zone = open_zone("America/New_York")
    hours = START + 3600 * np.arange(366 * 24)
    assert local_of_utc(hours, rules).tolist() == local_of_utc(hours, zone).tolist()


def test_a_clock_south_of_the_equator_keeps_summer_over_new_year():
    # Starts in October, ends in April.
    rules = RuleClock(36_000, 3600, 0xA40E2000, 0x440E3000)
    assert rules.offset_s(moment("2025-01-01T00:00")) == 39_600
    assert rules.offset_s(moment("2025-07-01T00:00")) == 36_000


@FEW
@given(st.integers(0, 366 * 96), st.sampled_from(["America/Chicago", "Asia/Kolkata"]))
def test_local_time_and_back_is_the_same_moment(quarter, name):
    zone = open_zone(name)
    utc_s = np.array([START + 900 * quarter])
    local = local_of_utc(utc_s, zone)
    back = utc_of_local(local, zone)
    # In the hour that comes twice the first pass is meant.
    assert int(utc_s[0] - back.utc_s[0]) in ((0, 3600) if len(back.doubled) else (0,))


@pytest.mark.parametrize("name", ["Mars/Olympus", "../etc/passwd", "", "a" * 99])
def test_a_zone_that_does_not_exist_is_refused(name):
    with pytest.raises(InputError, match="--zone"):
        open_zone(name)
