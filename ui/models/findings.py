"""Found so far, as rows: what was asked, what was answered, and what the answer did."""

from collections.abc import Mapping

from diagnose.assess import Assessment
from diagnose.case import Case, Entry
from diagnose.readings import reading_key
from knowledge.model import Check, KnowledgeBase
from ui.models.rows import RowsModel
from ui.questions import answered, asked, meaning
from ui.widgets.rows import Pair

_UNEXPLAINED = 0.5


class FindingModel(RowsModel):
    """The timeline, the latest first; the key of a row is the index of its entry."""

    def show(
        self,
        base: KnowledgeBase,
        case: Case,
        assessment: Assessment | None,
        moved: Mapping[int, float],
    ) -> None:
        """Show a case; the assessment and what moved the ranking may come later."""
        stale = _stale(base, case, assessment)
        odd = _unexplained(assessment) if assessment is not None else frozenset()
        rows = []
        for i, entry in reversed(list(enumerate(case.entries))):
            note, sign = _note(base, entry, i, stale=stale, odd=odd, moved=moved)
            rows.append((i, Pair(_sentence(asked(base, entry)), answered(base, entry), note, sign)))
        self.set_rows(rows)


def _note(
    base: KnowledgeBase,
    entry: Entry,
    i: int,
    *,
    stale: frozenset[int],
    odd: frozenset[int],
    moved: Mapping[int, float],
) -> tuple[str, str]:
    if i in odd:
        return "no cause here explains it well: look again", "caution"
    if i in stale:
        return "seen before a repair that may have changed it", ""
    if i in moved:
        return "moved the ranking most", "moved"
    return meaning(base, entry), ""


def _stale(base: KnowledgeBase, case: Case, assessment: Assessment | None) -> frozenset[int]:
    """The latest answers to checks that a repair done since may have changed.

    None once the case is closed: nobody looks again.
    """
    if assessment is None or case.found is not None:
        return frozenset()
    latest = {entry.check: i for i, entry in enumerate(case.entries) if entry.check is not None}
    stale = assessment.situation.stale
    return frozenset(i for name, i in latest.items() if stale & _keys(base.checks[name]))


def _keys(check: Check) -> frozenset[str]:
    """What a check may count as: its findings, and its reading."""
    gauge = (reading_key(check.gauge),) if check.gauge else ()
    return frozenset((*check.reads(), *gauge))


def _unexplained(assessment: Assessment) -> frozenset[int]:
    observed = assessment.situation.observed
    return frozenset(
        observed[finding].entry
        for finding, share in assessment.unexplained.items()
        if share > _UNEXPLAINED and finding in observed
    )


def _sentence(text: str) -> str:
    return text[:1].upper() + text[1:]
