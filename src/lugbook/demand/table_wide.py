"""Tables with one day a row: a column for each hour, half hour or quarter."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import TYPE_CHECKING, Any

from lugbook.demand.clock import Clock, ZoneClock, utc_of_local
from lugbook.demand.opened import unusable
from lugbook.demand.series import MeterSeries
from lugbook.demand.table_amounts import series_of
from lugbook.demand.table_clock import days_of, in_utc
from lugbook.demand.table_header import Amount, unit_of
from lugbook.demand.table_state import (
    DAY_S,
    ESTIMATED,
    MOST_BAD_FRACTION,
    SKIPPED,
    Table,
    TableTimes,
    column_numbers,
    leave_out_unread,
)
from lugbook.demand.table_times import UNREAD, DayOrder, Moments, moments

if TYPE_CHECKING:
    from lugbook.demand.series import Floats, Integers

__all__ = ["wide_series"]


def wide_series(table: Table) -> tuple[Iterator[MeterSeries], Clock]:
    """The series of a table with one day a row.

    Args:
        table: The table. [-]

    Returns:
        The series, and the local clock. [-]

    Raises:
        InputError: It has no dates, or no amounts.
    """
    import numpy as np

    order = None
    if table.options.day_first is not None:
        order = DayOrder(table.options.day_first, is_certain=True)
    at = table.columns.times
    place = next((at[role] for role in ("date", "moment", "day") if role in at), None)
    cells = days_of(table) if "year" in at else None
    if cells is None and place is not None:
        cells = table.cells[place]
    days = moments(cells, order) if cells is not None else None
    if days is None:
        raise unusable(table.name, "a column for each hour, but no date to the rows")
    wide, extra = table.columns.wide, table.columns.extra
    count = len(wide) - extra
    step_s = DAY_S // count
    table.say("table", f"one day a row, {count} columns of {step_s:,} s from midnight")
    values, bad = [], 0
    for index in wide:
        numbered, wrong = column_numbers(
            table, table.cells[index], table.header.titles[index]
        )
        values.append(numbered)
        bad += wrong
    grid = np.stack(values, axis=1)
    if bad > max(1, MOST_BAD_FRACTION * grid.size):
        raise unusable(table.name, f"{bad} cells that are no numbers")
    read = days.clock_s != UNREAD
    if not read.all():
        leave_out_unread(table, read)
    day_s, grid = days.clock_s[read], grid[read]
    grid, runs_on = _in_order_of_day(grid, extra)
    clock_s = day_s[:, None] + step_s * np.arange(len(wide))
    filled = ~np.isnan(grid)
    quality = np.full(grid.shape, -1, dtype=np.int64)
    zone = table.options.zone
    keep = filled.ravel()
    moment_s = clock_s.ravel()[keep]
    utc_s, clock = in_utc(table, Moments(moment_s, None), 0)
    if runs_on.any():
        utc_s = _run_on(table, day_s, runs_on, filled, utc_s, step_s)
    column = grid.ravel()[keep]
    marked = quality.ravel()[keep]
    if zone and not runs_on.all():
        usual = np.repeat(~runs_on, grid.shape[1])[keep]
        part = np.flatnonzero(usual)
        marks = marked[part]
        _mark_doubled(table, moment_s[part], column[part], marks, zone)
        marked[part] = marks
    length = np.full(len(moment_s), step_s, dtype=np.int64)
    times = TableTimes(utc_s, length, marked, clock)
    rows = np.flatnonzero(utc_s > SKIPPED)
    if not len(rows):
        raise unusable(table.name, "no amount at all in the columns of the day")
    if missing := int((~filled[:, :count]).sum()):
        table.leave_out(f"{missing:,} cells", "no amount")
    title = f"{table.header.titles[wide[0]]} to {table.header.titles[wide[-1]]}".strip()
    kind, factor = _wide_unit(table, title)
    amount = Amount(wide[0], title, kind, factor, False, False, "", False)
    return series_of(table, times, [(amount, column)], marked, rows), clock


def _in_order_of_day(grid: Floats, extra: int) -> tuple[Floats, Any]:
    """Return a grid with its columns of a 25th hour last, and the days that fill them.

    A column for the doubled hour may stand among the others, as HE2X; it is the one
    that is blank on most days. Where it is filled, the columns run on in time.
    """
    import numpy as np

    if not extra:
        return grid, np.zeros(len(grid), dtype=bool)
    filled = ~np.isnan(grid)
    # The least filled, and of columns alike the last.
    order = np.lexsort((-np.arange(grid.shape[1]), filled.sum(axis=0)))
    spare = np.sort(order[:extra])
    others = np.setdiff1d(np.arange(grid.shape[1]), spare)
    runs_on: Any = filled[:, spare].any(axis=1)
    moved = grid[:, np.append(others, spare)]
    return np.where(runs_on[:, None], grid, moved), runs_on


def _run_on(
    table: Table,
    day_s: Integers,
    runs_on: Any,
    filled: Any,
    utc_s: Integers,
    step_s: int,
) -> Integers:
    """Return moments, those of days with a 25th hour counted on from midnight."""
    import numpy as np

    zone = table.options.zone
    row = np.nonzero(filled)[0]
    column = np.nonzero(filled)[1]
    on = runs_on[row]
    if zone is None:
        beyond = on & (column * step_s >= DAY_S)
        table.leave_out(
            f"{int(beyond.sum())} readings",
            "of the hour that a day in autumn has more; --zone gives them their place",
        )
        utc_s = utc_s.copy()
        utc_s[beyond] = SKIPPED
        return utc_s
    midnight = utc_of_local(day_s, zone).utc_s
    return np.where(on, midnight[row] + step_s * column, utc_s)


def _wide_unit(table: Table, title: str) -> tuple[str, float]:
    """Return the unit of a wide table, which may stand in the head of any column."""
    for heading in (title, *table.header.titles):
        kind, factor = unit_of(heading)
        if kind in ("energy", "power") and not re.fullmatch(r"\d+ ?a?", heading):
            return kind, factor
    return "", 1.0


def _mark_doubled(
    table: Table, clock_s: Integers, column: Floats, quality: Integers, zone: ZoneClock
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
