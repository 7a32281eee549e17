"""One field of a plan another: what a what-if needs, and nothing is written back."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, TypeAlias

from pydantic import BaseModel

from lugbook.assess.service_rating import service_panels
from lugbook.premises.base import Item
from lugbook.premises.plan import Plan
from lugbook.premises.sentences import models_in

__all__ = ["Path", "dotted_path", "path_of", "with_field"]

Path: TypeAlias = tuple[str | int, ...]


def path_of(plan: Plan, field: str) -> tuple[Path, ...]:
    """Where in a plan a dotted field stands; several for a field of every panel.

    Args:
        plan: The house. [-]
        field: Dotted path with ids, as an unknown names it. [-]

    Returns:
        Paths of attributes and places in lists; none where there is no such table. [-]
    """
    if field == "panels.bus_rating":
        open_ = [each for each in service_panels(plan) if each.bus_rating is None]
        return tuple(
            ("panels", plan.panels.index(each), "bus_rating") for each in open_
        )
    path: list[str | int] = []
    here: Any = plan
    model: type[BaseModel] = Plan
    for step in field.split("."):
        if isinstance(here, tuple):
            ids = [getattr(each, "id", None) for each in here]
            if step not in ids:
                return ()
            path.append(ids.index(step))
            here = here[ids.index(step)]
            model = type(here)
            continue
        if step not in model.model_fields:
            return ()
        path.append(step)
        here = getattr(here, step, None)
        inner = next(models_in(model.model_fields[step].annotation), None)
        model = type(here) if isinstance(here, BaseModel) else inner or model
    return (tuple(path),)


def dotted_path(plan: Plan, path: Path) -> str:
    """A path as unknowns name it: ids instead of places in lists.

    Args:
        plan: The house. [-]
        path: Attributes and places in lists. [-]

    Returns:
        Dotted path. [-]
    """
    words: list[str] = []
    here: Any = plan
    for step in path:
        here = here[step] if isinstance(step, int) else getattr(here, step)
        named = getattr(here, "id", None) if isinstance(step, int) else step
        words.append(str(named if named is not None else int(step) + 1))
    return ".".join(words)


def with_field(plan: Plan, path: Path, raw: Any) -> Plan:
    """A plan with one field another.

    A table given is laid over the one that stands there; a missing table is made.

    Args:
        plan: The house. [-]
        path: Attributes and places in lists. [-]
        raw: As TOML would give it, or a value already read. [-]

    Returns:
        The other plan. [-]

    Raises:
        ValidationError: The field takes no such value, or its table needs more.
    """
    changed: Plan = _laid(plan, path, raw)
    return changed


def _laid(part: Any, path: Path, raw: Any) -> Any:
    step, rest = path[0], path[1:]
    if isinstance(part, tuple):
        place = int(step)
        new = _laid(part[place], rest, raw) if rest else raw
        return (*part[:place], new, *part[place + 1 :])
    name = str(step)
    here = getattr(part, name)
    if rest and here is not None:
        return part.model_copy(update={name: _laid(here, rest, raw)})
    if rest:
        # The table is missing: one that asks for an id is named after its place.
        model = next(models_in(type(part).model_fields[name].annotation))
        own = {"id": name} if issubclass(model, Item) else {}
        return _checked(part, name, {**own, **_nested(rest, raw)})
    if isinstance(raw, Mapping) and isinstance(here, BaseModel):
        raw = {**_given(here), **raw}
    return _checked(part, name, raw)


def _nested(path: Path, raw: Any) -> dict[str, Any]:
    for step in reversed(path):
        raw = {step: raw}
    return dict(raw)


def _given(part: BaseModel) -> dict[str, Any]:
    return {name: getattr(part, name) for name in part.model_fields_set}


def _checked(part: BaseModel, name: str, raw: Any) -> BaseModel:
    return type(part).model_validate({**_given(part), name: raw})
