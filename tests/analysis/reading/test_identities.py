"""Names lead back to the elements that were read."""

from __future__ import annotations

from pathlib import Path

import music21
from lxml import etree
from score_snippets import bars, note, score, words

from pedalsetter.analysis.reading import read_part, read_score
from pedalsetter.analysis.reading.identities import Identities, elements_by_identity


def elements(data: bytes) -> dict[str, etree._Element]:
    """The elements of a score's first part by name."""
    part = etree.fromstring(data).find("part")
    assert part is not None
    return elements_by_identity(part, part.get("id", ""), Identities([part]))


def test_every_head_event_and_direction_leads_back() -> None:
    """The pitch in the file is the pitch that was read, whether named by place or by id."""
    data = score(
        bars(
            note("C4", 2) + note("E4", 2, chord=True) + note("G4", 2, attributes='id="x7"'),
            words("dolce") + note("A4", 4),
        )
    )
    part = read_score(data, "a.xml")
    known = elements(data)
    for _, head in part.notes():
        assert known[head.id].findtext("pitch/step") == head.pitch.letter.value
        assert known[head.id].findtext("pitch/octave") == str(head.pitch.octave)
    assert known[part.directions[0].id].findtext("direction-type/words") == "dolce"
    assert known["x7"].findtext("pitch/step") == "G"


def test_a_whole_piece_leads_back() -> None:
    """Source: Schubert, Der Lindenbaum, in music21's corpus; 1,400 notes on two staves."""
    path = Path(music21.__file__).parent / "corpus" / "schubert" / "Lindenbaum.xml"
    part = read_part(path, "Piano")
    element = next(
        each
        for each in etree.parse(str(path)).iter("part")
        if each.get("id") == part.source.part_id
    )
    known = elements_by_identity(element, part.source.part_id, Identities([element]))
    for event, head in part.notes():
        assert known[head.id].findtext("pitch/step") == head.pitch.letter.value
        assert int(known[head.id].findtext("staff") or 1) == event.staff


def test_a_name_by_place_never_meets_an_id() -> None:
    """A file that uses our own form of name for another note keeps both apart."""
    data = score(bars(note("C4", 2) + note("D4", 2, attributes='id="P1-m1-n1"')))
    part = read_score(data, "a.xml")
    assert [head.id for _, head in part.notes()] == ["P1-m1-n1x", "P1-m1-n1"]
