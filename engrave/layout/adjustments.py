"""What an engraving may have otherwise than the engraver would make it by itself."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType

__all__ = ["AS_ENGRAVED", "Adjustments"]


@dataclass(frozen=True, slots=True)
class Adjustments:
    """Departures from the engraver's own layout."""

    ragged_last_page: bool = False
    """The last page is not stretched to its foot."""
    room: Mapping[str, float] = field(default_factory=lambda: MappingProxyType({}))
    """Name of a mark to the staff spaces kept free below its row, or if negative above it."""

    def event(self, name: str) -> str:
        """What follows a mark in its lane."""
        return f" \\pedalRoom #{self.room[name]:g}" if name in self.room else ""


AS_ENGRAVED = Adjustments()
"""No adjustment."""
