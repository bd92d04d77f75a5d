"""WORKAROUND for PySide6 6.12 on Python 3.11: None and its like must not run out of references.

The wheels are built as if None, True, False and NotImplemented were immortal, as they are from
Python 3.12 on: whatever call of Qt gives one of them back takes one reference too many. On 3.11 the
interpreter then ends after some thousand calls with "deallocating None". Here they are given more
references than can ever be taken. `tests/ui/test_immortal.py` tells when this is no longer needed.
"""

import ctypes
import sys

_PLENTY = 1 << 60
_SINGLETONS = (None, True, False, NotImplemented)


def keep_singletons() -> None:
    """Give the singletons references to spare, on a Python that counts them."""
    if sys.version_info >= (3, 12):
        return
    for singleton in _SINGLETONS:
        count = ctypes.c_ssize_t.from_address(id(singleton))
        # In a build with another object head this is not the count, and nothing is touched.
        if abs(count.value - sys.getrefcount(singleton)) < 16:
            count.value += _PLENTY
