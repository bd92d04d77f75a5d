"""Several values in one line, as people type them: "0 3 -2 3 thou", "1 to 1 1/2 in"."""

import re

_APART = re.compile(r"\s*(?:;|\n|,(?=\s)|\b(?:to|and)\b)\s*")
_BEGINS = re.compile(r"[-+−]?[.,]?\d")
_FRACTION = re.compile(r"\d+/\d+")
_AWAITS_FRACTION = re.compile(r"[-+−]?\d+(?:\s*-)?")
_UNIT = re.compile(r"[^\d\s.,:/+−-].*$")


def several(text: str) -> tuple[str, ...]:
    """Take a line apart into its values.

    Parameters
    ----------
    text : str
        Values with spaces, ", ", ";", "to" or "and" between them. A unit that stands at the very
        end only holds for all of them.

    Returns
    -------
    tuple of str
        One text a value; empty if nothing was typed.

    Examples
    --------
    >>> several("1 to 1 1/2 in")
    ('1 in', '1 1/2 in')
    """
    parts = [value for part in _APART.split(text) for value in _values(part)]
    units = [_UNIT.search(part) for part in parts]
    last = units[-1] if units else None
    if last is not None and not any(units[:-1]):
        parts = [*(f"{part} {last[0]}" for part in parts[:-1]), parts[-1]]
    return tuple(parts)


def _values(part: str) -> list[str]:
    """Take apart what only spaces keep apart: a new value begins with a figure."""
    found: list[str] = []
    for word in part.split():
        begins = _BEGINS.match(word) is not None
        fraction = _FRACTION.match(word) is not None
        if found and (not begins or (fraction and _AWAITS_FRACTION.fullmatch(found[-1]))):
            found[-1] = f"{found[-1]} {word}"
        else:
            found.append(word)
    return found
