"""Closed words of the assessment as a person reads them."""

from __future__ import annotations

import re

from markupsafe import Markup, escape

from lugbook.assess.assessment import CapacityRow, CircuitItem
from lugbook.report import closed_words, figures

__all__ = [
    "book",
    "breakable",
    "item",
    "load_and_limit",
    "method",
    "sentence",
    "tied",
]

_BEFORE_UNIT = re.compile(
    r"(?<=\d) (?=(?:k?A|m?V|k?VA|k?W|kWh|AWG|kcmil|ft²?|in²|m|mm|K|°C|°F|%)(?!\w))"
)
_BOOKS = {"nfpa70": "NFPA 70"}


def book(edition: str) -> str:
    """Return the name of a book and its edition.

    Example:
        >>> book("nfpa70-2023"), book("2023")
        ('NFPA 70, 2023 edition', 'NFPA 70, 2023 edition')
    """
    key, _, year = edition.rpartition("-")
    return f"{_BOOKS.get(key or 'nfpa70', key)}, {year} edition"


def method(row: CapacityRow) -> str:
    """Return the name of a row's method, and whether heating and cooling count."""
    return closed_words.method_name(row.method, row.interpretation.hvac)


def item(part: CircuitItem) -> str:
    """Return the name of a part of the circuit, as it begins a line."""
    name = closed_words.item_name(part)
    return f"{name[:1].upper()}{name[1:]}"


def load_and_limit(row: CapacityRow) -> tuple[str, str]:
    """Return a row's load and its limit; words where one is not known."""
    found_a, limit_a = row.amperes, row.limit_a
    if found_a is None:
        return "not known", "not known" if limit_a is None else _limit(limit_a)
    if limit_a is None:
        return figures.load_and_limit(found_a, found_a)[0], "not known"
    return figures.load_and_limit(found_a, limit_a)


def _limit(limit_a: float) -> str:
    return figures.load_and_limit(limit_a, limit_a)[1]


def sentence(text: str) -> str:
    """Return a phrase as a sentence.

    Example:
        >>> sentence("no demand record is stated")
        'No demand record is stated.'
    """
    stop = "" if text.endswith((".", "!", "?")) else "."
    return f"{text[:1].upper()}{text[1:]}{stop}" if text else ""


def tied(text: str) -> str:
    r"""Return text in which a figure and its unit stay on one line.

    Example:
        >>> tied("set 72 A on 3 AWG in time").split(" ")[1] == "72\N{NO-BREAK SPACE}A"
        True
    """
    return _BEFORE_UNIT.sub("\N{NO-BREAK SPACE}", text)


def breakable(text: str) -> Markup:
    """Return text that may break after the joints of a dotted or underscored name.

    Example:
        >>> str(breakable("service.main_rating"))
        'service.<wbr>main_<wbr>rating'
    """
    return Markup(re.sub(r"([._/])(?=\w)", r"\1<wbr>", str(escape(text))))
