"""Settings for glissandi, counted and written out: check values for the tests.

Pedal order D C B | E F G A, ``b`` flat, ``n`` natural, ``s`` sharp. All figures were computed once
by going through the 2,187 settings by exhaustion, and are kept here as figures.
"""

from __future__ import annotations

SHAPES = {
    "dim7": (0, 3, 6, 9),
    "dom7": (0, 4, 7, 10),
    "half-dim7": (0, 3, 6, 10),
    "minor7": (0, 3, 7, 10),
    "major7": (0, 4, 7, 11),
    "aug triad": (0, 4, 8),
    "7♯5": (0, 4, 8, 10),
    "aug maj7": (0, 4, 8, 11),
    "min-maj7": (0, 3, 7, 11),
    "dom7♭5": (0, 4, 6, 10),
    "major triad": (0, 4, 7),
    "minor triad": (0, 3, 7),
    "whole-tone": (0, 2, 4, 6, 8, 10),
    "major pentatonic": (0, 2, 4, 7, 9),
    "dom9": (0, 2, 4, 7, 10),
    "dom7♭9": (0, 1, 4, 7, 10),
    "augmented hexatonic": (0, 3, 4, 7, 8, 11),
    "octatonic": (0, 1, 3, 4, 6, 7, 9, 10),
    "major scale": (0, 2, 4, 5, 7, 9, 11),
    "harmonic minor": (0, 2, 3, 5, 7, 8, 11),
    "melodic minor": (0, 2, 3, 5, 7, 9, 11),
}
"""Semitones above the root."""

ROOTS = ("C", "C♯", "D", "D♯", "E", "F", "F♯", "G", "G♯", "A", "A♯", "B")

# Columns: the twelve roots from C to B. Source: computed by exhaustion.
EXACT_COUNTS = """
    dim7                  1   1   1   1   1   1   1   1   1   1   1   1
    dom7                  0   2   0   0   1   0   2   0   2   0   0   1
    half-dim7             2   0   1   0   0   2   0   1   0   0   2   0
    minor7                0   2   0   2   0   2   0   0   2   0   2   0
    major7                0   2   0   0   2   0   2   0   0   0   0   2
    aug triad             0   0   0   0   0   0   0   0   0   0   0   0
    7♯5                   0   0   0   0   1   0   0   0   0   0   0   0
    aug maj7              0   0   0   0   2   0   0   0   0   0   0   0
    min-maj7              0   2   0   0   0   0   0   0   0   0   0   0
    dom7♭5                0   0   0   0   0   0   0   0   0   0   0   0
    major triad           0   0   0   0   0   0   0   0   0   0   0   0
    minor triad           0   0   0   0   0   0   0   0   0   0   0   0
    whole-tone            5   4   5   4   5   4   5   4   5   4   5   4
    major pentatonic      1   6   2   4   6   1   6   1   6   4   2   6
    dom9                  2   4   2   3   3   2   4   1   4   2   3   3
    dom7♭9                3   1   1   3   2   3   1   1   1   1   3   2
    augmented hexatonic   4   4   2   2   4   4   2   2   4   4   2   2
    octatonic             0   0   0   0   0   0   0   0   0   0   0   0
    major scale           4   2   1   1   1   2   2   2   1   1   1   2
    harmonic minor        2   1   2   1   2   2   1   1   1   4   1   1
    melodic minor         2   2   2   1   1   2   1   1   1   2   1   1
"""

# The weaker test: all strings inside the set, members may be missing. Computed by exhaustion.
COUNTS_WITHOUT_FOREIGN_NOTES = """
    dim7                  1   1   1   1   1   1   1   1   1   1   1   1
    dom7                  0   2   0   0   1   0   2   0   2   0   0   1
    half-dim7             2   0   1   0   0   2   0   1   0   0   2   0
    minor7                0   2   0   2   0   2   0   0   2   0   2   0
    major7                0   2   0   0   2   0   2   0   0   0   0   2
    aug triad             0   0   0   0   0   0   0   0   0   0   0   0
    7♯5                   0   0   0   0   1   0   0   0   0   0   0   0
    aug maj7              0   0   0   0   2   0   0   0   0   0   0   0
    min-maj7              0   2   0   0   0   0   0   0   0   0   0   0
    dom7♭5                0   0   0   0   0   0   0   0   0   0   0   0
    major triad           0   0   0   0   0   0   0   0   0   0   0   0
    minor triad           0   0   0   0   0   0   0   0   0   0   0   0
    whole-tone           16   8  16   8  16   8  16   8  16   8  16   8
    major pentatonic      1   8   2   4   8   1   8   1   8   4   2   8
    dom9                  2   8   2   4   4   2   8   1   8   2   4   4
    dom7♭9                4   4   2   4   4   4   4   2   4   2   4   4
    augmented hexatonic  16  16   8   8  16  16   8   8  16  16   8   8
    octatonic           128 128 128 128 128 128 128 128 128 128 128 128
    major scale          16 128  16  32  64  16 128  16  64  32  16 128
    harmonic minor       32  64  16  64  32  64  32  16  64  32  64  32
    melodic minor        16 128  16  64  32  32  64  16  64  32  32  64
"""

# Every exact setting of eight sets, root by root. Computed by exhaustion; C pentatonic and the two
# whole-tone settings nns|nsss and bbn|bnnn are also common practice, no source.
EXACT_SETTINGS = """
    dim7
      C: sns|bsbn
      C♯: bsb|nbns
      D: nbn|snsb
    dom7
      C: none
      C♯: bbn|snsb bsn|snsb
      D: none
      D♯: none
      E: nbn|nbsb
      F: none
      F♯: bsb|nbbs bsb|nsbs
      G: none
      G♯: sns|bsbb sns|bssb
      A: none
      A♯: none
      B: sbn|bsbn
    half-dim7
      C: snb|bsbs sns|bsbs
      C♯: none
      D: nns|snsb
      D♯: none
      E: none
      F: sbn|bnsb sbn|snsb
      F♯: none
      G: bsb|snns
      G♯: none
      A: none
      A♯: bsb|nbsb bsb|nbss
      B: none
    minor7
      C: none
      C♯: bbn|nbsb bsn|nbsb
      D: none
      D♯: bsb|bsbs ssb|bsbs
      E: none
      F: sns|bnsb sns|snsb
      F♯: none
      G: none
      G♯: sbn|bsbb sbn|bssb
      A: none
      A♯: bsb|snsb bsb|snss
      B: none
    major7
      C: none
      C♯: bns|snsb bss|snsb
      D: none
      D♯: none
      E: sbn|bbsb sbn|nbsb
      F: none
      F♯: bsb|snbs bsb|ssbs
      G: none
      G♯: none
      A: none
      A♯: none
      B: sbb|bsbs sbn|bsbs
    whole-tone
      C: nnb|nbbb nnb|nsbb nnb|nssb nnb|nsss nns|nsss
      C♯: bbn|bnnn bsn|bnnn ssn|bnnn ssn|snnn
    major pentatonic
      C: nns|nbnn
      C♯: bsb|bnsb bsb|bnss ssb|bnsb ssb|bnss ssb|snsb ssb|snss
      D: nbn|nbbn nbn|nsbn
      D♯: snb|bnns snb|snns sns|bnns sns|snns
      E: bbn|nbbb bbn|nsbb bbn|nssb bsn|nbbb bsn|nsbb bsn|nssb
      F: nns|snnn
      F♯: bsb|bsbb bsb|bssb bsb|bsss ssb|bsbb ssb|bssb ssb|bsss
      G: nbn|nbnn
      G♯: snb|bnsb snb|bnss snb|snsb snb|snss sns|bnss sns|snss
      A: bbn|nbbn bbn|nsbn bsn|nbbn bsn|nsbn
      A♯: nnb|snns nns|snns
      B: bbn|bsbb bbn|bssb bsn|bsbb bsn|bssb ssn|bsbb ssn|bssb
    dom9
      C: nnb|nbns nns|nbns
      C♯: bbn|bnsb bsn|bnsb ssn|bnsb ssn|snsb
      D: nns|nbbn nns|nsbn
      D♯: bsb|bnns ssb|bnns ssb|snns
      E: nbn|nbbb nbn|nsbb nbn|nssb
      F: sns|bnnn sns|snnn
      F♯: bsb|nbbb bsb|nsbb bsb|nssb bsb|nsss
      G: nbn|snnn
      G♯: snb|bsbb snb|bssb snb|bsss sns|bsss
      A: bbn|nbnn bsn|nbnn
      A♯: nnb|snsb nnb|snss nns|snss
      B: bbn|bsbn bsn|bsbn ssn|bsbn
"""


def transposed(shape: str, root: int) -> frozenset[int]:
    """The pitch classes of a shape on a root."""
    return frozenset((root + step) % 12 for step in SHAPES[shape])


def cells(table: str) -> list[tuple[str, int, int]]:
    """(shape, root, count) of every cell."""
    found = []
    for line in table.strip().splitlines():
        shape, *counts = line.strip().rsplit(maxsplit=12)
        found += [(shape, root, int(count)) for root, count in enumerate(counts)]
    return found


def explicit() -> list[tuple[str, int, list[str]]]:
    """(shape, root, patterns) of every listed root."""
    found = []
    shape = ""
    for line in EXACT_SETTINGS.strip().splitlines():
        name, colon, listed = line.strip().partition(":")
        if not colon:
            shape = name
        else:
            given = [] if listed.strip() == "none" else listed.split()
            found.append((shape, ROOTS.index(name), given))
    return found
