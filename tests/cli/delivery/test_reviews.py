"""Versions, notes with timecodes, answers, rounds, and the round that has to be paid."""

from __future__ import annotations

import shutil
from pathlib import Path

import pypdf
import pytest

FILM = "campaign-film"


@pytest.fixture
def send(bizkit, kelp, tmp_path):
    """`send(n, on)` sends a file of its own as version n."""

    def call(number, on, *options):
        file = tmp_path / f"{kelp}_{FILM}_v{number}.mov"
        file.write_bytes(b"cut %d\n" % number)
        done = bizkit("deliverable", "send", kelp, FILM, file, "--on", on, "--json", *options)
        assert done.err == ""
        return done.data

    return call


def test_notes_are_taken_with_their_timecodes_and_answered_one_by_one(bizkit, kelp, send, tmp_path):
    send(1, "2027-05-28", "--to", "Una Flett", "--how", "download link")
    notes = tmp_path / "notes.txt"
    notes.write_text(
        "Lovely! Three things:\n\n- 0:01 hold the cliff\n  a breath longer\n"
        "- 00:00:01:05 - 00:00:01:20 warmer grade\n",
        "utf-8",
    )
    done = bizkit(
        "deliverable", "notes", kelp, FILM, "--file", notes, "--who", "Una Flett", "--on", "2027-06-01", "--json"
    ).data
    # At 25 frames a second (the spec says so) 0:01 is frame 25, 00:00:01:05 frame 30.
    assert [(one["at"], one["until"], one["frame"]) for one in done["taken"]] == [
        ("", "", None),
        ("00:00:01:00", "", 25),
        ("00:00:01:05", "00:00:01:20", 30),
    ]
    assert done["taken"][1]["text"] == "hold the cliff a breath longer"
    assert (done["rate"], done["rate_from"]) == ("25", "the spec")
    assert (done["state"], done["rounds_used"], done["notes_open"]) == ("notes to answer", 1, 3)

    assert bizkit("deliverable", "answer", kelp, FILM, 2, 3, "--on", "2027-06-02").code == 0
    declined = bizkit("deliverable", "answer", kelp, FILM, 1, "--as", "declined", "--on", "2027-06-02")
    assert declined.code == 2
    assert "--text: wanted words to the client" in declined.err
    bizkit("deliverable", "answer", kelp, FILM, 1, "--as", "asked", "--text", "Which?", "--on", "2027-06-02")
    shown = bizkit("deliverable", "show", kelp, FILM, "--json", "--on", "2027-06-02").data
    assert [(one["number"], one["answer"], one["answer_text"]) for one in shown["remarks"]] == [
        (1, "asked", "Which?"), (2, "done", ""), (3, "done", ""),
    ]  # fmt: skip
    assert shown["notes_open"] == 0
    (version,) = shown["versions"]
    assert (version["sent_to"], version["how"]) == ("Una Flett", "download link")
    assert version["path"] == str(tmp_path / version["file"])
    assert "every note is answered" in bizkit("deliverable", "answer", kelp, FILM).err
    assert "Known: 1, 2, 3" in bizkit("deliverable", "answer", kelp, FILM, 9).err


def test_notes_come_from_a_table_too(bizkit, kelp, send, tmp_path):
    send(1, "2027-05-28")
    table = tmp_path / "notes.csv"
    table.write_text("Time;Comment;By\n0:01;Longer, please;Una Flett\n;Lovely;\n", encoding="utf-8")
    plain = bizkit("deliverable", "notes", kelp, FILM, "--file", table, "--on", "2027-06-01")
    assert plain.code == 2
    assert "notes.csv, line 2: wanted a known column, got timecode" in plain.err
    done = bizkit(
        "deliverable", "notes", kelp, FILM, "--file", table, "--column", "from=Time", "--column", "text=Comment",
        "--column", "who=By", "--on", "2027-06-01", "--json",
    ).data  # fmt: skip
    assert [(one["at"], one["text"], one["who"]) for one in done["taken"]] == [
        ("00:00:01:00", "Longer, please", "Una Flett"),
        ("", "Lovely", ""),
    ]
    assert (
        "Did you mean text?" in bizkit("deliverable", "notes", kelp, FILM, "--file", table, "--column", "txt=A").err
    )


def test_drop_frame_timecodes_are_read_as_the_version_counts(bizkit, kelp, send):
    send(1, "2027-05-28")
    notes = ("deliverable", "notes", kelp, FILM, "--rate", "30000/1001", "--on", "2027-06-01", "--text")
    # SMPTE ST 12-1: 00:01:00;02 is frame 1800; 00:01:00;00 does not exist.
    assert bizkit(*notes, "00:01:00;02 here", "--json").data["taken"][0]["frame"] == 1800
    refused = bizkit(*notes, "00:01:00;00 here")
    assert refused.code == 2
    assert "wanted a timecode that exists, got 00:01:00;00" in refused.err


def test_a_film_that_was_looked_at_gives_its_own_length_and_rate(bizkit, kelp, good_film):
    bizkit("deliverable", "check", good_film, "--job", kelp, "--deliverable", FILM, "--on", "2027-05-28")
    bizkit("deliverable", "send", kelp, FILM, good_film, "--on", "2027-05-28")
    done = bizkit("deliverable", "notes", kelp, FILM, "--text", "0:01 here", "--on", "2027-06-01", "--json").data
    assert done["rate_from"] == "the file"
    late = bizkit("deliverable", "notes", kelp, FILM, "--text", "0:02 here", "--on", "2027-06-01")
    assert "wanted a time within the 2.00 s of this version, got 0:02" in late.err


def test_where_nothing_says_the_rate_it_is_a_guess_and_says_so(bizkit, kelp, tmp_path):
    loop = tmp_path / "loop.mov"
    loop.write_bytes(b"loop")
    bizkit("deliverable", "send", kelp, "sauna-loop", loop, "--on", "2027-05-28")
    done = bizkit("deliverable", "notes", kelp, "sauna-loop", "--text", "0:03 steam", "--on", "2027-06-01")
    assert "timecodes are read at 25 frames a second, as nothing says: else give --rate" in done.out


def test_all_notes_between_two_sendings_are_one_round(bizkit, kelp, send):
    send(1, "2027-05-28")
    for day, text in (("2027-06-01", "Longer."), ("2027-06-01", "And warmer."), ("2027-06-02", "From the chair.")):
        row = bizkit("deliverable", "notes", kelp, FILM, "--text", text, "--on", day, "--json").data
        assert (row["rounds_used"], row["rounds_included"]) == (1, 2)
    send(2, "2027-06-03")
    ours = bizkit(
        "deliverable", "notes", kelp, FILM, "--text", "Her name is Eilidh", "--ours", "--on", "2027-06-04", "--json"
    )
    assert (ours.data["rounds_used"], ours.data["state"]) == (1, "notes to answer")
    send(3, "2027-06-05")
    old = bizkit(
        "deliverable", "notes", kelp, FILM, "--text", "v1 was better", "--version", 1, "--on", "2027-06-07", "--json"
    )
    assert old.data["rounds_used"] == 2
    assert [one["version"] for one in old.data["notes"]] == [1, 1, 1, 2, 1]


def test_the_next_round_prices_itself_and_waits_for_a_yes(bizkit, kelp, send):
    for number, day in ((1, "2027-05-28"), (2, "2027-06-02"), (3, "2027-06-04")):
        send(number, day)
        row = bizkit("deliverable", "notes", kelp, FILM, "--text", "More.", "--on", day, "--json").data
        assert row["waits_for_yes"] == ([3] if number == 3 else [])
    # The starter card asks 180 for a further round.
    assert row["extra_rounds"][0]["price"] == "180.00"
    assert bizkit("charge", "list", kelp, "--json").data["charges"] == []
    status = bizkit("status", "--on", "2027-06-05", "--json").data
    assert status["waiting"][0]["what"] == "round 3 of Campaign film at GBP 180.00: a yes or no"
    warned = send(4, "2027-06-06")
    assert "round 3 is beyond those included and not agreed yet" in warned["warnings"]

    dearer = bizkit("deliverable", "agree", kelp, FILM, "--by", "Una Flett", "--price", "200", "--on", "2027-06-07")
    assert "GBP 180.00 is agreed for a further round: say with --reason" in dearer.err
    done = bizkit("deliverable", "agree", kelp, FILM, "--by", "Una Flett", "--on", "2027-06-07")
    assert "Round 3 of campaign-film is agreed" in done.out
    (charge,) = bizkit("charge", "list", kelp, "--json").data["charges"]
    assert (charge["amount"], charge["kind"], charge["source"]) == ("180.00", "round", "round 3 of campaign-film")
    assert charge["why"] == "round 3 on v3, 1 beyond the 2 included: GBP 180.00"
    again = bizkit("deliverable", "agree", kelp, FILM, "--by", "Una Flett")
    assert "no round beyond the 2 included waits for an answer" in again.err


def test_a_round_that_is_declined_is_not_charged(bizkit, kelp, tmp_path):
    loop = tmp_path / "loop.mov"
    for number, day in ((1, "2027-05-28"), (2, "2027-06-02")):
        loop.write_bytes(b"loop %d" % number)
        bizkit("deliverable", "send", kelp, "sauna-loop", loop, "--on", day)
        bizkit("deliverable", "notes", kelp, "sauna-loop", "--text", "More.", "--on", day)
    done = bizkit("deliverable", "agree", kelp, "sauna-loop", "--by", "Una Flett", "--no", "--on", "2027-06-03")
    assert "Round 2 of sauna-loop is declined" in done.out
    assert bizkit("charge", "list", kelp, "--json").data["charges"] == []
    assert bizkit("deliverable", "list", kelp, "--json").data[1]["waits_for_yes"] == []


def test_an_agreed_round_is_billed_with_the_charges(bizkit, kelp, tmp_path):
    loop = tmp_path / "loop.mov"
    for number, day in ((1, "2027-05-28"), (2, "2027-06-02")):
        loop.write_bytes(b"loop %d" % number)
        bizkit("deliverable", "send", kelp, "sauna-loop", loop, "--on", day)
        bizkit("deliverable", "notes", kelp, "sauna-loop", "--text", "More.", "--on", day)
    bizkit("deliverable", "agree", kelp, "sauna-loop", "--by", "Una Flett", "--on", "2027-06-03")
    billed = bizkit("invoice", "issue", kelp, "--charges", "--on", "2027-06-04", "--json").data
    # 180.00 and a fifth of it: UK VAT 20 %, HMRC "Calculating VAT".
    assert (billed["net"], billed["tax"], billed["gross"]) == ("180.00", "36.00", "216.00")


def test_silence_is_a_reminder_and_never_an_approval(bizkit, kelp, send):
    row = send(1, "2027-05-28")  # a Friday
    # Five working days later; 31 May 2027 is the spring bank holiday in Scotland (gov.uk).
    assert (row["answer_by"], row["silence"]) == ("2027-06-07", "waiting")
    assert bizkit("status", "--on", "2027-06-07", "--json").data["waiting"] == []
    after = bizkit("deliverable", "list", kelp, "--on", "2027-06-08", "--json").data[0]
    assert (after["state"], after["silence"]) == ("with the client", "remind")
    waiting = bizkit("status", "--on", "2027-06-08", "--json").data["waiting"]
    assert waiting[0]["what"] == "Campaign film v1: no answer since 2027-06-07, remind the client"


def test_silence_counts_only_where_the_terms_agreed_say_so(bizkit, studio, kelp, change, tmp_path):
    change(studio / "rate-card.toml", "silence_days = 5", "silence_days = 5\nsilence_approves = true")
    brief = studio / "briefs" / f"{kelp}.toml"
    other = Path(shutil.copy(brief, studio / "briefs" / "second.toml"))
    change(other, f'key = "{kelp}"', 'key = "second"')
    for verb in (("draft", other), ("send", "second"), ("accept", "second")):
        assert bizkit("quote", *verb, "--on", "2027-02-10").err == ""
    cut = tmp_path / "cut.mov"
    cut.write_bytes(b"cut")
    for job, said in ((kelp, "remind"), ("second", "approved")):
        bizkit("deliverable", "send", job, FILM, cut, "--on", "2027-05-28")
        row = next(
            one
            for one in bizkit("deliverable", "list", job, "--on", "2027-06-08", "--json").data
            if one["key"] == FILM
        )
        assert (row["state"], row["silence"]) == ("with the client", said)


def test_final_is_locked_and_reopened_only_with_a_reason(bizkit, kelp, send, tmp_path):
    send(1, "2027-05-28")
    row = bizkit("deliverable", "approve", kelp, FILM, "--by", "Una Flett", "--on", "2027-06-01", "--json").data
    assert (row["state"], row["final"]) == ("approved", 1)
    second = tmp_path / "again.mov"
    second.write_bytes(b"again")
    refused = bizkit("deliverable", "send", kelp, FILM, second, "--on", "2027-06-02")
    assert "was approved on 2027-06-01: note what" in refused.err
    row = bizkit(
        "deliverable", "send", kelp, FILM, second, "--reason", "new logo", "--on", "2027-06-02", "--json"
    ).data
    assert (row["state"], row["version"], row["final"]) == ("with the client", 2, 1)
    row = bizkit("deliverable", "approve", kelp, FILM, "--on", "2027-06-03", "--json").data
    assert (row["state"], row["final"], row["approved_on"]) == ("approved", 2, "2027-06-03")


def test_a_file_is_known_by_its_checksum_and_a_changed_one_found_out(bizkit, kelp, send, tmp_path):
    send(1, "2027-05-28")
    send(2, "2027-06-01")
    bizkit("deliverable", "approve", kelp, FILM, "--on", "2027-06-02")
    first, second = (tmp_path / f"{kelp}_{FILM}_v{number}.mov" for number in (1, 2))
    assert "the final version" in bizkit("deliverable", "verify", second).out
    assert "not the newest" in bizkit("deliverable", "verify", first).out
    copy = Path(shutil.copy(second, tmp_path / "renamed.mov"))
    assert bizkit("deliverable", "verify", copy, "--json").data["state"] == "final"
    second.write_bytes(b"cut 2, touched\n")
    changed = bizkit("deliverable", "verify", second)
    assert changed.code == 1
    assert "NOT the file that was sent under this name on 2027-06-01 as version 2" in changed.out
    stranger = tmp_path / "stranger.mov"
    stranger.write_bytes(b"stranger")
    assert bizkit("deliverable", "verify", stranger, "--json").data["state"] == "unknown"


def test_things_are_written_down_in_the_order_they_happened(bizkit, kelp, send, tmp_path):
    send(1, "2027-05-28")
    early = bizkit("deliverable", "notes", kelp, FILM, "--text", "x", "--on", "2027-05-27")
    assert "version 1 was sent on 2027-05-28, after 2027-05-27" in early.err
    bizkit("deliverable", "notes", kelp, FILM, "--text", "x", "--on", "2027-06-02")
    cut = tmp_path / "b.mov"
    cut.write_bytes(b"b")
    back = bizkit("deliverable", "send", kelp, FILM, cut, "--on", "2027-06-01")
    assert "something happened on 2027-06-02 already: 2027-06-01 is before it" in back.err


@pytest.mark.parametrize(
    ("options", "said"),
    [
        (["--text", "x", "--file", "y"], "wanted the notes with --text or with --file, got both"),
        (["--file", "gone.txt"], "wanted a file of notes"),
        (["--text", "0:61 x"], "wanted a time such as"),
        (
            ["--text", "0:01 x", "--rate", "29.97"],
            '--rate: wanted a frame rate as a fraction, got 29.97. Write "30000/1001"',
        ),
        (["--text", "x", "--version", "7"], "--version: wanted a known version, got 7. Known: 1"),
    ],
)
def test_notes_that_cannot_be_read_are_one_line(bizkit, kelp, send, options, said):
    send(1, "2027-05-28")
    done = bizkit("deliverable", "notes", kelp, FILM, *options, "--on", "2027-06-01")
    assert done.code == 2
    assert said in done.err
    assert done.err.count("\n") == 1
    assert bizkit("deliverable", "list", kelp, "--json", "--on", "2027-06-01").data[0]["notes"] == []


@pytest.mark.parametrize("language", ["en", "de"])
def test_the_quote_tells_the_client_what_a_further_round_costs_and_what_silence_means(
    bizkit, studio, kelp, change, language
):
    client = studio / "clients" / "skerrow-islands-tourism.toml"
    client.write_text(f'language = "{language}"\n' + client.read_text(encoding="utf-8"), encoding="utf-8")
    said = {
        "en": "A further one costs £180.00 plus VAT and begins with your yes. "
        "Silence is no approval: after 5 working days",
        "de": "Eine weitere kostet 180,00 £ zzgl. MwSt. und beginnt mit Ihrem Ja. "
        "Schweigen ist keine Abnahme: Nach 5 Arbeitstagen",
    }
    silent = {"en": "A version without an answer for 5 working days counts as approved.",
              "de": "Eine Fassung ohne Antwort binnen 5 Arbeitstagen gilt als abgenommen."}  # fmt: skip
    for key, sentence in (("second", said[language]), ("third", silent[language])):
        brief = studio / "briefs" / f"{key}.toml"
        shutil.copy(studio / "briefs" / f"{kelp}.toml", brief)
        change(brief, f'key = "{kelp}"', f'key = "{key}"')
        bizkit("quote", "draft", key, "--on", "2027-02-10")
        sent = bizkit("quote", "send", key, "--on", "2027-02-10", "--json").data
        pages = pypdf.PdfReader(sent["file"]).pages
        assert sentence in " ".join("\n".join(page.extract_text() for page in pages).split())
        if key == "second":
            change(studio / "rate-card.toml", "silence_days = 5", "silence_days = 5\nsilence_approves = true")


# --- an approval recorded by mistake


def test_an_approval_by_mistake_is_taken_back_while_nothing_rests_on_it(bizkit, kelp, good_film):
    film, on = "campaign-film", ("--on", "2027-06-07")
    back = ("deliverable", "reopen", kelp, film, "--reason", "it was the other film", *on)
    refused = bizkit(*back)
    assert (refused.code, "nothing of it is approved" in refused.err) == (1, True)
    bizkit("deliverable", "send", kelp, film, good_film, "--on", "2027-06-03")
    assert bizkit("deliverable", "approve", kelp, film, *on).code == 0
    assert bizkit("deliverable", "reopen", kelp, film, "--reason", " ", *on).code == 2
    done = bizkit(*back, "--json")
    assert done.code == 0, done.err
    assert (done.data["state"], done.data["final"], done.data["approved_on"]) == ("with the client", 0, "")
    assert (done.data["was_final"], done.data["was_approved_on"]) == (1, "2027-06-07")
    history = bizkit("job", "show", kelp, "--json").data["history"]
    (said,) = [one["data"] for one in history if one["did"] == "took back an approval"]
    assert said["reason"] == "it was the other film"
    # And it is the client's to approve again.
    assert bizkit("deliverable", "approve", kelp, film, *on, "--json").data["final"] == 1


def test_an_approval_that_something_rests_on_stays(bizkit, kelp, good_film, tmp_path):
    import shutil

    film, on = "campaign-film", ("--on", "2027-06-07")
    bizkit("deliverable", "send", kelp, film, good_film, "--on", "2027-06-03")
    bizkit("deliverable", "approve", kelp, film, *on)
    drive = tmp_path / "drive"
    drive.mkdir()
    shutil.copy(good_film, drive)
    assert bizkit("handover", "make", kelp, drive, "--reason", "for the premiere", *on).code == 0
    refused = bizkit("deliverable", "reopen", kelp, film, "--reason", "x", "--on", "2027-06-08")
    assert (refused.code, len(refused.err.splitlines())) == (1, 1)
    assert "v1 was handed over with DN-2027-0001 on 2027-06-07" in refused.err


def test_an_invoice_credited_to_nothing_in_several_steps_rests_on_no_approval(bizkit, kelp, good_film):
    film, on = "campaign-film", ("--on", "2027-06-07")
    bizkit("deliverable", "send", kelp, film, good_film, "--on", "2027-06-03")
    bizkit("deliverable", "approve", kelp, film, *on)
    bizkit("invoice", "issue", kelp, *on)
    issued = bizkit("invoice", "issue", kelp, "--stage", "2", "--reason", "agreed with Una", *on, "--json")
    assert issued.code == 0, issued.err
    second = issued.data["number"]
    back = ("deliverable", "reopen", kelp, film, "--reason", "it was the other film", *on)
    for how in (("--amount", "60", "--lower-price"), ("--amount", "100"), ()):
        refused = bizkit(*back)
        assert (refused.code, f"{second} billed" in refused.err) == (1, True)
        assert bizkit("invoice", "credit", second, *how, "--reason", "the other film", *on).code == 0
    done = bizkit(*back)
    assert done.code == 0, done.err
