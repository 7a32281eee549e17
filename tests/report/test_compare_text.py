"""Two assessments side by side, on paper."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from lugbook.actions import Side, compare
from lugbook.assess.compare import Comparison
from lugbook.report.compare_text import comparison_text
from lugbook.report.paper import Paper, cells

DEMO = Path("examples/potters_house/plan.toml")
ON = date(2026, 11, 25)


@pytest.fixture(scope="module")
def comparison() -> Comparison:
    return compare(Side(DEMO), Side(DEMO, setting_a=32.0), on=ON)


def test_both_answers_and_what_was_put_in_come_first(comparison: Comparison) -> None:
    text = comparison_text(comparison, Paper())
    assert text.startswith("A    The potter's house (invented), NFPA 70-2023, 80 A")
    assert "B    The potter's house (invented), NFPA 70-2023, 32 A" in text
    assert "setting  80 A  32 A" in text
    assert text.index("setting  80 A") < text.index("Findings whose answer differs")


def test_a_changed_answer_shows_both_with_clause(comparison: Comparison) -> None:
    text = " ".join(comparison_text(comparison, Paper()).split())
    told = text[text.index("capacity.setting_counts") :]
    assert "A not asked" in told
    assert "625.42" in told


def test_the_methods_stand_side_by_side(comparison: Comparison) -> None:
    lines = comparison_text(comparison, Paper(width=100)).splitlines()
    # By 220.83(A) with the charger outside, from the plan's 52,280 VA: 8,000 + 0.4 ×
    # 44,280 = 25,712 VA, with 80 × 240 = 19,200 VA 187.13 A, with 32 A 139.13 A.
    assert any("187.2 A of 200 A," in x and "139.2 A of 200 A," in x for x in lines)


def test_figures_that_change_nothing_are_cut_unless_asked_for(
    comparison: Comparison,
) -> None:
    short = comparison_text(comparison, Paper())
    whole = comparison_text(comparison, Paper(), every_line=True)
    assert "more, with --working" in short
    assert "more, with --working" not in whole
    assert len(whole.splitlines()) > len(short.splitlines())


def test_two_alike_say_so() -> None:
    text = comparison_text(compare(Side(DEMO), Side(DEMO), on=ON), Paper())
    assert "No finding and no figure differs." in text
    assert "What was put in" not in text


@pytest.mark.parametrize("width", [40, 80, 100])
def test_no_line_is_wider_than_the_paper(comparison: Comparison, width: int) -> None:
    lines = comparison_text(comparison, Paper(width=width)).splitlines()
    assert max(map(cells, lines)) <= width
