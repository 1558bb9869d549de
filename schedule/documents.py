"""Papers of the schedule: the route card that goes with a unit."""

from schedule.queries.cards import RouteCard
from works.formats import isodate
from works.sheets import (
    Column,
    Sheet,
    build,
    caution_named,
    facts,
    heading,
    note,
    paragraph,
    signatures,
    table,
)


def route_card_pdf(card: RouteCard, *, printed: str) -> bytes:
    """The card as PDF; the same card and words give the same bytes.

    printed : when and by whom, in words
    """
    sheet = Sheet(
        works=card.works,
        title="Route card",
        number=f"{card.route} unit {card.unit}",
        about=f"Unit {card.unit} of {card.of}" + (f", serial {card.serial}" if card.serial else ""),
        revision=str(card.revision),
        issued=printed,
        warning="Demonstration: invented data" if card.is_demonstration else "",
        wide=True,
    )
    width = sheet.text_width
    story = [
        heading(f"{card.route}, unit {card.unit}: route revision {card.revision}"),
        paragraph(f"Must leave the works by {isodate(card.ship_by)}."),
        facts(card.facts, width=width, abreast=3),
        heading("Pieces"),
        table(
            [
                Column("Part", 2),
                Column("Mark", 2),
                Column("Pattern", 2),
                Column("Heat", 2),
                Column("Pair", 2),
            ],
            card.pieces,
            width=width,
            nothing="No pieces yet: write mark and heat here when they are poured.",
        ),
        heading("Operations"),
        table(
            [
                Column("Operation", 4),
                Column("At", 2),
                Column("Takes", 1, numeric=True),
                Column("Start by", 1.6),
                Column("Drawing", 1.6),
                Column("Confirm at the start", 2),
                Column("Holds", 3),
                Column("Done on, by", 2),
            ],
            [
                (
                    f"{row.name}{' (all units)' if row.shared else ''}",
                    row.work_centre,
                    row.duration,
                    isodate(row.start_by),
                    row.drawing,
                    ", ".join(row.confirms),
                    "; ".join(row.holds),
                    isodate(row.done_on) if row.done_on else "",
                )
                for row in card.rows
            ],
            width=width,
            marked=[n for n, row in enumerate(card.rows) if any("HOLD" in h for h in row.holds)],
        ),
        note(
            "A bold line is held: work stops there until the release is in the system. "
            "A route card of an older revision than the screen's is void: destroy it."
        ),
        heading("Cautions"),
        *(caution_named(key, width=width) for key in card.cautions),
        signatures(["Card handed out", "Card returned complete"], width=width),
    ]
    return build(sheet, story)
