"""Every screen, light and dark: no text is cut off, and every control has a name and readable type."""

import pytest
from PySide6.QtGui import QAccessible
from PySide6.QtWidgets import (
    QAbstractButton,
    QAbstractItemView,
    QAbstractSpinBox,
    QApplication,
    QComboBox,
    QLabel,
    QLineEdit,
    QProgressBar,
    QScrollArea,
    QTreeWidget,
)

from tests.ui.pictures import main
from tests.ui.screens import screens

CONTROLS = (
    QAbstractButton,
    QAbstractItemView,
    QComboBox,
    QLineEdit,
    QProgressBar,
    QAbstractSpinBox,
)
SMALLEST_POINTS = 10


@pytest.mark.parametrize("theme", ["light", "dark"])
def test_no_text_is_cut_off_and_every_control_has_a_name(qapp, theme):
    faults = []
    for name, screen in screens(theme):
        for _ in range(3):
            QApplication.processEvents()
        faults += [
            f"{name}: {fault}"
            for fault in (*_clipped(screen), *_clipped_controls(screen), *_nameless(screen))
        ]
    assert not faults, "\n".join(faults)


def test_pictures_are_drawn_of_every_screen(tmp_path, qapp):
    main([str(tmp_path), "100"])
    assert (
        len(list(tmp_path.glob("*-light-100.png")))
        == len(list(tmp_path.glob("*-dark-100.png")))
        == 46
    )


def _clipped(screen):
    for label in screen.findChildren(QLabel):
        if not label.isVisible() or not label.text() or label.width() == 0:
            continue
        if label.font().pointSizeF() < SMALLEST_POINTS:
            yield f"type of {label.font().pointSizeF()} pt: {label.text()!r}"
        if label.wordWrap():
            needed = label.heightForWidth(label.width())
            longest = max(
                (label.fontMetrics().horizontalAdvance(w) for w in _unbroken(label.text())),
                default=0,
            )
            if label.height() < needed or label.width() < longest:
                yield f"cut off: {label.text()!r} {label.size()} needs {needed}"
        elif label.sizeHint().width() > label.width() or label.sizeHint().height() > label.height():
            yield f"cut off: {label.text()!r}"


def _unbroken(text):
    """Words, cut where a line may end within one."""
    return [part for word in text.split() for part in word.split("\u200b")]


def _clipped_controls(screen):
    for area in screen.findChildren(QScrollArea):
        inner = area.widget()
        if inner and area.isVisible() and inner.width() > area.viewport().width():
            yield f"cut off: {area.accessibleName()!r} is {inner.width()} px wide inside"
    for tree in screen.findChildren(QTreeWidget):
        for column in range(tree.columnCount()):
            if tree.sizeHintForColumn(column) > tree.columnWidth(column):
                yield f"cut off: column {column} of the tree, {tree.columnWidth(column)} px"
    for button in screen.findChildren(QAbstractButton):
        if (
            button.isVisible()
            and button.text()
            and button.width() < button.minimumSizeHint().width()
        ):
            yield f"cut off: button {button.text()!r}"


def _nameless(screen):
    for kind in CONTROLS:
        for control in screen.findChildren(kind):
            inner = control.objectName().startswith("qt_") or not control.isVisible()
            if inner or control.focusPolicy().value == 0:
                continue
            spoken = QAccessible.queryAccessibleInterface(control)
            if not spoken.text(QAccessible.Text.Name):
                yield f"no accessible name: {control!r} in {control.parent()!r}"
