"""Small parts in which several pedals move from chord to chord: one seed, one part."""

from __future__ import annotations

from random import Random

from part_builder import build_part

from pedalsetter.analysis.part import HarpPart

_VALUES = (("h", 8), ("q", 4), ("e", 2), ("s", 1))
_SIGNS = ("b", "", "#")


def hasty_part(seed: int, most_onsets: int = 6) -> HarpPart:
    """One or two bars with chords of up to four letters; a third of the parts are repeated.

    From chord to chord the letters change their signs, often several of them alike.
    """
    random = Random(seed)  # noqa: S311 - music, not secrets
    signs = {letter: random.choice(_SIGNS) for letter in "DCBEFGA"}
    bars = []
    onsets = 0
    for _ in range(random.randint(1, 2)):
        left, tokens = 16, []
        while left:
            name, size = random.choice([value for value in _VALUES if value[1] <= left])
            left -= size
            if onsets == most_onsets or random.random() < 0.15:
                tokens.append(f"r/{name}")
                continue
            onsets += 1
            start = random.randrange(7)
            chord = ["DCBEFGA"[(start + step) % 7] for step in range(random.randint(2, 4))]
            if random.random() < 0.6:
                sign = random.choice(_SIGNS)
                signs.update(dict.fromkeys(chord, sign))
            else:
                signs[random.choice(chord)] = random.choice(_SIGNS)
            tokens.append(f"{'+'.join(f'{letter}{signs[letter]}4' for letter in chord)}/{name}")
        bars.append(" ".join(tokens))
    return build_part(
        *bars,
        tempo=random.choice((30, 40, 60, 100)),
        repeats={len(bars) - 1: 2} if seed % 3 == 0 else {},
        repeat_starts=(0,) if seed % 3 == 0 else (),
    )
