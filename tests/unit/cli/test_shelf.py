import argparse
import shutil

import keyring
import pytest
from keyring.backends.fail import Keyring as NoKeyring

from fleet.cli import shelf
from fleet.cli.saying import DONE, PASSPHRASE_FILE, REPORTED
from fleet.inventory.inventory import open_inventory
from fleet.jobs.matching_builds import MATCH_SAID, MatchKey, said_in
from fleet.model.errors import PlanError
from fleet.model.house import MatchWord
from fleet.shelf.opening import open_shelf
from fleet.shelf.trust import KEY_TRUSTED
from tests.inventories import CountingClock
from tests.shelves import CLASS, IMAGE, VENDOR, signed_shelf


@pytest.fixture(autouse=True)
def no_keyring(tmp_path, monkeypatch):
    before = keyring.get_keyring()
    keyring.set_keyring(NoKeyring())
    passphrase = tmp_path / "passphrase"
    passphrase.write_text("an invented passphrase", encoding="utf-8")
    monkeypatch.setenv(PASSPHRASE_FILE, str(passphrase))
    yield
    keyring.set_keyring(before)


@pytest.fixture
def data(tmp_path):
    return tmp_path / "data"


@pytest.fixture
def walkdown(data, capsys):
    def run(*words):
        parser = argparse.ArgumentParser()
        shelf.add_arguments(parser)
        parser.set_defaults(data=data)
        code = shelf.run(parser.parse_args([str(word) for word in words]))
        return code, capsys.readouterr().out

    return run


@pytest.fixture
def image(tmp_path):
    path = tmp_path / "made.bin"
    path.write_bytes(b"an invented image")
    return path


def told(image, path, *more):
    return (
        "add", image, "--version", "2.1.3", "--sequence", "30", "--vendor", VENDOR.upper(),
        "--class", CLASS, "--hardware", "R3", "--hardware", "R4", "--module", "tracking",
        "--module-firmware", "5.0",
        "--notes", "Invented.", "--support-ends", "2029-06-30", *more, path,
    )  # fmt: skip


def test_a_shelf_is_added_to_signed_and_checked(walkdown, image, tmp_path):
    path = tmp_path / "shelf"
    code, out = walkdown(*told(image, path))
    assert code == DONE
    assert f"walkdown shelf sign {path}" in out
    code, out = walkdown("check", path)
    assert code == REPORTED
    assert out.splitlines() == [
        "2.1.3, sequence 30, for R3, R4; tracking, mended until 2029-06-30: made.bin",
        f"wrong: {path}: the shelf isn't signed.",
    ]
    code, out = walkdown("sign", path)
    assert (code, out.startswith("Signed.")) == (DONE, True)
    code, out = walkdown("check", path)
    assert (code, "Sound: each of 1 is as" in out) == (DONE, True)


def test_what_is_told_of_an_image_stands_in_the_manifest(walkdown, image, tmp_path, data):
    walkdown(*told(image, tmp_path / "shelf", "--build-id", "b-213"))
    walkdown("sign", tmp_path / "shelf")
    (added,) = open_shelf(tmp_path / "shelf", shelf.known_keys(data)).images
    assert (added.version, added.build_id, added.sequence) == ("2.1.3", "b-213", 30)
    assert (added.vendor_id, added.class_id) == (VENDOR, CLASS)
    assert added.hardware_revisions == ("R3", "R4")
    assert (added.module_types, added.module_firmwares) == (("tracking",), ("5.0",))
    assert (added.notes, str(added.support_ends)) == ("Invented.", "2029-06-30")


def test_an_images_words_are_held_to_what_they_may_be(walkdown, image, tmp_path):
    for wrong in (("--support-ends", "soon"), ("--module", "radio"), ("--sequence", "x")):
        with pytest.raises(SystemExit):
            walkdown(*told(image, tmp_path / "shelf", *wrong))
    assert not (tmp_path / "shelf").exists()


def test_another_makers_shelf_is_trusted_by_fingerprint_and_with_a_reason(walkdown, tmp_path, data):
    path, key = signed_shelf(tmp_path, IMAGE)
    code, out = walkdown("check", path)
    assert code == REPORTED
    assert f"signed with the key {key}, which nobody here trusts" in out
    assert not data.exists()
    assert (
        walkdown("trust", key, "--why", "read out on the telephone", "--by", "Ann Other")[0] == DONE
    )
    assert walkdown("check", path)[0] == DONE
    with open_inventory(data, CountingClock()) as inventory:
        (row,) = inventory.journal_of(KEY_TRUSTED)
    assert (row.subject, row.detail) == (
        key,
        {"by": "Ann Other", "why": "read out on the telephone"},
    )
    walkdown("distrust", key.replace(" ", ""), "--why", "the key was stolen")
    assert walkdown("check", path)[0] == REPORTED


def test_signing_again_doesnt_bring_back_a_key_that_is_trusted_no_longer(walkdown, image, tmp_path):
    path = tmp_path / "shelf"
    walkdown(*told(image, path))
    key = walkdown("sign", path)[1].strip().rpartition("way: ")[2]
    walkdown("distrust", key, "--why", "the laptop was stolen")
    walkdown("sign", path)
    assert walkdown("check", path)[0] == REPORTED


def test_a_key_named_on_the_command_line_is_the_one_that_is_trusted(walkdown, tmp_path):
    path, _ = signed_shelf(tmp_path, IMAGE)
    own = shutil.copy(path / "shelf.pem", tmp_path / "maker.pem")
    assert walkdown("check", path, "--key", own)[0] == DONE
    with pytest.raises(PlanError, match="no public key of the kind Ed25519"):
        walkdown("check", path, "--key", path / "shelf.sig")
    with pytest.raises(PlanError, match="can't be read"):
        walkdown("check", path, "--key", tmp_path / "gone.pem")


def test_a_reason_is_needed_for_a_word(walkdown):
    for words in ([], ["--why", "  "]):
        with pytest.raises(SystemExit):
            walkdown("trust", "0" * 64, *words)


def test_a_persons_word_on_a_match_is_journaled_with_name_and_reason(walkdown, data):
    code, out = walkdown(
        "match", "allowed", "--version", "2.1.3", "--hardware", "R3", "--module", "static",
        "--module-firmware", "4.9", "--why", "a week on the bench", "--by", "Ann Other",
    )  # fmt: skip
    assert code == DONE
    assert out.startswith("2.1.3 on hardware R3 with a static module, its firmware 4.9: allowed")
    with open_inventory(data, CountingClock()) as inventory:
        word = said_in(inventory.journal_of(MATCH_SAID))[MatchKey("R3", "static", "4.9", "2.1.3")]
    assert (word.match, word.by, word.why) == (
        MatchWord.ALLOWED,
        "Ann Other",
        "a week on the bench",
    )
