import json
from pathlib import Path

import pytest

from ui.settings import Settings, places, read_settings, write_settings


def test_round_trip(tmp_path):
    path = tmp_path / "deep" / "settings.json"
    settings = Settings(
        theme="dark", text_scale=1.5, voice="say", last_folder="/x", overlays=("/a", "/b")
    )
    write_settings(path, settings)
    assert read_settings(path) == settings
    assert [p.name for p in path.parent.iterdir()] == ["settings.json"]


@pytest.mark.parametrize("text", ["", "{", "[]", "null", '"x"', "\x00"])
def test_what_is_no_settings_file_gives_the_defaults(tmp_path, text):
    path = tmp_path / "settings.json"
    path.write_text(text, encoding="utf-8")
    assert read_settings(path) == Settings()


def test_a_missing_file_gives_the_defaults(tmp_path):
    assert read_settings(tmp_path / "none.json") == Settings()


def test_each_senseless_value_falls_back_alone(tmp_path):
    path = tmp_path / "settings.json"
    data = {"theme": "pink", "text_scale": 7, "voice": ["do"], "last_folder": 3, "strange": 1}
    path.write_text(json.dumps({**data, "overlays": ["/shop"]}), encoding="utf-8")
    assert read_settings(path) == Settings(overlays=("/shop",))


def test_settings_that_cannot_be_written_raise(tmp_path):
    blocked = tmp_path / "file"
    blocked.write_text("", encoding="utf-8")
    with pytest.raises(OSError, match="file"):
        write_settings(blocked / "settings.json", Settings())


def test_places_follow_the_variable(monkeypatch, tmp_path):
    monkeypatch.setenv("PULL_ONCE_HOME", str(tmp_path))
    found = places()
    assert found.settings.is_relative_to(tmp_path)
    assert found.cases.is_relative_to(tmp_path)
    monkeypatch.delenv("PULL_ONCE_HOME")
    assert not places().data.is_relative_to(tmp_path)
    assert isinstance(places().config, Path)
