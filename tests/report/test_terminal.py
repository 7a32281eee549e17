from dataclasses import replace

import pytest

from lugbook.finding import Outcome, SignalWord
from lugbook.report.paper import Paper, cells
from lugbook.report.terminal import answer, full_answer


def section(text, heading):
    """Return the lines below a heading, up to the next empty one."""
    lines = text.splitlines()
    start = next(i for i, line in enumerate(lines) if line.startswith(heading))
    end = next((i for i in range(start, len(lines)) if not lines[i]), len(lines))
    return "\n".join(lines[start + 1 : end])


@pytest.mark.parametrize("show", [answer, full_answer])
@pytest.mark.parametrize("width", [40, 60, 80, 100])
@pytest.mark.parametrize("encoding", ["utf-8", "ascii"])
def test_no_line_is_wider_than_the_terminal(assessment, show, width, encoding):
    text = show(assessment, Paper(width, encoding))
    assert all(cells(line) <= width for line in text.splitlines())
    text.encode(encoding)


@pytest.mark.parametrize("show", [answer, full_answer])
def test_nothing_but_plain_text_is_written(assessment, show):
    named = replace(assessment, name="house \x1b[2J")
    assert "\x1b" not in show(named, Paper())


def test_the_headline_comes_first_with_its_word_and_what_is_not_confirmed(assessment):
    lines = answer(assessment, Paper()).split("\n\n")[0]
    assert "│•   FALLS SHORT. At 80 A the plan falls short in 2 points." in lines
    assert "1 book value not confirmed" in lines


def test_a_confirmed_answer_says_nothing_of_unconfirmed_values(assessment):
    headline = replace(assessment.headline, unconfirmed_values=0)
    text = answer(replace(assessment, headline=headline), Paper())
    assert "not confirmed" not in text


def test_what_stops_stands_before_what_must_be_done(assessment):
    text = answer(assessment, Paper())
    assert "through the attic" in section(text, "Stop:")
    assert "calculated load" in section(text, "Must be done")
    assert text.index("Stop:") < text.index("Must be done")


def test_the_signal_word_is_the_first_word_of_the_line_that_says_what_to_do(assessment):
    lines = section(answer(assessment, Paper()), "Stop:").splitlines()
    assert lines[-1].split()[:4] == ["WARNING:", "Do", "not", "energise;"]


def test_a_signal_word_never_stands_without_what_to_do_about_it(assessment):
    findings = tuple(
        replace(finding, signal=SignalWord.DANGER)
        if finding.outcome is Outcome.CANNOT_TELL
        else finding
        for finding in assessment.findings
    )
    text = answer(replace(assessment, findings=findings), Paper())
    told = section(text, "Cannot be told")
    assert "DANGER: How large is the meter base? Look: label inside its cover." in told


def test_what_is_narrow_has_a_section_of_its_own(assessment):
    assert "6.9 V against 7.2 V" in section(answer(assessment, Paper()), "Narrow")


@pytest.mark.parametrize("height", [30, 34, 40])
def test_lists_are_cut_until_the_answer_fits_the_screen(assessment, height):
    many = replace(
        assessment,
        findings=(),
        unknowns=tuple(
            replace(assessment.unknowns[0], question=f"What {n}?") for n in range(30)
        ),
    )
    text = answer(many, Paper(height=height))
    assert len(text.splitlines()) <= height
    assert "more, with --working" in text


def test_what_cannot_be_told_says_where_to_look_once(assessment):
    text = section(answer(assessment, Paper()), "Cannot be told")
    assert text.count("label inside its cover") == 1
    assert "(service.meter_base_rating)" in text


def test_every_stop_and_must_is_shown_and_long_lists_are_cut_and_counted(assessment):
    stop = next(f for f in assessment.findings if f.weight.value == "stop")
    narrow = next(f for f in assessment.findings if f.outcome is Outcome.NARROW)
    many = replace(
        assessment,
        findings=(
            *(replace(stop, question=f"Stop {n}?") for n in range(12)),
            *(replace(narrow, question=f"Near {n}?") for n in range(12)),
        ),
    )
    text = answer(many, Paper(height=24))
    assert all(f"Stop {n}?" in text for n in range(12))
    assert sum(f"Near {n}?" in text for n in range(12)) == 1
    assert "and 11 more, with --working" in text
    tall = answer(many, Paper(height=200))
    assert all(f"Near {n}?" in tall for n in range(12))
    full = full_answer(many, Paper())
    assert all(f"Near {n}?" in full for n in range(12))


def test_the_largest_settings_are_named_and_a_missing_one_is_not_a_number(assessment):
    text = " ".join(answer(assessment, Paper()).split())
    assert "Largest setting: none proven on the prudent reading" in text
    assert "64 A as worded. The service alone: none proven and 80 A;" in text
    assert "the circuit as described: 64 A." in text


def test_what_caps_the_circuit_is_said_beside_the_cap(assessment):
    headline = replace(assessment.headline, circuit_reason="the conductor in the attic")
    text = answer(replace(assessment, headline=headline), Paper())
    assert "64 A (the conductor in the attic)." in " ".join(text.split())


def test_where_nothing_is_proven_one_sentence_says_so(assessment):
    headline = replace(
        assessment.headline,
        largest_literal_a=None,
        service_largest_literal_a=None,
        circuit_largest_a=None,
        circuit_reason="",
    )
    text = answer(replace(assessment, headline=headline), Paper())
    assert "Largest setting: none proven.\n\n" in text


def test_the_capacity_table_has_a_line_for_each_reading_that_matters(assessment):
    table = section(answer(assessment, Paper()), "Service, charger at 80 A, limit 200")
    assert [line.split()[:2] for line in table.splitlines()[2:7]] == [
        ["optional", "worded"],
        ["optional", "prudent"],
        ["existing", "worded"],
        ["standard", "both"],
        ["measured", "both"],
    ]
    assert "outside, 125 %" not in table
    assert "outside, 125 %" in full_answer(assessment, Paper(width=100))


def test_a_load_just_below_the_limit_is_not_shown_as_the_limit(assessment):
    table = section(answer(assessment, Paper()), "Service, charger")
    assert "199.96" in table


def test_a_method_that_is_not_permitted_says_why_and_names_no_setting(assessment):
    table = section(answer(assessment, Paper()), "Service, charger")
    row = next(line for line in table.splitlines() if line.startswith("existing"))
    cells = row.split()
    assert (cells[3], cells[-2:]) == ("-", ["not", "permitted"])
    assert "┊" in cells
    assert "existing: heating or cooling is added." in table


def test_an_unknown_service_rating_is_said_to_be_unknown(assessment):
    rows = tuple(
        replace(row, limit_a=None, outcome=Outcome.CANNOT_TELL, largest_setting_a=None)
        for row in assessment.capacity
    )
    text = answer(replace(assessment, capacity=rows), Paper())
    assert "Service, charger at 80 A, limit unknown" in text
    assert "none" not in section(text, "Service, charger")


def test_methods_that_differ_are_not_left_without_a_word_on_which_decides(assessment):
    enough = "; one method that passes is enough"
    text = " ".join(answer(assessment, Paper()).split())
    assert enough in text
    rows = tuple(
        replace(row, outcome=Outcome.FALLS_SHORT) for row in assessment.capacity
    )
    assert enough not in answer(replace(assessment, capacity=rows), Paper())


def test_what_the_plan_leaves_open_is_sized(assessment):
    item = replace(assessment.circuit[0], stated=None)
    needless = replace(item, item="neutral", minimum="none")
    advised = replace(item, item="voltage_drop", finding=assessment.findings[4])
    text = answer(replace(assessment, circuit=(item, needless, advised)), Paper())
    assert "as the plan leaves it open: conductor: 2 AWG copper." in text


def test_a_finding_on_one_of_several_things_says_on_which(assessment):
    finding = replace(assessment.findings[3], id="circuit.terminals.load_end")
    item = replace(assessment.circuit[0], item="terminals", finding=finding)
    about = replace(assessment, findings=(finding,), circuit=(item,))
    assert "terminals, load end" in full_answer(about, Paper())
    text = answer(about, Paper())
    assert "load end: Does the conductor carry" in text


def test_the_answer_says_how_to_see_what_is_behind_it(assessment):
    last = " ".join(answer(assessment, Paper()).split("\n\n")[-1].split())
    assert last == (
        "With --working: 1 more reading of the methods, 1 part of the circuit, "
        "1 assumption, all arithmetic."
    )


def test_the_working_shows_every_line_with_edition_clause_and_status(assessment):
    text = " ".join(full_answer(assessment, Paper(100)).split())
    for working in (
        "area × load per area 5,760 VA NFPA 70-2023 220.82(B) (confirmed)",
        "= 1,920 ft² × 3 VA/ft²",
        "NFPA 70-2023 220.57(A) (from",
        "amended: Clayville 12-3 (invented)",
    ):
        assert working in text


def test_a_working_that_several_rows_share_is_printed_once(assessment):
    text = full_answer(assessment, Paper())
    assert text.count("Optional method, charger outside the demand factor") == 1


def test_all_five_outcomes_and_the_assumptions_stand_in_the_full_answer(assessment):
    text = full_answer(assessment, Paper())
    headings = ("Stop:", "Must be done", "Narrow", "Cannot be told", "Advice", "Meets")
    for heading in (*headings, "Not required", "Circuit", "Taken as given"):
        assert f"\n{heading}" in text


def test_an_assessment_with_nothing_in_it_is_still_an_answer(assessment):
    bare = replace(
        assessment,
        name="",
        amendments=(),
        capacity=(),
        circuit=(),
        findings=(),
        assumptions=(),
        unknowns=(),
        service_rating=replace(assessment.service_rating, lines=()),
    )
    assert answer(bare, Paper()).startswith("NFPA 70-2023, 25 November 2026\n")
    assert "Service, charger" not in full_answer(bare, Paper())
