"""The plan as a JSON document with a version number.

The same document is ``STEM.plan.json`` beside the engraved part and what
``pedalsetter plan --json`` prints. examples/guide/plan-document.md describes every key
for users; a key is only ever added, and ``version`` rises when one changes its meaning.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Sequence
from fractions import Fraction
from typing import Any

from pedalsetter.analysis.instrument.harp import LETTERS, Setting
from pedalsetter.analysis.marks.marking import Markings
from pedalsetter.analysis.part import HarpPart, Notice, Place, by_kind
from pedalsetter.analysis.pedal_plan import (
    Change,
    Finding,
    Mend,
    PedalPlan,
    Severity,
    StringUse,
)
from pedalsetter.engrave.output.own_results import stamped
from pedalsetter.engrave.output.reports.best_told import best_told

__all__ = [
    "PLAN_DOCUMENT_VERSION",
    "change_document",
    "finding_document",
    "findings_that_matter",
    "plan_document",
    "plan_json",
    "setting_document",
]

PLAN_DOCUMENT_VERSION = 1


def plan_json(
    part: HarpPart, plan: PedalPlan, markings: Markings, notices: Sequence[Notice] | None = None
) -> str:
    """The document as text: UTF-8 characters kept, two spaces of indent, newline at the end.

    ``notices`` are all, those of the page and of a copy included; None for the reader's. Its last
    key tells that it is ours, and as it was written.
    """
    document = plan_document(part, plan, markings, notices)
    text = json.dumps(document, ensure_ascii=False, indent=2) + "\n"
    return stamped("plan.json", text.encode()).decode()


def score_document(part: HarpPart) -> dict[str, Any]:
    """What a document says of the score it is about."""
    return {
        "file": part.source.file,
        "format": part.source.format,
        "title": part.title,
        "composer": part.composer,
        "part": part.part_name,
        "part_number": part.source.part_number,
        "parts": part.source.parts,
        "bars": len(part.bars),
    }


def plan_document(
    part: HarpPart, plan: PedalPlan, markings: Markings, notices: Sequence[Notice] | None = None
) -> dict[str, Any]:
    """The document as plain data, keys in a fixed order."""
    pages = _Places(part)
    added = {(mark.place, letter) for mark in markings.changes for letter in mark.added}
    told = part.warnings if notices is None else notices
    return {
        "format": "pedalsetter plan",
        "version": PLAN_DOCUMENT_VERSION,
        "score": {
            **score_document(part),
            "notes": sum(1 for _ in part.notes()),
            "spelling_guessed": part.source.spelling_guessed,
        },
        "tempo_assumed": plan.tempo_assumed,
        "opening": [
            {
                "movement": movement.movement + 1,
                "bar": part.printed_bar(movement.first_bar),
                **_setting(movement.opening),
            }
            for movement in plan.movements
        ],
        "changes": [
            {
                **_change(pages, change),
                "editorial": (change.place, change.letter) in added,
            }
            for change in plan.changes
        ],
        "diagrams": [
            {
                **pages.of(diagram.place),
                **_setting(diagram.setting),
                "changed": [letter.value for letter in diagram.changed],
                "reason": diagram.reason.value,
                "origin": diagram.origin.value,
                "editorial": diagram.editorial,
            }
            for diagram in markings.diagrams
        ],
        "respelled": _otherwise(pages, plan.respelled, "written"),
        "string_names": [
            {
                **pages.of(mark.place),
                "staff": mark.staff,
                "strings": [string.name for string in mark.strings],
                "beside": [f"{pitch.name}={string.name}" for pitch, string in mark.beside],
                "side": "above" if mark.above else "below",
                "editorial": mark.editorial,
            }
            for mark in markings.strings
        ],
        "neighbours": _otherwise(pages, plan.neighbours, "beside"),
        "decisions": [
            {
                "decision": result.told,
                **(pages.of(result.place) if result.place is not None else {}),
                "held": not result.refused,
                "why_not": result.refused,
            }
            for result in plan.decisions
        ],
        "findings": [_finding(pages, finding) for finding in plan.findings],
        "notices": [str(notice) for notice in told],
        "notices_by_kind": [
            {"what": notice.what, "bars": list(notice.bars), "times": notice.times}
            for notice in by_kind(told)
        ],
        "cost": {
            "total": _decimal(plan.cost),
            "terms": {name: _decimal(value) for name, value in plan.cost_terms},
            "proved_optimal": plan.proved_optimal,
            "bound": None if plan.gap is None else _decimal(plan.cost - plan.gap * plan.cost),
            "told": best_told(plan),
        },
    }


def findings_that_matter(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """The findings that a user who asks for strictness wants to be told of: all but remarks."""
    return tuple(finding for finding in findings if finding.severity is not Severity.REMARK)


def setting_document(setting: Setting) -> dict[str, Any]:
    """A setting as the plan's document has it: as text, and each pedal as a number."""
    return _setting(setting)


def change_document(part: HarpPart, change: Change) -> dict[str, Any]:
    """A change as the plan's document has it."""
    return _change(_Places(part), change)


def finding_document(part: HarpPart, finding: Finding) -> dict[str, Any]:
    """A finding, with the mends that were tried, as the plan's document has it."""
    return _finding(_Places(part), finding)


class _Places:
    """Where notes and places stand on the page."""

    def __init__(self, part: HarpPart) -> None:
        self.part = part
        self.notes = {head.id: (event, head) for event, head in part.notes()}

    def of(self, place: Place) -> dict[str, Any]:
        return {
            "bar": self.part.printed_bar(place.bar),
            "beat": self.part.printed_beat(place),
            "bar_index": place.bar,
            "offset_quarters": str(place.offset),
        }

    def maybe(self, place: Place | None) -> dict[str, Any] | None:
        return None if place is None else self.of(place)

    def of_note(self, note: str) -> dict[str, Any]:
        event, head = self.notes[note]
        place = self.of(self.part.place_of(event))
        return {"note": note, "name": str(head.pitch), "staff": event.staff, **place}


def _setting(setting: Setting) -> dict[str, Any]:
    return {
        "setting": str(setting),
        "pedals": {letter.value: int(setting[letter]) for letter in LETTERS},
    }


def _change(pages: _Places, change: Change) -> dict[str, Any]:
    return {
        **pages.of(change.place),
        "letter": change.letter.value,
        "from": change.old.sign,
        "to": change.new.sign,
        "text": change.text,
        "foot": change.foot.value,
        "crossed": change.crossed,
        "together": None if change.together is None else change.together.value,
        "needed": pages.maybe(change.needed),
        "needed_by": [pages.of_note(note) for note in change.needed_by],
        "free_since": pages.maybe(change.free_since),
        "seconds_free": _decimal(change.seconds_free),
        "seconds_since_same_foot": _decimal(change.seconds_since_same_foot),
        "decided": change.decided,
        "why": change.why,
    }


def _finding(pages: _Places, finding: Finding) -> dict[str, Any]:
    return {
        "kind": finding.kind.value,
        "code": finding.kind.code,
        "severity": finding.severity.value,
        **(pages.of(finding.place) if finding.located else {}),
        "staff": finding.staff,
        "notes": [pages.of_note(note) for note in finding.notes],
        "what": finding.what,
        "mend": finding.mends[0].what if finding.mends else finding.mend,
        "mends": [_mend(pages, mend) for mend in finding.mends],
    }


def _otherwise(pages: _Places, uses: Iterable[StringUse], key: str) -> list[dict[str, Any]]:
    """What is played on another letter; the ``key`` says what is read."""
    return [
        {**pages.of_note(use.note), key: use.written.name, "played": use.sounding.name}
        for use in uses
        if use.sounding is not None
    ]


def _mend(pages: _Places, mend: Mend) -> dict[str, Any]:
    return {
        "kind": mend.kind.value,
        "what": mend.what,
        "edits": [
            {
                **pages.of_note(edit.note),
                "instead": None if edit.pitch is None else str(edit.pitch),
                "plain": edit.plain,
            }
            for edit in mend.edits
        ],
        "findings_less": mend.removes,
        "unplayable_before": mend.unplayable[0],
        "unplayable_after": mend.unplayable[1],
        "cost_before": _decimal(mend.cost[0]),
        "cost_after": _decimal(mend.cost[1]),
    }


def _decimal(value: Fraction | None) -> float | None:
    """Three places are enough for a reader; exact time stays inside the program."""
    return None if value is None else round(float(value), 3)
