"""The vault: opened by its passphrase alone, refused for a reason, replaced whole or not at all."""

import os

import pytest

from fleet.link import vault
from fleet.link.vault_file import TRIES, VaultFile, VaultLockedError, from_json, to_json
from fleet.model.credentials import Credential
from fleet.model.errors import InventoryError, PlanError

WORD = b"a long word"
KEPT = Credential("opensesame-7", "installer")
HEAD_BYTES = 38


@pytest.fixture(autouse=True)
def little_memory(monkeypatch):
    """Stretch little: how much is right is a published check's matter."""
    monkeypatch.setattr(vault, "MEMORY_KIB", 64)


class Answers:
    """Answers in turn, the last one for ever; counts how often it is asked."""

    def __init__(self, *answers):
        self.answers = answers
        self.asked = 0

    def __call__(self):
        self.asked += 1
        return self.answers[min(self.asked, len(self.answers)) - 1]


def made(tmp_path, ask=lambda: WORD):
    file = VaultFile(tmp_path / "data" / "v", ask)
    file.put("urn:one", KEPT)
    return file, tmp_path / "data" / "v"


# Sealing


def test_what_is_sealed_comes_out_with_the_same_key_alone():
    key = vault.derive(WORD, vault.new_salt())
    sealed = vault.seal(key, b"within")
    assert vault.unseal(key, sealed).rstrip() == b"within"
    assert vault.unseal(vault.derive(b"another", key.salt), sealed) is None


def test_no_two_sealings_are_alike_and_their_length_tells_little():
    key = vault.derive(WORD, vault.new_salt())
    first, second = vault.seal(key, b"a"), vault.seal(key, b"a" * 900)
    assert first != vault.seal(key, b"a")
    assert len(first) == len(second)
    assert b"a" * 20 not in second


def test_each_byte_of_a_vault_is_covered():
    key = vault.derive(WORD, vault.new_salt())
    sealed = vault.seal(key, b"within")
    for at in range(len(vault.MAGIC) + 2, len(sealed)):
        changed = bytearray(sealed)
        changed[at] ^= 1
        assert vault.unseal(key, bytes(changed)) is None, at


@pytest.mark.parametrize("cut", [0, 1, 8, 10, HEAD_BYTES, HEAD_BYTES + vault.TAG_BYTES - 1])
def test_a_vault_cut_off_in_its_head_is_no_vault(cut):
    key = vault.derive(WORD, vault.new_salt())
    with pytest.raises(vault.UnfitVaultError, match="no vault, or it is cut off"):
        vault.unseal(key, vault.seal(key, b"within")[:cut])


def test_more_than_a_vault_holds_is_not_sealed():
    key = vault.derive(WORD, vault.new_salt())
    assert vault.seal(key, b"a" * vault.MOST_BYTES) is None
    most = vault.MOST_BYTES - HEAD_BYTES - vault.TAG_BYTES - vault.FILL_BYTES
    assert len(vault.seal(key, b"a" * most)) <= vault.MOST_BYTES


def test_a_key_does_not_show_itself():
    key = vault.derive(WORD, vault.new_salt())
    assert repr(key.secret) not in repr(key)
    assert "secret" not in repr(key)


# The file


def test_nobody_is_asked_while_nothing_is_kept(tmp_path):
    ask = Answers(WORD)
    file = VaultFile(tmp_path / "v", ask)
    assert file.get("urn:one") is None
    assert file.keys() == ()
    assert not file.drop("urn:one")
    assert ask.asked == 0
    assert list(tmp_path.iterdir()) == []


def test_what_is_kept_is_there_at_the_next_start_and_asked_for_once(tmp_path):
    _, path = made(tmp_path)
    ask = Answers(WORD)
    file = VaultFile(path, ask)
    assert file.get("urn:one") == KEPT
    assert file.get("urn:two") is None
    file.put("urn:two", Credential("t0ken"))
    assert file.keys() == ("urn:one", "urn:two")
    assert file.drop("urn:one")
    assert not file.drop("urn:one")
    assert VaultFile(path, lambda: WORD).keys() == ("urn:two",)
    assert ask.asked == 1


def test_the_file_is_its_owners_alone_and_nothing_lies_beside_it(tmp_path):
    _, path = made(tmp_path)
    assert path.stat().st_mode & 0o777 == 0o600
    assert path.parent.stat().st_mode & 0o777 == 0o700
    assert list(path.parent.iterdir()) == [path]
    assert b"opensesame" not in path.read_bytes()


def test_what_another_program_keeps_meanwhile_is_not_lost(tmp_path):
    first, path = made(tmp_path)
    VaultFile(path, lambda: WORD).put("urn:two", Credential("t0ken"))
    first.put("urn:three", Credential("third"))
    assert VaultFile(path, lambda: WORD).keys() == ("urn:one", "urn:three", "urn:two")


def test_a_wrong_passphrase_may_be_mended_and_then_opens(tmp_path):
    _, path = made(tmp_path)
    ask = Answers(b"wrong", b"wronger", WORD)
    assert VaultFile(path, ask).get("urn:one") == KEPT
    assert ask.asked == TRIES


@pytest.mark.parametrize(
    ("answers", "asked"), [((b"1", b"2", b"3", WORD), TRIES), ((b"same",), 2), ((b"",), 1)]
)
def test_after_wrong_passphrases_nobody_is_asked_again_until_the_vault_is_locked_anew(
    tmp_path, answers, asked
):
    _, path = made(tmp_path)
    before = path.read_bytes()
    ask = Answers(*answers)
    file = VaultFile(path, ask)
    for _ in range(3):
        with pytest.raises(VaultLockedError, match=r"wrong, or the vault is damaged|no passphrase"):
            file.get("urn:one")
        with pytest.raises(VaultLockedError):
            file.put("urn:two", KEPT)
    assert ask.asked == asked
    assert path.read_bytes() == before
    file.lock()
    ask.answers, ask.asked = (WORD,), 0
    assert file.get("urn:one") == KEPT


def test_a_vault_is_not_made_without_a_passphrase(tmp_path):
    file = VaultFile(tmp_path / "v", lambda: b"")
    for _ in range(2):
        with pytest.raises(VaultLockedError, match="no passphrase was given"):
            file.put("urn:one", KEPT)
    assert list(tmp_path.iterdir()) == []


def test_where_nobody_can_be_asked_that_is_said(tmp_path):
    def nobody():
        raise PlanError("nobody is at the terminal.")

    with pytest.raises(PlanError, match="nobody is at the terminal"):
        VaultFile(tmp_path / "v", nobody).put("urn:one", KEPT)


def test_a_newer_version_is_refused_untouched(tmp_path):
    file, path = made(tmp_path)
    newer = bytearray(path.read_bytes())
    newer[9] = 2
    path.write_bytes(newer)
    for work in (lambda: file.get("urn:one"), lambda: file.put("a", KEPT), lambda: file.drop("a")):
        with pytest.raises(InventoryError, match="of version 2, and this program reads 1"):
            work()
    assert path.read_bytes() == newer


def test_damage_is_said_and_nothing_written_over_it(tmp_path):
    file, path = made(tmp_path)
    damaged = bytearray(path.read_bytes())
    damaged[-1] ^= 1
    path.write_bytes(damaged)
    with pytest.raises(InventoryError, match="it is damaged"):
        file.put("urn:two", KEPT)
    with pytest.raises(VaultLockedError, match="wrong, or the vault is damaged"):
        VaultFile(path, lambda: WORD).put("urn:two", KEPT)
    assert path.read_bytes() == damaged


def test_a_huge_file_is_not_read_to_its_end(tmp_path):
    path = tmp_path / "v"
    with path.open("wb") as file:
        file.write(vault.MAGIC)
        file.truncate(1 << 40)
    with pytest.raises(InventoryError, match="larger than a vault may be"):
        VaultFile(path, Answers(WORD)).get("urn:one")


def test_a_vault_that_would_grow_too_large_stays_as_it_was(tmp_path):
    file, path = made(tmp_path)
    before = path.read_bytes()
    with pytest.raises(InventoryError, match="would grow beyond"):
        file.put("urn:two", Credential("x" * vault.MOST_BYTES))
    assert path.read_bytes() == before


def test_what_another_program_sealed_is_not_taken_for_ours(tmp_path):
    path = tmp_path / "v"
    key = vault.derive(WORD, vault.new_salt())
    for plain in (b"[]", b'{"a": 1}', b"{", b'{"a": {"secret": "s"}}', b"\xff"):
        path.write_bytes(vault.seal(key, plain))
        with pytest.raises(InventoryError, match="not written by this program"):
            VaultFile(path, lambda: WORD).get("urn:one")


def test_where_the_disk_refuses_that_is_said_and_the_old_vault_stands(tmp_path, monkeypatch):
    file, path = made(tmp_path)
    before = path.read_bytes()

    def full(*_):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(InventoryError, match="can't be written: No space left"):
        file.put("urn:two", KEPT)
    assert path.read_bytes() == before
    assert list(path.parent.iterdir()) == [path]


def test_a_folder_in_the_vaults_place_is_said(tmp_path):
    with pytest.raises(InventoryError, match="can't be read"):
        VaultFile(tmp_path, lambda: WORD).get("urn:one")


def test_a_sealed_rest_is_cleared_away_by_the_next_writing(tmp_path):
    file, path = made(tmp_path)
    rest = path.with_name(f".{path.name}.half-left")
    rest.write_bytes(b"half")
    file.put("urn:two", KEPT)
    assert not rest.exists()


def test_odd_letters_come_out_as_they_went_in():
    kept = {"urn:ü\ud800": Credential("p\u202ew\x00rd \udcff 密码", "نادية")}
    assert from_json(to_json(kept)) == kept
