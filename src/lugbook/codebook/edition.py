"""One edition of one book: its tables and rules, read from its own folder.

An edition is an argument, never a setting. Local amendments are laid over the
rules by name; both the printed and the amended number stay visible.
"""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from functools import cache
from importlib import resources
from importlib.resources.abc import Traversable
from typing import Any

from lugbook.errors import BookError, MissingEntry
from lugbook.finding import Citation, Status

__all__ = ["Edition", "Rule", "Table", "amendments", "editions", "open_edition"]

Cell = str | float

_ROOT = resources.files("lugbook.codebook")
_RULE_KEYS = {
    "question",
    "locator",
    "status",
    "confirmed_by",
    "checked_on",
    "absent",
    "from_memory",
    "note",
}
_TABLE_KEYS = {
    "title",
    "locator",
    "status",
    "confirmed_by",
    "checked_on",
    "columns",
    "rows",
    "row_status",
    "note",
}


@dataclass(frozen=True, slots=True)
class Rule:
    """A rule as one edition prints it: where, how well known, with which numbers."""

    name: str
    question: str
    citation: Citation
    absent: bool
    parameters: Mapping[str, Any]
    printed: Mapping[str, Any]
    from_memory: frozenset[str] = frozenset()
    note: str = ""

    def cite(self, *keys: str) -> Citation:
        """Return the citation of some parameters, weakened if one is from memory.

        Args:
            keys: Names of the parameters used. [-]

        Returns:
            The rule's citation; its status is *from memory* where the rule is
            confirmed but one of these parameters is not. [-]
        """
        held = self.citation.status is Status.CONFIRMED
        if held and not self.from_memory.isdisjoint(keys):
            return replace(self.citation, status=Status.FROM_MEMORY, confirmed_by="")
        return self.citation

    def number(self, key: str) -> float:
        """Return a numeric parameter of the rule.

        Args:
            key: Name of the parameter; its unit is its suffix. [-]

        Returns:
            The number, amended where a local amendment says so. [unit of the key]

        Raises:
            MissingEntry: The rule has no such number in this edition.
        """
        found = self.parameters.get(key)
        if isinstance(found, bool) or not isinstance(found, int | float):
            raise MissingEntry(f"{self.citation}: rule {self.name} has no number {key}")
        return float(found)

    def text(self, key: str) -> str:
        """Return a text parameter of the rule.

        Args:
            key: Name of the parameter. [-]

        Returns:
            The text. [-]

        Raises:
            MissingEntry: The rule has no such text in this edition.
        """
        found = self.parameters.get(key)
        if not isinstance(found, str):
            raise MissingEntry(f"{self.citation}: rule {self.name} has no text {key}")
        return found

    def words(self, key: str) -> tuple[str, ...]:
        """Return a list-of-words parameter of the rule.

        Args:
            key: Name of the parameter. [-]

        Returns:
            The words, in printed order. [-]

        Raises:
            MissingEntry: The rule has no such list in this edition.
        """
        found = self.parameters.get(key)
        if not isinstance(found, list):
            raise MissingEntry(f"{self.citation}: rule {self.name} has no list {key}")
        return tuple(str(word) for word in found)


@dataclass(frozen=True, slots=True)
class Table:
    """A printed table: columns named with their unit, rows as printed."""

    name: str
    title: str
    citation: Citation
    columns: tuple[str, ...]
    rows: tuple[tuple[Cell, ...], ...]
    row_status: Mapping[str, Status]
    note: str = ""

    def cite(self, row: tuple[Cell, ...]) -> Citation:
        """Return the citation of one row, with the row's own status."""
        status = self.row_status.get(str(row[0]), self.citation.status)
        return replace(self.citation, status=status)

    def row(self, key: Cell) -> tuple[Cell, ...]:
        """Return the row whose first cell is the key.

        Args:
            key: First cell, such as "3 AWG". [-]

        Returns:
            The row. [units of the columns]

        Raises:
            MissingEntry: No such row; the message lists those there are.
        """
        for row in self.rows:
            if row[0] == key:
                return row
        known = ", ".join(str(row[0]) for row in self.rows)
        raise MissingEntry(f"{self.citation} has no row {key}; it has {known}")

    def at_most(self, bound: float) -> tuple[Cell, ...]:
        """Return the first row whose upper bound is not exceeded.

        Args:
            bound: The number to place. [unit of the first column]

        Returns:
            The row. [units of the columns]

        Raises:
            MissingEntry: The number lies beyond the table's last row.
        """
        for row in self.rows:
            if bound <= float(row[0]):
                return row
        raise MissingEntry(
            f"{self.citation} ends at {self.rows[-1][0]}; {bound:g} lies beyond it"
        )

    def cell(self, row: tuple[Cell, ...], column: str) -> float | None:
        """Return a number of a row, None where the book prints none.

        Args:
            row: A row of this table. [units of the columns]
            column: Name of the column. [-]

        Returns:
            The number, or None. [unit of the column]

        Raises:
            MissingEntry: The table has no such column.
        """
        found = row[self._place_of(column)]
        return None if found == "-" else float(found)

    def text(self, row: tuple[Cell, ...], column: str) -> str | None:
        """Return a text cell of a row, None where the book prints none."""
        found = row[self._place_of(column)]
        return None if found == "-" else str(found)

    def _place_of(self, column: str) -> int:
        if column not in self.columns:
            known = ", ".join(self.columns)
            raise MissingEntry(
                f"{self.citation} has no column {column}; it has {known}"
            )
        return self.columns.index(column)


@dataclass(frozen=True, slots=True)
class Edition:
    """One edition of one book, with the local amendments laid over it."""

    book: str
    year: str
    rules: Mapping[str, Rule]
    tables: Mapping[str, Table]
    amendments: tuple[str, ...] = field(default=())

    @property
    def key(self) -> str:
        """Key of the edition in `sources.toml`."""
        return f"{self.book}-{self.year}"

    def rule(self, name: str) -> Rule:
        """Return a rule by its name.

        Args:
            name: Name of the rule in the edition's rules files. [-]

        Returns:
            The rule, which may be marked absent in this edition. [-]

        Raises:
            MissingEntry: No edition of ours knows such a rule.
        """
        if name not in self.rules:
            known = ", ".join(self.rules)
            raise MissingEntry(f"{self.key} has no rule {name}; it has {known}")
        return self.rules[name]

    def table(self, name: str) -> Table:
        """Return a table by its name.

        Args:
            name: File stem of the table. [-]

        Returns:
            The table. [-]

        Raises:
            MissingEntry: No edition of ours knows such a table.
        """
        if name not in self.tables:
            known = ", ".join(self.tables)
            raise MissingEntry(f"{self.key} has no table {name}; it has {known}")
        return self.tables[name]


def editions(book: str = "nfpa70") -> tuple[str, ...]:
    """Return the years of the editions we hold of a book, oldest first.

    Args:
        book: Folder name of the book. [-]

    Returns:
        Years. [-]

    Example:
        >>> editions()
        ('2017', '2020', '2023', '2026')
    """
    entries = _ROOT.joinpath(book).iterdir()
    return tuple(sorted(entry.name for entry in entries if entry.name.isdigit()))


def amendments() -> tuple[str, ...]:
    """Return the names of the local amendments we hold."""
    entries = _ROOT.joinpath("amendments").iterdir()
    names = (entry.name for entry in entries if entry.name.endswith(".toml"))
    return tuple(sorted(name.removesuffix(".toml") for name in names))


@cache
def open_edition(
    year: str, *, book: str = "nfpa70", amended_by: tuple[str, ...] = ()
) -> Edition:
    """One edition with its local amendments, read from its folder.

    Args:
        year: Year of the edition. [-]
        book: Folder name of the book. [-]
        amended_by: Names of local amendments, laid over in this order. [-]

    Returns:
        The edition. [-]

    Raises:
        BookError: The edition or amendment is not held, or a file is malformed.

    Example:
        >>> open_edition("2023").rule("optional-dwelling").number("first_va")
        10000.0
    """
    folder = _ROOT.joinpath(book, year)
    if year not in editions(book):
        held = ", ".join(editions(book))
        raise BookError(f"edition {year} of {book} is not held; held are {held}")
    rules: dict[str, Rule] = {}
    tables: dict[str, Table] = {}
    for file in sorted(folder.iterdir(), key=lambda entry: entry.name):
        stem = file.name.removesuffix(".toml")
        if stem == "rules" or stem.startswith("rules-"):
            rules.update(read_rules(file, source=f"{book}-{year}"))
        elif file.name.endswith(".toml"):
            tables[stem] = read_table(file, stem=stem, source=f"{book}-{year}")
    for name in amended_by:
        _amend(rules, name, year=year)
    return Edition(
        book=book, year=year, rules=rules, tables=tables, amendments=amended_by
    )


def _load(file: Traversable) -> dict[str, Any]:
    try:
        return tomllib.loads(file.read_text(encoding="utf-8"))
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as error:
        raise BookError(f"{file.name}: not readable as TOML: {error}") from error


def _citation(entry: Mapping[str, Any], *, source: str, where: str) -> Citation:
    try:
        status = Status(entry["status"])
        locator = str(entry["locator"])
        confirmed_by = str(entry["confirmed_by"])
    except (KeyError, ValueError) as error:
        raise BookError(f"{where}: missing or unknown {error}") from error
    if status is Status.CONFIRMED and not confirmed_by:
        raise BookError(f"{where}: says confirmed but not by what")
    return Citation(
        source=source, locator=locator, status=status, confirmed_by=confirmed_by
    )


def read_rules(file: Traversable, *, source: str) -> dict[str, Rule]:
    """Read the rules of one file.

    Args:
        file: A rules file of an edition. [-]
        source: Key of the edition in `sources.toml`. [-]

    Returns:
        The rules by their names. [-]

    Raises:
        BookError: The file is malformed.
    """
    rules = {}
    for name, entry in _load(file).items():
        where = f"{source} {file.name} [{name}]"
        if not isinstance(entry, dict):
            raise BookError(f"{where}: a rule is a table, not {entry!r}")
        parameters = {k: v for k, v in entry.items() if k not in _RULE_KEYS}
        rules[name] = Rule(
            name=name,
            question=str(entry.get("question", "")),
            citation=_citation(entry, source=source, where=where),
            absent=bool(entry.get("absent", False)),
            parameters=parameters,
            printed=parameters,
            from_memory=_from_memory(entry, parameters, where=where),
            note=str(entry.get("note", "")),
        )
    return rules


def _from_memory(
    entry: Mapping[str, Any], parameters: Mapping[str, Any], *, where: str
) -> frozenset[str]:
    """Return the names of the parameters that no second text confirmed."""
    names = frozenset(entry.get("from_memory", ()))
    if stray := sorted(names - set(parameters)):
        raise BookError(f"{where}: from_memory names no parameter {', '.join(stray)}")
    return names


def read_table(file: Traversable, *, stem: str, source: str) -> Table:
    """Read one table.

    Args:
        file: A table file of an edition. [-]
        stem: Name of the table. [-]
        source: Key of the edition in `sources.toml`. [-]

    Returns:
        The table. [-]

    Raises:
        BookError: The file is malformed.
    """
    entry = _load(file)
    where = f"{source} {file.name}"
    unknown = sorted(set(entry) - _TABLE_KEYS)
    if unknown:
        raise BookError(f"{where}: unknown keys {', '.join(unknown)}")
    columns = tuple(entry.get("columns", ()))
    rows = tuple(tuple(row) for row in entry.get("rows", ()))
    for row in rows:
        if len(row) != len(columns):
            raise BookError(f"{where}: row {row[:1]} has not {len(columns)} cells")
    if not rows:
        raise BookError(f"{where}: has no rows")
    return Table(
        name=stem,
        title=str(entry.get("title", "")),
        citation=_citation(entry, source=source, where=where),
        columns=columns,
        rows=rows,
        row_status=_row_status(entry, rows, where=where),
        note=str(entry.get("note", "")),
    )


def _row_status(
    entry: Mapping[str, Any], rows: tuple[tuple[Cell, ...], ...], *, where: str
) -> dict[str, Status]:
    """Return the status of each row that is known otherwise than its table."""
    firsts = {str(row[0]) for row in rows}
    found = {}
    for key, status in entry.get("row_status", {}).items():
        if key not in firsts:
            raise BookError(f"{where}: row_status names no row {key}")
        found[key] = _status(status, where=where)
    return found


def _status(said: Any, *, where: str) -> Status:
    try:
        return Status(said)
    except ValueError as error:
        raise BookError(f"{where}: {error}") from error


def _amend(rules: dict[str, Rule], name: str, *, year: str) -> None:
    """Lay one local amendment over the rules, in place."""
    if name not in amendments():
        held = ", ".join(amendments()) or "none"
        raise BookError(f"local amendment {name} is not held; held are {held}")
    entry = _load(_ROOT.joinpath("amendments", f"{name}.toml"))
    place = str(entry.get("place", name))
    years = entry.get("editions", [year])
    if year not in years:
        raise BookError(
            f"local amendment {name} amends {', '.join(years)}, not {year}; leave it "
            "out or take one of those editions"
        )
    for rule_name, change in entry.get("rules", {}).items():
        if rule_name not in rules:
            raise BookError(f"amendment {name}: no rule {rule_name} to amend")
        base = rules[rule_name]
        new = {k: v for k, v in change.items() if k not in _RULE_KEYS}
        locator = str(change.get("locator", ""))
        rules[rule_name] = replace(
            base,
            parameters={**base.parameters, **new},
            absent=bool(change.get("absent", base.absent)),
            citation=replace(
                base.citation,
                amended_by=f"{place} {locator}".strip(),
                status=_status(
                    change.get("status", base.citation.status),
                    where=f"amendment {name} [{rule_name}]",
                ),
            ),
        )
