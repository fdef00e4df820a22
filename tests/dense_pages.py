"""Dense harp pages for tests of layout: hand-made LilyPond staves with marks in lanes above them.

The staves are plain LilyPond text, so that layout is measured without the part of the project
that sets notes. Everything that likes to stand above a staff is here: ledger lines, 8va, trills,
slurs, tuplets, words, arpeggios, several voices, grace notes, tempo and rehearsal marks, endings.
"""

from __future__ import annotations

import random
from dataclasses import dataclass, replace
from fractions import Fraction

from pedalsetter.analysis.instrument.harp import LETTERS, Foot, Letter, Position, Setting
from pedalsetter.analysis.marks.marking import ChangeMark, Diagram, Markings, Reason
from pedalsetter.analysis.part import Bar, HarpPart, Place, Source, TimeSignature
from pedalsetter.analysis.pedal_plan import Change
from pedalsetter.engrave.house_style import HouseStyle, load_house_style
from pedalsetter.engrave.layout.adjustments import AS_ENGRAVED, Adjustments
from pedalsetter.engrave.layout.lanes import build_lanes
from pedalsetter.engrave.layout.placement import Placement, place
from pedalsetter.engrave.layout.proof import LayoutProof, prove
from pedalsetter.engrave.layout.remedies import adjust
from pedalsetter.engrave.notation.timeline import BarUnit
from pedalsetter.engrave.output.pages.engraver import Engraving, engrave
from pedalsetter.engrave.output.pages.page import paper_block, rows_block, score_block, stylesheet
from pedalsetter.engrave.output.pages.press import MOST_ENGRAVINGS

FOUR_FOUR = TimeSignature((((4,), 4),))


@dataclass(frozen=True)
class EngravedPages:
    """A page that was engraved, and what was measured on it."""

    part: HarpPart
    markings: Markings
    source: str
    engraving: Engraving
    placement: Placement
    proof: LayoutProof


def empty_part(bars: int, time: TimeSignature = FOUR_FOUR) -> HarpPart:
    """A part of so many bars without a note in it: enough for lanes, which look at bars alone."""
    return HarpPart(
        source=Source("test.ly", "test"),
        title="",
        composer="",
        part_name="Harp",
        staves=2,
        bars=tuple(
            Bar(index, str(index + 1), index * time.length, time.length, time)
            for index in range(bars)
        ),
        events=(),
    )


def single_units(part: HarpPart) -> tuple[BarUnit, ...]:
    """Every bar for itself."""
    return tuple(BarUnit(bar.index, bar.index, bar.start, bar.length, False) for bar in part.bars)


def change(letter: str, new: Position, place_of: Place, foot: Foot | None = None) -> Change:
    """A change of a pedal, of which layout needs letter, new position, foot and place."""
    pedal = Letter(letter)
    old = Position.NATURAL if new is not Position.NATURAL else Position.SHARP
    return Change(
        pedal, old, new, foot or pedal.foot, place_of, place_of, (), None, None, None, "wanted"
    )


def change_mark(bar: int, offset: Fraction | int, *pedals: str) -> ChangeMark:
    """The letters of one place, as in ``change_mark(0, 2, "F♯", "C♮")``: right foot first."""
    where = Place(bar, Fraction(offset))
    return ChangeMark(
        where,
        tuple(change(pedal[0], Position("♭♮♯".index(pedal[1]) - 1), where) for pedal in pedals),
    )


def diagram(bar: int, offset: Fraction | int, pattern: str, changed: str = "") -> Diagram:
    """A diagram, as in ``diagram(0, 0, "bsn|ssnb", "CF")`` with the C and F pedals ringed."""
    return Diagram(
        Place(bar, Fraction(offset)),
        Setting.parse_pattern(pattern),
        tuple(Letter(letter) for letter in changed),
        Reason.SECTION,
    )


def page_source(
    upper: str,
    lower: str,
    part: HarpPart,
    markings: Markings,
    *,
    marks_above: str = "",
    style: HouseStyle | None = None,
    graces: dict[tuple[int, Fraction], Fraction] | None = None,
    adjustments: Adjustments = AS_ENGRAVED,
) -> str:
    """A whole LilyPond file around two staves of LilyPond text and the lanes of ``markings``."""
    chosen = style or load_house_style()
    lanes = build_lanes(part, markings, chosen, single_units(part), graces or {}, adjustments)
    return "\n".join(
        [
            '\\version "2.24.0"',
            stylesheet(),
            paper_block(
                chosen,
                ragged_last_page=adjustments.ragged_last_page,
                least_systems=adjustments.least_systems,
                dense=adjustments.dense_pages,
                free_turns=adjustments.free_turns,
            ),
            "\\header { tagline = ##f }",
            f"marksAbove = \\new MarkRow {{ {marks_above} }}",
            f"timeAndBarlines = \\new TimingLane {{ s1*{sum(b.length for b in part.bars) / 4} }}",
            *(f"rowOf{row.value} = {{ {lane}\n}}" for row, lane in lanes.rows.items()),
            "harpStaves = \\new PianoStaff <<",
            '  \\new Staff = "upper" \\with { \\consists Bar_number_engraver',
            f"    \\consists Staff_collecting_engraver }} {{ {upper} }}",
            rows_block(chosen, tuple(lanes.rows), "between"),
            f'  \\new Staff = "lower" {{ \\clef bass {lower} }}',
            ">>",
            score_block(chosen, tuple(lanes.rows)),
        ]
    )


def engrave_page(
    upper: str,
    lower: str,
    part: HarpPart,
    markings: Markings,
    *,
    marks_above: str = "",
    style: HouseStyle | None = None,
    graces: dict[tuple[int, Fraction], Fraction] | None = None,
    adjustments: Adjustments = AS_ENGRAVED,
) -> EngravedPages:
    """Engrave such a file and measure it."""
    chosen = style or load_house_style()
    source = page_source(
        upper,
        lower,
        part,
        markings,
        marks_above=marks_above,
        style=chosen,
        graces=graces,
        adjustments=adjustments,
    )
    engraving = engrave(source)
    marks = build_lanes(part, markings, chosen, single_units(part), graces or {}, adjustments).marks
    placement = place(marks, engraving.boxes)
    return EngravedPages(part, markings, source, engraving, placement, prove(part, placement))


@dataclass(frozen=True)
class DensePage:
    """Staves, marks and grace times of a page made by chance."""

    upper: str
    lower: str
    marks_above: str
    part: HarpPart
    markings: Markings
    graces: dict[tuple[int, Fraction], Fraction]


def dense_page(seed: int, bars: int = 24, *, crossing: bool = False) -> DensePage:
    """A page of 4/4 bars that is fuller than any part should be; the seed decides all of it.

    With ``crossing`` beams run from staff to staff as well.
    """
    chance = random.Random(seed)  # noqa: S311
    part = empty_part(bars)
    graces: dict[tuple[int, Fraction], Fraction] = {}
    for bar in range(1, bars):
        if chance.random() < 0.25:
            graces[bar, Fraction(0)] = Fraction(1)
    return DensePage(
        " ".join(
            _upper_bar(chance, bar, (bar, Fraction(0)) in graces, crossing) for bar in range(bars)
        ),
        " ".join(_lower_bar(chance, (bar, Fraction(0)) in graces) for bar in range(bars)),
        " ".join(_row_bar(chance, bar, (bar, Fraction(0)) in graces) for bar in range(bars)),
        part,
        _marks(chance, bars),
        graces,
    )


_HIGH = (
    "c''",
    "g''",
    "d'''",
    "a'''",
    "c''''",
    "f''''",
    "b''''",
    "c'''''",
    "e'",
    "a",
    "f",
    "cis'''",
)


def _upper_bar(chance: random.Random, bar: int, grace: bool, crossing: bool) -> str:
    opening = "\\grace { d'''16 e''' f''' g''' } " if grace else ""
    kind = chance.randrange(8)

    def high() -> str:
        return chance.choice(_HIGH)

    if kind == 0:
        body = " ".join(f"{high()}16" for _ in range(16))
    elif kind == 1:
        body = f"{high()}4\\trill \\tuplet 3/2 {{ {high()}8( {high()} {high()}) }} " + (
            f"<{high()} c''>4->\\arpeggio {high()}4\\fermata"
        )
    elif kind == 2:
        body = "\\ottava 1 c''''8 d'''' e'''' f'''' g''''2 \\ottava 0"
    elif kind == 3:
        body = (
            f"<< {{ {high()}4^\"près de la table\" {high()} {high()}2 }} \\\\ {{ e'4 f' g' a' }} >>"
        )
    elif kind == 4:
        body = f'{high()}2 {high()}4^\\markup \\bold "dolcissimo" {high()}8 {high()}'
    elif kind == 5:
        body = f"\\repeat tremolo 8 {{ {high()}32 {high()}32 }} {high()}2\\turn"
    elif kind == 6 and crossing:
        body = (
            f'{high()}4\\glissando {high()}4 \\stemUp {high()}8[ \\change Staff = "lower" c8 '
            f'\\change Staff = "upper" {high()}8 {high()}8] \\stemNeutral'
        )
    else:
        body = f"{high()}1^\\flageolet"
    return f"{opening}{body} | % {bar + 1}\n"


def _lower_bar(chance: random.Random, grace: bool) -> str:
    opening = "\\grace s4 " if grace else ""
    return opening + chance.choice(
        (
            "c,4 g, e c | ",
            "<c, c>2\\arpeggio <g, d>2 | ",
            "c16 e g c' e' c' g e c e g c' e' c' g e | ",
            'c,,1_"8" | ',
        )
    )


def _row_bar(chance: random.Random, bar: int, grace: bool) -> str:
    opening = "\\grace s4 " if grace else ""
    if chance.random() < 0.12:
        return f'{opening}\\mark \\default \\tempo "Allegro agitato" 4 = {60 + bar} s1 | '
    if chance.random() < 0.1:
        return f'{opening}s2 \\tempo "rit." s2 | '
    return f"{opening}s1 | "


def _marks(chance: random.Random, bars: int) -> Markings:
    diagrams = []
    letters = []
    for bar in range(bars):
        places = {Fraction(chance.randrange(16), 4) for _ in range(chance.randrange(6))}
        for offset in sorted(places):
            if bar == 0 and offset == 0:
                continue
            if chance.random() < 0.25:
                changed = "".join(letter.value for letter in LETTERS if chance.random() < 0.4)
                signs = "".join(chance.choice("bns") for _ in range(7))
                diagrams.append(diagram(bar, offset, signs, changed))
            else:
                right = [f"{chance.choice('EFGA')}{chance.choice('♭♮♯')}"]
                left = [f"{chance.choice('DCB')}{chance.choice('♭♮♯')}"]
                pedals = chance.choice((right, left, right + left))
                letters.append(change_mark(bar, offset, *pedals))
    return Markings((diagram(0, 0, "nnn|nnnn"), *diagrams), tuple(letters))


PAPERS = ("a4", "letter", "b4")
STAFF_SIZES = (16.0, 18.0, 20.0)
PLACES = ("above", "between", "below")


def varied_style(seed: int) -> HouseStyle:
    """A house style whose paper, staff size and place of marks go round in turn with the seed."""
    return replace(
        load_house_style(),
        paper_size=PAPERS[seed % 3],
        staff_size_points=STAFF_SIZES[seed // 3 % 3],
        diagram_place=PLACES[seed // 9 % 3],
        letter_place=PLACES[seed // 9 % 3],
    )


RAGGED = Adjustments(ragged_last_page=True)


def varied_page(seed: int) -> DensePage:
    """A dense part of 24 bars; with an odd seed beams run from staff to staff."""
    return dense_page(seed, crossing=seed % 2 == 1)


def engraved_until_well(
    dense: DensePage, style: HouseStyle, first: Adjustments = RAGGED
) -> list[EngravedPages]:
    """Every engraving of a part until nothing is wanted any more, at most four."""
    adjustments: Adjustments | None = first
    pages: list[EngravedPages] = []
    while adjustments is not None and len(pages) < MOST_ENGRAVINGS:
        page = engrave_page(
            dense.upper,
            dense.lower,
            dense.part,
            dense.markings,
            marks_above=dense.marks_above,
            graces=dense.graces,
            style=style,
            adjustments=adjustments,
        )
        pages.append(page)
        adjustments = adjust(dense.part, style, page.placement, page.proof, adjustments)
    return pages
