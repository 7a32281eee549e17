"""The explanations as pages."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from lugbook.web.leaves import explanations
from lugbook.web.pages.explanation import drawing, explanation_page

FOLDER = Path("docs/explanation")


def test_every_explanation_of_the_docs_is_a_page():
    assert set(explanations()) == {file.stem for file in FOLDER.glob("*.md")}


@pytest.mark.parametrize("name", sorted(explanations()))
def test_a_page_has_its_heading_once_and_no_style(name):
    page = explanation_page(name) or ""
    assert page.count("<h1>") == 1
    assert " style=" not in page


@pytest.mark.parametrize("name", sorted(explanations()))
def test_every_link_and_picture_of_a_page_leads_somewhere(name):
    page = explanation_page(name) or ""
    body = page[page.index("prose") :]
    for target in re.findall(r'href="([^"#:]+)"', body):
        assert target in explanations(), target
    for picture in re.findall(r'src="([^"]+)"', body):
        assert drawing(picture), picture


def test_what_is_not_there_is_not_a_page():
    assert explanation_page("../../../etc/passwd") is None
    assert drawing("heat.md") is None
