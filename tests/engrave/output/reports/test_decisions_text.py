"""Today's plan as a file of decisions: it gives the same plan again, and a person can read it."""

from __future__ import annotations

from dataclasses import replace

from hypothesis import HealthCheck, given, settings
from part_builder import build_part
from part_strategies import parts

from pedalsetter.analysis.decisions.file import parse_decisions
from pedalsetter.analysis.decisions.values import NO_DECISIONS
from pedalsetter.analysis.part import HarpPart, Place
from pedalsetter.analysis.pedal_plan import PedalPlan
from pedalsetter.analysis.planning import plan_changes
from pedalsetter.engrave.output.reports.decisions_text import decisions_text


def changes(plan: PedalPlan) -> list[tuple[Place, str]]:
    """What moves where."""
    return [(change.place, change.text) for change in plan.changes]


def strings(plan: PedalPlan) -> dict[str, str | None]:
    """Which letter plays each note."""
    return {note: use.sounding and use.sounding.name for note, use in plan.strings.items()}


@settings(max_examples=20, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(parts(most_bars=3))
def test_the_pinned_plan_is_the_plan(part: HarpPart) -> None:
    """The same openings, the same changes at the same places, the same strings; all of it holds."""
    plan = plan_changes(part)
    decisions = parse_decisions(decisions_text(part, plan))
    again = plan_changes(part, decisions=decisions)

    assert [result.told for result in again.decisions if result.refused] == []
    assert changes(again) == changes(plan)
    assert again.movements == plan.movements
    assert strings(again) == strings(plan)
    # Written once more, the file is the same.
    assert decisions_text(part, again, decisions) == decisions_text(part, plan)


def test_the_file_reads_like_a_part() -> None:
    """Each change with the note it is for; what is respelled with the letter that plays it."""
    part = build_part("C4/q C#4/s C4/s r/e r/h", "F#4/h C#4/h", tempo=100)
    plan = plan_changes(part)

    assert decisions_text(part, plan).splitlines()[3:] == [
        "",
        "# No note is played on another letter than written, but for those named below.",
        "# 'when-needed' lets the planner respell where it saves a note or a passage.",
        'respell = "never"',
        "",
        "[[opening]]",
        'pedals = "D♭ C♮ B♮ | E♮ F♯ G♮ A♮"',
        "",
        "[[respelling]]",
        'at = "1:2"',
        'note = "C♯4"',
        'staff = "upper"',
        'played = "D♭"',
        "",
        "# for C♯4 in bar 2, beat 3",
        "[[change]]",
        'at = "2:2"',
        'pedal = "C♯"',
    ]


def test_what_was_decided_before_stays() -> None:
    """Feet, times and diagrams that hold are in the new file too; what is refused is not."""
    part = build_part("C4/w", "F#4/w")
    text = """
        foot = [{ pedal = "E", foot = "left" }]
        diagram = [{ at = "2" }, { at = "9" }]
        [times]
        comfortable = 0.625
        ring = [5, 2, 0.25]
    """
    decisions = parse_decisions(text)
    written = decisions_text(part, plan_changes(part, decisions=decisions), decisions)
    again = parse_decisions(written)

    assert "comfortable = 0.625\nring = [5, 2, 0.25]" in written
    assert again.comfortable_seconds == decisions.comfortable_seconds
    assert [str(pin) for pin in again.pins if "diagram" in str(pin)] == ["diagram in bar 2"]
    assert "E by the left foot" in [str(pin) for pin in again.pins]


def test_a_file_name_cannot_end_the_comment() -> None:
    """A score named with a line break does not write keys of its own into the file."""
    part = build_part("C4/w")
    part = replace(part, source=replace(part.source, file='a\nrespell = "freely"\n.musicxml'))

    decisions = parse_decisions(decisions_text(part, plan_changes(part)))
    assert decisions.respell is not None
    assert decisions.respell.value == "never"
    assert decisions != NO_DECISIONS


def test_bars_of_one_number_are_told_apart() -> None:
    """Movements that begin with a bar 1 each, and a bar in two pieces: every place is named."""
    part = build_part("C4/h F#4/h", "F4/w", "C4/h F#4/h", "F4/w", "F#4/h", movements=(2,))
    numbers = ("1", "2", "1", "2", "2")
    part = replace(
        part,
        bars=tuple(
            replace(bar, number=number) for bar, number in zip(part.bars, numbers, strict=True)
        ),
    )
    plan = plan_changes(part)
    written = decisions_text(part, plan)
    again = plan_changes(part, decisions=parse_decisions(written))

    assert 'at = "2:1"\nmovement = 2\npiece = 2\npedal = "F♯"' in written
    assert "movement = 2\npiece = 1\n" in written
    assert [result.told for result in again.decisions if result.refused] == []
    assert changes(again) == changes(plan)


def test_what_the_feet_were_allowed_is_written_too() -> None:
    """Leave and the time to cross stay in the file, so that pinned pairs and crossings hold."""
    head = 'respell = "never"\ncrossing = true\ntwo-pedals = true\n[times]\ncrossing = 0.5\n'
    decisions = parse_decisions(head)
    for part in (
        build_part("G4+A4/q r/q r/h", "G4+A4/e Gb4+Ab4/e r/q r/h", tempo=64),
        build_part("E4+G4/e Eb4+Gb4/e r/q r/h", tempo=30),
    ):
        plan = plan_changes(part, decisions=decisions)
        assert any(change.crossed or change.together for change in plan.changes)
        written = decisions_text(part, plan, decisions)
        again = plan_changes(part, decisions=parse_decisions(written))
        assert [one for one in again.decisions if one.refused] == []
        assert changes(again) == changes(plan)
        assert [change.foot for change in again.changes] == [change.foot for change in plan.changes]
        assert decisions_text(part, again, parse_decisions(written)) == written


def test_what_was_decided_about_small_notes_stays() -> None:
    """They are no pedals, and the file of the plan says again what was decided."""
    text = """
        [[small-notes]]
        bars = "2-4"
        staff = "lower"
        sounds = false
    """
    part = build_part("C4/w")
    decisions = parse_decisions(text)
    written = decisions_text(part, plan_changes(part), decisions)
    assert parse_decisions(written).small_notes == decisions.small_notes
    assert decisions.small_notes
