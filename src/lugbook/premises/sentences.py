"""A sentence for each field the plan's reader refused; needed only when it did."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, Literal, get_args, get_origin

from pydantic import BaseModel

from lugbook.errors import Fault
from lugbook.premises.lines import Path, line_of
from lugbook.premises.stated import fault_of, nearest, shown

__all__ = ["dotted", "models_in", "sentence"]

_LISTED_KEYS = 14  # more than this is no longer read


def sentence(root: type[BaseModel], entry: Any, tree: Any, text: str) -> Fault:
    """Say what is wrong with one field, where, and how to mend it.

    Args:
        root: Model of the whole plan. [-]
        entry: One refusal, as pydantic lists it. [-]
        tree: The plan as TOML gives it. [-]
        text: The text of the plan. [-]

    Returns:
        The fault. [-]
    """
    path: Path = tuple(entry["loc"])
    if entry["type"] == "extra_forbidden":
        return _unknown_key(root, path, tree, text)
    given, accepted, mend = _words(root, entry, path)
    return Fault(dotted(path), given, accepted, mend, line_of(text, path))


def _words(root: type[BaseModel], entry: Any, path: Path) -> tuple[str, str, str]:
    kind = entry["type"]
    given = shown(entry["input"])
    if own := fault_of(entry):
        return own.given, own.accepted, own.mend
    if kind == "missing":
        return "missing", *_missing(root, path)
    if kind in ("model_type", "model_attributes_type"):
        header = dotted(tuple(part for part in path if isinstance(part, str)))
        listed = "[[" if isinstance(path[-1], int) else "["
        mend = f"Write {listed}{header}{']' * len(listed)} above its keys."
        if isinstance(entry["input"], list):
            mend = f"Write [{header}] with single brackets: there is only one."
        return given, "a table", mend
    if kind == "tuple_type":
        return given, *_list_wanted(root, path, entry["input"])
    if kind == "literal_error":
        words = get_args(_literal_at(root, path))
        mend, ordered = nearest(entry["input"], words)
        return f"{given} is not one of the words", ", ".join(ordered), mend
    # What is left is an id, or a pointer to one.
    return (
        f"{given} is not an id",
        "small letters, digits and _, a letter first, at most 40, as in garage_panel",
        "",
    )


def _missing(root: type[BaseModel], path: Path) -> tuple[str, str]:
    key = str(path[-1])
    if key == "id":
        return 'an id, as in id = "dryer"', "Others point at it by its id."
    if key == "path":
        return 'a path, as in path = "meter.xml"', "The file is found by it."
    words = get_args(_literal_at(root, path))
    if words:
        return ", ".join(words), "This table cannot do without it."
    return "a list of the spaces it takes, as in [5, 7]", "A breaker sits somewhere."


def _list_wanted(root: type[BaseModel], path: Path, given: object) -> tuple[str, str]:
    header = dotted(tuple(part for part in path if isinstance(part, str)))
    if path == ("meter_files",) and isinstance(given, str):
        return "a list of paths", f"Write meter_files = [{shown(given)}]."
    if next(models_in(_annotation(root, path)), None) is not None:
        mend = f"Write [[{header}]] with double brackets: there may be several."
        return "a list of tables", mend
    mend = "" if isinstance(given, dict) else f"Write {path[-1]} = [{shown(given)}]."
    return "a list in square brackets", mend


def _unknown_key(root: type[BaseModel], path: Path, tree: Any, text: str) -> Fault:
    key = str(path[-1])
    model = _model_at(root, path[:-1])
    known = [name for name in model.model_fields if name != "schema_version"]
    if model is root:
        known.insert(0, "schema")
    mend, ordered = nearest(key, known)
    elsewhere = _tables_with(root, key) if not mend else []
    if elsewhere:
        mend = f"It belongs in {' or '.join(elsewhere[:3])}."
    accepted = ", ".join(ordered[:_LISTED_KEYS])
    if len(ordered) > _LISTED_KEYS:
        left = len(ordered) - _LISTED_KEYS
        accepted += f" and {left} more in the plan file's reference"
    given = tree
    for part in path:
        given = given[part]
    tables = isinstance(given, list) and bool(given) and isinstance(given[0], dict)
    what = "table" if isinstance(given, dict) or tables else "key"
    return Fault(dotted(path), f"unknown {what}", accepted, mend, line_of(text, path))


def _tables_with(root: type[BaseModel], key: str) -> list[str]:
    """Return the tables that know a key."""
    seen: dict[type[BaseModel], str] = {}

    def walk(model: type[BaseModel], name: str) -> None:
        if model in seen:
            return
        seen[model] = name
        for field, info in model.model_fields.items():
            for inner in models_in(info.annotation):
                walk(inner, f"{name}.{field}".lstrip("."))

    walk(root, "")
    return [
        f"[{name}]"
        for model, name in seen.items()
        if name and key in model.model_fields
    ]


def dotted(path: Path) -> str:
    """Return a path as people read it, places in lists counted from 1.

    Args:
        path: Keys and list positions. [-]

    Returns:
        The words. [-]

    Example:
        >>> dotted(("loads", 0, "leg"))
        'loads[1].leg'
    """
    words = ""
    for part in path:
        words += f"[{part + 1}]" if isinstance(part, int) else f".{part}"
    return words.lstrip(".")


def models_in(annotation: Any) -> Iterator[type[BaseModel]]:
    """Yield the tables a field may hold.

    Args:
        annotation: The field's annotation. [-]

    Yields:
        Each model in it. [-]
    """
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        yield annotation
    for inner in get_args(annotation):
        yield from models_in(inner)


def _model_at(root: type[BaseModel], path: Path) -> type[BaseModel]:
    model = root
    for part in path:
        if isinstance(part, str):
            model = next(models_in(model.model_fields[part].annotation), model)
    return model


def _annotation(root: type[BaseModel], path: Path) -> Any:
    keys = [part for part in path if isinstance(part, str)]
    return _model_at(root, tuple(keys[:-1])).model_fields[keys[-1]].annotation


def _literal_at(root: type[BaseModel], path: Path) -> Any:
    """Return the closed list of words a field has, bare, stated or in a list."""

    def find(annotation: Any) -> Any:
        if get_origin(annotation) is Literal:
            return annotation
        for inner in get_args(annotation):
            if found := find(inner):
                return found
        return None

    return find(_annotation(root, path))
