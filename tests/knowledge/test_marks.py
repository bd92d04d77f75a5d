"""Our subset of YAML: what it gives, where everything stood, and what it refuses."""

import pytest
import yaml
from hypothesis import given
from hypothesis import strategies as st

from diagnose.case import GRADES, Case, Entry, Found
from diagnose.case_file import case_text
from knowledge import marks
from knowledge.marks import MAX_BYTES, Position, Problem, read_marked, read_marked_file

TEXT = """\
causes:
- id: air
  brings: {drag: usually, noise: 0.3}
  texts:
    - one
    - "two: three"
"""


def refused(text: str) -> list[tuple[int, int, str]]:
    return [
        (p.position.line, p.position.column, p.message) for p in read_marked(text, "f").problems
    ]


class TestData:
    def test_mappings_lists_and_words(self):
        assert read_marked(TEXT, "f").data == {
            "causes": [
                {
                    "id": "air",
                    "brings": {"drag": "usually", "noise": 0.3},
                    "texts": ["one", "two: three"],
                }
            ]
        }

    @pytest.mark.parametrize(
        ("text", "value"),
        [
            ("5", 5),
            ("-5", -5),
            ("0", 0),
            ("0.5", 0.5),
            (".5", 0.5),
            ("5.", 5.0),
            ("1e-4", 1e-4),
            ("1.0e3", 1000.0),
            ("-2E+2", -200.0),
            ("true", True),
            ("false", False),
            ("null", None),
            ("", None),
            ("yes", "yes"),
            ("no", "no"),
            ("'5'", "5"),
            ('"null"', "null"),
            ("'010'", "010"),
            ("+5", 5),
            ("+.5e1", 5.0),
            ("1 3/8 in", "1 3/8 in"),
            ('1-3/8"', '1-3/8"'),
            ("1.2.3", "1.2.3"),
            ("'it''s'", "it's"),
            (r'"\x41\u00e9"', "Aé"),
            ("|\n two\n lines\n", "two\nlines\n"),
            (">\n two\n words\n", "two words\n"),
        ],
    )
    def test_a_plain_value(self, text, value):
        marked = read_marked(f"key: {text}", "f")
        assert marked.problems == ()
        assert marked.data == {"key": value}
        assert type(marked.data["key"]) is type(value)

    @pytest.mark.parametrize("text", ["", "\n", "# only a note\n", "---\n...\n"])
    def test_nothing(self, text):
        marked = read_marked(text, "f")
        assert (marked.data, marked.problems) == (None, ())

    def test_a_byte_order_mark_does_not_count(self):
        marked = read_marked("\ufeffkey: 5", "f")
        assert marked.data == {"key": 5}
        assert marked.position(("key",), key=True) == Position("f", 1, 1)


class TestPositions:
    @pytest.mark.parametrize(
        ("path", "key", "line", "column"),
        [
            ((), False, 1, 1),
            (("causes",), True, 1, 1),
            (("causes",), False, 2, 1),
            (("causes", 0), False, 2, 3),
            (("causes", 0, "id"), True, 2, 3),
            (("causes", 0, "id"), False, 2, 7),
            (("causes", 0, "brings"), False, 3, 11),
            (("causes", 0, "brings", "noise"), True, 3, 27),
            (("causes", 0, "brings", "noise"), False, 3, 34),
            (("causes", 0, "texts", 1), False, 6, 7),
        ],
    )
    def test_of_everything_in_the_file(self, path, key, line, column):
        assert read_marked(TEXT, "f").position(path, key=key) == Position("f", line, column)

    def test_of_what_is_not_there_is_the_nearest_around_it(self):
        marked = read_marked(TEXT, "f")
        assert marked.position(("causes", 0, "rate")) == Position("f", 2, 3)
        assert marked.position(("causes", 0, "rate"), key=True) == Position("f", 2, 3)
        assert marked.position(("causes", 7, "id")) == Position("f", 2, 1)
        assert read_marked("", "f").position(("causes",)) == Position("f", 1, 1)

    def test_a_problem_shows_place_line_caret_and_guess(self):
        problem = read_marked(TEXT, "base/air.yaml").problem(
            ("causes", 0, "brings", "drag"), "'drag' is not known", key=True, guess="drags"
        )
        assert str(problem) == (
            "base/air.yaml:3:12  'drag' is not known (did you mean 'drags'?)\n"
            "    3 |   brings: {drag: usually, noise: 0.3}\n"
            "                   ^"
        )

    def test_a_long_line_is_shown_around_the_place(self):
        line = "a" * 500 + "WRONG" + "b" * 500
        shown = str(Problem(Position("f", 1, 501), "message", line)).split("\n")
        assert len(shown[1]) < 140
        assert shown[1][shown[2].index("^") :].startswith("WRONG")

    @given(st.text(), st.integers(1, 4))
    def test_lines_are_counted_as_the_excerpt_counts_them(self, note, empty):
        """Whatever a text holds, the key after it is found on the line that has it."""
        quoted = yaml.safe_dump(note, default_style='"', width=10_000)
        marked = read_marked(f"note: {quoted}" + "\n" * empty + "'key': 5\n", "f")
        assert marked.problems == ()
        assert marked.excerpt(marked.position(("key",), key=True)) == "'key': 5"


class TestRefused:
    @pytest.mark.parametrize(
        "word",
        [
            *("on", "Off", "y", "N", "True", "FALSE", "Null", "~", "=", "012", "-012", "00"),
            *("0x1F", "0o17", "0b11", "1_000", "1_0.5", "1:30", "12:30:45.5", "2024-05-01"),
            *(".inf", "-.INF", ".nan"),
        ],
    )
    def test_words_that_readers_disagree_about(self, word):
        ((line, column, message),) = refused(f"key:\n  - {word}")
        assert (line, column) == (2, 5)
        assert message.startswith(f"YAML readers disagree about {word!r}")
        assert refused(f"key:\n  - '{word}'") == []

    @pytest.mark.parametrize("number", ["1e999", "-1e999", "9" * 41, "9" * 5000, "1" + "0" * 400])
    def test_numbers_that_no_number_holds(self, number):
        ((line, column, message),) = refused(f"key: {number}")
        assert (line, column) == (1, 6)
        assert "too large a number" in message

    def test_all_of_them_in_one_run(self):
        text = "a: on\nb: 010\na: 5\nc: {x: ~, y: 1, y: 2}\n"
        assert [(line, column) for line, column, _ in refused(text)] == [
            (1, 4),
            (2, 4),
            (3, 1),
            (4, 8),
            (4, 17),
        ]

    def test_duplicate_keys_name_both_places(self):
        marked = read_marked("a: 1\nb: 2\na: 3\n", "f")
        assert marked.data == {"a": 1, "b": 2}
        assert [p.message for p in marked.problems] == ["'a' stands here twice, first at f:1:1"]
        # Two spellings of one key are one key.
        assert refused("a: 1\n'a': 2\n") == [(2, 1, "'a' stands here twice, first at f:1:1")]

    @pytest.mark.parametrize(
        ("text", "line", "column"),
        [
            ("a: &x 1", 1, 4),
            ("a: 1\nb: *x", 2, 4),
            ("a: &x [*x]", 1, 4),
            ("&x a: 1", 1, 1),
            ("- &x {}\n- {<<: *x}", 1, 3),
        ],
    )
    def test_anchors_and_aliases(self, text, line, column):
        assert refused(text) == [
            (line, column, "anchors and aliases are not used here: write it out")
        ]

    def test_an_alias_bomb_is_not_built(self):
        lines = ["a: &a0 [x]"]
        lines += [f"a{i}: &a{i} [{', '.join([f'*a{i - 1}'] * 9)}]" for i in range(1, 40)]
        ((line, column, _),) = refused("\n".join(lines))
        assert (line, column) == (1, 4)

    @pytest.mark.parametrize(
        "text",
        ["!!python/object/apply:os.system [exit]", "!!str 5", "!own x", "!!set {x}", "!!int '5'"],
    )
    def test_tags(self, text):
        ((line, column, message),) = refused(f"key: {text}")
        assert (line, column) == (1, 6)
        assert "is not used here" in message

    def test_marks_of_yaml_inside_text_are_text(self):
        assert read_marked("a: R&D *now* wow!", "f").data == {"a": "R&D *now* wow!"}

    def test_merge_keys(self):
        assert refused("<<: {a: 1}") == [(1, 1, "merge keys are not used here")]

    def test_keys_that_are_no_words(self):
        assert refused("? [a]\n: b\nc: d\n") == [(1, 3, "a key must be a plain word")]

    @pytest.mark.parametrize(
        ("text", "line", "column"),
        [
            ("a: [1,\nb: 2", 3, 1),
            ("a: {b: 1", 2, 1),
            ("a: 'b", 1, 6),
            ("a:\n\tb: 1", 2, 1),
            ("a: b: c", 1, 5),
            ("a: 1\n b: 2", 2, 3),
            ("a: @b", 1, 4),
            ("a: 1\n---\nb: 2", 2, 1),
            ("%YAML 9.9\n---\na: 1", 1, 1),
            ("\x00", 1, 1),
            ("a: 1\nb: x\x07", 2, 5),
            ("a: \ud800", 1, 4),
        ],
    )
    def test_broken_yaml_at_its_place(self, text, line, column):
        ((found_line, found_column, message),) = refused(text)
        assert message.startswith("not readable as YAML: ")
        assert (found_line, found_column) == (line, column)

    @pytest.mark.parametrize("nest", ["[{0}]", "- {0}", "{{a: {0}}}"])
    @pytest.mark.parametrize("depth", [40, 400, 40_000])
    def test_nested_too_deeply(self, nest, depth):
        before, _, after = nest.format("\n").partition("\n")
        ((line, _, message),) = refused(before * depth + after * depth)
        assert line == 1
        assert "nest" in message

    def test_nested_too_deeply_without_the_c_loader(self, monkeypatch):
        monkeypatch.setattr(marks, "_Loader", yaml.SafeLoader)
        assert refused("a: 1") == []
        assert refused("[" * 5000) == [(1, 1, "nested too deeply")]

    def test_too_much_in_one_file(self):
        ((_, _, message),) = refused("[" + "1," * 250_000 + "1]")
        assert message == "nested too deeply, or too much in one file"

    def test_too_large(self):
        half = "é" * (MAX_BYTES // 2)  # two bytes each
        assert refused(half) == []
        assert refused(f"{half}x") == [(1, 1, "the file is larger than 1024 KiB")]

    @given(st.text(alphabet="ab01:-,'\"[]{}&*!|>#%@?~ \n\t.", max_size=60))
    def test_nothing_at_all_raises(self, text):
        marked = read_marked(text, "f")
        for problem in marked.problems:
            assert 1 <= problem.position.line <= len(marked.lines) + 1
            assert problem.message


class TestFiles:
    def test_one_that_is_not_utf8(self, tmp_path):
        path = tmp_path / "f.yaml"
        path.write_bytes(b"a: 1\nb: caf\xe9\n")
        marked = read_marked_file(path, "f")
        assert marked.data is None
        assert [str(p).split("\n")[0] for p in marked.problems] == [
            "f:2:7  this is not UTF-8 text: save it as UTF-8"
        ]

    def test_one_that_is_too_large_is_not_read_whole(self, tmp_path):
        path = tmp_path / "f.yaml"
        with path.open("wb") as file:
            file.truncate(10 * MAX_BYTES)
        (problem,) = read_marked_file(path, "f").problems
        assert problem.message == "the file is larger than 1024 KiB"

    def test_one_that_is_not_there(self, tmp_path):
        with pytest.raises(FileNotFoundError):
            read_marked_file(tmp_path / "none.yaml", "none")


ids = st.from_regex(r"[a-z][a-z0-9_]{0,20}", fullmatch=True)
lines = st.text(max_size=60)
entries = st.builds(
    lambda what, name, **rest: Entry(**{what: name}, **rest),
    st.sampled_from(["complaint", "check", "work"]),
    ids,
    answer=st.sampled_from([*GRADES, "could not check", "on", "1_0"]),
    reading=st.sampled_from(["", "35 mm", '1-3/8"', "012", "1:30", "1e5", "~"]),
    when=st.sampled_from(["job", "since"]),
    stage=st.sampled_from(["before", "inside"]),
    note=lines,
    by=lines,
    at=st.text(max_size=40),
)
cases = st.builds(
    Case,
    title=lines,
    setup=st.none() | ids,
    facts=st.dictionaries(ids, st.lists(st.text(max_size=9), max_size=3).map(tuple), max_size=3),
    hours=st.dictionaries(ids, st.floats(0.0, 1000.0), max_size=3),
    stands=ids,
    words=lines,
    entries=st.lists(entries, max_size=4).map(tuple),
    acknowledged=st.lists(ids, max_size=3).map(tuple),
    skipped=st.lists(ids, max_size=3).map(tuple),
    found=st.none() | st.builds(Found, causes=st.lists(ids, min_size=1).map(tuple), why=lines),
    origin=lines,
    knowledge=st.text(max_size=40),
)


@given(cases)
def test_a_case_is_read_back_as_it_was_written(case):
    """Round trip: the writer of case files and this reader are two, and agree about every text."""
    marked = read_marked(case_text(case), "f")
    assert marked.problems == ()
    data = dict(marked.data)
    assert data.pop("pull_once_case") == 1
    assert Case.model_validate(data) == case


class _NoAliases(yaml.SafeDumper):
    def ignore_aliases(self, data):
        return True


@given(st.recursive(lines, lambda inner: st.lists(inner) | st.dictionaries(lines, inner)))
def test_text_in_quotes_is_read_as_the_library_reads_it(data):
    """Text in quotes is beyond dispute: there our reading is PyYAML's own."""
    text = yaml.dump(data, Dumper=_NoAliases, default_style='"', allow_unicode=True)
    marked = read_marked(text, "f")
    assert marked.problems == ()
    assert marked.data == yaml.safe_load(text) == data


@given(
    st.one_of(
        st.from_regex(r"[-+]?[0-9_.:eExob]{1,8}", fullmatch=True),
        st.from_regex(r"[0-9]{4}-[0-9]{1,2}-[0-9]{1,2}([T ][0-9:]{4,8})?", fullmatch=True),
        st.sampled_from(["on", "Off", "y", "N", "Yes", "no", "NULL", "~", ".Inf", "-.inf", ".NaN"]),
    )
)
def test_no_word_is_read_in_silence_as_other_readers_would_not(word):
    """What PyYAML takes for more than text is refused or the same here; yes and no are words."""
    marked = read_marked(f"key: {word}", "f")
    try:
        theirs = yaml.safe_load(f"key: {word}")
    except (yaml.YAMLError, ValueError):
        return  # such as the 40th of a month
    if not marked.problems and not isinstance(theirs["key"], str):
        ours = marked.data["key"]
        same = ours == theirs["key"] and type(ours) is type(theirs["key"])
        assert same or word.lower() in {"yes", "no"}
