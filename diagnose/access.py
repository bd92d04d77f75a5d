"""Ways in and out: what it costs to get from where the vehicle stands to where a check is done."""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property

from diagnose.case import Case
from knowledge.model import KnowledgeBase


@dataclass(frozen=True)
class Access:
    """Hours from level to level; levels are numbered from the seat inwards.

    Attributes
    ----------
    names : tuple of str
    down, up : tuple of float
        Hours of the step into a level from the one before, and out of it again.
    drivable : tuple of bool
        Whether the vehicle is complete at the level.
    """

    names: tuple[str, ...]
    down: tuple[float, ...]
    up: tuple[float, ...]
    drivable: tuple[bool, ...]

    def index(self, name: str) -> int:
        """Give the number of a level.

        Raises
        ------
        ValueError
            If there is no such level.
        """
        return self.names.index(name)

    def move(self, here: int, there: int) -> tuple[float, int]:
        """Give the hours to be able to work at a level, and where the vehicle then stands.

        What is done from outside the gearbox can't be done with it out; what is done with it out
        can still be done with more taken off.
        """
        return self._moves[here][there]

    def way_out(self, here: int) -> float:
        """Give the hours to close everything up from a level."""
        return self._ways_out[here]

    def opening(self, here: int) -> tuple[float, ...]:
        """Give the hours to open each level and close it again; 0 for what stands open."""
        return self._openings[here]

    # Worked out once: the planner asks a hundred thousand times for one piece of advice.

    @cached_property
    def _moves(self) -> tuple[tuple[tuple[float, int], ...], ...]:
        levels = range(len(self.names))
        return tuple(tuple(self._move(here, there) for there in levels) for here in levels)

    @cached_property
    def _ways_out(self) -> tuple[float, ...]:
        return tuple(sum(self.up[1 : here + 1]) for here in range(len(self.names)))

    @cached_property
    def _openings(self) -> tuple[tuple[float, ...], ...]:
        both = [down + up for down, up in zip(self.down, self.up, strict=True)]
        levels = range(len(both))
        return tuple(tuple(0.0 if d <= here else both[d] for d in levels) for here in levels)

    def _move(self, here: int, there: int) -> tuple[float, int]:
        if there >= here:
            return sum(self.down[here + 1 : there + 1]), there
        if not self.drivable[there]:
            return 0.0, here
        return sum(self.up[there + 1 : here + 1]), there


def access_for(base: KnowledgeBase, case: Case) -> Access:
    """Give the ways in and out for a case: the user's hours, else the set-up's, else the base's."""
    setup = base.setups.get(case.setup or "")
    own: Mapping[str, float] = {**(setup.hours if setup else {}), **case.hours}
    levels = tuple(base.levels.values())
    down = [own.get(level.id, level.down) for level in levels]
    ratio = [d / level.down if level.down else 1.0 for d, level in zip(down, levels, strict=True)]
    return Access(
        names=tuple(level.id for level in levels),
        down=tuple(down),
        up=tuple(level.up * r for level, r in zip(levels, ratio, strict=True)),
        drivable=tuple(level.drivable for level in levels),
    )
