"""Calculator of dial readings round a bore, a shaft or a face."""

from math import hypot, sqrt

from diagnose.calculators.calculator import Calculator, Outcome, ReadingOf, Result, Turn
from diagnose.calculators.option import LENGTH_UNIT, Option
from diagnose.calculators.values import CalculatorError, Values
from diagnose.calculators.words import say
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
    limits = _limits(part, values)
    results += _judged(reading, limits, _doubt(dial))
    notes = _remarks(dial, found)
    if values.given("dowels"):
        dowel_results, dowel_notes = _dowels(found, values, surface)
        results += dowel_results
        notes += dowel_notes
    turn = Turn(dial.angles, tuple(t.strip() for t in values.words("readings")), found.direction)
    return Outcome(
        tuple(results),
        tuple(notes),
        headline=_headline(reading, limits, closed=bool(dial.closes)),
        turn=turn,
    )


def _headline(reading: float, limits: list[Limit], *, closed: bool) -> str:
    beyond = sum(reading > limit.tir for limit in limits)
    if not limits:
        judged = ""
    elif len(limits) == 1:
        judged = ": above the limit" if beyond else ": within the limit"
    else:
        judged = f": above {beyond} of {len(limits)} limits" if beyond else ": within every limit"
    still = "" if closed else " The set is not closed yet."
    return f"T.I.R. {say(reading, 'mm')}{judged}.{still}"


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
        _in_two_figures("offset_doubt", "give or take", found.doubt * _doubt(dial)),
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


def _in_two_figures(key: str, label: str, value: float) -> Result:
    """Give a doubt, which is not known any better."""
    return Result(key, label, value, "mm", say(value, "mm", figures=2))


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
    "Dial readings",
    "Dial readings round a bore, a shaft or a face: T.I.R., offset and its direction, oval, tilt.",
    (
        Option("part", "what was read", choices=tuple(_PARTS), default="housing-bore"),
        Option(
            "readings",
            "dial readings",
            "4 or more, clockwise from 12, like 0 3 -2 3 thou; plus is plunger in",
            unit="mm",
            required=True,
            many=True,
        ),
        Option(
            "closing",
            "back at the first place",
            "the reading there once more: it must be the first one again",
            unit="mm",
        ),
        Option(
            "at",
            "clock positions",
            "where the readings were taken, like 1:30 4:30 7:30 10:30; evenly spaced from 12 if "
            "left out",
            many=True,
        ),
        Option(
            "size",
            "SAE size of the housing",
            "for the limits of a housing",
            choices=SIZES,
        ),
        LENGTH_UNIT,
        Option(
            "radius",
            "radius of the dial on a face",
            "for the tilt, and the limit of a flywheel",
            unit="mm",
            low=1,
            seldom=True,
        ),
        Option(
            "limit",
            "limit by the maker",
            "instead of published ones",
            unit="mm",
            low=1e-6,
            seldom=True,
        ),
        Option(
            "sag",
            "sag of dial and bracket",
            "what they read at the bottom of a straight pipe, zeroed at its top; minus",
            unit="mm",
            default="0 mm",
            seldom=True,
        ),
        Option(
            "lift",
            "lift of the crank",
            "reading when the crank is lifted in its bearings",
            unit="mm",
            default="0 mm",
            low=0,
            seldom=True,
        ),
        Option(
            "graduation",
            "division of the dial",
            "0.01 mm or 0.001 in if left out, by the unit of the readings",
            unit="mm",
            low=1e-4,
            high=1,
            seldom=True,
        ),
        Option(
            "dowels",
            "offset dowels to be had",
            "their throws",
            unit="mm",
            many=True,
            low=1e-6,
            seldom=True,
        ),
        Option(
            "convention",
            "what to call T.I.R.",
            "totals is added beside it, and few mean that",
            choices=("max-min", "totals"),
            default="max-min",
            seldom=True,
        ),
    ),
    _runout,
    (
        "R-TIR-1, R-TIR-2: highest less lowest reading, which must close on zero",
        "R-TIR-3, R-TIR-4: crank lift; R-TIR-5: offset is half of the reading, sag",
        "R-RUNOUT-1 to R-RUNOUT-5: limits",
    ),
    ("battery_off",),
    readings=tuple(
        ReadingOf(measurement, result="tir", instrument="dial", when={"part": part})
        for part, measurement in (
            ("housing-bore", "bore_runout"),
            ("housing-face", "housing_face_runout"),
            ("flywheel-face", "flywheel_runout"),
            ("pilot-bore", "pilot_bore_runout"),
            ("disc-face", "disc_runout"),
        )
    ),
)
