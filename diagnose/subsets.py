"""Distributions over the subsets of a few findings: what several components turn on together.

Many causes can bring just the same few findings, as they go through the same mechanisms. What all
of these do is one distribution over the subsets of m findings, an array of 2^m numbers that has
the subset of the findings whose bits are set in t at its entry t. It is found by joining them two
by two, and one small matrix lets all of them act on a table (`diagnose.tables`) of any size, so
such causes need not take their turns one after the other. All is made of sums of positive numbers.
"""

from collections.abc import Sequence
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]

_AT_ONCE = 1 << 20  # numbers


def subsets_on(chances: Floats) -> Floats:
    """Chance that just each subset of m findings is turned on, shape (n, 2^m).

    Parameters
    ----------
    chances : ndarray, shape (n, m)
        Of each finding.
    """
    n, m = chances.shape
    found = np.ones((n, 1 << m))
    for place, chance in enumerate(chances.T):
        size = 1 << place
        np.multiply(found[:, :size], chance[:, None], out=found[:, size : 2 * size])
        found[:, :size] *= 1.0 - chance[:, None]
    return found


def both(one: Floats, other: Floats) -> Floats:
    """Distribution of what one or the other turns on; shapes (..., 2^m)."""
    split, split_other, gather = _ways(one.shape[-1].bit_length() - 1)
    found: Floats = ((one @ split) * (other @ split_other)) @ gather
    return found


def both_back(other: Floats, message: Floats) -> Floats:
    """The adjoint of `both` in its first argument."""
    split, split_other, gather = _ways(message.shape[-1].bit_length() - 1)
    found: Floats = ((message @ gather.T) * (other @ split_other)) @ split.T
    return found


@lru_cache(maxsize=16)
def _ways(m: int) -> tuple[Floats, Floats, Floats]:
    """The three ways that each finding can go for two components, as matrices of 0 and 1.

    Neither turns it on; the first does, whatever the other does; only the other does. Splitting a
    distribution by them takes 3^m numbers, and nothing has to be subtracted.
    """
    split = np.array([[1.0, 0.0, 1.0], [0.0, 1.0, 0.0]])
    split_other = np.array([[1.0, 1.0, 0.0], [0.0, 1.0, 1.0]])
    gather = np.array([[1.0, 0.0], [0.0, 1.0], [0.0, 1.0]])
    return _power(split, m), _power(split_other, m), _power(gather, m)


def _power(matrix: Floats, m: int) -> Floats:
    """The same for each of m findings: the Kronecker power."""
    found: Floats = np.ones((1, 1))
    for _ in range(m):
        found = np.asarray(np.kron(found, matrix), dtype=np.float64)
    return found


def joined_by_twos(every: Floats) -> list[Floats]:
    """Join what n components turn on two by two, and so on until one distribution is left.

    Parameters
    ----------
    every : ndarray, shape (n, 2^m)
        Their distributions; they need not sum to 1.

    Returns
    -------
    list of ndarray
        All stages; the last is of all components, shape (1, 2^m). Where it takes one more to make
        a stage even, something that turns nothing on has been added at its end.
    """
    stages = [every]
    while len(every) > 1:
        if len(every) % 2:
            every = np.concatenate((every, _nothing_on(every.shape[1])))
            stages[-1] = every
        every = both(every[::2], every[1::2])
        stages.append(every)
    return stages


def _nothing_on(size: int) -> Floats:
    nothing = np.zeros((1, size))
    nothing[0, 0] = 1.0
    return nothing


def each_behind(stages: Sequence[Floats], message: Floats) -> Floats:
    """Message that reaches each of n components past all the others, shape (n or more, 2^m).

    Parameters
    ----------
    stages : sequence of ndarray
        From `joined_by_twos`.
    message : ndarray, shape (2^m,)
        Mass of all that follows from each subset that they turn on together.
    """
    reached = message[None]
    for stage in stages[-2::-1]:
        reached = reached[: len(stage) // 2]  # without what was only added
        wider = np.empty_like(stage)
        wider[::2] = both_back(stage[1::2], reached)
        wider[1::2] = both_back(stage[::2], reached)
        reached = wider
    return reached


def each_later(stages: Sequence[Floats]) -> Floats:
    """Distribution of what all components after each of n turn on, shape (n or more, 2^m).

    Parameters
    ----------
    stages : sequence of ndarray
        From `joined_by_twos`.
    """
    later = _nothing_on(stages[0].shape[1])
    for stage in stages[-2::-1]:
        later = later[: len(stage) // 2]
        wider = np.empty_like(stage)
        wider[::2] = both(stage[1::2], later)
        wider[1::2] = later
        later = wider
    return later


def carried(table: Floats, on: Floats) -> Floats:
    """Let components act on a folded table, shape (R, 2^m), by what they turn on together."""
    return table @ _operator(on)


def carried_back(table: Floats, on: Floats) -> Floats:
    """The adjoint of `carried`."""
    return table @ _operator(on).T


def each_carried_back(table: Floats, every: Floats) -> Floats:
    """Do `carried_back` for each of n distributions, shape (n, R, 2^m)."""
    n, size = every.shape
    united = _united(size.bit_length() - 1)
    found = np.empty((n, *table.shape))
    step = max(1, _AT_ONCE // united.size)
    for first in range(0, len(table), step):
        some = slice(first, first + step)
        found[:, some] = np.moveaxis(table[some][:, united] @ every.T, -1, 0)
    return found


def _operator(on: Floats) -> Floats:
    """Chance to get from each state to each other, shape (2^m, 2^m)."""
    size = len(on)
    united = _united(size.bit_length() - 1) + size * np.arange(size)[:, None]
    chances = np.bincount(united.ravel(), weights=np.tile(on, size), minlength=size * size)
    return np.asarray(chances.reshape(size, size), dtype=np.float64)


def mass_by_subset(front: Floats, back: Floats) -> Floats:
    """Mass if just each subset is turned on between two folded messages, shape (2^m,)."""
    size = front.shape[1]
    pairs = front.T @ back
    mass: Floats = pairs[np.arange(size)[:, None], _united(size.bit_length() - 1)].sum(axis=0)
    return mass


@lru_cache(maxsize=16)
def _united(m: int) -> Ints:
    """Union of each two subsets of m findings, shape (2^m, 2^m)."""
    states = np.arange(1 << m)
    return states[:, None] | states
