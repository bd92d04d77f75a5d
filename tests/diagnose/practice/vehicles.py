"""Exercises written out for tests, with nothing there that is not said."""

from diagnose.practice.exercise import Exercise
from diagnose.practice.harm import cautions_before
from diagnose.practice.run import begin

# With this seed all answers are sure, and each repair cures.
SEED = 3


def exercise(causes, complaints, signs=(), **more):
    """An exercise on the small base."""
    fields = {"setup": "plain", "causes": causes, "complaints": complaints, "signs": signs, **more}
    return Exercise.model_validate(fields)


AIR = exercise(["air"], ["drags"], ["spongy", "bubbles", "long_spin"], seed=SEED)
DISC = exercise(["disc"], ["drags"], ["bent", "long_spin"], seed=SEED)
BOLTS = exercise(["bolts"], ["knocks"], ["slack"], seed=SEED)


def moved(base, hidden, *acts):
    """A run after some moves, with all cautions read."""
    run = begin(base, hidden)
    for act in acts:
        run = run.reading(cautions_before(base, act)).after(act)
    return run
