"""Where things stand in the search's four arrays. Times are slots from now.

An axis numbers the working slots of one calendar; the last axis numbers every slot. The arrays
are flat because compiled functions pass few arrays far faster than many: `facts` stays, `table`
holds the calendars (both 32 bits wide, to stay near the processor), `state` is what the search
moves, `taken` the places in use at each work centre along its axis.
"""

# facts: first single numbers and where the parts begin
MOVABLE = 0  # operations that move; fixed ones follow
GROUPS = 1
SLOTS = 2  # laid out, from now to the calendars' end
WIDTH = 3  # of one axis in `table`
INV = 4  # where the slots of working slots begin in `table`
SHIFT = 5  # where the first working slots of shifts begin in `table`
SIZES = 6  # working slots of each axis
GROUP_AT = 7  # first operation of each group, and the end
SPECIAL = 8  # by group: 1 when some operation is not plain
ROUTE_AT = 9  # by group: its routes in ROUTE_OF, and the end
ROUTE_OF = 10
WEIGHT = 11  # by route
OVERDUE = 12  # by route: lateness that nothing can undo
BY_DUE = 13  # groups by due date
RANK = 14  # by group: its place in BY_DUE
AT_CENTRE = 15  # movable operations by work centre
CENTRE_AT = 16  # by work centre: its operations in AT_CENTRE, and the end
LOG = 17  # 1024 numbers: -ln of evenly spaced chances, times 4096
LATE_AT = 18  # by route, in `state`: slots late
COST_AT = 19  # by group, in `state`
DOING = 20  # beside `taken`, in `state`: the set-up at each working slot
LATE = 21  # the objective: a slot late, times the route's weight
STOCK = 22  # a slot between an operation's start and its route's finish
MOVE = 23  # a slot away from the plan to stay near
HEADER = 32

# facts: then one row of OPS numbers an operation, those most read in front
OPS = 22
AXIS = 32  # which axis it is counted on
PLACE = 33  # where its work centre begins in `taken`; -1 for no work centre
CAP = 34  # places at the work centre
DUR = 35  # working slots of its axis
HEAD = 36  # earliest start, were there room for all
DUE = 37  # latest finish wanted
ROUTE = 38
TAIL = 39  # least time from its start to its route's finish
P0 = 40  # links to what it waits for, from and to
P1 = 41
S0 = 42  # links to what waits for it
S1 = 43
PLAIN = 44  # 1 when nothing but room at its work centre counts
CENTRE = 45  # number of the work centre; -1 for none
PREVIOUS = 46  # start in the plan it should stay near; -1 for none
WHOLE = 47  # 1 when it may not be left overnight
FAMILY = 48  # set-up it needs; 0 for any
CHANGE = 49  # working slots to change over at its work centre
N0 = 50  # second resources it needs
N1 = 51
H0 = 52  # where the holds it begins or ends are listed
H1 = 53

# facts: a link, LINK numbers
LINK = 3
OTHER = 0  # the operation at the other end
LAG = 1
MOST = 2  # longest lag; -1 for none

# facts: a need, NEED numbers; a hold, HOLD numbers
NEED = 3
HOLD = 5
BASE = 0  # where the resource's use begins in `state`
AMOUNT = 1
LIMIT = 2
FIRST = 3
LAST = 4

# state: first single numbers
DICE = 0
WHO = 1  # the operation that stood in the way, -1 for none
END = 2  # what its ENDCAP should be, or -1
BEGIN = 3  # what its BEGINCAP should be, or -1

# state: then one row of POS numbers an operation
POS = 6
SLOT = 8  # first working slot on its axis (the time itself when it takes none)
START = 9
FINISH = 10
PLACED = 11  # 1 when it has a place
ENDCAP = 12  # its window may not end after this working slot
BEGINCAP = 13  # nor begin before this one
MARGIN = 8

NEVER = 1 << 60  # in `state` alone

# options of the search
MOST_GROUPS = 0  # taken out at once
FULL = 1  # in 100: whole groups, not only what lies before a cut
ROW = 2  # in 100 of those: one group after another instead of all operations mixed
MIXED_EARLY = 3  # in 100: operations mixed when they go in early
KIN = 4  # in 100: groups that share a work centre at the time, instead of near due dates
SPREAD = 5  # three widths of random shifts, small to large [slots]
OPTIONS = 8
