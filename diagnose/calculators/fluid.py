"""Calculator of brake fluid."""

from diagnose.calculators.calculator import Calculator, Outcome, Result
from diagnose.calculators.option import Option
from diagnose.calculators.values import Values
from diagnose.calculators.words import say
from diagnose.physics import brake_fluid

_SAID: dict[brake_fluid.Verdict, str] = {
    "as_new": "as new",
    "used": "between new and wet: it has drawn water",
    "spent": "below the wet limit: renew it",
}


def _fluid(values: Values) -> Outcome:
    name = values.word("class")
    fluid = brake_fluid.fluid_class(name)
    results = [
        Result("dry", f"DOT {name} boils, new, at no less than", fluid.dry, "degC"),
        Result("wet", f"DOT {name} boils, with 3.7 % water, at no less than", fluid.wet, "degC"),
    ]
    notes = [
        "DOT 5 is silicone: never mixed with the others (common practice)."
        if fluid.silicone
        else "Never mixed with DOT 5, which is silicone (common practice)."
    ]
    if name == "5.1":
        notes.append("DOT 5.1 has the limits of DOT 5. Lists that say 270 and 190 °C are wrong.")
    headline = f"New {say(fluid.dry, 'degC')}, with water in it {say(fluid.wet, 'degC')}."
    boils = values.maybe("boils")
    if boils is not None:
        found = brake_fluid.check_fluid(fluid, boils, uncertainty=values.number("doubt"))
        verdict = _SAID[found.verdict]
        results += [
            Result("verdict", "yours", verdict),
            Result("above_wet", "truly above the wet limit", found.above_wet, "share"),
            Result("above_dry", "truly above the limit of new fluid", found.above_dry, "share"),
        ]
        headline = f"Yours is {verdict}."
    return Outcome(tuple(results), tuple(notes), headline=headline)


FLUID = Calculator(
    "fluid",
    "Brake fluid",
    "Boiling point limits of brake fluid, and a tester's reading against them.",
    (
        Option(
            "class", "DOT class", required=True, positional=True, choices=tuple(brake_fluid.CLASSES)
        ),
        Option("boils", "boiling point", "by a tester", unit="degC"),
        Option(
            "doubt",
            "doubt of the tester, in °C",
            "as one standard deviation",
            unit="",
            default="5",
            low=0.1,
            high=50,
            seldom=True,
        ),
    ),
    _fluid,
    ("R-HYD-4: 49 CFR 571.116 S5.1.1, S5.1.2",),
    ("brake_fluid",),
    "The kind on the cap comes before these.",
)
