"""How Pedalsetter is built: by setuptools; see "The compiled search" in DEVELOPERS.md."""

from __future__ import annotations

import shutil
import warnings
from pathlib import Path
from tempfile import TemporaryDirectory

from setuptools import Extension
from setuptools.build_meta import *  # noqa: F403  # what a build backend must have
from setuptools.command.build_ext import build_ext

# pip would show these as warnings: that the table of extensions in pyproject.toml is a new one, and
# what an editable installation is.
for _notice in (r"`\[tool\.setuptools\.ext-modules\]`", "Editable installation"):
    warnings.filterwarnings("ignore", _notice, UserWarning)


class CompileSearch(build_ext):
    """Compiles what can be compiled here, and lets nothing older stand for what cannot."""

    def run(self) -> None:
        """Compile the extensions; what could not be compiled is none."""
        self._built: list[Extension] = []
        with TemporaryDirectory() as folder:
            self._lay_out_types(Path(folder))
            super().run()
        for extension in self.extensions:
            if extension not in self._built:
                Path(self.get_ext_fullpath(extension.name)).unlink(missing_ok=True)
        # A strict editable installation links every one that is still named here.
        self.extensions = self._built

    def _lay_out_types(self, folder: Path) -> None:
        """Put the types that extensions share where Cython looks for those of a package."""
        for extension in self.extensions:
            types = Path(extension.sources[0]).with_suffix(".pxd")
            place = folder.joinpath(*extension.name.split(".")).with_suffix(".pxd")
            place.parent.mkdir(parents=True, exist_ok=True)
            shutil.copy(types, place)
            extension.cython_include_dirs = [str(folder)]

    def build_extension(self, ext: Extension) -> None:
        """Compile one."""
        # -O1 runs as fast as the usual -O3 and builds in a third of the time. Microsoft's compiler
        # has flags of its own.
        if self.compiler.compiler_type != "msvc":
            ext.extra_compile_args = [*ext.extra_compile_args, "-O1", "-g0"]
        super().build_extension(ext)
        self._built.append(ext)
