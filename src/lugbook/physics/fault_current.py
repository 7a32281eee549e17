"""Current of a bolted short circuit, from transformer and conductors.

Impedances are complex ohms at the secondary voltage. Unknown is not zero: what is not
known is the caller's to say, and the infinite bus is a named choice, not a default
hidden in a number.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

from lugbook.errors import OutOfRange
from lugbook.physics.elementwise import require_between

__all__ = [
    "CentreTapped",
    "FaultCurrents",
    "centre_tapped_transformer",
    "fault_current",
    "fault_currents",
    "full_load_current",
    "terminal_fault_current",
    "transformer_impedance",
    "utility_impedance",
]

# A half winding seen from its terminals, over the whole winding's percent values, in
# interlaced secondaries (the usual pole and pad transformers).
_HALF_WINDING_RESISTANCE_FACTOR = 1.5
_HALF_WINDING_REACTANCE_FACTOR = 1.2


@dataclass(frozen=True, slots=True)
class CentreTapped:
    """Impedances of a centre-tapped transformer, for `split_phase_source`.

    Args:
        line_v: Voltage between the legs. [V]
        leg_ohm: Impedance in each half winding. [ohm]
        shared_ohm: Primary-side impedance referred to a half winding. [ohm]
    """

    line_v: float
    leg_ohm: complex
    shared_ohm: complex

    @property
    def line_to_line_ohm(self) -> complex:
        """Impedance seen between the legs."""
        return 2 * self.leg_ohm + 4 * self.shared_ohm

    @property
    def line_to_neutral_ohm(self) -> complex:
        """Impedance seen between one leg and the neutral."""
        return self.leg_ohm + self.shared_ohm


@dataclass(frozen=True, slots=True)
class FaultCurrents:
    """Bolted fault currents at one place.

    Args:
        line_to_line_a: Between the legs. [A]
        line_to_neutral_a: Between one leg and the neutral. [A]
    """

    line_to_line_a: float
    line_to_neutral_a: float

    @property
    def largest_a(self) -> float:
        """The larger: what equipment there must be able to interrupt."""
        return max(self.line_to_line_a, self.line_to_neutral_a)


def full_load_current(*, rated_va: float, line_v: float) -> float:
    """Rated current of a single-phase transformer's secondary.

    Args:
        rated_va: Rating. [VA]
        line_v: Secondary voltage between the legs. [V]

    Returns:
        Rated current. [A]

    Raises:
        OutOfRange: The rating or voltage is not above zero.

    Valid for:
        Single-phase transformers.

    Source:
        electric-circuits-2017, apparent power (from memory)

    Checked by:
        full-load-current-50kva

    Example:
        >>> full_load_current(rated_va=24_000.0, line_v=240.0)
        100.0
    """
    require_between("the transformer's rating", rated_va, 1.0, 1e9, "VA")
    require_between("the voltage", line_v, 1.0, 1e5, "V")
    return rated_va / line_v


def terminal_fault_current(
    *, rated_va: float, line_v: float, impedance_fraction: float
) -> float:
    """Line-to-line fault current at a transformer's terminals, infinite bus behind it.

    I = rated current / Z. The highest it can be: utility and conductors only lower it.

    Args:
        rated_va: Rating. [VA]
        line_v: Secondary voltage between the legs. [V]
        impedance_fraction: Nameplate percent impedance over 100. [-]

    Returns:
        Symmetrical fault current between the legs. [A]

    Raises:
        OutOfRange: The impedance fraction is outside 0.002 to 0.2.

    Valid for:
        Single-phase transformers; nameplate impedance is within 7.5 to 10 % of the
        real one (from memory, IEEE C57.12.00), so the current is too.

    Source:
        teaching-short-circuit, full-load amperes times 100 / %Z

    Checked by:
        test_terminal_fault_current_by_hand

    Example:
        >>> round(terminal_fault_current(rated_va=25_000.0, line_v=240.0,
        ...     impedance_fraction=0.015))
        6944
    """
    _require_impedance_fraction(impedance_fraction)
    rated_a = full_load_current(rated_va=rated_va, line_v=line_v)
    return rated_a / impedance_fraction


def transformer_impedance(
    *,
    rated_va: float,
    line_v: float,
    impedance_fraction: float,
    reactance_over_resistance: float,
) -> complex:
    """Impedance of a transformer between its legs, at the secondary voltage.

    Z = z V^2 / S, split by X/R.

    Args:
        rated_va: Rating. [VA]
        line_v: Secondary voltage between the legs. [V]
        impedance_fraction: Nameplate percent impedance over 100. [-]
        reactance_over_resistance: X/R ratio; 0 for all resistance. [-]

    Returns:
        Impedance between the legs. [ohm]

    Raises:
        OutOfRange: A quantity is outside its range.

    Valid for:
        Single-phase transformers, short-circuit (series) impedance only.

    Source:
        electric-circuits-2017, per-unit impedance (from memory)

    Checked by:
        test_transformer_impedance_by_hand

    Example:
        >>> transformer_impedance(rated_va=24_000.0, line_v=240.0,
        ...     impedance_fraction=0.02, reactance_over_resistance=0.0)
        (0.048+0j)
    """
    _require_impedance_fraction(impedance_fraction)
    require_between("the transformer's rating", rated_va, 1.0, 1e9, "VA")
    require_between("the voltage", line_v, 1.0, 1e5, "V")
    require_between("the X/R ratio", reactance_over_resistance, 0.0, 100.0, "")
    size_ohm = impedance_fraction * line_v**2 / rated_va
    resistance_ohm = size_ohm / math.hypot(1.0, reactance_over_resistance)
    return complex(resistance_ohm, resistance_ohm * reactance_over_resistance)


def centre_tapped_transformer(
    *,
    rated_va: float,
    impedance_fraction: float,
    reactance_over_resistance: float,
    line_v: float = 240.0,
) -> CentreTapped:
    """Impedances of a centre-tapped transformer with interlaced half windings.

    Per unit on the rating: 0.5 R + j 0.8 X before the halves, R + j 0.4 X in each.
    Together R + j X between the legs and 1.5 R + j 1.2 X from leg to neutral (on the
    120 V base), which makes the leg-to-neutral fault 1.33 to 1.67 times the other,
    often put as 1.5.

    Args:
        rated_va: Rating. [VA]
        impedance_fraction: Nameplate percent impedance over 100. [-]
        reactance_over_resistance: X/R ratio. [-]
        line_v: Secondary voltage between the legs. [V]

    Returns:
        The impedances, ready for `split_phase_source`. [-]

    Raises:
        OutOfRange: A quantity is outside its range.

    Valid for:
        Interlaced secondaries, as pole and pad transformers usually have. Others
        differ between leg and neutral, not between the legs.

    Source:
        center-tapped-2009 (from memory); the sum from leg to neutral, and 1.33 to 1.67,
        confirmed in teaching-short-circuit, note on centre-tapped transformers

    Checked by:
        test_the_centre_tap_multiplies_the_fault_by_one_third_to_two_thirds_more

    Example:
        >>> pole = centre_tapped_transformer(rated_va=25_000.0,
        ...     impedance_fraction=0.015, reactance_over_resistance=1.5)
        >>> round(240 / abs(pole.line_to_line_ohm))
        6944
    """
    whole_ohm = transformer_impedance(
        rated_va=rated_va,
        line_v=line_v,
        impedance_fraction=impedance_fraction,
        reactance_over_resistance=reactance_over_resistance,
    )
    # The same per-unit value is a quarter of the ohms at half the voltage.
    half_base_ohm = whole_ohm / 4
    shared_ohm = complex(0.5 * half_base_ohm.real, 0.8 * half_base_ohm.imag)
    seen_ohm = complex(
        _HALF_WINDING_RESISTANCE_FACTOR * half_base_ohm.real,
        _HALF_WINDING_REACTANCE_FACTOR * half_base_ohm.imag,
    )
    return CentreTapped(line_v, seen_ohm - shared_ohm, shared_ohm)


def utility_impedance(
    *,
    fault_a: float,
    line_v: float,
    reactance_over_resistance: float,
) -> complex:
    """Loop impedance behind a point whose fault current the utility has stated.

    Z = V / I, split by X/R.

    Args:
        fault_a: Stated symmetrical fault current between the legs. [A]
        line_v: Voltage between the legs. [V]
        reactance_over_resistance: X/R ratio at that point. [-]

    Returns:
        Loop impedance between the legs. [ohm]

    Raises:
        OutOfRange: The current or voltage is not above zero.

    Valid for:
        Line-to-line faults.

    Source:
        electric-circuits-2017, Ohm's law (from memory)

    Checked by:
        test_a_stated_fault_current_comes_back

    Example:
        >>> utility_impedance(fault_a=10_000.0, line_v=240.0,
        ...     reactance_over_resistance=0.0)
        (0.024+0j)
    """
    require_between("the fault current", fault_a, 1.0, 1e6, "A")
    require_between("the voltage", line_v, 1.0, 1e5, "V")
    require_between("the X/R ratio", reactance_over_resistance, 0.0, 100.0, "")
    resistance_ohm = line_v / fault_a / math.hypot(1.0, reactance_over_resistance)
    return complex(resistance_ohm, resistance_ohm * reactance_over_resistance)


def fault_current(*, line_v: float, loop_ohm: Iterable[complex]) -> float:
    """Symmetrical current of a bolted fault through impedances in series.

    I = V / |sum of Z|. Impedances add as complex numbers: adding their sizes would
    give too small a current, on the unsafe side for interrupting ratings.

    Args:
        line_v: Voltage between the faulted conductors before the fault. [V]
        loop_ohm: Impedances of the loop: source, transformer, conductors there and
            back. [ohm]

    Returns:
        Fault current. [A]

    Raises:
        OutOfRange: The impedances add up to nothing, or one is negative.

    Valid for:
        Bolted faults without motors' contribution, first cycles' offset left out.
        Conductors at their coldest give the largest current.

    Source:
        electric-circuits-2017, Ohm's law in phasors (from memory)

    Checked by:
        fault-at-an-outlet, test_fault_current_by_hand,
        test_fault_current_agrees_with_the_network

    Example:
        >>> fault_current(line_v=240.0, loop_ohm=(0.006 + 0.008j, 0.0))
        24000.0
    """
    require_between("the voltage", line_v, 1.0, 1e5, "V")
    total_ohm = 0j
    for part_ohm in loop_ohm:
        part_ohm = complex(part_ohm)
        require_between("a resistance of the loop", part_ohm.real, 0.0, 1e9, "ohm")
        require_between("a reactance of the loop", part_ohm.imag, 0.0, 1e9, "ohm")
        total_ohm += part_ohm
    if total_ohm == 0:
        raise OutOfRange(
            "the loop has 0 ohm, so its fault current has no bound; accepted: more "
            "than 0 ohm. Give the transformer or the stated fault current"
        )
    return line_v / abs(total_ohm)


def fault_currents(
    *,
    transformer: CentreTapped,
    leg_ohm: complex = 0.0,
    neutral_ohm: complex = 0.0,
    primary_fault_va: float = math.inf,
) -> FaultCurrents:
    """Fault currents at the end of service conductors from a centre-tapped transformer.

    Args:
        transformer: The transformer. [-]
        leg_ohm: Impedance of one leg's conductor from its terminals, one way. [ohm]
        neutral_ohm: Impedance of the neutral conductor, one way. [ohm]
        primary_fault_va: Short-circuit power of the primary system, taken as
            reactance; infinite gives the largest current. [VA]

    Returns:
        Line-to-line and line-to-neutral fault currents. [A]

    Raises:
        OutOfRange: An impedance is negative or the primary's power is not above zero.

    Valid for:
        Bolted faults on the secondary, no other source (solar, generator) running.

    Source:
        teaching-short-circuit, note on centre-tapped transformers

    Checked by:
        test_fault_current_agrees_with_the_network

    Example:
        >>> pole = centre_tapped_transformer(rated_va=50_000.0,
        ...     impedance_fraction=0.018, reactance_over_resistance=2.0)
        >>> found = fault_currents(transformer=pole, leg_ohm=0.005, neutral_ohm=0.008)
        >>> round(found.line_to_line_a), round(found.line_to_neutral_a)
        (8973, 6900)
    """
    require_between(
        "the primary's short-circuit power", primary_fault_va, 1.0, math.inf, "VA"
    )
    primary_ohm = complex(0.0, transformer.line_v**2 / primary_fault_va)
    return FaultCurrents(
        fault_current(
            line_v=transformer.line_v,
            loop_ohm=(primary_ohm, transformer.line_to_line_ohm, 2 * leg_ohm),
        ),
        fault_current(
            line_v=transformer.line_v / 2,
            # A half winding has half the turns: a quarter of the ohms.
            loop_ohm=(
                primary_ohm / 4,
                transformer.line_to_neutral_ohm,
                leg_ohm,
                neutral_ohm,
            ),
        ),
    )


def _require_impedance_fraction(impedance_fraction: float) -> None:
    require_between(
        "the impedance fraction",
        impedance_fraction,
        0.002,
        0.2,
        "",
        "It is the nameplate's percent over 100: 1.8 % is 0.018.",
    )
