"""A closed case under some numbers of the words, and the chances that these give."""

from dataclasses import dataclass
from math import inf

import numpy as np

from diagnose.case import Case
from diagnose.evidence import read_case
from diagnose.learning.closings import Closing
from diagnose.learning.looks import Look, looks_of
from diagnose.learning.paths import Paths, Sets
from diagnose.network import prior_from_rates
from diagnose.proofs import proofs_of
from diagnose.tables import Floats
from diagnose.together import Ints

_NEVER = 1e-9  # what was found can happen, whatever the base says


@dataclass(frozen=True, eq=False)
class Answers:
    """The answers of a case up to the first repair.

    Attributes
    ----------
    findings : ndarray of int, shape (K,)
    there, absent : ndarray, shape (K,)
        Likelihood of each answer if the finding is there, and if it is not; up to a factor.
    complaints : ndarray of int
        Complaints that the driver was heard about.
    looks : tuple of Look
        The answers to checks once more, as words learn from them.
    work : ndarray, shape (C,)
        Factor that work done at the job puts on the chance of each cause.
    """

    findings: Ints
    there: Floats
    absent: Floats
    complaints: Ints
    looks: tuple[Look, ...]
    work: Floats


def answers_of(paths: Paths, closing: Closing) -> Answers:
    """Read a closed case; what was seen after a repair tells of another state and is left out."""
    network = paths.network
    case = _before_repairs(closing.case)
    situation = read_case(network, case)
    proofs = proofs_of(network)
    proving = {p.finding for some in closing.found for c in some for p in proofs.get(c, ())}
    ratios = [seen.ratio for seen in situation.observed.values()]
    names = list(situation.observed)
    complaints = [network.finding_index[n] for n in names if n in network.base.complaints]
    none = np.ones(len(network.prior))
    return Answers(
        np.array([network.finding_index[name] for name in names], dtype=np.intp),
        np.array([1.0 if ratio == inf else ratio for ratio in ratios]),
        np.array([0.0 if ratio == inf else 1.0 for ratio in ratios]),
        np.array(complaints, dtype=np.intp),
        looks_of(network, case, proving),
        np.divide(situation.prior, network.prior, out=none, where=network.prior > 0.0),
    )


def _before_repairs(case: Case) -> Case:
    end = next((i for i, entry in enumerate(case.entries) if entry.mends), len(case.entries))
    return case.model_copy(update={"entries": case.entries[:end]})


@dataclass(frozen=True, eq=False)
class View:
    """A closed case under some numbers of the words.

    Attributes
    ----------
    links : ndarray, shape (L,)
    leaks : ndarray, shape (W,)
        Numbers of the words.
    rates : ndarray, shape (C,)
        Rates, up to a common factor.
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


def view_of(paths: Paths, answers: Answers, links: Floats, leaks: Floats, rates: Floats) -> View:
    """Look at a closed case by some numbers; see `View`."""
    prior = prior_from_rates(rates, paths.network.base.scale.faults_per_comeback) * answers.work
    return View(paths, answers, links, leaks, rates, np.clip(prior, _NEVER, 1.0 - _NEVER))


def chances_on(view: View, held: Sets, findings: Ints, links: Floats, leaks: Floats) -> Floats:
    """Chance that each finding is there, by what is held and by numbers of the words.

    Parameters
    ----------
    held : Sets
        Of H sets.
    findings : ndarray of int, shape (K,)
    links : ndarray, shape (V, L)
    leaks : ndarray, shape (V, W)
        Numbers of the words, V sets of them.

    Returns
    -------
    ndarray, shape (V, H, K)
    """
    leak, quiet = _rows(view, findings, links, leaks)
    idle = np.ones((len(quiet), 1, quiet.shape[2]))
    quiet = np.concatenate((quiet, idle), axis=1)  # what pads turns nothing on
    first, *more = held.rows.T
    silent = quiet[:, first]
    for rows in more:
        silent = silent * quiet[:, rows]
    on: Floats = 1.0 - (1.0 - leak[:, None]) * silent
    return on


def said(view: View, held: Sets, links: Floats, leaks: Floats, *, freely: bool = False) -> Floats:
    """Likelihood of what was seen, for each set of numbers and each of what may be there.

    Parameters
    ----------
    held, links, leaks
        As in `chances_on`.
    freely : bool
        Without conditions: what a look is conditioned on counts with its own chance by the numbers
        asked for. Otherwise with that by the first set of numbers, so it says nothing of words.

    Returns
    -------
    ndarray, shape (V, H)
    """
    looks = view.answers.looks
    findings = np.array([f for look in looks for f in look.findings], dtype=np.intp)
    on = chances_on(view, held, findings, links, leaks)
    product = np.ones(on.shape[:2])
    start = 0
    for look in looks:
        mine = on[:, :, start : start + len(look.findings)]
        start += len(look.findings)
        if freely:
            product *= _expected(look.said, mine)
        elif not look.teaches:
            product *= _expected(look.said, mine[:1])
        else:
            product *= _expected(look.said, mine)
            if look.could.min() < 1.0:
                could = _expected(look.could, mine)
                share = np.divide(could[:1], could, out=np.zeros(could.shape), where=could > 0.0)
                product *= share
    return product


def _expected(table: Floats, on: Floats) -> Floats:
    """Mean of a table over findings that are there each with a chance of its own.

    Parameters
    ----------
    table : ndarray, shape (2,) * K
    on : ndarray, shape (V, H, K)

    Returns
    -------
    ndarray, shape (V, H)
    """
    left: Floats = table.reshape(1, 1, -1)
    for k in range(on.shape[2]):
        half = left.shape[2] // 2
        p = on[:, :, k, None]
        left = left[:, :, :half] * (1.0 - p) + left[:, :, half:] * p
    return left[:, :, 0]


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
