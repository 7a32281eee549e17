"""The sheet for the work: what is dead, what stays live, who acts, what is missing."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from lugbook.actions import evidence_of, rules_for
from lugbook.assess.order_of_work import STOP_SIGNS
from lugbook.assess.spine import assess
from lugbook.codebook.edition import editions
from lugbook.finding import Outcome, SignalWord
from lugbook.premises.dwelling import Work
from lugbook.premises.plan import parse_plan

DEMO = Path(__file__).parents[2] / "examples/potters_house/plan.toml"
TEXT = DEMO.read_text(encoding="utf-8")
FEEDER = (
    '\n[[feeders]]\nid = "garage_feeder"\nfed_from = "main_panel"\n'
    '\n[[panels]]\nid = "garage_panel"\nfed_from = "garage_feeder"\n'
)


def sheet(text=TEXT, year=None, setting_a=None):
    plan = parse_plan(text)
    found = assess(
        plan,
        evidence_of(plan),
        rules_for(plan, year),
        date(2026, 11, 25),
        setting_a=setting_a,
    )
    assert found.work is not None
    return found.work


def step(work, title):
    return next(each for each in work.steps if each.title == title)


def words_of(step):
    return " ".join((*step.does, step.hold))


def titles(work):
    return [each.title for each in work.steps]


# --- the order ------------------------------------------------------------------


def test_nothing_is_built_before_it_is_dead_and_nothing_is_live_before_it_is_tested():
    found = titles(sheet())
    order = [
        "Get the papers",
        "Look, with every cover on",
        "Make dead and lock",
        "Prove dead",
        "Lay the way",
        "Pull the wire",
        "Connect the far end first",
        "Test while dead",
        "The panel last",
        "Final inspection",
        "Switch on",
        "First charge",
    ]
    places = [found.index(each) for each in order]
    assert places == sorted(places)
    assert [each.number for each in sheet().steps] == list(range(1, len(found) + 1))


def test_a_plan_that_stops_begins_with_what_stops():
    first = sheet().steps[0]
    assert first.title == "Settle what stops"
    assert [each.id for each in first.open_points] == ["circuit.conductor"]
    assert "Settle what stops" not in titles(sheet(TEXT.replace("3 AWG", "1/0 AWG")))


def test_with_the_main_off_the_line_side_is_said_to_stay_live():
    dead = step(sheet(), "Make dead and lock")
    assert dead.signal is SignalWord.DANGER
    assert "stay live" in dead.hold
    assert "utility alone pulls the meter" in dead.hold


def test_an_outdoor_disconnect_makes_the_panel_dead_and_keeps_its_own_line_side_live():
    text = TEXT.replace("emergency_disconnect = false", "emergency_disconnect = true")
    dead = step(sheet(text), "Make dead and lock")
    assert "outdoor disconnect" in dead.does[0]
    assert "own line side" in dead.hold


def test_an_unsaid_outdoor_disconnect_is_looked_for_and_never_relied_on():
    text = TEXT.replace("emergency_disconnect = false\n", "")
    dead = step(sheet(text), "Make dead and lock")
    assert any("outdoor disconnect: look" in each for each in dead.does)
    assert "stay live" in dead.hold


def test_behind_a_feeder_the_device_ahead_of_it_is_locked():
    text = TEXT.replace(
        'id = "charger_circuit"\nfed_from = "main_panel"\npositions = [27, 29]',
        'id = "charger_circuit"\nfed_from = "garage_panel"',
    )
    text = text.replace(
        'not_present = ["heating", "vehicle charging", "solar", '
        '"battery", "generator", "feeder", ',
        'not_present = ["heating", "vehicle charging", "solar", '
        '"battery", "generator", ',
    )
    dead = step(sheet(text + FEEDER), "Make dead and lock")
    assert "feeder to garage_panel, in main_panel" in dead.does[0]
    assert "main_panel stays live" in dead.hold


@pytest.mark.parametrize("scope", ["panel replaced", "service replaced"])
def test_replacing_panel_or_service_is_cut_off_and_given_back_by_the_utility(scope):
    work = sheet(TEXT + f'\n[work]\nscope = "{scope}"\n')
    assert step(work, "Make dead and lock").who == "utility"
    assert step(work, "Switch on").who == "utility"


def test_every_main_of_a_split_bus_is_switched_off():
    text = TEXT.replace(
        '[service.main]\nrating = { value = "200 A", how = "read" }\n'
        'kind = "circuit breaker"\ninterrupting_rating = "22 kA"\n'
        'terminal_temperature = "75 °C"\n',
        '[[service.split_bus_mains]]\nrating = "100 A"\n'
        '[[service.split_bus_mains]]\nrating = "100 A"\n',
    )
    assert "all 2 mains" in step(sheet(text), "Make dead and lock").does[0]


def test_a_split_bus_that_is_only_said_to_be_one_counts_too():
    text = TEXT.replace("spaces = 30", "spaces = 30\nsplit_bus = true")
    assert "all the mains" in step(sheet(text), "Make dead and lock").does[0]


def test_the_first_switch_after_the_meter_is_named_where_it_is_stated():
    text = TEXT.replace(
        'voltage = "240 V"\nmeter_base',
        'voltage = "240 V"\nfirst_disconnect = "main in the garage"\nmeter_base',
    )
    does = step(sheet(text), "Make dead and lock").does
    assert any("main in the garage" in each for each in does)


def test_a_standby_source_that_starts_by_itself_is_off_before_the_main():
    text = TEXT.replace('"generator", ', "") + (
        '\n[[standby]]\nid = "set"\nkind = "generator"\ntransfer = "automatic"\n'
    )
    house = step(sheet(text), "Tell the house")
    assert any("starts by itself the moment the main opens" in s for s in house.does)
    assert house.number < step(sheet(text), "Make dead and lock").number
    manual = text.replace('"automatic"', '"manual"')
    assert not any("by itself" in s for s in step(sheet(manual), "Tell the house").does)


def test_sources_nobody_spoke_of_are_found_out_first():
    text = TEXT.replace('"solar", "battery", "generator", ', "")
    house = step(sheet(text), "Tell the house")
    assert any("solar or battery or generator" in each for each in house.does)


def test_a_source_joined_ahead_of_the_main_is_not_cut_off_by_it():
    text = TEXT.replace('"solar", ', "") + (
        '\n[[sources]]\nid = "roof"\nkind = "solar"\nconnected = "supply side"\n'
    )
    house = step(sheet(text), "Tell the house")
    assert any("ahead of the main is not cut off" in each for each in house.does)
    assert house.hold


def test_proof_of_death_names_six_pairs_and_the_tester_before_and_after():
    proof = step(sheet(), "Prove dead")
    tested = next(each for each in proof.does if each.startswith("Then at the place"))
    assert tested.count(" to ") == 6
    assert [each for each in proof.does if "on something live" in each] == [
        proof.does[1],
        proof.does[-1],
    ]
    assert proof.citation.locator == "NFPA 70E-2021, 120.5(7)"


def test_the_tester_is_tried_on_something_that_is_live_with_the_main_off():
    assert "no receptacle is live" in step(sheet(), "Prove dead").does[1]


def test_nobody_is_told_to_open_a_cover_for_the_inspector():
    for question in sheet().inspector:
        assert "cover off" not in question.at_hand
        assert "take off" not in question.at_hand


def test_a_trench_is_marked_before_and_seen_before_it_is_filled():
    text = TEXT.replace('place = "outdoors"\nwet = true', 'place = "underground"')
    found = titles(sheet(text))
    assert found.index("Have buried services marked") < found.index("Lay the way")
    seen = step(sheet(text), "Rough inspection")
    assert "trench" in seen.hold
    assert seen.number < step(sheet(text), "Pull the wire").number


def test_a_run_in_sight_has_no_rough_inspection():
    text = TEXT.replace('place = "attic"', 'place = "garage"')
    assert "Rough inspection" not in titles(sheet(text))


# --- stop signs -----------------------------------------------------------------


def test_every_sign_the_plan_can_name_says_whom_to_call():
    named = Work.model_fields["signs_seen"].annotation.__args__[0].__args__
    assert set(STOP_SIGNS) == set(named) - {"none"}


def test_a_sign_that_was_seen_stands_first():
    work = sheet(TEXT + '\n[work]\nsigns_seen = ["burnt bus"]\n')
    assert (work.stops[0].sign, work.stops[0].seen) == ("burnt bus", True)
    assert {each.seen for each in work.stops[1:]} == {False}


def test_signs_nobody_looked_for_are_neither_seen_nor_unseen():
    assert {each.seen for each in sheet().stops} == {None}


# --- the inspector --------------------------------------------------------------


def test_the_inspectors_questions_stand_in_the_usual_order():
    asked = [each.question for each in sheet(setting_a=32.0).inspector]
    words = ("permit", "calculation", "breaker", "torque", "printed", "disconnect")
    words += ("ground-fault", "setting", "behind the wall")
    places = [next(n for n, q in enumerate(asked) if word in q) for word in words]
    assert places == sorted(places)


def test_depth_and_setting_are_asked_only_where_there_is_something_to_ask():
    asked = [each.question for each in sheet().inspector]
    assert not any("deep" in each or "setting" in each for each in asked)


def test_an_answer_is_the_gravest_finding_and_nothing_is_judged_anew():
    plan = parse_plan(TEXT)
    found = assess(plan, evidence_of(plan), rules_for(plan), date(2026, 11, 25))
    own = {each.id: each for each in (*found.findings, *found.torque.findings)}
    for question in found.work.inspector:
        held = [own[each] for each in question.findings]
        assert question.answer in held
        assert question.outcome is question.answer.outcome
    wire = next(q for q in found.work.inspector if "printed" in q.question)
    assert (wire.answer.id, wire.outcome) == ("circuit.conductor", Outcome.FALLS_SHORT)


@pytest.mark.parametrize("year", editions())
def test_every_question_has_an_answer_and_something_to_have_at_hand(year):
    for question in sheet(year=year).inspector:
        assert question.answer is not None
        assert question.at_hand


# --- papers and letter ----------------------------------------------------------


def test_a_paper_names_what_the_plan_does_not_state():
    paper = next(p for p in sheet().papers if p.name.startswith("address"))
    assert (paper.state, paper.missing) == ("missing", ("rules.authority",))
    text = TEXT.replace("[rules]\n", '[rules]\nauthority = "invented office"\n')
    paper = next(p for p in sheet(text).papers if p.name.startswith("address"))
    assert (paper.state, paper.missing) == ("ready", ())


def test_a_load_calculation_that_cannot_be_told_is_no_paper_yet():
    text = TEXT.replace('floor_area = "1920 ft²"\n', "")
    papers = {each.name.split(",")[0]: each.state for each in sheet(text).papers}
    assert papers["load calculation"] == "missing"


def test_load_management_brings_a_paper_of_its_own():
    text = TEXT.replace(', "load management"', "") + "\n[load_management]\n"
    text += 'id = "sharing"\nmembers = ["charger"]\nlimit = "80 A"\n'
    paper = next(p for p in sheet(text).papers if p.name.startswith("load management"))
    assert "load_management.watches" in paper.missing


def test_the_letter_says_when_and_for_how_long():
    told = {each.label: each.amount for each in sheet().letter.entries}
    assert (told["usual start"], told["ends by"]) == ("18:30", "06:00")


def test_a_house_out_of_scope_has_no_sheet():
    plan = parse_plan(
        'schema = 1\n[rules]\nedition = "2023"\n[dwelling]\nkind = "apartment"\n'
    )
    found = assess(plan, evidence_of(plan), rules_for(plan), date(2026, 11, 25))
    assert found.work is None


def test_a_bare_plan_has_a_sheet_that_relies_on_nothing():
    work = sheet('schema = 1\n[rules]\nedition = "2023"\n')
    assert "stay live" in step(work, "Make dead and lock").hold
    assert all(paper.state != "ready" for paper in work.papers[:4])
