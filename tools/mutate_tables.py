"""Change every number of the codebook in turn; each change must be noticed.

Writes one changed table or rule at a time to a temporary folder, reads it with the
codebook's own reader and lays it beside the second typing. A change that no comparison
notices is printed, and the exit status is 1.

    python tools/mutate_tables.py             every cell, every edition
    python tools/mutate_tables.py --sample 60 a seeded sample
"""

from __future__ import annotations

import argparse
import math
import random
import sys
import tempfile
import tomllib
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parent.parent
sys.path[:0] = [str(ROOT / "src"), str(ROOT / "tools")]

import second_typing  # noqa: E402  the path above finds it
from lugbook.codebook.edition import (  # noqa: E402
    editions,
    open_edition,
    read_rules,
    read_table,
)
from lugbook.errors import LugbookError  # noqa: E402

BOOK = ROOT / "src" / "lugbook" / "codebook" / "nfpa70"
SEED = 20261125
SHIFTED_ROWS = 3  # a sample of each table: three rows change places with the next

Cell = str | float
Entry = dict[str, Any]


@dataclass(frozen=True, slots=True)
class Mutant:
    """One change: which file or rule, what stood there and what stands now."""

    year: str
    name: str
    where: str
    changed: Entry
    is_rule: bool

    def __str__(self) -> str:
        """Return the change as one line."""
        return f"{self.year} {self.name}: {self.where}"


def mutants() -> Iterator[Mutant]:
    """Yield every change of every table and rule in every edition."""
    for year in editions():
        for path in sorted((BOOK / year).glob("*.toml")):
            entry = tomllib.loads(path.read_text(encoding="utf-8"))
            if path.stem.startswith("rules"):
                yield from _rule_mutants(year, entry)
            else:
                yield from _table_mutants(year, path.stem, entry)


def caught(mutant: Mutant, *, folder: Path) -> bool:
    """Return whether the reader or the comparison notices a change."""
    path = folder / f"{'rules' if mutant.is_rule else mutant.name}.toml"
    if mutant.is_rule:
        text = f"[{mutant.name}]\n" + _as_toml(mutant.changed)
    else:
        text = _as_toml(mutant.changed)
    path.write_text(text, encoding="utf-8")
    source = f"nfpa70-{mutant.year}"
    try:
        if mutant.is_rule:
            rule = read_rules(path, source=source)[mutant.name]
            return bool(second_typing.rule_differences(rule, year=mutant.year))
        table = read_table(path, stem=mutant.name, source=source)
        return bool(second_typing.table_differences(table, year=mutant.year))
    except LugbookError:
        return True


def campaign(*, sample: int | None = None) -> tuple[int, list[Mutant]]:
    """Try the changes, all of them or a seeded sample.

    Args:
        sample: How many to try; None for all. [-]

    Returns:
        How many were tried, and those nobody noticed. [-]
    """
    tried = list(mutants())
    if sample is not None:
        tried = random.Random(SEED).sample(tried, sample)
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        missed = [mutant for mutant in tried if not caught(mutant, folder=folder)]
    return len(tried), missed


def unchanged_differ() -> list[str]:
    """Return the differences there are before any change; there should be none."""
    return [
        line
        for year in editions()
        for line in (
            *(
                found
                for table in open_edition(year).tables.values()
                for found in second_typing.table_differences(table, year=year)
            ),
            *(
                found
                for rule in open_edition(year).rules.values()
                for found in second_typing.rule_differences(rule, year=year)
            ),
        )
    ]


def main() -> int:
    """Run the campaign and say how it went."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--sample", type=int, default=None)
    standing = unchanged_differ()
    for line in standing:
        print(f"differs unchanged: {line}")
    total, missed = campaign(sample=parser.parse_args().sample)
    for mutant in missed:
        print(f"not noticed: {mutant}")
    print(f"caught {total - len(missed)} of {total} changes")
    return 1 if missed or standing else 0


def _table_mutants(year: str, stem: str, entry: Entry) -> Iterator[Mutant]:
    rows: list[list[Cell]] = entry["rows"]
    for i, row in enumerate(rows):
        for j, cell in enumerate(row):
            column = [each[j] for each in rows]
            for new in _neighbours(cell, column):
                changed = [list(each) for each in rows]
                changed[i][j] = new
                where = f"row {row[0]}, {entry['columns'][j]}: {cell} -> {new}"
                yield Mutant(year, stem, where, {**entry, "rows": changed}, False)
    for i in range(min(SHIFTED_ROWS, len(rows) - 1)):
        shifted = [*rows[:i], rows[i + 1], rows[i], *rows[i + 2 :]]
        where = f"rows {i} and {i + 1} change places"
        yield Mutant(year, stem, where, {**entry, "rows": shifted}, False)
        yield from _shifted_column(year, stem, entry, i)


def _shifted_column(year: str, stem: str, entry: Entry, i: int) -> Iterator[Mutant]:
    """Yield the slip of reading a row's cells one line too low."""
    rows: list[list[Cell]] = entry["rows"]
    if rows[i][1:] != rows[i + 1][1:]:
        slipped = [list(each) for each in rows]
        slipped[i] = [rows[i][0], *rows[i + 1][1:]]
        where = f"row {rows[i][0]} has the cells of the row below"
        yield Mutant(year, stem, where, {**entry, "rows": slipped}, False)


def _rule_mutants(year: str, rules: Entry) -> Iterator[Mutant]:
    for name, entry in rules.items():
        prose = second_typing.prose(name)
        for key, old in entry.items():
            if key in second_typing.NOT_PARAMETERS or key in prose:
                continue
            for new in _changed_parameter(old):
                where = f"{key}: {old} -> {new}"
                yield Mutant(year, name, where, {**entry, key: new}, True)
        flipped = {**entry, "absent": not entry.get("absent", False)}
        yield Mutant(year, name, "absent the other way", flipped, True)


def _changed_parameter(old: Any) -> Iterator[Any]:
    if isinstance(old, list):
        for i, item in enumerate(old):
            for new in _changed_parameter(item):
                yield [*old[:i], new, *old[i + 1 :]]
        yield [*old, "one more"]
    elif isinstance(old, bool):
        yield not old
    else:
        yield from _neighbours(old, [])


def _neighbours(cell: Cell, column: list[Cell]) -> list[Cell]:
    """Return what a slip of the hand could have put in a cell's place."""
    if isinstance(cell, str):
        others = [each for each in column if each != cell][:1]
        return [*others, f"{cell}x"]
    if math.isinf(cell):
        return [100.0]
    step = 10.0 ** -_decimals(cell)
    found: list[Cell] = [round(cell + step, 8), round(cell - step, 8)]
    digits = _swapped_digits(cell)
    found += [digits] if digits is not None else []
    found += [each for each in column if each != cell][:1]
    return [each for each in dict.fromkeys(found) if each != cell]


def _decimals(number: float) -> int:
    """Return how many decimals a number was written with."""
    text = repr(number)
    digits, _, power = text.partition("e-")
    return len(digits.partition(".")[2]) + int(power or 0)


def _swapped_digits(number: float) -> float | None:
    """Return the number with its first two unlike neighbouring digits swapped."""
    text = repr(number)
    for i in range(len(text) - 1):
        a, b = text[i], text[i + 1]
        if a.isdigit() and b.isdigit() and a != b and "e" not in text:
            swapped = text[:i] + b + a + text[i + 2 :]
            return float(swapped) if "." in swapped else int(swapped)
    return None


def _as_toml(entry: Entry) -> str:
    return "".join(f"{key} = {_literal(item)}\n" for key, item in entry.items())


def _literal(item: Any) -> str:
    if isinstance(item, bool):
        return "true" if item else "false"
    if isinstance(item, str):
        escaped = item.replace("\\", "\\\\").replace('"', '\\"')
        return f'"{escaped}"'
    if isinstance(item, list):
        return "[" + ", ".join(map(_literal, item)) + "]"
    if isinstance(item, dict):
        pairs = (f'"{key}" = {_literal(each)}' for key, each in item.items())
        return "{ " + ", ".join(pairs) + " }"
    return str(item)


if __name__ == "__main__":
    sys.exit(main())
