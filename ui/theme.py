"""The colours and sizes of every screen as data, and what Qt makes of them.

A screen takes its colours from here only: as roles of the palette, or by the dynamic properties
``role`` (how large), ``tone`` (what it says) and ``kind`` (what it is) that the stylesheet knows.
"""

from collections.abc import Mapping
from dataclasses import dataclass, fields
from typing import Literal, get_args

from PySide6.QtCore import Qt
from PySide6.QtGui import QColor, QFont, QPalette
from PySide6.QtWidgets import QApplication, QWidget

ThemeName = Literal["system", "light", "dark", "contrast"]
THEME_NAMES: tuple[ThemeName, ...] = get_args(ThemeName)

# Pixels at 100 %; what a person reads at arm's length is "lead" or larger.
SIZES: Mapping[str, int] = {"small": 13, "body": 15, "lead": 18, "title": 24, "display": 32}
TEXT_SCALES = (1.0, 1.15, 1.3, 1.5, 1.75, 2.0)
STEP = 8
RADIUS = 4


@dataclass(frozen=True)
class Tokens:
    """The colours of one theme, each named by what it is used for."""

    paper: str
    surface: str
    ink: str
    muted: str
    rule: str
    accent: str
    accent_soft: str
    caution: str
    caution_soft: str
    stop: str
    stop_soft: str
    good: str
    good_soft: str


THEMES: Mapping[str, Tokens] = {
    "light": Tokens(
        paper="#F7F5F0",
        surface="#FFFFFF",
        ink="#1E2226",
        muted="#565E66",
        rule="#CFCAC0",
        accent="#0A5563",
        accent_soft="#DCEBED",
        caution="#7A4300",
        caution_soft="#FFF0D9",
        stop="#931A1A",
        stop_soft="#FCE6E4",
        good="#27602F",
        good_soft="#E4F1E5",
    ),
    "dark": Tokens(
        paper="#15181B",
        surface="#1D2125",
        ink="#ECEAE4",
        muted="#A9B0B7",
        rule="#3A4148",
        accent="#74C7D2",
        accent_soft="#173539",
        caution="#F2BC6C",
        caution_soft="#372810",
        stop="#F4A19A",
        stop_soft="#3B1B1A",
        good="#93CF9C",
        good_soft="#1A3120",
    ),
    "contrast": Tokens(
        paper="#000000",
        surface="#000000",
        ink="#FFFFFF",
        muted="#FFFFFF",
        rule="#FFFFFF",
        accent="#FFE600",
        accent_soft="#000000",
        caution="#FFE600",
        caution_soft="#000000",
        stop="#FFE600",
        stop_soft="#000000",
        good="#FFFFFF",
        good_soft="#000000",
    ),
}

# Every text colour with every ground it is put on.
TEXT_ON_GROUND = (
    *((text, "accent_soft") for text in ("ink", "accent")),
    *((text, ground) for text in ("ink", "accent", "muted") for ground in ("paper", "surface")),
    ("surface", "accent"),
    *(
        pair
        for tone in ("caution", "stop", "good")
        for pair in ((tone, f"{tone}_soft"), ("ink", f"{tone}_soft"), (tone, "paper"))
    ),
)


def luminance(colour: str) -> float:
    """Give the relative luminance of ``#RRGGBB`` (WCAG 2.2, definition of relative luminance)."""
    parts = (int(colour[i : i + 2], 16) / 255.0 for i in (1, 3, 5))
    r, g, b = (c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parts)
    return 0.2126 * r + 0.7152 * g + 0.0722 * b


def contrast(one: str, other: str) -> float:
    """Give the contrast ratio of two colours, 1 to 21 (WCAG 2.2)."""
    dark, light = sorted((luminance(one), luminance(other)))
    return (light + 0.05) / (dark + 0.05)


def pixels(size: str, scale: float) -> int:
    """Give a size of `SIZES` in pixels at a text scale."""
    return round(SIZES[size] * scale)


def resolve(name: ThemeName, app: QApplication) -> str:
    """Give the key of `THEMES` for a choice; ``system`` follows what the desktop says."""
    if name != "system":
        return name
    hints = app.styleHints()
    if hints.accessibility().contrastPreference() == Qt.ContrastPreference.HighContrast:
        return "contrast"
    return "dark" if hints.colorScheme() == Qt.ColorScheme.Dark else "light"


def palette(tokens: Tokens) -> QPalette:
    """Give Qt's palette: what painted widgets and item views take their colours from."""
    colour = {f.name: QColor(getattr(tokens, f.name)) for f in fields(tokens)}
    roles = {
        QPalette.ColorRole.Window: "paper",
        QPalette.ColorRole.WindowText: "ink",
        QPalette.ColorRole.Base: "surface",
        QPalette.ColorRole.AlternateBase: "accent_soft",
        QPalette.ColorRole.Text: "ink",
        QPalette.ColorRole.PlaceholderText: "muted",
        QPalette.ColorRole.Button: "surface",
        QPalette.ColorRole.ButtonText: "ink",
        QPalette.ColorRole.BrightText: "caution",
        QPalette.ColorRole.Highlight: "accent",
        QPalette.ColorRole.HighlightedText: "surface",
        QPalette.ColorRole.Accent: "accent",
        QPalette.ColorRole.Link: "accent",
        QPalette.ColorRole.LinkVisited: "accent",
        QPalette.ColorRole.ToolTipBase: "surface",
        QPalette.ColorRole.ToolTipText: "ink",
        QPalette.ColorRole.Light: "surface",
        QPalette.ColorRole.Midlight: "rule",
        QPalette.ColorRole.Mid: "rule",
        QPalette.ColorRole.Dark: "muted",
        QPalette.ColorRole.Shadow: "muted",
    }
    made = QPalette()
    for role, token in roles.items():
        made.setColor(role, colour[token])
    for role in (
        QPalette.ColorRole.WindowText,
        QPalette.ColorRole.Text,
        QPalette.ColorRole.ButtonText,
    ):
        made.setColor(QPalette.ColorGroup.Disabled, role, colour["muted"])
    return made


def stylesheet(tokens: Tokens, scale: float) -> str:
    """Give the stylesheet for what the palette can't say."""
    t = tokens
    sizes = "\n".join(
        f'*[role="{name}"] {{ font-size: {pixels(name, scale)}px; }}' for name in SIZES
    )
    tones = "\n".join(
        f'*[tone="{tone}"] {{ color: {getattr(t, tone)}; }}\n'
        f'QFrame[kind="notice"][tone="{tone}"] {{ background: {getattr(t, f"{tone}_soft")};'
        f" border: 1px solid {getattr(t, tone)}; border-left-width: {RADIUS}px;"
        f" border-radius: {RADIUS}px; }}"
        for tone in ("caution", "stop", "good")
    )
    target = round(40 * max(1.0, scale * 0.8))
    return f"""
{sizes}
{tones}
*[tone="muted"] {{ color: {t.muted}; }}
*[tone="accent"] {{ color: {t.accent}; }}
*[weight="bold"] {{ font-weight: bold; }}
QFrame[kind="card"] {{ background: {t.surface}; border: 1px solid {t.rule};
    border-radius: {RADIUS}px; }}
QFrame[kind="band"] {{ border: 0; border-bottom: 1px solid {t.rule}; }}
QFrame[kind="line"] {{ background: {t.rule}; border: 0; }}
QScrollArea, QScrollArea > QWidget > QWidget[kind="plain"] {{ background: transparent; border: 0; }}
QPushButton, QToolButton {{
    background: {t.surface}; color: {t.ink}; border: 1px solid {t.muted};
    border-radius: {RADIUS}px; padding: 0 {2 * STEP}px; min-height: {target - 2}px; }}
QPushButton:hover, QToolButton:hover {{ background: {t.accent_soft}; }}
QPushButton:focus, QToolButton:focus {{ border: 2px solid {t.accent}; padding: 0 {2 * STEP - 1}px;
    min-height: {target - 4}px; }}
QPushButton:pressed, QToolButton:pressed, QPushButton:checked {{
    background: {t.accent_soft}; border-color: {t.accent}; }}
QPushButton:disabled, QToolButton:disabled {{ color: {t.muted}; border: 1px solid {t.rule}; }}
QPushButton[kind="primary"] {{ background: {t.accent}; color: {t.surface}; border-color: {t.accent};
    font-weight: bold; }}
QPushButton[kind="primary"]:hover {{ border-color: {t.ink}; }}
QPushButton[kind="primary"]:focus {{ border: 2px solid {t.ink}; }}
QPushButton[kind="primary"]:disabled {{ background: {t.surface}; color: {t.muted};
    border-color: {t.rule}; }}
QPushButton[kind="quiet"], QToolButton {{ background: transparent; border-color: transparent;
    color: {t.accent}; padding: 0 {STEP}px; }}
QPushButton[kind="quiet"]:hover, QToolButton:hover {{ border-color: {t.accent}; }}
QPushButton[kind="quiet"]:focus, QToolButton:focus {{ border: 2px solid {t.accent};
    padding: 0 {STEP - 1}px; }}
QPushButton[kind="quiet"]:checked {{ border-color: {t.accent}; background: {t.accent_soft}; }}
/* The lower edge is thicker; as much above keeps the words in line with those beside them. */
QPushButton:checked {{ border-bottom-width: 4px; padding-top: 3px; min-height: {target - 8}px; }}
QPushButton:checked:focus {{ padding-top: 2px; min-height: {target - 8}px; }}
QPushButton[kind="link"] {{ background: transparent; border: 0; color: {t.accent};
    text-align: left top; padding: 0; text-decoration: underline; min-height: {target}px; }}
QPushButton[kind="link"]:focus {{ border: 2px solid {t.accent}; padding: 0;
    min-height: {target - 4}px; }}
QPushButton[kind="quiet"]:disabled, QToolButton:disabled {{ color: {t.muted};
    border-color: transparent; }}
QToolButton::menu-indicator {{ image: none; }}
QLineEdit, QComboBox {{ background: {t.surface}; color: {t.ink}; border: 1px solid {t.muted};
    border-radius: {RADIUS}px; padding: 0 {STEP}px; min-height: {target - 2}px;
    selection-background-color: {t.accent}; selection-color: {t.surface}; }}
/* Left to itself Qt fades it too far to be read. */
QLineEdit {{ placeholder-text-color: {t.muted}; }}
QLineEdit:focus, QComboBox:focus {{ border: 2px solid {t.accent}; padding: 0 {STEP - 1}px;
    min-height: {target - 4}px; }}
QComboBox::drop-down {{ border: 0; width: {3 * STEP}px; }}
QComboBox::down-arrow {{ image: none; }}
QPlainTextEdit {{ background: {t.surface}; color: {t.ink}; border: 1px solid {t.muted};
    border-radius: {RADIUS}px; padding: {STEP // 2}px;
    selection-background-color: {t.accent}; selection-color: {t.surface}; }}
QPlainTextEdit:focus {{ border: 2px solid {t.accent}; padding: {STEP // 2 - 1}px; }}
QComboBox QAbstractItemView {{ background: {t.surface}; color: {t.ink}; border: 1px solid {t.muted};
    selection-background-color: {t.accent_soft}; selection-color: {t.ink}; }}
QComboBox QAbstractItemView::item {{ min-height: {target}px; padding: 0 {STEP}px; }}
QListView {{ background: transparent; border: 0; outline: 0; }}
QMenu {{ background: {t.surface}; color: {t.ink}; border: 1px solid {t.muted};
    padding: {STEP}px 0; }}
QMenu::item {{ padding: {STEP}px {3 * STEP}px; }}
QMenu::item:selected {{ background: {t.accent_soft}; color: {t.ink}; }}
QMenu::item:disabled {{ color: {t.muted}; }}
QMenu::separator {{ height: 1px; background: {t.rule}; margin: {STEP}px 0; }}
QToolTip {{ background: {t.surface}; color: {t.ink}; border: 1px solid {t.muted};
    padding: {STEP // 2}px; }}
QScrollBar:vertical {{ background: transparent; width: 14px; margin: 0; }}
QScrollBar::handle:vertical {{ background: {t.muted}; min-height: 40px; border-radius: 3px;
    margin: 2px 4px; }}
QScrollBar::add-line:vertical, QScrollBar::sub-line:vertical {{ height: 0; }}
QScrollBar::add-page:vertical, QScrollBar::sub-page:vertical {{ background: transparent; }}
"""


def apply(app: QApplication, name: ThemeName, scale: float, family: str) -> None:
    """Dress the whole application."""
    tokens = THEMES[resolve(name, app)]
    font = QFont(family) if family else QFont(app.font())
    font.setPixelSize(pixels("body", scale))
    font.setFeature(QFont.Tag("tnum"), 1)  # figures of one width stand under each other
    app.setFont(font)
    app.setPalette(palette(tokens))
    app.setStyleSheet(stylesheet(tokens, scale))


def mark(
    widget: QWidget, *, role: str = "", tone: str = "", kind: str = "", weight: str = ""
) -> None:
    """Set the properties the stylesheet goes by, and have the widget dressed anew."""
    for name, value in (("role", role), ("tone", tone), ("kind", kind), ("weight", weight)):
        if value:
            widget.setProperty(name, value)
    widget.style().unpolish(widget)
    widget.style().polish(widget)
