"""Asking for a person's word: a sentence, a reason, a name, and what can be chosen."""

from collections.abc import Callable, Sequence

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QCheckBox, QDialog, QHBoxLayout, QLineEdit, QPushButton, QWidget

from fleet.model.errors import WalkdownError
from ui.bridge.operation import Operation
from ui.bridge.session import Session
from ui.windows.dialog_parts import (
    TroubleLine,
    buddied,
    button,
    figures_label,
    follow,
    keep_together,
    set_out,
    wrapped,
)

_WIDTH_PX = 560


class ReasonDialog(QDialog):
    """Something that is journaled with a reason.

    Signals:
        chosen: what was chosen, the reason, the name.
    """

    chosen = Signal(str, str, str)

    def __init__(
        self,
        session: Session,
        title: str,
        said: str,
        choices: Sequence[str],
        *,
        need_reason: bool = True,
        figures: str = "",
        tick: str = "",
        parent: QWidget | None = None,
    ) -> None:
        """Ask.

        Args:
            session: knows the person's name.
            title: what it is about.
            said: what a person should know first.
            choices: words of the buttons; none of them is pressed by Enter.
            need_reason: whether nothing is chosen without a reason; else none is asked for.
            figures: what is compared sign by sign, below that; "" for nothing.
            tick: words of a tick without which nothing can be chosen; "" for none.
            parent: the window.
        """
        super().__init__(parent)
        self._session, self._need_reason = session, need_reason
        self.setWindowTitle(title)
        self.reason, self.by = QLineEdit(), QLineEdit(session.by)
        self.reason.setAccessibleName("Reason")
        self.by.setAccessibleName("Who says so")
        self.trouble = TroubleLine()
        self.choices: dict[str, QPushButton] = {one: button(one) for one in choices}
        cancel, buttons = button("Cancel"), QHBoxLayout()
        cancel.clicked.connect(self.reject)
        buttons.addStretch(1)
        buttons.addWidget(cancel)
        for word, one in self.choices.items():
            buttons.addWidget(one)
            one.clicked.connect(lambda _=False, each=word: self._choose(each))
        self.tick = QCheckBox(tick)
        self.tick.toggled.connect(lambda ticked: self._enable(may=ticked))
        self._enable(may=not tick)
        asked = [buddied("&Reason", self.reason), self.reason] if need_reason else []
        set_out(
            self,
            wrapped(title, points=14, bold=True),
            wrapped(said),
            *([figures_label(figures, title)] if figures else []),
            *([self.tick] if tick else []),
            *asked,
            buddied("B&y", self.by),
            self.by,
            self.trouble,
            buttons,
        )
        keep_together(self, _WIDTH_PX)

    def wait_for(
        self, operation: Operation, done: Callable[[object], object] = lambda _: None
    ) -> None:
        """Close once the work is done; say what went wrong, where it wasn't."""
        self._enable(may=False)

        def end(result: object) -> None:
            self.accept()
            done(result)

        follow(self._session, operation, self, end, self._fail)

    def _choose(self, word: str) -> None:
        reason, by = self.reason.text().strip(), self.by.text().strip()
        if self._need_reason and not reason:
            self.trouble.say("Nothing was done: write down why.")
        elif not by:
            self.trouble.say("Nothing was done: say who says so, in the line “By”.")
        else:
            self.trouble.say("")
            self.chosen.emit(word, reason, by)

    def _fail(self, error: WalkdownError) -> None:
        self._enable(may=True)
        self.trouble.tell(error)

    def _enable(self, *, may: bool) -> None:
        for one in self.choices.values():
            one.setEnabled(may)
