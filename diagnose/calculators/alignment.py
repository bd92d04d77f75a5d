"""Calculators of fit and fastening: dial readings, bolts."""

from math import hypot, sqrt

from diagnose.calculators.calculator import (
    LENGTH_UNIT,
    Calculator,
    CalculatorError,
    Option,
    Outcome,
    Result,
    Values,
    say,
)
from diagnose.physics import bolts
from diagnose.physics.clock import clock_angle, clock_words
from diagnose.physics.runout import (
    DialSet,
    Harmonics,
    Surface,
    cross_difference,
    evenly_spaced,
    harmonics,
    offset_dowels,
    ovality,
    pairs,
    tilt,
    tir,
)
from diagnose.physics.runout_limits import SIZES, Limit, Part, limits_for
from diagnose.physics.uncertainty import conformity
from knowledge.quantity import parse_quantity

_PARTS: dict[str, tuple[Part | None, Surface]] = {
    "housing-bore": ("housing_bore", "bore"),
    "housing-face": ("housing_face", "face"),
    "flywheel-face": ("flywheel_face", "face"),
    "flywheel-bore": ("flywheel_bore", "bore"),
    "pilot-bore": ("pilot_bore", "bore"),
    "disc-face": ("disc_face", "face"),
    "shaft": (None, "shaft"),
}


def _runout(values: Values) -> Outcome:
    part, surface = _PARTS[values.word("part")]
    dial = _dial(values, surface)
    found = harmonics(dial)
    reading = tir(dial)
    results = [
        Result("tir", "T.I.R., highest less lowest reading", reading, "mm"),
        *_shape(dial, found, values.maybe("radius")),
        *_other_convention(dial, values),
    ]
    results += _judged(reading, _limits(part, values), _doubt(dial))
    notes = _remarks(dial, found)
    if values.given("dowels"):
        dowel_results, dowel_notes = _dowels(found, values, surface)
        results += dowel_results
        notes += dowel_notes
    return Outcome(tuple(results), tuple(notes))


def _dial(values: Values, surface: Surface) -> DialSet:
    readings = values.numbers("readings")
    at = values.words("at")
    angles = tuple(clock_angle(text) for text in at) if at else evenly_spaced(len(readings))
    graduation = values.maybe("graduation")
    if graduation is None:  # the usual dials
        metric = values.written_in("readings") in {"mm", "um", "cm"}
        graduation = 0.01 if metric else parse_quantity("0.001 in").value
    return DialSet(
        angles,
        readings,
        surface,
        values.maybe("closing"),
        graduation,
        values.number("sag"),
        values.number("lift"),
    )


def _doubt(dial: DialSet) -> float:
    """Standard uncertainty of one reading: half a graduation, for the hand as well (judgement)."""
    return dial.graduation / 2.0


def _shape(dial: DialSet, found: Harmonics, radius: float | None) -> list[Result]:
    where = None if found.direction is None else clock_words(found.direction)
    if dial.surface == "face":
        shown = [Result("high_side", "stands nearest the dial at", where)]
        if radius is not None:
            shown.append(Result("tilt", "tilt", 1000.0 * tilt(found, radius), "mm in a metre"))
        if found.twice is not None:
            shown.append(Result("twice", "warp, twice a turn", 2.0 * found.twice, "mm"))
        return shown
    shown = [
        Result("offset", "centre is off by", found.once, "mm"),
        Result("offset_doubt", "give or take", found.doubt * _doubt(dial), "mm"),
        Result("direction", "toward", where),
        Result("direction_degrees", "degrees from 12 o'clock", found.direction, "degrees"),
    ]
    both = pairs(dial)
    if both is not None:
        shown.append(Result("vertical", "12 less 6 o'clock", both.vertical, "mm"))
        shown.append(Result("horizontal", "9 less 3 o'clock", both.horizontal, "mm"))
    oval = ovality(found)
    if oval is not None:
        label = "ovality" if found.all_oval else "ovality, along the diameters read"
        shown.append(Result("ovality", label, oval, "mm"))
    return shown


def _other_convention(dial: DialSet, values: Values) -> list[Result]:
    if values.word("convention") == "max-min":
        return []
    label = "NOT the usual T.I.R.: vertical plus horizontal total"
    return [Result("totals", label, tir(dial, convention="totals"), "mm")]


def _limits(part: Part | None, values: Values) -> list[Limit]:
    own = values.maybe("limit")
    if own is not None:
        return [Limit(own, "maker", "the figure you gave")]
    if part is None:
        return []
    return list(limits_for(part, size=values.word("size"), radius=values.maybe("radius")))


def _judged(reading: float, limits: list[Limit], doubt: float) -> list[Result]:
    """Two readings make one T.I.R., so the doubt of both is in it."""
    shown = []
    for n, limit in enumerate(limits, 1):
        chance = conformity(reading, sqrt(2.0) * doubt, upper=limit.tir)
        shown.append(
            Result(f"limit_{n}", f"limit ({limit.source}, {limit.about})", limit.tir, "mm")
        )
        shown.append(Result(f"within_limit_{n}", "  truly within it", chance, "share"))
    return shown


def _remarks(dial: DialSet, found: Harmonics) -> list[str]:
    notes = [
        "Clock positions are seen from the gearbox, looking at the engine; plus is plunger in.",
        "Doubt of one reading is taken as half a graduation (judgement).",
    ]
    if dial.closes is None:
        notes.append(
            "No reading back at the first position was given. If the dial does not come back to "
            "its zero there, the set is void."
        )
    if dial.surface == "face":
        notes.append("Take up the end float the same way before every reading.")
    if found.once < 2.0 * found.doubt * _doubt(dial):
        notes.append("That is within the doubt of the dial: the direction means nothing.")
    if not found.all_oval and dial.surface != "face":
        notes.append("Four positions can't show an oval that lies between them; read eight.")
    crossed = cross_difference(dial)
    if crossed is not None and abs(crossed) > 4.0 * hypot(_doubt(dial), _doubt(dial)):
        notes.append(
            f"Top and bottom less left and right is {say(crossed, 'mm')}. By a rule that no source "
            "here confirms a good set gives 0; an oval part breaks it as well. Read once more."
        )
    return notes


def _dowels(found: Harmonics, values: Values, surface: Surface) -> tuple[list[Result], list[str]]:
    if values.word("part") != "housing-bore":
        raise CalculatorError(
            f"Offset dowels move a housing bore, not a {surface}.", "Leave out the dowels."
        )
    choice = offset_dowels(found.once, found.direction, values.numbers("dowels"))
    where = None if choice.direction is None else clock_words(choice.direction)
    results = [
        Result("dowel", "dowel throw to take (0: straight dowels)", choice.throw, "mm"),
        Result("dowel_direction", "point the throw of both dowels to", where),
        Result("dowel_degrees", "degrees from 12 o'clock", choice.direction, "degrees"),
        Result("left_tir", "T.I.R. left by the offset", 2.0 * choice.remaining, "mm"),
    ]
    return results, ["The throw is how far a dowel moves the housing. Fit, then read again."]


RUNOUT = Calculator(
    "runout",
    "Dial readings round a bore, a shaft or a face: T.I.R., offset and its direction, oval, tilt.",
    (
        Option("readings", "dial readings, 4 or more", unit="mm", required=True, many=True),
        Option("at", "clock positions of the readings; else evenly spaced from 12", many=True),
        Option("closing", "reading back at the first position", unit="mm"),
        Option("part", "what was read", choices=tuple(_PARTS), default="housing-bore"),
        Option(
            "graduation",
            "division of the dial; 0.01 mm or 0.001 in if left out, by the unit of the readings",
            unit="mm",
            low=1e-4,
            high=1,
        ),
        Option(
            "sag",
            "what dial and bracket read at the bottom of a straight pipe, zeroed at its top",
            unit="mm",
            default="0 mm",
        ),
        Option(
            "lift",
            "reading when the crank is lifted in its bearings",
            unit="mm",
            default="0 mm",
            low=0,
        ),
        Option("radius", "radius that the dial stands at on a face", unit="mm", low=1),
        Option("size", "SAE size of the housing", choices=SIZES),
        Option("limit", "limit by the maker, instead of published ones", unit="mm", low=1e-6),
        Option("dowels", "throws of offset dowels to be had", unit="mm", many=True, low=1e-6),
        Option(
            "convention",
            "what to call T.I.R.; totals is added beside it, and few mean that",
            choices=("max-min", "totals"),
            default="max-min",
        ),
        LENGTH_UNIT,
    ),
    _runout,
    (
        "R-TIR-1, R-TIR-2: highest less lowest reading, which must close on zero",
        "R-TIR-3, R-TIR-4: crank lift; R-TIR-5: offset is half of the reading, sag",
        "R-RUNOUT-1 to R-RUNOUT-5: limits",
    ),
    ("battery_off",),
)


def _bolt(values: Values) -> Outcome:
    thread = bolts.thread_of(values.word("size"))
    area = bolts.stress_area(thread)
    own = values.maybe("proof")
    if own is None and not values.given("grade"):
        raise CalculatorError("The grade is missing.", "Give the grade or the proof strength.")
    strength = bolts.grade_of(values.word("grade"), thread).proof_strength if own is None else own
    factor = values.maybe("factor")
    if factor is None:
        factor = bolts.NUT_FACTORS[values.word("surface")]
    share = bolts.REUSABLE if values.word("use") == "reusable" else bolts.PERMANENT
    proof = float(bolts.proof_load(strength, area))
    load = float(bolts.preload(proof, share))
    results = [
        Result("stress_area", "stress area", area, "mm2"),
        Result("proof_load", "proof load", proof, "N"),
        Result("preload", f"preload, {100 * share:.0f} % of it", load, "N"),
        Result("nut_factor", "nut factor K", factor),
        Result("torque", "torque", float(bolts.torque(factor, thread.diameter, load)), "N mm"),
    ]
    given = values.maybe("torque")
    if given is not None:
        reached = float(bolts.load_of_torque(factor, thread.diameter, given))
        results.append(Result("load_of_torque", "preload at the torque you gave", reached, "N"))
        results.append(Result("of_proof", "that is of the proof load", reached / proof, "share"))
    return Outcome(
        tuple(results),
        (
            "The nut factor decides: plain steel 0.30, zinc 0.20, oiled 0.18, cadmium 0.16, "
            "anti-seize 0.12. Tables that only say dry or lubricated differ by a third.",
            "Bolts that are tightened by angle, and those to be used once, follow the maker alone.",
        ),
    )


BOLT = Calculator(
    "bolt",
    "Torque for a bolt from its thread, grade and surface; or the preload that a torque gives.",
    (
        Option("size", "thread, like 3/8-16 or M10x1.25", required=True, positional=True),
        Option("grade", "grade on the head", choices=tuple(bolts.GRADES)),
        Option("proof", "proof strength, instead of a grade", unit="MPa", low=50, high=2000),
        Option("surface", "how the thread is", choices=tuple(bolts.NUT_FACTORS), default="zinc"),
        Option("factor", "nut factor K, instead of a surface", unit="", low=0.05, high=0.5),
        Option(
            "use",
            "whether it comes out again",
            choices=("reusable", "permanent"),
            default="reusable",
        ),
        Option("torque", "torque to judge", unit="N m", low=1),
    ),
    _bolt,
    ("R-BOLT-1: T = K d F", "R-BOLT-4 to R-BOLT-6: SAE J429 and ISO 898-1"),
    ("bolts_stretch",),
    "The maker's torque and pattern come before these.",
)
