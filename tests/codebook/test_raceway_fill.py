"""Raceway fill, compared without rounding."""

from __future__ import annotations

import math

import pytest

from lugbook.codebook.edition import editions, open_edition
from lugbook.codebook.nfpa70.raceway_fill import (
    conductor_area_in2,
    fill_limit_in2,
    trade_sizes,
)
from lugbook.errors import MissingEntry, OutOfRange

IN = 0.0254
every_edition = pytest.mark.parametrize("year", editions())


@every_edition
def test_two_6_awg_and_a_10_awg_miss_half_inch_emt_by_a_thousandth(year: str) -> None:
    edition = open_edition(year)
    six = conductor_area_in2(edition=edition, size="6 AWG", insulation="THWN-2")
    ten = conductor_area_in2(edition=edition, size="10 AWG", insulation="THWN-2")
    limit = fill_limit_in2(
        edition=edition, method="EMT", trade_size="1/2", count=3, length_m=None
    )
    total_in2 = 2 * six.amount + ten.amount
    assert total_in2 == pytest.approx(0.1225)  # 2 × 0.0507 + 0.0211
    assert limit.amount == pytest.approx(0.1216)  # 0.304 × 40 %
    assert total_in2 > limit.amount


@every_edition
def test_the_textbook_sample_of_five_conductors(year: str) -> None:
    # commercial-wiring-2018, sample problems 6-7 and 6-8: 0.1442 in².
    edition = open_edition(year)
    sizes = ["12 AWG", "10 AWG", "8 AWG", "8 AWG", "8 AWG"]
    total_in2 = sum(
        conductor_area_in2(edition=edition, size=size, insulation="THHN").amount
        for size in sizes
    )
    assert total_in2 == pytest.approx(0.1442)


@every_edition
@pytest.mark.parametrize(
    ("length_in", "share"), [(23.9, 0.6), (24.0, 0.6), (24.1, 0.4), (None, 0.4)]
)
def test_a_nipple_ends_at_24_inches(
    year: str, length_in: float | None, share: float
) -> None:
    limit = fill_limit_in2(
        edition=open_edition(year),
        method="EMT",
        trade_size="1",
        count=3,
        length_m=None if length_in is None else length_in * IN,
    )
    assert limit.amount == pytest.approx(0.864 * share)


@every_edition
@pytest.mark.parametrize(("count", "share"), [(1, 0.53), (2, 0.31), (3, 0.40)])
def test_share_by_number(year: str, count: int, share: float) -> None:
    limit = fill_limit_in2(
        edition=open_edition(year),
        method="EMT",
        trade_size="1",
        count=count,
        length_m=None,
    )
    assert limit.amount == pytest.approx(0.864 * share)


@every_edition
def test_a_bare_wire_takes_its_own_circle(year: str) -> None:
    found = conductor_area_in2(
        edition=open_edition(year), size="8 AWG", insulation="bare"
    )
    assert found.amount == pytest.approx(math.pi / 4 * 0.146**2)


@every_edition
@pytest.mark.parametrize(
    ("insulation", "area_in2"),
    [
        ("XHHW-2", 0.0590),
        ("TW", 0.0726),
        ("RHW-2", 0.1041),
        ("RHH/RHW-2/USE-2", 0.0726),
    ],
)
def test_area_by_insulation(year: str, insulation: str, area_in2: float) -> None:
    found = conductor_area_in2(
        edition=open_edition(year), size="6 AWG", insulation=insulation
    )
    assert found.amount == area_in2


def test_what_the_tables_lack_is_refused() -> None:
    edition = open_edition("2023")
    with pytest.raises(MissingEntry, match="no EMT 9"):
        fill_limit_in2(
            edition=edition, method="EMT", trade_size="9", count=3, length_m=None
        )
    with pytest.raises(OutOfRange, match="at least 1"):
        fill_limit_in2(
            edition=edition, method="EMT", trade_size="1", count=0, length_m=None
        )


@every_edition
def test_trade_sizes_ascend(year: str) -> None:
    assert trade_sizes(edition=open_edition(year), method="EMT")[:3] == (
        "1/2",
        "3/4",
        "1",
    )
