"""Photographs are judged before they are decoded, kept small, and lose what is beside them."""

import os
import struct
import zlib

import pytest
from PySide6.QtCore import QBuffer, QByteArray, QIODevice
from PySide6.QtGui import QColor, QImage

from diagnose.case import Case
from diagnose.case_photos import CasePhoto
from diagnose.records.connecting import sqlite_url
from diagnose.records.photo_file import is_bare, kind_by_bytes
from diagnose.records.store import open_store
from ui import photos
from ui.photos import MOST_BYTES, WIDEST, PhotoError, add_all, exported, fitted, image_of

AT = "2026-03-04T10:00+00:00"
TOKEN = "11111111-2222-4333-8444-555555555555"


def picture(width, height, kind="JPEG", colour="#336699"):
    image = QImage(width, height, QImage.Format.Format_ARGB32)
    image.fill(QColor(colour))
    content = QByteArray()
    buffer = QBuffer(content)
    buffer.open(QIODevice.OpenModeFlag.WriteOnly)
    assert image.save(buffer, kind, 95)
    return bytes(content.data())


def segment(marker, content):
    return struct.pack(">BBH", 0xFF, marker, len(content) + 2) + content


def exif(orientation):
    """Metadata with a way up and a place, as a camera writes them (CIPA DC-008, 4.6)."""
    entries = struct.pack("<HHIHH", 0x0112, 3, 1, orientation, 0)
    tiff = b"II*\0\x08\0\0\0" + struct.pack("<H", 1) + entries + bytes(4)
    return segment(0xE1, b"Exif\0\0" + tiff + b"GPS 51.5 N")


def with_segment(data, extra):
    return data[:2] + extra + data[2:]


def png_that_says(width, height):
    """A small PNG file whose head says that it is of any size."""

    def chunk(name, data):
        crc = struct.pack(">I", zlib.crc32(name + data))
        return struct.pack(">I", len(data)) + name + data + crc

    head = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    body = chunk(b"IHDR", head) + chunk(b"IDAT", zlib.compress(bytes(100))) + chunk(b"IEND", b"")
    return b"\x89PNG\r\n\x1a\n" + body


def refused(data):
    with pytest.raises(PhotoError) as error:
        fitted(data, "fork.jpg")
    assert error.value.next_step
    return error.value.sentence


@pytest.fixture(autouse=True)
def application(qapp):
    return qapp


class TestFitted:
    @pytest.mark.parametrize("size", [(3000, 1500), (1500, 3000), (2001, 10), (6000, 2)])
    def test_a_large_picture_is_made_small_and_keeps_its_shape(self, size):
        image = image_of(fitted(picture(*size), "x"), widest=9000)
        assert max(image.width(), image.height()) == WIDEST
        share = WIDEST / max(size)
        assert image.width() == pytest.approx(size[0] * share, abs=1)
        assert image.height() == pytest.approx(size[1] * share, abs=1)

    def test_a_bare_small_picture_stays_to_the_byte(self):
        data = fitted(picture(300, 200), "x")
        assert is_bare(data)
        assert fitted(data, "x") is data

    def test_where_it_was_taken_is_gone_and_the_way_up_is_kept(self):
        data = with_segment(picture(300, 200), exif(6))  # 6: a quarter turn to the right
        assert b"GPS" in data
        kept = fitted(data, "x")
        assert b"GPS" not in kept
        assert b"Exif" not in kept
        image = image_of(kept, widest=900)
        assert (image.width(), image.height()) == (200, 300)

    def test_what_hangs_on_behind_the_picture_is_gone(self):
        kept = fitted(picture(30, 20) + b"GPS 51.5 N", "x")
        assert b"GPS" not in kept

    def test_what_is_clear_becomes_white_and_the_file_a_jpeg(self):
        kept = fitted(picture(30, 20, "PNG", "#00000000"), "x")
        assert kind_by_bytes(kept) == "jpeg"
        assert image_of(kept, widest=30).pixelColor(5, 5).lightness() > 250


class TestRefused:
    @pytest.mark.parametrize("data", [b"", b"notes", b"GIF89a" + bytes(90), b"<svg/>", b"BM12"])
    def test_what_is_no_jpeg_or_png(self, data):
        assert "neither a JPEG nor a PNG" in refused(data)

    def test_what_is_cut_off(self):
        assert "cut off" in refused(picture(300, 200)[:-40])
        assert "cut off" in refused(picture(300, 200, "PNG")[:-40])

    def test_what_has_too_many_bytes(self):
        assert "too large" in refused(picture(30, 20) + bytes(MOST_BYTES))

    @pytest.mark.parametrize("size", [(60_000, 60_000), (2**30, 1), (8000, 7501)])
    def test_what_would_not_fit_into_memory_before_it_is_decoded(self, size, monkeypatch):
        def never(*_args):
            raise AssertionError

        monkeypatch.setattr(photos.QImageReader, "read", never)
        said = refused(png_that_says(*size))
        assert "pixels" in said or "damaged" in said

    @pytest.mark.qt_log_ignore("Bogus marker length")
    def test_what_can_not_be_decoded(self):
        whole = picture(300, 200)
        broken = whole[:2] + segment(0xDB, b"\0") + segment(0xDA, b"") + b"\xff\xd9"
        assert "damaged" in refused(broken)

    def test_what_can_not_be_read(self, tmp_path):
        with pytest.raises(PhotoError) as error:
            photos.read_photo(tmp_path / "none.jpg")
        assert "can't be read" in error.value.sentence

    @pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="this system has no pipes in folders")
    def test_a_pipe_which_would_never_end(self, tmp_path):
        os.mkfifo(tmp_path / "pipe.jpg")
        with pytest.raises(PhotoError, match="no ordinary file"):
            photos.read_photo(tmp_path / "pipe.jpg")


class TestStore:
    @pytest.fixture
    def store(self, tmp_path):
        opened = open_store(sqlite_url(tmp_path / "cases.sqlite"))
        yield opened
        opened.close()

    @pytest.fixture
    def case_id(self, store):
        return store.new(Case(), "ada", AT, TOKEN).id

    def test_what_a_file_brings_is_made_fit_and_what_is_no_picture_told(self, store, case_id):
        came = (
            CasePhoto("a.jpg", "the fork", with_segment(picture(2500, 100), exif(1))),
            CasePhoto("b.jpg", "", b"no picture"),
        )
        said = add_all(store, case_id, came, "ada", AT)
        assert len(said) == 1
        assert said[0].startswith("b.jpg")
        (kept,) = store.photos(case_id)
        assert (kept.name, kept.caption) == ("a.jpg", "the fork")
        assert is_bare(store.photo(kept.id))

    def test_what_goes_out_comes_back_the_same(self, store, case_id):
        add_all(store, case_id, [CasePhoto("a.jpg", "w", picture(400, 300))], "ada", AT)
        out, said = exported(store, case_id)
        assert said == "1 photograph is in it."
        add_all(store, case_id, out, "ada", AT)  # it is there already, to the byte
        assert len(store.photos(case_id)) == 1

    def test_what_is_too_much_for_a_file_is_named(self, store, case_id, monkeypatch):
        for i, colour in enumerate(("#111111", "#999999")):
            photo = CasePhoto(f"{i}.jpg", "", picture(40, 30, colour=colour))
            add_all(store, case_id, [photo], "ada", AT)
        first = store.photos(case_id)[0].size
        monkeypatch.setattr("diagnose.case_photos.MAX_TOTAL", first + 10)
        out, said = exported(store, case_id)
        assert [p.name for p in out] == ["0.jpg"]
        assert "these are not: 1.jpg" in said

    def test_a_case_without_any_has_nothing_to_say(self, store, case_id):
        assert exported(store, case_id) == ((), "")
