"""House and charging nights together: the demo by hand, and what cannot be told."""

import gzip
import math
from pathlib import Path

import numpy as np
import pytest

from lugbook import actions
from lugbook.assess.need import need
from lugbook.assess.together import Together, start_rules, together
from lugbook.demand.cleaning import Record, cleaned
from lugbook.demand.clock import open_zone
from lugbook.demand.read import read_meter_file
from lugbook.finding import Outcome, Weight
from lugbook.premises.plan import parse_plan, read_plan

HOUSE = Path(__file__).resolve().parents[2] / "examples" / "potters_house"
PLAN, YEAR = HOUSE / "plan.toml", HOUSE / "year-of-quarter-hours.xml.gz"
TEXT = PLAN.read_text(encoding="utf-8")


def laid(text=TEXT, *, record=None, file="year.xml"):
    plan = parse_plan(text)
    rules = actions.rules_for(plan)
    return together(plan, rules, need(plan, rules), record, file=file)


@pytest.fixture(scope="module")
def year():
    return cleaned(read_meter_file(YEAR))


@pytest.fixture(scope="module")
def demo(year):
    return laid(record=year)


def flat(amperes, *, days=60):
    """A record of one current on each leg, from 1 June 2026 on by Chicago's clock."""
    start_s = 1_780_290_000  # 2026-06-01 00:00 in Chicago, UTC-5
    count = days * 96
    return Record(
        start_s=start_s + 900 * np.arange(count, dtype=np.int64),
        duration_s=np.full(count, 900),
        energy_wh=np.full(count, amperes * 240 * 0.95 / 4),
        doubt=np.zeros(count, dtype=np.int64),
        interval_s=900,
        clock=open_zone("America/Chicago"),
    )


def test_the_demo_counts_against_its_200_a_and_80_percent_of_it(demo):
    assert (demo.basis.rating_a, demo.basis.continuous_a) == (200.0, 160.0)
    assert demo.basis.continuous_hours == 3


def test_the_demos_house_alone_is_its_maximum_over_volts_and_power_factor(demo, year):
    # 25,868 W / (240 V × 0.95) = 113.5 A, with an imbalance of 0.2 136.1 A.
    highest_w = float(year.power_w.max())
    least, most = demo.basis.house_highest_a
    assert least == pytest.approx(highest_w / 228, rel=1e-12)
    assert most == pytest.approx(1.2 * highest_w / 228, rel=1e-12)


def test_the_demo_misses_the_same_mornings_as_its_need(demo, year):
    plan = read_plan(PLAN)
    for step in need(plan, actions.rules_for(plan)).settings:
        row = demo.row(step.setting_a, "at_once")
        # The need's year begins in July, the record in November: one night apart.
        assert row.mornings_missed == pytest.approx(
            step.mornings_missed_per_year, abs=1.5
        )


def test_the_demo_counts_as_a_walk_through_its_year_does(demo, year):
    # 18:30 on, every evening but Saturday's; 47.5 kWh, 1.69 times that in the twelve
    # weeks from 4 December on: 15 January less 42 days.
    step = 80.0
    row = demo.row(step, "at_once")
    volts = _volts_at(step)
    house_a = 1.2 * year.power_w / 228
    together_a = house_a.copy()
    local = np.array([(s + year.clock.offset_s(int(s))) for s in year.start_s.tolist()])
    for day in range(int(local[0]) // 86400, int(local[-1]) // 86400 + 1):
        drove = (day + 3) % 7 != 6  # the van rests on Sunday
        if not drove:
            continue
        date = np.datetime64("1970-01-01") + day
        winter = np.datetime64("2025-12-04") <= date < np.datetime64("2026-02-26")
        left = 47.5 * (1.69 if winter else 1.0)
        place = int(np.searchsorted(local, day * 86400 + 18 * 3600 + 1800))
        while left > 1e-9 and place < len(local):
            share = min(1.0, left / (step * volts / 4000))
            together_a[place] += share * step
            left -= share * step * volts / 4000
            place += 1
    assert row.quarters_over_80[1] == (together_a > 160).sum()
    assert row.quarters_over_100[1] == (together_a > 200).sum()
    assert row.highest_a[1] == pytest.approx(float(together_a.max()), rel=1e-9)


def _volts_at(setting_a):
    plan = read_plan(PLAN)
    found = need(plan, actions.rules_for(plan))
    step = next(s for s in found.settings if s.setting_a == setting_a)
    return step.power_kw * 1000 / step.drawn_a


def test_the_demos_nights_over_begin_on_the_evenings_on_which_the_kiln_fires(demo):
    assert demo.evenings.days == ("Tuesday", "Friday")
    assert demo.evenings.runs_for_hours == ("kiln",)
    assert demo.evenings.nights > 0.8 * demo.evenings.of_nights
    # 104 evenings of the year are Tuesdays or Fridays, each followed by a drive.
    assert demo.evenings.mornings_missed == 104


def test_the_demos_smallest_setting_that_serves_stays_under_when_it_ends_late(demo):
    assert (demo.serving.setting_a, demo.serving.rule) == (32.0, "as_late_as_will_do")
    assert demo.row(32.0, "as_late_as_will_do").quarters_over_80 == (0.0, 0.0)
    assert any("32 A, started as late as will do" in said for said in demo.sentences)


def test_it_says_that_a_schedule_is_no_guarantee(demo):
    assert "A schedule is not a guarantee: only a hard limit is." in demo.sentences


def test_every_finding_is_advice(demo):
    assert {each.weight for each in demo.findings} == {Weight.ADVICE}
    assert [each.id for each in demo.findings] == [
        "together.over_rating",
        "together.over_80",
        "together.limit",
    ]


def test_the_chance_of_a_night_follows_from_the_mean_count(demo):
    for row in demo.rows:
        for chance, nights in zip(
            row.chance_over_100_fraction, row.nights_over_100, strict=True
        ):
            assert chance == pytest.approx(1 - math.exp(-nights), abs=1e-12)


def test_waiting_for_midnight_never_adds_to_the_demos_overloads(demo):
    # Published for thirteen houses: a midnight start divides overloads by 3 to 10.
    for row in demo.rows:
        if row.rule == "at_00_00":
            at_once = demo.row(row.setting_a, "at_once")
            assert row.quarters_over_80[1] <= at_once.quarters_over_80[1] / 3


def test_a_limit_costs_the_demo_nothing_overnight(demo):
    # Published for seven houses at 0.8 of the rating: no night short.
    for row in demo.limit_rows:
        assert row.served_fraction == pytest.approx(1.0, abs=1e-3)


@pytest.mark.parametrize(
    ("house_a", "outcome"),
    [
        (120.1, Outcome.FALLS_SHORT),  # 120.1 + 80 = 200.1 A
        (119.9, Outcome.NARROW),
        # With an imbalance of 0.2: 1.2 × 100.1 + 80 = 200.1 A, within the doubt.
        (100.1, Outcome.NARROW),
        (90.0, Outcome.MEETS),  # 188 A at most; 170 A and 30 A of room
    ],
)
def test_over_the_rating_is_told_by_the_highest_current(house_a, outcome):
    found = laid(record=flat(house_a))
    rating = next(f for f in found.findings if f.id == "together.over_rating")
    assert rating.outcome is outcome


@pytest.mark.parametrize(
    ("days", "house_a", "outcome"),
    [
        # 47.5 kWh at 80 A and 235 V last 2.5 h: under three.
        (60, 81.0, Outcome.MEETS),
        # In deep winter 80.3 kWh last 4.3 h.
        (300, 81.0, Outcome.FALLS_SHORT),
        # Only with legs apart: 1.2 × 67 + 80 = 160.4 A.
        (300, 67.0, Outcome.NARROW),
        (300, 66.0, Outcome.MEETS),
    ],
)
def test_over_80_percent_is_told_by_the_longest_run(days, house_a, outcome):
    found = laid(record=flat(house_a, days=days))
    over = next(f for f in found.findings if f.id == "together.over_80")
    assert over.outcome is outcome


LIMITED = """
[load_management]
id = "limiter"
members = ["charger"]
limit = "100 A"
watches = "service"
fallback_currents = ["{fallback}"]
"""


def with_limiter(fallback):
    text = TEXT.replace(
        '"feeder", "detached building", "load management"]',
        ('"feeder", "detached building"]'),
    )
    return text + LIMITED.format(fallback=fallback)


def test_a_stated_limit_goes_before_80_percent_of_the_rating():
    found = laid(with_limiter("6 A"), record=flat(50.0))
    assert (found.basis.limit_a, found.basis.limit_is_stated) == (100.0, True)


@pytest.mark.parametrize(
    ("fallback", "outcome"),
    [
        ("6 A", Outcome.MEETS),
        ("80 A", Outcome.NARROW),
        ("81 A", Outcome.FALLS_SHORT),
    ],
)
def test_the_fallback_is_laid_on_top_of_the_recorded_maximum(fallback, outcome):
    # House 100 A, 120 A with legs apart: 80 A more fill the rating to the last ampere.
    found = laid(with_limiter(fallback), record=flat(100.0))
    lost = next(f for f in found.findings if f.id == "together.lost_sensor")
    assert lost.outcome is outcome


def test_a_house_that_fills_the_limit_leaves_the_car_short():
    found = laid(with_limiter("6 A"), record=flat(95.0))
    # Legs apart 114 A: nothing is left under 100 A, night after night.
    limit = next(f for f in found.findings if f.id == "together.limit")
    assert limit.outcome is Outcome.FALLS_SHORT


def test_a_short_record_is_not_stretched_to_a_year():
    found = laid(record=flat(100.0, days=30))
    assert found.basis.years == 1.0
    assert any(each.id == "together.season" for each in found.assumptions)
    assert any("in the days recorded" in said for said in found.sentences)


def test_a_summer_alone_recommends_nothing_that_winter_would_not_bear():
    # In June 20 A has the van ready; over the year it takes 32 A.
    found = laid(record=flat(20.0, days=30))
    assert found.row(20.0, "at_once").mornings_missed == 0
    assert found.serving.setting_a == 32.0


def test_a_record_of_two_years_gives_a_mean_year():
    one, two = (laid(record=flat(120.1, days=days)) for days in (365, 730))
    assert two.basis.years == 2.0
    for first, second in zip(one.rows, two.rows, strict=True):
        # The two years differ by a weekday or two of charging.
        assert second.nights_over_100[0] == pytest.approx(
            first.nights_over_100[0], abs=1.0
        )


def test_without_a_known_rating_nothing_is_counted(year):
    lines = TEXT.splitlines()
    text = "\n".join(
        line
        for line in lines
        if not line.startswith(("main_rating", "bus_rating", "meter_base_rating"))
    ).replace(
        'rating = { value = "200 A", how = "read" }\nkind = "circuit', 'kind = "circuit'
    )
    text = text.replace(
        'size = { value = "4/0 AWG", how = "read" }\ninsulation = "XHHW-2"', ""
    )
    found = laid(text, record=year)
    assert found.rows == ()
    assert "cannot be told yet" in found.sentences[0]
    assert any("main" in each.field for each in found.unknowns)


def test_without_driving_nothing_is_counted(year):
    text = TEXT.replace('distance_per_day = "95 mi"\n', "")
    found = laid(text, record=year)
    assert found.rows == ()
    assert any("distance_per_day" in each.field for each in found.unknowns)


def test_the_cheapest_hours_are_a_start_rule_of_their_own():
    tariff = """
[[tariff.windows]]
starts = "23:00"
ends = "07:00"
price_per_kwh = 0.09
"""
    plan = parse_plan(TEXT.replace("[[wrenches]]", f"{tariff}\n[[wrenches]]", 1))
    ids = [rule.id for rule, _ in start_rules(plan.tariff)]
    assert ids == ["at_once", "at_00_00", "at_cheapest", "as_late_as_will_do"]


def test_an_action_reads_the_file_beside_the_plan(tmp_path):
    text = "\n".join(
        line for line in TEXT.splitlines() if not line.startswith("meter_files")
    )
    plan = tmp_path / "plan.toml"
    plan.write_text(
        text.replace("schema = 1", 'schema = 1\nmeter_files = ["year.xml"]', 1),
        encoding="utf-8",
    )
    (tmp_path / "year.xml").write_bytes(gzip.decompress(YEAR.read_bytes()))
    found = actions.together(plan, actions.need(plan))
    assert isinstance(found, Together)
    assert found.basis.file == "year.xml"


def test_a_file_that_cannot_be_used_is_told_and_no_more(tmp_path):
    text = "\n".join(
        line for line in TEXT.splitlines() if not line.startswith("meter_files")
    )
    plan = tmp_path / "plan.toml"
    plan.write_text(
        text.replace("schema = 1", 'schema = 1\nmeter_files = ["none.xml"]', 1),
        encoding="utf-8",
    )
    found = actions.together(plan, actions.need(plan))
    assert found.rows == ()
    assert "none.xml cannot be used" in found.unknowns[0].question


def test_without_a_meter_file_there_is_no_such_section(tmp_path):
    plan = tmp_path / "plan.toml"
    plan.write_text(
        "\n".join(
            line for line in TEXT.splitlines() if not line.startswith("meter_files")
        ),
        encoding="utf-8",
    )
    assert actions.together(plan, actions.need(plan)) is None
