"""Hours to the verified fix by this program's advice and by other ways, on the shipped knowledge.

    bench_planner.py                             40 comebacks for each set-up
    bench_planner.py --comebacks 10              fewer; the figures then scatter more
    bench_planner.py --resume F.json             go on with a run, or show it
    bench_planner.py --again ours --resume F.json   play one policy again, keep the others
    bench_planner.py --tune                      the rivals with other thresholds, on other seeds

Comebacks are drawn from the base (`diagnose.simulate`), such as have something known to be put
right, and every policy plays the same ones with
the same luck (`tests.bench.comeback_shop`, `tests.bench.rivals`), so differences are paired. Prints
Markdown tables. With --save or --resume every result is written as it comes, one JSON object a
line, so that a run that was broken off loses nothing.

References
----------
Common random numbers for comparing policies: Law (2015), Simulation modeling and analysis, chapter
on variance reduction. The aims: engine notes, sections 3 and 11.
"""

import argparse
import json
import multiprocessing
import os
import sys
import time
from collections import OrderedDict
from collections.abc import Callable, Iterable, Iterator
from functools import partial
from math import sqrt
from pathlib import Path
from typing import NamedTuple

os.environ["OMP_NUM_THREADS"] = "1"  # before numpy is imported
os.environ["OPENBLAS_NUM_THREADS"] = "1"
sys.path.insert(0, str(Path(__file__).parents[2]))

import numpy as np

from diagnose.assess import assess
from diagnose.case import Case
from diagnose.simulate import draw
from knowledge.load import load_base
from tests.bench.comeback_shop import Outcome, Shop, play
from tests.bench.rivals import POLICIES, VARIANTS

SEED, TUNING_SEED = 31, 77
KEPT = 300  # assessments that a process keeps; policies share the first ones of a comeback
OURS = "ours"


class Task(NamedTuple):
    """One comeback, and the policies that play it."""

    seed: int
    setup: str
    number: int
    policies: tuple[str, ...]
    strict: bool


class Played(NamedTuple):
    """What one policy made of one comeback, and the seconds it took to choose."""

    setup: str
    number: int
    policy: str
    seconds: float
    outcome: Outcome

    @property
    def comeback(self) -> tuple[str, int]:
        return self.setup, self.number


# -- playing; one of these in each process


class Player:
    """Plays comebacks; what was worked out for the same answers is not worked out again."""

    def __init__(self) -> None:
        self.base = load_base()
        self.assessed: OrderedDict = OrderedDict()
        self.chosen: dict = {}

    def played(self, task: Task) -> list[Played]:
        setup = self.base.setups[task.setup]
        start = Case().with_facts(setup.facts, setup=setup.id)
        stream = [task.seed, list(self.base.setups).index(setup.id), task.number]
        rng = np.random.default_rng(stream)
        comeback = draw(self.base, start, rng)
        # Where nothing known has to be put right there is no fix to get to.
        while not comeback.needed:
            comeback = draw(self.base, start, rng)
        found = []
        for policy in task.policies:
            before = time.perf_counter()
            shop = Shop(self.base, comeback, comeback.case, strict=task.strict)
            outcome = play(shop, partial(self.choose, policy))
            seconds = time.perf_counter() - before
            found.append(Played(task.setup, task.number, policy, seconds, outcome))
        return found

    def choose(self, policy: str, shop: Shop):
        """The policy's act; policies have no memory, so the same answers give the same act."""
        told, view = evidence_of(shop.case), shop.view()
        key = policy, told, view.failed
        if key not in self.chosen:
            self.chosen[key] = policy_named(policy)(self.assessment(shop.case, told), view)
        return self.chosen[key]

    def assessment(self, case: Case, told):
        if told not in self.assessed:
            self.assessed[told] = assess(self.base, case)
            if len(self.assessed) > KEPT:
                self.assessed.popitem(last=False)
        self.assessed.move_to_end(told)
        return self.assessed[told]


def evidence_of(case: Case) -> tuple:
    """All of a case that a choice hangs on."""
    entries = ((e.subject, e.answer, e.reading, e.stage) for e in case.entries)
    return case.setup, case.stands, tuple(entries)


def policy_named(name: str) -> Callable:
    """A policy, or one with other thresholds: "checklist {'sure': 0.9}"."""
    return POLICIES[name] if name in POLICIES else VARIANTS[name]


_PLAYERS: list[Player] = []


def done(task: Task) -> list[Played]:
    """Play a task in this process."""
    if not _PLAYERS:
        _PLAYERS.append(Player())
    return _PLAYERS[0].played(task)


def results(tasks: list[Task], processes: int) -> Iterator[list[Played]]:
    if processes < 2:
        yield from map(done, tasks)
        return
    with multiprocessing.get_context("spawn").Pool(processes) as pool:
        yield from pool.imap_unordered(done, tasks)


# -- results on disk


class Runs:
    """Results so far, in memory and, where there is a file, one JSON object a line."""

    def __init__(self, path: Path | None, about: dict) -> None:
        self.path, self.found = path, {}
        if path is None:
            return
        lines = path.read_text(encoding="utf-8").splitlines() if path.exists() else []
        if not lines:
            path.write_text(json.dumps(about) + "\n", encoding="utf-8")
        elif json.loads(lines[0]) != about:
            sys.exit(f"{path} was made in another way: {lines[0]}. Use a new file.")
        for line in lines[1:]:
            if line.endswith("}"):  # the last one may have been broken off
                self._take(json.loads(line))

    def add(self, played: Played) -> None:
        row = played._asdict() | {"outcome": played.outcome._asdict()}
        self._take(row)
        if self.path is not None:
            with self.path.open("a", encoding="utf-8") as file:
                file.write(json.dumps(row) + "\n")

    def _take(self, row: dict) -> None:
        played = Played(**(row | {"outcome": Outcome(**row["outcome"])}))
        self.found[*played.comeback, played.policy] = played  # the latest counts

    def by_policy(self, policies: Iterable[str]) -> dict[str, list[Played]]:
        """Results of comebacks that all the policies have played, in one order."""
        policies = list(policies)
        common = set.intersection(
            *({p.comeback for p in self.found.values() if p.policy == name} for name in policies)
        )
        return {name: [self.found[*c, name] for c in sorted(common)] for name in policies}


# -- tables


def hours(played: list[Played]) -> np.ndarray:
    return np.array([p.outcome.hours for p in played])


def mean_and_error(values) -> tuple[float, float]:
    """Mean, and its standard error."""
    values = np.asarray(values, dtype=float)
    spread = values.std(ddof=1) if len(values) > 1 else float("nan")
    return float(values.mean()), float(spread / sqrt(len(values)))


def mean_of(played: list[Played], what: str) -> float:
    return float(np.mean([getattr(p.outcome, what) for p in played]))


def row(*cells: object) -> str:
    return f"| {' | '.join(str(cell) for cell in cells)} |"


def head(*cells: str) -> list[str]:
    return [row(*cells), row("---", *("---:" for _ in cells[1:]))]


def with_error(values) -> str:
    return "{:.2f} ± {:.2f}".format(*mean_and_error(values)) if len(values) else "-"


def saved(mine: list[Played], theirs: list[Played]) -> str:
    """Hours saved against another policy on the same comebacks, with the 95 % interval."""
    mean, error = mean_and_error(hours(theirs) - hours(mine))
    share = mean / hours(theirs).mean()
    return f"{mean:.2f} ({mean - 1.96 * error:.2f} to {mean + 1.96 * error:.2f}), {share:.0%}"


def main_table(by_policy: dict[str, list[Played]]) -> Iterator[str]:
    yield from head(
        "policy",
        "hours to the verified fix",
        "lost hours",
        "pulls",
        "wrong pulls per 100",
        "checks and questions",
        "repairs",
        "handed over per 100",
        "hours saved by ours (95 %)",
    )
    for name, played in by_policy.items():
        lost = hours(played) - np.array([p.outcome.least for p in played])
        yield row(
            name,
            with_error(hours(played)),
            f"{lost.mean():.2f}",
            f"{mean_of(played, 'pulls'):.2f}",
            f"{100.0 * mean_of(played, 'wrong_pulls'):.1f}",
            f"{mean_of(played, 'checks') + mean_of(played, 'asked'):.1f}",
            f"{mean_of(played, 'repairs'):.2f}",
            f"{100.0 * mean_of(played, 'handed_over'):.1f}",
            "" if name == OURS or OURS not in by_policy else saved(by_policy[OURS], played),
        )


def kind_table(by_policy: dict[str, list[Played]]) -> Iterator[str]:
    """Hours by kind of comeback."""
    kinds = {
        "one needed": lambda o: o.mendable and o.needed == 1,
        "two or more needed": lambda o: o.mendable and o.needed > 1,
        "needed only inside": lambda o: o.mendable and o.inside,
        "needed not only inside": lambda o: o.mendable and not o.inside,
        "not to be mended": lambda o: not o.mendable,
    }
    any_policy = next(iter(by_policy.values()))
    shares = [np.mean([kind(p.outcome) for p in any_policy]) for kind in kinds.values()]
    yield from head("hours by kind", *kinds)
    yield row("share of comebacks", *(f"{share:.1%}" for share in shares))
    for name, played in by_policy.items():
        cells = (hours([p for p in played if kind(p.outcome)]) for kind in kinds.values())
        yield row(name, *(with_error(cell) for cell in cells))


def setup_table(by_policy: dict[str, list[Played]]) -> Iterator[str]:
    """Hours by set-up; the other figures are those of the first policy."""
    first, *_ = by_policy
    yield from head(
        "set-up", "comebacks", *by_policy, f"{first}: pulls", "wrong per 100", "handed over per 100"
    )
    for setup in dict.fromkeys(p.setup for p in by_policy[first]):
        mine = {name: [p for p in ps if p.setup == setup] for name, ps in by_policy.items()}
        yield row(
            setup,
            len(mine[first]),
            *(with_error(hours(played)) for played in mine.values()),
            f"{mean_of(mine[first], 'pulls'):.2f}",
            f"{100.0 * mean_of(mine[first], 'wrong_pulls'):.1f}",
            f"{100.0 * mean_of(mine[first], 'handed_over'):.1f}",
        )


def notes(by_policy: dict[str, list[Played]]) -> Iterator[str]:
    for name, played in by_policy.items():
        seconds = [p.seconds for p in played]
        guarded = sum(p.outcome.guarded for p in played)
        yield (
            f"{name}: {np.mean(seconds):.2f} s for each comeback, {max(seconds):.1f} s at most; "
            f"{mean_of(played, 'acts'):.1f} acts; {guarded} ended by the guard"
        )


def report(by_policy: dict[str, list[Played]]) -> str:
    number = len(next(iter(by_policy.values())))
    if not number:
        return "No comeback has been played by all the policies."
    tables = (main_table, kind_table, setup_table)
    text = "\n\n".join("\n".join(table(by_policy)) for table in tables)
    return f"{number} comebacks\n\n{text}\n\n" + "\n".join(notes(by_policy))


# -- the command


def arguments(argv: list[str] | None) -> argparse.Namespace:
    parser = argparse.ArgumentParser(description=__doc__.split("\n", maxsplit=1)[0])
    parser.add_argument("--comebacks", type=int, default=40, help="for each set-up")
    parser.add_argument("--setups", nargs="+", metavar="SETUP")
    parser.add_argument("--policies", nargs="+", metavar="POLICY", choices=[*POLICIES])
    parser.add_argument("--again", nargs="+", default=[], metavar="POLICY", choices=[*POLICIES])
    parser.add_argument("--processes", type=int, default=2)
    parser.add_argument("--save", "--resume", dest="path", type=Path, metavar="FILE.json")
    parser.add_argument(
        "--strict", action="store_true", help="complaints that nothing wrong brings count too"
    )
    parser.add_argument("--tune", nargs="?", const="", metavar="WORD", help="variants with a word")
    return parser.parse_args(argv)


def main(argv: list[str] | None = None) -> int:
    """Play what has not been played, and print the tables."""
    args = arguments(argv)
    base = load_base()
    tuning = args.tune is not None
    seed = TUNING_SEED if tuning else SEED
    policies = [n for n in VARIANTS if args.tune in n] if tuning else args.policies or [*POLICIES]
    runs = Runs(args.path, {"seed": seed, "strict": args.strict, "base": base.version})
    kept = {key for key in runs.found if key[2] not in args.again}
    tasks = []
    for number in range(args.comebacks):  # all set-ups are equally far when it is broken off
        for setup in args.setups or base.setups:
            missing = tuple(p for p in policies if (setup, number, p) not in kept)
            if missing:
                tasks.append(Task(seed, setup, number, missing, args.strict))
    for i, played in enumerate(results(tasks, args.processes), 1):
        for one in played:
            runs.add(one)
        if i % 20 == 0:
            print(f"{i} of {len(tasks)} comebacks", file=sys.stderr, flush=True)
    print(report(runs.by_policy(policies)))
    return 0


if __name__ == "__main__":
    sys.exit(main())
