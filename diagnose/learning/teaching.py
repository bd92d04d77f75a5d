"""What one closing says about the numbers, given what was found.

Words learn from what was seen given the causes that were there; that such an answer was only asked
for because others made it likely then does not matter, since what is asked hangs on the answers
before it, and those are given too (Rubin 1976, Inference and missing data, Biometrika 63). What was
not asked counts not at all. Besides what was found, one more cause may have been there, each by its
rate and by how well it fits, so what a second fault shows is not laid on the leak. Complaints teach
no word: a driver names what is there and is silent about the rest, so a word would only ever be
seen to hold.

Rates learn from who was there: one comeback more of each cause by its chance to have been there,
against the comebacks in which it was to be expected.
"""

from collections.abc import Mapping

import numpy as np

from diagnose.learning.laws import Beta, Gamma, nodes
from diagnose.learning.views import View, said
from diagnose.learning.weighing import Hypotheses
from diagnose.learning.words import Key, Kind
from diagnose.network import Network
from diagnose.tables import Floats

_NODES = 6  # exact for words that the answers hang on to the ninth power
_FLAT = 1e-12  # likelihoods this close to each other say nothing
_LEAST = 1e-4  # what is less likely than this, against the likeliest, teaches no word


def words_after(view: View, laws: Mapping[Key, Beta], there: Hypotheses) -> dict[Key, Beta]:
    """Laws of the words after a closing.

    Each word's own law given the answers, all others at their means: exact, for one closing, where
    each of the others enters the answers once. What follows is a mixture, over who turned on what;
    its mean and variance are matched.

    Parameters
    ----------
    view : View
        By the means of the laws.
    laws : Mapping
    there : Hypotheses
        What may have been there, weighed by the answers (`diagnose.learning.weighing.given`).

    Returns
    -------
    dict
        Only of words that the answers say something about.
    """
    after: dict[Key, Beta] = {}
    if not any(look.teaches for look in view.answers.looks):
        return after
    likely = there.likeliest(_LEAST)
    kinds: tuple[tuple[Kind, tuple[str, ...]], ...] = (
        ("link", view.paths.links),
        ("leak", view.paths.leaks),
    )
    for kind, words in kinds:
        drawn = [nodes(laws[kind, word], _NODES) for word in words]
        present = view.links if kind == "link" else view.leaks
        varied = np.tile(present, (1 + len(words) * _NODES, 1))
        for i, (points, _) in enumerate(drawn):
            varied[1 + i * _NODES : 1 + (i + 1) * _NODES, i] = points
        held = np.tile(view.leaks if kind == "link" else view.links, (len(varied), 1))
        links, leaks = (varied, held) if kind == "link" else (held, varied)
        fits = said(view, likely.held, links, leaks)
        # The weights hold the present likelihood already.
        share = np.divide(fits, fits[0], out=np.ones(fits.shape), where=fits[0] > 0.0)
        by_number = share @ likely.weight
        for i, (points, mass) in enumerate(drawn):
            mine = by_number[1 + i * _NODES : 1 + (i + 1) * _NODES]
            if mine.max() - mine.min() > _FLAT * mine.max():
                after[kind, words[i]] = laws[kind, words[i]].weighed(points, mass * mine)
    return after


def rates_after(
    network: Network, laws: Mapping[Key, Gamma], there: Floats, expected: Floats
) -> dict[Key, Gamma]:
    """Laws of rates after one comeback.

    Parameters
    ----------
    network : Network
    laws : Mapping
        Those that may move; a factor without a law stays at 1.
    there : ndarray, shape (C,)
        Chance of each cause to have been there.
    expected : ndarray, shape (C,)
        How often each was to be expected by the laws, up to a common factor.
    """
    causes = network.base.causes
    known, share = there[:-1], expected[:-1]
    # As many in all as were there: only how often one comes for another is learned.
    share = share * (known.sum() / share.sum())
    names = network.causes[:-1]
    sums: dict[Key, Floats] = {}
    for name, p, e in zip(names, known.tolist(), share.tolist(), strict=True):
        seen = np.array((p, p * (1.0 - p), e))
        for key in (("cause", name), ("rate", causes[name].rate.word)):
            if key in laws:
                sums[key] = sums.get(key, np.zeros(3)) + seen
    return {key: _counted(laws, key, *total.tolist()) for key, total in sums.items()}


def _counted(
    laws: Mapping[Key, Gamma], key: Key, number: float, scatter: float, expected: float
) -> Gamma:
    """Law of a factor after cases that are known by their mean, variance and expectation."""
    law = laws[key]
    # `expected` is at the present factor; the exposure is that at a factor of 1.
    return law.counted(number, scatter, expected / law.mean)
