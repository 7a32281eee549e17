"""Which line of a table is its header, and what each column holds."""

from __future__ import annotations

import csv
import re
import tomllib
from collections.abc import Sequence
from dataclasses import dataclass, field
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
    (r"kwhs?|kw.h|kilowatt.?hours?", "energy", 1e3),
    (r"wh|watt.?hours?", "energy", 1.0),
    (r"mw|megawatts?", "power", 1e6),
    (r"kw|kwatts?|kilowatts?", "power", 1e3),
    (r"kva", "power", 1e3),
    (r"w|watts?|wattage", "power", 1.0),
    (r"va", "power", 1.0),
    (r"ma|milliamps?|milliamperes?", "current", 1e-3),
    (r"a|amps?|amperes?|[ai]rms", "current", 1.0),
)
_NOT_ELECTRICITY = re.compile(
    r"\b(therms?|dth|mcf|ccf|m3|m³|gal(lons?)?|cubic|btu|gas|water)\b"
)
_AMOUNT = re.compile(
    r"\b(usage|consum\w*|kwhs?|kwatts?|verbrauch|valeur|energy|wh|import\w*|export\w*|value|demand|power|kw|w|watts?"
    r"|load|amps?|wattage|current|delivered|received|generat\w*|produc\w*|solar|net|use|kva|va|mwh"
    r"|electricity|amount|quantity|kilowatt\w*|counter|register|reading|state|mains?|ma|amperes?|milliamp\w*|kwhs|a)\b"
)
_REVERSE = re.compile(
    r"\b(export\w*|generat\w*|gen|produc\w*|received|solar|pv|returned|to grid|feed ?in"
    r"|reverse|outflow)\b"
)
_NET = re.compile(r"\bnet\b")
_LEG = re.compile(
    r"\b(?:l|leg|line|phase|ct|i|p|channel|ch|clamp|mains?|current|power|hot|amps?|watts?|irms)"
    r"[ _-]?([ab12])\b"
)
_PART = re.compile(
    r"\b((?:on|off|mid|part|super|partial)[ -]?(?:off[ -]?)?peak|tier ?\d|t\d|shoulder"
    r"|block ?\d|tou ?\d?)\b"
)
_WHOLE = re.compile(
    r"\b(total|whole|house|home|main|mains|overall|aggregate|delivered|import\w*|use"
    r"|usage|consum\w*|grid|global)\b"
)
_THIRD = re.compile(r"\b(?:l|leg|line|phase|ct)[ _-]?[c3]\b")
_ASIDE = re.compile(
    r"\b(max(imum)?|min(imum)?|temp\w*|temperature|humidity|voltage|volts?|v|pf"
    r"|power factor|freq\w*|hz|kvar|kvarh|var|varh|reactive|apparent|account|meter"
    r" ?(id|number|no)|esi ?id|address|name|neutral|forecast\w*|budget|peak demand"
    r"|peak time|cumulative cost|degree\w*|co2)\b"
)
_LEGS = {"a": "A", "1": "A", "b": "B", "2": "B"}
_LEG_ANYWHERE = re.compile(
    r"\b(?:l|leg|line|phase|ct|v|volts?|voltage|vrms)[ _-]?([ab12])\b|^([ab12])\b"
)
_COUNTER = re.compile(
    r"\b(counter|register|cumulative|lifetime|odometer|meter read\w*)\b"
)
_HOUR = re.compile(
    r"(?:he|hour ending|hour|hr|h|interval|int|kwh|usage|value|q|v)?[ _-]?0*(\d{1,3})"
    r"(?: ?k?wh?)?"
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
        part: Whether it is one of several parts, by time of use or by tier. [-]
        whole: Whether the heading says it is of the whole house. [-]
    """

    index: int
    title: str
    kind: str
    factor: float
    reverse: bool
    net: bool
    leg: str
    counter: bool
    part: bool = False
    whole: bool = False


@dataclass(frozen=True, slots=True)
class Columns:
    """What each column of a table holds; None where there is none.

    Args:
        times: Place of each column of time, by its role. [-]
        amounts: Columns of amounts. [-]
        wide: Places of the columns of a day, in order; empty in long tables. [-]
        extra: How many of these are for the hour more that a day in autumn has. [-]
        volts: Place of each column of voltage, by its leg or "". [-]
        left_out: Headings not used. [-]
    """

    times: dict[str, int]
    amounts: tuple[Amount, ...]
    wide: tuple[int, ...]
    left_out: tuple[str, ...]
    extra: int = 0
    volts: dict[str, int] = field(default_factory=dict)


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
        for delimiter in filter(line.__contains__, DELIMITERS):
            titles = _cells(line.lstrip("# "), delimiter)
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
    wide, extra = _wide(titles)
    times: dict[str, int] = {}
    volts: dict[str, int] = {}
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
            if re.search(r"\b(v|volts?|voltage|vrms)\b", title):
                leg = _LEG_ANYWHERE.search(title)
                volts.setdefault(_LEGS[leg[1] or leg[2]] if leg else "", index)
        elif not wide and any(
            each.search(title) for each in (_AMOUNT, _LEG, _THIRD, _PART)
        ):
            amounts.append(_amount(index, titles[index].strip(), title))
        else:
            left_out.append(titles[index].strip())
    return Columns(times, tuple(amounts), wide, tuple(left_out), extra, volts)


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
    if not kind and re.search(r"\bcurrent\b|\bi[12]\b|\b(amps?|irms)[12]", plain):
        kind = "current"
    return Amount(
        index=index,
        title=title,
        kind=kind,
        factor=factor,
        reverse=bool(_REVERSE.search(plain)),
        net=bool(_NET.search(plain)),
        leg=_LEGS[leg[1]] if leg else "C" if _THIRD.search(plain) else "",
        counter=bool(_COUNTER.search(plain)),
        part=bool(_PART.search(plain)),
        whole=bool(_WHOLE.search(plain)),
    )


def _plain(title: str) -> str:
    spaced = re.sub(r"([a-z])([A-Z])", r"\1 \2", title)  # StartTime -> Start Time
    spaced = spaced.replace("k Wh", "kWh").replace("k W", "kW").replace("M Wh", "MWh")
    spaced = re.sub(r"\bm A\b", "mA", spaced).replace("k VA", "kVA")
    return " ".join(re.sub(r"[_\[\]:\"]+", " ", spaced.lower()).split())


def _score(columns: Columns) -> int:
    """Return how many columns are known; 0 where no reading can be made of them."""
    dated = columns.times.keys() & {"moment", "date", "period", "end", "end_date"}
    timed = columns.times.keys() & {
        "moment",
        "period",
        "end",
        "time",
        "end_time",
        "number",
    }
    if columns.wide:
        return len(columns.wide) + len(columns.times) if dated else 0
    if not (dated or timed) or not columns.amounts:
        return 0
    return len(columns.times) + len(columns.amounts)


def _wide(titles: Sequence[str]) -> tuple[tuple[int, ...], int]:
    """Return the places of the columns of a day, and how many are for a 25th hour.

    A day's columns stand in the order of the clock, so those of the 25th hour are the
    last of them in time, wherever their headings stand.
    """
    found = [
        index
        for index, title in enumerate(titles)
        if _is_hour(" ".join(title.strip().lower().replace("_", " ").split()))
    ]
    for count in WIDE_COUNTS:
        extra = len(found) - count
        if 0 <= extra <= count // 24:
            return tuple(found), extra
    return (), 0


def _is_hour(title: str) -> bool:
    title = re.sub(r"\s*\(k?wh?\)$", "", title)
    time = title.partition(" - ")[0].partition("-")[0].strip()
    if ":" in time or re.search(r"\d ?[ap]m?$", time):
        return (
            seconds_of_day(time if time[-1:].isdigit() else _with_m(time)) is not None
        )
    if re.fullmatch(r"([01]\d|2[0-4])[0-5]\d", title):
        return True  # 0100 to 2400
    return bool(_HOUR.fullmatch(title.removesuffix("x")))


def _with_m(time: str) -> str:
    return time if time.endswith("m") else time + "m"


def _cells(line: str, delimiter: str) -> list[str]:
    try:
        rows = csv.reader([line], delimiter=delimiter, strict=True)
        return [" ".join(cell.split()) for cell in next(rows, [])]
    except csv.Error:
        return []


def _headless(lines: Sequence[str]) -> Header | None:
    """Return the columns of a table without a header: times, then a number."""
    for delimiter in DELIMITERS:
        rows = [_cells(line, delimiter) for line in lines[:3] if line.strip()]
        count = len(rows[0]) if rows else 0
        if len(rows) < 2 or count < 2 or any(len(row) != count for row in rows):
            continue
        if not moments([row[0] for row in rows]):
            continue
        times = {"moment": 0}
        if all(seconds_of_day(row[1]) is not None for row in rows):
            times = {"date": 0, "time": 1}
        at = len(times)
        if count <= at or not all(
            re.fullmatch(r"\s*-?\d+([.,]\d+)?\s*", row[at]) for row in rows
        ):
            continue
        titles = tuple(f"column {number}" for number in range(1, count + 1))
        amount = Amount(at, titles[at], "", 1.0, False, False, "", False)
        columns = Columns(times, (amount,), (), titles[at + 1 :])
        return Header(0, delimiter, titles, columns)
    return None
