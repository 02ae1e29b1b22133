"""Running the demo's whole job in a process of its own, as a person at a terminal would."""

import json
import subprocess
import sys
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

LIMIT_S = 180


@dataclass(frozen=True)
class Job:
    """What a run left: exit code, what it printed, its findings, its folder."""

    code: int
    printed: str
    findings: list[dict[str, Any]]
    out: Path

    @property
    def kinds(self) -> list[tuple[str, str, str]]:
        """Room, unit and kind of each finding, in order."""
        return sorted((f["room"], f["unit"], f["kind"]) for f in self.findings)


def walkdown(*words: str | Path) -> subprocess.CompletedProcess[str]:
    """Run the program with these words."""
    command = [sys.executable, "-m", "ui.start", *map(str, words)]
    return subprocess.run(
        command,
        capture_output=True,
        text=True,
        timeout=LIMIT_S,
        check=False,
        stdin=subprocess.DEVNULL,
    )


class Jobs:
    """Headless demos, each in a process and a new folder of its own, begun in order, two at a time.

    A run mostly waits for house time; more than two would make a small machine lose reports.
    """

    AT_ONCE = 2

    def __init__(self, folder: Path, words: Mapping[str, Sequence[str | Path]]) -> None:
        """Begin the first ones; `words` are the options of each, by a name."""
        self._folder = folder
        self._waiting = dict(words)
        self._running: dict[str, subprocess.Popen[bytes]] = {}
        self._ended: dict[str, Job] = {}
        self._begin()

    def result(self, name: str) -> Job:
        """Wait for a run, and return what it left."""
        while name not in self._ended:
            oldest, process = next(iter(self._running.items()))
            code = process.wait(LIMIT_S)
            del self._running[oldest]
            self._begin()
            self._ended[oldest] = self._left(oldest, code)
        return self._ended[name]

    def stop(self) -> None:
        """End whatever runs."""
        for process in self._running.values():
            process.terminate()
            process.wait(LIMIT_S)

    def _begin(self) -> None:
        while self._waiting and len(self._running) < self.AT_ONCE:
            name = next(iter(self._waiting))
            words = ["demo", "--headless", "--out", self._folder / name, *self._waiting.pop(name)]
            with (self._folder / f"{name}.txt").open("wb") as said:
                self._running[name] = subprocess.Popen(
                    [sys.executable, "-m", "ui.start", *map(str, words)],
                    stdin=subprocess.DEVNULL,
                    stdout=said,
                    stderr=subprocess.STDOUT,
                )

    def _left(self, name: str, code: int) -> Job:
        out = self._folder / name
        path = out / "findings.json"
        findings = json.loads(path.read_text(encoding="utf-8")) if path.exists() else []
        printed = (self._folder / f"{name}.txt").read_text(encoding="utf-8")
        return Job(code, printed, findings, out)


def expected_kinds(findings: list[dict[str, str]]) -> list[tuple[str, str, str]]:
    """Room, unit and kind of the findings that a house hides, in order."""
    return sorted((f["room"], f["unit"], f["kind"]) for f in findings)
