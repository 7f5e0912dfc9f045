"""The schema of a settings file agrees with its reader: both take the shipped files, both refuse what is wrong.

Checked by the `jsonschema` library against the draft named in each file (JSON Schema 2020-12).
"""

import copy
import json
import tomllib
from datetime import date
from decimal import Decimal

import pytest
from jsonschema import Draft202012Validator

from bizkit.domain.errors import BadInput
from bizkit.domain.inputs.keys import NUMERIC, Kind, keys_of
from bizkit.domain.inputs.reading import read_input
from bizkit.resources import templates
from bizkit.services.studio.input_files import INPUT_FILES, schema_of

FOLDERS = {"rate-card": "cards"}
SHIPPED = {name: sorted(templates().glob(f"{FOLDERS.get(name, name + 's')}/*.toml")) for name in INPUT_FILES}


def as_json(value):
    """TOML in the data model of JSON."""
    if isinstance(value, dict):
        return {key: as_json(inner) for key, inner in value.items()}
    if isinstance(value, list):
        return [as_json(inner) for inner in value]
    return value.isoformat() if isinstance(value, date) else float(value) if isinstance(value, Decimal) else value


def validator(name):
    schema = json.loads(schema_of(INPUT_FILES[name.split()[-1]]))
    Draft202012Validator.check_schema(schema)
    return Draft202012Validator(schema, format_checker=Draft202012Validator.FORMAT_CHECKER)


def read(name, tree):
    return read_input(input_of(name), tree, where=f"{name}.toml", currency="GBP")


@pytest.mark.parametrize("name", INPUT_FILES)
def test_the_shipped_schema_is_the_one_of_today(name):
    """Made again by `bizkit keys NAME --schema > templates/schema/NAME.json`."""
    assert templates().joinpath("schema", f"{name}.json").read_text(encoding="utf-8") == schema_of(INPUT_FILES[name])


@pytest.mark.parametrize(("name", "path"), [(name, path) for name, paths in SHIPPED.items() for path in paths])
def test_shipped_files_pass_and_name_their_schema(name, path):
    text = path.read_text(encoding="utf-8")
    up = "../" if "/" in INPUT_FILES[name].place else ""
    assert text.startswith(f"#:schema {up}schema/{name}.json\n")
    tree = tomllib.loads(text, parse_float=Decimal)
    read(name, copy.deepcopy(tree))
    assert list(validator(name).iter_errors(as_json(tree))) == []


PLAIN = {
    Kind.TEXT: "some words", Kind.FLAG: False, Kind.WHOLE: 2, Kind.NUMBER: Decimal("2.5"), Kind.HOURS: Decimal("2.5"),
    Kind.AMOUNT: Decimal("2.5"), Kind.DAY: date(2027, 5, 3), Kind.TIME: "08:30", Kind.TEXTS: ["some words"],
    Kind.DAYS: [date(2027, 5, 3)], Kind.OTHER: Decimal("0.5"),
}  # fmt: skip


def exact(example):
    """As TOML is read: no number is a float."""
    if isinstance(example, dict):
        return {key: exact(value) for key, value in example.items()}
    return Decimal(str(example)) if isinstance(example, float) else example


def full(kind):
    """A tree with every key of an input, each with a value that may stand there."""
    tree = {}
    for one in keys_of(kind):
        key = one.key
        if one.of is not None:
            inner = full(one.of)
            tree[one.name] = {Kind.TABLE: inner, Kind.ROWS: [inner]}.get(one.kind, {"own_name": inner})
        elif key.example and one.kind not in (Kind.DAY, Kind.DAYS):
            tree[one.name] = exact(key.example)
        elif one.kind is Kind.VALUES:
            tree[one.name] = {key.choices[0] if key.choices else "own name": PLAIN[one.values]}
        elif key.choices:
            tree[one.name] = {Kind.TEXT: key.choices[0], Kind.TEXTS: list(key.choices)}[one.kind]
        elif one.kind is Kind.TEXT:
            tree[one.name] = one.usual or PLAIN[one.kind]
        else:
            tree[one.name] = min(PLAIN[one.kind], key.most) if key.most is not None else PLAIN[one.kind]
    return tree


def apart(tree, *keys):
    for key in keys:
        del tree[key]


#: Files whose kinds have tables of their own stand here once for each.
EVERY = (*INPUT_FILES, "stills spec")


def input_of(name):
    return INPUT_FILES[name.split()[-1]].input


def whole(name):
    """A file with every key that may stand beside all others."""
    tree = full(input_of(name))
    if name in ("studio", "client"):
        tree["email"] = "office@example.com"
    if name == "studio":
        apart(tree["statement"]["own_name"], "paid_in", "paid_out")
        tree["late"]["interest"] = "contract"  # beside its rate
    if name == "rate-card":
        apart(tree["bundles"]["own_name"], "less_percent")
        apart(tree["hire"], "insurance_percent_of_value_per_day")
        tree["cancellation"]["steps"][0]["notice_days"] = 0
        tree["cancellation"]["postponement_steps"][0]["notice_days"] = 0
    if name == "brief":
        apart(tree["discount"], "amount")
        for parts in (tree, tree["options"]["own_name"]):
            apart(parts["days"][0], "hours", "half_day", "by_hour")
            apart(parts["days"][0]["crew"][0], "people")
            apart(parts["deliverables"][0], "due_on")
            apart(parts["sets"][0], "due_on")
            apart(parts["post"][0], "hours")
    if name == "job":
        apart(tree["steps"][0], "from", "to")
    if name == "spec":
        apart(tree, "stills")
    if name == "stills spec":
        tree["kind"] = "stills"
        apart(tree, "picture", "length", "sound", "captions")
    return tree


@pytest.mark.parametrize("name", EVERY)
def test_a_file_with_every_key_is_taken_by_both(name):
    tree = whole(name)
    read(name, copy.deepcopy(tree))
    assert list(validator(name).iter_errors(as_json(tree))) == []


def wrong_trees(name):
    """The whole tree with one thing wrong in each: every key with a value of another kind or beyond its limits."""

    def walk(kind, at):
        for one in keys_of(kind):
            wrong = {
                Kind.TEXT: [7, True, ["x"]], Kind.FLAG: ["yes", 1], Kind.WHOLE: ["x", Decimal("1.5"), True],
                Kind.NUMBER: ["soon", True, [1]], Kind.AMOUNT: ["much", True], Kind.HOURS: ["long", 25],
                Kind.DAY: ["soon", 7], Kind.DAYS: ["soon", [7]], Kind.TIME: ["noon", 12], Kind.TEXTS: [7, [1], [""]],
                Kind.VALUES: ["x", 1], Kind.OTHER: [True], Kind.TABLE: ["x", [1]], Kind.ROWS: ["x", {"a": 1}],
                Kind.TABLES: ["x", {"a": 1}],
            }[one.kind]  # fmt: skip
            key = one.key
            if one.kind in NUMERIC:
                low = key.above if key.above is not None else int(key.least) - 1
                wrong = [*wrong, low] + ([int(key.most) + 1] if key.most is not None else [])
            if key.choices:
                wrong = [*wrong, "something else"]
            if key.pattern is not None:
                wrong = [*wrong, "!"]
            if one.required and one.kind is Kind.TEXT:
                wrong = [*wrong, "", "  "]
            for value in wrong:
                yield [*at, one.name], value
            if one.required:
                yield [*at, one.name], None
            if one.of is not None:
                steps = {Kind.TABLE: [], Kind.ROWS: [0]}.get(one.kind, ["own_name"])
                yield from walk(one.of, [*at, one.name, *steps])
        yield [*at, "no_such_key"], 1

    for path, value in walk(input_of(name), []):
        tree = whole(name)
        if path[0] not in tree and path[0] != "no_such_key":
            continue
        place = tree
        for step in path[:-1]:
            place = place[step]
        if value is None:
            del place[path[-1]]
        else:
            place[path[-1]] = value
        yield path, value, tree


@pytest.mark.parametrize("name", EVERY)
def test_whatever_is_wrong_in_one_key_is_refused_by_both_and_named(name):
    check = validator(name)
    count = 0
    for path, value, tree in wrong_trees(name):
        dotted = ".".join(step if isinstance(step, str) else f"[{step + 1}]" for step in path).replace(".[", "[")
        with pytest.raises(BadInput) as refused:
            read(name, copy.deepcopy(tree))
        place = dotted.rpartition(".")[0] if path[-1] == "no_such_key" else dotted
        assert f"{name}.toml: {place}" in str(refused.value), (path, value)
        assert list(check.iter_errors(as_json(tree))), (path, value)
        count += 1
    assert count > 40
