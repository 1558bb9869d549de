"""Freight lanes: from the date on site back to the ship-by date, and forth, each step shown.

All in days of the calendar, since carriers, ports and customs publish days. A leg's days pass on
weekends too; what does not move on a closed day is said by the lane itself: departures by their
weekdays or dates, and the works' gate by its own closed days.
"""

from bisect import bisect_left, bisect_right
from collections.abc import Callable, Collection
from dataclasses import dataclass
from datetime import date, timedelta
from enum import StrEnum

from schedule.planning.calendars import WEEKDAYS
from schedule.planning.errors import BadLane, NoSailing


class Mode(StrEnum):
    """How the longest leg goes."""

    SEA = "sea"
    AIR = "air"
    ROAD = "road"

    @property
    def departure(self) -> str:
        """What leaves."""
        return {Mode.SEA: "sailing", Mode.AIR: "flight", Mode.ROAD: "lorry"}[self]

    @property
    def terminal(self) -> str:
        """Where it leaves from."""
        return {Mode.SEA: "port", Mode.AIR: "airport", Mode.ROAD: "works"}[self]

    @property
    def passage(self) -> str:
        """What the longest leg is called."""
        return {Mode.SEA: "Voyage", Mode.AIR: "Flight", Mode.ROAD: "Road"}[self]


@dataclass(frozen=True, kw_only=True)
class Lane:
    """One way from the works to a site.

    name : for messages
    mode : sea, air or road
    to_terminal_days : works' door to the port or airport; 0 by road [d]
    cut_off_days : the port closes so many days before departure; 0 for the same day [d]
    weekdays : departures on these, 0 is Monday; empty when `departures` tells the dates, or, by
        road, when a lorry leaves any day
    departures : the dates known, instead of weekdays, rising
    passage_days : voyage, flight or road [d]
    customs_days : clearing [d]
    haulage_days : inland to site; 0 when the road leg ends there [d]
    """

    name: str
    mode: Mode
    to_terminal_days: int = 0
    cut_off_days: int = 0
    weekdays: tuple[int, ...] = ()
    departures: tuple[date, ...] = ()
    passage_days: int
    customs_days: int = 0
    haulage_days: int = 0

    def __post_init__(self) -> None:
        for what in (
            "to_terminal_days",
            "cut_off_days",
            "passage_days",
            "customs_days",
            "haulage_days",
        ):
            if getattr(self, what) < 0:
                words = what.replace("_", " ")
                raise BadLane(self.name, f"{words} is {getattr(self, what)}; 0 or more is right.")
        if any(not 0 <= day <= 6 for day in self.weekdays):
            raise BadLane(self.name, f"its weekdays are {self.weekdays}; they run from 0 to 6.")
        if self.weekdays and self.departures:
            raise BadLane(self.name, "give departures by weekday or by date, not both.")
        if list(self.departures) != sorted(set(self.departures)):
            raise BadLane(self.name, "its departure dates must rise and come once each.")
        if not self.weekdays and not self.departures and self.mode is not Mode.ROAD:
            raise BadLane(self.name, f"no {self.mode.departure} is known; give weekdays or dates.")

    def departs(self) -> str:
        """When it leaves, in words."""
        if self.departures:
            return f"{len(self.departures)} dates known, to {self.departures[-1]}"
        if not self.weekdays or len(set(self.weekdays)) == 7:
            return "any day"
        return "every " + ", ".join(WEEKDAYS[day] for day in sorted(set(self.weekdays)))

    def last_departure(self, by: date) -> date:
        """The latest departure on or before a day.

        raises : NoSailing
        """
        if self.departures:
            i = bisect_right(self.departures, by)
            if i == 0:
                raise NoSailing(
                    self.name, self.mode.departure, by=by, after=None, nearest=self.departures[0]
                )
            return self.departures[i - 1]
        days = set(self.weekdays) or set(range(7))
        return next(
            day for day in (by - timedelta(days=n) for n in range(7)) if day.weekday() in days
        )

    def first_departure(self, after: date) -> date:
        """The earliest departure on or after a day.

        raises : NoSailing
        """
        if self.departures:
            i = bisect_left(self.departures, after)
            if i == len(self.departures):
                raise NoSailing(
                    self.name,
                    self.mode.departure,
                    by=None,
                    after=after,
                    nearest=self.departures[-1],
                )
            return self.departures[i]
        days = set(self.weekdays) or set(range(7))
        return next(
            day for day in (after + timedelta(days=n) for n in range(7)) if day.weekday() in days
        )


@dataclass(frozen=True)
class Leg:
    """One step of the way, in days: it begins on `first` and is over on `last`."""

    name: str
    first: date
    last: date
    note: str = ""

    @property
    def days(self) -> int:
        """How long it takes [d]."""
        return (self.last - self.first).days


@dataclass(frozen=True)
class Shipment:
    """A way reckoned through: when it ships, when it is on site, and each step between."""

    lane: Lane
    ship_on: date
    departs_on: date
    on_site_on: date
    legs: tuple[Leg, ...]


def ship_by(
    lane: Lane,
    on_site: date,
    *,
    closed: Collection[date] | Callable[[date], bool] = (),
) -> Shipment:
    """The latest day on which the crate may leave the works.

    lane : the way
    on_site : wanted there
    closed : days on which the works ships nothing, or what tells whether a day is one
    returns : legs from works to site; the spare days lie before the departure, or at the end
    raises : NoSailing
    """
    shut = closed if callable(closed) else closed.__contains__
    at_port = on_site - timedelta(days=lane.haulage_days + lane.customs_days)
    latest = at_port - timedelta(days=lane.passage_days)
    departs = lane.last_departure(latest)
    wanted = departs - timedelta(days=lane.cut_off_days + lane.to_terminal_days)
    ship_on = _moved(wanted, shut, -1)
    return _shipment(lane, ship_on, departs, on_site, wanted)


def on_site(
    lane: Lane,
    ship_on: date,
    *,
    closed: Collection[date] | Callable[[date], bool] = (),
) -> Shipment:
    """The day on site of a crate that is ready to leave on a day.

    lane : the way
    ship_on : ready at the works
    closed : days on which the works ships nothing, or what tells whether a day is one
    returns : legs from works to site
    raises : NoSailing
    """
    shut = closed if callable(closed) else closed.__contains__
    leaves = _moved(ship_on, shut, 1)
    departs = lane.first_departure(
        leaves + timedelta(days=lane.to_terminal_days + lane.cut_off_days)
    )
    arrives = departs + timedelta(days=lane.passage_days + lane.customs_days + lane.haulage_days)
    return _shipment(lane, leaves, departs, arrives, ship_on)


def _moved(day: date, shut: Callable[[date], bool], step: int) -> date:
    """The nearest open day in a direction."""
    moved = day
    while shut(moved):
        moved += timedelta(days=step)
        if abs((moved - day).days) > 366:
            raise BadLane("works", f"no open day within a year of {day}; check the closed days.")
    return moved


def _shipment(lane: Lane, ship_on: date, departs: date, on_site_on: date, wanted: date) -> Shipment:
    legs = []

    def leg(name: str, first: date, days: int, note: str = "") -> date:
        last = first + timedelta(days=days)
        if days or note:
            legs.append(Leg(name, first, last, note))
        return last

    mode = lane.mode
    if ship_on > wanted:
        leg("Works closed", wanted, (ship_on - wanted).days, f"nothing leaves on {wanted}")
    early = f"leaves on {ship_on}, since the works is closed on {wanted}"
    at = leg(
        f"Road to {mode.terminal}" if mode is not Mode.ROAD else "Loading",
        ship_on,
        lane.to_terminal_days,
        early if ship_on < wanted else "",
    )
    cut_off = departs - timedelta(days=lane.cut_off_days)
    if cut_off > at:
        leg(f"Waiting at the {mode.terminal}", at, (cut_off - at).days, f"cut-off on {cut_off}")
    leg(f"{mode.terminal.capitalize()} cut-off", cut_off, lane.cut_off_days)
    departs_note = f"{mode.departure} on {departs}, {lane.departs()}"
    at = leg(mode.passage, departs, lane.passage_days, departs_note)
    at = leg("Customs", at, lane.customs_days)
    at = leg("Inland haulage", at, lane.haulage_days)
    if at < on_site_on:
        spare = (on_site_on - at).days
        leg("In hand at site", at, spare, f"no later {mode.departure} would be in time")
    return Shipment(lane, ship_on, departs, on_site_on, tuple(legs))
