"""Settings for a glissando, for the terminal and as JSON."""

from __future__ import annotations

import json
from collections.abc import Sequence
from typing import Any

from rich.console import Console
from rich.table import Table
from rich.text import Text

from pedalsetter.analysis.glissandi.glissando import GlissandoAnswer, GlissandoSetting
from pedalsetter.analysis.glissandi.pitch_sets import PitchSet
from pedalsetter.analysis.instrument.harp import Letter, Setting
from pedalsetter.engrave.output.reports.plan_document import setting_document
from pedalsetter.engrave.output.reports.report import console_for_results
from pedalsetter.engrave.output.reports.terminal import shown

__all__ = ["glissando_json", "moves_told", "print_glissando"]

_PITCH_CLASSES = ("C", "C♯", "D", "E♭", "E", "F", "F♯", "G", "A♭", "A", "B♭", "B")


def print_glissando(wanted: PitchSet, answer: GlissandoAnswer, start: Setting | None) -> None:
    """Print the three groups of settings, each as a table."""
    console = console_for_results()
    notes = " ".join(map(str, wanted.notes))
    named = f"{wanted.name}: {notes}" if wanted.name != notes else notes
    console.print(Text(named, style="bold"))
    if start is not None:
        console.print(Text(f"from {start}"))
    groups = (
        ("exactly these notes", answer.exact),
        ("no foreign note, but not all of them", answer.inside),
        ("nearest, with foreign notes", answer.nearest),
    )
    for title, settings in groups:
        if settings:
            console.print(Text(f"\n{title} ({len(settings)})"))
            _print_table(console, wanted, settings, start)
        else:
            console.print(Text(f"\n{title}: none"))


def _print_table(
    console: Console,
    wanted: PitchSet,
    settings: Sequence[GlissandoSetting],
    start: Setting | None,
) -> None:
    table = Table(box=None, pad_edge=False, header_style="bold")
    table.add_column("setting", no_wrap=True)
    if start is not None:
        table.add_column("moves")
    table.add_column("unisons")
    for column, is_wanted in (
        ("missing", any(one.missing for one in settings)),
        ("foreign", any(one.foreign for one in settings)),
    ):
        if is_wanted:
            table.add_column(column)
    for one in settings:
        row = [str(one.setting)]
        if start is not None:
            row.append(moves_told(one, start))
        row.append(", ".join(" = ".join(_names(one.setting, group)) for group in one.unisons))
        if any(other.missing for other in settings):
            row.append(" ".join(_missing(wanted, one)))
        if any(other.foreign for other in settings):
            row.append(" ".join(_names(one.setting, one.foreign)))
        table.add_row(*map(shown, row))
    console.print(table)


def moves_told(one: GlissandoSetting, start: Setting) -> str:
    """``2 (B♯ F♭)``; a notch more than pedals is told too, as a pedal passes the natural."""
    moved = start.letters_unlike(one.setting)
    if not moved:
        return "0"
    notches = f", {one.notches} notches" if one.notches != one.moves else ""
    return f"{one.moves} ({' '.join(_names(one.setting, moved))}{notches})"


def glissando_json(wanted: PitchSet, answer: GlissandoAnswer, start: Setting | None) -> str:
    """The answer as a JSON document."""
    document = {
        "format": "pedalsetter glissando",
        "version": 1,
        "name": wanted.name,
        "notes": [str(note) for note in wanted.notes],
        "pitch_classes": list(wanted.pitch_classes),
        "from": None if start is None else setting_document(start),
        "exact": [_entry(wanted, one, start) for one in answer.exact],
        "inside": [_entry(wanted, one, start) for one in answer.inside],
        "nearest": [_entry(wanted, one, start) for one in answer.nearest],
    }
    return json.dumps(document, ensure_ascii=False, indent=2) + "\n"


def _entry(wanted: PitchSet, one: GlissandoSetting, start: Setting | None) -> dict[str, Any]:
    entry: dict[str, Any] = {
        **setting_document(one.setting),
        "unisons": [list(_names(one.setting, group)) for group in one.unisons],
        "missing": _missing(wanted, one),
        "foreign": _names(one.setting, one.foreign),
    }
    if start is not None:
        moved = start.letters_unlike(one.setting)
        entry |= {
            "moves": one.moves,
            "notches": one.notches,
            "moved": _names(one.setting, moved),
        }
    return entry


def _names(setting: Setting, letters: Sequence[Letter]) -> list[str]:
    return [f"{letter.value}{setting[letter].sign}" for letter in letters]


def _missing(wanted: PitchSet, one: GlissandoSetting) -> list[str]:
    return [
        wanted.name_of(pitch_class) or _PITCH_CLASSES[pitch_class] for pitch_class in one.missing
    ]
