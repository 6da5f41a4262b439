"""A headless Chromium on a pipe, for the tests of the classroom page: no driver, no port."""

from __future__ import annotations

import base64
import json
import os
import select
import shutil
import subprocess
import time
from pathlib import Path
from typing import Any

import pytest

NAMES = ("chromium", "chromium-browser", "google-chrome", "chrome")
FLAGS = (
    "--headless",
    "--no-sandbox",
    "--disable-gpu",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--disable-extensions",
    "--disable-dev-shm-usage",
    "--hide-scrollbars",
    "--force-device-scale-factor=1",
    "--remote-debugging-pipe",
)
PATIENCE = 60.0
"""Seconds to wait for any one answer."""

KEYS: dict[str, dict[str, Any]] = {
    " ": {"code": "Space", "text": " ", "windowsVirtualKeyCode": 32},
    "Tab": {"code": "Tab", "windowsVirtualKeyCode": 9},
    "ArrowRight": {"code": "ArrowRight", "windowsVirtualKeyCode": 39},
    "ArrowLeft": {"code": "ArrowLeft", "windowsVirtualKeyCode": 37},
    "Home": {"code": "Home", "windowsVirtualKeyCode": 36},
    "End": {"code": "End", "windowsVirtualKeyCode": 35},
    "PageDown": {"code": "PageDown", "windowsVirtualKeyCode": 34},
    "PageUp": {"code": "PageUp", "windowsVirtualKeyCode": 33},
    "ArrowUp": {"code": "ArrowUp", "windowsVirtualKeyCode": 38},
    "ArrowDown": {"code": "ArrowDown", "windowsVirtualKeyCode": 40},
    "Enter": {"code": "Enter", "text": "\r", "windowsVirtualKeyCode": 13},
    "Backspace": {"code": "Backspace", "windowsVirtualKeyCode": 8},
}


def find_chromium() -> str:
    """The browser; without one the test is skipped, but in CI it fails."""
    found = next((path for name in NAMES if (path := shutil.which(name))), None)
    if found:
        return found
    message = f"no Chromium on PATH (looked for {', '.join(NAMES)}): the page is not tested"
    if os.environ.get("CI", "").lower() in ("1", "true", "yes"):
        pytest.fail(message)
    pytest.skip(message)


class Browser:
    """One page in one browser; speaks the browser's debugging protocol."""

    def __init__(self, program: str, profile: Path) -> None:
        to_read, self._write = os.pipe()
        self._read, to_write = os.pipe()
        # The browser reads commands from descriptor 3 and writes answers to descriptor 4.
        command = f'exec "$0" "$@" 3<&{to_read} 4>&{to_write}'
        self._process = subprocess.Popen(
            ["bash", "-c", command, program, *FLAGS, f"--user-data-dir={profile}", "about:blank"],
            pass_fds=(to_read, to_write),
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
        )
        os.close(to_read)
        os.close(to_write)
        self._buffer, self._number, self._session = b"", 0, ""
        self.events: list[dict[str, Any]] = []
        target = self.call("Target.createTarget", url="about:blank")["targetId"]
        held = self.call("Target.attachToTarget", targetId=target, flatten=True)
        self._session = held["sessionId"]
        for domain in ("Page", "Runtime", "Log", "Network"):
            self.call(f"{domain}.enable")

    def close(self) -> None:
        """End the browser."""
        self._session = ""
        self._send("Browser.close", {})
        try:
            self._process.wait(PATIENCE)
        except subprocess.TimeoutExpired:
            self._process.kill()
            self._process.wait()
        os.close(self._read)
        os.close(self._write)

    def call(self, method: str, **parameters: Any) -> dict[str, Any]:
        """The answer to one command; what happens meanwhile goes to `events`."""
        number = self._send(method, parameters)
        while True:
            message = self._receive()
            if message.get("id") == number:
                assert "error" not in message, f"{method}: {message['error']}"
                result: dict[str, Any] = message["result"]
                return result
            self.events.append(message)

    def _send(self, method: str, parameters: dict[str, Any]) -> int:
        self._number += 1
        message = {"id": self._number, "method": method, "params": parameters}
        if self._session:
            message["sessionId"] = self._session
        os.write(self._write, json.dumps(message).encode() + b"\0")
        return self._number

    def _receive(self) -> dict[str, Any]:
        until = time.monotonic() + PATIENCE
        while b"\0" not in self._buffer:
            ready, _, _ = select.select([self._read], [], [], max(0.0, until - time.monotonic()))
            piece = os.read(self._read, 1 << 20) if ready else b""
            assert piece, "the browser does not answer"
            self._buffer += piece
        line, _, self._buffer = self._buffer.partition(b"\0")
        message: dict[str, Any] = json.loads(line)
        return message

    def open(self, page: Path, width: int = 1280, height: int = 800, mobile: bool = False) -> None:
        """Open a file in a window of a size and wait until its script has run."""
        self.resize(width, height, mobile)
        self.events.clear()
        self.call("Page.navigate", url=page.absolute().as_uri())
        self.wait_for("document.readyState === 'complete'")

    def resize(self, width: int, height: int, mobile: bool = False) -> None:
        """Make the window another size."""
        self.call(
            "Emulation.setDeviceMetricsOverride",
            width=width, height=height, deviceScaleFactor=1, mobile=mobile,
        )  # fmt: skip

    def run(self, expression: str) -> Any:
        """The value of an expression in the page."""
        answer = self.call("Runtime.evaluate", expression=expression, returnByValue=True)
        assert "exceptionDetails" not in answer, f"{expression}: {answer['exceptionDetails']}"
        return answer["result"].get("value")

    def wait_for(self, expression: str) -> None:
        """Wait until an expression holds."""
        until = time.monotonic() + PATIENCE
        while not self.run(expression):
            assert time.monotonic() < until, f"never came true: {expression}"
            time.sleep(0.02)

    def press(self, key: str, *, shift: bool = False) -> None:
        """Press and let go a key, as a person does."""
        code = ord(key.upper()) if len(key) == 1 else 0
        known = KEYS.get(key, {"text": key, "windowsVirtualKeyCode": code})
        held = {"key": key, "modifiers": 8 if shift else 0, **known}
        kind = "keyDown" if "text" in held else "rawKeyDown"
        self.call("Input.dispatchKeyEvent", type=kind, **held)
        self.call("Input.dispatchKeyEvent", type="keyUp", **held)

    def click(self, selector: str) -> None:
        """Click the middle of an element, as a person does; it must be there to be hit."""
        place = self.run(
            f"(() => {{ const e = document.querySelector({json.dumps(selector)});"
            "e.scrollIntoView({block: 'center'}); const r = e.getBoundingClientRect();"
            "return [r.x + r.width / 2, r.y + r.height / 2]; })()"
        )
        for kind in ("mousePressed", "mouseReleased"):
            self.call(
                "Input.dispatchMouseEvent",
                type=kind, x=place[0], y=place[1], button="left", clickCount=1,
            )  # fmt: skip

    def drag(
        self, way: list[tuple[float, float]], *, touch: bool = False, hold: bool = False
    ) -> None:
        """Press at the first place, go along the way, let go unless to `hold`; mouse or finger."""
        kinds = ["touchStart", "touchMove"] if touch else ["mousePressed", "mouseMoved"]
        for i, (x, y) in enumerate(way):
            kind = kinds[min(i, 1)]
            if touch:
                self.call("Input.dispatchTouchEvent", type=kind, touchPoints=[{"x": x, "y": y}])
            else:
                self.call(
                    "Input.dispatchMouseEvent", type=kind, x=x, y=y, button="left", buttons=1,
                    clickCount=1,
                )  # fmt: skip
        if not hold:
            self.let_go(way[-1], touch=touch)

    def let_go(self, place: tuple[float, float], *, touch: bool = False) -> None:
        """Let go what a drag holds."""
        if touch:
            self.call("Input.dispatchTouchEvent", type="touchEnd", touchPoints=[])
        else:
            x, y = place
            self.call(
                "Input.dispatchMouseEvent", type="mouseReleased", x=x, y=y, button="left",
                clickCount=1,
            )  # fmt: skip

    def enter(self, name: str, value: float | str) -> None:
        """Give the control with an id a value, as dragging or choosing does."""
        self.run(
            f"(() => {{ const e = document.getElementById({json.dumps(name)}); e.value = {value};"
            "for (const kind of ['input', 'change']) e.dispatchEvent(new Event(kind)); })()"
        )

    def text(self, name: str) -> str:
        """The text of the element with an id."""
        return str(self.run(f"document.getElementById({json.dumps(name)}).textContent"))

    def problems(self) -> list[str]:
        """What the page complained of: errors, warnings, refusals by its policy."""
        self.run("0")
        kinds = ("Runtime.exceptionThrown", "Runtime.consoleAPICalled", "Log.entryAdded")
        return [json.dumps(event) for event in self.events if event.get("method") in kinds]

    def requests(self) -> list[str]:
        """The addresses that the page asked for."""
        sent = [e for e in self.events if e.get("method") == "Network.requestWillBeSent"]
        return [str(event["params"]["request"]["url"]) for event in sent]

    def picture(self, path: Path) -> None:
        """Write what is seen as PNG."""
        path.write_bytes(base64.b64decode(self.call("Page.captureScreenshot")["data"]))

    def paper(self) -> bytes:
        """The page as a PDF, as it would be printed."""
        held = self.call("Page.printToPDF", printBackground=True, preferCSSPageSize=True)
        return base64.b64decode(held["data"])
