"""Running the demo's whole job in a process of its own, as a person at a terminal would."""

import json
import subprocess
import sys
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


def run_job(out: Path, *words: str | Path) -> Job:
    """Run the headless demo into a new folder."""
    done = walkdown("demo", "--headless", "--out", out, *words)
    path = out / "findings.json"
    findings = json.loads(path.read_text(encoding="utf-8")) if path.exists() else []
    return Job(done.returncode, done.stdout + done.stderr, findings, out)


def expected_kinds(findings: list[dict[str, str]]) -> list[tuple[str, str, str]]:
    """Room, unit and kind of the findings that a house hides, in order."""
    return sorted((f["room"], f["unit"], f["kind"]) for f in findings)
