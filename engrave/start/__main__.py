"""``python -m pedalsetter``: the same as the command ``pedalsetter``."""

from __future__ import annotations

from pedalsetter.engrave.command_line import main

if __name__ == "__main__":
    main()
