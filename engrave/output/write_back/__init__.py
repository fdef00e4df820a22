"""Marks go into the user's own document, and nothing else in it moves.

No XML library writes a document back as it was: quotes, entity forms, line endings and the space
between attributes are lost. So the document is only *read* by libraries. ``transcoding`` brings it
to UTF-8 and back, ``excerpt`` cuts out the harp, ``outline`` tells at which byte each bar and each
of its children begins and ends, ``anchors`` (for MEI ``mei_places``) chooses where a mark belongs,
``markup`` writes it in the layout of its surroundings, and ``splice`` puts the bytes in.
``own_marks`` finds what an earlier run has put in, so that it can be taken out to the byte, and
``clearing`` takes all of it out. ``archive`` does the same for a ZIP: every member but the score
stays as it is.

The door is :func:`pedalsetter.engrave.output.write_back.door.write_back`; ``musicxml`` and ``mei``
know how marks are said in each format.
"""
