"""Undo and redo: a row of cases and the place in it; Qt-free."""

from dataclasses import dataclass

from diagnose.case import Case


@dataclass(frozen=True)
class Step:
    """A case, and in a few words what led to it."""

    case: Case
    what: str


class History:
    """The cases that were, the one that is, and those taken back."""

    def __init__(self, case: Case) -> None:
        self._steps = [Step(case, "")]
        self._place = 0

    @property
    def case(self) -> Case:
        """The case as it is now."""
        return self._steps[self._place].case

    @property
    def undoes(self) -> str:
        """What undo would take back; empty if there is nothing."""
        return self._steps[self._place].what

    @property
    def redoes(self) -> str:
        """What redo would do again; empty if there is nothing."""
        following = self._place + 1
        return self._steps[following].what if following < len(self._steps) else ""

    def add(self, case: Case, what: str) -> None:
        """Go on to a new case; what was taken back is forgotten."""
        del self._steps[self._place + 1 :]
        self._steps.append(Step(case, what))
        self._place += 1

    def replace(self, case: Case) -> None:
        """Put another case in the place of the one that is, as a part of the same step."""
        self._steps[self._place] = Step(case, self._steps[self._place].what)

    def back(self) -> str:
        """Go back one step; gives what was taken back, empty if there is nothing."""
        what = self.undoes
        self._place -= bool(what)
        return what

    def forth(self) -> str:
        """Go forth one step; gives what was done again, empty if there is nothing."""
        what = self.redoes
        self._place += bool(what)
        return what
