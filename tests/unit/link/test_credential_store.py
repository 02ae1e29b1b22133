"""Where credentials are kept, and when somebody is asked."""

import json
import threading

import keyring
import pytest
from keyring.backend import KeyringBackend
from keyring.backends.fail import Keyring as NoKeyring
from keyring.errors import KeyringLocked, PasswordDeleteError

from fleet.link import credential_store, vault
from fleet.link.credential_store import (
    MOST_KEY_CHARS,
    MOST_SECRET_CHARS,
    open_store,
    units_sharing,
)
from fleet.link.keyring_keys import KEYS_NAME, SERVICE
from fleet.link.vault_file import VAULT_NAME
from fleet.model.credentials import Credential, CredentialSource
from fleet.model.errors import InventoryError, PlanError
from fleet.record import signing

WORD = b"a long word"
ONE = Credential("opensesame-7", "installer")


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

    def delete_password(self, service, username):
        if (service, username) not in self.kept:
            raise PasswordDeleteError("not there")
        del self.kept[service, username]


class Locked(KeptInMemory):
    def get_password(self, service, username):
        raise KeyringLocked(f"{service} {username}")

    def set_password(self, service, username, password):
        raise KeyringLocked(f"{service} {username} {password}")

    def delete_password(self, service, username):
        raise KeyringLocked(f"{service} {username}")


@pytest.fixture
def use(monkeypatch):
    monkeypatch.setattr(vault, "MEMORY_KIB", 64)
    return lambda backend: monkeypatch.setattr(keyring.core, "_keyring_backend", backend)


@pytest.fixture(params=["keyring", "vault"])
def store(request, use, tmp_path):
    """A store of either kind, and a way to open it anew."""
    use(KeptInMemory() if request.param == "keyring" else NoKeyring())
    return lambda: open_store(tmp_path, lambda: WORD)


def never():
    raise AssertionError("nobody is to be asked")


def test_what_is_kept_is_there_at_the_next_start(store):
    store().keep("urn:one", ONE)
    store().keep("urn:two", Credential("t0ken"))
    source: CredentialSource = store()
    assert source.credential_for("urn:one") == ONE
    assert source.credential_for("urn:two") == Credential("t0ken")
    assert source.credential_for("urn:three") is None
    assert store().keys() == ("urn:one", "urn:two")


def test_what_is_kept_anew_takes_the_olds_place(store):
    store().keep("urn:one", ONE)
    store().keep("urn:one", Credential("newer", "installer"))
    assert store().credential_for("urn:one") == Credential("newer", "installer")
    assert store().keys() == ("urn:one",)


def test_what_is_forgotten_is_gone(store):
    store().keep("urn:one", ONE)
    assert store().forget("urn:one")
    assert not store().forget("urn:one")
    assert store().credential_for("urn:one") is None
    assert store().keys() == ()


def test_keys_that_share_a_secret_are_grouped_whatever_the_names_beside_it(store):
    for key, secret, user in [
        ("a", "same", "one"),
        ("b", "own", "one"),
        ("c", "same", "two"),
        ("d", "other", ""),
        ("e", "other", ""),
    ]:
        store().keep(key, Credential(secret, user))
    assert store().shared() == (("a", "c"), ("d", "e"))


@pytest.mark.parametrize(
    ("group", "units"),
    [
        (("http://192.0.2.5:80", "urn:one"), ("One",)),
        (("http://192.0.2.9:80", "urn:one"), ("One",)),  # where it was before, as likely as not
        (("http://192.0.2.5:80", "http://192.0.2.6:80"), ("One", "Two")),
        (("http://192.0.2.6:80", "urn:one"), ("Two", "One")),
        (("http://192.0.2.8:80", "http://192.0.2.9:80"), None),
        (("https://units.example/7", "urn:other"), None),  # both ids
    ],
)
def test_two_keys_of_one_unit_count_once(group, units):
    names = {"urn:one": "One", "http://192.0.2.5:80": "One", "http://192.0.2.6:80": "Two"}
    assert units_sharing(group, names) == (units or group)


def test_nothing_is_shared_where_each_has_its_own(store):
    assert store().shared() == ()
    store().keep("a", ONE)
    assert store().shared() == ()


@pytest.mark.parametrize(
    ("key", "credential"),
    [
        ("", ONE),
        ("k" * (MOST_KEY_CHARS + 1), ONE),
        ("k", Credential("")),
        ("k", Credential("s3cret" * MOST_SECRET_CHARS)),
        ("k", Credential("s3cret", "u" * (MOST_SECRET_CHARS + 1))),
    ],
)
def test_what_is_empty_or_too_long_is_refused_without_being_repeated(store, key, credential):
    with pytest.raises(PlanError, match="is empty or longer than") as refused:
        store().keep(key, credential)
    assert "s3cret" not in str(refused.value)
    assert store().keys() == ()


def test_with_a_keyring_nobody_is_asked_and_the_folder_holds_keys_alone(use, tmp_path):
    backend = KeptInMemory()
    use(backend)
    store = open_store(tmp_path, never)
    store.keep("urn:one", ONE)
    assert store.credential_for("urn:one") == ONE
    store.lock()
    assert [path.name for path in tmp_path.iterdir()] == [KEYS_NAME]
    assert json.loads((tmp_path / KEYS_NAME).read_bytes()) == ["urn:one"]
    assert list(backend.kept) == [(SERVICE, "urn:one")]


def test_without_a_keyring_the_vault_is_used_and_asked_for_at_the_first_secret(use, tmp_path):
    use(NoKeyring())
    asked = []
    store = open_store(tmp_path, lambda: asked.append(1) or WORD)
    assert store.credential_for("urn:one") is None
    assert not asked
    store.keep("urn:one", ONE)
    store.keep("urn:two", ONE)
    assert store.shared() == (("urn:one", "urn:two"),)
    assert len(asked) == 1
    store.lock()
    assert store.credential_for("urn:one") == ONE
    assert len(asked) == 2
    assert [path.name for path in tmp_path.iterdir()] == [VAULT_NAME]


def test_a_vault_goes_before_a_keyring_that_appears_later(use, tmp_path):
    use(NoKeyring())
    open_store(tmp_path, lambda: WORD).keep("urn:one", ONE)
    use(KeptInMemory())
    assert open_store(tmp_path, lambda: WORD).credential_for("urn:one") == ONE


def test_keyring_or_file_is_decided_as_for_the_signing_key():
    assert credential_store.LEAST_PRIORITY == signing.LEAST_PRIORITY


def test_a_locked_keyring_is_said_without_repeating_the_secret(use, tmp_path):
    use(KeptInMemory())
    open_store(tmp_path, never).keep("urn:one", ONE)
    use(Locked())
    store = open_store(tmp_path, never)
    for work in (
        lambda: store.credential_for("urn:one"),
        lambda: store.keep("urn:two", ONE),
        lambda: store.forget("urn:one"),
        store.keys,
    ):
        with pytest.raises(InventoryError, match=r"keyring refused \(KeyringLocked") as refused:
            work()
        assert "opensesame" not in str(refused.value)
        assert refused.value.__context__ is None


def test_a_key_whose_entry_never_came_or_went_by_another_hand_counts_as_none(use, tmp_path):
    backend = KeptInMemory()
    use(backend)
    store = open_store(tmp_path, never)
    store.keep("urn:one", ONE)
    backend.kept.clear()
    assert store.keys() == ()
    assert store.credential_for("urn:one") is None
    assert not store.forget("urn:one")
    backend.kept[SERVICE, "urn:one"] = "no JSON of ours"
    assert store.credential_for("urn:one") is None


def test_an_entry_that_goes_while_it_is_forgotten_is_no_fault(use, tmp_path):
    class Vanishing(KeptInMemory):
        def delete_password(self, service, username):
            self.kept.clear()
            super().delete_password(service, username)

    use(Vanishing())
    store = open_store(tmp_path, never)
    store.keep("urn:one", ONE)
    assert store.forget("urn:one")
    assert store.keys() == ()


@pytest.mark.parametrize("damaged", ["{}", "[1]", "[", "\xff"])
def test_a_damaged_list_of_keys_is_said_and_left(use, tmp_path, damaged):
    use(KeptInMemory())
    (tmp_path / KEYS_NAME).write_bytes(damaged.encode("latin-1"))
    with pytest.raises(InventoryError, match="list of keys"):
        open_store(tmp_path, never).keep("urn:one", ONE)
    assert (tmp_path / KEYS_NAME).read_bytes() == damaged.encode("latin-1")


def test_a_folder_that_cannot_be_made_is_said(use, tmp_path):
    use(KeptInMemory())
    (tmp_path / "file").write_text("", encoding="utf-8")
    with pytest.raises(InventoryError, match="list of keys can't be"):
        open_store(tmp_path / "file", never).keep("urn:one", ONE)


def test_two_threads_that_need_a_secret_ask_once(use, tmp_path):
    use(NoKeyring())
    open_store(tmp_path, lambda: WORD).keep("urn:one", ONE)
    asked, came = [], []
    store = open_store(tmp_path, lambda: asked.append(1) or WORD)
    threads = [
        threading.Thread(target=lambda: came.append(store.credential_for("urn:one")))
        for _ in range(4)
    ]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert came == [ONE] * 4
    assert len(asked) == 1
