"""Every load of the house in its place in the load calculation."""

from __future__ import annotations

from dataclasses import dataclass, replace

from lugbook.assess.assessment import Assumption, Unknown
from lugbook.codebook.edition import Edition
from lugbook.codebook.nfpa70.load_calculation import (
    Heating,
    line_amount,
    motor_full_load_current,
)
from lugbook.errors import MissingEntry
from lugbook.finding import Line
from lugbook.premises.load import COOLING_KINDS, HEATING_KINDS, Load
from lugbook.premises.plan import Plan
from lugbook.premises.stated import Stated

__all__ = [
    "COOLING",
    "SEPARATE_HEATING",
    "Counted",
    "LoadList",
    "gather",
    "system_voltage_v",
]

COOKING = ("range", "cooktop", "wall oven")
WITH_HEATING = ("furnace blower", "boiler pump")
ALWAYS_FASTENED = (
    "water heater",
    "dishwasher",
    "disposer",
    "trash compactor",
    "built-in microwave",
    "well pump",
    "sump pump",
    "other fixed appliance",
)
MAY_BE_FASTENED = (
    "pool pump",
    "pool heater",
    "hot tub",
    "sauna",
    "kiln",
    "welder",
    "workshop machine",
    "elevator",
    "other",
)
# A fixed bathroom heater is space heating: Annex D, Example D2(b), lays it beside the
# cooling and leaves it out as the smaller.
SEPARATE_HEATING = ("separately controlled electric heat", "bathroom heater")
HEATING = (*HEATING_KINDS, "bathroom heater")
COOLING = COOLING_KINDS
_MOTOR_IS_THE_LOAD = (
    "disposer",
    "trash compactor",
    "well pump",
    "sump pump",
    "pool pump",
    "workshop machine",
    "elevator",
    "furnace blower",
    "boiler pump",
)
_MOTOR_DRIVEN = (*_MOTOR_IS_THE_LOAD, *COOLING_KINDS)
_MUST_BE_SAID = {
    "range": COOKING,
    "dryer": ("dryer",),
    "water heater": ("water heater",),
    "heating": HEATING_KINDS,
    "cooling": COOLING_KINDS,
    "vehicle charging": ("vehicle charging",),
}
_LEG_V = 120.0  # leg to neutral, of split phase and of the 208 V wye alike
_ONE_LEG_BELOW_V = 150.0  # between the nominal 120 V and 208 V
_NOMINAL_V = {"120/240 V split-phase": 240.0, "120/208 V of a three-phase wye": 208.0}


@dataclass(frozen=True, slots=True)
class Counted:
    """A load with its volt-amperes.

    Args:
        id: Id in the plan. [-]
        kind: Kind in the plan. [-]
        va: Load of all of its count together. [VA]
        each_va: Load of one. [VA]
        count: How many. [-]
        line: Line for the working. [-]
        is_known: Whether the nameplate was stated; if not the load stands at zero. [-]
    """

    id: str
    kind: str
    va: float
    each_va: float
    count: int
    line: Line
    is_known: bool = True

    @property
    def nameplates_va(self) -> tuple[float, ...]:
        """Nameplate of each one, in VA."""
        return (self.each_va,) * self.count


@dataclass(frozen=True, slots=True)
class LoadList:
    """The house's loads by class, the charger apart; what is not known is said.

    Unknown loads stand at zero, so every sum is a lower bound while `unknowns` is
    not empty.
    """

    floor_area_m2: float
    small_appliance_count: int
    laundry_count: int
    cooking: tuple[Counted, ...]
    dryers: tuple[Counted, ...]
    fastened: tuple[Counted, ...]
    with_heating: tuple[Counted, ...]
    others: tuple[Counted, ...]
    vehicles: tuple[Counted, ...]
    hvac: tuple[Counted, ...]
    heating: Heating
    motors: tuple[tuple[str, float], ...]
    unstated_motors: tuple[Counted, ...]
    continuous_va: float
    adds_hvac: bool
    proposed: tuple[Counted, ...]
    proposed_continuous_va: float
    unknowns: tuple[Unknown, ...]
    proposed_unknowns: tuple[Unknown, ...]
    assumptions: tuple[Assumption, ...]

    @property
    def appliances(self) -> tuple[Counted, ...]:
        """Every load but heating, cooling and vehicle charging."""
        return (
            *self.cooking,
            *self.dryers,
            *self.fastened,
            *self.with_heating,
            *self.others,
        )


def system_voltage_v(plan: Plan) -> float | None:
    """Nominal line-to-line voltage of the supply, None while the system is unknown.

    Args:
        plan: The house. [-]

    Returns:
        Nominal voltage. [V]
    """
    if plan.service is None or plan.service.system is None:
        return None
    return _NOMINAL_V.get(plan.service.system.value)


def gather(plan: Plan, edition: Edition) -> LoadList:
    """The loads of a plan, each in its class.

    Args:
        plan: The house. [-]
        edition: Edition of the rules, for motor currents by horsepower. [-]

    Returns:
        The list, with what is unknown. [-]
    """
    unknowns: list[Unknown] = []
    proposed_unknowns: list[Unknown] = []
    counted: list[tuple[Load, Counted]] = []
    for load in plan.loads:
        if load.state in ("removed", "planned"):
            continue
        found = _counted(load, plan, edition)
        if isinstance(found, Unknown):
            unknowns.append(found)
            if load.state == "proposed":
                proposed_unknowns.append(found)
            found = _zero(load)
        counted.append((load, found))
    unknowns.extend(_unsaid(plan))
    motors = [
        (each, _motor_va(load, plan, edition))
        for load, each in counted
        if _has_motor(load)
    ]
    dwelling = plan.dwelling
    return LoadList(
        floor_area_m2=dwelling.floor_area.value if dwelling.floor_area else 0.0,
        small_appliance_count=_count(dwelling.small_appliance_circuits),
        laundry_count=_count(dwelling.laundry_circuits),
        cooking=_of(counted, COOKING),
        dryers=_of(counted, ("dryer",)),
        fastened=tuple(c for load, c in counted if _is_fastened(load)),
        with_heating=_of(counted, WITH_HEATING),
        others=tuple(c for load, c in counted if _is_other(load)),
        vehicles=_of(counted, ("vehicle charging",)),
        hvac=_of(counted, (*HEATING, *COOLING)),
        heating=_heating(counted),
        motors=tuple((each.id, va) for each, va in motors if va is not None),
        unstated_motors=tuple(c for c, va in motors if va is None),
        continuous_va=sum(c.va for load, c in counted if _is_continuous(load)),
        adds_hvac=any(
            load.state == "proposed" and load.kind in (*HEATING, *COOLING)
            for load, _ in counted
        ),
        proposed=tuple(c for load, c in counted if load.state == "proposed"),
        proposed_continuous_va=sum(
            c.va
            for load, c in counted
            if load.state == "proposed" and _is_continuous(load)
        ),
        unknowns=tuple(unknowns),
        proposed_unknowns=tuple(proposed_unknowns),
        assumptions=tuple(
            _assumptions(plan, counted, [c.id for c, va in motors if va is None])
        ),
    )


def _count(stated: object) -> int:
    return int(getattr(stated, "value", 0) or 0)


def _of(
    counted: list[tuple[Load, Counted]], kinds: tuple[str, ...]
) -> tuple[Counted, ...]:
    return tuple(c for load, c in counted if load.kind in kinds)


def _is_continuous(load: Load) -> bool:
    """Return whether a load counts as continuous; vehicle charging always does."""
    stated = load.continuous is not None and load.continuous.value
    return stated or load.kind == "vehicle charging"


def _is_fastened(load: Load) -> bool:
    if load.kind in ALWAYS_FASTENED:
        return load.fastened_in_place is None or load.fastened_in_place.value
    stated = load.fastened_in_place
    return load.kind in MAY_BE_FASTENED and stated is not None and stated.value


def _is_other(load: Load) -> bool:
    loose = (*ALWAYS_FASTENED, *MAY_BE_FASTENED, "plugged-in appliance")
    return load.kind in loose and not _is_fastened(load)


def _counted(load: Load, plan: Plan, edition: Edition) -> Counted | Unknown:
    line = _each(load, plan, edition)
    if line is None:
        return _untold(load, plan)
    each_va = line_amount(line)
    number = int(load.count.value) if load.count else 1
    if number != 1:
        line = replace(
            line,
            amount=each_va * number,
            symbols="number × each",
            numbers=f"{number} × {each_va:,.0f} VA",
        )
    return Counted(load.id, load.kind, each_va * number, each_va, number, line)


def _untold(load: Load, plan: Plan) -> Unknown:
    name = load.name or load.id
    motor_said = load.motor_current or load.motor_horsepower
    current_said = load.nameplate_current or (
        motor_said and load.kind in _MOTOR_IS_THE_LOAD
    )
    if current_said and _load_voltage_v(load, plan) is None:
        return Unknown(
            f"loads.{load.id}.voltage",
            f"At which voltage does {name} run?",
            "the label on the appliance, or its breaker: one pole is 120 V",
        )
    return Unknown(
        f"loads.{load.id}.nameplate",
        f"What does the nameplate of {name} say?",
        "the label on the appliance: volts and amperes, or watts",
    )


def _each(load: Load, plan: Plan, edition: Edition) -> Line | None:
    """Return the line of one such load; the larger where its plate says it twice."""
    by_current = _by_current(load, load.nameplate_current, "nameplate_current", plan)
    ways = [way for way in (_by_nameplate(load), by_current) if way is not None]
    if ways:
        return max(ways, key=line_amount)
    if load.kind not in _MOTOR_IS_THE_LOAD:
        return None  # a compressor or a drum's motor is only part of the load
    by_motor = _by_current(load, load.motor_current, "motor_current", plan)
    return by_motor or _by_horsepower(load, plan, edition)


def _by_nameplate(load: Load) -> Line | None:
    stated = load.nameplate
    if stated is None:
        return None
    source = f"plan, loads.{load.id}.nameplate, {stated.how.value}"
    factor = load.power_factor.value if load.power_factor else 1.0
    if factor == 1 or not stated.text.rstrip().upper().endswith("W"):
        return Line(_label(load), stated.value, "VA", source=source)
    return Line(
        _label(load),
        stated.value / factor,
        "VA",
        "power ÷ power factor",
        f"{stated.value:,.0f} W ÷ {factor:g}",
        source,
    )


def _by_current(
    load: Load, stated: Stated[float] | None, field: str, plan: Plan
) -> Line | None:
    volts = _calculation_voltage_v(load, plan)
    if stated is None or volts is None:
        return None
    return Line(
        _label(load),
        stated.value * volts,
        "VA",
        "current × voltage",
        f"{stated.value:g} A × {volts:g} V",
        f"plan, loads.{load.id}.{field}",
    )


def _by_horsepower(load: Load, plan: Plan, edition: Edition) -> Line | None:
    current = _motor_current(load, plan, edition)
    volts = _calculation_voltage_v(load, plan)
    if current is None or volts is None:
        return None
    return replace(
        current,
        label=_label(load),
        amount=line_amount(current) * volts,
        unit="VA",
        symbols="full-load current by horsepower × voltage",
        numbers=f"{line_amount(current):g} A × {volts:g} V",
    )


def _label(load: Load) -> str:
    return load.name or f"{load.kind} ({load.id})"


def _load_voltage_v(load: Load, plan: Plan) -> float | None:
    if load.voltage is not None:
        return load.voltage.value
    if load.leg in ("A", "B"):
        return _LEG_V
    return system_voltage_v(plan) if load.leg == "both" else None


def _calculation_voltage_v(load: Load, plan: Plan) -> float | None:
    """Return the voltage a load's current is taken at: nominal, or its plate's if more.

    A plate of 230 V on a 240 V service draws its amperes all the same (220.5(A)).
    """
    volts = _load_voltage_v(load, plan)
    if volts is None:
        return None
    nominal_v = _LEG_V if volts < _ONE_LEG_BELOW_V else system_voltage_v(plan)
    return max(volts, nominal_v or 0.0)


def _motor_current(load: Load, plan: Plan, edition: Edition) -> Line | None:
    """Return the full-load current by horsepower, if the table holds it."""
    volts = _load_voltage_v(load, plan)
    if load.motor_horsepower is None or volts is None:
        return None
    try:
        return motor_full_load_current(
            edition=edition, power_hp=load.motor_horsepower.value, voltage_v=volts
        ).lines[0]
    except MissingEntry:
        return None


def _motor_va(load: Load, plan: Plan, edition: Edition) -> float | None:
    """Return the load of a motor as stated; None where nothing says how large it is."""
    volts = _load_voltage_v(load, plan)
    if volts is None:
        return None
    if load.motor_current is not None:
        return load.motor_current.value * volts
    by_horsepower = _motor_current(load, plan, edition)
    return line_amount(by_horsepower) * volts if by_horsepower else None


def _has_motor(load: Load) -> bool:
    stated = load.motor_current or load.motor_horsepower
    return load.kind in _MOTOR_DRIVEN or stated is not None


def _zero(load: Load) -> Counted:
    source = "unknown, counted as nothing: a lower bound"
    line = Line(_label(load), 0.0, "VA", source=source)
    number = int(load.count.value) if load.count else 1
    return Counted(load.id, load.kind, 0.0, 0.0, number, line, is_known=False)


def _heating(counted: list[tuple[Load, Counted]]) -> Heating:
    def total(*kinds: str) -> float:
        return sum(c.va for load, c in counted if load.kind in kinds)

    # A unit of no load is no unit; one of unknown load is, so the sum stays least.
    units = [(load, c) for load, c in counted if c.va > 0 or not c.is_known]
    separate = [(load, c) for load, c in units if load.kind in SEPARATE_HEATING]
    together = [
        load.heats_while_compressor_runs
        for load, _ in units
        if load.kind == "heat pump supplemental heat"
    ]
    return Heating(
        cooling_va=total("central cooling", "room cooling"),
        heat_pump_va=total("heat pump"),
        supplemental_va=total("heat pump supplemental heat"),
        supplemental_with_compressor=any(s is None or s.value for s in together)
        or not together,
        central_va=total("central electric heat"),
        separate_va=total(*SEPARATE_HEATING),
        separate_count=sum(
            int(load.controls.value) if load.controls else c.count
            for load, c in separate
        ),
        storage_va=total("thermal storage heat"),
    )


def _unsaid(plan: Plan) -> list[Unknown]:
    """Return what the calculation needs and the plan does not say."""
    dwelling = plan.dwelling
    missing = []
    if dwelling.floor_area is None:
        missing.append(
            Unknown(
                "dwelling.floor_area",
                "How large is the house by its outside dimensions?",
                "tax record or a tape measure; leave out open porches and garage",
            )
        )
    if dwelling.small_appliance_circuits is None:
        missing.append(
            Unknown(
                "dwelling.small_appliance_circuits",
                "How many 20 A circuits feed kitchen, pantry and dining receptacles?",
                "the directory on the panel door; at least two in most houses",
            )
        )
    if dwelling.laundry_circuits is None:
        missing.append(
            Unknown(
                "dwelling.laundry_circuits",
                "How many 20 A circuits feed the laundry receptacles?",
                "the directory on the panel door; usually one",
            )
        )
    if dwelling.loads_complete is not None and dwelling.loads_complete.value:
        return missing
    missing.append(
        Unknown(
            "dwelling.loads_complete",
            "Does the list of loads hold everything fixed or large in the house?",
            "walk through every room, attic, garage and yard; then write "
            "loads_complete = true",
        )
    )
    kinds = {load.kind for load in plan.loads}
    for word, among in _MUST_BE_SAID.items():
        if not kinds & set(among) and word not in dwelling.not_present:
            missing.append(
                Unknown(
                    "dwelling.not_present",
                    f"Is there an electric {word}, or none?",
                    f'add it under [[loads]], or "{word}" to not_present',
                )
            )
    return missing


def _assumptions(
    plan: Plan, counted: list[tuple[Load, Counted]], unstated_motors: list[str]
) -> list[Assumption]:
    loads = [load for load, _ in counted]
    taken = (
        (
            "loads-not-fastened",
            "Counted whole in the standard method",
            [load for load in loads if _is_other(load)],
            "not stated as fastened in place; the whole nameplate errs high",
        ),
        (
            "motor-not-stated",
            "The quarter for the largest motor leaves out",
            [load for load in loads if load.id in unstated_motors],
            "no motor current is stated; the standard method passes only if it also "
            "does with the whole load as motor",
        ),
        (
            "supplemental-heat-with-compressor",
            "Heat pump and its supplemental heat are taken to run together",
            [
                load
                for load in loads
                if load.kind == "heat pump supplemental heat"
                and load.heats_while_compressor_runs is None
            ],
            "not stated; errs high",
        ),
        (
            "interlock-not-credited",
            "Counted although an interlock is stated",
            [load for load in loads if load.never_with],
            "only heating against cooling is left out here, so this errs high; the "
            "rules permit the larger of two that cannot run together",
        ),
        (
            "other-charger-at-its-nameplate",
            "Other chargers count at their nameplate, not at their setting",
            [
                load
                for load in loads
                if load.kind == "vehicle charging" and load.setting
            ],
            "errs high",
        ),
        (
            "planned-loads-left-out",
            "Planned loads are not in today's figures",
            [load for load in plan.loads if load.state == "planned"],
            "they belong to another year; compare with a plan that has them",
        ),
    )
    named = [
        Assumption(id, f"{text}: {', '.join(load.id for load in those)}.", why)
        for id, text, those, why in taken
        if those
    ]
    if plan.load_management is not None:
        named.append(
            Assumption(
                "load-management-not-credited",
                "The load management stated lowers no figure here.",
                "every load counts as if it could run unchecked; errs high",
            )
        )
    return named
