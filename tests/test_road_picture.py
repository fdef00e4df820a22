"""The picture of the road in DEVELOPERS.md is that of today's imports."""

from __future__ import annotations

from road_picture import PAGE, arrows, built_on, written


def test_the_page_has_the_picture_of_today() -> None:
    """``python tests/road_picture.py --write`` renews it."""
    page = PAGE.read_text(encoding="utf-8")

    assert written(page) == page


def test_an_arrow_that_follows_from_others_is_left_out() -> None:
    """Every import can be walked along the arrows, and no arrow stands beside a longer way."""
    above: dict[str, set[str]] = {}
    for one, other in arrows():
        above.setdefault(other, set()).add(one)

    def reached(room: str) -> set[str]:
        found = set(above.get(room, ()))
        return found.union(*(reached(one) for one in found))

    for room, others in built_on().items():
        assert others <= reached(room)
        for one in above.get(room, ()):
            assert not any(one in reached(other) for other in above[room] - {one})
