"""Planning backwards over working days, against numpy's business days, and what slips when one date moves."""

from __future__ import annotations

import json
import tomllib
from datetime import date, timedelta

import numpy
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bizkit.domain.dates import weekend
from bizkit.domain.errors import BadInput, NotFound
from bizkit.domain.inputs.reading import read_input
from bizkit.domain.work.schedule import Schedule, Step, move, plan_as, plan_back, plan_on
from bizkit.domain.work.worksheet import Worksheet

SHOOT = Step("shoot", "Shoot", 0, (), date(2027, 5, 10), date(2027, 5, 14))
STEPS = [
    SHOOT,
    Step("edit", "First edit", 8, ("shoot",)),
    Step("review", "Client review", 3, ("edit",)),
    Step("fine", "Fine cut and grade", 5, ("review",)),
    Step("deliver", "Delivery", 0, ("fine",)),
]
FRIDAY = date(2027, 6, 11)


def dates(plan: Schedule) -> dict[str, tuple[str, str, int]]:
    return {
        each.step.key: (each.starts.strftime("%m-%d"), each.ends.strftime("%m-%d"), each.slack_days)
        for each in plan.planned
    }


def test_a_plan_runs_backwards_from_the_clients_date() -> None:
    # By the calendar of 2027: 5 working days back from Friday 11 June start on Monday 7, and so on.
    assert dates(plan_back(STEPS, FRIDAY)) == {
        "shoot": ("05-10", "05-14", 4),
        "edit": ("05-21", "06-01", 0),
        "review": ("06-02", "06-04", 0),
        "fine": ("06-07", "06-11", 0),
        "deliver": ("06-11", "06-11", 0),
    }


def test_a_date_on_a_weekend_is_planned_for_the_friday_before() -> None:
    plan = plan_back(STEPS, date(2027, 6, 13))
    assert plan["deliver"].ends == FRIDAY
    assert plan.fits


def test_public_holidays_are_no_working_days() -> None:
    holiday = date(2027, 5, 31)  # Monday
    plan = plan_back(STEPS, FRIDAY, lambda day: weekend(day) or day == holiday)
    assert plan["edit"].starts == date(2027, 5, 20)


def test_a_plan_without_enough_time_says_which_steps_do_not_fit() -> None:
    plan = plan_back(STEPS, date(2027, 6, 1))
    assert not plan.fits
    assert [clash.text for clash in plan.clashes] == ["Shoot ends 4 working days too late for First edit"]
    assert plan["shoot"].slack_days == -4
    assert json.loads(json.dumps(plan.data()))["clashes"] == ["Shoot ends 4 working days too late for First edit"]


def test_the_earliest_plan_leaves_the_slack_at_the_end() -> None:
    plan = plan_on(STEPS, date(2027, 5, 1), FRIDAY)
    assert plan["edit"].starts == date(2027, 5, 17)
    assert {each.step.key: each.slack_days for each in plan.planned} == {
        **{"shoot": 4, "edit": 4, "review": 4, "fine": 4, "deliver": 4}
    }


def test_a_later_review_moves_what_follows_and_misses_the_date() -> None:
    slips = move(plan_back(STEPS, FRIDAY), "review", date(2027, 6, 7))
    assert slips.days_late == 3
    assert slips.sentences() == (
        "Client review: 2027-06-04 becomes 2027-06-09 (+3 working days)",
        "Fine cut and grade: 2027-06-11 becomes 2027-06-16 (+3 working days)",
        "Delivery: 2027-06-11 becomes 2027-06-16 (+3 working days)",
        "Delivery ends 3 working days too late for the client's date 2027-06-11",
        "The client's date 2027-06-11 is missed by 3 working days",
    )


def test_slack_takes_up_a_slip() -> None:
    plan = plan_back(STEPS, FRIDAY)
    # The shoot has four working days to spare before the edit; weather takes three of them.
    slips = move(plan, "shoot", date(2027, 5, 13))
    assert slips.sentences() == ("Shoot: 2027-05-14 becomes 2027-05-17 (+1 working day)",)
    assert slips.days_late == 0
    assert move(plan, "review", date(2027, 6, 2)).sentences() == ("Nothing else moves",)


def test_a_step_moved_before_its_predecessor_ends_says_so() -> None:
    slips = move(plan_back(STEPS, FRIDAY), "review", date(2027, 5, 31))
    assert slips.sentences() == (
        "Client review: 2027-06-04 becomes 2027-06-02 (-2 working days)",
        "First edit ends 2 working days too late for Client review",
    )


def test_a_fixed_step_is_never_moved_by_others() -> None:
    steps = [Step("recce", "Recce", 2), Step("shoot", "Shoot", 0, ("recce",), SHOOT.starts, SHOOT.ends)]
    plan = plan_back(steps, date(2027, 5, 14))
    assert (plan["recce"].starts, plan["recce"].ends) == (date(2027, 5, 6), date(2027, 5, 7))
    slips = move(plan, "recce", date(2027, 5, 10))
    assert [slip.key for slip in slips.slips] == ["recce"]
    assert slips.sentences()[-1] == "Recce ends 2 working days too late for Shoot"


def test_the_plan_is_not_changed_by_looking_at_a_move() -> None:
    plan = plan_back(STEPS, FRIDAY)
    before = plan.data()
    move(plan, "edit", date(2027, 7, 1))
    assert plan.data() == before


def test_steps_are_read_from_a_table() -> None:
    tree = tomllib.loads(
        "[[steps]]\nkey='shoot'\ntitle='Shoot'\nfrom=2027-05-10\nto=2027-05-14\n"
        "[[steps]]\nkey='edit'\ntitle='First edit'\ndays=8\nafter='shoot'"
    )
    assert list(read_input(Worksheet, tree, where="job.toml").steps) == STEPS[:2]


@pytest.mark.parametrize(
    ("toml", "line"),
    [
        (
            "key='a'\ntitle='A'\nfrom=2027-05-10\nto=2027-05-09",
            "job.toml: steps[1].to: wanted a day on or after 2027-05-10, got 2027-05-09",
        ),
        (
            "key='a'\ntitle='A'\nfrom=2027-05-10\ndays=3",
            "job.toml: steps[1].days: wanted either days or dates, got both",
        ),
        ("key='a'\ntitle='A'\ndays=-1", "job.toml: steps[1].days: wanted a whole number 0..1000, got -1"),
    ],
)
def test_steps_that_cannot_be_are_refused_in_one_line(toml: str, line: str) -> None:
    with pytest.raises(BadInput) as error:
        read_input(Step, tomllib.loads(toml), where="job.toml", path="steps[1]")
    assert str(error.value) == line


def test_steps_that_wait_for_each_other_are_named() -> None:
    steps = [Step("a", "A", 1, ("c",)), Step("b", "B", 1, ("a",)), Step("c", "C", 1, ("b",)), Step("d", "D", 1)]
    with pytest.raises(BadInput) as error:
        plan_back(steps, FRIDAY)
    assert str(error.value) == "steps.after: wanted steps that do not wait for each other, got a -> c -> b -> a"


def test_unknown_and_repeated_steps_are_refused() -> None:
    with pytest.raises(NotFound, match=r"steps\.b\.after: wanted a known step, got edits\. Did you mean edit\?"):
        plan_back([Step("edit", "E", 1), Step("b", "B", 1, ("edits",))], FRIDAY)
    with pytest.raises(BadInput, match="wanted each key once, got a again"):
        plan_back([Step("a", "A", 1), Step("a", "A", 2)], FRIDAY)
    with pytest.raises(BadInput, match="wanted one step or more, got none"):
        plan_back([], FRIDAY)
    with pytest.raises(NotFound, match="Did you mean review"):
        move(plan_back(STEPS, FRIDAY), "reviews", FRIDAY)


@pytest.mark.parametrize("due", [date.min, date.max])
def test_dates_at_the_end_of_the_calendar_are_refused(due: date) -> None:
    with pytest.raises(BadInput):
        plan_back(STEPS, due)
    with pytest.raises(BadInput, match="within 20 years"):
        move(plan_back(STEPS, FRIDAY), "edit", due)


@given(st.dates(date(2026, 1, 1), date(2028, 12, 31)), st.lists(st.integers(1, 12), min_size=1, max_size=6))
def test_a_chain_ends_where_numpy_says(due: date, lengths: list[int]) -> None:
    steps = [
        Step(str(number), str(number), length, (str(number - 1),) if number else ())
        for number, length in enumerate(lengths)
    ]
    plan = plan_back(steps, due)
    end = numpy.busday_offset(due, 0, roll="backward")
    for number in reversed(range(len(lengths))):
        start = numpy.busday_offset(end, 1 - lengths[number])
        assert (plan[str(number)].starts, plan[str(number)].ends) == (start.astype(date), end.astype(date))
        end = numpy.busday_offset(start, -1)


@st.composite
def webs(draw: st.DrawFn) -> list[Step]:
    """Steps that wait for some of those before them."""
    count = draw(st.integers(1, 7))
    steps = []
    for number in range(count):
        after = draw(st.sets(st.integers(0, number - 1), max_size=3)) if number else set()
        days = draw(st.integers(0, 6))
        steps.append(Step(str(number), f"step {number}", days, tuple(str(key) for key in sorted(after))))
    return steps


def meets(plan: Schedule) -> bool:
    """Whether every step begins after its predecessors end, counted by hand."""
    return all(
        plan[key].ends < each.starts or (each.step.days == 0 and plan[key].ends <= each.starts)
        for each in plan.planned
        for key in each.step.after
    )


@settings(max_examples=60, deadline=None)
@given(webs(), st.dates(date(2027, 1, 1), date(2027, 12, 31)))
def test_planning_back_always_fits_and_never_could_be_later(steps: list[Step], due: date) -> None:
    plan = plan_back(steps, due)
    assert meets(plan)
    assert plan.fits
    assert all(each.ends <= due for each in plan.planned)
    assert all(each.slack_days == 0 for each in plan.planned)


@settings(max_examples=80, deadline=None)
@given(webs(), st.data())
def test_slack_is_exactly_what_a_step_may_slip(steps: list[Step], data: st.DataObject) -> None:
    plan = plan_on(steps, date(2027, 3, 1), date(2027, 5, 28))
    key = data.draw(st.sampled_from([each.key for each in steps]))
    slack = plan[key].slack_days
    within = numpy.busday_offset(plan[key].starts, slack).astype(date)
    assert move(plan, key, within).days_late == 0
    beyond = numpy.busday_offset(plan[key].starts, slack + 1).astype(date)
    assert move(plan, key, beyond).days_late == 1


@settings(max_examples=60, deadline=None)
@given(webs(), st.data(), st.integers(0, 40))
def test_moving_later_keeps_the_order_and_moves_nothing_forward(
    steps: list[Step], data: st.DataObject, later: int
) -> None:
    plan = plan_on(steps, date(2027, 3, 1), date(2027, 5, 28))
    key = data.draw(st.sampled_from([each.key for each in steps]))
    slips = move(plan, key, plan[key].starts + timedelta(days=later))
    assert meets(slips.schedule)
    assert all(slip.days >= 0 for slip in slips.slips)


def test_a_plan_taken_up_again_with_its_dates_is_the_same_plan() -> None:
    plan = plan_back(STEPS, FRIDAY)
    kept = {each.step.key: (each.starts, each.ends) for each in plan.planned}
    assert plan_as(STEPS, kept, FRIDAY) == plan
    late = plan_as(STEPS, {**kept, "edit": (date(2027, 5, 24), date(2027, 6, 2))}, FRIDAY)
    assert [clash.text for clash in late.clashes] == ["First edit ends 1 working day too late for Client review"]
    with pytest.raises(NotFound, match="step with dates, got deliver"):
        plan_as(STEPS, {key: kept[key] for key in kept if key != "deliver"}, FRIDAY)
