"""Closed words of the assessment as a person reads them."""

from __future__ import annotations

import re

from markupsafe import Markup, escape

from lugbook.assess.assessment import CapacityRow, CircuitItem, Interpretation
from lugbook.report import figures

__all__ = [
    "book",
    "breakable",
    "charger",
    "item",
    "load_and_limit",
    "method",
    "sentence",
    "short_charger",
    "tied",
]

_BEFORE_UNIT = re.compile(
    r"(?<=\d) (?=(?:k?A|m?V|k?VA|k?W|kWh|AWG|kcmil|ft²?|in²|m|mm|K|°C|°F|%)(?!\w))"
)
_BOOKS = {"nfpa70": "NFPA 70"}
_METHODS = {
    "optional": "Optional method",
    "existing": "Existing dwelling",
    "existing_hvac": "Existing dwelling, heating or cooling added",
    "standard": "Standard method",
    "measured": "Measured demand",
}
_CHARGERS = {
    "inside": "charger inside the demand factor",
    "outside": "charger outside the demand factor",
    "outside_125": "charger outside, continuous loads at 125 %",
}
_SHORT = {
    "inside": "charger inside",
    "outside": "charger outside",
    "outside_125": "charger outside, 125 %",
}


def book(edition: str) -> str:
    """Return the name of a book and its edition.

    Example:
        >>> book("nfpa70-2023"), book("2023")
        ('NFPA 70, 2023 edition', 'NFPA 70, 2023 edition')
    """
    key, _, year = edition.rpartition("-")
    return f"{_BOOKS.get(key or 'nfpa70', key)}, {year} edition"


def method(row: CapacityRow) -> str:
    """Return the name of a row's method, and whether heating and cooling count.

    They count in every method but one, so they are named only there.
    """
    name = _METHODS.get(row.method, _plain(row.method))
    if row.method != "existing" and row.interpretation.hvac == "counted":
        return name
    return f"{name}, heating and cooling {_plain(row.interpretation.hvac)}"


def charger(interpretation: Interpretation) -> str:
    """Return where the charger stands.

    Example:
        >>> charger(Interpretation("inside", "not_counted"))
        'charger inside the demand factor'
    """
    word = interpretation.charger
    return _CHARGERS.get(word, f"charger {_plain(word)}")


def short_charger(interpretation: Interpretation) -> str:
    """Return the same in few words, for a label beside a dot.

    Example:
        >>> short_charger(Interpretation("outside_125", "counted"))
        'charger outside, 125 %'
    """
    word = interpretation.charger
    return _SHORT.get(word, f"charger {_plain(word)}")


def item(part: CircuitItem) -> str:
    """Return the name of a part of the circuit, and which one where it has several.

    Which one stands in the finding's name: "circuit.terminals.device".
    """
    which = part.finding.id.partition(f"{part.item}.")[2]
    name = _plain(part.item)
    place = f", {_plain(which)}" if which else ""
    return f"{name[:1].upper()}{name[1:]}{place}"


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


def _plain(word: str) -> str:
    return word.replace("_", " ")
