"""Ties: what is struck once and what anew."""

# Whole numbers stand for fractions in what is expected.
# mypy: disable-error-code="comparison-overlap"

from __future__ import annotations

from score_snippets import bars, note, one_event, read, told


def test_ties_within_and_across_bars() -> None:
    """A tied note is one sound: each continuation says so."""
    part = read(
        bars(
            note("C4", 4, ties=["start"], notations='<tied type="start"/>'),
            note("C4", 4, ties=["stop", "start"]),
            note("C4", 4, notations='<tied type="stop"/>'),
        )
    )
    assert [(head.tie_start, head.tie_stop) for _, head in part.notes()] == [
        (True, False),
        (True, True),
        (False, True),
    ]
    assert told(part) == []


def test_a_tie_without_an_end_is_taken_back() -> None:
    """C is tied, but D follows: the tie is dropped and the place is named."""
    part = read(bars(note("C4", 2, ties=["start"]) + note("D4", 2)))
    assert not any(head.tie_start for _, head in part.notes())
    assert told(part) == [
        "bar 1, beat 1, staff 1: a tie has a beginning but no end; it was left out"
    ]


def test_a_tie_without_a_beginning_is_struck_anew() -> None:
    """Nothing is tied to the C of beat 3."""
    part = read(bars(note("D4", 2) + note("C4", 2, ties=["stop"])))
    assert not any(head.tie_stop for _, head in part.notes())
    assert told(part) == [
        "bar 1, beat 3, staff 1: a tie has an end but no beginning; the note is played anew"
    ]


def test_the_unmarked_end_of_a_tie_is_the_note_at_once_after_it() -> None:
    """The same pitch in the same voice, just where the tied note ends."""
    part = read(bars(note("C4", 2, ties=["start"]) + note("C4", 2)))
    assert [(head.tie_start, head.tie_stop) for _, head in part.notes()] == [
        (True, False),
        (False, True),
    ]


def test_a_written_out_arpeggio_is_tied_into_its_chord() -> None:
    """Each note rings on into the chord; its tie ends later than its printed value does.

    Common practice, no source: LilyPond's ``tieWaitForNote`` exists for it.
    """
    part = read(
        bars(
            note("C4", 1, ties=["start"])
            + note("E4", 1, ties=["start"])
            + note("C4", 2, ties=["stop"])
            + note("E4", 2, ties=["stop"], chord=True)
        )
    )
    assert [(str(head.pitch), head.tie_start, head.tie_stop) for _, head in part.notes()] == [
        ("C4", True, False),
        ("E4", True, False),
        ("C4", False, True),
        ("E4", False, True),
    ]
    assert told(part) == []


def test_a_tie_may_lead_into_a_second_ending() -> None:
    """The note before both endings is tied into each of them."""
    volta = (
        '<barline location="left"><ending number="{0}" type="start"/></barline>{1}'
        '<barline location="right"><ending number="{0}" type="stop"/>{2}</barline>'
    )
    back = '<repeat direction="backward"/>'
    part = read(
        bars(
            note("C4", 4, ties=["start"]),
            volta.format(1, note("C4", 4, ties=["stop"]), back),
            volta.format(2, note("C4", 4, ties=["stop"]), ""),
        )
    )
    assert [head.tie_stop for _, head in part.notes()] == [False, True, True]
    assert told(part) == []


def test_let_ring_is_no_tie() -> None:
    """*Laissez vibrer* has no end to look for."""
    event = one_event('<tied type="let-ring"/>')
    assert event.heads[0].let_ring
    assert not event.heads[0].tie_start


def test_a_chord_may_tie_only_some_of_its_notes() -> None:
    """C is held, E moves to F."""
    part = read(
        bars(
            note("C4", 2, ties=["start"])
            + note("E4", 2, chord=True)
            + note("C4", 2, ties=["stop"])
            + note("F4", 2, chord=True)
        )
    )
    assert [(str(head.pitch), head.tie_start, head.tie_stop) for _, head in part.notes()] == [
        ("C4", True, False),
        ("E4", False, False),
        ("C4", False, True),
        ("F4", False, False),
    ]
