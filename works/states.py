"""How states are shown, on screens and sheets alike: a word, a shape and, third, a tone."""

from dataclasses import dataclass


@dataclass(frozen=True)
class State:
    """How one state is shown.

    word : said on screen
    shape : drawn before it, see `works/_shape.html`; on sheets a glyph, see `GLYPHS`
    tone : colour family of `tokens.css`: good, warn, bad, hold, info or plain
    """

    word: str
    shape: str
    tone: str


STATES: dict[str, State] = {
    "on-time": State("On time", "tick", "good"),
    "at-risk": State("At risk", "triangle", "warn"),
    "late": State("Late", "diamond", "bad"),
    "held": State("Held", "bars", "hold"),
    "open": State("Open", "ring", "info"),
    "released": State("Released", "unbarred", "good"),
    "failed": State("Failed", "cross", "bad"),
    "passed": State("Passed", "tick", "good"),
    "waiting": State("Waiting", "hourglass", "plain"),
    "done": State("Done", "square", "good"),
    "running": State("Running", "arrow", "info"),
    "planned": State("Planned", "square-open", "plain"),
    "blocked": State("Blocked", "bars", "bad"),
    "due": State("Due", "half", "warn"),
    "overdue": State("Overdue", "diamond", "bad"),
    "warned": State("Warned", "triangle", "warn"),
    "draft": State("Draft", "dashes", "plain"),
    "frozen": State("Frozen", "lock", "info"),
    "published": State("Published", "flag", "info"),
    "cancelled": State("Cancelled", "slash", "plain"),
    "scrapped": State("Scrapped", "cross", "bad"),
    "at-own-risk": State("At risk, by name", "unbarred", "warn"),
}

GLYPHS: dict[str, str] = {
    "tick": "✓",
    "triangle": "△",
    "diamond": "◆",
    "bars": "▮▮",
    "ring": "○",
    "unbarred": "↦",
    "cross": "✗",
    "hourglass": "◔",
    "square": "■",
    "arrow": "▶",
    "square-open": "□",
    "half": "◑",
    "dashes": "▫",
    "lock": "▣",
    "flag": "⚑",
    "slash": "⊘",
}


class UnknownState(LookupError):
    """A state that has no look; the sentence names those that have."""

    def __init__(self, key: str) -> None:
        self.key = key
        super().__init__(f"{key!r} is no state; give one of {', '.join(sorted(STATES))}.")


def look(key: str) -> State:
    """The look of a state.

    raises : UnknownState
    """
    try:
        return STATES[key]
    except KeyError:
        raise UnknownState(key) from None
