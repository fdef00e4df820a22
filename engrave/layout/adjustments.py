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

    shift: Mapping[str, float] = field(default_factory=lambda: MappingProxyType({}))
    """Name of a mark to the staff spaces by which it stands further left than its note."""

    def applied(self, name: str, event: str) -> str:
        """The event of a mark in its lane, with what this engraving wants for it."""
        if name in self.shift:
            event = f"-\\tweak X-offset #{-self.shift[name]:g} {event}"
        if name in self.room:
            event = f"{event} \\pedalRoom #{self.room[name]:g}"
        return event


AS_ENGRAVED = Adjustments()
"""No adjustment."""
