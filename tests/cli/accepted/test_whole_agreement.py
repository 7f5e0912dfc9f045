"""The quote is the whole agreement: whatever may be billed later stands on its paper, or needs a fresh yes."""

from __future__ import annotations

import ast
import re
import subprocess
from pathlib import Path

import pypdf
import pytest

import bizkit
from bizkit.domain.billing.agreed import ASKED, PRICED_LATER, STATED

KEY = "follow-the-kelp"
QUOTE = "Q-2027-0001"


def words_of(path, *, first=1, last=99) -> str:
    """The text of a paper as poppler reads it, row by row and then column by column, in one line."""
    found = []
    for order in ("-layout", "-raw"):
        command = ["pdftotext", order, "-f", str(first), "-l", str(last), str(path), "-"]
        found.append(subprocess.run(command, capture_output=True, check=True, text=True).stdout)
    return " ".join(" ".join(found).replace("\N{NO-BREAK SPACE}", " ").split())


def kinds_in_code() -> set[str]:
    """Every kind that some service keeps a charge as, read from the calls themselves."""
    position = {"put_charges": 3, "put_difference": 3}
    found = set()
    for path in Path(bizkit.__file__).parent.joinpath("services").rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if not (isinstance(node, ast.Call) and isinstance(node.func, ast.Name)):
                continue
            given = [one.value for one in node.keywords if one.arg == "kind" and node.func.id == "add_charge"]
            if node.func.id in position:
                given = [node.args[position[node.func.id]]]
            found |= {one.value for one in given if isinstance(one, ast.Constant)}
    return found


#: Kind of charge -> what the paper says of it, in English and in German.
ON_PAPER = {
    "overrun": (
        ["In GBP, an hour beyond a day of 10 h of work first 3 h after 3 h", "Safety swimmer 42.00 56.00",
         "Hours between 22:00 and 06:00 cost 50% of the basic hour more",
         "hours that are missing cost 1.5, then 2, then 3 times the basic hour"],
        ["In EUR, eine Stunde über 10 Stunden Arbeit hinaus", "Rettungsschwimmer 40,00 48,00",
         "Ein halber Tag von mehr als 5 Stunden ist ein ganzer", "fehlende Stunden kosten das 1,5-fache"],
    ),
    "hold day": (
        ["Each hold day used is charged at £1,114.00", "at most £3,342.00 plus VAT for all 3 of them",
         "A hold day beyond that costs the same",
         "A hold day is used when the weather moves a shoot day on whose date crew and kit wait in vain; its price "
         "is for that waiting alone.",
         "what that date costs more, such as a Saturday or a Sunday, comes on top."],
        ["Jeder genutzte Vorhaltetag kostet 1.312,45 €", "netto angegeben, zzgl. USt.",
         "Ein weiterer kostet dasselbe",
         "Ein Vorhaltetag ist genutzt, wenn das Wetter einen Drehtag verlegt", "kommt hinzu"],
    ),
    "moved day": (
        ["A day that moves to a dearer date costs the difference: crew cost 25% more on Saturdays, 50% on Sundays, "
         "100% on public holidays"],
        ["Ein Tag, der auf ein teureres Datum rückt, kostet den Unterschied"],
    ),
    "cancellation": (
        ["Notice before the first shoot day If you cancel If you postpone", "10 working days or more 0% 0%",
         "5 to 9 working days 25% 0%", "2 to 4 working days 60% 25%", "1 working day or less 100% 50%",
         "A share of the net price of crew and kit of the days still to come, less their discount; VAT is added",
         "Whoever cancels also pays for post-production its share of the price by what is done of it, and in full "
         "for days worked, hold days used and costs already spent"],
        ["Frist vor jedem Drehtag Bei Absage Bei Verschiebung", "14 Tage oder mehr 0 % 0 %",
         "2 Tage oder weniger 90 % 90 %", "Anteil am Nettopreis von Team und Gerät"],
    ),
    "postponement": (
        ["whoever postpones for costs spent in vain", "To move one day is to postpone that day"],
        ["Einen Tag zu verlegen heißt, diesen Tag zu verschieben"],
    ),
    "late": (
        ["Every invoice is to be paid within 30 days.",
         "After that, interest runs by statute: 8% a year over the Bank of England rate",
         "The fixed sum of that law is added, £40.00 to £100.00 by the size of the debt"],
        ["Jede Rechnung ist binnen 14 Tagen zu zahlen.", "9 Prozentpunkte im Jahr über dem Basiszinssatz",
         "gesetzliche Pauschale von 40,00 €"],
    ),
    "round": (
        ["A further one costs £180.00 plus VAT and begins with your yes"],
        ["Eine weitere kostet 220,00 € zzgl. USt. und beginnt mit Ihrem Ja"],
    ),
    "cost": (
        ["We charge only what stands in this quote. Anything else, such as costs that are not listed or more cuts, "
         "needs your yes to its price first. Prices here are net; VAT is added."],
        ["Alles andere, etwa nicht aufgeführte Kosten oder weitere Schnitte, braucht vorher Ihr Ja zum Preis. Die "
         "Preise hier sind netto; die USt. kommt hinzu."],
    ),
}  # fmt: skip
ON_PAPER["agreed"] = ON_PAPER["cost"]


@pytest.fixture
def sent(bizkit, studio):
    """Sends the sample quote; returns what came of it."""

    def send(key=KEY, on="2027-01-26"):
        for command in ("draft", "send"):
            done = bizkit("quote", command, key, "--on", on, "--json")
            assert done.code == 0, done.err
        return done.data

    return send


def test_every_way_a_charge_can_come_about_is_known():
    assert kinds_in_code() == set(STATED) | set(ASKED) | set(PRICED_LATER)
    # Of what gives something back, or is billed again, nothing needs to be said again.
    assert set(ON_PAPER) == kinds_in_code() - {"credit", "again"}


@pytest.mark.parametrize("kind", ON_PAPER)
def test_every_way_stands_on_the_paper_in_english(sent, kind):
    text = words_of(sent()["file"])
    for sentence in ON_PAPER[kind][0]:
        assert sentence in text


@pytest.mark.parametrize("kind", ON_PAPER)
def test_every_way_stands_on_the_paper_in_german(bizkit, tmp_path, monkeypatch, kind):
    bizkit("init", tmp_path / "studio", "--starter", "eur-de", "--practice")
    monkeypatch.chdir(tmp_path / "studio")
    for command in ("draft", "send"):
        done = bizkit("quote", command, "seegras-im-bodden", "--on", "2027-01-26", "--json")
    text = words_of(done.data["file"])
    for sentence in ON_PAPER[kind][1]:
        assert sentence in text


def test_what_is_billed_is_what_the_paper_says(bizkit, job):
    """The overtime printed, the hold day printed, the row of the scale printed: no yes is asked for again."""
    late = ["--call", "06:00", "--wrap", "22:00", "--on", "2027-05-11"]
    assert bizkit("day", "log", job, "2027-05-11", "--who", "Rowan Lark", *late).code == 0
    (over,) = bizkit("charge", "list", job, "--json").data["charges"]
    # 06:00 to 22:00 less an hour is 15 h: 5 beyond the day of 10, 2 of them in the quote. Of 88.50 and 118.00 an
    # hour: 3 x 88.50 + 2 x 118.00 less the 2 x 88.50 quoted.
    assert over["amount"] == "324.50"
    # 12 May moves 3 days on for the weather: one hold day at the rate printed, and Saturday's 25 % of crew
    moved = bizkit("day", "move", job, "2027-05-12", "--to", "2027-05-15", "--on", "2027-05-11", "--json").data
    assert moved["charge"]["amount"] == "1114.00"
    assert [row["difference"] for row in moved["dearer"]] == ["385.50"]  # (672 + 590 + 280) x 25 %
    bill = bizkit("invoice", "issue", job, "--charges", "--on", "2027-05-16", "--json")
    assert bill.code == 0, bill.err
    assert len(bill.data["document"]["lines"]) == 3


@pytest.mark.parametrize(
    ("on", "row"),
    # Working days before Monday 10 May 2027, the day of notice counted; 3 May is a bank holiday in Scotland.
    [("2027-04-23", 0), ("2027-04-28", 1), ("2027-05-05", 2), ("2027-05-07", 3)],
)
def test_the_fee_is_that_of_the_row_printed(bizkit, job, on, row):
    extras = bizkit("quote", "show", job, "--json").data["document"]["extras"]
    percent = extras["notice"]["rows"][row]["cancelled"]
    done = bizkit("quote", "cancel", job, "--preview", "--on", on, "--json").data
    said = {found for line in done["lines"] for found in re.findall(r"= (\d+)% of", line["why"])}
    assert said == (set() if percent == "0" else {percent})


def test_a_cost_passed_on_waits_for_a_yes_and_keeps_it(bizkit, job):
    bizkit("cost", "add", job, "--kind", "boat", "--amount", "100", "--to-client", "--on", "2027-05-10")
    for what in ("--charges", "--final"):
        refused = bizkit("invoice", "issue", job, what, "--on", "2027-05-11")
        assert refused.code == 1
        assert "revision 1 does not state Boat with skipper GBP 110.00" in refused.err
        assert "--agreed" in refused.err
        assert len(refused.err.splitlines()) == 1
    assert bizkit("invoice", "list", "--json").data == []
    bill = bizkit(
        "invoice", "issue", job, "--charges", "--agreed", "Una Flett, 10 May", "--on", "2027-05-11", "--json"
    )
    assert bill.data["net"] == "110.00"
    (event,) = [
        one["data"] for one in bizkit("job", "show", job, "--json").data["history"] if one["did"] == "agreed"
    ]  # fmt: skip
    assert event == {"items": ["Boat with skipper GBP 110.00"], "agreed": "Una Flett, 10 May"}

    said = ("--to-client", "--agreed", "Una Flett, by phone", "--on", "2027-05-12")
    assert bizkit("cost", "add", job, "--kind", "ferry", "--amount", "50", *said).code == 0
    assert bizkit("invoice", "issue", job, "--charges", "--on", "2027-05-13").code == 0
    alone = bizkit("cost", "add", job, "--kind", "ferry", "--amount", "50", "--agreed", "x", "--on", "2027-05-12")
    assert (alone.code, "--agreed: wanted --to-client with it" in alone.err) == (2, True)


@pytest.fixture
def older(bizkit, studio, sent, monkeypatch):
    """A job whose quote was sent when quotes did not say what may come on top."""
    monkeypatch.setattr("bizkit.domain.quote.extras", lambda *given: None)
    paper = sent()["file"]
    monkeypatch.undo()
    monkeypatch.chdir(studio)
    assert bizkit("quote", "accept", KEY, "--on", "2027-02-08").code == 0
    text = words_of(paper)
    assert "By signing, Skerrow Islands Tourism accepts" in text  # drawn as it was then
    for said in ("What may come on top", "If you cancel or postpone", "plus VAT", "within 30 days"):
        assert said not in text
    return KEY


@pytest.fixture(autouse=True)
def _who(monkeypatch):
    monkeypatch.setenv("BIZKIT_WHO", "Ailsa Gannet")


def test_an_older_quote_bills_overtime_only_with_a_fresh_yes(bizkit, older):
    bizkit("day", "log", older, "2027-05-11", "--call", "06:00", "--wrap", "21:00", "--on", "2027-05-11")
    refused = bizkit("invoice", "issue", older, "--charges", "--on", "2027-05-12")
    assert (refused.code, "does not state" in refused.err) == (1, True)
    done = bizkit("invoice", "issue", older, "--charges", "--agreed", "Una, 11 May", "--on", "2027-05-12")
    assert done.code == 0, done.err


def test_an_older_quote_bills_a_cancellation_only_with_a_fresh_yes(bizkit, older):
    bizkit("invoice", "issue", older, "--on", "2027-02-08")
    bizkit("quote", "cancel", older, "--on", "2027-05-05")
    refused = bizkit("invoice", "settle", older, "--on", "2027-05-06")
    assert (refused.code, "does not state" in refused.err) == (1, True)
    done = bizkit("invoice", "settle", older, "--agreed", "Una, 5 May", "--on", "2027-05-06")
    assert done.code == 0, done.err


#: The bank's rate of the half-year, for interest that starts in the spring of 2027.
RATE = '\n[late]\n[[late.reference_rates]]\non = 2026-12-31\nrate = 4\nsource = "invented"\n'


def test_an_older_quote_bills_lateness_only_with_a_fresh_yes(bizkit, studio, older):
    with (studio / "studio.toml").open("a", encoding="utf-8") as file:
        file.write(RATE)
    bizkit("invoice", "issue", older, "--on", "2027-02-08")
    refused = bizkit("late", "charge", "GL-2027-0001", "--on", "2027-05-01")
    assert (refused.code, "does not state" in refused.err) == (1, True)
    done = bizkit("late", "charge", "GL-2027-0001", "--agreed", "Una, 1 May", "--on", "2027-05-01")
    assert done.code == 0, done.err


def test_a_round_agreed_and_a_price_agreed_by_hand_have_their_yes(bizkit, older):
    bizkit(
        "charge", "add", older, "--what", "A poster", "--amount", "60", "--reason", "Una asked", "--agreed",
        "Una, by mail", "--on", "2027-05-01",
    )  # fmt: skip
    assert bizkit("invoice", "issue", older, "--charges", "--on", "2027-05-02").code == 0


def test_the_terms_of_lateness_are_those_of_the_quote(bizkit, job, studio, change):
    with (studio / "studio.toml").open("a", encoding="utf-8") as file:
        file.write(RATE)
    bizkit("invoice", "issue", job, "--on", "2027-02-08")
    before = bizkit("late", "list", "--on", "2027-05-01", "--json").data
    assert before["late"][0]["interest"] != "0.00"
    terms = 'interest = "contract"\nrate = 24\ncompensation = false\n'
    change(studio / "studio.toml", RATE, RATE.replace("[late]\n", f"[late]\n{terms}"))
    assert bizkit("late", "list", "--on", "2027-05-01", "--json").data == before
    assert bizkit("late", "charge", "GL-2027-0001", "--on", "2027-05-01").code == 0


@pytest.mark.parametrize(
    ("settings", "said", "unsaid"),
    [
        (
            'interest = "contract"\nrate = 9.5',
            "After that, interest runs at 9.5% a year. The fixed sum",
            "by statute",
        ),
        ('interest = "none"\ncompensation = false', "to be paid within 30 days. ", "interest"),
        ("suspends_licence = true", "While an invoice stays unpaid after a last reminder, the licence rests.", "%%"),
    ],
)
def test_the_paper_says_the_studios_own_terms_of_lateness(studio, sent, settings, said, unsaid):
    with (studio / "studio.toml").open("a", encoding="utf-8") as file:
        file.write(f"\n[late]\n{settings}\n")
    text = words_of(sent()["file"])
    assert said.strip() in text
    assert unsaid not in text


def test_a_consumer_is_told_nothing_that_only_businesses_owe(studio, sent, change):
    change(studio / "clients" / "skerrow-islands-tourism.toml", "business = true", "business = false")
    text = words_of(sent()["file"])
    assert "Late Payment of Commercial Debts" not in text
    assert "within 30 days" in text


def test_a_studio_without_tax_adds_none(studio, sent):
    path = studio / "studio.toml"
    text = path.read_text(encoding="utf-8")
    start = text.index("[tax]")
    end = text.index("\n[", start + 1)
    path.write_text(text[:start] + "[tax]\nregistered = false\n" + text[end:], encoding="utf-8")
    text = words_of(sent()["file"])
    assert "No VAT is added" in text
    for said in ("plus VAT", "Prices here are net", "net price"):
        assert said not in text


def test_a_card_that_charges_none_of_it_says_none_of_it(studio, sent):
    path = studio / "rate-card.toml"
    text = path.read_text(encoding="utf-8")
    text = text[: text.index("[cancellation]")]
    gone = ("[[overtime]]", "[night]", "[uplift]", "[rest]", "[[rest.penalty]]", "[late_call]")
    tables = re.split(r"(?m)^(?=\[)", text)
    text = "".join(table for table in tables if not table.startswith(gone))
    path.write_text(text, encoding="utf-8")
    text = words_of(sent()["file"])
    for said in ("If you cancel or postpone", "an hour beyond", "22:00", "Saturdays", "hours of rest"):
        assert said not in text
    assert "We charge only what stands in this quote." in text


def test_people_that_only_an_option_brings_have_their_hour_too(bizkit, studio, played, sent, change):
    brief = studio / "briefs" / "gannet-week.toml"
    brief.write_text((played / "briefs" / "gannet-week.toml").read_text(encoding="utf-8"), encoding="utf-8")
    change(
        brief, "[[options.boat.costs]]",
        '[[options.boat.days]]\ndate = 2027-08-04\nkind = "water"\nhours = 8\n'
        'crew = [{ roles = ["safety_swimmer"] }]\n[[options.boat.costs]]',
    )  # fmt: skip
    text = words_of(sent("gannet-week", "2027-07-01")["file"])
    assert "Safety swimmer 42.00 56.00" in text
    assert "Twelve stills of the birds, on top: £436.80" in text


@pytest.mark.parametrize("size", ["A4", "Letter"])
@pytest.mark.parametrize("lines", [0, 3, 6, 9, 12, 15])
def test_the_signature_never_stands_alone_on_a_page(studio, sent, change, lines, size):
    """However long the price list: what is signed stands over it, the terms or the last of the sections."""
    change(studio / "studio.toml", 'paper_size = "A4"', f'paper_size = "{size}"')
    brief = studio / "briefs" / f"{KEY}.toml"
    more = '[[costs]]\nkind = "location_fee"\ntitle = "Fee {}"\ncost = 10\n\n'
    text = brief.read_text(encoding="utf-8").replace(
        "[[mileage]]", "".join(map(more.format, range(lines))) + "[[mileage]]"
    )
    brief.write_text(text, encoding="utf-8")
    path = sent()["file"]
    pages = len(pypdf.PdfReader(path).pages)
    last = words_of(path, first=pages)
    assert "Signature for Skerrow Islands Tourism" in last
    assert "Rights not named in the licence stay with the studio." in last
