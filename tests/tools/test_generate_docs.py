"""The committed reference pages are those the package makes today."""

import importlib.util
from pathlib import Path

import pytest

TOOL = Path(__file__).parents[2] / "tools/generate_docs.py"


@pytest.fixture(scope="module")
def tool():
    spec = importlib.util.spec_from_file_location("generate_docs", TOOL)
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def test_every_generated_page_is_as_freshly_made(tool):
    assert tool.differing() == []


def test_a_page_that_was_changed_by_hand_is_named(tool, tmp_path):
    for path, page in tool.PAGES.items():
        (tmp_path / path).parent.mkdir(parents=True, exist_ok=True)
        (tmp_path / path).write_text(page(), encoding="utf-8")
    assert tool.differing(tmp_path) == []
    changed = next(iter(tool.PAGES))
    (tmp_path / changed).write_text("by hand", encoding="utf-8")
    assert tool.differing(tmp_path) == [changed]
