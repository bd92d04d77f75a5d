"""Found so far, as rows: what was asked, what was answered, and what the answer did."""

from collections.abc import Mapping

from diagnose.assess import Assessment
from diagnose.case import Case, Entry
from knowledge.model import KnowledgeBase
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
        stale = _stale(case)
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
    if i in moved:
        return "moved the ranking most", "moved"
    if i in stale:
        return "seen before a repair that was done since", ""
    return meaning(base, entry), ""


def _stale(case: Case) -> frozenset[int]:
    repairs = [i for i, e in enumerate(case.entries) if e.is_repair]
    last = repairs[-1] if repairs else 0
    return frozenset(i for i, e in enumerate(case.entries[:last]) if e.check is not None)


def _unexplained(assessment: Assessment) -> frozenset[int]:
    observed = assessment.situation.observed
    return frozenset(
        observed[finding].entry
        for finding, share in assessment.unexplained.items()
        if share > _UNEXPLAINED and finding in observed
    )


def _sentence(text: str) -> str:
    return text[:1].upper() + text[1:]
