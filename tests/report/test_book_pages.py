import csv
import io
from dataclasses import replace

import pytest

from lugbook.codebook.edition import editions, open_edition
from lugbook.errors import InputError
from lugbook.report.book_pages import contents_page, csv_text, find_entry, page
from lugbook.report.paper import Paper, cells

YEARS = editions()


@pytest.fixture(params=YEARS)
def edition(request):
    return open_edition(request.param)


def test_the_contents_name_every_table_and_rule_with_its_place(edition):
    text = contents_page(edition, Paper())
    for table in edition.tables.values():
        assert f"\n  {table.name}: " in text
    for rule in edition.rules.values():
        where = "not in this edition" if rule.absent else rule.citation.locator
        assert f"{rule.name}: {where}" in " ".join(text.split())


@pytest.mark.parametrize("width", [60, 80, 100])
def test_every_table_and_rule_can_be_shown_on_a_terminal(edition, width):
    for entry in (*edition.tables.values(), *edition.rules.values()):
        lines = page(entry, Paper(width)).splitlines()
        assert all(cells(line) <= width for line in lines), entry.name


def test_a_page_tells_source_locator_and_status(edition):
    for entry in (*edition.tables.values(), *edition.rules.values()):
        text = " ".join(page(entry, Paper()).split())
        assert f"NFPA 70-{edition.year} {entry.citation.locator}".strip() in text
        assert f"({entry.citation.status.value})" in text


def test_the_csv_is_header_and_rows_and_reads_back_as_the_table(edition):
    for table in edition.tables.values():
        header, *rows = csv.reader(io.StringIO(csv_text(table)))
        assert tuple(header) == table.columns
        assert rows == [[str(cell) for cell in row] for row in table.rows]


def test_the_csv_of_a_rule_has_a_row_for_each_parameter(edition):
    for rule in edition.rules.values():
        header, *rows = csv.reader(io.StringIO(csv_text(rule)))
        assert header == ["parameter", "amount"]
        assert [row[0] for row in rows] == list(rule.parameters)


def test_a_misspelled_name_is_refused_with_the_nearest_ones():
    with pytest.raises(InputError, match=r"'ampacit'.*Did you mean ampacity"):
        find_entry(open_edition("2023"), "ampacit")


def test_a_name_like_no_other_is_refused_without_a_guess():
    with pytest.raises(InputError) as caught:
        find_entry(open_edition("2023"), "qqqqqq")
    assert "Did you mean" not in str(caught.value)


def test_an_amended_rule_shows_what_is_printed_beside_what_counts():
    rule = open_edition("2023").rule("optional-dwelling")
    amended = replace(
        rule, parameters={**rule.parameters, "first_va": 9000, "extra": 1}
    )
    rows = [line.split() for line in page(amended, Paper()).splitlines()]
    assert ["first_va", "9000", "10000"] in rows
    assert ["extra", "1", "nothing"] in rows


def test_a_rule_the_edition_does_not_have_says_so():
    rule = replace(open_edition("2023").rule("optional-dwelling"), absent=True)
    assert "This edition has no such rule." in page(rule, Paper())


def test_a_rule_without_numbers_says_so():
    rule = replace(
        open_edition("2023").rule("optional-dwelling"), parameters={}, printed={}
    )
    assert "It has no numbers." in page(rule, Paper())


def test_rows_of_their_own_status_carry_it_in_a_column():
    from lugbook.finding import Status

    table = open_edition("2023").table("ampacity")
    marked = replace(table, row_status={"3 AWG": Status.FROM_MEMORY})
    lines = page(marked, Paper(100)).splitlines()
    assert next(x for x in lines if x.startswith("3 AWG")).endswith("from memory")
    assert next(x for x in lines if x.startswith("2 AWG")).endswith("confirmed")
