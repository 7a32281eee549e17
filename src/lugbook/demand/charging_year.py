"""A year of charging nights on one charger, at every setting at once.

The year is cut where a car comes or goes, where the price changes and where the clock
is changed; in each piece the charger serves one car after another, the one that leaves
first before the others. Arrays hold one row for each setting and one column for each
replay.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime
from itertools import pairwise
from typing import TYPE_CHECKING

from lugbook.demand.charging import (
    DAY_S,
    Nights,
    hours_to_fill,
    owed_after,
    plugged_windows,
)
from lugbook.demand.clock import change_moment

if TYPE_CHECKING:
    from lugbook.demand.series import Floats

__all__ = [
    "ALWAYS",
    "CarPower",
    "ChargedYear",
    "PriceWeek",
    "charged_year",
    "elapsed_s",
]

MINUTES_PER_WEEK = 7 * 24 * 60
_HOUR_S = 3600
_FULL_KWH = 1e-6  # rounding of a year's sums, not a margin
# Second Sunday of March and first Sunday of November, 02:00, as ESPI writes them:
# most of the United States and Canada.
_SUMMER_FROM, _SUMMER_TO = 0x360E2000, 0xB40E2000


@dataclass(frozen=True, slots=True)
class PriceWeek:
    """Which price holds when, the same every week.

    Args:
        prices: Price of a kilowatt-hour on each level; None where it is not known,
            which counts as the dearest. [currency/kWh]
        at_minute: Level in each minute of the week, from Monday 00:00 on. [-]
    """

    prices: tuple[float | None, ...]
    at_minute: tuple[int, ...]

    def rank(self, level: int) -> tuple[bool, float]:
        """Return by what the levels are sorted, the cheapest first."""
        price = self.prices[level]
        return price is None, price or 0.0


ALWAYS = PriceWeek((None,), (0,) * MINUTES_PER_WEEK)


@dataclass(frozen=True, slots=True)
class CarPower:
    """One car's nights, and what it takes from the charger at each setting.

    Args:
        nights: Its nights. [-]
        power_kw: Power at the wall at each setting, all over 0. [kW]
        scale: Energy at each setting, over that of `nights`; the efficiency of
            charging may hang on the setting. [-]
        capacity_kwh: Battery as energy at the wall at each setting, infinite if
            unknown. [kWh]
    """

    nights: Nights
    power_kw: Floats
    scale: Floats
    capacity_kwh: Floats


@dataclass(frozen=True, slots=True)
class ChargedYear:
    """What a year of nights came to, one row a setting and one column a replay.

    Args:
        missed: Mornings on which each car left short of full; first index the
            car. [-]
        empty: Drives that each car's battery did not hold, infinite ones never. [-]
        energy_kwh: Energy each car took at the wall. [kWh]
        busy_hours: Hours at full power that gave that energy. [h]
        level_kwh: Energy taken on each level of price as soon as a car is plugged in;
            first index the level. [kWh]
        cheapest_kwh: The same by the cheapest fill that leaves every car as full. [kWh]
    """

    missed: Floats
    empty: Floats
    energy_kwh: Floats
    busy_hours: Floats
    level_kwh: Floats
    cheapest_kwh: Floats


@dataclass(frozen=True, slots=True)
class _Piece:
    """A stretch of time in which nothing changes.

    Args:
        hours: Its true length. [h]
        level: Level of price. [-]
        plugged: Car and night of those plugged in, the one that leaves first first. [-]
    """

    hours: float
    level: int
    plugged: tuple[tuple[int, int], ...]


def elapsed_s(local_s: int, *, first_day: date) -> int:
    """True seconds up to a time that the local clock shows.

    Args:
        local_s: Clock time, counted from midnight before the first day as if no clock
            was ever changed. [s]
        first_day: That day. [-]

    Returns:
        Seconds, up to a constant. [s]

    Valid for:
        Clocks set forward on the second Sunday of March and back on the first of
        November, at 02:00.

    Source:
        naesb-espi, DstRuleType, for the way the two days are written

    Checked by:
        tests/demand/test_charging_year.py

    Example:
        >>> night = date(2026, 3, 7)  # 00:00 to 06:00 of the 8th lasts five hours
        >>> (elapsed_s(30 * 3600, first_day=night)
        ...  - elapsed_s(24 * 3600, first_day=night)) / 3600
        5.0
    """
    midnight = datetime(first_day.year, first_day.month, first_day.day, tzinfo=UTC)
    at_s = int(midnight.timestamp()) + local_s
    year = datetime.fromtimestamp(at_s, UTC).year
    starts, ends = change_moment(_SUMMER_FROM, year), change_moment(_SUMMER_TO, year)
    if not starts <= at_s < ends:
        return at_s
    # The clock skips an hour: what it never shows is the moment it skips.
    return max(starts, at_s - _HOUR_S)


def charged_year(
    cars: Sequence[CarPower], week: PriceWeek, *, in_cheapest_hours: bool = False
) -> ChargedYear:
    """A year of nights on one charger.

    Every battery is full at first; what a night leaves lacking is carried into the
    next, and a drive that the battery does not hold leaves it empty. The cheapest fill
    gives every car in each night what it gets by charging at once. For cars that take
    different powers it is an estimate.

    Args:
        cars: The cars. [-]
        week: The prices. [-]
        in_cheapest_hours: Whether a car charges only in those hours of its night that
            have the night's lowest price. [-]

    Returns:
        The year. [-]

    Checked by:
        tests/demand/test_charging_year.py, tests/prove/test_charging_year.py
    """
    import numpy as np

    pieces = tuple(_pieces(cars, week))
    lowest = _lowest(pieces, week) if in_cheapest_hours else None
    fill = _filled(cars, pieces, week=week, lowest=lowest)
    used = sorted({piece.level for piece in pieces}, key=week.rank)
    cheapest = np.zeros_like(fill.level_kwh)
    before = np.zeros(cheapest.shape[1:])
    allowed: set[int] = set()
    for level in used[:-1]:
        allowed.add(level)
        within = _within(cars, pieces, fill.taken, allowed)
        cheapest[level] = within - before
        before = within
    cheapest[used[-1]] = fill.level_kwh.sum(axis=0) - before
    energy = np.stack([each.sum(axis=0) for each in fill.taken])
    power = np.stack([car.power_kw[:, None] for car in cars])
    return ChargedYear(
        missed=fill.missed,
        empty=fill.empty,
        energy_kwh=energy,
        busy_hours=energy / power,
        level_kwh=fill.level_kwh,
        cheapest_kwh=cheapest,
    )


def _pieces(cars: Sequence[CarPower], week: PriceWeek) -> Iterator[_Piece]:
    """Yield the pieces in which a car is plugged in, in order."""
    first_day = cars[0].nights.first_day
    windows = [_windows(car.nights) for car in cars]
    changes = _changes(week)
    begins_s = first_day.weekday() * DAY_S
    cuts = {at for car in windows for window in car for at in window[:2]}
    last_s = max(cuts)
    for number in range(-1, (last_s + begins_s) // (7 * DAY_S) + 1):
        cuts.update(60 * at + number * 7 * DAY_S - begins_s for at in changes)
    ordered = sorted(at for at in cuts if at <= last_s)
    current = [0] * len(cars)
    true_s = [elapsed_s(at, first_day=first_day) for at in ordered]
    for place, (start, end) in enumerate(pairwise(ordered)):
        here = []
        for car, own in enumerate(windows):
            while current[car] < len(own) and own[current[car]][1] <= start:
                current[car] += 1
            if current[car] < len(own) and own[current[car]][0] < end:
                here.append((own[current[car]][2], car, current[car]))
        if here:
            minute = (start + begins_s) // 60 % MINUTES_PER_WEEK
            yield _Piece(
                hours=(true_s[place + 1] - true_s[place]) / _HOUR_S,
                level=week.at_minute[minute],
                plugged=tuple((car, night) for _, car, night in sorted(here)),
            )


def _windows(nights: Nights) -> list[tuple[int, int, int]]:
    """Return start, end and next departure of each night, by the clock."""
    starts, ends = plugged_windows(nights)
    windows: list[tuple[int, int, int]] = []
    leaves_s = int(ends[-1])
    for start, end, leaves in zip(
        starts[::-1].tolist(), ends[::-1].tolist(), nights.leaves[::-1], strict=True
    ):
        leaves_s = end if leaves else max(leaves_s, end)
        windows.append((start, end, leaves_s))
    return windows[::-1]


def _changes(week: PriceWeek) -> list[int]:
    """Return the minutes of the week in which another level begins."""
    levels = week.at_minute
    return [at for at in range(MINUTES_PER_WEEK) if levels[at] != levels[at - 1]]


def _lowest(
    pieces: Sequence[_Piece], week: PriceWeek
) -> dict[tuple[int, int], tuple[bool, float]]:
    """Return the lowest price of each car's night, as a rank."""
    found: dict[tuple[int, int], tuple[bool, float]] = {}
    for piece in pieces:
        rank = week.rank(piece.level)
        for night in piece.plugged:
            found[night] = min(rank, found.get(night, rank))
    return found


class _State:
    """What each car lacks while the year goes by, and what was counted."""

    def __init__(self, cars: Sequence[CarPower]) -> None:
        import numpy as np

        self.cars = cars
        replays = max(len(car.nights.used_kwh) for car in cars)
        self.shape = (len(cars[0].power_kw), replays)
        self.power_kw = [car.power_kw[:, None] for car in cars]
        self.capacity_kwh = [car.capacity_kwh[:, None] for car in cars]
        self.owed = [np.zeros(self.shape) for _ in cars]
        self.missed = np.zeros((len(cars), *self.shape))
        self.empty = np.zeros((len(cars), *self.shape))
        self.taken = [np.zeros((len(car.nights.leaves), *self.shape)) for car in cars]
        self.night = [-1] * len(cars)

    def plug_in(self, car: int, night: int) -> None:
        """Take what the drive used, once for each night."""
        import numpy as np

        if self.night[car] == night:
            return
        self.leave(car)
        self.night[car] = night
        whole = self.capacity_kwh[car]
        used = self.cars[car].nights.used_kwh[:, night] * self.cars[car].scale[:, None]
        owed = self.owed[car] + used
        self.empty[car] += owed > whole + _FULL_KWH
        self.owed[car] = np.minimum(owed, whole)

    def leave(self, car: int) -> None:
        """Count a morning on which it drives and lacks something."""
        night = self.night[car]
        if night >= 0 and self.cars[car].nights.leaves[night]:
            self.missed[car] += self.owed[car] > _FULL_KWH

    def charge(self, car: int, hours: Floats | float) -> tuple[Floats, Floats]:
        """Charge it for a time; return the energy, and the hours it took."""
        import numpy as np

        power, whole = self.power_kw[car], self.capacity_kwh[car]
        owed = self.owed[car]
        self.owed[car] = owed_after(
            owed_kwh=owed, power_kw=power, hours=hours, capacity_kwh=whole
        )
        got = owed - self.owed[car]
        self.taken[car][self.night[car]] += got
        full = hours_to_fill(owed_kwh=owed, power_kw=power, capacity_kwh=whole)
        return got, np.minimum(hours, full)


@dataclass(frozen=True, slots=True)
class _Fill:
    """What charging at once came to; `taken` is by car, night, setting, replay."""

    missed: Floats
    empty: Floats
    taken: list[Floats]
    level_kwh: Floats


def _filled(
    cars: Sequence[CarPower],
    pieces: Sequence[_Piece],
    *,
    week: PriceWeek,
    lowest: dict[tuple[int, int], tuple[bool, float]] | None,
) -> _Fill:
    """Charge at once, the car that leaves first before the others."""
    import numpy as np

    state = _State(cars)
    level_kwh = np.zeros((len(week.prices), *state.shape))
    for piece in pieces:
        left: Floats | float = piece.hours
        for car, night in piece.plugged:
            state.plug_in(car, night)
            if lowest and week.rank(piece.level) > lowest[car, night]:
                continue
            got, hours = state.charge(car, left)
            level_kwh[piece.level] += got
            left = left - hours
    for car in range(len(cars)):
        state.leave(car)
    return _Fill(state.missed, state.empty, state.taken, level_kwh)


def _within(
    cars: Sequence[CarPower],
    pieces: Sequence[_Piece],
    taken: Sequence[Floats],
    allowed: set[int],
) -> Floats:
    """Return how much of what was taken fits into pieces of some levels.

    Serving the car that leaves first before the others fits most hours (Glover's rule
    for matching intervals with points).
    """
    import numpy as np

    power = [car.power_kw[:, None] for car in cars]
    waiting: dict[tuple[int, int], Floats] = {}
    within = np.zeros(taken[0].shape[1:])
    for piece in pieces:
        if piece.level not in allowed:
            continue
        left: Floats | float = piece.hours
        for car, night in piece.plugged:
            jobs = waiting.get((car, night))
            if jobs is None:
                jobs = taken[car][night]
            got = np.minimum(jobs, left * power[car])
            waiting[car, night] = jobs - got
            within += got
            left = left - got / power[car]
    return within
