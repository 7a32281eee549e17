"""Measured demand: the record merged, its conditions one by one, what it means."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest
from houses import ON, house, load, plan_of, row_of, rows_of

from lugbook.assess.measured_record import combined, measured_record
from lugbook.assess.spine import assess
from lugbook.codebook.edition import editions, open_edition
from lugbook.finding import Outcome, Weight
from lugbook.readings.evidence import (
    Evidence,
    MeterRecord,
    StatedDemand,
    UnreadFile,
)

EXACT = 1e-9  # relative; rounding of binary fractions only
PASSES = (Outcome.MEETS, Outcome.NARROW)
DAY_S = 86_400
CONDITIONS = (
    "record_length",
    "averaging",
    "continuous",
    "highest_leg",
    "occupied",
    "seasonal_load",
    "no_other_source",
    "overload_protection",
)

# A year of quarter hours, 12 kW at the most: 50 A at 240 V, 62.5 A with the quarter.
YEAR = MeterRecord(
    name="meter.xml",
    first_s=1_735_711_200,
    span_s=365 * DAY_S,
    covered_s=365 * DAY_S,
    longest_gap_s=0,
    long_gaps=0,
    interval_s=900,
    recorded_w=12_000.0,
    recorded_at_s=1_735_800_000,
    is_measured=True,
    witnesses=3,
    central_w=12_000.0,
    covering_w=12_000.0,
    equivalent_how="the record is of 15 minutes",
)
HOURLY = replace(YEAR, interval_s=3600, central_w=15_600.0, covering_w=19_200.0)
MONTH = replace(YEAR, span_s=40 * DAY_S, covered_s=40 * DAY_S)
NOTHING_STATED = StatedDemand(
    maximum_va=None,
    maximum_a=None,
    power_factor_fraction=None,
    days=None,
    last_day=None,
    window_s=None,
    continuous=None,
    highest_loaded_leg=None,
    occupied=None,
    seasonal_loads_included=None,
    seasonal_load_added_va=None,
)
LIVED_IN = replace(
    NOTHING_STATED, occupied=True, seasonal_loads_included=True, peak_shaved=False
)


def tree_of(rating="100 A", **tables):
    return house(service={"main": {"rating": rating}}, **tables)


def evidence(*meters, stated=None, unread=()):
    return Evidence((), stated, meters, unread)


def judged(given, tree=None, year="2023", setting_a=None):
    plan = plan_of(tree_of() if tree is None else tree)
    return assess(plan, given, open_edition(year), ON, setting_a)


def row(given, tree=None, year="2023"):
    rows = rows_of(tree_of() if tree is None else tree, year, evidence=given)
    return row_of(rows, "measured")


def conditions(given, tree=None, year="2023"):
    prefix = "capacity.measured."
    return {
        each.id.removeprefix(prefix): each
        for each in judged(given, tree, year).findings
        if each.id.startswith(prefix)
    }


def finding(given, id, tree=None, setting_a=None):
    found = judged(given, tree, setting_a=setting_a).findings
    return next((each for each in found if each.id == id), None)


# --- the row ------------------------------------------------------------------------


@pytest.mark.parametrize("year", editions())
def test_a_years_file_alone_carries_the_method(year):
    # 1.25 × 12,000 / 240 + 32 = 94.5 A of 100
    found = row(evidence(YEAR), year=year)
    assert found.amperes == pytest.approx(94.5, rel=EXACT)
    assert found.outcome is Outcome.MEETS
    assert found.largest_setting_a == 32


def test_who_has_measured_is_not_told_to_measure():
    # 62.5 A by the record and the charger's 32 A: 94.5 A of 90; a kiln of 90 kVA puts
    # every calculated method further out
    tree = house(load("kiln", 90_000), service={"main": {"rating": "90 A"}})
    short = finding(evidence(YEAR), "capacity.service_load", tree)
    assert short.found == pytest.approx(94.5, rel=EXACT)
    assert "load management" in short.next
    assert "measure the demand" not in short.next


def test_the_range_of_the_more_loaded_leg_stands_beside_the_figure():
    # at the least the legs are alike: 94.5 A; at the most 62.5 × 1.2 / 0.95 + 32
    found = row(evidence(YEAR))
    assert found.span_a == pytest.approx((94.5, 62.5 * 1.2 / 0.95 + 32), rel=EXACT)


def test_a_power_factor_somebody_states_leaves_only_the_legs_open():
    # 12,000 / 0.8 = 15,000 VA: 78.125 + 32 = 110.125; at the most 78.125 × 1.2 + 32
    given = evidence(YEAR, stated=replace(LIVED_IN, power_factor_fraction=0.8))
    found = row(given)
    assert found.amperes == pytest.approx(110.125, rel=EXACT)
    assert found.span_a == pytest.approx((110.125, 78.125 * 1.2 + 32), rel=EXACT)


def test_where_both_legs_are_recorded_the_higher_one_counts():
    # leg A 7,200 W at 120 V is 60 A: 1.25 × 60 + 32 = 107 A, over the 94.5 of the sum
    legs = replace(YEAR, leg_a_w=7_200.0, leg_b_w=4_800.0, imbalance_fraction=0.2)
    found = row(evidence(legs))
    assert found.amperes == pytest.approx(107.0, rel=EXACT)
    # what is left open is the power factor
    assert found.span_a == pytest.approx((107.0, 75 / 0.95 + 32), rel=EXACT)


@pytest.mark.parametrize(
    ("tree_rating", "outcome"),
    [
        # recorded 12 kW an hour: 62.5 + 32 = 94.5 A is certain, 15.6 kW: 113.25 A
        ("125 A", Outcome.CANNOT_TELL),
        ("95 A", Outcome.CANNOT_TELL),
        ("94 A", Outcome.FALLS_SHORT),
    ],
)
def test_hourly_data_pass_nothing_but_may_show_that_nothing_passes(
    tree_rating, outcome
):
    found = row(evidence(HOURLY, stated=LIVED_IN), tree_of(tree_rating))
    assert found.outcome is outcome
    assert found.amperes == pytest.approx(113.25, rel=EXACT)
    assert "60 minutes hide the 15-minute maximum" in found.reason
    assert found.largest_setting_a is None


def test_even_a_huge_service_is_not_passed_by_hourly_data():
    given = evidence(HOURLY, stated=LIVED_IN)
    assert row(given, house()).outcome is Outcome.CANNOT_TELL


def test_a_maximum_over_a_shorter_time_proves_no_shortfall_while_a_condition_is_open():
    stated = replace(
        NOTHING_STATED, maximum_va=90_000.0, window_s=1.0, days=20.0, continuous=True
    )
    assert row(Evidence((), stated)).outcome is Outcome.CANNOT_TELL


def test_of_two_maxima_the_larger_counts():
    # stated 14,400 VA: 75 + 32 = 107 A
    given = evidence(YEAR, stated=replace(LIVED_IN, maximum_va=14_400.0))
    assert row(given).amperes == pytest.approx(107.0, rel=EXACT)
    lower = evidence(YEAR, stated=replace(LIVED_IN, maximum_va=9_600.0))
    assert row(lower).amperes == pytest.approx(94.5, rel=EXACT)


def test_a_seasonal_load_is_added_to_what_the_file_shows():
    # 1.25 × (12,000 + 2,400) / 240 + 32 = 107 A
    given = evidence(YEAR, stated=replace(LIVED_IN, seasonal_load_added_va=2_400.0))
    assert row(given).amperes == pytest.approx(107.0, rel=EXACT)


def test_a_file_that_cannot_be_read_is_named_in_the_row():
    given = evidence(unread=(UnreadFile("meter.xml", "no such file"),))
    found = row(given)
    assert (found.outcome, found.amperes) == (Outcome.CANNOT_TELL, None)
    assert "meter.xml could not be read (no such file)" in found.reason


# --- several files --------------------------------------------------------------------


def half(first_day, days, watts):
    return replace(
        YEAR,
        name=f"from-{first_day}.xml",
        first_s=YEAR.first_s + first_day * DAY_S,
        span_s=days * DAY_S,
        covered_s=days * DAY_S,
        recorded_w=watts,
        central_w=watts,
        covering_w=watts,
    )


def test_files_that_follow_each_other_are_one_record():
    whole = combined((half(180, 185, 12_000.0), half(0, 180, 9_000.0)))
    assert (whole.span_s, whole.covered_s) == (365 * DAY_S, 365 * DAY_S)
    assert (whole.recorded_w, whole.long_gaps) == (12_000.0, 0)
    assert row(evidence(half(0, 180, 9_000.0), half(180, 185, 12_000.0))).outcome in (
        PASSES
    )


def test_time_between_files_is_a_gap_and_time_in_both_counts_once():
    apart = combined((half(0, 100, 9_000.0), half(110, 100, 9_000.0)))
    assert (apart.long_gaps, apart.longest_gap_s) == (1, 10 * DAY_S)
    assert apart.covered_s == 200 * DAY_S
    over = combined((half(0, 100, 9_000.0), half(90, 100, 9_000.0)))
    assert (over.covered_s, over.span_s) == (190 * DAY_S, 190 * DAY_S)


def test_a_file_inside_another_adds_nothing():
    inside = combined((half(0, 365, 9_000.0), half(50, 10, 12_000.0)))
    assert (inside.covered_s, inside.recorded_w) == (365 * DAY_S, 12_000.0)


def test_the_coarser_of_two_intervals_holds_for_both():
    mixed = combined(
        (half(0, 180, 9_000.0), replace(half(180, 185, 1.0), interval_s=3600))
    )
    assert mixed.interval_s == 3600


def test_several_files_are_said_to_be_taken_as_of_one_meter():
    two = judged(evidence(half(0, 180, 9_000.0), half(180, 185, 9_000.0)))
    ids = [each.id for each in two.assumptions]
    assert "meter-files-are-of-one-meter" in ids
    one = judged(evidence(YEAR))
    assert "meter-files-are-of-one-meter" not in [each.id for each in one.assumptions]


# --- the conditions -------------------------------------------------------------------


@pytest.mark.parametrize("year", editions())
def test_every_condition_is_a_finding_of_its_own(year):
    found = conditions(evidence(YEAR, stated=LIVED_IN), year=year)
    assert tuple(found) == CONDITIONS
    for each in found.values():
        assert each.weight is Weight.ADVICE
        assert each.outcome in (Outcome.MEETS, Outcome.NOT_REQUIRED)
        assert each.citation is not None


def test_without_record_or_file_no_condition_is_spoken_of():
    assert conditions(Evidence()) == {}


@pytest.mark.parametrize(
    ("days", "outcome", "asked"),
    [
        (29, Outcome.FALLS_SHORT, True),
        (30, Outcome.MEETS, True),
        (363, Outcome.MEETS, True),
        (364, Outcome.MEETS, False),  # a day at the ends is a gap like any other
        (365, Outcome.MEETS, False),
    ],
)
def test_a_year_asks_less_than_a_short_record(days, outcome, asked):
    record = replace(YEAR, span_s=days * DAY_S, covered_s=days * DAY_S)
    found = conditions(evidence(record, stated=LIVED_IN))
    assert found["record_length"].outcome is outcome
    for id in ("highest_leg", "occupied", "seasonal_load"):
        assert (found[id].outcome is Outcome.NOT_REQUIRED) is not asked


@pytest.mark.parametrize(
    ("interval_s", "outcome"),
    [(60, Outcome.MEETS), (900, Outcome.MEETS), (901, Outcome.FALLS_SHORT)],
)
def test_only_averages_of_15_minutes_or_finer_will_do(interval_s, outcome):
    found = conditions(evidence(replace(YEAR, interval_s=interval_s)))
    assert found["averaging"].outcome is outcome


def test_hourly_data_name_both_equivalents():
    found = conditions(evidence(HOURLY))["averaging"]
    assert "15.6 to 19.2 kVA" in found.next


@pytest.mark.parametrize(
    ("covered", "outcome"),
    [(0.94, Outcome.FALLS_SHORT), (0.95, Outcome.MEETS), (1.0, Outcome.MEETS)],
)
def test_a_twentieth_of_a_year_may_be_missing(covered, outcome):
    record = replace(
        YEAR,
        covered_s=round(YEAR.span_s * covered),
        longest_gap_s=7_200,
        long_gaps=4,
    )
    given = evidence(record, stated=LIVED_IN)
    if covered >= 0.95:
        assert conditions(given)["continuous"].outcome is outcome
        assert "longest gap 2 h" in conditions(given)["continuous"].found
    assert (row(given).outcome in PASSES) is (outcome is Outcome.MEETS)


def test_a_short_record_must_be_without_a_long_gap():
    gapped = replace(MONTH, long_gaps=1, longest_gap_s=7_200)
    assert conditions(evidence(gapped))["continuous"].outcome is Outcome.FALLS_SHORT
    assert conditions(evidence(MONTH))["continuous"].outcome is Outcome.MEETS


def test_a_short_record_of_both_legs_summed_does_not_show_the_higher_one():
    given = evidence(MONTH, stated=replace(LIVED_IN, highest_loaded_leg=True))
    assert conditions(given)["highest_leg"].outcome is Outcome.CANNOT_TELL
    assert row(given).outcome is Outcome.CANNOT_TELL
    legs = replace(MONTH, leg_a_w=6_000.0, leg_b_w=6_000.0, imbalance_fraction=0.0)
    given = evidence(legs, stated=LIVED_IN)
    assert conditions(given)["highest_leg"].outcome is Outcome.MEETS
    assert row(given).outcome is Outcome.MEETS


@pytest.mark.parametrize("field", ["occupied", "seasonal_loads_included"])
@pytest.mark.parametrize(
    ("said", "outcome"), [(None, Outcome.CANNOT_TELL), (False, Outcome.FALLS_SHORT)]
)
def test_what_no_file_shows_must_be_said_of_a_short_record(field, said, outcome):
    legs = replace(MONTH, leg_a_w=6_000.0, leg_b_w=6_000.0, imbalance_fraction=0.0)
    given = evidence(legs, stated=replace(LIVED_IN, **{field: said}))
    id = {"occupied": "occupied", "seasonal_loads_included": "seasonal_load"}[field]
    found = conditions(given)[id]
    assert found.outcome is outcome
    assert found.next
    assert row(given).outcome is Outcome.CANNOT_TELL


def test_a_year_in_which_nobody_lived_there_carries_no_pass():
    given = evidence(YEAR, stated=replace(LIVED_IN, occupied=False))
    assert row(given).outcome is Outcome.CANNOT_TELL
    assert "somebody lived there" in row(given).reason


def test_energy_that_flows_back_bars_the_method_whatever_the_plan_says():
    given = evidence(replace(YEAR, flows_back=True), stated=LIVED_IN)
    found = conditions(given)["no_other_source"]
    assert found.outcome is Outcome.FALLS_SHORT
    assert row(given).outcome is Outcome.NOT_REQUIRED
    assert not row(given).permitted


def test_a_plan_silent_on_solar_leaves_the_method_open():
    tree = tree_of(dwelling={"not_present": ["battery"]})
    given = evidence(YEAR, stated=LIVED_IN)
    assert conditions(given, tree)["no_other_source"].outcome is Outcome.CANNOT_TELL
    assert row(given, tree).outcome is Outcome.CANNOT_TELL


@pytest.mark.parametrize(
    ("main", "permitted"),
    # 4/0 AWG aluminum carries a service of 200 A (310.12, or its like before 2020)
    [("200 A", True), ("225 A", False)],
)
def test_a_main_larger_than_its_conductors_bars_the_method(main, permitted):
    tree = house(service={"main": {"rating": main}, "meter_base_rating": "320 A"})
    tree["panels"][0]["bus_rating"] = "225 A"
    given = evidence(YEAR, stated=LIVED_IN)
    assert row(given, tree).permitted is permitted
    outcome = conditions(given, tree)["overload_protection"].outcome
    assert (outcome is Outcome.MEETS) is permitted


def test_the_utilitys_own_conductors_are_not_judged():
    tree = tree_of()
    del tree["service"]["conductor"]
    tree["service"]["conductor_owner"] = "utility"
    given = evidence(YEAR, stated=LIVED_IN)
    found = conditions(given, tree)["overload_protection"]
    assert found.outcome is Outcome.NOT_REQUIRED
    assert row(given, tree).outcome is Outcome.MEETS


@pytest.mark.parametrize(
    "change",
    [
        {"is_measured": False},
        {"asks": ("unit: neither named nor clear",)},
        {"asks": ("scale: 140 kWh a day is much",)},
    ],
)
def test_a_maximum_in_doubt_carries_nothing(change):
    given = evidence(replace(YEAR, **change), stated=LIVED_IN)
    assert conditions(given)["readings"].outcome is Outcome.CANNOT_TELL
    assert row(given).outcome is Outcome.CANNOT_TELL


def test_a_question_that_does_not_touch_the_maximum_is_no_doubt():
    given = evidence(replace(YEAR, asks=("clock: local time as UTC",)), stated=LIVED_IN)
    assert "readings" not in conditions(given)
    assert row(given).outcome is Outcome.MEETS


# --- what it means --------------------------------------------------------------------


def test_the_plan_against_the_file_is_said_and_the_file_goes_first():
    stated = replace(
        LIVED_IN,
        maximum_va=20_000.0,
        days=200.0,
        window_s=3600.0,
        last_day=date(2024, 1, 1),
    )
    found = finding(evidence(YEAR, stated=stated), "capacity.measured.agreement")
    assert found is not None
    assert found.outcome is Outcome.FALLS_SHORT
    for words in ("20.0 kVA", "12.0", "200 days", "365", "60 minutes", "2024-01-01"):
        assert words in found.found
    alike = replace(LIVED_IN, maximum_va=12_100.0, days=364.0)
    same = evidence(YEAR, stated=alike)
    assert finding(same, "capacity.measured.agreement") is None


@pytest.mark.parametrize(
    ("rating", "outcome"),
    [
        # 50 + 32 = 82 A at the least, 50 × 1.2 / 0.95 + 32 = 95.2 A at the most
        ("81 A", Outcome.FALLS_SHORT),
        ("95 A", Outcome.CANNOT_TELL),
        ("96 A", Outcome.NARROW),
        ("101 A", Outcome.MEETS),
    ],
)
def test_the_outlook_is_a_range_and_says_so_where_the_limit_lies_in_it(rating, outcome):
    given = evidence(YEAR, stated=LIVED_IN)
    found = finding(given, "capacity.measured_outlook", tree_of(rating))
    assert found is not None
    assert (found.outcome, found.weight) == (outcome, Weight.ADVICE)
    assert found.found == "82.0 to 95.2"


def test_a_short_record_is_multiplied_in_the_outlook_and_never_in_the_rule():
    # 40 days: over the logarithm from 1.86 (30) to 1.64 (60); 1.7687 by hand:
    # ln(40/30)/ln 2 = 0.41504; 1.86 − 0.41504 × 0.22 = 1.76869
    given = evidence(MONTH, stated=LIVED_IN)
    found = finding(given, "capacity.measured_outlook")
    assert found is not None
    lines = {line.label: line.amount for line in found.working.lines}
    factor = lines["factor to the year's maximum, 95 % chance"]
    assert factor == pytest.approx(1.76869, abs=1e-5)
    most_a = 50 * 1.76869 * 1.2 / 0.95
    assert lines["more loaded leg, at most"] == pytest.approx(most_a, rel=1e-5)
    # the rule's own figure: 1.25 × 50 + 32
    assert row(given).amperes == pytest.approx(94.5, rel=EXACT)


def test_a_meter_behind_a_source_gives_no_outlook():
    given = evidence(replace(YEAR, flows_back=True), stated=LIVED_IN)
    assert finding(given, "capacity.measured_outlook") is None


def test_a_house_that_drew_more_than_is_counted_for_it_is_warned():
    # counted for the house by the optional method: 9,000 VA; recorded 12,000 VA
    given = evidence(YEAR, stated=LIVED_IN)
    found = finding(given, "capacity.measured_above_calculated", house())
    assert found is not None
    assert (found.outcome, found.weight) == (Outcome.FALLS_SHORT, Weight.ADVICE)
    assert found.found == 12_000
    large = house(load("range", 12_000), load("kiln", 20_000))
    assert finding(given, "capacity.measured_above_calculated", large) is None


def test_an_unread_file_is_advice_unless_the_answer_rests_on_the_record_alone():
    unread = (UnreadFile("my meter.xml", "no such file"),)
    id = "capacity.meter_file.my_meter_xml"
    found = finding(evidence(unread=unread), id)
    assert found is not None
    assert (found.outcome, found.weight) == (Outcome.CANNOT_TELL, Weight.ADVICE)
    stated = replace(
        LIVED_IN, maximum_va=11_000.0, days=365.0, window_s=900.0, continuous=True
    )
    crowded = tree_of(loads=[{"id": "kiln", **load("kiln", 40_000)}])
    given = evidence(unread=unread, stated=stated)
    assert row(given, crowded).outcome in PASSES
    found = finding(given, id, crowded)
    assert found is not None
    assert found.weight is Weight.MUST


def test_two_unread_files_of_one_name_keep_two_ids():
    unread = (UnreadFile("a.xml", "x"), UnreadFile("a_xml", "y"))
    ids = [each.id for each in judged(evidence(unread=unread)).findings]
    named = [id for id in ids if id.startswith("capacity.meter_file.")]
    assert named == ["capacity.meter_file.a_xml", "capacity.meter_file.a_xml_2"]


def test_no_record_is_no_record():
    assert measured_record(Evidence(), 240.0) is None


@pytest.mark.parametrize("id", CONDITIONS)
def test_each_condition_the_codebook_names_is_one_the_program_judges(id):
    for year in editions():
        rule = open_edition(year).rule("measured-demand")
        asked = {*rule.words("full_record_asks"), *rule.words("short_record_asks")}
        assert id in asked
        assert asked == set(CONDITIONS)
