"""What stretches of charging and the house carry together, counted against limits.

A stretch holds the difference of two running totals; only the steps in which it
begins and ends are looked at by themselves.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from lugbook.demand.house_current import HouseCurrent
from lugbook.demand.night_stretches import HOUR_S, NOTHING, Stretch

if TYPE_CHECKING:
    from lugbook.demand.series import Floats, Integers

__all__ = ["Course", "Tally", "counted", "run_lengths"]

_WEEK = 7


@dataclass(frozen=True, slots=True)
class Course:
    """House and charging together over the whole record, under one rule.

    Pairs are the least and the most that the record allows; a row for each limit.

    Args:
        over: Steps over each limit in each replay: limits, pairs, replays. [-]
        nights_over: Nights with a step over it while charging, likewise. [-]
        weekday_nights_over: Mean of these by the weekday of the evening, Monday
            first: limits, pairs, weekdays. [-]
        excess_kwh: Energy over the last limit: pairs, replays. [kWh]
        longest_s: Longest run over each limit in any replay: limits, pairs. [s]
        highest_a: Highest current in any replay, of the pair. [A]
        missed: Departures not ready in each replay. [-]
        energy_kwh: Energy given in each replay. [kWh]
        on_fraction: Share of each step with charging, or with waiting for room under a
            limit, mean of the replays. [-]
        whole_fraction: In which share of the replays all of a step is charging. [-]
        part_fraction: In which share of them a part of it is. [-]
    """

    over: Floats
    nights_over: Floats
    weekday_nights_over: Floats
    excess_kwh: Floats
    longest_s: Floats
    highest_a: tuple[float, float]
    missed: Floats
    energy_kwh: Floats
    on_fraction: Floats
    whole_fraction: Floats
    part_fraction: Floats


class Tally:
    """Running totals of what house and one car carry together, against limits."""

    def __init__(
        self,
        house: HouseCurrent,
        carried_a: Floats,
        voltage_v: float,
        limits_a: Sequence[float],
    ) -> None:
        import numpy as np

        self.house, self.carried_a = house, carried_a
        self.limits_a = tuple(limits_a)
        self.kwh_per_a = voltage_v / 1000 * house.step_s / HOUR_S
        # A row each for least and most, so that sums run along the memory.
        self.pair_a = np.stack((house.least_a, house.most_a))
        rows = self._rows(self.pair_a, carried_a)
        self._total = np.zeros((len(rows), rows.shape[1] + 1))
        np.cumsum(rows, axis=1, out=self._total[:, 1:])

    def _rows(self, pair_a: Floats, extra_a: Floats) -> Floats:
        """Return of each step: is it over with the car, is it alone; what is added."""
        import numpy as np

        with_car = pair_a + extra_a
        rows: list[Any] = [with_car > limit for limit in self.limits_a]
        rows += [pair_a > limit for limit in self.limits_a]
        # Where the record is silent the house is taken as far under every limit.
        over = np.fmax(with_car - self.limits_a[-1], 0.0)
        rows.append((over - np.fmax(pair_a - self.limits_a[-1], 0.0)) * self.kwh_per_a)
        return np.concatenate(rows)

    def alone(self) -> Floats:
        """Return what the house has over the limits without any charging."""
        import numpy as np

        counts = [(self.pair_a > limit).sum(axis=1) for limit in self.limits_a]
        over = np.fmax(self.pair_a - self.limits_a[-1], 0.0).sum(axis=1)
        return np.concatenate((*counts, *counts, over * self.kwh_per_a)).astype(float)

    def held(self, first: Floats, last: Floats) -> Floats:
        """Return what stretches hold, a row each."""
        import numpy as np

        most = len(self.carried_a) - 1
        head, tail = np.floor(first), np.floor(last)
        whole = np.ceil(first)
        single = head == tail
        head_share = np.where(single, last - first, whole - first)
        tail_share = np.where(single, 0.0, last - tail)
        begins = whole.astype(np.int64)
        ends = np.maximum(tail, whole).astype(np.int64)
        found = self._total[:, ends] - self._total[:, begins]
        for place, share in ((head, head_share), (tail, tail_share)):
            parts = np.flatnonzero(share > NOTHING)
            if len(parts):
                at = np.clip(place[parts], 0, most).astype(np.int64)
                found[:, parts] += self._rows(
                    self.pair_a[:, at], self.carried_a[at] * share[parts]
                )
        found[:, last - first <= NOTHING] = 0.0
        result: Floats = found.T
        return result


def counted(
    house: HouseCurrent,
    tallies: Sequence[Tally],
    stretches: Sequence[Stretch],
    *,
    weekdays: Integers,
    setting_a: float,
    missed: Floats,
    energy_kwh: Floats,
) -> Course:
    """Count what all stretches hold: the first replay, and where others differ.

    Args:
        house: The house's current. [-]
        tallies: Running totals of house and each car. [-]
        stretches: When cars charge, under one rule. [-]
        weekdays: Weekday of each evening, Monday 0. [-]
        setting_a: What all cars draw together at most. [A]
        missed: Departures short of full in each replay. [-]
        energy_kwh: Energy given in each replay. [kWh]

    Returns:
        The course. [-]
    """
    import numpy as np

    limits = len(tallies[0].limits_a)
    flags = 2 * limits
    replays = len(missed)
    differs = np.zeros(stretches[0].first.shape, dtype=bool)
    for each in stretches:
        differs |= (each.first != each.first[:, :1]) | (each.last != each.last[:, :1])
    night, replay = np.nonzero(differs)
    usual: Floats = np.sum(
        [tallies[e.car].held(e.first[:, 0], e.last[:, 0]) for e in stretches], axis=0
    )
    other: Floats = np.sum(
        [
            tallies[e.car].held(e.first[night, replay], e.last[night, replay])
            for e in stretches
        ],
        axis=0,
    )
    # More than one car can be over in one night: it is still one night.
    usual_any = (usual[:, :flags] > 0).astype(float)
    other_any = (other[:, :flags] > 0).astype(float)

    def summed(first: Floats, rest: Floats) -> Floats:
        found = np.tile(first.sum(axis=0)[:, None], (1, replays))
        changed = rest - first[night]
        for column in range(found.shape[0]):
            found[column] += np.bincount(
                replay, weights=changed[:, column], minlength=replays
            )
        return found

    totals = summed(usual, other)
    alone = tallies[0].alone()
    over = totals[:flags] - totals[flags : 2 * flags] + alone[:flags, None]
    excess = totals[2 * flags :] + alone[2 * flags :, None]
    by_weekday = _by_weekday(weekdays, night, usual_any, other_any, replays)
    (on, whole, part), widest = _shares(house, stretches, differs)
    together = np.minimum(
        setting_a,
        sum(widest[car] * tallies[car].carried_a for car in range(len(tallies))),
    )
    pair = tallies[0].pair_a + np.asarray(together)
    longest = [
        [max(run_lengths(each > limit), default=0) * house.step_s for each in pair]
        for limit in tallies[0].limits_a
    ]
    highest = np.fmax.reduce(pair, axis=1)
    return Course(
        over=over.reshape(limits, 2, replays),
        nights_over=summed(usual_any, other_any).reshape(limits, 2, replays),
        weekday_nights_over=by_weekday.reshape(limits, 2, _WEEK),
        excess_kwh=excess,
        longest_s=np.array(longest, dtype=float),
        highest_a=(float(highest[0]), float(highest[1])),
        missed=missed,
        energy_kwh=energy_kwh,
        on_fraction=on,
        whole_fraction=whole,
        part_fraction=part,
    )


def _by_weekday(
    weekdays: Integers,
    night: Integers,
    usual_any: Floats,
    other_any: Floats,
    replays: int,
) -> Floats:
    """Return the mean count of nights over by the weekday of their evening."""
    import numpy as np

    found = []
    changed = other_any - usual_any[night]
    for usual, more in zip(usual_any.T, changed.T, strict=True):
        found.append(
            np.bincount(weekdays, usual, _WEEK)
            + np.bincount(weekdays[night], more, _WEEK) / replays
        )
    return np.array(found)


def _shares(
    house: HouseCurrent, stretches: Sequence[Stretch], differs: Floats
) -> tuple[Floats, dict[int, Floats]]:
    """Return how much of each step is charging, and each car's widest.

    The first is a row each for the mean share, for how often all of a step is and
    how often a part. The widest stretch of a night is as long as the longest of all
    replays: what it holds is the worst that any of them can show.
    """
    import numpy as np

    count = len(house.most_a)
    replays = differs.shape[1]
    mean = np.zeros((3, count))
    widest: dict[int, Floats] = {}
    usual = (replays - differs.sum(axis=1)) / replays
    for each in stretches:
        for first, last, weights in (
            (each.first[:, 0], each.last[:, 0], usual),
            (each.first[differs], each.last[differs], np.array(1 / replays)),
        ):
            weighed = np.broadcast_to(weights, first.shape)
            mean[0] += _share(first, last, weighed, count)
            lasting = last - first > NOTHING
            whole = np.ceil(first - NOTHING)
            ends = np.maximum(np.floor(last + NOTHING), whole)
            mean[1] += _share(whole[lasting], ends[lasting], weighed[lasting], count)
            mean[2] += _parts(first[lasting], last[lasting], weighed[lasting], count)
        lasting = each.last - each.first > NOTHING
        first = np.where(lasting, each.first, np.inf).min(axis=1)
        last = np.where(lasting, each.last, -np.inf).max(axis=1)
        any_at_all = lasting.any(axis=1)
        ones = np.ones(int(any_at_all.sum()))
        share = _share(first[any_at_all], last[any_at_all], ones, count)
        before = widest.get(each.car, np.zeros(count))
        widest[each.car] = np.clip(before + share, 0.0, 1.0)
    return np.clip(mean, 0.0, 1.0), widest


def _parts(first: Floats, last: Floats, weights: Floats, count: int) -> Floats:
    """Return how often stretches begin or end inside each step."""
    import numpy as np

    begins, ends = np.floor(first + NOTHING), np.floor(last + NOTHING)
    inside = first - begins > NOTHING
    after = (last - ends > NOTHING) & ~(inside & (begins == ends))
    places = np.concatenate((begins[inside], ends[after])).astype(np.int64)
    both = np.concatenate((weights[inside], weights[after]))
    found: Floats = np.bincount(places, both, count)[:count].astype(float)
    return found


def _share(first: Floats, last: Floats, weights: Floats, count: int) -> Floats:
    """Return how much of each step stretches fill, each with its weight.

    A ramp that begins within a step has part of it there and all of it after that;
    a stretch is one ramp less another.
    """
    import numpy as np

    slope = np.zeros(count + 2)
    for places, sign in ((first, 1.0), (last, -1.0)):
        at = np.floor(places).astype(np.int64)
        part = places - at
        slope += sign * np.bincount(
            at, weights=weights * (1 - part), minlength=count + 2
        )
        slope += sign * np.bincount(at + 1, weights=weights * part, minlength=count + 2)
    found: Floats = np.cumsum(slope)[:count]
    return found


def run_lengths(over: Sequence[bool] | Floats) -> list[int]:
    """How long each run of yes is.

    Args:
        over: Yes or no of each step. [-]

    Returns:
        Steps of each run, in order. [-]

    Checked by:
        tests/demand/test_nights.py

    Example:
        >>> run_lengths([True, False, True, True])
        [1, 2]
    """
    import numpy as np

    padded = np.concatenate(([0], np.asarray(over, dtype=np.int8), [0]))
    turns = np.diff(padded)
    lengths: list[int] = (
        np.flatnonzero(turns == -1) - np.flatnonzero(turns == 1)
    ).tolist()
    return lengths
