"""Every terminal on the path: its number, its torque, its tool, what stays live."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from lugbook import actions
from lugbook.assess.spine import assess
from lugbook.assess.torque import torque_in_units, torque_sheet
from lugbook.codebook.edition import open_edition
from lugbook.finding import Outcome, SignalWord, Status, Weight
from lugbook.premises.plan import parse_plan
from lugbook.quantities import Quantity, read

DEMO = Path("examples/potters_house/plan.toml").read_text(encoding="utf-8")
ON = date(2026, 11, 25)
BARE = "schema = 1\n"
# An invented house whose charger hangs on a panel fed from the main one.
FEEDER = """
schema = 1
[service]
id = "service"
utility = "Clayville Light (invented)"
[service.main]
rating = "200 A"
terminal_torque = "250 lbf·in"
[service.conductor]
size = "4/0 AWG"
material = "aluminum"
[[panels]]
id = "main_panel"
fed_from = "service"
[[panels]]
id = "garage_panel"
fed_from = "garage_feeder"
main_lug_torque = "150 lbf·in"
[[feeders]]
id = "garage_feeder"
fed_from = "main_panel"
[feeders.conductor]
size = "1 AWG"
material = "aluminum"
[feeders.overcurrent]
rating = "100 A"
terminal_torque = "5.65 N·m"
[charger]
id = "charger"
terminal_torque = "28 lbf·in"
[circuit]
id = "charger_circuit"
fed_from = "garage_panel"
[circuit.conductor]
size = "6 AWG"
material = "copper"
[circuit.equipment_ground]
kind = "wire"
size = "10 AWG"
material = "copper"
[circuit.disconnect]
kind = "switch"
"""


def sheet_of(text, year="2023"):
    return torque_sheet(parse_plan(text), open_edition(year), ON)


def terminal(text, name):
    return next(each for each in sheet_of(text).terminals if each.name == name)


def with_terminal(at, **fields):
    """Return the feeder house with one terminal stated, leg A unless said."""
    stated = {"id": '"own"', "at": f'"{at}"', "on": '"leg A"', **fields}
    lines = [f"{key} = {said}" for key, said in stated.items() if said]
    return FEEDER + "\n[[circuit.terminals]]\n" + "\n".join(lines)


# --- which terminals ------------------------------------------------------------


def test_the_demo_names_every_terminal_of_its_path():
    names = [each.name for each in sheet_of(DEMO).terminals]
    assert names == [
        "main lugs of main_panel, leg A",
        "main lugs of main_panel, leg B",
        "main lugs of main_panel, neutral",
        "overcurrent device, leg A",
        "overcurrent device, leg B",
        "disconnect line, leg A",
        "disconnect line, leg B",
        "disconnect load, leg A",
        "disconnect load, leg B",
        "charger, leg A",
        "charger, leg B",
        "grounding terminal of the disconnect",
        "charger, ground",
        "grounding bar of main_panel",
    ]


@pytest.mark.parametrize("text", [BARE, DEMO, FEEDER])
def test_terminals_are_numbered_without_a_gap_and_named_once(text):
    terminals = sheet_of(text).terminals
    numbers = [each.number for each in terminals]
    assert numbers == [f"T{n}" for n in range(1, len(terminals) + 1)]
    assert len({each.id for each in terminals}) == len(terminals)
    assert len({each.name for each in terminals}) == len(terminals)


def test_a_feeder_adds_its_own_terminals_ahead_of_the_circuit():
    places = [(each.equipment, each.at) for each in sheet_of(FEEDER).terminals]
    upper = places.index(("main_panel", "overcurrent device"))
    lower = places.index(("garage_panel", "main lugs"))
    assert places.index(("main_panel", "main lugs")) < upper < lower
    assert lower < places.index(("garage_panel", "overcurrent device"))


def test_a_plan_that_says_nothing_still_has_a_sheet_to_fill_in():
    terminals = sheet_of(BARE).terminals
    assert {each.at for each in terminals} >= {
        "main lugs",
        "overcurrent device",
        "charger",
        "grounding bar",
    }
    assert {each.basis for each in terminals} == {"unknown"}
    assert all(each.basis_text for each in terminals)


def test_a_receptacle_stands_where_the_charger_is_plugged_in():
    text = DEMO.replace('"hard-wired"', '"receptacle"')
    places = {each.at for each in sheet_of(text).terminals}
    assert "receptacle" in places
    assert "charger" not in places


def test_a_receptacle_with_a_neutral_has_it_clamped_at_both_ends():
    text = DEMO.replace(
        'connection = "hard-wired"', 'connection = "receptacle"\nreceptacle = "14-50"'
    ).replace("positions = [27, 29]", "positions = [27, 29]\nneutral_pulled = true")
    places = [each.at for each in sheet_of(text).terminals if each.on == "neutral"]
    assert places == ["main lugs", "receptacle", "neutral bar"]


def test_a_breaker_already_in_the_panel_lends_its_torque():
    text = FEEDER.replace(
        'main_lug_torque = "150 lbf·in"\n',
        'main_lug_torque = "150 lbf·in"\n[[panels.breakers]]\npositions = [5, 7]\n'
        'terminal_torque = "45 lbf·in"\n',
    ).replace(
        'fed_from = "garage_panel"\n', 'fed_from = "garage_panel"\npositions = [5, 7]\n'
    )
    found = terminal(text, "overcurrent device, leg A")
    assert found.basis_text == "printed 45 lbf·in (how not said)"


@pytest.mark.parametrize(
    ("on", "size"), [("leg A", "1 AWG"), ("ground", "10 AWG"), ("neutral", None)]
)
def test_a_splice_holds_the_conductor_of_the_section_that_ends_at_it(on, size):
    text = with_terminal("splice", on=f'"{on}"', section='"attic"').replace(
        "[[circuit.terminals]]",
        '[[circuit.sections]]\nid = "attic"\n[circuit.sections.conductor]\n'
        'size = "1 AWG"\n\n[[circuit.terminals]]',
    )
    assert terminal(text, f"splice, {on} (own)").size == size


def test_a_feeders_torque_is_cited_as_the_feeders():
    found = terminal(FEEDER, "overcurrent device, leg A (garage_feeder)")
    assert found.finding.working is not None
    source = found.finding.working.lines[0].source
    assert (
        source
        == "plan, feeders.garage_feeder.overcurrent.terminal_torque, how not said"
    )


def test_a_raceway_as_ground_has_no_wire_to_clamp():
    text = DEMO.replace('kind = "wire"', 'kind = "raceway"')
    assert all(each.at != "grounding bar" for each in sheet_of(text).terminals)


def test_panels_that_feed_each_other_in_a_ring_do_not_hang_the_sheet():
    plan = parse_plan(FEEDER)
    ring = plan.model_copy(
        update={
            "panels": tuple(
                panel.model_copy(update={"fed_from": "garage_feeder"})
                for panel in plan.panels
            )
        }
    )
    assert torque_sheet(ring, open_edition("2023"), ON).terminals


# --- what a terminal says of itself ---------------------------------------------


def test_a_terminal_without_a_word_on_its_conductor_speaks_of_both_poles():
    text = with_terminal("disconnect line", on="", torque='"45 lbf·in"')
    found = [each for each in sheet_of(text).terminals if each.at == "disconnect line"]
    assert [each.id for each in found] == ["own_leg_a", "own_leg_b"]
    assert {each.basis_text for each in found} == {"printed 45 lbf·in (how not said)"}


def test_two_terminals_without_a_word_take_a_pole_each():
    text = with_terminal("disconnect line", on="", torque='"45 lbf·in"')
    text += (
        '\n[[circuit.terminals]]\nid = "other"\nat = "disconnect line"\n'
        'torque = "50 lbf·in"\n'
    )
    found = [each for each in sheet_of(text).terminals if each.at == "disconnect line"]
    assert [each.id for each in found] == ["own", "other"]


def test_what_is_printed_goes_before_the_table():
    text = with_terminal(
        "overcurrent device",
        kind='"hex socket"',
        hex_across_flats='"3/16 in"',
        torque='"45 lbf·in"',
    )
    found = terminal(text, "overcurrent device, leg A")
    assert found.basis == "printed"
    assert found.citation is None


def test_the_table_stands_in_where_nothing_is_printed_and_says_so():
    text = with_terminal(
        "overcurrent device", kind='"hex socket"', hex_across_flats='"3/16 in"'
    )
    found = terminal(text, "overcurrent device, leg A")
    # 120 lbf·in is 13.56 N·m by 0.112985 N·m to the lbf·in
    assert found.target_n_m == pytest.approx(13.558, abs=0.001)
    assert found.basis == "default"
    assert found.basis_text.startswith("nothing printed: Informative Annex I, Table")
    assert found.citation is not None
    assert found.citation.status is Status.CONFIRMED


def test_a_splice_that_may_be_a_split_bolt_is_left_open_with_both_torques():
    found = terminal(with_terminal("splice", kind='"hex head"'), "splice, leg A (own)")
    assert found.target_n_m is None
    assert [each.partition(":")[0] for each in found.choices] == [
        "110 lbf·in",
        "165 lbf·in",
    ]
    assert found.finding.outcome is Outcome.CANNOT_TELL


def test_an_unknown_torque_says_where_to_look():
    found = terminal(FEEDER, "disconnect line, leg A")
    assert found.finding.outcome is Outcome.CANNOT_TELL
    assert "label inside its cover" in found.finding.next


# --- what stays live ------------------------------------------------------------


def live_of(text):
    return [each for each in sheet_of(text).terminals if each.live]


@pytest.mark.parametrize("text", [BARE, DEMO, FEEDER])
def test_lugs_on_the_service_side_are_never_offered_for_tightening(text):
    live = live_of(text)
    assert [each.on for each in live] == ["leg A", "leg B", "neutral"]
    for each in live:
        assert each.live.startswith("Not by you while live")
        assert "call" in each.live.lower()
        assert each.tool is None
        assert each.finding.signal is SignalWord.DANGER
        assert each.finding.outcome is Outcome.NOT_REQUIRED


def test_whom_to_call_is_named_where_the_plan_names_it():
    assert "Clayville Light (invented)" in live_of(FEEDER)[0].live


def test_with_an_outdoor_disconnect_it_says_when_the_lugs_are_dead():
    text = FEEDER.replace(
        'id = "service"\n', 'id = "service"\nemergency_disconnect = true\n'
    )
    assert "outdoor emergency disconnect open" in live_of(text)[0].live


def test_the_lugs_of_a_panel_behind_a_feeder_may_be_made_dead():
    assert not terminal(FEEDER, "main lugs of garage_panel, leg A").live


def test_a_panel_whose_feed_is_not_stated_counts_as_live():
    text = FEEDER.replace('id = "garage_panel"\nfed_from = "garage_feeder"\n', "")
    text = text.replace("main_lug_torque", 'id = "garage_panel"\nmain_lug_torque')
    assert any("garage_panel" in each.name for each in live_of(text))


def test_a_meter_base_is_under_seal_and_stands_first():
    first = sheet_of(with_terminal("meter base", on="")).terminals[0]
    assert first.at == "meter base"
    assert first.live == "Not by you: sealed and live. Call Clayville Light (invented)."


# --- the tool -------------------------------------------------------------------


def test_the_demos_wrench_is_too_large_for_its_lugs():
    found = terminal(DEMO, "overcurrent device, leg A")
    assert found.tool is not None
    assert found.tool.why.startswith("50 lbf·in is under 20 % of its scale")
    assert found.finding.outcome is Outcome.FALLS_SHORT
    assert found.finding.weight is Weight.ADVICE


def test_without_a_tool_nothing_is_said_to_be_possible():
    found = terminal(FEEDER, "charger, leg A")
    assert found.tool is None
    assert found.finding.outcome is Outcome.CANNOT_TELL


def test_a_fit_and_calibrated_tool_meets():
    text = FEEDER + (
        '\n[[wrenches]]\nid = "driver"\nsmallest = "10 lbf·in"\n'
        'largest = "60 lbf·in"\nreads_in = "N·m"\ncalibrated = 2026-03-01\n'
    )
    found = terminal(text, "charger, leg A")
    assert found.finding.outcome is Outcome.MEETS
    assert found.unit == "N·m"


def test_a_torque_is_shown_in_three_units_that_of_the_tool_first():
    # 200 lbf·in is 22.6 N·m and 200 / 12 = 16.67 lbf·ft
    torque_n_m = read("200 lbf·in", Quantity.TORQUE, field="torque").amount
    assert torque_in_units(torque_n_m, "lbf·ft") == (
        "16.67 lbf·ft (200 lbf·in, 22.6 N·m)"
    )


# --- already tightened ----------------------------------------------------------


@pytest.mark.parametrize(
    ("reached", "outcome"),
    [
        # 50 lbf·in: 6 % under is 47, a tenth over is 55.
        ("46.9 lbf·in", Outcome.FALLS_SHORT),
        ("47 lbf·in", Outcome.MEETS),
        ("50 lbf·in", Outcome.MEETS),
        ("55 lbf·in", Outcome.MEETS),
        ("55.1 lbf·in", Outcome.FALLS_SHORT),
        ("50 lbf·ft", Outcome.CANNOT_TELL),
        ("50 N·m", Outcome.CANNOT_TELL),
        ("5.65 lbf·in", Outcome.CANNOT_TELL),  # 1/8.85
    ],
)
def test_a_reached_torque_is_judged_against_its_target(reached, outcome):
    text = with_terminal(
        "disconnect load", torque='"50 lbf·in"', torque_reached=f'"{reached}"'
    )
    assert terminal(text, "disconnect load, leg A").finding.outcome is outcome


def test_over_torque_means_replace_and_never_loosen():
    text = with_terminal(
        "disconnect load", torque='"50 lbf·in"', torque_reached='"56 lbf·in"'
    )
    finding = terminal(text, "disconnect load, leg A").finding
    assert finding.id == "torque.own"
    assert "Replace the connector" in finding.next
    assert "never loosen" in finding.next
    assert finding.weight is Weight.MUST
    assert finding.signal is SignalWord.WARNING


def test_a_doubtful_unit_is_asked_and_says_what_follows_if_it_is_right():
    text = with_terminal(
        "disconnect load", torque='"50 lbf·in"', torque_reached='"50 lbf·ft"'
    )
    finding = terminal(text, "disconnect load, leg A").finding
    assert finding.next.startswith("Is the unit right?")
    assert "If it is right: replace the connector" in finding.next


def test_a_defect_on_the_service_side_is_told_to_those_who_may_touch_it():
    text = with_terminal(
        "meter base", on="", torque='"250 lbf·in"', torque_reached='"100 lbf·in"'
    )
    finding = sheet_of(text).terminals[0].finding
    assert finding.next.startswith("Not by you")
    assert "Tell them" in finding.next


def test_both_in_another_unit_give_the_same_outcome():
    # Relation 27: 45 lbf·in is 3.75 lbf·ft; 52 lbf·in is 4.3333 lbf·ft.
    outcomes = {
        terminal(
            with_terminal(
                "disconnect load",
                torque=f'"{target}"',
                torque_reached=f'"{reached}"',
            ),
            "disconnect load, leg A",
        ).finding.outcome
        for target, reached in (
            ("45 lbf·in", "52 lbf·in"),
            ("3.75 lbf·ft", "4.3333 lbf·ft"),
            ("5.0843 N·m", "5.8752 N·m"),
        )
    }
    assert outcomes == {Outcome.FALLS_SHORT}


# --- within the whole answer ----------------------------------------------------


def assessed(text):
    plan = parse_plan(text)
    return assess(plan, actions.evidence_of(plan), actions.rules_for(plan, "2023"), ON)


def test_only_what_was_done_wrongly_weighs_on_the_answer():
    ids = [finding.id for finding in assessed(DEMO).findings]
    assert not [each for each in ids if each.startswith("torque.")]


def test_what_was_done_wrongly_is_among_the_findings():
    text = DEMO + (
        '\n[[circuit.terminals]]\nid = "lug_a"\nat = "overcurrent device"\n'
        'on = "leg A"\ntorque_reached = "80 lbf·in"\n'
    )
    found = {finding.id: finding for finding in assessed(text).findings}
    assert found["torque.lug_a"].outcome is Outcome.FALLS_SHORT


def test_a_house_out_of_scope_gets_no_sheet():
    assert assessed(BARE + '[dwelling]\nkind = "apartment"\n').torque is None


@pytest.mark.parametrize(
    ("year", "said"), [("2017", "a calibrated torque tool"), ("2020", "approved means")]
)
def test_the_edition_says_by_which_means(year, said):
    assert said in sheet_of(BARE, year).means
