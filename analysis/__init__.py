"""What the harp must do, and where it must be told.

The road, one function an arrow, each value a frozen dataclass::

    score file ─ read_part ▶ HarpPart ─ plan_changes ▶ PedalPlan ─ place_marks ▶ Markings

Nothing here knows how a page looks: ``pedalsetter.engrave`` takes over from :class:`Markings`.
Begin with :mod:`pedalsetter.analysis.instrument.harp` (the instrument) and
:mod:`pedalsetter.analysis.part` (the music as read).
"""
