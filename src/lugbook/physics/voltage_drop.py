"""Voltage lost along a run, what it turns into heat, and the step when a load starts.

Resistances are handed in at the conductor's temperature. Plain arithmetic: annotations
say `float`, and arrays of one shape work too.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from lugbook.errors import Fault, InputError, OutOfRange
from lugbook.physics.elementwise import every, require_between

__all__ = [
    "RunDrop",
    "RunSection",
    "effective_impedance",
    "energy_lost_per_year",
    "loss_two_wire",
    "receiving_voltage",
    "run_drop",
    "voltage_drop_two_wire",
    "voltage_step",
]


@dataclass(frozen=True, slots=True)
class RunSection:
    """One length of a run with the same conductor at the same temperature.

    Args:
        section_id: Name, for the working. [-]
        length_m: Length, one way. [m]
        resistance_ohm_per_m: Of one conductor at its temperature. [ohm/m]
        reactance_ohm_per_m: Of one conductor. [ohm/m]
        joints_ohm: Extra resistance of joints, there and back together. [ohm]
    """

    section_id: str
    length_m: float
    resistance_ohm_per_m: float
    reactance_ohm_per_m: float = 0.0
    joints_ohm: float = 0.0

    @property
    def loop_ohm(self) -> complex:
        """Impedance there and back."""
        one_way = self.length_m * complex(
            self.resistance_ohm_per_m, self.reactance_ohm_per_m
        )
        return 2 * one_way + self.joints_ohm


@dataclass(frozen=True, slots=True)
class RunDrop:
    """What a run loses, in all and by section.

    Args:
        drop_v: Supply voltage less the voltage at the load. [V]
        drop_fraction: The same over the supply voltage. [-]
        load_v: Voltage at the load. [V]
        section_v: Voltage across each section's loop, in the order of the run. [V]
        section_w: Loss in each section, in the order of the run. [W]
    """

    drop_v: float
    drop_fraction: float
    load_v: float
    section_v: tuple[float, ...]
    section_w: tuple[float, ...]

    @property
    def loss_w(self) -> float:
        """Loss of the whole run."""
        return sum(self.section_w)


def voltage_drop_two_wire(
    *, current_a: float, resistance_ohm_per_m: float, length_m: float
) -> float:
    """Voltage drop of a two-wire circuit whose conductors are alike.

    V = 2 I R L: a 240 V circuit on two legs, or a 120 V circuit with its neutral.

    Args:
        current_a: Current. [A]
        resistance_ohm_per_m: Of one conductor at its temperature. [ohm/m]
        length_m: Length, one way. [m]

    Returns:
        Voltage drop there and back. [V]

    Raises:
        OutOfRange: A quantity is negative or absurdly large.

    Valid for:
        Unity power factor, or conductors up to about 1/0 AWG where the reactance is
        small beside the resistance; else `run_drop`. A three-wire circuit with
        balanced legs drops half of this on each leg to neutral.

    Source:
        teaching-voltage-drop, two-wire circuit: 2 x length x ohms per foot x amperes

    Checked by:
        voltage-drop-16awg-100ft, test_drop_and_loss_by_hand

    Example:
        >>> voltage_drop_two_wire(current_a=80.0, resistance_ohm_per_m=0.0008,
        ...     length_m=20.0)
        2.56
    """
    _require_run(current_a, resistance_ohm_per_m, length_m)
    return 2 * current_a * resistance_ohm_per_m * length_m


def loss_two_wire(
    *, current_a: float, resistance_ohm_per_m: float, length_m: float
) -> float:
    """Heat made in a two-wire circuit whose conductors are alike.

    P = 2 I^2 R L.

    Args:
        current_a: Current. [A]
        resistance_ohm_per_m: Of one conductor at its temperature. [ohm/m]
        length_m: Length, one way. [m]

    Returns:
        Loss in both conductors. [W]

    Raises:
        OutOfRange: A quantity is negative or absurdly large.

    Valid for:
        Any power factor; resistance at the conductor's temperature.

    Source:
        electric-circuits-2017, Joule's law (from memory)

    Checked by:
        test_drop_and_loss_by_hand, test_loss_is_drop_times_current

    Example:
        >>> loss_two_wire(current_a=50.0, resistance_ohm_per_m=0.001, length_m=20.0)
        100.0
    """
    _require_run(current_a, resistance_ohm_per_m, length_m)
    return 2 * current_a * current_a * resistance_ohm_per_m * length_m


def energy_lost_per_year(
    *, loss_w: float, hours_per_day: float, days_per_year: float = 365.0
) -> float:
    """Energy that a loss costs in a year.

    Args:
        loss_w: Loss while the load is on. [W]
        hours_per_day: Hours a day at that loss. [h]
        days_per_year: Days a year. [-]

    Returns:
        Energy. [kWh]

    Raises:
        OutOfRange: Hours outside 0 to 24, days outside 0 to 366, or a negative loss.

    Valid for:
        A loss that does not change while it lasts.

    Source:
        electric-circuits-2017, energy is power times time (from memory)

    Checked by:
        test_energy_lost_in_a_year_by_hand

    Example:
        >>> energy_lost_per_year(loss_w=400.0, hours_per_day=5.0)
        730.0
    """
    require_between("the loss", loss_w, 0.0, 1e6, "W")
    require_between("the hours per day", hours_per_day, 0.0, 24.0, "h")
    require_between("the days per year", days_per_year, 0.0, 366.0, "days")
    return loss_w * hours_per_day * days_per_year / 1000


def effective_impedance(
    *, resistance_ohm: float, reactance_ohm: float, power_factor: float
) -> float:
    """Impedance that, times the current, gives the drop of voltage to first order.

    Z_e = R cos(phi) + X sin(phi), the load lagging.

    Args:
        resistance_ohm: Resistance. [ohm]
        reactance_ohm: Reactance. [ohm]
        power_factor: Cosine of the lag, 0 to 1. [-]

    Returns:
        Effective impedance. [ohm]

    Raises:
        OutOfRange: The power factor is outside 0 to 1, or an impedance negative.

    Valid for:
        Drops of up to about 10 %; the exact form is `receiving_voltage`.

    Source:
        ufc-3-520-01, B-2.1; nfpa70-2023, Chapter 9 Table 9, note 2

    Checked by:
        test_effective_impedance_by_hand,
        test_the_exact_voltage_agrees_with_the_effective_impedance

    Example:
        >>> round(effective_impedance(resistance_ohm=0.3, reactance_ohm=0.04,
        ...     power_factor=0.8), 6)
        0.264
    """
    sine = _sine(power_factor)
    require_between("the resistance", resistance_ohm, 0.0, 1e6, "ohm")
    require_between("the reactance", reactance_ohm, 0.0, 1e6, "ohm")
    return resistance_ohm * power_factor + reactance_ohm * sine


def receiving_voltage(
    *,
    supply_v: float,
    current_a: float,
    resistance_ohm: float,
    reactance_ohm: float = 0.0,
    power_factor: float = 1.0,
) -> float:
    """Voltage at a load that draws a given current through an impedance, exactly.

    V = sqrt(V_s^2 - (I (X cos phi - R sin phi))^2) - I (R cos phi + X sin phi), with
    phi the lag of the current behind the load's own voltage.

    Args:
        supply_v: Voltage at the supply end. [V]
        current_a: Current. [A]
        resistance_ohm: Resistance there and back. [ohm]
        reactance_ohm: Reactance there and back. [ohm]
        power_factor: Cosine of the lag, 0 to 1. [-]

    Returns:
        Voltage at the load. [V]

    Raises:
        OutOfRange: The current is more than the impedance lets through, or a quantity
            is outside its range.

    Valid for:
        One impedance between an ideal supply and one load.

    Source:
        electric-circuits-2017, phasor diagram of a short line (from memory)

    Checked by:
        test_the_exact_voltage_agrees_with_phasors

    Example:
        >>> receiving_voltage(supply_v=240.0, current_a=80.0, resistance_ohm=0.05)
        236.0
    """
    sine = _sine(power_factor)
    require_between("the supply voltage", supply_v, 1e-3, 1e5, "V")
    require_between("the current", current_a, 0.0, 1e5, "A")
    require_between("the resistance", resistance_ohm, 0.0, 1e6, "ohm")
    require_between("the reactance", reactance_ohm, 0.0, 1e6, "ohm")
    across_v = current_a * (reactance_ohm * power_factor - resistance_ohm * sine)
    along_v = current_a * (resistance_ohm * power_factor + reactance_ohm * sine)
    if not every(supply_v * supply_v - across_v * across_v > along_v * along_v):
        raise OutOfRange(
            "the current is more than the impedance lets through from this supply; "
            "accepted: currents that leave some voltage at the load"
        )
    rest_v: float = (supply_v * supply_v - across_v * across_v) ** 0.5
    return rest_v - along_v


def run_drop(
    *,
    sections: Iterable[RunSection],
    current_a: float,
    supply_v: float,
    power_factor: float = 1.0,
) -> RunDrop:
    """Voltage drop and loss along a run of several sections.

    The sum is exact (phasors); the voltage of a section is that across its own loop.

    Args:
        sections: Sections in the order of the run; at least one. [-]
        current_a: Current of the load. [A]
        supply_v: Voltage where the run begins. [V]
        power_factor: Cosine of the load's lag, 0 to 1. [-]

    Returns:
        Drop, voltage at the load, and each section's share. [-]

    Raises:
        InputError: There is no section, or a section is given a negative quantity.
        OutOfRange: The current is more than the run lets through.

    Valid for:
        Two-wire circuits (240 V, or 120 V with a full-size neutral).

    Source:
        electric-circuits-2017, Ohm's law in phasors (from memory)

    Checked by:
        test_sections_add_up_to_the_run, test_a_run_agrees_with_the_network

    Example:
        >>> attic = RunSection("attic", 7.0, 0.00055)
        >>> garage = RunSection("garage", 16.0, 0.00050)
        >>> drop = run_drop(sections=(attic, garage), current_a=80.0, supply_v=240.0)
        >>> round(drop.drop_v, 3), round(drop.loss_w, 2)
        (1.896, 151.68)
    """
    run = tuple(sections)
    _require_sections(run)
    loops = tuple(section.loop_ohm for section in run)
    loop_ohm = sum(loops)
    load_v = receiving_voltage(
        supply_v=supply_v,
        current_a=current_a,
        resistance_ohm=loop_ohm.real,
        reactance_ohm=loop_ohm.imag,
        power_factor=power_factor,
    )
    drop_v = supply_v - load_v
    return RunDrop(
        drop_v,
        drop_v / supply_v,
        load_v,
        tuple(current_a * abs(loop) for loop in loops),
        tuple(current_a**2 * loop.real for loop in loops),
    )


def voltage_step(
    *,
    line_v: float,
    current_a: float,
    source_ohm: float,
    source_reactance_ohm: float = 0.0,
    power_factor: float = 1.0,
) -> float:
    """Step of voltage, as a fraction, when a load starts: what lights show as a dip.

    The drop over the loop impedance up to the point watched, over the voltage before.

    Args:
        line_v: Voltage before the step, between the load's conductors. [V]
        current_a: Current that starts; an inrush may be several times the rated. [A]
        source_ohm: Loop resistance up to the point watched. [ohm]
        source_reactance_ohm: Loop reactance up to the point watched. [ohm]
        power_factor: Cosine of the starting current's lag, 0 to 1. [-]

    Returns:
        Step as a fraction of the voltage before. [-]

    Raises:
        OutOfRange: A quantity is outside its range.

    Valid for:
        One step; how often it may come is for a flicker limit (IEEE 1453) to say.
        The same fraction is seen on each leg to neutral when a 240 V load starts.

    Source:
        teaching-flicker, example of a motor on a shared feeder

    Checked by:
        step-of-a-5-hp-motor

    Example:
        >>> round(voltage_step(line_v=240.0, current_a=80.0, source_ohm=0.06), 6)
        0.02
    """
    after_v = receiving_voltage(
        supply_v=line_v,
        current_a=current_a,
        resistance_ohm=source_ohm,
        reactance_ohm=source_reactance_ohm,
        power_factor=power_factor,
    )
    return (line_v - after_v) / line_v


def _sine(power_factor: float) -> float:
    require_between("the power factor", power_factor, 0.0, 1.0, "")
    sine: float = (1 - power_factor * power_factor) ** 0.5
    return sine


def _require_run(
    current_a: float, resistance_ohm_per_m: float, length_m: float
) -> None:
    require_between("the current", current_a, 0.0, 1e5, "A")
    require_between("the resistance", resistance_ohm_per_m, 0.0, 100.0, "ohm/m")
    require_between("the length", length_m, 0.0, 1e5, "m")


def _require_sections(run: tuple[RunSection, ...]) -> None:
    faults = []
    if not run:
        faults.append(Fault("sections", "none", "at least one section"))
    for section in run:
        given = {
            "length_m": section.length_m,
            "resistance_ohm_per_m": section.resistance_ohm_per_m,
            "reactance_ohm_per_m": section.reactance_ohm_per_m,
            "joints_ohm": section.joints_ohm,
        }
        faults.extend(
            Fault(f"section {section.section_id}.{name}", f"{number:g}", "0 to 100000")
            for name, number in given.items()
            if not 0 <= number <= 1e5
        )
    if faults:
        raise InputError(*faults)
