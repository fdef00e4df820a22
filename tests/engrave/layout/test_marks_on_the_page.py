"""Marks as they are printed: measured on engraved pages."""

from __future__ import annotations

import io
from dataclasses import replace
from fractions import Fraction

import pypdfium2 as pdfium
import pytest
from dense_pages import (
    EngravedPages,
    change_mark,
    dense_page,
    diagram,
    empty_part,
    engrave_page,
)
from part_builder import build_part

from pedalsetter.analysis.errors import EngravingError
from pedalsetter.analysis.marks.marking import Markings
from pedalsetter.analysis.part import Place
from pedalsetter.engrave.house_style import HouseStyle, load_house_style
from pedalsetter.engrave.layout.moments import PrintedMoment
from pedalsetter.engrave.layout.placement import place
from pedalsetter.engrave.layout.proof import prove
from pedalsetter.engrave.output.pages.engraver import engrave
from pedalsetter.engrave.output.pages.lilypond import lilypond_source
from pedalsetter.engrave.output.pages.page import stylesheet

pytestmark = pytest.mark.engraving

QUIET_BAR = "c''4 d'' e'' f'' | "
QUIET_LOW = "c2 g | "


def quiet_page(
    markings: Markings, bars: int = 2, style: HouseStyle | None = None, upper: str = QUIET_BAR
) -> EngravedPages:
    """Calm music with marks above it."""
    return engrave_page(upper * bars, QUIET_LOW * bars, empty_part(bars), markings, style=style)


def test_rings_never_change_the_height_of_a_diagram() -> None:
    """With every pedal ringed or none, a diagram takes the same room, so rows stay level."""
    page = quiet_page(
        Markings(
            (
                diagram(0, 0, "bsn|ssnb"),
                diagram(1, 0, "bsn|ssnb", "DCBEFGA"),
                diagram(2, 0, "nnn|nnnn", "D"),
            ),
            (),
        ),
        bars=3,
    )
    assert page.proof.failures == ()
    sizes = {
        (round(m.box.right - m.box.left, 3), round(m.box.bottom - m.box.top, 3))
        for m in page.placement.marks
    }
    assert len(sizes) == 1
    assert len({m.baseline for m in page.placement.marks}) == 1


def ink_above_and_below(pattern: str, changed: str = "") -> tuple[list[int], float]:
    """Columns of ink of a diagram, seen in the picture: -1 below the line, 1 above, 0 across."""
    page = quiet_page(Markings((diagram(0, 0, pattern, changed),), ()), bars=1)
    (mark,) = page.placement.marks
    space = page.engraving.boxes.pages[0].space_mm / 25.4 * 600
    document = pdfium.PdfDocument(page.engraving.pdf)
    picture = document[0].render(scale=600 / 72, grayscale=True).to_pil()
    box = mark.box
    cut = picture.crop(
        tuple(round(value * space) for value in (box.left, box.top, box.right, box.bottom))
    )
    width, height = cut.size
    middle = height // 2
    off = round(0.20 * space)  # clear of the line itself, which is 0.14 thick
    above = [cut.getpixel((x, middle - off)) < 128 for x in range(width)]
    below = [cut.getpixel((x, middle + off)) < 128 for x in range(width)]
    far = round(1.0 * space)
    high = [cut.getpixel((x, middle - far)) < 128 for x in range(width)]
    low = [cut.getpixel((x, middle + far)) < 128 for x in range(width)]
    found: list[int] = []
    inside = False
    for x in range(width):
        inked = above[x] or below[x] or high[x] or low[x]
        if inked and not inside:
            column = (high[x] or high[x + 2], low[x] or low[x + 2])
            found.append({(1, 0): 1, (0, 1): -1, (0, 0): 0, (1, 1): 9}[column])
        inside = inked
    return found, space


@pytest.mark.parametrize(
    ("pattern", "columns"),
    [
        ("bsn|ssnb", [1, -1, 0, 9, -1, -1, 0, 1]),
        ("bbb|bbbb", [1, 1, 1, 9, 1, 1, 1, 1]),
        ("sns|bsbn", [-1, 0, -1, 9, 1, -1, 1, 0]),
    ],
)
def test_a_diagram_shows_the_pedals_as_the_trade_draws_them(
    pattern: str, columns: list[int]
) -> None:
    """Above the line flat, across it natural, below it sharp; a longer mark between B and E.

    Read off the picture, not off our own drawing code. Source of the form: University of the Arts
    Helsinki, harp notation guide, "Pedal diagrams"; of the first setting: LilyPond Notation
    Reference, "Harp pedals" (D♭ C♯ B | E♯ F♯ G A♭).
    """
    assert ink_above_and_below(pattern)[0] == columns


def test_a_letter_at_its_note() -> None:
    """A letter begins above the note at whose moment the pedal moves (common practice)."""
    page = quiet_page(Markings((), (change_mark(1, 2, "F♯"),)))
    (mark,) = page.placement.marks
    assert mark.moment.time == 6
    assert page.proof.misplaced == ()
    heads = [t for t in page.engraving.boxes.things if t.kind == "NoteHead"]
    below = [head for head in heads if abs(head.box.left - mark.box.left) < 0.5]
    assert len(below) == 1
    assert below[0].box.top > mark.box.bottom


def test_a_stack_stands_on_the_row_and_rises() -> None:
    """The lower letter of a stack is level with the single letters of its system."""
    page = quiet_page(
        Markings((), (change_mark(0, 0, "F♯"), change_mark(0, 2, "G♯", "C♯"))), bars=1
    )
    single, stack = page.placement.marks
    assert single.baseline == stack.baseline
    assert stack.box.bottom == pytest.approx(single.box.bottom, abs=0.001)
    assert stack.box.top < single.box.top - 1.5
    assert page.proof.failures == ()


def test_every_letter_has_one_height() -> None:
    """Flat, natural and sharp, with any letter, take the same height, so rows stay level."""
    marks = tuple(
        change_mark(bar, beat, f"{letter}{'♭♮♯'[beat]}")
        for bar, letter in enumerate("DCBEFGA")
        for beat in range(3)
    )
    page = quiet_page(Markings((), marks), bars=7)
    assert len({round(m.box.bottom - m.box.top, 3) for m in page.placement.marks}) == 1
    assert page.proof.failures == ()
    assert page.proof.marks == 21


def test_letters_close_together_push_the_notes_apart() -> None:
    """Sixteen changes on sixteen sixteenths: all stand on one line and none touches another."""
    marks = tuple(
        change_mark(0, Fraction(k, 4), f"{'EFGA'[k % 4]}{'♯♮'[k // 4 % 2]}") for k in range(16)
    )
    page = quiet_page(Markings((), marks), bars=1, upper="c''16 d'' e'' f'' " * 4)
    assert page.proof.overlaps == ()
    assert page.proof.rows_with_two_baselines == ()
    assert page.proof.past_line_end == ()
    assert page.proof.marks == 16


def test_a_diagram_on_the_last_sixteenth_stays_inside_the_line() -> None:
    """The line makes room; the diagram does not hang over the margin."""
    page = quiet_page(
        Markings(tuple(diagram(bar, Fraction(15, 4), "bsn|ssnb") for bar in range(12)), ()),
        bars=12,
        upper="c''16 d'' e'' f'' " * 4,
    )
    assert page.proof.systems > 2
    assert page.proof.failures == ()


def test_a_system_without_tempo_keeps_its_marks() -> None:
    """Rows stay with their own system even where no tempo or rehearsal mark stands above them."""
    page = engrave_page(
        (QUIET_BAR * 3 + "\\break ") * 4,
        "c,,2 g,, | " * 12,
        empty_part(12),
        Markings(
            tuple(diagram(bar, 0, "bsn|ssnb") for bar in range(0, 12, 3)),
            tuple(change_mark(bar, 2, "F♯", "C♯") for bar in range(12)),
        ),
        marks_above='\\tempo "Lento" s1*3 \\mark \\default s1*9',
    )
    assert page.proof.systems == 4
    assert page.proof.failures == ()
    systems = [line for line in page.engraving.boxes.lines if line.is_system]
    for mark in page.placement.marks:
        own = systems[mark.system - 1]
        assert own.box.top - 0.01 <= mark.box.top
        assert mark.box.bottom <= own.box.bottom
    assert [m.system for m in page.placement.marks if m.name[0] == "d"] == [1, 2, 3, 4]


def test_marks_among_grace_notes_stand_where_they_belong() -> None:
    """A letter for the second grace note stands there, right of the first, left of the beat."""
    part = build_part("C5/w | r/w", "G6/eg A6/eg F#6/h A5/h | r/w")
    marks = tuple(
        replace(change_mark(1, 0, pedal), place=Place(1, Fraction(0), grace))
        for grace, pedal in ((-2, "G♯"), (-1, "A♭"), (0, "F♯"))
    )
    document = lilypond_source(part, Markings((), marks), load_house_style())
    boxes = engrave(document.text).boxes
    placement = place(document.marks, boxes)
    assert prove(part, placement).failures == ()
    assert [m.moment for m in placement.marks] == [
        PrintedMoment(Fraction(4), grace) for grace in (Fraction(-1), Fraction(-1, 2), Fraction(0))
    ]
    lefts = [m.box.left for m in placement.marks]
    assert lefts == sorted(lefts)
    assert lefts[2] - lefts[0] > 4


@pytest.mark.parametrize("seed", range(6))
@pytest.mark.parametrize("paper", ["a4", "letter", "b4"])
def test_dense_pages_are_clear(seed: int, paper: str) -> None:
    """Whatever stands above the staff, no mark touches anything, and rows are straight.

    Ledger lines up to the highest string, 8va, trills, slurs, tuplets, words, arpeggios, grace
    notes, two voices, rehearsal and tempo marks.
    """
    dense = dense_page(seed)
    size = {"a4": 18.0, "letter": 20.0, "b4": 16.0}[paper]
    page = engrave_page(
        dense.upper,
        dense.lower,
        dense.part,
        dense.markings,
        marks_above=dense.marks_above,
        graces=dense.graces,
        style=replace(load_house_style(), paper_size=paper, staff_size_points=size),
    )
    assert page.proof.failures == ()
    assert page.proof.marks == len(dense.markings.diagrams) + len(dense.markings.changes) + len(
        dense.markings.strings
    )
    assert page.proof.smallest_distance is not None
    assert page.proof.smallest_distance > 0


@pytest.mark.parametrize("seed", [0, 2, 5])
def test_rows_between_the_staves_are_clear_too(seed: int) -> None:
    """Between the staves, where many parts have them, marks avoid both staves and the barlines."""
    dense = dense_page(seed)
    page = engrave_page(
        dense.upper,
        dense.lower,
        dense.part,
        dense.markings,
        marks_above=dense.marks_above,
        graces=dense.graces,
        style=replace(load_house_style(), letter_place="between", diagram_place="between"),
    )
    assert page.proof.failures == ()
    systems = {(line.page, line.line): line for line in page.engraving.boxes.lines}
    for mark in page.engraving.boxes.marks:
        system = systems[mark.page, mark.line]
        assert system.staff_top + 4 < mark.ink.top
        assert mark.ink.bottom < system.staff_bottom - 4
    assert any(thing.kind == "SpanBar" for thing in page.engraving.boxes.things)


@pytest.mark.parametrize("seed", [0, 1, 3, 4])
def test_rows_below_the_staves_are_clear_too(seed: int) -> None:
    """Where the style puts marks below the lower staff, they stand there, straight and clear.

    Place of marks: a matter of the house (University of the Arts Helsinki, harp notation guide,
    "Pedal diagrams": above or below the pair of staves).
    """
    dense = dense_page(seed)
    page = engrave_page(
        dense.upper,
        dense.lower,
        dense.part,
        dense.markings,
        marks_above=dense.marks_above,
        graces=dense.graces,
        style=replace(load_house_style(), letter_place="below", diagram_place="below"),
    )
    assert page.proof.failures == ()
    systems = {(line.page, line.line): line for line in page.engraving.boxes.lines}
    for mark in page.engraving.boxes.marks:
        assert mark.ink.top > systems[mark.page, mark.line].staff_bottom
    for name in ("pedal-diagram", "pedal-letters"):
        assert any(mark.row == name for mark in page.engraving.boxes.marks)


def test_the_proof_fails_when_a_mark_is_pushed_into_the_notes() -> None:
    """The proof can fail: a row that is forced down onto the staff is found, with its place."""
    part = empty_part(1)
    markings = Markings((), (change_mark(0, 1, "F♯"),))
    page = engrave_page("c'''4 c''' c''' c'''", "c1", part, markings)
    moved = page.source.replace(
        '\\pedalLetter "c1"', '-\\tweak extra-offset #\'(0 . -3) \\pedalLetter "c1"'
    )
    boxes = engrave(moved).boxes
    proof = prove(part, place({"c1": markings.changes[0]}, boxes))
    assert any(near.other == "NoteHead" for near in proof.overlaps)
    assert proof.failures[0].startswith("bar 1, beat 2: the mark overlaps a ")


def test_a_mark_that_is_not_on_the_page_is_told() -> None:
    """The proof counts: a mark of the plan that no page shows is a failure."""
    part = empty_part(2)
    markings = Markings((), (change_mark(0, 0, "F♯"), change_mark(1, 1, "G♯")))
    page = quiet_page(markings)
    lost = prove(
        part, place({"c1": markings.changes[0], "c9": markings.changes[1]}, page.engraving.boxes)
    )
    assert lost.missing == ("c9",)
    assert lost.failures == ("bar 2, beat 2: the mark is not on the page",)
    moved = prove(part, place({"c1": markings.changes[1]}, page.engraving.boxes))
    assert moved.misplaced == ("c1",)
    assert moved.failures == (
        "bar 2, beat 2: the mark was printed 0 quarters after the beginning of the score "
        "instead of 5",
    )


@pytest.mark.parametrize(
    ("event", "message"),
    [
        ('\\pedalDiagram "d1" "^v-|vv-"', "'^v-|vv-' is no pedal diagram"),
        ('\\pedalDiagram "d1" "^v-v|v-^"', "'^v-v|v-^' is no pedal diagram"),
        ('\\pedalDiagram "d1" "^v-|vv-^o"', "'^v-|vv-^o' is no pedal diagram"),
        ('\\pedalLetter "c1" "♯"', "'♯' names no pedal"),
        ('\\pedalLetter "c1" "F♯ 7"', "'7' names no pedal"),
        ('\\pedalLine "d1" "D C B | E F G -"', "'-' names no pedal"),
    ],
)
def test_a_slip_in_the_source_is_an_error(event: str, message: str) -> None:
    """Who edits the source by hand is told, and gets no wrong drawing."""
    source = f'\\version "2.24.0"\n{stylesheet()}\n\\new PedalLane {{ s1 {event} }}\n'
    with pytest.raises(EngravingError) as caught:
        engrave(source)
    assert message in str(caught.value)


def test_sizes_of_a_house_style_are_seen_on_the_page() -> None:
    """A larger diagram is larger, smaller letters are smaller, by LilyPond's steps of size."""
    markings = Markings((diagram(0, 0, "bsn|ssnb"),), (change_mark(0, 2, "F♯"),))
    plain = load_house_style()
    changed = replace(plain, diagram_size=plain.diagram_size + 2, letter_size=plain.letter_size - 3)
    before, after = (
        {m.name: m.box.right - m.box.left for m in quiet_page(markings, style=s).placement.marks}
        for s in (plain, changed)
    )
    assert after["d1"] / before["d1"] == pytest.approx(2 ** (2 / 6), rel=0.01)
    assert after["c1"] / before["c1"] == pytest.approx(2 ** (-3 / 6), rel=0.08)


def test_pictures_agree_with_boxes() -> None:
    """The reported box of a diagram holds its ink: nothing dark lies in the air around it."""
    page = quiet_page(Markings((diagram(0, 0, "bsn|ssnb", "DA"),), ()), bars=1)
    (mark,) = page.placement.marks
    space = page.engraving.boxes.pages[0].space_mm / 25.4 * 300
    picture = (
        pdfium.PdfDocument(page.engraving.pdf)[0].render(scale=300 / 72, grayscale=True).to_pil()
    )
    around = (mark.box.left - 0.3, mark.box.top - 0.3, mark.box.right + 0.3, mark.box.bottom + 0.3)
    cut = picture.crop(tuple(round(value * space) for value in around))
    buffer = io.BytesIO()
    cut.save(buffer, "PNG")
    ink = cut.point([255 if value < 128 else 0 for value in range(256)]).getbbox()
    assert ink is not None
    edge = 0.3 * space
    # A pixel is 0.06 of a staff space; the row's air above and below the ring is 0.02.
    assert ink[0] == pytest.approx(edge, abs=2)
    assert cut.size[0] - ink[2] == pytest.approx(edge, abs=2)
    assert ink[1] >= edge - 2
    assert cut.size[1] - ink[3] >= edge - 2
