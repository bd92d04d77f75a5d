"""The handbook: everything the base says, in its place, with links that lead somewhere."""

import re
import subprocess
import sys
from collections.abc import Mapping
from html.parser import HTMLParser
from itertools import pairwise
from pathlib import Path

import pytest

from diagnose.__main__ import main
from diagnose.assess import assess
from diagnose.case import Case, Entry
from diagnose.handbook import (
    SECTIONS,
    Book,
    HandbookError,
    base_lines,
    drawing_of,
    handbook,
    record_html,
    write_handbook,
)
from diagnose.handbook.figures import DRAWN, undrawn
from diagnose.handbook.markup import Markup, element, joined
from diagnose.handbook.style import DARK, LIGHT
from diagnose.sentences import hours
from knowledge.lint import count_sources
from knowledge.model import Record
from knowledge.raw import KINDS
from tests.small_bases import make_base

ROOT = Path(__file__).parents[2]
VOID = {"meta"}
CLOSED_BY_ITSELF = {"rect", "path", "line"}


class Page(HTMLParser):
    """What a browser makes of the page: its elements, and the text of each with an id."""

    def __init__(self, html):
        super().__init__()
        self.open, self.wrong = [], []
        self.ids, self.links, self.headings = [], [], []
        self.texts = {}
        self.said = []
        self.tags = set()
        self.feed(html)
        self.close()
        self.wrong += self.open

    def handle_starttag(self, tag, attributes):
        named = dict(attributes)
        self.tags.add(tag)
        if "id" in named:
            self.ids.append(named["id"])
            self.texts[named["id"]] = []
        if tag == "a":
            self.links.append(named["href"])
        if re.fullmatch(r"h[1-6]", tag):
            self.headings.append(int(tag[1]))
        if tag not in VOID:
            self.open.append((tag, named.get("id")))

    def handle_startendtag(self, tag, attributes):
        self.tags.add(tag)
        if tag not in CLOSED_BY_ITSELF:
            self.wrong.append(tag)

    def handle_endtag(self, tag):
        if not self.open or self.open.pop()[0] != tag:
            self.wrong.append(tag)

    def handle_data(self, data):
        if any(tag in {"style", "script"} for tag, _ in self.open):
            return
        self.said.append(data)
        for _, name in self.open:
            if name is not None:
                self.texts[name].append(data)

    def text(self, name):
        return " ".join(" ".join(self.texts[name]).split())

    @property
    def whole(self):
        return " ".join(" ".join(self.said).split())


@pytest.fixture(scope="module")
def html(knowledge):
    return handbook(knowledge)


@pytest.fixture(scope="module")
def page(html):
    return Page(html)


@pytest.fixture(scope="module")
def book(knowledge):
    return Book(knowledge)


class TestWhole:
    def test_every_tag_is_closed_in_its_place(self, page):
        assert page.wrong == []

    def test_it_needs_nothing_else(self, html, page):
        assert "script" not in page.tags
        assert not {"img", "link", "iframe", "object"} & page.tags
        assert not re.search(r"url\(|@import|https?://(?!www\.w3\.org/2000/svg)", html)

    def test_the_same_base_gives_the_same_text(self, knowledge, html):
        assert handbook(knowledge) == html

    def test_every_record_has_its_place(self, knowledge, page):
        assert len(page.ids) == len(set(page.ids))
        for kind in KINDS:
            for name in getattr(knowledge, kind):
                assert f"{kind}-{name}" in page.texts, (kind, name)
        assert {section.id for section in SECTIONS} <= set(page.ids)

    def test_every_link_leads_somewhere(self, page):
        assert page.links
        assert all(link.startswith("#") for link in page.links)
        assert {link[1:] for link in page.links} <= set(page.ids)

    def test_headings_go_down_one_by_one(self, page):
        assert page.headings[0] == 1
        assert page.headings.count(1) == 1
        assert all(lower <= upper + 1 for upper, lower in pairwise(page.headings))

    def test_it_says_its_language_and_what_it_is(self, html):
        assert '<html lang="en">' in html
        assert "<title>Why a fresh clutch comes back</title>" in html
        assert html.count("<nav") == html.count("<main") == 1

    def test_the_counts_are_those_of_lint(self, knowledge, page):
        for line in base_lines(knowledge):
            assert line in page.whole
        n = count_sources(knowledge)
        assert f"{n.published} from published sources, {n.common_practice} common" in page.whole
        assert f"{n.judgement} judgement" in page.whole

    def test_the_maker_comes_first(self, page):
        deferral = "The maker’s figures, local rules and licensed practice come first."
        assert page.whole.index(deferral) < page.whole.index("Contents")

    def test_cautions_stand_before_all_other_records(self, knowledge, page):
        cautions = [page.ids.index(f"cautions-{name}") for name in knowledge.cautions]
        others = [
            page.ids.index(f"{kind}-{name}")
            for kind in KINDS
            if kind != "cautions"
            for name in getattr(knowledge, kind)
        ]
        assert max(cautions) < min(others)


def texts_in(value):
    """Every text written in a record, with where in the record it stands."""
    if isinstance(value, Record):
        for name in type(value).model_fields:
            for path, text in texts_in(getattr(value, name)):
                yield (name, *path), text
    elif isinstance(value, Mapping):
        for key, item in value.items():
            for path, text in texts_in(item):
                yield (key, *path), text
    elif isinstance(value, tuple):
        for item in value:
            yield from texts_in(item)
    elif isinstance(value, str) and value:
        yield (), value


# Ids are told by the names of what they name; these are words of the program, not of the reader.
NOT_SHOWN = {"id", "kind", "from_", "zone", "gate", "of", "stop", "model", "drawing", "finding"}
BY_NAME = {"when", "facts", "cautions", "gauge", "kit", "by", "spread", "level"}


def test_nothing_that_is_written_is_left_out(knowledge, page):
    """Every text of every record stands in its own place in the page."""
    sources = {*knowledge.sources, "common practice", "judgement"}
    missing = []
    for kind in KINDS:
        for name, record in getattr(knowledge, kind).items():
            said = page.text(f"{kind}-{name}")
            for path, text in texts_in(record):
                if {*path} & (NOT_SHOWN | BY_NAME) or (path[-1] == "source" and text in sources):
                    continue
                plain = " ".join(text.split())
                if plain not in said and plain[:1].upper() + plain[1:] not in said:
                    missing.append((kind, name, path, text))
    assert missing == []


class TestRecords:
    def test_cautions_of_a_check_stand_before_its_steps(self, knowledge, page):
        with_cautions = [c for c in knowledge.checks.values() if c.cautions]
        assert with_cautions
        for check in with_cautions:
            said = page.text(f"checks-{check.id}")
            steps = said.index("At the vehicle " + " ".join(check.do.split()))
            for name in check.cautions:
                text = " ".join(knowledge.cautions[name].text.split())
                assert said.index(text) < steps, (check.id, name)

    def test_cautions_of_a_repair_stand_before_it(self, knowledge, page):
        for cause in knowledge.causes.values():
            said = page.text(f"causes-{cause.id}")
            repair = said.index("How it is put right")
            steps = said.index(" ".join(cause.repair.do.split()), repair)
            for caution in knowledge.repair_cautions(cause):
                text = " ".join(caution.text.split())
                assert repair < said.index(text, repair) < steps, cause.id

    def test_a_check_is_told_in_three_voices(self, knowledge, page):
        for check in knowledge.checks.values():
            said = page.text(f"checks-{check.id}")
            places = [
                said.index(f"{head} {' '.join(text.split())}")
                for head, text in (
                    ("At the vehicle", check.do),
                    ("On the phone", f"“{check.say}”"),
                    ("Why", check.why),
                )
            ]
            assert places == sorted(places)

    def test_causes_stand_under_their_region_and_checks_under_their_level(self, knowledge, page):
        for cause in knowledge.causes.values():
            assert page.text(f"causes-{cause.id}") in page.text(f"zones-{cause.zone}")
        for check in knowledge.checks.values():
            assert page.text(f"checks-{check.id}") in page.text(f"levels-{check.from_}")

    def test_what_leads_to_a_complaint_is_in_order_of_chance(self, knowledge, book):
        for complaint in list(knowledge.complaints)[:6]:
            leads = book.leads(complaint)
            found = assess(knowledge, Case(entries=(Entry(complaint=complaint, answer="yes"),)))
            ranking = {chance.id: chance.p for chance in found.causes}
            chances = [round(lead.p, 12) for lead in leads]
            assert chances == sorted(chances, reverse=True)
            for lead in leads:
                assert lead.p == pytest.approx(ranking[lead.cause.id], abs=1e-9)
            reach = {
                c
                for c in knowledge.causes
                if found.network.q[
                    found.network.cause_index[c], found.network.finding_index[complaint]
                ]
                > 0.0
            }
            assert reach <= {lead.cause.id for lead in leads}

    def test_every_proof_is_told(self, knowledge, book, page):
        for name, proofs in book.proofs.items():
            said = page.text(f"causes-{name}")
            for proof in proofs:
                assert book.title(("checks", proof.check)) in said
                assert book.title(("findings", proof.finding)) in said
        unproved = next(name for name in knowledge.causes if name not in book.proofs)
        assert "No single check proves it by itself" in page.text(f"causes-{unproved}")

    def test_what_is_tied_names_each_other(self, knowledge, html):
        """Cause, mechanism, complaint, sign and check lead to each other."""

        def place(key):
            start = html.index(f'id="{key}"')
            return html[start : html.index("</article>", start)]

        for cause in list(knowledge.causes.values())[::7]:
            for target in cause.brings:
                kind = "mechanisms" if target in knowledge.mechanisms else "complaints"
                assert f'href="#{kind}-{target}"' in place(f"causes-{cause.id}")
                assert f'href="#causes-{cause.id}"' in place(f"{kind}-{target}")
            for sign in cause.shows:
                if sign in knowledge.findings:
                    assert f'href="#findings-{sign}"' in place(f"causes-{cause.id}")
                    assert f'href="#causes-{cause.id}"' in place(f"findings-{sign}")
        for check in list(knowledge.checks.values())[::7]:
            for sign in check.reads():
                if sign in knowledge.findings:
                    assert f'href="#findings-{sign}"' in place(f"checks-{check.id}")
                    assert f'href="#checks-{check.id}"' in place(f"findings-{sign}")

    def test_what_is_not_drawn_is_counted_below(self, knowledge, book, page):
        crowded = [c for c in knowledge.complaints if len(book.leads(c)) > DRAWN]
        assert crowded
        for complaint in knowledge.complaints:
            n = len(undrawn(book, complaint))
            said = f"Not drawn, as less likely: {n} more cause"
            assert (said in page.text(f"complaints-{complaint}")) is (n > 0)
            # The table below names all of them.
            for lead in book.leads(complaint):
                assert book.title(("causes", lead.cause.id)) in page.text(f"complaints-{complaint}")

    def test_every_complaint_has_its_drawing(self, knowledge, page):
        for complaint in knowledge.complaints:
            name = f"tree-{complaint}"
            assert page.text(f"{name}-title").startswith("What leads to: ")
            assert page.text(f"{name}-about")

    def test_shifts_say_how_much_in_which_unit(self, tmp_path):
        base = make_base(
            tmp_path / "base",
            complaints={"slips": {}},
            measurements={
                "play": {
                    "name": "Play",
                    "unit": "in",
                    "plausible": ["0 in", "2 in"],
                    "healthy": {"mean": "1 in", "spread": "0.1 in"},
                }
            },
            causes={
                "bent": {
                    "brings": {"slips": "always"},
                    "shifts": {
                        "pedal_travel": ("-30 mm", "15 mm"),
                        "pedal_flex": (0.005, 0.0),
                        "pivot_height": {"kit": "pivot_spacer", "times": -0.3},
                        "play": {"by": 12.7, "spread": 2.54, "chance": "often"},
                        "fork_ratio": {"by": 0.0, "spread": 0.5},
                    },
                }
            },
        )
        said = Page(handbook(base)).text("causes-bent")
        for words in (
            "Travel of the pad to its stop: less by 30 mm, give or take 15 mm",
            "Push rod travel lost to bracket and bulkhead: more by 0.005 mm/N",
            "less by 0.3 times the thickness of the spacer under the fork's pivot of the kit",
            "Play : more by 0.5 in, give or take 0.1 in, in some cases only (often)",
            "Pivot to tip over pivot to bearing: one way or the other, give or take 0.5",
        ):
            assert words in said


def test_the_scale_tells_what_asking_driving_and_handing_over_cost(knowledge, page):
    scale = knowledge.scale
    said = page.text("scale")
    for what, cost in (
        ("To go and ask the driver something", scale.ask_minutes / 60.0),
        ("To prove on the road that the complaint is gone", scale.drive_minutes / 60.0),
        ("To hand it over, when everything known was looked at in vain", scale.hand_over),
    ):
        assert f"{what} {hours(cost)}" in said


def test_how_common_a_cause_is_where_that_differs(knowledge, page):
    differing = [c for c in knowledge.causes.values() if c.rate_where]
    assert differing
    for cause in differing:
        said = page.text(f"causes-{cause.id}")
        for rate in cause.rate_where:
            names = [knowledge.facts[f].values[v].name for f, vs in rate.when.items() for v in vs]
            start = said.index(f"{rate.word}, ", said.index("comebacks;"))
            assert all(name in said[start:] for name in names)


HOSTILE = """</p><script>alert("x & y")</script>'"""


@pytest.fixture(scope="module")
def hostile(tmp_path_factory):
    """A base whose every text tries to break out of its place."""
    text = {"name": HOSTILE}
    return make_base(
        tmp_path_factory.mktemp("base") / "base",
        cautions={"care": {"level": "stop", "text": HOSTILE, "source": "S-1"}},
        sources={"S-1": {"title": HOSTILE, "where": HOSTILE}},
        facts={
            "release": {
                **text,
                "ask": HOSTILE,
                "values": {
                    "one": {"name": HOSTILE, "share": 0.5},
                    "two": {"name": HOSTILE, "share": 0.5},
                },
            }
        },
        setups={"usual": {**text, "facts": {"release": ["one"]}, "about": HOSTILE}},
        complaints={"slips": {**text, "ask": HOSTILE, "words": [HOSTILE], "about": HOSTILE}},
        mechanisms={
            "grip": {**text, "about": HOSTILE, "brings": {"slips": "often"}},
            "both": {
                **text,
                "gate": "all",
                "of": ["oil", "wear"],
                "when": {"release": ["one"]},
                "brings": {"slips": "always"},
            },
        },
        causes={
            "oil": {
                **text,
                "brings": {"grip": {"word": "often", "when": {"release": ["one"]}}},
                "shows": {"wet": "always"},
                "about": HOSTILE,
                "prove": HOSTILE,
                "before_closing": HOSTILE,
                "next_time": HOSTILE,
                "repair": {"do": HOSTILE},
                "shifts": {"gap": ("1 mm", "0.1 mm")},
            },
            "wear": {**text, "brings": {"grip": 0.3}},
        },
        findings={"wet": {**text, "absent": HOSTILE, "stop": "care"}},
        measurements={
            "gap": {
                **text,
                "how": HOSTILE,
                "healthy": {"mean": "3 mm", "spread": "0.2 mm"},
                "instruments": {"rule": {"name": HOSTILE, "uncertainty": "1 mm"}},
                "limits": [{"name": HOSTILE, "at_least": "2 mm", "source": "judgement"}],
            }
        },
        checks={
            "look": {
                **text,
                "tools": [HOSTILE],
                "do": HOSTILE,
                "say": HOSTILE + "say",
                "why": HOSTILE + "why",
                "cautions": ["care"],
                "finding": "wet",
            },
            "measure": {
                **text,
                "gauge": "gap",
                "answers": {"low": {"wet": "no"}, "high": {"wet": "probably"}},
                "edges": ["4 mm"],
            },
        },
        work={
            "mended": {
                **text,
                "ask": HOSTILE,
                "words": [HOSTILE],
                "answers": {"done": {"cures": {"oil": "often"}}},
            }
        },
    )


class TestHostile:
    def test_no_text_breaks_out_of_its_place(self, hostile):
        page = Page(handbook(hostile))
        assert page.wrong == []
        assert "script" not in page.tags
        for kind in ("complaints", "mechanisms", "causes", "findings", "checks", "work"):
            for name in getattr(hostile, kind):
                assert HOSTILE in page.text(f"{kind}-{name}")

    def test_one_record_by_itself_neither(self, hostile):
        book = Book(hostile)
        for kind in KINDS:
            for name in getattr(hostile, kind):
                said = record_html(book, (kind, name), lambda _: Markup())
                assert Page(said).wrong == []
                assert "<script" not in said


def test_plain_text_is_escaped_wherever_it_goes_in():
    assert element("p", "a < b", class_='"x"') == '<p class="&quot;x&quot;">a &lt; b</p>'
    assert element("p", element("b", "&")) == "<p><b>&amp;</b></p>"
    assert joined(["<", Markup("<br>")], " & ") == "&lt; &amp; <br>"


def test_an_empty_looking_base_has_a_handbook_too(tmp_path):
    base = make_base(
        tmp_path / "base",
        complaints={"slips": {}},
        causes={"worn": {"brings": {"slips": "often"}}},
    )
    page = Page(handbook(base))
    assert page.wrong == []
    assert {link[1:] for link in page.links} <= set(page.ids)


def test_a_drawing_is_had_by_its_name(book):
    assert drawing_of(book, "lines").title == "The lines of the drawings"
    assert drawing_of(book, "overview").title == "The middle of the tree"
    with pytest.raises(KeyError):
        drawing_of(book, "no such complaint")


@pytest.mark.parametrize("colours", [LIGHT, DARK])
def test_text_stands_out_from_its_ground(colours):
    """At least 6 to 1, above the 4.5 of WCAG 2.2, 1.4.3."""

    def luminance(colour):
        parts = [int(colour[i : i + 2], 16) / 255.0 for i in (1, 3, 5)]
        r, g, b = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parts]
        return 0.2126 * r + 0.7152 * g + 0.0722 * b

    def contrast(one, other):
        dark, light = sorted((luminance(colours[one]), luminance(colours[other])))
        return (light + 0.05) / (dark + 0.05)

    pairs = [
        *((text, ground) for text in ("ink", "muted", "accent") for ground in ("paper", "surface")),
        ("ink", "accent_soft"),
        ("accent", "accent_soft"),
        *((text, "caution_soft") for text in ("ink", "caution")),
        *((text, "stop_soft") for text in ("ink", "stop")),
    ]
    assert all(contrast(*pair) >= 6.0 for pair in pairs), [
        (pair, contrast(*pair)) for pair in pairs if contrast(*pair) < 6.0
    ]


@pytest.fixture
def run(capsys):
    def run_main(*words):
        capsys.readouterr()
        status = main([str(word) for word in words])
        return (status, *capsys.readouterr())

    return run_main


@pytest.fixture
def small(monkeypatch):
    """The small base stands in for the one that ships with the program."""
    from knowledge.load import load_base

    monkeypatch.setattr(
        "knowledge.load.base_folder", lambda: ROOT / "tests" / "knowledge" / "small"
    )
    return load_base()


class TestCommand:
    def test_into_a_file(self, small, run, tmp_path):
        path = tmp_path / "book.html"
        status, out, err = run("knowledge", path)
        assert (status, err) == (0, "")
        assert out == f"The handbook is in {path}. Open it with a web browser.\n"
        assert path.read_text(encoding="utf-8") == handbook(small)
        assert [p.name for p in tmp_path.iterdir()] == ["book.html"]

    def test_to_the_terminal(self, small, run):
        status, out, err = run("knowledge")
        assert (status, err) == (0, "")
        assert out.isascii()
        assert Page(out).whole == Page(handbook(small)).whole

    def test_with_a_folder_laid_over(self, small, run, tmp_path):
        (tmp_path / "a.yaml").write_text("causes: [{id: air, name: Own air}]\n", encoding="utf-8")
        status, out, _ = run("knowledge", "--over", tmp_path)
        assert status == 0
        assert "Own air" in Page(out).text("causes-air")

    def test_an_old_file_is_replaced_as_a_whole(self, small, run, tmp_path):
        path = tmp_path / "book.html"
        path.write_text("old" * 1_000_000, encoding="utf-8")
        run("knowledge", path)
        assert path.read_text(encoding="utf-8") == handbook(small)

    @pytest.mark.parametrize("where", ["gone/book.html", "."])
    def test_where_it_can_not_be_written(self, small, run, tmp_path, where):
        path = tmp_path / where
        status, out, err = run("knowledge", path)
        assert (status, out) == (1, "")
        assert err.startswith(f"The handbook could not be written to {path}: ")
        assert err.endswith("Choose a folder that is there and that you may write to.\n")
        assert list(tmp_path.iterdir()) == []

    def test_a_refusal_leaves_the_old_file_as_it_was(self, small, tmp_path, monkeypatch):
        path = tmp_path / "book.html"
        path.write_text("old", encoding="utf-8")

        def refuse(*_):
            raise PermissionError(13, "Permission denied")

        monkeypatch.setattr(Path, "replace", refuse)
        with pytest.raises(HandbookError, match="permission denied"):
            write_handbook(path, small)
        assert path.read_text(encoding="utf-8") == "old"
        assert [p.name for p in tmp_path.iterdir()] == ["book.html"]

    def test_a_bad_folder_lists_what_is_wrong(self, small, run, tmp_path):
        (tmp_path / "a.yaml").write_text("causes: [{id: air, zone: peddal}]\n", encoding="utf-8")
        status, out, err = run("knowledge", "--over", tmp_path)
        assert (status, out) == (1, "")
        assert "(did you mean 'pedal'?)" in err

    def test_a_pipe_that_has_gone(self):
        process = subprocess.Popen(
            [sys.executable, "-m", "diagnose", "knowledge"],
            cwd=ROOT,
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
        )
        process.stdout.close()
        said = process.stderr.read()
        process.stderr.close()
        assert (process.wait(), said) == (1, b"")
