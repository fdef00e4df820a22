"""The critical report of an edition: what the source prints, what the edition prints, and why.

Markdown for the notes of an edition, and one self-contained HTML page with the engraved system
beside each entry. Everything that comes from a score is escaped.
"""

from __future__ import annotations

import base64
import html
import io
from collections.abc import Sequence
from itertools import groupby

from PIL import Image, ImageDraw, ImageFont

from pedalsetter.analysis.collation import is_pedalled
from pedalsetter.analysis.editing import Edition
from pedalsetter.analysis.editing.source_policy import SourceMarks
from pedalsetter.analysis.findings import effect_told
from pedalsetter.analysis.marks.string_marks import StringMark
from pedalsetter.analysis.part import HarpPart, Place
from pedalsetter.analysis.pedal_plan import Severity
from pedalsetter.engrave.house_style import HouseStyle
from pedalsetter.engrave.layout.geometry import Box, Line
from pedalsetter.engrave.layout.placement import Placement
from pedalsetter.engrave.output.pages.raster import as_png
from pedalsetter.engrave.output.reports.critical_notes import CriticalNote, critical_notes
from pedalsetter.engrave.output.reports.respelled_lines import respelled_lines

__all__ = ["critical_html", "critical_markdown"]

HEADINGS = ("No.", "Bar", "Beat", "Source", "Edition", "Reason")


def critical_markdown(part: HarpPart, edition: Edition, style: HouseStyle | None = None) -> str:
    """The report as Markdown, ready for an edition's notes; ends with a newline.

    ``style`` is that of the page, whose names of pedals the report then has.
    """
    notes = critical_notes(part, edition, style)
    lines = [
        f"# {_plain(_title(part))}",
        "",
        *(_plain(each) for each in _introduction(part, edition)),
    ]
    lines.append("")
    if notes:
        lines += [f"| {' | '.join(HEADINGS)} |", f"|{' --- |' * len(HEADINGS)}"]
        lines += [f"| {' | '.join(_plain(cell) for cell in _cells(note))} |" for note in notes]
    else:
        lines.append("The source needs no comment.")
    if part.doubtful_words:
        lines += ["", "## Doubtful words", ""]
        lines += [f"* {_plain(each)}" for each in _doubts(part)]
    otherwise = _on_other_strings(part, edition)
    if otherwise:
        lines += ["", f"## {_OTHERWISE}", ""]
        lines += [f"* {_plain(each)}" for each in otherwise]
    hard = _hard(part, edition)
    if hard:
        lines += ["", f"## {_HARD}", ""]
        for what, mends in hard:
            lines += [f"* {_plain(what)}", *(f"    * {_plain(mend)}" for mend in mends)]
    return "\n".join(lines) + "\n"


def critical_html(
    part: HarpPart,
    edition: Edition,
    pages: Sequence[bytes] = (),
    placement: Placement | None = None,
    style: HouseStyle | None = None,
) -> str:
    """The report as one HTML page that needs nothing else.

    ``pages`` are the engraved pages as PNG and ``placement`` tells where their systems stand; each
    system stands once beside the entries that belong to it, the entries' numbers at their marks.
    Without them the table stands alone.
    """
    notes = critical_notes(part, edition, style)
    pictures = None if placement is None or not pages else _Pictures(part, pages, placement)
    rows = []
    systems = groupby(notes, key=lambda note: None if pictures is None else pictures.line(note))
    for line, group in systems:
        members = list(group)
        for number, note in enumerate(members):
            cells = "".join(f"<td>{html.escape(cell)}</td>" for cell in _cells(note))
            picture = ""
            if pictures is not None and number == 0:
                picture = (
                    f'<td class="system" rowspan="{len(members)}">'
                    f"{pictures.image(line, members)}</td>"
                )
            rows.append(f'<tr id="n{note.number}">{cells}{picture}</tr>')
    head = "".join(f'<th scope="col">{heading}</th>' for heading in HEADINGS)
    if pictures is not None:
        head += '<th scope="col">Engraving</th>'
    body = "".join(f"<p>{html.escape(each)}</p>\n" for each in _introduction(part, edition))
    if rows:
        body += (
            f"<table>\n<thead><tr>{head}</tr></thead>\n<tbody>\n"
            + "\n".join(rows)
            + "\n</tbody>\n</table>\n"
        )
    else:
        body += "<p>The source needs no comment.</p>\n"
    if part.doubtful_words:
        items = "".join(f"<li>{html.escape(each)}</li>" for each in _doubts(part))
        body += f"<h2>Doubtful words</h2>\n<ul>{items}</ul>\n"
    otherwise = _on_other_strings(part, edition)
    if otherwise:
        items = "".join(f"<li>{html.escape(each)}</li>" for each in otherwise)
        body += f"<h2>{_OTHERWISE}</h2>\n<ul>{items}</ul>\n"
    hard = _hard(part, edition)
    if hard:
        items = "".join(
            f"<li>{html.escape(what)}"
            + (
                f"<ul>{''.join(f'<li>{html.escape(mend)}</li>' for mend in mends)}</ul>"
                if mends
                else ""
            )
            + "</li>\n"
            for what, mends in hard
        )
        body += f"<h2>{_HARD}</h2>\n<ul>\n{items}</ul>\n"
    title = html.escape(_title(part))
    return (
        '<!DOCTYPE html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
        f'<meta name="viewport" content="width=device-width">\n<title>{title}</title>\n'
        f"<style>{_STYLE}</style>\n</head>\n<body>\n<h1>{title}</h1>\n{body}</body>\n</html>\n"
    )


_STYLE = """
body { font-family: Georgia, 'Times New Roman', serif; margin: 2em auto; max-width: 110em;
  padding: 0 1.5em; color: #222; line-height: 1.4; }
h1 { font-weight: normal; border-bottom: 1px solid #999; padding-bottom: .3em; }
table { border-collapse: collapse; width: 100%; }
th { text-align: left; font-weight: normal; font-style: italic; border-bottom: 2px solid #555; }
th, td { padding: .45em .7em; vertical-align: top; }
td { border-bottom: 1px solid #ccc; }
td:nth-child(-n+3) { white-space: nowrap; }
td.system { width: 46%; }
td.system img { width: 100%; height: auto; display: block; }
td.system p { color: #777; margin: 0; }
@media print { tr { break-inside: avoid; } body { margin: 0; max-width: none; } }
"""


def _title(part: HarpPart) -> str:
    return f"Critical report: {part.title or part.source.file}"


_POLICY = {
    SourceMarks.KEEP: "The marks of the source stand as they are; nothing was added to them.",
    SourceMarks.COMPLETE: "The marks of the source stand; what stands in brackets was added by the "
    "editor.",
    SourceMarks.REPLACE: "The edition has its own marks instead of those of the source.",
}


def _introduction(part: HarpPart, edition: Edition) -> list[str]:
    made = f"{part.composer}: {part.title}" if part.composer and part.title else part.title
    lines = [f"Source: {part.source.file}{f' ({made})' if made else ''}, {part.part_name}."]
    if part.source_language:
        lines.append(f"The pedal letters of the source are in {part.source_language}.")
    policy = _POLICY[edition.mode]
    if not is_pedalled(part):
        policy = "The source has no pedal marks of its own but for glissandi."
    lines += [policy, "The marks are a proposal; the harpist decides."]
    return lines


def _cells(note: CriticalNote) -> tuple[str, ...]:
    return (
        str(note.number),
        note.bar,
        note.beat,
        note.source or "–",
        note.edition,
        note.reason,
    )


def _doubts(part: HarpPart) -> list[str]:
    found = []
    for doubt in part.doubtful_words:
        place = part.place_of(doubt)
        words = " ".join(doubt.text.split())
        where = f"Bar {part.printed_bar(doubt.bar)}, beat {part.printed_beat(place)}"
        found.append(f"{where}: “{words}”. {doubt.why}")
    return found


_OTHERWISE = "Notes on other strings than the written ones"


def _on_other_strings(part: HarpPart, edition: Edition) -> list[str]:
    """A sentence for each place where the player plucks another string than the written one."""
    lines = sorted(respelled_lines(part, edition.plan), key=lambda line: line[0])
    return [f"{told[0].upper()}{told[1:]}" for _, told in lines]


_HARD = "What cannot be played, or is hard"


def _hard(part: HarpPart, edition: Edition) -> list[tuple[str, list[str]]]:
    """Findings other than remarks, each with the mends that were tried and help."""
    return [
        (
            f"{finding.severity.value.capitalize()}, {finding.where(part)}: {finding.what}",
            [f"{mend.what.rstrip('.')} ({effect_told(mend)})." for mend in finding.mends],
        )
        for finding in edition.plan.findings
        if finding.severity is not Severity.REMARK
    ]


def _plain(text: str) -> str:
    """Text that Markdown prints as it is."""
    one_line = " ".join(text.split())
    escaped = "".join(f"\\{sign}" if sign in r"\`*_{}[]<>#|!" else sign for sign in one_line)
    return escaped.replace("&", "&amp;")


_ROOM_SPACES = 3.0


class _Pictures:
    """Systems cut out of the engraved pages."""

    def __init__(self, part: HarpPart, pages: Sequence[bytes], placement: Placement) -> None:
        self.part = part
        self.boxes = placement.boxes
        self.marks = placement.marks
        self.sizes = {page.number: page for page in self.boxes.pages}
        self.pages = pages

    def line(self, note: CriticalNote) -> Line | None:
        """The system that shows a note's place."""
        return self.boxes.system_at(self.part.onset_of(note.place))

    def image(self, line: Line | None, notes: Sequence[CriticalNote]) -> str:
        """The system as an ``<img>`` that holds its picture, the notes' numbers above it."""
        numbers = ", ".join(str(note.number) for note in notes)
        if line is None or line.page > len(self.pages):
            return "<p>The place stands on no page.</p>"
        with Image.open(io.BytesIO(self.pages[line.page - 1])) as opened:
            page = opened.convert("L")
        scale = page.width / self.sizes[line.page].width
        system = 1 + sum(
            other.is_system and other.page == line.page and other.line < line.line
            for other in self.boxes.lines
        )
        inside = [
            mark.box for mark in self.marks if (mark.page, mark.system) == (line.page, system)
        ]
        top = min([line.box.top, *(box.top for box in inside)]) - 0.5
        bottom = line.box.bottom + 0.5
        left = min([line.box.left, *(box.left for box in inside)]) - 1.5
        right = max([line.box.right, *(box.right for box in inside)]) + 1.5
        cut = page.crop(
            (
                max(0, round(left * scale)),
                max(0, round(top * scale)),
                min(page.width, round(right * scale)),
                round(bottom * scale),
            )
        )
        # Room above for the numbers, without the foot of the system before.
        room = round(_ROOM_SPACES * scale)
        picture = Image.new("L", (cut.width, cut.height + room), 255)
        picture.paste(cut, (0, room))
        self._number(picture, notes, line, (max(left, 0), top - _ROOM_SPACES), scale)
        data = base64.b64encode(as_png(picture, None)).decode("ascii")
        text = f"Page {line.page}, the system with {_of(notes)} {numbers}"
        return (
            f'<img alt="{html.escape(text, quote=True)}" width="{picture.width}" '
            f'height="{picture.height}" src="data:image/png;base64,{data}">'
        )

    def _box(self, note: CriticalNote, line: Line) -> Box | None:
        """Around all marks that are printed at a note's place."""
        boxes = [
            mark.box
            for mark in self.marks
            if mark.mark.place == note.mark_place
            and mark.page == line.page
            and not isinstance(mark.mark, StringMark)
        ]
        if not boxes:
            return None
        return Box(
            min(box.left for box in boxes),
            min(box.top for box in boxes),
            max(box.right for box in boxes),
            max(box.bottom for box in boxes),
        )

    def _number(
        self,
        picture: Image.Image,
        notes: Sequence[CriticalNote],
        line: Line,
        corner: tuple[float, float],
        scale: float,
    ) -> None:
        """Frame the marks of the notes; their numbers stand in the room above, with a line down.

        So no number stands on a tempo mark, a rehearsal mark or another number. ``corner`` is where
        the picture's left upper corner stands on the page.
        """
        left, top = corner
        drawing = ImageDraw.Draw(picture)
        font = ImageFont.load_default(size=max(8.0, 2.4 * scale))
        at_marks: dict[Place, list[CriticalNote]] = {}
        for note in notes:
            at_marks.setdefault(note.mark_place, []).append(note)
        framed = [(self._box(same[0], line), same) for same in at_marks.values()]
        free = 0.0
        for box, same in sorted(
            ((box, same) for box, same in framed if box is not None), key=lambda one: one[0].left
        ):
            numbers = ", ".join(str(note.number) for note in same)
            frame = (
                (box.left - left - 0.6) * scale,
                (box.top - top - 0.6) * scale,
                (box.right - left + 0.6) * scale,
                (box.bottom - top + 0.6) * scale,
            )
            across = max(frame[0], free)
            below = (_ROOM_SPACES - 0.3) * scale
            drawing.line([(across, below), (frame[0], frame[1])], fill=150)
            drawing.rectangle(frame, outline=40, width=max(1, round(0.15 * scale)))
            drawing.text((across, below), numbers, fill=40, font=font, anchor="ls")
            free = across + drawing.textlength(numbers, font=font) + 0.8 * scale


def _of(notes: Sequence[CriticalNote]) -> str:
    return "note" if len(notes) == 1 else "notes"
