"""What `lugbook demand FILE --json` gives at least, as others rely on it (issue 6)."""

import json

import pytest
from espi_builder import EASTERN, Feed, Meter, utc

from lugbook import cli

START = utc("2025-01-15T05:00:00")


@pytest.fixture
def answer(written, capsys):
    def ask(feed):
        assert cli.main(["demand", str(written(feed.text())), "--json"]) == 0
        return json.loads(capsys.readouterr().out)

    return ask


def test_every_key_others_rely_on_has_its_value(answer):
    # Ten days of hours of 500 Wh but for one of 4,000 Wh, an estimate of 9,000 Wh,
    # three hours missing, one copied and one corrected.
    readings = [(START + 3600 * hour, 3600, 500) for hour in range(240)]
    readings[100] = (readings[100][0], 3600, 4000)
    readings[150] = (readings[150][0], 3600, 9000, 8)
    corrected = [(readings[50][0], 3600, 600)]
    copied = [readings[60]]
    kept = [each for hour, each in enumerate(readings) if hour not in (20, 30, 31)]
    first = "2025-02-01T00:00:00Z"
    meter = Meter(
        [kept, corrected, copied], updated=[first, "2025-02-02T00:00:00Z", first]
    )
    found = answer(Feed([meter], local=EASTERN))
    assert found["readings"] == 237
    assert found["interval_s"] == 3600
    assert found["span_days"] == 10
    assert found["complete_fraction"] == 237 / 240
    # 234 of 500 Wh, one each of 600, 4,000 and 9,000 Wh.
    assert found["energy_kwh"] == pytest.approx(117 + 0.6 + 4 + 9)
    assert found["max_kw"] == 4
    # 100 hours after 05:00 on 15 January.
    assert found["max_at"] == "2025-01-19T09:00:00Z"
    assert (found["gaps"], found["duplicates"], found["flagged"]) == (2, 2, 1)
    assert [set(each) for each in found["left_out"]] == [{"what", "why"}] * 2
    equivalent = found["equivalent_15min_kw"]
    assert 4 < equivalent["central"] < equivalent["covering"] <= 4 * 4
    multiplier = found["record_multiplier"]
    assert 1 < multiplier["p80"] < multiplier["p95"]


@pytest.mark.parametrize("days", [366, 400])
def test_a_whole_year_of_quarter_hours_needs_no_factor(answer, days):
    readings = [(START + 900 * n, 900, 100 + n * 7 % 60) for n in range(96 * days)]
    found = answer(Feed([Meter([readings])], local=EASTERN))
    assert found["record_multiplier"]["p80"] == found["record_multiplier"]["p95"] == 1
    # 159 Wh in a quarter hour.
    assert found["equivalent_15min_kw"]["central"] == pytest.approx(0.636)
    assert found["equivalent_15min_kw"]["covering"] == pytest.approx(0.636)


def test_less_than_a_day_gets_no_factor_to_a_year(answer):
    readings = [(START + 900 * n, 900, 100 + n) for n in range(20)]
    found = answer(Feed([Meter([readings])], local=EASTERN))
    assert found["record_multiplier"] == {"p80": None, "p95": None}
