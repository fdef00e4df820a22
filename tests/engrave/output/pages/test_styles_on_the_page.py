"""Every option about marks, seen on an engraved page: boxes, moments, and the words in the PDF."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from typing import Any

import pypdfium2 as pdfium
import pytest
from long_parts import long_part
from part_builder import build_part
from styled_pages import diagrams_of, letters_of, pages, styled

from pedalsetter.analysis.marks.marking import Reason
from pedalsetter.analysis.part import HarpPart, Section, SectionReason
from pedalsetter.engrave.layout.geometry import Line
from pedalsetter.engrave.layout.placement import PlacedMark
from pedalsetter.engrave.output.pages.settled_press import SettledPart

pytestmark = pytest.mark.engraving


def words_of(settled: SettledPart) -> list[str]:
    """Every word of the PDF, as a reader of the file can copy it."""
    document = pdfium.PdfDocument(settled.engraved.engraving.pdf)
    return " ".join(page.get_textpage().get_text_range() for page in document).split()


def system_of(settled: SettledPart, mark: PlacedMark) -> Line:
    """The system in which a mark stands."""
    systems = [line for line in settled.engraved.placement.boxes.lines if line.is_system]
    return next(line for line in systems if line.start <= mark.moment.time < line.end)


def lane(settled: SettledPart, row: str) -> str:
    """A row of marks in the source."""
    text = settled.engraved.document.text
    start = text.index(f"rowOf{row} =")
    return text[start : text.index("}", start)]


@pytest.mark.parametrize(
    ("wish", "printed"),
    [
        ({}, ["F♯", "B♭", "E♭", "C♯", "B♮", "F♮"]),
        ({"capitals": False}, ["f♯", "b♭", "e♭", "c♯", "b♮"]),
        ({"language": "German"}, ["F♯", "B♭", "E♭", "C♯", "H♮"]),
        ({"language": "French"}, ["Fa♯", "Si♭", "Mi♭", "Do♯", "Si♮"]),
        ({"language": "French", "capitals": False}, ["fa♯", "si♭", "mi♭"]),
        ({"language": "German", "spelling": "words"}, ["Fis", "B", "Es", "Cis", "H", "F"]),
        ({"language": "English", "spelling": "words"}, ["F\u00a0sharp", "B\u00a0natural"]),
        ({"language": "French", "spelling": "words"}, ["Fa\u00a0dièse", "Mi\u00a0bémol"]),
        ({"language": "Italian", "spelling": "words"}, ["Fa\u00a0diesis", "Si\u00a0bequadro"]),
        ({"language": "Spanish", "spelling": "words"}, ["Fa\u00a0sostenido", "Mi\u00a0bemol"]),
    ],
)
def test_pedals_are_named_in_five_languages(wish: dict[str, Any], printed: list[str]) -> None:
    """The names of the trade in each language, by sign or by word.

    Source: Wikipedia, "Key signature names and translations". Words are read off the PDF, signs,
    which are drawn, off the source.
    """
    settled = pages(styled(**wish))
    letters = lane(settled, "Letters")
    for text in printed:
        assert f'"{text}"' in letters
    if wish.get("spelling") == "words":
        found = words_of(settled)
        for text in printed:
            assert all(word in found for word in text.split()), text


def test_the_natural_stands_at_changes_or_everywhere() -> None:
    """At a change it is always written out; in a whole setting a bare letter may say it.

    Source: LilyPond Notation Reference, "Harp pedals", whose text form leaves naturals bare.
    """
    changes = pages(styled(diagram_form="line"))
    always = pages(styled(diagram_form="line", naturals="always"))
    assert '"D C B | E F G A"' in lane(changes, "Diagrams")
    assert '"D♮ C♮ B♮ | E♮ F♮ G♮ A♮"' in lane(always, "Diagrams")
    assert lane(changes, "Letters") == lane(always, "Letters")
    wide = [mark.box.right - mark.box.left for mark in (diagrams_of(always) + diagrams_of(changes))]
    assert wide[0] > wide[2] + 3


def test_a_diagram_is_strokes_or_letters_in_two_lines_or_one() -> None:
    """Two lines have the right foot's pedals above (common practice), one line a divider."""
    strokes, rows, line = (pages(styled(diagram_form=form)) for form in ("strokes", "rows", "line"))
    assert '\\pedalDiagram "d2" "-v^|^v-o^"' in lane(strokes, "Diagrams")
    assert '\\pedalRows "d2" "E♭ F♯ G oA♭" "D C♯ B♭"' in lane(rows, "Diagrams")
    assert '\\pedalLine "d2" "D C♯ B♭ | E♭ F♯ G oA♭"' in lane(line, "Diagrams")
    boxes = [diagrams_of(each)[1].box for each in (strokes, rows, line)]
    high = [box.bottom - box.top for box in boxes]
    wide = [box.right - box.left for box in boxes]
    assert high[1] > 1.8 * high[2]
    assert wide[2] > 1.5 * wide[1]
    # Bare naturals of two settings and the letter of G♯, read off the PDF.
    assert sum(word.startswith("G") for word in words_of(line)) == 3


@pytest.mark.parametrize("form", ["strokes", "rows", "line"])
def test_a_ring_changes_no_height(form: str) -> None:
    """With or without rings rows are equally high; without, no pedal has a ring."""
    ringed, bare = (pages(styled(diagram_form=form, ring_changed=wish)) for wish in (True, False))
    ring = "o^" if form == "strokes" else "oA♭"
    assert ring in lane(ringed, "Diagrams")
    assert ring not in lane(bare, "Diagrams")
    high = {
        round(mark.box.bottom - mark.box.top, 3)
        for settled in (ringed, bare)
        for mark in diagrams_of(settled)
    }
    assert len(high) == 1


@pytest.mark.parametrize("diagrams", ["above", "between", "below"])
@pytest.mark.parametrize("letters", ["above", "between", "below"])
def test_diagrams_and_letters_have_places_of_their_own(diagrams: str, letters: str) -> None:
    """Above the upper staff, between the two or below the lower one, each for itself.

    Sources differ on both (University of the Arts Helsinki, harp notation guide: diagrams above or
    below the pair of staves), so a house decides.
    """
    settled = pages(styled(diagram_place=diagrams, letter_place=letters))
    # A staff is four spaces high: the gap begins so far below the top, and ends before the bottom.
    for marks, where in ((diagrams_of(settled), diagrams), (letters_of(settled), letters)):
        for mark in marks:
            system = system_of(settled, mark)
            if where == "above":
                assert mark.box.bottom < system.staff_top
            elif where == "below":
                assert mark.box.top > system.staff_bottom
            else:
                assert system.staff_top + 4 < mark.box.top
                assert mark.box.bottom < system.staff_bottom - 4


def test_sizes_are_steps_of_which_six_double() -> None:
    """LilyPond Notation Reference, ``font-size``: six steps double a size."""
    plain = pages(styled())
    large = pages(styled(letter_size=3.5, diagram_size=3.5, row_distance_spaces=6.0))
    for marks, steps in ((diagrams_of, 2.0), (letters_of, 3.0)):
        small_box, large_box = marks(plain)[0].box, marks(large)[0].box
        ratio = (large_box.bottom - large_box.top) / (small_box.bottom - small_box.top)
        assert ratio == pytest.approx(2 ** (steps / 6), rel=0.01)


def test_fonts_differ() -> None:
    """Serif, light and italic letters are others than the bold ones without serifs."""
    wishes: list[dict[str, Any]] = [{}, {"font": "serif"}, {"bold": False}, {"italic": True}]
    seen = set()
    for wish in wishes:
        settled = pages(styled(**wish, language="German", spelling="words"))
        document = pdfium.PdfDocument(settled.engraved.engraving.pdf)
        picture = document[0].render(scale=3, grayscale=True).to_pil()
        box = letters_of(settled)[0].box
        unit = settled.engraved.placement.boxes.pages[0].space_mm / 25.4 * 72 * 3
        cut = picture.crop(
            tuple(round(edge * unit) for edge in (box.left, box.top, box.right, box.bottom))
        )
        seen.add((cut.size, cut.tobytes()))
    assert len(seen) == len(wishes)


@pytest.mark.parametrize(
    ("brackets", "opening", "closing"), [("square", "[", "]"), ("round", "(", ")")]
)
@pytest.mark.parametrize("form", ["strokes", "rows"])
def test_an_editors_additions_have_the_brackets_of_the_house(
    brackets: str, opening: str, closing: str, form: str
) -> None:
    """Square or round, around a letter, a stack and a diagram; brackets take room of their own."""
    plain = pages(styled(diagram_form=form))
    settled = pages(styled(brackets=brackets, diagram_form=form), editorial=True)
    assert f'"{opening}F♯{closing}"' in lane(settled, "Letters")
    assert f'"{opening}E♭" "C♯{closing}"' in lane(settled, "Letters")
    assert f'"d1" "{opening}' in lane(settled, "Diagrams")
    for marks in (diagrams_of, letters_of):
        was, now = marks(plain)[0].box, marks(settled)[0].box
        assert now.right - now.left > was.right - was.left + 1


def test_an_editors_additions_may_be_small() -> None:
    """Small type instead of brackets, as some editions have it (common practice, no source)."""
    plain, settled = pages(styled()), pages(styled(brackets="small"), editorial=True)
    for marks in (diagrams_of, letters_of):
        was, now = marks(plain)[0].box, marks(settled)[0].box
        assert now.right - now.left < 0.85 * (was.right - was.left)


@pytest.mark.parametrize(
    ("stand", "moment"),
    [("planned", 4), ("at-need", 6), ("beat-before", 5), ("barline-before", 4)],
)
def test_letters_stand_as_early_as_the_house_wants(stand: str, moment: int) -> None:
    """F sharp is needed on beat 3 of bar 2, six quarters after the beginning."""
    settled = pages(styled(letter_stand=stand))
    moments = [
        mark.moment.time
        for mark in letters_of(settled)
        if "F♯" in [change.text for change in mark.mark.changes]  # type: ignore[union-attr]
    ]
    assert moments[0] == moment


def reasons(settled: SettledPart) -> list[tuple[int, Reason]]:
    """Bar and reason of the diagrams on the page."""
    return [
        (mark.mark.place.bar, mark.mark.reason)
        for mark in sorted(diagrams_of(settled), key=lambda mark: mark.moment)
    ]


@pytest.mark.parametrize(
    ("wish", "found"),
    [
        ({}, [(0, Reason.START), (4, Reason.SECTION)]),
        ({"diagrams_at_sections": False}, [(0, Reason.START)]),
        ({"diagrams_at_start": False}, [(4, Reason.SECTION)]),
        (
            {"diagrams_after_rest_bars": 1},
            [(0, Reason.START), (4, Reason.SECTION), (6, Reason.AFTER_REST)],
        ),
        (
            {"diagrams_after_changes": 4, "diagrams_at_sections": False},
            [(0, Reason.START), (2, Reason.AFTER_CHANGES)],
        ),
    ],
)
def test_diagrams_stand_where_the_house_wants_them(
    wish: dict[str, Any], found: list[tuple[int, Reason]]
) -> None:
    """At the start, at sections, after rests, after so many changes."""
    assert reasons(pages(styled(**wish))) == found


def test_glissandos_and_jumps_may_do_without() -> None:
    """A glissando's setting, and the one of a second ending, are the house's choice too."""
    part = build_part(
        "D4+Eb4+F4/h E4+F4/h",
        "r/w",
        "E4+F4/w",
        *["C4/w"] * 4,
        "r/q C4/qgl< C6/qgl> r/q",
        repeat_starts=(0,),
        repeats={1: 2},
        endings={1: (1,), 2: (2,)},
    )
    plain = reasons(pages(styled(), part))
    assert {reason for _, reason in plain} >= {Reason.CAUTIONARY, Reason.GLISSANDO}
    bare = pages(styled(diagrams_at_glissandos=False, diagrams_at_jumps=False), part)
    assert reasons(bare) == [(0, Reason.START)]
    assert any(mark.mark.reason is Reason.CAUTIONARY for mark in letters_of(bare))


LONG: HarpPart = replace(
    build_part(*["F4/q G4/q A4/q B4/q", "F#4/e G4/e A4/e B4/e C5/h"] * 24, tempo=80),
    sections=(Section(5, (SectionReason.REHEARSAL,), "A"),),
)
"""Two pages and more in large staves."""


def heads(settled: SettledPart) -> list[tuple[int, Fraction]]:
    """Page and moment of the beginning of each system."""
    return [
        (line.page, line.start) for line in settled.engraved.placement.boxes.lines if line.is_system
    ]


def test_every_system_may_begin_with_a_diagram() -> None:
    """Where systems begin is known only on the engraved page; there each has its diagram."""
    settled = pages(styled(diagrams_at_systems=True, staff_size_points=24.0), LONG)
    starts = {start for _, start in heads(settled)}
    assert len(starts) >= 6
    shown = {mark.moment.time for mark in diagrams_of(settled)}
    assert starts <= shown
    for mark in diagrams_of(settled):
        if mark.mark.reason is Reason.SYSTEM:
            assert mark.moment.time in starts


@pytest.mark.parametrize("side", ["right", "left"])
def test_after_a_turn_stands_a_diagram(side: str) -> None:
    """By default, where there are more pages than lie open at once: the eye finds the setting.

    Pages 2, 4, 6 … come after a turn if page 1 lies on the right, else pages 3, 5, 7 ….
    """
    settled = pages(styled(first_page=side), long_part(3))
    first: dict[int, Fraction] = {}
    for page, start in heads(settled):
        first.setdefault(page, start)
    assert len(first) >= 3
    after = [start for page, start in first.items() if page > 1 and page % 2 == (side == "left")]
    assert after
    assert set(after) <= {mark.moment.time for mark in diagrams_of(settled)}
    assert settled.engraved.proof.failures == ()


@pytest.mark.parametrize("which", ["turns", "all"])
def test_pages_may_begin_with_a_diagram(which: str) -> None:
    """After a turn, or on every page; of two pages, which lie open, none is turned."""
    settled = pages(styled(diagrams_at_pages=which, staff_size_points=26.0), LONG)
    first: dict[int, Fraction] = {}
    for page, start in heads(settled):
        first.setdefault(page, start)
    assert len(first) >= 2
    turned = len(first) > 2
    wanted = {
        start for page, start in first.items() if which == "all" or (turned and page % 2 == 0)
    }
    assert wanted <= {mark.moment.time for mark in diagrams_of(settled)}
    found = {mark.moment.time for mark in diagrams_of(settled) if mark.mark.reason is Reason.PAGE}
    assert found == wanted - {Fraction(0)}
