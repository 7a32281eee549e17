"""Changes to a plan's text that leave every other byte as it was.

Forms and the terminal change single fields; comments, order and spacing are the
person's own and stay. The text is not judged here: `parse_plan` does that.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, time
from typing import Any, TypeAlias

import tomlkit
from tomlkit.exceptions import TOMLKitError
from tomlkit.items import AoT, Item

from lugbook.errors import Fault, InputError
from lugbook.premises.lines import line_of
from lugbook.premises.sentences import dotted

__all__ = ["Entry", "Path", "add_table", "set_value"]

Path: TypeAlias = tuple[str | int, ...]
Entry: TypeAlias = (
    str | bool | int | float | date | time | list["Entry"] | Mapping[str, "Entry"]
)


def set_value(text: str, path: Path, value: Entry) -> str:
    r"""The text with one field set, a missing table made on the way.

    Args:
        text: A plan's TOML text. [-]
        path: Keys and list positions down to the field. [-]
        value: What it shall hold; a mapping becomes an inline table. [-]

    Returns:
        The new text. [-]

    Raises:
        InputError: The text is not TOML, or the path leads through no table.

    Example:
        >>> set_value('a = 1  # why\n', ("a",), 2)
        'a = 2  # why\n'
    """
    document = _document(text)
    *outer, key = path
    table = _table_at(document, tuple(outer), path)
    if isinstance(key, int):
        if not isinstance(table, list) or not 0 <= key < len(table):
            raise _no_way(path)
    elif not isinstance(table, Mapping):
        raise _no_way(path)
    table[key] = _inline(value)
    return tomlkit.dumps(document)


def add_table(text: str, path: Path, fields: Mapping[str, Entry]) -> str:
    r"""The text with one more [[table]] at the end of a list of tables.

    Args:
        text: A plan's TOML text. [-]
        path: The list: loads, or panels, 0, breakers. [-]
        fields: Keys with their values, in order. [-]

    Returns:
        The new text. [-]

    Raises:
        InputError: The text is not TOML, or the path holds something else.

    Example:
        >>> print(add_table("schema = 1\n", ("loads",), {"id": "kiln"}), end="")
        schema = 1
        <BLANKLINE>
        [[loads]]
        id = "kiln"
    """
    document = _document(text)
    *outer, name = path
    parent = _table_at(document, tuple(outer), path, make=False)
    if not isinstance(parent, Mapping) or not isinstance(name, str):
        raise _no_way(path)
    if name in parent and not isinstance(parent[name], AoT):
        raise InputError(
            Fault(
                dotted(path),
                "written as a list or value, not as [[tables]]",
                f"[[{_header(path)}]] tables",
                "Add the table by hand.",
            )
        )
    newline = "\r\n" if "\r\n" in text else "\n"
    lines = [f"[[{_header(path)}]]"]
    for key, value in fields.items():
        lines.append(f"{tomlkit.key(key).as_string()} = {_inline(value).as_string()}")
    cut = _end_of_parent(text, tuple(outer))
    before, after = text[:cut].rstrip("\r\n"), text[cut:]
    gap = newline * 2 if before.strip() else ""
    block = newline.join(lines) + newline
    return before + gap + block + (newline + after if after else "")


def _document(text: str) -> tomlkit.TOMLDocument:
    try:
        return tomlkit.parse(text)
    except TOMLKitError as error:
        raise InputError(
            Fault("plan", "not TOML", "a plan that reads without a syntax fault")
        ) from error


def _table_at(document: Any, outer: Path, path: Path, *, make: bool = True) -> Any:
    """Return the table or list that holds a path's last part."""
    here = document
    for part in outer:
        if isinstance(part, int):
            if not isinstance(here, list) or not 0 <= part < len(here):
                raise _no_way(path)
        elif not isinstance(here, Mapping):
            raise _no_way(path)
        elif part not in here:
            if not make:
                raise _no_way(path)
            here[part] = tomlkit.table()  # type: ignore[index]
        here = here[part]
    return here


def _no_way(path: Path) -> InputError:
    return InputError(
        Fault(dotted(path), "leads through no table of the plan", "a field of the plan")
    )


def _inline(value: Entry) -> Item:
    """Return a value as it stands behind an equals sign."""
    if isinstance(value, Mapping):
        table = tomlkit.inline_table()
        for key, entry in value.items():
            table[key] = _inline(entry)
        return table
    if isinstance(value, list):
        array = tomlkit.array()
        for entry in value:
            array.append(_inline(entry))
        return array
    return tomlkit.item(value)


def _header(path: Path) -> str:
    return ".".join(
        tomlkit.key(part).as_string() for part in path if isinstance(part, str)
    )


def _end_of_parent(text: str, outer: Path) -> int:
    """Return where a table may be added so that it falls to the right parent.

    A header attaches to the newest entry of the list above it, so it must stand
    before the next entry, and before the comments that belong to that one.
    """
    places = [place for place, part in enumerate(outer) if isinstance(part, int)]
    starts = []
    for place in places:
        following = (*outer[:place], int(outer[place]) + 1)
        line = line_of(text, following)
        # line_of falls back to the list itself where there is no next entry.
        if line is not None and line != line_of(text, outer[:place]):
            starts.append(line)
    if not starts:
        return len(text)
    lines = text.splitlines(keepends=True)
    first = min(starts) - 1
    while first > 0 and lines[first - 1].lstrip().startswith("#"):
        first -= 1
    return len("".join(lines[:first]))
