"""The house's record and the charging nights laid over each other.

Direct replay: every night of the record is charged as its car needs, at its own date,
weekday and local clock, and the current of house and charger together is counted
against limits. A night is not walked step by step: charging is one stretch (a few
where cars take turns), and what a stretch holds is the difference of two running
totals. Of many replays only the nights that differ from the first are counted anew.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta
from typing import TYPE_CHECKING

from lugbook.demand.charging import Nights
from lugbook.demand.house_current import HouseCurrent
from lugbook.demand.night_counts import Course, Tally, counted, run_lengths
from lugbook.demand.night_stretches import (
    AT_ONCE,
    LATE,
    Feed,
    StartRule,
    scheduled,
)
from lugbook.errors import OutOfRange

if TYPE_CHECKING:
    from lugbook.demand.series import Floats, Integers

__all__ = [
    "AT_ONCE",
    "LATE",
    "Course",
    "StartRule",
    "by_clock_and_weekday",
    "evenings",
    "limited",
    "replayed",
    "run_lengths",
]

DAY_S = 86400
_EPOCH = date(1970, 1, 1)
_MONDAY = 3  # added to days since 1970, a Thursday, so that Monday comes out as 0
_WEEK = 7


def evenings(house: HouseCurrent) -> tuple[date, int]:
    """The first evening of a record and how many it has.

    Args:
        house: The house's current. [-]

    Returns:
        Day of the first evening, and their number. [-]
    """
    import numpy as np

    ends = np.array([house.known_from_s, house.known_until_s - 1])
    first, last = _local(house, ends) // DAY_S
    return _EPOCH + timedelta(days=int(first)), int(last - first) + 1


def _local(house: HouseCurrent, utc_s: Integers) -> Integers:
    places = (utc_s - house.first_s) // house.step_s
    local: Integers = house.local_s[places]
    return local


def replayed(
    house: HouseCurrent,
    nights: Sequence[Nights],
    *,
    setting_a: float,
    voltage_v: float,
    limits_a: Sequence[float],
    rules: Sequence[StartRule] = (AT_ONCE,),
    without_evenings: frozenset[int] = frozenset(),
) -> tuple[Course, ...]:
    """House and charging together at one setting, under each rule.

    Cars that share the charger take turns, the one that leaves first before the
    others; the turn passes at full steps of the clock.

    Args:
        house: The house's current. [-]
        nights: The nights of each car, from the first evening of the record. [-]
        setting_a: Setting of the charger. [A]
        voltage_v: Voltage at which it charges. [V]
        limits_a: Limits to count against; energy is counted over the last. [A]
        rules: When charging starts. [-]
        without_evenings: Weekdays, Monday 0, on whose evenings no car charges. [-]

    Returns:
        What happens under each rule, in their order. [-]

    Raises:
        OutOfRange: No car, no limit, or a current or voltage that is none.

    Checked by:
        tests/demand/test_nights.py, by hand and by a walk step by step
    """
    import numpy as np

    _refuse(nights, setting_a, voltage_v, limits_a)
    silent = np.zeros(len(house.most_a))
    feeds = [
        Feed(silent + min(setting_a, each.car.most_a), voltage_v, house.step_s)
        for each in nights
    ]
    tallies = [
        Tally(house, silent + min(setting_a, each.car.most_a), voltage_v, limits_a)
        for each in nights
    ]
    return _courses(house, nights, feeds, tallies, setting_a, rules, without_evenings)


def limited(
    house: HouseCurrent,
    nights: Sequence[Nights],
    *,
    setting_a: float,
    voltage_v: float,
    limit_a: float,
    smallest_a: float,
    limits_a: Sequence[float],
    steps_late: int = 1,
) -> Course:
    """House and charging together where a device keeps them under a limit.

    The device lets the car draw what the house (the most it can have been) leaves
    below the limit, and nothing while that is less than a car can take. What is
    counted is a device that acts late: each step has the current that was right some
    steps before. The energy is that of a device without delay; where the record is
    silent the car has all it can draw.

    Args:
        house: The house's current. [-]
        nights: The nights of each car. [-]
        setting_a: Setting of the charger. [A]
        voltage_v: Voltage at which it charges. [V]
        limit_a: What house and car together are kept under. [A]
        smallest_a: Least current a car can be offered. [A]
        limits_a: Limits to count against. [A]
        steps_late: How many steps late it acts. [-]

    Returns:
        What happens, charging whenever there is room. [-]

    Raises:
        OutOfRange: No car, no limit, or a current or voltage that is none.

    Checked by:
        tests/demand/test_nights.py, by hand
    """
    import numpy as np

    _refuse(nights, setting_a, voltage_v, (*limits_a, limit_a))
    feeds, tallies = [], []
    for each in nights:
        most_a = min(setting_a, each.car.most_a)
        room_a = np.where(np.isnan(house.most_a), np.inf, limit_a - house.most_a)
        drawn_a = np.minimum(most_a, room_a)
        drawn_a = np.where(drawn_a < smallest_a, 0.0, drawn_a)
        late_a = np.roll(drawn_a, steps_late)
        feeds.append(Feed(drawn_a, voltage_v, house.step_s))
        tallies.append(Tally(house, late_a, voltage_v, limits_a))
    return _courses(house, nights, feeds, tallies, setting_a, (AT_ONCE,), frozenset())[
        0
    ]


def _refuse(
    nights: Sequence[Nights],
    setting_a: float,
    voltage_v: float,
    limits_a: Sequence[float],
) -> None:
    if not nights or not limits_a:
        raise OutOfRange("no car or no limit is given; give one of each")
    if not (setting_a > 0 and voltage_v > 0 and all(each > 0 for each in limits_a)):
        raise OutOfRange(
            f"setting {setting_a:g} A, {voltage_v:g} V, limits "
            f"{', '.join(f'{each:g} A' for each in limits_a)}; each must be above 0"
        )


def _courses(
    house: HouseCurrent,
    nights: Sequence[Nights],
    feeds: Sequence[Feed],
    tallies: Sequence[Tally],
    setting_a: float,
    rules: Sequence[StartRule],
    without_evenings: frozenset[int],
) -> tuple[Course, ...]:
    schedule = scheduled(house, nights, feeds, rules, without_evenings)
    return tuple(
        counted(
            house,
            tallies,
            schedule.stretches[place],
            weekdays=schedule.weekdays,
            setting_a=setting_a,
            missed=schedule.missed[place],
            energy_kwh=schedule.energy_kwh[place],
        )
        for place in range(len(rules))
    )


# --- the cross-check --------------------------------------------------------------


def by_clock_and_weekday(
    house: HouseCurrent,
    course: Course,
    *,
    current_a: float,
    limits_a: Sequence[float],
) -> Floats:
    """Steps over each limit, if charging and house knew nothing of each other.

    Over every step of the week: how often charging is on there (all of the step, or
    part of it), times how often the house leaves too little room there, times how
    often the step comes. What makes it differ from the replay is what the two have in
    common beyond clock and weekday: season, or one long evening after another.

    Args:
        house: The house's current. [-]
        course: When charging is on. [-]
        current_a: Current while charging. [A]
        limits_a: The limits. [A]

    Returns:
        Steps over: limits, pairs. [-]

    Source:
        textbook, product of independent chances

    Checked by:
        tests/demand/test_nights.py, by hand and against the replay
    """
    import numpy as np

    per_day = DAY_S // house.step_s
    slots = _WEEK * per_day
    weekday = (house.local_s // DAY_S + _MONDAY) % _WEEK
    known = np.isfinite(house.most_a)
    slot = (weekday * per_day + house.local_s % DAY_S // house.step_s)[known]
    times = np.bincount(slot, minlength=slots)
    often = np.maximum(times, 1)

    def mean(amounts: Floats) -> Floats:
        found: Floats = np.bincount(slot, amounts[known], slots) / often
        return found

    on, whole, part = (
        mean(each)
        for each in (course.on_fraction, course.whole_fraction, course.part_fraction)
    )
    share = np.divide(on - whole, part, out=np.zeros(slots), where=part > 0)
    extra = (current_a, current_a * np.clip(share, 0.0, 1.0)[slot], 0.0)
    weights = (whole, part, np.clip(1 - whole - part, 0.0, 1.0))
    found = np.zeros((len(limits_a), 2))
    for row, limit in enumerate(limits_a):
        for column, house_a in enumerate((house.least_a[known], house.most_a[known])):
            found[row, column] = sum(
                float(
                    weight @ np.bincount(slot[house_a + more > limit], minlength=slots)
                )
                for weight, more in zip(weights, extra, strict=True)
            )
    return found
