"""What a person does on the tab Meet units, for the tests that do it."""

from PySide6.QtCore import Qt
from shiboken6 import isValid

from ui.presenters.meeting_rows import meeting_rows


def done(visit, what):
    """What was asked of a visit, of one kind."""
    return [entry for entry in visit.done if entry[0] == what]


def click(qtbot, button):
    """Press a button that can be seen and pressed."""
    assert button.isEnabled(), button.text()
    assert button.isVisible(), button.text()
    qtbot.mouseClick(button, Qt.MouseButton.LeftButton)


def choose(page, head):
    """Choose the last row that begins so."""
    row = [row for row in meeting_rows(page._house) if row.head == head][-1]
    page.list.choose(row.key)
    return row


def closed(dialog):
    """Say whether a dialog is gone."""
    return not isValid(dialog) or not dialog.isVisible()


async def go_on(visit):
    """Let a visit that waits go on."""
    visit.go_on.set()
