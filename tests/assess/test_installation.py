"""Each finding of the installation: just under, at, just over; yes, no, unknown."""

from __future__ import annotations

import pytest
from inspected import (
    breaker,
    charger,
    circuit,
    finding,
    inspected,
    outcome,
    panel,
    run,
    section,
)

from lugbook.finding import Outcome, SignalWord, Weight

MEETS, SHORT, OPEN, NONE = "meets", "falls_short", "cannot_tell", "not_required"
STOPS = (
    "burnt stab",
    "corroded bus",
    "water marks",
    "melted insulation",
    "smell of burning",
    "breaker family under recall",
)
FED = 'fed_from = "main_panel"'


# --- panel ----------------------------------------------------------------------


@pytest.mark.parametrize("word", STOPS)
def test_a_panel_that_burns_or_cannot_trip_stops_everything(word):
    found = inspected(panel(f'condition = ["{word}"]'), charger(), circuit())
    each = finding(found, "panel.condition.main_panel")
    assert (each.outcome, each.weight) == (Outcome.FALLS_SHORT, Weight.STOP)
    assert each.signal is SignalWord.WARNING
    assert each.next.startswith("Switch the main off")
    assert "go on when" in each.next


@pytest.mark.parametrize(
    ("word", "weight"),
    [
        ("open knockouts", Weight.MUST),
        ("two wires under one screw", Weight.MUST),
        ("label not legible", Weight.ADVICE),
    ],
)
def test_lesser_flaws_weigh_less(word, weight):
    found = inspected(panel(f'condition = ["{word}"]'))
    each = finding(found, "panel.condition.main_panel")
    assert (each.outcome, each.weight) == (Outcome.FALLS_SHORT, weight)


def test_the_gravest_of_several_flaws_decides():
    found = inspected(panel('condition = ["label not legible", "burnt stab"]'))
    each = finding(found, "panel.condition.main_panel")
    assert (each.found, each.weight) == ("burnt stab", Weight.STOP)


@pytest.mark.parametrize(
    ("wires", "weight", "later"),
    [("", Weight.ADVICE, True), (circuit(top=FED), Weight.MUST, False)],
)
def test_a_panel_nobody_opened_binds_once_a_circuit_is_proposed(wires, weight, later):
    found = inspected(panel(), charger(), wires)
    each = finding(found, "panel.condition.main_panel")
    assert (each.outcome, each.weight) == (Outcome.CANNOT_TELL, weight)
    asked = [u for u in found.unknowns if u.field == "panels.main_panel.condition"]
    assert [each.later for each in asked] == [later]


@pytest.mark.parametrize(
    ("depth", "expected"), [("35.9 in", SHORT), ("36 in", MEETS), ("36.1 in", MEETS)]
)
def test_working_space_at_its_limit(depth, expected):
    lines = (f'working_depth = "{depth}"', 'working_width = "30 in"')
    found = outcome("panel.working_space", panel(*lines, 'working_height = "78 in"'))
    assert found == expected


def test_one_missing_measure_leaves_the_working_space_open_as_advice():
    found = inspected(panel('working_depth = "36 in"', 'working_width = "30 in"'))
    each = finding(found, "panel.working_space")
    assert (each.outcome, each.weight) == (Outcome.CANNOT_TELL, Weight.ADVICE)
    assert [u.field for u in found.unknowns if "working" in u.field] == [
        "panels.main_panel.working_height"
    ]


@pytest.mark.parametrize(
    ("height", "expected"), [("78.9 in", MEETS), ("79 in", MEETS), ("79.1 in", SHORT)]
)
def test_the_highest_handle_at_its_limit(height, expected):
    assert outcome("panel.handle_height", panel(f'highest_handle = "{height}"')) == (
        expected
    )


@pytest.mark.parametrize(
    ("room", "expected"),
    [
        ("garage", MEETS),
        ("clothes closet", SHORT),
        ("bathroom", SHORT),
        ("over steps", SHORT),
    ],
)
def test_rooms_a_panel_may_not_hang_in(room, expected):
    assert outcome("panel.room", panel(f'room = "{room}"')) == expected


@pytest.mark.parametrize(
    ("neutral", "expected"), [("true", SHORT), ("false", MEETS), (None, OPEN)]
)
def test_a_subpanel_keeps_neutral_and_ground_apart(neutral, expected):
    lines = ["separate_grounding_bar = true", "neutrals_share_holes = false"]
    if neutral:
        lines.append(f"neutral_bonded = {neutral}")
    sub = '[[panels]]\nid = "sub"\nfed_from = "main_panel"\n' + "\n".join(lines)
    found = outcome(
        "panel.subpanel.sub", panel(), sub, charger(), circuit(top='fed_from = "sub"')
    )
    assert found == expected


# --- breaker --------------------------------------------------------------------


@pytest.mark.parametrize(
    ("positions", "spaces", "legs"),
    [
        ([27, 29], MEETS, MEETS),
        ([28, 30], MEETS, MEETS),
        ([27, 28], SHORT, SHORT),  # across from each other: one row, one leg, 0 V
        ([27, 31], SHORT, SHORT),
        ([1, 3], SHORT, MEETS),  # taken
        ([29, 31], SHORT, MEETS),  # beyond the last space
    ],
)
def test_a_two_pole_breaker_takes_two_free_rows(positions, spaces, legs):
    where = f"{FED}\npositions = {positions}"
    house = (
        panel("spaces = 30", breakers=breaker([1, 3], 30)),
        charger(),
        circuit(top=where),
    )
    assert outcome("panel.spaces", *house) == spaces
    assert outcome("panel.both_legs", *house) == legs


@pytest.mark.parametrize(
    ("free", "expected"), [("[5, 7]", MEETS), ("[5, 6]", SHORT), ("[]", OPEN)]
)
def test_without_a_position_a_pair_of_free_spaces_is_looked_for(free, expected):
    found = outcome("panel.spaces", panel(f"free_positions = {free}"))
    assert found == expected


def test_a_tandem_breaker_puts_both_poles_on_one_leg():
    own = breaker([5], 60, "tandem = true", 'serves = ["charger"]')
    assert outcome("panel.both_legs", panel(breakers=own), charger()) == SHORT


@pytest.mark.parametrize(
    ("allowed", "expected"), [("[5]", MEETS), ("[7]", SHORT), ("[]", OPEN)]
)
def test_tandems_sit_where_the_label_allows_them(allowed, expected):
    tandem = breaker([5], 20, "tandem = true")
    house = panel(f"tandem_allowed_positions = {allowed}", breakers=tandem)
    assert outcome("panel.tandems", house) == expected


@pytest.mark.parametrize(
    ("label", "expected"), [("50 A", SHORT), ("60 A", MEETS), ("70 A", MEETS)]
)
def test_the_largest_breaker_on_the_label(label, expected):
    house = panel(f'largest_breaker_on_label = "{label}"')
    assert outcome("panel.largest_breaker", house, charger(), circuit(top=FED)) == (
        expected
    )


@pytest.mark.parametrize(
    ("limit", "expected"), [("109 A", SHORT), ("110 A", MEETS), (None, OPEN)]
)
def test_the_stab_carries_this_breaker_and_the_one_across(limit, expected):
    # By hand: 60 A in 27 and 29, 50 A across in 28 and 30: 110 A on a stab.
    lines = [f'stab_limit = "{limit}"'] if limit else []
    house = panel(*lines, breakers=breaker([28, 30], 50))
    where = f"{FED}\npositions = [27, 29]"
    assert outcome("panel.stab_sum", house, charger(), circuit(top=where)) == expected


@pytest.mark.parametrize(
    ("device", "expected"),
    [
        ('type = "type P"', MEETS),
        ('type = "type Q"', SHORT),
        ('type = "type Q"\nlisted_for_panel = true', MEETS),
        ('type = "type P"\nlisted_for_panel = false', SHORT),
        ("", OPEN),
    ],
)
def test_the_breaker_stands_on_the_label_or_a_classified_list(device, expected):
    house = panel('breaker_types_on_label = ["type P"]')
    wires = circuit(top=FED, device_extra=device)
    found = finding(inspected(house, charger(), wires), "panel.breaker_identified")
    assert found.outcome.value == expected
    assert found.weight is Weight.MUST


@pytest.mark.parametrize(
    ("at", "expected"), [([25], SHORT), ([28], SHORT), ([9], MEETS)]
)
def test_a_neighbour_that_runs_for_hours_is_advised_against(at, expected):
    house = panel(breakers=breaker(at, 50, 'serves = ["kiln"]'))
    kiln = '[[loads]]\nid = "kiln"\nkind = "kiln"\ncontinuous = true\n'
    wires = circuit(top=f"{FED}\npositions = [27, 29]")
    found = finding(inspected(house, charger(), wires, kiln), "panel.neighbours")
    assert (found.outcome.value, found.weight) == (expected, Weight.ADVICE)


def test_no_arc_fault_breaker_is_asked_for():
    assert outcome("panel.arc_fault", panel()) == NONE


# --- run ------------------------------------------------------------------------

RIGHT = '"90 deg"'


@pytest.mark.parametrize(
    ("bends", "expected"),
    [([RIGHT] * 4, MEETS), ([RIGHT] * 4 + ['"1 deg"'], SHORT), ([RIGHT] * 3, MEETS)],
)
def test_bends_at_their_limit(bends, expected):
    part = section(extra=f"bends = [{', '.join(bends)}]")
    assert outcome("run.bends", charger(), run(part)) == expected


@pytest.mark.parametrize(("opens", "expected"), [("true", MEETS), ("false", SHORT)])
def test_only_a_fitting_that_opens_parts_the_bends(opens, expected):
    body = f'[[circuit.sections.conduit_bodies]]\nkind = "LB"\naccessible = {opens}\n'
    part = section(extra=f"bends = [{', '.join([RIGHT] * 5)}]")
    found = outcome("run.bends", charger(), run(part + body + "bends_before = 2\n"))
    assert found == expected


def test_bends_nobody_counted_can_only_add():
    known = section("a", extra=f"bends = [{', '.join([RIGHT] * 5)}]")
    few = section("a", extra=f"bends = [{RIGHT}]")
    assert outcome("run.bends", charger(), run(known, section("b"))) == SHORT
    assert outcome("run.bends", charger(), run(few, section("b"))) == OPEN


@pytest.mark.parametrize(
    ("body", "expected"),
    [
        ('inside_length = "5.9 in"\nmarked_for_conductors = false', SHORT),
        ('inside_length = "6 in"', MEETS),
        ('inside_length = "5.9 in"', OPEN),
        ("marked_for_conductors = true", MEETS),
        ("", OPEN),
    ],
)
def test_a_1_in_elbow_needs_6_in_or_a_mark(body, expected):
    part = section(extra='trade_size = "1"')
    fitting = f'[[circuit.sections.conduit_bodies]]\nkind = "LB"\n{body}\n'
    wires = run(part + fitting, device=100, size="3 AWG")
    assert outcome("run.conduit_bodies", charger(80), wires) == expected


@pytest.mark.parametrize(
    ("depth", "driveway", "expected"),
    [
        ("17.9 in", "false", SHORT),
        ("18 in", "false", MEETS),
        ("18 in", "true", MEETS),
        (None, "false", OPEN),
    ],
)
def test_pvc_lies_18_in_deep(depth, driveway, expected):
    lines = [f"under_driveway = {driveway}"]
    lines += [f'burial_depth = "{depth}"'] if depth else []
    part = section(method="PVC 40", place="underground", extra="\n".join(lines))
    assert outcome("run.cover", charger(), run(part)) == expected


@pytest.mark.parametrize(("depth", "expected"), [("6 in", OPEN), ("18 in", MEETS)])
def test_rigid_metal_needs_more_only_under_a_driveway(depth, expected):
    part = section(method="RMC", place="underground", extra=f'burial_depth = "{depth}"')
    assert outcome("run.cover", charger(), run(part)) == expected


@pytest.mark.parametrize(
    ("spacing", "expected"), [("120 in", MEETS), ("121 in", SHORT), (None, OPEN)]
)
def test_emt_is_strapped_every_10_ft(spacing, expected):
    lines = ['first_support = "36 in"']
    lines += [f'support_spacing = "{spacing}"'] if spacing else []
    part = section(extra="\n".join(lines))
    assert outcome("run.supports", charger(), run(part)) == expected


@pytest.mark.parametrize(
    ("coldest", "fittings", "expected"),
    [
        # By hand: 10 ft = 120 in; 0.25 in ÷ (3.38e-5 × 120 in) = 61.6 °F = 34.2 K.
        ("-4 °C", "0", MEETS),
        ("-4.3 °C", "0", SHORT),
        ("-4.3 °C", "1", MEETS),
        ("-4.3 °C", None, OPEN),
    ],
)
def test_pvc_in_the_open_needs_room_from_a_quarter_inch_on(coldest, fittings, expected):
    lines = [f'coldest = "{coldest}"']
    lines += [f"expansion_fittings = {fittings}"] if fittings else []
    part = section(
        method="PVC 40", place="outdoors", length="10 ft", extra="\n".join(lines)
    )
    assert outcome("run.expansion", charger(), run(part)) == expected


@pytest.mark.parametrize(
    ("name", "method", "place", "field"),
    [
        ("run.rain", "EMT", "outdoors", "raintight_fittings"),
        ("run.seals", "PVC 40", "underground", "ends_sealed"),
        ("run.risers", "PVC 40", "underground", "risers_protected"),
        ("run.metal_bond", "EMT", "garage", "fittings_tight"),
    ],
)
@pytest.mark.parametrize(
    ("said", "expected"), [("true", MEETS), ("false", SHORT), (None, OPEN)]
)
def test_yes_no_and_unknown_of_the_run(name, method, place, field, said, expected):
    extra = f"{field} = {said}" if said else ""
    part = section(method=method, place=place, extra=extra)
    assert outcome(name, charger(), run(part)) == expected


@pytest.mark.parametrize(
    ("extra", "expected"),
    [
        ("crosses_fire_wall = true\nfire_sealed = true", MEETS),
        ("crosses_fire_wall = true\nfire_sealed = false", SHORT),
        ("crosses_fire_wall = true", OPEN),
        ("", OPEN),
    ],
)
def test_holes_in_the_fire_wall(extra, expected):
    part = section(place="garage", extra=extra)
    assert outcome("run.fire_wall", charger(), run(part)) == expected


@pytest.mark.parametrize(
    ("extra", "expected"),
    [
        ('edge_distance = "1.24 in"', SHORT),
        ('edge_distance = "1.25 in"', MEETS),
        ('edge_distance = "1 in"\nnail_plates = true', MEETS),
        ("", OPEN),
    ],
)
def test_holes_near_the_face_of_a_stud(extra, expected):
    part = section(method="NM cable", place="in a wall", extra=extra)
    assert outcome("run.bored_holes", charger(), run(part)) == expected


@pytest.mark.parametrize(
    ("exposed", "expected"), [("true", SHORT), ("false", MEETS), (None, OPEN)]
)
def test_cable_within_reach_of_a_car_is_not_protected(exposed, expected):
    extra = f"exposed_to_damage = {exposed}" if exposed else ""
    part = section(method="NM cable", place="garage", extra=extra)
    assert outcome("run.protection", charger(), run(part)) == expected
