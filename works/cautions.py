"""Cautions that stand on screens and sheets wherever the work can hurt someone.

One wording for both, so that the sheet on the floor says what the screen says. They are common
practice, no substitute for the works' own rules or for local law.
"""

from dataclasses import dataclass


@dataclass(frozen=True)
class Caution:
    """A heading and the sentences under it."""

    title: str
    sentences: tuple[str, ...]


JUDGEMENT = (
    "Results support a competent engineer's judgement; they do not replace it, the contract or "
    "local codes."
)

CAUTIONS: dict[str, Caution] = {
    "release": Caution(
        "A release is not a permit",
        (
            "It is no permission to pressurise, lift, energise or knock out.",
            "Only the works' own permit to work is.",
        ),
    ),
    "hydrostatic": Caution(
        "Hydrostatic test: stored energy",
        (
            "Vent all air before raising pressure. Never test with air or gas.",
            "Fit a relief valve and the full number of bolts.",
            "Raise the pressure in steps. Tighten nothing under pressure.",
            "Stand clear of plugs, blanks and flanges.",
            "Local pressure-equipment rules govern.",
        ),
    ),
    "test-bed": Caution(
        "Test bed: rotating and live",
        (
            "Guards on before starting. Check the rotation uncoupled.",
            "Never run dry. Keep the time at shut valve within its limit.",
            "Isolate, lock off, release the pressure and drain before opening.",
        ),
    ),
    "foundry": Caution(
        "Foundry: molten metal and moisture",
        (
            "Water under molten metal explodes: dry ladles, tools, moulds and floor.",
            "Knock out by the measured temperature, not by the clock.",
        ),
    ),
    "lifting": Caution(
        "Lifting",
        (
            "Lift at the marked points only, with gear rated for the weight shown.",
            "Nobody under the load.",
        ),
    ),
    "judgement": Caution("What this result is", (JUDGEMENT,)),
}
