"""Resistance of a conductor: from its length, and moved between temperatures.

Resistances per metre and coefficients are handed in; no rule book is known here.
Annotations say `float`; arrays of one shape work too.
"""

from __future__ import annotations

from lugbook.physics.elementwise import require_between

__all__ = [
    "resistance_at_temperature",
    "resistance_by_inferred_zero",
    "resistance_of_length",
]


def resistance_at_temperature(
    *,
    reference_ohm: float,
    reference_c: float,
    conductor_c: float,
    coefficient_per_k: float,
) -> float:
    """Resistance of a conductor moved from one temperature to another.

    Straight line about the reference temperature:
    R = R_ref (1 + coefficient (T - T_ref)). Ohms per metre may be given just as well.

    Args:
        reference_ohm: Resistance at the reference temperature. [ohm]
        reference_c: Reference temperature. [°C]
        conductor_c: Temperature wanted. [°C]
        coefficient_per_k: Temperature coefficient at the reference. [1/K]

    Returns:
        Resistance at the temperature wanted. [ohm]

    Raises:
        OutOfRange: A temperature is outside -50 to 250 °C, the coefficient outside 0
            to 0.01 per K, or the resistance is negative.

    Valid for:
        Copper and aluminum, -50 to 250 °C; the coefficient belongs to the reference
        temperature (0.00323 at 75 °C and 0.00393 at 20 °C are the same copper).

    Source:
        nfpa70-2023, Chapter 9 Table 8, note on temperature change

    Checked by:
        resistance-of-28-ohm-coil-warmed, resistance-3awg-copper-40c

    Example:
        >>> round(resistance_at_temperature(reference_ohm=0.245, reference_c=75,
        ...     conductor_c=40, coefficient_per_k=0.00323), 4)
        0.2173
    """
    _require_resistance(reference_ohm)
    require_between("the reference temperature", reference_c, -50.0, 250.0, "°C")
    require_between("the conductor's temperature", conductor_c, -50.0, 250.0, "°C")
    require_between(
        "the temperature coefficient", coefficient_per_k, 0.0, 0.01, "per K"
    )
    return reference_ohm * (1 + coefficient_per_k * (conductor_c - reference_c))


def resistance_by_inferred_zero(
    *,
    reference_ohm: float,
    reference_c: float,
    conductor_c: float,
    inferred_zero_c: float,
) -> float:
    """Resistance moved between temperatures by the metal's inferred zero.

    R = R_ref (T0 + T) / (T0 + T_ref), where the straight line of resistance meets
    zero at -T0.

    Args:
        reference_ohm: Resistance at the reference temperature. [ohm]
        reference_c: Reference temperature. [°C]
        conductor_c: Temperature wanted. [°C]
        inferred_zero_c: T0 as a positive number: 234.5 copper, 228.1 aluminum. [°C]

    Returns:
        Resistance at the temperature wanted. [ohm]

    Raises:
        OutOfRange: A temperature is outside -50 to 250 °C, T0 outside 200 to 260 °C,
            or the resistance is negative.

    Valid for:
        Copper and aluminum, -50 to 250 °C.

    Source:
        iec-60287-1-1, resistance at operating temperature

    Checked by:
        resistance-of-200-ohm-copper-at-90c,
        test_both_forms_of_the_temperature_law_agree

    Example:
        >>> round(resistance_by_inferred_zero(reference_ohm=1.0, reference_c=20,
        ...     conductor_c=75, inferred_zero_c=234.5), 4)
        1.2161
    """
    _require_resistance(reference_ohm)
    require_between("the reference temperature", reference_c, -50.0, 250.0, "°C")
    require_between("the conductor's temperature", conductor_c, -50.0, 250.0, "°C")
    require_between("the inferred zero", inferred_zero_c, 200.0, 260.0, "°C")
    return (
        reference_ohm
        * (inferred_zero_c + conductor_c)
        / (inferred_zero_c + reference_c)
    )


def resistance_of_length(
    *, resistance_ohm_per_m: float, length_m: float, parallel_count: float = 1
) -> float:
    """Resistance of one conductor of a run, one way.

    Args:
        resistance_ohm_per_m: Resistance per metre at the conductor's
            temperature. [ohm/m]
        length_m: Length, one way. [m]
        parallel_count: Equal conductors in parallel. [-]

    Returns:
        Resistance of the length. [ohm]

    Raises:
        OutOfRange: The resistance or length is negative, or the count below 1.

    Valid for:
        Conductors that carry equal shares where they are in parallel.

    Source:
        electric-circuits-2017, resistance of a uniform conductor (from memory)

    Checked by:
        test_resistance_grows_with_length_and_falls_with_parallels

    Example:
        >>> resistance_of_length(resistance_ohm_per_m=0.0008, length_m=25)
        0.02
    """
    _require_resistance(resistance_ohm_per_m)
    require_between("the length", length_m, 0.0, 1e5, "m")
    require_between("the number in parallel", parallel_count, 1, 100, "conductors")
    return resistance_ohm_per_m * length_m / parallel_count


def _require_resistance(given_ohm: float) -> None:
    require_between("the resistance", given_ohm, 0.0, 1e9, "ohm")
