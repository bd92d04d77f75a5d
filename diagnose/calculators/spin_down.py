"""Calculator of the coasting input shaft."""

from math import inf

from diagnose.calculators.calculator import AnswerTo, Calculator, Outcome, ReadingOf, Result
from diagnose.calculators.option import Option
from diagnose.calculators.values import CalculatorError, MissingError, Values
from diagnose.physics import spin_down


def _spin_down(values: Values) -> Outcome:
    time, test = values.maybe("time"), values.word("test")
    results: list[Result] = []
    notes: list[str] = []
    if test == "wait":
        test_results, note = _wait_test(values)
    elif test == "grind":
        test_results, note = _grind_test(values)
    else:
        test_results, note = [], ""
    results += test_results
    if values.given("inertia"):
        results += _torques(values, time)
    if not results:
        raise MissingError(
            "There is nothing to work out yet.", "Give a test, or inertia with a time or a drag."
        )
    missing = [n.replace("-", " ") for n in ("oil-temperature", "idle") if not values.given(n)]
    if missing:
        notes.append(f"Write down {' and '.join(missing)} too: the time hangs on them.")
    return Outcome(tuple(results), tuple(notes), headline=note)


def _wait_test(values: Values) -> tuple[list[Result], str]:
    procedure = spin_down.WAIT_TEST
    if values.given("time"):
        raise CalculatorError(
            "The wait test has no time to read.",
            "Wait 9 s and say whether reverse clashed. A time of grinding is of the grind test.",
        )
    if not values.given("clash"):
        raise MissingError("The wait test needs its answer.", f"{procedure.do} Did it clash?")
    clashed = values.word("clash") == "yes"
    note = (
        "Reverse still clashes after 9 s: the shaft is driven or coasts too long."
        if clashed
        else "No clash after 9 s, as it should be."
    )
    return [Result("clash_after_9_s", f"clash after 9 s ({procedure.source})", clashed)], note


def _grind_test(values: Values) -> tuple[list[Result], str]:
    procedure = spin_down.GRIND_TEST
    time = values.maybe("time")
    if time is None:
        raise MissingError("The grind test needs its time.", procedure.do)
    chance = spin_down.grind_within_limit(time, uncertainty=values.number("doubt"))
    note = (
        "About 3 s or less is normal: by this test the clutch lets go, look at the shift mechanism."
        if time <= procedure.seconds
        else "Longer than about 3 s: pedal travel, fork travel, air or leak, bent fork, then disc "
        "and cover."
    )
    label = f"truly no longer than 3 s ({procedure.source})"
    return [Result("within_3_s", label, chance, "share")], note


def _torques(values: Values, time: float | None) -> list[Result]:
    idle, inertia, drag = values.number("idle"), values.number("inertia"), values.maybe("drag")
    shown: list[Result] = []
    if time is not None and values.word("test") != "wait":
        torque = spin_down.drag_torque(inertia, idle, time)
        shown.append(Result("mean_torque", "mean torque that stopped it", torque, "N mm"))
        if drag is not None:
            driving = spin_down.drive_torque(inertia, idle, drag, time)
            shown.append(Result("drive_torque", "torque that still drives it", driving, "N mm"))
    if drag is not None:
        still = values.number("drive")
        expected = spin_down.stop_time(inertia, idle, drag, drive=still)
        value = None if expected == inf else expected
        label = "expected time until it stands (none: never)"
        shown.append(Result("stop_time", label, value, "s"))
    if not shown:
        raise MissingError("Time or drag is missing.", "Give one of them with the inertia.")
    return shown


SPIN_DOWN = Calculator(
    "spin-down",
    "Spin-down",
    "How long the input shaft coasts: two workshop tests, and the torque behind a time.",
    (
        Option(
            "test",
            "which test",
            "grind: time the grinding, about 3 s; wait: reverse after 9 s",
            choices=("grind", "wait"),
        ),
        Option(
            "time",
            "time until it stood",
            "or until the grinding ended",
            unit="s",
            low=0.1,
            high=600,
        ),
        Option("clash", "reverse clashed", "of the wait test", choices=("yes", "no")),
        Option("idle", "idle speed", unit="1/min", low=100, high=3000),
        Option(
            "oil-temperature",
            "temperature of the gearbox oil",
            "to write down with the time",
            unit="degC",
            low=-50,
            high=200,
        ),
        Option(
            "doubt",
            "doubt of the time",
            "as one standard deviation",
            unit="s",
            default="0.3 s",
            low=0.01,
            seldom=True,
        ),
        Option(
            "inertia",
            "moment of inertia",
            "of all that turns with the shaft",
            unit="kg m2",
            low=1e-6,
            high=10,
            seldom=True,
        ),
        Option("drag", "torque that holds it back", unit="N m", low=1, seldom=True),
        Option(
            "drive",
            "torque that still drives it",
            unit="N m",
            default="0 N m",
            low=0,
            seldom=True,
        ),
    ),
    _spin_down,
    (
        "R-DRAG-1: about 3 s of grinding",
        "R-DRAG-2: no clash after 9 s, another procedure",
        "J dw/dt = T_drive - T_drag",
    ),
    ("running",),
    readings=(
        ReadingOf("spin_down", option="time", when={"test": "grind"}),
        ReadingOf("idle_speed", option="idle"),
    ),
    # A clash may go with a longer wait or never: only its absence is an answer.
    answers=(AnswerTo("spin_down_reverse", "clash_after_9_s", {"no": "clean"}),),
)
