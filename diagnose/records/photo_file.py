"""What can be told of a picture by its bytes alone: its kind, whether it is whole, what it carries.

References
----------
ITU-T T.81, annex B: markers of a JPEG stream. W3C PNG, third edition, section 5: chunks.
"""

from typing import NamedTuple

JPEG, PNG = "jpeg", "png"
# The first bytes: JPEG's start of image and next marker, and the signature of PNG.
_STARTS = {b"\xff\xd8\xff": JPEG, b"\x89PNG\r\n\x1a\n": PNG}
_PNG_END = b"IEND\xaeB`\x82"  # the last chunk, which is empty, and its checksum
_SCAN, _COMMENT, _END = 0xDA, 0xFE, b"\xff\xd9"
_CARRIERS = {*range(0xE1, 0xF0), _COMMENT}  # APP1 to APP15 and COM: places, owners, thumbnails


class Stream(NamedTuple):
    """Markers of a JPEG stream up to its first scan, and the index after its last byte."""

    markers: tuple[int, ...]
    end: int


def kind_by_bytes(data: bytes) -> str:
    """Give "jpeg" or "png" by the first bytes; empty for everything else."""
    return next((kind for start, kind in _STARTS.items() if data.startswith(start)), "")


def is_whole(data: bytes) -> bool:
    """Whether a JPEG or PNG picture goes on to its own end; more may follow it."""
    if kind_by_bytes(data) == JPEG:
        return jpeg_stream(data) is not None
    return kind_by_bytes(data) == PNG and _PNG_END in data


def is_bare(data: bytes) -> bool:
    """Whether it is a JPEG that holds a picture and nothing else: no place, no owner, no more."""
    stream = jpeg_stream(data) if kind_by_bytes(data) == JPEG else None
    return stream is not None and stream.end == len(data) and not _CARRIERS & {*stream.markers}


def jpeg_stream(data: bytes) -> Stream | None:
    """Follow a JPEG stream to its end; None if it has none.

    Parameters
    ----------
    data : bytes
        Beginning with the marker of the start of an image.
    """
    place, markers = 2, []
    while place + 4 <= len(data) and data[place] == 0xFF:
        marker = data[place + 1]
        if marker == 0xFF:  # a filling byte
            place += 1
            continue
        markers.append(marker)
        length = int.from_bytes(data[place + 2 : place + 4], "big")
        if length < 2:
            return None
        place += 2 + length
        if marker == _SCAN:
            # Within a scan 0xff is always followed by 0 or by a marker.
            end = data.find(_END, place)
            return None if end < 0 else Stream(tuple(markers), end + 2)
    return None
