"""The chart as painted: where things go, and that no colour is needed to tell what fits."""

from math import inf

import pytest
from PySide6.QtCore import QRect, Qt
from PySide6.QtGui import QColor, QFontMetrics, QPalette

from ui import theme
from ui.chart import Band, Mark, chart_of
from ui.widgets.forecast_chart import ForecastChart, _Layout

pytestmark = pytest.mark.usefixtures("dressed")
LONG = "the release bearing is not clipped to the fork, or it was put on backwards and binds"
BANDS = (
    Band("no fault", "", 10.0, 12.0, 14.0, "10 to 14 mm", "does not fit", "bare"),
    Band(LONG, "about 30 in 100", 20.0, 26.0, 32.0, "20 to 32 mm", "fits", "full", (10.0, 14.0)),
    Band("worn", "about 2 in 100", 15.0, 18.0, 21.0, "15 to 21 mm", "at the edge"),
)

READING = Mark(30.0, 30.0)


def shown(qtbot, width, mark=READING):
    """A chart on the screen, and where its parts are."""
    chart = chart_of("mm", BANDS, within=(0.0, 90.0), marks=[mark], reading="30 mm", edges=[11.0])
    widget = ForecastChart()
    qtbot.addWidget(widget)
    widget.show_chart(chart)
    widget.resize(width, widget.heightForWidth(width))
    widget.show()
    qtbot.waitExposed(widget)
    return widget, _Layout(widget.font(), width, chart)


@pytest.mark.parametrize("width", [300, 640, 1400])
class TestLayout:
    def test_words_have_their_room_and_rows_do_not_overlap(self, qtbot, width):
        widget, layout = shown(qtbot, width)
        wrap, metrics = Qt.TextFlag.TextWordWrap, QFontMetrics(layout.font)
        below = -1
        for row in layout.rows:
            words = f"{row.band.name}, {row.band.note}" if row.band.note else row.band.name
            needed = metrics.boundingRect(QRect(0, 0, row.name.width(), 9999), wrap, words)
            assert needed.height() <= row.name.height()
            assert row.name.top() > below
            assert row.said.left() + metrics.horizontalAdvance(row.band.said) <= width
            assert not row.name.intersects(row.bar.toRect())
            below = max(row.name.bottom(), round(row.bar.bottom()), row.said.bottom())
        assert below < layout.plot.bottom() < widget.height()

    def test_bands_are_on_one_axis(self, qtbot, width):
        _, layout = shown(qtbot, width)
        scale = layout.x(20.0) - layout.x(10.0)
        for row in layout.rows:
            assert row.bar.left() == pytest.approx(layout.x(row.band.low))
            assert row.bar.width() == pytest.approx((row.band.high - row.band.low) / 10 * scale)
            assert layout.plot.left() <= row.bar.left()
            assert row.bar.right() <= layout.plot.right() + 1e-6

    def test_it_is_as_high_as_it_says(self, qtbot, width):
        widget, layout = shown(qtbot, width)
        assert widget.heightForWidth(width) == layout.height == widget.height()


def test_a_narrow_one_is_higher(qtbot):
    widget, _ = shown(qtbot, 640)
    assert widget.heightForWidth(300) > widget.heightForWidth(640)


@pytest.mark.parametrize("name", theme.THEME_NAMES[1:])
class TestPainted:
    def pixel(self, widget, x, y):
        return widget.grab().toImage().pixelColor(round(x), round(y))

    def test_what_fits_is_full_and_what_does_not_is_bare(self, qtbot, qapp, face, name):
        theme.apply(qapp, name, 1.0, face)
        widget, layout = shown(qtbot, 640)
        bare, full, light = layout.rows
        colours = widget.palette()
        at = [(row.bar.left() + 0.2 * row.bar.width(), row.bar.center().y()) for row in layout.rows]
        assert self.pixel(widget, *at[1]) == colours.color(QPalette.ColorRole.Link)
        assert self.pixel(widget, *at[0]) == colours.color(QPalette.ColorRole.Base)
        assert self.pixel(widget, *at[2]) == colours.color(QPalette.ColorRole.AlternateBase)
        assert (bare.band.fit, full.band.fit, light.band.fit) == (
            "does not fit",
            "fits",
            "at the edge",
        )

    def test_the_reading_goes_across_all_bands(self, qtbot, qapp, face, name):
        theme.apply(qapp, name, 1.0, face)
        widget, layout = shown(qtbot, 640)
        ink = widget.palette().color(QPalette.ColorRole.Text)
        for row in layout.rows:
            found = self.pixel(widget, layout.x(30.0) - 0.5, row.bar.center().y())
            assert near(found, ink)

    def test_an_open_end_goes_on_to_the_edge(self, qtbot, qapp, face, name):
        theme.apply(qapp, name, 1.0, face)
        widget, layout = shown(qtbot, 640, Mark(30.0, inf))
        ink = widget.palette().color(QPalette.ColorRole.Text)
        top = layout.plot.top()
        assert any(near(self.pixel(widget, layout.plot.right() - 6, top + d), ink) for d in (-1, 0))


def near(one: QColor, other: QColor) -> bool:
    """Whether two colours are alike but for what smoothing of edges does."""
    pairs = zip(one.getRgb()[:3], other.getRgb()[:3], strict=True)
    return all(abs(a - b) < 90 for a, b in pairs)


def test_nothing_is_painted_without_a_chart(qtbot):
    widget = ForecastChart()
    qtbot.addWidget(widget)
    assert widget.heightForWidth(500) == 0
    widget.resize(500, 20)
    image = widget.grab().toImage()
    assert len({image.pixel(x, 10) for x in range(image.width())}) == 1


def test_the_same_chart_again_changes_nothing(qtbot):
    widget, _ = shown(qtbot, 640)
    chart = widget.chart
    widget.show_chart(chart)
    assert widget.chart is chart
    assert widget.accessibleDescription() == chart.spoken()
