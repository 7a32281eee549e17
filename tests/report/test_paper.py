import pytest

from lugbook.finding import Outcome
from lugbook.report.paper import Column, Paper, cells


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("200 A", 5),
        ("陶芸家", 6),  # three wide characters
        ("e\N{COMBINING ACUTE ACCENT}", 1),
        ("", 0),
    ],
)
def test_wide_characters_take_two_cells_and_combining_ones_none(text, expected):
    assert cells(text) == expected


@pytest.mark.parametrize("width", [40, 41, 80, 100])
@pytest.mark.parametrize("encoding", ["utf-8", "ascii", "latin-1"])
def test_no_wrapped_line_is_wider_than_the_paper(width, encoding):
    paper = Paper(width=width, encoding=encoding)
    text = "陶芸家の家 a-very-long-path/" + "x" * 150 + " 35 lbf·in at 52 °C · " * 9
    for line in paper.wrap(text, first="  │• ", rest="      "):
        assert cells(line) <= width


def test_nothing_of_a_text_is_lost_in_wrapping():
    words = [f"word{number}" for number in range(60)] + ["y" * 130]
    lines = Paper(width=40).wrap(" ".join(words))
    assert "".join(lines).replace(" ", "") == "".join(words)


def test_a_figure_stays_on_one_line_with_its_unit():
    # 38 cells before the figure: "200" would fit and "A" would not.
    lines = Paper(width=42).wrap("x" * 38 + " 200 A")
    assert lines == ["x" * 38, "200 A"]


def test_a_text_cannot_steer_the_terminal():
    shown = Paper().fit("\x1b[31mred\x07\x9b1m \u202eturned\u2066 two\nlines")
    assert shown == "?[31mred??1m ?turned? two lines"


@pytest.mark.parametrize("encoding", ["ascii", "latin-1", "cp437", "utf-8"])
def test_every_text_can_be_written_in_the_encoding_of_the_paper(encoding):
    text = "• │ ┊ ─ · × ÷ − – — √ ≤ ≥ ° ² ³ ½ Ω µ Δ … ’ “ § 陶"
    Paper(encoding=encoding).fit(text).encode(encoding)


def test_an_unknown_encoding_gets_plain_characters():
    assert Paper(encoding="ascii").fit("120 × 1.25") == "120 x 1.25"


@pytest.mark.parametrize("encoding", ["utf-8", "ascii"])
def test_the_five_marks_differ_and_are_equally_wide(encoding):
    marks = [Paper(encoding=encoding).mark(outcome) for outcome in Outcome]
    assert len(set(marks)) == len(Outcome)
    assert {cells(mark) for mark in marks} == {4}


def test_the_marks_are_of_one_alphabet_where_only_some_characters_can_be_shown():
    # cp437 has the bullet and the rule, but not the dashed rule.
    assert Paper(encoding="cp437").mark(Outcome.MEETS).isascii()


def test_the_dot_stands_where_the_amount_does():
    marks = {outcome: Paper().mark(outcome) for outcome in Outcome}
    dot = {outcome: mark.find("•") for outcome, mark in marks.items()}
    rule = marks[Outcome.MEETS].index("│")
    assert dot[Outcome.MEETS] < rule - 1  # short of the limit
    assert dot[Outcome.NARROW] == rule - 1  # touching it
    assert dot[Outcome.FALLS_SHORT] == rule + 1  # past it
    assert dot[Outcome.CANNOT_TELL] == dot[Outcome.NOT_REQUIRED] == -1


def test_figures_stand_with_their_decimal_points_in_one_line():
    columns = (Column("what"), Column("load", figures=True))
    rows = [("one", "199.96"), ("two", "32"), ("three", "-"), ("four", "2,245.6")]
    lines = Paper().table(columns, rows)[2:]
    # The point, or where it would stand, is behind the same cell.
    assert lines == [
        "one      199.96",
        "two       32",
        "three         -",
        "four   2,245.6",
    ]


@pytest.mark.parametrize("width", [40, 60, 80])
def test_a_table_gives_way_in_its_wrapping_columns(width):
    columns = (Column("name", wraps=True), Column("says", wraps=True), Column("unit"))
    rows = [("conductor " * 5, "ampacity " * 12 + "z" * 50, "VA")]
    assert all(cells(line) <= width for line in Paper(width=width).table(columns, rows))


def test_a_table_without_titles_has_no_rule():
    assert Paper().table((Column(""), Column("")), [("a", "b")]) == ["a  b"]


def test_a_line_end_in_a_cell_is_kept():
    columns = (Column("formula", wraps=True), Column("unit"))
    assert Paper().table(columns, [("V × A\n= 240 × 80", "VA")])[2:] == [
        "V × A       VA",
        "= 240 × 80",
    ]


def test_a_table_too_wide_for_the_paper_becomes_sentences():
    columns = (Column("method"), Column(""), Column("load, A", figures=True))
    rows = [("optional" * 4, "• │ ", "156.2")]
    assert Paper(width=40).table(columns, rows) == [
        "optionaloptionaloptionaloptional:",
        "  load, A 156.2",
    ]
