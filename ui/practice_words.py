"""A running exercise, its review and its results in words and rows; Qt-free."""

from collections.abc import Iterable, Mapping, Sequence

from diagnose.practice.exercise import Difficulty, Exercise
from diagnose.practice.results import Result, by_apprentice
from diagnose.practice.review import Review
from diagnose.practice.run import End, Made, Run
from diagnose.practice.scoring import Score, Scored, act_words
from diagnose.sentences import hours
from knowledge.model import KnowledgeBase
from ui.questions import answered, asked
from ui.widgets.rows import Pair, Ranked

DIFFICULTIES: Mapping[Difficulty, str] = {
    "single": "One fault",
    "decoy": "One fault, and something that misleads",
    "two": "Two faults",
}
_CHEAPEST = 0.5  # minutes of regret that are none
_ENDS: Mapping[End, str] = {
    "running": "Not finished",
    "verified": "Driven: the complaint is gone",
    "handed over": "Handed over",
    "given back": "Given back without a drive",
    "stopped": "Stopped: not safe",
}


def minutes(value: float) -> str:
    """Give minutes as one would say them."""
    return hours(value / 60.0)


def capital(text: str) -> str:
    """Give a text with a capital letter in front."""
    return text[:1].upper() + text[1:]


def lower(text: str) -> str:
    """Give a text with a small letter in front."""
    return text[:1].lower() + text[1:]


def end_words(score: Score) -> str:
    """Say how an exercise ended."""
    if score.end != "given back":
        return _ENDS[score.end]
    left = "it was cured, but nobody knows" if score.solved else "the complaint is still there"
    return f"{_ENDS[score.end]}: {left}"


def told_rows(base: KnowledgeBase, run: Run) -> list[tuple[int, Pair]]:
    """Give what is known of a running exercise, the latest first.

    Returns
    -------
    list of (int, Pair)
        Number of the move, negative for what the driver told at first.
    """
    first = run.shops[0].case.entries
    rows = [
        (i - len(first), Pair(asked(base, entry), capital(answered(base, entry)), "told at first"))
        for i, entry in enumerate(first)
    ]
    rows += [(i, made_row(base, made)) for i, made in enumerate(run.moves)]
    return rows[::-1]


def made_row(base: KnowledgeBase, made: Made) -> Pair:
    """Give one move with what it told, and what it took."""
    return Pair(capital(act_words(base, made.act)), answer_words(base, made), minutes(made.minutes))


def answer_words(base: KnowledgeBase, made: Made) -> str:
    """Say what a move told."""
    if made.entry is not None:
        if made.entry.repair is not None:
            return "Done. Only a drive tells whether that was it."
        return capital(answered(base, made.entry))
    if made.act is None:
        return "Given back."
    if made.act[0] == "drive":
        return "Driven: the complaint is still there."
    return "Handed over."


def scored_rows(score: Score) -> list[tuple[int, Ranked]]:
    """Give the moves as they were made: what each took, and its cost against the cheapest."""
    most = max((move.regret for move in score.moves), default=0.0)
    return [
        (
            i,
            Ranked(
                capital(move.name),
                _cost_words(move),
                share=move.regret / most if most > _CHEAPEST else 0.0,
                lead=str(i + 1),
                note="not needed" if move.redundant else "",
                sign="caution" if move.redundant or move.regret > _CHEAPEST else "good",
            ),
        )
        for i, move in enumerate(score.moves)
    ]


def _cost_words(move: Scored) -> str:
    parts = [minutes(move.minutes)]
    if move.regret > _CHEAPEST:
        parts.append(f"{minutes(move.regret)} dearer than: {_step(move)}")
    else:
        parts.append("none was cheaper")
    if move.redundant:
        parts.append("not worth asking here")
    if move.verifies:
        parts.append("shows that the complaint is there")
    if move.hints:
        parts.append(f"after {move.hints} of 3 hints")
    return "; ".join(parts)


def _step(move: Scored) -> str:
    kind = move.best.kind
    if kind == "ask":
        return f"ask “{move.best.name}”"
    return f"put right: {move.best.name}" if kind == "repair" else lower(move.best.name)


def way_rows(base: KnowledgeBase, run: Run) -> list[tuple[int, Ranked]]:
    """Give somebody else's way on the same vehicle."""
    last = len(run.moves) - 1
    rows = []
    for i, made in enumerate(run.moves):
        proof = i == last and run.end == "verified"
        said = "Driven: the complaint is gone." if proof else answer_words(base, made)
        words = f"{minutes(made.minutes)}; {lower(said)}"
        rows.append((i, Ranked(capital(act_words(base, made.act)), words, lead=str(i + 1))))
    return rows


def hours_rows(review: Review) -> list[tuple[str, Ranked]]:
    """Give the time of all ways on the vehicle, as bars of one scale."""
    ways = (
        ("yours", "Your way", review.score.minutes, end_words(review.score)),
        ("planner", "The planner’s", review.planner.minutes, _ENDS[review.planner.end]),
        ("list", "A check-list’s", review.checklist.minutes, _ENDS[review.checklist.end]),
        ("least", "All known before", review.score.least, "nothing to look for"),
    )
    most = max(value for _, _, value, _ in ways)
    return [
        (key, Ranked(name, f"{minutes(value)}: {lower(said)}", share=value / most))
        for key, name, value, said in ways
    ]


def judged_lines(score: Score) -> list[tuple[str, str]]:
    """Say what counts beside the time; a sign and a sentence each."""
    lines = []
    told = "The complaint was verified before the work began."
    lines.append(("good", told) if score.verified_complaint else ("caution", _NOT_VERIFIED))
    proved = "The repair was proved by a drive."
    if score.verified_repair:
        lines.append(("good", proved))
    else:
        lines.append(("caution", "The repair was not proved by a drive."))
    if score.regret > _CHEAPEST:
        lines.append(
            ("caution", f"Against the cheapest move at each point: {minutes(score.regret)} lost.")
        )
    else:
        lines.append(("good", "No move was dearer than it had to be."))
    if score.redundant:
        word = "check was" if score.redundant == 1 else "checks were"
        lines.append(("caution", f"{score.redundant} {word} not needed."))
    if score.hints:
        steps = "1 step of a hint was" if score.hints == 1 else f"{score.hints} steps of hints were"
        lines.append(("caution", f"{capital(steps)} taken."))
    return lines


_NOT_VERIFIED = "The complaint was not verified before the work began."


def exercise_name(base: KnowledgeBase, exercise: Exercise) -> str:
    """Name an exercise without giving away what is hidden."""
    parts = [exercise.title] if exercise.title else []
    parts.append(DIFFICULTIES[exercise.difficulty].lower())
    if exercise.setup in base.setups:
        parts.append(lower(base.setups[str(exercise.setup)].name))
    return "; ".join(parts)


def result_rows(results: Sequence[Result]) -> list[tuple[int, Ranked]]:
    """Give results as rows, the latest first."""
    rows = []
    for i, result in enumerate(results):
        parts = [_ENDS[result.end], minutes(result.minutes)]
        if result.planner_minutes is not None:
            parts.append(f"planner {minutes(result.planner_minutes)}")
        parts.append(f"{minutes(result.regret)} lost")
        if result.redundant:
            parts.append(f"{result.redundant} not needed")
        if result.hints:
            parts.append(f"hints: {result.hints}")
        name = f"{result.apprentice}: {result.exercise or DIFFICULTIES[result.difficulty]}"
        sign = "good" if result.end == "verified" else "caution"
        rows.append((i, Ranked(name, "; ".join(parts), note=result.at[:10], sign=sign)))
    return rows[::-1]


def summary_rows(results: Iterable[Result]) -> list[tuple[str, Ranked]]:
    """Give one row for each apprentice: exercises, how many were proved, minutes lost on average.

    Who loses least comes first.
    """
    rows = []
    for name, own in by_apprentice(results).items():
        lost = sum(result.regret for result in own) / len(own)
        proved = sum(result.end == "verified" for result in own)
        many = "1 exercise" if len(own) == 1 else f"{len(own)} exercises"
        words = f"{many}, {proved} proved by a drive; {minutes(lost)} lost on average"
        rows.append((lost, name, Ranked(name, words)))
    return [(name, row) for _, name, row in sorted(rows, key=lambda r: (r[0], r[1]))]
