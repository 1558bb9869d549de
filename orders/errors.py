"""What is refused about orders, each with its data and a sentence."""

from datetime import date

from works.errors import Refusal


class OrderRefusal(Refusal):
    """Base of everything this app refuses."""


class WrongState(OrderRefusal):
    """The order is not in a state in which that can be done."""

    def __init__(self, *, order: str, state: str, deed: str, wanted: str) -> None:
        self.order, self.state, self.deed, self.wanted = order, state, deed, wanted
        super().__init__(f"Order {order} is {state}: to {deed} it must be {wanted}.")


class DateInPast(OrderRefusal):
    """A date wanted in future lies behind."""

    status = 422

    def __init__(self, *, what: str, on: date, today: date) -> None:
        self.what, self.on, self.today = what, on, today
        super().__init__(f"{what} is {on}, but today is {today}: give a date to come.")


class NoChoice(OrderRefusal):
    """An item of pumps without a frozen choice cannot be ordered."""

    def __init__(self, *, item: str) -> None:
        self.item = item
        super().__init__(
            f"Item {item} has no frozen choice yet: choose its pump at the selection desk first."
        )


class NoItems(OrderRefusal):
    """An order without items."""

    def __init__(self, *, order: str) -> None:
        self.order = order
        super().__init__(f"Order {order} has no item: add what is to be made first.")


class ForeignChoice(OrderRefusal):
    """A choice that was made in another item's study."""

    def __init__(self, *, item: str, choice: str) -> None:
        self.item, self.choice = item, choice
        super().__init__(
            f"{choice} was not made for item {item}: freeze a choice in the item's own study, "
            "copying the other study if it fits."
        )


class NoTemplate(OrderRefusal):
    """No route template for that kind of item."""

    def __init__(self, *, kind: str) -> None:
        self.kind = kind
        super().__init__(
            f"There is no route template for {kind}: load the house's templates in the set-up."
        )


class DeadLink(OrderRefusal):
    """A customer link that leads nowhere any more; it never says which order it was for."""

    status = 404

    def __init__(self) -> None:
        super().__init__(
            "This link is not valid, has expired or was withdrawn. Ask your contact at the works "
            "for a new one."
        )


class ChangeDecided(OrderRefusal):
    """A change that was accepted or refused already."""

    def __init__(self, *, change: str, state: str) -> None:
        self.change, self.state = change, state
        super().__init__(f"{change} is {state} already: propose a new change.")


class UnitElsewhere(OrderRefusal):
    """A unit that is not of this order, or shipped."""

    def __init__(self, *, unit: str, order: str, why: str) -> None:
        self.unit, self.order, self.why = unit, order, why
        super().__init__(f"{unit} cannot be put in a delivery of order {order}: {why}.")


class NoWay(OrderRefusal):
    """Nothing on the freight lane is on site in time, or the lane's row cannot be used."""

    status = 422

    def __init__(self, *, why: str) -> None:
        self.why = why
        super().__init__(why)


class BadTerm(OrderRefusal):
    """A term of the contract that the route or the inspections cannot be made by."""

    status = 422

    def __init__(self, *, why: str) -> None:
        self.why = why
        super().__init__(f"The contract's terms cannot be used. {why}")


class NotSpares(OrderRefusal):
    """What a spares item needs to be made is missing, or a pump was given it."""

    status = 422

    def __init__(self, *, item: str, lacks: str) -> None:
        self.item, self.lacks = item, lacks
        super().__init__(f"Item {item} cannot be made yet: give {lacks}.")


class BadQuantity(OrderRefusal):
    """A number of units that cannot be."""

    status = 422

    def __init__(self, *, quantity: int) -> None:
        self.quantity = quantity
        super().__init__(f"The quantity is {quantity}; it must be from 1 to 50.")


class NoUnits(OrderRefusal):
    """A delivery or a shipment of nothing."""

    status = 422

    def __init__(self, *, deed: str) -> None:
        self.deed = deed
        super().__init__(f"Tick at least one unit to {deed}.")


class NothingChanges(OrderRefusal):
    """A change that would leave everything as it is."""

    status = 422

    def __init__(self, *, item: str) -> None:
        self.item = item
        super().__init__(
            f"That would leave item {item} as it is: give another quantity, date or frozen choice."
        )


class ChangeCannotBe(OrderRefusal):
    """What the change wants cannot be made of the route as it stands now."""

    status = 422

    def __init__(self, *, why: str) -> None:
        self.why = why
        super().__init__(why)


class EffectMoved(OrderRefusal):
    """The change would touch something else by now than what was shown."""

    def __init__(self, *, change: str) -> None:
        self.change = change
        super().__init__(
            f"{change} would touch something else by now than what was shown. Nothing was changed; "
            "what it touches has been reckoned again: read it and decide."
        )


class BadPaper(OrderRefusal):
    """An upload that is not filed: too large, of a kind not taken, or not what it says."""

    status = 422

    def __init__(self, *, name: str, why: str) -> None:
        self.name, self.why = name, why
        super().__init__(f"{name or 'The file'} was not filed: {why}")
