"""The scripts are not a package: they are loaded from their folder."""

import importlib
import sys
from pathlib import Path

import pytest

FOLDER = Path(__file__).parents[2] / "packaging"
SCRIPTS = sorted(FOLDER.glob("*.py"))


@pytest.fixture
def script(monkeypatch):
    """Load a script by name, as Python does when it is run, and forget it afterwards."""
    monkeypatch.setattr(sys, "path", [*sys.path, str(FOLDER)])
    for path in SCRIPTS:
        monkeypatch.delitem(sys.modules, path.stem, raising=False)

    def load(name):
        module = importlib.import_module(name)
        assert Path(module.__file__) == FOLDER / f"{name}.py"
        return module

    yield load
    for path in SCRIPTS:
        sys.modules.pop(path.stem, None)
