"""The line of a field, in TOML as awkward as people write it."""

import tomllib

import pytest

from lugbook.premises.lines import line_of

AWKWARD = '''\
schema = 1 # [not.a.header]
name = """two lines,
[loads] is not a header
key = "not a key" """
note = \'\'\'it "quotes" ]
\'\'\'
"quoted key" = 'a # no comment'
service.main.rating = "200 A"
service.id = "s"
steps = [ # [[
  "16 A", # first ]
  { value = "20 A", how = "read" },

  ["deep", [
    "deeper"]],
]
inline = { value = "4 ft", range = ["3 ft", "5 ft"] }
[ "dotted" . 'header' ] # ]]
key = true
[[panels]]
id = "p"
[[panels.breakers]]
positions = [1,
 3]
[[panels.breakers]]
positions = [5]
[panels.extra]
odd = 1
[[panels]]
[[panels.breakers]]
positions = []
'''


@pytest.mark.parametrize(
    ("path", "line"),
    [
        (("schema",), 1),
        (("name",), 2),
        (("note",), 5),
        (("quoted key",), 7),
        (("service", "main", "rating"), 8),
        (("service", "id"), 9),
        (("steps",), 10),
        (("steps", 0), 11),
        (("steps", 1, "how"), 12),
        (("steps", 2), 14),
        (("steps", 2, 1, 0), 15),
        (("inline", "range", 1), 17),
        (("dotted", "header", "key"), 19),
        (("panels", 0, "id"), 21),
        (("panels", 0, "breakers", 0, "positions", 1), 24),
        (("panels", 0, "breakers", 1, "positions"), 26),
        (("panels", 0, "extra", "odd"), 28),
        (("panels", 1), 29),
        (("panels", 1, "breakers", 0), 30),
        (("panels", 1, "id"), 29),
        (("absent",), None),
    ],
)
def test_a_path_is_found_on_its_line_or_on_the_nearest_table_around_it(path, line):
    assert tomllib.loads(AWKWARD)["quoted key"] == "a # no comment"
    assert line_of(AWKWARD, path) == line


def test_only_line_feeds_part_lines():
    text = 'a = "form feed \N{LINE SEPARATOR} and"\r\nb = 1\n'
    assert line_of(text, ("b",)) == 2


def test_text_that_is_not_toml_ends_the_scan_and_not_the_program():
    assert line_of("a = 1\n= = [\n", ("a",)) == 1
