"""A value as somebody stated it: the figure, how it was got, how sure it is.

A field of the plan file is either a bare value (`"40 ft"`) or a table
`{ value = "40 ft", how = "guessed", range = ["30 ft", "60 ft"] }`.
A field left out is unknown and stays so.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import date, datetime
from enum import StrEnum
from functools import cache
from types import UnionType
from typing import (
    Annotated,
    Any,
    Generic,
    Literal,
    TypeAlias,
    TypeVar,
    Union,
    get_args,
    get_origin,
)

from pydantic import GetCoreSchemaHandler
from pydantic_core import CoreSchema, PydanticCustomError, core_schema

from lugbook.errors import Fault, InputError
from lugbook.quantities import SORTS, Quantity, accepted_form, conductor_size, read
from lugbook.quantities import show as show_amount

__all__ = ["HOWS", "How", "Moment", "Spec", "Stated", "fault_of", "nearest", "shown"]

T_co = TypeVar("T_co", covariant=True)


class How(StrEnum):
    """How a stated value was got."""

    READ = "read"
    MEASURED = "measured"
    TOLD = "told"
    GUESSED = "guessed"
    UNSAID = "how not said"


HOWS = tuple(how.value for how in How if how is not How.UNSAID)


@dataclass(frozen=True, slots=True)
class Spec:
    """What a field accepts beyond its quantity: bounds in inside units.

    Args:
        quantity: The quantity the text is read as. [-]
        at_least: Smallest value accepted. [inside unit]
        at_most: Largest value accepted; a typing slip lies beyond it. [inside unit]
        zero: Whether zero itself is accepted. [-]
    """

    quantity: (
        Quantity | Literal["count", "plain", "text", "note", "size", "year", "position"]
    )
    at_least: float = 0.0
    at_most: float = float("inf")
    zero: bool = True

    def __get_pydantic_core_schema__(
        self, _source: Any, _handler: GetCoreSchemaHandler
    ) -> CoreSchema:
        """Tell pydantic how to read a bare value, one without a value table."""
        reader, schema = _spec_reader(self)
        return _validator(lambda given: reader(given)[0], schema)


@dataclass(frozen=True, slots=True)
class Moment:
    """A field that accepts a day, or also a day with its time.

    Args:
        time_too: Whether a time of day may follow. [-]
    """

    time_too: bool

    def __get_pydantic_core_schema__(
        self, _source: Any, _handler: GetCoreSchemaHandler
    ) -> CoreSchema:
        """Tell pydantic how to read a day."""
        accepted = "a day without quotes, as in 2026-01-14"
        schemas: list[dict[str, Any]] = [{"type": "string", "format": "date"}]
        if self.time_too:
            accepted += ", or with its time, as in 2026-01-14T18:40:00"
            schemas.append({"type": "string", "format": "date-time"})

        def read_moment(given: object) -> date:
            kinds = (date,) if self.time_too or not isinstance(given, datetime) else ()
            if not isinstance(given, kinds):
                mend = "Leave out the quotes." if isinstance(given, str) else ""
                raise _fault(f"{shown(given)} is not a day", accepted, mend)
            return given

        return _validator(read_moment, {"anyOf": schemas})


class Stated(Generic[T_co]):
    """A value in inside units, with how it was got and its range.

    A plain class, since pydantic would read a generic dataclass by its own rules.

    Args:
        value: The value. [inside unit of its field]
        how: How it was got. [-]
        low: Low end of the stated range; None if no range was stated. [same unit]
        high: High end of the stated range. [same unit]
        others: Other choices it may be, for a value out of a list. [-]
        text: What was typed. [-]
        note: How a doubtful spelling was understood; empty if plain. [-]
    """

    __slots__ = ("high", "how", "low", "note", "others", "text", "value")

    def __init__(
        self,
        value: T_co,
        how: How = How.UNSAID,
        *,
        low: float | None = None,
        high: float | None = None,
        others: tuple[str, ...] = (),
        text: str = "",
        note: str = "",
    ) -> None:
        self.value = value
        self.how = how
        self.low = low
        self.high = high
        self.others = others
        self.text = text or str(value)
        self.note = note

    def __repr__(self) -> str:
        """Return the value as typed, with how it was got."""
        return f"Stated({self.value!r}, {self.how.value})"

    def __eq__(self, other: object) -> bool:
        """Return whether value, range and manner are the same."""
        return isinstance(other, Stated) and self._facts() == other._facts()

    def __hash__(self) -> int:
        """Return the hash of value, range and manner."""
        return hash(self._facts())

    def _facts(self) -> tuple[object, ...]:
        return (self.value, self.how, self.low, self.high, self.others)

    @property
    def source(self) -> str:
        """Return how the value was got, as words for a working."""
        return f"plan, {self.how.value}"

    @classmethod
    def __get_pydantic_core_schema__(
        cls, source: Any, _handler: GetCoreSchemaHandler
    ) -> CoreSchema:
        """Tell pydantic how to read a stated value of the given kind."""
        reader, schema = _reader_for(get_args(source)[0])

        def validate(given: object) -> Stated[Any]:
            return given if isinstance(given, Stated) else _read_stated(given, reader)

        table = {
            "type": "object",
            "properties": {
                "value": schema,
                "how": {"enum": list(HOWS)},
                "range": {"type": "array", "items": schema, "minItems": 2},
            },
            "required": ["value"],
            "additionalProperties": False,
        }
        return _validator(validate, {"anyOf": [schema, table]})


_Reader: TypeAlias = Callable[[object], tuple[Any, str]]


def _validator(read: Callable[[object], Any], schema: dict[str, Any]) -> CoreSchema:
    """Return pydantic's name for a reader of ours, its faults carried along."""

    def validate(given: object) -> Any:
        try:
            return read(given)
        except InputError as error:
            fault = error.faults[0]
            raise PydanticCustomError(
                "fault", "{given}", {"given": fault.given, "fault": fault}
            ) from error

    return core_schema.no_info_plain_validator_function(
        validate, metadata={"pydantic_js_functions": [lambda _s, _h: dict(schema)]}
    )


def fault_of(error: Any) -> Fault | None:
    """Return the fault carried by one pydantic error, if ours."""
    fault = error.get("ctx", {}).get("fault")
    return fault if isinstance(fault, Fault) else None


def shown(given: object) -> str:
    """Return what was given, short enough for a sentence and as a plan has it.

    Args:
        given: Anything a TOML file can hold. [-]

    Returns:
        A few words. [-]

    Example:
        >>> shown(True), shown([1, 2]), shown("x" * 80)[-6:]
        ('true', 'a list', 'xx..."')
    """
    if isinstance(given, dict):
        return "a table"
    if isinstance(given, list | tuple):
        return "a list"
    if isinstance(given, bool):
        return str(given).lower()
    if isinstance(given, int) and given.bit_length() > 200:
        # Python refuses to print integers of thousands of digits.
        return "a number of more than sixty digits"
    words = given if isinstance(given, str) else str(given)
    words = "".join(c if c.isprintable() else ascii(c)[1:-1] for c in words)
    if len(words) > 60:
        words = f"{words[:57]}..."
    return f'"{words}"' if isinstance(given, str) else words


def nearest(given: object, words: Iterable[str]) -> tuple[str, list[str]]:
    """Return a question after the nearest word, and the words with it first.

    Args:
        given: What was given. [-]
        words: The closed list. [-]

    Returns:
        "Did you mean …?", what else mends it or nothing, and the list. [-]

    Example:
        >>> nearest("Rnage", ["dryer", "range"])
        ('Did you mean "range"?', ['range', 'dryer'])
    """
    known = list(words)
    if not isinstance(given, str):
        unquoted = str(given) in known
        return (f'Put it in quotes: "{given}".' if unquoted else ""), known
    if given.strip().isdigit():
        # No year is a misspelling of another.
        return "", known
    # Needed only when something is wrong, and costs as much as reading a plan.
    import difflib

    folded = {word.casefold(): word for word in reversed(known)}
    close = difflib.get_close_matches(
        given.strip().casefold()[:80], folded, n=3, cutoff=0.55
    )
    first = [folded[word] for word in close]
    others = [word for word in known if word not in first]
    return (f'Did you mean "{first[0]}"?' if first else ""), first + others


def _read_stated(given: object, reader: _Reader) -> Stated[Any]:
    if not isinstance(given, dict):
        value, note = reader(given)
        return Stated(value=value, text=_typed(given), note=note)
    unknown = sorted(set(given) - {"value", "how", "range"})
    if unknown:
        mend, _ = nearest(unknown[0], ("value", "how", "range"))
        raise _fault(
            f"unknown key {shown(unknown[0])} in a value table",
            'value, how and range, as in { value = "40 ft", how = "guessed" }',
            mend,
        )
    if "value" not in given:
        raise _fault(
            "a value table without value",
            'value, how and range, as in { value = "40 ft", how = "guessed" }',
        )
    value, note = reader(given["value"])
    how = How.UNSAID
    if "how" in given:
        stated_how = given["how"]
        if not isinstance(stated_how, str) or stated_how not in HOWS:
            mend, words = nearest(stated_how, HOWS)
            raise _fault(f"how = {shown(stated_how)}", ", ".join(words), mend)
        how = How(stated_how)
    low, high, others = _read_range(given.get("range"), value, reader)
    return Stated(
        value,
        how,
        low=low,
        high=high,
        others=others,
        text=_typed(given["value"]),
        note=note,
    )


def _typed(given: object) -> str:
    return str(given).lower() if isinstance(given, bool) else str(given)


def _read_range(
    given: object, value: object, reader: _Reader
) -> tuple[float | None, float | None, tuple[str, ...]]:
    if given is None:
        return None, None, ()
    if not isinstance(given, list) or len(given) < 2:
        raise _fault(
            f"range = {shown(given)}",
            'two values low and high, as in ["30 ft", "60 ft"], or the choices',
        )
    ends = [reader(end)[0] for end in given]
    typed = " to ".join(shown(end) for end in given[:3])
    if isinstance(value, str | bool):
        if value not in ends:
            raise _fault(
                f"range {typed} leaves out the value itself",
                "all choices, the value among them",
            )
        return None, None, tuple(_typed(end) for end in ends)
    if len(ends) != 2 or not ends[0] <= value <= ends[1]:
        raise _fault(
            f"range {typed} does not run from low to high around the value",
            'two values, as in ["30 ft", "60 ft"], the value between them',
        )
    return float(ends[0]), float(ends[1]), ()


@cache
def _reader_for(kind: Any) -> tuple[_Reader, dict[str, Any]]:
    origin = get_origin(kind)
    if kind is bool:
        return _read_yes_no, {"type": "boolean"}
    if origin is Literal:
        choices = get_args(kind)
        return _choice_reader(choices), {"enum": list(choices)}
    if origin is Annotated:
        spec = next(extra for extra in get_args(kind)[1:] if isinstance(extra, Spec))
        return _spec_reader(spec)
    if origin in (Union, UnionType):
        raise TypeError(f"a stated value has one kind, not {kind}")
    raise TypeError(f"no reader for {kind}")


def _read_yes_no(given: object) -> tuple[bool, str]:
    if not isinstance(given, bool):
        quoted = isinstance(given, str) and given.strip().lower() in ("true", "false")
        raise _fault(
            f"{shown(given)} is neither true nor false",
            "true or false, without quotes",
            "Leave out the quotes." if quoted else "",
        )
    return given, ""


def _choice_reader(choices: tuple[str, ...]) -> _Reader:
    def read(given: object) -> tuple[str, str]:
        if not isinstance(given, str) or given not in choices:
            mend, words = nearest(given, choices)
            raise _fault(
                f"{shown(given)} is not one of the words", ", ".join(words), mend
            )
        return given, ""

    return read


# Raw characters that can stand for a digit: ½ alone is a number of inches.
_SOME_NUMBER = "[0-9¼½¾⅛⅜⅝⅞]"
_SOME_CLOCK = r"^\s*([01]?[0-9]|2[0-3]):[0-5][0-9](:00)?\s*$"


def _spec_reader(spec: Spec) -> tuple[_Reader, dict[str, Any]]:
    if spec.quantity == "text":
        return _read_text, {"type": "string", "pattern": r"\S"}
    if spec.quantity == "note":
        return _read_note, {"type": "string"}
    if spec.quantity == "size":
        return (
            lambda given: (conductor_size(given, field=""), ""),
            {"type": "string", "examples": ["3 AWG", "1/0 AWG", "250 kcmil"]},
        )
    if isinstance(spec.quantity, Quantity):
        return _quantity_reader(spec, spec.quantity)
    whole = spec.quantity != "plain"
    bounds = {
        "minimum" if spec.zero else "exclusiveMinimum": spec.at_least,
        "maximum": spec.at_most,
    }
    return (
        lambda given: (_within(_number(given, spec), spec, shown(given)), ""),
        {"type": "integer" if whole else "number", **bounds},
    )


def _quantity_reader(spec: Spec, quantity: Quantity) -> tuple[_Reader, dict[str, Any]]:
    def read_quantity(given: object) -> tuple[float, str]:
        if isinstance(given, list | dict):
            raise _fault(f"{shown(given)}", accepted_form(quantity))
        parsed = read(given, quantity, field="")
        return _within(parsed.amount, spec, shown(given), parsed.unit), parsed.note

    clock = quantity is Quantity.TIME_OF_DAY
    return read_quantity, {
        "type": "string",
        "maxLength": 60,
        "pattern": _SOME_CLOCK if clock else _SOME_NUMBER,
        "description": accepted_form(quantity),
    }


def _within(number: float, spec: Spec, text: str, unit: str = "") -> float:
    if number < spec.at_least or (number == 0 and not spec.zero):
        least = "more than 0" if not spec.zero else f"at least {_bound(spec, unit, 0)}"
        raise _fault(f"{text} is too small", least)
    if number > spec.at_most:
        raise _fault(
            f"{text} is beyond anything a house has",
            f"at most {_bound(spec, unit, 1)}",
            "Is the unit right?" if unit else "",
        )
    return number


def _bound(spec: Spec, unit: str, end: int) -> str:
    """Return a bound in the unit that was typed, or the quantity's first."""
    bound = (spec.at_least, spec.at_most)[end]
    if not isinstance(spec.quantity, Quantity):
        return f"{bound:g}" if abs(bound) < 1e5 else f"{bound:.0f}"
    units = SORTS[spec.quantity].units
    try:
        return show_amount(bound, spec.quantity, unit, digits=0)
    except InputError:  # a compound such as 12 ft 6 in names two units
        return show_amount(bound, spec.quantity, units[0].name, digits=0)


_NUMBER_WORDS = {
    "count": ("a whole number", "2"),
    "plain": ("a plain number", "1.5"),
    "year": ("a year", "1986"),
    "position": ("the number of a space", "7"),
}


def _number(given: object, spec: Spec) -> float:
    what, example = _NUMBER_WORDS[spec.quantity]
    accepted = f"{what}, as in {example}"
    if isinstance(given, str):
        raise _fault(f"{shown(given)} is text", accepted, "Leave out quotes and unit.")
    if isinstance(given, bool) or not isinstance(given, int | float):
        raise _fault(f"{shown(given)} is not a number", accepted)
    if isinstance(given, int):
        # A whole number may be too long to become a float at all.
        inside = min(max(given, -(10**18)), 10**18)
        return inside if spec.quantity != "plain" else float(inside)
    if given != given or given in (float("inf"), float("-inf")):
        raise _fault(f"{shown(given)} is not a number", accepted)
    if spec.quantity == "plain":
        return given
    if given != int(given):
        raise _fault(f"{shown(given)} is not a whole number", accepted)
    return int(given)


def _read_note(given: object) -> tuple[str, str]:
    """Return text that may be empty; what would steer a terminal is refused."""
    if not isinstance(given, str):
        raise _fault(f"{shown(given)} is not text", "text in quotes")
    if not all(c.isprintable() or c in "\n\t" for c in given):
        raise _fault(
            f"{shown(given)} holds a character that cannot be printed",
            "text in quotes of letters, digits and marks",
        )
    return given.strip(), ""


def _read_text(given: object) -> tuple[str, str]:
    text, note = _read_note(given)
    if not text:
        raise _fault("an empty text", "text in quotes", "Leave an unknown field out.")
    return text, note


def _fault(given: str, accepted: str, mend: str = "") -> InputError:
    return InputError(Fault(field="", given=given, accepted=accepted, mend=mend))
