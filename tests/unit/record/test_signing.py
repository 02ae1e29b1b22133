"""The firm's key: made once, kept encrypted, the same ever after."""

import keyring
import pytest
from cryptography.hazmat.primitives.asymmetric.ed448 import Ed448PrivateKey
from cryptography.hazmat.primitives.serialization import (
    BestAvailableEncryption,
    Encoding,
    PrivateFormat,
)
from keyring.backend import KeyringBackend
from keyring.backends.fail import Keyring as NoKeyring
from keyring.errors import KeyringLocked

from fleet.model.errors import RecordError
from fleet.record.signing import KEY_FILE, load_or_make_key
from fleet.signing.ed25519 import fingerprint


class KeptInMemory(KeyringBackend):
    """A keyring of its own, so that no test touches the system's."""

    priority = 5

    def __init__(self):
        super().__init__()
        self.kept = {}

    def get_password(self, service, username):
        return self.kept.get((service, username))

    def set_password(self, service, username, password):
        self.kept[service, username] = password


class Locked(KeptInMemory):
    def get_password(self, service, username):
        raise KeyringLocked(f"{service} {username}")


@pytest.fixture
def use(monkeypatch):
    return lambda backend: monkeypatch.setattr(keyring.core, "_keyring_backend", backend)


def never():
    raise AssertionError("nobody is to be asked")


def test_without_a_keyring_the_key_lies_encrypted_in_a_private_file(tmp_path, use):
    use(NoKeyring())

    made = load_or_make_key(tmp_path / "data", lambda: b"a long word")

    path = tmp_path / "data" / KEY_FILE
    assert b"BEGIN ENCRYPTED PRIVATE KEY" in path.read_bytes()
    assert path.stat().st_mode & 0o777 == 0o600
    again = load_or_make_key(tmp_path / "data", lambda: b"a long word")
    assert again.private_bytes_raw() == made.private_bytes_raw()


def test_a_key_is_never_kept_without_a_passphrase(tmp_path, use):
    use(NoKeyring())

    with pytest.raises(RecordError, match="without a passphrase"):
        load_or_make_key(tmp_path, lambda: b"")
    assert list(tmp_path.iterdir()) == []


def test_a_wrong_passphrase_is_refused_and_the_key_stays(tmp_path, use):
    use(NoKeyring())
    load_or_make_key(tmp_path, lambda: b"right")
    before = (tmp_path / KEY_FILE).read_bytes()

    for wrong in (b"wrong", b""):
        with pytest.raises(RecordError, match="passphrase is wrong"):
            load_or_make_key(tmp_path, lambda wrong=wrong: wrong)
    assert (tmp_path / KEY_FILE).read_bytes() == before


def test_with_a_keyring_the_key_lies_there_and_nobody_is_asked(tmp_path, use):
    use(KeptInMemory())

    made = load_or_make_key(tmp_path, never)

    assert load_or_make_key(tmp_path, never).private_bytes_raw() == made.private_bytes_raw()
    assert list(tmp_path.iterdir()) == []


def test_a_key_file_goes_before_a_keyring_that_appears_later(tmp_path, use):
    use(NoKeyring())
    made = load_or_make_key(tmp_path, lambda: b"word")
    use(KeptInMemory())

    assert (
        load_or_make_key(tmp_path, lambda: b"word").private_bytes_raw() == made.private_bytes_raw()
    )


def test_a_locked_keyring_is_said_and_no_second_key_made(tmp_path, use):
    use(Locked())

    with pytest.raises(RecordError, match="keyring refused"):
        load_or_make_key(tmp_path, never)
    assert list(tmp_path.iterdir()) == []


def test_a_key_of_another_kind_is_refused(tmp_path, use):
    use(NoKeyring())
    other = Ed448PrivateKey.generate().private_bytes(
        Encoding.PEM, PrivateFormat.PKCS8, BestAvailableEncryption(b"word")
    )
    (tmp_path / KEY_FILE).write_bytes(other)

    with pytest.raises(RecordError, match="not of the kind Ed25519"):
        load_or_make_key(tmp_path, lambda: b"word")


def test_a_folder_that_cannot_hold_a_key_is_said(tmp_path, use):
    use(NoKeyring())
    (tmp_path / "file").write_text("", encoding="utf-8")

    with pytest.raises(RecordError, match="key file can't be used"):
        load_or_make_key(tmp_path / "file", lambda: b"word")


def test_a_fingerprint_is_sixteen_groups_of_four(tmp_path, use):
    use(KeptInMemory())
    groups = fingerprint(load_or_make_key(tmp_path, never).public_key()).split(" ")

    assert [len(group) for group in groups] == [4] * 16
