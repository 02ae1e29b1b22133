"""A unit that shows another certificate than the one trusted: both, and a person's decision."""

from itertools import zip_longest

from PySide6.QtWidgets import (
    QDialog,
    QFormLayout,
    QHBoxLayout,
    QLabel,
    QLineEdit,
    QVBoxLayout,
    QWidget,
)

from fleet.model.errors import WalkdownError
from ui.bridge.session import Session
from ui.presenters.fingerprints import (
    NONE_SHOWN,
    fingerprints_in,
    grouped,
    without_fingerprints,
)
from ui.widgets.theme import figure_font
from ui.windows.dialog_parts import TroubleLine, button, follow, keep_together, set_out, wrapped

FIGURE_POINTS = 13.0
_APART_PX = 40
_HEADINGS = ("Trusted until now", "Shown now")


class CertificateDialog(QDialog):
    """Trust the new one, with a name and a reason, or leave the unit alone."""

    def __init__(
        self, session: Session, key: str, text: str, parent: QWidget | None = None
    ) -> None:
        """Show both.

        Args:
            session: the engine.
            key: what the trusted one is kept under.
            text: the trouble, with both fingerprints in it.
            parent: the window.
        """
        super().__init__(parent)
        self._session, self._key = session, key
        self.setWindowTitle("Certificate changed")
        self.by, self.reason = QLineEdit(session.by), QLineEdit()
        self.by.setAccessibleName("Who decides")
        self.reason.setAccessibleName("Why the new certificate is trusted")
        self.reason.setPlaceholderText("for example: the maker’s sheet names it after an update")
        self.trouble = TroubleLine()
        self.leave = button("Leave it alone", "Send nothing to this unit", default=True)
        self.accept_it = button("Trust the new one", "Trust the certificate that it shows now")
        self.accept_it.setEnabled(bool(key))
        self._lay_out(text)
        self.accept_it.clicked.connect(self._ask)
        self.leave.clicked.connect(self.reject)
        self.reason.setFocus()

    def _lay_out(self, text: str) -> None:
        prints = QHBoxLayout()
        for heading, digest in zip_longest(_HEADINGS, fingerprints_in(text)[:2], fillvalue=""):
            prints.addLayout(_fingerprint(heading, grouped(digest) or NONE_SHOWN))
            prints.addSpacing(_APART_PX)
        prints.addStretch(1)
        form = QFormLayout()
        form.addRow("&Reason", self.reason)
        form.addRow("B&y", self.by)
        buttons = QHBoxLayout()
        buttons.addStretch(1)
        buttons.addWidget(self.accept_it)
        buttons.addWidget(self.leave)
        set_out(
            self,
            wrapped("The certificate of a unit changed", points=16, bold=True),
            wrapped(without_fingerprints(text)),
            prints,
            wrapped(
                "Somebody may stand between you and the unit. Nothing is sent to it until you decide. "
                "Compare what it shows now with what its maker or its own label says."
            ),
            form,
            self.trouble,
            buttons,
        )
        keep_together(self, 640)

    def _ask(self) -> None:
        reason, by, key = self.reason.text().strip(), self.by.text().strip(), self._key
        if not reason or not by:
            self.trouble.say("Nothing was decided: write down why, and who decides.")
            return
        self.trouble.say("")
        self.accept_it.setEnabled(False)
        operation = self._session.run(
            lambda visit: visit.accept_certificate(key, by=by, reason=reason)
        )
        follow(self._session, operation, self, lambda _: self.accept(), self._fail)

    def _fail(self, error: WalkdownError) -> None:
        self.accept_it.setEnabled(True)
        self.trouble.tell(error)


def _fingerprint(heading: str, shown: str) -> QVBoxLayout:
    figures = QLabel(shown)
    figures.setFont(figure_font(FIGURE_POINTS))
    figures.setMinimumSize(figures.sizeHint())
    figures.setAccessibleName(f"{heading}: {shown}")
    column = QVBoxLayout()
    column.addWidget(wrapped(heading, bold=True))
    column.addWidget(figures)
    return column
