"""The gate: all problems of all files in one run, each at its place, or a whole base."""

import re
import shutil
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from knowledge.load import KnowledgeError, base_folder, load_base
from knowledge.marks import Position, Problem
from knowledge.mentions import mentions
from knowledge.model import Shift
from knowledge.raw import KINDS
from knowledge.tree import MAX_TOGETHER

SMALL = Path(__file__).parent / "small"
BAD = Path(__file__).parent / "bad"
EXPECT = re.compile(
    r"^# expect: (?:(\S+\.yaml):)?(\d+):(\d+)  (.*?)(?: \(did you mean '(.*)'\?\))?$"
)


def files_of(case: Path) -> list[Path]:
    return [case] if case.is_file() else sorted(case.iterdir())


def expected(case: Path) -> list[tuple[Position, str, str]]:
    """Place, start of the message and guess of every problem the files of a case name."""
    found = []
    for file in files_of(case):
        for line in file.read_text(encoding="utf-8", errors="replace").split("\n"):
            match = EXPECT.match(line)
            if match is not None:
                other, row, column, message, guess = match.groups()
                place = Position(other or f"wrong/{file.name}", int(row), int(column))
                found.append((place, message, guess or ""))
    return sorted(found)


def problems(case: Path, tmp_path: Path, *, over: bool) -> tuple[Problem, ...]:
    """Load the small base with the files of a case in it, or laid over it, as ``wrong/``."""
    base = tmp_path / "base"
    shutil.copytree(SMALL, base)
    wrong = (tmp_path if over else base) / "wrong"
    wrong.mkdir()
    for file in files_of(case):
        shutil.copy(file, wrong)
    with pytest.raises(KnowledgeError) as caught:
        load_base(*([wrong] if over else []), base=base)
    assert str(caught.value) == "\n".join(str(problem) for problem in caught.value.problems)
    return caught.value.problems


def check_problems(case: Path, tmp_path: Path, *, over: bool) -> None:
    wanted = expected(case)
    assert wanted, "a bad file says what it must give"
    found = problems(case, tmp_path, over=over)
    assert [(p.position, p.guess) for p in found] == [(place, guess) for place, _, guess in wanted]
    for problem, (_, message, _) in zip(found, wanted, strict=True):
        assert problem.message.startswith(message)
        shown = str(problem).split("\n")
        assert shown[0].startswith(f"{problem.position}  {message}")
        if problem.excerpt:
            caret = shown[2].index("^")
            # What a message quotes stands where the caret points, or in the short form beside it.
            name = re.match(r"'([^']+)' is not known", problem.message)
            if name is not None:
                assert re.match(rf"['\"]?{name[1]}|\{{|\w+: ['\"]?{name[1]}", shown[1][caret:])


@pytest.mark.parametrize(
    "case", sorted(p for p in BAD.iterdir() if p.name != "over"), ids=lambda p: p.stem
)
def test_a_bad_file_gives_all_its_problems(case, tmp_path):
    check_problems(case, tmp_path, over=False)


@pytest.mark.parametrize("case", sorted((BAD / "over").iterdir()), ids=lambda p: p.stem)
def test_a_bad_folder_laid_over_gives_all_its_problems(case, tmp_path):
    check_problems(case, tmp_path, over=True)


def test_every_bad_file_at_once(tmp_path):
    """All the bad files in one folder: each problem that a file gives by itself is still given."""
    base = tmp_path / "base"
    shutil.copytree(SMALL, base)
    cases = [BAD / f"{name}.yaml" for name in ("numbers", "gates", "tab", "shares", "answers")]
    wanted = []
    for case in cases:
        shutil.copy(case, base)
        wanted += [(place.line, place.column, case.name) for place, _, _ in expected(case)]
    with pytest.raises(KnowledgeError) as caught:
        load_base(base=base)
    found = {(p.position.line, p.position.column, p.position.file) for p in caught.value.problems}
    assert set(wanted) <= found


class TestFolders:
    def test_a_folder_that_is_not_there(self, tmp_path):
        with pytest.raises(
            KnowledgeError, match=r"nowhere:1:1  this is no folder with .yaml files"
        ):
            load_base(base=tmp_path / "nowhere")

    def test_an_overlay_that_is_not_there(self, tmp_path):
        with pytest.raises(
            KnowledgeError, match=r"nowhere:1:1  this is no folder with .yaml files"
        ):
            load_base(tmp_path / "nowhere", base=SMALL)

    def test_a_base_without_scale(self, tmp_path):
        shutil.copytree(SMALL, tmp_path / "base")
        words = tmp_path / "base" / "words.yaml"
        text = words.read_text(encoding="utf-8")
        words.write_text("sources:" + text.partition("sources:")[2], encoding="utf-8")
        with pytest.raises(KnowledgeError) as caught:
            load_base(base=tmp_path / "base")
        # Words are not told off while there is no scale to look them up in.
        assert [p.message for p in caught.value.problems] == ["no file holds the 'scale' of words"]

    def test_a_scale_that_cannot_be_read_is_not_called_missing(self, tmp_path):
        shutil.copytree(SMALL, tmp_path / "base")
        words = tmp_path / "base" / "words.yaml"
        words.write_text(words.read_text(encoding="utf-8") + "  }\n", encoding="utf-8")
        with pytest.raises(KnowledgeError) as caught:
            load_base(base=tmp_path / "base")
        (problem,) = caught.value.problems
        assert problem.message.startswith("not readable as YAML")

    def test_a_scale_without_the_words_of_soft_answers(self, laid_over):
        with pytest.raises(KnowledgeError, match=r"shop/own.yaml:1:17  'probably' is missing"):
            laid_over("scale: {answer: {probably: null}}\n")

    def test_a_word_that_records_have_by_default_must_be_in_the_scale(self, laid_over):
        with pytest.raises(KnowledgeError, match="'hardly ever' is not known among strength"):
            laid_over("scale: {strength: {hardly ever: null}}\n")

    def test_a_file_that_cannot_be_opened(self, tmp_path):
        shutil.copytree(SMALL, tmp_path / "base")
        (tmp_path / "base" / "folder.yaml").mkdir()
        with pytest.raises(KnowledgeError, match=r"folder.yaml:1:1  can't be read: Is a directory"):
            load_base(base=tmp_path / "base")

    def test_a_file_that_is_too_large(self, tmp_path):
        shutil.copytree(SMALL, tmp_path / "base")
        (tmp_path / "base" / "large.yaml").write_text("# " + "x" * 1_048_576, encoding="utf-8")
        with pytest.raises(KnowledgeError, match=r"large.yaml:1:1  the file is larger than 1024"):
            load_base(base=tmp_path / "base")

    def test_both_endings_and_subfolders_are_read(self, tmp_path):
        base = tmp_path / "base"
        (base / "deep").mkdir(parents=True)
        shutil.copy(SMALL / "words.yaml", base / "words.yml")
        shutil.copy(SMALL / "tree.yaml", base / "deep" / "tree.yaml")
        for name in ("checks.yaml", "measurements.yaml"):
            shutil.copy(SMALL / name, base)
        (base / "notes.txt").write_text("not knowledge: [", encoding="utf-8")
        assert load_base(base=base).places["causes", "air"] == Position("deep/tree.yaml", 24, 3)

    def test_a_byte_order_mark_and_windows_line_ends(self, tmp_path, small_base):
        base = tmp_path / "base"
        base.mkdir()
        for file in SMALL.iterdir():
            text = file.read_text(encoding="utf-8").replace("\n", "\r\n")
            (base / file.name).write_bytes(b"\xef\xbb\xbf" + text.encode())
        found = load_base(base=base)
        assert found.version == small_base.version
        assert found.places == small_base.places


class TestWholeBase:
    def test_every_kind_is_there(self, small_base):
        for kind in KINDS:
            assert getattr(small_base, kind), kind

    def test_words_and_numbers(self, small_base):
        air, fork = small_base.causes["air"], small_base.causes["fork_worn"]
        assert small_base.rate(air.rate) == 0.4
        assert small_base.strength(air.brings["short_stroke"]) == 0.8
        assert small_base.strength(fork.shows["fork_grooved"]) == 0.9
        assert small_base.observable("spongy").name == "the pedal is spongy"
        with pytest.raises(KeyError):
            small_base.observable("air")

    def test_places(self, small_base):
        assert small_base.places["causes", "air"] == Position("tree.yaml", 24, 3)

    def test_the_version_is_that_of_the_content(self, tmp_path, small_base, laid_over):
        shutil.copytree(SMALL, tmp_path / "renamed")
        (tmp_path / "renamed" / "tree.yaml").rename(tmp_path / "renamed" / "a.yaml")
        assert load_base(base=tmp_path / "renamed").version == small_base.version
        assert laid_over("causes: [{id: air, rate: rare}]\n").version != small_base.version
        assert laid_over("scale: {hand_over: 7.0}\n").version != small_base.version

    def test_the_base_can_not_be_changed(self, small_base):
        with pytest.raises(TypeError):
            small_base.causes["air"] = None
        with pytest.raises(AttributeError):
            small_base.scale = None

    def test_the_shipped_base_loads(self):
        base = load_base()
        assert base.places
        assert {place.file for place in base.places.values()} <= {
            path.relative_to(base_folder()).as_posix() for path in base_folder().rglob("*.yaml")
        }

    def test_every_name_in_the_shipped_base_is_a_mention(self):
        """The table of mentions misses no key: whatever looks like an id of the tree is one."""
        base = load_base()
        tree = {*base.mechanisms, *base.causes, *base.findings, *base.complaints}
        for kind in KINDS:
            for name, record in getattr(base, kind).items():
                data = record.model_dump(by_alias=True)
                listed = {mention.name for mention in mentions(kind, data)}
                answers = {answer["id"] for answer in data.get("answers", ())}
                assert set(_names(data)) & tree <= listed | answers | {name}


def _names(data):
    if isinstance(data, str):
        yield data
    elif isinstance(data, dict):
        yield from data
        for value in data.values():
            yield from _names(value)
    elif isinstance(data, tuple):
        for value in data:
            yield from _names(value)


class TestLaidOver:
    def test_a_new_record(self, laid_over):
        base = laid_over("zones: [{id: bay, name: Bay}]\n")
        assert list(base.zones) == ["pedal", "housing", "bay"]
        assert base.places["zones", "bay"] == Position("shop/own.yaml", 1, 9)

    def test_changed_keys_leave_the_others(self, laid_over, small_base):
        base = laid_over("causes: [{id: air, rate: rare, repair: {hours: 2.0}}]\n")
        old, new = small_base.causes["air"], base.causes["air"]
        assert base.rate(new.rate) == 0.15
        assert (new.repair.hours, new.repair.do) == (2.0, old.repair.do)
        kept = {"rate", "repair"}
        assert new.model_dump(exclude=kept) == old.model_dump(exclude=kept)
        assert base.places["causes", "air"] == small_base.places["causes", "air"]

    def test_links_one_by_one(self, laid_over):
        base = laid_over(
            "causes:\n- {id: air, brings: {hard_to_shift: usually, rattles: sometimes}}\n"
            "- {id: disc_bent, brings: {hard_to_shift: null, rattles: usually}}\n"
        )
        assert {k: v.word for k, v in base.causes["air"].brings.items()} == {
            "short_stroke": "usually",
            "hard_to_shift": "usually",
            "rattles": "sometimes",
        }
        assert list(base.causes["disc_bent"].brings) == ["rattles"]

    def test_shifts_one_by_one(self, laid_over, small_base):
        base = laid_over(
            "causes:\n- {id: cable_long, shifts: {tip_flex: {by: 0.01}}}\n"
            "- {id: air, shifts: {air: [{by: 1 cm3}, {by: 3 cm3, when: {release: [cylinder]}}]}}\n"
        )
        old, new = small_base.causes["cable_long"].shifts, base.causes["cable_long"].shifts
        assert new == {**old, "tip_flex": (Shift(by=0.01),)}
        assert [shift.by for shift in base.causes["air"].shifts["air"]] == ["1 cm3", "3 cm3"]
        gone = laid_over("causes: [{id: cable_long, shifts: {pedal_play: null}}]\n")
        assert gone.causes["cable_long"].shifts == {}

    def test_null_takes_a_key_away(self, laid_over):
        base = laid_over("causes: [{id: disc_bent, before_closing: null}]\n")
        assert base.causes["disc_bent"].before_closing == ""

    def test_a_list_is_replaced_whole(self, laid_over):
        base = laid_over("mechanisms: [{id: fork_off_line, of: [fork_worn, disc_bent]}]\n")
        assert base.mechanisms["fork_off_line"].of == ("fork_worn", "disc_bent")

    def test_the_scale(self, laid_over):
        base = laid_over("scale: {strength: {usually: 0.7}, hand_over: 8.0}\n")
        assert base.scale.strength["usually"] == 0.7
        assert base.scale.strength["always"] == 0.97
        assert base.scale.hand_over == 8.0

    def test_switched_off(self, laid_over):
        base = laid_over("off: [bled, pump_pedal]\n")
        assert "bled" not in base.work
        assert "pump_pedal" not in base.checks

    def test_later_folders_lie_over_earlier_ones(self, tmp_path):
        for name, text in (
            ("one", "causes: [{id: air, rate: rare, about: One.}]\noff: [bled]\n"),
            ("two", "causes: [{id: air, about: Two.}]\n"),
        ):
            (tmp_path / name).mkdir()
            (tmp_path / name / "own.yaml").write_text(text, encoding="utf-8")
        base = load_base(tmp_path / "one", tmp_path / "two", base=SMALL)
        assert base.causes["air"].about == "Two."
        assert base.causes["air"].rate.word == "rare"
        back = load_base(tmp_path / "two", tmp_path / "one", base=SMALL)
        assert back.causes["air"].about == "One."

    def test_what_was_switched_off_can_come_back_in_a_later_folder(self, tmp_path):
        for name, text in (
            ("one", "off: [bled]\n"),
            (
                "two",
                "work:\n- {id: bled, name: Bled, ask: Was it?, source: judgement,"
                " answers: [{id: done, text: done, cures: {air: always}}]}\n",
            ),
        ):
            (tmp_path / name).mkdir()
            (tmp_path / name / "own.yaml").write_text(text, encoding="utf-8")
        base = load_base(tmp_path / "one", tmp_path / "two", base=SMALL)
        assert [a.id for a in base.work["bled"].answers] == ["done"]

    def test_folders_of_one_name_are_told_apart(self, tmp_path):
        folders = []
        for parent in ("left", "right"):
            folder = tmp_path / parent / "shop"
            folder.mkdir(parents=True)
            (folder / "own.yaml").write_text("off: [nothing_such]\n", encoding="utf-8")
            folders.append(folder)
        with pytest.raises(KnowledgeError) as caught:
            load_base(*folders, base=SMALL)
        assert [p.position.file for p in caught.value.problems] == [
            f"{folder.resolve().as_posix()}/own.yaml" for folder in folders
        ]

    def test_an_empty_file_changes_nothing(self, laid_over, small_base):
        assert laid_over("# nothing yet\n").version == small_base.version


def test_too_many_causes_in_gates(laid_over):
    """More than can be worked out are refused by the gate, not by the engine later on."""
    names = [f"part_{i}" for i in range(MAX_TOGETHER + 1)]
    causes = "\n".join(
        f"- {{id: {n}, name: {n}, zone: pedal, rate: rare, about: a, prove: b, source: judgement,"
        f" repair: {{do: c, from: seat, hours: 1}}}}"
        for n in names
    )
    gate = (
        "- {id: crowd, name: crowd, gate: all, of: [%s], brings: {rattles: always},"
        " source: judgement}\n"
    )
    text = f"causes:\n{causes}\nmechanisms:\n{gate}"
    with pytest.raises(KnowledgeError, match="9 causes hang together in gates, at most 8 may"):
        laid_over(text % ", ".join(names))
    base = laid_over(text % ", ".join(names[:-1]))
    assert len(base.mechanisms["crowd"].of) == MAX_TOGETHER


SMALL_LINES = {
    file.name: file.read_text(encoding="utf-8").split("\n") for file in sorted(SMALL.iterdir())
}


@st.composite
def damage(draw):
    """A file of the small base with one line taken away, doubled, cut, or with letters changed."""
    name = draw(st.sampled_from(sorted(SMALL_LINES)))
    lines = list(SMALL_LINES[name])
    at = draw(st.integers(0, len(lines) - 1))
    line = lines[at]
    end = draw(st.integers(0, len(line)))
    wedge = draw(
        st.sampled_from(["", "x", ":", ": ", "- ", "'", '"', "{", "]", "*a", "\t", "5", "#"])
    )
    how = draw(st.sampled_from(["drop", "double", "cut", "wedge", "indent"]))
    lines[at : at + 1] = {
        "drop": [],
        "double": [line, line],
        "cut": [line[:end]],
        "wedge": [line[:end] + wedge + line[end:]],
        "indent": [" " + line],
    }[how]
    return name, "\n".join(lines)


@given(damage())
def test_whatever_one_breaks_the_gate_answers(tmp_path_factory, damaged):
    """Either a whole base, or problems that each stand on a line of one of the files."""
    name, text = damaged
    base = tmp_path_factory.mktemp("base")
    for file in SMALL.iterdir():
        shutil.copy(file, base)
    (base / name).write_text(text, encoding="utf-8")
    try:
        whole, problems = load_base(base=base), ()
    except KnowledgeError as error:
        whole, problems = None, error.problems
    assert (whole is None) == bool(problems)
    for problem in problems:
        if problem.position.file != str(base):
            lines = (base / problem.position.file).read_text(encoding="utf-8").split("\n")
            assert 1 <= problem.position.line <= len(lines) + 1
