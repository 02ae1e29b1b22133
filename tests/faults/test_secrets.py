"""Secrets are nowhere but in keyring or vault: not in database, log, record, command line, traceback.

A marked secret and a marked passphrase are planted, errors forced, and all that is left behind looked
through, in every shape that they could be written in. What the links do with a secret is looked at in
test_secrets_on_links.py.
"""

import json
import logging
import os
import subprocess
import sys

import keyring
import pytest
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
from keyring.backend import KeyringBackend
from keyring.backends.fail import Keyring as NoKeyring
from keyring.errors import KeyringLocked, PasswordSetError

from fleet.cli import main as cli_main
from fleet.cli import secret
from fleet.drawing.room import draw_room
from fleet.drawing.svg import to_svg
from fleet.inventory.inventory import open_inventory
from fleet.jobs.weak_access import weak_access
from fleet.link import vault, vault_file
from fleet.link.credential_store import open_store
from fleet.link.vault_file import VAULT_NAME
from fleet.model.credentials import Credential
from fleet.model.errors import LinkError, WalkdownError
from fleet.record.content import record_document
from fleet.record.issuing import issue
from fleet.record.labels import Label, label_sheet, site_number
from tests.architecture.source_rules import ROOT
from tests.faults.marker import (
    FORBIDDEN,
    PASSPHRASE,
    SECRET,
    USER,
    crash_report,
    leaks_in,
    leaks_under,
    process_shows,
    shapes,
    shown_by,
)
from tests.inventories import CountingClock, reading, small_plan
from tests.unit.record.small_house import AT, small_house

MARKED = Credential(SECRET, USER)


class Talkative(KeyringBackend):
    """A keyring that keeps in memory and, when told to fail, says all that it was given."""

    priority = 5
    fails = ""

    def __init__(self):
        super().__init__()
        self.kept = {}

    def get_password(self, service, username):
        if "get" in self.fails:
            raise KeyringLocked(f"{service} {username} {self.kept}")
        return self.kept.get((service, username))

    def set_password(self, service, username, password):
        if "set" in self.fails:
            raise PasswordSetError(f"{service} {username} {password}")
        self.kept[service, username] = password

    def delete_password(self, service, username):
        if "delete" in self.fails:
            raise KeyringLocked(f"{service} {username} {self.kept}")
        del self.kept[service, username]


@pytest.fixture(autouse=True)
def little_memory(monkeypatch):
    monkeypatch.setattr(vault, "MEMORY_KIB", 64)


@pytest.fixture
def keyring_of_ours(monkeypatch):
    backend = Talkative()
    monkeypatch.setattr(keyring.core, "_keyring_backend", backend)
    return backend


@pytest.fixture
def no_keyring(monkeypatch):
    monkeypatch.setattr(keyring.core, "_keyring_backend", NoKeyring())


@pytest.fixture
def opened(tmp_path, no_keyring):
    """A store on a vault that holds the marked secret."""
    store = open_store(tmp_path, PASSPHRASE.encode)
    store.keep("urn:one", MARKED)
    return store


def raised_by(work) -> BaseException:
    with pytest.raises(WalkdownError) as caught:
        work()
    return caught.value


def test_a_leak_would_be_found(tmp_path):
    assert len(FORBIDDEN) > 20
    assert SECRET.encode("utf-16-le") in shapes(SECRET)
    (tmp_path / "log").write_text(f"basic {SECRET!r}", encoding="utf-8")
    (tmp_path / "quiet").write_text("nothing", encoding="utf-8")
    assert leaks_under(tmp_path) == ["log"]

    with pytest.raises(ValueError, match="Expecting value") as caught:
        json.loads(SECRET)
    assert leaks_in(crash_report(caught.value))
    later = LinkError("no secret in this one.")
    later.__context__ = LinkError("nor in this one.")
    later.__context__.__context__ = caught.value
    assert leaks_in(crash_report(later))


def test_nothing_under_the_data_folder_holds_a_secret_but_in_the_vault_sealed(
    tmp_path, no_keyring, caplog
):
    caplog.set_level(logging.DEBUG)
    data = tmp_path / "data"
    with open_inventory(data, CountingClock()) as inventory:
        inventory.add_site(small_plan())
        store = open_store(data, PASSPHRASE.encode)
        store.keep("urn:one", MARKED)
        store.keep("urn:two", MARKED)
        inventory.save_reading(reading(access="password over http"))
        inventory.append("secret-kept", "urn:one", {"keys": list(store.keys())})
        inventory.append("said", "", {"weak": list(weak_access({"U1": "open"}, store.shared()))})
        label = Label("S-1", "U1", "Hall", site_number(inventory.journal(), "Test Lodge"))
        label_sheet([label], data / "labels.pdf")
        issue_record(data / "record", inventory.journal()[-1].sha256)
        assert leaks_under(tmp_path) == []  # with the database's own files open beside it
    assert leaks_under(tmp_path) == []
    assert (data / VAULT_NAME).exists()
    assert not leaks_in(caplog.text)


def issue_record(folder, journal_head):
    house = small_house()
    document = record_document(
        house, issued_at=AT, by="R. Invented", speed=1, journal_head=journal_head
    )
    drawings = {room.key: to_svg(draw_room(room, ())) for room in house.plan.rooms}
    issue(folder, document, drawings, Ed25519PrivateKey.generate())
    assert (folder / "record.pdf").exists()


def test_with_a_keyring_nothing_under_the_data_folder_holds_a_secret(tmp_path, keyring_of_ours):
    store = open_store(tmp_path, PASSPHRASE.encode)
    store.keep("urn:one", MARKED)
    assert store.credential_for("urn:one") == MARKED
    assert leaks_under(tmp_path) == []
    assert leaks_in(repr(keyring_of_ours.kept))  # where it belongs


@pytest.mark.parametrize("fails", ["get", "set", "delete"])
def test_a_keyring_that_says_what_it_was_given_is_not_quoted(
    tmp_path, keyring_of_ours, fails, caplog
):
    caplog.set_level(logging.DEBUG)
    store = open_store(tmp_path, PASSPHRASE.encode)
    store.keep("urn:one", MARKED)
    keyring_of_ours.fails = fails
    work = {
        "get": lambda: store.credential_for("urn:one"),
        "set": lambda: store.keep("urn:one", MARKED),
        "delete": lambda: store.forget("urn:one"),
    }[fails]
    assert not leaks_in(crash_report(raised_by(work)))
    assert not leaks_in(caplog.text)


def wrong_passphrase(path, store, monkeypatch):
    store.lock()
    monkeypatch.setattr(store._keeping, "_ask", lambda: PASSPHRASE.encode() + b"x")
    return lambda: store.credential_for("urn:one")


def damaged(path, store, monkeypatch):
    path.write_bytes(path.read_bytes()[:-1] + b"?")
    return lambda: store.keep("urn:two", MARKED)


def newer(path, store, monkeypatch):
    path.write_bytes(path.read_bytes().replace(b"\n\0\1", b"\n\0\2", 1))
    return lambda: store.keep("urn:two", MARKED)


def disk_full(path, store, monkeypatch):
    def full(*_):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    return lambda: store.keep("urn:two", MARKED)


def too_large(path, store, monkeypatch):
    monkeypatch.setattr(vault, "MOST_BYTES", 100)
    monkeypatch.setattr(vault, "salt_and_nonce", lambda sealed: (sealed[10:26], sealed[26:38]))
    monkeypatch.setattr(vault_file, "salt_and_nonce", vault.salt_and_nonce)
    return lambda: store.keep("urn:two", MARKED)


def not_ours(path, store, monkeypatch):
    keeping = store._keeping
    odd = f'{{"urn:one": "{SECRET}"}}'.encode()
    path.write_bytes(vault.seal(keeping._key, odd))
    return lambda: store.credential_for("urn:one")


def no_json(path, store, monkeypatch):
    path.write_bytes(vault.seal(store._keeping._key, f'{{"{SECRET}'.encode()))
    return lambda: store.credential_for("urn:one")


def too_long(path, store, monkeypatch):
    return lambda: store.keep("urn:two", Credential(SECRET * 4096))


FAULTS = (wrong_passphrase, damaged, newer, disk_full, too_large, not_ours, no_json, too_long)


@pytest.mark.parametrize("fault", FAULTS, ids=lambda fault: fault.__name__)
def test_no_error_carries_a_secret_in_its_text_its_cause_or_any_frame(
    tmp_path, opened, monkeypatch, fault, caplog
):
    caplog.set_level(logging.DEBUG)
    error = raised_by(fault(tmp_path / VAULT_NAME, opened, monkeypatch))
    assert not leaks_in(crash_report(error))
    assert not leaks_in(caplog.text)
    assert leaks_under(tmp_path) == []


def test_no_object_that_is_held_shows_a_secret(opened):
    assert opened.credential_for("urn:one") == MARKED
    said = shown_by(opened)
    assert "VaultKey" in said
    assert not leaks_in(said)
    assert not leaks_in(repr(MARKED) + str(MARKED) + f"{MARKED}")
    assert not leaks_in(repr({"kept": [MARKED]}))


def test_the_derived_key_is_shown_nowhere_either(opened):
    key = opened._keeping._key.secret
    said = shown_by(opened)
    assert key.hex() not in said
    assert repr(key)[2:-1] not in said


def started(tmp_path, *words) -> subprocess.Popen:
    """Run the verb in a process without a keyring, its passphrase in a file outside the data."""
    phrase = tmp_path / "phrase"
    phrase.write_text(PASSPHRASE, encoding="utf-8")
    environment = {
        **os.environ,
        "WALKDOWN_PASSPHRASE_FILE": str(phrase),
        "PYTHON_KEYRING_BACKEND": "keyring.backends.fail.Keyring",
        "PYTHONUNBUFFERED": "1",
        "LC_ALL": "C.UTF-8",
    }
    code = (
        "import sys\nfrom fleet.cli import main, secret\n"
        "main.VERBS['secret'] = (secret, 'secrets')\nprint('up', file=sys.stderr, flush=True)\n"
        "raise SystemExit(main.main(sys.argv[1:]))"
    )
    return subprocess.Popen(
        [sys.executable, "-c", code, "secret", *words, "--data", str(tmp_path / "data")],
        cwd=ROOT,
        env=environment,
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        encoding="utf-8",
    )


def test_a_secret_is_in_no_command_line_no_environment_and_no_output(tmp_path):
    process = started(tmp_path, "keep", "http://192.0.2.5", "--user", USER)
    assert process.stderr.readline() == "up\n"
    before = process_shows(process.pid)
    out, errors = process.communicate(SECRET + "\n")
    assert process.returncode == 0, errors
    assert b"--user" in before
    assert not leaks_in(before + out.encode() + errors.encode())
    listing = started(tmp_path, "list")
    out, errors = listing.communicate()
    assert listing.returncode == 0, errors
    assert "http://192.0.2.5:80" in out
    assert USER in out
    assert not leaks_in(out + errors)
    assert leaks_under(tmp_path / "data") == []
    store = open_store_of(tmp_path / "data")
    assert store.credential_for("http://192.0.2.5:80") == MARKED


def open_store_of(folder):
    vault.MEMORY_KIB = 64 << 10  # the program stretched in earnest
    return open_store(folder, PASSPHRASE.encode)


def test_a_secret_is_refused_as_an_argument(tmp_path, monkeypatch, capsys):
    monkeypatch.setitem(cli_main.VERBS, "secret", (secret, "secrets"))
    for words in (
        ["keep", "http://192.0.2.5", "--user", USER, SECRET],
        ["keep", "http://192.0.2.5", "--token", SECRET],
        ["keep", "http://192.0.2.5", "--user", USER, "--password", SECRET],
        ["list", "--passphrase", PASSPHRASE],
    ):
        with pytest.raises(SystemExit) as ended:
            cli_main.main(["secret", *words, "--data", str(tmp_path)])
        assert ended.value.code == 2
    assert list(tmp_path.iterdir()) == []


def test_programs_that_are_started_inherit_no_secret(opened):
    opened.credential_for("urn:one")
    child = subprocess.Popen(
        [sys.executable, "-c", "input()"], stdin=subprocess.PIPE, encoding="utf-8"
    )
    try:
        assert not leaks_in(process_shows(child.pid))
        assert not leaks_in(process_shows(os.getpid()))
        assert not leaks_in(repr(dict(os.environ)))
    finally:
        child.communicate("\n")
