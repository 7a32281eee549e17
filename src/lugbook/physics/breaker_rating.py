"""What a thermal breaker holds in air that is not the air of its calibration.

The bimetal trips at its own temperature. Warmer air leaves less room for the current's
heat, so the breaker holds less.
"""

from __future__ import annotations

from lugbook.physics.contact import PriorRange
from lugbook.physics.elementwise import require_between

__all__ = ["breaker_holding_current", "breaker_holding_fraction"]

# Trip temperatures that fit one maker's published re-rating rows of 15 to 125 A.
TRIP_TEMPERATURE_C = PriorRange(110.0, 132.0, 137.0)
HEAT_EXPONENT = 1.8


def breaker_holding_fraction(
    *,
    local_ambient_c: float,
    trip_temperature_c: float = TRIP_TEMPERATURE_C.median,
    calibration_c: float = 40.0,
    heat_exponent: float = HEAT_EXPONENT,
) -> float:
    """Current that a thermal breaker holds, as a share of its rating.

    Args:
        local_ambient_c: Air beside the breaker, inside the panel. [°C]
        trip_temperature_c: Temperature at which the bimetal trips. [°C]
        calibration_c: Air temperature at which the rating was set. [°C]
        heat_exponent: n in rise proportional to current to the n. [-]

    Returns:
        Holding current over rating. [-]

    Raises:
        OutOfRange: Ambient outside -10 to 70 °C, or not below the trip temperature.

    Valid for:
        Thermal-magnetic breakers of 15 to 125 A, -10 to 70 °C. Not for electronic
        trip units. Use the air inside the panel: room plus 8 to 20 K at full load.

    Source:
        breaker-rerating-tables, two published tables; the form is worked from the heat
        balance

    Checked by:
        test_published_rerating_rows
        test_published_multipliers_of_a_20_a_breaker

    Example:
        >>> round(breaker_holding_fraction(local_ambient_c=60.0), 2)
        0.87
    """
    require_between("Local ambient", local_ambient_c, -10.0, 70.0, "°C")
    require_between("Trip temperature", trip_temperature_c, 90.0, 200.0, "°C")
    require_between("Calibration temperature", calibration_c, 20.0, 60.0, "°C")
    require_between("Heat exponent", heat_exponent, 1.2, 2.0, "")
    room_k = trip_temperature_c - local_ambient_c
    fraction: float = (room_k / (trip_temperature_c - calibration_c)) ** (
        1.0 / heat_exponent
    )
    return fraction


def breaker_holding_current(
    *, rating_a: float, local_ambient_c: float, calibration_c: float = 40.0
) -> PriorRange:
    """Current that a thermal breaker holds in warmer or cooler air, as a range.

    The range is the spread of trip temperatures between published breakers.

    Args:
        rating_a: Rating printed on the handle. [A]
        local_ambient_c: Air beside the breaker, inside the panel. [°C]
        calibration_c: Air temperature at which the rating was set. [°C]

    Returns:
        Holding current, low to high. [A]

    Raises:
        OutOfRange: Rating outside 15 to 125 A, or ambient outside -10 to 65 °C.

    Valid for:
        As `breaker_holding_fraction`, but to 65 °C: above it some published rows fall
        off faster than any of these trip temperatures.

    Source:
        breaker-rerating-tables, table of holding currents

    Checked by:
        test_no_published_breaker_holds_less_than_the_low_end

    Example:
        >>> held = breaker_holding_current(rating_a=100.0, local_ambient_c=55.0)
        >>> round(held.low), round(held.median), round(held.high)
        (87, 91, 91)
    """
    require_between("Breaker rating", rating_a, 15.0, 125.0, "A")
    require_between("Local ambient", local_ambient_c, -10.0, 65.0, "°C")
    held = sorted(
        rating_a
        * breaker_holding_fraction(
            local_ambient_c=local_ambient_c,
            trip_temperature_c=trip_c,
            calibration_c=calibration_c,
        )
        for trip_c in (
            TRIP_TEMPERATURE_C.low,
            TRIP_TEMPERATURE_C.median,
            TRIP_TEMPERATURE_C.high,
        )
    )
    return PriorRange(held[0], held[1], held[2])
