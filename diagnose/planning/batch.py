"""Many states of a planning problem side by side."""

from dataclasses import dataclass

import numpy as np

from diagnose.planning.compiled import Bools, Ints
from diagnose.tables import Floats


@dataclass(frozen=True, eq=False)
class Batch:
    """States side by side: shapes (N, S), (N,), (N, T), (N, R)."""

    weights: Floats
    here: Ints
    tests: Bools
    repairs: Bools

    def __len__(self) -> int:
        return len(self.here)

    def columns(self) -> tuple[Floats, Ints, Bools, Bools]:
        """Give its arrays."""
        return self.weights, self.here, self.tests, self.repairs

    def keys(self) -> list[bytes]:
        """Give what makes two states the same."""
        rounded = np.rint(self.weights * 1e12).astype(np.int64)
        rest = np.packbits(np.hstack([self.tests, self.repairs]), axis=1)
        stacked = np.hstack([rounded.view(np.uint8), self.here[:, None].view(np.uint8), rest])
        return [row.tobytes() for row in stacked]


def picked(batch: Batch, which: Ints) -> Batch:
    """Give a copy of some states of a batch, in this order."""
    return Batch(batch.weights[which], batch.here[which], batch.tests[which], batch.repairs[which])


def joined(batches: list[Batch]) -> Batch:
    """Give the states of all batches as one."""
    return Batch(
        np.concatenate([b.weights for b in batches]),
        np.concatenate([b.here for b in batches]),
        np.concatenate([b.tests for b in batches]),
        np.concatenate([b.repairs for b in batches]),
    )
