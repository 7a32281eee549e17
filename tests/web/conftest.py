"""A hand-made assessment with everything a page may have to show, and a client."""

from collections.abc import Iterator
from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest
from fastapi.testclient import TestClient

from lugbook import actions
from lugbook.assess.assessment import (
    Assessment,
    Assumption,
    CapacityRow,
    CircuitItem,
    Headline,
    Interpretation,
    Unknown,
)
from lugbook.finding import (
    Citation,
    Finding,
    Line,
    Outcome,
    SignalWord,
    Status,
    Weight,
    Working,
)
from lugbook.web.app import make_app, serving

STEPS_A = (16, 20, 24, 32, 40, 48, 56, 64, 72, 80)

SEEN = Citation("nfpa70-2023", "220.82(B)", Status.CONFIRMED, "an invented text")
UNSEEN = Citation("nfpa70-2023", "220.57", Status.FROM_MEMORY)
CUSTOM = Citation("nfpa70-2023", "110.14(D)", Status.COMMON_PRACTICE)

ARITHMETIC = Working(
    "Optional method, charger outside the demand factor (invented figures)",
    (
        Line(
            "general lighting",
            5760.0,
            "VA",
            "floor area × VA per ft²",
            "1,920 ft² × 3 VA/ft²",
            SEEN,
        ),
        Line("range", 12000.0, "VA", source="nameplate, read"),
        Line("charger", 19200.0, "VA", "setting × voltage", "80 A × 240 V", UNSEEN),
        Line("method", "optional", source=CUSTOM),
        Line("kept for later", None, "A"),
        Line("current", 203.5, "A", "total ÷ voltage", "48,840 VA ÷ 240 V"),
    ),
)


def _row(
    method: str,
    charger: str,
    amperes: float | None,
    outcome: Outcome,
    largest_a: float | None,
    *,
    hvac: str = "counted",
    permitted: bool = True,
    literal: bool = False,
    reason: str = "",
) -> CapacityRow:
    return CapacityRow(
        method=method,
        interpretation=Interpretation(charger, hvac),
        permitted=permitted,
        literal=literal,
        prudent=charger != "inside" and hvac == "counted",
        base_va=None if amperes is None else amperes * 240 - 19200,
        va=None if amperes is None else amperes * 240,
        amperes=amperes,
        limit_a=200.0,
        outcome=outcome,
        largest_exact_a=None,
        largest_setting_a=largest_a,
        working=ARITHMETIC if amperes is not None else Working("not reckoned", ()),
        reason=reason,
    )


ROWS = (
    _row("optional", "inside", 155.8, Outcome.MEETS, 80, literal=True),
    _row("optional", "outside", 203.5, Outcome.FALLS_SHORT, 72),
    _row("optional", "outside_125", 235.5, Outcome.FALLS_SHORT, 48),
    _row(
        "existing",
        "inside",
        150.2,
        Outcome.NOT_REQUIRED,
        None,
        hvac="not_counted",
        permitted=False,
        literal=True,
        reason="heating or cooling is added, so the other list applies",
    ),
    _row("standard", "outside", 246.1, Outcome.FALLS_SHORT, 32, literal=True),
    _row(
        "measured",
        "outside",
        None,
        Outcome.CANNOT_TELL,
        None,
        literal=True,
        reason="no demand record is stated",
    ),
)

FINDINGS = (
    Finding(
        "invented-conductor",
        "Is the conductor large enough for the attic?",
        Outcome.FALLS_SHORT,
        Weight.STOP,
        found=86.25,
        limit=100.0,
        unit="A",
        margin=-13.75,
        citation=SEEN,
        working=ARITHMETIC,
        next="Do not switch on. Use 2 AWG copper for the whole run, or set 64 A.",
        signal=SignalWord.WARNING,
    ),
    Finding(
        "invented-capacity",
        "Can the service carry the charger at 80 A?",
        Outcome.FALLS_SHORT,
        Weight.MUST,
        found=203.5,
        limit=200.0,
        unit="A",
        margin=-3.5,
        citation=UNSEEN,
        working=ARITHMETIC,
        next="Set the charger to 32 A or less.",
    ),
    Finding(
        "invented-drop",
        "Is the voltage drop small enough?",
        Outcome.NARROW,
        Weight.ADVICE,
        found=2.91,
        limit=3.0,
        unit="%",
        margin=0.09,
        citation=CUSTOM,
        next="Nothing; a larger setting would pass the limit.",
        signal=SignalWord.NOTICE,
    ),
    Finding(
        "invented-fault-current",
        "Can the breaker break the fault current?",
        Outcome.CANNOT_TELL,
        Weight.MUST,
        limit="10 kA",
        next="Ask the utility for the available fault current.",
    ),
    Finding(
        "invented-label",
        "Does the setting stand on the label?",
        Outcome.FALLS_SHORT,
        Weight.ADVICE,
        next="Write it there.",
    ),
    Finding(
        "invented-disconnect",
        "Is a disconnect in sight?",
        Outcome.MEETS,
        Weight.MUST,
        citation=SEEN,
    ),
    Finding(
        "invented-ventilation",
        "Is ventilation needed?",
        Outcome.NOT_REQUIRED,
        Weight.MUST,
    ),
)

TERMINAL = Finding(
    "circuit.terminals.charger",
    "Does the terminal take this conductor?",
    Outcome.MEETS,
    Weight.MUST,
    citation=SEEN,
    next="Torque it to the printed value (invented).",
)

ASSESSMENT = Assessment(
    name="The weaver's house (invented)",
    edition="nfpa70-2023",
    amendments=("invented-town",),
    on=date(2026, 11, 25),
    headline=Headline(
        outcome=Outcome.FALLS_SHORT,
        setting_a=80.0,
        largest_literal_a=80.0,
        largest_prudent_a=None,
        service_largest_literal_a=80.0,
        service_largest_prudent_a=None,
        circuit_largest_a=64.0,
        circuit_reason="the attic caps it (invented)",
        unconfirmed_values=2,
        sentence="At 80 A the conductor in the attic is too small (invented).",
    ),
    service_rating=Working(
        "Service rating", (Line("least of all parts", 200.0, "A", source="read"),)
    ),
    capacity=ROWS,
    circuit=(
        CircuitItem("conductor", "3 AWG copper", "2 AWG copper", FINDINGS[0]),
        CircuitItem("equipment_grounding_conductor", None, None, FINDINGS[3]),
        CircuitItem("terminals", "3 AWG", "8 AWG to 1/0 AWG", TERMINAL),
    ),
    findings=(*FINDINGS, TERMINAL),
    assumptions=(
        Assumption("power-factor", "Every load has unity power factor.", "errs high"),
    ),
    unknowns=(
        Unknown(
            "service.meter_base_rating",
            "What is the meter base rated?",
            "the label inside the meter's cover, or ask the utility",
        ),
    ),
)


def asked(
    path: Path,
    *,
    edition: str | None = None,
    setting_a: float | None = None,
    on: date | None = None,
) -> Assessment:
    """The hand-made assessment, showing what it was asked."""
    headline = replace(ASSESSMENT.headline, setting_a=setting_a or 80.0)
    return replace(ASSESSMENT, edition=f"nfpa70-{edition or 2023}", headline=headline)


PLAN = f"""schema = 1
name = "The weaver's house (invented)"
[rules]
edition = "2023"
[charger]
id = "charger"
setting = "80 A"
setting_steps = {[f"{step} A" for step in STEPS_A]}
"""


@pytest.fixture
def plan(tmp_path: Path) -> Path:
    """A small plan file with a charger's steps."""
    path = tmp_path / "plan.toml"
    path.write_text(PLAN, encoding="utf-8")
    return path


@pytest.fixture
def client(plan: Path, monkeypatch: pytest.MonkeyPatch) -> TestClient:
    """A client of the page, with the hand-made assessment behind it."""
    monkeypatch.setattr(actions, "check", asked)
    return TestClient(
        make_app(plan),
        base_url="http://127.0.0.1:8710",
        raise_server_exceptions=False,
    )


@pytest.fixture
def shown(plan: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[str]:
    """The address at which the hand-made assessment is shown."""
    monkeypatch.setattr(actions, "check", asked)
    with serving(plan) as address:
        yield address
