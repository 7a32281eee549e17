"""Random houses as plan files, the same for the same number, odd and broken ones too.

A plan is made as text, so that both sides read the same file: the project with its own
reader, the slow version with the standard library's. Fields are left out on purpose,
loads are odd on purpose, and limits are hit on purpose: for every few plans the slow
version's own current is written back as the rating, so that load and limit are equal.
"""

from __future__ import annotations

import random
import tomllib
from collections.abc import Mapping, Sequence
from fractions import Fraction
from typing import Any

from slow_rules import capacity
from slow_tables import SIZES

Tree = dict[str, Any]
EDITIONS = ("2017", "2020", "2023", "2026")
STEPS_A = (6, 8, 10, 12, 16, 20, 24, 28, 32, 36, 40, 44, 48, 52, 56, 60, 64, 72, 80)
RATINGS_A = (60, 70, 90, 100, 100, 110, 125, 150, 175, 200, 200, 225, 300, 320, 400)
FIXED = (
    *(
        "water heater",
        "dishwasher",
        "disposer",
        "trash compactor",
        "built-in microwave",
    ),
    *("well pump", "sump pump", "pool pump", "pool heater", "hot tub", "sauna", "kiln"),
    *("welder", "workshop machine", "elevator", "furnace blower", "boiler pump"),
    *("bathroom heater", "other fixed appliance", "plugged-in appliance", "other"),
)
MOTORED = (
    *("well pump", "sump pump", "pool pump", "disposer", "elevator", "furnace blower"),
    *("workshop machine", "central cooling", "room cooling", "heat pump"),
)
RESTRICTIONS = (
    ["cover that needs a tool"],
    ["lock"],
    ["password"],
    ["behind a locked door"],
    ["installer switch inside"],
    ["anyone with the app"],
    ["password", "anyone with the app"],
    ["none"],
    [],
)
MARKS = ("60 °C", "75 °C", "75 °C", "75 °C", "90 °C", "60/75 °C")
AMBIENTS = (
    *("30 °C", "30 °C", "10 °C", "20 °C", "26 °C", "31 °C", "35 °C", "36 °C", "40 °C"),
    *("45 °C", "50 °C", "52 °C", "55 °C", "56 °C", "60 °C", "70 °C", "86 °C"),
    *("86 °F", "95 °F", "96 °F", "104 °F", "122 °F", "131 °F", "140 °F"),
)
INSULATIONS = (
    *("THHN/THWN-2", "THHN/THWN-2", "THHN", "THWN", "THWN-2", "XHHW", "XHHW-2"),
    *("RHH/RHW-2/USE-2", "RHW-2", "USE-2", "TW", "THW", "THW-2", "as the cable"),
)
METHODS = (
    *("EMT", "EMT", "PVC 40", "RMC", "NM cable", "NM cable", "SE cable", "MC cable"),
    *("AC cable", "UF cable"),
)


class Maker:
    """Makes one plan from one number."""

    def __init__(self, number: int, seed: int = 0) -> None:
        self.random = random.Random(f"{seed}/{number}")
        self.number = number

    def chance(self, share: float) -> bool:
        return self.random.random() < share

    def one(self, choices: Sequence[Any]) -> Any:
        return self.random.choice(choices)

    def said(self, given: object, *, left_out: float = 0.04) -> object:
        """A value as it stands, now and then as a table, now and then left out."""
        if self.chance(left_out):
            return None
        if self.chance(0.03):
            return {"value": given, "how": self.one(("read", "told", "guessed"))}
        return given

    def va(self, low: int, high: int) -> str:
        """A load, round more often than not."""
        step = self.one((10, 50, 100, 120, 240, 250, 500))
        number = self.random.randrange(low // step, high // step + 1) * step
        if number >= 1000 and self.chance(0.2):
            return f"{number / 1000:g} kW"
        return f"{number} {self.one(('VA', 'W'))}"

    # ---------------------------------------------------------------- the tables

    def tree(self) -> Tree:
        # Two thirds of the plans leave out nothing that decides the load.
        thin = self.one((0.0, 0.0, 0.08))
        made = {
            "schema": 1,
            "name": f"random house {self.number} (invented)",
            "rules": {"edition": self.one(EDITIONS)},
            "dwelling": self.dwelling(thin),
            "service": self.service(thin),
            "panels": [self.panel(thin)],
            "loads": self.loads(thin),
            "charger": self.charger(thin),
            "circuit": self.circuit(thin) if self.chance(0.8) else None,
            "sources": ([{"id": "roof", "kind": "solar"}] if self.chance(0.05) else []),
            "demand_record": self.record(thin) if self.chance(0.4) else None,
        }
        if made["sources"] or self.chance(0.05):
            made["dwelling"]["not_present"].remove("solar")
        return made

    def dwelling(self, thin: float) -> Tree:
        absent = ["feeder", "detached building", "load management"]
        absent += ["battery", "generator", "solar"]
        area = self.one((620, 990, 1000, 1500, 1920, 2000, 2400, 3400, 12_000, 38_000))
        if self.chance(0.7):
            area = self.random.randrange(300, 5000, self.one((1, 10, 20)))
        text = f"{area} ft²" if self.chance(0.95) else f"{area // 10} m²"
        return {
            "kind": "one-family",
            "floor_area": self.said(text, left_out=thin),
            "small_appliance_circuits": self.said(
                self.one((0, 1, 2, 2, 2, 3, 4)), left_out=thin
            ),
            "laundry_circuits": self.said(self.one((0, 1, 1, 1, 2)), left_out=thin),
            "loads_complete": self.said(not self.chance(thin), left_out=thin),
            "not_present": absent,
        }

    def service(self, thin: float) -> Tree:
        wye = self.chance(0.15)
        system = "120/208 V of a three-phase wye" if wye else "120/240 V split-phase"
        made: Tree = {
            "id": "service",
            "system": self.said(system, left_out=thin),
            "voltage": self.said("208 V" if wye else "240 V", left_out=max(thin, 0.2)),
            "own_meter": True,
            "meter_base_rating": self.said(f"{self.one(RATINGS_A)} A", left_out=thin),
            "conductor": {
                "material": self.said(self.one(("copper", "aluminum")), left_out=thin),
                "size": self.said(self.one(SIZES[3:14]), left_out=thin),
            },
        }
        if self.chance(0.2):
            made["conductor"]["insulation"] = self.one(("XHHW-2", "THW", "USE-2"))
        if self.chance(0.08):
            made["split_bus_mains"] = [
                {
                    "rating": self.said(
                        f"{self.one((30, 40, 50, 60, 70))} A", left_out=thin
                    )
                }
                for _ in range(self.random.randrange(2, 7))
            ]
        else:
            made["main"] = {
                "rating": self.said(f"{self.one(RATINGS_A)} A", left_out=thin)
            }
        return made

    def panel(self, thin: float) -> Tree:
        made: Tree = {
            "id": "main_panel",
            "fed_from": "service",
            "bus_rating": self.said(f"{self.one(RATINGS_A)} A", left_out=thin),
        }
        if self.chance(0.2):
            made["terminal_temperature"] = self.one(MARKS)
        if self.chance(0.2):
            made["main_rating"] = f"{self.one(RATINGS_A)} A"
        return made

    # ----------------------------------------------------------------- the loads

    def loads(self, thin: float) -> list[Tree]:
        made = [self.load("range", 1000, 18_000, thin) for _ in range(self.few())]
        made += [self.load("cooktop", 1500, 11_000, thin) for _ in range(self.few(0.2))]
        made += [self.load("wall oven", 1500, 9000, thin) for _ in range(self.few(0.2))]
        made += [self.load("dryer", 1200, 7000, thin) for _ in range(self.few())]
        for kind in self.random.sample(FIXED, self.random.randrange(0, 8)):
            made.append(self.load(kind, 100, 6000, thin))
        made += self.heating(thin)
        if self.chance(0.15):
            made.append(self.other_charger())
        for index, load in enumerate(made):
            load["id"] = f"load_{index}"
        self.tie(made)
        return made

    def few(self, share: float = 0.75) -> int:
        if not self.chance(share):
            return 0
        return self.one((1, 1, 1, 1, 1, 1, 2, 2, 3, 5))

    def load(self, kind: str, low: int, high: int, thin: float) -> Tree:
        made: Tree = {"id": "", "kind": kind}
        sized = self.random.random()
        if sized < 0.85 or kind in ("range", "cooktop", "wall oven", "dryer"):
            edge = (500, 1750, 3500, 4999, 5000, 5001, 8750, 12_000, 12_500, 27_000)
            text = self.va(low, high)
            if self.chance(0.12):
                text = f"{self.one(edge)} VA"
            made["nameplate"] = self.said(text, left_out=thin / 2)
        else:
            made["nameplate_current"] = f"{self.random.randrange(2, 40)} A"
            made["voltage"] = self.said(self.one(("120 V", "240 V")), left_out=thin)
            if made["voltage"] is None and kind not in MOTORED and self.chance(0.5):
                made["leg"] = self.one(("A", "both"))
        if kind in MOTORED and self.chance(0.5):
            if self.chance(0.6):
                made["motor_current"] = f"{self.random.randrange(1, 30)} A"
            else:
                made["motor_horsepower"] = self.one((0.25, 0.5, 0.75, 1, 1.5, 2, 3, 5))
            made["voltage"] = self.one(("120 V", "240 V"))
        if kind == "plugged-in appliance":
            made["fastened_in_place"] = False
        elif kind in FIXED:
            made["fastened_in_place"] = self.said(not self.chance(0.15), left_out=thin)
        if self.chance(0.1):
            made["count"] = self.one((1, 2, 2, 3))
        if self.chance(0.15):
            made["continuous"] = self.one((True, False))
        made["state"] = self.one(
            ("existing",) * 20 + ("removed", "proposed", "proposed", "planned")
        )
        return made

    def heating(self, thin: float) -> list[Tree]:
        made = []
        sort = self.one(("gas", "gas", "pump", "strips", "central", "rooms", "storage"))
        if sort in ("pump", "strips"):
            made.append(self.load("heat pump", 1500, 8000, thin))
        if sort == "strips":
            extra = self.load("heat pump supplemental heat", 3000, 15_000, thin)
            extra["heats_while_compressor_runs"] = self.one((True, False))
            made.append(extra)
        if sort == "central":
            made.append(self.load("central electric heat", 5000, 20_000, thin))
        if sort == "rooms":
            rooms = self.load("separately controlled electric heat", 2000, 12_000, thin)
            rooms["controls"] = self.said(
                self.one((1, 2, 3, 3, 4, 4, 5, 8)), left_out=thin
            )
            rooms.pop("count", None)
            made.append(rooms)
        if sort == "storage":
            made.append(self.load("thermal storage heat", 4000, 15_000, thin))
        if self.chance(0.5):
            kind = self.one(("central cooling", "central cooling", "room cooling"))
            made.append(self.load(kind, 1000, 9000, thin))
        return made

    def other_charger(self) -> Tree:
        nameplate = self.one((16, 32, 40, 48))
        made: Tree = {
            "id": "",
            "kind": "vehicle charging",
            "nameplate_current": self.said(f"{nameplate} A", left_out=0.05),
            "voltage": "240 V",
        }
        if self.chance(0.5):
            made["setting"] = f"{self.one([s for s in STEPS_A if s <= nameplate])} A"
            made["setting_restricted_by"] = self.one(RESTRICTIONS[:-1])
            made["setting_on_label"] = self.one((True, True, False))
        return made

    def tie(self, made: list[Tree]) -> None:
        """Now and then two loads, or one and the charger, that never run together."""
        if len(made) > 2 and self.chance(0.08):
            one, other = self.random.sample(made, 2)
            one["never_with"] = [other["id"]]
        elif made and self.chance(0.04):
            self.one(made)["never_with"] = ["charger"]

    # ---------------------------------------------------------- charger and circuit

    def charger(self, thin: float) -> Tree:
        nameplate = self.one((16, 24, 32, 40, 48, 48, 60, 64, 80, 80))
        steps = sorted(
            [*self.random.sample([s for s in STEPS_A if s < nameplate], 3), nameplate]
        )
        made: Tree = {
            "id": "charger",
            "connection": self.said(
                self.one(("hard-wired", "hard-wired", "hard-wired", "receptacle")),
                left_out=thin,
            ),
            "nameplate": self.said(f"{nameplate} A", left_out=thin / 2),
            "setting": self.said(f"{self.one(steps)} A", left_out=thin / 2),
            "setting_steps": [f"{step} A" for step in steps],
            "setting_restricted_by": self.one(
                (["cover that needs a tool"], ["password"], self.one(RESTRICTIONS))
            ),
            "setting_on_label": self.said(not self.chance(0.08), left_out=thin),
            "terminal_temperature": self.said(self.one(MARKS), left_out=0.1),
        }
        if made["connection"] == "receptacle":
            made["receptacle"] = self.one(("14-50", "6-50", "14-30"))
        if self.chance(0.3):
            made["maximum_overcurrent"] = f"{self.one((20, 40, 50, 60, 80, 100))} A"
        return made

    def circuit(self, thin: float) -> Tree:
        method = self.one(METHODS)
        built = self.chance(0.8)
        insulation = self.one(INSULATIONS)
        if method.endswith("cable") and self.chance(0.6):
            insulation = "as the cable"
        elif insulation == "as the cable" and not method.endswith("cable"):
            insulation = "THHN"
        conductor: Tree = {
            "material": self.said(
                self.one(("copper", "copper", "copper", "aluminum")), left_out=thin
            ),
            "insulation": self.said(insulation, left_out=thin),
        }
        if built:
            conductor["size"] = self.said(self.one(SIZES[:10]), left_out=thin)
        made: Tree = {
            "id": "charger_circuit",
            "fed_from": "main_panel",
            "serves": ["charger"],
            "neutral_pulled": self.one((False, False, True)),
            "conductor": conductor,
            "overcurrent": self.device(thin) if self.chance(0.8) else None,
            "equipment_ground": self.ground(thin) if self.chance(0.8) else None,
            "sections": [
                self.section(index, method, thin)
                for index in range(self.one((1, 1, 1, 2, 2, 3)))
            ],
        }
        if self.chance(0.15):
            made["disconnect"] = {
                "kind": "switch",
                "rating": "100 A",
                "lockable_open": True,
                "terminal_temperature": self.said(self.one(MARKS), left_out=0.2),
            }
        return made

    def device(self, thin: float) -> Tree:
        ratings = (15, 20, 30, 35, 40, 45, 50, 60, 60, 70, 80, 90, 100, 110, 125)
        return {
            "rating": self.said(f"{self.one(ratings)} A", left_out=thin),
            "poles": 2,
            "kind": "circuit breaker",
            "terminal_temperature": self.said(self.one(MARKS), left_out=0.1),
        }

    def ground(self, thin: float) -> Tree:
        if self.chance(0.05):
            return {"kind": "none"}
        return {
            "kind": "wire",
            "material": self.one(("copper", "copper", "aluminum")),
            "size": self.said(self.one(SIZES[:8]), left_out=thin),
        }

    def section(self, index: int, method: str, thin: float) -> Tree:
        place = self.one(
            (
                "garage",
                "garage",
                "attic",
                "in a wall",
                "outdoors",
                "underground",
                "roof",
            )
        )
        made: Tree = {
            "id": f"section_{index}",
            "method": self.said(method, left_out=thin),
            "length": self.said(
                f"{self.one((1, 4, 5, 9, 10, 10, 11, 20, 45, 80, 90, 100, 190))} ft",
                left_out=thin,
            ),
            "ambient": self.said(self.one(AMBIENTS), left_out=thin),
            "place": place,
            "wet": self.said(self.is_said_wet(place), left_out=max(thin, 0.05)),
            "in_insulation": self.said(self.chance(0.2), left_out=thin),
            "other_current_carrying_conductors": self.said(
                self.one((0, 0, 0, 0, 1, 2, 4, 5, 8)), left_out=thin
            ),
        }
        if method == "NM cable" and self.chance(0.15):
            made["cables_in_one_hole"] = self.one((1, 2, 3, 4))
            made["spacing_kept"] = self.said(self.chance(0.3), left_out=0.3)
        if place == "roof":
            made["roof_height"] = self.said(
                self.one(("0 in", "0.5 in", "0.875 in", "1 in", "12 in")), left_out=thin
            )
            made["sunlight"] = self.said(not self.chance(0.1), left_out=0.2)
        return made

    def is_said_wet(self, place: str) -> bool:
        """What the plan says of a place, now and then against the place itself."""
        outside = place in ("outdoors", "underground", "roof")
        return outside != self.chance(0.08)

    # ------------------------------------------------------------------ the record

    def record(self, thin: float) -> Tree:
        short = self.chance(0.4)
        made: Tree = {
            "days": self.said(
                self.one((29, 30, 31, 60, 364) if short else (365, 365, 366, 400)),
                left_out=thin,
            ),
            "averaged_over": self.said(
                self.one(("15 min",) * 8 + ("5 min", "16 min", "30 min", "1 h")),
                left_out=thin,
            ),
            "peak_shaved": self.said(self.chance(0.05), left_out=thin),
            "continuous": self.said(not self.chance(0.05), left_out=thin),
            "highest_loaded_leg": self.said(not self.chance(0.1), left_out=thin),
            "occupied": self.said(not self.chance(0.05), left_out=thin),
            "seasonal_loads_included": self.said(not self.chance(0.2), left_out=thin),
        }
        way = self.one(("VA", "kW", "kW", "A", "legs"))
        if way == "VA":
            made["maximum"] = f"{self.random.randrange(4000, 30_000, 200)} VA"
        elif way == "kW":
            made["maximum"] = f"{self.random.randrange(40, 300) / 10:g} kW"
            if self.chance(0.5):
                made["power_factor"] = self.one(("100 %", "95 %", "90 %", "80 %"))
        elif way == "A":
            made["maximum_current"] = f"{self.random.randrange(20, 160)} A"
        else:
            made["maximum_leg_a"] = f"{self.random.randrange(20, 160)} A"
            made["maximum_leg_b"] = f"{self.random.randrange(20, 160)} A"
        if self.chance(0.15):
            made["seasonal_load_added"] = self.va(1000, 8000)
        return made


# ------------------------------------------------------------------------- as text


def pruned(given: Any) -> Any:
    """Without what is left out."""
    if isinstance(given, dict):
        kept = {key: pruned(value) for key, value in given.items() if value is not None}
        return {key: value for key, value in kept.items() if value != []}
    if isinstance(given, list):
        return [pruned(each) for each in given]
    return given


def inline(given: Any) -> str:
    """A value in the plan file's form."""
    if isinstance(given, bool):
        return str(given).lower()
    if isinstance(given, str):
        return f'"{given}"'
    if isinstance(given, list):
        return f"[{', '.join(inline(each) for each in given)}]"
    if isinstance(given, dict):
        pairs = (f"{key} = {inline(value)}" for key, value in given.items())
        return f"{{ {', '.join(pairs)} }}"
    return str(given)


def as_text(tree: Mapping[str, Any]) -> str:
    """The whole plan: one line a field, inner tables in one line each."""
    lines = []
    for name, part in tree.items():
        if isinstance(part, dict):
            lines.append(f"\n[{name}]")
            lines += [f"{key} = {inline(value)}" for key, value in part.items()]
        elif isinstance(part, list):
            for each in part:
                lines.append(f"\n[[{name}]]")
                lines += [f"{key} = {inline(value)}" for key, value in each.items()]
        else:
            lines.append(f"{name} = {inline(part)}")
    return "\n".join(lines) + "\n"


def decimal(number: Fraction) -> str | None:
    """A fraction as a decimal that ends; None if it does not end."""
    for digits in range(9):
        if (number * 10**digits).denominator == 1:
            whole = str(int(number * 10**digits)).rjust(digits + 1, "0")
            return f"{whole[:-digits]}.{whole[-digits:]}" if digits else whole
    return None


def hit_a_limit(maker: Maker, tree: Tree) -> None:
    """Write a row's current back as the rating, so that both are equal or just not."""
    plan = tomllib.loads(as_text(pruned(tree)))
    known = [row for row in capacity(plan).values() if row.amperes]
    if not known:
        return
    amperes = maker.one(known).amperes
    wanted = amperes * maker.one((1, 1, Fraction(100, 95)))
    wanted += maker.one((0, 0, Fraction(1, 100), Fraction(-1, 100)))
    text = decimal(wanted)
    if text is None or wanted > 1000 or wanted <= 0:
        return
    service, panel = tree["service"], tree["panels"][0]
    service.pop("split_bus_mains", None)
    service["main"] = {"rating": "400 A"}
    service["conductor"] = {"material": "copper", "size": "250 kcmil"}
    service["meter_base_rating"] = "400 A"
    panel.pop("main_rating", None)
    panel["bus_rating"] = f"{text} A"


def random_plan(number: int, seed: int = 0) -> str:
    """The text of the plan of a number."""
    maker = Maker(number, seed)
    tree = maker.tree()
    if maker.chance(0.15):
        hit_a_limit(maker, tree)
    return as_text(pruned(tree))
