"""All readings of a case beside what is predicted: which fit, which went stale."""

import subprocess
import sys
from pathlib import Path

import pytest

from diagnose.assess import assess
from diagnose.case import Case, Entry
from diagnose.comparison import AFTER_PENDING, AGAIN
from diagnose.gauge import answer_for_reading
from tests.small_bases import make_base
from ui.numbers import measured, tallies

ROOT = Path(__file__).parent.parent.parent
SLIPS = Entry(complaint="slips", answer="yes")
MENDED = Entry(work="mended", answer="done", when="since")


@pytest.fixture(scope="module")
def base(tmp_path_factory):
    """A gap that `wide` widens, a runout that `bent` moves, and a colour that nothing predicts."""
    names = ("gap", "runout", "colour")
    return make_base(
        tmp_path_factory.mktemp("base") / "base",
        complaints={"slips": {}},
        findings={"little": {"unexplained": 0.1}},
        causes={
            "wide": {"rate": 0.3, "brings": {"slips": 0.6}, "shifts": {"gap": (8.0, 0.5)}},
            "bent": {
                "rate": 0.2,
                "brings": {"slips": 0.6},
                "shows": {"little": 0.5},
                "shifts": {"runout": (1.5, 0.1)},
            },
            "worn": {"rate": 0.2, "brings": {"slips": 0.6}},
        },
        measurements={
            "gap": {
                "name": "Gap at the pad",
                "healthy": {"mean": "10 mm", "spread": "0.4 mm"},
                "plausible": ["0 mm", "40 mm"],
                "instruments": {
                    "rule": {"name": "steel rule", "uncertainty": "0.3 mm"},
                    "tape": {"name": "tape measure", "uncertainty": "2 mm"},
                },
            },
            "runout": {
                "name": "Runout",
                "healthy": {"mean": "0.1 mm", "spread": "0.05 mm"},
                "plausible": ["0 mm", "5 mm"],
                "instruments": {"dial": {"name": "dial", "uncertainty": "0.02 mm"}},
            },
            "colour": {},
        },
        checks={
            name: {
                "gauge": name,
                "answers": {"low": {"little": "no"}, "high": {"little": "yes"}},
                "edges": ["12 mm" if name == "gap" else "1 mm"],
            }
            for name in names
        },
        work={"mended": {"answers": {"done": {"cures": {"wide": 0.9}}}}},
    )


@pytest.fixture(scope="module")
def read(base):
    """Assess a case with some readings, in order."""

    def told(check, reading, instrument=None):
        answer = answer_for_reading(base, base.checks[check], reading).id
        return Entry(check=check, answer=answer, reading=reading, instrument=instrument)

    def found(*steps):
        entries = [step if isinstance(step, Entry) else told(*step) for step in steps]
        return assess(base, Case(entries=(SLIPS, *entries)))

    return found


class TestMeasured:
    def test_nothing_read(self, read):
        assert measured(read()) == ()
        assert tallies(read()) == ()

    def test_latest_first_in_both_units_with_the_unusual_instrument(self, read):
        runout, gap = measured(read(("gap", "18", "tape"), ("runout", "0.1 mm", "dial")))
        assert (gap.name, runout.name) == ("Gap at the pad", "Runout")
        assert gap.said == "18 mm = 0.709 in, tape measure: high"
        assert runout.said == "0.1 mm = 0.00394 in: low"
        assert (gap.note, runout.note) == ("", "")

    def test_each_with_its_chart(self, read):
        (gap,) = measured(read(("gap", "18 mm")))
        fits = {band.name: band.fit for band in gap.chart.bands}
        assert fits == {"no fault": "does not fit", "wide": "fits"}
        assert gap.chart.reading == "18 mm"

    def test_the_instrument_counts(self, read):
        (fine,) = measured(read(("gap", "12 mm", "rule")))
        (coarse,) = measured(read(("gap", "12 mm", "tape")))
        assert fine.chart.bands[0].fit == "does not fit"
        assert coarse.chart.bands[0].fit == "fits"

    def test_what_counts_by_its_band_says_so(self, read):
        (colour,) = measured(read(("colour", "3 mm")))
        assert "by the band" in colour.note
        assert colour.chart is None

    def test_an_answer_without_a_number_is_the_band_it_names(self, read):
        (gap,) = measured(read(Entry(check="gap", answer="high")))
        assert gap.said == "high"
        assert gap.chart.marks[0].low == 12.0

    def test_no_evidence_is_no_reading(self, read):
        assert measured(read(Entry(check="gap", answer="can't tell"))) == ()


class TestStale:
    def test_a_reading_before_work_that_may_have_changed_it(self, read):
        found = read(("gap", "18 mm"), ("runout", "0.1 mm"), MENDED)
        runout, gap = measured(found)
        assert "no longer counts" in gap.note
        assert gap.chart is None
        assert runout.note == ""

    def test_taken_again_it_counts(self, read):
        again, first = measured(read(("gap", "18 mm"), MENDED, ("gap", "10 mm")))
        assert (again.note, again.said[:5]) == ("", "10 mm")
        assert "no longer counts" in first.note

    def test_a_reading_after_a_repair_nobody_has_driven_with_is_not_called_taken_before_work(
        self, read
    ):
        """It is of the vehicle as mended, so it says nothing of what the driver complained of."""
        mended = Entry(repair="wide", answer="not driven yet", seen=True)
        gap, runout = measured(read(("runout", "0.1 mm"), mended, ("gap", "10 mm")))
        assert gap.note == AFTER_PENDING
        assert gap.chart is None
        assert runout.note == ""

    def test_an_answer_by_its_band_before_such_work_is_worth_another_look(self, read):
        mended = Entry(repair="bent", answer="still there", seen=True)
        (colour,) = measured(read(("colour", "3 mm"), mended))
        assert colour.note == AGAIN

    def test_a_stale_reading_is_not_tallied(self, read):
        rows = {
            t.name: t.words for t in tallies(read(("gap", "18 mm"), ("runout", "2 mm"), MENDED))
        }
        assert rows["no fault"] == "does not fit: runout"


class TestTally:
    def test_every_cause_with_what_fits(self, read):
        rows = tallies(read(("gap", "18 mm"), ("runout", "0.1 mm")))
        assert [row.name for row in rows][:2] == ["no fault", "wide"]
        words = {row.name: row.words for row in rows}
        assert words["wide"] == "fits all 2"
        assert words["no fault"] == "fits 1 of 2; does not fit: gap at the pad"
        assert words["worn"] == words["no fault"]
        assert words["bent"] == "fits 0 of 2; does not fit: gap at the pad, runout"

    def test_chances_are_told(self, read):
        rows = tallies(read(("gap", "18 mm")))
        assert rows[0].note == ""
        assert all("in 100" in row.note for row in rows[1:])
        assert rows[1].words == "fits"


def test_the_numbers_are_made_without_qt():
    program = (
        "import sys, ui.chart, ui.gauge_entry, ui.predictions, ui.numbers, ui.questions, ui.moves\n"
        "assert not {'PySide6', 'shiboken6'} & set(sys.modules)"
    )
    done = subprocess.run(
        [sys.executable, "-c", program], cwd=ROOT, capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stderr
