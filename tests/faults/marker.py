"""A marked secret, and where it may have leaked to: files, texts, tracebacks, objects, processes."""

import base64
import gc
import io
import traceback
import types
from pathlib import Path
from urllib.parse import quote

import pypdf

from fleet.model.errors import WalkdownError

USER = "installer"
SECRET = "Marked/5ecret+ßQ7x"  # noqa: S105 - planted to be looked for
PASSPHRASE = "Marked/pa55phrase+ßQ7x"  # noqa: S105 - as above


def shapes(secret: str) -> set[bytes]:
    """Every shape that a secret could be written in: plain, escaped, encoded, in a basic credential."""
    plain = secret.encode()
    texts = {secret, ascii(secret)[1:-1], quote(secret), quote(secret, safe=""), repr(plain)[2:-1]}
    texts.add(secret.partition("ß")[0])  # whichever way the letter after it is escaped
    texts |= {plain.hex(), plain.hex().upper(), plain.hex(" ")}
    for lead in range(3):  # base64 says the same bytes in three ways, by where they begin
        text = base64.b64encode(b"x" * lead + plain).decode()
        texts.add(text[4 if lead else 0 : -4])
    basic = base64.b64encode(f"{USER}:{secret}".encode()).decode()
    return {text.encode() for text in texts | {basic.rstrip("=")}} | {
        secret.encode("utf-16-le"),
        secret.encode("utf-16-be"),
        secret.encode("latin-1"),
    }


FORBIDDEN = frozenset(shapes(SECRET) | shapes(PASSPHRASE))


def leaks_in(data: bytes | str) -> list[bytes]:
    """Return the shapes that stand in some bytes or text."""
    found = data.encode("utf-8", "surrogatepass") if isinstance(data, str) else data
    return [shape for shape in FORBIDDEN if shape in found]


def leaks_under(folder: Path) -> list[str]:
    """Return the files under a folder that a shape stands in, in a PDF's text as well."""
    leaking = []
    for path in sorted(folder.rglob("*")):
        if not path.is_file():
            continue
        data = path.read_bytes()
        if path.suffix == ".pdf":
            data += words_of(data).encode()
        if leaks_in(data) or leaks_in(str(path)):
            leaking.append(str(path.relative_to(folder)))
    return leaking


def words_of(pdf: bytes) -> str:
    reader = pypdf.PdfReader(io.BytesIO(pdf))
    return "\n".join(page.extract_text() for page in reader.pages)


def crash_report(error: BaseException) -> str:
    """Say all that a crash report could: the whole chain with every frame's local names, and the error.

    What was raised from what, and in the course of what, counts whether or not it would be shown. Frames
    of tests hold the secret themselves and are left out.
    """
    parts = []
    for one in chain(error):
        frames = traceback.StackSummary.extract(
            (
                (frame, number)
                for frame, number in traceback.walk_tb(one.__traceback__)
                if "/tests/" not in frame.f_code.co_filename
            ),
            capture_locals=True,
        )
        parts += [str(one), repr(one), repr(vars(one)), *frames.format()]
    return "\n".join(parts)


def error_says(error: BaseException) -> str:
    """Say all that is shown or logged of an error: its whole chain as text, and what ours hold."""
    ours = [one for one in chain(error) if isinstance(one, WalkdownError)]
    shown = ["".join(traceback.format_exception(one)) for one in chain(error)]
    return "\n".join([*shown, *(f"{one!r} {vars(one)!r}" for one in ours)])


def chain(error: BaseException) -> list[BaseException]:
    """Return an error and all that it came from, by cause and by context."""
    found: list[BaseException] = []
    todo: list[BaseException | None] = [error]
    while todo:
        one = todo.pop()
        if one is not None and one not in found:
            found.append(one)
            todo += [one.__cause__, one.__context__]
    return found


def shown_by(held: object) -> str:
    """Return the representation of an object and of every object of ours that it holds, however deep."""
    seen: dict[int, object] = {}
    todo = [held]
    while todo:
        one = todo.pop()
        if id(one) in seen or isinstance(one, type | types.ModuleType | types.FunctionType):
            continue
        seen[id(one)] = one
        if type(one).__module__.split(".")[0] == "fleet":
            todo += gc.get_referents(one)
    return "\n".join(
        repr(one) for one in seen.values() if type(one).__module__.split(".")[0] == "fleet"
    )


def process_shows(pid: int) -> bytes:
    """Return what others can read of a process: its command line, and its environment."""
    return b"\n".join(Path(f"/proc/{pid}/{name}").read_bytes() for name in ("cmdline", "environ"))
