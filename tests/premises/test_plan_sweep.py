"""Every field of the demo in turn given something odd: a sentence, or a sound plan."""

import re
import tomllib
from pathlib import Path

import pytest

from lugbook.errors import InputError
from lugbook.premises.lines import line_of
from lugbook.premises.plan import parse_plan

DEMO = Path(__file__).parents[2] / "examples/potters_house/plan.toml"
TEXT = DEMO.read_text(encoding="utf-8")
LEAKS = re.compile(
    r"input should|pydantic|inside unit|<class|\bNone\b|datetime|schema_version"
)


def leaves(part, path=()):
    if isinstance(part, dict) and not (path and "value" in part):
        for key, inner in part.items():
            yield from leaves(inner, (*path, key))
    elif isinstance(part, list) and part and isinstance(part[0], dict):
        for index, inner in enumerate(part):
            yield from leaves(inner, (*path, index))
    else:
        yield path


# Every fourth: each kind of field comes up, and the sweep stays short.
PATHS = list(leaves(tomllib.loads(TEXT)))[::4]


def outcome(path, typed: str):
    """The faults of the demo with one field given as typed; none when it is read."""
    lines = TEXT.splitlines()
    lines[line_of(TEXT, path) - 1] = f"{path[-1]} = {typed}"
    try:
        parse_plan("\n".join(lines))
    except InputError as error:
        return error.faults
    return ()


@pytest.mark.parametrize(
    "typed", ["nan", "-inf", "{}", "[[]]", '{ value = "\\u0000" }']
)
def test_no_field_takes_what_is_senseless_everywhere(typed):
    for path in PATHS:
        faults = outcome(path, typed)
        assert faults, path
        assert not any(LEAKS.search(str(fault)) for fault in faults), path
        line = line_of(TEXT, path)
        assert any(fault.line == line for fault in faults), path


@pytest.mark.parametrize(
    "typed",
    ["true", "-1", "9" * 300, '"x"', "[]", "1979-05-27", "07:32:00", '"\\u2028"'],
)
def test_what_a_field_refuses_is_told_in_our_words(typed):
    refused = 0
    for path in PATHS:
        faults = outcome(path, typed)
        refused += bool(faults)
        assert not any(LEAKS.search(str(fault)) for fault in faults), path
        assert all(len(str(fault).splitlines()) == 1 for fault in faults), path
    assert refused > len(PATHS) / 3
