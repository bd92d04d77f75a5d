"""What one closing says, given what was found: about words, and about which causes were there.

Words learn from answers given the causes that were found; that such an answer was only asked for
because others made it likely then does not matter, since what is asked hangs on the answers before
it, and those are given too (Rubin 1976, Inference and missing data, Biometrika 63). What was not
asked counts not at all. Besides what was found, one more cause may have been there: each by its
rate and by how well it fits the answers, so what a second fault shows is not laid on the leak. Two
more are left out.

Only looks at one thing teach words: yes, no, and what lies between. These do not, though they help
to tell whether a second cause was there:

- complaints: a driver names what is there and is silent about the rest, so a word would only ever
  be seen to hold;
- what proves a cause that was found: it was found because the proof showed it;
- choices: their answers compete, so one of them hides the others. Tried: in a hundred closings
  drawn from the shipped base they drag "sometimes" from 0.30 down to 0.15;
- a look at something that choices or gauges tell of as well: who has seen it there does not look
  again, and who looks again has not.

Readings are left out altogether; what they should show is the release system's, no word's.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from math import inf

import numpy as np
from numpy.typing import NDArray

from diagnose.case import Case
from diagnose.evidence import read_case
from diagnose.learning.closings import Closing
from diagnose.learning.laws import Beta, nodes
from diagnose.learning.paths import Paths, Sets
from diagnose.learning.words import Key, Kind, Laws, rate_factor
from diagnose.network import prior_from_rates
from diagnose.proofs import proofs_of
from diagnose.tables import Floats
from diagnose.together import Ints

_NODES = 6  # exact for words that the answers hang on to the ninth power
_NEVER = 1e-9  # what was found can happen, whatever the base says
_FLAT = 1e-12  # likelihoods this close to each other say nothing


@dataclass(frozen=True, eq=False)
class Answers:
    """The answers of a case up to the first repair.

    Attributes
    ----------
    findings : ndarray of int, shape (K,)
    there, absent : ndarray, shape (K,)
        Likelihood of each answer if the finding is there, and if it is not; up to a factor.
    teaches : ndarray of bool, shape (K,)
    work : ndarray, shape (C,)
        Factor that work done at the job puts on the chance of each cause.
    """

    findings: Ints
    there: Floats
    absent: Floats
    teaches: NDArray[np.bool_]
    work: Floats


def answers_of(paths: Paths, closing: Closing) -> Answers:
    """Read a closed case; what was seen after a repair tells of another state and is left out."""
    network = paths.network
    case = _before_repairs(closing.case)
    situation = read_case(network, case)
    checks = network.base.checks
    proofs = proofs_of(network)
    told_otherwise = {f for c in checks.values() if c.finding is None for f in c.reads()}
    proving = {p.finding for some in closing.found for c in some for p in proofs.get(c, ())}
    silent = proving | told_otherwise
    findings, there, absent, teaches = [], [], [], []
    for name, seen in situation.observed.items():
        check = checks.get(case.entries[seen.entry].check or "")
        findings.append(network.finding_index[name])
        there.append(1.0 if seen.ratio == inf else seen.ratio)
        absent.append(0.0 if seen.ratio == inf else 1.0)
        teaches.append(check is not None and check.finding == name and name not in silent)
    none = np.ones(len(network.prior))
    return Answers(
        np.array(findings, dtype=np.intp),
        np.array(there),
        np.array(absent),
        np.array(teaches, dtype=bool),
        np.divide(situation.prior, network.prior, out=none, where=network.prior > 0.0),
    )


def _before_repairs(case: Case) -> Case:
    end = next((i for i, entry in enumerate(case.entries) if entry.mends), len(case.entries))
    return case.model_copy(update={"entries": case.entries[:end]})


@dataclass(frozen=True, eq=False)
class View:
    """A closed case under the present numbers of the words.

    Attributes
    ----------
    links : ndarray, shape (L,)
    leaks : ndarray, shape (W,)
        Present numbers of the words.
    rates : ndarray, shape (C,)
        Present rates, up to a common factor.
    prior : ndarray, shape (C,)
        Chance of each cause before any answer, by rates and by work done at the job.
    """

    paths: Paths
    answers: Answers
    links: Floats
    leaks: Floats
    rates: Floats
    prior: Floats

    @property
    def odds(self) -> Floats:
        """Prior odds of each cause; shape (C,)."""
        return self.prior / (1.0 - self.prior)


def view_of(paths: Paths, answers: Answers, laws: Laws) -> View:
    """Look at a closed case with what is learned so far."""
    network = paths.network
    causes = [network.base.causes[name] for name in network.causes[:-1]]
    rates = paths.share * np.array([*(rate_factor(laws, cause) for cause in causes), 1.0])
    prior = prior_from_rates(rates, network.base.scale.faults_per_comeback) * answers.work
    return View(
        paths,
        answers,
        np.array([laws["link", word].mean for word in paths.links]),
        np.array([laws["leak", word].mean for word in paths.leaks]),
        rates,
        np.clip(prior, _NEVER, 1.0 - _NEVER),
    )


@dataclass(frozen=True, eq=False)
class Hypotheses:
    """Sets of causes that may have been there.

    Attributes
    ----------
    held : Sets
    weight : ndarray, shape (H,)
        Before the answers, up to a factor.
    """

    held: Sets
    weight: Floats


def _weighted(view: View, held: Sets) -> Hypotheses:
    odds = np.append(view.odds, 1.0)  # what pads counts for nothing
    return Hypotheses(held, odds[held.members].prod(axis=1))


def given(view: View, found: Iterable[frozenset[int]]) -> Hypotheses:
    """What may have been there, given what was found: that, or that and one more cause."""
    causes = range(len(view.prior))
    some = [one for one in found for one in (one, *(one | {c} for c in causes if c not in one))]
    return _weighted(view, view.paths.sets_of(tuple(dict.fromkeys(some))))


def anything(view: View) -> Hypotheses:
    """What may have been there when nothing is known of it: any cause, or any two."""
    return _weighted(view, view.paths.pairs)


def fits(view: View, hypotheses: Hypotheses, links: Floats, leaks: Floats) -> Floats:
    """Likelihood of the answers.

    Parameters
    ----------
    links : ndarray, shape (V, L)
    leaks : ndarray, shape (V, W)
        Numbers of the words, V sets of them; the first are the present ones. What does not teach
        is taken by those throughout.

    Returns
    -------
    ndarray, shape (V, H)
    """
    answers = view.answers
    leak, quiet = _rows(view, answers.findings, links, leaks)
    idle = np.ones((len(quiet), 1, quiet.shape[2]))
    quiet = np.concatenate((quiet, idle), axis=1)  # what pads turns nothing on
    first, *more = hypotheses.held.rows.T
    silent = quiet[:, first]
    for rows in more:
        silent = silent * quiet[:, rows]
    on = 1.0 - (1.0 - leak[:, None]) * silent
    on[:, :, ~answers.teaches] = on[:1, :, ~answers.teaches]
    chance = answers.absent + (answers.there - answers.absent) * on
    product: Floats = chance.prod(axis=2)
    return product


def _rows(view: View, findings: Ints, links: Floats, leaks: Floats) -> tuple[Floats, Floats]:
    """Leaks, shape (V, K), and the chance that each row turns a finding not on, (V, R, K)."""
    paths, network = view.paths, view.paths.network
    word = paths.leak_word[findings]
    padded = np.concatenate((leaks, np.zeros((len(leaks), 1))), axis=1)
    leak = np.where(word >= 0, padded[:, word], network.leak[findings])
    varied = links if (links != links[0]).any() else links[:1]
    quiet = paths.quiet(varied, findings.tolist())
    quiet = np.array(np.broadcast_to(quiet, (len(links), *quiet.shape[1:])))
    unknown = network.base.scale.unknown
    complaints = np.array([network.findings[f] in network.base.complaints for f in findings], bool)
    brings = np.where(complaints, unknown.brings, np.minimum(unknown.brings, unknown.shows * leak))
    quiet[:, len(network.causes) - 1] = 1.0 - brings
    return leak, quiet


def words_after(view: View, laws: Laws, hypotheses: Hypotheses) -> dict[Key, Beta]:
    """Laws of the words after a closing.

    Each word's own law given the answers, all others at their means: exact, for one closing, where
    each of the others enters the answers once. What follows is a mixture, over who turned on what;
    its mean and variance are matched.

    Returns
    -------
    dict
        Only of words that the answers say something about.
    """
    after: dict[Key, Beta] = {}
    kinds: tuple[tuple[Kind, tuple[str, ...]], ...] = (
        ("link", view.paths.links),
        ("leak", view.paths.leaks),
    )
    if not view.answers.teaches.any():
        return after
    for kind, words in kinds:
        drawn = [nodes(_beta(laws, (kind, word)), _NODES) for word in words]
        present = view.links if kind == "link" else view.leaks
        varied = np.tile(present, (1 + len(words) * _NODES, 1))
        for i, (points, _) in enumerate(drawn):
            varied[1 + i * _NODES : 1 + (i + 1) * _NODES, i] = points
        held = np.tile(view.leaks if kind == "link" else view.links, (len(varied), 1))
        both = (varied, held) if kind == "link" else (held, varied)
        likely = fits(view, hypotheses, *both) @ hypotheses.weight
        for i, (points, share) in enumerate(drawn):
            mine = likely[1 + i * _NODES : 1 + (i + 1) * _NODES]
            if mine.max() - mine.min() > _FLAT * mine.max():
                law = _beta(laws, (kind, words[i]))
                after[kind, words[i]] = law.weighed(points, share * mine)
    return after


def _beta(laws: Laws, key: Key) -> Beta:
    law = laws[key]
    if not isinstance(law, Beta):
        raise TypeError(f"{key} has no Beta law")
    return law


def presence(view: View, hypotheses: Hypotheses) -> Floats:
    """Chance that each cause was there, given the answers and that a hypothesis holds; (C,).

    Where the answers can't be under any of them, they say nothing.
    """
    mass = hypotheses.weight * fits(view, hypotheses, view.links[None], view.leaks[None])[0]
    if mass.sum() <= 0.0:
        mass = hypotheses.weight
    mass = mass / mass.sum()
    members = hypotheses.held.members
    chance = np.bincount(members.ravel(), np.repeat(mass, members.shape[1]), len(view.prior) + 1)
    return np.minimum(chance[:-1], 1.0)


def complaining(view: View) -> Floats:
    """Chance that a driver with this cause has a complaint at all; shape (C,).

    Causes that bring none do not come back, so they are not to be expected as often.
    """
    network = view.paths.network
    at = np.array([network.finding_index[name] for name in network.base.complaints], dtype=np.intp)
    leak, rows = _rows(view, at, view.links[None], view.leaks[None])
    quiet = rows[0, : len(network.causes)].prod(axis=1)
    others = 1.0 - view.prior * (1.0 - quiet)
    chance: Floats = 1.0 - (1.0 - leak[0]).prod() * quiet * (others.prod() / others)
    return chance
