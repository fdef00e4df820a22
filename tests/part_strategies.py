"""Harp parts made up by Hypothesis, from plain chords to trills, graces, repeats and jumps."""

from __future__ import annotations

from hypothesis import strategies as st
from part_builder import build_part

from pedalsetter.analysis.part import HarpPart, Jump, JumpKind, Section, SectionReason

_NAMES = [
    letter + sign + octave
    for letter in "CDEFGAB"
    for sign in ("", "#", "b")
    for octave in ("3", "4", "5")
]
_RARE = ["F##4", "C##4", "Bbb3", "Dbb5", "C1", "C#1", "Db1", "G7", "A7", "B0", "B#0"]
_VALUES = {"w": 32, "h": 16, "q.": 12, "q": 8, "e": 4, "s": 2, "t": 1}

_note = st.one_of(*[st.sampled_from(_NAMES)] * 12, st.sampled_from(_RARE))


@st.composite
def _staff(draw: st.DrawFn, graces: bool, plain: bool) -> str:
    """One bar of one staff in 4/4, as the builder reads it."""
    left, tokens = 32, []
    while left:
        value = draw(st.sampled_from([name for name, size in _VALUES.items() if size <= left]))
        left -= _VALUES[value]
        if draw(st.integers(0, 5)) == 0:
            tokens.append(f"r/{value}")
            continue
        if graces and not plain and draw(st.integers(0, 7)) == 0:
            tokens += [f"{draw(_note)}/eg" for _ in range(draw(st.integers(1, 3)))]
        chord = draw(st.lists(_note, min_size=1, max_size=4, unique=True))
        marks = ["~", "~"] if plain else ["~", "~", "tr", "gl<", "gl>", "trem<", "trem>"]
        mark = draw(st.sampled_from([""] * 10 + marks))
        if mark.startswith("gl"):
            chord = chord[:1]
        tokens.append(f"{'+'.join(chord)}/{value}{mark}")
    return " ".join(tokens)


@st.composite
def parts(draw: st.DrawFn, most_bars: int = 6, plain: bool = False) -> HarpPart:
    """A part of up to ``most_bars`` bars; a third of them have repeats, a few a D.C. or D.S.

    With ``plain`` there are only notes, chords and ties: no graces, trills, tremolos, glissandi.
    """
    count = draw(st.integers(1, most_bars))
    bars = [
        f"{draw(_staff(graces=True, plain=plain))} | {draw(_staff(graces=False, plain=plain))}"
        if draw(st.integers(0, 3))
        else "r/w | r/w"
        for _ in range(count)
    ]
    repeats: dict[int, int] = {}
    starts: tuple[int, ...] = ()
    endings: dict[int, tuple[int, ...]] = {}
    jumps: tuple[Jump, ...] = ()
    kind = draw(st.integers(0, 5))
    if kind in (0, 1) and count > 1:
        last = draw(st.integers(0, count - 1))
        first = draw(st.integers(0, last))
        repeats, starts = {last: draw(st.integers(2, 3))}, (first,)
        if kind == 1 and first < last < count - 1:
            repeats[last] = 2
            endings = {last: (1,), last + 1: (2,)}
    elif kind == 2 and count > 2:
        back = draw(st.integers(1, count - 1))
        fine = draw(st.integers(0, back - 1))
        jumps = (Jump(JumpKind.FINE, fine), Jump(JumpKind.DA_CAPO, back, al_fine=True))
    movements = (
        (count // 2,) if not (repeats or jumps) and count > 3 and draw(st.booleans()) else ()
    )
    sections = tuple(
        Section(bar, (SectionReason.REHEARSAL,), "A")
        for bar in draw(st.sets(st.integers(0, count - 1), max_size=2))
    )
    return build_part(
        *bars,
        key=draw(st.integers(-7, 7)),
        tempo=draw(st.sampled_from([None, 40, 60, 120, 200])),
        repeats=repeats,
        repeat_starts=starts,
        endings=endings,
        movements=movements,
        jumps=jumps,
        sections=tuple(sorted(sections, key=lambda section: section.bar)),
    )
