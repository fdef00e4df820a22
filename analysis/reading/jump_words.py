"""Words and signs of navigation: D.C., D.S., To Coda, Fine."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace

from pedalsetter.analysis.part import Jump, JumpKind

__all__ = ["jump_of_words", "merged_jumps"]

_DA_CAPO = re.compile(r"\bd\. ?c\b\.?|^dc\b|\bda capo\b|\bdal capo\b")
_DAL_SEGNO = re.compile(r"\bd\. ?s\b\.?|^ds\b|\bdal segno\b|\bdel segno\b|^al segno\b")
_TO_CODA = re.compile(r"^(to|al|alla|zur|vers la|à la|a la) (the )?(coda|kopf)\b|^to ?$")
_FINE = re.compile(r"^(il )?(fine|fin|ende)\b[.!]?$")
_AL_CODA = re.compile(r"\b(al|alla|zur|to) (the )?coda\b|\be poi (la )?coda\b|\bthen (to )?coda\b")
_AL_FINE = re.compile(r"\bal(la)? fine\b|\bto (the )?(fine|end)\b|\bbis (zum )?(fine|ende)\b")


def jump_of_words(text: str, bar: int) -> Jump | None:
    """The jump that words such as *D.S. al Coda* ask for; None if they ask for none.

    >>> jump_of_words("D.C. al Fine", 7).al_fine
    True
    """
    words = " ".join(text.lower().replace("\N{NO-BREAK SPACE}", " ").split())
    # A coda or segno sign between the words does not change them.
    words = " ".join(re.sub("[\ue047\ue048\U0001d10b\U0001d10c𝄋𝄌%⊕]", " ", words).split())
    al_coda = _AL_CODA.search(words) is not None
    al_fine = _AL_FINE.search(words) is not None
    if _DA_CAPO.search(words):
        return Jump(JumpKind.DA_CAPO, bar, al_coda=al_coda, al_fine=al_fine)
    if _DAL_SEGNO.search(words):
        return Jump(JumpKind.DAL_SEGNO, bar, al_coda=al_coda, al_fine=al_fine)
    if _TO_CODA.search(words):
        return Jump(JumpKind.TO_CODA, bar)
    if _FINE.search(words):
        return Jump(JumpKind.FINE, bar)
    return None


def merged_jumps(jumps: Sequence[Jump]) -> tuple[Jump, ...]:
    """One jump for each kind in a bar, with all that its sign, its words and its sound say."""
    found: dict[tuple[int, JumpKind], Jump] = {}
    for jump in jumps:
        key = (jump.bar, jump.kind)
        known = found.get(key)
        if known is None:
            found[key] = jump
        else:
            found[key] = replace(
                known,
                label=known.label or jump.label,
                al_coda=known.al_coda or jump.al_coda,
                al_fine=known.al_fine or jump.al_fine,
            )
    order = list(JumpKind)
    return tuple(sorted(found.values(), key=lambda jump: (jump.bar, order.index(jump.kind))))
