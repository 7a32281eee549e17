"""What must not change the answer: order, copies, delimiter, letters, unit, form."""

import csv
import io
import random
from contextlib import suppress

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from table_builder import FIRST, plain, table, times, usage_kwh

from lugbook.demand.cleaning import cleaned
from lugbook.demand.summary import demand_of
from lugbook.demand.table_bytes import ByteColumn, byte_columns
from lugbook.demand.table_file import TableOptions, read_table
from lugbook.demand.table_numbers import numbers
from lugbook.demand.table_times import moments
from lugbook.errors import InputError

COUNT = 192
KWH = usage_kwh(COUNT)
QUICK = settings(
    max_examples=25,
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture],
)
FORMS = (
    "%Y-%m-%d %H:%M",
    "%Y-%m-%dT%H:%M:%S",
    "%Y/%m/%d %H:%M:%S",
    "%Y%m%d%H%M",
    "%b %d, %Y %I:%M %p",
    "%d-%b-%Y %H:%M:%S",
)
UNITS = {"kWh": 1.0, "Wh": 1000.0, "kW": 4.0, "W": 4000.0, "MWh": 0.001}
HEADS = [
    "Date",
    "Time",
    "Hour",
    "Start",
    "End",
    "Interval",
    "Minute",
    "Year",
    "Month",
    "Day",
    "L1_(W)",
    "L2_(A)",
    "Units",
    "L1_Volts",
    "Direction",
    "kWh",
    "Net_kWh",
    "Export_kWh",
    "Tier_1",
    "On-Peak",
    "Type",
    "Meter",
    "Power",
    "Read_Type",
    "Meter_Reading",
    "Temp",
    "Timestamp",
]
CELLS = [
    "2025-06-02",
    "6/3/2025",
    "12:00",
    "24",
    "HE07",
    "0730",
    "1.5",
    "-3",
    "A",
    "Received",
    "kWh",
    "therm",
    "1,5",
    "240",
    "2025-06-02T15:30",
    "1748822400",
    "00:00-01:00",
    "Estimated",
    "45810.5",
    "99999999999",
]
CELLS.append("")
LETTERS = ("utf-8", "utf-8-sig", "utf-16", "utf-16-be", "cp1252", "utf-32")


def outcome(summary):
    return (
        summary.readings,
        summary.interval_s,
        summary.first_s,
        summary.span_s,
        summary.maximum_start_s,
        summary.gaps,
        pytest.approx(summary.energy_wh, rel=1e-9),
        pytest.approx(summary.maximum_w, rel=1e-9),
    )


@QUICK
@given(seed=st.integers(0, 10**6), copies=st.integers(0, 40))
def test_neither_order_nor_copies_of_rows_change_the_answer(written, seed, copies):
    rows = list(zip(times(COUNT), KWH, strict=True))
    straight = demand_of(written(table("Timestamp,kWh", rows), "m.csv"))
    dice = random.Random(seed)
    mixed = rows + dice.choices(rows, k=copies)
    dice.shuffle(mixed)
    found = demand_of(written(table("Timestamp,kWh", mixed), "m.csv"))
    assert found.duplicates == copies
    assert outcome(found) == outcome(straight)


@QUICK
@given(
    by=st.sampled_from(",;\t|"),
    letters=st.sampled_from(LETTERS),
    end=st.sampled_from(("\n", "\r\n", "\r")),
    unit=st.sampled_from(sorted(UNITS)),
    form=st.sampled_from(FORMS),
    quoted=st.booleans(),
    comma=st.booleans(),
)
def test_delimiter_letters_unit_and_form_do_not_change_the_answer(
    written, by, letters, end, unit, form, quoted, comma
):
    straight = demand_of(
        written(table("Timestamp,kWh", zip(times(COUNT), KWH, strict=True)), "m.csv")
    )
    amounts = [f"{kwh * UNITS[unit]:.6f}" for kwh in KWH]
    if comma:
        amounts = [each.replace(".", ",") for each in amounts]
    cells = [times(COUNT, form=form), amounts]
    if quoted or by == ",":
        cells = [[f'"{cell}"' for cell in column] for column in cells]
    text = table(f"Timestamp{by}{unit}", zip(*cells, strict=True), by=by, end=end)
    found = demand_of(written(text.encode(letters), "m.csv"))
    assert outcome(found) == outcome(straight)


@QUICK
@given(
    st.lists(
        st.tuples(st.booleans(), st.integers(0, 10**9), st.integers(0, 6)), min_size=1
    )
)
def test_numbers_read_all_at_once_are_those_read_one_by_one(drawn):
    cells = []
    for negative, digits, decimals in drawn:
        text = f"{digits:0{decimals + 1}d}"
        if decimals:
            text = f"{text[:-decimals]}.{text[-decimals:]}"
        cells.append("-" * negative + text)
    body = "".join(f"x,{cell}\n" for cell in cells).encode()
    column = byte_columns(body, 0, ",", 2)[1]
    assert list(column) == cells
    # Equal to the last bit: both are the float nearest to the decimal.
    assert column.floats().tolist() == [float(cell) for cell in cells]
    assert numbers(column).amounts.tolist() == numbers(cells).amounts.tolist()


@pytest.mark.parametrize(
    "cell", ["", "-", ".", "-.", "1-2", "1.2.3", "1e5", "+1", " 1", "12345678901234567"]
)
def test_what_is_no_plain_decimal_is_left_to_the_careful_way(cell):
    body = f"x,1.5\nx,{cell}\n".encode()
    assert byte_columns(body, 0, ",", 2)[1].floats() is None


@pytest.mark.parametrize(("cell", "number"), [("5.", 5.0), (".5", 0.5), ("-.5", -0.5)])
def test_a_point_may_stand_at_either_end(cell, number):
    assert byte_columns(f"x,{cell}\n".encode(), 0, ",", 2)[1].floats() == [number]


@settings(max_examples=400, deadline=None)
@given(st.text(alphabet='ab1,."\n\r', max_size=40))
def test_cells_found_all_at_once_are_those_of_the_careful_reader(text):
    found = byte_columns(text.encode(), 0, ",", 2)
    if found is None:
        return
    rows = list(csv.reader(io.StringIO(text.rstrip("\r\n"), newline=""), strict=True))
    assert [list(cells) for cells in zip(*found, strict=True)] == rows


@settings(max_examples=300, deadline=None)
@given(
    st.lists(
        st.text(alphabet='ab,"\n', max_size=5).filter(lambda cell: cell != ""),
        min_size=2,
        max_size=20,
    ).filter(lambda cells: len(cells) % 2 == 0),
    st.sampled_from((csv.QUOTE_ALL, csv.QUOTE_MINIMAL)),
)
def test_quoted_cells_are_bared_only_where_no_quote_hides_anything(cells, quoting):
    rows = [cells[place : place + 2] for place in range(0, len(cells), 2)]
    text = io.StringIO()
    csv.writer(text, quoting=quoting, lineterminator="\n").writerows(rows)
    found = byte_columns(text.getvalue().encode(), 0, ",", 2)
    if found is not None:
        assert [list(each) for each in zip(*found, strict=True)] == rows
    elif not any(set(cell) & set(',"\n') for cell in cells):
        pytest.fail("a plain table was not read all at once")


@pytest.mark.parametrize("form", ["%Y-%m-%d %H:%M", "%Y-%m-%dT%H:%M:%SZ"])
def test_times_read_all_at_once_are_those_read_one_by_one(form):
    cells = times(COUNT, 37, form)
    body = "".join(f"{cell},1\n" for cell in cells).encode()
    column = byte_columns(body, 0, ",", 2)[0]
    assert isinstance(column, ByteColumn)
    one_by_one = [moments([f" {cell}"]).clock_s[0] for cell in cells]
    assert moments(column).clock_s.tolist() == one_by_one


@pytest.mark.parametrize(
    "cell", ["2025-02-30 00:00", "2025-13-01 00:00", "2025-01-01 24:01"]
)
def test_a_time_that_is_none_is_unread_both_ways(cell):
    body = f"2025-01-01 00:00,1\n{cell},1\n".encode()
    for cells in (byte_columns(body, 0, ",", 2)[0], [" 2025-01-01 00:00", cell]):
        assert (np.diff(moments(cells).clock_s) < 0).all()


def test_a_minute_s_year_read_all_at_once_is_the_same_as_row_by_row(written):
    count = 20_000
    watts = [f"{400 + place * 7919 % 6000}.{place % 10}" for place in range(count)]
    rows = list(zip(times(count, 1), watts, strict=True))
    quick = written(table("Timestamp,W", rows), "quick.csv")
    # One blank line, and it is no plain table any more.
    careful = written(table("Timestamp,W", rows).replace("\n", "\n\n", 2), "slow.csv")
    one, other = (cleaned(read_table(path)) for path in (quick, careful))
    assert one.start_s.tolist() == other.start_s.tolist()
    assert one.energy_wh.tolist() == other.energy_wh.tolist()


@settings(
    max_examples=80,
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture],
)
@given(st.data())
def test_a_damaged_wide_table_is_read_or_refused_and_never_crashes(written, data):
    heads = ",".join(f"HE{hour}" for hour in range(1, 26))
    rows = [(f"{6 + day}/1/2025", *[1.5] * 24, "") for day in range(4)]
    raw = bytearray(table(f"Meter,Date,{heads},Direction", rows).encode())
    for _ in range(data.draw(st.integers(1, 8))):
        place = data.draw(st.integers(0, len(raw) - 1))
        junk = (b"", b'"', b",", b"\n", b"\r", b"-9e9", b"Received", b"\xff", b"nan")
        raw[place : place + data.draw(st.integers(0, 9))] = data.draw(
            st.sampled_from(junk)
        )
    with suppress(InputError):
        assert demand_of(written(bytes(raw), "m.csv")).maximum_w >= 0


@settings(
    max_examples=80,
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture],
)
@given(
    st.lists(st.sampled_from(HEADS), min_size=1, max_size=7),
    st.lists(st.sampled_from(CELLS), min_size=7, max_size=60),
)
def test_any_heads_over_any_cells_are_read_or_refused(written, heads, cells):
    width = len(heads)
    rows = [cells[at : at + width] for at in range(0, len(cells) - width + 1, width)]
    for options in (TableOptions(), TableOptions(times_end=True, day_first=True)):
        with suppress(InputError):
            path = written(table(";".join(heads), rows, by=";"), "m.csv")
            assert demand_of(path, options).maximum_w >= 0


def test_the_builder_s_first_day_is_what_the_tests_take_it_for():
    assert plain(2).splitlines()[1].startswith(f"{FIRST:%Y-%m-%d %H:%M}")
