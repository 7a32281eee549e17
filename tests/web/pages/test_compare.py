"""The page of two answers side by side."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest
from fastapi.testclient import TestClient

from lugbook.actions import Side, compare
from lugbook.report.compare_text import comparison_text
from lugbook.report.paper import Paper
from lugbook.web.app import make_app

ROOT = Path(__file__).resolve().parents[3]
DEMO = ROOT / "examples" / "potters_house" / "plan.toml"


@pytest.fixture(scope="module")
def folder(tmp_path_factory) -> Path:
    """Return a folder with two plans, one file that is none, and one beside it."""
    house = tmp_path_factory.mktemp("plans") / "house"
    house.mkdir()
    text = DEMO.read_text("utf-8").replace("meter_files", "# meter_files")
    (house / "plan.toml").write_text(text, encoding="utf-8")
    other = text.replace('size = "3 AWG"', 'size = "2 AWG"')
    (house / "two.toml").write_text(other, encoding="utf-8")
    (house / "prices.toml").write_text("pipe = 3\n", encoding="utf-8")
    shutil.copy(house / "two.toml", house.parent / "outside.toml")
    (house / "link.toml").symlink_to(house.parent / "outside.toml")
    return house


def get(folder: Path, asked: str):
    client = TestClient(
        make_app(folder / "plan.toml"), base_url="http://127.0.0.1:8710"
    )
    return client.get(f"/compare?{asked}")


def test_nothing_asked_shows_the_two_forms_alone(folder):
    page = get(folder, "").text
    assert "Choose what differs" in page
    assert "Answers that differ" not in page


def test_two_settings_differ_in_what_the_wire_carries(folder):
    page = get(folder, "setting_b=32").text.replace("\N{NO-BREAK SPACE}", " ")
    assert "At 80 A" in page
    assert "At 32 A" in page
    assert "Answers that differ" in page


def test_another_plan_beside_it_may_be_chosen(folder):
    answer = get(folder, "plan_b=two.toml")
    page = answer.text.replace("<wbr>", "")
    assert answer.status_code == 200
    assert "circuit.conductor.size" in page
    assert "circuit.conductor" in page.partition("Answers that differ")[2]


@pytest.mark.parametrize(
    "name",
    ["../outside.toml", "link.toml", "prices.toml", "/etc/hostname", "no.toml"],
)
def test_no_other_file_is_ever_read(folder, name):
    answer = get(folder, f"plan_b={name}")
    assert answer.status_code == 400
    assert "two.toml" in answer.text.replace("<wbr>", "")


@pytest.mark.parametrize("asked", ["setting_a=9", "edition_b=1999", "setting_b=x"])
def test_what_cannot_be_asked_is_refused_in_a_sentence(folder, asked):
    assert get(folder, asked).status_code == 400


def test_a_file_that_is_no_plan_is_counted_and_not_offered(folder):
    page = get(folder, "").text.replace("<wbr>", "")
    assert '<option value="two.toml">' in page
    assert "prices.toml" not in page
    assert "1 other .toml file in this folder" in page


def test_the_same_words_stand_in_terminal_and_page(folder):
    page = get(folder, "setting_b=32&edition_b=2026").text
    page = page.replace("\N{NO-BREAK SPACE}", " ")
    first, second = Side(DEMO), Side(DEMO, "2026", 32.0)
    found = compare(first, second)
    text = " ".join(comparison_text(found, Paper(width=100)).split())
    for words in ("NFPA 70-2026", "outside, 125 %", "not required"):
        assert words in page
        assert words in text


def test_both_sides_alike_say_so(folder):
    assert "No finding and no figure differs." in get(folder, "edition_b=2023").text
