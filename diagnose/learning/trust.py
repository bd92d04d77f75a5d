"""How far what was learned is trusted: as far as it has foretold better than the shipped numbers.

Strengths and leaks are either as shipped or as learned. Rates are as shipped, or learned with one
of several spreads of causes around their words (`diagnose.learning.words.SPREADS`). Before a
closing is learned, each of these says how likely what was found was. Words say it given the answers
of the case, for that is what they are used for; rates say it before any answer, since there each
closing tells most of them. Each weighs by the product of these chances, and the numbers to reckon
with are the means by these weights. Where the shipped numbers are right the learned ones soon
foretell worse, by what they have learned of chance, and lose their weight.

Tried for rates: scoring them given the answers too. In four truths that were off it told less, and
in one it kept from use what closed another sixth of the gap.

References
----------
Scores before learning: Dawid (1984), Present position and potential developments: the prequential
approach, Journal of the Royal Statistical Society A 147. Weights: Hoeting, Madigan, Raftery and
Volinsky (1999), Bayesian model averaging, Statistical Science 14.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from math import isclose

import numpy as np

from diagnose.learning.closings import Closing
from diagnose.learning.laws import Beta, Gamma
from diagnose.learning.paths import Paths
from diagnose.learning.teaching import rates_after, words_after
from diagnose.learning.views import Answers, View, answers_of, complaining, view_of
from diagnose.learning.weighing import anything, chance_of, given, presence
from diagnose.learning.words import (
    MOST,
    SPREADS,
    Key,
    Kind,
    Laws,
    rate_factor,
    rate_laws,
    shipped_number,
    word_laws,
)
from diagnose.tables import Floats
from knowledge.model import KnowledgeBase

# Weights before any closing: shipped or learned, one is as good as the other. Source: judgement.
_WORDS = np.array((0.5, 0.5))  # shipped, learned
_RATES = np.array((0.5, *(0.5 / (len(SPREADS) - 1),) * (len(SPREADS) - 1)))
_SAME = 1e-12  # a law that no answer has moved has the shipped mean, but for rounding
_LEAST = 1e-9  # what was found can happen, whatever the numbers say


@dataclass(frozen=True, eq=False)
class Belief:
    """What is believed of the numbers.

    Attributes
    ----------
    base : KnowledgeBase
        As shipped.
    words : Mapping
        Laws of strengths and leaks, as learned.
    rates : tuple of Mapping
        Laws of rates for each of `SPREADS`.
    word_scores : ndarray, shape (2,)
        Log of the chance that words as shipped, and words as learned, gave to what was found,
        summed over closings.
    rate_scores : ndarray, shape (S,)
        The same for each of `rates`.
    most : tuple of Mapping
        Caps on the equivalent sample size of each law: of words, then of each of `rates`.
    """

    base: KnowledgeBase
    words: Mapping[Key, Beta]
    rates: tuple[Mapping[Key, Gamma], ...]
    word_scores: Floats
    rate_scores: Floats
    most: tuple[Mapping[Key, float], ...]

    @property
    def trust(self) -> float:
        """Weight of the learned words against the shipped ones."""
        return float(_weights(self.word_scores, _WORDS)[1])

    @property
    def spreads(self) -> Floats:
        """Weight of each of `rates`; shape (S,), they sum to 1."""
        return _weights(self.rate_scores, _RATES)

    def numbers(self) -> dict[Key, float]:
        """Give the numbers to reckon with; what can't be told from the shipped one is that one."""
        trust, spreads = self.trust, self.spreads.tolist()
        factors = [self._factors(laws) for laws in self.rates]
        numbers: dict[Key, float] = {}
        for key in (*self.words, *self.rates[-1]):
            shipped = shipped_number(self.base, key)
            if key in self.words:
                mean = self.words[key].mean
                off = 0.0 if isclose(mean, shipped, rel_tol=_SAME) else mean - shipped
                numbers[key] = shipped + trust * off
            else:
                moved = (w * (some[key] - 1.0) for w, some in zip(spreads, factors, strict=True))
                numbers[key] = shipped + shipped * sum(moved)
        return numbers

    def _factors(self, laws: Mapping[Key, Gamma]) -> dict[Key, float]:
        """Factors on rates by one set of laws, with the sum of all rates as shipped."""
        causes = self.base.causes.values()
        factors: dict[Key, float] = {("cause", c.id): rate_factor(laws, c) for c in causes}
        total = sum(self.base.rate(c.rate) for c in causes)
        now = sum(factors["cause", c.id] * self.base.rate(c.rate) for c in causes)
        keys: set[Key] = {("rate", c.rate.word) for c in causes if c.rate.word}
        factors |= {key: laws[key].mean if key in laws else 1.0 for key in keys}
        return {key: factor * (total / now) for key, factor in factors.items()}

    def after(self, paths: Paths, closing: Closing) -> "Belief":
        """Learn from a closing that counts; see `diagnose.learning.ledger`."""
        index = paths.network.cause_index
        found = [frozenset(index[name] for name in some) for some in closing.found]
        answers = answers_of(paths, closing)
        shares = [_shares(paths, laws) for laws in self.rates]
        mean = np.sum([w * s / s.sum() for w, s in zip(self.spreads, shares, strict=True)], axis=0)
        shipped, view = (self._view(paths, answers, mean, learned) for learned in (False, True))
        by_answers = [anything(shipped), anything(view)]
        known = given(view, found)
        there, words = presence(view, known), dict(self.words)
        if closing.weight < 1.0:
            otherwise = presence(view, by_answers[1])
            there = closing.weight * there + (1.0 - closing.weight) * otherwise
        else:
            words.update(words_after(view, self.words, known))
        expected = [share * complaining(view) * answers.work for share in shares]
        rates: list[dict[Key, Gamma]] = [
            {**laws, **rates_after(paths.network, laws, there, some)}
            for laws, some in zip(self.rates, expected, strict=True)
        ]
        word_chances = [chance_of(some, found) for some in by_answers]
        rate_chances = [_share_of(some, found) for some in expected]
        return replace(
            self,
            words={key: law.faded(self.most[0][key]) for key, law in words.items()},
            rates=tuple(
                {key: law.faded(most[key]) for key, law in laws.items()}
                for laws, most in zip(rates, self.most[1:], strict=True)
            ),
            word_scores=self.word_scores + _scores(word_chances, closing.weight),
            rate_scores=self.rate_scores + _scores(rate_chances, closing.weight),
        )

    def _view(self, paths: Paths, answers: Answers, rates: Floats, learned: bool) -> View:
        """Look at a case by words as shipped or as learned."""
        base = paths.network.base

        def numbers(kind: Kind, words: tuple[str, ...]) -> Floats:
            laws = self.words
            return np.array(
                [laws[kind, w].mean if learned else base.scale.strength[w] for w in words]
            )

        links, leaks = numbers("link", paths.links), numbers("leak", paths.leaks)
        return view_of(paths, answers, links, leaks, rates)


def shipped_belief(base: KnowledgeBase) -> Belief:
    """Give what is believed before any closing."""
    words = word_laws(base)
    rates = tuple(rate_laws(base, spread) for spread in SPREADS)
    every: tuple[Laws, ...] = (words, *rates)
    most = tuple(_caps(laws) for laws in every)
    return Belief(base, words, rates, np.zeros(2), np.zeros(len(SPREADS)), most)


def _caps(laws: Laws) -> dict[Key, float]:
    return {key: MOST * law.size for key, law in laws.items()}


def _shares(paths: Paths, laws: Mapping[Key, Gamma]) -> Floats:
    """Rates of a set-up's causes by some laws, up to a common factor; shape (C,)."""
    network = paths.network
    causes = (network.base.causes[name] for name in network.causes[:-1])
    shares: Floats = paths.share * np.array([*(rate_factor(laws, c) for c in causes), 1.0])
    return shares


def _share_of(expected: Floats, found: Sequence[frozenset[int]]) -> float:
    """Chance of what was found among known causes, one of which was to be found."""
    share = expected[:-1] / expected[:-1].sum()
    return sum(float(share[list(one)].prod()) for one in found)


def _scores(chances: Sequence[float], weight: float) -> Floats:
    """Log of some chances of what was found, that by the shipped numbers first.

    With the chance that its grade leaves, the name is wrong, and tells none from another.
    """
    chance = np.maximum(np.array(chances), _LEAST)
    scores: Floats = np.log(weight * chance + (1.0 - weight) * chance[0])
    return scores


def _weights(scores: Floats, before: Floats) -> Floats:
    log = scores + np.log(before)
    weight = np.exp(log - log.max())
    share: Floats = weight / weight.sum()
    return share
