"""The foot of the window: what is listened on, who is heard, and what is running."""

from dataclasses import dataclass

from fleet.model.snapshot import OperationView, Snapshot


@dataclass(frozen=True, slots=True)
class FootLine:
    """What the foot says.

    Attributes:
        operation: the running one that began last, in words; "" for none.
        done_percent: how far it is; None while unknown.
        stop_key: its key where it can be stopped; None elsewhere.
    """

    interface: str
    heard: str
    rate: str
    operation: str = ""
    done_percent: int | None = None
    stop_key: int | None = None


def foot_line(snapshot: Snapshot) -> FootLine:
    """Return what the foot says of a snapshot."""
    interface = snapshot.interface or "no network interface"
    heard = f"heard {snapshot.heard} of {snapshot.expected}"
    rate = f"{snapshot.reports_per_s:.0f} reports/s"
    if not snapshot.operations:
        return FootLine(interface, heard, rate)
    last = snapshot.operations[-1]
    percent = None if last.done_ppm is None else round(last.done_ppm / 10_000)
    stop_key = last.key if last.can_stop else None
    return FootLine(
        interface, heard, rate, operation_words(last, len(snapshot.operations)), percent, stop_key
    )


def operation_words(operation: OperationView, running: int = 1) -> str:
    """Say what is running."""
    said = f": {operation.said}" if operation.said else ""
    more = f" (+{running - 1})" if running > 1 else ""
    return f"{operation.title}{said}{more}"


def head_note(snapshot: Snapshot, note: str) -> str:
    """Say beside the site's name what has to be said: that it is a demo, that the clock runs fast."""
    words = [note] if note else []
    if not note and snapshot.house.plan.site.demo:
        words.append("demo, invented house")
    if snapshot.speed != 1 and "clock" not in note:
        words.append(f"clock × {snapshot.speed:g}")
    if snapshot.house.read_only:
        words.append("read only: another program holds the inventory")
    return " · ".join(words)
