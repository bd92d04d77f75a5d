"""One exercise: what is wrong, what the driver says, and the numbers that every answer hangs on.

An exercise names the causes, the complaints that are told, and all other signs that are there, so
the same file is the same vehicle wherever it is opened. Written by hand, the signs may be left
out: they are then drawn by the links of the causes.
"""

from typing import Annotated, Literal, TypeAlias

import numpy as np
from numpy.random import default_rng
from pydantic import Field

from diagnose.assess import assess, network_for
from diagnose.case import Case, Entry, Line
from diagnose.errors import PullOnceError
from diagnose.network import Network
from diagnose.practice.shop import Shop, opened
from diagnose.proofs import proofs_of
from diagnose.simulate import Comeback, Manner, Origin, draw
from diagnose.stops import shown
from knowledge.model import Hours, Id, KnowledgeBase, Needs, Record
from knowledge.tree import share_that_fits

Difficulty: TypeAlias = Literal["single", "decoy", "two"]

MOST_SEED = 2**63 - 1
_TRIES = 300  # drawn vehicles among which one has the complaints that are told
_SELDOM = 1e-3  # a complaint that is brought less often than this is not brought
_FOUND = 0.5  # a cause likelier than this counts as found, as on the check-list


class ExerciseError(PullOnceError):
    """An exercise that can't be drawn, read, written or practised."""


class Decoy(Record):
    """What points to a wrong cause.

    Attributes
    ----------
    cause : str
        The cause it points to, which is not there.
    sign : str or None
        A finding that is there although nothing wrong brings it.
    work : str or None
        Work at the job that the driver tells of; its entry is among the exercise's.
    """

    cause: Id
    sign: Id | None = None
    work: Id | None = None


class Exercise(Record):
    """A hidden fault set with all that is true of the vehicle.

    Attributes
    ----------
    difficulty : str
        ``single``, ``decoy`` (one cause, and something that points elsewhere) or ``two``.
    zone : str or None
        The zone it was asked for, of the first cause.
    setup, facts, kit, hours, words, entries
        As of `diagnose.case.Case`; without facts those of the set-up hold. The entries are what
        the driver tells beside his complaints: work at the job.
    complaints : tuple of str
        What the driver complains of.
    causes : tuple of str
        What is wrong; all of it has to be put right.
    signs : tuple of str or None
        Findings, and complaints that are not told, that are there as well; None: drawn.
    seed : int
        What all answers and readings hang on.
    """

    title: Line = ""
    difficulty: Difficulty = "single"
    zone: Id | None = None
    setup: Id | None = None
    facts: Needs = Field(default_factory=dict)
    kit: dict[Id, Annotated[str, Field(min_length=1, max_length=40)]] = Field(default_factory=dict)
    hours: dict[Id, Hours] = Field(default_factory=dict)
    words: Line = ""
    complaints: Annotated[tuple[Id, ...], Field(min_length=1, max_length=10)]
    entries: Annotated[tuple[Entry, ...], Field(max_length=50)] = ()
    causes: Annotated[tuple[Id, ...], Field(min_length=1, max_length=4)]
    signs: Annotated[tuple[Id, ...], Field(max_length=1000)] | None = None
    decoy: Decoy | None = None
    seed: Annotated[int, Field(ge=0, le=MOST_SEED, strict=True)] = 1
    note: Line = ""


def start_case(base: KnowledgeBase, exercise: Exercise) -> Case:
    """Give the case before the driver has named his complaints.

    Parameters
    ----------
    base : KnowledgeBase
    exercise : Exercise

    Returns
    -------
    Case
    """
    setup = base.setups.get(exercise.setup or "")
    facts = exercise.facts or (setup.facts if setup else {})
    return Case(
        title=exercise.title,
        setup=exercise.setup,
        facts=dict(facts),
        kit=dict(exercise.kit),
        hours=dict(exercise.hours),
        words=exercise.words,
        entries=exercise.entries,
        knowledge=base.version[:40],
    )


def comeback_of(base: KnowledgeBase, exercise: Exercise) -> Comeback:
    """Give the vehicle of an exercise.

    Parameters
    ----------
    base : KnowledgeBase
    exercise : Exercise
        Of names that the base knows.

    Returns
    -------
    Comeback
        The same for the same exercise.

    Raises
    ------
    ExerciseError
        If the set-up does not allow a cause, or the causes do not bring a complaint.
    """
    start = start_case(base, exercise)
    network = network_for(base, tuple(sorted((k, tuple(v)) for k, v in start.facts.items())))
    _refuse_impossible(base, network, exercise)
    if exercise.signs is None:
        there = _drawn_signs(base, start, exercise)
    else:
        there = frozenset((*exercise.signs, *exercise.complaints))
    return vehicle(network, start, exercise, there)


def settled(base: KnowledgeBase, exercise: Exercise) -> Exercise:
    """Give an exercise with all its signs named, so that it stays the same when the base changes.

    What `comeback_of` refuses is refused here as well.
    """
    comeback = comeback_of(base, exercise)
    others = comeback.there.difference(exercise.complaints)
    signs = tuple(name for name in comeback.network.findings if name in others)
    return exercise.model_copy(update={"signs": signs})


def vehicle(network: Network, start: Case, exercise: Exercise, there: frozenset[str]) -> Comeback:
    """Give the comeback of an exercise's causes, complaints and seed with just these signs there.

    Parameters
    ----------
    network : Network
    start : Case
    exercise : Exercise
    there : frozenset of str

    Returns
    -------
    Comeback
    """
    causes = [network.cause_index[c] for c in exercise.causes]
    present = np.isin(np.arange(len(network.causes)), causes)
    mask = np.array([name in there for name in network.findings], dtype=bool)
    return Comeback(
        start=start,
        network=network,
        causes=frozenset(exercise.causes),
        there=there,
        told=exercise.complaints,
        seed=exercise.seed,
        manner=Manner(),
        origin=Origin(network, present, mask, exercise.seed),
    )


def _refuse_impossible(base: KnowledgeBase, network: Network, exercise: Exercise) -> None:
    for cause in exercise.causes:
        if cause not in network.cause_index:
            raise ExerciseError(
                f"This set-up has no “{base.causes[cause].name}”.",
                "Choose a cause that the set-up allows, or another set-up.",
            )
    causes = [network.cause_index[c] for c in exercise.causes]
    for complaint in exercise.complaints:
        f = network.finding_index[complaint]
        together = any(
            float(row[f]) > _SELDOM
            for group in network.groups
            for members, row in group.together.items()
            if members <= set(causes)
        )
        if not together and float(network.q[causes, f].max()) <= _SELDOM:
            raise ExerciseError(
                f"None of the causes brings the complaint “{base.complaints[complaint].name}”.",
                "Name a complaint that one of them brings.",
            )


def _drawn_signs(base: KnowledgeBase, start: Case, exercise: Exercise) -> frozenset[str]:
    """Draw what is there by the seed, so that the complaints that are told are among it."""
    rng = default_rng(exercise.seed)
    told = frozenset(exercise.complaints)
    for _ in range(_TRIES):
        drawn = draw(base, start, rng, causes=exercise.causes)
        if told <= drawn.there:
            decoy = exercise.decoy.sign if exercise.decoy else None
            return drawn.there | ({decoy} if decoy else set())
    raise ExerciseError(
        "These causes hardly ever bring all these complaints together.", "Name fewer complaints."
    )


def shop_of(base: KnowledgeBase, exercise: Exercise) -> Shop:
    """Give the shop as the vehicle of an exercise comes in.

    Raises
    ------
    ExerciseError
        As of `comeback_of`.
    """
    comeback = comeback_of(base, exercise)
    return opened(base, comeback, comeback.case)


def looks_that_find(comeback: Comeback, cause: str) -> tuple[str, ...]:
    """List the checks that prove a cause and would say so on this vehicle.

    Parameters
    ----------
    comeback : Comeback
    cause : str

    Returns
    -------
    tuple of str
        Nearest at hand first.
    """
    base, facts = comeback.network.base, comeback.start.facts
    found = []
    for proof in proofs_of(comeback.network).get(cause, ()):
        check = base.checks[proof.check]
        if share_that_fits(base, facts, check.when) > 0.0:
            entry = comeback.answer(check.id)
            # A gauge shows what the release system makes of it; all else, what is there.
            true = bool(entry.reading) or proof.finding in comeback.there
            if true and proof.finding in shown(check, entry):
                found.append(check.id)
    return tuple(dict.fromkeys(found))


def can_be_found(comeback: Comeback, cause: str) -> bool:
    """Tell whether who looks at everything comes to know of a cause.

    Some causes have no look that proves them: nobody sees air in the line. They are found by what
    all signs say together, put right, and proved by the drive.

    Parameters
    ----------
    comeback : Comeback
    cause : str

    Returns
    -------
    bool
        Whether a look finds it, or the answers of all checks make it likelier than not.
    """
    if looks_that_find(comeback, cause):
        return True
    base, case = comeback.network.base, comeback.case
    for check in base.checks.values():
        if share_that_fits(base, comeback.start.facts, check.when) > 0.0:
            case = case.with_entry(comeback.answer(check.id))
    return assess(base, case).cause(cause).p > _FOUND


def faults_in(base: KnowledgeBase, exercise: Exercise) -> tuple[str, ...]:
    """Say why an exercise can't be practised, a sentence each; nothing if it can.

    Every cause must be behind the complaints and be one that can be found, and once all are put
    right the complaints must be gone.

    Raises
    ------
    ExerciseError
        As of `comeback_of`.
    """
    comeback = comeback_of(base, exercise)
    said = []
    if not comeback.mendable:
        said.append("Some of the complaints stay when all the causes are put right.")
    for cause in exercise.causes:
        name = base.causes[cause].name
        if cause not in comeback.needed:
            said.append(f"The complaints go away without putting right “{name}”.")
        if not can_be_found(comeback, cause):
            said.append(f"No check shows “{name}” on this vehicle, nor do all of them together.")
    return tuple(said)
