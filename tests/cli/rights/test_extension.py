"""`rights use` prices an extension and prints the one command that drafts exactly that."""

from __future__ import annotations

import random
import shlex
from datetime import date, timedelta

import pytest

from bizkit.domain.rights.media import MEDIA_TREE
from bizkit.domain.rights.scope import Scope
from bizkit.domain.rights.term import OPEN_END, Term

JOB = "follow-the-kelp"
#: What the licence in force allows.
HELD = Scope.box({"owned_channels", "paid_social"}, {"GB", "IE"}, Term(date(2027, 7, 1), date(2028, 6, 30)))


@pytest.fixture
def use(bizkit):
    def ask(*words, on="2027-08-01"):
        done = bizkit("rights", "use", JOB, *words, "--on", on, "--json")
        assert done.code == 0, done.err
        return done.data

    return ask


@pytest.fixture
def drafted(bizkit):
    """Run a printed command; the draft's licence, its works, and its price."""

    def run(command):
        words = shlex.split(command)
        assert words[0] == "bizkit"
        done = bizkit(*words[1:], "--json")
        assert done.code == 0, (command, done.err)
        shown = bizkit("quote", "show", done.data["key"], "--json")
        licence = shown.data["document"]["licence"] if "document" in shown.data else shown.data["licence"]
        end = date.fromisoformat(licence["ends"]) if licence["ends"] else OPEN_END
        term = Term(date.fromisoformat(licence["starts"]), end)
        scope = Scope.box(licence["media"], licence["territory"]["codes"], term)
        return scope, set(licence["works"]), done.data["net"]

    return run


def test_a_wide_use_is_drafted_whole(use, drafted, live):
    """Media and countries that the client holds in part: the price was of two parts, the command drafted one."""
    found = use("--media", "all", "--where", "World")["extension"]
    assert len(found["scope"]) == 2
    assert "--where World" in found["offer"]
    scope, works, net = drafted(found["offer"])
    assert scope == Scope.box(MEDIA_TREE.leaves("all"), scope.countries, Term(date(2027, 8, 1), date(2028, 6, 30)))
    assert len(scope.countries) == 249
    assert (scope.minus(HELD), net) == (Scope.from_data(found["scope"]), found["net"])
    assert len(works) == 4


def test_only_the_works_that_are_refused_are_in_it(bizkit, use, drafted, live):
    bizkit("rights", "offer", JOB, "--work", "stills", "--media", "cinema", "--where", "GB", "--from", "2027-08-01",
           "--until", "2028-06-30", "--on", "2027-07-02")  # fmt: skip
    for command in ("send", "accept"):
        assert bizkit("quote", command, f"{JOB}-licence", "--on", "2027-07-02").code == 0
    assert bizkit("rights", "grant", f"{JOB}-licence", "--on", "2027-07-02").code == 1
    done = bizkit("rights", "grant", f"{JOB}-licence", "--override", "to try", "--on", "2027-07-02")
    assert done.code == 0, done.err
    invoice = bizkit("invoice", "issue", f"{JOB}-licence", "--on", "2027-07-02", "--json").data["number"]
    assert bizkit("invoice", "paid", invoice, "--on", "2027-07-03").code == 0
    found = use("--media", "cinema", "--where", "GB")
    assert [one["work"] for one in found["works"] if one["allowed"]] == ["stills"]
    scope, works, net = drafted(found["extension"]["offer"])
    assert works == {f"{JOB}/{key}" for key in ("campaign-film", "cut-downs", "sauna-loop")}
    assert (scope.minus(HELD), net) == (Scope.from_data(found["extension"]["scope"]), found["extension"]["net"])


def test_of_a_job_that_licenses_works_of_another_it_is_drafted_too(bizkit, use, drafted, live):
    bizkit("rights", "renew", live, "--on", "2028-04-05")
    for command in ("send", "accept"):
        assert bizkit("quote", command, f"{JOB}-renewal", "--on", "2028-04-05").code == 0
    ask = ["rights", "use", f"{JOB}-renewal", "--media", "cinema", "--where", "GB", "--on", "2028-05-01", "--json"]
    found = bizkit(*ask).data["extension"]
    _, works, net = drafted(found["offer"])
    assert works == {f"{JOB}/{key}" for key in ("campaign-film", "cut-downs", "sauna-loop", "stills")}
    assert net == found["net"]


@pytest.mark.parametrize("seed", range(3))
def test_hunting_for_a_use_whose_command_drafts_something_else(use, drafted, live, seed):
    chance = random.Random(seed)
    media = [medium.code for medium in MEDIA_TREE]
    places = ["GB", "IE", "DE", "Europe", "World", "EU", "Northern America", "Northern Europe", "Asia", "CY", "JP"]
    priced = 0
    for _ in range(10):
        words = [word for code in chance.sample(media, chance.randrange(1, 4)) for word in ("--media", code)]
        words += [word for place in chance.sample(places, chance.randrange(1, 4)) for word in ("--where", place)]
        if chance.random() < 0.4:
            words += ["--work", chance.choice(["stills", "sauna-loop", "campaign-film"])]
        on = date(2027, 7, 1) + timedelta(days=chance.randrange(-40, 700))
        data = use(*words, on=str(on))
        found = data["extension"]
        assert (found is None) == data["allowed"], (words, on)
        if found is None:
            continue
        assert "\n" not in found["offer"]
        if found["why_not"]:
            assert found["offer"] == ""
            continue
        priced += 1
        scope, works, net = drafted(found["offer"])
        assert scope.minus(HELD) == Scope.from_data(found["scope"]), (words, on, found["offer"])
        assert net == found["net"], (words, on, found["offer"])
        assert {name.partition("/")[2] for name in works} == {
            one["work"] for one in data["works"] if not one["allowed"]
        }
        # With it the answer would be yes.
        wanted = Scope.box(data["media"], data["countries"], Term(on, on))
        assert HELD.union(scope).covers(wanted), (words, on)
    assert priced > 3
