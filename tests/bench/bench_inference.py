"""How long inference, planning and loading take, beside pyAgrum in the same run.

    python tests/bench/bench_inference.py            every part; a table, then the same as JSON
    python tests/bench/bench_inference.py wide qmr   only some

Each part runs in a process of its own, so that its peak memory is its own. Times are medians of
warm runs. Where a reference library or a goal is known, it stands beside the figure.
"""

import json
import multiprocessing
import statistics
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from itertools import islice
from math import inf
from pathlib import Path
from typing import NamedTuple

import numpy as np

# What is measured is imported by each part, in its own process.
ROOT = Path(__file__).parents[2]
sys.path.insert(0, str(ROOT))

SEED = 20


class Row(NamedTuple):
    """One measured figure; `goal` is the most it should be."""

    part: str
    what: str
    value: float
    unit: str
    goal: float | None = None
    note: str = ""


def median_ms(act: Callable[[], object], *, times: int = 15, least: float = 0.2) -> float:
    """Median milliseconds of an act, after one run to warm up; fewer runs if it is slow."""
    act()
    taken: list[float] = []
    while len(taken) < times and (len(taken) < 3 or sum(taken) < least * times):
        start = time.perf_counter()
        act()
        taken.append(time.perf_counter() - start)
    return 1e3 * statistics.median(taken)


def certain(positive, negative) -> dict[int, float]:
    return dict.fromkeys(map(int, positive), inf) | dict.fromkeys(map(int, negative), 0.0)


def beside() -> Iterator[Row]:
    """60 causes, 120 findings, 12 negative; pyAgrum answers the same questions."""
    import pyagrum as gum

    from diagnose.noisy_or import Evidence, Modes, infer
    from tests.diagnose.oracles import agrum, random_nets

    gum.setNumberOfThreads(1)  # more make it slower on nets of this size
    draws = {
        "8+ 12-, 2 faults": (random_nets.evidence_of_faults, 8),
        "8+ 12-, random": (random_nets.random_evidence, 8),
        "12+ 12-, random": (random_nets.random_evidence, 12),
    }
    for kind, (draw, k) in draws.items():
        ours, theirs, gaps = [], [], []
        for seed in range(SEED, SEED + 5):
            rng = np.random.default_rng(seed)
            net = random_nets.random_net(rng)
            modes = Modes.independent(net.prior, net.q)
            positive, negative = draw(rng, net, k, 12)
            evidence = Evidence.of(certain(positive, negative))
            names = [f"c{i}" for i in range(len(net.prior))]
            told = {f"f{f}": 1 for f in positive} | {f"f{f}": 0 for f in negative}
            bn = agrum.noisy_or(net)
            found = infer(modes, net.leak, evidence).cause
            gaps.append(np.max(np.abs(found - agrum.posteriors(bn, told, names))))
            ours.append(median_ms(lambda m=modes, n=net, e=evidence: infer(m, n.leak, e)))
            theirs.append(
                median_ms(lambda b=bn, t=told, n=names: agrum.posteriors(b, t, n), times=3)
            )
        what = f"60 x 120, {kind}"
        goal = 5.0 if k == 8 else None
        yield Row("beside", what, statistics.median(ours), "ms", goal, spread(ours))
        name = f"{what}: pyAgrum {gum.__version__}, lazy propagation"
        yield Row("beside", name, statistics.median(theirs), "ms", None, spread(theirs))
        yield Row("beside", f"{what}: greatest difference", float(max(gaps)), "", 1e-12)


def spread(taken) -> str:
    return f"{len(taken)} nets: {min(taken):.1f} to {max(taken):.1f}"


def wide() -> Iterator[Row]:
    """The same kind of net with more and more positive findings."""
    from tests.diagnose.oracles import random_nets

    rng = np.random.default_rng(SEED)
    net = random_nets.random_net(rng)
    for k, goal in ((12, None), (16, 600.0), (18, 1500.0), (24, None), (28, None)):
        yield slowest(
            rng, net, (k, 12), Row("wide", f"60 x 120, {k}+ 12-, random", inf, "ms", goal)
        )


def qmr() -> Iterator[Row]:
    """570 causes, 4000 findings, 8 to 14 parents each, 100 negative: the size of QMR-DT."""
    from tests.diagnose.oracles import random_nets

    rng = np.random.default_rng(SEED)
    net = random_nets.random_net(rng, 570, 4000, (8, 14), (0.001, 0.02))
    for k, goal in ((12, None), (16, None), (20, 15_000.0), (30, None)):
        row = Row("qmr", f"570 x 4000, {k}+ 100-, random", inf, "ms", goal)
        yield slowest(rng, net, (k, 100), row)
    row = Row("qmr", "570 x 4000, 20+ 100-, 4 faults", inf, "ms", 15_000.0)
    yield slowest(rng, net, (20, 100, 4), row, draw=random_nets.evidence_of_faults)


def slowest(rng, net, numbers, row: Row, draw=None, draws: int = 5) -> Row:
    """Fill a row with the slowest of some draws of evidence, and how wide they were."""
    from diagnose.errors import TooWideError
    from diagnose.noisy_or import Evidence, Modes, infer
    from tests.diagnose.oracles import random_nets

    draw = draw or random_nets.random_evidence
    modes = Modes.independent(net.prior, net.q)
    taken, widths, too_wide = [], [], 0
    for _ in range(draws):
        evidence = Evidence.of(certain(*draw(rng, net, *numbers)))
        try:
            turns = infer(modes, net.leak, evidence).messages.turns
        except TooWideError:
            too_wide += 1
            continue
        widths.append(max(len(turn.places) for turn in turns))
        taken.append(median_ms(lambda e=evidence: infer(modes, net.leak, e), times=3))
    note = f"slowest of {draws}; {min(widths)} to {max(widths)} findings open at a time"
    if too_wide:
        note += f"; {too_wide} too wide"
    return row._replace(value=max(taken), note=note)


def stage(assessment, number: int) -> object:
    """Give the first, second or third answer of the advice."""
    from diagnose.planning.advice import advices

    *_, last = islice(advices(assessment), number)
    return last


def shipped() -> Iterator[Row]:
    """The knowledge that ships: loading, compiling, and one assessment with its advice."""
    from diagnose import explain as accounts
    from diagnose.assess import assess, network_for, run
    from diagnose.network import compile_network
    from knowledge.load import load_base

    base = load_base()
    facts = {"release": ("external_slave",), "discs": ("one",)}
    yield Row("shipped", "load the base", median_ms(load_base, times=5), "ms", 200.0)
    network = compile_network(base, facts)
    size = f"{len(network.causes)} causes, {len(network.findings)} findings"
    taken = median_ms(lambda: compile_network(base, facts))
    yield Row("shipped", "compile a network", taken, "ms", note=size)
    network_for.cache_clear()
    rng = np.random.default_rng(SEED)
    cases = [drawn_case(rng, network, facts, 8, 12)[0] for _ in range(9)]
    early = [assess(base, drawn_case(rng, network, facts, 1, 1)[0]) for _ in range(9)]
    found = [assess(base, case) for case in cases]

    def account(assessment) -> None:
        accounts._left_out.cache_clear()
        accounts.doubts(assessment)
        for chance in assessment.causes[:3]:
            accounts.explain(assessment, chance.id)

    acts: dict[str, tuple[Callable[[int], object], float | None]] = {
        "posterior": (lambda i: run(found[i].network, found[i].situation), 10.0),
        "posterior and sets of causes": (lambda i: assess(base, cases[i]), None),
        "advice at two answers, first": (lambda i: stage(early[i], 1), 150.0),
        "advice at two answers, followed further": (lambda i: stage(early[i], 2), 150.0),
        "advice, first answer": (lambda i: stage(found[i], 1), 150.0),
        "advice, followed further": (lambda i: stage(found[i], 2), 150.0),
        "advice, with how far from the best": (lambda i: stage(found[i], 3), None),
        "accounts of the first three causes, and doubts": (lambda i: account(found[i]), None),
    }
    for what, (act, goal) in acts.items():
        taken = [median_ms(lambda i=i, act=act: act(i), times=5) for i in range(len(cases))]
        note = f"9 drawn cases with 8+ 12-; slowest {max(taken):.1f} ms"
        yield Row("shipped", what, statistics.median(taken), "ms", goal, note)


def readings() -> Iterator[Row]:
    """The knowledge that ships, with six readings beside twenty answers, on two discs."""
    from diagnose.assess import assess, network_for, run
    from diagnose.evidence import read_case
    from knowledge.load import load_base

    base = load_base()
    setup = base.setups["twin_external"]
    network = network_for(base, tuple(sorted((k, tuple(v)) for k, v in setup.facts.items())))
    rng = np.random.default_rng(SEED)
    cases = [measured_case(rng, network, setup, 6) for _ in range(9)]
    first = time.perf_counter()
    assess(base, cases[0])
    first = 1e3 * (time.perf_counter() - first)
    yield Row("readings", "first assessment on a set-up, its predictions too", first, "ms")
    found = [assess(base, case) for case in cases]
    acts: dict[str, tuple[Callable[[int], object], float | None]] = {
        "posterior": (lambda i: run(found[i].network, found[i].situation), 10.0),
        "read the case": (lambda i: read_case(network, cases[i]), None),
        "posterior and sets of causes": (lambda i: assess(base, cases[i]), None),
        "advice, first answer": (lambda i: stage(found[i], 1), 150.0),
        "advice, followed further": (lambda i: stage(found[i], 2), 150.0),
    }
    for what, (act, goal) in acts.items():
        taken = [median_ms(lambda i=i, act=act: act(i), times=5) for i in range(len(cases))]
        note = f"9 drawn cases, 8+ 12- and 6 readings; slowest {max(taken):.1f} ms"
        yield Row("readings", what, statistics.median(taken), "ms", goal, note)
    tied = [a.marginals.messages.tied for a in found]
    sizes = [0 if t is None else len(t.rows) for t in tied]
    movers = [len(a.situation.measured.movers()) for a in found]
    note = f"{min(movers)} to {max(movers)} causes tied, {min(sizes)} to {max(sizes)} sets weighed"
    out = [1e3 * a.marginals.left_out for a in found]
    yield Row("readings", "left out, in 1000", statistics.median(out), "", 1.0, note)
    yield Row("readings", "left out, in 1000, the most of all", max(out), "", None)


def measured_case(rng, network, setup, count):
    """Draw two causes, answers, and readings as these causes make them."""
    from diagnose.case import Case, Entry
    from diagnose.effects import effects_for
    from diagnose.forecasts import spoken
    from diagnose.gauge import ReadingError, answer_for_reading
    from diagnose.readings import instrument_uncertainty
    from diagnose.system import system_of

    base = network.base
    case, present = drawn_case(rng, network, setup.facts, 8, 12)
    case = case.model_copy(update={"setup": setup.id})
    effects = effects_for(network, system_of(Case(setup=setup.id, facts=setup.facts)), {})
    checks = {c.gauge: c for c in base.checks.values() if c.gauge and _fits(c.when, setup.facts)}
    numbers = effects.effects_of(present)
    chain = rng.permutation([m for m in checks if base.measurements[m].model in effects.chain])
    law = effects.predict([numbers], [base.measurements[m].model for m in chain])
    drawn = dict(zip(chain, rng.multivariate_normal(law.mean[0], law.covariance[0]), strict=True))
    for name in rng.permutation([m for m in checks if m in effects.alone]):
        laws = effects.laws(name, numbers)
        chosen = laws[rng.choice(len(laws), p=[law.weight for law in laws])]
        drawn[name] = rng.normal(chosen.mean, chosen.deviation)
    entries = list(case.entries)
    for name, value in drawn.items():
        measurement, check = base.measurements[name], checks[name]
        read = value + rng.normal(0.0, instrument_uncertainty(measurement, None))
        text = spoken(read, measurement.unit)
        try:
            answer = answer_for_reading(base, check, text).id
        except ReadingError:  # outside what is plausible: nobody reads that
            continue
        entries.append(Entry(check=check.id, answer=answer, reading=text))
        if len(entries) == len(case.entries) + count:
            break
    return case.model_copy(update={"entries": tuple(entries)})


def _fits(when, facts) -> bool:
    return all(set(facts.get(name, ())) <= set(values) for name, values in when.items())


def drawn_case(rng, network, facts, positives, negatives):
    """Draw two causes and what they bring, and answer checks until so many are there and not."""
    from diagnose.case import Case, Entry
    from diagnose.evidence import likelihood_ratios

    base = network.base
    while True:
        present = rng.choice(len(network.causes) - 1, size=2, replace=False, p=_share(network))
        chance = 1.0 - (1.0 - network.leak) * np.prod(1.0 - network.q[present], axis=0)
        on = dict(zip(network.findings, rng.random(len(chance)) < chance, strict=True))
        subjects = [("complaint", name) for name in base.complaints]
        subjects += [("check", name) for name, check in base.checks.items() if not check.gauge]
        entries = []
        seen: dict[str, float] = {}
        for i in rng.permutation(len(subjects)):
            answer = _answer(base, subjects[i], on)
            if answer is None:
                continue
            entry = Entry(**dict([subjects[i]]), answer=answer)
            ratios = {**seen, **likelihood_ratios(base, entry)}
            there = sum(r > 1.0 for r in ratios.values())
            if there <= positives and len(ratios) - there <= negatives and len(ratios) > len(seen):
                entries.append(entry)
                seen = ratios
        if len(seen) == positives + negatives:
            return Case(facts=facts, entries=tuple(entries)), present


def _share(network) -> np.ndarray:
    return network.prior[:-1] / network.prior[:-1].sum()


def _answer(base, subject, on) -> str | None:
    """What somebody would answer who sees everything that is there."""
    kind, name = subject
    finding = name if kind == "complaint" else base.checks[name].finding
    if finding is not None:
        return "yes" if on[finding] else "no"
    for answer in base.checks[name].answers:
        if all(on[f] == (reading in {"yes", "probably"}) for f, reading in answer.shows.items()):
            return answer.id
    return None


def starting() -> Iterator[Row]:
    """What importing the engine adds to a bare interpreter."""
    modules = (
        "import diagnose.assess, diagnose.planning.advice, diagnose.explain, diagnose.case_file"
    )

    def start(program: str) -> float:
        command = [sys.executable, "-c", program]
        return median_ms(lambda: subprocess.run(command, cwd=ROOT, check=True), times=5)

    bare = start("pass")
    yield Row("starting", "import the engine", start(modules) - bare, "ms", note=f"bare {bare:.0f}")
    yield Row("starting", "of that numpy", start("import numpy") - bare, "ms")
    yield Row("starting", "of that pydantic", start("import pydantic") - bare, "ms")


PARTS = {part.__name__: part for part in (beside, wide, qmr, shipped, readings, starting)}


def measured(name: str) -> list[Row]:
    """Run one part; its peak memory is the last row."""
    rows = list(PARTS[name]())
    try:
        import resource
    except ImportError:  # not on Windows
        return rows
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    return [*rows, Row(name, "peak memory", peak, "MB", 2048.0 if name == "qmr" else None)]


def main(names: list[str]) -> int:
    unknown = sorted(set(names) - PARTS.keys())
    if unknown:
        print(f"no part {', '.join(unknown)}: there are {', '.join(PARTS)}", file=sys.stderr)
        return 2
    rows: list[Row] = []
    context = multiprocessing.get_context("spawn")
    for name in names or PARTS:
        with context.Pool(1) as pool:
            rows += pool.apply(measured, (name,))
    for row in rows:
        value = f"{row.value:.3g}" if row.value < 100 else f"{row.value:.0f}"
        goal = (
            ""
            if row.goal is None
            else f"{'met' if row.value <= row.goal else 'MISSED'} {row.goal:g}"
        )
        print(f"{row.what:58} {value:>9} {row.unit:3} {goal:12} {row.note}")
    print(json.dumps([row._asdict() for row in rows]))
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
