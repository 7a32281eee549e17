from __future__ import annotations

import math

import numpy as np
import pytest

from lugbook.errors import OutOfRange
from lugbook.physics.conductor_heating import (
    Cable,
    ConductorHeating,
    InAir,
    InsulatedConductor,
    heating_of_conductors,
    metal_raceway,
    plastic_raceway,
)
from lugbook.physics.conductor_transient import (
    HeatCapacities,
    _exponential_integral,
    adiabatic_current,
    adiabatic_seconds,
    adiabatic_temperature,
    earth_step_rise,
    heat_capacities,
    two_node_response,
)


def charger_run(current_a: float = 80.0) -> ConductorHeating:
    return heating_of_conductors(
        conductor=InsulatedConductor(0.0066, 0.0089, 0.804e-3),
        enclosure=metal_raceway(inside_diameter_m=0.02664, outside_diameter_m=0.02954),
        surroundings=InAir(),
        loaded_count=2,
        group_count=3,
        current_a=current_a,
        ambient_c=30.0,
    )


def unit_state() -> ConductorHeating:
    # One watt through one kelvin per watt, twice; resistance all but constant because
    # the temperatures are far below the size of 234.5.
    return ConductorHeating(1.0, 0.0, 1.0, 1.0, 1.0, 2.0, 1.0, 1.0)


def test_equal_nodes_have_golden_time_constants():
    # x1' = -x1 + x2, x2' = x1 - 2 x2: eigenvalues (3 ± sqrt 5)/2, time constants
    # 2.618 and 0.382. Copper's growing resistance adds 1/236.5 to the first entry:
    # a = 1 - 0.0042283: sum 2.9957717, product 2 a - 1 = 0.9915433.
    response = two_node_response(
        steady=unit_state(), capacities=HeatCapacities(1.0, 1.0)
    )
    root = math.sqrt(2.9957717**2 - 4 * 0.9915433)
    assert response.slow_s == pytest.approx(2 / (2.9957717 - root), rel=1e-6)
    assert response.fast_s == pytest.approx(2 / (2.9957717 + root), rel=1e-6)
    assert response.slow_s == pytest.approx(2.618, rel=0.02)
    assert response.fast_s == pytest.approx(0.382, rel=0.02)


def test_two_node_curve_follows_step_by_step_integration():
    steady = charger_run()
    capacities = HeatCapacities(457.0, 485.0)
    response = two_node_response(steady=steady, capacities=capacities)
    inner = (steady.conductor_c - steady.surface_c) / steady.heat_w_per_m
    outer = (steady.surface_c - 30.0) / steady.heat_w_per_m
    conductor_c = surface_c = 30.0
    step_s = 0.25
    for _ in range(int(1800 / step_s)):
        # Heat of copper: proportional to 234.5 + T.
        made = steady.heat_w_per_m * (234.5 + conductor_c) / (
            234.5 + steady.conductor_c
        )  # fmt: skip
        inward = (conductor_c - surface_c) / inner
        conductor_c += step_s * (made - inward) / 457.0
        surface_c += step_s * (inward - (surface_c - 30.0) / outer) / 485.0
    found = response.after(
        elapsed_s=1800.0, start_conductor_c=30.0, start_surface_c=30.0
    )
    # A quarter second against minutes: error of the hand integration 0.01 K.
    assert found == pytest.approx((conductor_c, surface_c), abs=0.02)


def test_a_curve_begins_where_it_starts_and_ends_steady():
    steady = charger_run()
    response = two_node_response(steady=steady, capacities=HeatCapacities(457.0, 485.0))
    begin = response.after(elapsed_s=0.0, start_conductor_c=33.0, start_surface_c=31.0)
    assert begin == pytest.approx((33.0, 31.0))
    end = response.after(elapsed_s=1e6, start_conductor_c=33.0, start_surface_c=31.0)
    assert end == pytest.approx((steady.conductor_c, steady.surface_c))


def test_two_half_steps_are_one_step():
    response = two_node_response(
        steady=charger_run(), capacities=HeatCapacities(457.0, 485.0)
    )
    whole = response.after(
        elapsed_s=1200.0, start_conductor_c=30.0, start_surface_c=30.0
    )
    half = response.after(elapsed_s=600.0, start_conductor_c=30.0, start_surface_c=30.0)
    rest = response.after(
        elapsed_s=600.0, start_conductor_c=half[0], start_surface_c=half[1]
    )
    assert rest == pytest.approx(whole)


def test_charger_raceway_settles_within_the_known_times():
    # physics-notes section 2: 3 AWG in EMT: 63 % after about 18 min, 95 % after about
    # 58 min at 80 % of table current; two loaded wires are a little slower.
    both = heat_capacities(
        conductor=InsulatedConductor(0.0066, 0.0089, 0.804e-3),
        enclosure=metal_raceway(inside_diameter_m=0.02664, outside_diameter_m=0.02954),
        group_count=3,
    )
    response = two_node_response(steady=charger_run(), capacities=both)
    assert 14 < response.seconds_to(share=0.63) / 60 < 26
    assert 45 < response.seconds_to(share=0.95) / 60 < 80


def test_first_heating_rate_is_heat_over_capacity():
    # First second: nothing flows out yet; cold heat 2 x 80^2 x R(30 °C).
    steady = charger_run()
    response = two_node_response(steady=steady, capacities=HeatCapacities(457.0, 485.0))
    after_1s = response.after(
        elapsed_s=1.0, start_conductor_c=30.0, start_surface_c=30.0
    )
    cold_w = 2 * 80.0**2 * 0.804e-3 * (234.5 + 30.0) / 309.5
    assert after_1s[0] - 30.0 == pytest.approx(cold_w / 457.0, rel=0.01)


def test_seconds_to_finds_the_share_it_was_asked_for():
    steady = charger_run()
    response = two_node_response(steady=steady, capacities=HeatCapacities(457.0, 485.0))
    elapsed_s = response.seconds_to(share=0.8)
    conductor_c, _ = response.after(
        elapsed_s=elapsed_s, start_conductor_c=30.0, start_surface_c=30.0
    )
    assert conductor_c == pytest.approx(30.0 + 0.8 * (steady.conductor_c - 30.0))


def test_arrays_of_runs_have_the_time_constants_of_each_alone():
    runs = charger_run(np.array([40.0, 80.0]))
    together = two_node_response(steady=runs, capacities=HeatCapacities(457.0, 485.0))
    alone = two_node_response(
        steady=charger_run(80.0), capacities=HeatCapacities(457.0, 485.0)
    )
    assert together.slow_s[1] == pytest.approx(alone.slow_s)
    assert together.seconds_to(share=0.5)[1] == pytest.approx(
        alone.seconds_to(share=0.5)
    )


@pytest.mark.parametrize(
    ("change", "message"),
    [
        ({"elapsed_s": -1.0}, "Elapsed time is -1 s"),
        ({"elapsed_s": math.nan}, "Elapsed time is nan s"),
    ],
)
def test_a_time_before_the_start_is_refused(change, message):
    response = two_node_response(
        steady=unit_state(), capacities=HeatCapacities(1.0, 1.0)
    )
    with pytest.raises(OutOfRange, match=message):
        response.after(**({"start_conductor_c": 0.0, "start_surface_c": 0.0} | change))


def test_a_share_of_the_whole_rise_is_refused():
    response = two_node_response(
        steady=unit_state(), capacities=HeatCapacities(1.0, 1.0)
    )
    with pytest.raises(OutOfRange, match="Share of the rise is 1"):
        response.seconds_to(share=1.0)


def test_no_heat_has_no_response():
    with pytest.raises(OutOfRange, match="Steady heat is 0 W/m"):
        two_node_response(
            steady=ConductorHeating(0.0, 30.0, 30.0, 30.0, 30.0, 30.0, 0.0, 1e-3),
            capacities=HeatCapacities(1.0, 1.0),
        )


# Heat capacities


def test_heat_capacity_of_a_bare_bar_by_hand():
    # Nine tenths of a 10 mm circle is 70.686 mm2 of copper: 243.87 J/(m K); a steel
    # wall from 20 to 22 mm has 65.973 mm2: 250.70 J/(m K).
    both = heat_capacities(
        conductor=InsulatedConductor(0.010, 0.010, 1e-3),
        enclosure=metal_raceway(inside_diameter_m=0.020, outside_diameter_m=0.022),
        group_count=1,
    )
    assert both.conductors_j_per_m_k == pytest.approx(243.87, abs=0.01)
    assert both.enclosure_j_per_m_k == pytest.approx(250.70, abs=0.01)


def test_plastic_raceway_stores_less_than_steel():
    # The same wall in PVC: 65.973 mm2 x 1.65e6 = 108.86 J/(m K).
    both = heat_capacities(
        conductor=InsulatedConductor(0.010, 0.010, 1e-3),
        enclosure=plastic_raceway(inside_diameter_m=0.020, outside_diameter_m=0.022),
        group_count=1,
    )
    assert both.enclosure_j_per_m_k == pytest.approx(108.86, abs=0.01)


def test_a_stated_wall_material_is_used():
    # Aluminum wall: 65.973 mm2 x 2.5e6 = 164.93 J/(m K).
    both = heat_capacities(
        conductor=InsulatedConductor(0.010, 0.010, 1e-3),
        enclosure=metal_raceway(inside_diameter_m=0.020, outside_diameter_m=0.022),
        group_count=1,
        raceway_volume_j_per_m3_k=2.5e6,
    )
    assert both.enclosure_j_per_m_k == pytest.approx(164.93, abs=0.01)


def test_a_cable_jacket_is_the_second_node():
    both = heat_capacities(
        conductor=InsulatedConductor(0.004, 0.006, 1e-3),
        enclosure=Cable(0.018, 0.0015),
        group_count=3,
    )
    # Jacket 15 to 18 mm: 77.754 mm2 x 1.65e6 = 128.29 J/(m K).
    assert both.enclosure_j_per_m_k == pytest.approx(128.29, abs=0.01)


def test_a_cable_without_a_jacket_has_no_second_node():
    with pytest.raises(OutOfRange, match="Heat capacity of enclosure is 0"):
        heat_capacities(
            conductor=InsulatedConductor(0.004, 0.006, 1e-3),
            enclosure=Cable(0.018),
            group_count=3,
        )


# Earth


@pytest.mark.parametrize(
    ("argument", "published"),
    [(0.1, 1.8229240), (1.0, 0.2193839), (2.0, 0.0489005), (10.0, 4.156969e-6)],
)
def test_exponential_integral_of_the_handbook(argument, published):
    # Abramowitz and Stegun, tables 5.1 and 5.2, from memory; the series and the
    # fraction are two unrelated ways and meet at 1.
    assert _exponential_integral(argument) == pytest.approx(published, rel=2e-6)


def test_series_and_fraction_meet_at_one():
    just_under = _exponential_integral(1.0)
    just_over = _exponential_integral(1.0 + 1e-12)
    assert just_under == pytest.approx(just_over, rel=1e-9)


def test_a_distant_image_has_no_effect():
    assert _exponential_integral(501.0) == 0.0


def test_earth_after_a_long_time_reaches_its_steady_rise():
    # Line source with image: W rho / (2 pi) ln(4 L / D), ln(2.4/0.0334).
    forever = earth_step_rise(
        heat_w_per_m=10.0,
        elapsed_s=1e11,
        outside_diameter_m=0.0334,
        depth_m=0.6,
    )
    assert forever == pytest.approx(
        10 * 1.2 / (2 * math.pi) * math.log(2.4 / 0.0334), rel=1e-4
    )


def test_one_night_warms_the_earth_by_less_than_the_steady_rise():
    nights = [
        earth_step_rise(
            heat_w_per_m=10.0,
            elapsed_s=hours * 3600.0,
            outside_diameter_m=0.0334,
            depth_m=0.6,
        )
        for hours in (1, 8, 24, 24 * 30)
    ]
    assert nights == sorted(nights)
    assert nights[1] < 0.65 * nights[3]


@pytest.mark.parametrize(
    ("change", "message"),
    [
        ({"elapsed_s": 0.0}, "Elapsed time"),
        ({"depth_m": 0.01}, "Depth over radius"),
        ({"earth_k_m_per_w": 120.0}, "Earth resistivity is 120"),
        ({"diffusivity_m2_per_s": 1.0}, "Earth diffusivity is 1 m2/s"),
    ],
)
def test_earth_outside_its_range_is_refused(change, message):
    arguments = {
        "heat_w_per_m": 10.0,
        "elapsed_s": 3600.0,
        "outside_diameter_m": 0.0334,
        "depth_m": 0.6,
    }
    with pytest.raises(OutOfRange, match=message):
        earth_step_rise(**(arguments | change))


# Adiabatic


def test_adiabatic_time_current_and_temperature_agree():
    current_a = adiabatic_current(
        area_mm2=26.67, duration_s=0.5, start_c=75.0, end_c=150.0
    )
    assert adiabatic_seconds(
        area_mm2=26.67, current_a=current_a, start_c=75.0, end_c=150.0
    ) == pytest.approx(0.5)
    assert adiabatic_temperature(
        area_mm2=26.67, current_a=current_a, duration_s=0.5, start_c=75.0
    ) == pytest.approx(150.0)


def test_north_american_constant_gives_the_same_copper_limit():
    # ICEA P-32-382, from memory: (I/A)^2 t = 0.0297 log10((T2 + 234)/(T1 + 234)), A in
    # circular mils. 3 AWG is 52620: sqrt(0.0297 log10(384/309)) x 52620 = 2786 A.
    assert adiabatic_current(
        area_mm2=26.67, duration_s=1.0, start_c=75.0, end_c=150.0
    ) == pytest.approx(2786.0, rel=0.01)


def test_more_than_five_seconds_is_not_adiabatic():
    adiabatic_current(area_mm2=10.0, duration_s=5.0, start_c=75.0, end_c=150.0)
    with pytest.raises(OutOfRange, match=r"Duration is 5\.001 s"):
        adiabatic_current(area_mm2=10.0, duration_s=5.001, start_c=75.0, end_c=150.0)


def test_a_small_current_needs_more_than_five_seconds():
    with pytest.raises(OutOfRange, match="use the two-node response"):
        adiabatic_seconds(area_mm2=26.67, current_a=1000.0, start_c=75.0, end_c=150.0)


def test_cooling_is_not_an_end_of_heating():
    with pytest.raises(OutOfRange, match="End above start is -5 K"):
        adiabatic_current(area_mm2=10.0, duration_s=1.0, start_c=75.0, end_c=70.0)


def test_a_current_that_melts_the_conductor_is_refused():
    with pytest.raises(OutOfRange, match="melts 2 mm2"):
        adiabatic_temperature(
            area_mm2=2.0, current_a=50000.0, duration_s=1.0, start_c=30.0
        )
    with pytest.raises(OutOfRange, match="Temperature after"):
        adiabatic_temperature(
            area_mm2=2.0, current_a=600.0, duration_s=1.0, start_c=30.0
        )
