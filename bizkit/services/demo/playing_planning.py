"""The planning of the demo's job: floor, weather, a day that ran long, a receipt; and a next quote with choices."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from typing import TYPE_CHECKING

from bizkit.services.demo.standins import stand_in
from bizkit.services.quoting.comparing import compare_quotes
from bizkit.services.quoting.floor import show_floor
from bizkit.services.quoting.quotes import accept_quote, draft_quote, send_quote
from bizkit.services.quoting.weather import plan_weather
from bizkit.services.shooting.actual import quoted_and_actual
from bizkit.services.shooting.calling_off import postpone_quote
from bizkit.services.shooting.costs import add_cost
from bizkit.services.shooting.day_log import log_day
from bizkit.services.studio.studio_folder import StudioFolder

if TYPE_CHECKING:
    from bizkit.services.demo.step import Step

JOB = "follow-the-kelp"
NEXT = "gannet-week"
UNA = "Una Flett"

#: A second, smaller brief: one of two choices, and an add-on.
BRIEF = """\
# The demo's second brief; everything in it is invented.
key = "gannet-week"
client = "skerrow-islands-tourism"
title = "Gannet week"
summary = "The gannets on their stack before they leave: one film for the ferry's screens."
currency = "GBP"

[[days]]
date = 2027-08-03
kind = "dry"
place = "Gannet Stack"
hours = 10
kit = ["land_set"]
crew = [
  { person = "Ailsa Gannet", roles = ["director"] },
  { person = "Rowan Lark", roles = ["camera", "sound"] },
]

[[deliverables]]
key = "ferry-film"
title = "Film for the ferry's screens"
kind = "film"
spec = "90 s, 16:9, silent"
due_days = 15

[licence]
media = ["owned_channels"]
territory = "United Kingdom and Ireland"
months = 12
on_full_payment = true

[options.shore]
kind = "choice"
title = "A: from the shore"
summary = "Long lens from the headland."
[[options.shore.post]]
work = "edit"
days = 2

[options.boat]
kind = "choice"
title = "B: from the boat"
summary = "A day under the stack with skipper and boat, and a longer edit."
[[options.boat.costs]]
kind = "boat"
[[options.boat.post]]
work = "edit"
days = 3

[options.stills]
kind = "addon"
title = "Twelve stills of the birds"
[[options.stills.post]]
work = "stills_selection"
hours = 5
[[options.stills.deliverables]]
key = "bird-stills"
title = "Stills of the birds"
kind = "stills"
quantity = 12
"""


def weigh(folder: StudioFolder, on: date) -> Iterator[Step]:
    """The price below which the studio loses money, and what the weather may cost."""
    from bizkit.services.demo.step import Step

    floor = show_floor(folder)
    yield Step(
        on,
        "bizkit floor",
        f"{floor['currency']} {floor['rate_per_day']} a day; {len(floor['roles_below'])} of {floor['roles']} rates "
        "on the card are below it",
    )
    plan = plan_weather(folder, folder.path / "briefs" / f"{JOB}.toml", on)
    sure = next(point["chance"] for point in plan["chart"] if point["days"] == plan["booked_days"])
    yield Step(
        on,
        f"bizkit weather plan briefs/{JOB}.toml",
        f"{plan['booked_days']} days kept free, {plan['hold_days']} of them hold days: {float(sure):.0%} sure",
    )


def compare(folder: StudioFolder, on: date) -> Step:
    """What the client's wish changed."""
    from bizkit.services.demo.step import Step

    done = compare_quotes(folder, JOB)
    return Step(
        on,
        f"bizkit quote compare {JOB}",
        f"{len(done['lines'])} lines and {len(done['other'])} promises changed: {done['currency']} "
        f"{done['difference']} net",
    )


def as_it_was(folder: StudioFolder, on: date) -> Iterator[Step]:
    """A day that ran longer than planned, and what the boat really cost."""
    from bizkit.services.demo.step import Step

    long = log_day(folder, JOB, date(2027, 5, 11), on, call="06:00", wrap="20:00")
    yield Step(
        on,
        f"bizkit day log {JOB} 2027-05-11 --call 06:00 --wrap 20:00",
        f"{long['currency']} {long['overrun']} over the plan, waiting for an invoice",
    )
    receipt = stand_in(folder.path / "incoming" / "boat-receipt.png", "Skerrow Boats", "two days with skipper")
    spent = add_cost(folder, JOB, "boat", "1040.00", on, supplier="Skerrow Boats", receipt=receipt)
    yield Step(
        on,
        f"bizkit cost add {JOB} --kind boat --amount 1040.00 --receipt {receipt.name}",
        f"the receipt is filed as {spent['receipt'][:12]}…",
    )


def add_up(folder: StudioFolder, on: date) -> Step:
    """Quoted against actual."""
    from bizkit.services.demo.step import Step

    data = quoted_and_actual(folder, JOB)
    boat = next(row for row in data["costs"] if row["kind"] == "boat")
    whole = data["total"]
    return Step(
        on,
        f"bizkit job actual {JOB}",
        f"{data['currency']} {whole['quoted']} quoted, {whole['charged']} charged on top; "
        f"boat {boat['quoted']} quoted, {boat['spent']} spent",
    )


def next_quote(folder: StudioFolder, on: date) -> Iterator[Step]:
    """The next quote: two choices side by side, one of them taken, and what postponing it would cost."""
    from bizkit.services.demo.step import Step

    path = folder.path / "briefs" / f"{NEXT}.toml"
    path.write_text(BRIEF, encoding="utf-8")
    draft_quote(folder, path, on)
    sent = send_quote(folder, NEXT, on, to=UNA)
    choices = [one for one in sent["document"]["options"] if one["kind"] == "choice"]
    each = ", ".join(f"{one['title'][0]} {one['gross']}" for one in choices)
    yield Step(on, f"bizkit quote send {NEXT}", f"{sent['number']} with a choice, in {sent['currency']}: {each}")
    taken = accept_quote(folder, NEXT, on, by=UNA, options=["boat", "stills"])
    document = taken["document"]
    yield Step(
        on,
        f"bizkit quote accept {NEXT} --option boat --option stills",
        f"frozen as revision {taken['revision']}: {document['currency']} {document['gross']}",
    )
    moved = postpone_quote(folder, NEXT, date(2027, 7, 29), to=date(2027, 8, 17), preview=True)
    yield Step(
        on,
        f"bizkit quote postpone {NEXT} --to 2027-08-17 --preview --on 2027-07-29",
        f"would cost {moved['currency']} {moved['fee']}: {moved['lines'][0]['why']}",
    )
