"""Whether the scoring of exercises ranks simulated novices rightly, on the shipped knowledge.

    bench_practice.py                        30 exercises
    bench_practice.py --exercises 150        more; the sets then overlap less
    bench_practice.py --resume F.json        go on with a run, or show it
    bench_practice.py --seconds 600          stop after so much time of the processor

Three novices do the same exercises, drawn from the base, a third of each difficulty:

- *random*: goes from the seat inwards, and at each level does, in any order, whatever would prove
  a cause that is left at one in a hundred; repairs what he has found.
- *greedy*: looks for the likeliest cause, wherever that takes him, then for the next.
- *noisy planner*: sees the planner's figures with an error of a quarter of an hour each.

A regret is worked out once for each novice and exercise; then 200 sets of ten different exercises
are drawn from the pool, and a set ranks rightly if mean regret falls strictly from novice to
novice. Sets share exercises, so the share is one figure of this pool, not 200 trials that are
independent. Who is the better one is not taken for granted: it is printed for the order above and
for the order of the hours that the novices really lost over the whole pool.
"""

import argparse
import json
import os
import sys
import time
from collections.abc import Callable, Iterator
from functools import partial
from itertools import combinations
from pathlib import Path
from typing import NamedTuple

os.environ["OMP_NUM_THREADS"] = "1"  # before numpy is imported
os.environ["OPENBLAS_NUM_THREADS"] = "1"
sys.path.insert(0, str(Path(__file__).parents[2]))

import numpy as np

from diagnose.planning.problem import DRIVE, HAND_OVER, Key
from diagnose.practice.appraisal import Appraisal, appraise
from diagnose.practice.checklist import can_be_done, chances_of
from diagnose.practice.drawing import draw_exercise
from diagnose.practice.harm import against_a_stop
from diagnose.practice.run import begin, play
from diagnose.practice.scoring import score
from diagnose.practice.shop import drives_of
from diagnose.proofs import proofs_of
from knowledge.load import load_base
from knowledge.model import KnowledgeBase

SEED, SETS, OF = 51, 200, 10
AIM = 0.95
DIFFICULTIES = ("single", "decoy", "two")
SURE, POSSIBLE, PATIENCE = 0.5, 0.01, 3
NOISE = 0.25  # hours
MOST = 60  # moves

Novice = Callable[[Appraisal, np.random.Generator], Key]


class Played(NamedTuple):
    """What one novice made of one exercise; minutes."""

    number: int
    difficulty: str
    novice: str
    regret: float
    minutes: float
    least: float
    moves: int
    end: str


# -- novices


def looks(at: Appraisal, causes: list[str]) -> list[str]:
    """Open checks that would prove any of some causes, nearest first for each."""
    found = at.assessment
    known = frozenset(found.situation.observed) - found.situation.stale
    proofs = (p for c in causes for p in proofs_of(found.network).get(c, ()))
    checks = dict.fromkeys(p.check for p in proofs if p.finding not in known)
    base = at.shop.base
    return [c for c in checks if can_be_done(at.shop, found, base.checks[c])]


def found_or_over(at: Appraisal, chances: dict[str, float]) -> Key | None:
    """The repair of what was found, the drive after it, or the end of one's patience."""
    cause = max(chances, key=chances.__getitem__, default=None)
    if cause and chances[cause] >= SURE:
        return "repair", cause
    if any(entry.is_pending for entry in at.shop.case.entries):
        return DRIVE
    return HAND_OVER if drives_of(at.shop) >= PATIENCE else None


def at_random(at: Appraisal, rng: np.random.Generator) -> Key:
    chances = chances_of(at.shop, at.assessment)
    act = found_or_over(at, chances)
    if act is not None:
        return act
    base, access = at.shop.base, at.shop.access
    possible = [c for c, p in chances.items() if p >= POSSIBLE]
    safe = [c for c in looks(at, possible) if against_a_stop(at.shop, ("check", c)) is None]
    if not safe:
        return likeliest(chances)
    depth = min(access.index(base.checks[c].from_) for c in safe)
    near = [c for c in safe if access.index(base.checks[c].from_) == depth]
    return "check", near[int(rng.integers(len(near)))]


def greedy(at: Appraisal, _rng: np.random.Generator) -> Key:
    chances = chances_of(at.shop, at.assessment)
    act = found_or_over(at, chances)
    if act is not None:
        return act
    cause = max(chances, key=chances.__getitem__, default=None)
    if cause is None:
        return HAND_OVER
    mine = looks(at, [cause])
    return ("check", mine[0]) if mine else ("repair", cause)


def noisy_planner(at: Appraisal, rng: np.random.Generator) -> Key:
    seen = [o.expected + rng.normal(0.0, NOISE) for o in at.options]
    best = at.options[int(np.argmin(seen))]
    return best.kind, best.id


def likeliest(chances: dict[str, float]) -> Key:
    cause = max(chances, key=chances.__getitem__, default=None)
    return ("repair", cause) if cause else HAND_OVER


NOVICES: dict[str, Novice] = {
    "random": at_random,
    "greedy": greedy,
    "noisy planner": noisy_planner,
}


def careful(novice: Novice, at: Appraisal, rng: np.random.Generator) -> Key:
    """A novice's move; he heeds stop notices, and hands over where he would go against one."""
    act = novice(at, rng)
    return act if against_a_stop(at.shop, act) is None else HAND_OVER


# -- playing


class Pool:
    """Plays exercises; a point that several novices come to is weighed once."""

    def __init__(self, base: KnowledgeBase, *, refined: bool = True) -> None:
        self.base, self.refined = base, refined
        self.seen: dict = {}

    def look(self, shop) -> Appraisal:
        key = shop.case.entries, shop.case.stands
        if key not in self.seen:
            self.seen[key] = appraise(shop, refined=self.refined)
        return self.seen[key]

    def exercise(self, number: int):
        rng = np.random.default_rng([SEED, number])
        return draw_exercise(self.base, rng, difficulty=DIFFICULTIES[number % 3])

    def played(self, number: int) -> Iterator[Played]:
        """Results of all novices on one exercise."""
        exercise = self.exercise(number)
        self.seen.clear()
        for place, (name, novice) in enumerate(NOVICES.items()):
            rng = np.random.default_rng([SEED, number, place])
            choose = partial(self._choose, novice, rng)
            run = play(begin(self.base, exercise), choose, most=MOST)
            result = score(run, look=self.look)
            yield Played(
                number,
                exercise.difficulty,
                name,
                result.regret,
                result.minutes,
                result.least,
                len(run.moves),
                run.end,
            )

    def _choose(self, novice: Novice, rng: np.random.Generator, run) -> Key:
        return careful(novice, self.look(run.shop), rng)


# -- ranking


def regrets(played: list[Played], what: str = "regret") -> np.ndarray:
    """A figure of each novice on each exercise that all have done; shape (exercises, novices)."""
    by = {(p.number, p.novice): getattr(p, what) for p in played}
    numbers = sorted({p.number for p in played})
    whole = [n for n in numbers if all((n, name) in by for name in NOVICES)]
    return np.array([[by[n, name] for name in NOVICES] for n in whole]).reshape(-1, len(NOVICES))


def share_ranked_rightly(table: np.ndarray, *, sets: int = SETS, of: int = OF) -> float:
    """Share of sets in which mean regret falls strictly from the first novice to the last.

    Parameters
    ----------
    table : ndarray, shape (exercises, novices)
        Novices by rising skill.
    """
    rng = np.random.default_rng(SEED)
    right = 0
    for _ in range(sets):
        chosen = rng.choice(len(table), of, replace=False)
        right += bool((np.diff(table[chosen].mean(axis=0)) < 0.0).all())
    return right / sets


def report(played: list[Played]) -> str:
    table, minutes = regrets(played), regrets(played, "minutes")
    least = regrets(played, "least")
    lines = [f"{len(table)} exercises", ""]
    lines.append("| novice | regret, min | hours lost | moves | handed over |")
    lines.append("|---|---:|---:|---:|---:|")
    for i, name in enumerate(NOVICES):
        mine = [p for p in played if p.novice == name]
        error = table[:, i].std(ddof=1) / np.sqrt(len(table))
        lost = (minutes - least)[:, i].mean() / 60.0
        handed = np.mean([p.end == "handed over" for p in mine])
        moves = np.mean([p.moves for p in mine])
        lines.append(
            f"| {name} | {table[:, i].mean():.0f} ± {error:.0f} | {lost:.1f} "
            f"| {moves:.1f} | {handed:.0%} |"
        )
    if len(table) >= OF:
        share = share_ranked_rightly(table)
        lines += ["", f"{share:.1%} of {SETS} sets of {OF} rank as listed (aim {AIM:.0%})."]
        names = list(NOVICES)
        by_hours = np.argsort(-(minutes - least).mean(axis=0), kind="stable")
        share = share_ranked_rightly(table[:, by_hours])
        order = ", ".join(names[i] for i in by_hours)
        lines.append(f"{share:.1%} rank as the hours lost over the pool do: {order}.")
        for worse, better in combinations(by_hours.tolist(), 2):
            pair = share_ranked_rightly(table[:, [worse, better]])
            lines.append(f"- {names[better]} before {names[worse]}: {pair:.1%}")
        luck = share_ranked_rightly((minutes - least)[:, by_hours])
        lines.append(f"By the hours lost in the set itself, luck and all: {luck:.1%}.")
    return "\n".join(lines)


# -- the command


def read_rows(path: Path | None, about: dict) -> list[Played]:
    """Results on disk; a line that was broken off is left out."""
    if path is None or not path.exists():
        if path is not None:
            path.write_text(json.dumps(about) + "\n", encoding="utf-8")
        return []
    head, *lines = path.read_text(encoding="utf-8").splitlines()
    if json.loads(head) != about:
        sys.exit(f"{path} was made in another way: {head}. Use a new file.")
    return [Played(**json.loads(line)) for line in lines if line.endswith("}")]


def main(argv: list[str] | None = None) -> int:
    """Play what has not been played, and print the table."""
    parser = argparse.ArgumentParser(description=__doc__.split("\n", maxsplit=1)[0])
    parser.add_argument("--exercises", type=int, default=30)
    parser.add_argument("--resume", dest="path", type=Path, metavar="FILE.json")
    parser.add_argument("--seconds", type=float, default=float("inf"))
    args = parser.parse_args(argv)
    pool = Pool(load_base())
    played = read_rows(args.path, {"seed": SEED, "noise": NOISE, "base": pool.base.version})
    done = {(p.number, p.novice) for p in played}
    for number in range(args.exercises):
        if all((number, name) in done for name in NOVICES):
            continue
        if time.process_time() > args.seconds:
            break
        for result in pool.played(number):
            if (number, result.novice) not in done:
                played.append(result)
                if args.path is not None:
                    with args.path.open("a", encoding="utf-8") as file:
                        file.write(json.dumps(result._asdict()) + "\n")
    print(report(played))
    print(f"{time.process_time():.0f} s of the processor", file=sys.stderr)
    return 0


if __name__ == "__main__":
    sys.exit(main())
