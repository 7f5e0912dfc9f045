"""Late money: interest by statute with its working, reminders up the ladder, a licence that rests."""

from __future__ import annotations

from decimal import Decimal

import pypdf
import pytest

RATES = """
[late]
suspends_licence = true
[[late.reference_rates]]
on = 2026-12-31
rate = 0.5
source = "invented, so that the rate is that of the published example"
"""


def text_of(path):
    return " ".join(" ".join(page.extract_text() for page in pypdf.PdfReader(path).pages).split())


@pytest.fixture
def unpaid(bizkit, job, studio, request):
    """An invoice of 1,000.00 with tax (833.33 + 166.67), issued on 1 March and due on 31 March 2027.

    The quote was sent anew with RATES, and a parameter such as 'rounding = "day"' under [late].
    """
    more = getattr(request, "param", "")
    with (studio / "studio.toml").open("a", encoding="utf-8") as file:
        file.write(RATES.replace("[late]", f"[late]\n{more}"))
    bizkit("quote", "reopen", job, "--reason", "other terms", "--on", "2027-02-08")
    for command in ("draft", "send", "accept"):
        assert bizkit("quote", command, job, "--on", "2027-02-08").code == 0
    bizkit(
        "charge", "add", job, "--what", "Second boat", "--amount", "833.33", "--reason", "asked", "--agreed",
        "Una, by mail", "--on", "2027-02-28",
    )  # fmt: skip
    done = bizkit("invoice", "issue", job, "--charges", "--on", "2027-03-01", "--json").data
    assert (done["gross"], done["due_on"]) == ("1000.00", "2027-03-31")
    return done["number"]


def test_a_reminder_names_what_else_is_late_and_does_not_count_it(bizkit, job, unpaid):
    for what, on in (("Sledge", "2027-03-05"), ("Rope", "2027-04-20")):
        bizkit(
            "charge",
            "add",
            job,
            "--what",
            what,
            "--amount",
            "100",
            "--reason",
            "asked",
            "--agreed",
            "Una",
            "--on",
            on,
        )
        assert bizkit("invoice", "issue", job, "--charges", "--on", on).code == 0
    done = bizkit("late", "remind", unpaid, "--on", "2027-05-01", "--json").data
    assert (done["others"], done["total"]) == (["GL-2027-0002"], "1000.00")  # the third is not late yet
    said = text_of(done["file"])
    assert "Also past due, and not in this sum: invoice GL-2027-0002, £120.00, due 4 April 2027." in said
    assert "GL-2027-0003" not in said
    # What a client was promised peace about is not named; where nothing else is late, nothing is said.
    rest = ("--until", "2027-06-30", "--reason", "a promise", "--on", "2027-05-02")
    assert bizkit("late", "pause", "GL-2027-0002", *rest).code == 0
    assert bizkit("late", "remind", unpaid, "--on", "2027-05-15", "--json").data["others"] == []
    other = bizkit("late", "remind", "GL-2027-0002", "--step", "friendly", "--on", "2027-05-15")
    assert "Look: GL-2027-0001 of this client is late too: the letter names it" in other.out


def test_interest_is_that_of_the_published_example(bizkit, unpaid):
    # gov.uk's example, from memory: 1,000 at 8.5 % is 85 a year, 23p a day; 50 days are 11.50 by the day, and
    # 1,000 x 0.085 x 50 / 365 = 11.64 when rounded once (check-values: "11.50 (unrounded 11.64)").
    (row,) = bizkit("late", "list", "--on", "2027-05-20", "--json").data["late"]
    assert (row["days_late"], row["interest"], row["compensation"]) == (50, "11.64", "70.00")
    bizkit("late", "remind", unpaid, "--on", "2027-05-01")
    done = bizkit("late", "remind", unpaid, "--on", "2027-05-20", "--json").data
    assert (done["step"], done["interest"], done["compensation"], done["total"]) == (
        "firm",
        "11.64",
        "70.00",
        "1081.64",
    )
    text = text_of(done["file"])
    for said in ("£11.64", "£70.00", "£1,081.64", "8.5%", "50 days", "GL-2027-0001"):
        assert said.replace("£", "") in text
    assert "Dear Una Flett," in done["text"]


@pytest.mark.parametrize("unpaid", ['rounding = "day"'], indirect=True)
def test_interest_rounded_by_the_day(bizkit, unpaid):
    (row,) = bizkit("late", "list", "--on", "2027-05-20", "--json").data["late"]
    assert row["interest"] == "11.50"


@pytest.mark.parametrize(("net", "fixed"), [("833.32", "40.00"), ("833.33", "70.00"), ("8333.33", "100.00")])
def test_compensation_by_the_size_of_the_debt(bizkit, job, studio, net, fixed):
    # Late Payment of Commercial Debts (Interest) Act 1998 s. 5A: 40 below 1,000; 70 from 1,000; 100 from 10,000.
    # 833.32 + 166.66 = 999.98; 833.33 + 166.67 = 1,000.00; 8,333.33 + 1,666.67 = 10,000.00.
    with (studio / "studio.toml").open("a", encoding="utf-8") as file:
        file.write(RATES)
    bizkit(
        "charge", "add", job, "--what", "Boat", "--amount", net, "--reason", "asked", "--agreed", "Una, by mail",
        "--on", "2027-02-28",
    )  # fmt: skip
    bizkit("invoice", "issue", job, "--charges", "--on", "2027-03-01")
    (row,) = bizkit("late", "list", "--on", "2027-05-20", "--json").data["late"]
    assert row["compensation"] == fixed


def test_the_ladder_is_climbed_step_by_step(bizkit, unpaid):
    early = bizkit("late", "remind", unpaid, "--on", "2027-03-31")
    assert (early.code, "it is not late on 2027-03-31" in early.err) == (1, True)
    early = bizkit("late", "remind", unpaid, "--on", "2027-04-02")
    assert "the friendly reminder goes out from 2027-04-03 on" in early.err
    first = bizkit("late", "remind", unpaid, "--on", "2027-04-03", "--json").data
    assert (first["step"], first["total"], first["interest"]) == ("friendly", "1000.00", "0.00")
    assert "goes out from 2027-04-14 on" in bizkit("late", "remind", unpaid, "--on", "2027-04-13").err
    assert bizkit("late", "remind", unpaid, "--on", "2027-04-14", "--json").data["step"] == "firm"
    last = bizkit("late", "remind", unpaid, "--on", "2027-04-30", "--json").data
    assert (last["step"], last["licence_suspended"]) == ("final", True)
    assert "every step of the ladder was sent" in bizkit("late", "remind", unpaid, "--on", "2027-05-30").err
    (row,) = bizkit("late", "list", "--on", "2027-05-30", "--json").data["late"]
    assert [one["step"] for one in row["sent"]] == ["friendly", "firm", "final"]
    assert bizkit("late", "remind", unpaid, "--step", "fierce", "--on", "2027-05-30").code == 2
    bizkit("invoice", "paid", unpaid, "--on", "2027-05-30")
    assert "there is nothing to remind of" in bizkit("late", "remind", unpaid, "--on", "2027-05-31").err
    assert bizkit("late", "list", "--on", "2027-05-31", "--json").data["late"] == []
    assert bizkit("verify").code == 0


def test_a_licence_rests_from_the_last_reminder_until_it_is_paid(bizkit, studio, unpaid):
    from datetime import date

    from bizkit.services.billing.suspension import suspended
    from bizkit.services.studio.studio_folder import StudioFolder

    def rests(on):
        folder = StudioFolder(studio)
        with folder.book.read() as work:
            return suspended(work, "follow-the-kelp", date.fromisoformat(on))

    for on in ("2027-04-03", "2027-04-14"):
        bizkit("late", "remind", unpaid, "--on", on)
    assert rests("2027-04-30") is None
    bizkit("late", "remind", unpaid, "--on", "2027-04-30")
    found = rests("2027-04-30")
    assert (found.since.isoformat(), found.invoice) == ("2027-04-30", unpaid)
    assert rests("2027-04-29") is None
    bizkit("invoice", "paid", unpaid, "--on", "2027-05-10")
    assert rests("2027-05-10") is None


def test_payments_and_credits_stop_interest_on_their_part(bizkit, unpaid):
    bizkit("invoice", "paid", unpaid, "400", "--on", "2027-04-10")
    (row,) = bizkit("late", "list", "--on", "2027-05-20", "--json").data["late"]
    # 10 days on 1,000 and 40 on 600 at 8.5 %: (10 x 1000 + 40 x 600) x 0.085 / 365 = 7.918
    assert row["interest"] == "7.92"
    assert row["compensation"] == "70.00"


def test_a_rate_that_is_not_known_is_asked_for_and_nothing_is_sent(bizkit, job, studio):
    bizkit("invoice", "issue", job, "--on", "2027-08-01")
    bizkit("late", "remind", "GL-2027-0001", "--on", "2027-09-05")
    refused = bizkit("late", "remind", "GL-2027-0001", "--on", "2027-09-20")
    assert refused.code == 2
    assert "late.reference_rates: wanted the Bank of England rate of 2027-06-30" in refused.err
    (row,) = bizkit("late", "list", "--on", "2027-09-20", "--json").data["late"]
    assert "Bank of England rate" in row["problem"]
    assert [one["step"] for one in row["sent"]] == ["friendly"]


def test_a_consumer_owes_no_statutory_interest(bizkit, job, unpaid, studio, change):
    change(studio / "clients" / "skerrow-islands-tourism.toml", "business = true", "business = false")
    bizkit("job", "client", job, "--on", "2027-05-20")
    (row,) = bizkit("late", "list", "--on", "2027-05-20", "--json").data["late"]
    assert (Decimal(row["interest"]), Decimal(row["compensation"])) == (0, 0)


def test_what_lateness_cost_is_invoiced_once_without_tax_and_paid(bizkit, job, unpaid):
    bizkit("invoice", "paid", unpaid, "--on", "2027-05-20")
    before = bizkit("job", "money", job, "--json").data
    done = bizkit("late", "charge", unpaid, "--on", "2027-06-01", "--json").data
    # 50 days on 1,000 at 8.5 %: 11.64; compensation 70. Interest stopped with the payment.
    assert [(line["amount"], line["category"]) for line in done["document"]["lines"]] == [
        ("70.00", "O"),
        ("11.64", "O"),
    ]
    assert (done["net"], done["tax"], done["gross"]) == ("81.64", "0.00", "81.64")
    assert "Outside the scope of VAT" in done["document"]["taxes"][0]["note"]
    again = bizkit("late", "charge", unpaid, "--on", "2027-07-01")
    assert (again.code, "nothing is due for late payment" in again.err) == (1, True)
    after = bizkit("job", "money", job, "--json").data
    assert after["left_to_invoice"] == before["left_to_invoice"]
    # Interest is no change of the price: it has a line of its own.
    assert (after["changes"], after["agreed"], after["late"]) == (before["changes"], before["agreed"], "81.64")
    assert [one["net"] for one in after["late_payments"]] == ["70.00", "11.64"]
    assert after["agreed_changes"] == before["agreed_changes"]
    said = " ".join(bizkit("job", "money", job).out.split())
    assert "Interest and costs of late payment GBP 81.64 Invoiced" in said
    # No fee that the studio's own work earned either.
    actual = bizkit("job", "actual", job, "--json").data
    assert ("81.64" in str(actual["sections"]), actual["late"]) == (False, "81.64")
    assert "for late payment: GBP 81.64" in bizkit("job", "actual", job).out
    bizkit("invoice", "paid", done["number"], "--on", "2027-06-10")
    assert bizkit("late", "list", "--on", "2027-07-20", "--json").data["late"] == []
    tax = bizkit("report", "tax", "--from", "2027-04-01", "--to", "2027-06-30", "--on", "2027-07-01", "--json").data
    assert tax["tax_on_sales"] == "0.00"
    assert bizkit("verify").code == 0


def test_what_was_paid_late_is_listed_until_its_lateness_is_billed(bizkit, unpaid):
    assert bizkit("late", "list", "--paid", "--on", "2027-05-20", "--json").data["late"] == []
    bizkit("invoice", "paid", unpaid, "--on", "2027-05-20")
    (row,) = bizkit("late", "list", "--paid", "--on", "2027-06-01", "--json").data["late"]
    assert (row["number"], row["left"], row["interest"], row["compensation"]) == (unpaid, "0.00", "11.64", "70.00")
    done = bizkit("late", "charge", unpaid, "--on", "2027-06-01", "--json").data
    assert done["net"] == "81.64"
    assert "Nothing was paid late" in bizkit("late", "list", "--paid", "--on", "2027-06-02").out


@pytest.mark.parametrize(("credited", "lines"), [((), ["70.00", "11.64"]), (("--line", "2"), ["11.64"])])
def test_what_was_billed_of_interest_comes_off_the_interest_and_not_off_the_compensation(
    bizkit, unpaid, credited, lines
):
    """Billed twice, the first credited in whole or in part: 9.32 up to 10 May, 11.64 up to 20 May."""
    bizkit("late", "charge", unpaid, "--on", "2027-05-10")
    second = bizkit("late", "charge", unpaid, "--on", "2027-05-20", "--json").data
    assert [line["amount"] for line in second["document"]["lines"]] == ["2.32"]
    bizkit("invoice", "paid", unpaid, "--on", "2027-05-20")
    assert bizkit(
        "invoice", "credit", "GL-2027-0002", *credited, "--reason", "slip", "--on", "2027-05-21"
    ).code == 0  # fmt: skip
    third = bizkit("late", "charge", unpaid, "--on", "2027-05-22", "--json").data
    sums = [Decimal(line["amount"]) for line in third["document"]["lines"]]
    assert sums == [Decimal(one) - (Decimal("2.32") if one == "11.64" else 0) for one in lines]


def test_the_compensation_goes_by_what_was_not_paid_in_time_and_says_so(bizkit, unpaid):
    bizkit("payment", "add", "500", "--invoice", unpaid, "--on", "2027-03-10")
    done = bizkit("late", "charge", unpaid, "--on", "2027-05-20", "--json").data
    assert done["document"]["lines"][0]["amount"] == "40.00"
    why = done["document"]["reckoning"][0]["why"]
    assert why == "compensation on a debt of GBP 500.00, not paid by 2027-03-31"


def test_nobody_is_late_with_money_that_the_studio_paid_back(bizkit, unpaid):
    bizkit("invoice", "paid", unpaid, "--on", "2027-03-20")
    too_much = bizkit("payment", "refund", unpaid, "300", "--on", "2027-04-20")
    assert (too_much.code, "--owed-again" in too_much.err) == (1, True)
    assert bizkit("payment", "refund", unpaid, "300", "--owed-again", "--on", "2027-04-20").code == 0
    (row,) = bizkit("late", "list", "--on", "2027-05-20", "--json").data["late"]
    assert (row["left"], row["interest"], row["compensation"]) == ("300.00", "0.00", "0.00")
    assert "nothing is due for late payment" in bizkit("late", "charge", unpaid, "--on", "2027-05-20").err


def test_an_invoice_paid_in_time_owes_nothing_for_lateness(bizkit, unpaid):
    bizkit("invoice", "paid", unpaid, "--on", "2027-03-31")
    assert "nothing is due for late payment" in bizkit("late", "charge", unpaid, "--on", "2027-05-20").err


def test_reminders_rest_while_a_promise_holds(bizkit, unpaid):
    bizkit(
        "late",
        "pause",
        unpaid,
        "--until",
        "2027-04-20",
        "--reason",
        "paid by the 20th, says Una",
        "--on",
        "2027-04-02",
    )
    refused = bizkit("late", "remind", unpaid, "--on", "2027-04-20")
    assert (refused.code, "reminders rest up to 2027-04-20" in refused.err) == (1, True)
    (row,) = bizkit("late", "list", "--on", "2027-04-20", "--json").data["late"]
    assert (row["due_now"], row["paused_until"]) == (False, "2027-04-20")
    assert bizkit("late", "remind", unpaid, "--on", "2027-04-21").code == 0
    assert bizkit("late", "pause", unpaid, "--until", "2027-04-20", "--reason", " ", "--on", "2027-04-02").code == 2


@pytest.fixture
def charged(bizkit, unpaid):
    """The invoice of what the lateness of the first one costs, late itself by August."""
    done = bizkit("late", "charge", unpaid, "--on", "2027-05-20", "--json").data
    assert (done["net"], done["tax"]) == ("81.64", "0.00")
    return done["number"]


def test_interest_bears_no_interest_and_no_compensation(bizkit, unpaid, charged):
    # Late Payment of Commercial Debts (Interest) Act 1998 s. 1: simple interest on the price of the contract; BGB
    # s. 289: none on interest.
    rows = {row["number"]: row for row in bizkit("late", "list", "--on", "2027-08-20", "--json").data["late"]}
    assert (rows[charged]["interest"], rows[charged]["compensation"]) == ("0.00", "0.00")
    # What was invoiced of the first one's lateness is owed once, on that invoice: 152 days less 50 are left of it.
    assert (rows[charged]["left"], rows[unpaid]["compensation"]) == ("81.64", "0.00")
    refused = bizkit("late", "charge", charged, "--on", "2027-08-20")
    assert (refused.code, "no interest and no compensation is due on that" in refused.err) == (1, True)
    bizkit("late", "remind", charged, "--on", "2027-07-01")
    done = bizkit("late", "remind", charged, "--step", "firm", "--on", "2027-08-20", "--json").data
    assert (done["interest"], done["compensation"], done["total"]) == ("0.00", "0.00", "81.64")
    assert "what its lateness costs" not in done["text"]
    assert "Interest for late payment" not in text_of(done["file"])


def test_nor_where_the_contract_agrees_a_rate(bizkit, unpaid, charged, studio, change):
    change(studio / "studio.toml", "[late]\n", '[late]\ninterest = "contract"\nrate = 6\n')
    rows = {row["number"]: row for row in bizkit("late", "list", "--on", "2027-08-20", "--json").data["late"]}
    assert (rows[charged]["interest"], rows[charged]["compensation"]) == ("0.00", "0.00")


def test_interest_that_was_credited_is_not_billed_with_tax_by_another_door(bizkit, job, unpaid, charged):
    bizkit("invoice", "credit", charged, "--reason", "as a favour", "--on", "2027-06-01")
    for way in ("--charges", "--final"):
        done = bizkit("invoice", "issue", job, way, "--on", "2027-06-02", "--json")
        if done.code == 0:
            assert not [line for line in done.data["document"]["lines"] if "late" in line["item"].lower()]
    again = bizkit("late", "charge", unpaid, "--on", "2027-06-02", "--json").data
    assert (again["tax"], again["late_payment_of"]) == ("0.00", unpaid)


def test_what_was_invoiced_for_lateness_is_not_demanded_again(bizkit, unpaid, charged):
    # 1,000 at 8.5 %: 142 days to 20 August are 33.07, 50 of them (11.64) and the compensation were invoiced.
    (first, second) = bizkit("late", "list", "--on", "2027-05-20", "--json").data["late"] + [None]
    assert (first["interest"], first["compensation"], second) == ("0.00", "0.00", None)
    rows = {row["number"]: row for row in bizkit("late", "list", "--on", "2027-08-20", "--json").data["late"]}
    assert (rows[unpaid]["interest"], rows[unpaid]["compensation"]) == ("21.43", "0.00")
    none = bizkit("late", "remind", unpaid, "--step", "firm", "--on", "2027-05-20", "--json").data
    assert (none["interest"], none["compensation"], none["total"]) == ("0.00", "0.00", "1000.00")
    assert "Interest for late payment" not in text_of(none["file"])
    bizkit("invoice", "paid", charged, "--on", "2027-06-01")
    done = bizkit("late", "remind", unpaid, "--step", "final", "--on", "2027-08-20", "--json").data
    assert (done["interest"], done["compensation"], done["total"]) == ("21.43", "0.00", "1021.43")
    text = text_of(done["file"])
    assert "That makes £33.07; £11.64 of it was invoiced before." in text
    assert "Compensation for late payment" not in text
    bizkit("invoice", "credit", charged, "--reason", "as a favour", "--on", "2027-08-21")
    (row,) = (one for one in bizkit("late", "list", "--on", "2027-08-21", "--json").data["late"])
    assert (row["number"], row["compensation"]) == (unpaid, "70.00")


def test_what_was_invoiced_later_counts_from_its_day(bizkit, unpaid, charged):
    (row,) = bizkit("late", "list", "--on", "2027-05-19", "--json").data["late"]
    assert (row["interest"], row["compensation"]) == ("11.41", "70.00")


@pytest.mark.parametrize("said", ["", 'interest = "statutory"\n', 'interest = "none"\n'])
def test_a_rate_that_nothing_would_charge_is_told(bizkit, studio, said):
    with (studio / "studio.toml").open("a", encoding="utf-8") as file:
        file.write(f"\n[late]\n{said}rate = 8\n")
    done = bizkit("status")
    assert (done.code, len(done.err.splitlines())) == (2, 1)
    assert 'studio.toml: late.interest: wanted interest = "contract" beside an agreed rate' in done.err
