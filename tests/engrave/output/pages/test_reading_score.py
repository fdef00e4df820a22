"""The reading score: all staves, marks at the harp, flags in the margin, what they mean below."""

from __future__ import annotations

import re
from dataclasses import replace
from fractions import Fraction
from functools import cache

import pypdfium2 as pdfium
import pytest
from example_scores import CHROMATIC_STUDY, ORCHESTRAL_NOCTURNE, Example
from lxml import etree
from strings_moved import on_other_strings

from pedalsetter.analysis.ensemble.full_score import FullScore, joined, read_full_score
from pedalsetter.analysis.marks.string_marks import string_marks
from pedalsetter.engrave.house_style import load_house_style
from pedalsetter.engrave.layout.adjustments import Adjustments
from pedalsetter.engrave.layout.geometry import Count
from pedalsetter.engrave.output.pages import reading_score as engraving_of_scores
from pedalsetter.engrave.output.pages.engraver import Engraving, engrave
from pedalsetter.engrave.output.pages.reading_score import (
    ReadingScore,
    engrave_reading_score,
    reading_source,
)
from pedalsetter.engrave.output.reports.plan_document import findings_that_matter
from pedalsetter.engrave.output.results import PlannedScore
from pedalsetter.engrave.road import plan_score

STYLE = load_house_style("final-part")


@cache
def read(example: Example) -> tuple[PlannedScore, FullScore]:
    """An example planned, and its whole score."""
    planned = plan_score(example.path)
    return planned, read_full_score(example.path, planned.part)


@cache
def engraved(example: Example) -> ReadingScore:
    """Its reading score with the findings that matter."""
    planned, score = read(example)
    findings = findings_that_matter(planned.plan.findings)
    return engrave_reading_score(score, planned.markings, STYLE, findings)


def words(pdf: bytes) -> list[str]:
    """The text of each page as a reader of the PDF finds it."""
    document = pdfium.PdfDocument(pdf)
    return [page.get_textpage().get_text_range() for page in document]


@pytest.mark.engraving
@pytest.mark.parametrize("example", [CHROMATIC_STUDY, ORCHESTRAL_NOCTURNE], ids=lambda e: e.file)
def test_no_mark_touches_anything(example: Example) -> None:
    """Every mark of the plan is on the page and stands free, among twelve staves too."""
    planned, _ = read(example)
    proof = engraved(example).proof

    assert proof.failures == ()
    assert proof.marks == sum(
        map(len, (planned.markings.diagrams, planned.markings.changes, planned.markings.strings))
    )


@pytest.mark.engraving
def test_the_music_of_all_staves_is_counted(monkeypatch: pytest.MonkeyPatch) -> None:
    """A head that is not on the page is named with its page, bar and staff; here all are lost."""

    def losing(source: str, **options: bool) -> Engraving:
        done = engrave(source, **options)  # type: ignore[arg-type]
        kept = tuple(count for count in done.boxes.counts if count.kind != "NoteHead")
        return replace(done, boxes=replace(done.boxes, counts=kept))

    monkeypatch.setattr(engraving_of_scores, "engrave", losing)
    planned, score = read(CHROMATIC_STUDY)
    proof = engrave_reading_score(score, planned.markings, STYLE).proof
    assert proof.failures[0].startswith("page 1, bar 1, upper staff: 0 of ")
    assert proof.failures[0].endswith("heads printed")


@pytest.mark.engraving
def test_every_player_is_named_and_no_rest_is_gathered() -> None:
    """Each part's name stands before its staff; all forty bars are there for all."""
    _, score = read(ORCHESTRAL_NOCTURNE)
    text = "\n".join(words(engraved(ORCHESTRAL_NOCTURNE).picture.pdf))

    for player in score.players:
        assert player.name.replace("♭", "").strip() in text.replace("♭", "")
    source = engraved(ORCHESTRAL_NOCTURNE).picture.source
    assert "R1*" not in source
    assert source.count("| % 40") >= 12


@pytest.mark.engraving
def test_findings_are_listed_under_the_music_with_their_numbers() -> None:
    """On the last page each number stands before its place and its sentence."""
    planned, _ = read(CHROMATIC_STUDY)
    findings = findings_that_matter(planned.plan.findings)
    source = engraved(CHROMATIC_STUDY).picture.source

    assert len(findings) > 10
    flags = re.findall(r'\\findingFlag "(\d+)"', source.split("scoreStaves =")[0])
    assert sorted(map(int, flags)) == list(range(1, len(findings) + 1))
    listed = source[source.index("\\score {") :]
    for number, finding in enumerate(findings, 1):
        place = planned.part.told_place(finding.place)
        assert f'\\bold "{number}"' in listed
        assert f"{finding.severity.value}, {place}: " in listed
    last = words(engraved(CHROMATIC_STUDY).picture.pdf)[-1]
    assert "the harpist decides" in last


@pytest.mark.engraving
def test_flags_stand_in_the_right_margin() -> None:
    """Read from the PDF: downwards, the numbers stand right of the music, each once, in order.

    Many at one system are one flag, as in 4–20.
    """
    planned, _ = read(CHROMATIC_STUDY)
    count = len(findings_that_matter(planned.plan.findings))
    figures = []
    document = pdfium.PdfDocument(engraved(CHROMATIC_STUDY).picture.pdf)
    for number, page in enumerate(document):
        text = page.get_textpage()
        margin = page.get_width() - 17.0 / 25.4 * 72
        for index in range(text.count_chars()):
            left, bottom, right, _ = text.get_charbox(index)
            if left > margin and re.match(r"[\d–]", text.get_text_range(index, 1)):
                down = bottom - 1000 * number
                figures.append((down, left, text.get_text_range(index, 1)))
                assert right < page.get_width() - 8
    numbers: list[list[tuple[float, str]]] = []
    line = 1e9
    for bottom, left, figure in sorted(figures, reverse=True):
        if line - bottom > 3:
            numbers.append([])
        line = bottom
        numbers[-1].append((left, figure))
    told = ["".join(figure for _, figure in sorted(number)) for number in numbers]
    assert any("–" in one for one in told)
    ends = [[int(end) for end in one.split("–")] for one in told]
    assert [number for one in ends for number in range(one[0], one[-1] + 1)] == [
        *range(1, count + 1)
    ]


def test_the_marks_stand_above_the_harp() -> None:
    """The rows of diagrams and letters come right before the harp's brace, after five staves."""
    planned, score = read(ORCHESTRAL_NOCTURNE)
    source = reading_source(score, planned.markings, STYLE).text
    staves = source[source.index("scoreStaves =") :]
    order = [
        staves.index(what)
        for what in ('"staff 5"', "\\rowOfDiagrams", "\\rowOfLetters", "PianoStaff", '"staff 6"')
    ]

    assert order == sorted(order)
    assert staves.count("\\new StaffGroup") == 2


@pytest.mark.engraving
def test_names_of_strings_have_rows_by_the_harp_among_other_staves() -> None:
    """Over the harp's upper staff and under its lower one, wherever these stand in the score."""
    planned, score = read(ORCHESTRAL_NOCTURNE)
    harp = score.harp
    assert 1 < harp.first < score.part.staves - 1
    marks = string_marks(planned.part, on_other_strings(planned.plan))
    upper = next(mark for mark in marks if mark.staff == 1)
    lower = next(mark for mark in marks if mark.staff == 2)
    chosen = Adjustments(named_in_row=frozenset({"s1", "s2"}), harp_staves=harp.staves)
    markings = replace(planned.markings, strings=(upper, lower))
    source = reading_source(score, markings, STYLE, (), chosen)
    boxes = engrave(source.text).boxes
    named = {box.name: box for box in boxes.marks if box.name in ("s1", "s2")}
    assert named["s1"].ink.bottom < named["s2"].ink.top
    order = [
        source.text.index(what)
        for what in (
            r"\rowOfDiagrams",
            r"\rowOfUpperNames",
            f'Staff = "staff {harp.first}"',
            f'Staff = "staff {harp.first + 1}"',
            r"\rowOfLowerNames",
            f'Staff = "staff {harp.first + 2}"',
        )
    ]
    assert order == sorted(order)


def test_a_name_is_text() -> None:
    """A part named with LilyPond's own signs is printed, not run."""
    planned, _ = read(ORCHESTRAL_NOCTURNE)
    evil = 'Flute" #(exit 3) \\new Staff {'
    flute = read_full_score(ORCHESTRAL_NOCTURNE.path, planned.part, ["Flute"]).part
    other = replace(planned.part, part_name=evil, source=replace(flute.source, part_number=9))
    score = joined(planned.part, [other])
    source = reading_source(score, planned.markings, STYLE).text

    assert '"Flute\\" #(exit 3) \\\\new Staff {"' in source


def test_the_double_bass_is_read_an_octave_above_its_sound() -> None:
    """In a score in C too; a part that sounds as written stays, and so does the harp.

    Held against the notes as the file writes them, whose <transpose> changes the octave alone.
    """
    _, score = read(ORCHESTRAL_NOCTURNE)
    octaves = {player.name: player.octaves for player in score.players}
    assert octaves["Double Bass"] == 1
    assert {octaves[name] for name in ("Harp", "Cello", "Clarinet in B♭", "Horn in F")} == {0}
    root = etree.parse(ORCHESTRAL_NOCTURNE.path).getroot()
    listed = [one.findtext("part-name") for one in root.iter("score-part")]
    written = root.findall("part")[listed.index("Double Bass")]
    first = next(note for note in written.iter("note") if note.find("pitch") is not None)
    planned, _ = read(ORCHESTRAL_NOCTURNE)
    source = reading_source(score, planned.markings, STYLE).text
    staff = source[source.index('"staff 12"') :]
    # LilyPond's c' is the middle C, C4; abjad writes the octave behind the name.
    octave = int(first.findtext("pitch/octave") or 0)
    name = (first.findtext("pitch/step") or "").casefold()
    found = re.search(r"\b([a-g])(?:ff|ss|[fs])?(,*)('*)\d", staff)
    assert found is not None
    assert (found[1], 3 + len(found[3]) - len(found[2])) == (name, octave)


@pytest.mark.engraving
def test_staves_that_rest_are_hidden_if_that_is_wanted() -> None:
    """In later systems some short names are missing, never the harp's; else all are there."""
    planned, score = read(ORCHESTRAL_NOCTURNE)
    hidden = engrave_reading_score(score, planned.markings, STYLE, hide_empty=True)
    counts = {}
    for name, pdf in (
        ("all", engraved(ORCHESTRAL_NOCTURNE).picture.pdf),
        ("some", hidden.picture.pdf),
    ):
        text = " ".join(words(pdf)).split()
        counts[name] = {short: text.count(short) for short in ("Hp.", "Ob.", "Vla.")}
    assert len(set(counts["all"].values())) == 1
    assert counts["some"]["Ob."] < counts["some"]["Hp."]
    assert hidden.proof.failures == ()
    # no page holds the sentence at the end alone
    last = words(hidden.picture.pdf)[-1]
    assert "Hp." in last
    assert "the harpist decides" in last


@pytest.mark.engraving
def test_music_is_counted_where_staves_are_hidden(monkeypatch: pytest.MonkeyPatch) -> None:
    """A head lost in a system without some staves is named with its own staff of the score."""
    lost: list[tuple[Count, Fraction, Fraction]] = []

    def losing(source: str, **options: bool) -> Engraving:
        done = engrave(source, **options)  # type: ignore[arg-type]
        heads = [count for count in done.boxes.counts if count.kind == "NoteHead" and count.staff]
        staves = {(head.page, head.line): 0 for head in heads}
        for head in heads:
            staves[head.page, head.line] = max(staves[head.page, head.line], head.staff)
        fewest = min(staves, key=lambda line: (staves[line], line))
        system = [head for head in heads if (head.page, head.line) == fewest]
        last = max(system, key=lambda head: (head.staff, head.moment))
        lost.append((last, min(head.moment for head in system), max(h.moment for h in system)))
        kept = tuple(count for count in done.boxes.counts if count is not last)
        return replace(done, boxes=replace(done.boxes, counts=kept))

    monkeypatch.setattr(engraving_of_scores, "engrave", losing)
    planned, score = read(ORCHESTRAL_NOCTURNE)
    proof = engrave_reading_score(score, planned.markings, STYLE, hide_empty=True).proof
    head, first, last = lost[-1]
    events = [each for each in score.part.events if each.heads and first <= each.onset <= last]
    staff = max(each.staff for each in events)
    assert staff > head.staff
    (failure,) = proof.failures
    assert f", staff {staff}: " in failure
    assert failure.endswith("printed")
