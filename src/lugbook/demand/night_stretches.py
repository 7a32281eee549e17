"""When cars charge in their nights: stretches of time, by what their batteries ask.

Places are counted in steps of the house's current, with parts of a step.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

from lugbook.demand.charging import (
    Nights,
    hours_to_fill,
    owed_after,
    plugged_windows,
)
from lugbook.demand.house_current import HouseCurrent

if TYPE_CHECKING:
    from lugbook.demand.series import Floats, Integers

__all__ = [
    "AT_ONCE",
    "LATE",
    "NOTHING",
    "Feed",
    "Schedule",
    "StartRule",
    "Stretch",
    "scheduled",
]

DAY_S, HOUR_S = 86400, 3600
NOTHING = 1e-9  # of a step: what rounding leaves of an empty stretch
_EPOCH = date(1970, 1, 1)
_WEEK = 7
_MET_KWH = 1e-6  # less than any meter shows is no shortfall


@dataclass(frozen=True, slots=True)
class StartRule:
    """When charging starts within the time a car is plugged in.

    Args:
        id: Stable name. [-]
        at_s: Local time before which it does not start; None for at once. [s]
        late: Whether it ends when the car leaves instead. [-]
    """

    id: str
    at_s: int | None = None
    late: bool = False


AT_ONCE = StartRule("at_once")
LATE = StartRule("as_late_as_will_do", late=True)


class Feed:
    """What a charger gives from step to step, added up from the beginning."""

    def __init__(self, drawn_a: Floats, voltage_v: float, step_s: int) -> None:
        import numpy as np

        self._per_step = drawn_a * voltage_v / 1000 * step_s / HOUR_S
        self.is_even = bool((drawn_a == drawn_a[0]).all())
        self.power_kw = float(drawn_a[0]) * voltage_v / 1000
        self.step_hours = step_s / HOUR_S
        self._total = np.concatenate((np.zeros(1), np.cumsum(self._per_step)))
        self._places = np.arange(len(self._total), dtype=float)

    def between(self, first: Floats, last: Floats) -> Floats:
        """Return the energy that two places have between them."""
        if self.is_even:
            even: Floats = (last - first) * self._per_step[0]
            return even
        found: Floats = self._up_to(last) - self._up_to(first)
        return found

    def _up_to(self, places: Floats) -> Floats:
        import numpy as np

        found: Floats = np.interp(places, self._places, self._total)
        return found

    def after(self, first: Floats, energy_kwh: Floats) -> Floats:
        """Return the place at which an energy has been given from a place on."""
        import numpy as np

        if self.is_even:
            even: Floats = first + energy_kwh / self._per_step[0]
            return even
        wanted = self._up_to(first) + energy_kwh
        # The earliest place with that total: where nothing flows it stands still.
        place = np.searchsorted(self._total, wanted - NOTHING, side="left")
        place = np.clip(place, 1, len(self._total) - 1)
        step = self._per_step[place - 1]
        share = np.divide(
            wanted - self._total[place - 1],
            step,
            out=np.ones_like(wanted),
            where=step > 0,
        )
        found: Floats = np.maximum(first, place - 1 + np.clip(share, 0.0, 1.0))
        return found

    def before(self, last: Floats, energy_kwh: Floats) -> Floats:
        """Return the place from which on an energy is given up to a place."""
        even: Floats = last - energy_kwh / self._per_step[0]
        return even


def _given(
    feed: Feed, used: Floats, most: Floats, hours: Floats, capacity_kwh: float
) -> tuple[Floats, Floats]:
    """Return what each night gives and what is owed after it, nights first.

    The battery is full before the first night, and cannot owe more than it holds.
    Near full it takes less and less, where the charger's power is even.
    """
    import numpy as np

    shape = np.broadcast_shapes(used.shape, most.shape)
    given, owed = np.zeros(shape), np.zeros(shape)
    least_hours = hours.min(axis=(1, 2)).tolist()
    left = np.zeros(shape[1:])
    for night in range(shape[0]):
        missing = np.minimum(capacity_kwh, left + used[night])
        if not feed.is_even:
            left = missing - np.minimum(missing, most[night])
        elif _fills(feed, float(missing.max()), least_hours[night], capacity_kwh):
            left = np.zeros(shape[1:])
        else:
            left = owed_after(
                owed_kwh=missing,
                power_kw=feed.power_kw,
                hours=hours[night],
                capacity_kwh=capacity_kwh,
            )
        given[night], owed[night] = missing - left, left
    return given, owed


def _fills(feed: Feed, missing_kwh: float, hours: float, capacity_kwh: float) -> bool:
    """Return whether the worst replay fills in the shortest hours; most nights do."""
    needed = hours_to_fill(
        owed_kwh=missing_kwh, power_kw=feed.power_kw, capacity_kwh=capacity_kwh
    )
    return float(needed) <= hours


@dataclass(frozen=True, slots=True)
class Stretch:
    """One stretch of charging a night: nights by replays."""

    car: int
    first: Floats
    last: Floats


@dataclass(frozen=True, slots=True)
class Schedule:
    """When every car charges in every night, under each rule.

    Args:
        stretches: Stretches of every car, a list for each rule. [-]
        missed: Departures short of full: rules, replays. [-]
        energy_kwh: Energy given: rules, replays. [kWh]
        weekdays: Weekday of each evening, Monday 0. [-]
    """

    stretches: list[list[Stretch]]
    missed: Floats
    energy_kwh: Floats
    weekdays: Integers


def scheduled(
    house: HouseCurrent,
    nights: Sequence[Nights],
    feeds: Sequence[Feed],
    rules: Sequence[StartRule],
    without_evenings: frozenset[int],
) -> Schedule:
    """When every car charges in every night.

    Args:
        house: The house's current, for its steps and clock. [-]
        nights: The nights of each car. [-]
        feeds: What the charger gives each car. [-]
        rules: When charging starts. [-]
        without_evenings: Weekdays, Monday 0, on whose evenings no car charges. [-]

    Returns:
        The schedule. [-]
    """
    import numpy as np

    replays = max(len(each.used_kwh) for each in nights)
    count = len(nights[0].leaves)
    weekdays = (nights[0].first_day.weekday() + np.arange(count)) % _WEEK
    barred = np.isin(weekdays, list(without_evenings))
    taken: list[list[Stretch]] = [[] for _ in rules]
    missed = np.zeros((len(rules), replays))
    energy = np.zeros((len(rules), replays))
    # Who leaves first is served first; those who leave at one time as they are named.
    for number in sorted(
        range(len(nights)), key=lambda each: nights[each].car.leaves_s
    ):
        car, feed = nights[number], feeds[number]
        free = [
            _free(_windows(house, car, rule), stretches)
            for rule, stretches in zip(rules, taken, strict=True)
        ]
        each_most = [[feed.between(*piece) for piece in pieces] for pieces in free]
        lengths = [[last - first for first, last in pieces] for pieces in free]
        most, length = (
            np.where(barred[:, None, None], 0.0, np.stack(_summed(each), axis=1))
            for each in (each_most, lengths)
        )
        used = car.used_kwh.T[:, None, :]
        hours = length * feed.step_hours
        # Starting at once and late have the same hours: one course of the battery.
        kinds = [_first_alike(hours, place) for place in range(len(rules))]
        own = sorted(set(kinds))
        given, owed = _given(
            feed, used, most[:, own], hours[:, own], car.car.capacity_kwh
        )
        places = [own.index(kind) for kind in kinds]
        given, owed = given[:, places], owed[:, places]
        given = np.broadcast_to(given, (count, len(rules), replays))
        late = (owed > _MET_KWH) & car.leaves[:, None, None]
        missed += np.broadcast_to(late.sum(axis=0), missed.shape)
        energy += given.sum(axis=0)
        for place, rule in enumerate(rules):
            taken[place] += _filled(
                number, feed, free[place], each_most[place], given[:, place], rule
            )
    return Schedule(taken, missed, energy, weekdays)


def _first_alike(hours: Floats, place: int) -> int:
    """Return the first rule with the same hours as that in a place."""
    return next(
        other
        for other in range(place + 1)
        if bool((hours[:, other] == hours[:, place]).all())
    )


def _summed(amounts: list[list[Floats]]) -> list[Floats]:
    """Return the sum over the pieces of each night, all as wide as the widest."""
    import numpy as np

    sums = [np.sum(np.broadcast_arrays(*pieces), axis=0) for pieces in amounts]
    return list(np.broadcast_arrays(*sums))


def _windows(
    house: HouseCurrent, nights: Nights, rule: StartRule
) -> tuple[Floats, Floats]:
    """Return where each night's charging may begin and must end, a column each."""
    import numpy as np

    starts, ends = plugged_windows(nights)
    midnight_s = (nights.first_day - _EPOCH).days * DAY_S
    if rule.at_s is not None:
        days = np.arange(len(starts), dtype=np.int64) * DAY_S
        waits = days + rule.at_s
        waits = np.where(waits < starts, waits + DAY_S, waits)
        # A time at which the car is not there is no time to wait for.
        starts = np.where(waits < ends, waits, starts)
    first, last = (house.place_of_clock(midnight_s + each) for each in (starts, ends))
    last = np.clip(last, 0, len(house.most_a))
    return np.clip(first, 0, last)[:, None], last[:, None]


def _free(
    window: tuple[Floats, Floats], taken: Sequence[Stretch]
) -> list[tuple[Floats, Floats]]:
    """Return what other cars leave of a window, in full steps beside theirs."""
    import numpy as np

    pieces = [window]
    for stretch in taken:
        before, after = np.floor(stretch.first), np.ceil(stretch.last)
        is_empty = stretch.last - stretch.first <= NOTHING
        left: list[tuple[Floats, Floats]] = []
        for first, last in pieces:
            ends = np.where(is_empty, last, np.clip(before, first, last))
            begins = np.where(is_empty, last, np.clip(after, first, last))
            left += [(first, ends), (begins, last)]
        pieces = left
    return pieces


def _filled(
    car: int,
    feed: Feed,
    pieces: Sequence[tuple[Floats, Floats]],
    most: Sequence[Floats],
    given: Floats,
    rule: StartRule,
) -> list[Stretch]:
    """Return the stretches in which a night's energy is given."""
    import numpy as np

    left = given
    found = []
    order = range(len(pieces))
    for number in reversed(order) if rule.late else order:
        first, last = pieces[number]
        amount = np.minimum(left, most[number])
        left = left - amount
        if rule.late:
            stretch = (feed.before(last, amount), last)
        else:
            stretch = (first, np.minimum(feed.after(first, amount), last))
        found.append(
            Stretch(car, *(np.broadcast_to(each, given.shape) for each in stretch))
        )
    return found
