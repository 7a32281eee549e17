"""Factors between what was recorded and what a rule or a year asks for."""

from __future__ import annotations

import tomllib
from bisect import bisect_left
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from math import isfinite, log
from typing import Any

from lugbook.errors import OutOfRange

__all__ = [
    "AveragingFactors",
    "LegRange",
    "averaging_factors",
    "leg_range",
    "record_factor",
]

CHANCES = ("p50", "p80", "p90", "p95", "p99")


@dataclass(frozen=True, slots=True)
class AveragingFactors:
    """15-minute maximum over the maximum of a coarser average.

    Args:
        central: In the middle of houses and months. [-]
        covering: Covering 95 of 100 months of a larger house. [-]
        small_house: The same for days of a small gas-heated house. [-]
    """

    central: float
    covering: float
    small_house: float


@dataclass(frozen=True, slots=True)
class LegRange:
    """Current of the more loaded leg, from the power of both.

    Args:
        least_a: If both legs carry the same. [A]
        most_a: At the stated or the largest usual imbalance. [A]
    """

    least_a: float
    most_a: float


@cache
def _book() -> dict[str, Any]:
    text = files("lugbook.demand").joinpath("factors.toml").read_text("utf-8")
    return tomllib.loads(text)


def averaging_factors(*, interval_s: float) -> AveragingFactors:
    """Factors from the maximum of an average to that of 15 minutes.

    Args:
        interval_s: Time over which the record averages. [s]

    Returns:
        The factors; 1 at 15 minutes and finer. [-]

    Raises:
        OutOfRange: The interval is longer than an hour, which hides every peak.

    Source:
        uci-household-power, computed from it; gjw-house-power, computed from it

    Checked by:
        test_the_ratios_of_a_real_house_are_reproduced

    Example:
        >>> averaging_factors(interval_s=3600).central
        1.3
    """
    rows = _book()["averaging"]["rows"]
    if not 0 < interval_s <= rows[-1][0]:
        raise OutOfRange(f"interval_s is {interval_s:g} s; accepted: above 0 to 3600 s")
    row = next(row for row in rows if interval_s <= row[0])
    return AveragingFactors(*row[1:])


def record_factor(*, days: float, chance: str) -> float:
    """Factor from the maximum of a short record to that of its year.

    Between the rows of the table it runs straight over the logarithm of the days.

    Args:
        days: Days that were recorded. [days]
        chance: Chance with which the year's maximum is reached, "p50" to "p99". [-]

    Returns:
        The factor; 1 from a year on. [-]

    Raises:
        OutOfRange: Less than a day was recorded, or there is no such chance.

    Source:
        uci-household-power, hue-energy-use and citylearn-2022, computed from them

    Checked by:
        test_a_short_record_is_multiplied_by_the_table

    Example:
        >>> record_factor(days=30, chance="p95")
        1.86
    """
    table = _book()["record"]
    if chance not in CHANCES:
        raise OutOfRange(f"chance is {chance!r}; accepted: {', '.join(CHANCES)}")
    lengths = [row[0] for row in table["rows"]]
    if not (isfinite(days) and days >= lengths[0]):
        raise OutOfRange(f"days is {days:g}; accepted: {lengths[0]} and more")
    column = [row[1 + CHANCES.index(chance)] for row in table["rows"]]
    if days >= lengths[-1]:
        return float(column[-1])
    place = max(bisect_left(lengths, days), 1)
    low, high = lengths[place - 1], lengths[place]
    share = log(days / low) / log(high / low)
    return float(column[place - 1] + share * (column[place] - column[place - 1]))


def leg_range(
    *,
    power_w: float,
    voltage_v: float,
    power_factor_fraction: float | None = None,
    imbalance_fraction: float | None = None,
) -> LegRange:
    """Current of the more loaded leg, as a range where the imbalance is unknown.

    The meter's kilowatts are the sum of both legs, the rule speaks of the leg that
    carries more: power / (volts × power factor) × (1 + imbalance).

    Args:
        power_w: Power of both legs together. [W]
        voltage_v: Voltage from leg to leg. [V]
        power_factor_fraction: Power factor; the usual one if left out. [-]
        imbalance_fraction: Difference of the legs' currents over their sum; a range
            from none to the largest usual if left out. [-]

    Returns:
        Least and most. [A]

    Raises:
        OutOfRange: A quantity is not finite or has no meaning.

    Source:
        As `factors.toml`: common practice for the imbalance

    Checked by:
        test_the_more_loaded_leg_by_hand
    """
    held = _book()["leg"]
    factor = power_factor_fraction
    if factor is None:
        factor = float(held["power_factor_fraction"])
    unbalanced = imbalance_fraction
    if unbalanced is None:
        unbalanced = float(held["largest_imbalance_fraction"])
    numbers = (power_w, voltage_v, factor, unbalanced)
    if (
        not all(map(isfinite, numbers))
        or power_w < 0
        or voltage_v <= 0
        or not 0 < factor <= 1
        or not 0 <= unbalanced <= 1
    ):
        raise OutOfRange(
            f"power_w {power_w:g}, voltage_v {voltage_v:g}, power factor {factor:g}, "
            f"imbalance {unbalanced:g}; accepted: power from 0 W, volts above 0 V, "
            "power factor above 0 to 1, imbalance 0 to 1"
        )
    balanced_a = power_w / (voltage_v * factor)
    least = 0.0 if imbalance_fraction is None else imbalance_fraction
    return LegRange(balanced_a * (1 + least), balanced_a * (1 + unbalanced))
