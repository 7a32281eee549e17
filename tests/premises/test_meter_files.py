"""Meter files in a plan: a path alone, or a table with what only a person can say."""

import pytest

from lugbook.errors import InputError
from lugbook.premises.plan import parse_plan


def files(text):
    return parse_plan(f"schema = 1\n{text}").meter_files


def test_a_path_alone_is_a_table_of_the_path():
    assert files('meter_files = ["meter.xml"]') == files(
        '[[meter_files]]\npath = "meter.xml"'
    )


def test_what_only_a_person_can_say_is_kept():
    (entry,) = files(
        "[[meter_files]]\n"
        'path = "table.csv"\nzone = "America/Chicago"\npoint = "2"\nunit = "kWh"\n'
        'day_first = true\ninterval = "15 min"\nleg_voltage = "121 V"\n'
        'column = "Usage"\ntimes_end = false\n'
    )
    assert (entry.path, entry.zone, entry.point) == (
        "table.csv",
        "America/Chicago",
        "2",
    )
    assert entry.day_first.value is True
    assert entry.times_end.value is False
    assert (entry.interval.value, entry.leg_voltage.value) == (900, 121)


@pytest.mark.parametrize(
    ("text", "field", "words"),
    [
        ('meter_files = "a.xml"', "meter_files", 'Write meter_files = ["a.xml"]'),
        ('meter_files = [""]', "meter_files[1].path", "empty text"),
        ("meter_files = [5]", "meter_files[1]", "a table"),
        ('meter_files = [{ zone = "x" }]', "meter_files[1].path", "a path, as in"),
        ('meter_files = [{ path = "a", pth = 1 }]', "meter_files[1].pth", '"path"'),
        ('meter_files = [{ path = "a", day_first = 1 }]', "day_first", "true or false"),
    ],
)
def test_what_is_no_meter_file_is_refused_with_what_would_be(text, field, words):
    with pytest.raises(InputError) as refused:
        files(text)
    (fault,) = refused.value.faults
    assert field in fault.field
    assert words in str(fault)
