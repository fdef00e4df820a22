"""The reading score: the harp among the other parts, with findings as flags and in a list.

Every staff is at the pitch that sounds. Pedal marks stand above the harp's upper staff; numbered
flags stand in the right margin beside the system that they concern, and under the music stands
what each of them means.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from pedalsetter.analysis.ensemble.full_score import FullScore, Player
from pedalsetter.analysis.marks.marking import Markings
from pedalsetter.analysis.naming.wording import short_name
from pedalsetter.analysis.part import HarpPart, Notice
from pedalsetter.analysis.pedal_plan import Finding
from pedalsetter.engrave.house_style import HouseStyle
from pedalsetter.engrave.layout.adjustments import Adjustments
from pedalsetter.engrave.layout.hidden_staves import as_shown
from pedalsetter.engrave.layout.lanes import build_lanes
from pedalsetter.engrave.layout.placement import place
from pedalsetter.engrave.layout.proof import LayoutProof, prove
from pedalsetter.engrave.layout.remedies import adjust, first_adjustments
from pedalsetter.engrave.notation import engraver_score
from pedalsetter.engrave.notation.escaping import quoted
from pedalsetter.engrave.notation.lane import Lane
from pedalsetter.engrave.notation.mark_row import build_mark_row
from pedalsetter.engrave.notation.score import build_score
from pedalsetter.engrave.notation.streams import staff_name
from pedalsetter.engrave.notation.string_names import name_marks, string_events
from pedalsetter.engrave.notation.timeline import BarUnit, grace_skips
from pedalsetter.engrave.output.pages.engraver import engrave
from pedalsetter.engrave.output.pages.lilypond import LilypondDocument
from pedalsetter.engrave.output.pages.page import (
    VERSION,
    header_block,
    paper_block,
    rows_block,
    score_block,
    stylesheet,
)
from pedalsetter.engrave.output.pages.paper_size import between_margins
from pedalsetter.engrave.output.pages.press import MOST_ENGRAVINGS, with_music
from pedalsetter.engrave.output.pictures.picture import EngravedPicture
from pedalsetter.engrave.output.reports.report import PROPOSAL

__all__ = ["ReadingScore", "engrave_reading_score", "reading_source"]


@dataclass(frozen=True, slots=True)
class ReadingScore:
    """An engraved reading score."""

    picture: EngravedPicture
    proof: LayoutProof
    """That no pedal mark touches anything and that all music is there, measured on the pages."""
    notices: tuple[Notice, ...]
    """What was read or could be engraved only in part."""


_STAFF_SIZES = ((4, 16.0), (7, 14.0))
"""So many staves at most, and their size in points; more are as small as a score may be."""
_SMALLEST = 12.0

_FLAG_MARGIN_MM = 17.0
"""Least margin on the right, where the flags stand."""

_NUMBERING = ("Bar_number_engraver", "Staff_collecting_engraver")
"""The stylesheet has taken the bar numbers from the score and gives them to the upper staff."""

_FLAGS = r"""%% A numbered flag in the right margin; several of one system stand below
%% one another, and many become one, as in 4–20.
#(define flags:most 3)

#(define (flags:number grob)
   (string->number (assq-ref (ly:grob-property grob 'output-attributes '()) 'id)))

#(define (flags:of-system grob)
   (let ((system (ly:grob-system grob)))
     (sort (filter-map
            (lambda (other)
              (and (equal? "flag" (assq-ref (ly:grob-property other 'output-attributes '()) 'class))
                   (eq? (ly:grob-system other) system)
                   (flags:number other)))
            (ly:grob-array->list (ly:grob-object (ly:grob-parent grob Y) 'elements)))
           <)))

#(define (flags:told numbers)
   (let loop ((rest (cdr numbers)) (from (car numbers)) (to (car numbers)) (said '()))
     (if (and (pair? rest) (= (car rest) (1+ to)))
         (loop (cdr rest) from (car rest) said)
         (let ((all (cons (if (= from to) (number->string from) (format #f "~a–~a" from to)) said)))
           (if (pair? rest)
               (loop (cdr rest) (car rest) (car rest) all)
               (string-join (reverse all) ", "))))))

#(define (flags:markup text)
   (make-override-markup '(box-padding . 0.35)
    (make-box-markup (make-sans-markup (make-bold-markup text)))))

#(define (flags:to-margin grob)
   (let* ((system (ly:grob-system grob))
          (numbers (flags:of-system grob))
          (many (> (length numbers) flags:most))
          (above (if many 0 (list-index (lambda (one) (= one (flags:number grob))) numbers)))
          (end (ly:grob-relative-coordinate (ly:spanner-bound system RIGHT) system X))
          (here (ly:grob-relative-coordinate grob system X)))
     (if many
         (ly:grob-set-property!
          grob 'stencil
          (and (= (flags:number grob) (car numbers))
               (grob-interpret-markup grob (flags:markup (flags:told numbers))))))
     (ly:grob-set-property! grob 'extra-offset (cons (- (+ end 1.2) here) (* -2.7 above)))))

findingFlag =
#(define-event-function (number) (string?)
   #{ \tweak X-extent #'(0 . 0)
      \tweak Y-extent #'(0 . 0)
      \tweak extra-spacing-width #'(+inf.0 . -inf.0)
      \tweak vertical-skylines ##f
      \tweak horizontal-skylines ##f
      \tweak outside-staff-priority ##f
      \tweak output-attributes #`((id . ,number) (class . "flag"))
      \tweak after-line-breaking #flags:to-margin
      ^\markup #(flags:markup number) #})
"""

_MARGINS = r"""\paper {
  indent = %g\mm
  short-indent = %g\mm
  score-markup-spacing = #'((basic-distance . 0) (minimum-distance . 0) (padding . 4))
  markup-markup-spacing = #'((basic-distance . 0) (minimum-distance . 0) (padding . 1.2))
}
"""


def engrave_reading_score(
    score: FullScore,
    markings: Markings,
    style: HouseStyle,
    findings: Sequence[Finding] = (),
    *,
    hide_empty: bool = False,
) -> ReadingScore:
    """Engrave a score with the harp's marks and its ``findings``, numbered from 1.

    ``hide_empty`` leaves out the staves of other parts in systems in which they rest; the first
    system shows all. Where a mark touches something, the score is engraved again with remedies, as
    a part is.

    Raises:
        EngravingError: LilyPond is missing or failed.
    """
    part, small = score.part, _small(style, score)
    adjustments = _first(score, small)
    for _ in range(MOST_ENGRAVINGS):
        source = reading_source(
            score, markings, style, findings, adjustments, hide_empty=hide_empty
        )
        engraving = engrave(source.text, svg=True)
        placement = place(source.marks, engraving.boxes)
        proof = prove(part, placement)
        wanted = adjust(part, small, placement, proof, adjustments)
        if wanted is None:
            break
        adjustments = wanted
    if hide_empty:
        seen, boxes = as_shown(part, engraving.boxes, _hideable(score))
        proof, _ = with_music(seen, source.text, replace(engraving, boxes=boxes), proof)
    else:
        proof, _ = with_music(part, source.text, engraving, proof)
    picture = EngravedPicture(source.text, engraving.pdf, engraving.svg)
    return ReadingScore(picture, proof, (*part.warnings, *source.warnings))


def _hideable(score: FullScore) -> frozenset[int]:
    """The staves that may be hidden, from 1: those of other players who have one staff."""
    others = (player for player in score.players if not player.harp)
    return frozenset(player.first for player in others if player.staves == 1)


def _first(score: FullScore, style: HouseStyle) -> Adjustments:
    """With what the first engraving begins: the list of findings fills the last page, no music."""
    return replace(
        first_adjustments(score.part, style),
        ragged_last_page=True,
        free_turns=False,
        harp_staves=score.harp.staves,
    )


def reading_source(
    score: FullScore,
    markings: Markings,
    style: HouseStyle,
    findings: Sequence[Finding] = (),
    adjustments: Adjustments | None = None,
    *,
    hide_empty: bool = False,
) -> LilypondDocument:
    """LilyPond source of the reading score, whole in one file.

    ``adjustments`` are what an earlier engraving has shown to be needed.
    """
    score = _at_usual_octaves(score)
    part, style = score.part, _small(style, score)
    chosen = _first(score, style) if adjustments is None else adjustments
    # No rests are gathered, for another part plays in those bars.
    units = tuple(BarUnit(b.index, b.index, b.start, b.length, False) for b in part.bars)
    graces = grace_skips(part)
    lanes = build_lanes(part, markings, style, units, graces, chosen)
    strings = name_marks(markings, style)
    notated = build_score(
        part,
        units,
        string_names=string_events(strings, style, chosen.room, chosen.named_in_row),
        remedied=chosen.music,
    )
    flags = Lane(part)
    for number, finding in enumerate(findings, start=1):
        flags.sign(finding.place.bar, finding.place.offset, f'\\findingFlag "{number}"')
    alone = len(score.players) == 1
    engraver_score.add_engravers(engraver_score.first_staff(notated.staves), _NUMBERING)
    staves = engraver_score.source(notated.staves)
    if not alone:
        rows = tuple(rows_block(style, tuple(lanes.rows), side) for side in ("above", "below"))
        staves = _grouped(staves, score, rows, hide_empty=hide_empty)
    music = {
        **{f"rowOf{row.value}": _block(text) for row, text in lanes.rows.items()},
        "marksAbove": engraver_score.source(build_mark_row(part, units)),
        "flags": engraver_score.source(
            engraver_score.context("MarkRow", "marks", flags.bars(units, graces))
        ),
        "timeAndBarlines": engraver_score.source(notated.timing),
        "scoreStaves": staves,
    }
    named = part if alone else replace(part, part_name="Score in C")
    indent, later = (
        0.0 if alone else min(34.0, 5 + 0.1 * style.staff_size_points * max(map(len, names)))
        for names in (
            [player.name for player in score.players],
            [short_name(player.name) for player in score.players],
        )
    )
    proposal = f"\\smaller \\italic {quoted(PROPOSAL)}"
    pieces = [
        f'\\version "{VERSION}"\n\\language "{engraver_score.LANGUAGE}"',
        stylesheet(),
        _FLAGS,
        paper_block(
            style,
            ragged_last_page=chosen.ragged_last_page,
            head_room=chosen.head_room,
            foot_room=chosen.foot_room,
        ),
        _MARGINS % (indent, later),
        _header(named, style, proposal="" if findings else proposal),
        *(f"{name} = {text.strip()}" for name, text in music.items()),
        _layout(score_block(style, tuple(lanes.rows) if alone else ())),
        *_list(part, findings, between_margins(style)[0] - 6.0),
        *([f"\\markup {proposal}"] if findings else []),
    ]
    text = "\n\n".join(pieces) + "\n"
    return LilypondDocument(text, {**lanes.marks, **strings}, tuple(notated.warnings))


def _at_usual_octaves(score: FullScore) -> FullScore:
    """The score with instruments such as the double bass in the octave in which they are read."""
    shifts = {
        staff: player.octaves
        for player in score.players
        for staff in range(player.first, player.first + player.staves)
        if player.octaves
    }
    if not shifts:
        return score
    events = tuple(
        replace(
            event,
            heads=tuple(
                replace(head, pitch=replace(head.pitch, octave=head.pitch.octave + shift))
                for head in event.heads
            ),
        )
        if (shift := shifts.get(event.staff, 0))
        else event
        for event in score.part.events
    )
    return replace(score, part=replace(score.part, events=events))


def _small(style: HouseStyle, score: FullScore) -> HouseStyle:
    """The style with staves so small that a system fits its page, and room for marks and flags."""
    fitting = next((size for most, size in _STAFF_SIZES if score.part.staves <= most), _SMALLEST)
    return replace(
        style,
        staff_size_points=min(style.staff_size_points, fitting),
        margin_right_mm=max(style.margin_right_mm, _FLAG_MARGIN_MM),
        diagram_place="above",
        letter_place="above",
    )


def _header(part: HarpPart, style: HouseStyle, *, proposal: str) -> str:
    """The titles; where no list of findings follows, the last page says ``proposal`` at its foot.

    Under the music it could be all that a page holds.
    """
    block = header_block(part, style)
    if not proposal:
        return block
    return block.replace("tagline = ##f", f"tagline = \\markup {proposal}")


def _layout(block: str) -> str:
    """The score block of a part with the flags, and with all staves in the place of the harp's."""
    block = block.replace("    \\marksAbove\n", "    \\marksAbove\n    \\flags\n", 1)
    return block.replace("\\harpStaves\n", "\\scoreStaves\n", 1)


def _block(lines: str) -> str:
    inner = "\n".join(f"  {line}" for line in lines.splitlines())
    return f"{{\n{inner}\n}}"


def _grouped(source: str, score: FullScore, rows: tuple[str, ...], *, hide_empty: bool) -> str:
    """The staves of one context, told apart by players: brackets, the harp's brace, names.

    ``rows`` are the harp's rows of marks above and below.
    """
    staves = score.part.staves
    heads = [f'    \\context Staff = "{staff_name(n, staves)}"' for n in range(1, staves + 1)]
    body = source[source.index("<<\n") + 3 : source.rindex(">>")]
    starts = [re.search(rf"^{re.escape(head)}$", body, re.MULTILINE) for head in heads]
    edges = [found.start() for found in starts if found] + [len(body)]
    chunks = [body[begin:end] for begin, end in pairwise(edges)]
    # What stands before the first staff (distances for beams between the harp's) goes with it.
    groups = [
        _group(player, chunks, rows, hide_empty=hide_empty and player.first in _hideable(score))
        for player in score.players
    ]
    return "<<\n" + _bracketed(score.players, groups) + ">>"


def _group(
    player: Player, chunks: Sequence[str], rows: tuple[str, ...], *, hide_empty: bool
) -> str:
    own = "".join(chunks[player.first - 1 : player.first - 1 + player.staves])
    kind = "PianoStaff" if player.staves > 1 or player.harp else "Staff"
    name = quoted(player.name)
    names = (
        f"      \\set {kind}.instrumentName = {name}\n"
        f"      \\set {kind}.shortInstrumentName = {quoted(short_name(player.name))}\n"
    )
    if hide_empty:
        names += "      \\override Staff.VerticalAxisGroup.remove-empty = ##t\n"
    if kind == "Staff":
        head, opening, rest = own.partition("<<\n")
        return f"{head}{opening}{names}{rest}"
    above, below = rows if player.harp else ("", "")
    return f"{above}    \\new PianoStaff\n    <<\n{names}{own}    >>\n{below}"


def _bracketed(players: Sequence[Player], groups: Sequence[str]) -> str:
    """Neighbours of one staff stand in one bracket; the harp stands by itself."""
    written = ""
    run: list[str] = []
    for player, group in [*zip(players, groups, strict=True), (None, "")]:
        if player is not None and player.staves == 1 and not player.harp:
            run.append(group)
            continue
        if run:
            joined = "".join(run)
            written += f"  \\new StaffGroup\n  <<\n{joined}  >>\n" if len(run) > 1 else joined
            run = []
        written += group
    return written


def _list(part: HarpPart, findings: Sequence[Finding], width: float) -> list[str]:
    """What the flags mean, one markup each, so that pages can break between them.

    ``width`` is that of the text in staff spaces.
    """
    written = []
    for number, finding in enumerate(findings, start=1):
        mend = finding.mends[0].what if finding.mends else finding.mend
        text = f"{finding.severity.value}, {finding.where(part)}: {finding.what} {mend}"
        written.append(
            "\\markup \\line { \\pad-to-box #'(0 . 4.5) #'(0 . 1) "
            f'\\override #\'(box-padding . 0.35) \\box \\sans \\bold "{number}" '
            f"\\override #'(line-width . {width:.1f}) "
            f"\\column {{ \\wordwrap-string {quoted(text.strip())} }} }}"
        )
    return written
