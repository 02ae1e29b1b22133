"""The Qt bindings keep count of None: those of 6.12.0 didn't on Python 3.11, and it ended in an abort.

The upper bound on PySide6-Essentials in pyproject.toml may go when this passes without it.
"""

import sys

from PySide6.QtCore import QObject

CALLS = 10_000


def test_void_calls_drop_no_reference_to_none():
    thing = QObject()
    before = sys.getrefcount(None)
    for _ in range(CALLS):
        thing.setObjectName("thing")
        thing.blockSignals(False)
    assert abs(sys.getrefcount(None) - before) < CALLS / 100
