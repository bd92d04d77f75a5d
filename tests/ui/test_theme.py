"""Colours against WCAG 2.2 (contrast ratio), and the house rule of 6 to 1."""

import pytest
from PySide6.QtGui import QFontInfo, QFontMetrics, QPalette

from ui import theme


@pytest.mark.parametrize(
    ("one", "other", "ratio"),
    [
        ("#000000", "#FFFFFF", 21.0),
        ("#FFFFFF", "#FFFFFF", 1.0),
        ("#777777", "#FFFFFF", 4.48),  # the grey that just misses 4.5 on white
        ("#FF0000", "#FFFFFF", 4.00),
    ],
)
def test_contrast_as_published(one, other, ratio):
    assert theme.contrast(one, other) == pytest.approx(ratio, abs=0.005)
    assert theme.contrast(other, one) == theme.contrast(one, other)


@pytest.mark.parametrize("name", theme.THEMES)
@pytest.mark.parametrize(("text", "ground"), theme.TEXT_ON_GROUND)
def test_every_text_is_legible_on_its_ground(name, text, ground):
    tokens = theme.THEMES[name]
    assert theme.contrast(getattr(tokens, text), getattr(tokens, ground)) >= 6.0


@pytest.mark.parametrize("name", theme.THEMES)
def test_edges_of_controls_stand_out(name):
    # WCAG 2.2, 1.4.11: what shows a control needs 3 to 1. Buttons and fields are edged in muted.
    tokens = theme.THEMES[name]
    assert theme.contrast(tokens.muted, tokens.paper) >= 3.0
    assert theme.contrast(tokens.accent, tokens.surface) >= 3.0


@pytest.mark.parametrize("name", theme.THEMES)
def test_palette_takes_its_colours_from_the_tokens(name):
    tokens = theme.THEMES[name]
    made = theme.palette(tokens)
    assert made.color(QPalette.ColorRole.Window).name().upper() == tokens.paper
    assert made.color(QPalette.ColorRole.WindowText).name().upper() == tokens.ink
    assert made.color(QPalette.ColorRole.PlaceholderText).name().upper() == tokens.muted


def test_system_resolves_to_a_theme(qapp):
    assert theme.resolve("system", qapp) in theme.THEMES
    assert theme.resolve("contrast", qapp) == "contrast"


def test_sizes_grow_with_the_scale():
    for size, at_100 in theme.SIZES.items():
        assert theme.pixels(size, 1.0) == at_100
        assert theme.pixels(size, 2.0) == 2 * at_100


def test_the_face_comes_along(dressed, face):
    assert face == "Atkinson Hyperlegible"
    assert QFontInfo(dressed.font()).family() == face


def test_figures_stand_under_each_other(dressed):
    metrics = QFontMetrics(dressed.font())
    widths = {metrics.horizontalAdvance(figure) for figure in "0123456789"}
    assert len(widths) == 1
