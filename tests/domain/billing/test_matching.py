"""Which invoice a sum on the statement may be for."""

from datetime import date

from bizkit.domain.billing.matching import BankEntry, Candidate, alike, suggest
from bizkit.domain.billing.payment import Owed
from bizkit.domain.money import Money


def owed(number, left, client="Skerrow Islands Tourism", issued=date(2027, 5, 10), reference="", currency="GBP"):
    money = Money(left, currency)
    return Candidate(Owed(number, issued, date(2027, 6, 9), money), money, client, reference)


def came(amount, text="", name="", reference="", currency="GBP", **more):
    return BankEntry("id-1", date(2027, 6, 1), Money(amount, currency), name, text, reference, **more)


KELP, GULL = owed("GL-2027-0001", "1455.49"), owed("GL-2027-0011", "300")


def test_number_amount_and_name_together_make_a_full_score():
    (best,) = suggest(came("1455.49", "inv gl 2027/0001 thanks", "SKERROW ISLANDS TOURISM LTD"), [KELP, GULL])
    assert best.parts == (("GL-2027-0001", Money("1455.49", "GBP")),)
    assert best.score == 100
    assert best.why == (
        "names GL-2027-0001",
        "is exactly the GBP 1455.49 left",
        "comes from Skerrow Islands Tourism",
    )


def test_a_number_followed_by_a_date_is_still_found_and_a_longer_number_is_not():
    assert suggest(came("1", "GL-2027-0001 01.06.2027"), [KELP])
    assert not suggest(came("1", "GL-2027-00012"), [KELP])
    assert not suggest(came("1", "2GL"), [owed("2", "5")])


def test_the_structured_reference_counts_as_the_number():
    candidate = owed("GL-2027-0001", "10", reference="RF18539007547034")
    assert suggest(came("10", reference="RF18 5390 0754 7034"), [candidate])[0].score == 90


def test_too_little_or_too_much_is_said():
    (part,) = suggest(came("1000", "GL-2027-0001"), [KELP])
    assert part.parts[0][1].text == "1000.00"
    assert "is less than the GBP 1455.49 left" in part.why
    (over,) = suggest(came("2000", "GL-2027-0001"), [KELP])
    assert over.parts[0][1].text == "1455.49"
    assert "is more than the GBP 1455.49 left" in over.why


def test_two_invoices_of_a_client_that_add_up_are_suggested_together():
    found = suggest(came("1755.49", "two invoices", "Skerrow Islands Tourism"), [KELP, GULL])
    assert found[0].parts == (("GL-2027-0001", Money("1455.49", "GBP")), ("GL-2027-0011", Money("300", "GBP")))
    assert found[0].score == 40


def test_nothing_is_suggested_for_what_was_booked_went_out_came_early_or_is_other_money():
    entry = came("1455.49", "GL-2027-0001")
    assert suggest(entry, [KELP], {"id-1"}) == []
    assert suggest(came("-1455.49", "GL-2027-0001"), [KELP]) == []
    assert suggest(entry, [owed("GL-2027-0001", "1455.49", issued=date(2027, 6, 2))]) == []
    assert suggest(entry, [owed("GL-2027-0001", "1455.49", currency="EUR")]) == []
    assert suggest(came("7", name="Skerrow Islands Tourism"), [KELP]) == []


def test_money_converted_by_the_bank_matches_what_was_sent():
    dollars = owed("GL-2027-0002", "1600", currency="USD")
    (found,) = suggest(came("1200", original=Money("1600", "USD")), [dollars])
    assert found.parts == (("GL-2027-0002", Money("1600", "USD")),)


def test_names_are_alike_without_accents_and_legal_forms():
    assert alike("Möwen GmbH", "MOWEN")
    assert alike("Kelp and Co", "Kelp & Co Ltd")
    assert not alike("Kelp", "Gull")
    assert not alike("", "Gull")
    assert not alike("Ltd", "Limited")
