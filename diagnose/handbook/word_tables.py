"""The words of the scale with the numbers they stand for."""

from diagnose.handbook.book import Book
from diagnose.handbook.markup import Markup, joined
from diagnose.handbook.words import block, number, percent, source_line, table
from diagnose.sentences import hours


def scale_text(book: Book) -> Markup:
    """Give every word of the scale and every number that stands for itself."""
    scale = book.base.scale
    unknown = scale.unknown
    return joined(
        [
            block(
                "How often the one brings about or shows the other",
                table(("Word", "Chance"), [(w, percent(p)) for w, p in scale.strength.items()]),
            ),
            block(
                "How common a cause is",
                table(
                    ("Word", "Share of comebacks"),
                    [(w, percent(p)) for w, p in scale.rate.items()],
                ),
            ),
            block(
                "What work done makes of the odds of a cause",
                table(
                    ("Word", "The odds are multiplied by"),
                    [(word, number(factor)) for word, factor in scale.change.items()],
                ),
            ),
            block(
                "Answers that are not quite sure",
                table(
                    ("Answer", "The odds of the sign are multiplied by"),
                    [(word, number(ratio)) for word, ratio in scale.answer.items()],
                ),
            ),
            block(
                "What is taken for granted",
                table(
                    ("What", "Number"),
                    [
                        ("Comebacks whose cause is none of these", percent(unknown.rate)),
                        ("It brings any one complaint", percent(unknown.brings)),
                        ("It moves any one reading, to anywhere", percent(unknown.moves)),
                        (
                            "It shows a sign so many times as often as it comes unexplained",
                            number(unknown.shows),
                        ),
                        ("Readings that are slips of pen or gauge", percent(scale.mistyped)),
                        ("Causes in a comeback, on average", number(scale.faults_per_comeback)),
                        ("To go and ask the driver something", hours(scale.ask_minutes / 60.0)),
                        (
                            "To prove on the road that the complaint is gone",
                            hours(scale.drive_minutes / 60.0),
                        ),
                        (
                            "To hand it over, when everything known was looked at in vain",
                            hours(scale.hand_over),
                        ),
                    ],
                ),
            ),
            source_line(book, scale.source),
        ]
    )
