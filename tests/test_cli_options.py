"""`lugbook options` from a terminal, with price lists of one's own."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from lugbook import cli
from lugbook.assess import options_prices

ROOT = Path(__file__).parents[1]
DEMO = ROOT / "examples" / "potters_house" / "plan.toml"
PRICES = Path(options_prices.__file__).with_name("prices.toml").read_text("utf-8")


@pytest.fixture
def run(capsys):
    def call(*tokens):
        status = cli.main([str(token) for token in tokens])
        said = capsys.readouterr()
        return status, said.out, said.err

    return call


def test_lawful_circuits_were_found(run):
    status, out, err = run("options", DEMO)
    assert (status, err) == (0, "")
    assert "lawful" in out


def test_the_json_is_json_and_holds_the_parts_asked_for(run):
    status, out, _ = run("options", DEMO, "--json", "--parts", "1")
    tree = json.loads(out)
    assert status == 0
    assert tree["parts"]["circuit"].startswith(f"{tree['pareto'][0]['setting_a']:g} A")
    _, out, _ = run("options", DEMO, "--json")
    assert "parts" not in json.loads(out)


@pytest.mark.parametrize("number", ["0", "-1", "100000"])
def test_a_number_that_no_circuit_has_is_refused(run, number):
    status, _, err = run("options", DEMO, f"--parts={number}")
    assert status == 2
    assert "--parts" in err


def test_prices_of_ones_own_go_before_those_of_the_plan(run, tmp_path):
    own = PRICES.replace("permit = 150.0", "permit = 1150.0")
    (tmp_path / "mine.toml").write_text(own, encoding="utf-8")
    named = 'price_file = "mine.toml"\n\n[rules]'
    plan = DEMO.read_text("utf-8").replace("[rules]", named, 1)
    (tmp_path / "plan.toml").write_text(plan, encoding="utf-8")
    (tmp_path / "shipped.toml").write_text(PRICES, encoding="utf-8")

    def first_cost(*tokens):
        status, out, err = run("options", *tokens, "--json")
        assert (status, err) == (0, "")
        return json.loads(out)["pareto"][0]["cost"]

    plain = first_cost(DEMO)
    by_plan = first_cost(tmp_path / "plan.toml")
    by_option = first_cost(
        tmp_path / "plan.toml", "--prices", tmp_path / "shipped.toml"
    )
    assert by_plan == pytest.approx(plain + 1000)
    assert by_option == pytest.approx(plain)


def test_a_price_list_that_cannot_be_read_is_named(run, tmp_path):
    status, _, err = run("options", DEMO, "--prices", tmp_path / "none.toml")
    assert status == 2
    assert "none.toml" in err
    (tmp_path / "bad.toml").write_bytes(b"\xff\xfe")
    status, _, err = run("options", DEMO, "--prices", tmp_path / "bad.toml")
    assert status == 2
    assert "bad.toml" in err
    (tmp_path / "faulty.toml").write_text(
        PRICES.replace('"14 AWG", 0.18', '"14 AWG", "x"'), encoding="utf-8"
    )
    status, _, err = run("options", DEMO, "--prices", tmp_path / "faulty.toml")
    assert status == 2
    assert "conductor, row 1, copper_per_ft" in err


def test_without_a_run_it_cannot_be_told(run):
    smallest = ROOT / "examples" / "smallest" / "plan.toml"
    status, out, _ = run("options", smallest)
    assert status == 3
    assert "circuit.sections" in out


def test_where_nothing_is_lawful_it_falls_short(run):
    house = ROOT / "tests" / "validation" / "houses" / "gardeners-house" / "plan.toml"
    status, out, _ = run("options", house)
    assert status == 1
    assert "Service and feeders carry the setting on the prudent reading" in out


def test_another_edition_is_judged_by(run):
    _, out, _ = run("options", DEMO, "--edition", "2017", "--json")
    tree = json.loads(out)
    assert tree["edition"] == "nfpa70-2017"
    # There the nameplate of 80 A counts whatever the setting.
    assert {each["overcurrent_a"] for each in tree["pareto"]} == {100.0}
