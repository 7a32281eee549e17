"""Resistance handed to the voltage drop, and the common figures by hand."""

from __future__ import annotations

import pytest

from lugbook.codebook.edition import editions, open_edition
from lugbook.codebook.nfpa70.voltage import conductor_impedance_ohm_per_m
from lugbook.errors import MissingEntry

FT = 0.3048
every_edition = pytest.mark.parametrize("year", editions())


@every_edition
@pytest.mark.parametrize(
    ("size", "material", "method", "ohm_per_kft"),
    [
        ("3 AWG", "copper", "EMT", 0.25),
        ("3 AWG", "aluminum", "PVC 40", 0.40),
        ("2 AWG", "copper", "PVC 40", 0.19),
        ("2 AWG", "copper", "EMT", 0.20),
        ("6 AWG", "copper", "NM cable", 0.49),
        ("300 kcmil", "copper", "EMT", 0.0429),  # beyond Table 9 as held: Table 8
        ("300 kcmil", "aluminum", "EMT", 0.0707),
    ],
)
def test_resistance_by_size_and_surroundings(
    year: str, size: str, material: str, method: str, ohm_per_kft: float
) -> None:
    found, _ = conductor_impedance_ohm_per_m(
        edition=open_edition(year), size=size, material=material, method=method
    )
    assert found.amount * 1000 * FT == pytest.approx(ohm_per_kft, rel=1e-9)


@every_edition
def test_3_awg_over_40_ft_at_80_a_drops_under_1_percent(year: str) -> None:
    # Common practice, no source; by hand 2 × 40 ft × 0.25 ohm/kft × 80 A = 1.6 V.
    found, _ = conductor_impedance_ohm_per_m(
        edition=open_edition(year), size="3 AWG", material="copper", method="EMT"
    )
    drop_v = 2 * 40 * FT * found.amount * 80
    assert drop_v == pytest.approx(1.6, rel=1e-9)
    assert drop_v / 240 < 0.01


def test_a_size_in_neither_table_is_refused() -> None:
    with pytest.raises(MissingEntry, match="no row"):
        conductor_impedance_ohm_per_m(
            edition=open_edition("2023"),
            size="2000 kcmil",
            material="copper",
            method="EMT",
        )
