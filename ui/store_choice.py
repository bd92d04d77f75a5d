"""Where the store of cases may be: what was typed, as a URL, tried before it is taken; Qt-free."""

import os
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from diagnose.records.connecting import sqlite_file, sqlite_url
from diagnose.records.errors import StoreError
from diagnose.records.store import open_store

VARIABLE = "PULL_ONCE_STORE"
_SCHEMES = ("sqlite:", "postgresql:")


@dataclass(frozen=True)
class Tried:
    """What came of trying a store: its URL, and what to say of it."""

    url: str
    said: str


def outranks(environment: Mapping[str, str] = os.environ) -> str:
    """Say that the environment names the store, whatever the settings are; empty if not."""
    if not environment.get(VARIABLE):
        return ""
    return f"{VARIABLE} is set and outranks this setting; take it away to choose the place here."


def url_of(typed: str) -> str:
    """Give the URL of what was typed: a URL as it is, a path as that of an SQLite file.

    Raises
    ------
    StoreError
        If it is neither.
    """
    words = typed.strip()
    if not words or words.startswith(_SCHEMES):
        return words
    if "://" in words:
        scheme = words.partition(":")[0]
        raise StoreError(
            f"A store can't be reached by {scheme!r}.",
            "Write a file, or an address that begins with postgresql:// or sqlite://.",
        )
    path = Path(words).expanduser()
    if not path.is_absolute():
        raise StoreError(
            f"{words} does not say in which folder.", "Write the whole path of the file."
        )
    if path.is_dir():
        raise StoreError(
            f"{path} is a folder.", "Name a file in it, such as cases.sqlite at its end."
        )
    return sqlite_url(path)


def shown(url: str) -> str:
    """Give a store's URL as it is shown in a field: the path of a file, else the URL."""
    if not url:
        return ""
    try:
        path = sqlite_file(url)
    except StoreError:
        return url
    return url if path is None else str(path)


def tried(typed: str) -> Tried:
    """Try a store before it is taken; a file that is not there yet is not made.

    Raises
    ------
    StoreError
        If it can't be used.
    """
    url = url_of(typed)
    if not url:
        return Tried("", "Cases are kept in your own data folder.")
    path = sqlite_file(url)
    if path is not None and not path.exists():
        folder = next((p for p in path.parents if p.exists()), path.parent)
        if not folder.is_dir() or not os.access(folder, os.W_OK):
            raise StoreError(
                f"Nothing can be written in {folder}.", "Choose a folder that you may write to."
            )
        return Tried(url, f"{path} is not there yet: an empty store is made at the next start.")
    store = open_store(url)
    try:
        count = len(store.find(limit=2))
    finally:
        store.close()
    held = "it is empty" if not count else "it holds cases"
    return Tried(url, f"The store was opened: {held}.")
