"""Which column the terminals allow, and the range of a lug."""

from __future__ import annotations

import pytest

from lugbook.codebook.edition import editions, open_edition
from lugbook.codebook.nfpa70.terminals import is_size_in_range, terminal_column_c


@pytest.mark.parametrize("year", editions())
@pytest.mark.parametrize(
    ("circuit_a", "markings_c", "column_c"),
    [
        (60.0, (75, 75), 75),
        (60.0, (75, 60), 60),
        (60.0, (75, None), 60),
        (60.0, (), 60),
        (60.0, (90, 90), 75),  # a terminal marked higher never uses the 90 °C column
        (100.0, (None, None), 60),
        (100.01, (None, None), 75),
        (125.0, (75, 60), 60),
    ],
)
def test_lowest_marking_on_the_path_decides(
    year: str, circuit_a: float, markings_c: tuple[float | None, ...], column_c: int
) -> None:
    found = terminal_column_c(
        edition=open_edition(year), circuit_a=circuit_a, markings_c=markings_c
    )
    assert found.amount == column_c


@pytest.mark.parametrize(
    ("size", "fits"),
    [
        ("8 AWG", False),
        ("6 AWG", True),
        ("3 AWG", True),
        ("1/0 AWG", True),
        ("2/0 AWG", False),
    ],
)
def test_range_includes_both_its_ends(size: str, fits: bool) -> None:
    assert is_size_in_range(size=size, smallest="6 AWG", largest="1/0 AWG") is fits
