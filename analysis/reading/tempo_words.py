"""Words of tempo in Italian, German, French and English.

The lists are the terms in common use in printed music (common practice, no source). They serve to
tell a tempo mark from a playing instruction, never to invent a speed: a speed is taken only from a
figure.
"""

from __future__ import annotations

import itertools
import re
import unicodedata
from enum import Enum
from fractions import Fraction

from pedalsetter.analysis.part import NotatedLength

__all__ = ["TempoTerm", "tempo_figure", "tempo_term"]


class TempoTerm(Enum):
    """What a word of tempo does."""

    STEADY = "steady"
    """Names a tempo: *Andante*, *Più mosso*, *Langsam*."""
    SLOWER = "slower"
    """Slows down gradually: *rit.*, *rallentando*, *en retenant*."""
    FASTER = "faster"
    """Grows faster gradually: *accel.*, *stringendo*, *drängend*."""
    BACK = "back"
    """Returns to the tempo before a gradual change: *a tempo*."""
    FIRST = "first"
    """Returns to the first tempo: *Tempo I*."""


_STEADY = frozenset(
    re.findall(
        r"\S+",
        """
        grave largo larghetto larghissimo lento lentissimo adagio adagietto adagissimo andante
        andantino moderato maestoso allegretto allegro allegrissimo vivace vivacissimo vivo
        presto prestissimo mosso meno_mosso piu_mosso lentamente sostenuto scherzando
        tranquillo andante agitato animato comodo tempo quasi_presto doppio_movimento
        l'istesso listesso istesso pesante langsam massig maessig lebhaft schnell rasch bewegt
        belebt ruhig gemachlich gemaechlich breit getragen schwer feierlich frisch munter
        fliessend fliessende kraftig zeitmass langsamer schneller bewegter lebhafter ruhiger
        breiter rascher massiger lent lentement tres_lent modere anime vif vite rapide allant
        calme retenu mouvement assez_vif assez_lent plus_lent plus_vite moins_vite plus_anime
        """,
    )
)

_WEAK = frozenset(
    re.findall(
        r"\S+",
        """
        slow slowly fast quick quickly lively moderate moderately broad broadly slower faster
        quicker walking brisk briskly flowing gently calm calmly swing ballad waltz march
        rubato freely energetic
        """,
    )
)

_QUALIFIERS = frozenset(
    re.findall(
        r"\S+",
        """
        a al alla allo ben con di e ed il in la ma mit molto moto meno non nicht of piu poco
        più quasi sehr sempre senza so the troppo und un une peu très tres assez plus moins et
        etwas ziemlich very with and not too much ein wenig noch wie more less rather subito tempo
        finale rondo scherzo menuetto menuet minuet trio thema tema var variation intro introduction
        introduzione cadenza
        """,
    )
)

_SLOWER = frozenset(
    re.findall(
        r"\S+",
        """
        rit ritard ritardando ritenuto riten ritenendo rall rallent rallentando allargando
        allarg slentando slent calando retenez retenant cedez ceder cedant ralentir
        ralentissez ralentissant zuruckhaltend zurueckhaltend verlangsamen verlangsamend
        nachlassen nachlassend slowing slow_down hold_back elargir elargissant
        """,
    )
)

_FASTER = frozenset(
    re.findall(
        r"\S+",
        """
        accel accelerando stringendo string affrettando incalzando animando serrez serrant
        pressez pressant accelerez animez animant beschleunigen beschleunigend drangend
        draengend eilend speed_up pushing hurrying
        """,
    )
)

_BACK = frozenset(
    re.findall(
        r"\S+",
        """
        a_tempo in_tempo im_tempo atempo a_tempo_subito au_mouvement au_mouvt mouvt_precedent
        im_zeitmass wieder_im_tempo im_ersten_zeitmass
        """,
    )
)

_FIRST = re.compile(
    r"(tempo (i|1|1o|io|1mo|primo|prima|del principio|iniziale)|(1|i)(er|re)? (tempo|mouv(emen)?t)"
    r"|premier mouvement|erstes zeitmass|tempo wie zu anfang|original tempo)\b"
)

_FIGURE = re.compile(
    r"(?P<unit>[𝅝𝅗𝅥𝅘𝅥𝅮♩♪\ue1d3\ue1d5\ue1d7\ueca3\ueca5\ueca7])\s*(?P<dot>[.𝅭\ue1e7\uecb7])?"
    r"\s*=\s*\D{0,8}?(?P<figure>\d{2,3}(?:[.,]\d+)?)"
)

_UNITS = {
    "♩": 2,
    "♪": 3,
    "\U0001d15d": 0,
    "\U0001d157": 1,
    "\ue1d3": 1,
    "\ue1d5": 2,
    "\ue1d7": 3,
    "\ueca3": 1,
    "\ueca5": 2,
    "\ueca7": 3,
}


def tempo_term(text: str) -> TempoTerm | None:
    """What the words say about tempo; None if they say nothing.

    >>> tempo_term("poco rit.")
    <TempoTerm.SLOWER: 'slower'>
    >>> tempo_term("dolce") is None
    True
    """
    words = _words(text)
    if not words:
        return None
    joined = " ".join(words)
    if _FIRST.match(joined):
        return TempoTerm.FIRST
    if "_".join(words) in _BACK or "_".join(words[:2]) in _BACK:
        return TempoTerm.BACK
    pairs = {"_".join(pair) for pair in itertools.pairwise(words)}
    told = set(words) | pairs
    if told & _SLOWER and len(words) <= 6:
        return TempoTerm.SLOWER
    if told & _FASTER and len(words) <= 6:
        return TempoTerm.FASTER
    first = next((word for word in words if word not in _QUALIFIERS), None)
    if first in _STEADY or pairs & _STEADY:
        return TempoTerm.STEADY
    known = _WEAK | _QUALIFIERS | _STEADY
    if first is not None and all(word in known for word in words):
        return TempoTerm.STEADY
    return None


def tempo_figure(text: str) -> Fraction | None:
    """Quarters a minute from words such as ``♩ = 96``; None if no figure stands in them."""
    match = _FIGURE.search(text)
    if match is None or match["unit"] not in _UNITS:
        return None
    value = NotatedLength(_UNITS[match["unit"]], 1 if match["dot"] else 0)
    return Fraction(match["figure"].replace(",", ".")) * value.quarters


def _words(text: str) -> list[str]:
    plain = unicodedata.normalize("NFKD", text.lower().replace("ß", "ss").replace("º", "o"))
    plain = "".join(letter for letter in plain if not unicodedata.combining(letter))
    return re.findall(r"[a-z0-9']+", plain.replace("’", "'"))
