"""kill -9 at every point of every writing of a vault: the old one or the new one, never half of one."""

import subprocess
import sys

import pytest

from fleet.link import vault
from fleet.model.credentials import Credential
from tests.architecture.source_rules import ROOT
from tests.faults.killed_vault import STAGES, vault_in


@pytest.fixture(autouse=True)
def little_memory(monkeypatch):
    monkeypatch.setattr(vault, "MEMORY_KIB", 64)


def held(folder) -> dict[str, str]:
    file = vault_in(folder)
    return {key: file.get(key).secret for key in file.keys()}  # noqa: SIM118 - no mapping


def test_a_vault_cut_off_anywhere_is_the_old_one_or_the_new_one(tmp_path):
    done = subprocess.run(
        [sys.executable, "-m", "tests.faults.killed_vault", str(tmp_path)],
        cwd=ROOT,
        capture_output=True,
        encoding="utf-8",
        check=False,
    )
    assert done.returncode == 0, done.stderr
    points = int(done.stdout)
    assert points > 50
    seen = set()
    for point in range(1, points + 1):
        place = tmp_path / str(point)
        told = place / "acknowledged"
        changed = len(told.read_text(encoding="utf-8").split()) if told.exists() else 0
        stage = STAGES.index(held(place))
        assert stage - changed in (0, 1)
        seen.add((changed, stage))
        assert (place / "v").stat().st_mode & 0o777 == 0o600
        vault_in(place).put("urn:three", Credential("third"))
        assert held(place) == STAGES[stage] | {"urn:three": "third"}
        assert {path.name for path in place.iterdir()} <= {"v", "acknowledged"}
    assert {(0, 0), (0, 1), (1, 1), (1, 2), (2, 2), (2, 3)} <= seen
    print(f"{points} points, every vault whole")  # noqa: T201 - the count tried is to be seen
