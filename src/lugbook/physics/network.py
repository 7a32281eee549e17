"""Steady currents and voltages of a house's circuit, everywhere at once.

Chosen: modified nodal analysis on sparse rows, with a fixed point on the loads that
are not impedances and a guarded Newton where that does not settle. A backward-forward
sweep is shorter, but an open neutral, a bonded loop or a perfect joint breaks it.

Describe a circuit with `Network` and its parts, then `solve` it.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from lugbook.errors import OutOfRange
from lugbook.physics.network_equations import Circuit, Key
from lugbook.physics.network_loads import settle
from lugbook.physics.network_model import (
    EARTH,
    Between,
    Conductor,
    Element,
    Joint,
    Load,
    LoadKind,
    Network,
    Path,
    Source,
    Terminal,
    constant_current_load,
    constant_impedance_load,
    constant_power_load,
    split_phase_source,
    wye_source,
)

__all__ = [
    "EARTH",
    "Between",
    "Conductor",
    "Element",
    "Joint",
    "Load",
    "LoadKind",
    "Network",
    "Path",
    "Residuals",
    "Solution",
    "Source",
    "Terminal",
    "constant_current_load",
    "constant_impedance_load",
    "constant_power_load",
    "solve",
    "split_phase_source",
    "wye_source",
]

# The promise: Kirchhoff's laws, the loads' own laws and the energy balance to this.
_RESIDUAL_LIMIT = 1e-9


@dataclass(frozen=True, slots=True)
class Residuals:
    """How far the answer is from the laws it must obey, relative.

    Args:
        node_current: Largest sum of currents at a terminal, over the largest
            current that flows or is rated. [-]
        branch_voltage: Largest V - Z I of a branch, over the source's voltage. [-]
        load_current: Largest error of a load's own law, over the same current. [-]
        energy: Source's watts and vars less those used and lost, over all VA. [-]
    """

    node_current: float
    branch_voltage: float
    load_current: float
    energy: float

    @property
    def largest(self) -> float:
        """The worst of the four."""
        return max(
            self.node_current, self.branch_voltage, self.load_current, self.energy
        )


@dataclass(frozen=True, slots=True)
class Solution:
    """Voltages, currents and losses of a solved network.

    Voltages of terminals are against the source's neutral. `floating` holds terminals
    that nothing ties to the source; they carry no current and have no voltage to give.

    Args:
        terminal_v: Voltage of each terminal that has one. [V]
        element_a: Current of each conductor, from `from_bus` to `to_bus`. [A]
        path_a: Current of each path, from its first terminal to its second. [A]
        load_v: Voltage across each load, first conductor to second. [V]
        load_a: Current through each load, the same way. [A]
        source_a: Currents out of the source's A and B terminals. [A]
        element_w: Loss in each element without its joints. [W]
        joint_w: Loss in each joint. [W]
        joint_v: Voltage across each joint: what a meter on both sides reads. [V]
        path_w: Loss in each path. [W]
        source_w: Loss in the source's own impedance. [W]
        supplied_va: What the source's no-load voltages put in. [VA]
        floating: Terminals that nothing ties to the source. [-]
        residuals: How well the laws are kept. [-]
        rounds: Rounds of the load iteration; 1 when all loads are impedances. [-]
    """

    terminal_v: Mapping[Terminal, complex]
    element_a: Mapping[tuple[str, Conductor], complex]
    path_a: Mapping[str, complex]
    load_v: Mapping[str, complex]
    load_a: Mapping[str, complex]
    source_a: tuple[complex, complex]
    element_w: Mapping[str, float]
    joint_w: Mapping[str, float]
    joint_v: Mapping[str, complex]
    path_w: Mapping[str, float]
    source_w: float
    supplied_va: complex
    floating: tuple[Terminal, ...]
    residuals: Residuals
    rounds: int

    def between_v(self, first: Terminal, second: Terminal) -> complex:
        """Return the voltage of one terminal against another.

        Raises:
            OutOfRange: One of them floats or is not in the network.
        """
        return self._voltage(first) - self._voltage(second)

    def voltage_v(self, bus: str, first: Conductor, second: Conductor = "N") -> complex:
        """Return the voltage between two conductors at one bus."""
        return self.between_v(Terminal(bus, first), Terminal(bus, second))

    def current_a(self, element_id: str, conductor: Conductor) -> complex:
        """Return the current in one conductor of an element.

        Raises:
            OutOfRange: The element has no such conductor.
        """
        try:
            return self.element_a[element_id, conductor]
        except KeyError:
            raise OutOfRange(
                f"element {element_id!r} has no conductor {conductor}; "
                "ask for one that it was given"
            ) from None

    @property
    def lost_w(self) -> float:
        """All losses: source, elements, joints and paths."""
        return self.source_w + sum(
            sum(losses.values())
            for losses in (self.element_w, self.joint_w, self.path_w)
        )

    def _voltage(self, terminal: Terminal) -> complex:
        try:
            return self.terminal_v[terminal]
        except KeyError:
            reason = (
                "floats: no conductor ties it to the source"
                if terminal in self.floating
                else "is not in the network"
            )
            raise OutOfRange(f"terminal {terminal} {reason}") from None


def solve(network: Network) -> Solution:
    """Steady currents, voltages and losses everywhere in a network.

    Args:
        network: The circuit; `Network` has already checked its shape. [-]

    Returns:
        The solution, with Kirchhoff's laws kept to 1e-9 relative. [-]

    Raises:
        InputError: A load has no way to the source, or perfect conductors make a ring
            in which the current could split in any way.
        OutOfRange: No steady state exists (the loads ask for more than the conductors
            can bring), or the answer misses the laws by more than 1e-9.

    Valid for:
        Steady sinusoidal state at one frequency; linear conductors without mutual
        coupling; impedances from 0 to about 1e9 ohm. Loads other than impedances in
        series on an open neutral have no stable state and are refused; exactly equal
        constant currents there would fit any split of the voltage and get the one
        of their ratings.

    Source:
        modified-nodal-1975, whole (from memory)

    Checked by:
        test_a_three_wire_service_worked_by_hand,
        test_earth_in_parallel_with_an_open_neutral_worked_by_hand,
        test_a_random_house_agrees_with_an_independent_engine,
        test_laws_are_kept_and_energy_is_balanced

    Example:
        >>> from lugbook.physics.network import (Element, Network,
        ...     constant_current_load, split_phase_source)
        >>> run = Element("run", "panel", "charger", leg_a_ohm=0.02, leg_b_ohm=0.02)
        >>> van = constant_current_load(load_id="van", bus="charger", between="A-B",
        ...     current_a=80.0)
        >>> solution = solve(Network(split_phase_source(bus="panel"), (run,), (van,)))
        >>> round(abs(solution.voltage_v("charger", "A", "B")), 3)
        236.8
        >>> round(solution.element_w["run"], 3)
        256.0
    """
    circuit = Circuit(network)
    injected_a, unknown, rounds = settle(circuit, circuit.factors())
    flows = _flows(circuit, unknown, injected_a)
    residuals = _residuals(circuit, unknown, flows)
    if not residuals.largest <= _RESIDUAL_LIMIT:
        raise OutOfRange(
            f"the circuit's laws are met only to {residuals.largest:.1e}, not to "
            f"{_RESIDUAL_LIMIT:.0e}: its impedances differ by too many decades; "
            "round tiny ones to 0 and leave out huge ones"
        )
    return _solution(circuit, unknown, flows, residuals, rounds)


@dataclass(frozen=True, slots=True)
class _Flows:
    """Currents, and the voltages across loads."""

    branch_a: Mapping[Key, complex]
    load_v: Mapping[str, complex]
    load_a: Mapping[str, complex]
    source_a: tuple[complex, complex]


def _flows(
    circuit: Circuit, unknown: list[complex], injected_a: list[complex]
) -> _Flows:
    branch_a: dict[Key, complex] = dict.fromkeys(circuit.idle_keys, 0j)
    for item in circuit.branches:
        branch_a[item.key] = circuit.branch_a(item, unknown)
    load_v = {item.load.load_id: item.across(unknown) for item in circuit.hung}
    load_a = {
        item.load.load_id: item.load.rated_siemens * load_v[item.load.load_id]
        for item in circuit.hung
    }
    for hung, surplus_a in zip(circuit.restless, injected_a, strict=True):
        load_a[hung.load.load_id] += surplus_a
    return _Flows(
        branch_a, load_v, load_a, (unknown[circuit.nodes], unknown[circuit.nodes + 1])
    )


def _solution(
    circuit: Circuit,
    unknown: list[complex],
    flows: _Flows,
    residuals: Residuals,
    rounds: int,
) -> Solution:
    network = circuit.network
    branch_a = flows.branch_a
    terminal_v = circuit.terminal_v(unknown)
    return Solution(
        terminal_v=terminal_v,
        element_a={key: x for key, x in branch_a.items() if isinstance(key, tuple)},
        path_a={path.path_id: branch_a[path.path_id] for path in network.paths},
        load_v=flows.load_v,
        load_a=flows.load_a,
        source_a=flows.source_a,
        element_w={
            element.element_id: sum(
                _watts(ohm, branch_a[element.element_id, conductor])
                for conductor, ohm in element.impedances_ohm()
            )
            for element in network.elements
        },
        joint_w={
            joint.joint_id: _watts(
                joint.extra_ohm, branch_a[joint.element_id, joint.conductor]
            )
            for joint in network.joints
        },
        joint_v=_joint_v(network, branch_a, terminal_v),
        path_w={
            path.path_id: _watts(path.path_ohm, branch_a[path.path_id])
            for path in network.paths
        },
        source_w=_source_va(network.source, flows.source_a).real,
        supplied_va=_supplied_va(network.source, flows.source_a),
        floating=circuit.floating,
        residuals=residuals,
        rounds=rounds,
    )


def _watts(ohm: complex, ampere: complex) -> float:
    # An open conductor has infinite ohms and no current: no loss, not a NaN.
    return complex(ohm).real * abs(ampere) ** 2 if ampere else 0.0


def _joint_v(
    network: Network,
    branch_a: Mapping[Key, complex],
    terminal_v: Mapping[Terminal, complex],
) -> dict[str, complex]:
    """Return the voltage across each joint that has one."""
    elements = {element.element_id: element for element in network.elements}
    opens = [
        (joint.element_id, joint.conductor)
        for joint in network.joints
        if joint.extra_ohm == float("inf")
    ]
    volts: dict[str, complex] = {}
    for joint in network.joints:
        place = (joint.element_id, joint.conductor)
        if joint.extra_ohm != float("inf"):
            volts[joint.joint_id] = joint.extra_ohm * branch_a[place]
            continue
        element = elements[joint.element_id]
        first = terminal_v.get(Terminal(element.from_bus, joint.conductor))
        second = terminal_v.get(Terminal(element.to_bus, joint.conductor))
        # The gap has the whole voltage unless a side floats or two gaps share it.
        if first is not None and second is not None and opens.count(place) == 1:
            volts[joint.joint_id] = first - second
    return volts


def _source_va(source: Source, source_a: tuple[complex, complex]) -> complex:
    leg_a, leg_b = source_a
    lost_a_v = source.leg_a_ohm * leg_a + source.mutual_ohm * leg_b
    lost_b_v = source.leg_b_ohm * leg_b + source.mutual_ohm * leg_a
    return lost_a_v * leg_a.conjugate() + lost_b_v * leg_b.conjugate()


def _supplied_va(source: Source, source_a: tuple[complex, complex]) -> complex:
    leg_a, leg_b = source_a
    return source.leg_a_v * leg_a.conjugate() + source.leg_b_v * leg_b.conjugate()


def _residuals(circuit: Circuit, unknown: list[complex], flows: _Flows) -> Residuals:
    source = circuit.network.source
    source_v = max(abs(source.leg_a_v), abs(source.leg_b_v))
    largest_a = _largest_a(circuit, flows)
    branch_error_v = [
        abs(circuit.branch_v(item, unknown) - item.ohm * flows.branch_a[item.key])
        for item in circuit.branches
    ]
    load_error_a = [
        abs(
            flows.load_a[hung.load.load_id]
            - hung.load.current_a(flows.load_v[hung.load.load_id])
        )
        for hung in circuit.restless
    ]
    missing_va = _supplied_va(source, flows.source_a) - _used_va(circuit, flows)
    return Residuals(
        max(map(abs, _sums_at_nodes(circuit, flows))) / largest_a,
        max(branch_error_v, default=0.0) / source_v,
        max(load_error_a, default=0.0) / largest_a,
        abs(missing_va) / (source_v * largest_a),
    )


def _largest_a(circuit: Circuit, flows: _Flows) -> float:
    """Return the current that others are small against.

    Loads behind an open conductor draw nothing; then what they are rated for is the
    measure, and where there is no load at all any will do.
    """
    flowing = (*flows.branch_a.values(), *flows.load_a.values(), *flows.source_a)
    rated = (abs(item.load.rated_va) / item.load.rated_v for item in circuit.hung)
    return max((*map(abs, flowing), *rated)) or 1.0


def _used_va(circuit: Circuit, flows: _Flows) -> complex:
    total = _source_va(circuit.network.source, flows.source_a)
    for item in circuit.branches:
        total += item.ohm * abs(flows.branch_a[item.key]) ** 2
    for name, across_v in flows.load_v.items():
        total += across_v * flows.load_a[name].conjugate()
    return total


def _sums_at_nodes(circuit: Circuit, flows: _Flows) -> list[complex]:
    """Return the currents that leave each node, added up; the source's too."""
    sums = [0j] * circuit.nodes

    def flow(first: int | None, second: int | None, ampere: complex) -> None:
        if first is not None:
            sums[first] += ampere
        if second is not None:
            sums[second] -= ampere

    for item in circuit.branches:
        flow(
            circuit.node[item.first],
            circuit.node[item.second],
            flows.branch_a[item.key],
        )
    for hung in circuit.hung:
        flow(hung.first, hung.second, flows.load_a[hung.load.load_id])
    for node, ampere in zip(circuit.source_nodes, flows.source_a, strict=True):
        flow(None, node, ampere)
    return sums
