"""What it may be, as rows: rank, name, chance in words and counts, and where it stood before."""

from diagnose.assess import Assessment
from diagnose.sentences import chance_words, counts
from ui.models.rows import RowsModel
from ui.widgets.rows import Ranked

_LEAST = 0.005  # less than 1 in 100, as the counts say it
_ALWAYS = 6
REST = ""  # key of the row that stands for all others


class CauseModel(RowsModel):
    """The causes in their order; those hardly worth a row are counted in one at the end."""

    def show(
        self, assessment: Assessment, before: Assessment | None, *, everything: bool = False
    ) -> None:
        """Show an assessment, with the places of the one before."""
        old = {} if before is None else {c.id: i + 1 for i, c in enumerate(before.causes)}
        shown = [
            (place, chance)
            for place, chance in enumerate(assessment.causes, start=1)
            if everything or place <= _ALWAYS or chance.p >= _LEAST
        ]
        rows: list[tuple[str, Ranked]] = [
            (chance.id, _row(place, chance.name, chance.p, old.get(chance.id, place)))
            for place, chance in shown
        ]
        rest = len(assessment.causes) - len(shown)
        if rest:
            words = "each less than 1 in 100. Open to see them."
            rows.append((REST, Ranked(f"{rest} others", words, lead="")))
        self.set_rows(rows)


def _row(place: int, name: str, p: float, old: int) -> Ranked:
    moved = old != place
    return Ranked(
        lead=str(place),
        title=name[:1].upper() + name[1:],
        words=f"{chance_words(p)}, {counts(p)}",
        share=p,
        note=f"was {old}" if moved else "",
        sign=("up" if place < old else "down") if moved else "",
    )
