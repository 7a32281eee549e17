"""Steady temperature of conductors in raceway or cable, in air or in earth.

The heat of the conductors leaves through one chain: insulation, air gap (raceway) or
jacket (cable), wall, then surface to air or earth. Written from the outside inwards,
each link is explicit: a surface temperature gives the heat, the heat gives every
temperature further in. One unknown is left, and it is found by halving a bracket;
nothing is iterated forward, because near the limit that runs away.

Ambient is the air that the run really passes through: for an attic, the attic's air.
Diameters and resistances come in as plain numbers, so no rule book is needed here.
All functions also take numpy arrays of one shape (see `elementwise`); conductors of
different material need separate calls.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

from lugbook.errors import OutOfRange
from lugbook.physics.elementwise import bisect, every, log, require_between, where
from lugbook.physics.materials import constant, published_row

__all__ = [
    "AirGap",
    "Cable",
    "ConductorHeating",
    "InAir",
    "InEarth",
    "InsulatedConductor",
    "Raceway",
    "ShortFormAmpacity",
    "air_gap",
    "alternating_current_factor",
    "ampacity_of_conductors",
    "cable_air_resistance",
    "duct_gap_resistance",
    "earth_mutual_resistance",
    "earth_resistance",
    "heating_of_conductors",
    "insulated_length_current_fraction",
    "insulated_length_heating",
    "insulated_length_rise",
    "insulation_conductance",
    "load_loss_factor",
    "metal_raceway",
    "plastic_raceway",
    "resistance_per_m",
    "short_form_ampacity",
]

Material = Literal["copper", "aluminum"]
Surface = Literal[
    "clear", "clipped", "trefoil-clear", "trefoil-clipped", "three-touching-clear"
]

_FOOT_M = 0.3048
_INCH_M = 0.0254

# Beyond this circle a daily cycle of heat is not felt (Neher-McGrath, 8.3 inches).
_CYCLE_CIRCLE_M = 8.3 * _INCH_M

# Neher-McGrath's factors for one to four conductors; five and more are the diameter
# of the smallest circle around equal circles (geometry).
_GROUP_FACTORS = (1.0, 1.65, 2.15, 2.50, 2.701, 3.0, 3.0, 3.304, 3.613)

# The tabulated constants were fitted to surfaces up to roughly 100 °C; 150 °C is where
# this package stops answering instead of extrapolating.
_CEILING_C = 150.0
_AMBIENT_LOW_C, _AMBIENT_HIGH_C = -40.0, 90.0


@dataclass(frozen=True, slots=True)
class InsulatedConductor:
    """One loaded conductor, as bare numbers.

    Args:
        diameter_m: Diameter of the metal. [m]
        outside_diameter_m: Diameter over the insulation. [m]
        resistance_75c_ohm_per_m: Resistance at 75 °C. [ohm/m]
        material: "copper" or "aluminum". [-]
        insulation_k_m_per_w: Thermal resistivity of the insulation. [K m/W]
        ac_factor: Alternating over direct current resistance. [-]
    """

    diameter_m: float
    outside_diameter_m: float
    resistance_75c_ohm_per_m: float
    material: Material = "copper"
    insulation_k_m_per_w: float = 6.5
    ac_factor: float = 1.0

    def __post_init__(self) -> None:
        """Refuse what cannot be a conductor."""
        require_between(
            "Conductor diameter", self.diameter_m, 0.0005, 0.05, "m",
            "Give the diameter of the metal in metres.",
        )  # fmt: skip
        require_between(
            "Insulation over conductor diameter",
            self.outside_diameter_m / self.diameter_m, 1.0, 5.0, "times",
            "Give the diameter over the insulation in metres.",
        )  # fmt: skip
        require_between(
            "Conductor resistance", self.resistance_75c_ohm_per_m, 1e-5, 0.1, "ohm/m"
        )
        require_between(
            "Insulation resistivity", self.insulation_k_m_per_w, 0.5, 12.0, "K m/W"
        )
        require_between("AC over DC resistance", self.ac_factor, 1.0, 2.0, "")


@dataclass(frozen=True, slots=True)
class AirGap:
    """Air between conductors and raceway, IEC form in metres.

    Resistance for the whole heat: u / (1 + (v + y Tm) D), with D the diameter of the
    conductor group and Tm the mean temperature of the gap in °C.

    Args:
        u_k_m_per_w: Constant U. [K m/W]
        v_per_m: Constant V. [1/m]
        y_per_m_k: Constant Y. [1/(m K)]
    """

    u_k_m_per_w: float
    v_per_m: float
    y_per_m_k: float


@dataclass(frozen=True, slots=True)
class Raceway:
    """A round raceway with its thermal constants.

    Args:
        inside_diameter_m: Inside diameter. [m]
        outside_diameter_m: Outside diameter. [m]
        wall_k_m_per_w: Thermal resistivity of the wall. [K m/W]
        emissivity: Emissivity of the outside surface. [-]
        gap: Constants of the air gap inside. [-]
    """

    inside_diameter_m: float
    outside_diameter_m: float
    wall_k_m_per_w: float
    emissivity: float
    gap: AirGap

    def __post_init__(self) -> None:
        """Refuse what cannot be a raceway."""
        require_between(
            "Raceway inside diameter", self.inside_diameter_m, 0.008, 0.3, "m"
        )
        require_between(
            "Raceway outside over inside diameter",
            self.outside_diameter_m / self.inside_diameter_m, 1.0, 1.6, "times",
        )  # fmt: skip
        require_between("Raceway emissivity", self.emissivity, 0.05, 1.0, "")
        require_between(
            "Raceway wall resistivity", self.wall_k_m_per_w, 0.0, 12.0, "K m/W"
        )


@dataclass(frozen=True, slots=True)
class Cable:
    """A jacketed cable, treated as round; filler counts as jacket.

    Args:
        outside_diameter_m: Outside diameter. For a flat cable, give perimeter/π. [m]
        jacket_thickness_m: Thickness of the jacket. [m]
        jacket_k_m_per_w: Thermal resistivity of the jacket. [K m/W]
    """

    outside_diameter_m: float
    jacket_thickness_m: float = 0.0
    jacket_k_m_per_w: float = 6.5

    def __post_init__(self) -> None:
        """Refuse what cannot be a cable."""
        require_between("Cable diameter", self.outside_diameter_m, 0.002, 0.15, "m")
        require_between(
            "Jacket thickness over cable diameter",
            self.jacket_thickness_m / self.outside_diameter_m, 0.0, 0.4, "",
        )  # fmt: skip


@dataclass(frozen=True, slots=True)
class InAir:
    """Still air, no sun.

    Args:
        surface_resistance_factor: Multiplies the resistance from a raceway's surface
            to the air; 1 in the open, 2.9 (two loaded conductors) or 2.3 (three)
            inside an insulated wall. [-]
        mounting: How a cable is held; a raceway ignores it. [-]
    """

    surface_resistance_factor: float = 1.0
    mounting: Surface = "clear"

    def __post_init__(self) -> None:
        """Refuse a factor that no wall has."""
        require_between(
            "Surface resistance factor", self.surface_resistance_factor, 1.0, 5.0, ""
        )


@dataclass(frozen=True, slots=True)
class InEarth:
    """Buried, alone, in uniform earth.

    Args:
        depth_m: Depth to the centre of the raceway or cable. [m]
        earth_k_m_per_w: Thermal resistivity of the earth. [K m/W]
        loss_factor: Mean loss over the day divided by the loss at peak. [-]
    """

    depth_m: float
    earth_k_m_per_w: float = 1.2
    loss_factor: float = 1.0

    def __post_init__(self) -> None:
        """Refuse what the formula was not made for."""
        require_between("Depth", self.depth_m, 0.1, 3.0, "m")
        require_between("Earth resistivity", self.earth_k_m_per_w, 0.3, 4.0, "K m/W")
        require_between("Loss factor", self.loss_factor, 0.0, 1.0, "")


@dataclass(frozen=True, slots=True)
class ConductorHeating:
    """A steady state, from the conductor outwards.

    Args:
        current_a: Current in each loaded conductor. [A]
        ambient_c: Temperature of the air or earth around. [°C]
        surface_c: Outside surface of raceway or cable. [°C]
        inside_wall_c: Inside wall of the raceway or jacket. [°C]
        insulation_c: Surface of the conductor insulation. [°C]
        conductor_c: Conductor. [°C]
        heat_w_per_m: Heat of all loaded conductors together. [W/m]
        resistance_ohm_per_m: Resistance of one conductor at its temperature. [ohm/m]
    """

    current_a: float
    ambient_c: float
    surface_c: float
    inside_wall_c: float
    insulation_c: float
    conductor_c: float
    heat_w_per_m: float
    resistance_ohm_per_m: float


@dataclass(frozen=True, slots=True)
class ShortFormAmpacity:
    """The hand calculation with every intermediate resistance.

    Args:
        insulation_k_m_per_w: Conductor insulation, per conductor. [K m/W]
        gap_k_m_per_w: Air gap, per conductor. [K m/W]
        wall_k_m_per_w: Raceway wall, per conductor. [K m/W]
        surface_k_m_per_w: Raceway surface to air, per conductor. [K m/W]
        ampacity_a: Current that holds the conductor at its limit. [A]
    """

    insulation_k_m_per_w: float
    gap_k_m_per_w: float
    wall_k_m_per_w: float
    surface_k_m_per_w: float
    ampacity_a: float


def air_gap(name: str) -> AirGap:
    """Published constants of the air gap inside a kind of raceway.

    Args:
        name: Row of the gap table in `materials.toml`, such as "metal-raceway". [-]

    Returns:
        The constants in metres. [-]

    Raises:
        KeyError: No such row.

    Valid for:
        Groups of one to nine conductors in a round raceway at a mean gap temperature
        of 0 to 120 °C. The old fibre-duct constants are 13 % too low for plastic
        raceway against two published ampacity tables; `plastic_raceway` does not use
        them.

    Source:
        neher-mcgrath-1957, eq. (41) and Table VII
        iec-60287-2-1, Table 4

    Checked by:
        test_neher_mcgrath_and_iec_constants_are_the_same_physics
        test_cigre_880_plastic_duct_gap

    Example:
        >>> round(air_gap("metal-raceway").u_k_m_per_w, 3)
        5.182
    """
    row = published_row("gap", name)
    if row["form"] == "iec":
        return AirGap(row["u"], row["v"] * 100.0, row["y"] * 100.0)
    return AirGap(row["a"] * _FOOT_M, row["b"] / _INCH_M, row["c"] / _INCH_M)


def metal_raceway(
    *, inside_diameter_m: float, outside_diameter_m: float, emissivity: float = 0.95
) -> Raceway:
    """Metal raceway with the published constants.

    Args:
        inside_diameter_m: Inside diameter. [m]
        outside_diameter_m: Outside diameter. [m]
        emissivity: 0.95 painted or weathered, 0.2 to 0.4 new and bright. [-]

    Returns:
        The raceway. [-]

    Raises:
        OutOfRange: Diameters or emissivity that no raceway has.

    Valid for:
        Round steel or aluminum raceway; the wall's own resistance is negligible.

    Source:
        neher-mcgrath-1957, eq. (40) to (42)

    Checked by:
        test_copper_75c_column_of_the_ampacity_table_set_up_a
        test_iec_method_b1_two_loaded

    Example:
        >>> metal_raceway(inside_diameter_m=0.0266,
        ...     outside_diameter_m=0.0295).emissivity
        0.95
    """
    return Raceway(
        inside_diameter_m,
        outside_diameter_m,
        constant("metal-raceway-wall-resistivity").value,
        emissivity,
        air_gap("metal-raceway"),
    )


def plastic_raceway(
    *, inside_diameter_m: float, outside_diameter_m: float, emissivity: float = 0.95
) -> Raceway:
    """Plastic raceway: the metal gap constants and a wall that resists heat.

    Args:
        inside_diameter_m: Inside diameter. [m]
        outside_diameter_m: Outside diameter. [m]
        emissivity: Emissivity of the surface. [-]

    Returns:
        The raceway. [-]

    Raises:
        OutOfRange: Diameters or emissivity that no raceway has.

    Valid for:
        Round PVC raceway. Errs hot: about 4 % less current than the code's table.

    Source:
        neher-mcgrath-1957, eq. (40) to (42)
        iec-60287-2-1, Table 1 for the wall

    Checked by:
        test_plastic_raceway_runs_hotter_inside_and_cooler_outside

    Example:
        >>> plastic_raceway(inside_diameter_m=0.0263,
        ...     outside_diameter_m=0.0334).wall_k_m_per_w
        6.0
    """
    return Raceway(
        inside_diameter_m,
        outside_diameter_m,
        constant("plastic-raceway-wall-resistivity").value,
        emissivity,
        air_gap("metal-raceway"),
    )


def resistance_per_m(
    *, resistance_75c_ohm_per_m: float, conductor_c: float, material: Material
) -> float:
    """Resistance of a conductor at its temperature.

    Straight line through the temperature at which it extrapolates to zero.

    Args:
        resistance_75c_ohm_per_m: Resistance at 75 °C. [ohm/m]
        conductor_c: Temperature of the conductor. [°C]
        material: "copper" or "aluminum". [-]

    Returns:
        Resistance at that temperature. [ohm/m]

    Raises:
        OutOfRange: Temperature outside -40 to 300 °C.

    Valid for:
        Annealed copper and electrical aluminum, -40 to 300 °C.

    Source:
        iec-60287-1-1, Table 1
        neher-mcgrath-1957, eq. (10)

    Checked by:
        resistance-copper-75-to-20c
        resistance-aluminum-75-to-20c

    Example:
        >>> round(resistance_per_m(resistance_75c_ohm_per_m=1e-3, conductor_c=20.0,
        ...     material="copper") * 1e3, 4)
        0.8223
    """
    require_between("Conductor temperature", conductor_c, -40.0, 300.0, "°C")
    zero_c = constant(f"{material}-inferred-zero").value
    return resistance_75c_ohm_per_m * (zero_c + conductor_c) / (zero_c + 75.0)


def alternating_current_factor(
    *,
    resistance_ohm_per_m: float,
    diameter_m: float,
    spacing_m: float,
    conductor_count: Literal[2, 3] = 2,
    frequency_hz: float = 60.0,
) -> float:
    """Alternating over direct current resistance: skin and proximity effect.

    Args:
        resistance_ohm_per_m: Direct current resistance at temperature. [ohm/m]
        diameter_m: Diameter of the metal. [m]
        spacing_m: Distance between the axes of neighbours. [m]
        conductor_count: Two, or three in trefoil. [-]
        frequency_hz: Supply frequency. [Hz]

    Returns:
        Ratio, 1 or more. [-]

    Raises:
        OutOfRange: Conductor so thick or so close that the series does not hold.

    Valid for:
        Round stranded conductors with x up to 2.8, outside magnetic raceway; a steel
        raceway adds a little on conductors of 4/0 AWG and larger.

    Source:
        iec-60287-1-1, clause 2.1

    Checked by:
        test_skin_and_proximity_are_small_up_to_1_0_awg

    Example:
        >>> round(alternating_current_factor(resistance_ohm_per_m=0.8e-3,
        ...     diameter_m=0.0066, spacing_m=0.0088), 4)
        1.0005
    """
    require_between("Spacing over diameter", spacing_m / diameter_m, 1.0, 100.0, "")
    x_squared = 8e-7 * math.pi * frequency_hz / resistance_ohm_per_m
    require_between("Skin effect argument x", x_squared**0.5, 0.0, 2.8, "")
    skin = x_squared**2 / (192.0 + 0.8 * x_squared**2)
    ratio_squared = (diameter_m / spacing_m) ** 2
    if conductor_count == 2:
        return 1.0 + skin + 2.9 * skin * ratio_squared
    proximity = skin * ratio_squared * (0.312 * ratio_squared + 1.18 / (skin + 0.27))
    return 1.0 + skin + proximity


def cable_air_resistance(
    *, outside_diameter_m: float, surface_rise_k: float, mounting: Surface = "clear"
) -> float:
    """Thermal resistance from a cable's surface to still air.

    Args:
        outside_diameter_m: Outside diameter of the cable. [m]
        surface_rise_k: Surface above ambient. [K]
        mounting: How the cable is held. [-]

    Returns:
        Resistance for the whole heat of the cable. [K m/W]

    Raises:
        OutOfRange: Rise not above zero, or a diameter outside 0.002 to 0.15 m.

    Valid for:
        Dark cable surfaces, no sun, diameters 0.002 to 0.15 m.

    Source:
        iec-60287-2-1, clause 2.2.1.1 and Table 2

    Checked by:
        test_two_unrelated_formulas_agree_on_a_pipe_in_air

    Example:
        >>> round(cable_air_resistance(outside_diameter_m=0.0295,
        ...     surface_rise_k=10.0), 3)
        1.068
    """
    require_between("Cable diameter", outside_diameter_m, 0.002, 0.15, "m")
    require_between("Surface rise", surface_rise_k, 1e-6, 150.0, "K")
    row = published_row("surface", mounting)
    coefficient = row["z"] / outside_diameter_m ** row["g"] + row["e"]
    film: float = coefficient * surface_rise_k**0.25
    return 1.0 / (math.pi * outside_diameter_m * film)


def earth_resistance(
    *,
    outside_diameter_m: float,
    depth_m: float,
    earth_k_m_per_w: float,
    loss_factor: float = 1.0,
) -> float:
    """Thermal resistance from a buried surface to the earth's surface.

    Daily cycles do not reach beyond a circle of 8.3 inches; outside it only the mean
    of the losses counts.

    Args:
        outside_diameter_m: Outside diameter of raceway or cable. [m]
        depth_m: Depth to its centre. [m]
        earth_k_m_per_w: Thermal resistivity of the earth. [K m/W]
        loss_factor: Mean loss over the day divided by the loss at peak. [-]

    Returns:
        Resistance against the heat at peak. [K m/W]

    Raises:
        OutOfRange: Not deeper than one radius, or a loss factor outside 0 to 1.

    Valid for:
        One raceway or cable up to 0.21 m across, uniform earth, daily cycle.

    Source:
        iec-60287-2-1, clause 2.2.2 (isolated buried cable)
        neher-mcgrath-1957, eq. (44) and (46) (load factor)

    Checked by:
        cigre-880-earth-self

    Example:
        >>> round(earth_resistance(outside_diameter_m=0.0334, depth_m=0.6,
        ...     earth_k_m_per_w=1.2), 3)
        0.816
    """
    ratio = 2.0 * depth_m / outside_diameter_m
    require_between("Twice the depth over diameter", ratio, 2.0, 1e4, "")
    require_between("Loss factor", loss_factor, 0.0, 1.0, "")
    require_between("Diameter", outside_diameter_m, 0.002, _CYCLE_CIRCLE_M, "m")
    whole = log(ratio + (ratio * ratio - 1.0) ** 0.5)
    near = log(_CYCLE_CIRCLE_M / outside_diameter_m)
    return (
        earth_k_m_per_w
        / (2.0 * math.pi)
        * (near + loss_factor * (whole - near))
    )  # fmt: skip


def earth_mutual_resistance(
    *, depth_m: float, spacing_m: float, earth_k_m_per_w: float
) -> float:
    """Rise that one buried run causes in a neighbour at the same depth, per watt.

    Args:
        depth_m: Depth to the centres. [m]
        spacing_m: Distance between the centres. [m]
        earth_k_m_per_w: Thermal resistivity of the earth. [K m/W]

    Returns:
        Rise in one divided by heat of the other. [K m/W]

    Raises:
        OutOfRange: Spacing not above zero.

    Valid for:
        Uniform earth with a surface at one temperature (method of images).

    Source:
        iec-60287-2-1, clause 2.2.3 (group of buried cables)

    Checked by:
        cigre-880-earth-mutual

    Example:
        >>> round(earth_mutual_resistance(depth_m=1.0, spacing_m=0.14,
        ...     earth_k_m_per_w=1.0), 4)
        0.4236
    """
    require_between("Spacing", spacing_m, 1e-3, 100.0, "m")
    image_m = (4.0 * depth_m * depth_m + spacing_m * spacing_m) ** 0.5
    return earth_k_m_per_w / (2.0 * math.pi) * log(image_m / spacing_m)


def load_loss_factor(*, load_factor: float) -> float:
    """Loss factor of a daily load: mean loss over peak loss.

    Args:
        load_factor: Mean current over the day divided by peak current. [-]

    Returns:
        Loss factor. [-]

    Raises:
        OutOfRange: Load factor outside 0 to 1.

    Valid for:
        Daily cycles of ordinary shape. A load that is only on or off has a loss factor
        equal to its load factor, which is larger; use that for charging when erring
        hot is wanted.

    Source:
        neher-mcgrath-1957, eq. (3)

    Checked by:
        test_loss_factor_of_a_steady_load_is_one

    Example:
        >>> round(load_loss_factor(load_factor=8 / 24), 3)
        0.178
    """
    require_between("Load factor", load_factor, 0.0, 1.0, "")
    return 0.3 * load_factor + 0.7 * load_factor * load_factor


def duct_gap_resistance(
    *, gap: AirGap, group_diameter_m: float, gap_mean_c: float
) -> float:
    """Thermal resistance of the air between conductors and raceway.

    Args:
        gap: Constants of the kind of raceway. [-]
        group_diameter_m: Diameter of the conductor group. [m]
        gap_mean_c: Mean temperature of the air in the gap. [°C]

    Returns:
        Resistance for the whole heat. [K m/W]

    Raises:
        OutOfRange: Group outside 0.002 to 0.15 m or mean outside -40 to 150 °C.

    Valid for:
        Groups of 0.002 to 0.15 m; the constants were fitted on cables of 25 to 100 mm
        and are checked against ampacity tables down to 14 AWG.

    Source:
        iec-60287-2-1, clause 2.2.7.1
        neher-mcgrath-1957, eq. (41)

    Checked by:
        test_cigre_880_plastic_duct_gap

    Example:
        >>> round(duct_gap_resistance(gap=air_gap("plastic-duct"),
        ...     group_diameter_m=0.0755, gap_mean_c=70.0), 4)
        0.3521
    """
    require_between("Conductor group diameter", group_diameter_m, 0.002, 0.15, "m")
    require_between("Mean temperature of the gap", gap_mean_c, -40.0, 150.0, "°C")
    slope = gap.v_per_m + gap.y_per_m_k * gap_mean_c
    return gap.u_k_m_per_w / (1.0 + slope * group_diameter_m)


def _raceway_air_heat(raceway: Raceway, air: InAir, ambient_c: float) -> _HeatAt:
    """Heat leaving a raceway's surface, eq. (42) turned round."""
    diameter_in = raceway.outside_diameter_m / _INCH_M
    scale = diameter_in / (15.6 * _FOOT_M * air.surface_resistance_factor)
    convection = diameter_in**-0.25
    radiation = 1.6 * raceway.emissivity

    def heat(surface_c: float) -> float:
        rise_k = surface_c - ambient_c
        mean_c = 0.5 * (surface_c + ambient_c)
        film: float = convection * rise_k**0.25 + radiation * (1.0 + 0.0167 * mean_c)
        return scale * rise_k * film

    return heat


def _cable_air_heat(cable: Cable, air: InAir, ambient_c: float) -> _HeatAt:
    row = published_row("surface", air.mounting)
    diameter_m = cable.outside_diameter_m
    film = row["z"] / diameter_m ** row["g"] + row["e"]
    scale = math.pi * diameter_m * film / air.surface_resistance_factor

    def heat(surface_c: float) -> float:
        heat_w_per_m: float = scale * (surface_c - ambient_c) ** 1.25
        return heat_w_per_m

    return heat


def _earth_heat(outside_diameter_m: float, earth: InEarth, ambient_c: float) -> _HeatAt:
    resistance = earth_resistance(
        outside_diameter_m=outside_diameter_m,
        depth_m=earth.depth_m,
        earth_k_m_per_w=earth.earth_k_m_per_w,
        loss_factor=earth.loss_factor,
    )
    return lambda surface_c: (surface_c - ambient_c) / resistance


_HeatAt = Callable[[float], float]


def _heat_from_surface(
    enclosure: Raceway | Cable, surroundings: InAir | InEarth, ambient_c: float
) -> _HeatAt:
    if isinstance(surroundings, InEarth):
        return _earth_heat(enclosure.outside_diameter_m, surroundings, ambient_c)
    if isinstance(enclosure, Raceway):
        return _raceway_air_heat(enclosure, surroundings, ambient_c)
    return _cable_air_heat(enclosure, surroundings, ambient_c)


@dataclass(frozen=True, slots=True)
class _Inside:
    """What lies between the conductors and the outside surface."""

    wall_k_m_per_w: float
    gap: AirGap | None
    group_diameter_m: float
    insulation_k_m_per_w: float
    loaded_count: int

    def wall_c(self, surface_c: float, heat_w_per_m: float) -> float:
        return surface_c + heat_w_per_m * self.wall_k_m_per_w

    def insulation_c(self, wall_c: float, heat_w_per_m: float) -> float:
        if self.gap is None:
            return wall_c
        # The gap's resistance depends on its mean temperature wall + x/2, so that
        # x (1 + (v + y (wall + x/2)) D) = u W: a quadratic with one positive root.
        gap, diameter_m = self.gap, self.group_diameter_m
        curve = 0.5 * gap.y_per_m_k * diameter_m
        slope = 1.0 + (gap.v_per_m + gap.y_per_m_k * wall_c) * diameter_m
        drive = gap.u_k_m_per_w * heat_w_per_m
        root: float = (slope * slope + 4.0 * curve * drive) ** 0.5
        return wall_c + 2.0 * drive / (slope + root)

    def conductor_c(self, insulation_c: float, heat_w_per_m: float) -> float:
        per_conductor = heat_w_per_m / self.loaded_count
        return insulation_c + per_conductor * self.insulation_k_m_per_w

    def conductor_from_surface_c(self, surface_c: float, heat_w_per_m: float) -> float:
        wall_c = self.wall_c(surface_c, heat_w_per_m)
        insulation_c = self.insulation_c(wall_c, heat_w_per_m)
        return self.conductor_c(insulation_c, heat_w_per_m)


def _inside(
    conductor: InsulatedConductor,
    enclosure: Raceway | Cable,
    loaded_count: int,
    group_count: int,
) -> _Inside:
    if not 1 <= loaded_count <= group_count <= len(_GROUP_FACTORS):
        raise OutOfRange(
            f"{loaded_count} loaded of {group_count} conductors; accepted: 1 to "
            f"{len(_GROUP_FACTORS)} conductors, of which at least one is loaded. "
            "Count the equipment grounding conductor in the group."
        )
    insulation = conductor.insulation_k_m_per_w / (2.0 * math.pi) * log(
        conductor.outside_diameter_m / conductor.diameter_m
    )  # fmt: skip
    group_m = _GROUP_FACTORS[group_count - 1] * conductor.outside_diameter_m
    if isinstance(enclosure, Raceway):
        if not every(group_m < enclosure.inside_diameter_m):
            raise OutOfRange(
                f"{group_count} conductors form a group that does not fit into the "
                "raceway; choose a larger raceway or smaller conductors."
            )
        wall = enclosure.wall_k_m_per_w / (2.0 * math.pi) * log(
            enclosure.outside_diameter_m / enclosure.inside_diameter_m
        )  # fmt: skip
        return _Inside(wall, enclosure.gap, group_m, insulation, loaded_count)
    outside_m = enclosure.outside_diameter_m
    inside_m = outside_m - 2.0 * enclosure.jacket_thickness_m
    # Filler between cores and jacket counts as jacket; a flat cable has none.
    inner_m = where(group_m < inside_m, group_m, inside_m)
    jacket = enclosure.jacket_k_m_per_w / (2.0 * math.pi) * log(outside_m / inner_m)
    return _Inside(jacket, None, group_m, insulation, loaded_count)


def _state(
    conductor: InsulatedConductor,
    inside: _Inside,
    heat_at: _HeatAt,
    ambient_c: float,
    surface_c: float,
    current_a: float | None,
) -> ConductorHeating:
    heat = heat_at(surface_c)
    wall_c = inside.wall_c(surface_c, heat)
    insulation_c = inside.insulation_c(wall_c, heat)
    conductor_c = inside.conductor_c(insulation_c, heat)
    resistance = conductor.ac_factor * resistance_per_m(
        resistance_75c_ohm_per_m=conductor.resistance_75c_ohm_per_m,
        conductor_c=conductor_c,
        material=conductor.material,
    )
    if current_a is None:
        current_a = (heat / (inside.loaded_count * resistance)) ** 0.5
    return ConductorHeating(
        current_a,
        ambient_c,
        surface_c,
        wall_c,
        insulation_c,
        conductor_c,
        heat,
        resistance,
    )


def heating_of_conductors(
    *,
    conductor: InsulatedConductor,
    enclosure: Raceway | Cable,
    surroundings: InAir | InEarth,
    loaded_count: int,
    group_count: int,
    current_a: float,
    ambient_c: float,
    ceiling_c: float = _CEILING_C,
) -> ConductorHeating:
    """Steady temperatures of a run that carries a current.

    Args:
        conductor: One of the equal loaded conductors. [-]
        enclosure: Raceway or cable. [-]
        surroundings: Air or earth. [-]
        loaded_count: Conductors that carry the current. [-]
        group_count: All conductors in the enclosure, the equipment grounding conductor
            included. [-]
        current_a: Current in each loaded conductor. [A]
        ambient_c: Temperature of the air or earth that the run passes through. [°C]
        ceiling_c: Refuse when the conductor would settle above this. [°C]

    Returns:
        The steady state, from the conductor outwards. [-]

    Raises:
        OutOfRange: No steady state under the ceiling, or input outside its range.

    Valid for:
        One circuit of equal conductors, still air without sun, ambient -40 to 90 °C,
        conductor up to 150 °C. In arrays, one element above the ceiling refuses all:
        first keep those with a current under `ampacity_of_conductors` at the ceiling.

    Source:
        neher-mcgrath-1957, eq. (38) to (44)
        iec-60287-2-1, clauses 2.1 and 2.2

    Checked by:
        test_copper_75c_column_of_the_ampacity_table_set_up_a
        test_iec_method_b1_two_loaded
        test_heat_in_equals_heat_out

    Example:
        >>> run = heating_of_conductors(
        ...     conductor=InsulatedConductor(0.0066, 0.0089, 0.804e-3),
        ...     enclosure=metal_raceway(inside_diameter_m=0.0266,
        ...         outside_diameter_m=0.0295),
        ...     surroundings=InAir(), loaded_count=2, group_count=3,
        ...     current_a=80.0, ambient_c=30.0)
        >>> round(run.conductor_c), round(run.surface_c)
        (51, 40)
    """
    _require_ambient(ambient_c)
    require_between("Ceiling", ceiling_c, 0.0, _CEILING_C, "°C")
    if not every(ambient_c < ceiling_c):
        raise OutOfRange(
            "The ambient is not below the ceiling; give a ceiling above the ambient."
        )
    require_between("Current", current_a, 0.0, 2000.0, "A")
    inside = _inside(conductor, enclosure, loaded_count, group_count)
    heat_at = _heat_from_surface(enclosure, surroundings, ambient_c)
    zero_c = constant(f"{conductor.material}-inferred-zero").value
    made_per_k = (
        loaded_count * conductor.ac_factor * conductor.resistance_75c_ohm_per_m
    ) / (zero_c + 75.0) * current_a * current_a  # fmt: skip

    def excess(surface_c: float) -> float:
        leaving = heat_at(surface_c)
        conductor_c = inside.conductor_from_surface_c(surface_c, leaving)
        return leaving - made_per_k * (zero_c + conductor_c)

    # Leaving heat grows faster than made heat (it is convex in temperature), so a
    # surplus at the ceiling means exactly one crossing below it.
    if not every(excess(ceiling_c) >= 0.0):
        raise _no_steady_state(ceiling_c)
    surface_c = bisect(excess, ambient_c, ceiling_c)
    # The surface is below the ceiling; the conductor, further in, must be too.
    conductor_c = inside.conductor_from_surface_c(surface_c, heat_at(surface_c))
    if not every(conductor_c <= ceiling_c):
        raise _no_steady_state(ceiling_c)
    return _state(conductor, inside, heat_at, ambient_c, surface_c, current_a)


def _require_ambient(ambient_c: float) -> None:
    require_between("Ambient", ambient_c, _AMBIENT_LOW_C, _AMBIENT_HIGH_C, "°C")


def _no_steady_state(ceiling_c: float) -> OutOfRange:
    return OutOfRange(
        f"At this current the conductor has no steady state under {ceiling_c:g} °C; "
        "accepted: a current that settles below it. Lower the current, use a larger "
        "conductor or a cooler run."
    )


def ampacity_of_conductors(
    *,
    conductor: InsulatedConductor,
    enclosure: Raceway | Cable,
    surroundings: InAir | InEarth,
    loaded_count: int,
    group_count: int,
    conductor_c: float,
    ambient_c: float,
) -> ConductorHeating:
    """Current that settles the conductor at a given temperature, from physics.

    This is a forecast, not the ampacity that a code allows.

    Args:
        conductor: One of the equal loaded conductors. [-]
        enclosure: Raceway or cable. [-]
        surroundings: Air or earth. [-]
        loaded_count: Conductors that carry the current. [-]
        group_count: All conductors in the enclosure, the equipment grounding conductor
            included. [-]
        conductor_c: Temperature at which the conductor settles. [°C]
        ambient_c: Temperature of the air or earth that the run passes through. [°C]

    Returns:
        The steady state; its `current_a` is the answer. [-]

    Raises:
        OutOfRange: Conductor not above ambient or above 150 °C, or other input outside
            its range.

    Valid for:
        As `heating_of_conductors`.

    Source:
        neher-mcgrath-1957, eq. (9) and (38) to (44)

    Checked by:
        test_copper_75c_column_of_the_ampacity_table_set_up_a
        test_iec_method_b1_two_loaded
        test_ambient_factors_agree_with_the_code

    Example:
        >>> run = ampacity_of_conductors(
        ...     conductor=InsulatedConductor(0.0066, 0.0089, 0.804e-3),
        ...     enclosure=metal_raceway(inside_diameter_m=0.0266,
        ...         outside_diameter_m=0.0295),
        ...     surroundings=InAir(), loaded_count=3, group_count=3,
        ...     conductor_c=75.0, ambient_c=30.0)
        >>> round(run.current_a)
        96
    """
    _require_ambient(ambient_c)
    require_between("Conductor temperature", conductor_c, -40.0, _CEILING_C, "°C")
    if not every(conductor_c > ambient_c):
        raise OutOfRange(
            "The conductor is not above the ambient, so it can carry nothing; give a "
            "conductor temperature above the ambient."
        )
    inside = _inside(conductor, enclosure, loaded_count, group_count)
    heat_at = _heat_from_surface(enclosure, surroundings, ambient_c)

    def excess(surface_c: float) -> float:
        inner_c = inside.conductor_from_surface_c(surface_c, heat_at(surface_c))
        return inner_c - conductor_c

    surface_c = bisect(excess, ambient_c, conductor_c)
    return _state(conductor, inside, heat_at, ambient_c, surface_c, None)


def short_form_ampacity(
    *,
    conductor_diameter_m: float,
    insulation_diameter_m: float,
    insulation_k_m_per_w: float,
    resistance_ohm_per_m: float,
    raceway_inside_m: float,
    raceway_outside_m: float,
    wall_k_m_per_w: float,
    emissivity: float,
    loaded_count: int,
    conductor_c: float,
    ambient_c: float,
) -> ShortFormAmpacity:
    """Ampacity in metal raceway by the published hand formulas.

    Uses the rounded constants as printed, so that a published worked example can be
    followed line by line; `ampacity_of_conductors` is the better answer.

    Args:
        conductor_diameter_m: Diameter of the metal. [m]
        insulation_diameter_m: Diameter over the insulation. [m]
        insulation_k_m_per_w: Thermal resistivity of the insulation. [K m/W]
        resistance_ohm_per_m: Resistance at the limit, alternating current. [ohm/m]
        raceway_inside_m: Inside diameter of the raceway. [m]
        raceway_outside_m: Outside diameter of the raceway. [m]
        wall_k_m_per_w: Thermal resistivity of the wall. [K m/W]
        emissivity: Emissivity of the raceway. [-]
        loaded_count: Conductors, all loaded. [-]
        conductor_c: Temperature limit of the conductor. [°C]
        ambient_c: Temperature of the air around. [°C]

    Returns:
        Every thermal resistance per conductor, and the ampacity. [-]

    Raises:
        OutOfRange: More than four conductors, or conductor not above ambient.

    Valid for:
        One to four conductors in metal raceway in air, gap near 60 °C.

    Source:
        neher-mcgrath-1957, eq. (9), (38), (40), (41A), (42A)

    Checked by:
        worked-ampacity-2awg-insulation
        worked-ampacity-2awg-gap
        worked-ampacity-2awg-wall
        worked-ampacity-2awg-surface
        worked-ampacity-2awg-ampacity

    Example:
        >>> worked = short_form_ampacity(
        ...     conductor_diameter_m=0.0074168, insulation_diameter_m=0.0097028,
        ...     insulation_k_m_per_w=4.0, resistance_ohm_per_m=6.68687e-4,
        ...     raceway_inside_m=0.0266446, raceway_outside_m=0.0295402,
        ...     wall_k_m_per_w=0.01408, emissivity=0.95, loaded_count=3,
        ...     conductor_c=90.0, ambient_c=30.0)
        >>> round(worked.ampacity_a, 1)
        128.7
    """
    require_between("Loaded conductors", loaded_count, 1, 4, "")
    require_between(
        "Conductor above ambient", conductor_c - ambient_c, 1e-6, 200.0, "K"
    )
    require_between("Resistance", resistance_ohm_per_m, 1e-5, 0.1, "ohm/m")
    ratio = insulation_diameter_m / conductor_diameter_m
    require_between("Insulation over conductor diameter", ratio, 1.0, 5.0, "times")
    row = published_row("gap", "metal-raceway")
    outside_in = raceway_outside_m / _INCH_M
    wall_in = (raceway_outside_m - raceway_inside_m) / 2.0 / _INCH_M
    group_in = _GROUP_FACTORS[loaded_count - 1] * insulation_diameter_m / _INCH_M
    # The printed formulas take resistivity in °C cm/W (100 per K m/W) and give thermal
    # ohm feet (0.3048 K m/W).
    insulation = 0.012 * 100.0 * insulation_k_m_per_w * log(ratio) / math.log(10.0)
    gap = loaded_count * row["short_a"] / (group_in + row["short_b"])
    wall = 0.0104 * 100.0 * wall_k_m_per_w * loaded_count * wall_in
    wall /= outside_in - wall_in
    surface = 9.5 * loaded_count / (1.0 + 1.7 * outside_in * (emissivity + 0.41))
    whole = (insulation + gap + wall + surface) * _FOOT_M
    return ShortFormAmpacity(
        insulation * _FOOT_M,
        gap * _FOOT_M,
        wall * _FOOT_M,
        surface * _FOOT_M,
        ((conductor_c - ambient_c) / (resistance_ohm_per_m * whole)) ** 0.5,
    )


def insulation_conductance(
    *,
    outside_diameter_m: float,
    thickness_m: float,
    conductivity_w_per_m_k: float = 0.04,
) -> float:
    """Heat that leaves a cable through thermal insulation around it, per kelvin.

    Args:
        outside_diameter_m: Diameter of the cable or raceway. [m]
        thickness_m: Insulation on each side. [m]
        conductivity_w_per_m_k: Thermal conductivity of the insulation. [W/(m K)]

    Returns:
        Conductance from the cable to the air outside the insulation. [W/(m K)]

    Raises:
        OutOfRange: Diameter, thickness or conductivity that no building has.

    Valid for:
        Insulation all round, equally thick; its own surface is taken to be at ambient.

    Source:
        Conduction through a hollow cylinder (textbook); the conductivity is common
        practice

    Checked by:
        test_conductance_of_a_shell_with_an_easy_logarithm

    Example:
        >>> round(insulation_conductance(outside_diameter_m=0.01, thickness_m=0.1), 4)
        0.0826
    """
    require_between("Diameter", outside_diameter_m, 0.002, 0.3, "m")
    require_between("Insulation thickness", thickness_m, 0.005, 1.0, "m")
    require_between(
        "Insulation conductivity", conductivity_w_per_m_k, 0.01, 1.0, "W/(m K)"
    )
    ratio = (outside_diameter_m + 2.0 * thickness_m) / outside_diameter_m
    return 2.0 * math.pi * conductivity_w_per_m_k / log(ratio)


def insulated_length_rise(
    *,
    heat_w_per_m: float,
    length_m: float,
    inside_conductance_w_per_m_k: float,
    outside_conductance_w_per_m_k: float,
    axial_conductance_w_m_per_k: float,
) -> float:
    """Rise in the middle of a short insulated length, cooled along the wire.

    The metal is a fin: a long cool run on both sides draws heat out of the middle.

    Args:
        heat_w_per_m: Heat made per metre, the same everywhere. [W/m]
        length_m: Length inside the insulation. [m]
        inside_conductance_w_per_m_k: Conductance to ambient inside. [W/(m K)]
        outside_conductance_w_per_m_k: Conductance to ambient outside. [W/(m K)]
        axial_conductance_w_m_per_k: Conductivity times cross-section of all the metal
            that runs through. [W m/K]

    Returns:
        Highest rise above ambient. [K]

    Raises:
        OutOfRange: Negative heat or length, or a conductance not above zero.

    Valid for:
        The same cable on both sides, long against the fin's own length (about 0.3 m).

    Source:
        Fin of two sections (textbook heat conduction)

    Checked by:
        test_a_very_long_insulated_length_reaches_the_rise_of_insulation_alone
        test_published_factors_for_cable_through_insulation

    Example:
        >>> round(insulated_length_rise(heat_w_per_m=5.0, length_m=0.3,
        ...     inside_conductance_w_per_m_k=0.08, outside_conductance_w_per_m_k=0.35,
        ...     axial_conductance_w_m_per_k=385.0 * 53.34e-6), 1)
        21.9
    """
    require_between("Heat", heat_w_per_m, 0.0, 1e4, "W/m")
    require_between("Insulated length", length_m, 0.0, 1e3, "m")
    for what, given in (
        ("Conductance inside", inside_conductance_w_per_m_k),
        ("Conductance outside", outside_conductance_w_per_m_k),
        ("Axial conductance", axial_conductance_w_m_per_k),
    ):
        require_between(what, given, 1e-6, 1e3, "")
    inside_per_m = (inside_conductance_w_per_m_k / axial_conductance_w_m_per_k) ** 0.5
    outside_per_m = (outside_conductance_w_per_m_k / axial_conductance_w_m_per_k) ** 0.5
    inside_k = heat_w_per_m / inside_conductance_w_per_m_k
    outside_k = heat_w_per_m / outside_conductance_w_per_m_k
    # e^(m L / 2) is taken from below so that a kilometre does not overflow.
    decay: float = math.e ** (-inside_per_m * length_m / 2.0)
    ratio = inside_per_m / outside_per_m
    sum_of_both: float = 0.5 * ((1.0 + decay**2) + ratio * (1.0 - decay**2))
    return inside_k - (inside_k - outside_k) * decay / sum_of_both


def insulated_length_current_fraction(
    *,
    length_m: float,
    inside_conductance_w_per_m_k: float,
    outside_conductance_w_per_m_k: float,
    axial_conductance_w_m_per_k: float,
) -> float:
    """Current for the same conductor temperature, as a share of that in free air.

    Args:
        length_m: Length inside the insulation. [m]
        inside_conductance_w_per_m_k: Conductance to ambient inside. [W/(m K)]
        outside_conductance_w_per_m_k: Conductance to ambient outside. [W/(m K)]
        axial_conductance_w_m_per_k: Conductivity times cross-section. [W m/K]

    Returns:
        Share of the free-air current, 0 to 1. [-]

    Raises:
        OutOfRange: As `insulated_length_rise`.

    Valid for:
        As `insulated_length_rise`.

    Source:
        As `insulated_length_rise`

    Checked by:
        test_published_factors_for_cable_through_insulation

    Example:
        >>> round(insulated_length_current_fraction(length_m=0.1,
        ...     inside_conductance_w_per_m_k=0.082, outside_conductance_w_per_m_k=0.31,
        ...     axial_conductance_w_m_per_k=385.0 * 5e-6), 2)
        0.81
    """
    rise_per_watt = insulated_length_rise(
        heat_w_per_m=1.0,
        length_m=length_m,
        inside_conductance_w_per_m_k=inside_conductance_w_per_m_k,
        outside_conductance_w_per_m_k=outside_conductance_w_per_m_k,
        axial_conductance_w_m_per_k=axial_conductance_w_m_per_k,
    )
    fraction: float = (1.0 / (outside_conductance_w_per_m_k * rise_per_watt)) ** 0.5
    return fraction


def insulated_length_heating(
    *,
    outside: ConductorHeating,
    conductor: InsulatedConductor,
    length_m: float,
    inside_conductance_w_per_m_k: float,
    axial_conductance_w_m_per_k: float,
    ceiling_c: float = _CEILING_C,
) -> float:
    """Hottest conductor temperature where a run passes through thermal insulation.

    Args:
        outside: The same run at the same current before it enters the insulation. [-]
        conductor: One of the equal loaded conductors. [-]
        length_m: Length inside the insulation. [m]
        inside_conductance_w_per_m_k: Conductance from the run's surface to ambient,
            as `insulation_conductance` gives it. [W/(m K)]
        axial_conductance_w_m_per_k: Conductivity times cross-section of all the metal
            that runs through. [W m/K]
        ceiling_c: Refuse when the conductor would settle above this. [°C]

    Returns:
        Conductor temperature in the middle of the insulated length. [°C]

    Raises:
        OutOfRange: No steady state under the ceiling, or input outside its range.

    Valid for:
        As `insulated_length_rise`. The heat is taken at the hottest temperature over
        the whole length, so the answer errs hot.

    Source:
        As `insulated_length_rise`; inner resistances as in `heating_of_conductors`

    Checked by:
        test_no_insulated_length_changes_nothing
        test_an_insulated_length_with_no_steady_state_is_refused

    Example:
        >>> wire = InsulatedConductor(0.0066, 0.0089, 0.804e-3)
        >>> run = heating_of_conductors(conductor=wire,
        ...     enclosure=metal_raceway(inside_diameter_m=0.0266,
        ...         outside_diameter_m=0.0295),
        ...     surroundings=InAir(), loaded_count=2, group_count=3,
        ...     current_a=80.0, ambient_c=30.0)
        >>> round(insulated_length_heating(outside=run, conductor=wire,
        ...     length_m=0.2, inside_conductance_w_per_m_k=0.123,
        ...     axial_conductance_w_m_per_k=0.0205))
        61
    """
    require_between("Current outside the insulation", outside.current_a, 1e-6, 2e3, "A")
    require_between("Ceiling", ceiling_c, 0.0, _CEILING_C, "°C")
    ambient_c = outside.ambient_c
    inner_k_m_per_w = (outside.conductor_c - outside.surface_c) / outside.heat_w_per_m
    outside_conductance = outside.heat_w_per_m / (outside.conductor_c - ambient_c)
    inside_conductance = 1.0 / (1.0 / inside_conductance_w_per_m_k + inner_k_m_per_w)
    rise_per_watt = insulated_length_rise(
        heat_w_per_m=1.0,
        length_m=length_m,
        inside_conductance_w_per_m_k=inside_conductance,
        outside_conductance_w_per_m_k=outside_conductance,
        axial_conductance_w_m_per_k=axial_conductance_w_m_per_k,
    )
    zero_c = constant(f"{conductor.material}-inferred-zero").value
    # Heat is linear in temperature, so the balance has one closed solution; the share
    # says how much of it the feedback makes, and at 1 there is no steady state.
    made_per_k = outside.heat_w_per_m / (zero_c + outside.conductor_c)
    share = made_per_k * rise_per_watt
    if not every(share < 1.0):
        raise _no_steady_state(ceiling_c)
    conductor_c = (ambient_c + share * zero_c) / (1.0 - share)
    if not every(conductor_c <= ceiling_c):
        raise _no_steady_state(ceiling_c)
    return conductor_c
