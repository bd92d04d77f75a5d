"""Cases that the tests of the report tell of, and what a reader makes of a page."""

from pathlib import Path

from diagnose.case import Case, Entry
from diagnose.gauge import answer_for_reading

ROOT = Path(__file__).parents[3]
EXAMPLE = ROOT / "knowledge/examples/example.yaml"
RECORDED = ROOT / "tests/cases"
NOTE = "only for the house"
TWIN = "twin_external"


def entry(base, check, reading="", **more):
    """An entry with a reading and the answer it falls on."""
    answer = answer_for_reading(base, base.checks[check], reading).id
    return Entry(check=check, answer=answer, reading=reading, **more)


def measured_case(base, *, more=(), **fields):
    """A twin disc with readings of every kind, notes, hours, people and times."""
    told = {"by": "Odrin", "at": "2026-11-24T09:40", "note": NOTE}
    entries = (
        Entry(work="cover_work", answer="new", by="Ana", at="2026-11-20", hours=6.5, note=NOTE),
        Entry(complaint="no_release", answer="yes", by="Maive", at="2026-11-23", note=NOTE),
        entry(base, "fork_free_travel_twin", "1 3/4 in; 1 7/8 in", hours=0.25, **told),
        entry(base, "pedal_play_hydraulic", "more than 8 mm", **told),
        entry(base, "flywheel_runout", "0.12", stage="inside", **told),
        entry(base, "floater_lug_gap", "0.013 in", stage="inside", **told),
        entry(base, "finger_spread", "1.1 mm", stage="inside", **told),
        entry(base, "disc_runout", "0.5 to 0.7 mm", stage="inside", **told),
        *more,
    )
    fields.setdefault("title", "Twin disc <b>with</b> & without (invented)")
    return Case(
        setup=TWIN,
        facts=base.setups[TWIN].facts,
        kit={"clamp_load": "9000 N", "finger_height": "45 +- 1 mm"},
        words="It creeps & grinds <script>alert(1)</script>.",
        entries=entries,
        **fields,
    )


def strings_in(value):
    """Every text in a record, however deep."""
    if isinstance(value, str):
        return [value]
    if isinstance(value, tuple | list):
        return [text for part in value for text in strings_in(part)]
    fields = getattr(value, "__dataclass_fields__", {})
    return [text for name in fields for text in strings_in(getattr(value, name))]
