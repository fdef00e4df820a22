"""Reads decisions from the file beside the score: ``sonata.pedals.toml`` for ``sonata.musicxml``.

Every mistake in the file is told in one line: the file, the table, the key, what is wrong, and the
mend.
"""

from __future__ import annotations

import os
import re
import tomllib
from collections.abc import Callable, Mapping
from dataclasses import replace
from fractions import Fraction
from pathlib import Path
from typing import Any

from pedalsetter.analysis.decisions.values import (
    ChangePin,
    CuePin,
    Decisions,
    DiagramPin,
    FootPin,
    OpeningPin,
    Pedals,
    Pin,
    Respell,
    RespellingPin,
    SettingPin,
    SmallNotesPin,
    Spot,
    WrittenNote,
)
from pedalsetter.analysis.errors import DecisionsError
from pedalsetter.analysis.instrument.harp import LETTERS, MIDDLE, Foot, Letter, Position

__all__ = ["decisions_beside", "load_decisions", "parse_decisions"]


def decisions_beside(score: str | os.PathLike[str]) -> Path:
    """Where the decisions about a score are looked for: ``sonata.pedals.toml``."""
    path = Path(score)
    stem = path.name.removesuffix(path.suffix) or path.name
    return path.parent / f"{stem}.pedals.toml"


def load_decisions(file: str | os.PathLike[str]) -> Decisions:
    """The decisions in a TOML file.

    Raises:
        DecisionsError: the file cannot be read, is no TOML, or says something impossible.
    """
    path = Path(file)
    try:
        text = path.read_text(encoding="utf-8")
    except FileNotFoundError as error:
        raise DecisionsError("there is no such file", file=str(file)) from error
    except UnicodeDecodeError as error:
        raise DecisionsError(
            "the file is not written in UTF-8", file=path.name, mend="Save it as UTF-8."
        ) from error
    except OSError as error:
        reason = error.strerror or "it cannot be opened"
        raise DecisionsError(f"the file cannot be read: {reason}", file=str(file)) from error
    return parse_decisions(text, path.name)


def parse_decisions(text: str, file: str = "") -> Decisions:
    """The decisions in the text of a TOML file; ``file`` is its name, for errors.

    >>> parse_decisions('change = [{ at = "12:3", pedal = "F♯" }]').pins[0].letter
    <Letter.F: 'F'>

    Raises:
        DecisionsError: the text is no TOML, or says something impossible.
    """
    try:
        data = tomllib.loads(text, parse_float=_exact)
    except (tomllib.TOMLDecodeError, ValueError, RecursionError) as error:
        what = str(error) if not isinstance(error, RecursionError) else "too deeply nested"
        raise DecisionsError(
            f"this is no TOML: {what}",
            file=file or None,
            mend="The guide, examples/guide/decisions.md, shows what the file may hold.",
        ) from error
    return _File(file, data).read()


def _exact(text: str) -> Fraction:
    if len(text) > 24 or "e" in text.lower():
        raise ValueError(f"'{text[:24]}' is no plain number")
    return Fraction(text.replace("_", ""))


_SIGNS = {
    "": 0, "♮": 0, "n": 0,
    "♭": -1, "b": -1, "♭♭": -2, "bb": -2, "𝄫": -2,
    "♯": 1, "#": 1, "♯♯": 2, "##": 2, "x": 2, "𝄪": 2,
}  # fmt: skip
_NOTE = re.compile(r"([A-G])(♭♭|♭|bb|b|♯♯|♯|##|#|x|♮|n|𝄪|𝄫)?(-?\d)?")
_BARS = re.compile(r"\s*(\S+?)\s*(?:(?:–|-|\.\.|\bto\b)\s*(\S+))?\s*")
_HOW_MANY_PINS = 20_000
_SPOT = ("at", "movement", "piece", "grace")


class _File:
    """One file, table by table."""

    def __init__(self, file: str, data: Mapping[str, Any]) -> None:
        self._file = file
        self._data = data

    def read(self) -> Decisions:
        readers: dict[str, Callable[[_Table], Pin]] = {
            "opening": _opening,
            "foot": _foot,
            "respelling": _respelling,
            "setting": _setting,
            "change": _change,
            "diagram": _diagram,
        }
        root = _Table(self._file, "", self._data)
        root.only(("respell", "crossing", "two-pedals", "times", *readers, "small-notes", "cue"))
        pins: list[Pin] = []
        for name, reader in readers.items():
            pins += [reader(table) for table in self._tables(root, name)]
        small = tuple(_small_notes(table) for table in self._tables(root, "small-notes"))
        cues = tuple(_cue(table) for table in self._tables(root, "cue"))
        if len(pins) > _HOW_MANY_PINS:
            raise DecisionsError(
                f"{len(pins)} decisions are more than one score can need",
                file=self._file or None,
                mend=f"Keep to {_HOW_MANY_PINS}.",
            )
        policy = root.text("respell", optional=True)
        respell = root.choice("respell", policy, Respell) if policy is not None else None
        times = self._data.get("times", {})
        if not isinstance(times, dict):
            raise root.error("times", "it is a table", "Head it with [times].")
        decided = self._timed(_Table(self._file, "[times]", times), tuple(pins), respell)
        return replace(decided, small_notes=small, cues=cues).with_feet(
            crossing=root.yes("crossing") if root.has("crossing") else None,
            two_pedals=root.yes("two-pedals") if root.has("two-pedals") else None,
        )

    def _tables(self, root: _Table, name: str) -> list[_Table]:
        tables = self._data.get(name, [])
        if not isinstance(tables, list) or not all(isinstance(one, dict) for one in tables):
            raise root.error(name, "it is a list of tables", f"Head each with [[{name}]].")
        labels = [f"[[{name}]]"]
        if len(tables) > 1:
            labels = [f"[[{name}]] no. {number}" for number in range(1, len(tables) + 1)]
        return [
            _Table(self._file, label, table) for label, table in zip(labels, tables, strict=False)
        ]

    def _timed(self, times: _Table, pins: tuple[Pin, ...], respell: Respell | None) -> Decisions:
        times.only(("comfortable", "least", "two-notches", "crossing", "ring"))
        comfortable = times.seconds("comfortable")
        least = times.seconds("least")
        factor = times.seconds("two-notches")
        if factor is not None and factor < 1:
            raise times.error("two-notches", "two notches never take less time than one")
        ring = times.value("ring", list, "three numbers of seconds", optional=True)
        rings: tuple[Fraction, Fraction, Fraction] | None = None
        if ring is not None:
            if len(ring) != 3:
                raise times.error("ring", "it is three numbers: low, middle and high strings")
            low, middle, high = (times.number("ring", one) for one in ring)
            if not low or not middle or not high:
                raise times.error("ring", "a string rings for some time")
            rings = (low, middle, high)
        return Decisions(
            pins,
            respell,
            comfortable,
            least,
            factor,
            rings,
            self._file,
            crossing_seconds=times.seconds("crossing"),
        )


class _Table:
    """One table of the file, with errors that name file, table and key."""

    def __init__(self, file: str, label: str, data: Mapping[str, Any]) -> None:
        self._file = file
        self._label = label
        self._data = data

    def error(self, key: str | None, what: str, mend: str | None = None) -> DecisionsError:
        place = self._label
        if key is not None:
            place = f"{place}, key '{key}'" if place else f"key '{key}'"
        told = f"{place}: {what}" if place else what
        return DecisionsError(told, file=self._file or None, mend=mend)

    def only(self, keys: tuple[str, ...]) -> None:
        for key in self._data:
            if key not in keys:
                raise self.error(key, "there is no such key here", f"Choose from {_or(keys)}.")

    def has(self, key: str) -> bool:
        return key in self._data

    def value(self, key: str, kind: type, called: str, *, optional: bool = False) -> Any:
        if key not in self._data:
            if optional:
                return None
            raise self.error(key, "it is missing", f"Give it {called}.")
        value = self._data[key]
        if not isinstance(value, kind) or (kind is int and isinstance(value, bool)):
            raise self.error(key, f"it is {called}, not {_shown(value)}")
        return value

    def text(self, key: str, *, optional: bool = False) -> str | None:
        text: str | None = self.value(key, str, "a text in quotes", optional=optional)
        return text

    def count(self, key: str, *, least: int = 1) -> int | None:
        number: int | None = self.value(key, int, "a whole number", optional=True)
        if number is not None and number < least:
            raise self.error(key, f"it counts from {least}, not {number}")
        return number

    def yes(self, key: str) -> bool:
        value = self.value(key, bool, "true or false", optional=True)
        return True if value is None else bool(value)

    def number(self, key: str, value: Any) -> Fraction:
        if isinstance(value, bool) or not isinstance(value, int | Fraction):
            raise self.error(key, f"it is a number, not {_shown(value)}")
        if not 0 <= value <= 60:
            raise self.error(key, f"it lies between 0 and 60, not {_shown(value)}")
        return Fraction(value)

    def seconds(self, key: str) -> Fraction | None:
        return self.number(key, self._data[key]) if key in self._data else None

    def choice(self, key: str, text: str, kind: type[Respell]) -> Respell:
        for one in kind:
            if one.value == text:
                return one
        raise self.error(key, f"'{text}' is unknown", f"Choose {_or([o.value for o in kind])}.")

    def spot(self) -> Spot:
        grace = self.count("grace", least=0)
        return Spot(self.at("at"), self.count("movement"), self.count("piece"), grace or 0)

    def at(self, key: str) -> str:
        value = self._data.get(key)
        if isinstance(value, int) and not isinstance(value, bool):
            return str(value)
        text = self.text(key)
        if text is None or not text.strip():
            raise self.error(key, "it names no place", "Write BAR or BAR:BEAT, as in 12:3.")
        return text.strip()

    def pedal(self, key: str) -> tuple[Letter, Position]:
        pedals = self.pedals(key)
        if len(pedals) != 1:
            raise self.error(key, "it names one pedal", "Write a letter and its sign, as in F♯.")
        return pedals[0]

    def pedals(self, key: str) -> Pedals:
        text = self.text(key) or ""
        found: dict[Letter, Position] = {}
        for word in text.replace("|", " ").replace(",", " ").split():
            match = _NOTE.fullmatch(word[:1].upper() + word[1:])
            if match is None or match[3] or abs(_SIGNS[match[2] or ""]) == 2:
                raise self.error(
                    key,
                    f"'{word}' is no pedal position",
                    "Write a letter and its sign, as in C♯, Bb or F.",
                )
            letter = Letter(match[1])
            if letter in found:
                raise self.error(key, f"the {letter.value} pedal stands twice in '{text}'")
            found[letter] = Position(_SIGNS[match[2] or ""])
        if not found:
            raise self.error(key, "it names no pedal", "Write letters and signs, as in D♭ C♯ B.")
        return tuple((letter, found[letter]) for letter in LETTERS if letter in found)

    def note(self, key: str, *, octave: bool) -> WrittenNote:
        text = (self.text(key) or "").strip()
        match = _NOTE.fullmatch(text[:1].upper() + text[1:])
        if match is None:
            raise self.error(key, f"'{text}' is no note", "Write it as C♯5, Bb3 or F##4.")
        if octave and match[3] is None:
            raise self.error(key, f"'{text}' has no octave", "Write it as C♯5; C4 is the middle C.")
        number = None if match[3] is None else int(match[3])
        return WrittenNote(Letter(match[1]), _SIGNS[match[2] or ""], number)

    def staff(self) -> int | None:
        text = self.text("staff", optional=True)
        if text is None:
            return None
        staves = {"upper": 1, "lower": 2}
        if text not in staves:
            raise self.error("staff", f"'{text}' is no staff", "Write upper or lower.")
        return staves[text]

    def bars(self) -> tuple[str, str]:
        """The first and the last of some bars."""
        match = _BARS.fullmatch(self.at("bars"))
        if match is None:
            raise self.error("bars", "it names no bars", "Write one bar or two, as in '8-12'.")
        return match[1], match[2] or match[1]

    def inner(self, key: str) -> _Table:
        value = self.value(key, dict, "a place, as in { at = '12:3' }")
        return _Table(self._file, f"{self._label}, key '{key}'", value)


def _opening(table: _Table) -> Pin:
    table.only(("movement", "pedals"))
    return OpeningPin(table.pedals("pedals"), table.count("movement") or 1)


def _foot(table: _Table) -> Pin:
    table.only(("pedal", "foot"))
    text = (table.text("pedal") or "").strip().upper()
    if text not in {letter.value for letter in LETTERS}:
        raise table.error("pedal", f"'{text}' is no pedal", "Write one letter, as in E.")
    letter = Letter(text)
    told = table.text("foot") or ""
    feet = {foot.value: foot for foot in Foot}
    if told not in feet:
        raise table.error("foot", f"'{told}' is no foot", "Write left or right.")
    foot = feet[told]
    if foot is not letter.foot and letter not in MIDDLE:
        raise table.error(
            "foot",
            f"the {foot.value} foot does not reach the {letter.value} pedal",
            "Only E by the left foot and B by the right are possible.",
        )
    return FootPin(letter, foot)


def _respelling(table: _Table) -> Pin:
    played = table.pedal("played") if table.has("played") else None
    wanted = table.yes("wanted")
    if played is not None and not wanted:
        raise table.error("played", "a note that stays as written has no other letter")
    if not table.has("bars"):
        table.only((*_SPOT, "note", "staff", "wanted", "played", "neighbour"))
        note = table.note("note", octave=True)
        beside = table.has("neighbour") and table.yes("neighbour")
        return RespellingPin(
            table.spot(), None, note, table.staff(), wanted, played, neighbour=beside
        )
    table.only(("bars", "movement", "note", "staff", "wanted", "played"))
    span = table.bars()
    named = table.note("note", octave=False) if table.has("note") else None
    if played is not None and named is None:
        raise table.error("played", "it is said of one note", "Give the key 'note' too.")
    movement = table.count("movement")
    return RespellingPin(None, span, named, table.staff(), wanted, played, movement)


def _small_notes(table: _Table) -> SmallNotesPin:
    table.only(("bars", "movement", "staff", "sounds"))
    return SmallNotesPin(table.bars(), table.yes("sounds"), table.staff(), table.count("movement"))


def _cue(table: _Table) -> CuePin:
    table.only(("bar", "movement", "part", "wanted"))
    wanted = table.yes("wanted")
    part = table.at("part") if table.has("part") else ""
    if part and not wanted:
        raise table.error("part", "where no cue is wanted no part is named")
    return CuePin(table.at("bar"), part, wanted, table.count("movement"))


def _setting(table: _Table) -> Pin:
    table.only((*_SPOT, "pedals"))
    return SettingPin(table.spot(), table.pedals("pedals"))


def _change(table: _Table) -> Pin:
    table.only((*_SPOT, "pedal", "needed"))
    letter, position = table.pedal("pedal")
    needed = None
    if table.has("needed"):
        inner = table.inner("needed")
        inner.only(_SPOT)
        needed = inner.spot()
    return ChangePin(table.spot(), letter, position, needed)


def _diagram(table: _Table) -> Pin:
    table.only((*_SPOT, "wanted"))
    return DiagramPin(table.spot(), table.yes("wanted"))


def _or(words: tuple[str, ...] | list[str]) -> str:
    return " or ".join(filter(None, (", ".join(words[:-1]), words[-1])))


def _shown(value: object) -> str:
    """A value as the file has it."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        return f"'{value}'" if len(value) <= 40 else f"'{value[:37]}…'"
    if isinstance(value, Fraction):
        return f"{float(value):g}"
    if isinstance(value, int):
        return str(value)
    return "a table" if isinstance(value, dict) else "a list" if isinstance(value, list) else "that"
