"""`walkdown labels --out FILE.pdf`: sticky labels for the units of the current site."""

import argparse
from pathlib import Path

from fleet.cli.clocks import real_clock
from fleet.cli.saying import DONE, REPORTED, say, say_error
from fleet.engine.identify_sweep import in_plan_order
from fleet.engine.labelling import labels_of, write_labels
from fleet.inventory.inventory import open_inventory
from fleet.model.errors import PlanError
from fleet.record.labels import PER_SHEET


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Say what the verb takes."""
    parser.add_argument("--out", type=Path, required=True, metavar="FILE.pdf", help="a new file")
    parser.add_argument(
        "--start-at",
        type=int,
        default=1,
        metavar="N",
        help=f"place of the first label on a begun sheet, 1 to {PER_SHEET}, row by row (1)",
    )
    parser.add_argument(
        "--cut-marks", action="store_true", help="mark the corners, for paper that isn't sticky"
    )


def run(arguments: argparse.Namespace) -> int:
    """Lay the labels out, in the order of the plan."""
    with open_inventory(arguments.data, real_clock()) as inventory:
        if inventory.site_name is None:
            raise PlanError("there is no site yet.", next_step="Add one: walkdown site add PLAN")
        plan = inventory.plan()
        labels = labels_of(inventory)
    write_labels(
        labels,
        arguments.out,
        demo=plan.site.demo,
        start_at=arguments.start_at,
        cut_marks=arguments.cut_marks,
    )
    say(
        f"{len(labels)} labels of {plan.site.name} lie in {arguments.out}. Print them at full size."
    )
    without = [line.label for line in in_plan_order(plan) if not line.serial]
    if without:
        say_error(f"no label for {', '.join(without)}: the schedule has no serial there yet.")
    return REPORTED if without else DONE
