"""The order of work, dead first, with its hold points; and the signs that stop it."""

from __future__ import annotations

from dataclasses import dataclass, field

from lugbook.assess.load_list import system_voltage_v
from lugbook.assess.work_parts import StopSign, WorkStep, matching
from lugbook.codebook.edition import Edition
from lugbook.finding import Citation, Finding, Outcome, SignalWord, Weight
from lugbook.premises.circuit import RACEWAYS
from lugbook.premises.panel import Panel
from lugbook.premises.plan import Plan
from lugbook.premises.stated import Stated

__all__ = ["STOP_SIGNS", "order_of_work", "stop_signs"]

QUALIFIED = "qualified person"
UTILITY = "utility"
YOU = "you"
INSPECTOR = "inspector"

# Sign, whom to call, what to do at once and why.
STOP_SIGNS: dict[str, tuple[str, str]] = {
    "meter seal broken": (
        UTILITY,
        "Call the utility: the meter may have been opened.",
    ),
    "heat at the meter or service conductors": (
        UTILITY,
        "Leave the house's main off and call the utility at once: a joint ahead of "
        "the main is burning.",
    ),
    "damaged drop": (
        UTILITY,
        "Keep everybody away from the drop and call the utility.",
    ),
    "lights brighten when others dim": (
        UTILITY,
        "Switch the main off and call the utility: the neutral is opening, and 120 V "
        "appliances get up to 240 V.",
    ),
    "burnt bus": (
        "electrician",
        "Switch the main off and call an electrician.",
    ),
    "discolored service lugs": (
        "electrician and utility",
        "Call an electrician and the utility: the lugs stay live with the main off.",
    ),
    "crackling or buzzing that rises": (
        "electrician",
        "Switch the main off and call an electrician.",
    ),
    "smell of fish or hot plastic": (
        "electrician",
        "Switch the main off and call an electrician: insulation is burning.",
    ),
    "no room to work": (
        "nobody yet",
        "Do not open the cover: ask for room first.",
    ),
}
_REPLACED = ("panel replaced", "service replaced")
_SOURCES = ("solar", "battery", "generator")
_LEG_V = 120.0  # leg to neutral, of split phase and of the 208 V wye alike


def stop_signs(plan: Plan) -> tuple[StopSign, ...]:
    """The signs on which the work stops, those seen first.

    Args:
        plan: The house. [-]

    Returns:
        Signs, with whom to call. [-]
    """
    seen = plan.work.signs_seen
    signs = [
        StopSign(sign, call, act, (sign in seen) if seen else None)
        for sign, (call, act) in STOP_SIGNS.items()
    ]
    return tuple(sorted(signs, key=lambda each: each.seen is not True))


@dataclass(slots=True)
class _Order:
    """The steps while they are written."""

    findings: tuple[Finding, ...]
    practice: Citation
    steps: list[WorkStep] = field(default_factory=list)

    def add(
        self,
        title: str,
        who: str,
        *does: str,
        hold: str = "",
        signal: SignalWord | None = None,
        watches: tuple[str, ...] = (),
        citation: Citation | None = None,
    ) -> None:
        unsettled = (Outcome.FALLS_SHORT, Outcome.CANNOT_TELL)
        self.steps.append(
            WorkStep(
                number=len(self.steps) + 1,
                title=title,
                who=who,
                does=tuple(each for each in does if each),
                hold=hold,
                signal=signal,
                open_points=tuple(
                    each
                    for each in matching(self.findings, watches)
                    if each.outcome in unsettled
                ),
                citation=citation or self.practice,
            )
        )


def order_of_work(
    plan: Plan, limits: Edition, findings: tuple[Finding, ...]
) -> tuple[WorkStep, ...]:
    """The steps from papers to the first night, each with what holds it.

    Args:
        plan: The house. [-]
        limits: Limits of product and work standards. [-]
        findings: Findings of the assessment. [-]

    Returns:
        Steps in order. [-]
    """
    order = _Order(findings, limits.rule("work-order").citation)
    _before(order, plan)
    _dead(order, plan, limits)
    _build(order, plan)
    _panel(order, plan)
    _live(order, plan)
    return tuple(order.steps)


# --- before any cover is opened -------------------------------------------------


def _before(order: _Order, plan: Plan) -> None:
    stops = [
        each
        for each in order.findings
        if each.outcome is Outcome.FALLS_SHORT and each.weight is Weight.STOP
    ]
    if stops:
        order.add(
            "Settle what stops",
            QUALIFIED,
            "Do not begin with a plan that stops: change the plan, or have the fault "
            "mended.",
            hold="No finding says stop any more.",
            signal=SignalWord.WARNING,
            watches=tuple(each.id for each in stops),
        )
    order.add(
        "Get the papers",
        YOU,
        "Take the permit papers to the desk and the load letter to the utility.",
        "Ask which inspections there are, and what may not be covered before them.",
        hold="The permit is granted, and the utility has answered.",
        watches=("paper.permit", "paper.utility", "paper.who_works"),
    )
    order.add(
        "Look, with every cover on",
        YOU,
        "Go through the stop signs: drop, meter, panel door, lights in use, smell.",
        "Clear the space before the panel, and light it from somewhere else.",
        hold="No stop sign is there, and there is room to work.",
        watches=("paper.signs", "panel.working_space", "panel.condition.*"),
    )
    if _is_underground(plan):
        order.add(
            "Have buried services marked",
            "locating service",
            "Have gas, water, power and telephone marked before a spade goes in.",
            hold="The marks are on the ground.",
            signal=SignalWord.WARNING,
        )


# --- making dead ----------------------------------------------------------------


def _dead(order: _Order, plan: Plan, limits: Edition) -> None:
    order.add(
        "Tell the house",
        YOU,
        "Say when power goes off; unplug every car; shut down what must not stop hard.",
        _standby_words(plan),
        _parallel_words(plan),
        hold="Every source but the utility is off and locked."
        if plan.sources or plan.standby
        else "",
        signal=SignalWord.DANGER if plan.sources or plan.standby else None,
        watches=("sources.unsaid",),
    )
    who, does, live = _cut(plan)
    order.add(
        "Make dead and lock",
        who,
        *does,
        hold=f"Off, locked, tagged, the key in the pocket of who works. {live}",
        signal=SignalWord.DANGER,
        watches=("paper.dead_first",),
    )
    rule = limits.rule("prove-dead")
    order.add(
        "Prove dead",
        QUALIFIED,
        "Gloves, glasses, no metal on hands or neck; take the cover off holding it, so "
        "that it cannot fall in.",
        f"Try the tester on something live ({_live_words(plan)}).",
        "Then at the place of work: leg A to leg B, leg A to neutral, leg B to "
        "neutral, leg A to ground, leg B to ground, neutral to ground. Each must read "
        "nothing.",
        "Then try the tester on something live again.",
        hold="All six read nothing, and the tester still works. Otherwise everything "
        "counts as live: cover on, and back one step.",
        signal=SignalWord.DANGER,
        watches=("paper.dead_first",),
        citation=rule.citation,
    )


def _cut(plan: Plan) -> tuple[str, tuple[str, ...], str]:
    """Return who cuts the power, how, and what stays live then."""
    service, scope = plan.service, _value(plan.work.scope)
    feeder = _feeder_of(plan)
    if scope in _REPLACED:
        return (
            UTILITY,
            (
                "The utility cuts the service off, at the transformer or at the "
                "meter: agree the day, and the day it comes back.",
                "Nobody else pulls the meter, cuts its seal or works on the lugs "
                "ahead of the main while they are live.",
            ),
            "Until the utility has cut it off, everything ahead of the main is live.",
        )
    if feeder:
        panel, above = feeder
        return (
            QUALIFIED,
            (
                f"Switch off and lock the device of the feeder to {panel.id}, in "
                f"{above}: not only a main in {panel.id} itself.",
                f"The cover of {above} stays on.",
            ),
            f"With the feeder off {panel.id} is dead, its main lugs too, once tested "
            f"so; {above} stays live.",
        )
    if service is not None and _value(service.emergency_disconnect):
        return (
            QUALIFIED,
            ("Switch off the outdoor disconnect and lock it, then the main.",),
            "The panel is dead once tested so; the outdoor disconnect's own line side "
            "and the meter stay live.",
        )
    split = any(_value(each.split_bus) for each in plan.panels)
    mains = len(service.split_bus_mains) if service else 0
    first = (
        f"Switch off all {mains or 'the'} mains of the split bus, up to six handles, "
        "and lock them: one alone leaves part of the bus live."
        if mains or split
        else "Switch the branch breakers off, then the main, and lock it."
    )
    unknown = service is None or service.emergency_disconnect is None
    return (
        QUALIFIED,
        (
            first,
            f"First switch after the meter, as stated: {place}."
            if (place := _value(service.first_disconnect) if service else None)
            else "",
            "Nobody has said whether there is an outdoor disconnect: look beside the "
            "meter; if there is one, lock that too."
            if unknown
            else "",
            "Put an insulating barrier over the lugs ahead of the main before "
            "anything else is done in the panel. Where they cannot be covered, the "
            "utility cuts the service off first.",
        ),
        "The lugs ahead of the main and the service conductors stay live, at the full "
        "fault current: nobody tightens, moves or measures a joint there; the utility "
        "alone pulls the meter.",
    )


def _live_words(plan: Plan) -> str:
    """Return what is still live to try the tester on, at its known voltage."""
    feeder = _feeder_of(plan)
    volts = system_voltage_v(plan)
    known = f", {volts:g} V or {_LEG_V:g} V" if volts else ""
    if feeder and _value(plan.work.scope) not in _REPLACED:
        return f"a receptacle fed from {feeder[1]}, or a proving unit{known}"
    return f"a proving unit{known}: with the house's main off no receptacle is live"


def _standby_words(plan: Plan) -> str:
    """Return what to do with a source that starts when the utility goes away."""
    if plan.standby:
        names = ", ".join(f"{each.kind} {each.id}" for each in plan.standby)
        automatic = any(
            _value(each.transfer) in (None, "automatic") for each in plan.standby
        )
        why = ": it starts by itself the moment the main opens" * automatic
        return f"Switch to off, and lock, {names}{why}."
    unsaid = [each for each in _SOURCES if each not in plan.dwelling.not_present]
    held = {source.kind for source in plan.sources}
    unsaid = [each for each in unsaid if each not in held]
    if not unsaid:
        return ""
    return (
        f"Nobody has said whether there is {' or '.join(unsaid)}: find out first, for "
        "either can feed the panel with the main off."
    )


def _parallel_words(plan: Plan) -> str:
    if not plan.sources:
        return ""
    names = ", ".join(f"{each.kind} {each.id}" for each in plan.sources)
    ahead = any(_value(each.connected) != "load side" for each in plan.sources)
    return (
        f"Switch off and lock {names}, and wait as its label says for stored charge."
        + " One joined ahead of the main is not cut off by it." * ahead
    )


# --- building -------------------------------------------------------------------


def _build(order: _Order, plan: Plan) -> None:
    order.add(
        "Lay the way",
        YOU if _value(plan.rules.who_works) == "owner" else QUALIFIED,
        "Look for cables and pipes before you drill or cut.",
        "Mount charger, disconnect and boxes; lay the raceway in full, straps, "
        "fittings and burrs done, or the cable with its plates.",
        "The panel's cover is on: the raceway enters it last.",
        watches=(
            "run.*",
            "place.mounting_height",
            "place.disconnect_reach",
            "circuit.raceway_fill.*",
        ),
    )
    hidden = [
        words
        for words, is_there in (
            ("is the trench filled", _is_underground(plan)),
            ("are walls and attic closed", _is_concealed(plan)),
        )
        if is_there
    ]
    if hidden:
        order.add(
            "Rough inspection",
            INSPECTOR,
            "Everything open, with a photo of each stretch, a tape measure in it.",
            hold=f"The inspector has seen it. Only then {' and '.join(hidden)}.",
            watches=("run.cover", "run.bored_holes", "run.supports"),
        )
    in_raceway = any(
        _value(section.method) in RACEWAYS
        for section in (plan.circuit.sections if plan.circuit else ())
    )
    order.add(
        "Pull the wire",
        QUALIFIED,
        "Pull before the raceway is joined to the panel, or with the panel proven dead "
        "and its lugs covered: a fish tape that reaches a live lug kills."
        if in_raceway
        else "Lead the cable from the charger back to the panel, its end outside.",
        "Cap both ends; leave length for one clean bend at each terminal.",
        signal=SignalWord.WARNING,
        watches=("run.identification", "run.aluminum", "panel.bending_space"),
    )
    order.add(
        "Connect the far end first",
        QUALIFIED,
        "Charger, then disconnect: ground first, then the legs, each to its torque on "
        "the torque sheet, written down.",
        watches=("circuit.terminals.*", "place.bending_space", "torque.*"),
    )
    order.add(
        "Test while dead",
        QUALIFIED,
        "Ground continuous from end to end; each leg is the one its tape says; with "
        "the charger disconnected, no path from leg to leg or to ground.",
        hold="The readings are written down. A tester of 500 V never meets a charger, "
        "a surge device or a ground-fault breaker.",
    )


def _panel(order: _Order, plan: Plan) -> None:
    panel = _own_panel(plan)
    where = panel.id if panel else "the panel"
    order.add(
        "The panel last",
        QUALIFIED,
        "Prove dead again: hours have gone by.",
        f"Bring the run into {where}; ground first, then neutral if there is one, the "
        "breaker in its spaces and off, the legs last, each to its torque.",
        "Nothing left inside: count tools and cut ends. Filler plates in, cover on, "
        "every screw.",
        hold="Cover on before anything is switched on.",
        signal=SignalWord.DANGER,
        watches=(
            "panel.spaces",
            "panel.both_legs",
            "panel.breaker_identified",
            "panel.bending_space",
            "panel.splices",
        ),
    )
    order.add(
        "Set and mark",
        QUALIFIED,
        "Set the charger's current where only a tool, lock or password reaches it; "
        "mark it on the charger; write the circuit into the directory.",
        hold="The setting is photographed before its cover is closed.",
        watches=("circuit.adjusted_setting", "circuit.label", "management.*"),
    )
    order.add(
        "Final inspection",
        INSPECTOR,
        "Have the inspector's list and the papers at hand; ask whether it may be "
        "switched on before or only after.",
        hold="The authority lets it be switched on.",
        watches=("paper.permit",),
    )


# --- switching on ---------------------------------------------------------------


def _live(order: _Order, plan: Plan) -> None:
    who = UTILITY if _value(plan.work.scope) in _REPLACED else QUALIFIED
    order.add(
        "Switch on",
        who,
        "The utility gives the service back first."
        if who == UTILITY
        else "Locks off by the one who put them on.",
        "All branch breakers off; stand to the side of the panel, not before it; the "
        "main, then the branches one by one, the charger's last.",
        "Other sources come back at the end, standby to automatic last of all."
        if plan.sources or plan.standby
        else "",
        signal=SignalWord.WARNING,
    )
    order.add(
        "First charge",
        YOU,
        "Lowest setting first, a quarter of an hour; then the daily setting, for "
        "three hours, with temperatures read: commissioning says how.",
        "Smell, crackle, a hot handle, dimming lights: breaker off, and call.",
        hold="Until that has passed nobody charges unattended.",
        signal=SignalWord.CAUTION,
    )


# --- what the plan says ---------------------------------------------------------


def _own_panel(plan: Plan) -> Panel | None:
    source = plan.circuit.fed_from if plan.circuit else None
    named = next((each for each in plan.panels if each.id == source), None)
    return named or (plan.panels[0] if len(plan.panels) == 1 else None)


def _feeder_of(plan: Plan) -> tuple[Panel, str] | None:
    """Return the circuit's panel and what feeds its feeder; None at the service."""
    panel = _own_panel(plan)
    if panel is None:
        return None
    feeder = next((each for each in plan.feeders if each.id == panel.fed_from), None)
    return None if feeder is None else (panel, feeder.fed_from or "the panel before it")


def _is_underground(plan: Plan) -> bool:
    return _passes(plan, ("underground",))


def _is_concealed(plan: Plan) -> bool:
    return _passes(plan, ("in a wall", "attic", "crawl space"))


def _passes(plan: Plan, places: tuple[str, ...]) -> bool:
    sections = plan.circuit.sections if plan.circuit else ()
    return any(_value(section.place) in places for section in sections)


def _value(stated: Stated[str] | Stated[bool] | None) -> str | bool | None:
    return None if stated is None else stated.value
