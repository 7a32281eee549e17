"""Resistance moved between temperatures and taken over a length."""

import numpy as np
import pytest

from lugbook.errors import OutOfRange
from lugbook.physics.resistance import (
    resistance_at_temperature,
    resistance_by_inferred_zero,
    resistance_of_length,
)


def test_both_forms_of_the_temperature_law_agree() -> None:
    # The coefficient at 75 °C of a metal with inferred zero T0 is 1 / (T0 + 75).
    for conductor_c in (-40.0, 20.0, 75.0, 90.0):
        by_coefficient = resistance_at_temperature(
            reference_ohm=0.245,
            reference_c=75.0,
            conductor_c=conductor_c,
            coefficient_per_k=1 / (234.5 + 75.0),
        )
        by_zero = resistance_by_inferred_zero(
            reference_ohm=0.245,
            reference_c=75.0,
            conductor_c=conductor_c,
            inferred_zero_c=234.5,
        )
        assert by_coefficient == pytest.approx(by_zero, rel=1e-14)


def test_at_the_reference_temperature_nothing_changes() -> None:
    assert (
        resistance_at_temperature(
            reference_ohm=0.3, reference_c=20, conductor_c=20, coefficient_per_k=0.004
        )
        == 0.3
    )


def test_resistance_grows_with_length_and_falls_with_parallels() -> None:
    # 30 m of 0.001 ohm/m is 0.03 ohm; three in parallel make a third of it.
    assert resistance_of_length(
        resistance_ohm_per_m=0.001, length_m=30.0
    ) == pytest.approx(0.03, rel=1e-15)
    assert resistance_of_length(
        resistance_ohm_per_m=0.001, length_m=30.0, parallel_count=3
    ) == pytest.approx(0.01, rel=1e-15)


def test_arrays_give_what_floats_give() -> None:
    found = resistance_at_temperature(
        reference_ohm=np.array([0.1, 0.2]),
        reference_c=75.0,
        conductor_c=np.array([40.0, 90.0]),
        coefficient_per_k=0.00323,
    )
    # 0.1 (1 - 0.00323 x 35) and 0.2 (1 + 0.00323 x 15)
    assert found == pytest.approx([0.088695, 0.20969], abs=1e-12)


@pytest.mark.parametrize(
    ("changed", "message"),
    [
        ({"conductor_c": -50.1}, "conductor's temperature is -50.1 °C"),
        ({"conductor_c": 250.1}, "accepted: -50 to 250 °C"),
        ({"reference_c": float("nan")}, "reference temperature is nan"),
        ({"reference_ohm": -0.1}, "resistance is -0.1 ohm"),
        ({"coefficient_per_k": 0.011}, "coefficient is 0.011 per K"),
    ],
)
def test_temperatures_and_coefficients_out_of_range_are_refused(
    changed: dict[str, float], message: str
) -> None:
    given = {
        "reference_ohm": 0.1,
        "reference_c": 75.0,
        "conductor_c": 40.0,
        "coefficient_per_k": 0.0032,
    }
    with pytest.raises(OutOfRange, match=message):
        resistance_at_temperature(**(given | changed))


@pytest.mark.parametrize("edge_c", [-50.0, 250.0])
def test_the_ends_of_the_temperature_range_are_accepted(edge_c: float) -> None:
    assert (
        resistance_by_inferred_zero(
            reference_ohm=1.0, reference_c=20, conductor_c=edge_c, inferred_zero_c=234.5
        )
        > 0
    )


@pytest.mark.parametrize("inferred_zero_c", [199.9, 260.1])
def test_an_inferred_zero_of_no_conductor_metal_is_refused(
    inferred_zero_c: float,
) -> None:
    with pytest.raises(OutOfRange, match="inferred zero"):
        resistance_by_inferred_zero(
            reference_ohm=1.0,
            reference_c=20,
            conductor_c=75,
            inferred_zero_c=inferred_zero_c,
        )


def test_less_than_one_conductor_in_parallel_is_refused() -> None:
    with pytest.raises(OutOfRange, match="number in parallel is 0"):
        resistance_of_length(resistance_ohm_per_m=0.1, length_m=1.0, parallel_count=0)
