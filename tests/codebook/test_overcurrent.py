"""Continuous loads, standard ratings and what a conductor allows, by hand."""

from __future__ import annotations

import pytest

from lugbook.codebook.edition import editions, open_edition
from lugbook.codebook.nfpa70.overcurrent import (
    continuous_minimum_a,
    largest_device_for_conductor,
    next_standard_rating,
    standard_ratings_a,
)
from lugbook.errors import MissingEntry, OutOfRange

every_edition = pytest.mark.parametrize("year", editions())


@every_edition
@pytest.mark.parametrize(
    ("setting_a", "device_a"),
    # Common practice, no source, for 48, 64 and 80 A; 56 and 72 A by 1.25 × by hand.
    [(16, 20), (24, 30), (32, 40), (40, 50), (48, 60), (56, 70), (64, 80), (72, 90)],
)
def test_device_for_each_setting(year: str, setting_a: float, device_a: float) -> None:
    edition = open_edition(year)
    need = continuous_minimum_a(edition=edition, current_a=setting_a)
    found = next_standard_rating(edition=edition, at_least_a=need.amount)
    assert found.amount == device_a


@every_edition
@pytest.mark.parametrize(
    ("at_least_a", "rating_a"), [(59.99, 60), (60.0, 60), (60.01, 70), (101, 110)]
)
def test_next_rating_at_its_bounds(
    year: str, at_least_a: float, rating_a: float
) -> None:
    found = next_standard_rating(edition=open_edition(year), at_least_a=at_least_a)
    assert found.amount == rating_a


def test_beyond_the_last_rating_is_refused() -> None:
    with pytest.raises(MissingEntry, match="no rating of 7000 A"):
        next_standard_rating(edition=open_edition("2023"), at_least_a=7000.0)


def test_a_load_of_nothing_is_refused() -> None:
    with pytest.raises(OutOfRange, match="more than 0 A"):
        continuous_minimum_a(edition=open_edition("2023"), current_a=0.0)


@every_edition
def test_fuses_have_ratings_that_breakers_do_not(year: str) -> None:
    edition = open_edition(year)
    assert 6.0 in standard_ratings_a(edition=edition, kind="fuse")
    assert 6.0 not in standard_ratings_a(edition=edition)


@every_edition
@pytest.mark.parametrize(
    ("ampacity_a", "allowed_a"),
    [(87.4, 90), (89.99, 90), (90.0, 90), (90.01, 100), (98.8, 100), (0.0, 0.0)],
)
def test_next_size_up_at_its_bounds(
    year: str, ampacity_a: float, allowed_a: float
) -> None:
    found = largest_device_for_conductor(
        edition=open_edition(year),
        ampacity_a=ampacity_a,
        size="2 AWG",
        material="copper",
    )
    assert found.amount == allowed_a


@every_edition
def test_above_800_a_the_ampacity_itself_is_the_limit(year: str) -> None:
    allowed = [
        largest_device_for_conductor(
            edition=open_edition(year),
            ampacity_a=ampacity_a,
            size="500 kcmil",
            material="copper",
        ).amount
        for ampacity_a in (799.0, 801.0)
    ]
    assert allowed == [800.0, 801.0]


@every_edition
def test_no_next_size_up_for_several_receptacles(year: str) -> None:
    found = largest_device_for_conductor(
        edition=open_edition(year),
        ampacity_a=55.0,
        size="6 AWG",
        material="copper",
        next_size_up=False,
    )
    assert found.amount == 55.0


@every_edition
@pytest.mark.parametrize(
    ("size", "material", "limit_a"),
    [
        ("14 AWG", "copper", 15),
        ("12 AWG", "copper", 20),
        ("10 AWG", "copper", 30),
        ("12 AWG", "aluminum", 15),
        ("10 AWG", "aluminum", 25),
    ],
)
def test_small_conductors_keep_their_own_limit(
    year: str, size: str, material: str, limit_a: float
) -> None:
    found = largest_device_for_conductor(
        edition=open_edition(year), ampacity_a=40.0, size=size, material=material
    )
    assert found.amount == limit_a


def test_a_size_without_a_limit_of_its_own_is_refused() -> None:
    with pytest.raises(MissingEntry, match="14 AWG aluminum"):
        largest_device_for_conductor(
            edition=open_edition("2023"),
            ampacity_a=15.0,
            size="14 AWG",
            material="aluminum",
        )
