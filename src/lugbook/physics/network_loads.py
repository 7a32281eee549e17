"""Loads that are not impedances, brought to rest in a linear circuit.

A fixed point on their currents settles in a dozen cheap rounds in any sound house.
Where it does not contract, Newton's method at the loads' terminals takes over, led from
impedances to the real loads by steps, so it stays on the voltage a real circuit has.
"""

from __future__ import annotations

from lugbook.errors import OutOfRange
from lugbook.physics.network_equations import Circuit, Hung
from lugbook.physics.network_linear import Factors, factorize
from lugbook.physics.network_model import Load

__all__ = ["Settled", "settle"]

_SETTLED = 1e-13
# What rounding may leave of a change when it no longer shrinks.
_ROUNDING = 1e-11
_FREE_ROUNDS = 10
_NEWTON_TRIES = 20
_SMALLEST_STEP = 1e-3
# A Newton step that moves a voltage further may have jumped to another solution.
_FARTHEST_MOVE = 0.3

Settled = tuple[list[complex], list[complex], int]
"""Surplus currents of the restless loads, the circuit's unknowns, the rounds taken."""


def settle(circuit: Circuit, factors: Factors) -> Settled:
    """Return the surplus currents at which every load keeps its own law.

    Raises:
        OutOfRange: There is no such state that a real circuit could come to.
    """
    if not circuit.restless:
        return [], factors.solve(circuit.right_with(())), 1
    return _fixed_point(circuit, factors) or _by_newton(circuit, factors)


def _surplus_a(item: Hung, voltage_v: complex) -> complex:
    """Return what a load draws over its rated admittance, which is in the matrix."""
    if voltage_v == 0:
        raise OutOfRange(_no_steady_state(f"load {item.load.load_id!r}"))
    return item.load.current_a(voltage_v) - item.load.rated_siemens * voltage_v


def _no_steady_state(name: str) -> str:
    return (
        f"no steady state exists: {name} asks for more than the conductors bring, and "
        "its voltage collapses; accepted: loads that the source can feed. Lower the "
        "load, close open conductors, or give the load as a constant impedance"
    )


def _fixed_point(circuit: Circuit, factors: Factors) -> Settled | None:
    """Return the settled state; None where rounds do not come closer fast enough."""
    loads = circuit.restless
    injected_a = [0j] * len(loads)
    change = float("inf")
    rounds = 0
    # It ends: after the free rounds the change halves each time, or it is stuck.
    while True:
        rounds += 1
        unknown = factors.solve(circuit.right_with(injected_a))
        volts = [item.across(unknown) for item in loads]
        if not all(0 < abs(volt) < circuit.highest_v for volt in volts):
            return None
        wanted_a = [
            _surplus_a(item, volt) for item, volt in zip(loads, volts, strict=True)
        ]
        scale_a = max(
            abs(item.load.current_a(volt))
            for item, volt in zip(loads, volts, strict=True)
        )
        before = change
        change = max(
            abs(new - old) for new, old in zip(wanted_a, injected_a, strict=True)
        )
        stuck = rounds > _FREE_ROUNDS and change > 0.5 * before
        if change <= (_ROUNDING if stuck else _SETTLED) * scale_a:
            return injected_a, unknown, rounds
        if stuck:
            return None
        injected_a = wanted_a


def _by_newton(circuit: Circuit, factors: Factors) -> Settled:
    ports = _Ports(circuit, factors)
    volts = list(ports.no_surplus_v)
    done, step, rounds = 0.0, 0.25, 0
    while done < 1:
        share = min(1.0, done + step)
        moved = ports.newton(volts, share)
        rounds += 1
        if moved is None:
            step /= 2
            if step < _SMALLEST_STEP:
                raise OutOfRange(_no_steady_state(ports.weakest(volts)))
        else:
            volts, done = moved, share
    injected_a = [
        _surplus_a(item, volt)
        for item, volt in zip(circuit.restless, volts, strict=True)
    ]
    return injected_a, factors.solve(circuit.right_with(injected_a)), rounds


class _Ports:
    """The linear circuit as the restless loads see it."""

    def __init__(self, circuit: Circuit, factors: Factors) -> None:
        self.loads = circuit.restless
        self.highest_v = circuit.highest_v
        zero = [0j] * len(self.loads)
        base = factors.solve(circuit.right_with(zero))
        self.no_surplus_v = [item.across(base) for item in self.loads]
        self.ohm = [[0j] * len(self.loads) for _ in self.loads]
        for column in range(len(self.loads)):
            unit = list(zero)
            unit[column] = 1.0
            pushed = factors.solve(circuit.right_with(unit))
            for row, item in enumerate(self.loads):
                self.ohm[row][column] = self.no_surplus_v[row] - item.across(pushed)

    def weakest(self, volts: list[complex]) -> str:
        """Return the name of the load whose voltage fell most."""
        shares = [
            abs(volt) / abs(item.no_load_v or 1.0)
            for item, volt in zip(self.loads, volts, strict=True)
        ]
        return f"load {self.loads[shares.index(min(shares))].load.load_id!r}"

    def newton(self, start: list[complex], share: float) -> list[complex] | None:
        """Return the voltages with this share of the surplus; None if none is near."""
        volts = list(start)
        largest_v = max(map(abs, self.no_surplus_v))
        for _ in range(_NEWTON_TRIES):
            missing = self._missing(volts, share)
            size = max(map(abs, missing))
            if size <= _SETTLED * largest_v:
                return volts
            try:
                moves = self._moves(volts, share, missing)
            except OutOfRange:
                return None
            volts = [volt + move for volt, move in zip(volts, moves, strict=True)]
            if any(
                abs(volt - first) > _FARTHEST_MOVE * abs(first)
                or abs(volt) > self.highest_v
                for volt, first in zip(volts, start, strict=True)
            ):
                return None
        return volts if size <= _ROUNDING * largest_v else None

    def _missing(self, volts: list[complex], share: float) -> list[complex]:
        surplus = [
            share * _surplus_a(item, volt)
            for item, volt in zip(self.loads, volts, strict=True)
        ]
        return [
            volt - free + sum(ohm * amp for ohm, amp in zip(row, surplus, strict=True))
            for volt, free, row in zip(volts, self.no_surplus_v, self.ohm, strict=True)
        ]

    def _moves(
        self, volts: list[complex], share: float, missing: list[complex]
    ) -> list[complex]:
        count = len(volts)
        slopes = [
            _slopes(item.load, volt)
            for item, volt in zip(self.loads, volts, strict=True)
        ]
        matrix: list[dict[int, complex]] = [{} for _ in range(2 * count)]
        for row in range(count):
            for column, (along, mirrored) in enumerate(slopes):
                own = share * self.ohm[row][column] * along
                mirror = share * self.ohm[row][column] * mirrored
                if row == column:
                    own += 1.0
                matrix[row][column] = (own + mirror).real
                matrix[row][count + column] = (mirror - own).imag
                matrix[count + row][column] = (own + mirror).imag
                matrix[count + row][count + column] = (own - mirror).real
        right: list[complex] = [-entry.real for entry in missing]
        right.extend(-entry.imag for entry in missing)
        answer = factorize(matrix).solve(right)
        return [
            complex(answer[place].real, answer[count + place].real)
            for place in range(count)
        ]


def _slopes(load: Load, volt: complex) -> tuple[complex, complex]:
    """Return d(surplus)/dV and d(surplus)/d(conjugate V) of a load."""
    rated = load.rated_va.conjugate()
    if load.kind == "constant_current":
        size = rated / load.rated_v / (2 * abs(volt))
        return size - load.rated_siemens, -size * (volt / abs(volt)) ** 2
    return -load.rated_siemens, -rated / volt.conjugate() ** 2
