"""What each field of the plan file means, read from the strings under the fields.

They are read from the source on demand, so that reading a plan never pays for them.
"""

from __future__ import annotations

import ast
import json
import sys
from dataclasses import dataclass
from datetime import date
from functools import cache
from pathlib import Path
from types import NoneType, UnionType
from typing import Annotated, Any, Literal, Union, get_args, get_origin

from pydantic import BaseModel

from lugbook.premises.base import Id, Part
from lugbook.premises.sentences import models_in
from lugbook.premises.stated import Moment, Spec, Stated
from lugbook.quantities import Quantity, accepted_form

__all__ = ["FieldText", "Kind", "described_schema", "field_texts", "kind_of", "tables"]


@dataclass(frozen=True, slots=True)
class FieldText:
    """What is said of one field.

    Args:
        meaning: What it is, in a homeowner's words. [-]
        look: Where in the house to look; empty when it is yours to say. [-]
        example: A value as the file holds it; empty for a table. [-]
    """

    meaning: str
    look: str
    example: str


@dataclass(frozen=True, slots=True)
class Kind:
    """What a field accepts.

    Args:
        words: The kind with its units or words. [-]
        stated: Whether a { value, how, range } table may stand in its place. [-]
    """

    words: str
    stated: bool


def field_texts(model: type[BaseModel]) -> dict[str, FieldText]:
    """What is said of every field of a table, those of its bases first.

    Args:
        model: The table. [-]

    Returns:
        Text by field, in the order of the fields. [-]

    Example:
        >>> from lugbook.premises.service import MainDevice
        >>> field_texts(MainDevice)["rating"].example
        '"200 A"'
    """
    texts: dict[str, FieldText] = {}
    for base in reversed(model.__mro__):
        if issubclass(base, Part) and base is not Part:
            texts |= _in_module(base.__module__).get(base.__name__, {})
    return {name: texts[name] for name in model.model_fields if name in texts}


@cache
def _in_module(name: str) -> dict[str, dict[str, FieldText]]:
    source = Path(str(sys.modules[name].__file__)).read_text(encoding="utf-8")
    return {
        node.name: dict(_in_class(node))
        for node in ast.parse(source).body
        if isinstance(node, ast.ClassDef)
    }


def _in_class(node: ast.ClassDef) -> list[tuple[str, FieldText]]:
    found = []
    for field, text in zip(node.body, node.body[1:], strict=False):
        if (
            isinstance(field, ast.AnnAssign)
            and isinstance(field.target, ast.Name)
            and isinstance(text, ast.Expr)
            and isinstance(text.value, ast.Constant)
        ):
            found.append((field.target.id, _cut(str(text.value.value))))
    return found


def _cut(text: str) -> FieldText:
    words, _, example = " ".join(text.split()).partition("Example: ")
    meaning, _, look = words.partition("Look: ")
    return FieldText(meaning.strip(), look.strip(), example.strip("`"))


def kind_of(annotation: Any) -> Kind:
    """What a field of the given annotation accepts.

    Args:
        annotation: As the model has it. [-]

    Returns:
        The kind. [-]

    Example:
        >>> from lugbook.premises.fields import YesNo
        >>> kind_of(YesNo)
        Kind(words='true or false', stated=True)
    """
    choices = [arg for arg in get_args(annotation) if arg is not NoneType]
    origin = get_origin(annotation)
    if origin in (Union, UnionType) and len(choices) == 1:
        return kind_of(choices[0])
    if origin is tuple:
        inner = kind_of(choices[0])
        tables = next(models_in(annotation), None)
        words = "list of tables" if tables else f"list: {inner.words}"
        return Kind(words, inner.stated)
    if origin is Stated:
        return Kind(_words(choices[0]), stated=True)
    if next(models_in(annotation), None):
        return Kind("table", stated=False)
    return Kind(_words(annotation), stated=False)


def _words(kind: Any) -> str:
    if kind == Id:
        return "an id: small letters, digits and _"
    if kind is bool:
        return "true or false"
    if kind is str:
        return "text"
    if get_origin(kind) is Literal:
        words = get_args(kind)
        return " · ".join(f"`{_toml(word)}`" for word in words)
    if get_origin(kind) is Annotated:
        for extra in get_args(kind)[1:]:
            if isinstance(extra, Spec):
                return _spec_words(extra)
            if isinstance(extra, Moment):
                return "a day, or a day with its time" if extra.time_too else "a day"
    if kind in (date,):
        return "a day"
    raise TypeError(f"no words for {kind}")


def _toml(word: object) -> str:
    return f'"{word}"' if isinstance(word, str) else str(word)


def _spec_words(spec: Spec) -> str:
    if isinstance(spec.quantity, Quantity):
        return accepted_form(spec.quantity).partition(", for example")[0]
    return {
        "count": "a whole number",
        "plain": "a plain number",
        "text": "text",
        "note": "text",
        "size": "a conductor size such as `3 AWG`, `1/0 AWG` or `250 kcmil`",
        "year": "a year",
        "position": "the number of a space",
    }[spec.quantity]


def tables(
    root: type[BaseModel], name: str = ""
) -> list[tuple[str, type[BaseModel], bool]]:
    """Every table of the plan file, each before those inside it.

    Args:
        root: Model of the whole plan. [-]
        name: Header of the root. [-]

    Returns:
        Header without brackets, model, and whether it is one of a list. [-]
    """
    found: list[tuple[str, type[BaseModel], bool]] = [(name, root, False)]
    for field, info in root.model_fields.items():
        for inner in models_in(info.annotation):
            path = f"{name}.{field}".lstrip(".")
            listed = "tuple" in str(info.annotation)
            below = tables(inner, path)
            found += [(path, inner, listed), *below[1:]]
    return found


def described_schema(root: type[BaseModel]) -> dict[str, Any]:
    """JSON Schema of the plan file with the meaning of every field.

    Args:
        root: Model of the whole plan. [-]

    Returns:
        The schema, draft 2020-12. [-]
    """
    schema = root.model_json_schema()
    models = {model.__name__: model for _, model, _ in tables(root)}
    shared: dict[str, str] = {}
    for name, table in [(root.__name__, schema), *schema["$defs"].items()]:
        _describe(table, models[name], shared)
    schema["$defs"] |= {name: json.loads(kind) for kind, name in shared.items()}
    schema["properties"] = {
        ("schema" if key == "schema_version" else key): entry
        for key, entry in schema["properties"].items()
    }
    schema["required"] = ["schema"]
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", **schema}


def _describe(
    table: dict[str, Any], model: type[BaseModel], shared: dict[str, str]
) -> None:
    """Add the words, leave out what TOML has no way to say, say each kind once."""
    table.pop("title", None)
    table["description"] = " ".join((model.__doc__ or "").split())
    texts = field_texts(model)
    for key, entry in table.get("properties", {}).items():
        entry.pop("title", None)
        if entry.get("default", ...) is None:
            del entry["default"]
        if "anyOf" in entry:
            choices = [one for one in entry["anyOf"] if one != {"type": "null"}]
            entry["anyOf"] = choices
            if len(choices) == 1:
                del entry["anyOf"]
                entry.update(choices[0])
            elif "how" in str(choices):
                del entry["anyOf"]
                kind = json.dumps({"anyOf": choices}, ensure_ascii=False)
                name = shared.setdefault(kind, f"value_{len(shared) + 1}")
                entry["$ref"] = f"#/$defs/{name}"
        text = texts[key]
        look = f" Look: {text.look}" if text.look else ""
        entry["description"] = text.meaning + look
