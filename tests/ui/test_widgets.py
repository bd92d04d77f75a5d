import pytest
from PySide6.QtCore import QSize, Qt
from PySide6.QtGui import QFontMetrics
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QLabel, QVBoxLayout, QWidget

from ui.models.rows import RowsModel
from ui.views.search_box import SearchBox
from ui.widgets.answer_button import AnswerButton
from ui.widgets.even_grid import EvenGrid
from ui.widgets.rows import Pair, Ranked, RowView
from ui.widgets.scroll import Scroll
from ui.widgets.text import Words

pytestmark = pytest.mark.usefixtures("dressed")
LONG = "the release bearing is not clipped to the fork, or it was put on backwards and binds"


def shown(qtbot, widget, width, height=400):
    qtbot.addWidget(widget)
    widget.resize(width, height)
    widget.show()
    qtbot.waitExposed(widget)
    return widget


def _inked(view, top):
    """Lines of pixels below `top` with more than one colour in them, counted from there."""
    image = view.grab().toImage()
    return [
        y - top
        for y in range(top, image.height())
        if len({image.pixel(x, y) for x in range(image.width() - 16)}) > 1
    ]


class TestEvenGrid:
    @pytest.fixture
    def grid(self, qtbot):
        made = EvenGrid(3, gap=10)
        for i in range(5):
            cell = QLabel(str(i))
            cell.setMinimumSize(100, 20)
            made.add(cell)
        return made

    @pytest.mark.parametrize(
        ("width", "columns"), [(50, 1), (100, 1), (209, 1), (210, 2), (320, 3), (2000, 3)]
    )
    def test_as_many_as_fit_and_no_more_than_the_most(self, grid, width, columns):
        assert grid.columns(width) == columns

    def test_cells_are_equal_and_do_not_overlap(self, grid, qtbot):
        shown(qtbot, grid, 330)
        boxes = [cell.geometry() for cell in grid.findChildren(QLabel)]
        assert len({box.width() for box in boxes}) == 1
        assert all(not a.intersects(b) for i, a in enumerate(boxes) for b in boxes[i + 1 :])
        assert max(box.bottom() for box in boxes) + 1 == grid.heightForWidth(330)

    def test_empty_takes_no_room(self, qtbot):
        assert EvenGrid(3).heightForWidth(100) == 0


class TestAnswerButton:
    def test_targets_are_large(self, qtbot):
        assert AnswerButton("1", "yes", stacked=True).sizeHint().height() >= 56
        assert AnswerButton("1", "yes").heightForWidth(40) >= 56

    def test_a_narrow_button_grows_down(self, qtbot):
        button = AnswerButton("1", LONG, LONG)
        assert button.heightForWidth(200) > button.heightForWidth(600)

    def test_its_key_gives_the_answer(self, qtbot):
        button = shown(qtbot, AnswerButton("7", "yes"), 200, 60)
        button.setShortcut("7")
        button.activateWindow()
        qtbot.waitUntil(button.isActiveWindow)
        with qtbot.waitSignal(button.clicked):
            QTest.keyClick(button, Qt.Key.Key_7)

    def test_it_speaks(self, qtbot):
        button = AnswerButton("2", "probably", "It helps.")
        assert button.accessibleName() == "probably"
        assert button.accessibleDescription() == "key 2. It helps."
        button.set_chosen(True)
        assert button.accessibleDescription().startswith("the answer so far")


class TestRows:
    @pytest.mark.parametrize(
        "row",
        [
            Ranked(LONG, "likely, about 70 in 100", 0.7, "1", "was 12", "up"),
            Ranked("x", LONG),
            Pair(LONG, LONG, LONG, "moved"),
            Pair("x", "y"),
        ],
    )
    @pytest.mark.parametrize("width", [300, 700, 1400])
    def test_a_row_is_a_target_and_as_high_as_its_words(self, qtbot, row, width):
        view = RowView("rows")
        model = RowsModel(view)
        model.set_rows([("only", row)])
        view.setModel(model)
        shown(qtbot, view, width)
        high = view.sizeHintForRow(0)
        assert high >= 40
        words = " ".join(row.spoken().split(", "))
        area = QFontMetrics(view.font()).horizontalAdvance(words) * view.fontMetrics().height()
        assert high * width >= 0.8 * area
        view.grab()

    def test_narrow_rows_are_higher(self, qtbot):
        view = RowView("rows")
        model = RowsModel(view)
        model.set_rows([("only", Ranked(LONG, LONG, 0.5, "1"))])
        view.setModel(model)
        shown(qtbot, view, 1200)
        wide = view.sizeHintForRow(0)
        view.resize(QSize(260, 400))
        assert view.sizeHintForRow(0) > wide

    @pytest.mark.parametrize("beside", [{}, {"note": "was 7", "sign": "up"}])
    @pytest.mark.parametrize("most", [6, 14, 20, 25, 30])
    def test_at_the_edge_of_a_list_no_words_are_cut_through(self, qtbot, most, beside):
        """Of the second row as much is painted as if it ended at a line of its own, or nothing."""
        view = RowView("rows")
        model = RowsModel(view)
        model.set_rows([(i, Ranked("Hub", "of it", 0.5, **beside)) for i in range(2)])
        view.setModel(model)
        high = view.sizeHintForRow(0)
        shown(qtbot, view, 300, 2 * high + 2)
        whole = _inked(view, high)
        view.resize(300, high + most)
        cut = _inked(view, high)
        title = QFontMetrics(view.font()).height()
        assert cut == [line for line in whole if line < 8 + title and most > 8 + title]


class TestWords:
    def test_lines_stay_short_on_a_wide_window(self, qtbot):
        words = Words(" ".join([LONG] * 6))
        shown(qtbot, words, 2400)
        limit = 75 * words.fontMetrics().averageCharWidth()
        assert words.heightForWidth(2400) == words.heightForWidth(limit)
        assert words.contentsRect().width() <= limit

    def test_saying_nothing_takes_no_room(self, qtbot):
        words = Words("x")
        words.say("")
        assert words.isHidden()


class TestScroll:
    def content(self, lines):
        inside = QWidget()
        column = QVBoxLayout(inside)
        for _ in range(lines):
            column.addWidget(Words(LONG))
        return inside

    def test_whole_is_as_high_as_its_content(self, qtbot):
        inside = self.content(20)
        scroll = Scroll(inside, whole=True)
        outer = QWidget()
        QVBoxLayout(outer).addWidget(scroll)
        shown(qtbot, outer, 400, 100)
        qtbot.waitUntil(lambda: scroll.height() >= inside.heightForWidth(scroll.width()))

    def test_snug_is_never_higher(self, qtbot):
        inside = self.content(2)
        scroll = Scroll(inside, snug=True)
        outer = QWidget()
        column = QVBoxLayout(outer)
        column.addWidget(scroll)
        column.addStretch(0)
        shown(qtbot, outer, 400, 900)
        qtbot.waitUntil(lambda: scroll.height() == inside.heightForWidth(scroll.width()))


class TestSearchBox:
    ROWS = (("a", Ranked("apple", "")), ("b", Ranked("bean", "")), ("c", Ranked("cress", "")))

    @pytest.fixture
    def box(self, qtbot):
        made = SearchBox("&Find", lambda typed: [r for r in self.ROWS if typed in r[1].title])
        shown(qtbot, made, 300)
        made.activateWindow()
        made.refresh()
        made.field.setFocus()
        return made

    def test_enter_takes_the_first_that_is_found(self, box, qtbot):
        with qtbot.waitSignal(box.picked) as picked:
            qtbot.keyClicks(box.field, "be")
            qtbot.keyClick(box.field, Qt.Key.Key_Return)
        assert picked.args == ["b", False]
        assert box.field.text() == ""

    def test_arrows_mark_and_shift_is_told(self, box, qtbot):
        with qtbot.waitSignal(box.picked) as picked:
            for _ in range(5):
                qtbot.keyClick(box.field, Qt.Key.Key_Down)
            qtbot.keyClick(box.field, Qt.Key.Key_Return, Qt.KeyboardModifier.ShiftModifier)
        assert picked.args == ["c", True]

    def test_the_row_that_enter_takes_is_lit_while_the_field_has_the_keys(self, box, qtbot):
        def lit():
            """Colours of the ground of each row, by its left edge."""
            image = box.view.viewport().grab().toImage()
            rows = [box.view.visualRect(box.model.index(i, 0)) for i in range(3)]
            return [image.pixelColor(row.left() + 4, row.top() + 5).name() for row in rows]

        plain = lit()
        assert len(set(plain)) == 1
        qtbot.keyClick(box.field, Qt.Key.Key_Down)
        qtbot.keyClick(box.field, Qt.Key.Key_Down)
        assert box.field.hasFocus()
        first, second, third = lit()
        assert second != plain[1]
        assert (first, third) == (plain[0], plain[2])

    def test_an_empty_list_is_no_word_that_nobody_knows(self, qtbot):
        made = SearchBox("&Find", lambda _typed: [])
        shown(qtbot, made, 300)
        made.refresh()
        assert not made._nothing.isVisible()
        made.field.setText("zz")
        assert made._nothing.isVisible()

    def test_enter_with_nothing_typed_goes_on(self, box, qtbot):
        with qtbot.waitSignal(box.passed):
            qtbot.keyClick(box.field, Qt.Key.Key_Return)

    def test_enter_on_a_word_nobody_knows_stays(self, box, qtbot):
        with qtbot.assertNotEmitted(box.passed), qtbot.assertNotEmitted(box.picked):
            qtbot.keyClicks(box.field, "zz")
            qtbot.keyClick(box.field, Qt.Key.Key_Return)
        assert box.field.text() == "zz"
