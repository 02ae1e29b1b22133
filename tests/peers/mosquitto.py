"""Debian's Mosquitto on a loopback port, with a configuration of its own, for tests.

What it logs is read as it comes; waiting for the broker means waiting for a line of it.
"""

import contextlib
import datetime as dt
import ipaddress
import re
import socket
import subprocess
import threading
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.x509.oid import NameOID
from paho.mqtt.publish import single

PATIENCE_S = 10.0
ATTEMPTS = 20
_FOLDERS = ("/usr/sbin", "/usr/local/sbin", "/usr/bin")


class Mosquitto:
    """A running broker.

    Attributes:
        port: where it listens.
        url: its address, for example "mqtt://127.0.0.1:40001".
        lines: what it has logged so far, over restarts.
        auth: name and password of the units of a test; None where anybody may come in.
    """

    def __init__(self, folder: Path, *, port: int = 0, secure: bool = False, extra: str = ""):
        self.port = port or free_port()
        self.url = f"{'mqtts' if secure else 'mqtt'}://127.0.0.1:{self.port}"
        self.lines: list[str] = []
        self.auth: dict[str, str] | None = None
        self._changed = threading.Condition()
        self._folder = folder
        settings = folder / "mosquitto.conf"
        settings.write_text(
            f"listener {self.port} 127.0.0.1\nuser root\n"
            f"log_dest stderr\nlog_type all\nsys_interval 1\nset_tcp_nodelay true\n{extra}\n",
            encoding="utf-8",
        )
        self._command = [program("mosquitto"), "-c", str(settings)]
        self.start()

    def start(self) -> None:
        """Start it, or start it again, and wait until it listens."""
        begun = len(self.lines)
        self._process = subprocess.Popen(
            self._command, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE, text=True
        )
        self._reader = threading.Thread(target=self._read, args=(self._process,), daemon=True)
        self._reader.start()
        self.wait_for(r"mosquitto version \S+ running", begun)

    def stop(self) -> None:
        """End it and wait for that.

        A signal that comes just as it starts is lost to this broker, so it is told until it obeys.
        """
        for _ in range(ATTEMPTS):
            self._process.terminate()
            with contextlib.suppress(subprocess.TimeoutExpired):
                self._process.wait(PATIENCE_S / ATTEMPTS)
                break
        else:
            self._process.kill()
            self._process.wait(PATIENCE_S)
        self._reader.join(PATIENCE_S)

    def wait_for(self, pattern: str, begun: int = 0) -> str:
        """Wait for a logged line; an error quotes what there was instead."""
        with self._changed:
            came = self._changed.wait_for(
                lambda: self._find(pattern, begun) or self._process.poll() is not None, PATIENCE_S
            )
            found = self._find(pattern, begun) if came else None
        if found is None:
            raise AssertionError(f"no {pattern!r} in:\n" + "\n".join(self.lines[begun:]))
        return found

    def _find(self, pattern: str, begun: int) -> str | None:
        return next((line for line in self.lines[begun:] if re.search(pattern, line)), None)

    def _read(self, process: subprocess.Popen) -> None:
        with process.stderr as logged:
            for line in logged:
                with self._changed:
                    self.lines.append(line.rstrip())
                    self._changed.notify_all()
        with self._changed:
            self._changed.notify_all()


@contextlib.contextmanager
def running(folder: Path, **options) -> Iterator[Mosquitto]:
    """Run a broker; anybody may come in unless the options say otherwise."""
    options.setdefault("extra", "allow_anonymous true")
    broker = Mosquitto(folder, **options)
    try:
        yield broker
    finally:
        broker.stop()


def with_password(folder: Path, name: str, password: str) -> str:
    """Return the settings of a broker that lets in one name with one password."""
    kept = folder / "passwords"
    subprocess.run([program("mosquitto_passwd"), "-b", "-c", kept, name, password], check=True)
    return f"allow_anonymous false\npassword_file {kept}"


@dataclass(frozen=True)
class Certificate:
    """A certificate that signs itself, as a broker of a house has.

    Attributes:
        settings: lines for the broker's configuration.
        sha256: of the certificate in DER, hex.
    """

    settings: str
    sha256: str


def certificate(folder: Path, name: str = "first") -> Certificate:
    """Make a certificate for 127.0.0.1 and its key."""
    key = ec.generate_private_key(ec.SECP256R1())
    named = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, "broker of an invented house")])
    begin = dt.datetime(2026, 1, 1, tzinfo=dt.UTC)
    address = x509.IPAddress(ipaddress.ip_address("127.0.0.1"))
    made = (
        x509.CertificateBuilder(named, named, key.public_key(), x509.random_serial_number())
        .not_valid_before(begin)
        .not_valid_after(begin + dt.timedelta(days=36500))
        .add_extension(x509.SubjectAlternativeName([address]), critical=False)
        .sign(key, hashes.SHA256())
    )
    shown, kept = folder / f"{name}.pem", folder / f"{name}.key"
    shown.write_bytes(made.public_bytes(serialization.Encoding.PEM))
    kept.write_bytes(
        key.private_bytes(
            serialization.Encoding.PEM,
            serialization.PrivateFormat.PKCS8,
            serialization.NoEncryption(),
        )
    )
    settings = f"allow_anonymous true\ncertfile {shown}\nkeyfile {kept}"
    return Certificate(settings, made.fingerprint(hashes.SHA256()).hex())


def publish(
    broker: Mosquitto, topic: str, payload: str | bytes, *, retain: bool = False, qos: int = 0
) -> None:
    """Publish as a unit behind the broker would, by a client that shares nothing with ours."""
    single(topic, payload, qos, retain, hostname="127.0.0.1", port=broker.port, auth=broker.auth)


def program(name: str) -> str:
    """Return where one of the broker's programs is; its folder isn't on everybody's path."""
    found = [folder for folder in _FOLDERS if (Path(folder) / name).exists()]
    if not found:
        raise AssertionError(f"{name} is missing: sudo apt-get install mosquitto")
    return str(Path(found[0]) / name)


def free_port() -> int:
    """Return a loopback port that was free a moment ago."""
    with socket.create_server(("127.0.0.1", 0)) as taken:
        return taken.getsockname()[1]
