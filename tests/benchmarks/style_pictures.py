# ruff: noqa: T201
"""The table of house styles in pictures: examples/house-styles.md and examples/styles/*.png.

    PYTHONPATH=tests python tests/benchmarks/style_pictures.py examples

One picture for each value of each option, cut from a page that the option has changed, and the
first page of an example in each style. The same program gives the same files.
"""

from __future__ import annotations

import io
import re
import sys
from dataclasses import replace
from pathlib import Path
from typing import Any

from part_builder import build_part
from PIL import Image
from styled_pages import marks_of

from pedalsetter.analysis.ensemble.cues import with_cues
from pedalsetter.analysis.ensemble.full_score import read_full_score
from pedalsetter.analysis.part import HarpPart, Section, SectionReason
from pedalsetter.analysis.planning import plan_changes
from pedalsetter.analysis.reading import read_part
from pedalsetter.engrave.house_style import house_style_names, load_house_style
from pedalsetter.engrave.notation.string_names import as_printed
from pedalsetter.engrave.output.pages.raster import as_png, page_pictures
from pedalsetter.engrave.output.pages.settled_press import SettledPart, engrave_settled
from pedalsetter.engrave.road import mark_score
from pedalsetter.engrave.style_options import OPTIONS, TABLES, Option

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"
DPI = 96

SHORT: HarpPart = build_part(
    "E4+F4/w | C3+D3/w",
    "r/h F#4/h | r/h Bb2/h",
    "r/h Eb4/h | r/h C#3/h",
    "Ab4+G4/w | D3/w",
    tempo=100,
    sections=(Section(3, (SectionReason.REHEARSAL,), "A"),),
)
"""An opening, two letters, a stack, a section with a pedal that moves there."""

GLISSANDO: HarpPart = build_part("E4+F4/w", "F#4/w", *["F#4/w"] * 3, "r/q C4/qgl< C6/qgl> r/q")
REST: HarpPart = build_part("E4+F4/w", *["r/w"] * 4, "F4/w")
JUMP: HarpPart = build_part(
    "D4+Eb4+F4/h E4+F4/h",
    "r/w",
    "E4+F4/w",
    repeat_starts=(0,),
    repeats={1: 2},
    endings={1: (1,), 2: (2,)},
)
RESPELLED: HarpPart = build_part("E#4+E5/h F4+C5/h | r/w", "F#4+F5/h G4/h | C3+B#3/h C3/h")
CHANGES: HarpPart = build_part("F4/h F#4/h", "F4/h F#4/h", "F4/w", "G4/w", tempo=60)


def broken(part: HarpPart, *places: int, **how: Any) -> HarpPart:
    """The part with a new system or page at some bars, by index."""
    bars = tuple(replace(bar, **how) if bar.index in places else bar for bar in part.bars)
    return replace(part, bars=bars)


SYSTEMS = broken(SHORT, 2, new_system=True)
PAGES = broken(SHORT, 2, 3, new_system=True, new_page=True)
TURNS: HarpPart = build_part(
    *["C4/s E4/s G4/s C5/s E5/s C5/s G4/s E4/s C4/s E4/s G4/s C5/s E5/s C5/s G4/s E4/s"] * 17,
    "r/w",
    *["D4/s F4/s A4/s D5/s F5/s D5/s A4/s F4/s D4/s F4/s A4/s D5/s F5/s D5/s A4/s F4/s"] * 25,
    tempo=90,
)

MOVEMENTS = replace(
    build_part("E4+F4/w", "F#4/w", "E4+F4/w", "F#4/w", tempo=100, movements=(2,)),
    movement_titles=("I. Andante", "II. Vivace"),
)
"""Two movements."""

MOVING = replace(SHORT, sections=(Section(2, (SectionReason.REHEARSAL,), "A"),))
"""The section begins where two pedals move."""

SHOWN_IN: dict[str, HarpPart] = {
    "ring_changed": MOVING,
    "respelled_notes": RESPELLED,
    "diagrams_at_glissandos": GLISSANDO,
    "diagrams_at_jumps": JUMP,
    "diagrams_after_rest_bars": REST,
    "diagrams_after_changes": CHANGES,
    "diagrams_at_systems": SYSTEMS,
    "diagrams_at_pages": PAGES,
    "movement_titles": MOVEMENTS,
}
"""Options that the common part would not show."""

WHOLE_PAGES = frozenset(
    (
        "paper_size",
        "staff_size_points",
        "staff_shrink_percent",
        "last_page",
        "part_name",
        "page_numbers",
        "page_turns",
        "mirrored",
        "first_page",
    )
) | {
    option.field
    for option in OPTIONS
    if option.field.startswith("margin_")
    or option.field
    in (
        "running_head",
        "first_page_number",
        "copyright_on",
        "copyright",
        "plate_number",
        "instrument_place",
        "title_size",
        "text_font",
    )
}
"""Options that only whole pages show."""

BESIDE: dict[str, dict[str, Any]] = {
    "naturals": {"diagram_form": "line", "diagram_size": 0.0, "row_distance_spaces": 3.4},
    "font": {"language": "French"},
    "bold": {"language": "French"},
    "italic": {"language": "French"},
    "page_numbers": {"staff_size_points": 24.0},
    "part_name": {"staff_size_points": 24.0},
    "mirrored": {"staff_size_points": 24.0, "margin_left_mm": 30.0},
    "first_page": {"staff_size_points": 24.0, "first_page_number": True},
    "running_head": {"staff_size_points": 24.0},
    "copyright_on": {"staff_size_points": 24.0, "copyright": "© The Invented House"},
}
"""What else a picture has, so that its option is seen."""

NUMBERS: dict[str, tuple[float, ...]] = {
    "staff_size_points": (14, 18, 24),
    "staff_shrink_percent": (0, 6),
    "title_size": (-2, 0, 2),
    "row_distance_spaces": (4.3, 7),
    "staff_distance_spaces": (0.5, 3),
    "letter_size": (-2, 0.5, 3),
    "diagram_size": (-2, 1.5, 4),
    "diagrams_after_rest_bars": (0, 4),
    "diagrams_after_changes": (0, 2),
    "cue_after_rest_bars": (0, 8),
    **{f"margin_{side}_mm": (10, 40) for side in ("top", "bottom", "left", "right")},
}
"""Values shown of an option that takes numbers."""

TEXTS: dict[str, tuple[str, ...]] = {
    "copyright": ("", "© The Invented House"),
    "plate_number": ("", "I. H. 1204"),
    "text_font": ("", "TeX Gyre Heros"),
    "letter_font": ("", "TeX Gyre Cursor"),
}
"""Values shown of an option that takes a text; the fonts come with LilyPond."""

NO_LAYOUT = "the page's own; a score has a layout of its own"
IN_FILE: dict[str, tuple[str, str]] = {
    "language": ("text of `words`", "text of `dir`"),
    "spelling": ("text of `words`", "text of `dir`"),
    "capitals": ("text of `words`", "text of `dir`"),
    "naturals": ("text of `words`", "text of `dir`"),
    "font": ("`font-family`", "`rend` with `fontfam`"),
    "bold": ("`font-weight`", "`rend` with `fontweight`"),
    "italic": ("`font-style`", "`rend` with `fontstyle`"),
    "brackets": (
        "in the text, or a smaller `font-size`; at a diagram of strokes `level` with `bracket`, "
        "`parentheses` or `size`",
        "in the text, or a smaller `fontsize`; a diagram of strokes stands in `supplied`",
    ),
    "row_distance_spaces": ("no means: programs space rows by themselves",) * 2,
    "staff_distance_spaces": ("no means: programs space rows by themselves",) * 2,
    "letter_place": (
        "`placement` and `staff`; between is below the upper staff",
        "`place` and `staff`",
    ),
    "letter_size": ("`font-size`", "`rend` with `fontsize`"),
    "respelled_notes": (
        "named, also where the page has them rewritten: `words` at the note; as written: nothing",
        "named, also where the page has them rewritten: `dir` at the beat; as written: nothing",
    ),
    "letter_stand": ("where the `direction` stands", "`tstamp`"),
    "diagram_form": (
        "strokes are `harp-pedals`; letters are `words`",
        "strokes are `harpPedal`; letters are `dir`",
    ),
    "diagram_place": (
        "`placement` and `staff`; between is below the upper staff",
        "`place` and `staff`",
    ),
    "diagram_size": ("`font-size`", "of letters `fontsize`; `harpPedal` has no size"),
    "ring_changed": (
        "of letters `enclosure`; `harp-pedals` has no ring",
        'of letters `rend="circle"`; `harpPedal` has no ring',
    ),
}
"""How an option stands in the written-back file; others either place diagrams or lay out pages."""


def systems_picture(settled: SettledPart) -> Image.Image:
    """All systems of all pages, one below the other, cut close."""
    boxes = settled.engraved.placement.boxes
    unit = boxes.pages[0].space_mm / 25.4 * DPI
    cuts = []
    for number, page in enumerate(page_pictures(settled.engraved.engraving.pdf, DPI), 1):
        lines = [line for line in boxes.lines if line.page == number and line.is_system]
        if not lines:
            continue
        left = min(line.box.left for line in lines) - 1
        top = min(line.box.top for line in lines) - 1
        right = max(line.box.right for line in lines) + 1
        bottom = max(line.box.bottom for line in lines) + 1
        edges = (max(left, 0), max(top, 0), right, bottom)
        cuts.append(page.crop(tuple(round(edge * unit) for edge in edges)))
    sheet = Image.new("L", (max(cut.width for cut in cuts), sum(cut.height for cut in cuts)), 255)
    down = 0
    for cut in cuts:
        sheet.paste(cut.convert("L"), (0, down))
        down += cut.height
    return sheet


def first_system(settled: SettledPart) -> Image.Image:
    """The first system of the first page."""
    boxes = settled.engraved.placement.boxes
    unit = boxes.pages[0].space_mm / 25.4 * DPI
    line = next(line for line in boxes.lines if line.is_system)
    edges = (line.box.left - 1, line.box.top - 1, line.box.right + 1, line.box.bottom + 1)
    page = next(page_pictures(settled.engraved.engraving.pdf, DPI))
    return page.crop(tuple(round(edge * unit) for edge in edges)).convert("L")


def pages_picture(pdf: bytes, dpi: int) -> Image.Image:
    """All pages side by side, each with an edge."""
    pages = [page.convert("L") for page in page_pictures(pdf, dpi)]
    height = max(page.height for page in pages)
    sheet = Image.new("L", (sum(page.width + 6 for page in pages) + 6, height + 12), 208)
    across = 6
    for page in pages:
        sheet.paste(page, (across, 6))
        across += page.width + 6
    return sheet


def picture(option: Option, value: Any) -> Image.Image:
    """What one value of an option makes of a page."""
    wish = {**BESIDE.get(option.field, {}), option.field: value}
    style = replace(load_house_style(), **wish)
    if option.field == "page_turns":
        settled = engrave_settled(TURNS, marks_of(TURNS, style, False), style)
        return pages_picture(settled.engraved.engraving.pdf, 20)
    if option.field == "cue_after_rest_bars":
        part = read_part(EXAMPLES / "orchestral-nocturne.musicxml")
        mark = marks_of(part, style, False)
        if value:
            score = read_full_score(EXAMPLES / "orchestral-nocturne.musicxml", part)
            part, _, _ = with_cues(part, score, value)
        return first_system(engrave_settled(part, mark, style))
    if option.field in WHOLE_PAGES:
        part = read_part(EXAMPLES / "three-times-round.mxl")
        settled = engrave_settled(part, marks_of(part, style, False), style)
        return pages_picture(settled.engraved.engraving.pdf, 22)
    part = SHOWN_IN.get(option.field, SHORT)
    mark = marks_of(part, style, option.field == "brackets")
    page = as_printed(part, plan_changes(part), style)
    return systems_picture(
        engrave_settled(page, mark, style, source_systems=part in (SYSTEMS, PAGES))
    )


def values_of(option: Option) -> tuple[Any, ...]:
    """The values that are shown."""
    if option.choices:
        return option.choices
    if option.characters:
        return TEXTS[option.field]
    return NUMBERS.get(option.field, (True, False))


def told(value: Any) -> str:
    """A value as it stands in the file."""
    return (
        str(value).lower()
        if isinstance(value, bool)
        else f"{value:g}"
        if isinstance(value, (int, float))
        else f'"{value}"'
    )


def saved(folder: Path, name: str, image: Image.Image, dpi: int = DPI) -> str:
    """Write a small picture; return its name in the folder of examples."""
    file = folder / "styles" / f"{name}.png"
    file.parent.mkdir(parents=True, exist_ok=True)
    small = Image.open(io.BytesIO(as_png(image, dpi)))
    small.save(file, "PNG", optimize=True, bits=4, dpi=(dpi, dpi))
    print(f"{file.name}: {file.stat().st_size / 1000:.1f} kB")
    return f"styles/{file.name}"


def in_file(option: Option) -> tuple[str, str]:
    """How the option stands in MusicXML and in MEI."""
    if option.field in IN_FILE:
        return IN_FILE[option.field]
    if option.table == "diagrams":
        if option.field in ("diagrams_at_pages", "diagrams_at_systems"):
            where = (
                "where the score's own systems and pages begin, if it tells; else as on our page"
            )
            return where, where
        return "where diagrams stand", "where diagrams stand"
    return NO_LAYOUT, NO_LAYOUT


def main(folder: Path) -> None:
    """Write the pictures and the page that shows them."""
    lines = [
        "# House styles in pictures",
        "",
        "Made by `tests/benchmarks/style_pictures.py`. `pedalsetter styles` lists the styles, "
        "`pedalsetter styles NAME` prints one as a file with every option, to begin your own from.",
        "",
        "## The styles",
        "",
        "*Evening Water*, its first page in each style.",
        "",
        "| style | page |",
        "| --- | --- |",
    ]
    for name in house_style_names():
        result = mark_score(EXAMPLES / "evening-water.musicxml", house_style=name, dpi=None)
        image = next(page_pictures(result.pdf, 31)).convert("L")
        file = saved(folder, f"style-{name}", image, 31)
        lines.append(f"| `{name}`: {load_house_style(name).description} | ![{name}]({file}) |")
    for table in TABLES:
        lines += ["", f"## `[{table}]`", "", "| option | values | in MusicXML | in MEI |"]
        lines.append("| --- | --- | --- | --- |")
        for option in OPTIONS:
            if option.table != table:
                continue
            cells = []
            for value in values_of(option):
                shown = value or "none" if option.characters else told(value)
                name = re.sub(r"[^\w.-]+", "-", f"{table}-{option.key}-{shown}".replace('"', ""))
                name = name.replace("_", "-")
                image = picture(option, value)
                file = saved(folder, name, image)
                cells.append(
                    f"`{told(value)}` ![{told(value)}]({file})".replace('!["', "![").replace(
                        '"](', "]("
                    )
                )
            musicxml, mei = in_file(option)
            says = option.says[0].upper() + option.says[1:]
            lines.append(f"| `{option.key}` {says}. | {'<br>'.join(cells)} | {musicxml} | {mei} |")
    (folder / "house-styles.md").write_text("\n".join(lines) + "\n", "utf-8")


if __name__ == "__main__":
    main(Path(sys.argv[1]))
