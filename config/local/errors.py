"""What can keep Greensand from running here, each with what to do about it."""


class Trouble(Exception):
    """Base of all of them; its text is for whoever started Greensand."""


class NotLinux(Trouble):
    """This way of keeping services together rests on Linux."""


class NoFolder(Trouble):
    """The data folder can't be made, or belongs to somebody else."""


class NoAccount(Trouble):
    """The system knows no account that PostgreSQL could run as."""


class NoFreePort(Trouble):
    """Every port of the range is taken."""


class CannotCreate(Trouble):
    """PostgreSQL's data folder could not be made."""


class OtherVersion(Trouble):
    """The data folder was written by another major version of PostgreSQL."""


class CannotStart(Trouble):
    """A step of the start failed."""
