"""What the tool says of one question, and the one comparison with a limit.

Physics and codebook return numbers; `assess` turns them into findings with the
helper here. No other place compares a number with a limit.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum
from typing import Literal

__all__ = [
    "Citation",
    "Comparison",
    "Finding",
    "Line",
    "Outcome",
    "Reckoned",
    "SignalWord",
    "Status",
    "Weight",
    "Working",
    "compare",
    "worst",
]

NARROW_FRACTION = 0.05  # design decision: loads, currents, volts
NARROW_K = 5.0  # design decision: temperatures
ROUNDING = 1e-9  # relative; binary fractions of 1.25 and 0.8, not a margin


class Outcome(StrEnum):
    """The five answers a question can have."""

    MEETS = "meets"
    NARROW = "narrow"
    FALLS_SHORT = "falls_short"
    CANNOT_TELL = "cannot_tell"
    NOT_REQUIRED = "not_required"

    @property
    def words(self) -> str:
        """Return the outcome as a person reads it."""
        return self.value.replace("_", " ")


class Weight(StrEnum):
    """How much a finding matters to the person."""

    STOP = "stop"
    MUST = "must"
    ADVICE = "advice"


class Status(StrEnum):
    """How well a value from a book is known to us."""

    CONFIRMED = "confirmed"
    FROM_MEMORY = "from memory"
    COMMON_PRACTICE = "common practice"


class SignalWord(StrEnum):
    """Signal words in the meaning of ANSI Z535; only where someone can be hurt."""

    DANGER = "DANGER"
    WARNING = "WARNING"
    CAUTION = "CAUTION"
    NOTICE = "NOTICE"


@dataclass(frozen=True, slots=True)
class Citation:
    """Where a value or rule is printed, and how well we know it.

    Args:
        source: Key in `sources.toml`, such as "nfpa70-2023". [-]
        locator: Section, table or equation. [-]
        status: Whether the value was compared with a second text. [-]
        confirmed_by: The text it was compared with; empty if none. [-]
        amended_by: Local amendment that replaced the value; empty if none. [-]
    """

    source: str
    locator: str
    status: Status
    confirmed_by: str = ""
    amended_by: str = ""

    def __str__(self) -> str:
        """Return the citation as printed in a working."""
        book, _, edition = self.source.rpartition("-")
        name = {"nfpa70": "NFPA 70"}.get(book, book.replace("_", " "))
        amended = f", amended: {self.amended_by}" if self.amended_by else ""
        return f"{name}-{edition} {self.locator}{amended}"


@dataclass(frozen=True, slots=True)
class Line:
    """One ruled line of a working.

    Args:
        label: What the line gives. [-]
        amount: The figure, or text where the line states a choice. [unit of the line]
        unit: Unit of the figure; empty for text and counts. [-]
        symbols: Formula in symbols; empty for a value taken over. [-]
        numbers: The same with numbers. [-]
        source: Citation, or words saying where a stated value comes from. [-]
    """

    label: str
    amount: float | str | None
    unit: str = ""
    symbols: str = ""
    numbers: str = ""
    source: Citation | str = ""


@dataclass(frozen=True, slots=True)
class Working:
    """The arithmetic behind a number, line by line, as one would write it out."""

    title: str
    lines: tuple[Line, ...]

    def citations(self) -> tuple[Citation, ...]:
        """Return the citations the working rests on, in order, each once."""
        found = [x.source for x in self.lines if isinstance(x.source, Citation)]
        return tuple(dict.fromkeys(found))


@dataclass(frozen=True, slots=True)
class Reckoned:
    """A number a rule or formula gave, with the lines that show how.

    Args:
        amount: The number. [unit of the rule]
        lines: The working, in order. [-]
    """

    amount: float
    lines: tuple[Line, ...]


@dataclass(frozen=True, slots=True)
class Comparison:
    """Outcome of a comparison and the room left.

    Args:
        outcome: One of the five outcomes. [-]
        margin: Room to the limit, negative when exceeded; None if unknown. [same unit]
    """

    outcome: Outcome
    margin: float | None


@dataclass(frozen=True, slots=True)
class Finding:
    """A question and its answer, with what it rests on and what to do next."""

    id: str
    question: str
    outcome: Outcome
    weight: Weight
    found: float | str | None = None
    limit: float | str | None = None
    unit: str = ""
    margin: float | None = None
    citation: Citation | None = None
    working: Working | None = None
    next: str = ""
    signal: SignalWord | None = None

    def statuses(self) -> frozenset[Status]:
        """Return the statuses of every book value the finding rests on."""
        cited = self.working.citations() if self.working else ()
        own = (self.citation,) if self.citation else ()
        return frozenset(citation.status for citation in (*cited, *own))

    @property
    def status(self) -> Status | None:
        """The weakest status the finding rests on; None if it cites no book."""
        held = self.statuses()
        weakest_first = (Status.COMMON_PRACTICE, Status.FROM_MEMORY, Status.CONFIRMED)
        return next((status for status in weakest_first if status in held), None)


def compare(
    *,
    found: float | None,
    limit: float | None,
    direction: Literal["at most", "at least"] = "at most",
    kind: Literal["fraction", "kelvin", "series"] = "fraction",
    uncertainty: float = 0.0,
) -> Comparison:
    """Outcome of a number against its limit.

    Compared unrounded. A missing or non-finite number can only give *cannot tell*.
    *Narrow* is a pass with little room: within 5 % of the limit, within 5 K for
    temperatures, or within the stated uncertainty where that is larger. A choice
    from a published series of sizes ("series") has its margin in the rule that led
    to it, so there it either meets or falls short.

    Args:
        found: The number found. [any unit]
        limit: The limit, in the same unit. [any unit]
        direction: Whether the number must be at most or at least the limit. [-]
        kind: How *narrow* is reckoned. [-]
        uncertainty: Half-width of the stated uncertainty of `found`. [any unit]

    Returns:
        Outcome and margin. [any unit]

    Example:
        >>> compare(found=198.0, limit=200.0).outcome.words
        'narrow'
        >>> compare(found=float("nan"), limit=200.0).outcome.words
        'cannot tell'
    """
    numbers = (found, limit, uncertainty)
    if found is None or limit is None or not all(map(_finite, numbers)):
        return Comparison(Outcome.CANNOT_TELL, None)
    margin = limit - found if direction == "at most" else found - limit
    if margin < -ROUNDING * max(abs(found), abs(limit)):
        return Comparison(Outcome.FALLS_SHORT, margin)
    near = {"fraction": NARROW_FRACTION * abs(limit), "kelvin": NARROW_K, "series": 0.0}
    if margin < max(near[kind], uncertainty) - ROUNDING * abs(limit):
        return Comparison(Outcome.NARROW, margin)
    return Comparison(Outcome.MEETS, margin)


def worst(outcomes: tuple[Outcome, ...]) -> Outcome:
    """Return the gravest of several outcomes: shortfall, unknown, narrow, meets."""
    order = (
        Outcome.FALLS_SHORT,
        Outcome.CANNOT_TELL,
        Outcome.NARROW,
        Outcome.MEETS,
        Outcome.NOT_REQUIRED,
    )
    return min(outcomes, key=order.index, default=Outcome.CANNOT_TELL)


def _finite(number: float | None) -> bool:
    return number is not None and not isinstance(number, bool) and math.isfinite(number)
