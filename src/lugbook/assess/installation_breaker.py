"""The charger's breaker in its panel: spaces, legs, label, stabs, neighbours."""

from __future__ import annotations

from lugbook.assess.circuit_parts import check, fact_check
from lugbook.assess.installation_parts import Check, Sheet, fact, joined, value_of
from lugbook.assess.panel_positions import (
    beside,
    free_pairs,
    is_pair,
    leg_of,
    opposite,
)
from lugbook.finding import Line, SignalWord, Weight
from lugbook.premises.panel import Breaker, Panel

__all__ = ["inspect_breaker"]

_OF_ITS_OWN_KIND = "vehicle charging"


def inspect_breaker(sheet: Sheet) -> None:
    """Write what there is to say of the breaker's place in its panel.

    Args:
        sheet: The sheet. [-]
    """
    panel = sheet.panel
    _arc_fault(sheet)
    _both_open(sheet)
    if panel is None:
        return
    _identified(sheet, panel)
    _spaces(sheet, panel)
    _both_legs(sheet, panel)
    _tandems(sheet, panel)
    _largest(sheet, panel)
    _stab(sheet, panel)
    _full_rating(sheet, panel)
    _neighbours(sheet, panel)


def _positions(sheet: Sheet) -> tuple[int, ...]:
    return tuple(sheet.circuit.positions) if sheet.circuit else ()


def _others(sheet: Sheet, panel: Panel) -> tuple[Breaker, ...]:
    """Return the panel's breakers but the charger's own, if it is listed there."""
    circuit, charger = sheet.circuit, sheet.plan.charger
    own = {each.id for each in (circuit, charger) if each is not None}
    return tuple(each for each in panel.breakers if own.isdisjoint(each.serves))


def _arc_fault(sheet: Sheet) -> None:
    rule = sheet.edition.rule("arc-fault")
    sheet.not_required(
        "panel.arc_fault",
        "Must the charger's circuit have arc-fault protection?",
        rule.citation,
        f"None is asked for: the rule speaks of {rule.number('voltage_v'):g} V "
        f"circuits up to {rule.number('rating_up_to_a'):g} A.",
    )


def _both_open(sheet: Sheet) -> None:
    """Write whether both legs open together; the number of poles is judged apart."""
    device = sheet.circuit.overcurrent if sheet.circuit else None
    if device is None or device.common_trip is None:
        return
    rule = sheet.edition.rule("two-pole-device")
    sheet.answer(
        "panel.common_trip",
        "Do both poles of the breaker trip together?",
        (
            fact(
                device.common_trip,
                found=("common trip", "handles tied, no common trip"),
                limit="both legs opened together",
                citation=rule.citation,
                short=(
                    "Take a two-pole breaker: identified handle ties are permitted, "
                    "but a trip on one leg may leave the other live."
                ),
                open_="",
                weight=Weight.ADVICE,
            ),
        ),
    )


def _identified(sheet: Sheet, panel: Panel) -> None:
    """Write whether the panel's label, or a classified list, names the breaker."""
    device = sheet.circuit.overcurrent if sheet.circuit else None
    kind = value_of(device.type) if device else None
    listed = value_of(device.listed_for_panel) if device else None
    on_label = panel.breaker_types_on_label
    named = kind is not None and kind in on_label
    if device is None or (device.rating is None and listed is None):
        return
    passes: bool | None = listed
    if listed is None and named:
        passes = True
    elif listed is None and kind is not None and on_label:
        passes = False
    sheet.answer(
        "panel.breaker_identified",
        "Does this breaker belong in this panel?",
        (
            fact_check(
                passes,
                found=kind
                or (
                    None
                    if passes is None
                    else "on the list"
                    if passes
                    else "not on the list"
                ),
                limit="on the panel's label, or on a classified list that names it",
                citation=sheet.citation("breaker-identified"),
                next=(
                    "Read the breaker types on the label inside the panel's door, and "
                    "the type on the breaker."
                    if passes is None
                    else "Take a breaker of a type on the panel's label: one that only "
                    "fits grips the stab poorly, heats and may burn. Go on when its "
                    "type is on the label or a classified list."
                ),
                signal=SignalWord.WARNING,
            ),
        ),
        lines=tuple(
            Line("type on the panel's label", each, source=f"plan, panels.{panel.id}")
            for each in on_label
        ),
        unknown=(
            (
                "circuit.overcurrent.listed_for_panel",
                "Does the panel's label, or a classified list, name this breaker?",
                "label inside the panel's door, and the breaker's side",
            ),
        ),
        open_weight=Weight.MUST if sheet.is_proposed else Weight.ADVICE,
    )


def _spaces(sheet: Sheet, panel: Panel) -> None:
    """Write whether a two-pole breaker finds two spaces one above the other."""
    positions = _positions(sheet)
    question = "Is there a place for a two-pole breaker?"
    if not positions:
        _free_space(sheet, panel, question)
        return
    taken = {p: each for each in _others(sheet, panel) for p in each.positions}
    spaces = value_of(panel.spaces)
    checks = [
        _plain(
            is_pair(positions),
            found=_numbers(positions),
            limit="two spaces one above the other on one side",
            next=(
                "Choose two spaces one above the other on the same side: a two-pole "
                "breaker fits no other, and only these lie on both legs."
            ),
        )
    ]
    if spaces is not None:
        checks.append(
            _plain(
                max(positions) <= spaces,
                found=_numbers(positions),
                limit=f"within {spaces} spaces",
                next=f"Read the numbers again: {panel.id} has {spaces} spaces.",
            )
        )
    clash = sorted(p for p in positions if p in taken)
    if clash or taken:
        checks.append(
            _plain(
                not clash,
                found=f"{_numbers(clash)} taken" if clash else _numbers(positions),
                limit="free spaces",
                next=f"Choose other spaces: a breaker sits in {_numbers(clash)}.",
            )
        )
    free = panel.free_positions
    if free and not clash:
        not_free = sorted(set(positions) - set(free))
        checks.append(
            _plain(
                not not_free,
                found=_numbers(positions),
                limit="free spaces",
                next=(
                    f"Look again: {_numbers(not_free)} is not among the free spaces. "
                    f"Free pairs: {_pairs(free)}."
                ),
            )
        )
    sheet.answer("panel.spaces", question, checks)


def _free_space(sheet: Sheet, panel: Panel, question: str) -> None:
    free = panel.free_positions
    pairs = free_pairs(free)
    sheet.answer(
        "panel.spaces",
        question,
        (
            fact_check(
                None if not free else bool(pairs),
                found=_pairs(free) if pairs else _numbers(free) if free else None,
                limit="two spaces one above the other on one side",
                citation=sheet.citation("breaker-identified"),
                next=(
                    f"State which spaces of {panel.id} are free."
                    if not free
                    else "Make room: move a single-pole circuit, use tandem breakers "
                    "where the label allows them, or have a subpanel fitted."
                ),
            ),
        ),
        unknown=(
            (
                f"panels.{panel.id}.free_positions",
                f"Which spaces of {panel.id} are free?",
                "filler plates, with the numbers beside them",
            ),
        ),
        done=f"Free: {_pairs(free)}.",
    )


def _both_legs(sheet: Sheet, panel: Panel) -> None:
    """Write whether the two poles lie on two legs."""
    positions = _positions(sheet)
    own = [each for each in panel.breakers if each not in _others(sheet, panel)]
    tandem = any(each.tandem is not None and each.tandem.value for each in own)
    stated = next((each.leg for each in own if each.leg is not None), None)
    if not positions and not own:
        return
    legs = {leg_of(p) for p in positions}
    passes: bool | None = len(legs) == 2
    if tandem or stated in ("A", "B"):
        passes = False
    elif not positions:
        passes = stated == "both" or None
    found = "one leg" if passes is False else "both legs" if passes else None
    sheet.answer(
        "panel.both_legs",
        "Do the breaker's two poles lie on two legs?",
        (
            _plain(
                passes,
                found=found,
                limit="one pole on each leg",
                next=(
                    "State circuit.positions."
                    if passes is None
                    else "Choose a full-size breaker in two rows: with both poles on "
                    "one leg the charger gets 0 V instead of 240 V."
                ),
            ),
        ),
        lines=tuple(
            Line(
                f"leg of space {p}",
                leg_of(p),
                "",
                "rows take the legs in turn",
                source="common practice of makers; the label's diagram goes before it",
            )
            for p in positions
        ),
        unknown=(
            (
                "circuit.positions",
                "In which spaces will the charger's breaker sit?",
                "numbers beside the handles",
            ),
        ),
    )


def _tandems(sheet: Sheet, panel: Panel) -> None:
    """Write whether tandem breakers sit only where the label allows them."""
    tandems = [e for e in panel.breakers if e.tandem is not None and e.tandem.value]
    if not tandems:
        return
    allowed = set(panel.tandem_allowed_positions)
    places = sorted({p for each in tandems for p in each.positions})
    stray = [p for p in places if p not in allowed]
    rule = sheet.edition.rule("tandem-breakers")
    sheet.answer(
        "panel.tandems",
        "Do tandem breakers sit only where the label allows them?",
        (
            fact_check(
                None if not allowed else not stray,
                found=_numbers(stray or places),
                limit=_numbers(sorted(allowed)) if allowed else "spaces on the label",
                citation=rule.citation,
                next=(
                    "Read on the label's diagram which spaces take tandem breakers."
                    if not allowed
                    else f"Have the tandem breakers in {_numbers(stray)} taken out: "
                    "the panel is not made for so many circuits."
                ),
            ),
        ),
        unknown=(
            (
                f"panels.{panel.id}.tandem_allowed_positions",
                f"In which spaces of {panel.id} are tandem breakers allowed?",
                "diagram on the label inside the door",
            ),
        ),
    )


def _largest(sheet: Sheet, panel: Panel) -> None:
    device_a = sheet.case.judged_device_a
    limit_a = value_of(panel.largest_breaker_on_label)
    if device_a is None:
        return
    sheet.answer(
        "panel.largest_breaker",
        "Does the panel take so large a branch breaker?",
        (
            check(
                found=(device_a, device_a),
                limit=(limit_a, limit_a),
                unit="A",
                citation=sheet.citation("breaker-identified"),
                next=(
                    "Read on the label inside the door how large a branch breaker may "
                    "be."
                    if limit_a is None
                    else f"Take a lower setting, so that {limit_a:g} A will do, or "
                    "feed the charger from a panel that takes the larger breaker."
                ),
            ),
        ),
        unknown=(
            (
                f"panels.{panel.id}.largest_breaker_on_label",
                f"How large a branch breaker does the label of {panel.id} allow?",
                "label inside the door",
            ),
        ),
    )


def _stab(sheet: Sheet, panel: Panel) -> None:
    """Write the largest sum of breakers on one stab, with the charger's."""
    device_a, positions = sheet.case.judged_device_a, _positions(sheet)
    if device_a is None or not positions:
        return
    facing = {
        p: value_of(each.rating)
        for each in _others(sheet, panel)
        for p in each.positions
    }
    across = {p: facing[opposite(p)] for p in positions if opposite(p) in facing}
    limit_a = value_of(panel.stab_limit)
    if not across and limit_a is None:
        return
    ratings = [each for each in across.values() if each is not None]
    unread = len(ratings) < len(across)
    sum_a = None if unread else device_a + max(ratings, default=0.0)
    least_a = device_a + max(ratings, default=0.0)
    sheet.answer(
        "panel.stab_sum",
        "Does the stab carry this breaker and the one across from it?",
        (
            check(
                found=(least_a, sum_a),
                limit=(limit_a, limit_a),
                unit="A",
                citation=sheet.citation("breaker-identified"),
                next=(
                    "Read on the label how much the breakers on one stab may add up to."
                    if limit_a is None
                    else "Read the rating of the breaker across."
                    if unread
                    else "Choose spaces with a smaller breaker, or none, across from "
                    "them."
                ),
            ),
        ),
        lines=(
            Line(
                "breakers on one stab",
                sum_a,
                "A",
                "this one + the larger across",
                f"{device_a:g} A + {max(ratings, default=0.0):g} A",
                f"plan, panels.{panel.id}.breakers",
            ),
        ),
        unknown=(
            (
                f"panels.{panel.id}.stab_limit",
                f"How much may the breakers on one stab of {panel.id} add up to?",
                "label inside the door",
            ),
        ),
    )


def _full_rating(sheet: Sheet, panel: Panel) -> None:
    """Write whether a breaker marked for 100 % may be used so in this panel."""
    device = sheet.circuit.overcurrent if sheet.circuit else None
    if device is None or not value_of(device.rated_100_percent):
        return
    sheet.answer(
        "panel.hundred_percent",
        "May the breaker carry 100 % of its rating for hours?",
        (
            fact(
                panel.listed_100_percent,
                found=("assembly listed for 100 %", "assembly not so listed"),
                limit="breaker and assembly listed for 100 %",
                citation=sheet.citation(
                    "continuous-load-overcurrent", "listed_full_rating_factor"
                ),
                short=(
                    "Treat the breaker as any other: its setting stays within 80 % of "
                    "its rating. House panels are hardly ever listed for more."
                ),
                open_="Read on the label whether the assembly is listed for 100 %.",
                weight=Weight.ADVICE,
            ),
        ),
        unknown=(
            (
                f"panels.{panel.id}.listed_100_percent",
                f"Is {panel.id} listed as an assembly for 100 % continuous load?",
                "label inside the door",
            ),
        ),
    )


def _neighbours(sheet: Sheet, panel: Panel) -> None:
    """Write which breakers beside it carry continuous load too."""
    positions = _positions(sheet)
    if not positions or not panel.breakers:
        return
    near = set(beside(positions))
    lasting = {
        load.id
        for load in sheet.plan.loads
        if value_of(load.continuous) or load.kind == _OF_ITS_OWN_KIND
    }
    hot = [
        name
        for each in _others(sheet, panel)
        if near.intersection(each.positions)
        for name in each.serves
        if name in lasting
    ]
    touching = [e for e in _others(sheet, panel) if near.intersection(e.positions)]
    sheet.answer(
        "panel.neighbours",
        "Does a breaker beside it carry load for hours too?",
        (
            fact_check(
                not hot,
                found=joined(hot)
                if hot
                else f"{len(touching)} beside it, none of them for hours"
                if touching
                else "none beside it",
                limit="none, or a filler plate between",
                citation=None,
                next=(
                    "Move one of them so that a space or a light load lies between: "
                    "they warm each other and trip early. Common practice, no source."
                ),
                weight=Weight.ADVICE,
            ),
        ),
        weight=Weight.ADVICE,
    )


def _plain(passes: bool | None, *, found: str | None, limit: str, next: str) -> Check:
    return fact_check(passes, found=found, limit=limit, citation=None, next=next)


def _numbers(positions: tuple[int, ...] | list[int]) -> str:
    return joined(str(each) for each in positions) if positions else "none"


def _pairs(free: tuple[int, ...]) -> str:
    pairs = free_pairs(free)
    return ", ".join(f"{one} and {two}" for one, two in pairs) if pairs else "none"
