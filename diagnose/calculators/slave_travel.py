"""Calculator of the slave's travel from the bores, and of what air, fluid and hose take of it."""

from typing import NamedTuple

from diagnose.calculators.calculator import Calculator, Outcome, ReadingOf, Result
from diagnose.calculators.option import LENGTH_UNIT, Option
from diagnose.calculators.values import CalculatorError, MissingError, Values
from diagnose.calculators.words import say
from diagnose.physics import hydraulics


class _Line(NamedTuple):
    """A line between two pistons: areas in mm2, strokes in mm."""

    master: float
    slave: float
    stroke: float
    full: float


def _slave_travel(values: Values) -> Outcome:
    line = _line(values)
    results = [
        Result("ratio", "slave travel per master travel", line.master / line.slave),
        Result("displaced", "displaced by the master", line.master * line.stroke, "mm3"),
        Result("travel", "slave travel if nothing is lost", line.full, "mm"),
    ]
    notes = ["The bore of the pipe makes no difference."]
    headline = f"The slave moves {say(line.full, 'mm')} if nothing is lost."
    pressure, lost = None, 0.0
    force = values.number("force")
    if force > 0.0:
        pressure = float(hydraulics.pressure_of(force, line.slave))
        parts = _losses(values, pressure)
        lost = sum(part.value for part in parts if isinstance(part.value, float))
        left = max(0.0, _arriving(line, lost))
        results += [
            Result("pressure", "pressure", pressure, "MPa"),
            *parts,
            Result("lost", "volume that does not arrive", lost, "mm3"),
            Result("travel_left", "slave travel left", left, "mm"),
        ]
        headline = f"The slave moves {say(left, 'mm')} against that force."
        if left <= 0.0:
            notes.insert(0, "All of it is lost: the slave does not move against that force.")
    else:
        _refuse_losses(values)
        notes.append("With the force at the slave, air, fluid and hose are counted as well.")
    if values.given("hose-swell"):
        notes.append("Take the swelling from the hose's maker: no limit for it is confirmed here.")
    if values.given("measured"):
        results += _missing(values, line, pressure, lost)
        notes += _remarks(values, line)
        expected = max(0.0, _arriving(line, lost))
        measured = say(values.number("measured"), "mm")
        headline = f"{measured} measured where {say(expected, 'mm')} is expected."
    return Outcome(tuple(results), tuple(notes), headline=headline)


def _line(values: Values) -> _Line:
    bore, core = values.number("slave"), values.number("core")
    if core >= bore:
        raise CalculatorError("The core of a slave is smaller than its bore.", "Swap the two.")
    master = float(hydraulics.bore_area(values.number("master")))
    slave = float(hydraulics.ring_area(bore, core))
    stroke = values.maybe("stroke")
    if stroke is None:
        pad, ratio = values.maybe("pedal"), values.maybe("pedal-ratio")
        if pad is None or ratio is None:
            raise MissingError(
                "The master's stroke is missing.", "Give it, or pedal travel and pedal ratio."
            )
        stroke = max(0.0, pad - values.number("play")) / ratio
    full = float(hydraulics.slave_travel(stroke, master, slave))
    return _Line(master, slave, stroke, full)


def _arriving(line: _Line, lost: float) -> float:
    return float(hydraulics.slave_travel(line.stroke, line.master, line.slave, lost))


def _losses(values: Values, pressure: float) -> list[Result]:
    """What takes volume under a pressure; a fluid needs its stiffness, a hose its swelling."""
    shown = []
    air = values.number("air")
    if air > 0.0:
        taken = float(hydraulics.air_loss(air, pressure))
        shown.append(Result("lost_air", "  squeezed out of the air", taken, "mm3"))
    fluid = values.maybe("fluid")
    if fluid is not None:
        taken = float(hydraulics.compression_loss(fluid, pressure, values.number("modulus")))
        shown.append(Result("lost_fluid", "  squeezed out of the fluid", taken, "mm3"))
    hose = values.maybe("hose")
    if hose is not None:
        taken = float(hydraulics.hose_loss(hose, pressure, values.number("hose-swell")))
        shown.append(Result("lost_hose", "  taken by the hose", taken, "mm3"))
    return shown


def _refuse_losses(values: Values) -> None:
    """Refuse what has no meaning without a pressure."""
    if values.number("air") > 0.0:
        raise MissingError("Air is squeezed by pressure.", "Give the force at the slave too.")
    for name, what in (("fluid", "Fluid is squeezed"), ("hose", "A hose swells")):
        if values.given(name):
            raise MissingError(f"{what} by pressure.", "Give the force at the slave too.")


def _missing(values: Values, line: _Line, pressure: float | None, lost: float) -> list[Result]:
    """What a measured travel says of the volume."""
    measured = values.number("measured")
    gone = (line.full - measured) * line.slave
    shown = [
        Result("missing", "volume that did not arrive, by what you measured", gone, "mm3"),
    ]
    if line.full > 0.0:
        share = measured / line.full
        shown.append(
            Result("arrives", "of the full travel arrives", share, "share", f"{100 * share:.0f} %")
        )
    unexplained = gone - lost
    if pressure is not None and unexplained > 0.0:
        air = unexplained / float(hydraulics.air_loss(1.0, pressure))
        shown += [
            Result("unexplained", "  of it unexplained", unexplained, "mm3"),
            Result("as_air", "  as further trapped air", air, "mm3"),
        ]
    return shown


def _remarks(values: Values, line: _Line) -> list[str]:
    if values.number("measured") > line.full:
        return ["That is more than the bores can give: check bores, stroke and reading."]
    return ["What did not arrive may be air, a seal, a soft hose, or a bracket that gives."]


SLAVE_TRAVEL = Calculator(
    "slave-travel",
    "Slave travel",
    "Travel of the slave from the bores, and what air, fluid and hose take of it.",
    (
        Option(
            "master",
            "bore of the master",
            unit="mm",
            required=True,
            low=5,
            high=60,
            setup="master_bore",
        ),
        Option(
            "slave",
            "bore of the slave",
            unit="mm",
            required=True,
            low=5,
            high=120,
            setup="slave_bore",
        ),
        Option(
            "core",
            "inner diameter of the slave",
            "of one that sits round the shaft",
            unit="mm",
            default="0 mm",
            low=0,
            setup="slave_core",
        ),
        Option("stroke", "stroke of the master", unit="mm", low=0, high=200),
        Option(
            "pedal",
            "travel of the pedal pad",
            "instead of the stroke",
            unit="mm",
            low=1,
            high=400,
            setup="pedal_travel",
        ),
        Option(
            "pedal-ratio",
            "pedal ratio",
            "pad travel over push rod travel",
            unit="",
            low=1,
            high=20,
            setup="pedal_ratio",
        ),
        Option(
            "play",
            "play at the pad",
            "its travel before the rod moves",
            unit="mm",
            default="0 mm",
            low=0,
            setup="pedal_play",
        ),
        Option(
            "measured",
            "travel as measured",
            "at the slave's push rod, pedal at its stop",
            unit="mm",
            low=0,
            high=200,
        ),
        LENGTH_UNIT,
        Option(
            "force",
            "force at the slave",
            "with the pedal down",
            unit="N",
            default="0 N",
            low=0,
            high=1e5,
            seldom=True,
            setup="fork_load",
        ),
        Option(
            "air",
            "trapped air",
            "its volume with no pressure on it",
            unit="cm3",
            default="0 cm3",
            low=0,
            high=1e5,
            seldom=True,
            setup="air",
        ),
        Option(
            "fluid",
            "fluid under pressure",
            unit="cm3",
            low=0,
            high=1e6,
            seldom=True,
            setup="fluid",
        ),
        Option(
            "modulus",
            "bulk modulus of the fluid",
            unit="MPa",
            low=100,
            high=1e5,
            seldom=True,
            setup="fluid_modulus",
        ),
        Option(
            "hose",
            "length of the hose",
            unit="mm",
            low=0,
            high=1e4,
            seldom=True,
            setup="hose_length",
        ),
        Option(
            "hose-swell",
            "swelling of the hose",
            "in cm³ for each metre and MPa",
            unit="",
            low=0,
            high=20,
            seldom=True,
            setup="hose_swell",
        ),
    ),
    _slave_travel,
    (
        "R-HYD-1: stroke times the square of the bores",
        "R-HYD-2: ring area",
        "R-HYD-5: Boyle",
        "R-HOSE-1: swelling in proportion to length and pressure",
    ),
    ("pinch",),
    readings=(ReadingOf("fork_tip_travel", option="measured"),),
)
