import pytest

from lugbook.codebook.edition import editions, open_edition
from lugbook.codebook.nfpa70.other_sources import (
    bus_sum_of_devices,
    bus_with_source,
    largest_source_a,
)
from lugbook.errors import OutOfRange

YEARS = editions()


@pytest.mark.parametrize("year", YEARS)
def test_a_200_a_bus_behind_a_200_a_main_takes_an_inverter_of_32_a(year):
    """A public solar design guide's example: 40 A of breaker, about 32 A, 7.6 kW."""
    room_a = largest_source_a(edition=open_edition(year), bus_a=200, main_a=200)
    assert room_a == pytest.approx(32.0, rel=1e-12)


@pytest.mark.parametrize(
    ("source_a", "holds"), [(31.9, True), (32, True), (32.1, False)]
)
def test_the_far_end_carries_120_percent(source_a, holds):
    found = bus_with_source(
        edition=open_edition("2023"),
        bus_a=200,
        main_a=200,
        source_a=source_a,
        is_at_opposite_end=True,
    )
    assert found.limit_a == pytest.approx(240)
    assert (found.sum_a <= found.limit_a) is holds


def test_elsewhere_main_and_source_stay_within_the_bus():
    # By hand: 150 A + 1.25 × 32 A = 190 A of 200 A.
    found = bus_with_source(
        edition=open_edition("2023"),
        bus_a=200,
        main_a=150,
        source_a=32,
        is_at_opposite_end=False,
    )
    assert (found.sum_a, found.limit_a) == (190.0, 200.0)


def test_the_sum_of_devices_leaves_the_main_out():
    edition = open_edition("2023")
    found = bus_sum_of_devices(edition=edition, bus_a=200, devices_a=[40, 60, 50, 50])
    assert (found.sum_a, found.limit_a) == (200.0, 200.0)
    assert found.lines[0].source.status.value == "from memory"


def test_a_main_larger_than_the_bus_allows_leaves_no_source():
    assert largest_source_a(edition=open_edition("2017"), bus_a=100, main_a=125) == 0.0


@pytest.mark.parametrize("senseless", [0, -1, float("nan"), float("inf")])
def test_a_current_not_above_zero_is_refused(senseless):
    with pytest.raises(OutOfRange, match="above 0 A"):
        largest_source_a(edition=open_edition("2023"), bus_a=senseless, main_a=100)
