"""Every finding that can be named has its line in docs/reference/findings.md."""

import re
from datetime import date
from fnmatch import fnmatchcase
from pathlib import Path

import pytest

from lugbook import actions
from lugbook.assess.spine import assess
from lugbook.codebook.edition import editions
from lugbook.premises.plan import parse_plan

ROOT = Path(__file__).parents[2]
DEMO = ROOT / "examples" / "potters_house" / "plan.toml"
PAGE = (ROOT / "docs" / "reference" / "findings.md").read_text(encoding="utf-8")
DOCUMENTED = re.findall(r"^\| `([a-z0-9_.*]+)` \|", PAGE, flags=re.MULTILINE)
SOURCES = "\n".join(
    path.read_text(encoding="utf-8") for path in ROOT.glob("src/lugbook/assess/*.py")
)

BARE = "schema = 1\n"
PLANS = {
    "bare": BARE,
    "out of scope": BARE + '[dwelling]\nkind = "apartment"\n',
    "heat of two kinds": (
        BARE
        + '[service]\nid = "service"\nsystem = "120/240 V split-phase"\n'
        + '[[loads]]\nid = "a"\nkind = "heat pump"\nnameplate = "4 kW"\n'
        + '[[loads]]\nid = "b"\nkind = "central electric heat"\nnameplate = "9 kW"\n'
    ),
    "a clamp reading": (
        DEMO.read_text(encoding="utf-8")
        + '\n[[clamp_readings]]\nid = "evening"\nleg_a = "90 A"\nleg_b = "60 A"\n'
    ),
    "a lower setting": DEMO.read_text(encoding="utf-8").replace(
        'setting = "80 A"', 'setting = "32 A"'
    ),
    "no circuit proposed": re.sub(
        r"^\[circuit\.(?:overcurrent|conductor|equipment_ground|disconnect)\][^\[]*",
        "",
        DEMO.read_text(encoding="utf-8"),
        flags=re.MULTILINE,
    ),
    "on a receptacle": DEMO.read_text(encoding="utf-8").replace(
        'connection = "hard-wired"', 'connection = "receptacle"'
    ),
}


def is_documented(name):
    return any(fnmatchcase(name, pattern) for pattern in DOCUMENTED)


def ids_of(text, year):
    plan = parse_plan(text)
    assessment = assess(
        plan,
        actions.evidence_of(plan),
        actions.rules_for(plan, year),
        date(2026, 11, 25),
    )
    return [finding.id for finding in assessment.findings]


@pytest.mark.parametrize("year", editions())
@pytest.mark.parametrize("name", PLANS)
def test_every_finding_of_these_houses_is_documented(name, year):
    ids = ids_of(PLANS[name], year)
    assert ids
    assert [each for each in ids if not is_documented(each)] == []


def test_every_finding_id_written_in_the_source_is_documented():
    written = re.findall(r'\bid=f?"([a-z_]+\.[a-z0-9_.{}]+)"', SOURCES)
    names = [re.sub(r"\{[^}]*\}", "x", each) for each in written]
    assert names
    # circuit.x: one line builds the findings of all parts from their item's name.
    parts = re.findall(r'\bitem="([a-z_]+)"', SOURCES)
    names = [each for each in names if not each.startswith("circuit.x")]
    names += [f"circuit.{part}" for part in parts]
    # capacity.measured.x: likewise one line for every condition of the record.
    conditions = re.findall(r'\bCondition\(\s*"([a-z_]+)"', SOURCES)
    assert len(set(conditions)) >= 8
    names = [each for each in names if each != "capacity.measured.x"]
    names += [f"capacity.measured.{each}" for each in conditions]
    assert [
        each
        for each in names
        if not is_documented(each) and f"{each}.*" not in DOCUMENTED
    ] == []


def test_every_documented_finding_is_one_the_source_can_name():
    for pattern in DOCUMENTED:
        last = pattern.removesuffix(".*").rpartition(".")[2]
        assert re.search(rf"\b{last}\b", SOURCES), pattern


def test_ids_are_listed_once():
    assert len(DOCUMENTED) == len(set(DOCUMENTED))
