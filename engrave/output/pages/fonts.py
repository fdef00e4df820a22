"""The families of text fonts that LilyPond finds, so that a style's font is never replaced unsaid.

LilyPond takes another font without a word where one is missing. Its fonts of music are another
matter: LilyPond 2.24 and 2.25 read only fonts made for LilyPond, which lie in its own folder, and
no SMuFL font (Bravura, Leland, Petaluma and the like), so that a style names none.
"""

from __future__ import annotations

import re
import subprocess
from functools import cache

from pedalsetter.analysis.errors import EngravingError, HouseStyleError
from pedalsetter.analysis.naming.wording import likely
from pedalsetter.engrave.house_style import HouseStyle
from pedalsetter.engrave.output.pages.lilypond_program import find_lilypond

__all__ = ["check_fonts", "text_families"]

_SECONDS = 60


def check_fonts(style: HouseStyle) -> None:
    """Refuse a style that names a font which LilyPond cannot find.

    Raises:
        HouseStyleError: there is no such font.
        EngravingError: LilyPond is missing or does not tell its fonts.
    """
    for option, wanted in (("fonts.text", style.text_font), ("fonts.letters", style.letter_font)):
        if not wanted:
            continue
        families = text_families()
        if wanted.casefold() not in {family.casefold() for family in families}:
            raise HouseStyleError(
                f"{option}: LilyPond finds no font family '{wanted}'",
                mend=f"{likely(wanted, families)} Install it for this user, or leave the option "
                "empty.".strip(),
            )


@cache
def text_families() -> tuple[str, ...]:
    """The families that LilyPond's own search for fonts finds, in alphabetical order.

    Raises:
        EngravingError: LilyPond is missing or does not tell them.
    """
    command = [find_lilypond(), "-dshow-available-fonts"]
    try:
        told = subprocess.run(
            command, check=False, capture_output=True, timeout=_SECONDS, stdin=subprocess.DEVNULL
        )
    except (OSError, subprocess.SubprocessError) as error:
        raise EngravingError("LilyPond does not tell its fonts") from error
    text = (told.stdout + told.stderr).decode("utf-8", "replace")
    found = {name.strip() for name in re.findall(r"^family (.+)$", text, re.MULTILINE)}
    return tuple(sorted(found))
