"""What the planner thinks of each point of an exercise, worked out once; Qt-free."""

from collections.abc import Callable

from diagnose.planning.lookahead import CancelledError
from diagnose.practice.appraisal import Appraisal, appraise
from diagnose.practice.exercise import Exercise
from diagnose.practice.review import planners_way
from diagnose.practice.run import Run
from diagnose.practice.scoring import Appraiser
from diagnose.practice.shop import Shop
from knowledge.model import KnowledgeBase


class Looks:
    """Appraisals of one exercise by what is known and where the vehicle stands.

    Parameters
    ----------
    look : callable
        Weighs the moves from where a shop stands, asking `cancelled` between pieces of work.
    """

    def __init__(self, look: Callable[..., Appraisal] = appraise) -> None:
        self._look = look
        self._known: dict[tuple[object, str], Appraisal] = {}

    def __len__(self) -> int:
        return len(self._known)

    def appraiser(self, cancelled: Callable[[], bool] = lambda: False) -> Appraiser:
        """Give an appraiser that keeps what it has worked out.

        Parameters
        ----------
        cancelled : callable
            Once it says so the appraiser raises `CancelledError`.
        """

        def look(shop: Shop) -> Appraisal:
            if cancelled():
                raise CancelledError
            # Cautions that were read change nothing of it.
            key = shop.case.entries, shop.case.stands
            found = self._known.get(key)
            if found is None:
                found = self._known[key] = self._look(shop, cancelled=cancelled)
            return found

        return look

    def planner(
        self, base: KnowledgeBase, exercise: Exercise, cancelled: Callable[[], bool]
    ) -> Run:
        """Play the planner's way on the vehicle of an exercise.

        Raises
        ------
        CancelledError
            Once `cancelled` says so.
        """
        return planners_way(base, exercise, look=self.appraiser(cancelled))
