"""Practice by keyboard: from choosing an exercise to its review, results, files and paper."""

import csv
from dataclasses import replace
from datetime import UTC, datetime

import pytest
from PySide6.QtCore import Qt
from PySide6.QtGui import QAccessible
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QAbstractButton, QApplication, QComboBox, QLineEdit, QListView

from diagnose.planning.problem import DRIVE
from diagnose.practice import appraisal
from diagnose.practice.exercise import comeback_of, faults_in, looks_that_find
from diagnose.practice.exercise_file import read_exercise_file
from diagnose.practice.harm import cautions_before
from diagnose.practice.results import read_results, result_of
from diagnose.practice.review import belief, review
from diagnose.practice.run import begin, possible_moves
from diagnose.practice.scoring import act_words, score
from ui import practice_desk as desk
from ui.jobs import Jobs
from ui.models.rows import KEY
from ui.practice_choices import Choices, toll_of
from ui.practice_looks import Looks
from ui.practice_words import (
    capital,
    judged_lines,
    minutes,
    planner_words,
    scored_rows,
    summary_rows,
)
from ui.views.practice_page import PracticePage
from ui.widgets.notice import Notice
from ui.widgets.rows import ROW

NOON = datetime(2026, 3, 1, 12, 0, tzinfo=UTC)
FOUND, MEND = ("check", "slave_boot_look"), ("repair", "slave_leaks")


@pytest.fixture(scope="module", autouse=True)
def first_answers():
    """The planner's first answer is enough here: the refined one takes its time."""
    with pytest.MonkeyPatch.context() as patch:
        appraise = appraisal.appraise

        def quick(shop, *, cancelled=lambda: False):
            return appraise(shop, refined=False, cancelled=cancelled)

        patch.setattr(Looks.__init__, "__defaults__", (quick,))
        yield


@pytest.fixture(scope="module")
def exercise(base):
    return desk.read(base, desk.example_file())


@pytest.fixture
def jobs():
    made = Jobs()
    yield made
    made.close()


@pytest.fixture
def page(base, dressed, jobs, tmp_path, qtbot):
    made = PracticePage(base, jobs, tmp_path / "data", clock=lambda: NOON)
    made.resize(1280, 700)
    made.show()
    made.activateWindow()
    qtbot.waitUntil(made.isActiveWindow)
    made.take_focus()
    yield made
    made.close()
    made.deleteLater()
    QApplication.processEvents()


def press(key, modifier=Qt.KeyboardModifier.NoModifier):
    QTest.keyClick(QApplication.focusWidget(), key, modifier)
    QApplication.processEvents()


def write(text):
    QTest.keyClicks(QApplication.focusWidget(), text)
    QApplication.processEvents()


def wait(qtbot, true):
    qtbot.waitUntil(true, timeout=120_000)


def idle(qtbot, jobs):
    wait(qtbot, lambda: not jobs.busy)


def choose(page, words, act):
    """Find a move by its words and put it on the card, by keys."""
    press(Qt.Key.Key_Slash)
    page.running.take_focus()
    write(words)
    for _ in range(40):
        if page.running.search.view.currentIndex().data(KEY) == act:
            break
        press(Qt.Key.Key_Down)
    press(Qt.Key.Key_Return)
    assert page.running.chosen == act


def make(page, words, act):
    choose(page, words, act)
    press(Qt.Key.Key_R)
    press(Qt.Key.Key_Return)


def texts(model):
    return [model.index(row, 0).data(ROW) for row in range(model.rowCount())]


def test_the_example_can_be_practised(base, exercise):
    assert faults_in(base, exercise) == ()


def test_a_whole_exercise_by_keyboard(page, base, jobs, qtbot, exercise):
    write("Odrin")
    page.files.open(desk.example_file())
    idle(qtbot, jobs)
    assert "Example" in page.setup.chosen.text()
    page.setup.begin.setFocus()
    press(Qt.Key.Key_Return)
    wait(qtbot, lambda: page.run is not None)
    assert exercise.words in page.running.words.text()
    make(page, "pump the pedal", ("check", "pump_pedal"))
    entry = page.run.moves[0].entry
    assert entry == comeback_of(base, exercise).answer("pump_pedal").model_copy(
        update={"stage": "before"}
    )
    make(page, "slave boot", FOUND)
    assert FOUND[1] in looks_that_find(comeback_of(base, exercise), "slave_leaks")
    make(page, "put right slave leaks", MEND)
    press(Qt.Key.Key_D, Qt.KeyboardModifier.AltModifier)
    wait(qtbot, lambda: page.running.chosen == DRIVE)  # a mnemonic presses its button for a moment
    press(Qt.Key.Key_R)
    press(Qt.Key.Key_Return)
    assert page.run.end == "verified"
    idle(qtbot, jobs)
    looked = review(base, page.run, look=page._looks.appraiser())
    mine, planned = texts(page.review.mine.model()), texts(page.review.planner.model())
    names = [capital(act_words(base, made.act)) for made in page.run.moves]
    assert [row.title for row in mine] == names
    assert len(mine) == len(looked.score.moves) == 4
    assert len(planned) == len(looked.planner.moves)
    for row, move in zip(mine, looked.score.moves, strict=True):
        assert row.words.startswith(minutes(move.minutes))
        assert ("dearer" in row.words) == (move.regret > 0.5)
        assert (row.share is not None) == (move.regret > 0.5)
        assert (row.note == "not needed") == move.redundant
    assert "wet, the slave is an old one" in mine[1].words
    assert mine[3].words.endswith("the complaint is gone")
    assert minutes(looked.reckoned) in page.review.waiting.text()
    courses = page.review.plot.courses
    assert [c.points for c in courses] == [looked.belief, looked.planner_belief]
    hours = {row.title: row.words for row in texts(page.review.hours.model())}
    assert hours["A check-list’s"].startswith(minutes(looked.checklist.minutes))
    kept = read_results(desk.results_file(page._folder)).results
    assert [(r.apprentice, r.end, r.at[:10]) for r in kept] == [("Odrin", "verified", "2026-03-01")]
    assert kept[0].planner_minutes == pytest.approx(looked.planner.minutes)


def test_a_move_whose_cautions_were_not_read_stops_the_exercise_with_the_reason(
    page, base, jobs, qtbot, exercise
):
    page.begin(exercise)
    assert cautions_before(base, FOUND)
    choose(page, "slave boot", FOUND)
    press(Qt.Key.Key_Return)
    assert page.run.end == "stopped"
    assert page.stack.currentWidget() is page.review
    assert page.review.title.text().startswith("Stopped: not safe")
    said = page.review._reason.itemAt(0).widget().accessibleName()
    assert base.cautions[cautions_before(base, FOUND)[0]].text in said
    idle(qtbot, jobs)
    assert "not kept" in page.review.kept.text()  # nobody said his name


def test_cautions_are_shown_when_they_are_read(page, base, exercise):
    page.begin(exercise)
    choose(page, "slave boot", FOUND)
    press(Qt.Key.Key_R)
    needed = cautions_before(base, FOUND)
    assert set(needed) <= set(page.run.case.acknowledged)
    said = [w.accessibleName() for w in page.running.card.findChildren(Notice)]
    assert all(any(base.cautions[c].text in text for text in said) for c in needed)


def test_hints_come_one_step_at_a_time_and_say_more_each(page, base, jobs, qtbot, exercise):
    page.begin(exercise)
    for taken in (1, 2, 3):  # from the field where the next move is found
        press(Qt.Key.Key_H, Qt.KeyboardModifier.AltModifier)
        wait(qtbot, lambda n=taken: len(page._hints) == n)
    assert len(set(page._hints)) == 3
    assert page.run.hints == 3
    assert not page.running.hint.isEnabled()
    best = page._looks.appraiser()(page.run.shop).best
    assert best.name.lower() in page._hints[2].lower()


def test_a_long_card_is_scrolled_by_the_page_keys(page, exercise):
    page.resize(900, 480)
    page.begin(exercise)
    choose(page, "watch the end of the fork", ("check", "watch_fork_end"))
    bar = page.running.card.area.verticalScrollBar()
    assert bar.maximum() > 0
    press(Qt.Key.Key_PageDown)
    assert bar.value() > 0
    press(Qt.Key.Key_PageUp)
    assert bar.value() == 0


def test_every_move_is_listed_once_and_found_by_its_words(base, exercise):
    run = begin(base, exercise)
    choices = Choices(run)
    listed = [act for group in choices.groups for act in group.acts]
    ended = {("drive", ""), ("hand_over", "")}
    assert sorted(listed) == sorted(set(possible_moves(run)) - ended)
    assert FOUND in choices.found("slave boot", "ask")
    assert choices.found("", "ask") == choices.acts("ask")


@pytest.mark.parametrize("acts", [[], [FOUND], [FOUND, MEND]])
def test_the_price_that_is_told_is_what_the_move_takes(base, exercise, acts):
    run = begin(base, exercise)
    for act in acts:
        run = run.reading(cautions_before(base, act)).after(act)
    for act in (("ask", "no_release"), ("check", "pump_pedal"), FOUND, MEND, ("drive", "")):
        then = run.reading(cautions_before(base, act)).after(act)
        assert 60.0 * sum(toll_of(run.shop, act)) == pytest.approx(then.minutes - run.minutes)


def test_giving_it_back_and_handing_it_over_end_it(page, jobs, qtbot, exercise):
    for key, end in ((Qt.Key.Key_K, "given back"), (Qt.Key.Key_V, "handed over")):
        page.begin(exercise)
        press(key, Qt.KeyboardModifier.AltModifier)
        wait(qtbot, page.running.do.isVisible)
        press(Qt.Key.Key_Return)
        assert page.run.end == end
    page.leave()


def test_a_lucky_way_is_told_from_a_good_one(base, exercise):
    """Straight to the hidden fault is quicker than the planner, and dearer on average."""
    look = Looks().appraiser()
    run = begin(base, exercise)
    for act in (FOUND, MEND, DRIVE):
        run = run.reading(cautions_before(base, act)).after(act)
    lucky = review(base, run, look=look)
    assert lucky.score.minutes < lucky.planner.minutes
    assert lucky.score.regret > 0.5
    words = planner_words(lucky)
    assert f"by luck: on average your way loses {minutes(lucky.score.regret)}" in words
    theirs = review(base, lucky.planner, look=look)
    assert "luck" not in planner_words(theirs)
    assert theirs.reckoned == pytest.approx(60.0 * look(run.shops[0]).best.expected)


def test_an_uncured_vehicle_that_is_given_back_is_the_dearest_way(base, exercise):
    look = Looks().appraiser()
    run = begin(base, exercise)
    back, over = run.giving_back(), run.after(("hand_over", ""))
    assert score(back, look=look).regret > score(over, look=look).regret
    (row,) = [row for _, row in scored_rows(base, back, score(back, look=look))]
    assert "whoever takes it over" in row.words


def test_what_was_known_already_is_told_from_what_tells_nothing(base, exercise):
    run = begin(base, exercise)
    for act in (FOUND, FOUND):
        run = run.reading(cautions_before(base, act)).after(act)
    rows = [row for _, row in scored_rows(base, run, score(run, look=Looks().appraiser()))]
    assert "known already" in rows[1].words
    assert rows[1].note == "not needed"


@pytest.mark.parametrize(
    ("pulls", "in_vain", "said"),
    [
        (1, 0, ("good", "The gearbox came out once.")),
        (1, 1, ("caution", "The gearbox came out once, in vain.")),
        (2, 1, ("caution", "The gearbox came out twice, once in vain.")),
        (3, 0, ("caution", "The gearbox came out 3 times.")),
    ],
)
def test_pulls_are_told_with_those_in_vain(base, exercise, pulls, in_vain, said):
    made = score(begin(base, exercise).giving_back(), look=Looks().appraiser())
    assert said in judged_lines(replace(made, pulls=pulls, wrong_pulls=in_vain))
    assert not any("gearbox" in line for _, line in judged_lines(made))


def test_what_misled_is_named_afterwards_and_not_before(base, page):
    hidden = desk.made(base, desk.Wanted(seed=8, difficulty="decoy"))
    assert hidden.decoy.work is not None
    page.begin(hidden)
    decoy = base.causes[hidden.decoy.cause].name
    assert decoy not in page.running.words.text() + page.running.state.text()
    page.running.choose_giving_back()
    press(Qt.Key.Key_Return)
    said = page.review.about.text()
    assert f"points to “{decoy}”" in said
    assert base.work[hidden.decoy.work].name in said


def test_the_note_of_an_exercise_stands_in_its_review(page, exercise):
    page.begin(exercise)
    page.running.choose_giving_back()
    press(Qt.Key.Key_Return)
    assert page.review.about.text() == exercise.note
    page.leave()


def test_an_exercise_is_broken_off_without_a_review(page, jobs, qtbot, exercise):
    page.setup.name.setText("Odrin")
    page.begin(exercise)
    press(Qt.Key.Key_B, Qt.KeyboardModifier.AltModifier)
    wait(qtbot, page.running.do.isVisible)
    press(Qt.Key.Key_Return)
    assert page.stack.currentWidget() is page.setup
    assert page.run is None
    idle(qtbot, jobs)
    assert read_results(desk.results_file(page._folder)).results == ()


def test_a_check_that_could_have_told_much_is_not_called_redundant(base, exercise):
    """Folding back the boot proves a cause of 3 in 100: needless to nobody, whatever it shows."""
    run = begin(base, exercise)
    for act in (("check", "pump_pedal"), FOUND, FOUND):
        run = run.reading(cautions_before(base, act)).after(act)
    look = Looks().appraiser()
    points = belief(run, look=look)
    assert points[2].p - points[1].p > 0.9
    assert [move.redundant for move in score(run, look=look).moves] == [False, False, True]


def test_the_same_number_is_the_same_vehicle_and_another_is_not(base):
    wanted = desk.Wanted(seed=4, setup="light_external", zone="hydraulics")
    one, other = desk.made(base, wanted), desk.made(base, wanted)
    assert one == other
    assert {base.causes[c].zone for c in one.causes} == {"hydraulics"}
    assert desk.made(base, desk.Wanted(seed=5, setup="light_external")) != one
    assert desk.numbered(desk.Wanted()).seed is not None


def test_a_number_that_is_none_is_refused_where_it_was_typed(page):
    page.setup.seed.setFocus()
    write("four")
    press(Qt.Key.Key_Return)
    assert page.run is None
    assert "figures" in page.setup.said.text()


def test_what_can_not_be_drawn_is_told_on_the_page(page, jobs, qtbot):
    setup = page.setup
    setup.setup.setCurrentIndex(setup.setup.findData("light_cable"))
    setup.zone.setCurrentIndex(setup.zone.findData("hydraulics"))
    setup.begin.setFocus()
    press(Qt.Key.Key_Return)
    idle(qtbot, jobs)
    assert page.run is None
    assert setup.said.text() == "No cause of this zone brings a complaint. Choose another zone."


def test_an_exercise_is_saved_and_opened_as_the_same_vehicle(page, base, jobs, qtbot, tmp_path):
    path = tmp_path / "shared"
    page.files.ask_save_path = lambda _name, _kind: str(path)
    page.setup.seed.setText("12")
    page.setup.setup.setCurrentIndex(1)
    page.setup.buttons[2].click()
    idle(qtbot, jobs)
    drawn = desk.made(base, desk.Wanted(seed=12, setup=page.setup.setup.itemData(1)))
    saved = read_exercise_file(path.with_suffix(".yaml"), base)
    assert comeback_of(base, saved).there == comeback_of(base, drawn).there
    page.files.ask_open_path = lambda _kind: str(path.with_suffix(".yaml"))
    page.setup.buttons[0].click()
    idle(qtbot, jobs)
    assert page.setup.wanted().given == saved
    assert not page.setup.seed.isVisible()


def test_a_file_that_is_no_exercise_is_refused_in_words(page, jobs, qtbot, tmp_path):
    path = tmp_path / "case.yaml"
    path.write_text("pull_once_case: 1\n", encoding="utf-8")
    page.files.open(path)
    idle(qtbot, jobs)
    assert "is no exercise" in page.setup.said.text()
    assert page.setup.wanted().given is None


def test_who_has_done_many_sees_what_was_lost_lately(base, exercise):
    made = score(begin(base, exercise).giving_back(), look=Looks().appraiser())
    lost = [60.0, 60.0, 10.0, 10.0, 10.0, 10.0, 10.0]
    own = [result_of("Odrin", exercise, replace(made, regret=regret)) for regret in lost]
    ((_, row),) = summary_rows(own)
    assert row.words.endswith("24 min lost on average, 10 min in the last 5")
    ((_, row),) = summary_rows(own[:5])
    assert row.words.endswith("30 min lost on average")


def test_results_are_listed_and_exported(page, base, jobs, qtbot, tmp_path, exercise):
    looks = Looks()
    run = begin(base, exercise).giving_back()
    scored = score(run, look=looks.appraiser())
    for name in ("Maive", "=Odrin"):
        desk.keep(page._folder, name, exercise, scored, None, NOON)
    page.setup.buttons[5].click()
    idle(qtbot, jobs)
    listed = texts(page.results.every.model())
    assert [row.title.split(":")[0] for row in listed] == ["=Odrin", "Maive"]
    assert len(texts(page.results.people.model())) == 2
    path = tmp_path / "table.csv"
    page.files.ask_save_path = lambda _name, _kind: str(path)
    page.results.export.click()
    idle(qtbot, jobs)
    with path.open(encoding="utf-8-sig", newline="") as file:
        rows = list(csv.DictReader(file))
    assert [row["apprentice"] for row in rows] == ["Maive", "'=Odrin"]
    assert rows[0]["how it ended"] == "given back"
    press(Qt.Key.Key_Escape)
    assert page.stack.currentWidget() is page.setup


def test_a_result_is_kept_even_if_nobody_waits_for_the_planner(page, jobs, qtbot, exercise):
    page.setup.name.setText("Odrin")
    page.begin(exercise)
    page.running.choose_giving_back()
    press(Qt.Key.Key_Return)
    wait(qtbot, lambda: page._owed is not None)
    page.leave()
    (kept,) = read_results(desk.results_file(page._folder)).results
    assert kept.end == "given back"
    assert kept.planner_minutes is None


def test_whatever_is_under_way_ends_soon_once_nobody_waits(page, jobs, qtbot, exercise):
    page.begin(exercise)
    wait(qtbot, lambda: len(page._looks) >= 1)
    page.leave()
    idle(qtbot, jobs)
    assert len(page._looks) < 10


def test_everything_has_a_name_for_a_screen_reader(page, exercise):
    page.begin(exercise)
    kinds = (QAbstractButton, QComboBox, QLineEdit, QListView)
    nameless = [
        widget
        for kind in kinds
        for widget in page.findChildren(kind)
        if widget.focusPolicy() != Qt.FocusPolicy.NoFocus
        and not isinstance(widget.parent().parent(), QComboBox)  # its pop-up list
        and not QAccessible.queryAccessibleInterface(widget).text(QAccessible.Text.Name)
    ]
    assert nameless == []
