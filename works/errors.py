"""What can be refused: one base class for every app, its children carrying their data.

A refusal is an answer to the person, so its sentence says what is wrong, where, and what would
be right. The middleware shows one that no view caught.
"""

from typing import ClassVar


class Refusal(Exception):
    """A deed that the program does not do; `str()` is the sentence shown."""

    status: ClassVar[int] = 409


class NotAllowed(Refusal):
    """The person's groups do not include the one that the deed needs."""

    status = 403

    def __init__(self, *, person: str, deed: str, groups: tuple[str, ...]) -> None:
        self.person, self.deed, self.groups = person, deed, groups
        names = " or ".join(groups)
        super().__init__(f"{person or 'Nobody signed in'} may not {deed}: that needs {names}.")


class ChangedMeanwhile(Refusal):
    """Somebody else saved the same thing first; nothing was overwritten."""

    def __init__(self, *, what: str) -> None:
        self.what = what
        super().__init__(
            f"{what} was changed by somebody else meanwhile. Nothing was overwritten: "
            "look at it as it is now and repeat your entry if it still holds."
        )


class LastManager(Refusal):
    """Nobody would be left who could let people in again."""

    status = 422

    def __init__(self, *, person: str) -> None:
        self.person = person
        super().__init__(
            f"{person} is the last works manager who may sign in. Make somebody else a works "
            "manager first."
        )


class ReasonMissing(Refusal):
    """A deed that needs a reason in words came without one."""

    status = 422

    def __init__(self, *, deed: str) -> None:
        self.deed = deed
        super().__init__(f"To {deed}, say why in a few words.")


class TimeInFuture(Refusal):
    """A report about something that has not happened yet."""

    status = 422

    def __init__(self, *, what: str, stated: str, now: str) -> None:
        self.what, self.stated, self.now = what, stated, now
        super().__init__(f"{what} is stated for {stated}, but it is only {now}: give a time past.")


class SiteMissing(Refusal):
    """No site is set up yet."""

    status = 503

    def __init__(self) -> None:
        super().__init__("This works has no site yet: set its name, country and time zone first.")
