from __future__ import annotations

import tomllib
from pathlib import Path

import pytest

from lugbook.physics.materials import constant, constant_names, published_row

SOURCES = Path(__file__).parents[2] / "src" / "lugbook" / "sources.toml"


@pytest.mark.parametrize("name", constant_names())
def test_every_constant_has_unit_uncertainty_and_status(name):
    found = constant(name)
    assert found.unit
    assert 0.0 <= found.uncertainty <= abs(found.value)
    assert found.status in {"confirmed", "from memory", "common practice"}
    assert found.source


@pytest.mark.parametrize("name", constant_names())
def test_a_constant_that_cites_a_standard_cites_a_known_one(name):
    key = constant(name).source.split(",")[0]
    if " " not in key and "-" in key:
        assert key in tomllib.loads(SOURCES.read_text("utf-8"))


def test_copper_constants_agree_with_each_other():
    # iec-60949: K = sqrt(heat capacity (beta + 20) / resistivity at 20 °C), with
    # 17.241e-6 ohm mm: sqrt(3.45e-3 x 254.5 / 17.241e-6) = 225.67.
    heat_j_per_mm3_k = constant("copper-heat-capacity").value / 1e9
    beta_c = constant("copper-adiabatic-beta").value
    derived = (heat_j_per_mm3_k * (beta_c + 20.0) / 17.241e-6) ** 0.5
    assert constant("copper-adiabatic").value == pytest.approx(derived, abs=1.0)


def test_aluminum_constants_agree_with_each_other():
    # As above with 28.264e-6 ohm mm: sqrt(2.5e-3 x 248 / 28.264e-6) = 148.1.
    heat_j_per_mm3_k = constant("aluminum-heat-capacity").value / 1e9
    beta_c = constant("aluminum-adiabatic-beta").value
    derived = (heat_j_per_mm3_k * (beta_c + 20.0) / 28.264e-6) ** 0.5
    assert constant("aluminum-adiabatic").value == pytest.approx(derived, abs=1.0)


def test_an_unknown_name_is_our_own_mistake():
    with pytest.raises(KeyError, match="gold"):
        constant("gold")
    with pytest.raises(KeyError, match="wood"):
        published_row("gap", "wood")
