"""From marks and notes to files.

``lilypond`` writes the source of the whole part, ``engraver`` runs LilyPond on it within limits
and reads back where everything was printed, ``raster`` makes pictures of the pages.
"""
