"""Calculators of the release system: slave travel, stack or fork."""

from diagnose.calculators.calculator import (
    LENGTH_UNIT,
    Calculator,
    CalculatorError,
    Option,
    Outcome,
    Result,
    Values,
)
from diagnose.physics import hydraulics
from diagnose.physics.figures import Parameter
from diagnose.physics.fork import Layout
from diagnose.physics.fork_check import (
    HYPOTHESES,
    ForkCheck,
    Hypothesis,
    Quantity,
    Read,
    check_fork,
    pivot_spacer,
)
from diagnose.physics.release_system import Cover
from diagnose.physics.uncertainty import from_rectangle


def _slave_travel(values: Values) -> Outcome:
    bore, core = values.number("slave"), values.number("core")
    if core >= bore:
        raise CalculatorError("The core of a slave is smaller than its bore.", "Swap the two.")
    master = float(hydraulics.bore_area(values.number("master")))
    slave = float(hydraulics.ring_area(bore, core))
    stroke = values.maybe("stroke")
    if stroke is None:
        pad, ratio = values.maybe("pedal"), values.maybe("pedal-ratio")
        if pad is None or ratio is None:
            raise CalculatorError(
                "The master's stroke is missing.", "Give it, or pedal travel and pedal ratio."
            )
        stroke = max(0.0, pad - values.number("play")) / ratio
    full = float(hydraulics.slave_travel(stroke, master, slave))
    results = [
        Result("ratio", "slave travel per master travel", master / slave),
        Result("displaced", "displaced by the master", master * stroke, "mm3"),
        Result("travel", "slave travel if nothing is lost", full, "mm"),
    ]
    notes = ["The bore of the pipe makes no difference. Hose and fluid give a little as well."]
    air, force = values.number("air"), values.number("force")
    if air > 0.0 and force == 0.0:
        raise CalculatorError("Air is squeezed by pressure.", "Give the force at the slave too.")
    if force > 0.0:
        pressure = float(hydraulics.pressure_of(force, slave))
        lost = float(hydraulics.air_loss(air, pressure))
        left = float(hydraulics.slave_travel(stroke, master, slave, lost))
        results += [
            Result("pressure", "pressure", pressure, "MPa"),
            Result("lost", "volume that the air takes", lost, "mm3"),
            Result("travel_left", "slave travel left", max(0.0, left), "mm"),
        ]
        if left <= 0.0:
            notes.append("The air takes all of it: the slave does not move against that force.")
    return Outcome(tuple(results), tuple(notes))


SLAVE_TRAVEL = Calculator(
    "slave-travel",
    "Travel of the slave from the bores, and what trapped air takes of it.",
    (
        Option("master", "bore of the master", unit="mm", required=True, low=5, high=60),
        Option("slave", "bore of the slave", unit="mm", required=True, low=5, high=120),
        Option(
            "core", "inner diameter of a slave round the shaft", unit="mm", default="0 mm", low=0
        ),
        Option("stroke", "stroke of the master", unit="mm", low=0, high=200),
        Option(
            "pedal", "travel of the pedal pad, instead of the stroke", unit="mm", low=1, high=400
        ),
        Option("pedal-ratio", "pad travel over push rod travel", unit="", low=1, high=20),
        Option("play", "pad travel before the rod moves", unit="mm", default="0 mm", low=0),
        Option("air", "trapped air", unit="cm3", default="0 cm3", low=0, high=1e5),
        Option("force", "force at the slave", unit="N", default="0 N", low=0, high=1e5),
        LENGTH_UNIT,
    ),
    _slave_travel,
    ("R-HYD-1: stroke times the square of the bores", "R-HYD-2: ring area", "R-HYD-5: Boyle"),
    ("pinch",),
)

_SAID: dict[Hypothesis, str] = {
    "nothing": "nothing wrong here",
    "stack": "stack: disc, flywheel step, cover not down",
    "fork": "pivot, fork or bearing",
    "hydraulics": "hydraulics or pedal",
    "none_of_these": "none of these alone, or a reading is wrong",
}
_NEXT: dict[Hypothesis, str] = {
    "nothing": "All three agree with the kit's figures.",
    "stack": "Fingers and free travel are off together, in the ratio of the fork. The clutch comes "
    "off: disc thickness and side, flywheel step, cover down on its face.",
    "fork": "The free travel is off and the fingers are not to blame. Look at pivot and its "
    "spacer, fork and bearing before the clutch itself.",
    "hydraulics": "Inside all is right; the fork tip does not get its travel, or gets too much. "
    "Pedal and its stop, master, line and slave, from outside.",
    "none_of_these": "No single fault explains these. Measure again; then think of two at once.",
}


def _stack_or_fork(values: Values) -> Outcome:
    deep = -1.0 if values.word("fingers-told") == "depth" else 1.0
    tried: dict[Quantity, Read | None] = {
        "finger_height": _read(values, "fingers", deep),
        "fork_free_travel": _read(values, "free-travel", 1.0),
        "fork_tip_travel": _read(values, "tip-travel", 1.0),
    }
    read = {quantity: taken for quantity, taken in tried.items() if taken is not None}
    ratio = values.number("fork-ratio")
    cover: Cover = "pull" if values.word("cover") == "pull" else "push"
    found = check_fork(read, Parameter(ratio, 0.02 * ratio), cover=cover)
    results = [Result(h, _SAID[h], found.chances[h], "share") for h in HYPOTHESES]
    best = found.likeliest
    notes = [_NEXT[best]]
    sizes = _sizes(found, values, ratio) if best in {"stack", "fork"} else []
    if len(read) < 2:
        notes.append("One reading separates little: take finger height and free travel both.")
    notes.append(
        "Before the readings the four had equal chances, one fault at a time (judgement). The "
        "ratio of the fork counts with 2 % doubt."
    )
    cautions = []
    free = values.maybe("free-travel")
    if free is not None and free <= 0.0:
        cautions.append("stop_no_travel")
    if best == "stack" and (found.fingers_out or 0.0) > 0.0:
        cautions.append("stop_fingers")
    return Outcome((*results, *sizes), tuple(notes), tuple(cautions))


def _read(values: Values, name: str, sign: float) -> Read | None:
    value, kit = values.maybe(name), values.numbers(f"kit-{name}")
    if value is None:
        return None
    if len(kit) not in {1, 2}:
        raise CalculatorError(
            f"The kit's figure for {name} is missing.",
            f"Give kit-{name} from its sheet: one figure, or lowest and highest.",
        )
    half = abs(kit[1] - kit[0]) / 2.0 if len(kit) == 2 else values.number("tolerance")
    middle = sum(kit) / len(kit)
    return Read(
        sign * value, values.number(f"doubt-{name}"), Parameter(sign * middle, from_rectangle(half))
    )


def _sizes(found: ForkCheck, values: Values, ratio: float) -> list[Result]:
    if found.likeliest == "stack":
        return _stack_sizes(found.fingers_out, values)
    lost = found.free_travel_lost
    if lost is None:
        return []
    shown = [Result("free_travel_lost", "free travel lost to the fork side", lost, "mm")]
    layout: Layout = "middle_pivot" if values.word("layout") == "middle-pivot" else "outboard_pivot"
    if values.given("layout") and (layout == "middle_pivot" or ratio > 1.0):
        spacer = pivot_spacer(lost, ratio, layout)
        label = "as a spacer left under the pivot" if spacer > 0 else "as missing under the pivot"
        shown.append(Result("spacer", label, abs(spacer), "mm"))
    return shown


def _stack_sizes(out: float | None, values: Values) -> list[Result]:
    if out is None:
        return []
    label = "fingers stand out by" if out > 0.0 else "fingers are sunk (minus) by"
    shown = [Result("fingers_out", label, out, "mm")]
    lever = values.maybe("diaphragm-ratio")
    if lever is not None:
        thin = (-out if values.word("cover") == "pull" else out) / lever
        label = "as a stack too thin by" if thin > 0.0 else "as a stack too thick (minus) by"
        shown.append(Result("stack_thin", label, thin, "mm"))
    return shown


STACK_OR_FORK = Calculator(
    "stack-or-fork",
    "Finger height and free travel against the kit's figures: stack, fork, or hydraulics?",
    (
        Option("fingers", "finger height as measured", unit="mm"),
        Option(
            "kit-fingers",
            "finger height by the kit: one, or lowest and highest",
            unit="mm",
            many=True,
        ),
        Option(
            "fingers-told",
            "height: more is nearer the gearbox; depth: measured down from a straightedge",
            choices=("height", "depth"),
            default="height",
        ),
        Option("free-travel", "free travel at the fork end; 0 if it won't move", unit="mm", low=0),
        Option(
            "kit-free-travel",
            "free travel by the kit: one, or lowest and highest",
            unit="mm",
            many=True,
            low=0,
        ),
        Option("tip-travel", "travel of the fork end with the pedal down", unit="mm", low=0),
        Option(
            "kit-tip-travel",
            "tip travel by the kit: one, or lowest and highest",
            unit="mm",
            many=True,
            low=0,
        ),
        Option(
            "fork-ratio",
            "pivot to tip over pivot to bearing",
            unit="",
            required=True,
            low=0.5,
            high=10,
        ),
        Option(
            "tolerance",
            "half width of the kit's figures given singly",
            unit="mm",
            default="1 mm",
            low=0,
        ),
        Option(
            "doubt-fingers",
            "standard doubt of the finger height",
            unit="mm",
            default="0.4 mm",
            low=0.01,
        ),
        Option(
            "doubt-free-travel",
            "standard doubt of the free travel",
            unit="mm",
            default="1.5 mm",
            low=0.01,
        ),
        Option(
            "doubt-tip-travel",
            "standard doubt of the tip travel",
            unit="mm",
            default="1.5 mm",
            low=0.01,
        ),
        Option(
            "cover", "how the fingers move to release", choices=("push", "pull"), default="push"
        ),
        Option(
            "layout",
            "where the pivot is, for the spacer",
            choices=("outboard-pivot", "middle-pivot"),
        ),
        Option(
            "diaphragm-ratio",
            "finger travel over plate lift, for the stack",
            unit="",
            low=1,
            high=12,
        ),
        LENGTH_UNIT,
    ),
    _stack_or_fork,
    (
        "the release chain: common practice; sizes of faults: judgement",
        "R-DECIDE-1: chances from doubts",
    ),
    ("lifting", "gearbox_jack", "pinch"),
    "The kit's own sheet comes before these.",
)
