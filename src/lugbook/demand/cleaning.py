"""From the series of a file to one cleaned record, every step with its count.

What is certain is mended or left out; what only a person can tell is asked. Energy
is kept wherever it was metered; the maximum is taken from what was really measured.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import IntFlag
from math import inf
from typing import TYPE_CHECKING, Any

from lugbook.demand.arrays import commonest
from lugbook.demand.clock import Clock, ZoneClock, utc_of_local
from lugbook.demand.espi import LOCAL_TIME, codes
from lugbook.demand.opened import unusable
from lugbook.demand.series import (
    Flow,
    LeftOut,
    MeterFile,
    MeterSeries,
    Quantity,
    Statement,
    Summary,
)
from lugbook.demand.table_amounts import IMPOSSIBLE_W, kilowatt_text

if TYPE_CHECKING:
    from lugbook.demand.series import Floats, Integers

__all__ = ["Doubt", "Gap", "Record", "cleaned"]

HOUR_S = 3600
MOST_LEAPS_FRACTION = 0.01  # of a register's steps, to be errors and not its unit
COARSEST_S = 3600  # of demand: a coarser average hides its peaks (data.md 1.5, 12)
CANDIDATE_PERCENTILE = 99.9  # of the positive readings, data.md 1.8 step 4
LUMP_PERCENTILE, LUMP_FACTOR = 99.0, 2.0
FEWEST, FEW = 12, 100  # positive readings; below 100 no percentile is of use
LEAST_EMPTY = 2  # zero or missing intervals beside a catch-up reading
MOST_NAMED = 12  # points in one sentence
MUCH_LONGER = 1.1  # a series left out for a finer one is named if it covers more
COARSE_FRACTION = 0.05  # of the maximum: a step from which on it is said
# What a house's highest average is hardly ever above or below: common practice, no
# source. 120 kW is 1.25 times 400 A at 240 V; a refrigerator alone draws 0.1 to 0.2.
HARDLY_ABOVE_W, HARDLY_BELOW_W = 120_000.0, 200.0
DAY_S = 86400
IMPOSSIBLE_FACTOR = 1.25  # times the service's rating, for an hour; data.md 1.8


class Doubt(IntFlag):
    """Why a reading is kept for energy but left out of the maximum, or marked."""

    NONE = 0
    ESTIMATED = 1
    CATCH_UP = 2
    IMPOSSIBLE = 4
    LONG = 8
    DOUBTFUL = 16  # marked only
    ASKED = 32  # marked only


_NOT_MAXIMUM = Doubt.ESTIMATED | Doubt.CATCH_UP | Doubt.IMPOSSIBLE | Doubt.LONG


@dataclass(frozen=True, slots=True)
class Gap:
    """A time without readings.

    Args:
        start_s: Its start. [s]
        duration_s: Its length. [s]
    """

    start_s: int
    duration_s: int


@dataclass(frozen=True, slots=True)
class Record:
    """A house's cleaned record: readings in order that do not overlap.

    Args:
        start_s: Start of each reading, seconds since 1970 UTC. [s]
        duration_s: Duration of each reading. [s]
        energy_wh: Energy drawn in each reading. [Wh]
        doubt: What is doubtful in each reading, as `Doubt`. [-]
        interval_s: The usual duration. [s]
        clock: Local clock of the house. [-]
        gaps: Times without readings, in order. [-]
        duplicates: Readings left out since the interval was there already. [-]
        corrected: Those of them that had another amount. [-]
        flows_back: Whether energy also flows to the grid. [-]
        legs_w: Power of leg A and of leg B, where each was recorded. [W]
        statements: What was inferred or is to be asked. [-]
        left_out: What was not used, and why. [-]
        summaries: The utility's own totals of this point. [-]
    """

    start_s: Integers
    duration_s: Integers
    energy_wh: Floats
    doubt: Integers
    interval_s: int
    clock: Clock
    gaps: tuple[Gap, ...] = ()
    duplicates: int = 0
    corrected: int = 0
    flows_back: bool = False
    legs_w: tuple[Floats, Floats] | None = None
    statements: tuple[Statement, ...] = ()
    left_out: tuple[LeftOut, ...] = ()
    summaries: tuple[Summary, ...] = ()

    @property
    def power_w(self) -> Floats:
        """Return the average power of each reading."""
        return self.energy_wh * HOUR_S / self.duration_s

    @property
    def counts_for_maximum(self) -> Any:
        """Return which readings may set the maximum."""
        return (self.doubt & _NOT_MAXIMUM) == 0

    @property
    def span_s(self) -> int:
        """Return the time from the first start to the last end."""
        return int(self.start_s[-1] + self.duration_s[-1] - self.start_s[0])

    @property
    def covered_s(self) -> int:
        """Return the time with readings."""
        return int(self.duration_s.sum())


@dataclass(slots=True)
class _Bench:
    """A record while it is cleaned."""

    name: str
    statements: list[Statement]
    left_out: list[LeftOut]
    duplicates: int = 0
    corrected: int = 0
    flows_back: bool = False

    def say(self, about: str, said: str, mend: str = "", *, asks: bool = False) -> None:
        """Add a statement."""
        self.statements.append(Statement(about, said, mend, asks))

    def leave_out(self, what: str, why: str) -> None:
        """Add something left out."""
        self.left_out.append(LeftOut(what, why))


def cleaned(
    file: MeterFile,
    *,
    point: str | None = None,
    zone: ZoneClock | None = None,
    service_va: float | None = None,
) -> Record:
    """The cleaned record of a meter file.

    Args:
        file: What was read. [-]
        point: Usage point to take, where there are several. [-]
        zone: Time zone of the house, going before the file's own. [-]
        service_va: Rating of the service, above 1.25 times of which no hour can be
            true. [VA]

    Returns:
        The record. [-]

    Raises:
        InputError: The file holds no series that shows demand.
    """
    said = [each for each in file.statements if not (zone and each.about == LOCAL_TIME)]
    bench = _Bench(file.name, said, list(file.left_out))
    series = _pointed(bench, file, point)
    chosen = _chosen(bench, series)
    usual_clock: Clock = zone or file.clock
    chosen = _unlocal(bench, chosen, zone)
    chosen = _unregistered(bench, chosen)
    chosen = _forward(bench, chosen, series)
    chosen = _timed(bench, chosen)
    interval_s = _interval(bench, chosen)
    chosen = _without_copies(bench, chosen)
    chosen = _without_overlaps(bench, chosen)
    energy_wh = _energy(chosen)
    doubt = _doubts(bench, chosen, energy_wh, interval_s, service_va)
    return Record(
        start_s=chosen.start_s,
        duration_s=chosen.duration_s,
        energy_wh=energy_wh,
        doubt=doubt,
        interval_s=interval_s,
        clock=usual_clock,
        gaps=_gaps(chosen),
        duplicates=bench.duplicates,
        corrected=bench.corrected,
        flows_back=bench.flows_back,
        legs_w=chosen.legs_w,
        statements=tuple(bench.statements),
        left_out=tuple(bench.left_out),
        summaries=tuple(each for each in file.summaries if each.point == chosen.point),
    )


# --- which series ---------------------------------------------------------------


def _pointed(
    bench: _Bench, file: MeterFile, point: str | None
) -> tuple[MeterSeries, ...]:
    """Return the series of one point, the one with most energy if none is named."""
    for each in file.series:
        if not each.is_electricity or each.quantity is Quantity.OTHER:
            bench.leave_out(f"point {each.point}, {each.name}", each.why_not)
    fitting = [
        each
        for each in file.series
        if each.is_electricity and each.quantity is not Quantity.OTHER
    ]
    points = sorted({each.point for each in fitting}, key=lambda at: (len(at), at))
    if not fitting:
        held = ", ".join(sorted({each.why_not for each in file.series}))
        raise unusable(
            bench.name,
            f"no series of electricity in Wh or W ({held or 'no reading'})",
            "Ask the utility for interval data of electricity in Wh.",
        )
    if point is None and len(points) > 1:
        point = max(points, key=lambda name: _drawn(fitting, name))
        each_drew = ", ".join(
            f"{name}: {_drawn(fitting, name) / 1000:,.4g} kWh"
            for name in points[:MOST_NAMED]
        ) + ", and others" * (len(points) > MOST_NAMED)
        bench.say(
            "point",
            f"{len(points)} points of electricity ({each_drew}): point {point} "
            "was taken, which draws most",
            f"--point {next(name for name in points if name != point)}",
            asks=True,
        )
    point = point or points[0]
    if point not in points:
        raise unusable(
            bench.name,
            f"no point {point!r} of electricity; there are {', '.join(points)}",
        )
    for each in fitting:
        if each.point != point:
            bench.leave_out(f"point {each.point}, {each.name}", "another point")
    return tuple(each for each in fitting if each.point == point)


def _drawn(series: list[MeterSeries], point: str) -> float:
    """Return the most energy any series of a point drew."""
    return max((_drew(each) for each in series if each.point == point), default=0.0)


def _drew(series: MeterSeries) -> float:
    if series.flow is Flow.REVERSE or not len(series.amount):
        return 0.0
    if _is_register(series):
        return float(series.amount.max() - series.amount.min())
    return float(_energy(series).clip(min=0).sum())


_FLOWS = (Flow.FORWARD, Flow.UNSAID, Flow.NET, Flow.TOTAL)
_QUANTITIES = (Quantity.ENERGY, Quantity.REGISTER, Quantity.REAL_POWER)


def _chosen(bench: _Bench, series: tuple[MeterSeries, ...]) -> MeterSeries:
    """Return the one series of a point that shows what the house draws."""
    drawing = [each for each in series if each.flow is not Flow.REVERSE]
    if not drawing:
        raise unusable(
            bench.name,
            "only what flows to the grid, not what is drawn",
            "Ask the utility for what it delivers.",
        )
    best = min(drawing, key=lambda each: (_rank(each), -len(each.start_s)))
    best_rank = _rank(best)
    alike = [each for each in drawing if _rank(each) == best_rank]
    chosen, used = _joined(bench, best, alike)
    other_leg = next((each for each in alike if each.leg != best.leg), None)
    if other_leg:
        other, more = _joined(bench, other_leg, alike)
        chosen = _both_legs(bench, chosen, other)
        used += more
    if best.leg and chosen.legs_w is None:
        bench.say(
            "leg",
            f"only leg {best.leg} of the service is in the file: the house draws more",
            asks=True,
        )
    for each in series:
        if not any(each is one for one in used):
            _leave_out_series(bench, each, best)
    return chosen


def _joined(
    bench: _Bench, best: MeterSeries, alike: list[MeterSeries]
) -> tuple[MeterSeries, list[MeterSeries]]:
    """Return a series with those that carry it on, as after a change of meters."""
    joined, used = best, [best]
    for each in sorted(alike, key=lambda series: int(series.start_s.min())):
        if each is not best and each.leg == best.leg and _follows(joined, each):
            joined = _together(joined, each)
            used.append(each)
    if len(used) > 1:
        bench.say(
            "series",
            f"{len(used)} series of one kind that follow each other in time were put "
            "together",
        )
    return joined, used


def _rank(series: MeterSeries) -> tuple[bool, bool, int, int, int]:
    """Return how well a series shows what a house draws: the least is the best."""
    usual_s = _usual(series.duration_s)
    quantity = series.quantity
    if quantity in (Quantity.REGISTER, Quantity.REGISTER_OR_ENERGY):
        quantity = Quantity.REGISTER if _is_register(series) else Quantity.ENERGY
    return (
        usual_s > COARSEST_S,
        bool(series.leg),
        _FLOWS.index(series.flow),
        _QUANTITIES.index(quantity),
        usual_s,
    )


def _leave_out_series(bench: _Bench, series: MeterSeries, best: MeterSeries) -> None:
    """Say why a series is not used, and where it is much longer than the one used."""
    why = "a copy or another view of the same energy: adding it would double it"
    if series.flow is Flow.REVERSE:
        why = "flows to the grid, and cannot load the service"
    bench.leave_out(f"point {series.point}, {series.name}", why)
    spans = [int(each.start_s.max() - each.start_s.min()) for each in (series, best)]
    if series.flow is not Flow.REVERSE and spans[0] > MUCH_LONGER * spans[1]:
        bench.say(
            "series",
            f"{series.name} covers {_length(spans[0])} in steps of "
            f"{_length(_usual(series.duration_s))}; the finer {best.name} was taken, "
            f"which covers {_length(spans[1])}",
        )


def _follows(one: MeterSeries, other: MeterSeries) -> bool:
    """Return whether a series adds to another and contradicts it nowhere."""
    import numpy as np

    if one.quantity is not Quantity.ENERGY and one.quantity is not Quantity.REAL_POWER:
        return False
    ends = [int((each.start_s + each.duration_s).max()) for each in (one, other)]
    if other.start_s.min() >= ends[0] or one.start_s.min() >= ends[1]:
        return True
    both = _together(one, other)
    order = np.lexsort((both.duration_s, both.start_s))
    start_s, length = both.start_s[order], both.duration_s[order]
    is_other = order >= len(one.start_s)
    same = (np.diff(start_s) == 0) & (np.diff(length) == 0)
    same &= np.diff(both.amount[order]) == 0
    over = (start_s[1:] < (start_s + length)[:-1]) & (length[:-1] > 0)
    crossing = over & (is_other[1:] != is_other[:-1])
    return not (crossing & ~same).any() and int((crossing & same).sum()) < len(
        other.start_s
    )


def _together(one: MeterSeries, other: MeterSeries) -> MeterSeries:
    import numpy as np

    return replace(
        one,
        start_s=np.concatenate((one.start_s, other.start_s)),
        duration_s=np.concatenate((one.duration_s, other.duration_s)),
        amount=np.concatenate((one.amount, other.amount)),
        quality=np.concatenate((one.quality, other.quality)),
        rank=np.concatenate((one.rank, other.rank)),
        is_local_clock=one.is_local_clock or other.is_local_clock,
    )


def _both_legs(bench: _Bench, one: MeterSeries, other: MeterSeries) -> MeterSeries:
    """Return the sum of two legs, where both were metered."""
    import numpy as np

    legs = [_newest(each) for each in sorted((one, other), key=lambda leg: leg.leg)]
    _, in_a, in_b = np.intersect1d(
        legs[0].start_s, legs[1].start_s, assume_unique=True, return_indices=True
    )
    leg_a, leg_b = _taken(legs[0], in_a), _taken(legs[1], in_b)
    alike = (leg_a.duration_s == leg_b.duration_s) & (leg_a.duration_s > 0)
    if not alike.any():
        raise unusable(
            bench.name,
            "readings of two legs whose times never agree",
            "Ask the utility for the sum of both legs.",
        )
    leg_a, leg_b = _taken(leg_a, alike), _taken(leg_b, alike)
    lost = max(len(each.start_s) for each in legs) - len(leg_a.start_s)
    if lost:
        bench.leave_out(f"{lost} readings", "of one leg only")
    bench.say("legs", "leg A and leg B are metered apart: they were added up")
    return replace(
        leg_a,
        amount=leg_a.amount + leg_b.amount,
        quality=np.maximum(leg_a.quality, leg_b.quality),
        legs_w=(_power(leg_a), _power(leg_b)),
        name=f"{leg_a.name} and {leg_b.name}",
    )


def _newest(series: MeterSeries) -> MeterSeries:
    """Return of each start the newest reading."""
    import numpy as np

    order = np.lexsort((series.rank, series.start_s))
    series = _taken(series, order)
    return _taken(series, np.append(np.diff(series.start_s) > 0, True))


def _power(series: MeterSeries) -> Floats:
    return _energy(series) * HOUR_S / series.duration_s


def _usual(duration_s: Integers) -> int:
    """Return the commonest duration above zero; 0 where there is none."""
    lasting = duration_s[duration_s > 0]
    return commonest(lasting) if len(lasting) else 0


def _unlocal(bench: _Bench, series: MeterSeries, zone: ZoneClock | None) -> MeterSeries:
    """Mend starts that are a local clock written as if UTC, if the zone is named."""
    if not series.is_local_clock:
        return series
    if zone is None:
        bench.say(
            "clock",
            "the first block starts at midnight UTC and the file gives rules of summer "
            "time with an offset of zero: the times look like a local clock written as "
            "UTC, which moves every night by hours",
            "--zone America/Chicago, or wherever the house stands",
            asks=True,
        )
        return series
    bench.say("clock", f"times read as the local clock of {zone.name}, not as UTC")
    local = utc_of_local(series.start_s, zone)
    return replace(series, start_s=local.utc_s)


# --- registers and flows --------------------------------------------------------


def _is_register(series: MeterSeries) -> bool:
    """Return whether a series climbs as a register does.

    One whose code says so may also stand still; where no code says it, the amounts
    must be large beside their steps.
    """
    import numpy as np

    sure = series.quantity is Quantity.REGISTER
    if not sure and series.quantity is not Quantity.REGISTER_OR_ENERGY:
        return False
    if len(series.start_s) < 3:
        return sure
    order = np.lexsort((series.rank, series.start_s))
    steps = np.diff(series.amount[order])
    # It may have been set back, but hardly ever.
    if (steps < 0).sum() > max(1, 0.01 * len(steps)):
        return False
    rising = steps[steps > 0]
    large = len(rising) and np.median(series.amount) > 5 * np.median(rising)
    return sure or bool(large)


def _unregistered(bench: _Bench, series: MeterSeries) -> MeterSeries:
    """Turn the readings of a register into the energy between them."""
    import numpy as np

    if series.quantity not in (Quantity.REGISTER, Quantity.REGISTER_OR_ENERGY):
        return series
    if not _is_register(series):
        bench.say(
            "register",
            "the file does not say energy of each interval, but the amounts do not "
            "climb as a register does: taken as energy of each interval",
        )
        return replace(series, quantity=Quantity.ENERGY)
    order = np.lexsort((series.rank, series.start_s))
    start_s, amount = series.start_s[order], series.amount[order]
    quality = series.quality[order]
    last = np.append(np.diff(start_s) > 0, True)
    start_s, amount, quality = start_s[last], amount[last], quality[last]
    if len(start_s) < 2:
        raise unusable(
            bench.name,
            "a register read once, which shows no energy",
            "Ask the utility for interval data.",
        )
    length, energy = np.diff(start_s), np.diff(amount)
    usual_s = int(_usual(length))
    # A longer step is what was used over a gap: its mean hides any peak, and the
    # cleaning below sees by its length that it cannot set the maximum.
    right = energy >= 0
    if not right.all():
        bench.leave_out(
            f"{int((~right).sum())} readings", "the register had been set back"
        )
    # A register that is exchanged, or read wrongly once, leaps; where many of its
    # steps are so long, its unit must be another, which is asked about by its size.
    leapt = right & (energy * HOUR_S / length > IMPOSSIBLE_W)
    if 0 < leapt.sum() <= max(2, MOST_LEAPS_FRACTION * len(leapt)):
        right &= ~leapt
        bench.leave_out(
            f"{int(leapt.sum())} readings",
            f"the register leapt by more than {IMPOSSIBLE_W / 1000:.0f} kW would draw",
        )
    bench.say(
        "register",
        f"{len(start_s):,} readings of a register: each less the one before, mostly "
        f"{usual_s:,} s apart, each taken as read at its start",
    )
    return replace(
        series,
        quantity=Quantity.ENERGY,
        start_s=start_s[:-1][right],
        duration_s=length[right],
        amount=energy[right],
        quality=np.maximum(quality[:-1], quality[1:])[right],
        rank=np.zeros(int(right.sum()), dtype=np.int64),
    )


def _forward(
    bench: _Bench, series: MeterSeries, all_series: tuple[MeterSeries, ...]
) -> MeterSeries:
    """Keep what is drawn; say where energy also flows back."""
    reverse = [each for each in all_series if each.flow is Flow.REVERSE]
    flows_back = any((each.amount > 0).any() for each in reverse)
    negative = series.amount < 0
    if negative.any():
        flows_back = True
        bench.say(
            "direction",
            f"{int(negative.sum()):,} readings are negative, flowing to the grid: "
            "counted as nothing drawn",
        )
        series = replace(series, amount=series.amount.clip(min=0))
    if flows_back:
        bench.flows_back = True
        bench.say(
            "direction",
            "energy flows to the grid too: with a source of its own the house draws "
            "more than the meter shows, and its record is no measured demand in the "
            "sense of the code",
        )
    if series.flow is Flow.TOTAL:
        bench.say("direction", "the series adds what is drawn and what flows back")
    return series


# --- times, copies, overlaps ----------------------------------------------------


def _taken(series: MeterSeries, keep: Any) -> MeterSeries:
    legs = series.legs_w
    return replace(
        series,
        start_s=series.start_s[keep],
        duration_s=series.duration_s[keep],
        amount=series.amount[keep],
        quality=series.quality[keep],
        rank=series.rank[keep],
        legs_w=(legs[0][keep], legs[1][keep]) if legs else None,
    )


def _timed(bench: _Bench, series: MeterSeries) -> MeterSeries:
    """Sort by start, and leave out readings of no duration."""
    import numpy as np

    lasting = series.duration_s > 0
    if not lasting.all():
        energy = float(series.amount[~lasting].sum())
        bench.leave_out(
            f"{int((~lasting).sum())} readings of no duration ({energy / 1000:.3g} k"
            f"{'Wh' if series.quantity is Quantity.ENERGY else 'W'})",
            "no duration is no evidence of demand",
        )
        series = _taken(series, lasting)
    if not len(series.start_s):
        raise unusable(
            bench.name,
            "no reading whose duration is above zero",
            "Ask the utility for interval data.",
        )
    # Of one start: older before newer, and in one file what stands later is newer.
    return _taken(series, np.lexsort((series.rank, series.start_s)))


def _interval(bench: _Bench, series: MeterSeries) -> int:
    usual_s = _usual(series.duration_s)
    if usual_s > COARSEST_S:
        raise unusable(
            bench.name,
            f"readings of {_length(usual_s)} each, which hide every peak of demand",
            "Ask the utility for interval data of an hour or finer.",
        )
    return usual_s


def _length(duration_s: int) -> str:
    for name, unit_s in (("day", 86400), ("hour", 3600), ("minute", 60)):
        if duration_s >= unit_s:
            amount = round(duration_s / unit_s, 1)
            return f"{amount:g} {name}{'s' * (amount != 1)}"
    return f"{duration_s} seconds"


def _without_copies(bench: _Bench, series: MeterSeries) -> MeterSeries:
    """Keep of each interval the newest reading."""
    import numpy as np

    same = (np.diff(series.start_s) == 0) & (np.diff(series.duration_s) == 0)
    if not same.any() and (np.diff(series.start_s) > 0).all():
        return series
    order = np.lexsort((series.rank, series.duration_s, series.start_s))
    series = _taken(series, order)
    same = (np.diff(series.start_s) == 0) & (np.diff(series.duration_s) == 0)
    changed = same & (np.diff(series.amount) != 0)
    bench.duplicates = int(same.sum())
    bench.corrected = int(changed.sum())
    if copies := bench.duplicates - bench.corrected:
        bench.leave_out(f"{copies} readings", "exact copies of others")
    if bench.corrected:
        ties = changed & (np.diff(series.rank) == 0)
        bench.leave_out(
            f"{bench.corrected} readings",
            "corrected by a later entry"
            + f"; of {int(ties.sum())} the last in the file was taken"
            * bool(ties.any()),
        )
    bench.left_out = [each for each in bench.left_out if each.what != "0 readings"]
    return _taken(series, np.append(~same, True))


def _without_overlaps(bench: _Bench, series: MeterSeries) -> MeterSeries:
    """Leave out readings that overlap: the coarser, or else the later."""
    import numpy as np

    gone = 0
    while True:
        ends = series.start_s + series.duration_s
        over = np.flatnonzero(series.start_s[1:] < ends[:-1])
        if not len(over):
            break
        # Of pairs that share a reading every other is put off to the next round.
        begins = np.append(True, np.diff(over) > 1)
        places = np.arange(len(over))
        over = over[
            (places - np.maximum.accumulate(np.where(begins, places, 0))) % 2 == 0
        ]
        coarser = np.where(
            series.duration_s[over] > series.duration_s[over + 1], over, over + 1
        )
        keep = np.ones(len(series.start_s), dtype=bool)
        keep[coarser] = False
        gone += int((~keep).sum())
        series = _taken(series, keep)
    if gone:
        bench.leave_out(f"{gone} readings", "they overlap finer or earlier ones")
    return series


def _energy(series: MeterSeries) -> Floats:
    if series.quantity is Quantity.REAL_POWER:
        return series.amount * series.duration_s / HOUR_S
    return series.amount


def _gaps(series: MeterSeries) -> tuple[Gap, ...]:
    import numpy as np

    ends = series.start_s[:-1] + series.duration_s[:-1]
    missing = series.start_s[1:] - ends
    return tuple(
        Gap(int(ends[place]), int(missing[place]))
        for place in np.flatnonzero(missing > 0)
    )


# --- doubts ---------------------------------------------------------------------


def _doubts(
    bench: _Bench,
    series: MeterSeries,
    energy_wh: Floats,
    interval_s: int,
    service_va: float | None,
) -> Integers:
    """Return what is doubtful in each reading, and say it."""
    import numpy as np

    doubt = np.zeros(len(energy_wh), dtype=np.int64)
    quality = codes()["quality"]
    power_w = energy_wh * HOUR_S / series.duration_s
    longer = (series.duration_s > interval_s) & (series.duration_s <= COARSEST_S)
    if longer.any():
        bench.say(
            "longer",
            f"{int(longer.sum()):,} readings last longer than the usual "
            f"{_length(interval_s)}, and average their peaks",
        )
    marks = (
        (np.isin(series.quality, quality["estimated"]), Doubt.ESTIMATED, "estimated"),
        (
            np.isin(series.quality, quality["doubtful"]),
            Doubt.DOUBTFUL,
            "edited by hand or questionable, and kept",
        ),
        (
            (series.duration_s > interval_s) & (series.duration_s > COARSEST_S),
            Doubt.LONG,
            "longer than an hour, whose average hides its peak",
        ),
    )
    for where, mark, words in marks:
        doubt[where] |= mark
        if where.any():
            bench.say("marked", f"{int(where.sum()):,} readings {words}")
    if service_va:
        over = power_w > IMPOSSIBLE_FACTOR * service_va
        doubt[over] |= Doubt.IMPOSSIBLE
        if over.any():
            bench.say(
                "marked",
                f"{int(over.sum())} readings above 1.25 times the service's rating",
            )
    _mark_catch_up(bench, series, power_w, interval_s, doubt)
    _say_of_scale(bench, series, power_w[(doubt & _NOT_MAXIMUM) == 0])
    return doubt


def _say_of_scale(bench: _Bench, series: MeterSeries, power_w: Floats) -> None:
    """Say where amounts are coarse, and ask where they fit no house."""
    import numpy as np

    if not len(power_w) or power_w.max() <= 0:
        return
    highest_w = float(power_w.max())
    span_s = int(series.start_s[-1] - series.start_s[0])
    step_w = _resolution_w(np.append(0.0, power_w))
    if COARSE_FRACTION * highest_w < step_w < highest_w:
        bench.say(
            "steps",
            f"the amounts come in steps of {step_w / 1000:.3g} kW: the maximum may be "
            "a step higher",
        )
    if highest_w > HARDLY_ABOVE_W or (highest_w < HARDLY_BELOW_W and span_s >= DAY_S):
        bench.say(
            "scale",
            f"a maximum of {kilowatt_text(highest_w)} fits no house that is lived in: "
            "the file's unit or multiplier may be wrong by thousands",
            "compare the energy with a bill",
            asks=True,
        )


def _mark_catch_up(
    bench: _Bench,
    series: MeterSeries,
    power_w: Floats,
    interval_s: int,
    doubt: Integers,
) -> None:
    """Mark readings that may hold the energy of an outage before or after them.

    As data.md 1.8 step 4: at or above the 99.9th percentile of the positive readings
    and beside two or more zero or missing intervals. From twice the 99th percentile
    on it is certain enough to be left out of the maximum; below that it is asked. In a
    short record the highest reading would be its own measure and is left out of it,
    and nothing is asked.
    """
    import numpy as np

    positive = power_w[power_w > 0]
    if len(positive) < FEWEST:
        return
    coarse = _resolution_w(power_w) > 0.5 * float(np.median(positive))
    candidate = float(np.percentile(positive, CANDIDATE_PERCENTILE))
    is_short = len(positive) < FEW
    if is_short:
        positive = positive[positive < candidate]
    usual = float(np.percentile(positive, LUMP_PERCENTILE)) if len(positive) else inf
    ends = series.start_s + series.duration_s
    for place in np.flatnonzero((power_w >= candidate) & (power_w > usual)).tolist():
        before = after = 0
        if not coarse:  # a coarse meter writes zeros without any outage
            before, after = _zeros(power_w, place, -1), _zeros(power_w, place, 1)
        first, last = place - before, place + after
        if first > 0:
            before += int(series.start_s[first] - ends[first - 1]) // interval_s
        if last + 1 < len(power_w):
            after += int(series.start_s[last + 1] - ends[last]) // interval_s
        empty = max(before, after)
        if empty < LEAST_EMPTY:
            continue
        sure = power_w[place] >= LUMP_FACTOR * usual
        if is_short and not sure:
            continue
        doubt[place] |= Doubt.CATCH_UP if sure else Doubt.ASKED
        spread_w = power_w[place] / (empty + 1)
        bench.say(
            "catch-up",
            f"{power_w[place] / 1000:.4g} kW from {_utc(int(series.start_s[place]))} "
            f"stands beside {empty} empty intervals; spread over them it is "
            f"{spread_w / 1000:.3g} kW: "
            + ("left out of the maximum" if sure else "kept; was there an outage?"),
            asks=not sure,
        )


def _resolution_w(power_w: Floats) -> float:
    """Return the least step between different amounts."""
    import numpy as np

    steps = np.diff(np.sort(power_w))
    steps = steps[steps > 0.001]
    return float(steps.min()) if len(steps) else 0.0


def _zeros(power_w: Floats, place: int, step: int) -> int:
    """Return how many zeros stand beside a reading in one direction."""
    count, at = 0, place + step
    while 0 <= at < len(power_w) and power_w[at] == 0 and count < 100_000:
        count, at = count + 1, at + step
    return count


def _utc(moment_s: int) -> str:
    from datetime import UTC, datetime

    return datetime.fromtimestamp(moment_s, UTC).strftime("%Y-%m-%d %H:%M UTC")
