"""The release system in section, as the cause that the report names leaves it."""

import re
from collections.abc import Sequence

from diagnose.assess import Assessment
from diagnose.case import Case
from diagnose.drawings.cutaway.faults import effects_of_case, fault_of, kind_of
from diagnose.drawings.cutaway.figures import Row, Unit, rows
from diagnose.drawings.cutaway.layout import Subject, View, subject_of
from diagnose.drawings.cutaway.scene import cutaway
from diagnose.report.chart import WIDTH
from diagnose.report.evidence import UNLIKELY
from diagnose.report.record import Cutaway
from diagnose.report.told import first_large
from diagnose.system import system_of

_HEIGHT, _EM = 270.0, 8.0
_MOST_FIGURES = 6
_FIRST = "Clearance per face"  # whether it lets go at all
_INCHES = re.compile(r"\bin\b|\"")


def cutaway_of(assessment: Assessment, concerned: Sequence[str]) -> Cutaway | None:
    """Draw the release system with the pedal on the floor, healthy dashed over what is wrong.

    Parameters
    ----------
    assessment : Assessment
    concerned : sequence of str
        Ids of the causes that the report is about.

    Returns
    -------
    Cutaway or None
        Of the first cause that lies on something that is drawn; None where there is none, where
        the cause is unlikely, or where the set-up is not known well enough.
    """
    case, base = assessment.case, assessment.network.base
    system = system_of(case)
    if system is None:
        return None
    effects = effects_of_case(base, case.facts, system, case.kit)
    kind = kind_of(case.facts, system, case.kit)
    unit = _unit(case)
    for cause in concerned:
        if case.found is None and assessment.cause(cause).p < UNLIKELY:
            continue
        fault = fault_of(effects, cause)
        if fault is not None:
            subject = subject_of(system, kind, fault)
            view = View(WIDTH, _HEIGHT, _EM, "overlay", unit)
            picture = cutaway(subject, view, _floor(subject))
            return Cutaway(cause, fault.name, picture, _figures(subject, unit))
    return None


def _floor(subject: Subject) -> float:
    """Travel of the pad with the pedal as far down as either of the two goes, mm."""
    return max(subject.healthy.travel, subject.faulty.travel)


def _figures(subject: Subject, unit: Unit) -> tuple[str, ...]:
    """Say which figures the cause changes, each with what it is when healthy."""
    told = rows(subject.measures, (subject.faulty, subject.healthy), _floor(subject), unit)
    changed = [row for row in told if row.values[0] != row.values[1]]
    changed.sort(key=lambda row: row.name != _FIRST)
    return tuple(_line(row) for row in changed[:_MOST_FIGURES])


def _line(row: Row) -> str:
    faulty, healthy = row.values
    return f"{first_large(row.name)}: {faulty}, healthy {healthy}."


def _unit(case: Case) -> Unit:
    """The unit that most of the readings were typed in."""
    typed = [entry.reading for entry in case.entries if entry.reading]
    inches = sum(bool(_INCHES.search(reading)) for reading in typed)
    return "in" if 2 * inches > len(typed) else "mm"
