"""The few places where abjad's releases differ, and bars that are written one a line.

abjad 3.19 (Python 3.11) has properties where 3.31 (Python 3.12 and newer) has methods, and builds
leaves from other arguments. Everything else of this folder uses only the names of this module.
Durations are in quarters, as everywhere in the project; abjad counts in whole notes.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from fractions import Fraction
from functools import lru_cache
from typing import Any

import abjad

from pedalsetter.analysis.instrument.respelling import Pitch
from pedalsetter.analysis.part import NotatedLength

__all__ = [
    "LANGUAGE",
    "BarLine",
    "NotatedLength",
    "add_engravers",
    "after_grace",
    "annotate",
    "bar_rest",
    "chord",
    "context",
    "duration_of",
    "first_staff",
    "grace",
    "lyric",
    "pitch_name",
    "precede",
    "rest",
    "rest_at",
    "skip",
    "source",
    "tremolo",
    "tuplet",
]

LANGUAGE = "english"
"""LilyPond's note names of the source: ``cs`` is C sharp, ``bff`` B double flat."""

_METHODS = callable(getattr(abjad.Leaf, "written_duration", None))
"""Whether this abjad has methods where 3.19 has properties."""

_DEEPEST = 10
"""Shortest printed value: 1/1024."""


def pitch_name(pitch: Pitch) -> str:
    """The pitch in LilyPond's English names: C4 is ``c'``, E♭3 ``ef``."""
    marks = "'" * (pitch.octave - 3) if pitch.octave >= 3 else "," * (3 - pitch.octave)
    return (
        pitch.letter.value.lower()
        + {-2: "ff", -1: "f", 0: "", 1: "s", 2: "ss"}[pitch.alter]
        + marks
    )


def split_duration(
    quarters: Fraction, printed: NotatedLength | None = None
) -> tuple[Fraction, tuple[int, int] | None]:
    """A printable value in whole notes, and what it must be multiplied by to last ``quarters``.

    With ``printed`` the value is the printed one; without, the nicest one that lasts as long, or
    a quarter or whole note times a fraction.
    """
    wanted = quarters / 4
    if printed is not None:
        value = printed.quarters / 4
        ratio = wanted / value
        return value, None if ratio == 1 else (ratio.numerator, ratio.denominator)
    numerator, denominator = wanted.numerator, wanted.denominator
    if (
        denominator & (denominator - 1) == 0
        and denominator <= 2**_DEEPEST
        and numerator in (1, 2, 3, 4, 6, 7, 8)
        and wanted <= 2
    ):
        return wanted, None
    value = Fraction(1, 4) if quarters.denominator == 1 and quarters.numerator % 4 else Fraction(1)
    ratio = wanted / value
    return value, (ratio.numerator, ratio.denominator)


class _Leaf(abjad.Leaf):  # type: ignore[misc]
    """A leaf that is written as it stands: ``body``, its duration, ``suffix``.

    abjad keeps its place and its time. Notes of abjad's own would hold pitches too, which nothing
    asks for, and signs would be attached as literals, to be sorted and tagged: that took two fifths
    of the time of writing a source.
    """

    __slots__ = ("after", "ahead", "before", "behind", "body", "suffix")

    def __init__(self, body: str, value: Fraction, ratio: tuple[int, int] | None) -> None:
        multiplied = {"dmp" if _METHODS else "multiplier": ratio}
        super().__init__(_duration(value), **multiplied)
        self.body = body
        self.suffix = ""
        self.ahead = self.before = self.after = self.behind = ""

    def _get_lilypond_format(self) -> str:
        graces, trailing = self._before_grace_container, self._after_grace_container
        pieces = (
            self.ahead,
            "" if graces is None else graces._get_lilypond_format(),
            self.before,
            "" if trailing is None else r"\afterGrace",
            f"{self.body}{self._printed()}{self.suffix}",
            self.after,
            "" if trailing is None else trailing._get_lilypond_format(),
            self.behind,
        )
        return "\n".join(piece for piece in pieces if piece)

    def _printed(self) -> str:
        return str(self._get_formatted_duration()).replace(" ", "").removesuffix("/1")


@lru_cache(maxsize=1024)
def _duration(value: Fraction) -> Any:
    return abjad.Duration(value.numerator, value.denominator)


class _Tuplet(abjad.Tuplet):  # type: ignore[misc]
    figures = (3, 2)

    def _format_open_brackets_site(self, contributions: Any) -> list[str]:  # noqa: ARG002
        return [rf"\tuplet {self.figures[0]}/{self.figures[1]} {{"]


def chord(
    heads: Sequence[tuple[Pitch, str, str]],
    quarters: Fraction,
    printed: NotatedLength | None,
) -> Any:
    r"""A note or chord of (pitch, tweaks before, ``!`` or post-events behind) heads."""
    if len(heads) == 1 and not heads[0][1] and heads[0][2] in ("", "!", "?"):
        body = pitch_name(heads[0][0]) + heads[0][2]
    else:
        written = (f"{tweaks} {pitch_name(pitch)}{post}".strip() for pitch, tweaks, post in heads)
        body = f"<{' '.join(written)}>"
    return _Leaf(body, *split_duration(quarters, printed))


def rest(quarters: Fraction, printed: NotatedLength | None) -> Any:
    """A rest whose height is the engraver's choice."""
    return _Leaf("r", *split_duration(quarters, printed))


def rest_at(pitch: Pitch, quarters: Fraction, printed: NotatedLength | None) -> Any:
    """A rest that stands where a note of ``pitch`` would."""
    leaf = chord([(pitch, "", "")], quarters, printed)
    leaf.suffix = r"\rest"
    return leaf


def bar_rest(quarters: Fraction, times: int = 1) -> Any:
    """A rest that fills one bar of ``quarters``, or ``times`` such bars gathered in one sign."""
    value, ratio = split_duration(quarters)
    if times > 1:
        numerator, denominator = ratio or (1, 1)
        scaled = Fraction(numerator * times, denominator)
        ratio = (scaled.numerator, scaled.denominator)
    return _Leaf("R", value, ratio)


def skip(quarters: Fraction) -> Any:
    """Silence without a sign."""
    return _Leaf("s", *split_duration(quarters))


def lyric(word: str, quarters: Fraction, suffix: str = "") -> Any:
    """A quoted syllable, or with an empty word a gap, in lyric mode."""
    leaf = _Leaf(word or r"\skip ", *split_duration(quarters))
    leaf.suffix = suffix
    return leaf


def annotate(
    leaf: Any, before: Sequence[str], after: Sequence[str], behind: Sequence[str] = ()
) -> Any:
    """Put source text around a leaf, once.

    ``before`` are commands, behind its grace notes; ``after`` post-events; ``behind`` is what
    follows it, and its after-notes, as music of its own.
    """
    leaf.before, leaf.after, leaf.behind = map(" ".join, (before, after, behind))
    return leaf


def precede(leaf: Any, commands: Sequence[str]) -> None:
    """Put commands before a leaf and before its grace notes, once."""
    leaf.ahead = " ".join(commands)


def tuplet(actual: int, normal: int, contents: Sequence[Any], before: Sequence[str] = ()) -> Any:
    """``actual`` notes in the time of ``normal``."""
    group = _Tuplet(f"{actual}:{normal}", list(contents))
    group.figures = (actual, normal)
    if before:
        abjad.attach(abjad.LilyPondLiteral(" ".join(before), site="before"), group)
    return group


def tremolo(times: int, leaves: Sequence[Any]) -> Any:
    """Two notes in alternation, ``times`` times each."""
    return abjad.TremoloContainer(times, list(leaves))


def grace(leaf: Any, contents: Sequence[Any], slash: bool = False) -> None:
    """Put grace notes before ``leaf``; slurs are the source's own, none is added."""
    command = r"\slashedGrace" if slash else r"\grace"
    abjad.attach(abjad.BeforeGraceContainer(list(contents), command=command), leaf)


def after_grace(leaf: Any, contents: Sequence[Any]) -> None:
    """Let grace notes follow ``leaf`` at the end of its time."""
    abjad.attach(abjad.AfterGraceContainer(list(contents)), leaf)


class BarLine(abjad.Container):  # type: ignore[misc]
    """The music of one bar, or of several gathered ones, written on one line of the source."""

    opening = ""
    closing = ""
    number = ""

    @classmethod
    def of(
        cls, contents: Iterable[Any], number: str, opening: str = "", closing: str = ""
    ) -> BarLine:
        """A bar with its leaves; ``opening`` and ``closing`` stand before and behind them."""
        bar = cls(list(contents))
        bar.opening, bar.closing, bar.number = opening, closing, number
        return bar

    def _get_lilypond_format(self) -> str:
        pieces = [self.opening]
        for component in self:
            for line in component._get_lilypond_format().split("\n"):
                piece = line.strip()
                # abjad names each site of a leaf in a comment of its own
                if not (piece.startswith("% ") and piece.endswith(":")):
                    pieces.append(piece)
        pieces.append(self.closing)
        return " ".join(piece for piece in pieces if piece) + f" | % {self.number}"


def duration_of(component: Any) -> Fraction:
    """How long a component lasts, in quarters; grace notes take no time."""
    duration = abjad.get.duration(component)
    if isinstance(duration, Fraction):
        return Fraction(duration.numerator, duration.denominator) * 4
    return Fraction(*duration.pair()) * 4


def context(
    kind: str,
    name: str | None,
    contents: Sequence[Any],
    *,
    simultaneous: bool = False,
    opening: Sequence[str] = (),
    engravers: Sequence[str] = (),
) -> Any:
    """A LilyPond context of any type, defined by LilyPond or by the stylesheet."""
    classes = {
        "Voice": abjad.Voice,
        "Staff": abjad.Staff,
        "PianoStaff": abjad.StaffGroup,
    }
    made = classes.get(kind, abjad.Context)(
        list(contents), lilypond_type=kind, name=name, simultaneous=simultaneous
    )
    if opening:
        abjad.attach(abjad.LilyPondLiteral("\n".join(opening), site="opening"), made)
    add_engravers(made, engravers)
    return made


def add_engravers(made: Any, engravers: Sequence[str]) -> None:
    """Let a context consist of more engravers (LilyPond's names)."""
    commands = made.consists_commands() if _METHODS else made.consists_commands
    commands.extend(engravers)


def first_staff(made: Any) -> Any:
    """The uppermost ``Staff`` context of a score, or the score itself if it is one."""
    if _context_type(made) == "Staff":
        return made
    return next(child for child in made if _context_type(child) == "Staff")


def _context_type(made: Any) -> str:
    found = getattr(made, "lilypond_type", "")
    return str(found() if callable(found) else found)


def source(component: Any) -> str:
    """LilyPond source of a component, one bar a line."""
    # Tags and site comments are left alone: ours are gone already, and abjad's search for them
    # would also look into quoted text.
    text = str(abjad.lilypond(component, tags=True, site_comments=True))
    kept = [
        line
        for line in text.split("\n")
        if not (line.strip().startswith("% ") and line.strip().endswith(":"))
    ]
    return "\n".join(line.rstrip() for line in kept) + "\n"
