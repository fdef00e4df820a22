"""A run of glissandi, as players mark it: one diagram for all, pedals between and in the last beat.

Common practice, no source: a diagram holds until something else is printed; the foot moves where
one glissando ends and the next begins, or in the last beat before; what is affected is what is
swept after the move.
"""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest
from glissandi import glissandi_part
from marked_parts import as_source, with_marks
from part_builder import build_part
from replay import replay

from pedalsetter.analysis.collation import collate, glissando_diagrams, is_pedalled
from pedalsetter.analysis.decisions.values import ChangePin, Decisions, OpeningPin, Pin, Spot
from pedalsetter.analysis.findings import with_all_findings
from pedalsetter.analysis.instrument.harp import Letter, Position, Setting
from pedalsetter.analysis.marks.marking import place_marks
from pedalsetter.analysis.part import Place, SourceMark
from pedalsetter.analysis.planning import plan_changes
from pedalsetter.analysis.playing.glissandi import find_glissandi
from pedalsetter.analysis.playing.moments import number_graces
from pedalsetter.analysis.playing.sustained import Keys

MARKED = [
    ("A♮", 2, 3),
    ("E♭", 3, 0),
    ("D♮", 4, 3),
    ("A♭", 5, 0),
    ("G♭", 6, 3),
    ("D♭", 7, 0),
]
"""Letter, bar and offset in quarters of what the source prints after its diagram."""


def _settings(**options: object) -> dict[int, list[str]]:
    """For each bar what its lines sound, D C B | E F G A."""
    part = glissandi_part(**options)
    found: dict[int, list[str]] = {}
    for line in find_glissandi(part, Keys(part), number_graces(part)):
        assert line.given is not None
        found.setdefault(line.start.bar + 1, []).append(line.given.pattern)
    return found


def test_one_diagram_holds_for_the_run() -> None:
    """Each line sounds the diagram with the letters printed since."""
    assert _settings() == {
        1: ["bnb|nnnb"] * 2,
        2: ["bnb|nnnb"] * 2,
        3: ["bnb|bnnn"] * 2,
        4: ["bnb|bnnn"] * 2,
        5: ["nnb|bnnb"] * 2,
        6: ["nnb|bnnb"] * 2,
        7: ["bnb|bnbb"] * 2,
    }


def test_without_letters_only_a_written_note_moves_its_letter() -> None:
    """E♭ is the first note of bar 7; nothing else contradicts the diagram."""
    found = _settings(marked=False)
    assert {pattern for bar in range(1, 7) for pattern in found[bar]} == {"bnb|nnnb"}
    assert found[7] == ["bnb|bnnb"] * 2


def test_the_run_ends() -> None:
    """Four bars after the last glissando, or in another key, the diagram holds no longer."""
    whole_tone = (("D", 0), ("C", 0), ("B", 1), ("E", 0), ("F", 1), ("G", 1), ("A", 1))
    mark = SourceMark("m", 0, Fraction(0), 1, "diagram", whole_tone)
    for rests in range(5):
        bars = ["C4/hgl< C6/hgl>", *["r/w"] * rests, "C4/hgl< C6/hgl>"]
        part = build_part(*bars, source_marks=(mark,))
        _, last = find_glissandi(part, Keys(part), number_graces(part))
        assert (last.given is not None) is (rests < 3)


def test_the_plan_moves_where_the_source_does() -> None:
    """Six changes, each where the player has marked it; no note is lost, nothing is hurried."""
    part = glissandi_part()
    plan = with_all_findings(part, plan_changes(part))
    assert [
        (change.text, change.place.bar + 1, change.place.offset) for change in plan.changes
    ] == MARKED
    assert plan.findings == ()
    assert plan.proved_optimal


@pytest.mark.parametrize("marked", [True, False])
def test_the_replay_finds_no_fault(marked: bool) -> None:
    """Every note sounds as written, and no pedal moves under strings to come."""
    part = glissandi_part(marked=marked)
    plan = plan_changes(part)
    marks = place_marks(part, plan)
    assert replay(part, plan, marks) == []
    assert len(marks.diagrams) == 1


def test_the_marks_are_right() -> None:
    """Nothing is wrong with the source's marks, and nothing with the planned ones as a source."""
    part = glissandi_part()
    plan = plan_changes(part)
    assert collate(part, plan).entries == ()
    assert is_pedalled(part)
    assert len(glissando_diagrams(part)) == 1
    again = with_marks(part, as_source(part, place_marks(part, plan)))
    assert not collate(again, plan_changes(again)).wrong


def test_a_missing_letter_is_told_once() -> None:
    """Without the E♭ of bar 3 the source's own lines sound E♮ until bar 7 begins on E♭."""
    letters = {(2, 4): "A♮", (4, 4): "D♮", (5, 1): "A♭", (6, 4): "G♭", (7, 1): "D♭"}
    part = glissandi_part(letters=letters)
    entries = collate(part, plan_changes(part)).entries
    assert [(entry.place.bar + 1, entry.letters) for entry in entries] == [(7, (Letter.E,))]


@pytest.mark.parametrize("source", ["all", "diagram", "none"])
def test_the_marks_as_decisions_are_accepted(source: str) -> None:
    """What the player has printed holds as decided: beside it, the diagram alone, or nothing."""
    pins: tuple[Pin, ...] = tuple(
        ChangePin(Spot(f"{bar}:{offset + 1}"), Letter(text[0]), Position("♭♮♯".index(text[1]) - 1))
        for text, bar, offset in MARKED
    )
    part = glissandi_part(marked=source == "all")
    if source == "none":
        part = replace(part, source_marks=())
        pins = (OpeningPin(tuple(Setting.parse_pattern("bnb|nnnb"))), *pins)
    plan = plan_changes(part, decisions=Decisions(pins=pins))
    assert len(plan.decisions) == len(pins)
    assert not any(result.refused for result in plan.decisions)
    found = [(change.text, change.place.bar + 1, change.place.offset) for change in plan.changes]
    assert found == MARKED


def test_only_strings_that_are_swept_hold_their_pedals() -> None:
    """A line from C4 to G4 leaves A and B alone, whatever the diagram says of them."""
    part = build_part("C4/wgl<", "G4/wgl>", "A#4+B3/w")
    (line,) = find_glissandi(part, Keys(part), number_graces(part))
    assert {letter.value for letter in line.setting} == set("CDEFG")
    # C4 D4 E4 F4 G4 a beat each: D is free when E is played.
    assert line.free[Letter.D] == 2
    diagram = SourceMark("m", 0, Fraction(0), 1, "diagram", tuple((x, 0) for x in "DCBEFGA"))
    marked = with_marks(part, (diagram,))
    (line,) = find_glissandi(marked, Keys(marked), number_graces(marked))
    assert {letter.value for letter in line.setting} == set("CDEFG")


def test_a_pedal_moves_where_one_glissando_ends_and_the_next_begins() -> None:
    """F♯ begins the second line: F moves there, where the first has only C6 to come."""
    part = build_part("C4/hgl< C6/hgl>gl<", "F#4/wgl>")
    plan = plan_changes(part)
    assert plan.setting_at(Place(0, Fraction(1)))[Letter.F] is Position.NATURAL
    assert plan.findings == ()
