"""Photographs in a case file: their bytes as base64 text, judged by size before they are decoded.

Whether the bytes are a picture at all is not known here: whoever keeps or shows them looks.
"""

import binascii
from base64 import b64decode, b64encode
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from typing import Any

from knowledge.marks import Marked, Problem

KEY = "photographs"
MOST = 60  # as many as a case of the store holds
MAX_TOTAL = 12 * 2**20  # bytes of all photographs of a file; a mail still takes it
_TEXT_OF_ALL = MAX_TOTAL * 4 // 3 + 4 * MOST  # letters of base64
_LINE = 96
_FIELDS = {"name": 120, "caption": 2000, "data": _TEXT_OF_ALL}  # and the most letters of each


@dataclass(frozen=True)
class CasePhoto:
    """A photograph on its way in or out: its name, what it shows, and the bytes of the picture."""

    name: str
    caption: str
    data: bytes = field(repr=False)


def that_fit(photos: Sequence[CasePhoto]) -> tuple[tuple[CasePhoto, ...], tuple[CasePhoto, ...]]:
    """Give those that a case file holds, in their order, and those that are too many for it."""
    fitting: list[CasePhoto] = []
    left: list[CasePhoto] = []
    total = 0
    for photo in photos:
        fits = len(fitting) < MOST and total + len(photo.data) <= MAX_TOTAL
        (fitting if fits else left).append(photo)
        total += len(photo.data) if fits else 0
    return tuple(fitting), tuple(left)


def photos_text(photos: Sequence[CasePhoto], dump: Callable[[Any], str]) -> str:
    """Give the lines of a case file that hold photographs; nothing if there are none.

    Parameters
    ----------
    photos : sequence of CasePhoto
    dump : callable
        Writes a mapping as YAML, one key in a line.
    """
    return "".join(_lines(photos, dump)) if photos else ""


def _lines(photos: Sequence[CasePhoto], dump: Callable[[Any], str]) -> Iterator[str]:
    yield f"{KEY}:\n"
    for photo in photos:
        head = dump({"name": photo.name, "caption": photo.caption}).splitlines()
        yield f"- {head[0]}\n"
        yield from (f"  {line}\n" for line in head[1:])
        yield "  data: |-\n"
        # Written by hand: the emitter would go through it letter by letter.
        text = b64encode(photo.data).decode("ascii")
        yield from (f"    {text[i : i + _LINE]}\n" for i in range(0, len(text), _LINE))


def photos_of(marked: Marked) -> tuple[tuple[CasePhoto, ...], tuple[Problem, ...]]:
    """Give the photographs of a file that was read, and what is wrong with them.

    Parameters
    ----------
    marked : Marked
        A mapping; it need not have any photographs.

    Returns
    -------
    photos : tuple of CasePhoto
    problems : tuple of Problem
        If there are any, nothing was decoded that is too large.
    """
    listed = marked.data.get(KEY)
    if listed is None:
        return (), ()
    if not isinstance(listed, list):
        return (), (marked.problem((KEY,), "photographs are a list"),)
    problems = tuple(_problems(listed, marked))
    if problems:
        return (), problems
    photos: list[CasePhoto] = []
    for i, photo in enumerate(listed):
        try:
            data = b64decode("".join(photo["data"].split()), validate=True)
        except (binascii.Error, ValueError):
            return (), (marked.problem((KEY, i, "data"), "this is no base64 text"),)
        photos.append(CasePhoto(photo["name"], photo.get("caption", ""), data))
    return tuple(photos), ()


def _problems(listed: list[Any], marked: Marked) -> Iterator[Problem]:
    if len(listed) > MOST:
        yield marked.problem((KEY,), f"{len(listed)} photographs; up to {MOST} are read")
        return
    total = 0
    for i, photo in enumerate(listed):
        if not isinstance(photo, dict):
            yield marked.problem((KEY, i), "a photograph has a name, a caption and data")
            continue
        for name in photo.keys() - _FIELDS.keys():
            yield marked.problem((KEY, i, name), f"a photograph has no {name!r}", key=True)
        for name, most in _FIELDS.items():
            text = photo.get(name, "" if name == "caption" else None)
            if not isinstance(text, str):
                yield marked.problem((KEY, i, name), f"{name!r} of a photograph is a text")
            elif len(text) > most and name != "data":
                yield marked.problem((KEY, i, name), f"longer than {most} letters")
        total += len(photo["data"]) if isinstance(photo.get("data"), str) else 0
    if total > _TEXT_OF_ALL + total // _LINE:  # the line ends count for nothing
        most = MAX_TOTAL // 2**20
        yield marked.problem((KEY,), f"the photographs have more than {most} MB together")
