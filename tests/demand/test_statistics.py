"""Maximum, factors, curves and extreme values, on records made in the test."""

import math
from datetime import date

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from lugbook.demand.cleaning import Doubt, Record
from lugbook.demand.clock import FixedClock, open_zone
from lugbook.demand.curves import by_clock, load_duration, worst_weeks
from lugbook.demand.extremes import fit_exceedances, fit_gumbel, levels
from lugbook.demand.factors import averaging_factors, leg_range, record_factor
from lugbook.demand.maximum import (
    by_quarter_hour,
    daily_maxima,
    equivalent_15min,
    recorded_maximum,
    window_maximum,
)
from lugbook.demand.summary import summarised
from lugbook.errors import OutOfRange

MONDAY_S = 1_736_726_400  # 2025-01-13T00:00:00Z
FEW = settings(max_examples=60, deadline=None)


def record(power_w, interval_s=900, *, start_s=MONDAY_S, doubt=None, clock=None):
    power_w = np.asarray(power_w, dtype=float)
    count = len(power_w)
    return Record(
        start_s=start_s + interval_s * np.arange(count),
        duration_s=np.full(count, interval_s),
        energy_wh=power_w * interval_s / 3600,
        doubt=np.zeros(count, dtype=np.int64) if doubt is None else doubt,
        interval_s=interval_s,
        clock=clock or FixedClock(),
    )


def merged(whole, count):
    """The record of a meter that averages over several intervals."""
    used = len(whole.start_s) // count * count
    energy = whole.energy_wh[:used].reshape(-1, count).sum(axis=1)
    return record(
        energy * 3600 / (whole.interval_s * count),
        whole.interval_s * count,
        start_s=int(whole.start_s[0]),
    )


def without(whole, gone):
    keep = ~np.isin(np.arange(len(whole.start_s)), gone)
    return Record(
        whole.start_s[keep],
        whole.duration_s[keep],
        whole.energy_wh[keep],
        whole.doubt[keep],
        whole.interval_s,
        whole.clock,
    )


powers = st.lists(st.integers(0, 20_000), min_size=8, max_size=200)


# --- properties of the maximum --------------------------------------------------


@FEW
@given(powers)
def test_merging_conserves_energy_and_never_raises_the_peak(values):
    fine = record(values[: len(values) // 4 * 4])
    coarse = merged(fine, 2)
    assert coarse.energy_wh.sum() == pytest.approx(fine.energy_wh.sum())
    assert recorded_maximum(coarse).power_w <= recorded_maximum(fine).power_w * (
        1 + 1e-12
    )


@FEW
@given(powers, st.integers(0, 40_000))
def test_a_higher_interval_never_lowers_the_peak(values, more):
    before = recorded_maximum(record(values)).power_w
    after = recorded_maximum(record([*values, more])).power_w
    assert after == max(before, more)


@FEW
@given(powers, st.integers(-10_000, 10_000))
def test_shifting_the_times_leaves_the_peak(values, quarters):
    shifted = record(values, start_s=MONDAY_S + 900 * quarters)
    assert recorded_maximum(shifted).power_w == recorded_maximum(record(values)).power_w


@FEW
@given(st.integers(2, 380), st.integers(0, 500))
def test_removing_readings_never_raises_confidence(days, count):
    draw = np.random.default_rng(days)
    whole = record(draw.uniform(100, 9000, days * 24), 3600)
    gone = draw.choice(
        np.arange(1, days * 24 - 1), min(count, days * 12), replace=False
    )
    before = summarised(whole, name="", layout="")
    after = summarised(without(whole, gone), name="", layout="")
    assert after.complete_fraction <= before.complete_fraction
    assert (after.p95_factor or 99) >= (before.p95_factor or 99)
    assert after.observed_days <= before.observed_days
    assert after.maximum_w <= before.maximum_w


@FEW
@given(powers)
def test_a_sliding_window_is_never_below_a_clock_window(values):
    minutes = np.repeat(np.array(values, dtype=float), 5)  # 5 minutes each
    fine = record(minutes, 60)
    clock = merged(fine, 15)
    if len(clock.start_s):
        sliding = window_maximum(fine)
        assert sliding >= recorded_maximum(clock).power_w * (1 - 1e-9)
        assert sliding <= recorded_maximum(fine).power_w * (1 + 1e-9)


def test_a_sliding_window_by_hand():
    # Minutes 10 to 24 of 40 at 6 kW, the rest at 1 kW: no clock window holds them all.
    values = [1000] * 10 + [6000] * 15 + [1000] * 15
    assert window_maximum(record(values, 60)) == pytest.approx(6000)
    # By the clock: 10 minutes at 6 and 5 at 1, (60 + 5) / 15 kW.
    assert recorded_maximum(merged(record(values, 60), 15)).power_w == pytest.approx(
        65_000 / 15
    )


def test_a_window_of_odd_readings_is_cut_within_them():
    # 10-minute readings at 2, 5 and 2 kW: the best 15 minutes hold the middle one and
    # 5 of another, (5 × 10 + 2 × 5) / 15 = 4 kW.
    assert window_maximum(record([2000, 5000, 2000], 600)) == pytest.approx(4000)


def test_no_window_reaches_over_a_gap():
    whole = record([9000] * 14 + [0] + [9000] * 14, 60)
    assert window_maximum(without(whole, [14])) is None


@FEW
@given(st.lists(st.integers(0, 9000), min_size=40, max_size=120))
def test_both_ways_to_a_sliding_window_agree(values):
    even = record(values, 60)
    odd = Record(
        np.append(even.start_s, even.start_s[-1] + 60),
        np.append(even.duration_s, 7),
        np.append(even.energy_wh, 0.0),
        np.append(even.doubt, 0),
        60,
        FixedClock(),
    )
    # One short reading at the end takes the general way; of nothing drawn, it cannot
    # raise the maximum.
    assert window_maximum(odd) == pytest.approx(window_maximum(even))


def test_finer_records_are_averaged_by_the_quarter_hour():
    # One minute at 16 kW in a quarter hour at 1 kW: (14 + 16) / 15 kW.
    values = [1000.0] * 60
    values[20] = 16_000
    doubt = np.zeros(60, dtype=np.int64)
    doubt[50] = Doubt.ESTIMATED
    quarters = by_quarter_hour(record(values, 60, doubt=doubt))
    assert quarters.power_w == pytest.approx([1000, 2000, 1000, 1000])
    assert quarters.doubt.tolist() == [0, 0, 0, Doubt.ESTIMATED]
    holed = by_quarter_hour(without(record(values, 60), [20]))
    assert (holed.start_s - MONDAY_S).tolist() == [0, 1800, 2700]
    assert by_quarter_hour(record(values, 1800)).interval_s == 1800


def test_witnesses_are_readings_within_5_per_cent_and_their_days():
    values = [1000.0] * (96 * 3)
    values[10], values[11], values[200] = 10_000, 9_500, 9_500
    values[201] = 9_499
    found = recorded_maximum(record(values))
    assert (found.power_w, found.witnesses, found.witness_days) == (10_000, 3, 2)


def test_what_was_passed_over_is_counted_when_it_is_higher():
    doubt = np.array([0, Doubt.ESTIMATED, Doubt.CATCH_UP, Doubt.ASKED])
    found = recorded_maximum(record([5000, 9000, 4000, 6000], doubt=doubt))
    assert (found.power_w, found.passed_over, found.highest_passed_over_w) == (
        6000,
        1,
        9000,
    )


# --- factors --------------------------------------------------------------------


@pytest.mark.parametrize(
    ("interval_s", "central", "covering"),
    [(60, 1, 1), (900, 1, 1), (901, 1.15, 1.4), (1800, 1.15, 1.4), (3600, 1.3, 1.6)],
)
def test_a_coarser_average_is_multiplied_up(interval_s, central, covering):
    factors = averaging_factors(interval_s=interval_s)
    assert (factors.central, factors.covering) == (central, covering)


@pytest.mark.parametrize("interval_s", [0, -1, 3601, math.nan])
def test_an_average_over_more_than_an_hour_has_no_factor(interval_s):
    with pytest.raises(OutOfRange, match="interval_s is"):
        averaging_factors(interval_s=interval_s)


@pytest.mark.parametrize(
    ("interval_s", "central"), [(3600, 5200), (1800, 4600), (900, 4000)]
)
def test_the_equivalent_of_a_record_by_hand(interval_s, central):
    coarse = record([4000] + [500] * 50, interval_s)
    found = equivalent_15min(coarse, recorded_maximum(coarse))
    assert found.central_w == pytest.approx(central)
    assert found.covering_w <= 4000 * interval_s / 900


# The rows of the table in docs/explanation/demand.md, and points between them.
@pytest.mark.parametrize(
    ("days", "p80", "p95"),
    [
        (1, 3.1, 5.5),
        (7, 1.87, 2.42),
        (30, 1.54, 1.86),
        (90, 1.33, 1.52),
        (180, 1.18, 1.37),
        (365, 1.0, 1.0),
        (500, 1.0, 1.0),
        # Halfway between 30 and 60 days on a scale of logarithms.
        (math.sqrt(30 * 60), (1.54 + 1.42) / 2, (1.86 + 1.64) / 2),
    ],
)
def test_a_short_record_is_multiplied_by_the_table(days, p80, p95):
    assert record_factor(days=days, chance="p80") == pytest.approx(p80)
    assert record_factor(days=days, chance="p95") == pytest.approx(p95)


@given(st.floats(1, 800), st.floats(1, 800), st.sampled_from(["p50", "p80", "p95"]))
def test_a_longer_record_never_has_a_larger_factor(one, other, chance):
    short, long = sorted((one, other))
    assert record_factor(days=long, chance=chance) <= record_factor(
        days=short, chance=chance
    )


@pytest.mark.parametrize("days", [0.99, -1, math.nan, math.inf])
def test_less_than_a_day_has_no_factor(days):
    with pytest.raises(OutOfRange, match="days is"):
        record_factor(days=days, chance="p80")


def test_the_more_loaded_leg_by_hand():
    # 12 kW / (240 V × 0.95) = 52.63 A, up to 20 % more; measured 10 %: 57.89 A.
    unknown = leg_range(power_w=12_000, voltage_v=240)
    assert (unknown.least_a, unknown.most_a) == pytest.approx(
        (52.632, 63.158), abs=0.001
    )
    known = leg_range(power_w=12_000, voltage_v=240, imbalance_fraction=0.1)
    assert (known.least_a, known.most_a) == pytest.approx((57.895, 57.895), abs=0.001)


@pytest.mark.parametrize(
    "wrong",
    [
        {"power_w": -1.0},
        {"power_w": math.nan},
        {"voltage_v": 0.0},
        {"power_factor_fraction": 0.0},
        {"power_factor_fraction": 1.01},
        {"imbalance_fraction": -0.01},
        {"imbalance_fraction": 1.01},
    ],
)
def test_a_leg_of_senseless_quantities_is_refused(wrong):
    with pytest.raises(OutOfRange, match="accepted"):
        leg_range(**{"power_w": 1000.0, "voltage_v": 240.0, **wrong})


# --- curves ---------------------------------------------------------------------


def test_the_load_duration_curve_by_hand():
    # 100 quarter hours: one at 10 kW, nine at 5 kW, ninety at 1 kW.
    points = {
        each.fraction: each.power_w
        for each in load_duration(record([1000] * 90 + [5000] * 9 + [10_000]))
    }
    assert points[0.0] == points[0.01] == 10_000
    assert points[0.05] == points[0.1] == 5_000
    assert points[0.25] == points[1.0] == 1_000


def test_the_day_by_the_clock_follows_the_local_clock():
    zone = open_zone("America/New_York")
    values = [1000.0] * (96 * 10)
    for day in range(10):
        values[day * 96 + 92] = 7000 + day  # 23:00 UTC is 18:00 in New York
    slots = {each.start_s: each for each in by_clock(record(values, clock=zone))}
    assert len(slots) == 96
    assert slots[18 * 3600].highest_w == 7009
    assert slots[18 * 3600].median_w == 7004.5
    assert slots[23 * 3600].highest_w == 1000


def test_the_worst_week_is_from_monday_to_sunday():
    values = [1000.0] * (24 * 28)
    values[24 * 7 - 1] = 9000  # the last hour of the first Sunday
    values[24 * 14] = 8000  # the first hour of the third Monday
    first, second, *_ = worst_weeks(record(values, 3600))
    assert (first.monday, first.highest_w) == (date(2025, 1, 13), 9000)
    assert (second.monday, second.highest_w) == (date(2025, 1, 27), 8000)
    assert first.energy_wh == 24 * 7 * 1000 + 8000
    assert first.complete_fraction == 1


def test_a_day_of_which_much_is_missing_is_not_observed():
    whole = record([1000] * (96 * 3))
    assert len(daily_maxima(whole).day) == 3
    # 95 % of the shortest day is 21 h 51 min: of 96 quarters 9 may be missing.
    for gone, days in ((8, 3), (9, 2)):
        assert len(daily_maxima(without(whole, range(96, 96 + gone))).day) == days


# --- extreme values -------------------------------------------------------------


def test_exceedances_of_a_known_distribution_are_recovered():
    draw = np.random.default_rng(5)
    shape, scale, threshold = -0.2, 900.0, 5000.0
    found = []
    for _ in range(200):
        excess = stats.genpareto.rvs(shape, scale=scale, size=200, random_state=draw)
        daily = np.concatenate([threshold + excess, np.full(1000, 3000.0)])
        fit = fit_exceedances(daily_w=daily, threshold_w=threshold)
        found.append((fit.shape, fit.scale_w))
    mean, error = np.mean(found, axis=0), np.std(found, axis=0) / math.sqrt(200)
    # Three standard errors of the mean, and one per cent for the bias of 200 points.
    assert abs(mean[0] - shape) < 3 * error[0] + 0.01
    assert abs(mean[1] - scale) < 3 * error[1] + 0.01 * scale


def test_the_level_of_exceedances_is_that_of_scipy():
    draw = np.random.default_rng(6)
    daily = 4000 + stats.genpareto.rvs(-0.15, scale=1000, size=365, random_state=draw)
    fit = fit_exceedances(daily_w=daily, threshold_w=6000.0)
    for days in (365, 3650):
        share = 1 / (days * fit.rate_per_day)
        expected = stats.genpareto.isf(share, fit.shape, loc=6000, scale=fit.scale_w)
        assert fit.level_w(days=days) == pytest.approx(expected, rel=1e-9)


def test_l_moments_and_likelihood_agree_on_a_large_sample():
    draw = np.random.default_rng(7)
    excess = stats.genpareto.rvs(-0.2, scale=800, size=20_000, random_state=draw)
    fit = fit_exceedances(daily_w=1000 + excess, threshold_w=1000.0)
    shape, _, scale = stats.genpareto.fit(excess, floc=0)
    # Both have a standard error near 0.007 in shape and 1 % in scale at this size.
    assert fit.shape == pytest.approx(shape, abs=0.03)
    assert fit.scale_w == pytest.approx(scale, rel=0.03)


def test_a_gumbel_of_known_parameters_is_recovered():
    draw = np.random.default_rng(8)
    daily = stats.gumbel_r.rvs(loc=5000, scale=700, size=20_000, random_state=draw)
    fit = fit_gumbel(daily_w=daily)
    # Standard errors near 5 W each at this size.
    assert fit.location_w == pytest.approx(5000, abs=20)
    assert fit.scale_w == pytest.approx(700, abs=20)
    expected = stats.gumbel_r.ppf(1 - 1 / 365, loc=fit.location_w, scale=fit.scale_w)
    assert fit.level_w(days=365) == pytest.approx(expected, rel=1e-9)


def test_an_exponential_tail_has_a_level_too():
    fit = fit_exceedances(daily_w=np.array([1.0, 2.0, 4.0, 9.0]), threshold_w=0.0)
    straight = type(fit)(0.0, 0.0, 100.0, 0.5)
    # 100 W × ln(0.5 × 200)
    assert straight.level_w(days=200) == pytest.approx(100 * math.log(100))


@pytest.mark.parametrize("days", [1.9, 0, -5, math.nan])
def test_a_level_within_the_threshold_is_refused(days):
    fit = fit_exceedances(daily_w=np.array([1.0, 5.0, 6.0, 8.0, 1, 1]), threshold_w=2)
    with pytest.raises(OutOfRange, match="accepted"):
        fit.level_w(days=days)
    with pytest.raises(OutOfRange, match="accepted: above 1"):
        fit_gumbel(daily_w=np.array([1.0, 2.0, 4.0])).level_w(days=min(days, 1))


@pytest.mark.parametrize("daily", [[1.0, 2.0], [5.0] * 50])
def test_too_few_different_maxima_are_refused(daily):
    with pytest.raises(OutOfRange):
        fit_gumbel(daily_w=np.array(daily))
    with pytest.raises(OutOfRange):
        fit_exceedances(daily_w=np.array(daily), threshold_w=0.0)


@pytest.mark.parametrize(("days", "given"), [(179, False), (180, True)])
def test_a_level_needs_half_a_year(days, given):
    draw = np.random.default_rng(9)
    found = levels(daily_w=draw.gamma(9, 500, days))
    assert (found.one_year_w is not None) == given
    assert bool(found.why_not) != given


def test_a_meter_with_coarse_steps_gives_no_level():
    daily = np.array([4000.0, 8000.0] * 182)
    assert "coarse" in levels(daily_w=daily).why_not
