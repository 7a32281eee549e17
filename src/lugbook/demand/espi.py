"""ESPI files: the XML of NAESB's energy services provider interface.

The file is streamed through the parser, names are matched as namespace and local
name, never by prefix, and what belongs to what is found by the links of the feed.
Document types are refused, and with them every kind of entity.
"""

from __future__ import annotations

import re
import tomllib
from bisect import bisect_right
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from datetime import UTC, datetime
from functools import cache
from importlib.resources import files
from math import isfinite, isnan
from pathlib import Path
from typing import TYPE_CHECKING, Any
from xml.parsers import expat

from lugbook.demand.clock import NO_DST, Clock, FixedClock, RuleClock, change_moment
from lugbook.demand.espi_runs import MARK, Runs
from lugbook.demand.opened import Progress, chunks, opened, unusable, web_page
from lugbook.demand.series import (
    Flow,
    LeftOut,
    MeterFile,
    MeterSeries,
    Quantity,
    Statement,
    Summary,
)

if TYPE_CHECKING:
    from lugbook.demand.series import Floats

__all__ = ["LOCAL_TIME", "codes", "read_espi"]

LOCAL_TIME = "local time"  # what a statement on the missing clock is about
ATOM = "http://www.w3.org/2005/Atom "
ESPI = "http://naesb.org/espi "
DEEPEST = 64  # trust.md trap 11
MOST_ENTRIES = 120_000  # more than fit into the limit with a reading in each
MOST_SERIES = 2_000  # five years with a meter reading for each day
MOST_ELEMENTS = 2_500_000  # ten years of quarter hours, each read on its own
LONGEST_ELEMENT = 1 << 20  # bytes; older parsers read a long one again and again
LONGEST_TEXT = 4096  # of one field; the longest we read are links
# From 1990 on and before 2100: a start outside is a clock never set, or milliseconds.
EARLIEST_S, LATEST_S = 631_152_000, 4_102_444_800
LARGEST_VALUE = 2.0**47  # a value is a signed number of 48 bits
_WHOLE = re.compile(r"[+-]?[0-9]{1,19}")
_DECIMAL = re.compile(r"[+-]?[0-9]{1,15}(\.[0-9]{1,9})?")
_HOST = re.compile(r"^[A-Za-z][A-Za-z0-9+.-]*://[^/]*")
_HEX = re.compile(r"[0-9A-Fa-f]{8}")
_PAYLOADS = (
    "UsagePoint",
    "MeterReading",
    "ReadingType",
    "LocalTimeParameters",
    "TimeConfiguration",
    "UsageSummary",
    "ElectricPowerUsageSummary",
)
_READING_ENDS = b"IntervalReading>"
_READING_SLOTS = {
    ESPI + "start": 0,
    ESPI + "duration": 1,
    ESPI + "value": 2,
}
HOUR_S = 3600
MOST_TENS = 12  # powers of ten that the standard has, up and down
MOST_AHEAD_S, MOST_SUMMER_S = 15 * HOUR_S, 3 * HOUR_S  # no clock of a place has more
_RULES, _OFFSETS = ("dstStartRule", "dstEndRule"), ("tzOffset", "dstOffset")
_NOTHING = float("nan")


@cache
def codes() -> dict[str, Any]:
    """The codes of the interface that demand needs.

    Returns:
        Tables by name. [-]
    """
    text = files("lugbook.demand").joinpath("espi_codes.toml").read_text("utf-8")
    return tomllib.loads(text)


@dataclass(slots=True)
class _Entry:
    """One entry of the feed; its links as written but for a trailing slash."""

    order: int
    own: str = ""
    up: str = ""
    related: list[str] = field(default_factory=list)
    updated: str = ""
    kind: str = ""
    fields: dict[str, str] = field(default_factory=dict)

    def number(self, name: str) -> int | None:
        """Return a whole number among the fields; None where there is none."""
        text = self.fields.get(name, "")
        return int(text) if _WHOLE.fullmatch(text) else None


@dataclass(slots=True)
class _Block:
    """One interval block; its parts are start, duration, value and quality."""

    entry: _Entry
    start_s: float = _NOTHING
    duration_s: float = _NOTHING
    parts: list[Floats] = field(default_factory=list)
    loose: list[list[float]] = field(default_factory=list)

    def gather(self) -> None:
        """Turn loose readings into a part, so that order is kept."""
        import numpy as np

        if self.loose:
            self.parts.append(np.array(self.loose, dtype=np.float64))
            self.loose = []


class _Handler:
    """What the parser calls: collects entries and blocks."""

    def __init__(self, name: str, runs: Runs) -> None:
        self.name = name
        self.runs = runs
        self.entries: list[_Entry] = []
        self.blocks: list[_Block] = []
        self.unread = 0  # readings without a value that can be read
        self.root = ""
        self._elements = 0
        self._path: list[str] = []
        self._text: list[str] = []
        self._length = 0
        self._is_leaf = False  # whether the open element holds nothing but text
        self._entry: _Entry | None = None
        self._block: _Block | None = None
        self._reading: list[float] | None = None
        self._payload_depth = 0

    def started(self, tag: str, attributes: dict[str, str]) -> None:
        """Take note of an element that starts."""
        path = self._path
        path.append(tag)
        if len(path) > DEEPEST:
            raise unusable(self.name, f"XML nested more than {DEEPEST} deep")
        self._elements += 1
        if self._elements > MOST_ELEMENTS:
            raise unusable(
                self.name,
                f"XML of more than {MOST_ELEMENTS:,} elements",
                "Ask for fewer years at a time.",
            )
        self._text.clear()
        self._length = 0
        self._is_leaf = True
        if self._reading is not None:
            return
        if tag == ESPI + "IntervalReading":
            self._start_reading(attributes)
        elif tag == ESPI + "IntervalBlock":
            if len(self.blocks) >= MOST_ENTRIES:
                raise unusable(self.name, f"more than {MOST_ENTRIES:,} interval blocks")
            self._block = _Block(self._here())
            self._block.entry.kind = self._block.entry.kind or "IntervalBlock"
            self.blocks.append(self._block)
        elif tag == ATOM + "entry":
            self._entry = self._new_entry()
        elif tag == ATOM + "link" and self._entry:
            self._link(self._entry, attributes)
        elif tag.startswith(ESPI) and not self._payload_depth and not self._block:
            kind = tag.removeprefix(ESPI)
            if kind in _PAYLOADS:
                entry = self._here()
                if entry.kind:  # a second payload in one content stands for itself
                    entry = self._entry = self._copied(entry)
                entry.kind = kind
                self._payload_depth = len(path)
        if len(path) == 1:
            self.root = tag

    def text(self, piece: str) -> None:
        """Take note of text; too long a text counts as none, not as its beginning."""
        self._length += len(piece)
        if self._length <= LONGEST_TEXT:
            self._text.append(piece)
        else:
            self._text.clear()

    def ended(self, tag: str) -> None:
        """Take note of an element that ends."""
        text = "".join(self._text).strip() if self._is_leaf else ""
        self._text.clear()
        self._is_leaf = False
        path = self._path
        if self._reading is not None:
            self._end_in_reading(tag, text)
        elif self._block is not None:
            self._end_in_block(tag, text)
        elif self._payload_depth:
            if len(path) == self._payload_depth:
                self._payload_depth = 0
            elif text:
                names = (
                    each.rpartition(" ")[2] for each in path[self._payload_depth :]
                )
                self._here().fields.setdefault("/".join(names), text)
        elif tag == ATOM + "updated" and self._entry:
            self._entry.updated = text
        elif tag == ATOM + "entry":
            self._entry = None
        path.pop()

    def refuse_doctype(self, doctype: str, *_: object) -> None:
        """Refuse a document type: entities are declared in it."""
        if doctype.lower() == "html":
            raise web_page(self.name)
        raise unusable(
            self.name,
            "XML with a document type, which could hide entities",
            "Ask the utility for the file without one.",
        )

    def _start_reading(self, attributes: dict[str, str]) -> None:
        if self._block is None:
            self.unread += 1
            return
        run = self.runs.taken.pop(attributes.get(MARK, ""), None)
        if run is not None:
            self._block.gather()
            self._block.parts.append(run)
            return
        self._reading = [_NOTHING, _NOTHING, _NOTHING, _NOTHING]

    def _end_in_reading(self, tag: str, text: str) -> None:
        reading = self._reading
        assert reading is not None
        if tag == ESPI + "IntervalReading":
            self._reading = None
            if isnan(reading[2]):
                self.unread += 1
            elif self._block:
                self._block.loose.append(reading)
            return
        slot = _READING_SLOTS.get(tag)
        if slot is not None:
            if _DECIMAL.fullmatch(text):
                reading[slot] = float(text)
        elif tag == ESPI + "quality" and _WHOLE.fullmatch(text):
            reading[3] = _graver(reading[3], int(text))

    def _end_in_block(self, tag: str, text: str) -> None:
        block = self._block
        assert block is not None
        if tag == ESPI + "IntervalBlock":
            block.gather()
            self._block = None
        elif _DECIMAL.fullmatch(text):
            if tag == ESPI + "start":
                block.start_s = float(text)
            elif tag == ESPI + "duration":
                block.duration_s = float(text)

    def _here(self) -> _Entry:
        if self._entry is None:
            self._entry = self._new_entry()
        return self._entry

    def _new_entry(self) -> _Entry:
        if len(self.entries) >= MOST_ENTRIES:
            raise unusable(self.name, f"more than {MOST_ENTRIES:,} entries")
        entry = _Entry(len(self.entries))
        self.entries.append(entry)
        return entry

    def _copied(self, entry: _Entry) -> _Entry:
        copy = self._new_entry()
        copy.own, copy.up, copy.updated = entry.own, entry.up, entry.updated
        copy.related = entry.related
        return copy

    def _link(self, entry: _Entry, attributes: dict[str, str]) -> None:
        # A link may be written with the host or without it.
        href = _HOST.sub("", attributes.get("href", "").strip()).strip("/")
        if not href:
            return
        relation = attributes.get("rel", "")
        if relation == "self":
            entry.own = href
        elif relation == "up":
            entry.up = href
        elif relation == "related":
            entry.related.append(href)


def _graver(held: float, code: int) -> float:
    """Return of two codes of quality the one that says less for the reading."""
    quality = codes()["quality"]

    def grade(each: float) -> int:
        return 2 * (each in quality["estimated"]) + (each in quality["doubtful"])

    return float(code) if isnan(held) or grade(code) > grade(held) else held


def read_espi(path: Path, *, progress: Progress | None = None) -> MeterFile:
    """The series of an ESPI file.

    Args:
        path: The file, plain or packed by gzip or zip. [-]
        progress: Told how far the reading is. [-]

    Returns:
        Its series. [-]

    Raises:
        InputError: It is not well formed, hostile, or holds no reading.
    """
    name = str(path)
    handler = _parsed(path, name, progress)
    _check_is_espi(handler, name)
    return _Graph(handler, name).meter_file()


_SAVE_AGAIN = "Save it again as UTF-8."
_MENDS = {
    expat.errors.XML_ERROR_MISPLACED_XML_PI: 'Remove what stands before "<?xml".',
    expat.errors.XML_ERROR_INCORRECT_ENCODING: _SAVE_AGAIN,
    expat.errors.XML_ERROR_UNKNOWN_ENCODING: _SAVE_AGAIN,
    expat.errors.XML_ERROR_NO_ELEMENTS: "It seems cut off: download it again.",
    expat.errors.XML_ERROR_UNCLOSED_TOKEN: "It seems cut off: download it again.",
}


def _parsed(path: Path, name: str, progress: Progress | None) -> _Handler:
    runs = Runs()
    handler = _Handler(name, runs)
    parser = expat.ParserCreate(namespace_separator=" ")
    parser.buffer_text = True
    parser.SetParamEntityParsing(expat.XML_PARAM_ENTITY_PARSING_NEVER)
    parser.StartElementHandler = handler.started
    parser.EndElementHandler = handler.ended
    parser.CharacterDataHandler = handler.text
    parser.StartDoctypeDeclHandler = handler.refuse_doctype
    try:
        with opened(path) as stream:
            whole = path.stat().st_size
            fed = 0
            for piece in _pieces(chunks(stream, name, progress, whole), handler):
                parser.Parse(piece, False)
                fed += len(piece)
                if fed - max(parser.CurrentByteIndex, 0) > LONGEST_ELEMENT:
                    raise unusable(name, "XML with one element of over a megabyte")
        parser.Parse(b"", True)
    except expat.ExpatError as error:
        said = expat.ErrorString(error.code)
        mend = _MENDS.get(said, "Download it again.")
        raise unusable(
            name, f"XML that is not well formed ({said})", mend, line=error.lineno
        ) from error
    except (ValueError, LookupError) as error:  # an encoding nobody knows
        raise unusable(
            name, f"XML that cannot be read ({error})", _SAVE_AGAIN
        ) from error
    return handler


def _pieces(raw: Iterable[bytes], handler: _Handler) -> Iterator[bytes]:
    """Yield pieces that end behind a reading, their runs of readings taken out."""
    held = b""
    for chunk in raw:
        held += chunk
        end = held.rfind(_READING_ENDS) + len(_READING_ENDS)
        if end < len(_READING_ENDS):
            end = len(held)
        yield handler.runs.taken_out(held[:end])
        held = held[end:]
    yield held


def _check_is_espi(handler: _Handler, name: str) -> None:
    if any(block.parts for block in handler.blocks):
        return
    if handler.root.startswith((ATOM, ESPI)):
        raise unusable(
            name,
            f"{handler.unread:,} readings, none of whose values is a number"
            if handler.unread
            else "an ESPI file without a single interval reading",
            "Ask the utility for the file with interval data.",
        )
    root = handler.root.rpartition(" ")[2]
    if root.lower() == "html":
        raise web_page(name)
    raise unusable(name, f'XML of another kind (its first element is "{root}")')


class _Kin:
    """Entries of one kind, to be found by the links of others."""

    def __init__(self, entries: list[_Entry]) -> None:
        self.entries = entries
        self.first = entries[0] if entries else None
        self._orders = [entry.order for entry in entries]
        self._numbers = {entry.order: at for at, entry in enumerate(entries, 1)}
        self._by_own: dict[str, _Entry] = {}
        self._by_related: dict[str, _Entry] = {}
        for entry in entries:
            if entry.own:
                self._by_own.setdefault(entry.own, entry)
            for link in entry.related:
                self._by_related.setdefault(link, entry)

    def of(self, child: _Entry, then: _Entry | None = None) -> _Entry | None:
        """Return the entry a child belongs to.

        By a link to the child or its collection, else by the child's address lying
        below it, else the only one there is, else the nearest before it.
        """
        for link in (child.up, child.own):
            if link in self._by_related:
                return self._by_related[link]
        for each in (child, then or child):
            for link in (each.up, each.own):
                if found := self._above(link):
                    return found
        if len(self.entries) == 1:
            return self.first
        place = bisect_right(self._orders, child.order)
        return self.entries[place - 1] if place else None

    def listed_by(self, entry: _Entry) -> _Entry | None:
        """Return the first of these that an entry's related links name."""
        found = (self._by_own.get(link) for link in entry.related)
        return next((each for each in found if each), None)

    def pointing_at(self, entry: _Entry) -> _Entry | None:
        """Return the first of these whose link leads up to an entry."""
        found = (each for each in self.entries if entry.own and each.up == entry.own)
        return next(found, None)

    def number(self, entry: _Entry | None) -> int:
        """Return the place of an entry among these, from 1; 1 for none."""
        return self._numbers.get(_order(entry), 1)

    def _above(self, link: str) -> _Entry | None:
        """Return the entry whose address a link lies under, or is."""
        for _ in range(DEEPEST):
            if not link:
                return None
            if link in self._by_own:
                return self._by_own[link]
            link = link.rpartition("/")[0]
        return None


def _order(entry: _Entry | None) -> int:
    return -1 if entry is None else entry.order


class _Graph:
    """Which block belongs to which reading type and usage point, by the links."""

    def __init__(self, handler: _Handler, name: str) -> None:
        self.handler = handler
        self.name = name
        self.statements: list[Statement] = []
        self.left_out: list[LeftOut] = []
        self.points = _Kin(self._of_kind("UsagePoint"))
        self.meters = _Kin(self._of_kind("MeterReading"))
        self.types = _Kin(self._of_kind("ReadingType"))
        self.disagree = False  # whether it was said that two intervals disagree
        self.unlinked = 0  # blocks that no link leads from to one of several types
        self._types_of_meters: dict[int, _Entry | None] = {}

    def _of_kind(self, *kinds: str) -> list[_Entry]:
        return [entry for entry in self.handler.entries if entry.kind in kinds]

    def meter_file(self) -> MeterFile:
        """Return everything the file holds."""
        grouped: dict[tuple[int, int, int], list[_Block]] = {}
        for block in self.handler.blocks:
            if block.parts:
                grouped.setdefault(self._key(block), []).append(block)
        if len(grouped) > MOST_SERIES:
            mend = "Ask the utility for one file for each usage point."
            raise unusable(self.name, f"more than {MOST_SERIES:,} series", mend)
        clock = self._clock()
        series = tuple(
            self._series(number, key, grouped[key])
            for number, key in enumerate(sorted(grouped), 1)
        )
        if not any(len(each.start_s) for each in series):
            raise unusable(
                self.name,
                "no reading with a time between 1990 and 2100 and a value of 48 bits",
                "Ask the utility for the file in the form of the standard.",
            )
        if self.handler.unread:
            self.left_out.append(
                LeftOut(f"{self.handler.unread} readings", "no value that is a number")
            )
        if self.unlinked:
            self.statements.append(
                Statement(
                    "reading type",
                    f"no link leads from {self.unlinked} blocks of readings to their "
                    "type: the nearest type before each was taken",
                )
            )
        return MeterFile(
            name=self.name,
            layout="ESPI XML",
            series=tuple(each for each in series if len(each.start_s)),
            clock=clock,
            summaries=tuple(self._summaries()),
            statements=tuple(self.statements),
            left_out=tuple(self.left_out),
        )

    def _key(self, block: _Block) -> tuple[int, int, int]:
        """Return the order of point, meter reading and type; -1 where unknown."""
        meter = self.meters.of(block.entry)
        kind = self._type_of(meter, block.entry)
        point = self.points.of(meter or block.entry, then=block.entry)
        return _order(point), _order(meter), _order(kind)

    def _type_of(self, meter: _Entry | None, block: _Entry) -> _Entry | None:
        if meter:
            if meter.order not in self._types_of_meters:
                self._types_of_meters[meter.order] = self.types.listed_by(
                    meter
                ) or self.types.pointing_at(meter)
            if found := self._types_of_meters[meter.order]:
                return found
        if len(self.types.entries) > 1:
            self.unlinked += 1
        return self.types.of(block) or self.types.first

    def _series(
        self, number: int, key: tuple[int, int, int], blocks: list[_Block]
    ) -> MeterSeries:
        point, _, kind = (
            self.handler.entries[order] if order >= 0 else None for order in key
        )
        readings, ranks = self._readings(blocks, kind)
        meaning = _meaning(kind, point)
        return MeterSeries(
            name=f"series {number}{meaning.words}",
            point=str(self.points.number(point)),
            quantity=meaning.quantity,
            flow=meaning.flow,
            is_electricity=meaning.is_electricity,
            why_not=meaning.why_not,
            start_s=readings[:, 0].astype("int64"),
            duration_s=readings[:, 1].astype("int64"),
            amount=readings[:, 2] * meaning.factor,
            quality=self._quality(readings[:, 3], kind),
            rank=ranks,
            is_local_clock=self._is_local_clock(readings[:, 0]),
            leg=meaning.leg,
        )

    def _readings(self, blocks: list[_Block], kind: _Entry | None) -> tuple[Any, Any]:
        import numpy as np

        interval = kind.number("intervalLength") if kind else None
        tables, ranks = [], []
        for block in blocks:
            table = np.concatenate(block.parts)
            block.parts = []
            self._fill_times(table, block, float(interval) if interval else _NOTHING)
            tables.append(table)
            ranks.append(np.full(len(table), _moment(block.entry.updated), np.int64))
        readings, rank = np.concatenate(tables), np.concatenate(ranks)
        timed = (readings[:, 0] >= EARLIEST_S) & (readings[:, 0] < LATEST_S)
        timed &= (readings[:, 1] >= 0) & (readings[:, 1] < LATEST_S)
        valued = abs(readings[:, 2]) < LARGEST_VALUE
        for wrong, why in (
            (~timed, "no time that can be right"),
            (timed & ~valued, "a value beyond the 48 bits of the standard"),
        ):
            if wrong.any():
                self.left_out.append(LeftOut(f"{int(wrong.sum())} readings", why))
        return readings[timed & valued], rank[timed & valued]

    def _fill_times(self, table: Any, block: _Block, interval_s: float) -> None:
        """Give readings without a time period theirs: they follow at the interval."""
        import numpy as np

        bare = np.isnan(table[:, 1])
        if bare.any():
            table[bare, 1] = self._interval(block, len(table), interval_s)
        bare = np.isnan(table[:, 0])
        if bare.any():
            step_s = np.where(np.isnan(table[:, 1]), 0, table[:, 1])
            ahead_s = np.cumsum(step_s) - step_s
            table[bare, 0] = block.start_s + ahead_s[bare]
        np.nan_to_num(table[:, :2], copy=False, nan=-1.0)

    def _interval(self, block: _Block, count: int, interval_s: float) -> float:
        """Return the interval of readings that do not give one themselves.

        Where the type and the block disagree the shorter is right or, if readings
        are missing, on the safe side: power is energy over the interval.
        """
        by_block_s = block.duration_s / count
        if isnan(interval_s):
            return by_block_s
        if not 0 < by_block_s < interval_s or HOUR_S % by_block_s:
            return interval_s
        if not self.disagree:
            self.statements.append(
                Statement(
                    "interval",
                    f"the reading type says {interval_s:,.0f} s; {count} readings fill "
                    f"{block.duration_s:,.0f} s, which is {by_block_s:,.0f} s each, "
                    "and that was taken",
                )
            )
        self.disagree = True
        return by_block_s

    def _quality(self, column: Floats, kind: _Entry | None) -> Any:
        import numpy as np

        default = kind.number("defaultQuality") if kind else None
        filled = np.where(np.isnan(column), -1 if default is None else default, column)
        return filled.astype("int64")

    def _clock(self) -> Clock:
        found = self._of_kind("LocalTimeParameters", "TimeConfiguration")
        if not found:
            self.statements.append(
                Statement(
                    LOCAL_TIME,
                    "the file names no local time; days are counted in UTC",
                    "--zone America/Chicago, or wherever the house stands",
                )
            )
            return FixedClock()
        told = {
            tuple(each.fields.get(name, "") for name in (*_RULES, *_OFFSETS))
            for each in found
        }
        if len(told) > 1:
            self.statements.append(
                Statement(
                    LOCAL_TIME,
                    f"the file names {len(told)} local times; the first was taken",
                    "--zone America/Chicago, or wherever the house stands",
                )
            )
        ahead = found[0].number("tzOffset")
        if ahead is None:
            self._say_no_clock("its offset from UTC (tzOffset)")
            return FixedClock()
        summer = found[0].number("dstOffset")
        summer = HOUR_S if summer is None else summer
        rules = [found[0].fields.get(name, "") for name in _RULES]
        if abs(ahead) > MOST_AHEAD_S or not 0 <= summer <= MOST_SUMMER_S:
            self._say_no_clock(f"an offset of {ahead} s, and {summer} s in summer")
            return FixedClock()
        if not any(rules):
            return FixedClock(ahead)
        try:
            start, end = (_rule(text) for text in rules)
        except ValueError:
            self._say_no_clock(f"a rule of summer time, {rules[0][:16]!r},")
            return FixedClock(ahead)
        if NO_DST in (start, end):
            return FixedClock(ahead)
        return RuleClock(ahead, summer, start, end)

    def _say_no_clock(self, given: str) -> None:
        self.statements.append(
            Statement(
                LOCAL_TIME,
                f"the file gives {given} not in the form of the standard; days are "
                "counted without summer time",
                "--zone America/Chicago, or wherever the house stands",
            )
        )

    def _is_local_clock(self, starts_s: Floats) -> bool:
        """Return whether starts look like a local clock written as if UTC (trap 3)."""
        found = self._of_kind("LocalTimeParameters", "TimeConfiguration")
        if not found or found[0].number("tzOffset") != 0 or not len(starts_s):
            return False
        rules = [found[0].fields.get(name, "") for name in _RULES]
        if not all(_HEX.fullmatch(rule) and int(rule, 16) != NO_DST for rule in rules):
            return False
        return bool(starts_s.min() % 86400 == 0)

    def _summaries(self) -> Iterator[Summary]:
        for entry in self._of_kind("UsageSummary", "ElectricPowerUsageSummary"):
            start = entry.number("billingPeriod/start")
            duration = entry.number("billingPeriod/duration")
            if duration is None or duration < HOUR_S:  # a place-holder
                start = duration = None
            for total in _TOTALS:  # producers put the period's total in either
                yield Summary(
                    point=str(self.points.number(self.points.of(entry))),
                    start_s=start,
                    duration_s=duration,
                    energy_wh=_measured(entry, total, 72),
                    peak_w=_measured(entry, "peakDemand", 38),
                )


_TOTALS = ("overallConsumptionLastPeriod", "currentBillingPeriodOverAllConsumption")


def _measured(entry: _Entry, name: str, unit: int) -> float | None:
    amount = entry.number(f"{name}/value")
    if amount is None or entry.number(f"{name}/uom") != unit:
        return None
    factor = _power_of_ten(entry, f"{name}/")
    return float(amount) * factor if isfinite(factor) else None


def _power_of_ten(entry: _Entry | None, where: str = "") -> float:
    """Return the factor of an entry's multiplier; NaN for one nobody can mean."""
    name = f"{where}powerOfTenMultiplier"
    if entry is None or name not in entry.fields:
        return 1.0
    exponent = entry.number(name)
    if exponent is None or abs(exponent) > MOST_TENS:
        return _NOTHING
    return 10.0**exponent if exponent >= 0 else 1.0 / 10.0**-exponent


def _rule(text: str) -> int:
    """Return a rule of summer time as bits, refusing one that names no day."""
    if not _HEX.fullmatch(text):
        raise ValueError(text)
    rule = int(text, 16)
    if rule != NO_DST:
        for year in (2023, 2024):  # one of them has no 29th of February
            change_moment(rule, year)
    return rule


def _moment(updated: str) -> int:
    """Return when an entry was last changed, in microseconds; 0 if that is unsaid."""
    try:
        moment = datetime.fromisoformat(updated)
        # Without a zone it is read as UTC: never by the clock of this computer.
        moment = moment if moment.tzinfo else moment.replace(tzinfo=UTC)
        return int(moment.timestamp() * 1e6)
    except (ValueError, OverflowError):
        return 0


@dataclass(frozen=True, slots=True)
class _Meaning:
    quantity: Quantity
    flow: Flow
    is_electricity: bool
    why_not: str
    factor: float
    words: str
    leg: str = ""


def _meaning(kind: _Entry | None, point: _Entry | None) -> _Meaning:
    """Return what a series measures, by its reading type and its usage point."""
    book = codes()
    service = point.number("ServiceCategory/kind") if point else None
    commodity = kind.number("commodity") if kind else None
    unit = kind.number("uom") if kind else None
    flow = _flow(kind)
    factor = _power_of_ten(kind)
    other = ""
    if service is not None and service not in book["electricity_kinds"]:
        other = book["kind_names"].get(str(service), f"service of kind {service}")
    elif commodity is not None and commodity not in book["electricity_commodities"]:
        other = book["commodity_names"].get(str(commodity), f"commodity {commodity}")
    if other:
        return _Meaning(
            Quantity.OTHER,
            flow,
            False,
            f"{other}, not electricity",
            1.0,
            f", {other}",
        )
    quantity, why_not = _quantity(kind, unit)
    unit_name = book["unit_names"].get(str(unit), f"unit {unit}")
    words = f", {flow.value} {unit_name}" if kind else ""
    if isnan(factor):
        quantity, factor = Quantity.OTHER, 1.0
        why_not = "its powerOfTenMultiplier is none of the standard (-12 to 12)"
    leg = book["leg_names"].get(str(kind.number("phase")), "") if kind else ""
    words += f", leg {leg}" * bool(leg)
    return _Meaning(quantity, flow, True, why_not, factor, words, leg)


def _flow(kind: _Entry | None) -> Flow:
    code = kind.number("flowDirection") if kind else None
    return Flow(codes()["flow_names"].get(str(code), Flow.UNSAID.value))


def _quantity(kind: _Entry | None, unit: int | None) -> tuple[Quantity, str]:
    book = codes()
    if kind is None or unit is None:
        return Quantity.OTHER, "its unit is not said (no ReadingType with a uom)"
    if unit == 72:  # Wh
        behaviour = kind.number("accumulationBehaviour")
        if behaviour in book["register"]["behaviours"]:
            return Quantity.REGISTER, ""
        if behaviour in book["register"]["unsaid"] or behaviour is None:
            return Quantity.REGISTER_OR_ENERGY, ""  # cleaning sees by its course
        return Quantity.ENERGY, ""
    if unit == 38:  # W
        qualifier = kind.number("dataQualifier")
        if qualifier is None or qualifier in book["qualifier"]["averages"]:
            return Quantity.REAL_POWER, ""
        return Quantity.OTHER, "power that is not an average of the interval"
    name = book["unit_names"].get(str(unit), f"unit {unit}")
    return Quantity.OTHER, f"in {name}, not in Wh or W"
