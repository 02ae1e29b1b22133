"""Opening the workbench: the application, the session, and the ways into other visits."""

import getpass
import tempfile
from pathlib import Path

from PySide6.QtCore import QMargins
from PySide6.QtWidgets import QApplication

from fleet.cli.demo import DEFAULT_SPEED
from fleet.cli.demo_start import DemoPlace, demo_start
from fleet.cli.starting import WorkbenchStart, real_start
from fleet.link.vault_file import VAULT_NAME
from fleet.shipped import resources
from ui.bridge.passphrase import Passphrase
from ui.bridge.session import MakeVisit, Session
from ui.windows.workbench import WorkbenchWindow

_FRAME = QMargins(4, 4, 4, 36)
"""Room for the frame and the title that a desktop draws around a window, pixels."""


def run_workbench(start: WorkbenchStart, passphrase: Passphrase | None) -> int:
    """Open the window, and return the exit code when it is closed."""
    existing = QApplication.instance()
    application = existing if isinstance(existing, QApplication) else QApplication(["walkdown"])
    window = make_window(start, passphrase or Passphrase())
    room = window.screen().availableSize().shrunkBy(_FRAME)
    window.resize(window.size().boundedTo(room))
    window.show()
    code = application.exec()
    window.session.close()
    return int(code)


def make_window(start: WorkbenchStart, passphrase: Passphrase) -> WorkbenchWindow:
    """Make the window and begin to open its visit."""
    passphrase.vault = start.data / VAULT_NAME
    session = Session(getpass.getuser())
    window = WorkbenchWindow(
        session,
        note=start.note,
        theme="dark" if start.theme == "dark" else "light",
        records=start.data.parent if start.note else start.data,
        passphrase=passphrase,
        open_demo=_demo,
        open_folder=lambda folder: _folder(folder, passphrase),
    )
    session.open(start.make_visit)
    return window


def _demo() -> tuple[MakeVisit, str]:
    out = Path(tempfile.mkdtemp(prefix="walkdown-demo-"))
    house = resources() / "houses" / "marlpit"
    start = demo_start(DemoPlace(out, out / "inventory", house, seed=1, speed=DEFAULT_SPEED))
    return start.make_visit, start.note


def _folder(folder: Path, passphrase: Passphrase) -> tuple[MakeVisit, str]:
    passphrase.vault = folder / VAULT_NAME
    start = real_start(folder, passphrase.ask)
    return start.make_visit, start.note
