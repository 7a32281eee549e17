"""Numbers as they are shown: digits, units and rounding in one place."""

from __future__ import annotations

import math
from collections.abc import Mapping
from itertools import count

from lugbook.finding import Citation, Finding, Status
from lugbook.quantities import Quantity, Rounding, show_pair

__all__ = [
    "amount_text",
    "edition_text",
    "finding_texts",
    "load_and_limit",
    "setting_text",
]

_FIGURES = 6  # enough to redo a working by hand, whatever the unit
_QUANTITIES: Mapping[str, tuple[Quantity, int]] = {
    "A": (Quantity.CURRENT, 1),
    "V": (Quantity.VOLTAGE, 1),
    "VA": (Quantity.APPARENT_POWER, 0),
    "W": (Quantity.REAL_POWER, 0),
    "m": (Quantity.LENGTH, 2),
    "°C": (Quantity.TEMPERATURE, 1),
    "K": (Quantity.TEMPERATURE_DIFFERENCE, 1),
}


def amount_text(amount: float | str | None) -> str:
    """Return a line's figure, to six figures and never fewer than its whole part.

    Args:
        amount: The figure, text where a line states a choice, or None. [any unit]

    Returns:
        Text without the unit; "unknown" for None. [-]

    Example:
        >>> amount_text(37480.0), amount_text(156.1666666), amount_text(0.000245)
        ('37,480', '156.167', '0.000245')
    """
    if amount is None:
        return "unknown"
    if isinstance(amount, str):
        return amount
    whole = math.floor(math.log10(abs(amount))) + 1 if amount else 1
    return _plain(amount, max(0, _FIGURES - whole))


def edition_text(key: str) -> str:
    """Return a book and its edition as citations write them.

    Args:
        key: Key of the edition in `sources.toml`. [-]

    Returns:
        Text. [-]

    Example:
        >>> edition_text("nfpa70-2023")
        'NFPA 70-2023'
    """
    return str(Citation(key, "", Status.CONFIRMED)).rstrip()


def load_and_limit(found_a: float, limit_a: float) -> tuple[str, str]:
    """Return a load and its limit, rounded so that neither flatters the other.

    Args:
        found_a: The load, rounded up. [A]
        limit_a: The limit, rounded down. [A]

    Returns:
        Both with their unit, standing to each other as the numbers do. [-]

    Example:
        >>> load_and_limit(199.99, 200.0)
        ('199.99 A', '200 A')
    """
    return show_pair(
        found_a,
        limit_a,
        Quantity.CURRENT,
        "A",
        digits=1,
        found_rounding="up",
        limit_rounding="down",
    )


def setting_text(setting_a: float | None) -> str:
    """Return a setting of the supply equipment, or that there is none.

    Args:
        setting_a: The setting, or None. [A]

    Returns:
        Text with its unit. [-]

    Example:
        >>> setting_text(32.0), setting_text(None)
        ('32 A', 'none')
    """
    return "none" if setting_a is None else f"{_plain(setting_a, 1)} A"


def proven_text(setting_a: float | None) -> str:
    """Return a largest setting, or that none is proven.

    Args:
        setting_a: The setting, None where none passes or it cannot be told. [A]

    Returns:
        Text. [-]

    Example:
        >>> proven_text(None)
        'none proven'
    """
    return "none proven" if setting_a is None else setting_text(setting_a)


def finding_texts(finding: Finding) -> tuple[str, str]:
    """Return what a finding found and its limit, each with its unit.

    What draws on the supply is rounded up and what it may draw down, so which is
    which follows from the side the margin lies on.

    Args:
        finding: The finding. [-]

    Returns:
        Both as text, empty where the finding has none. [-]
    """
    found, limit = finding.found, finding.limit
    if isinstance(found, int | float) and isinstance(limit, int | float):
        at_least = _is_at_least(finding, float(found), float(limit))
        return _pair(float(found), float(limit), finding.unit, at_least=at_least)
    return _single(found, finding.unit), _single(limit, finding.unit)


def _is_at_least(finding: Finding, found: float, limit: float) -> bool:
    margin = finding.margin
    return margin is not None and (margin > 0) == (found > limit)


def _pair(found: float, limit: float, unit: str, *, at_least: bool) -> tuple[str, str]:
    if unit not in _QUANTITIES:
        return _generic_pair(found, limit, unit)
    quantity, digits = _QUANTITIES[unit]
    rounding: tuple[Rounding, Rounding] = ("down", "up") if at_least else ("up", "down")
    return show_pair(
        found,
        limit,
        quantity,
        unit,
        digits=digits,
        found_rounding=rounding[0],
        limit_rounding=rounding[1],
        grouped=True,
    )


def _generic_pair(found: float, limit: float, unit: str) -> tuple[str, str]:
    """Return two numbers of any unit with digits enough to tell them apart."""
    if found == limit:
        return _single(found, unit), _single(limit, unit)
    for digits in count(2):  # pragma: no branch - two numbers differ somewhere
        one, other = round(found, digits), round(limit, digits)
        if one != other or digits > 15:
            break
    return (
        f"{_plain(found, digits)} {unit}".strip(),
        f"{_plain(limit, digits)} {unit}".strip(),
    )


def _single(amount: float | str | None, unit: str) -> str:
    if amount is None:
        return ""
    return f"{amount_text(amount)} {unit}".strip()


def _plain(amount: float, digits: int) -> str:
    text = f"{amount:,.{digits}f}"
    if "." in text:
        text = text.rstrip("0").rstrip(".")
    return text.replace("-", "−")
