"""Every sign of the notation that is engraved on trial."""

from __future__ import annotations

from signs import (
    bars_and_rests,
    beams_and_voices,
    dynamics_and_lines,
    harp_signs,
    on_notes,
    ties_and_slurs,
    tuplets_and_graces,
)
from signs.sign import Sign

__all__ = ["SIGNS"]

SIGNS: dict[str, Sign] = {
    **ties_and_slurs.SIGNS,
    **beams_and_voices.SIGNS,
    **tuplets_and_graces.SIGNS,
    **harp_signs.SIGNS,
    **dynamics_and_lines.SIGNS,
    **on_notes.SIGNS,
    **bars_and_rests.SIGNS,
}
