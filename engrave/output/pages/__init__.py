"""Engraved pages: from the marked part to PDF, boxes and pictures.

``lilypond`` writes the source, with ``page`` as its frame; ``engraver`` runs LilyPond
(``lilypond_process``, ``lilypond_program``, ``lilypond_log``) within limits and reads back where
everything was printed; ``press`` engraves again where a remedy helps, ``settled_press`` where marks
depend on the page; ``raster`` makes PNG, ``reading_score`` the harp among the other parts. Nothing
here may know the user's file or a terminal.
"""
