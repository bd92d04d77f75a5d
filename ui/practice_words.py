"""A running exercise, its review and its results in words and rows; Qt-free."""

from collections.abc import Iterable, Iterator, Mapping, Sequence

from diagnose.planning.problem import DRIVE, Key
from diagnose.practice.exercise import Difficulty, Exercise
from diagnose.practice.results import Result, by_apprentice
from diagnose.practice.review import Review
from diagnose.practice.run import HINT_STEPS, End, Made, Run
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
_LATELY = 5  # exercises that show what somebody has learnt
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
            return f"{_done(base, made.entry.repair)}. Only a drive tells whether that was it."
        return capital(answered(base, made.entry))
    if made.act is None:
        return "Given back."
    if made.act[0] == "drive":
        return "Driven: the complaint is still there."
    return "Handed over."


def _done(base: KnowledgeBase, cause: str) -> str:
    return "Explained" if base.causes[cause].kind == "designed" else "Done"


def scored_rows(base: KnowledgeBase, run: Run, score: Score) -> list[tuple[int, Ranked]]:
    """Give the moves as they were made: what each took and told, and what it lost.

    Only a move that lost something has a bar.
    """
    most = max((move.regret for move in score.moves), default=0.0)
    rows = []
    for i, move in enumerate(score.moves):
        again = move.act in [made.act for made in run.moves[:i]]
        dear = move.regret > _CHEAPEST
        row = Ranked(
            capital(move.name),
            "; ".join((*_took(base, run, i), *_cost_words(base, move, again=again))),
            share=move.regret / most if dear else None,
            lead=str(i + 1),
            note="not needed" if move.redundant else "",
            sign="caution" if move.redundant or dear else "good",
        )
        rows.append((i, row))
    return rows


def _cost_words(base: KnowledgeBase, move: Scored, *, again: bool) -> Iterator[str]:
    if move.regret > _CHEAPEST:
        best: Key = (move.best.kind, move.best.id)
        yield f"{minutes(move.regret)} dearer than: {lower(act_words(base, best))}"
    if move.redundant:
        yield "known already" if again else "no answer would have changed anything"
    if move.verifies:
        yield "verifies the complaint"
    if move.hints:
        yield f"after {move.hints} of {HINT_STEPS} hints"


def way_rows(base: KnowledgeBase, run: Run) -> list[tuple[int, Ranked]]:
    """Give somebody else's way on the same vehicle."""
    return [
        (
            i,
            Ranked(
                capital(act_words(base, made.act)), "; ".join(_took(base, run, i)), lead=f"{i + 1}"
            ),
        )
        for i, made in enumerate(run.moves)
    ]


def _took(base: KnowledgeBase, run: Run, number: int) -> Iterator[str]:
    """What a move took, and what it told in a word or two."""
    made = run.moves[number]
    yield minutes(made.minutes)
    if made.entry is not None:
        yield lower(
            _done(base, made.entry.repair) if made.entry.repair else answered(base, made.entry)
        )
    elif made.act == DRIVE:
        last = number == len(run.moves) - 1
        yield f"the complaint is {'gone' if last and run.end == 'verified' else 'still there'}"
    elif run.shop.handed_over:
        yield "with the hours of whoever takes it over"


def hours_rows(review: Review) -> list[tuple[str, Ranked]]:
    """Give the time of all ways on the vehicle, as bars of one scale."""
    ways = (
        ("yours", "Your way", review.score.minutes, end_words(review.score)),
        ("planner", "The planner’s", review.planner.minutes, _ENDS[review.planner.end]),
        ("list", "A check-list’s", review.checklist.minutes, _ENDS[review.checklist.end]),
        ("least", "All known before", review.score.least, "nothing to look for"),
    )
    most = max(value for _, _, value, _ in ways)
    rows = []
    for key, name, value, said in ways:
        # What was stopped is no quick way.
        whole = key != "yours" or review.score.end != "stopped"
        words = f"{minutes(value)}: {lower(said)}"
        rows.append((key, Ranked(name, words, share=value / most if whole else None)))
    return rows


def judged_lines(score: Score) -> list[tuple[str, str]]:
    """Say what counts beside the time; a sign and a sentence each."""
    lines = [
        ("good", "The complaint was verified before the work began.")
        if score.verified_complaint
        else ("caution", "The complaint was not verified before the work began."),
        ("good", "The repair was proved by a drive.")
        if score.verified_repair
        else ("caution", "No drive proved a repair."),
    ]
    if score.regret > _CHEAPEST:
        lost = f"{minutes(score.regret)} lost against the cheapest moves, luck not counted."
        lines.append(("caution", lost))
    else:
        lines.append(("good", "No move was dearer than it had to be."))
    if score.end == "stopped":
        lines.append(("stop", "An unsafe end counts as handing it over."))
    if score.pulls:
        lines.append(_pulled(score))
    if score.redundant:
        many = "question or check was" if score.redundant == 1 else "questions or checks were"
        lines.append(("caution", f"{score.redundant} {many} not needed."))
    if score.hints:
        many = "step of the hints was" if score.hints == 1 else "steps of the hints were"
        lines.append(("caution", f"{score.hints} {many} taken."))
    return lines


def _pulled(score: Score) -> tuple[str, str]:
    """Say how often the gearbox came out, and how often nothing that was needed was put right."""
    said = f"The gearbox came out {times(score.pulls)}"
    if not score.wrong_pulls:
        return ("good" if score.pulls == 1 else "caution"), f"{said}."
    often = "" if score.wrong_pulls == score.pulls else f"{times(score.wrong_pulls)} "
    return "caution", f"{said}, {often}in vain."


def times(number: int) -> str:
    """Say how often."""
    return {1: "once", 2: "twice"}.get(number, f"{number} times")


def misled_words(base: KnowledgeBase, exercise: Exercise) -> str:
    """Say what misled in an exercise; empty where nothing did."""
    decoy = exercise.decoy
    if decoy is None:
        return ""
    told = [
        f"{asked(base, entry)}: {answered(base, entry)}"
        for entry in exercise.entries
        if entry.work == decoy.work
    ]
    by = base.findings[decoy.sign].name if decoy.sign else "; ".join(told)
    name = base.causes[decoy.cause].name
    return f"What misled: “{by}” points to “{name}”, which was not there."


def planner_words(review: Review) -> str:
    """Say what the planner's way can be held against, and what not."""
    reckoned = f"at the start it reckoned with {minutes(review.reckoned)} on average."
    said = f"It did not know what is hidden either: {reckoned}"
    score = review.score
    lucky = score.solved and score.minutes < review.planner.minutes and score.regret > _CHEAPEST
    lost = f"on average your way loses {minutes(score.regret)}."
    return f"{said} You were quicker here by luck: {lost}" if lucky else said


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
        if result.pulls:
            parts.append(f"gearbox out {times(result.pulls)}")
        if result.redundant:
            parts.append(f"{result.redundant} not needed")
        if result.hints:
            parts.append(f"hints: {result.hints}")
        hard = DIFFICULTIES[result.difficulty].lower()
        name = f"{result.apprentice}: {result.exercise or 'an exercise'}, {hard}"
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
        words = f"{many}, {proved or 'none'} proved by a drive; {minutes(lost)} lost on average"
        if len(own) > _LATELY:
            lately = sum(result.regret for result in own[-_LATELY:]) / _LATELY
            words += f", {minutes(lately)} in the last {_LATELY}"
        rows.append((lost, name, Ranked(name, words)))
    return [(name, row) for _, name, row in sorted(rows, key=lambda r: (r[0], r[1]))]
