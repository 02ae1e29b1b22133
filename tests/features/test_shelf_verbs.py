"""A shelf made, signed, checked and used at a terminal, with the invented demo house for a site."""

import shutil
import subprocess

import pytest

from fleet.cli.saying import PASSPHRASE_FILE
from fleet.shipped import resources
from tests.features.whole_job import walkdown
from tests.shelves import OPENSSL

pytestmark = pytest.mark.slow

UUID = "5b0c9d52-1f6a-4a53-9a0e-2f7f5a1f0c11"


@pytest.fixture
def data(tmp_path, monkeypatch):
    """A data folder of its own, whose signing key lies in a file and in no keyring of the machine."""
    (tmp_path / "passphrase").write_text("an invented passphrase", encoding="utf-8")
    monkeypatch.setenv(PASSPHRASE_FILE, str(tmp_path / "passphrase"))
    monkeypatch.setenv("PYTHON_KEYRING_BACKEND", "keyring.backends.fail.Keyring")
    return tmp_path / "data"


@pytest.fixture
def shelf(tmp_path, data):
    image = tmp_path / "invented.bin"
    image.write_bytes(b"an invented image")
    shelf = tmp_path / "shelf"
    told = ("--version", "2.2.0", "--sequence", "50", "--vendor", UUID, "--class", UUID)
    units = ("--hardware", "H4", "--module", "tracking", "--module-firmware", "5.2")
    done = walkdown("shelf", "add", image, *told, *units, shelf, "--data", data)
    assert done.returncode == 0, done.stderr
    done = walkdown("shelf", "sign", shelf, "--data", data)
    assert done.returncode == 0, done.stderr
    return shelf


def test_a_shelf_is_sound_until_its_image_is_changed(shelf, data):
    assert walkdown("shelf", "check", shelf, "--data", data).returncode == 0
    if shutil.which("openssl"):
        openssl = subprocess.run(OPENSSL.split(), cwd=shelf, capture_output=True, check=False)
        assert openssl.returncode == 0
    (shelf / "invented.bin").write_bytes(b"an imagined image")
    done = walkdown("shelf", "check", shelf, "--data", data)
    assert (done.returncode, "it is not the image that was signed" in done.stdout) == (1, True)


def test_a_shelf_that_isnt_there_ends_with_3_and_a_wrong_command_line_with_2(tmp_path, data):
    done = walkdown("shelf", "check", tmp_path / "gone", "--data", data)
    assert (done.returncode, done.stdout) == (3, "")
    assert "no such folder" in done.stderr
    assert walkdown("shelf", "add", "--data", data).returncode == 2


def test_drift_and_the_visits_for_a_build_are_told_from_the_inventory(shelf, data):
    walkdown("site", "add", resources() / "houses" / "marlpit", "--data", data)
    done = walkdown("drift", "--all-sites", "--data", data)
    assert (done.returncode, "demo, invented" in done.stdout) == (1, True)
    visits = walkdown("drift", "--image", "2.2.0", "--shelf", shelf, "--data", data)
    assert (visits.returncode, "was never read" in visits.stdout) == (1, True)
    assert walkdown("drift", "--image", "2.2.0", "--data", data).returncode == 2
