import json
import re
from dataclasses import replace
from datetime import date
from pathlib import Path

import jsonschema
import pytest

from lugbook import actions
from lugbook.report.as_json import as_json, json_text

REFERENCE = Path(__file__).parents[2] / "docs" / "reference"
SCHEMA = json.loads((REFERENCE / "assessment.schema.json").read_text(encoding="utf-8"))


def keys_of(schema, path=""):
    """Yield every key of a schema as the reference page writes it."""
    for key, entry in schema.get("properties", {}).items():
        is_list = entry.get("type") == "array"
        name = f"{path}{key}{'[]' if is_list else ''}"
        yield name
        yield from keys_of(entry["items"] if is_list else entry, f"{name}.")


def documented_keys():
    page = (REFERENCE / "json.md").read_text(encoding="utf-8")
    return set(re.findall(r"^\| `([^`]+)` \|", page, flags=re.MULTILINE))


def test_the_output_has_exactly_the_shape_of_its_schema(assessment):
    jsonschema.validate(json.loads(json_text(assessment)), SCHEMA)


def test_every_key_of_the_schema_is_required():
    def objects(schema):
        if isinstance(schema, dict):
            if "properties" in schema:
                yield schema
            for entry in schema.values():
                yield from objects(entry)

    for entry in objects(SCHEMA):
        assert sorted(entry["required"]) == sorted(entry["properties"])
        assert entry["additionalProperties"] is False


def test_the_reference_page_describes_every_key_and_no_other():
    keys = {
        *keys_of(SCHEMA),
        *keys_of(SCHEMA["$defs"]["working"], "working."),
        *keys_of(SCHEMA["$defs"]["citation"], "citation."),
    }
    assert documented_keys() == keys


def test_numbers_are_given_unrounded(assessment):
    finding = as_json(assessment)["findings"][2]
    # 49,000 VA at 240 V
    assert finding["found"] == pytest.approx(49000 / 240, rel=1e-15)


@pytest.mark.parametrize("senseless", [float("nan"), float("inf")])
def test_a_number_that_is_not_finite_never_leaves_the_house(assessment, senseless):
    headline = replace(assessment.headline, setting_a=senseless)
    with pytest.raises(ValueError, match="Out of range float values"):
        json_text(replace(assessment, headline=headline))


def test_a_stated_source_and_a_book_have_the_same_keys(assessment):
    lines = as_json(assessment)["capacity"][0]["working"]["lines"]
    stated, book = lines[0]["source"], lines[1]["source"]
    assert stated.keys() == book.keys()
    assert stated["text"] == "plan, loads.range.nameplate, read"
    assert stated["status"] is None
    assert (book["locator"], book["status"]) == ("220.82(B)", "confirmed")


def test_a_finding_tells_the_weakest_status_it_rests_on(assessment):
    # Its working cites one value from memory beside confirmed ones.
    assert as_json(assessment)["findings"][2]["status"] == "from memory"


def test_ascii_output_says_the_same(assessment):
    plain = json_text(assessment, ascii_only=True)
    assert plain.isascii()
    assert json.loads(plain) == json.loads(json_text(assessment))


@pytest.mark.parametrize("plan", ["potters_house", "smallest"])
def test_the_torque_sheet_of_an_example_has_the_shape_of_its_schema(plan):
    path = Path(__file__).parents[2] / "examples" / plan / "plan.toml"
    found = json.loads(json_text(actions.check(path, on=date(2026, 11, 25))))
    jsonschema.validate(found, SCHEMA)
    numbers = [terminal["number"] for terminal in found["torque"]["terminals"]]
    assert numbers[0] == "T1"
    assert all(each["finding"]["question"] for each in found["torque"]["terminals"])
