"""The page of the circuits that may be built, on the demo's plan."""

from __future__ import annotations

import re

import pytest
from fastapi.testclient import TestClient
from tests.web.pages.page_reading import DEMO, ROOT, client_of, text_of

from lugbook import actions


@pytest.fixture(scope="module")
def demo() -> TestClient:
    return client_of(DEMO)


def test_the_page_shows_what_the_action_found(demo):
    answer = demo.get("/options")
    found = actions.options(DEMO)
    text = text_of(answer.text)
    assert answer.status_code == 200
    assert f"{found.candidates:,}" in text
    assert f"{found.lawful:,}" in text
    assert text.count(" device, ") >= len(found.shown)
    assert "refused by: the device protects the wire" in text
    assert "Prices are invented" in text
    for route in found.routes:
        assert route.says in text
    assert answer.headers["cache-control"] == "no-store"
    assert "style=" not in answer.text


def test_each_row_leads_to_its_parts(demo):
    numbers = re.findall(r"/options\?parts=(\d+)#parts", demo.get("/options").text)
    assert len(numbers) == len(actions.options(DEMO).shown)
    text = text_of(demo.get(f"/options?parts={numbers[-1]}").text)
    assert f"Parts of circuit {numbers[-1]}" in text
    assert text.index("prove dead") < text.index("Pull ")
    assert "the plan meets every rule checked" in text


@pytest.mark.parametrize("asked", ["parts=0", "parts=x", "parts=99999", "parts=-1"])
def test_a_number_that_is_none_is_refused(demo, asked):
    assert demo.get(f"/options?{asked}").status_code == 400


def test_an_edition_that_is_not_held_is_refused(demo):
    assert demo.get("/options?edition=1999").status_code == 422


def test_without_a_run_it_says_what_to_state():
    answer = client_of(ROOT / "examples" / "smallest" / "plan.toml").get("/options")
    assert answer.status_code == 200
    assert "a tape measure along the way" in text_of(answer.text).lower()


def test_a_faulty_plan_lists_its_faults(tmp_path):
    plan = tmp_path / "plan.toml"
    plan.write_text("schema = 1\nunknown = 2\n", encoding="utf-8")
    answer = client_of(plan).get("/options")
    assert answer.status_code == 422
    assert "unknown" in answer.text


def test_the_answer_leads_to_it(demo):
    assert 'href="/options"' in demo.get("/").text
