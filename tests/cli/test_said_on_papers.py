"""What a client reads on a quote beside its lines, and what the studio is told that its law wants said."""

from __future__ import annotations

from datetime import date

import pypdf
import pytest

from bizkit.services.billing import look_ahead

CLIENT = "clients/skerrow-islands-tourism.toml"
DRAFT = ("quote", "draft", "follow-the-kelp", "--on", "2027-02-01")


def text_of(path):
    return " ".join(" ".join(page.extract_text() for page in pypdf.PdfReader(path).pages).split())


def sent(bizkit, on="2027-02-01"):
    bizkit("quote", "draft", "follow-the-kelp", "--on", on)
    return bizkit("quote", "send", "follow-the-kelp", "--on", on, "--json").data


def test_a_share_of_other_lines_says_which_and_of_what(bizkit, studio):
    quote = sent(bizkit)
    text = text_of(quote["file"])
    assert "Contingency 5% of crew, kit hire, travel and expenses, post-production" in text
    # The starter's brief: contingency_percent = 5, a discount of 5 %; its card: insurance_percent_of_hire = 6.
    assert "Kit insurance 6% of kit hire" in text
    shares = [line.get("percent") for line in quote["document"]["lines"] if line["unit"] == "flat"]
    assert sorted(one for one in shares if one) == ["5", "5", "6"]


def test_a_consumer_is_told_of_the_right_to_withdraw_in_the_studios_words(bizkit, studio, change):
    change(studio / CLIENT, "business = true", "business = false")
    told = [line for line in bizkit(*DRAFT).out.splitlines() if line.startswith("Look: ")]
    missing = [line for line in told if "may withdraw for 14 days" in line]
    assert len(missing) == 1
    assert "SI 2013/3134" in missing[0]
    assert "write withdrawal under [quote] of templates/wording/en.toml" in missing[0]
    assert [line for line in told if "express request" in line]
    own = studio / "templates" / "wording" / "en.toml"
    own.parent.mkdir(parents=True)
    own.write_text('[quote]\nwithdrawal = """\nYou may cancel within 14 days.\nWrite to us."""\n', encoding="utf-8")
    again = bizkit(*DRAFT).out
    assert "may withdraw for 14 days" not in again
    assert "express request" in again
    quote = bizkit("quote", "send", "follow-the-kelp", "--on", "2027-02-01", "--json").data
    assert "change your mind You may cancel within 14 days. Write to us." in text_of(quote["file"]).replace(
        "If you", ""
    )


def test_a_business_is_told_nothing_of_it(bizkit, studio):
    assert "withdraw" not in bizkit(*DRAFT).out
    assert "withdrawal" not in sent(bizkit)["document"]


@pytest.mark.parametrize(("on", "small", "wanted"), [
    ("2026-12-31", False, False), ("2027-12-31", True, False), ("2027-12-31", False, True),
    ("2028-01-01", True, True),
])  # fmt: skip
def test_from_when_a_german_invoice_must_be_electronic(bizkit, tmp_path, monkeypatch, on, small, wanted):
    """UStG § 27 Abs. 38: paper until the end of 2026; until the end of 2027 up to 800,000 euros the year before."""
    folder = tmp_path / "german"
    assert bizkit("init", folder, "--practice", "--starter", "eur-de").code == 0
    monkeypatch.chdir(folder)
    if not small:
        monkeypatch.setattr(look_ahead, "_turned_over", lambda work, year: look_ahead.Money("800000.01", "EUR"))
    told = bizkit("quote", "draft", "seegras-im-bodden", "--on", date.fromisoformat(on)).out
    assert ("invoices to a business at home are electronic" in told) is wanted
    if wanted and not small:
        assert "you turned over EUR 800000.01 in 2026, more than EUR 800000" in told
