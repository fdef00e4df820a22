"""A plan as a table in a notebook; every text of the score is escaped."""

from __future__ import annotations

from html import escape

from pedalsetter.analysis.part import HarpPart, Place
from pedalsetter.analysis.pedal_plan import PedalPlan
from pedalsetter.engrave.output.reports.entries import entries_of, verdict

__all__ = ["plan_html"]

_HEADS = ("bar", "beat", "change", "from", "foot", "needed", "why")


def plan_html(part: HarpPart, plan: PedalPlan) -> str:
    """The verdict, the openings, every change, and what is hard."""

    def short(place: Place | None) -> str:
        if place is None:
            return "–"
        return f"{part.printed_bar(place.bar)}:{part.printed_beat(place)}"

    rows = [
        (
            part.printed_bar(change.place.bar),
            part.printed_beat(change.place),
            change.text,
            f"{change.letter.value}{change.old.sign}",
            f"{change.foot.value}{change.aside}",
            short(change.needed),
            change.why,
        )
        for change in plan.changes
    ]
    head = "".join(f"<th>{one}</th>" for one in _HEADS)
    body = "".join(
        f"<tr>{''.join(f'<td>{escape(cell)}</td>' for cell in row)}</tr>" for row in rows
    )
    openings = "".join(
        f"<p>Opening, bar {escape(part.printed_bar(one.first_bar))}: {escape(str(one.opening))}</p>"
        for one in plan.movements
    )
    hard = "".join(
        f"<li>{escape(f'{one.severity.value}, {one.where(part)}: {one.main.what}')}</li>"
        for one in entries_of(part, plan.findings)
    )
    return (
        f"<p><strong>{escape(verdict(part, plan))}</strong></p>{openings}"
        f"<table><thead><tr>{head}</tr></thead><tbody>{body}</tbody></table>"
        f"{f'<ul>{hard}</ul>' if hard else ''}<p>The plan is a proposal; the harpist decides.</p>"
    )
