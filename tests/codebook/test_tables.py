from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

import second_typing
from lugbook.codebook.edition import editions, open_edition
from lugbook.finding import Status

ROOT = Path(__file__).resolve().parents[2]
YEARS = editions()
STEMS = tuple(open_edition(YEARS[-1]).tables)


@pytest.mark.parametrize("year", YEARS)
@pytest.mark.parametrize("stem", STEMS)
def test_every_cell_equals_its_second_typing(year, stem):
    table = open_edition(year).table(stem)
    assert second_typing.table_differences(table, year=year) == []


@pytest.mark.parametrize("year", YEARS)
def test_every_table_stands_in_every_edition_with_the_same_columns(year):
    newest = open_edition(YEARS[-1]).tables
    here = open_edition(year).tables
    assert sorted(here) == sorted(newest)
    assert {stem: table.columns for stem, table in here.items()} == {
        stem: table.columns for stem, table in newest.items()
    }


@pytest.mark.parametrize("year", YEARS)
@pytest.mark.parametrize("stem", STEMS)
def test_every_table_says_where_it_is_printed_and_how_well_it_is_known(year, stem):
    path = ROOT / "src" / "lugbook" / "codebook" / "nfpa70" / year / f"{stem}.toml"
    entry = second_typing.read_toml(path)
    assert entry["title"]
    assert entry["locator"]
    assert entry["status"] in tuple(Status)
    assert bool(entry["confirmed_by"]) == (entry["status"] == Status.CONFIRMED)
    assert isinstance(entry["checked_on"], date)


@pytest.mark.parametrize("year", YEARS)
@pytest.mark.parametrize("stem", STEMS)
def test_a_row_with_a_status_of_its_own_is_a_row_of_the_table(year, stem):
    table = open_edition(year).table(stem)
    assert set(table.row_status) <= {str(row[0]) for row in table.rows}


@pytest.mark.parametrize("year", YEARS)
@pytest.mark.parametrize("stem", STEMS)
def test_upper_bounds_rise_from_row_to_row(year, stem):
    table = open_edition(year).table(stem)
    if "_up_to_" not in f"{table.columns[0]}_" or table.columns[0].endswith("_size"):
        return
    bounds = [float(row[0]) for row in table.rows]
    assert bounds == sorted(set(bounds))


def test_ampacity_never_falls_with_size_or_with_the_column():
    """Property: a thicker wire, or a hotter insulation, carries at least as much."""
    table = open_edition("2023").table("ampacity")
    for column in range(1, len(table.columns)):
        down = [row[column] for row in table.rows if row[column] != "-"]
        assert down == sorted(down)
    for row in table.rows:
        for three in (row[1:4], row[4:7]):
            across = [cell for cell in three if cell != "-"]
            assert across == sorted(across)


def test_areas_agree_with_their_diameters():
    """Property: area = π/4 × diameter², to the rounding of the printed figures."""
    for stem, first in (
        ("insulated-conductor-dimensions", 1),
        ("insulated-conductor-dimensions-rhw", 1),
        ("raceway-dimensions", 2),
    ):
        for row in open_edition("2023").table(stem).rows:
            for column in range(first, len(row), 2):
                diameter, area = float(row[column]), float(row[column + 1])
                # Half of the last figure of a diameter in thousandths of an inch,
                # and half of the area's, is all that rounding may do.
                rounding = 0.7854 * 2 * diameter * 0.0005 + 0.0005
                assert abs(0.785398 * diameter**2 - area) <= rounding, row


def test_circular_mils_are_the_same_area_in_three_units():
    """1 kcmil is 0.5067 mm²; four figures are printed."""
    for stem in ("conductor-properties", "conductor-properties-solid"):
        table = open_edition("2023").table(stem)
        for row in table.rows:
            mils = table.cell(row, "area_circular_mil")
            area_mm2 = table.cell(row, "area_mm2")
            assert area_mm2 == pytest.approx(mils * 5.067e-4, rel=0.003)


def test_the_2017_whole_house_sizes_follow_from_83_percent_and_75_c():
    """That edition prints no table: worked from its rule and its ampacities."""
    edition = open_edition("2017")
    ampacity, table = edition.table("ampacity"), edition.table("whole-house-conductor")
    for material in ("copper", "aluminum"):
        for row in table.rows:
            size = row[table.columns.index(f"{material}_size")]
            sizes = [each[0] for each in ampacity.rows]
            if size not in sizes:
                continue  # 600 kcmil aluminum lies beyond the ampacities we carry
            column = f"{material}_75c_a"
            at = sizes.index(size)
            need = 0.83 * float(row[0])
            assert ampacity.cell(ampacity.rows[at], column) >= need
            assert ampacity.cell(ampacity.rows[at - 1], column) < need


def test_support_spacing_agrees_with_the_other_hands_own_rows():
    """The other hand lists PVC to 6 in and names kinds of MC cable; the rest alike."""
    named = {"MC": "MC to 10 AWG and four conductors", "SE, inside": "SE"}
    named["UF, inside"] = "UF"
    listed = second_typing.second_typing("support-spacing", "2023")
    for year in YEARS:
        for row in open_edition(year).table("support-spacing").rows:
            method, _, size_to, from_box, spacing, _ = row
            theirs = [
                each
                for each in listed
                if each["wiring_method"] == named.get(str(method), method)
                and (method != "PVC" or each["trade_size_up_to"] == size_to)
            ]
            if method == "SE, as service cable":
                continue  # typed only in support-spacing-rows.csv
            assert [
                (float(t["from_box_in"]), float(t["interval_in"])) for t in theirs
            ] == [(from_box, spacing)]


def test_receptacle_ratings_agree_with_the_other_hands_pairs():
    pairs = {
        (float(each["circuit_a"]), float(each["receptacle_a"]))
        for each in second_typing.second_typing("receptacle-rating", "2023")
    }
    for year in YEARS:
        ours = set()
        for circuit, least, most in open_edition(year).table("receptacle-rating").rows:
            ours |= (
                {(circuit, most)}
                if least == "-"
                else {(circuit, least), (circuit, most)}
            )
        assert ours == pairs


def test_standard_ratings_agree_with_the_other_hands_list():
    listed = {
        float(e["rating_a"])
        for e in second_typing.second_typing("standard-overcurrent", "2023")
    }
    for year in YEARS:
        table = open_edition(year).table("standard-overcurrent")
        breakers = {row[0] for row in table.rows if row[1] != "fuse"}
        assert breakers - {10} == listed
        assert (10 in breakers) == (year >= "2023")


def test_every_second_typing_says_what_was_read():
    sources = second_typing.read_toml(second_typing.TABLES / "SOURCES.toml")
    typed = {path.stem.split("@")[0] for path in second_typing.TABLES.glob("*.csv")}
    assert typed == set(sources) - {"checked_on"}
