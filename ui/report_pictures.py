"""Pictures of a report as slices of a page: drawings, the release system, photographs."""

from collections.abc import Iterator, Sequence

from PySide6.QtCore import QBuffer, QByteArray, QIODevice, QPointF, QRectF, QSize, QSizeF, Qt
from PySide6.QtGui import QColor, QImage, QImageReader, QPainter, QPalette

from diagnose.handbook.style import LIGHT
from diagnose.report.blocks import Drawn, Gallery, Section
from diagnose.report.page import NOT_SHOWN, caption_of
from diagnose.report.record import Photograph
from ui.fonts import paper_font
from ui.report_drawing import paint_drawing
from ui.report_tables import row_slices
from ui.report_type import SCALE, SMALL, Line, Setting, Slice, Style
from ui.widgets.cutaway_painting import paint

_MOST_DRAWN = 600.0  # height of a drawing, in points: less than a page holds
_MOST_HIGH = 300.0  # of a photograph
_PIXELS = 1600  # a photograph is put into the file no larger
_BETWEEN = 14.0  # two photographs beside each other
_USUAL, _NARROWEST = 4.0 / 3.0, 2.0  # width over height, of a photograph and of a narrow one
_ROLES = {
    QPalette.ColorRole.Base: "surface",
    QPalette.ColorRole.AlternateBase: "accent_soft",
    QPalette.ColorRole.Text: "ink",
    QPalette.ColorRole.PlaceholderText: "muted",
    QPalette.ColorRole.Mid: "rule",
    QPalette.ColorRole.Link: "accent",
    QPalette.ColorRole.BrightText: "caution",
}


def drawn_slice(setting: Setting, drawn: Drawn) -> Slice:
    """Set a drawing as wide as the column."""
    drawing = drawn.drawing
    zoom = min(setting.width / drawing.size.width, _MOST_DRAWN / drawing.size.height)

    def paint_it(painter: QPainter) -> None:
        painter.scale(SCALE * zoom, SCALE * zoom)
        paint_drawing(painter, drawing, setting.family)

    return Slice(zoom * drawing.size.height, paint_it, 4.0)


def section_slice(setting: Setting, section: Section) -> Slice:
    """Set the release system as wide as the column; its figures stay with it."""
    picture = section.cutaway.picture
    wide, high = picture.size
    zoom = setting.width / wide

    def paint_it(painter: QPainter) -> None:
        painter.scale(SCALE * zoom, SCALE * zoom)
        paint(painter, picture, _colours(), paper_font(setting.family))

    return Slice(zoom * high, paint_it, 4.0, keep=True)


def _colours() -> QPalette:
    """The colours of paper, as the painting of a screen asks for them."""
    colours = QPalette()
    for role, name in _ROLES.items():
        colours.setColor(role, QColor(LIGHT[name]))
    return colours


def gallery_slices(setting: Setting, gallery: Gallery) -> Iterator[Slice]:
    """Set photographs, two beside each other and of one height, each with its caption below."""
    for i in range(0, len(gallery.photographs), 2):
        pair = gallery.photographs[i : i + 2]
        images = [_image(photograph.data) for photograph in pair]
        places = _places(images, setting.width)
        yield _pictures(images, places)
        columns = [
            (place.left(), _caption(setting, photograph, place.width(), shown=image is not None))
            for photograph, image, place in zip(pair, images, places, strict=True)
        ]
        yield from row_slices(setting, columns, rule=False)


def _places(images: Sequence[QImage | None], width: float) -> list[QRectF]:
    """Give the rectangles of one or two pictures, in points; one alone is as large as of two."""
    shapes = [_shape(image) for image in images]
    high = min(_MOST_HIGH, (width - _BETWEEN) / (sum(shapes) * 2.0 / len(shapes)))
    places: list[QRectF] = []
    for shape in shapes:
        left = places[-1].right() + _BETWEEN if places else 0.0
        places.append(QRectF(left, 0.0, shape * high, high))
    return places


def _shape(image: QImage | None) -> float:
    """Give the width of a picture's place over its height; a strip gets no narrower place."""
    shape = _USUAL if image is None else image.width() / image.height()
    return min(max(shape, 1.0 / _NARROWEST), _NARROWEST)


def _pictures(images: Sequence[QImage | None], places: Sequence[QRectF]) -> Slice:
    shown = [(i, p) for i, p in zip(images, places, strict=True) if i is not None]

    def paint_it(painter: QPainter) -> None:
        painter.scale(SCALE, SCALE)
        for image, place in shown:
            size = QSizeF(image.size()).scaled(place.size(), Qt.AspectRatioMode.KeepAspectRatio)
            at = QPointF(place.left(), place.bottom() - size.height())
            painter.drawImage(QRectF(at, size), image)

    return Slice(max((p.height() for _, p in shown), default=0.0), paint_it, 8.0, keep=True)


def _caption(setting: Setting, photograph: Photograph, wide: float, *, shown: bool) -> list[Line]:
    caption = setting.lines(caption_of(photograph), Style(SMALL, "muted"), wide)
    return caption if shown else [*setting.lines(NOT_SHOWN, Style(), wide), *caption]


def _image(data: bytes) -> QImage | None:
    """Read a picture the way it was held, no larger than is printed; None if it is none."""
    content, buffer = QByteArray(data), QBuffer()
    buffer.setBuffer(content)
    buffer.open(QIODevice.OpenModeFlag.ReadOnly)
    reader = QImageReader(buffer)
    reader.setAutoTransform(True)
    size = reader.size()
    if size.isValid() and max(size.width(), size.height()) > _PIXELS:
        reader.setScaledSize(
            size.scaled(QSize(_PIXELS, _PIXELS), Qt.AspectRatioMode.KeepAspectRatio)
        )
    image = reader.read()
    return None if image.isNull() else image
