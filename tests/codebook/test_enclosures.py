import pytest

from lugbook.codebook.edition import editions, open_edition
from lugbook.codebook.nfpa70.enclosures import (
    bending_space_needed_in,
    box_volume_needed,
)
from lugbook.errors import OutOfRange

EDITION = open_edition("2023")


@pytest.mark.parametrize("year", editions())
@pytest.mark.parametrize(
    ("size", "sideways_in", "opposite_in"),
    [
        # Equipment maker's engineering data page of Tables 312.6(A) and (B), one wire.
        ("8 AWG", 1.5, 1.5),
        ("6 AWG", 1.5, 2.0),
        ("3 AWG", 2.0, 3.0),
        ("1 AWG", 3.0, 4.5),
        ("4/0 AWG", 4.0, 7.0),
    ],
)
def test_a_wire_through_the_wall_opposite_needs_more_room(
    year, size, sideways_in, opposite_in
):
    edition = open_edition(year)
    found = [
        bending_space_needed_in(edition=edition, size=size, through_opposite_wall=way)
        for way in (False, True)
    ]
    assert [each.amount for each in found] == [sideways_in, opposite_in]


def test_the_room_through_the_wall_opposite_is_never_less():
    for row in EDITION.table("enclosure-bending-space-opposite").rows:
        sideways, opposite = (
            bending_space_needed_in(
                edition=EDITION, size=str(row[0]), through_opposite_wall=way
            )
            for way in (False, True)
        )
        assert (sideways is None) == (opposite is None)
        if sideways is not None and opposite is not None:
            assert opposite.amount >= sideways.amount


def test_small_wires_have_no_bending_space_of_their_own():
    found = bending_space_needed_in(
        edition=EDITION, size="10 AWG", through_opposite_wall=True
    )
    assert found is None


def test_a_box_of_joined_legs_by_hand():
    # Two legs of 6 AWG joined: four ends, 4 × 5 in³; grounds of 10 AWG together 2.5.
    found = box_volume_needed(
        edition=EDITION, ends={"6 AWG": 4}, grounding_size="10 AWG"
    )
    assert found.amount == 22.5


def test_without_a_ground_only_the_legs_count():
    found = box_volume_needed(edition=EDITION, ends={"8 AWG": 2}, grounding_size=None)
    assert found.amount == 6.0


def test_larger_wires_belong_to_another_rule():
    assert (
        box_volume_needed(edition=EDITION, ends={"4 AWG": 2}, grounding_size="8 AWG")
        is None
    )


@pytest.mark.parametrize("ends", [{}, {"6 AWG": 0}])
def test_a_box_without_conductors_is_refused(ends):
    with pytest.raises(OutOfRange, match="at least one"):
        box_volume_needed(edition=EDITION, ends=ends, grounding_size=None)
