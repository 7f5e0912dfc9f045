"""`papers form`: every paper of a job, filled in by the book and a file of details, read back."""

from __future__ import annotations

import pypdf
import pytest

JOB = "follow-the-kelp"
CARD = """
back_by = 13:30:00
limits = ["swell over 1 m", "less than 5 m of sight"]
exits = ["Slip at the head of the sound", "Sand on the east side below half tide"]

[call_out]
time = "14:00"
number = "999, ask for the coastguard"

[ashore]
name = "Una Flett"
phone = "07700 900144"

[[team]]
name = "Ailsa Gannet"
how = "breath_hold"
swims = "strong, holds breath to 8 m"
contact = "07700 900112"

[[team]]
name = "Brodie Lunn"
how = "snorkel"
swims = "lifeguard"
contact = "07700 900113"

[[tides]]
what = "High water"
time = "10:40"
height = "4.1 m"

[[light]]
what = "Sunset"
time = 21:32:00
"""


def text_of(path):
    return " ".join(" ".join(page.extract_text() for page in pypdf.PdfReader(path).pages).split())


@pytest.fixture
def card(tmp_path):
    path = tmp_path / "card.toml"
    path.write_text(CARD, encoding="utf-8")
    return path


@pytest.fixture
def form(bizkit, job):
    def write(kind, *more):
        done = bizkit("papers", "form", kind, JOB, *more, "--on", "2027-05-01", "--json")
        assert done.code == 0, done.err
        return text_of(done.data["file"]), done.data

    return write


@pytest.mark.parametrize("language", ["en", "de"])
def test_every_paper_is_written_in_both_languages_from_what_the_book_knows(bizkit, form, language):
    kinds = bizkit("papers", "kinds", "--json").data
    assert len(kinds) == 9
    for kind in kinds:
        text, _ = form(kind, "--language", language)
        assert "Gannet & Lark Films" in text, kind
        assert ("Seite 1 von" if language == "de" else "Page 1 of") in text, kind


def test_the_water_day_card_says_who_how_until_when_and_whom_to_call(form, card):
    text, data = form("water_day_card", "--day", "2027-05-12", "--details", card)
    for said in (
        "Kelp trail, Otter Sound", "12 May 2027", "13:30", "14:00", "999, ask for the coastguard", "Una Flett",
        "07700 900144", "Ailsa Gannet", "holding the breath", "mask and snorkel", "strong, holds breath to 8 m",
        "High water", "10:40", "4.1 m", "Sunset", "21:32", "swell over 1 m", "Slip at the head of the sound",
        "No fast breathing before going under", "Always check your local rules",
    ):  # fmt: skip
        assert said in text, said
    # Compressed gas is cautioned about, but the caution for those who breathe it is for them.
    assert "Diving at Work Regulations 1997" not in text
    assert data["warnings"] == []


def test_a_person_ashore_who_films_that_day_is_told_of(form, card):
    card.write_text(CARD.replace('name = "Una Flett"', 'name = "Rowan Lark"'), encoding="utf-8")
    _, data = form("water_day_card", "--day", "2027-05-12", "--details", card)
    assert data["warnings"] == [
        "Rowan Lark is Camera, Drone pilot on 2027-05-12 by the quote: who watches from the shore does nothing else, "
        "so write down somebody who is free"
    ]


def test_compressed_gas_prints_the_caution_of_diving_at_work(form, card):
    """Diving at Work Regulations 1997 reg. 2: at work, breathing gas above atmospheric pressure, self-employed
    included; snorkel and breath-hold fall outside."""
    card.write_text(CARD.replace('how = "snorkel"', 'how = "compressed_gas"'), encoding="utf-8")
    text, data = form("water_day_card", "--day", "2027-05-12", "--details", card)
    assert "Diving at Work Regulations 1997, the self-employed included" in text
    assert [one for one in data["warnings"] if one.startswith("Brodie Lunn breathes compressed gas")]


def test_a_card_says_what_is_still_to_be_written_before_anybody_goes_in(form):
    _, data = form("water_day_card")
    (missing,) = [one for one in data["warnings"] if one.startswith("to be written")]
    assert missing == (
        "to be written before anybody goes in: who is ashore and knows, when everybody is back, when to call for "
        "help, whom to call, the ways out of the water, the limits of conditions"
    )


def test_what_a_card_must_not_get_wrong(bizkit, job, card):
    for old, new, code, said in (
        ('time = "14:00"', 'time = "13:00"', 2, "call_out.time: wanted a call-out time after 13:30"),
        ('time = "14:00"', 'time = "2 pm"', 2, "call_out.time: wanted a time such as 14:30, got 2 pm"),
        ('how = "snorkel"', 'how = "scuba"', 2, "team[2].how: wanted one of none, snorkel, breath_hold"),
        ('name = "Una Flett"', 'name = "Brodie Lunn"', 1, "cannot be in the water and be the person ashore"),
        ("back_by = 13:30:00", 'back_bye = "13:30"', 2, "wanted a known key, got back_bye. Did you mean back_by?"),
        ("[ashore]", "[ashore]\nphoen = 1", 2, "ashore: wanted a known key, got phoen. Did you mean phone?"),
        ('height = "4.1 m"', 'heigth = "4.1 m"', 2, "tides[1]: wanted a known key, got heigth. Did you mean height?"),
    ):
        card.write_text(CARD.replace(old, new), encoding="utf-8")
        done = bizkit("papers", "form", "water_day_card", JOB, "--details", card)
        assert done.code == code, done.err
        assert said in done.err, done.err


def test_the_drone_record_takes_ids_insurance_and_permissions_from_the_book(bizkit, form, clear, tmp_path):
    for kind, about, number, until in (
        ("pilot_id", "Rowan Lark", "GBR-RP-EXAMPLE", "2031-02-01"),
        ("operator_id", "Gannet & Lark Films", "GBR-OP-EXAMPLE", "2028-02-01"),
        ("insurance", "Example Mutual", "EM-7", "2027-12-31"),
    ):
        bizkit(
            "holding", "add", clear, "--kind", kind, "--about", about, "--number", number, "--from", "2027-02-01",
            "--until", until, "--on", "2027-05-01",
        )  # fmt: skip
    details = tmp_path / "drone.toml"
    details.write_text(
        '[aircraft]\nname = "Quadcopter"\nweight_g = 895\nclass = "C1"\n[flight]\nplanned_height_m = 80\n', "utf-8"
    )
    text, data = form("drone_record", "--day", "2027-05-11", "--details", details)
    for said in (
        "Seabird cliff, Kittiwake Head", "Rowan Lark", "GBR-RP-EXAMPLE", "GBR-OP-EXAMPLE", "Example Mutual", "EM-7",
        "895 g", "C1", "120 m", "planned 80 m", "Kittiwake Head Trust", "Always check your local rules",
    ):  # fmt: skip
        assert said in text, said
    assert data["warnings"] == []


def test_a_drone_record_warns_of_what_ended_and_refuses_a_flight_above_its_limit(bizkit, job, form, tmp_path):
    details = tmp_path / "drone.toml"
    details.write_text(
        '[aircraft]\nweight_g = "895"\n[insurance]\ninsurer = "Example Mutual"\nuntil = 2027-05-10\n', "utf-8"
    )
    _, data = form("drone_record", "--day", "2027-05-11", "--details", details)
    assert "the insurance ended on 2027-05-10, before the flight on 2027-05-11" in data["warnings"]
    for text, code, said in (
        ("[flight]\nplanned_height_m = 121\n", 1, "planned at 121 m, above the limit of 120 m"),
        ('[aircraft]\nweight_g = "light"\n', 2, "aircraft.weight_g: wanted a weight in grams, got light"),
        ("[flight]\nplanned_height_m = 80.5\n", 2, "flight.planned_height_m: wanted a whole number"),
    ):
        details.write_text(text, "utf-8")
        done = bizkit("papers", "form", "drone_record", JOB, "--details", details)
        assert (done.code, said in done.err) == (code, True), done.err


def test_a_crew_assignment_knows_days_and_role_and_a_cue_sheet_the_tunes_on_file(form, hold):
    text, _ = form("crew_assignment", "--about", "Brodie Lunn")
    for said in ("Safety swimmer", "10 May 2027", "12 May 2027", "assigns to Gannet & Lark Films the copyright"):
        assert said in text, said
    assert "11 May 2027" not in text
    hold("music", "Slack Water", "--by", "Mairi Eider", "--media", "online", "--where", "Europe")
    text, _ = form("cue_sheet", "--about", "Campaign film")
    for said in ("Campaign film", "Slack Water", "Mairi Eider", "a licence for the one is none for the other"):
        assert said in text, said


def test_a_cue_sheet_names_who_wrote_it_and_as_licence_what_holds(bizkit, form, hold):
    terms = ("--media", "online", "--where", "Europe")
    first = hold("composition", "Slack Water", "--by", "Mairi Eider", *terms)
    hold("composition", "Slack Water", "--by", "Erlend Tern", *terms)
    recorded = hold("recording", "Slack Water", "--by", "Selkie Records Ltd", *terms)
    done = bizkit("holding", "withdraw", "follow-the-kelp", first["id"], "--reason", "asked", "--on", "2027-06-01")
    assert done.code == 0, done.err
    text, data = form("cue_sheet", "--about", "Campaign film")
    for said in ("Mairi Eider", "Erlend Tern", "Recording: Selkie Records Ltd", f"{recorded['id']}"):
        assert said in text, said
    assert "Performed by" not in text
    (look,) = data["warnings"]
    assert look.startswith("Slack Water: its composition is not licensed: ")
    hold("composition", "Slack Water", "--by", "Mairi Eider", *terms, signed="2027-06-02", on="2027-06-02")
    assert form("cue_sheet", "--about", "Campaign film")[1]["warnings"] == []


def test_places_that_hold_commas_stand_on_lines_of_their_own(form):
    for kind in ("model_release", "performer_consent", "crowd_notice"):
        for language in ("en", "de"):
            _, data = form(kind, "--language", language)
            lines = "\n".join(page.extract_text() for page in pypdf.PdfReader(data["file"]).pages).splitlines()
            for place in ("Seabird cliff, Kittiwake Head", "Shore sauna, Selkie Bay"):
                assert place in [line.strip() for line in lines], (kind, language)


def test_a_release_for_one_shoot_day_names_that_day_and_its_place_alone(bizkit, form, job):
    text, _ = form("model_release", "--about", "Finn Sinclair", "--under-18", "--day", "2027-05-12")
    short = bizkit("release", "form", job, "--who", "Finn Sinclair", "--under-18", "--day", "2027-05-12", "--json")
    assert short.code == 0, short.err
    for said in (text, text_of(short.data["file"])):
        assert "When 12 May 2027 Where Kelp trail, Otter Sound What" in said
        assert "Shore sauna" not in said
    other = bizkit("release", "form", job, "--who", "Finn Sinclair", "--day", "2027-05-09")
    assert (other.code, "--day: wanted a known shoot day of the job, got 2027-05-09" in other.err) == (2, True)


def test_the_table_of_limits_has_its_heading_on_every_release(form):
    for kind in ("model_release", "performer_consent", "location_permission", "property_release"):
        for language, heading, first in (("en", "The limits", "Shown in"), ("de", "Die Grenzen", "Worin")):
            _, data = form(kind, "--language", language)
            (page,) = [text for one in pypdf.PdfReader(data["file"]).pages if heading in (text := one.extract_text())]
            assert first in page, (kind, language)
            assert " ".join(page[page.index(heading) :].split()).startswith(f"{heading} {first}"), (kind, language)


def test_every_kind_has_an_empty_file_of_details_that_reads_back(bizkit, job, tmp_path):
    import tomllib

    for kind in bizkit("papers", "kinds", "--json").data:
        sample = bizkit("papers", "details", kind)
        assert sample.code == 0
        assert tomllib.loads(sample.out)
    unknown = bizkit("papers", "form", "water_day", JOB)
    assert (unknown.code, "Did you mean water_day_card?" in unknown.err) == (2, True)
    other = bizkit("papers", "form", "water_day_card", JOB, "--day", "2027-05-09")
    assert "--day: wanted a known shoot day of the job, got 2027-05-09" in other.err


def test_what_hangs_at_the_place_tells_passers_by_nothing_that_is_for_the_studio(form, bizkit):
    text, _ = form("crowd_notice", "--about", "Shore sauna, Selkie Bay")
    assert "Please keep clear of kit" in text
    assert "permit" not in text
    assert "Always check" not in text
    done = bizkit("papers", "form", "crowd_notice", JOB, "--about", "Shore sauna, Selkie Bay", "--out", "again.pdf")
    assert "Look: check the local rules before you film in public: some places ask for a permit" in done.out


def test_a_studio_words_a_paper_its_own_way(form, studio):
    own = studio / "templates" / "papers" / "en"
    own.mkdir(parents=True)
    (own / "crowd_notice.xml.j2").write_text(
        '<paper title="Notice" subject="x"><para>Our own notice at {{ shoot.places | join(", ") }}</para></paper>',
        "utf-8",
    )
    text, _ = form("crowd_notice", "--about", "Shore sauna, Selkie Bay")
    assert text.startswith("Our own notice at Shore sauna, Selkie Bay")


@pytest.mark.parametrize("kind", ["model_release", "performer_consent"])
def test_who_consents_reads_before_signing_that_it_can_be_taken_back(form, kind):
    """UK GDPR Article 7(3): told before giving it, as easily as given, earlier use stays lawful; Article 13(2)(b)."""
    text, _ = form(kind, "--about", "Finn Sinclair")
    said = (
        "You may take your consent back at any time, as easily as you gave it: write to hello@gannetandlark.example."
    )
    assert said in text
    assert text.index(said) < text.rindex("Signed")
    for right in ("have a copy", "corrected, limited or erased", "object to it", "complain to the data protection"):
        assert right in text, right
    text, _ = form(kind, "--about", "Finn Sinclair", "--language", "de")
    assert "Ihre Einwilligung können Sie jederzeit widerrufen, so einfach, wie Sie sie geben" in text
    assert "to show that" not in text


def test_what_nobody_has_said_is_a_line_to_write_on_and_no_declaration(form):
    text, _ = form("crew_assignment")
    assert "The person named above assigns to Gannet & Lark Films the copyright" in text
    for broken in ("1. assigns", "is 's own work", "Signature of", "nothing."):
        assert broken not in text, broken
    text, _ = form("crew_assignment", "--language", "de")
    assert "Die oben genannte Person überträgt" in text
    text, _ = form("property_release", "--about", "The yawl Fulmar")
    for answered in ("none known", "No fee is agreed"):
        assert answered not in text, answered
    assert "Rights of others" in text
