"""The face the program brings along, so that it does not depend on what the system has."""

from importlib.resources import as_file, files

from PySide6.QtGui import QFont, QFontDatabase

_PACKAGE = "fontpkg_atkinson_hyperlegible"


def load_face() -> str:
    """Load the face and give its family name; empty if only the system's own can be used."""
    try:
        folder = files(_PACKAGE).joinpath("files")
    except ModuleNotFoundError:
        return ""
    families: list[str] = []
    for entry in sorted(folder.iterdir(), key=lambda e: e.name):
        if entry.name.endswith(".ttf"):
            with as_file(entry) as path:
                number = QFontDatabase.addApplicationFont(str(path))
            families.extend(QFontDatabase.applicationFontFamilies(number))
    return families[0] if families else ""


def paper_font(family: str) -> QFont:
    """Give a font for paper; of the system's own face if there is no family.

    On the screen figures have one width. A PDF holds such figures as glyphs without a letter, so
    that nobody could search for them or copy them: on paper they are the plain ones, whatever the
    application's font has.
    """
    font = QFont(family) if family else QFont()
    font.setFeature(QFont.Tag("tnum"), 0)
    font.setHintingPreference(QFont.HintingPreference.PreferNoHinting)
    return font
