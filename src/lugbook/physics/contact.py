"""Contacts: constriction, force from torque, heat at a terminal, signs of a bad joint.

A joint's resistance comes from the few spots where metal really touches. Force decides
how large they are; torque decides the force, with wide scatter. That is why a joint
tightened to half its torque is barely warmer on its first day, and why that proves
little about its tenth year.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from lugbook.errors import OutOfRange
from lugbook.physics.elementwise import exp, log, require_between
from lugbook.physics.materials import constant

__all__ = [
    "JointSigns",
    "PriorRange",
    "TerminalPlace",
    "ageing_factor",
    "clamping_force",
    "cluster_resistance",
    "contact_temperature",
    "contact_voltage",
    "fin_length",
    "fin_resistance",
    "fin_rise",
    "joint_signs",
    "resistance_ratio_from_force",
    "resistance_ratio_from_torque",
    "spot_resistance",
    "wire_conductance",
]

_KELVIN = 273.15


@dataclass(frozen=True, slots=True)
class PriorRange:
    """A quantity that is only known as a range.

    Args:
        low: 5 % quantile. [as the quantity]
        median: 50 % quantile. [as the quantity]
        high: 95 % quantile. [as the quantity]
    """

    low: float
    median: float
    high: float

    def __post_init__(self) -> None:
        """Refuse a range that is out of order."""
        if not self.low <= self.median <= self.high:
            raise OutOfRange(
                f"Range {self.low:g}, {self.median:g}, {self.high:g} is out of order; "
                "accepted: low, median, high, rising."
            )


@dataclass(frozen=True, slots=True)
class TerminalPlace:
    """How a kind of terminal warms and how large a sound joint's resistance is.

    Args:
        k_per_extra_w: Rise per extra watt made in the joint. [K/W]
        good_ohm: Resistance of a sound joint. [ohm]
    """

    k_per_extra_w: PriorRange
    good_ohm: PriorRange

    @classmethod
    def breaker_lug(cls) -> TerminalPlace:
        """Lug of a breaker: simulator range; resistance common practice, no source."""
        return cls(PriorRange(5.0, 5.35, 5.7), PriorRange(20e-6, 45e-6, 60e-6))

    @classmethod
    def charger_terminal(cls) -> TerminalPlace:
        """Terminal block of a charger: simulator range; resistance common practice."""
        return cls(PriorRange(2.5, 2.75, 3.0), PriorRange(20e-6, 45e-6, 60e-6))


@dataclass(frozen=True, slots=True)
class JointSigns:
    """What meters would show of a joint.

    Args:
        resistance_ohm: Resistance of the joint when cool. [ohm]
        extra_w: Watts beyond a sound joint, hot. [W]
        extra_rise_k: Rise beyond a sound joint; the ends take the sound joint's
            resistance and the kelvins per watt at their ends together. [K]
        millivolts: Voltage across the whole joint, hot. [mV]
        extra_millivolts: Of which beyond a sound joint. [mV]
    """

    resistance_ohm: float
    extra_w: float
    extra_rise_k: PriorRange
    millivolts: float
    extra_millivolts: float


def spot_resistance(
    *, radius_m: float, resistivity_ohm_m: float | None = None
) -> float:
    """Constriction resistance of one round spot.

    Args:
        radius_m: Radius of the spot. [m]
        resistivity_ohm_m: Electric resistivity; None takes copper. [ohm m]

    Returns:
        Resistance of both sides together. [ohm]

    Raises:
        OutOfRange: Radius outside 1e-8 to 0.01 m.

    Valid for:
        One clean spot, small against the bodies, both bodies of one metal.

    Source:
        holm-1967, constriction of a circular contact

    Checked by:
        test_a_spot_of_one_millimetre_by_hand

    Example:
        >>> round(spot_resistance(radius_m=1e-4) * 1e6, 1)
        87.5
    """
    require_between("Radius of the spot", radius_m, 1e-8, 0.01, "m")
    if resistivity_ohm_m is None:
        resistivity_ohm_m = constant("copper-electric-resistivity").value
    require_between("Electric resistivity", resistivity_ohm_m, 1e-9, 1e-5, "ohm m")
    return resistivity_ohm_m / (2.0 * radius_m)


def cluster_resistance(
    *,
    force_n: float,
    film_factor: float = 1.0,
    resistivity_ohm_m: float | None = None,
    hardness_pa: float | None = None,
) -> float:
    """Constriction resistance of clean contact under a force.

    The force deforms the peaks until area times hardness carries it; the touching area
    is taken as one round spot: R = sqrt(rho^2 pi H / (4 F)).

    Args:
        force_n: Force that presses the parts together. [N]
        film_factor: Hardness multiplier for films, 1 when clean. [-]
        resistivity_ohm_m: Electric resistivity; None takes copper. [ohm m]
        hardness_pa: Contact hardness; None takes copper. [Pa]

    Returns:
        Contact resistance. [ohm]

    Raises:
        OutOfRange: Force outside 0.1 N to 100 kN, or materials that no metal has.

    Valid for:
        Metal on metal; a strand-to-lug joint has more spots, more film and more
        scatter than this clean lower bound.

    Source:
        slade-contacts, chapter 1 (contact resistance and hardness)
        holm-1967

    Checked by:
        test_clean_copper_under_a_force_by_hand

    Example:
        >>> round(cluster_resistance(force_n=1000.0) * 1e6, 1)
        13.9
    """
    require_between("Force", force_n, 0.1, 1e5, "N")
    require_between("Film factor", film_factor, 1.0, 1000.0, "")
    if resistivity_ohm_m is None:
        resistivity_ohm_m = constant("copper-electric-resistivity").value
    if hardness_pa is None:
        hardness_pa = constant("copper-hardness").value
    require_between("Electric resistivity", resistivity_ohm_m, 1e-9, 1e-5, "ohm m")
    require_between("Hardness", hardness_pa, 1e7, 1e11, "Pa")
    area_ratio = film_factor * math.pi * hardness_pa / (4.0 * force_n)
    resistance: float = resistivity_ohm_m * area_ratio**0.5
    return resistance


def clamping_force(
    *,
    torque_n_m: float,
    screw_diameter_m: float,
    nut_factor: float = 0.2,
    scatter_fraction: float = 0.3,
) -> PriorRange:
    """Force of a screw from its torque, with scatter.

    Torque goes mostly into friction, which is why equal torques give unequal forces.

    Args:
        torque_n_m: Torque applied. [N m]
        screw_diameter_m: Nominal diameter of the screw. [m]
        nut_factor: Torque over force times diameter: 0.2 dry, 0.12 to 0.15
            lubricated. [-]
        scatter_fraction: Half-width of the force about its middle. [-]

    Returns:
        Force, low to high. [N]

    Raises:
        OutOfRange: Torque, diameter or factor that no terminal screw has.

    Valid for:
        Steel or brass screws of 2 to 25 mm; not for a screw that bottoms out.

    Source:
        bickford-bolted-joints, short form of the torque-tension relation; the scatter
        is common practice, no source

    Checked by:
        test_force_of_a_five_sixteenths_screw_by_hand

    Example:
        >>> force = clamping_force(torque_n_m=5.65, screw_diameter_m=0.0079375)
        >>> [round(each, -2) for each in (force.low, force.median, force.high)]
        [2500.0, 3600.0, 4600.0]
    """
    require_between("Torque", torque_n_m, 0.01, 200.0, "N·m")
    require_between("Screw diameter", screw_diameter_m, 0.002, 0.025, "m")
    require_between("Nut factor", nut_factor, 0.05, 0.5, "")
    require_between("Scatter", scatter_fraction, 0.0, 0.9, "")
    force_n = torque_n_m / (nut_factor * screw_diameter_m)
    return PriorRange(
        force_n * (1.0 - scatter_fraction), force_n, force_n * (1.0 + scatter_fraction)
    )


def resistance_ratio_from_force(*, force_ratio: float) -> PriorRange:
    """How much a joint's resistance grows when its force falls.

    R is proportional to F^-m: m is 0.5 for clean metal, up to 1 for many-spot or
    filmed joints; 0.75 is the middle.

    Args:
        force_ratio: Force over proper force. [-]

    Returns:
        Resistance over proper resistance. [-]

    Raises:
        OutOfRange: Ratio outside 0.01 to 1.

    Valid for:
        A fresh, still joint. It says nothing about creep, corrosion or cycling.

    Source:
        slade-contacts, chapter 1 (exponent of force)

    Checked by:
        test_half_the_force_gives_less_than_twice_the_resistance

    Example:
        >>> half = resistance_ratio_from_force(force_ratio=0.5)
        >>> round(half.low, 2), round(half.median, 2), round(half.high, 2)
        (1.41, 1.68, 2.0)
    """
    require_between("Force over proper force", force_ratio, 0.01, 1.0, "")
    return PriorRange(force_ratio**-0.5, force_ratio**-0.75, force_ratio**-1.0)


def resistance_ratio_from_torque(
    *, torque_n_m: float, label_torque_n_m: float, scatter_fraction: float = 0.3
) -> PriorRange:
    """How much a fresh joint resists at a torque, over the middle at its label torque.

    Force follows torque with scatter, resistance follows force with an exponent of 0.5
    to 1; the ends of the range take both at their worst together.

    Args:
        torque_n_m: Torque applied. [N m]
        label_torque_n_m: Torque on the part's label. [N m]
        scatter_fraction: Half-width of the force about its middle. [-]

    Returns:
        Resistance over that of the middle joint at label torque. [-]

    Raises:
        OutOfRange: Torque outside 5 to 150 % of the label, or scatter outside 0 to 0.9.

    Valid for:
        A fresh, still joint; over 150 % strands and threads are damaged instead.

    Source:
        slade-contacts, chapter 1 (exponent of force); the scatter is common practice,
        no source

    Checked by:
        test_half_torque_overlaps_full_torque_on_the_first_day

    Example:
        >>> half = resistance_ratio_from_torque(torque_n_m=2.5, label_torque_n_m=5.0)
        >>> round(half.low, 2), round(half.median, 2), round(half.high, 2)
        (1.24, 1.68, 2.86)
    """
    require_between("Label torque", label_torque_n_m, 0.01, 200.0, "N·m")
    share = torque_n_m / label_torque_n_m
    require_between("Torque over label torque", share, 0.05, 1.5, "")
    require_between("Scatter", scatter_fraction, 0.0, 0.9, "")
    weak, strong = share * (1.0 - scatter_fraction), share * (1.0 + scatter_fraction)
    candidates = (weak**-0.5, weak**-1.0, strong**-0.5, strong**-1.0)
    return PriorRange(min(candidates), share**-0.75, max(candidates))


def joint_signs(
    *,
    place: TerminalPlace,
    resistance_times: float,
    current_a: float,
    terminal_c: float = 60.0,
) -> JointSigns:
    """Kelvins and millivolts that a joint of so many times its resistance shows.

    The extra heat warms the joint, and a warmer joint resists more; that loop has a
    closed solution. The joint's resistance is taken to grow with temperature like
    copper, referred to the terminal's own temperature.

    Args:
        place: Kind of terminal. [-]
        resistance_times: Resistance over that of a sound joint. [-]
        current_a: Current through the joint. [A]
        terminal_c: Temperature of the terminal if the joint were sound. [°C]

    Returns:
        Watts, kelvins and millivolts, beyond a sound joint and in all. [-]

    Raises:
        OutOfRange: The joint would run away; that is a burning joint, not a reading.

    Valid for:
        Steady state, 1 to 50 times, up to 200 A. Rise holds to about 50 K.

    Source:
        Heat balance with a linear resistance (worked); K/W and sound resistance as in
        `TerminalPlace` (simulator and common practice)

    Checked by:
        test_a_tenfold_joint_at_80_a_by_hand
        test_a_threefold_joint_hides_from_a_thermometer

    Example:
        >>> signs = joint_signs(place=TerminalPlace.breaker_lug(), resistance_times=10,
        ...     current_a=80.0)
        >>> round(signs.extra_rise_k.median), round(signs.extra_millivolts)
        (15, 34)
    """
    require_between("Times proper resistance", resistance_times, 1.0, 50.0, "")
    require_between("Current", current_a, 0.1, 200.0, "A")
    require_between("Terminal temperature", terminal_c, -40.0, 120.0, "°C")
    alpha = 1.0 / (constant("copper-inferred-zero").value + terminal_c)

    def rise(k_per_w: float, sound_ohm: float) -> float:
        # Only the extra heat is counted; the loop acts on the whole joint's heat.
        sound_w = sound_ohm * current_a**2
        loop = k_per_w * alpha * resistance_times * sound_w
        if not loop < 0.5:
            raise OutOfRange(
                f"A joint of {resistance_times:g} times its resistance at "
                f"{current_a:g} A heats without end; accepted: less of either."
            )
        return k_per_w * (resistance_times - 1.0) * sound_w / (1.0 - loop)

    kelvins, ohms = place.k_per_extra_w, place.good_ohm
    rises = PriorRange(
        rise(kelvins.low, ohms.low),
        rise(kelvins.median, ohms.median),
        rise(kelvins.high, ohms.high),
    )
    good_ohm = ohms.median
    hot_ohm = resistance_times * good_ohm * (1.0 + alpha * rises.median)
    millivolts = 1e3 * hot_ohm * current_a
    return JointSigns(
        resistance_ohm=resistance_times * good_ohm,
        extra_w=rises.median / place.k_per_extra_w.median,
        extra_rise_k=rises,
        millivolts=millivolts,
        extra_millivolts=millivolts - 1e3 * good_ohm * current_a,
    )


def contact_temperature(*, voltage_v: float, bulk_c: float) -> float:
    """Hottest temperature inside a contact spot, from the voltage across the joint.

    Heat and current leave a spot by the same path, so voltage alone tells the peak:
    T^2 = T0^2 + V^2 / (4 L), in kelvin.

    Args:
        voltage_v: Voltage across the contact. [V]
        bulk_c: Temperature of the metal on both sides. [°C]

    Returns:
        Peak temperature of the spot. [°C]

    Raises:
        OutOfRange: Voltage above 0.5 V or bulk outside -40 to 300 °C.

    Valid for:
        Clean metal spots, steady state, up to melting. A voltage measured between
        points outside the joint includes the lug itself and errs hot.

    Source:
        holm-1967, voltage-temperature relation

    Checked by:
        softening-voltage-copper
        melting-voltage-copper

    Example:
        >>> round(contact_temperature(voltage_v=0.03, bulk_c=20.0), 1)
        35.3
    """
    require_between("Contact voltage", voltage_v, 0.0, 0.5, "V")
    require_between("Bulk temperature", bulk_c, -40.0, 300.0, "°C")
    lorenz = constant("lorenz").value
    peak_k: float = ((bulk_c + _KELVIN) ** 2 + voltage_v**2 / (4.0 * lorenz)) ** 0.5
    return peak_k - _KELVIN


def contact_voltage(*, peak_c: float, bulk_c: float) -> float:
    """Voltage across a contact whose hottest spot has a given temperature.

    Args:
        peak_c: Peak temperature of the spot. [°C]
        bulk_c: Temperature of the metal on both sides. [°C]

    Returns:
        Voltage. [V]

    Raises:
        OutOfRange: Peak below bulk, or above 1300 °C.

    Valid for:
        As `contact_temperature`.

    Source:
        holm-1967, voltage-temperature relation

    Checked by:
        test_contact_voltage_and_temperature_undo_each_other

    Example:
        >>> round(contact_voltage(peak_c=1083.0, bulk_c=20.0), 2)
        0.41
    """
    require_between("Bulk temperature", bulk_c, -40.0, 300.0, "°C")
    require_between("Peak above bulk", peak_c - bulk_c, 0.0, 1340.0, "K")
    require_between("Peak temperature", peak_c, -40.0, 1300.0, "°C")
    difference = (peak_c + _KELVIN) ** 2 - (bulk_c + _KELVIN) ** 2
    voltage: float = (4.0 * constant("lorenz").value * difference) ** 0.5
    return voltage


def fin_length(
    *, conductance_w_per_m_k: float, axial_conductance_w_m_per_k: float
) -> float:
    """Distance along a wire over which a warm terminal's effect falls to 37 %.

    Args:
        conductance_w_per_m_k: From the wire to ambient. [W/(m K)]
        axial_conductance_w_m_per_k: Conductivity times cross-section. [W m/K]

    Returns:
        The fin's length. [m]

    Raises:
        OutOfRange: A conductance not above zero.

    Valid for:
        A long wire of one size in one surrounding.

    Source:
        Fin (textbook heat conduction)

    Checked by:
        test_fin_of_a_3_awg_wire_by_hand

    Example:
        >>> round(fin_length(conductance_w_per_m_k=0.27,
        ...     axial_conductance_w_m_per_k=385.0 * 26.67e-6), 3)
        0.195
    """
    require_between("Conductance", conductance_w_per_m_k, 1e-4, 1e3, "W/(m K)")
    require_between(
        "Axial conductance", axial_conductance_w_m_per_k, 1e-6, 1e3, "W m/K"
    )
    length: float = (axial_conductance_w_m_per_k / conductance_w_per_m_k) ** 0.5
    return length


def fin_resistance(
    *, conductance_w_per_m_k: float, axial_conductance_w_m_per_k: float
) -> float:
    """Rise of a wire's end per watt that enters it there.

    Args:
        conductance_w_per_m_k: From the wire to ambient. [W/(m K)]
        axial_conductance_w_m_per_k: Conductivity times cross-section. [W m/K]

    Returns:
        Resistance of the wire as a cooling fin. [K/W]

    Raises:
        OutOfRange: A conductance not above zero.

    Valid for:
        A wire longer than about three fin lengths, cooled by nothing else; in a panel
        the breaker and the other side share the heat, so less is seen.

    Source:
        Fin (textbook heat conduction)

    Checked by:
        test_fin_of_a_3_awg_wire_by_hand

    Example:
        >>> round(fin_resistance(conductance_w_per_m_k=0.27,
        ...     axial_conductance_w_m_per_k=385.0 * 26.67e-6), 1)
        19.0
    """
    require_between("Conductance", conductance_w_per_m_k, 1e-4, 1e3, "W/(m K)")
    require_between(
        "Axial conductance", axial_conductance_w_m_per_k, 1e-6, 1e3, "W m/K"
    )
    product = conductance_w_per_m_k * axial_conductance_w_m_per_k
    resistance: float = product**-0.5
    return resistance


def fin_rise(*, terminal_rise_k: float, distance_m: float, length_m: float) -> float:
    """Share of a terminal's extra rise that is left some way along the wire.

    Args:
        terminal_rise_k: Rise of the terminal above the wire far away. [K]
        distance_m: Distance from the terminal along the wire. [m]
        length_m: The fin's length, as `fin_length` gives it. [m]

    Returns:
        Rise of the wire above the wire far away. [K]

    Raises:
        OutOfRange: Negative distance, or a fin length outside 0.01 to 10 m.

    Valid for:
        As `fin_resistance`.

    Source:
        Fin (textbook heat conduction)

    Checked by:
        test_a_terminal_is_forgotten_after_half_a_metre

    Example:
        >>> round(fin_rise(terminal_rise_k=20.0, distance_m=0.5, length_m=0.195), 1)
        1.5
    """
    require_between("Distance", distance_m, 0.0, 100.0, "m")
    require_between("Fin length", length_m, 0.01, 10.0, "m")
    require_between("Terminal rise", terminal_rise_k, -200.0, 1000.0, "K")
    return terminal_rise_k * exp(-distance_m / length_m)


def wire_conductance(
    *,
    conductor_diameter_m: float,
    outside_diameter_m: float,
    insulation_k_m_per_w: float = 6.5,
    film_w_per_m2_k: float = 10.5,
) -> float:
    """Heat that a single insulated wire in air gives off, per metre and kelvin.

    Args:
        conductor_diameter_m: Diameter of the metal. [m]
        outside_diameter_m: Diameter over the insulation. [m]
        insulation_k_m_per_w: Thermal resistivity of the insulation. [K m/W]
        film_w_per_m2_k: Heat transfer from surface to air, convection and radiation
            together. [W/(m2 K)]

    Returns:
        Conductance from metal to air. [W/(m K)]

    Raises:
        OutOfRange: Diameters or heat transfer that no wire in air has.

    Valid for:
        One wire by itself in still air inside a panel; 10.5 W/(m2 K) is common practice
        for a surface some 20 K above the air.

    Source:
        Conduction through a hollow cylinder (textbook)

    Checked by:
        test_conductance_of_a_3_awg_wire_by_hand

    Example:
        >>> round(wire_conductance(conductor_diameter_m=0.0066,
        ...     outside_diameter_m=0.00894), 3)
        0.27
    """
    require_between("Conductor diameter", conductor_diameter_m, 0.0005, 0.05, "m")
    ratio = outside_diameter_m / conductor_diameter_m
    require_between("Insulation over conductor diameter", ratio, 1.0, 5.0, "times")
    require_between("Insulation resistivity", insulation_k_m_per_w, 0.5, 12.0, "K m/W")
    require_between("Heat transfer", film_w_per_m2_k, 1.0, 100.0, "W/(m2 K)")
    insulation = insulation_k_m_per_w / (2.0 * math.pi) * log(ratio)
    film = 1.0 / (film_w_per_m2_k * math.pi * outside_diameter_m)
    return 1.0 / (insulation + film)


def ageing_factor(
    *, temperature_c: float, reference_c: float, activation_ev: float = 0.9
) -> float:
    """How much faster something ages at one temperature than at another.

    Args:
        temperature_c: Temperature. [°C]
        reference_c: Temperature with factor 1. [°C]
        activation_ev: Activation energy. [eV]

    Returns:
        Factor of speed. [-]

    Raises:
        OutOfRange: Temperatures outside -40 to 200 °C, energy outside 0.3 to 2 eV.

    Valid for:
        One thermally activated process. With 0.9 eV it doubles about every 9 K near
        75 °C, the "10 degree rule" (common practice, no source).

    Source:
        Arrhenius law (textbook); the activation energy is from memory

    Checked by:
        test_ageing_a_little_more_than_doubles_in_ten_kelvin

    Example:
        >>> round(ageing_factor(temperature_c=85.0, reference_c=75.0), 1)
        2.3
    """
    require_between("Temperature", temperature_c, -40.0, 200.0, "°C")
    require_between("Reference temperature", reference_c, -40.0, 200.0, "°C")
    require_between("Activation energy", activation_ev, 0.3, 2.0, "eV")
    inverse = 1.0 / (reference_c + _KELVIN) - 1.0 / (temperature_c + _KELVIN)
    return exp(activation_ev / constant("boltzmann").value * inverse)
