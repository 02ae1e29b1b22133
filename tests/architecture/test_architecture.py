"""The source tree keeps the rules, and each rule catches an offence that is planted for it."""

import os
import subprocess
import sys
import textwrap
from collections.abc import Callable
from pathlib import Path

import pytest

from tests.architecture import source_rules as rules

QT = ("PySide6", "shiboken6", "pyqtgraph")


def offences(rule: Callable[..., rules.Found], files: list[Path]) -> list[str]:
    return [f"{path}:{line} {what}" for path in files for line, what in rule(rules.parsed(path))]


@pytest.fixture
def planted(tmp_path):
    def plant(text: str) -> list[Path]:
        path = tmp_path / "planted.py"
        path.write_text(textwrap.dedent(text), encoding="utf-8")
        return [path]

    return plant


def test_there_is_something_to_look_at():
    assert len(rules.python_files("fleet", "ui")) > 20


def test_clocks_are_only_injected():
    allowed = {rules.ROOT / place for place in rules.CLOCK_PLACES}
    files = [path for path in rules.python_files("fleet", "ui") if path not in allowed]
    assert offences(rules.clock_reads, files) == []


@pytest.mark.parametrize(
    "text",
    [
        "import time\nstart = time.monotonic()",
        "import time as t\nread = t.perf_counter_ns",
        "from time import time as wall\nwall()",
        "from datetime import datetime, UTC\ndatetime.now(UTC)",
        "import datetime as dt\ndt.datetime.utcnow()",
        "import asyncio\nasyncio.get_running_loop().time()",
        "async def wait(self):\n    self._loop.time()",
    ],
)
def test_a_clock_that_is_read_is_found(planted, text):
    assert offences(rules.clock_reads, planted(text))


@pytest.mark.parametrize(
    "text",
    [
        "def age(clock):\n    return clock.now()",
        "def when(report):\n    return report.time()",
        "import asyncio\nasyncio.timeout(3)",
    ],
)
def test_an_injected_clock_is_no_offence(planted, text):
    assert offences(rules.clock_reads, planted(text)) == []


def test_migrations_import_nothing_of_ours():
    assert offences(rules.project_imports, rules.python_files("migrations")) == []


@pytest.mark.parametrize(
    "text", ["from fleet.inventory import tables", "import ui.start", "from . import neighbour"]
)
def test_a_migration_that_imports_ours_is_found(planted, text):
    assert offences(rules.project_imports, planted(text))


def test_the_core_does_no_input_or_output():
    files = rules.python_files(*(f"fleet/{folder}" for folder in rules.CORE))
    assert offences(rules.input_and_output, files) == []


@pytest.mark.parametrize(
    "text",
    [
        "open('plan.json')",
        "print('here')",
        "def load(path):\n    return path.read_text()",
        "import socket",
        "from os import environ",
        "import os.path",
        "from importlib.resources import files",
        "import numpy as np\nnp.load('walk.npy')",
    ],
)
def test_input_or_output_in_the_core_is_found(planted, text):
    assert offences(rules.input_and_output, planted(text))


def test_only_link_knows_the_client():
    link = rules.ROOT / "fleet" / "link"
    files = [path for path in rules.python_files("fleet", "ui") if link not in path.parents]
    assert offences(rules.client_names, files) == []


@pytest.mark.parametrize(
    "text",
    [
        "import aiohttp\naiohttp.ClientSession()",
        "from aiohttp import ClientSession",
        "import aiohttp.client",
        "import aiohttp as a\na.request('GET', 'http://127.0.0.1')",
    ],
)
def test_a_client_elsewhere_is_found(planted, text):
    assert offences(rules.client_names, planted(text))


@pytest.mark.parametrize(
    "text",
    ["from aiohttp import web\nweb.Application()", "import aiohttp.web\naiohttp.web.run_app"],
)
def test_the_server_side_is_no_offence(planted, text):
    assert offences(rules.client_names, planted(text)) == []


def test_no_file_is_overlong():
    files = rules.python_files("fleet", "ui", "migrations", "tests")
    long = [path for path in files if list(rules.overlong(path.read_text(encoding="utf-8")))]
    assert long == []


def test_an_overlong_file_is_found():
    assert not list(rules.overlong("x = 1\n" * 500))
    assert list(rules.overlong("x = 1\n" * 501))


def test_forbidden_words_are_not_said():
    assert offences(rules.forbidden_words, rules.python_files("fleet", "ui")) == []


@pytest.mark.parametrize(
    "text",
    [
        "zone = 1",
        "def list_devices(): ...",
        "class Entity: ...",
        "def show(dashboard): ...",
        "self.scene = None",
        "'It is certified.'",
        "'fall detection'",
        "import x as automation",
    ],
)
def test_a_forbidden_word_is_found(planted, text):
    assert offences(rules.forbidden_words, planted(text))


@pytest.mark.parametrize(
    "text",
    [
        "ratio = window.devicePixelRatio()",
        "plot.scene().sigMouseClicked",
        "from datetime import timezone",
        "'a repairing identity, adopter'",
    ],
)
def test_names_of_others_and_longer_words_are_no_offence(planted, text):
    assert offences(rules.forbidden_words, planted(text)) == []


def qt_modules_loaded_by(module: str, folder: Path) -> list[str]:
    """Import a module in a process of its own and return what it loaded of Qt."""
    code = (
        f"import sys, {module}\n"
        f"print(*(name for name in sys.modules if name.split('.')[0] in {QT!r}), sep='\\n')"
    )
    run = subprocess.run(
        [sys.executable, "-c", code],
        env={**os.environ, "PYTHONPATH": str(folder)},
        cwd=folder,
        capture_output=True,
        encoding="utf-8",
        check=True,
    )
    return run.stdout.split()


def command_line_modules() -> list[str]:
    files = rules.python_files("fleet/cli")
    names = [".".join(path.relative_to(rules.ROOT).with_suffix("").parts) for path in files]
    start = ["ui.start"] if (rules.ROOT / "ui" / "start.py").exists() else []
    return [name.removesuffix(".__init__") for name in names if "__main__" not in name] + start


def test_the_command_line_loads_no_qt():
    assert qt_modules_loaded_by(", ".join(command_line_modules()), rules.ROOT) == []


def test_a_module_that_loads_qt_is_found(tmp_path):
    (tmp_path / "window.py").write_text("import PySide6.QtCore\n", encoding="utf-8")
    assert "PySide6.QtCore" in qt_modules_loaded_by("window", tmp_path)
