"""From the bytes of a table to its rows: letters, lines, quotes, odd rows."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator

from lugbook.demand.opened import unusable
from lugbook.demand.table_header import FIRST_LINES
from lugbook.demand.table_state import Table
from lugbook.demand.table_times import moments

__all__ = ["decoded", "logical_lines", "rows_of"]


def logical_lines(text: str) -> list[str]:
    """The first lines; one whose quote is open goes on in the next.

    Args:
        text: The file. [-]

    Returns:
        Its first lines, each with what its open quote goes on in. [-]
    """
    lines: list[str] = []
    opened_quote = False
    for line in io.StringIO(text):
        if opened_quote:
            lines[-1] += line
        elif len(lines) == FIRST_LINES:
            break
        else:
            lines.append(line)
        # A quote that never closes is not followed to the end of the file.
        opened_quote = lines[-1].count('"') % 2 == 1 and lines[-1].count("\n") < 4
    return lines


def decoded(raw: bytes, name: str) -> tuple[str, str]:
    """The text of a file in its encoding.

    Args:
        raw: The file. [-]
        name: Its name. [-]

    Returns:
        The text, and the encoding where it is to be said. [-]

    Raises:
        InputError: It is no text.
    """
    for encoding in _marked_encodings(raw):
        try:
            return _one_line_end(raw.decode(encoding)).lstrip("\ufeff"), ""
        except UnicodeDecodeError as error:
            raise unusable(name, "damaged UTF-16 text") from error
    raw = raw.rstrip(b"\0")  # what a logger sets aside and never fills
    if b"\0" in raw:
        raise unusable(name, "not text: it holds zero bytes")
    try:
        return _one_line_end(raw.decode("utf-8-sig")), ""
    except UnicodeDecodeError:
        return _one_line_end(raw.decode("cp1252", "replace")), "Windows-1252"


def _marked_encodings(raw: bytes) -> Iterator[str]:
    """Yield the encoding that a mark or the zeros between the letters show."""
    if raw[:4] in (b"\xff\xfe\0\0", b"\0\0\xfe\xff"):
        yield "utf-32"
    elif raw[:2] in (b"\xff\xfe", b"\xfe\xff"):
        yield "utf-16"
    elif len(raw) > 8 and not any(raw[1:200:2]):
        yield "utf-16-le"
    elif len(raw) > 8 and not any(raw[:200:2]):
        yield "utf-16-be"


def _one_line_end(text: str) -> str:
    return text if "\n" in text else text.replace("\r", "\n")


def rows_of(body: str, table: Table) -> list[list[str]]:
    """The rows of a body, each with as many cells as the header.

    Args:
        body: The rows as text. [-]
        table: The table. [-]

    Returns:
        The rows, each with as many cells as the header. [-]

    Raises:
        InputError: A row is damaged, or there is none.
    """
    titles = [title.strip() for title in table.header.titles]
    count = len(titles)
    first = table.header.line
    rows: list[list[str]] = []
    odd: list[tuple[int, int, list[str]]] = []
    headings = 0
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
            if any("\n" in cell and _holds_rows(cell, table) for cell in row):
                raise unusable(
                    table.name, "a quote that is not closed on its line", line=line
                )
            if len(row) == count:
                rows.append(row)
            else:
                odd.append((line, len(rows), row))
    except csv.Error as error:
        said = str(error).replace(
            "unexpected end of data", "a quote that is never closed"
        )
        raise unusable(table.name, said, line=first + reader.line_num) from error
    rows, others = _filled_up(rows, odd, table)
    if headings or others:
        table.leave_out(f"{headings + others} lines", "headings between the rows")
    if not rows:
        raise unusable(table.name, "a header without a single row")
    return rows


def _holds_rows(cell: str, table: Table) -> bool:
    """Return whether a cell of several lines swallowed rows; a remark did not."""
    lines = cell.splitlines()
    apart = len(table.header.titles) - 1
    return len(lines) > 4 or any(
        line.count(table.header.delimiter) >= apart for line in lines
    )


_DATED = ("moment", "date", "period", "end", "end_date")


def _filled_up(
    rows: list[list[str]], odd: list[tuple[int, int, list[str]]], table: Table
) -> tuple[list[list[str]], int]:
    """Return rows of one length, and how many lines were no readings.

    A row may lack cells at its end that are not needed, as notes. One that lacks
    others, or has more, is a heading or a foot if it holds no time, and else a
    damaged reading.
    """
    count = len(table.header.titles)
    needed = max(
        *(amount.index for amount in table.columns.amounts[:1]),
        *table.columns.wide,
        *(
            at
            for role, at in table.columns.times.items()
            if role not in ("cost", "note", "type", "unit")
        ),
        0,
    )
    dated = [at for role, at in table.columns.times.items() if role in _DATED]
    filled: list[tuple[int, list[str]]] = []
    others = 0
    for line, place, row in odd:
        if needed < len(row) < count:
            filled.append((place, [*row, *[""] * (count - len(row))]))
        elif not any(
            at < len(row) and row[at].strip() and moments([row[at]]) for at in dated
        ):
            others += 1
        elif line == odd[-1][0] and place == len(rows) and len(row) < count and rows:
            table.leave_out("the last row", "the file ends within it")
        else:
            given = f"{len(row)} cells where the header has {count}"
            mend = "Mend that line, or take it out: the gap is then counted."
            raise unusable(table.name, given, mend, line)
    if filled:
        short = len(filled)
        which = "no row has" if not rows else f"{short:,} rows do not have"
        table.say("table", f"{which} a cell for every heading: read as blank")
        for place, row in reversed(filled):
            rows.insert(place, row)
    return rows, others
