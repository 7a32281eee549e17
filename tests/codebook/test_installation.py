import pytest

from lugbook.codebook.edition import editions, open_edition
from lugbook.codebook.nfpa70.installation import (
    bend_radius_needed_in,
    box_length_needed_in,
    cover_needed_in,
    electrode_conductor_needed,
    pvc_movement_in,
    support_limits,
    trade_size_in,
    worst_bends_deg,
)
from lugbook.errors import MissingEntry, OutOfRange

YEARS = editions()
EDITION = open_edition("2023")


@pytest.mark.parametrize("year", YEARS)
def test_four_right_angles_are_the_limit_between_boxes(year):
    """State-adopted one-family dwelling code, Table E3802.1: four 90 degree bends."""
    edition = open_edition(year)
    found = worst_bends_deg(edition=edition, stretches=[[90] * 4])
    assert found.amount == 360.0
    assert edition.rule("raceway-bends").number("bends_up_to_deg") == 360


def test_the_worst_stretch_counts_not_the_sum_of_all():
    found = worst_bends_deg(edition=EDITION, stretches=[[90, 90], [90, 90, 45], []])
    assert found.amount == 225.0


def test_no_stretch_at_all_is_refused():
    with pytest.raises(OutOfRange):
        worst_bends_deg(edition=EDITION, stretches=[])


@pytest.mark.parametrize(("is_straight", "length_in"), [(True, 16.0), (False, 12.0)])
def test_pull_boxes_of_a_2_in_raceway(is_straight, length_in):
    """A trade magazine's quiz: 8 × 2 in = 16 in straight, 6 × 2 in = 12 in angle."""
    found = box_length_needed_in(
        edition=EDITION, trade_size="2", size="4 AWG", is_straight=is_straight
    )
    assert found.amount == length_in


@pytest.mark.parametrize(("size", "asked"), [("6 AWG", False), ("4 AWG", True)])
def test_boxes_are_sized_from_4_awg_on(size, asked):
    found = box_length_needed_in(
        edition=EDITION, trade_size="1", size=size, is_straight=False
    )
    assert (found is not None) is asked


@pytest.mark.parametrize("year", YEARS)
@pytest.mark.parametrize(
    ("method", "driveway", "cover_in"),
    [
        # State-adopted one-family dwelling code, Table E3803.1.
        ("PVC 40", False, 18),
        ("PVC 80", True, 18),
        ("UF cable", False, 24),
        ("UF cable", True, 18),
        ("RMC", False, 6),
        ("IMC", True, 18),
    ],
)
def test_cover_by_method_and_place(year, method, driveway, cover_in):
    found = cover_needed_in(
        edition=open_edition(year), method=method, is_under_driveway=driveway
    )
    assert found.amount == cover_in


def test_a_method_not_made_for_burial_has_no_cover():
    with pytest.raises(MissingEntry, match="NM cable"):
        cover_needed_in(edition=EDITION, method="NM cable", is_under_driveway=False)


@pytest.mark.parametrize(
    ("method", "trade", "limits"),
    [
        # State-adopted one-family dwelling code, Table E3802.1; 352.30 for PVC.
        ("EMT", "1", (36, 120)),
        ("PVC 40", "1", (36, 36)),
        ("PVC 80", "1-1/4", (36, 60)),
        ("PVC 40", None, (36, 36)),
        ("NM cable", None, (12, 54)),
        ("LFMC", "3/4", (12, 54)),
    ],
)
def test_supports_by_method_and_size(method, trade, limits):
    found = support_limits(edition=EDITION, method=method, trade_size=trade)
    assert found[:2] == limits


def test_a_size_beyond_the_table_has_no_spacing():
    with pytest.raises(MissingEntry):
        support_limits(edition=EDITION, method="EMT", trade_size="3")


def test_ten_feet_of_pvc_move_about_three_eighths_over_100_degf():
    """A conduit maker's manual: 10 ft, 100 °F, about 3/8 in; 100 ft over 4 in."""
    found = pvc_movement_in(edition=EDITION, length_m=3.048, change_k=100 / 1.8)
    assert found.amount == pytest.approx(0.375, abs=0.05)  # "about", by the manual
    ten = pvc_movement_in(edition=EDITION, length_m=30.48, change_k=100 / 1.8)
    assert ten.amount == pytest.approx(10 * found.amount, rel=1e-12)
    assert ten.amount > 4


@pytest.mark.parametrize(
    ("length_m", "change_k"), [(-1, 1), (1, -1), (1, float("nan"))]
)
def test_senseless_lengths_and_changes_are_refused(length_m, change_k):
    with pytest.raises(OutOfRange):
        pvc_movement_in(edition=EDITION, length_m=length_m, change_k=change_k)


@pytest.mark.parametrize(
    ("supply", "metal", "electrode", "size"),
    [
        # Table 250.66 on three public pages; 6 and 4 AWG by a trade magazine's quiz.
        ("2 AWG", "copper", "water", "8 AWG"),
        ("1 AWG", "copper", "water", "6 AWG"),
        ("4/0 AWG", "aluminum", "water", "4 AWG"),
        ("4/0 AWG", "aluminum", "rod", "6 AWG"),
        ("500 kcmil", "copper", "concrete", "4 AWG"),
        ("2 AWG", "copper", "rod", "8 AWG"),
    ],
)
def test_conductor_to_the_electrode(supply, metal, electrode, size):
    found, line = electrode_conductor_needed(
        edition=EDITION, supply_size=supply, material=metal, electrode=electrode
    )
    assert (found, line.amount) == (size, size)


def test_radius_of_a_bend_by_trade_size():
    # 2011 handbook, Chapter 9, Table 2: 1 in by a shoe bender, 5 3/4 in.
    assert bend_radius_needed_in(edition=EDITION, trade_size="1").amount == 5.75


def test_a_trade_size_nobody_makes_is_refused():
    with pytest.raises(MissingEntry, match="no trade size 7/8"):
        trade_size_in("7/8")
