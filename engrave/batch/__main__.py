"""A desk as a process of its own: tasks come in on its input, answers go out on its output."""

from __future__ import annotations

import os

from pedalsetter.engrave.batch.serving import serve

if __name__ == "__main__":
    answers = os.dup(1)
    os.dup2(2, 1)  # whatever a library prints must not stand between the answers
    serve(0, answers)
