"""Parts made by chance of what notation finds hard: voices, staves, hidden and small notes, slurs.

The music means nothing; every bar is full in every voice that it has. The same seed gives the same
part on every machine.
"""

from __future__ import annotations

import random
from collections.abc import Iterator
from dataclasses import dataclass, field
from fractions import Fraction

from score_snippets import TREBLE_AND_BASS, bars, direction, move, note, opening, score

__all__ = ["varied_part"]

_BEATS = (("1",), ("1/2", "1/2"), ("1/4", "1/4", "1/2"), ("1/3", "1/3", "1/3"), ("3/4", "1/4"))
_HIGH = ("C5", "D5", "E5", "F5", "G5", "A5", "B5", "Bb4", "F#5", "Eb5")
_LOW = ("C3", "D3", "E3", "F3", "G3", "A2", "B2", "Bb2", "F#3", "Eb3")
_DYNAMICS = ("p", "mf", "f", "ppp", "sfz", "fff")


@dataclass
class _Writer:
    chance: random.Random
    open_slurs: dict[int, tuple[Fraction, str]] = field(default_factory=dict)
    """Number to where it began and in which voice."""
    slurs: int = 0
    plain: bool = False
    """Whether voices keep to their staves and nothing is hidden."""

    def slur(self, now: Fraction, voice: str) -> str:
        """Ends one of the slurs, often one of another voice, and begins one."""
        signs = ""
        for number, (since, of) in sorted(self.open_slurs.items()):
            ends = self.chance.random() < (0.5 if of == voice else 0.35)
            if ends and since < now:
                signs += f'<slur type="stop" number="{number}"/>'
                del self.open_slurs[number]
                break
        free = [number for number in range(1, 5) if number not in self.open_slurs]
        if free and self.chance.random() < 0.2:
            self.open_slurs[free[0]] = (now, voice)
            signs += f'<slur type="start" number="{free[0]}"/>'
            self.slurs += 1
        return signs


def varied_part(seed: int, count: int = 4, *, plain: bool = False) -> bytes:
    """The MusicXML of one part of ``count`` bars; ``plain``: nothing hidden, no staff left."""
    chance = random.Random(seed)  # noqa: S311 - music, not secrets
    writer = _Writer(chance, plain=plain)
    contents = []
    for index in range(count):
        voices = [(1, voice) for voice in range(1, 1 + chance.choice((1, 1, 2, 2, 3, 4)))]
        voices += [(2, voice) for voice in range(5, 5 + chance.choice((1, 1, 2, 2, 3)))]
        lines = [list(_line(writer, index, staff, voice)) for staff, voice in voices]
        contents.append(move(-4).join("".join(line) for line in lines))
    first = opening(staves=2, clefs=TREBLE_AND_BASS, fifths=chance.choice((-3, 0, 2)))
    return score(bars(*contents, first=first))


def _line(writer: _Writer, bar: int, staff: int, voice: int) -> Iterator[str]:
    """One voice of one bar, beat by beat."""
    chance = writer.chance
    now = Fraction(4 * bar)
    crossing = voice in (1, 5) and chance.random() < 0.4 and not writer.plain
    kind = chance.random()
    if kind < 0.06:
        yield note('<rest measure="yes"/>', 4, voice=voice, staff=staff)
        return
    is_small = kind < 0.16
    for _ in range(4):
        if voice in (1, 5) and chance.random() < 0.12:
            sign = chance.choice(_DYNAMICS)
            side = chance.choice(("above", "below"))
            yield direction(
                f"<dynamics><{sign}/></dynamics>",
                after=f"<staff>{staff}</staff>",
                attributes=f'placement="{side}"',
            )
        beat = chance.choice(_BEATS)
        flagged = len(beat) > 1
        rests = chance.random() < 0.12
        for place, length in enumerate(beat):
            where = staff if not (crossing and place >= len(beat) / 2) else 3 - staff
            yield from _note(
                writer,
                (now, where, voice),
                (length, beat, place, flagged and not rests),
                is_rest=rests,
                is_small=is_small,
            )
            now += Fraction(length)


def _note(
    writer: _Writer,
    at: tuple[Fraction, int, int],
    how: tuple[str, tuple[str, ...], int, bool],
    *,
    is_rest: bool,
    is_small: bool,
) -> Iterator[str]:
    chance = writer.chance
    now, staff, voice = at
    length, beat, place, beamed = how
    triplet = length == "1/3"
    signs = ""
    if triplet and place in (0, 2):
        signs += f'<tuplet type="{"start" if place == 0 else "stop"}"/>'
    after = ""
    if beamed:
        kind = "begin" if place == 0 else "end" if place == len(beat) - 1 else "continue"
        after = f'<beam number="1">{kind}</beam>'
    common = {
        "kind": "eighth" if triplet else "16th" if length == "1/4" else None,
        "ratio": (3, 2) if triplet else None,
        "dots": 1 if length == "3/4" else 0,
        "voice": voice,
        "staff": staff,
    }
    if length == "3/4":
        common["kind"] = "eighth"
    if is_rest:
        yield note("R", length, notations=signs, **common)
        return
    signs += writer.slur(now, str(voice))
    if chance.random() < 0.05:
        signs += f"<technical><fingering>{chance.randint(1, 4)}</fingering></technical>"
    hides = chance.random() < 0.06 and not writer.plain
    hidden = 'print-object="no"' if hides else ""
    before = "<cue/>" if is_small else ""
    names = chance.sample(_HIGH if staff == 1 else _LOW, chance.choice((1, 1, 1, 2, 3)))
    if not is_small and chance.random() < 0.05:
        yield note(names[0], 0, grace='slash="yes"', kind="eighth", voice=voice, staff=staff)
    yield note(
        names[0],
        length,
        before=before,
        after=after,
        notations=signs,
        attributes=hidden,
        **common,
    )
    for name in names[1:]:
        hides = chance.random() < 0.06 and not writer.plain
        inner = 'print-object="no"' if hides else ""
        crosses = chance.random() < 0.06 and not is_small and not writer.plain
        other = 3 - staff if crosses else staff
        yield note(
            name if other == staff else chance.choice(_HIGH if other == 1 else _LOW),
            length,
            before=before,
            chord=True,
            attributes=inner,
            **{**common, "staff": other},
        )
