"""`walkdown secret keep|send|forget|list`: what lets us into units, kept in the keyring or the vault.

A secret is typed without being shown, or comes on standard input where that is no terminal. It is never
taken from the command line, which every program of the machine can read. What can be read on its way over
http is kept for the unit's address, and sent to no other.
"""

import argparse
import getpass
import os
import re
import sys
from collections.abc import Callable
from pathlib import Path

from fleet.cli.saying import DONE, PASSPHRASE_FILE, REPORTED, say, table
from fleet.description.origins import origin_of
from fleet.link.connections import hold_no_secret
from fleet.link.credential_store import (
    MOST_SECRET_CHARS,
    CredentialStore,
    open_store,
    units_sharing,
)
from fleet.link.own_secrets import proves
from fleet.link.vault_file import VAULT_NAME
from fleet.model.credentials import Credential
from fleet.model.errors import PlanError

_ID = re.compile(r"[A-Za-z][A-Za-z0-9+.-]*:(?![0-9]{1,5}(?:/|$))(?!//)")
"""A description's id: a scheme and no host, and no "host:port"."""

_WHICH_KEY = (
    "A password of the basic way in, a token or a key is used only where it is kept for the unit's "
    "address, or over https for its certificate (sha-256:…, as the message about the locked unit names "
    "it), since anybody could say the id. For digest the id will do."
)


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Say what the verb takes."""
    verbs = parser.add_subparsers(dest="what", required=True)
    keep = verbs.add_parser(
        "keep", help="type a secret in; it is never an argument", epilog=_WHICH_KEY
    )
    _add_key(keep)
    kind = keep.add_mutually_exclusive_group(required=True)
    kind.add_argument("--user", metavar="NAME", help="the name that goes with a password")
    kind.add_argument("--token", action="store_true", help="it is a token or a key, without a name")
    send = verbs.add_parser(
        "send",
        help="use what is kept for an id at an address too",
        epilog=_WHICH_KEY,
    )
    send.add_argument("key", metavar="FROM", help="the id that the unit's description gives")
    send.add_argument("to", metavar="TO", help="the address or certificate of that very unit")
    forget = verbs.add_parser("forget", help="forget a secret")
    _add_key(forget)
    listed = verbs.add_parser("list", help="what secrets are kept for, and which are shared")
    for own in (keep, send, forget, listed):
        own.add_argument(  # behind the second word too, where a person writes it
            "--data", type=Path, default=argparse.SUPPRESS, metavar="DIR", help="the data folder"
        )


def run(arguments: argparse.Namespace) -> int:
    """Keep, send, forget or list."""
    store = open_store(arguments.data, vault_passphrase(arguments.data))
    if arguments.what == "list":
        return _list(store)
    key = key_of(arguments.key)
    if arguments.what == "keep":
        store.keep(key, Credential(_secret_for(key), arguments.user or ""))
        say(f"Kept for {key}.")
        return DONE
    if arguments.what == "send":
        return _send(store, key, key_of(arguments.to))
    if store.forget(key):
        say(f"Forgotten: what was kept for {key}.")
        return DONE
    say(f"Nothing was kept for {key}.")
    return REPORTED


def key_of(text: str) -> str:
    """Return what a secret is kept under: a description's id as it is, an address as its origin.

    Raises:
        PlanError: it is neither, or an address with a password in it.
    """
    if _ID.match(text):
        return text
    url = text if "://" in text else f"http://{text}"
    try:
        origin = origin_of(url)
    except ValueError as reason:
        raise PlanError(
            "that is neither a description's id nor an address.",
            subject=text[:80],
            stands="Nothing was kept or forgotten.",
            next_step="Write it as http://ADDRESS:PORT or as the id, for example urn:maker:serial.",
        ) from reason
    hold_no_secret(url)
    return origin


def vault_passphrase(folder: Path) -> Callable[[], bytes]:
    """Return what asks for the vault's passphrase: from the file that the environment names, or typed in.

    Where the vault is yet to be made it is typed twice, so that a slip shuts nobody out.
    """

    def ask() -> bytes:
        named = os.environ.get(PASSPHRASE_FILE)
        if named:
            return _from_file(Path(named))
        if (folder / VAULT_NAME).exists():
            return _typed("Passphrase of the units' passwords: ").encode("utf-8", "surrogateescape")
        first = _typed("A new passphrase for the units' passwords: ")
        if first != _typed("The same again: "):
            raise PlanError("the two are not the same.", stands="Nothing was kept.")
        return first.encode("utf-8", "surrogateescape")

    return ask


def _add_key(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "key", metavar="KEY", help="a unit's address, or the id that its description gives"
    )


def _list(store: CredentialStore) -> int:
    keys = store.keys()
    kept = {key: store.credential_for(key) for key in keys}
    rows = [
        (key, "password" if one.user else "token or key", one.user)
        for key, one in kept.items()
        if one is not None
    ]
    say(table([("kept for", "kind", "name"), *rows]) if rows else "No secret is kept.")
    shared = [units for group in store.shared() if len(units := units_sharing(group, {})) > 1]
    for group in shared:
        say(f"one secret for all of: {', '.join(group)}. Give each its own.")
    return REPORTED if shared else DONE


def _send(store: CredentialStore, key: str, to: str) -> int:
    """Keep what is kept for one key for an address or a certificate too, which it is then sent to.

    Raises:
        PlanError: `to` is neither, or nothing is kept for `key`.
    """
    kept = store.credential_for(key) if proves(to) else None
    if kept is None:
        raise PlanError(
            f"nothing is kept for {key}, or {to} is neither an address nor a certificate.",
            stands="Nothing was kept.",
            next_step="`walkdown secret list` shows what is kept; the address comes second.",
        )
    store.keep(to, kept)
    say(f"Kept for {to} too. Whoever answers there gets it, so be sure that it is the unit.")
    return DONE


def _secret_for(key: str) -> str:
    """Get a secret: typed without being shown, or the first line of standard input."""
    if sys.stdin.isatty():
        return getpass.getpass(f"Secret for {key}: ")
    return sys.stdin.readline(MOST_SECRET_CHARS + 2).rstrip("\r\n")


def _typed(prompt: str) -> str:
    if not sys.stdin.isatty():
        raise PlanError(
            "the units' passwords need a passphrase, and nobody is at the terminal to type it.",
            stands="Nothing was kept or read.",
            next_step=f"Put it into a file and name the file in {PASSPHRASE_FILE}.",
        )
    return getpass.getpass(prompt)


def _from_file(path: Path) -> bytes:
    try:
        return path.read_bytes().rstrip(b"\r\n")
    except OSError as reason:
        raise PlanError(
            f"the file of the passphrase can't be read: {reason.strerror}.",
            subject=str(path),
            stands="Nothing was kept or read.",
            next_step=f"Mend that, or take {PASSPHRASE_FILE} out of the environment.",
        ) from reason
