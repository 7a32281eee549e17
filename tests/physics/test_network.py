"""The circuit solver: cases worked by hand, properties, and what it refuses."""

import cmath
import math
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from lugbook.errors import InputError, OutOfRange
from lugbook.physics.network import (
    EARTH,
    Between,
    Element,
    Joint,
    Load,
    Network,
    Path,
    Source,
    Terminal,
    constant_current_load,
    constant_impedance_load,
    constant_power_load,
    solve,
    split_phase_source,
    wye_source,
)

PANEL_N = Terminal("panel", "N")
PANEL_G = Terminal("panel", "G")
POLE_N = Terminal("pole", "N")


def heater(name: str, bus: str, between: Between, ohm: complex) -> Load:
    return constant_impedance_load(load_id=name, bus=bus, between=between, load_ohm=ohm)


def service(
    *loads: Load,
    leg: complex = 0.1,
    neutral: complex = 0.2,
    joints: tuple[Joint, ...] = (),
    paths: tuple[Path, ...] = (),
    source: Source | None = None,
) -> Network:
    """Return a pole and a panel with loads at the panel."""
    drop = Element("drop", "pole", "panel", leg, leg, neutral)
    return Network(
        source or split_phase_source(bus="pole"), (drop,), loads, joints, paths
    )


# ------------------------------------------------------------------ worked by hand


def test_a_three_wire_service_worked_by_hand() -> None:
    # Meshes: 10.3 I_A - 0.2 I_B = 120 and -0.2 I_A + 20.3 I_B = 120;
    # determinant 209.05, so I_A = 2460/209.05 and I_B = 1260/209.05.
    solution = solve(
        service(heater("a", "panel", "A-N", 10), heater("b", "panel", "B-N", 20))
    )

    leg_a, leg_b = 2460 / 209.05, 1260 / 209.05
    assert solution.current_a("drop", "A") == pytest.approx(leg_a, rel=1e-12)
    assert solution.current_a("drop", "B") == pytest.approx(-leg_b, rel=1e-12)
    assert solution.current_a("drop", "N") == pytest.approx(leg_b - leg_a, rel=1e-12)
    assert solution.voltage_v("panel", "A") == pytest.approx(10 * leg_a, rel=1e-12)
    assert solution.voltage_v("panel", "B") == pytest.approx(-20 * leg_b, rel=1e-12)
    assert solution.element_w["drop"] == pytest.approx(
        0.1 * leg_a**2 + 0.1 * leg_b**2 + 0.2 * (leg_a - leg_b) ** 2, rel=1e-12
    )
    assert solution.supplied_va == pytest.approx(120 * (leg_a + leg_b), rel=1e-12)


def test_lamps_on_an_open_neutral_share_240_volts() -> None:
    # teaching-lost-neutral: 100 W is 144 ohm and 200 W is 72 ohm; in series across
    # 240 V they carry 240/216 A and get 160 V and 80 V.
    solution = solve(
        service(
            heater("small", "panel", "A-N", 144),
            heater("big", "panel", "B-N", 72),
            leg=0.0,
            joints=(Joint("splice", "drop", "N", math.inf),),
        )
    )

    assert solution.load_v["small"] == pytest.approx(160.0, abs=1e-9)
    assert solution.load_v["big"] == pytest.approx(-80.0, abs=1e-9)
    assert solution.load_a["small"] == pytest.approx(240 / 216, abs=1e-12)
    assert solution.current_a("drop", "N") == 0
    assert abs(solution.joint_v["splice"]) == pytest.approx(40.0, abs=1e-9)
    assert solution.joint_w["splice"] == 0


def test_earth_in_parallel_with_an_open_neutral_worked_by_hand() -> None:
    # Neutral point v: (120 - v)/10 + (-120 - v)/20 = v/30, so v = 360/11 V.
    solution = solve(
        service(
            heater("a", "panel", "A-N", 10),
            heater("b", "panel", "B-N", 20),
            leg=0.0,
            joints=(Joint("splice", "drop", "N", math.inf),),
            paths=(Path("rod", PANEL_N, EARTH, 25.0), Path("tap", EARTH, POLE_N, 5.0)),
        )
    )

    moved_v = 360 / 11
    assert solution.voltage_v("panel", "A") == pytest.approx(120 - moved_v, rel=1e-12)
    assert solution.voltage_v("panel", "B") == pytest.approx(-120 - moved_v, rel=1e-12)
    assert solution.path_a["rod"] == pytest.approx(moved_v / 30, rel=1e-12)
    assert solution.between_v(PANEL_N, EARTH) == pytest.approx(
        moved_v * 25 / 30, rel=1e-12
    )
    assert solution.path_w["rod"] == pytest.approx(25 * (moved_v / 30) ** 2, rel=1e-12)


def test_a_second_bond_puts_neutral_current_on_the_grounding_path() -> None:
    # 12 A back over 0.05 ohm of neutral beside 0.10 ohm of ground: 8 A and 4 A.
    feeder = Element("feeder", "panel", "garage", 0.05, 0.05, 0.05, 0.10)
    drop = Element("drop", "pole", "panel", 0.0, 0.0, 0.0)
    saw = constant_current_load(
        load_id="saw", bus="garage", between="A-N", current_a=12.0
    )
    bonds = (
        Path("main bond", PANEL_N, PANEL_G),
        Path("second bond", Terminal("garage", "N"), Terminal("garage", "G")),
    )

    wrong = solve(
        Network(split_phase_source(bus="pole"), (drop, feeder), (saw,), (), bonds)
    )
    right = solve(
        Network(split_phase_source(bus="pole"), (drop, feeder), (saw,), (), bonds[:1])
    )

    assert abs(wrong.current_a("feeder", "N")) == pytest.approx(8.0, rel=1e-12)
    assert abs(wrong.current_a("feeder", "G")) == pytest.approx(4.0, rel=1e-12)
    assert abs(wrong.voltage_v("garage", "N", "G")) < 1e-12
    assert abs(right.current_a("feeder", "G")) < 1e-12
    assert abs(right.voltage_v("garage", "N", "G")) == pytest.approx(0.6, rel=1e-12)


def test_constant_power_worked_by_hand() -> None:
    # V (240 - V) / 0.2 = 9600: V = 120 + sqrt(14400 - 1920)
    oven = constant_power_load(
        load_id="oven", bus="panel", between="A-B", real_w=9600.0
    )
    solution = solve(service(oven))

    volts = 120 + math.sqrt(14400 - 1920)
    assert solution.load_v["oven"] == pytest.approx(volts, rel=1e-12)
    assert solution.load_a["oven"] == pytest.approx(9600 / volts, rel=1e-12)


def test_a_lagging_current_worked_by_hand() -> None:
    # Chosen backwards: 230 V at the load, 50 A lagging by acos 0.8, Z = 0.2 + j0.1.
    phasor_a = 50 * complex(0.8, -0.6)
    supply_v = 230 + (0.2 + 0.1j) * phasor_a
    source = split_phase_source(bus="pole", line_v=abs(supply_v))
    mill = constant_current_load(
        load_id="mill", bus="panel", between="A-B", current_a=50.0, power_factor=0.8
    )

    solution = solve(service(mill, leg=0.1 + 0.05j, source=source))

    assert abs(solution.load_v["mill"]) == pytest.approx(230.0, rel=1e-12)
    lag = cmath.phase(solution.load_v["mill"]) - cmath.phase(solution.load_a["mill"])
    assert lag == pytest.approx(math.acos(0.8), abs=1e-12)


def test_a_leading_current_raises_the_voltage_over_a_reactance() -> None:
    def volts(power_factor: float) -> float:
        load = constant_current_load(
            load_id="x",
            bus="panel",
            between="A-B",
            current_a=50.0,
            power_factor=power_factor,
        )
        return abs(solve(service(load, leg=0.05j)).load_v["x"])

    assert volts(-0.8) > 240 > volts(0.8)


def test_a_split_phase_source_has_the_loop_impedance_it_says() -> None:
    # 2 x 0.01 + 4 x 0.005 = 0.04 ohm; 80 A lose 3.2 V, half of it on each leg.
    source = split_phase_source(bus="pole", leg_ohm=0.01, shared_ohm=0.005)
    van = constant_current_load(
        load_id="van", bus="pole", between="A-B", current_a=80.0
    )
    solution = solve(Network(source, (), (van,)))

    assert solution.voltage_v("pole", "A", "B") == pytest.approx(236.8, rel=1e-12)
    assert solution.voltage_v("pole", "A") == pytest.approx(118.4, rel=1e-12)
    assert solution.source_w == pytest.approx(0.04 * 80**2, rel=1e-12)


def test_a_load_on_one_leg_lowers_the_other_through_what_they_share() -> None:
    # 20 A on leg A: leg A loses 20 x 0.015, leg B 20 x 0.005.
    source = split_phase_source(bus="pole", leg_ohm=0.01, shared_ohm=0.005)
    kettle = constant_current_load(
        load_id="kettle", bus="pole", between="A-N", current_a=20.0
    )
    solution = solve(Network(source, (), (kettle,)))

    assert solution.voltage_v("pole", "A") == pytest.approx(119.7, rel=1e-12)
    assert solution.voltage_v("pole", "B") == pytest.approx(-119.9, rel=1e-12)


def test_two_legs_of_a_wye_give_the_root_of_three() -> None:
    solution = solve(
        Network(wye_source(bus="vault"), (), (heater("lamp", "vault", "A-N", 144),))
    )
    assert abs(solution.voltage_v("vault", "A", "B")) == pytest.approx(
        120 * math.sqrt(3), rel=1e-12
    )


def test_equal_loads_on_two_legs_of_a_wye_fill_the_neutral() -> None:
    # Two phasors 120 degrees apart add to one of the same size.
    loads = (heater("a", "panel", "A-N", 12), heater("b", "panel", "B-N", 12))
    solution = solve(
        service(*loads, leg=0.0, neutral=0.0, source=wye_source(bus="pole"))
    )
    assert abs(solution.current_a("drop", "N")) == pytest.approx(10.0, rel=1e-12)


def test_a_loose_lug_shows_its_millivolts_and_watts() -> None:
    # 0.228 V at 47.6 A is 10.8528 W in one lug.
    van = constant_current_load(
        load_id="van", bus="panel", between="A-B", current_a=47.6
    )
    lug = Joint("lug", "drop", "A", 0.228 / 47.6)
    solution = solve(service(van, joints=(lug,)))

    assert abs(solution.joint_v["lug"]) == pytest.approx(0.228, rel=1e-12)
    assert solution.joint_w["lug"] == pytest.approx(10.8528, rel=1e-12)
    assert abs(solution.current_a("drop", "A")) == pytest.approx(
        abs(solution.current_a("drop", "B")), rel=1e-12
    )


def test_joints_on_one_conductor_add_up_and_lose_apart() -> None:
    van = constant_current_load(
        load_id="van", bus="panel", between="A-B", current_a=10.0
    )
    joints = (Joint("top", "drop", "B", 0.01), Joint("bottom", "drop", "B", 0.03))
    solution = solve(service(van, joints=joints))

    assert solution.joint_w == pytest.approx({"top": 1.0, "bottom": 3.0}, rel=1e-12)
    assert solution.element_w["drop"] == pytest.approx(20.0, rel=1e-12)
    assert solution.lost_w == pytest.approx(24.0, rel=1e-12)


def test_an_open_leg_leaves_a_heater_dead_and_240_volts_on_the_gap() -> None:
    solution = solve(
        service(
            heater("kiln", "panel", "A-B", 5),
            joints=(Joint("pole", "drop", "A", math.inf),),
        )
    )
    assert abs(solution.load_v["kiln"]) < 1e-9
    assert solution.joint_v["pole"] == pytest.approx(240.0, rel=1e-12)
    assert solution.voltage_v("panel", "A") == pytest.approx(-120.0, rel=1e-12)


def test_two_gaps_in_one_conductor_share_a_voltage_nobody_can_tell() -> None:
    joints = (
        Joint("top", "drop", "A", math.inf),
        Joint("bottom", "drop", "A", math.inf),
    )
    solution = solve(service(heater("kiln", "panel", "A-B", 5), joints=joints))
    assert solution.joint_v == {}


def test_a_bolted_fault_to_the_grounding_path_worked_by_hand() -> None:
    # Leg 0.02, run 0.05, ground back 0.08, neutral of the drop 0.03: 120/0.18 A.
    drop = Element("drop", "pole", "panel", 0.02, 0.02, 0.03)
    run = Element("run", "panel", "box", 0.05, None, None, 0.08)
    paths = (
        Path("bond", PANEL_N, PANEL_G),
        Path("fault", Terminal("box", "A"), Terminal("box", "G")),
    )
    solution = solve(
        Network(split_phase_source(bus="pole"), (drop, run), (), (), paths)
    )
    fault_a = 120 / 0.18
    assert solution.path_a["fault"] == pytest.approx(fault_a, rel=1e-12)
    assert solution.path_a["bond"] == pytest.approx(-fault_a, rel=1e-12)
    assert solution.between_v(Terminal("box", "G"), PANEL_N) == pytest.approx(
        0.08 * fault_a, rel=1e-12
    )


def test_an_open_ground_shows_phantom_volts() -> None:
    # Equal capacitances to leg A and to neutral divide 120 V in half.
    run = Element("run", "pole", "box", 0.1, None, 0.1, 0.1)
    box = {name: Terminal("box", name) for name in ("A", "N", "G")}
    network = Network(
        split_phase_source(bus="pole"),
        (run,),
        (),
        (Joint("pigtail", "run", "G", math.inf),),
        (
            Path("beside A", box["A"], box["G"], -2e7j),
            Path("beside N", box["G"], box["N"], -2e7j),
        ),
    )
    assert solve(network).voltage_v("box", "G") == pytest.approx(60.0, abs=1e-6)


def test_export_raises_the_voltage() -> None:
    # 20 A pushed back through 0.2 ohm: 244 V.
    roof = Load("roof", "panel", "A-B", "constant_current", -4800, 240.0)
    solution = solve(service(roof))
    assert solution.load_v["roof"] == pytest.approx(244.0, rel=1e-12)
    assert solution.supplied_va.real < 0


def test_a_circuit_at_rest_carries_nothing() -> None:
    solution = solve(service())
    assert solution.current_a("drop", "A") == 0
    assert solution.voltage_v("panel", "A", "B") == 240
    assert solution.residuals.largest == 0
    assert solution.lost_w == 0


def test_perfect_conductors_carry_their_current() -> None:
    solution = solve(service(heater("kiln", "panel", "A-B", 4.8), leg=0.0, neutral=0.0))
    assert solution.current_a("drop", "A") == pytest.approx(50.0, rel=1e-12)
    assert solution.element_w["drop"] == 0


def test_what_nothing_ties_to_the_source_floats_and_says_so() -> None:
    run = Element("run", "pole", "box", 0.1, 0.1, None, 0.1)
    network = Network(
        split_phase_source(bus="pole"), (run,), (heater("kiln", "box", "A-B", 5),)
    )
    solution = solve(network)

    assert solution.floating == (Terminal("box", "G"), Terminal("pole", "G"))
    assert solution.current_a("run", "G") == 0
    with pytest.raises(OutOfRange, match=r"box\.G floats"):
        solution.voltage_v("box", "A", "G")
    with pytest.raises(OutOfRange, match=r"attic\.A is not in the network"):
        solution.voltage_v("attic", "A", "N")
    with pytest.raises(OutOfRange, match="no conductor N"):
        solution.current_a("run", "N")


# ------------------------------------------------------------ collapse and hard loads


def oven_of(watts: float) -> Network:
    """Return a constant power behind 1 ohm on 240 V: at most 240^2/4 = 14 400 W."""
    oven = constant_power_load(load_id="oven", bus="panel", between="A-B", real_w=watts)
    return service(oven, leg=0.5)


@pytest.mark.parametrize("watts", [1000.0, 10_000.0, 13_000.0, 14_399.0])
def test_up_to_the_most_a_source_can_give_the_upper_voltage_is_found(
    watts: float,
) -> None:
    solution = solve(oven_of(watts))
    volts = 120 + math.sqrt(14_400 - watts)
    # Near the fold an error of the voltage grows as the root of a rounding.
    assert abs(solution.load_v["oven"]) == pytest.approx(volts, rel=1e-8)
    assert solution.residuals.largest < 1e-9


@pytest.mark.parametrize("watts", [14_401.0, 20_000.0, 1e6])
def test_over_the_most_a_source_can_give_is_refused(watts: float) -> None:
    with pytest.raises(OutOfRange, match="load 'oven' asks for more"):
        solve(oven_of(watts))


def test_constant_powers_in_series_on_an_open_neutral_are_refused() -> None:
    # The smaller would have to take the smaller share, yet it starts with the larger:
    # such a state is unstable and no real circuit comes to it.
    loads = tuple(
        constant_power_load(load_id=leg, bus="panel", between=between, real_w=watts)
        for leg, between, watts in (("a", "A-N", 100.0), ("b", "B-N", 150.0))
    )
    network = service(*loads, joints=(Joint("splice", "drop", "N", math.inf),))
    with pytest.raises(OutOfRange, match="no steady state exists"):
        solve(network)


def test_a_constant_current_on_a_dead_leg_is_refused() -> None:
    van = constant_current_load(
        load_id="van", bus="panel", between="A-B", current_a=30.0
    )
    network = service(van, joints=(Joint("pole", "drop", "A", math.inf),))
    with pytest.raises(OutOfRange, match="no steady state exists: load 'van'"):
        solve(network)


def test_several_hard_loads_together_keep_their_own_laws() -> None:
    loads = (
        constant_power_load(
            load_id="oven",
            bus="panel",
            between="A-B",
            real_w=9000.0,
            reactive_var=2000.0,
        ),
        constant_current_load(
            load_id="saw", bus="panel", between="A-N", current_a=30.0, power_factor=0.9
        ),
        heater("lamp", "panel", "B-N", 20),
    )
    solution = solve(service(*loads, leg=0.4, neutral=0.4))

    oven_va = solution.load_v["oven"] * solution.load_a["oven"].conjugate()
    assert oven_va == pytest.approx(9000 + 2000j, rel=1e-9)
    assert abs(solution.load_a["saw"]) == pytest.approx(30.0, rel=1e-9)
    assert solution.residuals.largest < 1e-9


def test_a_constant_current_beside_a_constant_power_near_collapse() -> None:
    # V = 240 - 1 x (40 + P/V): V = 100 + sqrt(10 000 - P).
    loads = (
        constant_current_load(
            load_id="van", bus="panel", between="A-B", current_a=40.0
        ),
        constant_power_load(load_id="oven", bus="panel", between="A-B", real_w=9990.0),
    )
    solution = solve(service(*loads, leg=0.5))
    assert abs(solution.load_v["oven"]) == pytest.approx(
        100 + math.sqrt(10.0), rel=1e-8
    )


def test_the_same_near_collapse_on_the_turned_leg_of_a_wye() -> None:
    # V = 120 - 1 x (20 + P/V): V = 50 + sqrt(2500 - P), 120 degrees behind leg A.
    loads = (
        constant_current_load(
            load_id="fan", bus="panel", between="B-N", current_a=20.0
        ),
        constant_power_load(load_id="pump", bus="panel", between="B-N", real_w=2499.0),
    )
    source = wye_source(bus="pole")
    solution = solve(service(*loads, leg=0.5, neutral=0.5, source=source))
    assert solution.load_v["pump"] == pytest.approx(
        cmath.rect(51.0, -2 * math.pi / 3), rel=1e-8
    )


@pytest.mark.parametrize("kind", ["constant_power", "constant_current"])
def test_a_lagging_load_near_collapse_worked_by_hand(kind: str) -> None:
    # Built backwards: at 150 V, S = 9000 + j3000 VA draws 60 - j20 A; over
    # 1 + j1 ohm that loses 80 + j40 V, so the source has |230 + j40| V.
    source = split_phase_source(bus="pole", line_v=abs(230 + 40j))
    mill = Load("mill", "panel", "A-B", kind, 9000 + 3000j, 150.0)  # type: ignore[arg-type]
    solution = solve(service(mill, leg=0.5 + 0.5j, source=source))
    assert abs(solution.load_v["mill"]) == pytest.approx(150.0, rel=1e-9)
    used_va = solution.load_v["mill"] * solution.load_a["mill"].conjugate()
    assert used_va == pytest.approx(9000 + 3000j, rel=1e-9)


def test_a_lagging_load_and_a_current_that_need_small_steps() -> None:
    # Built backwards at 125 V: power 10 000 + j2500 VA draws 80 - j20 A, the current
    # load 8 - j6 A (10 A at 0.8); 88 - j26 A over 1 + j1 ohm lose 114 + j62 V.
    source = split_phase_source(bus="pole", line_v=abs(239 + 62j))
    loads = (
        constant_power_load(
            load_id="mill",
            bus="panel",
            between="A-B",
            real_w=10_000.0,
            reactive_var=2500.0,
        ),
        constant_current_load(
            load_id="fan",
            bus="panel",
            between="A-B",
            current_a=10.0,
            power_factor=0.8,
        ),
    )
    solution = solve(service(*loads, leg=0.5 + 0.5j, source=source))
    assert abs(solution.load_v["mill"]) == pytest.approx(125.0, rel=1e-8)


def test_a_step_towards_a_hard_load_that_has_no_answer_is_refused(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    def singular(matrix: object) -> None:
        raise OutOfRange("no single solution")

    monkeypatch.setattr("lugbook.physics.network_loads.factorize", singular)
    with pytest.raises(OutOfRange, match="no steady state exists"):
        solve(oven_of(13_900.0))


def test_a_load_may_hang_between_neutral_and_ground() -> None:
    # 2 A from the ground, fed by leg A through 10 ohm: 120 - 20 V remain.
    leak = constant_current_load(
        load_id="leak", bus="pole", between="N-G", current_a=2.0
    )
    feed = Path("feed", Terminal("pole", "A"), Terminal("pole", "G"), 10.0)
    solution = solve(service(leak, paths=(feed,)))
    assert solution.load_v["leak"] == pytest.approx(-100.0, rel=1e-12)


def test_each_kind_of_load_keeps_what_its_name_says() -> None:
    heat = heater("x", "panel", "A-N", 10)
    held = constant_current_load(
        load_id="x", bus="panel", between="A-N", current_a=12.0
    )
    motor = constant_power_load(load_id="x", bus="panel", between="A-N", real_w=600.0)
    assert heat.current_a(60 + 0j) == pytest.approx(6.0, rel=1e-14)
    assert held.current_a(60j) == pytest.approx(12j, rel=1e-14)
    assert motor.current_a(60 + 0j) == pytest.approx(10.0, rel=1e-14)


# ----------------------------------------------------------------------- properties

OHMS = st.floats(0.001, 0.5)
LOAD_OHMS = st.floats(2.0, 200.0)
REACTANCES = st.floats(0.0, 0.2)


@st.composite
def houses(draw: st.DrawFn) -> Network:
    """Return a house with a subpanel, a bonded panel and loads of all kinds."""
    leg = complex(draw(OHMS), draw(REACTANCES)) / 10
    elements = (
        Element("drop", "pole", "panel", leg, leg, 1.5 * leg),
        Element("feeder", "panel", "sub", *(draw(OHMS) for _ in range(4))),
        Element("run", "sub", "point", *(draw(OHMS) for _ in range(4))),
    )
    loads = (
        heater("kettle", "panel", "A-N", draw(LOAD_OHMS)),
        heater("lamp", "sub", "B-N", complex(draw(LOAD_OHMS), 5)),
        heater("kiln", "point", "A-B", draw(LOAD_OHMS)),
        constant_current_load(
            load_id="van",
            bus="sub",
            between="A-B",
            current_a=draw(st.floats(0.0, 30.0)),
        ),
        constant_power_load(
            load_id="motor",
            bus="panel",
            between=draw(st.sampled_from(("A-N", "B-N"))),
            real_w=draw(st.floats(0.0, 1500.0)),
            reactive_var=draw(st.floats(0.0, 500.0)),
        ),
    )
    joints = (Joint("splice", "drop", "N", draw(st.floats(0.0, 0.3))),)
    paths = (
        Path("bond", PANEL_N, PANEL_G, 0.0),
        Path("rod", PANEL_G, EARTH, draw(st.floats(5.0, 100.0))),
        Path("tap", POLE_N, EARTH, 5.0),
    )
    source = split_phase_source(bus="pole", leg_ohm=0.004, shared_ohm=0.003 + 0.004j)
    return Network(source, elements, loads, joints, paths)


@given(house=houses())
@settings(max_examples=60, deadline=None)
def test_laws_are_kept_and_energy_is_balanced(house: Network) -> None:
    solution = solve(house)

    used_w = sum(
        (solution.load_v[name] * ampere.conjugate()).real
        for name, ampere in solution.load_a.items()
    )
    assert solution.residuals.largest < 1e-9
    assert solution.supplied_va.real == pytest.approx(
        used_w + solution.lost_w, rel=1e-9
    )


def mirrored(network: Network) -> Network:
    """Return the network with its legs exchanged."""
    swap = str.maketrans("AB", "BA")
    source = network.source
    loads = []
    for load in network.loads:
        between = "A-B" if load.between == "A-B" else load.between.translate(swap)
        loads.append(replace(load, between=between))
    return Network(
        replace(
            source,
            leg_a_v=source.leg_b_v,
            leg_b_v=source.leg_a_v,
            leg_a_ohm=source.leg_b_ohm,
            leg_b_ohm=source.leg_a_ohm,
        ),
        tuple(
            replace(item, leg_a_ohm=item.leg_b_ohm, leg_b_ohm=item.leg_a_ohm)
            for item in network.elements
        ),
        tuple(loads),
        tuple(
            replace(item, conductor=item.conductor.translate(swap))
            for item in network.joints
        ),
        network.paths,
    )


@given(house=houses())
@settings(max_examples=30, deadline=None)
def test_exchanging_the_legs_exchanges_the_answer(house: Network) -> None:
    one, other = solve(house), solve(mirrored(house))
    for element in house.elements:
        name = element.element_id
        assert one.current_a(name, "A") == pytest.approx(
            other.current_a(name, "B"), rel=1e-9, abs=1e-9
        )
        assert one.current_a(name, "N") == pytest.approx(
            other.current_a(name, "N"), rel=1e-9, abs=1e-9
        )


@given(house=houses(), more=st.floats(1e-4, 1.0), conductor=st.sampled_from(("A", "B")))
@settings(max_examples=40, deadline=None)
def test_a_worse_joint_never_raises_the_voltage_of_the_heater_behind_it(
    house: Network, more: float, conductor: str
) -> None:
    worse = replace(house, joints=(*house.joints, Joint("bad", "run", conductor, more)))

    before, after = solve(house), solve(worse)

    assert abs(after.load_v["kiln"]) < abs(before.load_v["kiln"])


@given(ohms=st.lists(LOAD_OHMS, min_size=3, max_size=3), factor=st.floats(0.5, 2.0))
@settings(max_examples=20, deadline=None)
def test_impedances_scale_with_the_source(ohms: list[float], factor: float) -> None:
    loads = [
        heater(name, "panel", between, ohm)
        for name, between, ohm in zip("abc", ("A-N", "B-N", "A-B"), ohms, strict=True)
    ]
    one = solve(service(*loads))
    other = solve(
        service(*loads, source=split_phase_source(bus="pole", line_v=240 * factor))
    )
    for name in "abc":
        assert other.load_v[name] == pytest.approx(factor * one.load_v[name], rel=1e-9)


# -------------------------------------------------------------------------- refusals


def faults_of(**changed: object) -> str:
    """Return the message of refusing the simple service with something changed."""
    parts: dict[str, object] = {
        "source": split_phase_source(bus="pole"),
        "elements": (Element("drop", "pole", "panel", 0.1, 0.1, 0.2),),
        "loads": (heater("kettle", "panel", "A-N", 10),),
        "joints": (),
        "paths": (),
    }
    with pytest.raises(InputError) as caught:
        Network(**(parts | changed))  # type: ignore[arg-type]
    return str(caught.value)


DROP = Element("drop", "pole", "panel", 0.1, 0.1, 0.2)
KETTLE = heater("kettle", "panel", "A-N", 10)


@pytest.mark.parametrize(
    ("changed", "message"),
    [
        ({"elements": (DROP, DROP)}, "element drop: the name is used 2 times"),
        ({"loads": (KETTLE, KETTLE)}, "load kettle: the name is used 2 times"),
        (
            {"elements": (DROP, replace(DROP, element_id="twin"))},
            "element twin: closes a loop between buses 'pole' and 'panel'",
        ),
        (
            {"elements": (DROP, Element("far", "shed", "barn", 0.1))},
            "bus barn: no element leads to it from the source",
        ),
        (
            {"elements": (replace(DROP, leg_a_ohm=-0.1),)},
            "conductor A: -0.1+0j ohm",
        ),
        (
            {"elements": (replace(DROP, neutral_ohm=0.1 - 0.1j),)},
            "conductor N: 0.1-0.1j ohm",
        ),
        (
            {"elements": (replace(DROP, leg_b_ohm=math.inf),)},
            "An open conductor is a Joint of math.inf ohm",
        ),
        ({"elements": (Element("drop", "pole", "panel"),)}, "no conductor"),
        (
            {"elements": (DROP, Element("stake", "panel", "earth", 0.1))},
            "an end at bus 'earth'",
        ),
        (
            {"joints": (Joint("lug", "drop", "G", 0.1),)},
            "joint lug: conductor G of element drop, which does not exist",
        ),
        ({"joints": (Joint("lug", "drop", "A", -0.1),)}, "joint lug: -0.1 ohm"),
        ({"joints": (Joint("lug", "drop", "A", math.nan),)}, "joint lug: nan ohm"),
        ({"loads": (replace(KETTLE, between="A-C"),)}, "between 'A-C'"),
        ({"loads": (replace(KETTLE, kind="wild"),)}, "kind 'wild'"),
        ({"loads": (replace(KETTLE, rated_v=0.0),)}, "rated at 0 V"),
        ({"loads": (replace(KETTLE, rated_va=math.nan + 0j),)}, "nan"),
        (
            {"loads": (replace(KETTLE, rated_va=-100 + 0j),)},
            "-100 W as constant impedance",
        ),
        (
            {"loads": (replace(KETTLE, bus="attic"),)},
            "load kettle: hangs on attic.A, which no conductor reaches",
        ),
        (
            {"loads": (replace(KETTLE, between="A-G"),)},
            "hangs on panel.G, which no conductor reaches",
        ),
        ({"paths": (Path("rod", PANEL_N, PANEL_N),)}, "from and to panel.N"),
        ({"paths": (Path("rod", PANEL_N, EARTH, -1.0),)}, "path rod: -1+0j ohm"),
        (
            {"paths": (Path("rod", PANEL_N, Terminal("earth", "N"), 1.0),)},
            "earth.G for earth",
        ),
        (
            {"paths": (Path("pipe", PANEL_N, Terminal("attic", "N"), 1.0),)},
            "path pipe: bus 'attic'",
        ),
        (
            {"source": Source("s", "pole", 0.0, -120.0)},
            "two finite voltages above 0 V",
        ),
        (
            {"source": Source("s", "pole", 120.0, -120.0, 0.1, 0.1, 0.101)},
            "a mutual resistance of 0.101 ohm",
        ),
    ],
)
def test_a_network_that_makes_no_sense_is_refused_with_the_reason(
    changed: dict[str, object], message: str
) -> None:
    assert message in faults_of(**changed)


def test_every_fault_is_named_at_once() -> None:
    message = faults_of(
        elements=(replace(DROP, leg_a_ohm=-1.0),),
        joints=(Joint("lug", "none", "A", 1.0),),
    )
    assert "element drop, conductor A" in message
    assert "joint lug" in message


def test_a_ring_of_perfect_conductors_is_refused() -> None:
    twice = (Path("bond", PANEL_N, PANEL_G), Path("strap", PANEL_G, PANEL_N))
    with pytest.raises(InputError, match="path strap: 0 ohm, and closes a ring"):
        solve(service(paths=twice))


def test_a_short_circuit_of_an_ideal_source_is_refused() -> None:
    short = Path("short", Terminal("pole", "A"), Terminal("pole", "B"))
    with pytest.raises(InputError, match="path short: 0 ohm, and closes a ring"):
        solve(service(paths=(short,)))


def test_a_load_that_open_conductors_cut_off_is_refused() -> None:
    joints = tuple(Joint(name, "drop", name, math.inf) for name in ("A", "B", "N"))
    with pytest.raises(InputError, match="leave A-N at bus 'panel' without source"):
        solve(service(KETTLE, joints=joints))


def test_a_load_of_nothing_behind_an_open_conductor_is_refused() -> None:
    van = constant_current_load(
        load_id="van", bus="panel", between="A-B", current_a=0.0
    )
    with pytest.raises(InputError, match="load van: open conductors leave A-B"):
        solve(service(van, joints=(Joint("pole", "drop", "A", math.inf),)))


@pytest.mark.parametrize(
    ("given_load", "message"),
    [
        ({"current_a": -1.0}, "-1 A; accepted: 0 A or more"),
        ({"current_a": 1.0, "power_factor": 1.01}, "1.01; accepted: -1 to 1"),
    ],
)
def test_a_constant_current_out_of_range_is_refused(
    given_load: dict[str, float], message: str
) -> None:
    with pytest.raises(InputError, match=message):
        constant_current_load(load_id="x", bus="panel", between="A-N", **given_load)


@pytest.mark.parametrize("power_factor", [-1.0, 1.0])
def test_the_ends_of_the_power_factor_draw_no_vars(power_factor: float) -> None:
    load = constant_current_load(
        load_id="x",
        bus="panel",
        between="A-N",
        current_a=5.0,
        power_factor=power_factor,
    )
    assert load.rated_va == 600.0


def test_a_load_of_no_impedance_is_refused() -> None:
    with pytest.raises(InputError, match="Use a Path"):
        heater("short", "panel", "A-N", 0.0)


@pytest.mark.parametrize("load_ohm", [1e-6, 1e9])
@pytest.mark.parametrize("leg_ohm", [0.0, 1e-9, 1e3])
def test_impedances_eighteen_decades_apart_still_keep_the_laws(
    load_ohm: float, leg_ohm: float
) -> None:
    solution = solve(
        service(
            heater("x", "panel", "A-B", load_ohm),
            heater("y", "panel", "A-N", 12.0),
            leg=leg_ohm,
            joints=(Joint("splice", "drop", "N", math.inf),),
        )
    )
    assert solution.residuals.largest < 1e-9


def test_one_load_behind_an_open_neutral_draws_nothing() -> None:
    solution = solve(service(KETTLE, joints=(Joint("splice", "drop", "N", math.inf),)))
    assert abs(solution.load_a["kettle"]) < 1e-12
    assert solution.voltage_v("panel", "N", "A") == pytest.approx(0.0, abs=1e-9)
    assert solution.joint_v["splice"] == pytest.approx(-120.0, abs=1e-9)


def test_constant_power_without_a_way_back_is_refused_not_sent_to_endless_volts() -> (
    None
):
    saw = constant_power_load(load_id="saw", bus="panel", between="A-N", real_w=1e-6)
    with pytest.raises(OutOfRange, match="load 'saw' asks for more"):
        solve(service(saw, joints=(Joint("splice", "drop", "N", math.inf),)))


def test_an_answer_that_misses_the_laws_is_refused(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    # No circuit we know of gets here, so the promise is made impossible instead.
    monkeypatch.setattr("lugbook.physics.network._RESIDUAL_LIMIT", -1.0)
    with pytest.raises(OutOfRange, match="laws are met only to"):
        solve(service(KETTLE))
