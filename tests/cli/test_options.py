"""Options in one quote, accepted by choice; revisions compared; the floor that only the studio sees."""

from __future__ import annotations

from decimal import Decimal
from pathlib import Path

import pypdf
import pytest

BRIEF = "follow-the-kelp"

OPTIONS = """
[options.shore]
kind = "choice"
title = "A: shore and snorkel"

[options.deep]
kind = "choice"
title = "B: a visitor film more"
summary = "A second film of two minutes."
[[options.deep.post]]
work = "edit"
days = 5
[[options.deep.deliverables]]
key = "visitor-film"
title = "Visitor centre film"
kind = "film"
due_days = 30

[options.crane]
kind = "addon"
title = "Shore crane for the sauna evening"
[[options.crane.costs]]
kind = "boat"
title = "Barge for the crane"
cost = 100
at_cost = true
"""

# income 34,000 / (1 - 0.32) = 50,000; with 14,000 of costs 64,000 a year; / 200 days = 320 a day
FLOOR = """
income = 34000
tax_percent = 24
pension_percent = 8
billable_days = 200
[costs]
insurance = 4000
premises = 10000
"""


def text_of(path: str | Path) -> str:
    return " ".join(" ".join(page.extract_text() for page in pypdf.PdfReader(path).pages).split())


@pytest.fixture
def with_options(studio):
    path = studio / "briefs" / f"{BRIEF}.toml"
    path.write_text(path.read_text(encoding="utf-8") + OPTIONS, encoding="utf-8")
    return studio


@pytest.fixture
def sent(bizkit, with_options):
    """A sent quote with its choices open."""
    bizkit("quote", "draft", BRIEF, "--on", "2027-01-26")
    return bizkit("quote", "send", BRIEF, "--on", "2027-01-26", "--json").data


def test_a_price_shows_choices_side_by_side_and_an_option_taken_is_priced_by_itself(bizkit, with_options):
    side = bizkit("price", BRIEF, "--json", "--on", "2027-01-26").data
    options = {one["key"]: one for one in side["options"]}
    assert [one["kind"] for one in side["options"]] == ["choice", "choice", "addon"]
    assert side["net"] == options["shore"]["net"]
    assert options["shore"]["difference"] == "0.00"
    taken = bizkit("price", BRIEF, "--option", "deep", "--json", "--on", "2027-01-26").data
    assert (taken["net"], taken["options"], taken["chosen"]) == (options["deep"]["net"], [], ["deep"])
    for one in (*options.values(),):
        assert sum(Decimal(part) for part in one["sections"].values()) == Decimal(one["net"])
        assert Decimal(one["net"]) + Decimal(one["tax"]) == Decimal(one["gross"])
        assert Decimal(one["net"]) - Decimal(side["net"]) == Decimal(one["difference"])
    # 5 more edit days at 380.00 = 1,900.00; the licence of one more film, contingency and discount follow
    assert Decimal(options["deep"]["sections"]["post"]) - Decimal(options["shore"]["sections"]["post"]) == 1900
    # a barge at 100.00 and 5 % contingency on it
    assert options["crane"]["difference"] == "105.00"
    text = bizkit("price", BRIEF, "--on", "2027-01-26").out
    assert "CHOICES, the lines above are with shore" in text
    assert "+ GBP 105.00 net" in text


def test_the_paper_shows_what_each_choice_costs_and_asks_for_a_tick(bizkit, sent):
    text = text_of(sent["file"])
    totals = {one["key"]: f"{Decimal(one['gross']):,.2f}" for one in sent["document"]["options"]}
    assert f"Total, with tax £{totals['shore']} £{totals['deep']}" in text
    assert f"B: a visitor film more: £{totals['deep']}" in text
    assert "A second film of two minutes." in text
    assert "Barge" not in text  # it is no part of the quote as it stands
    assert "Shore crane for the sauna evening 105.00 126.00" in text  # with VAT of 20 %


def test_a_quote_with_open_choices_is_accepted_by_choice_only(bizkit, sent):
    refused = bizkit("quote", "accept", BRIEF, "--on", "2027-02-01")
    assert refused.code == 1
    assert "leaves a choice open: shore, deep: say which was taken with --option" in refused.err
    only_addon = bizkit("quote", "accept", BRIEF, "--option", "crane", "--on", "2027-02-01")
    assert (only_addon.code, "leaves a choice open" in only_addon.err) == (1, True)
    both = bizkit("quote", "accept", BRIEF, "--option", "deep", "--option", "shore", "--on", "2027-02-01")
    assert (both.code, "wanted exactly one of shore, deep, got deep, shore" in both.err) == (2, True)
    unknown = bizkit("quote", "accept", BRIEF, "--option", "dep", "--on", "2027-02-01")
    assert (unknown.code, "Did you mean deep?" in unknown.err) == (2, True)
    assert bizkit("job", "list", "--json").data == []
    assert [row["state"] for row in bizkit("quote", "list", "--json", "--on", "2027-02-01").data] == ["sent"]


def test_what_was_chosen_is_frozen_as_the_revision_that_was_accepted(bizkit, sent):
    accept = ["quote", "accept", BRIEF, "--option", "deep", "--by", "Una Flett", "--on", "2027-02-01"]
    done = bizkit(*accept, "--json").data
    assert (done["revision"], done["chosen"]) == (2, ["B: a visitor film more"])
    quoted = next(one for one in sent["document"]["options"] if one["key"] == "deep")
    assert (done["document"]["net"], done["document"]["gross"]) == (quoted["net"], quoted["gross"])
    assert "Una Flett accepted this on 1 February 2027, out of revision 1" in text_of(done["file"])
    job = bizkit("job", "show", BRIEF, "--json", "--on", "2027-02-01").data
    assert job["net"] == quoted["net"]
    assert "visitor-film" in [one["key"] for one in job["deliverables"]]
    states = [(row["revision"], row["state"]) for row in bizkit("quote", "list", "--json").data]
    assert states == [(1, "replaced"), (2, "accepted")]
    assert bizkit("verify").code == 0


def test_an_option_with_a_licence_of_its_own_says_so_in_the_language_of_the_paper(bizkit, with_options, change):
    brief = with_options / "briefs" / f"{BRIEF}.toml"
    more = '[options.deep.licence]\nmedia = ["cinema"]\nterritory = "Europe"\nmonths = 6\n'
    change(
        brief,
        '[[options.deep.deliverables]]\nkey = "visitor-film"',
        more + '[[options.deep.deliverables]]\nkey = "visitor-film"',
    )
    change(with_options / "rate-card.toml", "online = 1.8", "online = 1.8\ncinema = 2")
    bizkit("quote", "draft", BRIEF, "--on", "2027-01-26")
    sent = bizkit("quote", "send", BRIEF, "--on", "2027-01-26", "--json").data
    assert "cinema" in text_of(sent["file"])
    change(
        with_options / "clients" / "skerrow-islands-tourism.toml", 'country = "GB"', 'language = "de"\ncountry = "GB"'
    )
    change(brief, "quantity = 24", "quantity = 25")
    bizkit("quote", "draft", BRIEF, "--on", "2027-01-26")
    german = text_of(bizkit("quote", "send", BRIEF, "--on", "2027-01-26", "--json").data["file"])
    assert "Nutzung: Kino; Europa; 6 Monate lang" in german


def test_add_ons_are_taken_beside_a_choice(bizkit, sent):
    accept = ["quote", "accept", BRIEF, "--option", "shore", "--option", "crane", "--on", "2027-02-01"]
    done = bizkit(*accept, "--json").data
    crane = next(one for one in sent["document"]["options"] if one["key"] == "crane")
    assert done["document"]["net"] == crane["net"]
    assert done["document"]["chosen"] == ["shore", "crane"]


def test_the_choice_is_priced_from_what_was_sent_not_from_todays_files(bizkit, sent, with_options, change):
    change(with_options / "rate-card.toml", 'title = "Edit"\nday_rate = 380', 'title = "Edit"\nday_rate = 999')
    change(with_options / "briefs" / f"{BRIEF}.toml", "quantity = 24", "quantity = 99")
    done = bizkit("quote", "accept", BRIEF, "--option", "deep", "--on", "2027-02-01", "--json").data
    quoted = next(one for one in sent["document"]["options"] if one["key"] == "deep")
    assert done["document"]["net"] == quoted["net"]


def test_two_revisions_are_compared_line_by_line_and_the_differences_add_up(bizkit, studio, change):
    bizkit("quote", "draft", BRIEF, "--on", "2027-01-26")
    bizkit("quote", "send", BRIEF, "--on", "2027-01-26")
    alone = bizkit("quote", "compare", BRIEF)
    assert (alone.code, "nothing to compare it with" in alone.err) == (1, True)
    brief = studio / "briefs" / f"{BRIEF}.toml"
    change(brief, "quantity = 24", "quantity = 30")
    change(brief, "days = 7\n", "days = 8\n")
    bizkit("quote", "draft", BRIEF, "--on", "2027-02-03")
    draft = bizkit("quote", "compare", "Q-2027-0001", "--json").data
    assert (draft["from"], draft["to"], draft["to_is_draft"]) == (1, 2, True)
    bizkit("quote", "send", BRIEF, "--on", "2027-02-03")
    done = bizkit("quote", "compare", BRIEF, "--from", "1", "--to", "2", "--json").data
    changed = {line["item"]: line for line in done["lines"]}
    edit = changed["Edit: campaign film and cut-downs"]
    assert (edit["before"], edit["after"]) == ("2660.00", "3040.00")  # 7 and 8 days at 380.00
    assert edit["why"].startswith("quantity 7 -> 8 day; amount 2660.00 -> 3040.00")
    assert sum(Decimal(line["difference"]) for line in done["lines"]) == Decimal(done["difference"])
    assert Decimal(done["net_after"]) - Decimal(done["net_before"]) == Decimal(done["difference"])
    (stills,) = [one for one in done["other"] if one["what"] == "deliverable stills"]
    assert stills["before"].startswith("24 x Campaign stills")
    assert stills["after"].startswith("30 x Campaign stills")
    assert "changed post: Edit" in bizkit("quote", "compare", BRIEF).out
    gone = bizkit("quote", "compare", BRIEF, "--from", "1", "--to", "7")
    assert (gone.code, "wanted a known revision, got 7" in gone.err) == (2, True)


# --- the floor


def test_the_floor_is_shown_with_the_roles_that_fall_below_it(bizkit, studio):
    (studio / "floor.toml").unlink()
    missing = bizkit("floor")
    assert (missing.code, "wanted floor.toml" in missing.err) == (2, True)
    (studio / "floor.toml").write_text(FLOOR, encoding="utf-8")
    done = bizkit("floor", "--json").data
    assert (done["rate_per_day"], done["yearly"]) == ("320.00", "64000.00")
    assert [(one["role"], one["short_by"]) for one in done["roles_below"]] == [
        ("assistant", "110.00"),
        ("safety_swimmer", "40.00"),
    ]
    assert "GBP 320.00 a day" in bizkit("floor").out


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("billable_days = 200", "billable_days = 0", "billable_days: wanted more than 0"),
        ("tax_percent = 24", "tax_percent = 95", "pension_percent: wanted tax and pension below 100 together"),
        ("income = 34000", "income = -1", "income: wanted a number of 0 or more, got -1"),
        ("income = 34000", 'currency = "POUNDS"\nincome = 34000', "currency: wanted an ISO 4217"),
        ("income = 34000", 'currency = "EUR"\nincome = 34000', "currency: wanted GBP, the currency of the rate card"),
        ("billable_days", "billable_dayz", "billable_days: wanted"),
    ],
)
def test_a_floor_that_cannot_be_is_refused(bizkit, studio, old, new, said):
    (studio / "floor.toml").write_text(FLOOR.replace(old, new), encoding="utf-8")
    done = bizkit("floor")
    assert done.code == 2
    assert f"floor.toml: {said}" in done.err
    assert len(done.err.splitlines()) == 1


def test_the_studio_sees_its_margin_and_the_client_never_does(bizkit, studio):
    (studio / "floor.toml").write_text(FLOOR, encoding="utf-8")
    draft = bizkit("quote", "draft", BRIEF, "--on", "2027-01-26", "--json").data
    margin = draft["margin"]["margin"]
    assert margin["floor_per_day"] == "320.00"
    left = Decimal(margin["income"]) - Decimal(margin["direct_costs"]) - Decimal(margin["days"]) * 320
    assert Decimal(margin["margin"]) == left.quantize(Decimal("0.01"))
    # the weather plan charges hold days as used: the days waited bring half a day's price each
    assert Decimal(draft["margin"]["with_weather"]["days"]) > Decimal(margin["days"])
    sent = bizkit("quote", "send", BRIEF, "--on", "2027-01-26", "--json").data
    shown = bizkit("quote", "show", BRIEF, "--on", "2027-01-26", "--json").data
    assert shown["margin"] == draft["margin"]
    assert "Margin, for you alone" in bizkit("quote", "show", BRIEF, "--on", "2027-01-26").out
    text = text_of(sent["file"])
    for word in ("margin", "floor", margin["margin"], margin["per_day"]):
        assert word not in text
    assert "margin" not in str(sent["document"])


def test_below_the_floor_a_quote_goes_out_only_for_a_reason(bizkit, studio):
    (studio / "floor.toml").write_text(FLOOR.replace("billable_days = 200", "billable_days = 50"), encoding="utf-8")
    draft = bizkit("quote", "draft", BRIEF, "--on", "2027-01-26")
    assert draft.code == 0
    assert "below the floor" in draft.out
    refused = bizkit("quote", "send", BRIEF, "--on", "2027-01-26")
    assert refused.code == 1
    assert "the floor is GBP 1280.00" in refused.err
    assert bizkit("quote", "list", "--json").data[0]["state"] == "draft"
    done = bizkit("quote", "send", BRIEF, "--reason", "first job with them", "--on", "2027-01-26", "--json")
    assert done.code == 0
    assert done.data["margin"]["below_floor"] is True


def test_a_cheap_choice_below_the_floor_is_named(bizkit, with_options, change):
    (with_options / "floor.toml").write_text(FLOOR, encoding="utf-8")
    change(
        with_options / "briefs" / f"{BRIEF}.toml",
        'title = "B: a visitor film more"',
        'title = "B"\n[[options.deep.costs]]\nkind = "boat"\ncost = 90000\nat_cost = true\n[options.deep.x]\n',
    )
    assert bizkit("price", BRIEF).code == 2  # an unknown key is refused
    brief = with_options / "briefs" / f"{BRIEF}.toml"
    brief.write_text(brief.read_text(encoding="utf-8").replace("[options.deep.x]\n", ""), encoding="utf-8")
    change(brief, 'summary = "A second film of two minutes."\n', "")
    change(brief, "contingency_percent = 5", "contingency_percent = 0")
    change(brief, 'work = "edit"\ndays = 5', 'work = "edit"\ndays = 300')
    change(with_options / "rate-card.toml", 'title = "Edit"\nday_rate = 380', 'title = "Edit"\nday_rate = 180')
    draft = bizkit("quote", "draft", BRIEF, "--on", "2027-01-26", "--json").data
    assert draft["margin"]["margin"]["below_floor"] is False
    assert draft["margin"]["warning"].startswith("option deep: below the floor")
    assert bizkit("quote", "send", BRIEF, "--on", "2027-01-26").code == 1
