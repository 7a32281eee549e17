"""What runs at once: hand sums, interlocks, clock; and the demo's heaviest evening."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from lugbook.actions import evidence_of, rules_for
from lugbook.assess.coincidence import Span, runs_together
from lugbook.assess.spine import assess
from lugbook.finding import Outcome, Weight
from lugbook.premises.plan import parse_plan

DEMO = Path(__file__).parents[2] / "examples/potters_house/plan.toml"
TEXT = DEMO.read_text(encoding="utf-8")
H = 3600.0


def span(name, amperes, *, long=False, start=None, lasts=None, never=()):
    return Span(
        id=name,
        name=name,
        current_a=amperes,
        is_long=long,
        start_s=None if start is None else start * H,
        lasts_s=None if lasts is None else lasts * H,
        never_with=frozenset(never),
    )


def found_in(text, setting_a=None):
    plan = parse_plan(text)
    found = assess(
        plan,
        evidence_of(plan),
        rules_for(plan),
        date(2026, 11, 25),
        setting_a=setting_a,
    )
    return next(f for f in found.findings if f.id == "capacity.coincidence")


def lines_of(finding):
    return {line.label: line.amount for line in finding.working.lines}


# --- the sum --------------------------------------------------------------------


def test_long_loads_add_up_and_one_ordinary_load_comes_on_top():
    spans = [
        span("van", 80, long=True),
        span("kiln", 48, long=True),
        span("range", 50),
        span("dryer", 21),
    ]
    found = runs_together(spans)
    assert (found.long_a, found.peak_a) == (128, 178)
    assert [each.id for each in found.spans] == ["van", "range", "kiln"]


def test_loads_with_times_only_meet_where_their_times_do():
    spans = [
        span("van", 80, long=True, start=18.5, lasts=4),
        span("kiln", 48, long=True, start=8, lasts=7),
    ]
    assert runs_together(spans).peak_a == 80
    # Started at 20:00, the kiln meets the van for the two and a half hours left of it.
    spans[1] = span("kiln", 48, long=True, start=20, lasts=7)
    found = runs_together(spans)
    assert (found.peak_a, found.start_s, found.lasts_s) == (128, 20 * H, 2.5 * H)


@pytest.mark.parametrize(("start", "peak_a"), [(22.4, 128), (22.5, 80), (22.6, 80)])
def test_a_load_that_ends_as_another_begins_does_not_meet_it(start, peak_a):
    spans = [
        span("van", 80, long=True, start=18.5, lasts=4),
        span("kiln", 48, long=True, start=start, lasts=7),
    ]
    assert runs_together(spans).peak_a == peak_a


def test_a_load_that_runs_past_midnight_meets_the_early_morning():
    spans = [
        span("van", 80, long=True, start=22, lasts=6),
        span("kiln", 48, long=True, start=3, lasts=2),
    ]
    assert runs_together(spans).peak_a == 128


def test_interlocked_loads_never_meet_and_the_heavier_choice_counts():
    # Alone 50 A; the two it locks out run together at 80 A.
    spans = [
        span("sauna", 50, long=True),
        span("kiln", 40, long=True, never=["sauna"]),
        span("pool", 40, long=True, never=["sauna"]),
    ]
    assert runs_together(spans).peak_a == 80


def test_an_unstated_length_leaves_how_long_open():
    spans = [span("van", 80, long=True), span("kiln", 48, long=True)]
    assert runs_together(spans).lasts_s is None


# --- a house --------------------------------------------------------------------


def test_the_demo_fires_and_charges_at_128_a_before_anyone_cooks():
    found = found_in(TEXT)
    lines = lines_of(found)
    kiln = next(label for label in lines if "kiln" in label)
    assert lines["charger"] + lines[kiln] == 128
    # 80 + 48 + cooling 4,800 VA ÷ 240 V = 148 for hours; range 12,000 VA ÷ 240 V = 50.
    assert lines["of these for hours"] == 148
    assert found.found == 198
    assert (found.outcome, found.weight) == (Outcome.NARROW, Weight.ADVICE)


@pytest.mark.parametrize(
    ("main", "outcome"),
    [("199 A", Outcome.NARROW), ("198 A", Outcome.NARROW), ("197 A", "falls_short")],
)
def test_the_main_at_its_rating(main, outcome):
    text = TEXT.replace('rating = { value = "200 A"', f'rating = {{ value = "{main}"')
    found = found_in(text)
    assert found.outcome.value == str(outcome)


@pytest.mark.parametrize(
    ("cooling", "outcome"),
    # 80 % of 200 A is 160 A: 80 + 48 leave 32 A, 7,680 VA at 240 V. The range is away.
    [("7680 VA", "narrow"), ("7681 VA", "falls_short")],
)
def test_the_main_at_80_percent_for_hours(cooling, outcome):
    text = TEXT.replace('"4800 VA"', f'"{cooling}"')
    for kind, each in (("range", "12000 VA"), ("dryer", "5000 VA")):
        assert kind
        text = text.replace(f'"{each}"', '"10 VA"')
    text = text.replace('"4500 VA"', '"10 VA"')
    assert found_in(text).outcome.value == outcome


def test_a_lower_setting_leaves_room():
    assert found_in(TEXT, 32.0).outcome is Outcome.MEETS  # 32 + 48 + 20 + 50 = 150 A


def test_a_load_nobody_read_leaves_a_pass_open_and_a_shortfall_short():
    text = TEXT.replace(
        'nameplate = { value = "900 VA", how = "read" }\n', "# not read\n"
    )
    assert text != TEXT
    assert found_in(text, 32.0).outcome is Outcome.CANNOT_TELL
    small = text.replace('rating = { value = "200 A"', 'rating = { value = "150 A"')
    assert found_in(small).outcome is Outcome.FALLS_SHORT


def test_it_never_decides_the_headline():
    plan = parse_plan(TEXT.replace('"12000 VA"', '"16000 VA"'))
    found = assess(plan, evidence_of(plan), rules_for(plan), date(2026, 11, 25))
    each = next(f for f in found.findings if f.id == "capacity.coincidence")
    assert (each.outcome, each.weight) == (Outcome.FALLS_SHORT, Weight.ADVICE)
    service = next(f for f in found.findings if f.id == "capacity.service_load")
    assert service.outcome in (Outcome.MEETS, Outcome.NARROW)


def test_times_stated_in_the_plan_are_used():
    text = TEXT.replace(
        'nameplate_current = "48 A"\n',
        'nameplate_current = "48 A"\nusually_from = "08:00"\nusually_for = "8 h"\n',
    )
    lines = lines_of(found_in(text))
    # The van comes home at 18:30, when the kiln is done at 16:00.
    assert lines["all at once"] == 150  # 80 + cooling 20 + range 50
    assert lines["it begins"] == "18:30"


MAIN = 'rating = { value = "200 A", how = "read" }\n'
SETTING = 'setting = "80 A"\n'
PLATE = 'nameplate = { value = "80 A", how = "read" }\n'
OF_PANEL = 'main_rating = { value = "200 A", how = "read" }\n'


@pytest.mark.parametrize("gone", [(SETTING, PLATE), (OF_PANEL, MAIN)])
def test_without_a_setting_or_a_main_nothing_is_said(gone):
    text = TEXT
    for each in gone:
        assert f"\n{each}" in text
        text = text.replace(f"\n{each}", "\n")
    plan = parse_plan(text)
    found = assess(plan, evidence_of(plan), rules_for(plan), date(2026, 11, 25))
    assert "capacity.coincidence" not in [f.id for f in found.findings]
