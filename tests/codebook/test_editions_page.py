"""The reference page of the editions says what the codebook holds."""

from __future__ import annotations

from pathlib import Path

from edition_pages import editions_page
from lugbook.codebook.edition import editions, open_edition

ROOT = Path(__file__).resolve().parents[2]
PAGE = ROOT / "docs" / "reference" / "editions.md"


def test_the_page_is_up_to_date():
    """If not: python tools/generate_docs.py."""
    assert PAGE.read_text(encoding="utf-8") == editions_page()


def test_every_rule_and_table_of_every_edition_stands_on_the_page():
    text = PAGE.read_text(encoding="utf-8")
    for year in editions():
        edition = open_edition(year)
        for name in (*edition.rules, *edition.tables):
            assert f"### {name}\n" in text
