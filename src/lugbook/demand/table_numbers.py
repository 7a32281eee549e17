"""Numbers as tables write them, a whole column at once."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from lugbook.demand.table_bytes import ByteColumn

if TYPE_CHECKING:
    from lugbook.demand.series import Floats

__all__ = ["Numbers", "numbers"]

TOO_LARGE = 1e12  # no meter of a house counts so far
_BLANK = {
    *("", "-", "--", "---", "?", ".", "n/a", "na", "#n/a", "null", "none", "nan"),
    *("missing", "no data", "nodata", "pending", "undefined", "unavailable", "unknown"),
}
_NUMBER = re.compile(r"[+-]?(\d+\.?\d*|\.\d+)(e[+-]?\d{1,2})?", re.IGNORECASE)
_PLAIN_NUMERALS = b"0123456789.-+eE"
_WITH_UNIT = re.compile(r"(.*[\d.,])\s*([kM]?Wh|[kM]?W|[kM]?VA|A)", re.IGNORECASE)
_THOUSANDS = re.compile(r"[+-]?[1-9]\d{0,2}(,\d{3})+(\.\d*)?")
_GROUPED = re.compile(r"(?<=\d)[ '\u00a0\u2009\u202f\u2019](?=\d{3}(?!\d))")


@dataclass(frozen=True, slots=True)
class Numbers:
    """A column of numbers.

    Args:
        amounts: The numbers, NaN where there is none. [-]
        bad: Cells that are neither a number nor blank. [-]
        decimal_comma: Whether a comma was read as the decimal mark. [-]
        units: Units that stand behind the numbers. [-]
    """

    amounts: Floats
    bad: int = 0
    decimal_comma: bool = False
    units: frozenset[str] = frozenset()


def numbers(cells: Sequence[str], *, delimiter: str = ",") -> Numbers:
    """A column as numbers.

    Args:
        cells: The column. [-]
        delimiter: What parts the columns; where it is no comma, one inside a number
            is its decimal mark. [-]

    Returns:
        The numbers. [-]

    Example:
        >>> numbers(["1,234.5", "", "0.3 kWh"]).amounts.tolist()
        [1234.5, nan, 0.3]
        >>> numbers(["1,250"], delimiter=";").amounts.tolist()
        [1.25]
    """
    import numpy as np

    if isinstance(cells, ByteColumn):
        plain = cells.floats()
        if plain is not None:
            return Numbers(plain)
        cells = list(cells)
    joined = "".join(cells)
    if joined.isascii() and not joined.encode("ascii").translate(None, _PLAIN_NUMERALS):
        try:
            if "" not in cells:
                # From bytes; numpy reads these three times as fast as text.
                found = np.array(cells, dtype="S").astype(np.float64)
                if (np.abs(found) < TOO_LARGE).all():
                    return Numbers(found)
        except ValueError:
            pass  # something like "1-2": looked at cell by cell below
    comma = _decimal_comma(cells, delimiter)
    known: dict[str, float] = {}
    units: set[str] = set()
    found = np.empty(len(cells))
    for index, cell in enumerate(cells):
        if cell not in known:
            text, unit = _bare(cell)
            known[cell] = _number(text, comma=comma)
            units |= {unit} - {""}
        found[index] = known[cell]
    bad = int(np.isinf(found).sum())
    found[np.isinf(found)] = np.nan
    return Numbers(found, bad, comma, frozenset(units))


def _decimal_comma(cells: Sequence[str], delimiter: str) -> bool:
    with_comma = [cell.strip().strip("$ ") for cell in cells if "," in cell]
    if not with_comma:
        return False
    if any("." in cell for cell in cells):
        return any(cell.rfind(",") > cell.rfind(".") > -1 for cell in with_comma)
    if delimiter != ",":
        return not any(cell.count(",") > 1 for cell in with_comma)
    return not all(_THOUSANDS.fullmatch(_bare(cell)[0]) for cell in with_comma)


def _bare(cell: str) -> tuple[str, str]:
    """Return a cell without signs of money and groups of digits, and its unit."""
    text = cell.strip().strip("$€¢").strip().replace("\N{MINUS SIGN}", "-")
    text = _GROUPED.sub("", text)
    if match := _WITH_UNIT.fullmatch(text):
        return match[1].strip(), match[2]
    return text, ""


def _number(text: str, *, comma: bool) -> float:
    """Return a cell as number: NaN where blank, infinity where it is none."""
    if text.lower() in _BLANK:
        return float("nan")
    if comma:
        text = text.replace(".", "").replace(",", ".")
    elif "," in text:
        if not _THOUSANDS.fullmatch(text):
            return float("inf")
        text = text.replace(",", "")
    if not text.isascii() or not _NUMBER.fullmatch(text):
        return float("inf")
    number = float(text)
    return number if abs(number) < TOO_LARGE else float("inf")
