"""A house's circuit as source, elements, joints, paths and loads.

Everything is in SI units; phasors are root-mean-square complex numbers. A bus has up
to four conductors: leg A, leg B, neutral N, equipment ground G. Buses form a tree, as
the wiring of a house does; conductors of a bus may be bridged by paths (bonds, earth,
pipes), so bonded neutrals and faults make loops and are solved all the same.

`lugbook.physics.network` offers all of this together with `solve`.
"""

from __future__ import annotations

import cmath
import math
from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Literal, NamedTuple, get_args

from lugbook.errors import Fault, InputError

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
    "Source",
    "Terminal",
    "constant_current_load",
    "constant_impedance_load",
    "constant_power_load",
    "split_phase_source",
    "wye_source",
]

Conductor = Literal["A", "B", "N", "G"]
Between = Literal["A-N", "B-N", "A-B", "A-G", "B-G", "N-G"]
LoadKind = Literal["constant_power", "constant_current", "constant_impedance"]

_CONDUCTORS: tuple[Conductor, ...] = get_args(Conductor)
_EARTH_BUS = "earth"


class Terminal(NamedTuple):
    """One conductor at one bus."""

    bus: str
    conductor: Conductor

    def __str__(self) -> str:
        """Return the terminal as people say it: `panel.N`."""
        return f"{self.bus}.{self.conductor}"


EARTH = Terminal(_EARTH_BUS, "G")
"""Remote earth; it carries current only where paths lead to it."""


@dataclass(frozen=True, slots=True)
class Source:
    """Two windings with a common neutral, seen from their terminals.

    The terminal voltages are
    `V_A = leg_a_v - leg_a_ohm * I_A - mutual_ohm * I_B` and
    `V_B = leg_b_v - leg_b_ohm * I_B - mutual_ohm * I_A`, both against the source's
    neutral, with I_A and I_B flowing out of the terminals. A zero impedance is an
    ideal source.

    Args:
        source_id: Name used in messages. [-]
        bus: Bus whose A, B and N the windings feed. [-]
        leg_a_v: No-load voltage of leg A to neutral. [V]
        leg_b_v: No-load voltage of leg B to neutral. [V]
        leg_a_ohm: Impedance of leg A's winding with all before it. [ohm]
        leg_b_ohm: The same for leg B. [ohm]
        mutual_ohm: Voltage lost on one leg per ampere out of the other. [ohm]
    """

    source_id: str
    bus: str
    leg_a_v: complex
    leg_b_v: complex
    leg_a_ohm: complex = 0.0
    leg_b_ohm: complex = 0.0
    mutual_ohm: complex = 0.0


@dataclass(frozen=True, slots=True)
class Element:
    """A length of conductors, a breaker, a meter: anything in series.

    None means that the element has no such conductor. Currents count as positive
    from `from_bus` to `to_bus`.

    Args:
        element_id: Name, unique in the network. [-]
        from_bus: Bus at one end, usually the one nearer to the source. [-]
        to_bus: Bus at the other end. [-]
        leg_a_ohm: Impedance of leg A, end to end. [ohm]
        leg_b_ohm: Impedance of leg B, end to end. [ohm]
        neutral_ohm: Impedance of the neutral, end to end. [ohm]
        equipment_ground_ohm: Impedance of the grounding path, end to end. [ohm]
    """

    element_id: str
    from_bus: str
    to_bus: str
    leg_a_ohm: complex | None = None
    leg_b_ohm: complex | None = None
    neutral_ohm: complex | None = None
    equipment_ground_ohm: complex | None = None

    def impedances_ohm(self) -> Iterator[tuple[Conductor, complex]]:
        """Yield each conductor present with its impedance."""
        values = (
            self.leg_a_ohm,
            self.leg_b_ohm,
            self.neutral_ohm,
            self.equipment_ground_ohm,
        )
        for conductor, ohm in zip(_CONDUCTORS, values, strict=True):
            if ohm is not None:
                yield conductor, complex(ohm)


@dataclass(frozen=True, slots=True)
class Joint:
    """Extra resistance where one conductor of an element is joined.

    Several joints may sit on one conductor; `math.inf` means open.

    Args:
        joint_id: Name, unique in the network. [-]
        element_id: Element whose conductor it is in. [-]
        conductor: Which conductor. [-]
        extra_ohm: Resistance over that of a perfect joint. [ohm]
    """

    joint_id: str
    element_id: str
    conductor: Conductor
    extra_ohm: float


@dataclass(frozen=True, slots=True)
class Path:
    """A connection between any two terminals: bond, electrode, pipe, fault.

    Args:
        path_id: Name, unique in the network. [-]
        from_terminal: Terminal at one end. [-]
        to_terminal: Terminal at the other end; may be `EARTH`. [-]
        path_ohm: Impedance; 0 is a perfect bond, `math.inf` a missing one. [ohm]
    """

    path_id: str
    from_terminal: Terminal
    to_terminal: Terminal
    path_ohm: complex = 0.0


@dataclass(frozen=True, slots=True)
class Load:
    """What is used at a bus, and how it moves with its own voltage.

    Args:
        load_id: Name, unique in the network. [-]
        bus: Bus where it hangs. [-]
        between: The two conductors it hangs between. [-]
        kind: What stays constant when the voltage changes. [-]
        rated_va: Real part watts, imaginary part vars, at the rated voltage;
            negative watts export. [VA]
        rated_v: Rated voltage. [V]
    """

    load_id: str
    bus: str
    between: Between
    kind: LoadKind
    rated_va: complex
    rated_v: float

    def terminals(self) -> tuple[Terminal, Terminal]:
        """Return the two terminals the load hangs between."""
        first, second = self.between.split("-")
        return Terminal(self.bus, first), Terminal(self.bus, second)  # type: ignore[arg-type]

    @property
    def rated_siemens(self) -> complex:
        """Admittance that draws the rated load at the rated voltage."""
        return self.rated_va.conjugate() / self.rated_v**2

    def current_a(self, voltage_v: complex) -> complex:
        """Return the current that the load draws at a voltage that is not zero."""
        if self.kind == "constant_impedance":
            return self.rated_siemens * voltage_v
        if self.kind == "constant_current":
            unit = voltage_v / abs(voltage_v)
            return self.rated_va.conjugate() / self.rated_v * unit
        return self.rated_va.conjugate() / voltage_v.conjugate()


@dataclass(frozen=True, slots=True)
class Network:
    """A whole circuit; making one checks it and names every fault found.

    Args:
        source: What feeds it. [-]
        elements: Everything in series; together they make a tree of buses. [-]
        loads: Everything that draws or exports. [-]
        joints: Extra resistances and opens. [-]
        paths: Bonds, electrodes, parallel paths and faults. [-]

    Raises:
        InputError: A value makes no sense, a name is used twice, elements close a
            loop, or a bus has no way to the source.
    """

    source: Source
    elements: tuple[Element, ...] = ()
    loads: tuple[Load, ...] = ()
    joints: tuple[Joint, ...] = ()
    paths: tuple[Path, ...] = ()

    def __post_init__(self) -> None:
        """Check the network; every fault found is in one error."""
        faults = [
            *_faults_of_names(self),
            *_faults_of_source(self.source),
            *_faults_of_elements(self),
            *_faults_of_joints(self),
            *_faults_of_loads(self.loads),
            *_faults_of_paths(self.paths),
        ]
        if not faults:
            faults = [*_faults_of_tree(self), *_faults_of_terminals(self)]
        if faults:
            raise InputError(*faults)


# ---------------------------------------------------------------- sources and loads


def split_phase_source(
    *,
    bus: str,
    line_v: float = 240.0,
    leg_ohm: complex = 0.0,
    shared_ohm: complex = 0.0,
    source_id: str = "source",
) -> Source:
    """Source of a 120/240 V service with a centre-tapped winding.

    `leg_ohm` lies in each half winding. `shared_ohm` is everything on the primary
    side, referred to one half winding: it is common to both legs, so a 120 V load on
    one leg lowers the other one too. The loop impedance at 240 V is
    `2 * leg_ohm + 4 * shared_ohm`.

    Args:
        bus: Bus at the transformer's terminals. [-]
        line_v: No-load voltage between the legs. [V]
        leg_ohm: Impedance of each half winding. [ohm]
        shared_ohm: Primary-side impedance referred to a half winding. [ohm]
        source_id: Name used in messages. [-]

    Returns:
        The source. [-]

    Valid for:
        Two equal half windings, magnetising current neglected.

    Source:
        center-tapped-2009, three-winding model (from memory)

    Checked by:
        test_a_split_phase_source_has_the_loop_impedance_it_says

    Example:
        >>> source = split_phase_source(bus="pole", leg_ohm=0.01)
        >>> source.leg_a_v - source.leg_b_v
        240.0
    """
    return Source(
        source_id,
        bus,
        line_v / 2,
        -line_v / 2,
        leg_ohm + shared_ohm,
        leg_ohm + shared_ohm,
        # Leg B's current leaves its terminal, so it runs against leg A's in the core.
        -shared_ohm,
    )


def wye_source(
    *,
    bus: str,
    leg_to_neutral_v: float = 120.0,
    leg_ohm: complex = 0.0,
    source_id: str = "source",
) -> Source:
    """Source of a 120/208 V service: two legs of a three-phase wye and its neutral.

    Args:
        bus: Bus at the transformer's terminals. [-]
        leg_to_neutral_v: No-load voltage of each leg to neutral. [V]
        leg_ohm: Impedance of each phase. [ohm]
        source_id: Name used in messages. [-]

    Returns:
        The source, leg B 120 degrees behind leg A. [-]

    Valid for:
        Balanced phase voltages; no current of other phases in the shared neutral.

    Source:
        electric-circuits-2017, balanced three-phase wye (from memory)

    Checked by:
        test_two_legs_of_a_wye_give_the_root_of_three

    Example:
        >>> source = wye_source(bus="vault")
        >>> round(abs(source.leg_a_v - source.leg_b_v), 1)
        207.8
    """
    return Source(
        source_id,
        bus,
        leg_to_neutral_v,
        cmath.rect(leg_to_neutral_v, -2 * math.pi / 3),
        leg_ohm,
        leg_ohm,
    )


def constant_power_load(
    *,
    load_id: str,
    bus: str,
    between: Between,
    real_w: float,
    reactive_var: float = 0.0,
) -> Load:
    """Load whose watts and vars do not depend on the voltage.

    Args:
        load_id: Name, unique in the network. [-]
        bus: Bus where it hangs. [-]
        between: The two conductors it hangs between. [-]
        real_w: Real power; negative exports. [W]
        reactive_var: Reactive power, positive when the current lags. [var]

    Returns:
        The load. [-]

    Valid for:
        Motors and electronics down to the voltage where they stall or switch off,
        which is not modelled.

    Source:
        electric-circuits-2017, complex power (from memory)

    Checked by:
        test_each_kind_of_load_keeps_what_its_name_says

    Example:
        >>> constant_power_load(load_id="van", bus="garage", between="A-B",
        ...     real_w=19_200.0).rated_va
        (19200+0j)
    """
    return Load(
        load_id,
        bus,
        between,
        "constant_power",
        complex(real_w, reactive_var),
        _nominal_v(between),
    )


def constant_current_load(
    *,
    load_id: str,
    bus: str,
    between: Between,
    current_a: float,
    power_factor: float = 1.0,
) -> Load:
    """Load that holds its current: a charger at its setting.

    Args:
        load_id: Name, unique in the network. [-]
        bus: Bus where it hangs. [-]
        between: The two conductors it hangs between. [-]
        current_a: Magnitude of the current. [A]
        power_factor: Cosine of the lag behind the load's own voltage; 0 to 1, or
            -1 to 0 for a lead of the same size. [-]

    Returns:
        The load. [-]

    Raises:
        InputError: The power factor is not between -1 and 1, or the current is
            negative.

    Valid for:
        Supply equipment at its setting; the angle follows the load's own voltage.

    Source:
        electric-circuits-2017, complex power (from memory)

    Checked by:
        test_each_kind_of_load_keeps_what_its_name_says

    Example:
        >>> load = constant_current_load(load_id="van", bus="garage", between="A-B",
        ...     current_a=80.0)
        >>> abs(load.current_a(235 + 0j))
        80.0
    """
    if not -1 <= power_factor <= 1:
        raise InputError(
            Fault(f"load {load_id}.power_factor", f"{power_factor:g}", "-1 to 1")
        )
    if not current_a >= 0:
        raise InputError(
            Fault(f"load {load_id}.current_a", f"{current_a:g} A", "0 A or more")
        )
    sine = math.copysign(math.sqrt(1 - power_factor**2), power_factor)
    rated_v = _nominal_v(between)
    rated_va = rated_v * current_a * complex(abs(power_factor), sine)
    return Load(load_id, bus, between, "constant_current", rated_va, rated_v)


def constant_impedance_load(
    *,
    load_id: str,
    bus: str,
    between: Between,
    load_ohm: complex,
) -> Load:
    """Load that is an impedance: a heater, a lamp, a kiln.

    Args:
        load_id: Name, unique in the network. [-]
        bus: Bus where it hangs. [-]
        between: The two conductors it hangs between. [-]
        load_ohm: Impedance. [ohm]

    Returns:
        The load. [-]

    Raises:
        InputError: The impedance is zero; a short circuit is a `Path`.

    Valid for:
        Heaters; a lamp's filament changes with its temperature and is not modelled.

    Source:
        electric-circuits-2017, complex power (from memory)

    Checked by:
        test_each_kind_of_load_keeps_what_its_name_says

    Example:
        >>> constant_impedance_load(load_id="heater", bus="den", between="A-N",
        ...     load_ohm=9.6).rated_va.real
        1500.0
    """
    if load_ohm == 0:
        raise InputError(
            Fault(f"load {load_id}.load_ohm", "0 ohm", "more than 0 ohm", "Use a Path.")
        )
    rated_v = _nominal_v(between)
    rated_va = rated_v**2 / complex(load_ohm).conjugate()
    return Load(load_id, bus, between, "constant_impedance", rated_va, rated_v)


def _nominal_v(between: str) -> float:
    # Only a scale: the constructors above express every load at this voltage.
    return 240.0 if between == "A-B" else 120.0


# ---------------------------------------------------------------------------- checks


def _finite(number: complex) -> bool:
    return cmath.isfinite(number)


def _faults_of_names(network: Network) -> Iterator[Fault]:
    groups: tuple[tuple[str, Iterable[str]], ...] = (
        ("element", (element.element_id for element in network.elements)),
        ("load", (load.load_id for load in network.loads)),
        ("joint", (joint.joint_id for joint in network.joints)),
        ("path", (path.path_id for path in network.paths)),
    )
    for kind, names in groups:
        for name, count in Counter(names).items():
            if count > 1:
                yield Fault(
                    f"{kind} {name}", f"the name is used {count} times", "once each"
                )


def _faults_of_source(source: Source) -> Iterator[Fault]:
    where = f"source {source.source_id}"
    voltages = (source.leg_a_v, source.leg_b_v)
    if not all(_finite(voltage) and abs(voltage) > 0 for voltage in voltages):
        yield Fault(where, f"voltages {voltages} V", "two finite voltages above 0 V")
    for name in ("leg_a_ohm", "leg_b_ohm"):
        yield from _faults_of_impedance(f"{where}.{name}", getattr(source, name))
    own_a, own_b = complex(source.leg_a_ohm).real, complex(source.leg_b_ohm).real
    shared = complex(source.mutual_ohm).real
    # A source that passes this test cannot give out more than its emf puts in.
    if not shared**2 <= own_a * own_b * (1 + 1e-12):
        yield Fault(
            f"{where}.mutual_ohm",
            f"a mutual resistance of {shared:g} ohm",
            f"at most {math.sqrt(max(own_a * own_b, 0)):g} ohm, from the legs' own",
        )


def _faults_of_impedance(where: str, ohm: complex) -> Iterator[Fault]:
    ohm = complex(ohm)
    if not (_finite(ohm) and ohm.real >= 0 and ohm.imag >= 0):
        yield Fault(
            where,
            f"{ohm:g} ohm",
            "a finite resistance and reactance, 0 ohm or more each",
            "An open conductor is a Joint of math.inf ohm.",
        )


def _faults_of_elements(network: Network) -> Iterator[Fault]:
    for element in network.elements:
        where = f"element {element.element_id}"
        if _EARTH_BUS in (element.from_bus, element.to_bus):
            yield Fault(where, "an end at bus 'earth'", "a bus; paths lead to earth")
        present = list(element.impedances_ohm())
        if not present:
            yield Fault(where, "no conductor", "at least one conductor")
        for conductor, ohm in present:
            yield from _faults_of_impedance(f"{where}, conductor {conductor}", ohm)


def _faults_of_joints(network: Network) -> Iterator[Fault]:
    conductors = {
        (element.element_id, conductor)
        for element in network.elements
        for conductor, _ in element.impedances_ohm()
    }
    for joint in network.joints:
        where = f"joint {joint.joint_id}"
        if (joint.element_id, joint.conductor) not in conductors:
            yield Fault(
                where,
                f"conductor {joint.conductor} of element {joint.element_id}, "
                "which does not exist",
                "a conductor that an element has",
            )
        if not joint.extra_ohm >= 0:
            yield Fault(where, f"{joint.extra_ohm:g} ohm", "0 ohm or more; inf is open")


def _faults_of_loads(loads: Iterable[Load]) -> Iterator[Fault]:
    for load in loads:
        where = f"load {load.load_id}"
        if load.between not in get_args(Between):
            accepted = ", ".join(get_args(Between))
            yield Fault(where, f"between {load.between!r}", accepted)
        if load.kind not in get_args(LoadKind):
            yield Fault(where, f"kind {load.kind!r}", ", ".join(get_args(LoadKind)))
        if not (math.isfinite(load.rated_v) and load.rated_v > 0):
            yield Fault(where, f"rated at {load.rated_v:g} V", "more than 0 V")
        if not _finite(load.rated_va):
            yield Fault(where, f"{load.rated_va} VA", "a finite number of VA")
        elif load.kind == "constant_impedance" and load.rated_va.real < 0:
            yield Fault(
                where,
                f"{load.rated_va.real:g} W as constant impedance",
                "0 W or more",
                "Export is a constant power or a constant current.",
            )


def _faults_of_paths(paths: Iterable[Path]) -> Iterator[Fault]:
    for path in paths:
        where = f"path {path.path_id}"
        ohm = complex(path.path_ohm)
        if path.from_terminal == path.to_terminal:
            yield Fault(where, f"from and to {path.to_terminal}", "two terminals")
        # Capacitive paths are allowed: they make the phantom volts of an open ground.
        if not ohm.real >= 0 or math.isnan(ohm.imag):
            yield Fault(where, f"{ohm:g} ohm", "a resistance of 0 ohm or more")
        for end in (path.from_terminal, path.to_terminal):
            if end.bus == _EARTH_BUS and end != EARTH:
                yield Fault(where, f"terminal {end}", f"{EARTH} for earth")


def _faults_of_tree(network: Network) -> Iterator[Fault]:
    root: dict[str, str] = {network.source.bus: network.source.bus}

    def find(bus: str) -> str:
        while root.setdefault(bus, bus) != bus:
            bus = root[bus]
        return bus

    for element in network.elements:
        first, second = find(element.from_bus), find(element.to_bus)
        if first == second:
            yield Fault(
                f"element {element.element_id}",
                f"closes a loop between buses {element.from_bus!r} and "
                f"{element.to_bus!r}",
                "elements that make a tree",
                "Give conductors in parallel as one element; a bond is a Path.",
            )
        root[first] = second
    served = find(network.source.bus)
    for bus in sorted(bus for bus in list(root) if find(bus) != served):
        yield Fault(
            f"bus {bus}",
            "no element leads to it from the source",
            "one tree that starts at the source's bus",
        )


def _faults_of_terminals(network: Network) -> Iterator[Fault]:
    reached = {EARTH}
    reached.update(Terminal(network.source.bus, name) for name in _CONDUCTORS[:3])
    for element in network.elements:
        for conductor, _ in element.impedances_ohm():
            reached.add(Terminal(element.from_bus, conductor))
            reached.add(Terminal(element.to_bus, conductor))
    buses = {terminal.bus for terminal in reached}
    for path in network.paths:
        for end in (path.from_terminal, path.to_terminal):
            if end.bus not in buses:
                yield Fault(f"path {path.path_id}", f"bus {end.bus!r}", "a known bus")
            reached.add(end)
    for load in network.loads:
        for terminal in load.terminals():
            if terminal not in reached:
                yield Fault(
                    f"load {load.load_id}",
                    f"hangs on {terminal}, which no conductor reaches",
                    "conductors that lead to the load's bus",
                )
