"""One small score for each topic of MusicXML, all the way: planned, engraved, marked, checked.

Source of the topics: the table of contents of the unofficial MusicXML test suite (01 pitches to 99
compatibility), and the list of elements of the MusicXML 4.0 reference. The scores are our own.
"""

from __future__ import annotations

from functools import cache

import pytest
from albums import Album, engrave_album
from score_snippets import told
from topics.all_topics import TOPICS
from topics.topic import Topic
from written_back import marks_everywhere

from pedalsetter.analysis.collation import collate
from pedalsetter.analysis.marks.marking import Markings, place_marks
from pedalsetter.analysis.part import HarpPart
from pedalsetter.analysis.pedal_plan import PedalPlan
from pedalsetter.analysis.planning import plan_changes
from pedalsetter.analysis.reading import read_score
from pedalsetter.engrave.layout.music_count import count_failures
from pedalsetter.engrave.output.write_back.clearing import without_marks
from pedalsetter.engrave.output.write_back.door import write_back_score

every_topic = pytest.mark.parametrize("topic", TOPICS, ids=lambda topic: topic.id)


@cache
def planned(topic: Topic) -> tuple[HarpPart, PedalPlan, Markings]:
    """(part, plan, marks), made once for all tests."""
    part = read_score(topic.data, "topic.musicxml", topic.part)
    plan = plan_changes(part)
    return part, plan, place_marks(part, plan)


def test_there_are_more_than_a_hundred() -> None:
    """Each has a number of its own, and every family of the table of contents is there."""
    numbers = [topic.number for topic in TOPICS]
    assert len(numbers) == len(set(numbers))
    assert len(numbers) > 150
    families = "01 02 03 11 12 13 14 21 22 23 24 31 32 33 41 42 43 45 46 51 52 61 71 72 73 74 75"
    assert {number[:2] for number in numbers} == {*families.split(), "90", "99"}


@every_topic
def test_what_a_reader_sees(topic: Topic) -> None:
    """The topic's own truth, and every notice in full."""
    part = planned(topic)[0]
    assert topic.look(part) == topic.seen, topic.truth
    assert told(part) == list(topic.told)


@every_topic
def test_what_is_written_back_passes_the_check(topic: Topic) -> None:
    """``check`` finds nothing wrong in a score that carries the plan's own marks.

    Where the source has marks of its own, they stand beside the plan's and may contradict them.
    """
    part, plan, markings = planned(topic)
    assert plan.movements
    own = collate(part, plan)
    assert own.marked == bool(part.source_marks)
    written = write_back_score(topic.data, "topic.musicxml", part, markings)
    again = read_score(written.data, "topic.musicxml", topic.part)
    assert again.events == part.events
    if not part.source_marks:
        assert not [entry for entry in collate(again, plan).entries if entry.is_fault]


@every_topic
def test_marks_go_in_and_out(topic: Topic) -> None:
    """Written back and taken out again, every byte is as before; the music is untouched."""
    part, _, _ = planned(topic)
    written = write_back_score(topic.data, "topic.musicxml", part, marks_everywhere(part))
    assert written.marks
    assert without_marks(written.data, "topic.musicxml") == topic.data
    assert read_score(written.data, "topic.musicxml", topic.part).events == part.events


@pytest.fixture(scope="module")
def album() -> Album:
    """All topics engraved in one run."""
    return engrave_album([(part, marks) for part, _, marks in map(planned, TOPICS)])


@pytest.mark.engraving
def test_every_page_is_proved(album: Album) -> None:
    """Each topic is engraved, no mark touches anything or is missing; all its music is there."""
    failures = {
        topic.id: proof.failures
        for topic, proof in zip(TOPICS, album.proofs, strict=True)
        if not proof.holds
    }
    assert not failures
    lost = {
        topic.id: count_failures(planned(topic)[0], boxes)
        for topic, boxes in zip(TOPICS, album.boxes, strict=True)
    }
    assert {name: told for name, told in lost.items() if told} == {}
    assert all(proof.marks for proof in album.proofs)
    assert sum(proof.systems for proof in album.proofs) >= len(TOPICS)
    assert not album.engraving.warnings
