"""Calculator that tells stack from fork by finger height, free travel and tip travel."""

from diagnose.calculators.calculator import Calculator, Outcome, ReadingOf, Result
from diagnose.calculators.option import LENGTH_UNIT, Option
from diagnose.calculators.values import MissingError, Values
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
    if not read:
        raise MissingError(
            "There is no reading to judge yet.", "Measure finger height and free travel."
        )
    ratio = values.number("fork-ratio")
    cover: Cover = "pull" if values.word("cover") == "pull" else "push"
    found = check_fork(read, Parameter(ratio, 0.02 * ratio), cover=cover)
    ranked = sorted(HYPOTHESES, key=lambda h: -found.chances[h])
    results = [Result(h, _SAID[h], found.chances[h], "share") for h in ranked]
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
    headline = f"Most likely {_SAID[best]}." if found.chances[best] >= 0.5 else "Not settled yet."
    return Outcome((*results, *sizes), tuple(notes), tuple(cautions), headline)


def _read(values: Values, name: str, sign: float) -> Read | None:
    value, kit = values.maybe(name), values.numbers(f"kit-{name}")
    if value is None:
        return None
    if len(kit) not in {1, 2}:
        raise MissingError(
            f"The kit's figure is missing: {values.options[f'kit-{name}'].label}.",
            "Give it from its sheet: one figure, or lowest and highest.",
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


_BY_THE_KIT = "of the kit's sheet: one figure, or lowest and highest"

STACK_OR_FORK = Calculator(
    "stack-or-fork",
    "Stack or fork?",
    "Finger height and free travel against the kit's figures: stack, fork, or hydraulics?",
    (
        Option("fingers", "finger height", "as measured", unit="mm"),
        Option(
            "kit-fingers",
            "finger height by the kit",
            _BY_THE_KIT,
            unit="mm",
            many=True,
            setup="finger_height",
            setup_if=("fingers-told", "height"),
        ),
        Option(
            "free-travel",
            "free travel at the fork end",
            "0 if it won't move",
            unit="mm",
            low=0,
        ),
        Option(
            "kit-free-travel",
            "free travel by the kit",
            _BY_THE_KIT,
            unit="mm",
            many=True,
            low=0,
            setup="fork_free_travel",
        ),
        Option("tip-travel", "travel of the fork end", "with the pedal down", unit="mm", low=0),
        Option(
            "kit-tip-travel",
            "its travel by the kit",
            _BY_THE_KIT,
            unit="mm",
            many=True,
            low=0,
            setup="fork_tip_travel",
        ),
        Option(
            "fork-ratio",
            "fork ratio",
            "pivot to tip over pivot to bearing",
            unit="",
            required=True,
            low=0.5,
            high=10,
            setup="fork_ratio",
        ),
        LENGTH_UNIT,
        Option(
            "fingers-told",
            "finger height is told as",
            "height: more is nearer the gearbox; depth: measured down from a straightedge",
            choices=("height", "depth"),
            default="height",
            seldom=True,
        ),
        Option(
            "cover",
            "to release, the fingers are",
            "pushed toward the engine or pulled toward the gearbox",
            choices=("push", "pull"),
            default="push",
            seldom=True,
            setup="cover",
        ),
        Option(
            "layout",
            "pivot of the fork",
            "outboard, or between bearing and slave: for the spacer",
            choices=("outboard-pivot", "middle-pivot"),
            seldom=True,
            setup="fork",
        ),
        Option(
            "diaphragm-ratio",
            "diaphragm ratio",
            "finger travel over plate lift, for the stack",
            unit="",
            low=1,
            high=12,
            seldom=True,
            setup="diaphragm_ratio",
        ),
        Option(
            "tolerance",
            "tolerance of a single kit figure",
            "half its width",
            unit="mm",
            default="1 mm",
            low=0,
            seldom=True,
        ),
        Option(
            "doubt-fingers",
            "doubt of the finger height",
            "as one standard deviation",
            unit="mm",
            default="0.4 mm",
            low=0.01,
            seldom=True,
        ),
        Option(
            "doubt-free-travel",
            "doubt of the free travel",
            "as one standard deviation",
            unit="mm",
            default="1.5 mm",
            low=0.01,
            seldom=True,
        ),
        Option(
            "doubt-tip-travel",
            "doubt of the tip travel",
            "as one standard deviation",
            unit="mm",
            default="1.5 mm",
            low=0.01,
            seldom=True,
        ),
    ),
    _stack_or_fork,
    (
        "the release chain: common practice; sizes of faults: judgement",
        "R-DECIDE-1: chances from doubts",
    ),
    ("lifting", "gearbox_jack", "pinch"),
    "The kit's own sheet comes before these.",
    readings=(
        ReadingOf("finger_height", option="fingers", when={"fingers-told": "height"}),
        ReadingOf("fork_free_travel", option="free-travel"),
        ReadingOf("fork_tip_travel", option="tip-travel"),
    ),
)
