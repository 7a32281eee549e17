"""When the readings of a table were: starts, ends, intervals, clock."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from lugbook.demand.arrays import commonest
from lugbook.demand.clock import (
    Clock,
    FixedClock,
    RuleClock,
    ZoneClock,
    local_of_utc,
    open_zone,
    utc_of_local,
)
from lugbook.demand.opened import unusable
from lugbook.demand.table_state import (
    DAY_S,
    ESTIMATED,
    HOUR_S,
    SKIPPED,
    Table,
    TableTimes,
)
from lugbook.demand.table_times import (
    UNREAD,
    DayOrder,
    Moments,
    moments,
    moments_beside,
    seconds_of_day,
)

if TYPE_CHECKING:
    from lugbook.demand.series import Integers

__all__ = ["LEAST_RUN", "days_of", "forward_in_time", "in_utc", "times_of"]

LEAST_RUN = 6  # equal longer steps in a row that are another interval and no gaps
_BETWEEN = r"\d ?(?:[ap]\.?m\.?)?\s*(?:\bto\b|-|\u2013)\s*\d"
# The clocks among which to find the rule of one that nobody named: rule of start and
# of end, a zone that keeps them, and its standard time ahead of UTC.
_RULES = (
    (0x360E2000, 0xB40E2000, "America/New_York", -5 * 3600),
    (0x3E0E1000, 0xAE0E2000, "Europe/London", 0),
    (0x3E0E2000, 0xAE0E3000, "Europe/Paris", 3600),
)


def forward_in_time(table: Table) -> tuple[Moments | None, Moments | None]:
    """The times, the table turned round where it runs from newest to oldest.

    Args:
        table: The table. [-]

    Returns:
        Starts and ends of its rows, as far as given. [-]
    """
    import numpy as np

    said = len(table.statements)
    columns = _clock_columns(table)
    given = next((each for each in columns if each), None)
    if given is None:
        return columns
    steps = np.diff(given.clock_s[given.clock_s != UNREAD])
    if (steps < 0).sum() <= 0.9 * np.count_nonzero(steps) or not steps.any():
        return columns
    del table.statements[said:]
    table.cells = [column[::-1] for column in table.cells]
    table.say("table", "rows run from the newest to the oldest")
    return _clock_columns(table)


def times_of(
    table: Table, columns: tuple[Moments | None, Moments | None]
) -> TableTimes:
    """Start and duration of every row, in UTC where that can be told.

    Args:
        table: The table. [-]
        columns: Starts and ends as its columns give them. [-]

    Returns:
        Start and duration of every row. [-]

    Raises:
        InputError: There are no times that can be read.
    """
    import numpy as np

    starts, ends = columns
    if ends is None and table.options.times_end:
        starts, ends = None, starts
    elif starts is None and table.options.times_end is False:
        starts, ends = ends, None
    given = starts if starts is not None else ends
    if given is None:
        titles = ", ".join(
            f'"{table.header.titles[at]}"' for at in table.columns.times.values()
        )
        raise unusable(table.name, f"no time that can be read in {titles}")
    step_s = table.options.interval_s or _step(given.clock_s, table.name)
    duration_s = np.full(len(given.clock_s), step_s, dtype=np.int64)
    shift_s: int | Integers = 0
    mend = "--times-end, if they are its ends"
    if starts is not None and ends is not None:
        duration_s, step_s = _durations(table, starts, ends, step_s)
    elif starts is None:
        duration_s = _coarser(table, given, duration_s, ends=True)
        shift_s = -duration_s
        mend = "--no-times-end, if they are its starts"
        table.say("interval", f"times are the ends of intervals of {step_s:,} s", mend)
    else:
        duration_s = _coarser(table, given, duration_s, ends=False)
        table.say(
            "interval", f"times are the starts of intervals of {step_s:,} s", mend
        )
    quality = np.full(len(duration_s), -1, dtype=np.int64)
    utc_s, clock = in_utc(table, given, shift_s)
    if table.options.zone and given.ahead_s is None:
        _mark_single(table, utc_s, quality, table.options.zone, step_s)
    return TableTimes(utc_s, duration_s, quality, clock)


def _mark_single(
    table: Table, utc_s: Integers, quality: Integers, zone: ZoneClock, step_s: int
) -> None:
    """Mark rows of the hour the clock shows twice that stand there but once.

    Such a row may hold the energy of both hours, and is no evidence of a maximum.
    """
    import numpy as np

    known = np.flatnonzero(utc_s > SKIPPED)
    local_s = local_of_utc(utc_s[known], zone)
    doubled = utc_of_local(local_s, zone).doubled
    if not len(doubled):
        return
    stamps, counts = np.unique(local_s[doubled], return_counts=True)
    once = np.isin(local_s[doubled], stamps[counts == 1])
    alone = known[doubled[once]]
    if len(alone) * step_s > DAY_S:
        return
    if len(alone):
        quality[alone] = ESTIMATED
        table.say(
            "clock",
            f"{len(alone)} rows are of an hour the clock shows twice, stand there but "
            "once and may hold both: left out of the maximum",
        )


def _coarser(
    table: Table, given: Moments, duration_s: Integers, *, ends: bool
) -> Integers:
    """Return durations, longer where many rows in turn stand further apart.

    One longer step is a gap; several alike in turn are rows of a longer interval.
    """
    import numpy as np

    usual = int(duration_s[0])
    steps = np.diff(given.clock_s)
    if (steps == usual).all() or table.options.interval_s:
        return duration_s
    longer = (steps > usual) & (steps <= DAY_S) & (steps % max(usual, 1) == 0)
    like_before = np.append(False, (np.diff(steps) == 0) & longer[1:])
    run = np.cumsum(~like_before)
    counts = np.bincount(run)
    long_run = longer & (counts[run] >= LEAST_RUN)
    if not long_run.any():
        return duration_s
    # The step after a start is its length, that before an end likewise.
    places = np.flatnonzero(long_run) + ends
    duration_s = duration_s.copy()
    duration_s[places] = steps[long_run]
    if not ends:
        last = int(places[-1]) + 1
        if last == len(duration_s) - 1:
            duration_s[last] = steps[-1]
    table.say(
        "interval",
        f"{len(places):,} rows stand further apart than {usual:,} s, evenly: taken as "
        "longer intervals",
        "--interval, if there is but one",
        asks=True,
    )
    return duration_s


def _clock_columns(table: Table) -> tuple[Moments | None, Moments | None]:
    """Return starts and ends as the columns give them."""
    at = table.columns.times
    cells = table.cells
    order = None
    if table.options.day_first is not None:
        order = DayOrder(table.options.day_first, is_certain=True)
    days = days_of(table)
    starts = ends = None
    if "period" in at:
        first, last = _two_ends(cells[at["period"]])
        if days is not None and not any(map(moments, [first[:1], first[-1:]])):
            return moments_beside(days, first, order), moments_beside(days, last, order)
        starts, ends = moments(first, order), moments(last, order)
    elif days is None:
        place = at.get("moment", at.get("time", at.get("number")))
        if place is not None and _PERIOD.search(cells[place][0]):
            first, last = _two_ends(cells[place])
            starts, ends = moments(first, order), moments(last, order)
        elif place is not None:
            starts = moments(cells[place], order)
    elif (place := _time_column(table)) is not None:
        starts, ends = _of_day(table, days, place, order)
    elif "number" in at:
        starts = _numbered(table, days, order)
    elif not at.keys() & {"end_time", "end"}:
        starts = moments(days, order)
    if ends is None:
        ends = _end_column(table, days, order)
    for found in (starts, ends):
        if found and found.order and not found.order.is_certain:
            one, other = ("day", "month") if found.order.day_first else ("month", "day")
            why = f", {found.order.why}" if found.order.why else ""
            option = "--no-day-first" if found.order.day_first else "--day-first"
            table.say(
                "dates",
                f"every date could be read two ways: taken as {one} first{why}",
                f"{option}, if the {other} stands first",
                asks=True,
            )
            break
    return starts, ends


def days_of(table: Table) -> Sequence[str] | None:
    """The dates of the rows, where they have a column of their own.

    Args:
        table: The table. [-]

    Returns:
        The dates of the rows; None where no column holds them. [-]
    """
    at, cells = table.columns.times, table.cells
    if "year" in at and "day" in at:
        months = at.get("date", at.get("month"))
        if months is None:
            return None
        columns = (cells[at["year"]], cells[months], cells[at["day"]])
        return ["-".join(map(str.strip, each)) for each in zip(*columns, strict=True)]
    place = at.get("date", at.get("day"))
    if place is not None:
        return cells[place]
    if "moment" in at and "time" in at and _are_days(cells[at["moment"]]):
        return cells[at["moment"]]
    return None


def _are_days(cells: Sequence[str]) -> bool:
    """Return whether cells hold dates without any time."""
    some = [cell for cell in cells[:200] if cell.strip()]
    found = moments(some) if some else None
    return bool(found is not None and not (found.clock_s % DAY_S).any())


def _are_times(cells: Sequence[str]) -> bool:
    """Return whether cells hold a time of day without any date."""
    some = [cell.strip() for cell in cells[:200] if cell.strip()]
    return bool(some) and any(seconds_of_day(cell) is not None for cell in some)


def _time_column(table: Table) -> int | None:
    """Return the column of the time of day at which a reading starts."""
    at = table.columns.times
    for role in ("time", "moment"):
        place = at.get(role)
        if place is not None and (role == "time" or _are_times(table.cells[place])):
            return place
    return None


def _of_day(
    table: Table, days: Sequence[str], place: int, order: DayOrder | None
) -> tuple[Moments | None, Moments | None]:
    """Return starts, and ends where a cell gives both, of times beside a date."""
    cells = table.cells[place]
    if all(re.search(_BETWEEN, cell, re.IGNORECASE) for cell in cells[:50]):
        first, last = _two_ends(cells)
        return moments_beside(days, first, order), moments_beside(days, last, order)
    times = _hours(cells)
    minutes = table.columns.times.get("minute")
    if minutes is not None and all(each.endswith(":00") for each in times[:50]):
        times = [
            f"{each.strip()[:-2]}{minute.strip().zfill(2)}"
            for each, minute in zip(times, table.cells[minutes], strict=True)
        ]
    if _hour_endings(cells):
        times = _hours(cells, ending=True)
        return None, _next_day_at_midnight(moments_beside(days, times, order))
    return moments_beside(days, times, order), None


_PERIOD = re.compile(r":\d{2}\S*(?:/|\s+(?:to|/|-|\u2013)\s+)\d{1,4}[-/]\d{1,2}[-/]")


def _two_ends(cells: Sequence[str]) -> tuple[list[str], list[str]]:
    """Return both ends of what is written as "start to end"."""
    pairs = [
        re.split(r"\s+(?:to|-|\u2013)\s+", cell.strip(), maxsplit=1) for cell in cells
    ]
    if all(len(pair) == 1 for pair in pairs):
        # Between two dates only a stroke is clear; between two times a dash is.
        between = r"\s*/\s*" if _PERIOD.search(cells[0]) else r"\s*[-\u2013]\s*"
        pairs = [re.split(between, each[0], maxsplit=1) for each in pairs]
    return [pair[0] for pair in pairs], [pair[-1] for pair in pairs]


def _hour_endings(cells: Sequence[str]) -> bool:
    return all(re.fullmatch(r"\s*HE ?\d{1,2}\s*", cell, re.I) for cell in cells[:50])


def _end_column(
    table: Table, days: Sequence[str] | None, order: DayOrder | None
) -> Moments | None:
    at, cells = table.columns.times, table.cells
    if "end" in at:
        column = cells[at["end"]]
        if days is None or not _are_times(column):
            return moments(column, order)
        return _next_day_at_midnight(moments_beside(days, column, order))
    if "end_time" in at:
        times = _hours(cells[at["end_time"]], ending=True)
        if "end_date" in at:
            return moments_beside(cells[at["end_date"]], times, order)
        if days is None:
            return moments(times, order)
        return _next_day_at_midnight(moments_beside(days, times, order))
    return moments(cells[at["end_date"]], order) if "end_date" in at else None


def _next_day_at_midnight(found: Moments | None) -> Moments | None:
    """Return ends; a midnight that is written with the day it ends is the next."""
    import numpy as np

    if found is None:
        return None
    at_s = found.clock_s
    midnight = np.flatnonzero((at_s[1:] % DAY_S == 0) & (at_s[1:] != UNREAD)) + 1
    before = at_s[midnight - 1]
    same_day = (before > at_s[midnight]) & (before - at_s[midnight] < DAY_S)
    if 2 * same_day.sum() <= len(midnight) or not len(midnight):
        return found
    moved = at_s.copy()
    moved[(at_s % DAY_S == 0) & (at_s != UNREAD)] += DAY_S
    return replace(found, clock_s=moved)


def _numbered(
    table: Table, days: Sequence[str], order: DayOrder | None
) -> Moments | None:
    """Return starts of intervals that are counted through the day."""
    import numpy as np

    found = moments(days, order)
    cells = table.cells[table.columns.times["number"]]
    if found is None or not all(re.fullmatch(r"\s*\d{1,4}\s*", cell) for cell in cells):
        return None
    number = np.array([int(cell) for cell in cells], dtype=np.int64)
    least, most = int(number.min()), int(number.max())
    count = most - least + 1
    for per_day in (24, 48, 96, 288, 1440):
        # A day in autumn counts an hour more.
        if per_day <= count <= per_day * 25 // 24 and least in (0, 1):
            step_s = DAY_S // per_day
            table.say("interval", f"{per_day} intervals a day, counted from {least}")
            at_s = found.clock_s + (number - least) * step_s
            return replace(
                found, clock_s=np.where(found.clock_s == UNREAD, UNREAD, at_s)
            )
    return None


def _hours(cells: Sequence[str], *, ending: bool = False) -> Sequence[str]:
    """Return hours written as bare numbers, as 7, HE07, 0700 or 730, as times."""
    bare = {
        cell: re.sub(r"(?i)^\s*(?:HE|hour|hr|h) ?", "", cell).strip()
        for cell in set(cells)
    }
    kinds = set(bare.values())
    if not all(re.fullmatch(r"\d{1,4}", cell) for cell in kinds):
        return cells
    # 1 to 24 count the hours of a day; 0 to 23 name when they begin.
    counted = "24" in kinds and kinds.isdisjoint({"0", "00"})
    less = 1 if counted and not ending else 0
    if any(len(cell) > 2 for cell in kinds):
        times = {
            cell: f"{int(cell) // 100:02d}:{int(cell) % 100:02d}" for cell in kinds
        }
    else:
        times = {cell: f"{int(cell) - less:02d}:00" for cell in kinds}
    return [times[bare[cell]] for cell in cells]


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
    table: Table, starts: Moments, ends: Moments, step_s: int
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


def in_utc(
    table: Table, given: Moments, shift_s: int | Integers
) -> tuple[Integers, Clock]:
    """Times of the local clock as moments.

    Args:
        table: The table. [-]
        given: Times as written. [-]
        shift_s: What is to be added to them. [s]

    Returns:
        Seconds since 1970, and the local clock. [s]
    """
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
    table: Table, clock_s: Integers, zone: ZoneClock
) -> tuple[Integers, Clock]:
    import numpy as np

    known = clock_s != UNREAD
    local = utc_of_local(np.where(known, clock_s, 0), zone)
    skipped = local.missing[_is_filled(table, local.missing)]
    if len(skipped) and not _repeats(clock_s, local.doubled):
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


def _is_filled(table: Table, places: Integers) -> Any:
    """Return which rows hold more than a zero, as one that only keeps a place does."""
    import numpy as np

    if table.columns.wide or not table.columns.amounts:
        return np.ones(len(places), dtype=bool)
    amounts = [amount.index for amount in table.columns.amounts]
    return np.array(
        [
            any(re.search("[1-9]", table.cells[at][place]) for at in amounts)
            for place in places.tolist()
        ],
        dtype=bool,
    )


def _repeats(clock_s: Integers, places: Integers) -> bool:
    """Return whether times of the doubled hour really stand there twice."""
    import numpy as np

    return len(np.unique(clock_s[places])) < len(places)


def _without_zone(table: Table, clock_s: Integers) -> tuple[Integers, Clock]:
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
