"""The plan of a job: backwards from the client's date over working days; what slips when one date moves."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import replace
from datetime import date
from decimal import Decimal
from typing import TYPE_CHECKING, Any, TypedDict

from bizkit.domain.dates import iso_date
from bizkit.domain.errors import RuleBroken
from bizkit.domain.work.schedule import Schedule, Step, move, plan_as, plan_back
from bizkit.services.studio.studio_folder import StudioFolder

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from bizkit.domain.work.schedule import PlannedStep
    from bizkit.services.delivery.deliverables import DeliverableRow
    from bizkit.store.jobs import Job, JobDay

#: Working days for the changes of one round where the worksheet has no steps (common practice).
CHANGES_DAYS = 1
#: How the key of a step ends that is the due date of something promised.
DUE = "-due"
#: Hours of work in a day of post where a quote counts in hours.
POST_HOURS = 8


def show_schedule(folder: StudioFolder, job: str, on: date, *, due: str = "") -> PlanShown:
    """The plan saved last, else one planned backwards now from the last due date, or from `due`.

    Steps are those of the worksheet, else made from the quote: shoot, edit, review and changes for each round
    included, delivery. `looks` says what does not fit: clashes, people and kit booked twice, shoot days that moved.
    Raises RuleBroken without any date to plan back from.
    """
    from bizkit.services.job.jobs import the_job

    with folder.book.read() as work:
        row = the_job(work, job)
        plan, saved_on = current_plan(folder, work, row, on, due=due)
        return _data(folder, work, row, plan, saved_on, on)


def save_plan(folder: StudioFolder, job: str, on: date, *, due: str = "", why: str = "") -> PlanShown:
    """Plan backwards anew and save it; the plan before stays in the book."""
    from bizkit.services.job.jobs import the_job

    with folder.book.work() as work:
        row = the_job(work, job)
        plan = _fresh(folder, work, row, on, due)
        _save(folder, work, row.key, plan, on, why, due_typed=bool(due))
        return _data(folder, work, row, plan, on.isoformat(), on)


def move_step(
    folder: StudioFolder, job: str, key: str, starts: str, on: date, *, save: bool, why: str = ""
) -> StepMoved:
    """What slips when step `key` begins on the day `starts` instead; kept only when `save`.

    Raises NotFound for an unknown step.
    """
    from bizkit.services.job.jobs import the_job

    with folder.book.work() if save else folder.book.read() as work:
        row = the_job(work, job)
        plan, _ = current_plan(folder, work, row, on)
        slips = move(plan, key, iso_date(starts, field="DATE"), folder.day_off)
        if save:
            typed = _due_typed(work, row.key)
            _save(folder, work, row.key, slips.schedule, on, why or f"{key} to {starts}", due_typed=typed)
        return {
            "job": row.key,
            "step": key,
            "starts": starts,
            "saved": save,
            "slips": [
                {
                    "key": slip.key,
                    "title": slip.title,
                    "was": [day.isoformat() for day in slip.was],
                    "now": [day.isoformat() for day in slip.now],
                    "days": slip.days,
                }
                for slip in slips.slips
            ],
            "days_late": slips.days_late,
            "sentences": list(slips.sentences()),
        }


def current_plan(
    folder: StudioFolder, work: Connection, job: Job, on: date, *, due: str = ""
) -> tuple[Schedule, str]:
    """The plan of a job, and the day it was saved on; empty where it is made now.

    Shoot and hold days and due dates are those of the book, moved or not since the plan was saved; so is the client's
    date, unless it was typed.
    """
    from bizkit.store.handovers import saved_schedule

    saved = None if due else saved_schedule(work, job.key)
    if saved is None:
        return _fresh(folder, work, job, on, due), ""
    steps = [
        Step(
            each["key"],
            each["title"],
            each["days"],
            tuple(each["after"]),
            *(_span(each) if each["fixed"] else ()),
        )
        for each in saved.steps
    ]
    dates = {each["key"]: _span(each) for each in saved.steps}
    # Shoot and due dates are where the book has them by now, whatever the plan was made for.
    now = _dates_now(folder, work, job.key, on)
    steps = [_on(step, now[step.key]) if step.key in now and step.fixed_on else step for step in steps]
    dates |= {step.key: step.fixed_on for step in steps if step.fixed_on}
    last = date.fromisoformat(saved.due)
    if not _due_typed(work, job.key):
        last = _last_due(folder, work, job.key, on) or last
    return plan_as(steps, dates, last, folder.day_off), saved.on


def _due_typed(work: Connection, job: str) -> bool:
    """Whether the saved plan is made for a date that somebody typed, and not for the last due date.

    Plans saved before that was written down tell by their steps.
    """
    from bizkit.store.events import newest
    from bizkit.store.handovers import saved_schedule

    event, saved = newest(work, "planned", job), saved_schedule(work, job)
    if saved is None or (event and "due_typed" in event.data):
        return bool(event and event.data.get("due_typed"))
    dues = [each["ends"] for each in saved.steps if each["fixed"] and each["key"].endswith(DUE)]
    return not dues or max(dues) != saved.due


def _last_due(folder: StudioFolder, work: Connection, job: str, on: date) -> date | None:
    """The last due date of what is promised."""
    from bizkit.services.delivery.deliverables import deliverable_rows

    dates = [row["due"] for row in deliverable_rows(folder, work, job, on) if row["due"]]
    return date.fromisoformat(max(dates)) if dates else None


def _fresh(folder: StudioFolder, work: Connection, job: Job, on: date, due: str) -> Schedule:
    from bizkit.services.delivery.deliverables import deliverable_rows

    promised = deliverable_rows(folder, work, job.key, on)
    last = iso_date(due, field="--due") if due else _last_due(folder, work, job.key, on)
    if last is None:
        raise RuleBroken(f"{job.key}: nothing has a due date yet: name the client's date with --due")
    return plan_back(_steps(folder, work, job, promised), last, folder.day_off)


def _steps(folder: StudioFolder, work: Connection, job: Job, promised: list[DeliverableRow]) -> list[Step]:
    """The shoot as the book has it, then the worksheet's steps, else those that the quote stands for."""
    from bizkit.services.shooting.worksheet import worksheet
    from bizkit.store.jobs import shoot_days

    steps = list(_shoot(shoot_days(work, job.key)))
    own = worksheet(folder, job.key).steps
    if own:
        written = {step.key for step in own}
        return [*(step for step in steps if step.key not in written), *own]
    shot = tuple(step.key for step in steps)
    edit = _edit_days(work, job)
    if edit:
        steps.append(Step("edit", "Edit", edit, shot))
        shot = ("edit",)
    from bizkit.services.delivery.reviews import agreed_terms

    waits = agreed_terms(folder, work, job.key).silence_days
    for key, titles, rounds, due in _groups(promised):
        after = shot
        for number in range(1, rounds + 1):
            steps.append(Step(f"{key}-review-{number}", f"{titles}: answer to v{number}", waits, after))
            steps.append(
                Step(
                    f"{key}-changes-{number}", f"{titles}: changes of round {number}", CHANGES_DAYS, (steps[-1].key,)
                )
            )
            after = (steps[-1].key,)
        fixed = date.fromisoformat(due) if due else None
        steps.append(Step(f"{key}{DUE}", f"{titles}: due", 0, after, fixed, fixed))
    return steps


def _on(step: Step, dates: tuple[date, date]) -> Step:
    return replace(step, starts=dates[0], ends=dates[1])


def _shoot(days: list[JobDay]) -> Iterable[Step]:
    """The shoot and its hold days at their dates; nothing while any of them is open."""
    from bizkit.services.job.jobs import SHOOTS

    for key, title, kinds in (("shoot", "Shoot", SHOOTS), ("hold", "Hold days", ("hold",))):
        dates = [day.on for day in days if day.kind in kinds]
        if dates and all(dates):
            yield Step(key, title, 0, (), date.fromisoformat(min(dates)), date.fromisoformat(max(dates)))


def _dates_now(folder: StudioFolder, work: Connection, job: str, on: date) -> dict[str, tuple[date, date]]:
    """First and last day of the shoot and of its hold days, and each due date, as the book has them."""
    from bizkit.services.delivery.deliverables import deliverable_rows
    from bizkit.store.jobs import shoot_days

    now = {step.key: step.fixed_on for step in _shoot(shoot_days(work, job)) if step.fixed_on}
    for key, _, _, due in sorted(_groups(deliverable_rows(folder, work, job, on)), key=lambda group: group[3]):
        if due:
            now[f"{key}{DUE}"] = (date.fromisoformat(due),) * 2
    return now


def _edit_days(work: Connection, job: Job) -> int:
    """Whole working days of post in the quote."""
    from bizkit.services.job.jobs import said_in_quote

    lines = said_in_quote(work, job, "lines") or []
    per = {"day": Decimal(1), "hour": Decimal(1) / POST_HOURS}
    days = sum(
        (
            Decimal(line["quantity"]) * per[line["unit"]]
            for line in lines
            if line["section"] == "post" and line["unit"] in per
        ),
        Decimal(0),
    )
    return math.ceil(days)


def _groups(promised: list[DeliverableRow]) -> list[tuple[str, str, int, str]]:
    """Deliverables that go out together: key, titles, rounds, due date. Cuts of a set are one thing to the plan."""
    groups: dict[tuple[str, int, str], list[DeliverableRow]] = {}
    for row in promised:
        groups.setdefault((row["due"], row["rounds_included"], row["cut_of"] or row["key"]), []).append(row)
    found = []
    for (due, rounds, name), rows in groups.items():
        title = rows[0]["title"] if len(rows) == 1 else f"{rows[0]['title'].partition(':')[0]} ({len(rows)} cuts)"
        found.append((name, title, rounds, due))
    return found


def _save(
    folder: StudioFolder, work: Connection, key: str, plan: Schedule, on: date, why: str, *, due_typed: bool
) -> None:
    from bizkit.store.events import record
    from bizkit.store.handovers import save_schedule

    steps = [
        {
            "key": each.step.key,
            "title": each.step.title,
            "days": each.step.days,
            "after": list(each.step.after),
            "fixed": each.step.fixed_on is not None,
            "starts": each.starts.isoformat(),
            "ends": each.ends.isoformat(),
        }
        for each in plan.planned
    ]
    stamp = folder.stamp(on)
    save_schedule(work, stamp, job=key, due=plan.due.isoformat(), steps=steps, why=why)
    record(work, stamp, "planned", key, due=plan.due.isoformat(), why=why, due_typed=due_typed)


def _data(folder: StudioFolder, work: Connection, job: Job, plan: Schedule, saved_on: str, on: date) -> PlanShown:
    from bizkit.services.delivery.deliverables import deliverable_rows
    from bizkit.services.quoting.bookings import clashes_of
    from bizkit.store.handovers import saved_schedule

    data = plan.data()
    looks = list(data["clashes"])
    saved = saved_schedule(work, job.key) if saved_on else None
    now = _dates_now(folder, work, job.key, on)
    again = f"as when the plan was saved: bizkit schedule save {job.key}"
    for each in saved.steps if saved else []:
        there = now.get(each["key"])
        if each["fixed"] and there and there != _span(each):
            by_now, then = _days(*there), _days(*_span(each))
            looks.append(f"{each['title']} is {by_now} by now, not {then} {again}")
    if saved and saved.due != data["due"]:
        looks.append(f"the client's date is {data['due']} by now, not {saved.due} {again}")
    looks += clashes_of(folder, work, job.key, on)
    answers: list[AnswerDue] = [
        {"deliverable": row["key"], "title": row["title"], "answer_by": row["answer_by"], "silence": row["silence"]}
        for row in deliverable_rows(folder, work, job.key, on)
        if row["answer_by"]
    ]
    return {
        "job": job.key,
        "title": job.title,
        "due": data["due"],
        "saved_on": saved_on,
        "steps": data["steps"],
        "looks": looks,
        "answers": answers,
    }


def _days(first: date, last: date) -> str:
    return f"{first}" if first == last else f"{first} to {last}"


def _span(each: dict[str, Any]) -> tuple[date, date]:
    return date.fromisoformat(each["starts"]), date.fromisoformat(each["ends"])


class PlanShown(TypedDict):
    """The plan of a job, what does not fit, and by when the client answers."""

    job: str
    title: str
    due: str
    saved_on: str
    steps: list[PlannedStep]
    looks: list[str]
    answers: list[AnswerDue]


class AnswerDue(TypedDict):
    """By when the client answers a version, and what silence means."""

    deliverable: str
    title: str
    answer_by: str
    silence: str


class StepMoved(TypedDict):
    """What slips when a step begins on another day."""

    job: str
    step: str
    starts: str
    saved: bool
    slips: list[SlipRow]
    days_late: int
    sentences: list[str]


class SlipRow(TypedDict):
    """A step that slips: its first and last day before and now, and the working days between."""

    key: str
    title: str
    was: list[str]
    now: list[str]
    days: int
