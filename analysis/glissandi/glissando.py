"""Settings for a glissando: the seven strings of every octave sound, so all seven count.

A glissando over a chord or scale is had by tuning unisons (C with B♯, E with F♭ …) until the
strings sound the wanted pitch classes and nothing else. Where no setting does so exactly, the
nearest ones are given with what is missing and what is foreign to the chord; foreign notes are a
choice of the composer, not an error.

Sources: H. Berlioz, *Grand traité d'instrumentation*, "La Harpe" (a diminished seventh by three
unisons); N. Rimsky-Korsakov, *Principles of Orchestration*, ch. IV (glissandi with notes foreign to
the harmony). The counts were found by going through all 2,187 settings.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from functools import cache

from pedalsetter.analysis.errors import SettingError
from pedalsetter.analysis.instrument.harp import LETTERS, Letter, Position, Setting

__all__ = [
    "GlissandoAnswer",
    "GlissandoSetting",
    "exact_settings",
    "glissando_settings",
    "nearest_settings",
    "settings_without_foreign_notes",
]


@dataclass(frozen=True, slots=True)
class GlissandoSetting:
    """One setting, measured against the pitch classes that are wanted."""

    setting: Setting
    missing: tuple[int, ...]
    """Wanted pitch classes (C = 0) that no string sounds, upwards."""
    foreign: tuple[Letter, ...]
    """Letters whose strings sound a pitch class that is not wanted, in pedal order."""
    moves: int
    """Pedals that move from the starting setting, 0 to 7; 0 if none was given."""
    notches: int
    """Notches that these pedals travel in all, 0 to 14."""

    @property
    def exact(self) -> bool:
        """Whether the strings sound every wanted pitch class and nothing else."""
        return not self.missing and not self.foreign

    @property
    def unisons(self) -> tuple[tuple[Letter, ...], ...]:
        """Letters whose strings sound alike, each group in pedal order."""
        groups: dict[int, list[Letter]] = {}
        for letter in LETTERS:
            groups.setdefault(self.setting.pitch_class(letter), []).append(letter)
        return tuple(tuple(group) for group in groups.values() if len(group) > 1)

    @property
    def foreign_pitch_classes(self) -> tuple[int, ...]:
        """The pitch classes (C = 0) that sound though they are not wanted, upwards."""
        return tuple(sorted({self.setting.pitch_class(letter) for letter in self.foreign}))


@dataclass(frozen=True, slots=True)
class GlissandoAnswer:
    """All that can be had for one set of pitch classes, best first in each group."""

    exact: tuple[GlissandoSetting, ...]
    """Every setting that sounds the whole set and nothing else."""
    inside: tuple[GlissandoSetting, ...]
    """Every setting without a foreign note that leaves some of the set out."""
    nearest: tuple[GlissandoSetting, ...]
    """Of the settings with foreign notes those that miss least and add least."""

    @property
    def best(self) -> tuple[GlissandoSetting, ...]:
        """The first of the three groups that is not empty."""
        return self.exact or self.inside or self.nearest


def glissando_settings(
    pitch_classes: Iterable[int],
    start: Setting | None = None,
    fixed: Mapping[Letter, Position] | None = None,
    nearest: int = 5,
) -> GlissandoAnswer:
    """The settings for a glissando over these pitch classes, in three groups.

    In each group fewest missing pitch classes come first, then fewest strings that sound a foreign
    note, then fewest pedal moves from ``start`` and fewest notches; ``nearest`` limits the third.

    >>> answer = glissando_settings({0, 3, 6, 9}, nearest=1)
    >>> [found.setting.pattern for found in answer.exact], len(answer.inside)
    (['sns|bsbn'], 0)

    Raises:
        SettingError: no pitch class at all, or one outside 0 to 11.
    """
    wanted = tuple(pitch_classes)
    pure = _search(wanted, start, fixed, lambda _missing, foreign: not foreign)
    return GlissandoAnswer(
        exact=tuple(one for one in pure if one.exact),
        inside=tuple(one for one in pure if one.missing),
        nearest=_search(
            wanted, start, fixed, lambda _missing, foreign: bool(foreign), max(nearest, 0)
        ),
    )


def exact_settings(
    pitch_classes: Iterable[int],
    start: Setting | None = None,
    fixed: Mapping[Letter, Position] | None = None,
) -> tuple[GlissandoSetting, ...]:
    """Every setting whose strings sound exactly these pitch classes (C = 0).

    Fewest pedal moves from ``start`` come first, then fewest notches; without a start, and among
    equals, flats come before sharps in pedal order. ``fixed`` names pedals that must not stand
    elsewhere, because notes around the glissando need them.

    >>> [found.setting.pattern for found in exact_settings({0, 3, 6, 9})]
    ['sns|bsbn']

    Raises:
        SettingError: no pitch class at all, or one outside 0 to 11.
    """
    return _search(pitch_classes, start, fixed, lambda missing, foreign: not missing | foreign)


def settings_without_foreign_notes(
    pitch_classes: Iterable[int],
    start: Setting | None = None,
    fixed: Mapping[Letter, Position] | None = None,
) -> tuple[GlissandoSetting, ...]:
    """Every setting whose strings stay inside these pitch classes; some may be missing.

    Fewest missing pitch classes come first, then as in :func:`exact_settings`.

    >>> settings_without_foreign_notes({0, 4, 7})
    ()

    Raises:
        SettingError: no pitch class at all, or one outside 0 to 11.
    """
    return _search(pitch_classes, start, fixed, lambda _missing, foreign: not foreign)


def nearest_settings(
    pitch_classes: Iterable[int],
    start: Setting | None = None,
    fixed: Mapping[Letter, Position] | None = None,
    *,
    count: int = 5,
) -> tuple[GlissandoSetting, ...]:
    """The ``count`` settings that come nearest to these pitch classes.

    Fewest missing pitch classes come first, then fewest strings that sound a foreign note, then as
    in :func:`exact_settings`; so exact settings, where there are any, lead the list.

    >>> best = nearest_settings({0, 4, 7, 10}, count=1)[0]
    >>> best.missing, [letter.value for letter in best.foreign]
    ((), ['D'])

    Raises:
        SettingError: no pitch class at all, or one outside 0 to 11.
    """
    return _search(pitch_classes, start, fixed, lambda _missing, _foreign: True, max(count, 0))


def _search(
    pitch_classes: Iterable[int],
    start: Setting | None,
    fixed: Mapping[Letter, Position] | None,
    wanted_one: Callable[[int, int], bool],
    most: int | None = None,
) -> tuple[GlissandoSetting, ...]:
    """The best ``most`` settings of which ``wanted_one(missing, foreign)`` holds, best first.

    Its arguments are sets of pitch classes as twelve bits.
    """
    wanted = _checked(pitch_classes)
    want = sum(1 << pitch_class for pitch_class in wanted)
    pins = tuple((fixed or {}).items())
    found: list[tuple[int, int, int, int, Setting]] = []
    for setting, sounding, strings in _every_sounding():
        if not wanted_one(want & ~sounding, sounding & ~want):
            continue
        if any(setting[letter] is not position for letter, position in pins):
            continue
        missing = (want & ~sounding).bit_count()
        foreign = sum(not want & string for string in strings)
        moves = notches = 0
        if start is not None:
            moves = len(start.letters_unlike(setting))
            notches = start.notches_to(setting)
        found.append((missing, foreign, moves, notches, setting))
    # The sort is stable, so equals keep the order of Setting.every: flats before sharps.
    found.sort(key=lambda one: one[:4])
    return tuple(
        GlissandoSetting(
            setting,
            missing=tuple(pc for pc in wanted if pc not in setting.pitch_classes()),
            foreign=tuple(
                letter for letter in LETTERS if not want >> setting.pitch_class(letter) & 1
            ),
            moves=moves,
            notches=notches,
        )
        for _, _, moves, notches, setting in found[:most]
    )


def _checked(pitch_classes: Iterable[int]) -> tuple[int, ...]:
    wanted = tuple(sorted(set(pitch_classes)))
    if not wanted:
        raise SettingError(
            "a glissando needs at least one pitch class", mend="Give numbers from 0 (C) to 11 (B)."
        )
    for pitch_class in wanted:
        if not 0 <= pitch_class <= 11:
            raise SettingError(
                f"{pitch_class} is no pitch class", mend="Give numbers from 0 (C) to 11 (B)."
            )
    return wanted


@cache
def _every_sounding() -> tuple[tuple[Setting, int, tuple[int, ...]], ...]:
    """All 2,187 settings with what they sound, whole and letter by letter, as sets of bits."""
    found = []
    for setting in Setting.every():
        strings = tuple(1 << setting.pitch_class(letter) for letter in LETTERS)
        sounding = 0
        for string in strings:
            sounding |= string
        found.append((setting, sounding, strings))
    return tuple(found)
