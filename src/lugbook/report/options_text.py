"""The options on a terminal: few enough to choose from, each with its number."""

from __future__ import annotations

from collections.abc import Iterator

from lugbook.assess.assessment import Assessment
from lugbook.assess.options import Option, Options, Stated
from lugbook.assess.options_rules import RULES
from lugbook.assess.parts import PartsList
from lugbook.finding import Outcome, Weight
from lugbook.report.figures import degrees_text, edition_text, share_text
from lugbook.report.paper import Column, Paper

__all__ = ["options_text", "parts_text"]

_COLUMNS = (
    Column("no.", figures=True),
    Column("set", figures=True),
    Column("device", figures=True),
    Column("conductor", wraps=True),
    Column("raceway", wraps=True),
    Column("cost", figures=True),
    Column("drop", figures=True),
    Column("hottest", figures=True),
    Column("room", figures=True),
)
_TITLES = dict(RULES)
_IN = "      "  # under a mark


def options_text(options: Options, paper: Paper, *, every_one: bool = False) -> str:
    """What the search found.

    Args:
        options: The options. [-]
        paper: What it is written on. [-]
        every_one: Whether all that no other beats are listed, not only the few. [-]

    Returns:
        Text ending in a line end. [-]
    """
    name = f"{options.name}, " * bool(options.name)
    lines = [
        *paper.wrap(f"{name}{edition_text(options.edition)}: lawful circuits"),
        paper.rule(),
    ]
    if options.unknowns:
        lines += _untold(options, paper)
        return "\n".join(lines) + "\n"
    lines += _head(options, paper)
    if options.stated is not None:
        lines += _stated(options.stated, options, paper)
    lines += _table(options, paper, every_one=every_one)
    lines += _routes(options, paper)
    lines += _refused(options, paper)
    lines += _tail(options, paper, every_one=every_one)
    return "\n".join(lines) + "\n"


def _untold(options: Options, paper: Paper) -> Iterator[str]:
    yield from paper.wrap("Nothing can be searched yet.")
    for unknown in options.unknowns:
        yield from paper.wrap(
            f"{unknown.field}: {unknown.question} Look: {unknown.look}.",
            first="- ",
            rest="  ",
        )


def _head(options: Options, paper: Paper) -> Iterator[str]:
    words = (
        f"{options.candidates:,} circuits tried on the stated run, "
        f"{options.lawful:,} lawful"
    )
    if options.hot:
        words += (
            f"; of these {options.hot:,} are left out below: their wire is forecast "
            "over its limit"
        )
    if options.open:
        words += f"; {options.open:,} have something that cannot be told yet"
    yield from paper.wrap(words + ".")
    need = options.least_setting_a
    if need is not None:
        yield from paper.wrap(
            f"The cars are ready from {need:g} A on, as `lugbook need` reckons it."
        )
    service = options.service_largest_a
    if service is None and options.service_untold:
        yield from paper.wrap(
            "What the service carries cannot be told yet; `lugbook check` says what is "
            "missing."
        )
        return
    carries = "no setting tried" if service is None else f"up to {service:g} A"
    yield from paper.wrap(f"The service carries {carries} on the prudent reading.")


def _stated(stated: Stated, options: Options, paper: Paper) -> Iterator[str]:
    yield ""
    yield from paper.wrap(f"As stated: {stated.words}.")
    if not stated.findings and stated.untold:
        yield from _marked(
            paper,
            Outcome.CANNOT_TELL,
            "No rule refuses it as far as it is stated; `lugbook check` says what is "
            "missing.",
        )
    elif not stated.findings:
        yield from _marked(paper, Outcome.MEETS, "No rule of the circuit refuses it.")
    elif stated.rule:
        title = _TITLES[stated.rule]
        yield from _marked(
            paper, Outcome.FALLS_SHORT, f"Refused by: {title[0].lower()}{title[1:]}."
        )
    for finding in stated.findings:
        yield from paper.wrap(finding.next, first=_IN, rest=_IN)
    cost = _money(stated.cost, options)
    if cost:
        yield from paper.wrap(
            f"It would cost about {cost}.", first="      ", rest="      "
        )
    for words, option in (
        ("Cheapest at this setting", stated.next),
        ("The same by its own method", stated.next_same_method),
        ("The most its own wire may carry", stated.next_same_wire),
    ):
        if option is not None:
            money = _money(option.cost, options)
            yield from paper.wrap(
                f"{words}: {option.candidate.words}; about {money}.",
                first=_IN,
                rest=_IN + "  ",
            )


def _marked(paper: Paper, outcome: Outcome, text: str) -> list[str]:
    return paper.wrap(text, first=f"{paper.mark(outcome)}  ", rest=_IN)


def _table(options: Options, paper: Paper, *, every_one: bool) -> Iterator[str]:
    yield ""
    if not options.pareto:
        yield from paper.wrap("No circuit to show: see below what refused them.")
        return
    places = range(len(options.pareto)) if every_one else options.shown
    words = (
        "All that no other beats in setting, cost, heat, drop and room at once"
        if every_one
        else "The cheapest of each setting; where it matters the roomiest and coolest"
    )
    yield from paper.wrap(f"{words} ({options.currency}, rough, without the charger)")
    rows = [_row(options.pareto[place], place + 1) for place in places]
    yield from paper.table(_COLUMNS, rows)
    if any(options.pareto[place].candidate.ground_fault for place in places):
        yield from paper.wrap("g: a device with ground-fault protection.")
    for place in places:
        short = options.pareto[place].elsewhere
        if short:
            yield from paper.wrap(
                f"{place + 1} falls short beside the circuit: {', '.join(short)}; see "
                f"--parts {place + 1}.",
                rest="  ",
            )
    if any(options.pareto[place].open_rules for place in places):
        yield from paper.wrap(
            "?: something of it cannot be told yet; --parts says what."
        )


def _row(option: Option, number: int) -> tuple[str, ...]:
    candidate, hottest = option.candidate, option.hottest
    limit = hottest.limit_c if hottest else None
    heat = "unknown"
    if hottest is not None:
        over = hottest.margin_k is not None and hottest.margin_k < 0
        middle = degrees_text(hottest.middle_c).removesuffix(" °C")
        heat = f"{middle} {'over' if over else 'of'} {degrees_text(limit)}"
    protects = "g" if candidate.ground_fault else ""
    return (
        f"{number}{'?' if option.open_rules else ''}",
        f"{candidate.setting_a:g}{'' if option.meets_need is not False else '<'}",
        f"{candidate.overcurrent_a:g}{protects}",
        candidate.conductor,
        candidate.raceway,
        "unknown" if option.cost is None else f"{option.cost:,.0f}",
        share_text(option.drop_fraction, 1),
        heat,
        f"{option.room_a:g} A",
    )


def _routes(options: Options, paper: Paper) -> Iterator[str]:
    if not options.routes:
        return
    yield ""
    yield from paper.wrap(f"Routes, priced roughly ({options.currency})")
    for route in options.routes:
        price = (
            "no lawful circuit"
            if route.low is None or route.high is None
            else f"{_rounded(route.low)} to {_rounded(route.high)}"
        )
        need = {True: "", False: " It does not have the cars ready.", None: ""}
        circuit = route.circuit.partition(" on a ")[2]
        built = f" The cheapest circuit: {circuit}." if circuit else ""
        yield from paper.wrap(
            f"{route.name}, {route.setting_a:g} A: {price}. {route.says}{built}"
            f"{need[route.meets_need]}",
            first="- ",
            rest="  ",
        )


def _refused(options: Options, paper: Paper) -> Iterator[str]:
    yield ""
    yield from paper.wrap("Refused, each by the first of these rules that it fails")
    rows = [(f"{count:,}", _TITLES[rule]) for rule, count in options.refused]
    yield from paper.table((Column("", figures=True), Column("", wraps=True)), rows)


def _tail(options: Options, paper: Paper, *, every_one: bool) -> Iterator[str]:
    yield ""
    if options.invented_prices:
        yield from paper.wrap(
            "PRICES ARE INVENTED: they compare, they are no offer. Give your own with "
            "--prices FILE."
        )
    low, high = options.rough_fractions
    yield from paper.wrap(
        f"A cost may be {share_text(low)} to {share_text(high)} of the figure. "
        "Temperatures are the middle of the forecast and the limit, at the point with "
        "the least room; < is less than the cars need; room is the largest setting the "
        "same wire may carry."
    )
    if not options.shown:
        return
    number = options.shown[0] + 1
    more = "" if every_one else f"--all lists {len(options.pareto)}. "
    yield from paper.wrap(f"{more}--parts {number} gives the parts of number {number}.")


def _money(amount: float | None, options: Options) -> str:
    return "" if amount is None else f"{_rounded(amount)} {options.currency}"


def _rounded(amount: float) -> str:
    """Return a rough price in tens: it knows no units."""
    return f"{round(amount, -1):,.0f}"


def parts_text(
    parts: PartsList, assessment: Assessment, options: Options, paper: Paper
) -> str:
    """The parts, hours, papers and cautions of one circuit.

    Args:
        parts: The list. [-]
        assessment: What `check` says of the plan that states it. [-]
        options: The options it is from. [-]
        paper: What it is written on. [-]

    Returns:
        Text ending in a line end. [-]
    """
    lines = [*paper.wrap(f"Parts for {parts.candidate.words}"), paper.rule()]
    rows = [
        (
            f"{part.quantity:,.0f} {part.unit}",
            part.name,
            part.size,
            part.listing,
            "not priced" if part.cost is None else f"{part.cost:,.0f}",
        )
        for part in parts.parts
    ]
    lines += paper.table(
        (
            Column("quantity", figures=True),
            Column("part", wraps=True),
            Column("size", wraps=True),
            Column("listing", wraps=True),
            Column(options.currency, figures=True),
        ),
        rows,
    )
    lines += ["", *paper.wrap(_sum(parts, options))]
    lines += ["", "What the permit desk may ask for"]
    for paper_item in parts.papers:
        lines += paper.wrap(
            f"{paper_item.name}: {paper_item.where}", first="- ", rest="  "
        )
    lines += ["", "In the order of work, dead first"]
    for number, caution in enumerate(parts.cautions, 1):
        signal = f"{caution.signal.value}: " if caution.signal else ""
        lines += paper.wrap(
            f"{signal}{caution.text}", first=f"{number:>2}. ", rest="    "
        )
    says = "What `lugbook check` says of a plan that states this circuit"
    lines += ["", *paper.wrap(says)]
    lines += _judged(assessment, paper)
    return "\n".join(lines) + "\n"


def _judged(assessment: Assessment, paper: Paper) -> Iterator[str]:
    yield from _marked(paper, assessment.headline.outcome, assessment.headline.sentence)
    for finding in assessment.findings:
        short = finding.outcome is Outcome.FALLS_SHORT
        untold = finding.outcome is Outcome.CANNOT_TELL
        if (short or untold) and finding.weight is not Weight.ADVICE:
            yield from _marked(
                paper, finding.outcome, f"{finding.question} {finding.next}"
            )


def _sum(parts: PartsList, options: Options) -> str:
    low, high = options.rough_fractions
    if parts.cost is None or parts.hours is None or parts.labor is None:
        return "Cost unknown: a length is not stated, or a part has no price."
    invented = " The prices are invented." if options.invented_prices else ""
    return (
        f"Roughly {parts.hours:.0f} hours of work ({_rounded(parts.labor)}), permit "
        f"{_rounded(parts.permit)}; together {_rounded(parts.cost * low)} to "
        f"{_rounded(parts.cost * high)} {options.currency}, the charger not counted."
        f"{invented}"
    )
