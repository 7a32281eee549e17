"""Numbers as they are shown: digits, units and rounding in one place."""

from __future__ import annotations

import math
from collections.abc import Mapping
from itertools import count

from lugbook.assess.assessment import ForecastPoint
from lugbook.finding import Citation, Finding, Status
from lugbook.quantities import Quantity, Rounding, show_pair

__all__ = [
    "amount_text",
    "degrees_text",
    "edition_text",
    "energy_text",
    "finding_texts",
    "load_and_limit",
    "range_text",
    "setting_text",
    "share_text",
    "volts_text",
    "watts_text",
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


def degrees_text(amount_c: float | None) -> str:
    """Return a forecast temperature in whole degrees.

    Args:
        amount_c: The temperature; None if unknown. [°C]

    Returns:
        Text with its unit. [-]

    Example:
        >>> degrees_text(73.2), degrees_text(None)
        ('73 °C', 'unknown')
    """
    return "unknown" if amount_c is None else f"{_plain(amount_c, 0)} °C"


def range_text(point: ForecastPoint) -> str:
    """Return the range of a forecast, 5 to 95 %.

    Args:
        point: The point. [-]

    Returns:
        Text; an end that is not known under the model's ceiling says so. [-]
    """
    if point.low_c is None:
        return "over 150 °C" if point.outcome and point.limit_c else "unknown"
    high = "over 150" if point.high_c is None else _plain(point.high_c, 0)
    return f"{_plain(point.low_c, 0)} to {high} °C"


def share_text(fraction: float | None, digits: int = 0) -> str:
    """Return a fraction in percent.

    Args:
        fraction: The fraction; None if unknown. [-]
        digits: Digits behind the point. [-]

    Returns:
        Text. [-]

    Example:
        >>> share_text(0.1512), share_text(0.0115, digits=1)
        ('15 %', '1.1 %')
    """
    return "unknown" if fraction is None else f"{fraction * 100:.{digits}f} %"


def volts_text(amount_v: float | None) -> str:
    """Return a voltage in tenths of a volt.

    Args:
        amount_v: The voltage; None if unknown. [V]

    Returns:
        Text with its unit. [-]

    Example:
        >>> volts_text(235.149)
        '235.1 V'
    """
    return "unknown" if amount_v is None else f"{_plain(amount_v, 1)} V"


def energy_text(amount_kwh: float | None) -> str:
    """Return energy in whole kilowatt-hours.

    Args:
        amount_kwh: The energy; None if unknown. [kWh]

    Returns:
        Text with its unit. [-]

    Example:
        >>> energy_text(64.6769)
        '65 kWh'
    """
    return "unknown" if amount_kwh is None else f"{_plain(amount_kwh, 0)} kWh"


def watts_text(amount_w: float | None) -> str:
    """Return heat in whole watts.

    Args:
        amount_w: The heat; None if unknown. [W]

    Returns:
        Text with its unit. [-]

    Example:
        >>> watts_text(221.04)
        '221 W'
    """
    return "unknown" if amount_w is None else f"{_plain(amount_w, 0)} W"


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
