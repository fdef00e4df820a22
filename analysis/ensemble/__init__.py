"""The harp among the other instruments.

``full_score`` reads a whole score with the harp in it, ``cues`` chooses what another part plays
before the harp comes in after long rests. In goes the score file and the harp's part, out comes
the score as one value, or the part with small notes that are never planned for. Nothing here may
know the plan.
"""
