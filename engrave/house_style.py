"""House styles: how a part looks, read from ``templates/*.toml`` or from a file of the user's.

A style says what it wants otherwise than the default, ``final-part``; all else it inherits. Every
option has an effect on the page, and an option that does not exist is an error, so that a slip of
the pen is never silently ignored. :mod:`~pedalsetter.engrave.style_options` lists the options.
"""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, replace
from importlib import resources
from pathlib import Path
from typing import Any

from pedalsetter.analysis.errors import HouseStyleError
from pedalsetter.analysis.instrument.pitch_names import Language
from pedalsetter.analysis.marks.marking import MarkingWishes
from pedalsetter.analysis.marks.retiming import Stand
from pedalsetter.analysis.naming.wording import likely
from pedalsetter.analysis.part import HarpPart
from pedalsetter.engrave.style_options import OPTIONS, TABLES

__all__ = [
    "DEFAULT_STYLE",
    "HouseStyle",
    "house_style_names",
    "load_house_style",
    "read_house_style",
    "style_as_toml",
    "style_for",
]

DEFAULT_STYLE = "final-part"
"""The name of the style that is taken where none is named."""


@dataclass(frozen=True, slots=True)
class HouseStyle:
    """How a part looks. Lengths on paper are millimetres, in the staff staff spaces.

    What the options mean and which values they take stands in
    :data:`~pedalsetter.engrave.style_options.OPTIONS`.
    """

    name: str
    description: str
    """One line for the list of styles; may be empty."""
    paper_size: str
    staff_size_points: float
    staff_shrink_percent: int
    margin_top_mm: float
    margin_bottom_mm: float
    margin_left_mm: float
    margin_right_mm: float
    mirrored: bool
    first_page: str
    last_page: str
    language: str
    """The English name of the language."""
    spelling: str
    capitals: bool
    naturals: str
    font: str
    bold: bool
    italic: bool
    brackets: str
    row_distance_spaces: float
    staff_distance_spaces: float
    letter_place: str
    letter_size: float
    letter_stand: str
    respelled_notes: str
    diagram_form: str
    diagram_place: str
    diagram_size: float
    ring_changed: bool
    diagrams_at_start: bool
    diagrams_at_sections: bool
    diagrams_at_glissandos: bool
    diagrams_at_jumps: bool
    diagrams_after_rest_bars: int
    diagrams_after_changes: int
    diagrams_at_pages: str
    diagrams_at_systems: bool
    bar_numbers: str
    part_name: bool
    page_numbers: bool
    page_turns: str
    running_head: str
    first_page_number: bool
    copyright_on: str
    copyright: str
    plate_number: str
    cue_after_rest_bars: int
    instrument_place: str
    title_size: float
    movement_titles: bool
    text_font: str
    letter_font: str

    def __post_init__(self) -> None:
        for option in OPTIONS:
            option.checked(getattr(self, option.field))

    @property
    def wishes(self) -> MarkingWishes:
        """Where the style wants diagrams, as far as that is known before the page is."""
        return MarkingWishes(
            at_start=self.diagrams_at_start,
            at_sections=self.diagrams_at_sections,
            at_glissandos=self.diagrams_at_glissandos,
            at_jumps=self.diagrams_at_jumps,
            after_rest_bars=self.diagrams_after_rest_bars,
            after_changes=self.diagrams_after_changes,
            string_names=self.respelled_notes != "as-written",
        )

    @property
    def stand(self) -> Stand:
        """How early the style wants letters to stand."""
        return Stand(self.letter_stand)

    @property
    def names(self) -> Language:
        """The language in which pedals are named."""
        return Language(self.language)


def style_for(style: HouseStyle, part: HarpPart) -> HouseStyle:
    """The style as a part can have it: without two staves, what belongs between stands below."""
    if part.staves == 2:
        return style
    return replace(
        style,
        letter_place="below" if style.letter_place == "between" else style.letter_place,
        diagram_place="below" if style.diagram_place == "between" else style.diagram_place,
    )


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
            mend=f"{likely(name, house_style_names())} Choose from "
            f"{', '.join(house_style_names())}, or give a file ending in .toml.".strip(),
        )
    text = resources.files("pedalsetter.templates").joinpath(f"{name}.toml").read_text("utf-8")
    return _style_from(text, f"{name}.toml", is_default=name == DEFAULT_STYLE)


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


def style_as_toml(style: HouseStyle) -> str:
    """The style as a whole file, each option with its meaning and what else may stand there.

    Read again, it gives the same style.
    """
    lines = [
        "# House style for `pedalsetter mark --house-style FILE`.",
        "# A line that is left out is as in final-part.",
        "",
        f"name = {_toml(style.name)}",
        f"description = {_toml(style.description)}",
    ]
    for table in TABLES:
        lines += ["", f"[{table}]"]
        for option in OPTIONS:
            if option.table == table:
                lines.append(f"# {option.says}")
                value = f"{option.key} = {_toml(getattr(style, option.field))}"
                lines.append(f"{value:<32}# {option.values}")
    return "\n".join(lines) + "\n"


def _toml(value: object) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        # A basic string of TOML escapes as JSON does; DEL, which JSON leaves alone, is forbidden.
        import json

        return json.dumps(value, ensure_ascii=False).replace("\x7f", "\\u007F")
    return str(value)


def _style_from(text: str, file: str, *, is_default: bool = False) -> HouseStyle:
    try:
        document = tomllib.loads(text)
    except (ValueError, RecursionError) as error:
        # Numbers of thousands of figures, and brackets of thousands of levels, are no TOML here.
        what = str(error) if isinstance(error, tomllib.TOMLDecodeError) else "it is beyond reading"
        raise HouseStyleError(f"the house style is no TOML: {what}", file=file) from error
    try:
        wanted = {
            "name": file.removesuffix(".toml"),
            "description": "",
            **_flat(document),
        }
        if not is_default:
            inherited = load_house_style()
            for option in OPTIONS:
                wanted.setdefault(option.field, getattr(inherited, option.field))
        for option in OPTIONS:
            if option.field not in wanted:
                raise HouseStyleError(f"the option {option.name} is missing")
        return HouseStyle(**wanted)
    except HouseStyleError as error:
        raise error.in_file(file) from error.__cause__


def _flat(document: Mapping[str, Any]) -> dict[str, Any]:
    """The options of a file by field name, each checked."""
    known = {(option.table, option.key): option for option in OPTIONS}
    wanted: dict[str, Any] = {}
    for table, content in document.items():
        if table in ("name", "description"):
            if not isinstance(content, str):
                raise HouseStyleError(f"{table} must be a text in quotes")
            wanted[table] = content
            continue
        if table not in TABLES or not isinstance(content, Mapping):
            raise HouseStyleError(
                f"there is no table '{table}'",
                mend=f"The tables are {', '.join(TABLES)}, and before them may stand name and "
                "description.",
            )
        for key, value in content.items():
            option = known.get((table, key))
            if option is None:
                keys = [other for place, other in known if place == table]
                raise HouseStyleError(
                    f"there is no option '{table}.{key}'",
                    mend=f"The options of {table} are {', '.join(keys)}.",
                )
            wanted[option.field] = option.checked(value)
    return wanted
