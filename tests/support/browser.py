"""A browser without a window, driven over its debugging pipe (Chrome DevTools Protocol).

Messages are JSON objects that end in a zero byte; the browser reads descriptor 3 and writes 4. The
network is off: no name is found, and a page from disk is told that it is offline.
"""

from __future__ import annotations

import base64
import json
import os
import subprocess
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path
from typing import Any

KEYS = {"Tab": 9, "Enter": 13, "Escape": 27, "ArrowRight": 39, "ArrowLeft": 37, "End": 35}


class PageError(Exception):
    """A script that was to be evaluated in the page stopped."""


class Browser:
    """One page of a browser."""

    def __init__(self, reader: int, writer: int) -> None:
        """Talk over these descriptors."""
        self.reader = reader
        self.writer = writer
        self.rest = b""
        self.count = 0
        self.session = ""
        self.complaints: list[str] = []
        """What the console showed as a warning or an error, and errors that nobody caught."""
        self.loaded = False

    def start(self) -> None:
        """Open a page."""
        target = self.send("Target.createTarget", {"url": "about:blank"})["targetId"]
        attached = self.send("Target.attachToTarget", {"targetId": target, "flatten": True})
        self.session = attached["sessionId"]
        for domain in ("Page", "Runtime", "Log", "Network"):
            self.send(f"{domain}.enable", {})
        offline = {"offline": True, "latency": 0, "downloadThroughput": 0, "uploadThroughput": 0}
        self.send("Network.emulateNetworkConditions", offline)

    def send(self, method: str, params: Mapping[str, Any]) -> dict[str, Any]:
        """A command; its answer."""
        self.count += 1
        number = self.count
        message: dict[str, Any] = {"id": number, "method": method, "params": params}
        if self.session:
            message["sessionId"] = self.session
        os.write(self.writer, json.dumps(message).encode() + b"\0")
        while True:
            answer = self.receive()
            if answer.get("id") == number:
                if "error" in answer:
                    raise PageError(f"{method}: {answer['error']}")
                result: dict[str, Any] = answer["result"]
                return result

    def receive(self) -> dict[str, Any]:
        """The next message; what is to be noted is noted."""
        while b"\0" not in self.rest:
            chunk = os.read(self.reader, 1 << 20)
            if not chunk:
                raise PageError("the browser is gone")
            self.rest += chunk
        text, _, self.rest = self.rest.partition(b"\0")
        message: dict[str, Any] = json.loads(text)
        params = message.get("params", {})
        match message.get("method"):
            case "Runtime.exceptionThrown":
                self.complaints.append(json.dumps(params["exceptionDetails"]))
            case "Runtime.consoleAPICalled" if params["type"] in ("error", "warning", "assert"):
                self.complaints.append(json.dumps(params["args"]))
            case "Log.entryAdded" if params["entry"]["level"] in ("error", "warning"):
                self.complaints.append(params["entry"]["text"])
            case "Page.loadEventFired":
                self.loaded = True
        return message

    # what a person does -----------------------------------------------------------------------

    def open(self, file: Path) -> None:
        """Load a file from disk."""
        self.loaded = False
        self.send("Page.navigate", {"url": file.resolve().as_uri()})
        while not self.loaded:
            self.receive()

    def window(self, width: int, height: int, dark: bool = False, zoom: float = 1) -> None:
        """The size of the window, the colours that are preferred, and the zoom."""
        size = {"width": round(width / zoom), "height": round(height / zoom)}
        self.send(
            "Emulation.setDeviceMetricsOverride",
            {**size, "deviceScaleFactor": zoom, "mobile": False},
        )
        scheme = {"name": "prefers-color-scheme", "value": "dark" if dark else "light"}
        self.send("Emulation.setEmulatedMedia", {"media": "", "features": [scheme]})

    def paper(self) -> None:
        """The page as it is printed, on A4 with margins of 10 mm (190 mm are 718 pixels)."""
        size = {"width": 718, "height": 1000, "deviceScaleFactor": 1, "mobile": False}
        self.send("Emulation.setDeviceMetricsOverride", size)
        scheme = {"name": "prefers-color-scheme", "value": "dark"}
        self.send("Emulation.setEmulatedMedia", {"media": "print", "features": [scheme]})

    def press(self, key: str, *, shift: bool = False) -> None:
        """Press a key and let go of it."""
        for kind in ("rawKeyDown", "keyUp"):
            self.send(
                "Input.dispatchKeyEvent",
                {
                    "type": kind,
                    "key": key,
                    "code": key,
                    "windowsVirtualKeyCode": KEYS[key],
                    "modifiers": 8 if shift else 0,
                },
            )

    def run(self, script: str) -> Any:
        """The value of an expression in the page; a promise is waited for."""
        asked = {"expression": script, "awaitPromise": True, "returnByValue": True}
        answer = self.send("Runtime.evaluate", asked)
        if "exceptionDetails" in answer:
            raise PageError(json.dumps(answer["exceptionDetails"]))
        return answer["result"].get("value")

    def printed(self, target: Path) -> None:
        """The page as a PDF file, on A4."""
        asked = {"paperWidth": 8.27, "paperHeight": 11.69, "printBackground": False}
        target.write_bytes(base64.b64decode(self.send("Page.printToPDF", asked)["data"]))

    def picture(self, target: Path, clip: tuple[float, float, float, float] | None = None) -> None:
        """A screenshot as a PNG file: of the window, or of a part of the page (x, y, w, h)."""
        asked: dict[str, Any] = {"format": "png"}
        if clip is not None:
            names = ("x", "y", "width", "height")
            asked["clip"] = {**dict(zip(names, clip, strict=True)), "scale": 1}
            asked["captureBeyondViewport"] = True
        target.write_bytes(base64.b64decode(self.send("Page.captureScreenshot", asked)["data"]))


@contextmanager
def browser(program: str, folder: Path) -> Iterator[Browser]:
    """A browser with its files in ``folder``; gone at the end."""
    there, writer = os.pipe()
    reader, back = os.pipe()
    command = [
        *(program, "--headless", "--no-sandbox", "--disable-gpu", "--no-first-run"),
        *("--disable-background-networking", "--host-resolver-rules=MAP * ~NOTFOUND"),
        *(f"--user-data-dir={folder}", "--remote-debugging-pipe", "about:blank"),
    ]

    # The browser wants its ends as 3 and 4; bash puts them there (sh knows none above 9).
    shell = f'exec "$@" 3<&{there} 4>&{back}'
    process = subprocess.Popen(
        ["bash", "-c", shell, "bash", *command],
        pass_fds=(there, back),
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
    )
    os.close(there)
    os.close(back)
    try:
        page = Browser(reader, writer)
        page.start()
        yield page
        page.session = ""
        page.send("Browser.close", {})
    finally:
        os.close(writer)
        os.close(reader)
        process.terminate()
        process.wait(timeout=20)
