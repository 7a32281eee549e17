"""Invented plans for the tests of the circuit, built from a few words."""

from __future__ import annotations

from lugbook.assess.assessment import CircuitItem
from lugbook.assess.capacity import wish_of
from lugbook.assess.circuit import CircuitJudgement, judge_circuit
from lugbook.codebook.edition import open_edition
from lugbook.finding import Finding
from lugbook.premises.plan import Plan, parse_plan

STEPS = (16, 20, 24, 32, 40, 48, 56, 64, 72, 80)

HEAD = """schema = 1
name = "a plan of the tests (invented)"

[service]
id = "service"
system = "120/240 V split-phase"
"""


def charger(
    nameplate: float = 48,
    setting: float | None = None,
    *,
    restricted: str | None = "password",
    connection: str | None = "hard-wired",
    place: str | None = "indoors",
    terminals: str | None = "75 °C",
    extra: str = "",
) -> str:
    """Return a charger's table."""
    steps = ", ".join(f'"{step} A"' for step in STEPS if step <= nameplate)
    lines = [
        "[charger]",
        'id = "charger"',
        f'nameplate = "{nameplate:g} A"',
        f'setting = "{setting or nameplate:g} A"',
        'voltage = "240 V"',
        f"setting_steps = [{steps}]",
    ]
    if connection:
        lines.append(f'connection = "{connection}"')
    if restricted:
        lines.append(f'setting_restricted_by = ["{restricted}"]')
    if place:
        lines.append(f'place = "{place}"')
    if terminals:
        lines.append(f'terminal_temperature = "{terminals}"')
    return "\n".join([*lines, extra, ""])


def section(
    name: str = "run",
    *,
    method: str | None = "EMT",
    ambient: str | None = "30 °C",
    length: str | None = "40 ft",
    place: str | None = "indoors",
    extra: str = "",
) -> str:
    """Return one section of the run."""
    lines = ["[[circuit.sections]]", f'id = "{name}"']
    stated = {"method": method, "ambient": ambient, "length": length, "place": place}
    lines += [f'{key} = "{given}"' for key, given in stated.items() if given]
    return "\n".join([*lines, extra, ""])


def circuit(
    device: float | None = 60,
    size: str | None = "6 AWG",
    *,
    material: str = "copper",
    insulation: str | None = "THHN/THWN-2",
    ground: str | None = "10 AWG",
    terminals: str | None = "75 °C",
    sections: str | None = None,
    device_extra: str = "",
    top: str = "",
    extra: str = "",
) -> str:
    """Return a circuit with its sections."""
    lines = ["[circuit]", 'id = "charger_circuit"', top]
    if device is not None:
        lines += ["[circuit.overcurrent]", f'rating = "{device:g} A"', device_extra]
        if terminals:
            lines.append(f'terminal_temperature = "{terminals}"')
    if size is not None:
        lines += ["[circuit.conductor]", f'size = "{size}"', f'material = "{material}"']
        if insulation:
            lines.append(f'insulation = "{insulation}"')
    if ground is not None:
        lines += ["[circuit.equipment_ground]", 'kind = "wire"', 'material = "copper"']
        lines.append(f'size = "{ground}"')
    return "\n".join([*lines, extra, section() if sections is None else sections, ""])


def plan(*tables: str) -> Plan:
    """Return a plan of the tables given."""
    return parse_plan(HEAD + "\n".join(tables))


def judge(*tables: str, year: str = "2023") -> CircuitJudgement:
    """Return the judgement of a plan of the tables given."""
    house = plan(*tables)
    return judge_circuit(house, open_edition(year), wish_of(house, None))


def item(judgement: CircuitJudgement, name: str) -> CircuitItem:
    """Return the one item whose finding has the id, without its "circuit."."""
    found = [each for each in judgement.items if each.finding.id == f"circuit.{name}"]
    assert len(found) == 1, [each.finding.id for each in judgement.items]
    return found[0]


def finding(judgement: CircuitJudgement, name: str) -> Finding:
    """Return the finding of one item."""
    return item(judgement, name).finding


def names(judgement: CircuitJudgement) -> list[str]:
    """Return the ids of all findings, without "circuit."."""
    return [each.finding.id.removeprefix("circuit.") for each in judgement.items]
