from datetime import date

import pytest

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

CONFIRMED = Citation(
    "nfpa70-2023", "220.82(B)", Status.CONFIRMED, "a state's reprint, table by table"
)
REMEMBERED = Citation("nfpa70-2023", "220.57(A)", Status.FROM_MEMORY)
AMENDED = Citation(
    "nfpa70-2023", "310.16", Status.CONFIRMED, "a reprint", "Clayville 12-3 (invented)"
)

OPTIONAL = Working(
    "Optional method, charger outside the demand factor",
    (
        Line("range", 12000.0, "VA", source="plan, loads.range.nameplate, read"),
        Line(
            "general lighting",
            5760.0,
            "VA",
            "area × load per area",
            "1,920 ft² × 3 VA/ft²",
            CONFIRMED,
        ),
        Line("charger", 19200.0, "VA", "current × voltage", "80 A × 240 V", REMEMBERED),
        Line("current", 204.16666666666666, "A", "total ÷ voltage", "", CONFIRMED),
        Line("method chosen", "optional"),
    ),
)
SERVICE = Working("Service rating", (Line("main", 200.0, "A", source="plan, read"),))
CONDUCTOR = Working(
    "Conductor in the attic", (Line("corrected ampacity", 87.4, "A", "", "", AMENDED),)
)


def row(
    method,
    charger,
    hvac,
    amperes,
    outcome,
    largest_a,
    *,
    permitted=True,
    literal=False,
    limit_a=200.0,
    reason="",
):
    return CapacityRow(
        method=method,
        interpretation=Interpretation(charger, hvac),
        permitted=permitted,
        literal=literal,
        prudent=charger != "inside" and hvac == "counted",
        base_va=None if amperes is None else 29800.0,
        va=None if amperes is None else amperes * 240,
        amperes=amperes,
        limit_a=limit_a,
        outcome=outcome,
        largest_exact_a=largest_a,
        largest_setting_a=largest_a,
        working=OPTIONAL,
        reason=reason,
    )


LOAD = Finding(
    id="capacity.service_load",
    question="Does the calculated load stay within the service rating?",
    outcome=Outcome.FALLS_SHORT,
    weight=Weight.MUST,
    found=204.16666666666666,
    limit=200.0,
    unit="A",
    margin=200.0 - 204.16666666666666,
    citation=CONFIRMED,
    working=OPTIONAL,
    next="Set 72 A or less.",
    signal=SignalWord.WARNING,
)
ATTIC = Finding(
    id="circuit.conductor",
    question="Does the conductor carry the setting through the attic?",
    outcome=Outcome.FALLS_SHORT,
    weight=Weight.STOP,
    found=87.4,
    limit=90.1,
    unit="A",
    margin=87.4 - 90.1,
    citation=AMENDED,
    working=CONDUCTOR,
    next="Do not energise; replace it by 2 AWG copper.",
    signal=SignalWord.WARNING,
)
DROP = Finding(
    id="circuit.voltage_drop",
    question="Is the voltage drop small?",
    outcome=Outcome.NARROW,
    weight=Weight.ADVICE,
    found=6.9,
    limit=7.2,
    unit="V",
    margin=0.3,
)
RATING = Finding(
    id="capacity.service_rating",
    question="What may the service carry?",
    outcome=Outcome.CANNOT_TELL,
    weight=Weight.MUST,
    unit="A",
    next="How large is the meter base? Look: label inside its cover.",
)
HOUSE = Finding(
    id="scope.house",
    question="Is this a house the tool can judge?",
    outcome=Outcome.MEETS,
    weight=Weight.MUST,
    found="one-family",
    limit="one-family house",
)
RECEPTACLE = Finding(
    id="circuit.receptacle",
    question="Is the receptacle right?",
    outcome=Outcome.NOT_REQUIRED,
    weight=Weight.ADVICE,
)
MINIMUM = Finding(
    id="capacity.service_minimum",
    question="Is the service as large as a new one must be?",
    outcome=Outcome.FALLS_SHORT,
    weight=Weight.ADVICE,
    found=60.0,
    limit=100.0,
    unit="A",
    margin=-40.0,
)


@pytest.fixture
def assessment():
    """One invented assessment in which every outcome, weight and source occurs."""
    return Assessment(
        name="Kiln 陶芸家 house (invented)",
        edition="nfpa70-2023",
        amendments=("clayville",),
        on=date(2026, 11, 25),
        headline=Headline(
            outcome=Outcome.FALLS_SHORT,
            setting_a=80.0,
            largest_literal_a=64.0,
            largest_prudent_a=None,
            service_largest_literal_a=80.0,
            service_largest_prudent_a=None,
            circuit_largest_a=64.0,
            circuit_reason="",
            unconfirmed_values=1,
            sentence="At 80 A the plan falls short in 2 points.",
        ),
        service_rating=SERVICE,
        capacity=(
            row(
                "optional",
                "inside",
                "counted",
                156.2,
                Outcome.MEETS,
                80.0,
                literal=True,
            ),
            row("optional", "outside", "counted", 199.96, Outcome.NARROW, 72.0),
            row("optional", "outside_125", "counted", 240.0, Outcome.FALLS_SHORT, 40.0),
            row(
                "existing",
                "inside",
                "not_counted",
                150.0,
                Outcome.NOT_REQUIRED,
                None,
                permitted=False,
                literal=True,
                reason="heating or cooling is added",
            ),
            row(
                "standard",
                "outside",
                "counted",
                245.6,
                Outcome.FALLS_SHORT,
                32.0,
                literal=True,
            ),
            row(
                "measured",
                "outside",
                "counted",
                None,
                Outcome.CANNOT_TELL,
                None,
                literal=True,
                reason="no demand record is stated",
            ),
        ),
        circuit=(CircuitItem("conductor", "3 AWG copper", "2 AWG copper", ATTIC),),
        findings=(HOUSE, RATING, LOAD, ATTIC, DROP, RECEPTACLE, MINIMUM),
        assumptions=(Assumption("place", "The garage is dry.", "nobody said"),),
        unknowns=(
            Unknown(
                "service.meter_base_rating",
                "How large is the meter base?",
                "label inside its cover",
            ),
        ),
    )
