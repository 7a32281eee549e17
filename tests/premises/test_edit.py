"""Changes to a plan's text leave comments, order and every other byte."""

import tomllib
from pathlib import Path

import pytest

from lugbook.errors import InputError
from lugbook.premises.edit import add_table, set_value
from lugbook.premises.lines import line_of
from lugbook.premises.plan import parse_plan

DEMO = Path(__file__).parents[2] / "examples/potters_house/plan.toml"


def leaves(part, path=()):
    if isinstance(part, dict) and not (path and "value" in part):
        for key, inner in part.items():
            yield from leaves(inner, (*path, key))
    elif isinstance(part, list) and part and isinstance(part[0], dict):
        for index, inner in enumerate(part):
            yield from leaves(inner, (*path, index))
    else:
        yield path, part


def test_setting_any_one_field_of_the_demo_changes_that_line_only():
    text = DEMO.read_text(encoding="utf-8")
    before = text.splitlines()
    paths = [path for path, _ in leaves(tomllib.loads(text))]
    assert len(paths) > 150
    # Every seventh field: each kind of place comes up, and the test stays short.
    for path in paths[::7]:
        after = set_value(text, path, "changed").splitlines()
        differing = [
            n
            for n, pair in enumerate(zip(before, after, strict=True), 1)
            if pair[0] != pair[1]
        ]
        assert differing == [line_of(text, path)]


def test_a_set_value_reads_back_and_its_comment_stays():
    text = (
        'schema = 1\n\n# mine\n[charger] # here\nid = "c"\nsetting = "80 A"  # sold\n'
    )
    changed = set_value(text, ("charger", "setting"), "32 A")
    assert changed == text.replace("80 A", "32 A")
    assert parse_plan(changed).charger.setting.value == 32


def test_a_value_table_and_a_list_are_written_in_line():
    text = 'schema = 1\n[charger]\nid = "c"\n'
    text = set_value(text, ("charger", "setting"), {"value": "32 A", "how": "read"})
    text = set_value(text, ("charger", "setting_steps"), ["16 A", "32 A"])
    assert text.splitlines()[3:] == [
        'setting = {value = "32 A", how = "read"}',
        'setting_steps = ["16 A", "32 A"]',
    ]
    assert parse_plan(text).charger.setting.how == "read"


def test_a_missing_table_is_made_on_the_way():
    text = set_value("schema = 1 # first\n", ("rules", "edition"), "2023")
    assert text.startswith("schema = 1 # first\n")
    assert parse_plan(text).rules.edition == "2023"


def test_windows_line_ends_stay():
    text = 'schema = 1\r\nname = "a"\r\n'
    assert set_value(text, ("name",), "b") == 'schema = 1\r\nname = "b"\r\n'
    added = add_table(text, ("meters",), {"id": "x"})
    assert added == text + '\r\n[[meters]]\r\nid = "x"\r\n'


def test_a_table_is_added_to_the_parent_that_was_meant():
    text = (
        'schema = 1\n[[panels]]\nid = "p"\n\n# the second panel\n[[panels]]\nid = "q"\n'
    )
    first = add_table(text, ("panels", 0, "breakers"), {"positions": [1]})
    assert first == text.replace(
        "\n# the", "\n[[panels.breakers]]\npositions = [1]\n\n# the"
    )
    second = add_table(first, ("panels", 1, "breakers"), {"positions": [2]})
    assert second.startswith(first)
    counts = [len(panel.breakers) for panel in parse_plan(second).panels]
    assert counts == [1, 1]


def test_adding_a_load_to_the_demo_keeps_all_that_stood():
    text = DEMO.read_text(encoding="utf-8")
    added = add_table(text, ("loads",), {"id": "sauna", "kind": "sauna"})
    assert added.startswith(text)
    assert parse_plan(added).loads[-1].id == "sauna"


@pytest.mark.parametrize("path", [("loads", 7, "id"), ("name", "x"), ("name", 0)])
def test_a_path_that_leads_nowhere_is_refused(path):
    with pytest.raises(InputError, match="leads through no table"):
        set_value('schema = 1\nname = "a"\nloads = []\n', path, "b")


def test_a_table_is_not_added_to_a_list_written_in_line():
    with pytest.raises(InputError, match="Add the table by hand"):
        add_table("schema = 1\nloads = []\n", ("loads",), {"id": "a"})


def test_broken_text_is_refused_and_not_changed():
    with pytest.raises(InputError, match="not TOML"):
        set_value("schema = \n", ("schema",), 1)
