"""Exercises drawn from the model: one cause, one with a decoy, or two, in a zone of choice.

Causes are drawn by how often they are behind comebacks of the set-up, and the vehicle by their
links. What could not be practised is drawn again: a cause that nothing on the vehicle gives away, a
complaint that stays when all is mended, a second cause that the complaints don't need, a decoy that
misleads nobody. So exercises are a little easier than comebacks are.
"""

from collections.abc import Iterator, Sequence
from typing import NamedTuple

import numpy as np
from numpy.random import Generator

from diagnose.assess import assess, network_for
from diagnose.case import Case, Entry
from diagnose.network import UNKNOWN, Network
from diagnose.practice.exercise import (
    Decoy,
    Difficulty,
    Exercise,
    ExerciseError,
    comeback_of,
    faults_in,
)
from diagnose.proofs import proofs_of
from diagnose.simulate import Comeback, draw
from diagnose.stops import shown
from knowledge.model import KnowledgeBase
from knowledge.tree import share_that_fits

_TRIES = 300
_BRINGS = 0.1  # a cause that brings every complaint less often than this is not asked for
_POINTS = 0.5  # a decoy's sign comes from the wrong cause at least so often
_FOREIGN = 0.05  # and from none of the right ones oftener than this
_BY_CHANCE = 0.005  # and so often it is there without any; less is what is seen on the part itself
_RAISES = 2.0  # times that a decoy makes its cause likelier, at least
_DECOYS = 10  # that are tried on one vehicle


def draw_exercise(
    base: KnowledgeBase,
    rng: Generator,
    *,
    difficulty: Difficulty = "single",
    zone: str | None = None,
    setup: str | None = None,
) -> Exercise:
    """Draw an exercise.

    Parameters
    ----------
    base : KnowledgeBase
    rng : Generator
    difficulty : str
    zone : str, optional
        Where the (first) cause is; anywhere without it.
    setup : str, optional
        One of the base's set-ups; any without it.

    Returns
    -------
    Exercise

    Raises
    ------
    ExerciseError
        If the set-up has no cause there, or none that makes such an exercise.
    """
    setups = [s for s in base.setups if setup is None or s == setup]
    if not setups:
        raise ExerciseError(f"There is no set-up {setup!r}.", "Choose one of the list.")
    found_any = False
    for _ in range(_TRIES):
        record = base.setups[setups[int(rng.integers(len(setups)))]]
        start = Case().with_facts(record.facts, setup=record.id)
        pool = _Pool.of(base, start, zone)
        if not pool.first:
            continue
        found_any = True
        exercise = _tried(base, start, pool, rng, difficulty)
        if exercise is not None:
            return exercise.model_copy(update={"zone": zone})
    if not found_any:
        raise ExerciseError("No cause of this zone brings a complaint.", "Choose another zone.")
    raise ExerciseError(
        "No such exercise could be drawn.", "Choose another zone, set-up or difficulty."
    )


class _Pool(NamedTuple):
    """Causes to draw from: the first from the zone, a second one from anywhere."""

    network: Network
    first: tuple[str, ...]
    every: tuple[str, ...]

    @classmethod
    def of(cls, base: KnowledgeBase, start: Case, zone: str | None) -> "_Pool":
        network = network_for(base, tuple(sorted((k, tuple(v)) for k, v in start.facts.items())))
        told = [network.finding_index[name] for name in base.complaints]
        every = tuple(
            c
            for c, brings in zip(network.causes, network.q[:, told].max(axis=1), strict=True)
            if c != UNKNOWN and brings > _BRINGS
        )
        first = tuple(c for c in every if zone is None or base.causes[c].zone == zone)
        return cls(network, first, every)

    def pick(self, among: Sequence[str], rng: Generator) -> str:
        """Pick one by how often it is there."""
        prior = np.array([self.network.prior[self.network.cause_index[c]] for c in among])
        return among[int(rng.choice(len(among), p=prior / prior.sum()))]


def _tried(
    base: KnowledgeBase, start: Case, pool: _Pool, rng: Generator, difficulty: Difficulty
) -> Exercise | None:
    """Draw a vehicle once; None if it makes no such exercise."""
    causes = [pool.pick(pool.first, rng)]
    if difficulty == "two":
        others = [c for c in pool.every if c not in causes]
        if not others:
            return None
        causes.append(pool.pick(others, rng))
    drawn = draw(base, start, rng, causes=causes)
    if drawn.needed != set(causes) or not drawn.mendable:
        return None
    exercise = Exercise(
        difficulty=difficulty,
        setup=start.setup,
        words=_words(base, drawn.told, rng),
        complaints=drawn.told,
        causes=tuple(causes),
        signs=tuple(n for n in drawn.network.findings if n in drawn.there - set(drawn.told)),
        seed=drawn.seed,
    )
    if faults_in(base, exercise):
        return None
    return _misled(base, exercise, rng) if difficulty == "decoy" else exercise


def _words(base: KnowledgeBase, told: Sequence[str], rng: Generator) -> str:
    """Say the complaints as a driver would."""
    said = []
    for name in told:
        record = base.complaints[name]
        words = record.words or (record.name,)
        said.append(words[int(rng.integers(len(words)))])
    return f"Since the new clutch: {'; '.join(said)}."


# -- decoys


class _Offer(NamedTuple):
    """A decoy, the exercise with it, and what makes it known."""

    exercise: Exercise
    entry: Entry


def _misled(base: KnowledgeBase, exercise: Exercise, rng: Generator) -> Exercise | None:
    """Add a decoy: after it a wrong cause is likelier than what is there; None if there is none."""
    comeback = comeback_of(base, exercise)
    offers = [*_signs(comeback, exercise), *_tales(comeback, exercise)]
    prior, index = comeback.network.prior, comeback.network.cause_index
    wrong = [offer.exercise.decoy.cause if offer.exercise.decoy else "" for offer in offers]
    weights = np.array([prior[index[c]] for c in wrong])
    if not len(weights):
        return None
    number = min(_DECOYS, len(offers))
    order = rng.choice(len(offers), number, replace=False, p=weights / weights.sum())
    before = assess(base, comeback.case)
    for i in map(int, order):
        after = assess(base, comeback.case.with_entry(offers[i].entry))
        raised = after.cause(wrong[i]).p / max(before.cause(wrong[i]).p, 1e-12)
        leads = after.cause(wrong[i]).p > max(after.cause(c).p for c in exercise.causes)
        if raised >= _RAISES and leads and not faults_in(base, offers[i].exercise):
            return offers[i].exercise
    return None


def _suspects(comeback: Comeback, exercise: Exercise) -> Iterator[str]:
    """Causes that are not there, bring what is told, and have a look that would clear them."""
    network = comeback.network
    told = [network.finding_index[name] for name in exercise.complaints]
    for i, cause in enumerate(network.causes):
        if cause != UNKNOWN and cause not in exercise.causes:
            looks = proofs_of(network).get(cause, ())
            clears = any(proof.finding not in comeback.there for proof in looks)
            if clears and float(network.q[i, told].max()) > _BRINGS:
                yield cause


def _signs(comeback: Comeback, exercise: Exercise) -> Iterator[_Offer]:
    """Findings that point to a suspect without proving it, and that nothing wrong brings."""
    network, base = comeback.network, comeback.network.base
    mine = [network.cause_index[c] for c in exercise.causes]
    proving = {p.finding for proofs in proofs_of(network).values() for p in proofs}
    for check in base.checks.values():
        sign = check.finding
        if sign is None or sign in comeback.there or sign in proving or base.findings[sign].stop:
            continue
        f = network.finding_index[sign]
        foreign = float(network.q[mine, f].max()) <= _FOREIGN and network.leak[f] >= _BY_CHANCE
        if not foreign or share_that_fits(base, comeback.start.facts, check.when) <= 0.0:
            continue
        for cause in _suspects(comeback, exercise):
            if float(network.q[network.cause_index[cause], f]) >= _POINTS:
                misled = exercise.model_copy(
                    update={
                        "signs": (*(exercise.signs or ()), sign),
                        "decoy": Decoy(cause=cause, sign=sign),
                    }
                )
                entry = comeback_of(base, misled).answer(check.id)
                if sign in shown(check, entry):
                    yield _Offer(misled, entry)


def _tales(comeback: Comeback, exercise: Exercise) -> Iterator[_Offer]:
    """Work at the job that makes a suspect likelier, and nothing that is there."""
    base = comeback.network.base
    suspects = frozenset(_suspects(comeback, exercise))
    for work in base.work.values():
        if share_that_fits(base, comeback.start.facts, work.when) <= 0.0:
            continue
        for answer in work.answers:
            odds = {c: base.scale.change[word] for c, word in answer.changes.items()}
            if any(odds.get(c, 1.0) != 1.0 for c in exercise.causes):
                continue
            for cause in (c for c, factor in odds.items() if factor > 1.0 and c in suspects):
                entry = Entry(work=work.id, answer=answer.id)
                misled = exercise.model_copy(
                    update={
                        "entries": (*exercise.entries, entry),
                        "decoy": Decoy(cause=cause, work=work.id),
                    }
                )
                yield _Offer(misled, entry)
