"""Shapes of a record: how long which demand lasted, at what hour, in which week."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from typing import TYPE_CHECKING

from lugbook.demand.clock import local_of_utc

if TYPE_CHECKING:
    from lugbook.demand.cleaning import Record

__all__ = [
    "ClockSlot",
    "DurationPoint",
    "Week",
    "by_clock",
    "load_duration",
    "worst_weeks",
]

HOUR_S, DAY_S, WEEK_S = 3600, 86400, 604_800
_MONDAY = 4  # 1970-01-01 was a Thursday: the first Monday was four days later
_SHARES = (0.0, 0.0001, 0.001, 0.01, 0.05, 0.1, 0.25, 0.5, 0.75, 0.9, 1.0)
_EPOCH = date(1970, 1, 1)


@dataclass(frozen=True, slots=True)
class DurationPoint:
    """One point of the load-duration curve.

    Args:
        fraction: Share of the recorded time. [-]
        power_w: Demand reached or exceeded in that share. [W]
    """

    fraction: float
    power_w: float


@dataclass(frozen=True, slots=True)
class ClockSlot:
    """What the house drew at one time of the day, over all days.

    Args:
        start_s: Start of the slot since local midnight. [s]
        median_w: Half of the days were below. [W]
        p95_w: 95 of 100 days were below. [W]
        highest_w: Highest day. [W]
        days: Readings it rests on. [-]
    """

    start_s: int
    median_w: float
    p95_w: float
    highest_w: float
    days: int


@dataclass(frozen=True, slots=True)
class Week:
    """A week from Monday to Sunday by the local clock.

    Args:
        monday: Its Monday. [-]
        highest_w: Highest average in it. [W]
        energy_wh: Energy of it. [Wh]
        complete_fraction: Share of the week with readings. [-]
    """

    monday: date
    highest_w: float
    energy_wh: float
    complete_fraction: float


def load_duration(record: Record) -> tuple[DurationPoint, ...]:
    """The load-duration curve of a record.

    Args:
        record: The record. [-]

    Returns:
        Points from the highest demand down to the lowest. [-]
    """
    import numpy as np

    counting = record.counts_for_maximum
    power_w, length = record.power_w[counting], record.duration_s[counting]
    if not len(power_w):
        return ()
    order = np.argsort(-power_w, kind="stable")
    passed = np.cumsum(length[order])
    places = np.searchsorted(passed, np.array(_SHARES) * passed[-1], side="left")
    return tuple(
        DurationPoint(share, float(power_w[order[min(place, len(order) - 1)]]))
        for share, place in zip(_SHARES, places.tolist(), strict=True)
    )


def by_clock(record: Record) -> tuple[ClockSlot, ...]:
    """What the house drew at each time of the day.

    Args:
        record: The record. [-]

    Returns:
        Slots of a quarter hour, or of the record's interval where that is longer. [-]
    """
    import numpy as np

    slot_s = max(900, record.interval_s)
    if DAY_S % slot_s:
        slot_s = HOUR_S
    counting = record.counts_for_maximum
    if not counting.any():
        return ()
    local = local_of_utc(record.start_s[counting], record.clock)
    power_w = record.power_w[counting]
    slots = local % DAY_S // slot_s
    order = np.argsort(slots, kind="stable")
    slots, power_w = slots[order], power_w[order]
    bounds = np.searchsorted(slots, np.arange(DAY_S // slot_s + 1))
    found = []
    for number, (low, high) in enumerate(
        zip(bounds[:-1].tolist(), bounds[1:].tolist(), strict=True)
    ):
        if high > low:
            middle, upper = np.percentile(power_w[low:high], [50, 95])
            highest = float(power_w[low:high].max())
            found.append(
                ClockSlot(
                    number * slot_s, float(middle), float(upper), highest, high - low
                )
            )
    return tuple(found)


def worst_weeks(record: Record, *, count: int = 3) -> tuple[Week, ...]:
    """The weeks with the highest demand.

    Args:
        record: The record. [-]
        count: How many. [-]

    Returns:
        Weeks, the highest first. [-]
    """
    import numpy as np

    local_days = local_of_utc(record.start_s, record.clock) // DAY_S
    weeks = (local_days - _MONDAY) // 7
    power_w = np.where(record.counts_for_maximum, record.power_w, 0.0)
    # Weeks stand in order, but for an hour that a change of the clock steps back.
    first_week = int(weeks.min())
    place = weeks - first_week
    length = int(place.max()) + 1
    edges = np.flatnonzero(np.append(True, np.diff(place) != 0))
    highest = np.full(length, -1.0)
    np.maximum.at(highest, place[edges], np.maximum.reduceat(power_w, edges))
    energy = np.bincount(place, weights=record.energy_wh)
    covered = np.bincount(place, weights=record.duration_s)
    order = np.argsort(-highest, kind="stable")[:count]
    return tuple(
        Week(
            monday=_EPOCH + timedelta(days=(first_week + each) * 7 + _MONDAY),
            highest_w=float(highest[each]),
            energy_wh=float(energy[each]),
            complete_fraction=min(1.0, float(covered[each]) / WEEK_S),
        )
        for each in order.tolist()
        if highest[each] >= 0
    )
