"""A page opened in headless Chromium, for the tests that only CI runs."""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import time
from pathlib import Path
from typing import Any

import pytest
from PIL import Image

__all__ = ["Tab", "dom_of", "screenshot_of"]


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


class Tab:
    """One page in a running headless Chromium, which is clicked and typed into as by a person.

    Spoken to over a pair of pipes, as the Chrome DevTools Protocol has it: JSON, each message ended
    by a zero byte (``--remote-debugging-pipe``).
    """

    def __init__(self, page: Path, scratch: Path, width: int = 1300, height: int = 1000) -> None:
        self._number = 0
        self._kept = b""
        to_browser, self._out = os.pipe()
        self._in, from_browser = os.pipe()

        def join() -> None:
            # The protocol has fixed numbers: 3 is read, 4 is written.
            reading, writing = os.dup(to_browser), os.dup(from_browser)
            os.dup2(reading, 3)
            os.dup2(writing, 4)

        self._process = subprocess.Popen(
            [
                *_command(scratch),
                "--remote-debugging-pipe",
                f"--window-size={width},{height}",
                "about:blank",
            ],
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
            close_fds=False,
            preexec_fn=join,
        )
        os.close(to_browser)
        os.close(from_browser)
        targets = self._ask("Target.getTargets")["targetInfos"]
        target = next(one["targetId"] for one in targets if one["type"] == "page")
        attached = self._ask("Target.attachToTarget", targetId=target, flatten=True)
        self._attached = attached["sessionId"]
        self._ask("Page.enable")
        self._ask("Page.navigate", url=page.as_uri())
        until = time.monotonic() + 60
        while self.value("document.readyState") != "complete" or not self.value(
            "location.protocol === 'file:'"
        ):
            assert time.monotonic() < until
            time.sleep(0.05)

    _attached: str | None = None

    def __enter__(self) -> Tab:
        return self

    def __exit__(self, *_: object) -> None:
        self._process.terminate()
        self._process.wait(timeout=30)
        os.close(self._out)
        os.close(self._in)

    def value(self, expression: str) -> Any:
        """What a JavaScript expression is on the page."""
        answer = self._ask("Runtime.evaluate", expression=expression, returnByValue=True)
        assert "exceptionDetails" not in answer, answer["exceptionDetails"]
        return answer["result"].get("value")

    def click(self, element: str) -> None:
        """Click with the mouse in the middle of an element, named by a JavaScript expression."""
        x, y = self.value(
            f"(() => {{ const e = {element}; e.scrollIntoView({{block: 'center'}});"
            "const b = e.getBoundingClientRect();"
            "return [b.x + b.width / 2, b.y + b.height / 2] })()"
        )
        for kind in ("mousePressed", "mouseReleased"):
            self._ask("Input.dispatchMouseEvent", type=kind, x=x, y=y, button="left", clickCount=1)

    def press(self, key: str) -> None:
        """Press one key: ``Enter``, ``Escape``, ``Tab`` or a character."""
        code = {"Enter": 13, "Escape": 27, "Tab": 9, " ": 32}.get(key, 0)
        text = {"Enter": "\r"}.get(key, key if len(key) == 1 else "")
        for kind in ("keyDown", "keyUp"):
            self._ask(
                "Input.dispatchKeyEvent",
                type=kind,
                key=key,
                windowsVirtualKeyCode=code,
                **({"text": text} if kind == "keyDown" and text else {}),
            )

    def type(self, text: str) -> None:
        """Type a text where the focus is."""
        self._ask("Input.insertText", text=text)

    def _ask(self, method: str, **params: Any) -> Any:
        self._number += 1
        message: dict[str, Any] = {"id": self._number, "method": method, "params": params}
        if self._attached is not None:
            message["sessionId"] = self._attached
        os.write(self._out, json.dumps(message).encode() + b"\0")
        while True:
            while b"\0" not in self._kept:
                received = os.read(self._in, 1 << 20)
                assert received, "the browser has ended"
                self._kept += received
            line, _, self._kept = self._kept.partition(b"\0")
            answer = json.loads(line)
            if answer.get("id") == self._number:
                assert "error" not in answer, answer["error"]
                return answer["result"]
