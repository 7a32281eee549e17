"""Twelve questions to a first plan file, in the person's words.

First what nothing can be judged without, then in the order in which they can change
the answer. Every one says where in
the house to look, and any may be left open: what is left open is unknown in the plan
and shows there as a comment. Nothing here asks or prints; the terminal does.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, replace

from lugbook.errors import Fault, InputError
from lugbook.premises.circuit import CABLES, RACEWAYS
from lugbook.premises.load import LOAD_KINDS
from lugbook.premises.plan import parse_plan
from lugbook.quantities import Quantity, conductor_size, read

__all__ = ["QUESTIONS", "Question", "plan_text"]

Answers = Mapping[str, str]
_Lines = list[str]


@dataclass(frozen=True, slots=True)
class Question:
    """One question of the interview.

    Args:
        key: Stable name. [-]
        ask: The question. [-]
        look: Where in the house to look, or whom to ask. [-]
        example: An answer as one would type it. [-]
        check: Reads an answer; raises InputError with a sentence if it cannot. [-]
    """

    key: str
    ask: str
    look: str
    example: str
    check: Callable[[str], object]


def plan_text(answers: Answers) -> str:
    """A plan file from the answers given; what was left open is a comment.

    Args:
        answers: Answer by the key of its question; blank or missing is unknown. [-]

    Returns:
        TOML text of a plan file. [-]

    Raises:
        InputError: An answer cannot be read.
    """
    given = {q.key: answers.get(q.key, "").strip() for q in QUESTIONS}
    for question in QUESTIONS:
        if given[question.key]:
            question.check(given[question.key])
    return _written(given)


def _written(given: Answers) -> str:
    parts = (
        _head(given["edition"]),
        _dwelling(
            given["house"], given["rooms"], given["appliances"], given["climate"]
        ),
        _service(given),
        _loads(given["appliances"], given["climate"]),
        _charger(given["charger"], given["run"]),
        _circuit(given["run"], given["proposed"]),
    )
    return "\n".join(line for part in parts for line in part) + "\n"


# --- reading one answer ---------------------------------------------------------


def _fail(given: str, accepted: str, mend: str = "") -> InputError:
    return InputError(Fault("answer", repr(given), accepted, mend))


def _spelling(word: str, words: Iterable[str]) -> str | None:
    """Return the word as the plan spells it, whatever its capitals."""
    return next((each for each in words if each.lower() == word.lower()), None)


def _is_none(answer: str) -> bool:
    return answer.strip().lower() == "none"


def _choice(words: tuple[str, ...]) -> Callable[[str], str]:
    def check(answer: str) -> str:
        found = _spelling(answer.strip(), words)
        if found is None:
            raise _fail(answer, ", ".join(words))
        return found

    return check


def _current(answer: str) -> str:
    if read(answer, Quantity.CURRENT, field="answer").amount <= 0:
        raise _fail(answer, "a current above 0 A")
    return answer


def _fits_a_plan(key: str, check: Callable[[str], object]) -> Callable[[str], object]:
    """Also hold an answer against the bounds of the plan file, which tell slips."""

    def check_both(answer: str) -> object:
        found = check(answer)
        try:
            parse_plan(_written({**dict.fromkeys(_KEYS, ""), key: answer.strip()}))
        except InputError as error:
            first = error.faults[0]
            fault = Fault("answer", first.given, first.accepted, first.mend)
            raise InputError(fault) from error
        return found

    return check_both


def _pieces(answer: str) -> list[str]:
    pieces = [piece.strip() for piece in answer.split(";") if piece.strip()]
    if not pieces:
        raise _fail(answer, "parts divided by ; or nothing at all")
    return pieces


def _rooms(answer: str) -> tuple[str, int | None, int | None]:
    area, *counts = _pieces(answer)
    read(area, Quantity.AREA, field="answer")
    if len(counts) > 2 or not all(
        count.isascii() and count.isdigit() for count in counts
    ):
        raise _fail(answer, "an area, then two whole numbers, as in 1920 ft²; 2; 1")
    numbers = [int(count) for count in counts]
    kitchen, laundry, *_ = [*numbers, None, None]
    return area, kitchen, laundry


def _wire(answer: str) -> tuple[str, str]:
    words = answer.split()
    material = _METALS.get(words[-1].lower()) if len(words) > 1 else None
    if material is None:
        raise _fail(answer, "a size and a material, as in 4/0 AWG aluminum")
    return conductor_size(" ".join(words[:-1]), field="answer"), material


_LOAD = re.compile(r"^(?:(?P<count>\d{1,2})\s*[x×]\s*)?(?P<rest>.+)$")


def _load_list(answer: str) -> list[tuple[int, str, str]]:
    """Return (count, kind, amount) for each load; amount is empty if unknown."""
    if _is_none(answer):
        return []
    found = []
    for piece in _pieces(answer):
        match = _LOAD.match(piece)
        rest = match["rest"] if match else piece
        kinds = [
            kind
            for kind in LOAD_KINDS
            if re.match(rf"{re.escape(kind)}(?!\w)", rest, re.IGNORECASE)
        ]
        count = int(match["count"]) if match and match["count"] else 1
        if not kinds or count < 1:
            raise _fail(
                piece,
                f"a kind and its nameplate, as in range 12 kW; kinds: "
                f"{', '.join(LOAD_KINDS)}",
            )
        kind = max(kinds, key=len)
        amount = rest[len(kind) :].strip()
        if amount in ("", "?"):
            amount = ""
        else:
            quantity = Quantity.CURRENT if _is_current(amount) else Quantity.LOAD_POWER
            read(amount, quantity, field="answer")
        found.append((count, kind, amount))
    return found


def _is_current(amount: str) -> bool:
    try:
        read(amount, Quantity.CURRENT, field="answer")
    except InputError:
        return False
    return True


def _charger_parts(answer: str) -> dict[str, str]:
    """Return nameplate, setting and connection of "48 A; set to 32 A; hard-wired"."""
    parts: dict[str, str] = {}
    for piece in _pieces(answer):
        connection = _CONNECTIONS.get(piece.lower())
        setting = re.match(r"set to\s+(.+)", piece, re.IGNORECASE)
        if connection is not None:
            name, said = "connection", connection
        elif setting is not None:
            name, said = "setting", _current(setting[1])
        elif piece[:1].isdigit():
            name, said = "nameplate", _current(piece)
        else:
            raise _fail(piece, _CHARGER_FORM)
        if name in parts:
            raise _fail(piece, f"one {name} only; {_CHARGER_FORM}")
        parts[name] = said
    if "nameplate" not in parts:
        raise _fail(answer, _CHARGER_FORM)
    return parts


_CHARGER_FORM = (
    "the nameplate in A, then, if you know them, set to so many A, and hard-wired or "
    "receptacle, as in 48 A; set to 32 A; hard-wired"
)
_CONNECTIONS = {
    "hard-wired": "hard-wired",
    "hardwired": "hard-wired",
    "hard wired": "hard-wired",
    "receptacle": "receptacle",
    "plugged in": "receptacle",
}
_METALS = {
    "copper": "copper",
    "cu": "copper",
    "aluminum": "aluminum",
    "aluminium": "aluminum",
    "al": "aluminum",
}
_METHODS = (*RACEWAYS, *CABLES, "open air")
# Longest first, so that "PVC 40" is not read as a method and a length of 40.
_STRETCH = re.compile(
    r"(?P<place>[a-z ]+?)"
    rf"(?:\s+in\s+(?P<method>{'|'.join(sorted(_METHODS, key=len, reverse=True))}))?"
    r"\s+(?P<length>\d.*?)\s+at\s+(?P<ambient>\S.*)",
    re.IGNORECASE,
)


def _run(answer: str) -> list[dict[str, str]]:
    """Return place, wiring method, length and ambient of each stretch of the run."""
    stretches = []
    for piece in _pieces(answer):
        match = _STRETCH.fullmatch(piece)
        place = _spelling(match["place"], _PLACES) if match else None
        if match is None or place is None:
            raise _fail(
                piece,
                "place, how it is wired, length, and the hottest air there, as in "
                f"attic in EMT 22 ft at 125 °F; places: {', '.join(_PLACES)}; wired "
                f"in: {', '.join(_METHODS)}",
            )
        read(match["length"], Quantity.LENGTH, field="answer")
        read(match["ambient"], Quantity.TEMPERATURE, field="answer")
        stretches.append(
            {
                "place": place,
                "method": _spelling(match["method"] or "", _METHODS) or "",
                "length": match["length"],
                "ambient": match["ambient"],
            }
        )
    return stretches


def _proposed(answer: str) -> tuple[str, str, str]:
    if _is_none(answer):
        return "", "", ""
    pieces = _pieces(answer)
    if len(pieces) != 2:
        raise _fail(answer, "breaker and wire, as in 60 A; 6 AWG copper; or none")
    return (_current(pieces[0]), *_wire(pieces[1]))


_PLACES = (
    "indoors",
    "garage",
    "attic",
    "crawl space",
    "basement",
    "in a wall",
    "outdoors",
    "roof",
    "underground",
)
_HOUSES = (
    "one-family on 120/240 V",
    "one-family on 120/208 V",
    "something else",
)

_QUESTIONS: tuple[Question, ...] = (
    Question(
        "house",
        "Which house is it?",
        "the meter's face says the volts; houses with a yard mostly have 120/240 V",
        "one-family on 120/240 V",
        _choice(_HOUSES),
    ),
    Question(
        "edition",
        "Which edition of the National Electrical Code is adopted where you live?",
        "the building department's page or telephone",
        "2023",
        _choice(("2017", "2020", "2023", "2026")),
    ),
    Question(
        "main",
        "Which number is on the main breaker, the one that turns the whole house off?",
        "the number on the handle of the main breaker",
        "200 A",
        _current,
    ),
    Question(
        "charger",
        "What does the charger's nameplate say, is it set lower, how is it connected?",
        "the charger's label; parts divided by ;",
        "48 A; set to 32 A; hard-wired",
        _charger_parts,
    ),
    Question(
        "appliances",
        "Which large electric appliances are there, with their nameplates? "
        "Leave the number out where you do not know it.",
        "the label on each; the two-pole breakers in the panel remind you of all",
        "range 12 kW; dryer 5000 W; water heater 4500 W",
        _load_list,
    ),
    Question(
        "climate",
        "Which electric heating and cooling is there?",
        "the label of the outdoor unit and of the air handler; none if there is none",
        "central cooling 20 A; central electric heat 10 kW",
        _load_list,
    ),
    Question(
        "rooms",
        "How large is the house, and how many 20 A kitchen and laundry circuits are "
        "there?",
        "tax record or tape measure by the outside walls; the panel's directory",
        "1920 ft²; 2; 1",
        _rooms,
    ),
    Question(
        "bus",
        "How many amperes is the panel itself made for (its bus rating)?",
        "the maker's label inside the panel door",
        "200 A",
        _current,
    ),
    Question(
        "conductor",
        "Which size and metal is the cable that brings the power (service conductors)?",
        "the print on the cable above the meter; never open what the utility sealed",
        "4/0 AWG aluminum",
        _wire,
    ),
    Question(
        "meter",
        "How many amperes is the box behind the meter made for (the meter base)?",
        "the label on the meter enclosure, or the utility",
        "200 A",
        _current,
    ),
    Question(
        "run",
        "Which way will the cable to the charger go? Stretch by stretch: place, how it "
        "is wired, length, and how hot it gets there.",
        "walk it with a tape; a thermometer in the attic on a summer afternoon",
        "garage in EMT 34 ft at 95 °F; attic in EMT 22 ft at 125 °F",
        _run,
    ),
    Question(
        "proposed",
        "Has somebody named a breaker and a wire already?",
        "the quotation; none if it shall be sized",
        "60 A; 6 AWG copper",
        _proposed,
    ),
)
_KEYS = tuple(question.key for question in _QUESTIONS)
QUESTIONS: tuple[Question, ...] = tuple(
    replace(question, check=_fits_a_plan(question.key, question.check))
    for question in _QUESTIONS
)


# --- writing the plan -----------------------------------------------------------


def _quoted(text: str) -> str:
    return '"' + text.replace("\\", "\\\\").replace('"', '\\"') + '"'


def _line(key: str, answer: str, question_key: str) -> str:
    if answer:
        return f"{key} = {_quoted(answer)}"
    return f"# {key}: not known yet. Look: {_look(question_key)}"


def _look(question_key: str) -> str:
    return next(q.look for q in QUESTIONS if q.key == question_key)


def _head(edition: str) -> _Lines:
    return [
        "# A house and a wish. Every field: docs/reference/plan-file.md.",
        "# What is left out is unknown, and the answer says what to go and look at.",
        "schema = 1",
        "",
        "[rules]",
        _line("edition", edition, "edition"),
    ]


def _dwelling(house: str, rooms: str, appliances: str, climate: str) -> _Lines:
    lines = ["", "[dwelling]"]
    kind = "one-family" if house.lower().startswith("one-family") else ""
    lines.append(_line("kind", kind, "house"))
    area, kitchen, laundry = _rooms(rooms) if rooms else ("", None, None)
    lines.append(_line("floor_area", area, "rooms"))
    for key, count in (
        ("small_appliance_circuits", kitchen),
        ("laundry_circuits", laundry),
    ):
        lines.append(
            f"{key} = {count}" if count is not None else _line(key, "", "rooms")
        )
    if appliances and climate:
        lines.append("loads_complete = true  # every large load is listed below")
    else:
        lines.append("# loads_complete: set it to true once every large load is listed")
    lines.append('not_present = []  # say "solar", "battery" here if there is none')
    return lines


def _service(given: Mapping[str, str]) -> _Lines:
    volts = {
        "one-family on 120/240 v": "120/240 V split-phase",
        "one-family on 120/208 v": "120/208 V of a three-phase wye",
    }.get(given["house"].lower(), "")
    lines = ["", "[service]", 'id = "service"', _line("system", volts, "house")]
    lines.append(_line("meter_base_rating", given["meter"], "meter"))
    lines += ["", "[service.main]", _line("rating", given["main"], "main")]
    lines += ["", "[service.conductor]"]
    size, material = _wire(given["conductor"]) if given["conductor"] else ("", "")
    lines.append(_line("size", size, "conductor"))
    lines.append(_line("material", material, "conductor"))
    lines += ["", "[[panels]]", 'id = "main_panel"', 'fed_from = "service"']
    lines.append(_line("bus_rating", given["bus"], "bus"))
    return lines


def _loads(appliances: str, climate: str) -> _Lines:
    lines: _Lines = []
    taken: dict[str, int] = {}
    everything = [
        load
        for answer in (appliances, climate)
        if answer
        for load in _load_list(answer)
    ]
    for count, kind, amount in everything:
        base = re.sub(r"[^a-z0-9]+", "_", kind)
        taken[base] = taken.get(base, 0) + 1
        own = base if taken[base] == 1 else f"{base}_{taken[base]}"
        lines += ["", "[[loads]]", f"id = {_quoted(own)}", f"kind = {_quoted(kind)}"]
        if count != 1:
            lines.append(f"count = {count}")
        if amount and _is_current(amount):
            lines.append(f"nameplate_current = {_quoted(amount)}")
            lines.append('leg = "both"  # taken as 240 V; say "A" or "B" for 120 V')
        else:
            lines.append(_line("nameplate", amount, "appliances"))
    return lines


def _charger(charger: str, run: str) -> _Lines:
    parts = _charger_parts(charger) if charger else {}
    lines = ["", "[charger]", 'id = "charger"']
    lines.append(_line("nameplate", parts.get("nameplate", ""), "charger"))
    setting = parts.get("setting", parts.get("nameplate", ""))
    lines.append(_line("setting", setting, "charger"))
    lines.append(_line("connection", parts.get("connection", ""), "charger"))
    last = _run(run)[-1]["place"] if run else ""  # the charger hangs where the run ends
    if last in ("garage", "indoors", "outdoors"):
        lines.append(f"place = {_quoted(last)}")
    return lines


def _circuit(run: str, proposed: str) -> _Lines:
    lines = ["", "[circuit]", 'id = "charger_circuit"', 'fed_from = "main_panel"']
    breaker, size, material = _proposed(proposed) if proposed else ("", "", "")
    if breaker:
        lines += ["", "[circuit.overcurrent]", f"rating = {_quoted(breaker)}"]
        lines += ["", "[circuit.conductor]", f"size = {_quoted(size)}"]
        lines.append(f"material = {_quoted(material)}")
    for number, stretch in enumerate(_run(run) if run else (), 1):
        lines += ["", "[[circuit.sections]]", f'id = "stretch_{number}"']
        for key, answer in stretch.items():
            lines.append(_line(key, answer, "run"))
    return lines
