"""Dates and times as tables write them, a whole column at once."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING, Any

from lugbook.demand.table_bytes import ByteColumn

if TYPE_CHECKING:
    from lugbook.demand.series import Integers

__all__ = [
    "DayOrder",
    "Moments",
    "day_order",
    "moments",
    "moments_beside",
    "seconds_of_day",
]

DAY_S = 86400
UNREAD = -(1 << 62)
_EPOCH_DAY = date(1970, 1, 1).toordinal()
_MONTH_NAMES = "jan feb mar apr may jun jul aug sep oct nov dec"
_MONTHS = {name: number for number, name in enumerate(_MONTH_NAMES.split(), 1)}
# Abbreviations of North America's clocks, which some loggers write behind the time.
_ABBREVIATIONS = {
    "Z": 0,
    "UTC": 0,
    "GMT": 0,
    "EST": -5,
    "EDT": -4,
    "CST": -6,
    "CDT": -5,
    "MST": -7,
    "MDT": -6,
    "PST": -8,
    "PDT": -7,
}
_YEAR_FIRST = re.compile(r"(\d{4})[-/.](\d{1,2})[-/.](\d{1,2})")
_YEAR_LAST = re.compile(r"(\d{1,2})([-/.])(\d{1,2})[-/.](\d{4}|\d{2})")
_TOGETHER = re.compile(r"(\d{4})(\d{2})(\d{2})")
_YEAR_MONTH = re.compile(r"(\d{4})[-/](\d{1,2})")
# All in one piece, as 202506021530 or 20250602T153000Z.
_ONE_PIECE = re.compile(r"((?:19|20)\d{6})T?(\d{2})(\d{2})(\d{2})?(Z?)")
# As clocks of programs print themselves: Mon Jun 02 2025 15:30:00 GMT-0500 (CDT), or
# with the year behind the time.
_PROGRAM = re.compile(
    r"[a-z]{3} ([a-z]{3}) +(\d{1,2}) (\d{4} )?(\d{1,2}:\d{2}:\d{2})"
    r"(?: (?:gmt|utc)?([+-]\d{2}:?\d{2}))?( \d{4})?(?: \(.*\))?",
    re.IGNORECASE,
)
_NAMED = re.compile(
    r"(?:[a-z]{3,9},?\s+)??(?:(\d{1,2})[-\s]([a-z]{3,9})|([a-z]{3,9})\.?\s(\d{1,2}))"
    r",?[-\s](\d{4}|\d{2})"
)
_CLOCK = re.compile(
    r"(\d{1,2})(?:[:.h](\d{2}))?(?:[:.](\d{2})(?:[.,]\d+)?)?\s*([ap]\.?m\.?)?\s*"
    r"(z|utc|gmt|[a-z]{3}|[+-]\d{2}:?\d{2})?",
    re.IGNORECASE,
)
_TAIL = re.compile(
    r"^(.*?\d)[T\s,]+(\d{1,2}(?:[:.h]\d{2}|\s*[ap]\.?m).*)$", re.IGNORECASE
)
# A date and a time with no space between: 2025-06-02-15:30, 06/02/2025:15:30.
_TIGHT = re.compile(r"^(\d{1,4}[-/]\d{1,2}[-/]\d{1,4})[-:_](\d{1,2}:\d{2}.*)$")
# Seconds, and finer, since 1970: digits before the point, and parts of a second.
_EPOCHS = {10: 1, 13: 10**3, 16: 10**6, 19: 10**9}
# Days since the end of 1899, as spreadsheets count them: of the years 2000 to 2099.
_SERIAL = re.compile(r"(3[7-9]|[4-6]\d)\d{3}(\.\d+)?")
_FIRST_SERIAL, _LAST_SERIAL = 36526, 73050
_SERIAL_EPOCH = 25569  # of 1970-01-01


@dataclass(frozen=True, slots=True)
class DayOrder:
    """Whether a day stands before its month, and whether the column shows it.

    Args:
        day_first: Whether the day stands first. [-]
        is_certain: Whether some date of the column allows only that. [-]
        why: What spoke for it, where it is not certain. [-]
    """

    day_first: bool
    is_certain: bool
    why: str = ""


@dataclass(frozen=True, slots=True)
class Moments:
    """A column of times.

    Args:
        clock_s: Clock reading, as if the clock were UTC; `UNREAD` where unreadable. [s]
        ahead_s: Clock minus UTC where the cells say it; None where none does. [s]
        order: How dates were read; None where the year stands first. [-]
    """

    clock_s: Integers
    ahead_s: Integers | None
    order: DayOrder | None = None


def moments(cells: Sequence[str], order: DayOrder | None = None) -> Moments | None:
    """A column of dates with times as clock readings.

    Args:
        cells: The column. [-]
        order: How to read dates that could be read two ways; seen from the column if
            left out. [-]

    Returns:
        The column; None where it holds no time at all. [-]
    """
    if found := _iso(cells) or _plain_epochs(cells):
        return found
    cells = list(cells)
    stripped = [cell.strip() for cell in cells]
    if found := _epochs(stripped) or _serials(stripped) or _iso(stripped):
        return found
    parts = [_parted(cell) for cell in stripped]
    return _put_together([day for day, _ in parts], [time for _, time in parts], order)


def moments_beside(
    days: Sequence[str], times: Sequence[str], order: DayOrder | None = None
) -> Moments | None:
    """A column of dates and one of times of day as clock readings.

    Args:
        days: The dates; a midnight behind them, as some programs add, is passed over.
            [-]
        times: The times of day. [-]
        order: How to read dates that could be read two ways. [-]

    Returns:
        The moments; None where there is none at all. [-]
    """
    day_of = {cell: _parted(cell.strip())[0] for cell in set(days)}
    time_of = {cell: cell.strip() for cell in set(times)}
    return _put_together(
        [day_of[cell] for cell in days], [time_of[cell] for cell in times], order
    )


def _put_together(
    days: Sequence[str], times: Sequence[str], order: DayOrder | None
) -> Moments | None:
    """Return dates with times, each different one read once."""
    import numpy as np

    different = set(days)
    order = order or day_order(different)
    day_s: dict[str, int] = {}
    for text in different:
        at_s = _day_s(text, order)
        day_s[text] = UNREAD if at_s is None else at_s
    in_day: dict[str, tuple[int, int]] = {}
    for text in set(times):
        clock = _clock(text)
        seconds, ahead = clock or (UNREAD, None)
        in_day[text] = seconds, UNREAD if ahead is None else ahead
    dated_s = np.array([day_s[text] for text in days], dtype=np.int64)
    timed_s = np.array([in_day[text][0] for text in times], dtype=np.int64)
    unread = (dated_s == UNREAD) | (timed_s == UNREAD)
    if unread.all():
        return None
    clock_s = np.where(unread, UNREAD, dated_s + timed_s)
    ahead_s = None
    if any(ahead != UNREAD for _, ahead in in_day.values()):
        ahead_s = np.array([in_day[text][1] for text in times], dtype=np.int64)
        if ((ahead_s == UNREAD) & ~unread).any():
            ahead_s = None
    ambiguous = any(_YEAR_LAST.fullmatch(text.lower()) for text in different)
    return Moments(clock_s, ahead_s, order if ambiguous else None)


def day_order(days: set[str]) -> DayOrder:
    """How a column of dates orders day and month.

    Args:
        days: The dates. [-]

    Returns:
        The order; month first where nothing shows it, as North America writes. [-]

    Where every date could be read both ways, the order is taken by which the record
    is the shorter: nine days in a row, and not one day in each of nine months.

    Example:
        >>> day_order({"13/02/2024"}).day_first, day_order({"1/2/2024"}).is_certain
        (True, False)
        >>> day_order({"01/06/2024", "02/06/2024", "03/06/2024"}).day_first
        True
    """
    found = [match for day in days if (match := _YEAR_LAST.fullmatch(day.strip()))]
    if any(int(match[1]) > 12 for match in found):
        return DayOrder(day_first=True, is_certain=True)
    if any(int(match[3]) > 12 for match in found):
        return DayOrder(day_first=False, is_certain=True)
    spans = {first: _span_days(days, DayOrder(first, False)) for first in (True, False)}
    if max(spans.values()) > 2 * min(spans.values()):
        day_first = spans[True] < spans[False]
        why = (
            f"by which they span {spans[day_first]:,} days; the other way they would "
            f"be scattered over {spans[not day_first]:,}"
        )
        return DayOrder(day_first, is_certain=False, why=why)
    day_first = any(match[2] == "." for match in found)
    return DayOrder(day_first, is_certain=False)


def _span_days(days: set[str], order: DayOrder) -> int:
    found = [at for day in days if (at := _day_s(day, order)) is not None]
    return (max(found) - min(found)) // DAY_S + 1 if found else 1


def seconds_of_day(text: str) -> int | None:
    """A time of day in seconds since midnight; None where it is no time.

    Args:
        text: The cell. [-]

    Returns:
        Seconds; 86,400 for 24:00. [s]

    Example:
        >>> seconds_of_day("12:15 AM"), seconds_of_day("24:00"), seconds_of_day("x")
        (900, 86400, None)
    """
    found = _clock(text.strip())
    return found[0] if found else None


def _parted(cell: str) -> tuple[str, str]:
    """Return the date and the time of a cell."""
    day, space, time = cell.partition(" ")
    if space and ":" in time and time[0].isdigit() and day[-1:].isdigit():
        return day, time
    if match := _ONE_PIECE.fullmatch(cell):
        return match[1], f"{match[2]}:{match[3]}:{match[4] or '00'}{match[5]}"
    if match := _PROGRAM.fullmatch(cell):
        year = (match[3] or match[6] or "").strip()
        return f"{match[1]} {match[2]} {year}", f"{match[4]}{match[5] or ''}"
    day, sign, time = cell.partition("T")
    if sign and time[:1].isdigit():
        return day, time
    tail = _TAIL.match(cell) or _TIGHT.match(cell)
    return (tail[1], tail[2]) if tail else (cell, "")


def _day_s(text: str, order: DayOrder) -> int | None:
    lower = text.strip().lower()
    if match := _YEAR_FIRST.fullmatch(lower) or _TOGETHER.fullmatch(lower):
        year, month, day = (int(each) for each in match.groups())
    elif match := _YEAR_LAST.fullmatch(lower):
        first, second, year = int(match[1]), int(match[3]), int(match[4])
        month, day = (second, first) if order.day_first else (first, second)
    elif match := _NAMED.fullmatch(lower):
        month = _MONTHS.get((match[2] or match[3])[:3], 0)
        day, year = int(match[1] or match[4]), int(match[5])
    elif match := _YEAR_MONTH.fullmatch(lower):
        year, month, day = int(match[1]), int(match[2]), 1
    else:
        return None
    year += 2000 * (year < 100)
    if not 1970 <= year < 2100:
        return None
    try:
        return (date(year, month, day).toordinal() - _EPOCH_DAY) * DAY_S
    except ValueError:
        return None


def _clock(text: str) -> tuple[int, int | None] | None:
    """Return seconds of the day and what the clock is ahead of UTC, if it says."""
    if not text:
        return 0, None
    match = _CLOCK.fullmatch(text)
    if not match or (match[2] is None and not match[4]):
        return None
    hour, minute, second = int(match[1]), int(match[2] or 0), int(match[3] or 0)
    if match[4]:
        if not 1 <= hour <= 12:
            return None
        hour = hour % 12 + 12 * (match[4][0] in "pP")
    seconds = hour * 3600 + minute * 60 + second
    if minute > 59 or second > 60 or seconds > DAY_S:
        return None
    zone = match[5]
    if not zone:
        return seconds, None
    if zone[0] in "+-":
        ahead = int(zone[1:3]) * 3600 + int(zone[-2:]) * 60
        return seconds, -ahead if zone[0] == "-" else ahead
    hours = _ABBREVIATIONS.get(zone.upper())
    return None if hours is None else (seconds, hours * 3600)


def _epochs(cells: Sequence[str]) -> Moments | None:
    """Return seconds, or parts of a second, since 1970, if the column is that."""
    import numpy as np

    first = next((cell for cell in cells if cell), "")
    if not re.fullmatch(r"\d{10,19}(\.\d+)?", first):
        return None
    length = len(first.partition(".")[0])
    parts = _EPOCHS.get(length)
    pattern = re.compile(rf"\d{{{length}}}(\.\d+)?")
    if not parts or not all(pattern.fullmatch(cell) for cell in cells if cell):
        return None
    seconds = np.array(
        [int(cell.partition(".")[0]) // parts if cell else UNREAD for cell in cells],
        dtype=np.int64,
    )
    return Moments(seconds, np.zeros(len(cells), dtype=np.int64))


def _plain_epochs(cells: Sequence[str]) -> Moments | None:
    """Return whole seconds or milliseconds since 1970 of a plain column."""
    import numpy as np

    if not isinstance(cells, ByteColumn):
        return None
    width = cells.width()
    found = cells.floats() if width in (10, 13) else None
    if found is None or not bool((found >= 10 ** (width - 1)).all()):
        return None  # less is a number with a point, or none that is whole
    seconds = (found // _EPOCHS[width]).astype(np.int64)
    return Moments(seconds, np.zeros(len(cells), dtype=np.int64))


def _serials(cells: Sequence[str]) -> Moments | None:
    """Return days since the end of 1899, if the column is that."""
    import numpy as np

    first = next((cell for cell in cells if cell), "")
    if not _SERIAL.fullmatch(first):
        return None
    if not all(_SERIAL.fullmatch(cell) for cell in cells if cell):
        return None
    raw = np.array([float(cell or 0) for cell in cells])
    if not ((raw == 0) | ((raw >= _FIRST_SERIAL) & (raw < _LAST_SERIAL))).all():
        return None
    seconds = np.rint((raw - _SERIAL_EPOCH) * DAY_S).astype(np.int64)
    return Moments(np.where(raw == 0, UNREAD, seconds), None)


def _lanes(cells: Sequence[str]) -> list[Any] | None:
    """Return the first letter of every cell, the second, and so on."""
    import numpy as np

    if isinstance(cells, ByteColumn):
        width = cells.width()
        if width not in _ISO_LENGTHS:
            return None
        return [cells.lane(place) for place in range(width)]
    width = len(cells[0]) if cells else 0
    if width not in _ISO_LENGTHS:
        return None
    try:
        flat = np.array(cells, dtype=f"S{width + 1}")
    except UnicodeEncodeError:
        return None
    table = flat.view(np.uint8).reshape(len(cells), width + 1)
    if (table[:, width - 1] == 0).any() or table[:, width].any():
        return None  # of different lengths
    return list(np.ascontiguousarray(table.T[:width]))


_ISO_LENGTHS = (16, 19, 20, 25)


def _iso(cells: Sequence[str]) -> Moments | None:
    """Return ISO 8601 times of one length, without a loop over the rows."""
    import numpy as np

    lanes = _lanes(cells)
    if lanes is None:
        return None
    length = len(lanes)
    separators = {4: b"-", 7: b"-", 10: b"T ", 13: b":"}
    if length > 16:
        separators[16] = b":"
    if length == 20:
        separators[19] = b"Z"
    if length == 25:
        separators |= {19: b"+-", 22: b":"}
    for place, lane in enumerate(lanes):
        if place in separators:
            first, *others = separators[place]
            right = lane == first
            for other in others:
                right |= lane == other
        else:
            right = (lane - np.uint8(48)) < 10
        if not right.all():
            return None

    def number(start: int, count: int) -> Any:
        total = (lanes[start] - np.uint8(48)).astype(np.int32)
        for place in range(start + 1, start + count):
            total *= 10
            total += lanes[place] - np.uint8(48)
        return total

    hour, minute = number(11, 2), number(14, 2)
    second = number(17, 2) if length > 16 else 0 * hour
    day_s, right = _days_at_changes(number(0, 4), number(5, 2), number(8, 2))
    right &= (minute < 60) & (second < 60)
    in_day = hour * 3600 + minute * 60 + second
    right &= (in_day < DAY_S) | ((hour == 24) & (in_day == DAY_S))
    clock_s = day_s + in_day
    if not right.all():
        clock_s[~right] = UNREAD
    ahead_s = None
    if length == 20:
        ahead_s = np.zeros(len(hour), dtype=np.int64)
    elif length == 25:
        ahead_s = (number(20, 2) * 3600 + number(23, 2) * 60).astype(np.int64)
        ahead_s = np.where(lanes[19] == ord("-"), -ahead_s, ahead_s)
    return Moments(clock_s, ahead_s)


def _days_at_changes(year: Any, month: Any, day: Any) -> tuple[Integers, Any]:
    """Return seconds to each day's midnight, and whether there is such a day.

    A date is worked out where it differs from the row before: mostly once a day.
    """
    import numpy as np

    together = (year * 100 + month) * 100 + day
    first = np.flatnonzero(np.append(True, together[1:] != together[:-1]))
    lengths = np.diff(np.append(first, len(together)))
    year, month, day = (each[first].astype(np.int64) for each in (year, month, day))
    right = (year >= 1970) & (year < 2100) & (month >= 1) & (month <= 12)
    right &= (day >= 1) & (day <= _days_in_month(year, month))
    day_s = _days_from_civil(year, month, day) * DAY_S
    return np.repeat(day_s, lengths), np.repeat(right, lengths)


def _days_in_month(year: Any, month: Any) -> Any:
    import numpy as np

    lengths = np.array([0, 31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31])
    leap = (year % 4 == 0) & ((year % 100 != 0) | (year % 400 == 0))
    return lengths[np.clip(month, 0, 12)] + (leap & (month == 2))


def _days_from_civil(year: Any, month: Any, day: Any) -> Any:
    """Return days since 1970 in the Gregorian calendar, as arrays."""
    # Counted in years that begin in March, so that the leap day is the last.
    year = year - (month <= 2)
    era = year // 400
    of_era = year - era * 400
    of_year = (153 * ((month + 9) % 12) + 2) // 5 + day - 1
    return era * 146097 + of_era * 365 + of_era // 4 - of_era // 100 + of_year - 719468
