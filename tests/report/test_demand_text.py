import json
from pathlib import Path

import pytest

from lugbook.actions import demand_conditions
from lugbook.demand.clock import open_zone
from lugbook.demand.summary import demand_of
from lugbook.report.demand_text import demand_answer, demand_json
from lugbook.report.paper import Paper

FILES = Path(__file__).parents[1] / "demand" / "files"
DEMO = (
    Path(__file__).parents[2]
    / "examples"
    / "potters_house"
    / "year-of-quarter-hours.xml.gz"
)


@pytest.fixture(scope="module")
def demo():
    return demand_of(DEMO)


def test_the_json_holds_every_key_that_others_rely_on(demo):
    held = json.loads(demand_json(demo))
    assert held["readings"] == 35_040
    assert held["interval_s"] == 900
    assert held["span_days"] == 365
    assert held["complete_fraction"] == 1
    assert held["max_at"].endswith("Z")
    assert (held["gaps"], held["duplicates"], held["flagged"]) == (0, 0, 0)
    assert held["left_out"] == []
    assert held["equivalent_15min_kw"]["central"] == held["max_kw"]
    assert held["equivalent_15min_kw"]["covering"] == held["max_kw"]
    assert held["record_multiplier"] == {"p80": 1.0, "p95": 1.0}
    assert held["energy_kwh"] == pytest.approx(demo.energy_wh / 1000)


def test_the_demo_has_its_maximum_near_26_kw_in_a_firing_night(demo):
    # The plan's story: kiln 11.52 kW, cooling, and what the evening adds.
    assert 25 < demo.maximum_w / 1000 < 27
    night = [each for each in demo.by_clock if each.start_s == 23 * 3600]
    assert night[0].highest_w > 11_520


def test_what_is_left_out_says_what_and_why():
    held = json.loads(demand_json(demand_of(FILES / "gas-and-electricity.xml")))
    assert held["left_out"] == [
        {"what": "point 2, series 2, gas", "why": "gas, not electricity"}
    ]


@pytest.mark.parametrize("width", [40, 80, 100])
@pytest.mark.parametrize(
    "path", sorted(FILES.glob("*.xml")), ids=lambda path: path.name
)
def test_no_line_is_wider_than_the_paper(path, width):
    if path.name in ("monthly.xml", "no-readings.xml"):
        return  # refused, as tests/demand says
    paper = Paper(width=width, encoding="ascii")
    text = demand_answer(demand_of(path), paper, working=True)
    assert all(len(line) <= width for line in text.splitlines())
    assert text.isascii()


def test_the_answer_of_the_demo_fits_one_screen(demo):
    text = demand_answer(demo, Paper())
    assert len(text.splitlines()) <= 40
    assert text.splitlines()[2].startswith("Recorded maximum")


def test_questions_stand_apart_from_what_was_inferred():
    text = demand_answer(demand_of(FILES / "two-houses.xml"), Paper())
    text = " ".join(text.split())  # wherever a line is broken
    asked = text.index("To be told by you")
    assert asked < text.index("point 2 was taken")
    assert "--point 1" in text


def test_a_short_record_shows_what_a_year_may_bring():
    text = demand_answer(demand_of(FILES / "plain-day.xml"), Paper(width=100))
    # 4.1 kW × 1.3 × 3.1 and × 5.5 for one day.
    assert "16.52" in text
    assert "29.32" in text


def test_the_working_names_what_was_left_out_and_why():
    summary = demand_of(FILES / "outage.xml")
    lines = {line.label: line for line in summary.working().lines}
    assert lines["higher, but left out"].amount == pytest.approx(13.957, abs=0.001)
    assert lines["recorded maximum"].unit == "kW"
    assert all(line.label for line in summary.working().lines)


def test_a_record_carries_to_the_rules_only_what_the_file_shows(demo):
    record = demo.as_record("year.xml")
    assert record.name == "year.xml"
    assert record.recorded_w == record.central_w == demo.maximum_w
    assert (record.span_s, record.interval_s) == (365 * 86400, 900)
    assert record.leg_a_w is None
    hourly = demand_of(FILES / "plain-day.xml").as_record()
    assert hourly.interval_s == 3600
    # common practice of data.md 3.2: hourly × 1.3
    assert hourly.central_w == pytest.approx(1.3 * hourly.recorded_w)
    legs = demand_of(FILES / "e-two-legs.csv").as_record()
    assert legs.leg_a_w is not None


def test_what_the_code_asks_of_the_record_is_listed_and_what_no_file_shows_is_open(
    demo,
):
    asked = demand_conditions(demo.as_record())
    text = demand_answer(demo, Paper(), asked)
    assert "Met: 365 days; averages over 15 minutes; 100 % read." in text
    assert "peak shaving? cannot tell." in text
    assert "meter_files" in text
    assert len(text.splitlines()) <= 40
    tests = json.loads(demand_json(demo, asked))["code_test"]
    assert [each["condition"] for each in tests][:2] == ["record_length", "averaging"]
    assert {each["outcome"] for each in tests} == {
        "meets",
        "not_required",
        "cannot_tell",
    }


def test_days_follow_the_zone_that_is_named():
    path = FILES / "no-links.xml"
    zone = open_zone("America/Chicago")
    assert demand_of(path, zone=zone).clock == "America/Chicago"
    assert demand_of(path).clock == "UTC"


def test_a_maximum_that_fits_no_house_is_doubted_before_it_is_told(tmp_path):
    rows = [
        f"2026-01-{day:02d} {hour:02d}:00,{9000 + 7 * hour % 24}"
        for day in (1, 2)
        for hour in range(24)
    ]
    path = tmp_path / "year.csv"
    path.write_text("time,kWh\n" + "\n".join(rows) + "\n", encoding="utf-8")
    answer = demand_answer(demand_of(path), Paper(width=80))
    assert 0 < answer.index("IN DOUBT") < answer.index("Recorded maximum")
