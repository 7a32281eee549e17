"""What a record says of a house's demand, in plain numbers.

Plain, so that it can be kept as text and read again without arrays: a year of
readings is looked at once, and its summary after that.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

from lugbook.demand.factors import leg_range, record_factor
from lugbook.demand.series import LeftOut, Statement, Summary
from lugbook.finding import Line, Working
from lugbook.readings.evidence import MeterRecord

if TYPE_CHECKING:
    from lugbook.demand.cleaning import Record
    from lugbook.demand.clock import ZoneClock
    from lugbook.demand.opened import Progress
    from lugbook.demand.table_file import TableOptions

__all__ = ["DemandSummary", "SlotOfDay", "WeekOfDemand", "demand_of", "summarised"]

DAY_S, HOUR_S = 86400, 3600
NOMINAL_V = 240.0
WHOLE_FRACTION = 0.95  # covered, to count as a year: data.md 1.8 step 5
LONG_GAP_S, WINDOW_S = 3600, 900
AGREEMENT_FRACTION = 0.01  # common practice, no source: rounding of a bill, and more


@dataclass(frozen=True, slots=True)
class SlotOfDay:
    """Demand at one time of the day: start, half of the days, 95 of 100, the highest.

    Args:
        start_s: Since local midnight. [s]
        median_w: Half of the days were below. [W]
        p95_w: 95 of 100 days were below. [W]
        highest_w: The highest day. [W]
    """

    start_s: int
    median_w: float
    p95_w: float
    highest_w: float


@dataclass(frozen=True, slots=True)
class WeekOfDemand:
    """One of the weeks with the highest demand.

    Args:
        monday: Its Monday, as ISO date. [-]
        highest_w: Its highest average. [W]
        energy_kwh: Its energy. [kWh]
        complete_fraction: Share of it with readings. [-]
    """

    monday: str
    highest_w: float
    energy_kwh: float
    complete_fraction: float


@dataclass(frozen=True, slots=True)
class DemandSummary:
    """What a record says of a house's demand.

    Args:
        name: Name of the file. [-]
        layout: What kind of file it is. [-]
        clock: Local clock by which days were counted. [-]
        readings: Readings of the cleaned record. [-]
        interval_s: Their usual duration. [s]
        first_s: Start of the first. [s]
        span_s: Time from there to the end of the last. [s]
        covered_s: Time with readings. [s]
        observed_days: Local days with readings for 95 % of them. [days]
        energy_wh: Energy drawn. [Wh]
        maximum_w: Highest average that was measured. [W]
        maximum_start_s: Start of its interval. [s]
        maximum_duration_s: Its duration. [s]
        maximum_is_measured: False where every reading is an estimate. [-]
        witnesses: Readings within 5 % of it. [-]
        witness_days: Days on which they were. [-]
        passed_over: Higher readings left out as doubtful. [-]
        highest_passed_over_w: The highest of them. [W]
        central_w: 15-minute maximum it stands for, in the middle. [W]
        covering_w: The same, covering 95 of 100. [W]
        small_house_w: The same for a small gas-heated house. [W]
        equivalent_how: How it was found. [-]
        p80_factor: From the record's maximum to the year's, with 80 % chance. [-]
        p95_factor: The same with 95 %. [-]
        gaps: Holes in the record. [-]
        long_gaps: Holes of over an hour. [-]
        longest_gap_s: The longest of them. [s]
        duplicates: Readings left out as repeats. [-]
        corrected: Those of them with another amount. [-]
        estimated: Estimated readings, kept for energy only. [-]
        catch_up: Readings that hold the energy of an outage. [-]
        flagged: All readings with a mark. [-]
        flows_back: Whether energy also flows to the grid. [-]
        leg_a_w: Highest average of leg A, where the legs were recorded. [W]
        leg_b_w: The same of leg B. [W]
        imbalance_fraction: Difference of the legs over their sum at the maximum. [-]
        one_year_w: Level reached once a year, if the record supports one. [W]
        ten_year_w: Level reached once in ten years. [W]
        one_year_gumbel_w: Level reached once a year by all daily maxima. [W]
        no_levels: Why there are no levels. [-]
        load_duration: Share of time, and demand reached in it. [-, W]
        by_clock: Demand by time of the day. [-]
        worst_weeks: The weeks with the highest demand. [-]
        summary_differs_fraction: Utility's total less the sum of readings, over the
            total; None where there is none to compare. [-]
        statements: What was inferred or is to be asked. [-]
        left_out: What was not used, and why. [-]
    """

    name: str
    layout: str
    clock: str
    readings: int
    interval_s: int
    first_s: int
    span_s: int
    covered_s: int
    observed_days: int
    energy_wh: float
    maximum_w: float
    maximum_start_s: int
    maximum_duration_s: int
    maximum_is_measured: bool
    witnesses: int
    witness_days: int
    passed_over: int
    highest_passed_over_w: float | None
    central_w: float
    covering_w: float
    small_house_w: float
    equivalent_how: str
    p80_factor: float | None
    p95_factor: float | None
    gaps: int
    long_gaps: int
    longest_gap_s: int
    duplicates: int
    corrected: int
    estimated: int
    catch_up: int
    flagged: int
    flows_back: bool
    leg_a_w: float | None
    leg_b_w: float | None
    imbalance_fraction: float | None
    one_year_w: float | None
    ten_year_w: float | None
    one_year_gumbel_w: float | None
    no_levels: str
    load_duration: tuple[tuple[float, float], ...]
    by_clock: tuple[SlotOfDay, ...]
    worst_weeks: tuple[WeekOfDemand, ...]
    summary_differs_fraction: float | None
    statements: tuple[Statement, ...]
    left_out: tuple[LeftOut, ...]

    @property
    def span_days(self) -> float:
        """Return the length of the record."""
        return self.span_s / DAY_S

    @property
    def complete_fraction(self) -> float:
        """Return the share of its length with readings."""
        return self.covered_s / self.span_s

    def as_record(self, name: str = "") -> MeterRecord:
        """Return what the rules ask of a record, under the name a plan gives it."""
        return MeterRecord(
            name=name or self.name,
            first_s=self.first_s,
            span_s=self.span_s,
            covered_s=self.covered_s,
            longest_gap_s=self.longest_gap_s,
            long_gaps=self.long_gaps,
            interval_s=self.interval_s,
            recorded_w=self.maximum_w,
            recorded_at_s=self.maximum_start_s,
            is_measured=self.maximum_is_measured,
            witnesses=self.witnesses,
            central_w=self.central_w,
            covering_w=self.covering_w,
            equivalent_how=self.equivalent_how,
            leg_a_w=self.leg_a_w,
            leg_b_w=self.leg_b_w,
            imbalance_fraction=self.imbalance_fraction,
            flows_back=self.flows_back,
            one_year_w=self.one_year_w,
            ten_year_w=self.ten_year_w,
            asks=tuple(
                f"{each.about}: {each.said}" for each in self.statements if each.asks
            ),
        )

    def working(self) -> Working:
        """Return the numbers with what they rest on, line by line."""
        return Working(f"Demand recorded in {self.name}", tuple(_lines(self)))


def demand_of(
    path: Path,
    options: TableOptions | None = None,
    *,
    point: str | None = None,
    zone: ZoneClock | None = None,
    service_va: float | None = None,
    progress: Progress | None = None,
) -> DemandSummary:
    """What a meter file says of a house's demand.

    Args:
        path: The file. [-]
        options: What a person says of a table. [-]
        point: Usage point to take, where there are several. [-]
        zone: Time zone of the house. [-]
        service_va: Rating of the service. [VA]
        progress: Told how far the reading is. [-]

    Returns:
        The summary. [-]

    Raises:
        InputError: The file cannot be used, or shows no demand.
    """
    from lugbook.demand.cleaning import cleaned
    from lugbook.demand.read import read_meter_file

    file = read_meter_file(path, options, progress=progress)
    record = cleaned(file, point=point, zone=zone, service_va=service_va)
    return summarised(record, name=path.name, layout=file.layout)


def summarised(record: Record, *, name: str, layout: str) -> DemandSummary:
    """What a cleaned record says of a house's demand.

    Args:
        record: The record. [-]
        name: Name of its file. [-]
        layout: What kind of file it is. [-]

    Returns:
        The summary. [-]
    """
    from lugbook.demand.cleaning import Doubt
    from lugbook.demand.curves import by_clock, load_duration, worst_weeks
    from lugbook.demand.extremes import levels
    from lugbook.demand.maximum import (
        by_quarter_hour,
        daily_maxima,
        equivalent_15min,
        leg_maximum,
        recorded_maximum,
    )

    maximum = recorded_maximum(record)
    equivalent = equivalent_15min(record, maximum)
    legs = leg_maximum(record, maximum)
    quarters = by_quarter_hour(record)
    daily = daily_maxima(quarters)
    level = levels(daily_w=daily.power_w)
    gaps_s = [gap.duration_s for gap in record.gaps]
    factors = _record_factors(record)
    differs = _difference(record)
    return DemandSummary(
        name=name,
        layout=layout,
        clock=record.clock.name,
        readings=len(record.start_s),
        interval_s=record.interval_s,
        first_s=int(record.start_s[0]),
        span_s=record.span_s,
        covered_s=record.covered_s,
        observed_days=len(daily.day),
        energy_wh=float(record.energy_wh.sum()),
        maximum_w=maximum.power_w,
        maximum_start_s=maximum.start_s,
        maximum_duration_s=maximum.duration_s,
        maximum_is_measured=maximum.is_measured,
        witnesses=maximum.witnesses,
        witness_days=maximum.witness_days,
        passed_over=maximum.passed_over,
        highest_passed_over_w=maximum.highest_passed_over_w,
        central_w=equivalent.central_w,
        covering_w=equivalent.covering_w,
        small_house_w=equivalent.small_house_w,
        equivalent_how=equivalent.how,
        p80_factor=factors[0],
        p95_factor=factors[1],
        gaps=len(gaps_s),
        long_gaps=sum(gap > LONG_GAP_S for gap in gaps_s),
        longest_gap_s=max(gaps_s, default=0),
        duplicates=record.duplicates,
        corrected=record.corrected,
        estimated=int(((record.doubt & Doubt.ESTIMATED) != 0).sum()),
        catch_up=int(((record.doubt & Doubt.CATCH_UP) != 0).sum()),
        flagged=int((record.doubt != 0).sum()),
        flows_back=record.flows_back,
        leg_a_w=legs.leg_a_w if legs else None,
        leg_b_w=legs.leg_b_w if legs else None,
        imbalance_fraction=legs.imbalance_fraction if legs else None,
        one_year_w=level.one_year_w,
        ten_year_w=level.ten_year_w,
        one_year_gumbel_w=level.one_year_gumbel_w,
        no_levels=level.why_not,
        load_duration=tuple(
            (each.fraction, each.power_w) for each in load_duration(quarters)
        ),
        by_clock=tuple(
            SlotOfDay(each.start_s, each.median_w, each.p95_w, each.highest_w)
            for each in by_clock(quarters)
        ),
        worst_weeks=tuple(
            WeekOfDemand(
                each.monday.isoformat(),
                each.highest_w,
                each.energy_wh / 1000,
                each.complete_fraction,
            )
            for each in worst_weeks(quarters)
        ),
        summary_differs_fraction=differs,
        statements=(*record.statements, *_witness(record, differs)),
        left_out=record.left_out,
    )


def _record_factors(record: Record) -> tuple[float | None, float | None]:
    """Return the factors to the year's maximum; None for less than a day."""
    days = record.covered_s / DAY_S
    if (
        record.span_s >= 365 * DAY_S
        and record.covered_s >= WHOLE_FRACTION * record.span_s
    ):
        days = record.span_s / DAY_S  # a twentieth may be missing of a year
    if days < 1:
        return None, None
    return record_factor(days=days, chance="p80"), record_factor(
        days=days, chance="p95"
    )


def _difference(record: Record) -> float | None:
    """Return the difference to the utility's own totals of periods recorded.

    Of the two totals a period may have the nearer counts, of several periods the one
    that differs most. Without a period nothing but agreement proves anything.
    """
    nearest: dict[tuple[int, int], float] = {}
    agreeing = None
    for each in record.summaries:
        if not each.energy_wh:
            continue
        if each.start_s is None or not each.duration_s:
            differs = 1 - float(record.energy_wh.sum()) / each.energy_wh
            agreeing = differs if abs(differs) <= AGREEMENT_FRACTION else agreeing
            continue
        within = _within(record, each)
        if within is None:
            continue
        differs = 1 - float(record.energy_wh[within].sum()) / each.energy_wh
        period = (each.start_s, each.duration_s)
        nearest[period] = min(nearest.get(period, differs), differs, key=abs)
    return max(nearest.values(), key=abs, default=agreeing)


def _within(record: Record, period: Summary) -> Any:
    """Return which readings a period holds; None where it was not all recorded."""
    if period.start_s is None or not period.duration_s:
        return None
    end_s = period.start_s + period.duration_s
    first_s = int(record.start_s[0])
    if first_s > period.start_s or first_s + record.span_s < end_s:
        return None
    return (record.start_s >= period.start_s) & (record.start_s < end_s)


def _witness(record: Record, differs: float | None) -> list[Statement]:
    """Return what the utility's own totals and peaks say against the readings."""
    said = []
    if differs is not None and abs(differs) > AGREEMENT_FRACTION:
        said.append(
            Statement(
                "total",
                f"the readings of a billing period sum to {abs(differs):.1%} "
                f"{'less' if differs > 0 else 'more'} than the utility's own total",
                "compare with the bill",
                asks=True,
            )
        )
    seen = set()
    for each in record.summaries:
        within = _within(record, each)
        if within is None or not each.peak_w or each.peak_w in seen:
            continue
        seen.add(each.peak_w)
        counting = record.power_w[within & record.counts_for_maximum]
        if len(counting) and each.peak_w > (1 + AGREEMENT_FRACTION) * counting.max():
            said.append(
                Statement(
                    "peak",
                    f"the utility's own peak demand of a period is "
                    f"{each.peak_w / 1000:.4g} kW, above the readings' "
                    f"{counting.max() / 1000:.4g} kW: it may average a shorter time",
                    "compare with the bill",
                    asks=record.interval_s <= WINDOW_S,  # it should hold that peak
                )
            )
    return said


def _lines(summary: DemandSummary) -> list[Line]:
    """Return the lines of the working: what was used, left out, and why."""
    at = datetime.fromtimestamp(summary.maximum_start_s, UTC)
    lines = [
        Line("readings used", float(summary.readings), source=summary.layout),
        Line(
            "interval", float(summary.interval_s), "s", source="commonest in the file"
        ),
        Line("length of the record", summary.span_days, "days"),
        Line(
            "share with readings",
            summary.complete_fraction,
            symbols="covered / length",
            numbers=f"{summary.covered_s / DAY_S:.2f} / {summary.span_days:.2f} days",
        ),
        Line("energy", summary.energy_wh / 1000, "kWh", source="sum of the readings"),
        Line(
            "recorded maximum",
            summary.maximum_w / 1000,
            "kW",
            symbols="energy / duration",
            numbers=f"from {at:%Y-%m-%d %H:%M} UTC",
            source=f"{summary.witnesses} readings on {summary.witness_days} days come "
            "within 5 % of it",
        ),
    ]
    if summary.highest_passed_over_w is not None:
        lines.append(
            Line(
                "higher, but left out",
                summary.highest_passed_over_w / 1000,
                "kW",
                source=f"{summary.passed_over} readings, estimated or of an outage",
            )
        )
    lines += [
        Line(
            "15-minute maximum, central",
            summary.central_w / 1000,
            "kW",
            source=summary.equivalent_how,
        ),
        Line(
            "15-minute maximum, covering",
            summary.covering_w / 1000,
            "kW",
            source=summary.equivalent_how,
        ),
    ]
    lines += _leg_lines(summary)
    for chance, factor in (("80", summary.p80_factor), ("95", summary.p95_factor)):
        lines.append(
            Line(
                f"factor to the year's maximum, {chance} % chance",
                factor,
                symbols="by days recorded",
                numbers=f"{summary.span_days * summary.complete_fraction:.1f} days",
                source="computed from 15 recorded houses (factors.toml)",
            )
        )
    for statement in summary.statements:
        lines.append(
            Line(statement.about, "", numbers=statement.said, source=statement.mend)
        )
    for left in summary.left_out:
        lines.append(Line("left out", "", numbers=left.what, source=left.why))
    return lines


def _leg_lines(summary: DemandSummary) -> list[Line]:
    legs = leg_range(
        power_w=summary.central_w,
        voltage_v=NOMINAL_V,
        imbalance_fraction=summary.imbalance_fraction,
    )
    if summary.imbalance_fraction is None:
        words = "imbalance unknown: 0 to 0.2, common practice, no source"
    else:
        words = "imbalance recorded at the maximum"
    symbols = "P / (V × PF) × (1 + u)"
    given = f"{summary.central_w:,.0f} W / (240 V × 0.95) × (1 + u)"
    return [
        Line("more loaded leg, at least", legs.least_a, "A", symbols, given, words),
        Line("more loaded leg, at most", legs.most_a, "A", symbols, given, words),
    ]
