"""The explanations there are: the project's own Markdown files."""

from __future__ import annotations

from functools import cache
from importlib.resources import files
from importlib.resources.abc import Traversable

__all__ = ["explanations", "folder"]


def folder() -> Traversable:
    """Where the explanations lie."""
    return files("lugbook").joinpath("explanation")


@cache
def explanations() -> dict[str, str]:
    """Titles of the explanations by their name in the address.

    Returns:
        Titles, in alphabetical order of the names. [-]
    """
    found = {}
    for entry in sorted(folder().iterdir(), key=lambda file: file.name):
        if entry.name.endswith(".md"):
            first = entry.read_text(encoding="utf-8").split("\n", 1)[0]
            found[entry.name.removesuffix(".md")] = first.lstrip("# ").strip()
    return found
