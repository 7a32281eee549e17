"""The page of what would change the answer."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from fastapi.testclient import TestClient

from lugbook import actions
from lugbook.web.app import make_app

ROOT = Path(__file__).resolve().parents[3]
DEMO = ROOT / "examples" / "potters_house" / "plan.toml"
UNREAD = ("bus_rating", "meter_base_rating", "interrupting_rating")


@pytest.fixture(scope="module")
def unread(tmp_path_factory) -> Path:
    """Return the demo's plan with five lines nobody has read yet, and a plan."""
    text = DEMO.read_text("utf-8").replace("meter_files", "# meter_files")
    for field in UNREAD:
        text = re.sub(rf"^{field} = .*$", "", text, count=1, flags=re.MULTILINE)
    text += '\n[[loads]]\nid = "heat_pump"\nkind = "heat pump"\nstate = "planned"\n'
    text += 'year = 2027\nnameplate = "6000 VA"\nfed_from = "main_panel"\n'
    path = tmp_path_factory.mktemp("unread") / "plan.toml"
    path.write_text(text, encoding="utf-8")
    return path


def get(path: Path, address: str):
    client = TestClient(make_app(path), base_url="http://127.0.0.1:8710")
    return client.get(address)


def test_every_doubt_that_moves_the_answer_says_where_to_look(unread):
    answer = get(unread, "/what-if?setting=32")
    found, planned = actions.what_would_change(unread, setting_a=32.0)
    moving = [each for each in found.influences if each.effect != "none"]
    assert answer.status_code == 200
    assert moving
    assert answer.text.count("<b>Look:</b>") == len(moving)
    assert found.sentence.split(":")[0] in answer.text
    assert planned
    assert "heat_pump (2027)" in answer.text.replace("\N{NO-BREAK SPACE}", " ")
    assert "style=" not in answer.text


def test_what_was_read_leaves_the_list(unread, tmp_path):
    text = unread.read_text("utf-8")
    read = text.replace("[service]\n", '[service]\nmeter_base_rating = "200 A"\n', 1)
    path = tmp_path / "plan.toml"
    path.write_text(read, encoding="utf-8")
    before, after = get(unread, "/what-if").text, get(path, "/what-if").text
    assert "service.meter_base_rating" in before.replace("<wbr>", "")
    assert "service.meter_base_rating" not in after.replace("<wbr>", "")


@pytest.mark.parametrize("asked", ["setting=7", "edition=1999"])
def test_what_cannot_be_asked_is_refused_in_a_sentence(asked):
    answer = get(DEMO, f"/what-if?{asked}")
    assert answer.status_code == 400
    assert "one of" in answer.text


def test_a_faulty_plan_lists_its_faults(tmp_path):
    path = tmp_path / "plan.toml"
    path.write_text("schema = 1\ncolour = 3\n", encoding="utf-8")
    for page in ("/what-if", "/compare", "/installation"):
        assert get(path, page).status_code == 422


def test_a_failure_after_the_head_is_out_is_said_on_the_page(monkeypatch, caplog):
    def fails(*_given: object, **_named: object) -> None:
        raise RuntimeError("inside matter")

    monkeypatch.setattr(actions, "what_would_change", fails)
    answer = get(DEMO, "/what-if")
    assert answer.status_code == 200
    assert "This could not be found out" in answer.text
    assert "inside matter" not in answer.text
    assert answer.text.rstrip().endswith("</html>")
    assert "could not be found out" in caplog.text


def test_the_page_comes_whole_in_two_steps():
    answer = get(DEMO, "/what-if")
    page = answer.text
    assert page.count("<h1") == page.count("</html>") == 1
    assert page.index("This takes a few seconds") < page.index("In short")
    assert "content-length" not in answer.headers
    assert answer.headers["cache-control"] == "no-store"


def test_the_first_page_leads_to_it_with_what_was_asked():
    page = get(DEMO, "/?setting=32&edition=2020").text
    assert 'href="/what-if?setting=32&amp;edition=2020"' in page
    assert 'href="/what-if"' in get(DEMO, "/").text
