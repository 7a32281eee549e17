"""The sheet for the work on the page."""

from __future__ import annotations

from pathlib import Path

import pytest

from lugbook.web.pages.installation import installation_page

DEMO = Path(__file__).parents[2] / "examples" / "potters_house" / "plan.toml"


@pytest.fixture(scope="module")
def page():
    return installation_page(DEMO, "", "2023")[1]


def section(page, name):
    return page.partition(f'aria-labelledby="{name}"')[2].partition("</section>")[0]


@pytest.mark.parametrize(
    "name", ["work", "stop-signs", "inspector", "papers", "letter"]
)
def test_every_part_of_the_sheet_is_a_section(page, name):
    assert f'id="{name}"' in section(page, name)
    assert " style=" not in section(page, name)


def test_dead_comes_before_the_panel_and_danger_is_marked(page):
    found = section(page, "work")
    assert found.index("Prove dead") < found.index("The panel last")
    assert found.count("DANGER") == 3  # make dead, prove dead, the panel last


def test_an_answer_shows_its_mark_and_its_figures(page):
    found = section(page, "inspector")
    assert "100\N{NO-BREAK SPACE}A against 90\N{NO-BREAK SPACE}A" in found
    assert found.count('class="verdict') == found.count("<li>")


def test_what_the_letter_does_not_know_has_room(page):
    found = section(page, "letter")
    assert found.count('class="blank"') == 3  # utility, transformer, last year
