"""How fast a run warms: two nodes, time constants, earth, and the adiabatic limit.

One node is the conductors with their insulation, the other the raceway or the cable's
surface. The equations are linearised about the steady state that the current leads
to, so the end of every curve is exactly the steady answer of `conductor_heating`.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from lugbook.errors import OutOfRange
from lugbook.physics.conductor_heating import (
    Cable,
    ConductorHeating,
    InsulatedConductor,
    Material,
    Raceway,
)
from lugbook.physics.elementwise import exp, log, require_between, where
from lugbook.physics.materials import constant

__all__ = [
    "HeatCapacities",
    "TwoNodeResponse",
    "adiabatic_current",
    "adiabatic_seconds",
    "adiabatic_temperature",
    "earth_step_rise",
    "heat_capacities",
    "two_node_response",
]


@dataclass(frozen=True, slots=True)
class HeatCapacities:
    """Heat stored per metre of run and kelvin.

    Args:
        conductors_j_per_m_k: All conductors with their insulation. [J/(m K)]
        enclosure_j_per_m_k: Raceway, or jacket of the cable. [J/(m K)]
    """

    conductors_j_per_m_k: float
    enclosure_j_per_m_k: float

    def __post_init__(self) -> None:
        """Refuse what stores no heat."""
        require_between(
            "Heat capacity of conductors",
            self.conductors_j_per_m_k,
            1e-3,
            1e6,
            "J/(m K)",
        )
        require_between(
            "Heat capacity of enclosure", self.enclosure_j_per_m_k, 1e-3, 1e6, "J/(m K)"
        )


@dataclass(frozen=True, slots=True)
class TwoNodeResponse:
    """The way from one state to a steady state.

    Args:
        steady: The state that it settles to. [-]
        fast_s: Smaller time constant. [s]
        slow_s: Larger time constant. [s]
        surface_per_conductor_fast: Surface over conductor deviation in the fast mode,
            negative. [-]
        surface_per_conductor_slow: The same in the slow mode, positive. [-]
    """

    steady: ConductorHeating
    fast_s: float
    slow_s: float
    surface_per_conductor_fast: float
    surface_per_conductor_slow: float

    def after(
        self, *, elapsed_s: float, start_conductor_c: float, start_surface_c: float
    ) -> tuple[float, float]:
        """Conductor and surface temperature some time after a state.

        Args:
            elapsed_s: Time since the state. [s]
            start_conductor_c: Conductor at the start. [°C]
            start_surface_c: Surface at the start. [°C]

        Returns:
            Conductor and surface. [°C]

        Raises:
            OutOfRange: Negative time.

        Valid for:
            Constant current and ambient since the start; for a current in steps, call
            once for each step with the last answer as the next start.

        Example:
            >>> from lugbook.physics.conductor_heating import ConductorHeating
            >>> steady = ConductorHeating(1.0, 0.0, 2.0, 2.0, 2.0, 4.0, 2.0, 1.0)
            >>> response = TwoNodeResponse(steady, 10.0, 100.0, -0.5, 0.5)
            >>> response.after(elapsed_s=0.0, start_conductor_c=0.0,
            ...     start_surface_c=0.0)
            (0.0, 0.0)
        """
        require_between("Elapsed time", elapsed_s, 0.0, 1e9, "s")
        conductor_k = start_conductor_c - self.steady.conductor_c
        surface_k = start_surface_c - self.steady.surface_c
        ratio_fast = self.surface_per_conductor_fast
        ratio_slow = self.surface_per_conductor_slow
        fast_k = (ratio_slow * conductor_k - surface_k) / (ratio_slow - ratio_fast)
        slow_k = conductor_k - fast_k
        fast_k = fast_k * exp(-elapsed_s / self.fast_s)
        slow_k = slow_k * exp(-elapsed_s / self.slow_s)
        return (
            self.steady.conductor_c + fast_k + slow_k,
            self.steady.surface_c + ratio_fast * fast_k + ratio_slow * slow_k,
        )

    def seconds_to(self, *, share: float) -> float:
        """Time from cold until the conductor has done a share of its whole rise.

        Args:
            share: Share of the rise, such as 0.632 or 0.95. [-]

        Returns:
            Time since the current was switched on. [s]

        Raises:
            OutOfRange: Share outside 0 to 0.999.

        Valid for:
            Start with everything at ambient.

        Example:
            >>> from lugbook.physics.conductor_heating import ConductorHeating
            >>> steady = ConductorHeating(1.0, 0.0, 2.0, 2.0, 2.0, 4.0, 2.0, 1.0)
            >>> response = TwoNodeResponse(steady, 10.0, 100.0, -0.5, 0.5)
            >>> round(response.seconds_to(share=1 - 1 / 2.718281828))
            100
        """
        require_between("Share of the rise", share, 0.0, 0.999, "")
        ambient_c = self.steady.ambient_c
        wanted_c = ambient_c + share * (self.steady.conductor_c - ambient_c)
        low_s, high_s = 0.0, 40.0 * self.slow_s
        for _ in range(60):
            middle_s = 0.5 * (low_s + high_s)
            conductor_c, _surface_c = self.after(
                elapsed_s=middle_s, start_conductor_c=ambient_c,
                start_surface_c=ambient_c,
            )  # fmt: skip
            below = conductor_c < wanted_c
            low_s = where(below, middle_s, low_s)
            high_s = where(below, high_s, middle_s)
        return 0.5 * (low_s + high_s)


def heat_capacities(
    *,
    conductor: InsulatedConductor,
    enclosure: Raceway | Cable,
    group_count: int,
    raceway_volume_j_per_m3_k: float | None = None,
) -> HeatCapacities:
    """Heat capacities of a run, from its dimensions.

    The metal is taken as 0.9 of a stranded conductor's circle (common practice, no
    source; compact strands fill more).

    Args:
        conductor: One of the equal conductors. [-]
        enclosure: Raceway or cable. [-]
        group_count: All conductors, the equipment grounding conductor included. [-]
        raceway_volume_j_per_m3_k: Volumetric heat capacity of the raceway wall; None
            takes steel for a conducting wall and PVC for a plastic one. [J/(m3 K)]

    Returns:
        Both capacities per metre. [-]

    Raises:
        OutOfRange: A cable without a jacket, which has no second node.

    Valid for:
        Copper or aluminum with plastic insulation; equal conductors.

    Source:
        iec-60949, Table I; iec-60853 for PVC

    Checked by:
        test_heat_capacity_of_a_bare_bar_by_hand

    Example:
        >>> from lugbook.physics.conductor_heating import metal_raceway
        >>> both = heat_capacities(
        ...     conductor=InsulatedConductor(0.0066, 0.0089, 0.804e-3),
        ...     enclosure=metal_raceway(inside_diameter_m=0.0266,
        ...         outside_diameter_m=0.0295), group_count=3)
        >>> round(both.conductors_j_per_m_k), round(both.enclosure_j_per_m_k)
        (457, 486)
    """
    metal_m2 = 0.9 * math.pi / 4.0 * conductor.diameter_m**2
    insulation_m2 = (
        math.pi / 4.0 * (conductor.outside_diameter_m**2 - conductor.diameter_m**2)
    )
    plastic = constant("pvc-heat-capacity").value
    metal = constant(f"{conductor.material}-heat-capacity").value
    conductors = group_count * (metal_m2 * metal + insulation_m2 * plastic)
    outside_m = enclosure.outside_diameter_m
    if isinstance(enclosure, Cable):
        inside_m = outside_m - 2.0 * enclosure.jacket_thickness_m
        wall = plastic
    else:
        inside_m = enclosure.inside_diameter_m
        steel = constant("steel-heat-capacity").value
        conducting = enclosure.wall_k_m_per_w < 0.5
        wall = where(conducting, steel, plastic)
    if raceway_volume_j_per_m3_k is not None:
        wall = raceway_volume_j_per_m3_k
    wall_m2 = math.pi / 4.0 * (outside_m**2 - inside_m**2)
    return HeatCapacities(conductors, wall_m2 * wall)


def two_node_response(
    *,
    steady: ConductorHeating,
    capacities: HeatCapacities,
    material: Material = "copper",
) -> TwoNodeResponse:
    """Time constants and modes of the way to a steady state.

    Conductors make W + W' x (x: deviation, W' because resistance grows), lose
    x1 - x2 over R1 to the enclosure, and the enclosure loses x2 over R2 to ambient.

    Args:
        steady: The steady state, from `heating_of_conductors`. [-]
        capacities: Heat capacities per metre. [-]
        material: Of the conductors. [-]

    Returns:
        Time constants, modes and the way to any moment. [-]

    Raises:
        OutOfRange: A steady state without heat.

    Valid for:
        Runs in air. In earth the earth itself takes days: see `earth_step_rise`. The
        surface's resistance is held at its steady value, so early warming is drawn a
        little too fast in still air (up to about 5 % of the rise).

    Source:
        Two-node heat balance (textbook); heat capacities iec-60949

    Checked by:
        test_equal_nodes_have_golden_time_constants
        test_two_node_curve_follows_step_by_step_integration

    Example:
        >>> steady = ConductorHeating(80.0, 30.0, 39.5, 39.5, 47.6, 51.5, 9.5, 7.4e-4)
        >>> response = two_node_response(steady=steady,
        ...     capacities=HeatCapacities(457.0, 485.0))
        >>> round(response.fast_s / 60), round(response.slow_s / 60)
        (4, 23)
    """
    require_between("Steady heat", steady.heat_w_per_m, 1e-9, 1e5, "W/m")
    inner = (steady.conductor_c - steady.surface_c) / steady.heat_w_per_m
    outer = (steady.surface_c - steady.ambient_c) / steady.heat_w_per_m
    zero_c = constant(f"{material}-inferred-zero").value
    feedback = steady.heat_w_per_m / (zero_c + steady.conductor_c)
    c1, c2 = capacities.conductors_j_per_m_k, capacities.enclosure_j_per_m_k
    # x' = [[-a, b], [c, -d]] x; both eigenvalues are real because b c > 0.
    a, b = (1.0 / inner - feedback) / c1, 1.0 / (inner * c1)
    c, d = 1.0 / (inner * c2), (1.0 / inner + 1.0 / outer) / c2
    root: float = ((a - d) ** 2 + 4.0 * b * c) ** 0.5
    fast, slow = 0.5 * (a + d + root), 0.5 * (a + d - root)
    return TwoNodeResponse(
        steady, 1.0 / fast, 1.0 / slow, (a - fast) / b, (a - slow) / b
    )


_EULER_GAMMA = 0.5772156649015329


def _exponential_integral(argument: float) -> float:
    """Return E1, the exponential integral, to 1e-10 or better.

    Series up to 1, continued fraction above (Abramowitz and Stegun 5.1.11, 5.1.22).
    """
    if argument > 500.0:
        return 0.0
    if argument <= 1.0:
        total, term = -_EULER_GAMMA - math.log(argument), 1.0
        for count in range(1, 30):
            term *= -argument / count
            total -= term / count
        return total
    fraction = 0.0
    for count in range(120, 0, -1):
        fraction = count / (1.0 + count / (argument + fraction))
    return math.exp(-argument) / (argument + fraction)


def earth_step_rise(
    *,
    heat_w_per_m: float,
    elapsed_s: float,
    outside_diameter_m: float,
    depth_m: float,
    earth_k_m_per_w: float = 1.2,
    diffusivity_m2_per_s: float = 5e-7,
) -> float:
    """Rise of a buried surface some time after a steady heat began.

    Args:
        heat_w_per_m: Heat of the run. [W/m]
        elapsed_s: Time since it began. [s]
        outside_diameter_m: Outside diameter of raceway or cable. [m]
        depth_m: Depth to its centre. [m]
        earth_k_m_per_w: Thermal resistivity of the earth. [K m/W]
        diffusivity_m2_per_s: Thermal diffusivity of the earth. [m2/s]

    Returns:
        Rise of the surface above the earth's own temperature. [K]

    Raises:
        OutOfRange: Time not above zero, or geometry outside its range.

    Valid for:
        One run as a line source with its image, uniform earth; plain floats only.

    Source:
        iec-60853, clause on the earth's partial transient

    Checked by:
        test_earth_after_a_long_time_reaches_its_steady_rise
        test_exponential_integral_of_the_handbook

    Example:
        >>> round(earth_step_rise(heat_w_per_m=10.0, elapsed_s=8 * 3600.0,
        ...     outside_diameter_m=0.0334, depth_m=0.6), 1)
        4.5
    """
    require_between("Elapsed time", elapsed_s, 1e-3, 1e12, "s")
    require_between(
        "Depth over radius", 2.0 * depth_m / outside_diameter_m, 2.0, 1e4, ""
    )
    require_between("Earth resistivity", earth_k_m_per_w, 0.3, 4.0, "K m/W")
    require_between("Earth diffusivity", diffusivity_m2_per_s, 1e-7, 2e-6, "m2/s")
    reach_m2 = diffusivity_m2_per_s * elapsed_s
    own = _exponential_integral(outside_diameter_m**2 / (16.0 * reach_m2))
    image = _exponential_integral(depth_m**2 / reach_m2)
    return heat_w_per_m * earth_k_m_per_w / (4.0 * math.pi) * (own - image)


def _adiabatic_constants(material: Material) -> tuple[float, float]:
    return (
        constant(f"{material}-adiabatic").value,
        constant(f"{material}-adiabatic-beta").value,
    )


def _heating_integral(
    start_c: float, end_c: float, material: Material
) -> tuple[float, float]:
    adiabatic, beta_c = _adiabatic_constants(material)
    require_between("Start temperature", start_c, -40.0, 250.0, "°C")
    require_between("End above start", end_c - start_c, 0.0, 1000.0, "K")
    return adiabatic, log((end_c + beta_c) / (start_c + beta_c))


def adiabatic_current(
    *,
    area_mm2: float,
    duration_s: float,
    start_c: float,
    end_c: float,
    material: Material = "copper",
) -> float:
    """Current that brings a conductor from one temperature to another, no heat lost.

    Args:
        area_mm2: Cross-section of the metal. [mm2]
        duration_s: How long it flows. [s]
        start_c: Temperature before. [°C]
        end_c: Temperature after. [°C]
        material: "copper" or "aluminum". [-]

    Returns:
        Current. [A]

    Raises:
        OutOfRange: Duration outside 0.001 to 5 s, or temperatures out of order.

    Valid for:
        Up to 5 s: longer, heat escapes into the insulation and the answer errs low.

    Source:
        iec-60949, eq. (3) and Table I

    Checked by:
        adiabatic-k-copper-pvc-70
        adiabatic-k-copper-xlpe-90
        adiabatic-k-aluminum-xlpe-90

    Example:
        >>> round(adiabatic_current(area_mm2=26.67, duration_s=1.0, start_c=75.0,
        ...     end_c=150.0))
        2808
    """
    require_between("Cross-section", area_mm2, 0.1, 2000.0, "mm2")
    require_between("Duration", duration_s, 0.001, 5.0, "s")
    adiabatic, integral = _heating_integral(start_c, end_c, material)
    current: float = adiabatic * area_mm2 * (integral / duration_s) ** 0.5
    return current


def adiabatic_seconds(
    *,
    area_mm2: float,
    current_a: float,
    start_c: float,
    end_c: float,
    material: Material = "copper",
) -> float:
    """Time in which a current brings a conductor to a temperature, no heat lost.

    Args:
        area_mm2: Cross-section of the metal. [mm2]
        current_a: Current. [A]
        start_c: Temperature before. [°C]
        end_c: Temperature after. [°C]
        material: "copper" or "aluminum". [-]

    Returns:
        Time, at most 5 s. [s]

    Raises:
        OutOfRange: The current needs more than 5 s, or temperatures out of order.

    Valid for:
        As `adiabatic_current`.

    Source:
        iec-60949, eq. (3) and Table I

    Checked by:
        test_adiabatic_time_current_and_temperature_agree

    Example:
        >>> round(adiabatic_seconds(area_mm2=26.67, current_a=5000.0, start_c=75.0,
        ...     end_c=150.0), 3)
        0.315
    """
    require_between("Cross-section", area_mm2, 0.1, 2000.0, "mm2")
    require_between("Current", current_a, 1.0, 1e6, "A")
    adiabatic, integral = _heating_integral(start_c, end_c, material)
    seconds: float = (adiabatic * area_mm2 / current_a) ** 2 * integral
    require_between(
        "Adiabatic time", seconds, 0.0, 5.0, "s",
        "Beyond 5 s heat escapes; use the two-node response.",
    )  # fmt: skip
    return seconds


def adiabatic_temperature(
    *,
    area_mm2: float,
    current_a: float,
    duration_s: float,
    start_c: float,
    material: Material = "copper",
) -> float:
    """Temperature of a conductor after a short, large current, no heat lost.

    Args:
        area_mm2: Cross-section of the metal. [mm2]
        current_a: Current. [A]
        duration_s: How long it flows. [s]
        start_c: Temperature before. [°C]
        material: "copper" or "aluminum". [-]

    Returns:
        Temperature after. [°C]

    Raises:
        OutOfRange: Duration above 5 s, or the metal would come near melting.

    Valid for:
        Up to 5 s and 600 °C (aluminum melts at 660 °C).

    Source:
        iec-60949, eq. (3) and Table I

    Checked by:
        test_adiabatic_time_current_and_temperature_agree

    Example:
        >>> round(adiabatic_temperature(area_mm2=26.67, current_a=5000.0,
        ...     duration_s=0.1, start_c=75.0))
        97
    """
    require_between("Cross-section", area_mm2, 0.1, 2000.0, "mm2")
    require_between("Duration", duration_s, 0.0, 5.0, "s")
    require_between("Current", current_a, 0.0, 1e6, "A")
    require_between("Start temperature", start_c, -40.0, 250.0, "°C")
    adiabatic, beta_c = _adiabatic_constants(material)
    power = (current_a / (adiabatic * area_mm2)) ** 2 * duration_s
    if not power < 5.0:
        raise OutOfRange(
            f"{current_a:g} A for {duration_s:g} s melts {area_mm2:g} mm2; accepted: "
            "a current and time that the metal survives."
        )
    end_c = (start_c + beta_c) * exp(power) - beta_c
    require_between("Temperature after", end_c, -40.0, 600.0, "°C")
    return end_c
