"""What the program remembers about its user, declared once; and where it keeps its files."""

import getpass
import json
import os
from collections.abc import Mapping
from dataclasses import asdict, dataclass, field, replace
from pathlib import Path
from typing import Any

from ui.theme import TEXT_SCALES, THEME_NAMES, ThemeName

_APP = "pull-once"
VOICES = ("do", "say", "why")


@dataclass(frozen=True)
class Places:
    """The folders of the program: settings, and cases with the crash report."""

    config: Path
    data: Path

    @property
    def settings(self) -> Path:
        """The settings file."""
        return self.config / "settings.json"

    @property
    def cases(self) -> Path:
        """The folder that held cases as files; those in it are taken into the store."""
        return self.data / "cases"

    @property
    def store(self) -> Path:
        """The store of cases, where it is a file of the user's own."""
        return self.data / "cases.sqlite"

    @property
    def outbox(self) -> Path:
        """What waits while a store's server is away."""
        return self.data / "outbox.sqlite"

    @property
    def learned(self) -> Path:
        """The words learned from closed cases, beside the settings."""
        return self.config / "learned.json"

    @property
    def crash_log(self) -> Path:
        """The report of the last crash."""
        return self.data / "crash.log"


def places() -> Places:
    """Give the folders: below ``PULL_ONCE_HOME`` if that is set, else the system's own."""
    home = os.environ.get("PULL_ONCE_HOME")
    if home:
        return Places(Path(home, "config"), Path(home, "data"))
    import platformdirs

    return Places(
        platformdirs.user_config_path(_APP, appauthor=False),
        platformdirs.user_data_path(_APP, appauthor=False),
    )


def author(settings: "Settings") -> str:
    """Give who sits here: as the settings say, or as the system knows the user."""
    try:
        return settings.author.strip() or getpass.getuser()
    except (OSError, KeyError):  # the system knows no name
        return ""


def _choice(allowed: tuple[Any, ...]) -> dict[str, Any]:
    return {"allowed": allowed}


@dataclass(frozen=True)
class Settings:
    """Every setting, its type, its default and what it may be.

    Attributes
    ----------
    theme : str
        One of `THEME_NAMES`.
    text_scale : float
        One of `TEXT_SCALES`.
    voice : str
        The voice checks are shown in: one of `VOICES`.
    last_folder : str
        Where the last case file was opened or saved by hand.
    overlays : tuple of str
        A shop's own knowledge folders, laid over the base in this order.
    author : str
        Who sits here; the name the system knows the user by if empty.
    store : str
        Where the store of cases is, as a URL; the user's own data folder if empty.
    learning : bool
        Whether the words learned from closed cases are used.
    left_out : tuple of str
        Ids of closed cases that nothing is learned from.
    """

    theme: ThemeName = field(default="system", metadata=_choice(THEME_NAMES))
    text_scale: float = field(default=1.0, metadata=_choice(TEXT_SCALES))
    voice: str = field(default="do", metadata=_choice(VOICES))
    last_folder: str = ""
    overlays: tuple[str, ...] = ()
    author: str = ""
    store: str = ""
    learning: bool = False
    left_out: tuple[str, ...] = ()

    def with_(self, **changes: Any) -> "Settings":
        """Give the settings with some of them changed."""
        return replace(self, **changes)


def read_settings(path: Path) -> Settings:
    """Read the settings; what can't be read or makes no sense falls back to its default."""
    try:
        data = json.loads(path.read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return Settings()
    return _from_data(data) if isinstance(data, dict) else Settings()


def write_settings(path: Path, settings: Settings) -> None:
    """Write the settings whole.

    Raises
    ------
    OSError
        If they can't be written; the old file is unchanged.
    """
    from diagnose.plain_yaml import write_whole  # not before the window is shown

    path.parent.mkdir(parents=True, exist_ok=True)
    write_whole(path, json.dumps(asdict(settings), indent=2))


def _from_data(data: Mapping[str, Any]) -> Settings:
    default = Settings()
    known: dict[str, Any] = {}
    for name, declared in Settings.__dataclass_fields__.items():
        value = data.get(name, getattr(default, name))
        if isinstance(getattr(default, name), tuple) and isinstance(value, list):
            value = tuple(str(v) for v in value)
        allowed = declared.metadata.get("allowed")
        fits = value in allowed if allowed else isinstance(value, type(getattr(default, name)))
        if fits:
            known[name] = value
    return Settings(**known)
