"""Where marks stand, and the proof that they stand well.

``lanes`` writes each mark on a skip in a lane parallel to the music; the engraver makes room and
reports the boxes of what it printed; ``geometry`` reads them, ``placement`` joins them to the
marks, and ``collisions`` and ``proof`` measure that nothing touches, no row is crooked, nothing
passes the line end and every mark stands at its moment.
"""
