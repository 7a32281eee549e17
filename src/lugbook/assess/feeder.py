"""Does the feeder to the charger's panel carry it too?

A feeder is reckoned by the standard method over what hangs on it, with every continuous
load at its larger figure. A load whose panel nobody stated is taken to hang on it where
that is the worse, and to hang elsewhere where that is; between the two it cannot be
told.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace

from lugbook.assess.assessment import Assumption, CapacityRow, Unknown
from lugbook.assess.capacity import Wish, standard_load
from lugbook.assess.circuit_case import Case, case_of, counted_range
from lugbook.assess.circuit_parts import Check, check, item_of
from lugbook.assess.circuit_run import RunLimits, run_limits
from lugbook.assess.circuit_voltage import run_drop_fraction
from lugbook.assess.feeder_laid import laid_findings
from lugbook.assess.load_list import gather, system_voltage_v
from lugbook.codebook.edition import Edition
from lugbook.codebook.nfpa70.conductors import whole_house_conductor_rating_a
from lugbook.codebook.nfpa70.load_calculation import general_load
from lugbook.errors import MissingEntry
from lugbook.finding import Finding, Line, Outcome, Reckoned, SignalWord, Weight
from lugbook.premises.circuit import Circuit
from lugbook.premises.equipment import SupplyEquipment
from lugbook.premises.load import Load
from lugbook.premises.panel import Panel
from lugbook.premises.plan import Plan
from lugbook.premises.stated import Stated

__all__ = ["NO_FEEDER", "FeederJudgement", "feeders_to_charger", "judge_feeders"]

RowsAt = Callable[[float], tuple[CapacityRow, ...]]
_PART = "feeder"
_PASSES = (Outcome.MEETS, Outcome.NARROW)


@dataclass(frozen=True, slots=True)
class FeederJudgement:
    """What was found on the feeders between the service and the charger's panel.

    Args:
        findings: The findings, from the charger back to the service. [-]
        unknowns: What they need and nobody stated. [-]
        assumptions: What was taken as given. [-]
        is_limit: Whether there is a feeder, so that `largest_setting_a` limits. [-]
        largest_setting_a: Largest setting step that they carry; None where none can be
            shown to pass. [A]
        reason: Why no larger step. [-]
    """

    findings: tuple[Finding, ...]
    unknowns: tuple[Unknown, ...]
    assumptions: tuple[Assumption, ...]
    is_limit: bool
    largest_setting_a: float | None
    reason: str


NO_FEEDER = FeederJudgement((), (), (), False, None, "")


@dataclass(frozen=True, slots=True)
class _Bounds:
    """Load of a feeder: with what surely hangs on it, and with all that may."""

    least_a: float
    most_a: float | None
    lines: tuple[Line, ...]


@dataclass(frozen=True, slots=True)
class _Feeder:
    """A feeder with the panel at its end, and all that is needed to reckon it."""

    plan: Plan
    edition: Edition
    wish: Wish
    rows_at: RowsAt
    circuit: Circuit
    panel: Panel
    voltage_v: float
    surely: tuple[Load, ...]
    perhaps: tuple[Load, ...]

    @property
    def id(self) -> str:
        return self.circuit.id

    @property
    def name(self) -> str:
        return f"feeder {self.id} to {self.panel.id}"

    @property
    def is_said_whole(self) -> bool:
        stated = self.circuit.serves_whole_dwelling
        return stated is not None and stated.value

    @property
    def elsewhere(self) -> tuple[Load, ...]:
        """Loads of the dwelling that are known to hang elsewhere."""
        return tuple(
            load
            for load in self.plan.loads
            if load not in self.perhaps and load.state not in ("removed", "planned")
        )

    @property
    def is_whole(self) -> bool:
        # The rules for a whole dwelling ask that the feeder bring its entire load.
        return self.is_said_whole and not self.elsewhere

    @property
    def device_a(self) -> float | None:
        device = self.circuit.overcurrent
        return device.rating.value if device and device.rating else None


def feeders_to_charger(plan: Plan) -> tuple[tuple[Circuit, Panel], ...] | None:
    """The feeders between the charger's panel and the service, each with its panel.

    Args:
        plan: The house. [-]

    Returns:
        From the charger back to the service; empty where its panel is fed straight from
        there, None where the plan leaves the way open. [-]
    """
    service_id = plan.service.id if plan.service else None
    panels = {panel.id: panel for panel in plan.panels}
    feeders = {feeder.id: feeder for feeder in plan.feeders}
    source = plan.circuit.fed_from if plan.circuit else None
    way: list[tuple[Circuit, Panel]] = []
    while source is not None and source != service_id:
        panel = panels.get(source)
        if panel is None:
            return None
        if panel.fed_from == service_id:
            return tuple(way)
        feeder = feeders.get(panel.fed_from or "")
        if feeder is None:
            return None
        way.append((feeder, panel))
        source = feeder.fed_from
    return None if source is None else tuple(way)


def judge_feeders(
    plan: Plan, edition: Edition, wish: Wish, rows_at: RowsAt
) -> FeederJudgement:
    """Whether every feeder on the way to the charger carries it.

    Args:
        plan: The house. [-]
        edition: Edition of the rules. [-]
        wish: The charging current. [-]
        rows_at: The whole house by every method at a setting, for a feeder that
            carries it all. [-]

    Returns:
        The judgement; empty where no feeder is on the way, or the way is open. Open
        where the circuit is said to begin ahead of every panel. [-]
    """
    way = feeders_to_charger(plan)
    if way == () and _is_before_main(plan):
        return _before_main(edition)
    voltage_v = system_voltage_v(plan)
    if not way or voltage_v is None or wish.setting_a is None:
        return NO_FEEDER
    feeders = tuple(
        _Feeder(
            plan=plan,
            edition=edition,
            wish=wish,
            rows_at=rows_at,
            circuit=circuit,
            panel=panel,
            voltage_v=voltage_v,
            surely=_placed(plan, circuit, surely=True),
            perhaps=_placed(plan, circuit, surely=False),
        )
        for circuit, panel in way
    )
    findings = tuple(
        finding
        for feeder in feeders
        for finding in (
            _load_finding(feeder),
            _conductor_finding(feeder),
            *laid_findings(_case(feeder), feeder.circuit, feeder.name),
        )
    )
    largest_a, reason = _largest(feeders)
    return FeederJudgement(
        findings=(*findings, _drop_finding(feeders)),
        unknowns=tuple(each for feeder in feeders for each in _unknowns(feeder)),
        assumptions=tuple(each for feeder in feeders for each in _assumptions(feeder)),
        is_limit=True,
        largest_setting_a=largest_a,
        reason=reason,
    )


def _is_before_main(plan: Plan) -> bool:
    source = plan.circuit.fed_from if plan.circuit else None
    return plan.service is not None and source == plan.service.id


def _before_main(edition: Edition) -> FeederJudgement:
    """Return the open question of a circuit that begins at the service itself.

    Its device would be a disconnect of the service, and live with the main off.
    """
    finding = Finding(
        id="feeder.before_main",
        question="Does the circuit begin behind the main?",
        outcome=Outcome.CANNOT_TELL,
        weight=Weight.MUST,
        found="circuit.fed_from is the service",
        limit="a panel behind the main",
        citation=edition.rule("main-protects").citation,
        signal=SignalWord.DANGER,
        next="State in circuit.fed_from the panel that holds the circuit's breaker. If "
        "it is truly taken ahead of the main, it stays live with the main off, and its "
        "breaker is a disconnect of the service: that is beyond this tool, and for the "
        "utility and a licensed electrician.",
    )
    reason = "the circuit is said to begin ahead of the main"
    return FeederJudgement((finding,), (), (), True, None, reason)


def _placed(plan: Plan, feeder: Circuit, *, surely: bool) -> tuple[Load, ...]:
    """Return the loads behind a feeder: those stated so, or those that may be too."""
    behind, known = _ids_behind(plan, feeder.id), _ids_of_places(plan)
    by_breaker = {
        load_id: panel.id
        for panel in plan.panels
        for breaker in panel.breakers
        for load_id in breaker.serves
    }
    found = []
    for load in plan.loads:
        place = load.fed_from or by_breaker.get(load.id)
        if place in behind or (not surely and place not in known):
            found.append(load)
    return tuple(found)


def _ids_of_places(plan: Plan) -> set[str]:
    service = {plan.service.id} if plan.service else set()
    return service | {each.id for each in (*plan.panels, *plan.feeders)}


def _ids_behind(plan: Plan, feeder_id: str) -> set[str]:
    """Return a feeder's id and those of every panel and feeder behind it."""
    fed_from = {each.id: each.fed_from for each in plan.panels}
    fed_from |= {each.id: each.fed_from for each in plan.feeders}
    behind = {feeder_id}
    while more := {id for id, source in fed_from.items() if source in behind} - behind:
        behind |= more
    return behind


def _load_finding(feeder: _Feeder) -> Finding:
    """Return whether device, bus and main behind a feeder bear its load."""
    bounds = _bounds(feeder, feeder.wish.setting_a or 0.0)
    limit = _limit(feeder)
    rule = feeder.edition.rule("continuous-factor-calculation")
    untold = _look(feeder)
    item = item_of(
        item=_PART,
        question=f"Does the {feeder.name} carry the charger beside what it has?",
        stated=None,
        minimum=None,
        checks=(
            _with_hint(
                check(
                    found=(bounds.least_a, bounds.most_a),
                    limit=limit,
                    unit="A",
                    kind="fraction",
                    citation=rule.citation,
                    next="Lower the setting, limit it by load management, or have a "
                    "larger feeder laid.",
                ),
                untold,
            ),
        ),
        title=f"Load of the {feeder.name}",
        lines=(*bounds.lines, *_limit_lines(feeder)),
    )
    return replace(item.finding, id=f"feeder.load.{feeder.id}")


def _with_hint(found: Check, hint: str) -> Check:
    is_open = found.outcome is Outcome.CANNOT_TELL
    return replace(found, next=hint) if is_open and hint else found


def _bounds(feeder: _Feeder, setting_a: float) -> _Bounds:
    """Return the load of a feeder at a setting, with continuous loads in full."""
    least, _ = _reckoned(feeder, setting_a, most=False)
    most, is_known = _reckoned(feeder, setting_a, most=True)
    least_a, most_a = least[0], most[0] if is_known else None
    lines = most[1]
    if feeder.is_whole:
        # It carries what the service carries, so the service's methods hold for it; a
        # feeder takes continuous loads at their larger figure by any of them.
        rows = [
            row
            for row in feeder.rows_at(setting_a)
            if row.permitted
            and row.prudent
            and row.amperes
            and row.interpretation.charger == "outside_125"
        ]
        least_a = min([least_a, *(row.amperes or 0.0 for row in rows)])
        told = [row for row in rows if row.outcome is not Outcome.CANNOT_TELL]
        best = min(told, key=lambda row: row.amperes or 0.0, default=None)
        if best and best.amperes and (most_a is None or best.amperes < most_a):
            most_a, lines = best.amperes, best.working.lines
    return _Bounds(least_a, most_a, lines)


def _reckoned(
    feeder: _Feeder, setting_a: float, *, most: bool, continuous_added: bool = True
) -> tuple[tuple[float, tuple[Line, ...]], bool]:
    """Return current and lines of the least or the most, and whether it is known."""
    plan, edition = feeder.plan, feeder.edition
    chosen = feeder.perhaps if most else feeder.surely
    sub_plan = plan.model_copy(update={"loads": chosen})
    loads = gather(sub_plan, edition)
    general, general_known = _general(feeder, most=most)
    counted = counted_range(
        edition, feeder.wish, setting_a, nameplate_open=plan.charger is not None
    )
    counted_a = counted.likely_a if most else counted.low_a
    load = standard_load(
        edition=edition,
        loads=loads,
        general=general,
        wish=feeder.wish,
        voltage_v=feeder.voltage_v,
        counted_a=counted_a,
        continuous_added=continuous_added,
        motors_as_loads=most and bool(loads.unstated_motors),
    )
    current_a = load.amount / feeder.voltage_v
    lines = (
        counted.line,
        *load.lines,
        Line("total", load.amount, "VA", "sum of the lines above"),
        Line(
            "current",
            current_a,
            "A",
            "total ÷ voltage",
            f"{load.amount:,.0f} VA ÷ {feeder.voltage_v:g} V",
        ),
    )
    complete = plan.dwelling.loads_complete
    is_known = (
        general_known
        and counted.high_a is not None
        and complete is not None
        and complete.value
        and not any(u.field.startswith("loads.") for u in loads.unknowns)
    )
    return (current_a, lines), is_known


@dataclass(frozen=True, slots=True)
class _Share:
    """A general load behind a feeder: stated for its panels, or the whole house's."""

    least: float
    most: float | None


def _general(feeder: _Feeder, *, most: bool) -> tuple[Reckoned, bool]:
    """Return the general load behind a feeder, and whether the most is known."""
    shares = [
        _share(feeder, name, whole)
        for name, whole in (
            ("floor_area_served", feeder.plan.dwelling.floor_area),
            ("small_appliance_circuits", feeder.plan.dwelling.small_appliance_circuits),
            ("laundry_circuits", feeder.plan.dwelling.laundry_circuits),
        )
    ]
    amounts = [(s.most or 0.0) if most else s.least for s in shares]
    general = general_load(
        edition=feeder.edition,
        floor_area_m2=amounts[0],
        small_appliance_count=int(amounts[1]),
        laundry_count=int(amounts[2]),
        whole_dwelling=feeder.is_whole,
    )
    return general, all(share.most is not None for share in shares)


def _share(feeder: _Feeder, name: str, whole: Stated[float] | None) -> _Share:
    """Return what the panels behind a feeder serve; unstated: nothing, or all."""
    if feeder.is_whole:
        return _Share(whole.value if whole else 0.0, whole.value if whole else None)
    stated = [getattr(panel, name) for panel in _panels_behind(feeder)]
    least = sum(each.value for each in stated if each is not None)
    if None not in stated:
        return _Share(least, least)
    return _Share(least, None if whole is None else max(whole.value, least))


def _panels_behind(feeder: _Feeder) -> tuple[Panel, ...]:
    behind = _ids_behind(feeder.plan, feeder.id)
    return tuple(panel for panel in feeder.plan.panels if panel.id in behind)


def _limit(feeder: _Feeder) -> tuple[float | None, float | None]:
    """Return the least rating that is known, and the rating; None while one is not."""
    parts = _parts(feeder)
    known = [each for _, each in parts if each is not None]
    least = min(known, default=None)
    return least, None if any(each is None for _, each in parts) else least


def _parts(feeder: _Feeder) -> tuple[tuple[str, float | None], ...]:
    panel = feeder.panel
    parts = [
        (f"feeders.{feeder.id}.overcurrent.rating", feeder.device_a),
        (
            f"panels.{panel.id}.bus_rating",
            panel.bus_rating.value if panel.bus_rating else None,
        ),
    ]
    if panel.main_rating is not None:
        parts.append((f"panels.{panel.id}.main_rating", panel.main_rating.value))
    return tuple(parts)


def _limit_lines(feeder: _Feeder) -> Iterator[Line]:
    for name, rating_a in _parts(feeder):
        yield Line("rating", rating_a, "A", source=f"plan, {name}")


def _look(feeder: _Feeder) -> str:
    """Return what to state first where the load or its limit is open."""
    for name, rating_a in _parts(feeder):
        if rating_a is None:
            return f"State {name}: the handle, or the label inside the door."
    complete = feeder.plan.dwelling.loads_complete
    if complete is None or not complete.value:
        return "Say dwelling.loads_complete = true once every load is listed."
    unplaced = [load.id for load in feeder.perhaps if load not in feeder.surely]
    if unplaced:
        return (
            f"State fed_from of {', '.join(unplaced)}: whether each hangs on "
            f"{feeder.panel.id} decides the answer."
        )
    for name, whole in (
        ("floor_area_served", feeder.plan.dwelling.floor_area),
        ("small_appliance_circuits", feeder.plan.dwelling.small_appliance_circuits),
        ("laundry_circuits", feeder.plan.dwelling.laundry_circuits),
    ):
        share = _share(feeder, name, whole)
        if share.most is None or share.most != share.least:
            return (
                f"State panels.{feeder.panel.id}.{name}: which lights and receptacles "
                "does it feed? Switch it off and walk."
            )
    return (
        "State what is not known of the loads behind it: their nameplates and motors, "
        "the charger's nameplate, and how its setting is restricted."
    )


def _conductor_finding(feeder: _Feeder) -> Finding:
    """Return whether a feeder's conductors carry its load and are protected."""
    case = _case(feeder)
    size, device_a = case.size, feeder.device_a
    rules = feeder.edition
    bounds = _bounds(feeder, feeder.wish.setting_a or 0.0)
    least, _ = _reckoned(
        feeder, feeder.wish.setting_a or 0.0, most=False, continuous_added=False
    )
    most, known = _reckoned(
        feeder, feeder.wish.setting_a or 0.0, most=True, continuous_added=False
    )
    use_a = min(least[0], bounds.least_a), most[0] if known else None
    if use_a[1] is not None and bounds.most_a is not None:
        use_a = use_a[0], min(use_a[1], bounds.most_a)
    hopeful = _limits_of(feeder, case, hopeful=True)
    sure = _limits_of(feeder, case, hopeful=False)
    larger = "Have larger conductors laid, or lower the setting."
    may_be_a = _reduced_a(feeder, case, hopeful)
    reduced_a = _reduced_a(feeder, case, sure) if _get(sure, "use_a") else None
    allowed = (
        _best(_get(hopeful, "device_a"), may_be_a),
        _best(_get(sure, "device_a"), reduced_a),
    )
    checks = (
        check(
            found=(bounds.least_a, bounds.most_a),
            limit=(
                _best(_get(hopeful, "terminal_a"), may_be_a),
                _best(_get(sure, "terminal_a"), reduced_a),
            ),
            unit="A",
            citation=rules.rule("continuous-factor-calculation").citation,
            next=larger,
        ),
        check(
            found=use_a,
            limit=(
                _best(_get(hopeful, "use_a"), may_be_a),
                _best(_get(sure, "use_a"), reduced_a),
            ),
            unit="A",
            kind="fraction",
            citation=rules.rule("conditions-of-use-conductor").citation,
            next=larger,
            signal=SignalWord.WARNING,
        ),
        check(
            found=(device_a, device_a),
            limit=allowed,
            unit="A",
            citation=rules.rule("next-size-up").citation,
            next="The overcurrent device is larger than the feeder's conductors allow: "
            "have it changed for a smaller one.",
            weight=Weight.STOP if device_a is not None else Weight.MUST,
            signal=SignalWord.WARNING,
        ),
    )
    hint = _conductor_hint(feeder, case, sure) or _look(feeder)
    item = item_of(
        item=_PART,
        question=f"Do the conductors of the {feeder.name} carry it, and are they "
        "protected?",
        stated=None if size is None else f"{size} {case.material}",
        minimum=None,
        checks=tuple(_with_hint(each, hint) for each in checks),
        title=f"Conductors of the {feeder.name}",
        lines=tuple(_conductor_lines(feeder, bounds, sure, reduced_a)),
    )
    return replace(item.finding, id=f"feeder.conductor.{feeder.id}")


def _case(feeder: _Feeder) -> Case:
    """Return the feeder in the shape in which a circuit's conductors are judged."""
    # The lugs of the panel at its end stand where the charger's terminals would.
    far_end = SupplyEquipment(
        id="far_end", terminal_temperature=feeder.panel.terminal_temperature
    )
    as_circuit = feeder.plan.model_copy(
        update={"circuit": feeder.circuit, "charger": far_end}
    )
    return case_of(as_circuit, feeder.edition, replace(feeder.wish, setting_a=None))


def _limits_of(feeder: _Feeder, case: Case, *, hopeful: bool) -> RunLimits | None:
    conductor = feeder.circuit.conductor
    said = conductor is not None and conductor.material is not None
    if case.size is None or not said:
        return None
    column_c, _ = case.column_c(feeder.device_a or 0.0, hopeful=hopeful)
    return run_limits(case, size=case.size, material=case.material, column_c=column_c)


def _reduced_a(feeder: _Feeder, case: Case, limits: RunLimits | None) -> float | None:
    """Return the rating by the rule for whole dwellings, which is for these only.

    The table holds where nothing corrects or adjusts the ampacity. Elsewhere that
    ampacity must be the rule's share of the rating, which the table's sizes are too.
    """
    conductor = feeder.circuit.conductor
    if not feeder.is_whole or case.size is None or conductor is None or limits is None:
        return None
    if conductor.material is None:
        return None
    try:
        table_a = whole_house_conductor_rating_a(
            edition=feeder.edition, size=case.size, material=case.material
        ).amount
    except MissingEntry:
        return None
    rule = feeder.edition.rule("whole-house-conductor")
    held = [each for each in (limits.terminal_a, limits.use_a) if each is not None]
    share_a = min(held, default=table_a) / rule.number("minimum_fraction")
    rating_a = min(table_a, share_a)
    return rating_a if rating_a >= rule.number("from_a") else None


def _get(limits: RunLimits | None, name: str) -> float | None:
    found = None if limits is None else getattr(limits, name)
    return found if isinstance(found, int | float) else None


def _best(found: float | None, other: float | None) -> float | None:
    held = [each for each in (found, other) if each is not None]
    return max(held, default=None)


def _conductor_hint(feeder: _Feeder, case: Case, sure: RunLimits | None) -> str:
    path = f"feeders.{feeder.id}"
    if feeder.device_a is None:
        return f"State {path}.overcurrent.rating: the number on its handle."
    conductor = feeder.circuit.conductor
    if conductor is None or conductor.size is None or conductor.material is None:
        return (
            f"State {path}.conductor: size and material, printed on its jacket or on "
            "the wire where it enters the panel (cover off, by a qualified person)."
        )
    if sure is None:
        return f"Check the size: the ampacity table has no {case.size} {case.material}."
    if sure.missing:
        field = sure.missing[0].replace("circuit.", f"{path}.", 1)
        return f"State {field}: the conductors' ampacity depends on it."
    return ""


def _conductor_lines(
    feeder: _Feeder, bounds: _Bounds, sure: RunLimits | None, reduced_a: float | None
) -> Iterator[Line]:
    yield Line("load with continuous loads in full", bounds.most_a, "A")
    if reduced_a is not None:
        rule = feeder.edition.rule("whole-dwelling-only")
        yield Line(
            "rating as conductors of the whole dwelling",
            reduced_a,
            "A",
            "the table's; in heat or a bundle the ampacity ÷ the rule's share, if less",
            source=rule.citation,
        )
    if sure is not None:
        yield from (*sure.terminal_lines, *sure.use_lines, *sure.device_lines)


def _drop_finding(feeders: tuple[_Feeder, ...]) -> Finding:
    """Return what is lost from the service to the charger, feeders and run together."""
    first = feeders[0]
    rule = first.edition.rule("voltage-drop-advice")
    limit = 100 * rule.number("total_fraction")
    run = case_of(first.plan, first.edition, first.wish)
    fraction, lines = run_drop_fraction(run)
    known = fraction is not None
    total = fraction or 0.0
    for feeder in feeders:
        most, is_known = _reckoned(
            feeder, feeder.wish.setting_a or 0.0, most=True, continuous_added=False
        )
        flowing = replace(feeder.wish, setting_a=most[0])
        own, own_lines = run_drop_fraction(replace(_case(feeder), wish=flowing))
        known = known and is_known and own is not None
        total += own or 0.0
        lines = (*lines, Line(f"the {feeder.name}", most[0], "A"), *own_lines)
    found = 100 * total if known else None
    item = item_of(
        item=_PART,
        question="How much voltage is lost from the service to the charger?",
        stated=None,
        minimum=None,
        checks=(
            check(
                found=(found, found),
                limit=(limit, limit),
                unit="%",
                kind="fraction",
                citation=rule.citation,
                next="Charge at a lower setting, or have larger conductors laid."
                if known
                else "State size and length of feeder and run, and the loads "
                "behind it.",
                weight=Weight.ADVICE,
            ),
        ),
        title="Voltage drop of feeders and run together",
        lines=(*lines, Line("together", found, "%", "sum of the shares")),
        weight=Weight.ADVICE,
    )
    return replace(item.finding, id="feeder.voltage_drop")


def _largest(feeders: tuple[_Feeder, ...]) -> tuple[float | None, str]:
    """Return the largest step that every feeder carries, and why no larger."""
    wish = feeders[0].wish
    offered = wish.steps_a or (wish.setting_a, wish.nameplate_a)
    most_a = wish.nameplate_a
    steps = sorted(
        {a for a in offered if a and (most_a is None or a <= most_a)}, reverse=True
    )
    reason = "the charger offers no larger setting"
    for step_a in steps:
        asked = replace(wish, setting_a=step_a)
        short = [
            finding
            for feeder in feeders
            for at_step in (replace(feeder, wish=asked),)
            for finding in (_load_finding(at_step), _conductor_finding(at_step))
            if finding.outcome not in _PASSES
        ]
        if not short:
            return step_a, reason
        first = short[0]
        title = first.working.title if first.working else first.question
        verb = {Outcome.FALLS_SHORT: "falls short"}.get(first.outcome, "cannot be told")
        reason = f"{step_a:g} A {verb}: {title[0].lower()}{title[1:]}"
    return None, f"no setting can be shown to pass; {reason}"


def _unknowns(feeder: _Feeder) -> Iterator[Unknown]:
    for name, rating_a in _parts(feeder):
        if rating_a is None:
            yield Unknown(
                name,
                f"What is the rating in the way of the {feeder.name}?",
                "the handle of the breaker, or the label inside the panel's door",
            )
    for load in feeder.perhaps:
        if load not in feeder.surely:
            yield Unknown(
                f"loads.{load.id}.fed_from",
                f"Does {load.name or load.id} hang on {feeder.panel.id}?",
                "the directory; better, switch that panel off and see what goes dead",
            )


def _assumptions(feeder: _Feeder) -> Iterator[Assumption]:
    if feeder.is_said_whole and feeder.elsewhere:
        names = ", ".join(load.id for load in feeder.elsewhere)
        yield Assumption(
            f"feeder-not-whole-{feeder.id}",
            f"The {feeder.name} is not taken to carry the whole dwelling, though the "
            f"plan says so: {names} hang elsewhere.",
            "the reduced size and the service's methods are for the entire load only",
        )
    yield Assumption(
        f"feeder-alike-{feeder.id}",
        f"Both legs of the {feeder.name} are taken to be loaded alike.",
        "the rules reckon so; loads of 120 V may lean on one leg",
    )
