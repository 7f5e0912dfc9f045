"""The delivery of the demo's job: planned ahead, looked at, a paid round agreed, handed over, remembered."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from datetime import date
from importlib.util import find_spec
from typing import TYPE_CHECKING

from bizkit.services.billing.charge_invoice import issue_charges
from bizkit.services.delivery.archive import add_to_archive
from bizkit.services.delivery.checking import check_files
from bizkit.services.delivery.deliverables import identify_file
from bizkit.services.delivery.further_rounds import answer_round
from bizkit.services.delivery.handovers import hand_over, verify_folder
from bizkit.services.delivery.notes import answer_notes, take_notes
from bizkit.services.overview.calendars import write_calendar
from bizkit.services.shooting.scheduling import move_step, save_plan
from bizkit.services.shooting.worksheet import carry_shots, job_storage
from bizkit.services.studio.studio_folder import StudioFolder

if TYPE_CHECKING:
    from bizkit.services.demo.step import Step

JOB = "follow-the-kelp"
UNA = "Una Flett"


def plan_ahead(folder: StudioFolder) -> Iterator[Step]:
    """The plan backwards from the client's date, a calendar of it, and the drives to buy."""
    from bizkit.services.demo.step import Step

    on = date(2027, 3, 9)
    plan = save_plan(folder, JOB, on)
    first = plan["steps"][1]
    yield Step(
        on,
        f"bizkit schedule save {JOB}",
        f"{len(plan['steps'])} steps back from {plan['due']}: {first['title'].lower()} from {first['starts']}",
    )
    slips = move_step(folder, JOB, "answer-1", "2027-06-01", on, save=False)
    yield Step(on, f"bizkit schedule move {JOB} answer-1 2027-06-01", f"{slips['sentences'][-1]}; shown, not saved")
    done = write_calendar(folder, folder.path / f"{JOB}.ics", on, job=JOB)
    yield Step(on, f"bizkit calendar {JOB}", f"{done['events']} entries in {JOB}.ics")
    needed = job_storage(folder, JOB)
    yield Step(on, f"bizkit storage {JOB}", f"{needed['gb_total']} GB, {needed['copies']} copies of it")


def carry(folder: StudioFolder, on: date) -> Step:
    """The shot list says who is in which cut."""
    from bizkit.services.demo.step import Step

    cuts = {one["deliverable"]: one["who"] for one in carry_shots(folder, JOB, on)["cuts"]}
    who = ", ".join(cuts["sauna-loop"])
    return Step(on, f"bizkit shots {JOB} --carry", f"who appears in {len(cuts)} deliverables; in sauna-loop: {who}")


def look(folder: StudioFolder, on: date) -> Iterator[Step]:
    """A file is looked at before it is sent, where the optional extra for it is there."""
    from bizkit.services.demo.step import Step

    if find_spec("av") is None:
        return
    name = "deliveries/stills-v1/stills-01.png"
    found = check_files(folder, [folder.path / name], on, spec="web_stills")
    first = next(one for one in found["files"][0]["points"] if one["ok"] is False)
    yield Step(
        on,
        f"bizkit deliverable check {name} --spec web_stills",
        f"caught on a stand-in: {first['name']}: wanted {first['wanted']}, got {first['got']}, "
        f"and {found['wrong'] - 1} more",
    )


def answer(folder: StudioFolder, on: date) -> Step:
    """Both notes on the first cut are answered."""
    from bizkit.services.demo.step import Step

    row = answer_notes(folder, JOB, "campaign-film", [], on)
    return Step(on, f"bizkit deliverable answer {JOB} campaign-film", f"{len(row['remarks'])} notes done")


def paid_round(folder: StudioFolder, send: Step) -> Iterator[Step]:
    """A second round on the loop, of which one is included: priced, agreed, to be invoiced.

    send: the step that sent the version between the two rounds.
    """
    from bizkit.services.demo.step import Step

    yield send
    row = take_notes(folder, JOB, "sauna-loop", "0:01 a gull crosses too early", send.on, who=UNA)
    (extra,) = row["extra_rounds"]
    yield Step(
        send.on,
        f"bizkit deliverable notes {JOB} sauna-loop --who '{UNA}' --text '0:01 a gull crosses too early'",
        f"round {extra['number']} of {row['rounds_included']}: GBP {extra['price']} more, if she says yes",
    )
    answer_round(folder, JOB, "sauna-loop", send.on, yes=True, by=UNA)
    yield Step(
        send.on, f"bizkit deliverable agree {JOB} sauna-loop --by '{UNA}'", "she said yes: a charge to invoice"
    )


def bill_round(folder: StudioFolder, on: date) -> Step:
    """The agreed round on an invoice of its own."""
    from bizkit.services.demo.step import Step

    made = issue_charges(folder, JOB, on)
    return Step(
        on,
        f"bizkit invoice issue {JOB} --charges",
        f"{made['number']}, the agreed round and the long day: GBP {made['gross']}",
    )


def give_away(folder: StudioFolder, on: date) -> Iterator[Step]:
    """The final files leave on a drive, and what is kept is written down."""
    from bizkit.services.demo.step import Step

    kept = add_to_archive(folder, JOB, "Masters and project", "drive Kelp A", on, months=24)
    yield Step(
        on,
        f"bizkit archive add {JOB} --what 'Masters and project' --place 'drive Kelp A' --months 24",
        f"promised until {kept['keep_until']}",
    )
    target = folder.path / "handover"
    target.mkdir()
    for path in sorted((folder.path / "deliveries").iterdir()):
        if identify_file(folder, path)["state"] == "final":
            (shutil.copytree if path.is_dir() else shutil.copy2)(path, target / path.name)
    done = hand_over(folder, JOB, target, on, to=UNA, how="Drive by ferry")
    yield Step(
        on,
        f"bizkit handover make {JOB} handover --how 'Drive by ferry'",
        f"{done['number']} for {done['files'] - 1} files, and the note",
    )


def check_again(folder: StudioFolder, on: date) -> Step:
    """Weeks later the folder is as it left."""
    from bizkit.services.demo.step import Step

    found = verify_folder(folder.path / "handover", folder=folder)
    return Step(on, "bizkit handover verify handover", f"{len(found['intact'])} files intact, {found['state']}")
