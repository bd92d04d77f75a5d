"""Photographs in a case file: written, read back to the byte, and refused by size."""

from base64 import b64encode

import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose import case_photos
from diagnose.case import Case, Leading, Ranking, weighed_digest
from diagnose.case_file import CaseFile, read_case, read_case_file, write_case_file
from diagnose.case_photos import MAX_TOTAL, MOST, CasePhoto, that_fit
from diagnose.errors import CaseFileError

PHOTO = CasePhoto("fork.jpg", "the pad, worn: on one side", bytes(range(256)) * 3)


def file_with(tmp_path, lines):
    path = tmp_path / "case.yaml"
    path.write_text("\n".join(["pull_once_case: 1", *lines]) + "\n", encoding="utf-8")
    return path


def refusal(path, base):
    with pytest.raises(CaseFileError) as error:
        read_case(path, base)
    return str(error.value)


def test_what_is_written_is_read_back_to_the_byte(tmp_path, knowledge):
    path = tmp_path / "case.yaml"
    case = Case(title="Van")
    photos = (PHOTO, CasePhoto("ohne.jpg", "", b"\xff\xd8\xff"))
    write_case_file(path, case, photos)
    assert read_case(path, knowledge) == CaseFile(case, photos)
    assert read_case_file(path, knowledge) == case


def test_a_file_without_photographs_does_not_speak_of_them(tmp_path):
    path = tmp_path / "case.yaml"
    write_case_file(path, Case(title="Van"))
    assert "photographs" not in path.read_text()


@given(st.text(max_size=60), st.text(max_size=60), st.binary(max_size=300))
def test_names_and_captions_of_any_make_come_back(tmp_path_factory, knowledge, name, caption, data):
    path = tmp_path_factory.mktemp("case") / "case.yaml"
    photo = CasePhoto(name, caption, data)
    write_case_file(path, Case(), (photo,))
    assert read_case(path, knowledge).photographs == (photo,)


@pytest.mark.parametrize(
    ("lines", "said"),
    [
        (["photographs: 7"], "are a list"),
        (["photographs:", "- 7"], "a name, a caption and data"),
        (["photographs:", "- name: a"], "'data' of a photograph is a text"),
        (["photographs:", "- data: QUJD"], "'name' of a photograph is a text"),
        (["photographs:", "- name: a", "  data: 12"], "'data' of a photograph is a text"),
        (["photographs:", "- name: a", "  data: 'Q*'"], "no base64"),
        (["photographs:", "- name: a", "  data: QUJD", "  place: b"], "has no 'place'"),
        (["photographs:", f"- name: {'a' * 121}", "  data: QUJD"], "longer than 120"),
        (["photographs:", *["- name: a", "  data: QUJD"] * (MOST + 1)], f"up to {MOST}"),
    ],
)
def test_what_is_no_photograph_is_refused_with_its_line(tmp_path, knowledge, lines, said):
    told = refusal(file_with(tmp_path, lines), knowledge)
    assert said in told
    assert "case.yaml:" in told


def test_too_many_bytes_are_refused_before_any_is_decoded(tmp_path, knowledge, monkeypatch):
    def never(*_args, **_more):
        raise AssertionError

    monkeypatch.setattr(case_photos, "b64decode", never)
    text = b64encode(bytes(MAX_TOTAL // 2 + 300_000)).decode()
    path = file_with(tmp_path, ["photographs:", *[f"- name: a\n  data: {text}"] * 2])
    assert "more than 12 MB" in refusal(path, knowledge)


def test_a_file_beyond_all_limits_is_not_read(tmp_path, knowledge):
    path = tmp_path / "case.yaml"
    with path.open("wb") as file:
        file.truncate(100 * 2**20)
    assert "too large to be a case file" in refusal(path, knowledge)


def test_only_photographs_may_make_a_file_large(tmp_path, knowledge):
    path = file_with(tmp_path, [f"title: '{'a' * 1_200_000}'"])
    assert "too large to be a case file" in refusal(path, knowledge)


def test_those_that_fit_are_taken_in_order_and_the_others_told():
    large = [CasePhoto(str(i), "", bytes(MAX_TOTAL // 2 - 10)) for i in range(3)]
    small = CasePhoto("small", "", b"a")
    fitting, left = that_fit([*large, small])
    assert [p.name for p in fitting] == ["0", "1", "small"]
    assert [p.name for p in left] == ["2"]
    many = [CasePhoto(str(i), "", b"a") for i in range(MOST + 2)]
    assert [len(part) for part in that_fit(many)] == [MOST, 2]


class TestRanking:
    def test_it_is_in_the_file_and_comes_back(self, tmp_path, knowledge):
        leading = (Leading(cause="air", p=0.4), Leading(cause="long_gone", p=0.1))
        ranked = Ranking(knowledge="old", weighed=weighed_digest(Case()), leading=leading)
        path = tmp_path / "case.yaml"
        write_case_file(path, Case(ranked=ranked))
        assert "cause: air" in path.read_text()
        # A cause that the knowledge no longer holds is no fault of the file.
        assert read_case_file(path, knowledge).ranked == ranked

    def test_the_digest_moves_with_what_is_weighed_and_with_nothing_else(self, example_case):
        case = example_case
        digest = weighed_digest(case)
        mute = case.model_copy(
            update={
                "title": "another",
                "moved": 3.0,
                "note": "a note",
                "entries": tuple(
                    e.model_copy(update={"note": "n", "by": "b", "at": "2026", "hours": 1.0})
                    for e in case.entries
                ),
            }
        )
        assert weighed_digest(mute) == digest
        assert weighed_digest(case.without_entry(0)) != digest
        assert weighed_digest(case.with_facts({"release": ("cable",)})) != digest
        assert weighed_digest(case.with_kit({"finger_height": "45 mm"})) != digest


@pytest.fixture
def example_case(knowledge):
    from knowledge.load import base_folder

    return read_case_file(base_folder().parent / "examples" / "example.yaml", knowledge)
