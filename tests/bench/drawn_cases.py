"""Comebacks drawn from the base, diagnosed, and held against what is true of them."""

from collections.abc import Iterator
from dataclasses import replace
from math import hypot, inf, log
from typing import NamedTuple

import numpy as np

from diagnose.assess import assess
from diagnose.case import Case
from diagnose.gauge import plausible_range, read_gauge
from diagnose.network import UNKNOWN
from diagnose.outlook import Outlook
from diagnose.physics.likelihood import log_likelihoods
from diagnose.physics.normal import cdf
from diagnose.physics.predict import Predictions
from diagnose.readings import instrument_uncertainty
from diagnose.simulate import draw
from knowledge.model import Strength
from knowledge.tree import share_that_fits

CHECKS = (4, 12)  # answers of each comeback
READINGS = (1, 5)  # of every second one
ASKED = 10  # complaints
OPENED = 4  # every fourth is taken apart
KINDS = {"two": "times or divided by 2", "normal": "log-normal, sd ln 2"}


class Judged(NamedTuple):
    """One comeback: what is true, and chances of all causes by several ways.

    `p` by all answers, `early` by the complaints alone, `before` by the rates alone, `naive` by
    naive Bayes. `rank` is where the true set of causes stands among all sets, 0 the most probable
    and 1 the least; `shown` are places of its readings in the laws of its true causes, by kind of
    law; `foreseen` the place of the last reading in what the answers before it led to expect.
    """

    true: np.ndarray
    p: np.ndarray
    early: np.ndarray
    before: np.ndarray
    naive: np.ndarray
    rank: float
    shown: list[tuple[str, float]]
    foreseen: float | None
    measured: bool
    softened: bool
    by_bands: bool


def judged(base, setup, rng, number, way) -> Judged:
    """Draw a comeback and judge what is said of it."""
    drawn, early, case = comeback(base, setup, rng, number, way)
    found = assess(base, case)
    prior = found.network.prior
    return Judged(
        np.array([name in drawn.causes for name in found.network.causes]),
        found.marginals.cause,
        assess(base, early, sets=1).marginals.cause,
        prior / (1.0 - np.prod(1.0 - prior)),
        naive(found),
        rank_of(found, drawn.causes, rng),
        list(shown(found, drawn.causes, rng)),
        foreseen(base, case, rng),
        bool(found.situation.measured.taken),
        found.softened,
        found.by_bands,
    )


def comeback(base, setup, rng, number, way):
    """Draw a comeback, and its case with the complaints alone and with checks at random."""
    start = Case().with_facts(setup.facts, setup=setup.id)
    drawn = draw(base, start, rng)
    early = drawn.case
    if way == "asked":
        # What is asked is picked whatever is there, and only the answers say whether it is kept.
        picked = picked_at_random(base.complaints, ASKED, rng)
        while not drawn.there.intersection(picked):
            drawn = draw(base, start, rng)
            picked = picked_at_random(base.complaints, ASKED, rng)
        early = start
        for complaint in picked:
            early = early.with_entry(drawn.ask(complaint))
    drivable = {level.id for level in base.levels.values() if level.drivable}
    opened = number // 2 % OPENED == 0
    fitting = [
        check
        for check in base.checks.values()
        if (opened or check.from_ in drivable)
        and share_that_fits(base, setup.facts, check.when) > 0.0
    ]
    chosen = picked_at_random([c.id for c in fitting if not c.gauge], number_in(CHECKS, rng), rng)
    if number % 2:
        gauges = [c.id for c in fitting if c.gauge]
        chosen += picked_at_random(gauges, number_in(READINGS, rng), rng)
    case = early
    for check in chosen:
        case = case.with_entry(drawn.answer(check))
    return drawn, early, case


def picked_at_random(names, number, rng) -> list[str]:
    names = list(names)
    return rng.choice(names, min(number, len(names)), replace=False).tolist()


def number_in(ends, rng) -> int:
    return int(rng.integers(*ends, endpoint=True))


# -- what goes with a chance


def naive(found) -> np.ndarray:
    """Posterior of naive Bayes: one cause alone, all answers and readings independent."""
    network, situation = found.network, found.situation
    log_p = np.log(network.prior / network.prior.sum())
    effects = situation.measured.effects
    unknown = np.array([name == UNKNOWN for name in network.causes])
    astray = astray_share(network.base, unknown)
    numbers, which = np.unique(effects.of_cause, return_inverse=True)
    with np.errstate(divide="ignore"):
        for name, seen in situation.observed.items():
            f = network.finding_index[name]
            on = 1.0 - (1.0 - network.leak[f]) * (1.0 - network.q[:, f])
            log_p += np.log(on if seen.ratio == inf else on * seen.ratio + (1.0 - on))
    for reading in situation.measured.readings:
        axis = reading.observable
        laws = [effects.laws(axis, (n,) if n else ()) for n in numbers.tolist()]
        weight, mean, deviation = np.array([law for several in laws for law in several]).T
        predictions = Predictions((axis,), mean[:, None], deviation[:, None, None] ** 2)
        each = weight * np.exp(log_likelihoods(predictions, [reading]))
        starts = np.cumsum([0, *(len(several) for several in laws[:-1])])
        likely = np.add.reduceat(each, starts)[which]
        log_p += np.log((1.0 - astray) * likely + astray * reading.flat)
    p = np.exp(log_p - log_p.max())
    return p / p.sum()


def astray_share(base, unknown):
    """Share of readings that are slips, or riddles where the unknown is there."""
    return base.scale.mistyped + (1.0 - base.scale.mistyped) * unknown * base.scale.unknown.moves


def rank_of(found, causes, rng) -> float:
    """Share of the belief that is in more probable sets than the true one; drawn where it ties."""
    true = frozenset(found.network.cause_index[name] for name in causes)
    chances = {s.causes: s.p for s in found.found.sets}
    if true not in chances:
        return rng.uniform(found.found.covered, 1.0)
    mine = chances[true]
    above = sum(p for p in chances.values() if p > mine * (1.0 + 1e-9))
    tied = sum(p for p in chances.values() if abs(p - mine) <= mine * 1e-9)
    return above + rng.random() * tied


def readings_of(base, case) -> list:
    """Entries with a reading, each with its check and what it measures."""
    read = [(entry, base.checks[entry.check]) for entry in case.entries if entry.reading]
    return [(entry, check, base.measurements[check.gauge]) for entry, check in read]


def shown(found, causes, rng) -> Iterator[tuple[str, float]]:
    """Place of each reading in the law of the true causes, slips and riddles with it."""
    network, effects = found.network, found.situation.measured.effects
    numbers = effects.effects_of(network.cause_index[name] for name in causes)
    astray = astray_share(network.base, UNKNOWN in causes)
    for entry, _, measurement in readings_of(network.base, found.case):
        axis = effects.axis_of(measurement)
        least, most = plausible_range(measurement)
        span = read_gauge(measurement, entry.reading)[0]
        own = instrument_uncertainty(measurement, None)
        place = astray * min(max((span.high - least) / (most - least), 0.0), 1.0)
        for weight, mean, deviation in effects.laws(axis, numbers):
            below = float(cdf((span.high - mean) / hypot(deviation, own)))
            place += (1.0 - astray) * weight * below
        if span.low < span.high or span.low <= least:
            place *= rng.random()
        elif span.high >= most:
            place += (1.0 - place) * rng.random()
        yield "release system" if axis in effects.chain else "standing alone", place


def foreseen(base, case, rng) -> float | None:
    """Place of the last reading in what was to be expected before it was taken, band by band."""
    taken = readings_of(base, case)
    if not taken:
        return None
    entry, check, measurement = taken[-1]
    before = assess(base, case.without(entry.subject), sets=100)
    outlook = Outlook(before.situation.measured, [s.causes for s in before.found.sets])
    weight = np.array([s.p for s in before.found.sets])
    bands = [float(weight @ row) / weight.sum() for row in outlook.bands(check, measurement)]
    at = [answer.id for answer in check.answers].index(entry.answer)
    return sum(bands[:at]) + rng.random() * bands[at]


# -- wrong words


class Fallen(NamedTuple):
    """One comeback by the base as it is, then by each wrong one.

    Whether the top cause of each is there, and its chance by the base as it is.
    """

    hits: np.ndarray
    chances: np.ndarray


def fallen(base, others, setup, rng, number) -> Fallen:
    """Draw a comeback from the base as it is, and diagnose it by several."""
    drawn, _, case = comeback(base, setup, rng, number, "asked")
    right = assess(base, case, sets=1)
    by_all = [right, *(assess(other, case, sets=1) for other in others)]
    top = [int(a.marginals.cause.argmax()) for a in by_all]
    hits = [right.network.causes[i] in drawn.causes for i in top]
    return Fallen(np.array(hits, dtype=float), right.marginals.cause[top])


def jittered(base, kind, seed):
    """Multiply the odds of every strength, rate and leak by a factor of its own."""
    rng = np.random.default_rng(seed)

    def factor() -> float:
        return 2.0 ** rng.choice((-1, 1)) if kind == "two" else np.exp(log(2.0) * rng.normal())

    def other(strength, p):
        odds = factor() * p
        return Strength(p=float(odds / (1.0 - p + odds)), when=strength.when, source="judgement")

    def links(record):
        return {
            key: {k: other(s, base.strength(s)) for k, s in getattr(record, key).items()}
            for key in ("brings", "shows")
        }

    def rates(cause):
        rate, *where = (other(r, base.rate(r)) for r in (cause.rate, *cause.rate_where))
        return {"rate": rate, "rate_where": tuple(where)}

    def seen(records):
        leaks = {o.id: other(o.unexplained, base.strength(o.unexplained)) for o in records.values()}
        return {k: o.model_copy(update={"unexplained": leaks[k]}) for k, o in records.items()}

    causes = {c.id: c.model_copy(update={**links(c), **rates(c)}) for c in base.causes.values()}
    mechanisms = {m.id: m.model_copy(update=links(m)) for m in base.mechanisms.values()}
    return replace(
        base,
        causes=causes,
        mechanisms=mechanisms,
        complaints=seen(base.complaints),
        findings=seen(base.findings),
    )
