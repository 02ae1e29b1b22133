"""`walkdown simulate`: run the simulated house until stopped."""

import argparse

from fleet.cli.saying import DONE
from fleet.simulator.__main__ import main as simulator_main


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Say what the verb takes."""
    parser.add_argument("--house", metavar="DIR", help="folder with plan.json and truth.json")
    parser.add_argument("--seed", type=int, default=1, metavar="N")
    parser.add_argument("--clock", type=float, default=1.0, metavar="N", help="times faster")
    parser.add_argument(
        "--bandwidth-bps", type=int, default=0, metavar="N", help="of all uploads together"
    )
    parser.add_argument(
        "--firmware-fault-ppm", type=int, default=0, metavar="N", help="units whose update fails"
    )


def run(arguments: argparse.Namespace) -> int:
    """Serve the house's units."""
    words = ["--seed", str(arguments.seed), "--clock", str(arguments.clock)]
    words += ["--bandwidth-bps", str(arguments.bandwidth_bps)]
    words += ["--firmware-fault-ppm", str(arguments.firmware_fault_ppm)]
    words += ["--house", arguments.house] if arguments.house else []
    return simulator_main(words) or DONE
