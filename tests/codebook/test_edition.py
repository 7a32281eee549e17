from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from lugbook.codebook import edition as reader
from lugbook.codebook.edition import amendments, editions, open_edition
from lugbook.errors import BookError, MissingEntry
from lugbook.finding import Status

TABLE = """\
title = "Invented table"
locator = "Table 1"
status = "confirmed"
confirmed_by = "an invented second text"
checked_on = 2026-11-25
columns = ["load_up_to_va", "demand_factor"]
rows = [
    [3000, 1.0],
    [6000, "-"],
]
"""
RULE = """\
[invented-rule]
question = "Is this rule invented?"
locator = "1.1"
status = "confirmed"
confirmed_by = "an invented second text"
checked_on = 2026-11-25
limit_a = 40
words = ["one", "two"]
variant = "plain"
"""
AMENDMENT = """\
place = "Invented County"
[rules.invented-rule]
locator = "Ordinance 7"
limit_a = 30
status = "from memory"
"""
Shelf = Callable[..., None]


@pytest.fixture
def shelf(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Shelf]:
    """A shelf with one invented book; the texts of its files may be given."""
    monkeypatch.setattr(reader, "_ROOT", tmp_path)
    open_edition.cache_clear()

    def put(table: str = TABLE, rule: str = RULE, amendment: str = AMENDMENT) -> None:
        year = tmp_path / "nfpa70" / "1999"
        year.mkdir(parents=True, exist_ok=True)
        (tmp_path / "amendments").mkdir(exist_ok=True)
        (year / "demand.toml").write_text(table, encoding="utf-8")
        (year / "rules.toml").write_text(rule, encoding="utf-8")
        county = tmp_path / "amendments" / "county.toml"
        county.write_text(amendment, encoding="utf-8")

    put()
    yield put
    open_edition.cache_clear()


def test_an_edition_holds_the_tables_and_rules_of_its_folder(shelf):
    edition = open_edition("1999")
    assert edition.key == "nfpa70-1999"
    assert list(edition.tables) == ["demand"]
    assert list(edition.rules) == ["invented-rule"]
    assert str(edition.rule("invented-rule").citation) == "NFPA 70-1999 1.1"


def test_other_files_beside_the_tables_are_passed_over(shelf, tmp_path):
    (tmp_path / "nfpa70" / "1999" / "notes.txt").write_text("invented")
    assert list(open_edition("1999").tables) == ["demand"]


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        ("title = ", "demand.toml: not readable as TOML"),
        (TABLE + "colour = 1\n", "demand.toml: unknown keys colour"),
        (TABLE.replace("locator", "place"), "demand.toml: unknown keys place"),
        (TABLE.replace('locator = "Table 1"\n', ""), "missing or unknown 'locator'"),
        (TABLE.replace('status = "confirmed"\n', ""), "missing or unknown 'status'"),
        (TABLE.replace('"confirmed"', '"certain"'), "'certain' is not a valid Status"),
        (
            TABLE.replace("an invented second text", ""),
            "demand.toml: says confirmed but not by what",
        ),
        (TABLE.replace("3000, 1.0", "3000"), "has not 2 cells"),
        (TABLE.split("rows")[0], "demand.toml: has no rows"),
        (TABLE + 'row_status = { "3000" = "certain" }\n', "not a valid Status"),
        (TABLE + 'row_status = { "4000" = "from memory" }\n', "no row 4000"),
    ],
)
def test_a_malformed_table_is_refused_with_a_sentence(shelf, text, sentence):
    shelf(table=text)
    with pytest.raises(BookError, match=sentence):
        open_edition("1999")


def test_a_table_that_is_not_utf8_is_refused(shelf, tmp_path):
    path = tmp_path / "nfpa70" / "1999" / "demand.toml"
    path.write_bytes(TABLE.encode().replace(b"Invented", b"\xff"))
    with pytest.raises(BookError, match=r"demand\.toml: not readable as TOML"):
        open_edition("1999")


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        ("[invented-rule", r"rules\.toml: not readable as TOML"),
        ("stray = 1\n", r"rules\.toml \[stray\]: a rule is a table, not 1"),
        (RULE.replace('locator = "1.1"\n', ""), "missing or unknown 'locator'"),
        (RULE.replace('"confirmed"', '"certain"'), "'certain' is not a valid Status"),
        (RULE.replace("an invented second text", ""), "says confirmed but not by what"),
        (
            RULE + 'from_memory = ["limit_v"]\n',
            r"\[invented-rule\]: from_memory names no parameter limit_v",
        ),
    ],
)
def test_a_malformed_rule_is_refused_with_a_sentence(shelf, text, sentence):
    shelf(rule=text)
    with pytest.raises(BookError, match=sentence):
        open_edition("1999")


def test_an_edition_that_is_not_held_lists_those_that_are():
    with pytest.raises(
        BookError, match="edition 1996 of nfpa70 is not held; held are 2017, 2020"
    ):
        open_edition("1996")


def test_unknown_names_list_what_there_is(shelf):
    edition = open_edition("1999")
    with pytest.raises(MissingEntry, match="no rule free-lunch; it has invented-rule"):
        edition.rule("free-lunch")
    with pytest.raises(MissingEntry, match="no table lunch; it has demand"):
        edition.table("lunch")
    table = edition.table("demand")
    with pytest.raises(MissingEntry, match="no row 7; it has 3000, 6000"):
        table.row(7)
    with pytest.raises(MissingEntry, match="no column price; it has load_up_to_va"):
        table.cell(table.rows[0], "price")
    with pytest.raises(MissingEntry, match="no column price; it has load_up_to_va"):
        table.text(table.rows[0], "price")


@pytest.mark.parametrize(
    ("bound", "first"), [(2999, 3000), (3000, 3000), (3000.1, 6000), (6000, 6000)]
)
def test_a_table_by_range_gives_the_first_row_not_exceeded(shelf, bound, first):
    assert open_edition("1999").table("demand").at_most(bound)[0] == first


def test_beyond_the_last_row_nothing_is_guessed(shelf):
    with pytest.raises(MissingEntry, match=r"ends at 6000; 6000\.1 lies beyond it"):
        open_edition("1999").table("demand").at_most(6000.1)


def test_a_dash_is_no_number(shelf):
    table = open_edition("1999").table("demand")
    assert table.cell(table.row(6000), "demand_factor") is None
    assert table.text(table.row(6000), "demand_factor") is None
    assert table.cell(table.row(3000), "demand_factor") == 1.0
    assert table.text(table.row(3000), "demand_factor") == "1.0"


def test_a_row_may_be_known_less_well_than_its_table(shelf):
    shelf(table=TABLE + 'row_status = { "6000" = "from memory" }\n')
    table = open_edition("1999").table("demand")
    assert table.cite(table.row(3000)).status is Status.CONFIRMED
    assert table.cite(table.row(6000)).status is Status.FROM_MEMORY


@pytest.mark.parametrize(
    ("ask", "kind"), [("number", "number"), ("text", "text"), ("words", "list")]
)
def test_a_parameter_of_another_kind_is_not_taken_for_it(shelf, ask, kind):
    shelf(rule=RULE + "flag = true\n")
    rule = open_edition("1999").rule("invented-rule")
    with pytest.raises(MissingEntry, match=f"invented-rule has no {kind} flag"):
        getattr(rule, ask)("flag")


def test_parameters_come_out_as_they_went_in(shelf):
    rule = open_edition("1999").rule("invented-rule")
    assert rule.number("limit_a") == 40.0
    assert rule.text("variant") == "plain"
    assert rule.words("words") == ("one", "two")


def test_a_parameter_from_memory_weakens_only_its_own_citation(shelf):
    shelf(rule=RULE + 'from_memory = ["limit_a"]\n')
    rule = open_edition("1999").rule("invented-rule")
    assert rule.cite("limit_a").status is Status.FROM_MEMORY
    assert rule.cite("variant").status is Status.CONFIRMED
    assert "from_memory" not in rule.parameters


def test_an_amendment_lies_over_the_rule_and_both_stay_visible(shelf):
    amended = open_edition("1999", amended_by=("county",))
    rule = amended.rule("invented-rule")
    assert rule.number("limit_a") == 30.0
    assert rule.printed["limit_a"] == 40
    assert rule.text("variant") == "plain"
    assert rule.citation.amended_by == "Invented County Ordinance 7"
    assert rule.citation.status is Status.FROM_MEMORY
    assert "amended: Invented County Ordinance 7" in str(rule.citation)
    assert amended.amendments == ("county",)


def test_the_edition_without_its_amendment_is_untouched(shelf):
    open_edition("1999", amended_by=("county",))
    plain = open_edition("1999").rule("invented-rule")
    assert plain.number("limit_a") == 40.0
    assert plain.citation.amended_by == ""


def test_an_amendment_may_bring_a_rule_the_edition_lacks(shelf):
    shelf(
        rule=RULE + "absent = true\n",
        amendment=AMENDMENT + "absent = false\n",
    )
    assert open_edition("1999").rule("invented-rule").absent
    amended = open_edition("1999", amended_by=("county",))
    assert not amended.rule("invented-rule").absent


def test_an_amendment_that_is_not_held_lists_those_that_are(shelf):
    with pytest.raises(
        BookError, match="local amendment city is not held; held are county"
    ):
        open_edition("1999", amended_by=("city",))


def test_an_amendment_to_an_unknown_rule_is_refused(shelf):
    shelf(amendment=AMENDMENT.replace("invented-rule", "free-lunch"))
    with pytest.raises(BookError, match="amendment county: no rule free-lunch"):
        open_edition("1999", amended_by=("county",))


def test_an_amendment_with_an_unknown_status_is_refused(shelf):
    shelf(amendment=AMENDMENT.replace("from memory", "certain"))
    with pytest.raises(BookError, match=r"county \[invented-rule\]: 'certain' is not"):
        open_edition("1999", amended_by=("county",))


def test_the_shelf_is_listed_oldest_first():
    assert editions() == ("2017", "2020", "2023", "2026")
    assert list(amendments()) == sorted(amendments())
