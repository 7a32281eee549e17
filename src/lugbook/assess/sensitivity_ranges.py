"""What may be otherwise in a plan, and over which plausible range.

A doubt is a field that nobody stated, one an assumption stands for, or one that was
told, guessed or given with a range. Its choices come from the plan's own range or
from `plausible-ranges.toml`; each choice turns the plan into another plan.
"""

from __future__ import annotations

import tomllib
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from enum import StrEnum
from fnmatch import fnmatchcase
from functools import cache
from importlib.resources import files
from typing import Any, Literal, TypeAlias, get_args, get_origin

from pydantic import BaseModel, ValidationError

from lugbook.assess.assessment import Assessment, Unknown
from lugbook.assess.plan_changes import Path, dotted_path, path_of, with_field
from lugbook.assess.service_rating import service_panels
from lugbook.errors import BookError, InputError
from lugbook.premises.describe import field_texts
from lugbook.premises.load import Load
from lugbook.premises.plan import Plan
from lugbook.premises.sentences import models_in
from lugbook.premises.stated import How, Spec, Stated
from lugbook.quantities import SORTS, Quantity, read, show

__all__ = [
    "NOT_CHOSEN",
    "Choice",
    "Doubt",
    "Origin",
    "Ranges",
    "Untried",
    "doubts_of",
    "plausible_ranges",
]

Change: TypeAlias = Callable[[Plan], Plan]
Entry: TypeAlias = Mapping[str, Any]
NOT_CHOSEN = "not chosen yet: the tool sizes it"
_FEW_WORDS = 5  # a longer list of words is no plausible range


class Origin(StrEnum):
    """Why a field may be otherwise."""

    UNKNOWN = "unknown"
    ASSUMED = "assumed"
    TOLD = "told"
    GUESSED = "guessed"
    RANGED = "given with a range"


@dataclass(frozen=True, slots=True)
class Choice:
    """One thing a doubt may turn out to be.

    Args:
        label: As one would write it in the plan. [-]
        change: Turns a plan into the plan in which it is so; None leaves it. [-]
    """

    label: str
    change: Change | None


@dataclass(frozen=True, slots=True)
class Doubt:
    """A field that may be otherwise.

    Args:
        field: Dotted path in the plan file, with the word of dwelling.not_present. [-]
        origin: Why it may be otherwise. [-]
        question: What is to be found out. [-]
        look: Where in the house to look and what to read there. [-]
        choices: What it may be. [-]
        typical: Place in `choices` of what it is taken as while others are tried. [-]
        is_ordered: Whether the choices run from least to most. [-]
        source: Key in sources.toml, or empty for common practice. [-]
        basis: Why this range. [-]
    """

    field: str
    origin: Origin
    question: str
    look: str
    choices: tuple[Choice, ...]
    typical: int
    is_ordered: bool
    source: str
    basis: str


@dataclass(frozen=True, slots=True)
class Untried:
    """Something that may be otherwise and was not tried.

    Args:
        field: Dotted path, or the name of an assumption. [-]
        why: Why it was not tried. [-]
        is_unknown: Whether the answer waits for it; an assumption stands instead. [-]
    """

    field: str
    why: str
    is_unknown: bool


@dataclass(frozen=True, slots=True)
class Ranges:
    """The data file of plausible ranges.

    Args:
        entries: Its ranges, the first that fits counts. [-]
        default: What holds where no entry fits. [-]
        assumptions: Fields behind assumptions that bear a name of their own. [-]
    """

    entries: tuple[Entry, ...]
    default: Entry
    assumptions: Mapping[str, Entry]


@cache
def plausible_ranges() -> Ranges:
    """The ranges shipped with the package.

    Returns:
        Them. [-]
    """
    text = files("lugbook.assess").joinpath("plausible-ranges.toml").read_text("utf-8")
    tree = tomllib.loads(text)
    return Ranges(tuple(tree["range"]), tree["default"], tree["assumption"])


def doubts_of(
    plan: Plan, assessment: Assessment, ranges: Ranges
) -> tuple[tuple[Doubt, ...], tuple[Untried, ...]]:
    """Everything in a plan that may be otherwise.

    Args:
        plan: The house. [-]
        assessment: Its assessment as stated. [-]
        ranges: Plausible ranges. [-]

    Returns:
        What can be tried, and what cannot, each with the reason. [-]
    """
    found: dict[str, Doubt] = {}
    untried: dict[str, Untried] = {}
    for unknown in assessment.unknowns:
        if unknown.later:
            continue
        doubt = _unknown_doubt(plan, unknown, ranges)
        if doubt is None:
            why = "no plausible range is held"
            untried[unknown.field] = Untried(unknown.field, why, is_unknown=True)
        else:
            found.setdefault(doubt.field, doubt)
    for assumption in assessment.assumptions:
        fields = _fields_behind(plan, assumption.id, ranges)
        if any(_is_to_choose(plan, each) for each in fields):
            untried[assumption.id] = Untried(
                assumption.id, NOT_CHOSEN, is_unknown=False
            )
            continue
        open_ = [each for each in fields if not _is_stated(plan, each)]
        made = [_assumed_doubt(plan, each, assumption.text, ranges) for each in open_]
        for doubt in made:
            if doubt is not None:
                found.setdefault(doubt.field, doubt)
        if not any(made):
            why = "no field of the plan stands behind it"
            if fields and not open_:
                why = "the field behind it is stated"
            untried[assumption.id] = Untried(assumption.id, why, is_unknown=False)
    for path, stated, model in _stated_fields(plan):
        doubt = _stated_doubt(plan, path, stated, model, ranges)
        if doubt is not None:
            found[doubt.field] = doubt
    return tuple(found.values()), tuple(untried.values())


# --- the three kinds of doubt ----------------------------------------------------


def _unknown_doubt(plan: Plan, unknown: Unknown, ranges: Ranges) -> Doubt | None:
    if unknown.field == "dwelling.not_present":
        entry = next(
            (
                each
                for each in ranges.entries
                if "word" in each and f"electric {each['word']}," in unknown.question
            ),
            None,
        )
        if entry is None:
            return None
        field = f"dwelling.not_present: {entry['word']}"
        choices = tuple(_presence(each, entry["word"]) for each in entry["candidates"])
        return _doubt(field, Origin.UNKNOWN, unknown, entry, choices)
    entry = _entry_for(plan, unknown.field, ranges)
    if entry is None:
        return None
    if unknown.field == "dwelling.loads_complete":
        choices = tuple(_completeness(each) for each in entry["candidates"])
        return _doubt(unknown.field, Origin.UNKNOWN, unknown, entry, choices)
    choices = tuple(_setting(plan, unknown.field, each) for each in entry["candidates"])
    if any(choice.change is None for choice in choices):
        return None
    return _doubt(unknown.field, Origin.UNKNOWN, unknown, entry, choices)


def _doubt(
    field: str,
    origin: Origin,
    unknown: Unknown,
    entry: Entry,
    choices: tuple[Choice, ...],
) -> Doubt:
    return Doubt(
        field=field,
        origin=origin,
        question=unknown.question,
        look=unknown.look,
        choices=choices,
        typical=entry["candidates"].index(entry["typical"]),
        is_ordered=entry.get("ordered", False),
        source=entry["source"],
        basis=entry["basis"],
    )


def _assumed_doubt(plan: Plan, field: str, text: str, ranges: Ranges) -> Doubt | None:
    entry = _entry_for(plan, field, ranges)
    if entry is None:
        return None
    choices = tuple(_setting(plan, field, each) for each in entry["candidates"])
    if any(choice.change is None for choice in choices):
        return None
    as_it_is = Choice("as assumed", None)
    return Doubt(
        field=field,
        origin=Origin.ASSUMED,
        question=text,
        look=_look_of(plan, field),
        choices=(as_it_is, *choices),
        typical=0,
        is_ordered=entry.get("ordered", False),
        source=entry["source"],
        basis=entry["basis"],
    )


def _stated_doubt(
    plan: Plan, path: Path, stated: Stated[Any], model: type[BaseModel], ranges: Ranges
) -> Doubt | None:
    field = dotted_path(plan, path)
    entry = _entry_for(plan, field, ranges) or ranges.default
    kind = _kind_of(model, str(path[-1]))
    if stated.low is not None or stated.others:
        origin, source, basis = Origin.RANGED, "plan", "the range stated in the plan"
        others = _own_range(stated, kind)
    else:
        origin = Origin.TOLD if stated.how is How.TOLD else Origin.GUESSED
        source, basis = entry["source"], entry["basis"]
        others = _around(stated, kind, entry, ranges.default)
    if not others:
        return None
    is_number = _is_number(stated.value)
    below = [each for each in others if is_number and each.value < stated.value]
    above = [each for each in others if each not in below]
    meaning = field_texts(model)[str(path[-1])]
    return Doubt(
        field=field,
        origin=origin,
        question=meaning.meaning,
        look=meaning.look or "yourself.",
        choices=(
            *(_restated(path, each) for each in below),
            Choice(_label(stated.text), None),
            *(_restated(path, each) for each in above),
        ),
        typical=len(below),
        is_ordered=is_number,
        source=source,
        basis=basis,
    )


def _stated_fields(
    plan: Plan,
) -> Iterator[tuple[Path, Stated[Any], type[BaseModel]]]:
    """Yield every value that was told, guessed or given with a range."""

    def walk(part: BaseModel, path: Path) -> Iterator[Any]:
        for name in sorted(
            part.model_fields_set, key=list(type(part).model_fields).index
        ):
            held = getattr(part, name)
            if isinstance(held, Stated):
                ranged = held.low is not None or bool(held.others)
                if ranged or held.how in (How.TOLD, How.GUESSED):
                    yield (*path, name), held, type(part)
            elif isinstance(held, BaseModel):
                yield from walk(held, (*path, name))
            elif isinstance(held, tuple):
                for place, inner in enumerate(held):
                    if isinstance(inner, BaseModel):
                        yield from walk(inner, (*path, name, place))

    return walk(plan, ())


def _own_range(stated: Stated[Any], kind: Any) -> list[Stated[Any]]:
    if stated.others:
        if isinstance(stated.value, bool):
            words: list[Any] = [each == "true" for each in stated.others]
        else:
            words = list(stated.others)
        return [
            Stated(each, stated.how, text=_label(each))
            for each in words
            if each != stated.value
        ]
    ends = [stated.low, stated.high]
    return [
        _amount(stated, kind, end)
        for end in ends
        if end is not None and end != stated.value
    ]


def _around(
    stated: Stated[Any], kind: Any, entry: Entry, default: Entry
) -> list[Stated[Any]]:
    """Return what a told or guessed value may be instead."""
    value = stated.value
    if isinstance(value, bool):
        return [Stated(not value, stated.how, text=_label(not value))]
    if isinstance(value, str):
        words = get_args(kind) if get_origin(kind) is Literal else ()
        listed = entry.get("candidates", ())
        told = [each for each in listed if isinstance(each, str)] or list(words)
        few = told if len(told) <= _FEW_WORDS else []
        return [Stated(each, stated.how) for each in few if each != value]
    if entry.get("next_to"):
        held = sorted({_inside(each, kind) for each in entry["candidates"]})
        below = [each for each in held if each < value][-1:]
        above = [each for each in held if each > value][:1]
        return [_amount(stated, kind, each) for each in (*below, *above)]
    if "off_by" in entry:
        off = _difference(entry["off_by"])
        return [_amount(stated, kind, value + each) for each in (-off, off)]
    share = entry.get("around", default["around"])
    ends = (value * (1 - share), value * (1 + share))
    if isinstance(value, int):
        ends = (max(0, value - 1), value + 1)
    return [_amount(stated, kind, end) for end in ends if end != value]


def _difference(text: str) -> float:
    """Return a difference of temperature, which no quantity of the plan is."""
    number, _, unit = text.partition(" ")
    if unit != "°C":
        raise BookError(f"plausible-ranges.toml: off_by = {text!r} is not in °C")
    return float(number)


def _amount(stated: Stated[Any], kind: Any, value: float) -> Stated[Any]:
    quantity = _quantity(kind)
    if quantity is None:
        number = int(value) if isinstance(stated.value, int) else value
        return Stated(number, stated.how, text=f"{number:g}")
    unit = read(stated.text, quantity, field="").unit
    try:
        text = show(value, quantity, unit)
    except InputError:  # a compound such as 12 ft 6 in names two units
        text = show(value, quantity, SORTS[quantity].units[0].name)
    return Stated(value, stated.how, text=text)


def _inside(raw: Any, kind: Any) -> float:
    quantity = _quantity(kind)
    return float(raw) if quantity is None else read(raw, quantity, field="").amount


def _quantity(kind: Any) -> Quantity | None:
    spec = next((each for each in get_args(kind) if isinstance(each, Spec)), None)
    quantity = spec.quantity if spec else None
    return quantity if isinstance(quantity, Quantity) else None


def _kind_of(model: type[BaseModel], name: str) -> Any:
    """Return what a stated field holds, as `Stated[...]` names it."""

    def find(annotation: Any) -> Any:
        if get_origin(annotation) is Stated:
            return get_args(annotation)[0]
        inner = (find(each) for each in get_args(annotation))
        return next((each for each in inner if each is not None), None)

    return find(model.model_fields[name].annotation)


def _is_number(value: object) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool)


# --- choices ---------------------------------------------------------------------


def _restated(path: Path, stated: Stated[Any]) -> Choice:
    return Choice(_label(stated.text), lambda plan: with_field(plan, path, stated))


def _setting(plan: Plan, field: str, raw: Any) -> Choice:
    """Return the choice of a raw value, without a change where it cannot be set."""
    paths = path_of(plan, field)

    def change(house: Plan) -> Plan:
        for path in paths:
            house = with_field(house, path, raw)
        return house

    try:
        change(plan)
    except (ValidationError, LookupError):
        return Choice(_label(raw), None)
    return Choice(_label(raw), change if paths else None)


def _presence(raw: Any, word: str) -> Choice:
    if raw == "none":
        return Choice(
            "none",
            lambda plan: with_field(
                plan,
                ("dwelling", "not_present"),
                (*plan.dwelling.not_present, word),
            ),
        )
    name = f"what_if_{word.replace(' ', '_')}"
    return Choice(_label(raw), lambda plan: _with_load(plan, {"id": name, **raw}))


def _completeness(raw: Any) -> Choice:
    def change(plan: Plan) -> Plan:
        house = with_field(plan, ("dwelling", "loads_complete"), True)
        if isinstance(raw, str):
            return house
        return _with_load(house, {"id": "what_if_forgotten", **raw})

    return Choice(raw if isinstance(raw, str) else f"{_label(raw)} forgotten", change)


def _with_load(plan: Plan, raw: Entry) -> Plan:
    return plan.model_copy(update={"loads": (*plan.loads, Load.model_validate(raw))})


def _label(raw: Any) -> str:
    if isinstance(raw, bool):
        return str(raw).lower()
    if isinstance(raw, Mapping):
        kept = [str(each) for each in raw.values() if not isinstance(each, bool)]
        return " ".join(reversed(kept)) if "kind" in raw else " ".join(kept)
    if isinstance(raw, list):
        return ", ".join(map(str, raw))
    return str(raw)


# --- entries of the data file ----------------------------------------------------


def _entry_for(plan: Plan, field: str, ranges: Ranges) -> Entry | None:
    return next(
        (
            entry
            for entry in ranges.entries
            if "word" not in entry
            and fnmatchcase(field, entry["field"])
            and _suits_main(plan, entry)
            and _suits_table(plan, field, entry)
        ),
        None,
    )


def _suits_main(plan: Plan, entry: Entry) -> bool:
    if "main_a" not in entry:
        return True
    service = plan.service
    main = service.main.rating if service and service.main else None
    panels = [each.main_rating for each in service_panels(plan)]
    ratings = [main] if main else panels
    return any(each.value in entry["main_a"] for each in ratings if each)


def _suits_table(plan: Plan, field: str, entry: Entry) -> bool:
    if "where" not in entry:
        return True
    for path in path_of(plan, field):
        here = _held(plan, path[:-1])
        held = {name: getattr(here, name, None) for name in entry["where"]}
        plain = {k: v.value if isinstance(v, Stated) else v for k, v in held.items()}
        if all(plain[name] in words for name, words in entry["where"].items()):
            return True
    return False


def _fields_behind(plan: Plan, name: str, ranges: Ranges) -> tuple[str, ...]:
    named = ranges.assumptions.get(name)
    if named is None:
        return (name,)
    if "fields" in named:
        return tuple(named["fields"])
    key = named["each_load"]
    unsaid = [each for each in plan.loads if getattr(each, key) is None]
    return tuple(f"loads.{each.id}.{key}" for each in unsaid)


def _is_to_choose(plan: Plan, field: str) -> bool:
    """Return whether a field is of a part of the circuit nobody has chosen yet."""
    paths = path_of(plan, field)
    return (
        bool(paths)
        and _held(plan, paths[0][:-1]) is None
        and field.startswith(("circuit.", "charger."))
    )


def _is_stated(plan: Plan, field: str) -> bool:
    paths = path_of(plan, field)
    return bool(paths) and all(_held(plan, path) is not None for path in paths)


def _held(plan: Plan, path: Path) -> Any:
    here: Any = plan
    for step in path:
        here = here[step] if isinstance(step, int) else getattr(here, step, None)
    return here


def _look_of(plan: Plan, field: str) -> str:
    for path in path_of(plan, field):
        model: type[BaseModel] = Plan
        for step in path[:-1]:
            if isinstance(step, str):
                model = next(models_in(model.model_fields[step].annotation), model)
        return field_texts(model)[str(path[-1])].look or "yourself."
    return ""
