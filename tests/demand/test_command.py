import json

import pytest

from lugbook import cli


@pytest.fixture
def run(capsys):
    def call(*tokens):
        status = cli.main([str(token) for token in tokens])
        said = capsys.readouterr()
        return status, said.out, said.err

    return call


def test_the_command_answers_in_text_and_in_json(run, file_of):
    path = file_of("plain-day.xml")
    status, out, err = run("demand", path)
    assert (status, err) == (0, "")
    assert "Recorded maximum 4.10 kW" in out
    status, out, err = run("demand", path, "--json")
    assert (status, err) == (0, "")
    assert json.loads(out)["max_kw"] == 4.1


def test_zone_point_unit_and_day_first_reach_the_reader(run, file_of):
    _, out, _ = run("demand", file_of("two-houses.xml"), "--point", "1", "--json")
    assert json.loads(out)["max_kw"] == 4.1
    zone = ("--zone", "America/New_York")
    _, out, _ = run("demand", file_of("local-clock-as-utc.xml"), *zone, "--json")
    assert json.loads(out)["max_at"] == "2025-07-01T22:00:00Z"
    _, out, _ = run("demand", file_of("no-unit.csv"), "--unit", "Wh", "--json")
    assert json.loads(out)["energy_kwh"] == pytest.approx(0.0247)


@pytest.mark.parametrize(
    ("name", "sentence"),
    [
        ("nosuch.xml", "no such file"),
        ("monthly.xml", "readings of 30 days each"),
        ("open-quote.csv", "a quote that is never closed"),
        ("README.md", "no header"),
        ("", "not a file"),
    ],
)
def test_a_bad_file_gets_one_sentence_and_status_2(run, file_of, name, sentence):
    status, out, err = run("demand", file_of(name))
    assert (status, out) == (2, "")
    assert sentence in err
    assert err.count("\n") == 1


def test_a_bad_zone_gets_one_sentence_and_status_2(run, file_of):
    status, _, err = run("demand", file_of("plain-day.xml"), "--zone", "Nowhere")
    assert status == 2
    assert err.startswith("lugbook: --zone: 'Nowhere'; accepted: a time zone")


def test_a_bar_is_shown_on_a_terminal_only(run, file_of, monkeypatch):
    told = []

    class Bar:
        def __init__(self, *_, **__):
            pass

        def __enter__(self):
            return self

        def __exit__(self, *_):
            return None

        def add_task(self, words, total):
            told.append(words)
            return 0

        def update(self, task, *, completed, total):
            told.append((completed, total))

    monkeypatch.setattr("rich.progress.Progress", Bar)
    path = file_of("plain-day.xml")
    run("demand", path)
    assert told == []
    monkeypatch.setattr("sys.stderr.isatty", lambda: True)
    run("demand", path)
    size = path.stat().st_size
    assert told == ["reading plain-day.xml", (size, size)]
