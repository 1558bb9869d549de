"""Functions that run as plain Python, and as machine code once compiled.

Numba is imported only when the first function is compiled. Integers alone decide in the search,
so both ways give the same plan for the same seed.
"""

import hashlib
import types
from collections.abc import Callable
from functools import cache, cached_property
from pathlib import Path
from typing import Any, Generic, ParamSpec, TypeVar

P = ParamSpec("P")
R = TypeVar("R")


# How wide the arrays are that do not hold 64 bits, by the name of the argument.
WIDTHS = {"facts": "int32", "table": "int32", "taken": "int16"}


class Compiled(Generic[P, R]):
    """A plain function that can be had compiled, together with all it calls."""

    def __init__(self, plain: Callable[P, R], *, outer: bool) -> None:
        self.plain = plain
        self.outer = outer
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
        # One stated signature each: else every mix of widths would be compiled apart.
        taken = [
            getattr(numba, WIDTHS.get(name, "int64"))[::1] if kind is not int else numba.int64
            for name, kind in plain.__annotations__.items()
            if name != "return"
        ]
        njit: Any = numba.njit
        jit = njit(
            [tuple(taken)],
            cache=True,
            nogil=True,
            error_model="numpy",
            no_cpython_wrapper=not self.outer,
            no_cfunc_wrapper=True,
        )
        jitted: Callable[P, R] = jit(rebuilt)
        return jitted


def compiled(plain: Callable[P, R]) -> Compiled[P, R]:
    """Mark a plain function as one that can be compiled, called from compiled ones alone."""
    return Compiled(plain, outer=False)


def entrance(plain: Callable[P, R]) -> Compiled[P, R]:
    """Mark a plain function as one that is called from outside when compiled."""
    return Compiled(plain, outer=True)


@cache
def _digest() -> str:
    """A name for exactly these sources."""
    found = hashlib.sha256()
    for source in sorted(Path(__file__).parent.glob("*.py")):
        found.update(source.read_bytes())
    return found.hexdigest()[:12]
