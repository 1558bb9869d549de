"""`python -m bench [--only NAME] [--full]`: measure and print a line a figure."""

import argparse
import importlib
import pkgutil
import sys
import time
import traceback
from collections import Counter
from collections.abc import Sequence
from fnmatch import fnmatch

import bench
from bench.figures import FIGURES, Figure


def discover() -> dict[str, Figure]:
    """Import every module here, so that its figures are known."""
    for module in pkgutil.walk_packages(bench.__path__, "bench."):
        if not module.name.endswith("__main__"):
            importlib.import_module(module.name)
    return FIGURES


def chosen(figures: dict[str, Figure], *, only: str, full: bool) -> list[Figure]:
    """Those to measure: by name or pattern, else all that are not long, else all."""
    if only:
        return [figure for name, figure in figures.items() if fnmatch(name, only)]
    return [figure for figure in figures.values() if full or not figure.long]


def run(figures: Sequence[Figure]) -> int:
    """Measure each and print its line as soon as it is known.

    returns : 1 when a measurement broke off, else 0; a short figure is told, not punished
    """
    began = time.monotonic()
    verdicts: Counter[str] = Counter()
    for figure in figures:
        try:
            value = float(figure.measure())
        except Exception as error:  # noqa: BLE001 - told here, and by the exit code
            verdicts["failed"] += 1
            tell(figure.failed_line(error))
            traceback.print_exc()
            continue
        verdicts[figure.verdict(value)] += 1
        tell(figure.line(value))
    counts = ", ".join(f"{count} {verdict}" for verdict, count in sorted(verdicts.items()))
    tell(f"{len(figures)} figures: {counts}; {time.monotonic() - began:.0f} s")
    return 1 if verdicts["failed"] else 0


def tell(line: str) -> None:
    """Print at once, also into a pipe."""
    sys.stdout.write(line + "\n")
    sys.stdout.flush()


def main() -> int:
    """Read the command line and measure."""
    parser = argparse.ArgumentParser(prog="python -m bench", description=__doc__)
    parser.add_argument("--only", default="", help="a figure's name; * stands for any part")
    parser.add_argument("--full", action="store_true", help="the long ones too")
    asked = parser.parse_args()
    figures = discover()
    to_measure = chosen(figures, only=asked.only, full=asked.full)
    if not to_measure:
        names = "\n  ".join(sorted(figures))
        sys.stderr.write(f"No figure is called {asked.only!r}. There are:\n  {names}\n")
        return 2
    return run(to_measure)


if __name__ == "__main__":
    sys.exit(main())
