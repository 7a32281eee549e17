"""What a meter file holds once read: series of readings, and what was inferred."""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import StrEnum
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from lugbook.demand.clock import Clock

    Floats = NDArray[np.float64]
    Integers = NDArray[np.int64]

__all__ = [
    "Flow",
    "LeftOut",
    "MeterFile",
    "MeterSeries",
    "Quantity",
    "Statement",
    "Summary",
]


class Quantity(StrEnum):
    """What a series measures, as far as demand can use it."""

    ENERGY = "energy of each interval"
    REGISTER = "register"
    REGISTER_OR_ENERGY = "register or energy of each interval"
    REAL_POWER = "average power"
    OTHER = "something else"


class Flow(StrEnum):
    """Which way the energy of a series flows, seen from the grid."""

    FORWARD = "forward"
    REVERSE = "reverse"
    NET = "net"
    TOTAL = "total"
    UNSAID = "not said"


@dataclass(frozen=True, slots=True)
class Statement:
    """Something inferred from a file, or a question it leaves open.

    Args:
        about: What it is about, in one or two words. [-]
        said: What was taken, and from what it was inferred. [-]
        mend: How to say otherwise; empty where nothing can be said. [-]
        asks: Whether only a person can tell. [-]
    """

    about: str
    said: str
    mend: str = ""
    asks: bool = False


@dataclass(frozen=True, slots=True)
class LeftOut:
    """Something the file holds that the answer does not use.

    Args:
        what: What was left out. [-]
        why: Why. [-]
    """

    what: str
    why: str


@dataclass(frozen=True, slots=True)
class Summary:
    """What a utility's own summary in the file says, as a second witness.

    Args:
        point: Usage point it belongs to. [-]
        start_s: Start of its billing period; None if unsaid. [s]
        duration_s: Length of its billing period; None if unsaid. [s]
        energy_wh: Energy of the period; None if unsaid. [Wh]
        peak_w: Peak demand of the period; None if unsaid. [W]
    """

    point: str
    start_s: int | None
    duration_s: int | None
    energy_wh: float | None
    peak_w: float | None


@dataclass(frozen=True, slots=True)
class MeterSeries:
    """One series of readings as the file gives it, in Wh or W.

    Args:
        name: Name by which a person can point at it. [-]
        point: Name of the point it was metered at. [-]
        quantity: What it measures. [-]
        flow: Which way the energy flows. [-]
        is_electricity: Whether it is a house's electricity. [-]
        why_not: Why demand cannot use it; empty where it can. [-]
        start_s: Start of each reading, seconds since 1970 UTC. [s]
        duration_s: Duration of each reading. [s]
        amount: Wh for energy and register, W for power, else as written. [-]
        quality: Code of quality of each reading; -1 where none is given. [-]
        rank: Which of two readings of one interval is newer. [-]
        legs_w: Real power of leg A and of leg B, where each was recorded. [W]
        is_local_clock: Whether the starts are a local clock written as if UTC. [-]
        leg: Leg of the service, "A" or "B", where only that was metered. [-]
    """

    name: str
    point: str
    quantity: Quantity
    flow: Flow
    is_electricity: bool
    why_not: str
    start_s: Integers
    duration_s: Integers
    amount: Floats
    quality: Integers
    rank: Integers
    legs_w: tuple[Floats, Floats] | None = None
    is_local_clock: bool = False
    leg: str = ""


@dataclass(frozen=True, slots=True)
class MeterFile:
    """All that was read from one file.

    Args:
        name: Name of the file. [-]
        layout: What kind of file it is. [-]
        series: Its series. [-]
        clock: Local clock of the house, as the file gives it. [-]
        summaries: The utility's own totals. [-]
        statements: What was inferred. [-]
        left_out: What could not be read. [-]
    """

    name: str
    layout: str
    series: tuple[MeterSeries, ...]
    clock: Clock
    summaries: tuple[Summary, ...] = ()
    statements: tuple[Statement, ...] = field(default=())
    left_out: tuple[LeftOut, ...] = field(default=())
