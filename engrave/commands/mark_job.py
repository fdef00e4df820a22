"""One run of ``mark``: everything that was asked, as a value that another process can be given."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from pedalsetter.analysis.editing.source_policy import SourceMarks
from pedalsetter.analysis.errors import SeveralHarpsError
from pedalsetter.engrave.commands.shell import effort_of, read_decisions
from pedalsetter.engrave.road import (
    NOTHING_BESIDE,
    ProofBeside,
    Wanted,
    copy_score,
    files_of,
    mark_score,
    plan_score,
    proof_beside,
    silent,
    stem_of,
)

if TYPE_CHECKING:
    from pedalsetter.analysis.decisions.values import Decisions
    from pedalsetter.analysis.part import Notice
    from pedalsetter.analysis.planning import Effort
    from pedalsetter.engrave.output.results import EngravedScore, PlannedScore
    from pedalsetter.engrave.road import Progress

__all__ = ["MarkJob"]


def slug(name: str) -> str:
    """A name as part of a file's name: ``Harp 1`` is ``harp-1``."""
    return "-".join(re.findall(r"\w+", name.casefold()))


@dataclass(frozen=True, slots=True)
class MarkJob:
    """What ``mark`` was asked for."""

    score: Path
    folder: Path
    part: str | None
    decisions: Path | None
    no_decisions: bool
    respell: str | None
    allow: tuple[str, ...]
    house_style: str
    dpi: int | None
    """None for no pictures."""
    wanted: Wanted
    source_marks: SourceMarks
    thorough: bool = False
    """Whether the plan is searched for as long as it could be better."""
    force: bool = False
    """Whether files that are not ours, or were edited, may be replaced."""
    of_harp: str = ""
    """What stands after the score's name where it has several harps: ``-harp-1``."""
    printed: str | None = None
    """The suffix of the one result that is printed instead of writing any, without its dot."""

    @property
    def effort(self) -> Effort:
        """How much the plan may cost to find."""
        return effort_of(self.thorough)

    @property
    def stem(self) -> str:
        """What the names of all results begin with."""
        return stem_of(self.score) + self.of_harp

    def for_each_harp(self) -> tuple[MarkJob, ...]:
        """The same for every harp of the score, each with its own name and its own decisions.

        Raises:
            PedalsetterError: the score cannot be read, or has no harp.
        """
        from pedalsetter.analysis.reading import read_part

        whole = replace(self, part=None)
        try:
            read_part(self.score)
        except SeveralHarpsError as error:
            names = [slug(name) for name, _ in error.harps]
            return tuple(
                whole._of_harp(asked, name if names.count(name) == 1 and name else f"part-{asked}")
                for name, (_, asked) in zip(names, error.harps, strict=True)
            )
        return (whole,)

    def _of_harp(self, part: str, name: str) -> MarkJob:
        beside = self.score.parent / f"{stem_of(self.score)}-{name}.pedals.toml"
        has_own = self.decisions is None and not self.no_decisions and beside.is_file()
        return replace(
            self,
            part=part,
            of_harp=f"-{name}",
            decisions=beside if has_own else self.decisions,
            no_decisions=self.no_decisions or (self.decisions is None and not has_own),
        )

    @property
    def watched(self) -> tuple[Path, ...]:
        """The files that the result depends on, the score first."""
        from pedalsetter.analysis.decisions.file import decisions_beside

        beside = self.decisions or decisions_beside(self.score)
        style = Path(self.house_style)
        return (
            self.score,
            *(() if self.no_decisions else (beside,)),
            *((style,) if style.suffix == ".toml" else ()),
        )

    def plan(self) -> PlannedScore:
        """The plan alone, without trying mends: what can be told at once.

        Raises:
            PedalsetterError: the score or the decisions cannot be read or understood.
        """
        return plan_score(self.score, self.part, decisions=self.decided(), effort=self.effort)

    def run(self, progress: Progress = silent) -> tuple[EngravedScore, tuple[Path, ...]]:
        """Engrave, write all files, and return the result and their paths.

        Raises:
            PedalsetterError: any step fails; no file is then written.
        """
        self.check_place()
        result = mark_score(
            self.score,
            self.part,
            house_style=self.house_style,
            dpi=self.dpi,
            wanted=self.wanted,
            decisions=self.decided(),
            effort=self.effort,
            source_marks=self.source_marks,
            progress=progress,
            proof_beside=self._proof_beside() if self.wanted.proof else NOTHING_BESIDE,
        )
        files, notices = files_of(result, self.score, self.wanted, self.stem)
        written = self.write(files)
        return replace(result, notices=notices), written

    def run_without_pages(
        self, progress: Progress = silent
    ) -> tuple[PlannedScore, tuple[Path, ...], tuple[Notice, ...]]:
        """Write the plan and the marked copy alone; no LilyPond is needed.

        Raises:
            PedalsetterError: any step fails; no file is then written.
        """
        self.check_place()
        planned, files, notices = copy_score(
            self.score,
            self.part,
            house_style=self.house_style,
            wanted=self.wanted,
            decisions=self.decided(),
            effort=self.effort,
            source_marks=self.source_marks,
            progress=progress,
            stem=self.stem,
        )
        return planned, self.write(files), notices

    def check_place(self, ending: str = "") -> None:
        """Refuse before the work what could not be written after it.

        ``ending`` matches what results of another kind have after the score's name.

        Raises:
            OutputError: a file must not be replaced, or the folder cannot be written.
        """
        from pedalsetter.engrave.output.files import check_place
        from pedalsetter.engrave.output.result_files import possible_names

        if self.printed is not None:
            return
        names = possible_names(
            self.stem,
            ending,
            pictures=self.dpi is not None or self.wanted.contact_sheet,
            report=self.wanted.critical_report,
            proof=self.wanted.proof,
            marked_copy=self.wanted.marked_copy,
            stylesheet=not self.wanted.standalone,
        )
        check_place(self.folder, names, self.score, force=self.force)

    def write(self, files: Mapping[str, bytes]) -> tuple[Path, ...]:
        """Write results into the folder, and return their paths; or print the one asked for.

        Raises:
            OutputError: a file must not be replaced, or the folder cannot be written; or none or
                several are of the kind that is to be printed.
        """
        from pedalsetter.engrave.output.files import write_files

        if self.printed is not None:
            self._print(files)
            return ()
        return write_files(self.folder, files, self.score, force=self.force)

    def _print(self, files: Mapping[str, bytes]) -> None:
        from pedalsetter.analysis.errors import OutputError
        from pedalsetter.engrave.output.reports.terminal import write_bytes

        suffix = f".{self.printed}"
        fit = [name for name in files if Path(name).suffix == suffix]
        if len(fit) != 1:
            kinds = ", ".join(sorted({f"--as {Path(name).suffix[1:]}" for name in files}))
            raise OutputError(
                f"{len(fit)} files end in {suffix}, and only one can be printed"
                if fit
                else f"no result ends in {suffix}",
                file=self.score.name,
                mend=f"There are {kinds}; or have all written with -o FOLDER.",
            )
        write_bytes(files[fit[0]])

    def _proof_beside(self) -> ProofBeside:
        """The decisions as they are written, and the last proof."""
        from pedalsetter.analysis.decisions.file import decisions_beside

        decisions = self.decisions or decisions_beside(self.score)
        return proof_beside(
            None if self.no_decisions else decisions, self.folder / f"{self.stem}.proof.html"
        )

    def decided(self) -> Decisions:
        """The musician's decisions, as the options about them have it.

        Raises:
            DecisionsError: the file cannot be read or understood.
        """
        return read_decisions(
            self.score, self.decisions, self.no_decisions, self.respell, self.allow
        )
