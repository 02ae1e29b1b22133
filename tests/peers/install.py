"""Installs the third-party servers that tests talk to, each in a place of its own under `out/peers/`.

`python -m tests.peers.install` does it beforehand; a test that finds one missing does it itself. What is
installed is pinned by hash in a lock file beside the server, and is installed anew when that changes.
"""

import hashlib
import shutil
import subprocess
import sys
import venv
from collections.abc import Callable
from pathlib import Path

HERE = Path(__file__).parent
CACHE = HERE.parents[1] / "out" / "peers"
NODE_FILES = ("package.json", "package-lock.json", ".npmrc")


def node_wot_modules() -> Path:
    """Return the folder that holds `node_modules` of `@node-wot`."""
    return _installed("node_wot", HERE / "node_wot" / "package-lock.json", _install_node_wot)


def wotpy_python() -> Path:
    """Return the Python that has `wotpy`."""
    lock = HERE / "wotpy" / "requirements.lock"
    return _installed("wotpy", lock, _install_wotpy) / "bin" / "python"


def _installed(name: str, lock: Path, install: Callable[[Path], None]) -> Path:
    """Return where a peer lies, installed now if it isn't, or not as its lock file says."""
    place, digest = CACHE / name, hashlib.sha256(lock.read_bytes()).hexdigest()
    stamp = place / "installed.sha256"
    if not stamp.is_file() or stamp.read_text(encoding="ascii") != digest:
        shutil.rmtree(place, ignore_errors=True)
        place.mkdir(parents=True)
        install(place)
        # Last of all: a half-made installation must not pass for a finished one.
        stamp.write_text(digest, encoding="ascii")
    return place


def _install_node_wot(place: Path) -> None:
    if shutil.which("npm") is None or shutil.which("node") is None:
        raise FileNotFoundError("node and npm are missing: apt-get install nodejs npm")
    for file in NODE_FILES:
        shutil.copy(HERE / "node_wot" / file, place / file)
    _run(["npm", "ci", "--ignore-scripts", "--no-audit", "--no-fund"], place)


def _install_wotpy(place: Path) -> None:
    venv.create(place, with_pip=True)
    pip = [
        str(place / "bin" / "python"),
        "-m",
        "pip",
        "--disable-pip-version-check",
        "-q",
        "install",
    ]
    _run([*pip, "--require-hashes", "-r", str(HERE / "wotpy" / "requirements.lock")], place)


def _run(command: list[str], place: Path) -> None:
    done = subprocess.run(command, cwd=place, capture_output=True, text=True, check=False)
    if done.returncode:
        raise RuntimeError(f"{' '.join(command[:4])} … failed:\n{done.stderr[-2000:]}")


if __name__ == "__main__":
    sys.stdout.write(f"{node_wot_modules()}\n{wotpy_python()}\n")
