"""What the handbook says of the records of the tree: complaints, mechanisms, causes and signs."""

from diagnose.drawings.cards import gate_lines, strength_words
from diagnose.handbook.book import Book, Done, Key, Lead
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
    part,
    percent,
    setups,
    shift_words,
    source_line,
    table,
    tie,
)
from diagnose.sentences import counts, hours
from knowledge.model import Cause, Complaint, Finding, Mechanism, Observable, Strength

CAUSE_KINDS = {
    "fault": "a fault of the vehicle or of the fitting",
    "new_part": "a new part that is faulty or wrong",
    "designed": "no fault: it works as designed",
    "elsewhere": "not the clutch",
}


def complaint_text(book: Book, complaint: Complaint, drawn: Markup) -> Markup:
    """Tell of a complaint; ``drawn`` is its drawing, or what stands in its place."""
    stop = (book.base.cautions[complaint.stop],) if complaint.stop else ()
    return joined(
        [
            notices(stop),
            facts(
                [
                    ("Ask", complaint.ask),
                    ("People say", "; ".join(f"“{words}”" for words in complaint.words)),
                    ("Comes unexplained", _unexplained(book, complaint)),
                ]
            ),
            paragraph(complaint.about),
            block("What leads there, drawn", drawn),
            block(
                "What leads there, in order of chance",
                "In 100 comebacks of which only this complaint is known, so many have that cause. "
                "The last column is how often the cause by itself leads there.",
                _leads(book, complaint.id),
            ),
            source_line(book, complaint.source),
        ]
    )


def _leads(book: Book, complaint: str) -> Markup:
    network = book.network
    ways = book.ways.strongest(complaint)
    alone = network.q[:, network.finding_index[complaint]]
    rows = []
    for lead in book.leads(complaint):
        head = ways[lead.cause.id].head
        by = "straight" if head[1] == complaint else link(book, head)
        p = float(alone[network.cause_index[lead.cause.id]])
        often = percent(float(f"{p:.2g}")) if p else "only with others"
        rows.append((_in_hundred(lead), link(book, ("causes", lead.cause.id)), by, often))
    return table(("In 100", "Cause", "By way of", "Leads there"), rows, class_="leads")


def _in_hundred(lead: Lead) -> str:
    return counts(lead.p).removeprefix("about ").removesuffix(" in 100").replace("less than ", "< ")


def mechanism_text(book: Book, mechanism: Mechanism) -> Markup:
    """Tell of a mechanism: what brings it, and what it brings and shows."""
    base = book.base
    brought = book.brought_by.get(mechanism.id, ())
    kinds = ("mechanisms", "causes")
    behind = [[t for t in brought if t.key[0] == kind] for kind in kinds]
    gate = gate_lines(base, mechanism)
    return joined(
        [
            paragraph(mechanism.about),
            block("Gate", *gate, items([link(book, book.key_of(name)) for name in mechanism.of])),
            block("Brought by other mechanisms", items(tie(book, *t) for t in behind[0])),
            block("Brought by causes", items(tie(book, *t) for t in behind[1])),
            block("Brings", _brings(book, mechanism)),
            block("Shows", _shows(book, mechanism)),
            block("Input of", _inputs(book, mechanism.id)),
            source_line(book, mechanism.source),
        ]
    )


def cause_text(book: Book, cause: Cause) -> Markup:
    """Tell of a cause: how it comes about, how it is proved, how it is put right."""
    base = book.base
    level = ("levels", cause.repair.from_)
    shifts = [
        shift_words(book, moved, shift) for moved, each in cause.shifts.items() for shift in each
    ]
    alike = [joined([link(book, ("causes", n)), f" – {why}"]) for n, why in cause.alike.items()]
    return joined(
        [
            facts(
                [
                    ("Kind", CAUSE_KINDS[cause.kind]),
                    ("How common", _rates(book, cause)),
                    ("Region", link(book, ("zones", cause.zone))),
                    ("Set-ups", setups(book, cause.when)),
                ]
            ),
            block("How it comes about", cause.about),
            block("What it brings", _brings(book, cause), _inputs(book, cause.id)),
            block("What it shows", _shows(book, cause)),
            block("How to prove it", cause.prove, _proving(book, cause)),
            block("What it does to the gauges", items(shifts)),
            block("Nothing tells it from", items(alike)),
            part("How it is put right"),
            notices(base.repair_cautions(cause)),
            paragraph(cause.repair.do),
            paragraph(
                link(book, level, capital(base.levels[level[1]].name)),
                f", {hours(cause.repair.hours)}. ",
                _cured(book, cause.repair.cures),
            ),
            block("Before it closes", cause.before_closing),
            block("Next time", cause.next_time),
            block("What work done says of it", _done(book, cause)),
            source_line(book, cause.source),
        ]
    )


def finding_text(book: Book, finding: Finding) -> Markup:
    """Tell of a sign: who shows it, and which checks look for it."""
    stop = (book.base.cautions[finding.stop],) if finding.stop else ()
    return joined(
        [
            notices(stop),
            facts(
                [
                    ("Without it", finding.absent),
                    ("Comes unexplained", _unexplained(book, finding)),
                    (
                        "Looked for by",
                        links(book, [("checks", c.id) for c in book.read_by.get(finding.id, ())]),
                    ),
                ]
            ),
            block("Shown by", items(tie(book, *t) for t in book.shown_by.get(finding.id, ()))),
            source_line(book, finding.source),
        ]
    )


def _brings(book: Book, record: Cause | Mechanism) -> Markup:
    return items(tie(book, book.key_of(n), s) for n, s in record.brings.items())


def _shows(book: Book, record: Cause | Mechanism) -> Markup:
    return items(tie(book, book.key_of(n), s) for n, s in record.shows.items())


def _inputs(book: Book, name: str) -> Markup:
    gates: list[Key] = [("mechanisms", gate) for gate in book.gates_of.get(name, ())]
    return items(joined(["together with others: ", link(book, gate)]) for gate in gates)


def _proving(book: Book, cause: Cause) -> Markup:
    said = []
    for proof in book.proofs.get(cause.id, ()):
        check = book.base.checks[proof.check]
        level = book.base.levels[check.from_].name
        said.append(
            joined(
                [
                    link(book, ("checks", check.id)),
                    f" ({level}, {hours(proof.hours)}) proves it where it shows: ",
                    link(book, ("findings", proof.finding)),
                ]
            )
        )
    return items(said) or paragraph(
        "No single check proves it by itself; its signs and those of its rivals together do."
    )


def _done(book: Book, cause: Cause) -> Markup:
    return items(_done_line(book, done) for done in book.done_to.get(cause.id, ()))


def _done_line(book: Book, done: Done) -> Markup:
    said = [f"done at the job, it makes it {done.change}"] if done.change else []
    if done.cure is not None:
        said.append(f"done since, it cures it {strength_words(book.base, done.cure)}")
    name = link(book, ("work", done.work.id))
    return joined([name, f", “{done.answer.text}”: {'; '.join(said)}"])


def _rates(book: Book, cause: Cause) -> Markup:
    """Say how common a cause is among the comebacks it can occur in, and where that differs."""
    differs = [joined([_rate(book, r), " where: ", setups(book, r.when)]) for r in cause.rate_where]
    return joined([f"{_rate(book, cause.rate)} comebacks", *differs], "; ")


def _rate(book: Book, rate: Strength) -> str:
    return f"{rate.word + ', ' if rate.word else ''}{percent(book.base.rate(rate))}"


def _cured(book: Book, cures: Strength) -> str:
    p = percent(book.base.strength(cures))
    return f"It {cures.word} cures it ({p})." if cures.word else f"It cures it in {p} cases."


def _unexplained(book: Book, record: Observable) -> str:
    p = percent(book.base.strength(record.unexplained))
    return f"{record.unexplained.word} ({p})" if record.unexplained.word else p
