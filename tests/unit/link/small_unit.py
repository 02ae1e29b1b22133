"""A small invented unit on loopback: open or guarded, over http or https, watched in several ways."""

import base64
import contextlib
import datetime as dt
import hashlib
import ipaddress
import json
import re
import ssl
import time

from aiohttp import web
from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.x509.oid import NameOID

from fleet.link.limits import Limits
from fleet.link.links import Links
from fleet.model.clock import HouseClock
from fleet.model.credentials import Credential

STARTED = dt.datetime(2026, 11, 25, 8, tzinfo=dt.UTC)
CLOCK = HouseClock(STARTED, time.monotonic(), time.monotonic)
SHORT = Limits(
    connect_s=1.0,
    silence_s=0.3,
    whole_s=0.6,
    describe_s=1.0,
    stream_silence_s=0.3,
    seldom_silence_s=0.3,
    long_poll_s=0.3,
    poll_ms=20,
    long_poll_gap_ms=5,
    patience_s=0.1,
)
PASSWORD = Credential("correct horse battery", "fitter")
TOKEN = Credential("t0ken-of-ours")
REALM = "unit 7"


class Kept:
    """What lets us in, by key; a test changes it."""

    def __init__(self, **known):
        self.known = known

    def credential_for(self, key):
        return self.known.get(key)


class Anywhere(Kept):
    """The same for every key."""

    def __init__(self, credential):
        super().__init__()
        self.credential = credential

    def credential_for(self, _key):
        return self.credential


def description(security="none", forms=None, **more):
    """Return an invented description; `security` names one of its definitions."""
    return {
        "@context": [
            "https://www.w3.org/2022/wot/td/v1.1",
            {"pres": "https://walkdown.example/presence#"},
        ],
        "@type": "pres:PresenceUnit",
        "id": "urn:uuid:7",
        "title": "Small unit",
        "securityDefinitions": {
            "none": {"scheme": "nosec"},
            "basic": {"scheme": "basic"},
            "digest": {"scheme": "digest"},
            "bearer": {"scheme": "bearer"},
            "header": {"scheme": "apikey", "in": "header", "name": "X-Key"},
            "query": {"scheme": "apikey", "in": "query", "name": "key"},
            "cookie": {"scheme": "apikey", "in": "cookie", "name": "key"},
            "body": {"scheme": "apikey", "in": "body", "name": "key"},
            "steering": {"scheme": "apikey", "in": "header", "name": "Host"},
            "either": {"scheme": "combo", "oneOf": ["body", "bearer", "basic"]},
        },
        "security": security,
        "properties": {
            "about": {
                "@type": "pres:Identity",
                "type": "object",
                "readOnly": True,
                "properties": {"serial": {"@type": "pres:SerialNumber", "type": "string"}},
                "forms": [{"href": "about"}],
            },
            "tuning": {
                "@type": "pres:Settings",
                "type": "object",
                "properties": {"hold": {"@type": "pres:HoldTime", "type": "integer"}},
                "forms": [{"href": "tuning"}],
            },
            "targets": {
                "@type": "pres:TargetFrame",
                "type": "object",
                "readOnly": True,
                "observable": True,
                "forms": forms
                or [{"href": "stream", "op": "observeproperty", "subprotocol": "sse"}],
            },
        },
        "actions": {"install": {"@type": "pres:InstallFirmware", "forms": [{"href": "install"}]}},
        **more,
    }


class SmallUnit:
    """What the server serves and what it was asked; a test changes it.

    Attributes:
        document: its description.
        guard: looks at each request but that for an open description; returns a refusal or None.
        guards_all: the description itself is behind the guard.
        asked: method, path with query, and body of each request.
        routes: "METHOD /path" → a handler of the test's own.
    """

    def __init__(self, document=None, guard=None, *, guards_all=False):
        self.document = description() if document is None else document
        self.guard, self.guards_all = guard, guards_all
        self.asked = []
        self.routes = {}
        self.held = {"hold": 30}

    async def answer(self, request):
        body = await request.read()
        self.asked.append((request.method, request.path_qs, body))
        if self.guard and (self.guards_all or request.path != "/td"):
            refusal = self.guard(request, body)
            if refusal is not None:
                return refusal
        own = self.routes.get(f"{request.method} {request.path}")
        if own is not None:
            return await own(request)
        return self._usual(request, body)

    def _usual(self, request, body):
        if request.path == "/td":
            return web.json_response(self.document, content_type="application/td+json")
        if request.path == "/about":
            return web.json_response({"serial": "s-7"})
        if (request.method, request.path) == ("PUT", "/tuning"):
            self.held = json.loads(body)
            return web.Response(status=204)
        if request.path == "/tuning":
            return web.json_response(self.held)
        return web.Response(status=404)

    def paths(self):
        return [path for _, path, _ in self.asked]


@contextlib.asynccontextmanager
async def served(unit, certificate=None, port=0, host="127.0.0.1"):
    """Serve a unit; gives its origin."""
    app = web.Application()
    app.router.add_route("*", "/{path:.*}", unit.answer)
    runner = web.AppRunner(app, access_log=None, shutdown_timeout=0.1, handler_cancellation=True)
    await runner.setup()
    await web.TCPSite(runner, host, port, ssl_context=certificate).start()
    scheme = "https" if certificate else "http"
    try:
        yield f"{scheme}://{host}:{runner.addresses[0][1]}"
    finally:
        await runner.cleanup()


@contextlib.asynccontextmanager
async def opened(credentials=None, limits=SHORT, **more):
    """Open links of a visit with short limits."""
    links = Links({}, clock=CLOCK, credentials=credentials, limits=limits, **more)
    try:
        yield links
    finally:
        await links.close()


@contextlib.asynccontextmanager
async def linked(unit, credentials=None, certificate=None, **more):
    """Serve a unit and link to it."""
    async with served(unit, certificate) as origin, opened(credentials, **more) as links:
        yield await links.describe(f"{origin}/td")


def basic(credential=PASSWORD, status=401):
    """Return a guard that wants name and password."""
    pair = base64.b64encode(f"{credential.user}:{credential.secret}".encode()).decode()
    return wants("Authorization", f"Basic {pair}", f'Basic realm="{REALM}"', status)


def wants(header, value, challenge="", status=401):
    """Return a guard that wants a header of a certain value."""
    headers = {"WWW-Authenticate": challenge} if challenge else {}

    def guard(request, _body):
        if request.headers.get(header) == value:
            return None
        return web.Response(status=status, headers=headers)

    return guard


class DigestGuard:
    """Wants a digest as RFC 7616 has it; computed here by another hand than the one that is tested.

    Attributes:
        nonce: the one that holds now; a test changes it as a restart would.
        stale: what a wrong nonce is answered by.
    """

    def __init__(self, credential=PASSWORD, algorithm="SHA-256", qop="auth", *, before=""):
        self.credential, self.algorithm, self.qop, self.before = credential, algorithm, qop, before
        self.nonce, self.stale, self.counts, self.wrong = "n0", False, [], 0

    def __call__(self, request, body):
        said = dict(re.findall(r'(\w+)="?([^",]*)"?', request.headers.get("Authorization", "")))
        if said.get("nonce") == self.nonce and said["response"] == self._expected(
            request, said, body
        ):
            self.counts.append(said.get("nc"))
            return None
        self.wrong += "response" in said
        return web.Response(status=401, headers=[("WWW-Authenticate", c) for c in self._asks()])

    def _asks(self):
        if self.before:
            yield self.before
        quality = f', qop="{self.qop}"' if self.qop else ""
        stale = ", stale=true" if self.stale else ""
        yield (
            f'Digest realm="{REALM}", nonce="{self.nonce}", opaque="o"{quality}{stale},'
            f" algorithm={self.algorithm}"
        )

    def _expected(self, request, said, body):
        def h(text):
            kind = "md5" if self.algorithm.startswith("MD5") else "sha256"
            return hashlib.new(kind, text.encode()).hexdigest()

        secret = h(f"{self.credential.user}:{REALM}:{self.credential.secret}")
        if self.algorithm.endswith("-sess"):
            secret = h(f"{secret}:{said['nonce']}:{said['cnonce']}")
        asked = f"{request.method}:{request.path_qs}"
        if said.get("qop") == "auth-int":
            asked += f":{h(body.decode())}"
        if not self.qop:
            return h(f"{secret}:{said['nonce']}:{h(asked)}")
        middle = f"{said['nc']}:{said['cnonce']}:{said['qop']}"
        return h(f"{secret}:{said['nonce']}:{middle}:{h(asked)}")


def certificate_for(folder, name="unit", host="127.0.0.1"):
    """Make a certificate that nobody signed; return a server's context and its fingerprint, hex."""
    key = ec.generate_private_key(ec.SECP256R1())
    subject = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, name)])
    made = (
        x509.CertificateBuilder()
        .subject_name(subject)
        .issuer_name(subject)
        .public_key(key.public_key())
        .serial_number(x509.random_serial_number())
        .not_valid_before(STARTED - dt.timedelta(days=1))
        .not_valid_after(STARTED + dt.timedelta(days=365))
        .add_extension(
            x509.SubjectAlternativeName([x509.IPAddress(ipaddress.ip_address(host))]),
            critical=False,
        )
        .sign(key, hashes.SHA256())
    )
    pem = key.private_bytes(
        serialization.Encoding.PEM,
        serialization.PrivateFormat.PKCS8,
        serialization.NoEncryption(),
    ) + made.public_bytes(serialization.Encoding.PEM)
    path = folder / f"{name}.pem"
    path.write_bytes(pem)
    context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    context.load_cert_chain(path)
    return context, made.fingerprint(hashes.SHA256()).hex()
