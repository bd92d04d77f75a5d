"""The report as a web page: one file, well formed, nothing from outside, nothing left out."""

import re
from html.parser import HTMLParser

import pytest

from diagnose.__main__ import main
from diagnose.assess import assess
from diagnose.case import Case, Entry, Found
from diagnose.case_file import read_case_file, write_case_file
from diagnose.errors import PullOnceError
from diagnose.planning.advice import advise
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
from diagnose.report.blocks import Drawn, Paragraph, Table
from diagnose.report.chart import WIDTH
from diagnose.report.page import NOT_SHOWN
from tests.diagnose.report.reporting import EXAMPLE, NOTE, RECORDED, measured_case

VOID = {"meta", "col", "img"}
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
        if tag not in {"rect", "path", "line"}:
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
