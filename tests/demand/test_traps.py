"""One hand-made file for each trap; what must come out is worked by hand.

The day all files share, Wh by the hour from midnight, sums to 24,700 Wh and is
highest, 4,100 Wh, from 18:00.
"""

from datetime import UTC, datetime

import pytest

from lugbook.demand.clock import open_zone
from lugbook.demand.summary import demand_of
from lugbook.demand.table_file import TableOptions
from lugbook.errors import InputError

DAY_WH = [300, 250, 200, 200, 250, 400, 900, 1200, 800, 600, 500, 700]
DAY_WH += [900, 650, 500, 550, 1500, 3200, 4100, 2800, 1900, 1200, 700, 400]
EASTERN = open_zone("America/New_York")


def at(text):
    return int(datetime.fromisoformat(text).replace(tzinfo=UTC).timestamp())


def asked(summary):
    return [each.about for each in summary.statements if each.asks]


def why(summary, what):
    return next(each.why for each in summary.left_out if what in each.what)


def in_zone(path, zone=EASTERN):
    return demand_of(path, TableOptions(zone=zone), zone=zone)


def test_the_day_sums_to_what_these_tests_say():
    assert (sum(DAY_WH), max(DAY_WH)) == (24_700, 4_100)


# name, readings, kWh, maximum W, its start in UTC; the clock in the east is 5 h behind
SAME_DAY = [
    ("plain-day.xml", 24),
    ("gas-and-electricity.xml", 24),
    ("register-and-copies.xml", 24),
    ("forward-and-reverse.xml", 24),
    ("meters-1-and-10.xml", 24),
    ("milliwatt-hours.xml", 24),
    ("no-links.xml", 24),
    ("no-time-period.xml", 24),
    ("rule-in-base64.xml", 24),
    ("summary.xml", 24),
    ("no-header.csv", 24),
    ("no-unit.csv", 24),
    ("e-two-legs.csv", 288),
]


@pytest.mark.parametrize(("name", "readings"), SAME_DAY)
def test_the_same_day_comes_out_however_it_is_written(file_of, name, readings):
    found = in_zone(file_of(name))
    assert found.readings == readings
    assert found.energy_wh == pytest.approx(24_700)
    assert found.maximum_w == pytest.approx(4_100)
    assert found.maximum_start_s == at("2025-01-15T23:00")
    assert (found.gaps, found.duplicates, found.complete_fraction) == (0, 0, 1)


def test_prefix_order_and_comments_change_nothing(file_of):
    found = demand_of(file_of("prefixed-shuffled.xml"))
    assert (found.readings, found.energy_wh) == (72, 3 * 24_700)
    assert found.maximum_w == 4_100


@pytest.mark.parametrize(
    ("name", "readings", "hours"),
    [("spring-day.xml", 92, 23), ("fall-day.xml", 100, 25)],
)
def test_the_days_on_which_the_clock_changes_are_whole(file_of, name, readings, hours):
    found = demand_of(file_of(name))
    assert found.readings == readings
    assert found.span_s == hours * 3600
    assert found.complete_fraction == 1
    assert found.observed_days == 1
    # 100 to 450 Wh in steps of 50, eight by eight: 450 Wh in 900 s are 1,800 W.
    assert found.maximum_w == 1_800


def test_an_hour_of_no_duration_is_no_evidence_and_one_of_two_hours_no_peak(file_of):
    found = demand_of(file_of("local-profile.xml"))
    # 9,000 Wh in no time would be the maximum of all; 900 Wh in 7200 s are 450 W.
    assert found.maximum_w == 690
    assert "no duration is no evidence" in why(found, "of no duration (9 kWh)")
    assert found.flagged == 1


def test_a_local_clock_written_as_utc_is_asked_and_mended_by_the_zone(file_of):
    path = file_of("local-clock-as-utc.xml")
    unsaid = demand_of(path)
    assert asked(unsaid) == ["clock"]
    assert unsaid.maximum_start_s == at("2025-07-01T18:00")
    said = in_zone(path)
    assert asked(said) == []
    # 18:00 in New York in July is 22:00 UTC.
    assert said.maximum_start_s == at("2025-07-01T22:00")


def test_a_copy_is_dropped_and_a_later_correction_wins(file_of):
    found = demand_of(file_of("copies-and-corrections.xml"))
    # 18:00: 4,100, then 5,000 (updated on the 18th) and 3,900 (on the 17th); 05:00:
    # 400, then 401 and 402 of one moment, of which the last in the file is taken.
    assert found.maximum_w == 5_000
    assert found.energy_wh == 24_700 - 4_100 + 5_000 - 400 + 402
    assert (found.readings, found.duplicates, found.corrected) == (24, 5, 4)
    assert "of 1 the last in the file" in why(found, "4 readings")


def test_of_two_houses_one_is_taken_and_the_other_asked(file_of):
    path = file_of("two-houses.xml")
    found = demand_of(path)
    assert asked(found) == ["point"]
    assert found.maximum_w == 2 * 4_100
    assert demand_of(path, point="1").maximum_w == 4_100
    with pytest.raises(
        InputError, match=r"no point '3' of electricity; there are 1, 2"
    ):
        demand_of(path, point="3")


def test_registers_powers_and_daily_copies_are_not_added_up(file_of):
    found = demand_of(file_of("register-and-copies.xml"))
    assert found.energy_wh == 24_700
    assert sum("would double it" in each.why for each in found.left_out) == 3


def test_a_register_is_differenced_and_its_setting_back_left_out(file_of):
    found = demand_of(file_of("register-only.xml"))
    # The hour before noon, 700 Wh, is lost: the register was set back within it.
    assert found.energy_wh == 24_700 - 700
    assert (found.readings, found.gaps) == (23, 1)
    assert why(found, "1 readings") == "the register had been set back"


def test_a_counter_of_a_logger_may_be_set_back(file_of):
    found = demand_of(file_of("e-counter.csv"))
    # Two days less the last hour, 400 Wh, and that of the setting back, 400 Wh.
    assert found.energy_wh == pytest.approx(2 * 24_700 - 400 - 400)
    assert (found.maximum_w, found.gaps) == (pytest.approx(4_100), 1)


@pytest.mark.parametrize("name", ["forward-and-reverse.xml", "net.xml"])
def test_what_flows_back_never_lowers_the_maximum_and_is_said(file_of, name):
    found = demand_of(file_of(name))
    assert found.flows_back
    assert found.maximum_w == 4_100
    assert any("no measured demand" in each.said for each in found.statements)


def test_imports_and_exports_of_a_table_are_kept_apart(file_of):
    found = in_zone(file_of("b-import-export.csv"))
    assert found.flows_back
    assert found.energy_wh == pytest.approx(2 * 24_700)


def test_coarse_steps_are_read_with_their_multiplier(file_of):
    found = demand_of(file_of("kilowatt-hours.xml"))
    # Each hour cut down to whole hundreds: 250, 250 and 650, 550 lose 50 Wh each.
    assert found.energy_wh == 24_700 - 4 * 50
    assert found.maximum_w == 4_100


def test_a_catch_up_reading_keeps_its_energy_and_sets_no_maximum(file_of):
    found = demand_of(file_of("outage.xml"))
    assert (found.catch_up, found.passed_over) == (1, 1)
    # The highest other hour: 4,100 Wh and the ripple of (18 + 24 n) × 37 modulo 90,
    # at most 78 when n is 3.
    assert found.maximum_w == 4_178
    assert found.highest_passed_over_w == pytest.approx(13_957, abs=1)
    assert any("beside 6 empty intervals" in each.said for each in found.statements)


def test_an_estimate_is_kept_for_energy_and_left_out_of_the_maximum(file_of):
    found = demand_of(file_of("estimated.xml"))
    # 18:00 is an estimate of 9,000 Wh; quality 18, validated, and 10 are kept.
    assert found.energy_wh == 24_700 - 4_100 + 9_000
    assert found.maximum_w == 3_200
    assert (found.estimated, found.flagged) == (1, 2)
    assert found.highest_passed_over_w == 9_000


def test_estimates_in_the_notes_of_a_table_count_as_such(file_of):
    found = in_zone(file_of("a-inclusive-ends.csv"))
    # 15 January 18:00 holds 4,100 / 4 × 1.2 Wh in a quarter hour, 4,920 W; the same
    # on the 16th is an estimate.
    assert (found.readings, found.interval_s) == (192, 900)
    assert found.maximum_w == pytest.approx(4_920)
    assert found.maximum_start_s == at("2025-01-15T23:00")
    assert found.estimated == 1
    # Three quarters of each hour hold a quarter of it, one holds a fifth more.
    assert found.energy_wh == pytest.approx(2 * 24_700 * (3 + 1.2) / 4)


@pytest.mark.parametrize("name", ["monthly.xml", "monthly.csv"])
def test_bills_show_no_demand_and_are_refused(file_of, name):
    with pytest.raises(InputError, match="which hide every peak of demand"):
        demand_of(file_of(name))


def test_holes_are_counted_by_their_length(file_of):
    found = demand_of(file_of("gaps.xml"))
    # Hours 5, 30 to 32 and 50 of 72 are missing.
    assert (found.gaps, found.long_gaps, found.longest_gap_s) == (3, 1, 3 * 3600)
    assert found.complete_fraction == pytest.approx(67 / 72)


def test_the_utilitys_own_total_is_compared(file_of):
    assert demand_of(file_of("summary.xml")).summary_differs_fraction == 0


def test_a_rule_of_summer_time_that_is_no_bitmap_is_said(file_of):
    found = demand_of(file_of("rule-in-base64.xml"))
    assert any(
        "not in the form of the standard" in each.said for each in found.statements
    )


def test_the_doubled_hour_of_a_table_is_two_hours(file_of):
    path = file_of("a-fall-back.csv")
    unsaid = demand_of(path)
    assert asked(unsaid) == ["clock"]
    for found in (unsaid, in_zone(path)):
        assert (found.readings, found.span_s, found.gaps) == (25, 25 * 3600, 0)
        assert found.energy_wh == pytest.approx(24_700 + 250)
    # 18:00 by the clock is 23:00 UTC in New York, when summer time has ended.
    assert in_zone(path).maximum_start_s == at("2025-11-02T23:00")


def test_day_sections_with_a_quoted_period_are_read(file_of):
    found = in_zone(file_of("c-sections.csv"))
    # Two days less 04:00 of the second, 250 Wh, which is blank.
    assert found.energy_wh == pytest.approx(2 * 24_700 - 250)
    assert (found.readings, found.gaps, found.estimated) == (47, 1, 1)
    assert found.maximum_w == pytest.approx(4_100)


def test_a_day_in_one_row_is_read_and_its_total_left_out(file_of):
    found = in_zone(file_of("d-wide.csv"))
    assert (found.readings, found.energy_wh) == (72, pytest.approx(3 * 24_700))
    assert found.maximum_start_s == at("2025-01-15T23:00")
    assert 'column "Total"' in [each.what for each in found.left_out]


def test_a_cell_that_may_hold_two_hours_sets_no_maximum_where_the_zone_is_known(
    file_of,
):
    path = file_of("d-fall-back.csv")
    found = in_zone(path)
    # HE02 of 2 November holds 2 × 250 + 9,000 Wh.
    assert found.maximum_w == 4_100
    assert found.highest_passed_over_w == 9_500
    assert found.energy_wh == pytest.approx(3 * 24_700 - 250 + 9_500)


def test_two_legs_in_watts_give_each_leg_its_maximum(file_of):
    found = demand_of(file_of("e-two-legs.csv"))
    assert found.leg_a_w == pytest.approx(0.6 * 4_100)
    assert found.leg_b_w == pytest.approx(0.4 * 4_100)
    assert found.imbalance_fraction == pytest.approx(0.2)


def test_two_legs_in_amperes_are_taken_at_120_v_and_that_is_said(file_of):
    found = demand_of(file_of("e-amperes.csv"))
    # L1 20 + i mod 10, L2 15 + i mod 7: 29 A and 21 A meet at i = 69.
    assert found.maximum_w == 120 * (29 + 21)
    assert found.maximum_start_s == at("2025-01-15T05:00") + 69 * 60
    assert any("times 120 V" in each.said for each in found.statements)


@pytest.mark.parametrize(
    ("name", "sentence"),
    [
        ("no-readings.xml", "without a single interval reading"),
        ("open-quote.csv", r"line 25.*a quote that is never closed"),
        ("ragged.csv", r"line 9.*5 cells where the header has 3"),
        ("not-a-table.csv", "no header with a time and an amount"),
        ("only-export.csv", "only what flows to the grid"),
    ],
)
def test_files_without_demand_are_refused_in_one_sentence(file_of, name, sentence):
    with pytest.raises(InputError, match=sentence) as refused:
        demand_of(file_of(name))
    assert len(refused.value.faults) == 1
    assert "\n" not in str(refused.value)
