"""Tables of interval data: what utilities and loggers write as CSV.

The header is found by its words, and what each column holds, its unit, the interval
and the order of day and month are inferred. Everything inferred is said, and every
inference can be overridden by an argument.
"""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Any

from lugbook.demand.arrays import commonest
from lugbook.demand.clock import (
    Clock,
    FixedClock,
    RuleClock,
    ZoneClock,
    open_zone,
    utc_of_local,
)
from lugbook.demand.opened import Progress, chunks, opened, unusable
from lugbook.demand.series import (
    Flow,
    LeftOut,
    MeterFile,
    MeterSeries,
    Quantity,
    Statement,
)
from lugbook.demand.table_header import (
    FIRST_LINES,
    Amount,
    Columns,
    Header,
    find_header,
    unit_of,
)
from lugbook.demand.table_times import UNREAD, DayOrder, Moments, moments

if TYPE_CHECKING:
    from lugbook.demand.series import Floats, Integers

__all__ = ["TableOptions", "read_table"]

DAY_S, HOUR_S = 86400, 3600
ESTIMATED, DOUBTFUL = 8, 13  # codes of quality, as ESPI numbers them
SKIPPED = UNREAD + 1  # a time that the clock skipped
LEG_V = 120.0  # nominal, leg to neutral of a 120/240 V service
# A house's average power, to tell units apart: data.md 1.7, common practice.
LEAST_HOUSE_W, MOST_HOUSE_W = 100.0, 10_000.0
MOST_BAD_FRACTION = 0.01  # of rows; more, and the table is not what we think
MOST_REPEATED_FRACTION = 0.05  # of rows, to be corrections and not other meters
TOO_LARGE = 1e12  # no meter of a house counts so far
_BLANK = {"", "-", "--", "n/a", "na", "null", "none", "nan", "missing", "."}
_NUMBER = re.compile(r"[+-]?(\d+\.?\d*|\.\d+)([eE][+-]?\d{1,2})?")
_PLAIN_NUMERALS = b"0123456789.-+eE"
_ESTIMATED = re.compile(
    r"\b(e|est\w*|interpolat\w*|projected|substitut\w*|calculated)\b", re.IGNORECASE
)
_NOT_ESTIMATED = re.compile(r"\b(not|non|no)[ -]?est", re.IGNORECASE)
_ELECTRIC = re.compile(r"elec", re.IGNORECASE)
_OTHER_SERVICE = re.compile(r"gas|water|therm|steam|propane", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class TableOptions:
    """What a person says of a table, going before what it seems to be.

    Args:
        zone: Time zone of its clock. [-]
        unit: Unit of its amounts, as "kWh". [-]
        interval_s: Interval of its rows. [s]
        day_first: Whether dates give the day before the month. [-]
        leg_v: Voltage from leg to neutral, where it holds amperes. [V]
    """

    zone: ZoneClock | None = None
    unit: str | None = None
    interval_s: int | None = None
    day_first: bool | None = None
    leg_v: float = LEG_V


@dataclass(slots=True)
class _Table:
    """A table being read."""

    name: str
    options: TableOptions
    header: Header
    cells: list[Sequence[str]]
    statements: list[Statement] = field(default_factory=list)
    left_out: list[LeftOut] = field(default_factory=list)

    @property
    def columns(self) -> Columns:
        """Return what the columns hold."""
        return self.header.columns

    def say(self, about: str, said: str, mend: str = "", *, asks: bool = False) -> None:
        """Add a statement."""
        self.statements.append(Statement(about, said, mend, asks))

    def leave_out(self, what: str, why: str) -> None:
        """Add something left out."""
        self.left_out.append(LeftOut(what, why))


@dataclass(frozen=True, slots=True)
class _Times:
    """When the readings of a table were, and for how long."""

    start_s: Integers
    duration_s: Integers
    quality: Integers
    clock: Clock


def read_table(
    path: Path,
    options: TableOptions | None = None,
    *,
    progress: Progress | None = None,
) -> MeterFile:
    """The series of a table.

    Args:
        path: The file, plain or packed by gzip or zip. [-]
        options: What a person says of it. [-]
        progress: Told how far the reading is. [-]

    Returns:
        Its series, with all that was inferred. [-]

    Raises:
        InputError: It is no table of interval data, or not a sound one.
    """
    name = str(path)
    with opened(path) as stream:
        pieces = chunks(stream, name, progress, path.stat().st_size)
        raw = b"".join(pieces)
    text, encoding = _decoded(raw, name)
    del raw
    lines = [
        line for _, line in zip(range(FIRST_LINES), io.StringIO(text), strict=False)
    ]
    header = find_header([line.rstrip("\r\n") for line in lines])
    if header is None:
        raise unusable(
            name,
            f"no header with a time and an amount in its first {FIRST_LINES} lines",
        )
    body = text[sum(map(len, lines[: header.line])) :]
    table = _Table(name, options or TableOptions(), header, [])
    if encoding:
        table.say("letters", f"read as {encoding}, since they are not UTF-8")
    table.cells = _columns(body, table)
    _say_header(table)
    series, clock = _wide(table) if header.columns.wide else _long(table)
    return MeterFile(
        name=name,
        layout="table",
        series=tuple(series),
        clock=clock,
        statements=tuple(table.statements),
        left_out=tuple(table.left_out),
    )


def _decoded(raw: bytes, name: str) -> tuple[str, str]:
    if raw[:2] in (b"\xff\xfe", b"\xfe\xff"):
        try:
            return raw.decode("utf-16"), ""
        except UnicodeDecodeError as error:
            raise unusable(name, "damaged UTF-16 text") from error
    if b"\0" in raw:
        raise unusable(name, "not text: it holds zero bytes")
    try:
        return raw.decode("utf-8-sig"), ""
    except UnicodeDecodeError:
        return raw.decode("cp1252", "replace"), "Windows-1252"


# --- rows and columns -----------------------------------------------------------


def _columns(body: str, table: _Table) -> list[Sequence[str]]:
    """Return the cells of the body, column by column."""
    count = len(table.header.titles)
    return _even_columns(body, table.header.delimiter, count) or list(
        zip(*_rows(body, table), strict=True)
    )


def _even_columns(body: str, delimiter: str, count: int) -> list[Sequence[str]] | None:
    """Return the columns of a body without quotes whose rows are all alike.

    A minute's record of a year is half a million rows; cutting it at once takes a
    third of the time of reading row by row.
    """
    import numpy as np

    if '"' in body or count < 2 or not body.isascii():
        return None
    body = body.replace("\r\n", "\n").rstrip("\n")
    if not body or "\r" in body:
        return None
    raw = np.frombuffer(body.encode("ascii"), dtype=np.uint8)
    ends = np.flatnonzero(raw == 10)
    parts = np.flatnonzero(raw == ord(delimiter))
    if len(parts) != (len(ends) + 1) * (count - 1):
        return None
    by_row = parts.reshape(-1, count - 1)
    bounds = np.concatenate(([-1], ends, [len(raw)]))
    if (by_row[:, 0] < bounds[:-1]).any() or (by_row[:, -1] > bounds[1:]).any():
        return None
    tokens = body.replace("\n", delimiter).split(delimiter)
    return [tokens[place::count] for place in range(count)]


def _rows(body: str, table: _Table) -> list[list[str]]:
    """Return the rows of a body, strictly: each with as many cells as the header."""
    titles = [title.strip() for title in table.header.titles]
    count = len(titles)
    first = table.header.line
    rows: list[list[str]] = []
    short: list[tuple[int, list[str]]] = []
    headings = others = 0
    reader = csv.reader(
        io.StringIO(body, newline=""), delimiter=table.header.delimiter, strict=True
    )
    try:
        for row in reader:
            line = first + reader.line_num
            if not any(cell.strip() for cell in row):
                continue
            if [cell.strip() for cell in row] == titles:
                headings += 1
                continue
            while len(row) > count and not row[-1].strip():
                row.pop()
            if len(row) != count:
                if _is_aside(row, count):
                    others += 1
                else:
                    short.append((line, row))
                continue
            if any("\n" in cell for cell in row):
                raise unusable(
                    table.name, "a quote that is not closed on its line", line=line
                )
            rows.append(row)
    except csv.Error as error:
        said = str(error).replace(
            "unexpected end of data", "a quote that is never closed"
        )
        raise unusable(table.name, said, line=first + reader.line_num) from error
    rows = _filled_up(rows, short, table)
    if headings or others:
        table.leave_out(f"{headings + others} lines", "headings between the rows")
    if not rows:
        raise unusable(table.name, "a header without a single row")
    return rows


def _filled_up(
    rows: list[list[str]], short: list[tuple[int, list[str]]], table: _Table
) -> list[list[str]]:
    """Return rows of one length; all may lack the same columns at their end.

    Some exports name a column for notes and never write it. A single row that is
    shorter or longer than the others is a damaged one.
    """
    if not short:
        return rows
    line, first = short[0]
    count, length = len(table.header.titles), len(first)
    columns = table.columns
    needed = [
        *(amount.index for amount in columns.amounts),
        *columns.wide,
        *(at for role, at in columns.times.items() if role not in ("cost", "note")),
    ]
    if rows or max(needed) >= length or any(len(row) != length for _, row in short):
        given = f"{length} cells where the header has {count}"
        raise unusable(table.name, given, line=line)
    titles = ", ".join(table.header.titles[length:])
    table.say("table", f'no row has a cell for "{titles}"')
    return [[*row, *[""] * (count - length)] for _, row in short]


def _is_aside(row: Sequence[str], count: int) -> bool:
    """Return whether a row of another length is a heading, not a damaged reading."""
    filled = [cell for cell in row if cell.strip()]
    if len(row) > count or len(filled) > 2:
        return False
    return moments([filled[0]]) is None or (len(filled) == 1 and len(row) == 1)


def _say_header(table: _Table) -> None:
    header = table.header
    parted = {",": "commas", ";": "semicolons", "\t": "tabs", "|": "bars"}
    where = f"header in line {header.line}" if header.line else "no header"
    table.say("table", f"{where}, parted by {parted[header.delimiter]}")
    for title in header.columns.left_out:
        table.leave_out(f'column "{title}"', "no time and no amount of electricity")


def _numbers(table: _Table, cells: Sequence[str], title: str) -> tuple[Floats, int]:
    """Return a column as numbers, NaN where blank, and how many could not be read."""
    import numpy as np

    joined = "".join(cells)
    if joined.isascii() and not joined.encode("ascii").translate(None, _PLAIN_NUMERALS):
        try:
            if "" not in cells:
                # From bytes; numpy reads these three times as fast as text.
                found = np.array(cells, dtype="S").astype(np.float64)
                if (np.abs(found) < TOO_LARGE).all():
                    return found, 0
        except ValueError:
            pass  # something like "1-2": looked at cell by cell below
    comma = _decimal_comma(cells)
    if comma:
        table.say("numbers", f'a comma is the decimal mark in "{title}"')
    known: dict[str, float] = {}
    found = np.empty(len(cells))
    bad = 0
    for index, cell in enumerate(cells):
        if cell not in known:
            known[cell] = _number(cell, comma=comma)
        found[index] = known[cell]
        bad += found[index] == np.inf
    found[np.isinf(found)] = np.nan
    return found, int(bad)


def _decimal_comma(cells: Sequence[str]) -> bool:
    with_comma = [cell.strip() for cell in cells if "," in cell]
    if not with_comma:
        return False
    if any("." in cell for cell in cells):
        return any(cell.rfind(",") > cell.rfind(".") > -1 for cell in with_comma)
    return not all(
        re.fullmatch(r"-?[1-9]\d{0,2}(,\d{3})+", cell) for cell in with_comma
    )


def _number(cell: str, *, comma: bool) -> float:
    """Return a cell as number: NaN where blank, infinity where it is none."""
    text = cell.strip().strip("$").strip().replace("\N{MINUS SIGN}", "-")
    if text.lower() in _BLANK:
        return float("nan")
    text = text.replace(".", "").replace(",", ".") if comma else text.replace(",", "")
    if not text.isascii() or not _NUMBER.fullmatch(text):
        return float("inf")
    number = float(text)
    return number if abs(number) < TOO_LARGE else float("inf")


# --- long tables: one reading a row ---------------------------------------------


def _long(table: _Table) -> tuple[Iterator[MeterSeries], Clock]:
    import numpy as np

    keep = _electric_rows(table)
    if keep is not None:
        table.cells = [[column[index] for index in keep] for column in table.cells]
    _forward_in_time(table)
    times = _times(table)
    read = times.start_s != UNREAD
    amounts = _chosen(table)
    found: list[tuple[Amount, Floats]] = []
    for amount in amounts:
        numbers, bad = _numbers(table, table.cells[amount.index], amount.title)
        if bad > max(1, MOST_BAD_FRACTION * len(numbers)):
            raise unusable(
                table.name, f'{bad} cells of "{amount.title}" that are no numbers'
            )
        if bad:
            table.leave_out(f"{bad} readings", f'no number in "{amount.title}"')
        found.append((amount, numbers))
    quality = _noted(table, times.quality)
    if not read.all():
        _leave_out_unread(table, read)
    rows = np.flatnonzero(times.start_s > SKIPPED)
    return _series(table, times, found, quality, rows), times.clock


def _forward_in_time(table: _Table) -> None:
    """Turn a table round whose rows run from the newest to the oldest."""
    import numpy as np

    said = len(table.statements)
    given = next((each for each in _clock_columns(table) if each), None)
    del table.statements[said:]
    if given is None:
        return
    steps = np.diff(given.clock_s[given.clock_s != UNREAD])
    if (steps < 0).sum() > (steps > 0).sum():
        table.cells = [column[::-1] for column in table.cells]
        table.say("table", "rows run from the newest to the oldest")


def _leave_out_unread(table: _Table, read: Any) -> None:
    """Say which rows have no time, and refuse where they are many."""
    import numpy as np

    bad = np.flatnonzero(~read)
    if len(bad) > max(2, MOST_BAD_FRACTION * len(read)):
        column = min(table.columns.times.values())
        cell = table.cells[column][int(bad[0])]
        raise unusable(
            table.name,
            f"{len(bad)} of {len(read)} rows without a time, as {cell[:40]!r}",
        )
    table.leave_out(f"{len(bad)} rows", "no time that can be read")


def _electric_rows(table: _Table) -> list[int] | None:
    """Return the rows of electricity where the table holds others; None for all."""
    keep: set[int] | None = None
    for role in ("type", "unit"):
        place = table.columns.times.get(role)
        if place is None:
            continue
        cells = table.cells[place]
        kinds = set(cells)
        if role == "type":
            out = {kind for kind in kinds if _OTHER_SERVICE.search(kind)}
            out -= {kind for kind in out if _ELECTRIC.search(kind)}
        else:
            out = {kind for kind in kinds if kind.strip() and not unit_of(kind)[0]}
        if out:
            rows = {index for index, cell in enumerate(cells) if cell not in out}
            keep = rows if keep is None else keep & rows
            table.leave_out(
                f"{len(cells) - len(rows)} rows", f"{', '.join(sorted(out))[:60]}"
            )
    if keep is not None and not keep:
        raise unusable(table.name, "no row of electricity")
    return None if keep is None else sorted(keep)


def _chosen(table: _Table) -> list[Amount]:
    """Return the columns to read: two legs, or the whole, with what flows back."""
    amounts = list(table.columns.amounts)
    legs = [amount for amount in amounts if amount.leg]
    whole = [amount for amount in amounts if not amount.leg]
    if {amount.leg for amount in legs} == {"A", "B"} and (
        not whole or all(amount.kind == "current" for amount in legs)
    ):
        pair = [next(each for each in legs if each.leg == leg) for leg in "AB"]
        kinds = [each for each in legs if each.kind == "power"]
        if len({each.leg for each in kinds}) == 2:
            pair = [next(each for each in kinds if each.leg == leg) for leg in "AB"]
        _leave_out_columns(table, amounts, pair)
        return pair
    forward = [amount for amount in amounts if not amount.reverse]
    reverse = [amount for amount in amounts if amount.reverse]
    if not forward:
        raise unusable(
            table.name, "only what flows to the grid, not what the house draws"
        )
    energy = [amount for amount in forward if amount.kind == "energy"]
    power = [amount for amount in forward if amount.kind == "power"]
    best = (energy or power or forward)[0]
    chosen = [best, *reverse[:1]]
    _leave_out_columns(table, amounts, chosen)
    return chosen


def _leave_out_columns(
    table: _Table, amounts: Sequence[Amount], kept: Sequence[Amount]
) -> None:
    for amount in amounts:
        if amount not in kept:
            table.leave_out(f'column "{amount.title}"', "another column was taken")


def _noted(table: _Table, quality: Integers) -> Integers:
    """Return the quality with what a column of notes says of estimates."""
    import numpy as np

    place = table.columns.times.get("note")
    if place is None:
        return quality
    title = table.header.titles[place].strip().lower()
    cells = table.cells[place]
    codes: dict[str, int] = {}
    for cell in set(cells):
        said = _ESTIMATED.search(cell) and not _NOT_ESTIMATED.search(cell)
        if title.startswith("estimat") and cell.strip().lower() in (
            "y",
            "yes",
            "true",
            "1",
        ):
            said = True
        codes[cell] = ESTIMATED if said else -1
    noted = np.array([codes[cell] for cell in cells], dtype=np.int64)
    return np.where(noted >= 0, noted, quality)


# --- times ----------------------------------------------------------------------


def _times(table: _Table) -> _Times:
    """Return start and duration of every row, in UTC where that can be told."""
    import numpy as np

    starts, ends = _clock_columns(table)
    given = starts if starts is not None else ends
    if given is None:
        raise unusable(table.name, "no column of times that can be read")
    step_s = table.options.interval_s or _step(given.clock_s, table.name)
    duration_s = np.full(len(given.clock_s), step_s, dtype=np.int64)
    shift_s = 0
    if starts is not None and ends is not None:
        duration_s, step_s = _durations(table, starts, ends, step_s)
    elif starts is None:
        shift_s = -step_s
        table.say("interval", f"times are the ends of intervals of {step_s:,} s")
    else:
        table.say("interval", f"times are the starts of intervals of {step_s:,} s")
    quality = np.full(len(duration_s), -1, dtype=np.int64)
    utc_s, clock = _in_utc(table, given, shift_s)
    return _Times(utc_s, duration_s, quality, clock)


def _clock_columns(table: _Table) -> tuple[Moments | None, Moments | None]:
    """Return starts and ends as the columns give them."""
    at = table.columns.times
    cells = table.cells
    order = None
    if table.options.day_first is not None:
        order = DayOrder(table.options.day_first, is_certain=True)
    starts = ends = None
    if "period" in at:
        pairs = [
            re.split(r"\s+(?:to|-|–)\s+", cell, maxsplit=1)
            for cell in cells[at["period"]]
        ]
        starts = moments([pair[0] for pair in pairs], order)
        ends = moments([pair[-1] for pair in pairs], order)
    elif "moment" in at:
        starts = moments(cells[at["moment"]], order)
    elif "date" in at and "time" in at:
        starts = moments(_joined(cells[at["date"]], _hours(cells[at["time"]])), order)
    elif "time" in at:
        starts = moments(cells[at["time"]], order)
    elif "date" in at and "end_time" not in at:
        starts = moments(cells[at["date"]], order)
    if ends is None and "end" in at:
        ends = moments(cells[at["end"]], order)
    elif ends is None and "end_time" in at:
        days = cells[at["end_date"]] if "end_date" in at else None
        if days is None and "date" in at:
            days = cells[at["date"]]
        times = _hours(cells[at["end_time"]], ending=True)
        ends = moments(_joined(days, times) if days is not None else times, order)
    elif ends is None and "end_date" in at:
        ends = moments(cells[at["end_date"]], order)
    for found in (starts, ends):
        if found and found.order and not found.order.is_certain:
            words = "day first" if found.order.day_first else "month first"
            table.say("dates", f"read {words}", "say whether the day stands first")
            break
    return starts, ends


def _joined(days: Sequence[str], times: Sequence[str]) -> list[str]:
    return [
        f"{day.strip()} {time.strip()}" for day, time in zip(days, times, strict=True)
    ]


def _hours(cells: Sequence[str], *, ending: bool = False) -> Sequence[str]:
    """Return hours written as bare numbers as times of day."""
    bare = {cell.strip() for cell in cells}
    if not all(re.fullmatch(r"\d{1,2}", cell) for cell in bare):
        return cells
    # 1 to 24 count the hours of a day; 0 to 23 name when they begin.
    counted = "24" in bare and bare.isdisjoint({"0", "00"})
    less = 1 if counted and not ending else 0
    return [f"{int(cell) - less:02d}:00" for cell in cells]


def _step(clock_s: Integers, name: str) -> int:
    """Return the commonest distance between times."""
    import numpy as np

    known = clock_s[clock_s != UNREAD]
    steps = np.diff(known)
    if (steps < 0).any():
        steps = np.diff(np.sort(known))
    steps = steps[steps > 0]
    if not len(steps):
        raise unusable(name, "fewer than two readings, from which no interval shows")
    return commonest(steps)


def _durations(
    table: _Table, starts: Moments, ends: Moments, step_s: int
) -> tuple[Integers, int]:
    """Return durations from starts and ends, inclusive ends made exclusive."""
    import numpy as np

    known = (starts.clock_s != UNREAD) & (ends.clock_s != UNREAD)
    raw = np.where(known, ends.clock_s - starts.clock_s, step_s)
    usual = commonest(raw[raw > 0]) if (raw > 0).any() else step_s
    # Where the clock changes, an end less its start is an hour out.
    raw = np.where(np.abs(raw - usual) == HOUR_S, usual, raw)
    length = np.where(raw < 0, raw + DAY_S, raw)  # an end past midnight
    for inclusive_s in (60, 1):
        if usual + inclusive_s == step_s:
            table.say("interval", f"end times are inclusive; intervals of {step_s:,} s")
            return np.where(length > 0, length + inclusive_s, step_s), step_s
    table.say("interval", f"from start to end time, mostly {usual:,} s")
    return np.where(length > 0, length, usual), usual


def _in_utc(table: _Table, given: Moments, shift_s: int) -> tuple[Integers, Clock]:
    import numpy as np

    clock_s = np.where(given.clock_s == UNREAD, UNREAD, given.clock_s + shift_s)
    zone = table.options.zone
    if given.ahead_s is not None:
        utc_s = np.where(clock_s == UNREAD, UNREAD, clock_s - given.ahead_s)
        ahead = int(np.median(given.ahead_s[given.clock_s != UNREAD]))
        clock: Clock = zone or FixedClock(ahead)
        table.say("clock", f"each time says its offset from UTC; days by {clock.name}")
        return utc_s, clock
    if zone:
        return _by_zone(table, clock_s, zone)
    return _without_zone(table, clock_s)


def _by_zone(
    table: _Table, clock_s: Integers, zone: ZoneClock
) -> tuple[Integers, Clock]:
    import numpy as np

    known = clock_s != UNREAD
    local = utc_of_local(np.where(known, clock_s, 0), zone)
    if len(local.missing) and not _repeats(clock_s, local.doubled):
        ahead = zone.offset_s(int(clock_s[known][0]) // DAY_S * DAY_S)
        standard = min(ahead, zone.offset_s(int(clock_s[known][0]) + 182 * DAY_S))
        table.say(
            "clock",
            f"times exist that the clock of {zone.name} skips, and none is doubled: "
            "taken as standard time all year",
        )
        return np.where(known, clock_s - standard, UNREAD), zone
    table.say("clock", f"local time of {zone.name}")
    if len(local.missing):
        table.leave_out(
            f"{len(local.missing)} rows", "a time the clock skipped in spring"
        )
    utc_s = np.where(known, local.utc_s, UNREAD)
    utc_s[local.missing] = SKIPPED
    return utc_s, zone


def _repeats(clock_s: Integers, places: Integers) -> bool:
    """Return whether times of the doubled hour really stand there twice."""
    import numpy as np

    return len(np.unique(clock_s[places])) < len(places)


# The clocks among which to find the rule of one that nobody named: rule of start and
# of end, a zone that keeps them, and its standard time ahead of UTC.
_RULES = (
    (0x360E2000, 0xB40E2000, "America/New_York", -5 * 3600),
    (0x3E0E1000, 0xAE0E2000, "Europe/London", 0),
    (0x3E0E2000, 0xAE0E3000, "Europe/Paris", 3600),
)


def _without_zone(table: _Table, clock_s: Integers) -> tuple[Integers, Clock]:
    import numpy as np

    mend = "--zone America/Chicago, or wherever the house stands"
    known = np.flatnonzero(clock_s != UNREAD)
    steps = np.diff(clock_s[known])
    backward = known[1:][(steps <= 0) & (steps >= -3600)]
    for start_rule, end_rule, name, standard_s in _RULES if len(backward) else ():
        zone = open_zone(name)
        local = utc_of_local(np.where(clock_s == UNREAD, 0, clock_s), zone)
        if np.isin(backward, local.doubled).any():
            utc_s = np.where(clock_s == UNREAD, UNREAD, local.utc_s + standard_s)
            table.say(
                "clock",
                "an hour stands twice in autumn: local time with summer time; the zone "
                "is not said, so UTC stands for standard time",
                mend,
                asks=True,
            )
            return utc_s, RuleClock(0, 3600, start_rule, end_rule)
    table.say(
        "clock",
        "no zone is said: times are taken as they stand, as UTC",
        mend,
        asks=True,
    )
    return clock_s, FixedClock()


# --- amounts --------------------------------------------------------------------


def _series(
    table: _Table,
    times: _Times,
    found: list[tuple[Amount, Floats]],
    quality: Integers,
    rows: Integers,
) -> Iterator[MeterSeries]:
    """Yield the series of the chosen columns, both legs made into one."""
    import numpy as np

    step_s = int(np.median(times.duration_s))
    first = found[0][0]
    if first.leg:
        yield _legs(table, times, found, quality, rows)
        return
    for amount, column in found:
        kind, factor = _kind(table, amount, column, step_s)
        if kind == "current":
            raise unusable(
                table.name,
                f'"{amount.title}" is the current of one conductor only',
                "The current of both legs is needed.",
            )
        kept = rows[~np.isnan(column[rows])]
        missing = len(rows) - len(kept)
        if missing and amount is first:
            table.leave_out(f"{missing} rows", "no amount")
        _refuse_several(table, times.start_s[kept], column[kept])
        quantity = Quantity.ENERGY if kind == "energy" else Quantity.REAL_POWER
        if quantity is Quantity.ENERGY and (amount.counter or _counts_up(column[kept])):
            quantity = Quantity.REGISTER
        net = amount.net or (bool((column[kept] < 0).any()) and len(found) == 1)
        yield MeterSeries(
            name=f'column "{amount.title}"',
            point="1",
            quantity=quantity,
            flow=Flow.REVERSE if amount.reverse else Flow.NET if net else Flow.FORWARD,
            is_electricity=True,
            why_not="",
            start_s=times.start_s[kept],
            duration_s=_held(table, times, kept, quantity),
            amount=column[kept] * factor,
            quality=quality[kept],
            rank=np.zeros(len(kept), dtype=np.int64),
        )


def _refuse_several(table: _Table, start_s: Integers, column: Floats) -> None:
    """Refuse a table with several amounts for most times: appliances, or channels."""
    import numpy as np

    order = np.argsort(start_s, kind="stable")
    same = np.diff(start_s[order]) == 0
    differing = same & (np.diff(column[order]) != 0)
    if differing.sum() > MOST_REPEATED_FRACTION * len(column):
        raise unusable(
            table.name,
            f"{int(differing.sum()):,} of {len(column):,} rows give another amount for "
            "a time already given, as for several appliances or meters",
            "Keep the rows of the whole house only.",
        )


def _held(table: _Table, times: _Times, kept: Integers, quantity: Quantity) -> Integers:
    """Return durations; a power that is written only when it changes holds on."""
    import numpy as np

    duration_s = times.duration_s[kept]
    if quantity is not Quantity.REAL_POWER or len(kept) < 3:
        return duration_s
    steps = np.diff(times.start_s[kept])
    usual = int(np.median(duration_s))
    if (steps == usual).mean() > 0.9 or (steps <= 0).any():
        return duration_s
    table.say(
        "interval", f"uneven: each row holds until the next, {5 * usual:,} s at most"
    )
    return np.append(np.minimum(steps, 5 * usual), usual)


def _legs(
    table: _Table,
    times: _Times,
    found: list[tuple[Amount, Floats]],
    quality: Integers,
    rows: Integers,
) -> MeterSeries:
    import numpy as np

    powers = []
    for amount, column in found:
        kind, factor = _kind(table, amount, column, int(np.median(times.duration_s)))
        if kind == "current":
            factor = table.options.leg_v
        elif kind == "energy":
            factor *= 3600 / float(np.median(times.duration_s))
        powers.append(column * factor)
    if any(amount.kind == "current" for amount, _ in found):
        table.say(
            "legs",
            f"amperes of both legs, each times {table.options.leg_v:g} V; whether the "
            "voltage sagged or the power factor is below 1 is not seen",
        )
    both = rows[~np.isnan(powers[0][rows]) & ~np.isnan(powers[1][rows])]
    if len(both) < len(rows):
        table.leave_out(f"{len(rows) - len(both)} rows", "one leg without an amount")
    leg_a, leg_b = powers[0][both], powers[1][both]
    return MeterSeries(
        name=f'legs "{found[0][0].title}" and "{found[1][0].title}"',
        point="1",
        quantity=Quantity.REAL_POWER,
        flow=Flow.FORWARD,
        is_electricity=True,
        why_not="",
        start_s=times.start_s[both],
        duration_s=_held(table, times, both, Quantity.REAL_POWER),
        amount=leg_a + leg_b,
        quality=quality[both],
        rank=np.zeros(len(both), dtype=np.int64),
        legs_w=(leg_a, leg_b),
    )


def _kind(
    table: _Table, amount: Amount, column: Floats, step_s: int
) -> tuple[str, float]:
    """Return what a column is of and its factor to Wh or W, saying how it is known."""
    import numpy as np

    if table.options.unit:
        kind, factor = unit_of(table.options.unit)
        if not kind:
            raise unusable(
                table.name, f"unit {table.options.unit!r} is none of kWh, Wh, kW, W, A"
            )
        table.say("unit", f"{table.options.unit}, as you said")
        return kind, factor
    if amount.kind:
        return amount.kind, amount.factor
    place = table.columns.times.get("unit")
    if place is not None:
        units = {unit_of(cell) for cell in set(table.cells[place]) if cell.strip()}
        if len(units) == 1:
            return units.pop()
        raise unusable(table.name, "rows of several units")
    mean = float(np.nanmean(column)) if (~np.isnan(column)).any() else 0.0
    if _counts_up(column[~np.isnan(column)]):
        mean = (float(np.nanmax(column)) - float(np.nanmin(column))) / max(
            len(column), 1
        )
    power_words = re.search(r"power|demand|load|watt", amount.title, re.IGNORECASE)
    units_in_turn = ["kWh", "Wh", "kW", "W"]
    if power_words:
        units_in_turn = ["kW", "W", "kWh", "Wh"]
    for unit in units_in_turn:
        kind, factor = unit_of(unit)
        power_w = mean * factor * (3600 / step_s if kind == "energy" else 1)
        if LEAST_HOUSE_W <= power_w <= MOST_HOUSE_W:
            table.say(
                "unit",
                f'"{amount.title}" does not say its unit: taken as {unit}, by which '
                f"the house averages {power_w / 1000:.2g} kW",
                "name the unit",
                asks=True,
            )
            return kind, factor
    raise unusable(
        table.name,
        f'"{amount.title}" does not say its unit, and none makes it a house',
    )


def _counts_up(column: Floats) -> bool:
    """Return whether a column is a counter: it hardly ever falls, and gets large."""
    import numpy as np

    if len(column) < 24:
        return False
    steps = np.diff(column)
    rising = steps[steps > 0]
    if not len(rising) or (steps < 0).sum() > max(1, 0.01 * len(steps)):
        return False
    return bool(np.median(column) > 20 * np.median(rising))


# --- wide tables: one day a row -------------------------------------------------


def _wide(table: _Table) -> tuple[Iterator[MeterSeries], Clock]:
    import numpy as np

    keep = _electric_rows(table)
    if keep is not None:
        table.cells = [[column[index] for index in keep] for column in table.cells]
    at = table.columns.times
    place = next((at[role] for role in ("date", "moment", "time") if role in at), None)
    days = None
    if place is not None:
        order = None
        if table.options.day_first is not None:
            order = DayOrder(table.options.day_first, is_certain=True)
        days = moments(table.cells[place], order)
    if days is None:
        raise unusable(table.name, "a column for each hour, but no date to the rows")
    wide = table.columns.wide
    step_s = DAY_S // len(wide)
    table.say(
        "table", f"one day a row, {len(wide)} columns of {step_s:,} s from midnight"
    )
    values, bad = [], 0
    for index in wide:
        numbers, wrong = _numbers(table, table.cells[index], table.header.titles[index])
        values.append(numbers)
        bad += wrong
    grid = np.stack(values, axis=1)
    if bad > max(1, MOST_BAD_FRACTION * grid.size):
        raise unusable(table.name, f"{bad} cells that are no numbers")
    read = days.clock_s != UNREAD
    if not read.all():
        _leave_out_unread(table, read)
    clock_s = days.clock_s[read, None] + step_s * np.arange(len(wide))
    flat, column = clock_s.ravel(), grid[read].ravel()
    quality = np.full(len(flat), -1, dtype=np.int64)
    zone = table.options.zone
    if zone:
        _mark_doubled(table, flat, column, quality, zone)
    utc_s, clock = _in_utc(table, Moments(flat, None), 0)
    times = _Times(utc_s, np.full(len(flat), step_s, dtype=np.int64), quality, clock)
    rows = np.flatnonzero(utc_s > SKIPPED)
    title = f"{table.header.titles[wide[0]]} to {table.header.titles[wide[-1]]}".strip()
    kind, factor = _wide_unit(table, title)
    amount = Amount(wide[0], title, kind, factor, False, False, "", False)
    return _series(table, times, [(amount, column)], quality, rows), clock


def _wide_unit(table: _Table, title: str) -> tuple[str, float]:
    """Return the unit of a wide table, which may stand in the head of any column."""
    for heading in (title, *table.header.titles):
        kind, factor = unit_of(heading)
        if kind in ("energy", "power") and not re.fullmatch(r"\d+ ?a?", heading):
            return kind, factor
    return "", 1.0


def _mark_doubled(
    table: _Table, clock_s: Integers, column: Floats, quality: Integers, zone: ZoneClock
) -> None:
    """Mark cells of the hour the clock shows twice: one cell may hold both."""
    import numpy as np

    doubled = utc_of_local(clock_s, zone).doubled
    held = doubled[~np.isnan(column[doubled])]
    quality[held] = ESTIMATED
    if len(held):
        table.say(
            "clock",
            f"{len(held)} cells are of an hour the clock shows twice and may hold "
            "both: left out of the maximum",
        )
