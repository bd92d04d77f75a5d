"""What holds for every test: no screen, and nothing of the user's is read or written."""

import os
import tempfile
from pathlib import Path

import hypothesis
import pytest

from knowledge.load import load_base
from knowledge.model import KnowledgeBase

# Before anything imports Qt: without a screen it would end the whole process.
os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")

_home = tempfile.TemporaryDirectory(prefix="pull-once-")
for _variable in (
    "PULL_ONCE_HOME",
    "XDG_CACHE_HOME",
    "XDG_CONFIG_HOME",
    "XDG_DATA_HOME",
    "XDG_STATE_HOME",
):
    os.environ[_variable] = str(Path(_home.name, _variable.lower()))

# An example may take its time on a busy machine: no unit test is a timing. So many examples keep
# the whole below its quarter of an hour; HYPOTHESIS_PROFILE=thorough looks further.
hypothesis.settings.register_profile("untimed", deadline=None, max_examples=50)
hypothesis.settings.register_profile("thorough", deadline=None, max_examples=500)
hypothesis.settings.load_profile(os.environ.get("HYPOTHESIS_PROFILE", "untimed"))


def pytest_unconfigure():
    _home.cleanup()


@pytest.fixture(scope="session")
def knowledge() -> KnowledgeBase:
    """The knowledge base that ships with the program."""
    return load_base()
