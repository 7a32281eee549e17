"""Lay the codebook beside its second typing: which cells and parameters differ.

The second typing is the work of another hand, in `tests/validation`. The comparison
tests and the mutator in `tools/mutate_tables.py` both call these functions.
"""

from __future__ import annotations

import csv
import math
import re
import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path
from typing import Any

from lugbook.codebook.edition import Rule, Table
from lugbook.errors import LugbookError

VALIDATION = Path(__file__).resolve().parent.parent / "tests" / "validation"
TABLES = VALIDATION / "tables"

# Keys of a rule's entry that say where it is printed and how well it is known.
NOT_PARAMETERS = {
    "absent",
    "checked_on",
    "confirmed_by",
    "from_memory",
    "locator",
    "note",
    "question",
    "status",
}

Key = tuple[str | float, ...]


@dataclass(frozen=True, slots=True)
class Comparison:
    """One second typing of a table, and how its words match ours."""

    table: str
    file: str
    key: tuple[str, ...]
    columns: Mapping[str, str]
    shape: str = "plain"
    rows: Mapping[str, str] = field(default_factory=dict)
    kinds: Mapping[str, list[str]] = field(default_factory=dict)
    pivot: str = ""
    beyond: tuple[str, ...] = ()
    beyond_trade_sizes: tuple[str, ...] = ()
    last: Mapping[str, float] = field(default_factory=dict)


@cache
def comparisons() -> tuple[Comparison, ...]:
    """Return every comparison listed in `tests/validation/tables/mapping.toml`."""
    listed = read_toml(TABLES / "mapping.toml")["comparison"]
    lists = ("key", "beyond", "beyond_trade_sizes")
    found = []
    for each in listed:
        fields: dict[str, Any] = {
            key: tuple(said) if key in lists else said for key, said in each.items()
        }
        found.append(Comparison(**fields))
    return tuple(found)


def table_differences(table: Table, *, year: str) -> list[str]:
    """Return one line for each cell of a table that the other hand typed otherwise."""
    asked = [each for each in comparisons() if each.table == table.name]
    if not asked:
        return [f"{table.name}: has no second typing"]
    shapes = {
        "plain": _plain,
        "pivot": _pivot,
        "tiers": _tiers,
        "counts": _counts,
    }
    found: list[str] = []
    for each in asked:
        try:
            found += shapes[each.shape](table, each, second_typing(each.file, year))
        except (LugbookError, ValueError, TypeError) as error:
            found.append(f"{table.name}: not comparable: {error}")
    return [f"{year} {line}" for line in found]


def compared_cells(table: Table) -> int:
    """Return how many cells of a table its comparisons reach, keys included."""
    asked = [each for each in comparisons() if each.table == table.name]
    return len(table.rows) * len(table.columns) if asked else 0


def rule_differences(rule: Rule, *, year: str) -> list[str]:
    """Return one line for each parameter of a rule the other hand typed otherwise."""
    found = []
    ours = {k: v for k, v in rule.parameters.items() if k not in prose(rule.name)}
    expected = list(_expected(rule.name, year))
    reached = {key for key, _ in expected}
    for key, theirs in expected:
        if not _same(ours.get(key), theirs):
            found.append(f"{rule.name}.{key}: {ours.get(key)!r}, other {theirs!r}")
    found += [
        f"{rule.name}.{key}: no second typing" for key in ours if key not in reached
    ]
    if rule.absent != (year in _typed(rule.name).get("absent", ())):
        found.append(f"{rule.name}: absent is {rule.absent}, other hand not so")
    return [f"{year} {line}" for line in found]


def second_typing(file: str, year: str) -> list[dict[str, str]]:
    """Return the rows the other hand typed, those of the edition where they differ."""
    own = TABLES / f"{file}@{year}.csv"
    path = own if own.exists() else TABLES / f"{file}.csv"
    with path.open(encoding="utf-8", newline="") as text:
        return list(csv.DictReader(text))


def other_rules() -> Mapping[str, Any]:
    """Return the other hand's statement of the rules, by its own names."""
    return read_toml(VALIDATION / "rules.toml")


def clauses(locator: str) -> set[str]:
    """Return the section numbers in a locator, without their subdivisions.

    Example:
        >>> sorted(clauses("220.52(A), 210.11(C)(1)"))
        ['210.11', '220.52']
    """
    return set(re.findall(r"\d{3}\.\d+", locator))


def mapping() -> Mapping[str, Any]:
    """Return which parameter of the other hand stands against which of ours."""
    return read_toml(VALIDATION / "rules_mapping.toml")


@cache
def read_toml(path: Path) -> Mapping[str, Any]:
    """Return what a TOML file holds."""
    return tomllib.loads(path.read_text(encoding="utf-8"))


def prose(rule: str) -> list[str]:
    """Return the parameters of a rule that are sentences in our own words."""
    words = read_toml(VALIDATION / "rule_parameters.toml")["prose"].get(rule, [])
    return list(words)


def _plain(
    table: Table, how: Comparison, second: list[dict[str, str]]
) -> Iterator[str]:
    theirs = dict(_their_rows(how, second))
    ours = {_our_key(table, how, row): row for row in table.rows}
    if len(ours) != len(table.rows):
        yield f"{table.name}: a row stands twice"
    if list(ours) != list(theirs):
        yield f"{table.name}: rows {_apart(list(ours), list(theirs))}"
    for key, row in ours.items():
        for column, other in how.columns.items():
            cell = row[table.columns.index(column)]
            if key in theirs and _cell(cell) != _cell(theirs[key][other]):
                yield f"{table.name} {key} {column}: {cell}, other {theirs[key][other]}"


def _their_rows(
    how: Comparison, second: list[dict[str, str]]
) -> Iterator[tuple[Key, dict[str, str]]]:
    ours_of = {v: k for k, v in how.rows.items()}
    ours_of |= {name: ours for ours, names in how.kinds.items() for name in names}
    for row in second:
        names = list(row.values())[: len(how.key)]
        if names[0] in how.beyond or names[-1] in how.beyond_trade_sizes:
            continue
        yield tuple(_cell(ours_of.get(name, name)) for name in names), row


def _our_key(table: Table, how: Comparison, row: tuple[str | float, ...]) -> Key:
    return tuple(_cell(row[table.columns.index(column)]) for column in how.key)


def _pivot(
    table: Table, how: Comparison, second: list[dict[str, str]]
) -> Iterator[str]:
    for ours, kinds in how.kinds.items():
        for kind in kinds:
            rows = [row for row in second if row[how.pivot] == kind]
            held = [row for row in rows if row[how.key[0]] not in how.beyond]
            theirs = {_cell(row[how.key[0]]): row for row in held}
            if [_cell(row[0]) for row in table.rows] != list(theirs):
                yield f"{table.name}: rows differ from those of {kind}"
            for row in table.rows:
                for column, other in how.columns.items():
                    cell = row[table.columns.index(f"{ours}_{column}")]
                    typed = theirs.get(_cell(row[0]), {}).get(other, "none")
                    if _cell(cell) != _cell(typed):
                        yield f"{table.name} {row[0]} {column}: {cell}, other {typed}"


def _tiers(
    table: Table, _how: Comparison, second: list[dict[str, str]]
) -> Iterator[str]:
    upper, expected = 0.0, []
    for row in second:
        width, factor = row.values()
        upper += float(width)
        expected.append((upper, float(factor)))
    if [tuple(map(_cell, row)) for row in table.rows] != expected:
        yield f"{table.name}: {table.rows}, other {expected}"


def _counts(
    table: Table, how: Comparison, second: list[dict[str, str]]
) -> Iterator[str]:
    asked = [{k: float(v) for k, v in row.items()} for row in second]
    asked.append({"count": how.last["count"], **{o: how.last[o] for o in _others(how)}})
    if not math.isinf(float(table.rows[-1][0])):
        yield f"{table.name}: the last row is not open"
    if len({row[0] for row in table.rows}) != len(table.rows):
        yield f"{table.name}: a row stands twice"
    for each in asked:
        count = int(each["count"])
        for column, other in how.columns.items():
            found = _stepped(table, count=count, column=column)
            if not math.isclose(found, each[other], rel_tol=1e-9):
                yield f"{table.name} {count} {column}: {found:g}, other {each[other]:g}"


def _others(how: Comparison) -> list[str]:
    return list(how.columns.values())


def _stepped(table: Table, *, count: int, column: str) -> float:
    """Return a figure of a stepped table at a count, worked as its note says."""
    row = table.at_most(count)
    cells = {name: float(cell) for name, cell in zip(table.columns, row, strict=True)}
    if column == "factor":
        less = cells["less_per_dryer_factor"] * (count - cells["dryers_above_count"])
        return cells["base_factor"] - less
    if column == "column_c_kw":
        each = cells["column_c_per_appliance_kw"] * count
        return cells["column_c_fixed_kw"] + each
    return cells[column]


def _expected(rule: str, year: str) -> Iterator[tuple[str, Any]]:
    """Yield what the other hands typed for a rule's parameters in one edition."""
    for ours, key, other_rule, other_key, *factor in mapping()["pairs"]:
        if ours != rule:
            continue
        stated = other_rules()[other_rule].get(year, {}).get(other_key)
        if stated is not None:
            yield key, stated * factor[0] if factor else stated
    for key, stated in _typed(rule).items():
        if key == "absent":
            continue
        if not isinstance(stated, dict):
            yield key, stated
        elif year in stated:
            yield key, stated[year]


def _typed(rule: str) -> Mapping[str, Any]:
    typed: Mapping[str, Any] = read_toml(VALIDATION / "rule_parameters.toml").get(
        rule, {}
    )
    return typed


def _cell(cell: str | float) -> str | float:
    """Return a cell as a number where it is one, so that 1.00 equals 1."""
    try:
        return float(cell)
    except ValueError:
        return cell


def _same(ours: Any, theirs: Any) -> bool:
    """Return whether two parameters are equal; yes and 1 are not the same."""
    if isinstance(ours, list) and isinstance(theirs, list):
        return len(ours) == len(theirs) and all(map(_same, ours, theirs))
    if isinstance(ours, bool) != isinstance(theirs, bool):
        return False
    return bool(ours == theirs)


def _apart(ours: list[Key], theirs: list[Key]) -> str:
    only_ours = [key for key in ours if key not in theirs]
    only_theirs = [key for key in theirs if key not in ours]
    if not only_ours and not only_theirs:
        return "stand in another order"
    return f"only ours {only_ours}, only the other hand's {only_theirs}"
