"""Correction, adjustment, cable columns and the governing section, worked by hand."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from lugbook.codebook.edition import editions, open_edition
from lugbook.codebook.nfpa70.ampacity import (
    SectionAmpacity,
    ambient_factor,
    cable_columns,
    corrected_ampacity,
    count_factor,
    governing_ampacity,
    insulation_rating_c,
    rooftop_ambient_c,
)
from lugbook.errors import MissingEntry, OutOfRange

FT = 0.3048
IN = 0.0254
SIZES = ("6 AWG", "4 AWG", "3 AWG", "2 AWG", "1 AWG", "1/0 AWG")

every_edition = pytest.mark.parametrize("year", editions())


@every_edition
@pytest.mark.parametrize(
    ("size", "by_hand_a"), [("3 AWG", 115 * 0.76), ("2 AWG", 130 * 0.76)]
)
def test_the_attic_of_the_demo_by_hand(year: str, size: str, by_hand_a: float) -> None:
    found = corrected_ampacity(
        edition=open_edition(year),
        size=size,
        material="copper",
        start_c=90,
        cap_c=None,
        ambient_c=52.0,
        count=2,
    )
    assert found.amount == pytest.approx(by_hand_a, rel=1e-12)


@every_edition
@pytest.mark.parametrize(
    ("ambient_c", "factor"),
    [(30.0, 1.00), (30.01, 0.96), (50.0, 0.82), (55.0, 0.76), (55.01, 0.71), (86, 0.0)],
)
def test_ambient_steps_at_its_bounds(
    year: str, ambient_c: float, factor: float
) -> None:
    found = ambient_factor(edition=open_edition(year), ambient_c=ambient_c, column_c=90)
    assert found.amount == factor


@every_edition
def test_sixty_degree_insulation_carries_nothing_at_sixty_degrees(year: str) -> None:
    assert (
        ambient_factor(edition=open_edition(year), ambient_c=60.0, column_c=60).amount
        == 0.0
    )


@every_edition
@pytest.mark.parametrize(
    ("count", "factor"), [(3, 1.0), (4, 0.8), (6, 0.8), (7, 0.7), (9, 0.7), (10, 0.5)]
)
def test_number_of_conductors_steps_at_its_bounds(
    year: str, count: int, factor: float
) -> None:
    assert count_factor(edition=open_edition(year), count=count).amount == factor


def test_no_conductor_at_all_is_refused() -> None:
    with pytest.raises(OutOfRange, match="at least 1"):
        count_factor(edition=open_edition("2023"), count=0)


@every_edition
@pytest.mark.parametrize(
    ("insulation", "dry_c", "wet_c"),
    [
        ("THHN", 90, None),
        ("THWN", 75, 75),
        ("THHN/THWN-2", 90, 90),
        ("XHHW", 90, 75),
        ("XHHW-2", 90, 90),
        ("TW", 60, 60),
        ("RHH/RHW-2/USE-2", 90, 90),
    ],
)
def test_insulation_by_its_letters(
    year: str, insulation: str, dry_c: float, wet_c: float | None
) -> None:
    edition = open_edition(year)
    dry = insulation_rating_c(edition=edition, insulation=insulation, is_wet=False)
    wet = insulation_rating_c(edition=edition, insulation=insulation, is_wet=True)
    assert dry is not None
    assert dry.amount == dry_c
    assert (wet and wet.amount) == wet_c


def test_unheard_of_letters_are_refused_by_name() -> None:
    with pytest.raises(MissingEntry, match="no insulation ZZZ"):
        insulation_rating_c(
            edition=open_edition("2023"), insulation="ZZZ", is_wet=False
        )


@every_edition
@pytest.mark.parametrize(
    ("method", "size", "in_insulation", "inside", "start_c", "cap_c"),
    [
        ("NM cable", "6 AWG", False, True, 90, 60),
        ("UF cable", "6 AWG", False, False, 60, 60),
        ("UF cable", "6 AWG", False, True, 90, 60),
        ("SE cable", "10 AWG", True, True, None, 60),
        ("SE cable", "8 AWG", True, True, None, None),
        ("SE cable", "10 AWG", False, True, None, None),
        ("AC cable", "6 AWG", True, True, 90, 60),
        ("AC cable", "6 AWG", False, True, None, None),
        ("MC cable", "6 AWG", True, True, None, None),
        ("EMT", "6 AWG", False, True, None, None),
    ],
)
def test_cable_columns(
    year: str,
    method: str,
    size: str,
    in_insulation: bool,
    inside: bool,
    start_c: int | None,
    cap_c: int | None,
) -> None:
    found = cable_columns(
        edition=open_edition(year),
        method=method,
        size=size,
        is_in_insulation=in_insulation,
        is_inside=inside,
    )
    assert (found.start_c, found.cap_c) == (start_c, cap_c)


@every_edition
@pytest.mark.parametrize(
    ("height_in", "insulation", "ambient_c"),
    [
        (0.874, "THHN/THWN-2", 73.0),
        (0.875, "THHN/THWN-2", 40.0),
        (0.876, "THHN/THWN-2", 40.0),
        (0.5, "XHHW-2", 40.0),
    ],
)
def test_roof_adds_below_its_height_only(
    year: str, height_in: float, insulation: str, ambient_c: float
) -> None:
    found = rooftop_ambient_c(
        edition=open_edition(year),
        ambient_c=40.0,
        height_m=height_in * IN,
        insulation=insulation,
    )
    assert found.amount == ambient_c


def run(
    low_ft: float, high_ft: float | None, **changes: object
) -> list[SectionAmpacity]:
    key = changes.get("key", ("3 AWG",))
    return [
        SectionAmpacity(
            "cool", 115.0, None if high_ft is None else high_ft * FT, ("3 AWG",)
        ),
        SectionAmpacity("hot", 87.4, low_ft * FT, key),  # type: ignore[arg-type]
    ]


@every_edition
@pytest.mark.parametrize(
    ("low_ft", "high_ft", "governing_a"),
    [
        (9.99, 200.0, 115.0),  # within 10 ft and within 10 % of 210 ft
        (10.0, 200.0, 115.0),
        (10.01, 200.0, 87.4),  # over 10 ft
        (4.99, 45.01, 115.0),  # just under 10 % of 50 ft
        (5.0, 45.0, 115.0),
        (5.01, 44.99, 87.4),  # just over 10 % of 50 ft
        (9.0, None, 87.4),  # a length unknown: no exception
    ],
)
def test_a_short_hot_section_may_be_passed_over(
    year: str, low_ft: float, high_ft: float | None, governing_a: float
) -> None:
    found = governing_ampacity(
        edition=open_edition(year), sections=run(low_ft, high_ft)
    )
    assert found.amount == governing_a


@pytest.mark.parametrize(("year", "governing_a"), [("2023", 115.0), ("2026", 87.4)])
def test_2026_passes_over_only_what_correction_or_adjustment_lowered(
    year: str, governing_a: float
) -> None:
    sections = run(5.0, 200.0, key=("4 AWG",))
    assert (
        governing_ampacity(edition=open_edition(year), sections=sections).amount
        == governing_a
    )


def test_short_sections_are_added_together() -> None:
    sections = [
        SectionAmpacity("cool", 115.0, 200 * FT),
        SectionAmpacity("hot", 87.4, 6 * FT),
        SectionAmpacity("hotter", 80.0, 6 * FT),
    ]
    found = governing_ampacity(edition=open_edition("2023"), sections=sections)
    # 12 ft in all is too long for the 115 A; the 6 ft of 80 A alone may be passed over.
    assert found.amount == 87.4


def test_a_section_that_may_carry_nothing_is_never_passed_over() -> None:
    sections = [
        SectionAmpacity("cool", 115.0, 200 * FT),
        SectionAmpacity("wet", 0.0, 1 * FT),
    ]
    found = governing_ampacity(edition=open_edition("2023"), sections=sections)
    assert found.amount == 0.0


def test_a_run_without_sections_is_refused() -> None:
    with pytest.raises(OutOfRange, match="at least one"):
        governing_ampacity(edition=open_edition("2023"), sections=[])


@settings(max_examples=60)
@given(
    year=st.sampled_from(editions()),
    size=st.sampled_from(SIZES),
    ambient=st.tuples(st.floats(0, 85), st.floats(0, 85)),
    count=st.tuples(st.integers(1, 40), st.integers(1, 40)),
    start_c=st.sampled_from((60, 75, 90)),
)
def test_hotter_or_fuller_never_carries_more(
    year: str,
    size: str,
    ambient: tuple[float, float],
    count: tuple[int, int],
    start_c: int,
) -> None:
    def carried(ambient_c: float, number: int) -> float:
        return corrected_ampacity(
            edition=open_edition(year),
            size=size,
            material="aluminum",
            start_c=start_c,
            cap_c=None,
            ambient_c=ambient_c,
            count=number,
        ).amount

    assert carried(max(ambient), max(count)) <= carried(min(ambient), min(count))
