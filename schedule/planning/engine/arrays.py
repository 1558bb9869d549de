"""The four arrays of a search, and plain views of what stands in them."""

from typing import Any, NamedTuple

import numpy as np
import numpy.typing as npt

from schedule.planning.engine import columns as c

Array = npt.NDArray[Any]


class Arrays(NamedTuple):
    """What every function of the search is given, in this order. Contents: see `columns`."""

    facts: Array
    table: Array
    state: Array
    taken: Array


def packed(header: dict[int, int], ops: Array, parts: dict[int, Array]) -> Array:
    """One array of the header, the operations' rows, and the parts, whose places it notes.

    header : single numbers by column
    ops : (n, HEADER + OPS), so that columns may be used as they are
    parts : by the header's column that says where each begins
    """
    head = np.zeros(c.HEADER, np.int64)
    pieces = [head, ops[:, c.HEADER :].ravel()]
    at = c.HEADER + pieces[1].size
    for column, part in parts.items():
        head[column] = at
        pieces.append(part.ravel())
        at += part.size
    for column, value in header.items():
        head[column] = value
    return np.concatenate(pieces).astype(np.int32)


def column(state: Array, count: int, number: int) -> Array:
    """A view of one column of the first rows of `state`."""
    return state[number : number + count * c.POS : c.POS]


def lateness(arrays: Arrays, routes: int) -> Array:
    """A view of the routes' lateness."""
    at = int(arrays.facts[c.LATE_AT])
    return arrays.state[at : at + routes]


def costs(arrays: Arrays) -> Array:
    """A view of the groups' costs."""
    at = int(arrays.facts[c.COST_AT])
    return arrays.state[at : at + int(arrays.facts[c.GROUPS])]
