"""What the physics package offers, as a page and a plot made from its own docstrings.

Read from the source, not imported: the page needs no formula to run.
"""

from __future__ import annotations

import ast
import importlib.util
import re
import statistics
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from types import ModuleType

REPO = Path(__file__).resolve().parent.parent
PHYSICS = REPO / "src" / "lugbook" / "physics"
RESIDUALS = REPO / "tests" / "physics" / "test_conductor_heating.py"
SECTIONS = ("Args", "Returns", "Raises", "Valid for", "Source", "Checked by", "Example")
INSIDE = ("elementwise", "network_equations", "network_linear")  # no formula of its own


def physics_page() -> str:
    """Return the reference of every public function of the physics package."""
    opening = (REPO / "docs" / "parts" / "physics-opening.md").read_text("utf-8")
    parts = [opening.rstrip("\n")]
    for path in sorted(PHYSICS.glob("*.py")):
        if path.stem.startswith("_") or path.stem in INSIDE:
            continue
        tree = ast.parse(path.read_text(encoding="utf-8"))
        functions = list(_public(tree))
        if functions:
            parts.append(_module(path.stem, tree, functions))
    return "\n\n".join(parts) + "\n"


def _public(tree: ast.Module) -> Iterator[ast.FunctionDef]:
    for node in tree.body:
        if isinstance(node, ast.FunctionDef) and not node.name.startswith("_"):
            yield node


def _module(name: str, tree: ast.Module, functions: Sequence[ast.FunctionDef]) -> str:
    said = (ast.get_docstring(tree) or "").split("\n\n")[0]
    lines = [f"## `lugbook.physics.{name}`", "", " ".join(said.split())]
    for function in functions:
        lines += ["", _function(function)]
    return "\n".join(lines)


def _function(node: ast.FunctionDef) -> str:
    cut = _sections(ast.get_docstring(node) or "")
    lines = [f"### `{node.name}`", "", _plain(cut[""].split("\n\n")[0])]
    formula = cut[""].split("\n\n")[1:]
    lines += [line for part in formula for line in ("", _plain(part))]
    arguments = list(_entries(cut.get("Args", "")))
    if arguments:
        lines += ["", "| argument | what it is | unit |", "|---|---|---|"]
        lines += [
            f"| `{name}` | {_cell(said)} | {_cell(unit)} |"
            for name, said, unit in arguments
        ]
    for title, words in (
        ("Returns", "Gives"),
        ("Valid for", "Valid for"),
        ("Raises", "Refuses"),
        ("Source", "Source"),
        ("Checked by", "Checked by"),
    ):
        if cut.get(title):
            lines += ["", f"*{words}:* {_listed(title, cut[title])}"]
    return "\n".join(lines)


def _sections(text: str) -> Mapping[str, str]:
    pieces = re.split(rf"^({'|'.join(SECTIONS)}):[ ]*$", text, flags=re.MULTILINE)
    found = {"": pieces[0].strip()}
    for title, body in zip(pieces[1::2], pieces[2::2], strict=True):
        found[title] = body
    return found


def _entries(body: str) -> Iterator[tuple[str, str, str]]:
    dedented = re.sub(r"^ {4}", "", body, flags=re.MULTILINE)
    for entry in re.split(r"^(?=\*{0,2}\w+: )", dedented, flags=re.MULTILINE):
        name, _, said = entry.partition(":")
        words = " ".join(said.split())
        unit = re.search(r"\[([^\[\]]+)\]$", words)
        if unit:
            yield name.strip("* "), words[: unit.start()].strip(), unit[1]


def _listed(title: str, text: str) -> str:
    """Return a section on one line, the entries of a list told apart."""
    if title == "Checked by":
        return ", ".join(f"`{name}`" for name in re.split(r"[,\s]+", text.strip()))
    if title == "Source":
        text = re.sub(r"(?<=\w|\))\n(?=\s*[a-z]+(?:-[a-z0-9]+)+,)", ";\n", text)
    return _plain(text)


def _plain(text: str) -> str:
    return " ".join(text.split()).replace("<", "&lt;")


def _cell(text: str) -> str:
    return _plain(text).replace("|", "\\|")


def residual_plot() -> str:
    """Return the plot of the heat model against printed ampacities, as SVG."""
    tests = _tests()
    b1 = tests.percent_errors_of_iec_method_b1()
    ampacity = {
        name: tests.percent_errors_of_the_ampacity_table(
            conductor_c=75, insulation=insulation, pipes=pipes, emissivity=emissivity
        )
        for name, insulation, pipes, emissivity in (
            ("as built today", "thhn", tests.EMT_IN, 0.95),
            ("as tested in 1938", "thw", tests.RIGID_IN, 0.70),
        )
    }
    sizes = [
        str(size).removesuffix(" AWG")
        for size in tests.book_rows("ampacity")
        if str(size).endswith("AWG")
    ]
    rows = [
        (f"Copper 75 °C column, {name}", errors, sizes)
        for name, errors in ampacity.items()
    ]
    areas = [f"{area:g}" for area in tests.IEC_B1_A]
    rows.append(("IEC 60364-5-52 method B1, two loaded, mm²", b1, areas))
    return _svg(rows)


def _tests() -> ModuleType:
    spec = importlib.util.spec_from_file_location("residuals", RESIDUALS)
    if spec is None or spec.loader is None:
        raise SystemExit(f"{RESIDUALS} cannot be read")
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


_LEFT, _RIGHT, _ROW, _TOP, _MOST = 60, 780, 150, 34, 15.0
# One stroke for both themes: mid grey and a copper that both stand off 4.5 to 1 from
# white and from near black; prefers-color-scheme sharpens them where it is known.
_STYLE = """<style>
text { font: 13px sans-serif; fill: #6b6459; }
.name { font-weight: 600; fill: #5a5348; }
.zero { stroke: #6b6459; stroke-width: 1.5; }
.grid { stroke: #b9b1a4; stroke-width: 0.75; }
.mean { stroke: #a8552a; stroke-width: 1.5; stroke-dasharray: 5 4; }
.stem { stroke: #b9b1a4; stroke-width: 1.5; }
circle { fill: #a8552a; }
@media (prefers-color-scheme: dark) {
  text { fill: #bdb5a8; } .name { fill: #efe8dc; } .zero { stroke: #bdb5a8; }
  .grid, .stem { stroke: #5d574e; } .mean { stroke: #e0935f; } circle { fill: #e0935f; }
}
</style>"""


def _svg(rows: Sequence[tuple[str, Sequence[float], Sequence[str]]]) -> str:
    height = _TOP + _ROW * len(rows) + 6
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {_RIGHT + 20} {height}" '
        'role="img" aria-label="Error of the heat model against printed ampacities">',
        _STYLE,
        f'<text x="{_LEFT}" y="16">Current of the model over the printed current, %: '
        "below 0 the model carries less, which errs hot</text>",
    ]
    for place, (name, errors, labels) in enumerate(rows):
        parts += _panel(_TOP + place * _ROW, name, errors, labels)
    return "\n".join([*parts, "</svg>"]) + "\n"


def _panel(
    top: int, name: str, errors: Sequence[float], labels: Sequence[str]
) -> list[str]:
    middle = top + 74
    per_cent = 46 / _MOST
    step = (_RIGHT - _LEFT) / len(errors)

    def y_of(error: float) -> float:
        return middle - error * per_cent

    parts = [f'<text class="name" x="{_LEFT}" y="{top + 14}">{name}</text>']
    for error in (-10, 0, 10):
        y, kind = y_of(error), "grid" if error else "zero"
        parts.append(f'<path class="{kind}" d="M{_LEFT} {y:.1f}H{_RIGHT}"/>')
        words = {-10: "−10", 0: "0", 10: "+10"}[error]
        parts.append(
            f'<text x="{_LEFT - 8}" y="{y + 4:.1f}" text-anchor="end">{words}</text>'
        )
    mean_y = y_of(statistics.mean(errors))
    parts.append(f'<path class="mean" d="M{_LEFT} {mean_y:.1f}H{_RIGHT}"/>')
    for place, (error, label) in enumerate(zip(errors, labels, strict=True)):
        x = _LEFT + (place + 0.5) * step
        parts.append(f'<path class="stem" d="M{x:.1f} {middle}V{y_of(error):.1f}"/>')
        parts.append(f'<circle cx="{x:.1f}" cy="{y_of(error):.1f}" r="4"/>')
        parts.append(
            f'<text x="{x:.1f}" y="{top + 138}" text-anchor="middle">{label}</text>'
        )
    return parts
