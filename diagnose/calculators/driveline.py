"""Calculators of the driveline: torque capacity, and what turns at a frequency."""

from diagnose.calculators.calculator import (
    LENGTH_UNIT,
    Calculator,
    CalculatorError,
    Option,
    Outcome,
    Result,
    Values,
    digits,
)
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
    if engine is not None:
        margin = float(capacity.slip_margin(bedded, engine))
        results.append(Result("margin", "bedded capacity over engine torque", margin))
        if margin < 1.0:
            notes.append("Below 1 it slips at full load.")
    return Outcome(tuple(results), tuple(notes))


TORQUE = Calculator(
    "torque",
    "Torque that a clutch holds, and its margin over the engine.",
    (
        Option("outer", "outer diameter of the facing", unit="mm", required=True, low=50, high=600),
        Option("inner", "inner diameter of the facing", unit="mm", required=True, low=0, high=500),
        Option("clamp", "clamp load", unit="N", required=True, low=1, high=1e6),
        Option("friction", "coefficient of friction", unit="", required=True, low=0.01, high=1),
        Option("discs", "number of discs", unit="", default="1", low=1, high=8),
        Option("engine", "engine torque", unit="N m", low=1000),
        LENGTH_UNIT,
    ),
    _torque,
    ("R-TORQUE-1: Shigley ch. 16, Bhandari ch. 11",),
)


def _frequency(values: Values) -> Outcome:
    frequency = values.number("frequency")
    gear, axle = values.maybe("gear-ratio"), values.maybe("axle-ratio")
    if axle is not None and gear is None:
        raise CalculatorError("The gear ratio is missing.", "Without it the wheels are unknown.")
    turning = orders.turning_parts(
        values.number("engine"),
        cylinders=values.whole("cylinders"),
        shaft_speed=values.maybe("shaft"),
        gear_ratio=gear,
        axle_ratio=axle,
    )
    matches = orders.match(
        frequency,
        turning,
        frequency_uncertainty=values.number("doubt"),
        speed_uncertainty=values.number("speed-doubt"),
    )
    results = [
        Result(
            m.turning.id,
            f"{m.turning.part}{' - FITS' if m.fits else ''}",
            m.turning.frequency,
            "Hz",
        )
        for m in matches
    ]
    fitting = [m.turning.id for m in matches if m.fits]
    results.append(Result("fits", "fits", ", ".join(fitting) or "nothing that turns"))
    bands = orders.bands_of(frequency)
    results.append(Result("bands", "felt as", ", ".join(b.id for b in bands) or "no named band"))
    notes = [f"{b.name}: {digits(b.low)} to {digits(b.high)} Hz ({b.source})." for b in bands]
    if len(fitting) > 1:
        notes.append("Several fit: change gear or speed, and see which one the frequency follows.")
    return Outcome(tuple(results), tuple(notes))


FREQUENCY = Calculator(
    "frequency",
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
        Option("cylinders", "cylinders of a four-stroke engine", unit="", low=1, high=24),
        Option("shaft", "input shaft speed, where the clutch slips", unit="1/min", low=0, high=2e4),
        Option("gear-ratio", "ratio of the gear; left out in neutral", unit="", low=0.2, high=30),
        Option("axle-ratio", "ratio of the axle", unit="", low=0.5, high=30),
        Option("doubt", "standard doubt of the frequency", unit="Hz", default="0.5", low=0.01),
        Option(
            "speed-doubt",
            "standard doubt of the speeds, as a share",
            unit="",
            default="0.02",
            low=0,
            high=0.5,
        ),
    ),
    _frequency,
    ("R-JUDDER-1, R-NVH-1: bands", "R-RATTLE-1: cylinders/2 firings a turn"),
    ("road",),
)
