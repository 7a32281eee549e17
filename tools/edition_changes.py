"""What changed between two editions, as the files of the codebook have it.

python tools/edition_changes.py 2020 2023
"""

from __future__ import annotations

import difflib
import re
import sys
import tomllib
from pathlib import Path
from typing import Any

BOOK = Path(__file__).resolve().parent.parent / "src/lugbook/codebook/nfpa70"

# How well we know a value is no change of the book: these lines may differ alone.
KNOWLEDGE = ("status", "confirmed_by", "from_memory", "row_status", "checked_on")


def changes(older: str, newer: str) -> dict[str, list[str]]:
    """Return what differs between two editions: place, then the keys or rows.

    Args:
        older: Year of the older edition. [-]
        newer: Year of the newer edition. [-]

    Returns:
        For each rule or table that changed, the names of what changed. [-]
    """
    before, after = entries(older), entries(newer)
    found = {}
    for place in sorted(set(before) | set(after)):
        what = _changed(before.get(place, {}), after.get(place, {}))
        if what:
            found[place] = sorted(what)
    return found


def stray_lines(older: str, newer: str) -> list[str]:
    """Return lines that differ although nothing in their rule or table changed."""
    real = changes(older, newer)
    strays = []
    for path in sorted((BOOK / newer).glob("*.toml")):
        before = (BOOK / older / path.name).read_text(encoding="utf-8")
        after = path.read_text(encoding="utf-8")
        parts = _parts(path.stem, before), _parts(path.stem, after)
        for place in sorted(set(parts[0]) | set(parts[1])):
            if place in real:
                continue
            old, new = (part.get(place, "").splitlines() for part in parts)
            strays += [
                f"{place}: {line}"
                for line in difflib.ndiff(old, new)
                if line[:2] in ("- ", "+ ") and not line[2:].startswith(KNOWLEDGE)
            ]
    return strays


def entries(year: str) -> dict[str, dict[str, Any]]:
    """Return every rule and table of an edition as its file holds it.

    Args:
        year: Year of the edition. [-]

    Returns:
        Entries by place: "rule NAME" or "table NAME". [-]
    """
    found: dict[str, dict[str, Any]] = {}
    for path in sorted((BOOK / year).glob("*.toml")):
        entry = tomllib.loads(path.read_text(encoding="utf-8"))
        if path.stem.startswith("rules"):
            found |= {f"rule {name}": rule for name, rule in entry.items()}
        else:
            found[f"table {path.stem}"] = entry
    return found


def _changed(before: dict[str, Any], after: dict[str, Any]) -> set[str]:
    what = set()
    for key in set(before) | set(after):
        if key in KNOWLEDGE or _alike(before, after, key):
            continue
        what |= _rows(before[key], after[key]) if key == "rows" else {key}
    return what


def _alike(before: dict[str, Any], after: dict[str, Any], key: str) -> bool:
    if key == "absent":
        return bool(before.get(key, False)) == bool(after.get(key, False))
    return repr(before.get(key)) == repr(after.get(key))


def _rows(before: list[list[Any]], after: list[list[Any]]) -> set[str]:
    """Return the rows that differ, named by their first cell."""
    gone = [row for row in before if row not in after]
    come = [row for row in after if row not in before]
    return {f"row {row[0]}" for row in (*gone, *come)}


def _parts(stem: str, text: str) -> dict[str, str]:
    """Return the text of each rule of a rules file, or the whole table file."""
    if not stem.startswith("rules"):
        return {f"table {stem}": text}
    pieces = re.split(r"^(?=\[[a-z0-9-]+\]$)", text, flags=re.MULTILINE)
    named = {f"rule {piece[1 : piece.index(']')]}": piece for piece in pieces[1:]}
    return {f"opening of {stem}": pieces[0], **named}


def main(arguments: list[str]) -> int:
    """Print what changed between two editions; return the exit status."""
    if len(arguments) != 2:
        print(__doc__)
        return 2
    older, newer = arguments
    before, after = entries(older), entries(newer)
    for place, what in changes(older, newer).items():
        print(place)
        for name in what:
            key = "rows" if name.startswith("row ") else name
            old, new = before[place].get(key), after[place].get(key)
            if key == "rows" and old is not None and new is not None:
                old = [row for row in old if f"row {row[0]}" == name]
                new = [row for row in new if f"row {row[0]}" == name]
            print(f"    {name}: {old} -> {new}")
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
