"""The highest demand of a record: as recorded, and as an average of 15 minutes."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from lugbook.demand.clock import local_of_utc
from lugbook.demand.factors import averaging_factors

if TYPE_CHECKING:
    from lugbook.demand.cleaning import Record
    from lugbook.demand.series import Floats, Integers

__all__ = [
    "DailyMaxima",
    "Equivalent",
    "LegMaximum",
    "Maximum",
    "by_quarter_hour",
    "daily_maxima",
    "equivalent_15min",
    "leg_maximum",
    "recorded_maximum",
    "window_maximum",
]

HOUR_S, DAY_S = 3600, 86400
WINDOW_S = 900
WITNESS_FRACTION = 0.05  # as near as finding.py calls narrow
OBSERVED_FRACTION = 0.95  # of a day, to count as observed: data.md 1.8 step 5


@dataclass(frozen=True, slots=True)
class Maximum:
    """The highest average of a record.

    Args:
        power_w: The average. [W]
        start_s: Start of its interval, seconds since 1970 UTC. [s]
        duration_s: Its duration. [s]
        witnesses: Readings within 5 % of it, itself included. [-]
        witness_days: Local days on which they were. [-]
        passed_over: Higher readings that were left out as doubtful. [-]
        highest_passed_over_w: The highest of these; None if there is none. [W]
        is_measured: False where nothing but doubtful readings exist. [-]
    """

    power_w: float
    start_s: int
    duration_s: int
    witnesses: int
    witness_days: int
    passed_over: int
    highest_passed_over_w: float | None
    is_measured: bool


@dataclass(frozen=True, slots=True)
class Equivalent:
    """The 15-minute maximum that a record stands for.

    Args:
        central_w: In the middle of what is known of such houses. [W]
        covering_w: Covering 95 of 100. [W]
        small_house_w: The same for a small gas-heated house. [W]
        how: How it was found. [-]
    """

    central_w: float
    covering_w: float
    small_house_w: float
    how: str


@dataclass(frozen=True, slots=True)
class LegMaximum:
    """What a record of both legs shows of each.

    Args:
        leg_a_w: Highest average of leg A. [W]
        leg_b_w: Highest average of leg B. [W]
        imbalance_fraction: Difference over sum when the house's maximum was. [-]
    """

    leg_a_w: float
    leg_b_w: float
    imbalance_fraction: float


@dataclass(frozen=True, slots=True)
class DailyMaxima:
    """The highest average of each observed local day.

    Args:
        day: Days since 1970 by the local clock. [days]
        power_w: The highest average of the day. [W]
    """

    day: Integers
    power_w: Floats


def recorded_maximum(record: Record) -> Maximum:
    """The highest average of a cleaned record, and what else speaks for it.

    Args:
        record: The record. [-]

    Returns:
        The maximum. [-]
    """
    import numpy as np

    power_w = record.power_w
    counting = record.counts_for_maximum
    is_measured = bool(counting.any())
    considered = np.where(counting, power_w, -1.0) if is_measured else power_w
    place = int(np.argmax(considered))
    highest = float(considered[place])
    near = considered >= (1 - WITNESS_FRACTION) * highest
    days = local_of_utc(record.start_s[near], record.clock) // DAY_S
    above = power_w[(power_w > highest) & ~counting]
    return Maximum(
        power_w=highest,
        start_s=int(record.start_s[place]),
        duration_s=int(record.duration_s[place]),
        witnesses=int(near.sum()),
        witness_days=len(np.unique(days)),
        passed_over=len(above),
        highest_passed_over_w=float(above.max()) if len(above) else None,
        is_measured=is_measured,
    )


def window_maximum(record: Record, *, window_s: int = WINDOW_S) -> float | None:
    """The highest average over any window of a length, wherever it starts.

    Only windows that readings fill without a gap count; power is taken as even
    within a reading.

    Args:
        record: The record, its readings shorter than the window. [-]
        window_s: Length of the window. [s]

    Returns:
        The average; None where no window is filled. [W]
    """
    import numpy as np

    counting = record.counts_for_maximum
    start_s, length = record.start_s[counting], record.duration_s[counting]
    energy = record.energy_wh[counting]
    if not len(start_s):
        return None
    usual = int(length[0])
    count = window_s // usual
    if window_s % usual == 0 and (length == usual).all():
        if len(start_s) < count:
            return None
        total = np.concatenate(([0.0], np.cumsum(energy)))
        sums = total[count:] - total[:-count]
        first, last = start_s[: len(sums)], start_s[count - 1 :]
        sums = sums[last - first == (count - 1) * usual]
        return float(sums.max()) * HOUR_S / window_s if len(sums) else None
    ends = start_s + length
    knots = np.stack([start_s, ends], axis=1).ravel()
    zero = np.zeros(1)
    used = np.concatenate((zero, np.repeat(np.cumsum(energy), 2)[:-1]))
    filled = np.concatenate((zero, np.repeat(np.cumsum(length), 2)[:-1]))
    # The sum over a sliding window turns only where an end of it meets a knot.
    opening = np.concatenate((start_s, ends - window_s))
    closing = opening + window_s
    sums = np.interp(closing, knots, used) - np.interp(opening, knots, used)
    covered = np.interp(closing, knots, filled) - np.interp(opening, knots, filled)
    sums = sums[covered >= window_s - 0.5]
    return float(sums.max()) * HOUR_S / window_s if len(sums) else None


def by_quarter_hour(record: Record) -> Record:
    """A record as averages of 15 minutes by the clock, if it is finer.

    Args:
        record: The record. [-]

    Returns:
        Quarter hours that readings fill, each with every doubt of theirs; the record
        itself where it is not finer or does not fit into quarter hours. [-]
    """
    import numpy as np

    usual = record.interval_s
    if usual >= WINDOW_S or WINDOW_S % usual:
        return record
    window = record.start_s // WINDOW_S
    first = np.flatnonzero(np.append(True, np.diff(window) != 0))
    filled = np.add.reduceat(record.duration_s, first) == WINDOW_S
    if not filled.any():
        return record
    return replace(
        record,
        start_s=window[first][filled] * WINDOW_S,
        duration_s=np.full(int(filled.sum()), WINDOW_S),
        energy_wh=np.add.reduceat(record.energy_wh, first)[filled],
        doubt=np.bitwise_or.reduceat(record.doubt, first)[filled],
        interval_s=WINDOW_S,
        legs_w=None,
    )


def equivalent_15min(record: Record, maximum: Maximum) -> Equivalent:
    """The 15-minute maximum a record stands for.

    Args:
        record: The record. [-]
        maximum: Its recorded maximum. [-]

    Returns:
        The maximum with its factors; never above what the energy of the interval
        would give if it were all drawn in one quarter hour. [-]
    """
    if record.interval_s < WINDOW_S:
        sliding_w = window_maximum(record)
        if sliding_w is not None:
            how = "highest average of any 15 minutes in it"
            return Equivalent(sliding_w, sliding_w, sliding_w, how)
        how = "no 15 minutes without a gap: the recorded maximum itself"
        return Equivalent(maximum.power_w, maximum.power_w, maximum.power_w, how)
    factors = averaging_factors(interval_s=maximum.duration_s)
    if maximum.duration_s <= WINDOW_S:
        how = "the record is of 15 minutes"
        return Equivalent(maximum.power_w, maximum.power_w, maximum.power_w, how)
    most = maximum.duration_s / WINDOW_S
    central, covering, small = (
        maximum.power_w * min(factor, most)
        for factor in (factors.central, factors.covering, factors.small_house)
    )
    how = f"recorded maximum × {factors.central:g}, and × {factors.covering:g} to cover"
    return Equivalent(central, covering, small, how)


def leg_maximum(record: Record, maximum: Maximum) -> LegMaximum | None:
    """What a record of both legs shows of each.

    Args:
        record: The record. [-]
        maximum: Its recorded maximum. [-]

    Returns:
        Maximum of each leg; None where the legs were not recorded. [-]
    """
    import numpy as np

    if record.legs_w is None:
        return None
    leg_a, leg_b = record.legs_w
    counting = record.counts_for_maximum
    place = int(np.searchsorted(record.start_s, maximum.start_s))
    both = abs(leg_a[place]) + abs(leg_b[place])
    unbalanced = abs(leg_a[place] - leg_b[place]) / both if both else 0.0
    return LegMaximum(
        float(leg_a[counting].max()), float(leg_b[counting].max()), float(unbalanced)
    )


def daily_maxima(record: Record) -> DailyMaxima:
    """The highest average of each local day that was observed.

    Args:
        record: The record. [-]

    Returns:
        One maximum for each day with readings for 95 % of it. [-]
    """
    import numpy as np

    counting = record.counts_for_maximum
    days = local_of_utc(record.start_s, record.clock) // DAY_S
    first = np.flatnonzero(np.append(True, np.diff(days) != 0))
    # A local day is in order, but for a reading that steps back over the change.
    if (np.diff(days) < 0).any():
        order = np.argsort(days, kind="stable")
        days = days[order]
        first = np.flatnonzero(np.append(True, np.diff(days) != 0))
    else:
        order = np.arange(len(days))
    power_w = np.where(counting, record.power_w, 0.0)[order]
    length = np.where(counting, record.duration_s, 0)[order]
    highest = np.maximum.reduceat(power_w, first)
    covered = np.add.reduceat(length, first)
    # The shortest day of the year has 23 hours.
    observed = covered >= OBSERVED_FRACTION * (DAY_S - HOUR_S)
    return DailyMaxima(days[first][observed], highest[observed])
