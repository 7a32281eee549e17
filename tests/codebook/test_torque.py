"""Torque by the book's tables, against published examples and other printings."""

from __future__ import annotations

import pytest

from lugbook.codebook.edition import editions, open_edition
from lugbook.codebook.nfpa70.torque import default_torques, must_tool_be_calibrated

INCH_M = 0.0254


def torques(kind, size=None, flats=None, *, split_bolt=False, year="2023"):
    """Return the torques in lbf·in, as the table prints them."""
    found = default_torques(
        edition=open_edition(year),
        kind=kind,
        size=size,
        across_flats_m=None if flats is None else flats * INCH_M,
        split_bolt=split_bolt,
    )
    return [each.line.amount for each in found]


# An exam preparation page on Annex I: 2 AWG, split bolt 275 and other 150 lbf·in;
# 3/16 in recessed drive 120 lbf·in.
@pytest.mark.parametrize("year", editions())
def test_the_examples_of_a_teaching_page_come_out(year):
    assert torques("hex head", "2 AWG", year=year) == [150]
    assert torques("hex head", "2 AWG", split_bolt=True, year=year) == [150, 275]
    assert torques("hex socket", flats=3 / 16, year=year) == [120]


# A transfer switch maker's manual prints these for mechanical lugs, by socket size.
@pytest.mark.parametrize(
    ("flats", "torque_lbf_in"),
    [(1 / 4, 200), (5 / 16, 275), (3 / 8, 375), (1 / 2, 500)],
)
def test_a_makers_manual_prints_the_same_for_a_socket(flats, torque_lbf_in):
    assert torques("hex socket", flats=flats) == [torque_lbf_in]


# A web copy of Annex I prints N·m beside lbf·in: 200 is 22.6, 150 is 16.9, 45 is 5.1.
@pytest.mark.parametrize(
    ("kind", "size", "flats", "newton_metres"),
    [
        ("hex socket", None, 1 / 4, 22.6),
        ("hex head", "2 AWG", None, 16.9),
        ("slotted screw", "4 AWG", None, 5.1),
    ],
)
def test_the_torque_inside_is_the_printed_one_in_newton_metres(
    kind, size, flats, newton_metres
):
    found = default_torques(
        edition=open_edition("2023"),
        kind=kind,
        size=size,
        across_flats_m=None if flats is None else flats * INCH_M,
        split_bolt=False,
    )
    # The table rounds to a tenth of a newton metre, and 16.95 down.
    assert found[-1].torque_n_m == pytest.approx(newton_metres, abs=0.06)


def test_a_slot_that_nobody_measured_leaves_two_torques():
    assert torques("slotted screw", "6 AWG") == [35, 45]


def test_a_slot_that_no_table_has_narrow_leaves_one():
    assert torques("slotted screw", "1 AWG") == [50]


def test_up_to_8_awg_the_screw_may_be_smaller_than_number_10():
    small = {7, 9, 12, 15, 20}
    assert set(torques("slotted screw", "8 AWG")) == {*small, 25, 40}
    assert not small & set(torques("slotted screw", "6 AWG"))


@pytest.mark.parametrize(
    ("kind", "size", "flats"),
    [
        (None, "2 AWG", None),
        ("other", "2 AWG", None),
        ("slotted screw", None, None),
        ("hex head", None, None),
        ("hex socket", "2 AWG", None),
        ("slotted screw", "2000 kcmil", None),
        ("hex socket", None, 5 / 25.4),  # a 5 mm key is not 3/16 in
    ],
)
def test_where_the_tables_do_not_reach_nothing_is_given(kind, size, flats):
    assert torques(kind, size, flats) == []


def test_only_2017_asks_for_a_calibrated_tool_by_name():
    asked = {
        year: must_tool_be_calibrated(edition=open_edition(year)) for year in editions()
    }
    assert asked == {"2017": True, "2020": False, "2023": False, "2026": False}
