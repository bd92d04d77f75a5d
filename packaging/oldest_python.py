"""Refuse a Python that is too old, in one sentence instead of a traceback.

Runs before anything else is imported, so this file keeps to what Python 3.6 understands.
"""

import sys

OLDEST = (3, 11)


def sentence(version: "tuple[int, ...]") -> str:
    """What to tell the owner of a Python of this version; empty if it is new enough."""
    if version >= OLDEST:
        return ""
    return (
        "Pull Once needs Python {}.{} or newer and this is Python {}.{}: "
        "start it with a newer one, for example python{}.{}.".format(
            *OLDEST, version[0], version[1], *OLDEST
        )
    )


def require() -> None:
    """Exit with that sentence if the running Python is too old."""
    refusal = sentence(tuple(sys.version_info[:2]))
    if refusal:
        sys.exit(refusal)
