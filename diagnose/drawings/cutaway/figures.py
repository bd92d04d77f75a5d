"""The figures of a cutaway in words: travels and clearances, now and at the pedal's stop."""

from typing import Literal, NamedTuple

from diagnose.drawings.cutaway.measures import Measures
from diagnose.drawings.cutaway.stance import Motion, Stance
from diagnose.physics.observables import fork_free_travel, overtravel_margin

Unit = Literal["mm", "in"]

_INCH = 25.4
_TOLD = 0.005  # mm, less is not told


class Row(NamedTuple):
    """One figure: its name, and what it is in one or two systems, as text."""

    name: str
    values: tuple[str, ...]


def length(value: float, unit: Unit, decimals: int = 1) -> str:
    """Say a length in mm, to so many decimals, or in inches, to as much as that is worth."""
    number, places = (value, decimals) if unit == "mm" else (value / _INCH, decimals + 1)
    text = f"{number:.{places}f}"
    return f"{text.removeprefix('-') if float(text) == 0.0 else text} {unit}"


def clearance_words(stance: Stance, unit: Unit) -> str:
    """Say the clearance of each face, or by how much it is missed."""
    if stance.clearance > -_TOLD:
        return length(max(0.0, stance.clearance), unit, 2)
    return f"{length(-stance.clearance, unit, 2)} short"


def bite_words(motion: Motion) -> str:
    """Say how far up from the floor the clutch bites, as a share of the pedal's way."""
    if motion.bites:
        up = 100.0 * (1.0 - motion.bite / motion.travel)
        return f"{up:.0f} % up"
    return "never free" if motion.bite > motion.travel else "never grips"


def rows(measures: Measures, motions: tuple[Motion, ...], pad: float, unit: Unit) -> list[Row]:
    """Give the table of figures at a pad travel, a column for each motion.

    Parameters
    ----------
    measures : Measures
    motions : tuple of Motion
    pad : float
        mm.
    unit : str
    """
    now = [motion.at(pad) for motion in motions]

    def said(values: list[float], decimals: int = 1) -> tuple[str, ...]:
        return tuple(length(value, unit, decimals) for value in values)

    found = [
        Row("Pedal", said([s.pad for s in now], 0)),
        Row(
            "Master stroke" if measures.system.hydraulic else "Stroke at the pedal",
            said([s.master for s in now]),
        ),
    ]
    if measures.forked:
        found.append(Row("Fork tip", said([s.tip for s in now])))
        free = [_free_travel(motion) for motion in motions]
        found.append(Row("Free travel at the fork", said(free)))
    else:
        # With a cylinder round the shaft, wear eats what its piston can still be pushed back.
        found.append(Row("Piston can go back by", said([max(0.0, m.gap) for m in motions])))
    found += [
        Row("Bearing", said([s.bearing for s in now])),
        Row("Bearing to fingers", said([max(0.0, s.gap) for s in now])),
        Row("Fingers", said([s.fingers for s in now])),
        Row("Plate lift", said([s.lift for s in now], 2)),
        Row("Clearance per face", tuple(clearance_words(s, unit) for s in now)),
        Row("Bites, from the floor", tuple(bite_words(motion) for motion in motions)),
        # An assist spring holds the pedal up against its stop: no foot feels less than nothing.
        Row("Force at the pad", tuple(f"{max(0.0, s.force):.0f} N" for s in now)),
        Row("Fingers can go on by", said([_margin(motion) for motion in motions])),
    ]
    return found


def _free_travel(motion: Motion) -> float:
    return max(0.0, float(fork_free_travel(motion.chain)[0]))


def _margin(motion: Motion) -> float:
    return float(overtravel_margin(motion.chain)[0])


def in_words(measures: Measures, motion: Motion, pad: float, unit: Unit) -> str:
    """Say the figures as one would read them aloud."""
    told = rows(measures, (motion,), pad, unit)
    return ". ".join(f"{row.name} {row.values[0]}" for row in told if row.values[0]) + "."
