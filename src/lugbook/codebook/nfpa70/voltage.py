"""Resistance of a run's conductors as the book prints it, for voltage drop."""

from __future__ import annotations

from functools import cache

from lugbook.codebook.edition import Edition
from lugbook.errors import MissingEntry
from lugbook.finding import Line, Reckoned
from lugbook.quantities import Quantity, read

__all__ = ["conductor_impedance_ohm_per_m"]

_STEEL = ("EMT", "IMC", "RMC", "FMC", "LFMC", "MC cable", "AC cable")


def conductor_impedance_ohm_per_m(
    *, edition: Edition, size: str, material: str, method: str
) -> tuple[Reckoned, float]:
    """What resistance and reactance does one conductor of a run have?

    Alternating-current values at 75 °C where printed, in steel or in a non-magnetic
    raceway; armored and metal-clad cable are taken as steel. Beyond that table, the
    direct-current values at 75 °C.

    Args:
        edition: Edition of the rules. [-]
        size: Conductor size. [-]
        material: "copper" or "aluminum". [-]
        method: Wiring method as the plan names it. [-]

    Returns:
        Resistance with its line, and reactance. [ohm/m]

    Raises:
        MissingEntry: Neither table holds the size in this material.

    Rule:
        table ac-resistance, table conductor-properties

    Checked by:
        tests/codebook/test_voltage.py, by hand

    Example:
        >>> from lugbook.codebook.edition import open_edition
        >>> found, _ = conductor_impedance_ohm_per_m(edition=open_edition("2023"),
        ...     size="3 AWG", material="copper", method="EMT")
        >>> round(found.amount * 304.8, 6)
        0.25
    """
    in_steel = method in _STEEL
    table = edition.table("ac-resistance")
    around = "steel" if in_steel else "pvc"
    rows = [row for row in table.rows if row[0] == size]
    printed = (
        table.cell(rows[0], f"{material}_in_{around}_ohm_per_kft") if rows else None
    )
    if printed is not None:
        reactance = "steel" if in_steel else "pvc_or_aluminum"
        x_per_kft = table.cell(rows[0], f"reactance_{reactance}_ohm_per_kft") or 0.0
        words = "in steel" if in_steel else "in a non-magnetic raceway"
        line = Line(
            f"resistance of {size} {material}, alternating current, 75 °C, {words}",
            printed,
            "ohm/kft",
            source=table.cite(rows[0]),
        )
        return Reckoned(printed / _kft_m(), (line,)), x_per_kft / _kft_m()
    table = edition.table("conductor-properties")
    row = table.row(size)
    column = "copper_uncoated" if material == "copper" else material
    direct = table.cell(row, f"{column}_ohm_per_kft")
    if direct is None:
        raise MissingEntry(
            f"{table.citation} prints no resistance for {size} {material}"
        )
    line = Line(
        f"resistance of {size} {material}, direct current, 75 °C",
        direct,
        "ohm/kft",
        source=table.cite(row),
    )
    return Reckoned(direct / _kft_m(), (line,)), 0.0


@cache
def _kft_m() -> float:
    return read("1000 ft", Quantity.LENGTH, field="length").amount
