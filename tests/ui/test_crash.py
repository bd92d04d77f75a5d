import sys

from ui import crash


def raised():
    try:
        {}["spline"]
    except KeyError:
        return sys.exc_info()
    raise AssertionError


def test_the_report_stays_here_and_says_where(tmp_path, capsys):
    told = []
    log = tmp_path / "deep" / "crash.log"
    crash.hook(log, told.append)(*raised())
    assert told == [str(log)]
    text = log.read_text(encoding="utf-8")
    assert "KeyError: 'spline'" in text
    assert "in raised" in text
    assert "KeyError" in capsys.readouterr().err


def test_a_report_that_cannot_be_written_is_told_all_the_same(tmp_path):
    (tmp_path / "file").write_text("", encoding="utf-8")
    told = []
    crash.hook(tmp_path / "file" / "crash.log", told.append)(*raised())
    assert len(told) == 1
    assert told[0].startswith("no file")


def test_a_program_without_a_console_reports_too(tmp_path, monkeypatch):
    monkeypatch.setattr(sys, "stderr", None)
    told = []
    crash.hook(tmp_path / "crash.log", told.append)(*raised())
    assert told == [str(tmp_path / "crash.log")]


def test_an_interrupt_is_no_crash(tmp_path):
    told = []
    crash.hook(tmp_path / "crash.log", told.append)(KeyboardInterrupt, KeyboardInterrupt(), None)
    assert told == []
    assert not (tmp_path / "crash.log").exists()
