"""What a proof knows of each mark: why it is there, and what may be decided about it."""

from __future__ import annotations

from typing import Any

from pedalsetter.analysis.decisions.values import Spot
from pedalsetter.analysis.instrument.harp import Foot, Letter
from pedalsetter.analysis.instrument.respelling import strings_for
from pedalsetter.analysis.marks.marking import ChangeMark, Diagram, Mark, Origin
from pedalsetter.analysis.marks.string_marks import StringMark
from pedalsetter.analysis.naming.wording import NotesByName
from pedalsetter.analysis.part import HarpPart, Place
from pedalsetter.analysis.pedal_plan import Change, PedalPlan
from pedalsetter.analysis.playing.moments import number_graces, place_of
from pedalsetter.engrave.output.reports.decisions_text import spot_at, spot_lines
from pedalsetter.engrave.output.reports.why_report import change_facts, worth

__all__ = ["MarkFacts"]

_MOST_PLACES = 8
"""Other places that are offered: the best, in the order of the music."""

_OTHER_FOOT = {Letter.E: Foot.LEFT, Letter.B: Foot.RIGHT}
"""The two pedals that the foot of the other side can take."""


class MarkFacts:
    """Makes the data of marks of one plan."""

    def __init__(self, part: HarpPart, plan: PedalPlan) -> None:
        self._part, self._plan = part, plan
        self._names = NotesByName(part)
        graces = number_graces(part)
        self._events = {event.id: event for event in part.events}
        self._notes = {
            head.id: (event, head, place_of(part, event, graces)) for event, head in part.notes()
        }

    def of(self, mark: Mark) -> dict[str, Any]:
        """The data of one mark."""
        if isinstance(mark, StringMark):
            return self._of_strings(mark)
        where = self._part.told_place(mark.place)
        if isinstance(mark, ChangeMark):
            changes = mark.changes
            text = " ".join(change.text for change in changes)
            decided = any(change.decided for change in changes)
        else:
            changes = tuple(one for one in self._plan.changes if one.place == mark.place)
            text = f"diagram {mark.setting}"
            decided = mark.origin is Origin.USER or any(change.decided for change in changes)
        data: dict[str, Any] = {
            "where": where,
            "text": text,
            "decided": decided,
            "at": self._at(mark.place),
            "changes": [self._change(change) for change in changes],
            "notes": [],
            "diagram": None,
        }
        if isinstance(mark, Diagram):
            data["diagram"] = [
                {"label": "as planned", "told": "", "toml": None},
                {
                    "label": "leave it out",
                    "told": f"no diagram in {where}",
                    "toml": f"[[diagram]]\n{data['at']}\nwanted = false",
                },
                {
                    "label": "it must stand here",
                    "told": f"a diagram in {where}",
                    "toml": f"[[diagram]]\n{data['at']}\nwanted = true",
                },
            ]
        return data

    def _of_strings(self, mark: StringMark) -> dict[str, Any]:
        """The same for names of strings: each note of their chord may be played otherwise."""
        names = {string.name for string in mark.strings}
        uses = [
            self._plan.strings.get(head.id)
            for head in self._events[mark.event].heads
            if head.id in self._notes
        ]
        return {
            "where": self._part.told_place(mark.place),
            "text": " ".join(
                [f"={string.name}" for string in mark.strings]
                + [f"{pitch.name}={string.name}" for pitch, string in mark.beside]
            ),
            "decided": False,
            "at": self._at(mark.place),
            "changes": [],
            "notes": [
                self._note(use.note)
                for use in uses
                if use is not None and use.sounding is not None and use.sounding.name in names
            ],
            "diagram": None,
        }

    def _at(self, place: Place) -> str:
        return "\n".join(spot_lines(spot_at(self._part, place)))

    def _change(self, change: Change) -> dict[str, Any]:
        here = self._part.told_place(change.place)
        return {
            "id": f"{self._at(change.place)} {change.text}".replace("\n", " "),
            "letter": change.letter.value,
            "text": change.text,
            "foot": f"{change.foot.value} foot{change.aside}, from "
            f"{change.letter.value}{change.old.sign}",
            "facts": [
                list(one) for one in change_facts(self._part, self._plan, change, self._names)
            ],
            "places": [
                {"label": f"as planned, in {here}", "told": "", "toml": None},
                *self._freed(change),
                {
                    "label": f"exactly here, in {here}",
                    "told": f"{change.text} stays in {here}",
                    "toml": self._moved(change, change.place),
                },
                *(
                    {
                        "label": f"in {self._part.told_place(place)} ({worth(more)})",
                        "told": f"{change.text} moves to {self._part.told_place(place)}",
                        "toml": self._moved(change, place),
                    }
                    for place, more in sorted(change.elsewhere[:_MOST_PLACES])
                ),
                *self._struck_out(change),
            ],
            "drops": self._superseded(change),
            "tail": self._tail(change),
            "notes": [self._note(note) for note in change.needed_by if note in self._notes],
            "feet": self._feet(change),
        }

    def _superseded(self, change: Change) -> list[list[str]]:
        """Lines by which an earlier decision about the same change is known: all of one list."""
        pedal = f'pedal = "{change.text}"'
        found = [["[[change]]", pedal, *spot_lines(spot_at(self._part, change.place))]]
        if change.needed is not None:
            spot = spot_at(self._part, change.needed)
            found.append(["[[change]]", pedal, f"needed = {_inline(spot)}"])
        return found

    def _moved(self, change: Change, place: Place) -> str:
        return f"[[change]]\n{self._at(place)}\n{self._tail(change)}"

    def _tail(self, change: Change) -> str:
        """What stands below the place of a change that is decided."""
        lines = [f'pedal = "{change.text}"']
        if change.needed is not None:
            lines.append(f"needed = {_inline(spot_at(self._part, change.needed))}")
        return "\n".join(lines)

    def _freed(self, change: Change) -> list[dict[str, Any]]:
        if not change.decided:
            return []
        return [
            {
                "label": "free again: let the plan find its place",
                "told": f"{change.text} is free again",
                "toml": "",
            }
        ]

    def _struck_out(self, change: Change) -> list[dict[str, Any]]:
        if change.needed is None:
            return []
        old = f"{change.letter.value}{change.old.sign}"
        where = self._part.told_place(change.needed)
        return [
            {
                "label": f"leave it out: {old} stays in {where}, whatever the notes need",
                "told": f"{change.text} is left out, {old} stays in {where}",
                "toml": f'[[setting]]\n{self._at(change.needed)}\npedals = "{old}"',
            }
        ]

    def _note(self, note: str) -> dict[str, Any]:
        event, head, place = self._notes[note]
        where = self._part.told_place(place)
        lines = ["[[respelling]]", self._at(place), f'note = "{head.pitch}"']
        if self._part.staves > 1:
            lines.append(f'staff = "{"upper" if event.staff == 1 else "lower"}"')
        begin = "\n".join(lines)
        options = [{"label": "as planned", "told": "", "toml": None}]
        for string in strings_for(head.pitch):
            if string.letter is head.pitch.letter:
                end, told = "wanted = false", "as written"
            else:
                end, told = f'played = "{string.name}"', f"on the {string.name} string"
            options.append(
                {
                    "label": told,
                    "told": f"{head.pitch} in {where} is played {told}",
                    "toml": f"{begin}\n{end}",
                }
            )
        return {
            "id": note,
            "legend": f"{head.pitch} in {where} is played",
            "options": options,
            "drops": [lines[:-1] if self._part.staves > 1 else lines, lines],
        }

    def _feet(self, change: Change) -> list[dict[str, Any]]:
        other = _OTHER_FOOT.get(change.letter)
        if other is None:
            return []
        letter = change.letter.value
        return [
            {"label": "as planned", "told": "", "toml": None},
            {
                "label": f"the {other.value} foot",
                "told": f"the {other.value} foot takes {letter}",
                "toml": f'[[foot]]\npedal = "{letter}"\nfoot = "{other.value}"',
            },
        ]


def _inline(spot: Spot) -> str:
    return f"{{ {', '.join(spot_lines(spot))} }}"
