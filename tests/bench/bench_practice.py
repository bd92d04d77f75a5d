"""Whether the scoring of exercises ranks simulated novices rightly, on the shipped knowledge.

    bench_practice.py                        30 exercises
    bench_practice.py --exercises 150        more; the sets then overlap less
    bench_practice.py --resume F.json        go on with a run, or show it
    bench_practice.py --seconds 600          stop after so much time of the processor

Three novices do the same exercises, drawn from the base, a third of each difficulty. All know what
the handbook says: which check a cause mostly shows in. All repair what they have found (a cause at
one in two), drive, and look on; when there is nothing left to look at they try the likeliest, if it
is one in ten; hand over after that, or after three drives in vain; heed stop notices; and with the
gearbox out look at all that could still be the cause before it goes back in, as nobody builds it in
for a question. They differ in what they look at next:

- *random*: knows what can be behind the complaint and what that would show in, and no chances; so
  no answer tells this novice that a look is needless by now. Goes from the seat inwards, and at
  each level does all of it in any order.
- *greedy*: goes by the chances and by nothing else. Takes the likeliest cause that can still be
  looked at, and of its looks the nearest at hand: so it is suspected from the seat before anything
  is opened for it. What the way costs, and what a look would tell of other causes, is not weighed.
- *noisy planner*: sees the planner's figures with an error of a quarter of an hour each.

Looking at what has the greatest chance is the simplest of the orders that are studied in search
[1]; weighing costs as well is what the planner adds. Who of the first two is better follows from no
theorem: chances save looks, access order saves ways.

A regret is worked out once for each novice and exercise; then 200 sets of ten different exercises
are drawn from the pool, and a set ranks rightly if mean regret falls strictly from novice to
novice. Sets share exercises, so the share is one figure of this pool, not 200 trials that are
independent. Who is the better one is not taken for granted: it is printed for the order above and
for the order of the hours that the novices really lost over the whole pool.

References
----------
.. [1] J. B. Kadane and H. A. Simon, "Optimal strategies for a class of constrained sequential
   problems", Annals of Statistics 5 (1977), 237 to 255.
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
from knowledge.load import load_base
from knowledge.model import KnowledgeBase

SEED, SETS, OF = 51, 200, 10
AIM = 0.95
DIFFICULTIES = ("single", "decoy", "two")
SURE, POSSIBLE, TRIED, SHOWS, PATIENCE = 0.5, 0.01, 0.1, 0.5, 3
NOISE = 0.25  # hours
MOST = 120  # moves; who has not come to an end by then hands over

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
    """Open and safe checks that any of some causes mostly shows in, nearest first."""
    found, shop = at.assessment, at.shop
    index = found.network.finding_index
    known = frozenset(found.situation.observed) - found.situation.stale
    rows = [found.network.cause_index[c] for c in causes]
    shown = (found.network.q[rows] >= SHOWS).any(axis=0)
    checks = [
        check
        for check in shop.base.checks.values()
        if any(shown[index[f]] and f not in known for f in check.reads())
        and can_be_done(shop, found, check)
        and against_a_stop(shop, ("check", check.id)) is None
    ]
    return [c.id for c in sorted(checks, key=lambda c: (depth_of(at, c.id), c.minutes))]


def depth_of(at: Appraisal, check: str) -> int:
    return at.shop.access.index(at.shop.base.checks[check].from_)


def settled(at: Appraisal, chances: dict[str, float]) -> Key | None:
    """The repair of what was found, the drive after it, or the end of one's patience."""
    cause = max(chances, key=chances.__getitem__, default=None)
    if cause and chances[cause] >= SURE:
        return "repair", cause
    if any(entry.is_pending for entry in at.shop.case.entries):
        return DRIVE
    return HAND_OVER if drives_of(at.shop) >= PATIENCE else None


def left_to_look_at(at: Appraisal, causes: list[str]) -> list[str]:
    """Looks at some causes; with the gearbox out only those inside, as long as there are any."""
    access, here = at.shop.access, at.shop.here
    found = looks(at, causes)
    inside = [c for c in found if not access.drivable[access.move(here, depth_of(at, c))[1]]]
    return inside if inside and not access.drivable[here] else found


def behind(at: Appraisal) -> frozenset[str]:
    """Causes that can bring what is complained of, whatever was found since."""
    network = at.assessment.network
    told = [network.finding_index[name] for name in at.shop.at_start.told]
    brings = network.q[:, told].max(axis=1)
    return frozenset(c for c, p in zip(network.causes, brings, strict=True) if p >= POSSIBLE)


def at_random(at: Appraisal, rng: np.random.Generator) -> Key:
    chances = chances_of(at.shop, at.assessment)
    left = left_to_look_at(at, [c for c in chances if c in behind(at)])
    near = [c for c in left if depth_of(at, c) == depth_of(at, left[0])]
    look = ("check", near[int(rng.integers(len(near)))]) if near else likeliest(chances)
    return settled(at, chances) or look


def greedy(at: Appraisal, _rng: np.random.Generator) -> Key:
    chances = chances_of(at.shop, at.assessment)
    possible = sorted((c for c, p in chances.items() if p >= POSSIBLE), key=lambda c: -chances[c])
    left = frozenset(left_to_look_at(at, possible))
    mine = (c for cause in possible for c in looks(at, [cause]) if c in left)
    look = next(mine, None)
    return settled(at, chances) or (("check", look) if look else likeliest(chances))


def noisy_planner(at: Appraisal, rng: np.random.Generator) -> Key:
    seen = [o.expected + rng.normal(0.0, NOISE) for o in at.options]
    best = at.options[int(np.argmin(seen))]
    return best.kind, best.id


def likeliest(chances: dict[str, float]) -> Key:
    """At the end of all looks the likeliest cause is tried, if it is likely enough for that."""
    cause = max(chances, key=chances.__getitem__, default=None)
    return ("repair", cause) if cause and chances[cause] >= TRIED else HAND_OVER


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
