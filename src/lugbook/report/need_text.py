"""The charging need on a terminal: one line a setting, and what each night asks."""

from __future__ import annotations

from collections.abc import Iterator

from lugbook.assess.need import Need, SettingNeed, mornings
from lugbook.assess.need_cars import Night
from lugbook.finding import Outcome, Working
from lugbook.report.figures import degrees_text, edition_text, share_text
from lugbook.report.paper import Column, Paper
from lugbook.report.workings import working_lines

__all__ = ["asked_text", "count_text", "duties_text", "need_text", "night_text"]

_INDENT = " " * 7


def need_text(need: Need, paper: Paper, *, working: bool = False) -> str:
    """What the cars need.

    Args:
        need: The need. [-]
        paper: What it is written on. [-]
        working: Whether every line behind the numbers is added. [-]

    Returns:
        Text ending in a line end. [-]
    """
    name = f"{need.name}, " * bool(need.name)
    lines = [
        *paper.wrap(f"{name}{edition_text(need.edition)}: how much current is needed"),
        paper.rule(),
        *paper.wrap(
            need.sentence, first=f" {paper.mark(need.outcome)}  ", rest=_INDENT
        ),
    ]
    if not need.settings:
        lines += _untold(need, paper)
        return "\n".join(lines) + "\n"
    lines += [
        line
        for words in (asked_text(need), cheapest_text(need))
        if words
        for line in paper.wrap(words, first=_INDENT, rest=_INDENT)
    ]
    lines += _findings(need, paper)
    lines += ["", *_table(need, paper), "", *_nights(need, paper)]
    lines += ["", *_assumed(need, paper, working=working)]
    if working:
        lines += _workings(need, paper)
    else:
        lines += ["", *paper.wrap("--working adds every line of the arithmetic.")]
    return "\n".join(lines) + "\n"


def asked_text(need: Need) -> str:
    """What the setting asked for would change.

    Args:
        need: The need. [-]

    Returns:
        A sentence; empty where the plan asks for the smallest that serves. [-]
    """
    asked = next((s for s in need.settings if s.setting_a == need.asked_a), None)
    smallest = need.at_smallest
    if asked is None or smallest is None or asked is smallest:
        return ""
    if asked.setting_a < smallest.setting_a:
        missed = mornings(asked.mornings_missed_per_year)
        return f"The plan asks for {asked.setting_a:g} A, which misses {missed} a year."
    share = _heat_share(smallest, asked)
    heat = "" if share is None else f" and makes {share_text(share)} of the run's heat"
    return (
        f"The plan asks for {asked.setting_a:g} A: {smallest.setting_a:g} A serves as "
        f"well{heat}."
    )


def _heat_share(small: SettingNeed, large: SettingNeed) -> float | None:
    if small.outlook is None or large.outlook is None:
        return None
    if small.outlook.loss_w is None or not large.outlook.loss_w:
        return None
    return small.outlook.loss_w / large.outlook.loss_w


def cheapest_text(need: Need) -> str:
    """What charging in each night's cheapest hours only would ask.

    Args:
        need: The need. [-]

    Returns:
        A sentence; empty where no hours differ in price. [-]
    """
    if all(each.missed_in_cheapest_hours is None for each in need.settings):
        return ""
    smallest_a = need.smallest_in_cheapest_hours_a
    if smallest_a is not None:
        return f"In each night's cheapest hours alone it takes {smallest_a:g} A."
    largest = need.settings[-1]
    missed = mornings(largest.missed_in_cheapest_hours or 0.0)
    return (
        "In each night's cheapest hours alone no setting is enough: "
        f"{largest.setting_a:g} A misses {missed} a year."
    )


def _untold(need: Need, paper: Paper) -> Iterator[str]:
    for unknown in need.unknowns:
        yield from paper.wrap(
            f"{unknown.field}: {unknown.question} Look: {unknown.look}.",
            first="- ",
            rest="  ",
        )


def _findings(need: Need, paper: Paper) -> Iterator[str]:
    for finding in need.findings:
        if finding.outcome is Outcome.FALLS_SHORT:
            yield from paper.wrap(
                finding.next, first=f" {paper.mark(finding.outcome)}  ", rest=_INDENT
            )


def _table(need: Need, paper: Paper) -> Iterator[str]:
    priced = any(each.cost is not None for each in need.settings)
    timed = any(each.missed_in_cheapest_hours is not None for each in need.settings)
    known = any(each.days_short_per_year is not None for each in need.settings)
    columns = [Column("set", figures=True), Column("missed", figures=True)]
    columns += [Column("empty", figures=True)] * known
    columns += [Column("cheap", figures=True)] * timed
    # Eighty characters hold either the power or what hours of another price add.
    columns += [Column("kW", figures=True)] * (not timed)
    columns += [Column("kWh", figures=True)]
    columns += [Column("cost", figures=True)] * priced
    columns += [Column("at once", figures=True)] * (priced and timed)
    columns += [
        Column("lost", figures=True),
        Column("hottest", figures=True),
        Column("device", figures=True),
        Column("asks"),
    ]
    rows = [_row(each, known, timed, priced) for each in need.settings]
    yield from paper.table(tuple(columns), rows)
    yield from paper.wrap(_key(need, known, timed, priced))


def _row(each: SettingNeed, known: bool, timed: bool, priced: bool) -> tuple[str, ...]:
    outlook, code = each.outlook, each.code
    cells = [f"{each.setting_a:g} A", count_text(each.mornings_missed_per_year)]
    cells += [count_text(each.days_short_per_year)] * known
    cells += [count_text(each.missed_in_cheapest_hours)] * timed
    cells += [f"{each.power_kw:.1f}"] * (not timed)
    cells += [f"{each.energy_kwh:,.0f}"]
    cells += [_whole(each.cost)] * priced
    cells += [_whole(each.cost_at_once)] * (priced and timed)
    cells += [
        _whole(each.loss_kwh),
        degrees_text(outlook.hottest_c if outlook else None),
        "unknown"
        if code is None or code.overcurrent_a is None
        else f"{code.overcurrent_a:g} A",
        duties_text(each),
    ]
    return tuple(cells)


def duties_text(each: SettingNeed) -> str:
    """What the code asks beside the overcurrent device, in letters.

    Args:
        each: The setting. [-]

    Returns:
        d and g, with a question mark where it cannot be told. [-]
    """
    if each.code is None:
        return "unknown"
    marks = [
        letter + ("?" if duty.is_required is None else "")
        for letter, duty in (("d", each.code.disconnect), ("g", each.code.ground_fault))
        if duty.is_required is not False
    ]
    return " ".join(marks) or "neither"


def count_text(count: float | None) -> str:
    """A mean number of mornings or drives.

    Args:
        count: The mean; None if unknown. [-]

    Returns:
        A whole number, or that it is less than one. [-]
    """
    if count is None:
        return "unknown"
    return "<1" if 0 < count < 1 else f"{count:.0f}"


def _whole(amount: float | None) -> str:
    return "unknown" if amount is None else f"{amount:,.0f}"


def _key(need: Need, known: bool, timed: bool, priced: bool) -> str:
    words = "A year: missed, mornings a car leaves short of full"
    words += "; empty, drives that the battery does not hold" * known
    words += "; cheap, missed charging in each night's cheapest hours only" * timed
    words += "; kWh at the wall"
    words += f"; cost, the cheapest fill, {need.currency}" * priced
    words += "; at once, the cost from plugging in on" * (priced and timed)
    words += "; lost, kWh between panel and charger"
    return (
        f"{words}. Hottest: the hottest point at the setting. Device: the least "
        "overcurrent device. Asks: d, a disconnect; g, ground-fault "
        "protection of the outlet."
    )


def _nights(need: Need, paper: Paper) -> Iterator[str]:
    yield "What each kind of night asks"
    for night in need.nights:
        yield from paper.wrap(night_text(night), first="- ", rest="  ")
    if need.closed_form_a is not None:
        yield from paper.wrap(
            f"Each of them is filled by itself from {need.closed_form_a:g} A on."
        )


def night_text(night: Night) -> str:
    """One kind of night in words.

    Args:
        night: The night. [-]

    Returns:
        A sentence. [-]
    """
    return (
        f"{night.car}, {night.name}: {night.energy_kwh:.1f} kWh in {night.hours:.4g} h "
        f"at {night.voltage_v:.0f} V: {night.required_a:.1f} A."
    )


def _assumed(need: Need, paper: Paper, *, working: bool) -> Iterator[str]:
    yield "Taken as given"
    for each in need.assumptions:
        why = f" ({each.why})" if working else ""
        yield from paper.wrap(f"{each.text}{why}", first="- ", rest="  ")


def _workings(need: Need, paper: Paper) -> Iterator[str]:
    yield ""
    yield from working_lines(need.working, paper)
    for each in need.settings:
        if each.code is not None:
            yield ""
            title = f"What the code asks at {each.setting_a:g} A"
            yield from working_lines(Working(title, each.code.lines), paper)
