"""Tables as utilities and loggers really write them, one trap at a time.

The house is the same invented one in every test, so what must come out is known: a
day's energy and a peak of 4.8 kW at noon.
"""

import gzip
import io
import zipfile
from datetime import UTC, datetime, timedelta

import pytest
from table_builder import FIRST, PEAK_KW, plain, table, times, usage_kwh

from lugbook.demand.clock import open_zone
from lugbook.demand.summary import demand_of
from lugbook.demand.table_file import TableOptions
from lugbook.errors import InputError

CHICAGO = open_zone("America/Chicago")
COUNT = 96
KWH = usage_kwh(COUNT)
STARTS = times(COUNT)
WATTS = [kwh * 4000 for kwh in KWH]
DAY_WH = sum(KWH) * 1000
FIRST_S = int(FIRST.replace(tzinfo=UTC).timestamp())


def read(written, content, **options):
    zone = options.get("zone")
    return demand_of(written(content, "m.csv"), TableOptions(**options), zone=zone)


def said(summary, about):
    return " · ".join(each.said for each in summary.statements if each.about == about)


def asked(summary):
    return {each.about for each in summary.statements if each.asks}


def is_the_day(found, *, first_s=FIRST_S, energy_wh=DAY_WH):
    assert found.energy_wh == pytest.approx(energy_wh, rel=1e-9)
    assert found.maximum_w == pytest.approx(PEAK_KW * 1000)
    assert (found.first_s, found.gaps, found.duplicates) == (first_s, 0, 0)
    return True


# --- letters, lines, quotes -----------------------------------------------------


@pytest.mark.parametrize(
    "content",
    [
        plain().encode("utf-8-sig"),
        plain().encode("utf-16"),
        plain().encode("utf-16-le"),
        b"\xfe\xff" + plain().encode("utf-16-be"),
        plain().encode("utf-32"),
        plain().replace("\n", "\r\n").encode(),
        plain().replace("\n", "\r").encode(),
        plain().replace("\n", "\r\n", 40).encode(),
        plain().encode() + b"\0" * 512,
        gzip.compress(plain().encode()),
    ],
    ids=["bom", "16", "16-le", "16-be", "32", "crlf", "cr", "mixed", "zeros", "gzip"],
)
def test_letters_and_line_ends_of_any_kind_give_the_same(written, content):
    assert is_the_day(read(written, content))


def test_a_zip_of_one_table_is_read(written):
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w") as archive:
        archive.writestr("usage.csv", plain())
    assert is_the_day(read(written, packed.getvalue()))


def test_degree_and_euro_in_windows_letters_are_read(written):
    rows = [(at, kwh, "21°", "3€") for at, kwh in zip(STARTS, KWH, strict=True)]
    text = table("Timestamp,kWh,Temp °C,Cost €", rows)
    assert is_the_day(read(written, text.encode("cp1252")))


@pytest.mark.parametrize(
    "text",
    [
        plain().replace("Timestamp", "# Timestamp"),
        "# logger, invented\n" + plain(),
        '"Invented house, with address"\nAccount,="0012"\n\n' + plain(),
        '"An address\nof two lines"\n' + plain(),
        plain().replace("Timestamp,kWh", '"Date\nTime","Usage\n(kWh)"'),
        plain().replace("2025-06-02 03:00", "# restarted\n2025-06-02 03:00"),
        plain().replace("2025-06-02 03:00", "Timestamp,kWh\n2025-06-02 03:00"),
        plain().replace("\n", ",\n"),
        plain() + "\n\n",
        plain() + f"Total,{sum(KWH):.3f}\n",
        plain() + f",{sum(KWH):.3f}\n",
        plain() + "\nWritten by an invented utility, all of it, invented\n",
        plain() + "2025-06-0",
    ],
    ids=lambda text: text[:12] + text[-12:],
)
def test_what_stands_around_the_readings_is_no_reading(written, text):
    assert is_the_day(read(written, text))


def test_a_remark_of_two_lines_is_no_open_quote(written):
    rows = list(zip(STARTS, KWH, [""] * COUNT, strict=True))
    rows[5] = (*rows[5][:2], '"meter\nchanged"')
    assert is_the_day(read(written, table("Timestamp,kWh,Notes", rows)))
    rows[5] = (*rows[5][:2], '"meter')
    rows[9] = (*rows[9][:2], 'changed"')
    with pytest.raises(InputError, match=r"line 11.*quote that is not closed"):
        read(written, table("Timestamp,kWh,Notes", rows))


def test_a_row_without_its_notes_is_whole_and_one_with_more_cells_is_damaged(written):
    rows = list(zip(STARTS, KWH, ["x"] * COUNT, strict=True))
    rows[7] = rows[7][:2]
    found = read(written, table("Timestamp,kWh,Notes", rows))
    assert is_the_day(found)
    assert "1 rows do not have" in said(found, "table")
    rows[7] = (*rows[6], "more", "still more")
    with pytest.raises(InputError, match=r"line 9.*5 cells where the header has 3"):
        read(written, table("Timestamp,kWh,Notes", rows))


# --- numbers --------------------------------------------------------------------


@pytest.mark.parametrize("mark", [",", " ", "\u00a0", "\u202f", "'", "\u2019"])
def test_thousands_may_be_set_apart(written, mark):
    cells = [f'"{kwh * 4000:,.1f}"'.replace(",", mark) for kwh in KWH]
    rows = zip(STARTS, cells, strict=True)
    assert is_the_day(read(written, table("Timestamp,W", rows)))


def test_beside_semicolons_a_comma_with_three_digits_is_a_decimal_mark(written):
    # 1,250 kWh is one and a quarter; taken for thousands it would be 1000 times more.
    rows = [(at, f"1,{250 + place}") for place, at in enumerate(times(24, 60))]
    found = read(written, table("Timestamp;kWh", rows, by=";"))
    assert found.energy_wh == pytest.approx(sum(1250 + n for n in range(24)))
    assert "decimal mark" in said(found, "numbers")


def test_a_unit_behind_the_number_is_taken(written):
    cells = [f"{kwh * 1000:.0f} Wh" for kwh in KWH]
    found = read(written, table("Timestamp,Usage", zip(STARTS, cells, strict=True)))
    assert is_the_day(found)
    assert "behind the amounts" in said(found, "unit")


@pytest.mark.parametrize("error", ["65535", "-9999", "99999.999", "1e309"])
def test_what_no_house_draws_is_left_out_as_a_mark_of_an_error(written, error):
    cells = [str(kwh) for kwh in KWH]
    cells[5] = error
    found = read(written, table("Timestamp,kWh", zip(STARTS, cells, strict=True)))
    assert (found.readings, found.maximum_w) == (COUNT - 1, PEAK_KW * 1000)
    assert any("1 readings" in each.what for each in found.left_out)


@pytest.mark.parametrize(
    ("head", "factor"), [("kW", 4000), ("kWh", 1000), ("Wh", 1), ("L1 (mW)", 1)]
)
def test_a_unit_by_which_it_is_no_house_is_asked_about(written, head, factor):
    rows = zip(STARTS, [kwh * factor for kwh in KWH], strict=True)
    found = read(written, table(f"Timestamp,{head}", rows))
    assert "unit" in asked(found)
    assert "a house averages 0.3 to 5 kW" in said(found, "unit") or "taken as" in said(
        found, "unit"
    )


def test_formulas_and_commands_to_a_terminal_are_shown_as_text(written):
    head = 'Timestamp,kWh,"=HYPERLINK(""x"")",\x1b[31mred'
    rows = [(at, kwh, "=1+1", "x") for at, kwh in zip(STARTS, KWH, strict=True)]
    found = read(written, table(head, rows))
    assert is_the_day(found)
    shown = "".join(each.what for each in found.left_out)
    assert "=HYPERLINK" in shown
    assert "\x1b" not in shown
    with pytest.raises(InputError, match=r"96 cells.*as '=1\+1'"):
        read(written, table("Timestamp,kWh", zip(STARTS, ["=1+1"] * 96, strict=True)))


# --- times ----------------------------------------------------------------------


@pytest.mark.parametrize(
    ("form", "ahead_h"),
    [
        ("%-m/%-d/%Y %-I:%M%p", 0),
        ("%d-%b-%y %I.%M.%S %p", 0),
        ("%Y%m%d%H%M", 0),
        ("%Y%m%d%H%M%S", 0),
        ("%Y%m%dT%H%M%SZ", 0),
        ("%Y-%m-%d-%H:%M", 0),
        ("%m/%d/%Y:%H:%M", 0),
        ("%m/%d/%Y, %I:%M:%S %p", 0),
        ("%a %b %d %H:%M:%S %Y", 0),
        ("%a %b %d %Y %H:%M:%S GMT-0500 (CDT)", -5),
        ("%Y-%m-%dT%H:%M:%S.123456-05:00", -5),
        ("%Y-%m-%dT%H:%M:%S-0500", -5),
        ("%Y-%m-%d %H:%M:%S CDT", -5),
    ],
)
def test_more_forms_of_time_are_read(written, form, ahead_h):
    cells = [f'"{each}"' for each in times(COUNT, form=form)]
    found = read(written, table("Timestamp,kWh", zip(cells, KWH, strict=True)))
    assert is_the_day(found, first_s=FIRST_S - ahead_h * 3600)


@pytest.mark.parametrize("parts", [1, 10**3, 10**6, 10**9])
def test_seconds_since_1970_and_their_parts_are_read(written, parts):
    cells = [(FIRST_S + 900 * place) * parts for place in range(COUNT)]
    assert is_the_day(read(written, table("ts,kWh", zip(cells, KWH, strict=True))))


def test_days_as_spreadsheets_count_them_are_read(written):
    # 45810 is 2025-06-02: 20,241 days after 1970-01-01, which is 25569.
    cells = [f"{45810 + place / 96:.6f}" for place in range(COUNT)]
    assert is_the_day(read(written, table("Date,kWh", zip(cells, KWH, strict=True))))


@pytest.mark.parametrize("form", ["%d/%m/%Y", "%m/%d/%Y"])
def test_of_two_orders_the_one_without_holes_is_taken_and_asked(written, form):
    hours = [FIRST + timedelta(hours=hour) for hour in range(24 * 9)]
    rows = [(f"{each:{form}}", f"{each:%H:%M}", 0.9) for each in hours]
    found = read(written, table("Date,Time,kWh", rows))
    assert (found.first_s, found.span_days, found.gaps) == (FIRST_S, 9, 0)
    assert "dates" in asked(found)
    assert "scattered over 243" in said(found, "dates")
    other = read(written, table("Date,Time,kWh", rows), day_first=form[1] == "m")
    assert other.span_days > 200


HOURS = usage_kwh(72, 60)
HOUR_ROWS = [(FIRST + timedelta(hours=hour), kwh) for hour, kwh in enumerate(HOURS)]


@pytest.mark.parametrize(
    ("head", "cells"),
    [
        ("Date,Hour", lambda at: (f"{at:%m/%d/%Y}", f"HE{at.hour + 1:02d}")),
        ("Date,HourEnding", lambda at: (f"{at:%m/%d/%Y}", f"{at.hour + 1:02d}00")),
        ("Date,Hour Ending", lambda at: (f"{at:%m/%d/%Y}", f"{at.hour + 1}:00")),
        (
            "Date,Hour Ending",  # midnight written with the day that it ends
            lambda at: (f"{at:%m/%d/%Y}", f"{(at.hour + 1) % 24:02d}:00"),
        ),
        (
            "Date,Hour Ending",
            lambda at: (
                f"{at:%m/%d/%Y}",
                f"{at + timedelta(hours=1):%I:%M %p}",
            ),
        ),
        (
            "Date,Hour Ending",  # midnight written with the day that it begins
            lambda at: (
                f"{at + timedelta(hours=1):%m/%d/%Y}",
                f"{at + timedelta(hours=1):%H:%M}",
            ),
        ),
        ("Date,Hour", lambda at: (f"{at:%m/%d/%Y}", f"{at:%-I %p}")),
        (
            "Date,Hour",
            lambda at: (f"{at:%m/%d/%Y}", f"{at:%H}:00 - {at.hour + 1}:00"),
        ),
        (
            "Date,Time",
            lambda at: (
                f"{at:%m/%d/%Y}",
                f"{at:%-I:%M %p} - {at + timedelta(hours=1):%-I:%M %p}",
            ),
        ),
        ("Date,Interval", lambda at: (f"{at:%m/%d/%Y}", at.hour + 1)),
        (
            "Year,Month,Day,Hour,Minute",
            lambda at: (at.year, at.month, at.day, at.hour, at.minute),
        ),
        (
            "Date,Start,End",
            lambda at: (
                f"{at:%Y-%m-%d}",
                f"{at:%H:%M}",
                f"{at + timedelta(hours=1):%H:%M}",
            ),
        ),
    ],
)
def test_date_and_hour_may_stand_in_columns_of_their_own(written, head, cells):
    rows = [(*cells(at), kwh) for at, kwh in HOUR_ROWS]
    found = read(written, table(f"{head},kWh", rows))
    assert is_the_day(found, energy_wh=sum(HOURS) * 1000)
    assert found.maximum_start_s == FIRST_S + 36 * 3600


@pytest.mark.parametrize(
    ("head", "cells"),
    [
        ("Date,Hour,Minute", lambda n: (15 * n // 60, 15 * n % 60)),
        ("Date,Time", lambda n: (15 * n // 60 * 100 + 15 * n % 60,)),
        ("Date,Time", lambda n: (f"{15 * n // 60 * 100 + 15 * n % 60:04d}",)),
        ("Date,Interval", lambda n: (n + 1,)),
    ],
)
def test_quarter_hours_may_be_numbered_or_in_two_columns(written, head, cells):
    rows = [("2025-06-02", *cells(place), kwh) for place, kwh in enumerate(KWH)]
    assert is_the_day(read(written, table(f"{head},kWh", rows)))


@pytest.mark.parametrize("between", ["/", " to ", " - "])
def test_one_column_may_give_both_ends(written, between):
    ends = times(COUNT, first=FIRST + timedelta(minutes=15))
    cells = [f"{start}{between}{end}" for start, end in zip(STARTS, ends, strict=True)]
    found = read(written, table("Interval,kWh", zip(cells, KWH, strict=True)))
    assert is_the_day(found)
    assert "from start to end" in said(found, "interval")


def test_a_heading_may_name_the_time_zone(written):
    rows = zip(STARTS, WATTS, strict=True)
    found = read(written, table("Time Bucket (America/Chicago),Mains (Watts)", rows))
    assert is_the_day(found, first_s=FIRST_S + 5 * 3600)
    assert "clock" not in asked(found)


def test_kilowatts_of_both_directions_by_the_end_of_the_half_hour(written):
    # Newest first, the unit and the direction in one column of words.
    rows = []
    for place, kwh in enumerate(usage_kwh(144, 30)):
        end = FIRST + timedelta(minutes=30 * (place + 1))
        for way, kw in (("Export", 0.0), ("Import", kwh * 2)):
            words = f"Active {way} Interval (kW)"
            rows.append(("M", f"{kw:.6f}", words, f"{end:%d-%m-%Y %H:%M}"))
    head = "Meter Number,Read Value,Read Type,Read Date and End Time"
    found = read(written, table(head, rows[::-1]))
    assert is_the_day(found, energy_wh=sum(usage_kwh(144, 30)) * 1000)
    assert "kW" in said(found, "unit")


def test_a_midnight_behind_the_date_is_passed_over(written):
    rows = [
        (f"{at[:10]}T00:00:00Z", at[11:], kwh)
        for at, kwh in zip(STARTS, KWH, strict=True)
    ]
    assert is_the_day(read(written, table("date,time,kWh", rows)))


def test_whether_a_time_ends_its_interval_can_be_told(written):
    found = read(written, plain(), times_end=True)
    assert is_the_day(found, first_s=FIRST_S - 900)
    ends = table("Interval End,kWh", zip(STARTS, KWH, strict=True))
    assert is_the_day(read(written, ends), first_s=FIRST_S - 900)
    assert is_the_day(read(written, ends, times_end=False))


def test_the_interval_can_be_told(written):
    text = table("Timestamp,kW", zip(STARTS[::4], HOURS[:24], strict=True))
    assert read(written, text, interval_s=900).energy_wh == pytest.approx(
        sum(HOURS[:24]) * 250
    )


def test_hours_that_follow_quarter_hours_are_hours(written):
    # Read as quarter hours, 1 kWh an hour would be 4 kW.
    noon = FIRST + timedelta(hours=12)
    low = [0.25] * 48
    rows = [*zip(STARTS[:48], low, strict=True)]
    rows += [(at, 1.0) for at in times(24, 60, first=noon)]
    found = read(written, table("Start,kWh", rows))
    assert (found.maximum_w, found.energy_wh, found.gaps) == (1000, 36_000, 0)
    assert "interval" in asked(found)


def test_two_months_of_bills_in_one_file_show_no_demand(written):
    bills = [(f"2025-{month:02d}", 900) for month in range(1, 13)]
    with pytest.raises(InputError, match="31 days each, which hide every peak"):
        read(written, table("Month,kWh", bills))
    days = [(f"2025-06-{day:02d}", 24, "kWh") for day in range(1, 30)]
    with pytest.raises(InputError, match="1 day each, which hide every peak"):
        read(written, table("DATE,USAGE,UNITS", days))


# --- which rows and columns -----------------------------------------------------


@pytest.mark.parametrize(
    "kinds", [("Consumption", "Surplus Generation"), ("Delivered", "Received")]
)
def test_rows_of_both_directions_are_told_apart(written, kinds):
    rows = [
        (at, kind, kwh if kind == kinds[0] else 0.1)
        for kind in kinds
        for at, kwh in zip(STARTS, KWH, strict=True)
    ]
    found = read(written, table("Timestamp,Direction,kWh", rows))
    assert is_the_day(found)
    assert found.flows_back


def test_two_meters_are_two_points_and_one_is_asked_for(written):
    rows = [
        (meter, at, round(kwh * factor, 4))
        for at, kwh in zip(STARTS, KWH, strict=True)
        for meter, factor in (("A1", 1), ("A2", 0.5))
    ]
    text = table("Meter ID,Timestamp,kWh", rows)
    found = read(written, text)
    assert is_the_day(found)
    assert "point" in asked(found)
    other = demand_of(written(text, "m.csv"), point="A2")
    assert other.energy_wh == pytest.approx(DAY_WH / 2)


@pytest.mark.parametrize(
    "head",
    [
        "Timestamp,Net (kWh),Delivered (kWh),Received (kWh)",
        "Timestamp,Meter Reading (kWh),Usage (kWh),Generation (kWh)",
        "Timestamp,Fridge (kWh),Total (kWh),Solar (kWh)",
        "Timestamp,Tier 1 (kWh),Total (kWh),Export (kWh)",
    ],
)
def test_of_several_columns_the_house_s_is_taken(written, head):
    rows = [(at, kwh / 3, kwh, 0) for at, kwh in zip(STARTS, KWH, strict=True)]
    assert is_the_day(read(written, table(head, rows)))


def test_kilovoltamperes_are_a_thousand_voltamperes(written):
    rows = zip(STARTS, [kwh * 4 for kwh in KWH], strict=True)
    assert is_the_day(read(written, table("Timestamp,kVA", rows)))


@pytest.mark.parametrize(
    "head", ["local_15min,use,gen", "last_changed,state,pv", "Read Time,Power,Solar"]
)
def test_loggers_call_time_and_power_by_many_names(written, head):
    rows = [(at, kwh * 4, 0) for at, kwh in zip(STARTS, KWH, strict=True)]
    assert is_the_day(read(written, table(head, rows), unit="kW"))


def test_of_two_units_that_make_a_house_both_are_said(written):
    found = read(written, table("Timestamp,Usage", zip(STARTS, WATTS, strict=True)))
    assert "taken as Wh, by which the house averages 3.9 kW; in W" in said(
        found, "unit"
    )
    assert "unit" in asked(found)


def test_parts_by_price_are_added_up(written):
    rows = [
        (at, kwh * (place < 48), kwh * (place >= 48))
        for place, (at, kwh) in enumerate(zip(STARTS, KWH, strict=True))
    ]
    found = read(written, table("Timestamp,On-Peak kWh,Off-Peak kWh", rows))
    assert is_the_day(found)
    assert "added up" in said(found, "columns")


def test_a_column_can_be_named(written):
    rows = [(at, kwh, kwh / 2) for at, kwh in zip(STARTS, KWH, strict=True)]
    text = table("Timestamp,Barn (kWh),Cabin (kWh)", rows)
    found = read(written, text)
    assert is_the_day(found)
    assert "columns" in asked(found)
    named = read(written, text, column="cabin (kwh)")
    assert named.energy_wh == pytest.approx(DAY_WH / 2)
    with pytest.raises(InputError, match=r'no column of amounts "attic"; there are'):
        read(written, text, column="attic")


@pytest.mark.parametrize(
    ("head", "mark"),
    [("Read Type", "Estimated"), ("ESTIMATED_ACTUAL", "E"), ("Quality", "Estimate")],
)
def test_an_estimated_reading_sets_no_maximum(written, head, mark):
    rows = [
        (at, kwh, mark if kwh == KWH[48] else "A")
        for at, kwh in zip(STARTS, KWH, strict=True)
    ]
    found = read(written, table(f"Timestamp,kWh,{head}", rows))
    assert found.estimated == 1
    assert found.maximum_w < PEAK_KW * 1000
    assert found.energy_wh == pytest.approx(DAY_WH)


# --- legs -----------------------------------------------------------------------


@pytest.mark.parametrize(
    ("head", "cells"),
    [
        ("L1 Amps,L2 Amps", lambda w: (w / 240, w / 240)),
        ("Amps1,Amps2", lambda w: (w / 240, w / 240)),
        ("Irms1 (A),Irms2 (A)", lambda w: (w / 240, w / 240)),
        ("L1 (mA),L2 (mA)", lambda w: (w / 0.24, w / 0.24)),
        ("L1 A,L2 A,Voltage", lambda w: (w / 236, w / 236, 236)),
        ("L1 A,L2 A,L1 Volts,L2 Volts", lambda w: (w / 236, w / 244, 118, 122)),
        ("Phase A (W),Phase B (W),Total (W)", lambda w: (w / 2, w / 2, w)),
        ("mains_1,mains_2,fridge", lambda w: (w / 2, w / 2, 100)),
        ("L1 (W),L2 (W)", lambda w: (w / 2, -w / 2)),
        ("L1 (W),L2 (W)", lambda w: (-w / 2, -w / 2)),
    ],
)
def test_both_legs_make_the_house(written, head, cells):
    rows = [(at, *cells(watts)) for at, watts in zip(STARTS, WATTS, strict=True)]
    found = read(written, table(f"Timestamp,{head}", rows))
    assert is_the_day(found)
    assert found.leg_a_w == pytest.approx(PEAK_KW * 500)
    assert not [each for each in found.left_out if "olt" in each.what]
    if "-" in str(rows[0][1:]):
        assert "direction" in asked(found)


def test_the_voltage_of_a_leg_can_be_told(written):
    rows = [(at, w / 230, w / 230) for at, w in zip(STARTS, WATTS, strict=True)]
    assert is_the_day(read(written, table("Time,L1 A,L2 A", rows), leg_v=115))
    with pytest.raises(InputError, match="--leg-volts: 240 V; accepted: 100 to 140 V"):
        TableOptions(leg_v=240)
    with pytest.raises(InputError, match="--interval: 0 s; accepted"):
        TableOptions(interval_s=0)


def test_three_phases_are_no_house_of_two_legs(written):
    rows = [(at, w / 3, w / 3, w / 3) for at, w in zip(STARTS, WATTS, strict=True)]
    with pytest.raises(InputError, match="three phases"):
        read(written, table("Time,L1 (W),L2 (W),L3 (W)", rows))


def test_what_is_net_and_below_zero_is_not_turned_round(written):
    rows = [(at, -kwh) for at, kwh in zip(STARTS, KWH, strict=True)]
    found = read(written, table("Timestamp,Net (kWh)", rows))
    assert (found.energy_wh, found.flows_back) == (0, True)
    turned = read(written, table("Timestamp,Usage (kWh)", rows))
    assert is_the_day(turned)
    assert "direction" in asked(turned)


def test_one_leg_alone_is_asked_about(written):
    rows = zip(STARTS, WATTS, strict=True)
    assert "legs" in asked(read(written, table("Time,Leg A (W)", rows)))


# --- counters -------------------------------------------------------------------


def test_usage_that_happens_to_climb_is_no_counter(written):
    rows = zip(times(24, 60), [1 + n / 100 for n in range(24)], strict=True)
    found = read(written, table("Timestamp,kWh", rows))
    assert found.readings == 24


def test_a_counter_is_differenced_and_its_reset_left_out(written):
    total, cells = 0.0, []
    for place, kwh in enumerate(KWH):
        total = 0.0 if place == 60 else total + kwh
        cells.append(round(9000 * (place < 60) + total, 3))
    rows = zip(STARTS, cells, strict=True)
    found = read(written, table("Timestamp,energy_total_kwh", rows))
    assert found.maximum_w == pytest.approx(PEAK_KW * 1000)
    assert found.readings == COUNT - 2


@pytest.mark.parametrize("read_as", [99_999.999, 0.0])
def test_a_counter_read_wrongly_once_sets_no_maximum(written, read_as):
    cells = [round(12_000 + sum(KWH[: place + 1]), 3) for place in range(COUNT)]
    cells[20] = read_as
    rows = zip(STARTS, cells, strict=True)
    found = read(written, table("Timestamp,Meter Reading (kWh)", rows))
    assert found.maximum_w == pytest.approx(PEAK_KW * 1000)
    assert found.readings == COUNT - 3
    assert "unit" not in asked(found)


def test_an_exchanged_counter_s_leap_is_no_energy(written):
    cells = [
        round(1_000 + 5_000 * (place >= 50) + sum(KWH[: place + 1]), 3)
        for place in range(COUNT)
    ]
    rows = zip(STARTS, cells, strict=True)
    found = read(written, table("Timestamp,Meter Reading (kWh)", rows))
    assert found.maximum_w == pytest.approx(PEAK_KW * 1000)
    assert any("leapt" in each.why for each in found.left_out)


# --- one day a row --------------------------------------------------------------


def wide(heads, per_day, *, before="Date", cells=lambda day: (day,)):
    kwh = usage_kwh(per_day * 3, 1440 // per_day)
    rows = [
        (*cells(f"2025-06-0{2 + day}"), *kwh[day * per_day : (day + 1) * per_day])
        for day in range(3)
    ]
    return table(",".join([before, *heads]), rows), sum(kwh) * 1000


@pytest.mark.parametrize(
    ("heads", "per_day"),
    [
        ([f"HE{n:02d}" for n in range(1, 25)], 24),
        ([f"Hour {n}" for n in range(1, 25)], 24),
        ([f"{n:02d}00" for n in range(1, 25)], 24),
        ([f"Hr{n} (kWh)" for n in range(1, 25)], 24),
        ([f"KWH_{n:02d}" for n in range(1, 25)], 24),
        ([str(n) for n in range(24)], 24),
        ([f"{n % 12 or 12}:00 {'AP'[n > 11]}M" for n in range(24)], 24),
        ([f"{n // 2:02d}:{n % 2 * 30:02d}" for n in range(1, 49)], 48),
        ([str(n) for n in range(1, 97)], 96),
        ([f"{n // 4 % 24:02d}:{n % 4 * 15:02d}" for n in range(1, 97)], 96),
    ],
    ids=lambda value: value[0] if isinstance(value, list) else str(value),
)
def test_the_columns_of_a_day_are_known_by_their_heads(written, heads, per_day):
    text, energy_wh = wide(heads, per_day)
    found = read(written, text)
    assert is_the_day(found, energy_wh=energy_wh)
    assert found.interval_s == 86400 // per_day


@pytest.mark.parametrize("by_number", [True, False])
def test_a_25th_column_is_the_hour_more_of_a_day_in_autumn(written, by_number):
    heads = [f"HE{n}" for n in range(1, 25)]
    heads.insert(24 if by_number else 2, "HE25" if by_number else "HE2X")
    spare = 24 if by_number else 2
    rows = []
    for day in (1, 2, 3):
        cells = [str(n / 10) for n in range(1, 26)]
        if day != 2:
            cells = cells[:24]
            cells.insert(spare, "")
        rows.append((f"2025-11-0{day}", *cells))
    found = read(written, table("Date," + ",".join(heads), rows), zone=CHICAGO)
    assert (found.readings, found.gaps, found.estimated) == (73, 0, 0)
    midnight = datetime(2025, 11, 2, 5, tzinfo=UTC).timestamp()
    assert found.maximum_start_s == midnight + 24 * 3600
    assert found.span_s == 73 * 3600
    alone = read(written, table("Date," + ",".join(heads), rows))
    assert alone.readings == 72
    assert any("--zone" in each.why for each in alone.left_out)


def test_the_hour_that_a_day_in_spring_lacks_may_be_blank(written):
    heads = [f"{hour}:00" for hour in range(24)]
    rows = [
        (f"2025-03-0{day}", *("" if (day, h) == (9, 2) else 1 for h in range(24)))
        for day in (7, 8, 9)
    ]
    found = read(written, table("Date," + ",".join(heads), rows), zone=CHICAGO)
    assert (found.readings, found.gaps, found.span_s) == (71, 0, 71 * 3600)


def test_wide_rows_of_gas_and_of_what_flows_back_are_told_apart(written):
    heads = ",".join(f"H{hour}" for hour in range(1, 25))
    rows = [
        (way, unit, f"2025-06-0{day}", *[amount] * 24)
        for day in (2, 3)
        for way, unit, amount in (
            ("Delivered", "kWh", 1.0),
            ("Received", "kWh", 0.3),
            ("Delivered", "therm", 7.0),
        )
    ]
    found = read(written, table(f"Direction,UOM,Date,{heads}", rows))
    assert (found.readings, found.maximum_w, found.flows_back) == (48, 1000, True)


# --- the clock's changes --------------------------------------------------------


def test_an_hour_that_stands_once_where_the_clock_shows_it_twice_may_hold_both(
    written,
):
    rows = [(f"2025-11-02 {h:02d}:00", 2 if h == 1 else 1) for h in range(24)]
    found = read(written, table("Timestamp,kWh", rows), zone=CHICAGO)
    assert (found.maximum_w, found.estimated, found.energy_wh) == (1000, 1, 25_000)


def test_a_zero_in_the_hour_the_clock_skips_only_keeps_its_place(written):
    rows = [(f"2025-03-09 {h:02d}:00", 0 if h == 2 else 1) for h in range(24)]
    found = read(written, table("Timestamp,kWh", rows), zone=CHICAGO)
    assert (found.readings, found.gaps, found.span_s) == (23, 0, 23 * 3600)


# --- refusals -------------------------------------------------------------------


@pytest.mark.parametrize(
    ("content", "sentence"),
    [
        ("", "an empty file"),
        ("Timestamp,kWh\n", "a header without a single row"),
        ("Timestamp,kWh", "a header without a single row"),
        (plain(1), "fewer than two readings"),
        ("Dear customer, thank you\n" * 9, "no header with a time and an amount"),
        (plain().encode()[:99] + b"\0" + plain().encode()[99:], "holds zero bytes"),
        (table("Date,CCF", zip(STARTS, KWH, strict=True)), "which is no electricity"),
        (table("Date,kWh", [(at, "") for at in STARTS]), "no amount at all"),
        (table("Date,Cost", zip(STARTS, KWH, strict=True)), "no header"),
        ("Timestamp,kWh\n" + "x" * 300_000 + ",1\n", "no time that can be read"),
        (
            table("Date,kWh,Note", [(STARTS[0], 1, "y" * 200_000)]) + plain()[14:],
            "field larger than field limit",
        ),
        (gzip.compress(plain().encode())[:-20], "damaged"),
    ],
    ids=lambda value: value[:14] if isinstance(value, str) else "bytes",
)
def test_what_is_no_record_is_refused_in_one_sentence(written, content, sentence):
    with pytest.raises(InputError, match=sentence) as refusal:
        read(written, content)
    assert "\n" not in str(refusal.value)
