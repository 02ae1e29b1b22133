import subprocess
import sys

from fleet.cli.starting import WorkbenchStart
from tests.ui.fake_visit import NO_SITE, FakeVisit
from tests.ui.screens import wait_for
from ui import start
from ui.bridge.passphrase import Passphrase
from ui.windows import opening

NO_QT = """
import sys
from ui.start import main
code = main(["check", {folder!r}])
assert code == 1, code
assert not [name for name in sys.modules if name.startswith(("PySide6", "ui.windows"))]
"""


def test_a_verb_loads_no_qt(tmp_path):
    script = NO_QT.format(folder=str(tmp_path / "nowhere"))
    done = subprocess.run(
        [sys.executable, "-c", script], capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stderr


def test_without_a_verb_the_workbench_opens_on_the_named_folder(monkeypatch, tmp_path):
    opened = []
    monkeypatch.setattr(opening, "run_workbench", lambda *words: opened.append(words) or 0)
    assert start.main(["--data", str(tmp_path), "--theme", "dark"]) == 0
    (workbench, passphrase) = opened[0]
    assert (workbench.data, workbench.theme) == (tmp_path, "dark")
    assert isinstance(passphrase, Passphrase)


def test_a_verb_is_handed_the_way_to_open_the_workbench(monkeypatch, tmp_path):
    opened = []
    monkeypatch.setattr(opening, "run_workbench", lambda *words: opened.append(words) or 0)

    async def make():
        return FakeVisit()

    begun = WorkbenchStart(tmp_path, make, note="demo")
    assert start.open_workbench(begun) == 0
    assert opened == [(begun, None)]


def test_the_window_opens_its_visit(qapp, tmp_path):
    visit = FakeVisit(NO_SITE)

    async def make():
        return visit

    window = opening.make_window(WorkbenchStart(tmp_path, make, theme="dark"), Passphrase())
    wait_for(lambda: window.session.house is visit.house)
    window.close()
    assert visit.ended
    _, note = opening._folder(tmp_path, Passphrase())
    assert note == ""
