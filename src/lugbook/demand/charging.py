"""The charging nights: what the cars used by the evening, and what a night gives back.

All energy is at the wall. A night is named by the day on which the car is plugged in;
a car at home by day is plugged in and leaves on one day. A car that does not drive on
the next day stays plugged in. Where something is drawn by lot, the lots are the same
for every setting, so settings differ by nothing but the setting.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import date, timedelta
from typing import TYPE_CHECKING

from lugbook.errors import OutOfRange

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from lugbook.demand.series import Floats, Integers

    Booleans = NDArray[np.bool_]

__all__ = [
    "CarUse",
    "Nights",
    "hours_to_fill",
    "is_winter",
    "nights_of",
    "owed_after",
    "plugged_windows",
]

DAY_S = 86400
_WEEK = 7
_YEAR_WEEKS = 52
_YEAR_NIGHTS = 365
_MIDWINTER = (1, 15)  # month and day: the coldest fortnight of most of North America
# Charging near full: at the rate of 11.5 kW on 60 kWh flat to 95 %, then falling in a
# straight line to a tenth; slower charging begins to fall later. From memory.
_TAPER_RATE_PER_HOUR = 11.5 / 60
_TAPER_SHARE, _TAPER_END = 0.05, 0.10


@dataclass(frozen=True, slots=True)
class CarUse:
    """One car's habits, with every energy at the wall.

    Args:
        name: What it is called. [-]
        kwh_per_day: Used on an ordinary driving day. [kWh]
        long_day_kwh: Used on a long day; None where none is stated. [kWh]
        long_days_per_year: How many of them a year has. [-]
        winter_factor: How many times that energy winter takes. [-]
        winter_weeks: Weeks a year in which it does, about 15 January. [-]
        capacity_kwh: Battery, as energy at the wall; infinite if unknown. [kWh]
        most_a: Current the car itself takes at most; infinite if unknown. [A]
        plugged_s: Local clock when it is plugged in, since midnight. [s]
        leaves_s: Local clock when it leaves; not later means the next day. [s]
        drives: Whether it drives on each weekday, Monday first. [-]

    Raises:
        OutOfRange: A number is senseless.
    """

    name: str
    kwh_per_day: float
    long_day_kwh: float | None
    long_days_per_year: float
    winter_factor: float
    winter_weeks: float
    capacity_kwh: float
    most_a: float
    plugged_s: int
    leaves_s: int
    drives: tuple[bool, ...]

    def __post_init__(self) -> None:
        """Refuse what no car can be."""
        amounts = (self.kwh_per_day, self.long_days_per_year, self.winter_weeks)
        if not all(0 <= each < math.inf for each in amounts):
            raise OutOfRange(f"{self.name}: an energy or a count is below 0")
        if self.long_day_kwh is not None and not 0 <= self.long_day_kwh < math.inf:
            raise OutOfRange(f"{self.name}: a long day of {self.long_day_kwh:g} kWh")
        if not 0 < self.winter_factor < math.inf:
            raise OutOfRange(
                f"{self.name}: winter factor {self.winter_factor:g}; give more than 0"
            )
        if not (self.capacity_kwh > 0 and self.most_a > 0):
            raise OutOfRange(f"{self.name}: battery and current must be over 0")
        if not (0 <= self.plugged_s < DAY_S and 0 <= self.leaves_s < DAY_S):
            raise OutOfRange(f"{self.name}: a time outside 00:00 to 23:59")
        if len(self.drives) != _WEEK:
            raise OutOfRange(f"{self.name}: {len(self.drives)} weekdays; give 7")

    @property
    def is_home_by_day(self) -> bool:
        """Return whether it is plugged in and leaves on one and the same day."""
        return self.leaves_s > self.plugged_s

    @property
    def plugged_hours(self) -> float:
        """Return how long it is plugged in before it drives again, in hours."""
        return ((self.leaves_s - self.plugged_s - 1) % DAY_S + 1) / 3600


@dataclass(frozen=True, slots=True)
class Nights:
    """One car over a run of days.

    Args:
        car: Its habits. [-]
        first_day: The day of night 0. [-]
        used_kwh: Used on the drive that ended before each night, 0 where it did not
            drive; one row for each replay, one column for each night. [kWh]
        leaves: Whether it drives after each night, before it is plugged in again. [-]
    """

    car: CarUse
    first_day: date
    used_kwh: Floats
    leaves: Booleans


def is_winter(day: date, *, winter_weeks: float) -> bool:
    """Whether a day lies in the weeks about 15 January.

    Args:
        day: The day. [-]
        winter_weeks: How many weeks. [-]

    Returns:
        Whether it does. [-]

    Valid for:
        The northern hemisphere.

    Checked by:
        tests/demand/test_charging.py, by counting

    Example:
        >>> is_winter(date(2026, 2, 25), winter_weeks=12)
        True
        >>> is_winter(date(2026, 2, 26), winter_weeks=12)
        False
    """
    if winter_weeks >= _YEAR_WEEKS:
        return True
    half = winter_weeks * _WEEK / 2
    away = (
        (day - date(day.year + shift, *_MIDWINTER)).days
        for shift in (-1, 0, 1)
        if 1 <= day.year + shift <= date.max.year
    )
    return any(-half <= days < half for days in away)


def nights_of(
    car: CarUse, *, first_day: date, nights: int, replays: int, seed: int
) -> Nights:
    """A car's nights, its long days drawn among the days on which it drives.

    A day is drawn at most once. The same seed draws the same days, and more long days
    a year only add to them.

    Args:
        car: Its habits. [-]
        first_day: The day of night 0. [-]
        nights: How many nights. [-]
        replays: How often long days are drawn; one where there are none. [-]
        seed: Start of the draw. [-]

    Returns:
        The nights. [-]

    Raises:
        OutOfRange: No nights or no replays are asked for.

    Checked by:
        tests/demand/test_charging.py
    """
    import numpy as np

    if nights < 1 or replays < 1:
        raise OutOfRange(f"{nights} nights, {replays} replays; give 1 or more")
    days = [first_day + timedelta(days=number) for number in range(nights + 1)]
    drives = np.array([car.drives[day.weekday()] for day in days])
    # A car at home by day comes home from the drive that it began the day before.
    before = car.drives[(first_day - timedelta(days=1)).weekday()]
    drove = (
        np.concatenate(([before], drives[: nights - 1]))
        if car.is_home_by_day
        else drives[:nights]
    )
    leaves = drives[:nights] if car.is_home_by_day else drives[1:]
    used = np.where(drove, car.kwh_per_day, 0.0)[None, :]
    if car.long_day_kwh is not None and car.long_days_per_year > 0 and drove.any():
        is_long = _drawn(car.long_days_per_year, drove, replays, seed)
        used = np.where(is_long, car.long_day_kwh, used)
    winter = [is_winter(day, winter_weeks=car.winter_weeks) for day in days[:nights]]
    return Nights(
        car, first_day, used * np.where(winter, car.winter_factor, 1.0), leaves
    )


def _drawn(per_year: float, drove: Booleans, replays: int, seed: int) -> Booleans:
    """Return which nights follow a long day, a row for each replay."""
    import numpy as np

    random = np.random.default_rng(seed)
    lots = np.where(drove, random.random((replays, len(drove))), 2.0)
    wanted = per_year * len(drove) / _YEAR_NIGHTS
    # A share of a day is one day more in that share of the replays.
    counts = np.floor(wanted + random.random(replays)).astype(np.int64)
    order = np.argsort(np.argsort(lots, axis=1), axis=1)
    drawn: Booleans = (order < counts[:, None]) & drove
    return drawn


def plugged_windows(nights: Nights) -> tuple[Integers, Integers]:
    """When each night begins and ends, by the local clock.

    A night after which the car does not drive lasts until the next one begins.

    Args:
        nights: The nights. [-]

    Returns:
        Starts and ends since midnight before the first day, as if no clock was ever
        changed. [s]

    Checked by:
        tests/demand/test_charging.py
    """
    import numpy as np

    car = nights.car
    midnights = np.arange(len(nights.leaves), dtype=np.int64) * DAY_S
    starts = midnights + car.plugged_s
    leaving = midnights + car.leaves_s + (0 if car.is_home_by_day else DAY_S)
    return starts, np.where(nights.leaves, leaving, starts + DAY_S)


def owed_after(
    *,
    owed_kwh: Floats,
    power_kw: Floats | float,
    hours: Floats | float,
    capacity_kwh: Floats | float = math.inf,
) -> Floats:
    """What the battery still lacks after charging for a time.

    Above 95 % a battery takes at most R (0.1 + 0.9 lack ÷ (5 % of C)), where R is the
    larger of the power and C × 0.192 a hour (11.5 kW on 60 kWh). So a charger that is
    fast for the battery slows down from 95 % on, a slow one later, and a larger power
    never leaves more lacking.

    Args:
        owed_kwh: What it lacks at first, as energy at the wall. [kWh]
        power_kw: Power at the wall before it slows down. [kW]
        hours: How long it charges. [h]
        capacity_kwh: Battery as energy at the wall; infinite: it never slows. [kWh]

    Returns:
        What it lacks then. [kWh]

    Source:
        acn-sim, two-stage battery; the figures are from memory

    Checked by:
        tests/demand/test_charging.py, by small steps

    Example:
        >>> import numpy as np
        >>> owed_after(owed_kwh=np.array([20.0]), power_kw=7.5, hours=2.0).tolist()
        [5.0]
    """
    import numpy as np

    flat: Floats = owed_kwh - power_kw * hours
    if _is_endless(capacity_kwh):
        return np.maximum(flat, 0.0)
    begins_kwh, beyond_kwh, per_hour = _taper(power_kw, capacity_kwh)
    left_hours = np.maximum(
        0.0, hours - np.maximum(0.0, owed_kwh - begins_kwh) / power_kw
    )
    faded = np.exp(-left_hours * per_hour)
    slowed = (np.minimum(owed_kwh, begins_kwh) + beyond_kwh) * faded - beyond_kwh
    return np.where(flat >= begins_kwh, flat, np.maximum(slowed, 0.0))


def hours_to_fill(
    *,
    owed_kwh: Floats | float,
    power_kw: Floats | float,
    capacity_kwh: Floats | float = math.inf,
) -> Floats | float:
    """How long it takes until the battery lacks nothing.

    Args:
        owed_kwh: What it lacks at first, as energy at the wall. [kWh]
        power_kw: Power at the wall before it slows down. [kW]
        capacity_kwh: Battery as energy at the wall; infinite: it never slows. [kWh]

    Returns:
        Hours; plain numbers give a plain number, without numpy. [h]

    Source:
        acn-sim, two-stage battery; the figures are from memory

    Checked by:
        tests/demand/test_charging.py

    Example:
        >>> hours_to_fill(owed_kwh=48.0, power_kw=9.6)
        5.0
    """
    if _is_endless(capacity_kwh):
        return owed_kwh / power_kw
    begins_kwh, beyond_kwh, per_hour = _taper(power_kw, capacity_kwh)
    flat = _larger(owed_kwh - begins_kwh, 0.0) / power_kw
    slow = -_larger(-owed_kwh, -begins_kwh) / beyond_kwh
    return flat + _log1p(slow) / per_hour


def _taper(
    power_kw: Floats | float, capacity_kwh: Floats | float
) -> tuple[Floats | float, Floats | float, Floats | float]:
    """Return the lack at which charging slows, and how it fades from there.

    In the taper the lack falls as if towards a point beyond full, which it passes.
    """
    last_kwh = capacity_kwh * _TAPER_SHARE
    accepted_kw = _larger(power_kw, _TAPER_RATE_PER_HOUR * capacity_kwh)
    slope = 1 - _TAPER_END
    return (
        _larger(last_kwh * (power_kw / accepted_kw - _TAPER_END) / slope, 0.0),
        last_kwh * _TAPER_END / slope,
        slope * accepted_kw / last_kwh,
    )


def _is_endless(capacity_kwh: Floats | float) -> bool:
    if isinstance(capacity_kwh, float):
        return math.isinf(capacity_kwh)
    import numpy as np

    return bool(np.isinf(capacity_kwh).any())


def _larger(one: Floats | float, other: Floats | float) -> Floats | float:
    if isinstance(one, float) and isinstance(other, float):
        return max(one, other)
    import numpy as np

    larger: Floats = np.maximum(one, other)
    return larger


def _log1p(number: Floats | float) -> Floats | float:
    if isinstance(number, float):
        return math.log1p(number)
    import numpy as np

    logarithm: Floats = np.log1p(number)
    return logarithm
