"""Calculator of bolts: torque from thread, grade and surface, or preload from a torque."""

from diagnose.calculators.calculator import Calculator, Outcome, Result
from diagnose.calculators.option import Option
from diagnose.calculators.values import MissingError, Values
from diagnose.calculators.words import say
from diagnose.physics import bolts


def _bolt(values: Values) -> Outcome:
    thread = bolts.thread_of(values.word("size"))
    area = bolts.stress_area(thread)
    own = values.maybe("proof")
    if own is None and not values.given("grade"):
        raise MissingError("The grade is missing.", "Give it, or the proof strength.")
    strength = bolts.grade_of(values.word("grade"), thread).proof_strength if own is None else own
    factor = values.maybe("factor")
    if factor is None:
        factor = bolts.NUT_FACTORS[values.word("surface")]
    share = bolts.REUSABLE if values.word("use") == "reusable" else bolts.PERMANENT
    proof = float(bolts.proof_load(strength, area))
    load = float(bolts.preload(proof, share))
    torque = float(bolts.torque(factor, thread.diameter, load))
    results = [
        Result("stress_area", "stress area", area, "mm2"),
        Result("proof_load", "proof load", proof, "N"),
        Result("preload", f"preload, {100 * share:.0f} % of it", load, "N"),
        Result("nut_factor", "nut factor K", factor),
        Result("torque", "torque", torque, "N mm"),
    ]
    notes = [
        "The nut factor decides: plain steel 0.30, zinc 0.20, oiled 0.18, cadmium 0.16, "
        "anti-seize 0.12. Tables that only say dry or lubricated differ by a third.",
        "Bolts that are tightened by angle, and those to be used once, follow the maker alone.",
    ]
    given = values.maybe("torque")
    headline = f"Tighten to {say(torque, 'N mm')}."
    if given is not None:
        reached = float(bolts.load_of_torque(factor, thread.diameter, given))
        percent = f"{100 * reached / proof:.0f} %"
        results += [
            Result("load_of_torque", "preload at the torque you gave", reached, "N"),
            Result("of_proof", "that is of the proof load", reached / proof, "share", percent),
        ]
        headline = f"{say(given, 'N mm')} loads it to {percent} of the proof load."
        if reached > proof:
            notes.insert(0, "That is beyond the proof load: the bolt stays longer. Do not use it.")
    return Outcome(tuple(results), tuple(notes), headline=headline)


BOLT = Calculator(
    "bolt",
    "Bolt torque",
    "Torque for a bolt from its thread, grade and surface; or the preload that a torque gives.",
    (
        Option("size", "thread", "like 3/8-16 or M10x1.25", required=True, positional=True),
        Option("grade", "grade on the head", choices=tuple(bolts.GRADES)),
        Option("surface", "how the thread is", choices=tuple(bolts.NUT_FACTORS), default="zinc"),
        Option(
            "use",
            "whether it comes out again",
            choices=("reusable", "permanent"),
            default="reusable",
        ),
        Option("torque", "torque to judge", unit="N m", low=1),
        Option(
            "proof",
            "proof strength",
            "instead of a grade",
            unit="MPa",
            low=50,
            high=2000,
            seldom=True,
        ),
        Option(
            "factor",
            "nut factor K",
            "instead of a surface",
            unit="",
            low=0.05,
            high=0.5,
            seldom=True,
        ),
    ),
    _bolt,
    ("R-BOLT-1: T = K d F", "R-BOLT-4 to R-BOLT-6: SAE J429 and ISO 898-1"),
    ("bolts_stretch",),
    "The maker's torque and pattern come before these.",
)
