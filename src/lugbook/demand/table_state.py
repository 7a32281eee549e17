"""A table of interval data while it is read: its cells, and what was inferred."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from lugbook.demand.clock import Clock, ZoneClock
from lugbook.demand.opened import unusable
from lugbook.demand.series import LeftOut, Statement
from lugbook.demand.table_header import Columns, Header
from lugbook.demand.table_numbers import numbers
from lugbook.demand.table_times import UNREAD
from lugbook.errors import Fault, InputError

if TYPE_CHECKING:
    from lugbook.demand.series import Floats, Integers

__all__ = [
    "DAY_S",
    "DOUBTFUL",
    "ESTIMATED",
    "HOUR_S",
    "MOST_BAD_FRACTION",
    "SKIPPED",
    "Table",
    "TableOptions",
    "TableTimes",
    "column_numbers",
    "leave_out_unread",
    "shown",
]

LEAST_LEG_V, MOST_LEG_V = 100.0, 140.0  # from leg to neutral
DAY_S, HOUR_S = 86400, 3600
ESTIMATED, DOUBTFUL = 8, 13  # codes of quality, as ESPI numbers them
SKIPPED = UNREAD + 1  # a time that the clock skipped
MOST_BAD_FRACTION = 0.01  # of rows; more, and the table is not what we think
_CONTROL = re.compile(r"[\x00-\x1f\x7f-\x9f\u200e\u200f\u202a-\u202e\u2066-\u2069]")


@dataclass(frozen=True, slots=True)
class TableOptions:
    """What a person says of a table, going before what it seems to be.

    Args:
        zone: Time zone of its clock. [-]
        unit: Unit of its amounts, as "kWh". [-]
        interval_s: Interval of its rows. [s]
        day_first: Whether dates give the day before the month. [-]
        leg_v: Voltage from leg to neutral, where it holds amperes. [V]
        column: Heading of the column of amounts. [-]
        times_end: Whether a time is the end of its interval. [-]
    """

    zone: ZoneClock | None = None
    unit: str | None = None
    interval_s: int | None = None
    day_first: bool | None = None
    leg_v: float | None = None
    column: str | None = None
    times_end: bool | None = None

    def __post_init__(self) -> None:
        """Refuse what no table can have."""
        if self.interval_s is not None and not 1 <= self.interval_s <= DAY_S:
            raise InputError(
                Fault("--interval", f"{self.interval_s} s", "1 to 86400 s, as 900")
            )
        if self.leg_v is not None and not LEAST_LEG_V <= self.leg_v <= MOST_LEG_V:
            raise InputError(
                Fault("--leg-volts", f"{self.leg_v:g} V", "100 to 140 V, as 120")
            )


@dataclass(slots=True)
class Table:
    """A table being read."""

    name: str
    options: TableOptions
    header: Header
    cells: list[Sequence[str]]
    statements: list[Statement] = field(default_factory=list)
    left_out: list[LeftOut] = field(default_factory=list)
    units_in_cells: set[str] = field(default_factory=set)
    point: str = "1"
    is_reverse: bool = False

    @property
    def columns(self) -> Columns:
        """Return what the columns hold."""
        return self.header.columns

    def say(self, about: str, said: str, mend: str = "", *, asks: bool = False) -> None:
        """Add a statement."""
        # What a file says is shown as text; it shall not steer a terminal.
        self.statements.append(Statement(about, shown(said), mend, asks))

    def leave_out(self, what: str, why: str) -> None:
        """Add something left out."""
        self.left_out.append(LeftOut(shown(what), shown(why)))


def shown(text: str) -> str:
    """Text of a file as it may be shown.

    Args:
        text: What a file says. [-]

    Returns:
        The same without what could steer a terminal. [-]
    """
    return _CONTROL.sub("\N{REPLACEMENT CHARACTER}", text)


@dataclass(frozen=True, slots=True)
class TableTimes:
    """When the readings of a table were, and for how long."""

    start_s: Integers
    duration_s: Integers
    quality: Integers
    clock: Clock


def column_numbers(
    table: Table, cells: Sequence[str], title: str
) -> tuple[Floats, int]:
    """A column as numbers, NaN where blank, and how many could not be read.

    Args:
        table: The table. [-]
        cells: The column. [-]
        title: Its heading. [-]

    Returns:
        The numbers, NaN where blank, and how many could not be read. [-]
    """
    found = numbers(cells, delimiter=table.header.delimiter)
    if found.decimal_comma:
        table.say("numbers", f'a comma is the decimal mark in "{title}"')
    if found.units:
        table.units_in_cells |= found.units
    return found.amounts, found.bad


def leave_out_unread(table: Table, read: Any) -> None:
    """Say which rows have no time, and refuse where they are many.

    Args:
        table: The table. [-]
        read: Which rows have a time. [-]

    Raises:
        InputError: They are many.
    """
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
