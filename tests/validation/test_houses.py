"""Ten invented houses, worked by hand under every edition, against the program.

The hand never saw the program's code or tables: it wrote `verdict.toml` from the
facts in `house.md`, and `plan.toml` afterwards from the plan file's page alone.
Where the two differed, and who was right, stands in `houses/DIFFERENCES.md`.
"""

from __future__ import annotations

import json
import subprocess
import sys
import tomllib
from pathlib import Path
from typing import Any

import pytest

HOUSES = Path(__file__).parent / "houses"
EDITIONS = ("2017", "2020", "2023", "2026")
NAMES = sorted(path.parent.name for path in HOUSES.glob("*/verdict.toml"))

# Both sides carry every digit; the hand prints four decimals. A twentieth of an
# ampere is 12 VA, less than the smallest step any rule taken differently makes.
CURRENT_TOLERANCE_A = 0.05
# The hand takes resistances of Chapter 9, Table 8 (three figures); Table 9 prints
# two, so its cells differ by up to 3 %, and no more than 5 % may come from that.
VOLTAGE_DROP_TOLERANCE_FRACTION = 0.05
# Working lines that state the three ampacities of the conductor.
AMPACITY_TOLERANCE_A = 0.005


def checked(house: str, edition: str) -> dict[str, Any]:
    """Return what `check --json` says of a house under an edition."""
    command = [sys.executable, "-m", "lugbook", "check"]
    plan = str(HOUSES / house / "plan.toml")
    answer = subprocess.run(
        [*command, plan, "--edition", edition, "--json"],
        capture_output=True,
        text=True,
        check=False,
    )
    assert answer.returncode in (0, 1, 3), answer.stderr
    said: dict[str, Any] = json.loads(answer.stdout)
    return said


def compared(label: str, said: object, hand: object) -> list[str]:
    """Return one line when two answers differ, none when they agree."""
    return [] if said == hand else [f"{label}: program {said!r}, hand {hand!r}"]


def near(label: str, said: float | None, hand: float, tolerance: float) -> list[str]:
    """Return one line when two numbers differ by more than the tolerance."""
    if said is not None and abs(said - hand) <= tolerance:
        return []
    return [f"{label}: program {said}, hand {hand} (within {tolerance})"]


def setting_or_none(hand: object) -> object:
    """Return the hand's largest setting in the program's words: none is null."""
    return None if hand in (0, "unknown") else hand


def reading_of(row: dict[str, Any]) -> tuple[str, str, str]:
    """Return what names a row of the program's capacity table."""
    way = row["interpretation"]
    return row["method"], way["charger"], way["hvac"]


def capacity_differences(
    said: dict[str, Any], hand: dict[str, Any], *, has_record: bool
) -> list[str]:
    """Return every difference in the rows of the capacity table."""
    rows = {reading_of(row): row for row in said["capacity"]}
    hand_rows = {
        (row["method"], row["charger"], row["hvac"]): row for row in hand["capacity"]
    }
    found: list[str] = []
    for reading, row in hand_rows.items():
        label = " / ".join(reading)
        if reading not in rows:
            if not row.get("debated", False):
                found.append(f"{label}: the program has no such row")
            continue
        other = rows[reading]
        found += compared(f"{label}, permitted", other["permitted"], row["permitted"])
        found += compared(f"{label}, outcome", other["outcome"], row["outcome"])
        if row["amperes"] == "unknown":
            continue
        amperes = other["amperes"]
        found += near(f"{label}, A", amperes, row["amperes"], CURRENT_TOLERANCE_A)
        found += compared(
            f"{label}, largest setting",
            other["largest_setting_a"],
            setting_or_none(row["largest_setting_a"]),
        )
    for reading in sorted(rows.keys() - hand_rows.keys()):
        label = " / ".join(reading)
        if reading[0] != "measured" or has_record:
            found.append(f"{label}: the hand has no such row")
        else:
            found += compared(label, rows[reading]["outcome"], "cannot_tell")
    return found


def conductor_differences(
    item: dict[str, Any], hand: dict[str, dict[str, Any]]
) -> list[str]:
    """Return every difference in the tests of the conductor, numbers included."""
    found = compared(
        "conductor, least size",
        item["minimum"].rsplit(" ", 1)[0],
        hand["conductor"]["minimum"],
    )
    found += compared(
        "conductor, outcome", item["outcome"], hand["conductor"]["outcome"]
    )
    amounts = [
        line["amount"]
        for line in (item["working"] or {"lines": []})["lines"]
        if isinstance(line["amount"], int | float)
    ]
    wanted = {
        "ampacity at the terminals": ("conductor_terminals", "ampacity_a"),
        "ampacity in use": ("conductor_use", "ampacity_a"),
        "largest device": ("overcurrent_protects_conductor", "largest_device_a"),
    }
    for label, (part, key) in wanted.items():
        if part not in hand:
            continue
        amount = hand[part][key]
        if not any(abs(other - amount) <= AMPACITY_TOLERANCE_A for other in amounts):
            found.append(f"conductor, {label}: {amount} A is in no line of the working")
    return found


def circuit_differences(said: dict[str, Any], hand: dict[str, Any]) -> list[str]:
    """Return every difference in the parts of the circuit."""
    items = {item["item"]: item for item in said["circuit"]}
    parts: dict[str, dict[str, Any]] = hand["circuit"]
    device = items["overcurrent_device"]
    ground = items["equipment_grounding_conductor"]
    drop = items["voltage_drop"]
    found = conductor_differences(items["conductor"], parts)
    found += compared(
        "overcurrent device, least",
        device["minimum"].split(",")[0],
        f"{parts['overcurrent_device']['minimum_a']} A",
    )
    found += compared(
        "grounding conductor, least",
        ground["minimum"].rsplit(" ", 1)[0],
        parts["equipment_grounding"]["minimum"],
    )
    pairs = {
        "overcurrent_device": "overcurrent_device",
        "equipment_grounding": "equipment_grounding_conductor",
        "disconnect": "disconnect",
        "ground_fault": "ground_fault",
        "voltage_drop": "voltage_drop",
    }
    for part, item in pairs.items():
        found += compared(
            f"{part}, outcome", items[item]["outcome"], parts[part]["outcome"]
        )
    percent = parts["voltage_drop"]["percent_75c"]
    found += near(
        "voltage drop, %",
        drop["found"] if drop["unit"] == "%" else None,
        percent,
        VOLTAGE_DROP_TOLERANCE_FRACTION * percent,
    )
    if hand["circuit_largest_setting_a"] != "unknown":
        found += compared(
            "circuit, largest setting",
            said["circuit_largest_setting_a"],
            setting_or_none(hand["circuit_largest_setting_a"]),
        )
    return found


@pytest.mark.parametrize("edition", EDITIONS)
@pytest.mark.parametrize("house", NAMES)
def test_the_program_says_of_a_house_what_the_hand_said(
    house: str, edition: str
) -> None:
    said = checked(house, edition)
    hand = tomllib.loads((HOUSES / house / "verdict.toml").read_text())[edition]
    plan = tomllib.loads((HOUSES / house / "plan.toml").read_text())
    findings = {finding["id"]: finding for finding in said["findings"]}
    rating = said["service_rating"]["lines"][-1]["amount"]
    hand_rating = hand["service_rating_a"]
    differences = compared(
        "service rating", rating, None if hand_rating == "unknown" else hand_rating
    )
    differences += compared(
        "capacity",
        findings["capacity.service_load"]["outcome"],
        hand["capacity_outcome"],
    )
    differences += capacity_differences(said, hand, has_record="demand_record" in plan)
    differences += circuit_differences(said, hand)
    differences += compared("overall", said["headline"]["outcome"], hand["overall"])
    assert not differences, "\n" + "\n".join(differences)


def test_there_are_ten_houses_and_each_has_its_three_files() -> None:
    kept = {path.parent.name for path in HOUSES.glob("*/*")}
    assert len(kept) == 10
    for house in kept:
        files = {path.name for path in (HOUSES / house).iterdir()}
        assert files == {"house.md", "plan.toml", "verdict.toml"}
