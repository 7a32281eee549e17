"""A short cut for long runs of alike readings in ESPI files.

A year of quarter hours is a third of a million tags that repeat one pattern. Where
a piece of the file repeats, byte for byte but for its numbers, a reading that was
parsed before, the numbers are lifted out at once, and the XML parser is handed one
empty element in place of the run, so that it still decides what stands where.
Everything else goes to the parser as it is.

What makes it safe: the pattern holds whole elements without attributes, of one
prefix, whose names are closed in the order they were opened. A run counts only when
the parser meets the element put in for it, which carries a number the file cannot
know; inside a comment, or wherever else no element can stand, it never does.
"""

from __future__ import annotations

import re
import secrets
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from lugbook.demand.series import Floats

__all__ = ["MARK", "Runs"]

MARK = "run"
_TOKEN = re.compile(rb"<[^<>]*>|[^<>]+")
_TAG = re.compile(rb"<(/?)(?:([A-Za-z_][\w.-]*):)?([A-Za-z]+)>")
_OPENING = re.compile(rb"<((?:[A-Za-z_][\w.-]*:)?)IntervalReading>")
_NUMBER = re.compile(rb"\s*-?\d{1,15}\s*")
_SLOTS = {
    (b"timePeriod", b"start"): 0,
    (b"timePeriod", b"duration"): 1,
    (b"value",): 2,
    (b"ReadingQuality", b"quality"): 3,
}
_PASSED_OVER = {(b"cost",), (b"consumptionTier",), (b"tou",), (b"cpp",)}
_MOST_PATTERNS = 6  # with and without quality, cost, tariff: more would be a stranger
_LONGEST_READING = 2000  # bytes


@dataclass(frozen=True, slots=True)
class _Pattern:
    """One way in which readings are written.

    Args:
        expression: Matches one such reading. [-]
        prefix: Prefix of its names with the colon. [-]
        slots: For each number, its column, or -1. [-]
    """

    expression: bytes
    prefix: bytes
    slots: tuple[int, ...]


@dataclass(slots=True)
class Runs:
    """Runs of readings taken out of a file, to be asked back by number."""

    taken: dict[str, Floats] = field(default_factory=dict)
    _patterns: list[_Pattern] = field(default_factory=list)
    _runs: re.Pattern[bytes] | None = None
    _nonce: str = field(default_factory=lambda: secrets.token_hex(8))

    def taken_out(self, piece: bytes) -> bytes:
        """Return a piece with its runs replaced by marked elements.

        Args:
            piece: Bytes of the file. [-]

        Returns:
            The piece for the parser. [-]
        """
        self._learn(piece)
        if self._runs is None:
            return piece
        rest = self._runs.sub(self._take, piece)
        # A pattern not met before shows by what is left over.
        if len(self._patterns) < _MOST_PATTERNS and self._learn(rest):
            rest = self._runs.sub(self._take, rest)
        return rest

    def _take(self, match: re.Match[bytes]) -> bytes:
        import numpy as np

        pattern = self._patterns[int((match.lastgroup or "p0")[1:])]
        run = match[0]
        if pattern.prefix:
            run = run.replace(pattern.prefix, b"")
        numbers = np.fromstring(run.translate(_DIGITS_ONLY), dtype=np.int64, sep=" ")
        table = numbers.reshape(-1, len(pattern.slots))
        found = np.full((len(table), 4), np.nan)
        for column, slot in enumerate(pattern.slots):
            if slot >= 0:
                found[:, slot] = table[:, column]
        key = f"{self._nonce}-{len(self.taken)}"
        self.taken[key] = found
        return b'<%sIntervalReading %s="%s"/>' % (
            pattern.prefix,
            MARK.encode(),
            key.encode(),
        )

    def _learn(self, piece: bytes) -> bool:
        opening = _OPENING.search(piece)
        if not opening or len(self._patterns) >= _MOST_PATTERNS:
            return False
        closing = b"</%sIntervalReading>" % opening[1]
        end = piece.find(closing, opening.end(), opening.start() + _LONGEST_READING)
        if end < 0:
            return False
        pattern = _pattern(piece[opening.start() : end + len(closing)], opening[1])
        if pattern is None or pattern in self._patterns:
            return False
        self._patterns.append(pattern)
        self._runs = re.compile(
            b"|".join(
                b"(?P<p%d>(?:%s)++)" % (number, each.expression)
                for number, each in enumerate(self._patterns)
            )
        )
        return True


_DIGITS_ONLY = bytes(
    byte if (chr(byte).isdigit() and byte < 128) or byte == ord("-") else ord(" ")
    for byte in range(256)
)


def _pattern(reading: bytes, prefix: bytes) -> _Pattern | None:
    """Return the pattern of a reading; None where it is not plain enough."""
    expression: list[bytes] = []
    slots: list[int] = []
    seen: set[int] = set()
    open_tags: list[bytes] = []
    for token in _TOKEN.findall(reading):
        if token.startswith(b"<"):
            tag = _TAG.fullmatch(token)
            if not tag or ((tag[2] or b"") + b":" * bool(tag[2])) != prefix:
                return None
            if tag[1]:
                if not open_tags or open_tags.pop() != tag[3]:
                    return None
            else:
                open_tags.append(tag[3])
            expression.append(re.escape(token))
        elif not token.strip():
            expression.append(rb"\s*+")
        elif _NUMBER.fullmatch(token):
            path = tuple(open_tags[1:])
            slot = _SLOTS.get(path, -1)
            if (slot < 0 and path not in _PASSED_OVER) or slot in seen:
                return None
            if slot >= 0:
                seen.add(slot)
            slots.append(slot)
            expression.append(rb"\s*+-?[0-9]{1,15}+\s*+")
        else:
            return None
    if open_tags or not {0, 1, 2} <= seen:
        return None
    return _Pattern(b"".join((*expression, rb"\s*+")), prefix, tuple(slots))
