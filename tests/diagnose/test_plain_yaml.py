"""Files of ours in YAML: what is written is read back the same, or the old file stays."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.errors import CaseFileError
from diagnose.plain_yaml import dumped, refuse, refuse_format, write_whole
from knowledge.marks import read_marked

# Words that readers of YAML take for something else: YAML 1.1, type repository, bool and float.
DISPUTED = ("yes", "no", "on", "true", "null", "~", "010", "1:30", "1e3", "2026-11-24", "- a", "")


@pytest.mark.parametrize("text", DISPUTED)
def test_a_word_that_looks_like_something_else_stays_a_word(text):
    assert read_marked(dumped({"a": text}), "a.yaml").data == {"a": text}


@given(
    st.dictionaries(
        st.from_regex(r"[a-z]{1,8}", fullmatch=True),
        st.one_of(
            st.integers(-(10**9), 10**9),
            st.text(st.characters(codec="ascii", categories=["L", "N", "P", "Zs"]), max_size=30),
        ),
        max_size=5,
    )
)
def test_what_is_dumped_is_read_back_the_same(data):
    marked = read_marked(dumped({"all": data, "again": data}), "a.yaml")
    assert marked.problems == ()
    assert marked.data == {"all": data, "again": data}


def test_problems_are_told_in_the_order_of_the_lines_by_the_caller_s_own_error():
    marked = read_marked("a: 1\nb: 2\n", "a.yaml")
    problems = [marked.problem(("b",), "second"), marked.problem(("a",), "first")]
    with pytest.raises(CaseFileError) as caught:
        refuse("a.yaml", problems, CaseFileError)
    said = str(caught.value)
    assert 0 < said.index("first") < said.index("second")


def test_without_problems_nothing_is_refused():
    refuse("a.yaml", [], CaseFileError)


@pytest.mark.parametrize(
    ("number", "said"),
    [("0", "whole number"), ("true", "whole number"), ("'1'", "whole number"), ("3", "newer")],
)
def test_a_format_that_is_none_or_too_new_is_refused(number, said):
    with pytest.raises(CaseFileError, match=said):
        refuse_format(read_marked(f"head: {number}\n", "a.yaml"), "head", 2, CaseFileError)


def test_a_known_format_passes():
    refuse_format(read_marked("head: 2\n", "a.yaml"), "head", 2, CaseFileError)


def test_the_new_file_keeps_its_line_ends_and_who_may_read_it(tmp_path):
    path = tmp_path / "a.yaml"
    path.write_text("old", encoding="utf-8")
    path.chmod(0o640)
    write_whole(path, "a\r\nb\n")
    assert path.read_bytes() == b"a\r\nb\n"
    assert path.stat().st_mode & 0o777 == 0o640
    assert [found.name for found in tmp_path.iterdir()] == ["a.yaml"]


def test_what_can_not_be_written_leaves_the_old_file(tmp_path, monkeypatch):
    path = tmp_path / "a.yaml"
    path.write_text("old", encoding="utf-8")

    def full(_):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("diagnose.plain_yaml.os.fsync", full)
    with pytest.raises(OSError, match="No space"):
        write_whole(path, "new")
    assert path.read_text(encoding="utf-8") == "old"
    assert [found.name for found in tmp_path.iterdir()] == ["a.yaml"]
