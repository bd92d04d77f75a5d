"""Hints in three steps: where to look, which kind of check, the step itself.

All three are worked out from the advice and the causes at that point, and only of what is known:
no hint gives away what is hidden.
"""

from dataclasses import dataclass
from typing import NamedTuple

from diagnose.advice_words import step_words
from diagnose.network import UNKNOWN
from diagnose.planning.record import Option
from diagnose.practice.appraisal import Appraisal
from diagnose.practice.run import HINT_STEPS
from diagnose.sentences import advice_reason, counts, hours
from knowledge.model import Check

_HALF = 0.5  # a sign that a cause shows more often than not


@dataclass(frozen=True)
class Hint:
    """One step of a hint; step 1 says least."""

    step: int
    text: str


def hint(appraisal: Appraisal, step: int) -> Hint:
    """Give one step of the hint for where an exercise stands.

    Parameters
    ----------
    appraisal : Appraisal
    step : int
        1, 2 or 3.

    Returns
    -------
    Hint

    Raises
    ------
    ValueError
        If there is no such step.
    """
    if not 1 <= step <= HINT_STEPS:
        message = f"a hint has steps 1 to {HINT_STEPS}"
        raise ValueError(message)
    return Hint(step, (_where, _which_kind, _what)[step - 1](appraisal))


def _where(appraisal: Appraisal) -> str:
    """Say where the next step is done, and which zone leads."""
    best = appraisal.best
    zone = _leading_zone(appraisal)
    leads = f" “{zone.name}” leads now ({counts(zone.p)})." if zone else ""
    if best.kind == "ask":
        return f"The driver can still tell you something.{leads}"
    if best.kind == "drive":
        return f"Enough is done here: think of how you will know that it is cured.{leads}"
    if best.kind == "hand_over":
        return f"Think of what further work would cost, and whether it would find anything.{leads}"
    level = appraisal.shop.base.levels[best.level].name
    return f"The next step is done {level}.{leads}"


class _Zone(NamedTuple):
    name: str
    p: float


def _leading_zone(appraisal: Appraisal) -> _Zone | None:
    """The zone where something is most likely wrong, by chances summed up; None if none."""
    base = appraisal.shop.base
    share: dict[str, float] = {}
    for chance in appraisal.assessment.causes:
        if chance.id != UNKNOWN:
            zone = base.causes[chance.id].zone
            share[zone] = 1.0 - (1.0 - share.get(zone, 0.0)) * (1.0 - chance.p)
    if not share:
        return None
    zone = max(share, key=lambda z: share[z])
    return _Zone(base.zones[zone].name, share[zone])


def _which_kind(appraisal: Appraisal) -> str:
    """Say what kind of step it is, and what it is for."""
    best = appraisal.best
    if best.kind == "ask":
        return "Ask about something else that he may have noticed."
    if best.kind == "repair":
        chance = appraisal.assessment.cause(best.id)
        return f"One cause is likely enough ({counts(chance.p)}) that looking on costs more."
    if best.kind == "drive":
        return "What was mended shows only with the vehicle whole and moving."
    if best.kind == "hand_over":
        return "Somebody else would now be cheaper than going on."
    check = appraisal.shop.base.checks[best.id]
    suspects = _suspects(appraisal, best, check)
    aim = f" It is about {' and '.join(f'“{name}”' for name in suspects)}." if suspects else ""
    return f"{_kind_of(appraisal, check)}, about {hours(check.minutes / 60.0)}.{aim}"


def _kind_of(appraisal: Appraisal, check: Check) -> str:
    base = appraisal.shop.base
    if check.gauge:
        instruments = base.measurements[check.gauge].instruments
        return f"A reading, with: {next(iter(instruments.values())).name}"
    helper = " with a helper" if check.helper else ""
    if check.finding is not None:
        return f"A look at one sign, there or not{helper}"
    return f"A test with {len(check.answers)} possible answers{helper}"


def _suspects(appraisal: Appraisal, best: Option, check: Check) -> list[str]:
    """The two likeliest causes that the check speaks about."""
    network = appraisal.assessment.network
    columns = [network.finding_index[f] for f in check.reads()]
    rows = network.q[:, columns].max(axis=1)
    speaks = {c for c, shows in zip(network.causes, rows, strict=True) if shows >= _HALF}
    listed = [c.name for c in appraisal.assessment.causes if c.id in speaks]
    return listed[:2] if best.kind == "check" else []


def _what(appraisal: Appraisal) -> str:
    """Say the step itself, and why."""
    words = step_words(appraisal.best.step)
    reason = _reason(appraisal)
    return f"{words[0].upper()}{words[1:]}. {reason}"


def _reason(appraisal: Appraisal) -> str:
    """Give the advice's reason; its own figure where the advice's step would be unsafe."""
    best, advised = appraisal.best, appraisal.advice.options
    if advised and advised[0] == best:
        return advice_reason(appraisal.assessment, appraisal.advice)
    return f"It takes {hours(best.hours)}; what would be quicker is not safe now."
