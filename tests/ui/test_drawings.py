"""Every drawing at every size of its letters, in every palette."""

import re

import numpy as np
import pytest
from PySide6.QtCore import QRectF, Qt
from PySide6.QtGui import QAccessible, QColor, QFont, QImage, QPainter, QPalette
from PySide6.QtWidgets import QApplication, QVBoxLayout, QWidget

from ui import theme
from ui.drawings.how_to import HowTo
from ui.drawings.registry import DRAWINGS
from ui.drawings.scheme import LEAST_TEXT, MOST_TEXT, scheme_of
from ui.drawings.sheet import CUT, HEIGHT, WIDTH, Sheet

pytestmark = pytest.mark.usefixtures("dressed")

NAMES = sorted(DRAWINGS)
TEXTS = (LEAST_TEXT, 13.0, MOST_TEXT)
CANVAS = QRectF(0.0, 0.0, WIDTH, HEIGHT)
MARGIN = 2.0
WANTED = {
    "pedal_free_play",
    "engagement_height",
    "fork_free_travel",
    "fork_tip_travel",
    "finger_height",
    "finger_spread",
    "pedal_effort",
    "bore_runout",
    "housing_face_runout",
    "flywheel_runout",
    "pilot_bore_runout",
    "disc_runout",
    "spline_play",
    "pilot_clearance",
    "disc_thickness",
    "flywheel_step",
    "floater_lug_gap",
    "plate_warp",
    "rivet_depth",
    "spin_down",
    "idle_speed",
    "lever_height",
    "finger_wear_depth",
    "finger_wear_width",
    "face_finish",
    "hub_gap",
    "cover_lug_gap",
    "plate_cut",
    "floater_cut",
    "spring_load",
    "disc_flatness",
    "pilot_depth",
    "shaft_room",
    "crank_flange_runout",
    "crank_end_float",
    "bearing_height_off",
    "driveline_lash",
    "joint_angle_difference",
    "pedal_travel",
    "push_rod_play",
    "master_stroke",
    "brake_squeeze",
    "bearing_gap",
    "csc_standoff",
    "yoke_gap",
    "brake_gap",
    "pull_bearing_travel",
    "master_bore_off",
    "slave_bore_off",
    "slave_rod_off",
    "earth_voltage",
}


def scheme(palette="light", text=13.0):
    return scheme_of(theme.palette(theme.THEMES[palette]), text)


def canvas(ground, scale, family=""):
    """An image to draw on, and a painter scaled to the canvas."""
    image = QImage(round(WIDTH * scale), round(HEIGHT * scale), QImage.Format.Format_RGB32)
    image.fill(ground)
    painter = QPainter(image)
    painter.setFont(QFont(family) if family else QApplication.font())
    painter.scale(scale, scale)
    return image, painter


def pixels(image):
    """The colours of an image, shape (rows, columns), as 0xRRGGBB."""
    flat = np.frombuffer(image.constBits(), np.uint32) & 0xFFFFFF
    return flat.reshape(image.height(), image.bytesPerLine() // 4)[:, : image.width()].copy()


def painted(name, palette="light", text=13.0, scale=1.0):
    made = scheme(palette, text)
    image, painter = canvas(made.ground, scale)
    DRAWINGS[name].paint(painter, made)
    painter.end()
    return pixels(image)


def without_words(name, text=13.0, scale=2.0, family=""):
    """A drawing as it is under its words, and the words with their boxes."""
    made = scheme("light", text)
    image, painter = canvas(made.ground, scale, family)
    sheet = Sheet(painter, made)
    DRAWINGS[name].draw(sheet)
    painter.end()
    return pixels(image), sheet.labels


def number(colour):
    return QColor(colour).rgb() & 0xFFFFFF


def test_every_wanted_drawing_is_there():
    assert set(DRAWINGS) >= WANTED


def test_every_drawing_of_the_base_is_there(base):
    named = {m.drawing for m in base.measurements.values() if m.drawing is not None}
    assert named
    assert named <= set(DRAWINGS)


@pytest.mark.parametrize("name", NAMES)
class TestOneDrawing:
    @pytest.mark.parametrize("palette", theme.THEMES)
    def test_paints_in_every_palette(self, name, palette):
        tokens = theme.THEMES[palette]
        made = painted(name, palette)
        lines = made != number(tokens.surface)
        assert 0.02 < lines.mean() < 0.5
        assert (made == number(tokens.ink)).any()
        assert (made == number(tokens.accent)).any()

    def test_light_and_dark_are_the_same_drawing_in_other_colours(self, name):
        light, dark = painted(name, "light"), painted(name, "dark")
        assert (light != dark).all()
        grounds = (number(theme.THEMES[p].surface) for p in ("light", "dark"))
        on_light, on_dark = (p == ground for p, ground in zip((light, dark), grounds, strict=True))
        assert (on_light == on_dark).mean() > 0.99

    @pytest.mark.parametrize("family", ["", "sans-serif"])
    @pytest.mark.parametrize("text", TEXTS)
    def test_words_stay_on_the_canvas_and_off_each_other(self, name, text, family):
        _, labels = without_words(name, text, 1.0, family)
        inner = CANVAS.adjusted(MARGIN, MARGIN, -MARGIN, -MARGIN)
        for i, label in enumerate(labels):
            assert inner.contains(label.box), label.text
            room = label.box.adjusted(-MARGIN, -MARGIN, MARGIN, MARGIN)
            for other in labels[i + 1 :]:
                assert not room.intersects(other.box), (label.text, other.text)

    @pytest.mark.parametrize("text", TEXTS)
    def test_no_line_runs_under_words(self, name, text):
        scale = 2.0
        image, labels = without_words(name, text, scale)
        for label in labels:
            box = label.box.adjusted(-1.0, -1.0, 1.0, 0.0)
            left, top, right, bottom = (int(v * scale) for v in box.getCoords())
            assert np.unique(image[top : bottom + 1, left : right + 1]).size == 1, label.text

    def test_what_is_measured_has_words_and_a_mark(self, name):
        image, labels = without_words(name)
        assert any(label.loud for label in labels)
        assert (image == number(theme.THEMES["light"].accent)).sum() > 60

    def test_words_are_written_where_their_boxes_are(self, name):
        bare, labels = without_words(name, 13.0, 2.0)
        full = painted(name, "light", 13.0, 2.0)
        changed = bare != full
        for label in labels:
            box = label.box.adjusted(-1.0, -1.0, 1.0, 1.0)
            left, top, right, bottom = (int(v * 2.0) for v in box.getCoords())
            spot = (slice(top, bottom + 1), slice(left, right + 1))
            assert changed[spot].any(), label.text
            changed[spot] = False
        assert not changed.any()

    def test_alternative_text_is_one_sentence(self, name):
        alt = DRAWINGS[name].alt
        assert re.fullmatch(r"[A-Z][^.!?]{40,260}\.", alt)

    def test_leaves_the_painter_as_it_was(self, name):
        made = scheme()
        _, painter = canvas(made.ground, 1.5)
        before = (painter.transform(), painter.font(), painter.hasClipping(), painter.pen())
        DRAWINGS[name].paint(painter, made)
        after = (painter.transform(), painter.font(), painter.hasClipping(), painter.pen())
        painter.end()
        assert before == after

    def test_nothing_is_painted_beside_the_canvas(self, name):
        made = scheme()
        image = QImage(400, 280, QImage.Format.Format_RGB32)
        image.fill(made.ground)
        painter = QPainter(image)
        painter.translate(40, 40)
        DRAWINGS[name].paint(painter, made)
        painter.end()
        seen = pixels(image) != number(made.ground)
        seen[40:240, 40:360] = False
        assert not seen.any()


def test_no_two_drawings_are_alike():
    made = [painted(name) for name in NAMES]
    for i, one in enumerate(made):
        assert all((one != other).mean() > 0.01 for other in made[i + 1 :])


def test_alternative_texts_differ():
    assert len({drawing.alt for drawing in DRAWINGS.values()}) == len(DRAWINGS)


@pytest.mark.parametrize("name", ["fork_free_travel", "fork_tip_travel"])
def test_the_engine_is_left_and_the_gearbox_right(name):
    _, labels = without_words(name)
    at = {label.text: label.box for label in labels}
    assert at["engine"].right() < WIDTH / 2 < at["gearbox"].left()


@pytest.mark.parametrize("text", [LEAST_TEXT - 0.1, MOST_TEXT + 0.1])
def test_letters_without_room_are_refused(text):
    light = scheme()
    with pytest.raises(ValueError, match="11 to 14"):
        type(light)(light.ground, light.ink, light.muted, light.accent, text)
    assert LEAST_TEXT <= scheme("light", text).text <= MOST_TEXT


class TestSheet:
    """The pieces a drawing is made of, seen on the pixels."""

    @pytest.fixture
    def extent(self):
        """Paint something; gives the box of what was painted."""

        def of(draw):
            image, painter = canvas(scheme().ground, 1.0)
            draw(Sheet(painter, scheme()))
            painter.end()
            rows, columns = np.nonzero(pixels(image) != number(scheme().ground))
            return columns.min(), rows.min(), columns.max() + 1, rows.max() + 1

        return of

    def test_a_long_dimension_ends_at_its_ends(self, extent):
        left, _, right, _ = extent(lambda s: s.dimension((100, 50), (160, 50)))
        assert (left, right) == (100, 160)

    def test_a_short_dimension_is_pointed_at_from_outside(self, extent):
        left, _, right, _ = extent(lambda s: s.dimension((100, 50), (110, 50)))
        assert left < 90
        assert right > 120

    def test_an_arrow_ends_at_its_tip(self, extent):
        assert extent(lambda s: s.arrow((50, 60), (90, 60)))[2] == 90
        assert extent(lambda s: s.arrow((90, 60), (50, 60)))[0] == 50

    def test_a_push_points_where_it_is_turned(self, extent):
        # Its head is broader than its shaft, and ends at the place.
        left, _, right, _ = extent(lambda s: s.push((100, 100), 180, 30))
        assert left == pytest.approx(100, abs=2)
        assert right == pytest.approx(130, abs=2)

    def test_enlarging_keeps_lines_as_thin_as_they_are(self, extent):
        def enlarged(sheet):
            with sheet.placed((0, 50), zoom=4.0):
                sheet.line((10, 0), (20, 0))

        _, top, _, bottom = extent(enlarged)
        assert bottom - top <= 3

    def test_mirrored_and_turned_about_its_place(self, extent):
        def mirrored(sheet):
            with sheet.placed((100, 100), flipped=True):
                sheet.line((10, 0), (30, 0))

        def turned(sheet):
            with sheet.placed((100, 100), 90):
                sheet.line((10, 0), (30, 0))

        assert extent(mirrored)[2] < 100
        assert extent(turned)[1] > 100

    def test_a_place_is_left_even_if_drawing_fails(self):
        _, painter = canvas(scheme().ground, 1.0)
        sheet, before = Sheet(painter, scheme()), painter.transform()
        with pytest.raises(ZeroDivisionError), sheet.placed((10, 10), 30, zoom=2.0):
            raise ZeroDivisionError
        assert painter.transform() == before
        painter.end()

    def test_hatching_stays_inside_the_part(self, extent):
        left, top, right, bottom = extent(lambda s: s.box(100, 80, 40, 30, CUT))
        assert (left, top, right, bottom) == (99, 79, 141, 111)


class TestHowTo:
    def shown(self, qtbot, name="fork_free_travel", size=(320, 200)):
        made = HowTo(name)
        qtbot.addWidget(made)
        made.resize(*size)
        return made

    def test_unknown_name_is_refused(self):
        with pytest.raises(KeyError):
            HowTo("no_such_drawing")

    def test_takes_height_for_width(self, qtbot):
        made = self.shown(qtbot)
        assert made.hasHeightForWidth()
        assert made.heightForWidth(640) == 400
        assert made.sizePolicy().hasHeightForWidth()

    def test_a_layout_gives_it_its_height(self, qtbot):
        outer = QWidget()
        column = QVBoxLayout(outer)
        column.setContentsMargins(0, 0, 0, 0)
        made = HowTo("bore_runout")
        column.addWidget(made)
        column.addStretch(1)
        qtbot.addWidget(outer)
        outer.resize(480, 900)
        outer.show()
        qtbot.waitExposed(outer)
        assert outer.heightForWidth(480) == 300
        assert made.height() >= 300

    def test_grows_with_the_font(self, qtbot, qapp, face):
        small = HowTo("bore_runout")
        qtbot.addWidget(small)
        before = small.sizeHint(), small.minimumSizeHint()
        theme.apply(qapp, "light", 2.0, face)
        large = HowTo("bore_runout")
        qtbot.addWidget(large)
        assert large.sizeHint().width() == pytest.approx(2 * before[0].width(), abs=2)
        assert large.minimumSizeHint().width() > before[1].width()

    def test_letters_are_those_of_the_theme_at_its_hint_and_at_its_least(self, qtbot):
        made = self.shown(qtbot)
        small = theme.pixels("small", 1.0)
        assert made.sizeHint().width() == WIDTH
        assert made.minimumSizeHint().width() * MOST_TEXT / WIDTH == pytest.approx(small, abs=0.1)
        assert made.minimumSizeHint().width() < made.sizeHint().width()

    @pytest.mark.parametrize("size", [(320, 200), (640, 200), (320, 500), (333, 211), (97, 61)])
    def test_keeps_its_shape_in_any_room(self, qtbot, size):
        made = self.shown(qtbot, "flywheel_runout", size)
        made.setAutoFillBackground(True)
        colours = made.palette()
        colours.setColor(QPalette.ColorRole.Window, QColor("#FF00FF"))
        made.setPalette(colours)
        image = made.grab().toImage().convertToFormat(QImage.Format.Format_RGB32)
        rows, columns = np.nonzero(pixels(image) != 0xFF00FF)
        wide, high = np.ptp(columns) + 1, np.ptp(rows) + 1
        assert wide / high == pytest.approx(WIDTH / HEIGHT, rel=0.03)
        assert wide >= size[0] - 1 or high >= size[1] - 1

    @pytest.mark.parametrize("palette", theme.THEMES)
    def test_follows_the_theme(self, qtbot, qapp, face, palette):
        theme.apply(qapp, palette, 1.0, face)
        made = self.shown(qtbot)
        seen = pixels(made.grab().toImage().convertToFormat(QImage.Format.Format_RGB32))
        for token in ("surface", "ink", "accent"):
            assert (seen == number(getattr(theme.THEMES[palette], token))).any()

    def test_is_drawn_anew_and_not_blown_up(self, qtbot):
        image = self.shown(qtbot, size=(1280, 800)).grab().toImage()
        sharp = pixels(image.convertToFormat(QImage.Format.Format_RGB32))
        quarter = self.shown(qtbot, size=(320, 200)).grab().toImage()
        blown = pixels(
            quarter.scaled(1280, 800, mode=Qt.TransformationMode.SmoothTransformation)
            .convertToFormat(QImage.Format.Format_RGB32)
        )  # fmt: skip
        plain = [number(theme.THEMES["light"].surface), number(theme.THEMES["light"].ink)]
        assert np.isin(sharp, plain).mean() > np.isin(blown, plain).mean()

    def test_says_what_it_shows(self, qtbot):
        made = self.shown(qtbot, "rivet_depth")
        spoken = QAccessible.queryAccessibleInterface(made)
        assert spoken.text(QAccessible.Text.Name) == "Drawing: rivet depth"
        assert spoken.text(QAccessible.Text.Description) == DRAWINGS["rivet_depth"].alt
        assert made.focusPolicy() == Qt.FocusPolicy.NoFocus
