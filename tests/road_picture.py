# ruff: noqa: T201
"""Draws the road of DEVELOPERS.md from the imports, so that it stays true.

    PYTHONPATH=tests python tests/road_picture.py [--write]

Each room points to those that build on it; what follows from other arrows is left out. Without
``--write`` the picture is printed, in Mermaid's language, which most viewers of Markdown draw.
"""

from __future__ import annotations

import sys
from pathlib import Path

from test_architecture import PLACES, imported, module_of, place_of, source_files

PAGE = Path(__file__).resolve().parent.parent / "DEVELOPERS.md"
BEGIN, END = "<!-- road -->\n", "<!-- end of road -->\n"
_LEFT_OUT = ("analysis", "engrave", "templates", "engrave.start", "analysis.errors")
"""They are no rooms, or known to every room."""


def built_on() -> dict[str, set[str]]:
    """For each room those that it imports from."""
    found: dict[str, set[str]] = {place: set() for place in PLACES if place not in _LEFT_OUT}
    for path in source_files():
        room = place_of(module_of(path))
        if room in found:
            others = {place_of(other) for other in imported(path)}
            found[room] |= (others & found.keys()) - {room}
    return found


def arrows() -> list[tuple[str, str]]:
    """(room, a room that builds on it), without those that follow from others."""
    below = built_on()
    reached: dict[str, set[str]] = {}
    for room in PLACES:
        # A room stands below all that it builds on, so that these are known by now.
        known = below.get(room, set())
        reached[room] = known.union(*(reached[other] for other in known))
    return [
        (other, room)
        for room in PLACES
        for other in PLACES
        if other in below.get(room, set())
        and not any(other in reached[more] for more in below[room] - {other})
    ]


def _id(room: str) -> str:
    """A room's name as Mermaid takes it."""
    return room.replace(".", "_")


def picture() -> str:
    """The picture as it stands in the page."""
    lines = ["```mermaid", "flowchart TD"]
    for folder in ("analysis", "engrave"):
        rooms = [room for room in built_on() if room.startswith(f"{folder}.")]
        lines.append(f"    subgraph {folder}")
        lines += [f'        {_id(room)}["{room.partition(".")[2]}"]' for room in rooms]
        lines.append("    end")
    lines += [f"    {_id(one)} --> {_id(other)}" for one, other in arrows()]
    return "\n".join([*lines, "```", ""])


def written(page: str) -> str:
    """The page with today's picture in it."""
    before, rest = page.split(BEGIN)
    _, after = rest.split(END)
    return f"{before}{BEGIN}{picture()}{END}{after}"


if __name__ == "__main__":
    if "--write" in sys.argv[1:]:
        PAGE.write_text(written(PAGE.read_text(encoding="utf-8")), encoding="utf-8")
    else:
        print(picture(), end="")
