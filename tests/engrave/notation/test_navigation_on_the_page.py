"""Words of navigation and signs that stand at one barline, read from the PDF."""

from __future__ import annotations

import pypdfium2 as pdfium
import pytest
from score_snippets import bars, direction, note, opening, score

from pedalsetter.analysis.marks.marking import Markings
from pedalsetter.analysis.reading import read_score
from pedalsetter.engrave.house_style import load_house_style
from pedalsetter.engrave.output.pages.engraver import engrave
from pedalsetter.engrave.output.pages.lilypond import lilypond_source

pytestmark = pytest.mark.engraving

SCORE = score(
    bars(
        direction("<segno/>") + note("C5", 4),
        note("D5", 4),
        note("E5", 4) + direction("<words>D.S. al Coda</words>", after='<sound dalsegno="segno"/>'),
        direction("<coda/>") + note("F5", 4),
        first=opening(),
    )
)


def test_da_capo_words_end_before_the_coda_sign() -> None:
    """The words end at the barline at which the sign of the next bar stands, clear of it.

    Source of the distances: the PDF; that both stand there is common practice, no source.
    """
    part = read_score(SCORE, "coda.xml")
    source = lilypond_source(part, Markings((), ()), load_house_style()).text
    text = pdfium.PdfDocument(engrave(source).pdf)[0].get_textpage()
    said = text.get_text_range()
    begin = said.index("D.S. al Coda")
    boxes = [text.get_charbox(index) for index in range(text.count_chars())]
    right = max(box[2] for box in boxes[begin : begin + len("D.S. al Coda")])
    low = boxes[begin][1]
    signs = [  # of the font of music, in the row of the words: the segno and the coda
        box
        for box, letter in zip(boxes, said, strict=True)
        if ord(letter) >= 0xE000 and abs(box[1] - low) < 2
    ]
    assert len(signs) == 2
    segno, coda = sorted(signs)
    assert segno[2] < boxes[begin][0] < right
    assert coda[0] - right > 2  # points
