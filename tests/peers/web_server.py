"""Debian's lighttpd on a loopback port, with a configuration of its own, serving a unit as files."""

import contextlib
import json
import shutil
import subprocess
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from tests.peers.mosquitto import free_port
from tests.unit.link.small_unit import PASSWORD, REALM, description

_SETTINGS = """
server.document-root = "{folder}/served"
server.bind = "127.0.0.1"
server.port = {port}
server.modules = ( "mod_auth", "mod_authn_file", "mod_accesslog", "mod_deflate" )
accesslog.filename = "{folder}/asked"
accesslog.format = "%s %m %U"
deflate.mimetypes = ( "application/json" )
deflate.allowed-encodings = ( "gzip", "deflate" )
mimetype.assign = ( ".json" => "application/json", "" => "application/json" )
auth.backend = "plain"
auth.backend.plain.userfile = "{folder}/known"
"""
_GUARDED = """
auth.require = ( "/{guarded}" => ( "method" => "{method}", "realm" => "{realm}",
                                   "algorithm" => "{algorithm}", "require" => "valid-user" ) )
"""
_SECURE = """
server.modules += ( "mod_openssl" )
ssl.engine = "enable"
ssl.pemfile = "{certificate}"
"""
PATIENCE_S = 10


@dataclass(frozen=True, slots=True)
class WebServer:
    """A running server.

    Attributes:
        url: where the description lies that it serves.
        folder: where it keeps everything.
    """

    url: str
    folder: Path

    def asked(self) -> list[str]:
        """Return status, method and path of each request so far; it writes them when it ends."""
        return (self.folder / "asked").read_text(encoding="utf-8").splitlines()


@contextlib.contextmanager
def running(
    folder: Path,
    security: str = "none",
    algorithm: str = "SHA-256",
    guarded: str = "properties",
    certificate: Path | None = None,
) -> Iterator[WebServer]:
    """Run a server until the end of the block.

    Args:
        folder: empty, for its files.
        security: none, basic or digest: what it wants, and what the description says that it wants.
        algorithm: of a digest.
        guarded: what is behind the password: "properties", or "" for all.
        certificate: with its key, for https.
    """
    port = free_port()
    _write_unit(folder / "served", "none" if guarded == "" else security)
    (folder / "known").write_text(f"{PASSWORD.user}:{PASSWORD.secret}\n", encoding="utf-8")
    settings = _SETTINGS.format(folder=folder, port=port)
    if security != "none":
        settings += _GUARDED.format(
            guarded=guarded, method=security, realm=REALM, algorithm=algorithm
        )
    if certificate is not None:
        settings += _SECURE.format(certificate=certificate)
    (folder / "settings").write_text(settings, encoding="utf-8")
    program = shutil.which("lighttpd", path="/usr/sbin:/usr/local/sbin:/usr/bin")
    assert program, "Debian's lighttpd isn't installed; `make system-packages` does that"
    scheme = "https" if certificate else "http"
    with _process([program, "-D", "-f", str(folder / "settings")]):
        yield WebServer(f"{scheme}://127.0.0.1:{port}/td.json", folder)


@contextlib.contextmanager
def _process(command: list[str]) -> Iterator[None]:
    running = subprocess.Popen(command, stderr=subprocess.PIPE, text=True)
    try:
        lines = []
        while not any("server started" in line for line in lines):
            lines.append(running.stderr.readline())
            assert lines[-1], f"it didn't start: {''.join(lines)}"
        yield
    finally:
        running.terminate()
        running.communicate(timeout=PATIENCE_S)


def _write_unit(folder: Path, security: str) -> None:
    document = description(security)
    document["properties"]["about"]["forms"] = [{"href": "properties/about.json"}]
    (folder / "properties").mkdir(parents=True)
    (folder / "td.json").write_text(json.dumps(document), encoding="utf-8")
    about = {"serial": "s-7", "padding": "x" * 5000}
    (folder / "properties" / "about.json").write_text(json.dumps(about), encoding="utf-8")
