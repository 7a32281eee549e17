"""Which line of a table is its header, and what each column holds."""

from __future__ import annotations

import csv
import re
import tomllib
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Any

from lugbook.demand.table_times import moments, seconds_of_day

__all__ = ["Amount", "Columns", "Header", "find_header"]

FIRST_LINES = 60  # within which the header must stand
DELIMITERS = ",;\t|"
WIDE_COUNTS = (96, 48, 24)

_UNITS = (
    # pattern, what it is, factor to Wh or W
    (r"mwh|megawatt.?hours?", "energy", 1e6),
    (r"kwh|kw.h|kilowatt.?hours?", "energy", 1e3),
    (r"wh|watt.?hours?", "energy", 1.0),
    (r"kw|kilowatts?", "power", 1e3),
    (r"kva", "power", 1e3),
    (r"w|watts?|wattage", "power", 1.0),
    (r"va", "power", 1.0),
    (r"a|amps?|amperes?", "current", 1.0),
)
_NOT_ELECTRICITY = re.compile(
    r"\b(therms?|ccf|m3|m³|gal(lons?)?|cubic|btu|gas|water)\b"
)
_AMOUNT = re.compile(
    r"\b(usage|consum\w*|kwh|energy|wh|import\w*|export\w*|value|demand|power|kw|w|watts?"
    r"|load|amps?|wattage|current|delivered|received|generat\w*|produc\w*|solar|net|use|kva|va|mwh"
    r"|electricity|amount|quantity|kilowatt\w*|counter|register|reading|a)\b"
)
_REVERSE = re.compile(
    r"\b(export\w*|generat\w*|produc\w*|received|solar|returned|to grid|feed ?in"
    r"|reverse|outflow)\b"
)
_NET = re.compile(r"\bnet\b")
_TOTAL = re.compile(r"\b(total|sum)\b")
_LEG = re.compile(
    r"\b(?:l|leg|line|phase|ct|i|p|channel|ch|mains?|current|power|hot)[ _-]?([ab12])\b"
)
_ASIDE = re.compile(
    r"\b(peak|max(imum)?|min(imum)?|temp\w*|temperature|humidity|voltage|volts?|v|pf"
    r"|power factor|freq\w*|hz|kvar|kvarh|var|varh|reactive|apparent|account|meter"
    r" ?(id|number|no)|esi ?id|address|name|neutral|cumulative cost|degree\w*|co2)\b"
)
_COUNTER = re.compile(
    r"\b(counter|register|cumulative|lifetime|odometer|meter read\w*)\b"
)
_HOUR = re.compile(
    r"(?:he|hour|hr|h|interval|int|kwh|usage|value|q|v)?[ _-]?0*(\d{1,3})(?: ?k?wh?)?"
)


@cache
def _roles() -> dict[str, str]:
    """Return the role of each heading known by its words."""
    headings = _words()["headings"]
    return {word: role for role, words in headings.items() for word in words}


@cache
def _words() -> dict[str, Any]:
    text = files("lugbook.demand").joinpath("table_words.toml").read_text("utf-8")
    return tomllib.loads(text)


@dataclass(frozen=True, slots=True)
class Amount:
    """A column of amounts.

    Args:
        index: Its place. [-]
        title: Its heading. [-]
        kind: "energy", "power", "current", or "" where the heading does not say. [-]
        factor: To Wh, W or A. [-]
        reverse: Whether it flows to the grid. [-]
        net: Whether the heading says net. [-]
        leg: "A", "B" or "" for the whole. [-]
        counter: Whether the heading says it counts up. [-]
    """

    index: int
    title: str
    kind: str
    factor: float
    reverse: bool
    net: bool
    leg: str
    counter: bool


@dataclass(frozen=True, slots=True)
class Columns:
    """What each column of a table holds; None where there is none.

    Args:
        times: Place of each column of time, by its role. [-]
        amounts: Columns of amounts. [-]
        wide: Places of the columns of a day, in order; empty in long tables. [-]
        left_out: Headings not used. [-]
    """

    times: dict[str, int]
    amounts: tuple[Amount, ...]
    wide: tuple[int, ...]
    left_out: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Header:
    """The header of a table.

    Args:
        line: Its line, from 1; 0 where there is none. [-]
        delimiter: What parts the cells. [-]
        titles: Its cells. [-]
        columns: What they hold. [-]
    """

    line: int
    delimiter: str
    titles: tuple[str, ...]
    columns: Columns


def find_header(lines: Sequence[str]) -> Header | None:
    """The header of a table.

    The line within the first 60 in which most columns are known by their words; a
    table that begins with a time and a number has none.

    Args:
        lines: The first lines of the file. [-]

    Returns:
        The header; None where there is no table. [-]
    """
    best: tuple[int, Header] | None = None
    for number, line in enumerate(lines[:FIRST_LINES], 1):
        for delimiter in DELIMITERS:
            titles = _cells(line, delimiter)
            columns = columns_of(titles)
            score = _score(columns)
            if score and (best is None or score > best[0]):
                best = (score, Header(number, delimiter, tuple(titles), columns))
    return best[1] if best else _headless(lines)


def columns_of(titles: Sequence[str]) -> Columns:
    """What the columns under these headings hold.

    Args:
        titles: The headings. [-]

    Returns:
        Roles of the columns. [-]
    """
    plain = [_plain(title) for title in titles]
    wide = _wide(titles)
    times: dict[str, int] = {}
    amounts: list[Amount] = []
    left_out: list[str] = []
    for index, title in enumerate(plain):
        if index in wide or not title:
            continue
        role = _role(title)
        if role and role not in times:
            times[role] = index
        elif _NOT_ELECTRICITY.search(title) or _ASIDE.search(title):
            left_out.append(titles[index].strip())
        elif (_AMOUNT.search(title) or _LEG.search(title)) and not wide:
            amounts.append(_amount(index, titles[index].strip(), title))
        else:
            left_out.append(titles[index].strip())
    return Columns(times, tuple(amounts), wide, tuple(left_out))


def unit_of(text: str) -> tuple[str, float]:
    """What a unit is of, and its factor to Wh, W or A.

    Args:
        text: A unit, or a heading that ends in one. [-]

    Returns:
        Kind, empty where no unit is found, and factor. [-]

    Example:
        >>> unit_of("USAGE (kWh)"), unit_of("therms")
        (('energy', 1000.0), ('', 1.0))
    """
    for pattern, kind, factor in _UNITS:
        if re.search(rf"(?<![a-z0-9])(?:{pattern})(?![a-z0-9])", _plain(text)):
            return kind, factor
    return "", 1.0


def _role(title: str) -> str | None:
    """Return what a heading is known to mean, less its brackets and qualifiers."""
    roles, before = _roles(), _words()["before"]
    words = " ".join(re.sub(r"\(.*?\)", " ", title).split()).split(" ")
    while words:
        if role := roles.get(" ".join(words)):
            return role
        if words[0] not in before:
            return None
        words = words[1:]
    return None


def _amount(index: int, title: str, plain: str) -> Amount:
    leg = _LEG.search(plain)
    # The letter of a leg is not the unit A.
    kind, factor = unit_of(_LEG.sub(" ", plain))
    if not kind and re.search(r"\bcurrent\b|\bi[12]\b", plain):
        kind = "current"
    return Amount(
        index=index,
        title=title,
        kind=kind,
        factor=factor,
        reverse=bool(_REVERSE.search(plain)),
        net=bool(_NET.search(plain)),
        leg={"a": "A", "1": "A", "b": "B", "2": "B"}[leg[1]] if leg else "",
        counter=bool(_COUNTER.search(plain)),
    )


def _plain(title: str) -> str:
    spaced = re.sub(r"([a-z])([A-Z])", r"\1 \2", title)  # StartTime -> Start Time
    spaced = spaced.replace("k Wh", "kWh").replace("k W", "kW").replace("M Wh", "MWh")
    return " ".join(re.sub(r"[_\[\]:\"]+", " ", spaced.lower()).split())


def _score(columns: Columns) -> int:
    """Return how many columns are known; 0 where no reading can be made of them."""
    dated = columns.times.keys() & {"moment", "date", "period", "end", "end_date"}
    timed = columns.times.keys() & {"moment", "period", "end", "time", "end_time"}
    if columns.wide:
        return len(columns.wide) + len(columns.times) if dated else 0
    if not (dated or timed) or not columns.amounts:
        return 0
    return len(columns.times) + len(columns.amounts)


def _wide(titles: Sequence[str]) -> tuple[int, ...]:
    """Return the places of the columns of a day, where there are enough of them."""
    found = [
        index
        for index, title in enumerate(titles)
        if _is_hour(" ".join(title.strip().lower().replace("_", " ").split()))
    ]
    for count in WIDE_COUNTS:
        if len(found) >= count:
            extra = found[count:]
            # A day's first column is 0 or 1; more than the count are a 25th hour.
            return tuple(found[:count]) if len(extra) <= count // 24 else ()
    return ()


def _is_hour(title: str) -> bool:
    time = title.partition(" - ")[0].partition("-")[0].strip()
    if ":" in time or re.search(r"\d ?[ap]m?$", time):
        return (
            seconds_of_day(time if time[-1:].isdigit() else _with_m(time)) is not None
        )
    return bool(_HOUR.fullmatch(title))


def _with_m(time: str) -> str:
    return time if time.endswith("m") else time + "m"


def _cells(line: str, delimiter: str) -> list[str]:
    try:
        return next(csv.reader([line], delimiter=delimiter, strict=True), [])
    except csv.Error:
        return []


def _headless(lines: Sequence[str]) -> Header | None:
    """Return the columns of a table without a header: a time, then a number."""
    for delimiter in DELIMITERS:
        rows = [_cells(line, delimiter) for line in lines[:3] if line.strip()]
        if len(rows) < 2 or not all(len(row) == 2 for row in rows):
            continue
        times = moments([row[0] for row in rows])
        if times and all(
            re.fullmatch(r"\s*-?\d+([.,]\d+)?\s*", row[1]) for row in rows
        ):
            amount = Amount(1, "second column", "", 1.0, False, False, "", False)
            columns = Columns({"moment": 0}, (amount,), (), ())
            return Header(0, delimiter, ("first column", "second column"), columns)
    return None
