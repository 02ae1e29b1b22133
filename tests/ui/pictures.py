"""Pictures of every screen, light and dark, at 100 % and 200 %, for people to look at.

    python -m tests.ui.pictures OUTDIR

Qt takes the scale once a process, so each scale is drawn by a process of its own.
"""

import os
import subprocess
import sys
from pathlib import Path

SCALES = {"100": "1", "200": "2"}


def main(words):
    """Draw into the folder named; a second word is a scale, and draws that one here."""
    folder = Path(words[0])
    folder.mkdir(parents=True, exist_ok=True)
    if len(words) > 1:
        _draw(folder, words[1])
        return 0
    for percent, factor in SCALES.items():
        surroundings = {**os.environ, "QT_SCALE_FACTOR": factor, "QT_QPA_PLATFORM": "offscreen"}
        command = [sys.executable, "-m", "tests.ui.pictures", str(folder), percent]
        subprocess.run(command, env=surroundings, check=True)
    return 0


def _draw(folder, percent):
    from PySide6.QtWidgets import QApplication

    from tests.ui.screens import screens

    application = QApplication.instance() or QApplication(["pictures"])
    for theme in ("light", "dark"):
        for name, widget in screens(theme):
            for _ in range(3):
                application.processEvents()
            widget.grab().save(str(folder / f"{name}-{theme}-{percent}.png"))


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
