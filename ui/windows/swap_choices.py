"""What a person chooses of a swap: who takes over, how it is fixed, which areas are kept."""

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import (
    QComboBox,
    QDoubleSpinBox,
    QHBoxLayout,
    QListWidget,
    QListWidgetItem,
    QVBoxLayout,
    QWidget,
)

from fleet.engine.swapping import mount_as_said
from fleet.jobs.swap_signs import SwapKind, SwapSign
from fleet.jobs.swapping import SwapPlan
from fleet.model.geometry import Pose
from ui.presenters.swap_rows import (
    AreaRow,
    Successor,
    SwapRequest,
    area_rows,
    areas_note,
    heading_hint,
    likeliest,
)
from ui.windows.dialog_parts import buddied, wrapped

_MDEG_A_DEG = 1000
_LARGEST_DEG = 359.9
_MOST_LINES, _SPACING_PX, _MARGIN_PX = 4, 2, 6


class SwapChoices(QWidget):
    """Successor, mount, areas.

    Signals:
        changed: something else was chosen.
    """

    changed = Signal()

    def __init__(
        self, among: tuple[Successor, ...], sign: SwapSign | None, pose: Pose | None
    ) -> None:
        """Offer.

        Args:
            among: who may take over.
            sign: what looks like a swap; None where nothing does.
            pose: how the old one is fixed; None where it isn't known.
        """
        super().__init__()
        self._among, self._pose = among, pose
        self._areas: tuple[AreaRow, ...] = ()
        self._ticked_by_hand = False
        self.successor, self.fixed, self.heading = QComboBox(), QComboBox(), QDoubleSpinBox()
        self.successor.setAccessibleName("Unit that takes over")
        for one in among:
            self.successor.addItem(one.text, one.serial)
        self.successor.setCurrentIndex(likeliest(among, sign))
        self.fixed.setAccessibleName("How the new one is fixed")
        self.fixed.addItem("upright", userData=False)
        self.fixed.addItem("upside-down", userData=True)
        self.heading.setAccessibleName("Where the new one looks, degrees on the plan")
        self.heading.setDecimals(1)
        self.heading.setRange(0, _LARGEST_DEG)
        self.heading.setWrapping(True)
        self.heading.setSuffix("°")
        self.heading.setKeyboardTracking(False)
        self.hint, self.areas_said, self.areas = wrapped(""), wrapped(""), QListWidget()
        self.areas.setAccessibleName("Areas to keep first")
        self.areas.setSpacing(_SPACING_PX)
        self._show_pose(pose)
        self._lay_out()
        self._show_areas((), "")
        self.successor.currentIndexChanged.connect(lambda _: self._another())
        self.fixed.currentIndexChanged.connect(lambda _: self.changed.emit())
        self.heading.valueChanged.connect(lambda _: self.changed.emit())
        self.areas.itemChanged.connect(lambda _: self._tick())

    def request(self) -> SwapRequest | None:
        """Return what is chosen; None where nobody can take over."""
        at = self.successor.currentIndex()
        if not 0 <= at < len(self._among):
            return None
        one = self._among[at]
        reset = one.kind is SwapKind.RESET
        return SwapRequest(
            one.serial, one.kind, None if reset else self._mount(), () if reset else self._chosen()
        )

    def show_plan(self, plan: SwapPlan) -> None:
        """Offer the areas to choose among, where not all fit; ticks stay as they were set."""
        self._show_areas(area_rows(plan), areas_note(plan))

    def _another(self) -> None:
        """Somebody else takes over: other areas fit, and nothing is chosen of them yet."""
        self._enable_mount()
        self._ticked_by_hand = False
        self._show_areas((), "")
        self.changed.emit()

    def _enable_mount(self) -> None:
        """A unit that was reset hangs as it hung."""
        at = self.successor.currentIndex()
        may = 0 <= at < len(self._among) and self._among[at].kind is not SwapKind.RESET
        for one in (self.fixed, self.heading):
            one.setEnabled(may and self._pose is not None)

    def _mount(self) -> Pose | None:
        if self._pose is None:
            return None
        before_deg = round(self._pose.heading_mdeg / _MDEG_A_DEG, 1)
        heading_deg = self.heading.value()
        said = round(heading_deg * _MDEG_A_DEG) if heading_deg != before_deg else None
        return mount_as_said(
            self._pose, upside_down=bool(self.fixed.currentData()), heading_mdeg=said
        )

    def _chosen(self) -> tuple[str, ...]:
        """Return the ids of the ticked areas; () while nobody changed a tick."""
        if not self._ticked_by_hand:
            return ()
        return tuple(row.key for number, row in enumerate(self._areas) if self._is_ticked(number))

    def _tick(self) -> None:
        self._ticked_by_hand = True
        self.changed.emit()

    def _is_ticked(self, number: int) -> bool:
        return self.areas.item(number).checkState() is Qt.CheckState.Checked

    def _show_pose(self, pose: Pose | None) -> None:
        self._enable_mount()
        if pose is not None:
            self.fixed.setCurrentIndex(int(pose.upside_down))
            self.heading.setValue(round(pose.heading_mdeg / _MDEG_A_DEG, 1))
            self.hint.setText(heading_hint(pose))

    def _show_areas(self, rows: tuple[AreaRow, ...], said: str) -> None:
        before = {row.key: self._is_ticked(number) for number, row in enumerate(self._areas)}
        self._areas = rows
        self.areas.blockSignals(True)  # noqa: FBT003 - Qt's own call
        self.areas.clear()
        for row in rows:
            item = QListWidgetItem(row.text, self.areas)
            item.setFlags(item.flags() | Qt.ItemFlag.ItemIsUserCheckable)
            ticked = before.get(row.key, row.kept)
            item.setCheckState(Qt.CheckState.Checked if ticked else Qt.CheckState.Unchecked)
        self.areas.blockSignals(False)  # noqa: FBT003 - Qt's own call
        self.areas_said.setText(said)
        line_px = max(self.areas.sizeHintForRow(0), 0) + 2 * _SPACING_PX
        shown = min(len(rows), _MOST_LINES)
        self.areas.setFixedHeight(line_px * shown + 2 * self.areas.frameWidth() + _MARGIN_PX)
        for one in (self.areas_said, self.areas):
            one.setVisible(bool(rows))

    def _lay_out(self) -> None:
        who, mount, layout = QHBoxLayout(), QHBoxLayout(), QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        who.addWidget(buddied("&Takes over", self.successor))
        who.addWidget(self.successor, 1)
        mount.addWidget(buddied("&Fixed", self.fixed))
        mount.addWidget(self.fixed)
        mount.addWidget(buddied("&Looks to", self.heading))
        mount.addWidget(self.heading)
        mount.addWidget(self.hint, 1)
        layout.addLayout(who)
        layout.addLayout(mount)
        layout.addWidget(self.areas_said)
        layout.addWidget(self.areas)
