"""What is kept as JSON comes back as it was, open ends and named choices included."""

import json
import math
from dataclasses import dataclass
from datetime import date

import numpy as np
import pytest

from quality.acceptance.hydrostatic import Leak, LeakKind, Place
from quality.acceptance.instruments import Instrument
from quality.keeping import NotKept, kept, restored
from selection.configuration import Configuration
from tests.factories.schedule import configuration


def through_json(thing):
    return restored(type(thing), json.loads(json.dumps(kept(thing))))


@pytest.mark.parametrize(
    "thing",
    [
        Leak(place=Place.BODY, where="rib 3", kind=LeakKind.SWEATING, remade=True),
        Instrument(
            tag="PG-1",
            measures="pressure",
            unit="bar",
            lowest=-math.inf,
            highest=math.inf,
            calibrated_on=date(2026, 1, 3),
            due_on=date(2027, 1, 3),
        ),
        configuration(seal_static_limit_pa=None),
    ],
)
def test_a_dataclass_comes_back_as_it_was(thing):
    assert through_json(thing) == thing


def test_a_field_added_later_takes_its_default():
    data = kept(Leak(place=Place.PLUG, where="top"))
    del data["remade"]
    assert restored(Leak, data) == Leak(place=Place.PLUG, where="top")


def test_not_a_number_is_kept_as_nothing():
    assert kept(np.array([1.0, math.nan])) == [1.0, None]


def test_nothing_where_something_must_be_is_refused():
    with pytest.raises(NotKept):
        restored(Leak, {"place": None, "where": "top"})


def test_what_json_cannot_hold_is_refused():
    @dataclass(frozen=True)
    class Odd:
        thing: object

    with pytest.raises(NotKept):
        kept(Odd(thing=object()))


def test_a_route_keeps_the_configuration_that_quality_reads():
    pump = configuration()
    assert restored(Configuration, json.loads(json.dumps(kept(pump)))) == pump
