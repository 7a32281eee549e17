"""The tariff as a week of price levels."""

from __future__ import annotations

from lugbook.demand.charging_year import MINUTES_PER_WEEK, PriceWeek
from lugbook.premises.driving import Tariff, TariffWindow

__all__ = ["has_windows", "price_week"]

_DAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
_DAY_MINUTES = 24 * 60
_OUTSIDE = 0


def has_windows(tariff: Tariff | None) -> bool:
    """Whether hours of a night can differ in price.

    Args:
        tariff: The tariff; None if none is stated. [-]

    Returns:
        Whether two levels of the week have different prices. [-]
    """
    week = price_week(tariff)
    return len({week.prices[level] for level in set(week.at_minute)}) > 1


def price_week(tariff: Tariff | None) -> PriceWeek:
    """The prices of a week.

    A window without a time holds all day, and gives way to one with a time. Where no
    window has a price, the windows themselves count as the cheap hours.

    Args:
        tariff: The tariff; None if none is stated. [-]

    Returns:
        The week; without a tariff every price is unknown. [-]
    """
    if tariff is None:
        return PriceWeek((None,), (_OUTSIDE,) * MINUTES_PER_WEEK)
    base = tariff.price_per_kwh
    prices = [None if base is None else base.value]
    at_minute = [_OUTSIDE] * MINUTES_PER_WEEK
    whole_days_first = sorted(tariff.windows, key=lambda each: each.starts is not None)
    for level, window in enumerate(whole_days_first, 1):
        price = window.price_per_kwh
        prices.append(None if price is None else price.value)
        for minute in _minutes(window):
            at_minute[minute] = level
    return PriceWeek(tuple(prices), tuple(at_minute))


def _minutes(window: TariffWindow) -> list[int]:
    """Return the minutes of the week that a window holds."""
    starts, length = 0, _DAY_MINUTES
    if window.starts is not None and window.ends is not None:
        starts = int(window.starts.value)
        length = (int(window.ends.value) - starts) % _DAY_MINUTES
    return [
        (_DAYS.index(day) * _DAY_MINUTES + minute) % MINUTES_PER_WEEK
        for day in window.days or _DAYS
        for minute in range(starts, starts + length)
    ]
