"""The plan file: read strictly with every fault at once.

The tables themselves are in the other modules of this folder; writing back with
comments kept is in `lugbook.premises.edit`.
"""

import re
import tomllib
from collections.abc import Iterator
from copy import deepcopy
from pathlib import Path
from typing import Any, Literal

from pydantic import Field, ValidationError

from lugbook.errors import Fault, InputError
from lugbook.premises.base import Part
from lugbook.premises.circuit import Circuit
from lugbook.premises.crosscheck import cross_faults
from lugbook.premises.driving import Car, Tariff
from lugbook.premises.dwelling import DetachedBuilding, Dwelling, Rules, Work
from lugbook.premises.equipment import (
    LoadManagement,
    OtherSource,
    StandbySource,
    SupplyEquipment,
)
from lugbook.premises.evidence import (
    ClampReading,
    DemandRecord,
    MeterFiles,
    VoltageReading,
    Wrench,
)
from lugbook.premises.fields import Note
from lugbook.premises.lines import line_of
from lugbook.premises.load import Load
from lugbook.premises.panel import Panel
from lugbook.premises.service import Service
from lugbook.premises.stated import shown

__all__ = [
    "LARGEST_PLAN_BYTES",
    "MOST_FAULTS_TOLD",
    "Plan",
    "json_schema",
    "parse_plan",
    "read_plan",
]

LARGEST_PLAN_BYTES = 1_000_000  # a plan is typed by hand; 10 kB is a long one
MOST_FAULTS_TOLD = 100  # past this nobody reads on; how many more there are is told
_FIRST_LINE = "schema = 1 as the first line of the plan"


class Plan(Part):
    """A house and a wish, as stated."""

    schema_version: Literal[1]
    """Form of the file, written `schema = 1` on the first line. Example: `1`"""
    name: Note = ""
    """What you call this house. Example: `"The potter's house (invented)"`"""
    note: Note = ""
    """Anything a reader should know; it enters no calculation. Example: `"draft"`"""
    rules: Rules = Field(default_factory=Rules)
    """The rules adopted where the house stands."""
    work: Work = Field(default_factory=Work)
    """The job itself: its reach, what was seen before it, what is at hand."""
    dwelling: Dwelling = Field(default_factory=Dwelling)
    """The house itself."""
    service: Service | None = None
    """Where the supply comes in."""
    panels: tuple[Panel, ...] = ()
    """Every panelboard, the one with the main first."""
    loads: tuple[Load, ...] = ()
    """Every load that is fixed or large, other chargers among them."""
    sources: tuple[OtherSource, ...] = ()
    """Solar, battery or other sources that work beside the service."""
    standby: tuple[StandbySource, ...] = ()
    """Sources that carry the house when the utility is gone."""
    charger: SupplyEquipment | None = None
    """The charger this plan is about."""
    load_management: LoadManagement | None = None
    """A system that limits or shares current."""
    circuit: Circuit | None = None
    """The charger's circuit, as proposed or as it stands."""
    feeders: tuple[Circuit, ...] = ()
    """Feeders to other panels."""
    other_circuits: tuple[Circuit, ...] = ()
    """Circuits of other chargers, where current is shared."""
    detached_building: DetachedBuilding | None = None
    """A building apart from the house, if the charger goes there."""
    clamp_readings: tuple[ClampReading, ...] = ()
    """Currents read at the service; each is only a lower bound of what may come."""
    voltage_readings: tuple[VoltageReading, ...] = ()
    """Voltages read with a load off and on."""
    demand_record: DemandRecord | None = None
    """A year's or a month's demand as somebody stated it."""
    meter_files: MeterFiles = ()
    """Interval data from the utility or a recorder. Each is a path beside the plan, as
    in `meter_files = ["meter.xml"]`, or a table of the path and what only you can say
    of the file. Records of one meter are read together."""
    cars: tuple[Car, ...] = ()
    """The cars and their days."""
    price_file: Note = ""
    """Path of a price list of your own, beside the plan, for `lugbook options`; the one
    shipped is invented. Example: `"prices.toml"`"""
    tariff: Tariff | None = None
    """What energy costs."""
    wrenches: tuple[Wrench, ...] = ()
    """Torque tools at hand."""


# Made now, with the import, so that the first plan is read as fast as the next.
Plan.model_rebuild(force=True)


def read_plan(path: Path) -> Plan:
    """The plan in a file.

    Args:
        path: The file. [-]

    Returns:
        The plan. [-]

    Raises:
        InputError: The file cannot be read, or holds faults; all of them are given.
    """
    return parse_plan(_text_of(path), name=path.name)


def parse_plan(text: str, *, name: str = "plan.toml") -> Plan:
    """The plan in a TOML text.

    Args:
        text: The text. [-]
        name: Name of the file, for the sentences. [-]

    Returns:
        The plan. [-]

    Raises:
        InputError: The text holds faults; all of them are given, each with its line.

    Example:
        >>> parse_plan('schema = 1').loads
        ()
    """
    tree = _tree(text, name)
    faults = list(_schema_faults(tree, text))
    stated = tree.pop("schema", None)
    if faults and type(stated) is int and stated > 1:
        raise InputError(*faults)  # a newer form: its other keys are not ours to judge
    plan: Plan | None
    try:
        plan = Plan.model_validate({**tree, "schema_version": 1})
    except ValidationError as error:
        faults += _faults(error, tree, text)
        plan = _without(tree, error)
    if plan is not None:
        faults += cross_faults(plan, text)
    if faults or plan is None:
        raise InputError(*faults)
    return plan


def _tree(text: str, name: str) -> dict[str, Any]:
    if not text.strip():
        raise InputError(Fault(name, "an empty file", _FIRST_LINE))
    if "\0" in text:
        raise InputError(
            Fault(
                name,
                "text with null characters, likely UTF-16",
                "a text file saved as UTF-8",
                "Save it again with UTF-8 as the encoding.",
            )
        )
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise InputError(_syntax_fault(error, text, name)) from error
    except RecursionError as error:
        raise InputError(
            Fault(
                name,
                "lists or tables nested hundreds deep",
                "a plan file as documented, nested at most four deep",
            )
        ) from error
    except ValueError as error:  # Python reads no integer of thousands of digits
        raise InputError(
            Fault(
                name,
                "a number of thousands of digits",
                "numbers as a label or a bill prints them",
            )
        ) from error


def _schema_faults(tree: dict[str, Any], text: str) -> Iterator[Fault]:
    if "schema" not in tree:
        yield Fault("schema", "missing", _FIRST_LINE)
        return
    stated = tree["schema"]
    if type(stated) is not int or stated != 1:
        newer = type(stated) is int and stated > 1
        yield Fault(
            "schema",
            shown(stated),
            "1, the one this version reads",
            "A newer Lugbook wrote this plan: read it with that one." if newer else "",
            line_of(text, ("schema",)),
        )


def _without(tree: dict[str, Any], error: ValidationError) -> Plan | None:
    """Return the plan without its faulty fields, to find faults between the others.

    A field left out is unknown, so what is left can be looked at; where a table
    cannot do without the field there is nothing to look at.
    """
    left = deepcopy(tree)
    for entry in error.errors(include_url=False, include_context=False):
        path: list[Any] = list(entry["loc"])
        while path and isinstance(path[-1], int):
            path.pop()
        part: Any = left
        for step in path[:-1]:
            part = part.get(step, {}) if isinstance(part, dict) else part[step]
        if not isinstance(part, dict):
            return None
        part.pop(str(path[-1]), None)
    try:
        return Plan.model_validate({**left, "schema_version": 1})
    except ValidationError:
        return None


def json_schema() -> dict[str, Any]:
    """JSON Schema of the plan file, for editors.

    Returns:
        The schema, draft 2020-12. [-]
    """
    from lugbook.premises.describe import described_schema

    return described_schema(Plan)


def _text_of(path: Path) -> str:
    name = str(path)
    try:
        if path.is_dir():
            raise InputError(Fault(name, "a folder", "the plan file itself"))
        if not path.exists():
            raise InputError(
                Fault(
                    name,
                    "no such file",
                    "the path of a plan file",
                    "Check its name and folder; `lugbook new` makes a first one.",
                )
            )
        if not path.is_file():
            raise InputError(Fault(name, "no ordinary file", "a plan file"))
        with path.open("rb") as file:
            # One byte more than is accepted says enough about a file of any size.
            raw = file.read(LARGEST_PLAN_BYTES + 1)
            size = path.stat().st_size
    except (OSError, ValueError) as error:
        because = getattr(error, "strerror", None) or "no path a file can have"
        raise InputError(
            Fault(
                name,
                f"cannot be opened ({because[:1].lower()}{because[1:]})",
                "a file you may read",
                "Check that you may open it.",
            )
        ) from error
    if len(raw) > LARGEST_PLAN_BYTES:
        raise InputError(
            Fault(
                name,
                f"{size / 1e6:.1f} MB",
                f"a plan file of at most {LARGEST_PLAN_BYTES / 1e6:.0f} MB",
                "Meter files are named in the plan, not pasted into it.",
            )
        )
    return _decoded(raw, name)


def _decoded(raw: bytes, name: str) -> str:
    utf_16 = raw.startswith((b"\xff\xfe", b"\xfe\xff"))
    try:
        if not utf_16:
            return raw.decode("utf-8-sig")
        given, line = "text saved as UTF-16", None
    except UnicodeDecodeError as error:
        line = raw.count(b"\n", 0, error.start) + 1
        given = f"not UTF-8 text (byte {raw[error.start]:#04x} is not part of it)"
    raise InputError(
        Fault(
            name,
            given,
            "a text file saved as UTF-8",
            "Save it again with UTF-8 as the encoding.",
            line,
        )
    )


# What Python's reader says about broken TOML, in a plan's own words; first fit counts.
_SYNTAX = (
    ("Cannot overwrite a value", "a key that already stands above in this table"),
    ("Duplicate inline table key", "a key given twice in one { }"),
    ("Cannot declare", "a table header that already stands above"),
    ("Cannot mutate immutable", "an addition to a table already closed in { } or [ ]"),
    ("Cannot redefine namespace", "a table that already stands above"),
    ("Unterminated string", "text without its closing quotes"),
    ("Expected '\"'", "text without its closing quotes"),
    (r"Illegal character '\n'", "text without its closing quotes"),
    (r"Illegal character '\r'", "text without its closing quotes"),
    ("Illegal character", "a character that text in quotes may not hold"),
    ("Unescaped", 'a backslash in "..."; write it twice, or use single quotes'),
    ("Found invalid character", "a character that may not stand here"),
    ("Expected '=' after a key", "a key without = after it"),
    ("Expected newline", "something more after what a line may hold"),
    ("Expected ']", "a table header without its closing bracket"),
    ("Unclosed array", "a list without its closing ]"),
    ("Unclosed inline table", "a { without its closing }"),
    ("Invalid initial character for a key", "a line that does not begin with a key"),
    ("Invalid statement", "a line that is neither a key nor a table header"),
    ("Invalid date", "a day or time that does not exist"),
    ("Invalid hex", "a character number that cannot be read"),
    ("Escaped character", "a character number that stands for no character"),
    ("Invalid value", "something after = that is neither text in quotes nor a number"),
)
_TOML_FORM = 'lines such as rating = "200 A" under headers such as [service.main]'


def _syntax_fault(error: tomllib.TOMLDecodeError, text: str, name: str) -> Fault:
    words, _, where = str(error).partition(" (at ")
    given = next((ours for theirs, ours in _SYNTAX if words.startswith(theirs)), "")
    line = text.count("\n") + 1
    if where.startswith("line "):
        line = int(where.removeprefix("line ").split(",")[0])
    written = text.split("\n")[line - 1]
    mend = _syntax_mend(words, written)
    return Fault(name, given or "not TOML", _TOML_FORM, mend, line)


_DAY_AS_SPOKEN = re.compile(r"=\s*(\d{1,2}[/.]\d{1,2}[/.]\d|\d{4}[-/.]\d{1,2}[-/.]\d)")
_YES_OR_NO = re.compile(r"=\s*(true|false|yes|no)\b", re.IGNORECASE)


def _syntax_mend(words: str, written: str) -> str:
    """Return how to mend a line, as far as it shows what was meant."""
    unread = words.startswith(("Invalid value", "Expected newline"))
    if "\u201c" in written or "\u201d" in written:
        return 'Its quotes are curly: type them straight, as in "48 A".'
    if words.startswith("Cannot declare"):
        return (
            "Keep its keys under one header, or, where there may be several, "
            "write double brackets: [[loads]]."
        )
    if words.startswith("Unclosed array"):
        return "Put a comma between its entries, and ] after the last."
    if unread and _DAY_AS_SPOKEN.search(written):
        return "Write a day as year-month-day, without quotes: 2026-01-14."
    if unread and _YES_OR_NO.search(written):
        return "Write true or false, in small letters and without quotes."
    return 'Put text and values with units in quotes: "48 A".' if unread else ""


def _faults(error: ValidationError, tree: dict[str, Any], text: str) -> Iterator[Fault]:
    from lugbook.premises.sentences import sentence

    entries = error.errors(include_url=False)
    for entry in entries[:MOST_FAULTS_TOLD]:
        yield sentence(Plan, entry, tree, text)
    more = len(entries) - MOST_FAULTS_TOLD
    if more > 0:
        yield Fault(
            "the plan",
            f"{more} more fault{'s' if more > 1 else ''} of this kind",
            "a plan file as documented",
            "Mend those above first.",
        )
