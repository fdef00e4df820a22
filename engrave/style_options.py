"""What a house style may say: every option with its place in the file, its values, its meaning."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import TypeGuard

from pedalsetter.analysis.errors import HouseStyleError

__all__ = ["OPTIONS", "TABLES", "Option"]


@dataclass(frozen=True, slots=True)
class Option:
    """One option: exactly one of ``choices``, ``characters``, ``least`` or none (true or false)."""

    field: str
    """Name of the field of :class:`~pedalsetter.engrave.house_style.HouseStyle`."""
    table: str
    """Table of the file."""
    key: str
    says: str
    """One line for the file: what it does."""
    choices: tuple[str, ...] = ()
    """A text, one of these."""
    least: float | None = None
    """A number from ``least`` …"""
    most: float | None = None
    """… to ``most``."""
    whole: bool = False
    """Of the numbers, only whole ones."""
    characters: int = 0
    """A text of the user's own of one line, of so many characters at most."""

    @property
    def name(self) -> str:
        """Table and key, as messages name it."""
        return f"{self.table}.{self.key}"

    @property
    def values(self) -> str:
        """What may stand there, in words."""
        if self.choices:
            return _alternatives(self.choices)
        if self.characters:
            return f"a text of one line and at most {self.characters} characters"
        if self.least is not None:
            kind = "a whole number" if self.whole else "a number"
            return f"{kind} from {self.least:g} to {self.most:g}"
        return "true or false"

    def checked(self, value: object) -> object:
        """The value as the style holds it.

        Raises:
            HouseStyleError: it is none that may stand there.
        """
        if self.choices:
            if isinstance(value, str) and value in self.choices:
                return value
        elif self.characters:
            if isinstance(value, str) and self._fits(value):
                return value
        elif self.least is None or self.most is None:
            if isinstance(value, bool):
                return value
        elif self._is_number(value) and self.least <= value <= self.most:
            return value if self.whole else float(value)
        raise HouseStyleError(f"{self.name} must be {self.values}, not {_shown(value)}")

    def _fits(self, text: str) -> bool:
        """Whether a text is short enough and free of control characters and line breaks."""
        return len(text) <= self.characters and (text.isprintable() or not text)

    def _is_number(self, value: object) -> TypeGuard[int | float]:
        kinds = int if self.whole else (int, float)
        return isinstance(value, kinds) and not isinstance(value, bool)


def _alternatives(words: Iterable[str]) -> str:
    *first, last = words
    return f"{', '.join(first)} or {last}"


def _shown(value: object) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        return f"'{value}'"
    if isinstance(value, int | float):
        try:
            return f"{value:g}"
        except OverflowError:
            return "a number without end"
    if isinstance(value, dict):
        return "a table"
    return "a list" if isinstance(value, list) else str(value)


_PLACES = ("above", "between", "below")

OPTIONS: tuple[Option, ...] = (
    Option(
        "paper_size",
        "paper",
        "size",
        "the sheet; b4 is that of ISO",
        ("a4", "a3", "b4", "letter", "legal", "tabloid"),
    ),
    Option(
        "staff_size_points",
        "paper",
        "staff_size_points",
        "height of a staff of five lines, in points (20 are 7 mm)",
        least=12,
        most=26,
    ),
    Option(
        "staff_shrink_percent",
        "paper",
        "staff_shrink_percent",
        "by how much staves may be smaller where pages are then filled better; 0: never",
        least=0,
        most=15,
        whole=True,
    ),
    *(
        Option(
            f"margin_{side}_mm",
            "paper",
            f"margin_{side}_mm",
            f"paper left free {where}, in millimetres",
            least=5,
            most=60,
        )
        for side, where in (
            ("top", "above the music"),
            ("bottom", "below it"),
            ("left", "on its left"),
            ("right", "on its right"),
        )
    ),
    Option(
        "mirrored",
        "paper",
        "mirrored",
        "on left-hand pages the two margins change sides: left is the inner, right the outer one",
    ),
    Option(
        "first_page",
        "paper",
        "first_page",
        "the side on which page 1 lies; on the left it has the number 2",
        ("right", "left"),
    ),
    Option(
        "last_page",
        "paper",
        "last_page",
        "filled to its foot, ragged, or auto: filled unless it holds little",
        ("auto", "filled", "ragged"),
    ),
    Option(
        "language",
        "marks",
        "language",
        "in which pedals are named: B is B natural in English, B flat in German",
        ("English", "German", "French", "Italian", "Spanish"),
    ),
    Option(
        "spelling",
        "marks",
        "spelling",
        "F♯ with a sign, or the whole name: F sharp, Fis, fa dièse",
        ("signs", "words"),
    ),
    Option("capitals", "marks", "capitals", "F♯ and Fa♯, or f♯ and fa♯"),
    Option(
        "naturals",
        "marks",
        "naturals",
        "where ♮ is printed: at changes only, or in whole settings too",
        ("changes", "always"),
    ),
    Option("font", "marks", "font", "of all letters", ("sans", "serif")),
    Option("bold", "marks", "bold", "letters in bold type"),
    Option("italic", "marks", "italic", "letters in italics"),
    Option(
        "brackets",
        "marks",
        "brackets",
        "what an editor adds to the source's marks: in brackets, or in small type",
        ("square", "round", "small"),
    ),
    Option(
        "row_distance_spaces",
        "marks",
        "row_distance_spaces",
        "least distance from the line of the diagrams to that of the letters, in staff spaces",
        least=2.5,
        most=8,
    ),
    Option(
        "staff_distance_spaces",
        "marks",
        "staff_distance_spaces",
        "least air between marks and their staff, in staff spaces",
        least=0.3,
        most=4,
    ),
    Option(
        "letter_place",
        "letters",
        "place",
        "above the upper staff, between the two, or below the lower one",
        _PLACES,
    ),
    Option(
        "letter_size",
        "letters",
        "size",
        "in steps from the size of other text; 6 steps double it",
        least=-4,
        most=4,
    ),
    Option(
        "letter_stand",
        "letters",
        "stand",
        "where the plan has the move, at the note that needs it, or at the beat or barline before",
        ("planned", "at-need", "beat-before", "barline-before"),
    ),
    Option(
        "respelled_notes",
        "notes",
        "respelled",
        "played on another string, F on E♯: the string is named, the note rewritten, or neither",
        ("named", "rewritten", "as-written"),
    ),
    Option(
        "diagram_form",
        "diagrams",
        "form",
        "strokes on a line, seven letters in two rows (right foot above), or in one line",
        ("strokes", "rows", "line"),
    ),
    Option(
        "diagram_place",
        "diagrams",
        "place",
        "above the upper staff, between the two, or below the lower one",
        _PLACES,
    ),
    Option(
        "diagram_size",
        "diagrams",
        "size",
        "in steps from the size as drawn; 6 steps double it",
        least=-4,
        most=4,
    ),
    Option(
        "ring_changed",
        "diagrams",
        "ring_changed",
        "a ring around each pedal that moves where a diagram stands",
    ),
    Option(
        "diagrams_at_start",
        "diagrams",
        "at_start",
        "where a movement begins; if not, letters tell what its key signature does not",
    ),
    Option(
        "diagrams_at_sections",
        "diagrams",
        "at_sections",
        "at rehearsal marks, double bars, changes of key, headings, segno and coda",
    ),
    Option(
        "diagrams_at_glissandos", "diagrams", "at_glissandos", "where a run of glissandi begins"
    ),
    Option(
        "diagrams_at_jumps",
        "diagrams",
        "at_jumps",
        "where a repeat or jump comes in with other pedals than stand before; if not, letters",
    ),
    Option(
        "diagrams_after_rest_bars",
        "diagrams",
        "after_rest_bars",
        "after so many bars of rest; 0: after none",
        least=0,
        most=99,
        whole=True,
    ),
    Option(
        "diagrams_after_changes",
        "diagrams",
        "after_changes",
        "after so many changes without a diagram, at a bar without letters; 0: never",
        least=0,
        most=99,
        whole=True,
    ),
    Option(
        "diagrams_at_pages",
        "diagrams",
        "at_pages",
        "at the head of no page, of those after a turn, or of all",
        ("none", "turns", "all"),
    ),
    Option("diagrams_at_systems", "diagrams", "at_systems", "where a system begins"),
    Option(
        "bar_numbers",
        "page",
        "bar_numbers",
        "at the beginning of systems, on every bar, or none",
        ("system", "every", "none"),
    ),
    Option(
        "part_name",
        "page",
        "part_name",
        "the part's name at the head of the first page, and beside each page number",
    ),
    Option("page_numbers", "page", "page_numbers", "at the outer corner, from the second page on"),
    Option(
        "page_turns",
        "page",
        "page_turns",
        "right-hand pages end where a hand is free, if the music allows; or anywhere",
        ("free-hand", "anywhere"),
    ),
    Option(
        "running_head",
        "page",
        "running_head",
        "at the head of later pages, beside the page number",
        ("part-and-title", "part", "title", "none"),
    ),
    Option("first_page_number", "page", "first_page_number", "a number on the first page too"),
    Option(
        "copyright_on",
        "page",
        "copyright_on",
        "which page has the copyright line at its foot",
        ("first", "last", "every"),
    ),
    Option(
        "copyright",
        "page",
        "copyright",
        "the copyright line; empty: that of the score",
        characters=200,
    ),
    Option(
        "plate_number",
        "page",
        "plate_number",
        "the publisher's number, in the middle of every foot; empty: none",
        characters=40,
    ),
    Option(
        "cue_after_rest_bars",
        "page",
        "cue_after_rest_bars",
        "small notes of another part of the score before an entry after so many bars of rest; "
        "0: never",
        least=0,
        most=99,
        whole=True,
    ),
    Option(
        "instrument_place",
        "titles",
        "instrument_place",
        "the part's name on the first page: at its left, above the title, or at its right",
        ("left", "above", "right"),
    ),
    Option(
        "title_size",
        "titles",
        "title_size",
        "of title and subtitles, in steps from the usual; 6 steps double it",
        least=-4,
        most=4,
    ),
    Option(
        "movement_titles",
        "titles",
        "movement_titles",
        "over the first system of every movement but the first; tacet where the harp is silent",
    ),
    Option(
        "text_font",
        "fonts",
        "text",
        "family of titles, tempo marks and other words; empty: LilyPond's own",
        characters=60,
    ),
    Option(
        "letter_font",
        "fonts",
        "letters",
        "family of pedal letters where marks.font is sans; empty: LilyPond's own",
        characters=60,
    ),
)
"""In the order of a file."""

TABLES: tuple[str, ...] = tuple(dict.fromkeys(option.table for option in OPTIONS))
"""The tables of a file, in order."""
