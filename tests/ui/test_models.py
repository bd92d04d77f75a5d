"""Every model under Qt's own tester, which finds the row signals no eye finds."""

import pytest
from PySide6.QtCore import QModelIndex, Qt
from PySide6.QtTest import QAbstractItemModelTester

from diagnose.assess import assess
from diagnose.case import STILL_THERE, Case, Entry, Found
from diagnose.case_file import read_case_file
from diagnose.planning.advice import advices
from diagnose.sentences import chance_words, counts
from ui.models.causes import REST, CauseModel
from ui.models.findings import FindingModel
from ui.models.options import OptionModel
from ui.models.rows import KEY, RowsModel
from ui.widgets.rows import ROW, Pair, Ranked


@pytest.fixture
def case(base, example):
    return read_case_file(example, base)


def under_test(model):
    tester = QAbstractItemModelTester(model, QAbstractItemModelTester.FailureReportingMode.Warning)
    tester.setParent(model)
    return model


def rows(model):
    return [model.index(i, 0).data(ROW) for i in range(model.rowCount())]


def keys(model):
    return [model.index(i, 0).data(KEY) for i in range(model.rowCount())]


def test_rows_model(qtbot):
    model = under_test(RowsModel())
    resets = []
    model.modelReset.connect(lambda: resets.append(1))
    model.set_rows([(1, Pair("a", "b")), ("two", Ranked("c", "d", 0.5, "2", "was 1"))])
    model.set_rows([(1, Pair("a", "b")), ("two", Ranked("c", "d", 0.5, "2", "was 1"))])
    assert len(resets) == 1  # the same rows again move nothing on the screen
    assert keys(model) == [1, "two"]
    assert model.row_of("two") == 1
    assert model.row_of("three") == -1
    spoken = model.index(1, 0).data(Qt.ItemDataRole.AccessibleTextRole)
    assert spoken == "2, c, d, was 1"
    assert model.index(1, 0).data(Qt.ItemDataRole.DecorationRole) is None
    assert model.data(QModelIndex(), Qt.ItemDataRole.DisplayRole) is None
    model.set_rows([])
    assert model.rowCount() == 0


def test_causes_stand_as_the_assessment_ranks_them(qtbot, base, case):
    found = assess(base, case)
    model = under_test(CauseModel())
    model.show(found, None)
    assert keys(model)[:-1] == [c.id for c in found.causes[: model.rowCount() - 1]]
    assert keys(model)[-1] == REST
    first = rows(model)[0]
    chance = found.causes[0]
    assert first.share == chance.p
    assert chance_words(chance.p) in first.words
    assert counts(chance.p) in first.words
    assert (first.lead, first.note, first.sign) == ("1", "", "")


def test_every_cause_can_be_shown(qtbot, base, case):
    found = assess(base, case)
    model = under_test(CauseModel())
    model.show(found, None, everything=True)
    assert keys(model) == [c.id for c in found.causes]


def test_a_changed_place_shows_arrow_and_old_place(qtbot, base, case):
    before = assess(base, case)
    last = before.causes[-1].id
    after = assess(base, case.without(("complaint", "hard_to_select")))
    model = under_test(CauseModel())
    model.show(after, before)
    old = {c.id: i for i, c in enumerate(before.causes, start=1)}
    for key, row in zip(keys(model), rows(model), strict=True):
        if key == REST:
            continue
        place = int(row.lead)
        if old[key] == place:
            assert (row.note, row.sign) == ("", "")
        else:
            assert row.note == f"was {old[key]}"
            assert row.sign == ("up" if place < old[key] else "down")
    assert any(row.sign for row in rows(model)), last


def test_findings_are_the_timeline_latest_first(qtbot, base, case):
    model = under_test(FindingModel())
    model.show(base, case, assess(base, case), {})
    assert keys(model) == list(reversed(range(len(case.entries))))
    latest = rows(model)[0]
    assert latest.asked == base.checks[case.entries[-1].check].name
    answers = {a.id: a.text for a in base.checks[case.entries[-1].check].answers}
    assert latest.answer == answers.get(case.entries[-1].answer, case.entries[-1].answer)


def test_findings_are_marked(qtbot, base, case):
    model = under_test(FindingModel())
    place = len(case.entries) - 1
    model.show(base, case, None, {place: 0.4})
    assert (rows(model)[0].note, rows(model)[0].sign) == ("moved the ranking most", "moved")


def test_what_a_repair_may_have_changed_says_so_and_nothing_else_does(qtbot, base):
    """Bleeding changes what pumping shows, and leaves the engine's mounts as they are."""
    entries = (
        Entry(complaint="hard_to_select", answer="yes"),
        Entry(check="pump_pedal", answer="yes"),
        Entry(check="mounts_pry", answer="no"),
        Entry(repair="air_in_system", answer=STILL_THERE),
    )
    said = ("seen before a repair that may have changed it", "")
    model = under_test(FindingModel())

    def notes(case, **moved):
        model.show(base, case, assess(base, case), {int(i[1:]): p for i, p in moved.items()})
        return {
            key: (row.note, row.sign) for key, row in zip(keys(model), rows(model), strict=True)
        }

    case = Case(facts={"release": ("external_slave",)}, entries=entries)
    found = notes(case, _1=0.9)
    assert found[1] == said
    assert said not in (found[2], found[3])
    again = case.with_entry(Entry(check="pump_pedal", answer="no"))
    assert said not in notes(again).values()
    closed = case.model_copy(update={"found": Found(causes=("air_in_system",))})
    assert said not in notes(closed).values()


def test_others_leave_out_what_is_shown(qtbot, base, case):
    advice = next(advices(assess(base, case)))
    model = under_test(OptionModel())
    model.show(base, advice, advice.options[0])
    options = [(o.kind, o.id) for o in advice.options]
    assert keys(model) == options[1 : 1 + model.rowCount()]
    model.show(base, advice, advice.options[1])
    assert keys(model)[0] == options[0]
    assert "the advised step" in rows(model)[0].words
