"""From the finished page description to files: LilyPond source, PDF, PNG, plan, summary.

``lilypond`` puts the source together, ``engraver`` runs LilyPond within limits, ``raster`` draws
its PDF, ``plan_document`` and ``report`` tell the plan to programs and to people, and ``files``
writes everything whole or not at all.
"""
