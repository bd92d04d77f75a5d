"""Case files: what is written is read again; what can't be read says why, and loses nothing."""

import os
import re
from errno import EACCES, ENOSPC
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.case import (
    FORMAT,
    GRADES,
    NO_EVIDENCE,
    OUTCOMES,
    PENDING,
    Case,
    Entry,
    Found,
    left_today,
    spent,
)
from diagnose.case_file import case_text, possible_answers, read_case_file, write_case_file
from diagnose.errors import CaseFileError
from knowledge.load import load_base
from knowledge.quantity import parse_quantity

SMALL = Path(__file__).parents[1] / "knowledge" / "small"
BASE = load_base(base=SMALL)

FULL = Case(
    title="Blue van, “third” time",
    setup="plain_cable",
    facts={"release": ("cable",)},
    hours={"out": 3.5},
    stands="under",
    words="It crunches.\nSometimes: not at all.",
    entries=(
        Entry(complaint="hard_to_shift", answer="yes", by="Odrin"),
        Entry(check="free_play", answer="much", reading='1-3/4"', note="on"),
        Entry(work="bled", answer="well", when="since", at="2031-05-01 10:30"),
        Entry(check="look_inside", answer="disc", stage="inside"),
        Entry(check="pump_pedal", answer="can't tell", by_the_way=True),
        Entry(repair="air", answer="still there", hours=0.35),
        Entry(repair="disc_bent", answer="not driven yet", seen=True, hours=2.0, stage="inside"),
    ),
    acknowledged=("stands",),
    skipped=("pump_pedal",),
    moved=4.3333,
    limit=2.0,
    limit_from=0.5,
    labour=84.5,
    parts={"air": 0.0, "disc_bent": 120.0},
    currency="EUR",
    found=Found(causes=("disc_bent", "air"), sure="complaint gone", why="~"),
    origin="012",
    knowledge=BASE.version,
)
FULL_TEXT = """\
# A case of Pull Once. The last line, three dots, shows that the file is whole.
pull_once_case: 1
title: "Blue van, “third” time"
setup: plain_cable
facts:
  release:
  - cable
hours:
  out: 3.5
stands: under
"""


def opened(tmp_path, text):
    path = tmp_path / "case.yaml"
    path.write_bytes(text if isinstance(text, bytes) else text.encode())
    return read_case_file(path, BASE)


def refusal(tmp_path, text):
    """What is said when a text can't be used: one sentence and a next step, file unchanged."""
    with pytest.raises(CaseFileError) as caught:
        opened(tmp_path, text)
    error = caught.value
    assert error.sentence.startswith("case.yaml")
    assert error.next_step.endswith(".")
    assert str(error) == f"{error.sentence} {error.next_step}"
    written = text if isinstance(text, bytes) else text.encode()
    assert (tmp_path / "case.yaml").read_bytes() == written
    return error


class TestRoundTrip:
    def test_a_full_case(self, tmp_path):
        path = tmp_path / "case.yaml"
        write_case_file(path, FULL)
        assert read_case_file(path, BASE) == FULL
        assert path.read_text(encoding="utf-8").startswith(FULL_TEXT)

    def test_an_empty_case(self, tmp_path):
        path = tmp_path / "case.yaml"
        write_case_file(path, Case())
        assert read_case_file(path, BASE) == Case()

    def test_by_hand(self, tmp_path):
        """As a person writes it: no end mark needed, words without quotes, flow or block style."""
        case = opened(
            tmp_path,
            "pull_once_case: 1\n"
            "facts: {release: [cable]}\n"
            "entries:\n"
            "- {complaint: hard_to_shift, answer: yes}\n"
            "- check: free_play\n"
            "  answer: much\n"
            "  reading: 45 mm\n"
            "- {check: pump_pedal, answer: can't tell, note: no time}\n",
        )
        assert [e.answer for e in case.entries] == ["yes", "much", "can't tell"]

    def test_windows_line_ends_and_byte_order_mark(self, tmp_path):
        text = "\ufeff" + case_text(FULL).replace("\n", "\r\n")
        assert opened(tmp_path, text) == FULL

    def test_blank_lines_after_the_end(self, tmp_path):
        assert opened(tmp_path, case_text(FULL) + "\n \n") == FULL


ids_of = {
    "complaint": tuple(BASE.complaints),
    "check": tuple(BASE.checks),
    "work": tuple(BASE.work),
    "repair": tuple(BASE.causes),
}


@st.composite
def fitting_entries(draw):
    kind = draw(st.sampled_from(sorted(ids_of)))
    name = draw(st.sampled_from(ids_of[kind]))
    blank = Entry(**{kind: name}, answer="x")
    answer = draw(st.sampled_from(possible_answers(BASE, blank)))
    reading = ""
    if name == "free_play" and answer not in NO_EVIDENCE:
        low, high = {"fits": (0.0, 1.49), "much": (1.5, 4.0)}[answer]
        reading = draw(st.just("") | st.floats(low, high).map(lambda v: f"{v:.4f} in"))
    return blank.model_copy(
        update={
            "answer": answer,
            "reading": reading,
            "when": draw(st.sampled_from(["job", "since"])),
            "stage": draw(st.sampled_from(["before", "inside"])),
            "seen": draw(st.booleans()),
            "hours": draw(st.none() | st.floats(0.0, 100.0)),
            "by_the_way": draw(st.booleans()),
            "note": draw(st.text(max_size=30)),
        }
    )


fitting_cases = st.builds(
    Case,
    title=st.text(max_size=30),
    setup=st.sampled_from([None, "plain_cable"]),
    facts=st.sampled_from([{}, {"release": ("cable",)}, {"release": ("cable", "cylinder")}]),
    hours=st.dictionaries(st.sampled_from(["under", "out"]), st.floats(0.0, 100.0)),
    stands=st.sampled_from(["seat", "under", "out"]),
    words=st.text(max_size=80),
    entries=st.lists(fitting_entries(), max_size=6).map(tuple),
    skipped=st.sampled_from([(), ("free_play",)]),
    moved=st.floats(0.0, 100.0),
    limit=st.none() | st.floats(0.0, 100.0),
    limit_from=st.floats(0.0, 100.0),
    labour=st.none() | st.floats(0.0, 1000.0),
    parts=st.dictionaries(st.sampled_from(sorted(BASE.causes)), st.floats(0.0, 1e6)),
    currency=st.text(max_size=12),
)


@given(fitting_cases)
def test_every_case_is_read_as_it_was_written(tmp_path_factory, case):
    path = tmp_path_factory.mktemp("cases") / "case.yaml"
    write_case_file(path, case)
    assert read_case_file(path, BASE) == case


@given(fitting_cases, st.data())
def test_a_file_that_was_cut_off_is_never_taken_for_whole(tmp_path_factory, case, data):
    text = case_text(case).encode()
    end = data.draw(st.integers(0, len(text.rstrip()) - 1))
    path = tmp_path_factory.mktemp("cases") / "case.yaml"
    path.write_bytes(text[:end])
    with pytest.raises(CaseFileError):
        read_case_file(path, BASE)


OLD_TEXT = """\
# A case of Pull Once. The last line, three dots, shows that the file is whole.
pull_once_case: 1
setup: plain_cable
hours:
  out: 3.5
stands: under
entries:
- complaint: hard_to_shift
  answer: 'yes'
- work: bled
  answer: well
  when: since
  note: "to put right: air in the line"
- check: look_inside
  answer: disc
  stage: inside
found:
  causes:
  - disc_bent
...
"""


class TestFilesFromBeforeRepairsWereEntries:
    def test_they_open_and_mean_the_same(self, tmp_path):
        case = opened(tmp_path, OLD_TEXT)
        assert [e.subject[0] for e in case.entries] == ["complaint", "work", "check"]
        assert [e.is_repair for e in case.entries] == [False, True, False]
        assert not any(e.is_pending or e.by_the_way or e.seen for e in case.entries)
        assert spent(case) == 0.0
        assert left_today(case) is None
        assert case.labour is None
        assert not case.parts

    def test_they_are_written_as_they_were(self, tmp_path):
        assert case_text(opened(tmp_path, OLD_TEXT)) == OLD_TEXT


def test_a_repair_by_hand(tmp_path):
    case = opened(
        tmp_path,
        "pull_once_case: 1\nentries:\n- {repair: air, answer: not driven yet}\n"
        "limit: 2\nlabour: 85\nparts: {air: 12.5}\ncurrency: EUR\n",
    )
    assert case.entries[0].answer == PENDING
    assert case.entries[0].is_pending
    assert (case.limit, case.labour, case.parts, case.currency) == (2, 85, {"air": 12.5}, "EUR")


class TestNoCaseFile:
    @pytest.mark.parametrize(
        ("text", "sentence"),
        [
            ("", "case.yaml is empty."),
            ("# nothing\n", "case.yaml is no case file: it does not say 'pull_once_case'."),
            ("title: A van\n", "case.yaml is no case file: it does not say 'pull_once_case'."),
            ("- pull_once_case\n", "case.yaml is no case file: it does not say 'pull_once_case'."),
            ("{ not yaml", "case.yaml is no case file: it does not say 'pull_once_case'."),
            (b"\x89PNG\r\n\x1a\n\x00\xff", "case.yaml is no case file"),
            ("x" * 1_048_577, "case.yaml is too large to be a case file."),
        ],
    )
    def test_choose_another(self, text, sentence, tmp_path):
        error = refusal(tmp_path, text)
        assert error.sentence.startswith(sentence)
        assert error.next_step == "Choose another file."

    def test_from_a_newer_version(self, tmp_path):
        text = f"pull_once_case: {FORMAT + 1}\nshape: round\n"
        error = refusal(tmp_path, text)
        assert error.sentence == (
            "case.yaml was written by a newer version of the program "
            f"(format {FORMAT + 1}, this one reads up to {FORMAT})."
        )
        assert error.next_step == "Update the program; the file is unchanged."

    @pytest.mark.parametrize("number", ["0", "-1", "1.0", "one", "true", "null", "[1]"])
    def test_a_format_that_is_none(self, number, tmp_path):
        error = refusal(tmp_path, f"pull_once_case: {number}\n")
        assert error.sentence == "case.yaml: 'pull_once_case' must be a whole number from 1."

    def test_cut_off(self, tmp_path):
        text = case_text(FULL).partition("origin:")[0]
        error = refusal(tmp_path, text)
        assert error.sentence == "case.yaml is cut off: its last line, '...', is missing."
        assert "take the first line away" in error.next_step
        assert opened(tmp_path, text.partition("\n")[2]).found == FULL.found

    def test_not_there(self, tmp_path):
        with pytest.raises(CaseFileError) as caught:
            read_case_file(tmp_path / "none.yaml", BASE)
        assert caught.value.sentence == "none.yaml can't be read: no such file or directory."
        assert caught.value.next_step == "Check the file and its folder."

    def test_a_folder(self, tmp_path):
        with pytest.raises(CaseFileError, match="can't be read: is a directory"):
            read_case_file(tmp_path, BASE)

    @pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="this system has no pipes in folders")
    def test_a_pipe_which_would_never_end(self, tmp_path):
        os.mkfifo(tmp_path / "pipe.yaml")
        with pytest.raises(CaseFileError, match="no ordinary file"):
            read_case_file(tmp_path / "pipe.yaml", BASE)

    def test_no_permission(self, tmp_path, monkeypatch):
        def refuse(*_, **__):
            raise PermissionError(EACCES, "Permission denied")

        path = tmp_path / "case.yaml"
        write_case_file(path, FULL)
        monkeypatch.setattr(Path, "open", refuse)
        with pytest.raises(CaseFileError, match="can't be read: permission denied"):
            read_case_file(path, BASE)


# One line of a case file, and below it the place and the start of what is said about it.
WRONG_LINES = """
# unknown ids, each with a guess
- {check: free_plai, answer: much}
  3:11  'free_plai' is no check of the knowledge base (did you mean 'free_play'?)
- {complaint: hard_shift, answer: yes}
  3:15  'hard_shift' is no complaint of the knowledge base (did you mean 'hard_to_shift'?)
- {work: blet, answer: well}
  3:10  'blet' is no work of the knowledge base (did you mean 'bled'?)
- {repair: disc_bend, answer: still there}
  3:12  'disc_bend' is no cause of the knowledge base (did you mean 'disc_bent'?)
parts: {disc_bend: 3}
  2:9  'disc_bend' is no cause of the knowledge base (did you mean 'disc_bent'?)
setup: plane_cable
  2:8  'plane_cable' is no set-up of the knowledge base (did you mean 'plain_cable'?)
facts: {relase: [cable]}
  2:9  'relase' is no fact of the knowledge base (did you mean 'release'?)
facts: {release: [cabel]}
  2:19  'cabel' is no value of the knowledge base (did you mean 'cable'?)
stands: undr
  2:9  'undr' is no level of the knowledge base (did you mean 'under'?)
hours: {outt: 3}
  2:9  'outt' is no level of the knowledge base (did you mean 'out'?)
acknowledged: [stand]
  2:16  'stand' is no caution of the knowledge base (did you mean 'stands'?)
skipped: [pump]
  2:11  'pump' is no check of the knowledge base
found: {causes: [disc_bend]}
  2:18  'disc_bend' is no cause of the knowledge base (did you mean 'disc_bent'?)
# answers
- {check: free_play, answer: yes}
  3:30  'yes' is no answer here; possible are fits, much,
- {complaint: rattles, answer: always}
  3:32  'always' is no answer here; possible are yes, probably,
- {work: bled, answer: wel}
  3:24  'wel' is no answer here; possible are well, not_bled,
- {repair: air, answer: yes}
  3:25  'yes' is no answer here; possible are not driven yet, still there
- {repair: air, answer: can't tell}
  3:25  "can't tell" is no answer here; possible are not driven yet, still there
- {repair: air, answer: still there, reading: 1 in}
  3:47  the reading '1 in' does not go with the answer 'still there'
- {check: free_play}
  3:3  'answer' is missing
- {answer: yes}
  3:3  an entry names exactly one of 'complaint', 'check', 'work' and 'repair'
# readings
- {check: free_play, answer: much, reading: 35 N}
  3:45  '35 N' is a force, but a length is wanted here.
- {check: free_play, answer: much, reading: 35 furlongs}
  3:45  'furlongs' is not a unit this program knows
- {check: free_play, answer: much, reading: plenty}
  3:45  'plenty' is not a number with a unit
- {check: free_play, answer: much, reading: 35 in}
  3:45  35 in can hardly be right here. Did you mean 35 mm?
- {check: free_play, answer: much, reading: 1 in}
  3:45  the reading '1 in' does not go with the answer 'much'
- {check: free_play, answer: can't tell, reading: 1 in}
  3:51  the reading '1 in' does not go with the answer
- {check: pump_pedal, answer: yes, reading: 1 in}
  3:45  'Pump the pedal' takes no reading.
- {complaint: rattles, answer: yes, reading: 1 in}
  3:46  the reading '1 in' does not go with the answer 'yes'
# text where a number belongs, and the other way round
hours: {out: soon}
  2:14  'soon' does not fit here: it takes a number
hours: {out: -1}
  2:14  -1 does not fit here: it takes a number from 0
limit: soon
  2:8  'soon' does not fit here: it takes a number
labour: -3
  2:9  -3 does not fit here: it takes a number from 0
hours: {out: 1e999}
  2:14  '1e999' is too large a number
- {check: free_play, answer: much, reading: 1.75}
  3:45  1.75 does not fit here: it takes text
title: 1999
  2:8  1999 does not fit here: it takes text
# keys and shapes
titel: A van
  2:1  no key 'titel' belongs here (did you mean 'title'?)
- {check: free_play, anser: much, answer: much}
  3:22  no key 'anser' belongs here (did you mean 'answer'?)
entries: none
  2:10  'none' does not fit here: it takes a list
facts: {release: cable}
  2:18  'cable' does not fit here: it takes a list
- {check: free_play, answer: much, when: later}
  3:42  'later' does not fit here: it takes one of 'job' or 'since'
# broken and refused YAML
title: 'A van
  3:1  not readable as YAML
title: on
  2:8  YAML readers disagree about 'on'
title: &a b
  2:8  anchors and aliases are not used here
"""


def wrong_lines():
    rows = [line for line in WRONG_LINES.strip().split("\n") if not line.startswith("#")]
    for line, said in zip(rows[::2], rows[1::2], strict=True):
        place, _, message = said.strip().partition("  ")
        entries = "entries:\n" if line.startswith("- ") else ""
        yield f"pull_once_case: 1\n{entries}{line}\n", place, message


@pytest.mark.parametrize(
    ("text", "place", "message"),
    [
        *wrong_lines(),
        ("pull_once_case: 1\ntitle: a\ntitle: b\n", "3:1", "'title' stands here twice"),
        (b"pull_once_case: 1\ntitle: caf\xe9\n", "2:11", "this is not UTF-8 text"),
    ],
)
def test_a_fault_is_said_with_its_line(text, place, message, tmp_path):
    error = refusal(tmp_path, text)
    assert error.sentence.startswith("case.yaml can't be used:\n")
    first = error.sentence.split("\n")[1]
    assert first.startswith(f"case.yaml:{place}  {message}")
    assert error.next_step == "Correct these lines; nothing was changed."


def test_all_faults_are_said_in_one_run(tmp_path):
    error = refusal(
        tmp_path,
        "pull_once_case: 1\nsetup: plane_cable\nentries:\n"
        "- {check: free_plai, answer: much}\n- {complaint: rattles, answer: maybe}\n",
    )
    places = re.findall(r"^case\.yaml:(\d+:\d+)", error.sentence, re.MULTILINE)
    assert places == ["2:8", "4:11", "5:32"]


def test_possible_answers_end_with_those_without_evidence():
    none = sorted(NO_EVIDENCE)
    for kind, name, own in (
        ("complaint", "rattles", list(GRADES)),
        ("check", "pump_pedal", list(GRADES)),
        ("check", "free_play", ["fits", "much"]),
        ("work", "bled", ["well", "not_bled"]),
    ):
        answers = list(possible_answers(BASE, Entry(**{kind: name}, answer="x")))
        assert answers == own + [word for word in none if word not in own]


def test_a_repair_is_driven_or_not():
    assert possible_answers(BASE, Entry(repair="air", answer="x")) == OUTCOMES


def names_in(folder):
    return [path.name for path in folder.iterdir()]


class Failing:
    """Something of the system that fails as told."""

    def __init__(self, error):
        self.error = error

    def __call__(self, *_, **__):
        raise self.error


FULL_DISC = OSError(ENOSPC, "No space left on device")
DENIED = PermissionError(EACCES, "Permission denied")


class TestSaving:
    def refused(self, path, case=FULL):
        with pytest.raises(CaseFileError) as caught:
            write_case_file(path, case)
        error = caught.value
        assert f"could not be saved to {path.name}" in error.sentence
        assert "The old file is unchanged." in error.sentence
        assert error.next_step
        return error

    @pytest.mark.parametrize(
        ("where", "what", "error", "said"),
        [
            ("os.fsync", None, FULL_DISC, "no space left on device"),
            ("os.fsync", None, DENIED, "permission denied"),
            ("os.fsync", None, PermissionError(), "permissionError"),
            (Path, "open", DENIED, "permission denied"),
            (Path, "replace", DENIED, "permission denied"),
            ("shutil.copymode", None, FULL_DISC, "no space left on device"),
        ],
    )
    def test_the_old_file_stays_whole(self, where, what, error, said, tmp_path, monkeypatch):
        path = tmp_path / "case.yaml"
        write_case_file(path, FULL)
        before = path.read_bytes()
        with monkeypatch.context() as patch:
            if what is None:
                patch.setattr(where, Failing(error))
            else:
                patch.setattr(where, what, Failing(error))
            refused = self.refused(path, FULL.with_stands("out"))
        assert said in refused.sentence
        assert "Nothing is lost while the program is open" in refused.next_step
        assert path.read_bytes() == before
        assert names_in(tmp_path) == ["case.yaml"]

    def test_a_disc_that_fills_up_half_way(self, tmp_path, monkeypatch):
        path = tmp_path / "case.yaml"
        write_case_file(path, FULL)
        before = path.read_bytes()
        real = Path.open

        def fills_up(self, *args, **kwargs):
            file = real(self, *args, **kwargs)
            if "x" in args:
                whole = file.write

                def write(text):
                    whole(text[: len(text) // 2])
                    file.flush()
                    raise FULL_DISC

                file.write = write
            return file

        monkeypatch.setattr(Path, "open", fills_up)
        self.refused(path, FULL.with_stands("out"))
        assert path.read_bytes() == before
        assert names_in(tmp_path) == ["case.yaml"]

    def test_broken_off_by_the_user(self, tmp_path, monkeypatch):
        path = tmp_path / "case.yaml"
        write_case_file(path, FULL)
        before = path.read_bytes()
        monkeypatch.setattr("os.fsync", Failing(KeyboardInterrupt()))
        with pytest.raises(KeyboardInterrupt):
            write_case_file(path, FULL.with_stands("out"))
        assert path.read_bytes() == before
        assert names_in(tmp_path) == ["case.yaml"]

    def test_a_folder_that_is_a_file(self, tmp_path):
        (tmp_path / "folder").write_text("a file", encoding="utf-8")
        error = self.refused(tmp_path / "folder" / "case.yaml")
        assert "not a directory" in error.sentence
        assert (tmp_path / "folder").read_text(encoding="utf-8") == "a file"

    def test_a_folder_that_is_gone(self, tmp_path):
        error = self.refused(tmp_path / "gone" / "case.yaml")
        assert "no such file or directory" in error.sentence
        assert names_in(tmp_path) == []

    @pytest.mark.parametrize(
        ("change", "said"),
        [
            ({"words": "x" * 2001}, "it takes text of at most 2000 characters"),
            ({"entries": FULL.entries * 201}, "it takes at most 1000 of them"),
            ({"title": "a\ud800b"}, "not readable as YAML"),
            ({"stands": "Out There"}, "it takes an id of small letters"),
        ],
    )
    def test_what_could_not_be_read_again_is_not_written(self, change, said, tmp_path):
        path = tmp_path / "case.yaml"
        write_case_file(path, FULL)
        before = path.read_bytes()
        error = self.refused(path, FULL.model_copy(update=change))
        assert said in error.sentence
        assert error.next_step == "Shorten or correct what is named here."
        assert path.read_bytes() == before
        assert names_in(tmp_path) == ["case.yaml"]

    def test_who_may_read_it_stays_as_it_was(self, tmp_path):
        path = tmp_path / "case.yaml"
        umask = os.umask(0o027)
        try:
            write_case_file(path, FULL)
        finally:
            os.umask(umask)
        assert path.stat().st_mode & 0o777 == 0o640
        path.chmod(0o664)
        write_case_file(path, FULL)
        assert path.stat().st_mode & 0o777 == 0o664

    def test_a_long_name(self, tmp_path):
        path = tmp_path / ("n" * 250 + ".yaml")
        write_case_file(path, FULL)
        assert read_case_file(path, BASE) == FULL


def test_a_reading_is_kept_as_typed(tmp_path):
    """The file keeps what was typed, so that nothing is lost by converting it."""
    case = Case().with_entry(Entry(check="free_play", answer="much", reading="1 3/4 in"))
    path = tmp_path / "case.yaml"
    write_case_file(path, case)
    reading = read_case_file(path, BASE).entries[0].reading
    assert reading == "1 3/4 in"
    assert parse_quantity(reading).value == pytest.approx(44.45)
