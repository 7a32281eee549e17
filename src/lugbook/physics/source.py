"""What two sets of volt readings say about the supply: source, legs and neutral.

Every function compares a state before with a state after a known change of current,
read with one meter, so the meter's gain error nearly cancels. Nothing else in the
house may change between the two. Thresholds are not set here, except where an argument
says so; a change no larger than the meter can tell gives no answer.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from lugbook.errors import OutOfRange
from lugbook.physics.elementwise import require_between

__all__ = [
    "FallPattern",
    "LegResistances",
    "NeutralResistance",
    "SupplyKind",
    "fall_pattern",
    "leg_resistances",
    "leg_resistances_wye",
    "neutral_resistance",
    "neutral_resistance_wye",
    "source_resistance",
    "source_resistance_uncertainty",
    "supply_kind",
]

SupplyKind = Literal["split phase", "wye", "one leg twice", "cannot tell"]
FallPattern = Literal[
    "both legs", "leg A", "leg B", "neutral", "both rise", "cannot tell"
]

_WYE_ANGLE_COSINE = math.sqrt(3) / 2
_WYE_ANGLE_SINE = 0.5


@dataclass(frozen=True, slots=True)
class LegResistances:
    """Source resistance, leg by leg.

    Args:
        leg_a_ohm: Leg A up to the point of reading. [ohm]
        leg_b_ohm: Leg B up to the point of reading. [ohm]
    """

    leg_a_ohm: float
    leg_b_ohm: float

    @property
    def loop_ohm(self) -> float:
        """Both legs in series, as a 240 V load sees them."""
        return self.leg_a_ohm + self.leg_b_ohm


@dataclass(frozen=True, slots=True)
class NeutralResistance:
    """What a known 120 V load on one leg reveals.

    Args:
        neutral_ohm: Neutral up to the point of reading. [ohm]
        leg_ohm: The loaded leg with what both legs share. [ohm]
    """

    neutral_ohm: float
    leg_ohm: float


def source_resistance(
    *, before_v: float, after_v: float, current_change_a: float
) -> float:
    """Loop resistance of the source from two readings.

    R = (V before - V after) / (I after - I before), the load at unity power factor.

    Args:
        before_v: Voltage between the load's conductors before. [V]
        after_v: The same after the current rose. [V]
        current_change_a: By how much the current rose. [A]

    Returns:
        Loop resistance up to the point of reading; negative when the voltage rose,
        which means that something else changed. [ohm]

    Raises:
        OutOfRange: The current change is not above zero, or a voltage is absurd.

    Valid for:
        Unity power factor (a charger, a heater), nothing else switched between the
        readings. With reactance in the source the answer is its resistance plus a
        second-order part, I X^2 / (2 V).

    Source:
        electric-circuits-2017, Ohm's law (from memory)

    Checked by:
        test_source_resistance_by_hand, test_readings_of_a_network_give_it_back

    Example:
        >>> round(source_resistance(before_v=241.0, after_v=237.0,
        ...     current_change_a=80.0), 6)
        0.05
    """
    _require_readings(before_v, after_v, current_change_a)
    return (before_v - after_v) / current_change_a


def source_resistance_uncertainty(
    *,
    resistance_ohm: float,
    current_change_a: float,
    voltage_change_uncertainty_v: float,
    current_uncertainty_fraction: float,
) -> float:
    """Standard uncertainty of a resistance found from two readings.

    u = sqrt((u_dV / I)^2 + (R u_I)^2): volts and amperes err independently.

    Args:
        resistance_ohm: The resistance found. [ohm]
        current_change_a: Current change it was found with. [A]
        voltage_change_uncertainty_v: Standard uncertainty of the difference of
            voltages; one meter read twice has mostly its last digit. [V]
        current_uncertainty_fraction: Standard uncertainty of the current, as a
            fraction. [-]

    Returns:
        Standard uncertainty. [ohm]

    Raises:
        OutOfRange: An uncertainty is negative or the current change not above zero.

    Valid for:
        Independent errors, small beside what is measured.

    Source:
        jcgm-100-2008, 5.1.2 (from memory)

    Checked by:
        test_uncertainty_of_a_source_resistance_by_hand

    Example:
        >>> source_resistance_uncertainty(resistance_ohm=0.05, current_change_a=50.0,
        ...     voltage_change_uncertainty_v=0.15, current_uncertainty_fraction=0.08)
        0.005
    """
    require_between("the current change", current_change_a, 1e-3, 1e5, "A")
    require_between("the volts' uncertainty", voltage_change_uncertainty_v, 0, 1e3, "V")
    require_between(
        "the current's uncertainty", current_uncertainty_fraction, 0.0, 1.0, ""
    )
    return math.hypot(
        voltage_change_uncertainty_v / current_change_a,
        resistance_ohm * current_uncertainty_fraction,
    )


def leg_resistances(
    *,
    leg_a_before_v: float,
    leg_a_after_v: float,
    leg_b_before_v: float,
    leg_b_after_v: float,
    current_change_a: float,
) -> LegResistances:
    """Source resistance of each leg of a 120/240 V supply, from a 240 V load.

    Each leg to neutral falls by its own R times I; the neutral carries none of a
    240 V load's current and cannot hide anything.

    Args:
        leg_a_before_v: Leg A to neutral before. [V]
        leg_a_after_v: Leg A to neutral after. [V]
        leg_b_before_v: Leg B to neutral before. [V]
        leg_b_after_v: Leg B to neutral after. [V]
        current_change_a: Rise of the 240 V load's current. [A]

    Returns:
        Resistance of each leg; what the legs share in the transformer is split
        evenly. [ohm]

    Raises:
        OutOfRange: The current change is not above zero, or a voltage is absurd.

    Valid for:
        Split phase, unity power factor, nothing else switched between the readings.
        Other 120 V loads that are impedances change the answer by less than their
        share of the current.

    Source:
        electric-circuits-2017, Ohm's law (from memory)

    Checked by:
        test_leg_resistances_by_hand, test_readings_of_a_network_give_it_back

    Example:
        >>> legs = leg_resistances(leg_a_before_v=120.5, leg_a_after_v=118.5,
        ...     leg_b_before_v=120.5, leg_b_after_v=116.5, current_change_a=80.0)
        >>> legs.leg_a_ohm, legs.leg_b_ohm
        (0.025, 0.05)
    """
    _require_readings(leg_a_before_v, leg_a_after_v, current_change_a)
    _require_readings(leg_b_before_v, leg_b_after_v, current_change_a)
    return LegResistances(
        (leg_a_before_v - leg_a_after_v) / current_change_a,
        (leg_b_before_v - leg_b_after_v) / current_change_a,
    )


def leg_resistances_wye(
    *,
    leg_a_before_v: float,
    leg_a_after_v: float,
    leg_b_before_v: float,
    leg_b_after_v: float,
    current_change_a: float,
) -> LegResistances:
    """Source resistance of each leg of a 120/208 V supply, from a 208 V load.

    The current runs 30 degrees beside each leg's voltage, so a leg to neutral falls
    by about 0.866 R I. Exactly: R I = V cos 30 - sqrt(V'^2 - (V sin 30)^2), with V
    before and V' after.

    Args:
        leg_a_before_v: Leg A to neutral before. [V]
        leg_a_after_v: Leg A to neutral after. [V]
        leg_b_before_v: Leg B to neutral before. [V]
        leg_b_after_v: Leg B to neutral after. [V]
        current_change_a: Rise of the 208 V load's current from zero. [A]

    Returns:
        Resistance of each leg. [ohm]

    Raises:
        OutOfRange: The current change is not above zero, or a voltage fell by more
            than half.

    Valid for:
        Two legs of a balanced wye, unity power factor, resistance only.

    Source:
        electric-circuits-2017, phasors of a wye (from memory)

    Checked by:
        test_readings_of_a_wye_network_give_it_back

    Example:
        >>> legs = leg_resistances_wye(leg_a_before_v=120.0, leg_a_after_v=116.55,
        ...     leg_b_before_v=120.0, leg_b_after_v=116.55, current_change_a=80.0)
        >>> round(legs.leg_a_ohm, 3)
        0.05
    """
    _require_readings(leg_a_before_v, leg_a_after_v, current_change_a)
    _require_readings(leg_b_before_v, leg_b_after_v, current_change_a)
    return LegResistances(
        _wye_fall_v(leg_a_before_v, leg_a_after_v) / current_change_a,
        _wye_fall_v(leg_b_before_v, leg_b_after_v) / current_change_a,
    )


def _wye_fall_v(before_v: float, after_v: float) -> float:
    require_between("the voltage after", after_v, before_v / 2 * 1.0001, 1e4, "V")
    beside_v = before_v * _WYE_ANGLE_SINE
    return before_v * _WYE_ANGLE_COSINE - math.sqrt(after_v**2 - beside_v**2)


def neutral_resistance(
    *,
    loaded_before_v: float,
    loaded_after_v: float,
    opposite_before_v: float,
    opposite_after_v: float,
    current_change_a: float,
    shared_ohm: float = 0.0,
) -> NeutralResistance:
    """Neutral resistance from a known 120 V load, on a 120/240 V supply.

    The load's current returns by the neutral and lifts the opposite leg to neutral by
    R_N I; the loaded leg falls by (R_leg + R_N) I. What lies on the transformer's
    primary lowers both legs by R_shared I; give it if it is known, else the neutral
    is found too small by that much.

    Args:
        loaded_before_v: Loaded leg to neutral before. [V]
        loaded_after_v: Loaded leg to neutral after. [V]
        opposite_before_v: Opposite leg to neutral before. [V]
        opposite_after_v: Opposite leg to neutral after. [V]
        current_change_a: Current of the 120 V load switched on. [A]
        shared_ohm: Primary-side resistance referred to one half winding. [ohm]

    Returns:
        Resistance of the neutral, and of the loaded leg. [ohm]

    Raises:
        OutOfRange: The current change is not above zero, or a voltage is absurd.

    Valid for:
        Split phase, unity power factor, nothing else switched. Earth and metal paths
        in parallel with the neutral count as part of it: what is found is all of
        them together.

    Source:
        electric-circuits-2017, three-wire circuit (from memory)

    Checked by:
        test_neutral_resistance_by_hand, test_neutral_of_a_network_is_given_back

    Example:
        >>> found = neutral_resistance(loaded_before_v=120.0, loaded_after_v=118.8,
        ...     opposite_before_v=120.0, opposite_after_v=120.36,
        ...     current_change_a=12.0)
        >>> round(found.neutral_ohm, 6), round(found.leg_ohm, 6)
        (0.03, 0.07)
    """
    _require_readings(loaded_before_v, loaded_after_v, current_change_a)
    _require_readings(opposite_before_v, opposite_after_v, current_change_a)
    require_between("the shared resistance", shared_ohm, 0.0, 10.0, "ohm")
    neutral_ohm = (opposite_after_v - opposite_before_v) / current_change_a + shared_ohm
    loop_ohm = (loaded_before_v - loaded_after_v) / current_change_a
    return NeutralResistance(neutral_ohm, loop_ohm - neutral_ohm)


def neutral_resistance_wye(
    *,
    loaded_before_v: float,
    loaded_after_v: float,
    opposite_before_v: float,
    opposite_after_v: float,
    current_change_a: float,
) -> NeutralResistance:
    """Neutral resistance from a known 120 V load, on two legs of a 120/208 V supply.

    The neutral moves towards the loaded leg, 120 degrees away from the other one, so
    the other rises by about half of R_N I. Exactly, with x = R_N I:
    V'^2 = V^2 + V x + x^2.

    Args:
        loaded_before_v: Loaded leg to neutral before. [V]
        loaded_after_v: Loaded leg to neutral after. [V]
        opposite_before_v: The other leg to neutral before. [V]
        opposite_after_v: The other leg to neutral after. [V]
        current_change_a: Current of the 120 V load switched on from zero. [A]

    Returns:
        Resistance of the neutral, and of the loaded leg. [ohm]

    Raises:
        OutOfRange: The current change is not above zero, or a voltage is absurd.

    Valid for:
        Two legs of a balanced wye with no other current in the neutral, unity power
        factor, resistance only.

    Source:
        electric-circuits-2017, phasors of a wye (from memory)

    Checked by:
        test_neutral_of_a_wye_network_is_given_back

    Example:
        >>> found = neutral_resistance_wye(loaded_before_v=120.0,
        ...     loaded_after_v=117.6, opposite_before_v=120.0,
        ...     opposite_after_v=120.6045, current_change_a=12.0)
        >>> round(found.neutral_ohm, 4), round(found.leg_ohm, 4)
        (0.1, 0.1)
    """
    _require_readings(loaded_before_v, loaded_after_v, current_change_a)
    _require_readings(opposite_before_v, opposite_after_v, current_change_a)
    require_between(
        "the other leg after",
        opposite_after_v,
        opposite_before_v * _WYE_ANGLE_COSINE,
        1e4,
        "V",
    )
    before_v = opposite_before_v
    root_v = math.sqrt(4 * opposite_after_v**2 - 3 * before_v**2)
    neutral_ohm = (root_v - before_v) / 2 / current_change_a
    loop_ohm = (loaded_before_v - loaded_after_v) / current_change_a
    return NeutralResistance(neutral_ohm, loop_ohm - neutral_ohm)


def supply_kind(
    *, leg_a_v: float, leg_b_v: float, line_v: float, tolerance_v: float
) -> SupplyKind:
    """Kind of supply that three voltages belong to.

    Split phase: the line voltage is the sum of the legs. Wye: the legs are 120
    degrees apart. One leg twice: both poles hang on the same leg.

    Args:
        leg_a_v: First ungrounded conductor to neutral. [V]
        leg_b_v: Second ungrounded conductor to neutral. [V]
        line_v: Between the two. [V]
        tolerance_v: How far a reading may be off; not above 8 V, so that the kinds
            cannot overlap. [V]

    Returns:
        The kind; "cannot tell" where none fits within the tolerance. [-]

    Raises:
        OutOfRange: A voltage is negative, or the tolerance outside 0 to 8 V.

    Valid for:
        Legs of about 120 V.

    Source:
        electric-circuits-2017, phasors of a wye (from memory)

    Checked by:
        test_three_voltages_tell_the_kind_of_supply

    Example:
        >>> supply_kind(leg_a_v=120.1, leg_b_v=119.8, line_v=207.9, tolerance_v=1.5)
        'wye'
    """
    for name, volts in (("leg A", leg_a_v), ("leg B", leg_b_v), ("line", line_v)):
        require_between(f"the {name} voltage", volts, 0.0, 1e3, "V")
    require_between("the tolerance", tolerance_v, 0.0, 8.0, "V")
    # Dead legs fit every kind at once.
    if min(leg_a_v, leg_b_v) < 60:
        return "cannot tell"
    wye_v = math.sqrt(leg_a_v**2 + leg_b_v**2 + leg_a_v * leg_b_v)
    if abs(line_v - (leg_a_v + leg_b_v)) <= tolerance_v:
        return "split phase"
    if abs(line_v - wye_v) <= tolerance_v:
        return "wye"
    if abs(line_v - abs(leg_a_v - leg_b_v)) <= tolerance_v:
        return "one leg twice"
    return "cannot tell"


def fall_pattern(
    *,
    leg_a_fall_v: float,
    leg_b_fall_v: float,
    resolution_v: float,
    ratio_limit: float = 1.5,
) -> FallPattern:
    """Which part of the supply two falls of voltage point to.

    Both legs alike: the source or a long supply. One leg far more: a joint of that
    leg. One up, the other down: the neutral; a 240 V load alone never does that.

    Args:
        leg_a_fall_v: Leg A to neutral, before less after. [V]
        leg_b_fall_v: Leg B to neutral, before less after. [V]
        resolution_v: Smallest change that the meter can tell. [V]
        ratio_limit: From which ratio of falls on one leg is named; 1.5 is common
            practice, no source. [-]

    Returns:
        The pattern; "cannot tell" where neither leg moved more than the
        resolution, or one rose alone. [-]

    Raises:
        OutOfRange: The resolution is not above zero or the ratio not above 1.

    Valid for:
        Split phase, readings of the same two moments on both legs. A ratio within
        the meter's doubt of the limit is not named: the smaller fall is taken with
        the resolution added, the larger with it taken off.

    Source:
        electric-circuits-2017, three-wire circuit (from memory); the limit is common
        practice, no source

    Checked by:
        test_falls_of_voltage_point_to_a_part

    Example:
        >>> fall_pattern(leg_a_fall_v=2.0, leg_b_fall_v=6.5, resolution_v=0.1)
        'leg B'
    """
    require_between("the resolution", resolution_v, 1e-6, 100.0, "V")
    require_between("the ratio limit", ratio_limit, 1.0 + 1e-9, 100.0, "")
    falls = (leg_a_fall_v, leg_b_fall_v)
    if not all(math.isfinite(fall) for fall in falls):
        raise OutOfRange(
            f"the falls are {leg_a_fall_v:g} V and {leg_b_fall_v:g} V; accepted: "
            "two finite numbers"
        )
    low_v, high_v = min(falls), max(falls)
    if max(map(abs, falls)) <= resolution_v:
        return "cannot tell"
    if low_v < -resolution_v:
        if high_v > resolution_v:
            return "neutral"
        return "both rise" if high_v < -resolution_v else "cannot tell"
    if high_v - resolution_v > ratio_limit * (max(low_v, 0.0) + resolution_v):
        return "leg A" if leg_a_fall_v == high_v else "leg B"
    return "both legs"


def _require_readings(before_v: float, after_v: float, current_change_a: float) -> None:
    require_between("the voltage before", before_v, 1.0, 1e4, "V")
    require_between("the voltage after", after_v, 0.0, 1e4, "V")
    require_between("the current change", current_change_a, 1e-3, 1e5, "A")
