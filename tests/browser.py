"""A page opened in headless Chromium, for the tests that only CI runs."""

from __future__ import annotations

import shutil
import subprocess
from pathlib import Path

import pytest
from PIL import Image

__all__ = ["dom_of", "screenshot_of"]


def dom_of(page: Path, scratch: Path) -> str:
    """The document as the browser understood it."""
    done = subprocess.run(
        [*_command(scratch), "--dump-dom", page.as_uri()],
        capture_output=True,
        text=True,
        timeout=120,
        check=True,
    )
    return done.stdout


def screenshot_of(page: Path, scratch: Path, width: int, height: int) -> Image.Image:
    """The upper end of the page in a window of that size, in shades of grey."""
    shot = scratch / "screenshot.png"
    subprocess.run(
        [
            *_command(scratch),
            f"--window-size={width},{height}",
            f"--screenshot={shot}",
            page.as_uri(),
        ],
        capture_output=True,
        timeout=120,
        check=True,
    )
    with Image.open(shot) as opened:
        return opened.convert("L")


def _command(scratch: Path) -> list[str]:
    return [
        _chromium(),
        "--headless",
        "--no-sandbox",
        "--disable-gpu",
        "--hide-scrollbars",
        f"--user-data-dir={scratch / 'profile'}",
    ]


def _chromium() -> str:
    """The browser; the test fails, and says how to get it, where there is none."""
    names = ("chromium", "chromium-browser", "google-chrome", "chrome")
    found = next(filter(None, map(shutil.which, names)), None)
    if found is None:
        pytest.fail("Chromium is needed to open the report: apt install chromium")
    return found
