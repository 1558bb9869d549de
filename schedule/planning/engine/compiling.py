"""Functions that run as plain Python, and as machine code once compiled.

Numba is imported only when the first function is compiled. Integers alone decide in the search,
so both ways give the same plan for the same seed.
"""

import hashlib
import types
from collections.abc import Callable
from functools import cache, cached_property
from pathlib import Path
from typing import Generic, ParamSpec, TypeVar

P = ParamSpec("P")
R = TypeVar("R")


class Compiled(Generic[P, R]):
    """A plain function that can be had compiled, together with all it calls."""

    def __init__(self, plain: Callable[P, R]) -> None:
        self.plain = plain
        self.__doc__ = plain.__doc__
        self.__name__ = plain.__name__

    def __call__(self, *args: P.args, **kwargs: P.kwargs) -> R:
        """Run it as plain Python."""
        return self.plain(*args, **kwargs)

    @cached_property
    def fast(self) -> Callable[P, R]:
        """The same as machine code; kept on disk beside the source where that can be written."""
        import numba

        plain = self.plain
        assert isinstance(plain, types.FunctionType)
        scope = {
            name: value.fast if isinstance(value, Compiled) else value
            for name, value in plain.__globals__.items()
            if name in plain.__code__.co_names
        }
        rebuilt = types.FunctionType(plain.__code__, scope, plain.__name__, plain.__defaults__)
        rebuilt.__module__ = plain.__module__
        # A kept function does not notice a change in what it calls, so its name carries all.
        rebuilt.__qualname__ = f"{plain.__qualname__}_{_digest()}"
        jitted: Callable[P, R] = numba.njit(cache=True, nogil=True)(rebuilt)
        return jitted


def compiled(plain: Callable[P, R]) -> Compiled[P, R]:
    """Mark a plain function as one that can be compiled."""
    return Compiled(plain)


@cache
def _digest() -> str:
    """A name for exactly these sources."""
    found = hashlib.sha256()
    for source in sorted(Path(__file__).parent.glob("*.py")):
        found.update(source.read_bytes())
    return found.hexdigest()[:12]
