"""JSON that a person wrote, read with the line of everything in it.

What a unit sends is refused whole (`documents`); what a person wrote and got wrong is answered with
the line to look at. The value itself comes from the standard library; a second walk over the marks of
the text, which is known to be sound by then, says where each member and entry stands.
"""

import json
import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import NoReturn, TypeAlias

from fleet.description.documents import Json, parse_json
from fleet.description.limits import MAX_DEPTH, MAX_DOCUMENT_BYTES
from fleet.description.texts import plain_text
from fleet.model.errors import PlanError, UnitError

Path: TypeAlias = tuple[str | int, ...]
"""The steps from the root to a value: names of members and numbers of entries."""

_MARK = re.compile(r'"(?:[^"\\]|\\.)*"|[{}\[\],:]|[^\s{}\[\],:"]+', re.DOTALL)

_STRUCTURE = frozenset("{}[],:")


class FileMistakeError(PlanError):
    """Something is wrong in a file that a person wrote.

    Attributes:
        line: where, counted from 1.
    """

    def __init__(self, what: str, *, name: str, line: int) -> None:
        """Say what is wrong in which file and line."""
        super().__init__(what, subject=f"{name}:{line}")
        self.line = line


@dataclass(frozen=True, slots=True)
class Located:
    """A JSON value and where its parts stand.

    Attributes:
        value: the whole.
        lines: line of each member (of its name) and entry, counted from 1.
        last_line: how many lines there are.
    """

    value: Json
    lines: Mapping[Path, int]
    last_line: int

    def line_of(self, path: Path) -> int:
        """Return the line of a part, or of the nearest thing around it where there is no such part."""
        while path and path not in self.lines:
            path = path[:-1]
        return self.lines.get(path, 1)


def read_located(raw: bytes, name: str) -> Located:
    """Read a file.

    Args:
        raw: its bytes.
        name: the file's name, for errors.

    Raises:
        FileMistakeError: it is too long, no UTF-8, no JSON, nests too deep, or has a name twice.
    """
    if len(raw) > MAX_DOCUMENT_BYTES:
        _mistake(f"the file is longer than {MAX_DOCUMENT_BYTES // 1024} KiB.", name, 1)
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError as broken:
        _mistake("a character here is no UTF-8.", name, _line_at(raw, broken.start))
    _hold_syntax(text, name)
    lines = _lines(text, name)
    return Located(json.loads(text), lines, text.count("\n") + 1)


def _hold_syntax(text: str, name: str) -> None:
    try:
        json.loads(text)
    except json.JSONDecodeError as broken:
        what = f"this is no JSON (column {broken.colno}): {broken.msg.lower()}."
        _mistake(what, name, broken.lineno)
    except RecursionError:
        _mistake(f"the file nests deeper than {MAX_DEPTH} levels.", name, 1)
    except ValueError:
        _mistake("a number in it has too many digits.", name, 1)


def _lines(text: str, name: str) -> dict[Path, int]:
    """Return the line of each member and entry of sound JSON."""
    lines: dict[Path, int] = {}
    walk = _Walk()
    line, at = 1, 0
    for found in _MARK.finditer(text):
        line += text.count("\n", at, found.start())
        at = found.start()
        _hold_value(found[0], name, line)
        path = walk.step(found[0])
        if path is None:
            continue
        if path in lines and walk.named:
            shown = plain_text(str(path[-1]), 40)
            _mistake(f"{shown!r} stands twice in one object.", name, line)
        lines.setdefault(path, line)
        if len(path) > MAX_DEPTH:
            _mistake(f"the file nests deeper than {MAX_DEPTH} levels.", name, line)
    return lines


def _hold_value(mark: str, name: str, line: int) -> None:
    """Refuse what a unit couldn't be told: NaN, a number beyond all bounds, half a character."""
    if mark in _STRUCTURE:
        return
    try:
        parse_json(mark.encode(), subject=name)
    except UnitError as broken:
        _mistake(f"this value can't be used: {broken.what.partition(': ')[2]}", name, line)


class _Walk:
    """Follows the marks of sound JSON and says which part of it each begins.

    Attributes:
        named: the mark that was just taken is the name of a member.
    """

    def __init__(self) -> None:
        self._path: list[str | int] = []
        self._in_object: list[bool] = []
        self._name_next = False
        self.named = False

    def step(self, mark: str) -> Path | None:
        """Take the next mark; return the part that begins with it, or None if none does."""
        self.named = False
        if mark in {"{", "["}:
            return self._open(in_object=mark == "{")
        if mark in {"}", "]"}:
            self._path.pop()
            self._in_object.pop()
            self._name_next = False
        elif mark == ",":
            self._next_part()
        elif mark != ":":
            return self._name_or_value(mark)
        return None

    def _open(self, *, in_object: bool) -> Path:
        here = tuple(self._path)
        self._path.append("" if in_object else 0)
        self._in_object.append(in_object)
        self._name_next = in_object
        return here

    def _next_part(self) -> None:
        self._name_next = self._in_object[-1]
        last = self._path[-1]
        if isinstance(last, int):
            self._path[-1] = last + 1

    def _name_or_value(self, mark: str) -> Path:
        if self._name_next:
            self._path[-1] = str(json.loads(mark))
            self._name_next, self.named = False, True
        return tuple(self._path)


def _line_at(raw: bytes, at: int) -> int:
    return raw.count(b"\n", 0, at) + 1


def _mistake(what: str, name: str, line: int) -> NoReturn:
    raise FileMistakeError(what, name=name, line=line)
