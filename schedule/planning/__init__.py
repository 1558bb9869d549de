"""When: the works' routes worked back from their dates and forward from now.

A pump as chosen and the contract's terms grow a network of operations from a template (`growing`).
Calendars turn shifts on the wall into open minutes (`calendars`), and the network is checked once
at the door (`network`). Backward from ship-by every operation gets its latest start; forward from
now, from progress and from gates its earliest; between them lie the days in hand, and where they
meet the chain that binds (`passes`, `forecast`). Ship-by itself comes from the date on site by
the freight lane's own steps (`freight`).

Plain Python and NumPy: no framework, no clock, no database. All times are integer minutes from an
origin the caller chooses; equal input gives equal output.
"""

from schedule.planning.calendars import (
    DAY_MINUTES,
    Shift,
    Shutdown,
    Window,
    WorkingTime,
    around_the_clock,
    laid_out,
    minute_of,
)
from schedule.planning.conditions import CONDITIONS, Facts, Terms
from schedule.planning.errors import PlanningError
from schedule.planning.forecast import Bind, DaysInHand, Forecast, Row, forecast
from schedule.planning.freight import Lane, Leg, Mode, Shipment, on_site, ship_by
from schedule.planning.growing import GrownOperation, Growth, grow
from schedule.planning.network import (
    Cause,
    Held,
    Kind,
    Link,
    Need,
    NotBefore,
    Operation,
    Problem,
    Resource,
    Route,
    WorkCentre,
)
from schedule.planning.passes import Backward, Forward, backward, forward
from schedule.planning.public_holidays import Holiday, public_holidays
from schedule.planning.regrowing import Difference, Repetition, regrow, remake
from schedule.planning.reports import Gate, Position, Progress
from schedule.planning.template import (
    STANDARD,
    Per,
    Step,
    Template,
    TemplateOperation,
    read_template,
    standard_template,
)

__all__ = [
    "CONDITIONS",
    "DAY_MINUTES",
    "STANDARD",
    "Backward",
    "Bind",
    "Cause",
    "DaysInHand",
    "Difference",
    "Facts",
    "Forecast",
    "Forward",
    "Gate",
    "GrownOperation",
    "Growth",
    "Held",
    "Holiday",
    "Kind",
    "Lane",
    "Leg",
    "Link",
    "Mode",
    "Need",
    "NotBefore",
    "Operation",
    "Per",
    "PlanningError",
    "Position",
    "Problem",
    "Progress",
    "Repetition",
    "Resource",
    "Route",
    "Row",
    "Shift",
    "Shipment",
    "Shutdown",
    "Step",
    "Template",
    "TemplateOperation",
    "Terms",
    "Window",
    "WorkCentre",
    "WorkingTime",
    "around_the_clock",
    "backward",
    "forecast",
    "forward",
    "grow",
    "laid_out",
    "minute_of",
    "on_site",
    "public_holidays",
    "read_template",
    "regrow",
    "remake",
    "ship_by",
    "standard_template",
]
