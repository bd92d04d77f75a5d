"""Tightening torque, preload and proof load of bolts.

Torque makes friction first and preload with what is left, so the nut factor decides: tables that
say "dry" for different nut factors differ by a third.

References
----------
Shigley, Mechanical Engineering Design, ch. 8, table 8-15, eqs 8-27, 8-31 (R-BOLT-1 to R-BOLT-3);
SAE J429 (R-BOLT-4, R-BOLT-5); ISO 898-1 (R-BOLT-6). Stress area: ASME B1.1 and ISO 898-1.
"""

import re
from collections.abc import Mapping
from math import pi
from types import MappingProxyType
from typing import NamedTuple

from diagnose.errors import PullOnceError
from diagnose.physics.domain import Real, require_not_negative, require_positive
from knowledge.quantity import QuantityError, parse_quantity

REUSABLE, PERMANENT = 0.75, 0.90  # preload as a share of the proof load (R-BOLT-1)

# Surface -> nut factor (R-BOLT-1, Shigley table 8-15).
NUT_FACTORS: Mapping[str, float] = MappingProxyType(
    {
        "plain": 0.30,
        "zinc": 0.20,
        "lubricated": 0.18,
        "cadmium": 0.16,
        "anti-seize": 0.12,
    }
)

# Usual coarse pitches of ISO metric threads, mm.
_COARSE = {6: 1.0, 8: 1.25, 10: 1.5, 12: 1.75, 14: 2.0, 16: 2.0, 20: 2.5}

_INCH = re.compile(r"(\d+(?:[ -]\d+/\d+)?|\d+/\d+)\s*-\s*(\d{1,2})(?:\s*(?:UNC|UNF))?", re.I)
_METRIC = re.compile(r"M(\d{1,2})(?:\s*[x×]\s*(\d(?:\.\d+)?))?", re.I)


class BoltError(PullOnceError):
    """A thread or a grade that this program does not know."""


class Thread(NamedTuple):
    """A screw thread.

    Attributes
    ----------
    diameter : float
        Nominal diameter, mm.
    pitch : float
        mm.
    unified : bool
        Whether it is an inch thread.
    """

    diameter: float
    pitch: float
    unified: bool


class Grade(NamedTuple):
    """Strength of a bolt.

    Attributes
    ----------
    proof_strength : float
        MPa.
    most_diameter : float
        Diameter up to which it holds, mm; thicker bolts of the grade are weaker.
    unified : bool
        Whether it belongs to inch threads.
    source : str
    """

    proof_strength: float
    most_diameter: float
    unified: bool
    source: str


def _inch_grade(proof: str, most: str) -> Grade:
    strength, diameter = parse_quantity(proof).value, parse_quantity(most).value
    return Grade(strength, diameter, True, "SAE J429 (R-BOLT-4)")


GRADES: Mapping[str, Grade] = MappingProxyType(
    {
        "2": _inch_grade("55000 psi", "3/4 in"),
        "5": _inch_grade("85000 psi", "1 in"),
        "8": _inch_grade("120000 psi", "1 1/2 in"),
        "10.9": Grade(830.0, 39.0, False, "ISO 898-1 (R-BOLT-6)"),
    }
)


def thread_of(text: str) -> Thread:
    """Read a thread as people write it.

    Parameters
    ----------
    text : str
        ``"1/2-13"``, ``"1-8"``, ``"M10x1.25"``; ``"M10"`` has the coarse pitch.

    Raises
    ------
    BoltError
        If it is none, or a metric one whose coarse pitch is not known here.
    """
    inch, metric = _INCH.fullmatch(text.strip()), _METRIC.fullmatch(text.strip())
    if inch and int(inch[2]) > 0:
        try:
            diameter = parse_quantity(inch[1], default_unit="in").value
        except QuantityError as error:
            raise BoltError(f"{text!r} is no thread: {error}.", "Write it like 3/8-16.") from error
        thread = Thread(diameter, 25.4 / int(inch[2]), True)
    elif metric:
        pitch = metric[2] or _COARSE.get(int(metric[1]))
        if pitch is None:
            raise BoltError(f"{text!r} lacks its pitch.", "Write it like M18x1.5.")
        thread = Thread(float(metric[1]), float(pitch), False)
    else:
        raise BoltError(f"{text!r} is no thread.", "Write it like 3/8-16 or M10x1.25.")
    if not 0.0 < thread.pitch < thread.diameter / 2.0:
        raise BoltError(f"{text!r} is no thread that can be cut.", "Check diameter and pitch.")
    return thread


def grade_of(name: str, thread: Thread) -> Grade:
    """Strength of a bolt of a grade.

    Raises
    ------
    BoltError
        If the grade is unknown, belongs to the other kind of thread, or not to that thickness.
    """
    grade = GRADES.get(name.strip().casefold().removeprefix("grade ").removeprefix("class "))
    if grade is None:
        known = ", ".join(GRADES)
        raise BoltError(f"Grade {name!r} is not known here ({known}).", "Give the proof strength.")
    if grade.unified != thread.unified:
        raise BoltError(
            f"Grade {name} belongs to {'inch' if grade.unified else 'metric'} threads.",
            "Read the mark on the head again.",
        )
    if thread.diameter > grade.most_diameter + 1e-9:
        raise BoltError(
            f"Bolts of grade {name} above {grade.most_diameter:g} mm are weaker.",
            "Give the proof strength.",
        )
    return grade


def stress_area(thread: Thread) -> float:
    """Tensile stress area, mm2."""
    depth = 0.9743 if thread.unified else 0.9382
    return pi / 4.0 * (thread.diameter - depth * thread.pitch) ** 2


def proof_load(proof_strength: Real, area: Real) -> Real:
    """Load that a bolt carries without staying longer, N."""
    require_positive(proof_strength=proof_strength, area=area)
    return proof_strength * area


def preload(load: Real, share: float = REUSABLE) -> Real:
    """Preload as a share of the proof load, N.

    Parameters
    ----------
    load : float or ndarray
        Proof load, N.
    share : float
        `REUSABLE` or `PERMANENT`; above 0, at most 1.
    """
    require_positive(load=load)
    if not 0.0 < share <= 1.0:
        message = f"a preload is a share of the proof load between 0 and 1, unlike {share}"
        raise ValueError(message)
    return share * load


def torque(nut_factor: Real, diameter: Real, load: Real) -> Real:
    """Torque that gives a preload, N mm: T = K d F.

    Parameters
    ----------
    nut_factor : float or ndarray
        K, one of `NUT_FACTORS` or measured.
    diameter : float or ndarray
        Nominal diameter, mm.
    load : float or ndarray
        Preload, N.
    """
    require_positive(nut_factor=nut_factor, diameter=diameter, load=load)
    return nut_factor * diameter * load


def load_of_torque(nut_factor: Real, diameter: Real, tightening: Real) -> Real:
    """Preload that a torque gives, N."""
    require_positive(nut_factor=nut_factor, diameter=diameter, tightening=tightening)
    return tightening / (nut_factor * diameter)


def joint_share(bolt_stiffness: Real, member_stiffness: Real) -> Real:
    """Share of a load on the joint that the bolt itself takes (C of Shigley eq. 8-24)."""
    require_positive(bolt_stiffness=bolt_stiffness, member_stiffness=member_stiffness)
    return bolt_stiffness / (bolt_stiffness + member_stiffness)


def bolt_stress(load: Real, external: Real, share: Real, area: Real) -> Real:
    """Tensile stress of a preloaded bolt under a load on the joint, MPa.

    Parameters
    ----------
    load, external : float or ndarray
        Preload, and load on the joint for each bolt, N.
    share : float or ndarray
        `joint_share`.
    area : float or ndarray
        Stress area, mm2.
    """
    require_not_negative(load=load, external=external, share=share)
    require_positive(area=area)
    return (load + share * external) / area
