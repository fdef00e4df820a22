"""The file of decisions: what it may hold, and the one line that each mistake in it gets."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pedalsetter.analysis.decisions.file import (
    decisions_beside,
    load_decisions,
    parse_decisions,
)
from pedalsetter.analysis.decisions.values import (
    ChangePin,
    Decisions,
    DiagramPin,
    FootPin,
    OpeningPin,
    Respell,
    RespellingPin,
    SettingPin,
    Spot,
    WrittenNote,
)
from pedalsetter.analysis.errors import DecisionsError
from pedalsetter.analysis.instrument.harp import LETTERS, Foot, Letter, Position

KEYS = [
    *("change", "diagram", "foot", "opening", "respelling", "setting", "times"),
    *("at", "bars", "movement", "needed", "note", "pedal", "pedals", "ring"),
]

EVERYTHING = """
respell = "never"

[times]
comfortable = 0.6
least = 0.3
two-notches = 2
ring = [5, 2.5, 0.5]

[[opening]]
pedals = "D C♯ B | E F# G Ab"

[[foot]]
pedal = "E"
foot = "left"

[[respelling]]
at = "8:2½"
note = "C♯5"
staff = "upper"
played = "D♭"

[[respelling]]
bars = "9–12"
wanted = false

[[setting]]
at = "20"
pedals = "G♯ F♯"

[[change]]
at = "14:3"
movement = 2
pedal = "C"
needed = { at = "15:1", movement = 2 }

[[diagram]]
at = 30
wanted = false
"""


def test_every_table_is_read() -> None:
    """Openings, feet, respellings, settings, changes, diagrams, times, and how to respell."""
    found = parse_decisions(EVERYTHING, "sonata.pedals.toml")
    sharp, natural, flat = Position.SHARP, Position.NATURAL, Position.FLAT

    assert found == Decisions(
        (
            OpeningPin(
                tuple(
                    zip(
                        LETTERS,
                        (natural, sharp, natural, natural, sharp, natural, flat),
                        strict=True,
                    )
                )
            ),
            FootPin(Letter.E, Foot.LEFT),
            RespellingPin(
                Spot("8:2½"),
                note=WrittenNote(Letter.C, 1, 5),
                staff=1,
                played=(Letter.D, flat),
            ),
            RespellingPin(None, ("9", "12"), wanted=False),
            SettingPin(Spot("20"), ((Letter.F, sharp), (Letter.G, sharp))),
            ChangePin(Spot("14:3", 2), Letter.C, natural, Spot("15:1", 2)),
            DiagramPin(Spot("30"), wanted=False),
        ),
        Respell.NEVER,
        Fraction(3, 5),
        Fraction(3, 10),
        Fraction(2),
        (Fraction(5), Fraction(5, 2), Fraction(1, 2)),
        "sonata.pedals.toml",
    )


@pytest.mark.parametrize(
    ("text", "line"),
    [
        ("chnge = []", "x.toml: key 'chnge': there is no such key here. Choose from respell"),
        ("change = 3", "x.toml: key 'change': it is a list of tables. Head each with [[change]]."),
        (
            'respell = "often"',
            "x.toml: key 'respell': 'often' is unknown. Choose never, when-needed or freely.",
        ),
        (
            '[[change]]\nat = "3:1"\npedal = "F♯"\nfoot = "left"',
            "x.toml: [[change]], key 'foot': there is no such key here. Choose from at,",
        ),
        (
            '[[change]]\nat = "3:1"\npedal = "F♯"\n[[change]]\nat = "4:1"\npedal = "H"',
            "x.toml: [[change]] no. 2, key 'pedal': 'H' is no pedal position. Write a letter",
        ),
        (
            '[[change]]\nat = "3:1"',
            "x.toml: [[change]], key 'pedal': it is missing. Give it a text in quotes.",
        ),
        (
            '[[change]]\npedal = "F♯"',
            "x.toml: [[change]], key 'at': it is missing. Give it a text in quotes.",
        ),
        (
            '[[change]]\nat = "3:1"\npedal = "F♯ G♯"',
            "x.toml: [[change]], key 'pedal': it names one pedal. Write a letter and its sign",
        ),
        (
            '[[opening]]\npedals = "D D♯"',
            "x.toml: [[opening]], key 'pedals': the D pedal stands twice in 'D D♯'",
        ),
        (
            '[[opening]]\nmovement = 0\npedals = "D"',
            "x.toml: [[opening]], key 'movement': it counts from 1, not 0",
        ),
        (
            '[[setting]]\nat = "3"\npedals = "Bbb"',
            "x.toml: [[setting]], key 'pedals': 'Bbb' is no pedal position. Write a letter",
        ),
        (
            '[[foot]]\npedal = "A"\nfoot = "left"',
            "x.toml: [[foot]], key 'foot': the left foot does not reach the A pedal. Only E by",
        ),
        (
            '[[respelling]]\nat = "3:1"\nnote = "C♯"',
            "x.toml: [[respelling]], key 'note': 'C♯' has no octave. Write it as C♯5;",
        ),
        (
            '[[respelling]]\nat = "3:1"\nnote = "C♯5"\nstaff = "middle"',
            "x.toml: [[respelling]], key 'staff': 'middle' is no staff. Write upper or lower.",
        ),
        (
            '[[respelling]]\nat = "3:1"\nnote = "C♯5"\nwanted = false\nplayed = "D♭"',
            "x.toml: [[respelling]], key 'played': a note that stays as written has no other",
        ),
        (
            '[[respelling]]\nbars = "3-5"\nplayed = "D♭"',
            "x.toml: [[respelling]], key 'played': it is said of one note. Give the key 'note'",
        ),
        (
            '[[diagram]]\nat = "3"\nwanted = "no"',
            "x.toml: [[diagram]], key 'wanted': it is true or false, not 'no'",
        ),
        ("[times]\nleast = -1", "x.toml: [times], key 'least': it lies between 0 and 60, not -1"),
        ("[times]\nring = [1, 2]", "x.toml: [times], key 'ring': it is three numbers: low"),
        ("[times]\nleast = 1e9", "x.toml: this is no TOML: '1e9' is no plain number. The guide"),
        ('a = "', "x.toml: this is no TOML: "),
    ],
)
def test_a_mistake_is_told_in_one_line(text: str, line: str) -> None:
    """The file, the table, the key, what is wrong, and the mend."""
    with pytest.raises(DecisionsError) as error:
        parse_decisions(text, "x.toml")

    assert str(error.value).startswith(line)
    assert "\n" not in str(error.value)


@given(
    st.recursive(
        st.one_of(
            st.text(max_size=6), st.integers(), st.booleans(), st.sampled_from(["F♯", "3:1", "12"])
        ),
        lambda inner: st.one_of(
            st.lists(inner, max_size=3),
            st.dictionaries(
                st.sampled_from(KEYS),
                inner,
                max_size=4,
            ),
        ),
    ).filter(lambda value: isinstance(value, dict))
)
def test_no_file_ends_in_anything_but_decisions_or_our_error(data: dict[str, object]) -> None:
    """Whatever values a file holds, they are understood or refused in one line."""
    told = ""
    try:
        parse_decisions(_toml(data), "x.toml")
    except DecisionsError as error:
        told = str(error)

    assert told == "" or told.startswith("x.toml: ")
    assert "\n" not in told


def _toml(value: object) -> str:
    """A table as TOML, every value inline."""
    assert isinstance(value, dict)
    return "\n".join(f"{key} = {_inline(inner)}" for key, inner in value.items())


def _inline(value: object) -> str:
    if isinstance(value, dict):
        return "{" + ", ".join(f"{key} = {_inline(inner)}" for key, inner in value.items()) + "}"
    if isinstance(value, list):
        return f"[{', '.join(map(_inline, value))}]"
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, int):
        return str(value)
    return (
        '"' + "".join(f"\\U{ord(c):08x}" for c in str(value) if not 0xD800 <= ord(c) < 0xE000) + '"'
    )


def test_the_example_of_the_guide_is_understood() -> None:
    """What users copy from there works, and every table of it is explained there."""
    guide = Path(__file__).resolve().parents[3] / "examples" / "guide"
    section = (guide / "decisions.md").read_text(encoding="utf-8").split("\n## ")[0]
    example = section.split("```toml")[1].split("```")[0]
    found = parse_decisions(example)

    assert len(found.pins) == 8
    assert found.respell is Respell.WHEN_NEEDED
    for line in example.splitlines():
        table = line.partition("#")[0].strip()
        if table.startswith("["):
            assert f"\n| `{table}` | " in section


def test_a_file_is_found_beside_the_score() -> None:
    """``sonata.pedals.toml`` belongs to ``sonata.musicxml``, and to ``sonata.mxl`` alike."""
    for name in ("sonata.musicxml", "sonata.mxl", "sonata.mei"):
        assert decisions_beside(Path("scores") / name) == Path("scores/sonata.pedals.toml")


def test_a_file_that_cannot_be_read_is_told(tmp_path: Path) -> None:
    """Absent, no text, or a folder: one line each."""
    with pytest.raises(DecisionsError, match=r"gone\.toml: there is no such file$"):
        load_decisions(tmp_path / "gone.toml")
    (tmp_path / "latin.toml").write_bytes('respell = "né"'.encode("latin-1"))
    with pytest.raises(DecisionsError, match=r"^latin\.toml: the file is not written in UTF-8"):
        load_decisions(tmp_path / "latin.toml")
    with pytest.raises(DecisionsError, match="the file cannot be read: "):
        load_decisions(tmp_path)
