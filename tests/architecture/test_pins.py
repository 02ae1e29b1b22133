"""Dependencies are pinned with hashes, and nothing in the files says where they come from."""

import re
import tomllib

import pytest

from tests.architecture.source_rules import ROOT

LOCKS = ("requirements.lock", "requirements-dev.lock")
PINNED = re.compile(r"^(?P<name>[a-z0-9-]+)(\[[a-z0-9,-]+\])?==[^ ]+( ; [^\\]+)?( \\)?$")


def normal(name: str) -> str:
    """Write a project's name the way an index compares it (PEP 503)."""
    return re.sub(r"[-_.]+", "-", name).lower()


def pins(text: str) -> dict[str, list[str]]:
    """Return name → hashes of each pinned requirement of a lock file.

    Raises:
        ValueError: a line is neither a pin nor a hash.
    """
    found: dict[str, list[str]] = {}
    name = ""
    for line in text.splitlines():
        if pin := PINNED.match(line):
            name = pin["name"]
            found.setdefault(name, [])
        elif re.match(r"^    --hash=sha256:[0-9a-f]{64}( \\)?$", line):
            found[name].append(line)
        else:
            raise ValueError(f"{line!r} is neither a pin nor a hash")
    return found


def asked_for() -> dict[str, set[str]]:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
    groups = {LOCKS[0]: project["project"]["dependencies"], LOCKS[1]: []}
    groups[LOCKS[1]] = groups[LOCKS[0]] + project["dependency-groups"]["dev"]
    return {
        lock: {normal(re.split(r"[<>=!~ \[]", line)[0]) for line in lines}
        for lock, lines in groups.items()
    }


@pytest.mark.parametrize("lock", LOCKS)
def test_every_dependency_is_pinned_with_hashes_and_nothing_else_stands_there(lock):
    found = pins((ROOT / lock).read_text(encoding="utf-8"))
    assert [name for name, hashes in found.items() if not hashes] == []
    assert asked_for()[lock] - set(found) == set()


@pytest.mark.parametrize(
    "text",
    [
        "--index-url https://127.0.0.1/simple",
        "numpy>=2",
        "numpy @ file:///wheels/numpy.whl",
        "# from x",
    ],
)
def test_an_address_or_a_loose_pin_is_found(text):
    with pytest.raises(ValueError, match="neither a pin nor a hash"):
        pins(text)


def test_both_locks_pin_the_same_versions():
    runtime, dev = ((ROOT / lock).read_text(encoding="utf-8").splitlines() for lock in LOCKS)
    assert {line for line in runtime if PINNED.match(line)} <= set(dev)
