"""Heat, voltage drop and loss of many circuits at once, by the forecast's own model.

Sections are made ready by `laying_of`, once for each distinct wire, raceway and place;
the physics then takes arrays. Every figure is the forecast's middle: `check` on the
candidate's plan gives its range too.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, fields, replace
from typing import Any, TypeVar

import numpy as np
from numpy.typing import NDArray

from lugbook.assess.forecast_conductor import Laying, in_insulation_c, laying_of
from lugbook.assess.forecast_parts import CEILING_C
from lugbook.assess.forecast_settings import charging_at
from lugbook.assess.options_rules import Grid
from lugbook.assess.options_space import Assembly, case_for
from lugbook.codebook.edition import Edition, open_edition
from lugbook.codebook.nfpa70.voltage import conductor_impedance_ohm_per_m
from lugbook.errors import MissingEntry, OutOfRange
from lugbook.physics.conductor_heating import (
    ConductorHeating,
    InEarth,
    Raceway,
    ampacity_of_conductors,
    heating_of_conductors,
)
from lugbook.physics.voltage_drop import loss_two_wire, receiving_voltage
from lugbook.premises.circuit import RACEWAYS
from lugbook.premises.plan import Plan

__all__ = ["Heat", "heat_of_grid"]

Numbers = NDArray[np.float64]
Places = NDArray[np.int64]

_LIMITS = "2026"  # the one edition held of the limits of product standards
_HOURS = 24.0
_SCREEN = 1 - 1e-6  # keeps the solver off its own ceiling


@dataclass(frozen=True, slots=True)
class Heat:
    """What each circuit warms to and loses: arrays in the order of the grid's circuits.

    NaN is unknown; an infinite temperature settles nowhere under the model's ceiling.

    Args:
        conductor_c: Conductor in each section, a row each circuit. [°C]
        limit_c: Its limit there. [°C]
        drop_v: Voltage lost along the run. [V]
        drop_fraction: The same over the supply. [-]
        loss_w: Heat made in the run while charging. [W]
        end_w_per_m: Heat of one conductor at the panel and at the charger. [W/m]
    """

    conductor_c: Numbers
    limit_c: Numbers
    drop_v: Numbers
    drop_fraction: Numbers
    loss_w: Numbers
    end_w_per_m: Numbers

    @property
    def margin_k(self) -> Numbers:
        """Least room of any section; NaN where one is unknown."""
        room: Numbers = (self.limit_c - self.conductor_c).min(axis=1)
        return room


def heat_of_grid(plan: Plan, edition: Edition, grid: Grid) -> Heat:
    """Heat, drop and loss of the grid's circuits.

    Args:
        plan: The house. [-]
        edition: Edition of the rules. [-]
        grid: The candidates, judged. [-]

    Returns:
        Arrays in the order of `grid.circuits`. [-]
    """
    keys = grid.circuits[:, 0] * len(grid.assemblies) + grid.circuits[:, 2]
    distinct, place = np.unique(keys, return_inverse=True)
    setting, assembly = np.divmod(distinct, len(grid.assemblies))
    solver = _Solver(plan, edition, grid, setting, assembly)
    currents_a = solver.currents_a
    run = grid.ways[0].case.run if grid.ways else ()
    solved = [solver.section(at) for at in range(len(run))]
    temperature = np.stack([each[0] for each in solved], axis=1)
    ohm = np.stack([each[1] for each in solved], axis=1)
    reactance = np.stack([each[2] for each in solved], axis=1)
    lengths = np.array([np.nan if s.length_m is None else s.length_m for s in run])
    drop_v, loss_w = _drop(currents_a, ohm, reactance, lengths, solver.supply_v)
    fraction = drop_v / (solver.supply_v or np.nan)
    return Heat(
        conductor_c=temperature[place],
        limit_c=solver.limits_c(),
        drop_v=drop_v[place],
        drop_fraction=fraction[place],
        loss_w=loss_w[place],
        end_w_per_m=(currents_a[:, None] ** 2 * ohm[:, [0, -1]])[place],
    )


def _drop(
    currents_a: Numbers,
    ohm: Numbers,
    reactance: Numbers,
    lengths_m: Numbers,
    supply_v: float | None,
) -> tuple[Numbers, Numbers]:
    loop = 2 * (ohm * lengths_m).sum(axis=1)
    loop_x = 2 * (reactance * lengths_m).sum(axis=1)
    known = np.isfinite(loop) & np.isfinite(loop_x)
    drop_v, loss_w = np.full((2, len(loop)), np.nan)
    if supply_v is None or not known.any():
        return drop_v, loss_w
    at: Any = currents_a[known]
    drop_v[known] = supply_v - receiving_voltage(
        supply_v=supply_v,
        current_a=at,
        resistance_ohm=loop[known],
        reactance_ohm=loop_x[known],
    )
    losses: list[Any] = [
        loss_two_wire(
            current_a=at,
            resistance_ohm_per_m=ohm[known, place],
            length_m=float(length_m),
        )
        for place, length_m in enumerate(lengths_m)
    ]
    loss_w[known] = sum(losses)
    return drop_v, loss_w


class _Solver:
    """Solves one section of every distinct circuit; holds what is ready."""

    def __init__(
        self,
        plan: Plan,
        edition: Edition,
        grid: Grid,
        setting: Places,
        assembly: Places,
    ) -> None:
        self.edition = edition
        self.book = open_edition(_LIMITS, book="product_limits")
        self.grid = grid
        self.assembly = assembly
        self.currents_a = np.array(grid.settings_a)[setting]
        self.supply_v = grid.ways[0].case.wish.voltage_v if grid.ways else None
        losses = [_loss_factor(plan, self.supply_v, a) for a in grid.settings_a]
        self.loss_factor = np.array(losses)[setting]
        self._reactances: dict[tuple[str, str, str], float] = {}
        self._held: dict[tuple[object, ...], Laying | str] = {}

    def section(self, at: int) -> tuple[Numbers, Numbers, Numbers]:
        """Return temperature, resistance and reactance in one section."""
        temperature, ohm, reactance = np.full((3, len(self.assembly)), np.nan)
        distinct, place = np.unique(self.assembly, return_inverse=True)
        groups: dict[tuple[object, ...], list[tuple[int, Laying]]] = {}
        for number, one in enumerate(distinct.tolist()):
            laying = self._laying(self.grid.assemblies[one], at)
            if laying is not None:
                groups.setdefault(_shape(laying), []).append((number, laying))
        for members in groups.values():
            members = _that_can_be_solved(members)
            numbers = np.array([number for number, _ in members], np.int64)
            here = np.nonzero(np.isin(place, numbers))[0]
            if not len(here):
                continue
            row = np.searchsorted(numbers, place[here])
            group = _Group([laying for _, laying in members], row)
            temperature[here], ohm[here] = group.solved(
                self.currents_a[here], self.loss_factor[here]
            )
            reactance[here] = np.array(
                [self._reactance(laying) for _, laying in members]
            )[row]
        return temperature, ohm, reactance

    def _laying(self, each: Assembly, at: int) -> Laying | None:
        """Return a section made ready, put together from parts that many share."""
        way = self.grid.ways[each.way]
        laid = way.case.run[at]
        if laid.method not in RACEWAYS:
            key = ("cable", at, laid.method, laid.insulation, each.size, each.material)
            whole = self._made(key, each, at)
            return None if isinstance(whole, str) else whole
        wire = self._made(("wire", laid.insulation, each.size, each.material), each, at)
        around = self._made(("raceway", at, laid.method, each.trade_size), each, at)
        place = self._made(("place", at, way.method, way.insulation), each, at)
        if isinstance(wire, str) or isinstance(around, str) or isinstance(place, str):
            return None
        return replace(
            place,
            size=each.size,
            material=wire.material,
            wire=wire.wire,
            enclosure=around.enclosure,
            surroundings=around.surroundings,
        )

    def _made(self, key: tuple[object, ...], each: Assembly, at: int) -> Laying | str:
        if key not in self._held:
            way = self.grid.ways[each.way]
            case = case_for(way.case, size=each.size, material=each.material)
            self._held[key] = laying_of(case, self.book, case.run[at], each.trade_size)
        return self._held[key]

    def _reactance(self, laying: Laying) -> float:
        key = (laying.size, laying.material, laying.laid.method or "")
        if key not in self._reactances:
            self._reactances[key] = self._looked_up(laying)
        return self._reactances[key]

    def _looked_up(self, laying: Laying) -> float:
        try:
            _, reactance = conductor_impedance_ohm_per_m(
                edition=self.edition,
                size=laying.size,
                material=laying.material,
                method=laying.laid.method or "",
            )
        except MissingEntry:
            return float("nan")
        return reactance

    def limits_c(self) -> Numbers:
        """Return the limit of the conductors in each section of each circuit."""
        grid = self.grid
        run = grid.ways[0].case.run
        case = grid.ways[0].case
        columns = [case.column_c(a)[0] for a in grid.ratings_a]
        distinct = sorted(set(columns))
        table = np.full((len(grid.ways), len(distinct), len(run)), np.nan)
        first = {each.way: each for each in reversed(grid.assemblies)}
        used = set(of_way(grid)[np.unique(grid.circuits[:, 2])].tolist())
        for place in used:
            for number, column_c in enumerate(distinct):
                rating_a = grid.ratings_a[columns.index(column_c)]
                table[place, number] = self._limits(first[place], rating_a, len(run))
        of_column = np.array([distinct.index(c) for c in columns])
        found: Numbers = table[
            of_way(grid)[grid.circuits[:, 2]], of_column[grid.circuits[:, 1]]
        ]
        return found

    def _limits(self, each: Assembly, rating_a: float, count: int) -> list[float]:
        way = self.grid.ways[each.way]
        case = case_for(way.case, size=each.size, material=each.material)
        case = replace(case, device_a=rating_a)
        found = []
        for at in range(count):
            laying = laying_of(case, self.book, case.run[at], each.trade_size)
            limit = None if isinstance(laying, str) else laying.conductor_limit
            found.append(float("nan") if limit is None else limit.sure_c)
        return found


def of_way(grid: Grid) -> Places:
    """The place of each assembly's way."""
    return np.array([each.way for each in grid.assemblies], np.int64)


def _loss_factor(plan: Plan, supply_v: float | None, setting_a: float) -> float:
    """Return the share of the day that it is on: what earth feels."""
    charging = (
        None
        if supply_v is None
        else charging_at(plan, voltage_v=supply_v, setting_a=setting_a)
    )
    return 1.0 if charging is None else min(_HOURS, charging.hours_per_day) / _HOURS


def _shape(laying: Laying) -> tuple[object, ...]:
    """Return what one call of the physics cannot mix."""
    around = laying.surroundings
    return (
        isinstance(laying.enclosure, Raceway),
        laying.material,
        laying.loaded_count,
        laying.group_count,
        laying.ambient_c.median,
        laying.insulated_m,
        around.earth_k_m_per_w if isinstance(around, InEarth) else None,
    )


def _that_can_be_solved(
    members: list[tuple[int, Laying]],
) -> list[tuple[int, Laying]]:
    """Return those the model takes; wires may fill a raceway and form no round group.

    In arrays one refused refuses all, so only then is each asked alone.
    """
    try:
        _most_a(_Group([each for _, each in members], np.arange(len(members))).laying)
    except OutOfRange:
        return [(number, each) for number, each in members if _is_taken(each)]
    return members


def _is_taken(laying: Laying) -> bool:
    try:
        _most_a(laying)
    except OutOfRange:
        return False
    return True


def _most_a(laying: Laying) -> Any:
    """Return the current that settles the conductors at the model's ceiling."""
    return ampacity_of_conductors(
        conductor=laying.wire,
        enclosure=laying.enclosure,
        surroundings=laying.surroundings,
        loaded_count=laying.loaded_count,
        group_count=laying.group_count,
        conductor_c=CEILING_C,
        ambient_c=laying.ambient_c.median,
    ).current_a


class _Group:
    """Sections of one shape as one section whose numbers are arrays."""

    def __init__(self, layings: list[Laying], row: Places) -> None:
        def over(amounts: Iterable[float]) -> Any:
            return np.array(list(amounts))[row]

        first = layings[0]
        wires = [each.wire for each in layings]
        enclosures = [each.enclosure for each in layings]
        outside_m = over(each.outside_diameter_m for each in enclosures)
        changed: dict[str, Any] = {"outside_diameter_m": outside_m}
        if isinstance(first.enclosure, Raceway):
            raceways = [each for each in enclosures if isinstance(each, Raceway)]
            changed["inside_diameter_m"] = over(r.inside_diameter_m for r in raceways)
            changed["wall_k_m_per_w"] = over(r.wall_k_m_per_w for r in raceways)
        around: Any = first.surroundings
        if isinstance(around, InEarth):
            depths = [getattr(each.surroundings, "depth_m", 0.0) for each in layings]
            around = replace(around, depth_m=over(depths))
        self.laying = replace(
            first,
            wire=replace(
                first.wire,
                diameter_m=over(each.diameter_m for each in wires),
                outside_diameter_m=over(each.outside_diameter_m for each in wires),
                resistance_75c_ohm_per_m=over(
                    each.resistance_75c_ohm_per_m for each in wires
                ),
                insulation_k_m_per_w=over(each.insulation_k_m_per_w for each in wires),
                ac_factor=over(each.ac_factor for each in wires),
            ),
            enclosure=replace(first.enclosure, **changed),
            surroundings=around,
        )

    def solved(self, currents_a: Numbers, loss: Any) -> tuple[Numbers, Numbers]:
        """Return temperature and resistance; infinite and NaN over the ceiling."""
        laying = self.laying
        if isinstance(laying.surroundings, InEarth):
            around: Any = replace(laying.surroundings, loss_factor=loss)
            laying = replace(laying, surroundings=around)
        temperature = np.full(len(currents_a), np.inf)
        ohm = np.full(len(currents_a), np.nan)
        most = _most_a(laying)
        kept = np.nonzero(currents_a <= most * _SCREEN)[0]
        if not len(kept):
            return temperature, ohm
        laying = _taken(laying, kept)
        at: Any = currents_a[kept]
        heating = heating_of_conductors(
            conductor=laying.wire,
            enclosure=laying.enclosure,
            surroundings=laying.surroundings,
            loaded_count=laying.loaded_count,
            group_count=laying.group_count,
            current_a=at,
            ambient_c=laying.ambient_c.median,
        )
        ohm[kept] = heating.resistance_ohm_per_m
        temperature[kept] = (
            heating.conductor_c
            if laying.insulated_m is None
            else _insulated_c(laying, heating)
        )
        return temperature, ohm


def _insulated_c(laying: Laying, heating: ConductorHeating) -> Numbers:
    """Return each in thermal insulation, parted where some settle nowhere."""
    open_c: Any = heating.conductor_c
    found = np.full(len(open_c), np.inf)
    waiting = [np.argsort(open_c)]
    while waiting:
        here = waiting.pop()
        settled: Any = in_insulation_c(_taken(laying, here), _taken(heating, here))
        if np.ndim(settled):
            found[here] = settled
        elif len(here) > 1:
            waiting += np.array_split(here, 2)
    return found


_T = TypeVar("_T")


def _taken(whole: _T, here: Places) -> _T:
    """Return the same with its arrays cut down to some places."""
    changed: dict[str, Any] = {}
    for each in fields(whole):  # type: ignore[arg-type]
        held = getattr(whole, each.name)
        if np.ndim(held) and isinstance(held, np.ndarray):
            changed[each.name] = held[here]
        elif each.name in ("wire", "enclosure", "surroundings"):
            changed[each.name] = _taken(held, here)
    return replace(whole, **changed)  # type: ignore[type-var]
