"""What can be learned: the words of the scale, and how often each cause comes.

The kinds of numbers, and what some two hundred closings can say of each:

- ``link``: a strength word, shared by many links; each closing speaks about several of them, so it
  is learned well. A single link has no number of its own: in two hundred closings it is looked at
  a few times at most.
- ``leak``: a word for how often a sign comes unexplained. The same word as a link is another number
  here, since a leak is looked at with every answer.
- ``rate``: a rate word, as a factor on all causes that have it.
- ``cause``: one cause, as a factor on the rate that its word gives; at the full doubt it moves by
  half the way where two of it were expected, so of most causes two hundred closings say little.

What has a number and a source of its own, instead of a word, is learned for causes only. What this
tool does not know is never found, so its numbers stay.
"""

from collections.abc import Mapping
from math import log, prod
from typing import Literal

from diagnose.learning.laws import Beta, Gamma, Law
from diagnose.learning.paths import is_open, links_of
from knowledge.model import Cause, KnowledgeBase, Mechanism

Kind = Literal["link", "leak", "rate", "cause"]
Key = tuple[Kind, str]
Laws = Mapping[Key, Law]

# How far off a word may be: standard deviation of the log-odds of a chance, relative standard
# deviation of a rate or factor. Source: judgement; an expert's word is right to within a factor of
# two in odds, as the goals take it that measure what wrong words do (engine notes, section 11).
DOUBT = log(2.0)
# How far causes may lie off the rates of their words, as shares of that doubt: the rates as
# shipped, words alone, causes near to their words, and causes as far off as the words.
SPREADS: tuple[float | None, ...] = (None, 0.0, 0.5, 1.0)
# A law is never worth more than so many times what it was worth as shipped: what was learned from
# old fleets fades while new closings come in. Source: judgement; the doubt of a word then stays
# above a tenth of that as shipped.
MOST = 100.0


def word_laws(base: KnowledgeBase) -> dict[Key, Beta]:
    """Give the laws of strengths and leaks, as shipped."""
    records: list[Cause | Mechanism] = [*base.causes.values(), *base.mechanisms.values()]
    observables = (*base.complaints.values(), *base.findings.values())
    links = [s for record in records for _, s in links_of(record) if is_open(base, s)]
    leaks = [o.unexplained for o in observables if is_open(base, o.unexplained)]
    laws: dict[Key, Beta] = {}
    for strength in links:
        laws["link", strength.word] = Beta.around(base.strength(strength), DOUBT)
    for strength in leaks:
        laws["leak", strength.word] = Beta.around(base.strength(strength), DOUBT)
    return laws


def rate_laws(base: KnowledgeBase, spread: float | None) -> dict[Key, Gamma]:
    """Give the laws of factors on rates, as shipped, for one of `SPREADS`.

    A word, or a cause, that is not to move has none.
    """
    laws: dict[Key, Gamma] = {}
    if spread is None:
        return laws
    for cause in base.causes.values():
        if cause.rate.word:
            laws["rate", cause.rate.word] = Gamma.around(1.0, DOUBT)
    if spread > 0.0:
        for name in base.causes:
            laws["cause", name] = Gamma.around(1.0, spread * DOUBT)
    return laws


def rate_factor(laws: Laws, cause: Cause) -> float:
    """Give what a cause's shipped rate is multiplied with: its word's factor and its own."""
    keys: tuple[Key, Key] = ("rate", cause.rate.word), ("cause", cause.id)
    return prod(laws[key].mean for key in keys if key in laws)


def shipped_number(base: KnowledgeBase, key: Key) -> float:
    """Give the number that a key has as shipped: a chance, or a share of comebacks."""
    kind, name = key
    if kind == "cause":
        return base.rate(base.causes[name].rate)
    return (base.scale.rate if kind == "rate" else base.scale.strength)[name]
