"""Source, leg and neutral resistance from readings, by hand and from our circuits."""

import math

import pytest

from lugbook.errors import OutOfRange
from lugbook.physics.network import (
    EARTH,
    Element,
    Joint,
    Load,
    Network,
    Path,
    Solution,
    Source,
    Terminal,
    constant_current_load,
    solve,
    split_phase_source,
    wye_source,
)
from lugbook.physics.source import (
    fall_pattern,
    leg_resistances,
    leg_resistances_wye,
    neutral_resistance,
    neutral_resistance_wye,
    source_resistance,
    source_resistance_uncertainty,
    supply_kind,
)


def readings(
    source: Source,
    *loads: Load,
    leg_b_extra_ohm: float = 0.0,
    neutral_ohm: float = 0.03,
    paths: tuple[Path, ...] = (),
) -> dict[str, float]:
    """Return what a meter at the panel reads."""
    drop = Element("drop", "pole", "panel", 0.02, 0.02, neutral_ohm)
    joints = (Joint("splice", "drop", "B", leg_b_extra_ohm),)
    solution: Solution = solve(Network(source, (drop,), loads, joints, paths))
    return {
        "leg_a": abs(solution.voltage_v("panel", "A")),
        "leg_b": abs(solution.voltage_v("panel", "B")),
        "line": abs(solution.voltage_v("panel", "A", "B")),
    }


def draw(between: str, current_a: float) -> Load:
    return constant_current_load(
        load_id="known",
        bus="panel",
        between=between,  # type: ignore[arg-type]
        current_a=current_a,
    )


def test_source_resistance_by_hand() -> None:
    # 241.6 to 236.8 V with 60 A more: 4.8/60
    found = source_resistance(before_v=241.6, after_v=236.8, current_change_a=60.0)
    assert found == pytest.approx(0.08, abs=1e-12)


def test_a_voltage_that_rose_gives_a_negative_resistance_not_a_pretty_one() -> None:
    assert source_resistance(before_v=240, after_v=241, current_change_a=50) < 0


def test_leg_resistances_by_hand() -> None:
    found = leg_resistances(
        leg_a_before_v=121.0,
        leg_a_after_v=119.0,
        leg_b_before_v=120.6,
        leg_b_after_v=115.6,
        current_change_a=50.0,
    )
    assert found.leg_a_ohm == pytest.approx(0.04, abs=1e-12)
    assert found.leg_b_ohm == pytest.approx(0.10, abs=1e-12)
    assert found.loop_ohm == pytest.approx(0.14, abs=1e-12)


def test_readings_of_a_network_give_it_back() -> None:
    source = split_phase_source(bus="pole", leg_ohm=0.006, shared_ohm=0.004)
    before = readings(source, leg_b_extra_ohm=0.05)
    after = readings(source, draw("A-B", 64.0), leg_b_extra_ohm=0.05)

    legs = leg_resistances(
        leg_a_before_v=before["leg_a"],
        leg_a_after_v=after["leg_a"],
        leg_b_before_v=before["leg_b"],
        leg_b_after_v=after["leg_b"],
        current_change_a=64.0,
    )
    loop_ohm = source_resistance(
        before_v=before["line"], after_v=after["line"], current_change_a=64.0
    )

    # Each leg: 0.02 of drop, 0.006 of winding, twice 0.004 that both share.
    assert legs.leg_a_ohm == pytest.approx(0.034, rel=1e-9)
    assert legs.leg_b_ohm == pytest.approx(0.084, rel=1e-9)
    assert loop_ohm == pytest.approx(0.118, rel=1e-9)


def test_readings_of_a_wye_network_give_it_back() -> None:
    source = wye_source(bus="pole", leg_ohm=0.01)
    before = readings(source, leg_b_extra_ohm=0.04)
    after = readings(source, draw("A-B", 64.0), leg_b_extra_ohm=0.04)

    legs = leg_resistances_wye(
        leg_a_before_v=before["leg_a"],
        leg_a_after_v=after["leg_a"],
        leg_b_before_v=before["leg_b"],
        leg_b_after_v=after["leg_b"],
        current_change_a=64.0,
    )

    # The current lies along the line voltage, 30 degrees from each leg, exactly.
    assert legs.leg_a_ohm == pytest.approx(0.03, rel=1e-9)
    assert legs.leg_b_ohm == pytest.approx(0.07, rel=1e-9)


def test_the_wye_fall_is_866_thousandths_of_the_drop() -> None:
    found = leg_resistances_wye(
        leg_a_before_v=120.0,
        leg_a_after_v=120.0 - 0.0866025,
        leg_b_before_v=120.0,
        leg_b_after_v=120.0,
        current_change_a=1.0,
    )
    # First order: 0.1 ohm; the second order is (0.05)^2/240 V of 0.1 V.
    assert found.leg_a_ohm == pytest.approx(0.1, abs=2e-5)
    assert found.leg_b_ohm == pytest.approx(0.0, abs=1e-12)


def test_neutral_resistance_by_hand() -> None:
    # 15 A: the other leg rises 0.6 V, 0.04 ohm; its own falls 1.35 V, 0.09 in all.
    found = neutral_resistance(
        loaded_before_v=120.4,
        loaded_after_v=119.05,
        opposite_before_v=120.2,
        opposite_after_v=120.8,
        current_change_a=15.0,
    )
    assert found.neutral_ohm == pytest.approx(0.04, abs=1e-12)
    assert found.leg_ohm == pytest.approx(0.05, abs=1e-12)


def test_neutral_of_a_network_is_given_back() -> None:
    source = split_phase_source(bus="pole", leg_ohm=0.006, shared_ohm=0.004)
    before = readings(source, neutral_ohm=0.25)
    after = readings(source, draw("A-N", 12.0), neutral_ohm=0.25)

    def found(shared_ohm: float) -> tuple[float, float]:
        answer = neutral_resistance(
            loaded_before_v=before["leg_a"],
            loaded_after_v=after["leg_a"],
            opposite_before_v=before["leg_b"],
            opposite_after_v=after["leg_b"],
            current_change_a=12.0,
            shared_ohm=shared_ohm,
        )
        return answer.neutral_ohm, answer.leg_ohm

    assert found(0.004) == pytest.approx((0.25, 0.03), rel=1e-9)
    # What is not told of the primary is missing from the neutral.
    assert found(0.0) == pytest.approx((0.246, 0.034), rel=1e-9)


def test_earth_beside_the_neutral_counts_as_part_of_it() -> None:
    paths = (
        Path("rod", Terminal("panel", "N"), EARTH, 3.0),
        Path("tap", EARTH, Terminal("pole", "N"), 1.0),
    )
    source = split_phase_source(bus="pole")
    before = readings(source, neutral_ohm=1.0, paths=paths)
    after = readings(source, draw("A-N", 10.0), neutral_ohm=1.0, paths=paths)
    found = neutral_resistance(
        loaded_before_v=before["leg_a"],
        loaded_after_v=after["leg_a"],
        opposite_before_v=before["leg_b"],
        opposite_after_v=after["leg_b"],
        current_change_a=10.0,
    )
    # 1 ohm beside 4 ohm
    assert found.neutral_ohm == pytest.approx(0.8, rel=1e-9)


def test_neutral_of_a_wye_network_is_given_back() -> None:
    source = wye_source(bus="pole", leg_ohm=0.01)
    before = readings(source, neutral_ohm=0.4)
    after = readings(source, draw("A-N", 12.0), neutral_ohm=0.4)
    found = neutral_resistance_wye(
        loaded_before_v=before["leg_a"],
        loaded_after_v=after["leg_a"],
        opposite_before_v=before["leg_b"],
        opposite_after_v=after["leg_b"],
        current_change_a=12.0,
    )
    assert found.neutral_ohm == pytest.approx(0.4, rel=1e-9)
    assert found.leg_ohm == pytest.approx(0.03, rel=1e-9)


def test_uncertainty_of_a_source_resistance_by_hand() -> None:
    # Volts: 0.12/40 = 0.003 ohm; amperes: 0.08 x 0.05 = 0.004 ohm; together 0.005.
    found = source_resistance_uncertainty(
        resistance_ohm=0.08,
        current_change_a=40.0,
        voltage_change_uncertainty_v=0.12,
        current_uncertainty_fraction=0.05,
    )
    assert found == pytest.approx(0.005, abs=1e-15)


@pytest.mark.parametrize(
    ("leg_a_v", "leg_b_v", "line_v", "kind"),
    [
        (120.2, 119.7, 239.9, "split phase"),
        (120.2, 119.7, 241.3, "split phase"),
        (120.2, 119.7, 241.5, "cannot tell"),
        (120.0, 120.0, 207.8, "wye"),
        (120.0, 120.0, 206.4, "wye"),
        (120.0, 120.0, 206.2, "cannot tell"),
        (120.1, 120.0, 0.2, "one leg twice"),
        (120.1, 120.0, 1.7, "cannot tell"),
        (0.3, 120.0, 120.1, "cannot tell"),
        (0.0, 0.0, 0.0, "cannot tell"),
    ],
)
def test_three_voltages_tell_the_kind_of_supply(
    leg_a_v: float, leg_b_v: float, line_v: float, kind: str
) -> None:
    # Just inside and just outside 1.5 V of each kind's line voltage.
    found = supply_kind(
        leg_a_v=leg_a_v, leg_b_v=leg_b_v, line_v=line_v, tolerance_v=1.5
    )
    assert found == kind


@pytest.mark.parametrize(
    ("leg_a_fall_v", "leg_b_fall_v", "pattern"),
    [
        (3.0, 3.1, "both legs"),
        (2.0, 3.2, "both legs"),  # 3.1 is under 1.5 x 2.1
        (2.0, 3.25, "both legs"),  # 3.15 is 1.5 x 2.1
        (2.0, 3.3, "leg B"),  # 3.2 is over it
        (6.0, 1.0, "leg A"),
        (6.0, -0.05, "leg A"),
        (1.4, -0.9, "neutral"),
        (-0.9, 1.4, "neutral"),
        (-0.9, -1.4, "both rise"),
        (-0.9, 0.05, "cannot tell"),
        (0.1, -0.1, "cannot tell"),
        (0.0, 0.0, "cannot tell"),
    ],
)
def test_falls_of_voltage_point_to_a_part(
    leg_a_fall_v: float, leg_b_fall_v: float, pattern: str
) -> None:
    found = fall_pattern(
        leg_a_fall_v=leg_a_fall_v, leg_b_fall_v=leg_b_fall_v, resolution_v=0.1
    )
    assert found == pattern


def test_a_240_volt_load_never_points_to_the_neutral() -> None:
    source = split_phase_source(bus="pole", leg_ohm=0.005)
    before = readings(source, neutral_ohm=3.0)
    after = readings(source, draw("A-B", 80.0), neutral_ohm=3.0)
    found = fall_pattern(
        leg_a_fall_v=before["leg_a"] - after["leg_a"],
        leg_b_fall_v=before["leg_b"] - after["leg_b"],
        resolution_v=0.1,
    )
    assert found == "both legs"


def test_a_120_volt_load_on_a_bad_neutral_points_to_it() -> None:
    source = split_phase_source(bus="pole", leg_ohm=0.005)
    before = readings(source, neutral_ohm=0.5)
    after = readings(source, draw("A-N", 12.0), neutral_ohm=0.5)
    found = fall_pattern(
        leg_a_fall_v=before["leg_a"] - after["leg_a"],
        leg_b_fall_v=before["leg_b"] - after["leg_b"],
        resolution_v=0.1,
    )
    assert found == "neutral"


@pytest.mark.parametrize("current_change_a", [0.0, -5.0, math.nan])
def test_without_a_change_of_current_nothing_can_be_found(
    current_change_a: float,
) -> None:
    with pytest.raises(OutOfRange, match="current change"):
        source_resistance(
            before_v=240.0, after_v=238.0, current_change_a=current_change_a
        )


def test_a_leg_of_a_wye_that_fell_by_half_is_refused() -> None:
    with pytest.raises(OutOfRange, match="the voltage after is 60 V"):
        leg_resistances_wye(
            leg_a_before_v=120.0,
            leg_a_after_v=60.0,
            leg_b_before_v=120.0,
            leg_b_after_v=118.0,
            current_change_a=10.0,
        )


def test_a_wye_leg_that_fell_where_it_must_rise_far_is_refused() -> None:
    with pytest.raises(OutOfRange, match="the other leg after is 100 V"):
        neutral_resistance_wye(
            loaded_before_v=120.0,
            loaded_after_v=118.0,
            opposite_before_v=120.0,
            opposite_after_v=100.0,
            current_change_a=10.0,
        )


@pytest.mark.parametrize(("tolerance_v", "fits"), [(8.0, True), (8.1, False)])
def test_a_tolerance_that_would_mix_the_kinds_is_refused(
    tolerance_v: float, fits: bool
) -> None:
    def ask() -> str:
        return supply_kind(
            leg_a_v=120.0, leg_b_v=120.0, line_v=240.0, tolerance_v=tolerance_v
        )

    if fits:
        assert ask() == "split phase"
    else:
        with pytest.raises(OutOfRange, match="tolerance"):
            ask()


def test_a_fall_that_is_no_number_is_refused() -> None:
    with pytest.raises(OutOfRange, match="two finite numbers"):
        fall_pattern(leg_a_fall_v=math.nan, leg_b_fall_v=1.0, resolution_v=0.1)
