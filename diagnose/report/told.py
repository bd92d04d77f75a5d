"""The entries of a case in words, with who told them and when."""

from collections.abc import Sequence
from datetime import date, datetime

from diagnose.assess import Assessment
from diagnose.case import NO_EVIDENCE, Entry, Found
from diagnose.comparison import AGAIN
from diagnose.forecasts import reading_words
from diagnose.report.record import Edition, Told
from knowledge.model import KnowledgeBase

_INSIDE = "Seen with the gearbox out."
_MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")


def told(assessment: Assessment, kinds: Sequence[str], edition: Edition) -> tuple[Told, ...]:
    """Put the entries of some kinds in words.

    Parameters
    ----------
    assessment : Assessment
    kinds : sequence of str
        Of ``complaint``, ``check``, ``work``, ``repair``.
    edition : str
        Notes and meanings are left out of the customer's, and hours until they are asked for.

    Returns
    -------
    tuple of Told
        In order of the timeline.
    """
    base, entries = assessment.network.base, assessment.case.entries
    return tuple(
        Told(
            place,
            spoken_time(entry.at),
            entry.by,
            asked(base, entry),
            answered(base, entry, assessment.case.found),
            _remark(assessment, place - 1, entry, edition),
            entry.note if edition == "job" else "",
            entry.hours,
        )
        for place, entry in enumerate(entries, 1)
        if entry.subject[0] in kinds
    )


def asked(base: KnowledgeBase, entry: Entry) -> str:
    """Give in a few words what an entry is about."""
    kind, name = entry.subject
    if kind == "repair":
        return f"Put right: {base.causes[name].name}"
    if kind == "complaint":
        return first_large(base.complaints[name].name)
    return first_large(base.checks[name].name if kind == "check" else base.work[name].name)


def answered(base: KnowledgeBase, entry: Entry, found: Found | None = None) -> str:
    """Give the answer of an entry as one would say it.

    Parameters
    ----------
    base : KnowledgeBase
    entry : Entry
    found : Found, optional
        How the case ended, once it is closed: a repair that cured it has no entry for the drive.
    """
    kind, name = entry.subject
    if kind == "repair":
        seen = "the fault was seen" if entry.seen else "the fault was not seen"
        after = _after(entry, found)
        return f"done, {seen}; {after}" if after else f"done, {seen}"
    if kind == "work":
        text = next((a.text for a in base.work[name].answers if a.id == entry.answer), entry.answer)
        return f"{text}, {'at the job' if entry.when == 'job' else 'since; the complaint stayed'}"
    if kind == "complaint":
        return entry.answer
    said = _check_answer(base, entry)
    if entry.reading:
        said = f"{reading_words(base, entry)}: {said}"
    return f"{said} (seen by the way)" if entry.by_the_way else said


def _after(entry: Entry, found: Found | None) -> str:
    """Say what became of the complaint after a repair; empty where a closed case does not tell."""
    if not entry.is_pending:
        return "driven, the complaint stayed"
    if found is None:
        return "not driven yet"
    return "the complaint was gone" if found.sure == "complaint gone" else ""


def _check_answer(base: KnowledgeBase, entry: Entry) -> str:
    check = base.checks[str(entry.check)]
    if check.finding is None or entry.answer in NO_EVIDENCE:
        return next((a.text for a in check.answers if a.id == entry.answer), entry.answer)
    finding = base.findings[check.finding]
    there = entry.answer in {"yes", "probably"}
    return f"{entry.answer}: {finding.name if there else finding.absent}"


def _remark(assessment: Assessment, place: int, entry: Entry, edition: Edition) -> str:
    """Say whether a check took the gearbox out, and what there is to say of its answer."""
    if entry.check is None:
        return ""
    inside = _INSIDE if entry.stage == "inside" else ""
    meaning = _meaning(assessment, place, entry.check, entry.answer, edition)
    return " ".join(part for part in (inside, meaning) if part)


def _meaning(assessment: Assessment, place: int, name: str, answer: str, edition: Edition) -> str:
    """Say why an answer to a check no longer counts; else, for the job folder, what it means."""
    situation = assessment.situation
    check = assessment.network.base.checks[name]
    held = {f for f in check.reads() if f in situation.observed}
    mine = {f for f in held if situation.observed[f].entry == place}
    if mine & situation.stale:
        return AGAIN
    if edition == "customer" or answer in NO_EVIDENCE:
        return ""
    if check.finding is not None:
        return {"yes": check.yes, "no": check.no}.get(answer, "")
    return next((a.means for a in check.answers if a.id == answer), "")


def spoken_time(at: str) -> str:
    """Say a time as people do ("24 Nov 2026, 09:15"); as it was typed where it is none."""
    try:
        moment = datetime.fromisoformat(at)
    except ValueError:
        return at.strip()
    day = spoken_day(moment.date())
    return day if len(at.strip()) <= len("2026-11-24") else f"{day}, {moment:%H:%M}"


def spoken_day(day: date) -> str:
    """Say a day, in any country and language setting the same: "24 Nov 2026"."""
    return f"{day.day} {_MONTHS[day.month - 1]} {day.year}"


def dates_of(entries: Sequence[Entry]) -> str:
    """Give the day or the days a case was worked on; empty where no entry has a date."""
    days: list[date] = []
    for entry in entries:
        try:
            days.append(datetime.fromisoformat(entry.at).date())
        except ValueError:
            continue
    if not days:
        return ""
    first, last = spoken_day(min(days)), spoken_day(max(days))
    return first if first == last else f"{first} to {last}"


def first_large(text: str) -> str:
    """Begin a text with a large letter."""
    return text[:1].upper() + text[1:]
