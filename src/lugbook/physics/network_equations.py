"""A network as numbered equations: modified nodal analysis.

Unknown are the voltages that conductors lose from their no-load values, so small
currents are not lost beside 120 V, and the current of every conductor, so a perfect
bond is an ordinary number and not a division by zero. Finding currents as volts over
ohms would halve the unknowns, and lose the promised accuracy behind an open neutral.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from lugbook.errors import Fault, InputError
from lugbook.physics.network_linear import Factors, factorize
from lugbook.physics.network_model import Conductor, Load, Network, Terminal

__all__ = ["Branch", "Circuit", "Hung", "Key"]

Key = tuple[str, Conductor] | str
"""An element's conductor, or a path."""

# Constant power that no conductor feeds has a false solution at no current and endless
# voltage; nothing in a house comes near ten times the source.
_HIGHEST_FACTOR = 10.0


@dataclass(frozen=True, slots=True)
class Branch:
    """One current-carrying conductor or path between two terminals."""

    key: Key
    first: Terminal
    second: Terminal
    ohm: complex
    label: str


@dataclass(frozen=True, slots=True)
class Hung:
    """A load with the numbers of its nodes and its no-load voltage."""

    load: Load
    first: int | None
    second: int | None
    no_load_v: complex

    def across(self, unknown: list[complex]) -> complex:
        """Return the voltage across the load."""
        return self.no_load_v + _at(unknown, self.first) - _at(unknown, self.second)


def _at(unknown: list[complex], node: int | None) -> complex:
    return 0.0 if node is None else unknown[node]


class Circuit:
    """The network as numbered unknowns: losses of voltage, then currents."""

    def __init__(self, network: Network) -> None:
        self.network = network
        source = network.source
        self.no_load_v: dict[Conductor, complex] = {
            "A": complex(source.leg_a_v),
            "B": complex(source.leg_b_v),
            "N": 0.0,
            "G": 0.0,
        }
        self.highest_v = _HIGHEST_FACTOR * max(abs(source.leg_a_v), abs(source.leg_b_v))
        branches, open_keys = _branches(network)
        reference = Terminal(source.bus, "N")
        alive = _alive(network, branches)
        every = {end for item in branches for end in (item.first, item.second)}
        every.update(_ends_of_conductors(network))
        self.floating = tuple(sorted(every - alive))
        _refuse_dead_loads(network.loads, alive)
        self.branches = [item for item in branches if item.first in alive]
        # Open conductors, and whole ones in parts that float, carry nothing.
        self.idle_keys = (*open_keys, *_keys_outside(branches, alive))
        _refuse_perfect_rings(self.branches, network)
        self.node: dict[Terminal, int | None] = {reference: None}
        for terminal in sorted(alive - {reference}):
            self.node[terminal] = len(self.node) - 1
        self.nodes = len(self.node) - 1
        leg_a, leg_b = Terminal(source.bus, "A"), Terminal(source.bus, "B")
        self.source_nodes = (self.node[leg_a], self.node[leg_b])
        self.hung = [self._hang(load) for load in network.loads]
        self.restless = [
            item for item in self.hung if item.load.kind != "constant_impedance"
        ]
        # Unknown currents come after the nodes: the source's two, then the branches'.
        self.current_number = {
            item.key: self.nodes + 2 + place for place, item in enumerate(self.branches)
        }
        self.size = self.nodes + 2 + len(self.branches)
        self.rows: list[dict[int, complex]] = []
        self.right: list[complex] = []
        self._stamp()

    def _hang(self, load: Load) -> Hung:
        first, second = load.terminals()
        return Hung(
            load, self.node[first], self.node[second], self._emf_v(first, second)
        )

    def _emf_v(self, first: Terminal, second: Terminal) -> complex:
        return self.no_load_v[first.conductor] - self.no_load_v[second.conductor]

    def _stamp(self) -> None:
        self.rows = [{} for _ in range(self.size)]
        self.right = [0.0] * self.size
        for item in self.branches:
            number = self.current_number[item.key]
            self._stamp_current((self.node[item.first], self.node[item.second]), number)
            self._add(number, number, -item.ohm)
            self.right[number] = -self._emf_v(item.first, item.second)
        for hung in self.hung:
            self._stamp_admittance(
                (hung.first, hung.second), hung.load.rated_siemens, hung.no_load_v
            )
        self._stamp_source()

    def _stamp_admittance(
        self, ends: tuple[int | None, int | None], siemens: complex, emf_v: complex
    ) -> None:
        first, second = ends
        for here, there, sign in ((first, second, 1.0), (second, first, -1.0)):
            if here is not None:
                self._add(here, here, siemens)
                self.right[here] -= sign * siemens * emf_v
                if there is not None:
                    self._add(here, there, -siemens)

    def _stamp_current(self, ends: tuple[int | None, int | None], number: int) -> None:
        for node, sign in zip(ends, (1.0, -1.0), strict=True):
            if node is not None:
                self._add(node, number, sign)
                self._add(number, node, sign)

    def _stamp_source(self) -> None:
        source = self.network.source
        own_ohm = (source.leg_a_ohm, source.leg_b_ohm)
        for place, node in enumerate(self.source_nodes):
            number = self.nodes + place
            other = self.nodes + 1 - place
            # The current flows out of the winding into the node.
            self._stamp_current((None, node), number)
            self._add(number, number, -complex(own_ohm[place]))
            self._add(number, other, -complex(source.mutual_ohm))

    def _add(self, row: int, column: int, amount: complex) -> None:
        entries = self.rows[row]
        entries[column] = entries.get(column, 0.0) + amount

    def factors(self) -> Factors:
        """Return the factors of the equations' matrix."""
        return factorize(self.rows)

    def right_with(self, injected_a: Iterable[complex]) -> list[complex]:
        """Return the right-hand side with the restless loads' surplus currents."""
        right = list(self.right)
        for item, surplus_a in zip(self.restless, injected_a, strict=True):
            if item.first is not None:
                right[item.first] -= surplus_a
            if item.second is not None:
                right[item.second] += surplus_a
        return right

    def branch_a(self, item: Branch, unknown: list[complex]) -> complex:
        """Return the current of a branch, first terminal to second."""
        return unknown[self.current_number[item.key]]

    def branch_v(self, item: Branch, unknown: list[complex]) -> complex:
        """Return the voltage across a branch, first terminal to second."""
        lost_v = _at(unknown, self.node[item.first]) - _at(
            unknown, self.node[item.second]
        )
        return lost_v + self._emf_v(item.first, item.second)

    def terminal_v(self, unknown: list[complex]) -> dict[Terminal, complex]:
        """Return the voltage of each terminal against the source's neutral."""
        return {
            terminal: self.no_load_v[terminal.conductor] + _at(unknown, node)
            for terminal, node in self.node.items()
        }


# ------------------------------------------------------------------- shape of network


def _branches(
    network: Network,
) -> tuple[list[Branch], list[Key]]:
    """Return the branches that conduct and the keys of those that are open."""
    extra_ohm: dict[tuple[str, Conductor], float] = {}
    for joint in network.joints:
        place = (joint.element_id, joint.conductor)
        extra_ohm[place] = extra_ohm.get(place, 0.0) + joint.extra_ohm
    found: list[Branch] = []
    open_keys: list[Key] = []
    for element in network.elements:
        for conductor, ohm in element.impedances_ohm():
            key = (element.element_id, conductor)
            branch = Branch(
                key,
                Terminal(element.from_bus, conductor),
                Terminal(element.to_bus, conductor),
                ohm + extra_ohm.get(key, 0.0),
                f"element {element.element_id}, conductor {conductor}",
            )
            _keep(branch, found, open_keys)
    for path in network.paths:
        branch = Branch(
            path.path_id,
            path.from_terminal,
            path.to_terminal,
            complex(path.path_ohm),
            f"path {path.path_id}",
        )
        _keep(branch, found, open_keys)
    return found, open_keys


def _keep(
    branch: Branch,
    found: list[Branch],
    open_keys: list[Key],
) -> None:
    if abs(branch.ohm) == float("inf"):
        open_keys.append(branch.key)
    else:
        found.append(branch)


def _keys_outside(branches: Iterable[Branch], alive: set[Terminal]) -> Iterator[Key]:
    return (item.key for item in branches if item.first not in alive)


def _ends_of_conductors(network: Network) -> Iterator[Terminal]:
    for element in network.elements:
        for conductor, _ in element.impedances_ohm():
            yield Terminal(element.from_bus, conductor)
            yield Terminal(element.to_bus, conductor)
    for path in network.paths:
        yield from (path.from_terminal, path.to_terminal)


def _alive(network: Network, branches: Iterable[Branch]) -> set[Terminal]:
    """Return the terminals tied to the source by conductors, paths or loads."""
    beside: dict[Terminal, list[Terminal]] = {}
    pairs = [(item.first, item.second) for item in branches]
    pairs.extend(load.terminals() for load in network.loads if load.rated_va)
    for first, second in pairs:
        beside.setdefault(first, []).append(second)
        beside.setdefault(second, []).append(first)
    bus = network.source.bus
    waiting = [Terminal(bus, "N"), Terminal(bus, "A"), Terminal(bus, "B")]
    alive = set(waiting)
    while waiting:
        for terminal in beside.get(waiting.pop(), ()):
            if terminal not in alive:
                alive.add(terminal)
                waiting.append(terminal)
    return alive


def _refuse_dead_loads(loads: Iterable[Load], alive: set[Terminal]) -> None:
    faults = [
        Fault(
            f"load {load.load_id}",
            f"open conductors leave {load.between} at bus {load.bus!r} without source",
            "loads that some conductor ties to the source",
            "Leave the load out, or close a joint.",
        )
        for load in loads
        if not alive.issuperset(load.terminals())
    ]
    if faults:
        raise InputError(*faults)


def _refuse_perfect_rings(branches: Iterable[Branch], network: Network) -> None:
    """Refuse rings without any impedance: nothing says how current splits in them."""
    root: dict[Terminal, Terminal] = {}

    def find(terminal: Terminal) -> Terminal:
        while root.setdefault(terminal, terminal) != terminal:
            terminal = root[terminal]
        return terminal

    source = network.source
    ideal = []
    own_ohm = (("A", source.leg_a_ohm), ("B", source.leg_b_ohm))
    for conductor, ohm in own_ohm:
        if ohm == 0:
            end = Terminal(source.bus, conductor)  # type: ignore[arg-type]
            ideal.append((end, Terminal(source.bus, "N"), "the ideal source"))
    ideal.extend((x.first, x.second, x.label) for x in branches if x.ohm == 0)
    for start, end, label in ideal:
        first, second = find(start), find(end)
        if first == second:
            raise InputError(
                Fault(
                    label,
                    "0 ohm, and closes a ring of 0 ohm",
                    "some impedance in every ring, e.g. 0.0001 ohm for a bond",
                )
            )
        root[first] = second
