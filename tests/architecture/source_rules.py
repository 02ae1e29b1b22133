"""Rules of the house that an import graph can't see, each from a parsed file to what offends it.

1. Clocks are only injected: nothing reads the time but the places that make the real clock.
2. A migration is frozen: it imports nothing of ours.
3. The core does no input or output.
4. aiohttp's client is known to link alone; the simulator serves with aiohttp.web.
5. No file is longer than 500 lines.
6. Words that the trade's vocabulary rules out stand in no name that we give and in no text.
"""

import ast
import re
from collections.abc import Iterator
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
MOST_LINES = 500
CORE = ("model", "numerics", "description", "jobs", "trials", "drawing")
CLOCK_PLACES = ("fleet/cli/clocks.py", "fleet/simulator/__main__.py")

_CLOCKS = {
    f"time.{name}{suffix}"
    for name in ("time", "monotonic", "perf_counter")
    for suffix in ("", "_ns")
} | {
    "time.gmtime",
    "time.localtime",
    "datetime.datetime.now",
    "datetime.datetime.utcnow",
    "datetime.datetime.today",
    "datetime.date.today",
}
_LOOP_MAKERS = {"get_running_loop", "get_event_loop", "new_event_loop", "get_loop"}

_IO_BUILTINS = {"open", "print", "input"}
_IO_METHODS = {
    "read_text", "read_bytes", "write_text", "write_bytes", "open", "touch", "mkdir", "unlink",
    "iterdir", "rglob", "is_file", "is_dir",
}  # fmt: skip
_IO_NAMES = {f"numpy.{name}" for name in ("load", "loadtxt", "genfromtxt", "fromfile", "save")}
_IO_MODULES = {
    "asyncio", "http", "importlib.resources", "logging", "multiprocessing", "os", "shutil",
    "socket", "sqlite3", "ssl", "subprocess", "sys", "tempfile", "threading", "urllib.request",
}  # fmt: skip

_WORDS = re.compile(
    r"(?<![^\W_])(zones?|devices?|entity|entities|dashboards?|automations?|scenes?|pairings?"
    r"|adopt(s|ed|ing)?|certified|guarantee[sd]?|fall[ _]detection)(?![^\W_])",
    re.IGNORECASE,
)

Found = Iterator[tuple[int, str]]
"""Line and what offends there."""


def python_files(*folders: str) -> list[Path]:
    """Return the Python files under folders of the source tree, sorted."""
    return sorted(path for folder in folders for path in (ROOT / folder).rglob("*.py"))


def parsed(path: Path) -> ast.Module:
    """Parse one file."""
    return ast.parse(path.read_text(encoding="utf-8"), filename=str(path))


def clock_reads(tree: ast.Module) -> Found:
    """Find each mention of a function that reads the machine's time; handing it on counts too."""
    names = _imported_names(tree)
    for node in ast.walk(tree):
        if (name := _full_name(node, names)) in _CLOCKS:
            yield node.lineno, f"reads the machine's clock: {name}"
        if isinstance(node, ast.Attribute) and node.attr == "time" and _is_loop(node.value):
            yield node.lineno, "reads the event loop's clock"


def project_imports(tree: ast.Module) -> Found:
    """Find each import of our own packages."""
    for line, name in _imports(tree):
        if name.split(".")[0] in {"fleet", "ui", ""}:
            yield line, f"imports {name or 'a neighbour'}"


def input_and_output(tree: ast.Module) -> Found:
    """Find each use of files, network, environment, console or threads."""
    names = _imported_names(tree)
    for line, module in _imports(tree):
        if any(module == banned or module.startswith(banned + ".") for banned in _IO_MODULES):
            yield line, f"imports {module}"
    for node in ast.walk(tree):
        match node:
            case ast.Name(id=name, ctx=ast.Load()) if name in _IO_BUILTINS and name not in names:
                yield node.lineno, f"uses {name}"
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute):
            if node.func.attr in _IO_METHODS:
                yield node.lineno, f"calls .{node.func.attr}()"
            elif (name := _full_name(node.func, names)) in _IO_NAMES:
                yield node.lineno, f"calls {name}"


def client_names(tree: ast.Module) -> Found:
    """Find each name of aiohttp that is not of its server side, aiohttp.web."""
    names = _imported_names(tree)
    for node in ast.walk(tree):
        name = _full_name(node, names) or ""
        if name.startswith("aiohttp.") and name.split(".")[1] != "web":
            yield node.lineno, f"uses {name}"
    for line, name in _imports(tree):
        if name.startswith("aiohttp.") and name.split(".")[1] != "web":
            yield line, f"imports {name}"


def overlong(text: str) -> Found:
    """Say where a file goes over its length."""
    if len(text.splitlines()) > MOST_LINES:
        yield MOST_LINES + 1, f"is longer than {MOST_LINES} lines"


def forbidden_words(tree: ast.Module) -> Found:
    """Find the ruled-out words in texts and in names given here; what others named is theirs."""
    for node in ast.walk(tree):
        for text in _given_texts(node):
            if found := _WORDS.search(text):
                yield getattr(node, "lineno", 0), f"says {found.group()!r}"


def _given_texts(node: ast.AST) -> Iterator[str]:
    match node:
        case ast.Constant(value=str(text)):
            yield text
        case ast.FunctionDef(name=name) | ast.AsyncFunctionDef(name=name) | ast.ClassDef(name=name):
            yield name
        case ast.arg(arg=name) | ast.Name(id=name, ctx=ast.Store()):
            yield name
        case ast.Attribute(attr=name, ctx=ast.Store()) | ast.alias(asname=str(name)):
            yield name


def _imports(tree: ast.Module) -> Iterator[tuple[int, str]]:
    """Yield line and full name of everything imported; a relative import as its bare tail."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            yield from ((node.lineno, alias.name) for alias in node.names)
        elif isinstance(node, ast.ImportFrom) and node.level:
            yield node.lineno, ""
        elif isinstance(node, ast.ImportFrom):
            yield from ((node.lineno, f"{node.module}.{alias.name}") for alias in node.names)


def _imported_names(tree: ast.Module) -> dict[str, str]:
    """Map each name that an import binds to the full name of what it stands for."""
    names: dict[str, str] = {}
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            for alias in node.names:
                first = alias.name.split(".")[0]
                names[alias.asname or first] = alias.name if alias.asname else first
        elif isinstance(node, ast.ImportFrom):
            for alias in node.names:
                names[alias.asname or alias.name] = f"{node.module}.{alias.name}"
    return names


def _full_name(node: ast.AST, names: dict[str, str]) -> str | None:
    if isinstance(node, ast.Name):
        return names.get(node.id)
    if isinstance(node, ast.Attribute):
        head = _full_name(node.value, names)
        return f"{head}.{node.attr}" if head else None
    return None


def _is_loop(node: ast.AST) -> bool:
    match node:
        case ast.Call(func=ast.Attribute(attr=name) | ast.Name(id=name)):
            return name in _LOOP_MAKERS
        case ast.Name(id=name) | ast.Attribute(attr=name):
            return name.lower().endswith("loop")
    return False
