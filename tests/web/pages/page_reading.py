"""A page as its reader has it: its words, and a client that asks for it."""

from __future__ import annotations

from html.parser import HTMLParser
from pathlib import Path

from fastapi.testclient import TestClient

from lugbook.web.app import make_app

ROOT = Path(__file__).resolve().parents[3]
DEMO = ROOT / "examples" / "potters_house" / "plan.toml"


class _Text(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.words: list[str] = []

    def handle_data(self, data: str) -> None:
        self.words.append(data)


def text_of(page: str) -> str:
    """Return the words of a page, parted by single spaces."""
    parser = _Text()
    parser.feed(page)
    return " ".join(" ".join(parser.words).split())


def client_of(plan: Path) -> TestClient:
    """Return a client of the pages of a plan."""
    return TestClient(make_app(plan), base_url="http://127.0.0.1:8710")
