"""A licence as an ODRL 2.2 policy in JSON-LD, and what such a policy permits.

Sources: W3C Recommendations "ODRL Information Model 2.2" and "ODRL Vocabulary & Expression 2.2" (15 February 2018).
Media are IRIs of our own tree, countries the codes of ISO 3166-1. What ODRL has no word for (exclusivity, limits) is
said in the plain sentences of the licence, as dct:description.
"""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from datetime import date
from typing import Any, Final

from bizkit.domain.errors import BadInput
from bizkit.domain.money import Money
from bizkit.domain.rights.term import Term

CONTEXT: Final = "http://www.w3.org/ns/odrl.jsonld"
MEDIA_IRI: Final = "urn:bizkit:medium:"
COUNTRY_IRI: Final = "urn:iso:3166:"

_ORDER: Final = {"lt": lambda a, b: a < b, "lteq": lambda a, b: a <= b, "gt": lambda a, b: a > b,
                 "gteq": lambda a, b: a >= b}  # fmt: skip


def policy(
    licence: Mapping[str, Any],
    *,
    uid: str,
    assigner: str,
    assignee: str,
    targets: Sequence[str],
    periods: Sequence[Term] = (),
    fee: Money | None = None,
) -> dict[str, Any]:
    """The agreement as JSON-LD data. licence: the `licence` of a document.

    uid, assigner, assignee, targets: IRIs (URLs or URNs) of the policy, the studio, the client and the works.
    periods: the days on which it allows anything, a permission each, nothing being owed for them; without them those
    of `licence`, where `fee` must be paid first if it takes effect on full payment. Raises BadInput for what is no
    IRI, or a licence of nothing.
    """
    for name, value in (
        ("uid", uid),
        ("assigner", assigner),
        ("assignee", assignee),
        *(("target", t) for t in targets),
    ):
        _check_iri(name, value)
    if not targets:
        raise BadInput(wanted="a work that is licensed", got="none", field="target")
    codes = licence["territory"]["codes"]
    if not licence["media"] or not codes:
        raise BadInput(wanted="media and countries", got="none", field="licence")
    duties: list[dict[str, Any]] = []
    if licence["on_full_payment"] and not periods:
        duties.append(_compensate(fee))
    if licence.get("credit"):
        duties.append({"action": "attribute", "description": licence["credit"]})
    where = [
        _one_of("media", [MEDIA_IRI + medium for medium in licence["media"]]),
        _one_of("spatial", [COUNTRY_IRI + code for code in codes]),
    ]
    spans: list[Mapping[str, Any]] = [{**licence, **term.data()} for term in periods]
    rules = [{"action": "use", "constraint": [*where, *_dates(span)]} for span in spans or [licence]]
    if duties:
        rules = [{**rule, "duty": duties} for rule in rules]
    shared = {
        "assigner": assigner,
        "assignee": assignee,
        "target": targets[0] if len(targets) == 1 else list(targets),
    }
    result: dict[str, Any] = {
        "@context": [CONTEXT, {"description": "http://purl.org/dc/terms/description"}],
        "@type": "Agreement",
        "uid": uid,
        "description": list(licence["sentences"]),
        "conflict": "prohibit",
        **shared,
        "permission": rules,
    }
    forbidden: list[dict[str, Any]] = []
    if not licence.get("edits", False):
        forbidden.append({"action": ["derive", "modify"]})
    if not licence.get("transfer", False):
        forbidden.append({"action": "grantUse"})
    if forbidden:
        result["prohibition"] = forbidden
    return result


def policy_json(*args: Any, **kwargs: Any) -> bytes:
    """`policy` as UTF-8 JSON text."""
    return json.dumps(policy(*args, **kwargs), ensure_ascii=False, indent=2).encode() + b"\n"


def _check_iri(field: str, value: str) -> None:
    scheme, colon, rest = value.partition(":")
    plain = scheme.isascii() and scheme.replace("+", "").replace("-", "").replace(".", "").isalnum()
    if not (colon and rest and plain and scheme[0].isalpha()) or any(
        sign <= " " or sign in '<>"{}|\\^`' for sign in value
    ):
        raise BadInput(wanted="an IRI such as urn:bizkit:licence:7 or https://example.com/7", got=value, field=field)


def _one_of(operand: str, values: Sequence[str]) -> dict[str, Any]:
    return {"leftOperand": operand, "operator": "isAnyOf", "rightOperand": [{"@id": value} for value in values]}


def _dates(licence: Mapping[str, Any]) -> list[dict[str, Any]]:
    """First and last day; the length where the first day is not known yet."""
    found = []
    if licence["starts"]:
        found.append(_date_constraint("gteq", licence["starts"]))
    if licence["ends"]:
        found.append(_date_constraint("lteq", licence["ends"]))
    elif licence.get("months"):
        duration = {"@value": f"P{licence['months']}M", "@type": "xsd:duration"}
        found.append({"leftOperand": "elapsedTime", "operator": "lteq", "rightOperand": duration})
    return found


def _date_constraint(operator: str, day: str) -> dict[str, Any]:
    return {
        "leftOperand": "dateTime",
        "operator": operator,
        "rightOperand": {"@value": day, "@type": "xsd:date"},
    }


def _compensate(fee: Money | None) -> dict[str, Any]:
    if fee is None:
        return {"action": "compensate"}
    amount = {
        "leftOperand": "payAmount",
        "operator": "eq",
        "rightOperand": {"@value": fee.text, "@type": "xsd:decimal"},
        "unit": f"urn:iso:4217:{fee.currency}",
    }
    return {"action": [{"rdf:value": {"@id": "odrl:compensate"}, "refinement": [amount]}]}


def permits(
    agreement: Mapping[str, Any], action: str, *, on: date, medium: str = "", country: str = "", target: str = ""
) -> bool:
    """Whether the policy permits the action on that day, in that medium and country.

    Dates, media and countries are judged, duties are not: ask the invoices whether they are paid. A prohibition of
    the same action wins. Constraints of other kinds are not met, as nothing is known about them.
    """
    facts: dict[str, Any] = {"dateTime": on, "media": MEDIA_IRI + medium, "spatial": COUNTRY_IRI + country}

    def applies(rule: Mapping[str, Any]) -> bool:
        targets = rule.get("target", agreement.get("target", []))
        if target and target not in ([targets] if isinstance(targets, str) else targets):
            return False
        actions = rule["action"] if isinstance(rule["action"], list) else [rule["action"]]
        constraints = rule.get("constraint", [])
        constraints = constraints if isinstance(constraints, list) else [constraints]
        return action in actions and all(_met(constraint, facts) for constraint in constraints)

    if any(applies(rule) for rule in agreement.get("prohibition", [])):
        return False
    return any(applies(rule) for rule in agreement.get("permission", []))


def _met(constraint: Mapping[str, Any], facts: Mapping[str, Any]) -> bool:
    fact = facts.get(constraint["leftOperand"])
    if fact is None:
        return False
    right, operator = constraint["rightOperand"], constraint["operator"]
    values = [_value(entry) for entry in (right if isinstance(right, list) else [right])]
    if isinstance(fact, date):
        days = [date.fromisoformat(value[:10]) for value in values]
        if operator in _ORDER:
            return bool(_ORDER[operator](fact, days[0]))
        return {"eq": fact in days, "isAnyOf": fact in days, "neq": fact not in days}.get(operator, False)
    return {
        "eq": values == [fact],
        "isA": fact in values,
        "isAnyOf": fact in values,
        "isNoneOf": fact not in values,
        "neq": fact not in values,
    }.get(operator, False)


def _value(entry: Any) -> str:
    if isinstance(entry, Mapping):
        return str(entry.get("@value", entry.get("@id", "")))
    return str(entry)
