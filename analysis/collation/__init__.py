"""The source's own pedal marks against its notes: what is missing, wrong, late or too much.

The marks are obeyed in playing order, as a player would who trusts them
(:mod:`~pedalsetter.analysis.collation.score_walk` lays out the way,
:mod:`~pedalsetter.analysis.collation.replay` walks it). At each note that does not come out as
written the replay says what mark is to blame, then goes on as if it had been right, so that one
slip is told once. The plan is asked for one thing only: which string plays each note. A string
that the marks make right instead (G♭ for F♯) is as good.

>>> from pedalsetter.analysis.collation import EntryKind
>>> EntryKind.LATE.value
'mark after the note that needs it'
"""

from pedalsetter.analysis.collation.collate import collate
from pedalsetter.analysis.collation.entries import (
    Collation,
    CollationEntry,
    EntryKind,
    MarkSeverity,
)
from pedalsetter.analysis.collation.glissando_diagrams import glissando_diagrams, is_pedalled

__all__ = [
    "Collation",
    "CollationEntry",
    "EntryKind",
    "MarkSeverity",
    "collate",
    "glissando_diagrams",
    "is_pedalled",
]
