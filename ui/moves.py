"""What a person can do to a case, each as a function from one case to the next; Qt-free.

An act costs hours, its way included; they are counted as it is done, whatever is corrected later.
"""

from collections.abc import Mapping

from diagnose.access import access_for
from diagnose.case import PENDING, STILL_THERE, Case, Entry, Found, Stage, spent
from knowledge.model import KnowledgeBase
from ui.questions import (
    COMPLAINT_GONE,
    DONE_SEEN,
    DONE_UNSEEN,
    PART_SEEN,
    Question,
    question_for,
)


def answer(  # noqa: PLR0913 - all that can be told of one answer
    base: KnowledgeBase,
    case: Case,
    question: Question,
    choice: str,
    *,
    reading: str = "",
    instrument: str | None = None,
    since: bool = False,
    by_the_way: bool = False,
    at: str = "",
) -> Case:
    """Give the case with an answer; a check takes the vehicle to where it is done.

    Parameters
    ----------
    base : KnowledgeBase
    case : Case
    question : Question
        About a complaint, a check, work, a repair or a drive.
    choice : str
        Id of the choice.
    reading : str
        What the gauge showed, as typed.
    instrument : str, optional
        What it was read with.
    since : bool
        For work: done since the complaint, which stayed.
    by_the_way : bool
        For a complaint or a check: seen while something else was done. It costs nothing, and the
        vehicle stays where it is.
    at : str
        When the answer was given.

    Returns
    -------
    Case

    Raises
    ------
    ValueError
        If the question takes no such answer.
    """
    kind, name = question.subject
    if kind == "repair":
        return repaired(base, case, name, choice, at)
    if kind == "drive":
        if choice not in {COMPLAINT_GONE, STILL_THERE}:
            raise ValueError(choice)
        return driven(base, case, gone=choice == COMPLAINT_GONE, at=at)
    if kind not in {"complaint", "check", "work"}:
        raise ValueError(kind)
    hours = None
    if kind == "complaint" and not by_the_way:
        hours = _counted(base.scale.ask_minutes / 60.0)
    elif kind == "check" and not by_the_way:
        case, hours = _gone_to(base, case, question.level, question.minutes / 60.0)
    entry = Entry.model_validate(
        {
            kind: name,
            "answer": choice,
            "reading": reading,
            "instrument": instrument,
            "when": "since" if since else "job",
            "stage": stage(base, case),
            "hours": hours,
            "by_the_way": by_the_way and kind != "work",
            "at": at,
        }
    )
    return case.with_entry(entry)


def change(case: Case, place: int, **changes: str | None) -> Case:
    """Give the case with an entry corrected where it stands in the timeline, its hours kept.

    The answer of a repair may be any choice of its question; that the complaint is gone closes the
    case.
    """
    old = case.entries[place]
    told: dict[str, object] = dict(changes)
    choice = changes.get("answer")
    if old.repair is not None and choice is not None:
        told["answer"] = STILL_THERE if choice == STILL_THERE else PENDING
        if choice in {DONE_SEEN, PART_SEEN, DONE_UNSEEN, COMPLAINT_GONE}:
            told["seen"] = choice in {DONE_SEEN, PART_SEEN}
    corrected = Entry.model_validate({**old.model_dump(), **told})
    case = _with_entries(case, (*case.entries[:place], corrected, *case.entries[place + 1 :]))
    if old.repair is not None and choice in {PART_SEEN, COMPLAINT_GONE}:
        return close(case, old.repair, seen=choice == PART_SEEN)
    return case


def remove(case: Case, place: int) -> Case:
    """Give the case without one entry of the timeline; what it cost stays spent."""
    return case.without_entry(place)


def signed(before: Case, after: Case, by: str) -> Case:
    """Give a case in which whatever is new says who told it."""
    told = {id(entry) for entry in before.entries}
    entries = tuple(
        entry if id(entry) in told or entry.by else entry.model_copy(update={"by": by})
        for entry in after.entries
    )
    return after.model_copy(update={"entries": entries}) if entries != after.entries else after


def mended(
    base: KnowledgeBase, case: Case, cause: str, at: str = "", *, seen: bool = False
) -> Case:
    """Give the case after a repair that nobody has driven with yet.

    Parameters
    ----------
    base : KnowledgeBase
    case : Case
    cause : str
        Id of the cause that was put right.
    at : str
        When it was done.
    seen : bool
        Whether the faulty part was seen.

    Returns
    -------
    Case
        The vehicle stays where it is, or stands where the repair is done from.

    Raises
    ------
    KeyError
        If the base does not hold the cause.
    """
    repair = base.causes[cause].repair
    case, hours = _gone_to(base, case, repair.from_, repair.hours)
    return case.with_entry(
        Entry(repair=cause, answer=PENDING, seen=seen, stage=stage(base, case), hours=hours, at=at)
    )


def driven(base: KnowledgeBase, case: Case, *, gone: bool, at: str = "") -> Case:
    """Give the case after the vehicle was closed up and driven.

    Parameters
    ----------
    base : KnowledgeBase
    case : Case
    gone : bool
        Whether the complaint is gone.
    at : str
        When it was driven.

    Returns
    -------
    Case
        If the complaint is gone, with what was put right as found: the faults that were seen, or
        all of the repairs if none was. If not, those repairs did not help. Where nothing was put
        right before, only the hours count and nothing is found.
    """
    access = access_for(base, case)
    way = access.way_out(access.index(case.stands))
    case = _moved(case, way + base.scale.drive_minutes / 60.0).with_stands(access.names[0])
    if gone:
        return _proved(case)
    entries = tuple(
        e.model_copy(update={"answer": STILL_THERE, "at": at or e.at}) if e.is_pending else e
        for e in case.entries
    )
    return _with_entries(case, entries).model_copy(update={"found": None})


def tried(base: KnowledgeBase, case: Case, cause: str, at: str) -> Case | None:
    """Give the case after a repair that did not help, as the road showed.

    The vehicle is whole again, and all other repairs since the last drive did not help either.
    None if the base does not hold the cause.
    """
    if cause not in base.causes:
        return None
    return driven(base, mended(base, case, cause, at), gone=False, at=at)


def repaired(base: KnowledgeBase, case: Case, cause: str, choice: str, at: str = "") -> Case:
    """Give the case after what the repair's card says: done, or done and driven.

    Raises
    ------
    ValueError
        If the choice is none of the card's.
    """
    if choice not in {DONE_SEEN, DONE_UNSEEN, PART_SEEN, COMPLAINT_GONE, STILL_THERE}:
        raise ValueError(choice)
    case = mended(base, case, cause, at, seen=choice in {DONE_SEEN, PART_SEEN})
    if choice in {DONE_SEEN, DONE_UNSEEN}:
        return case
    return driven(base, case, gone=choice != STILL_THERE, at=at)


def stands(base: KnowledgeBase, case: Case, level: str) -> Case:
    """Give the case with the vehicle taken apart, or put together, by hand; the way counts."""
    access = access_for(base, case)
    here, there = access.index(case.stands), access.index(level)
    # Closing up to a level inside is a way as well, though no check ever asks for it.
    back = access.way_out(here) - access.way_out(there)
    way = back if there < here else access.move(here, there)[0]
    return _moved(case, way).with_stands(level)


def stands_after(base: KnowledgeBase, case: Case, level: str) -> str:
    """Give where the vehicle stands once something at a level has been done."""
    access = access_for(base, case)
    _, there = access.move(access.index(case.stands), access.index(level))
    return access.names[there]


def question_now(base: KnowledgeBase, case: Case, kind: str, name: str) -> Question:
    """Give the question of a step as the vehicle stands.

    A repair need not be driven at once where others can follow.
    """
    batch = False
    if kind == "repair":
        there = stands_after(base, case, base.causes[name].repair.from_)
        batch = not base.levels[there].drivable or any(e.is_pending for e in case.entries)
    return question_for(base, kind, name, batch=batch)


def stage(base: KnowledgeBase, case: Case) -> Stage:
    """Say whether the gearbox is in or out."""
    return "before" if base.levels[case.stands].drivable else "inside"


def close(case: Case, cause: str, *, seen: bool) -> Case:
    """Give the case with what was found in the end, and whether the faulty part was seen."""
    found = Found(causes=(cause,), sure="part seen" if seen else "complaint gone")
    return case.model_copy(update={"found": found})


def _proved(case: Case) -> Case:
    """The case closed by a drive: what was put right since the last one is what was wrong."""
    pending = [e for e in case.entries if e.is_pending]
    seen = [e for e in pending if e.seen]
    causes = tuple(dict.fromkeys(str(e.repair) for e in seen or pending))
    if not causes:
        return case
    found = Found(causes=causes, sure="part seen" if seen else "complaint gone")
    return case.model_copy(update={"found": found})


def _gone_to(base: KnowledgeBase, case: Case, level: str, hours: float) -> tuple[Case, float]:
    """Take the vehicle to where an act is done; gives the hours of the act with the way."""
    access = access_for(base, case)
    way, there = access.move(access.index(case.stands), access.index(level))
    return case.with_stands(access.names[there]), _counted(way + hours)


def _counted(hours: float) -> float:
    """Hours as they go into the case: to a tenth of a second, so that a file reads well."""
    return round(hours, 4)


def _moved(case: Case, hours: float) -> Case:
    return case.model_copy(update={"moved": round(case.moved + _counted(hours), 4)})


def _with_entries(case: Case, entries: tuple[Entry, ...]) -> Case:
    return case.model_copy(update={"entries": entries})


def with_limit(case: Case, limit: float | None) -> Case:
    """Give the case with the customer's limit in hours from now on, or without; the same stays."""
    if limit == case.limit:
        return case
    return case.model_copy(
        update={"limit": limit, "limit_from": 0.0 if limit is None else spent(case)}
    )


def with_labour(case: Case, labour: float | None, currency: str) -> Case:
    """Give the case with the money for an hour of work and its currency, or without a rate."""
    return case.model_copy(update={"labour": labour, "currency": currency})


def with_part(case: Case, cause: str, price: float | None, currency: str = "") -> Case:
    """Give the case with the price of the parts that put a cause right, or without.

    Its currency is that of the case where it has none yet.
    """
    kept = {name: own for name, own in case.parts.items() if name != cause}
    parts = kept if price is None else {**kept, cause: price}
    return case.model_copy(update={"parts": parts, "currency": case.currency or currency})


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
