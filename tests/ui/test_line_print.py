"""Plain words on paper: whole, in order, and a check with its caution."""

import shutil
import subprocess

import pytest
from PySide6.QtCore import QBuffer, QIODevice
from PySide6.QtGui import QPdfWriter

from diagnose.report import SHEETS
from ui.report_pages import Frame, pdf_of, put_on
from ui.report_type import Setting, Slice, Style
from ui.views.line_print import write_text

needs_reader = pytest.mark.skipif(
    shutil.which("pdftotext") is None, reason="poppler-utils reads the pages back"
)


def pages_of(path):
    command = ["pdftotext", "-layout", str(path), "-"]
    done = subprocess.run(command, capture_output=True, text=True, check=True)
    return [" ".join(page.split()) for page in done.stdout.split("\f")[:-1]]


@needs_reader
def test_a_check_stands_on_one_page_with_its_caution(dressed, tmp_path):
    items = [f"Caution: hands off, number {i}.\n{i}. Look at part {i}." for i in range(60)]
    text = "Marten, blue tractor\n\n" + "\n\n".join(items)
    write_text(tmp_path / "list.pdf", text)
    pages = pages_of(tmp_path / "list.pdf")
    assert pages[0].startswith("Marten, blue tractor Caution:")
    assert len(pages) > 2
    for i in range(60):
        assert any(f"number {i}. {i}. Look at part {i}." in page for page in pages)
    assert all(f"Page {n} of {len(pages)}" in page for n, page in enumerate(pages, 1))


@needs_reader
def test_what_ends_in_a_colon_is_not_left_behind(dressed, tmp_path):
    for filling in range(40, 60):
        lines = [f"line {i}" for i in range(filling)]
        text = "\n\n".join([*lines, "Only if the gearbox comes out:", "The last one."])
        write_text(tmp_path / "list.pdf", text)
        page = next(p for p in pages_of(tmp_path / "list.pdf") if "comes out:" in p)
        assert "The last one." in page


@needs_reader
@pytest.mark.parametrize("text", ["", "one", "first\nsecond", "W" * 9000])
def test_any_text_has_a_page(dressed, tmp_path, text):
    write_text(tmp_path / "list.pdf", text)
    pages = pages_of(tmp_path / "list.pdf")
    every = len(pages)
    shown = [page.removesuffix(f"Page {n} of {every}") for n, page in enumerate(pages, 1)]
    assert "".join("".join(shown).split()) == "".join(text.split())


def test_an_old_text_stays_whole_when_a_new_one_fails(tmp_path, monkeypatch):
    path = tmp_path / "list.txt"
    write_text(path, "old")

    def full(*_):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("pathlib.Path.replace", full)
    with pytest.raises(OSError, match="No space"):
        write_text(path, "new")
    assert path.read_text(encoding="utf-8") == "old"
    assert list(tmp_path.iterdir()) == [path]


def test_a_device_of_another_resolution_gets_the_same_page(dressed):
    """A printer counts in dots of its own: places on the sheet are the same."""
    drawn = []

    def fill(setting: Setting):
        yield from setting.text("words", Style())
        yield Slice(10.0, lambda painter: drawn.append(painter.worldTransform()))

    frame = Frame(SHEETS["a4"], 57.0, 57.0, 62.0)
    assert pdf_of("one", frame, fill, lambda *_: []).startswith(b"%PDF")
    buffer = QBuffer()
    buffer.open(QIODevice.OpenModeFlag.WriteOnly)
    device = QPdfWriter(buffer)
    device.setResolution(600)
    put_on(device, frame, fill, lambda *_: [])
    buffer.close()
    usual, other = drawn
    assert usual.dx() / 1440.0 == pytest.approx(57.0 / 72.0)
    assert other.dx() / 600.0 == pytest.approx(57.0 / 72.0)
    assert other.dy() / 600.0 == pytest.approx(usual.dy() / 1440.0)
