"""A shelf checked by programs that aren't ours: openssl alone, and a JSON Schema validator."""

import json
import shutil
import subprocess

import pytest
from jsonschema import Draft202012Validator

from fleet.shipped import resources
from tests.shelves import OPENSSL, signed_shelf


def verified(shelf):
    if shutil.which("openssl") is None:
        pytest.skip("the program openssl is not installed")
    done = subprocess.run(OPENSSL.split(), cwd=shelf, capture_output=True, check=False)
    return done.returncode == 0


def test_openssl_accepts_the_signature_and_refuses_it_after_one_digit(tmp_path):
    shelf, _ = signed_shelf(tmp_path)
    assert verified(shelf)
    manifest = shelf / "shelf.json"
    manifest.write_bytes(manifest.read_bytes().replace(b'"sequence":30', b'"sequence":31'))
    assert not verified(shelf)


def test_the_images_digest_is_what_sha256sum_prints(tmp_path):
    shelf, _ = signed_shelf(tmp_path)
    listed = json.loads((shelf / "shelf.json").read_bytes())["images"]
    lines = "".join(f"{image['sha256']}  {image['file']}\n" for image in listed)
    # sha256sum(1), GNU coreutils: -c reads lines of digest, two spaces and name
    command = ["sha256sum", "-c", "--strict"]
    done = subprocess.run(
        command, input=lines, text=True, cwd=shelf, capture_output=True, check=False
    )
    assert done.returncode == 0, done.stdout + done.stderr


def test_a_manifest_is_valid_by_its_schema_which_is_one_itself(tmp_path):
    shelf, _ = signed_shelf(tmp_path)
    text = (resources() / "schemas" / "shelf.schema.json").read_text(encoding="utf-8")
    schema = json.loads(text)
    Draft202012Validator.check_schema(schema)
    Draft202012Validator(schema).validate(json.loads((shelf / "shelf.json").read_bytes()))
