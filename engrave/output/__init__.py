"""From marks and notes to files.

``pages`` engraves, ``reports`` tell, ``pictures``, ``chart`` and ``proof_page`` draw, and
``write_back`` puts the marks into the user's own document. What all share stands here: ``results``
that the road brings home, ``result_files`` by name, ``own_results``, by which they are known again,
and ``files``, which writes them whole or not at all.
"""
