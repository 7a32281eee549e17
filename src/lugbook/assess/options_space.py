"""What may be chosen: settings, overcurrent devices, wires in a raceway or a cable.

A *way* lays the stated run: one method on all of its sections, or the
methods as stated where they differ. An *assembly* is a way with a trade size and a
conductor: everything of a circuit but its device and setting.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from typing import Literal

from lugbook.assess.capacity import wish_of
from lugbook.assess.circuit_case import Case, case_of
from lugbook.assess.options_prices import MATERIALS, Prices
from lugbook.codebook.edition import Edition
from lugbook.codebook.nfpa70.overcurrent import standard_ratings_a
from lugbook.premises.circuit import (
    CABLES,
    RACEWAYS,
    Circuit,
    Conductor,
    Disconnect,
    EquipmentGround,
    OvercurrentDevice,
    Section,
)
from lugbook.premises.plan import Plan
from lugbook.premises.stated import Stated
from lugbook.quantities import CONDUCTOR_SIZES

__all__ = [
    "AS_STATED",
    "NEW_DISCONNECT_MARK",
    "Assembly",
    "Candidate",
    "Way",
    "assemblies_of",
    "candidate_plan",
    "case_for",
    "case_with",
    "plan_with",
    "ratings_of",
    "settings_of",
    "sizes_tried",
    "ways_of",
]

AS_STATED = "as stated"


@dataclass(frozen=True, slots=True)
class Candidate:
    """One circuit that may be chosen.

    Args:
        setting_a: The charger's setting. [A]
        overcurrent_a: Rating of the overcurrent device. [A]
        material: Metal of the legs. [-]
        size: Size of the legs. [-]
        insulation: Type letters, or "as the cable". [-]
        method: Wiring method of every section, or "as stated". [-]
        trade_size: Trade size of every raceway; None for cable. [-]
        ground_size: Copper equipment grounding conductor; None if none will do. [-]
        ground_fault: Whether the device is chosen with ground-fault protection for
            personnel, because the rule asks for it. [-]
        new_disconnect: Whether a disconnect of the device's rating is chosen, because
            the stated one will not do. [-]
    """

    setting_a: float
    overcurrent_a: float
    material: str
    size: str
    insulation: str
    method: str
    trade_size: str | None
    ground_size: str | None = None
    ground_fault: bool = False
    new_disconnect: bool = False

    @property
    def conductor(self) -> str:
        """The legs' wire in words."""
        cover = "" if self.insulation == "as the cable" else f" {self.insulation}"
        return f"{self.size} {self.material}{cover}"

    @property
    def raceway(self) -> str:
        """The raceway or cable in words."""
        return f"{self.method} {self.trade_size}" if self.trade_size else self.method

    @property
    def words(self) -> str:
        """The whole circuit in words."""
        return (
            f"{self.setting_a:g} A on a {self.overcurrent_a:g} A device, "
            f"{self.conductor}, {self.raceway}"
        )


@dataclass(frozen=True, slots=True)
class Way:
    """One way to lay the run: a method for each section, and an insulation.

    Args:
        method: Method of all sections, or "as stated". [-]
        methods: Method of each section, in the order of the run. [-]
        insulation: Type letters, or "as the cable". [-]
        case: The plan's circuit laid so, resolved. [-]
    """

    method: str
    methods: tuple[str, ...]
    insulation: str
    case: Case


@dataclass(frozen=True, slots=True)
class Assembly:
    """A way with a trade size and a conductor, by their places in lists.

    Args:
        way: Place of its way. [-]
        trade_size: Trade size of its raceways; None where it has none. [-]
        material: Metal of the legs. [-]
        size: Size of the legs. [-]
    """

    way: int
    trade_size: str | None
    material: str
    size: str


def settings_of(plan: Plan) -> tuple[float, ...]:
    """The settings to try: the charger's steps up to its nameplate.

    Args:
        plan: The house. [-]

    Returns:
        Settings, ascending; setting and nameplate where no steps are stated. [A]
    """
    wish = wish_of(plan, None)
    most_a = wish.nameplate_a
    offered = set(wish.steps_a) or {
        a for a in (wish.setting_a, wish.nameplate_a) if a is not None
    }
    return tuple(
        sorted(a for a in offered if a > 0 and (most_a is None or a <= most_a))
    )


def ratings_of(plan: Plan, edition: Edition, prices: Prices) -> tuple[float, ...]:
    """The ratings of overcurrent devices to try.

    Args:
        plan: The house. [-]
        edition: Edition of the rules. [-]
        prices: The price list. [-]

    Returns:
        Standard ratings from 15 A to what the charger allows, as far as the list
        prices them. [A]
    """
    charger = plan.charger
    stated = charger.maximum_overcurrent if charger else None
    most_a = stated.value if stated else math.inf
    device = plan.circuit.overcurrent if plan.circuit else None
    kind = device.kind.value if device and device.kind else "circuit breaker"
    return tuple(
        a
        for a in standard_ratings_a(edition=edition, kind=kind)
        if _LEAST_A <= a <= most_a and prices.device_prices(a) is not None
    )


_LEAST_A = 15.0  # smaller ratings of the table belong to no branch circuit


def sizes_tried(prices: Prices) -> tuple[str, ...]:
    """Every conductor size the list prices, ascending."""
    priced = {size for size, _ in prices.conductors}
    priced |= {row.size for row in prices.cables}
    return tuple(size for size in CONDUCTOR_SIZES if size in priced)


def ways_of(plan: Plan, edition: Edition, prices: Prices) -> tuple[Way, ...]:
    """Every way to lay the stated run that the price list knows.

    Args:
        plan: The house, its circuit with sections. [-]
        edition: Edition of the rules. [-]
        prices: The price list. [-]

    Returns:
        Ways; none where the plan has no sections. [-]
    """
    sections = plan.circuit.sections if plan.circuit else ()
    if not sections:
        return ()
    return tuple(
        Way(method, methods, insulation, _laid(plan, edition, methods, insulation))
        for method, methods, insulation in _tried(sections, prices)
    )


def _tried(
    sections: tuple[Section, ...], prices: Prices
) -> Iterator[tuple[str, tuple[str, ...], str]]:
    raceways = tuple(dict.fromkeys(method for method, _ in prices.raceways))
    cables = dict.fromkeys((row.method, row.insulation) for row in prices.cables)
    for method in raceways:
        for insulation in prices.insulations:
            yield method, (method,) * len(sections), insulation
    for method, insulation in cables:
        yield method, (method,) * len(sections), insulation
    stated = [each.method.value if each.method else None for each in sections]
    known = tuple(method for method in stated if method is not None)
    if len(set(stated)) > 1 and len(known) == len(stated):
        for insulation in prices.insulations:
            yield AS_STATED, known, insulation


def _laid(
    plan: Plan, edition: Edition, methods: tuple[str, ...], insulation: str
) -> Case:
    laid = plan_with(
        plan, methods=methods, insulation=insulation, size=None, material="copper"
    )
    return case_of(laid, edition, wish_of(laid, None))


def assemblies_of(ways: Iterable[Way], prices: Prices) -> list[Assembly]:
    """Every way with every trade size and conductor that the list prices.

    Args:
        ways: The ways. [-]
        prices: The price list. [-]

    Returns:
        Assemblies, in the order of the list. [-]
    """
    found = []
    for place, way in enumerate(ways):
        for trade in _trades(way, prices):
            found += [
                Assembly(place, trade, material, size)
                for size, material in _conductors(way, prices)
            ]
    return found


def _trades(way: Way, prices: Prices) -> tuple[str | None, ...]:
    raceways = {method for method in way.methods if method in RACEWAYS}
    if not raceways:
        return (None,)
    trades = dict.fromkeys(trade for _, trade in prices.raceways)
    return tuple(
        trade
        for trade in trades
        if all((m, trade) in prices.raceways for m in raceways)
    )


def _conductors(way: Way, prices: Prices) -> list[tuple[str, str]]:
    """Return sizes and metals that every section's method is priced in."""
    wanted = set(way.methods)
    by_raceway = set(prices.conductors)
    found = by_raceway if wanted & set(RACEWAYS) else None
    for method in wanted & set(CABLES):
        sold = {
            (row.size, material)
            for row in prices.cables
            if row.method == method
            and (way.method == AS_STATED or row.insulation == way.insulation)
            for material in row.per_ft
        }
        found = sold if found is None else found & sold
    return sorted(
        found or (),
        key=lambda each: (MATERIALS.index(each[1]), CONDUCTOR_SIZES.index(each[0])),
    )


def plan_with(
    plan: Plan,
    *,
    methods: tuple[str, ...],
    insulation: str,
    size: str | None,
    material: str,
    trade_size: str | None = None,
    overcurrent_a: float | None = None,
    setting_a: float | None = None,
    ground_size: str | None = None,
    ground_fault: bool | None = None,
    new_disconnect: bool = False,
) -> Plan:
    """The plan with another circuit on its stated run.

    What is not chosen here stays as stated: the charger, the disconnect, the lengths
    and places. A device of another rating is taken to be of the same type: marked for
    the same temperature, its lugs to be looked up.

    Args:
        plan: The house. [-]
        methods: Wiring method of each section. [-]
        insulation: Type letters; "as the cable" leaves them to the cable. [-]
        size: Size of the legs; None leaves it out. [-]
        material: Metal of the legs. [-]
        trade_size: Trade size of every raceway. [-]
        overcurrent_a: Rating of the device; None leaves it out. [A]
        setting_a: The charger's setting; None keeps the plan's. [A]
        ground_size: Copper equipment grounding wire; None leaves it out. [-]
        ground_fault: Whether the device protects people against ground faults; None
            keeps what the plan states of its device. [-]
        new_disconnect: Whether to take a disconnect of the device's rating instead of
            the plan's. [-]

    Returns:
        The plan. [-]
    """
    circuit = plan.circuit
    if circuit is None:
        return plan
    words = None if insulation == "as the cable" else Stated(insulation)
    conductor = Conductor(
        material=Stated(material),
        size=None if size is None else Stated(size),
        insulation=words,
    )
    sections = tuple(
        section.model_copy(
            update={
                "method": Stated(method),
                "trade_size": (
                    Stated(trade_size) if trade_size and method in RACEWAYS else None
                ),
                "conductor": None,
                "equipment_ground": None,
            }
        )
        for section, method in zip(circuit.sections, methods, strict=True)
    )
    ground = None
    if ground_size is not None:
        ground = EquipmentGround(
            kind=Stated("wire"), material=Stated("copper"), size=Stated(ground_size)
        )
    changed = circuit.model_copy(
        update={
            "conductor": conductor,
            "sections": sections,
            "equipment_ground": ground,
            "overcurrent": _device(circuit, overcurrent_a, ground_fault),
        }
    )
    if new_disconnect and overcurrent_a is not None:
        changed = changed.model_copy(update=_disconnect(circuit, overcurrent_a))
    charger = plan.charger
    if charger is not None and setting_a is not None:
        charger = charger.model_copy(update={"setting": Stated(setting_a)})
    return plan.model_copy(update={"circuit": changed, "charger": charger})


def _device(
    circuit: Circuit, rating_a: float | None, ground_fault: bool | None
) -> OvercurrentDevice | None:
    stated = circuit.overcurrent
    if rating_a is None:
        return None if stated is None else stated.model_copy(update={"rating": None})
    device = stated or OvercurrentDevice()
    changes: dict[str, object] = {"rating": Stated(rating_a)}
    if device.rating is not None and device.rating.value == rating_a:
        changes = {}
    else:
        # Its lugs, torque and test button are another device's.
        changes |= dict.fromkeys(_OF_ONE_DEVICE)
    if ground_fault is not None:
        changes["ground_fault_protection"] = Stated(ground_fault)
    return device.model_copy(update=changes)


def _disconnect(circuit: Circuit, rating_a: float) -> dict[str, object]:
    """Return a disconnect that is bought for the circuit, the stated one's lugs out."""
    return {
        "disconnect": Disconnect(
            kind=Stated("switch"),
            rating=Stated(rating_a),
            lockable_open=Stated(True),
            terminal_temperature=Stated(NEW_DISCONNECT_MARK),
        ),
        "terminals": tuple(
            each
            for each in circuit.terminals
            if not each.at.value.startswith("disconnect")
        ),
    }


NEW_DISCONNECT_MARK: Literal["75 °C"] = "75 °C"  # chosen so; the parts list asks for it
_OF_ONE_DEVICE = (
    "terminal_smallest",
    "terminal_largest",
    "terminal_materials",
    "terminal_torque",
    "pole_resistance",
)


def case_with(plan: Plan, edition: Edition, candidate: Candidate) -> Case:
    """A candidate's circuit, resolved as `check` would resolve its plan.

    Args:
        plan: The house. [-]
        edition: Edition of the rules. [-]
        candidate: The circuit. [-]

    Returns:
        The case. [-]
    """
    chosen = candidate_plan(plan, candidate)
    return case_of(chosen, edition, wish_of(chosen, None))


def candidate_plan(plan: Plan, candidate: Candidate) -> Plan:
    """The plan that states a candidate.

    Args:
        plan: The house. [-]
        candidate: The circuit. [-]

    Returns:
        The plan, to be judged like any other. [-]
    """
    sections = plan.circuit.sections if plan.circuit else ()
    methods = (candidate.method,) * len(sections)
    if candidate.method == AS_STATED:
        methods = tuple(each.method.value if each.method else "" for each in sections)
    return plan_with(
        plan,
        methods=methods,
        insulation=candidate.insulation,
        size=candidate.size,
        material=candidate.material,
        trade_size=candidate.trade_size,
        overcurrent_a=candidate.overcurrent_a,
        setting_a=candidate.setting_a,
        ground_size=candidate.ground_size,
        ground_fault=True if candidate.ground_fault else None,
        new_disconnect=candidate.new_disconnect,
    )


def case_for(case: Case, *, size: str, material: str) -> Case:
    """The same circuit with another conductor.

    Args:
        case: The circuit as laid. [-]
        size: Size of the legs. [-]
        material: Metal of the legs. [-]

    Returns:
        The case. [-]
    """
    return replace(case, size=size, material=material)
