"""House styles: how a part looks, read from ``templates/*.toml`` or from a file of the user's.

A style says what it wants otherwise than the default, ``final-part``; all else it inherits. Every
option has an effect on the page, and an option that does not exist is an error, so that a slip of
the pen is never silently ignored.
"""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import MISSING, dataclass, fields
from importlib import resources
from pathlib import Path
from typing import Any

from pedalsetter.analysis.errors import HouseStyleError

__all__ = [
    "DEFAULT_STYLE",
    "HouseStyle",
    "house_style_names",
    "load_house_style",
    "read_house_style",
]

DEFAULT_STYLE = "final-part"
"""The name of the style that is taken where none is named."""

PAPER_SIZES = ("a4", "a3", "b4", "letter", "legal", "tabloid")
"""Names of paper sizes, as LilyPond knows them; b4 is that of ISO."""

LAST_PAGES = ("auto", "filled", "ragged")
MARK_PLACES = ("above", "between", "below")
PAGE_TURNS = ("free-hand", "anywhere")
BAR_NUMBERS = ("system", "every", "none")


@dataclass(frozen=True, slots=True)
class HouseStyle:
    """How a part looks. Lengths on paper are millimetres, in the staff staff spaces."""

    name: str
    paper_size: str
    """One of ``a4 a3 b4 letter legal tabloid``."""
    staff_size_points: float
    """Height of a five-line staff in points, 12 to 26; 20 points are 7 mm."""
    margin_top_mm: float
    margin_bottom_mm: float
    margin_left_mm: float
    margin_right_mm: float
    last_page: str
    """``filled`` to its foot, ``ragged``, or ``auto``: filled unless it has few systems."""
    place: str
    """Where pedal marks stand: ``above`` the upper staff, ``between`` both, ``below`` the lower."""
    ring_changed: bool
    """Whether a diagram rings the pedals that move at its place."""
    diagram_size: float
    """Steps of size, 0 as drawn; six steps double it (LilyPond's ``font-size``)."""
    letter_size: float
    """Steps of size, 0 as the staff's text."""
    row_distance_spaces: float
    """Least distance between the rows of diagrams and letters, baseline to line."""
    staff_distance_spaces: float
    """Least air between the rows and the staff that they belong to."""
    bar_numbers: str
    """``system``, ``every`` or ``none``."""
    part_name: bool
    """Whether the part is named on the first page and in the heads of the others."""
    page_numbers: bool
    page_turns: str
    """``free-hand``: right-hand pages end where a hand is free, if the music allows; or
    ``anywhere``."""

    def __post_init__(self) -> None:
        _one_of("paper.size", self.paper_size, PAPER_SIZES)
        _one_of("paper.last_page", self.last_page, LAST_PAGES)
        _one_of("marks.place", self.place, MARK_PLACES)
        _one_of("page.page_turns", self.page_turns, PAGE_TURNS)
        _one_of("page.bar_numbers", self.bar_numbers, BAR_NUMBERS)
        _within("paper.staff_size_points", self.staff_size_points, 12, 26)
        for side in ("top", "bottom", "left", "right"):
            _within(f"paper.margin_{side}_mm", getattr(self, f"margin_{side}_mm"), 5, 60)
        _within("marks.diagram_size", self.diagram_size, -4, 4)
        _within("marks.letter_size", self.letter_size, -4, 4)
        _within("marks.row_distance_spaces", self.row_distance_spaces, 3, 8)
        _within("marks.staff_distance_spaces", self.staff_distance_spaces, 0.3, 4)


# Where each field stands in the file: field name to (table, key); the name of the style stands
# outside the tables.
_PLACES: Mapping[str, tuple[str, str]] = {
    "paper_size": ("paper", "size"),
    **{
        field: ("paper", field)
        for field in (
            "staff_size_points",
            "margin_top_mm",
            "margin_bottom_mm",
            "margin_left_mm",
            "margin_right_mm",
            "last_page",
        )
    },
    **{
        field: ("marks", field)
        for field in (
            "place",
            "ring_changed",
            "diagram_size",
            "letter_size",
            "row_distance_spaces",
            "staff_distance_spaces",
        )
    },
    **{
        field: ("page", field)
        for field in ("bar_numbers", "part_name", "page_numbers", "page_turns")
    },
}


def house_style_names() -> tuple[str, ...]:
    """The styles that come with Pedalsetter, in alphabetical order."""
    folder = resources.files("pedalsetter.templates")
    return tuple(
        sorted(entry.name[:-5] for entry in folder.iterdir() if entry.name.endswith(".toml"))
    )


def load_house_style(name: str = DEFAULT_STYLE) -> HouseStyle:
    """The house style of that name, or the one in the file of that path (ending in ``.toml``).

    Raises:
        HouseStyleError: there is no such style, or it says something impossible.
    """
    if name.endswith(".toml"):
        return read_house_style(Path(name))
    if name not in house_style_names():
        raise HouseStyleError(
            f"there is no house style '{name}'",
            mend=f"Choose from {', '.join(house_style_names())}, or give a file ending in .toml.",
        )
    text = resources.files("pedalsetter.templates").joinpath(f"{name}.toml").read_text("utf-8")
    return _style_from(text, f"{name}.toml")


def read_house_style(path: Path) -> HouseStyle:
    """The house style in a file; what it does not say is taken from ``final-part``.

    Raises:
        HouseStyleError: the file cannot be read, or says something impossible.
    """
    try:
        text = path.read_text("utf-8")
    except (OSError, UnicodeDecodeError) as error:
        reason = error.strerror if isinstance(error, OSError) else "it is not UTF-8 text"
        raise HouseStyleError(
            f"the house style cannot be read: {reason}", file=path.name
        ) from error
    return _style_from(text, path.name)


def _style_from(text: str, file: str) -> HouseStyle:
    try:
        document = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise HouseStyleError(f"the house style is no TOML: {error}", file=file) from error
    try:
        wanted = _flat(document)
        if file != f"{DEFAULT_STYLE}.toml":
            inherited = load_house_style()
            for name in _PLACES:
                wanted.setdefault(name, getattr(inherited, name))
        wanted.setdefault("name", file.removesuffix(".toml"))
        missing = [
            field.name
            for field in fields(HouseStyle)
            if field.default is MISSING and field.name not in wanted
        ]
        if missing:
            raise HouseStyleError(f"the option {'.'.join(_PLACES[missing[0]])} is missing")
        return HouseStyle(**wanted)
    except HouseStyleError as error:
        raise error.in_file(file) from error.__cause__


def _flat(document: Mapping[str, Any]) -> dict[str, Any]:
    """The options of a file by field name, each of the type that its field has."""
    known = {place: field for field, place in _PLACES.items()}
    tables = sorted({table for table, _ in known})
    wanted: dict[str, Any] = {}
    for table, content in document.items():
        if table == "name":
            wanted["name"] = _typed("name", content, "str")
            continue
        if table not in tables or not isinstance(content, Mapping):
            raise HouseStyleError(
                f"there is no table '{table}'", mend=f"The tables are {', '.join(tables)}."
            )
        for key, value in content.items():
            if (table, key) not in known:
                keys = [other for place, other in known if place == table]
                raise HouseStyleError(
                    f"there is no option '{table}.{key}'",
                    mend=f"The options of {table} are {', '.join(keys)}.",
                )
            field = known[table, key]
            kind = next(str(f.type) for f in fields(HouseStyle) if f.name == field)
            wanted[field] = _typed(f"{table}.{key}", value, kind)
    return wanted


def _typed(option: str, value: object, kind: str) -> object:
    if kind == "float" and isinstance(value, int | float) and not isinstance(value, bool):
        return float(value)
    if kind == "bool" and isinstance(value, bool):
        return value
    if kind == "str" and isinstance(value, str):
        return value
    words = {"float": "a number", "bool": "true or false", "str": "a text in quotes"}[kind]
    raise HouseStyleError(f"{option} must be {words}, not {value!r}")


def _one_of(option: str, value: str, choices: tuple[str, ...]) -> None:
    if value not in choices:
        raise HouseStyleError(
            f"{option} cannot be '{value}'", mend=f"Choose from {', '.join(choices)}."
        )


def _within(option: str, value: float, least: float, most: float) -> None:
    if not least <= value <= most:
        raise HouseStyleError(f"{option} must lie from {least:g} to {most:g}, not {value:g}")
