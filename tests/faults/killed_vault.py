"""A program of its own whose children write to a vault and are killed on the way.

Run by the test beside it: `python -m tests.faults.killed_vault FOLDER`. For point 1, 2, 3 ... it copies
FOLDER/start to FOLDER/<point>, forks, and has the child keep, change and forget secrets there until it
comes to that point of its work on the disk (before and after each call, and in the middle of a write),
where it kills itself with SIGKILL. The child writes the name of each change that returned to
FOLDER/<point>/acknowledged. It ends at the first point that isn't come to, and prints how many there were.
"""

import os
import shutil
import signal
import sys
from collections.abc import Callable, Iterator
from pathlib import Path

from fleet.link import vault
from fleet.link.vault_file import VaultFile
from fleet.model.credentials import Credential

WORD = b"a long word"
STAGES = (
    {"urn:one": "first"},
    {"urn:one": "first", "urn:two": "second"},
    {"urn:one": "changed", "urn:two": "second"},
    {"urn:two": "second"},
)
"""What the vault holds at the start, and after each change."""

_CALLS = ("open", "write", "fsync", "replace", "close")


def changes(file: VaultFile) -> Iterator[Callable[[], object]]:
    """Each change in turn."""
    yield lambda: file.put("urn:two", Credential("second"))
    yield lambda: file.put("urn:one", Credential("changed"))
    yield lambda: file.drop("urn:one")


def vault_in(folder: Path) -> VaultFile:
    return VaultFile(folder / "v", lambda: WORD)


def main(folder: Path) -> None:
    vault.MEMORY_KIB = 64  # how much is stretched doesn't matter here
    (folder / "start").mkdir()
    vault_in(folder / "start").put("urn:one", Credential("first"))
    point, killed = 0, True
    while killed:
        point += 1
        place = folder / str(point)
        shutil.copytree(folder / "start", place)
        child = os.fork()
        if child == 0:
            be_killed(place, point)
        _, status = os.waitpid(child, 0)
        killed = os.WIFSIGNALED(status) and os.WTERMSIG(status) == signal.SIGKILL
        if not killed and status != 0:
            raise SystemExit(f"point {point}: the child ended with {status}")
    sys.stdout.write(f"{point - 1}\n")


def be_killed(place: Path, point: int) -> None:
    """Work until the point comes; never return."""
    file, passed = vault_in(place), 0
    file.keys()  # opened, so that every point is one of a change
    real = {name: getattr(os, name) for name in _CALLS}

    def pass_by() -> None:
        nonlocal passed
        passed += 1
        if passed == point:
            os.kill(os.getpid(), signal.SIGKILL)

    def watched(name: str) -> Callable[..., object]:
        def call(*parts, **named):
            pass_by()
            if name == "write":  # half of it is on the disk
                written = real["write"](parts[0], parts[1][: len(parts[1]) // 2 + 1])
            else:
                written = real[name](*parts, **named)
            pass_by()
            return written

        return call

    for name in _CALLS:
        setattr(os, name, watched(name))
    for number, change in enumerate(changes(file), 1):
        change()
        note = real["open"](place / "acknowledged", os.O_WRONLY | os.O_CREAT | os.O_APPEND, 0o600)
        real["write"](note, f"{number}\n".encode())
        real["close"](note)
        pass_by()
    os._exit(0)


if __name__ == "__main__":
    main(Path(sys.argv[1]))
