from __future__ import annotations

import math

import pytest

from lugbook.errors import OutOfRange
from lugbook.physics.contact import (
    PriorRange,
    TerminalPlace,
    ageing_factor,
    clamping_force,
    cluster_resistance,
    contact_temperature,
    contact_voltage,
    fin_length,
    fin_resistance,
    fin_rise,
    joint_signs,
    resistance_ratio_from_force,
    resistance_ratio_from_torque,
    spot_resistance,
    wire_conductance,
)

LUG = TerminalPlace.breaker_lug()


def test_a_range_must_rise():
    assert PriorRange(1.0, 1.0, 1.0).median == 1.0
    with pytest.raises(OutOfRange, match="2, 1, 3 is out of order"):
        PriorRange(2.0, 1.0, 3.0)
    with pytest.raises(OutOfRange, match="out of order"):
        PriorRange(1.0, math.nan, 3.0)


def test_a_spot_of_one_millimetre_by_hand():
    # 1.75e-8 / (2 x 1e-3) = 8.75 microohm.
    assert spot_resistance(radius_m=1e-3) == pytest.approx(8.75e-6)
    assert spot_resistance(radius_m=1e-3, resistivity_ohm_m=3.5e-8) == pytest.approx(
        17.5e-6
    )


@pytest.mark.parametrize(
    ("force_n", "microohm"),
    [(100.0, 43.9), (500.0, 19.6), (1000.0, 13.9), (2000.0, 9.8), (5000.0, 6.2)],
)
def test_clean_copper_under_a_force_by_hand(force_n, microohm):
    # sqrt(1.75e-8^2 pi 0.8e9 / (4 F)); at 1 kN: 1.75e-8 x sqrt(628318.5) = 13.87e-6.
    assert cluster_resistance(force_n=force_n) * 1e6 == pytest.approx(
        microohm, abs=0.06
    )


def test_a_film_multiplies_by_its_root():
    clean = cluster_resistance(force_n=300.0)
    filmed = cluster_resistance(force_n=300.0, film_factor=9.0)
    assert filmed == pytest.approx(3.0 * clean)


def test_softer_and_better_metal_has_less_resistance():
    # A quarter of the hardness: half the resistance.
    copper = cluster_resistance(force_n=300.0)
    soft = cluster_resistance(force_n=300.0, hardness_pa=0.2e9)
    assert soft == pytest.approx(copper / 2.0)


def test_force_of_a_five_sixteenths_screw_by_hand():
    # 50 lbf in = 5.6492 N m; 5.6492 / (0.2 x 0.0079375) = 3558.6 N, about 800 lbf.
    force = clamping_force(torque_n_m=5.6492, screw_diameter_m=0.0079375)
    assert force.median == pytest.approx(3558.6, abs=0.1)
    assert force.low == pytest.approx(0.7 * 3558.6, abs=0.1)
    assert force.high == pytest.approx(1.3 * 3558.6, abs=0.1)


def test_half_the_torque_is_half_the_force():
    full = clamping_force(torque_n_m=5.0, screw_diameter_m=0.008)
    half = clamping_force(torque_n_m=2.5, screw_diameter_m=0.008)
    assert half.median == pytest.approx(full.median / 2.0)


def test_half_the_force_gives_less_than_twice_the_resistance():
    half = resistance_ratio_from_force(force_ratio=0.5)
    assert half.low == pytest.approx(math.sqrt(2.0))
    assert half.median == pytest.approx(2.0**0.75)
    assert half.high == pytest.approx(2.0)


def test_half_torque_overlaps_full_torque_on_the_first_day():
    # Half: forces 0.35 to 0.65 of the middle: 0.65^-0.5 = 1.2403, 0.5^-0.75 = 1.6818,
    # 0.35^-1 = 2.8571. Full: 0.7 to 1.3: 1.3^-1 = 0.7692, 1, 0.7^-1 = 1.4286.
    half = resistance_ratio_from_torque(torque_n_m=2.5, label_torque_n_m=5.0)
    assert (half.low, half.median, half.high) == pytest.approx(
        (1.2403, 1.6818, 2.8571), abs=0.0001
    )
    full = resistance_ratio_from_torque(torque_n_m=5.0, label_torque_n_m=5.0)
    assert (full.low, full.median, full.high) == pytest.approx(
        (0.7692, 1.0, 1.4286), abs=0.0001
    )
    assert half.low < full.high


@pytest.mark.parametrize(
    ("torque_n_m", "message"),
    [(0.24, "Torque over label torque is 0.048"), (7.51, "is 1.502")],
)
def test_a_torque_far_from_its_label_is_refused(torque_n_m, message):
    with pytest.raises(OutOfRange, match=message):
        resistance_ratio_from_torque(torque_n_m=torque_n_m, label_torque_n_m=5.0)


def test_half_torque_barely_warms_a_new_joint():
    # Worst exponent: twice the resistance. Middle: 45e-6 x 6400 = 0.288 W more, at
    # 5.35 K/W 1.54 K; loop 0.0105: 1.56 K. High end: 60e-6, 5.7 K/W: 2.19 K; loop
    # 0.0149: 2.22 K.
    signs = joint_signs(place=LUG, resistance_times=2.0, current_a=80.0)
    assert signs.extra_rise_k.median == pytest.approx(1.56, abs=0.01)
    assert signs.extra_rise_k.high == pytest.approx(2.22, abs=0.01)


@pytest.mark.parametrize(
    ("times", "low_k", "high_k"), [(10.0, 6.6, 22.0), (30.0, 24.0, 71.0)]
)
def test_range_of_rises_agrees_with_the_simulated_panels(times, low_k, high_k):
    # physics-notes section 4.2: 5 to 95 % of the difference seen between two lugs.
    rise_k = joint_signs(place=LUG, resistance_times=times, current_a=80.0).extra_rise_k
    assert rise_k.low == pytest.approx(low_k, rel=0.25)
    assert rise_k.high == pytest.approx(high_k, rel=0.25)


def test_a_tenfold_joint_at_80_a_by_hand():
    # 9 x 45e-6 x 6400 = 2.592 W; loop 5.35 x 2.88 / 294.5 = 0.052320;
    # 5.35 x 2.592 / (1 - 0.052320) = 14.633 K; 2.7351 W;
    # 450e-6 x 80 x (1 + 14.633/294.5) = 37.789 mV, sound joint 3.6 mV.
    signs = joint_signs(place=LUG, resistance_times=10.0, current_a=80.0)
    assert signs.extra_rise_k.median == pytest.approx(14.633, abs=0.001)
    assert signs.extra_w == pytest.approx(2.7351, abs=0.0002)
    assert signs.millivolts == pytest.approx(37.789, abs=0.001)
    assert signs.extra_millivolts == pytest.approx(34.189, abs=0.001)
    assert signs.resistance_ohm == pytest.approx(450e-6)


@pytest.mark.parametrize(
    ("times", "extra_w", "extra_mv", "rise_k"),
    [(3.0, 0.6, 7.5, 3.0), (5.0, 1.2, 15.0, 6.0), (10.0, 2.7, 34.0, 16.0)],
)
def test_signs_agree_with_the_simulated_panels(times, extra_w, extra_mv, rise_k):
    # physics-notes section 4.2: medians of 60 simulated panels a row, at 80 A, printed
    # to two figures; the lug's K/W itself spreads by 7 %.
    signs = joint_signs(place=LUG, resistance_times=times, current_a=80.0)
    assert signs.extra_w == pytest.approx(extra_w, rel=0.08)
    assert signs.extra_millivolts == pytest.approx(extra_mv, rel=0.08)
    assert signs.extra_rise_k.median == pytest.approx(rise_k, rel=0.10)


def test_a_thirtyfold_joint_is_plain_to_see():
    # physics-notes section 4.2: 48 K, 108 mV beyond a sound joint. The closed loop here
    # lets the resistance grow with the whole rise and comes out hotter.
    signs = joint_signs(place=LUG, resistance_times=30.0, current_a=80.0)
    assert 45.0 < signs.extra_rise_k.median < 58.0
    assert 100.0 < signs.extra_millivolts < 130.0


def test_a_threefold_joint_hides_from_a_thermometer():
    # Good pairs of lugs differ by up to 3 K (physics-notes 4.2); millivolts tell.
    signs = joint_signs(place=LUG, resistance_times=3.0, current_a=80.0)
    assert signs.extra_rise_k.median < 3.5
    assert signs.extra_rise_k.low < 1.5
    assert signs.extra_millivolts > 5.0


def test_the_same_joint_hides_at_a_small_current():
    signs = joint_signs(place=LUG, resistance_times=10.0, current_a=32.0)
    assert signs.extra_rise_k.median < 3.0


def test_a_sound_joint_adds_nothing():
    signs = joint_signs(place=LUG, resistance_times=1.0, current_a=80.0)
    assert signs.extra_w == 0.0
    assert signs.extra_rise_k == PriorRange(0.0, 0.0, 0.0)
    # 45e-6 x 80 = 3.6 mV.
    assert signs.millivolts == pytest.approx(3.6)


def test_a_charger_terminal_warms_less_than_a_lug():
    block = joint_signs(
        place=TerminalPlace.charger_terminal(), resistance_times=10.0, current_a=80.0
    )
    lug = joint_signs(place=LUG, resistance_times=10.0, current_a=80.0)
    assert block.extra_rise_k.low < lug.extra_rise_k.low
    assert block.extra_rise_k.high < lug.extra_rise_k.median


def test_a_joint_that_would_burn_is_not_a_reading():
    with pytest.raises(OutOfRange, match="50 times its resistance at 200 A"):
        joint_signs(place=LUG, resistance_times=50.0, current_a=200.0)


@pytest.mark.parametrize(
    ("millivolts", "bulk_c", "peak_c"),
    [
        (10.0, 20.0, 21.7),
        (30.0, 20.0, 35.3),
        (50.0, 20.0, 60.8),
        (100.0, 20.0, 160.9),
        (30.0, 60.0, 73.6),
        (100.0, 60.0, 188.9),
    ],
)
def test_voltage_temperature_relation_by_hand(millivolts, bulk_c, peak_c):
    # sqrt((T0 + 273.15)^2 + V^2/(4 x 2.44e-8)): at 100 mV from 20 °C
    # sqrt(85936.9 + 102459.0) = 434.05 K.
    found = contact_temperature(voltage_v=millivolts / 1e3, bulk_c=bulk_c)
    assert found == pytest.approx(peak_c, abs=0.06)


def test_contact_voltage_and_temperature_undo_each_other():
    voltage_v = contact_voltage(peak_c=190.0, bulk_c=60.0)
    assert contact_temperature(voltage_v=voltage_v, bulk_c=60.0) == pytest.approx(190.0)


def test_conductance_of_a_3_awg_wire_by_hand():
    # Worked below: 0.269912 W/(m K).
    assert wire_conductance(
        conductor_diameter_m=0.0066, outside_diameter_m=0.00894
    ) == pytest.approx(0.269912, abs=1e-5)


@pytest.mark.parametrize(
    ("conductor_m", "outside_m", "area_mm2", "k_per_w"),
    [
        (0.00467, 0.00645, 13.30, 31.4),
        (0.00660, 0.00894, 26.67, 19.0),
        (0.00742, 0.00975, 33.62, 16.2),
        (0.00945, 0.01234, 53.49, 11.5),
    ],
    ids=["6 AWG", "3 AWG", "2 AWG", "1/0 AWG"],
)
def test_wires_as_fins_agree_with_the_notes(conductor_m, outside_m, area_mm2, k_per_w):
    # physics-notes section 4.2, three digits; dimensions from chapter 9 tables 5 and 8.
    conductance = wire_conductance(
        conductor_diameter_m=conductor_m, outside_diameter_m=outside_m
    )
    found = fin_resistance(
        conductance_w_per_m_k=conductance,
        axial_conductance_w_m_per_k=385.0 * area_mm2 / 1e6,
    )
    assert found == pytest.approx(k_per_w, rel=0.01)


def test_a_terminal_is_forgotten_after_half_a_metre():
    # e^(-0.5/0.195) = 0.076989.
    assert fin_rise(
        terminal_rise_k=20.0, distance_m=0.5, length_m=0.195
    ) == pytest.approx(20.0 * 0.076989, abs=1e-4)
    assert fin_rise(terminal_rise_k=20.0, distance_m=0.0, length_m=0.195) == 20.0


def test_fin_of_a_3_awg_wire_by_hand():
    # h = 10.5 W/(m2 K), D = 8.94 mm, rho_i = 6.5: R_i = 6.5/(2 pi) ln(8.94/6.60)
    # = 0.31396; surface 1/(10.5 pi 0.00894) = 3.39096; g = 1/3.70492 = 0.269912.
    # k A = 385 x 26.67e-6 = 0.010268: length sqrt(0.010268/0.269912) = 0.19504 m,
    # resistance 1/sqrt(0.010268 x 0.269912) = 18.995 K/W.
    arguments = {
        "conductance_w_per_m_k": 0.269912,
        "axial_conductance_w_m_per_k": 385.0 * 26.67e-6,
    }
    assert fin_length(**arguments) == pytest.approx(0.19504, abs=1e-5)
    assert fin_resistance(**arguments) == pytest.approx(18.995, abs=0.001)


def test_ageing_a_little_more_than_doubles_in_ten_kelvin():
    # 0.9/8.617333e-5 x (1/348.15 - 1/358.15) = 0.83760; e^0.83760 = 2.3108.
    assert ageing_factor(temperature_c=85.0, reference_c=75.0) == pytest.approx(
        2.3108, abs=0.0005
    )
    assert ageing_factor(temperature_c=75.0, reference_c=75.0) == 1.0


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: spot_resistance(radius_m=0.0), "Radius of the spot is 0 m"),
        (
            lambda: spot_resistance(radius_m=1e-4, resistivity_ohm_m=1.0),
            "Electric resistivity is 1 ohm m",
        ),
        (lambda: cluster_resistance(force_n=0.0), "Force is 0 N"),
        (lambda: cluster_resistance(force_n=1.0, film_factor=0.5), "Film factor"),
        (lambda: cluster_resistance(force_n=1.0, hardness_pa=1.0), "Hardness"),
        (
            lambda: cluster_resistance(force_n=1.0, resistivity_ohm_m=1.0),
            "Electric resistivity",
        ),
        (
            lambda: clamping_force(torque_n_m=500.0, screw_diameter_m=0.008),
            "Torque is 500 N·m",
        ),
        (
            lambda: clamping_force(torque_n_m=5.0, screw_diameter_m=8.0),
            "Screw diameter is 8 m",
        ),
        (
            lambda: clamping_force(
                torque_n_m=5.0, screw_diameter_m=0.008, nut_factor=0.0
            ),
            "Nut factor is 0",
        ),
        (
            lambda: clamping_force(
                torque_n_m=5.0, screw_diameter_m=0.008, scatter_fraction=1.0
            ),
            "Scatter is 1",
        ),
        (lambda: resistance_ratio_from_force(force_ratio=1.01), "is 1.01"),
        (
            lambda: joint_signs(place=LUG, resistance_times=0.9, current_a=80.0),
            "Times proper resistance is 0.9",
        ),
        (
            lambda: joint_signs(place=LUG, resistance_times=2.0, current_a=math.nan),
            "Current is nan A",
        ),
        (
            lambda: joint_signs(
                place=LUG, resistance_times=2.0, current_a=80.0, terminal_c=121.0
            ),
            "Terminal temperature is 121 °C",
        ),
        (
            lambda: contact_temperature(voltage_v=0.51, bulk_c=20.0),
            "Contact voltage is 0.51 V",
        ),
        (
            lambda: contact_temperature(voltage_v=0.1, bulk_c=301.0),
            "Bulk temperature is 301 °C",
        ),
        (
            lambda: contact_voltage(peak_c=10.0, bulk_c=20.0),
            "Peak above bulk is -10 K",
        ),
        (
            lambda: contact_voltage(peak_c=1301.0, bulk_c=20.0),
            "Peak temperature is 1301 °C",
        ),
        (
            lambda: fin_length(
                conductance_w_per_m_k=0.0, axial_conductance_w_m_per_k=0.01
            ),
            "Conductance is 0",
        ),
        (
            lambda: fin_resistance(
                conductance_w_per_m_k=0.3, axial_conductance_w_m_per_k=0.0
            ),
            "Axial conductance is 0",
        ),
        (
            lambda: fin_rise(terminal_rise_k=20.0, distance_m=-0.1, length_m=0.2),
            "Distance is -0.1 m",
        ),
        (
            lambda: fin_rise(terminal_rise_k=20.0, distance_m=0.1, length_m=0.0),
            "Fin length is 0 m",
        ),
        (
            lambda: fin_rise(terminal_rise_k=math.nan, distance_m=0.1, length_m=0.2),
            "Terminal rise is nan K",
        ),
        (
            lambda: wire_conductance(
                conductor_diameter_m=0.008, outside_diameter_m=0.006
            ),
            "Insulation over conductor diameter is 0.75",
        ),
        (
            lambda: wire_conductance(
                conductor_diameter_m=0.006,
                outside_diameter_m=0.008,
                film_w_per_m2_k=0.0,
            ),
            "Heat transfer is 0",
        ),
        (
            lambda: ageing_factor(temperature_c=201.0, reference_c=75.0),
            "Temperature is 201 °C",
        ),
        (
            lambda: ageing_factor(
                temperature_c=80.0, reference_c=75.0, activation_ev=0.2
            ),
            "Activation energy is 0.2 eV",
        ),
    ],
)
def test_outside_its_range_a_formula_refuses(call, message):
    with pytest.raises(OutOfRange, match=message):
        call()
