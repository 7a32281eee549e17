"""Constants of materials and of published models, read from `materials.toml`.

They are physics (what copper is), not rules (what a code allows).
"""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Any

__all__ = ["Constant", "constant", "constant_names", "published_row"]


@dataclass(frozen=True, slots=True)
class Constant:
    """A constant with its unit, uncertainty and source.

    Args:
        value: The number. [as `unit` says]
        unit: Unit in SI text, "-" when dimensionless. [-]
        uncertainty: Half-width to assume. [as `unit` says]
        source: Key in `sources.toml`, then locator. [-]
        status: confirmed, from memory or common practice. [-]
    """

    value: float
    unit: str
    uncertainty: float
    source: str
    status: str


@cache
def _contents() -> dict[str, Any]:
    text = files("lugbook.physics").joinpath("materials.toml").read_text("utf-8")
    return tomllib.loads(text)


@cache
def constant(name: str) -> Constant:
    """Return the constant of this name.

    Args:
        name: Name in `materials.toml`, such as "copper-inferred-zero". [-]

    Returns:
        The constant with unit, uncertainty and source. [-]

    Raises:
        KeyError: The name is not in the file; our own mistake, not a person's.

    Example:
        >>> constant("copper-inferred-zero").value
        234.5
    """
    return Constant(**_contents()["constant"][name])


def constant_names() -> tuple[str, ...]:
    """Return the names of all constants, in the order of the file."""
    return tuple(_contents()["constant"])


@cache
def published_row(kind: str, name: str) -> dict[str, Any]:
    """Return one row of a model's published constants.

    Args:
        kind: "gap" or "surface". [-]
        name: Name of the row, such as "metal-raceway". [-]

    Returns:
        The row as printed in its source. [-]

    Raises:
        KeyError: No such row.
    """
    row: dict[str, Any] = _contents()[kind][name]
    return row
