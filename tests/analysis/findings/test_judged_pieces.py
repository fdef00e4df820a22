"""Keyboard pieces of music21's corpus judged by hand: what a harpist could not play is told.

The judgement is the table in ``tests/RESULTS.md``; here are its shorter pieces.
"""

from __future__ import annotations

import pytest
from corpus_pieces import PIECES

from pedalsetter.analysis.findings import with_all_findings
from pedalsetter.analysis.pedal_plan import FindingKind, Severity
from pedalsetter.analysis.planning import plan_changes
from pedalsetter.analysis.reading import read_part

JUDGED: tuple[tuple[str, dict[str, FindingKind]], ...] = (
    ("bach/bwv846", {}),
    ("handel/rinaldo/Lascia_chio_pianga", {}),
    ("verdi/laDonnaEMobile", {}),
    ("liliuokalani/aloha_oe", {}),
    ("beach/prayer_of_a_tired_child", {}),
    ("bach/bwv277", {}),
    ("schoenberg/opus19/movement2", {}),
    ("mozart/k545/movement1_exposition", {"10": FindingKind.FOOT_TOO_FAST}),
    ("chopin/mazurka06-2", {"21": FindingKind.RINGING}),
    ("schumann_robert/opus48no2", {"13": FindingKind.RINGING}),
    ("schumann_clara/opus17/movement3", {"21": FindingKind.HAND_FULL, "44": FindingKind.RINGING}),
    ("schoenberg/opus19/movement6", {"9": FindingKind.TWO_POSITIONS, "4": FindingKind.RINGING}),
)
"""Piece, and by printed bar what is graver than uncomfortable there; nothing where none stands."""


@pytest.mark.parametrize(("name", "expected"), JUDGED, ids=[name for name, _ in JUDGED])
def test_what_was_judged_by_hand_is_told(name: str, expected: dict[str, FindingKind]) -> None:
    """Nothing grave where nothing is, and each thing that was found by hand in its bar."""
    piece = next(one for one in PIECES if one.id == name)
    part = read_part(piece.path, piece.part)
    plan = with_all_findings(part, plan_changes(part))

    told = {
        (part.printed_bar(one.place.bar), one.kind)
        for one in plan.findings
        if one.severity in (Severity.UNPLAYABLE, Severity.RISKY)
    }
    assert set(expected.items()) <= told
    assert bool(told) is bool(expected)
