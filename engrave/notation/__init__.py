"""From a ``HarpPart`` to the engraver's score, marks excluded.

The way of a part::

    events ─ make_streams ▶ streams ─ add_ties, add_slurs, … ▶ sheet ─ build_voices ▶ Voice contexts
    directions, clefs, keys ─ build_staff_signs ▶ voices of signs, Dynamics between the staves
    bars ─ build_timing_lane ▶ TimingLane        tempo, rehearsal … ─ build_mark_row ▶ MarkRow

``score.build_score`` is the door. All contexts run in parallel over the same bars
(``timeline.bar_units``) and spend the same time on grace notes (``timeline.grace_skips``); only
notes stand in the voices of notes, everything else hangs on skips beside them. So each bar has its
exact length whatever hangs on it, and a sign is never lost for want of a note.

What a sign looks like is decided by one small pass a kind (``ties``, ``slurs``, ``beams`` …) that
writes LilyPond's words onto the ``sheet``; ``voices`` then builds leaves with abjad through
``engraver_score``, the one module that knows abjad's releases. Text of the score passes
``escaping.quoted`` and nothing else.
"""
