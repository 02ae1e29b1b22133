"""`walkdown shelf add|sign|check|trust|distrust|match`: firmware images on a folder or a stick."""

import argparse
import getpass
from collections.abc import Callable, Mapping
from pathlib import Path

from fleet.cli.clocks import real_clock
from fleet.cli.saying import DONE, REPORTED, ask_passphrase, say
from fleet.cli.shelf_arguments import add_shelf_arguments
from fleet.engine.shelf_keys import key_words, say_of_key
from fleet.inventory.inventory import open_inventory
from fleet.inventory.opening import FILE_NAME
from fleet.jobs.matching_builds import MATCH_SAID, MatchKey, detail_of
from fleet.model.errors import PlanError
from fleet.model.firmware import Image
from fleet.model.house import MatchWord
from fleet.record.signing import load_or_make_key
from fleet.shelf.adding import add_image, sign_shelf
from fleet.shelf.checking import check_shelf
from fleet.shelf.manifest import printable
from fleet.shelf.trust import KEY_DISTRUSTED, KEY_TRUSTED, trusted_keys
from fleet.signing.ed25519 import fingerprint, public_key_from

LARGEST_KEY_BYTES = 4_000
MOST_OF_A_FINDING = 2_000
OWN_KEY = "a shelf was signed with it here"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Say what the verb takes."""
    add_shelf_arguments(parser)


def run(arguments: argparse.Namespace) -> int:
    """Do what the second word says."""
    return _VERBS[arguments.shelf_verb](arguments)


def known_keys(data: Path) -> frozenset[str]:
    """Return the fingerprints that a data folder's inventory trusts; none is made for it."""
    if not (data / FILE_NAME).exists():
        return frozenset()
    with open_inventory(data, real_clock()) as inventory:
        return trusted_keys(inventory.journal_of(KEY_TRUSTED, KEY_DISTRUSTED))


def _add(arguments: argparse.Namespace) -> int:
    image = add_image(arguments.shelf, arguments.image, _told(arguments))
    say(f"{image.file}: {image.size_bytes:,} bytes, sha-256 {image.sha256}.")
    say(f"It is on the shelf, which has to be signed now: walkdown shelf sign {arguments.shelf}")
    return DONE


def _told(arguments: argparse.Namespace) -> Image:
    return Image(
        version=arguments.version,
        build_id=arguments.build_id,
        sequence=arguments.sequence,
        vendor_id=arguments.vendor.lower(),
        class_id=arguments.class_id.lower(),
        hardware_revisions=tuple(arguments.hardware),
        module_types=tuple(arguments.module),
        module_firmwares=tuple(arguments.module_firmware),
        sha256="",
        size_bytes=0,
        file="",
        notes=arguments.notes,
        support_ends=arguments.support_ends,
    )


def _sign(arguments: argparse.Namespace) -> int:
    key = sign_shelf(arguments.shelf, load_or_make_key(arguments.data, ask_passphrase))
    say(f"Signed. Who gets the shelf needs the key's fingerprint, by another way: {key}")
    with open_inventory(arguments.data, real_clock()) as inventory:
        if key not in key_words(inventory) and not inventory.read_only:
            say_of_key(inventory, key, trusted=True, by=getpass.getuser(), why=OWN_KEY)
    return DONE


def _check(arguments: argparse.Namespace) -> int:
    named = arguments.key
    trusted = frozenset({_fingerprint_in(named)}) if named else known_keys(arguments.data)
    report = check_shelf(arguments.shelf, trusted)
    for image in report.images:
        ends = f", mended until {image.support_ends}" if image.support_ends else ""
        units = f"{', '.join(image.hardware_revisions)}; {', '.join(image.module_types)}"
        said = f"{image.version}, sequence {image.sequence}, for {units}{ends}: {image.file}"
        say(printable(said))
    for finding in report.findings:
        say(f"wrong: {printable(finding, MOST_OF_A_FINDING)}")
    if not report.findings:
        say(f"Sound: each of {len(report.images)} is as the key {report.fingerprint} signed it.")
    return REPORTED if report.findings else DONE


def _trust(arguments: argparse.Namespace) -> int:
    trusted = arguments.shelf_verb == "trust"
    with open_inventory(arguments.data, real_clock()) as inventory:
        word = say_of_key(
            inventory, arguments.fingerprint, trusted=trusted, by=arguments.by, why=arguments.why
        )
    said = "are used from now on" if trusted else "are used no longer"
    say(f"Shelves signed with {word.fingerprint} {said}.")
    return DONE


def _match(arguments: argparse.Namespace) -> int:
    key = MatchKey(
        arguments.hardware, arguments.module, arguments.module_firmware, arguments.version
    )
    word = MatchWord(arguments.word)
    with open_inventory(arguments.data, real_clock()) as inventory:
        detail = detail_of(key, word, by=arguments.by, why=arguments.why)
        inventory.append(MATCH_SAID, str(key), detail)
    say(f"{key}: {word.value}, by {arguments.by}. What a plan blocks stays blocked.")
    return DONE


_VERBS: Mapping[str, Callable[[argparse.Namespace], int]] = {
    "add": _add,
    "sign": _sign,
    "check": _check,
    "trust": _trust,
    "distrust": _trust,
    "match": _match,
}


def _fingerprint_in(path: Path) -> str:
    try:
        with path.open("rb") as file:
            key = public_key_from(file.read(LARGEST_KEY_BYTES))
    except OSError as reason:
        raise _no_key(path, f"it can't be read: {reason.strerror or reason}") from reason
    if key is None:
        raise _no_key(path, "it holds no public key of the kind Ed25519")
    return fingerprint(key)


def _no_key(path: Path, said: str) -> PlanError:
    return PlanError(
        f"{said}.",
        subject=str(path),
        stands="Nothing was checked.",
        next_step="Name the file of the key that you trust, not the one on the shelf.",
    )
