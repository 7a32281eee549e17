"""Runs the published cases of the circuit laws, one test for each."""

import tomllib
from importlib import import_module
from pathlib import Path

import pytest

CASES = Path(__file__).parents[1] / "validation" / "cases" / "network.toml"


def load_cases() -> list[dict]:
    return tomllib.loads(CASES.read_text("utf-8"))["case"]


@pytest.mark.parametrize("case", load_cases(), ids=lambda case: case["id"])
def test_published_circuit_figure_is_reproduced(case: dict) -> None:
    module, name = case["call"].rsplit(".", 1)
    found = getattr(import_module(module), name)(**case["inputs"])
    assert found == pytest.approx(case["expected"], abs=case["tolerance"], rel=0)
