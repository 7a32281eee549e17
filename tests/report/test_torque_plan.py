"""The terminal plan: well-formed, complete, the same numbers as on the sheet."""

from __future__ import annotations

import re
from datetime import date
from pathlib import Path
from xml.etree import ElementTree

import pytest

from lugbook.assess.torque import torque_sheet
from lugbook.codebook.edition import open_edition
from lugbook.premises.plan import parse_plan
from lugbook.report.torque_plan import torque_plan

DEMO = Path("examples/potters_house/plan.toml").read_text(encoding="utf-8")
ON = date(2026, 11, 25)
SVG = "{http://www.w3.org/2000/svg}"


def sheet_of(text):
    return torque_sheet(parse_plan(text), open_edition("2023"), ON)


SHEET = sheet_of(DEMO)


def drawn(sheet, **how):
    return ElementTree.fromstring(torque_plan(sheet, **how))


def texts(sheet):
    return ["".join(each.itertext()) for each in drawn(sheet).iter(f"{SVG}text")]


@pytest.mark.parametrize("text", ["schema = 1\n", DEMO])
def test_every_number_stands_once_at_its_clamp_and_once_in_the_list(text):
    sheet = sheet_of(text)
    found = texts(sheet)
    for terminal in sheet.terminals:
        assert found.count(terminal.number) == 2


def test_every_clamp_is_an_open_circle_of_its_own_place():
    clamps = [
        (each.get("cx"), each.get("cy"))
        for each in drawn(SHEET).iter(f"{SVG}circle")
        if each.get("r") == "4.5"
    ]
    assert len(clamps) == len(set(clamps)) == len(SHEET.terminals)


def test_what_stays_live_has_a_double_ring():
    doubled = [e for e in drawn(SHEET).iter(f"{SVG}circle") if e.get("r") == "17"]
    assert len(doubled) == sum(bool(each.live) for each in SHEET.terminals)
    assert texts(SHEET).count("double ring: not by you while live") == len(doubled)


def test_nothing_lies_outside_the_drawing():
    root = drawn(SHEET)
    _, _, width, height = map(float, root.attrib["viewBox"].split())
    for each in root.iter(f"{SVG}circle"):
        assert 0 < float(each.attrib["cx"]) < width
        assert 0 < float(each.attrib["cy"]) < height
    assert all(0 < float(t.attrib["y"]) < height for t in root.iter(f"{SVG}text"))


def test_within_a_page_it_takes_the_pages_colours_and_alone_its_own():
    assert "<style>" not in torque_plan(SHEET, alone=False)
    alone = torque_plan(SHEET)
    assert "prefers-color-scheme:dark" in alone
    assert "@media print" in alone
    body = alone.partition("</style>")[2]
    assert set(re.findall(r'(?:fill|stroke)="([^"]+)"', body)) <= {
        "none",
        "currentColor",
    }


def test_it_tells_its_contents_to_a_reader_that_sees_no_picture():
    label = drawn(SHEET).attrib["aria-label"]
    assert label.startswith("Terminal plan: T1 main lugs of main_panel, leg A, T2")


def test_it_fetches_nothing():
    assert not re.search(r"href|url\(|<script|<image", torque_plan(SHEET))
