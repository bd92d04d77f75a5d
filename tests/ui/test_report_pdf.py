"""The report on paper: whole, on the right sheet, dark on white, and no page broken by a text."""

import re
import shutil
import subprocess
from dataclasses import replace
from uuid import uuid4

import pytest
from PySide6.QtCore import QBuffer, QByteArray, QIODevice
from PySide6.QtGui import QColor, QImage, QTransform

from diagnose.assess import assess
from diagnose.case import Case, Entry, Found
from diagnose.case_file import read_case_file
from diagnose.planning.advice import advise
from diagnose.records.connecting import sqlite_url
from diagnose.records.store import open_store
from diagnose.report import EDITIONS, PAPERS, SHEETS, Photograph, blocks_of, foot_line, report_of
from diagnose.report.blocks import Cell, Gallery, Heading, Paragraph, Table
from diagnose.report.page import NOT_SHOWN
from tests.diagnose.report.reporting import EXAMPLE, NOTE, RECORDED, measured_case
from ui import predictions, theme
from ui.__main__ import main
from ui.report_pages import paged
from ui.report_pdf import report_pdf
from ui.report_slices import set_block
from ui.report_type import Setting, Slice
from ui.settings import Settings, places, write_settings

needs_reader = pytest.mark.skipif(
    shutil.which("pdftotext") is None, reason="poppler-utils reads the pages back"
)
LONG = "W" * 2000


def flat(text):
    """A text without what a line's end may change."""
    return re.sub(r"\s+", "", text)


def pages_of(tmp_path, content):
    """The text of each page."""
    path = tmp_path / "report.pdf"
    path.write_bytes(content)
    done = subprocess.run(
        ["pdftotext", "-layout", str(path), "-"], capture_output=True, check=True, text=True
    )
    return done.stdout.split("\f")[:-1]


def read(tmp_path, content):
    """All text in the order of reading, without spaces."""
    path = tmp_path / "report.pdf"
    path.write_bytes(content)
    done = subprocess.run(["pdftotext", str(path), "-"], capture_output=True, check=True, text=True)
    return flat(done.stdout)


@pytest.fixture(scope="module")
def found(knowledge):
    return assess(knowledge, measured_case(knowledge))


@pytest.fixture(scope="module")
def advice(found):
    return advise(found)


@pytest.fixture(scope="module", params=EDITIONS)
def report(request, found, advice):
    return report_of(found, advice, edition=request.param, program="9.9", made="30 Nov 2026")


@pytest.fixture(scope="module")
def recorded(knowledge):
    return report_of(assess(knowledge, read_case_file(RECORDED / "A04.yaml", knowledge)))


@pytest.fixture
def picture(qapp):
    image = QImage(2400, 1200, QImage.Format.Format_RGB32)
    image.fill(QColor("#336699"))
    content, buffer = QByteArray(), QBuffer()
    buffer.setBuffer(content)
    buffer.open(QIODevice.OpenModeFlag.WriteOnly)
    image.save(buffer, "PNG")
    return Photograph("Hub", "seen from behind", bytes(content.data()))


def turned(data):
    """A picture on its side, as PNG."""
    image = QImage.fromData(data).transformed(QTransform().rotate(90.0))
    content, buffer = QByteArray(), QBuffer()
    buffer.setBuffer(content)
    buffer.open(QIODevice.OpenModeFlag.WriteOnly)
    image.save(buffer, "PNG")
    return bytes(content.data())


@pytest.mark.parametrize("paper", PAPERS)
def test_every_page_is_of_the_size_that_was_asked_for(qapp, report, paper):
    content = report_pdf(report, paper)
    boxes = re.findall(rb"/MediaBox \[([^\]]*)\]", content)
    assert boxes
    for box in boxes:
        left, low, right, high = (float(part) for part in box.split())
        assert right - left == pytest.approx(SHEETS[paper].width, abs=1.0)
        assert high - low == pytest.approx(SHEETS[paper].height, abs=1.0)


@needs_reader
@pytest.mark.parametrize("paper", PAPERS)
def test_conclusion_readings_and_cautions_are_all_there(qapp, tmp_path, report, paper):
    text = read(tmp_path, report_pdf(report, paper))
    edges = rf"{flat(foot_line(report))}|Page\d+of\d+|{re.escape(flat(report.title + report.date))}"
    text = re.sub(edges, "", text)  # a sentence may go on over the end of a page
    for said in (
        *report.conclusion,
        *report.stops,
        *report.cautions,
        *report.closing,
        *report.open,
        *(value for _, value in report.kit),
        *(f"Read: {figure.said}" for figure in report.figures),
        *(f"read: {figure.said}" for figure in report.figures if figure.foretold),
    ):
        assert flat(said) in text


@needs_reader
def test_the_conclusion_stands_in_the_first_lines_of_the_first_page(qapp, tmp_path, report):
    first = pages_of(tmp_path, report_pdf(report))[0]
    lines = [line for line in first.splitlines() if line.strip()]
    start = next(i for i, line in enumerate(lines) if line.strip().startswith("Most likely"))
    assert start <= 3


@needs_reader
def test_every_page_has_its_number_and_the_versions(qapp, tmp_path, report):
    pages = pages_of(tmp_path, report_pdf(report))
    assert len(pages) > 2
    for number, page in enumerate(pages, 1):
        foot = [line for line in page.splitlines() if line.strip()][-1]
        assert f"Page {number} of {len(pages)}" in foot
        assert report.knowledge in foot
        assert "9.9" in foot


@needs_reader
def test_figures_can_be_searched_for_when_the_window_is_dressed(qapp, face, tmp_path, report):
    """The window's figures have one width; as such glyphs nobody could copy them from a PDF."""
    theme.apply(qapp, "light", 1.0, face)
    pages = pages_of(tmp_path, report_pdf(report))
    assert f"Page 1 of {len(pages)}" in pages[0]
    assert report.figures
    assert all(flat(figure.said) in flat(" ".join(pages)) for figure in report.figures)


@needs_reader
def test_the_customer_reads_no_notes(qapp, tmp_path, found):
    job = read(tmp_path, report_pdf(report_of(found)))
    customer = read(tmp_path, report_pdf(report_of(found, edition="customer")))
    assert flat(NOTE) in job
    assert flat(NOTE) not in customer


@needs_reader
def test_html_in_a_note_stands_there_as_it_was_typed(qapp, tmp_path, report):
    text = read(tmp_path, report_pdf(report))
    assert "<script>alert(1)</script>" in text
    assert flat(report.title) in text


@needs_reader
def test_no_heading_stands_alone_at_the_foot_of_a_page(qapp, tmp_path, report, recorded):
    for told in (report, recorded):
        headings = {b.text for b in blocks_of(told) if isinstance(b, Heading)}
        assert headings
        for paper in PAPERS:
            for page in pages_of(tmp_path, report_pdf(told, paper)):
                *body, _ = [" ".join(line.split()) for line in page.splitlines() if line.strip()]
                assert body[-1] not in headings


@needs_reader
def test_long_words_and_a_thousand_entries_stay_on_the_sheet(qapp, tmp_path, knowledge):
    more = tuple(
        Entry(
            check="pump_pedal",
            answer="no",
            note=LONG if i in {3, 500} else f"note {i}",
            by="N" * 80 if i == 7 else "Odrin",
        )
        for i in range(992)
    )
    case = measured_case(knowledge, more=more, title=LONG)
    told = report_of(assess(knowledge, case.model_copy(update={"words": LONG})))
    content = report_pdf(told)
    text = read(tmp_path, content)
    assert text.count("W") >= 3 * 2000
    assert all(f"note{i}" in text for i in (4, 250, 991))
    done = subprocess.run(
        ["pdftotext", "-bbox", str(tmp_path / "report.pdf"), "-"],
        capture_output=True,
        check=True,
        text=True,
    )
    boxes = re.findall(
        r'xMin="([\d.-]+)" yMin="([\d.-]+)" xMax="([\d.]+)" yMax="([\d.]+)"', done.stdout
    )
    assert len(boxes) > 5000
    assert min(float(b[0]) for b in boxes) > 50.0
    assert max(float(b[2]) for b in boxes) < SHEETS["a4"].width - 50.0
    assert max(float(b[3]) for b in boxes) < SHEETS["a4"].height - 25.0


@needs_reader
def test_drawings_are_lines_and_letters_not_pictures(qapp, tmp_path, found):
    (tmp_path / "report.pdf").write_bytes(report_pdf(report_of(found)))
    done = subprocess.run(
        ["pdfimages", "-list", str(tmp_path / "report.pdf")],
        capture_output=True,
        check=True,
        text=True,
    )
    assert len(done.stdout.splitlines()) == 2  # the heads of an empty table


@needs_reader
def test_photographs_stand_with_their_captions_no_larger_than_needed(
    qapp, tmp_path, found, picture
):
    broken = Photograph("Broken", "no picture at all", b"nothing")
    content = report_pdf(report_of(found, photographs=[picture, broken]))
    text = read(tmp_path, content)
    assert flat("Hub: seen from behind") in text
    assert flat("Broken: no picture at all") in text
    assert flat(NOT_SHOWN) in text
    done = subprocess.run(
        ["pdfimages", "-list", str(tmp_path / "report.pdf")],
        capture_output=True,
        check=True,
        text=True,
    )
    shown = done.stdout.splitlines()[2].split()
    assert (shown[3], shown[4]) == ("1600", "800")


@needs_reader
def test_the_program_s_own_face_is_in_the_file(qapp, tmp_path, recorded):
    (tmp_path / "report.pdf").write_bytes(report_pdf(recorded))
    done = subprocess.run(
        ["pdffonts", str(tmp_path / "report.pdf")], capture_output=True, check=True, text=True
    )
    rows = [line.split() for line in done.stdout.splitlines()[2:]]
    assert any("AtkinsonHyperlegible" in row[0] for row in rows)
    assert all(row[-5] == "yes" for row in rows)  # embedded


@needs_reader
def test_it_is_dark_on_white_when_the_screen_is_dark(qapp, tmp_path, recorded):
    before = qapp.palette()
    dark = qapp.palette()
    for role in (dark.ColorRole.Text, dark.ColorRole.WindowText):
        dark.setColor(role, QColor("white"))
    qapp.setPalette(dark)
    try:
        (tmp_path / "report.pdf").write_bytes(report_pdf(recorded))
    finally:
        qapp.setPalette(before)
    subprocess.run(
        ["pdftoppm", "-r", "60", "-png", "-f", "1", "-l", "1", "report.pdf", "page"],
        cwd=tmp_path,
        check=True,
    )
    image = QImage(str(next(tmp_path.glob("page*.png"))))
    shades = [
        image.pixelColor(x, y).lightness()
        for x in range(0, image.width(), 2)
        for y in range(0, image.height(), 2)
    ]
    assert image.pixelColor(2, 2).lightness() == 255
    assert 0.005 < sum(shade < 110 for shade in shades) / len(shades) < 0.2


class TestPages:
    @staticmethod
    def strip(height, **more):
        return Slice(height, lambda _: None, **more)

    def test_what_does_not_fit_begins_the_next_page(self, qapp):
        pages = paged([self.strip(40.0) for _ in range(5)], 100.0)
        assert [len(page) for page in pages] == [2, 2, 1]

    def test_space_before_falls_away_at_the_top(self, qapp):
        pages = paged([self.strip(60.0, before=10.0) for _ in range(2)], 100.0)
        assert [page[0][0] for page in pages] == [0.0, 0.0]

    def test_what_keeps_goes_with_what_follows(self, qapp):
        pages = paged([self.strip(70.0), self.strip(20.0, keep=True), self.strip(20.0)], 100.0)
        assert [len(page) for page in pages] == [1, 2]

    def test_what_is_higher_than_a_page_is_cut_and_nothing_is_lost(self, qapp):
        slices = [self.strip(30.0, keep=True) for _ in range(9)]
        pages = paged(slices, 100.0)
        assert [piece for page in pages for _, piece in page] == slices
        assert all(top + piece.height <= 100.0 for page in pages for top, piece in page)

    def test_the_head_of_a_table_is_repeated(self, qapp):
        head = self.strip(10.0, keep=True)
        pages = paged([head, *(self.strip(30.0, head=head) for _ in range(6))], 100.0)
        assert len(pages) == 2
        assert all(page[0][1] is head for page in pages)

    def test_what_only_parts_is_left_out_at_the_top_of_a_page(self, qapp):
        rule = self.strip(6.0, parts=True, keep=True)
        pages = paged([rule, self.strip(90.0), rule, self.strip(50.0)], 100.0)
        assert [len(page) for page in pages] == [1, 1]
        between = paged([self.strip(40.0), rule, self.strip(40.0)], 100.0)
        assert [piece.parts for _, piece in between[0]] == [False, True, False]

    def test_lines_of_a_note_stand_close_beside_a_larger_cell(self, qapp):
        """A column of small type has its own steps, whatever stands beside it."""
        note, name = Cell("Yes", "word " * 40), Cell("Bartholomina of the night shift")
        table = Table(("A", "B"), (0.5, 0.5), ((note, name),))
        _, *row = set_block(Setting("", 200.0), table)
        heights = {round(piece.height, 3) for piece in row[1:-1]}
        assert len(row) > 8
        assert len(heights) == 1

    def test_no_page_has_a_single_row_of_a_table(self, qapp):
        rows = tuple((Cell(str(i)),) for i in range(9))
        slices = list(set_block(Setting("", 200.0), Table(("No.",), (1.0,), rows)))
        high = slices[1].height + slices[1].before
        for fitting in range(3, 9):
            pages = paged(slices, slices[0].height + high * fitting + 1.0)
            rows_on = [sum(piece is not slices[0] for _, piece in page) for page in pages]
            assert min(rows_on) > 1

    def test_photographs_stand_two_beside_each_other_of_one_height(self, qapp, picture):
        wide, high = picture, Photograph("Slave", "", turned(picture.data))
        for shown, rows in (((wide,), 1), ((wide, high), 1), ((wide, wide, high), 2)):
            slices = list(set_block(Setting("", 480.0), Gallery(shown)))
            pictures = [piece for piece in slices if piece.height > 60.0]
            assert len(pictures) == rows
            assert all(piece.keep for piece in pictures)

    def test_a_paragraph_leaves_no_single_line_behind(self, qapp):
        lines = list(set_block(Setting("", 200.0), Paragraph("word " * 60)))
        assert len(lines) > 4
        assert [line.keep for line in lines[:1]] == [True]
        assert [line.keep for line in lines[-2:]] == [True, False]


class TestSameAsOnTheScreen:
    """The screens and the report show the same states and say limits in the same words."""

    def test_the_same_states_are_shown(self, found, report):
        for figure in report.figures:
            if figure.foretold:
                told = found.case.entries[figure.place - 1]
                seen = predictions.foresee(found, figure.measurement.id, told.instrument)
                shown = [(row.forecast, row.others) for row in figure.foretold]
                assert shown == [(row.forecast, row.others) for row in seen.shown]
                assert figure.alone == seen.alone

    def test_limits_are_said_in_the_same_words(self, found):
        report = report_of(found)
        text = {line for b in blocks_of(report) for line in getattr(b, "lines", ())}
        for figure in report.figures:
            lines = predictions.verdict_lines(figure.measurement, found.case, figure.spans, None)
            if found.case.entries[figure.place - 1].reading:
                assert set(lines) <= text


def test_the_command_writes_a_pdf(qapp, tmp_path, capsys):
    out = tmp_path / "example.pdf"
    assert main(["report", str(EXAMPLE), str(out), "--paper", "letter"]) == 0
    assert out.read_bytes().startswith(b"%PDF-")
    assert str(out) in capsys.readouterr().out


@needs_reader
def test_the_command_finds_a_case_in_the_store_that_the_settings_name(
    qapp, tmp_path, monkeypatch, picture
):
    monkeypatch.delenv("PULL_ONCE_STORE", raising=False)
    monkeypatch.setenv("PULL_ONCE_HOME", str(tmp_path))
    url = sqlite_url(tmp_path / "shop.sqlite")
    write_settings(places().settings, Settings(store=url))
    store = open_store(url)
    at, found = "2026-11-24T09:40:00+00:00", Found(causes=("cover_faulty_new",))
    kept = store.new(Case(title="Heddle van (invented)", found=found), "Odrin", at, str(uuid4()))
    store.add_photo(kept.id, picture.data, "Cover", "uneven fingers", "Odrin", at)
    store.close()
    out = tmp_path / "out.pdf"
    assert main(["report", "heddle", str(out)]) == 0
    assert flat("Cover: uneven fingers") in read(tmp_path, out.read_bytes())


def test_an_empty_title_and_date_leave_a_whole_page(qapp, recorded):
    bare = replace(recorded, title="", date="", people=(), made="")
    assert report_pdf(bare).startswith(b"%PDF-")
