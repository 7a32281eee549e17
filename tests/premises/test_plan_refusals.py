"""Bad plans: one clear sentence for each fault, with its field and its line."""

import os
import re
import stat
import subprocess
import sys
from pathlib import Path

import pytest

from lugbook.errors import InputError
from lugbook.premises.plan import (
    LARGEST_PLAN_BYTES,
    MOST_FAULTS_TOLD,
    parse_plan,
    read_plan,
)

# What the library underneath says; none of it may reach a person.
LEAKS = re.compile(
    r"input should|valid (string|integer|dictionary|list|number)|pydantic|type=|"
    r"inside unit|<class|(?-i:None)|Traceback|extra inputs|field required|"
    r"schema_version",
    re.IGNORECASE,
)


def faults_of(text: str):
    with pytest.raises(InputError) as caught:
        parse_plan(text)
    return caught.value.faults


def charger(line: str) -> str:
    return f'schema = 1\n[charger]\nid = "charger"\n{line}\n'


def load(line: str) -> str:
    return f'schema = 1\n[[loads]]\nid = "a"\nkind = "other"\n{line}\n'


def breaker(line: str) -> str:
    return (
        'schema = 1\n[[panels]]\nid = "p"\nspaces = 10\n[[panels.breakers]]\n'
        f"positions = [1, 3]\n{line}\n"
    )


# text, field, line, words the sentence must hold
SINGLE = [
    # numbers
    (charger("nameplate = nan"), "charger.nameplate", 4, "no unit"),
    (charger("nameplate = inf"), "charger.nameplate", 4, "no unit"),
    (charger('nameplate = "nan A"'), "charger.nameplate", 4, "does not begin with"),
    (charger('nameplate = "-48 A"'), "charger.nameplate", 4, "negative"),
    (charger('nameplate = "−48 A"'), "charger.nameplate", 4, "negative"),
    (charger('nameplate = "1_000 A"'), "charger.nameplate", 4, "underscore"),
    (charger('nameplate = "4e1 A"'), "charger.nameplate", 4, "exponent"),
    (charger('nameplate = "٤٨ A"'), "charger.nameplate", 4, "digits 0 to 9"),
    (charger("nameplate = 48"), "charger.nameplate", 4, 'in quotes: "48 A"'),
    (charger('nameplate = "48"'), "charger.nameplate", 4, "no unit"),
    (charger('nameplate = ""'), "charger.nameplate", 4, "nothing was given"),
    (charger('nameplate = "48 V"'), "charger.nameplate", 4, "not a current"),
    (charger('nameplate = "48 kWh"'), "charger.nameplate", 4, "not a current"),
    (charger('nameplate = "48 furlongs"'), "charger.nameplate", 4, "not known here"),
    (charger('nameplate = "4000 A"'), "charger.nameplate", 4, "at most 2000 A"),
    (charger('voltage = "0 V"'), "charger.voltage", 4, "more than 0"),
    (charger('pilot_duty = "120 %"'), "charger.pilot_duty", 4, "at most 100 %"),
    (
        charger('mount_height = "900000 in"'),
        "charger.mount_height",
        4,
        "at most 196850 in",
    ),
    (charger('terminal_torque = "35"'), "charger.terminal_torque", 4, "no unit"),
    (charger('terminal_torque = "35 lb"'), "charger.terminal_torque", 4, "its arm"),
    (charger('terminal_torque = "0 N·m"'), "charger.terminal_torque", 4, "more than"),
    (charger('cable_length = "23 °F"'), "charger.cable_length", 4, "not a length"),
    (load("power_factor = 1.2"), "loads[1].power_factor", 5, "at most 1"),
    (load("power_factor = -0.5"), "loads[1].power_factor", 5, "too small"),
    (load("power_factor = nan"), "loads[1].power_factor", 5, "not a number"),
    (load('power_factor = "0.9"'), "loads[1].power_factor", 5, "out quotes"),
    (load("count = 1.5"), "loads[1].count", 5, "whole number"),
    (load("count = -1"), "loads[1].count", 5, "at least 0"),
    (load("count = true"), "loads[1].count", 5, "true is not a number"),
    (load(f"count = {'9' * 400}"), "loads[1].count", 5, "at most 10000"),
    (load("year = 28"), "loads[1].year", 5, "at least 1700"),
    (load('year = "2028"'), "loads[1].year", 5, "out quotes"),
    (load('usually_from = "25:00"'), "loads[1].usually_from", 5, "24-hour clock"),
    (load('usually_for = "2 d"'), "loads[1].usually_for", 5, "not known here"),
    # kinds
    (charger("listed = 1"), "charger.listed", 4, "neither true nor false"),
    (charger('listed = "true"'), "charger.listed", 4, "Leave out the quotes"),
    (charger("nameplate = true"), "charger.nameplate", 4, "not text"),
    (charger('nameplate = ["48 A"]'), "charger.nameplate", 4, "a list"),
    (charger('setting_steps = "16 A"'), "charger.setting_steps", 4, "list in square"),
    (charger('setting_steps = [ "16 A",\n 20]'), "charger.setting_steps[2]", 5, "unit"),
    (charger("enclosure_type = 4"), "charger.enclosure_type", 4, "text in quotes"),
    (charger('enclosure_type = " "'), "charger.enclosure_type", 4, "empty text"),
    (charger("enclosure_type = 2026-01-01"), "charger.enclosure_type", 4, "not text"),
    (charger("note = 3"), "charger.note", 4, "text in quotes"),
    (charger('terminal_smallest = "5 AWG"'), "charger.terminal_smallest", 4, "nearest"),
    (charger("terminal_smallest = 6"), "charger.terminal_smallest", 4, "in quotes"),
    ("schema = 1\ncharger = 3\n", "charger", 2, "Write [charger]"),
    ("schema = 1\n[[charger]]\nid = 'c'\n", "charger", 2, "single brackets"),
    ("schema = 1\nloads = 3\n", "loads", 2, "[[loads]] with double brackets"),
    ("schema = 1\n[loads]\nid = 'a'\n", "loads", 2, "[[loads]] with double brackets"),
    ("schema = 1\nloads = [3]\n", "loads[1]", 2, "Write [[loads]]"),
    (
        'schema = 1\n[demand_record]\nto_day = "2026-02-03"\n',
        "demand_record.to_day",
        3,
        "Leave out the quotes",
    ),
    (
        "schema = 1\n[demand_record]\nto_day = 2026-02-03T10:00:00\n",
        "demand_record.to_day",
        3,
        "a day without quotes",
    ),
    (
        "schema = 1\n[demand_record]\nto_day = 20260203\n",
        "demand_record.to_day",
        3,
        "20260203 is not a day",
    ),
    # words and keys
    (charger('connection = "hardwired"'), "charger.connection", 4, '"hard-wired"?'),
    (charger('place = "Garage"'), "charger.place", 4, 'mean "garage"?'),
    (charger("place = 3"), "charger.place", 4, "3 is not one of the words"),
    ("schema = 1\n[rules]\nedition = 2023\n", "rules.edition", 3, 'quotes: "2023"'),
    (
        charger('setting_restricted_by = ["lcok"]'),
        "charger.setting_restricted_by[1]",
        4,
        '"lock"?',
    ),
    (load('leg = "C"'), "loads[1].leg", 5, "A, B, both"),
    (load('state = "exsiting"'), "loads[1].state", 5, '"existing"?'),
    (
        'schema = 1\n[[loads]]\nid = "a"\nkind = "rnage"\n',
        "loads[1].kind",
        4,
        '"range"?',
    ),
    ('schema = 1\n[[loads]]\nid = "a"\n', "loads[1].kind", 2, "missing"),
    ('schema = 1\n[[loads]]\nkind = "range"\n', "loads[1].id", 2, "missing"),
    (
        'schema = 1\n[[loads]]\nid = "Dryer 1"\nkind = "dryer"\n',
        "loads[1].id",
        3,
        "small letters",
    ),
    ("schema = 1\n[rules]\nedition = 2023\n", "rules.edition", 3, "2017, 2020"),
    ('schema = 1\n[rules]\nedition = "2024"\n', "rules.edition", 3, "2023"),
    (charger('namplate = "48 A"'), "charger.namplate", 4, '"nameplate"?'),
    ("schema = 1\n[chargr]\nid = 'c'\n", "chargr", 2, "table; accepted: charger"),
    ('schema = 1\n[[panles]]\nid = "p"\n', "panles", 2, '"panels"?'),
    (charger('battery = "75 kWh"'), "charger.battery", 4, "belongs in [cars]"),
    ("schema = 1\nschema_verson = 1\n", "schema_verson", 2, "unknown key"),
    # value tables
    (charger('setting = { val = "32 A" }'), "charger.setting", 4, '"value"?'),
    (charger('setting = { how = "read" }'), "charger.setting", 4, "without value"),
    (
        charger('setting = { value = "9 A", how = "guesed" }'),
        "charger.setting",
        4,
        '"guessed"?',
    ),
    (
        charger('setting = { value = "9 A", range = ["5 A"] }'),
        "charger.setting",
        4,
        "low and high",
    ),
    (
        charger('setting = { value = "9 A", range = ["1 A", "5 A"] }'),
        "charger.setting",
        4,
        "around the value",
    ),
    (
        charger('setting = { value = "9 A", range = ["1 A", "9 V"] }'),
        "charger.setting",
        4,
        "not a current",
    ),
    (
        charger('place = { value = "garage", range = ["indoors", "outdoors"] }'),
        "charger.place",
        4,
        "leaves out the value",
    ),
    # between fields
    (load('fed_from = "nowhere"'), "loads[1].fed_from", 5, "nothing in the plan has"),
    (load('fed_from = "a"'), "loads[1].fed_from", 5, "which is a load"),
    (load('leg = "A"\nvoltage = "240 V"'), "loads[1].leg", 5, "one leg alone"),
    (
        charger('nameplate = "48 A"\nsetting = "80 A"'),
        "charger.setting",
        5,
        "above the nameplate",
    ),
    (
        charger('setting = "30 A"\nsetting_steps = ["16 A", "32 A"]'),
        "charger.setting",
        4,
        "not among setting_steps",
    ),
    (
        charger('setting_steps = ["32 A", "16 A"]'),
        "charger.setting_steps[2]",
        4,
        "smallest first",
    ),
    (
        charger('setting_steps = ["16 A", "16 A"]'),
        "charger.setting_steps[2]",
        4,
        "every step once",
    ),
    (
        charger('nameplate = "9 A"\nsetting_steps = ["16 A"]'),
        "charger.setting_steps[1]",
        5,
        "above the nameplate",
    ),
    (
        charger('terminal_smallest = "1 AWG"\nterminal_largest = "6 AWG"'),
        "charger.terminal_smallest",
        4,
        "exchanged",
    ),
    (
        charger('setting_restricted_by = ["none", "lock"]'),
        "charger.setting_restricted_by",
        4,
        "beside other words",
    ),
    (breaker("poles = 1"), "panels[1].breakers[1].positions", 6, "of 1 poles"),
    (
        breaker("[[panels.breakers]]\npositions = [3]"),
        "panels[1].breakers",
        5,
        "taken 2 times",
    ),
    (
        breaker("[[panels.breakers]]\npositions = [11]"),
        "panels[1].breakers",
        5,
        "panel of 10 spaces",
    ),
    (
        breaker("[[panels.breakers]]\npositions = [0]"),
        "panels[1].breakers[2].positions[1]",
        8,
        "at least 1",
    ),
    (breaker('serves = ["ghost"]'), "panels[1].breakers[1].serves", 7, '"ghost"'),
    (
        'schema = 1\n[[panels]]\nid = "p"\nfree_positions = [1]\n[[panels.breakers]]\n'
        "positions = [1]\n",
        "panels[1].free_positions",
        4,
        "called free",
    ),
    (
        'schema = 1\n[[panels]]\nid = "p"\nfed_from = "f"\n[[feeders]]\nid = "f"\n'
        'fed_from = "p"\n',
        "panels[1].fed_from",
        4,
        "loop: p from f from p",
    ),
    (
        "schema = 1\n[demand_record]\nfrom_day = 2026-02-03\nto_day = 2026-02-02\n",
        "demand_record.to_day",
        4,
        "before from_day",
    ),
    (
        "schema = 1\n[demand_record]\nfrom_day = 2026-02-01\nto_day = 2026-02-02\n"
        "days = 3\n",
        "demand_record.days",
        5,
        "at most 2",
    ),
    (
        'schema = 1\n[[tariff.windows]]\nstarts = "23:00"\n',
        "tariff.windows[1]",
        2,
        "only one of",
    ),
    (
        'schema = 1\n[[tariff.windows]]\nstarts = "23:00"\nends = "23:00"\n',
        "tariff.windows[1].ends",
        4,
        "same minute",
    ),
    (
        'schema = 1\n[[tariff.windows]]\nstarts = "23:00"\nends = "07:00"\n'
        'days = ["mon"]\n[[tariff.windows]]\nstarts = "06:59"\nends = "08:00"\n'
        'days = ["tue"]\n',
        "tariff.windows[2]",
        6,
        "window 1 holds too",
    ),
    (
        'schema = 1\n[[wrenches]]\nid = "w"\nsmallest = "20 N·m"\n'
        'largest = "20 lbf·in"\n',
        "wrenches[1].smallest",
        4,
        "exchanged",
    ),
    (
        'schema = 1\n[dwelling]\nnot_present = ["dryer"]\n[[loads]]\nid = "d"\n'
        'kind = "dryer"\n',
        "dwelling.not_present[1]",
        3,
        "said to be absent",
    ),
    # the file's form
    ("[charger]\nid = 'charger'\n", "schema", None, "missing"),
    ('schema = "1"\n', "schema", 1, "1, the one this version reads"),
    ("schema = true\n", "schema", 1, "true"),
    ("schema = 2\n[future]\n", "schema", 1, "newer Lugbook"),
    ("", "plan.toml", None, "an empty file"),
    ("schema = 1\nname = 'a'\nname = 'b'\n", "plan.toml", 3, "already stands above"),
    ("schema = 1\n[rules]\n[rules]\n", "plan.toml", 3, "header that already stands"),
    ("schema = 1\n[rules]\n[rules]\n", "plan.toml", 3, "double brackets: [[loads]]"),
    ('schema = 1\nname = "house\n', "plan.toml", 2, "without its closing quotes"),
    (
        'schema = 1\nname = "a\tb\x01"\n',
        "plan.toml",
        2,
        "character that text in quotes",
    ),
    ("schema = 1\nname = \u201chouse\u201d\n", "plan.toml", 2, "quotes are curly"),
    ("schema = 1\nday = 3/3/2026\n", "plan.toml", 2, "day as year-month-day"),
    ("schema = 1\nday = 2026-13-03\n", "plan.toml", 2, "day as year-month-day"),
    ("schema = 1\nown = yes\n", "plan.toml", 2, "Write true or false"),
    ("schema = 1\nown = True\n", "plan.toml", 2, "Write true or false"),
    ("schema = 1\nname = house\n", "plan.toml", 2, "Put text and values with units"),
    ("schema = 1\nrating = 200 A\n", "plan.toml", 2, "Put text and values with units"),
    ("schema = 1\n[rules\n", "plan.toml", 2, "closing bracket"),
    ("schema = 1\nname\n", "plan.toml", 2, "without = after it"),
    ("schema = 1\na = [1\n", "plan.toml", 3, "without its closing ]"),
    ('schema = 1\na = ["b" "c"]\n', "plan.toml", 2, "a comma between its entries"),
    (f"schema = 1\na = {'[' * 3000}", "plan.toml", None, "nested hundreds deep"),
    (f"schema = 1\na = {'9' * 5000}\n", "plan.toml", None, "thousands of digits"),
    ("s\0c\0h\0e\0m\0a\0", "plan.toml", None, "UTF-16"),
]


@pytest.mark.parametrize(("text", "field", "line", "words"), SINGLE)
def test_a_bad_plan_gets_one_sentence_with_field_line_and_remedy(
    text, field, line, words
):
    (fault,) = faults_of(text)
    sentence = str(fault)
    assert (fault.field, fault.line) == (field, line)
    assert words in sentence
    assert fault.given
    assert fault.accepted
    assert len(sentence) < 700
    assert "\n" not in sentence
    assert not LEAKS.search(sentence)


def test_no_year_of_an_edition_is_taken_for_a_misspelling_of_another():
    (fault,) = faults_of('schema = 1\n[rules]\nedition = "2022"\n')
    assert fault.mend == ""
    assert fault.accepted == "2017, 2020, 2023, 2026"


def test_every_fault_is_told_at_once_and_in_its_place():
    text = (
        "[charger]\n"
        'id = "charger"\n'
        "nameplate = 48\n"
        'colour = "red"\n'
        'setting_steps = ["32 A", "16 A"]\n'
        "[[loads]]\n"
        'id = "charger"\n'
        'kind = "dryer"\n'
    )
    found = {(fault.field, fault.line) for fault in faults_of(text)}
    assert found == {
        ("schema", None),
        ("charger.nameplate", 3),
        ("charger.colour", 4),
        ("charger.setting_steps[2]", 5),
        ("charger.id", 2),
        ("loads[1].id", 7),
    }


def test_faults_past_what_anyone_reads_are_counted_and_not_listed():
    text = "schema = 1\n" + "".join(f"key_{n} = 1\n" for n in range(10_000))
    *listed, last = faults_of(text)
    assert [fault.line for fault in listed] == list(range(2, MOST_FAULTS_TOLD + 2))
    assert f"{10_000 - MOST_FAULTS_TOLD} more faults" in str(last)


@pytest.mark.parametrize(("count", "told"), [(99, 99), (100, 100), (101, 101)])
def test_faults_up_to_the_most_told_are_all_listed(count, told):
    assert MOST_FAULTS_TOLD == 100
    text = "schema = 1\n" + "".join(f"key_{n} = 1\n" for n in range(count))
    faults = faults_of(text)
    assert len(faults) == told
    assert ("more fault" in str(faults[-1])) == (count > MOST_FAULTS_TOLD)


def refusal_of(path: Path) -> str:
    with pytest.raises(InputError) as caught:
        read_plan(path)
    (fault,) = caught.value.faults
    assert fault.field == str(path)
    return str(fault)


@pytest.mark.parametrize(
    ("raw", "words"),
    [
        ("schema = 1\n".encode("utf-16"), "saved as UTF-16"),
        (b"\xfe\xff\x00s", "saved as UTF-16"),
        ("schema = 1\nplace = '54 °C'\n".encode("latin-1"), "line 2"),
        (b"#" * (LARGEST_PLAN_BYTES + 1), "at most 1 MB"),
        (b"#" * 10_000_000, "10.0 MB"),
    ],
)
def test_a_file_that_is_no_utf_8_plan_is_refused_in_words(tmp_path, raw, words):
    path = tmp_path / "plan.toml"
    path.write_bytes(raw)
    assert words in refusal_of(path)


def test_a_plan_of_the_largest_size_is_read(tmp_path):
    path = tmp_path / "plan.toml"
    text = b"schema = 1\n"
    path.write_bytes(text + b"#" * (LARGEST_PLAN_BYTES - len(text)))
    assert read_plan(path).loads == ()


def test_a_byte_order_mark_is_no_fault(tmp_path):
    path = tmp_path / "plan.toml"
    path.write_bytes(b"\xef\xbb\xbfschema = 1\n")
    assert read_plan(path).loads == ()


def test_a_folder_a_missing_file_and_no_file_name_are_refused(tmp_path):
    assert "a folder" in refusal_of(tmp_path)
    assert "no such file" in refusal_of(tmp_path / "none.toml")
    assert "cannot be opened" in refusal_of(tmp_path / ("n" * 5000))


def test_a_pipe_is_refused_and_not_waited_for(tmp_path):
    path = tmp_path / "pipe"
    os.mkfifo(path)
    assert "no ordinary file" in refusal_of(path)


def test_a_file_nobody_may_read_is_refused_in_words(tmp_path):
    path = tmp_path / "plan.toml"
    path.write_text("schema = 1\n")
    path.chmod(0)
    script = (
        "import os, sys\n"
        "from pathlib import Path\n"
        "from lugbook.errors import InputError\n"
        "from lugbook.premises.plan import read_plan\n"
        "if os.geteuid() == 0: os.setgroups([]); os.setgid(65534); os.setuid(65534)\n"
        "try:\n    read_plan(Path(sys.argv[1]))\n"
        "except InputError as error:\n    print(error)\n"
    )
    # Folders above must be open to the plain user the child becomes.
    for folder in [*list(tmp_path.parents)[:3], tmp_path]:
        if folder.stat().st_uid == os.geteuid() and folder != Path("/"):
            folder.chmod(folder.stat().st_mode | stat.S_IXGRP | stat.S_IXOTH)
    done = subprocess.run(
        [sys.executable, "-c", script, str(path)],
        capture_output=True,
        text=True,
        check=True,
    )
    assert "cannot be opened (permission denied)" in done.stdout
