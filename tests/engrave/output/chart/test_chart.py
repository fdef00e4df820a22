"""The drawn chart: what it shows is read back from its pixels and from its SVG."""

from __future__ import annotations

import io
import re
from dataclasses import replace
from functools import cache
from pathlib import Path

import pypdfium2
import pytest
from example_scores import CHROMATIC_STUDY, EVENING_WATER, EXAMPLES, THREE_TIMES_ROUND, Example
from lxml import etree
from part_builder import build_part
from PIL import Image, ImageChops, ImageFilter
from typer.testing import CliRunner

from pedalsetter.analysis.errors import OutputError
from pedalsetter.analysis.instrument.harp import LETTERS, Position, Setting
from pedalsetter.analysis.marks.marking import place_marks
from pedalsetter.analysis.part import HarpPart, Place
from pedalsetter.analysis.pedal_plan import Severity
from pedalsetter.analysis.planning import plan_changes
from pedalsetter.engrave import command_line
from pedalsetter.engrave.output.chart.chart import Chart, draw_chart
from pedalsetter.engrave.output.chart.lettering import shortened, text_width, wrapped
from pedalsetter.engrave.output.chart.line import level
from pedalsetter.engrave.output.chart.pixels import drawing_png
from pedalsetter.engrave.output.chart.shapes import Line, Polygon, Ring, Words
from pedalsetter.engrave.output.chart.signs import sign_shapes
from pedalsetter.engrave.output.results import PlannedScore
from pedalsetter.engrave.road import plan_score

DPI = 150
SVG = "{http://www.w3.org/2000/svg}"


@cache
def planned(example: Example) -> PlannedScore:
    """An example score, read and planned."""
    return plan_score(example.path)


@cache
def chart_of(example: Example) -> Chart:
    """Its chart."""
    return draw_chart(planned(example))


def made(part: HarpPart) -> PlannedScore:
    """A part that was built by hand, planned and marked."""
    plan = plan_changes(part)
    return PlannedScore(part, plan, place_marks(part, plan))


def barlines(drawing_svg: bytes) -> list[tuple[float, float, float]]:
    """(x, top, bottom) of the upright lines that cross all seven tracks."""
    root = etree.fromstring(drawing_svg)
    found = set()
    for line in root.iter(f"{SVG}line"):
        x1, y1, x2, y2 = (float(line.get(name)) for name in ("x1", "y1", "x2", "y2"))
        if x1 == x2 and y2 - y1 > 40 and not line.get("stroke-dasharray"):
            found.add((x1, y1, y2))
    return sorted(found, key=lambda one: (one[1], one[0]))


def test_the_setting_of_every_bar_is_read_from_the_pixels() -> None:
    """Between the barlines, the black line of each track is high for flat, low for sharp.

    In *Evening Water* no finding and no sign stands at the very end of a bar; there the seven
    heights must be the setting with which the bar ends.
    """
    example = EVENING_WATER
    part, plan = planned(example).part, planned(example).plan
    chart = chart_of(example)
    (png,) = chart.png(DPI)
    picture = Image.open(io.BytesIO(png)).convert("L")
    pixels = picture.load()
    assert pixels is not None
    lines: dict[float, list[float]] = {}
    tops: dict[float, float] = {}
    for x, top, bottom in barlines(chart.svg[0]):
        lines.setdefault(bottom, []).append(x)
        tops[bottom] = top
    bar = 0
    for bottom, edges in lines.items():
        # double barlines stand close together: the right one of a pair is where the bar ends
        edges = [x for x, after in zip(edges, [*edges[1:], 1e9], strict=True) if after - x > 2]
        for right in edges[1:]:
            x = round((right - 1.2) * DPI / 25.4)
            track = (bottom - tops[bottom] - 2.6) / 7
            read = []
            for letter in LETTERS:
                middle = (
                    tops[bottom] + (letter.index + 0.5) * track + (2.6 if letter.index > 2 else 0)
                )
                greys = [
                    pixels[x, round((middle + step * 1.75) * DPI / 25.4)] for step in (-1, 0, 1)
                ]
                read.append(Position(greys.index(min(greys)) - 1))
            end = Place(bar, part.bars[bar].length)
            assert Setting(tuple(read)) == plan.setting_at(end), f"bar {part.printed_bar(bar)}"
            bar += 1
    assert bar == len(part.bars)


@pytest.mark.parametrize("example", EXAMPLES, ids=lambda example: example.file)
def test_every_change_is_named_and_drawn_once(example: Example) -> None:
    """Each change is a group with its place and pedal as title, an upright and a sign or a dot."""
    part, plan = planned(example).part, planned(example).plan
    titles = []
    for svg in chart_of(example).svg:
        for group in etree.fromstring(svg).iter(f"{SVG}g"):
            title = group.findtext(f"{SVG}title") or ""
            if re.search(r": [A-G][♭♮♯], (left|right) foot$", title):
                titles.append(title)
                assert group.find(f"{SVG}line") is not None
                signs = len(group.findall(f"{SVG}polygon")) + len(group.findall(f"{SVG}circle"))
                assert signs > 0
    expected = [
        f"{part.told_place(change.place)}: {change.text}, {change.foot.value} foot"
        for change in plan.changes
    ]
    assert sorted(titles) == sorted(expected)


def test_findings_are_flagged_where_they_are_and_listed_below() -> None:
    """Each finding but remarks has its number twice: on a flag, and before its sentence."""
    findings = [
        finding
        for finding in planned(CHROMATIC_STUDY).plan.findings
        if finding.severity is not Severity.REMARK
    ]
    texts = [
        element.text or ""
        for svg in chart_of(CHROMATIC_STUDY).svg
        for element in etree.fromstring(svg).iter(f"{SVG}text")
        if element.get("font-weight") == "bold"
    ]
    numbers = [text for text in texts if text.isdigit()]
    assert len(findings) > 10
    for number in range(1, len(findings) + 1):
        assert numbers.count(str(number)) >= 2


def test_sections_are_headings() -> None:
    """Rehearsal marks A, B and C and the first heading stand above their bars, in this order."""
    text = [
        element.text
        for element in etree.fromstring(chart_of(EVENING_WATER).svg[0]).iter(f"{SVG}text")
        if element.get("font-weight") == "bold"
    ]
    order = [text.index(label) for label in ("Andante tranquillo", "A", "B", "C")]
    # the letters of the pedals are bold too, so each mark is sought among the groups with a title
    titles = [
        group.findtext(f"{SVG}title")
        for group in etree.fromstring(chart_of(EVENING_WATER).svg[0]).iter(f"{SVG}g")
    ]

    assert min(order) >= 0
    assert [one for one in titles if one in ("A, bar 17", "B, bar 27", "C, bar 43")] == [
        "A, bar 17",
        "B, bar 27",
        "C, bar 43",
    ]


def test_a_bar_entered_otherwise_is_ringed() -> None:
    """After the first ending C♮ is set back, but the second ending is entered with C♯."""
    titles = [
        group.findtext(f"{SVG}title")
        for group in etree.fromstring(chart_of(THREE_TIMES_ROUND).svg[0]).iter(f"{SVG}g")
    ]

    assert "bar 9, beat 1: entered with C♯" in titles


def test_all_is_black_white_and_grey() -> None:
    """Nothing is told by colour, so that print and every eye show the same."""
    for example in (EVENING_WATER, CHROMATIC_STUDY):
        for svg in chart_of(example).svg:
            colours = set(re.findall(r'"#([0-9a-f]{6})"', svg.decode()))
            assert colours
            assert all(colour[:2] == colour[2:4] == colour[4:] for colour in colours)
        for png in chart_of(example).png(40):
            assert Image.open(io.BytesIO(png)).convert("RGB").getcolors(256) is not None


def test_high_is_flat_and_left_is_above_right() -> None:
    """As on the diagram: flat above natural above sharp; D C B above E F G A."""
    heights = [level(letter, position) for letter in LETTERS for position in Position]

    assert heights == sorted(heights)


def test_the_three_signs_differ_in_form() -> None:
    """A natural reaches further up on the left, further down on the right; a sharp has two bars."""
    shapes = {position: sign_shapes(position, (0.0, 0.0), 1.0) for position in Position}
    edges = {
        position: [
            max(y for piece in pieces for x, y in piece.points if side * x > 0) for side in (-1, 1)
        ]
        for position, pieces in shapes.items()
    }

    assert [len(shapes[position]) for position in Position] == [2, 4, 4]
    assert edges[Position.NATURAL][1] > edges[Position.NATURAL][0]
    for pieces in shapes.values():
        for piece in pieces:
            assert all(-0.62 <= y <= 0.62 and -0.4 <= x <= 0.4 for x, y in piece.points)


def test_the_same_chart_has_the_same_bytes() -> None:
    """SVG and PNG do not depend on the run."""
    one, two = (draw_chart(plan_score(THREE_TIMES_ROUND.path)) for _ in range(2))

    assert one.svg == two.svg
    assert one.png(60) == two.png(60)
    assert one.pdf == two.pdf


def test_the_pdf_shows_what_the_png_shows_and_its_words_are_text() -> None:
    """Read by pdfium: one page for each, the same picture, and the title can be searched for."""
    chart = chart_of(EVENING_WATER)
    with pypdfium2.PdfDocument(chart.pdf) as document:
        assert len(document) == len(chart.pages)
        page = document[0]
        words = page.get_textpage().get_text_range()
        drawn = blurred(page.render(scale=150 / 72, grayscale=True).to_pil())
    with Image.open(io.BytesIO(chart.png(150)[0])) as picture:
        other = blurred(picture)
    without = replace(chart.pages[0], groups=chart.pages[0].groups[:-1])
    with Image.open(io.BytesIO(drawing_png(without, 150))) as picture:
        less = blurred(picture)

    assert "Evening Water" in words
    assert "the harpist decides" in words
    # Greys of 255: edges and the width of letters differ a little, a group that is missing much.
    assert ImageChops.difference(drawn, other).getextrema()[1] < 40
    assert ImageChops.difference(drawn, less).getextrema()[1] > 80


def blurred(picture: Image.Image) -> Image.Image:
    """The picture of an A4 page at 150 dpi, as seen from far away."""
    return picture.convert("L").resize((1240, 1754)).filter(ImageFilter.GaussianBlur(4))


def test_text_of_the_score_is_data() -> None:
    """A title full of markup is shown as it is and makes no element; control signs are dropped."""
    evil = '</title><script>alert(1)</script>&amp;"\x07\ud800'
    score = made(replace(build_part("C4/w", "C#4/w"), title=evil, composer="<b>&</b>"))
    (svg,) = draw_chart(score).svg
    root = etree.fromstring(svg)

    assert {etree.QName(element).localname for element in root.iter()} <= {
        *("svg", "title", "rect", "g", "line", "polygon", "circle", "text"),
    }
    texts = [element.text for element in root.iter(f"{SVG}text")]
    assert "<b>&</b>" in texts
    assert any(text and text.startswith("</title><script>") for text in texts)
    assert draw_chart(score).png(40)


def points(chart: Chart) -> list[tuple[float, float]]:
    """Every corner of every shape, text with its measured width."""
    found = []
    for page in chart.pages:
        for _, shapes in page.groups:
            for shape in shapes:
                if isinstance(shape, Line):
                    found += [shape.start, shape.end]
                elif isinstance(shape, Polygon):
                    found += shape.points
                elif isinstance(shape, Ring):
                    found.append(shape.centre)
                else:
                    assert isinstance(shape, Words)
                    width = text_width(shape.text, shape.size, shape.bold)
                    x, y = shape.at
                    left = x - {"start": 0.0, "middle": width / 2, "end": width}[shape.anchor]
                    found += [(left, y), (left + width, y)]
    return found


LONG_TITLE = (
    "On the slow and winding road that leads from the sea to the hills and back again, twice"
)


@pytest.mark.parametrize("example", EXAMPLES, ids=lambda example: example.file)
def test_everything_stands_within_the_margins(example: Example) -> None:
    """Twelve millimetres at each edge of A4 stay white, with any title, also on later pages."""
    score = planned(example)
    longer = replace(score, part=replace(score.part, title=LONG_TITLE, composer=LONG_TITLE))
    for chart in (chart_of(example), draw_chart(longer)):
        for x, y in points(chart):
            assert 12 <= x <= 198
            assert 12 <= y <= 285


def test_a_long_piece_runs_over_pages() -> None:
    """300 bars make several pages; a second movement begins with its title."""
    bars = ["F4/q F#4/q F4/q F#4/q", "F4/w"] * 150
    part = replace(
        build_part(*bars, movements=(200,), tempo=60), movement_titles=("Allegro", "Lento")
    )
    chart = draw_chart(made(part))

    assert len(chart.pages) > 3
    texts = [
        element.text for svg in chart.svg for element in etree.fromstring(svg).iter(f"{SVG}text")
    ]
    assert texts.index("Allegro") < texts.index("Lento")
    for x, y in points(chart):
        assert 12 <= x <= 198
        assert 12 <= y <= 285


def test_a_piece_of_one_note_has_a_chart() -> None:
    """The smallest piece: one bar, no change, no finding."""
    (page,) = draw_chart(made(build_part("C4/w"))).pages

    assert page.groups


def test_text_is_cut_and_wrapped_to_its_room() -> None:
    """A line never runs wider than asked, and nothing of a wrapped text is lost."""
    text = "one pedal cannot stand in two positions, and no other string is free for it"

    assert text_width(shortened(text, 3.0, 40.0), 3.0) <= 40.0
    assert shortened(text, 3.0, 40.0).endswith("…")
    assert shortened(text, 3.0, 0.5) == ""
    lines = wrapped(text, 3.0, 40.0)
    assert " ".join(lines) == text
    assert all(text_width(line, 3.0) <= 40.0 for line in lines)
    assert all(text_width(line, 3.0) <= 9.0 for line in wrapped("unbreakableword", 3.0, 9.0))


def test_it_shows_itself_in_a_notebook() -> None:
    """A notebook asks for SVG or PNG by these names (IPython's display protocol)."""
    chart = chart_of(EVENING_WATER)

    assert etree.fromstring(chart._repr_svg_().encode()).tag == f"{SVG}svg"
    assert Image.open(io.BytesIO(chart._repr_png_())).format == "PNG"


def test_the_command_writes_png_and_svg(tmp_path: Path) -> None:
    """One page has the name given; several are numbered."""
    for name in ("one.svg", "one.png", "many.svg"):
        score = CHROMATIC_STUDY.path if name == "many.svg" else EVENING_WATER.path
        result = CliRunner().invoke(
            command_line.app, ["chart", str(score), "-o", str(tmp_path / name), "--dpi", "60"]
        )
        assert result.exit_code == 0, result.output
    pages = len(chart_of(CHROMATIC_STUDY).pages)

    assert pages > 1
    assert sorted(path.name for path in tmp_path.iterdir()) == sorted(
        ["one.svg", "one.png", *(f"many-{page}.svg" for page in range(1, pages + 1))]
    )


def test_a_wrong_suffix_or_resolution_is_one_line(tmp_path: Path) -> None:
    """The mistake is told before anything is planned; no file is left."""
    result = CliRunner().invoke(
        command_line.app, ["chart", str(EVENING_WATER.path), "-o", str(tmp_path / "x.jpg")]
    )

    assert (result.exit_code, result.stdout) == (2, "")
    assert result.stderr == (
        "pedalsetter: a picture cannot be saved as 'x.jpg'. End its name in .pdf, .png or .svg.\n"
    )
    assert not list(tmp_path.iterdir())
    with pytest.raises(OutputError, match="20 to 600 dots an inch, not 5"):
        chart_of(EVENING_WATER).png(5)
