"""People and papers: who works, permit, utility, owners, what replacing brings."""

from __future__ import annotations

from lugbook.assess.capacity import capacity_rows
from lugbook.assess.circuit_parts import check, fact_check
from lugbook.assess.installation_parts import Sheet, fact, joined, told, value_of
from lugbook.assess.load_list import gather
from lugbook.assess.order_of_work import STOP_SIGNS
from lugbook.assess.service_rating import rate_service
from lugbook.codebook.edition import open_edition
from lugbook.finding import Citation, Line, Outcome, SignalWord, Weight, worst
from lugbook.premises.load import Load
from lugbook.premises.plan import Plan
from lugbook.quantities import Quantity, in_unit
from lugbook.readings.evidence import Evidence

__all__ = ["inspect_papers"]

_NEEDED_TO_OPEN = (
    "rated gloves with leather protectors",
    "safety glasses",
    "voltage tester proven before and after",
    "lock and tag",
)
_NEVER_THE_OWNERS = (
    "pulling the meter or breaking its seal",
    "anything on the line side of the main",
    "anything on the drop, the weatherhead or the transformer",
)


def inspect_papers(sheet: Sheet) -> None:
    """Write what there is to say of people and papers.

    Args:
        sheet: The sheet. [-]
    """
    _signs(sheet)
    _who_works(sheet)
    _permit(sheet)
    _dead_first(sheet)
    _utility(sheet)
    _planned_loads(sheet)
    _owners(sheet)
    _replacement(sheet)
    _amendments(sheet)


def _signs(sheet: Sheet) -> None:
    seen = [each for each in sheet.plan.work.signs_seen if each != "none"]
    looked = bool(sheet.plan.work.signs_seen)
    sheet.answer(
        "paper.signs",
        "Was any sign seen on which the work stops and someone is called?",
        (
            fact_check(
                None if not looked else not seen,
                found=", ".join(seen) or ("none" if looked else None),
                limit="none",
                citation=sheet.citation("damaged-parts"),
                next=(
                    " ".join(STOP_SIGNS[each][1] for each in seen)
                    + " Go on when they have found and mended it."
                    if seen
                    else "Look at drop, meter and panel cover with the lights on, and "
                    'write work.signs_seen = ["none"] if there is nothing.'
                ),
                weight=Weight.STOP,
                signal=SignalWord.WARNING,
            ),
        ),
        unknown=(
            (
                "work.signs_seen",
                "Is there any sign of heat, damage or a failing neutral?",
                "drop, meter, panel cover, lights in use",
            ),
        ),
        done="Stop and call if one appears: no figure here overrides it.",
    )


def _who_works(sheet: Sheet) -> None:
    """Write whether those who will do the work may."""
    rule = sheet.edition.rule("qualified-installer")
    rules = sheet.plan.rules
    who, may = value_of(rules.who_works), value_of(rules.owner_may_work)
    never = f"Never the owner's: {joined(_NEVER_THE_OWNERS)}."
    passes: bool | None = None
    if who == "licensed electrician":
        passes = True
    elif who == "owner":
        needs_qualified = not rule.absent and sheet.wish.hard_wired is not False
        passes = None if may or may is None else False
        if may and not needs_qualified:
            passes = True
    sheet.answer(
        "paper.who_works",
        "May those who will do the work do it?",
        (
            fact_check(
                passes,
                found=who,
                limit="a licensed electrician, or an owner whom local law lets",
                citation=None if rule.absent else rule.citation,
                next=(
                    "Have a licensed electrician do it: local law does not let an "
                    f"owner. {never}"
                    if passes is False
                    else "Ask the building department whether an owner may do this "
                    "work"
                    + (
                        ", and whether you count as a qualified person, whom this "
                        "edition asks for"
                        if not rule.absent
                        else ""
                    )
                    + f". {never}"
                ),
            ),
        ),
        unknown=(
            ("rules.who_works", "Who will do the work?", "yourself"),
            (
                "rules.owner_may_work",
                "May an owner do this work where the house stands?",
                "ask the building department",
            ),
        ),
        done=never,
    )


def _permit(sheet: Sheet) -> None:
    permit = value_of(sheet.plan.rules.permit)
    sheet.answer(
        "paper.permit",
        "Is there a permit?",
        (
            fact_check(
                None if permit is None else True,
                found=permit,
                limit="a permit, before the work begins",
                citation=None,
                next=(
                    "Ask the building department for one: without it insurance and a "
                    "later sale are in doubt."
                ),
            ),
        ),
        unknown=(("rules.permit", "Is there a permit?", "permit card or form"),),
        weight=Weight.ADVICE,
    )


def _dead_first(sheet: Sheet) -> None:
    """Write that parts stay live with the main off, and what opening it needs."""
    service, held = sheet.plan.service, sheet.plan.work.protective_equipment
    upstream = service is not None and value_of(service.emergency_disconnect)
    missing = [each for each in _NEEDED_TO_OPEN if each not in held]
    live = (
        "With the outdoor disconnect off and locked the panel is dead, once tested so; "
        "up to that disconnect parts stay live."
        if upstream
        else "With the main off its line side stays live, at the full fault current; "
        "only the utility can make it dead."
    )
    sheet.answer(
        "paper.dead_first",
        "Is what is needed to open the cover safely at hand?",
        (
            fact_check(
                None if not held else not missing,
                found=", ".join(held) or None,
                limit=", ".join(_NEEDED_TO_OPEN),
                citation=None,
                next=(
                    f"{live} Leave the cover on until there are: "
                    f"{joined(missing)}. Off, locked, tagged and tested dead comes "
                    "before any part is touched."
                ),
                weight=Weight.ADVICE,
                signal=SignalWord.WARNING,
            ),
        ),
        unknown=(
            (
                "work.protective_equipment",
                "What protects whoever opens the cover?",
                "the tool bag",
            ),
        ),
        weight=Weight.ADVICE,
        done=live,
    )


def _utility(sheet: Sheet) -> None:
    """Write whether the utility wants to be told of the new load."""
    service, wish = sheet.plan.service, sheet.wish
    stated = service.utility_asks_from if service else None
    rule = sheet.limits.rule("utility-notice")
    from_va = rule.number("from_w") if stated is None else stated.value
    load_va = (
        None
        if wish.setting_a is None or wish.voltage_v is None
        else wish.setting_a * wish.voltage_v
    )
    informed = value_of(service.utility_told) if service else None
    small = check(
        found=(load_va, load_va),
        limit=(from_va, from_va),
        unit="VA",
        citation=None if stated is not None else rule.citation,
        next="",
        weight=Weight.ADVICE,
    )
    # A load that just reaches the figure is to be told of, so it does not pass.
    tells = small.outcome is Outcome.FALLS_SHORT or small.margin == 0
    each = small
    if tells:
        each = fact_check(
            informed,
            found=f"{load_va:,.0f} VA, utility {'told' if informed else 'not told'}",
            limit=f"told from {from_va:,.0f} VA on",
            citation=small.citation,
            next=(
                "Write to the utility before buying, and ask whether transformer and "
                "drop will do, what the fault current is, and what it costs."
            ),
            weight=Weight.ADVICE,
        )
    sheet.answer(
        "paper.utility",
        "Must the utility be told of the new load?",
        (
            told(
                each,
                open_="State whether the utility was told: write before buying.",
                short=each.next,
            ),
        ),
        lines=(
            Line("new load", load_va, "VA", "setting × voltage"),
            Line(
                "told from",
                from_va,
                "VA",
                source=rule.citation if stated is None else "plan, utility_asks_from",
            ),
        ),
        unknown=(
            (
                "service.utility_told",
                "Was the utility told of the new load?",
                "your letter, and its answer",
            ),
        ),
        weight=Weight.ADVICE,
    )


def _planned_loads(sheet: Sheet) -> None:
    """Write whether the service still carries the house with what is planned."""
    planned = [load for load in sheet.plan.loads if load.state == "planned"]
    if not planned:
        return
    then = sheet.plan.model_copy(
        update={"loads": tuple(_as_proposed(load) for load in sheet.plan.loads)}
    )
    best_now, best_then = (_best(sheet, plan) for plan in (sheet.plan, then))
    names = joined(load.name or load.kind for load in planned)
    lines = tuple(
        Line(
            label,
            amperes,
            "A",
            "best prudent reading of a permitted method, measured demand apart",
        )
        for label, (amperes, _, _) in (("now", best_now), ("then", best_then))
    )
    amperes, limit_a, _ = best_then
    sheet.answer(
        "paper.planned_loads",
        "Does the service still carry the house once the planned loads come?",
        (
            check(
                found=(amperes, amperes),
                limit=(limit_a, limit_a),
                unit="A",
                citation=sheet.citation("continuous-factor-calculation"),
                next=(
                    f"Think of {names} now: with it the service is too small. A lower "
                    "setting or load management may save an upgrade."
                ),
                kind="fraction",
                weight=Weight.ADVICE,
            ),
        ),
        lines=lines,
        weight=Weight.ADVICE,
        done=f"Reckoned with {names}.",
    )


def _as_proposed(load: Load) -> Load:
    if load.state != "planned":
        return load
    return load.model_copy(update={"state": "proposed", "year": None})


def _best(sheet: Sheet, plan: Plan) -> tuple[float | None, float | None, Outcome]:
    rating = rate_service(plan, sheet.edition)
    rows = [
        row
        for row in capacity_rows(
            plan=plan,
            edition=sheet.edition,
            evidence=Evidence((), None),
            loads=gather(plan, sheet.edition),
            rating=rating,
            wish=sheet.wish,
        )
        if row.permitted and row.prudent and row.amperes is not None
    ]
    if not rows:
        return None, rating.limit_a, Outcome.CANNOT_TELL
    best = min(rows, key=lambda row: row.amperes or 0.0)
    # A row that cannot be told is a lower bound only, so it gives no number.
    told_a = None if best.outcome is Outcome.CANNOT_TELL else best.amperes
    return told_a, rating.limit_a, worst((best.outcome,))


def _owners(sheet: Sheet) -> None:
    """Write whether every part of the service has an owner named."""
    service = sheet.plan.service
    if service is None:
        return
    parts = (
        ("drop", service.drop_owner, "drop_owner"),
        ("meter base", service.meter_base_owner, "meter_base_owner"),
        ("service conductors", service.conductor_owner, "conductor_owner"),
    )
    missing = [(name, field) for name, stated, field in parts if stated is None]
    named = ", ".join(f"{name}: {s.value}" for name, s, _ in parts if s is not None)
    sheet.answer(
        "paper.owners",
        "Does every part of the service have an owner named?",
        (
            fact_check(
                None if missing else True,
                found=named or None,
                limit="utility or owner, for each part",
                citation=None,
                next=(
                    f"Ask the utility who owns: {joined(n for n, _ in missing)}. "
                    "Nobody touches what is the utility's."
                    if missing
                    else ""
                ),
            ),
        ),
        unknown=tuple(
            (f"service.{field}", f"Who owns the {name}?", "utility's service manual")
            for name, field in missing
        ),
        weight=Weight.ADVICE,
        done="Nobody touches what is the utility's.",
    )


def _replacement(sheet: Sheet) -> None:
    """Write what replacing panel or service brings with it."""
    scope = value_of(sheet.plan.work.scope)
    emergency = sheet.edition.rule("emergency-disconnect")
    surge = sheet.edition.rule("surge-protection")
    question = "Does replacing service equipment bring other duties with it?"
    if scope in ("circuit only", "new feeder"):
        sheet.not_required(
            "paper.replacement",
            question,
            emergency.citation,
            "None: service equipment stays as it is.",
        )
        return
    if scope is None:
        sheet.answer(
            "paper.replacement",
            question,
            (
                fact_check(
                    None,
                    found=None,
                    limit="the reach of the work stated",
                    citation=emergency.citation,
                    next=(
                        "State work.scope: a new panel or service brings an outdoor "
                        "disconnect, a surge device and a look at the ground with it."
                    ),
                ),
            ),
            unknown=(("work.scope", "How far does the work reach?", "the quote"),),
        )
        return
    service = sheet.plan.service
    for name, rule, stated, what in (
        (
            "emergency_disconnect",
            emergency,
            service.emergency_disconnect if service else None,
            "an outdoor disconnect that turns the whole house off",
        ),
        (
            "surge_protection",
            surge,
            service.surge_protection if service else None,
            "a surge-protective device at the service",
        ),
    ):
        asked = f"Does the new service equipment have {what}?"
        if rule.absent:
            sheet.not_required(
                f"paper.{name}", asked, rule.citation, "This edition does not ask."
            )
            continue
        sheet.answer(
            f"paper.{name}",
            asked,
            (
                fact(
                    stated,
                    found=("yes", "no"),
                    limit=what,
                    citation=rule.citation,
                    short=f"Have the quote include {what}.",
                    open_=f"State service.{name}; the quote should name it.",
                ),
            ),
            unknown=((f"service.{name}", asked, "the quote"),),
            open_weight=Weight.MUST,
        )
    _extended(sheet)


def _extended(sheet: Sheet) -> None:
    """Write whether old circuits grow so long that they need arc-fault protection."""
    rule = sheet.edition.rule("arc-fault")
    limit_ft = rule.number("extension_exempt_ft")
    stated = sheet.plan.work.circuits_extended_by
    found_ft = None if stated is None else in_unit(stated.value, Quantity.LENGTH, "ft")
    sheet.answer(
        "paper.circuits_extended",
        "Do lengthened 120 V circuits need arc-fault protection?",
        (
            check(
                found=(found_ft, found_ft),
                limit=(limit_ft, limit_ft),
                unit="ft",
                citation=rule.citation,
                next=(
                    "State by how much old 120 V circuits are lengthened, outside "
                    "enclosures."
                    if found_ft is None
                    else "Have arc-fault protection for the lengthened circuits in the "
                    "quote."
                ),
            ),
        ),
        unknown=(
            (
                "work.circuits_extended_by",
                "By how much are old 120 V circuits lengthened?",
                "the quote",
            ),
        ),
    )


def _amendments(sheet: Sheet) -> None:
    """Write what each local amendment changes: base rule and amendment side by side."""
    if not sheet.edition.amendments:
        return
    base = open_edition(sheet.edition.year, book=sheet.edition.book)
    lines: list[Line] = []
    for name, rule in sheet.edition.rules.items():
        if not rule.citation.amended_by:
            continue
        printed = base.rule(name)
        for key in rule.parameters:
            old, new = printed.parameters.get(key), rule.parameters[key]
            if old != new:
                lines.append(Line(f"{name}, {key}", str(old), source=printed.citation))
                lines.append(Line("here", str(new), source=rule.citation))
        if printed.absent != rule.absent:
            lines.append(_in_force(name, printed.absent, printed.citation))
            lines.append(_in_force("here", rule.absent, rule.citation))
    sheet.answer(
        "paper.amendments",
        "Which rules differ here from the book?",
        (
            fact_check(
                True,
                found=", ".join(sheet.edition.amendments),
                limit="laid over the edition",
                citation=None,
                next="",
            ),
        ),
        lines=tuple(lines),
        weight=Weight.ADVICE,
    )


def _in_force(label: str, is_absent: bool, citation: Citation) -> Line:
    words = "no such rule" if is_absent else "in force"
    return Line(label, words, source=citation)
