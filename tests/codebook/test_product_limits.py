from __future__ import annotations

import math

import pytest

from lugbook.codebook.edition import editions, open_edition

LIMITS = open_edition("2026", book="product_limits")


def test_the_book_has_one_edition_named_by_the_year_of_checking():
    assert editions("product_limits") == ("2026",)


@pytest.mark.parametrize("name", sorted(LIMITS.tables))
def test_every_table_says_who_confirmed_its_confirmed_rows(name):
    table = LIMITS.table(name)
    known = {str(row[0]) for row in table.rows}
    assert set(table.row_status) <= known
    assert len(known) == len(table.rows)
    assert (
        table.citation.confirmed_by
        or "onfirmed rows" in table.note
        or all(status.value != "confirmed" for status in table.row_status.values())
    )


@pytest.mark.parametrize(
    ("like_parts_k", "meaning"),
    [(3, "possible"), (3.01, "probable"), (15, "probable"), (15.01, "major")],
)
def test_like_parts_are_judged_as_neta_prints_them(like_parts_k, meaning):
    table = LIMITS.table("thermography-like-parts")
    assert str(table.at_most(like_parts_k)[1]).startswith(meaning)


@pytest.mark.parametrize(
    ("rise_k", "meaning"),
    [(10, "possible"), (20, "probable"), (40, "monitor"), (40.01, "major")],
)
def test_ambient_column_is_as_neta_prints_it(rise_k, meaning):
    table = LIMITS.table("thermography-over-ambient")
    assert str(table.at_most(rise_k)[1]).startswith(meaning)


def test_a_standard_breaker_terminal_may_rise_50_k():
    # UL 489, 7.1.4.2.2; 40 °C test ambient and 50 K make 90 °C.
    table = LIMITS.table("terminal-rise")
    row = table.row("breaker terminal, standard rated")
    assert table.cell(row, "rise_k") == 50
    assert table.cell(row, "absolute_c") == 90
    assert table.cite(row).status.value == "confirmed"


def test_a_handle_limit_is_a_temperature_not_a_rise():
    table = LIMITS.table("terminal-rise")
    row = table.row("breaker handle or user surface, non-metal")
    assert table.cell(row, "rise_k") is None
    assert table.cell(row, "absolute_c") == 85


def test_longer_contact_burns_at_lower_temperature():
    rows = LIMITS.table("touch").rows
    metal = [row[1] for row in rows]
    assert metal == sorted(metal, reverse=True)
    assert all(row[1] <= row[2] and row[3] <= row[4] for row in rows)


def test_bare_metal_is_never_readable_by_infrared():
    for surface, low, high, readable in LIMITS.table("emissivity").rows:
        assert 0 < low < high < 1, surface
        assert (readable == "yes") == (low >= 0.9), surface


def test_the_hand_scale_is_open_at_its_end():
    assert LIMITS.table("hand-scale").at_most(500.0)[0] == math.inf


def test_a_survey_needs_40_percent_load_once_a_year():
    # NFPA 70B-2023, 7.4.5 and 9.2.2.
    assert LIMITS.rule("thermography-load").number("least_load_fraction") == 0.4
    assert LIMITS.rule("thermography-interval").number("interval_months") == 12
