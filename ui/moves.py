"""What a person can do to a case, each as a function from one case to the next; Qt-free."""

from collections.abc import Mapping

from diagnose.access import access_for
from diagnose.case import Case, Entry, Found, Stage
from knowledge.model import KnowledgeBase, Work
from ui.questions import Question


def answer(
    base: KnowledgeBase,
    case: Case,
    question: Question,
    choice: str,
    *,
    reading: str = "",
    instrument: str | None = None,
    since: bool = False,
    at: str = "",
) -> Case:
    """Give the case with an answer; a check takes the vehicle to where it is done.

    Parameters
    ----------
    base : KnowledgeBase
    case : Case
    question : Question
        About a complaint, a check or work.
    choice : str
        Id of the choice.
    reading : str
        What the gauge showed, as typed.
    instrument : str, optional
        What it was read with.
    since : bool
        For work: done since the complaint, which stayed.
    at : str
        When the answer was given.

    Returns
    -------
    Case
    """
    kind, name = question.subject
    if kind == "check":
        case = case.with_stands(stands_after(base, case, question.level))
    entry = Entry.model_validate(
        {
            kind: name,
            "answer": choice,
            "reading": reading,
            "instrument": instrument,
            "when": "since" if since else "job",
            "stage": stage(base, case),
            "at": at,
        }
    )
    return case.with_entry(entry)


def change(case: Case, place: int, **changes: str | None) -> Case:
    """Give the case with an entry corrected where it stands in the timeline."""
    corrected = Entry.model_validate({**case.entries[place].model_dump(), **changes})
    entries = (*case.entries[:place], corrected, *case.entries[place + 1 :])
    return case.model_copy(update={"entries": entries})


def remove(case: Case, place: int) -> Case:
    """Give the case without one entry of the timeline."""
    entries = (*case.entries[:place], *case.entries[place + 1 :])
    return case.model_copy(update={"entries": entries})


def tried(base: KnowledgeBase, case: Case, cause: str, at: str) -> Case | None:
    """Give the case after a repair that did not cure it; None if no record of work stands for it.

    That the complaint is still there was seen on the road: the vehicle is whole again.
    """
    found = repair_as_work(base, cause)
    if found is None:
        return None
    work, done = found
    note = f"to put right: {base.causes[cause].name}"
    entry = Entry(work=work.id, answer=done, when="since", note=note, at=at)
    whole = next(iter(base.levels))
    return case.with_stands(whole).with_entry(entry)


def stands_after(base: KnowledgeBase, case: Case, level: str) -> str:
    """Give where the vehicle stands once something at a level has been done."""
    access = access_for(base, case)
    _, there = access.move(access.index(case.stands), access.index(level))
    return access.names[there]


def stage(base: KnowledgeBase, case: Case) -> Stage:
    """Say whether the gearbox is in or out."""
    return "before" if base.levels[case.stands].drivable else "inside"


def close(case: Case, cause: str, *, seen: bool) -> Case:
    """Give the case with what was found in the end, and whether the faulty part was seen."""
    found = Found(causes=(cause,), sure="part seen" if seen else "complaint gone")
    return case.model_copy(update={"found": found})


def repair_as_work(base: KnowledgeBase, cause: str) -> tuple[Work, str] | None:
    """Find the work, and its answer, that most surely cures a cause; None if no record does."""
    best: tuple[float, Work, str] | None = None
    for work in base.work.values():
        for answer_ in work.answers:
            if cause in answer_.cures:
                chance = base.strength(answer_.cures[cause])
                if best is None or chance > best[0]:
                    best = (chance, work, answer_.id)
    return None if best is None else best[1:]


def with_setup(base: KnowledgeBase, case: Case, setup: str | None) -> Case:
    """Give the case with a preset's facts, and without hours that were typed for another one."""
    facts = dict(base.setups[setup].facts) if setup else {}
    return case.with_facts(facts, setup=setup)


def with_fact(case: Case, fact: str, values: tuple[str, ...]) -> Case:
    """Give the case with one fact set; no values mean that it is not known."""
    facts = {k: v for k, v in case.facts.items() if k != fact}
    return case.with_facts({**facts, fact: values} if values else facts, setup=case.setup)


def with_hours(case: Case, level: str, hours: float | None) -> Case:
    """Give the case with the user's own hours for the step down to a level, or without."""
    kept: Mapping[str, float] = {k: v for k, v in case.hours.items() if k != level}
    own = kept if hours is None else {**kept, level: hours}
    return case.model_copy(update={"hours": own})


def with_words(case: Case, words: str) -> Case:
    """Give the case with the complaint in the driver's own words."""
    return case.model_copy(update={"words": words})


def with_title(case: Case, title: str) -> Case:
    """Give the case with another name."""
    return case.model_copy(update={"title": title})


def with_asked(base: KnowledgeBase, case: Case, complaint: str, grade: str, at: str) -> Case:
    """Give the case with a complaint noted."""
    entry = Entry(complaint=complaint, answer=grade, stage=stage(base, case), at=at)
    return case.with_entry(entry)
