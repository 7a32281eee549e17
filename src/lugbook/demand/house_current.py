"""What the more loaded leg of a house carried, step by step by the clock.

A meter gives power of both legs together and of its own intervals; a limit is on the
current of one leg. What is not known between the two is kept as a pair, the least
and the most it can have been.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from lugbook.demand.clock import local_of_utc
from lugbook.demand.factors import averaging_factors, leg_range
from lugbook.errors import OutOfRange

if TYPE_CHECKING:
    from lugbook.demand.cleaning import Record
    from lugbook.demand.series import Floats, Integers

__all__ = ["QUARTER_S", "HouseCurrent", "house_current"]

DAY_S = 86400
QUARTER_S = 900
PADDING_DAYS = 2  # so that the first and the last night lie inside with their ends


@dataclass(frozen=True, slots=True)
class HouseCurrent:
    """Current of the more loaded leg in steps of the clock.

    Args:
        first_s: Start of the first step, seconds since 1970 UTC. [s]
        step_s: Length of a step. [s]
        least_a: Least that the record allows; not a number where it is silent. [A]
        most_a: Most that it allows. [A]
        local_s: Start of each step by the local clock, as if that were UTC. [s]
        known_from_s: Start of the record. [s]
        known_until_s: End of the record. [s]
    """

    first_s: int
    step_s: int
    least_a: Floats
    most_a: Floats
    local_s: Integers
    known_from_s: int
    known_until_s: int

    def place_of_clock(self, local_s: Integers) -> Floats:
        """Return times of the local clock as places in the steps, parts included.

        The hour that is skipped in spring is read as the one after it.
        """
        import numpy as np

        starts = self.first_s + self.step_s * np.arange(len(self.local_s))
        ahead = self.local_s - starts
        utc_s = local_s - ahead[0]
        # The first guess is off by a change of the clock, the second by none.
        for _ in range(2):
            at = (utc_s - self.first_s) // self.step_s
            utc_s = local_s - ahead[np.clip(at, 0, len(ahead) - 1)]
        place: Floats = (utc_s - self.first_s) / self.step_s
        return place

    @property
    def known_days(self) -> float:
        """Return how many days of steps the record speaks of."""
        import numpy as np

        return int(np.isfinite(self.most_a).sum()) * self.step_s / DAY_S


def house_current(
    record: Record,
    *,
    voltage_v: float,
    step_s: int = QUARTER_S,
    power_factor_fraction: float | None = None,
    imbalance_fraction: float | None = None,
) -> HouseCurrent:
    """What the more loaded leg carried, step by step.

    Readings coarser than a quarter hour are given a shape: the last quarter of each
    is its mean times the central factor (least) or the covering factor (most), and
    the others share the rest, so that energy is kept. Readings that may not set a
    maximum (estimates, lumps after an outage) are left out, and so are gaps.

    Args:
        record: The house's cleaned record. [-]
        voltage_v: Voltage from leg to leg. [V]
        step_s: Length of a step; 900, or a divisor of it that is no finer than the
            record. [s]
        power_factor_fraction: Power factor of the house; the usual one if left
            out. [-]
        imbalance_fraction: Difference of the legs over their sum; where the record
            holds both legs it is not needed, else a range if left out. [-]

    Returns:
        The current, with padding of silence before and after. [-]

    Raises:
        OutOfRange: The step does not divide a quarter hour.
    """
    import numpy as np

    if step_s <= 0 or QUARTER_S % step_s:
        raise OutOfRange(f"step_s is {step_s} s; accepted: divisors of 900 s")
    counting = record.counts_for_maximum
    start_s, length = record.start_s[counting], record.duration_s[counting]
    first_s = int(record.start_s[0]) // DAY_S * DAY_S - PADDING_DAYS * DAY_S
    until_s = int(record.start_s[0]) + record.span_s
    count = ((until_s - first_s) // DAY_S + 1 + PADDING_DAYS) * DAY_S // step_s
    edges = first_s + step_s * np.arange(count + 1, dtype=np.int64)
    steps = _Steps(start_s, length, edges)
    per_w = leg_range(
        power_w=1.0,
        voltage_v=voltage_v,
        power_factor_fraction=power_factor_fraction,
        imbalance_fraction=imbalance_fraction,
    )
    if record.legs_w is not None:
        # Each leg stands at half the voltage between them.
        alone = leg_range(
            power_w=2.0,
            voltage_v=voltage_v,
            power_factor_fraction=power_factor_fraction,
            imbalance_fraction=0.0,
        ).least_a
        leg_a, leg_b = (steps.power_w(each[counting]) for each in record.legs_w)
        least = most = np.maximum(leg_a, leg_b) * alone
    else:
        power_w = steps.power_w(record.power_w[counting])
        least, most = power_w * per_w.least_a, power_w * per_w.most_a
    central, covering = steps.shapes()
    return HouseCurrent(
        first_s=first_s,
        step_s=step_s,
        least_a=least * central,
        most_a=most * covering,
        local_s=local_of_utc(edges[:-1], record.clock),
        known_from_s=int(record.start_s[0]),
        known_until_s=until_s,
    )


class _Steps:
    """Readings laid onto steps of even length."""

    def __init__(self, start_s: Integers, length: Integers, edges: Integers) -> None:
        import numpy as np

        self._start_s, self._length, self._edges = start_s, length, edges
        self._step_s = int(edges[1] - edges[0])
        self._knots = np.stack([start_s, start_s + length], axis=1).ravel()
        covered = self._up_to(length.astype(float))
        self._is_filled = np.diff(covered) >= self._step_s - 0.5

    def _up_to(self, amounts: Floats) -> Floats:
        """Return what has come together up to each edge of the steps."""
        import numpy as np

        if not len(amounts):
            return np.zeros(len(self._edges))
        running = np.concatenate((np.zeros(1), np.repeat(np.cumsum(amounts), 2)[:-1]))
        found: Floats = np.interp(self._edges, self._knots, running)
        return found

    def power_w(self, power_w: Floats) -> Floats:
        """Return the mean of each step; not a number where readings do not fill it."""
        import numpy as np

        mean = np.diff(self._up_to(power_w * self._length)) / self._step_s
        return np.where(self._is_filled, mean, np.nan)

    def shapes(self) -> tuple[Floats, Floats] | tuple[float, float]:
        """Return the central and the covering factor of each step within its reading.

        The factors are those of quarter hours: they hold for the maximum of a longer
        reading, and for every one here errs only on how often, not on how high.
        """
        import numpy as np

        coarse = self._length > QUARTER_S
        if not coarse.any():
            return 1.0, 1.0
        starts = self._edges[:-1]
        at = np.searchsorted(self._start_s, starts, side="right") - 1
        at = np.clip(at, 0, None)
        length, begins = self._length[at], self._start_s[at]
        is_last = starts + QUARTER_S >= begins + length
        found = []
        for name in ("central", "covering"):
            factor = np.ones(len(starts))
            for each in np.unique(length[length > QUARTER_S]).tolist():
                most = each / QUARTER_S
                held = averaging_factors(interval_s=min(each, 3600))
                high = min(float(getattr(held, name)), most)
                low = (most - high) / (most - 1)
                here = length == each
                factor[here] = np.where(is_last[here], high, low)
            found.append(factor)
        return found[0], found[1]
