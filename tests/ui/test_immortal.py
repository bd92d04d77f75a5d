"""The references Qt's binding takes; once it takes none, the workaround can go."""

import subprocess
import sys

import pytest

import ui  # noqa: F401 - its import is what is tested

PLENTY = 1 << 50
MANY_CALLS = """
from PySide6.QtWidgets import QApplication, QWidget
app = QApplication([])
widget = QWidget()
for _ in range(200_000):
    widget.setEnabled(True)
print("alive", flush=True)
"""


@pytest.mark.skipif(sys.version_info >= (3, 12), reason="None is immortal there")
@pytest.mark.parametrize("singleton", [None, True, False, NotImplemented])
def test_references_to_spare(singleton):
    assert sys.getrefcount(singleton) > PLENTY


def test_many_calls_are_survived():
    done = subprocess.run(
        [sys.executable, "-c", f"import ui\n{MANY_CALLS}"],
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.stdout.split() == ["alive"], done.stderr


@pytest.mark.skipif(sys.version_info >= (3, 12), reason="None is immortal there")
@pytest.mark.xfail(reason="PySide6 6.12 takes one reference to None a call", strict=True)
def test_the_workaround_is_no_longer_needed():
    done = subprocess.run(
        [sys.executable, "-c", MANY_CALLS], capture_output=True, text=True, check=False
    )
    assert done.stdout.split() == ["alive"], done.stderr
