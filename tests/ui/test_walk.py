"""A whole case by keyboard alone, and what the bench does on the way."""

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication, QDialog, QLineEdit, QMenu

from diagnose.case import GRADES, Entry, spent
from diagnose.case_file import read_case_file, write_case_file
from diagnose.sentences import advice_reason, hours, verdict
from ui import messages
from ui.models.rows import KEY
from ui.questions import question_for
from ui.settings import Places, Settings
from ui.then_and_now import unranked
from ui.views.close_dialog import CloseDialog

PATIENCE = 20_000
CTRL = Qt.KeyboardModifier.ControlModifier
SHIFT = Qt.KeyboardModifier.ShiftModifier
ENTER = Qt.Key.Key_Return


def dialog(driver):
    """The dialog that is open."""
    shown = [d for d in driver.window.findChildren(QDialog) if d.isVisible()]
    assert len(shown) == 1
    driver.qtbot.waitUntil(shown[0].isActiveWindow, timeout=PATIENCE)
    return shown[0]


FIRST_KEY = Qt.Key.Key_1.value


def lowest(base, check):
    """The smallest reading that a measured check takes, as one would type it."""
    return base.measurements[base.checks[check].gauge].plausible[0]


def answer_first(driver):
    """Answer what is on the card by a key; read its cautions, or type a reading before.

    What has five grades is answered "no", and a repair was in vain: the checks go on.
    """
    card = driver.bench.card
    if card.unread():
        driver.press(Qt.Key.Key_R)
    assert not card.unread()
    if isinstance(QApplication.focusWidget(), QLineEdit):
        driver.type(lowest(driver.session.base, card.question.subject[1]))
        driver.press_and_settle(ENTER)
    else:
        choices = [choice.id for choice in card.question.choices]
        in_vain = choices == list(GRADES) or card.question.subject[0] == "repair"
        driver.press_and_settle(Qt.Key(FIRST_KEY + (len(choices) - 1 if in_vain else 0)))


def take_in(driver, base):
    """The intake: a preset, the driver's words, two complaints, one piece of work."""
    session = driver.session
    driver.press(Qt.Key.Key_N, CTRL)
    driver.press(Qt.Key.Key_Down)
    driver.press(ENTER)
    assert session.case.setup == next(iter(base.setups))
    assert driver.intake.place == 1
    driver.press(ENTER)  # no sheet at hand
    assert driver.intake.place == 2

    driver.type("It grinds into reverse")
    driver.press(ENTER)
    driver.type("grind")
    driver.press(ENTER)
    driver.type("creeps")
    driver.press(ENTER, SHIFT)  # only probably
    assert session.case.words == "It grinds into reverse"
    assert [(e.complaint, e.answer) for e in session.case.entries] == [
        ("gears_grind", "yes"),
        ("creeps_pedal_down", "probably"),
    ]
    driver.press(ENTER)
    assert driver.intake.place == 3

    driver.type("bled")
    driver.press(ENTER)
    with driver.qtbot.waitSignal(session.case_changed, timeout=PATIENCE):
        driver.press(Qt.Key.Key_2)
    work = session.case.entries[-1]
    assert work.answer == base.work[work.work].answers[1].id
    driver.press(ENTER)
    assert driver.intake.place == 4
    driver.press(ENTER)
    driver.settle()


def test_enter_after_the_words_takes_the_complaint_that_fits_them(driver):
    """And only the first: whoever comes back to the page with something noted passes on."""
    driver.press(Qt.Key.Key_N, CTRL)
    driver.window.show_intake(2)
    page, session = driver.intake.complaint, driver.session
    driver.type("It grinds into reverse")
    fits = page._index.suggest("It grinds into reverse")[0]
    driver.press(ENTER)
    assert page.search.view.currentIndex().data(KEY) == fits
    driver.press(ENTER)
    assert [e.complaint for e in session.case.entries] == [fits]
    driver.press(ENTER)
    assert driver.intake.place == 3
    driver.intake.show_page(2)
    driver.press(ENTER)
    assert not page.search.view.currentIndex().isValid()
    driver.press(ENTER)
    assert [e.complaint for e in session.case.entries] == [fits]
    assert driver.intake.place == 3


def test_words_that_fit_nothing_mark_nothing(driver):
    driver.press(Qt.Key.Key_N, CTRL)
    driver.window.show_intake(2)
    driver.type("xyzzy")
    driver.press(ENTER)
    assert not driver.intake.complaint.search.view.currentIndex().isValid()


def answer_four(driver, base):
    """Four checks, each on disk and each with new advice."""
    session, asked = driver.session, []
    for _ in range(4):
        asked.append(driver.bench.card.question.subject)
        answer_first(driver)
        assert session.records.read(session.kept.id).case == session.case
        assert session.standing.assessment.case.entries == session.case.entries
    assert len(set(asked)) == 4
    assert {e.subject for e in session.case.entries} >= set(asked)


def change_the_latest(driver):
    """Along the panels to the list, open its first line, give another answer."""
    for _ in range(3 if driver.bench.closing.isVisible() else 2):
        driver.press(Qt.Key.Key_F6)
    assert QApplication.focusWidget() is driver.bench.findings.view
    driver.press(Qt.Key.Key_End)
    driver.press(ENTER)
    dialog(driver)
    driver.press_and_settle(Qt.Key.Key_5)


def test_a_whole_case_by_keyboard(driver, base):
    session = driver.session
    take_in(driver, base)
    assert driver.window.stack.currentWidget() is driver.bench
    assert session.standing.assessment.case == session.case
    answer_four(driver, base)

    driver.press(Qt.Key.Key_W)
    first = session.standing.assessment.causes[0]
    assert first.name in dialog(driver).windowTitle()
    driver.settle()
    driver.leave_dialog()

    answers = len(session.case.entries)
    driver.press_and_settle(Qt.Key.Key_Z, CTRL)
    assert len(session.case.entries) == answers - 1
    driver.press_and_settle(Qt.Key.Key_Z, CTRL | SHIFT)
    assert len(session.case.entries) == answers

    kept, before = session.kept.id, session.case
    driver.press(Qt.Key.Key_N, CTRL)
    assert session.case.entries == ()
    driver.open_kept(kept)
    assert unranked(session.case) == unranked(before)
    assert session.undoes == ""

    change_the_latest(driver)
    assert session.case.entries[0] == before.entries[0].model_copy(update={"answer": "no"})
    assert session.records.read(kept).case == session.case


def test_cautions_come_before_the_answers(driver, base, example):
    driver.open(example)
    card = driver.bench.card
    check = next(c for c in base.checks.values() if c.cautions and c.finding)
    card.choose("check", check.id)
    assert card.unread() == tuple(dict.fromkeys(check.cautions))
    assert not card.pad.isVisible()
    assert QApplication.focusWidget() is card.read_button
    driver.press(Qt.Key.Key_1)  # no answer can be given yet
    driver.settle()
    assert driver.session.case.answer_to(("check", check.id)) is None
    driver.press(Qt.Key.Key_R)
    assert card.pad.isVisible()
    assert set(check.cautions) <= set(driver.session.case.acknowledged)

    # Once per case: another check with no other cautions asks no more.
    driver.press_and_settle(Qt.Key.Key_5)
    other = next(
        c
        for c in base.checks.values()
        if c.id != check.id and c.cautions and set(c.cautions) <= set(check.cautions)
    )
    card.choose("check", other.id)
    assert card.unread() == ()


def test_a_stop_notice_outranks_everything(at_bench, base):
    stopping = next(
        c
        for c in base.checks.values()
        if c.finding and base.findings[c.finding].stop and not c.when
    )
    session = at_bench.session
    with at_bench.qtbot.waitSignal(session.assessment_changed, timeout=PATIENCE):
        session.change(session.case.with_entry(Entry(check=stopping.id, answer="yes")), "a look")
    at_bench.settle()
    stop = base.cautions[base.findings[stopping.finding].stop]
    notice = at_bench.bench.stop
    assert notice.isVisible()
    assert stop.text in notice.accessibleName()
    assert notice.accessibleName().startswith("Stop")
    assert notice.mapTo(at_bench.bench, notice.rect().topLeft()).y() < at_bench.bench.strip.y()
    with at_bench.qtbot.waitSignal(session.assessment_changed, timeout=PATIENCE):
        session.undo()
    assert at_bench.bench.stop is None


def test_strip_and_card_say_what_the_engine_says(at_bench):
    standing = at_bench.session.standing
    head, reason = verdict(standing.assessment, standing.advice)
    strip = at_bench.bench.strip
    assert strip.headline.text() == head
    shown = [w.text() for w in strip.findChildren(type(strip.headline))]
    assert reason in shown
    texts = [w.text() for w in at_bench.bench.card.findChildren(type(strip.headline))]
    assert advice_reason(standing.assessment, standing.advice) in texts
    assert (
        question_for(
            at_bench.session.base, standing.advice.options[0].kind, standing.advice.options[0].id
        ).title
        in texts
    )


def test_another_step_can_be_chosen(at_bench):
    at_bench.window.resize(1280, 1200)
    at_bench.settle()
    card = at_bench.bench.card
    at_bench.qtbot.waitUntil(card.others.isVisible, timeout=PATIENCE)
    at_bench.press(Qt.Key.Key_O)
    assert QApplication.focusWidget() is card.others
    at_bench.press(Qt.Key.Key_Down)
    key = card.others.currentIndex().data(KEY)
    at_bench.press(ENTER)
    assert (card.option().kind, card.option().id) == key


@pytest.mark.qt_log_ignore("This plugin does not support")
def test_where_there_is_no_room_the_others_are_in_a_menu(at_bench):
    at_bench.window.resize(1280, 480)
    at_bench.settle()
    card, advice = at_bench.bench.card, at_bench.session.standing.advice
    assert not card.others.isVisible()
    at_bench.press(Qt.Key.Key_O)
    menu = QApplication.activePopupWidget()
    assert isinstance(menu, QMenu)
    names = [action.text() for action in menu.actions()]
    assert advice.options[1].name.lower() in names[0].lower()
    menu.actions()[0].trigger()
    menu.close()
    assert card.option() is advice.options[1]


def test_the_most_probable_causes_stay_in_sight(at_bench):
    """Though the mark stays on a cause that has fallen far down the list."""
    panel = at_bench.bench.causes
    last = panel.model.index(panel.model.rowCount() - 1, 0)
    panel.view.setCurrentIndex(last)
    key = last.data(KEY)
    at_bench.bench.card.take_focus()
    panel.refresh()
    assert panel.view.currentIndex().data(KEY) == key
    assert panel.view.verticalScrollBar().value() == 0


def test_what_cannot_be_done_now_is_left_out(at_bench):
    card, session = at_bench.bench.card, at_bench.session
    options = session.standing.advice.options
    check = next(o for o in options if o.kind == "check")
    card.choose("check", check.id)
    at_bench.press_and_settle(Qt.Key.Key_X)
    assert check.id in session.case.skipped
    assert all(o.id != check.id for o in session.standing.advice.options)
    assert card.option() is session.standing.advice.options[0]


def test_what_cannot_be_left_out_for_good_is_passed_over_and_comes_round_again(at_bench):
    card, options = at_bench.bench.card, at_bench.session.standing.advice.options
    last = options[-1]
    assert last.kind == "hand_over"
    card.choose(last.kind, last.id)
    at_bench.press(Qt.Key.Key_X)
    assert card.option() is options[0]
    assert last.id not in at_bench.session.case.skipped


def test_the_voice_is_changed_and_kept(at_bench, base):
    card = at_bench.bench.card
    check = next(c for c in base.checks.values() if not c.cautions and c.finding)
    card.choose("check", check.id)

    def shows(text):
        return any(text in w.text() for w in card.findChildren(type(at_bench.bench.strip.fix)))

    assert not shows(check.say)
    at_bench.press(Qt.Key.Key_V)
    assert shows(check.say)
    at_bench.press(Qt.Key.Key_V)
    assert shows(check.why)
    assert at_bench.window.settings.voice == "why"


class TestReadings:
    @pytest.fixture
    def gauged(self, at_bench, base):
        check = next(c for c in base.checks.values() if c.gauge and len(c.answers) > 2)
        at_bench.bench.card.choose("check", check.id)
        if at_bench.bench.card.unread():
            at_bench.press(Qt.Key.Key_R)
        assert at_bench.bench.card.pad.field.hasFocus()
        return at_bench, check

    @pytest.mark.parametrize("typed", ["nonsense", "999999"])
    def test_what_is_no_reading_is_not_taken(self, gauged, typed):
        driver, check = gauged
        driver.type(typed)
        driver.press(ENTER)
        assert driver.session.case.answer_to(("check", check.id)) is None
        assert any(w.text().startswith("Not yet") for w in _words(driver.bench.card.pad))

    def test_the_band_is_told_and_the_reading_kept_as_typed(self, gauged):
        driver, check = gauged
        typed = lowest(driver.session.base, check.id)
        driver.type(typed)
        first = check.answers[0]
        assert any(first.means in w.text() for w in _words(driver.bench.card.pad))
        driver.press_and_settle(ENTER)
        entry = driver.session.case.entries[-1]
        assert (entry.answer, entry.reading) == (first.id, typed)

    def test_figures_are_typed_and_give_no_answer(self, gauged):
        driver, check = gauged
        driver.type("1")
        assert driver.bench.card.pad.field.text() == "1"
        assert driver.session.case.answer_to(("check", check.id)) is None


def _words(widget):
    from ui.widgets.text import Words

    return widget.findChildren(Words)


def choose_repair(driver, *, outside, fits=lambda cause: True):
    """Put a cause's repair on the card, its cautions read; gives the cause."""
    base, session = driver.session.base, driver.session
    cause = next(
        c
        for c in session.standing.assessment.causes
        if c.id in base.causes
        and base.levels[base.causes[c.id].repair.from_].drivable == outside
        and fits(c.id)
    )
    driver.bench.card.choose("repair", cause.id)
    if driver.bench.card.unread():
        driver.press(Qt.Key.Key_R)
    return cause


def test_a_repair_from_outside_that_helped_closes_the_case(at_bench):
    session, card = at_bench.session, at_bench.bench.card
    cause = choose_repair(at_bench, outside=True)
    at_bench.press_and_settle(Qt.Key.Key_1)
    assert session.case.found.causes == (cause.id,)
    assert session.case.found.sure == "part seen"
    assert isinstance(dialog(at_bench), CloseDialog)
    at_bench.leave_dialog()  # not yet
    assert not card.pad.isVisible()
    assert at_bench.bench.strip.fix.text() == "found"
    at_bench.press_and_settle(Qt.Key.Key_Z, CTRL)
    assert session.case.found is None
    assert at_bench.bench.strip.fix.text() != "found"


def test_a_repair_inside_waits_for_the_drive_and_the_drive_closes_the_case(at_bench):
    session, card, strip = at_bench.session, at_bench.bench.card, at_bench.bench.strip
    cause = choose_repair(at_bench, outside=False)
    at_bench.press_and_settle(Qt.Key.Key_1)
    assert session.case.entries[-1].is_pending
    assert session.case.found is None
    assert not session.base.levels[session.case.stands].drivable
    assert card.shown is not None
    spent_inside = spent(session.case)
    assert strip.spent.text() == hours(spent_inside)

    assert any(o.kind == "drive" for o in session.standing.advice.options)
    card.choose("drive", "")
    texts = [w.text() for w in _words(card)]
    assert "Close it up and drive" in texts
    closing = session.standing.advice.closing
    assert closing
    assert all(line.text in texts for line in closing)
    at_bench.press_and_settle(Qt.Key.Key_1)
    assert session.case.found.causes == (cause.id,)
    assert session.base.levels[session.case.stands].drivable
    assert spent(session.case) > spent_inside


def test_a_drive_with_the_complaint_still_there_counts_against_what_was_done(at_bench):
    session, card = at_bench.session, at_bench.bench.card
    cause = choose_repair(at_bench, outside=False)
    at_bench.press_and_settle(Qt.Key.Key_2)
    card.choose("drive", "")
    at_bench.press_and_settle(Qt.Key.Key_2)
    assert session.case.entries[-1].is_repair
    assert session.standing.assessment.cause(cause.id).p < cause.p


def test_a_drive_that_proves_nothing_closes_nothing_and_says_so(at_bench):
    session = at_bench.session
    at_bench.bench.card.choose("drive", "")
    at_bench.press_and_settle(Qt.Key.Key_1)
    assert session.case.found is None
    assert at_bench.window.header.said.text() == messages.NOTHING_MENDED


def test_handing_over_asks_nothing_and_can_be_passed_over(at_bench):
    card = at_bench.bench.card
    card.choose("hand_over", "")
    assert card.pad.buttons == []
    assert "Hand it over" in [w.text() for w in _words(card)]
    assert QApplication.focusWidget() is card.skip_button
    before = at_bench.session.case
    at_bench.press(Qt.Key.Key_1)
    assert at_bench.session.case == before


@pytest.mark.parametrize("known", [True, False], ids=["with a record", "without one"])
def test_a_repair_in_vain_counts_with_and_without_a_record_of_work(at_bench, base, known):
    session = at_bench.session
    cures = {c for w in base.work.values() for a in w.answers for c in a.cures}
    cause = choose_repair(at_bench, outside=False, fits=lambda c: (c in cures) == known)
    at_bench.press_and_settle(Qt.Key.Key_4)
    assert session.case.entries[-1].subject == ("repair", cause.id)
    assert session.case.entries[-1].is_repair
    assert session.standing.assessment.cause(cause.id).p < cause.p


def test_a_repair_can_be_asked_again_from_the_findings(at_bench):
    session = at_bench.session
    cause = choose_repair(at_bench, outside=False)
    at_bench.press_and_settle(Qt.Key.Key_2)
    view = at_bench.bench.findings.view
    view.setFocus()
    view.setCurrentIndex(view.model().index(0, 0))
    at_bench.press(Qt.Key.Key_Return)
    asked = dialog(at_bench)
    assert [b.chosen for b in asked.pad.buttons] == [False, True, False, False]
    at_bench.press_and_settle(Qt.Key.Key_1)
    assert session.case.entries[-1].subject == ("repair", cause.id)
    assert session.case.entries[-1].is_pending
    assert session.case.entries[-1].seen


def test_delete_removes_a_finding(at_bench):
    session = at_bench.session
    before = session.case
    view = at_bench.bench.findings.view
    view.setFocus()
    view.setCurrentIndex(view.model().index(0, 0))
    at_bench.press_and_settle(Qt.Key.Key_Delete)
    assert session.case.entries == before.entries[:-1]
    at_bench.press_and_settle(Qt.Key.Key_Z, CTRL)
    assert session.case.entries == before.entries


def test_where_one_can_work_is_changed_from_the_strip(at_bench):
    at_bench.bench.strip.stands_changed.emit("gearbox_out")
    at_bench.settle()
    case = at_bench.session.case
    assert case.stands == "gearbox_out"
    assert case.moved > 0.0  # the way is counted
    assert at_bench.bench.strip.spent.text() == hours(spent(case))
    assert at_bench.bench.strip.stands.text() == at_bench.session.base.levels["gearbox_out"].name


def test_a_failed_save_is_told_on_the_screen_until_it_works(make_driver, tmp_path, example):
    (tmp_path / "data").write_text("", encoding="utf-8")
    driver = make_driver(places=Places(tmp_path / "config", tmp_path / "data"))
    driver.open(example)
    session = driver.session
    with driver.qtbot.waitSignal(session.assessment_changed, timeout=PATIENCE):
        session.change(session.case.with_entry(Entry(complaint="knock", answer="yes")), "knock")
    assert driver.window.header.saved.text().startswith(messages.SAVING_FAILED)
    assert "folder can't be made" in driver.window.trouble.notice.accessibleName()
    assert session.case.answer_to(("complaint", "knock")) == "yes"
    (tmp_path / "data").unlink()
    with driver.qtbot.waitSignal(session.assessment_changed, timeout=PATIENCE):
        session.change(session.case.with_entry(Entry(complaint="slips", answer="no")), "slips")
    assert driver.window.header.saved.text() == messages.SAVED
    assert driver.window.trouble.notice is None


def test_a_bad_file_is_told_and_the_case_stays(at_bench, tmp_path):
    bad = tmp_path / "bad.yaml"
    bad.write_text("no: case\n", encoding="utf-8")
    before = at_bench.session.case
    at_bench.window.files.ask_open_path = lambda: str(bad)
    at_bench.press(Qt.Key.Key_O, CTRL)
    assert "no case file" in at_bench.window.trouble.notice.accessibleName()
    assert at_bench.session.case == before


def test_a_copy_is_written_to_a_file(at_bench, tmp_path, base):
    chosen = tmp_path / "usb" / "mine"
    at_bench.window.files.ask_save_path = lambda: str(chosen)
    at_bench.press(Qt.Key.Key_S, CTRL | SHIFT)
    written = read_case_file(chosen.with_suffix(".pull-once.yaml"), base)
    assert unranked(written) == unranked(at_bench.session.case)
    first = at_bench.session.standing.assessment.causes[0]
    assert written.ranked.leading[0].cause == first.id
    assert at_bench.window.settings.last_folder == str(chosen.parent)


def test_old_case_files_are_taken_into_the_store_and_opened(make_driver, tmp_path, base, example):
    places = Places(tmp_path / "config", tmp_path / "data")
    places.cases.mkdir(parents=True)
    case = read_case_file(example, base)
    write_case_file(places.cases / "good.yaml", case)
    (places.cases / "bad.yaml").write_text("nothing", encoding="utf-8")
    driver = make_driver(places=places)
    view = driver.window.cases.cases
    rows = [view.model().index(i, 0).data() for i in range(view.model().rowCount())]
    assert len(rows) == 1
    assert case.title in rows[0]
    assert "bad.yaml" in driver.window.trouble.notice.accessibleName()
    with driver.qtbot.waitSignal(driver.session.assessment_changed, timeout=PATIENCE):
        driver.press(Qt.Key.Key_Tab)
        view.setCurrentIndex(view.model().index(0, 0))
        view.setFocus()
        driver.press(Qt.Key.Key_Return)
    assert driver.session.case == case
    assert make_driver(places=places).window.cases.cases.model().rowCount() == 1  # once only


def test_unusable_shop_folder_is_told_and_left_out(make_driver, tmp_path, qtbot):
    shop = tmp_path / "shop"
    shop.mkdir()
    (shop / "mine.yaml").write_text("causes: 3\n", encoding="utf-8")
    driver = make_driver(settings=Settings(theme="light", overlays=(str(shop),)))
    assert driver.session is None
    page = driver.window.stack.currentWidget()
    assert any("mine.yaml" in w.text() for w in _words(page))
    with qtbot.waitSignal(driver.window.ready, timeout=PATIENCE) as ready:
        page.button.click()
    assert ready.args == [True]
    assert driver.session is not None


def test_colours_and_size_of_text_are_kept(at_bench):
    at_bench.press(Qt.Key.Key_Plus, CTRL)
    at_bench.press(Qt.Key.Key_T, CTRL)
    settings = at_bench.window.settings
    assert settings.text_scale > 1.0
    assert settings.theme == "dark"
    from ui.settings import read_settings

    assert read_settings(at_bench.window.places.settings) == settings


def test_every_key_is_on_the_help_page(at_bench):
    from ui.actions import ACTIONS, WIDGET_KEYS

    at_bench.press(Qt.Key.Key_F1)
    texts = " ".join(w.text() for w in _words(dialog(at_bench)))
    for declared in ACTIONS.values():
        assert declared.keys[0] in texts
    for keys, _ in WIDGET_KEYS:
        assert keys in texts
