"""What a record says of a house's demand, as plain text and as JSON."""

from __future__ import annotations

import json
from collections.abc import Iterator, Sequence
from datetime import UTC, datetime
from typing import Any

from lugbook.assess.capacity_measured import Condition
from lugbook.demand.summary import DemandSummary
from lugbook.finding import Outcome
from lugbook.report.paper import Column, Paper
from lugbook.report.workings import working_lines

__all__ = ["demand_answer", "demand_json"]

DAY_S, HOUR_S = 86400, 3600
INDENT = "  "
_IN = " " * 7  # behind a mark
_LONGEST = 8  # entries of a list before it is cut


def demand_json(
    summary: DemandSummary,
    conditions: Sequence[Condition] = (),
    *,
    ascii_only: bool = False,
) -> str:
    """The summary as JSON, with the keys of `docs/reference/demand-json.md`.

    Args:
        summary: The summary. [-]
        conditions: What the code asks of such a record. [-]
        ascii_only: Whether other letters are to be escaped. [-]

    Returns:
        Text. [-]
    """
    return json.dumps(
        {**_as_dict(summary), "code_test": [_asked_of(each) for each in conditions]},
        indent=2,
        ensure_ascii=ascii_only,
        allow_nan=False,
    )


def _as_dict(summary: DemandSummary) -> dict[str, Any]:
    return {
        "schema": 1,
        "file": summary.name,
        "layout": summary.layout,
        "clock": summary.clock,
        "readings": summary.readings,
        "interval_s": summary.interval_s,
        "starts_at": _iso(summary.first_s),
        "span_days": summary.span_days,
        "complete_fraction": summary.complete_fraction,
        "observed_days": summary.observed_days,
        "energy_kwh": summary.energy_wh / 1000,
        "max_kw": summary.maximum_w / 1000,
        "max_at": _iso(summary.maximum_start_s),
        "max_is_measured": summary.maximum_is_measured,
        "witnesses": summary.witnesses,
        "witness_days": summary.witness_days,
        "highest_left_out_kw": _kilo(summary.highest_passed_over_w),
        "gaps": summary.gaps,
        "gaps_over_1_h": summary.long_gaps,
        "longest_gap_s": summary.longest_gap_s,
        "duplicates": summary.duplicates,
        "corrected": summary.corrected,
        "flagged": summary.flagged,
        "estimated": summary.estimated,
        "catch_up": summary.catch_up,
        "flows_back": summary.flows_back,
        "left_out": [{"what": each.what, "why": each.why} for each in summary.left_out],
        "inferred": [
            {
                "about": each.about,
                "said": each.said,
                "mend": each.mend,
                "asks": each.asks,
            }
            for each in summary.statements
        ],
        "equivalent_15min_kw": {
            "central": summary.central_w / 1000,
            "covering": summary.covering_w / 1000,
            "small_house": summary.small_house_w / 1000,
            "how": summary.equivalent_how,
        },
        "record_multiplier": {"p80": summary.p80_factor, "p95": summary.p95_factor},
        "legs": {
            "leg_a_max_kw": _kilo(summary.leg_a_w),
            "leg_b_max_kw": _kilo(summary.leg_b_w),
            "imbalance_fraction": summary.imbalance_fraction,
        },
        "levels": {
            "one_year_kw": _kilo(summary.one_year_w),
            "ten_year_kw": _kilo(summary.ten_year_w),
            "one_year_gumbel_kw": _kilo(summary.one_year_gumbel_w),
            "why_not": summary.no_levels,
        },
        "load_duration": [
            {"fraction": fraction, "kw": power_w / 1000}
            for fraction, power_w in summary.load_duration
        ],
        "by_clock": [
            {
                "start_s": each.start_s,
                "median_kw": each.median_w / 1000,
                "p95_kw": each.p95_w / 1000,
                "highest_kw": each.highest_w / 1000,
            }
            for each in summary.by_clock
        ],
        "worst_weeks": [
            {
                "monday": each.monday,
                "max_kw": each.highest_w / 1000,
                "energy_kwh": each.energy_kwh,
                "complete_fraction": each.complete_fraction,
            }
            for each in summary.worst_weeks
        ],
        "summary_differs_fraction": summary.summary_differs_fraction,
    }


def _asked_of(condition: Condition) -> dict[str, Any]:
    return {
        "condition": condition.id,
        "outcome": condition.outcome.value,
        "found": condition.found,
        "limit": condition.limit,
        "next": condition.next,
    }


def demand_answer(
    summary: DemandSummary,
    paper: Paper,
    conditions: Sequence[Condition] = (),
    *,
    working: bool = False,
) -> str:
    """The summary as plain text.

    Args:
        summary: The summary. [-]
        paper: What it is written on. [-]
        conditions: What the code asks of such a record. [-]
        working: Whether to add every line behind it. [-]

    Returns:
        Text ending in a line end. [-]
    """
    lines = [
        *_head(summary, paper),
        *_numbers(summary, paper),
        *_code_test(conditions, paper),
        *_asked(summary, paper),
        *_inferred(summary, paper),
        *_left_out(summary, paper, None if working else _LONGEST),
        *_hours(summary, paper),
        *_weeks(summary, paper),
    ]
    if working:
        lines += ["", *working_lines(summary.working(), paper)]
    return "\n".join(lines) + "\n"


def _head(summary: DemandSummary, paper: Paper) -> Iterator[str]:
    first = datetime.fromtimestamp(summary.first_s, UTC)
    last = datetime.fromtimestamp(summary.first_s + summary.span_s, UTC)
    yield from paper.wrap(f"{summary.name}: {summary.layout}, clock {summary.clock}")
    yield paper.rule()
    doubted = next((e for e in summary.statements if e.about == "scale"), None)
    if doubted is not None:
        yield from paper.wrap(f"IN DOUBT: {doubted.said}; {doubted.mend}.")
    yield from paper.wrap(
        f"Recorded maximum {summary.maximum_w / 1000:.2f} kW, from "
        f"{_minute(summary.maximum_start_s)} UTC for "
        f"{_length(summary.maximum_duration_s)}; "
        f"{summary.witnesses} reading{'s' * (summary.witnesses != 1)} on "
        f"{summary.witness_days} day{'s' * (summary.witness_days != 1)} within 5 % "
        "of it."
    )
    if not summary.maximum_is_measured:
        yield from paper.wrap("Every reading is doubtful: this maximum proves nothing.")
    if summary.highest_passed_over_w is not None:
        yield from paper.wrap(
            "Higher, but left out as estimated or of an outage: "
            f"{summary.passed_over}, up to "
            f"{summary.highest_passed_over_w / 1000:.2f} kW."
        )
    yield from paper.wrap(
        f"{summary.readings:,} readings of {_length(summary.interval_s)}, "
        f"{first:%Y-%m-%d} to {last:%Y-%m-%d} ({summary.span_days:.1f} days, "
        f"{100 * summary.complete_fraction:.1f} % of it read), "
        f"{summary.energy_wh / 1000:,.0f} kWh."
    )


def _numbers(summary: DemandSummary, paper: Paper) -> Iterator[str]:
    rows = [
        (
            "15-minute maximum, central",
            f"{summary.central_w / 1000:.2f}",
            summary.equivalent_how,
        ),
    ]
    if summary.covering_w != summary.central_w:
        small = f"{summary.small_house_w / 1000:.2f} for a small gas-heated house; "
        rows.append(
            (
                "15-minute maximum, covering",
                f"{summary.covering_w / 1000:.2f}",
                small * (summary.small_house_w > summary.covering_w)
                + "a 30-day logger removes the doubt",
            )
        )
    if summary.p80_factor is not None and summary.p80_factor > 1.0005:
        for chance, factor in (("80", summary.p80_factor), ("95", summary.p95_factor)):
            rows.append(
                (
                    f"year's maximum, {chance} % chance",
                    f"{summary.central_w * (factor or 1) / 1000:.2f}",
                    f"× {factor:.2f} for {summary.span_days:.0f} days, from few houses",
                )
            )
    if summary.one_year_w is not None and summary.ten_year_w is not None:
        average = _length(max(900, summary.interval_s))
        rows += [
            (
                "level reached once a year",
                f"{summary.one_year_w / 1000:.2f}",
                f"tail of the daily maxima of {average}",
            ),
            (
                "once in ten years",
                f"{summary.ten_year_w / 1000:.2f}",
                "the same; a house that changes is not foreseen",
            ),
        ]
    yield ""
    columns = (
        Column("demand", wraps=True),
        Column("kW", figures=True),
        Column("from", wraps=True),
    )
    yield from paper.table(columns, rows)
    if summary.no_levels and summary.one_year_w is None:
        yield from paper.wrap(f"No yearly level: {summary.no_levels}.")
    if summary.summary_differs_fraction is not None:
        yield from paper.wrap(
            "Readings and the utility's own total differ by "
            f"{abs(summary.summary_differs_fraction):.2%}."
        )


def _code_test(conditions: Sequence[Condition], paper: Paper) -> Iterator[str]:
    """Yield what the code's measured-demand test asks, and what the file answers."""
    if not conditions:
        return
    met = [each.found for each in conditions if each.outcome is Outcome.MEETS]
    yield ""
    yield from paper.wrap(
        "What the code asks before such a record may stand for the existing load"
    )
    if met:
        yield from paper.wrap(
            f"Met: {'; '.join(met)}.", first=f" {paper.mark(Outcome.MEETS)}  ", rest=_IN
        )
    for each in conditions:
        if each.outcome in (Outcome.MEETS, Outcome.NOT_REQUIRED):
            continue
        words = f"{each.question} {each.outcome.words}"
        words += f": {each.found}" * bool(each.found)
        yield from paper.wrap(
            f"{words}.", first=f" {paper.mark(each.outcome)}  ", rest=_IN
        )
    yield from paper.wrap(
        "Name the file in your plan's meter_files, and lugbook check judges it.",
        first=INDENT,
        rest=INDENT,
    )


def _asked(summary: DemandSummary, paper: Paper) -> Iterator[str]:
    asked = [each for each in summary.statements if each.asks]
    if asked:
        yield from ("", *paper.wrap("To be told by you"))
    for each in asked:
        mend = f" ({each.mend})" if each.mend else ""
        yield from paper.wrap(
            f"{each.about}: {each.said}{mend}", first=INDENT, rest=INDENT * 2
        )


def _inferred(summary: DemandSummary, paper: Paper) -> Iterator[str]:
    inferred = [each for each in summary.statements if not each.asks]
    if inferred:
        yield from ("", *paper.wrap("Taken from the file"))
    for each in inferred:
        yield from paper.wrap(
            f"{each.about}: {each.said}", first=INDENT, rest=INDENT * 2
        )


def _left_out(summary: DemandSummary, paper: Paper, most: int | None) -> Iterator[str]:
    counts = (
        (summary.gaps, f"gap{'s' * (summary.gaps != 1)}"),
        (summary.duplicates, f"repeated reading{'s' * (summary.duplicates != 1)}"),
        (summary.flagged, f"marked reading{'s' * (summary.flagged != 1)}"),
    )
    said = [f"{count:,} {noun}" for count, noun in counts if count]
    yield ""
    yield from paper.wrap(f"Left out or missing: {', '.join(said) or 'nothing'}.")
    if summary.longest_gap_s > HOUR_S:
        yield from paper.wrap(
            f"longest gap {_length(summary.longest_gap_s)}", first=INDENT, rest=INDENT
        )
    for each in summary.left_out[:most]:
        yield from paper.wrap(f"{each.what}: {each.why}", first=INDENT, rest=INDENT * 2)
    hidden = len(summary.left_out) - len(summary.left_out[:most])
    if hidden:
        yield from paper.wrap(f"and {hidden} more; --working shows all", first=INDENT)


def _hours(summary: DemandSummary, paper: Paper) -> Iterator[str]:
    """Yield the envelope of the day, in steps of three hours."""
    if not summary.by_clock:
        return
    rows = []
    for hour in range(0, 24, 3):
        within = [
            each
            for each in summary.by_clock
            if hour * HOUR_S <= each.start_s < (hour + 3) * HOUR_S
        ]
        if within:
            medians = sorted(each.median_w for each in within)
            rows.append(
                (
                    f"{hour:02d} to {hour + 3:02d} h",
                    f"{medians[len(medians) // 2] / 1000:.2f}",
                    f"{max(each.p95_w for each in within) / 1000:.2f}",
                    f"{max(each.highest_w for each in within) / 1000:.2f}",
                )
            )
    columns = (
        Column("by the clock"),
        Column("half of days, kW", figures=True),
        Column("95 %, kW", figures=True),
        Column("highest, kW", figures=True),
    )
    yield ""
    yield from paper.table(columns, rows)


def _weeks(summary: DemandSummary, paper: Paper) -> Iterator[str]:
    rows = [
        (
            f"week from {each.monday}",
            f"{each.highest_w / 1000:.2f}",
            f"{each.energy_kwh:,.0f}",
            f"{each.complete_fraction:.0%}",
        )
        for each in summary.worst_weeks
    ]
    columns = (
        Column("worst weeks"),
        Column("highest, kW", figures=True),
        Column("kWh", figures=True),
        Column("read", figures=True),
    )
    yield ""
    yield from paper.table(columns, rows)


def _length(duration_s: int) -> str:
    for name, unit_s in (("days", DAY_S), ("h", HOUR_S), ("min", 60)):
        if duration_s >= 2 * unit_s or duration_s == unit_s:
            return f"{duration_s / unit_s:.4g} {name}"
    return f"{duration_s} s"


def _minute(moment_s: int) -> str:
    return datetime.fromtimestamp(moment_s, UTC).strftime("%Y-%m-%d %H:%M")


def _iso(moment_s: int) -> str:
    return datetime.fromtimestamp(moment_s, UTC).strftime("%Y-%m-%dT%H:%M:%SZ")


def _kilo(amount: float | None) -> float | None:
    return None if amount is None else amount / 1000
