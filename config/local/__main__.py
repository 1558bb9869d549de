"""`python -m config.local up`: run Greensand on this machine."""

import argparse
import sys

from config.local import folders, ports, supervisor


def main() -> int:
    """Read the command line and run."""
    parser = argparse.ArgumentParser(prog="python -m config.local", description=__doc__)
    commands = parser.add_subparsers(required=True, metavar="command")
    up = commands.add_parser("up", help="start everything here; Ctrl-C stops it")
    up.add_argument("--demo", action="store_true", help="load the invented works once")
    up.add_argument("--port", type=int, default=ports.FIRST, help="first port to try (%(default)s)")
    chosen = parser.parse_args()
    return supervisor.up(
        folders.of_this_checkout(), demonstration=chosen.demo, first_port=chosen.port
    )


if __name__ == "__main__":
    sys.exit(main())
