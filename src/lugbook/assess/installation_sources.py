"""Other sources: solar on the bus before and after the charger, standby, export."""

from __future__ import annotations

from lugbook.assess.circuit_parts import check, fact_check
from lugbook.assess.installation_parts import Check, Sheet, fact, joined, value_of
from lugbook.codebook.nfpa70.other_sources import (
    BusSum,
    bus_sum_of_devices,
    bus_with_source,
    largest_source_a,
)
from lugbook.finding import Line, SignalWord, Weight
from lugbook.premises.equipment import OtherSource, StandbySource
from lugbook.premises.panel import Panel

__all__ = ["inspect_sources"]

_MAIN_AND_SOURCE = "main plus source within the bus"
_OPPOSITE_END = "opposite end, 120 % of the bus"
_SUM_OF_BREAKERS = "sum of breakers within the bus"
_BY_OTHERS = ("engineering supervision", "power control system")


def inspect_sources(sheet: Sheet) -> None:
    """Write what there is to say of sources beside the service.

    Args:
        sheet: The sheet. [-]
    """
    _unsaid(sheet)
    for source in sheet.plan.sources:
        if value_of(source.connected) == "supply side":
            _supply_side(sheet, source)
        else:
            _bus(sheet, source)
        _sign(sheet, source)
    for standby in sheet.plan.standby:
        _standby(sheet, standby)
    _export(sheet)


def _unsaid(sheet: Sheet) -> None:
    """Write that nobody said whether the house has other sources."""
    absent = sheet.plan.dwelling.not_present
    held = [
        *(str(each.kind) for each in sheet.plan.sources),
        *(str(each.kind) for each in sheet.plan.standby),
    ]
    # One that is stated answers for its kind; the others are asked about.
    unsaid = [
        kind
        for kind in ("solar", "battery", "generator")
        if kind not in absent and not any(kind in each for each in held)
    ]
    if not unsaid:
        return
    sheet.answer(
        "sources.unsaid",
        "Has the house a source of its own?",
        (
            fact_check(
                None,
                found=None,
                limit="stated, or said not to be there",
                citation=sheet.citation("solar-bus"),
                next=(
                    f"Say in dwelling.not_present what is not there: "
                    f"{joined(unsaid)}; or describe it."
                ),
            ),
        ),
        unknown=(
            (
                "dwelling.not_present",
                f"Has the house {', '.join(unsaid[:-1])}{' or ' * (len(unsaid) > 1)}"
                f"{unsaid[-1]}?",
                "roof, garage, meter and panel: a second source has a sign there",
            ),
        ),
    )


def _panel_of(sheet: Sheet, source: OtherSource) -> Panel | None:
    panels = sheet.plan.panels
    named = next((each for each in panels if each.id == source.fed_to), None)
    return named or (panels[0] if len(panels) == 1 else None)


def _main_a(sheet: Sheet, panel: Panel) -> float | None:
    """Return the device that protects a panel's bus: its own main, or the service's."""
    own = value_of(panel.main_rating)
    service = sheet.plan.service
    if own is not None or service is None or panel.fed_from != service.id:
        return own
    return value_of(service.main.rating) if service.main else None


def _output_a(source: OtherSource) -> float | None:
    return value_of(source.output)


def _bus(sheet: Sheet, source: OtherSource) -> None:
    """Write whether the approval of a source still holds with the charger's breaker."""
    approved = value_of(source.approved_by)
    panel = _panel_of(sheet, source)
    if approved in _BY_OTHERS:
        _by_others(sheet, source, approved)
        return
    if approved == _SUM_OF_BREAKERS:
        checks, lines = _sum_checks(sheet, source, panel)
    else:
        checks, lines = _main_checks(sheet, source, panel, approved)
    checks = [*checks, *_upstream_checks(sheet, source, panel)]
    path = f"sources.{source.id}"
    panel_id = panel.id if panel else "main_panel"
    bus, main = (panel.bus_rating, _main_a(sheet, panel)) if panel else (None, None)
    missing = (
        (
            f"{path}.approved_by",
            "By which way was the source approved for the bus?",
            "its permit papers, or the solar firm",
            approved,
        ),
        (
            f"{path}.output",
            "Which current does it give?",
            "inverter's label",
            source.output,
        ),
        (
            f"{path}.fed_to",
            "Which panel does it feed into?",
            "where its breaker sits",
            panel,
        ),
        (
            f"panels.{panel_id}.bus_rating",
            "Which current is the panel's bus rated for?",
            "label inside the door",
            bus,
        ),
        (
            f"panels.{panel_id}.main_rating",
            "Which main protects that bus?",
            "the largest handle",
            main,
        ),
    )
    sheet.answer(
        f"sources.bus.{source.id}",
        "Does the bus still carry main and source once the charger's breaker is in?",
        checks,
        lines=lines,
        unknown=tuple(each[:3] for each in missing if each[3] is None),
        open_weight=Weight.MUST,
    )


def _upstream_checks(
    sheet: Sheet, source: OtherSource, panel: Panel | None
) -> tuple[Check, ...]:
    """Return the open question of the panels between a source's panel and the service.

    What the source gives runs back through its feeder into their buses too, and where
    a feeder's breaker sits on such a bus the plan does not say.
    """
    service = sheet.plan.service
    if panel is None or panel.fed_from is None or service is None:
        return ()
    if panel.fed_from == service.id:
        return ()
    return (
        fact_check(
            None,
            found=f"{panel.id} is behind {panel.fed_from}",
            limit="every bus on the way to the service bears main and source",
            citation=sheet.citation("solar-bus"),
            next=(
                f"Ask the solar firm for the sum at every panel before {panel.id}, and "
                f"at the feeder {panel.fed_from}: what {source.id} gives runs back "
                "through them."
            ),
        ),
    )


def _main_checks(
    sheet: Sheet, source: OtherSource, panel: Panel | None, approved: str | None
) -> tuple[list[Check], tuple[Line, ...]]:
    """Return the checks of the two ways into which the charger does not enter."""
    rule = sheet.edition.rule("solar-bus")
    bus_a = value_of(panel.bus_rating) if panel else None
    main_a = _main_a(sheet, panel) if panel else None
    source_a = _output_a(source)
    at_end = value_of(source.at_opposite_end)
    if bus_a is None or main_a is None or source_a is None:
        open_ = fact_check(
            None,
            found=None,
            limit="main and source within what the bus may carry",
            citation=rule.citation,
            next="State bus, main and output of the source.",
        )
        return [open_], ()
    by_end = bus_with_source(
        edition=sheet.edition,
        bus_a=bus_a,
        main_a=main_a,
        source_a=source_a,
        is_at_opposite_end=approved == _OPPOSITE_END
        or (approved is None and at_end is True),
    )
    most_a = largest_source_a(edition=sheet.edition, bus_a=bus_a, main_a=main_a)
    checks = [
        check(
            found=(by_end.sum_a, by_end.sum_a),
            limit=(by_end.limit_a, by_end.limit_a),
            unit="A",
            citation=rule.citation,
            next=(
                "Have the solar firm mend it before anything is added: main and "
                "source can put more on the bus than it carries, and no breaker "
                f"opens. At the far end {most_a:g} A of source would do."
            ),
            signal=SignalWord.WARNING,
        )
    ]
    if approved is None and panel is not None:
        checks.append(_unknown_way(sheet, source, panel, bus_a))
    if approved == _OPPOSITE_END:
        checks.append(
            fact(
                source.at_opposite_end,
                found=("at the far end", "not at the far end"),
                limit="source and main at opposite ends of the bus",
                citation=rule.citation,
                short=(
                    "Have the source's breaker put back to the end away from the "
                    "main: elsewhere the bus between them carries both."
                ),
                open_="See whether its breaker sits at the end away from the main.",
                signal=SignalWord.WARNING,
            )
        )
        positions = sheet.circuit.positions if sheet.circuit else ()
        own = value_of(source.position)
        if own is not None and own in positions:
            checks.append(
                fact_check(
                    False,
                    found=f"space {own}",
                    limit="the source's breaker stays at the far end",
                    citation=rule.citation,
                    next="Put the charger's breaker elsewhere: that end is the "
                    "source's.",
                )
            )
    without = Line(
        "charger's breaker", "does not enter this sum", source="two of the three ways"
    )
    return checks, (*by_end.lines, without)


def _unknown_way(
    sheet: Sheet, source: OtherSource, panel: Panel, bus_a: float
) -> Check:
    """Return that the way is unknown, open only if the strictest of them fails."""
    total = _summed(sheet, source, panel, bus_a, with_charger=True)
    outcome = None
    if total is not None:
        compared = check(
            found=(total.sum_a, total.sum_a),
            limit=(total.limit_a, total.limit_a),
            unit="A",
            citation=None,
            next="",
        )
        outcome = True if compared.outcome.value in ("meets", "narrow") else None
    return fact_check(
        outcome,
        found=None,
        limit="the way it was approved",
        citation=sheet.citation("solar-bus"),
        next=(
            "Ask which way of approval was used: the sum of all breakers dies when the "
            "charger's is added, the other ways do not."
        ),
    )


def _summed(
    sheet: Sheet, source: OtherSource, panel: Panel, bus_a: float, *, with_charger: bool
) -> BusSum | None:
    """Return all breakers but the main, the source's too; None if one is unread."""
    circuit, charger = sheet.circuit, sheet.plan.charger
    own = {each.id for each in (circuit, charger, source) if each is not None}
    ratings = [
        value_of(each.rating) for each in panel.breakers if own.isdisjoint(each.serves)
    ]
    ratings.append(value_of(source.overcurrent))
    if with_charger:
        ratings.append(sheet.case.judged_device_a)
    known = [each for each in ratings if each]
    if not panel.breakers or len(known) < len(ratings):
        return None
    return bus_sum_of_devices(edition=sheet.edition, bus_a=bus_a, devices_a=known)


def _sum_checks(
    sheet: Sheet, source: OtherSource, panel: Panel | None
) -> tuple[list[Check], tuple[Line, ...]]:
    """Return the checks of the way that counts every breaker, before and after."""
    rule = sheet.edition.rule("solar-bus")
    bus_a = value_of(panel.bus_rating) if panel else None
    before = after = None
    if panel is not None and bus_a is not None:
        before = _summed(sheet, source, panel, bus_a, with_charger=False)
        after = _summed(sheet, source, panel, bus_a, with_charger=True)
    sum_a = after.sum_a if after else None
    lines: tuple[Line, ...] = ()
    if before is not None:
        lines += (Line("before the charger", before.sum_a, "A", "sum"),)
    if after is not None:
        lines += after.lines
    each = check(
        found=(sum_a, sum_a),
        limit=(bus_a, bus_a),
        unit="A",
        citation=rule.cite("sum_of_devices_excludes_main", "sum_of_devices_locator"),
        next=(
            "Read the rating of every breaker, the source's too: the approval rests on "
            "their sum."
            if sum_a is None
            else "Have the source approved another way before the breaker is added, or "
            "feed the charger from elsewhere: with it the bus may carry too much."
        ),
        signal=SignalWord.WARNING,
    )
    return [each], lines


def _by_others(sheet: Sheet, source: OtherSource, approved: str) -> None:
    sheet.answer(
        f"sources.bus.{source.id}",
        "Does the bus still carry main and source once the charger's breaker is in?",
        (
            fact_check(
                None,
                found=approved,
                limit="approved again, with the charger's breaker in",
                citation=sheet.citation("solar-bus"),
                next=(
                    "Ask the engineer or the maker of the control system whether the "
                    "approval holds with the charger's breaker in."
                ),
            ),
        ),
        unknown=(
            (
                f"sources.{source.id}.approved_by",
                "Does that approval hold with the charger's breaker in?",
                "the engineer, or the maker of the control system",
            ),
        ),
        open_weight=Weight.MUST,
    )


def _supply_side(sheet: Sheet, source: OtherSource) -> None:
    """Write that a source ahead of the main does not touch the bus."""
    sheet.not_required(
        f"sources.bus.{source.id}",
        "Does the bus still carry main and source once the charger's breaker is in?",
        sheet.citation("solar-bus"),
        "It joins ahead of the main, so the panel's bus carries the main alone; the "
        "service conductors carry both.",
    )


def _sign(sheet: Sheet, source: OtherSource) -> None:
    sheet.answer(
        f"sources.sign.{source.id}",
        "Does a sign at the service name the second source?",
        (
            fact(
                source.label_posted,
                found=("posted", "none"),
                limit="a durable sign at the service",
                citation=sheet.citation("source-sign"),
                short=(
                    "Post a durable sign beside the main that names the source and "
                    "where it is switched off."
                ),
                open_="See whether a sign at the service names the source.",
            ),
        ),
        unknown=(
            (
                f"sources.{source.id}.label_posted",
                "Does a sign at the service name this source?",
                "beside the main",
            ),
        ),
    )


def _standby(sheet: Sheet, source: StandbySource) -> None:
    """Write whether a standby source can carry the charger it is switched to."""
    charger, circuit = sheet.plan.charger, sheet.circuit
    own = {each.id for each in (charger, circuit) if each is not None}
    own |= {circuit.fed_from} if circuit and circuit.fed_from else set()
    reaches = not source.carries or not own.isdisjoint(source.carries)
    if not reaches or not own:
        return
    rule = sheet.edition.rule("standby-capacity")
    transfer = value_of(source.transfer)
    sheds = value_of(source.sheds_charger)
    volts = sheet.wish.voltage_v
    rating_va = value_of(source.rating)
    load_va = (
        None
        if sheet.wish.setting_a is None or volts is None
        else sheet.wish.setting_a * volts
    )
    limit = "the charger kept off, or a source that carries all it is switched to"
    if sheds:
        fits: bool | None = True
        found = "the charger is kept off"
    elif transfer in ("manual", "interlock"):
        fits, found = True, "the user chooses what it carries"
    else:
        # The charger alone over the rating settles it; within it the house still adds.
        alone = check(
            found=(load_va, load_va),
            limit=(rating_va, rating_va),
            unit="VA",
            citation=None,
            next="",
        )
        fits = False if alone.outcome.value == "falls_short" else None
        found = "nothing is known to keep the charger off"
    sheet.answer(
        f"sources.standby.{source.id}",
        "Can the standby source carry the charger it is switched to?",
        (
            fact_check(
                fits,
                found=found,
                limit=limit,
                citation=rule.citation,
                next=(
                    "Have the charger kept off while the source runs, by load "
                    "shedding or a controlled contact: switched to it by itself it "
                    "stalls the source or heats it."
                    if fits is False
                    else "State whether the charger is kept off while the source runs, "
                    "and what else it carries."
                ),
            ),
        ),
        lines=(
            Line("charger at its setting", load_va, "VA", "setting × voltage"),
            Line("rating of the source", rating_va, "VA", source=f"plan, {source.id}"),
            Line(
                "automatic transfer",
                "carries all that is switched to it, or manages the load",
                source=rule.citation,
            ),
        ),
        unknown=(
            (
                f"standby.{source.id}.sheds_charger",
                "Is the charger kept off while the standby source runs?",
                "its load-shedding module, or the transfer switch's directory",
            ),
        ),
        open_weight=Weight.MUST if transfer == "automatic" else Weight.ADVICE,
        done=(
            "Leave the charger off while it runs; the user chooses what it carries."
            if transfer in ("manual", "interlock")
            else ""
        ),
    )


def _export(sheet: Sheet) -> None:
    """Write whether the charger may send power back, which makes it a source."""
    charger = sheet.plan.charger
    if charger is None:
        return
    sheet.answer(
        "sources.export",
        "Can the charger send power back into the house?",
        (
            fact(
                charger.exports_power,
                wanted=False,
                found=("one way only", "sends power back"),
                limit="one way only, or designed as a source from the start",
                citation=sheet.citation("solar-bus"),
                short=(
                    "Have it designed as a source: the rules of the bus, a transfer "
                    "switch and the utility's consent come with it, and are beyond "
                    "this tool."
                ),
                open_="Read the label: bidirectional or not.",
            ),
        ),
        unknown=(
            (
                "charger.exports_power",
                "Can the charger send power from the car back to the house?",
                "its label: bidirectional",
            ),
        ),
    )
