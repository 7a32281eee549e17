"""Runs the published examples of the circuit in every edition, one test for each."""

from __future__ import annotations

import tomllib
from importlib import import_module
from pathlib import Path

import pytest

from lugbook.codebook.edition import editions, open_edition

CASES = Path(__file__).parents[1] / "validation" / "cases" / "circuit.toml"
SOURCES = Path(__file__).parents[2] / "src" / "lugbook" / "sources.toml"
KEYS = {
    "id",
    "call",
    "source",
    "locator",
    "status",
    "inputs",
    "expected",
    "tolerance",
    "tolerance_reason",
}
OPTIONAL = {"corrected_ampacity": {"cap_c": None}}


def load_cases() -> list[dict]:
    return tomllib.loads(CASES.read_text("utf-8"))["case"]


@pytest.mark.parametrize("year", editions())
@pytest.mark.parametrize("case", load_cases(), ids=lambda case: case["id"])
def test_published_example_is_reproduced(case: dict, year: str) -> None:
    assert set(case) == KEYS
    module, name = case["call"].rsplit(".", 1)
    inputs = {**OPTIONAL.get(name, {}), **case["inputs"]}
    found = getattr(import_module(module), name)(edition=open_edition(year), **inputs)
    assert found.amount == pytest.approx(case["expected"], abs=case["tolerance"], rel=0)


@pytest.mark.parametrize("case", load_cases(), ids=lambda case: case["id"])
def test_example_names_a_known_source_and_a_reason(case: dict) -> None:
    assert case["source"] in tomllib.loads(SOURCES.read_text("utf-8"))
    assert case["tolerance_reason"]
