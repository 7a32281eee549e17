"""The torque sheet on the page, with its drawing."""

from __future__ import annotations

from pathlib import Path

import pytest

from lugbook.web.pages.installation import installation_page

DEMO = Path(__file__).parents[2] / "examples" / "potters_house" / "plan.toml"


@pytest.fixture(scope="module")
def section():
    _, page = installation_page(DEMO, "", "2023")
    return page.partition('id="torque"')[2].partition("</section>")[0]


def test_what_is_not_to_be_touched_stands_before_the_drawing(section):
    assert 0 < section.index("Not by you while live") < section.index("<svg xmlns")


def test_no_style_stands_in_the_markup(section):
    # The content policy of the pages would refuse it.
    assert "<style" not in section
    assert " style=" not in section


def test_what_may_be_touched_has_room_to_write(section):
    # Fourteen terminals, three of them on the service side.
    assert section.count('class="blank"') == 11
    assert section.count(">not by you<") == 6  # in two columns each


def test_figures_keep_their_units_beside_them(section):
    for text in ("50\N{NO-BREAK SPACE}lbf·in", "5.65\N{NO-BREAK SPACE}N·m"):
        assert text in section
