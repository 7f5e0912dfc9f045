"""Papers of the shoot dates, kept apart from those of the licence term."""

from datetime import date

from bizkit.domain.rights.clearance import Need, clear
from bizkit.domain.rights.holding import Holding, Signer
from bizkit.domain.rights.scope import Scope
from bizkit.domain.rights.shoot_papers import ShootNeed, ShootPaper, shoot_gaps
from bizkit.domain.rights.term import Term

SHOOT = (date(2027, 5, 10), date(2027, 5, 11), date(2027, 5, 12), date(2027, 5, 14))


def paper(kind: str, start: date, end: date, subject: str = "us") -> ShootPaper:
    return ShootPaper("P-1", kind, subject, subject, Term(start, end))


def need(kind: str, *days: date, subject: str = "us") -> ShootNeed:
    return ShootNeed(kind, subject, "Gannet & Lark Films", days)


def test_a_paper_valid_on_every_shoot_day_is_enough_though_it_ends_the_day_after():
    insured = paper("insurance", date(2026, 5, 15), date(2027, 5, 14))
    assert shoot_gaps([need("insurance", *SHOOT)], [insured]) == []


def test_the_exact_shoot_days_without_a_valid_paper_are_named():
    medical = paper("diver_medical", date(2026, 5, 12), date(2027, 5, 11))
    (gap,) = shoot_gaps([need("diver_medical", *SHOOT)], [medical])
    assert gap.days == (date(2027, 5, 12), date(2027, 5, 14))
    assert gap.text == "diver's medical: Gannet & Lark Films is not valid for 2027-05-12, 2027-05-14"


def test_no_paper_on_file_names_all_days():
    (gap,) = shoot_gaps([need("operator_id", *SHOOT)], [paper("pilot_id", SHOOT[0], SHOOT[-1])])
    assert gap.text == (
        "drone operator ID: Gannet & Lark Films is not on file for 2027-05-10..2027-05-12, 2027-05-14"
    )
    assert gap.data()["days"] == ["2027-05-10", "2027-05-11", "2027-05-12", "2027-05-14"]


def test_papers_of_different_people_do_not_stand_in_for_one_another():
    gaps = shoot_gaps(
        [need("diver_medical", SHOOT[0], subject="ann"), need("diver_medical", SHOOT[0], subject="bo")],
        [paper("diver_medical", SHOOT[0], SHOOT[0], subject="ann")],
    )
    assert [gap.need.subject for gap in gaps] == ["bo"]


def test_two_permits_that_follow_one_another_cover_together():
    permits = [paper("permit", SHOOT[0], SHOOT[1]), paper("permit", SHOOT[2], SHOOT[3])]
    assert shoot_gaps([need("permit", *SHOOT)], permits) == []


def test_the_two_expiry_tests_are_kept_apart():
    # A permission whose place may be shown for ever, with a permit to fly there that has run out - and the reverse.
    granted = Scope.box({"cinema"}, {"GB"}, Term(date(2027, 7, 1), date(2028, 6, 30)))
    place = [Need("location_permission", "cliff", "Gannet Cliff", frozenset({"film"}))]

    def permission(end: date) -> Holding:
        scope = Scope.box({"cinema"}, {"GB"}, Term(date(2027, 1, 1), end))
        return Holding("H-1", "location_permission", "cliff", "Gannet Cliff", scope, status="signed",
                       signed_on=date(2027, 1, 1), signers=(Signer("Skerrow Estate", "owner"),))  # fmt: skip

    flights = [need("permit", SHOOT[0])]
    for end, permit_end, cleared, may_fly in (
        (date(2030, 1, 1), date(2027, 5, 9), True, False),
        (date(2027, 12, 31), date(2027, 5, 10), False, True),
    ):
        assert clear(granted, ["film"], place, [permission(end)]).cleared is cleared
        assert (shoot_gaps(flights, [paper("permit", date(2027, 1, 1), permit_end)]) == []) is may_fly


def test_data_reads_back():
    one = paper("permit", SHOOT[0], SHOOT[1])
    assert ShootPaper.from_data(one.data()) == one
