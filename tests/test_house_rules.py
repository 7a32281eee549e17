"""The house's own rules: imports point down, docstrings keep their form.

What a docstring says of units, rules and sources is held against the names and the
files, so that neither can change without the other.
"""

from __future__ import annotations

import ast
import re
import tomllib
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import pytest

from lugbook.codebook.edition import editions, open_edition

SRC = Path(__file__).resolve().parents[1] / "src" / "lugbook"
MODULES = sorted(SRC.rglob("*.py"))
# From the ground up; rooms on one line do not import each other. Errors carry no
# meaning of their own and lie under everything.
FLOORS = [
    {"errors"},
    {"quantities", "finding"},
    {"premises", "readings"},
    {"demand", "physics", "codebook", "store"},
    {"assess"},
    {"report"},
    {"actions"},
    {"web"},
    {"cli"},  # `lugbook serve` starts the pages
    {"__main__"},
]
FLOOR = {room: floor for floor, rooms in enumerate(FLOORS) for room in rooms}
SECTIONS = (
    "Args",
    "Returns",
    "Raises",
    "Valid for",
    "Rule",
    "Source",
    "Checked by",
    "Example",
)
UNITS = {
    "_w_m_per_k": "W m/K",
    "_w_per_m_k": "W/(m K)",
    "_k_m_per_w": "K m/W",
    "_ohm_per_m": "ohm/m",
    "_w_per_m": "W/m",
    "_per_k": "1/K",
    "_ohm_m": "ohm m",
    "_n_m": "N m",
    "_m2": "m2",
    "_mm2": "mm2",
    "_fraction": "-",
    "_ohm": "ohm",
    "_va": "VA",
    "_a": "A",
    "_v": "V",
    "_w": "W",
    "_m": "m",
    "_c": "°C",
    "_k": "K",
    "_s": "s",
}
SAME = str.maketrans({"·": " ", "²": "2"})  # two spellings of one unit
SOURCES = set(tomllib.loads((SRC / "sources.toml").read_text(encoding="utf-8")))


def _name(path: Path) -> str:
    return str(path.relative_to(SRC))


def _room(path: Path) -> str:
    return path.relative_to(SRC).parts[0].removesuffix(".py")


def _imported(path: Path) -> Iterator[str]:
    """Yield the rooms of the package that a module imports, anywhere in it."""
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        names: list[str] = []
        if isinstance(node, ast.ImportFrom) and node.module:
            names = [node.module]
            if node.module == "lugbook":
                names = [f"lugbook.{alias.name}" for alias in node.names]
        elif isinstance(node, ast.Import):
            names = [alias.name for alias in node.names]
        for name in names:
            if name.startswith("lugbook."):
                yield name.split(".")[1]


@pytest.mark.parametrize("path", MODULES, ids=_name)
def test_imports_point_down(path):
    here = _room(path)
    if here == "__init__":
        return
    for there in _imported(path):
        if there in FLOOR:
            assert there == here or FLOOR[there] < FLOOR[here], f"{here} -> {there}"


def test_what_is_assessed_never_reads_the_store():
    for path in MODULES:
        if _room(path) == "assess":
            assert "store" not in set(_imported(path)), _name(path)


def test_every_room_stands_on_a_floor():
    rooms = {_room(path) for path in MODULES} - {"__init__"}
    assert rooms <= set(FLOOR)


@pytest.mark.parametrize("path", MODULES, ids=_name)
def test_every_module_says_what_it_is_for(path):
    assert ast.get_docstring(ast.parse(path.read_text(encoding="utf-8")))


@dataclass(frozen=True)
class Documented:
    """A public function or class with its docstring cut into sections."""

    module: str
    node: ast.FunctionDef | ast.ClassDef
    sections: dict[str, str]
    order: tuple[str, ...]

    def __str__(self) -> str:
        return f"{self.module}:{self.node.name}"

    def arguments(self) -> list[str]:
        """Return what must stand in Args: the arguments of a function."""
        if isinstance(self.node, ast.ClassDef):
            return []
        both = (*self.node.args.args, *self.node.args.kwonlyargs)
        return [each.arg for each in both if each.arg not in ("self", "cls")]

    def described(self) -> dict[str, str]:
        """Return each entry of Args by its name, its lines joined."""
        entries = re.split(
            r"^(?=\*{0,2}\w+: )", self.sections.get("Args", ""), flags=re.MULTILINE
        )
        pairs = (entry.partition(":") for entry in entries if entry.strip())
        return {name.strip("* "): " ".join(said.split()) for name, _, said in pairs}


def _sections(text: str) -> tuple[dict[str, str], tuple[str, ...]]:
    titles = "|".join(SECTIONS)
    pieces = re.split(rf"^({titles}):[ ]*$", text, flags=re.MULTILINE)
    pairs = zip(pieces[1::2], pieces[2::2], strict=True)
    cut = {
        title: re.sub(r"^ {4}", "", body, flags=re.MULTILINE).strip("\n")
        for title, body in pairs
    }
    return cut, tuple(pieces[1::2])


def _documented(*rooms: str) -> list[Documented]:
    found = []
    for path in MODULES:
        if _room(path) not in rooms:
            continue
        tree = ast.parse(path.read_text(encoding="utf-8"))
        for node in tree.body:
            if not isinstance(node, ast.FunctionDef | ast.ClassDef):
                continue
            text = ast.get_docstring(node)
            if text and not node.name.startswith("_"):
                found.append(Documented(_name(path), node, *_sections(text)))
    return found


PUBLIC = _documented("physics", "codebook", "quantities", "finding")
RULED = [each for each in PUBLIC if "Rule" in each.sections]
SOURCED = [each for each in PUBLIC if "Source" in each.sections]


@pytest.mark.parametrize("each", PUBLIC, ids=str)
def test_sections_stand_in_the_order_of_the_house(each):
    places = [SECTIONS.index(title) for title in each.order]
    assert places == sorted(set(places)), each.order


@pytest.mark.parametrize("each", PUBLIC, ids=str)
def test_every_argument_is_described_and_no_other(each):
    if "Args" in each.sections and isinstance(each.node, ast.FunctionDef):
        described = set(each.described())
        kwarg = each.node.args.vararg
        allowed = {*each.arguments(), *([kwarg.arg] if kwarg else [])}
        assert described == allowed


@pytest.mark.parametrize("each", PUBLIC, ids=str)
def test_every_described_argument_ends_with_its_unit(each):
    for name, said in each.described().items():
        assert re.search(r"\[[^\[\]]+\]$", said), f"{name}: {said}"


@pytest.mark.parametrize("each", PUBLIC, ids=str)
def test_what_a_function_returns_ends_with_its_unit(each):
    if "Returns" in each.sections:
        said = " ".join(each.sections["Returns"].split())
        assert re.search(r"\[[^\[\]]+\]$", said), said


@pytest.mark.parametrize("each", PUBLIC, ids=str)
def test_a_unit_suffix_and_the_unit_described_agree(each):
    for name, said in each.described().items():
        unit = re.search(r"\[([^\[\]]+)\]$", said)
        suffix = next((s for s in UNITS if name.endswith(s)), None)
        compound = "_per_" in name and suffix is not None and "_per_" not in suffix
        if unit and suffix and not compound:
            plain = unit[1].translate(SAME)
            assert plain == UNITS[suffix], f"{name}: {said}"


@pytest.mark.parametrize("each", RULED, ids=str)
@pytest.mark.parametrize("year", editions())
def test_a_rule_named_in_a_docstring_stands_in_every_edition(each, year):
    edition = open_edition(year)
    named = re.split(r"[,;]\s*", " ".join(each.sections["Rule"].split()))
    for words in named:
        kind, _, name = words.rpartition(" ")
        held = edition.tables if kind == "table" else edition.rules
        assert name in held, f"{words} in {year}"


@pytest.mark.parametrize("each", SOURCED, ids=str)
def test_a_source_named_in_a_docstring_is_listed(each):
    body = " ".join(each.sections["Source"].split())
    keys = re.findall(r"(?:^|; )([a-z0-9_]+(?:-[a-z0-9_]+)+)(?=[,;]|$)", body)
    assert set(keys) <= SOURCES, body
    said_without = re.search(r"common practice|from memory|As `|textbook", body)
    assert keys or said_without, body


@pytest.mark.parametrize("each", PUBLIC, ids=str)
def test_a_claim_says_what_checks_it(each):
    claims = {"Rule", "Source"} & set(each.sections)
    if claims and isinstance(each.node, ast.FunctionDef):
        assert each.sections.get("Checked by", "").strip(), each.order
