"""A unit that shows another certificate than the one trusted: both, and a person's decision."""

from PySide6.QtWidgets import (
    QDialog,
    QFormLayout,
    QHBoxLayout,
    QLineEdit,
    QVBoxLayout,
    QWidget,
)

from fleet.model.errors import WalkdownError
from fleet.model.meeting import ChangedCertificate
from ui.bridge.session import Session
from ui.presenters.fingerprints import NONE_SHOWN, grouped, without_fingerprints
from ui.windows.dialog_parts import (
    TroubleLine,
    button,
    figures_label,
    follow,
    keep_together,
    set_out,
    wrapped,
)

_APART_PX = 40
_HEADINGS = ("Trusted until now", "Shown now")


class CertificateDialog(QDialog):
    """Trust the new one, with a name and a reason, or leave the unit alone."""

    def __init__(
        self, session: Session, changed: ChangedCertificate, parent: QWidget | None = None
    ) -> None:
        """Show both.

        Args:
            session: the engine.
            changed: who shows another, and both fingerprints.
            parent: the window.
        """
        super().__init__(parent)
        self._session, self._changed = session, changed
        self.setWindowTitle("Certificate changed")
        self.by, self.reason = QLineEdit(session.by), QLineEdit()
        self.by.setAccessibleName("Who decides")
        self.reason.setAccessibleName("Why the new certificate is trusted")
        self.reason.setPlaceholderText("for example: the maker’s sheet names it after an update")
        self.trouble = TroubleLine()
        self.leave = button("Leave it alone", "Send nothing to this unit", default=True)
        self.accept_it = button("Trust the new one", "Trust the certificate that it shows now")
        self._lay_out()
        self.accept_it.clicked.connect(self._ask)
        self.leave.clicked.connect(self.reject)
        self.reason.setFocus()

    def _lay_out(self) -> None:
        prints = QHBoxLayout()
        for heading, digest in zip(
            _HEADINGS, (self._changed.known, self._changed.shown), strict=True
        ):
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
            wrapped(without_fingerprints(self._changed.said)),
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
        reason, by, key = self.reason.text().strip(), self.by.text().strip(), self._changed.key
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
    column = QVBoxLayout()
    column.addWidget(wrapped(heading, bold=True))
    column.addWidget(figures_label(shown, heading))
    return column
