"""``pedalsetter mark --split``: the part for two harps."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import typer

from pedalsetter.engrave.commands.mark_job import MarkJob
from pedalsetter.engrave.commands.shell import Steps, exit_for, exit_for_failures

if TYPE_CHECKING:
    from pedalsetter.engrave.output.results import EngravedScore

__all__ = ["split_job"]


def split_job(job: MarkJob, *, quiet: bool, strict: bool) -> bool:
    """Divide and engrave for two harps; False if no second harp is needed.

    Raises:
        PedalsetterError: any step fails; no file is then written.
    """
    with Steps(quiet) as progress:
        from pedalsetter.engrave.output.result_files import result_files
        from pedalsetter.engrave.road import stem_of
        from pedalsetter.engrave.second_harp import split_score, split_told

        job.check_place("-harp-[12]")
        divided = split_score(
            job.score,
            job.part,
            house_style=job.house_style,
            dpi=job.dpi,
            wanted=job.wanted,
            progress=progress,
            decisions=job.decided(),
            effort=job.effort,
        )
        files: dict[str, bytes] = {}
        stems = [f"{stem_of(job.score)}-harp-{number}" for number, _ in enumerate(divided.harps, 1)]
        for stem, harp in zip(stems, divided.harps, strict=True):
            files.update(result_files(harp, stem)[0])
        written = job.write(files) if files else ()
    if not quiet:
        for line in split_told(divided.planned, divided.split):
            typer.echo(line)
        _print_both(divided.harps, stems, written)
    if not divided.needed:
        return False
    failures = [failure for harp in divided.harps for failure in harp.proof.failures]
    exit_for_failures(job.score, failures)
    exit_for(tuple(one for harp in divided.harps for one in harp.planned.plan.findings), strict)
    return True


def _print_both(
    harps: tuple[EngravedScore, ...], stems: list[str], written: tuple[Path, ...]
) -> None:
    from pedalsetter.engrave.output.reports.report import print_summary

    for stem, harp in zip(stems, harps, strict=True):
        typer.echo(f"\n{harp.planned.part.part_name}")
        own = [path for path in written if path.name.startswith(f"{stem}.")]
        own += [path for path in written if path.name.startswith(f"{stem}-")]
        print_summary(harp.planned, own, harp, notices=harp.notices)
