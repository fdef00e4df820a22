"""Large scores: the music of other parts is let go while parsing, and nothing is missed."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from large_score import HARPS, large_score
from score_snippets import bars, full_score, measure, move, note, opening, part_head, told

from pedalsetter.analysis.errors import PartError, ScoreError
from pedalsetter.analysis.part import DirectionKind, HarpPart
from pedalsetter.analysis.reading import harp_part, read_score
from pedalsetter.analysis.reading.limits import Limits
from pedalsetter.analysis.reading.part_choice import may_be_chosen
from pedalsetter.analysis.reading.thinned import parse_thinned

Read = Callable[[bytes, str | None], HarpPart]


@pytest.fixture
def in_full(monkeypatch: pytest.MonkeyPatch) -> Read:
    """Reads with every part kept."""

    def read(data: bytes, part: str | None = None) -> HarpPart:
        with monkeypatch.context() as patch:
            patch.setattr(harp_part, "may_be_chosen", lambda heads, _: {each.id for each in heads})
            return read_score(data, "score.xml", part)

    return read


def kept(data: bytes, part: str | None = None) -> list[int]:
    """Numbers of the parts of which the music is kept."""
    thinned = parse_thinned(data, "a.xml", Limits(), lambda heads: may_be_chosen(heads, part))
    numbers = range(1, 1 + len(thinned.root.findall("part")))
    assert all(
        (len(each) == 0) == (number in thinned.outlines)
        for number, each in zip(numbers, thinned.root.findall("part"), strict=True)
    )
    return [number for number in numbers if number not in thinned.outlines]


def test_only_the_harps_and_the_first_part_are_kept() -> None:
    """Of sixty parts four: the first, both harps, and the one below: it might be a lower half."""
    data = "".join(large_score(bars=2)).encode()
    first, second = HARPS
    assert kept(data) == [1, first, second, second + 1]
    assert kept(data, "Tuba") == [1, 29, 30, first, second, second + 1]


@pytest.mark.parametrize("part", ["Harp 1", "Harp 2", "1", "5", "Oboe 2"])
def test_nothing_of_the_music_is_missed(in_full: Read, part: str) -> None:
    """Notes, signs for everyone and lengths are those of the score parsed in full."""
    data = "".join(large_score(bars=70, parts=9)).encode()
    thin = read_score(data, "score.xml", part)
    assert thin == in_full(data, part)
    assert len(thin.bars) == 70
    assert [each.text for each in thin.directions if each.text.isdecimal()] == ["1", "2"]


def three(*harp: str, more: str = "") -> bytes:
    """A score whose harp is the second of four parts; the last has bars of three quarters."""
    third = bars(note("C4", 3), note("C4", 3), note("C4", 3), first=opening(beats=4))
    rests = bars(*[note("R", 4, kind="whole")] * 3)
    return full_score(
        [
            ("P1", "Flute", rests),
            ("P2", "Harp", bars(*harp)),
            ("P3", "Viola", rests),
            ("P4", "Cello", third + more),
        ]
    )


def test_an_open_bar_is_measured_by_parts_that_were_let_go(in_full: Read) -> None:
    """Where the harp has one quarter, the cello's three are the length of the bar."""
    bar_rest = '<note><rest measure="yes"/><duration>384</duration><voice>1</voice></note>'
    data = three(note("C4", 4), note("C4", 1), note("C4", 2))
    thin = read_score(data, "score.xml")
    assert kept(data) == [1, 2, 3]
    assert [bar.length for bar in thin.bars] == [4, 4, 4]
    assert thin == in_full(data)
    quiet = data.replace(
        bars(*[note("R", 4, kind="whole")] * 3).encode(),
        bars(bar_rest, bar_rest, bar_rest).encode(),
    )
    thin = read_score(quiet, "score.xml")
    assert [bar.length for bar in thin.bars] == [4, 3, 3]
    assert thin == in_full(quiet)


def test_a_silent_opening_is_as_long_as_the_upbeat_of_others(in_full: Read) -> None:
    """The harp rests in the first bar, of which the cello has three quarters."""
    bar_rest = '<note><rest measure="yes"/><duration>384</duration><voice>1</voice></note>'
    data = full_score(
        [
            ("P1", "Flute", bars(bar_rest, bar_rest)),
            ("P2", "Harp", bars(bar_rest, note("C4", 4))),
            ("P3", "Viola", bars(bar_rest, bar_rest)),
            ("P4", "Cello", bars(note("C4", 3), note("C4", 4))),
        ]
    )
    thin = read_score(data, "score.xml")
    assert kept(data) == [1, 2, 3]
    assert [bar.length for bar in thin.bars] == [3, 4]
    assert thin == in_full(data)


def test_the_lower_half_of_a_harp_is_kept(in_full: Read) -> None:
    """An unnamed staff in one brace with the harp above it is its lower staff."""
    heads = (
        part_head("P1", "Flute")
        + part_head("P2", "Viola")
        + '<part-group type="start" number="1"><group-symbol>brace</group-symbol></part-group>'
        + part_head("P3", "Harp")
        + part_head("P4", "")
        + '<part-group type="stop" number="1"/>'
    )
    parts = [(f"P{number}", "", bars(note(f"C{number}", 4))) for number in range(1, 5)]
    data = full_score(parts, part_list=heads)
    thin = read_score(data, "score.xml")
    assert [event.heads[0].pitch.octave for event in thin.events] == [3, 4]
    assert thin == in_full(data)


def test_a_list_of_parts_that_misleads(in_full: Read) -> None:
    """Four parts are listed and one has music: that one is read, whatever was let go."""
    heads = "".join(part_head(f"P{number}", "Flute") for number in range(1, 5))
    data = full_score([("P3", "", bars(note("C4", 4)))], part_list=heads)
    assert read_score(data, "score.xml").events
    # The number counts parts with music, not lines of the list.
    parts = [(f"P{number}", "", bars(note(f"C{number}", 4))) for number in (4, 3, 2)]
    data = full_score(parts, part_list=heads)
    assert read_score(data, "score.xml", "3").events[0].heads[0].pitch.octave == 2
    assert read_score(data, "score.xml", "3") == in_full(data, "3")
    with pytest.raises(PartError):
        read_score(data, "score.xml")


def test_music_before_the_list_of_parts(in_full: Read) -> None:
    """Out of order, but read like any other."""
    data = three(note("C4", 4), note("C4", 4), note("C4", 4))
    start, end = data.index(b"<part-list>"), data.index(b"</part-list>") + len(b"</part-list>")
    turned = (
        data[:start]
        + data[end:].replace(b"</score-partwise>", data[start:end])
        + (b"</score-partwise>")
    )
    assert read_score(turned, "score.xml") == in_full(turned)


def test_a_namespace_and_a_fault_in_a_part_that_is_let_go() -> None:
    """A namespace changes nothing; broken XML is told wherever it stands."""
    data = three(note("C4", 4), note("C4", 1), note("C4", 2))
    spaced = data.replace(b"<score-partwise", b'<score-partwise xmlns="http://example.org/m"', 1)
    plain = read_score(data, "score.xml")
    assert read_score(spaced, "score.xml") == plain
    with pytest.raises(ScoreError) as error:
        read_score(
            data.replace(b"</note></measure></part></score", b"</measure></part></score"), "a"
        )
    assert "the XML is broken" in str(error.value)


def test_voices_and_gaps_of_others_are_measured_too() -> None:
    """A voice that goes back and on is followed; it ends at three quarters."""
    cello = note("C4", 1) + move(-1) + note("E4", 3)
    parts = [
        ("P1", "Flute", measure(opening() + note("C4", 1))),
        ("P2", "Harp", measure(opening() + note("C4", 1))),
        ("P3", "Viola", measure(opening() + note("C4", 1))),
        ("P4", "Cello", measure(opening() + cello)),
    ]
    part = read_score(full_score(parts), "score.xml")
    assert [bar.length for bar in part.bars] == [3]
    assert not told(part)


@pytest.mark.parametrize("place", [0, 2, 3])
def test_a_rehearsal_mark_of_any_part_is_the_harps_too(in_full: Read, place: int) -> None:
    """One that stands in a kept part, in one let go, or in several, is read once, at its beat."""
    mark = "<direction><direction-type><rehearsal>K</rehearsal></direction-type></direction>"
    plain = bars(note("C4", 4), note("C4", 4))
    bodies = [plain] * 4
    bodies[place] = bars(note("C4", 4), note("C4", 2) + mark + note("C4", 2))
    names = ("Flute", "Harp", "Viola", "Cello")
    parts = [
        (f"P{n}", name, body) for n, (name, body) in enumerate(zip(names, bodies, strict=True))
    ]
    thin = read_score(full_score(parts), "score.xml")
    marks = [each for each in thin.directions if each.kind is DirectionKind.REHEARSAL]
    assert [(each.text, each.bar, each.onset) for each in marks] == [("K", 1, 6)]
    assert thin == in_full(full_score(parts))
    first = [parts[1], parts[0], *parts[2:]]
    assert DirectionKind.REHEARSAL in {
        each.kind for each in read_score(full_score(first), "score.xml").directions
    }
