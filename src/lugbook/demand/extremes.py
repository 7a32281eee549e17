"""Extreme values: the level a house's demand reaches once in a year or in ten.

Fitted to daily maxima, one a day so that a long evening counts once. A season that
was not recorded cannot be seen by any fit; the record's length decides what is shown.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import isfinite, log
from typing import TYPE_CHECKING

from lugbook.errors import OutOfRange

if TYPE_CHECKING:
    from lugbook.demand.series import Floats

__all__ = [
    "ExceedanceFit",
    "GumbelFit",
    "Levels",
    "fit_exceedances",
    "fit_gumbel",
    "levels",
]

THRESHOLD_PERCENTILE = 85.0  # data.md 3.4: about 55 exceedances a year
LEAST_DAYS = 180  # data.md 3.4: below, the season is the main error
LEAST_EXCEEDANCES = 20
EULER = 0.5772156649015329


@dataclass(frozen=True, slots=True)
class ExceedanceFit:
    """A generalised Pareto distribution of what exceeds a threshold.

    Args:
        threshold_w: The threshold. [W]
        shape: Shape; negative where the tail has an end. [-]
        scale_w: Scale. [W]
        rate_per_day: Exceedances a day. [1/day]
    """

    threshold_w: float
    shape: float
    scale_w: float
    rate_per_day: float

    def level_w(self, *, days: float) -> float:
        """Return the level exceeded on average once in so many days.

        Args:
            days: The days. [days]

        Returns:
            The level. [W]

        Raises:
            OutOfRange: The threshold itself is exceeded less often than that.
        """
        count = days * self.rate_per_day
        if not isfinite(count) or count < 1:
            raise OutOfRange(
                f"days is {days:g}; accepted: {1 / self.rate_per_day:g} and more"
            )
        if abs(self.shape) < 1e-9:
            return self.threshold_w + self.scale_w * log(count)
        grown = float(count**self.shape)
        return self.threshold_w + self.scale_w / self.shape * (grown - 1)


@dataclass(frozen=True, slots=True)
class GumbelFit:
    """A Gumbel distribution of daily maxima.

    Args:
        location_w: Location. [W]
        scale_w: Scale. [W]
    """

    location_w: float
    scale_w: float

    def level_w(self, *, days: float) -> float:
        """Return the level exceeded on average once in so many days.

        Args:
            days: The days. [days]

        Returns:
            The level. [W]

        Raises:
            OutOfRange: Not more than one day.
        """
        if not isfinite(days) or days <= 1:
            raise OutOfRange(f"days is {days:g}; accepted: above 1")
        return self.location_w - self.scale_w * log(-log(1 - 1 / days))


@dataclass(frozen=True, slots=True)
class Levels:
    """Levels a record supports, or why it supports none.

    Args:
        one_year_w: Level exceeded once a year, by exceedances; None for none. [W]
        ten_year_w: Level exceeded once in ten years, by exceedances. [W]
        one_year_gumbel_w: Level exceeded once a year, by all daily maxima. [W]
        shape: Shape of the exceedances. [-]
        days: Observed days. [days]
        why_not: Why no level is given; empty where one is. [-]
    """

    one_year_w: float | None
    ten_year_w: float | None
    one_year_gumbel_w: float | None
    shape: float | None
    days: int
    why_not: str


def fit_exceedances(*, daily_w: Floats, threshold_w: float) -> ExceedanceFit:
    """A generalised Pareto distribution of daily maxima above a threshold.

    By L-moments of the excesses: with l1 their mean and l2 their second L-moment,
    k = l1/l2 - 2, shape -k, scale l1 (1 + k).

    Args:
        daily_w: One maximum a day. [W]
        threshold_w: The threshold. [W]

    Returns:
        The distribution. [-]

    Raises:
        OutOfRange: Fewer than three different maxima exceed the threshold.

    Source:
        hosking-wallis-1987, equations from memory

    Checked by:
        test_exceedances_of_a_known_distribution_are_recovered

    Valid for:
        Shapes above -1/2 and below 1/2, where L-moments are at their best.
    """
    import numpy as np

    excess = np.sort(daily_w[daily_w > threshold_w] - threshold_w)
    count = len(excess)
    if count < 3 or excess[0] == excess[-1]:
        raise OutOfRange(
            f"{count} daily maxima above {threshold_w:g} W; accepted: 3 different ones"
        )
    first = float(excess.mean())
    weighted = float((np.arange(count) / (count - 1) * excess).mean())
    second = 2 * weighted - first
    k = first / second - 2
    return ExceedanceFit(threshold_w, -k, first * (1 + k), count / len(daily_w))


def fit_gumbel(*, daily_w: Floats) -> GumbelFit:
    """A Gumbel distribution of daily maxima, by L-moments.

    Scale l2 / ln 2, location the mean less 0.5772 times the scale.

    Args:
        daily_w: One maximum a day. [W]

    Returns:
        The distribution. [-]

    Raises:
        OutOfRange: Fewer than three different maxima.

    Source:
        hosking-wallis-1987, equations from memory

    Checked by:
        test_a_gumbel_of_known_parameters_is_recovered
    """
    import numpy as np

    ordered = np.sort(daily_w)
    count = len(ordered)
    if count < 3 or ordered[0] == ordered[-1]:
        raise OutOfRange(f"{count} daily maxima; accepted: 3 different ones and more")
    mean = float(ordered.mean())
    weighted = float((np.arange(count) / (count - 1) * ordered).mean())
    scale = (2 * weighted - mean) / log(2)
    return GumbelFit(mean - EULER * scale, scale)


def levels(*, daily_w: Floats) -> Levels:
    """The levels that a record of daily maxima supports.

    Args:
        daily_w: One maximum for each observed day. [W]

    Returns:
        Levels, or why there are none. [-]
    """
    import numpy as np

    days = len(daily_w)
    if days < LEAST_DAYS:
        why = (
            f"{days} observed days; below {LEAST_DAYS} no fit can see the other season"
        )
        return Levels(None, None, None, None, days, why)
    threshold = float(np.percentile(daily_w, THRESHOLD_PERCENTILE))
    if int((daily_w > threshold).sum()) < LEAST_EXCEEDANCES:
        why = f"fewer than {LEAST_EXCEEDANCES} days stand out: the steps are coarse"
        return Levels(None, None, None, None, days, why)
    try:
        tail = fit_exceedances(daily_w=daily_w, threshold_w=threshold)
        body = fit_gumbel(daily_w=daily_w)
    except OutOfRange as error:
        return Levels(None, None, None, None, days, str(error))
    return Levels(
        one_year_w=tail.level_w(days=365),
        ten_year_w=tail.level_w(days=3650),
        one_year_gumbel_w=body.level_w(days=365),
        shape=tail.shape,
        days=days,
        why_not="",
    )
