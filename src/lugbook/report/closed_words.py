"""Closed words of the assessment as a person reads them, in terminal and page alike."""

from __future__ import annotations

from lugbook.assess.assessment import CircuitItem, Interpretation
from lugbook.assess.capacity_words import CHARGER_NAMES, HVAC_NAMES, METHOD_NAMES

__all__ = [
    "charger_label",
    "charger_name",
    "charger_word",
    "hvac_word",
    "item_name",
    "method_name",
    "method_word",
]


def method_name(method: str, hvac: str) -> str:
    """Return a method's name, and whether heating and cooling count.

    They count in every method but one, so they are named only there.

    Example:
        >>> method_name("existing", "not_counted")
        'Existing dwelling, heating and cooling left out'
    """
    name = METHOD_NAMES.get(method, _plain(method))
    if method != "existing" and hvac == "counted":
        return name
    return f"{name}, heating and cooling {hvac_word(hvac)}"


def method_word(method: str) -> str:
    """Return a method in a word, for a narrow column.

    Example:
        >>> method_word("existing_hvac")
        'existing, hvac'
    """
    return method.replace("_", ", ")


def charger_name(interpretation: Interpretation) -> str:
    """Return where the charger stands.

    Example:
        >>> charger_name(Interpretation("inside", "not_counted"))
        'charger inside the demand factor'
    """
    word = interpretation.charger
    return f"charger {CHARGER_NAMES.get(word, (_plain(word),))[0]}"


def charger_label(interpretation: Interpretation) -> str:
    """Return the same in few words, for a label beside a dot.

    Example:
        >>> charger_label(Interpretation("outside_125", "counted"))
        'charger outside, 125 %'
    """
    return f"charger {charger_word(interpretation.charger)}"


def charger_word(charger: str) -> str:
    """Return the same under a heading that says charger.

    Example:
        >>> charger_word("outside_125")
        'outside, 125 %'
    """
    return CHARGER_NAMES.get(charger, (_plain(charger),))[-1]


def hvac_word(hvac: str) -> str:
    """Return whether heating and cooling count.

    Example:
        >>> hvac_word("not_counted")
        'left out'
    """
    return HVAC_NAMES.get(hvac, _plain(hvac))


def item_name(part: CircuitItem) -> str:
    """Return the name of a part of the circuit, and which one where it has several.

    Which one stands in the finding's name: "circuit.terminals.device".
    """
    about = part.finding.id.partition(f"{part.item}.")[2]
    return _plain(f"{part.item}, {about}" if about else part.item)


def _plain(word: str) -> str:
    return word.replace("_", " ")
