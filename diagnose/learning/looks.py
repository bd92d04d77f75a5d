"""What was seen of a case, as words learn from it: each thing that was seen counts once.

The network takes every answer as evidence about one finding at a time. That is not what a choice
is: its answers compete, and one of them says nothing of the findings that the others tell of. So
a word that learned from choices in that way would learn wrongly. Here each answer of a choice is
given in proportion to how well it fits all that is there, as `diagnose.simulate` draws it and the
planner foresees it; where none fits nobody can tell, and what was answered counts given that some
answer did fit. Findings that several answers speak of are followed together, so none counts twice.

Not taken: readings, where the set-up predicts them, since they hang on the release system and on no
word; and choices that tell of a complaint that nobody was asked about, since drivers are silent
about much that is there. Complaints that were told, and what proves a cause that was found, are
conditioned on: the case would not be here, or the cause not found, without them.
"""

from collections.abc import Collection, Iterable, Mapping
from typing import NamedTuple

import numpy as np

from diagnose.case import Case, Entry
from diagnose.evidence import check_answer, likelihood_ratios, read_case
from diagnose.network import Network
from diagnose.tables import Floats
from knowledge.model import Check, CheckAnswer, KnowledgeBase

_WIDEST = 10  # findings that are followed together; an answer that would tie more is left out


class Look(NamedTuple):
    """Answers that hang together, by the state of the findings they tell of.

    Attributes
    ----------
    findings : tuple of int, length K
    said : ndarray, shape (2,) * K
        Likelihood of the answers by what is there: index 0 absent, 1 there.
    could : ndarray, shape (2,) * K
        1 where all of them could be answered, and what they are conditioned on holds.
    """

    findings: tuple[int, ...]
    said: Floats
    could: Floats

    @property
    def teaches(self) -> bool:
        """Whether the answers tell more than what they are conditioned on."""
        open_ = self.could > 0.0
        share = self.said[open_] / self.could[open_]
        return bool(share.size and share.max() > share.min())


def looks_of(network: Network, case: Case, given: Collection[str]) -> tuple[Look, ...]:
    """Give what was seen of a case.

    Parameters
    ----------
    network : Network
    case : Case
        Up to its first repair.
    given : collection of str
        Findings that are conditioned on as far as answers tell of them: they teach no word.
    """
    base = network.base
    told = _told(base, case)
    tables = [_plain(network, ratio, name) for name, ratio in _plainly(base, case).items()]
    tables += [
        table
        for check, entry in _choices(network, case)
        if (table := _choice(network, check, entry, told)) is not None
    ]
    conditioned = {network.finding_index[name] for name in given if name in network.finding_index}
    looks = (_conditioned(look, conditioned) for look in _tied(tables))
    return tuple(look for look in looks if look.said.any())


def _told(base: KnowledgeBase, case: Case) -> dict[str, bool]:
    """What the driver is sure of: complaint -> whether it is there."""
    sure = {"yes": True, "no": False}
    return {e.complaint: sure[e.answer] for e in case.entries if e.complaint and e.answer in sure}


def _plainly(base: KnowledgeBase, case: Case) -> dict[str, float]:
    """Likelihood ratio of each finding that was looked at for itself; a hint unsays nothing."""
    seen: dict[str, float] = {}
    for entry in case.entries:
        check = base.checks.get(entry.check or "")
        if check is None or check.finding is None or check.finding in base.complaints:
            continue
        for name, ratio in likelihood_ratios(base, entry).items():
            if _is_sure(ratio) or not _is_sure(seen.get(name, 1.0)):
                seen[name] = ratio
    return seen


def _is_sure(ratio: float) -> bool:
    return ratio == 0.0 or np.isinf(ratio)


def _choices(network: Network, case: Case) -> Iterable[tuple[Check, Entry]]:
    """Choices that were answered, each as answered last, without readings that count as such."""
    checks = network.base.checks
    read = {taken.entry for taken in read_case(network, case).measured.taken}
    last = {e.check: i for i, e in enumerate(case.entries) if e.check in checks}
    for name, i in last.items():
        if name is not None and checks[name].finding is None and i not in read:
            yield checks[name], case.entries[i]


def _plain(network: Network, ratio: float, name: str) -> Look:
    said = np.array((0.0, 1.0) if np.isinf(ratio) else (1.0, ratio))
    return Look((network.finding_index[name],), said / said.max(), np.ones(2))


def _choice(network: Network, check: Check, entry: Entry, told: Mapping[str, bool]) -> Look | None:
    """Give the table of an answer of a choice; None if it tells nothing that can be used."""
    base = network.base
    answer = check_answer(check, entry.answer)
    names = tuple(dict.fromkeys(name for a in check.answers for name in a.shows))
    unasked = [name for name in names if name in base.complaints and name not in told]
    if answer is None or unasked or len(names) > _WIDEST:
        return None
    fits = {a.id: _fit(base, a, names) for a in check.answers}
    every = np.sum(list(fits.values()), axis=0)
    said = np.divide(fits[answer.id], every, out=np.zeros(every.shape), where=every > 0.0)
    could = np.where(every > 0.0, 1.0, 0.0)
    at = tuple(int(told[n]) if n in base.complaints else slice(None) for n in names)
    findings = tuple(network.finding_index[n] for n in names if n not in base.complaints)
    return Look(findings, said[at], could[at])


def _fit(base: KnowledgeBase, answer: CheckAnswer, names: tuple[str, ...]) -> Floats:
    """How well an answer fits each state of some findings; shape (2,) * K."""
    fit = np.ones((2,) * len(names))
    for finding, word in answer.shows.items():
        if word == "yes":
            pair = (0.0, 1.0)
        elif word == "no":
            pair = (1.0, 0.0)
        else:
            ratio = base.scale.answer[word]
            pair = (1.0 / (1.0 + ratio), ratio / (1.0 + ratio))
        fit = fit * np.array(pair).reshape(_along(names.index(finding), len(names)))
    return fit


def _along(axis: int, number: int) -> list[int]:
    return [2 if i == axis else 1 for i in range(number)]


def _tied(looks: Iterable[Look]) -> list[Look]:
    """Multiply looks that share findings, until none do."""
    tied: list[Look] = []
    for look in looks:
        if not look.findings:
            continue
        mine = [other for other in tied if set(other.findings) & set(look.findings)]
        names = dict.fromkeys(f for one in (look, *mine) for f in one.findings)
        if len(names) > _WIDEST:
            continue
        one = _spread(look, tuple(names))
        for other in mine:
            also = _spread(other, tuple(names))
            one = Look(one.findings, one.said * also.said, one.could * also.could)
        tied = [other for other in tied if other not in mine] + [one]
    return tied


def _spread(look: Look, findings: tuple[int, ...]) -> Look:
    """Give the same look over more findings."""
    order = sorted(range(len(look.findings)), key=lambda i: findings.index(look.findings[i]))
    shape = [2 if f in look.findings else 1 for f in findings]
    whole = (2,) * len(findings)
    said, could = (np.transpose(t, order).reshape(shape) for t in (look.said, look.could))
    return Look(findings, np.broadcast_to(said, whole), np.broadcast_to(could, whole))


def _conditioned(look: Look, given: Collection[int]) -> Look:
    """Take as given what the answers say of some findings."""
    could = look.could
    if set(look.findings) <= set(given):
        return look._replace(could=look.said)
    for axis, finding in enumerate(look.findings):
        if finding in given:
            others = tuple(i for i in range(len(look.findings)) if i != axis)
            possible = look.said.any(axis=others).astype(float)
            could = could * possible.reshape(_along(axis, len(look.findings)))
    return look._replace(could=could)
