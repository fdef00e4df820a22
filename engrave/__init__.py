"""How it looks on paper.

The second half of the road::

    HarpPart, Markings ─ lay out ▶ Placement ─ write ▶ files

``notation`` turns the part into the engraver's score (abjad) without any marks; ``layout`` builds
the lanes in which marks stand and proves from the engraved boxes that nothing collides; ``output``
writes LilyPond source, runs the engraver within limits, and makes PNG pages from its PDF.
"""
