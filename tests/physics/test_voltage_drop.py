"""Voltage drop, loss and step."""

import cmath
import math

import numpy as np
import pytest

from lugbook.errors import InputError, OutOfRange
from lugbook.physics.network import (
    Element,
    Network,
    constant_current_load,
    solve,
    split_phase_source,
)
from lugbook.physics.voltage_drop import (
    RunSection,
    effective_impedance,
    energy_lost_per_year,
    loss_two_wire,
    receiving_voltage,
    run_drop,
    voltage_drop_two_wire,
    voltage_step,
)


def test_drop_and_loss_by_hand() -> None:
    # 180 ft of 6 AWG: 2 x 180 x 0.491/1000 = 0.17676 ohm there and back.
    # At 48 A: 8.48448 V, 3.535 % of 240 V, 407.25504 W.
    per_m = 0.491 / 304.8
    length_m = 180 * 0.3048

    drop_v = voltage_drop_two_wire(
        current_a=48.0, resistance_ohm_per_m=per_m, length_m=length_m
    )
    loss_w = loss_two_wire(
        current_a=48.0, resistance_ohm_per_m=per_m, length_m=length_m
    )

    assert drop_v == pytest.approx(8.48448, abs=1e-9)
    assert loss_w == pytest.approx(407.25504, abs=1e-7)


def test_loss_is_drop_times_current() -> None:
    given = {"current_a": 80.0, "resistance_ohm_per_m": 0.0008, "length_m": 22.5}
    assert loss_two_wire(**given) == pytest.approx(
        80.0 * voltage_drop_two_wire(**given), rel=1e-14
    )


def test_energy_lost_in_a_year_by_hand() -> None:
    # 407.25504 W x 4 h x 365 = 594 592 Wh
    found = energy_lost_per_year(loss_w=407.25504, hours_per_day=4.0)
    assert found == pytest.approx(594.592, abs=0.0005)


def test_effective_impedance_by_hand() -> None:
    # 3-4-5: R 0.3 x 0.8 + X 0.1 x 0.6 = 0.30
    found = effective_impedance(resistance_ohm=0.3, reactance_ohm=0.1, power_factor=0.8)
    assert found == pytest.approx(0.30, abs=1e-15)


@pytest.mark.parametrize("power_factor", [1.0, 0.9, 0.5, 0.0])
def test_the_exact_voltage_agrees_with_phasors(power_factor: float) -> None:
    # Built backwards: choose the load's voltage, add the drop, measure the supply.
    load_v, current_a, impedance_ohm = 231.0, 80.0, complex(0.06, 0.03)
    phasor_a = cmath.rect(current_a, -math.acos(power_factor))
    supply_v = abs(load_v + impedance_ohm * phasor_a)

    found = receiving_voltage(
        supply_v=supply_v,
        current_a=current_a,
        resistance_ohm=0.06,
        reactance_ohm=0.03,
        power_factor=power_factor,
    )

    assert found == pytest.approx(load_v, rel=1e-14)


def test_the_exact_voltage_agrees_with_the_effective_impedance() -> None:
    exact_v = receiving_voltage(
        supply_v=240.0,
        current_a=40.0,
        resistance_ohm=0.1,
        reactance_ohm=0.04,
        power_factor=0.9,
    )
    first_order_v = 40.0 * effective_impedance(
        resistance_ohm=0.1, reactance_ohm=0.04, power_factor=0.9
    )
    # Second order: (40 x (0.04 x 0.9 - 0.1 x 0.436))^2 / 480 = 0.0002 V
    assert 240.0 - exact_v == pytest.approx(first_order_v, abs=0.001)


def test_sections_add_up_to_the_run() -> None:
    attic = RunSection("attic", 6.7, 0.00060, joints_ohm=0.0002)
    wall = RunSection("wall", 15.8, 0.00055)
    # Loops: 2 x 6.7 x 0.0006 + 0.0002 = 0.00824; 2 x 15.8 x 0.00055 = 0.01738 ohm.
    # At 80 A: 0.6592 and 1.3904 V, 52.736 and 111.232 W.
    found = run_drop(sections=(attic, wall), current_a=80.0, supply_v=240.0)

    assert found.section_v == pytest.approx((0.6592, 1.3904), abs=1e-12)
    assert found.section_w == pytest.approx((52.736, 111.232), abs=1e-10)
    assert found.drop_v == pytest.approx(2.0496, abs=1e-12)
    assert found.drop_fraction == pytest.approx(2.0496 / 240, abs=1e-14)
    assert found.load_v == pytest.approx(237.9504, abs=1e-12)
    assert found.loss_w == pytest.approx(163.968, abs=1e-10)


@pytest.mark.parametrize("power_factor", [1.0, 0.9])
def test_a_run_agrees_with_the_network(power_factor: float) -> None:
    section = RunSection("run", 30.0, 0.0008, 0.00015)
    found = run_drop(
        sections=[section],
        current_a=64.0,
        supply_v=240.0,
        power_factor=power_factor,
    )
    wire_ohm = 30.0 * complex(0.0008, 0.00015)
    solution = solve(
        Network(
            split_phase_source(bus="panel"),
            (Element("run", "panel", "charger", wire_ohm, wire_ohm),),
            (
                constant_current_load(
                    load_id="van",
                    bus="charger",
                    between="A-B",
                    current_a=64.0,
                    power_factor=power_factor,
                ),
            ),
        )
    )
    assert abs(solution.load_v["van"]) == pytest.approx(found.load_v, rel=1e-12)
    assert solution.element_w["run"] == pytest.approx(found.loss_w, rel=1e-12)


def test_the_step_is_the_drop_over_the_voltage_before() -> None:
    # 80 A through 0.09 ohm is 7.2 V of 240 V: 3 %.
    found = voltage_step(line_v=240.0, current_a=80.0, source_ohm=0.09)
    assert found == pytest.approx(0.03, abs=1e-14)


def test_arrays_give_what_floats_give() -> None:
    amperes = np.array([32.0, 80.0])
    metres = np.array([10.0, 30.0])
    drops_v = voltage_drop_two_wire(
        current_a=amperes, resistance_ohm_per_m=0.001, length_m=metres
    )
    volts = receiving_voltage(
        supply_v=240.0, current_a=amperes, resistance_ohm=np.array([0.02, 0.06])
    )
    # 2 x 32 x 0.001 x 10 and 2 x 80 x 0.001 x 30
    assert drops_v == pytest.approx([0.64, 4.8], abs=1e-12)
    assert volts == pytest.approx([239.36, 235.2], abs=1e-12)


def test_one_bad_element_of_an_array_is_named() -> None:
    with pytest.raises(OutOfRange, match="the current is -1 A"):
        loss_two_wire(
            current_a=np.array([10.0, -1.0]), resistance_ohm_per_m=0.001, length_m=5.0
        )


def test_more_current_than_the_impedance_lets_through_is_refused() -> None:
    # 240 V over 1 ohm lets 240 A through at most, and then nothing is left.
    with pytest.raises(OutOfRange, match="more than the impedance lets through"):
        receiving_voltage(supply_v=240.0, current_a=240.0, resistance_ohm=1.0)
    assert receiving_voltage(
        supply_v=240.0, current_a=239.0, resistance_ohm=1.0
    ) == pytest.approx(1.0, abs=1e-12)


def test_a_reactance_lets_only_so_much_through_as_well() -> None:
    # Unity power factor over j1 ohm: V = sqrt(240^2 - I^2).
    def volts(current_a: float) -> float:
        return receiving_voltage(
            supply_v=240.0,
            current_a=current_a,
            resistance_ohm=0.0,
            reactance_ohm=1.0,
        )

    assert volts(239.0) == pytest.approx(math.sqrt(479.0), rel=1e-12)
    with pytest.raises(OutOfRange, match="more than the impedance lets through"):
        volts(240.0)


@pytest.mark.parametrize("power_factor", [-0.01, 1.01, float("nan")])
def test_a_power_factor_out_of_range_is_refused(power_factor: float) -> None:
    with pytest.raises(OutOfRange, match="power factor"):
        effective_impedance(
            resistance_ohm=0.1, reactance_ohm=0.1, power_factor=power_factor
        )


def test_a_run_without_sections_is_refused() -> None:
    with pytest.raises(InputError, match="at least one section"):
        run_drop(sections=(), current_a=10.0, supply_v=240.0)


def test_every_fault_of_a_run_is_named_at_once() -> None:
    with pytest.raises(InputError) as caught:
        run_drop(
            sections=(RunSection("wall", -1.0, 0.001), RunSection("attic", 1.0, -0.1)),
            current_a=10.0,
            supply_v=240.0,
        )
    assert [fault.field for fault in caught.value.faults] == [
        "section wall.length_m",
        "section attic.resistance_ohm_per_m",
    ]


@pytest.mark.parametrize(
    ("hours_per_day", "days_per_year"), [(24.1, 365.0), (-0.1, 365.0), (1.0, 367.0)]
)
def test_a_day_or_year_longer_than_real_is_refused(
    hours_per_day: float, days_per_year: float
) -> None:
    with pytest.raises(OutOfRange, match="per"):
        energy_lost_per_year(
            loss_w=1.0, hours_per_day=hours_per_day, days_per_year=days_per_year
        )
