"""The book's tables for the slow second version, from the second typing, as fractions.

Nothing here is read from src/: the cells are those of tests/validation/tables, typed by
another hand than the codebook's and compared with it by tests/codebook/test_tables.py.
"""

from __future__ import annotations

import csv
from fractions import Fraction
from functools import cache
from pathlib import Path

TABLES = Path(__file__).resolve().parents[1] / "validation" / "tables"
SIZES = (
    *("14 AWG", "12 AWG", "10 AWG", "8 AWG", "6 AWG", "4 AWG", "3 AWG", "2 AWG"),
    *("1 AWG", "1/0 AWG", "2/0 AWG", "3/0 AWG", "4/0 AWG", "250 kcmil"),
    *("300 kcmil", "350 kcmil", "400 kcmil", "500 kcmil"),
)


@cache
def rows(name: str, edition: str = "") -> tuple[dict[str, str], ...]:
    """The rows of a table as typed; an edition's own file goes before the common."""
    own = TABLES / f"{name}@{edition}.csv"
    path = own if own.exists() else TABLES / f"{name}.csv"
    with path.open(encoding="utf-8", newline="") as file:
        return tuple(csv.DictReader(file))


@cache
def cell(name: str, key: str, row: str, column: str) -> Fraction | None:
    """One cell as an exact fraction; None where the book prints a dash."""
    for each in rows(name):
        if each[key] == row:
            return None if each[column] == "-" else Fraction(each[column])
    raise LookupError(f"{name} has no row {row}")


def ampacity_a(size: str, material: str, column_c: int) -> Fraction | None:
    """The ampacity table (310.15(B)(16) of 2017, 310.16 since)."""
    return cell("ampacity", "size", size, f"{material}_{column_c}c_a")


@cache
def ambient_factor(ambient_c: Fraction, column_c: int) -> Fraction | None:
    """Correction for another ambient than 30 °C; None where the table ends."""
    for each in rows("ambient-correction"):
        if ambient_c <= Fraction(each["ambient_up_to_c"]):
            factor = each[f"factor_{column_c}c"]
            return None if factor == "-" else Fraction(factor)
    return None


@cache
def count_factor(count: int) -> Fraction:
    """Adjustment for more than three current-carrying conductors."""
    for each in rows("conductor-count-adjustment"):
        bound = each["count_up_to"]
        if bound == "inf" or count <= int(bound):
            return Fraction(each["factor"])
    raise LookupError("the adjustment table has no open end")


@cache
def standard_ratings_a(edition: str) -> tuple[Fraction, ...]:
    """The standard ratings of 240.6(A) for circuit breakers, smallest first."""
    return tuple(
        sorted(
            Fraction(each["rating_a"])
            for each in rows("standard-overcurrent-device", edition)
            if "circuit breaker" in each["device"]
        )
    )


def next_standard_a(at_least_a: Fraction, edition: str) -> Fraction:
    """The smallest standard rating that is not below a current."""
    return next(each for each in standard_ratings_a(edition) if each >= at_least_a)


def circular_mils(size: str) -> Fraction:
    """Area from Chapter 9, Table 8."""
    area = cell("conductor-properties", "size", size, "area_cmil")
    assert area is not None
    return area


@cache
def grounding_size(device_a: Fraction, material: str) -> str | None:
    """Table 250.122 for a rating; None beyond its typed rows."""
    for each in rows("equipment-grounding-conductor"):
        if device_a <= Fraction(each["overcurrent_up_to_a"]):
            return each[f"{material}_size"]
    return None


@cache
def small_conductor_limit_a(size: str, material: str) -> Fraction | None:
    """The overcurrent limit of 240.4(D); None where it sets none."""
    for each in rows("small-conductor-limit"):
        if each["size"] == size:
            limit = each[f"{material}_a"]
            return None if limit == "-" else Fraction(limit)
    return None


@cache
def insulation_c(insulation: str, *, wet: bool) -> int | None:
    """Temperature rating of an insulation; None where it may not lie in the wet."""
    names = {
        "THHN/THWN-2": "THWN-2",  # the wet rating is never below the dry one here
        "RHH/RHW-2/USE-2": "RHW-2",
    }
    for each in rows("insulation-type"):
        if each["insulation"] == names.get(insulation, insulation):
            degrees = each["wet_c" if wet else "dry_c"]
            return None if degrees == "-" else int(degrees)
    return None


@cache
def range_row(count: int) -> dict[str, Fraction]:
    """Table 220.55 for a number of appliances, up to the 61 typed."""
    for each in rows("range-demand"):
        if int(each["count"]) == count:
            return {key: Fraction(value) for key, value in each.items()}
    raise LookupError(f"Table 220.55 is typed for 1 to 61 appliances, not {count}")


@cache
def dryer_factor(count: int, edition: str) -> Fraction:
    """Table 220.54 for a number of dryers, up to the 43 typed."""
    for each in rows("dryer-demand", edition):
        if int(each["count"]) == count:
            return Fraction(each["factor"])
    raise LookupError(f"Table 220.54 is typed for 1 to 43 dryers, not {count}")


@cache
def motor_current_a(horsepower: Fraction, nominal_v: Fraction) -> Fraction | None:
    """Table 430.248: the row of a horsepower, or the next larger; None beyond it."""
    column = {Fraction(120): "v115_a", Fraction(208): "v208_a", Fraction(240): "v230_a"}
    for each in rows("motor-full-load-current"):
        whole, _, part = each["hp"].rpartition("-")
        printed = Fraction(whole or 0) + Fraction(part)
        if printed >= horsepower:
            return Fraction(each[column[nominal_v]])
    return None
