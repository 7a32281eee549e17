"""Dates and times as tables write them, a whole column at once."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from lugbook.demand.series import Integers

__all__ = ["DayOrder", "Moments", "day_order", "moments", "seconds_of_day"]

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
_NAMED = re.compile(
    r"(?:[a-z]{3,9},?\s+)??(?:(\d{1,2})[-\s]([a-z]{3,9})|([a-z]{3,9})\.?\s(\d{1,2}))"
    r",?[-\s](\d{4}|\d{2})"
)
_CLOCK = re.compile(
    r"(\d{1,2})(?::(\d{2}))?(?::(\d{2})(?:[.,]\d+)?)?\s*([ap]\.?m\.?)?\s*"
    r"(z|utc|gmt|[a-z]{3}|[+-]\d{2}:?\d{2})?",
    re.IGNORECASE,
)
_TAIL = re.compile(r"^(.*?\d)[T\s,]+(\d{1,2}(?::\d{2}|\s*[ap]\.?m).*)$", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class DayOrder:
    """Whether a day stands before its month, and whether the column shows it.

    Args:
        day_first: Whether the day stands first. [-]
        is_certain: Whether some date of the column allows only that. [-]
    """

    day_first: bool
    is_certain: bool


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
    import numpy as np

    if found := _iso(cells):
        return found
    stripped = [cell.strip() for cell in cells]
    if found := _epochs(stripped) or _iso(stripped):
        return found
    parts = [_parted(cell) for cell in stripped]
    days = {text for text, _ in parts}
    order = order or day_order(days)
    day_s = {text: _day_s(text, order) for text in days}
    clock = {text: _clock(text) for _, text in parts}
    clock_s = np.full(len(cells), UNREAD, dtype=np.int64)
    ahead_s = np.full(len(cells), UNREAD, dtype=np.int64)
    for index, (day, time) in enumerate(parts):
        at, in_day = day_s[day], clock[time]
        if at is not None and in_day is not None:
            clock_s[index] = at + in_day[0]
            if in_day[1] is not None:
                ahead_s[index] = in_day[1]
    if (clock_s == UNREAD).all():
        return None
    has_zones = ((ahead_s != UNREAD) | (clock_s == UNREAD)).all()
    ambiguous = any(_YEAR_LAST.fullmatch(text.lower()) for text in days)
    return Moments(
        clock_s, ahead_s if has_zones else None, order if ambiguous else None
    )


def day_order(days: set[str]) -> DayOrder:
    """How a column of dates orders day and month.

    Args:
        days: The dates. [-]

    Returns:
        The order; month first where nothing shows it, as North America writes. [-]

    Example:
        >>> day_order({"13/02/2024"}).day_first, day_order({"1/2/2024"}).is_certain
        (True, False)
    """
    found = [match for day in days if (match := _YEAR_LAST.fullmatch(day.strip()))]
    if any(int(match[1]) > 12 for match in found):
        return DayOrder(day_first=True, is_certain=True)
    if any(int(match[3]) > 12 for match in found):
        return DayOrder(day_first=False, is_certain=True)
    return DayOrder(day_first=any(match[2] == "." for match in found), is_certain=False)


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
    day, sign, time = cell.partition("T")
    if sign and time[:1].isdigit():
        return day, time
    tail = _TAIL.match(cell)
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
    """Return seconds or milliseconds since 1970, if the column is that."""
    import numpy as np

    first = next((cell for cell in cells if cell), "")
    if not re.fullmatch(r"\d{10}(\d{3})?(\.\d+)?", first):
        return None
    in_ms = len(first.partition(".")[0]) == 13
    pattern = re.compile(r"\d{13}(\.\d+)?" if in_ms else r"\d{10}(\.\d+)?")
    if not all(pattern.fullmatch(cell) for cell in cells if cell):
        return None
    raw = np.array([float(cell or "nan") for cell in cells])
    blank = np.isnan(raw)
    seconds = np.where(blank, 0, raw / (1000 if in_ms else 1)).astype(np.int64)
    seconds[blank] = UNREAD
    return Moments(seconds, np.zeros(len(cells), dtype=np.int64))


def _iso(cells: Sequence[str]) -> Moments | None:
    """Return ISO 8601 times of one length, without a loop."""
    import numpy as np

    length = len(cells[0]) if cells else 0
    if length not in (16, 19, 20, 25):
        return None
    try:
        flat = np.array(cells, dtype=f"S{length + 1}")
    except UnicodeEncodeError:
        return None
    table = flat.view(np.uint8).reshape(len(cells), length + 1)
    if (table[:, length - 1] == 0).any() or table[:, length].any():
        return None  # of different lengths
    separators = {4: b"-", 7: b"-", 10: b"T ", 13: b":"}
    if length > 16:
        separators[16] = b":"
    if length == 20:
        separators[19] = b"Z"
    if length == 25:
        separators |= {19: b"+-", 22: b":"}
    for place, allowed in separators.items():
        if not np.isin(table[:, place], list(allowed)).all():
            return None
    digits = [place for place in range(length) if place not in separators]
    numerals = table[:, digits]
    if (numerals < 48).any() or (numerals > 57).any():
        return None

    def number(start: int, count: int) -> Any:
        total = np.zeros(len(cells), dtype=np.int64)
        for place in range(start, start + count):
            total = total * 10 + (table[:, place] - 48)
        return total

    year, month, day = number(0, 4), number(5, 2), number(8, 2)
    hour, minute = number(11, 2), number(14, 2)
    second = number(17, 2) if length > 16 else 0 * hour
    days = _days_from_civil(year, month, day)
    right = (year >= 1970) & (year < 2100) & (month >= 1) & (month <= 12)
    right &= (day >= 1) & (day <= _days_in_month(year, month))
    right &= (minute < 60) & (second < 60)
    right &= (hour < 24) | ((hour == 24) & (minute == 0) & (second == 0))
    clock_s = np.where(right, days * DAY_S + hour * 3600 + minute * 60 + second, UNREAD)
    ahead_s = None
    if length == 20:
        ahead_s = np.zeros(len(cells), dtype=np.int64)
    elif length == 25:
        ahead_s = number(20, 2) * 3600 + number(23, 2) * 60
        ahead_s = np.where(table[:, 19] == ord("-"), -ahead_s, ahead_s)
    return Moments(clock_s, ahead_s)


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
