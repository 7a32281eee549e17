from contextlib import suppress
from datetime import UTC, datetime, timedelta
from itertools import pairwise

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from lugbook.demand.clock import open_zone
from lugbook.demand.summary import demand_of
from lugbook.demand.table_file import TableOptions, read_table
from lugbook.demand.table_header import find_header
from lugbook.errors import InputError

CHICAGO = open_zone("America/Chicago")
BASE = datetime(2025, 6, 2)


def table(head, rows, *, by=","):
    return "\n".join([head, *(by.join(map(str, row)) for row in rows)]) + "\n"


def steps(count, minutes, form):
    return [
        (BASE + timedelta(minutes=minutes * n)).strftime(form) for n in range(count)
    ]


def read(written, text, **options):
    return demand_of(written(text, "meter.csv"), TableOptions(**options))


def said(summary, about):
    return " · ".join(each.said for each in summary.statements if each.about == about)


# --- times ----------------------------------------------------------------------


@pytest.mark.parametrize(
    "form",
    [
        "%Y-%m-%d %H:%M",
        "%Y-%m-%d %H:%M:%S",
        "%Y-%m-%dT%H:%M:%S",
        "%Y-%m-%dT%H:%M:%SZ",
        "%Y-%m-%dT%H:%M:%S+00:00",
        "%Y/%m/%d %H:%M",
        "%m/%d/%Y %H:%M",
        "%m/%d/%Y %I:%M %p",
        "%m/%d/%y %I:%M:%S %p",
        "%d.%m.%Y %H:%M",
        "%b %d, %Y %I:%M %p",
        "%d-%b-%Y %H:%M",
        "%a, %d %b %Y %H:%M",
        "%Y%m%d %H:%M",
        "%Y-%m-%d %H:%M:%S.000",
    ],
)
def test_a_time_is_read_in_any_usual_form(written, form):
    times = [f'"{each}"' for each in steps(48, 60, form)]
    found = read(written, table("Timestamp,kWh", zip(times, [1] * 48, strict=True)))
    assert found.first_s == int(BASE.replace(tzinfo=UTC).timestamp())
    assert (found.readings, found.interval_s, found.gaps) == (48, 3600, 0)


@pytest.mark.parametrize(("scale", "places"), [(1, 0), (1000, 0), (1, 1)])
def test_seconds_and_milliseconds_since_1970_are_read(written, scale, places):
    first = 1_750_000_000
    times = [f"{(first + 60 * n) * scale:.{places}f}" for n in range(30)]
    found = read(written, table("epoch,W", zip(times, [500] * 30, strict=True)))
    assert (found.first_s, found.interval_s) == (first, 60)


def test_an_offset_behind_the_time_is_taken_off(written):
    times = steps(24, 60, "%Y-%m-%dT%H:%M:%S-07:00")
    found = read(written, table("time,kWh", zip(times, [1] * 24, strict=True)))
    assert found.first_s == int(BASE.replace(tzinfo=UTC).timestamp()) + 7 * 3600


def test_a_day_above_12_shows_its_place(written):
    times = steps(24 * 14, 60, "%d/%m/%Y %H:%M")  # 2 to 15 June
    found = read(written, table("Date Time,kWh", zip(times, [1] * 336, strict=True)))
    assert (found.span_days, found.gaps) == (14, 0)
    assert said(found, "dates") == ""


def test_an_unclear_order_of_day_and_month_is_said_and_can_be_told(written):
    times = steps(24, 60, "%m/%d/%Y %H:%M")
    text = table("Date Time,kWh", zip(times, [1] * 24, strict=True))
    found = read(written, text)
    assert "could be read two ways: taken as month first" in said(found, "dates")
    assert [each.asks for each in found.statements if each.about == "dates"] == [True]
    other = read(written, text, day_first=True)
    february_6 = int(datetime(2025, 2, 6, tzinfo=UTC).timestamp())
    assert other.first_s == february_6


@pytest.mark.parametrize(
    ("head", "hours"),
    [
        ("Date,Hour,kWh", range(24)),
        ("Date,Hour,kWh", range(1, 25)),
        ("Date,Hour Ending,kWh", range(1, 25)),
        ("Date,Time,kWh", [f"{h:02d}:00" for h in range(24)]),
        ("Date,Hour Ending,kWh", [f"{h:02d}:00" for h in range(1, 25)]),
        (
            "Date,Start Time,kWh",
            [f"{(h - 1) % 12 + 1}:00 {'AP'[h > 11]}M" for h in range(24)],
        ),
    ],
)
def test_hours_of_a_day_are_read_as_numbers_starts_or_ends(written, head, hours):
    rows = [("2025-06-02", hour, 1 + (at == 23)) for at, hour in enumerate(hours)]
    found = read(written, table(head, rows))
    assert found.first_s == int(BASE.replace(tzinfo=UTC).timestamp())
    assert found.maximum_start_s == found.first_s + 23 * 3600
    assert (found.readings, found.gaps) == (24, 0)


@pytest.mark.parametrize(("minutes", "last"), [(15, 14), (30, 29), (60, 59), (15, 0)])
def test_end_times_may_be_inclusive_or_not(written, minutes, last):
    rows = []
    for n in range(96):
        start = BASE + timedelta(minutes=minutes * n)
        end = start + timedelta(minutes=last or minutes)
        rows.append((f"{start:%Y-%m-%d}", f"{start:%H:%M}", f"{end:%H:%M}", 0.5))
    found = read(written, table("DATE,START TIME,END TIME,USAGE (kWh)", rows))
    assert (found.interval_s, found.gaps) == (minutes * 60, 0)
    assert found.maximum_w == pytest.approx(500 * 60 / minutes)


def test_ends_alone_are_moved_back_by_the_interval(written):
    times = steps(24, 60, "%Y-%m-%d %H:%M")
    found = read(written, table("Interval End,kWh", zip(times, [1] * 24, strict=True)))
    assert found.first_s == int(BASE.replace(tzinfo=UTC).timestamp()) - 3600


# --- the clock's changes --------------------------------------------------------


@pytest.mark.parametrize("minutes", [60, 30, 15])
def test_a_doubled_hour_in_a_named_zone_is_two_hours(written, minutes):
    per_hour = 60 // minutes
    start = datetime(2025, 11, 2, 5, tzinfo=UTC)  # midnight in Chicago
    moments = [start + timedelta(minutes=minutes * n) for n in range(25 * per_hour)]
    times = [f"{each.astimezone(CHICAGO.zone):%Y-%m-%d %H:%M}" for each in moments]
    text = table("Timestamp,kWh", zip(times, [0.5] * len(times), strict=True))
    found = read(written, text, zone=CHICAGO)
    assert found.first_s == int(start.timestamp())
    assert (found.readings, found.gaps, found.duplicates) == (25 * per_hour, 0, 0)


def test_a_skipped_hour_in_a_named_zone_is_no_gap(written):
    start = datetime(2025, 3, 9, 6, tzinfo=UTC)
    moments = [start + timedelta(hours=n) for n in range(23)]
    times = [f"{each.astimezone(CHICAGO.zone):%m/%d/%Y %H:%M}" for each in moments]
    text = table("Timestamp,kWh", zip(times, [0.5] * 23, strict=True))
    found = read(written, text, zone=CHICAGO)
    assert (found.readings, found.gaps, found.span_s) == (23, 0, 23 * 3600)


def test_standard_time_all_year_is_seen_by_the_hour_that_cannot_be(written):
    times = [
        f"{datetime(2025, 3, 8) + timedelta(hours=n):%Y-%m-%d %H:%M}" for n in range(72)
    ]
    text = table("Timestamp,kWh", zip(times, [0.5] * 72, strict=True))
    found = read(written, text, zone=CHICAGO)
    assert (found.readings, found.gaps) == (72, 0)
    assert "standard time all year" in said(found, "clock")


# --- numbers and units ----------------------------------------------------------


@pytest.mark.parametrize(
    ("head", "amount", "kwh"),
    [
        ("kWh", "1.5", 1.5),
        ("Usage (Wh)", "1500", 1.5),
        ("Power (kW)", "1.5", 1.5),
        ("Watts", "1,500.0", 1.5),
        ("Usage", "$1.5", 1.5),
        ("Usage", "1500", 1.5),
        ("Consumption in kilowatt-hours", "1.5", 1.5),
    ],
)
def test_amounts_are_read_in_their_unit(written, head, amount, kwh):
    cells = [f'"{amount}"'] * 24
    times = steps(24, 60, "%Y-%m-%d %H:%M")
    found = read(written, table(f"Timestamp,{head}", zip(times, cells, strict=True)))
    assert found.energy_wh == pytest.approx(24 * kwh * 1000)


def test_a_unit_in_a_column_of_its_own_counts(written):
    rows = [(each, 1500, "Wh") for each in steps(24, 60, "%Y-%m-%d %H:%M")]
    assert read(written, table("Date Time,Usage,Units", rows)).energy_wh == 36_000


def test_rows_of_gas_are_left_out(written):
    rows = []
    for each in steps(24, 60, "%Y-%m-%d %H:%M"):
        rows += [
            ("Electric usage", each, 1.5, "kWh"),
            ("Natural gas", each, 9, "therms"),
        ]
    found = read(written, table("TYPE,Date Time,Usage,Units", rows))
    assert found.energy_wh == pytest.approx(36_000)
    assert "24 rows" in [each.what for each in found.left_out]


def test_an_inferred_unit_is_asked_and_can_be_told(written):
    rows = zip(steps(24, 60, "%Y-%m-%d %H:%M"), [0.9] * 24, strict=True)
    text = table("Timestamp,Usage", rows)
    assert "taken as kWh" in said(read(written, text), "unit")
    told = read(written, text, unit="kW")
    assert said(told, "unit") == "kW, as you said"
    with pytest.raises(InputError, match="unit 'furlong' is none of"):
        read(written, text, unit="furlong")


def test_no_unit_that_makes_it_a_house_is_refused(written):
    rows = zip(steps(24, 60, "%Y-%m-%d %H:%M"), [10**9] * 24, strict=True)
    with pytest.raises(InputError, match="none makes it a house"):
        read(written, table("Timestamp,Usage", rows))


def test_the_current_of_one_leg_alone_is_refused(written):
    rows = zip(steps(24, 60, "%Y-%m-%d %H:%M"), [30] * 24, strict=True)
    with pytest.raises(InputError, match="current of both legs is needed"):
        read(written, table("Timestamp,Current (A)", rows))


@pytest.mark.parametrize("blank", ["", "-", "n/a", "NULL", "nan", "missing"])
def test_a_blank_is_missing_and_not_zero(written, blank):
    rows = list(zip(steps(24, 60, "%Y-%m-%d %H:%M"), ["1.0"] * 24, strict=True))
    rows[5] = (rows[5][0], blank)
    found = read(written, table("Timestamp,kWh", rows))
    assert (found.readings, found.gaps) == (23, 1)


@pytest.mark.parametrize("number", ["1_000", "inf", "١٢", "0x10", "1e999", "1.2.3"])
def test_what_only_a_generous_reader_takes_for_a_number_is_none(written, number):
    rows = list(zip(steps(24, 60, "%Y-%m-%d %H:%M"), ["1.0"] * 24, strict=True))
    rows[5] = (rows[5][0], number)
    found = read(written, table("Timestamp,kWh", rows))
    assert (found.readings, found.maximum_w) == (23, 1000)


def test_many_cells_that_are_no_numbers_are_refused(written):
    rows = zip(steps(24, 60, "%Y-%m-%d %H:%M"), ["12 apples"] * 24, strict=True)
    with pytest.raises(InputError, match="24 cells of"):
        read(written, table("Timestamp,kWh", rows))


@pytest.mark.parametrize(
    ("heads", "amount", "watts"),
    [
        (("Leg A kWh", "Leg B kWh"), 1.5, 3000),
        (("Phase A", "Phase B"), 1500, 3000),
        (("L1 Current", "L2 Current"), 12.5, 3000),
        (("I1", "I2"), 12.5, 3000),
        (("CT1 (W)", "CT2 (W)"), 1500, 3000),
        (("Mains_A (kW)", "Mains_B (kW)"), 1.5, 3000),
    ],
)
def test_two_legs_are_known_by_their_heads(written, heads, amount, watts):
    rows = [(each, amount, amount) for each in steps(24, 60, "%Y-%m-%d %H:%M")]
    rows[3] = (rows[3][0], amount, "")
    found = read(written, table("Timestamp," + ",".join(heads), rows))
    assert found.maximum_w == pytest.approx(watts)
    assert found.leg_a_w == pytest.approx(watts / 2)
    assert (found.readings, found.gaps) == (23, 1)


def test_a_table_of_gas_alone_is_refused(written):
    rows = [("Natural gas", each, 2) for each in steps(24, 60, "%Y-%m-%d %H:%M")]
    with pytest.raises(InputError, match="no row of electricity"):
        read(written, table("TYPE,Date Time,Usage (kWh)", rows))
    days = [("Natural gas", f"2025-06-0{day}", *[1] * 24) for day in (2, 3)]
    head = "Type,Date," + ",".join(f"{hour}:00" for hour in range(24))
    with pytest.raises(InputError, match="no row of electricity"):
        read(written, table(head, days))


def test_rows_of_several_units_are_refused(written):
    rows = [
        (each, 1500, ("Wh", "kWh")[place % 2])
        for place, each in enumerate(steps(24, 60, "%Y-%m-%d %H:%M"))
    ]
    with pytest.raises(InputError, match="rows of several units"):
        read(written, table("Date Time,Usage,Units", rows))


def test_one_row_shows_no_interval(written):
    with pytest.raises(InputError, match="fewer than two readings"):
        read(written, table("Date Time,kWh", [("2025-06-02 00:00", 1)]))


def test_a_time_the_clock_skips_is_left_out_where_the_doubled_hour_is_kept(written):
    spring = ["2025-03-09 01:00", "2025-03-09 02:00", "2025-03-09 03:00"]
    autumn = ["2025-11-02 00:00", "2025-11-02 01:00", "2025-11-02 01:00"]
    rows = [(each, 1) for each in (*spring, *autumn)]
    found = read(written, table("Date Time,kWh", rows), zone=CHICAGO)
    assert found.readings == 5
    assert [each.why for each in found.left_out] == [
        "a time the clock skipped in spring"
    ]


# --- layouts --------------------------------------------------------------------


@pytest.mark.parametrize("by", [",", ";", "\t", "|"])
@pytest.mark.parametrize("before", [0, 5, 59])
def test_the_header_is_found_below_a_preamble(written, by, before):
    lines = [f"line {n} of a preamble" for n in range(before)]
    rows = [(each, "1.5") for each in steps(24, 60, "%Y-%m-%d %H:%M")]
    text = "\n".join([*lines, table(f"Date Time{by}Usage (kWh)", rows, by=by)])
    assert read(written, text).energy_wh == pytest.approx(36_000)


def test_a_header_below_line_60_is_not_looked_for(written):
    rows = [(each, "1.5") for each in steps(24, 60, "%Y-%m-%d %H:%M")]
    text = "\n".join(["preamble"] * 60 + [table("Date Time,Usage (kWh)", rows)])
    with pytest.raises(InputError, match="no header"):
        read(written, text)


@pytest.mark.parametrize("count", [24, 48, 96])
def test_a_day_in_one_row_has_24_48_or_96_columns(written, count):
    step = 1440 // count
    titles = [f"{n * step // 60}:{n * step % 60:02d}" for n in range(count)]
    row = [500] * (count - 1) + [900]
    days = [(f"2025-06-0{day}", *row) for day in (2, 3, 4)]
    found = read(written, table("Date," + ",".join(titles), days), unit="Wh")
    assert (found.readings, found.interval_s) == (3 * count, 86400 // count)
    assert found.maximum_start_s == found.first_s + 86400 - step * 60


def test_rows_from_the_newest_to_the_oldest_are_turned_round(written):
    start = datetime(2025, 11, 2, 5, tzinfo=UTC)
    moments = [start + timedelta(hours=n) for n in range(25)]
    rows = [
        (f"{each.astimezone(CHICAGO.zone):%Y-%m-%d %H:%M}", 1 + place)
        for place, each in enumerate(moments)
    ]
    forward = read(written, table("Date Time,kWh", rows), zone=CHICAGO)
    backward = read(written, table("Date Time,kWh", rows[::-1]), zone=CHICAGO)
    assert backward.readings == forward.readings == 25
    assert backward.maximum_start_s == forward.maximum_start_s
    assert "newest to the oldest" in said(backward, "table")


def test_a_column_that_no_row_fills_at_its_end_is_no_damage(written):
    rows = [(each, 1.5) for each in steps(24, 60, "%Y-%m-%d %H:%M")]
    found = read(written, table("Date Time,kWh,COST,NOTES", rows))
    assert found.energy_wh == pytest.approx(36_000)
    short = [("2025-06-02", f"{hour:02d}:00") for hour in range(24)]
    with pytest.raises(InputError, match=r"line 2.*2 cells where the header has 3"):
        read(written, table("Date,Time,kWh", short))


def test_rows_of_several_appliances_are_refused(written):
    rows = []
    for each in steps(24, 60, "%Y-%m-%d %H:%M"):
        rows += [(each, "dryer", 60), (each, "whole house", 900), (each, "lamp", 3)]
    with pytest.raises(
        InputError, match=r"48 of 72 rows.*several appliances or meters"
    ):
        read(written, table("DateTime,Name,Avg Wattage (W)", rows))


def test_a_few_corrected_rows_are_corrections(written):
    rows = [(each, 1.5) for each in steps(48, 60, "%Y-%m-%d %H:%M")]
    rows.append((rows[7][0], 2.5))
    found = read(written, table("DateTime,kWh", rows))
    assert (found.readings, found.corrected, found.maximum_w) == (48, 1, 2500)


def test_a_period_across_the_change_of_the_clock_is_as_long_as_any(written):
    start = datetime(2025, 11, 2, 5, tzinfo=UTC)
    moments = [start + timedelta(minutes=15 * n) for n in range(101)]
    local = [f"{each.astimezone(CHICAGO.zone):%Y-%m-%d %H:%M:%S}" for each in moments]
    rows = [(f'"{a} to {b}"', 0.25) for a, b in pairwise(local)]
    head = "Energy consumption time period,Usage(Real energy in kilowatt-hours)"
    found = read(written, table(head, rows), zone=CHICAGO)
    assert (found.readings, found.gaps, found.flagged) == (100, 0, 0)
    assert found.maximum_w == 1000


def test_windows_lines_and_letters_outside_utf_8_are_read(written):
    rows = [(each, "1.5", "geschätzt") for each in steps(24, 60, "%Y-%m-%d %H:%M")]
    text = table("Date Time,kWh,Notes", rows).replace("\n", "\r\n")
    found = read(written, text.encode("cp1252"))
    assert found.energy_wh == pytest.approx(36_000)
    assert "Windows-1252" in said(found, "letters")


def test_quick_and_strict_reading_agree(written):
    rows = [(each, n) for n, each in enumerate(steps(100, 15, "%Y-%m-%d %H:%M"))]
    plain = table("Date Time,Wh", rows)
    quoted = table("Date Time,Wh", [(f'"{each}"', n) for each, n in rows])
    one, other = (
        read_table(written(text, "m.csv")).series[0] for text in (plain, quoted)
    )
    assert one.start_s.tolist() == other.start_s.tolist()
    assert one.amount.tolist() == other.amount.tolist()


def test_a_long_headed_stranger_is_no_header():
    assert find_header(["Dear customer, thank you", "Kind regards"]) is None


def test_an_uneven_logger_holds_its_last_amount(written):
    first = 1_750_000_000
    # Written on change: 1 kW for 10 s, 3 kW for 25 s, 2 kW for 5 s and again and again.
    moments, at = [], first
    for _ in range(20):
        for watts, seconds in ((1000, 10), (3000, 25), (2000, 5)):
            moments.append((at, watts))
            at += seconds
    found = read(written, table("ts,W", moments))
    spent = 1000 * 10 + 3000 * 25 + 2000 * 5
    # The last row's length is not known; the interval of the others stands for it.
    assert found.energy_wh == pytest.approx(20 * spent / 3600, rel=0.02)
    assert "holds until the next" in said(found, "interval")


@settings(
    max_examples=300,
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture],
)
@given(st.data())
def test_a_damaged_table_is_read_or_refused_and_never_crashes(written, data):
    rows = [(each, "1.5", "") for each in steps(48, 30, "%m/%d/%Y %I:%M %p")]
    raw = bytearray(table("Date Time,Usage (kWh),Notes", rows).encode())
    for _ in range(data.draw(st.integers(1, 8))):
        place = data.draw(st.integers(0, len(raw) - 1))
        cut = data.draw(st.integers(0, 30))
        junk = (b"", b'"', b",", b"\n", b"-9e9", b"99/99/9999", b"\xff", b"nan", b";")
        raw[place : place + cut] = data.draw(st.sampled_from(junk))
    try:
        found = demand_of(written(bytes(raw), "m.csv"))
    except InputError:
        return
    assert found.maximum_w >= 0


@settings(
    max_examples=200,
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture],
)
@given(st.text(alphabet='date,time kWh;:0123456789-/\n"\t.', max_size=400))
def test_any_text_is_read_or_refused(written, text):
    with suppress(InputError):
        assert demand_of(written(text, "m.csv")).maximum_w >= 0
