"""The report as a web page: one file, well formed, nothing from outside, nothing left out."""

import re
from html.parser import HTMLParser
from itertools import pairwise
from uuid import uuid4

import pytest

from diagnose.__main__ import main
from diagnose.assess import assess
from diagnose.case import Case, Entry, Found
from diagnose.case_file import read_case_file, write_case_file
from diagnose.case_photos import CasePhoto
from diagnose.errors import PullOnceError
from diagnose.planning.advice import advise
from diagnose.records.connecting import sqlite_url
from diagnose.records.store import open_store
from diagnose.report import (
    EDITIONS,
    PAPERS,
    Photograph,
    ReportError,
    blocks_of,
    report_html,
    report_of,
    write_report,
)
from diagnose.report.blocks import Blanks, Drawn, Heading, Paragraph, Table
from diagnose.report.chart import WIDTH
from diagnose.report.page import NOT_SHOWN
from tests.diagnose.report.reporting import EXAMPLE, NOTE, RECORDED, measured_case

VOID = {"meta", "col", "img"}
AT = "2026-11-24T09:40:00+00:00"
PNG = b"\x89PNG\r\n\x1a\n" + bytes(20)


class Page(HTMLParser):
    """What a browser makes of a page."""

    def __init__(self, html):
        super().__init__()
        self.open, self.wrong, self.tags, self.ids, self.said, self.sources = (
            [],
            [],
            set(),
            [],
            [],
            [],
        )
        self.feed(html)
        self.close()
        self.wrong += self.open

    def handle_starttag(self, tag, attributes):
        self.tags.add(tag)
        named = dict(attributes)
        self.ids += [named["id"]] if "id" in named else []
        self.sources += [named[k] for k in ("src", "href") if k in named]
        if tag not in VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag, attributes):
        if tag not in {"rect", "path", "line", "circle"}:
            self.wrong.append(tag)

    def handle_endtag(self, tag):
        if not self.open or self.open.pop() != tag:
            self.wrong.append(tag)

    def handle_data(self, data):
        if "style" not in self.open:
            self.said.append(data)

    @property
    def text(self):
        return " ".join(" ".join(self.said).split())


@pytest.fixture(scope="module", params=["measured", "example", "A04"])
def told(request, knowledge):
    if request.param == "measured":
        case = measured_case(knowledge)
    elif request.param == "example":
        case = read_case_file(EXAMPLE, knowledge)
    else:
        case = read_case_file(RECORDED / f"{request.param}.yaml", knowledge)
    found = assess(knowledge, case)
    return found, advise(found) if case.found is None else None


@pytest.fixture(scope="module", params=EDITIONS)
def report(request, told):
    return report_of(*told, edition=request.param, photographs=[Photograph("Hub", "worn", PNG)])


@pytest.mark.parametrize("paper", PAPERS)
def test_it_is_well_formed_and_needs_nothing_else(report, paper):
    html = report_html(report, paper)
    page = Page(html)
    assert page.wrong == []
    assert len(page.ids) == len(set(page.ids))
    assert not {"script", "link", "iframe", "object"} & page.tags
    assert all(source.startswith("data:image/") for source in page.sources)
    assert not re.search(r"url\(|@import|https?://(?!www\.w3\.org/2000/svg)", html)


def test_it_says_everything_that_the_record_holds(report):
    text = Page(report_html(report)).text
    for said in (
        report.title,
        *report.conclusion,
        *report.stops,
        *report.cautions,
        *report.closing,
        *report.open,
        *(figure.said for figure in report.figures),
        *(value for _, value in report.kit),
        *(gone.name[1:] for gone in report.ruled_out),
        report.knowledge,
    ):
        assert " ".join(said.split()) in text


def test_the_conclusion_comes_first(report):
    blocks = blocks_of(report)
    tones = [b.tone if isinstance(b, Paragraph) else "" for b in blocks]
    assert tones[0] == "headline"
    assert [b.text for b in blocks[: len(report.conclusion)]] == list(report.conclusion)


def test_the_columns_of_every_table_fill_the_page(report):
    for block in blocks_of(report):
        if isinstance(block, Table):
            assert sum(block.shares) == pytest.approx(1.0)
            assert {len(row) for row in block.rows} == {len(block.shares)}


def test_nothing_of_a_drawing_lies_beyond_its_edge(report):
    for block in blocks_of(report):
        if not isinstance(block, Drawn):
            continue
        drawing = block.drawing
        assert drawing.size.width == WIDTH
        for label in drawing.labels:
            assert label.box.left >= -0.1
            assert label.box.right <= WIDTH + 0.1
            assert label.box.bottom <= drawing.size.height + 0.1
        for bar in drawing.bars:
            assert max(bar.x1, bar.x2) <= WIDTH
            assert max(bar.y1, bar.y2) <= drawing.size.height


def test_cautions_stand_before_what_is_to_be_done(report):
    titles = [b.text for b in blocks_of(report) if isinstance(b, Heading)]
    ahead = [i for i, t in enumerate(titles) if t in {"What remains open", "Before it closes"}]
    assert all(titles.index("Cautions") < i for i in ahead)
    assert ahead or "What to see to" in titles


def test_only_what_is_handed_out_has_room_to_write_in(report):
    blanks = [b for b in blocks_of(report) if isinstance(b, Blanks)]
    assert len(blanks) == (report.edition == "customer")
    page = Page(report_html(report))
    assert all(name in page.text for block in blanks for name in block.names)


def test_every_picture_says_what_it_shows(report):
    html = report_html(report)
    drawn = re.findall(r'<svg[^>]*role="img"[^>]*aria-labelledby="(\S+) (\S+)"', html)
    assert bool(drawn) is ("<svg" in html)
    ids = Page(html).ids
    assert {name for pair in drawn for name in pair} <= set(ids)
    assert not re.search(r"<(title|desc) id=[^>]*></", html)
    assert 'alt=""' not in html
    assert '<html lang="en">' in html


def test_headings_go_down_by_one(report):
    levels = [int(n) for n in re.findall(r"<h([1-6])", report_html(report))]
    assert levels[0] == 1
    assert levels.count(1) == 1
    assert all(after - before <= 1 for before, after in pairwise(levels))


def test_the_customer_reads_no_notes(knowledge):
    found = assess(knowledge, measured_case(knowledge))
    assert NOTE in report_html(report_of(found))
    assert NOTE not in report_html(report_of(found, edition="customer"))


def test_what_was_typed_stays_text(knowledge):
    found = assess(knowledge, measured_case(knowledge))
    html = report_html(report_of(found))
    assert "<script" not in html
    assert "<b>with" not in html
    assert "&lt;script&gt;alert(1)&lt;/script&gt;" in html


def test_what_is_no_picture_is_not_put_in(knowledge):
    photograph = Photograph("Evil", '"><svg onload="x">', b"<svg onload='x'>")
    found = assess(knowledge, Case())
    html = report_html(report_of(found, photographs=[photograph]))
    assert NOT_SHOWN in html
    assert "data:" not in html
    assert "<svg onload" not in html


def test_long_words_and_a_thousand_entries_do_not_break_it(knowledge):
    more = tuple(
        Entry(check="pump_pedal", answer="no", note="W" * (2000 if i < 3 else 40), by="N" * 80)
        for i in range(992)
    )
    found = assess(knowledge, measured_case(knowledge, more=more, title="T" * 2000))
    report = report_of(found)
    assert len(report.findings) == 998
    assert len(report.title) <= 140
    assert Page(report_html(report)).wrong == []


class TestCommand:
    @pytest.fixture
    def case(self, tmp_path_factory):
        """A small case file, in a folder of its own."""
        path = tmp_path_factory.mktemp("case") / "case.yaml"
        found = Found(causes=("cover_faulty_new",))
        work = Entry(work="cover_work", answer="new", hours=6.5)
        write_case_file(path, Case(title="Small", entries=(work,), found=found))
        return str(path)

    def test_it_writes_the_page(self, tmp_path, capsys):
        out = tmp_path / "report.html"
        assert main(["report", str(EXAMPLE), str(out), "--edition", "customer"]) == 0
        assert str(out) in capsys.readouterr().out
        assert out.read_text(encoding="utf-8").startswith("<!DOCTYPE html>")

    def test_a_pdf_is_put_on_paper_by_whoever_can(self, case, tmp_path):
        asked = []

        def pdf(report, paper):
            asked.append((report.edition, paper))
            return b"%PDF"

        out = tmp_path / "report.pdf"
        arguments = ["report", case, str(out), "--paper", "letter"]
        assert main(arguments, pdf=pdf) == 0
        assert asked == [("job", "letter")]
        assert out.read_bytes() == b"%PDF"

    def test_without_it_a_pdf_is_refused_with_the_next_step(self, tmp_path, capsys):
        assert main(["report", str(EXAMPLE), str(tmp_path / "report.pdf")]) == 1
        assert ".html" in capsys.readouterr().err
        assert list(tmp_path.iterdir()) == []

    def test_another_ending_is_refused(self, tmp_path, capsys):
        assert main(["report", str(EXAMPLE), str(tmp_path / "report.doc")]) == 1
        assert "report.doc" in capsys.readouterr().err

    def test_a_customer_s_hours_are_told_when_asked_for(self, case, tmp_path):
        out = tmp_path / "out.html"
        for more, told in (([], False), (["--hours"], True)):
            assert main(["report", case, str(out), "--edition", "customer", *more]) == 0
            assert ("6.5 h" in out.read_text(encoding="utf-8")) is told


class TestPhotographsOfTheCommand:
    """A report of the command has the photographs that the window's has."""

    @pytest.fixture
    def store(self, tmp_path):
        url = sqlite_url(tmp_path / "cases.sqlite")
        store = open_store(url)
        for title in ("Heddle van (invented)", "Marl van (invented)"):
            case = Case(title=title, found=Found(causes=("cover_faulty_new",)))
            kept = store.new(case, "Odrin", AT, str(uuid4()))
            store.add_photo(kept.id, PNG, title[:4], "the cover", "Odrin", AT)
        store.close()
        return lambda: url

    def test_those_of_a_case_file_come_along(self, tmp_path):
        path, out = tmp_path / "case.yaml", tmp_path / "out.html"
        case = Case(title="Small", found=Found(causes=("cover_faulty_new",)))
        write_case_file(path, case, (CasePhoto("Hub", "worn", PNG),))
        assert main(["report", str(path), str(out)]) == 0
        page = Page(out.read_text(encoding="utf-8"))
        assert "Hub: worn" in page.text
        assert len(page.sources) == 1

    def test_those_of_a_case_of_the_store_come_along(self, store, tmp_path):
        out = tmp_path / "out.html"
        assert main(["report", "heddle", str(out)], store=store) == 0
        page = Page(out.read_text(encoding="utf-8"))
        assert "Heddle van" in page.text
        assert "Hedd: the cover" in page.text
        assert len(page.sources) == 1

    def test_words_of_several_cases_name_them(self, store, tmp_path, capsys):
        assert main(["report", "van", str(tmp_path / "out.html")], store=store) == 1
        said = capsys.readouterr().err
        assert "Heddle van (invented)" in said
        assert "Marl van (invented)" in said
        assert not (tmp_path / "out.html").exists()

    def test_words_of_no_case_say_so(self, store, tmp_path, capsys):
        assert main(["report", "quarry", str(tmp_path / "out.html")], store=store) == 1
        assert "There is no file quarry" in capsys.readouterr().err

    def test_a_store_that_is_not_there_is_not_made(self, tmp_path, capsys):
        file = tmp_path / "none.sqlite"
        words = ["report", "heddle", str(tmp_path / "out.html")]
        assert main(words, store=lambda: sqlite_url(file)) == 1
        assert not file.exists()
        assert "no case of the store" in capsys.readouterr().err

    def test_a_file_that_is_not_there_is_not_looked_for_in_the_store(self, tmp_path, capsys):
        asked = []
        words = ["report", str(tmp_path / "none.yaml"), str(tmp_path / "out.html")]
        assert main(words, store=lambda: asked.append(1)) == 1
        assert asked == []
        assert "none.yaml can't be read" in capsys.readouterr().err


class TestFile:
    def test_a_folder_that_is_not_there_is_named(self, tmp_path):
        with pytest.raises(ReportError, match="could not be written"):
            write_report(tmp_path / "none" / "report.html", b"x")

    def test_an_old_report_stays_whole_when_a_new_one_fails(self, tmp_path, monkeypatch):
        out = tmp_path / "report.html"
        write_report(out, b"old")

        def full(*_):
            raise OSError(28, "No space left on device")

        monkeypatch.setattr("pathlib.Path.replace", full)
        with pytest.raises(PullOnceError, match="no space left"):
            write_report(out, b"new")
        assert out.read_bytes() == b"old"
        assert list(tmp_path.iterdir()) == [out]
