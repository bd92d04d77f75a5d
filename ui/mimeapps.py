"""The user's ``mimeapps.list`` as text: our line laid into it and taken out again.

As mime-apps 1.0.1 has it: in the group of the defaults a type has a list of desktop entries, the
first that is installed counts. Nothing else in the text changes.
"""

from collections.abc import Sequence

TYPE = "application/x-pull-once-case"
ENTRY = "pull-once-case.desktop"
GROUP = "[Default Applications]"


def with_default(text: str) -> tuple[str, bool]:
    """Lay down in a ``mimeapps.list`` that the program opens case files.

    Parameters
    ----------
    text : str

    Returns
    -------
    tuple of str and bool
        The new text, and whether the group is new in it.
    """
    lines = text.split("\n")
    header, place = _places(lines)
    if place is not None:
        key, _, value = lines[place].partition("=")
        lines[place] = f"{key}={';'.join([ENTRY, *_others(value)])}"
    elif header is not None:
        lines.insert(header + 1, f"{TYPE}={ENTRY}")
    else:  # before the empty piece after the last line end, if there is one
        end = len(lines) - (lines[-1] == "")
        lines[end:end] = [GROUP, f"{TYPE}={ENTRY}"]
    return "\n".join(lines), header is None


def without_default(text: str, *, group: bool) -> str:
    """Take back what `with_default` laid down.

    Parameters
    ----------
    text : str
    group : bool
        Whether the group was new then; it goes too if nothing else is in it by now.

    Returns
    -------
    str
    """
    lines = text.split("\n")
    header, place = _places(lines)
    if place is None or header is None:
        return text
    key, _, value = lines[place].partition("=")
    others = _others(value)
    lines[place : place + 1] = [f"{key}={';'.join(others)}"] if others else []
    follows = lines[header + 1] if header + 1 < len(lines) else ""
    if group and (not follows.strip() or follows.startswith("[")):
        del lines[header]
    return "\n".join(lines)


def _places(lines: Sequence[str]) -> tuple[int | None, int | None]:
    """Give where the group begins, and where in it the type stands."""
    header = None
    for at, line in enumerate(lines):
        if line.startswith("["):
            if header is not None:
                break
            header = at if line.strip() == GROUP else None
        elif header is not None and line.partition("=")[0].strip() == TYPE:
            return header, at
    return header, None


def _others(value: str) -> list[str]:
    return [name for name in value.strip().split(";") if name and name != ENTRY]
