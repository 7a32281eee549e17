"""Room inside enclosures, reach of the disconnect, main, and chargers that share."""

from __future__ import annotations

import pytest
from circuit_plans import charger, circuit, judge, plan, section
from inspected import finding, inspected, outcome, panel

from lugbook.finding import Outcome, Weight
from lugbook.premises.plan import parse_plan

MEETS, SHORT, OPEN = "meets", "falls_short", "cannot_tell"
FED = 'fed_from = "main_panel"'


# --- bending space --------------------------------------------------------------


@pytest.mark.parametrize(
    ("space", "expected"),
    [
        ("1.9 in", SHORT),  # 3 AWG: 2 in sideways, 3 in through the wall opposite
        ("2 in", OPEN),
        ("2.9 in", OPEN),
        ("3 in", MEETS),
        (None, OPEN),
    ],
)
def test_bending_space_in_the_panel(space, expected):
    lines = () if space is None else (f'bending_space = "{space}"',)
    house = (panel(*lines), charger(80), circuit(100, "3 AWG", ground="8 AWG", top=FED))
    assert outcome("panel.bending_space", *house) == expected


def test_small_wire_has_no_bending_space_to_keep():
    found = inspected(panel(), charger(24), circuit(30, "10 AWG", top=FED))
    assert "panel.bending_space" not in [each.id for each in found.findings]


def test_bending_space_in_the_disconnect():
    extra = '[circuit.disconnect]\nkind = "switch"\nrating = "100 A"\n'
    for space, expected in (("1.9 in", SHORT), ("3 in", MEETS)):
        house = circuit(
            100,
            "3 AWG",
            ground="8 AWG",
            extra=f'{extra}bending_space = "{space}"\n',
        )
        assert outcome("place.bending_space", charger(80), house) == expected


# --- disconnect -----------------------------------------------------------------


@pytest.mark.parametrize(
    ("lines", "year", "expected"),
    [
        ("readily_accessible = true\nin_sight = true", "2023", MEETS),
        ("readily_accessible = false\nin_sight = true", "2023", SHORT),
        ("readily_accessible = true\nin_sight = false", "2023", OPEN),
        ("readily_accessible = true\nin_sight = false\nplaque = false", "2023", SHORT),
        ("readily_accessible = true\nin_sight = false\nplaque = true", "2023", MEETS),
        ("readily_accessible = true", "2023", OPEN),
        # The sign is new in 2023.
        ("readily_accessible = true\nin_sight = false\nplaque = false", "2020", MEETS),
    ],
)
def test_a_disconnect_is_to_be_reached_and_found(lines, year, expected):
    extra = f'[circuit.disconnect]\nkind = "switch"\nrating = "100 A"\n{lines}\n'
    house = circuit(100, "3 AWG", ground="8 AWG", extra=extra)
    assert outcome("place.disconnect_reach", charger(80), house, year=year) == expected


def test_where_no_disconnect_is_asked_for_its_reach_is_not_judged():
    extra = '[circuit.disconnect]\nkind = "switch"\nrating = "60 A"\n'
    found = inspected(charger(48), circuit(extra=extra))
    assert "place.disconnect_reach" not in [each.id for each in found.findings]


# --- boxes and splices ----------------------------------------------------------


def boxed(length, *, terminals=""):
    body = (
        '[[circuit.sections.conduit_bodies]]\nkind = "box"\n'
        f'inside_length = "{length}"\ninside_width = "2 in"\ninside_depth = "2.5 in"\n'
    )
    extra = 'trade_size = "1"\n' + body
    return circuit(60, "6 AWG", sections=section(extra=extra) + terminals)


@pytest.mark.parametrize(
    ("length", "expected"),
    [
        # Two legs of 6 AWG that pass: 2 × 5, grounds of 10 AWG 2.5: 12.5 in³.
        # Joined there, with clamps inside: 5 × 5 + 2.5 = 27.5 in³. Box: length × 5 in².
        ("2.4 in", SHORT),
        ("2.5 in", OPEN),
        ("5.4 in", OPEN),
        ("5.5 in", MEETS),
    ],
)
def test_the_volume_of_a_box_by_hand(length, expected):
    assert outcome("run.box_volume", charger(48), boxed(length)) == expected


def test_a_stated_splice_in_the_box_raises_the_least():
    # Four ends: 4 × 5 + 2.5 = 22.5 in³, so 4.4 in × 5 in² = 22 in³ falls short.
    splice = '[[circuit.terminals]]\nid = "joint"\nat = "splice"\ninside = "box"\n'
    house = boxed("4.4 in", terminals=splice)
    assert outcome("run.box_volume", charger(48), house) == SHORT


@pytest.mark.parametrize("inside", ['inside = "panel"', ""])
def test_a_splice_in_a_panel_is_never_passed(inside):
    splice = f'[[circuit.terminals]]\nid = "joint"\nat = "splice"\n{inside}\n'
    found = inspected(panel(), charger(48), circuit(top=FED, extra=splice))
    each = finding(found, "panel.splices")
    assert (each.outcome, each.weight) == (Outcome.CANNOT_TELL, Weight.ADVICE)
    assert "40 %" in each.limit
    assert "75 %" in each.limit


def test_a_splice_in_a_box_is_no_matter_of_the_panel():
    splice = '[[circuit.terminals]]\nid = "joint"\nat = "splice"\ninside = "box"\n'
    found = inspected(panel(), charger(48), circuit(top=FED, extra=splice))
    assert "panel.splices" not in [each.id for each in found.findings]


# --- main -----------------------------------------------------------------------


def main_of(main, bus, wire='size = "4/0 AWG"\nmaterial = "aluminum"', meter=None):
    base = f'meter_base_rating = "{meter}"\n' if meter else ""
    return parse_plan(
        'schema = 1\n[service]\nid = "service"\nsystem = "120/240 V split-phase"\n'
        f'{base}[service.main]\nrating = "{main}"\n[service.conductor]\n{wire}\n'
        f'[[panels]]\nid = "main_panel"\nfed_from = "service"\nbus_rating = "{bus}"\n'
    )


def protects(house):
    from lugbook.assess.capacity import wish_of
    from lugbook.assess.installation import inspect
    from lugbook.codebook.edition import open_edition

    found = inspect(house, open_edition("2023"), wish_of(house, None))
    return finding(found, "panel.main_protects")


@pytest.mark.parametrize(
    ("main", "expected"), [("175 A", MEETS), ("200 A", MEETS), ("225 A", SHORT)]
)
def test_a_main_larger_than_the_bus_falls_short(main, expected):
    found = protects(main_of(main, "200 A", 'size = "300 kcmil"\nmaterial = "copper"'))
    assert found.outcome.value == expected
    if expected == SHORT:
        assert found.weight is Weight.MUST


@pytest.mark.parametrize(
    ("size", "main", "expected"),
    [
        # Whole-dwelling size: 2 AWG aluminum serves 100 A, and 90 A × next size = 90 A.
        ("2 AWG", "100 A", MEETS),
        ("2 AWG", "110 A", SHORT),
        ("2 AWG", "200 A", SHORT),
    ],
)
def test_a_main_larger_than_the_service_conductor_falls_short(size, main, expected):
    wire = f'size = "{size}"\nmaterial = "aluminum"'
    assert protects(main_of(main, "200 A", wire)).outcome.value == expected


def test_a_smaller_meter_base_is_asked_about_and_binds_nobody():
    found = protects(main_of("200 A", "200 A", meter="125 A"))
    assert (found.outcome, found.weight) == (Outcome.FALLS_SHORT, Weight.ADVICE)
    assert "utility" in found.next


def test_the_mains_of_a_split_bus_are_not_judged_as_one():
    house = plan(
        '[[service.split_bus_mains]]\nrating = "100 A"\n',
        '[[panels]]\nid = "main_panel"\nfed_from = "service"\nbus_rating = "60 A"\n',
    )
    from lugbook.assess.capacity import wish_of
    from lugbook.assess.installation import inspect
    from lugbook.codebook.edition import open_edition

    found = inspect(house, open_edition("2023"), wish_of(house, None))
    assert "panel.main_protects" not in [each.id for each in found.findings]


# --- chargers that share --------------------------------------------------------

SECOND = (
    '[[loads]]\nid = "second"\nkind = "vehicle charging"\nnameplate_current = "32 A"\n'
    'voltage = "240 V"\nleg = "both"\nfed_from = "charger_circuit"\n'
)


def managed(limit="48 A", watches="branch circuit", members='["charger", "second"]'):
    return (
        f'[load_management]\nid = "sharing"\nmembers = {members}\nlimit = "{limit}"\n'
        f'watches = "{watches}"\nwatched_id = "charger_circuit"\n'
    )


def own_circuit(*tables, year="2023"):
    found = judge(charger(32), circuit(), *tables, year=year)
    return next(
        each.finding for each in found.items if each.item == "individual_branch_circuit"
    )


def test_a_second_charger_on_the_circuit_without_management_falls_short():
    found = own_circuit(SECOND)
    assert (found.outcome, found.weight) == (Outcome.FALLS_SHORT, Weight.MUST)
    assert "second" in found.found


@pytest.mark.parametrize(
    ("year", "expected"),
    [("2017", SHORT), ("2020", SHORT), ("2023", MEETS), ("2026", MEETS)],
)
def test_a_managed_group_may_share_a_branch_circuit_since_2023(year, expected):
    assert own_circuit(SECOND, managed(), year=year).outcome.value == expected


def test_management_of_one_of_them_is_not_enough():
    assert own_circuit(SECOND, managed(members='["charger"]')).outcome.value == SHORT


@pytest.mark.parametrize(
    ("limit", "expected"), [("47.9 A", MEETS), ("48 A", MEETS), ("48.1 A", SHORT)]
)
def test_the_group_against_device_and_wire(limit, expected):
    # 60 A ÷ 1.25 = 48 A; 6 AWG copper at 75 °C bears 65 A.
    house = (charger(32), circuit(), SECOND, managed(limit))
    assert outcome("management.shared_circuit", *house) == expected


def test_a_wire_that_bears_one_charger_does_not_bear_the_group():
    # 8 AWG copper at 75 °C bears 50 A: enough for 32 A, not for 1.25 × 48 A.
    house = (charger(32), circuit(60, "8 AWG"), SECOND, managed())
    assert outcome("management.shared_circuit", *house) == SHORT


def test_without_a_limit_for_the_circuit_the_group_is_open():
    house = (charger(32), circuit(), SECOND, managed(watches="service"))
    assert outcome("management.shared_circuit", *house) == OPEN


def branch(size, device=""):
    return (
        '[[other_circuits]]\nid = "branch"\nfed_from = "charger_circuit"\n'
        f'serves = ["second"]\n{device}[other_circuits.conductor]\nsize = "{size}"\n'
        'material = "copper"\n'
    )


@pytest.mark.parametrize(
    ("size", "expected"),
    [
        ("4 AWG", MEETS),
        ("6 AWG", MEETS),  # as large as the shared wire
        ("8 AWG", SHORT),  # 50 A: a 60 A device does not protect it
    ],
)
def test_a_wire_that_branches_off_is_protected_or_refused(size, expected):
    house = (charger(32), circuit(), SECOND, managed(), branch(size))
    assert outcome("management.branch.second", *house) == expected


def test_a_smaller_branch_that_the_table_alone_would_allow_stays_open():
    # Shared 4 AWG; 6 AWG bears 65 A by the table, its own place is not known.
    house = (charger(32), circuit(60, "4 AWG"), SECOND, managed(), branch("6 AWG"))
    assert outcome("management.branch.second", *house) == OPEN


def test_an_undescribed_branch_binds_while_it_is_open():
    found = inspected(charger(32), circuit(), SECOND, managed())
    each = finding(found, "management.branch.second")
    assert (each.outcome, each.weight) == (Outcome.CANNOT_TELL, Weight.MUST)


def test_a_branch_behind_its_own_device_is_said_to_be_a_feeder():
    device = '[other_circuits.overcurrent]\nrating = "40 A"\n'
    house = (charger(32), circuit(), SECOND, managed(), branch("8 AWG", device))
    found = finding(inspected(*house), "management.branch.second")
    assert found.outcome is Outcome.CANNOT_TELL
    assert "feeder" in found.next


# --- the charger's own ----------------------------------------------------------


@pytest.mark.parametrize(
    ("lines", "expected"),
    [
        ('receptacle_grade = "household"', SHORT),
        ('receptacle_grade = "industrial"', MEETS),
        (
            'receptacle_grade = "household"\nreceptacle_listed_for_vehicles = true',
            MEETS,
        ),
        ("", OPEN),
    ],
)
def test_a_household_receptacle_is_warned_of(lines, expected):
    plugged = charger(40, connection="receptacle", extra=lines)
    found = finding(inspected(plugged, circuit(50)), "place.receptacle_grade")
    assert (found.outcome.value, found.weight) == (expected, Weight.ADVICE)


def test_a_charger_that_is_wired_in_has_no_receptacle_to_grade():
    found = inspected(charger(40), circuit(50))
    assert "place.receptacle_grade" not in [each.id for each in found.findings]


@pytest.mark.parametrize(
    ("kind", "expected"), [("Type P", MEETS), ("type q", OPEN), (None, OPEN)]
)
def test_a_prescribed_breaker_is_compared_and_never_guessed(kind, expected):
    wanted = charger(48, extra='breaker_type_prescribed = "type P"')
    device = "" if kind is None else f'type = "{kind}"'
    found = inspected(wanted, circuit(device_extra=device))
    each = finding(found, "place.breaker_prescribed")
    assert each.outcome.value == expected
    if expected == OPEN:
        assert each.weight is Weight.MUST
