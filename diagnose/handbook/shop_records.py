"""What the handbook says of cautions, checks, gauges, work done and the vehicle."""

from diagnose.drawings.cards import condition_words, strength_words
from diagnose.handbook.book import Book, Key
from diagnose.handbook.markup import Markup, joined
from diagnose.handbook.words import (
    block,
    capital,
    facts,
    items,
    link,
    links,
    notices,
    paragraph,
    percent,
    setups,
    source_line,
    sources,
    table,
)
from diagnose.sentences import hours
from knowledge.model import (
    Caution,
    Check,
    CheckAnswer,
    Fact,
    Level,
    Limit,
    Measurement,
    Setup,
    Source,
    Work,
    WorkAnswer,
    Zone,
)

GRADES = "yes, probably, can’t tell, probably not, no"


def caution_text(book: Book, caution: Caution) -> Markup:
    """Tell a caution or stop notice, and what it stands before."""
    base = book.base
    checks = sum(caution.id in check.cautions for check in base.checks.values())
    repairs = sum(caution in base.repair_cautions(cause) for cause in base.causes.values())
    counted = [_count(checks, "check"), _count(repairs, "repair")]
    before = " and ".join(text for text in counted if text)
    held: list[Key] = [
        (kind, name)
        for kind in ("complaints", "findings")
        for name, record in getattr(base, kind).items()
        if record.stop == caution.id
    ]
    return joined(
        [
            notices([caution]),
            paragraph(f"It stands before {before}." if before else ""),
            paragraph("It holds as soon as this is there: ", links(book, held)) if held else "",
            source_line(book, caution.source),
        ]
    )


def check_text(book: Book, check: Check) -> Markup:
    """Tell of a check: cautions first, then the three voices, then what each answer means."""
    base = book.base
    helper = ["a helper"] if check.helper else []
    gauge: Key | None = ("measurements", check.gauge) if check.gauge else None
    return joined(
        [
            notices(base.cautions[c] for c in check.cautions),
            facts(
                [
                    ("Where", link(book, ("levels", check.from_))),
                    ("Takes", hours(check.minutes / 60.0)),
                    ("Needs", "; ".join((*helper, *check.tools))),
                    ("Set-ups", setups(book, check.when) if check.when else ""),
                    ("Reading", link(book, gauge) if gauge else ""),
                ]
            ),
            block("At the vehicle", check.do),
            block("On the phone", f"“{check.say}”"),
            block("Why", check.why),
            block("The answers, and what they mean", _answers(book, check)),
            source_line(book, check.source),
        ]
    )


def _answers(book: Book, check: Check) -> Markup:
    if check.finding is not None:
        sign = link(book, ("findings", check.finding))
        return joined(
            [
                paragraph("Looks for: ", sign, f". Answered {GRADES}."),
                table(("Answer", "What it means"), [("yes", check.yes), ("no", check.no)]),
            ]
        )
    rows = [(_answer(answer), answer.means, _read(book, answer)) for answer in check.answers]
    return table(("Answer", "What it means", "What it says of the signs"), rows)


def _answer(answer: CheckAnswer) -> str:
    ends = [f"from {answer.at_least}"] if answer.at_least else []
    ends += [f"below {answer.below}"] if answer.below else []
    return f"{answer.text} ({', '.join(ends)})" if ends else answer.text


def _read(book: Book, answer: CheckAnswer) -> Markup:
    said = [joined([f"{word}: ", link(book, book.key_of(n))]) for n, word in answer.shows.items()]
    return items(said)


def measurement_text(book: Book, measurement: Measurement) -> Markup:
    """Tell of a measurement: how it is taken, with what, and what it is held against."""
    takers = [("checks", c.id) for c in book.base.checks.values() if c.gauge == measurement.id]
    low, high = measurement.plausible
    instruments = [(capital(i.name), i.uncertainty) for i in measurement.instruments.values()]
    return joined(
        [
            facts(
                [
                    ("Unit", measurement.unit),
                    ("Plausible", f"{low} to {high}; anything else is a slip"),
                    ("Without a fault", _healthy(measurement)),
                    ("Taken in", links(book, takers)),
                ]
            ),
            block("How to take it", measurement.how),
            block(
                "Read with",
                table(("Instrument", "Standard uncertainty, hand included"), instruments),
            ),
            block("Limits", _limits(book, measurement)),
            source_line(book, measurement.source),
        ]
    )


def _healthy(measurement: Measurement) -> str:
    if measurement.model:
        return "what the release system of the set-up and the kit’s sheet predict"
    if measurement.healthy is not None:
        return f"{measurement.healthy.mean}, give or take {measurement.healthy.spread}"
    return "told by the answers of its check only"


def _limits(book: Book, measurement: Measurement) -> Markup:
    rows = [
        (
            capital(limit.name),
            _span(limit),
            condition_words(book.base, limit.when) or "all",
            sources(book, limit.source),
        )
        for limit in measurement.limits
    ]
    return table(("For", "Limit", "Set-ups", "Source"), rows)


def _span(limit: Limit) -> str:
    if limit.at_least and limit.at_most:
        return f"{limit.at_least} to {limit.at_most}"
    return f"at least {limit.at_least}" if limit.at_least else f"at most {limit.at_most}"


def work_text(book: Book, work: Work) -> Markup:
    """Tell of a piece of work: what is asked, and what each answer changes."""
    return joined(
        [
            facts(
                [
                    ("Ask", work.ask),
                    ("People say", "; ".join(f"“{words}”" for words in work.words)),
                    ("Set-ups", setups(book, work.when) if work.when else ""),
                ]
            ),
            *(
                block(f"“{answer.text}”", items(_changes(book, answer)) or "It changes nothing.")
                for answer in work.answers
            ),
            source_line(book, work.source),
        ]
    )


def _changes(book: Book, answer: WorkAnswer) -> list[Markup]:
    changed = [
        joined(["done at the job, it makes ", link(book, ("causes", name)), f" {word}"])
        for name, word in answer.changes.items()
    ]
    cured = [
        joined(
            [
                "done since, it cures ",
                link(book, ("causes", name)),
                f" {strength_words(book.base, strength)}",
            ]
        )
        for name, strength in answer.cures.items()
    ]
    return [*changed, *cured]


def level_text(book: Book, level: Level) -> Markup:
    """Tell how far in a level is, and what is read before a repair there."""
    state = "the vehicle can be driven" if level.drivable else "the vehicle can’t be driven"
    return joined(
        [
            notices(book.base.cautions[c] for c in level.cautions),
            facts(
                [
                    ("State", state),
                    ("To get there from the step before", hours(level.down) if level.down else ""),
                    ("And back again", hours(level.up) if level.up else ""),
                ]
            ),
            source_line(book, level.source),
        ]
    )


def zone_text(book: Book, zone: Zone) -> Markup:
    """Tell what is read before a repair in a region."""
    return notices(book.base.cautions[c] for c in zone.cautions)


def fact_text(book: Book, fact: Fact) -> Markup:
    """Tell what is asked about the vehicle, and how common each answer is."""
    rows = [(capital(v.name), f"{percent(v.share)} comebacks") for v in fact.values.values()]
    return joined(
        [
            facts([("Ask", fact.ask)]),
            table(("Answer", "Share"), rows),
            source_line(book, fact.source),
        ]
    )


def setup_text(book: Book, setup: Setup) -> Markup:
    """Tell what a set-up is."""
    levels = book.base.levels
    taken = [f"{levels[name].name}: {hours(value)}" for name, value in setup.hours.items()]
    return joined(
        [
            paragraph(setup.about),
            facts(
                [("Vehicle", setups(book, setup.facts)), ("Hours to get there", "; ".join(taken))]
            ),
            source_line(book, setup.source),
        ]
    )


def source_text(book: Book, source: Source) -> Markup:
    """Tell what a source is."""
    del book
    return joined([paragraph(source.title), paragraph(source.where)])


def _count(n: int, word: str) -> str:
    return "" if not n else f"1 {word}" if n == 1 else f"{n} {word}s"
