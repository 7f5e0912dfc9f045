"""Policies against the W3C context, the official example, and our own rights algebra."""

import json
import random
from datetime import date, timedelta
from pathlib import Path

import pytest
from rdflib import RDF, Graph, Namespace, URIRef

from bizkit.domain.errors import BadInput
from bizkit.domain.money import Money
from bizkit.domain.rights.scope import Box
from bizkit.domain.rights.term import Term
from bizkit.exchange.odrl import permits, policy, policy_json

ODRL = Namespace("http://www.w3.org/ns/odrl/2/")
CONTEXT = json.loads((Path(__file__).parent / "data" / "odrl-context.jsonld").read_text())["@context"]

LICENCE = {
    "licensee": "Skerrow Islands Tourism",
    "media": ["owned_channels", "paid_social"],
    "territory": {"phrase": "United Kingdom and Ireland", "codes": ["GB", "IE"]},
    "starts": "2026-07-01",
    "ends": "2027-06-30",
    "months": 12,
    "on_full_payment": True,
    "exclusivity": "none",
    "sentences": ["Own channels and paid social in the United Kingdom and Ireland for 12 months."],
}
IDS = {
    "uid": "urn:bizkit:licence:7",
    "assigner": "https://gannetlark.example",
    "assignee": "urn:bizkit:client:skerrow",
    "targets": ["urn:bizkit:work:cut-60"],
}


def make(licence=LICENCE, **more):
    return policy(licence, **{**IDS, **more})


def graph(data):
    """The triples of a policy, under the W3C context instead of its address."""
    local = json.loads(json.dumps(data))
    local["@context"] = [
        CONTEXT if entry == "http://www.w3.org/ns/odrl.jsonld" else entry for entry in data["@context"]
    ]
    return Graph().parse(data=json.dumps(local), format="json-ld")


# rdflib's own JSON-LD parser still uses a class that rdflib itself calls deprecated.
RDFLIB = pytest.mark.filterwarnings("ignore:ConjunctiveGraph is deprecated")


@RDFLIB
def test_every_word_is_one_of_the_w3c_vocabulary():
    triples = graph(make({**LICENCE, "credit": "Gannet & Lark"}, fee=Money("5000", "GBP")))
    known = {str(ODRL) + term for term in CONTEXT}
    used = {
        str(node)
        for triple in triples
        for node in triple
        if isinstance(node, URIRef) and str(node).startswith(str(ODRL))
    }
    assert used <= known, used - known
    assert str(ODRL.permission) in used
    assert str(ODRL.isAnyOf) in used


@RDFLIB
def test_it_is_an_agreement_between_studio_and_client_about_the_work():
    triples = graph(make())
    uid = URIRef("urn:bizkit:licence:7")
    assert (uid, RDF.type, ODRL.Agreement) in triples
    assert (uid, ODRL.assigner, URIRef("https://gannetlark.example")) in triples
    assert (uid, ODRL.assignee, URIRef("urn:bizkit:client:skerrow")) in triples
    assert (uid, ODRL.target, URIRef("urn:bizkit:work:cut-60")) in triples
    (rule,) = triples.objects(uid, ODRL.permission)
    assert (rule, ODRL.action, ODRL.use) in triples
    operands = {str(triples.value(part, ODRL.leftOperand)) for part in triples.objects(rule, ODRL.constraint)}
    assert operands == {str(ODRL.media), str(ODRL.spatial), str(ODRL.dateTime)}
    actions = {
        str(action) for ban in triples.objects(uid, ODRL.prohibition) for action in triples.objects(ban, ODRL.action)
    }
    assert actions == {str(ODRL.derive), str(ODRL.modify), str(ODRL.grantUse)}


def test_the_official_example_of_a_date_constraint():
    # W3C ODRL Information Model 2.2, example 13: distribute, dateTime lt 2018-01-01; the test published for it lets
    # 2017-12-19 pass and not 2019-12-19.
    example = {
        "@context": "http://www.w3.org/ns/odrl.jsonld",
        "@type": "Offer",
        "uid": "http://example.com/policy:6163",
        "profile": "http://example.com/odrl:profile:10",
        "permission": [
            {
                "target": "http://example.com/document:1234",
                "assigner": "http://example.com/org:616",
                "action": "distribute",
                "constraint": [
                    {
                        "leftOperand": "dateTime",
                        "operator": "lt",
                        "rightOperand": {"@value": "2018-01-01", "@type": "xsd:date"},
                    }
                ],
            }
        ],
    }
    assert permits(example, "distribute", on=date(2017, 12, 19))
    assert not permits(example, "distribute", on=date(2019, 12, 19))
    assert not permits(example, "distribute", on=date(2018, 1, 1))
    assert not permits(example, "print", on=date(2017, 12, 19))
    assert not permits(example, "distribute", on=date(2017, 12, 19), target="http://example.com/other")


def test_the_policy_permits_exactly_what_the_licence_covers():
    dice = random.Random(7)
    agreement = make()
    box = Box(frozenset(LICENCE["media"]), frozenset({"GB", "IE"}), Term(date(2026, 7, 1), date(2027, 6, 30)))
    agreed = 0
    for _ in range(400):
        day = date(2026, 6, 20) + timedelta(days=dice.randrange(400))
        medium = dice.choice(["owned_channels", "paid_social", "cinema"])
        country = dice.choice(["GB", "IE", "FR"])
        asked = Box(frozenset({medium}), frozenset({country}), Term(day, day))
        covered = not list(asked.minus(box))
        agreed += covered
        assert permits(agreement, "use", on=day, medium=medium, country=country) == covered
    assert 100 < agreed < 300


def test_a_start_that_is_not_known_leaves_the_length():
    data = make({**LICENCE, "starts": "", "ends": ""})
    assert data["permission"][0]["constraint"][2] == {
        "leftOperand": "elapsedTime",
        "operator": "lteq",
        "rightOperand": {"@value": "P12M", "@type": "xsd:duration"},
    }
    open_end = make({**LICENCE, "starts": "2026-07-01", "ends": "", "months": None})
    assert permits(open_end, "use", on=date(2090, 1, 1), medium="owned_channels", country="GB")
    assert not permits(open_end, "use", on=date(2026, 6, 30), medium="owned_channels", country="GB")


def test_what_must_be_paid_first_and_credited_are_duties():
    data = make({**LICENCE, "credit": "© Gannet & Lark"}, fee=Money("5000", "GBP"))
    pay, credit = data["permission"][0]["duty"]
    (refinement,) = pay["action"][0]["refinement"]
    assert refinement["rightOperand"] == {"@value": "5000.00", "@type": "xsd:decimal"}
    assert credit == {"action": "attribute", "description": "© Gannet & Lark"}
    free = make({**LICENCE, "on_full_payment": False, "edits": True, "transfer": True})
    assert "duty" not in free["permission"][0]
    assert "prohibition" not in free


def test_a_prohibition_wins():
    data = make()
    assert not permits(data, "modify", on=date(2026, 8, 1), medium="owned_channels", country="GB")


def test_text_is_json_and_what_is_no_iri_or_licence_is_refused():
    assert json.loads(policy_json(LICENCE, **IDS)) == make()
    with pytest.raises(BadInput, match="uid: wanted an IRI such as"):
        make(uid="licence 7")
    with pytest.raises(BadInput, match="target: wanted an IRI"):
        make(targets=["urn:a b"])
    with pytest.raises(BadInput, match="target: wanted a work that is licensed"):
        make(targets=[])
    with pytest.raises(BadInput, match="licence: wanted media and countries"):
        make({**LICENCE, "media": []})
