"""Every row of the whole-house table, at its size and one size below.

The service ratings and sizes are those of the second typing; what is smaller than the
first row carries its own 75 °C ampacity and no more.
"""

from __future__ import annotations

import pytest

from lugbook.codebook.edition import editions, open_edition
from lugbook.codebook.nfpa70.conductors import (
    table_ampacity,
    whole_house_conductor_rating_a,
)
from lugbook.errors import MissingEntry, OutOfRange

YEARS = editions()
COPPER = [
    ("6 AWG", 65),  # below the table: its own 75 °C ampacity
    ("4 AWG", 100),
    ("3 AWG", 110),
    ("2 AWG", 125),
    ("1 AWG", 150),
    ("1/0 AWG", 175),
    ("2/0 AWG", 200),
    ("3/0 AWG", 225),
    ("4/0 AWG", 250),
    ("250 kcmil", 300),
    ("300 kcmil", 300),  # own ampacity 285, so the row of 250 kcmil
    ("350 kcmil", 350),
    ("400 kcmil", 400),
    ("500 kcmil", 400),  # own ampacity 380
]
ALUMINUM = [
    ("4 AWG", 65),
    ("3 AWG", 75),
    ("2 AWG", 100),
    ("1 AWG", 110),
    ("1/0 AWG", 125),
    ("2/0 AWG", 150),
    ("3/0 AWG", 175),
    ("4/0 AWG", 200),
    ("250 kcmil", 225),
    ("300 kcmil", 250),
    ("350 kcmil", 300),
    ("400 kcmil", 300),  # own ampacity 270
    ("500 kcmil", 350),
]
ROWS = [("copper", *row) for row in COPPER] + [("aluminum", *row) for row in ALUMINUM]


@pytest.mark.parametrize("year", YEARS)
@pytest.mark.parametrize(("material", "size", "rating_a"), ROWS)
def test_a_conductor_serves_the_rating_of_its_row(year, material, size, rating_a):
    found = whole_house_conductor_rating_a(
        edition=open_edition(year), size=size, material=material
    )
    assert found.amount == rating_a


@pytest.mark.parametrize("year", YEARS)
def test_parallel_sets_have_no_row_and_add_their_ampacities(year):
    # 1/0 AWG copper carries 150 A at 75 °C; two of them 300 A, not 2 × 175.
    found = whole_house_conductor_rating_a(
        edition=open_edition(year), size="1/0 AWG", material="copper", sets=2
    )
    assert found.amount == 300


def test_fewer_than_one_set_is_refused():
    with pytest.raises(OutOfRange, match="0 parallel sets; give at least 1"):
        whole_house_conductor_rating_a(
            edition=open_edition("2023"), size="4/0 AWG", material="copper", sets=0
        )


def test_a_size_without_a_printed_ampacity_is_refused():
    with pytest.raises(MissingEntry, match="no ampacity for 14 AWG aluminum at 75 °C"):
        table_ampacity(
            edition=open_edition("2023"),
            size="14 AWG",
            material="aluminum",
            column_c=75,
        )


@pytest.mark.parametrize("year", YEARS)
@pytest.mark.parametrize(
    ("size", "column_c", "ampacity_a"),
    [("3 AWG", 60, 85), ("3 AWG", 75, 100), ("3 AWG", 90, 115)],
)
def test_the_ampacity_of_3_awg_copper_by_column(year, size, column_c, ampacity_a):
    found = table_ampacity(
        edition=open_edition(year), size=size, material="copper", column_c=column_c
    )
    assert found.amount == ampacity_a
