"""Relations between records that hold whatever the record: trust.md section 8."""

from datetime import UTC, datetime

import pytest
from espi_builder import EASTERN, Feed, Meter, utc
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from lugbook.demand.summary import demand_of

START = utc("2025-01-15T05:00:00")
FEW = settings(
    max_examples=40,
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture],
)
values = st.lists(st.integers(0, 5000), min_size=8, max_size=60)


def record(written, amounts, *, start=START, duration=900):
    readings = [(start + duration * at, duration, wh) for at, wh in enumerate(amounts)]
    return demand_of(written(Feed([Meter([readings])], local=EASTERN).text()))


@FEW
@given(amounts=values, share=st.floats(0, 1))
def test_a_lower_interval_more_leaves_the_maximum(written, amounts, share):
    lower = int(share * max(amounts))
    assert (
        record(written, [*amounts, lower]).maximum_w
        == record(written, amounts).maximum_w
    )


@FEW
@given(amounts=values, more=st.integers(1, 5000))
def test_a_higher_interval_more_never_lowers_any_maximum(written, amounts, more):
    before = record(written, amounts)
    after = record(written, [*amounts, max(amounts) + more])
    assert after.maximum_w == 4 * (max(amounts) + more) > before.maximum_w
    assert after.central_w >= before.central_w
    assert after.covering_w >= before.covering_w


@FEW
@given(amounts=values, quarters=st.integers(-100_000, 100_000))
def test_all_times_moved_leave_the_maximum_and_move_its_time(
    written, amounts, quarters
):
    moved_s = 900 * quarters
    before = record(written, amounts)
    after = record(written, amounts, start=START + moved_s)
    assert after.maximum_w == before.maximum_w
    assert after.maximum_start_s - before.maximum_start_s == moved_s
    assert (after.energy_wh, after.readings) == (before.energy_wh, before.readings)


@FEW
@given(amounts=values)
def test_quarter_hours_merged_to_half_hours_never_have_a_higher_maximum(
    written, amounts
):
    halves = [sum(pair) for pair in zip(amounts[::2], amounts[1::2], strict=False)]
    merged = record(written, halves, duration=1800)
    quarters = record(written, amounts[: 2 * len(halves)])
    assert merged.maximum_w <= quarters.maximum_w
    assert merged.energy_wh == quarters.energy_wh


@FEW
@given(amounts=st.lists(st.integers(1, 300), min_size=30, max_size=90))
def test_minutes_merged_to_quarter_hours_never_exceed_the_sliding_quarter_hour(
    written, amounts
):
    minutes = record(written, amounts, duration=60, start=START)
    quarters = [sum(amounts[at : at + 15]) for at in range(0, len(amounts) - 14, 15)]
    merged = record(written, quarters)
    assert merged.maximum_w <= minutes.central_w + 1e-6
    assert minutes.central_w <= minutes.maximum_w + 1e-6


@FEW
@given(amounts=values, at=st.integers(0, 7))
def test_a_missing_interval_never_makes_a_record_more_complete(written, amounts, at):
    readings = [(START + 900 * n, 900, wh) for n, wh in enumerate(amounts)]
    whole = record(written, amounts)
    del readings[at]
    less = demand_of(written(Feed([Meter([readings])], local=EASTERN).text()))
    assert less.maximum_w <= whole.maximum_w
    assert less.complete_fraction <= whole.complete_fraction
    assert less.covered_s == whole.covered_s - 900


@pytest.mark.parametrize(
    ("name", "start", "hours"),
    [
        ("spring", "2025-03-09T05:00:00", 23),
        ("an ordinary day", "2025-07-01T04:00:00", 24),
        ("fall", "2025-11-02T04:00:00", 25),
    ],
)
def test_a_local_day_has_23_24_or_25_hours(written, name, start, hours):
    begin = utc(start)
    found = record(written, [500] * (4 * hours), start=begin)
    assert (found.readings, found.observed_days) == (4 * hours, 1)
    assert found.complete_fraction == 1
    # The clock of the house shows each quarter hour, but for the hour left out.
    slots = {each.start_s for each in found.by_clock}
    assert len(slots) == 96 - 4 * (hours == 23)
    last = datetime.fromtimestamp(begin + 3600 * hours, UTC)
    assert last.hour == (5 if name == "fall" else 4)
