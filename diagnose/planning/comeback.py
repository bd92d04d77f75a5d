"""A comeback as a planning problem: its belief, and all that can be done from where it stands."""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from diagnose.access import Access, access_for
from diagnose.assess import Assessment
from diagnose.case import Case
from diagnose.mending import cures_of
from diagnose.network import UNKNOWN
from diagnose.outlook import Outlook
from diagnose.planning.problem import Problem, Repair, State, Test
from diagnose.planning.rows import Rows, rows_of
from diagnose.proofs import Proof, proofs_of
from diagnose.readings import reading_key
from diagnose.stops import against, stops_that_hold
from diagnose.tables import Floats
from knowledge.model import Check
from knowledge.tree import share_that_fits

_NOTICEABLE = 0.002  # tests whose answers differ less from row to row tell nothing
_LOOKS = 2  # so many looks for each cause: what one misses the next may see
_MENDED = 5e-4  # causes less likely than this have no repair of their own


@dataclass(frozen=True, eq=False)
class Planned:
    """A comeback's planning problem, where it stands, and what stands behind it.

    Attributes
    ----------
    problem : Problem
    state : State
    rows : Rows
    causes : tuple of str
        Axis C of the problem, by id.
    """

    problem: Problem
    state: State
    rows: Rows
    causes: tuple[str, ...]


def planned(assessment: Assessment) -> Planned:
    """Give the planning problem of an assessment.

    Parameters
    ----------
    assessment : Assessment

    Returns
    -------
    Planned
    """
    network, case = assessment.network, assessment.case
    base = network.base
    access = access_for(base, case)
    here = access.index(case.stands)
    rows = rows_of(assessment)
    tests = tuple(_tests(assessment, access, rows))
    repairs, mends = _repairs(assessment, access, rows)
    proofs, sees = _proofs(assessment, access, here, tests)
    drive = base.scale.drive_minutes / 60.0
    pending = {case.entries[entry].repair for entry, _ in assessment.situation.pending}
    problem = Problem(
        access=access,
        needs=rows.needs,
        tests=tests,
        repairs=repairs,
        proofs=proofs,
        sees=sees,
        mends=mends,
        drive=drive,
        hand_over=_handed_over(base.scale.hand_over, access, rows, repairs, mends, drive),
        rest=rows.rest,
    )
    state = State(
        rows.weights,
        here,
        np.ones(len(tests), dtype=bool),
        np.array([repair.key[1] not in pending for repair in repairs], dtype=bool),
        bool(assessment.situation.pending),
    )
    return Planned(problem, state, rows, network.causes)


def _tests(assessment: Assessment, access: Access, rows: Rows) -> Iterator[Test]:
    """Questions and checks that can be done, and safely, and would tell something."""
    base, case = assessment.network.base, assessment.case
    situation = assessment.situation
    outlook = Outlook(situation.measured, rows.sets)
    used = frozenset(situation.keys) - situation.stale
    latest = {entry.subject: i for i, entry in enumerate(case.entries)}
    held = stops_that_hold(assessment.network, case)
    for complaint in base.complaints.values():
        if ("complaint", complaint.id) not in latest:
            likelihood = np.array(outlook.yes_or_no(complaint.id, rows.on))
            if _tells(likelihood, rows.weights):
                hours = base.scale.ask_minutes / 60.0
                reads = frozenset({complaint.id})
                yield Test(
                    ("ask", complaint.id), access.index(case.stands), hours, likelihood, reads
                )
    for check in base.checks.values():
        if not _can_be_done(assessment, check, latest.get(("check", check.id))):
            continue
        if against(base, held, "check", check.id):
            continue
        reads = reads_of(outlook, check)
        if not reads <= used:
            likelihood = np.array(outlook.answers(check, rows.on))
            if _tells(likelihood, rows.weights):
                depth, hours = access.index(check.from_), check.minutes / 60.0
                yield Test(("check", check.id), depth, hours, likelihood, reads)


def reads_of(outlook: Outlook, check: Check) -> frozenset[str]:
    """Give what a check reads: its measurement where that is predicted, else its findings."""
    measurement = outlook.measurement(check)
    if measurement is not None:
        return frozenset({reading_key(measurement.id)})
    return frozenset(check.reads())


def _can_be_done(assessment: Assessment, check: Check, answered: int | None) -> bool:
    """Whether a check fits and was not done, or has gone stale since its answer, an entry."""
    case, base, stale = assessment.case, assessment.network.base, assessment.situation.stale
    if check.id in case.skipped or share_that_fits(base, case.facts, check.when) <= 0.0:
        return False
    if answered is None:
        return True
    # A look is worth repeating only after something was mended since.
    mended = any(entry.mends for entry in case.entries[answered + 1 :])
    key = reading_key(check.gauge) if check.gauge else ""
    return mended and bool(stale.intersection((*check.reads(), key)))


def _tells(likelihood: Floats, weights: Floats) -> bool:
    """Whether any answer's chance differs noticeably from row to row."""
    middle = likelihood @ weights
    return bool((np.abs(likelihood - middle[:, None]) @ weights > _NOTICEABLE).any())


def _repairs(
    assessment: Assessment, access: Access, rows: Rows
) -> tuple[tuple[Repair, ...], NDArray[np.intp]]:
    """The repairs of whatever is likely enough, and which of them mends each cause."""
    network, case = assessment.network, assessment.case
    base = network.base
    chance = rows.weights @ rows.needs
    mends = np.full(len(network.causes), -1, dtype=np.intp)
    repairs: list[Repair] = []
    for i in np.flatnonzero(chance > _MENDED).tolist():
        name = network.causes[i]
        if name == UNKNOWN:
            continue
        repair = base.causes[name].repair
        cures = np.zeros(len(network.causes))
        for other, p in cures_of(base, name).items():
            if other in network.cause_index:
                cures[network.cause_index[other]] = p
        worth = parts_in_hours(case, name)
        mends[i] = len(repairs)
        repairs.append(
            Repair(("repair", name), access.index(repair.from_), repair.hours + worth, cures)
        )
    return tuple(repairs), mends


def parts_in_hours(case: Case, cause: str) -> float:
    """Give what the parts of a repair are worth in hours of labour; 0 where a price is missing."""
    return case.parts.get(cause, 0.0) / case.labour if case.labour else 0.0


def _proofs(
    assessment: Assessment, access: Access, here: int, tests: tuple[Test, ...]
) -> tuple[NDArray[np.intp], Floats]:
    """For each cause the tests nearest at hand that would settle it, and how well they see it."""
    network = assessment.network
    number = {test.key[1]: i for i, test in enumerate(tests) if test.key[0] == "check"}
    used = frozenset(assessment.situation.observed) - assessment.situation.stale
    known = proofs_of(network)
    proofs = np.full((len(network.causes), _LOOKS), -1, dtype=np.intp)
    sees = np.zeros(proofs.shape)

    def near(proof: Proof) -> float:
        return access.move(here, proof.depth)[0] + proof.hours

    for i, cause in enumerate(network.causes):
        usable = [p for p in known.get(cause, ()) if p.check in number and p.finding not in used]
        taken: dict[str, Proof] = {}
        for proof in sorted(usable, key=near):
            taken.setdefault(proof.finding, proof)
        for place, proof in enumerate(list(taken.values())[:_LOOKS]):
            proofs[i, place] = number[proof.check]
            sees[i, place] = network.q[i, network.finding_index[proof.finding]]
    return proofs, sees


def _handed_over(
    hours: float,
    access: Access,
    rows: Rows,
    repairs: tuple[Repair, ...],
    mends: NDArray[np.intp],
    drive: float,
) -> Floats:
    """What is still to come when somebody else takes over: his search, and then the fix itself."""
    both = np.cumsum(np.array(access.down) + np.array(access.up))
    known = mends >= 0
    depth = np.array([repair.depth for repair in repairs] or [0])[mends] * known
    took = np.array([repair.hours for repair in repairs] or [0.0])[mends] * known
    deepest = np.max(rows.needs * depth, axis=1, initial=0)
    cost: Floats = hours + drive + both[deepest] + rows.needs @ took
    # Who takes over a vehicle that is well still searches before he drives it.
    return cost
