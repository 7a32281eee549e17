"""The twelve questions of `lugbook new`, and the plans their answers make."""

from __future__ import annotations

from datetime import date

import pytest

from lugbook import actions
from lugbook.errors import InputError
from lugbook.finding import Outcome
from lugbook.premises.interview import QUESTIONS, plan_text
from lugbook.premises.plan import parse_plan

ON = date(2026, 11, 25)
KEYS = [question.key for question in QUESTIONS]
BY_KEY = {question.key: question for question in QUESTIONS}
EXAMPLES = {question.key: question.example for question in QUESTIONS}


def plan_of(**answers):
    return parse_plan(plan_text({**EXAMPLES, **answers}))


def check(tmp_path, answers):
    path = tmp_path / "plan.toml"
    path.write_text(plan_text(answers), encoding="utf-8")
    return actions.check(path, on=ON)


def refusal(key, answer):
    with pytest.raises(InputError) as refused:
        BY_KEY[key].check(answer)
    (fault,) = refused.value.faults
    return fault


# --- the questions themselves ---------------------------------------------------


def test_there_are_at_most_twelve_and_each_has_its_own_name():
    assert len(KEYS) <= 12
    assert len(set(KEYS)) == len(KEYS)


def test_what_nothing_can_be_judged_without_is_asked_first():
    # Out of scope is refused early, and without an edition there is no answer.
    assert KEYS[:4] == ["house", "edition", "main", "charger"]


@pytest.mark.parametrize("question", QUESTIONS, ids=KEYS)
def test_every_question_asks_says_where_to_look_and_shows_an_answer(question):
    assert question.ask.endswith(("?", "."))
    assert "?" in question.ask
    assert question.look
    assert question.example


# Words of the book that a homeowner has no reason to know.
@pytest.mark.parametrize("word", ["ampacity", "overcurrent", "OCPD", "EVSE", "feeder"])
def test_no_question_is_asked_in_the_books_words(word):
    assert not [each.key for each in QUESTIONS if word in each.ask]


# --- all examples, and none -----------------------------------------------------


@pytest.mark.parametrize("question", QUESTIONS, ids=KEYS)
def test_every_example_answers_its_own_question(question):
    question.check(question.example)


def test_the_plan_of_all_examples_gives_a_verdict(tmp_path):
    found = check(tmp_path, EXAMPLES)
    assert found.headline.setting_a == 32
    assert any(row.amperes is not None for row in found.capacity)


def test_the_plan_of_all_examples_says_what_was_answered():
    plan = plan_of()
    assert plan.rules.edition == "2023"
    assert plan.service.main.rating.value == 200
    assert plan.charger.nameplate.value == 48
    assert plan.charger.connection.value == "hard-wired"
    assert [load.kind for load in plan.loads] == [
        "range",
        "dryer",
        "water heater",
        "central cooling",
        "central electric heat",
    ]
    assert plan.dwelling.laundry_circuits.value == 1
    # 34 ft and 22 ft of 0.3048 m
    lengths = [section.length.value for section in plan.circuit.sections]
    assert lengths == pytest.approx([10.3632, 6.7056])


# Where an open question shows: in the plan's own unknowns.
OPEN = {
    "house": "service.system",
    "main": "service.main.rating",
    "charger": "charger.setting",
    "rooms": "dwelling.floor_area",
    "bus": "panels.bus_rating",
    "conductor": "service.conductor",
    "meter": "service.meter_base_rating",
    "appliances": "dwelling.loads_complete",
    "climate": "dwelling.loads_complete",
}


@pytest.mark.parametrize("key", OPEN)
def test_a_question_left_open_is_named_with_where_to_look(key, tmp_path):
    found = check(tmp_path, {**EXAMPLES, key: ""})
    looks = {unknown.field: unknown.look for unknown in found.unknowns}
    assert looks.get(OPEN[key]), sorted(looks)
    assert found.headline.outcome in (Outcome.CANNOT_TELL, Outcome.FALLS_SHORT)


def test_an_open_run_is_asked_for_by_what_needs_it(tmp_path):
    found = check(tmp_path, {**EXAMPLES, "run": ""})
    conductor = next(f for f in found.findings if f.id == "circuit.conductor")
    assert conductor.outcome is Outcome.CANNOT_TELL
    assert "State circuit.sections: the run" in conductor.next


@pytest.mark.parametrize("key", KEYS)
def test_a_plan_with_one_question_open_can_be_read_and_shows_it(key):
    text = plan_text({**EXAMPLES, key: ""})
    parse_plan(text)
    if key not in ("appliances", "climate", "run", "proposed"):
        assert f"not known yet. Look: {BY_KEY[key].look}" in text


def test_an_open_edition_is_asked_for_with_whom_to_ask(tmp_path):
    with pytest.raises(InputError, match="Ask the building department"):
        check(tmp_path, {**EXAMPLES, "edition": ""})


def test_the_plan_of_no_answer_at_all_can_be_read_and_proves_nothing(tmp_path):
    parse_plan(plan_text({}))
    found = check(tmp_path, {"edition": "2023"})
    assert found.headline.outcome is Outcome.CANNOT_TELL
    assert found.headline.largest_literal_a is None


def test_only_a_list_that_was_given_in_full_counts_as_complete():
    assert plan_of().dwelling.loads_complete.value is True
    assert plan_of(climate="none").dwelling.loads_complete.value is True
    assert plan_of(climate="").dwelling.loads_complete is None


# --- awkward answers that are answers -------------------------------------------


@pytest.mark.parametrize(
    ("key", "answer"),
    [
        ("main", "200 amps"),
        ("main", "200 A\r"),
        ("edition", " 2023 "),
        ("house", "One-Family on 120/240 V"),
        ("charger", "48 A; Hardwired"),
        ("charger", "48 A; plugged in"),
        ("appliances", "None"),
        ("appliances", "Range 12 kVA; dryer ?; kiln"),
        ("conductor", "0000 AL"),
        ("proposed", "60 A; #6 Copper"),
        ("proposed", "NONE"),
        ("run", "in a wall in NM cable 12 ft at 86 °F"),
        ("run", "Garage in emt 34 ft at 35 C; underground in PVC 80 40 ft at 20 C"),
        ("run", "outdoors in open air 5 m at 30 C"),
        ("run", "garage in EMT 1 1/4 in at 35 C"),
        ("rooms", "178 m2;2"),
    ],
)
def test_an_awkward_answer_is_read(key, answer):
    BY_KEY[key].check(answer)
    plan_of(**{key: answer})


def test_several_of_one_kind_are_counted_and_keep_their_own_ids():
    loads = plan_of(climate="2 x room cooling 10 A; room cooling 900 W").loads[3:]
    assert [load.id for load in loads] == ["room_cooling", "room_cooling_2"]
    assert loads[0].count.value == 2
    assert loads[0].nameplate_current.value == 10
    assert loads[1].nameplate.value == 900


@pytest.mark.parametrize("typed", ["4800 VA", "4.8 kVA", "4800 W", "4.8 kW"])
def test_a_nameplate_in_volt_amperes_is_no_current(typed):
    load = plan_of(appliances=f"range {typed}").loads[0]
    assert load.nameplate.value == 4800
    assert load.nameplate_current is None


@pytest.mark.parametrize("typed", ["20 A", "20 amps", "20 amperes", "20 ampere"])
def test_a_nameplate_in_amperes_is_a_current_on_both_legs(typed):
    load = plan_of(appliances=f"range {typed}").loads[0]
    assert load.nameplate_current.value == 20
    assert load.leg == "both"


def test_the_longer_name_of_a_kind_goes_before_the_shorter():
    kinds = [load.kind for load in plan_of(appliances="none").loads]
    assert kinds == ["central cooling", "central electric heat"]
    text = "heat pump 20 A; heat pump supplemental heat 10 kW"
    assert [load.kind for load in plan_of(appliances="none", climate=text).loads] == [
        "heat pump",
        "heat pump supplemental heat",
    ]


def test_the_british_spelling_is_understood():
    assert plan_of(conductor="4/0 AWG aluminium").service.conductor.material.value == (
        "aluminum"
    )


def test_feet_and_inches_are_one_length():
    section = plan_of(run="garage in EMT 12 ft 6 in at 35 °C").circuit.sections[0]
    # 12.5 × 0.3048 m
    assert section.length.value == pytest.approx(3.81)


def test_a_method_with_a_number_is_not_read_as_a_length():
    section = plan_of(run="attic in PVC 40 22 ft at 52 °C").circuit.sections[0]
    assert section.method.value == "PVC 40"
    assert section.length.value == pytest.approx(22 * 0.3048)


def test_how_it_is_wired_may_be_left_open():
    section = plan_of(run="in a wall 12 ft at 30 °C").circuit.sections[0]
    assert section.place.value == "in a wall"
    assert section.method is None


def test_answers_with_windows_line_ends_make_the_same_plan():
    with_returns = {key: f"{answer}\r\n" for key, answer in EXAMPLES.items()}
    assert plan_text(with_returns) == plan_text(EXAMPLES)


def test_a_refused_connection_is_told_the_words_that_are_accepted():
    with pytest.raises(InputError, match=r"'plug'; accepted: .*hard-wired or recep"):
        plan_text({"charger": "48 A; plug"})


def test_the_charger_hangs_where_the_run_ends():
    assert plan_of(
        run="attic 5 m at 50 C; outdoors 5 m at 40 C"
    ).charger.place.value == ("outdoors")


# --- answers that are none ------------------------------------------------------


@pytest.mark.parametrize(
    ("key", "answer"),
    [
        ("main", "200"),
        ("main", "0 A"),
        ("main", "-5 A"),
        ("main", "9000 A"),
        ("main", '200 A"'),
        ("main", "200 A\n[panels]"),
        ("bus", "225"),
        ("meter", "200 V"),
        ("charger", "hard-wired"),
        ("charger", "11.5 kW"),
        ("charger", "48 A; plug"),
        ("charger", "48 A; set to"),
        ("charger", "80 A; set to 96 A"),
        ("charger", ";"),
        ("appliances", "toaster 5 kW"),
        ("appliances", "ranges 12 kW"),
        ("appliances", "range 12"),
        ("appliances", "range 40 kA"),
        ("appliances", "range 12 kW, dryer 5 kW"),
        ("appliances", "0 x range 12 kW"),
        ("climate", "none; heat pump 20 A"),
        ("rooms", "1920"),
        ("rooms", "0 ft²"),
        ("rooms", "1920 ft²; two; 1"),
        ("rooms", "1920 ft²; 2; 1; 4"),
        ("rooms", "1920 ft²; 99999999999; 1"),
        ("conductor", "copper"),
        ("conductor", "4/0 AWG"),
        ("conductor", "5 AWG copper"),
        ("proposed", "60 A"),
        ("proposed", "60 A; 6 AWG"),
        ("run", "garage in EMT 34 ft"),
        ("run", "cellar in EMT 34 ft at 20 C"),
        ("run", "garage in string 34 ft at 20 C"),
        ("run", "garage in EMT 34 ft at 35"),
        ("run", "garage in EMT 34 at 35 C"),
        ("edition", "2014"),
        ("house", "house"),
    ],
)
def test_what_cannot_be_read_is_refused_in_one_sentence(key, answer):
    fault = refusal(key, answer)
    assert fault.field == "answer"
    assert fault.accepted
    assert "\n" not in str(fault)
    with pytest.raises(InputError):
        plan_text({**EXAMPLES, key: answer})


def test_a_list_of_nothing_but_semicolons_is_not_a_complete_list():
    # Read as "no appliances", it would make the house look lighter than it is.
    for key in ("appliances", "climate", "run", "proposed", "rooms"):
        refusal(key, ";;")


def test_a_second_nameplate_does_not_replace_the_first():
    assert refusal("charger", "48 A; 32 A").given == "'32 A'"
