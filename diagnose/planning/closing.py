"""While it is open: what is worth a look before it closes, and what to see to then."""

from collections.abc import Iterator

import numpy as np

from diagnose.assess import Assessment
from diagnose.network import UNKNOWN
from diagnose.planning.comeback import Planned
from diagnose.planning.record import Closing, Glance, Step
from diagnose.proofs import proofs_of
from diagnose.tables import Floats

_LISTED = 8  # lines of the closing list, beyond those of what was mended
_POSSIBLE = 0.02  # causes less likely than this have no line of their own
_WORTH = 2.0 / 60.0  # hours that a look has to save to be listed
_FOUND = 0.97  # what is this sure needs no look any more


def glances(assessment: Assessment, plan: Planned) -> tuple[Glance, ...]:
    """List what is worth looking at while the gearbox is out, in the order to do it.

    A look is worth it if what it would find, as often as it is there and would bring the vehicle
    back, costs more to come back for than the look. Of two looks that see the same cause the
    better counts it. What lies behind a further level pays for opening that level together.

    Parameters
    ----------
    assessment : Assessment
    plan : Planned

    Returns
    -------
    tuple of Glance
        By level, and within a level what saves most for its time first.
    """
    access = plan.problem.access
    here = plan.state.here
    inside = next((d for d, whole in enumerate(access.drivable) if not whole), None)
    if inside is None:
        return ()
    found: list[Glance] = []
    for depth in range(inside, len(access.names)):
        listed = list(_at(assessment, plan, depth))
        opening = access.opening(max(here, inside))[depth]
        if listed and sum(glance.saves for glance in listed) > opening:
            found.extend(sorted(listed, key=lambda g: -g.saves / g.hours))
    return tuple(found)


def _at(assessment: Assessment, plan: Planned, depth: int) -> Iterator[Glance]:
    """The looks at one level that save more than they take."""
    network, access = assessment.network, plan.problem.access
    base = network.base
    back = sum(access.down[1 : depth + 1]) + sum(access.up[1 : depth + 1])
    open_checks = {t.key[1]: t for t in plan.problem.tests if t.key[0] == "check"}
    complaints = [network.finding_index[name] for name in base.complaints]
    brings = network.q[:, complaints].max(axis=1)
    present = _present(assessment, plan)
    best: dict[str, list[tuple[float, float]]] = {}
    for cause, proofs in proofs_of(network).items():
        i = network.cause_index[cause]
        p = float(present[i])
        if p > _FOUND:
            continue
        mine = [proof for proof in proofs if proof.depth == depth and proof.check in open_checks]
        seen = {proof: float(network.q[i, network.finding_index[proof.finding]]) for proof in mine}
        if seen:
            proof = max(seen, key=lambda pr: (seen[pr], -pr.hours))
            chance = p * seen[proof]
            best.setdefault(proof.check, []).append((chance, chance * float(brings[i]) * back))
    for check, parts in best.items():
        test = open_checks[check]
        chance = 1.0 - float(np.prod([1.0 - p for p, _ in parts]))
        saves = sum(s for _, s in parts) - test.hours
        if saves > _WORTH:
            record = base.checks[check]
            step = Step("check", check, record.name, record.from_)
            yield Glance(step, test.hours, chance, saves)


def _present(assessment: Assessment, plan: Planned) -> Floats:
    """Chance that each cause is there now, shape (C,): less what was mended and not driven yet."""
    if not plan.state.mended:
        return assessment.marginals.cause
    present = np.zeros(len(plan.causes))
    for p, causes in zip(plan.state.weights.tolist(), plan.rows.sets, strict=True):
        present[list(causes)] += p
    return present


def closing_list(assessment: Assessment) -> tuple[Closing, ...]:
    """List what to see to before it closes: for what was mended, then for what may be wrong inside.

    Parameters
    ----------
    assessment : Assessment

    Returns
    -------
    tuple of Closing
    """
    base, case = assessment.network.base, assessment.case
    mended = [entry.repair for entry in case.entries if entry.repair is not None]
    likely = [
        c.id
        for c in assessment.causes
        if c.id != UNKNOWN
        and c.p >= _POSSIBLE
        and not base.levels[base.causes[c.id].repair.from_].drivable
    ]
    lines: dict[str, Closing] = {}
    for cause in dict.fromkeys((*mended, *likely[:_LISTED])):
        text = base.causes[cause].before_closing if cause in base.causes else ""
        if text and text not in lines:
            lines[text] = Closing(cause, text)
    return tuple(lines.values())
