"""Small parts made from a seed, for exact searches: chords, ties, rests, repeats in a third."""

from __future__ import annotations

from dataclasses import replace
from random import Random
from typing import Any

from part_builder import build_part

from pedalsetter.analysis.part import HarpPart, Section, SectionReason, Tremolo

_NAMES = [
    letter + sign + octave
    for letter in "CDEFGAB"
    for sign in ("", "", "#", "b")
    for octave in ("3", "5")
] + ["F##4", "Bbb4", "C##5", "E##4"]
_VALUES = (("w", 16), ("h", 8), ("q", 4), ("e", 2), ("s", 1))


def small_part(seed: int, most_onsets: int = 24) -> HarpPart:
    """A part of one to four bars with ``most_onsets`` onsets at most; one seed, one part."""
    bars, options = small_bars(seed, most_onsets)
    return build_part(*bars, **options)


def small_bars(seed: int, most_onsets: int = 24) -> tuple[list[str], dict[str, Any]]:
    """The bars and the other arguments from which :func:`small_part` builds."""
    random = Random(seed)  # noqa: S311 - music, not secrets
    bars = []
    onsets = 0
    for _ in range(random.randint(1, 4)):
        left, tokens = 16, []
        while left:
            name, size = random.choice([value for value in _VALUES if value[1] <= left])
            left -= size
            if onsets == most_onsets or random.random() < 0.2:
                tokens.append(f"r/{name}")
                continue
            onsets += 1
            chord = random.sample(_NAMES, random.choice((1, 1, 2, 2, 3)))
            tokens.append(f"{'+'.join(chord)}/{name}{random.choice(('', '', '', '~'))}")
        bars.append(" ".join(tokens))
    return bars, _options(random, seed, len(bars))


def counted_part(seed: int, onsets: int = 24) -> HarpPart:
    """A part of ``onsets`` onsets at most and half as many at least, all equally likely.

    It has as many bars as that takes. (A tie into the same note leaves one onset fewer.)
    """
    random = Random(f"counted {seed}")  # noqa: S311 - music, not secrets
    missing = random.randint(onsets // 2, onsets)
    bars = []
    while missing:
        left, tokens = 16, []
        while left:
            name, size = random.choice([value for value in _VALUES if value[1] <= left])
            left -= size
            if not missing or random.random() < 0.2:
                tokens.append(f"r/{name}")
                continue
            missing -= 1
            chord = random.sample(_NAMES, random.choice((1, 1, 2, 2, 3)))
            tokens.append(f"{'+'.join(chord)}/{name}{random.choice(('', '', '', '~'))}")
        bars.append(" ".join(tokens))
    return build_part(*bars, **_options(random, seed, len(bars)))


def sectioned_part(seed: int, most_onsets: int = 24) -> HarpPart:
    """A small part of which some bars begin sections, repeated ones among them."""
    part = small_part(seed, most_onsets)
    random = Random(f"sections {seed}")  # noqa: S311 - music, not secrets
    chosen = [bar.index for bar in part.bars if random.random() < 0.6]
    reasons = (SectionReason.REHEARSAL,)
    return replace(part, sections=tuple(Section(bar, reasons, "A") for bar in chosen))


def _options(random: Random, seed: int, bars: int) -> dict[str, Any]:
    """Tempo, key and, in a third of all parts, a repeat."""
    repeats: dict[int, int] = {}
    starts: tuple[int, ...] = ()
    endings: dict[int, tuple[int, ...]] = {}
    if seed % 3 == 0:
        last = random.randrange(bars)
        first = random.randint(0, last)
        repeats, starts = {last: 2}, (first,)
        if first < last < bars - 1 and random.random() < 0.5:
            endings = {last: (1,), last + 1: (2,)}
    return {
        "tempo": random.choice((40, 60, 90, 132)),
        "key": random.randint(-3, 3),
        "repeats": repeats,
        "repeat_starts": starts,
        "endings": endings,
    }


def trembling_part(seed: int, most_bars: int = 3) -> HarpPart:
    """One to three bars of chords, rests, trills, and tremolos of one chord or between two.

    A third of the parts are repeated.
    """
    random = Random(f"trembling {seed}")  # noqa: S311 - music, not secrets
    texts: list[str] = []
    tremolos: list[Tremolo | None] = []
    for _ in range(random.randint(1, most_bars)):
        left = 8
        tokens = []
        while left:
            eighths, value = random.choice([(1, "e"), (2, "q"), (2, "q"), (4, "h")])
            if eighths > left:
                continue
            left -= eighths
            names = sorted(
                {
                    random.choice("CDEFGAB") + random.choice(["", "", "#", "b"]) + octave
                    for octave in random.choice(["4", "5", "45"])
                }
            )
            sign = random.choice(["", "", "tr", "1", "3", "pair"])
            rest = random.random() < 0.15
            chord = "r" if rest else "+".join(names)
            if sign == "pair" and eighths > 1 and not rest:
                # Half of the time for a second chord, with which it alternates.
                value = {2: "e", 4: "q"}[eighths]
                other = random.choice("CDEFGAB") + random.choice(["", "#", "b"]) + "6"
                tokens += [f"{chord}/{value}trem<", f"{other}/{value}trem>"]
                tremolos += [Tremolo("start", 3), Tremolo("stop", 3)]
                continue
            tokens.append(f"{chord}/{value}{'tr' if sign == 'tr' and not rest else ''}")
            tremolos.append(Tremolo("single", int(sign)) if sign in ("1", "3") else None)
        texts.append(" ".join(tokens))
    repeats = {len(texts) - 1: 2} if random.random() < 1 / 3 else None
    part = build_part(*texts, tempo=random.choice([40, 60, 90]), repeats=repeats)
    events = [
        replace(event, tremolo=tremolo) if event.heads else event
        for event, tremolo in zip(part.events, tremolos, strict=True)
    ]
    return replace(part, events=tuple(events))
