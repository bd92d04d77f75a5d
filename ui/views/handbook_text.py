"""The text of one page of the handbook, in the colours of the screen, with its drawing in it."""

from PySide6.QtCore import QByteArray, QPointF, QRect, QRectF, QSizeF, Qt, Signal
from PySide6.QtGui import (
    QFont,
    QKeyEvent,
    QMouseEvent,
    QPainter,
    QPyTextObject,
    QResizeEvent,
    QTextCharFormat,
    QTextCursor,
    QTextDocument,
    QTextFormat,
)
from PySide6.QtSvg import QSvgRenderer
from PySide6.QtWidgets import QTextBrowser, QWidget

from diagnose.drawings.shapes import Drawing
from diagnose.drawings.svg import style_sheet, svg
from diagnose.handbook import Key, drawing_of
from ui import theme
from ui.handbook import PLACE, Handbook, Shown, key_of

_LINE_LENGTH = 75  # characters
_LANES = 40.0  # units kept free for lines that pass beside cards
_LEAST_ROOM = 200.0
_LONG = 4000  # characters of HTML that no window shows at once
_OBJECT = int(QTextFormat.ObjectTypes.UserObject) + 1


class _Picture(QPyTextObject):
    """A drawing in a text: as sharp as the text around it, at any scale."""

    def __init__(self, parent: QWidget) -> None:
        super().__init__(parent)
        self._renderer = QSvgRenderer(parent)
        self._size = QSizeF()
        self.box = QRectF()  # where it was painted last, in the document

    def load(self, text: str, size: QSizeF) -> None:
        self._renderer.load(QByteArray(text.encode()))
        self._size = size
        self.box = QRectF()

    def intrinsicSize(
        self, doc: QTextDocument, posInDocument: int, format: QTextFormat, /
    ) -> QSizeF:
        return self._size

    def drawObject(
        self,
        painter: QPainter,
        rect: QRectF | QRect,
        doc: QTextDocument,
        posInDocument: int,
        format: QTextFormat,
        /,
    ) -> None:
        self.box = QRectF(rect)
        self._renderer.render(painter, rect)


class HandbookText(QTextBrowser):
    """Shows pages of the handbook; links and names in a drawing lead to others.

    Signals
    -------
    wanted(str, str)
        Kind and id of the record the user wants to see.
    back_wanted
        Backspace: the page before.
    """

    wanted = Signal(str, str)
    back_wanted = Signal()

    def __init__(self) -> None:
        super().__init__()
        self.setOpenLinks(False)
        self.setFrameShape(QTextBrowser.Shape.NoFrame)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.anchorClicked.connect(lambda url: self.wanted.emit(*key_of(url.fragment())))
        self.viewport().setMouseTracking(True)
        self._picture = _Picture(self)
        self.document().setDocumentMargin(theme.STEP)
        self.document().documentLayout().registerHandler(_OBJECT, self._picture)
        self._handbook: Handbook | None = None
        self._shown: Shown | None = None
        self._tokens = theme.THEMES["light"]
        self._scale = 1.0
        self._drawing: Drawing | None = None
        self._factor = 1.0
        self._width = 0
        self._rendering = False
        self._tight = False

    @property
    def drawing(self) -> Drawing | None:
        """The drawing on the page, if it has one."""
        return self._drawing

    def dress(self, tokens: theme.Tokens, scale: float) -> None:
        """Put on colours and a size of text."""
        self._tokens, self._scale = tokens, scale
        self.render_again()

    def show_page(self, handbook: Handbook, key: Key) -> None:
        """Show a page from its beginning.

        Raises
        ------
        KeyError
            If there is no such page.
        """
        self._handbook, self._shown = handbook, handbook.show(key)
        self.setAccessibleName(f"Handbook: {self._shown.title}")
        self.render_again()
        self.verticalScrollBar().setValue(0)

    def render_again(self) -> None:
        """Lay the page out for the width, the colours and the size of text there are."""
        if self._shown is None or self._rendering:
            return
        place = self.verticalScrollBar().value()
        self._rendering, self._tight = True, False
        # Where it is sure to be needed it is there from the start: to lay a long page out twice
        # would be felt.
        long = bool(self._shown.drawing) or len(self._shown.html) > _LONG
        bar = Qt.ScrollBarPolicy
        self.setVerticalScrollBarPolicy(bar.ScrollBarAlwaysOn if long else bar.ScrollBarAsNeeded)
        self._render(self._shown)
        if self.viewport().width() != self._width:
            self._render(self._shown)  # the scroll bar came or went, and that changes the width
        if self.document().size().width() > self._width:
            self._tight = True  # a table with many long words: smaller type before it is cut off
            self._render(self._shown)
        self._rendering = False
        self.verticalScrollBar().setValue(place)

    def _render(self, shown: Shown) -> None:
        self._width = self.viewport().width()
        document = self.document()
        font = self._font()
        if font != document.defaultFont():  # it lays out once more what is about to go
            document.setDefaultFont(font)
        indent = 2.5 * theme.STEP * self._scale
        if indent != document.indentWidth():
            document.setIndentWidth(indent)
        document.setDefaultStyleSheet(self._style())
        self.setHtml(shown.html)
        self._drawing = None
        if shown.drawing:
            self._place_drawing(document, shown.drawing)

    def link_at(self, point: QPointF) -> str:
        """Give where the drawing leads at a point of the viewport; empty if nowhere."""
        if self._drawing is None or self._picture.box.isEmpty():
            return ""
        x = point.x() + self.horizontalScrollBar().value() - self._picture.box.left()
        y = point.y() + self.verticalScrollBar().value() - self._picture.box.top()
        return self._drawing.link_at(x / self._factor, y / self._factor)

    def resizeEvent(self, event: QResizeEvent, /) -> None:
        super().resizeEvent(event)
        if self.viewport().width() != self._width:
            self.render_again()

    def keyPressEvent(self, event: QKeyEvent, /) -> None:
        if event.key() == Qt.Key.Key_Backspace:
            self.back_wanted.emit()
        elif event.key() == Qt.Key.Key_Escape:
            event.ignore()
        else:
            super().keyPressEvent(event)

    def mouseMoveEvent(self, event: QMouseEvent, /) -> None:
        super().mouseMoveEvent(event)
        if self.link_at(event.position()):
            self.viewport().setCursor(Qt.CursorShape.PointingHandCursor)

    def mouseReleaseEvent(self, event: QMouseEvent, /) -> None:
        super().mouseReleaseEvent(event)
        link = self.link_at(event.position())
        if link and event.button() == Qt.MouseButton.LeftButton:
            self.wanted.emit(*key_of(link))

    def _font(self) -> QFont:
        font = QFont(self.font())
        font.setPixelSize(theme.pixels("body", self._scale))
        return font

    def _place_drawing(self, document: QTextDocument, name: str) -> None:
        """Put the drawing where its place is held, as wide as the text can be."""
        found = document.find(PLACE)
        if self._handbook is None or found.isNull():
            return
        wide = self._width - 2.0 * document.documentMargin() - theme.STEP
        room = max(_LEAST_ROOM, wide / self._scale - _LANES)
        drawing = drawing_of(self._handbook.book, name, room=room)
        self._factor = min(self._scale, wide / drawing.size.width)
        size = QSizeF(drawing.size.width, drawing.size.height) * self._factor
        self._picture.load(svg(drawing, "tree", style=self._drawing_style()), size)
        form = QTextCharFormat()
        form.setObjectType(_OBJECT)
        form.setToolTip(drawing.about)
        cursor = QTextCursor(found)
        cursor.insertText("\ufffc", form)
        self._drawing = drawing

    def _drawing_style(self) -> str:
        t = self._tokens
        colours = {
            **{role: getattr(t, role) for role in ("ink", "muted", "accent")},
            "rule": t.rule,
            "card": t.surface,
            "soft": t.accent_soft,
        }
        return style_sheet(colours, f"'{self.font().family()}'")

    def _style(self) -> str:
        t = self._tokens
        longest = _LINE_LENGTH * self.fontMetrics().averageCharWidth()
        spare = max(0, self._width - longest - 2 * theme.STEP)
        small = theme.pixels("small", self._scale)
        cell = theme.pixels("small" if self._tight else "body", self._scale)
        return f"""
h2 {{ margin: 0 {spare}px {theme.STEP}px 0; }}
h5 {{ color: {t.muted}; margin: {2 * theme.STEP}px 0 2px 0; }}
p, li {{ margin-top: 2px; margin-bottom: 4px; margin-right: {spare}px; }}
td p, td li, .tree {{ margin-right: 0; }}
ul {{ margin: 0; }}
a {{ color: {t.accent}; }}
th, td {{ font-size: {cell}px; padding: 2px {theme.STEP}px 4px 0; vertical-align: top; }}
th {{ color: {t.muted}; font-weight: normal; text-align: left; }}
.lead {{ font-size: {theme.pixels("lead", self._scale)}px; }}
.caution {{ background-color: {t.caution_soft}; margin-bottom: {theme.STEP}px; }}
.stop {{ background-color: {t.stop_soft}; margin-bottom: {theme.STEP}px; }}
.caution strong {{ color: {t.caution}; }}
.stop strong {{ color: {t.stop}; }}
.source {{ color: {t.muted}; font-size: {small}px; margin-bottom: {2 * theme.STEP}px; }}
"""
