"""What the bytes of a picture tell: its kind, its end, and what it carries beside (ITU-T T.81)."""

import struct
import zlib

import pytest

from diagnose.records.photo_file import is_bare, is_whole, jpeg_stream, kind_by_bytes


def segment(marker, content):
    return struct.pack(">BBH", 0xFF, marker, len(content) + 2) + content


def jpeg(*segments, scan=b"\x12\xff\x00\x34", end=b"\xff\xd9"):
    """The frame of a JPEG stream; what is in the scan is no picture."""
    return b"\xff\xd8" + b"".join(segments) + segment(0xDA, b"head") + scan + end


JFIF = segment(0xE0, b"JFIF\0\1\1\0\0\1\0\1\0\0")
TABLE = segment(0xDB, bytes(65))


def png():
    def chunk(name, data):
        return (
            struct.pack(">I", len(data)) + name + data + struct.pack(">I", zlib.crc32(name + data))
        )

    head = struct.pack(">IIBBBBB", 1, 1, 8, 0, 0, 0, 0)
    body = chunk(b"IHDR", head) + chunk(b"IDAT", zlib.compress(b"\0\0")) + chunk(b"IEND", b"")
    return b"\x89PNG\r\n\x1a\n" + body


def test_the_kind_is_told_by_the_first_bytes():
    assert kind_by_bytes(jpeg(JFIF)) == "jpeg"
    assert kind_by_bytes(png()) == "png"
    assert [kind_by_bytes(data) for data in (b"", b"GIF89a", b"<svg", b"\xff\xd8")] == [""] * 4


def test_a_whole_stream_goes_to_its_end_marker():
    data = jpeg(JFIF, TABLE)
    assert jpeg_stream(data).end == len(data)
    assert jpeg_stream(data).markers == (0xE0, 0xDB, 0xDA)
    assert is_whole(data)
    assert is_whole(png())


def test_filling_bytes_before_a_marker_are_passed_over():
    assert is_whole(jpeg(JFIF, b"\xff\xff" + TABLE))


@pytest.mark.parametrize("cut", range(2, len(jpeg(JFIF, TABLE))))
def test_wherever_a_stream_is_cut_it_is_not_whole(cut):
    assert not is_whole(jpeg(JFIF, TABLE)[:cut])


def test_the_end_of_a_thumbnail_is_not_the_end_of_the_picture():
    thumbnail = segment(0xE1, b"Exif\0\0" + jpeg(JFIF))
    assert not is_whole(jpeg(thumbnail, end=b""))


def test_a_cut_png_is_not_whole():
    assert not is_whole(png()[:-1])


@pytest.mark.parametrize("carrier", [*range(0xE1, 0xF0), 0xFE])
def test_whatever_is_carried_beside_the_picture_is_seen(carrier):
    assert is_bare(jpeg(JFIF, TABLE))
    assert not is_bare(jpeg(JFIF, segment(carrier, b"where it was taken"), TABLE))


def test_what_follows_the_picture_is_seen():
    assert not is_bare(jpeg(JFIF) + b"more")
    assert not is_bare(png())


@pytest.mark.parametrize("length", [0, 1])
def test_a_segment_shorter_than_its_own_length_ends_the_walk(length):
    broken = b"\xff\xd8\xff\xe0" + length.to_bytes(2, "big") + b"\xff\xd9" * 9
    assert jpeg_stream(broken) is None
