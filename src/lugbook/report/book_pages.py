"""Tables and rules of an edition, as `lugbook table` prints them."""

from __future__ import annotations

import csv
import io
import math
import re
from typing import Any

from lugbook.codebook.edition import Edition, Rule, Table
from lugbook.errors import Fault, InputError
from lugbook.report.figures import edition_text
from lugbook.report.paper import Column, Paper
from lugbook.report.workings import source_text

__all__ = ["contents_page", "csv_text", "find_entry", "page"]

_UNITS = {
    "a": "A",
    "c": "°C",
    "hp": "hp",
    "in": "in",
    "in2": "in²",
    "kcmil": "kcmil",
    "kw": "kW",
    "mm2": "mm²",
    "va": "VA",
}


def find_entry(edition: Edition, name: str) -> Table | Rule:
    """The table or rule of that name.

    Args:
        edition: The edition. [-]
        name: Name of a table or rule. [-]

    Returns:
        The table or rule. [-]

    Raises:
        InputError: The edition has neither.
    """
    if name in edition.tables:
        return edition.tables[name]
    if name in edition.rules:
        return edition.rules[name]
    # Imported here: it costs every other command a few milliseconds.
    from difflib import get_close_matches

    known = [*edition.tables, *edition.rules]
    near = get_close_matches(name, known, n=3, cutoff=0.5)
    mend = f"Did you mean {' or '.join(near)}?" if near else ""
    raise InputError(
        Fault("table", repr(name), "a name that `lugbook table` lists", mend)
    )


def contents_page(edition: Edition, paper: Paper) -> str:
    """The names of all tables and rules of an edition.

    Args:
        edition: The edition. [-]
        paper: What it is written on. [-]

    Returns:
        Text ending in a line end. [-]
    """
    rules = sorted(edition.rules.values(), key=lambda rule: rule.name)
    lines = paper.wrap(f"Tables of {_title(edition)}")
    for table in edition.tables.values():
        lines += _named(table.name, table.citation.locator, table.title, paper)
    lines += ["", *paper.wrap(f"Rules of {_title(edition)}")]
    for rule in rules:
        lines += _named(rule.name, _where(rule), rule.question, paper)
    lines += [
        "",
        *paper.wrap("To see one: lugbook table NAME --edition YEAR, or with --csv."),
    ]
    return "\n".join(lines) + "\n"


def page(entry: Table | Rule, paper: Paper) -> str:
    """A table or rule with where it is printed and how well it is known.

    Args:
        entry: The table or rule. [-]
        paper: What it is written on. [-]

    Returns:
        Text ending in a line end. [-]
    """
    lines = [*_heading(entry, paper), "", *_body(entry, paper)]
    return "\n".join(lines) + "\n"


def csv_text(entry: Table | Rule) -> str:
    """A table or rule as CSV: one header line, then its rows.

    A rule's rows are its parameters, as amended; a list is parted by "; ".

    Args:
        entry: The table or rule. [-]

    Returns:
        Text with line ends of one character. [-]
    """
    written = io.StringIO()
    writer = csv.writer(written, lineterminator="\n")
    if isinstance(entry, Table):
        writer.writerow(entry.columns)
        writer.writerows(entry.rows)
    else:
        writer.writerow(("parameter", "amount"))
        writer.writerows(
            (key, _parameter(given)) for key, given in entry.parameters.items()
        )
    return written.getvalue()


def _named(name: str, where: str, says: str, paper: Paper) -> list[str]:
    return [
        *paper.wrap(f"{name}: {where}", first="  ", rest="  "),
        *paper.wrap(says, first="      ", rest="      "),
    ]


def _title(edition: Edition) -> str:
    amended = ", amended by " + ", ".join(edition.amendments)
    return f"{edition_text(edition.key)}{amended * bool(edition.amendments)}"


def _where(rule: Rule) -> str:
    return "not in this edition" if rule.absent else rule.citation.locator


def _heading(entry: Table | Rule, paper: Paper) -> list[str]:
    title = entry.title if isinstance(entry, Table) else entry.question
    lines = [
        *paper.wrap(title or entry.name),
        *paper.wrap(f"{entry.name}: {source_text(entry.citation)}"),
    ]
    if isinstance(entry, Rule) and entry.absent:
        lines += paper.wrap("This edition has no such rule.")
    if entry.citation.confirmed_by:
        lines += paper.wrap(f"Compared with: {entry.citation.confirmed_by}")
    if entry.note:
        lines += paper.wrap(f"Note: {entry.note}")
    return lines


def _body(entry: Table | Rule, paper: Paper) -> list[str]:
    if isinstance(entry, Rule):
        columns = [Column("parameter"), Column("amount", wraps=True)]
        rows = [
            (key, _parameter(given)) + (_printed(entry, key),) * _is_amended(entry)
            for key, given in entry.parameters.items()
        ]
        if _is_amended(entry):
            columns.append(Column("as printed", wraps=True))
        return paper.table(columns, rows) if rows else ["It has no numbers."]
    own = bool(entry.row_status)
    heads = [
        Column(
            _column_title(name),
            figures=index > 0 and _is_figures(entry, index),
            wraps=True,
        )
        for index, name in enumerate(entry.columns)
    ]
    rows = [
        tuple(map(_cell, row)) + ((entry.cite(row).status.value,) if own else ())
        for row in entry.rows
    ]
    return paper.table([*heads, *([Column("status")] * own)], rows)


def _column_title(name: str) -> str:
    """Return a column's name in words, its unit written as a unit."""
    words, _, suffix = name.rpartition("_")
    unit = _UNITS.get(suffix)
    if name.endswith("_ohm_per_kft"):
        words, unit = name.removesuffix("_ohm_per_kft"), "Ω/kft"
    text = f"{words}, {unit}" if words and unit else name
    return re.sub(r"\b(\d+)c\b", r"\1 °C", text.replace("_", " "))


def _cell(given: str | float) -> str:
    return "beyond" if given == math.inf else str(given)


def _is_figures(table: Table, index: int) -> bool:
    return all(
        not isinstance(row[index], str) or row[index] == "-" for row in table.rows
    )


def _is_amended(rule: Rule) -> bool:
    return rule.parameters != rule.printed


def _printed(rule: Rule, key: str) -> str:
    return _parameter(rule.printed[key]) if key in rule.printed else "nothing"


def _parameter(given: Any) -> str:
    if isinstance(given, bool):
        return "yes" if given else "no"
    if isinstance(given, list):
        return "; ".join(map(_parameter, given))
    if isinstance(given, dict):
        return "; ".join(f"{key} {_parameter(each)}" for key, each in given.items())
    return str(given)
