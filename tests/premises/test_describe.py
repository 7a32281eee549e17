"""Every field of the plan is explained, and its example is one the reader takes."""

import json
import tomllib
from pathlib import Path

import jsonschema
import pytest
from pydantic import ValidationError

from lugbook.premises.describe import field_texts, kind_of, tables
from lugbook.premises.plan import Plan, json_schema
from lugbook.premises.sentences import models_in

REPO = Path(__file__).parents[2]
PLANS = sorted(REPO.glob("examples/*/plan.toml"))
FIELDS = sorted(
    {(model, field) for _, model, _ in tables(Plan) for field in model.model_fields},
    key=lambda pair: (pair[0].__name__, pair[1]),
)


@pytest.fixture(scope="module")
def validator():
    schema = json_schema()
    jsonschema.Draft202012Validator.check_schema(schema)
    return jsonschema.Draft202012Validator(
        schema, format_checker=jsonschema.FormatChecker()
    )


def as_json(text: str):
    return json.loads(json.dumps(tomllib.loads(text), default=lambda day: f"{day}"))


@pytest.mark.parametrize(
    ("model", "field"), FIELDS, ids=[f"{m.__name__}.{f}" for m, f in FIELDS]
)
def test_a_field_is_explained_and_its_example_is_accepted(model, field):
    text = field_texts(model)[field]
    assert len(text.meaning) > 8
    assert text.meaning.endswith((".", "?"))
    annotation = model.model_fields[field].annotation
    assert kind_of(annotation).words
    if next(models_in(annotation), None):
        assert text.example == ""
        return
    example = tomllib.loads(f"field = {text.example}")["field"]
    # Fields that the table cannot do without are missing, and nothing else is wrong.
    needed = {name for name, info in model.model_fields.items() if info.is_required()}
    refused = refused_fields(model, {field: example})
    assert refused == needed - {field}


def refused_fields(model, tree):
    try:
        model.model_validate(tree)
    except ValidationError as error:
        return {entry["loc"][0] for entry in error.errors()}
    return set()


@pytest.mark.parametrize("path", PLANS, ids=[path.parent.name for path in PLANS])
def test_the_schema_accepts_every_shipped_plan(validator, path):
    validator.validate(as_json(path.read_text(encoding="utf-8")))


@pytest.mark.parametrize(
    "line",
    [
        "nameplate = 48",
        'nameplate = "A"',
        "nameplate = true",
        'namplate = "48 A"',
        'connection = "hardwired"',
        "setting_steps = 16",
        'setting = { valu = "16 A" }',
        'setting = { value = "16 A", how = "seen" }',
        "listed = 1",
        "unplugged_per_year = -1",
        'unplugged_per_year = "3"',
        'enclosure_type = " "',
        'id = "Capital"',
    ],
)
def test_the_schema_refuses_what_the_reader_refuses(validator, line):
    key = "" if line.startswith("id") else 'id = "c"\n'
    tree = as_json(f"schema = 1\n[charger]\n{key}{line}\n")
    assert list(validator.iter_errors(tree))


@pytest.mark.parametrize("text", ["", "schema = 2", "schema = 1\nx = 1"])
def test_the_schema_asks_for_its_own_number_and_known_tables(validator, text):
    assert list(validator.iter_errors(as_json(text)))


def test_every_field_in_the_schema_has_its_words():
    schema = json_schema()
    named = {model.__name__ for _, model, _ in tables(Plan)} & set(schema["$defs"])
    fields = [
        entry
        for name in named
        for entry in schema["$defs"][name]["properties"].values()
    ]
    assert len(fields) > 300
    assert all(entry["description"] for entry in fields)
