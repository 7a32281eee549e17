"""Runs the published cases of this folder's modules, one test for each."""

from __future__ import annotations

import tomllib
from importlib import import_module
from pathlib import Path

import pytest

CASES = Path(__file__).parents[1] / "validation" / "cases"
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


def load_cases() -> list[dict]:
    cases = []
    for stem in ("conductor-heating", "conductor-transient", "contact"):
        with (CASES / f"{stem}.toml").open("rb") as file:
            cases += tomllib.load(file)["case"]
    return cases


@pytest.mark.parametrize("case", load_cases(), ids=lambda case: case["id"])
def test_published_value_is_reproduced(case: dict) -> None:
    assert set(case) - {"result"} == KEYS
    module, name = case["call"].rsplit(".", 1)
    found = getattr(import_module(module), name)(**case["inputs"])
    if "result" in case:
        found = getattr(found, case["result"])
    assert found == pytest.approx(case["expected"], abs=case["tolerance"], rel=0)


@pytest.mark.parametrize("case", load_cases(), ids=lambda case: case["id"])
def test_case_names_a_known_source(case: dict) -> None:
    assert case["source"] in tomllib.loads(SOURCES.read_text("utf-8"))
