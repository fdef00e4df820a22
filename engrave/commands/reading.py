"""``pedalsetter mark --reading-score``: the harp among the other parts."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import typer

from pedalsetter.analysis.naming.wording import many
from pedalsetter.engrave.commands.shell import Steps, exit_for, exit_for_failures

if TYPE_CHECKING:
    from pedalsetter.engrave.commands.mark_job import MarkJob

__all__ = ["reading_job"]


def reading_job(
    job: MarkJob, cues: Sequence[str], *, hide_empty: bool, quiet: bool, strict: bool
) -> None:
    """Engrave the reading score of ``job`` and write it as ``STEM-reading``.

    Raises:
        PedalsetterError: any step fails; no file is then written.
    """
    with Steps(quiet) as progress:
        from pedalsetter.analysis.ensemble.full_score import read_full_score
        from pedalsetter.engrave.house_style import load_house_style
        from pedalsetter.engrave.output.reports.best_told import best_told
        from pedalsetter.engrave.output.reports.notices_told import notice_lines
        from pedalsetter.engrave.output.reports.plan_document import findings_that_matter, plan_json
        from pedalsetter.engrave.road import load_engraving, plan_score, stem_of

        job.check_place(r"(-reading|(?=\.plan))")
        style = load_house_style(job.house_style)
        planned = plan_score(
            job.score,
            job.part,
            progress,
            decisions=job.decided(),
            effort=job.effort,
            mends=job.wanted.mends,
        )
        progress("reading the other parts")
        score = read_full_score(job.score, planned.part, cues)
        progress("engraving")
        load_engraving()
        from pedalsetter.engrave.output.pages.reading_score import engrave_reading_score

        findings = findings_that_matter(planned.plan.findings)
        result = engrave_reading_score(
            score, planned.markings, style, findings, hide_empty=hide_empty
        )
        stem = f"{stem_of(job.score)}-reading"
        files = {
            f"{stem}.ly": result.picture.source.encode(),
            f"{stem}.pdf": result.picture.pdf,
            f"{stem_of(job.score)}.plan.json": plan_json(
                planned.part, planned.plan, planned.markings
            ).encode(),
        }
        if job.dpi is not None:
            progress("drawing the pages")
            pages = result.picture.png(job.dpi)
            files |= {f"{stem}-{number}.png": page for number, page in enumerate(pages, 1)}
        written = job.write(files)
    if not quiet:
        parts = ", ".join(player.name for player in score.players)
        typer.echo(f"{many(len(score.players), 'part')}: {parts}")
        for notice in notice_lines(result.notices):
            typer.echo(f"Notice: {notice}")
        typer.echo(best_told(planned.plan))
        typer.echo(f"{len(findings)} findings are flagged in the margin and listed at the end.")
        names = ", ".join(path.name for path in written)
        typer.echo(f"Written to {job.folder}: {names}")
    exit_for_failures(job.score, result.proof.failures)
    exit_for(planned.plan.findings, strict)
