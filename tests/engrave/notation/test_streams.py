"""From the source's voices to streams that LilyPond can tie and slur."""

from __future__ import annotations

from fractions import Fraction

from small_parts import line, small_part

from pedalsetter.analysis.part import HarpPart
from pedalsetter.engrave.notation.sheet import Notices
from pedalsetter.engrave.notation.slurs import pair_slurs
from pedalsetter.engrave.notation.streams import make_streams
from pedalsetter.engrave.notation.threading import follow_links


def named(part: HarpPart) -> dict[str, list[str]]:
    """Pitches of each stream by its name."""
    streams = make_streams(part)
    follow_links(streams, pair_slurs(part.events, Notices(part)))
    return {
        stream.name: [str(head.pitch) for event in stream.events for head in event.heads]
        for stream in streams
    }


def test_a_voice_is_a_stream() -> None:
    """Voices of one staff are named from the highest down."""
    part = small_part(line("C4/1", voice="2"), line("G5/1", voice="1"))
    assert named(part) == {"upper one": ["G5"], "upper two": ["C4"]}


def test_a_crossing_voice_lives_where_it_is_most() -> None:
    """A left hand that visits the upper staff stays one stream."""
    part = small_part(
        line("C3/4 G3/4", staff=2, voice="5"),
        line("E5/4", at=2, staff=1, voice="5"),
        line("C3/4", at=3, staff=2, voice="5"),
        staves=2,
    )
    assert named(part) == {"lower one": ["C3", "G3", "E5", "C3"]}


def test_one_name_for_two_voices() -> None:
    """A source that calls the voice of either staff 1 has two voices, not one."""
    part = small_part(line("C5/1"), line("C3/1", staff=2), staves=2)
    assert named(part) == {"upper one": ["C5"], "lower one": ["C3"]}


def test_overlap_opens_another_stream() -> None:
    """What sounds over a note of its own voice needs a stream of its own."""
    part = small_part(line("C5/1"), line("E5/4", at=2))
    assert sorted(map(tuple, named(part).values())) == [("C5",), ("E5",)]


def test_streams_follow_a_tie() -> None:
    """Voices that the source exchanges at a barline are exchanged back."""
    part = small_part(
        line("C5/1", voice="1", heads={(0, 0): {"tie_start": True}}),
        line("E4/1", voice="2"),
        line("C5/1", voice="2", bar=1, at=4, heads={(0, 0): {"tie_stop": True}}),
        line("F4/1", voice="1", bar=1, at=4),
        bars=2,
    )
    assert sorted(named(part).values()) == [["C5", "C5"], ["E4", "F4"]]


def test_every_event_stays_in_one_stream() -> None:
    """No event is lost or doubled by following links."""
    part = small_part(
        *(
            line("C5/8 D5/8 E5/4 F5/2", voice=str(voice), bar=bar, at=Fraction(4 * bar))
            for voice in (1, 2, 3)
            for bar in range(3)
        ),
        bars=3,
    )
    streams = make_streams(part)
    follow_links(streams, pair_slurs(part.events, Notices(part)))
    ids = [event.id for stream in streams for event in stream.events]
    assert sorted(ids) == sorted(event.id for event in part.events)
    for stream in streams:
        for one, other in zip(stream.events, stream.events[1:], strict=False):
            assert one.end <= other.onset
