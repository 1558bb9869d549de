"""Routes grown, grown again, and previewed."""

import pytest

from schedule.models import BoughtOut, Link, Operation
from schedule.models import Route as RouteRow
from tests.factories.schedule import DUE, NOW, grown, step

pytestmark = pytest.mark.django_db


def test_a_route_has_an_operation_for_each_row_that_applies() -> None:
    route = grown(quantity=2)
    codes = list(route.operations.values_list("code", flat=True))
    assert "BUY-SEAL" in codes
    assert "BUY-PACKING" not in codes
    assert codes.count("ASM-BUILD") == 2
    assert codes.count("ENG-REVIEW") == 1
    assert route.units.count() == 2
    assert BoughtOut.objects.get(operation__route=route).item == "Mechanical seals"


def test_a_route_is_forecast_as_soon_as_it_is_grown() -> None:
    route = grown()
    assert route.forecast_trouble == ""
    assert route.forecast_ship_at is not None
    assert route.forecast_ship_at > NOW
    assert route.days_in_hand is not None
    assert step(route, "DSP-PACK").earliest_finish_at == route.forecast_ship_at
