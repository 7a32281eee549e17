"""The grounding conductor: table, growth with the near miss, raceways as the path."""

from __future__ import annotations

import pytest

from lugbook.codebook.edition import editions, open_edition
from lugbook.codebook.nfpa70.grounding import (
    RacewayLength,
    circular_mils,
    grounding_area_needed,
    raceway_may_ground,
    smallest_size_of_area,
    table_grounding_size,
)
from lugbook.errors import MissingEntry, OutOfRange

FT = 0.3048
every_edition = pytest.mark.parametrize("year", editions())


@every_edition
@pytest.mark.parametrize(
    ("device_a", "copper", "aluminum"),
    [
        (60.0, "10 AWG", "8 AWG"),
        (60.01, "8 AWG", "6 AWG"),
        (100.0, "8 AWG", "6 AWG"),
        (100.01, "6 AWG", "4 AWG"),
    ],
)
def test_table_steps_at_its_bounds(
    year: str, device_a: float, copper: str, aluminum: str
) -> None:
    edition = open_edition(year)
    for material, size in (("copper", copper), ("aluminum", aluminum)):
        found, _ = table_grounding_size(
            edition=edition, device_a=device_a, material=material
        )
        assert found == size


@every_edition
def test_eight_awg_falls_short_by_a_hair(year: str) -> None:
    edition = open_edition(year)
    found = grounding_area_needed(
        edition=edition, table_size="10 AWG", used_size="4 AWG", least_size="6 AWG"
    )
    # 10,380 × 41,740 ÷ 26,240 by hand.
    assert found.amount == pytest.approx(16511.4787, abs=0.0001)
    assert found.amount > circular_mils(edition=edition, size="8 AWG").amount
    assert smallest_size_of_area(edition=edition, area=found.amount) == "6 AWG"


@every_edition
def test_the_published_increase_ends_at_2_awg(year: str) -> None:
    # teaching-egc-increase: 58,436 circular mil is a 2 AWG.
    assert smallest_size_of_area(edition=open_edition(year), area=58436.0) == "2 AWG"


@every_edition
@pytest.mark.parametrize("used", ["6 AWG", "8 AWG"])
def test_no_growth_without_increase(year: str, used: str) -> None:
    found = grounding_area_needed(
        edition=open_edition(year),
        table_size="10 AWG",
        used_size=used,
        least_size="6 AWG",
    )
    assert found.amount == 10380.0


def test_an_area_beyond_the_table_is_refused() -> None:
    with pytest.raises(OutOfRange, match="beyond"):
        smallest_size_of_area(edition=open_edition("2023"), area=1e9)


def test_a_size_not_in_the_table_is_refused() -> None:
    with pytest.raises(MissingEntry, match="no row"):
        circular_mils(edition=open_edition("2023"), size="2000 kcmil")


@every_edition
@pytest.mark.parametrize(
    ("run", "device_a", "allowed"),
    [
        ([("EMT", None, None)], 100, True),
        ([("RMC", None, None), ("IMC", None, None)], 100, True),
        ([("PVC 40", "1", 10)], 60, False),
        ([("EMT", None, None), ("ENT", "1", 10)], 60, False),
        ([("LFMC", "1", 6.0)], 60, True),
        ([("LFMC", "1", 6.01)], 60, False),
        ([("LFMC", "1", 3.0), ("LFMC", "1", 3.01)], 60, False),
        ([("LFMC", "1", 3.0)], 60.01, False),
        ([("LFMC", "1/2", 3.0)], 20, True),
        ([("LFMC", "1/2", 3.0)], 20.01, False),
        ([("LFMC", "1-1/2", 3.0)], 20, False),
        ([("FMC", "1", 6.0)], 20, True),
        ([("FMC", "1", 6.0)], 60, False),
        ([("FMC", "1-1/2", 3.0)], 20, False),
        ([("LFMC", "1", None)], 60, None),
        ([("LFMC", None, 3.0)], 60, None),
        ([("LFMC", None, 3.0), ("PVC 40", "1", 3.0)], 60, False),
    ],
)
def test_raceway_as_the_path(
    year: str,
    run: list[tuple[str, str | None, float | None]],
    device_a: float,
    allowed: bool | None,
) -> None:
    raceways = [
        RacewayLength(method, trade, None if feet is None else feet * FT)
        for method, trade, feet in run
    ]
    found, why, line = raceway_may_ground(
        edition=open_edition(year), device_a=device_a, raceways=raceways
    )
    assert found is allowed
    assert bool(why) is (allowed is not True)
    assert line.source
