"""The local clock of a house: named zone, ESPI rule, or a fixed offset.

Readings are kept in seconds since 1970 UTC. The clock is needed for days, for hours
of the day, and to read tables that were written in local time.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from typing import TYPE_CHECKING, Protocol
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from lugbook.errors import Fault, InputError

if TYPE_CHECKING:
    from lugbook.demand.series import Integers

__all__ = [
    "Clock",
    "FixedClock",
    "LocalTimes",
    "RuleClock",
    "ZoneClock",
    "change_moment",
    "local_of_utc",
    "open_zone",
    "utc_of_local",
]

HOUR_S = 3600
DAY_S = 86400
NO_DST = 0xFFFFFFFF
_LAST = 7  # operator of a rule: the last such weekday of the month


class Clock(Protocol):
    """A local clock: what must be added to UTC to read it."""

    @property
    def name(self) -> str:
        """Return how a person would call it."""

    def offset_s(self, utc_s: int) -> int:
        """Return local minus UTC at one moment, in seconds."""


@dataclass(frozen=True, slots=True)
class FixedClock:
    """A clock that never changes.

    Args:
        ahead_s: Local minus UTC. [s]
    """

    ahead_s: int = 0

    @property
    def name(self) -> str:
        """Return UTC with the offset."""
        if not self.ahead_s:
            return "UTC"
        sign = "-" if self.ahead_s < 0 else "+"
        minutes = abs(self.ahead_s) // 60
        return f"UTC{sign}{minutes // 60:02d}:{minutes % 60:02d}"

    def offset_s(self, utc_s: int) -> int:  # noqa: ARG002 - the same at all times
        """Return the offset."""
        return self.ahead_s


@dataclass(frozen=True, slots=True)
class ZoneClock:
    """A clock of the time zone data base.

    Args:
        zone: The zone. [-]
    """

    zone: ZoneInfo

    @property
    def name(self) -> str:
        """Return the zone's name."""
        return self.zone.key

    def offset_s(self, utc_s: int) -> int:
        """Return the offset the zone had then."""
        offset = datetime.fromtimestamp(utc_s, self.zone).utcoffset()
        return int((offset or timedelta()).total_seconds())


@dataclass(frozen=True, slots=True)
class RuleClock:
    """A clock with a summer time by two yearly rules, as ESPI writes them.

    Args:
        ahead_s: Local standard time minus UTC. [s]
        summer_s: What summer time adds. [s]
        start_rule: Rule by which it starts, as 32 bits. [-]
        end_rule: Rule by which it ends, as 32 bits. [-]
    """

    ahead_s: int
    summer_s: int
    start_rule: int
    end_rule: int

    @property
    def name(self) -> str:
        """Return the standard offset, and that there is a summer time."""
        return f"{FixedClock(self.ahead_s).name} with summer time"

    def offset_s(self, utc_s: int) -> int:
        """Return the offset by the rules of that year."""
        standard_s = utc_s + self.ahead_s
        year = datetime.fromtimestamp(standard_s, UTC).year
        start_s = change_moment(self.start_rule, year)
        # The end is written in summer time; here everything is in standard time.
        end_s = change_moment(self.end_rule, year) - self.summer_s
        if start_s <= end_s:
            summer = start_s <= standard_s < end_s
        else:
            summer = not end_s <= standard_s < start_s
        return self.ahead_s + self.summer_s * summer


def change_moment(rule: int, year: int) -> int:
    """When a rule of ESPI's local time parameters acts in a year.

    Bits 0-11 are seconds in the hour, 12-16 the hour, 17-19 the weekday (Monday 1),
    20-24 the day of the month, 25-27 the operator, 28-31 the month. Operator 0 is
    that day of the month, 1 that weekday on or after it, 2 to 6 the first to fifth
    such weekday, 7 the last.

    Args:
        rule: The rule, 32 bits. [-]
        year: The year. [-]

    Returns:
        Seconds from 1970 on the clock the rule is written for. [s]

    Raises:
        ValueError: The bits name no day of that year.

    Source:
        naesb-espi, DstRuleType

    Example:
        >>> moment = change_moment(0x360E2000, 2024)
        >>> datetime.fromtimestamp(moment, UTC).isoformat()
        '2024-03-10T02:00:00+00:00'
    """
    seconds = (rule & 0xFFF) + (rule >> 12 & 0x1F) * HOUR_S
    weekday = rule >> 17 & 0x7
    day = rule >> 20 & 0x1F
    operator = rule >> 25 & 0x7
    month = rule >> 28 & 0xF
    first = date(year, month, 1)
    if operator == 0 or weekday == 0:
        on = date(year, month, day)
    elif operator == 1:
        on = _weekday_from(date(year, month, max(day, 1)), weekday)
    elif operator == _LAST:
        following = date(year + month // 12, month % 12 + 1, 1)
        on = _weekday_from(following - timedelta(days=7), weekday)
    else:
        on = _weekday_from(first, weekday) + timedelta(weeks=operator - 2)
    return int(datetime(on.year, on.month, on.day, tzinfo=UTC).timestamp()) + seconds


def _weekday_from(day: date, weekday: int) -> date:
    return day + timedelta(days=(weekday - day.isoweekday()) % 7)


def open_zone(name: str) -> ZoneClock:
    """The clock of a named zone.

    Args:
        name: Name in the time zone data base. [-]

    Returns:
        The clock. [-]

    Raises:
        InputError: There is no such zone.
    """
    fault = Fault("--zone", repr(name), 'a time zone such as "America/Chicago"')
    if not re.fullmatch(r"[A-Za-z0-9_+/-]{1,64}", name):
        raise InputError(fault)
    try:
        return ZoneClock(ZoneInfo(name))
    except (ZoneInfoNotFoundError, ValueError, OSError) as error:
        raise InputError(fault) from error


@dataclass(frozen=True, slots=True)
class LocalTimes:
    """Local times turned into UTC.

    Args:
        utc_s: The moments. [s]
        missing: Which of them the clock skipped in spring. [-]
        doubled: Which of them the clock showed twice in autumn. [-]
    """

    utc_s: Integers
    missing: Integers
    doubled: Integers


def utc_of_local(local_s: Integers, clock: ZoneClock) -> LocalTimes:
    """Local clock readings as moments.

    A time the clock shows twice is the first pass at its first place in the file and
    the second pass after that.

    Args:
        local_s: Local clock readings, as if the clock were UTC. [s]
        clock: The clock. [-]

    Returns:
        The moments, and where the clock skipped or repeated. [s]
    """
    import numpy as np

    starts, offsets = _course(local_s, lambda at_s: _offsets(at_s, clock.zone))
    place = np.searchsorted(starts, local_s, side="right") - 1
    first, second = np.array(offsets, dtype=np.int64).T
    before, after = first[place], second[place]
    doubled, missing = before > after, before < after
    offset = before.copy()
    seen: set[int] = set()
    for index in np.flatnonzero(doubled).tolist():
        stamp = int(local_s[index])
        if stamp in seen:
            offset[index] = after[index]
        seen.add(stamp)
    return LocalTimes(
        local_s - offset, np.flatnonzero(missing), np.flatnonzero(doubled)
    )


def local_of_utc(utc_s: Integers, clock: Clock) -> Integers:
    """Moments as the local clock showed them.

    Args:
        utc_s: The moments. [s]
        clock: The clock; it changes only at full hours of UTC. [-]

    Returns:
        Clock readings, as if the clock were UTC. [s]
    """
    import numpy as np

    def offset(at_s: int) -> tuple[int, int]:
        ahead_s = clock.offset_s(at_s)
        return ahead_s, ahead_s

    starts, offsets = _course(utc_s, offset)
    if len(starts) == 1:
        return utc_s + offsets[0][0]
    ahead = np.array([first for first, _ in offsets], dtype=np.int64)
    return utc_s + ahead[np.searchsorted(starts, utc_s, side="right") - 1]


def _course(
    times_s: Integers, offset: Callable[[int], tuple[int, int]]
) -> tuple[list[int], list[tuple[int, int]]]:
    """Return from when on which offset holds, over all the times.

    Every day is looked at, and every hour of a day in which the offset changes.
    """
    starts: list[int] = []
    offsets: list[tuple[int, int]] = []

    def hold(at_s: int, held: tuple[int, int]) -> None:
        if not offsets or offsets[-1] != held:
            starts.append(at_s)
            offsets.append(held)

    first_day, last_day = int(times_s.min()) // DAY_S, int(times_s.max()) // DAY_S
    opening = offset(first_day * DAY_S)
    for day in range(first_day, last_day + 1):
        closing = offset((day + 1) * DAY_S)
        if opening == closing and opening[0] == opening[1]:
            hold(day * DAY_S, opening)
        else:
            for hour in range(24):
                at_s = day * DAY_S + hour * HOUR_S
                hold(at_s, offset(at_s))
        opening = closing
    return starts, offsets


def _offsets(local_s: int, zone: ZoneInfo) -> tuple[int, int]:
    naive = datetime(1970, 1, 1) + timedelta(seconds=local_s)
    found = []
    for fold in (0, 1):
        offset = naive.replace(tzinfo=zone, fold=fold).utcoffset() or timedelta()
        found.append(int(offset.total_seconds()))
    return found[0], found[1]
