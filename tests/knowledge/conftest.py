"""The small base: one of every kind of record, clean, and a way to lay something over it."""

from pathlib import Path

import pytest

from knowledge.load import load_base

SMALL = Path(__file__).parent / "small"


@pytest.fixture(scope="session")
def small_base():
    return load_base(base=SMALL)


@pytest.fixture
def laid_over(tmp_path):
    """Give the small base with the text of one file, in a folder named shop, laid over it."""

    def lay(text):
        folder = tmp_path / "shop"
        folder.mkdir(exist_ok=True)
        (folder / "own.yaml").write_text(text, encoding="utf-8")
        return load_base(folder, base=SMALL)

    return lay
