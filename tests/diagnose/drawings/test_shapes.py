"""Text that keeps to its room, and drawings written as SVG."""

from xml.etree import ElementTree as ET

import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.drawings.layered import Run
from diagnose.drawings.rows import Box, Size
from diagnose.drawings.shapes import Bar, Drawing, Frame, Label, Stroke, text_width, wrapped
from diagnose.drawings.svg import path_of, style_sheet, svg

SVG = "{http://www.w3.org/2000/svg}"
HOSTILE = """</text><script>alert("1 & 2")</script> 'quoted'"""
printable = st.text(st.characters(exclude_categories=("Cc", "Cs")), max_size=80)


@given(printable, st.floats(5.0, 400.0), st.floats(6.0, 40.0), st.booleans())
def test_wrapped_lines_fit_and_lose_nothing(words, width, size, bold):
    lines = wrapped(words, width, size, bold=bold)
    assert "".join(lines).replace(" ", "") == "".join(words.split()).replace(" ", "")
    for line in lines:
        # A single letter may be wider than the room; it is never left out.
        assert len(line) == 1 or text_width(line, size, bold=bold) <= width


def test_words_stay_whole_where_they_can():
    assert wrapped("one two three", 60.0, 13.0) == ("one two", "three")
    assert wrapped("", 60.0, 13.0) == ()
    assert len(wrapped("x" * 50, 60.0, 13.0)) > 5


@given(printable, st.sampled_from(["start", "middle", "end"]))
def test_a_label_takes_its_room_from_its_anchor(words, anchor):
    box = Label(words, 100.0, 50.0, 10.0, anchor).box
    share = {"start": 0.0, "middle": 0.5, "end": 1.0}[anchor]
    assert box.left + share * box.width == pytest.approx(100.0)
    assert box.width == pytest.approx(text_width(words, 10.0))
    assert box.top < 50.0 < box.bottom


DRAWING = Drawing(
    HOSTILE,
    "What it shows & hides",
    Size(200.0, 100.0),
    (Frame(Box(1.0, 1.0, 50.0, 20.0), 2.0, "accent", soft=True),),
    (Stroke((Run(10.0, 90.0, 80.0), Run(30.0, 60.0, 50.0)), 3.0, arrow=True),),
    (Bar(0.0, 0.0, 10.0, 0.0, 1.0),),
    (
        Label(HOSTILE, 10.0, 20.0, 13.0, link="#causes-air"),
        Label("second line", 10.0, 40.0, 13.0, link="#causes-air"),
        Label("loose", 190.0, 60.0, 12.0, "end", "muted"),
    ),
)


class TestSvg:
    def test_it_is_whole_whatever_the_words(self):
        root = ET.fromstring(svg(DRAWING, "d"))
        assert root.tag == f"{SVG}svg"
        assert root.get("viewBox") == "0 0 200 100"
        assert not root.findall(f".//{SVG}script")
        texts = [text.text for text in root.iter(f"{SVG}text")]
        assert texts == [HOSTILE, "second line", "loose"]

    def test_it_has_a_title_and_a_description_for_those_who_can_not_see_it(self):
        root = ET.fromstring(svg(DRAWING, "d"))
        assert root.get("role") == "img"
        named = root.get("aria-labelledby").split()
        assert [root.find(f"{SVG}{tag}").get("id") for tag in ("title", "desc")] == named
        assert root.find(f"{SVG}title").text == HOSTILE
        assert root.find(f"{SVG}desc").text == "What it shows & hides"

    def test_lines_of_one_name_are_one_link(self):
        root = ET.fromstring(svg(DRAWING, "d"))
        (link,) = root.iter(f"{SVG}a")
        assert link.get("href") == "#causes-air"
        assert len(link.findall(f"{SVG}text")) == 2

    def test_every_class_has_a_colour(self):
        colours = {
            role: f"#{i:06x}"
            for i, role in enumerate(("ink", "muted", "accent", "rule", "card", "soft"))
        }
        sheet = style_sheet(colours, "'Face'")
        root = ET.fromstring(svg(DRAWING, "d", style=sheet))
        assert root.find(f"{SVG}style").text == sheet
        used = {name for e in root.iter() for name in (e.get("class") or "").split()}
        assert used
        assert all(f".{name}{{" in sheet for name in used)


def test_a_way_swings_over_without_a_corner():
    assert path_of([Run(10, 90, 80), Run(30, 60, 50)]) == "M10 90V80C10 70 30 70 30 60V50"
    assert path_of([Run(10, 90, 80), Run(10, 60, 50)]) == "M10 90V80V60V50"


def test_a_point_on_a_name_leads_where_it_leads():
    assert DRAWING.link_at(12.0, 15.0) == "#causes-air"
    assert DRAWING.link_at(189.0, 57.0) == ""
    assert DRAWING.link_at(100.0, 90.0) == ""
