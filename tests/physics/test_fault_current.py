"""Bolted fault currents."""

import math

import pytest

from lugbook.errors import OutOfRange
from lugbook.physics.fault_current import (
    centre_tapped_transformer,
    fault_current,
    fault_currents,
    full_load_current,
    terminal_fault_current,
    transformer_impedance,
    utility_impedance,
)
from lugbook.physics.network import (
    Element,
    Network,
    Path,
    Terminal,
    solve,
    split_phase_source,
)


@pytest.mark.parametrize(
    ("rated_va", "fraction", "expected_a"),
    [
        # 25 000/240/0.015, 50 000/240/0.018, 100 000/240/0.018
        (25e3, 0.015, 6944.44),
        (50e3, 0.018, 11574.07),
        (100e3, 0.018, 23148.15),
    ],
)
def test_terminal_fault_current_by_hand(
    rated_va: float, fraction: float, expected_a: float
) -> None:
    found = terminal_fault_current(
        rated_va=rated_va, line_v=240.0, impedance_fraction=fraction
    )
    assert found == pytest.approx(expected_a, abs=0.005)


def test_full_load_current_by_hand() -> None:
    assert full_load_current(rated_va=25e3, line_v=240.0) == pytest.approx(
        104.1667, abs=5e-5
    )


def test_transformer_impedance_by_hand() -> None:
    # 0.02 x 240^2/24 000 = 0.048 ohm; X/R of 4/3 makes a 3-4-5 triangle.
    found = transformer_impedance(
        rated_va=24e3,
        line_v=240.0,
        impedance_fraction=0.02,
        reactance_over_resistance=4 / 3,
    )
    assert found == pytest.approx(0.0288 + 0.0384j, abs=1e-15)


@pytest.mark.parametrize(
    ("ratio", "multiple"),
    # All resistance: 2/1.5. All reactance, as 100 to 1 nearly is: 2/1.2.
    [(0.0, 2 / 1.5), (100.0, 2 / 1.2)],
)
def test_the_centre_tap_multiplies_the_fault_by_one_third_to_two_thirds_more(
    ratio: float, multiple: float
) -> None:
    # teaching-short-circuit: 1.5 is an approximation, theoretically 1.33 to 1.67.
    found = fault_currents(
        transformer=centre_tapped_transformer(
            rated_va=25e3, impedance_fraction=0.016, reactance_over_resistance=ratio
        )
    )
    assert found.line_to_neutral_a / found.line_to_line_a == pytest.approx(
        multiple, rel=1e-4
    )
    assert found.largest_a == found.line_to_neutral_a


@pytest.mark.parametrize("ratio", [0.0, 1.0, 3.0])
def test_halves_and_primary_add_up_to_the_nameplate(ratio: float) -> None:
    given = {
        "rated_va": 37.5e3,
        "impedance_fraction": 0.017,
        "reactance_over_resistance": ratio,
    }
    made = centre_tapped_transformer(**given)
    whole_ohm = transformer_impedance(line_v=240.0, **given)
    # Per unit of 120 V: 0.5 R + j 0.8 X before the halves, R + j 0.4 X in each.
    quarter_ohm = whole_ohm / 4
    assert made.line_to_line_ohm == pytest.approx(whole_ohm, rel=1e-12)
    assert made.shared_ohm == pytest.approx(
        complex(0.5 * quarter_ohm.real, 0.8 * quarter_ohm.imag), rel=1e-12
    )
    assert made.leg_ohm == pytest.approx(
        complex(quarter_ohm.real, 0.4 * quarter_ohm.imag), rel=1e-12
    )


def test_fault_current_by_hand() -> None:
    # 0.03 + j0.02 and 0.03 + j0.06: 0.06 + j0.08 is 0.1 ohm, 2400 A.
    found = fault_current(line_v=240.0, loop_ohm=(0.03 + 0.02j, 0.03 + 0.06j))
    assert found == pytest.approx(2400.0, rel=1e-14)


def test_sizes_of_impedances_do_not_simply_add() -> None:
    # 3 mohm and j4 mohm are 5 mohm, not 7.
    assert fault_current(line_v=240.0, loop_ohm=(0.003, 0.004j)) == pytest.approx(
        48_000.0, rel=1e-14
    )


def test_conductor_brings_a_large_transformer_under_a_breaker_rating() -> None:
    # 100 kVA, 1.8 %, X/R 2: 0.010368 ohm, 0.0046367 + j0.0092734. 40 ft of conductor
    # at 0.0001 ohm/ft each way adds 0.008: 240/|0.0126367 + j0.0092734| = 15 311 A.
    made = centre_tapped_transformer(
        rated_va=100e3, impedance_fraction=0.018, reactance_over_resistance=2.0
    )
    found = fault_currents(transformer=made, leg_ohm=0.004, neutral_ohm=0.004)
    assert found.line_to_line_a == pytest.approx(15_311.0, abs=2.0)


def test_a_stated_fault_current_comes_back() -> None:
    ohm = utility_impedance(fault_a=9300.0, line_v=240.0, reactance_over_resistance=1.7)
    assert ohm.imag / ohm.real == pytest.approx(1.7, rel=1e-14)
    assert fault_current(line_v=240.0, loop_ohm=[ohm]) == pytest.approx(
        9300.0, rel=1e-14
    )


def test_a_weak_primary_lowers_both_faults() -> None:
    made = centre_tapped_transformer(
        rated_va=50e3, impedance_fraction=0.02, reactance_over_resistance=100.0
    )
    strong = fault_currents(transformer=made)
    weak = fault_currents(transformer=made, primary_fault_va=2.5e6)
    # The transformer alone is 2.5 MVA at its terminals: half the line-to-line current.
    assert weak.line_to_line_a == pytest.approx(strong.line_to_line_a / 2, rel=1e-3)
    # To neutral: 1.2 X of the transformer beside 1 X of the primary.
    assert weak.line_to_neutral_a == pytest.approx(
        strong.line_to_neutral_a * 1.2 / 2.2, rel=1e-3
    )


@pytest.mark.parametrize("ratio", [0.5, 1.0, 2.5])
def test_fault_current_agrees_with_the_network(ratio: float) -> None:
    made = centre_tapped_transformer(
        rated_va=25e3, impedance_fraction=0.02, reactance_over_resistance=ratio
    )
    leg_ohm, neutral_ohm = 0.011 + 0.002j, 0.018 + 0.003j
    found = fault_currents(transformer=made, leg_ohm=leg_ohm, neutral_ohm=neutral_ohm)
    source = split_phase_source(
        bus="pole", leg_ohm=made.leg_ohm, shared_ohm=made.shared_ohm
    )
    drop = Element("drop", "pole", "panel", leg_ohm, leg_ohm, neutral_ohm)

    def bolted(other: str) -> float:
        path = Path("fault", Terminal("panel", "A"), Terminal("panel", other))
        return abs(solve(Network(source, (drop,), (), (), (path,))).path_a["fault"])

    assert bolted("B") == pytest.approx(found.line_to_line_a, rel=1e-12)
    assert bolted("N") == pytest.approx(found.line_to_neutral_a, rel=1e-12)


def test_a_loop_of_nothing_is_refused() -> None:
    with pytest.raises(OutOfRange, match="no bound"):
        fault_current(line_v=240.0, loop_ohm=())


@pytest.mark.parametrize("part_ohm", [-0.01, 0.01 - 0.01j, complex(math.nan, 0)])
def test_a_negative_or_unknown_impedance_is_refused(part_ohm: complex) -> None:
    with pytest.raises(OutOfRange, match="of the loop"):
        fault_current(line_v=240.0, loop_ohm=(0.1, part_ohm))


@pytest.mark.parametrize(
    ("fraction", "fits"),
    [(0.00199, False), (0.002, True), (0.2, True), (0.201, False), (1.8, False)],
)
def test_percent_given_for_a_fraction_is_noticed(fraction: float, fits: bool) -> None:
    def ask() -> float:
        return terminal_fault_current(
            rated_va=25e3, line_v=240.0, impedance_fraction=fraction
        )

    if fits:
        assert ask() > 0
    else:
        with pytest.raises(OutOfRange, match=r"1\.8 % is 0\.018"):
            ask()


def test_a_transformer_without_rating_is_refused() -> None:
    with pytest.raises(OutOfRange, match="transformer's rating is 0 VA"):
        full_load_current(rated_va=0.0, line_v=240.0)


def test_a_primary_without_power_is_refused() -> None:
    made = centre_tapped_transformer(
        rated_va=50e3, impedance_fraction=0.02, reactance_over_resistance=2.0
    )
    with pytest.raises(OutOfRange, match="short-circuit power"):
        fault_currents(transformer=made, primary_fault_va=0.0)
