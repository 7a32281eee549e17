"""The installation beyond panel and run: place, sources, management, ground, papers."""

from __future__ import annotations

import re
import tomllib
from fnmatch import fnmatchcase
from pathlib import Path

import pytest
from inspected import (
    breaker,
    charger,
    circuit,
    finding,
    inspected,
    outcome,
    panel,
)

from lugbook.actions import rules_for
from lugbook.assess.capacity import wish_of
from lugbook.assess.installation import inspect
from lugbook.assess.load_letter import load_letter
from lugbook.codebook.edition import editions, open_edition
from lugbook.errors import BookError, InputError
from lugbook.finding import Outcome, SignalWord, Weight
from lugbook.premises.plan import parse_plan

ROOT = Path(__file__).parents[2]
MEETS, SHORT, OPEN = "meets", "falls_short", "cannot_tell"
NONE = "not_required"
FED = 'fed_from = "main_panel"'


def said(field, value):
    return "" if value is None else f"{field} = {value}"


# --- place ----------------------------------------------------------------------


@pytest.mark.parametrize(
    ("place", "height", "expected"),
    [
        ("outdoors", "23.9 in", SHORT),
        ("outdoors", "24 in", MEETS),
        ("garage", "17.9 in", SHORT),
        ("garage", "18 in", MEETS),
        (None, "20 in", OPEN),
        (None, "24 in", MEETS),
    ],
)
def test_the_connector_is_stored_high_enough(place, height, expected):
    house = charger(place=place, extra=f'mount_height = "{height}"')
    assert outcome("place.mounting_height", house) == expected


@pytest.mark.parametrize(
    ("extra", "expected"),
    [
        ('cable_length = "25 ft"', MEETS),
        ('cable_length = "25.1 ft"', SHORT),
        ('cable_length = "30 ft"\ncable_managed = true', MEETS),
        ("", OPEN),
    ],
)
def test_the_cable_is_25_ft_at_most_unless_managed(extra, expected):
    assert outcome("place.cable_length", charger(extra=extra)) == expected


@pytest.mark.parametrize(
    ("kind", "expected"),
    [("4", MEETS), ("3R", MEETS), ("type 3R", MEETS), ("1", SHORT), (None, OPEN)],
)
def test_enclosures_outdoors_keep_the_rain_out(kind, expected):
    extra = said("enclosure_type", f'"{kind}"' if kind else None)
    assert (
        outcome("place.enclosure", charger(place="outdoors", extra=extra)) == expected
    )


@pytest.mark.parametrize(
    ("asked", "place", "expected"),
    [
        ("false", "garage", NONE),
        ("true", "garage", SHORT),
        (None, "garage", OPEN),
        ("true", "outdoors", NONE),
    ],
)
def test_ventilation_is_asked_for_only_where_marked(asked, place, expected):
    extra = said("ventilation_required", asked)
    assert outcome("place.ventilation", charger(place=place, extra=extra)) == expected


@pytest.mark.parametrize(
    ("listed", "expected"), [("true", MEETS), ("false", SHORT), (None, OPEN)]
)
def test_an_unlisted_charger_is_not_installed(listed, expected):
    found = inspected(charger(extra=said("listed", listed)), circuit())
    each = finding(found, "place.listing")
    assert (each.outcome.value, each.weight) == (expected, Weight.MUST)


@pytest.mark.parametrize(
    ("duty", "clamp", "expected"),
    [
        ("80 %", None, MEETS),
        ("90 %", None, SHORT),  # 65 A told where 48 A is set
        ("80 %", "47 A", MEETS),
        ("80 %", "50 A", SHORT),
        ("5 %", None, SHORT),  # stands for no current
        (None, None, OPEN),
    ],
)
def test_the_pilot_tells_no_more_than_the_setting(duty, clamp, expected):
    extra = [f'pilot_duty = "{duty}"'] if duty else []
    extra += [f'measured_current = "{clamp}"'] if clamp else []
    assert outcome("place.pilot", charger(48, extra="\n".join(extra))) == expected


# --- sources --------------------------------------------------------------------

MAIN = ('bus_rating = "200 A"', 'main_rating = "200 A"')


def solar(way: str | None, output: float, *lines: str) -> str:
    head = ["[[sources]]", 'id = "roof"', 'kind = "solar"', 'fed_to = "main_panel"']
    head += [f'output = "{output:g} A"', 'connected = "load side"']
    head += [f'approved_by = "{way}"'] if way else []
    return "\n".join([*head, *lines, ""])


@pytest.mark.parametrize(
    ("output", "expected"), [(31.9, MEETS), (32, MEETS), (32.1, SHORT)]
)
def test_solar_at_the_far_end_is_not_touched_by_the_chargers_breaker(output, expected):
    roof = solar("opposite end, 120 % of the bus", output, "at_opposite_end = true")
    house = (panel(*MAIN), roof, charger())
    assert outcome("sources.bus.roof", *house) == expected
    assert outcome("sources.bus.roof", *house, circuit(top=FED)) == expected


@pytest.mark.parametrize(("end", "expected"), [("false", SHORT), (None, OPEN)])
def test_a_source_approved_for_the_far_end_must_sit_there(end, expected):
    roof = solar("opposite end, 120 % of the bus", 16, said("at_opposite_end", end))
    assert outcome("sources.bus.roof", panel(*MAIN), roof, charger()) == expected


@pytest.mark.parametrize(("device", "expected"), [(60, MEETS), (70, SHORT)])
def test_an_approval_by_the_sum_dies_when_the_chargers_breaker_is_added(
    device, expected
):
    # By hand: 50 + 50 + 40 = 140 A before; with 60 A 200 A of 200 A, with 70 A 210 A.
    house = panel(*MAIN, breakers=breaker([1, 3], 50) + breaker([2, 4], 50))
    roof = solar("sum of breakers within the bus", 32, 'overcurrent = "40 A"')
    found = inspected(house, roof, charger(), circuit(device=device, top=FED))
    each = finding(found, "sources.bus.roof")
    assert each.outcome.value == expected
    assert each.found == 140 + device
    assert each.working.lines[0].amount == 140.0


def test_an_unread_breaker_leaves_the_sum_open_and_binding():
    unread = "[[panels.breakers]]\npositions = [1, 3]\n"
    roof = solar("sum of breakers within the bus", 32, 'overcurrent = "40 A"')
    found = inspected(panel(*MAIN, breakers=unread), roof, charger(), circuit(top=FED))
    each = finding(found, "sources.bus.roof")
    assert (each.outcome, each.weight) == (Outcome.CANNOT_TELL, Weight.MUST)


def test_a_source_behind_a_feeder_leaves_the_buses_before_it_open():
    # 90 + 1.25 × 40 = 140 A of 1.2 × 125 = 150 A there; but 200 + 50 = 250 A before it
    shed = (
        '[[panels]]\nid = "shed"\nfed_from = "shed_feeder"\nbus_rating = "125 A"\n'
        'main_rating = "90 A"\n'
        '[[feeders]]\nid = "shed_feeder"\nfed_from = "main_panel"\n'
    )
    roof = solar("opposite end, 120 % of the bus", 40, "at_opposite_end = true")
    at_shed = roof.replace('fed_to = "main_panel"', 'fed_to = "shed"')
    each = finding(
        inspected(panel(*MAIN), shed, at_shed, charger()),
        "sources.bus.roof",
    )
    assert (each.outcome, each.weight) == (Outcome.CANNOT_TELL, Weight.MUST)
    assert "every panel before shed" in each.next


def test_a_source_ahead_of_the_main_leaves_the_bus_alone():
    roof = solar(None, 32).replace("load side", "supply side")
    assert outcome("sources.bus.roof", panel(*MAIN), roof, charger()) == NONE


@pytest.mark.parametrize(
    ("lines", "expected"),
    [
        ('transfer = "automatic"\nrating = "8 kW"', SHORT),  # 11.52 kW alone is more
        ('transfer = "automatic"\nrating = "22 kW"', OPEN),
        ('transfer = "automatic"\nrating = "8 kW"\nsheds_charger = true', MEETS),
        ('transfer = "manual"\nrating = "8 kW"', MEETS),
    ],
)
def test_a_standby_source_carries_what_it_is_switched_to(lines, expected):
    engine = f'[[standby]]\nid = "engine"\nkind = "generator"\n{lines}\n'
    assert outcome("sources.standby.engine", charger(48), engine) == expected


@pytest.mark.parametrize(
    ("exports", "expected"), [("false", MEETS), ("true", SHORT), (None, OPEN)]
)
def test_a_charger_that_sends_power_back_is_a_source(exports, expected):
    assert outcome("sources.export", charger(extra=said("exports_power", exports))) == (
        expected
    )


# --- management -----------------------------------------------------------------


def management(*lines: str) -> str:
    head = ["[load_management]", 'id = "share"', 'members = ["charger", "other"]']
    other = '[[loads]]\nid = "other"\nkind = "vehicle charging"\n'
    return "\n".join([*head, *lines, "", other])


@pytest.mark.parametrize(
    ("each", "expected"), [("23.9 A", MEETS), ("24 A", MEETS), ("24.1 A", SHORT)]
)
def test_fallback_currents_together_fit_80_percent_of_the_device(each, expected):
    # By hand: 2 × 24 A = 48 A, times 1.25 is 60 A on a 60 A device.
    share = management(
        'watches = "branch circuit"',
        f'fallback_currents = ["{each}", "{each}"]',
    )
    assert outcome("management.fallback", charger(), circuit(60), share) == expected


def test_a_fallback_current_nobody_stated_is_open_and_binds():
    share = management('watches = "branch circuit"')
    each = finding(inspected(charger(), circuit(), share), "management.fallback")
    assert (each.outcome, each.weight) == (Outcome.CANNOT_TELL, Weight.MUST)


@pytest.mark.parametrize(
    ("limit", "expected"),
    [("159 A", MEETS), ("160 A", MEETS), ("161 A", SHORT), (None, OPEN)],
)
def test_a_limit_held_for_hours_is_80_percent_of_the_main(limit, expected):
    share = management(
        'watches = "service"', said("limit", f'"{limit}"' if limit else None)
    )
    assert outcome("management.limit", panel(*MAIN), charger(), share) == expected


@pytest.mark.parametrize(
    ("name", "field"),
    [
        ("management.sensors", "sensors_on_both_legs"),
        ("management.listing", "listed"),
        ("management.fails_low", "fails_low"),
        ("management.directory", "directory_posted"),
    ],
)
@pytest.mark.parametrize(
    ("value", "expected"), [("true", MEETS), ("false", SHORT), (None, OPEN)]
)
def test_yes_no_and_unknown_of_load_management(name, field, value, expected):
    assert outcome(name, charger(), management(said(field, value))) == expected


@pytest.mark.parametrize(
    ("means", "expected"),
    [("password", MEETS), ("anyone with the app", SHORT), (None, OPEN)],
)
def test_a_limit_anyone_can_raise_protects_nothing(means, expected):
    share = management(said("limit_restricted_by", f'["{means}"]' if means else None))
    assert outcome("management.restricted", charger(), share) == expected


# --- ground ---------------------------------------------------------------------


def shed(*lines: str) -> str:
    head = ["[detached_building]", 'id = "shed"', 'supply_kind = "feeder"']
    return "\n".join([*head, *lines, ""])


@pytest.mark.parametrize(
    ("lines", "expected"),
    [
        ("feeder_wires = 4", MEETS),
        ("feeder_wires = 3\nmetal_paths_between = false", MEETS),
        ("feeder_wires = 3\nmetal_paths_between = true", SHORT),
        ("feeder_wires = 3", OPEN),
        ("", OPEN),
    ],
)
def test_a_feeder_brings_four_wires(lines, expected):
    assert outcome("detached.wires", shed(lines)) == expected


@pytest.mark.parametrize(
    ("lines", "expected"),
    [
        ("grounding_electrode = true", MEETS),
        ("grounding_electrode = false", SHORT),
        ("", OPEN),
        (
            'grounding_electrode = true\nelectrodes = ["ground rod"]\n'
            'electrode_resistance = "25 ohm"',
            MEETS,
        ),
        (
            'grounding_electrode = true\nelectrodes = ["ground rod"]\n'
            'electrode_resistance = "26 ohm"',
            SHORT,
        ),
    ],
)
def test_a_building_with_a_feeder_has_its_electrode(lines, expected):
    assert outcome("detached.electrode", shed(lines)) == expected


def test_a_single_branch_circuit_needs_no_electrode():
    building = shed().replace('"feeder"', '"branch circuit"')
    assert outcome("detached.electrode", building) == NONE


@pytest.mark.parametrize(
    ("lines", "expected"),
    [
        ("disconnect_at_building = true\nthrows = 6", MEETS),
        ("disconnect_at_building = true\nthrows = 7", SHORT),
        ("disconnect_at_building = false", SHORT),
        ("", OPEN),
    ],
)
def test_the_building_is_switched_off_where_it_stands(lines, expected):
    assert outcome("detached.disconnect", shed(lines)) == expected


@pytest.mark.parametrize(
    ("lines", "expected"),
    [
        ('ground_current = "0 A"', MEETS),
        ('ground_current = "0.5 A"', SHORT),
        ('test_current = "12 A"\nneutral_to_ground_voltage = "0 V"', OPEN),
        ("", OPEN),
    ],
)
def test_only_a_120_v_load_shows_a_second_joint(lines, expected):
    assert outcome("detached.bonding_test", shed(lines)) == expected


def test_a_missing_main_bonding_jumper_is_a_warning():
    house = (ROOT / "examples/potters_house/plan.toml").read_text(encoding="utf-8")
    house = house.replace(
        "emergency_disconnect = false", "main_bonding_jumper_seen = false"
    )
    plan = parse_plan(house)
    found = inspect(plan, open_edition("2023"), wish_of(plan, None))
    each = finding(found, "panel.main_bonding")
    assert (each.outcome, each.weight) == (Outcome.FALLS_SHORT, Weight.MUST)
    assert each.signal is SignalWord.WARNING


# --- papers ---------------------------------------------------------------------


@pytest.mark.parametrize("year", editions())
@pytest.mark.parametrize(
    ("who", "may", "expected"),
    [
        ("licensed electrician", None, MEETS),
        ("owner", "false", SHORT),
        ("owner", "true", MEETS),
        (None, None, OPEN),
    ],
)
def test_who_works_must_be_let_to(who, may, expected, year):
    lines = ["[rules]", said("who_works", f'"{who}"' if who else None)]
    found = outcome(
        "paper.who_works",
        "\n".join([*lines, said("owner_may_work", may), ""]),
        charger(),
        year=year,
    )
    # 2026 asks for a qualified person where the equipment is wired in.
    assert found == (OPEN if year == "2026" and may == "true" else expected)


def test_a_sign_of_danger_stops_and_says_whom_to_call():
    work = '[work]\nsigns_seen = ["lights brighten when others dim"]\n'
    each = finding(inspected(work), "paper.signs")
    assert (each.outcome, each.weight) == (Outcome.FALLS_SHORT, Weight.STOP)
    assert "call the utility" in each.next


@pytest.mark.parametrize(("setting", "expected"), [(32, MEETS), (40, OPEN), (48, OPEN)])
def test_the_utility_is_told_from_9600_va_on(setting, expected):
    # 40 A × 240 V = 9,600 VA.
    assert outcome("paper.utility", charger(48, setting)) == expected


@pytest.mark.parametrize("year", editions())
def test_a_breaker_only_job_brings_no_other_duty(year):
    work = '[work]\nscope = "circuit only"\n'
    assert outcome("paper.replacement", work, year=year) == NONE


@pytest.mark.parametrize(
    ("year", "expected"), [("2017", NONE), ("2020", OPEN), ("2026", OPEN)]
)
def test_a_new_service_needs_disconnect_and_surge_device_from_2020_on(year, expected):
    work = '[work]\nscope = "service replaced"\n'
    for name in ("paper.emergency_disconnect", "paper.surge_protection"):
        assert outcome(name, work, year=year) == expected


@pytest.mark.parametrize(
    ("by", "expected"), [("6 ft", MEETS), ("6.1 ft", SHORT), (None, OPEN)]
)
def test_old_circuits_may_grow_by_6_ft(by, expected):
    work = '[work]\nscope = "panel replaced"\n'
    work += said("circuits_extended_by", f'"{by}"' if by else None)
    assert outcome("paper.circuits_extended", work) == expected


def test_planned_loads_are_reckoned_before_they_come():
    demo = (ROOT / "examples/potters_house/plan.toml").read_text(encoding="utf-8")
    demo += '\n[[loads]]\nid = "later"\nkind = "heat pump"\nstate = "planned"\n'
    demo += 'year = 2028\nnameplate = "9 kW"\nfed_from = "main_panel"\n'
    plan = parse_plan(demo)
    found = inspect(plan, open_edition("2023"), wish_of(plan, None))
    each = finding(found, "paper.planned_loads")
    now, then = (line.amount for line in each.working.lines)
    assert (each.outcome, each.weight) == (Outcome.FALLS_SHORT, Weight.ADVICE)
    assert then > now


def test_the_load_letter_marks_what_nobody_stated():
    plan = parse_plan("schema = 1\n" + charger(48))
    letter = load_letter(plan, wish_of(plan, None))
    told = {each.label: each.amount for each in letter.entries}
    assert told["new load"] == 11_520
    assert "transformer number" in letter.missing
    assert any("fault current" in each for each in letter.questions)


# --- amendments and coverage ----------------------------------------------------


def test_an_amendment_is_shown_beside_the_rule_it_changes():
    found = inspected(charger(), amended=("massachusetts",))
    lines = finding(found, "paper.amendments").working.lines
    assert [(each.label, each.amount) for each in lines] == [
        ("ac-cable, correction_column_c", "90"),
        ("here", "60"),
    ]
    assert not lines[0].source.amended_by
    assert lines[1].source.amended_by.startswith("Massachusetts")


def test_an_amendment_to_another_edition_is_refused_with_the_editions_it_has():
    with pytest.raises(BookError, match="amends 2023, 2026, not 2017"):
        open_edition("2017", amended_by=("massachusetts",))


def test_a_plan_that_names_it_under_another_edition_is_told_so():
    plan = parse_plan(
        'schema = 1\n[rules]\nedition = "2017"\namendments = ["massachusetts"]\n'
    )
    with pytest.raises(InputError, match="2023, 2026"):
        rules_for(plan)


DOCUMENTED = re.findall(
    r"^\| `([a-z0-9_.*]+)` \|",
    (ROOT / "docs/reference/findings.md").read_text(encoding="utf-8"),
    flags=re.MULTILINE,
)


def test_every_id_written_in_the_inspection_is_documented():
    source = "".join(
        path.read_text(encoding="utf-8")
        for path in (ROOT / "src/lugbook/assess").glob("installation_*.py")
    )
    families = "panel|run|place|sources|management|detached|paper"
    written = set(
        re.findall(rf'f?"((?:{families})\.[a-z_]+(?:\.\{{[^"]*\}})?)"', source)
    )
    names = {re.sub(r"\{[^}]*\}", "x", each) for each in written}
    assert len(names) > 50
    assert [n for n in names if not any(fnmatchcase(n, d) for d in DOCUMENTED)] == []


def test_the_coverage_page_names_every_item_and_only_documented_findings():
    items = tomllib.loads((ROOT / "tools/coverage.toml").read_text(encoding="utf-8"))
    counts = dict(A=5, B=9, C=4, D=6, E=5, F=5, G=6, H=11, I=8, J=6, K=2, L=5, O=4)
    assert list(items) == [
        f"{s}{n + 1}" for s, top in counts.items() for n in range(top)
    ]
    for number, entry in items.items():
        assert entry["ids"] or entry["says"], number
        assert set(entry["ids"]) <= set(DOCUMENTED), number


def test_a_bare_plan_has_no_binding_unknown():
    found = inspected()
    assert all(
        each.weight is Weight.ADVICE or each.outcome is not Outcome.CANNOT_TELL
        for each in found.findings
    )
