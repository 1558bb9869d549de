"""Reasons for accepting a warning: a list to pick from, and words for the serious ones."""

from collections.abc import Mapping
from typing import Any

# Common practice: what an application engineer writes again and again.
PICKED = (
    "usual in this service, as built before",
    "agreed with the customer in writing",
    "asked for by the customer's specification",
    "stated by the customer meanwhile and found to suit",
    "will be settled before the order is released to the works",
    "stands in the operating instructions",
)


def is_answered(warning: Mapping[str, Any], reason: str) -> bool:
    """A caution is answered from the list; a serious warning wants words of one's own."""
    if not warning["needs_reason"]:
        return True
    said = reason.strip()
    return bool(said) and (said not in PICKED or not warning["needs_words"])


def joined(picked: str, words: str) -> str:
    """What is kept: what was picked, the words behind it."""
    return ": ".join(part for part in (picked.strip(), words.strip()) if part)
