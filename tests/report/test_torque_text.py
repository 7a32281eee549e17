"""The sheet as it is printed: what stops first, room to write, nothing cut."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from lugbook.assess.torque import torque_sheet
from lugbook.codebook.edition import open_edition
from lugbook.premises.plan import parse_plan
from lugbook.report.paper import Paper, cells
from lugbook.report.torque_text import numbers_text, tool_text, torque_text

DEMO = Path("examples/potters_house/plan.toml").read_text(encoding="utf-8")
ON = date(2026, 11, 25)


def sheet_of(text):
    return torque_sheet(parse_plan(text), open_edition("2023"), ON)


SHEET = sheet_of(DEMO)
TEXT = torque_text(SHEET, Paper())


@pytest.mark.parametrize("width", [40, 60, 80, 100])
@pytest.mark.parametrize("encoding", ["utf-8", "ascii"])
def test_no_line_is_wider_than_the_paper(width, encoding):
    text = torque_text(SHEET, Paper(width=width, encoding=encoding))
    assert max(cells(line) for line in text.splitlines()) <= width
    text.encode(encoding)


def test_danger_stands_before_any_terminal():
    assert TEXT.index("DANGER T1 to T3: Not by you while live") < TEXT.index("T4 ")


def test_every_terminal_has_its_number_and_every_unit():
    lines = TEXT.splitlines()
    for terminal in SHEET.terminals:
        assert any(line.startswith(f"{terminal.number} ") for line in lines)
    # 50 lbf·in: 50 / 12 = 4.17 lbf·ft, 50 × 0.112985 = 5.65 N·m
    for shown in ("50 lbf·in", "4.17 lbf·ft", "5.65 N·m"):
        assert TEXT.count(shown) >= 4


def test_what_may_be_touched_has_room_to_write_and_what_may_not_has_none():
    table = TEXT.partition("as-left")[2].partition("Where each torque")[0]
    rows = {line.split()[0]: line for line in table.splitlines() if line[:1] == "T"}
    for terminal in SHEET.terminals:
        row = rows[terminal.number]
        if terminal.live:
            assert "not by you" in row
        else:
            assert row.count("_" * 8) >= 3
    for label in ("Tool used ", "Its calibration, day ", "Notes "):
        assert f"\n{label}____" in TEXT


def test_a_torque_not_known_leaves_a_blank_and_no_zero():
    row = next(line for line in TEXT.splitlines() if line.startswith("T13 "))
    # The blank of the column "torque" has eight places.
    assert "________" in row.split()
    assert " 0 lbf·in" not in TEXT


def test_where_a_torque_comes_from_is_said_once_for_all_it_holds_for():
    assert TEXT.count("printed 50 lbf·in (read)") == 1
    assert "T4, T5, T10, T11: printed 50 lbf·in (read)." in TEXT


@pytest.mark.parametrize(
    ("fields", "said"),
    [
        ("", "small_wrench, but its calibration is not stated."),
        ("calibrated = 2026-06-01\n", "small_wrench will do."),
        ("calibrated = 2024-06-01\n", "small_wrench must be calibrated first: "),
    ],
)
def test_the_tool_is_told_with_what_is_wrong_with_it(fields, said):
    text = DEMO.replace('"600 lbf·in"\n', f'"100 lbf·in"\n{fields}')
    assert tool_text(sheet_of(text).terminals[3]).startswith(said)


def test_without_a_tool_the_sheet_says_so():
    text = DEMO.partition("[[wrenches]]")[0]
    assert tool_text(sheet_of(text).terminals[3]) == (
        "no torque wrench or screwdriver is stated."
    )


def test_what_was_tightened_is_told_in_the_unit_it_was_typed_in():
    text = DEMO + (
        '\n[[circuit.terminals]]\nid = "lug_a"\nat = "overcurrent device"\n'
        'on = "leg A"\ntorque_reached = "8 N·m"\n'
    )
    said = torque_text(sheet_of(text), Paper()).partition("Already tightened")[2]
    # 8 N·m is 70.8 lbf·in, 1.416 times 50: within 5 % of 1.356, so asked about.
    assert "T4: 8 N·m (70.8 lbf·in) reached: cannot tell" in said


def test_numbers_in_a_run_are_drawn_together():
    assert numbers_text(["T1", "T2"]) == "T1, T2"
    assert numbers_text(["T1", "T2", "T3"]) == "T1 to T3"
    assert numbers_text([]) == ""
