"""Photographs made fit to be kept: judged by their bytes, decoded within limits, written anew.

A picture that is kept is a JPEG of at most `WIDEST` pixels that carries nothing beside: where it
was taken, and by whom, stays with the one who took it.
"""

from collections.abc import Sequence
from pathlib import Path

from PySide6.QtCore import QBuffer, QByteArray, QIODevice, QSize, Qt
from PySide6.QtGui import QColorSpace, QImage, QImageReader, QImageWriter, QPainter

from diagnose.case_photos import MAX_TOTAL, CasePhoto, that_fit
from diagnose.errors import PullOnceError
from diagnose.records.album import Album
from diagnose.records.photo_file import JPEG, is_bare, is_whole, kind_by_bytes

WIDEST = 2000  # pixels, of the longer side
MOST_PIXELS = 60_000_000  # 4 bytes each; Qt decodes no more than 256 MB
MOST_BYTES = 40 * 2**20
_QUALITY = 88
_ANOTHER = "Choose another one."


class PhotoError(PullOnceError):
    """A file holds no picture that can be kept."""


def fitted(data: bytes, name: str) -> bytes:
    """Give a picture as it is kept.

    Parameters
    ----------
    data : bytes
        Of a file that says it is a picture.
    name : str
        What it is called, for what is said of it.

    Returns
    -------
    bytes
        A bare JPEG; the very same bytes if it is one already and small enough.

    Raises
    ------
    PhotoError
        If it is too large, no JPEG or PNG, cut off, or can't be decoded.
    """
    kind = _judged(data, name)
    content = QByteArray(data)
    buffer = QBuffer(content)
    buffer.open(QIODevice.OpenModeFlag.ReadOnly)
    reader = QImageReader(buffer, QByteArray(kind.encode()))
    reader.setDecideFormatFromContent(False)
    reader.setAutoTransform(True)  # the way up is told beside the picture, and that is dropped
    size = reader.size()
    _refuse_size(size, name)
    if max(size.width(), size.height()) > WIDEST:
        reader.setScaledSize(_within(size, WIDEST))
    image = reader.read()
    if image.isNull():
        raise PhotoError(f"{name} is damaged: it can't be shown.", _ANOTHER)
    small = max(size.width(), size.height()) <= WIDEST
    return data if kind == JPEG and small and is_bare(data) else _jpeg(image)


def read_photo(path: Path) -> bytes:
    """Read a file and give the picture in it as it is kept.

    Raises
    ------
    PhotoError
        If it can't be read, or as `fitted` does.
    """
    try:
        if not (path.is_file() or path.is_dir()) and path.exists():
            # A pipe would never end, and a device has no end.
            raise PhotoError(f"{path.name} is no ordinary file.", _ANOTHER)
        with path.open("rb") as file:
            data = file.read(MOST_BYTES + 1)
    except OSError as error:
        said = (error.strerror or str(error)).lower()
        raise PhotoError(f"{path.name} can't be read: {said}.", "Check the file.") from error
    return fitted(data, path.name)


def image_of(data: bytes, *, widest: int) -> QImage:
    """Decode a picture that is kept, to be shown at most so many pixels wide or high.

    A null image where it can't be done: what is kept was decoded once, but a store can be damaged.
    """
    content = QByteArray(data)
    buffer = QBuffer(content)
    buffer.open(QIODevice.OpenModeFlag.ReadOnly)
    reader = QImageReader(buffer, QByteArray(kind_by_bytes(data).encode()))
    reader.setDecideFormatFromContent(False)
    size = reader.size()
    if not size.isValid() or size.width() * size.height() > MOST_PIXELS:
        return QImage()
    if max(size.width(), size.height()) > widest:
        reader.setScaledSize(_within(size, widest))
    return reader.read()


def add_all(
    album: Album, case_id: str, photos: Sequence[CasePhoto], by: str, at: str
) -> tuple[str, ...]:
    """Take the photographs of a case file into the store; gives what could not be, in sentences.

    Raises
    ------
    StoreError
        If the store can't do it.
    """
    refused: list[str] = []
    for photo in photos:
        try:
            data = fitted(photo.data, photo.name)
        except PhotoError as error:
            refused.append(error.sentence)
            continue
        album.add_photo(case_id, data, photo.name, photo.caption, by, at)
    return tuple(refused)


def exported(album: Album, case_id: str) -> tuple[tuple[CasePhoto, ...], str]:
    """Give the photographs of a case as its file holds them, and what to say of them.

    Raises
    ------
    StoreError
        If the store can't give them.
    """
    listed = album.photos(case_id)
    fitting, left = that_fit([CasePhoto(p.name, p.caption, album.photo(p.id)) for p in listed])
    if not listed:
        return (), ""
    count = "1 photograph is" if len(fitting) == 1 else f"{len(fitting)} photographs are"
    said = f"{count} in it."
    if left:
        names = ", ".join(photo.name for photo in left)
        said = f"{count} in it; {MAX_TOTAL // 2**20} MB are the most, so these are not: {names}."
    return fitting, said


def _judged(data: bytes, name: str) -> str:
    """Give the kind of a picture, once its bytes are not too many and look whole."""
    if len(data) > MOST_BYTES:
        most = MOST_BYTES // 2**20
        raise PhotoError(f"{name} has more than {most} MB; that is too large.", _ANOTHER)
    kind = kind_by_bytes(data)
    if not kind:
        raise PhotoError(
            f"{name} is neither a JPEG nor a PNG picture.",
            "Choose another one, or save it as JPEG first.",
        )
    if not is_whole(data):
        raise PhotoError(f"{name} is cut off: its end is missing.", "Copy it once more.")
    return kind


def _refuse_size(size: QSize, name: str) -> None:
    """Refuse what would not fit into memory, by what the picture says of itself."""
    if not size.isValid() or size.isEmpty():
        raise PhotoError(f"{name} is damaged: it does not say how large it is.", _ANOTHER)
    if size.width() * size.height() > MOST_PIXELS:
        raise PhotoError(
            f"{name} has {size.width()} x {size.height()} pixels; up to "
            f"{MOST_PIXELS // 10**6} million are taken.",
            "Make it smaller and add it again.",
        )


def _within(size: QSize, most: int) -> QSize:
    """Give the size within a limit; no side gets lost."""
    fit = size.scaled(most, most, Qt.AspectRatioMode.KeepAspectRatio)
    return fit.expandedTo(QSize(1, 1))


def _jpeg(image: QImage) -> bytes:
    """Write an image anew, on white: nothing but its colours comes along."""
    if image.colorSpace().isValid():
        image.convertToColorSpace(QColorSpace(QColorSpace.NamedColorSpace.SRgb))
    flat = QImage(image.size(), QImage.Format.Format_RGB32)
    flat.fill(Qt.GlobalColor.white)
    painter = QPainter(flat)
    painter.drawImage(0, 0, image)
    painter.end()
    content = QByteArray()
    buffer = QBuffer(content)
    buffer.open(QIODevice.OpenModeFlag.WriteOnly)
    writer = QImageWriter(buffer, QByteArray(b"jpeg"))
    writer.setQuality(_QUALITY)
    if not writer.write(flat):
        raise PhotoError("The picture could not be written anew.", _ANOTHER)
    buffer.close()
    return bytes(content.data())
