"""Which circuits are lawful for the stated run, and which of them are worth a look?

Every setting, overcurrent device, conductor and raceway that the price list holds is
judged by the rules of `check`; of the lawful ones those are kept that no other beats in
everything (Pareto). Pure: no files, no clock.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from lugbook.assess.assessment import Assumption, Unknown
from lugbook.assess.capacity import wish_of
from lugbook.assess.circuit import judge_circuit
from lugbook.assess.forecast_panel import panel_case_of, panel_points
from lugbook.assess.forecast_parts import Warmed, judged
from lugbook.assess.forecast_settings import charging_at
from lugbook.assess.installation import inspect
from lugbook.assess.need import need
from lugbook.assess.options_cost import costs_of_grid
from lugbook.assess.options_heat import Heat, heat_of_grid, of_way
from lugbook.assess.options_prices import Prices
from lugbook.assess.options_routes import Route, routes_of
from lugbook.assess.options_rules import RULES, Grid, grid_of
from lugbook.assess.options_space import (
    AS_STATED,
    Assembly,
    Candidate,
    candidate_plan,
    case_with,
    settings_of,
)
from lugbook.assess.parts import parts_of
from lugbook.codebook.edition import Edition, open_edition
from lugbook.finding import Finding, Outcome, Weight
from lugbook.physics.voltage_drop import energy_lost_per_year
from lugbook.premises.circuit import Circuit
from lugbook.premises.plan import Plan
from lugbook.quantities import CONDUCTOR_SIZES
from lugbook.readings.evidence import Evidence

__all__ = [
    "OBJECTIVES",
    "Option",
    "Options",
    "RuleMargin",
    "Stated",
    "Temperature",
    "search",
]

Numbers = NDArray[np.float64]
Places = NDArray[np.int64]

_LIMITS = "2026"  # the one edition held of the limits of product standards
_MOST_STEPS = 10  # what a person reads at once, two more beside them
_HOURS = 24.0

# Objective, which way is better, and the step in which two are told apart: what is less
# lies within what prices and forecasts can tell (common practice, no source).
OBJECTIVES: tuple[tuple[str, str, float], ...] = (
    ("setting", "more", 0.1),
    ("cost", "less", 10.0),
    ("heat margin", "more", 1.0),
    ("voltage drop", "less", 0.001),
    ("room for later", "more", 0.1),
)


@dataclass(frozen=True, slots=True)
class RuleMargin:
    """Room that a circuit has under one rule.

    Args:
        rule: Name of the rule, as in the published order. [-]
        found: What is there, or asked. [unit]
        limit: What is allowed, or given. [unit]
        unit: Unit. [-]
        margin: Limit less found; None if unknown. [unit]
    """

    rule: str
    found: float | None
    limit: float | None
    unit: str
    margin: float | None


@dataclass(frozen=True, slots=True)
class Temperature:
    """Forecast of one point, the middle of its range.

    Args:
        point: Id of the point, as in the forecast. [-]
        middle_c: Temperature; None if unknown or over 150 °C. [°C]
        limit_c: Its limit; None where none is known. [°C]
        margin_k: Limit less temperature; None if either is unknown. [K]
    """

    point: str
    middle_c: float | None
    limit_c: float | None
    margin_k: float | None


@dataclass(frozen=True, slots=True)
class Option:
    """A lawful circuit.

    Args:
        candidate: What is chosen. [-]
        cost: Rough cost without the charger; None if unknown. [currency]
        hours: Rough hours of work. [h]
        drop_fraction: Voltage drop over the supply, wires at forecast heat. [-]
        drop_v: The same in volts. [V]
        loss_w: Heat made in the run while charging. [W]
        lost_kwh_per_year: Energy lost a year; None while driving is unknown. [kWh]
        lost_kwh_per_1000_kwh: Energy lost for each 1,000 kWh taken. [kWh]
        temperatures: Every point, along the path. [-]
        hottest: The point with the least room. [-]
        margins: Room under each rule that has a figure. [-]
        room_a: Largest setting the same wire and raceway may carry, with another
            device. [A]
        meets_need: Whether the cars are ready, as `need` says; None if unknown. [-]
        open_rules: Rules that cannot be told yet. [-]
        elsewhere: Findings on the installation that a plan stating it falls short in;
            None where it was not looked at. [-]
    """

    candidate: Candidate
    cost: float | None
    hours: float | None
    drop_fraction: float | None
    drop_v: float | None
    loss_w: float | None
    lost_kwh_per_year: float | None
    lost_kwh_per_1000_kwh: float | None
    temperatures: tuple[Temperature, ...]
    hottest: Temperature | None
    margins: tuple[RuleMargin, ...]
    room_a: float
    meets_need: bool | None
    open_rules: tuple[str, ...]
    elsewhere: tuple[str, ...] | None = None


@dataclass(frozen=True, slots=True)
class Stated:
    """The circuit that the plan states, as `check` judges it.

    Args:
        words: What it is, as stated. [-]
        rule: First rule of the published order that refuses it; empty: none. [-]
        cost: Rough cost of it, as built so; None if unknown. [currency]
        findings: Every finding on the circuit that falls short and binds. [-]
        untold: Whether a finding that binds cannot be told. [-]
        next: The cheapest lawful one at the same setting; None: none. [-]
        next_same_method: The cheapest of them by the method stated. [-]
        next_same_wire: The largest setting its own wire may carry lawfully. [-]
    """

    words: str
    rule: str
    cost: float | None
    findings: tuple[Finding, ...]
    untold: bool
    next: Option | None
    next_same_method: Option | None
    next_same_wire: Option | None


@dataclass(frozen=True, slots=True)
class Options:
    """What the search found.

    Args:
        name: Name of the house. [-]
        edition: Edition judged by. [-]
        candidates: How many were tried. [-]
        lawful: How many of them are lawful. [-]
        refused: How many each rule refuses first, in the published order. [-]
        open: How many of the lawful ones have something that cannot be told yet. [-]
        hot: How many of the lawful ones are forecast over their wire's limit; they are
            left out of what follows. [-]
        pareto: Those that no other beats in everything, by setting and cost. [-]
        shown: Places in `pareto` of the few worth a person's look, by setting. [-]
        stated: The plan's own circuit; None where none is proposed. [-]
        routes: Lower setting, load management, larger service, new feeder. [-]
        least_setting_a: Smallest step that has the cars ready; None if unknown. [A]
        service_largest_a: Largest step the service carries, prudent. [A]
        service_untold: Whether what it carries beyond that cannot be told. [-]
        prices_title: What the price list says of itself. [-]
        invented_prices: Whether its figures are invented. [-]
        currency: Currency of the costs. [-]
        rough_fractions: From which to which share of a cost it is told. [-]
        assumptions: What was taken as given. [-]
        unknowns: What the search needs and nobody stated. [-]
    """

    name: str
    edition: str
    candidates: int
    lawful: int
    refused: tuple[tuple[str, int], ...]
    open: int
    hot: int
    pareto: tuple[Option, ...]
    shown: tuple[int, ...]
    stated: Stated | None
    routes: tuple[Route, ...]
    least_setting_a: float | None
    service_largest_a: float | None
    service_untold: bool
    prices_title: str
    invented_prices: bool
    currency: str
    rough_fractions: tuple[float, float]
    assumptions: tuple[Assumption, ...]
    unknowns: tuple[Unknown, ...]


def search(plan: Plan, evidence: Evidence, rules: Edition, prices: Prices) -> Options:
    """Every lawful circuit for the stated run and service, and the best of them.

    Args:
        plan: The house. [-]
        evidence: What was measured. [-]
        rules: Edition with its local amendments. [-]
        prices: The price list: what it prices is tried. [-]

    Returns:
        What was found; no candidates where the run or the setting is not stated. [-]
    """
    unknowns = _missing(plan)
    if unknowns:
        return _nothing(plan, rules, prices, unknowns)
    grid = grid_of(plan, rules, evidence, prices)
    found = _Found(plan, rules, grid, prices)
    numbers, counts = np.unique(grid.refused_by, return_counts=True)
    by_rule = dict(zip(numbers.tolist(), counts.tolist(), strict=True))
    pareto = [found.option(place) for place in found.pareto()]
    least_a = found.need.smallest_setting_a
    shown = _shown(pareto, least_a, wish_of(plan, None).setting_a)
    for place in shown:
        pareto[place] = found.inspected(pareto[place])
    return Options(
        name=plan.name,
        edition=rules.key,
        candidates=grid.refused_by.size,
        lawful=by_rule.get(0, 0),
        refused=tuple(
            (name, by_rule[number])
            for number, (name, _) in enumerate(RULES, 1)
            if number in by_rule
        ),
        open=int((grid.open_rules[grid.carried] != 0).sum()),
        hot=int((found.is_hot & grid.carried).sum()),
        pareto=tuple(pareto),
        shown=shown,
        stated=_stated(plan, rules, found),
        routes=routes_of(
            plan,
            prices,
            cheapest={a: found.cheapest(a) for a in grid.settings_a},
            least_a=least_a,
            service_a=grid.service_largest_a,
            service_untold=grid.service_untold,
        ),
        least_setting_a=least_a,
        service_largest_a=grid.service_largest_a,
        service_untold=grid.service_untold,
        prices_title=prices.title,
        invented_prices=prices.invented,
        currency=prices.currency,
        rough_fractions=prices.rough_fractions,
        assumptions=_ASSUMED,
        unknowns=(),
    )


_ASSUMED = (
    Assumption(
        "options.same-type-of-device",
        "An overcurrent device of another rating is marked for the same temperature as "
        "the plan's.",
        "its lugs, torque and price are to be looked up before buying",
    ),
    Assumption(
        "options.copper-ground",
        "The equipment grounding conductor is a copper wire in the raceway or cable.",
        "a metal raceway may serve instead; aluminum must be larger",
    ),
    Assumption(
        "options.one-method",
        "One wiring method and one trade size run all along, in the places stated.",
        "where the plan's sections differ, that mix is tried too",
    ),
)


def _missing(plan: Plan) -> tuple[Unknown, ...]:
    found = []
    if plan.circuit is None or not plan.circuit.sections:
        found.append(
            Unknown(
                "circuit.sections",
                "Which way does the run take, in which places, how long?",
                "a tape measure along the way from the panel to the charger",
            )
        )
    if not settings_of(plan):
        found.append(
            Unknown(
                "charger.setting",
                "At which current shall the car charge?",
                "the charger's label and the setting wished for",
            )
        )
    return tuple(found)


def _nothing(
    plan: Plan, rules: Edition, prices: Prices, unknowns: tuple[Unknown, ...]
) -> Options:
    return Options(
        name=plan.name,
        edition=rules.key,
        candidates=0,
        lawful=0,
        refused=(),
        open=0,
        hot=0,
        pareto=(),
        shown=(),
        stated=None,
        routes=(),
        least_setting_a=None,
        service_largest_a=None,
        service_untold=True,
        prices_title=prices.title,
        invented_prices=prices.invented,
        currency=prices.currency,
        rough_fractions=prices.rough_fractions,
        assumptions=(),
        unknowns=unknowns,
    )


class _Found:
    """The grid's circuits with their figures, and what is asked of them."""

    def __init__(
        self, plan: Plan, edition: Edition, grid: Grid, prices: Prices
    ) -> None:
        self.plan, self.edition, self.grid = plan, edition, grid
        self.prices = prices
        self.need = need(plan, edition)
        self.book = open_edition(_LIMITS, book="product_limits")
        self.cost, self.hours = costs_of_grid(grid, prices)
        self.heat: Heat = heat_of_grid(plan, edition, grid)
        self.setting_a = np.array(grid.settings_a)[grid.circuits[:, 0]]
        self.is_hot = self.heat.margin_k < 0
        self.room_a = self._room()

    def _room(self) -> Numbers:
        """Return the largest setting that each one's wire may carry lawfully."""
        most = np.zeros(len(self.grid.assemblies))
        kept = self.grid.carried
        np.maximum.at(most, self.grid.circuits[kept, 2], self.setting_a[kept])
        room: Numbers = most[self.grid.circuits[:, 2]]
        return room

    def pareto(self) -> list[int]:
        """Return places of the circuits that no other beats, by setting and cost."""
        kept = self._worth_a_look()
        columns = (
            self.setting_a,
            -self.cost,
            self.heat.margin_k,
            -self.heat.drop_fraction,
            self.room_a,
        )
        steps = [step for _, _, step in OBJECTIVES]
        raw = np.stack([column[kept] for column in columns], axis=1)
        told = np.where(np.isnan(raw), -np.inf, np.round(raw / np.array(steps)))
        order = np.lexsort((-told[:, 4], -told[:, 3], -told[:, 2], -raw[:, 1]))
        best = _undominated(told[order])
        places = kept[order][best]
        ranked = np.lexsort((self.cost[places], self.setting_a[places]))
        found: list[int] = places[ranked].tolist()
        return found

    def _worth_a_look(self) -> Places:
        """Return lawful ones with the least that cannot be told, once each.

        Not those whose wire is forecast over its limit: the rules allow them, but
        nobody should buy them unwarned.
        """
        places = np.nonzero(self.grid.carried & ~self.is_hot)[0]
        if not len(places):
            return places
        untold = np.bitwise_count(self.grid.open_rules[places])
        places = places[untold == untold.min()]
        # Of one wire at one setting, the device with the lowest cost.
        keys = self.grid.circuits[places, 0] * len(self.grid.assemblies)
        keys = keys + self.grid.circuits[places, 2]
        order = np.lexsort((self.grid.circuits[places, 1], self.cost[places], keys))
        _, first = np.unique(keys[order], return_index=True)
        chosen: Places = places[order][first]
        return chosen

    def cheapest(
        self, setting_a: float, *, carried: bool = False, method: str | None = None
    ) -> Option | None:
        """Return the cheapest circuit at a setting, the service aside unless asked."""
        wanted = (self.setting_a == setting_a) & (self.grid.carried | (not carried))
        if method is not None:
            alike = np.array([way.method == method for way in self.grid.ways])
            wanted &= alike[of_way(self.grid)[self.grid.circuits[:, 2]]]
        return self._least_cost(wanted)

    def _least_cost(self, wanted: NDArray[np.bool_]) -> Option | None:
        places = np.nonzero(wanted & ~self.is_hot & np.isfinite(self.cost))[0]
        if not len(places):
            return None
        untold = np.bitwise_count(self.grid.open_rules[places])
        places = places[untold == untold.min()]
        order = np.lexsort((self.grid.circuits[places, 1], self.cost[places]))
        return self.option(int(places[order[0]]))

    def with_wire(self, candidate: Candidate) -> Option | None:
        """Return the largest lawful setting on a wire, at the lowest cost."""
        alike = np.array(
            [_is(self.grid, each, candidate) for each in self.grid.assemblies], bool
        )
        wanted = self.grid.carried & alike[self.grid.circuits[:, 2]]
        if not wanted.any():
            return None
        return self._least_cost(
            wanted & (self.setting_a == self.setting_a[wanted].max())
        )

    def cost_of(self, candidate: Candidate) -> float | None:
        """Return the rough cost of a circuit that need not be lawful."""
        parts = parts_of(self.plan, self.edition, candidate, self.prices)
        return parts.cost

    def is_enough(self, setting_a: float) -> bool | None:
        """Return whether the cars are ready at a setting; None: unknown."""
        if not self.need.settings:
            return None
        least_a = self.need.smallest_setting_a
        return least_a is not None and setting_a >= least_a

    def candidate(self, place: int) -> Candidate:
        """Return the circuit in words."""
        grid = self.grid
        setting, device, one = grid.circuits[place].tolist()
        each, ground = grid.assemblies[one], int(grid.ground[place])
        way = grid.ways[each.way]
        return Candidate(
            setting_a=grid.settings_a[setting],
            overcurrent_a=grid.ratings_a[device],
            material=each.material,
            size=each.size,
            insulation=way.insulation,
            method=way.method,
            trade_size=each.trade_size,
            ground_size=CONDUCTOR_SIZES[ground] if ground >= 0 else None,
            ground_fault=bool(grid.ground_fault[setting, device]),
            new_disconnect=bool(grid.new_disconnect[setting, device]),
        )

    def option(self, place: int) -> Option:
        """Return a circuit with all its figures."""
        candidate = self.candidate(place)
        loss_w = _known(self.heat.loss_w[place])
        points = self._temperatures(place, candidate)
        known = [each for each in points if each.margin_k is not None]
        return Option(
            candidate=candidate,
            cost=_known(self.cost[place]),
            hours=_known(self.hours[place]),
            drop_fraction=_known(self.heat.drop_fraction[place]),
            drop_v=_known(self.heat.drop_v[place]),
            loss_w=loss_w,
            lost_kwh_per_year=self._lost_a_year(candidate.setting_a, loss_w),
            lost_kwh_per_1000_kwh=self._lost_a_thousand(candidate.setting_a, loss_w),
            temperatures=points,
            hottest=min(known, key=lambda each: each.margin_k or 0.0, default=None),
            margins=self._margins(place),
            room_a=float(self.room_a[place]),
            meets_need=self.is_enough(candidate.setting_a),
            open_rules=tuple(
                name
                for number, (name, _) in enumerate(RULES, 1)
                if int(self.grid.open_rules[place]) >> number & 1
            ),
        )

    def inspected(self, option: Option) -> Option:
        """Return the option with what an inspector would find beside the circuit."""
        stated = candidate_plan(self.plan, option.candidate)
        found = inspect(stated, self.edition, wish_of(stated, None)).findings
        return replace(
            option,
            elsewhere=tuple(
                each.id
                for each in found
                if each.outcome is Outcome.FALLS_SHORT
                and each.weight is not Weight.ADVICE
            ),
        )

    def _temperatures(
        self, place: int, candidate: Candidate
    ) -> tuple[Temperature, ...]:
        case = case_with(self.plan, self.edition, candidate)
        wires = [
            _temperature(
                f"conductor.{laid.id}",
                self.heat.conductor_c[place, at],
                self.heat.limit_c[place, at],
            )
            for at, laid in enumerate(case.run)
        ]
        ends = self.heat.end_w_per_m[place]
        around = [
            _judged(each)
            for each in panel_points(
                case,
                self.book,
                panel_case_of(case),
                current_a=candidate.setting_a,
                panel_w_per_m=_known(ends[0]),
                charger_w_per_m=_known(ends[1]),
            )
        ]
        return (*around[:-1], *wires, around[-1])

    def _lost_a_year(self, setting_a: float, loss_w: float | None) -> float | None:
        voltage_v = wish_of(self.plan, None).voltage_v
        if loss_w is None or voltage_v is None:
            return None
        charging = charging_at(self.plan, voltage_v=voltage_v, setting_a=setting_a)
        if charging is None:
            return None
        return energy_lost_per_year(
            loss_w=loss_w,
            hours_per_day=min(_HOURS, charging.square_hours_per_year / 365.0),
            days_per_year=365.0,
        )

    def _lost_a_thousand(self, setting_a: float, loss_w: float | None) -> float | None:
        voltage_v = wish_of(self.plan, None).voltage_v
        if loss_w is None or voltage_v is None:
            return None
        return 1000.0 * loss_w / (voltage_v * setting_a)

    def _margins(self, place: int) -> tuple[RuleMargin, ...]:
        found = []
        for rule, (amounts, limits, unit) in self.grid.margins.items():
            amount, limit = _known(amounts[place]), _known(limits[place])
            margin = None if amount is None or limit is None else limit - amount
            found.append(RuleMargin(rule, amount, limit, unit, margin))
        advised = self.edition.rule("voltage-drop-advice").number("branch_fraction")
        drop = _known(self.grid.book_drop_fraction[place])
        left = None if drop is None else advised - drop
        found.append(RuleMargin("voltage_drop", drop, advised, "", left))
        largest_a = self.grid.service_largest_a
        at_a = float(self.setting_a[place])
        left = None if largest_a is None else largest_a - at_a
        found.append(RuleMargin("service", at_a, largest_a, "A", left))
        return tuple(found)


def _undominated(told: Numbers) -> list[int]:
    """Return places of rows that no row is at least as good as and better somewhere.

    Rows come with the cheapest first; of equal rows the first is kept.
    """
    front: list[int] = []
    kept = np.empty((0, told.shape[1]))
    for place, row in enumerate(told):
        if len(kept) and bool((kept >= row).all(axis=1).any()):
            continue
        better = (row >= kept).all(axis=1)
        if better.any():
            front = [each for each, out in zip(front, better, strict=True) if not out]
            kept = kept[~better]
        front.append(place)
        kept = np.vstack((kept, row))
    return front


def _temperature(point: str, middle_c: float, limit_c: float) -> Temperature:
    middle, limit = _known(middle_c), _known(limit_c)
    margin = None if middle is None or limit is None else limit - middle
    return Temperature(point, middle, limit, margin)


def _judged(warmed: Warmed) -> Temperature:
    """Return a point of the panel as `check` judges it, without its working."""
    found = judged(warmed)
    return Temperature(
        warmed.id,
        None if warmed.span is None else _known(warmed.span.median),
        warmed.limit.sure_c if warmed.limit else None,
        found.margin if found else None,
    )


def _known(number: float) -> float | None:
    return float(number) if np.isfinite(number) else None


def _shown(
    pareto: Sequence[Option], least_a: float | None, setting_a: float | None
) -> tuple[int, ...]:
    """Return the cheapest of each setting, and two more.

    Of the setting needed the one with most room, of the one wished for the coolest.
    """
    chosen: set[int] = set()
    steps = sorted({each.candidate.setting_a for each in pareto})
    for step_a in _spread(steps, {least_a, setting_a}):
        here = [i for i, e in enumerate(pareto) if e.candidate.setting_a == step_a]
        chosen.add(min(here, key=lambda i: _or_infinite(pareto[i].cost)))
        if step_a == least_a:
            chosen.add(max(here, key=lambda i: (pareto[i].room_a, -_cost(pareto[i]))))
        if step_a == setting_a:
            chosen.add(max(here, key=lambda i: _margin_k(pareto[i])))
    return tuple(sorted(chosen))


def _spread(steps: list[float], wanted: set[float | None]) -> list[float]:
    """Return at most ten steps, the wanted ones and both ends among them."""
    if len(steps) <= _MOST_STEPS:
        return steps
    last = len(steps) - 1
    places = {round(last * n / (_MOST_STEPS - 3)) for n in range(_MOST_STEPS - 2)}
    return [a for place, a in enumerate(steps) if place in places or a in wanted]


def _or_infinite(cost: float | None) -> float:
    return float("inf") if cost is None else cost


def _cost(option: Option) -> float:
    return _or_infinite(option.cost)


def _margin_k(option: Option) -> float:
    wires = [t for t in option.temperatures if t.point.startswith("conductor.")]
    known = [t.margin_k for t in wires if t.margin_k is not None]
    return min(known, default=float("-inf"))


def _stated(plan: Plan, rules: Edition, found: _Found) -> Stated | None:
    circuit = plan.circuit
    if circuit is None or circuit.conductor is None or circuit.conductor.size is None:
        return None
    wish = wish_of(plan, None)
    judgement = judge_circuit(plan, rules, wish)
    binding = [
        item.finding
        for item in judgement.items
        if item.finding.weight is not Weight.ADVICE
    ]
    findings = tuple(each for each in binding if each.outcome is Outcome.FALLS_SHORT)
    own = _own(plan)
    setting_a = wish.setting_a or 0.0
    return Stated(
        words=_words(plan, setting_a),
        rule=_first_of(findings, _first_rule(found.grid, own) if own else ""),
        cost=None if own is None else found.cost_of(own),
        findings=findings,
        untold=any(each.outcome is Outcome.CANNOT_TELL for each in binding),
        next=found.cheapest(setting_a, carried=True),
        next_same_method=(
            found.cheapest(setting_a, carried=True, method=own.method) if own else None
        ),
        next_same_wire=found.with_wire(own) if own else None,
    )


def _own(plan: Plan) -> Candidate | None:
    """Return the plan's circuit as a candidate; None where a part is not stated."""
    circuit, wish = plan.circuit, wish_of(plan, None)
    if circuit is None or circuit.conductor is None or wish.setting_a is None:
        return None
    device, wire = circuit.overcurrent, circuit.conductor
    if device is None or device.rating is None or wire.size is None:
        return None
    methods = {s.method.value if s.method else None for s in circuit.sections}
    trades = {s.trade_size.value for s in circuit.sections if s.trade_size}
    method = next(iter(methods)) if len(methods) == 1 else AS_STATED
    if method is None or len(trades) > 1:
        return None
    return Candidate(
        setting_a=wish.setting_a,
        overcurrent_a=device.rating.value,
        material=wire.material.value if wire.material else "copper",
        size=wire.size.value,
        insulation=wire.insulation.value if wire.insulation else "as the cable",
        method=method,
        trade_size=next(iter(trades), None),
        ground_size=_ground_of(circuit),
    )


def _ground_of(circuit: Circuit) -> str | None:
    ground = circuit.equipment_ground
    return ground.size.value if ground is not None and ground.size else None


def _first_rule(grid: Grid, own: Candidate) -> str:
    """Return the first rule of the published order that refuses a circuit."""
    one = next(
        (place for place, each in enumerate(grid.assemblies) if _is(grid, each, own)),
        None,
    )
    if one is None:
        return ""
    if own.setting_a not in grid.settings_a or own.overcurrent_a not in grid.ratings_a:
        return ""
    setting = grid.settings_a.index(own.setting_a)
    device = grid.ratings_a.index(own.overcurrent_a)
    number = int(grid.refused_by[setting, device, one])
    return RULES[number - 1][0] if number else ""


def _first_of(findings: tuple[Finding, ...], by_grid: str) -> str:
    """Return the first rule in the published order, of the findings' and the grid's.

    The grid may have chosen another disconnect or device than the one stated.
    """
    names = {finding.id.split(".")[1] for finding in findings} | {by_grid}
    return next((rule for rule, _ in RULES if rule in names), "")


def _is(grid: Grid, each: Assembly, own: Candidate) -> bool:
    way = grid.ways[each.way]
    return (
        way.method,
        way.insulation,
        each.size,
        each.material,
        each.trade_size,
    ) == (own.method, own.insulation, own.size, own.material, own.trade_size)


def _words(plan: Plan, setting_a: float) -> str:
    own = _own(plan)
    if own is None:
        return f"the circuit as stated, at {setting_a:g} A"
    return own.words
