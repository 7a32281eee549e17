"""Tables of interval data: what utilities and loggers write as CSV.

The header is found by its words, and what each column holds, its unit, the interval
and the order of day and month are inferred. Everything inferred is said, and every
inference can be overridden by an argument.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from lugbook.demand.clock import Clock, ZoneClock, open_zone
from lugbook.demand.opened import Progress, chunks, opened, unusable
from lugbook.demand.series import MeterFile, MeterSeries
from lugbook.demand.table_amounts import series_of
from lugbook.demand.table_bytes import byte_columns
from lugbook.demand.table_clock import forward_in_time, times_of
from lugbook.demand.table_columns import (
    chosen_columns,
    parts_of,
    parts_summed,
    with_notes,
)
from lugbook.demand.table_header import FIRST_LINES, Amount, find_header
from lugbook.demand.table_numbers import numbers
from lugbook.demand.table_rows import decoded, logical_lines, rows_of
from lugbook.demand.table_state import (
    MOST_BAD_FRACTION,
    SKIPPED,
    Table,
    TableOptions,
    column_numbers,
    leave_out_unread,
)
from lugbook.demand.table_times import UNREAD
from lugbook.demand.table_wide import wide_series
from lugbook.errors import InputError

if TYPE_CHECKING:
    from lugbook.demand.series import Floats

__all__ = ["TableOptions", "read_table"]

FIRST_BYTES = 1 << 18  # of a file, in which its header is looked for


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
    is_plain = raw.isascii() and b"\0" not in raw and b"\n" in raw
    if is_plain:
        # Only the first lines are needed as text, if the rows prove to be plain.
        text, encoding = raw[:FIRST_BYTES].decode("ascii"), ""
    else:
        text, encoding = decoded(raw, name)
    lines = logical_lines(text)
    header = find_header([" ".join(line.split("\n")).rstrip() for line in lines])
    if header is None:
        raise unusable(name, _why_no_header(lines))
    before = "".join(lines[: header.line])
    header = replace(header, line=before.count("\n"))
    options = options or TableOptions()
    table = Table(name, options, header, [])
    if zone := _zone_of(header.titles):
        table.options = replace(options, zone=options.zone or zone)
    if encoding:
        table.say("letters", f"read as {encoding}, since they are not UTF-8")
    table.cells = _cells(raw if is_plain else b"", text, len(before), table)
    _say_header(table)
    read = wide_series if header.columns.wide else _long
    series: list[MeterSeries] = []
    clocks: list[Clock] = []
    for part in parts_of(table):
        found, clock = read(part)
        series += found
        clocks.append(clock)
    return MeterFile(
        name=name,
        layout="table",
        series=tuple(series),
        clock=clocks[0],
        statements=tuple(dict.fromkeys(table.statements)),
        left_out=tuple(dict.fromkeys(table.left_out)),
    )


def _cells(raw: bytes, text: str, first: int, table: Table) -> list[Sequence[str]]:
    """Return the columns of the rows, found all at once where they are plain.

    Of a file that is nothing but ASCII the bytes are given, of others all of the text.
    """
    if not raw and (body := text[first:]).isascii() and "\n" in body:
        raw, first = body.encode("ascii"), 0
    if raw:
        count = len(table.header.titles)
        plain = byte_columns(raw, first, table.header.delimiter, count)
        if plain is not None:
            return list(plain)
        return list(zip(*rows_of(raw[first:].decode("ascii"), table), strict=True))
    return list(zip(*rows_of(text[first:], table), strict=True))


def _zone_of(titles: Sequence[str]) -> ZoneClock | None:
    """Return the time zone that a heading names, as "Time (America/Chicago)"."""
    for title in titles:
        if match := re.search(r"\(([A-Z][A-Za-z_]+/[A-Z][A-Za-z_/]+)\)", title):
            try:
                return open_zone(match[1])
            except InputError:
                continue  # something else in brackets
    return None


def _why_no_header(lines: Sequence[str]) -> str:
    words = re.search(r"\b(therms?|ccf|gallons?|gas|water)\b", " ".join(lines).lower())
    if words and find_header(
        [re.sub(r"(?i)therms?|ccf|gallons?|gas|water", "kWh", each) for each in lines]
    ):
        return f'amounts of "{words[1]}", which is no electricity'
    return f"no header with a time and an amount in its first {FIRST_LINES} lines"


def _say_header(table: Table) -> None:
    header = table.header
    parted = {",": "commas", ";": "semicolons", "\t": "tabs", "|": "bars"}
    where = f"header in line {header.line}" if header.line else "no header"
    table.say("table", f"{where}, parted by {parted[header.delimiter]}")
    for title in header.columns.left_out:
        table.leave_out(f'column "{title}"', "no time and no amount of electricity")


def _long(table: Table) -> tuple[Iterator[MeterSeries], Clock]:
    import numpy as np

    times = times_of(table, forward_in_time(table))
    read = times.start_s != UNREAD
    found: list[tuple[Amount, Floats]] = []
    for amount in chosen_columns(table):
        numbered, bad = column_numbers(table, table.cells[amount.index], amount.title)
        if bad > max(1, MOST_BAD_FRACTION * len(numbered)):
            raise unusable(
                table.name,
                f'{bad} cells of "{amount.title}" that are no numbers, as '
                f"{_first_bad(table, amount)!r}",
            )
        if bad:
            table.leave_out(f"{bad} readings", f'no number in "{amount.title}"')
        found.append((amount, numbered))
    found = parts_summed(table, found)
    if np.isnan(found[0][1]).all():
        raise unusable(table.name, f'no amount at all in "{found[0][0].title}"')
    quality = with_notes(table, times.quality)
    if not read.all():
        leave_out_unread(table, read)
    rows = np.flatnonzero(times.start_s > SKIPPED)
    return series_of(table, times, found, quality, rows), times.clock


def _first_bad(table: Table, amount: Amount) -> str:
    cells = table.cells[amount.index]
    delimiter = table.header.delimiter
    for cell in cells[:10_000]:
        if numbers([cell], delimiter=delimiter).bad:
            return cell[:40]
    return ""
