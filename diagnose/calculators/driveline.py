"""Calculators of the driveline: torque capacity, and what turns at a frequency."""

from diagnose.calculators.calculator import AnswerTo, Calculator, Outcome, Result
from diagnose.calculators.option import LENGTH_UNIT, Option
from diagnose.calculators.values import CalculatorError, MissingError, Values
from diagnose.calculators.words import digits, say, sentence
from diagnose.physics import orders
from diagnose.physics import torque_capacity as capacity


def _torque(values: Values) -> Outcome:
    outer, inner = values.number("outer"), values.number("inner")
    if inner >= outer:
        raise CalculatorError("The inner diameter is below the outer one.", "Swap the two.")
    discs = values.whole("discs") or 1
    faces = capacity.friction_faces(discs + 1, discs)
    friction, clamp = values.number("friction"), values.number("clamp")
    bedded = float(
        capacity.torque_capacity(faces, friction, clamp, capacity.wear_radius(outer, inner))
    )
    new = float(
        capacity.torque_capacity(faces, friction, clamp, capacity.pressure_radius(outer, inner))
    )
    results = [
        Result("faces", "friction faces", faces),
        Result("bedded", "holds, bedded in (uniform wear)", bedded, "N mm"),
        Result("new", "holds, even pressure (new, flat facing)", new, "N mm"),
    ]
    engine = values.maybe("engine")
    notes = ["A new facing that is not bedded holds less: its friction is not there yet."]
    headline = f"It holds {say(bedded, 'N mm')}."
    if engine is not None:
        margin = float(capacity.slip_margin(bedded, engine))
        results.append(Result("margin", "bedded capacity over engine torque", margin))
        if margin < 1.0:
            notes.append("Below 1 it slips at full load.")
        headline = f"It holds {say(bedded, 'N mm')}, {digits(margin)} times the engine's torque."
    return Outcome(tuple(results), tuple(notes), headline=headline)


TORQUE = Calculator(
    "torque",
    "Torque capacity",
    "Torque that a clutch holds, and its margin over the engine.",
    (
        Option(
            "outer",
            "outer diameter of the facing",
            unit="mm",
            required=True,
            low=50,
            high=600,
            setup="facing_outer",
        ),
        Option(
            "inner",
            "inner diameter of the facing",
            unit="mm",
            required=True,
            low=0,
            high=500,
            setup="facing_inner",
        ),
        Option(
            "clamp",
            "clamp load",
            "of the cover on the discs, pedal up",
            unit="N",
            required=True,
            low=1,
            high=1e6,
            setup="clamp_load",
        ),
        Option(
            "friction",
            "coefficient of friction",
            unit="",
            required=True,
            low=0.01,
            high=1,
            setup="friction",
        ),
        Option("discs", "number of discs", unit="", default="1", low=1, high=8, setup="discs"),
        Option("engine", "engine torque", unit="N m", low=1000, setup="engine_torque"),
        LENGTH_UNIT,
    ),
    _torque,
    ("R-TORQUE-1: Shigley ch. 16, Bhandari ch. 11",),
)

# What falls out once the frequency was tried with the pedal down, standing in neutral: what stands
# still then can't be what stays, and what turns on can't be what goes.
_RULED_OUT = {
    "": frozenset[str](),
    "stays": frozenset({"input_shaft", "slip"}),
    "goes": frozenset({"engine", "engine_half", "firing"}),
}


def _frequency(values: Values) -> Outcome:
    frequency = values.number("frequency")
    matches = _matches(values, frequency)
    fitting = [m.turning for m in matches if m.fits]
    bands = orders.bands_of(frequency)
    results = [
        Result(
            m.turning.id,
            f"{m.turning.part}{' - FITS' if m.fits else ''}",
            m.turning.frequency,
            "Hz",
        )
        for m in matches
    ]
    # What the clutch does while it takes up keeps its own frequency, whatever turns.
    judder = values.given("shaft") and any(b.id == "judder" for b in bands)
    alone = "judder" if judder else "nothing"
    parts = "; or ".join(turning.part for turning in fitting)
    shown = parts or ("nothing that turns: judder at take-up" if judder else "nothing that turns")
    results.append(Result("fits", "fits", ", ".join(t.id for t in fitting) or alone, "", shown))
    results.append(Result("bands", "felt as", ", ".join(b.id for b in bands) or "no named band"))
    notes = [
        f"{sentence(b.name)}: {digits(b.low)} to {digits(b.high)} Hz ({b.source})." for b in bands
    ]
    if len(fitting) > 1:
        notes.append(
            "Several fit: change gear or speed, or press the pedal standing in neutral, and see "
            "which one the frequency follows."
        )
    headline = f"{digits(frequency)} Hz: {shown}."
    return Outcome(tuple(results), tuple(notes), headline=headline)


def _matches(values: Values, frequency: float) -> tuple[orders.Match, ...]:
    gear, axle = values.maybe("gear-ratio"), values.maybe("axle-ratio")
    if axle is not None and gear is None:
        raise MissingError("The gear ratio is missing.", "Without it the wheels are unknown.")
    turning = orders.turning_parts(
        values.number("engine"),
        cylinders=values.whole("cylinders"),
        shaft_speed=values.maybe("shaft"),
        gear_ratio=gear,
        axle_ratio=axle,
    )
    ruled_out = _RULED_OUT[values.word("pedal-down")]
    return orders.match(
        frequency,
        [part for part in turning if part.id not in ruled_out],
        frequency_uncertainty=values.number("doubt"),
        speed_uncertainty=values.number("speed-doubt"),
    )


FREQUENCY = Calculator(
    "frequency",
    "What turns as fast",
    "Which part turns at a frequency: engine, firing, disc, propshaft, wheels.",
    (
        Option(
            "frequency",
            "frequency felt or read",
            unit="Hz",
            required=True,
            positional=True,
            low=0.1,
            high=2e4,
        ),
        Option("engine", "engine speed", unit="1/min", required=True, low=50, high=2e4),
        Option(
            "pedal-down",
            "with the pedal down it",
            "tried standing in neutral: stays or goes",
            choices=("stays", "goes"),
        ),
        Option("cylinders", "cylinders", "of a four-stroke engine", unit="", low=1, high=24),
        Option("gear-ratio", "ratio of the gear", "left out in neutral", unit="", low=0.2, high=30),
        Option("axle-ratio", "ratio of the axle", unit="", low=0.5, high=30),
        Option(
            "shaft",
            "input shaft speed",
            "where the clutch slips or lets go",
            unit="1/min",
            low=0,
            high=2e4,
            seldom=True,
        ),
        Option(
            "doubt",
            "doubt of the frequency",
            "as one standard deviation",
            unit="Hz",
            default="0.5 Hz",
            low=0.01,
            seldom=True,
        ),
        Option(
            "speed-doubt",
            "doubt of the speeds",
            "as one standard deviation, a share of them",
            unit="",
            default="0.02",
            low=0,
            high=0.5,
            seldom=True,
        ),
    ),
    _frequency,
    ("R-JUDDER-1, R-NVH-1: bands", "R-RATTLE-1: cylinders/2 firings a turn"),
    ("road",),
    answers=(
        AnswerTo(
            "vibration_frequency",
            "fits",
            {
                "engine": "engine",
                "engine_half": "half_engine",
                "input_shaft": "input_shaft",
                "propshaft": "propshaft",
                "joints": "propshaft",
                "wheels": "wheels",
                "judder": "take_up",
                "nothing": "nothing",
            },
        ),
    ),
)
