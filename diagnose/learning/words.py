"""What can be learned: the words of the scale, and how often each cause comes.

The kinds of numbers, and what some two hundred closings can say of each:

- ``link``: a strength word, shared by many links; each closing speaks about several of them, so it
  is learned well. A single link has no number of its own: in two hundred closings it is looked at
  a few times at most.
- ``leak``: a word for how often a sign comes unexplained. The same word as a link is another number
  here, since a leak is looked at with every answer.
- ``rate``: a rate word, as a factor on all causes that have it.
- ``cause``: one cause, as a factor on the rate that its word gives; it moves by half the way where
  four of it were expected.

What has a number and a source of its own, instead of a word, is learned for causes only. What this
tool does not know is never found, so its numbers stay.
"""

from collections.abc import Mapping
from typing import Literal

from diagnose.learning.laws import Beta, Gamma, Law
from diagnose.learning.paths import is_open, links_of
from knowledge.model import Cause, KnowledgeBase, Mechanism

Kind = Literal["link", "leak", "rate", "cause"]
Key = tuple[Kind, str]
Laws = Mapping[Key, Law]

# How far off a word may be: standard deviation of the log-odds of a chance, relative standard
# deviation of a rate. Source: judgement; a word is meant to within a factor of about 1.6, and a
# cause lies nearer to its word than that. Each cause is seen so seldom that a wider law would
# mostly learn chance: where the words are right, 0.5 loses half as much again, and where causes
# are off by 0.5 it gains hardly more.
DOUBT: Mapping[Kind, float] = {"link": 0.5, "leak": 0.5, "rate": 0.5, "cause": 0.35}
# A law is never worth more than so many times what it was worth as shipped: what was learned from
# old fleets fades while new closings come in. Source: judgement; the doubt of a word then stays
# above a ninth.
MOST = 20.0


def shipped_laws(base: KnowledgeBase) -> dict[Key, Law]:
    """Give the law of everything that can be learned, as shipped."""
    records: list[Cause | Mechanism] = [*base.causes.values(), *base.mechanisms.values()]
    observables = (*base.complaints.values(), *base.findings.values())
    links = [s for record in records for _, s in links_of(record) if is_open(base, s)]
    leaks = [o.unexplained for o in observables if is_open(base, o.unexplained)]
    laws: dict[Key, Law] = {}
    for strength in links:
        laws["link", strength.word] = Beta.around(base.strength(strength), DOUBT["link"])
    for strength in leaks:
        laws["leak", strength.word] = Beta.around(base.strength(strength), DOUBT["leak"])
    for cause in base.causes.values():
        if cause.rate.word:
            laws["rate", cause.rate.word] = Gamma.around(1.0, DOUBT["rate"])
    for name in base.causes:
        laws["cause", name] = Gamma.around(1.0, DOUBT["cause"])
    return laws


def most_worth(base: KnowledgeBase) -> dict[Key, float]:
    """Give the cap on the equivalent sample size of every law."""
    return {key: MOST * law.size for key, law in shipped_laws(base).items()}


def rate_factor(laws: Laws, cause: Cause) -> float:
    """Give what a cause's shipped rate is multiplied with: its word's factor and its own."""
    word = laws["rate", cause.rate.word].mean if cause.rate.word else 1.0
    return word * laws["cause", cause.id].mean


def shipped_number(base: KnowledgeBase, key: Key) -> float:
    """Give the number that a key has as shipped."""
    kind, name = key
    if kind == "cause":
        return base.rate(base.causes[name].rate)
    return (base.scale.rate if kind == "rate" else base.scale.strength)[name]


def number(base: KnowledgeBase, laws: Laws, key: Key) -> float:
    """Give the number that a key has by some laws: a chance, or a share of comebacks."""
    kind, name = key
    if kind == "cause":
        return shipped_number(base, key) * rate_factor(laws, base.causes[name])
    return (shipped_number(base, key) if kind == "rate" else 1.0) * laws[key].mean
