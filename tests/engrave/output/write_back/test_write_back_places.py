"""Where in a bar a mark is written, so that whoever reads the document puts it right."""

from __future__ import annotations

import re
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from score_snippets import bars, full_score, measure, move, note, opening, score
from written_back import (
    diagram_at,
    expected_marks,
    letters_at,
    markings,
    marks_everywhere,
    marks_read_back,
    place,
    without_inserted,
)

from pedalsetter.analysis.errors import ScoreError
from pedalsetter.analysis.marks.marking import ChangeMark, Diagram
from pedalsetter.analysis.reading import read_score
from pedalsetter.engrave.output.write_back.door import write_back_score

_TOKEN = re.compile(
    r"<note.*?</note>|<direction.*?</direction>|<(backup|forward|barline).*?</\1>", re.DOTALL
)


def sequence(data: bytes, bar: int = 0) -> list[str]:
    """What stands in a bar in the order of the document: ``C5``, ``backup``, ``[F♯+2]`` …

    A mark is shown in brackets, with its offset in divisions if it has one.
    """
    body = re.findall(r"<measure(?: [^>]*?)?(?:/>|>.*?</measure>)", data.decode(), re.DOTALL)[bar]
    shown = []
    for match in _TOKEN.finditer(body):
        text = match[0]
        if text.startswith("<direction"):
            words = re.search(r"<words[^>]*>([^<]*)", text)
            offset = re.search(r"<offset>([^<]*)", text)
            name = words[1].replace("\n", " ") if words else "diagram"
            shown.append(f"[{name}{'+' + offset[1] if offset else ''}]")
        elif text.startswith("<note"):
            step, octave = re.search("<step>(.)", text), re.search("<octave>(.)", text)
            shown.append(f"{step[1]}{octave[1]}" if step and octave else "rest")
        else:
            shown.append(match[1])
    return shown


def marked(data: bytes, *marks: Diagram | ChangeMark) -> bytes:
    """The document with marks; they are read back where they belong, and cut out again."""
    part = read_score(data, "bar.musicxml")
    wanted = markings(*marks)
    result = write_back_score(data, "bar.musicxml", part, wanted)
    again = read_score(result.data, "bar.musicxml")

    assert result.notices == ()
    assert marks_read_back(again) == expected_marks(part, wanted)
    assert without_inserted(result.data) == data
    assert (again.events, again.bars) == (part.events, part.bars)
    return result.data


TWO_STAVES = opening(staves=2)


def upper(name: str, quarters: object, **more: object) -> str:
    """A note of the upper staff."""
    return note(name, quarters, staff=1, **more)  # type: ignore[arg-type]


def lower(name: str, quarters: object, **more: object) -> str:
    """A note of the lower staff."""
    return note(name, quarters, staff=2, voice=5, **more)  # type: ignore[arg-type]


def test_a_mark_stands_directly_before_its_note() -> None:
    """Readers that know no offset see the mark at the right note."""
    data = score(bars(upper("C5", 1) + upper("D5", 1) + upper("E5", 2)))
    result = marked(data, diagram_at(place(0)), letters_at(place(0, 1), "F♯", "C♮"))

    assert sequence(result) == ["[diagram]", "C5", "[F♯ C♮]", "D5", "E5"]
    assert "<voice>1</voice></direction>" in result.decode()


def test_the_upper_staff_is_preferred_then_the_lower() -> None:
    """A mark goes before a note of its own staff; with none there, before one of the other.

    It keeps the number of its own staff, and no voice of the other.
    """
    data = score(
        bars(
            upper("C5", 2) + upper("E5", 2) + move(-4) + lower("C3", 1) * 2 + lower("G3", 2),
            first=TWO_STAVES,
        )
    )
    result = marked(
        data,
        letters_at(place(0, 1), "A♭"),
        letters_at(place(0, 2), "B♭"),
    )

    assert sequence(result) == ["C5", "[B♭]", "E5", "backup", "C3", "[A♭]", "C3", "G3"]
    assert '<words font-style="normal">A♭</words></direction-type><staff>1</staff>' in (
        result.decode()
    )


def test_never_inside_a_chord() -> None:
    """The notes of a chord stay together."""
    data = score(bars(upper("C5", 4) + upper("E5", 4, chord=True) + upper("G5", 4, chord=True)))
    result = marked(data, letters_at(place(0), "E♭"), letters_at(place(0, 2), "D♭"))

    assert sequence(result) == ["[E♭]", "[D♭+192]", "C5", "E5", "G5"]


def test_between_notes_a_mark_has_an_offset() -> None:
    """Where nothing is struck, the mark counts on from the last note of its staff."""
    data = score(bars(upper("C5", 4) + move(-4) + lower("R", 1) + lower("C3", 3), first=TWO_STAVES))
    result = marked(data, letters_at(place(0, 1), "A♭"), letters_at(place(0, 3), "G♯"))

    assert sequence(result) == ["[G♯+288]", "C5", "backup", "rest", "[A♭]", "C3"]


def test_a_gap_in_a_voice_offers_a_place() -> None:
    """``<forward>`` begins where a voice is silent, and a mark may stand there."""
    data = score(
        bars(
            upper("C5", 1) + move(3) + move(-4) + lower("C3", 4),
            first=TWO_STAVES,
        )
    )
    result = marked(data, letters_at(place(0, 1), "A♭"), letters_at(place(0, 2), "G♯"))

    assert sequence(result)[:5] == ["[G♯+192]", "C5", "[A♭]", "forward", "backup"]


def test_a_voice_that_begins_late() -> None:
    """At the barline itself the cursor stands before the gap."""
    data = score(bars(move(2) + upper("C5", 2)))
    result = marked(data, diagram_at(place(0)), letters_at(place(0, 2), "B♭"))

    assert sequence(result) == ["[diagram]", "forward", "[B♭]", "C5"]


def test_grace_notes() -> None:
    """A mark stands before the very grace note that needs it, or after all of them."""
    graces = upper("D5", 0, grace="") + upper("E5", 0, grace="") + upper("F5", 0, grace="")
    data = score(bars(upper("C5", 2) + graces + upper("G5", 2)))
    result = marked(
        data,
        letters_at(place(0, 2, -3), "D♯"),
        letters_at(place(0, 2, -1), "F♯"),
        letters_at(place(0, 2), "G♭"),
    )

    assert sequence(result) == ["C5", "[D♯]", "D5", "E5", "[F♯]", "F5", "[G♭]", "G5"]


def test_a_mark_before_the_grace_notes_of_the_other_staff() -> None:
    """With no grace note above, the main note above is nearest."""
    data = score(
        bars(
            upper("C5", 4)
            + move(-4)
            + lower("D3", 0, grace="")
            + lower("E3", 0, grace="")
            + lower("C3", 4),
            first=TWO_STAVES,
        )
    )
    result = marked(data, diagram_at(place(0, 0, -2)))

    assert sequence(result) == ["[diagram]", "C5", "backup", "D3", "E3", "C3"]


def test_after_notes_keep_their_mark() -> None:
    """Grace notes that close a trill stand at the end of their note, before the next."""
    after = upper("D5", 0, grace="steal-time-previous='50'")
    data = score(bars(upper("C5", 2) + after + upper("E5", 2), upper("C5", 4) + after))
    result = marked(
        data,
        letters_at(place(0, 2, -1), "D♭"),
        letters_at(place(1, 4, -1), "D♯"),
    )

    assert sequence(result) == ["C5", "[D♭]", "D5", "E5"]
    assert sequence(result, 1) == ["C5", "[D♯]", "D5"]


def test_bars_of_rest() -> None:
    """In gathered rests a mark stands before the rest, or counts on from it."""
    rest = '<note><rest measure="yes"/><duration>384</duration></note>'
    style = (
        "<attributes><measure-style><multiple-rest>3</multiple-rest></measure-style></attributes>"
    )
    data = score(bars(style + rest, rest, rest, upper("C5", 4)))
    result = marked(data, diagram_at(place(1)), letters_at(place(2, 3), "B♭"))

    assert sequence(result, 1) == ["[diagram]", "rest"]
    assert sequence(result, 2) == ["[B♭+288]", "rest"]


def test_a_pickup_and_a_split_bar() -> None:
    """Offsets count from the barline of the bar as it is written, however short it is."""
    data = score(
        measure(opening() + upper("C5", 1), 0, 'implicit="yes"')
        + measure(upper("C5", 3), 1)
        + measure(upper("D5", 1), "X1", 'implicit="yes"')
        + measure(upper("C5", 4), 2)
    )
    result = marked(
        data,
        diagram_at(place(0)),
        letters_at(place(1, 2), "A♭"),
        letters_at(place(2), "E♭"),
    )

    assert sequence(result) == ["[diagram]", "C5"]
    assert sequence(result, 1) == ["[A♭+192]", "C5"]
    assert sequence(result, 2) == ["[E♭]", "D5"]


def test_an_empty_bar_and_barlines() -> None:
    """A bar without notes has its mark before the right barline."""
    barline = '<barline location="right"><bar-style>light-light</bar-style></barline>'
    left = '<barline location="left"><repeat direction="forward"/></barline>'
    data = score(bars(upper("C5", 4), "", left + barline, left + upper("C5", 4) + barline, "\n  "))
    result = marked(
        data,
        letters_at(place(1), "A♭"),
        letters_at(place(2), "B♭"),
        letters_at(place(2, 1), "D♭"),
        letters_at(place(3), "E♭"),
        letters_at(place(4), "F♯"),
    )

    assert sequence(result, 1) == ["[A♭]"]
    assert sequence(result, 2) == ["barline", "[B♭]", "[D♭+96]", "barline"]
    assert sequence(result, 3) == ["barline", "[E♭]", "C5", "barline"]
    assert sequence(result, 4) == ["[F♯]"]


def test_empty_tags_side_by_side() -> None:
    """Bars that are one empty tag each, with nothing between them, take marks of their own."""
    data = score(bars(upper("C5", 4)) + '<measure number="2"/><measure number="3" /><measure/>')
    result = marked(
        data,
        letters_at(place(1), "A♭"),
        letters_at(place(1, 2), "D♭"),
        letters_at(place(3), "B♭"),
    )

    assert [sequence(result, bar) for bar in (1, 2, 3)] == [["[A♭]", "[D♭+192]"], [], ["[B♭]"]]
    assert b'<measure number="3" /><measure><direction' in result


def test_divisions_change_in_mid_bar() -> None:
    """An offset is counted in the divisions that hold where it is written."""
    finer = "<attributes><divisions>192</divisions></attributes>"
    long = upper("D5", 2).replace("<duration>192", "<duration>384")
    data = score(bars(upper("C5", 2) + finer + long, upper("E5", 4)))
    result = marked(data, letters_at(place(0, 1), "A♭"), letters_at(place(0, 3), "B♭"))

    assert sequence(result) == ["[A♭+96]", "C5", "[B♭+192]", "D5"]


def coarse(divisions: int, duration: int) -> bytes:
    """A bar of 6/8 with one long note."""
    return score(
        measure(
            f"<attributes><divisions>{divisions}</divisions><time><beats>6</beats>"
            "<beat-type>8</beat-type></time></attributes><note><pitch><step>C</step>"
            f"<octave>5</octave></pitch><duration>{duration}</duration><voice>1</voice></note>"
        )
    )


def test_a_half_division_is_written_as_a_decimal() -> None:
    """Source: MusicXML 4.0, type ``divisions`` of ``offset``: a decimal number."""
    result = marked(coarse(1, 3), letters_at(place(0, "3/2"), "A♭"))

    assert sequence(result) == ["[A♭+1.5]", "C5"]


def test_a_place_that_no_division_reaches_is_told() -> None:
    """A third of a division is no decimal: the nearest division is taken, and a notice says so."""
    data = coarse(1, 3)
    part = read_score(data, "coarse.musicxml")
    result = write_back_score(
        data, "coarse.musicxml", part, markings(letters_at(place(0, "4/3"), "A♭"))
    )
    again = read_score(result.data, "coarse.musicxml")

    assert sequence(result.data) == ["[A♭+1]", "C5"]
    assert [str(notice) for notice in result.notices] == [
        "bar 1, beat 3+2/3, staff 1: the divisions of the source are too coarse for the place of "
        "a mark; it was put at the nearest one"
    ]
    assert again.source_marks[0].onset == 1


@pytest.mark.parametrize("voices", [1, 2, 4])
def test_many_voices_of_unlike_rhythm(voices: int) -> None:
    """Every place of every voice takes its mark, and every reader of ours finds it there."""
    body = ""
    for voice in range(1, voices + 1):
        count = (4, 6, 3, 8)[voice - 1]
        length = Fraction(4, count)
        one = note("C5", length, voice=voice, staff=1 + voice % 2, kind="quarter")
        body += one * count + move(-4)
    data = score(bars(body + lower("C3", 4), body + lower("C3", 4), first=TWO_STAVES))
    part = read_score(data, "voices.musicxml")
    marks = marks_everywhere(part)
    result = write_back_score(data, "voices.musicxml", part, marks)

    assert result.marks == len(marks.diagrams) + len(marks.changes) + len(marks.strings) >= 8
    assert result.notices == ()
    assert without_inserted(result.data) == data
    assert marks_read_back(read_score(result.data, "v.musicxml")) == expected_marks(part, marks)


def test_notes_with_identities_of_the_source() -> None:
    """Notes are found by their own ``id``, and by their place where that is not unique."""
    data = score(
        bars(
            upper("C5", 1, attributes='id="a"')
            + upper("D5", 1, attributes='id="twice"')
            + upper("E5", 1, attributes='id="twice"')
            + upper("F5", 1, attributes='id="P1-m1-n1"')
        )
    )
    result = marked(data, *(letters_at(place(0, beat), "B♭") for beat in range(4)))

    assert sequence(result) == ["[B♭]", "C5", "[B♭]", "D5", "[B♭]", "E5", "[B♭]", "F5"]


def test_a_bar_that_a_repeat_sign_divides() -> None:
    """A repeat inside a measure makes two bars of it; marks of both go to their own notes."""
    repeat = '<barline location="middle"><repeat direction="backward"/></barline>'
    rest = (
        '<note><rest measure="yes"/><duration>384</duration><voice>5</voice><staff>2</staff></note>'
    )
    data = score(
        bars(
            upper("C5", 4) + move(-4) + rest,
            upper("D5", 1) * 2 + repeat + upper("E5", 2) + move(-4) + rest,
            upper("F5", 4) + move(-4) + rest,
            first=TWO_STAVES,
        )
    )
    part = read_score(data, "split.musicxml")
    result = marked(
        data,
        letters_at(place(1, 1), "D♭"),
        letters_at(place(2), "E♭"),
        letters_at(place(2, 1), "A♭"),
        letters_at(place(3), "F♯"),
    )

    assert [bar.length for bar in part.bars] == [4, 2, 2, 4]
    assert sequence(result, 1)[:8] == [
        "D5",
        "[D♭]",
        "D5",
        "barline",
        "[E♭]",
        "[A♭+96]",
        "E5",
        "backup",
    ]
    assert sequence(result, 2)[:2] == ["[F♯]", "F5"]


VOICES = st.lists(
    st.lists(
        st.tuples(
            st.sampled_from(["1", "1/2", "3/2", "1/3", "2/3", "1/4", "2", "3"]),
            st.sampled_from(["note", "note", "rest", "gap", "chord", "graces"]),
        ),
        max_size=5,
    ),
    min_size=1,
    max_size=4,
)


def voice_of(number: int, content: list[tuple[str, str]]) -> tuple[str, Fraction]:
    """(elements, length in quarters) of one voice; odd ones stand on the upper staff."""
    body, length = "", Fraction(0)
    where: dict[str, object] = {"voice": number, "staff": 2 - number % 2, "kind": "quarter"}
    for quarters, kind in content:
        length += Fraction(quarters)
        if kind == "gap":
            body += move(quarters)
            continue
        if kind == "graces":
            body += note("A4", 0, grace="", **where) + note("B4", 0, grace="", **where)  # type: ignore[arg-type]
        body += note("R" if kind == "rest" else "C5", quarters, **where)  # type: ignore[arg-type]
        if kind == "chord":
            body += note("E5", quarters, chord=True, **where)  # type: ignore[arg-type]
    return body, length


@settings(max_examples=60, deadline=None, derandomize=True)
@given(st.lists(VOICES, min_size=1, max_size=3))
def test_whatever_stands_in_a_bar(contents: list[list[list[tuple[str, str]]]]) -> None:
    """Bars of any voices, gaps, chords and grace notes: every mark is found at its place again."""
    written = []
    for voices in contents:
        body = ""
        for number, content in enumerate(voices, 1):
            elements, length = voice_of(number, content)
            body += elements + (move(-length) if length else "")
        written.append(body)
    data = score(bars(*written, first=TWO_STAVES))
    part = read_score(data, "any.musicxml")
    marks = marks_everywhere(part)
    result = write_back_score(data, "any.musicxml", part, marks)
    again = read_score(result.data, "any.musicxml")

    assert without_inserted(result.data) == data
    assert (again.events, again.bars) == (part.events, part.bars)
    assert marks_read_back(again) == expected_marks(part, marks)
    assert write_back_score(result.data, "any.musicxml", again, marks).data == result.data


def test_marks_of_a_longer_score_are_refused() -> None:
    """Marks for a bar that the part does not have were made for another score."""
    data = score(bars(upper("C5", 4)))
    part = read_score(data, "short.musicxml")

    with pytest.raises(ScoreError) as caught:
        write_back_score(data, "short.musicxml", part, markings(diagram_at(place(7))))
    assert str(caught.value) == (
        "short.musicxml: the score is not the one that the marks were made for"
    )


def test_bars_that_only_the_lower_half_has_are_told() -> None:
    """Marks go into the upper of two parts; a bar that it lacks can take none."""
    data = full_score(
        [
            ("P1", "Harp RH", bars(upper("C5", 4))),
            ("P2", "Harp LH", bars(upper("C3", 4), upper("C3", 4))),
        ]
    )
    part = read_score(data, "halves.musicxml")
    result = write_back_score(
        data, "halves.musicxml", part, markings(diagram_at(place(0)), diagram_at(place(1)))
    )

    assert result.marks == 1
    assert [str(notice) for notice in result.notices] == [
        "bar 2, beat 1, staff 1: the upper part has no such bar; its marks were left out"
    ]
